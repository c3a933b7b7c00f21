/* finding_plateau.c: plateau: the rise nearly stops near the boiling point and goes on. */
#include "judge_internal.h"

#include <math.h>

static double slope_between(const judge_run *run, double low_C, double high_C)
{
    double low_s = judge_climb_time(run, low_C), high_s = judge_climb_time(run, high_C);
    return high_s > low_s ? (high_C - low_C) / (high_s - low_s) : (double)NAN;
}

void judge_findings_plateau(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    double low_C = LIMIT(plateau_low_C), high_C = LIMIT(plateau_high_C), step_C = 5;
    if (!run->cold_start || !run->climb_full || run->backwards || judge->counters.interval_s > 120) {
        return;
    }
    double before = slope_between(run, run->start_C + 15, low_C - 5),
           after = slope_between(run, high_C + 10, high_C + 60);
    if (isnan(before) || isnan(after)) {
        return;
    }
    double limit = LIMIT(plateau_slope_share) * fmin(before, after), slow_s = 0, extra_s = 0, at_s = NAN;
    for (int step = 0; low_C + step * step_C < high_C; step++) {
        double level_C = low_C + step * step_C;
        double slope = slope_between(run, level_C, level_C + step_C);
        if (slope < limit) {
            at_s = isnan(at_s) ? run->time_zero_s + judge_climb_time(run, level_C) : at_s;
            slow_s += step_C / slope;
            extra_s += step_C / slope - step_C / fmin(before, after);
        }
    }
    if (slow_s < LIMIT(plateau_least_s)) {
        judge_find(result, "plateau", "none", NAN, NAN);
        return;
    }
    double rated_W = judge_rated_W(judge), water_kg = extra_s * rated_W / LIMIT(water_J_per_kg);
    if (isnan(rated_W)) {
        judge_say(result, "plateau", "plateau", at_s, NAN,
                  "the rise nearly stopped near the boiling point for %s: water",
                  judge_duration(slow_s).text);
    } else {
        judge_say(
            result, "plateau", "plateau", at_s, water_kg,
            "the rise nearly stopped near the boiling point for %s: at most %s kg of water left the lining",
            judge_duration(slow_s).text, judge_fixed(water_kg, 2).text);
    }
}
