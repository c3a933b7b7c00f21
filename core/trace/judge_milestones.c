/* judge_milestones.c: times to the marks of the description, as run. */
#include "judge_internal.h"

#include <math.h>

/* A mark between two readings far apart was passed somewhere between: no time can be given. */
static bool between_readings(const judge_run *run, size_t at, double to_C, double within_s)
{
    if (at == 0 || at >= run->count || fabs(run->points[at].temperature_C - to_C) <= 3) {
        return false;
    }
    double pause_s = run->points[at].time_s - run->points[at - 1].time_s;
    return pause_s > fmax(LIMIT(mark_pause_s), LIMIT(mark_pause_share) * within_s);
}

/* First time at or above a mark, from time zero; NAN when it never came. */
static double reached(const judge_run *run, double to_C, size_t *at)
{
    for (size_t i = run->zero; i < run->count; i++) {
        const judge_point *point = &run->points[i];
        if (point->temperature_C < to_C) {
            continue;
        }
        *at = i;
        const judge_point *before = i ? &run->points[i - 1] : point;
        double span_C = point->temperature_C - before->temperature_C;
        if (i == run->zero || span_C <= 0) {
            return point->time_s - run->time_zero_s;
        }
        return before->time_s + (point->time_s - before->time_s) * (to_C - before->temperature_C) / span_C -
               run->time_zero_s;
    }
    *at = run->count;
    return NAN;
}

/* Was the setpoint above the mark all the way, or within the time allowed? */
static bool asked_for(const judge_run *run, double to_C, size_t to, double within_s)
{
    for (size_t i = run->zero; i < to && i < run->count; i++) {
        const judge_point *point = &run->points[i];
        if (point->time_s - run->time_zero_s > within_s) {
            break;
        }
        if (point->setpoint_C < to_C - 2 && point->time_s - run->time_zero_s > 15) {
            return false;
        }
    }
    return true;
}

/* All judged marks together; the worst share of the time allowed. */
static void find_heat_up(const ovp_trace_judge *judge, ovp_trace_result *result)
{
    double worst = NAN, within_s = NAN;
    bool late = false;
    for (size_t i = 0; i < result->milestone_count; i++) {
        const ovp_trace_milestone *milestone = &result->milestones[i];
        late = late || milestone->pass == 0;
        if (milestone->pass >= 0 && !isnan(milestone->time_s)) {
            double share = milestone->time_s / milestone->within_s;
            within_s = !(share <= worst) ? milestone->within_s : within_s;
            worst = isnan(worst) ? share : fmax(worst, share);
        }
    }
    if (late || !isnan(worst)) {
        judge_find(result, "heat-up", late ? "late" : "within", NAN, worst);
        judge_sure(result, judge->run.time_zero_s,
                   2 * sqrt(2) * judge->counters.interval_s / sqrt(12) / within_s);
    }
}

void judge_milestones(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    const ovp_oven *oven = judge->expectation.oven;
    bool zero = !isnan(run->time_zero_s), walked = false, sparse = false;
    if (!oven) {
        return;
    }
    double last_s = run->count ? run->points[run->count - 1].to_s - run->time_zero_s : 0;
    for (size_t i = 0; i < oven->heat_up_count && i < OVP_OVEN_HEAT_UP; i++) {
        ovp_trace_milestone *milestone = &result->milestones[result->milestone_count++];
        *milestone = (ovp_trace_milestone){oven->heat_up[i].to_C, oven->heat_up[i].within_s, NAN, -1};
        if (!run->cold_start || !zero || run->backwards) {
            continue;
        }
        size_t at;
        double time_s = reached(run, milestone->to_C, &at);
        if (!asked_for(run, milestone->to_C, at, isnan(time_s) ? milestone->within_s : time_s)) {
            walked = true;
            continue;
        }
        if (between_readings(run, at, milestone->to_C, milestone->within_s)) {
            sparse = true;
            continue;
        }
        milestone->time_s = time_s;
        milestone->pass = !isnan(time_s)                 ? time_s <= milestone->within_s
                          : last_s > milestone->within_s ? 0
                                                         : -1;
    }
    find_heat_up(judge, result);
    if (sparse) {
        judge_warn(result, "no reading stands near a mark of the heat-up: that mark is not judged");
    }
    if (!oven->heat_up_count) {
        return;
    }
    if (!run->cold_start) {
        judge_warn(result, "it did not start cold: heat-up times are not judged");
    } else if (!zero) {
        judge_warn(result, "no start of heating is seen: heat-up times are not judged");
    } else if (walked) {
        judge_warn(result, "the setpoint was below a mark on the way up (a ramp, or walked by hand): that "
                           "mark is not judged");
    }
}
