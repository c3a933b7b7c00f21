/*
 * ovenproof/thermocouple.h: emf and temperature.
 *
 * The reference functions are those of ITS-90 (NIST SRD 60, NIST Monograph 175; the same in IEC 60584-1
 * and ASTM E230), coefficients in reference/its90-emf-from-temperature.csv. Temperatures are t90 in degC,
 * emf in mV to a reference junction at 0 degC unless another is named.
 *
 * Joins: the published pieces do not quite meet. The lower piece wins at the join; an emf in the gap
 * gives the join's temperature. Range ends are accepted to half a unit of the last published place
 * (0.0005 mV), because the printed end of a table can lie outside the function.
 */
#ifndef OVENPROOF_THERMOCOUPLE_H
#define OVENPROOF_THERMOCOUPLE_H

#include "ovenproof/base.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum ovp_tc_type {
    OVP_TC_B,
    OVP_TC_C,
    OVP_TC_E,
    OVP_TC_J,
    OVP_TC_K,
    OVP_TC_N,
    OVP_TC_R,
    OVP_TC_S,
    OVP_TC_T,
    OVP_TC_TYPES,                /**< how many there are */
    OVP_TC_COPPER = OVP_TC_TYPES /**< a pair of plain copper: makes no emf; only as extension in a loop */
} ovp_tc_type;

/** "K", "k", "type K"; "copper" where `allow_copper`. False for any other word. */
bool ovp_tc_type_named(ovp_span name, bool allow_copper, ovp_tc_type *type);
/** "K", "copper". */
const char *ovp_tc_type_name(ovp_tc_type type);

/** Published range: temperature in degC, and the emf at its ends in mV. */
void ovp_tc_range(ovp_tc_type type, double *low_C, double *high_C, double *low_mV, double *high_mV);

/**
 * Emf of a couple with its reference junction at 0 degC. Below 0 degC computed in compensated
 * arithmetic: within 1e-12 mV of the published function.
 * Errors: OVP_ERROR_DATA outside the range or not a number.
 */
ovp_status ovp_tc_emf(ovp_tc_type type, double temperature_C, double *emf_mV, ovp_error *error);

/** Seebeck coefficient dE/dt in mV per degC. Errors as ovp_tc_emf. At a join: of the lower piece. */
ovp_status ovp_tc_seebeck(ovp_tc_type type, double temperature_C, double *mV_per_C, ovp_error *error);

/**
 * Temperature of an emf (reference junction at 0 degC): the root of the published function, within
 * 1e-9 degC. Type B answers from 42.132 degC up; below, one emf has two temperatures and is refused.
 * Errors: OVP_ERROR_DATA outside the range (by more than 0.0005 mV) or not a number.
 */
ovp_status ovp_tc_temperature(ovp_tc_type type, double emf_mV, double *temperature_C, ovp_error *error);

/** Emf of a couple with its reference junction at cold_C: what a meter at the screws shows. Errors as
 * ovp_tc_emf. */
ovp_status ovp_tc_emf_at(ovp_tc_type type, double temperature_C, double cold_C, double *emf_mV,
                         ovp_error *error);

/** Temperature of an emf measured with the reference junction at cold_C (added as emf, never as degrees). */
ovp_status ovp_tc_temperature_at(ovp_tc_type type, double emf_mV, double cold_C, double *temperature_C,
                                 ovp_error *error);

/* ---- the loop law -------------------------------------------------------------------------------- */

/** One stretch of a loop, walked from + to -: sign * [E(hot) - E(cold)]; sign -1 when it is crossed. */
typedef struct ovp_tc_segment {
    ovp_tc_type type;
    double hot_C;
    double cold_C;
    int sign;
} ovp_tc_segment;

/** Sum of the segments' emf, mV. Copper adds nothing. */
ovp_status ovp_tc_loop_emf(const ovp_tc_segment segments[], size_t count, double *emf_mV, ovp_error *error);

/** A thermocouple loop as it is wired and read, right or wrong. Set it up with ovp_tc_loop_init. */
typedef struct ovp_tc_loop {
    ovp_tc_type sensor;
    double tip_C;
    ovp_tc_type extension;   /**< may be OVP_TC_COPPER */
    double head_C;           /**< where sensor and extension meet */
    double panel_C;          /**< the controller's screws */
    ovp_tc_type input;       /**< the type the input is set to */
    bool reversed;           /**< the whole loop flipped at the controller's screws */
    bool extension_reversed; /**< the extension crossed once more: alone at both ends; with `reversed` at the
                                head only */
    bool open;
    bool compensation;           /**< false: the input takes its screws as 0 degC */
    double compensation_error_C; /**< what the cold-junction sensor reads too high */
    double shorted_at_C;         /**< NAN: no short; else the legs touch where it is this warm */
    double leak_ratio;           /**< NAN: no leak; else leak resistance over hot loop resistance, > 0 */
    double leak_at_C;
    double display_low_C; /**< range of the display; NAN: the function's */
    double display_high_C;
} ovp_tc_loop;

typedef enum ovp_tc_display {
    OVP_TC_DISPLAY_OK,
    OVP_TC_DISPLAY_UNDER_RANGE,
    OVP_TC_DISPLAY_OVER_RANGE,
    OVP_TC_DISPLAY_OPEN,
} ovp_tc_display;

/** What a compensating input shows. */
typedef struct ovp_tc_reading {
    ovp_tc_display display;
    double reads_C; /**< NAN unless display is OK */
    double error_C; /**< reads - tip; NAN unless display is OK */
    double emf_mV;  /**< between the screws, compensation not added; NAN when open */
} ovp_tc_reading;

/** A right loop: extension and input of the sensor's type, head at panel temperature. */
void ovp_tc_loop_init(ovp_tc_loop *loop, ovp_tc_type sensor, double tip_C, double panel_C);

/**
 * D = inv_input( E_input(panel + compensation error) + V ): the one law behind `misread`, the simulator,
 * the trace checks and the guide. A tip hotter than
 * its type's function reads over range (reversed: under) where that is certain, with emf_mV NAN.
 * Errors: OVP_ERROR_DATA when a wire's temperature is otherwise outside its type.
 */
ovp_status ovp_tc_loop_read(const ovp_tc_loop *loop, ovp_tc_reading *reading, ovp_error *error);

/** Which way the display goes when the tip warms: 1 up, as it should; -1 down; 0 not at all (short, open). */
int ovp_tc_loop_follows(const ovp_tc_loop *loop);

/**
 * What a controller does with such a loop under heat: OVP_TC_RUNS_AWAY when its display falls, stands still
 * or lies below the range while the oven heats, so that heat stays on; OPEN depends on the break setting.
 */
typedef enum ovp_tc_runaway {
    OVP_TC_STAYS,
    OVP_TC_RUNS_AWAY,
    OVP_TC_DEPENDS,
} ovp_tc_runaway;
ovp_tc_runaway ovp_tc_loop_runaway(const ovp_tc_loop *loop, const ovp_tc_reading *reading);

/** "ok", "under-range", "over-range", "open": the words of the JSON. */
const char *ovp_tc_display_name(ovp_tc_display display);

/* ---- tolerance and colours ----------------------------------------------------------------------- */

/**
 * Half-width of a tolerance class at a temperature, degC. `name` is one of astm-e230-standard,
 * astm-e230-special, iec-60584-1-class-1, -2, -3. Source: reference/tolerances.csv.
 * Errors: OVP_ERROR_DATA for an unknown class, or where the class does not cover the type or temperature.
 */
ovp_status ovp_tc_tolerance(const char *name, ovp_tc_type type, double temperature_C, double *tolerance_C,
                            ovp_error *error);
/** The class names, in order; NULL past the last. */
const char *ovp_tc_tolerance_name(size_t index);

/** Colours of an extension pair. */
typedef struct ovp_tc_colours {
    const char *standard; /**< "astm-e230", "iec-60584-3" ... */
    const char *positive;
    const char *negative;
    const char *sheath;
    const char *source;
} ovp_tc_colours;

/** Colours of a type by a standard ("astm-e230", "iec-60584-3"; country words "us", "eu" work too). False
 * when unknown. */
bool ovp_tc_colours_of(const char *standard, ovp_tc_type type, ovp_tc_colours *colours);

/** Which leg a magnet draws: "the minus leg is drawn and the plus leg is not"; "" when no row says. Source:
 * reference/magnet.csv. */
const char *ovp_tc_magnet(ovp_tc_type type);

#ifdef __cplusplus
}
#endif

#endif
