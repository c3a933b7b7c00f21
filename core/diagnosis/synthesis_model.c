/* The model of one oven with one fault, driven by what a log tells. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>

enum {
    NUISANCES = DIAGNOSIS_FIT_NUISANCES,
};

static const double events_s = 600; /* what begins later is an event, not a shape: findings tell it */
static const double start_step_s = 4;

static void scale_mass(ovp_thermal_lining *lining, double factor)
{
    for (size_t i = 0; i < lining->count; i++) {
        lining->J_per_m3K[i] *= factor;
    }
}

static void move_nuisance(ovp_thermal_parameters *parameters, size_t which, double amount)
{
    const double factor = exp(fmin(fmax(amount, -2), 2));
    switch (which) {
    case 0:
        parameters->resistance_factor /= factor;
        break;
    case 1:
        parameters->conductivity_factor *= factor;
        break;
    case 2:
        scale_mass(&parameters->wall, factor);
        scale_mass(&parameters->floor, factor);
        break;
    case 3:
        parameters->chamber_J_per_K *= factor;
        break;
    case 4:
        parameters->element_J_per_K *= factor;
        break;
    case 5:
        parameters->direct_share =
            1 / (1 + (1 / parameters->direct_share - 1) / factor); /* as a logit: stays within 0..1 */
        break;
    case 6:
        parameters->sensor_element_share = fmax(parameters->sensor_element_share + amount, 0);
        break;
    default:
        parameters->sensor_lag_s *= factor;
        parameters->sensor_dead_s *= factor;
        break;
    }
}

static void model(diagnosis_fit_work *at, const ovp_thermal_parameters *parameters,
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

/* A cold oven is no colder than its room, whatever was told. */
static double surroundings(const diagnosis_fit_work *at, double start_C)
{
    return at->told_room ? fmin(at->room_C, start_C + at->room_sd_C) : start_C;
}

/* The display began where the log began: the room is what that makes it. Returns the log of how likely. */
static double begin_at(diagnosis_fit_work *at, ovp_thermal_parameters *parameters,
                       const ovp_thermal_disturbance *disturbance)
{
    const double start_C = at->log.start_C;
    double first_C;
    parameters->start_C = start_C;
    parameters->ambient_C = surroundings(at, start_C);
    ovp_thermal_driven(parameters, disturbance, at->log.drive, 1, start_step_s, &first_C);
    if (isnan(first_C)) {
        return NAN;
    }
    const double room_C = start_C - (first_C - start_C);
    parameters->start_C = room_C;
    parameters->ambient_C = surroundings(at, room_C);
    const double off = (room_C - at->room_C) / at->room_sd_C, usual = (start_C - at->room_C) / at->room_sd_C;
    return -0.5 * (off * off - usual * usual);
}

static bool make(const diagnosis_fit_work *at, const ovp_diagnosis_fault *fault, double severity,
                 ovp_thermal_parameters *parameters, ovp_thermal_disturbance *disturbance)
{
    *parameters = at->healthy;
    ovp_thermal_disturbance_init(at->oven, disturbance);
    for (size_t k = 0; k < NUISANCES; k++) {
        move_nuisance(parameters, k, at->centre[k] + at->spread[k] * at->log.from[k]);
    }
    if (fault != NULL &&
        ovp_diagnosis_apply_fault(at->oven, fault->id, severity, parameters, disturbance, NULL) != OVP_OK) {
        return false;
    }
    return average_out(parameters, disturbance);
}

double diagnosis_fit_model(diagnosis_fit_work *at, const ovp_diagnosis_fault *fault, double severity,
                           bool *by_output, double modelled_C[])
{
    ovp_thermal_parameters parameters;
    ovp_thermal_disturbance disturbance;
    if (!make(at, fault, severity, &parameters, &disturbance)) {
        return NAN;
    }
    if (by_output != NULL) {
        *by_output = parameters.output_cap < 1;
    }
    const double start = begin_at(at, &parameters, &disturbance);
    if (!isnan(start)) {
        model(at, &parameters, &disturbance, modelled_C);
    }
    return start;
}

void diagnosis_fit_slopes(diagnosis_fit_work *at, const ovp_diagnosis_fault *fault, double severity,
                          const double modelled_C[])
{
    static const double step = 0.5;
    for (size_t k = 0; k < NUISANCES; k++) {
        const double here = at->log.from[k], by = here > 0 ? -step : step; /* towards what is usual */
        at->log.from[k] = here + by;
        const double start = diagnosis_fit_model(at, fault, severity, NULL, at->moved_C);
        at->log.from[k] = here;
        for (size_t i = 0; i < at->log.count; i++) {
            const double slope = (at->moved_C[i] - modelled_C[i]) / by;
            at->log.slope[k][i] = isnan(slope) || isnan(start) ? 0 : slope;
        }
    }
}
