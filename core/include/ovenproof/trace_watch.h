/*
 * ovenproof/trace_watch.h: a run judged while it happens.
 *
 * Samples go in one at a time, typed by hand or from a growing file; out comes at most one alarm, as soon as
 * the readings bear it. The watch is a fixed number of bytes in the caller's struct, and has no clock of its
 * own: time is that of the samples.
 *
 * How it decides. A display is a random walk (the room drifts) with noise and rounding on top; heat that runs
 * the right way adds a rise, a reversed sensor a fall, a sensor that does not see the chamber nothing. Each
 * hypothesis keeps its own likelihood by the same filter; an alarm wants ten thousand to one against the
 * least favourable healthy oven. A likelihood ratio passes that by chance in at most one healthy run of ten
 * thousand (J. Ville, Etude critique de la notion de collectif, 1939; A. Wald, Sequential Analysis, 1947), as
 * far as the display does what is said here; a plain least fall stands beside it for what does not.
 */
#ifndef OVENPROOF_TRACE_WATCH_H
#define OVENPROOF_TRACE_WATCH_H

#include "ovenproof/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum ovp_trace_alarm {
    OVP_TRACE_ALARM_NONE,
    OVP_TRACE_ALARM_OPEN,      /**< the input shows an open or broken sensor, or its upper end */
    OVP_TRACE_ALARM_UNDER,     /**< the display is at or below its lower end */
    OVP_TRACE_ALARM_UNIT,      /**< it starts where only a room read in the other scale does */
    OVP_TRACE_ALARM_BACKWARDS, /**< it falls as heat is called for */
    OVP_TRACE_ALARM_NO_RISE,   /**< heat is called for, the display stays: sensor shorted or withdrawn, or no
                                  heat */
    OVP_TRACE_ALARM_NO_POWER,  /**< the same, and no current flows: nothing heats */
    OVP_TRACE_ALARM_UNSEEN,    /**< the same, and current flows: it heats, and the sensor does not see it */
    OVP_TRACE_ALARM_HALF,      /**< about half of the power arrives */
    OVP_TRACE_ALARM_HEATS_OFF, /**< it goes on heating while no heat is called for */
    OVP_TRACE_ALARMS,
} ovp_trace_alarm;

typedef enum ovp_trace_event {
    OVP_TRACE_EVENT_HEAT_ON,
    OVP_TRACE_EVENT_HEAT_OFF,
    OVP_TRACE_EVENT_DOOR_OPEN,
    OVP_TRACE_EVENT_DOOR_CLOSED,
} ovp_trace_event;

enum {
    OVP_TRACE_WATCH_RATES = 4,
    OVP_TRACE_WATCH_DELAYS = 5,
};

/** What a healthy oven would do. Init with ovp_trace_watch_expect_nothing, then fill what is known. */
typedef struct ovp_trace_watch_setting {
    double dead_time_s;             /**< from heat on to the first rise; NAN unknown */
    double full_A;                  /**< amps at full heat; NAN unknown */
    double ambient_C;               /**< NAN unknown */
    double rail_low_C, rail_high_C; /**< ends of the display; NAN: those of the common inputs */
    double curve_s[OVP_TRACE_CURVE], curve_C[OVP_TRACE_CURVE]; /**< a climb from cold, time from heat on */
    size_t curve_count;
    bool curve_measured;  /**< a good run of this very oven; else the model of its description */
    double rated_V;       /**< NAN unknown */
    bool heat_from_start; /**< heat is on from the first sample unless a column or an event says otherwise */
    ovp_text_degrees shown; /**< scale of the words */
} ovp_trace_watch_setting;

/** What is known now. */
typedef struct ovp_trace_watch_state {
    ovp_trace_alarm alarm; /**< the gravest so far; it stays */
    double at_s;           /**< when the readings bore it; NAN */
    double since_s;        /**< heat was on for so long by then; NAN where that is not the point */
    double change_C;       /**< since heat on: what was judged; NAN */
    double expected_C;     /**< what a healthy oven does in that time at least; NAN */
    double power_share;    /**< of OVP_TRACE_ALARM_HALF; NAN */
    double odds_log10;     /**< evidence against a healthy oven, powers of ten; INFINITY for a plain fact */
} ovp_trace_watch_state;

/** A watch. The caller keeps it; the members are not for others. */
typedef struct ovp_trace_watch {
    ovp_trace_watch_setting setting;
    ovp_trace_watch_state state;
    uint64_t samples;
    double last_s, last_C, resolution_C, noise_sum, noise_count, step_before_C;
    bool called, full, has_output, switched_on, switched_off, door;
    double called_s;          /* heat has been on since; NAN: it is off */
    double off_s, off_top_C;  /* heat has been off since; NAN: it is on */
    double start_C, lowest_C; /* at heat on; since then */
    double held_s, full_s;    /* time since heat on; of it at full heat */
    double amps_sum, amps_count, amps_at_s, volts_sum, volts_count;
    double unit_C, unit_s, unit_last_C, unit_slope_C_per_s; /* a first reading in doubt; NAN: none */
    /* the filter: one variance for all, a mean and a log-likelihood for each hypothesis */
    double variance;
    double still_C, still_log, rise_C, rise_log, expected_C;
    double start_slope_C_per_s; /* expected from where the heat came on */
    double fall_C[OVP_TRACE_WATCH_RATES][OVP_TRACE_WATCH_DELAYS];
    double fall_log[OVP_TRACE_WATCH_RATES][OVP_TRACE_WATCH_DELAYS];
} ovp_trace_watch;

void ovp_trace_watch_expect_nothing(ovp_trace_watch_setting *setting);

/**
 * What an oven's description and, where there is one, a good run of it say; any of them may be NULL, nothing
 * is kept of them. ambient_C NAN: unknown.
 */
void ovp_trace_watch_expect(const ovp_oven *oven, const ovp_thermal_parameters *model,
                            const ovp_trace_result *baseline, double ambient_C,
                            ovp_trace_watch_setting *setting);

/** The setting is copied. */
void ovp_trace_watch_init(ovp_trace_watch *watch, const ovp_trace_watch_setting *setting);

/** Take a sample; true when the alarm changed (it only becomes graver). A reading not after the last is left
 *  out; a row of the same moment without one says that a switch was turned. */
bool ovp_trace_watch_sample(ovp_trace_watch *watch, const ovp_trace_sample *sample);

/** What a person noted: the watch forgives what a door or a switch explains. */
void ovp_trace_watch_event(ovp_trace_watch *watch, double time_s, ovp_trace_event event);

/** Heat must be switched off now: danger, and not only trouble. */
bool ovp_trace_alarm_is_danger(ovp_trace_alarm alarm);

/** "open", "backwards"...: the words of the JSON. */
const char *ovp_trace_alarm_name(ovp_trace_alarm alarm);

/**
 * The alarm in words, what to do first: "HEAT OFF NOW: it fell 8 °F in 25 s with heat on; ...". "" without an
 * alarm. Needs OVP_TRACE_TEXT_SIZE * 2 bytes.
 */
void ovp_trace_watch_words(const ovp_trace_watch *watch, char *buffer, size_t size);

#ifdef __cplusplus
}
#endif

#endif
