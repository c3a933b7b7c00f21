/* finding_scatter.c: jumps, noisy, stuck. */
#include "judge_internal.h"

#include <math.h>

static void find_jumps(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_counters *c = &judge->counters;
    if (c->began_with_glitch) {
        judge_warn(result, "the first reading is far from the second and was left out");
    }
    if (c->readings < 10 || c->interval_s > LIMIT(jump_interval_s)) {
        return;
    }
    if (!c->jumps) {
        judge_find(result, "jumps", "none", NAN, NAN);
        return;
    }
    judge_say(result, "jumps", "jumps", c->jump_first_s, c->jump_largest_C,
              "%s jump%s faster than heat can move it, first after %s, the largest %s between two samples %s "
              "apart%s%s",
              judge_fixed((double)c->jumps, 0).text, c->jumps == 1 ? "" : "s",
              judge_duration(c->jump_first_s).text, judge_difference(judge, fabs(c->jump_largest_C)).text,
              judge_duration(c->jump_largest_s).text, isnan(c->jump_back_s) ? "" : ", and back after ",
              isnan(c->jump_back_s) ? "" : judge_duration(c->jump_back_s).text);
    judge_sure(result, c->jump_first_s, judge_difference_U(&judge->run));
}

/* Of a standard deviation from second differences of white noise, whose squares follow each other: the
 * variance of their mean is 140/36 of sigma^4 over n. */
static double noise_U(const ovp_trace_judge *judge)
{
    return judge->run.noise_C * sqrt(140.0 / 36.0 / (double)judge->counters.noise_count);
}

static void find_noise(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_counters *c = &judge->counters;
    const judge_run *run = &judge->run;
    if (c->noise_count < 60 || c->interval_s > LIMIT(noise_interval_s)) {
        return;
    }
    double edge_C = c->edges ? c->edge_sum / (double)c->edges : 0;
    if (c->edges >= (uint64_t)LIMIT(edges_least) && edge_C >= fmax(LIMIT(edge_C), 2 * run->resolution_C)) {
        judge_say(result, "noisy", "with-output", NAN, edge_C,
                  "the display steps by %s with each switch of the output: it sees the element or picks up "
                  "its current",
                  judge_difference(judge, edge_C).text);
        judge_sure(result, c->first_s, judge_difference_U(run) / sqrt((double)c->edges));
        return;
    }
    if (run->noise_C >= LIMIT(noise_C) && run->noise_C >= LIMIT(noise_resolutions) * run->resolution_C) {
        judge_say(result, "noisy", "noisy", NAN, run->noise_C,
                  "the display scatters by %s (standard deviation)",
                  judge_difference(judge, run->noise_C).text);
        judge_sure(result, c->first_s, noise_U(judge));
        return;
    }
    judge_find(result, "noisy", "quiet", NAN, run->noise_C);
    judge_sure(result, c->first_s, noise_U(judge));
}

/* Longest run of equal codes that chance gives once in a million, at a noise of so many resolutions with the
 * value in the middle of a code: n = ln(1e-6) / ln(erf(1 / (sigmas * sqrt(8)))). */
static double longest_by_chance(double sigmas)
{
    return log(1e-6) / log(erf(1 / (sigmas * sqrt(8))));
}

/* Slope over the two minutes before a moment; 0 when it is not known. */
static double slope_up_to(const judge_run *run, double time_s)
{
    size_t from = 0, to = 0;
    while (to < run->count && run->points[to].time_s <= time_s) {
        to++;
    }
    for (from = to; from > 0 && run->points[from - 1].time_s > time_s - 120;) {
        from--;
    }
    double slope = judge_slope(run, from, to);
    return isnan(slope) ? 0 : slope;
}

static bool is_stuck(const ovp_trace_judge *judge)
{
    const judge_counters *c = &judge->counters;
    const judge_run *run = &judge->run;
    double steps = (double)(c->equal_steps + c->unequal_steps);
    if (c->longest_count < 10 || c->longest_s < LIMIT(stuck_least_s)) {
        return false;
    }
    if (fabs(c->longest_C - c->longest_setpoint_C) < LIMIT(hold_within_C)) {
        return false; /* it rests where it was asked to */
    }
    if (!c->unequal_steps) {
        return c->longest_s >= LIMIT(stuck_all_s);
    }
    /* A live reading of this noise would have moved. The stretch itself does not count for the noise. */
    bool waiting = c->longest_from_s + c->longest_s <= run->time_zero_s + 5; /* a room is quiet */
    double share =
        ((double)c->equal_steps - (double)c->longest_count + 1) / (steps - (double)c->longest_count + 1);
    double noise_C =
        c->noise_count > 60 ? run->noise_C * sqrt(steps / fmax(steps - (double)c->longest_count, 1)) : 0;
    /* Below one resolution the second differences are those of rounding. */
    double sigmas = noise_C / c->resolution_C;
    if (!waiting && share <= LIMIT(stuck_share_equal) && sigmas >= 1 &&
        (double)c->longest_count > longest_by_chance(sigmas)) {
        return true;
    }
    /* Heat was called all the while, and the slope before says what was due: a ceiling is come to slowly. */
    double due_C = 0.2 * slope_up_to(run, c->longest_from_s) * c->longest_called_s;
    return run->rises && due_C >= fmax(LIMIT(stuck_moves_C), 5 * c->resolution_C);
}

static void find_stuck(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_counters *c = &judge->counters;
    if (c->readings < 30) {
        return;
    }
    if (is_stuck(judge)) {
        judge_say(result, "stuck", "stuck", c->longest_from_s, c->longest_C,
                  "the display stood at exactly %s for %s from %s on; a live reading moves",
                  judge_temperature(judge, c->longest_C).text, judge_duration(c->longest_s).text,
                  judge_duration(c->longest_from_s).text);
        judge_sure(result, c->longest_from_s, 2 * judge->counters.resolution_C / sqrt(12));
    } else {
        judge_find(result, "stuck", "moves", NAN, NAN);
    }
}

void judge_findings_scatter(ovp_trace_judge *judge, ovp_trace_result *result)
{
    find_jumps(judge, result);
    find_noise(judge, result);
    find_stuck(judge, result);
}
