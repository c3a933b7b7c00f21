/* guide: what a person's words mean: as an answer to a question, or to another one out of turn. */
#include "command/guide.h"
#include "command/lines.h"

#include <ctype.h>
#include <string.h>

bool guide_is_unknown(const char *line)
{
    static const char *const unknown[] = {
        "?",          "unknown",  "don't know", "dont know",  "i don't know",    "i dont know",
        "not sure",   "can't",    "cant",       "cannot",     "can't tell",      "cant tell",
        "can't say",  "no idea",  "no clue",    "can't do",   "can't measure",   "cant measure",
        "can't test", "not able", "unable",     "don't have", "can't get at it", NULL};
    return command_lines_is(line, unknown);
}

static bool begins_with(const char *text, const char *start)
{
    size_t count = strlen(start);
    return strlen(text) >= count && ovp_span_equals((ovp_span){text, count}, start);
}

/* The outcome whose plain words are or begin with the line, when there is exactly one; NULL else. */
static const char *choice_by_words(const ovp_diagnosis_measurement *question, const char *line)
{
    const char *found = NULL;
    for (size_t i = 0; i < question->outcome_count; i++) {
        const char *text = ovp_diagnosis_outcome_text(question->id, question->outcomes[i]);
        if (ovp_span_equals(ovp_span_of(line), text) ||
            ovp_span_equals(ovp_span_of(line), question->outcomes[i]))
            return question->outcomes[i];
    }
    for (size_t i = 0; i < question->outcome_count; i++) {
        if (!begins_with(ovp_diagnosis_outcome_text(question->id, question->outcomes[i]), line))
            continue;
        if (found != NULL)
            return NULL;
        found = question->outcomes[i];
    }
    return found;
}

bool guide_answer_from(const guide_session *session, const ovp_diagnosis_measurement *question,
                       const char *words, char answer[LUA_GUIDE_ID_SIZE], ovp_error *error)
{
    const char *outcome = choice_by_words(question, words);
    if (outcome != NULL)
        return ovp_copy_string(answer, LUA_GUIDE_ID_SIZE, ovp_span_of(outcome));
    if (ovp_diagnosis_measurement_named(question->id) == NULL) {
        (void)ovp_error_set(error, OVP_ERROR_DATA, "a number, the first words of a choice, or `?`");
        return false;
    }
    if (ovp_diagnosis_answer(session->state, question->id, words, error) == OVP_OK)
        return ovp_copy_string(answer, LUA_GUIDE_ID_SIZE, ovp_span_of(words));
    return false;
}

size_t guide_offers(const guide_session *session, const char *words, ovp_diagnosis_offered found[],
                    size_t capacity)
{
    return ovp_diagnosis_offer_answers(session->state, words, found, capacity);
}

const char *guide_answer_words(const char *id, const char *answer)
{
    if (strcmp(answer, "unknown") == 0)
        return "can't tell";
    return ovp_diagnosis_outcome_text(id, answer);
}

const char *guide_without_state(const char *question)
{
    static const char *const states[] = {"Unplugged", "Cold and unplugged", "Unplugged and"};
    const char *colon = strchr(question, ':');
    for (size_t i = 0; colon != NULL && i < sizeof states / sizeof states[0]; i++)
        if (begins_with(question, states[i]) && colon - question < 48 && colon[1] == ' ')
            return colon + 2;
    return question;
}

command_words guide_short_question(const char *id)
{
    enum {
        COLUMNS = 56
    };
    command_words words = {""};
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    if (measurement == NULL) { /* a guide's own question: its id is made of its words */
        const char *rest = strncmp(id, "own-", 4) == 0 ? id + 4 : id;
        (void)ovp_copy_string(words.text, sizeof words.text, ovp_span_of(rest));
        for (char *at = words.text; *at != '\0'; at++)
            *at = *at == '-' ? ' ' : *at;
        return words;
    }
    const char *question = guide_without_state(measurement->question);
    const bool whole = ovp_copy_string(words.text, sizeof words.text - 4, ovp_span_of(question));
    if (whole && ovp_text_columns(words.text) <= COLUMNS)
        return words;
    while (ovp_text_columns(words.text) > COLUMNS) {
        char *space = strrchr(words.text, ' ');
        if (space == NULL)
            break;
        *space = '\0';
    }
    (void)ovp_copy_string(words.text + strlen(words.text), 4, ovp_span_of("..."));
    return words;
}

size_t guide_plain_words(const guide_session *session, const char *text, char *buffer, size_t size)
{
    return ovp_diagnosis_words(text, session->call->degrees, buffer, size);
}
