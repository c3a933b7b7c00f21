/*
 * guide: the dialogue. Lines in, lines out: the terminal stays as it is, so that nothing has to be put
 * right when the person leaves by Ctrl-C or the input ends.
 */
#include "command/ask.h"
#include "command/beside.h"
#include "command/guide.h"
#include "command/lines.h"

#include <string.h>

typedef struct talk {
    guide_session *session;
    const ovp_diagnosis_measurement *before; /**< the question before this one */
    const char *rechecked[LUA_GUIDE_QUESTIONS];
    size_t rechecked_count;
    const ovp_diagnosis_measurement *offered; /**< a measurement that a few words out of turn were about */
} talk;

typedef enum talk_word {
    TALK_TEXT,
    TALK_UNKNOWN,
    TALK_BACK,
    TALK_WHY,
    TALK_HELP,
    TALK_QUIT,
    TALK_NOTHING,
} talk_word;

static talk_word word_of(const char *line)
{
    static const char *const unknown[] = {"?",        "unknown",      "don't know", "dont know",
                                          "not sure", "can't tell",   "cant tell",  "can't",
                                          "cannot",   "i don't know", "no idea",    NULL};
    static const char *const back[] = {"back", "b", NULL};
    static const char *const why[] = {"why", "w", NULL};
    static const char *const help[] = {"help", "h", NULL};
    static const char *const quit[] = {"quit", "q", "exit", "stop", NULL};
    if (line[0] == '\0')
        return TALK_NOTHING;
    if (command_lines_is(line, unknown))
        return TALK_UNKNOWN;
    if (command_lines_is(line, back))
        return TALK_BACK;
    if (command_lines_is(line, why))
        return TALK_WHY;
    if (command_lines_is(line, help))
        return TALK_HELP;
    return command_lines_is(line, quit) ? TALK_QUIT : TALK_TEXT;
}

/* ---- what a line means as an answer ------------------------------------------------------------------- */

static bool begins_with(const char *text, const char *start)
{
    size_t count = strlen(start);
    return strlen(text) >= count && ovp_span_equals((ovp_span){text, count}, start);
}

/* The outcome whose plain words begin with the line, when there is exactly one; NULL else. */
static const char *choice_by_words(const ovp_diagnosis_measurement *question, const char *line)
{
    const char *found = NULL;
    for (size_t i = 0; i < question->outcome_count; i++) {
        const char *text = ovp_diagnosis_outcome_text(question->id, question->outcomes[i]);
        if (ovp_span_equals(ovp_span_of(line), text) || strcmp(line, question->outcomes[i]) == 0)
            return question->outcomes[i];
        if (!begins_with(text, line))
            continue;
        if (found != NULL)
            return NULL;
        found = question->outcomes[i];
    }
    return found;
}

/* An answer that the case takes: the choice, or a quantity as it was typed. NULL: not understood. */
static const char *answer_from(const talk *state, const ovp_diagnosis_measurement *question, const char *line,
                               ovp_error *error)
{
    size_t number = command_lines_choice(line, question->outcome_count);
    if (number > 0)
        return question->outcomes[number - 1];
    const char *outcome = choice_by_words(question, line);
    if (outcome != NULL)
        return outcome;
    if (ovp_diagnosis_answer(state->session->state, question->id, line, error) == OVP_OK)
        return line;
    return NULL;
}

/* "ohms-ground=0.2ohm" out of turn. */
static bool volunteered(talk *state, const char *line, ovp_error *error)
{
    const char *equals = strchr(line, '=');
    if (equals == NULL || equals == line)
        return false;
    char id[LUA_GUIDE_ID_SIZE], answer[LUA_GUIDE_ID_SIZE];
    ovp_span name = ovp_span_trim((ovp_span){line, (size_t)(equals - line)});
    (void)ovp_copy_string(id, sizeof id, name);
    (void)ovp_copy_string(answer, sizeof answer, ovp_span_trim(ovp_span_of(equals + 1)));
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    if (measurement == NULL)
        return false;
    const char *taken = answer_from(state, measurement, answer, error);
    if (taken == NULL)
        return false;
    return guide_add_answer(state->session, id, taken, error) == OVP_OK;
}

/* ---- the entry question ------------------------------------------------------------------------------- */

/* True when an entry of this guide hands over to another one. */
static bool sorts_to_guides(const lua_guide_about *about)
{
    bool sorts = false;
    for (size_t i = 0; i < about->told_count; i++)
        sorts = sorts || about->told[i].guide[0] != '\0';
    return sorts;
}

static void take_told(guide_session *session, size_t number)
{
    ovp_error ignored;
    for (size_t i = 0; number > 0 && i < session->about.told[number - 1].evidence_count; i++)
        (void)guide_add_answer(session, session->about.told[number - 1].evidence[i].id,
                               session->about.told[number - 1].evidence[i].answer, &ignored);
}

/* The guide that an entry or a few words lead to takes over: what makes it safe is said first. */
static bool hand_over(guide_session *session, size_t number, const char *line)
{
    char name[LUA_GUIDE_ID_SIZE];
    ovp_error ignored = {0};
    (void)ovp_copy_string(name, sizeof name,
                          ovp_span_of(number > 0 ? session->about.told[number - 1].guide : ""));
    take_told(session, number);
    if (number > 0 && name[0] == '\0')
        return false;
    if (number > 0 ? guide_choose(session, name, &ignored) != OVP_OK : !guide_choose_by_words(session, line))
        return false;
    if (guide_case_hand_over(session, &ignored) != OVP_OK)
        session->keep_failed = true;
    guide_print_opening(session);
    return true;
}

/* What the person has already seen; false to leave. */
static bool ask_told(talk *state)
{
    guide_session *session = state->session;
    const lua_guide_about *about = &session->about;
    if (about->told_count == 0)
        return true;
    ovp_sink out = session->call->out;
    bool sorts = sorts_to_guides(about);
    (void)ovp_text_print(out, "\nWhat have you seen? A number, %sor Enter for none of these.\n",
                         sorts ? "a few words of your own, " : "");
    for (size_t i = 0; i < about->told_count; i++)
        (void)ovp_text_print(out, "%5zu  %s\n", i + 1, about->told[i].text);
    char line[COMMAND_LINE_BYTES];
    for (;;) {
        if (!command_lines_read("seen", line) || word_of(line) == TALK_QUIT)
            return false;
        size_t number = command_lines_choice(line, about->told_count);
        if (sorts && (number > 0 || word_of(line) == TALK_TEXT) && hand_over(session, number, line))
            return ask_told(state);
        if (sorts && number > 0)
            return true;
        if (number == 0 && word_of(line) == TALK_TEXT) {
            (void)ovp_text_print(out, "A number from 1 to %zu, or Enter.\n", about->told_count);
            continue;
        }
        take_told(session, number);
        return true;
    }
}

/* ---- one question ------------------------------------------------------------------------------------- */

static void print_help(const talk *state)
{
    (void)ovp_text_print(
        state->session->call->out,
        "A number, the first words of a choice, or what the meter reads with its unit; `?` when you "
        "cannot tell;\n`back` takes the last answer back, `why` says more, `quit` says what was "
        "found so far.\nOut of turn: ID=ANSWER, for example ohms-ground=0.2ohm.\n");
}

static void echo_answer(const talk *state, const ovp_diagnosis_measurement *question, const char *answer)
{
    bool is_outcome = false;
    for (size_t i = 0; i < question->outcome_count; i++)
        is_outcome = is_outcome || strcmp(question->outcomes[i], answer) == 0;
    (void)ovp_text_print(state->session->call->out, "  taken: %s\n",
                         is_outcome ? ovp_diagnosis_outcome_text(question->id, answer) : answer);
}

/* Something could not be written: said at once, and the talk goes on. */
static void note_failure(guide_session *session, ovp_status status, const ovp_error *error)
{
    if (status == OVP_OK)
        return;
    session->keep_failed = true;
    (void)command_fail(error);
}

static void take_back(talk *state)
{
    guide_session *session = state->session;
    ovp_error error = {0};
    if (session->answer_count == 0) {
        (void)ovp_text_print(session->call->out, "There is no answer to take back.\n");
        return;
    }
    (void)ovp_text_print(session->call->out, "  taken back: %s\n",
                         session->answers[session->answer_count - 1].id);
    note_failure(session, guide_take_back(session, session->answer_count - 1, &error), &error);
    state->before = NULL;
}

/*
 * A few words out of turn ("fuse good", "reads 40 low"): the measurement that they may be an answer to is put
 * as the question. It is asked when the guide goes on, so nothing is taken that nobody confirmed.
 */
static bool offered(talk *state, const ovp_diagnosis_measurement *question, const char *line)
{
    guide_session *session = state->session;
    const ovp_diagnosis_measurement *found[1];
    if (ovp_diagnosis_offer(line, found, 1) == 0 || found[0] == question ||
        !ovp_diagnosis_allows(session->state, found[0]))
        return false;
    state->offered = found[0];
    return true;
}

/* Read lines until one settles the question. False to leave. */
static bool settle_question(talk *state, const ovp_diagnosis_measurement *question)
{
    guide_session *session = state->session;
    char line[COMMAND_LINE_BYTES];
    for (;;) {
        ovp_error error = {0};
        if (!command_lines_read("answer", line))
            return false;
        const char *answer = NULL;
        switch (word_of(line)) {
        case TALK_QUIT:
            return false;
        case TALK_BACK:
            take_back(state);
            return true;
        case TALK_WHY:
            guide_print_why(session);
            continue;
        case TALK_HELP:
        case TALK_NOTHING:
            print_help(state);
            continue;
        case TALK_UNKNOWN:
            return guide_add_answer(session, question->id, "unknown", &error) == OVP_OK;
        case TALK_TEXT:
            break;
        }
        if (volunteered(state, line, &error))
            return true;
        answer = answer_from(state, question, line, &error);
        if (answer == NULL && offered(state, question, line))
            return true;
        if (answer == NULL) {
            (void)ovp_text_print(session->call->out, "Not understood: %s\n",
                                 error.what[0] != '\0' ? error.what
                                                       : "a number, the first words of a choice, or `?`");
            continue;
        }
        echo_answer(state, question, answer);
        state->before = question;
        return guide_add_answer(session, question->id, answer, &error) == OVP_OK;
    }
}

/* A doubted answer is asked again, once. True when there was one and it was settled or kept. */
static bool ask_again(talk *state, bool *leave)
{
    guide_session *session = state->session;
    for (size_t i = 0; i < session->result.recheck_count; i++) {
        const char *id = session->result.recheck[i];
        const ovp_diagnosis_measurement *question = ovp_diagnosis_measurement_named(id);
        bool done = question == NULL || state->rechecked_count == LUA_GUIDE_QUESTIONS;
        for (size_t j = 0; j < state->rechecked_count; j++)
            done = done || strcmp(state->rechecked[j], id) == 0;
        if (done)
            continue;
        state->rechecked[state->rechecked_count++] = question->id;
        (void)ovp_text_print(session->call->out,
                             "\nOne answer does not fit with the rest. Please look again:\n");
        session->step.question = question;
        session->step.why[0] = session->step.expect[0] = '\0';
        guide_print_question(session, state->before);
        *leave = !settle_question(state, question);
        return true;
    }
    return false;
}

/* How it goes on, said last; the exit status. */
static int finish(const guide_session *session)
{
    const char *name = session->kept != NULL ? session->kept->name : "";
    if (session->kept != NULL && !session->step.concluded)
        (void)ovp_text_print(session->call->out, "Kept. To go on: ovenproof guide --case-name %s\n", name);
    else if (session->kept != NULL)
        (void)ovp_text_print(session->call->out,
                             "Kept. When it is mended: ovenproof guide --close %s WHAT-IT-WAS\n", name);
    return session->keep_failed ? (int)OVP_ERROR_SYSTEM : guide_exit_status(session);
}

static int leave_early(talk *state)
{
    guide_session *session = state->session;
    (void)ovp_text_print(session->call->out, "\n");
    guide_print_conclusion(session, true);
    return finish(session);
}

/* What the case knows, when one is gone on with. */
static void print_case(const guide_session *session)
{
    const store_case *kept = session->kept;
    if (kept == NULL || kept->is_new)
        return;
    char text[GUIDE_CHANGED_SIZE];
    (void)snprintf(text, sizeof text, "Case %s, begun %s: %.200s. %zu answer%s so far.", kept->name,
                   guide_shown_time(kept->began).text, kept->complaint, kept->answer_count,
                   kept->answer_count == 1 ? "" : "s");
    command_say(session->call->out, text);
    if (session->changed[0] != '\0')
        command_say(session->call->out, session->changed);
    if (kept->note_count > 0)
        command_say_beside(session->call->out, "Noted", 10, kept->notes[kept->note_count - 1].text);
}

/* The entry question is not put twice, also when nothing of it had been seen. */
static void keep_told(guide_session *session, bool leave)
{
    ovp_error error = {0};
    if (session->kept == NULL || session->kept->told || leave)
        return;
    session->kept->told = true;
    note_failure(session, store_case_save(session->kept, &error), &error);
}

int guide_talk(guide_session *session)
{
    talk state = {.session = session};
    ask_begin();
    print_case(session);
    guide_print_opening(session);
    bool leave = session->kept != NULL && session->kept->told ? false : !ask_told(&state);
    keep_told(session, leave);
    for (;;) {
        ovp_error error = {0};
        if (guide_evaluate(session, &error) != OVP_OK)
            return command_fail(&error);
        note_failure(session, guide_keep(session, &error), &error);
        if (leave)
            return leave_early(&state);
        if (session->step.concluded) {
            if (ask_again(&state, &leave))
                continue;
            (void)ovp_text_print(session->call->out, "\n");
            guide_print_conclusion(session, false);
            return finish(session);
        }
        if (state.offered != NULL) {
            (void)ovp_text_print(session->call->out, "\nThat is about this one:\n");
            session->step.question = state.offered;
            session->step.why[0] = session->step.expect[0] = '\0';
            session->step.from_memory = false;
            state.offered = NULL;
        }
        guide_print_question(session, state.before);
        leave = !settle_question(&state, session->step.question);
    }
}
