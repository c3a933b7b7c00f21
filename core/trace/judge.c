/* judge.c: takes samples one at a time; what needs every sample is counted here. */
#include "judge_internal.h"

#include <float.h>
#include <math.h>
#include <string.h>

enum {
    OUTPUT_LEAST = -1, /* what is outside is no percentage */
    OUTPUT_MOST = 110,
    EDGE_PERCENT = 50, /* a step of the output that counts as switching */
};

/* Two readings are the same: less than any display parts. */
static const double SAME_C = 1e-6;

size_t ovp_trace_judge_size(void)
{
    return sizeof(ovp_trace_judge);
}

/* A degree inside the ends, so that no rounding matters. */
static void set_inner(ovp_trace_judge *judge)
{
    const judge_ends nearest = judge_ends_nearest(judge->ends);
    judge->inner_low_C = nearest.low_C + LIMIT(open_within_C) + 1;
    judge->inner_high_C = nearest.high_C - LIMIT(open_within_C) - 1;
}

static void set_jump_rate(ovp_trace_judge *judge)
{
    double rate = judge_heating_rate(judge->expectation.model);
    judge->jump_rate_C_per_s = rate > LIMIT(jump_rate_C_per_s) ? rate : LIMIT(jump_rate_C_per_s);
}

ovp_trace_judge *ovp_trace_judge_init(void *memory, const ovp_trace_expectation *expectation)
{
    ovp_trace_judge *judge = memory;
    memset(judge, 0, sizeof *judge);
    judge->expectation = *expectation;
    judge->shown = expectation->shown;
    judge->block_samples = 1;
    judge_counters *c = &judge->counters;
    c->resolution_C = INFINITY;
    c->first_s = c->first_output_s = c->jump_first_s = c->jump_back_s = c->clock_first_s = c->gap_first_s =
        NAN;
    c->rail_low_first_s = c->rail_high_first_s = c->last_output = NAN;
    for (size_t i = 0; i < JUDGE_CELLS; i++) {
        c->word_first_s[i] = NAN;
    }
    judge->ends = judge_ends_of(expectation->oven);
    set_inner(judge);
    set_jump_rate(judge);
    return judge;
}

/* ---- the clock ------------------------------------------------------------------------------------ */

static void take_interval(judge_counters *c, double step_s)
{
    if (c->interval_s <= 0) {
        c->interval_s = step_s;
        return;
    }
    if (step_s == c->interval_s) {
        return;
    }
    /* A running median: every step moves it by a share that shrinks, so that it settles and still follows. */
    double share = fmax(0.5 / (double)(c->samples + 1), 0.01);
    c->interval_s *= step_s > c->interval_s ? 1 + share : 1 - share;
}

/* Time on one forward axis: a clock that steps back or leaps goes on where it was. */
static double take_clock(judge_counters *c, double raw_s)
{
    if (isnan(c->first_s)) {
        c->first_s = c->last_s = raw_s;
        return raw_s;
    }
    double step_s = raw_s + c->shift_s - c->last_s;
    if (step_s < 0 || step_s > LIMIT(clock_leap_s)) {
        c->clock_first_s = c->clock_steps++ ? c->clock_first_s : c->last_s;
        c->shift_s -= step_s - c->interval_s;
        step_s = c->interval_s;
    }
    if (c->interval_s > 0 && step_s > LIMIT(gap_intervals) * c->interval_s && step_s > LIMIT(gap_least_s) &&
        c->samples > 3) {
        c->gap_first_s = c->gaps++ ? c->gap_first_s : c->last_s;
        c->gap_longest_s = fmax(c->gap_longest_s, step_s);
        c->has_step = false;
    } else if (step_s > 0) {
        take_interval(c, step_s);
    }
    c->last_s += step_s;
    return c->last_s;
}

/* ---- words and ends -------------------------------------------------------------------------------- */

static void take_word(judge_counters *c, ovp_trace_cell cell, double time_s)
{
    if (cell == OVP_TRACE_EMPTY || cell == OVP_TRACE_NUMBER || cell > OVP_TRACE_ERROR) {
        return;
    }
    c->words++;
    c->word_count[cell]++;
    if (cell != OVP_TRACE_UNDER) {
        c->open_episodes += !c->last_was_open;
        c->last_was_open = true;
    }
    if (isnan(c->word_first_s[cell])) {
        c->word_first_s[cell] = time_s;
    }
}

/* ---- readings -------------------------------------------------------------------------------------- */

static inline void take_equal(judge_counters *c, const ovp_trace_sample *sample, double time_s, double step_s,
                              bool equal)
{
    if (!equal) {
        c->equal_count = 0;
        c->unequal_steps++;
        return;
    }
    bool first = c->equal_count == 0;
    bool below =
        !isnan(sample->setpoint_C) && sample->temperature_C < sample->setpoint_C - LIMIT(below_setpoint_C);
    bool called = sample->output_percent >= 50 || (isnan(sample->output_percent) && below);
    c->equal_from_s = first ? time_s - step_s : c->equal_from_s;
    c->equal_called_s = (first ? 0 : c->equal_called_s) + (called ? step_s : 0);
    c->equal_count++;
    c->equal_steps++;
    if (time_s - c->equal_from_s > c->longest_s) {
        c->longest_from_s = c->equal_from_s;
        c->longest_s = time_s - c->equal_from_s;
        c->longest_C = sample->temperature_C;
        c->longest_setpoint_C = sample->setpoint_C;
        c->longest_called_s = c->equal_called_s;
        c->longest_count = c->equal_count + 1;
    }
}

static double noise_so_far(const judge_counters *c)
{
    return c->noise_count > 20 ? sqrt(c->noise_sum / (double)c->noise_count / 6) : 0;
}

/* True when the step undoes most of a jump just before: slower than a jump where the log pauses in between.
 */
static bool take_way_back(judge_counters *c, double step_C)
{
    if (!c->jumps || c->last_s - c->jump_last_s > LIMIT(jump_back_s) || fabs(step_C) < LIMIT(jump_least_C) ||
        step_C * c->jump_last_C > 0 || fabs(step_C) < 0.5 * fabs(c->jump_last_C)) {
        return false;
    }
    if (isnan(c->jump_back_s) && c->jump_last_C == c->jump_largest_C) {
        c->jump_back_s = c->last_s - c->jump_last_s;
    }
    c->jump_last_C = 0;
    return true;
}

/* True when the step is too fast to be heat, or the way back; asked only of steps of jump_least_C and more.
 */
static bool take_jump(ovp_trace_judge *judge, double step_C, double step_s)
{
    judge_counters *c = &judge->counters;
    if (step_s > LIMIT(jump_interval_s)) {
        return false;
    }
    double limit = fmax(LIMIT(jump_least_C), judge->jump_rate_C_per_s * step_s);
    limit = fmax(limit, LIMIT(jump_sigmas) * noise_so_far(c));
    if (fabs(step_C) <= limit) {
        return take_way_back(c, step_C);
    }
    if (c->readings == 1) {
        c->began_with_glitch = true; /* a first sample that is nonsense is the logger's start, no fault */
        return true;
    }
    c->jump_first_s = c->jumps++ ? c->jump_first_s : c->last_s;
    c->jump_last_C = step_C;
    c->jump_last_s = c->last_s;
    if (fabs(step_C) > fabs(c->jump_largest_C)) {
        c->jump_largest_C = step_C;
        c->jump_largest_s = step_s;
        c->jump_back_s = NAN;
    }
    return true;
}

static inline void take_noise(judge_counters *c, const ovp_trace_sample *sample, double step_C, double step_s)
{
    if (c->has_step && step_s > 0 && fabs(step_s - c->step_s) < 0.2 * c->interval_s) {
        double second = step_C - c->step_C;
        c->noise_sum += second * second;
        c->noise_count++;
        if (sample->output_percent < LIMIT(output_on_percent)) {
            c->noise_off_sum += second * second;
            c->noise_off_count++;
        }
    }
    c->has_step = true;
    c->step_C = step_C;
    c->step_s = step_s;
}

/* The display's step where the output was switched. */
static void take_edge(judge_counters *c, const ovp_trace_sample *sample, double step_C)
{
    if (fabs(sample->output_percent - c->last_output) >= EDGE_PERCENT) {
        c->edge_sum += sample->output_percent > c->last_output ? step_C : -step_C;
        c->edges++;
    }
}

static void take_reading(ovp_trace_judge *judge, const ovp_trace_sample *sample, double time_s)
{
    judge_counters *c = &judge->counters;
    if (c->has_last) {
        double step_C = sample->temperature_C - c->last_C, step_s = time_s - c->last_reading_s;
        bool finer = fabs(step_C) < c->resolution_C;
        if (finer & (fabs(step_C) > SAME_C)) {
            c->resolution_C = fabs(step_C);
        }
        bool pause = step_s > LIMIT(gap_intervals) * c->interval_s && step_s > LIMIT(gap_least_s);
        take_equal(c, sample, time_s, step_s, fabs(step_C) <= SAME_C && !pause);
        if (pause || (fabs(step_C) >= LIMIT(jump_least_C) && take_jump(judge, step_C, step_s))) {
            c->has_step = false;
        } else {
            take_noise(c, sample, step_C, step_s);
            take_edge(c, sample, step_C);
        }
    }
    c->readings++;
    c->last_C = sample->temperature_C;
    c->last_reading_s = time_s;
    c->has_last = true;
}

static void take_rail(judge_counters *c, bool high, double time_s)
{
    c->rails++;
    if (high) {
        c->open_episodes += !c->last_was_open;
        c->last_was_open = true;
        c->rail_high_first_s = c->rail_high++ ? c->rail_high_first_s : time_s;
    } else {
        c->rail_low_first_s = c->rail_low++ ? c->rail_low_first_s : time_s;
    }
    c->has_last = c->has_step = false;
    c->equal_count = 0;
}

void ovp_trace_judge_sample(ovp_trace_judge *judge, const ovp_trace_sample *sample)
{
    judge_counters *c = &judge->counters;
    double time_s = take_clock(c, sample->time_s), value_C = sample->temperature_C;
    bool low = false, high = false;
    if (sample->output_percent < OUTPUT_LEAST || sample->output_percent > OUTPUT_MOST) {
        c->bad_outputs++;
    }
    if (isnan(c->first_output_s) && sample->output_percent >= LIMIT(output_on_percent)) {
        c->first_output_s = time_s;
    }
    if (value_C > judge->inner_low_C && value_C < judge->inner_high_C) {
        c->last_was_open = false;
        take_reading(judge, sample, time_s);
    } else if (!isfinite(value_C)) {
        take_word(c, sample->cell, time_s);
        c->has_last = c->has_step = false;
        c->equal_count = 0;
    } else {
        high = judge_at_high_end(judge->ends, value_C);
        low = judge_at_low_end(judge->ends, value_C);
        if (high || low) {
            take_rail(c, high, time_s);
        } else {
            c->last_was_open = false;
            take_reading(judge, sample, time_s);
        }
    }
    judge_block_take(judge, sample, time_s, low, high);
    if (!isnan(sample->element_A)) {
        judge_flicker_take(c, sample, time_s);
    }
    c->last_output = sample->output_percent;
    c->samples++;
}

/* ---- many at once ---------------------------------------------------------------------------------- */

/* Nothing happens that is worth a note: no jump, edge, word or end of the input, no meter; the output is in
 * its range and below a bound. */
static inline bool is_quiet(const ovp_trace_judge *judge, const ovp_trace_sample *sample, double below)
{
    const judge_counters *c = &judge->counters;
    double output = sample->output_percent, step_C = fabs(sample->temperature_C - c->last_C);
    bool finer = step_C < c->resolution_C && step_C > SAME_C;
    bool edge = fabs(output - c->last_output) >= EDGE_PERCENT;
    bool meters = !isnan(sample->supply_V) || !isnan(sample->element_A);
    return sample->temperature_C > judge->inner_low_C && sample->temperature_C < judge->inner_high_C &&
           step_C < LIMIT(jump_least_C) && !finer && !edge && !(output < OUTPUT_LEAST) &&
           !(output >= below) && !meters;
}

/* Takes samples as long as they are quiet and the block has room; says how many. */
static size_t take_quiet(ovp_trace_judge *judge, const ovp_trace_sample samples[], size_t count)
{
    judge_counters *c = &judge->counters;
    size_t room = judge_block_room(judge), taken = 0;
    double sum_s = room > 0 ? judge->block->sum_s : 0;
    double below = isnan(c->first_output_s) ? LIMIT(output_on_percent) : nextafter(OUTPUT_MOST, INFINITY);
    if (!c->has_last) {
        return 0;
    }
    for (count = count < room ? count : room; taken < count; taken++) {
        const ovp_trace_sample *sample = &samples[taken];
        double clock_s = sample->time_s + c->shift_s - c->last_s, time_s = c->last_s + clock_s;
        double step_s = time_s - c->last_s; /* rounded as that between readings is */
        bool in_time = clock_s > 0 && clock_s <= LIMIT(gap_least_s) && step_s <= LIMIT(gap_least_s);
        if (!in_time || !is_quiet(judge, sample, below)) {
            break;
        }
        if (clock_s != c->interval_s) {
            take_interval(c, clock_s);
        }
        c->last_s = time_s;
        sum_s += time_s;
        double step_C = sample->temperature_C - c->last_C;
        take_equal(c, sample, time_s, step_s, fabs(step_C) <= SAME_C);
        take_noise(c, sample, step_C, step_s);
        c->last_C = sample->temperature_C;
        c->last_output = sample->output_percent;
        c->samples++;
    }
    if (taken > 0) {
        c->readings += taken;
        c->last_reading_s = c->last_s;
        c->last_was_open = false;
        judge_block_take_quiet(judge->block, samples, taken, c->last_s, sum_s);
    }
    return taken;
}

void ovp_trace_judge_samples(ovp_trace_judge *judge, const ovp_trace_sample samples[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        i += take_quiet(judge, &samples[i], count - i);
        if (i < count) {
            ovp_trace_judge_sample(judge, &samples[i]);
        }
    }
}

/* ---- the end --------------------------------------------------------------------------------------- */

static void result_clear(ovp_trace_result *result)
{
    memset(result, 0, sizeof *result);
    result->power_ratio = result->power_ratio_uncertainty = NAN;
    result->time_zero_s = result->start_C = result->hold_percent = result->hold_C = NAN;
    result->volts_V = result->volts_U_V = result->rated_V = result->asked_V = NAN;
    result->hold_from_s = result->hold_to_s = result->dead_time_s = result->overshoot_C = result->end_C = NAN;
}

static void result_of_run(const ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    result->cold_start = run->cold_start;
    result->time_zero_s = run->time_zero_s;
    result->start_C = run->start_C;
    if (run->count) {
        result->end_C = run->points[run->count - 1].temperature_C;
    }
    result->called_at_end =
        judge->block_count && judge_called_at(run, run->count ? run->count - 1 : 0) == CALLED_YES;
}

/* The first climb, for another run to be judged beside; none where it would mislead. */
static void result_curve(const judge_run *run, ovp_trace_result *result)
{
    if (!run->climb_full || !run->cold_start || run->backwards) {
        return;
    }
    size_t span = run->climb_end > run->zero ? run->climb_end - run->zero : 0;
    size_t stride = span / OVP_TRACE_CURVE + 1;
    for (size_t i = run->zero; i < run->climb_end && result->curve_count < OVP_TRACE_CURVE; i += stride) {
        result->curve_s[result->curve_count] = run->points[i].time_s - run->time_zero_s;
        result->curve_C[result->curve_count++] = run->points[i].temperature_C;
    }
}

/* Which columns held a value at all. */
static void note_columns(ovp_trace_judge *judge)
{
    for (size_t id = 0; id < CHANNELS; id++) {
        judge->counters.has[id] = judge_total(judge, (judge_channel_id)id, -INFINITY, INFINITY).count > 0;
    }
}

void ovp_trace_judge_result(ovp_trace_judge *judge, ovp_trace_result *result)
{
    result_clear(result);
    judge_blocks_tell(judge);
    note_columns(judge);
    if (judge->counters
            .bad_outputs) { /* a raw number of a control program: it does not say what was called for */
        judge->counters.has[CHANNEL_OUTPUT] = false;
        judge->counters.first_output_s = NAN;
        judge_warn(result, "the output column is no percentage (%s values outside 0 to 100): it is not used",
                   judge_fixed((double)judge->counters.bad_outputs, 0).text);
    }
    judge_run_make(judge);
    judge_reference_make(judge);
    result_of_run(judge, result);
    judge_findings_clock(judge, result);
    judge_findings_input(judge, result);
    judge_findings_polarity(judge, result);
    judge_findings_scatter(judge, result);
    judge_findings_cold(judge, result);
    judge_findings_rise(judge, result);
    judge_findings_stalled(judge, result);
    judge_findings_electrical(judge, result);
    judge_findings_flicker(judge, result);
    judge_findings_power(judge, result);
    judge_findings_delay(judge, result);
    judge_findings_plateau(judge, result);
    judge_findings_hold(judge, result);
    judge_findings_loss(judge, result);
    judge_findings_cooling(judge, result);
    judge_milestones(judge, result);
    judge_findings_blind(judge, result);
    judge_sure_all(judge, result);
    judge_proofs(judge, result);
    result_curve(&judge->run, result);
}

size_t ovp_trace_judge_outline(const ovp_trace_judge *judge, ovp_trace_sample points[], size_t capacity)
{
    if (!capacity) {
        return 0;
    }
    size_t stride = (judge->block_count + capacity - 1) / capacity, count = 0;
    for (size_t i = 0; i < judge->block_count; i += stride ? stride : 1) {
        const judge_block *block = &judge->blocks[i];
        points[count++] = (ovp_trace_sample){
            .time_s = block->sum_s / (double)block->samples,
            .temperature_C = judge_mean(&block->channel[CHANNEL_TEMPERATURE]),
            .setpoint_C = judge_mean(&block->channel[CHANNEL_SETPOINT]),
            .output_percent = judge_mean(&block->channel[CHANNEL_OUTPUT]),
            .supply_V = judge_mean(&block->channel[CHANNEL_VOLTS]),
            .element_A = judge_mean(&block->channel[CHANNEL_AMPS]),
            .cold_junction_C = judge_mean(&block->channel[CHANNEL_COLD]),
            .cell = block->channel[CHANNEL_TEMPERATURE].count ? OVP_TRACE_NUMBER : OVP_TRACE_EMPTY,
        };
    }
    return count;
}
