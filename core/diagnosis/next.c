/*
 * The next question. Every permitted question is looked at: what each answer would leave (as shares of
 * causes), what repairs would then cost, and how much is still not known. The safety order stands above the
 * costs.
 *
 * One fault at a time explains most cases, and then a second fault that merely comes along is no reason to
 * ask on: pairs are looked at once the answers speak for them. In the closed loop, pairs always cost three
 * more questions for no more right answers; single faults always lost hits where an answer was misread.
 */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

enum {
    HEALTHY = DIAGNOSIS_FAULTS,
    UNLISTED = DIAGNOSIS_FAULTS + 1,
};

/* One question that may be asked, and what it would bring. */
typedef struct candidate {
    size_t question;
    double cost, gain, value;
    size_t outcome_count;
    diagnosis_outlook outlook[DIAGNOSIS_OUTCOMES];
} candidate;

typedef struct table {
    double weights[DIAGNOSIS_HYPOTHESES]; /* shares, as they stand */
    double repair[DIAGNOSIS_HYPOTHESES];
    double single[DIAGNOSIS_FAULTS];
    double pair[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS]; /* half of the weight of each pair */
    unsigned char order[DIAGNOSIS_HYPOTHESES];
    diagnosis_outlook now;
    size_t best_repair; /* largest share over cost */
    candidate candidates[DIAGNOSIS_QUESTIONS];
    size_t count;
} table;

/* ---- where things stand -------------------------------------------------------------------------------- */

static void fill_weights(const ovp_diagnosis_case *state, table *t)
{
    const diagnosis_work *work = &state->work;
    /* What no list holds is left out: a question that only shows that all else is well finds nothing. */
    const double listed = fmax(1e-9, 1 - state->posterior.unlisted);
    const double total = state->posterior.total * listed;
    for (size_t f = 0; f < DIAGNOSIS_FAULTS; f++) {
        t->single[f] = f < state->prior.fault_count ? work->sum[1][f] / total : 0;
        t->weights[f] = f < state->prior.fault_count ? state->posterior.share[f] / listed : 0;
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(f);
        t->repair[f] = diagnosis_figure(DIAGNOSIS_wrong_repair) + (fault != NULL ? fault->repair_minutes : 0);
        for (size_t g = 0; g < DIAGNOSIS_FAULTS; g++) {
            const bool both = f != g && f < state->prior.fault_count && g < state->prior.fault_count;
            t->pair[f][g] =
                both ? 0.5 * work->pair_unit * work->factor[f] * work->factor[g] * work->pair[f][g] / total
                     : 0;
        }
    }
    t->weights[HEALTHY] = state->posterior.healthy / listed;
    t->weights[UNLISTED] = 0;
    t->repair[HEALTHY] = diagnosis_figure(DIAGNOSIS_conclude_good);
    t->repair[UNLISTED] = diagnosis_figure(DIAGNOSIS_service);
    diagnosis_order_init(t->order, DIAGNOSIS_HYPOTHESES);
    t->now = diagnosis_look(t->weights, t->repair, DIAGNOSIS_HYPOTHESES, t->order);
    t->best_repair = t->order[0];
}

/* ---- what an answer would leave --------------------------------------------------------------------------
 */

/* Shares after one outcome: terms->base, alone and first hold the likelihoods of this outcome. */
static void shares_after(const ovp_diagnosis_case *state, const table *t, const diagnosis_terms *terms,
                         double left[])
{
    const size_t faults = state->prior.fault_count;
    for (size_t f = 0; f < faults; f++) {
        left[f] = t->weights[f] * terms->base;
    }
    /* The rest of the rule only where a member of the question takes part. */
    for (size_t m = 0; m < terms->count; m++) {
        const size_t f = terms->member[m];
        const double change = terms->first[m] - terms->base;
        left[f] += t->single[f] * (terms->alone[m] - terms->base);
        for (size_t g = 0; g < faults; g++) {
            const double moved = t->pair[f][g] * change;
            left[f] += moved;
            left[g] += moved;
        }
        for (size_t n = 0; n < m; n++) {
            const size_t g = terms->member[n];
            const double pair = t->pair[f][g];
            if (pair > 0) {
                const double both = diagnosis_combined(terms, terms->ratio[m] * terms->ratio[n],
                                                       terms->rise[m] + terms->rise[n],
                                                       terms->rise_all[m] + terms->rise_all[n]);
                const double moved = pair * (both - terms->first[m] - terms->first[n] + terms->base);
                left[f] += moved;
                left[g] += moved;
            }
        }
    }
    left[HEALTHY] = t->weights[HEALTHY] * terms->base;
    left[UNLISTED] = t->weights[UNLISTED] * terms->flat;
    for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES; h++) {
        left[h] = fmax(0, left[h]);
    }
}

/* The answer of the same group that counts in full now; NULL when none was given. */
static const diagnosis_terms *told_by_group(const ovp_diagnosis_case *state, size_t question)
{
    const char *group = diagnosis_group(state, question);
    for (size_t i = 0; i < state->evidence_count && group[0] != '\0'; i++) {
        const size_t other = state->origin[i].question;
        if (other != question && other < state->measurements && state->evidence[i].weight == 1 &&
            strcmp(group, diagnosis_group(state, other)) == 0) {
            return &state->work.terms[i];
        }
    }
    return NULL;
}

/* As diagnosis_strength, of an answer that is taken apart already. */
static double spread(const diagnosis_prior *prior, const diagnosis_terms *terms)
{
    double most = terms->base, least = terms->base;
    for (size_t m = 0; m < terms->count; m++) {
        if (prior->odds[terms->member[m]] > 0) {
            most = fmax(most, terms->alone[m]);
            least = fmin(least, terms->alone[m]);
        }
    }
    return most / least;
}

/*
 * An answer whose root has been asked about: the stronger of the two will count in full, the other less. What
 * the weaker one is worth too much is taken back; the answer itself comes as often as it would.
 */
static void take_back(double left[], const diagnosis_terms *weaker)
{
    const double power = diagnosis_figure(DIAGNOSIS_group_weight) - 1;
    double by_fault[DIAGNOSIS_HYPOTHESES], before = 0, after = 0;
    const double base = pow(weaker->base, power);
    for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES; h++) {
        by_fault[h] = base;
    }
    for (size_t m = 0; m < weaker->count; m++) {
        by_fault[weaker->member[m]] = pow(weaker->alone[m], power);
    }
    by_fault[UNLISTED] = pow(weaker->flat, power);
    for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES; h++) {
        before += left[h];
        left[h] *= by_fault[h];
        after += left[h];
    }
    for (size_t h = 0; h < DIAGNOSIS_HYPOTHESES && after > 0; h++) {
        left[h] *= before / after;
    }
}

static void look_at(const ovp_diagnosis_case *state, table *t, size_t question)
{
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(question);
    candidate *c = &t->candidates[t->count++];
    c->question = question;
    c->cost = diagnosis_figure(DIAGNOSIS_asking) + diagnosis_cost(state, measurement);
    c->gain = t->now.entropy;
    c->outcome_count = measurement->outcome_count;
    const diagnosis_terms *told = told_by_group(state, question);
    const double told_spread = told != NULL ? spread(&state->prior, told) : 0;
    diagnosis_terms terms;
    for (size_t o = 0; o < measurement->outcome_count; o++) {
        const diagnosis_evidence evidence = {&state->questions[question], o, 1};
        double left[DIAGNOSIS_HYPOTHESES] = {0};
        diagnosis_prepare(&evidence, 1, &terms);
        shares_after(state, t, &terms, left);
        if (told != NULL) {
            take_back(left, spread(&state->prior, &terms) > told_spread ? told : &terms);
        }
        c->outlook[o] = diagnosis_look(left, t->repair, DIAGNOSIS_HYPOTHESES, t->order);
        c->gain -= c->outlook[o].p * c->outlook[o].entropy;
    }
}

static void look_at_all(const ovp_diagnosis_case *state, table *t)
{
    t->count = 0;
    for (size_t q = 0; q < state->measurements; q++) {
        if (state->questions[q].faults != 0 && diagnosis_answer_place(state, q) < 0 &&
            !diagnosis_known_from_trace(state, q) &&
            diagnosis_permitted(state, ovp_diagnosis_measurement_at(q))) {
            look_at(state, t, q);
        }
    }
}

typedef bool (*filter)(const ovp_diagnosis_case *state, size_t question);

/*
 * Values by entropy-ECR; returns that of the best repair, which is what it means to conclude. Only questions
 * that may be asked now say what a bit of information costs: one that must wait would make the rest look dear
 * and the cheapest of them, whatever it tells, look best.
 */
static double value_all(const ovp_diagnosis_case *state, table *t, filter allowed)
{
    static const double least_gain = 1e-9;
    double kappa = INFINITY;
    for (size_t i = 0; i < t->count; i++) {
        if (t->candidates[i].gain >= least_gain && allowed(state, t->candidates[i].question)) {
            kappa = fmin(kappa, t->candidates[i].cost / t->candidates[i].gain);
        }
    }
    for (size_t i = 0; i < t->count; i++) {
        candidate *c = &t->candidates[i];
        c->value = c->cost;
        for (size_t o = 0; o < c->outcome_count; o++) {
            c->value += c->outlook[o].p * diagnosis_worth(&c->outlook[o], kappa);
        }
    }
    const size_t repair = t->best_repair;
    double left[DIAGNOSIS_HYPOTHESES];
    memcpy(left, t->weights, sizeof(left));
    left[repair] = 0;
    unsigned char order[DIAGNOSIS_HYPOTHESES];
    diagnosis_order_init(order, DIAGNOSIS_HYPOTHESES);
    const diagnosis_outlook then = diagnosis_look(left, t->repair, DIAGNOSIS_HYPOTHESES, order);
    return t->repair[repair] + then.p * diagnosis_worth(&then, kappa);
}

/* ---- the safety order -------------------------------------------------------------------------------------
 */

static bool has_state(size_t question, const char *word)
{
    return diagnosis_has_word(ovp_diagnosis_measurement_at(question)->states, ';', word, strlen(word));
}

static bool is_live(size_t question)
{
    return strcmp(ovp_diagnosis_measurement_at(question)->energised, "live") == 0;
}

static uint64_t set_of(const char *const ids[], size_t count)
{
    uint64_t faults = 0;
    for (size_t i = 0; i < count; i++) {
        faults |= UINT64_C(1) << (ovp_diagnosis_fault_named(ids[i]) - ovp_diagnosis_fault_at(0));
    }
    return faults;
}

static uint64_t blind_faults(void)
{
    static const char *const ids[] = {"sensor-reversed", "sensor-shorted", "sensor-withdrawn"};
    return set_of(ids, sizeof(ids) / sizeof(ids[0]));
}

static uint64_t shell_faults(void)
{
    static const char *const ids[] = {"short-circuit", "element-to-ground", "lining-damp-leakage"};
    return set_of(ids, sizeof(ids) / sizeof(ids[0]));
}

/* An answer or finding is likelier with one of these faults than without. */
static bool raised(const ovp_diagnosis_case *state, uint64_t faults)
{
    static const double clearly = 1.2; /* a row that hardly differs from the default raises nothing */
    for (size_t i = 0; i < state->evidence_count; i++) {
        const diagnosis_terms *terms = &state->work.terms[i];
        for (size_t m = 0; m < terms->count; m++) {
            if ((faults >> terms->member[m] & 1) != 0 && terms->alone[m] > clearly * terms->base) {
                return true;
            }
        }
    }
    return false;
}

static double held_by(const ovp_diagnosis_case *state, const table *t, uint64_t faults)
{
    double held = 0;
    for (size_t f = 0; f < state->prior.fault_count; f++) {
        held += (faults >> f & 1) != 0 ? t->weights[f] : 0;
    }
    return held;
}

/* The shell may be live, or the supply shorted: it stays unplugged. */
static bool shell_in_doubt(const ovp_diagnosis_case *state, const table *t)
{
    const uint64_t shell = shell_faults();
    return held_by(state, t, shell) > diagnosis_figure(DIAGNOSIS_shell_doubt) && raised(state, shell);
}

/* A display that may read far too low: heat would have no limit. */
static bool sensor_in_doubt(const ovp_diagnosis_case *state, const table *t)
{
    const uint64_t blind = blind_faults();
    const double held = held_by(state, t, blind);
    return held > diagnosis_figure(DIAGNOSIS_sensor_doubt) ||
           (held > diagnosis_figure(DIAGNOSIS_sensor_doubt_raised) && raised(state, blind));
}

static bool any(const ovp_diagnosis_case *state, size_t question)
{
    (void)state;
    (void)question;
    return true;
}

static bool without_heat(const ovp_diagnosis_case *state, size_t question)
{
    (void)state;
    return !has_state(question, "heated");
}

/* Made on a cold oven, and bears on a sensor that reads too low. */
static bool cold_test(const ovp_diagnosis_case *state, size_t question)
{
    return (has_state(question, "cooled") || has_state(question, "unplugged")) && !is_live(question) &&
           (state->questions[question].faults & blind_faults()) != 0;
}

/* Not plugged in just to look at the controls: a look during normal use may be told from memory. */
static bool stays_off(const ovp_diagnosis_case *state, size_t question)
{
    return strcmp(ovp_diagnosis_measurement_at(question)->energised, "controls") != 0 &&
           without_heat(state, question);
}

/* Nothing live, and no power on where it could do harm. */
static bool harmless(const ovp_diagnosis_case *state, size_t question)
{
    (void)state;
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(question);
    return !is_live(question) && (measurement->hazard_level < 2 || strcmp(measurement->energised, "no") == 0);
}

static double gain_per_minute(const candidate *c)
{
    return c->gain / fmax(1, c->cost);
}

static const candidate *best_of(const ovp_diagnosis_case *state, const table *t, filter allowed,
                                double least_gain_per_minute)
{
    const candidate *best = NULL;
    for (size_t i = 0; i < t->count; i++) {
        const candidate *c = &t->candidates[i];
        if (gain_per_minute(c) >= least_gain_per_minute && allowed(state, c->question) &&
            (best == NULL || c->value < best->value - 1e-9)) {
            best = c;
        }
    }
    return best;
}

static size_t questions_asked(const ovp_diagnosis_case *state)
{
    size_t asked = 0;
    for (size_t i = 0; i < state->answer_count; i++) {
        asked += state->questions[state->answers[i].question].outcome_count > 0;
    }
    return asked;
}

/* The best question under the safety order; NULL when concluding is better than any. */
static const candidate *choose(const ovp_diagnosis_case *state, table *t)
{
    const double conclude = value_all(state, t, any);
    const candidate *best = best_of(state, t, any, -1);
    if (best == NULL || (best->value >= conclude - 1e-9 && questions_asked(state) > 0)) {
        return NULL; /* a log alone concludes nothing: one look at the oven itself comes first */
    }
    if (!without_heat(state, best->question) && sensor_in_doubt(state, t) &&
        best_of(state, t, cold_test, -1) != NULL) {
        const double conclude_cold = value_all(state, t, without_heat);
        const candidate *cold = best_of(state, t, without_heat, -1);
        best = cold->value < conclude_cold - 1e-9 ? cold : best_of(state, t, cold_test, -1);
    }
    if (!harmless(state, best->question)) {
        const double least = diagnosis_figure(DIAGNOSIS_de_energised_share) * gain_per_minute(best);
        (void)value_all(state, t, harmless);
        const candidate *safer = best_of(state, t, harmless, least);
        const bool heat = safer != NULL && !without_heat(state, safer->question) &&
                          sensor_in_doubt(state, t) && best_of(state, t, cold_test, -1) != NULL;
        best = safer != NULL && !heat ? safer : best;
    }
    if (!stays_off(state, best->question) && shell_in_doubt(state, t)) {
        const double conclude_off = value_all(state, t, stays_off);
        best = best_of(state, t, stays_off, -1);
        best = best != NULL && best->value < conclude_off - 1e-9 ? best : NULL;
    }
    return best;
}

/* ---- the question
 * ------------------------------------------------------------------------------------------ */

/* Single faults; pairs too when the answers have raised them against single faults. */
static void weigh(ovp_diagnosis_case *state)
{
    double none, singles_before = diagnosis_set_prior(&state->prior, 1, &none);
    const double pairs_before = diagnosis_set_prior(&state->prior, 2, &none) - singles_before;
    diagnosis_infer(&state->prior, state->evidence, state->evidence_count, 2, &state->work,
                    &state->posterior);
    double singles = 0, pairs = 0;
    for (size_t f = 0; f < state->prior.fault_count; f++) {
        singles += state->work.sum[1][f];
        pairs += state->work.sum[2][f] / 2;
    }
    if (pairs * singles_before <= diagnosis_figure(DIAGNOSIS_pairs_raised) * singles * pairs_before) {
        diagnosis_infer(&state->prior, state->evidence, state->evidence_count, 1, &state->work,
                        &state->posterior);
    }
}

const ovp_diagnosis_measurement *diagnosis_next_over(ovp_diagnosis_case *state, size_t largest)
{
    diagnosis_gather(state, true);
    if (largest == 0) {
        weigh(state);
    } else {
        diagnosis_infer(&state->prior, state->evidence, state->evidence_count, largest, &state->work,
                        &state->posterior);
    }
    table t;
    fill_weights(state, &t);
    look_at_all(state, &t);
    const candidate *best = choose(state, &t);
    if (best == NULL) {
        return NULL;
    }
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(best->question);
    ovp_oven_part unknown = OVP_OVEN_PARTS;
    if (diagnosis_parts(state, measurement->needs_part, &unknown) == OVP_OVEN_UNKNOWN &&
        unknown < OVP_OVEN_PARTS) {
        return diagnosis_fitted_question(unknown);
    }
    return measurement;
}

const ovp_diagnosis_measurement *ovp_diagnosis_next(ovp_diagnosis_case *state)
{
    if ((double)questions_asked(state) >= diagnosis_figure(DIAGNOSIS_questions)) {
        return NULL;
    }
    return diagnosis_next_over(state, 0);
}

const ovp_diagnosis_measurement *ovp_diagnosis_before(ovp_diagnosis_case *state,
                                                      const ovp_diagnosis_measurement *wanted)
{
    ovp_oven_part unknown = OVP_OVEN_PARTS;
    if (diagnosis_parts(state, wanted->needs_part, &unknown) == OVP_OVEN_UNKNOWN && unknown < OVP_OVEN_PARTS)
        return diagnosis_fitted_question(unknown);
    if (!ovp_diagnosis_needs_heat(wanted))
        return NULL;
    diagnosis_gather(state, true);
    weigh(state);
    table t;
    fill_weights(state, &t);
    if (!sensor_in_doubt(state, &t))
        return NULL;
    look_at_all(state, &t);
    (void)value_all(state, &t, cold_test);
    const candidate *cold = best_of(state, &t, cold_test, -1);
    return cold == NULL ? NULL : ovp_diagnosis_measurement_at(cold->question);
}
