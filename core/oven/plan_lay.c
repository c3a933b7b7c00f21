/* A plan laid out in time: its ramps and holds as legs, in order. */
#include "oven/oven_internal.h"

#include <math.h>

static const double boiling_C = 100.0;
static const double inch_m = 0.0254;

/* The longer of a plain time and one that goes by the slab. */
static double hold_s(const ovp_oven_step *step, double thickness_m, bool *assumed)
{
    if (isnan(step->per_inch_s))
        return step->time_s;
    if (isnan(thickness_m)) {
        thickness_m = inch_m;
        *assumed = true;
    }
    return fmax(step->per_inch_s * thickness_m / inch_m, step->time_s); /* fmax leaves a NAN out */
}

static ovp_oven_leg ramp_leg(const ovp_oven_step *step, double from_C)
{
    ovp_oven_leg leg = {.from_C = from_C,
                        .to_C = step->to_C,
                        .per_hour_C = step->per_hour_C,
                        .stair_C = step->stair_C,
                        .heated = true};
    leg.time_s = fabs(leg.to_C - leg.from_C) / leg.per_hour_C * 3600.0;
    return leg;
}

size_t ovp_oven_plan_lay(const ovp_oven_plan *plan, double thickness_m, double start_C, ovp_oven_leg legs[],
                         bool *assumed)
{
    const ovp_oven_floor_row *floor = ovp_oven_floor_of(plan->floor);
    bool guessed = false, wet = floor != NULL && floor->wet;
    double at_C = start_C;
    size_t count = 0;

    for (size_t i = 0; i < plan->step_count; i++) {
        const ovp_oven_step *step = &plan->steps[i];
        if (step->kind == OVP_OVEN_STEP_CONDITION && at_C >= boiling_C)
            wet = false; /* colder, the water that binds to the gel is still there */
        if (step->kind != OVP_OVEN_STEP_RAMP && step->kind != OVP_OVEN_STEP_HOLD)
            continue;
        ovp_oven_leg leg = ramp_leg(step, at_C);
        if (step->kind == OVP_OVEN_STEP_HOLD)
            leg = (ovp_oven_leg){
                .from_C = at_C,
                .to_C = at_C,
                .per_hour_C = NAN,
                .stair_C = NAN,
                .time_s = hold_s(step, isnan(thickness_m) ? plan->thickness_m : thickness_m, &guessed),
                .heated = step->heat != OVP_OVEN_NOT_FITTED};
        leg.step = i;
        leg.wet = wet;
        at_C = leg.to_C;
        legs[count++] = leg;
    }
    if (assumed != NULL)
        *assumed = guessed;
    return count;
}
