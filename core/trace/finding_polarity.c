/* finding_polarity.c: reads-backwards, under-range. A fall below the room cannot be cooling. */
#include "judge_internal.h"

#include <math.h>

judge_called judge_called_now(const ovp_trace_judge *judge)
{
    const judge_counters *c = &judge->counters;
    if (c->has[CHANNEL_OUTPUT]) {
        return c->last_output >= LIMIT(output_on_percent) ? CALLED_YES : CALLED_NO;
    }
    return judge->run.count ? judge_called_at(&judge->run, judge->run.count - 1) : CALLED_UNKNOWN;
}

static double screws_C(const ovp_trace_judge *judge, double start_C)
{
    double cold_C = judge->block_count ? judge_mean(&judge->blocks[0].channel[CHANNEL_COLD]) : (double)NAN;
    if (!isnan(cold_C)) {
        return cold_C;
    }
    return start_C >= LIMIT(cold_low_C) && start_C <= LIMIT(reversed_room_C) ? start_C
           : !isnan(judge->expectation.ambient_C)                            ? judge->expectation.ambient_C
                                                                             : LIMIT(room_C);
}

/* The loop law turned round: what the oven is at when a reversed loop shows `reads_C`. NAN past the range. */
static double true_of_reversed(const ovp_trace_judge *judge, double reads_C, double cold_C)
{
    const ovp_oven *oven = judge->expectation.oven;
    ovp_tc_type type = oven && oven->sensor.known ? oven->sensor.type : OVP_TC_K;
    double cold_mV, reads_mV, true_C;
    if (ovp_tc_emf(type, cold_C, &cold_mV, NULL) || ovp_tc_emf(type, reads_C, &reads_mV, NULL) ||
        ovp_tc_temperature(type, 2 * cold_mV - reads_mV, &true_C, NULL)) {
        return NAN;
    }
    return true_C;
}

typedef struct seen_fall {
    bool found, called;
    double from_s, at_s, from_C, to_C;
} seen_fall;

/* How far below the start is a fall: more than noise, and more where it is not known that heat was called. */
static double fall_limit(const judge_run *run, bool called)
{
    double limit_C = called ? LIMIT(reversed_fall_C) : LIMIT(reversed_fall_blind_C);
    limit_C = fmax(limit_C, LIMIT(reversed_sigmas) * run->noise_C);
    return isfinite(run->resolution_C) ? fmax(limit_C, 2 * run->resolution_C) : limit_C;
}

static bool stays_low(const judge_run *run, size_t i, double level_C)
{
    for (size_t j = i + 1; j < run->count && j < i + 3; j++) {
        if (run->points[j].temperature_C > level_C) {
            return false;
        }
    }
    return true;
}

/* A fall goes through places between; one reading that is off, a glitch, does not. */
static bool has_way(const judge_run *run, size_t i, double base_s, double base_C)
{
    double fall_C = base_C - run->points[i].temperature_C;
    if (i + 1 == run->count && run->points[i].time_s - base_s >= 15 &&
        fall_C >= LIMIT(reversed_fall_blind_C)) {
        return true; /* a sparse log: the last reading before the display went out of range */
    }
    for (size_t j = i; j > 0 && run->points[j - 1].time_s > base_s; j--) {
        double share = (base_C - run->points[j - 1].temperature_C) / fall_C;
        if (share > 0.15 && share < 0.85) {
            return true;
        }
    }
    return false;
}

/* Nothing cools below this: the start of the log or of the stretch where that is a room, else a cold garage.
 */
static double room_of(const ovp_trace_judge *judge, double start_C, double stretch_C)
{
    double room_C = INFINITY;
    room_C = start_C <= LIMIT(reversed_room_C) ? start_C : room_C;
    room_C = stretch_C <= LIMIT(reversed_room_C) ? fmin(room_C, stretch_C) : room_C;
    if (isfinite(room_C)) {
        return room_C;
    }
    double ambient_C = judge->expectation.ambient_C;
    return (isnan(ambient_C) ? LIMIT(cold_low_C) : ambient_C) - 10;
}

/* Walk the stretches in which heat was called (or may have been) and look below the room. */
static seen_fall find_fall(const ovp_trace_judge *judge)
{
    const judge_run *run = &judge->run;
    double room_C = NAN, base_s = 0;
    for (size_t i = 0; i < run->count; i++) {
        const judge_point *point = &run->points[i];
        judge_called called = judge_called_at(run, i);
        if (called == CALLED_NO) {
            room_C = NAN;
            continue;
        }
        if (isnan(room_C)) {
            const judge_point *before = &run->points[i ? i - 1 : i];
            room_C = room_of(judge, run->points[0].temperature_C,
                             fmax(before->temperature_C, point->temperature_C));
            base_s = before->time_s;
        }
        if (point->temperature_C >= room_C - 0.3) {
            base_s = point->time_s;
            continue;
        }
        double limit_C = fall_limit(run, called == CALLED_YES), minutes = (point->time_s - base_s) / 60;
        double fall_C = room_C - point->temperature_C;
        bool fast = minutes * LIMIT(no_rise_rate_C_per_min) <= fall_C ||
                    point->temperature_C < LIMIT(cold_low_C) - 10;
        if (fall_C >= limit_C && fast && stays_low(run, i, room_C - limit_C / 2) &&
            has_way(run, i, base_s, room_C)) {
            return (seen_fall){true,   called == CALLED_YES, base_s, point->time_s,
                               room_C, point->temperature_C};
        }
    }
    return (seen_fall){0};
}

/* The lowest reading of a fall that goes on, for the words. */
static void follow(const judge_run *run, seen_fall *fall, double *lowest_s)
{
    *lowest_s = fall->at_s;
    for (size_t i = 0; i < run->count; i++) {
        if (run->points[i].time_s >= fall->at_s && run->points[i].temperature_C < fall->to_C) {
            fall->to_C = run->points[i].temperature_C;
            *lowest_s = run->points[i].time_s;
        }
    }
}

static void say_backwards(ovp_trace_judge *judge, ovp_trace_result *result, seen_fall fall)
{
    double lowest_s, at_s = fall.at_s;
    follow(&judge->run, &fall, &lowest_s);
    double true_C = true_of_reversed(judge, fall.to_C, screws_C(judge, fall.from_C));
    judge_number fell = judge_difference(judge, fall.from_C - fall.to_C),
                 took = judge_duration(lowest_s - fall.from_s);
    judge_number would = judge_temperature(judge, true_C);
    if (isnan(true_C)) {
        would = (judge_number){"far above that"};
    }
    judge_say(result, "reads-backwards", "backwards", at_s, fall.to_C - fall.from_C,
              "it fell %s in %s %s; a reversed sensor shows that when the oven is at %s", fell.text,
              took.text, fall.called ? "with heat called for" : "(whether heat was called is not logged)",
              would.text);
    judge_sure(result, fall.from_s, judge_difference_U(&judge->run));
    judge->run.backwards = true;
    /* Also when the output is 0 at the end: an input in error cuts it, and heats again once it has cooled. */
    judge_danger(
        result,
        "The display runs the wrong way: the controller heats until something breaks. The oven may be at %s.",
        would.text);
}

static void find_under(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_counters *c = &judge->counters;
    uint64_t under = c->rail_low + c->word_count[OVP_TRACE_UNDER];
    if (!under) {
        judge_find(result, "under-range", "none", NAN, NAN);
        return;
    }
    double word_s = c->word_first_s[OVP_TRACE_UNDER], rail_s = c->rail_low_first_s;
    double at_s = isnan(word_s) ? rail_s : isnan(rail_s) ? word_s : fmin(word_s, rail_s);
    judge_say(result, "under-range", "under", at_s, NAN, "the display ran below its range after %s",
              judge_duration(at_s).text);
    if (judge_called_now(judge) == CALLED_YES) {
        judge_danger(result,
                     "The display ran below its range and the controller calls for heat without end.");
    }
}

void judge_findings_polarity(ovp_trace_judge *judge, ovp_trace_result *result)
{
    judge_run *run = &judge->run;
    if (run->count >= 2) {
        seen_fall fall = find_fall(judge);
        if (fall.found) {
            say_backwards(judge, result, fall);
        } else {
            size_t at = run->zero < run->count ? run->zero : 0;
            double rise_C = run->top_C - run->points[at].temperature_C;
            run->rises = rise_C >= fmax(LIMIT(no_rise_C), LIMIT(reversed_sigmas) * run->noise_C) &&
                         run->zero < run->count;
            if (run->rises) {
                judge_find(result, "reads-backwards", "forward", NAN, NAN);
            }
        }
    }
    find_under(judge, result);
}
