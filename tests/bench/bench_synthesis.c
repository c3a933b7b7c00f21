/* A verdict on a trace of one hour: each fault tried over its severities. */
#include "ovenproof/diagnosis.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum {
    ROUNDS = 5,
    SAMPLES = 1801, /* an hour at 2 s */
};

static const char *const leaves[][2] = {
    {"name", "bench"},
    {"supply.volts", "240V"},
    {"elements[1].watts", "3600W"},
    {"elements[1].at", "240V"},
    {"sensor.type", "K"},
    {"chamber.width", "8in"},
    {"chamber.height", "8in"},
    {"chamber.depth", "12in"},
    {"lining.wall", "2.5in fibre board"},
    {"lining.floor", "1in insulating firebrick"},
};

static double now_s(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static ovp_status make_oven(ovp_oven *oven, ovp_error *error)
{
    ovp_status status = OVP_OK;

    ovp_oven_init(oven);
    for (size_t i = 0; i < sizeof leaves / sizeof leaves[0] && status == OVP_OK; ++i) {
        status = ovp_oven_set(oven, leaves[i][0], OVP_OVEN_LEAF_TEXT, leaves[i][1], NULL, error);
    }
    return status;
}

static void make_log(const ovp_thermal_plan *plan, ovp_trace_sample points[])
{
    ovp_thermal_run run;

    ovp_thermal_run_start(plan, &run);
    for (size_t i = 0; i < SAMPLES; ++i) {
        ovp_thermal_sample sample;
        ovp_thermal_run_to(&run, 2.0 * (double)i, &sample);
        points[i] = (ovp_trace_sample){.time_s = sample.time_s,
                                       .temperature_C = sample.temperature_C,
                                       .setpoint_C = sample.setpoint_C,
                                       .output_percent = sample.output_percent,
                                       .supply_V = NAN,
                                       .element_A = NAN,
                                       .cold_junction_C = NAN};
    }
}

int main(void)
{
    static ovp_trace_sample points[SAMPLES];
    static ovp_trace_input input;
    static ovp_trace_result result;
    static ovp_diagnosis_synthesis fit;
    ovp_thermal_plan plan;
    ovp_error error = {0};
    ovp_oven oven;
    void *memory = malloc(ovp_diagnosis_synthesis_size());

    if (memory == NULL || make_oven(&oven, &error) != OVP_OK ||
        ovp_thermal_plan_for(&oven, NULL, NAN, &plan, &error) != OVP_OK) {
        fprintf(stderr, "bench_synthesis: %s\n", error.what);
        free(memory);
        return 1;
    }
    make_log(&plan, points);
    input.has[OVP_TRACE_OUTPUT] = true;
    result.cold_start = true;
    result.start_C = points[0].temperature_C;
    const ovp_diagnosis_run run = {points, SAMPLES, &input, &result};
    const double from_s = now_s();
    for (int i = 0; i < ROUNDS; ++i) {
        ovp_diagnosis_synthesise(&oven, &plan.parameters, NAN, &run, NULL, memory, &fit);
    }
    printf("one hour beside %zu faults: %.0f ms in %zu KiB\n", fit.fit_count,
           (now_s() - from_s) * 1e3 / ROUNDS, ovp_diagnosis_synthesis_size() / 1024);
    free(memory);
    return 0;
}
