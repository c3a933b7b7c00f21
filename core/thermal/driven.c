/* A run whose output a log tells: no controller, no chance, steps as coarse as the caller allows. */
#include "thermal/thermal_internal.h"

#include <math.h>

static double shown_now(const ovp_thermal_run *run)
{
    ovp_tc_display display;
    double shown_C;

    thermal_read_display(run, 0, &display, &shown_C);
    return display == OVP_TC_DISPLAY_OK ? shown_C : (double)NAN;
}

/* The parameters between two points: volts that were logged stand for the supply and its line. */
static void drive_by(const ovp_thermal_run *run, const ovp_thermal_drive *drive, ovp_thermal_parameters *now)
{
    const ovp_thermal_disturbance *wrong = &run->plan.disturbance;
    const double time_s = run->state.time_s;

    *now = run->plan.parameters;
    if (!isnan(drive->supply_V)) {
        now->supply_V = drive->supply_V;
        now->line_ohm = 0;
    }
    if (time_s < wrong->leak_from_s) {
        now->leak_fraction = 0;
    }
    if (time_s >= wrong->dead_from_s || time_s >= wrong->no_current_from_s) {
        now->power_fraction = 0;
    }
}

void ovp_thermal_driven(const ovp_thermal_parameters *parameters, const ovp_thermal_disturbance *disturbance,
                        const ovp_thermal_drive drive[], size_t count, double longest_s, double shown_C[])
{
    const ovp_thermal_plan plan = {.parameters = *parameters, .disturbance = *disturbance};
    const double most_s = fmin(fmax(longest_s, 1), 60);
    ovp_thermal_run run;

    ovp_thermal_run_start(&plan, &run);
    for (size_t i = 0; i < count; ++i) {
        const double span_s = i > 0 ? fmax(drive[i].time_s - drive[i - 1].time_s, 0) : 0;
        const int steps = (int)ceil(fmin(span_s, 1e6) / most_s);
        ovp_thermal_parameters now;
        drive_by(&run, &drive[i], &now);
        for (int k = 0; k < steps; ++k) {
            thermal_one_step(&now, span_s / steps, fmin(fmax(drive[i].output, 0), 1), &run.state);
        }
        shown_C[i] = shown_now(&run);
    }
}
