/* A run as it is: an oven is no lag over a thousand degrees, so what a controller needs is taken where it
 * shows. */
#include "ovenproof/thermal.h"

#include "thermal/thermal_internal.h"

#include <math.h>

/* The first stretch of full heat: index past its last block; 0 when there is none. */
static size_t full_heat_end(const ovp_thermal_record *record)
{
    const double full = thermal_figure("full_drive");
    size_t end = 0;

    while (end < record->count && record->blocks[end].drive >= full) {
        ++end;
    }
    return end;
}

/* Slope of the readings above a temperature, before a block, by least squares; NAN for fewer than 4. */
static double slope_above(const ovp_thermal_record *record, size_t end, double above_C)
{
    double n = 0, t = 0, y = 0, tt = 0, ty = 0;

    for (size_t i = 0; i < end; ++i) {
        const ovp_thermal_block *block = &record->blocks[i];
        if (block->readings > 0 && block->temperature_C >= above_C) {
            const double since_s = block->time_s - record->blocks[0].from_s;
            ++n;
            t += since_s;
            y += block->temperature_C;
            tt += since_s * since_s;
            ty += since_s * block->temperature_C;
        }
    }
    return n < 4 ? (double)NAN : (n * ty - t * y) / (n * tt - t * t);
}

/* The record up to the first reading above a temperature: the same blocks, fewer of them. */
static ovp_thermal_record part_below(const ovp_thermal_record *record, size_t end, double below_C)
{
    ovp_thermal_record part = *record;
    size_t count = 0;

    while (count < end && !(record->blocks[count].temperature_C > below_C)) {
        ++count;
    }
    part.count = count;
    part.last_s = count > 0 ? record->blocks[count - 1].from_s : record->blocks[0].from_s;
    return part;
}

static void range_of(const ovp_thermal_record *record, size_t end, double *low_C, double *high_C)
{
    *low_C = INFINITY;
    *high_C = -INFINITY;
    for (size_t i = 0; i < end; ++i) {
        if (record->blocks[i].readings > 0) {
            *low_C = fmin(*low_C, record->blocks[i].temperature_C);
            *high_C = fmax(*high_C, record->blocks[i].temperature_C);
        }
    }
}

/* Dead time and lags from the lower half of the climb, where they show; slope from its upper end. */
static bool take_climb(ovp_thermal_record *record, ovp_thermal_working *working)
{
    const size_t end = full_heat_end(record);
    double low_C, high_C;
    ovp_thermal_fit fit;

    range_of(record, end, &low_C, &high_C);
    if (!(high_C - low_C > thermal_figure("least_climb_C"))) {
        return false;
    }
    const double slope = slope_above(record, end, high_C - 0.1 * (high_C - low_C));
    const double below_C = 0.5 * (low_C + high_C);
    ovp_thermal_record part = part_below(record, end, below_C);
    if (!(slope > 0) || ovp_thermal_identify_best(&part, OVP_THERMAL_COLD, &fit, NULL) != OVP_OK) {
        return false;
    }
    fit.wet_s = working->fit.wet_s; /* seen over the whole run */
    working->fit = fit;
    working->part_to_C = below_C;
    working->slope_C_per_s = slope;
    working->at_C = high_C;
    working->process = fit.process;
    working->process.gain = slope * fit.process.time_constants_s[0];
    return true;
}

ovp_status ovp_thermal_identify_working(ovp_thermal_record *record, ovp_thermal_history history,
                                        ovp_thermal_working *working, ovp_error *error)
{
    double low_C, high_C;
    ovp_thermal_working made = {.part_to_C = NAN, .slope_C_per_s = NAN, .at_C = NAN};

    const ovp_status status = ovp_thermal_identify_best(record, history, &made.fit, error);
    range_of(record, record->count, &low_C, &high_C);
    const bool near = status == OVP_OK && made.fit.rms_C < thermal_figure("linear_share") * (high_C - low_C);
    const bool fits = near || (status == OVP_OK && made.fit.adequate);
    if (!fits && history == OVP_THERMAL_COLD && take_climb(record, &made)) {
        *working = made;
        return OVP_OK;
    }
    if (status != OVP_OK) {
        return status;
    }
    if (made.fit.rms_C > thermal_figure("misfit_share") * (high_C - low_C)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "the temperature does not follow the output");
    }
    made.process = made.fit.process;
    *working = made;
    return OVP_OK;
}

void ovp_thermal_record_assume_full(ovp_thermal_record *record)
{
    double low_C, high_C;
    size_t count = 0;

    range_of(record, record->count, &low_C, &high_C);
    const double knee_C = high_C - thermal_figure("knee_share") * (high_C - low_C);
    while (count < record->count && !(record->blocks[count].temperature_C > knee_C)) {
        record->blocks[count++].drive = 1;
    }
    if (count < 2) { /* it begins at its highest: no heat-up, and the fit will say so */
        return;
    }
    record->count = count;
    record->last_s = record->blocks[count - 1].from_s;
}

double ovp_thermal_cold_most_C(void)
{
    return thermal_figure("cold_most_C");
}

double ovp_thermal_usual_ambient_C(void)
{
    return thermal_figure("ambient_C");
}
