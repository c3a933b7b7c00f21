/* finding_clock.c: clock-step, gap. */
#include "judge_internal.h"

#include <math.h>

void judge_findings_clock(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_counters *c = &judge->counters;
    if (c->samples < 2) {
        return;
    }
    if (c->clock_steps) {
        judge_say(result, "clock-step", "steps", c->clock_first_s, (double)c->clock_steps,
                  "the clock of the log stepped %s time%s, first after %s; the run goes on as if it had not",
                  judge_fixed((double)c->clock_steps, 0).text, c->clock_steps == 1 ? "" : "s",
                  judge_duration(c->clock_first_s).text);
        judge_sure_count(result, c->first_s);
    } else {
        judge_find(result, "clock-step", "none", NAN, NAN);
    }
    if (c->gaps) {
        judge_say(result, "gap", "gap", c->gap_first_s, c->gap_longest_s,
                  "%s pause%s in the log, the first after %s, the longest %s; nothing is known within",
                  judge_fixed((double)c->gaps, 0).text, c->gaps == 1 ? "" : "s",
                  judge_duration(c->gap_first_s).text, judge_duration(c->gap_longest_s).text);
        judge_sure(result, c->first_s, 2 * sqrt(2) * c->interval_s / sqrt(12));
    } else {
        judge_find(result, "gap", "none", NAN, NAN);
    }
}
