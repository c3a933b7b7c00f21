/* An oven on a firing plan: can it follow, and what does it draw? */
#include "thermal/thermal_internal.h"

#include <math.h>

static const double step_s = 60;
static const double behind_C = 5.6; /* 10 degF */
static const double arrived_C = 1;
static const double longest_s = 48 * 3600.0;
static const double stalled_s = 1800;
static const double stalled_C = 0.5;
static const double boiling_C = 100;

/* Where the chamber would be after a step at some output. */
static double after_step_C(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state,
                           double output)
{
    ovp_thermal_state tried = *state;

    ovp_thermal_step(parameters, step_s, output, &tried);
    return tried.chamber_C;
}

/* The output that brings the chamber to a temperature in one step: it rises with the output, so the place is
 * closed in on. */
static double output_for(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state,
                         double to_C)
{
    double low = 0, high = parameters->output_cap;
    double low_C = after_step_C(parameters, state, low), high_C = after_step_C(parameters, state, high);

    if (to_C <= low_C) {
        return low;
    }
    if (to_C >= high_C) {
        return high;
    }
    for (int i = 0; i < 6; ++i) {
        const double middle = low + (high - low) * (to_C - low_C) / (high_C - low_C);
        const double middle_C = after_step_C(parameters, state, middle);
        if (fabs(middle_C - to_C) < 0.02) {
            return middle;
        }
        if (middle_C < to_C) {
            low = middle;
            low_C = middle_C;
        } else {
            high = middle;
            high_C = middle_C;
        }
    }
    return low + (high - low) * (to_C - low_C) / (high_C - low_C);
}

/* Where the plan wants the chamber so long after the leg's begin. */
static double wanted_C(const ovp_oven_leg *leg, double since_s)
{
    const double rise_C = leg->to_C - leg->from_C;
    const double share = leg->time_s > 0 ? since_s / leg->time_s : 1; /* a bare setpoint: at once */

    return leg->from_C + rise_C * fmin(1, isnan(leg->time_s) ? 1 : share);
}

typedef struct walking {
    const ovp_thermal_parameters *parameters;
    ovp_thermal_state state;
    double checked_s, checked_C; /* for a rise that has stalled */
} walking;

static bool arrived(const walking *w, const ovp_oven_leg *leg)
{
    if (leg->to_C > leg->from_C) {
        return w->state.chamber_C >= leg->to_C - arrived_C;
    }
    if (leg->to_C < leg->from_C) {
        return w->state.chamber_C <= leg->to_C + arrived_C;
    }
    return true;
}

static bool stalled(walking *w, double since_s)
{
    if (since_s - w->checked_s < stalled_s) {
        return false;
    }
    const bool still = fabs(w->state.chamber_C - w->checked_C) < stalled_C;
    w->checked_s = since_s;
    w->checked_C = w->state.chamber_C;
    return still;
}

static void walk_leg(walking *w, const ovp_oven_leg *leg, ovp_thermal_firing_leg *walked)
{
    const double begun_J = w->state.energy_in_J;
    const double planned_s = isnan(leg->time_s) ? 0 : leg->time_s;
    double since_s = 0;

    w->checked_s = planned_s;
    w->checked_C = w->state.chamber_C;
    while (since_s < planned_s || (!arrived(w, leg) && since_s < planned_s + longest_s)) {
        const double before_J = w->state.energy_in_J;
        const double to_C = wanted_C(leg, since_s + step_s);
        const double output = leg->heated ? output_for(w->parameters, &w->state, to_C) : 0;
        ovp_thermal_step(w->parameters, step_s, output, &w->state);
        since_s += step_s;
        walked->most_share = fmax(walked->most_share, output);
        const double now_W = (w->state.energy_in_J - before_J) / step_s;
        walked->end_W += fmin(1, step_s / 600) * (now_W - walked->end_W);
        if (leg->to_C > leg->from_C && isnan(walked->behind_at_C) && !isnan(leg->time_s) &&
            to_C - w->state.chamber_C > behind_C) {
            walked->behind_at_C = w->state.chamber_C;
        }
        if (since_s > planned_s && stalled(w, since_s)) {
            break;
        }
    }
    walked->time_s =
        fmax(planned_s, isnan(leg->time_s) || since_s > planned_s + step_s ? since_s : planned_s);
    walked->reached = arrived(w, leg);
    walked->energy_J = w->state.energy_in_J - begun_J;
}

void ovp_thermal_firing_walk(const ovp_thermal_parameters *parameters, const ovp_oven_leg legs[],
                             size_t count, ovp_thermal_firing_leg walked[])
{
    walking w = {.parameters = parameters};
    bool heated = false;

    ovp_thermal_start(parameters, &w.state);
    for (size_t i = 0; i < count; ++i) {
        walked[i] = (ovp_thermal_firing_leg){.behind_at_C = NAN};
        heated = heated || legs[i].heated;
        if (heated) {
            walk_leg(&w, &legs[i], &walked[i]);
        } else {
            walked[i].time_s = legs[i].time_s;
            walked[i].reached = true;
        }
    }
}

void ovp_thermal_energy_along(const ovp_thermal_parameters *parameters, const double time_s[],
                              const double temperature_C[], size_t count, double energy_J[])
{
    ovp_thermal_parameters dry = *parameters;
    ovp_thermal_state state;
    size_t next = 1;

    if (count == 0) {
        return;
    }
    dry.moisture_kg = 0;
    dry.start_C = temperature_C[0];
    ovp_thermal_start(&dry, &state);
    energy_J[0] = 0;
    while (next < count) {
        const double at_s = time_s[0] + state.time_s + step_s, before_J = state.energy_in_J;
        size_t i = next;
        while (i + 1 < count && time_s[i] < at_s) {
            ++i;
        }
        const double span_s = time_s[i] - time_s[i - 1];
        const double share = fmin(1, span_s > 0 ? (at_s - time_s[i - 1]) / span_s : 1);
        const double to_C = temperature_C[i - 1] + share * (temperature_C[i] - temperature_C[i - 1]);
        ovp_thermal_step(&dry, step_s, output_for(&dry, &state, to_C), &state);
        for (; next < count && time_s[next] <= at_s; ++next) {
            energy_J[next] =
                state.energy_in_J - (state.energy_in_J - before_J) * (at_s - time_s[next]) / step_s;
        }
    }
}

void ovp_thermal_through_boiling(const ovp_thermal_parameters *parameters, double *time_s, double *C_per_h)
{
    const double to_C[] = {boiling_C - 5, boiling_C, boiling_C + 5};
    double times_s[3];

    ovp_thermal_heat_up(parameters, to_C, 3, 7200, times_s);
    *time_s = times_s[1];
    *C_per_h = 3600 * (to_C[2] - to_C[0]) / (times_s[2] - times_s[0]);
}

static const struct steam_row {
    double temperature_C, bar;
} steam[] = {
#include "steam.inc"
};

double ovp_thermal_steam_Pa(double temperature_C)
{
    const size_t count = sizeof steam / sizeof steam[0];
    size_t i = 1;

    if (!(temperature_C > boiling_C)) {
        return 0;
    }
    while (i + 1 < count && steam[i].temperature_C < temperature_C) {
        ++i;
    }
    const double share = fmin(1, (temperature_C - steam[i - 1].temperature_C) /
                                     (steam[i].temperature_C - steam[i - 1].temperature_C));
    const double bar = steam[i - 1].bar * pow(steam[i].bar / steam[i - 1].bar, share);
    return 1e5 * fmax(0, bar - steam[0].bar);
}
