/* finding_delay.c: delay-constant, delay-growing, delay-late: where the lost time lies. */
#include "judge_internal.h"

#include <math.h>
#include <string.h>

typedef struct lag {
    double level_C, time_s, due_s;
} lag;

enum {
    LAGS = 64
};

static size_t collect(const judge_run *run, lag lags[LAGS])
{
    double top_C = run->points[run->climb_end - 1].temperature_C, from_C = run->start_C + 60;
    double step_C = fmax((top_C - from_C) / (LAGS - 1), 10);
    size_t count = 0;
    for (double level_C = from_C; level_C <= top_C + 0.01 && count < LAGS; level_C += step_C) {
        lag one = {level_C, judge_climb_time(run, level_C), judge_reference_time(&run->reference, level_C)};
        if (!isnan(one.time_s) && !isnan(one.due_s) && one.due_s > 0) {
            lags[count++] = one;
        }
    }
    return count;
}

static const lag *at_or_above(const lag lags[], size_t count, double level_C)
{
    for (size_t i = 0; i < count; i++) {
        if (lags[i].level_C >= level_C) {
            return &lags[i];
        }
    }
    return &lags[count - 1];
}

typedef enum delay_shape {
    SHAPE_NONE,
    SHAPE_CONSTANT,
    SHAPE_GROWING,
    SHAPE_LATE
} delay_shape;

static delay_shape shape_of(const judge_run *run, const lag lags[], size_t count)
{
    const lag *top = &lags[count - 1], *wet = at_or_above(lags, count, LIMIT(plateau_high_C) + 30);
    const lag *middle = at_or_above(lags, count, run->start_C + 0.6 * (top->level_C - run->start_C));
    double uncertainty = run->reference.from_model ? LIMIT(delay_model_U) : LIMIT(delay_baseline_U);
    double lost_s = top->time_s - top->due_s, grown = top->time_s / top->due_s - 1;
    bool slow_top = grown > uncertainty && lost_s > LIMIT(delay_least_s);
    double wet_s = wet->time_s - wet->due_s, middle_s = middle->time_s - middle->due_s;
    bool slow_wet =
        wet_s > LIMIT(delay_least_s) && wet_s > uncertainty * wet->due_s && top->level_C > wet->level_C + 80;
    if (slow_wet && wet_s >= 0.7 * lost_s) {
        return SHAPE_CONSTANT;
    }
    if (slow_top && middle_s >= LIMIT(constant_share) * lost_s) {
        return SHAPE_CONSTANT;
    }
    if (!slow_top) {
        return SHAPE_NONE;
    }
    return middle->time_s / middle->due_s - 1 < fmin(0.35 * grown, uncertainty) ? SHAPE_LATE : SHAPE_GROWING;
}

static void say(ovp_trace_judge *judge, ovp_trace_result *result, const char *id, const char *outcome,
                const lag *top, double value, double value_U)
{
    if (strcmp(outcome, "no") == 0) {
        judge_find(result, id, outcome, NAN, NAN);
        return;
    }
    judge_say(result, id, outcome, NAN, value, "%s to %s where %s is due", judge_duration(top->time_s).text,
              judge_temperature(judge, top->level_C).text, judge_duration(top->due_s).text);
    judge_sure(result, judge->run.time_zero_s, value_U);
}

void judge_findings_delay(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    if (!run->reference.known || !run->climb_full || !run->cold_start || run->backwards) {
        return;
    }
    lag lags[LAGS];
    size_t count = collect(run, lags);
    if (count < 3) {
        return;
    }
    const lag *top = &lags[count - 1];
    delay_shape shape = shape_of(run, lags, count);
    double lost_s = top->time_s - top->due_s, ratio = top->time_s / top->due_s;
    double uncertainty = run->reference.from_model ? LIMIT(delay_model_U) : LIMIT(delay_baseline_U);
    const char *grown = ratio - 1 > 2 * uncertainty ? "far" : "yes";
    /* The expectation, and the log's clock at the start and at the top. */
    double ratio_U = hypot(uncertainty, 2 * sqrt(2) * judge->counters.interval_s / sqrt(12) / top->due_s);
    say(judge, result, "delay-constant", shape == SHAPE_CONSTANT ? "yes" : "no", top, lost_s,
        ratio_U * top->due_s);
    say(judge, result, "delay-growing", shape == SHAPE_GROWING ? grown : "no", top, ratio, ratio_U);
    say(judge, result, "delay-late", shape == SHAPE_LATE ? grown : "no", top, ratio, ratio_U);
}
