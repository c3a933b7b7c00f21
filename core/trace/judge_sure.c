/* judge_sure.c: how sure the number of a finding is. Expanded (k = 2): what the log's last place, its
 * interval and its scatter leave open, with the meter's or the expectation's own share where it has one. */
#include "judge_internal.h"

#include <math.h>
#include <string.h>

static const double most_following = 0.98; /* of residuals: beyond, a line is no description */

void judge_sure(ovp_trace_result *result, double since_s, double uncertainty)
{
    if (result->finding_count == 0) {
        return;
    }
    ovp_trace_finding *finding = &result->findings[result->finding_count - 1];
    finding->since_s = isnan(finding->at_s) ? since_s : finding->at_s;
    if (!isnan(finding->value) && !isnan(uncertainty)) {
        finding->uncertainty = uncertainty;
        finding->no_uncertainty = "";
    }
}

void judge_sure_count(ovp_trace_result *result, double since_s)
{
    judge_sure(result, since_s, NAN);
    if (result->finding_count > 0) {
        result->findings[result->finding_count - 1].no_uncertainty = "count";
    }
}

void judge_sure_all(const ovp_trace_judge *judge, ovp_trace_result *result)
{
    for (size_t i = 0; i < result->finding_count; i++) {
        ovp_trace_finding *finding = &result->findings[i];
        if (isnan(finding->since_s)) {
            finding->since_s = isnan(finding->at_s) ? judge->counters.first_s : finding->at_s;
        }
    }
}

double judge_reading_u(const judge_run *run)
{
    const double place_C = isfinite(run->resolution_C) ? run->resolution_C : 0;
    return hypot(run->noise_C, place_C / sqrt(12));
}

double judge_difference_U(const judge_run *run)
{
    return 2 * sqrt(2) * judge_reading_u(run);
}

/* ---- lines and means ------------------------------------------------------------------------------------
 */

typedef struct line_sums {
    double n, x, y, xx, xy;
} line_sums;

judge_line judge_line_of(judge_xy point, const void *context, size_t from, size_t to)
{
    judge_line line = {NAN, NAN, NAN, NAN, 0};
    line_sums s = {0};
    double origin = NAN, x, y, squares = 0, products = 0, before = NAN;
    for (size_t i = from; i < to; i++) {
        if (!point(context, i, &x, &y)) {
            continue;
        }
        origin = isnan(origin) ? x : origin;
        x -= origin;
        s = (line_sums){s.n + 1, s.x + x, s.y + y, s.xx + x * x, s.xy + x * y};
    }
    const double spread = s.xx - s.x * s.x / s.n;
    if (s.n < 3 || !(spread > 0)) {
        return line;
    }
    line.count = (size_t)s.n;
    line.mean = s.y / s.n;
    line.slope = (s.xy - s.x * s.y / s.n) / spread;
    for (size_t i = from; i < to; i++) {
        if (!point(context, i, &x, &y)) {
            continue;
        }
        const double left = y - line.mean - line.slope * (x - origin - s.x / s.n);
        squares += left * left;
        products += isnan(before) ? 0 : left * before;
        before = left;
    }
    /* Residuals that follow each other count as fewer: first-order autoregression. */
    const double follow = squares > 0 ? fmin(fmax(products / squares, 0), most_following) : 0;
    const double variance = squares / fmax(s.n - 2, 1) * (1 + follow) / (1 - follow);
    line.mean_u = sqrt(variance / s.n);
    line.slope_u = sqrt(variance / spread);
    return line;
}

static bool output_at(const void *context, size_t i, double *x, double *y)
{
    const judge_run *run = context;
    *x = run->points[i].time_s;
    *y = run->points[i].output_percent;
    return !isnan(*y);
}

judge_line judge_output_line(const judge_run *run, size_t from, size_t to)
{
    return judge_line_of(output_at, run, from, to);
}

static bool temperature_at(const void *context, size_t i, double *x, double *y)
{
    const judge_run *run = context;
    *x = run->points[i].time_s;
    *y = run->points[i].temperature_C;
    return true;
}

judge_line judge_temperature_line(const judge_run *run, size_t from, size_t to)
{
    return judge_line_of(temperature_at, run, from, to);
}

typedef struct meter {
    const ovp_trace_judge *judge;
    judge_channel_id id;
} meter;

static bool meter_at(const void *context, size_t i, double *x, double *y)
{
    const meter *of = context;
    const judge_block *block = &of->judge->blocks[i];
    *x = block->sum_s / (double)block->samples;
    *y = judge_mean(&block->channel[of->id]);
    return block->channel[of->id].count > 0;
}

/* Few blocks: the spread of all. */
double judge_meter_u(const ovp_trace_judge *judge, judge_channel_id id)
{
    const meter of = {judge, id};
    const judge_line line = judge_line_of(meter_at, &of, 0, judge->block_count);
    if (line.count >= 3) {
        return line.mean_u;
    }
    const judge_channel all = judge_total(judge, id, -INFINITY, INFINITY);
    return all.count > 0 ? (all.high - all.low) / sqrt(12) : (double)NAN;
}

/* ---- full heat ------------------------------------------------------------------------------------------
 */

judge_full judge_full_heat(const ovp_trace_judge *judge)
{
    const judge_channel volts = judge_total(judge, CHANNEL_VOLTS_ON, -INFINITY, INFINITY),
                        amps = judge_total(judge, CHANNEL_AMPS_ON, -INFINITY, INFINITY);
    if (volts.count >= 3 && amps.count >= 3) {
        return (judge_full){judge_mean(&volts) * judge_mean(&amps), LIMIT(power_meter_U)};
    }
    return (judge_full){judge_rated_W(judge), LIMIT(power_unmetered_U)};
}
