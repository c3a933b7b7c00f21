/* The fit of a whole run as evidence: one question, in place of the findings that read the same curve. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

enum {
    EXPLAINED = 0,
};

/* Findings that are read off the curve which the fit explains as a whole, from the output that was logged:
   the same fact. Where volts and amps are logged the share of power is the meters' and stands. */
static const char *const of_the_curve[] = {"delay-constant", "delay-growing", "delay-late", "heat-up",
                                           "display-slope",  "withdrawn",     "hold-watts"};
static const char *const of_the_power[] = {"power-fraction", "half-power"};

static bool named(const char *const list[], size_t count, const ovp_diagnosis_case *state, size_t question)
{
    for (size_t i = 0; i < count && question >= state->measurements; i++) {
        if (strcmp(list[i], ovp_trace_finding_at(question - state->measurements)->id) == 0) {
            return true;
        }
    }
    return false;
}

static bool of_power(const ovp_diagnosis_case *state, size_t question)
{
    return named(of_the_power, sizeof(of_the_power) / sizeof(of_the_power[0]), state, question);
}

bool diagnosis_replaced(const ovp_diagnosis_case *state, size_t question)
{
    return state->has_fit &&
           (named(of_the_curve, sizeof(of_the_curve) / sizeof(of_the_curve[0]), state, question) ||
            (!state->metered && of_power(state, question)));
}

/* What some findings say of a fault against a good oven: the replaced ones, or those of metered power. */
static double by_findings(const ovp_diagnosis_case *state, size_t fault, bool metered_power)
{
    double sum = 0;
    for (size_t i = 0; i < state->shown_count; i++) {
        const size_t shown = (size_t)state->shown[i].question, outcome = (size_t)state->shown[i].outcome;
        const diagnosis_question *question = &state->questions[shown];
        const bool counts =
            metered_power ? state->metered && of_power(state, shown) : diagnosis_replaced(state, shown);
        if (counts && (question->faults >> fault & 1) != 0) {
            sum += log(diagnosis_likelihood(question, &fault, 1, outcome) /
                       diagnosis_likelihood(question, NULL, 0, outcome));
        }
    }
    return sum;
}

void ovp_diagnosis_take_synthesis(ovp_diagnosis_case *state, const ovp_diagnosis_synthesis *synthesis)
{
    const ovp_trace_finding_row *row = ovp_trace_finding_named("whole-run");
    const double most = diagnosis_figure(DIAGNOSIS_fit_most);
    double ratio[DIAGNOSIS_FAULTS] = {0}, fitted = 0, best = 0;
    bool modelled[DIAGNOSIS_FAULTS] = {false}, by_output[DIAGNOSIS_FAULTS] = {false};
    if (!synthesis->speaks || row == NULL || state->shown_count == OVP_TRACE_FINDINGS) {
        return;
    }
    state->has_fit = true;
    for (size_t i = 0; i < synthesis->fit_count; i++) {
        const size_t f = (size_t)(synthesis->fits[i].fault - ovp_diagnosis_fault_at(0));
        ratio[f] = synthesis->fits[i].log_ratio;
        modelled[f] = true;
        fitted = fmax(fitted, ratio[f]);
        by_output[f] = synthesis->fits[i].by_output;
        if (by_output[f]) { /* meters show the power while it is on: no word on the output */
            ratio[f] -= by_findings(state, f, true);
        }
    }
    /* When nothing explains the run much better than a good oven, a little better is no evidence. */
    const bool none_better = fitted < log(diagnosis_figure(DIAGNOSIS_fit_held));
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        if (modelled[f] && none_better && !by_output[f]) {
            ratio[f] = fmin(ratio[f], 0);
        }
        best = modelled[f] ? fmax(best, ratio[f]) : best;
    }
    /* An event is not modelled: findings say how far it beats a good oven, but not beyond the best fit. */
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        state->fit_ratio[f] = modelled[f] ? exp(fmin(ratio[f], most)) : 1;
        ratio[f] = modelled[f] ? ratio[f] : fmin(by_findings(state, f, false), fitted);
    }
    static const double whole = 0.9; /* of the best: what is left is the chance of being elsewhere */
    const size_t question = state->measurements + (size_t)(row - ovp_trace_finding_at(0));
    const double good = whole * exp(fmax(-best, -most));
    diagnosis_question_init(&state->questions[question], 2, (const double[]){good, 1 - good},
                            diagnosis_figure(DIAGNOSIS_error_finding));
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        const double here = whole * exp(fmax(ratio[f] - best, -most));
        diagnosis_question_row(&state->questions[question], f, (const double[]){here, 1 - here});
    }
    state->shown[state->shown_count++] = (diagnosis_answer){(short)question, EXPLAINED};
}
