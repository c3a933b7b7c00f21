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

bool diagnosis_known_from_trace(const ovp_diagnosis_case *state, size_t question)
{
    const char *id = ovp_diagnosis_measurement_at(question)->id;
    for (size_t i = 0; i < state->shown_count; i++) {
        size_t shown = (size_t)state->shown[i].question;
        if (shown == question)
            return true;
        if (shown < state->measurements)
            continue;
        const char *tells = ovp_trace_finding_at(shown - state->measurements)->tells;
        if (diagnosis_has_word(tells, ' ', id, strlen(id)))
            return true;
    }
    return false;
}

ovp_oven_fitted ovp_diagnosis_fitted(const ovp_diagnosis_case *state, const char *needs_part)
{
    return needs_part[0] == '\0' ? OVP_OVEN_FITTED : diagnosis_parts(state, needs_part, NULL);
}

bool ovp_diagnosis_in_role(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement)
{
    bool technicians =
        strcmp(measurement->who, "technician") == 0 || strcmp(measurement->energised, "live") == 0;
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
