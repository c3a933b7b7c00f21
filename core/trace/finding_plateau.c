/* finding_plateau.c: plateau: the rise nearly stops near the boiling point and goes on. */
#include "judge_internal.h"

#include <math.h>

static double slope_between(const judge_run *run, double low_C, double high_C)
{
    double low_s = judge_climb_time(run, low_C), high_s = judge_climb_time(run, high_C);
    return high_s > low_s ? (high_C - low_C) / (high_s - low_s) : (double)NAN;
}

typedef struct boiled {
    double kg, kg_U;
} boiled;

/* What boiled in the extra time. Of the full heat the water gets all but what is lost meanwhile: at least the
 * share that the dry climb's slope beside the plateau is of its steepest, at most all. */
static boiled water_of(const ovp_trace_judge *judge, double extra_s, double beside)
{
    const judge_full full = judge_full_heat(judge);
    double least = fmin(fmax(beside / judge->run.climb_slope_C_per_s, 0), 1);
    least = isnan(least) ? 0.5 : least;
    const double share = (1 + least) / 2, kg = extra_s * full.power_W * share / LIMIT(water_J_per_kg);
    /* The plateau's ends are read to within an interval and a reading's scatter. */
    const double ends_s = sqrt(2) * hypot(judge->counters.interval_s / sqrt(12),
                                          judge_reading_u(&judge->run) / fmax(beside, 1e-6));
    const double by_share = (1 - least) / 2 / sqrt(3) / share;
    return (boiled){kg, kg * hypot(full.share_U, 2 * hypot(by_share, ends_s / fmax(extra_s, 1)))};
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
    const boiled water = water_of(judge, extra_s, fmin(before, after));
    if (isnan(water.kg)) {
        judge_say(result, "plateau", "plateau", at_s, NAN,
                  "the rise nearly stopped near the boiling point for %s: water",
                  judge_duration(slow_s).text);
    } else {
        judge_say(
            result, "plateau", "plateau", at_s, water.kg,
            "the rise nearly stopped near the boiling point for %s: about %s kg of water left the lining",
            judge_duration(slow_s).text, judge_fixed(water.kg, 2).text);
    }
    judge_sure(result, at_s, water.kg_U);
}
