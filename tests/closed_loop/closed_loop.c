/*
 * Closed loop: a known fault answers the questions, by its own rows, with some answers wrong and some
 * unknown. usage: closed_loop [cases per fault] [first number of the random sequence]
 *
 * Prints, for owner and technician and each context: right first (exactly, and within the class of faults
 * that the permitted questions hardly part), beside an ideal observer who asks everything; questions and
 * minutes; dangerous faults called good; live questions put to an owner. With "check" as the third word it
 * ends with 1 when a safety fact does not hold or the figures fall below their floor.
 */
#include "diagnosis/diagnosis_internal.h"
#include "score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double unknown_share = 0.10, wrong_share = 0.05;

static uint64_t random_state;

static double uniform(void)
{
    random_state ^= random_state >> 12;
    random_state ^= random_state << 25;
    random_state ^= random_state >> 27;
    return (double)(random_state * UINT64_C(0x2545F4914F6CDD1D) >> 11) / 9007199254740992.0;
}

enum {
    FORECASTS = 4096, /* of "the first cause is right", kept for the scores */
};

typedef struct tally {
    double forecast[FORECASTS];
    int came[FORECASTS];
    size_t forecasts;
    size_t cases, exact, in_class, ideal_exact, ideal_in_class, questions, ideal_questions, called_good,
        dangerous, dangerous_good, ideal_dangerous_good, live_to_owner, rechecks;
    double minutes, weight, weighted_exact, weighted_class;
    size_t fault_exact[DIAGNOSIS_FAULTS], fault_cases[DIAGNOSIS_FAULTS],
        fault_first[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS + 1];
} tally;

/* An oven that has every part, so that no question falls away. */
static void fit_everything(ovp_oven *oven)
{
    ovp_oven_init(oven);
    for (int part = 0; part < OVP_OVEN_PARTS; part++) {
        oven->fitted[part] = OVP_OVEN_FITTED;
    }
    oven->wiring = OVP_OVEN_WIRING_PARALLEL;
    oven->element_count = 2;
}

/* Without noise: the likeliest outcome of the true fault. */
static int likeliest(const diagnosis_question *question, size_t fault)
{
    const double *row = (question->faults >> fault & 1) != 0 ? question->rows[fault] : question->defaults;
    size_t best = 0;
    for (size_t o = 1; o < question->outcome_count; o++) {
        best = row[o] > row[best] ? o : best;
    }
    return (int)best;
}

static int draw(const diagnosis_question *question, size_t fault)
{
    if (uniform() < unknown_share) {
        return DIAGNOSIS_NO_OUTCOME;
    }
    const double *row = (question->faults >> fault & 1) != 0 ? question->rows[fault] : question->defaults;
    double at = uniform();
    size_t outcome = 0;
    while (outcome + 1 < question->outcome_count && at >= row[outcome]) {
        at -= row[outcome++];
    }
    if (uniform() < wrong_share) {
        const size_t other = (size_t)(uniform() * (double)(question->outcome_count - 1));
        outcome = other >= outcome ? other + 1 : other;
    }
    return (int)outcome;
}

/* Faults hardly parted: the questions together leave an overlap of more than exp(-1) (Bhattacharyya). */
static bool same_class(const ovp_diagnosis_case *state, size_t f, size_t g)
{
    double distance = 0;
    for (size_t q = 0; q < state->measurements; q++) {
        const diagnosis_question *question = &state->questions[q];
        if (question->faults == 0 || !diagnosis_permitted(state, ovp_diagnosis_measurement_at(q))) {
            continue;
        }
        double overlap = 0;
        for (size_t o = 0; o < question->outcome_count; o++) {
            overlap +=
                sqrt(diagnosis_likelihood(question, &f, 1, o) * diagnosis_likelihood(question, &g, 1, o));
        }
        distance -= log(overlap);
    }
    return distance * (1 - unknown_share) < 1;
}

static size_t first_cause(const ovp_diagnosis_result *result)
{
    if (result->cause_count == 0 || result->unlisted > result->causes[0].probability) {
        return DIAGNOSIS_FAULTS;
    }
    return (size_t)(result->causes[0].fault - ovp_diagnosis_fault_at(0));
}

static void set_answer(ovp_diagnosis_case *state, size_t question, int outcome)
{
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(question);
    ovp_diagnosis_answer(state, measurement->id, outcome < 0 ? "unknown" : measurement->outcomes[outcome],
                         NULL);
}

static void ask_everything(ovp_diagnosis_case *state, const int answers[], tally *t, size_t fault,
                           const bool classes[], ovp_diagnosis_result *result)
{
    for (size_t q = 0; q < state->measurements; q++) {
        if (state->questions[q].faults != 0 && diagnosis_permitted(state, ovp_diagnosis_measurement_at(q))) {
            set_answer(state, q, answers[q]);
            t->ideal_questions++;
        }
    }
    ovp_diagnosis_infer(state, result);
    const size_t first = first_cause(result);
    t->ideal_exact += first == fault;
    t->ideal_in_class += first < DIAGNOSIS_FAULTS && classes[first];
    t->dangerous_good +=
        result->verdict == OVP_DIAGNOSIS_HEALTHY && ovp_diagnosis_fault_at(fault)->danger >= 3;
}

/* The doubted answer that has not been asked for again, if any: a guide at the terminal asks once more. */
static bool doubted(const ovp_diagnosis_result *result, const bool again[],
                    const ovp_diagnosis_measurement **measurement)
{
    for (size_t i = 0; i < result->recheck_count; i++) {
        *measurement = ovp_diagnosis_measurement_named(result->recheck[i]);
        if (!again[*measurement - ovp_diagnosis_measurement_at(0)]) {
            return true;
        }
    }
    return false;
}

static void one_case(void *memory, const ovp_diagnosis_settings *settings, size_t fault, const bool classes[],
                     tally *t, bool noise)
{
    static ovp_diagnosis_result result;
    ovp_diagnosis_case *state = ovp_diagnosis_case_init(memory, settings);
    const ovp_diagnosis_fault *truth = ovp_diagnosis_fault_at(fault);
    const double weight = fmax(truth->prior[settings->context], 0.5);
    int answers[DIAGNOSIS_QUESTIONS];
    for (size_t q = 0; q < state->measurements; q++) {
        answers[q] = state->questions[q].faults != 0 ? (noise ? draw(&state->questions[q], fault)
                                                              : likeliest(&state->questions[q], fault))
                                                     : DIAGNOSIS_NO_OUTCOME;
    }
    int taken[DIAGNOSIS_QUESTIONS];
    memcpy(taken, answers, sizeof(taken));
    bool again[DIAGNOSIS_QUESTIONS] = {false};
    for (bool open = true; open;) {
        const ovp_diagnosis_measurement *m = ovp_diagnosis_next(state);
        if (m == NULL) {
            ovp_diagnosis_infer(state, &result);
            open = doubted(&result, again, &m);
            if (!open) {
                break;
            }
            again[m - ovp_diagnosis_measurement_at(0)] = true;
            if (noise) {
                taken[m - ovp_diagnosis_measurement_at(0)] =
                    draw(&state->questions[m - ovp_diagnosis_measurement_at(0)], fault);
            }
        }
        const size_t q = (size_t)(m - ovp_diagnosis_measurement_at(0));
        t->questions++;
        t->minutes += m->minutes + m->wait_minutes;
        t->live_to_owner += !settings->technician && strcmp(m->energised, "live") == 0;
        set_answer(state, q, taken[q]);
    }
    const size_t first = first_cause(&result);
    if (t->forecasts < FORECASTS && result.cause_count > 0) {
        /* in twentieths: equal forecasts are taken together */
        t->forecast[t->forecasts] = fmin(0.975, floor(result.causes[0].probability * 20) / 20 + 0.025);
        t->came[t->forecasts++] = result.causes[0].fault == truth;
    }
    t->cases++;
    t->fault_cases[fault]++;
    t->fault_first[fault][first]++;
    t->exact += first == fault;
    t->fault_exact[fault] += first == fault;
    const bool in_class = first < DIAGNOSIS_FAULTS && classes[first];
    t->in_class += in_class;
    t->weight += weight;
    t->weighted_exact += first == fault ? weight : 0;
    t->weighted_class += in_class ? weight : 0;
    t->rechecks += result.recheck_count > 0;
    t->dangerous += truth->danger >= 3;
    const bool good = result.verdict == OVP_DIAGNOSIS_HEALTHY;
    t->called_good += good;
    t->dangerous_good += good && truth->danger >= 3;
    ask_everything(state, answers, t, fault, classes, &result);
}

static void print(const tally *t, const char *context, bool technician)
{
    const double n = (double)t->cases;
    printf("%-15s %-10s n=%zu exact %.1f %% (ideal %.1f) in class %.1f %% (ideal %.1f) by frequency "
           "%.1f/%.1f %% "
           "questions %.1f (of %.0f) minutes %.0f\n",
           context, technician ? "technician" : "owner", t->cases, 100 * (double)t->exact / n,
           100 * (double)t->ideal_exact / n, 100 * (double)t->in_class / n,
           100 * (double)t->ideal_in_class / n, 100 * t->weighted_exact / t->weight,
           100 * t->weighted_class / t->weight, (double)t->questions / n, (double)t->ideal_questions / n,
           t->minutes / n);
    printf("    dangerous called good %zu of %zu (by the ideal observer %zu), called good %zu, live "
           "questions to an "
           "owner %zu, left in doubt %.1f %%\n",
           t->dangerous_good, t->dangerous, t->ideal_dangerous_good, t->called_good, t->live_to_owner,
           100 * (double)t->rechecks / n);
    const score s = score_of(t->forecast, t->came, t->forecasts);
    printf("    \"the first cause is right\": Brier %.3f = %.3f - %.3f + %.3f, log %.3f, calibration error "
           "%.3f, %zu cases\n",
           s.brier, s.reliability, s.resolution, s.uncertainty, s.log, s.calibration_error, t->forecasts);
}

static void print_weak(const tally *t)
{
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        if (t->fault_cases[f] == 0 || 2 * t->fault_exact[f] > t->fault_cases[f]) {
            continue;
        }
        printf("    %-22s %zu/%zu:", ovp_diagnosis_fault_at(f)->id, t->fault_exact[f], t->fault_cases[f]);
        for (size_t g = 0; g <= DIAGNOSIS_FAULTS; g++) {
            if (g != f && 5 * t->fault_first[f][g] >= t->fault_cases[f]) {
                printf(" %s %zu", g < DIAGNOSIS_FAULTS ? ovp_diagnosis_fault_at(g)->id : "unlisted",
                       t->fault_first[f][g]);
            }
        }
        printf("\n");
    }
}

int main(int argc, char **argv)
{
    static const char *const names[] = {"new-build", "in-service", "after-transport", "after-rewire"};
    const size_t per_fault = argc > 1 ? strtoul(argv[1], NULL, 10) : 20;
    const uint64_t start = argc > 2 ? strtoull(argv[2], NULL, 10) : 20261125;
    const bool check = argc > 3 && strcmp(argv[3], "check") == 0;
    const bool details = argc > 3 && strcmp(argv[3], "details") == 0;
    const char *only = argc > 4 ? argv[4] : NULL;
    void *memory = malloc(ovp_diagnosis_case_size());
    if (memory == NULL) {
        return 4;
    }
    ovp_oven oven;
    fit_everything(&oven);
    bool holds = true;
    for (int context = 0; context < 4; context++) {
        if ((check || only != NULL) && strcmp(names[context], only != NULL ? only : "in-service") != 0) {
            continue;
        }
        for (int technician = 0; technician < 2; technician++) {
            const ovp_diagnosis_settings settings = {
                .context = (ovp_diagnosis_context)context, .oven = &oven, .technician = technician != 0};
            const ovp_diagnosis_case *state = ovp_diagnosis_case_init(memory, &settings);
            static bool classes[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS];
            for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
                for (size_t g = 0; g < ovp_diagnosis_fault_count(); g++) {
                    classes[f][g] = f == g || same_class(state, f, g);
                }
            }
            static tally t;
            memset(&t, 0, sizeof(t));
            random_state = start;
            for (size_t i = 0; i < per_fault; i++) {
                for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
                    one_case(memory, &settings, f, classes[f], &t, true);
                }
            }
            print(&t, names[context], technician != 0);
            if (details) {
                print_weak(&t);
            }
            static tally clean;
            memset(&clean, 0, sizeof(clean));
            for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
                one_case(memory, &settings, f, classes[f], &clean, false);
            }
            printf("    each answer the likeliest one: %zu of %zu right, %zu in class, questions %.1f "
                   "minutes %.0f\n",
                   clean.exact, clean.cases, clean.in_class, (double)clean.questions / (double)clean.cases,
                   clean.minutes / (double)clean.cases);
            holds = holds && t.dangerous_good == 0 && t.live_to_owner == 0 &&
                    (double)t.in_class >= (double)t.ideal_in_class - 0.1 * (double)t.cases &&
                    2 * t.questions <= t.ideal_questions;
        }
    }
    free(memory);
    return check && !holds;
}
