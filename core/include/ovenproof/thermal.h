/*
 * ovenproof/thermal.h: how an oven heats. Takes parameters, knows no fault.
 *
 * One model for `expect`, `simulate`, the judging of a trace and the tests: element, chamber air and
 * furnishings, a wall of layers with the shape factor of its edges and corners, floor, moisture, door
 * leak, load, sensor lag, supply volts squared over resistance, a controller with time-proportioned
 * output. Every figure of a material is a row of reference/ with its source.
 */
#ifndef OVENPROOF_THERMAL_H
#define OVENPROOF_THERMAL_H

#include "ovenproof/oven.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    OVP_THERMAL_NODES = 48, /**< most slices of wall and floor together */
};

/** The conditions of a run. */
typedef struct ovp_thermal_conditions {
    double supply_V;     /**< NAN: the oven's */
    double ambient_C;    /**< NAN: 24 */
    double start_C;      /**< NAN: ambient: a cold start */
    double load_J_per_K; /**< heat capacity of what is in the oven; 0 empty */
} ovp_thermal_conditions;

/**
 * The physical parameters of one oven in one state of health. Made by ovp_thermal_from_oven; a fault
 * moves some of them (diagnosis/fault_model.c says which). The thermal room's author may add fields.
 */
typedef struct ovp_thermal_parameters {
    /* power */
    double supply_V, line_ohm, element_cold_ohm;
    char alloy[OVP_OVEN_STRING_SIZE];
    double resistance_factor; /**< 1 healthy */
    double power_fraction;    /**< 1 healthy; 0.5 half wave */
    double output_cap;        /**< 0..1, 1 healthy: most output the controller gives */
    double leak_fraction;     /**< power while the output is off, 0 healthy, 1 a shorted relay */
    double joint_ohm;         /**< in series with the elements, 0 healthy */
    /* chamber */
    double ambient_C, start_C;
    double element_J_per_K, chamber_J_per_K, load_J_per_K;
    double element_W_per_K, load_W_per_K;
    double radiating_m2; /**< element to chamber, times emissivity */
    double door_leak_m2, door_leak_W_per_K;
    double moisture_kg;
    /* wall and floor: slices from the hot face out, one dimension, area by the shape factor */
    size_t wall_nodes, floor_nodes;
    double wall_area_m2, floor_area_m2;
    double wall_thickness_m[OVP_THERMAL_NODES], wall_J_per_m3K[OVP_THERMAL_NODES];
    double wall_W_per_mK[OVP_THERMAL_NODES],
        wall_slope_per_K[OVP_THERMAL_NODES]; /**< k(T) = k*(1+slope*(T-20)) */
    double floor_thickness_m[OVP_THERMAL_NODES], floor_J_per_m3K[OVP_THERMAL_NODES];
    double floor_W_per_mK[OVP_THERMAL_NODES], floor_slope_per_K[OVP_THERMAL_NODES];
    double conductivity_factor; /**< 1 healthy */
    double shell_W_per_m2K;
    /* sensor */
    double sensor_lag_s, sensor_dead_s;
    double sensor_wall_share;    /**< 0 healthy; 1: it reads the lining, not the chamber */
    double sensor_element_share; /**< 0 healthy; share of the element's temperature it sees */
    double head_share;           /**< (head - ambient)/(chamber - ambient) after soaking */
    double head_lag_s;
    double panel_rise_C, panel_lag_s;
} ovp_thermal_parameters;

/**
 * Parameters of a healthy oven from its description. `conditions` may be NULL.
 * Errors: OVP_ERROR_DATA naming the figure that is missing (elements, chamber, lining...).
 */
ovp_status ovp_thermal_from_oven(const ovp_oven *oven, const ovp_thermal_conditions *conditions,
                                 ovp_thermal_parameters *parameters, ovp_error *error);

/** State of the model; public, owned by the caller, advanced by ovp_thermal_step. */
typedef struct ovp_thermal_state {
    double time_s;
    double element_C, chamber_C, load_C;
    double wall_C[OVP_THERMAL_NODES], floor_C[OVP_THERMAL_NODES];
    double moisture_kg;
    double sensor_C; /**< tip of the couple, after lag */
    double head_C, panel_C;
    double power_W, current_A, volts_V; /**< during the last step, while the output was on */
    double loss_W;                      /**< through the shell and the door, last step */
} ovp_thermal_state;

void ovp_thermal_start(const ovp_thermal_parameters *parameters, ovp_thermal_state *state);

/** Advance by step_s (0.05..60 s; divided inside as stability needs) with the output on for `duty` (0..1) of
 * it. */
void ovp_thermal_step(const ovp_thermal_parameters *parameters, double step_s, double duty,
                      ovp_thermal_state *state);

/**
 * Minutes to marks at full output from the start: times_s[i] for to_C[i] (rising order) as the sensor
 * shows it; NAN when not reached within limit_s.
 */
void ovp_thermal_heat_up(const ovp_thermal_parameters *parameters, const double to_C[], size_t count,
                         double limit_s, double times_s[]);

/** Sensor temperature at full output at `count` times (rising). For an expectation to judge a trace by. */
void ovp_thermal_curve(const ovp_thermal_parameters *parameters, const double times_s[], size_t count,
                       double temperature_C[]);

/** Steady power to hold a temperature, fully soaked, W. */
double ovp_thermal_hold_power(const ovp_thermal_parameters *parameters, double temperature_C);

/** Temperature at which full power equals the loss, degC: the ceiling. */
double ovp_thermal_ceiling(const ovp_thermal_parameters *parameters);

#ifdef __cplusplus
}
#endif

#endif
