/* checklist: the walk, one step after another, each for every oven at the station. */
#include "command/ask.h"
#include "command/beside.h"
#include "command/checklist.h"
#include "command/lines.h"

#include <string.h>

typedef struct walk {
    checklist_session *session;
    size_t step, oven;
    const char *station; /**< the last one announced */
} walk;

typedef enum walk_move {
    WALK_ON,
    WALK_BACK,
    WALK_LEAVE,
} walk_move;

/* A stop condition of this oven was met: it takes no further part. */
static bool stopped(const checklist_session *session, size_t oven)
{
    return checklist_judge(session, oven) == CHECKLIST_STOPPED;
}

static bool takes_part(const walk *state)
{
    return state->session->ovens[state->oven].steps[state->step].result != CHECKLIST_NOT_FITTED &&
           !stopped(state->session, state->oven);
}

static void announce(walk *state)
{
    checklist_session *session = state->session;
    const lua_checklist_step *row = &session->list.steps[state->step];
    ovp_sink out = session->call->out;
    if (state->station == NULL || strcmp(state->station, row->station) != 0)
        (void)ovp_text_print(out, "\n== %s\n", row->station);
    state->station = row->station;
    char label[48];
    (void)snprintf(label, sizeof label, "%2zu/%zu", state->step + 1, session->list.step_count);
    (void)ovp_text_print(out, "\n");
    if (row->technician)
        command_say_beside(out, "      !", 8, "only for a qualified person; else `skip`");
    if (row->caution[0] != '\0')
        command_say_beside(out, "      !", 8, row->caution);
    char words[LUA_CHECKLIST_TEXT_SIZE];
    const lua_checklist_facts facts = checklist_facts(session, state->oven);
    lua_checklist_words(row->text, &facts, words, sizeof words);
    command_say_beside(out, label, 8, words);
    if (row->tool[0] != '\0')
        command_say_beside(out, "  with", 8, row->tool);
}

static void print_help(const walk *state)
{
    (void)ovp_text_print(
        state->session->call->out,
        "pass (p), fail (f), skip (s), what you measured with its unit, not-fitted (n) for a part "
        "that is not there,\nback (b), quit (q).\n");
}

static void word_prompt(const walk *state, char *prompt, size_t size)
{
    const checklist_session *session = state->session;
    lua_checklist_limit limit;
    checklist_limit(session, state->oven, state->step, &limit);
    (void)snprintf(prompt, size, "%s%s%s", session->ovens[state->oven].label,
                   limit.text[0] != '\0' ? ", limit " : "", limit.text);
}

static void print_taken(const walk *state)
{
    static const char *const words[] = {"open", "pass", "FAIL", "skipped", "not fitted"};
    const checklist_session *session = state->session;
    const lua_checklist_step *row = &session->list.steps[state->step];
    checklist_result result = session->ovens[state->oven].steps[state->step].result;
    ovp_sink out = session->call->out;
    if (result != CHECKLIST_FAIL) {
        (void)ovp_text_print(out, "        %s%s\n", words[result],
                             result == CHECKLIST_SKIPPED && row->safety ? ": a safety test, so not a pass"
                                                                        : "");
        return;
    }
    command_say_beside(out, row->stop ? "        STOP" : "        FAIL", 14, row->if_not);
    if (row->stop)
        (void)ovp_text_print(out, "        %s takes no further part: do not use it.\n",
                             session->ovens[state->oven].label);
}

static walk_move ask(walk *state)
{
    static const char *const back[] = {"back", "b", NULL};
    static const char *const quit[] = {"quit", "q", "exit", NULL};
    static const char *const help[] = {"help", "h", "", NULL};
    char line[COMMAND_LINE_BYTES], prompt[LUA_CHECKLIST_TEXT_SIZE + OVP_OVEN_STRING_SIZE + 16];
    for (;;) {
        ovp_error error = {0};
        word_prompt(state, prompt, sizeof prompt);
        if (!command_lines_read(prompt, line) || command_lines_is(line, quit))
            return WALK_LEAVE;
        if (command_lines_is(line, back))
            return WALK_BACK;
        if (command_lines_is(line, help)) {
            print_help(state);
            continue;
        }
        if (checklist_answer(state->session, state->oven, state->step, line, &error) == OVP_OK) {
            print_taken(state);
            return WALK_ON;
        }
        (void)ovp_text_print(state->session->call->out, "        %s\n", error.what);
    }
}

/* One place back: the step before of the oven before; its result is open again. */
static void step_back(walk *state)
{
    checklist_session *session = state->session;
    while (state->step > 0 || state->oven > 0) {
        if (state->oven > 0) {
            state->oven--;
        } else {
            state->step--;
            state->oven = session->oven_count - 1;
        }
        if (session->ovens[state->oven].steps[state->step].result == CHECKLIST_NOT_FITTED &&
            checklist_not_fitted(session, state->oven, state->step))
            continue;
        session->ovens[state->oven].steps[state->step].result = CHECKLIST_OPEN;
        if (!stopped(session, state->oven))
            return;
    }
}

int checklist_talk(checklist_session *session)
{
    walk state = {.session = session};
    ask_begin();
    (void)ovp_text_print(session->call->out, "%s\n", session->list.title);
    checklist_print_cautions(session);
    print_help(&state);
    size_t announced = LUA_CHECKLIST_STEPS;
    walk_move move = WALK_ON;
    while (move != WALK_LEAVE && state.step < session->list.step_count) {
        if (takes_part(&state)) {
            if (announced != state.step)
                announce(&state);
            announced = state.step;
            move = ask(&state);
            if (move == WALK_BACK) {
                step_back(&state);
                announced = LUA_CHECKLIST_STEPS;
                continue;
            }
        }
        if (++state.oven == session->oven_count) {
            state.oven = 0;
            state.step++;
        }
    }
    (void)ovp_text_print(session->call->out, "\n");
    checklist_print_end(session);
    return checklist_exit_status(session);
}
