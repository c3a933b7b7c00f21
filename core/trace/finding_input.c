/* finding_input.c: open, over-range, wrong-unit. */
#include "judge_internal.h"

#include <math.h>

static double first_of(double a, double b)
{
    return isnan(a) ? b : isnan(b) ? a : fmin(a, b);
}

static void find_open(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_counters *c = &judge->counters;
    uint64_t words = c->word_count[OVP_TRACE_OPEN] + c->word_count[OVP_TRACE_ERROR];
    uint64_t ends = c->rail_high + c->word_count[OVP_TRACE_OVER];
    if (!words && !ends) {
        judge_find(result, "open", "reading", NAN, NAN);
        judge_find(result, "over-range", "none", NAN, NAN);
        return;
    }
    double at_s = first_of(first_of(c->word_first_s[OVP_TRACE_OPEN], c->word_first_s[OVP_TRACE_ERROR]),
                           first_of(c->word_first_s[OVP_TRACE_OVER], c->rail_high_first_s));
    bool stays = c->last_was_open;
    if (c->open_episodes > 1 || !stays) {
        judge_say(result, "open", "comes-and-goes", at_s, NAN,
                  "the input lost the sensor %s time%s (open, error or the top of the range), first after "
                  "%s, and came back",
                  judge_fixed((double)c->open_episodes, 0).text, c->open_episodes == 1 ? "" : "s",
                  judge_duration(at_s).text);
    } else {
        judge_say(
            result, "open", "open", at_s, NAN,
            "the input lost the sensor after %s (open, error or the top of the range) and did not come back",
            judge_duration(at_s).text);
    }
    judge_find(result, "over-range", ends ? "over" : "none", ends ? at_s : (double)NAN, NAN);
    if (stays && judge->counters.last_output >= LIMIT(output_on_percent)) {
        judge_danger(result,
                     "The sensor is lost and the controller still calls for heat: the oven may run away.");
    }
}

/* A start that would be a room if it were counted in the other unit. */
static void find_unit(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    if (!run->count) {
        return;
    }
    double first_C = run->points[0].temperature_C, room_C = judge->expectation.ambient_C;
    double cold_C = judge_mean(&judge->blocks[0].channel[CHANNEL_COLD]);
    room_C = isnan(room_C) ? cold_C : room_C;
    double as_F =
        ovp_text_from_celsius(first_C, OVP_TEXT_DEGREES_F); /* the bare number, were it degF read as degC */
    judge_scale scale = judge_scale_of(first_C, room_C);
    if (scale == JUDGE_SCALE_LOW) {
        judge_say(result, "wrong-unit", "other", 0, first_C,
                  "it starts at %s °F, which is no room, but %s °C would be: does the display count in °C?",
                  judge_fixed(as_F, 0).text, judge_fixed(as_F, 0).text);
        judge_sure(result, 0, 2 * judge_reading_u(run));
    } else if (scale == JUDGE_SCALE_HIGH) {
        judge_say(result, "wrong-unit", "other", 0, first_C,
                  "it starts at %s °C, which is no room, but %s °F would be: does the display count in °F?",
                  judge_fixed(first_C, 0).text, judge_fixed(first_C, 0).text);
        judge_sure(result, 0, 2 * judge_reading_u(run));
    } else {
        judge_find(result, "wrong-unit", "right", NAN, NAN);
    }
}

/* Nothing shown and heat still called for: nobody sees where the oven goes. */
void judge_findings_blind(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_counters *c = &judge->counters;
    double blank_s = c->last_s - c->last_reading_s;
    if (c->has[CHANNEL_OUTPUT] && c->last_output >= LIMIT(output_on_percent) && c->readings && !c->rails &&
        blank_s >= fmax(LIMIT(dead_least_s), 2 * c->interval_s)) {
        judge_danger(result, "The display shows nothing and the controller still calls for heat.");
    }
}

void judge_findings_input(ovp_trace_judge *judge, ovp_trace_result *result)
{
    find_open(judge, result);
    find_unit(judge, result);
}
