/* watch_filter.c: what each hypothesis makes of the readings: a random walk with noise, and a slope of its
 * own. */
#include "watch_internal.h"

#include <math.h>

double watch_noise_C(const ovp_trace_watch *watch)
{
    /* Second differences of noise have six times its variance; rounding to steps is no more than half a step.
     */
    const double scatter_C = watch->noise_count > 10 ? sqrt(watch->noise_sum / watch->noise_count / 6) : 0;
    const double step_C = isnan(watch->resolution_C) ? LIMIT(resolution_C) : watch->resolution_C;
    return fmax(fmax(LIMIT(watch_noise_C), fmin(step_C, LIMIT(resolution_C)) / 2), scatter_C);
}

double watch_curve_at(const ovp_trace_watch_setting *setting, double time_s)
{
    return judge_series_at(setting->curve_s, setting->curve_C, setting->curve_count, time_s);
}

double watch_curve_time(const ovp_trace_watch_setting *setting, double temperature_C)
{
    return judge_series_passes(setting->curve_s, setting->curve_C, setting->curve_count, temperature_C);
}

/* Slope of the expected climb a little above a temperature, degC/s; 0 where it is not known to climb. */
static double slope_above(const ovp_trace_watch_setting *setting, double temperature_C)
{
    static const double from_C = 10, span_C = 50;
    if (setting->curve_count == 0) {
        return LIMIT(no_rise_rate_C_per_min) / 60;
    }
    const double low_C = fmax(temperature_C, setting->curve_C[0]) + from_C;
    const double took_s = watch_curve_time(setting, low_C + span_C) - watch_curve_time(setting, low_C);
    return took_s > 0 ? span_C / took_s : 0;
}

static double fall_rate(const ovp_trace_watch *watch, size_t rate, double slope_C_per_s)
{
    static const double shares[OVP_TRACE_WATCH_RATES] = {1, 0.5, 0.25, 0.12};
    static const double blind_C_per_s[OVP_TRACE_WATCH_RATES] = {1, 0.3, 0.1, 0.03};
    return watch->setting.curve_count > 0 ? shares[rate] * slope_C_per_s : blind_C_per_s[rate];
}

static double fall_delay(const ovp_trace_watch *watch, size_t delay)
{
    static const double times[OVP_TRACE_WATCH_DELAYS] = {0, 0.5, 1, 1.5, 2.5};
    return times[delay] * watch_dead_s(watch);
}

void watch_filter_begin(ovp_trace_watch *watch, double start_C)
{
    const double noise_C = watch_noise_C(watch);
    watch->variance = noise_C * noise_C;
    watch->still_C = watch->rise_C = start_C;
    watch->still_log = watch->rise_log = watch->expected_C = 0;
    watch->start_slope_C_per_s = slope_above(&watch->setting, start_C);
    for (size_t i = 0; i < OVP_TRACE_WATCH_RATES; i++) {
        for (size_t j = 0; j < OVP_TRACE_WATCH_DELAYS; j++) {
            watch->fall_C[i][j] = start_C;
            watch->fall_log[i][j] = 0;
        }
    }
}

/* Predict, weigh, correct: variance_all is that of the surprise, the same for every hypothesis. */
static void update(double moved_C, double reading_C, double variance_all, double gain, double *level_C,
                   double *log_likelihood)
{
    const double surprise_C = reading_C - (*level_C + moved_C);
    *log_likelihood -= surprise_C * surprise_C / (2 * variance_all);
    *level_C += moved_C + gain * surprise_C;
}

/* How long of the last step a slope was on that begins `delay_s` after heat on. */
static double share_after(double held_s, double step_s, double delay_s)
{
    return fmin(fmax(held_s - delay_s, 0), step_s);
}

/* What low volts leave of the power. */
static double volts_squared(const ovp_trace_watch *watch)
{
    const double share =
        watch->volts_count > 0 ? watch->volts_sum / watch->volts_count / watch->setting.rated_V : 1;
    return share < 1 ? share * share : 1;
}

void watch_filter_step(ovp_trace_watch *watch, double step_s, double reading_C)
{
    const double noise_C = watch_noise_C(watch), wander_C = LIMIT(watch_wander_C);
    const double slope = watch->start_slope_C_per_s;
    const double dead_s = watch_dead_s(watch), drive = watch->full ? volts_squared(watch) : 0;
    const double late = watch->start_C <= LIMIT(reversed_room_C) ? 1.5 : LIMIT(watch_hot_times);
    watch->variance += wander_C * wander_C * step_s;
    const double all = watch->variance + noise_C * noise_C, gain = watch->variance / all;
    update(0, reading_C, all, gain, &watch->still_C, &watch->still_log);
    const double rise_C = LIMIT(watch_rise_share) * slope_above(&watch->setting, reading_C) * drive *
                          share_after(watch->held_s, step_s, late * dead_s);
    watch->expected_C += rise_C;
    update(rise_C, reading_C, all, gain, &watch->rise_C, &watch->rise_log);
    for (size_t i = 0; i < OVP_TRACE_WATCH_RATES; i++) {
        for (size_t j = 0; j < OVP_TRACE_WATCH_DELAYS; j++) {
            const double fall_C =
                fall_rate(watch, i, slope) * share_after(watch->held_s, step_s, fall_delay(watch, j));
            update(-fall_C, reading_C, all, gain, &watch->fall_C[i][j], &watch->fall_log[i][j]);
        }
    }
    watch->variance *= 1 - gain;
}

double watch_odds_of_fall(const ovp_trace_watch *watch)
{
    double most = -INFINITY, sum = 0;
    for (size_t i = 0; i < OVP_TRACE_WATCH_RATES; i++) {
        for (size_t j = 0; j < OVP_TRACE_WATCH_DELAYS; j++) {
            most = fmax(most, watch->fall_log[i][j]);
        }
    }
    for (size_t i = 0; i < OVP_TRACE_WATCH_RATES; i++) {
        for (size_t j = 0; j < OVP_TRACE_WATCH_DELAYS; j++) {
            sum += exp(watch->fall_log[i][j] - most);
        }
    }
    /* An even mixture: still a likelihood ratio, so the bound holds for it. */
    return most + log(sum / (OVP_TRACE_WATCH_RATES * OVP_TRACE_WATCH_DELAYS)) - watch->still_log;
}
