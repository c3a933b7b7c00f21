/* finding_cold.c: cold-reading: a cold display beside the controller's own terminals. */
#include "judge_internal.h"

#include <math.h>

/* A room that was told is not taken: it is seldom measured where the oven stands. */
void judge_findings_cold(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    const double terminals_C = judge->block_count ? judge_mean(&judge->blocks[0].channel[CHANNEL_COLD]) : NAN;
    if (!run->cold_start || run->backwards || isnan(terminals_C) || !run->count) {
        return;
    }
    const double off_C = run->points[0].temperature_C - terminals_C;
    if (off_C >= LIMIT(cold_above_C) || off_C <= -LIMIT(cold_below_C)) {
        judge_say(result, "cold-reading", off_C > 0 ? "above" : "below", run->points[0].time_s, off_C,
                  "cold, it reads %s %s the controller's own terminals",
                  judge_difference(judge, fabs(off_C)).text, off_C > 0 ? "above" : "below");
    } else {
        judge_find(result, "cold-reading", "near-room", NAN, off_C);
    }
}
