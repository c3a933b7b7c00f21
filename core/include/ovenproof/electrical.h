/*
 * ovenproof/electrical.h: load, branch circuit and protection of a given oven.
 *
 * First part: what the elements draw. Ohms hot follow from the plate (V^2/P); cold ohms from the alloy's
 * temperature factor (reference/heater-ct.csv). Wire tolerance of +-5 % on ohms is usual.
 */
#ifndef OVENPROOF_ELECTRICAL_H
#define OVENPROOF_ELECTRICAL_H

#include "ovenproof/oven.h"

#ifdef __cplusplus
extern "C" {
#endif

/**
 * Temperature factor of an alloy's resistance, R(T)/R(20 degC), between rows by straight lines; below 20 degC
 * and above the last row the nearest row. "" is the usual alloy. False for an unknown alloy (then *factor is
 * untouched). Source: reference/heater-ct.csv.
 */
bool ovp_electrical_alloy_factor(const char *alloy, double temperature_C, double *factor);

/** Name of the alloy that is taken when none is given, and where its factors come from. */
const char *ovp_electrical_usual_alloy(const char **source);

typedef struct ovp_electrical_load {
    double hot_ohm;                        /**< all elements as wired, at working temperature */
    double cold_ohm;                       /**< the same at 20 degC */
    double element_cold_ohm;               /**< one element alone (the first) at 20 degC */
    double element_ohm[OVP_OVEN_ELEMENTS]; /**< each element alone at 20 degC */
    double ohm_tolerance;                  /**< a share: 0.05 is +-5 % */
    double full_W, full_A;                 /**< at the volts asked for, heaters only */
    double cold_A;                         /**< in the first moment, elements at 20 degC */
    double total_A;                        /**< with controls.amps when given */
    size_t branches;                       /**< parallel paths */
    bool alloy_assumed;    /**< an element without alloy: the usual one was taken (judgement) */
    bool controls_counted; /**< controls.amps was given */
} ovp_electrical_load;

/** Load at `supply_V` (NAN: the oven's own). Errors: OVP_ERROR_DATA when elements or volts are missing. */
ovp_status ovp_electrical_load_of(const ovp_oven *oven, double supply_V, ovp_electrical_load *load,
                                  ovp_error *error);

/** Ohms of a copper conductor at 20 degC, one way. False for a gauge that is no row of reference/awg.csv. */
bool ovp_electrical_wire_ohm(int awg, double length_m, double *ohm);

/** Ohms of a cord, both ways, at 20 degC, from words like "6ft 12AWG"; false when they say no length and
 * gauge. */
bool ovp_electrical_cord_ohm(const char *cord, double *ohm);

/** How a load sits on its branch circuit. */
typedef struct ovp_electrical_circuit {
    double load_A, circuit_A;
    double share;        /**< load over rating */
    double continuous_A; /**< 80 % of the rating: NFPA 70 210.20(A), for three hours or more */
    bool within_rating, within_continuous;
    ovp_oven_fitted shared; /**< on a shared circuit the 80 % holds whatever the time */
    double series_ohm;      /**< line_ohms and cord; NAN when neither is known */
    double lost_V;          /**< in them under full load; NAN when unknown */
    double power_left;      /**< share of the plate's watts that reaches the elements; NAN when unknown */
} ovp_electrical_circuit;

/** Errors: OVP_ERROR_DATA when supply.circuit is missing. The local code and the inspector decide, not this.
 */
ovp_status ovp_electrical_circuit_of(const ovp_oven *oven, const ovp_electrical_load *load,
                                     ovp_electrical_circuit *circuit, ovp_error *error);

#ifdef __cplusplus
}
#endif

#endif
