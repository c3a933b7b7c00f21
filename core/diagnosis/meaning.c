/* What each answer to a question would mean, as the case stands. */
#include "diagnosis/diagnosis_internal.h"

#include <stdio.h>
#include <string.h>

enum {
    NAMED = 2, /* causes at most on each side: a person reads no more */
};

/* Causes in the order of a weight, the first few. */
typedef struct ranking {
    size_t fault[NAMED];
    double weight[NAMED];
    size_t count;
} ranking;

static void rank(ranking *list, size_t fault, double weight)
{
    size_t place = list->count < NAMED ? list->count++ : NAMED;
    while (place > 0 && list->weight[place - 1] < weight) {
        if (place < NAMED) {
            list->fault[place] = list->fault[place - 1];
            list->weight[place] = list->weight[place - 1];
        }
        place--;
    }
    if (place < NAMED) {
        list->fault[place] = fault;
        list->weight[place] = weight;
    }
}

static size_t put_list(const char *verb, const ranking *list, char *buffer, size_t size)
{
    size_t used = 0;
    for (size_t i = 0; i < list->count; i++) {
        const int wrote = snprintf(buffer + used, size - used, "%s%s", i > 0 ? ", or " : verb,
                                   ovp_diagnosis_fault_at(list->fault[i])->title);
        used = wrote > 0 && used + (size_t)wrote < size ? used + (size_t)wrote : size - 1;
    }
    return used;
}

static size_t question_of(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement)
{
    size_t q = 0;
    while (q < state->measurements && ovp_diagnosis_measurement_at(q) != measurement) {
        q++;
    }
    return q;
}

size_t ovp_diagnosis_meaning(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement,
                             size_t outcome, char *buffer, size_t size)
{
    const size_t q = question_of(state, measurement);
    if (size == 0) {
        return 0;
    }
    buffer[0] = '\0';
    if (q == state->measurements || outcome >= measurement->outcome_count) {
        return 0;
    }
    const diagnosis_question *question = &state->questions[q];
    const double all = state->mixture[q][outcome];
    ranking raised = {.count = 0}, cleared = {.count = 0};
    for (size_t f = 0; f < state->prior.fault_count && all > 0; f++) {
        const double share = state->posterior.share[f];
        const double times = diagnosis_likelihood(question, &f, 1, outcome) / all;
        if (times >= diagnosis_figure(DIAGNOSIS_points_times) &&
            share * times >= diagnosis_figure(DIAGNOSIS_points_share)) {
            rank(&raised, f, share * times);
        } else if (times <= diagnosis_figure(DIAGNOSIS_clears_times) &&
                   share >= diagnosis_figure(DIAGNOSIS_clears_share)) {
            rank(&cleared, f, share);
        }
    }
    return raised.count > 0 ? put_list("points to ", &raised, buffer, size)
                            : put_list("speaks against ", &cleared, buffer, size);
}
