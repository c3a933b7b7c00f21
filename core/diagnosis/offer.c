/* A few words out of turn: which measurement they may be an answer to, and which answer. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    SAID_WORDS = 32,
    WORD_SIZE = 24,
    OFFERED_MOST = 8,
    WORD_SCORE = 10,   /* of each word of a phrase that was said */
    OUTCOME_SCORE = 5, /* words that say an answer outdo words that only name the question */
};

/* ---- what was said, word by word -------------------------------------------------------------------- */

typedef struct said {
    char words[SAID_WORDS][WORD_SIZE];
    bool is_number[SAID_WORDS];
    size_t count;
} said;

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* True for a number here: digits, a point before digits, a minus before either where a word may begin. */
static bool starts_number(const char *text, const char *at)
{
    const bool word_start = at == text || at[-1] == ' ' || at[-1] == '=';
    at += (*at == '-' && word_start) || *at == '.';
    return is_digit(*at) || (*at == '.' && is_digit(at[1]));
}

static void keep_letter(said *list, size_t *length, char c)
{
    if (*length + 1 < WORD_SIZE) {
        list->words[list->count][(*length)++] = c;
        list->words[list->count][*length] = '\0';
    }
}

/* One word or number at `at`; returns what follows. Apostrophes are no letters but part no word. */
static const char *take_word(said *list, const char *text, const char *at)
{
    static const char ohm_signs[2][4] = {"\xCE\xA9", "\xE2\x84\xA6"};
    for (size_t i = 0; i < 2; i++) {
        if (strncmp(at, ohm_signs[i], strlen(ohm_signs[i])) == 0) {
            memcpy(list->words[list->count], "ohm", 4);
            list->is_number[list->count++] = false;
            return at + strlen(ohm_signs[i]);
        }
    }
    size_t length = 0;
    const bool number = starts_number(text, at);
    list->is_number[list->count] = number;
    if (number && *at == '-') {
        keep_letter(list, &length, *at++);
    }
    while (number ? is_digit(*at) || (*at == '.' && is_digit(at[1])) : is_letter(*at) || *at == '\'') {
        if (*at != '\'') {
            keep_letter(list, &length, lower(*at));
        }
        at++;
    }
    if (length == 0) {
        if (*at == '%') {
            memcpy(list->words[list->count++], "%", 2);
        }
        return at + (*at != '\0');
    }
    list->count++;
    return at;
}

static void take_words(const char *text, said *list)
{
    *list = (said){0};
    for (const char *at = text; *at != '\0' && list->count < SAID_WORDS;) {
        at = take_word(list, text, at);
    }
}

/* ---- phrases ------------------------------------------------------------------------------------------ */

static const struct word_class {
    const char *name, *words;
} classes[] = {
#include "said-words.inc"
};

static const char *class_words(ovp_span name)
{
    for (size_t i = 0; i < sizeof(classes) / sizeof(classes[0]); i++) {
        if (ovp_span_equals(name, classes[i].name)) {
            return classes[i].words;
        }
    }
    return "";
}

/* One alternative of a phrase against one word: "rise*", "#", "coil" (also "coils"). */
static bool word_is(ovp_span pattern, const char *word, bool number)
{
    if (pattern.count == 1 && *pattern.bytes == '#') {
        return number;
    }
    const bool open = pattern.count > 0 && pattern.bytes[pattern.count - 1] == '*';
    const size_t count = pattern.count - open;
    if (strncmp(word, pattern.bytes, count) != 0) {
        return false;
    }
    return open || word[count] == '\0' || (word[count] == 's' && word[count + 1] == '\0');
}

/* True when one of the alternatives "a/b/@class" was said. */
static bool was_said(const said *list, ovp_span alternatives)
{
    while (alternatives.count > 0) {
        const char *slash = memchr(alternatives.bytes, '/', alternatives.count);
        const size_t count = slash != NULL ? (size_t)(slash - alternatives.bytes) : alternatives.count;
        const ovp_span one = {alternatives.bytes, count};
        if (*one.bytes == '@' &&
            was_said(list, ovp_span_of(class_words((ovp_span){one.bytes + 1, count - 1})))) {
            return true;
        }
        for (size_t i = 0; i < list->count; i++) {
            if (word_is(one, list->words[i], list->is_number[i])) {
                return true;
            }
        }
        alternatives.bytes += count + (slash != NULL);
        alternatives.count -= count + (slash != NULL);
    }
    return false;
}

/* Score of one phrase: 0 unless all of its words were said and none of those that rule it out. */
static size_t phrase_score(const said *list, ovp_span phrase)
{
    size_t score = 0;
    while (phrase.count > 0) {
        const char *space = memchr(phrase.bytes, ' ', phrase.count);
        const size_t count = space != NULL ? (size_t)(space - phrase.bytes) : phrase.count;
        const bool excluded = count > 1 && *phrase.bytes == '!';
        const ovp_span word = {phrase.bytes + excluded, count - excluded};
        if (word.count > 0 && was_said(list, word) == excluded) {
            return 0;
        }
        score += !excluded && word.count > 0 ? WORD_SCORE : 0;
        phrase.bytes += count + (space != NULL);
        phrase.count -= count + (space != NULL);
    }
    return score;
}

static size_t best_phrase(const said *list, const char *phrases)
{
    size_t best = 0;
    while (*phrases != '\0') {
        const size_t length = strcspn(phrases, ";");
        const size_t score = phrase_score(list, (ovp_span){phrases, length});
        best = score > best ? score : best;
        phrases += length + (phrases[length] == ';');
    }
    return best;
}

/* ---- a number among the words ------------------------------------------------------------------------ */

static const char *unit_said(const said *list, size_t after)
{
    static const struct {
        const char *words, *unit;
    } units[] = {
        {"ohm", "ohm"},
        {"k/kohm/kilohm/kilohms", "kohm"},
        {"v/volt/vac/vdc", "V"},
        {"a/amp/ampere", "A"},
        {"mv/millivolt", "mV"},
        {"ma/milliamp/milliampere", "mA"},
        {"meg/megohm/mohm/megaohm", "Mohm"},
        {"f/fahrenheit", "F"},
        {"c/celsius", "C"},
        {"%/percent", "%"},
    };
    static const char passed_over[] = "degree/deg/or/so/about";
    for (size_t at = after; at < list->count && at < after + 3; at++) {
        const said one = {.count = 0};
        said single = one;
        memcpy(single.words[0], list->words[at], WORD_SIZE);
        single.is_number[0] = list->is_number[at];
        single.count = 1;
        for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); i++) {
            if (was_said(&single, ovp_span_of(units[i].words))) {
                return units[i].unit;
            }
        }
        if (!was_said(&single, ovp_span_of(passed_over))) {
            return "";
        }
    }
    return "";
}

/* The unit of a bare number: that of the first bounds of the measurement. */
static const char *usual_unit(const ovp_diagnosis_case *state, const char *measurement)
{
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(i);
        if (isnan(row->low) || strcmp(row->measurement, measurement) != 0) {
            continue;
        }
        if (strcmp(row->unit, "degF") == 0) {
            return state != NULL && state->settings.shown == OVP_TEXT_DEGREES_C ? "C" : "F";
        }
        return strcmp(row->unit, "ratio") == 0 ? "" : row->unit;
    }
    return NULL;
}

static bool takes_minus(const char *measurement)
{
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(i);
        if (row->low < 0 && strcmp(row->measurement, measurement) == 0) {
            return true;
        }
    }
    return false;
}

/* The first number that was said, as an answer to this measurement; "" when it is none. */
static void answer_of_number(const ovp_diagnosis_case *state, const said *list, ovp_diagnosis_offered *one)
{
    size_t at = 0;
    while (at < list->count && !list->is_number[at]) {
        at++;
    }
    const char *usual = usual_unit(state, one->measurement->id);
    if (at == list->count || usual == NULL) {
        return;
    }
    const char *unit = unit_said(list, at + 1);
    const bool minus =
        takes_minus(one->measurement->id) && list->words[at][0] != '-' && was_said(list, ovp_span_of("@low"));
    snprintf(one->answer, sizeof(one->answer), "%s%s%s", minus ? "-" : "", list->words[at],
             unit[0] != '\0' ? unit : usual);
    size_t outcome;
    const ovp_oven *oven = state != NULL ? state->settings.oven : NULL;
    if (diagnosis_outcome_of(oven, one->measurement, ovp_span_of(one->answer), &outcome, NULL) == OVP_OK) {
        one->outcome = one->measurement->outcomes[outcome];
    } else if (unit[0] == '\0' || strcmp(unit, "%") == 0) {
        one->answer[0] = '\0'; /* a bare number that is no ratio of anything known */
    }
}

/* ---- the offer ---------------------------------------------------------------------------------------- */

/* How well the words fit a measurement, and the outcome that they say (NULL: none). */
static size_t weigh(const said *list, const ovp_diagnosis_measurement *measurement, const char **outcome)
{
    size_t best = best_phrase(list, measurement->keywords);
    *outcome = NULL;
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(i);
        if (row->said[0] == '\0' || strcmp(row->measurement, measurement->id) != 0) {
            continue;
        }
        const size_t score = best_phrase(list, row->said);
        if (score > 0 && score + OUTCOME_SCORE > best) {
            best = score + OUTCOME_SCORE;
            *outcome = row->outcome;
        }
    }
    return best;
}

size_t ovp_diagnosis_offer_answers(const ovp_diagnosis_case *state, const char *words,
                                   ovp_diagnosis_offered found[], size_t capacity)
{
    said list;
    take_words(words, &list);
    size_t scores[OFFERED_MOST], count = 0;
    capacity = capacity < OFFERED_MOST ? capacity : OFFERED_MOST;
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        ovp_diagnosis_offered one = {.measurement = ovp_diagnosis_measurement_at(i), .text = ""};
        const size_t score = weigh(&list, one.measurement, &one.outcome);
        if (score == 0 || capacity == 0 || (count == capacity && scores[count - 1] >= score)) {
            continue;
        }
        size_t place = count < capacity ? count++ : count - 1;
        for (; place > 0 && scores[place - 1] < score; place--) {
            found[place] = found[place - 1];
            scores[place] = scores[place - 1];
        }
        one.weight = score;
        found[place] = one;
        scores[place] = score;
    }
    for (size_t i = 0; i < count; i++) {
        if (found[i].outcome == NULL) {
            answer_of_number(state, &list, &found[i]);
        } else {
            (void)ovp_copy_string(found[i].answer, sizeof(found[i].answer), ovp_span_of(found[i].outcome));
        }
        if (found[i].outcome != NULL) {
            found[i].text = ovp_diagnosis_outcome_text(found[i].measurement->id, found[i].outcome);
        }
    }
    return count;
}

size_t ovp_diagnosis_offer(const char *words, const ovp_diagnosis_measurement *found[], size_t capacity)
{
    ovp_diagnosis_offered offered[OFFERED_MOST];
    const size_t count =
        ovp_diagnosis_offer_answers(NULL, words, offered, capacity < OFFERED_MOST ? capacity : OFFERED_MOST);
    for (size_t i = 0; i < count; i++) {
        found[i] = offered[i].measurement;
    }
    return count;
}
