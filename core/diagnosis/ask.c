/* What a question costs here, who may be asked it, and which one comes next. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

/* ---- the state the oven is in ------------------------------------------------------------------------ */

typedef struct condition {
    bool cover_off, unplugged, hot;
    double soak_min; /**< since the heat went on */
} condition;

static bool needs(const ovp_diagnosis_measurement *measurement, const char *state)
{
    return diagnosis_has_word(measurement->states, ';', state, strlen(state));
}

/* A minute of heat is gone in minutes; a soaked lining is not. */
static double cooling(double soak_min)
{
    return diagnosis_figure(DIAGNOSIS_cooled) * soak_min /
           (soak_min + diagnosis_figure(DIAGNOSIS_cooled_half));
}

/* Minutes to come from one condition to the one a measurement needs, and the condition it leaves. */
static double move_to(condition *now, const ovp_diagnosis_measurement *measurement)
{
    double minutes = measurement->minutes;
    const bool energised = strcmp(measurement->energised, "no") != 0;
    if (needs(measurement, "unplugged")) {
        minutes += now->unplugged ? 0 : diagnosis_figure(DIAGNOSIS_unplugged);
        now->unplugged = true;
    } else if (energised) {
        now->unplugged = false;
    }
    if (needs(measurement, "cover-off")) {
        minutes += now->cover_off ? 0 : diagnosis_figure(DIAGNOSIS_cover_off);
        now->cover_off = true;
    } else if (strcmp(measurement->energised, "normal-use") == 0 ||
               strcmp(measurement->energised, "controls") == 0) {
        now->cover_off =
            false; /* nothing is switched on with the cover off but by a technician who measures */
    }
    if (needs(measurement, "cooled")) {
        minutes += now->hot ? cooling(now->soak_min) : 0;
        now->hot = false;
        now->soak_min = 0;
    }
    const double wait =
        fmax(0, measurement->wait_minutes - (needs(measurement, "heated") ? now->soak_min : 0));
    minutes += wait;
    if (needs(measurement, "heated")) {
        now->hot = true;
        now->soak_min += measurement->minutes + wait;
    }
    return minutes;
}

static condition condition_now(const ovp_diagnosis_case *state)
{
    condition now = {0};
    for (size_t i = 0; i < state->answer_count; i++) {
        if (state->answers[i].outcome >= 0) {
            move_to(&now, ovp_diagnosis_measurement_at((size_t)state->answers[i].question));
        }
    }
    return now;
}

static double hazard_minutes(int level)
{
    return level == 1   ? diagnosis_figure(DIAGNOSIS_hazard_1)
           : level == 2 ? diagnosis_figure(DIAGNOSIS_hazard_2)
           : level == 3 ? diagnosis_figure(DIAGNOSIS_hazard_3)
                        : 0;
}

double diagnosis_minutes(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement)
{
    condition now = condition_now(state);
    return move_to(&now, measurement);
}

double diagnosis_cost(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement)
{
    return diagnosis_minutes(state, measurement) + hazard_minutes(measurement->hazard_level);
}

bool diagnosis_permitted(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement)
{
    const ovp_diagnosis_settings *settings = &state->settings;
    if (!settings->technician &&
        (strcmp(measurement->energised, "live") == 0 || strcmp(measurement->who, "owner") != 0)) {
        return false;
    }
    if (settings->tools != NULL && strcmp(measurement->tools, "none") != 0 &&
        !diagnosis_has_word(settings->tools, ',', measurement->tools, strlen(measurement->tools))) {
        return false;
    }
    ovp_oven_part unknown;
    const ovp_oven_fitted fitted = diagnosis_parts(state, measurement->needs_part, &unknown);
    return fitted == OVP_OVEN_FITTED || (fitted == OVP_OVEN_UNKNOWN && unknown != OVP_OVEN_PARTS);
}

/* ---- which question tells most about one cause -----------------------------------------------------------
 */

void diagnosis_mix(ovp_diagnosis_case *state, double weights[DIAGNOSIS_HYPOTHESES])
{
    for (size_t f = 0; f < DIAGNOSIS_FAULTS; f++) {
        weights[f] = f < state->prior.fault_count ? state->posterior.share[f] : 0;
    }
    weights[DIAGNOSIS_FAULTS] = state->posterior.healthy;
    weights[DIAGNOSIS_FAULTS + 1] = state->posterior.unlisted;
    for (size_t q = 0; q < state->measurements; q++) {
        const diagnosis_question *question = &state->questions[q];
        for (size_t o = 0; o < question->outcome_count; o++) {
            const double base = diagnosis_likelihood(question, NULL, 0, o);
            double mixture = base;
            for (size_t f = 0; f < state->prior.fault_count; f++) {
                if ((question->faults >> f & 1) != 0) {
                    mixture += weights[f] * (diagnosis_likelihood(question, &f, 1, o) - base);
                }
            }
            mixture += weights[DIAGNOSIS_FAULTS + 1] * (diagnosis_unlisted_row(question, o) - base);
            state->mixture[q][o] = mixture;
        }
    }
}

/* Information, in nats, that the answer gives on "this fault or not". */
static double information(const ovp_diagnosis_case *state, size_t q, size_t fault, double held)
{
    const diagnosis_question *question = &state->questions[q];
    const double with = fmin(0.999, fmax(0.001, held)), without = 1 - with;
    double sum = 0;
    for (size_t o = 0; o < question->outcome_count; o++) {
        const double own = diagnosis_likelihood(question, &fault, 1, o);
        const double mixture = state->mixture[q][o];
        const double rest =
            fmax(1e-12, held < 0.999 ? (mixture - held * own) / (1 - held) : question->defaults[o]);
        const double both = with * own + without * rest;
        sum += with * own * log(own / both) + without * rest * log(rest / both);
    }
    return sum;
}

const ovp_diagnosis_measurement *diagnosis_telling(const ovp_diagnosis_case *state, const double weights[],
                                                   size_t fault)
{
    static const double least_minutes = 10; /* below this, minutes say nothing about the order */
    size_t best = 0;
    double most = -1;
    for (size_t q = 0; q < state->measurements; q++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(q);
        if ((state->questions[q].faults >> fault & 1) == 0) {
            continue;
        }
        double value = information(state, q, fault, weights[fault]) /
                       (least_minutes + diagnosis_cost(state, measurement));
        if (!diagnosis_permitted(state, measurement)) {
            value *= 1e-6; /* somebody else must do it; better than naming none */
        }
        if (diagnosis_answer_place(state, q) >= 0 || diagnosis_known_from_trace(state, q)) {
            value *= 1e-12;
        }
        if (value > most) {
            most = value;
            best = q;
        }
    }
    return ovp_diagnosis_measurement_at(best);
}
