/* Ways of asking that a guide is measured against. */
#include "policies.h"

#include <math.h>
#include <string.h>

enum {
    UNLISTED = DIAGNOSIS_FAULTS + 1,
};

static const double held = 0.9;
static const double least_gain = 0.01;              /* bits: a question that tells less is not asked */
static const double least_gain_per_minute = 0.0008; /* the same for the gain per minute */

/* Every answer in full: these ways know nothing of questions with one root. */
static void weigh(ovp_diagnosis_case *state)
{
    diagnosis_gather(state, true);
    for (size_t i = 0; i < state->evidence_count; i++) {
        state->evidence[i].weight = 1;
    }
    diagnosis_infer(&state->prior, state->evidence, state->evidence_count, 1, &state->work,
                    &state->posterior);
}

static bool is_open(const ovp_diagnosis_case *state, size_t question)
{
    return state->questions[question].faults != 0 && diagnosis_answer_place(state, question) < 0 &&
           diagnosis_permitted(state, ovp_diagnosis_measurement_at(question));
}

static double minutes_of(size_t question)
{
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(question);
    return fmax(0.5, measurement->minutes + measurement->wait_minutes);
}

static bool is_held(const ovp_diagnosis_case *state)
{
    for (size_t f = 0; f < state->prior.fault_count; f++) {
        if (state->posterior.share[f] >= held) {
            return true;
        }
    }
    return false;
}

/* Weights of single faults and, in the last place, of what no list holds. */
static void take_weights(const ovp_diagnosis_case *state, double weights[DIAGNOSIS_HYPOTHESES])
{
    memcpy(weights, state->posterior.share, sizeof(state->posterior.share));
    weights[DIAGNOSIS_FAULTS] = state->posterior.healthy;
    weights[UNLISTED] = state->posterior.unlisted;
}

static double entropy_of(const double weights[DIAGNOSIS_HYPOTHESES], double total)
{
    double sum = 0;
    for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES; h++) {
        sum -= weights[h] > 0 ? weights[h] / total * log2(weights[h] / total) : 0;
    }
    return sum;
}

static double gain_of(const ovp_diagnosis_case *state, const double weights[DIAGNOSIS_HYPOTHESES],
                      size_t question)
{
    static diagnosis_terms terms;
    double gain = entropy_of(weights, 1);
    for (size_t o = 0; o < state->questions[question].outcome_count; o++) {
        const diagnosis_evidence evidence = {&state->questions[question], o, 1};
        diagnosis_prepare(&evidence, 1, &terms);
        double left[DIAGNOSIS_HYPOTHESES], total = 0;
        for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES; h++) {
            left[h] = weights[h] * (h == UNLISTED ? terms.flat : terms.base);
        }
        for (size_t m = 0; m < terms.count; m++) {
            left[terms.member[m]] = weights[terms.member[m]] * terms.alone[m];
        }
        for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES; h++) {
            total += left[h];
        }
        gain -= total > 0 ? total * entropy_of(left, total) : 0;
    }
    return gain;
}

static const ovp_diagnosis_measurement *most_gain(ovp_diagnosis_case *state, bool per_minute)
{
    weigh(state);
    if (is_held(state)) {
        return NULL;
    }
    double weights[DIAGNOSIS_HYPOTHESES], most = per_minute ? least_gain_per_minute : least_gain;
    take_weights(state, weights);
    const ovp_diagnosis_measurement *best = NULL;
    for (size_t q = 0; q < state->measurements; q++) {
        if (!is_open(state, q)) {
            continue;
        }
        const double value = gain_of(state, weights, q) / (per_minute ? minutes_of(q) : 1);
        if (value > most) {
            most = value;
            best = ovp_diagnosis_measurement_at(q);
        }
    }
    return best;
}

const ovp_diagnosis_measurement *policy_gain(ovp_diagnosis_case *state)
{
    return most_gain(state, false);
}

const ovp_diagnosis_measurement *policy_gain_per_minute(ovp_diagnosis_case *state)
{
    return most_gain(state, true);
}

/* Prior of the faults that hardly answer as usual here, over the minutes it takes. */
static double shows_per_minute(const ovp_diagnosis_case *state, size_t question)
{
    const diagnosis_question *row = &state->questions[question];
    double shown = 0;
    for (size_t f = 0; f < state->prior.fault_count; f++) {
        const double change = row->defaults[row->normal] - row->rows[f][row->normal];
        if ((row->faults >> f & 1) != 0 && change > 0) {
            shown += state->prior.odds[f] * change;
        }
    }
    return shown / minutes_of(question);
}

const ovp_diagnosis_measurement *policy_fixed_order(ovp_diagnosis_case *state)
{
    weigh(state);
    if (is_held(state)) {
        return NULL;
    }
    double most = 0;
    const ovp_diagnosis_measurement *best = NULL;
    for (size_t q = 0; q < state->measurements; q++) {
        const double value = is_open(state, q) ? shows_per_minute(state, q) : 0;
        if (value > most) {
            most = value;
            best = ovp_diagnosis_measurement_at(q);
        }
    }
    return best;
}

size_t policy_first_cause(ovp_diagnosis_case *state)
{
    weigh(state);
    size_t best = DIAGNOSIS_FAULTS;
    double most = state->posterior.unlisted;
    for (size_t f = 0; f < state->prior.fault_count; f++) {
        if (state->posterior.share[f] > most) {
            most = state->posterior.share[f];
            best = f;
        }
    }
    return best;
}
