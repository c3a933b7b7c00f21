/* What a heat-up may take and still be fine: the first firing, and what the line does to it. */
#include "thermal/thermal_internal.h"

#include <math.h>

static const double longest_s = 12 * 3600.0;

/* Time to a mark by the model at a share of the plate's volts; NAN when it cannot be reckoned. */
static double model_time(const ovp_oven *oven, double to_C, double supply_V)
{
    ovp_thermal_conditions conditions;
    ovp_thermal_parameters parameters;
    double time_s = NAN;
    ovp_thermal_conditions_init(&conditions);
    conditions.supply_V = supply_V;
    if (ovp_thermal_from_oven(oven, &conditions, &parameters, NULL) == OVP_OK)
        ovp_thermal_heat_up(&parameters, &to_C, 1, longest_s, &time_s);
    return time_s;
}

/* As a person says it: whole minutes, half ones below ten. */
static double said(double time_s)
{
    const double step_s = time_s < 600 ? 30 : 60;
    return round(time_s / step_s) * step_s;
}

ovp_status ovp_thermal_fair_time(const ovp_oven *oven, double to_C, double first_s, double first_V,
                                 double now_V, ovp_thermal_fair *fair, ovp_error *error)
{
    const double volts_V = oven->supply.volts_V, line = thermal_figure("line_share");
    const double spread = thermal_figure("same_oven_share");
    const double plate_s = model_time(oven, to_C, volts_V);
    bool volts_known = !isnan(first_V) && !isnan(now_V);
    ovp_thermal_fair made = {.to_C = to_C, .basis = OVP_THERMAL_FAIR_MODEL};
    if (isnan(first_s) && isnan(plate_s))
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "neither a first firing nor the oven's model gives the time to this mark");
    if (isnan(first_s)) {
        const double own = thermal_figure("time_uncertainty");
        made.low_s = said(model_time(oven, to_C, volts_V * (1 + line)) * (1 - own));
        made.high_s = said(plate_s * (1 + own));
        for (size_t i = 0; i < oven->heat_up_count; i++)
            if (fabs(oven->heat_up[i].to_C - to_C) < 0.5)
                made.high_s = oven->heat_up[i].within_s;
        *fair = made;
        return OVP_OK;
    }
    made.basis = volts_known      ? OVP_THERMAL_FAIR_VOLTS
                 : isnan(plate_s) ? OVP_THERMAL_FAIR_SPREAD
                                  : OVP_THERMAL_FAIR_LINE;
    double centre_s = first_s, faster = 1 - spread, slower = 1 + spread;
    if (volts_known && !isnan(plate_s)) {
        centre_s *= model_time(oven, to_C, now_V) / model_time(oven, to_C, first_V);
    } else if (!isnan(plate_s)) {
        faster = fmin(faster, model_time(oven, to_C, volts_V * (1 + line)) / plate_s);
        slower = fmax(slower, model_time(oven, to_C, volts_V * (1 - line)) / plate_s);
    }
    if (!isfinite(centre_s * faster * slower))
        return ovp_error_set(error, OVP_ERROR_DATA, "at these volts the model does not reach this mark");
    made.low_s = said(centre_s * faster);
    made.high_s = said(centre_s * slower);
    *fair = made;
    return OVP_OK;
}
