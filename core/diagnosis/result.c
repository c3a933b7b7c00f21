/* From the posterior to what is said: causes, reasons, doubts, verdict. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

/* Likelihood of one piece of evidence under each single hypothesis, with its weight. */
static void likelihoods_of(const ovp_diagnosis_case *state, size_t at,
                           double likelihood[DIAGNOSIS_HYPOTHESES])
{
    const diagnosis_terms *terms = &state->work.terms[at];
    for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES; h++) {
        likelihood[h] = terms->base;
    }
    for (size_t m = 0; m < terms->count; m++) {
        likelihood[terms->member[m]] = terms->alone[m];
    }
    likelihood[DIAGNOSIS_FAULTS + 1] = terms->flat;
}

/* How far evidence `at` moved a fault against the rest, the rest weighed as it stands without this evidence.
 */
static double decibans(const double weights[], const double likelihood[], size_t fault)
{
    double rest = 0, explained = 0;
    for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES; h++) {
        if (h != fault) {
            rest += weights[h] / likelihood[h];
            explained += weights[h];
        }
    }
    return rest > 0 && explained > 0 ? 10 * log10(likelihood[fault] * rest / explained) : 0;
}

static const char *source_name(const ovp_diagnosis_case *state, const diagnosis_origin *origin)
{
    return origin->question < state->measurements
               ? ovp_diagnosis_measurement_at(origin->question)->id
               : ovp_trace_finding_at(origin->question - state->measurements)->id;
}

static const char *outcome_name(const ovp_diagnosis_case *state, const diagnosis_origin *origin)
{
    return origin->question < state->measurements
               ? ovp_diagnosis_measurement_at(origin->question)->outcomes[origin->outcome]
               : ovp_trace_finding_at(origin->question - state->measurements)->outcomes[origin->outcome];
}

/* A measurement that a trace answered is named by the measurement: one id for one fact. */
static void give_reasons(const ovp_diagnosis_case *state, size_t fault, const double weights[],
                         ovp_diagnosis_cause *cause)
{
    static const double least = 0.5; /* a reason below half a deciban moved nothing */
    cause->because_count = 0;
    for (size_t i = 0; i < state->evidence_count; i++) {
        double likelihood[DIAGNOSIS_HYPOTHESES];
        likelihoods_of(state, i, likelihood);
        const double moved = decibans(weights, likelihood, fault);
        if (fabs(moved) < least) {
            continue;
        }
        size_t place =
            cause->because_count < OVP_DIAGNOSIS_REASONS ? cause->because_count++ : OVP_DIAGNOSIS_REASONS;
        while (place > 0 && fabs(cause->because[place - 1].decibans) < fabs(moved)) {
            if (place < OVP_DIAGNOSIS_REASONS) {
                cause->because[place] = cause->because[place - 1];
            }
            place--;
        }
        if (place < OVP_DIAGNOSIS_REASONS) {
            cause->because[place] =
                (ovp_diagnosis_reason){source_name(state, &state->origin[i]), state->origin[i].is_finding,
                                       outcome_name(state, &state->origin[i]), moved};
        }
    }
}

static void add_cause(ovp_diagnosis_case *state, size_t fault, const double weights[],
                      ovp_diagnosis_result *result)
{
    size_t place = result->cause_count++;
    const double share = state->posterior.share[fault];
    while (place > 0 && result->causes[place - 1].probability < share) {
        result->causes[place] = result->causes[place - 1];
        place--;
    }
    ovp_diagnosis_cause *cause = &result->causes[place];
    *cause = (ovp_diagnosis_cause){.fault = ovp_diagnosis_fault_at(fault),
                                   .probability = share,
                                   .present = state->posterior.present[fault],
                                   .next = diagnosis_telling(state, weights, fault)->id};
    for (size_t i = 0, count = 0; i < DIAGNOSIS_SET - 1; i++) {
        const int other = state->posterior.with[fault][i];
        if (other >= 0) {
            cause->with[count++] = ovp_diagnosis_fault_at((size_t)other)->id;
        }
    }
    give_reasons(state, fault, weights, cause);
}

/* ---- answers that contradict the rest ----------------------------------------------------------------- */

/* Chance that an answer was misread, if exactly these faults are there. */
static double misread(const diagnosis_question *question, const size_t faults[], size_t count, size_t outcome)
{
    const double others = (double)(question->outcome_count - 1);
    const double e = question->error, likelihood = diagnosis_likelihood(question, faults, count, outcome);
    const double slope = 1 - e - e / others;
    const double p = slope > 0 ? fmin(1, fmax(0, (likelihood - e / others) / slope)) : 0;
    return e / others * (1 - p) / likelihood;
}

/* Chance of each answer to be misread, over healthy, unlisted, single faults and pairs. */
static void doubt(const ovp_diagnosis_case *state, double doubts[DIAGNOSIS_EVIDENCE])
{
    static const double least =
        1e-5; /* pairs and faults that hold less are left out: they change no decision */
    const diagnosis_work *work = &state->work;
    const size_t faults = state->prior.fault_count;
    const double unit = work->pair_unit;
    const double scale = state->posterior.total;
    for (size_t i = 0; i < state->evidence_count; i++) {
        const diagnosis_question *question = state->evidence[i].question;
        const size_t outcome = state->evidence[i].outcome;
        double wrong = state->posterior.healthy * scale * misread(question, NULL, 0, outcome);
        double mass = state->posterior.healthy * scale;
        wrong += state->posterior.unlisted * scale * question->error;
        mass += state->posterior.unlisted * scale;
        for (size_t f = 0; f < faults; f++) {
            if (work->sum[1][f] > least * scale) {
                wrong += work->sum[1][f] * misread(question, &f, 1, outcome);
                mass += work->sum[1][f];
            }
            for (size_t g = f + 1; g < faults; g++) {
                const double pair = unit * work->factor[f] * work->factor[g] * work->pair[f][g];
                if (pair > least * scale) {
                    wrong += pair * misread(question, (const size_t[]){f, g}, 2, outcome);
                    mass += pair;
                }
            }
        }
        doubts[i] = mass > 0 ? wrong / mass : 0;
    }
}

static void name_doubted(const ovp_diagnosis_case *state, ovp_diagnosis_result *result)
{
    double doubts[DIAGNOSIS_EVIDENCE], kept[4] = {0};
    doubt(state, doubts);
    for (size_t i = 0; i < state->evidence_count; i++) {
        if (state->origin[i].is_finding || doubts[i] <= diagnosis_figure(DIAGNOSIS_doubted)) {
            continue;
        }
        size_t place = result->recheck_count < 4 ? result->recheck_count++ : 4;
        while (place > 0 && kept[place - 1] < doubts[i]) {
            if (place < 4) {
                kept[place] = kept[place - 1];
                result->recheck[place] = result->recheck[place - 1];
            }
            place--;
        }
        if (place < 4) {
            kept[place] = doubts[i];
            result->recheck[place] = source_name(state, &state->origin[i]);
        }
    }
}

/* ---- verdict ------------------------------------------------------------------------------------------- */

static bool no_defect(const ovp_diagnosis_fault *fault)
{
    return diagnosis_has_word("load-heavy|not-running|setpoint-limited|expectation-unfair", '|', fault->id,
                              strlen(fault->id));
}

/* An answer has made this fault much less likely: its test is done. */
static bool is_tested(const ovp_diagnosis_case *state, size_t fault)
{
    for (size_t i = 0; i < state->evidence_count; i++) {
        const diagnosis_terms *terms = &state->work.terms[i];
        for (size_t m = 0; m < terms->count; m++) {
            if (terms->member[m] == fault &&
                terms->alone[m] < diagnosis_figure(DIAGNOSIS_cleared) * terms->base) {
                return true;
            }
        }
    }
    return false;
}

/* A danger that explains the whole run better than a good oven does. */
static bool explains(const ovp_diagnosis_case *state, size_t fault)
{
    return state->has_fit && state->prior.odds[fault] > 0 && ovp_diagnosis_fault_at(fault)->danger >= 3 &&
           state->fit_ratio[fault] >= diagnosis_figure(DIAGNOSIS_fit_held);
}

static void judge(const ovp_diagnosis_case *state, ovp_diagnosis_result *result)
{
    double good = state->posterior.healthy, bad = state->posterior.unlisted;
    bool danger = false;
    result->not_proved_count = 0;
    for (size_t f = 0; f < state->prior.fault_count; f++) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(f);
        const double share = state->posterior.share[f];
        if (state->prior.odds[f] == 0) {
            continue;
        }
        *(no_defect(fault) ? &good : &bad) += share;
        if (fault->danger < 3) {
            continue;
        }
        danger = danger || share >= diagnosis_figure(DIAGNOSIS_danger_held) || explains(state, f);
        if (!is_tested(state, f)) {
            result->not_proved[result->not_proved_count++] = fault->id;
        }
    }
    /* A person is told "good" only when the tests of what can hurt are done; a log is judged for what it
     * shows. */
    danger = danger || (!state->settings.log_only && result->not_proved_count > 0);
    const double held = diagnosis_figure(DIAGNOSIS_verdict);
    result->verdict = good >= held && !danger ? OVP_DIAGNOSIS_HEALTHY
                      : bad >= held           ? OVP_DIAGNOSIS_FAULT
                                              : OVP_DIAGNOSIS_UNCERTAIN;
}

void ovp_diagnosis_infer(ovp_diagnosis_case *state, ovp_diagnosis_result *result)
{
    diagnosis_gather(state, !state->settings.log_only);
    diagnosis_infer(&state->prior, state->evidence, state->evidence_count, DIAGNOSIS_SET, &state->work,
                    &state->posterior);
    result->healthy = state->posterior.healthy;
    result->unlisted = state->posterior.unlisted;
    result->cause_count = result->not_shown_count = result->recheck_count = 0;
    result->mass_not_covered = state->posterior.not_covered;
    double weights[DIAGNOSIS_HYPOTHESES];
    diagnosis_mix(state, weights);
    for (size_t f = 0; f < state->prior.fault_count; f++) {
        if ((state->not_shown >> f & 1) != 0) {
            result->not_shown[result->not_shown_count++] = ovp_diagnosis_fault_at(f)->id;
        }
        if (state->posterior.share[f] >= diagnosis_figure(DIAGNOSIS_folded) || explains(state, f)) {
            add_cause(state, f, weights, result);
        } else {
            result->unlisted += state->posterior.share[f];
        }
    }
    name_doubted(state, result);
    judge(state, result);
}
