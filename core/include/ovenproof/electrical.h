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

/** Temperature factor of an alloy's resistance, R(T)/R(20 degC). False for an unknown alloy. */
bool ovp_electrical_alloy_factor(const char *alloy, double temperature_C, double *factor);

typedef struct ovp_electrical_load {
    double hot_ohm;          /**< all elements as wired, at working temperature */
    double cold_ohm;         /**< the same at 20 degC */
    double element_cold_ohm; /**< one element alone (the first) at 20 degC */
    double full_W, full_A;   /**< at the volts asked for, heaters only */
    double total_A;          /**< with controls.amps when given */
    size_t branches;         /**< parallel paths */
    bool alloy_assumed;      /**< no alloy given: the usual one was taken (reference/alloys, judgement) */
} ovp_electrical_load;

/** Load at `supply_V` (NAN: the oven's own). Errors: OVP_ERROR_DATA when elements or volts are missing. */
ovp_status ovp_electrical_load_of(const ovp_oven *oven, double supply_V, ovp_electrical_load *load,
                                  ovp_error *error);

#ifdef __cplusplus
}
#endif

#endif
