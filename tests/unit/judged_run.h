/* What the tests of the judge share: runs made here, from curves that know nothing of the oven model. */
#ifndef OVENPROOF_TESTS_JUDGED_RUN_H
#define OVENPROOF_TESTS_JUDGED_RUN_H

#include "ovenproof/trace.h"
#include "trace/judge_internal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* This cmocka compares float only. */
#define assert_near(a, b, within) assert_true(fabs((a) - (b)) <= (within))

/* ---- making runs --------------------------------------------------------------------------------- */

typedef struct made {
    ovp_trace_judge *judge;
    uint32_t random;
    double noise_C, resolution_C;
} made;

static inline const ovp_trace_result *result_of(made *run)
{
    static ovp_trace_result result;
    ovp_trace_judge_result(run->judge, &result);
    return &result;
}

static inline made begin(const ovp_trace_expectation *given)
{
    ovp_trace_expectation expectation = {.ambient_C = NAN};
    if (given) {
        expectation = *given;
    }
    made run = {.random = 12345, .resolution_C = 0.1};
    run.judge = ovp_trace_judge_init(malloc(ovp_trace_judge_size()), &expectation);
    return run;
}

static inline void end(made *run)
{
    free(run->judge);
}

/* Sum of twelve uniform numbers: near enough to a normal one, and the same on every machine. */
static inline double scatter(made *run)
{
    double sum = 0;
    for (int i = 0; i < 12; i++) {
        run->random = run->random * 1664525u + 1013904223u;
        sum += (double)(run->random >> 8) / 16777216.0;
    }
    return sum - 6;
}

static inline ovp_trace_sample blank(double time_s)
{
    return (ovp_trace_sample){time_s, NAN, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_NUMBER};
}

static inline void put(made *run, double time_s, double temperature_C, double setpoint_C, double output)
{
    ovp_trace_sample sample = blank(time_s);
    double value_C = temperature_C + run->noise_C * scatter(run);
    sample.temperature_C =
        run->resolution_C > 0 ? run->resolution_C * round(value_C / run->resolution_C) : value_C;
    sample.setpoint_C = setpoint_C;
    sample.output_percent = output;
    ovp_trace_judge_sample(run->judge, &sample);
}

/* A heat-up of two lags: 0 at t = 0, towards `gain`. */
static inline double two_lags(double time_s, double gain, double slow_s, double quick_s)
{
    if (time_s <= 0) {
        return 0;
    }
    return gain *
           (1 - (slow_s * exp(-time_s / slow_s) - quick_s * exp(-time_s / quick_s)) / (slow_s - quick_s));
}

static inline const ovp_trace_finding *finding(const ovp_trace_result *result, const char *id)
{
    for (size_t i = 0; i < result->finding_count; i++) {
        if (strcmp(result->findings[i].finding, id) == 0) {
            return &result->findings[i];
        }
    }
    return NULL;
}

static inline const char *outcome(const ovp_trace_result *result, const char *id)
{
    const ovp_trace_finding *one = finding(result, id);
    return one ? one->outcome : "(not judged)";
}

static inline size_t notable(const ovp_trace_result *result)
{
    size_t count = 0;
    for (size_t i = 0; i < result->finding_count; i++) {
        if (result->findings[i].notable) {
            print_message("notable: %s %s: %s\n", result->findings[i].finding, result->findings[i].outcome,
                          result->findings[i].text);
            count++;
        }
    }
    return count;
}

/* Heat up to a setpoint, then hold: output falls from 100 to what holds. */
static inline void good_run(made *run, double power, double step_s, double length_s, double columns)
{
    double setpoint_C = 600, reached_s = NAN;
    for (double t = 0; t <= length_s; t += step_s) {
        double rise_C = two_lags(t - 30, 1100 * power, 1500, 40), value_C = 24 + rise_C,
               output = t >= 20 ? 100 : 0;
        if (value_C >= setpoint_C || !isnan(reached_s)) {
            reached_s = isnan(reached_s) ? t : reached_s;
            value_C = setpoint_C + 3 * exp(-(t - reached_s) / 120) * sin((t - reached_s) / 60);
            output = 45 + 20 * exp(-(t - reached_s) / 900);
        }
        put(run, t, value_C, columns > 0 ? setpoint_C : (double)NAN, columns > 1 ? output : (double)NAN);
    }
}

#endif
