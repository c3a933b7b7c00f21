/* finding_stalled.c: stalled: full output and the display stands still far below the setpoint. */
#include "judge_internal.h"

#include <math.h>

/* Longest stretch at full output, far below the setpoint, in which the display keeps within a few degrees. */
void judge_findings_stalled(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    double low_C = NAN, high_C = NAN, from_s = NAN, called_s = 0;
    if (!judge->counters.has[CHANNEL_OUTPUT] || !judge->counters.has[CHANNEL_SETPOINT] || run->backwards) {
        return;
    }
    for (size_t i = 0; i < run->count; i++) {
        const judge_point *point = &run->points[i];
        const double here_C = point->temperature_C;
        if (!(point->output_low >= LIMIT(output_full_percent)) ||
            !(here_C < point->setpoint_C - LIMIT(stalled_below_C))) {
            from_s = NAN;
            continue;
        }
        low_C = isnan(from_s) ? here_C : fmin(low_C, here_C);
        high_C = isnan(from_s) ? here_C : fmax(high_C, here_C);
        if (isnan(from_s) || high_C - low_C > LIMIT(stalled_within_C)) {
            from_s = point->time_s;
            low_C = high_C = here_C;
        }
        called_s += i > 0 ? point->time_s - run->points[i - 1].time_s : 0;
        if (point->time_s - from_s >= LIMIT(stalled_s)) {
            judge_say(result, "stalled", "stalls", from_s, here_C,
                      "it stands at %s with full output, %s below the setpoint",
                      judge_temperature(judge, here_C).text,
                      judge_difference(judge, point->setpoint_C - here_C).text);
            return;
        }
    }
    if (called_s >= LIMIT(stalled_s)) {
        judge_find(result, "stalled", "climbs", NAN, NAN);
    }
}
