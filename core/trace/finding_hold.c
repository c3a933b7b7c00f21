/* finding_hold.c: overshoot, swing, hold-watts, drifting. */
#include "judge_internal.h"

#include <math.h>

static double length_of(const judge_run *run, size_t from, size_t to)
{
    return to > from ? run->points[to - 1].time_s - run->points[from].time_s : 0;
}

static double mean_output(const judge_run *run, size_t from, size_t to)
{
    double sum = 0;
    size_t count = 0;
    for (size_t i = from; i < to; i++) {
        if (!isnan(run->points[i].output_percent)) {
            sum += run->points[i].output_percent;
            count++;
        }
    }
    return count ? sum / (double)count : (double)NAN;
}

static size_t index_at(const judge_run *run, size_t from, size_t to, double share)
{
    double time_s = run->points[from].time_s + share * length_of(run, from, to);
    size_t i = from;
    while (i + 1 < to && run->points[i].time_s < time_s) {
        i++;
    }
    return i;
}

static void find_overshoot(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    if (!judge->counters.has[CHANNEL_SETPOINT] || !run->climb_full || run->climb_end >= run->count ||
        run->backwards) {
        return;
    }
    double setpoint_C = run->points[run->climb_end].setpoint_C, from_s = run->points[run->climb_end].time_s,
           over_C = 0;
    if (isnan(setpoint_C) ||
        run->points[run->climb_end].temperature_C < setpoint_C - 0.05 * (setpoint_C - run->start_C) - 6) {
        return; /* it never came near */
    }
    for (size_t i = run->climb_end; i < run->count && run->points[i].time_s < from_s + 1800; i++) {
        if (fabs(run->points[i].setpoint_C - setpoint_C) > 2) {
            break;
        }
        over_C = fmax(over_C, run->points[i].temperature_C - setpoint_C);
    }
    result->overshoot_C = over_C;
    if (over_C >= fmax(LIMIT(overshoot_C), LIMIT(overshoot_share) * (setpoint_C - run->start_C))) {
        judge_say(result, "overshoot", "large", from_s, over_C, "it shot %s past the setpoint",
                  judge_difference(judge, over_C).text);
    } else {
        judge_find(result, "overshoot", "small", NAN, over_C);
    }
    judge_sure(result, from_s, 2 * judge_reading_u(run));
}

/* How often it goes from one side of its middle to the other: a drift or one step does not swing. */
static size_t turns(const judge_run *run, size_t from, size_t to, double slope, double low, double high)
{
    size_t count = 0;
    int side = 0;
    for (size_t i = from; i < to; i++) {
        double level =
            run->points[i].temperature_C - slope * (run->points[i].time_s - run->points[from].time_s);
        double share = (level - low) / fmax(high - low, 1e-9);
        int here = share > 0.7 ? 1 : share < 0.3 ? -1 : 0;
        if (here && here != side) {
            count += side != 0;
            side = here;
        }
    }
    return count;
}

/* Peak to peak about the trend, over the second half of the hold. */
static void find_swing(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    size_t from = index_at(run, run->hold_from, run->hold_to, 0.5), to = run->hold_to;
    if (length_of(run, from, to) < LIMIT(hold_least_s) || to - from < 10) {
        return;
    }
    double slope = judge_slope(run, from, to), low = INFINITY, high = -INFINITY;
    for (size_t i = from; i < to; i++) {
        double level =
            run->points[i].temperature_C - slope * (run->points[i].time_s - run->points[from].time_s);
        low = fmin(low, level);
        high = fmax(high, level);
    }
    double swing_C = fmax(high - low - 4 * run->noise_C, 0), swing_F = 1.8 * swing_C;
    if (swing_F >= LIMIT(swing_small_F) && turns(run, from, to, slope, low, high) < 4) {
        return; /* it moves, but not to and fro */
    }
    if (swing_F < LIMIT(swing_small_F)) {
        judge_find(result, "swing", "within-3F", NAN, swing_C);
    } else {
        judge_say(result, "swing", swing_F < LIMIT(swing_large_F) ? "3-10F" : "more-than-10F",
                  run->points[from].time_s, swing_C, "it swings by %s from peak to peak while it holds",
                  judge_difference(judge, swing_C).text);
    }
    judge_sure(result, run->points[from].time_s, judge_difference_U(run));
}

static void find_drift(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    size_t from = index_at(run, run->hold_from, run->hold_to, 0.34),
           middle = index_at(run, run->hold_from, run->hold_to, 0.67);
    if (length_of(run, run->hold_from, run->hold_to) < LIMIT(hold_drift_least_s)) {
        return;
    }
    double early = mean_output(run, from, middle), late = mean_output(run, middle, run->hold_to);
    double rise = late - early;
    if (rise >= fmax(LIMIT(hold_drift_percent), LIMIT(hold_drift_share) * early)) {
        judge_say(result, "drifting", "creeps-up", run->points[from].time_s, rise,
                  "the output that holds rises from %s to %s %%, where a soaking lining needs less and less",
                  judge_fixed(early, 0).text, judge_fixed(late, 0).text);
    } else {
        judge_find(result, "drifting", "steady", NAN, rise);
    }
    judge_sure(result, run->points[from].time_s,
               2 * hypot(judge_output_line(run, from, middle).mean_u,
                         judge_output_line(run, middle, run->hold_to).mean_u));
}

/* Output that the model needs to follow the display as logged: the mean over the end of the hold, percent. */
static double model_output(const ovp_trace_judge *judge, size_t last_from)
{
    const judge_run *run = &judge->run;
    ovp_thermal_parameters model = *judge->expectation.model;
    ovp_thermal_state state;
    double sum = 0, seconds = 0, integral = 0;
    model.start_C = run->start_C;
    model.ambient_C =
        !isnan(judge->expectation.ambient_C) ? judge->expectation.ambient_C : fmin(run->start_C, 40);
    ovp_thermal_start(&model, &state);
    double at_s = run->time_zero_s;
    for (size_t i = run->zero; i < run->hold_to; i++) {
        double step_s = run->points[i].time_s - at_s;
        while (step_s > 0.01) {
            double part_s = fmin(step_s, 10), error_C = run->points[i].temperature_C - state.sensor_C;
            double duty = fmin(fmax(0.04 * error_C + integral, 0), 1);
            integral = fmin(fmax(integral + 0.0004 * error_C * part_s, 0), 1);
            ovp_thermal_step(&model, part_s, duty, &state);
            if (i >= last_from) {
                sum += duty * part_s;
                seconds += part_s;
            }
            step_s -= part_s;
        }
        at_s = run->points[i].time_s;
    }
    return seconds > 0 ? 100 * sum / seconds : (double)NAN;
}

static void find_watts(ovp_trace_judge *judge, ovp_trace_result *result, size_t last_from)
{
    const judge_run *run = &judge->run;
    const ovp_trace_result *baseline = judge->expectation.baseline;
    double power = isnan(result->power_ratio) ? 1 : result->power_ratio, due = NAN,
           uncertainty = LIMIT(hold_model_U);
    if (baseline && fabs(baseline->hold_C - result->hold_C) < 25) {
        double good = isnan(baseline->power_ratio) ? 1 : baseline->power_ratio;
        due = baseline->hold_percent * good;
        uncertainty = LIMIT(hold_baseline_U);
        double other_s = baseline->hold_to_s, here_s = result->hold_to_s;
        uncertainty += 0.3 * fabs(log(fmax(other_s, 60) / fmax(here_s, 60))); /* a lining soaks for an hour */
    } else if (judge->expectation.model && run->cold_start) {
        due = model_output(judge, last_from);
    }
    if (isnan(due) || due < 2) {
        return;
    }
    double ratio = result->hold_percent * power / due;
    const char *outcome = ratio > LIMIT(hold_far) && ratio > 1 + uncertainty ? "far-higher"
                          : ratio > 1 + uncertainty                          ? "higher"
                          : ratio < 1 - uncertainty                          ? "lower"
                                                                             : "as-expected";
    if (ratio >= 1 - uncertainty && ratio <= 1 + uncertainty) {
        judge_find(result, "hold-watts", outcome, NAN, ratio);
    } else {
        judge_say(result, "hold-watts", outcome, run->points[last_from].time_s, ratio,
                  "it holds %s with %s %% output where about %s %% is due",
                  judge_temperature(judge, result->hold_C).text, judge_fixed(result->hold_percent, 0).text,
                  judge_fixed(due / power, 0).text);
    }
    double own = judge_output_line(run, last_from, run->hold_to).mean_u / fmax(result->hold_percent, 1e-3);
    judge_sure(result, run->points[last_from].time_s, ratio * hypot(uncertainty, isnan(own) ? 0 : 2 * own));
}

/* Watts that hold: output times full heat, metered where volts and amps are logged. */
static void find_power(ovp_trace_judge *judge, ovp_trace_result *result, size_t last_from)
{
    const judge_run *run = &judge->run;
    const judge_full full = judge_full_heat(judge);
    if (isnan(full.power_W)) {
        return;
    }
    double share = result->hold_percent / 100, own = judge_output_line(run, last_from, run->hold_to).mean_u;
    judge_find(result, "hold-power", "measured", NAN, share * full.power_W);
    judge_sure(result, run->points[last_from].time_s,
               full.power_W * hypot(share * full.share_U, isnan(own) ? 0 : 2 * own / 100));
}

void judge_findings_hold(ovp_trace_judge *judge, ovp_trace_result *result)
{
    judge_run *run = &judge->run;
    find_overshoot(judge, result);
    if (run->hold_to <= run->hold_from || run->backwards) {
        return;
    }
    size_t last_from = index_at(run, run->hold_from, run->hold_to, 0.67);
    double sum = 0;
    for (size_t i = last_from; i < run->hold_to; i++) {
        sum += run->points[i].temperature_C;
    }
    result->hold_C = sum / (double)(run->hold_to - last_from);
    result->hold_percent = mean_output(run, last_from, run->hold_to);
    result->hold_from_s = run->points[run->hold_from].time_s - run->time_zero_s;
    result->hold_to_s = run->points[run->hold_to - 1].time_s - run->time_zero_s;
    if (judge->counters.has[CHANNEL_SETPOINT]) {
        find_swing(judge, result);
    }
    if (!isnan(result->hold_percent)) {
        find_power(judge, result, last_from);
        find_drift(judge, result);
        find_watts(judge, result, last_from);
    }
}
