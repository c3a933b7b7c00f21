/* One heat-up of an hour, beside the divisions that the machine could do in that time: the fit of a trace
   needs some hundreds of heat-ups. */
#include "ovenproof/thermal.h"

#include <math.h>
#include <stdio.h>
#include <time.h>

enum {
    ROUNDS = 200,
    SUB_STEPS = 1800, /* of an hour */
};

static double now_s(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static ovp_status make_oven(ovp_oven *oven, ovp_error *error)
{
    static const char *const leaves[][2] = {
        {"name", "bench"},
        {"supply.volts", "240V"},
        {"elements[1].watts", "3600W"},
        {"elements[1].at", "240V"},
        {"chamber.width", "8in"},
        {"chamber.height", "8in"},
        {"chamber.depth", "12in"},
        {"lining.wall", "2.5in fibre board"},
        {"lining.floor", "1in insulating firebrick"},
    };

    ovp_oven_init(oven);
    for (size_t i = 0; i < sizeof leaves / sizeof leaves[0]; ++i) {
        const ovp_status status =
            ovp_oven_set(oven, leaves[i][0], OVP_OVEN_LEAF_TEXT, leaves[i][1], NULL, error);
        if (status != OVP_OK) {
            return status;
        }
    }
    return OVP_OK;
}

/* Dependent divisions: what a chain solved from one end to the other cannot beat. */
static double division_ns(void)
{
    enum {
        COUNT = 10000000
    };
    volatile double start = 1.5;
    double value = start;
    const double from_s = now_s();

    for (int i = 0; i < COUNT; ++i) {
        value = 3.0 / value;
    }
    start = value;
    return (now_s() - from_s) * 1e9 / COUNT;
}

static double heat_up_ms(const ovp_thermal_parameters *parameters)
{
    const double to_C[] = {5000};
    double times_s[1];
    const double from_s = now_s();

    for (int i = 0; i < ROUNDS; ++i) {
        ovp_thermal_heat_up(parameters, to_C, 1, 3600, times_s);
    }
    return (now_s() - from_s) * 1e3 / ROUNDS;
}

int main(void)
{
    ovp_thermal_parameters parameters;
    ovp_error error = {0};
    ovp_oven oven;

    if (make_oven(&oven, &error) != OVP_OK ||
        ovp_thermal_from_oven(&oven, NULL, &parameters, &error) != OVP_OK) {
        fprintf(stderr, "bench_thermal: %s\n", error.what);
        return 1;
    }
    const double slices = (double)(parameters.wall.count + parameters.floor.count);
    const double dry_ms = heat_up_ms(&parameters);
    parameters.moisture_kg = 1;
    const double wet_ms = heat_up_ms(&parameters);
    printf("heat-up of 60 min: %.3f ms dry, %.3f ms with 1 kg of water\n", dry_ms, wet_ms);
    printf("%.0f slices: %.1f ns a slice and step; a dependent division takes %.1f ns\n", slices,
           dry_ms * 1e6 / (slices * SUB_STEPS), division_ns());
    return 0;
}
