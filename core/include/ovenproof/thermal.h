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
    OVP_THERMAL_NODES = 48,   /**< most slices of wall, and of floor */
    OVP_THERMAL_FACTORS = 14, /**< resistance factors at 20, 100, 200 ... 1300 degC */
    OVP_THERMAL_STAGES = 3,   /**< stages that make up the sensor's dead time */
};

/** The conditions of a run. */
typedef struct ovp_thermal_conditions {
    double supply_V;     /**< NAN: the oven's */
    double ambient_C;    /**< NAN: 24 */
    double start_C;      /**< NAN: ambient: a cold start */
    double load_J_per_K; /**< heat capacity of what is in the oven; 0 empty */
} ovp_thermal_conditions;

/** NAN everywhere but for the load, which is 0. */
void ovp_thermal_conditions_init(ovp_thermal_conditions *conditions);

/** Slices of a lining from the hot face out. Heat flows in one dimension through an area that grows. */
typedef struct ovp_thermal_lining {
    size_t count;
    double face_m2;                           /**< area of the hot face */
    double outer_m2;                          /**< area of the shell */
    double thickness_m[OVP_THERMAL_NODES];    /**< of the slice */
    double area_m2[OVP_THERMAL_NODES];        /**< at the slice's middle, by the shape factor */
    double J_per_m3K[OVP_THERMAL_NODES];      /**< density times heat capacity */
    double W_per_mK[OVP_THERMAL_NODES];       /**< at 20 degC */
    double slope_per_K[OVP_THERMAL_NODES];    /**< k(T) = k * (1 + slope * (T - 20)) */
    double moisture_share[OVP_THERMAL_NODES]; /**< of moisture_kg; with the other lining they add to 1 */
} ovp_thermal_lining;

/**
 * The physical parameters of one oven in one state of health. Made by ovp_thermal_from_oven; a fault
 * moves some of them (diagnosis/fault_model.c says which).
 */
typedef struct ovp_thermal_parameters {
    /* power */
    double supply_V, line_ohm, element_cold_ohm; /**< all elements as wired, at 20 degC */
    double factor[OVP_THERMAL_FACTORS];          /**< resistance by temperature of the element */
    double resistance_factor;                    /**< 1 healthy */
    double power_fraction;                       /**< 1 healthy; 0.5 half wave */
    double output_cap;                           /**< 0..1, 1 healthy: most output the controller gives */
    double leak_fraction; /**< power while the output is off, 0 healthy, 1 a shorted relay */
    double joint_ohm;     /**< in series with the elements, 0 healthy */
    /* chamber */
    double ambient_C, start_C;
    double element_J_per_K, chamber_J_per_K, load_J_per_K;
    double element_W_per_K, load_m2;
    double radiating_m2; /**< elements, times emissivity and view */
    double direct_share; /**< of it: straight to the hot faces; the rest to furnishings and couple */
    double door_leak_m2; /**< open to the room by radiation, 0 healthy */
    double door_leak_W_per_K;
    double moisture_kg;
    double face_emissivity, face_W_per_m2K; /**< chamber to hot face */
    /* wall (with roof, ends and door) and floor */
    ovp_thermal_lining wall, floor;
    double conductivity_factor; /**< 1 healthy */
    double shell_W_per_m2K;
    double latent_J_per_kg, boils_C, steam_J_per_kgK;
    /* sensor */
    double sensor_lag_s, sensor_dead_s;
    double sensor_coil_share;     /**< of what the tip sees, the coils' share; 0: it follows the chamber */
    double sensor_face_share;     /**< and the hot faces' share; the rest is furnishings and its own tube */
    double sensor_film_W_per_m2K; /**< tip to the chamber's air, over its emissivity */
    double sensor_wall_share;     /**< 0 healthy; 1: it reads the lining, not the chamber */
    double sensor_element_share;  /**< 0 healthy; share of the element's temperature it sees */
    double head_share;            /**< (head - ambient)/(chamber - ambient) after soaking */
    double head_lag_s;
    double panel_rise_C,
        panel_lag_s; /**< panel over ambient after soaking with the chamber at 816 degC (1500 degF) */
} ovp_thermal_parameters;

/**
 * Parameters of a healthy oven from its description. `conditions` may be NULL.
 * A floor thinner than the wall is a slab that lies on the wall's lining; a thicker one stands alone; without
 * a floor the wall's lining goes all round. A layer of an unknown material is taken as fibre board.
 * Errors: OVP_ERROR_DATA naming the figure that is missing (elements, volts, chamber, lining).
 */
ovp_status ovp_thermal_from_oven(const ovp_oven *oven, const ovp_thermal_conditions *conditions,
                                 ovp_thermal_parameters *parameters, ovp_error *error);

/** State of the model; public, owned by the caller, advanced by ovp_thermal_step. */
typedef struct ovp_thermal_state {
    double time_s;
    double element_C, chamber_C, load_C;
    double wall_C[OVP_THERMAL_NODES], floor_C[OVP_THERMAL_NODES];
    double wall_water_kg[OVP_THERMAL_NODES], floor_water_kg[OVP_THERMAL_NODES];
    double moisture_kg;    /**< water left */
    double steam_kg_per_s; /**< that boiled in the last step */
    double sensor_stage_C[OVP_THERMAL_STAGES];
    double sensor_C; /**< tip of the couple, after dead time and lag */
    double head_C, panel_C;
    double power_W, current_A, volts_V; /**< last step: into the elements, and while the output was on */
    double loss_W;                      /**< last step: through the shell and the door */
    double energy_in_J, lost_J, evaporated_J; /**< since the start; in = lost + evaporated + stored */
} ovp_thermal_state;

void ovp_thermal_start(const ovp_thermal_parameters *parameters, ovp_thermal_state *state);

/**
 * Advance by step_s (above 0, at most 60 s; divided inside) with the output on for `duty` (0..1) of it.
 * Implicit: stable for every parameter that is finite and not negative.
 */
void ovp_thermal_step(const ovp_thermal_parameters *parameters, double step_s, double duty,
                      ovp_thermal_state *state);

/** Heat held above the start, J: what the energy balance closes with. */
double ovp_thermal_stored_J(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state);

/** Power into the elements at full output with the elements at a temperature, W; current and volts at the
 * oven may be NULL. */
double ovp_thermal_full_power(const ovp_thermal_parameters *parameters, double element_C, double *current_A,
                              double *volts_V);

/** What a heat-up at full output came to at one mark. */
typedef struct ovp_thermal_mark {
    double time_s;   /**< NAN: not reached */
    double energy_J; /**< into the elements until then */
} ovp_thermal_mark;

/**
 * Heat up at full output from the start: marks[i] for to_C[i] (rising order) as the sensor shows it; not
 * reached within limit_s gives NAN.
 */
void ovp_thermal_marks(const ovp_thermal_parameters *parameters, const double to_C[], size_t count,
                       double limit_s, ovp_thermal_mark marks[]);

/** The times alone, s; NAN when not reached within limit_s. */
void ovp_thermal_heat_up(const ovp_thermal_parameters *parameters, const double to_C[], size_t count,
                         double limit_s, double times_s[]);

/** Sensor temperature at full output at `count` times (rising). For an expectation to judge a trace by. */
void ovp_thermal_curve(const ovp_thermal_parameters *parameters, const double times_s[], size_t count,
                       double temperature_C[]);

/** Steady power to hold a temperature, fully soaked, W. */
double ovp_thermal_hold_power(const ovp_thermal_parameters *parameters, double temperature_C);

/** Temperature at which full power equals the loss, degC: the ceiling. At most 2000. */
double ovp_thermal_ceiling(const ovp_thermal_parameters *parameters);

/* ---- what to expect of an oven ------------------------------------------------------------------------ */

/** One line of an outlook. */
typedef struct ovp_thermal_outlook_mark {
    double to_C;
    double within_s;     /**< the limit of the description; NAN: none */
    double time_s;       /**< NAN: not within 12 hours */
    double half_power_s; /**< with half the power; NAN: not within 12 hours */
    double energy_J;     /**< into the elements until then */
    double cost;         /**< in the unit of the price; NAN without one */
    double hold_W;       /**< to hold it, fully soaked; NAN above the ceiling */
    double least_V; /**< supply at which it would just meet its limit; NAN without one, or beyond reach */
} ovp_thermal_outlook_mark;

/** Heat-up, power and reach of an oven that may not be built yet. */
typedef struct ovp_thermal_outlook {
    double supply_V, ambient_C;
    bool limits; /**< marks are those of the description; else usual ones, none above the chamber's limit */
    size_t mark_count;
    ovp_thermal_outlook_mark marks[OVP_OVEN_HEAT_UP];
    double full_W, full_A;   /**< of the heaters, hot */
    double controls_A;       /**< of controller, fan, contactor; NAN: the description does not say */
    double ceiling_C;        /**< where full power is all lost: power alone would bring it there */
    double hold_C;           /**< the highest mark that it can hold */
    double hold_W;           /**< to hold it, fully soaked */
    double hold_share;       /**< of full power */
    double time_uncertainty; /**< k = 2, relative: 0.2; judgement */
} ovp_thermal_outlook;

/**
 * The outlook of an oven. `conditions` may be NULL; price_per_kWh NAN: no cost.
 * Errors: as ovp_thermal_from_oven and ovp_electrical_load_of.
 */
ovp_status ovp_thermal_outlook_of(const ovp_oven *oven, const ovp_thermal_conditions *conditions,
                                  double price_per_kWh, ovp_thermal_outlook *outlook, ovp_error *error);

/* ---- a heat-up beside the first firing --------------------------------------------------------------- */

/** What a fair time rests on. */
typedef enum ovp_thermal_basis {
    OVP_THERMAL_FAIR_VOLTS,  /**< the first firing, carried to the volts of now by the model */
    OVP_THERMAL_FAIR_LINE,   /**< the first firing; the line may stand 5 % higher or lower than then */
    OVP_THERMAL_FAIR_SPREAD, /**< the first firing alone; the model cannot be reckoned */
    OVP_THERMAL_FAIR_MODEL,  /**< no first firing: the model, and the limit of the description */
} ovp_thermal_basis;

/** Two times between which a heat-up is fine. */
typedef struct ovp_thermal_fair {
    double to_C, low_s, high_s; /**< whole minutes, half ones below ten: judged as it is said */
    ovp_thermal_basis basis;
} ovp_thermal_fair;

/**
 * Times to a mark that are fine, empty and from cold. first_s: the first firing's time to it; first_V, now_V:
 * volts under load then and now; each may be NAN. Spreads: reference/oven-model.csv (line_share,
 * same_oven_share). Errors: OVP_ERROR_DATA when nothing gives a time.
 */
ovp_status ovp_thermal_fair_time(const ovp_oven *oven, double to_C, double first_s, double first_V,
                                 double now_V, ovp_thermal_fair *fair, ovp_error *error);

/* ---- laws that the tests hold against published figures --------------------------------------------- */

/** Steady conduction of plane layers, m2 K/W: the sum of thickness over conductivity. */
double ovp_thermal_layers_resistance(const double thickness_m[], const double W_per_mK[], size_t count);

/** Rate constant h A / (rho V c) of a lump that cools, 1/s. */
double ovp_thermal_lump_rate(double W_per_m2K, double area_m2, double kg_per_m3, double volume_m3,
                             double J_per_kgK);

/** Heat capacity of a load of steel, J/K: mean value up to working temperature. */
double ovp_thermal_steel_J_per_K(double mass_kg);

/** Put a load of steel into the oven. */
void ovp_thermal_add_load(ovp_thermal_parameters *parameters, double steel_kg);

/* ---- controller settings ---------------------------------------------------------------------------- */

enum {
    OVP_THERMAL_LAGS = 2,
};

/** A process as a controller sees it: gain, dead time and one or two lags, the larger first; 0: not there. */
typedef struct ovp_thermal_process {
    double gain; /**< degC per unit of output (1 = full) */
    double dead_time_s;
    double time_constants_s[OVP_THERMAL_LAGS];
} ovp_thermal_process;

/** Settings of a controller in series (interacting) form. */
typedef struct ovp_thermal_settings {
    double gain_per_C; /**< output per degC; its inverse is the proportional band in degC */
    double integral_s, derivative_s;
} ovp_thermal_settings;

/**
 * Reduce lags (falling order) and dead time to `order` (1 or 2) lags by the half rule: the largest lag that
 * is given up is shared between the last one kept and the dead time, smaller ones go to the dead time
 * (Skogestad 2003).
 */
void ovp_thermal_half_rule(double gain, double dead_time_s, const double lags_s[], size_t count, size_t order,
                           ovp_thermal_process *process);

/**
 * Cancel a zero (zero_s s + 1) against a lag before the half rule (Skogestad 2003, rules T1 to T3; from
 * memory). dead_time_s: of the reduced process, as far as known. lags_s, larger first, loses the lag or keeps
 * a shorter one; *gain is scaled. Returns the lags left.
 */
size_t ovp_thermal_drop_zero(double zero_s, double dead_time_s, double lags_s[], size_t count, double *gain);

/**
 * Settings by the SIMC rule (Skogestad 2003) for a wanted closed-loop time constant; NAN: the dead time,
 * which is tight control.
 */
void ovp_thermal_simc(const ovp_thermal_process *process, double closed_loop_s,
                      ovp_thermal_settings *settings);

/* ---- a run: the oven with its controller, its sensor loop and what is logged --------------------- */

typedef enum ovp_thermal_break {
    OVP_THERMAL_BREAK_OFF,  /**< output 0 while the sensor cannot be read: the usual and safe setting */
    OVP_THERMAL_BREAK_FULL, /**< full output: the oven runs away */
    OVP_THERMAL_BREAK_HOLD, /**< the last output is kept */
} ovp_thermal_break;

/** A controller: proportional band, integral and derivative time, time-proportioned output. */
typedef struct ovp_thermal_controller {
    double setpoint_C;
    double band_C; /**< error that gives full output */
    double integral_s;
    double derivative_s;
    double period_s; /**< of the time-proportioned output */
    ovp_thermal_break on_break;
    double display_low_C, display_high_C; /**< range of the display; NAN: the type's */
} ovp_thermal_controller;

/**
 * A controller that suits the oven at a setpoint: from the description where it says (controller.pid, period,
 * on_sensor_break, display range), else by the rule for integrating processes (Skogestad 2003) on the slope
 * of the model at the setpoint.
 */
void ovp_thermal_controller_for(const ovp_oven *oven, const ovp_thermal_parameters *parameters,
                                double setpoint_C, ovp_thermal_controller *controller);

/**
 * What goes wrong in a run beyond the thermal parameters. Init with ovp_thermal_disturbance_init: a right
 * loop, nothing wrong. A time that is INFINITY never comes.
 */
typedef struct ovp_thermal_disturbance {
    ovp_tc_loop loop;   /**< wiring and setting; temperatures are filled in as the run goes */
    bool shorted;       /**< the legs touch on the way from the tip ... */
    double short_share; /**< ... to the head: 0 at the tip, 1 at the head */
    double leak_ratio;  /**< NAN; leak over hot loop resistance with the tip at 1093 degC, ten times more 140
                           degC below */
    double leak_share;  /**< where it leaks: 0 tip, 1 head */
    double compensation_gain;      /**< the cold-junction sensor reads panel + this times the panel's rise */
    double gain;                   /**< relative error of the rise above the panel; 0 right */
    double offset_C;               /**< added to the display */
    double unit_gain, unit_offset; /**< the number shown is gain * T + offset; 1 and 0 right */
    double noise_C;                /**< standard deviation added to the display */
    double sensor_dropouts_per_h, power_dropouts_per_h;
    double dropout_s; /**< mean length */
    double dropouts_from_s;
    double flicker;           /**< joint resistance varies by this share of itself; 0 steady */
    double sag;               /**< share of the supply that another load takes while it runs */
    double sag_mean_s;        /**< mean time between its switching */
    double open_from_s;       /**< the sensor opens */
    double frozen_from_s;     /**< the display stands still */
    double idle_from_s;       /**< the controller gives no output */
    double no_current_from_s; /**< output is given and no current flows */
    double leak_from_s;       /**< parameters.leak_fraction holds from then; 0 from the start */
    double dead_from_s;       /**< dark display, no heat ... */
    bool supply_dies;         /**< ... and no volts at the oven */
    bool action_reversed;
    double setpoint_share; /**< highest setpoint over the one wanted; 1 right */
    double tuning;         /**< band and times over the right ones; 1 right */
} ovp_thermal_disturbance;

void ovp_thermal_disturbance_init(const ovp_oven *oven, ovp_thermal_disturbance *disturbance);

/** How a run is made. */
typedef struct ovp_thermal_plan {
    ovp_thermal_parameters parameters;
    ovp_thermal_disturbance disturbance;
    ovp_thermal_controller controller;
    double noise_C;               /**< of a healthy display, standard deviation */
    double resolution_C;          /**< of the display; 0 full precision */
    double meter_noise;           /**< relative, of the volts and amps */
    bool half_wave_meter_average; /**< the ammeter averages: a half wave shows 0.5, not 0.707 */
    uint64_t seed;
} ovp_thermal_plan;

/**
 * A healthy run of an oven: parameters, controller and the noise of ordinary instruments; seed 1, display to
 * 0.1 degC. setpoint_C NAN: 28 degC (50 degF) above the highest heat-up mark, else 816 degC (1500 degF),
 * never above the chamber's limit. Errors: as ovp_thermal_from_oven.
 */
ovp_status ovp_thermal_plan_for(const ovp_oven *oven, const ovp_thermal_conditions *conditions,
                                double setpoint_C, ovp_thermal_plan *plan, ovp_error *error);

/** What is logged at an instant. */
typedef struct ovp_thermal_sample {
    double time_s;
    ovp_tc_display display; /**< OK: temperature_C holds */
    bool dark;              /**< no display at all */
    double temperature_C;   /**< as shown; NAN when not OK or dark */
    double setpoint_C, output_percent, supply_V, element_A, cold_junction_C;
    double true_C; /**< chamber */
} ovp_thermal_sample;

/** A run under way; public, owned by the caller, about 5 KiB. */
typedef struct ovp_thermal_run {
    ovp_thermal_plan plan;
    ovp_thermal_state state;
    double cycle_s, on_until_s, output;
    uint64_t cycle, samples;
    double integral, last_shown_C, derivative_K;
    double shown_C; /**< last good display */
    ovp_tc_display display;
    double sensor_back_s, power_back_s; /**< end of the dropout under way */
    bool sagging;
    double joint_share;
} ovp_thermal_run;

void ovp_thermal_run_start(const ovp_thermal_plan *plan, ovp_thermal_run *run);

/**
 * Go on to a time (not before the last) and log there. The same plan gives the same samples on any machine.
 * element_A is the on-current: of now or of the controller's last cycle, 0 when the output is 0.
 */
void ovp_thermal_run_to(ovp_thermal_run *run, double time_s, ovp_thermal_sample *sample);

/* ---- a run whose output is known ---------------------------------------------------------------------- */

/** What drove the oven up to a time, from the point before. */
typedef struct ovp_thermal_drive {
    double time_s;
    double output;   /**< mean, 0..1 */
    double supply_V; /**< at the oven, under load; NAN: the parameters' supply and line */
} ovp_thermal_drive;

/**
 * What the display shows at each point of a run from the start state, NAN where it shows no number. Times
 * rise; the first point is the start. Steps of at most longest_s (1 to 60 s), coarser than ovp_thermal_step:
 * for comparing many runs. No noise and nothing that chance does; events with a time come at that time.
 */
void ovp_thermal_driven(const ovp_thermal_parameters *parameters, const ovp_thermal_disturbance *disturbance,
                        const ovp_thermal_drive drive[], size_t count, double longest_s, double shown_C[]);

#ifdef __cplusplus
}
#endif

#include "ovenproof/thermal_firing.h"   /* an oven on a firing plan, water */
#include "ovenproof/thermal_identify.h" /* a process from a run, settings for its controller */
#include "ovenproof/thermal_proof.h"    /* a heat-up time carried to other volts */

#endif
