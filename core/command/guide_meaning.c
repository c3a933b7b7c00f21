/* guide: what each answer to the question would mean, and which two answers do not fit together. */
#include "command/beside.h"
#include "command/guide.h"

#include <stdlib.h>
#include <string.h>

bool guide_in_force(const guide_session *session, size_t index)
{
    for (size_t i = index + 1; i < session->answer_count; i++)
        if (strcmp(session->answers[i].id, session->answers[index].id) == 0)
            return false;
    return true;
}

const char *guide_meaning(const guide_session *session, size_t outcome, char *buffer, size_t size)
{
    if (ovp_diagnosis_meaning(session->state, session->step.question, outcome, buffer, size) == 0 &&
        ovp_diagnosis_measurement_named(session->step.question->id) != NULL)
        (void)ovp_copy_string(buffer, size, ovp_span_of("changes little"));
    return buffer;
}

void guide_print_meanings(guide_session *session)
{
    const ovp_diagnosis_measurement *question = session->step.question;
    command_say_beside(session->call->out, "Why", 10, guide_why(session));
    if (ovp_diagnosis_measurement_named(question->id) == NULL)
        return;
    for (size_t i = 0; i < question->outcome_count; i++) {
        char meaning[LUA_GUIDE_TEXT_SIZE], text[2 * LUA_GUIDE_TEXT_SIZE], words[GUIDE_WORDS_SIZE], label[24];
        (void)snprintf(text, sizeof text, "%s: %s",
                       ovp_diagnosis_outcome_text(question->id, question->outcomes[i]),
                       guide_meaning(session, i, meaning, sizeof meaning));
        (void)guide_plain_words(session, text, words, sizeof words);
        (void)snprintf(label, sizeof label, "%5zu  ", i + 1);
        command_say_beside(session->call->out, label, 7, words);
    }
}

static bool is_doubted(const ovp_diagnosis_result *result, const char *id)
{
    for (size_t i = 0; i < result->recheck_count; i++)
        if (strcmp(result->recheck[i], id) == 0)
            return true;
    return false;
}

/* The answer without which the doubted one fits: its counterpart. answer_count when there is none alone. */
static size_t counterpart(guide_session *session, const char *doubted)
{
    size_t found = session->answer_count;
    ovp_diagnosis_result *now = malloc(sizeof *now);
    for (size_t i = session->answer_count; now != NULL && found == session->answer_count && i > 0; i--) {
        const lua_guide_answer *other = &session->answers[i - 1];
        if (strcmp(other->id, doubted) == 0 || !guide_in_force(session, i - 1) ||
            !ovp_diagnosis_retract(session->state, other->id))
            continue;
        ovp_diagnosis_infer(session->state, now);
        if (!is_doubted(now, doubted))
            found = i - 1;
        (void)ovp_diagnosis_answer(session->state, other->id, other->answer, NULL);
    }
    free(now);
    return found;
}

static void say_answer(const guide_session *session, const char *label, size_t index)
{
    char text[LUA_GUIDE_TEXT_SIZE];
    const lua_guide_answer *answer = &session->answers[index];
    (void)snprintf(text, sizeof text, "%s: %s", guide_short_question(answer->id).text,
                   guide_answer_words(answer->id, answer->answer));
    command_say_beside(session->call->out, label, 10, text);
}

void guide_print_contradiction(guide_session *session, const char *doubted)
{
    size_t first = session->answer_count;
    for (size_t i = 0; i < session->answer_count; i++)
        first = strcmp(session->answers[i].id, doubted) == 0 ? i : first;
    const size_t second = counterpart(session, doubted);
    const bool both = first < session->answer_count && second < session->answer_count;
    (void)ovp_text_print(session->call->out, "\n%s\n",
                         both ? "These two answers do not fit together. Please look at the first again:"
                              : "One answer does not fit with the rest. Please look again:");
    if (first < session->answer_count)
        say_answer(session, "First", first);
    if (both)
        say_answer(session, "Second", second);
}
