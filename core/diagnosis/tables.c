/* The tables of reference/ as C, and how to find a row. */
#include "ovenproof/diagnosis.h"

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
