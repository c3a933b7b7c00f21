/* finding_loss.c: power-while-off, off-while-called. */
#include "judge_internal.h"

#include <math.h>

/* ---- power while off -------------------------------------------------------------------------------- */

typedef struct off_stretch {
    double from_s, top_before_C, slope_before;
    size_t from, to;
} off_stretch;

static double slope_before(const judge_run *run, size_t index)
{
    size_t from = index;
    while (from > 0 && run->points[from - 1].time_s > run->points[index].time_s - 120) {
        from--;
    }
    return judge_slope(run, from, index);
}

/* Does it climb on, past what stored heat explains? The share of the slope before; NAN when it does not. */
static double climb_while_off(const judge_run *run, off_stretch off)
{
    double begin_s = off.from_s + LIMIT(off_wait_s);
    size_t from = off.from;
    while (from < off.to && run->points[from].time_s < begin_s) {
        from++;
    }
    if (from + 2 >= off.to || run->points[off.to - 1].time_s - begin_s < LIMIT(off_least_s)) {
        return NAN;
    }
    double top_C = -INFINITY;
    for (size_t i = from; i < off.to; i++) {
        top_C = fmax(top_C, run->points[i].temperature_C);
    }
    size_t end = from;
    while (end < off.to && run->points[end].temperature_C < top_C - 0.5) {
        end++;
    }
    bool lasts =
        end > from + 1 && run->points[end < off.to ? end : off.to - 1].time_s - begin_s >= LIMIT(off_least_s);
    if (top_C < off.top_before_C + LIMIT(off_rise_C) || !lasts) {
        return NAN;
    }
    size_t soon = from;
    while (soon < end && run->points[soon].time_s < begin_s + 2 * LIMIT(off_least_s)) {
        soon++;
    }
    double slope = judge_slope(run, from, soon > from + 1 ? soon : end);
    double full = off.slope_before > 0 ? off.slope_before : 0.4 * run->climb_slope_C_per_s;
    if (!(full > 0)) {
        full = 3 * LIMIT(no_rise_rate_C_per_min) / 60;
    }
    return slope / full;
}

static void say_climb(ovp_trace_judge *judge, ovp_trace_result *result, const judge_run *run, off_stretch off,
                      double share)
{
    double rate = 60 * judge_slope(run, off.from, off.to);
    judge_say(result, "power-while-off", share >= LIMIT(off_full_share) ? "climbs" : "climbs-slowly",
              off.from_s, rate, "the output is 0 %% and the display climbs on at %s a minute",
              judge_difference(judge, rate).text);
    judge_sure(result, off.from_s, 2 * 60 * judge_temperature_line(run, off.from, off.to).slope_u);
    if (off.to == run->count) {
        judge_danger(result, "Pull the plug or open the breaker: the oven heats with its output off, and "
                             "nothing else stops it.");
    }
}

/* Amps in blocks without any output. */
static bool current_while_off(ovp_trace_judge *judge, ovp_trace_result *result)
{
    double seconds = 0, sum = 0, at_s = NAN, to_s = NAN;
    uint64_t count = 0;
    for (size_t i = 1; i < judge->block_count; i++) {
        const judge_block *block = &judge->blocks[i];
        if (!block->channel[CHANNEL_OUTPUT].count ||
            block->channel[CHANNEL_OUTPUT].high >= LIMIT(output_on_percent) ||
            !block->channel[CHANNEL_AMPS_ON].count ||
            block->channel[CHANNEL_AMPS].low < LIMIT(current_on_A)) {
            continue;
        }
        at_s = isnan(at_s) ? block->from_s : at_s;
        to_s = block->to_s;
        seconds += block->to_s - judge->blocks[i - 1].to_s;
        sum += block->channel[CHANNEL_AMPS_ON].sum;
        count += block->channel[CHANNEL_AMPS_ON].count;
    }
    if (seconds < 60) {
        return false;
    }
    double rated_ohm = judge_rated_ohm(judge), amps_A = sum / (double)count;
    double rated_A =
        judge->expectation.oven ? judge->expectation.oven->supply.volts_V / rated_ohm : (double)NAN;
    bool whole = isnan(rated_A) || amps_A > 0.8 * rated_A;
    judge_say(result, "power-while-off", whole ? "climbs" : "climbs-slowly", at_s, NAN,
              "%s A flow although the output is 0 %%", judge_fixed(amps_A, 1).text);
    if (to_s >= judge->counters.last_s - 2 * judge->counters.interval_s) {
        judge_danger(result, "Pull the plug or open the breaker: current flows with the output off, and "
                             "nothing else stops it.");
    }
    return true;
}

static void find_power_while_off(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    double top_C = -INFINITY, rested_s = 0;
    if (!judge->counters.has[CHANNEL_OUTPUT] || run->backwards) {
        return;
    }
    if (judge->counters.has[CHANNEL_AMPS] && current_while_off(judge, result)) {
        return;
    }
    for (size_t i = 0; i < run->count;) {
        size_t from = i;
        while (i < run->count && run->points[i].output_high < LIMIT(output_on_percent)) {
            i++;
        }
        if (i > from) {
            double before = from ? top_C : run->points[from].temperature_C;
            off_stretch off = {run->points[from].from_s, before, from ? slope_before(run, from) : (double)NAN,
                               from, i};
            double share = climb_while_off(run, off);
            if (!isnan(share) && share > 0.08) {
                say_climb(judge, result, run, off, share);
                return;
            }
            rested_s += run->points[i - 1].time_s - run->points[from].time_s;
        }
        for (; from < i; from++) {
            top_C = fmax(top_C, run->points[from].temperature_C);
        }
        if (i < run->count) {
            top_C = fmax(top_C, run->points[i++].temperature_C);
        }
    }
    /* A hold below full output is proof too: with power that never goes off it would climb through. */
    double held_s = run->hold_to > run->hold_from
                        ? run->points[run->hold_to - 1].time_s - run->points[run->hold_from].time_s
                        : 0;
    if (held_s >= 2 * LIMIT(hold_least_s) && result->hold_percent < LIMIT(hold_regulated_percent)) {
        judge_find(result, "power-while-off", "cools", NAN, NAN);
        return;
    }
    if (rested_s >= LIMIT(off_wait_s) + LIMIT(off_least_s)) {
        judge_find(result, "power-while-off", "cools", NAN, NAN);
    }
}

/* ---- off while called -------------------------------------------------------------------------------- */

typedef struct seen_loss {
    uint64_t episodes;
    double first_s, called_s;
    bool lost_at_end, by_current;
} seen_loss;

/* Full output and no current, after current had flowed. */
static seen_loss loss_of_current(const ovp_trace_judge *judge)
{
    seen_loss loss = {.first_s = NAN, .by_current = true};
    bool flowed = false, out = false;
    double out_s = 0;
    for (size_t i = 0; i < judge->block_count; i++) {
        const judge_block *block = &judge->blocks[i];
        double step_s = i ? block->to_s - judge->blocks[i - 1].to_s : 0;
        bool full = block->channel[CHANNEL_OUTPUT].count &&
                    block->channel[CHANNEL_OUTPUT].low >= LIMIT(output_full_percent);
        bool flows = block->channel[CHANNEL_AMPS_ON].count > 0;
        if (!full || !block->channel[CHANNEL_AMPS].count) {
            continue;
        }
        loss.called_s += step_s;
        bool now_out = flowed && (double)block->channel[CHANNEL_AMPS_ON].count <=
                                     LIMIT(lost_current_share) * (double)block->channel[CHANNEL_AMPS].count;
        if (now_out && !out) {
            loss.episodes++;
            loss.first_s = isnan(loss.first_s) ? block->from_s : loss.first_s;
            out_s = 0;
        }
        out_s += now_out ? step_s : 0;
        out = now_out;
        flowed = flowed || flows;
    }
    loss.lost_at_end = out && out_s >= 60;
    return loss;
}

/* Output from which heat counts as called: half, or in a hold nearly what holds it. */
static double called_from(const judge_run *run)
{
    enum {
        PLACES = 101
    };
    double output[PLACES];
    size_t count = 0;
    const size_t span = run->hold_to - run->hold_from;
    for (size_t k = 0; k < PLACES && span >= 10; k++) {
        const double value = run->points[run->hold_from + k * (span - 1) / (PLACES - 1)].output_percent;
        if (!isnan(value)) {
            output[count++] = value;
        }
    }
    if (count < 10) {
        return 50;
    }
    return fmin(50, fmax(LIMIT(held_share) * ovp_median(output, count), 2 * LIMIT(output_on_percent)));
}

/* How far a display has come down: from its height, and from its height of the last minutes. */
typedef struct fall_watch {
    double top_C, top_s, recent_C, recent_s;
} fall_watch;

static void begin_at(fall_watch *fall, const judge_point *point)
{
    fall->top_C = fall->recent_C = point->temperature_C;
    fall->top_s = fall->recent_s = point->time_s;
}

/* A display that settles comes down too, but slowly: a small fall counts when it is quick. */
static bool fell(fall_watch *fall, const judge_point *point)
{
    if (point->temperature_C > fall->top_C) {
        begin_at(fall, point);
    }
    if (point->temperature_C > fall->recent_C || point->time_s - fall->recent_s > LIMIT(lost_quick_s)) {
        fall->recent_C = point->temperature_C;
        fall->recent_s = point->time_s;
    }
    return (point->temperature_C < fall->top_C - LIMIT(lost_fall_C) &&
            point->time_s - fall->top_s >= LIMIT(lost_least_s)) ||
           (point->temperature_C < fall->recent_C - LIMIT(lost_quick_C) &&
            point->time_s - fall->recent_s >= LIMIT(lost_quick_least_s));
}

/* The display falls while heat is called for. */
static seen_loss loss_of_heat(const judge_run *run)
{
    seen_loss loss = {.first_s = NAN};
    fall_watch fall = {.top_C = -INFINITY, .recent_C = -INFINITY};
    double low_C = INFINITY, setpoint_C = NAN, called_at_s = NAN;
    const double enough = called_from(run);
    bool out = false;
    for (size_t i = 1; i < run->count; i++) {
        const judge_point *point = &run->points[i];
        const bool moved = fabs(point->setpoint_C - setpoint_C) > 1; /* a fall towards a new setpoint */
        setpoint_C = point->setpoint_C;
        if (judge_called_at(run, i) != CALLED_YES || point->output_percent < enough || moved) {
            if (!out) {
                begin_at(&fall, point);
            }
            called_at_s = NAN;
            continue;
        }
        called_at_s = isnan(called_at_s) ? point->time_s : called_at_s;
        if (!out && point->time_s - called_at_s < LIMIT(lost_before_s)) {
            begin_at(&fall,
                     point); /* a swing of the controller's falls on for a while after it calls again */
        }
        loss.called_s += point->time_s - run->points[i - 1].time_s;
        if (!out && fell(&fall, point)) {
            out = true;
            low_C = point->temperature_C;
            loss.episodes++;
            loss.first_s = isnan(loss.first_s) ? fall.recent_s : loss.first_s;
        }
        low_C = out ? fmin(low_C, point->temperature_C) : low_C;
        if (out && point->temperature_C > low_C + LIMIT(lost_quick_C)) {
            out = false;
            begin_at(&fall, point);
        }
    }
    loss.lost_at_end = out;
    return loss;
}

/* Everything blank, or no volts, from a moment to the end of the log. NAN: no. */
static double dead_from(const ovp_trace_judge *judge)
{
    const judge_counters *c = &judge->counters;
    double at_s = NAN;
    for (size_t i = judge->block_count; i > 0; i--) {
        const judge_block *block = &judge->blocks[i - 1];
        const judge_channel *volts = &block->channel[CHANNEL_VOLTS];
        bool blank = !block->channel[CHANNEL_TEMPERATURE].count && !block->channel[CHANNEL_OUTPUT].count &&
                     block->cells[OVP_TRACE_EMPTY] == block->samples;
        bool no_volts = volts->count && volts->high < 20;
        if (!blank && !no_volts) {
            break;
        }
        at_s = block->from_s;
    }
    return c->last_s - at_s >= LIMIT(dead_least_s) && c->readings > 1 ? at_s : (double)NAN;
}

static void find_off_while_called(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    if (run->backwards || run->count < 5) {
        return;
    }
    double dead_s = dead_from(judge);
    if (!isnan(dead_s)) {
        judge_say(result, "off-while-called", "dead", dead_s, NAN,
                  "everything went dead after %s: display blank or no volts, to the end of the log",
                  judge_duration(dead_s).text);
        return;
    }
    bool meter = judge->counters.has[CHANNEL_AMPS] && judge->counters.has[CHANNEL_OUTPUT];
    seen_loss loss = meter ? loss_of_current(judge) : loss_of_heat(run);
    const char *what = loss.by_current ? "the current stopped" : "the display fell";
    if (loss.lost_at_end && loss.episodes < 3) {
        judge_say(result, "off-while-called", "lost", loss.first_s, (double)NAN,
                  "%s after %s although heat was called for, and it did not come back", what,
                  judge_duration(loss.first_s - (isnan(run->time_zero_s) ? 0 : run->time_zero_s)).text);
    } else if (loss.episodes > 1 || (loss.by_current && loss.episodes)) {
        judge_say(result, "off-while-called", "dropouts", loss.first_s, NAN,
                  "%s %s time%s although heat was called for, and came back", what,
                  judge_fixed((double)loss.episodes, 0).text, loss.episodes == 1 ? "" : "s");
    } else if (loss.called_s >= LIMIT(no_rise_after_s) && !loss.episodes) {
        judge_find(result, "off-while-called", "steady", NAN, NAN);
    }
}

void judge_findings_loss(ovp_trace_judge *judge, ovp_trace_result *result)
{
    find_power_while_off(judge, result);
    find_off_while_called(judge, result);
}
