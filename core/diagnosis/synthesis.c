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
    BASELINE_ROUNDS = 2,
};

static const double longest_log_s = 4 * 3600; /* beyond it an oven is soaked: nothing new */
static const double least_step_s = 4;
static const double events_s = 600; /* what begins later is an event, not a shape: findings tell it */

typedef struct work {
    diagnosis_fit_log log;
    const ovp_oven *oven;
    ovp_thermal_parameters healthy;
    double room_C, room_sd_C;
    bool told_room;
    double spread[NUISANCES];
    double all_C[DIAGNOSIS_FIT_DRIVE];
    double curve_C[GRID][POINTS], moved_C[POINTS], healthy_C[POINTS];
} work;

size_t ovp_diagnosis_synthesis_size(void)
{
    return sizeof(work);
}

/* ---- the log ---------------------------------------------------------------------------------------- */

static bool usable(const ovp_trace_sample *point)
{
    return point->output_percent >= 0 && point->output_percent <= 100;
}

/* From here on nobody knows what was called for: a person stopped noting it, or a door stood open. */
static bool output_lost(const ovp_diagnosis_run *run, size_t from)
{
    enum {
        BLANK = 3 /* fewer are gaps in a column */
    };
    size_t blank = 0;
    while (from + blank < run->count && blank < BLANK && !usable(&run->points[from + blank])) {
        blank++;
    }
    return blank == BLANK || (blank > 0 && from + blank == run->count);
}

/* Points to drive by: the output and volts between two of them are the mean of both. */
static void thin(const ovp_diagnosis_run *run, diagnosis_fit_log *log)
{
    const size_t stride = (run->count + DIAGNOSIS_FIT_DRIVE - 1) / DIAGNOSIS_FIT_DRIVE;
    const bool volts = run->input->has[OVP_TRACE_SUPPLY];
    log->drive_count = 0;
    double on_V = NAN;
    bool known = false;
    /* The first sample alone, or the model would begin a stride late; then `stride` of them up to each point.
     */
    for (size_t i = 0; i < run->count && log->drive_count < DIAGNOSIS_FIT_DRIVE; i += stride) {
        const size_t from = i > 0 ? i - stride + 1 : 0;
        double output = 0;
        known = known || usable(&run->points[i]);
        if (known && output_lost(run, i)) {
            break;
        }
        for (size_t k = from; k <= i; k++) {
            output += usable(&run->points[k]) ? run->points[k].output_percent / 100 : 0;
        }
        const ovp_trace_sample *last = &run->points[i];
        if (volts && last->supply_V > 0) {
            on_V = last->supply_V;
        }
        log->drive[log->drive_count++] =
            (ovp_thermal_drive){last->time_s, output / (double)(i - from + 1), on_V};
        if (last->time_s - run->points[0].time_s > longest_log_s) {
            break;
        }
    }
    log->count = 0;
    const size_t every = (log->drive_count + POINTS - 1) / POINTS;
    for (size_t i = every; i < log->drive_count && every > 0; i += every) {
        const double shown_C = run->points[i * stride].temperature_C;
        if (!isnan(shown_C)) {
            log->at[log->count] = i;
            log->shown_C[log->count++] = shown_C;
        }
    }
}

static void weigh_errors(const ovp_diagnosis_run *run, double left, diagnosis_fit_log *log)
{
    log->start_C = run->result->start_C;
    log->error_s = diagnosis_figure(DIAGNOSIS_fit_error_s);
    log->scatter_C = 0.5; /* a display's last place and its noise: judgement */
    log->longest_s = least_step_s;
    if (log->drive_count > 1) {
        const double span_s = log->drive[log->drive_count - 1].time_s - log->drive[0].time_s;
        log->longest_s = fmax(least_step_s, span_s / 1000);
    }
    for (size_t i = 0; i < log->count; i++) {
        log->error_C[i] =
            left * (diagnosis_figure(DIAGNOSIS_fit_error_C) +
                    diagnosis_figure(DIAGNOSIS_fit_error_share) * fabs(log->shown_C[i] - log->start_C));
    }
}

/* ---- the model -------------------------------------------------------------------------------------- */

static void scale_mass(ovp_thermal_lining *lining, double factor)
{
    for (size_t i = 0; i < lining->count; i++) {
        lining->J_per_m3K[i] *= factor;
    }
}

static void move_nuisance(ovp_thermal_parameters *parameters, size_t which, double share)
{
    const double factor = fmax(1 + share, 0.2);
    switch (which) {
    case 0:
        parameters->resistance_factor /= factor;
        break;
    case 1:
        parameters->conductivity_factor *= factor;
        break;
    case 2:
        parameters->element_J_per_K *= factor;
        parameters->chamber_J_per_K *= factor;
        scale_mass(&parameters->wall, factor);
        scale_mass(&parameters->floor, factor);
        break;
    default:
        parameters->sensor_lag_s *= factor;
        parameters->sensor_dead_s *= factor;
        break;
    }
}

static void model(work *at, const ovp_thermal_parameters *parameters,
                  const ovp_thermal_disturbance *disturbance, double modelled_C[])
{
    const diagnosis_fit_log *log = &at->log;
    ovp_thermal_driven(parameters, disturbance, log->drive, log->drive_count, log->longest_s, at->all_C);
    for (size_t i = 0; i < log->count; i++) {
        modelled_C[i] = at->all_C[log->at[i]];
    }
}

/* What chance does, on the average; false when the fault is an event, which findings tell. */
static bool average_out(ovp_thermal_parameters *parameters, const ovp_thermal_disturbance *disturbance)
{
    const double times_s[] = {disturbance->open_from_s, disturbance->frozen_from_s, disturbance->idle_from_s,
                              disturbance->no_current_from_s, disturbance->dead_from_s};
    for (size_t i = 0; i < sizeof(times_s) / sizeof(times_s[0]); i++) {
        if (isfinite(times_s[i])) {
            return false;
        }
    }
    if ((parameters->leak_fraction >= 1 && disturbance->leak_from_s > 0) ||
        (disturbance->power_dropouts_per_h > 0 && disturbance->dropouts_from_s > events_s)) {
        return false;
    }
    parameters->power_fraction *=
        1 - fmin(0.9, disturbance->power_dropouts_per_h * disturbance->dropout_s / 3600);
    parameters->supply_V *= 1 - 0.5 * disturbance->sag;
    return true;
}

/* The display began where the log began: the room is what that makes it. Returns the log of how likely. */
static double begin_at(work *at, ovp_thermal_parameters *parameters,
                       const ovp_thermal_disturbance *disturbance)
{
    const double start_C = at->log.start_C;
    double first_C;
    parameters->start_C = start_C;
    parameters->ambient_C = at->told_room ? at->room_C : start_C;
    ovp_thermal_driven(parameters, disturbance, at->log.drive, 1, least_step_s, &first_C);
    if (isnan(first_C)) {
        return NAN;
    }
    const double room_C = start_C - (first_C - start_C);
    parameters->start_C = room_C;
    parameters->ambient_C = at->told_room ? at->room_C : room_C;
    const double off = (room_C - at->room_C) / at->room_sd_C, usual = (start_C - at->room_C) / at->room_sd_C;
    return -0.5 * (off * off - usual * usual);
}

/* Log of how likely the start is with this fault, and the modelled display; NAN: not to be modelled. */
static double model_fault(work *at, const ovp_diagnosis_fault *fault, double severity,
                          ovp_thermal_parameters *parameters, ovp_thermal_disturbance *disturbance,
                          double modelled_C[])
{
    *parameters = at->healthy;
    ovp_thermal_disturbance_init(at->oven, disturbance);
    if (fault != NULL &&
        ovp_diagnosis_apply_fault(at->oven, fault->id, severity, parameters, disturbance, NULL) != OVP_OK) {
        return NAN;
    }
    if (!average_out(parameters, disturbance)) {
        return NAN;
    }
    const double start = begin_at(at, parameters, disturbance);
    if (!isnan(start)) {
        model(at, parameters, disturbance, modelled_C);
    }
    return start;
}

static void find_slopes(work *at, const ovp_thermal_parameters *parameters,
                        const ovp_thermal_disturbance *disturbance, const double modelled_C[])
{
    for (size_t k = 0; k < NUISANCES; k++) {
        ovp_thermal_parameters moved = *parameters;
        move_nuisance(&moved, k, at->spread[k]);
        model(at, &moved, disturbance, at->moved_C);
        for (size_t i = 0; i < at->log.count; i++) {
            const double slope = at->moved_C[i] - modelled_C[i];
            at->log.slope[k][i] = isnan(slope) ? 0 : slope;
        }
    }
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

static bool fit_fault(work *at, const ovp_diagnosis_fault *fault, double *log_evidence, double *least_loss,
                      ovp_diagnosis_fit *fit)
{
    const severities range = severities_of(fault, at->oven);
    double start[GRID], best = -INFINITY;
    size_t likeliest = 0;
    ovp_thermal_parameters parameters;
    ovp_thermal_disturbance disturbance;
    if (range.count == 0 || range.count > GRID) {
        return false;
    }
    for (size_t i = 0; i < range.count; i++) {
        diagnosis_fit_score score;
        start[i] = model_fault(at, fault, severity_at(&range, i), &parameters, &disturbance, at->curve_C[i]);
        if (isnan(start[i])) {
            return false;
        }
        diagnosis_fit_judge(&at->log, at->curve_C[i], &score);
        if (score.log_evidence + start[i] > best) {
            best = score.log_evidence + start[i];
            likeliest = i;
        }
    }
    double again_C[POINTS], mean, deviation;
    (void)model_fault(at, fault, severity_at(&range, likeliest), &parameters, &disturbance, again_C);
    find_slopes(at, &parameters, &disturbance, again_C);
    *log_evidence = over_severities(at, &range, start, &mean, &deviation, least_loss);
    const double span = fault->severe - fault->mild;
    *fit = (ovp_diagnosis_fit){
        .fault = fault, .by_output = parameters.output_cap < 1, .amount = NAN, .amount_U = NAN};
    if (range.continuous) {
        fit->amount = fault->mild + mean * span;
        fit->amount_U = 2 * deviation * fabs(span);
    }
    return true;
}

/* ---- all of them ------------------------------------------------------------------------------------- */

/* What shows by itself and spoils the curve for all that comes after. */
static const char *const events[] = {"open",       "shorted",          "stuck",       "jumps",
                                     "no-rise",    "off-while-called", "under-range", "over-range",
                                     "wrong-unit", "reads-backwards",  "not-called",  "power-while-off"};

static bool has_event(const ovp_trace_result *result)
{
    for (size_t i = 0; i < result->finding_count; i++) {
        for (size_t k = 0; k < sizeof(events) / sizeof(events[0]); k++) {
            if (result->findings[i].notable && strcmp(result->findings[i].finding, events[k]) == 0) {
                return true;
            }
        }
    }
    return false;
}

static const char *why_silent(const ovp_diagnosis_run *run)
{
    if (!run->input->has[OVP_TRACE_OUTPUT]) {
        return "the log has no output column";
    }
    if (!run->result->cold_start || isnan(run->result->start_C)) {
        return "the run does not start cold";
    }
    if (has_event(run->result)) {
        return "an event in the run speaks for itself";
    }
    for (size_t i = 0; i < run->count; i++) {
        if (!isnan(run->points[i].output_percent) && !usable(&run->points[i])) {
            return "the output column is no percentage";
        }
    }
    return "";
}

static double healthy_fit(work *at, diagnosis_fit_score *score)
{
    ovp_thermal_parameters parameters;
    ovp_thermal_disturbance disturbance;
    const double start = model_fault(at, NULL, 0, &parameters, &disturbance, at->healthy_C);
    if (isnan(start)) {
        return NAN;
    }
    find_slopes(at, &parameters, &disturbance, at->healthy_C);
    diagnosis_fit_judge(&at->log, at->healthy_C, score);
    return score->log_evidence + start;
}

static void set_spread(work *at, bool metered)
{
    at->spread[0] = diagnosis_figure(metered ? DIAGNOSIS_fit_power_metered : DIAGNOSIS_fit_power);
    at->spread[1] = diagnosis_figure(DIAGNOSIS_fit_conductivity);
    at->spread[2] = diagnosis_figure(DIAGNOSIS_fit_capacity);
    at->spread[3] = diagnosis_figure(DIAGNOSIS_fit_lag);
}

/* The oven as its good run shows it. Returns how much of the spread is left: 1 without such a run. */
static double learn(work *at, const ovp_diagnosis_run *baseline)
{
    if (baseline == NULL || why_silent(baseline)[0] != '\0') {
        return 1;
    }
    thin(baseline, &at->log);
    weigh_errors(baseline, 1, &at->log);
    if (at->log.count < LEAST_POINTS) {
        return 1;
    }
    set_spread(at, baseline->input->has[OVP_TRACE_SUPPLY]);
    const ovp_thermal_parameters described = at->healthy;
    for (int round = 0; round < BASELINE_ROUNDS; round++) {
        diagnosis_fit_score score = {0};
        if (isnan(healthy_fit(at, &score)) || score.loss > diagnosis_figure(DIAGNOSIS_fit_adequate)) {
            at->healthy = described;
            return 1;
        }
        for (size_t k = 0; k < NUISANCES; k++) {
            move_nuisance(&at->healthy, k, at->spread[k] * score.moved[k]);
        }
    }
    return diagnosis_figure(DIAGNOSIS_fit_baseline);
}

static double root_mean_square(const work *at, const diagnosis_fit_score *score)
{
    double sum = 0;
    for (size_t i = 0; i < at->log.count; i++) {
        double left = at->log.shown_C[i] - at->healthy_C[i];
        for (size_t k = 0; k < NUISANCES; k++) {
            left -= at->log.slope[k][i] * score->moved[k];
        }
        sum += isnan(left) ? 0 : left * left;
    }
    return sqrt(sum / (double)at->log.count);
}

void ovp_diagnosis_synthesise(const ovp_oven *oven, const ovp_thermal_parameters *model_of_oven,
                              double ambient_C, const ovp_diagnosis_run *run,
                              const ovp_diagnosis_run *baseline, void *memory,
                              ovp_diagnosis_synthesis *result)
{
    work *at = memory;
    diagnosis_fit_score score = {0};
    *result = (ovp_diagnosis_synthesis){.reason = why_silent(run), .off_C = NAN};
    if (result->reason[0] != '\0') {
        return;
    }
    at->oven = oven;
    at->healthy = *model_of_oven;
    at->told_room = !isnan(ambient_C);
    at->room_C = at->told_room ? ambient_C : diagnosis_figure(DIAGNOSIS_fit_room_C);
    at->room_sd_C = diagnosis_figure(at->told_room ? DIAGNOSIS_fit_ambient_U_C : DIAGNOSIS_fit_room_U_C);
    const double left = learn(at, baseline);
    thin(run, &at->log);
    weigh_errors(run, left, &at->log);
    set_spread(at, run->input->has[OVP_TRACE_SUPPLY]);
    const bool volts = run->input->has[OVP_TRACE_SUPPLY];
    for (size_t k = 0; k < NUISANCES; k++) {
        at->spread[k] *= k == 0 && !volts ? fmax(left, diagnosis_figure(DIAGNOSIS_fit_baseline_power)) : left;
    }
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
    for (size_t f = 0; f < ovp_diagnosis_fault_count() && result->fit_count < OVP_DIAGNOSIS_CAUSES; f++) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(f);
        double evidence;
        ovp_diagnosis_fit *fit = &result->fits[result->fit_count];
        if (strcmp(fault->trace, "never") != 0 && fit_fault(at, fault, &evidence, &least_loss, fit)) {
            fit->log_ratio = evidence - healthy;
            if (fabs(fit->log_ratio) < 1e-6) { /* it moves nothing that this log shows: no severity either */
                fit->amount = fit->amount_U = NAN;
            }
            result->fit_count++;
        }
    }
    result->speaks = least_loss <= diagnosis_figure(DIAGNOSIS_fit_adequate);
    result->reason = result->speaks ? "" : "no fault on the list explains the whole run";
}
