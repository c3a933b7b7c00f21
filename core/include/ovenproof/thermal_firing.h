/*
 * ovenproof/thermal_firing.h: the part of ovenproof/thermal.h about firing plans: whether an oven can follow
 * one, what it draws, and the water that leaves a lining, by weight and by power.
 */
#ifndef OVENPROOF_THERMAL_FIRING_H
#define OVENPROOF_THERMAL_FIRING_H

#include "ovenproof/thermal.h"

#ifdef __cplusplus
extern "C" {
#endif

/** One leg of a plan on one oven, dry. */
typedef struct ovp_thermal_firing_leg {
    double time_s;      /**< it takes so long; longer than the plan's where the oven cannot follow */
    double energy_J;    /**< into the elements */
    double most_share;  /**< highest mean output over a minute, 0..1 */
    double end_W;       /**< mean of the last ten minutes at most */
    bool reached;       /**< it came to the leg's end temperature */
    double behind_at_C; /**< a rising ramp: where it fell behind at full output; NAN: it followed */
} ovp_thermal_firing_leg;

/**
 * Walk a plan's legs through the model, output chosen minute by minute so that the chamber follows. Legs
 * before the first heat take no energy. A cooling leg takes as long as the oven needs.
 */
void ovp_thermal_firing_walk(const ovp_thermal_parameters *parameters, const ovp_oven_leg legs[],
                             size_t count, ovp_thermal_firing_leg walked[]);

/** Full heat through the boiling point from a cold start: when the sensor shows 100 degC, and how fast it
 * rises there, K an hour. NAN when it does not come there in two hours. */
void ovp_thermal_through_boiling(const ovp_thermal_parameters *parameters, double *time_s, double *C_per_h);

/** Gauge pressure of steam shut in at a temperature, Pa: 0 up to 100 degC; up to 250 degC, steam tables. */
double ovp_thermal_steam_Pa(double temperature_C);

#ifdef __cplusplus
}
#endif

#endif
