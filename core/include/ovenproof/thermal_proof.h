/*
 * ovenproof/thermal_proof.h: a heat-up time carried to other volts and another room.
 *
 * The time to a mark goes as volts to the power -n with n = 2 P / (P - L), P the power and L what the lining
 * takes up and the room loses; over a whole climb P / (P - L) is the mean slope since cold over the slope at
 * the mark. That holds exactly where losses are in proportion to the rise and linings conduct by Fourier's
 * law (t dT/dt = T dh / d ln t of any step response h). So n is read from the climb itself: no figure of the
 * oven is needed. Radiation and conductivity that rises with heat bend the law; how far is reckoned by the
 * oven model, and counts as uncertainty.
 */
#ifndef OVENPROOF_THERMAL_PROOF_H
#define OVENPROOF_THERMAL_PROOF_H

#include "ovenproof/thermal.h"

#ifdef __cplusplus
extern "C" {
#endif

/** The climb of a run at full output, from time zero: times and temperatures in order. */
typedef struct ovp_thermal_climb {
    const double *time_s;
    const double *temperature_C;
    size_t count;
    double start_C; /**< where it began, at rest */
} ovp_thermal_climb;

/** How far an oven departs from the linear law. */
typedef struct ovp_thermal_bend {
    double share;    /**< true exponent over the one read from the climb; 1: linear */
    double exponent; /**< of the model alone; NAN without a model */
} ovp_thermal_bend;

/** What a time was taken under, and how sure that is. Uncertainties are expanded, k = 2. */
typedef struct ovp_thermal_proof_run {
    ovp_thermal_climb climb;
    double supply_V, supply_U_V; /**< at the oven while it heated */
    double time_U_s;             /**< of the log's clock, at start and mark together */
    double reading_U_C;          /**< of the display at the mark */
    double start_U_C;            /**< how far start and room may differ */
} ovp_thermal_proof_run;

/** Wanted conditions and limit. */
typedef struct ovp_thermal_proof_aim {
    double to_C;
    double within_s; /**< NAN: none */
    double supply_V, ambient_C;
    double run_s; /**< when the run passed it; NAN: as the climb says */
} ovp_thermal_proof_aim;

typedef enum ovp_thermal_decision {
    OVP_THERMAL_CANNOT_SAY, /**< the limit lies within time -+ U, or there is no time */
    OVP_THERMAL_PASS,       /**< time + U is within it */
    OVP_THERMAL_FAIL,       /**< time - U is beyond it */
} ovp_thermal_decision;

/** "pass", "fail", "cannot-say". */
const char *ovp_thermal_decision_name(ovp_thermal_decision decision);

/** Guard band as wide as U on both sides; any of them NAN: cannot say. */
ovp_thermal_decision ovp_thermal_decide(double time_s, double time_U_s, double within_s);

typedef struct ovp_thermal_proof {
    double run_s, run_U_s;       /**< as run: log's clock and display */
    double exponent, exponent_U; /**< n, k = 2 */
    double loss_share;           /**< L / P = 1 - 2 / n, 0 at least */
    double time_s, time_U_s;     /**< at the wanted volts and room */
    double least_V;              /**< volts at which time_s would just meet the limit; NAN without one */
    ovp_thermal_decision decision;
} ovp_thermal_proof;

/**
 * Carry the time to a mark. `bend` NULL: linear, without a share for what it may bend.
 * Errors (OVP_ERROR_DATA), with the words of the reason: the mark was not reached in this climb; too few
 * readings about the mark to tell what is lost; the climb ends before what must be read of it; the volts are
 * too far from the wanted ones (a share of 0.78).
 */
ovp_status ovp_thermal_prove(const ovp_thermal_proof_run *run, const ovp_thermal_proof_aim *aim,
                             const ovp_thermal_bend *bend, ovp_thermal_proof *proof, ovp_error *error);

/**
 * What the oven model says of the bend between two supplies, at each of `count` marks (rising order, at most
 * OVP_OVEN_HEAT_UP). A mark that the model does not reach: the usual share, with exponent NAN. The model's
 * own volts and start are not used.
 */
void ovp_thermal_bends(const ovp_thermal_parameters *model, double run_V, double aim_V, const double to_C[],
                       size_t count, ovp_thermal_bend bends[]);

/** The bend where nothing is known of the oven: reference/oven-model.csv. */
ovp_thermal_bend ovp_thermal_usual_bend(void);

/** Uncertainty (k = 2) of volts read by an ordinary meter, relative, and of volts that nobody read. */
double ovp_thermal_meter_volts_U(void);
double ovp_thermal_unread_volts_U(void);

#ifdef __cplusplus
}
#endif

#endif
