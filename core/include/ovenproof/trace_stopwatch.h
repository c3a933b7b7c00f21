/*
 * ovenproof/trace_stopwatch.h: a run that a person types as it goes, for a shop without a logger.
 *
 * Three parts, all pure: one typed line becomes what it says (ovp_trace_typed_read); what was typed for one
 * oven is a log, which knows where the run stands (ovp_trace_log_*); and the log is written as a canonical
 * trace whose comment rows hold every line as it was typed, so that the file alone brings the log back.
 * Nothing is ever taken out of a log: `undo` marks a line, and its row is left out of the trace.
 */
#ifndef OVENPROOF_TRACE_STOPWATCH_H
#define OVENPROOF_TRACE_STOPWATCH_H

#include "ovenproof/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- one typed line ------------------------------------------------------------------------------ */

typedef enum ovp_trace_typed_kind {
    OVP_TRACE_TYPED_READING,  /**< the display: `412`, `412F`, `open` */
    OVP_TRACE_TYPED_MARK,     /**< Enter alone: what was waited for has come */
    OVP_TRACE_TYPED_VOLTS,    /**< `v 117.5` */
    OVP_TRACE_TYPED_AMPS,     /**< `a 16.9` */
    OVP_TRACE_TYPED_OUTPUT,   /**< `o 60`, percent */
    OVP_TRACE_TYPED_SETPOINT, /**< `s 2000` */
    OVP_TRACE_TYPED_HEAT_ON,  /**< `on` */
    OVP_TRACE_TYPED_HEAT_OFF, /**< `off` */
    OVP_TRACE_TYPED_DOOR,     /**< `door`: it is open now */
    OVP_TRACE_TYPED_SHUT,     /**< `shut` */
    OVP_TRACE_TYPED_NOTE,     /**< `note WORDS` */
    OVP_TRACE_TYPED_UNDO,     /**< the last line of this oven was wrong */
    OVP_TRACE_TYPED_END,
    OVP_TRACE_TYPED_HELP,
} ovp_trace_typed_kind;

/** What a line says. Nothing is converted: a bare temperature has the scale of the oven it is for. */
typedef struct ovp_trace_typed {
    ovp_trace_typed_kind kind;
    double at_s;              /**< `@19:40 1000`: since the start; NAN when the line says no time */
    unsigned oven;            /**< from 1; 0 when the line names none */
    double value;             /**< as typed; NAN for none */
    ovp_text_degrees degrees; /**< of value; NONE when bare */
    ovp_trace_cell cell;      /**< of a reading */
    bool insists;             /**< `4120!`: kept whatever it looks like */
    ovp_span words;           /**< of a note, or the display's word; inside the line */
} ovp_trace_typed;

/**
 * Read one line for `ovens` ovens (1 to 9). With several, a first word `1` to `ovens` with more behind it
 * names the oven; alone it is Enter for that oven. With one oven a number is always a reading.
 * Errors: OVP_ERROR_DATA, with what was meant as a hint.
 */
ovp_status ovp_trace_typed_read(ovp_span line, size_t ovens, ovp_trace_typed *typed, ovp_error *error);

/* ---- the log of one oven -------------------------------------------------------------------------- */

enum {
    OVP_TRACE_LOG_WORDS = 200,
    OVP_TRACE_LOG_NAME = 128,
};

typedef struct ovp_trace_log_entry {
    ovp_trace_typed_kind kind;
    double time_s; /**< since the start of the record */
    double value;  /**< in the log's scale; V, A, percent; NAN */
    ovp_trace_cell cell;
    bool insists, undone;
    bool mark; /**< a reading by Enter: the display passed that mark */
    char words[OVP_TRACE_LOG_WORDS];
} ovp_trace_log_entry;

/** The caller owns it, the entries and the oven. */
typedef struct ovp_trace_log {
    ovp_trace_log_entry *entries;
    size_t count, capacity;
    const ovp_oven *oven;
    ovp_text_degrees degrees; /**< of its readings: F, C or K */
    double jump_C_per_s;      /**< fastest true change of the display */
    char name[OVP_TRACE_LOG_NAME];
    char began[32]; /**< "2026-11-25T14:02:11Z": time zero by the wall clock, UTC; "" not yet */
} ovp_trace_log;

/** An empty log. `model` may be NULL. `degrees` must not be NONE. */
void ovp_trace_log_init(ovp_trace_log *log, ovp_trace_log_entry entries[], size_t capacity, const char *name,
                        const ovp_oven *oven, const ovp_thermal_parameters *model, ovp_text_degrees degrees);

/** Where the run stands. Times are of the record; temperatures in degC; NAN where there is none. */
typedef struct ovp_trace_log_state {
    bool heat, heat_ever, door;
    double heat_from_s;        /**< first heat on */
    double last_s, last_C;     /**< last reading with a number */
    double before_s, before_C; /**< the one before it */
    double start_C;            /**< last reading before the heat, else the first */
    double highest_C;          /**< since the first heat on */
    size_t next;               /**< index of the next mark in heat_up; its count when all have passed */
    double next_C, next_due_s; /**< NAN past the last, and due only after heat on */
    double setpoint_C, output_percent, output_s;
    size_t readings, undone;
} ovp_trace_log_state;

void ovp_trace_log_stand(const ovp_trace_log *log, ovp_trace_log_state *state);

/**
 * Take what was typed at `time_s`. Refused (OVP_ERROR_DATA, with a hint): a time before the last one, a
 * reading further from the last than this oven can heat or cool unless it insists, a mark that the display
 * cannot have reached, a value out of range, nothing left to undo, a full log. `changed` is the entry made,
 * for `undo` the entry undone.
 */
ovp_status ovp_trace_log_take(ovp_trace_log *log, const ovp_trace_typed *typed, double time_s,
                              size_t *changed, ovp_error *error);

/** What should be typed next. */
typedef enum ovp_trace_log_wish {
    OVP_TRACE_WISH_NOTHING,
    OVP_TRACE_WISH_COLD,  /**< the display before the heat */
    OVP_TRACE_WISH_HEAT,  /**< Enter as the heat goes on */
    OVP_TRACE_WISH_AGAIN, /**< the display again: the first minutes, or long after the last */
    OVP_TRACE_WISH_MARK,  /**< Enter as the display passes the next mark */
    OVP_TRACE_WISH_LATE,  /**< the same, and its time is over */
    OVP_TRACE_WISH_END,   /**< all marks have passed */
} ovp_trace_log_wish;

ovp_trace_log_wish ovp_trace_log_wants(const ovp_trace_log *log, const ovp_trace_log_state *state,
                                       double now_s);

/** The rows of the trace as samples, in order of time. */
void ovp_trace_log_samples(const ovp_trace_log *log, ovp_trace_sample_function sample, void *context);

/** The file: comment rows with every line, rows of the trace with the columns that are used. */
ovp_status ovp_trace_log_write(const ovp_trace_log *log, ovp_sink sink);

/**
 * Bring a log back from the text of its file. `log` is initialised and empty. A last line without its end
 * was never acknowledged and is passed over: *torn. Errors: OVP_ERROR_DATA with the line.
 */
ovp_status ovp_trace_log_read(ovp_trace_log *log, ovp_span text, bool *torn, ovp_error *error);

/* ---- the clock -------------------------------------------------------------------------------------- */

/** Time since the start from two clocks: one that never steps but stops while a computer sleeps, and the
 *  wall clock. */
typedef struct ovp_trace_log_clock {
    double steady_s, wall_s; /**< at the last look */
    double now_s;            /**< since the start */
} ovp_trace_log_clock;

/** Begin, or go on, at `now_s`. */
void ovp_trace_log_clock_begin(ovp_trace_log_clock *clock, double steady_s, double wall_s, double now_s);

/**
 * Time since the start. Where the wall clock went further than the steady one, the computer slept (or was
 * set): the wall is believed. Where it went back, the steady one is. *stepped_s is the difference (0: none).
 */
double ovp_trace_log_clock_look(ovp_trace_log_clock *clock, double steady_s, double wall_s,
                                double *stepped_s);

#ifdef __cplusplus
}
#endif

#endif
