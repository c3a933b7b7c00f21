/* firing.c: a recorded run held against a plan: the legs are looked for in order. */
#include "firing_internal.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

typedef struct judging {
    ovp_trace_firing *run;
    const ovp_trace_firing_facts *facts;
    ovp_trace_firing_result *result;
    size_t start;      /* point at which the heat goes on */
    size_t at;         /* point up to which the plan has been followed */
    size_t last_at;    /* and before the last leg */
    double full_W;     /* NAN not known */
    double in_C_per_s; /* of the last ramp, as run */
} judging;

typedef struct words {
    char text[64];
} words;

static words shown(const judging *j, double value_C)
{
    words made;
    ovp_text_format_temperature(value_C, j->facts->shown, 0, made.text, sizeof made.text);
    return made;
}

static words shown_difference(const judging *j, double value_C)
{
    words made;
    ovp_text_format_difference(value_C, j->facts->shown, 0, made.text, sizeof made.text);
    return made;
}

static words minutes(double value_s)
{
    words made;
    const long whole = lround(fmin(fabs(value_s), 1e9) / 60);
    if (whole < 60) {
        snprintf(made.text, sizeof made.text, "%ld min", whole);
    } else if (whole % 60 == 0) {
        snprintf(made.text, sizeof made.text, "%ld h", whole / 60);
    } else {
        snprintf(made.text, sizeof made.text, "%ld h %02ld min", whole / 60, whole % 60);
    }
    return made;
}

static void say(ovp_trace_firing_step *step, const char *format, ...) OVP_PRINTF(2, 3);

static void say(ovp_trace_firing_step *step, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(step->text, sizeof step->text, format, arguments);
    va_end(arguments);
}

static void set_state(ovp_trace_firing_step *step, ovp_trace_firing_state state)
{
    step->state = state > step->state ? state : step->state;
}

/* ---- points ----------------------------------------------------------------------------------------------
 */

static void make_points(judging *j)
{
    ovp_trace_firing *run = j->run;
    double energy_J = 0, gap_s = 0, outputs_s = 0;
    run->points = 0;
    for (size_t i = 0; i < run->count; i++) {
        outputs_s += run->blocks[i].outputs_s;
    }
    j->full_W = !isnan(j->facts->full_W) ? j->facts->full_W
                : run->most_volt_amp > 0 ? run->most_volt_amp
                                         : (double)NAN;
    for (size_t i = 0; i < run->count; i++) {
        const firing_block *block = &run->blocks[i];
        const double own_J = outputs_s > 0 ? j->full_W * block->output_s : block->volt_amp_J;
        const double over_s = outputs_s > 0 ? block->outputs_s : block->amps_s;
        energy_J += isnan(own_J) ? 0 : own_J;
        gap_s = fmax(gap_s, block->gap_s);
        if (block->readings <= 0) {
            continue;
        }
        run->time_s[run->points] = block->sum_s / block->readings;
        run->mean_C[run->points] = block->sum_C / block->readings;
        run->gap_before_s[run->points] = gap_s;
        run->energy_J[run->points] = energy_J;
        run->power_W[run->points] = over_s > 0 ? own_J / over_s : (double)NAN;
        run->points++;
        gap_s = 0;
    }
    if (!(outputs_s > 0) && !(run->most_volt_amp > 0)) {
        j->full_W = NAN;
    }
}

static bool has_power(const judging *j)
{
    return !isnan(j->full_W);
}

/* The last point before it has risen clear of the start: heat goes on there. */
static size_t find_start(const judging *j)
{
    const ovp_trace_firing *run = j->run;
    double low_C = run->mean_C[0];
    size_t low = 0;
    for (size_t i = 0; i < run->points; i++) {
        if (run->mean_C[i] <= low_C + 0.3) {
            low = i;
            low_C = fmin(low_C, run->mean_C[i]);
        } else if (run->mean_C[i] > low_C + FIRING_LIMIT(heat_on_C)) {
            return low;
        }
    }
    return run->points;
}

static double between(const judging *j, size_t i, double time_s)
{
    const ovp_trace_firing *run = j->run;
    while (i + 1 < run->points && run->time_s[i + 1] < time_s) {
        i++;
    }
    if (i + 1 >= run->points) {
        return run->mean_C[run->points - 1];
    }
    const double span_s = run->time_s[i + 1] - run->time_s[i];
    return run->mean_C[i] +
           fmin(1, (time_s - run->time_s[i]) / span_s) * (run->mean_C[i + 1] - run->mean_C[i]);
}

/* When it first passes a level going up (or down) from point `from` on; NAN never. The point after it in *at.
 */
static double passes(const judging *j, size_t from, double level_C, bool down, size_t *at)
{
    const ovp_trace_firing *run = j->run;
    for (size_t i = from; i < run->points; i++) {
        if (down ? run->mean_C[i] > level_C : run->mean_C[i] < level_C) {
            continue;
        }
        *at = i;
        if (i == from || i == 0) {
            return run->time_s[i];
        }
        const double step_C = run->mean_C[i] - run->mean_C[i - 1];
        const double share = step_C != 0 ? (level_C - run->mean_C[i - 1]) / step_C : 1;
        return run->time_s[i - 1] + fmin(fmax(share, 0), 1) * (run->time_s[i] - run->time_s[i - 1]);
    }
    return NAN;
}

static bool has_gap(const judging *j, double from_s, double to_s)
{
    const ovp_trace_firing *run = j->run;
    const double most_s =
        fmax(FIRING_LIMIT(gap_s),
             FIRING_LIMIT(gap_intervals) * (isnan(j->facts->interval_s) ? 0 : j->facts->interval_s));
    for (size_t i = 1; i < run->points; i++) {
        if (run->time_s[i] > from_s && run->time_s[i - 1] < to_s && run->gap_before_s[i] > most_s) {
            return true;
        }
    }
    return false;
}

static double rounding_s(const judging *j)
{
    return fmax(FIRING_LIMIT(rounding_s), isnan(j->facts->interval_s) ? 0 : fmin(j->facts->interval_s, 300));
}

/* ---- ramps ------------------------------------------------------------------------------------------------
 */

/* The most that it rose in any window between two times. */
static double most_rise(const judging *j, double from_s, double to_s, double window_s, double *at_C)
{
    const ovp_trace_firing *run = j->run;
    double most_C = 0;
    for (size_t i = j->last_at; i < run->points && run->time_s[i] <= to_s; i++) {
        if (run->time_s[i] < from_s) {
            continue;
        }
        const double end_s = fmin(run->time_s[i] + window_s, to_s);
        const double rise_C = between(j, i, end_s) - run->mean_C[i];
        if (rise_C > most_C) {
            most_C = rise_C;
            *at_C = run->mean_C[i];
        }
    }
    return most_C;
}

/* How far it ran, from where the ramp began to the band around its end. */
static double ran_C(const judging *j, const ovp_oven_leg *leg)
{
    const double end_C = leg->to_C + (leg->to_C < leg->from_C ? 1 : -1) * FIRING_LIMIT(band_C);
    return fabs(end_C - j->run->mean_C[j->last_at]);
}

/* Share of a ramp's readings after which it stood nearly still for five minutes, as between two stairs. */
static double still_share(const judging *j, double from_s, double to_s, double C_per_h)
{
    static const double look_s = 300;
    const ovp_trace_firing *run = j->run;
    double still = 0, all = 0;
    for (size_t i = j->last_at; i < run->points && run->time_s[i] + look_s <= to_s; i++) {
        if (run->time_s[i] < from_s) {
            continue;
        }
        all++;
        still += between(j, i, run->time_s[i] + look_s) - run->mean_C[i] < 0.5 * C_per_h * look_s / 3600;
    }
    return all > 0 ? still / all : 0;
}

static void judge_rate(judging *j, const ovp_oven_leg *leg, ovp_trace_firing_step *step, double begun_s)
{
    const double window_s = FIRING_LIMIT(burst_s);
    const double took_s = step->to_s - step->from_s, rise_C = ran_C(j, leg);
    const double rate = leg->per_hour_C;
    const double slowest = rise_C / (took_s + 2 * rounding_s(j)) * 3600;
    step->planned = rate;
    step->found = rise_C / fmax(took_s, 1) * 3600;
    step->unit = "C/h";
    if (leg->to_C < leg->from_C || isnan(rate)) {
        if (slowest > FIRING_LIMIT(rate_share) * rate) {
            set_state(step, OVP_TRACE_FIRING_TOO_FAST);
        }
        return;
    }
    const double end_s = begun_s + step->to_s;
    const double burst_C = most_rise(j, begun_s + step->from_s, end_s, window_s, &step->most_at_C);
    double at_C = NAN;
    const double hour_C = most_rise(j, begun_s + step->from_s, end_s, 3600, &at_C);
    const double stair_C = fmax(FIRING_LIMIT(stair_C), isnan(leg->stair_C) ? 0 : leg->stair_C);
    const bool burst = burst_C > FIRING_LIMIT(burst_share) * rate * window_s / 3600 + FIRING_LIMIT(noise_C);
    step->stairs =
        burst && still_share(j, begun_s + step->from_s, end_s, rate) >= FIRING_LIMIT(still_share) &&
        burst_C <= stair_C + FIRING_LIMIT(noise_C) && hour_C <= FIRING_LIMIT(stair_share) * rate + stair_C;
    step->most_C_per_h = burst_C / window_s * 3600;
    const double stair_s = step->stairs ? stair_C / rate * 3600 : 0; /* a stair leads by its own height */
    const bool fast =
        rise_C / (took_s + 2 * rounding_s(j) + stair_s) * 3600 > FIRING_LIMIT(rate_share) * rate;
    if ((burst && !step->stairs) || fast) {
        set_state(step, OVP_TRACE_FIRING_TOO_FAST);
    } else if (step->found < rate / FIRING_LIMIT(held_share)) {
        set_state(step, OVP_TRACE_FIRING_HELD);
    }
    if (step->state == OVP_TRACE_FIRING_TOO_FAST && !fast) {
        say(step, "rose %s in 15 min near %s", shown_difference(j, burst_C).text,
            shown(j, step->most_at_C).text);
    }
}

static void judge_ramp(judging *j, const ovp_oven_leg *leg, ovp_trace_firing_step *step)
{
    const bool down = leg->to_C < leg->from_C;
    const double band_C = FIRING_LIMIT(band_C), begun_s = j->result->heat_on_s;
    size_t at = j->at;
    const double arrives_s = passes(j, j->at, down ? leg->to_C + band_C : leg->to_C - band_C, down, &at);
    step->from_s = j->run->time_s[j->at] - begun_s;
    if (isnan(arrives_s)) {
        const double last_C = j->run->mean_C[j->run->points - 1];
        step->from_s = step->to_s = NAN;
        set_state(step, OVP_TRACE_FIRING_NOT_YET);
        say(step, down ? "the log ends at %s" : "the run ends before it, at %s", shown(j, last_C).text);
        j->at = j->run->points;
        return;
    }
    step->to_s = arrives_s - begun_s;
    j->last_at = j->at;
    j->at = at;
    j->in_C_per_s = ran_C(j, leg) / fmax(step->to_s - step->from_s, 1);
    step->gap = has_gap(j, step->from_s + begun_s, arrives_s);
    if (!isnan(leg->per_hour_C)) {
        judge_rate(j, leg, step, begun_s);
    }
    if (step->gap && step->state < OVP_TRACE_FIRING_NOT_PROVED) {
        step->state = OVP_TRACE_FIRING_NOT_PROVED;
        say(step, "the log has a hole in it");
    }
}

/* ---- holds ------------------------------------------------------------------------------------------------
 */

/* The next leg that moves, if any. */
static const ovp_oven_leg *next_ramp(const judging *j, size_t leg)
{
    const ovp_oven_plan_review *review = j->facts->review;
    for (size_t i = leg + 1; i < review->leg_count; i++) {
        if (review->legs[i].from_C != review->legs[i].to_C) {
            return &review->legs[i];
        }
    }
    return NULL;
}

static void judge_hold(judging *j, size_t index, ovp_trace_firing_step *step)
{
    const ovp_oven_leg *leg = &j->facts->review->legs[index], *next = next_ramp(j, index);
    const ovp_trace_firing *run = j->run;
    const double band_C = FIRING_LIMIT(band_C), begun_s = j->result->heat_on_s;
    const bool down = next != NULL && next->to_C < leg->to_C;
    size_t past = run->points, leave = j->at;
    if (next != NULL) {
        (void)passes(j, j->at,
                     leg->to_C + (down ? -1 : 1) * fmin(fabs(next->to_C - leg->to_C) / 2, 6 * band_C), down,
                     &past);
    }
    for (size_t i = j->at; i < past; i++) {
        if (down ? run->mean_C[i] >= leg->to_C - band_C : run->mean_C[i] <= leg->to_C + band_C) {
            leave = i;
        }
    }
    double leave_s = run->time_s[leave];
    double out_C_per_s = 0;
    if (past < run->points && leave + 1 < run->points) {
        const double level_C = leg->to_C + (down ? -band_C : band_C);
        const double span_s = run->time_s[leave + 1] - run->time_s[leave];
        out_C_per_s = fabs(run->mean_C[leave + 1] - run->mean_C[leave]) / fmax(span_s, 1);
        leave_s += fmin(1, fabs(level_C - run->mean_C[leave]) / fmax(out_C_per_s * span_s, 1e-6)) * span_s;
    }
    /* a ramp that does not stop takes this long to cross the band */
    const double crossing_s =
        (j->in_C_per_s > 0 ? band_C / j->in_C_per_s : 0) + (out_C_per_s > 0 ? band_C / out_C_per_s : 0);
    const double reached_s = run->time_s[j->at];
    const double held_s =
        fmax(0, leave_s - reached_s - (past < run->points ? fmin(crossing_s, leave_s - reached_s) : 0));
    step->from_s = reached_s - begun_s;
    step->to_s = leave_s - begun_s;
    step->planned = leg->time_s;
    step->found = held_s;
    step->unit = "s";
    step->gap = has_gap(j, reached_s, leave_s);
    j->last_at = j->at;
    j->at = leave;
    if (held_s + 2 * rounding_s(j) < FIRING_LIMIT(skipped_share) * leg->time_s) {
        set_state(step, past < run->points ? OVP_TRACE_FIRING_SKIPPED : OVP_TRACE_FIRING_NOT_YET);
    } else if (held_s + 2 * rounding_s(j) < FIRING_LIMIT(hold_share) * leg->time_s) {
        set_state(step, past < run->points ? OVP_TRACE_FIRING_TOO_SHORT : OVP_TRACE_FIRING_NOT_YET);
    } else if (held_s > FIRING_LIMIT(held_share) * leg->time_s + 2 * rounding_s(j)) {
        set_state(step, OVP_TRACE_FIRING_HELD);
    }
    if (step->state == OVP_TRACE_FIRING_NOT_YET) {
        say(step, "the log ends after %s of it", minutes(held_s).text);
    } else if (step->gap && step->state < OVP_TRACE_FIRING_NOT_PROVED) {
        step->state = OVP_TRACE_FIRING_NOT_PROVED;
        say(step, "the log has a hole in it");
    }
}

/* ---- guards and conditions --------------------------------------------------------------------------------
 */

static void judge_measured(judging *j, const ovp_oven_step *plan, ovp_trace_firing_step *step)
{
    const ovp_trace_firing *run = j->run;
    const double for_s = plan->time_s > 0 ? plan->time_s : 1800,
                 end_s = run->time_s[j->at < run->points ? j->at : run->points - 1];
    double sums[2] = {0, 0}, spans[2] = {0, 0};
    for (size_t i = j->start + 1; i < run->points && run->time_s[i] <= end_s; i++) {
        const double span_s = run->time_s[i] - run->time_s[i - 1];
        const int half = run->time_s[i] > end_s - for_s / 2;
        if (run->time_s[i] > end_s - for_s && !isnan(run->power_W[i])) {
            sums[half] += run->power_W[i] * span_s;
            spans[half] += span_s;
        }
    }
    if (!has_power(j) || !(spans[0] > 0) || !(spans[1] > 0)) {
        set_state(step, OVP_TRACE_FIRING_NOT_PROVED);
        say(step, has_power(j) ? "too few readings of the output" : "no output or amps in the log");
        return;
    }
    step->found = (sums[0] / spans[0] - sums[1] / spans[1]) / j->full_W;
    step->planned = FIRING_LIMIT(flat_share);
    step->unit = "1";
    if (step->found > step->planned) {
        set_state(step, OVP_TRACE_FIRING_NOT_MET);
        say(step, "the output still fell by %.0f %% of full: water was leaving", 100 * step->found);
    }
}

static void judge_condition(judging *j, size_t index, ovp_trace_firing_step *step)
{
    const ovp_oven_step *plan = &j->facts->plan->steps[index];
    if (j->at >= j->run->points) {
        set_state(step, OVP_TRACE_FIRING_NOT_YET);
    } else if (plan->by == OVP_OVEN_BY_MEASURED) {
        judge_measured(j, plan, step);
    } else if (plan->by == OVP_OVEN_BY_WEIGHED && !isnan(j->facts->water_left)) {
        step->planned = plan->water_left;
        step->found = j->facts->water_left;
        step->unit = "1";
        if (step->found > step->planned) {
            set_state(step, OVP_TRACE_FIRING_NOT_MET);
        }
    } else {
        set_state(step, OVP_TRACE_FIRING_NOT_PROVED);
    }
}

/* Not hotter than the guard from here to where the next condition stands. */
static void close_guard(judging *j, size_t *guard, size_t from)
{
    const ovp_trace_firing *run = j->run;
    if (*guard == SIZE_MAX) {
        return;
    }
    ovp_trace_firing_step *step = &j->result->steps[*guard];
    const double not_above_C = j->facts->plan->steps[*guard].not_above_C;
    step->planned = not_above_C;
    step->found = -INFINITY;
    step->unit = "C";
    for (size_t i = from; i < run->points && i <= j->at; i++) {
        step->found = fmax(step->found, run->mean_C[i]);
    }
    if (step->found > not_above_C + FIRING_LIMIT(band_C)) {
        set_state(step, OVP_TRACE_FIRING_TOO_HOT);
        say(step, "it was %s before the next condition", shown(j, step->found).text);
    }
    *guard = SIZE_MAX;
}

/* ---- all --------------------------------------------------------------------------------------------------
 */

static void judge_leg(judging *j, size_t leg, ovp_trace_firing_step *step)
{
    const ovp_oven_leg *of = &j->facts->review->legs[leg];
    if (!of->heated) {
        set_state(step, OVP_TRACE_FIRING_NOT_PROVED);
        say(step, "no log shows it");
    } else if (j->at >= j->run->points) {
        set_state(step, OVP_TRACE_FIRING_NOT_YET);
    } else if (of->from_C == of->to_C) {
        judge_hold(j, leg, step);
    } else {
        judge_ramp(j, of, step);
    }
    const bool cooling = of->to_C < of->from_C;
    if (!of->heated || cooling) {
        return;
    }
    j->result->complete = j->result->complete && step->state != OVP_TRACE_FIRING_NOT_YET;
    j->result->planned_s += of->time_s;
    if (!isnan(step->to_s)) {
        j->result->heated_s = step->to_s;
    }
}

/* How much more or less than its model the same oven took when it was dry. */
static void take_dry_run(judging *j)
{
    const ovp_trace_firing_result *dry = j->facts->dry;
    if (dry == NULL || !(dry->dry_J > 0) || !(dry->wet_J > 0)) {
        return;
    }
    j->result->dry_J *= dry->wet_J / dry->dry_J;
    j->result->by_dry_run = true;
}

static void judge_water(judging *j)
{
    ovp_trace_firing *run = j->run;
    ovp_trace_firing_result *result = j->result;
    size_t end = j->start;
    result->energy_J = has_power(j) ? run->energy_J[run->points - 1] - run->energy_J[j->start] : (double)NAN;
    if (j->facts->model == NULL || !has_power(j)) {
        return;
    }
    while (end + 1 < run->points && run->mean_C[end + 1] <= result->wet_to_C) {
        end++;
    }
    if (end <= j->start + 1) {
        return;
    }
    ovp_thermal_energy_along(j->facts->model, run->time_s + j->start, run->mean_C + j->start,
                             end - j->start + 1, run->dry_J);
    result->dry_J = run->dry_J[end - j->start];
    result->wet_J = run->energy_J[end] - run->energy_J[j->start];
    take_dry_run(j);
    const double share_U = result->by_dry_run ? FIRING_LIMIT(dry_run_U) : FIRING_LIMIT(model_U);
    result->water_kg = (result->wet_J - result->dry_J) / FIRING_LIMIT(water_J_per_kg);
    result->water_U_kg = share_U * result->dry_J / FIRING_LIMIT(water_J_per_kg);
}

ovp_status ovp_trace_firing_judge(ovp_trace_firing *firing, const ovp_trace_firing_facts *facts,
                                  ovp_trace_firing_result *result, ovp_error *error)
{
    judging j = {.run = firing, .facts = facts, .result = result};
    const ovp_oven_plan *plan = facts->plan;
    size_t leg = 0, guard = SIZE_MAX, guard_from = 0;

    *result = (ovp_trace_firing_result){
        .step_count = plan->step_count, .complete = true, .wet_to_C = FIRING_LIMIT(wet_to_C)};
    result->energy_J = result->dry_J = result->wet_J = result->water_kg = result->water_U_kg = NAN;
    for (size_t i = 0; i < plan->step_count; i++) {
        result->steps[i] = (ovp_trace_firing_step){.from_s = NAN,
                                                   .to_s = NAN,
                                                   .planned = NAN,
                                                   .found = NAN,
                                                   .unit = "",
                                                   .most_C_per_h = NAN,
                                                   .most_at_C = NAN};
    }
    make_points(&j);
    if (firing->points < 2) {
        return ovp_error_set(error, OVP_ERROR_DATA, "holds no two readings");
    }
    j.start = j.at = j.last_at = find_start(&j);
    result->heat_on_s = j.start < firing->points ? firing->time_s[j.start] : (double)NAN;
    result->top_C = firing->mean_C[0];
    for (size_t i = 0; i < firing->points; i++) {
        result->top_C = fmax(result->top_C, firing->mean_C[i]);
    }
    for (size_t i = 0; i < plan->step_count; i++) {
        const ovp_oven_step *step = &plan->steps[i];
        if (step->kind == OVP_OVEN_STEP_RAMP || step->kind == OVP_OVEN_STEP_HOLD) {
            judge_leg(&j, leg++, &result->steps[i]);
        } else if (step->kind == OVP_OVEN_STEP_GUARD) {
            guard = i;
            guard_from = j.at;
        } else if (step->kind == OVP_OVEN_STEP_CONDITION) {
            close_guard(&j, &guard, guard_from);
            judge_condition(&j, i, &result->steps[i]);
        }
    }
    close_guard(&j, &guard, guard_from);
    if (j.start < firing->points) {
        judge_water(&j);
    }
    result->worst = plan->step_count;
    for (size_t i = 0; i < plan->step_count; i++) {
        const bool worse = result->steps[i].state > OVP_TRACE_FIRING_NOT_YET;
        if (worse && (result->worst == plan->step_count ||
                      result->steps[i].state > result->steps[result->worst].state)) {
            result->worst = i;
        }
    }
    return OVP_OK;
}

const char *ovp_trace_firing_state_name(ovp_trace_firing_state state)
{
    static const char *const names[] = {"done",    "held-longer", "not-proved", "not-yet", "too-short",
                                        "skipped", "not-met",     "too-fast",   "too-hot"};
    return names[state];
}
