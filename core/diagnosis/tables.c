/* The tables of reference/ as C, and how to find a row. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const ovp_diagnosis_fault faults[] = {
#include "faults.inc"
};

static const ovp_diagnosis_measurement measurements[] = {
#include "measurements.inc"
};

static const ovp_diagnosis_outcome outcomes[] = {
#include "outcomes.inc"
};

size_t ovp_diagnosis_fault_count(void)
{
    return COUNT(faults);
}

const ovp_diagnosis_fault *ovp_diagnosis_fault_at(size_t index)
{
    return index < COUNT(faults) ? &faults[index] : NULL;
}

const ovp_diagnosis_fault *ovp_diagnosis_fault_named(const char *id)
{
    for (size_t i = 0; i < COUNT(faults); i++) {
        if (strcmp(faults[i].id, id) == 0) {
            return &faults[i];
        }
    }
    return NULL;
}

size_t ovp_diagnosis_measurement_count(void)
{
    return COUNT(measurements);
}

const ovp_diagnosis_measurement *ovp_diagnosis_measurement_at(size_t index)
{
    return index < COUNT(measurements) ? &measurements[index] : NULL;
}

const ovp_diagnosis_measurement *ovp_diagnosis_measurement_named(const char *id)
{
    for (size_t i = 0; i < COUNT(measurements); i++) {
        if (strcmp(measurements[i].id, id) == 0) {
            return &measurements[i];
        }
    }
    return NULL;
}

size_t ovp_diagnosis_outcome_count(void)
{
    return COUNT(outcomes);
}

const ovp_diagnosis_outcome *ovp_diagnosis_outcome_at(size_t index)
{
    return index < COUNT(outcomes) ? &outcomes[index] : NULL;
}

const char *ovp_diagnosis_outcome_text(const char *measurement, const char *outcome)
{
    for (size_t i = 0; i < COUNT(outcomes); i++) {
        const ovp_diagnosis_outcome *row = &outcomes[i];
        if (strcmp(row->measurement, measurement) == 0 && strcmp(row->outcome, outcome) == 0 &&
            row->text[0] != '\0') {
            return row->text;
        }
    }
    return outcome;
}

bool ovp_diagnosis_context_named(const char *word, ovp_diagnosis_context *context)
{
    static const char *const words[] = {"new-build", "in-service", "after-transport", "after-rewire"};
    for (size_t i = 0; i < COUNT(words); i++) {
        if (strcmp(words[i], word) == 0) {
            *context = (ovp_diagnosis_context)i;
            return true;
        }
    }
    return false;
}

static const diagnosis_row rows[] = {
#include "likelihoods.inc"
};

static const diagnosis_row finding_rows[] = {
#include "finding-likelihoods.inc"
};

const diagnosis_row *diagnosis_rows(size_t *count)
{
    *count = COUNT(rows);
    return rows;
}

const diagnosis_row *diagnosis_finding_rows(size_t *count)
{
    *count = COUNT(finding_rows);
    return finding_rows;
}

static const struct figure {
    const char *name;
    double value;
} figures[] = {
#include "diagnosis-rule.inc"
};

double diagnosis_figure(diagnosis_figure_name name)
{
    return figures[name].value;
}

const char *diagnosis_figure_at(size_t index, double *value)
{
    if (index >= COUNT(figures)) {
        return NULL;
    }
    *value = figures[index].value;
    return figures[index].name;
}

bool diagnosis_has_word(const char *list, char separator, const char *word, size_t length)
{
    while (*list != '\0') {
        const char *end = strchr(list, separator);
        const size_t here = end != NULL ? (size_t)(end - list) : strlen(list);
        if (here == length && memcmp(list, word, length) == 0) {
            return true;
        }
        list += here + (end != NULL);
    }
    return false;
}

/* ---- a few words of a person -------------------------------------------------------------------------- */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Where the words of `phrase` stand in `text`, letter case apart; the length matched, 0 when not all do. */
static size_t phrase_found(const char *text, const char *phrase, size_t length)
{
    size_t found = 0;
    for (size_t at = 0; at < length;) {
        size_t word = 0;
        while (at + word < length && phrase[at + word] != ' ') {
            word++;
        }
        bool here = false;
        for (size_t i = 0; text[i] != '\0' && !here; i++) {
            size_t j = 0;
            while (j < word && lower(text[i + j]) == lower(phrase[at + j])) {
                j++;
            }
            here = j == word && (i == 0 || text[i - 1] == ' ');
        }
        if (!here) {
            return 0;
        }
        found += word;
        at += word + 1;
    }
    return found;
}

size_t ovp_diagnosis_offer(const char *words, const ovp_diagnosis_measurement *found[], size_t capacity)
{
    size_t scores[COUNT(measurements)], count = 0;
    for (size_t i = 0; i < COUNT(measurements); i++) {
        size_t score = 0;
        for (const char *at = measurements[i].keywords; *at != '\0';) {
            const size_t length = strcspn(at, ";");
            const size_t here = phrase_found(words, at, length);
            score = here > score ? here : score;
            at += length + (at[length] == ';');
        }
        if (score == 0) {
            continue;
        }
        size_t place = count < capacity ? count++ : count;
        while (place > 0 && scores[place - 1] < score) {
            if (place < capacity) {
                found[place] = found[place - 1];
                scores[place] = scores[place - 1];
            }
            place--;
        }
        if (place < capacity) {
            found[place] = &measurements[i];
            scores[place] = score;
        }
    }
    return count;
}
