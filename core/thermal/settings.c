/* Controller settings from a process: half rule and SIMC (S. Skogestad, Simple analytic rules for model
   reduction and PID controller tuning, Journal of Process Control 13, 2003). */
#include "thermal/thermal_internal.h"

#include <math.h>

void ovp_thermal_half_rule(double gain, double dead_time_s, const double lags_s[], size_t count, size_t order,
                           ovp_thermal_process *process)
{
    const size_t kept = order < OVP_THERMAL_LAGS ? order : OVP_THERMAL_LAGS;

    *process = (ovp_thermal_process){.gain = gain, .dead_time_s = dead_time_s};
    for (size_t i = 0; i < count; ++i) {
        if (i < kept) {
            process->time_constants_s[i] = lags_s[i];
        } else if (i == kept && kept > 0) {
            process->time_constants_s[kept - 1] += 0.5 * lags_s[i];
            process->dead_time_s += 0.5 * lags_s[i];
        } else {
            process->dead_time_s += lags_s[i];
        }
    }
}

/* A zero against the lag that is nearest above it, else nearest below. */
size_t ovp_thermal_drop_zero(double zero_s, double dead_time_s, double lags_s[], size_t count, double *gain)
{
    size_t at = count;

    for (size_t i = 0; i < count; ++i) {
        if (at == count || (lags_s[i] >= zero_s && (lags_s[at] < zero_s || lags_s[i] < lags_s[at]))) {
            at = i;
        }
    }
    if (at == count || !(zero_s > 0)) {
        return count;
    }
    const double lag_s = lags_s[at];
    if (zero_s >= lag_s) {
        *gain *= lag_s >= dead_time_s ? zero_s / lag_s : zero_s >= dead_time_s ? zero_s / dead_time_s : 1;
    } else if (zero_s >= 5 * dead_time_s) {
        *gain *= zero_s / lag_s;
    } else {
        const double kept_s = fmin(lag_s, 5 * dead_time_s);
        *gain *= kept_s / lag_s;
        if (kept_s > zero_s) {
            lags_s[at] = kept_s - zero_s;
            return count;
        }
    }
    for (size_t i = at; i + 1 < count; ++i) {
        lags_s[i] = lags_s[i + 1];
    }
    return count - 1;
}

void ovp_thermal_simc(const ovp_thermal_process *process, double closed_loop_s,
                      ovp_thermal_settings *settings)
{
    const double wanted_s = isnan(closed_loop_s) ? process->dead_time_s : closed_loop_s;
    const double pace_s = wanted_s + process->dead_time_s;

    settings->gain_per_C = process->time_constants_s[0] / (process->gain * pace_s);
    settings->integral_s = fmin(process->time_constants_s[0], 4 * pace_s);
    settings->derivative_s = process->time_constants_s[1];
}
