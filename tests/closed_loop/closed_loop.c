/*
 * Closed loop: a known fault answers the questions, by its own rows, with some answers wrong and some
 * unknown. usage: closed_loop [cases per fault] [first number of the random sequence] [what] [context]
 *
 * what: "all" (as without), "check" (in service only; ends with 1 when a safety fact does not hold or the
 * figures fall below their floor), "details" (the faults that are often missed), "minutes" (which questions
 * take them), "guide" (the guide alone), "danger" (the guide alone and dangerous faults alone: those called
 * good, live questions to an owner).
 *
 * Prints, for each context, owner and technician: right first, exactly and within the class of faults that
 * the permitted questions hardly part; beside it an ideal observer, who is given the answers to everything
 * that may be asked (and another who also knows that there is one fault and no question shares a root, as it
 * is in this loop), and three plain ways of asking. Minutes are counted twice, the same way for all: by the
 * table (hands-on and waiting of each question added up), and as lived (cover off, unplugged, cooled and
 * heated paid when they are not so already; a wait for heat only as far as the oven has not been hot).
 */
#include "../seeded.h"
#include "policies.h"
#include "score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double unknown_share = 0.10, wrong_share = 0.05;

/* A sequence of its own for each case: what is asked in one case does not move the answers of the next. */
static void start_case(uint64_t first_number, uint64_t number)
{
    random_state = (first_number + 1) * UINT64_C(0x9E3779B97F4A7C15) + number * UINT64_C(0xD1B54A32D192ED03);
    for (int i = 0; i < 4; i++) {
        (void)uniform();
    }
}

enum {
    FORECASTS = 4096, /* of "the first cause is right", kept for the scores */
    WAYS = 6,
    GUIDE = 0,
    IDEAL = 4,
    IDEAL_SINGLE = 5,
};

static const struct way {
    const char *name;
    policy next; /* NULL: the guide; for the ideal observer everything is asked */
} ways[WAYS] = {{"guide", NULL},
                {"fixed order p/c", policy_fixed_order},
                {"information gain", policy_gain},
                {"gain per minute", policy_gain_per_minute},
                {"ideal observer", NULL},
                {"ideal, one fault", NULL}};

typedef struct counts {
    size_t cases, exact, in_class, questions;
    double minutes, lived, weight, weighted_exact, weighted_class;
} counts;

typedef struct tally {
    counts way[WAYS];
    double forecast[FORECASTS];
    int came[FORECASTS];
    size_t forecasts;
    size_t called_good, dangerous, dangerous_good, ideal_dangerous_good, live_to_owner, rechecks;
    size_t asked[DIAGNOSIS_QUESTIONS];
    double took[DIAGNOSIS_QUESTIONS];
    size_t fault_exact[DIAGNOSIS_FAULTS], fault_cases[DIAGNOSIS_FAULTS],
        fault_first[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS + 1];
} tally;

/* What a run of cases is about. */
typedef struct setting {
    ovp_diagnosis_case *state;
    bool classes[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS];
    bool noise, guide_only;
} setting;

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

/* ---- how a fault answers ---------------------------------------------------------------------------------
 */

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

static void draw_all(const ovp_diagnosis_case *state, size_t fault, bool noise, int answers[])
{
    for (size_t q = 0; q < state->measurements; q++) {
        answers[q] = DIAGNOSIS_NO_OUTCOME;
        if (state->questions[q].faults != 0) {
            answers[q] = noise ? draw(&state->questions[q], fault) : likeliest(&state->questions[q], fault);
        }
    }
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

/* ---- one case --------------------------------------------------------------------------------------------
 */

static size_t place_of(const ovp_diagnosis_measurement *measurement)
{
    return (size_t)(measurement - ovp_diagnosis_measurement_at(0));
}

static size_t first_cause(const ovp_diagnosis_result *result)
{
    if (result->cause_count == 0 || result->unlisted > result->causes[0].probability) {
        return DIAGNOSIS_FAULTS;
    }
    return (size_t)(result->causes[0].fault - ovp_diagnosis_fault_at(0));
}

static double ask(ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement, int outcome,
                  counts *way)
{
    const double lived = diagnosis_minutes(state, measurement);
    way->questions++;
    way->minutes += measurement->minutes + measurement->wait_minutes;
    way->lived += lived;
    ovp_diagnosis_answer(state, measurement->id, outcome < 0 ? "unknown" : measurement->outcomes[outcome],
                         NULL);
    return lived;
}

static void count_case(counts *way, const setting *set, size_t fault, size_t first)
{
    const ovp_diagnosis_fault *truth = ovp_diagnosis_fault_at(fault);
    const double weight = fmax(truth->prior[set->state->settings.context], 0.5);
    const bool in_class = first < DIAGNOSIS_FAULTS && set->classes[fault][first];
    way->cases++;
    way->exact += first == fault;
    way->in_class += in_class;
    way->weight += weight;
    way->weighted_exact += first == fault ? weight : 0;
    way->weighted_class += in_class ? weight : 0;
}

/* The doubted answer that has not been asked for again, if any: a guide at the terminal asks once more. */
static bool doubted(const ovp_diagnosis_result *result, const bool again[],
                    const ovp_diagnosis_measurement **measurement)
{
    for (size_t i = 0; i < result->recheck_count; i++) {
        *measurement = ovp_diagnosis_measurement_named(result->recheck[i]);
        if (!again[place_of(*measurement)]) {
            return true;
        }
    }
    return false;
}

static void note_forecast(tally *t, const ovp_diagnosis_result *result, size_t fault)
{
    if (t->forecasts < FORECASTS && result->cause_count > 0) {
        /* in twentieths: equal forecasts are taken together */
        t->forecast[t->forecasts] = fmin(0.975, floor(result->causes[0].probability * 20) / 20 + 0.025);
        t->came[t->forecasts++] = result->causes[0].fault == ovp_diagnosis_fault_at(fault);
    }
}

static void guide_case(const setting *set, size_t fault, const int answers[], tally *t)
{
    static ovp_diagnosis_result result;
    ovp_diagnosis_case *state = set->state;
    state->answer_count = 0;
    bool again[DIAGNOSIS_QUESTIONS] = {false};
    for (;;) {
        const ovp_diagnosis_measurement *m = ovp_diagnosis_next(state);
        int outcome = m != NULL ? answers[place_of(m)] : DIAGNOSIS_NO_OUTCOME;
        if (m == NULL) {
            ovp_diagnosis_infer(state, &result);
            if (!doubted(&result, again, &m)) {
                break;
            }
            const size_t q = place_of(m);
            again[q] = true;
            outcome = set->noise ? draw(&state->questions[q], fault) : answers[q];
        }
        t->live_to_owner += !state->settings.technician && strcmp(m->energised, "live") == 0;
        t->asked[place_of(m)]++;
        t->took[place_of(m)] += ask(state, m, outcome, &t->way[GUIDE]);
    }
    const size_t first = first_cause(&result);
    const bool is_dangerous = ovp_diagnosis_fault_at(fault)->danger >= 3;
    const bool good = result.verdict == OVP_DIAGNOSIS_HEALTHY;
    count_case(&t->way[GUIDE], set, fault, first);
    note_forecast(t, &result, fault);
    t->fault_cases[fault]++;
    t->fault_first[fault][first]++;
    t->fault_exact[fault] += first == fault;
    t->rechecks += result.recheck_count > 0;
    t->dangerous += is_dangerous;
    t->called_good += good;
    t->dangerous_good += good && is_dangerous;
}

static void plain_case(const setting *set, size_t fault, const int answers[], policy next, counts *way)
{
    set->state->answer_count = 0;
    for (const ovp_diagnosis_measurement *m = next(set->state); m != NULL; m = next(set->state)) {
        ask(set->state, m, answers[place_of(m)], way);
    }
    count_case(way, set, fault, policy_first_cause(set->state));
}

static void ideal_case(const setting *set, size_t fault, const int answers[], tally *t)
{
    static ovp_diagnosis_result result;
    ovp_diagnosis_case *state = set->state;
    state->answer_count = 0;
    for (size_t q = 0; q < state->measurements; q++) {
        const ovp_diagnosis_measurement *m = ovp_diagnosis_measurement_at(q);
        if (state->questions[q].faults != 0 && diagnosis_permitted(state, m)) {
            ask(state, m, answers[q], &t->way[IDEAL]);
        }
    }
    ovp_diagnosis_infer(state, &result);
    count_case(&t->way[IDEAL], set, fault, first_cause(&result));
    counts *single = &t->way[IDEAL_SINGLE];
    count_case(single, set, fault, policy_first_cause(state));
    single->questions = t->way[IDEAL].questions;
    single->minutes = t->way[IDEAL].minutes;
    single->lived = t->way[IDEAL].lived;
    t->ideal_dangerous_good +=
        result.verdict == OVP_DIAGNOSIS_HEALTHY && ovp_diagnosis_fault_at(fault)->danger >= 3;
}

static void one_case(const setting *set, size_t fault, tally *t)
{
    int answers[DIAGNOSIS_QUESTIONS];
    draw_all(set->state, fault, set->noise, answers);
    guide_case(set, fault, answers, t);
    for (size_t w = 0; w < WAYS && !set->guide_only; w++) {
        if (ways[w].next != NULL) {
            plain_case(set, fault, answers, ways[w].next, &t->way[w]);
        }
    }
    if (!set->guide_only) {
        ideal_case(set, fault, answers, t);
    }
}

/* ---- printing --------------------------------------------------------------------------------------------
 */

static void print_way(const char *name, const counts *way)
{
    const double n = (double)way->cases;
    if (way->cases > 0) {
        printf("    %-17s exact %5.1f %%  class %5.1f %%  by frequency %5.1f / %5.1f %%  questions %5.1f  "
               "minutes %5.0f by the table, %5.0f as lived\n",
               name, 100 * (double)way->exact / n, 100 * (double)way->in_class / n,
               100 * way->weighted_exact / way->weight, 100 * way->weighted_class / way->weight,
               (double)way->questions / n, way->minutes / n, way->lived / n);
    }
}

static void print(const tally *t)
{
    for (size_t w = 0; w < WAYS; w++) {
        print_way(ways[w].name, &t->way[w]);
    }
    const size_t cases = t->way[GUIDE].cases;
    printf(
        "    dangerous faults called good: %zu of %zu (by the ideal observer %zu); called good at all %zu; "
        "live questions to an owner %zu; left in doubt %.1f %%\n",
        t->dangerous_good, t->dangerous, t->ideal_dangerous_good, t->called_good, t->live_to_owner,
        100 * (double)t->rechecks / (double)cases);
    const score s = score_of(t->forecast, t->came, t->forecasts);
    printf("    \"the first cause is right\": Brier %.3f = %.3f - %.3f + %.3f, log %.3f, calibration error "
           "%.3f, %zu cases\n",
           s.brier, s.reliability, s.resolution, s.uncertainty, s.log, s.calibration_error, t->forecasts);
}

static void print_weak(const tally *t)
{
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        if (t->fault_cases[f] == 0 || 4 * t->fault_exact[f] > 3 * t->fault_cases[f]) {
            continue;
        }
        printf("    %-22s %zu/%zu:", ovp_diagnosis_fault_at(f)->id, t->fault_exact[f], t->fault_cases[f]);
        for (size_t g = 0; g <= DIAGNOSIS_FAULTS; g++) {
            if (g != f && 8 * t->fault_first[f][g] >= t->fault_cases[f]) {
                printf(" %s %zu", g < DIAGNOSIS_FAULTS ? ovp_diagnosis_fault_at(g)->id : "unlisted",
                       t->fault_first[f][g]);
            }
        }
        printf("\n");
    }
}

static void print_minutes(const tally *t)
{
    const double n = (double)t->way[GUIDE].cases;
    for (size_t q = 0; q < ovp_diagnosis_measurement_count(); q++) {
        if (t->took[q] / n >= 0.5) {
            printf("    %-26s asked in %5.1f %% of cases, %5.1f minutes a case\n",
                   ovp_diagnosis_measurement_at(q)->id, 100 * (double)t->asked[q] / n, t->took[q] / n);
        }
    }
}

static void print_likeliest(const tally *t)
{
    printf("    each answer the likeliest one (no noise):\n");
    for (size_t w = 0; w < WAYS; w++) {
        const counts *way = &t->way[w];
        const double n = (double)way->cases;
        if (way->cases == 0) {
            continue;
        }
        printf(
            "      %-17s %zu of %zu right, %zu in class, questions %.1f minutes %.0f by the table, %.0f as "
            "lived\n",
            ways[w].name, way->exact, way->cases, way->in_class, (double)way->questions / n, way->minutes / n,
            way->lived / n);
    }
}

/* ---- runs ------------------------------------------------------------------------------------------------
 */

static void start(setting *set, void *memory, const ovp_diagnosis_settings *settings)
{
    set->state = ovp_diagnosis_case_init(memory, settings);
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        for (size_t g = 0; g < ovp_diagnosis_fault_count(); g++) {
            set->classes[f][g] = f == g || same_class(set->state, f, g);
        }
    }
}

/* Right at least as often as the ideal observer less 3 points, give or take two deviations of the count. */
static bool holds(const tally *t)
{
    const counts *guide = &t->way[GUIDE], *ideal = &t->way[IDEAL];
    const double n = (double)guide->cases, p = (double)ideal->in_class / n;
    return t->dangerous_good == 0 && t->live_to_owner == 0 &&
           (double)guide->in_class >= (double)ideal->in_class - 0.03 * n - 2 * sqrt(n * p * (1 - p)) &&
           2 * guide->questions <= ideal->questions;
}

static bool run(setting *set, size_t per_fault, uint64_t first_number, const char *what)
{
    static tally t, clean;
    memset(&t, 0, sizeof(t));
    memset(&clean, 0, sizeof(clean));
    set->noise = true;
    const bool danger_only = strcmp(what, "danger") == 0;
    set->guide_only = danger_only || strcmp(what, "guide") == 0;
    for (size_t i = 0; i < per_fault; i++) {
        for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
            if (danger_only && ovp_diagnosis_fault_at(f)->danger < 3) {
                continue; /* 100,000 dangerous ones in twenty minutes of one core */
            }
            start_case(first_number, i * DIAGNOSIS_FAULTS + f);
            one_case(set, f, &t);
        }
    }
    print(&t);
    if (strcmp(what, "details") == 0) {
        print_weak(&t);
    }
    if (strcmp(what, "minutes") == 0) {
        print_minutes(&t);
    }
    if (danger_only) {
        return t.dangerous_good == 0 && t.live_to_owner == 0;
    }
    set->noise = false;
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        one_case(set, f, &clean);
    }
    print_likeliest(&clean);
    if (strcmp(what, "minutes") == 0) {
        print_minutes(&clean);
    }
    return set->guide_only || holds(&t);
}

int main(int argc, char **argv)
{
    static const char *const names[] = {"new-build", "in-service", "after-transport", "after-rewire"};
    const size_t per_fault = argc > 1 ? strtoul(argv[1], NULL, 10) : 20;
    const uint64_t first_number = argc > 2 ? strtoull(argv[2], NULL, 10) : 20261125;
    const char *what = argc > 3 ? argv[3] : "all";
    const bool check = strcmp(what, "check") == 0;
    const char *only = argc > 4 ? argv[4] : check ? "in-service" : NULL;
    void *memory = malloc(ovp_diagnosis_case_size());
    if (memory == NULL) {
        return 4;
    }
    ovp_oven oven;
    fit_everything(&oven);
    bool all_hold = true;
    for (int context = 0; context < 4; context++) {
        for (int technician = 0; technician < 2; technician++) {
            if (only != NULL && strcmp(names[context], only) != 0) {
                continue;
            }
            const ovp_diagnosis_settings settings = {
                .context = (ovp_diagnosis_context)context, .oven = &oven, .technician = technician != 0};
            static setting set;
            start(&set, memory, &settings);
            printf("%s, %s, %zu cases\n", names[context], technician != 0 ? "technician" : "owner",
                   per_fault * ovp_diagnosis_fault_count());
            all_hold = run(&set, per_fault, first_number, what) && all_hold;
            fflush(stdout);
        }
    }
    free(memory);
    return (check || strcmp(what, "danger") == 0) && !all_hold;
}
