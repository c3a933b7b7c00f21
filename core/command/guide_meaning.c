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

static double present_of(const ovp_diagnosis_result *result, const ovp_diagnosis_fault *fault)
{
    for (size_t i = 0; i < result->cause_count; i++)
        if (result->causes[i].fault == fault)
            return result->causes[i].present;
    return 0;
}

/* What moved most between two looks at the case, in words. */
static void word_change(const ovp_diagnosis_result *before, const ovp_diagnosis_result *now, char *text,
                        size_t size)
{
    static const double worth_saying = 0.03;
    const ovp_diagnosis_fault *up = NULL, *down = NULL;
    double most_up = worth_saying, most_down = worth_saying;
    for (size_t i = 0; i < ovp_diagnosis_fault_count(); i++) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(i);
        const double moved = present_of(now, fault) - present_of(before, fault);
        up = moved > most_up ? fault : up;
        most_up = moved > most_up ? moved : most_up;
        down = -moved > most_down ? fault : down;
        most_down = -moved > most_down ? -moved : most_down;
    }
    if (up != NULL)
        (void)snprintf(text, size, "points to %s", up->title);
    else if (down != NULL)
        (void)snprintf(text, size, "speaks against %s", down->title);
    else
        (void)snprintf(text, size, "changes little");
}

void guide_print_meanings(guide_session *session)
{
    const ovp_diagnosis_measurement *question = session->step.question;
    ovp_diagnosis_result *now = malloc(sizeof *now);
    command_say_beside(session->call->out, "Why", 10, guide_why(session));
    if (now == NULL || ovp_diagnosis_measurement_named(question->id) == NULL) {
        free(now);
        return;
    }
    const char *stands = ovp_diagnosis_answered(session->state, question->id);
    for (size_t i = 0; i < question->outcome_count; i++) {
        char change[LUA_GUIDE_TEXT_SIZE], text[2 * LUA_GUIDE_TEXT_SIZE];
        if (ovp_diagnosis_answer(session->state, question->id, question->outcomes[i], NULL) != OVP_OK)
            continue;
        ovp_diagnosis_infer(session->state, now);
        word_change(&session->result, now, change, sizeof change);
        (void)snprintf(text, sizeof text, "%s: %s",
                       ovp_diagnosis_outcome_text(question->id, question->outcomes[i]), change);
        char label[24];
        (void)snprintf(label, sizeof label, "%5zu  ", i + 1);
        command_say_beside(session->call->out, label, 7, text);
    }
    (void)ovp_diagnosis_retract(session->state, question->id);
    if (stands != NULL)
        (void)ovp_diagnosis_answer(session->state, question->id, stands, NULL);
    free(now);
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
