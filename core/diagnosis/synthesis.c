/* A run beside a model of each fault: the healthy oven and each fault at its likeliest severity, driven by
   the output that the log shows, compared by how well they explain the display. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

enum {
    POINTS = DIAGNOSIS_FIT_POINTS,
    NUISANCES = DIAGNOSIS_FIT_NUISANCES,
    GRID = DIAGNOSIS_FIT_GRID,
    BETWEEN = DIAGNOSIS_FIT_BETWEEN,
    SEVERITIES = (GRID - 1) * BETWEEN + 1,
    LEAST_POINTS = 20,
    ROUNDS = 12, /* of the search for what this oven is like */
    CLOSE = 10,  /* hypotheses that are looked at closely */
    CLOSE_ROUNDS = 2,
};

typedef diagnosis_fit_work work;

size_t ovp_diagnosis_synthesis_size(void)
{
    return sizeof(work);
}

/* ---- one hypothesis --------------------------------------------------------------------------------- */

typedef struct severities {
    size_t count;    /* modelled */
    bool continuous; /* what lies between them is between their curves */
} severities;

static severities severities_of(const ovp_diagnosis_fault *fault, const ovp_oven *oven)
{
    ovp_tc_type types[OVP_DIAGNOSIS_WRONG_TYPES];
    if (strcmp(fault->severity_unit, "none") == 0) {
        return (severities){1, false};
    }
    if (strcmp(fault->severity_unit, "type") == 0) {
        const ovp_tc_type right = oven->sensor.known ? oven->sensor.type : OVP_TC_K;
        return (severities){ovp_diagnosis_wrong_types(fault->id, right, types), false};
    }
    return (severities){GRID, true};
}

static double severity_at(const severities *range, size_t index)
{
    return !range->continuous  ? ((double)index + 0.5) / (double)range->count
           : range->count == 1 ? 0
                               : (double)index / (double)(range->count - 1);
}

static void between(const work *at, double place, double modelled_C[])
{
    const size_t low = (size_t)fmin(floor(place), GRID - 2);
    const double share = place - (double)low;
    for (size_t i = 0; i < at->log.count; i++) {
        modelled_C[i] = at->curve_C[low][i] + share * (at->curve_C[low + 1][i] - at->curve_C[low][i]);
    }
}

/* Evidence over all severities, each as likely as the next: a fault pays for what it might have been. */
static double over_severities(work *at, const severities *range, const double start[], double *mean,
                              double *deviation, double *least_loss)
{
    const size_t count = range->continuous ? SEVERITIES : range->count;
    double evidence[SEVERITIES], best = -INFINITY, sum = 0, first = 0, second = 0;
    for (size_t i = 0; i < count; i++) {
        double modelled_C[POINTS];
        diagnosis_fit_score score;
        const double place = range->continuous ? (double)i / BETWEEN : (double)i;
        if (range->continuous) {
            between(at, place, modelled_C);
        } else {
            memcpy(modelled_C, at->curve_C[i], sizeof(modelled_C));
        }
        diagnosis_fit_judge(&at->log, modelled_C, &score);
        const double room = start[(size_t)(place + 0.5)];
        evidence[i] = score.log_evidence + room;
        best = fmax(best, evidence[i]);
        *least_loss = fmin(*least_loss, score.loss);
    }
    for (size_t i = 0; i < count; i++) {
        const double weight = exp(evidence[i] - best);
        const double severity = range->continuous ? (double)i / (double)(count - 1) : severity_at(range, i);
        sum += weight;
        first += weight * severity;
        second += weight * severity * severity;
    }
    *mean = first / sum;
    *deviation = sqrt(fmax(second / sum - *mean * *mean, 0) + 1.0 / (12.0 * SEVERITIES * SEVERITIES));
    return best + log(sum / (double)count);
}

/* The next slopes are taken on the way to where the fit stands, a step of at most one at a time and none
   beyond four. Returns the furthest part of a step of that length. */
static double step_towards(const double moved[], const double here[], double length, double from[])
{
    double furthest = 0;
    for (size_t k = 0; k < NUISANCES; k++) {
        const double by = fmin(fmax(moved[k] - here[k], -1), 1);
        from[k] = fmin(fmax(here[k] + length * by, -4), 4);
        furthest = fmax(furthest, fabs(by));
    }
    return furthest;
}

/* All severities as they are with the nuisances at log.from. */
static bool model_severities(work *at, const ovp_diagnosis_fault *fault, const severities *range,
                             double start[], bool *by_output, size_t *likeliest)
{
    double best = -INFINITY;
    for (size_t i = 0; i < range->count; i++) {
        diagnosis_fit_score score;
        start[i] = diagnosis_fit_model(at, fault, severity_at(range, i), by_output, at->curve_C[i]);
        if (isnan(start[i])) {
            return false;
        }
        diagnosis_fit_judge(&at->log, at->curve_C[i], &score);
        if (score.log_evidence + start[i] > best) {
            best = score.log_evidence + start[i];
            *likeliest = i;
        }
    }
    return true;
}

typedef struct candidate {
    const ovp_diagnosis_fault *fault;
    double log_evidence, loss, mean, deviation;
    bool by_output, close;
} candidate;

/* The best that a fault can do counts. */
static void take_better(work *at, const severities *range, const double start[], candidate *one)
{
    double mean = 0, deviation = 0, loss = INFINITY;
    const double evidence = over_severities(at, range, start, &mean, &deviation, &loss);
    one->loss = fmin(one->loss, loss);
    if (evidence > one->log_evidence) {
        one->log_evidence = evidence;
        one->mean = mean;
        one->deviation = deviation;
    }
}

/* At the nuisances and slopes of the healthy fit (rounds 0), or with its own. */
static bool fit_fault(work *at, const diagnosis_fit_log *healthy, int rounds, candidate *one)
{
    const severities range = severities_of(one->fault, at->oven);
    double start[GRID];
    size_t likeliest = 0;
    diagnosis_fit_score score;
    if (range.count == 0 || range.count > GRID) {
        return false;
    }
    memcpy(at->log.from, healthy->from, sizeof(at->log.from));
    memcpy(at->log.slope, healthy->slope, sizeof(at->log.slope));
    if (!model_severities(at, one->fault, &range, start, &one->by_output, &likeliest)) {
        return false;
    }
    one->loss = INFINITY;
    one->log_evidence = -INFINITY;
    take_better(at, &range, start, one);
    double length = 1;
    for (int round = 0; round < rounds; round++) {
        double here[NUISANCES];
        diagnosis_fit_slopes(at, one->fault, severity_at(&range, likeliest), at->curve_C[likeliest]);
        take_better(at, &range, start, one);
        diagnosis_fit_judge(&at->log, at->curve_C[likeliest], &score);
        memcpy(here, at->log.from, sizeof(here));
        (void)step_towards(score.moved, here, length, at->log.from);
        length *= 0.7; /* the later steps are finer */
        if (!model_severities(at, one->fault, &range, start, &one->by_output, &likeliest)) {
            break;
        }
        take_better(at, &range, start, one);
    }
    return true;
}

/* ---- all of them ------------------------------------------------------------------------------------- */

/* A search step by step; one that explains the run less well is taken back and tried at half its length. */
static double healthy_fit(work *at, diagnosis_fit_score *score)
{
    double best = -INFINITY, length = 1, here[NUISANCES] = {0};
    memset(at->log.from, 0, sizeof(at->log.from));
    for (int round = 0; round < ROUNDS; round++) {
        diagnosis_fit_score found;
        const double start = diagnosis_fit_model(at, NULL, 0, NULL, at->tried_C);
        if (isnan(start)) {
            return NAN;
        }
        diagnosis_fit_slopes(at, NULL, 0, at->tried_C);
        diagnosis_fit_judge(&at->log, at->tried_C, &found);
        if (found.log_evidence + start <= best) {
            length /= 2;
            if (length < 0.2) {
                break;
            }
            (void)step_towards(score->moved, here, length, at->log.from);
            continue;
        }
        best = found.log_evidence + start;
        *score = found;
        memcpy(here, at->log.from, sizeof(here));
        memcpy(at->healthy_C, at->tried_C, sizeof(at->healthy_C));
        memcpy(at->best_slope, at->log.slope, sizeof(at->best_slope));
        length = 1;
        if (step_towards(found.moved, here, length, at->log.from) < 0.1) {
            break;
        }
    }
    memcpy(at->log.from, here, sizeof(here));
    memcpy(at->log.slope, at->best_slope, sizeof(at->log.slope));
    return best;
}

static void set_spread(work *at, double left, bool metered)
{
    static const diagnosis_figure_name rows[NUISANCES] = {
        DIAGNOSIS_fit_power,   DIAGNOSIS_fit_conductivity, DIAGNOSIS_fit_capacity, DIAGNOSIS_fit_furnishings,
        DIAGNOSIS_fit_element, DIAGNOSIS_fit_direct,       DIAGNOSIS_fit_sight,    DIAGNOSIS_fit_lag};
    for (size_t k = 0; k < NUISANCES; k++) {
        at->spread[k] = left * diagnosis_figure(rows[k]);
    }
    at->spread[0] = metered ? left * diagnosis_figure(DIAGNOSIS_fit_power_metered)
                            : fmax(left, left < 1 ? diagnosis_figure(DIAGNOSIS_fit_baseline_power) : 1) *
                                  diagnosis_figure(DIAGNOSIS_fit_power);
}

/* The oven as its good run shows it. Returns how much of the spread is left: 1 without such a run. */
static double learn(work *at, const ovp_diagnosis_run *baseline)
{
    diagnosis_fit_score score = {0};
    if (baseline == NULL || diagnosis_fit_silent(baseline)[0] != '\0') {
        return 1;
    }
    diagnosis_fit_thin(baseline, 1, &at->log);
    set_spread(at, 1, baseline->input->has[OVP_TRACE_SUPPLY]);
    if (at->log.count < LEAST_POINTS || isnan(healthy_fit(at, &score)) ||
        score.loss > diagnosis_figure(DIAGNOSIS_fit_adequate)) {
        return 1;
    }
    for (size_t k = 0; k < NUISANCES; k++) {
        at->centre[k] = at->spread[k] * score.moved[k];
    }
    return diagnosis_figure(DIAGNOSIS_fit_baseline);
}

static double root_mean_square(const work *at, const diagnosis_fit_score *score)
{
    double sum = 0;
    for (size_t i = 0; i < at->log.count; i++) {
        double left = at->log.shown_C[i] - at->healthy_C[i];
        for (size_t k = 0; k < NUISANCES; k++) {
            left -= at->log.slope[k][i] * (score->moved[k] - at->log.from[k]);
        }
        sum += isnan(left) ? 0 : left * left;
    }
    return sqrt(sum / (double)at->log.count);
}

static bool tried(const ovp_diagnosis_fault *fault)
{
    return strcmp(fault->trace, "never") != 0;
}

/* The candidate that is best of those not looked at closely; NULL: none. */
static candidate *next_close(candidate list[], size_t count)
{
    candidate *best = NULL;
    for (size_t i = 0; i < count; i++) {
        if (!list[i].close && (best == NULL || list[i].log_evidence > best->log_evidence)) {
            best = &list[i];
        }
    }
    return best;
}

static void take_fit(const candidate *one, double healthy, ovp_diagnosis_fit *fit)
{
    const double span = one->fault->severe - one->fault->mild;
    *fit = (ovp_diagnosis_fit){.fault = one->fault,
                               .by_output = one->by_output,
                               .log_ratio = one->log_evidence - healthy,
                               .amount = NAN,
                               .amount_U = NAN};
    if (fabs(fit->log_ratio) > 1e-3 && strcmp(one->fault->severity_unit, "none") != 0 &&
        strcmp(one->fault->severity_unit, "type") != 0) {
        fit->amount = one->fault->mild + one->mean * span;
        fit->amount_U = 2 * one->deviation * fabs(span);
    }
}

/* All of them roughly, the best closely. */
static void try_all(work *at, double healthy, double *least_loss, ovp_diagnosis_synthesis *result)
{
    const diagnosis_fit_log *of_healthy = &at->healthy_log;
    candidate list[OVP_DIAGNOSIS_CAUSES];
    size_t count = 0;
    at->healthy_log = at->log;
    for (size_t f = 0; f < ovp_diagnosis_fault_count() && count < OVP_DIAGNOSIS_CAUSES; f++) {
        list[count] = (candidate){.fault = ovp_diagnosis_fault_at(f)};
        count += tried(list[count].fault) && fit_fault(at, of_healthy, 0, &list[count]) ? 1 : 0;
    }
    for (int i = 0; i < CLOSE; i++) {
        candidate *one = next_close(list, count);
        if (one != NULL) {
            one->close = true;
            (void)fit_fault(at, of_healthy, CLOSE_ROUNDS, one);
        }
    }
    for (size_t i = 0; i < count; i++) {
        *least_loss = fmin(*least_loss, list[i].loss);
        take_fit(&list[i], healthy, &result->fits[result->fit_count++]);
    }
}

void ovp_diagnosis_synthesise(const ovp_oven *oven, const ovp_thermal_parameters *model_of_oven,
                              double ambient_C, const ovp_diagnosis_run *run,
                              const ovp_diagnosis_run *baseline, void *memory,
                              ovp_diagnosis_synthesis *result)
{
    work *at = memory;
    diagnosis_fit_score score = {0};
    *result = (ovp_diagnosis_synthesis){.reason = diagnosis_fit_silent(run), .off_C = NAN};
    if (result->reason[0] != '\0') {
        return;
    }
    at->oven = oven;
    at->healthy = *model_of_oven;
    at->told_room = !isnan(ambient_C);
    at->room_C = at->told_room ? ambient_C : diagnosis_figure(DIAGNOSIS_fit_room_C);
    at->room_sd_C = diagnosis_figure(at->told_room ? DIAGNOSIS_fit_ambient_U_C : DIAGNOSIS_fit_room_U_C);
    memset(at->centre, 0, sizeof(at->centre));
    const double left = learn(at, baseline);
    diagnosis_fit_thin(run, left < 1 ? diagnosis_figure(DIAGNOSIS_fit_baseline_error) : 1, &at->log);
    set_spread(at, left, run->input->has[OVP_TRACE_SUPPLY]);
    if (at->log.count < LEAST_POINTS) {
        result->reason = "too few readings";
        return;
    }
    const double healthy = healthy_fit(at, &score);
    if (isnan(healthy)) {
        result->reason = "the model gives no display";
        return;
    }
    result->off_C = root_mean_square(at, &score);
    double least_loss = score.loss;
    try_all(at, healthy, &least_loss, result);
    result->speaks = least_loss <= diagnosis_figure(DIAGNOSIS_fit_adequate);
    result->reason = result->speaks ? "" : "no fault on the list explains the whole run";
}
