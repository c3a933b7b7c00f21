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
