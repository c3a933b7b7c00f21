/* On-off control swings: the exact relation of a process of one lag and dead time, and simple rules by hand.
 */
#include "ovenproof/thermal.h"

#include "thermal/thermal_internal.h"

#include <math.h>

static const double euler = 2.718281828459045;

/* Times to 28.3 and 63.2 %: 1 - exp(-1/3) and 1 - exp(-1), two thirds of a lag apart. */
void ovp_thermal_two_point(double t28_s, double t63_s, double *time_constant_s, double *dead_time_s)
{
    *time_constant_s = 1.5 * (t63_s - t28_s);
    *dead_time_s = t63_s - *time_constant_s;
}

void ovp_thermal_area(double gain, double area0, double area1, double *time_constant_s, double *dead_time_s)
{
    *time_constant_s = euler * area1 / gain;
    *dead_time_s = area0 / gain - *time_constant_s;
}

/* Within the dead time after a switching the temperature goes on towards where it was going. */
void ovp_thermal_cycle_of(const ovp_thermal_process *process, ovp_thermal_cycle *cycle)
{
    const double lag_s = process->time_constants_s[0];
    const double gone = -expm1(-process->dead_time_s / lag_s);
    const double top_C = process->gain * cycle->on, bottom_C = -process->gain * cycle->off;

    cycle->highest_C = cycle->upper_C + (top_C - cycle->upper_C) * gone;
    cycle->lowest_C = cycle->lower_C + (bottom_C - cycle->lower_C) * gone;
    cycle->on_s = process->dead_time_s + lag_s * log((top_C - cycle->lowest_C) / (top_C - cycle->upper_C));
    cycle->off_s =
        process->dead_time_s + lag_s * log((cycle->highest_C - bottom_C) / (cycle->lower_C - bottom_C));
}

ovp_status ovp_thermal_process_of_cycle(const ovp_thermal_cycle *cycle, double gain,
                                        ovp_thermal_process *process, ovp_error *error)
{
    const double between_C = cycle->upper_C - cycle->lower_C;
    const double beyond_C = cycle->highest_C - cycle->lowest_C - between_C;
    const double gone = beyond_C / (gain * (cycle->on + cycle->off) - between_C);
    const double top_C = gain * cycle->on, bottom_C = -gain * cycle->off;

    if (!(cycle->on > 0 && cycle->off > 0 && cycle->on_s > 0 && cycle->off_s > 0)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "a cycle needs heat on and heat off, each for some time");
    }
    if (!(gone > 0 && gone < 1)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "the swing is no smaller than full heat would give");
    }
    if (!(top_C > cycle->upper_C && bottom_C < cycle->lower_C)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "full heat would not reach where heat is switched off");
    }
    /* Each is dead time and lag as above with the dead time written in lags. */
    const double lowest_C = cycle->lower_C + (bottom_C - cycle->lower_C) * gone;
    const double highest_C = cycle->upper_C + (top_C - cycle->upper_C) * gone;
    const double lags = -2 * log1p(-gone) + log((top_C - lowest_C) / (top_C - cycle->upper_C)) +
                        log((highest_C - bottom_C) / (cycle->lower_C - bottom_C));
    const double lag_s = (cycle->on_s + cycle->off_s) / lags;
    *process = (ovp_thermal_process){
        .gain = gain, .dead_time_s = -lag_s * log1p(-gone), .time_constants_s = {lag_s}};
    return OVP_OK;
}

/* ---- where proportional control just keeps swinging
 * --------------------------------------------------------- */

static double phase_lag(double dead_time_s, const double lags_s[], size_t count, double per_s)
{
    double lag = dead_time_s * per_s;

    for (size_t i = 0; i < count; ++i) {
        lag += atan(lags_s[i] * per_s);
    }
    return lag;
}

void ovp_thermal_ultimate(double gain, double dead_time_s, const double lags_s[], size_t count,
                          double *gain_per_C, double *period_s)
{
    static const double half_turn = 3.141592653589793;
    double total_s = dead_time_s, attenuation = 1;

    for (size_t i = 0; i < count; ++i) {
        total_s += lags_s[i];
    }
    *gain_per_C = INFINITY;
    *period_s = 0;
    double low = 0, high = total_s > 0 ? 1 / total_s : 0;
    for (int i = 0; i < 60 && phase_lag(dead_time_s, lags_s, count, high) < half_turn; ++i) {
        low = high;
        high *= 2;
    }
    if (phase_lag(dead_time_s, lags_s, count, high) < half_turn) {
        return;
    }
    for (int i = 0; i < 100; ++i) {
        const double middle = 0.5 * (low + high);
        *(phase_lag(dead_time_s, lags_s, count, middle) < half_turn ? &low : &high) = middle;
    }
    for (size_t i = 0; i < count; ++i) {
        attenuation *= sqrt(1 + lags_s[i] * high * lags_s[i] * high);
    }
    *gain_per_C = attenuation / gain;
    *period_s = 2 * half_turn / high;
}

void ovp_thermal_ziegler_nichols(double ultimate_per_C, double period_s, bool derivative,
                                 ovp_thermal_settings *settings)
{
    settings->gain_per_C = thermal_figure(derivative ? "zn_pid_gain" : "zn_pi_gain") * ultimate_per_C;
    settings->integral_s = thermal_figure(derivative ? "zn_pid_integral" : "zn_pi_integral") * period_s;
    settings->derivative_s = derivative ? thermal_figure("zn_pid_derivative") * period_s : 0;
}
