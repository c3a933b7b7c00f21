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

/**
 * What the oven would have taken to follow a recorded run, dry: energy_J[i] up to time_s[i], from its start.
 * Times rise; the run starts soaked at temperature_C[0].
 */
void ovp_thermal_energy_along(const ovp_thermal_parameters *parameters, const double time_s[],
                              const double temperature_C[], size_t count, double energy_J[]);

/* ---- water by weight ---------------------------------------------------------------------------------- */

/** A slab on the balance. */
typedef struct ovp_thermal_weighing {
    double time_s, kg;
} ovp_thermal_weighing;

/** Water that would still leave at the same temperature. Water bound in the cement is not in it. */
typedef struct ovp_thermal_water {
    double dry_kg; /**< where the weight is going */
    double left_kg,
        left_U_kg;         /**< still to leave at the last weighing; k = 2, from the balance's last digit */
    double share, share_U; /**< of dry_kg */
    double halves_s;       /**< what is left halves in this time; NAN: it has stopped falling */
} ovp_thermal_water;

/**
 * Three weighings on an exponential: the loss of weight slows in proportion to what is left. resolution_kg:
 * last digit of the balance, at least. Errors: OVP_ERROR_DATA: times that do not rise, a weight that rises,
 * a loss that does not slow down (no end can be foreseen).
 */
ovp_status ovp_thermal_water_left(const ovp_thermal_weighing weighings[3], double resolution_kg,
                                  ovp_thermal_water *water, ovp_error *error);

/* ---- the boiling point -------------------------------------------------------------------------------- */

/** Full heat through the boiling point from a cold start: when the sensor shows 100 degC, and how fast it
 * rises there, K an hour. NAN when it does not come there in two hours. */
void ovp_thermal_through_boiling(const ovp_thermal_parameters *parameters, double *time_s, double *C_per_h);

/** Gauge pressure of steam shut in at a temperature, Pa: 0 up to 100 degC; up to 250 degC, steam tables. */
double ovp_thermal_steam_Pa(double temperature_C);

#ifdef __cplusplus
}
#endif

#endif
