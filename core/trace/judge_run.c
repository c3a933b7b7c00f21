/* judge_run.c: blocks become points, points become a run: start, time zero, first climb, hold. */
#include "judge_internal.h"

#include <math.h>
#include <string.h>

/* ---- points --------------------------------------------------------------------------------------- */

static judge_point point_of(const judge_block *block)
{
    const judge_channel *output = &block->channel[CHANNEL_OUTPUT];
    return (judge_point){
        .time_s = block->sum_s / (double)block->samples,
        .from_s = block->from_s,
        .to_s = block->to_s,
        .temperature_C = judge_mean(&block->channel[CHANNEL_TEMPERATURE]),
        .setpoint_C = judge_mean(&block->channel[CHANNEL_SETPOINT]),
        .output_percent = judge_mean(output),
        .output_low = output->count ? output->low : (double)NAN,
        .output_high = output->count ? output->high : (double)NAN,
        .block = block,
    };
}

/* A single reading that stands far from all its neighbours tells nothing about heat. */
static bool is_spike(const judge_point points[], size_t count, size_t i, double limit_C)
{
    if (count < 5) {
        return false;
    }
    double here = points[i].temperature_C;
    size_t before = i ? i - 1 : 2, after = i + 1 < count ? i + 1 : i - 2;
    double a = points[before].temperature_C, b = points[after].temperature_C;
    return fabs(here - a) > limit_C && fabs(here - b) > limit_C && fabs(a - b) < limit_C / 2;
}

static void make_points(ovp_trace_judge *judge)
{
    judge_run *run = &judge->run;
    size_t count = 0;
    for (size_t i = 0; i < judge->block_count; i++) {
        if (judge->blocks[i].channel[CHANNEL_TEMPERATURE].count) {
            judge->points[count] = point_of(&judge->blocks[i]);
            if (!judge->counters.has[CHANNEL_OUTPUT]) {
                judge_point *point = &judge->points[count];
                point->output_percent = point->output_low = point->output_high = NAN;
            }
            count++;
        }
    }
    double limit_C = fmax(LIMIT(jump_least_C), judge->jump_rate_C_per_s * judge->counters.interval_s);
    limit_C = fmax(limit_C, LIMIT(jump_sigmas) * run->noise_C);
    size_t kept = 0;
    bool spike_before = false;
    for (size_t i = 0; i < count; i++) {
        bool spike = judge->counters.interval_s <= LIMIT(jump_interval_s) && !spike_before &&
                     is_spike(judge->points, count, i, limit_C);
        spike_before = spike;
        if (!spike) {
            judge->points[kept++] = judge->points[i];
        }
    }
    run->points = judge->points;
    run->count = kept;
}

judge_called judge_called_at(const judge_run *run, size_t index)
{
    if (index >= run->count) {
        return CALLED_UNKNOWN;
    }
    const judge_point *point = &run->points[index];
    if (!isnan(point->output_percent)) {
        return point->output_percent >= LIMIT(output_on_percent) ? CALLED_YES : CALLED_NO;
    }
    if (isnan(point->setpoint_C)) {
        return CALLED_UNKNOWN;
    }
    double below_C = point->setpoint_C - point->temperature_C;
    return below_C > LIMIT(below_setpoint_C)    ? CALLED_YES
           : below_C < -LIMIT(below_setpoint_C) ? CALLED_NO
                                                : CALLED_UNKNOWN;
}

double judge_slope(const judge_run *run, size_t from, size_t to)
{
    if (to <= from + 1 || to > run->count) {
        return NAN;
    }
    double n = (double)(to - from), t = 0, y = 0, tt = 0, ty = 0, origin_s = run->points[from].time_s;
    for (size_t i = from; i < to; i++) {
        double time_s = run->points[i].time_s - origin_s;
        t += time_s;
        y += run->points[i].temperature_C;
        tt += time_s * time_s;
        ty += time_s * run->points[i].temperature_C;
    }
    double spread = n * tt - t * t;
    return spread > 0 ? (n * ty - t * y) / spread : (double)NAN;
}

judge_channel judge_total(const ovp_trace_judge *judge, judge_channel_id id, double from_s, double to_s)
{
    judge_channel total = {.low = INFINITY, .high = -INFINITY};
    for (size_t i = 0; i < judge->block_count; i++) {
        const judge_block *block = &judge->blocks[i];
        const judge_channel *channel = &block->channel[id];
        if (block->to_s < from_s || block->from_s > to_s || !channel->count) {
            continue;
        }
        total.sum += channel->sum;
        total.count += channel->count;
        total.low = fmin(total.low, channel->low);
        total.high = fmax(total.high, channel->high);
    }
    return total;
}

/* ---- start and time zero --------------------------------------------------------------------------- */

/* Where the line through the first rising points meets the level before: sparse logs blur the moment. */
static double meet_level(const judge_run *run, size_t rising, double level_C)
{
    const judge_point *a = &run->points[rising],
                      *b = &run->points[rising + 1 < run->count ? rising + 1 : rising];
    double before_s = run->points[rising - 1].time_s;
    double slope =
        b->time_s > a->time_s ? (b->temperature_C - a->temperature_C) / (b->time_s - a->time_s) : 0;
    if (slope <= 0) {
        return before_s;
    }
    return fmin(fmax(a->time_s - (a->temperature_C - level_C) / slope, before_s), a->time_s);
}

static double first_rise(const judge_run *run)
{
    double resolution_C = run->resolution_C;
    double height_C = fmax(LIMIT(rise_C), fmax(3 * resolution_C, 5 * run->noise_C));
    double floor_C = INFINITY;
    for (size_t i = 0; i < run->count; i++) {
        double here_C = run->points[i].temperature_C;
        floor_C = fmin(floor_C, here_C);
        bool stays = i + 1 >= run->count || run->points[i + 1].temperature_C >= here_C - height_C / 2;
        if (here_C < floor_C + height_C || !stays || !i) {
            continue;
        }
        size_t low = i;
        while (low > 0 &&
               run->points[low].temperature_C > floor_C + fmax(resolution_C, fmax(2 * run->noise_C, 0.3))) {
            low--;
        }
        return meet_level(run, low + 1, run->points[low].temperature_C);
    }
    return NAN;
}

static void find_zero(ovp_trace_judge *judge)
{
    judge_run *run = &judge->run;
    run->time_zero_s = judge->counters.first_output_s;
    if (isnan(run->time_zero_s) && !judge->counters.has[CHANNEL_OUTPUT]) {
        run->time_zero_s = first_rise(run);
        if (judge->expectation.heat_from_start && !isnan(run->time_zero_s))
            run->time_zero_s = run->points[0].time_s; /* the person's own start, not one drawn back to */
    }
    run->zero = run->count;
    if (isnan(run->time_zero_s)) {
        run->start_C = run->count ? run->points[0].temperature_C : (double)NAN;
        return;
    }
    for (size_t i = run->count; i > 0 && run->points[i - 1].to_s >= run->time_zero_s; i--) {
        run->zero = i - 1;
    }
    size_t at = run->zero < run->count ? run->zero : run->count;
    if (at > 0 && (at == run->count || run->points[at].from_s > run->time_zero_s)) {
        at--;
    }
    run->start_C = run->count ? run->points[at].temperature_C : (double)NAN;
}

static bool is_cold_start(const ovp_trace_judge *judge)
{
    const judge_run *run = &judge->run;
    if (!run->count) {
        return false;
    }
    double first_C = run->points[0].temperature_C;
    if (first_C >= LIMIT(cold_low_C) && first_C <= LIMIT(cold_high_C)) {
        return true;
    }
    if (fabs(first_C - judge->expectation.ambient_C) <= LIMIT(cold_within_C)) {
        return true;
    }
    double cold_C = judge_mean(&judge->blocks[0].channel[CHANNEL_COLD]);
    return fabs(first_C - cold_C) <= LIMIT(cold_within_C);
}

/* ---- the first climb ------------------------------------------------------------------------------- */

/* Mean output over a minute from `index`: a cycling output is not an output that fell. */
static double output_ahead(const judge_run *run, size_t index)
{
    double sum = 0;
    size_t count = 0;
    for (size_t i = index;
         i < run->count && (run->points[i].time_s < run->points[index].time_s + 60 || count < 2); i++) {
        if (!isnan(run->points[i].output_percent)) {
            sum += run->points[i].output_percent;
            count++;
        }
    }
    return count ? sum / (double)count : (double)NAN;
}

static bool climb_ends(const judge_run *run, size_t i, double level_percent, double top_C)
{
    /* Without an output column nothing tells where the controller begins to throttle. */
    bool blind = isnan(level_percent);
    const judge_point *point = &run->points[i];
    if (point->temperature_C < top_C - LIMIT(lost_fall_C)) {
        return true;
    }
    if (point->temperature_C >
        point->setpoint_C -
            fmax(blind ? 20 : 5, (blind ? 0.08 : 0.01) * (point->setpoint_C - run->start_C))) {
        return true;
    }
    /* An output that nobody noted any more ends it, too. */
    return !isnan(level_percent) && !(output_ahead(run, i) >= 0.9 * level_percent);
}

/* Where nothing tells the end of the climb: 85 % of the way to the top. */
static size_t climb_end_blind(const judge_run *run)
{
    double mark_C = run->start_C + 0.85 * (run->top_C - run->start_C);
    for (size_t i = run->zero; i < run->count; i++) {
        if (run->points[i].temperature_C >= mark_C) {
            return i + 1;
        }
    }
    return run->count;
}

static double steepest(const judge_run *run)
{
    double best = NAN;
    for (size_t i = run->zero, j = i; i < run->climb_end; i++) {
        while (j < run->climb_end && run->points[j].time_s < run->points[i].time_s + 60) {
            j++;
        }
        if (j >= run->climb_end || j == i) {
            break;
        }
        double slope = (run->points[j].temperature_C - run->points[i].temperature_C) /
                       (run->points[j].time_s - run->points[i].time_s);
        best = isnan(best) ? slope : fmax(best, slope);
    }
    return best;
}

static void find_climb(ovp_trace_judge *judge)
{
    judge_run *run = &judge->run;
    bool told = judge->counters.has[CHANNEL_OUTPUT] || judge->counters.has[CHANNEL_SETPOINT];
    run->climb_end = run->zero;
    run->climb_output = run->climb_slope_C_per_s = NAN;
    if (run->zero >= run->count) {
        return;
    }
    double level = output_ahead(run, run->zero), top_C = -INFINITY, sum = 0;
    size_t i = run->zero, outputs = 0;
    for (; i < run->count; i++) {
        top_C = fmax(top_C, run->points[i].temperature_C);
        if (climb_ends(run, i, level, top_C)) {
            break;
        }
        if (!isnan(run->points[i].output_percent)) {
            sum += run->points[i].output_percent;
            outputs++;
        }
    }
    run->climb_end = told ? i : climb_end_blind(run);
    if (outputs) {
        run->climb_output = sum / (double)outputs / 100;
    }
    size_t last = run->climb_end > run->zero ? run->climb_end - 1 : run->zero;
    run->climb_full = run->climb_end >= run->zero + 2 && run->points[last].temperature_C - run->start_C >= 30;
    run->climb_slope_C_per_s = steepest(run);
}

/* ---- the hold -------------------------------------------------------------------------------------- */

static double hold_band(const judge_run *run, double at_C)
{
    return fmax(LIMIT(hold_within_C), LIMIT(overshoot_share) * (at_C - run->start_C));
}

/* The longest stretch near one setpoint; a short leap out of the band does not end it. */
static void hold_at_setpoint(judge_run *run)
{
    size_t from = 0, last_in = 0;
    bool open = false;
    for (size_t i = run->zero; i < run->count; i++) {
        const judge_point *point = &run->points[i];
        if (isnan(point->setpoint_C)) {
            continue;
        }
        bool moved = open && fabs(point->setpoint_C - run->points[from].setpoint_C) > 2;
        bool in = fabs(point->temperature_C - point->setpoint_C) <= hold_band(run, point->setpoint_C);
        if (open && (moved || (!in && point->time_s > run->points[last_in].time_s + 120))) {
            open = false;
        }
        if (in && !open) {
            open = true;
            from = i;
        }
        if (in) {
            last_in = i;
        }
        if (open && run->points[last_in].time_s - run->points[from].time_s >
                        (run->hold_to > run->hold_from
                             ? run->points[run->hold_to - 1].time_s - run->points[run->hold_from].time_s
                             : LIMIT(hold_least_s))) {
            run->hold_from = from;
            run->hold_to = last_in + 1;
        }
    }
}

static void hold_without_setpoint(judge_run *run)
{
    size_t j = 0;
    for (size_t i = run->climb_end > run->zero ? run->climb_end - 1 : run->count; i < run->count; i = j) {
        double low = run->points[i].temperature_C, high = low, band = 2 * hold_band(run, low);
        for (j = i; j < run->count; j++) {
            low = fmin(low, run->points[j].temperature_C);
            high = fmax(high, run->points[j].temperature_C);
            if (high - low > band) {
                break;
            }
        }
        double length = run->points[j - 1].time_s - run->points[i].time_s;
        double best = run->hold_to > run->hold_from
                          ? run->points[run->hold_to - 1].time_s - run->points[run->hold_from].time_s
                          : 2 * LIMIT(hold_least_s);
        if (length > best && low - run->start_C > 60) {
            run->hold_from = i;
            run->hold_to = j;
        }
        if (j == i) {
            j++;
        }
    }
}

void judge_run_make(ovp_trace_judge *judge)
{
    judge_run *run = &judge->run;
    const judge_counters *c = &judge->counters;
    memset(run, 0, sizeof *run);
    run->noise_C = c->noise_count > 20 ? sqrt(c->noise_sum / (double)c->noise_count / 6) : 0;
    run->resolution_C =
        fmin(c->resolution_C, LIMIT(resolution_C)); /* few points differ by much, whatever the display */
    make_points(judge);
    find_zero(judge);
    run->cold_start = is_cold_start(judge);
    run->top_C = -INFINITY;
    run->low_C = INFINITY;
    for (size_t i = 0; i < run->count; i++) {
        run->top_C = fmax(run->top_C, run->points[i].temperature_C);
        run->low_C = fmin(run->low_C, run->points[i].temperature_C);
    }
    find_climb(judge);
    if (c->has[CHANNEL_SETPOINT]) {
        hold_at_setpoint(run);
    } else {
        hold_without_setpoint(run);
    }
}
