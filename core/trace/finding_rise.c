/* finding_rise.c: no-rise, shorted, not-called, output-capped, withdrawn. */
#include "judge_internal.h"

#include <math.h>

/* Does current flow while heat is called? NAN where none is logged. */
static double on_current_share(const ovp_trace_judge *judge, double from_s, double to_s)
{
    if (!judge->counters.has[CHANNEL_AMPS]) {
        return NAN;
    }
    judge_channel all = judge_total(judge, CHANNEL_AMPS, from_s, to_s);
    judge_channel on = judge_total(judge, CHANNEL_AMPS_ON, from_s, to_s);
    return all.count ? (double)on.count / (double)all.count : (double)NAN;
}

typedef struct called_stretch {
    double from_s, to_s, start_C, top_C;
    bool found;
} called_stretch;

/* The first stretch in which heat was called for long enough to show. */
static called_stretch first_call(const judge_run *run)
{
    called_stretch result = {.top_C = -INFINITY};
    for (size_t i = 0; i < run->count; i++) {
        if (judge_called_at(run, i) != CALLED_YES) {
            if (result.found && result.to_s - result.from_s >= LIMIT(no_rise_after_s)) {
                break;
            }
            result = (called_stretch){.top_C = -INFINITY};
            continue;
        }
        if (!result.found) {
            result = (called_stretch){.from_s = run->points[i].from_s,
                                      .start_C = run->points[i].temperature_C,
                                      .top_C = -INFINITY,
                                      .found = true};
        }
        result.to_s = run->points[i].to_s;
        result.top_C = fmax(result.top_C, run->points[i].temperature_C);
    }
    return result;
}

static double expected_rise(const judge_run *run, double seconds)
{
    double due_C = judge_reference_at(&run->reference, seconds) - run->reference.temperature_C[0];
    return run->reference.known && !isnan(due_C) ? due_C : LIMIT(no_rise_rate_C_per_min) * seconds / 60;
}

static void find_no_rise(ovp_trace_judge *judge, ovp_trace_result *result)
{
    judge_run *run = &judge->run;
    called_stretch call = first_call(run);
    double seconds = call.to_s - call.from_s;
    if (!call.found || run->backwards) {
        return;
    }
    double due_C = expected_rise(run, seconds), rise_C = call.top_C - call.start_C;
    double share = run->reference.known ? LIMIT(no_rise_share) : LIMIT(no_rise_blind_share);
    double least_C = fmax(LIMIT(no_rise_C), share * due_C);
    if (rise_C >= least_C) {
        judge_find(result, "no-rise", "rises", NAN, NAN);
        if (judge->counters.has[CHANNEL_AMPS]) {
            judge_find(result, "shorted", "follows", NAN, NAN);
        }
        return;
    }
    bool cold = call.start_C <= 60;
    double wait_s = run->reference.known ? fmax(90, 2 * run->reference.dead_time_s) : LIMIT(no_rise_after_s);
    if (seconds < wait_s || (run->reference.known && due_C < 20) || !cold) {
        return;
    }
    double flows = on_current_share(judge, call.from_s, call.to_s);
    judge_say(result, "no-rise", "none", call.from_s, rise_C,
              "heat was called for %s and the display moved only %s", judge_duration(seconds).text,
              judge_difference(judge, fmax(rise_C, 0)).text);
    judge_sure(result, call.from_s, judge_difference_U(run));
    if (flows > LIMIT(lost_current_share)) {
        judge_say(result, "shorted", "near-room-with-current", call.from_s, call.top_C,
                  "current flows and the display stays at %s: the sensor does not see the heat",
                  judge_temperature(judge, call.top_C).text);
        judge_sure(result, call.from_s, 2 * judge_reading_u(run));
    } else if (!isnan(flows)) {
        judge_find(result, "shorted", "follows", NAN, NAN);
        return; /* no current, no heat: no danger now */
    }
    if (judge_called_now(judge) != CALLED_NO) {
        judge_danger(result,
                     "Heat is called for and the display does not move: the oven may be heating unseen.");
    }
}

/* Below the setpoint and never an output. */
static void find_not_called(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    if (!judge->counters.has[CHANNEL_OUTPUT] || !judge->counters.has[CHANNEL_SETPOINT]) {
        return;
    }
    double below_s = 0, first_s = NAN;
    bool called = false, arrived = false;
    double stop_s = NAN, stopped_s = 0;
    for (size_t i = 0; i < run->count; i++) {
        const judge_point *point = &run->points[i];
        arrived = arrived || point->temperature_C >= point->setpoint_C - LIMIT(below_setpoint_C);
        if (point->output_high >= LIMIT(output_on_percent)) {
            called = true;
            stop_s = NAN;
            stopped_s = 0;
            continue;
        }
        if (point->temperature_C < point->setpoint_C - LIMIT(below_setpoint_C)) {
            first_s = isnan(first_s) ? point->from_s : first_s;
            stop_s = isnan(stop_s) ? point->from_s : stop_s;
            stopped_s = point->time_s - stop_s;
            below_s += i ? point->time_s - run->points[i - 1].time_s : 0;
        }
    }
    if (called && stopped_s >= LIMIT(not_called_s)) { /* somebody may have switched it off */
        judge_find(result, "not-called", arrived ? "stops" : "breaks-off", stop_s, NAN);
    } else if (called) {
        judge_find(result, "not-called", "called", NAN, NAN);
    } else if (below_s >= LIMIT(not_called_s)) {
        judge_say(result, "not-called", "never", first_s, NAN,
                  "the display stood below the setpoint for %s and the output stayed at 0 %%",
                  judge_duration(below_s).text);
    }
}

static void find_capped(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    if (!judge->counters.has[CHANNEL_OUTPUT] || !judge->counters.has[CHANNEL_SETPOINT] || run->backwards) {
        return;
    }
    double high = -INFINITY, low = INFINITY, far_s = 0;
    for (size_t i = run->zero; i < run->climb_end; i++) {
        const judge_point *point = &run->points[i];
        if (point->setpoint_C - point->temperature_C < LIMIT(capped_below_C)) {
            continue;
        }
        high = fmax(high, point->output_high);
        low = fmin(low, point->output_percent);
        far_s += i > run->zero ? point->time_s - run->points[i - 1].time_s : 0;
    }
    if (far_s < 120) {
        return;
    }
    if (high < LIMIT(capped_percent) && high - low < 8) {
        judge_say(result, "output-capped", "capped", run->time_zero_s, high,
                  "the output stays flat at %s %% while the display is far below the setpoint",
                  judge_fixed(high, 0).text);
        judge_sure(result, run->time_zero_s, fmax(high - low, 1) / sqrt(3)); /* in whole percent at worst */
    } else {
        judge_find(result, "output-capped", "full", NAN, NAN);
    }
}

/* Of the time to a small rise, expanded: the interval at the start, the reading over the slope there. */
static double dead_time_U(const ovp_trace_judge *judge, double height_C)
{
    const judge_run *run = &judge->run;
    double low_s = judge_climb_time(run, run->start_C + height_C),
           high_s = judge_climb_time(run, run->start_C + 2 * height_C);
    double slope = height_C / fmax(high_s - low_s, 1e-3);
    double reading_s = sqrt(2) * judge_reading_u(run) / slope; /* the start is a reading, too */
    return 2 * hypot(judge->counters.interval_s / sqrt(12), isnan(reading_s) ? 0 : reading_s);
}

static void find_withdrawn(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    bool whole = run->cold_start || judge->counters.first_output_s > judge->counters.first_s;
    if (!judge->counters.has[CHANNEL_OUTPUT] || !run->rises || !run->climb_full ||
        judge->counters.interval_s > 15 || !whole) {
        return;
    }
    double height_C = LIMIT(rise_C);
    if (isfinite(run->resolution_C)) {
        height_C = fmax(height_C, 3 * run->resolution_C);
    }
    height_C = fmax(height_C, 5 * run->noise_C);
    result->dead_time_s = judge_climb_time(run, run->start_C + height_C);
    double expected_s = run->reference.dead_time_s, dead_U_s = dead_time_U(judge, height_C);
    if (!isnan(result->dead_time_s)) {
        judge_find(result, "dead-time", "measured", NAN, result->dead_time_s);
        judge_sure(result, run->time_zero_s, dead_U_s);
    }
    if (isnan(result->dead_time_s) || isnan(expected_s)) {
        return;
    }
    double ratio = result->dead_time_s / fmax(expected_s, 1);
    if (result->dead_time_s > LIMIT(lag_ratio) * expected_s + LIMIT(lag_least_s)) {
        judge_say(result, "withdrawn", "lagging", run->time_zero_s, ratio,
                  "the display answered %s after the heat, where %s is usual: the tip may be drawn back",
                  judge_duration(result->dead_time_s).text, judge_duration(expected_s).text);
    } else {
        judge_find(result, "withdrawn", "prompt", NAN, ratio);
    }
    double due_U = run->reference.from_model ? LIMIT(delay_model_U) : LIMIT(delay_baseline_U);
    judge_sure(result, run->time_zero_s, hypot(dead_U_s / fmax(expected_s, 1), due_U * ratio));
}

/* A log that never moves and does not say whether heat was called. */
static void find_flat(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    const judge_counters *c = &judge->counters;
    bool told = c->has[CHANNEL_OUTPUT] || c->has[CHANNEL_SETPOINT];
    double span_C = run->top_C - run->low_C;
    if (told || span_C >= LIMIT(flat_C) || c->readings < 20 ||
        c->last_s - c->first_s < LIMIT(no_rise_after_s)) {
        return;
    }
    judge_say(result, "no-rise", "flat", c->first_s, span_C,
              "the display moves by only %s in the whole log; whether heat was called for is not logged",
              judge_difference(judge, span_C).text);
    judge_sure(result, c->first_s, judge_difference_U(run));
}

void judge_findings_rise(ovp_trace_judge *judge, ovp_trace_result *result)
{
    if (judge->run.count < 2) {
        return;
    }
    find_flat(judge, result);
    find_not_called(judge, result);
    find_no_rise(judge, result);
    find_capped(judge, result);
    find_withdrawn(judge, result);
}
