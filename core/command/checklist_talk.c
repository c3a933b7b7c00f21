/* checklist: the walk, one step after another, each for every oven at the station. */
#include "command/ask.h"
#include "command/beside.h"
#include "command/checklist.h"
#include "command/lines.h"

#include <math.h>
#include <string.h>

typedef struct walk {
    checklist_session *session;
    size_t place; /**< of `order` */
    size_t count;
    size_t announced;    /**< step; LUA_CHECKLIST_STEPS: none */
    const char *station; /**< the last one announced */
    struct {
        size_t step, oven;
    } order[LUA_CHECKLIST_STEPS * CHECKLIST_OVENS];
    char note[CHECKLIST_NOTE_SIZE], photo[CHECKLIST_NOTE_SIZE]; /**< typed before the answer */
} walk;

typedef enum walk_move {
    WALK_ON,
    WALK_STAY,
    WALK_LEAVE,
} walk_move;

/* Step by step over all ovens, or oven by oven within a station. */
static void lay_out(walk *state)
{
    const checklist_session *session = state->session;
    for (size_t from = 0, to = 0; from < session->list.step_count; from = to) {
        to = from + 1;
        while (session->oven_by_oven && to < session->list.step_count &&
               strcmp(session->list.steps[to].station, session->list.steps[from].station) == 0)
            to++;
        for (size_t oven = 0; oven < session->oven_count; oven++)
            for (size_t step = from; step < to; step++) {
                state->order[state->count].step = step;
                state->order[state->count++].oven = oven;
            }
    }
}

static checklist_state *here(const walk *state)
{
    return &state->session->ovens[state->order[state->place].oven].steps[state->order[state->place].step];
}

static const lua_checklist_step *row_here(const walk *state)
{
    return &state->session->list.steps[state->order[state->place].step];
}

/* Open, and not of an oven that a stop condition has ended. */
static bool is_asked(const walk *state)
{
    return here(state)->result == CHECKLIST_OPEN &&
           (row_here(state)->of == LUA_CHECKLIST_OF_SAME || /* to read on with the heat off harms nobody */
            checklist_judge(state->session, state->order[state->place].oven) != CHECKLIST_STOPPED);
}

static void announce(walk *state)
{
    checklist_session *session = state->session;
    const lua_checklist_step *row = row_here(state);
    ovp_sink out = session->call->out;
    if (state->station == NULL || strcmp(state->station, row->station) != 0)
        (void)ovp_text_print(out, "\n== %s\n", row->station);
    state->station = row->station;
    char label[48], words[LUA_CHECKLIST_TEXT_SIZE];
    (void)snprintf(label, sizeof label, "%2zu/%zu", state->order[state->place].step + 1,
                   session->list.step_count);
    (void)ovp_text_print(out, "\n");
    if (row->technician)
        command_say_beside(out, "      !", 8, "only for a qualified person; else `skip`");
    if (row->caution[0] != '\0')
        command_say_beside(out, "      !", 8,
                           checklist_words(session, state->order[state->place].oven, row->caution, words));
    command_say_beside(out, label, 8,
                       checklist_words(session, state->order[state->place].oven, row->text, words));
    if (row->tool[0] != '\0')
        command_say_beside(out, "  with", 8, checklist_tools(row, words));
    state->announced = state->order[state->place].step;
}

static void print_help(const walk *state)
{
    (void)ovp_text_print(
        state->session->call->out,
        "p pass, f fail, s skip, - not fitted, or what the meter reads with its unit. b back; `again "
        "STEP`\nmeasures a step anew and keeps both values; `note WORDS`, `photo FILE`; q quits and "
        "keeps all.\n");
}

/* Enter is "as expected" where a slip does no harm. */
static bool takes_enter(const lua_checklist_step *row)
{
    return row->of == LUA_CHECKLIST_OF_SAME || (row->of == LUA_CHECKLIST_OF_EYE && !row->safety);
}

static void word_prompt(const walk *state, char *prompt, size_t size)
{
    const checklist_session *session = state->session;
    const size_t oven = state->order[state->place].oven;
    lua_checklist_limit limit;
    checklist_limit(session, oven, state->order[state->place].step, &limit);
    const lua_checklist_step *row = row_here(state);
    (void)snprintf(prompt, size, "%s%s%s%s", session->ovens[oven].label,
                   limit.text[0] == '\0'              ? ""
                   : row->of == LUA_CHECKLIST_OF_SAME ? ", golden "
                                                      : ", ",
                   limit.text,
                   !takes_enter(row)                  ? ""
                   : row->of == LUA_CHECKLIST_OF_SAME ? " (Enter: the same)"
                                                      : " (Enter: as it should be)");
}

static void print_taken(const walk *state)
{
    static const char *const words[] = {"open", "pass", "FAIL", "skipped", "not fitted", "not touched"};
    const lua_checklist_step *row = row_here(state);
    const checklist_state *taken = here(state);
    ovp_sink out = state->session->call->out;
    if (taken->times > 1)
        (void)ovp_text_print(out, "        found %s, now %s\n", checklist_said(taken->found_answer),
                             checklist_said(taken->answer));
    if (taken->result != CHECKLIST_FAIL) {
        (void)ovp_text_print(
            out, "        %s%s\n", words[taken->result],
            taken->result == CHECKLIST_SKIPPED && row->safety ? ": a safety test, so not a pass" : "");
        return;
    }
    char if_not[LUA_CHECKLIST_TEXT_SIZE];
    command_say_beside(out, row->stop ? "        STOP" : "        FAIL", 14,
                       checklist_words(state->session, state->order[state->place].oven, row->if_not, if_not));
    if (row->stop && row->of == LUA_CHECKLIST_OF_SAME)
        (void)ovp_text_print(out,
                             "        No heat before it is set right; read the rest of the list first.\n");
    else if (row->stop)
        (void)ovp_text_print(out, "        %s takes no further part: do not use it. Mended? `again %s`\n",
                             state->session->ovens[state->order[state->place].oven].label, row->id);
}

/* Judge it, note it, keep it at once. */
static bool take(walk *state, const char *answer, ovp_error *error)
{
    checklist_session *session = state->session;
    checklist_entry entry = {.oven = state->order[state->place].oven,
                             .step = state->order[state->place].step};
    if (!ovp_copy_string(entry.answer, sizeof entry.answer, ovp_span_of(answer))) {
        (void)ovp_error_set(error, OVP_ERROR_DATA,
                            "that is too long for an answer; `note WORDS` keeps words");
        return false;
    }
    (void)ovp_copy_string(entry.note, sizeof entry.note, ovp_span_of(state->note));
    (void)ovp_copy_string(entry.photo, sizeof entry.photo, ovp_span_of(state->photo));
    (void)ovp_copy_string(entry.by, sizeof entry.by, ovp_span_of(session->by));
    store_now(entry.when);
    if (checklist_take(session, &entry, error) != OVP_OK || checklist_save_run(session, error) != OVP_OK)
        return false;
    state->note[0] = state->photo[0] = '\0';
    return true;
}

/* "note WORDS" and "photo FILE": kept at once, beside the step. */
static bool take_remark(walk *state, const char *line, ovp_error *error)
{
    const bool note = strncmp(line, "note ", 5) == 0;
    if (!note && strncmp(line, "photo ", 6) != 0)
        return false;
    (void)ovp_copy_string(note ? state->note : state->photo, CHECKLIST_NOTE_SIZE,
                          ovp_span_of(line + (note ? 5 : 6)));
    if (take(state, "", error))
        (void)ovp_text_print(state->session->call->out, "        kept\n");
    return true;
}

/* One place back; what was said there is taken back. */
static void step_back(walk *state)
{
    const size_t was = state->place;
    ovp_error error = {0};
    while (state->place > 0) {
        state->place--;
        const checklist_state *one = here(state);
        if (one->result < CHECKLIST_NOT_FITTED && one->because == NULL && one->result != CHECKLIST_OPEN &&
            take(state, "open", &error))
            return;
    }
    state->place = was;
}

/* The step of that id: of the oven that failed it, else of the one asked last. False: there is no such step.
 */
static bool go_again(walk *state, const char *id)
{
    for (int failed_only = 1; failed_only >= 0; failed_only--) {
        for (size_t turn = 1; turn <= state->count; turn++) {
            const size_t place = (state->place + state->count - turn) % state->count;
            const size_t step = state->order[place].step;
            const checklist_result result =
                state->session->ovens[state->order[place].oven].steps[step].result;
            if (strcmp(state->session->list.steps[step].id, id) != 0 || result >= CHECKLIST_NOT_FITTED ||
                (failed_only == 1 && result != CHECKLIST_FAIL))
                continue;
            state->place = place;
            return true;
        }
    }
    return false;
}

static walk_move take_line(walk *state, const char *line)
{
    static const char *const back[] = {"back", "b", NULL};
    static const char *const quit[] = {"quit", "q", "exit", NULL};
    static const char *const help[] = {"help", "h", NULL};
    ovp_sink out = state->session->call->out;
    ovp_error error = {0};
    if (command_lines_is(line, quit))
        return WALK_LEAVE;
    if (command_lines_is(line, back)) {
        step_back(state);
        state->announced = LUA_CHECKLIST_STEPS;
        return WALK_STAY;
    }
    if (strncmp(line, "again ", 6) == 0) {
        const size_t was = state->place;
        if (go_again(state, line + 6)) {
            announce(state);
        } else {
            state->place = was;
            (void)ovp_text_print(out, "        there is no step \"%s\" to measure again\n", line + 6);
        }
        return WALK_STAY;
    }
    if (take_remark(state, line, &error)) {
        if (error.what[0] != '\0')
            (void)ovp_text_print(out, "        %s\n", error.what);
        return WALK_STAY;
    }
    if (command_lines_is(line, help) || (line[0] == '\0' && !takes_enter(row_here(state)))) {
        print_help(state);
        return WALK_STAY;
    }
    if (line[0] == '\0')
        line = row_here(state)->of == LUA_CHECKLIST_OF_SAME ? row_here(state)->same : "pass";
    if (take(state, line, &error)) {
        print_taken(state);
        return WALK_ON;
    }
    (void)ovp_text_print(out, "        %s\n", error.what);
    return WALK_STAY;
}

/* The first firing of an oven that nobody told of: what its heat-up is compared with. */
static bool ask_first_firing(walk *state)
{
    checklist_oven *oven = &state->session->ovens[state->order[state->place].oven];
    if (row_here(state)->of != LUA_CHECKLIST_OF_FIRST_FIRING || !isnan(oven->first_s) || !oven->described)
        return true;
    char line[COMMAND_LINE_BYTES], prompt[OVP_OVEN_STRING_SIZE + 96];
    (void)snprintf(prompt, sizeof prompt, "%s, minutes of its first firing on this outlet (Enter: not known)",
                   oven->label);
    for (;;) {
        ovp_error error = {0};
        if (!command_lines_read(prompt, line))
            return false;
        if (line[0] == '\0' || strcmp(line, "?") == 0) {
            oven->first_s = -1; /* asked, not known */
            break;
        }
        if (ovp_text_quantity(ovp_span_of(line), OVP_TEXT_DURATION, OVP_TEXT_DEGREES_NONE, &oven->first_s,
                              &error) == OVP_OK &&
            oven->first_s > 0)
            break;
        oven->first_s = NAN;
        (void)ovp_text_print(state->session->call->out, "        a time with its unit, such as 30min\n");
    }
    return checklist_save_run(state->session, NULL) == OVP_OK;
}

static bool ask_by(checklist_session *session)
{
    char line[COMMAND_LINE_BYTES];
    if (session->by[0] != '\0')
        return true;
    if (!command_lines_read("Who does it (Enter: no name)", line))
        return false;
    (void)ovp_copy_string(session->by, sizeof session->by, ovp_span_of(line));
    return true;
}

/* After the last step: an oven that stopped may have been mended meanwhile. False to leave. */
static bool comes_back(walk *state)
{
    char line[COMMAND_LINE_BYTES];
    bool stopped = false;
    for (size_t i = 0; i < state->session->oven_count; i++)
        stopped = stopped || checklist_judge(state->session, i) == CHECKLIST_STOPPED;
    if (!stopped || state->count == 0)
        return false;
    while (command_lines_read("Stopped. `again STEP` when it is mended; Enter leaves", line)) {
        if (strncmp(line, "again ", 6) != 0)
            return false;
        state->place = 0;
        state->announced = LUA_CHECKLIST_STEPS;
        if (go_again(state, line + 6))
            return true;
        (void)ovp_text_print(state->session->call->out, "        there is no step \"%s\"\n", line + 6);
    }
    return false;
}

static void walk_on(walk *state)
{
    char line[COMMAND_LINE_BYTES], prompt[LUA_CHECKLIST_TEXT_SIZE + OVP_OVEN_STRING_SIZE + 64];
    walk_move move = WALK_ON;
    for (;;) {
        while (move == WALK_ON && state->place < state->count && !is_asked(state))
            state->place++;
        if (state->place == state->count) {
            if (!comes_back(state))
                return;
            move = WALK_STAY;
        }
        if (state->announced != state->order[state->place].step)
            announce(state);
        if (move == WALK_ON && !ask_first_firing(state))
            return;
        word_prompt(state, prompt, sizeof prompt);
        if (!command_lines_read(prompt, line))
            return;
        move = take_line(state, line);
        if (move == WALK_LEAVE)
            return;
        if (move == WALK_ON)
            state->place++;
    }
}

int checklist_talk(checklist_session *session)
{
    static walk state; /* large */
    ovp_error error = {0};
    state = (walk){.session = session, .announced = LUA_CHECKLIST_STEPS};
    lay_out(&state);
    ask_begin();
    (void)ovp_text_print(session->call->out, "%s\n", session->list.title);
    checklist_print_cautions(session, session->call->out);
    print_help(&state);
    if (session->golden[0] != '\0')
        (void)ovp_text_print(session->call->out, "Fingerprint of the golden list: %s\n", session->golden);
    if (ask_by(session) && checklist_save_run(session, &error) == OVP_OK)
        walk_on(&state);
    ask_end();
    if (error.what[0] != '\0')
        return command_fail(&error);
    (void)ovp_text_print(session->call->out, "\n");
    checklist_print_end(session, session->call->out);
    if (session->run[0] != '\0')
        (void)ovp_text_print(session->call->out,
                             "Kept. Go on, or look again: `ovenproof checklist --run %s`\n", session->run);
    if (checklist_write_results(session, &error) != OVP_OK)
        return command_fail(&error);
    return checklist_exit_status(session);
}
