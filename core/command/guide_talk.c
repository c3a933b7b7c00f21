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
    char preset[LUA_GUIDE_TEXT_SIZE]; /**< what those words said, in brackets: Enter takes it; "" nothing */
    char preset_answer[LUA_GUIDE_ID_SIZE];
} talk;

typedef enum talk_word {
    TALK_TEXT,
    TALK_UNKNOWN,
    TALK_BACK,
    TALK_WHY,
    TALK_FIGURES,
    TALK_LIST,
    TALK_HELP,
    TALK_QUIT,
    TALK_NOTHING,
} talk_word;

static talk_word word_of(const char *line)
{
    static const char *const back[] = {"back", "b", NULL};
    static const char *const why[] = {"why", "w", NULL};
    static const char *const figures[] = {"figures", NULL};
    static const char *const list[] = {"list", "l", "answers", NULL};
    static const char *const help[] = {"help", "h", NULL};
    static const char *const quit[] = {"quit", "q", "exit", "stop", NULL};
    if (line[0] == '\0')
        return TALK_NOTHING;
    if (guide_is_unknown(line))
        return TALK_UNKNOWN;
    if (command_lines_is(line, back))
        return TALK_BACK;
    if (command_lines_is(line, why))
        return TALK_WHY;
    if (command_lines_is(line, figures))
        return TALK_FIGURES;
    if (command_lines_is(line, list))
        return TALK_LIST;
    if (command_lines_is(line, help))
        return TALK_HELP;
    return command_lines_is(line, quit) ? TALK_QUIT : TALK_TEXT;
}

/* What follows the first words of a line ("take back fuse" after "take back"); NULL when they are not there.
 */
static const char *after(const char *line, const char *words)
{
    const size_t count = strlen(words);
    if (strlen(line) <= count || line[count] != ' ' || !ovp_span_equals((ovp_span){line, count}, words))
        return NULL;
    return line + count + 1 + strspn(line + count + 1, " ");
}

/* ---- what a line means as an answer ------------------------------------------------------------------- */

/* An answer that the case takes: the choice, or a quantity as it was typed. False: not understood. */
static bool answer_from(const talk *state, const ovp_diagnosis_measurement *question, const char *line,
                        char answer[LUA_GUIDE_ID_SIZE], ovp_error *error)
{
    size_t number = command_lines_choice(line, question->outcome_count);
    if (number > 0)
        return ovp_copy_string(answer, LUA_GUIDE_ID_SIZE, ovp_span_of(question->outcomes[number - 1]));
    return guide_answer_from(state->session, question, line, answer, error);
}

/* "ohms-ground=0.2ohm" out of turn. */
static bool volunteered(talk *state, const char *line, ovp_error *error)
{
    const char *equals = strchr(line, '=');
    if (equals == NULL || equals == line)
        return false;
    char id[LUA_GUIDE_ID_SIZE], answer[LUA_GUIDE_ID_SIZE], taken[LUA_GUIDE_ID_SIZE];
    ovp_span name = ovp_span_trim((ovp_span){line, (size_t)(equals - line)});
    (void)ovp_copy_string(id, sizeof id, name);
    (void)ovp_copy_string(answer, sizeof answer, ovp_span_trim(ovp_span_of(equals + 1)));
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    if (measurement == NULL || !answer_from(state, measurement, answer, taken, error))
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

/* True when the words of the complaint have said already what the entries would ask. */
static bool told_already(const guide_session *session)
{
    const lua_guide_about *about = &session->about;
    lua_guide_answer heard[LUA_GUIDE_HEARD];
    const size_t count = lua_guide_hear(about, session->words, heard, LUA_GUIDE_HEARD);
    for (size_t i = 0; i < about->told_count; i++)
        for (size_t j = 0; j < about->told[i].evidence_count; j++)
            for (size_t k = 0; k < count; k++)
                if (strcmp(about->told[i].evidence[j].id, heard[k].id) == 0)
                    return true;
    return false;
}

/* What the person has already seen; false to leave. */
static bool ask_told(talk *state)
{
    guide_session *session = state->session;
    const lua_guide_about *about = &session->about;
    /* A log that shows danger sorts the complaint better than a list of them. */
    const bool shown = session->trace != NULL && session->trace->result.danger_now;
    if (about->told_count == 0 || shown || told_already(session))
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
        "cannot tell.\n`back` takes the last answer back, `list` shows them all, `take back fuse` or `take "
        "back 2` one of them;\n`why` says what each answer would mean, `figures` how likely each cause is; "
        "`note "
        "WORDS` keeps a note,\n`keep NAME` makes it a case, `quit` says what was found so far.\n"
        "Out of turn just say it: fuse good; ground 0.2 ohm; reads 40 low.\n");
}

static void echo_answer(const talk *state, const ovp_diagnosis_measurement *question, const char *answer)
{
    (void)ovp_text_print(state->session->call->out, "  taken: %s\n",
                         guide_answer_words(question->id, answer));
}

/* Something could not be written: said at once, and the talk goes on. */
static void note_failure(guide_session *session, ovp_status status, const ovp_error *error)
{
    if (status == OVP_OK)
        return;
    session->keep_failed = true;
    (void)command_fail(error);
}

static void take_back_at(talk *state, size_t index)
{
    guide_session *session = state->session;
    ovp_error error = {0};
    (void)ovp_text_print(session->call->out, "  taken back: %s: %s\n",
                         guide_short_question(session->answers[index].id).text,
                         guide_answer_words(session->answers[index].id, session->answers[index].answer));
    note_failure(session, guide_take_back(session, index, &error), &error);
    state->before = NULL;
}

static void take_back(talk *state)
{
    guide_session *session = state->session;
    if (session->answer_count == 0)
        (void)ovp_text_print(session->call->out, "There is no answer to take back.\n");
    else
        take_back_at(state, session->answer_count - 1);
}

/* The answers in force, each once: of `number` (from 1) the index; answer_count when there is no such. */
static size_t answer_numbered(const guide_session *session, size_t number)
{
    for (size_t i = 0; i < session->answer_count; i++)
        if (guide_in_force(session, i) && --number == 0)
            return i;
    return session->answer_count;
}

/* The answer that a number of `list`, an id or a few words mean. */
static size_t answer_meant(const guide_session *session, const char *words)
{
    ovp_diagnosis_offered found[8];
    const size_t number = command_lines_choice(words, session->answer_count);
    if (number > 0)
        return answer_numbered(session, number);
    const size_t count = guide_offers(session, words, found, sizeof found / sizeof found[0]);
    for (size_t j = 0; j < count; j++)
        for (size_t i = session->answer_count; i > 0; i--)
            if (strcmp(session->answers[i - 1].id, found[j].measurement->id) == 0)
                return i - 1;
    for (size_t i = session->answer_count; i > 0; i--)
        if (strstr(session->answers[i - 1].id, words) != NULL)
            return i - 1;
    return session->answer_count;
}

/* All that was said to that question goes; true when there was something. */
static bool take_back_meant(talk *state, const char *words)
{
    guide_session *session = state->session;
    const size_t index = answer_meant(session, words);
    if (index == session->answer_count) {
        (void)ovp_text_print(session->call->out, "Nothing was said about \"%s\"; `list` shows the answers.\n",
                             words);
        return false;
    }
    char id[LUA_GUIDE_ID_SIZE];
    (void)ovp_copy_string(id, sizeof id, ovp_span_of(session->answers[index].id));
    take_back_at(state, index);
    for (size_t i = session->answer_count; i > 0; i--) {
        ovp_error error = {0};
        if (strcmp(session->answers[i - 1].id, id) == 0)
            note_failure(session, guide_take_back(session, i - 1, &error), &error);
    }
    return true;
}

static void print_list(const guide_session *session)
{
    enum {
        MOST = 12
    };
    size_t count = 0, number = 0;
    for (size_t i = 0; i < session->answer_count; i++)
        count += guide_in_force(session, i);
    if (count == 0)
        (void)ovp_text_print(session->call->out, "Nothing was answered yet.\n");
    if (count > MOST)
        (void)ovp_text_print(session->call->out, "(%zu before these)\n", count - MOST);
    for (size_t i = 0; i < session->answer_count; i++) {
        const lua_guide_answer *answer = &session->answers[i];
        char label[24];
        if (!guide_in_force(session, i) || ++number + MOST <= count)
            continue;
        (void)snprintf(label, sizeof label, "%5zu  ", number);
        char text[LUA_GUIDE_TEXT_SIZE];
        (void)snprintf(text, sizeof text, "%s: %s", guide_short_question(answer->id).text,
                       guide_answer_words(answer->id, answer->answer));
        command_say_beside(session->call->out, label, 7, text);
    }
}

/*
 * A few words out of turn ("fuse good", "reads 40 low"): the measurement that they may be an answer to is put
 * as the question, with what they say in brackets, so nothing is taken that nobody confirmed.
 */
static bool offered(talk *state, const ovp_diagnosis_measurement *question, const char *line)
{
    guide_session *session = state->session;
    ovp_diagnosis_offered found[1];
    if (guide_offers(session, line, found, 1) == 0 ||
        ovp_diagnosis_fitted(session->state, found[0].measurement->needs_part) == OVP_OVEN_NOT_FITTED)
        return false;
    const bool answers = found[0].answer[0] != '\0';
    if (found[0].measurement == question && !answers)
        return false;
    state->offered = found[0].measurement;
    (void)ovp_copy_string(state->preset_answer, sizeof state->preset_answer, ovp_span_of(found[0].answer));
    (void)ovp_copy_string(state->preset, sizeof state->preset,
                          ovp_span_of(found[0].outcome != NULL ? found[0].text : found[0].answer));
    return true;
}

/* `keep NAME`, `note WORDS`, `take back WORDS`. True when it was one; *asked_anew when the question goes. */
static bool did_order(talk *state, const char *line, bool *asked_anew)
{
    guide_session *session = state->session;
    ovp_error error = {0};
    const char *rest = after(line, "take back");
    if (rest == NULL)
        rest = after(line, "back");
    if (rest != NULL) {
        *asked_anew = take_back_meant(state, rest);
        return true;
    }
    if ((rest = after(line, "note")) != NULL) {
        if (session->kept == NULL)
            (void)ovp_text_print(session->call->out,
                                 "Only a case keeps notes: `keep NAME` makes this one.\n");
        else if (guide_case_note(session, rest, &error) == OVP_OK)
            (void)ovp_text_print(session->call->out, "  noted\n");
        else
            note_failure(session, error.status, &error);
        return true;
    }
    if ((rest = after(line, "keep")) != NULL) {
        if (session->kept != NULL)
            (void)ovp_text_print(session->call->out, "It is kept already, as %s.\n", session->kept->name);
        else if (guide_case_begin(session, rest, &error) == OVP_OK)
            (void)ovp_text_print(session->call->out, "  kept as %s from now on\n", session->kept->name);
        else
            ask_complain(&error);
        return true;
    }
    return false;
}

/* A line; Enter takes what stands in brackets. False to leave. */
static bool read_answer(talk *state, char line[COMMAND_LINE_BYTES])
{
    switch (ask_line("answer", state->preset, line, COMMAND_LINE_BYTES)) {
    case ASK_ENDED:
        return false;
    case ASK_UNKNOWN:
        (void)ovp_copy_string(line, COMMAND_LINE_BYTES, ovp_span_of("?"));
        return true;
    case ASK_ANSWER:
        break;
    }
    if (state->preset[0] != '\0' && strcmp(line, state->preset) == 0)
        (void)ovp_copy_string(line, COMMAND_LINE_BYTES, ovp_span_of(state->preset_answer));
    return true;
}

/* True when the line settled the question, or another is to be put. */
static bool took_text(talk *state, const ovp_diagnosis_measurement *question, const char *line)
{
    guide_session *session = state->session;
    ovp_error error = {0};
    char answer[LUA_GUIDE_ID_SIZE];
    bool asked_anew = false;
    if (did_order(state, line, &asked_anew))
        return asked_anew;
    if (volunteered(state, line, &error))
        return true;
    if (!answer_from(state, question, line, answer, &error)) {
        if (offered(state, question, line))
            return true;
        (void)ovp_text_print(session->call->out, "Not understood: %s\n",
                             error.what[0] != '\0' ? error.what
                                                   : "a number, the first words of a choice, or `?`");
        return false;
    }
    echo_answer(state, question, answer);
    state->before = question;
    return guide_add_answer(session, question->id, answer, &error) == OVP_OK;
}

/* Read lines until one settles the question. False to leave. */
static bool settle_question(talk *state, const ovp_diagnosis_measurement *question)
{
    guide_session *session = state->session;
    char line[COMMAND_LINE_BYTES];
    for (;;) {
        ovp_error error = {0};
        if (!read_answer(state, line))
            return false;
        switch (word_of(line)) {
        case TALK_QUIT:
            return false;
        case TALK_BACK:
            take_back(state);
            return true;
        case TALK_WHY:
            guide_print_meanings(session);
            continue;
        case TALK_FIGURES:
            guide_print_why(session);
            continue;
        case TALK_LIST:
            print_list(session);
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
        if (took_text(state, question, line))
            return true;
    }
}

static bool was_doubted(const talk *state, const char *id)
{
    for (size_t j = 0; j < state->rechecked_count; j++)
        if (strcmp(state->rechecked[j], id) == 0)
            return true;
    return false;
}

static void keep_doubted(talk *state, const char *id)
{
    store_case *kept = state->session->kept;
    ovp_error error = {0};
    state->rechecked[state->rechecked_count++] = id;
    if (kept == NULL || kept->doubted_count == STORE_CASE_DOUBTED)
        return;
    (void)ovp_copy_string(kept->doubted[kept->doubted_count++], STORE_CASE_WORD, ovp_span_of(id));
    note_failure(state->session, store_case_save(kept, &error), &error);
}

/* A doubted answer is asked again, once. True when there was one and it was settled or kept. */
static bool ask_again(talk *state, bool *leave)
{
    guide_session *session = state->session;
    for (size_t i = 0; i < session->result.recheck_count; i++) {
        const ovp_diagnosis_measurement *question =
            ovp_diagnosis_measurement_named(session->result.recheck[i]);
        if (question == NULL || state->rechecked_count == LUA_GUIDE_QUESTIONS ||
            was_doubted(state, question->id))
            continue;
        keep_doubted(state, question->id);
        guide_print_contradiction(session, question->id);
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

/* What the trace showed, and where the guide begins because of it. */
static void print_shown(const guide_session *session)
{
    enum {
        MOST = 3
    };
    size_t shown = 0;
    for (size_t i = 0; session->trace != NULL && i < session->trace->result.finding_count && shown < MOST;
         i++) {
        const ovp_trace_finding *finding = &session->trace->result.findings[i];
        if (!finding->notable || strcmp(finding->text, session->trace->result.danger_text) == 0)
            continue;
        command_say_beside(session->call->out, shown == 0 ? "Trace" : "", 10, finding->text);
        shown++;
    }
}

/* A guide that did not come with the tool says where it was found. */
static void print_where_found(const guide_session *session)
{
    if (session->about.found != LUA_ORIGIN_PROGRAM)
        (void)ovp_text_print(session->call->out, "This guide is %s\n", session->path);
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
    for (size_t i = 0; session->kept != NULL && i < session->kept->doubted_count; i++)
        state.rechecked[state.rechecked_count++] = session->kept->doubted[i];
    print_case(session);
    print_where_found(session);
    guide_print_opening(session); /* a danger that the trace showed stands first in it */
    print_shown(session);
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
        state.preset[0] = state.offered == NULL ? '\0' : state.preset[0];
    }
}
