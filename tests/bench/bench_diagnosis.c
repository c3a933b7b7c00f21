/* Times of one inference over the whole model and of one decision, single faults and pairs. Prints, asserts
 * nothing. */
#include "diagnosis/diagnosis_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static double now_ms(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return 1e3 * (double)time.tv_sec + 1e-6 * (double)time.tv_nsec;
}

static double best_of(ovp_diagnosis_case *state, void (*run)(ovp_diagnosis_case *))
{
    double best = 1e9;
    for (size_t i = 0; i < 50; i++) {
        const double from = now_ms();
        run(state);
        const double took = now_ms() - from;
        best = took < best ? took : best;
    }
    return best;
}

static ovp_diagnosis_result result;

static void infer(ovp_diagnosis_case *state)
{
    ovp_diagnosis_infer(state, &result);
}

static void weigh_four(ovp_diagnosis_case *state)
{
    diagnosis_gather(state, true);
    diagnosis_infer(&state->prior, state->evidence, state->evidence_count, 4, &state->work,
                    &state->posterior);
}

static void weigh_one(ovp_diagnosis_case *state)
{
    diagnosis_gather(state, true);
    diagnosis_infer(&state->prior, state->evidence, state->evidence_count, 1, &state->work,
                    &state->posterior);
}

static void next(ovp_diagnosis_case *state)
{
    (void)ovp_diagnosis_next(state);
}

static void next_single(ovp_diagnosis_case *state)
{
    (void)diagnosis_next_over(state, 1);
}

static void next_pairs(ovp_diagnosis_case *state)
{
    (void)diagnosis_next_over(state, 2);
}

int main(void)
{
    void *memory = malloc(ovp_diagnosis_case_size());
    if (memory == NULL) {
        return 4;
    }
    static const size_t counts[] = {0, 5, 15, 30, 80};
    printf("%zu faults, %zu measurements, case %.2f MB; best of 50, ms\n", ovp_diagnosis_fault_count(),
           ovp_diagnosis_measurement_count(), (double)ovp_diagnosis_case_size() / 1e6);
    printf("%8s %14s %14s %14s %14s %14s %14s\n", "answers", "singles", "sets to 4", "with reasons",
           "next single", "next pairs", "next as used");
    for (size_t i = 0; i < sizeof(counts) / sizeof(counts[0]); i++) {
        const ovp_diagnosis_settings settings = {.context = OVP_DIAGNOSIS_IN_SERVICE, .technician = true};
        ovp_diagnosis_case *state = ovp_diagnosis_case_init(memory, &settings);
        for (size_t q = 0, given = 0; q < ovp_diagnosis_measurement_count() && given < counts[i]; q++) {
            const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(q * 37 % 81);
            const size_t outcome = q % 5 == 0 ? measurement->outcome_count - 1 : 0;
            given +=
                ovp_diagnosis_answer(state, measurement->id, measurement->outcomes[outcome], NULL) == OVP_OK;
        }
        const double singles = best_of(state, weigh_one), four = best_of(state, weigh_four),
                     all = best_of(state, infer);
        printf("%8zu %14.3f %14.3f %14.3f %14.3f %14.3f %14.3f\n", counts[i], singles, four, all,
               best_of(state, next_single), best_of(state, next_pairs), best_of(state, next));
    }
    free(memory);
    return 0;
}
