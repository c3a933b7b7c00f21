/* What to expect at full output, and in the steady state. */
#include "thermal/thermal_internal.h"

#include <math.h>

enum {
    PICARD = 60,
    BISECTIONS = 50,
};

static const double mark_step_s = 2;
static const double highest_C = 2000;

void ovp_thermal_marks(const ovp_thermal_parameters *parameters, const double to_C[], size_t count,
                       double limit_s, ovp_thermal_mark marks[])
{
    ovp_thermal_state state;
    size_t next = 0;

    ovp_thermal_start(parameters, &state);
    while (next < count && to_C[next] <= state.sensor_C) {
        marks[next++] = (ovp_thermal_mark){0, 0};
    }
    while (next < count && state.time_s < limit_s) {
        const double before_C = state.sensor_C;
        const double before_s = state.time_s;
        const double before_J = state.energy_in_J;
        ovp_thermal_step(parameters, mark_step_s, parameters->output_cap, &state);
        while (next < count && state.sensor_C >= to_C[next]) {
            const double share = (to_C[next] - before_C) / (state.sensor_C - before_C);
            marks[next].time_s = before_s + share * (state.time_s - before_s);
            marks[next].energy_J = before_J + share * (state.energy_in_J - before_J);
            ++next;
        }
    }
    for (; next < count; ++next) {
        marks[next] = (ovp_thermal_mark){NAN, NAN};
    }
}

void ovp_thermal_heat_up(const ovp_thermal_parameters *parameters, const double to_C[], size_t count,
                         double limit_s, double times_s[])
{
    enum {
        AT_ONCE = 32
    };
    ovp_thermal_mark marks[AT_ONCE];

    for (size_t from = 0; from < count; from += AT_ONCE) {
        const size_t part = count - from < AT_ONCE ? count - from : AT_ONCE;
        ovp_thermal_marks(parameters, to_C + from, part, limit_s, marks);
        for (size_t i = 0; i < part; ++i) {
            times_s[from + i] = marks[i].time_s;
        }
    }
}

void ovp_thermal_curve(const ovp_thermal_parameters *parameters, const double times_s[], size_t count,
                       double temperature_C[])
{
    ovp_thermal_state state;
    size_t next = 0;

    ovp_thermal_start(parameters, &state);
    while (next < count && times_s[next] <= 0) {
        temperature_C[next++] = parameters->start_C;
    }
    while (next < count) {
        const double before_s = state.time_s;
        const double before_C = state.sensor_C;
        ovp_thermal_step(parameters, mark_step_s, parameters->output_cap, &state);
        while (next < count && times_s[next] <= state.time_s) {
            const double share = (times_s[next] - before_s) / (state.time_s - before_s);
            temperature_C[next++] = before_C + share * (state.sensor_C - before_C);
        }
    }
}

/* Heat that a soaked lining takes from a chamber held at a temperature, W. */
static double steady_lining_W(const ovp_thermal_parameters *parameters, const ovp_thermal_lining *lining,
                              double chamber_C)
{
    double temperature_C[OVP_THERMAL_NODES];
    thermal_chain chain;

    if (lining->count == 0) {
        return 0;
    }
    for (size_t i = 0; i < lining->count; ++i) {
        const double depth = ((double)i + 0.5) / (double)lining->count;
        temperature_C[i] = chamber_C + depth * (parameters->ambient_C - chamber_C);
    }
    for (int i = 0; i < PICARD; ++i) {
        thermal_chain_prepare(parameters, lining, temperature_C, chamber_C, 0, &chain);
        thermal_chain_eliminate(parameters, temperature_C, &chain);
        thermal_chain_solve(&chain, chamber_C, chamber_C, temperature_C);
    }
    return chain.inward[0] * (chamber_C - temperature_C[0]);
}

double ovp_thermal_hold_power(const ovp_thermal_parameters *parameters, double temperature_C)
{
    const double door_link =
        parameters->door_leak_W_per_K +
        thermal_radiation(parameters->door_leak_m2, temperature_C, parameters->ambient_C);

    return steady_lining_W(parameters, &parameters->wall, temperature_C) +
           steady_lining_W(parameters, &parameters->floor, temperature_C) +
           door_link * (temperature_C - parameters->ambient_C);
}

/* What full output gives when the chamber sits at a temperature: the elements are hotter than it. */
static double power_at_W(const ovp_thermal_parameters *parameters, double chamber_C)
{
    double element_C = chamber_C;
    double power_W = 0;

    for (int i = 0; i < PICARD / 2; ++i) {
        const double link =
            parameters->element_W_per_K + thermal_radiation(parameters->radiating_m2, element_C, chamber_C);
        power_W = parameters->output_cap * ovp_thermal_full_power(parameters, element_C, NULL, NULL);
        element_C += 0.5 * (chamber_C + power_W / link - element_C);
    }
    return power_W;
}

double ovp_thermal_ceiling(const ovp_thermal_parameters *parameters)
{
    double low_C = parameters->ambient_C;
    double high_C = highest_C;

    for (int i = 0; i < BISECTIONS; ++i) {
        const double middle_C = 0.5 * (low_C + high_C);
        if (ovp_thermal_hold_power(parameters, middle_C) < power_at_W(parameters, middle_C)) {
            low_C = middle_C;
        } else {
            high_C = middle_C;
        }
    }
    return low_C;
}

double ovp_thermal_layers_resistance(const double thickness_m[], const double W_per_mK[], size_t count)
{
    double resistance = 0;

    for (size_t i = 0; i < count; ++i) {
        resistance += thickness_m[i] / W_per_mK[i];
    }
    return resistance;
}

double ovp_thermal_lump_rate(double W_per_m2K, double area_m2, double kg_per_m3, double volume_m3,
                             double J_per_kgK)
{
    return W_per_m2K * area_m2 / (kg_per_m3 * volume_m3 * J_per_kgK);
}
