/*
 * ovenproof/electrical_circuit.h: the part of ovenproof/electrical.h about load and branch circuit.
 *
 * What the elements draw: ohms hot follow from the plate (V^2/P); cold ohms from the alloy's temperature
 * factor (reference/heater-ct.csv); a wire tolerance of +-5 % on ohms is usual. Then wire and cords, breakers
 * and fuses, ohms of the line, what one failure does, the rules of a branch circuit, and the review that puts
 * them together. Figures are rows of reference/protective-devices.csv, conductors.csv, awg.csv,
 * metric-wire.csv, plugs.csv, supply-steps.csv, single-failures.csv and electrical.csv, each with its source.
 * The local code and the inspector decide, never this.
 */
#ifndef OVENPROOF_ELECTRICAL_CIRCUIT_H
#define OVENPROOF_ELECTRICAL_CIRCUIT_H

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

/* ---- wire and cords ------------------------------------------------------------------------------------ */

/** Ohms of a copper conductor at 20 degC, one way. False for a gauge that is no row of reference/awg.csv. */
bool ovp_electrical_wire_ohm(int awg, double length_m, double *ohm);

/** A copper conductor: a row of reference/conductors.csv with its ohms. */
typedef struct ovp_electrical_wire {
    int awg;    /**< 0 when it goes by its area */
    double mm2; /**< NAN when it goes by its gauge */
    double ohm_per_m;
    double cord_A;    /**< as a flexible cord; NAN where no row says */
    double wall_A;    /**< in the wiring of a house; NAN likewise */
    double breaker_A; /**< largest breaker that protects it in a wall; NAN likewise */
    const char *source, *ohm_source;
} ovp_electrical_wire;

typedef struct ovp_electrical_cord {
    ovp_electrical_wire wire;
    double length_m; /**< NAN when the words say none */
    double ohm;      /**< both ways at 20 degC; NAN without a length */
    double warm_ohm; /**< at the temperature of a cord at its full amps (row cord_warm) */
} ovp_electrical_cord;

/**
 * A cord from words: "25ft 16AWG", "50 ft 12/3", "7.5m 1.5mm2", in any order; the length may be left out.
 * Errors: OVP_ERROR_DATA for a word that is neither, for no wire, a wire that is no row of the tables, two
 * wires or two lengths.
 */
ovp_status ovp_electrical_cord_of(const char *words, ovp_electrical_cord *cord, ovp_error *error);

/** Ohms of a cord, both ways, at 20 degC, from the words above; false when they say no length and gauge. */
bool ovp_electrical_cord_ohm(const char *cord, double *ohm);

/** The thinnest cord of the tables that carries so much, by gauge or by area; false when none does. */
bool ovp_electrical_cord_for(double load_A, bool metric, ovp_electrical_wire *wire);

/** Volts and amps that a plug is made for: a row of reference/plugs.csv. False for an unknown pattern. */
bool ovp_electrical_plug_named(const char *words, double *volts_V, double *rating_A, const char **source);

/* ---- breakers and fuses -------------------------------------------------------------------------------- */

typedef enum ovp_electrical_device {
    OVP_ELECTRICAL_BREAKER_UL,
    OVP_ELECTRICAL_BREAKER_IEC_B,
    OVP_ELECTRICAL_BREAKER_IEC_C,
    OVP_ELECTRICAL_BREAKER_IEC_D,
    OVP_ELECTRICAL_FUSE_UL,
    OVP_ELECTRICAL_FUSE_IEC_FAST,
    OVP_ELECTRICAL_FUSE_IEC_GG,
    OVP_ELECTRICAL_DEVICES,
} ovp_electrical_device;

/** Whose figures apply. */
typedef enum ovp_electrical_rules {
    OVP_ELECTRICAL_RULES_US,
    OVP_ELECTRICAL_RULES_IEC,
} ovp_electrical_rules;

/** "breaker-ul", as in reference/protective-devices.csv. */
const char *ovp_electrical_device_name(ovp_electrical_device device);

/** Amps and kind of a device from words: "20A", "B16", "5A fast", "20A breaker", "gG 16A". A bare rating is a
 * fuse when `fuse`, else a breaker, by `rules`. Errors: OVP_ERROR_DATA. */
ovp_status ovp_electrical_rating_of(const char *words, bool fuse, ovp_electrical_rules rules,
                                    ovp_electrical_device *device, double *rating_A, ovp_error *error);

/** What a sound device does at some amps by its published test. */
typedef struct ovp_electrical_protection {
    ovp_electrical_device device;
    double rating_A, load_A, multiple; /**< load over rating */
    double holds_s;  /**< it carries them at least so long: HUGE_VAL for good, NAN when no row says */
    double within_s; /**< it must have opened by then; NAN when no row says */
    const char *holds_source, *within_source; /**< NULL where NAN */
} ovp_electrical_protection;

/** Errors: OVP_ERROR_DATA when the rating is not above zero or outside the device's rows. */
ovp_status ovp_electrical_protection_of(ovp_electrical_device device, double rating_A, double load_A,
                                        ovp_electrical_protection *protection, ovp_error *error);

/** One published limit of a device of this rating, in the order of the table; false past the last. */
typedef struct ovp_electrical_device_limit {
    double multiple, current_A;
    bool opens;    /**< it must open; else it must hold */
    double time_s; /**< within, or for at least; HUGE_VAL for good */
    double air_C;  /**< of the test */
    const char *source;
} ovp_electrical_device_limit;

bool ovp_electrical_device_limit_at(ovp_electrical_device device, double rating_A, size_t index,
                                    ovp_electrical_device_limit *limit);

/* ---- the line ------------------------------------------------------------------------------------------ */

/** Two readings of the volts at one outlet, a load off and on. */
typedef struct ovp_electrical_readings {
    double off_V, on_V;
    double resolution_V; /**< last digit of the meter */
    double load_A;       /**< drawn while on; NAN: from load_W */
    double load_W;       /**< on the load's plate, at plate_V; NAN: from load_ohm */
    double plate_V;
    double load_ohm;   /**< of the oven itself, hot */
    double load_share; /**< relative uncertainty (k = 2) of what the load draws; 0 not known */
} ovp_electrical_readings;

typedef enum ovp_electrical_state {
    OVP_ELECTRICAL_STATE_NOT_KNOWN,
    OVP_ELECTRICAL_STATE_GOOD,
    OVP_ELECTRICAL_STATE_TROUBLE,
} ovp_electrical_state;

typedef struct ovp_electrical_line {
    double drop_V, drop_U_V; /**< k = 2, from the resolution of both readings */
    double load_A;
    double ohm, ohm_U; /**< of the line up to that outlet, both ways; U with k = 2 */
    /* at the full load asked about */
    double full_A, sag_V, sag_share, sag_share_U; /**< below the volts with everything off */
    double power_left;
    double heat_W;              /**< in the line and its joints at that load */
    ovp_electrical_state state; /**< against 3 and 5 % (rows sag_good, sag_most), the uncertainty counted */
    bool past_most;             /**< above 5 %, whatever the uncertainty */
} ovp_electrical_line;

/**
 * Share of the full power that a resistance takes at `value` (volts or amps) where `full` gives all of it:
 * its square. NAN when either is not known or `full` is 0.
 */
double ovp_electrical_power_share(double value, double full);

/** Volts as a meter showed them: "121.3V" is 121.3 V with a last digit of 0.1 V. Errors: OVP_ERROR_DATA. */
ovp_status ovp_electrical_shown_volts(const char *words, double *volts_V, double *resolution_V,
                                      ovp_error *error);

/**
 * What drew while the volts were read on: "12A" or "1500W" (at the oven's volts), or NULL for the oven itself
 * at full heat. Sets load_A, load_W, plate_V, load_ohm and load_share. Errors: OVP_ERROR_DATA.
 */
ovp_status ovp_electrical_readings_load(ovp_electrical_readings *readings, const char *words,
                                        const ovp_oven *oven, ovp_error *error);

/** `full_ohm`: the oven's hot ohms; NAN leaves the last part NAN. Errors: OVP_ERROR_DATA when the volts do
 * not fall, are not above zero, or no load is known. */
ovp_status ovp_electrical_line_of(const ovp_electrical_readings *readings, double full_ohm,
                                  ovp_electrical_line *line, ovp_error *error);

/* ---- a cycling load ------------------------------------------------------------------------------------ */

/** What the conductors feel over a run: start it with {0}. */
typedef struct ovp_electrical_cycle {
    double begun, square_A2s, time_s, stretch_s;
    double last_time_s, last_share;
    double longest_full_s; /**< longest stretch without a pause in full heat */
} ovp_electrical_cycle;

/** One sample: the share of full amps squared at this time lasts until the next (0..1; NAN: as before). */
void ovp_electrical_cycle_add(ovp_electrical_cycle *cycle, double time_s, double square_share);
/** Root mean square as a share of the full amps; NAN without two samples. */
double ovp_electrical_cycle_rms(const ovp_electrical_cycle *cycle);

/* ---- what one failure does ----------------------------------------------------------------------------- */

typedef enum ovp_electrical_failure_level {
    OVP_ELECTRICAL_FAILURE_NOT_KNOWN,
    OVP_ELECTRICAL_FAILURE_STOPPED, /**< something else stops the heat */
    OVP_ELECTRICAL_FAILURE_HIDDEN,  /**< nothing shows it, and it takes a safeguard away */
    OVP_ELECTRICAL_FAILURE_LIVE,    /**< a person can touch what is live */
    OVP_ELECTRICAL_FAILURE_HEATS,   /**< it goes on heating with nobody there */
} ovp_electrical_failure_level;

enum {
    OVP_ELECTRICAL_FAILURES = 8,
    OVP_ELECTRICAL_SUPPLY_STEPS = 6,
};

typedef struct ovp_electrical_failure {
    const char *id;
    ovp_electrical_failure_level level;
    const char *text;    /**< "a shorted relay leaves it heating; ..."; NULL when not known */
    const char *missing; /**< field that would decide it, "fitted.limiter"; NULL when known */
    const char *source;
} ovp_electrical_failure;

/** Every id of reference/single-failures.csv once; returns how many (at most OVP_ELECTRICAL_FAILURES). */
size_t ovp_electrical_failures_of(const ovp_oven *oven, ovp_electrical_failure failures[]);

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

/* ---- the review ---------------------------------------------------------------------------------------- */

/** What is asked; start it with ovp_electrical_question_init. */
typedef struct ovp_electrical_question {
    ovp_electrical_rules rules;
    const char *circuit;    /**< "20A", "B16"; NULL: the oven's */
    ovp_oven_fitted shared; /**< UNKNOWN: the oven's */
    const char *cord;       /**< NULL: the oven's */
    const char *extension;  /**< an extension cord; NULL none */
    const char *conductor;  /**< wire in the wall, with or without a length; NULL not known */
    const char *plug;       /**< NULL not known */
    double full_heat_s;     /**< longest stretch of full heat; NAN not known */
    double duty;            /**< share of the time with heat on; NAN not known */
    double rms_share;       /**< of the full amps, from a run; NAN not known */
    double line_ohm;        /**< measured; NAN: the oven's */
    double line_ohm_U;      /**< of the measured one, k = 2 */
} ovp_electrical_question;

void ovp_electrical_question_init(ovp_electrical_question *question);

/** Which rule of the circuit is broken, or could be. */
typedef enum ovp_electrical_rule {
    OVP_ELECTRICAL_RULE_NONE,
    OVP_ELECTRICAL_RULE_RATING, /**< more than the breaker's rating */
    OVP_ELECTRICAL_RULE_SHARED, /**< past 80 % on a circuit with other outlets, whatever the time */
    OVP_ELECTRICAL_RULE_LONG,   /**< past 80 % with full current for three hours or more */
} ovp_electrical_rule;

typedef enum ovp_electrical_check {
    OVP_ELECTRICAL_CHECK_CIRCUIT,
    OVP_ELECTRICAL_CHECK_VOLTS,
    OVP_ELECTRICAL_CHECK_CONDUCTOR,
    OVP_ELECTRICAL_CHECK_CORD,
    OVP_ELECTRICAL_CHECK_EXTENSION,
    OVP_ELECTRICAL_CHECK_PLUG,
    OVP_ELECTRICAL_CHECK_DROP,
    OVP_ELECTRICAL_CHECK_PROTECTOR,
    OVP_ELECTRICAL_CHECK_FUSE,
    OVP_ELECTRICAL_CHECKS,
} ovp_electrical_check;

/** "circuit", "volts", "conductor"... */
const char *ovp_electrical_check_name(ovp_electrical_check check);

typedef struct ovp_electrical_run_of_wire {
    bool given;
    ovp_electrical_cord cord;
    double drop_V; /**< at full load; NAN without a length */
    double allowed_A;
} ovp_electrical_run_of_wire;

/** A protective device in the oven against what it carries. */
typedef struct ovp_electrical_fitted_device {
    ovp_oven_fitted fitted;
    bool rated;              /**< its words say amps */
    double rating_A, load_A; /**< load NAN when not known */
    ovp_electrical_protection protection;
} ovp_electrical_fitted_device;

typedef struct ovp_electrical_supply_step {
    double share, volts_V, heaters_A, total_A, power_W, power_share;
    double of_circuit; /**< total over the breaker's rating; NAN without one */
    const char *text, *source;
} ovp_electrical_supply_step;

typedef struct ovp_electrical_review {
    bool has_load;
    ovp_electrical_load load;
    ovp_error no_load; /**< why not */
    ovp_electrical_rules rules;
    /* the circuit */
    ovp_electrical_device breaker;
    double circuit_A;           /**< NAN not known */
    double share, continuous_A; /**< NAN without a circuit or a load */
    ovp_oven_fitted shared;
    ovp_electrical_rule rule;             /**< broken, or the one that decides while not known */
    double full_heat_s;                   /**< as asked */
    double rms_A;                         /**< over a cycling run; NAN not known */
    ovp_electrical_protection protection; /**< of the breaker; rating 0 when not known */
    /* on the way */
    ovp_electrical_run_of_wire cord, extension, conductor;
    const char *plug;
    double plug_V, plug_A, plug_allowed_A;
    bool plug_volts_fit; /**< false too when nothing is known of them */
    const char *plug_source;
    double line_ohm;   /**< NAN not known */
    double series_ohm; /**< all that is known of line, wall, cord, extension; NAN none */
    double lost_V, lost_share, element_V, element_A, power_left; /**< NAN when nothing is known */
    double lost_share_U;                                         /**< k = 2, from the measured ohms */
    double lost_W;                                               /**< that heat cord and line at full heat */
    double beyond_wire_ohm; /**< measured ohms less those of the wire in the wall: joints, outlet, breaker,
                               the street; NAN */
    /* in the oven */
    ovp_electrical_fitted_device protector, fuse;
    double usual_fuse_A;
    /* the rest */
    ovp_electrical_supply_step supply[OVP_ELECTRICAL_SUPPLY_STEPS];
    size_t supply_count;
    ovp_electrical_failure failures[OVP_ELECTRICAL_FAILURES];
    size_t failure_count;
    ovp_electrical_state checks[OVP_ELECTRICAL_CHECKS]; /**< NOT_KNOWN: not given or not decided */
    ovp_electrical_state verdict; /**< TROUBLE if any check is; else what CHECK_CIRCUIT says */
} ovp_electrical_review;

/**
 * All of it. A figure that is missing leaves its part not known; nothing is guessed. Errors: OVP_ERROR_DATA
 * for words of the question that are none (a cord, a plug, a rating).
 */
ovp_status ovp_electrical_review_of(const ovp_oven *oven, const ovp_electrical_question *question,
                                    ovp_electrical_review *review, ovp_error *error);

/** A figure of reference/electrical.csv with its source (may be NULL); NAN for a name that is not there. */
double ovp_electrical_figure(const char *name, const char **source);

#ifdef __cplusplus
}
#endif

#endif
