/* What to expect of an oven, in one struct. */
#include "ovenproof/electrical.h"
#include "thermal/thermal_internal.h"

#include <math.h>

enum {
    TRIES = 8,
};

static const double longest_s = 12 * 3600.0;
static const double J_per_kWh = 3.6e6;

/* Marks where a description has none: 1000, 1500, 1800 and 2000 degF. */
static const double usual_marks_C[] = {(1000 - 32) / 1.8, (1500 - 32) / 1.8, (1800 - 32) / 1.8,
                                       (2000 - 32) / 1.8};

static void take_marks(const ovp_oven *oven, ovp_thermal_outlook *outlook)
{
    outlook->limits = oven->heat_up_count > 0;
    for (size_t i = 0; i < oven->heat_up_count; ++i) {
        outlook->marks[outlook->mark_count].to_C = oven->heat_up[i].to_C;
        outlook->marks[outlook->mark_count++].within_s = oven->heat_up[i].within_s;
    }
    if (outlook->limits) {
        return;
    }
    for (size_t i = 0; i < sizeof usual_marks_C / sizeof usual_marks_C[0]; ++i) {
        if (!(usual_marks_C[i] > oven->chamber.limit_C)) {
            outlook->marks[outlook->mark_count].to_C = usual_marks_C[i];
            outlook->marks[outlook->mark_count++].within_s = NAN;
        }
    }
}

static void heat_up(const ovp_thermal_parameters *parameters, double price_per_kWh,
                    ovp_thermal_outlook *outlook)
{
    ovp_thermal_parameters half = *parameters;
    double to_C[OVP_OVEN_HEAT_UP], half_s[OVP_OVEN_HEAT_UP];
    ovp_thermal_mark marks[OVP_OVEN_HEAT_UP];

    half.power_fraction *= 0.5;
    for (size_t i = 0; i < outlook->mark_count; ++i) {
        to_C[i] = outlook->marks[i].to_C;
    }
    ovp_thermal_marks(parameters, to_C, outlook->mark_count, longest_s, marks);
    ovp_thermal_heat_up(&half, to_C, outlook->mark_count, longest_s, half_s);
    for (size_t i = 0; i < outlook->mark_count; ++i) {
        outlook->marks[i].time_s = marks[i].time_s;
        outlook->marks[i].half_power_s = half_s[i];
        outlook->marks[i].energy_J = marks[i].energy_J;
        outlook->marks[i].cost = marks[i].energy_J / J_per_kWh * price_per_kWh;
    }
}

/* Supply at which a mark would just meet its limit: t ~ V^-n, with n of the last two tries. */
static double least_supply(const ovp_thermal_parameters *parameters, const ovp_thermal_outlook_mark *mark)
{
    ovp_thermal_parameters at = *parameters;
    double exponent = 2.8, time_s = mark->time_s;

    for (int i = 0; i < TRIES && isfinite(time_s) && time_s > 0; ++i) {
        const double before_V = at.supply_V, before_s = time_s;
        at.supply_V *= exp(log(time_s / mark->within_s) / exponent);
        ovp_thermal_heat_up(&at, &mark->to_C, 1, longest_s, &time_s);
        const double step = log(at.supply_V / before_V);
        if (fabs(step) < 1e-6) {
            break;
        }
        const double own = -log(time_s / before_s) / step;
        exponent = own > 1 && own < 20 ? own : exponent;
    }
    return fabs(time_s / mark->within_s - 1) < 0.01 ? at.supply_V : (double)NAN;
}

static void limits(const ovp_thermal_parameters *parameters, ovp_thermal_outlook *outlook)
{
    for (size_t i = 0; i < outlook->mark_count; ++i) {
        ovp_thermal_outlook_mark *mark = &outlook->marks[i];
        mark->least_V = isnan(mark->within_s) ? (double)NAN : least_supply(parameters, mark);
        mark->hold_W =
            mark->to_C <= outlook->ceiling_C ? ovp_thermal_hold_power(parameters, mark->to_C) : (double)NAN;
    }
}

static void hold(const ovp_thermal_parameters *parameters, ovp_thermal_outlook *outlook)
{
    outlook->ceiling_C = ovp_thermal_ceiling(parameters);
    outlook->hold_C = outlook->hold_W = outlook->hold_share = NAN;
    for (size_t i = 0; i < outlook->mark_count; ++i) {
        if (outlook->marks[i].to_C <= outlook->ceiling_C) {
            outlook->hold_C = outlook->marks[i].to_C;
        }
    }
    if (!isnan(outlook->hold_C)) {
        outlook->hold_W = ovp_thermal_hold_power(parameters, outlook->hold_C);
        outlook->hold_share =
            outlook->hold_W / ovp_thermal_full_power(parameters, outlook->hold_C, NULL, NULL);
    }
}

ovp_status ovp_thermal_outlook_of(const ovp_oven *oven, const ovp_thermal_conditions *conditions,
                                  double price_per_kWh, ovp_thermal_outlook *outlook, ovp_error *error)
{
    ovp_thermal_parameters parameters;
    ovp_thermal_outlook made = {0};
    ovp_electrical_load load;

    ovp_status status = ovp_thermal_from_oven(oven, conditions, &parameters, error);
    if (status == OVP_OK) {
        status = ovp_electrical_load_of(oven, parameters.supply_V, &load, error);
    }
    if (status != OVP_OK) {
        return status;
    }
    made.supply_V = parameters.supply_V;
    made.ambient_C = parameters.ambient_C;
    made.full_W = load.full_W;
    made.full_A = load.full_A;
    made.controls_A = oven->controls_A;
    made.time_uncertainty = thermal_figure("time_uncertainty");
    take_marks(oven, &made);
    heat_up(&parameters, price_per_kWh, &made);
    hold(&parameters, &made);
    limits(&parameters, &made);
    *outlook = made;
    return OVP_OK;
}
