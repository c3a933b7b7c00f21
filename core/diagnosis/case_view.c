/* Looking at a case: what stands as an answer, who may be asked what, and in which order. */
#include "diagnosis/diagnosis_internal.h"

#include <string.h>

const char *ovp_diagnosis_answered(const ovp_diagnosis_case *state, const char *id)
{
    for (size_t question = 0; question < state->measurements; question++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(question);
        if (strcmp(measurement->id, id) != 0)
            continue;
        int place = diagnosis_answer_place(state, question);
        if (place < 0)
            return NULL;
        short outcome = state->answers[place].outcome;
        return outcome < 0 ? "unknown" : measurement->outcomes[outcome];
    }
    return NULL;
}

ovp_oven_fitted ovp_diagnosis_fitted(const ovp_diagnosis_case *state, const char *needs_part)
{
    return needs_part[0] == '\0' ? OVP_OVEN_FITTED : diagnosis_parts(state, needs_part, NULL);
}

bool ovp_diagnosis_in_role(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement)
{
    bool technicians = strcmp(measurement->who, "technician") == 0 || strcmp(measurement->energised, "live") == 0;
    return state->settings.technician || !technicians;
}

bool ovp_diagnosis_allows(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement)
{
    return ovp_diagnosis_in_role(state, measurement) && diagnosis_permitted(state, measurement) &&
           ovp_diagnosis_fitted(state, measurement->needs_part) != OVP_OVEN_NOT_FITTED;
}

bool ovp_diagnosis_needs_heat(const ovp_diagnosis_measurement *measurement)
{
    return diagnosis_has_word(measurement->states, ';', "heated", strlen("heated"));
}

/* How surely the sensor tells something else than the chamber's temperature. */
static double sensor_doubt(ovp_diagnosis_case *state)
{
    static const char *const faults[] = {"sensor-reversed", "sensor-shorted", "sensor-withdrawn"};
    ovp_diagnosis_result result;
    double doubt = 0;
    ovp_diagnosis_infer(state, &result);
    for (size_t i = 0; i < result.cause_count; i++)
        for (size_t j = 0; j < sizeof faults / sizeof faults[0]; j++)
            if (strcmp(result.causes[i].fault->id, faults[j]) == 0)
                doubt += result.causes[i].present;
    return doubt;
}

const ovp_diagnosis_measurement *ovp_diagnosis_cold_first(ovp_diagnosis_case *state)
{
    if (sensor_doubt(state) <= diagnosis_figure(DIAGNOSIS_sensor_doubt_raised))
        return NULL;
    const ovp_diagnosis_measurement *next = ovp_diagnosis_next(state);
    return next == NULL || ovp_diagnosis_needs_heat(next) ? NULL : next;
}
