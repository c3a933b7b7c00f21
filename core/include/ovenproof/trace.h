/*
 * ovenproof/trace.h: samples in, findings out.
 *
 * Two parts. The reader (ovp_trace_reader) takes bytes of any delimited text and gives samples; the judge
 * (ovp_trace_judge) takes samples one at a time and draws findings. Both are streams: constant memory,
 * nothing allocated.
 */
#ifndef OVENPROOF_TRACE_H
#define OVENPROOF_TRACE_H

#include "ovenproof/oven.h"
#include "ovenproof/text.h"
#include "ovenproof/thermal.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- samples ------------------------------------------------------------------------------------ */

/** What stood in the temperature cell. */
typedef enum ovp_trace_cell {
    OVP_TRACE_NUMBER,
    OVP_TRACE_EMPTY, /**< blank, nan, --- */
    OVP_TRACE_OPEN,  /**< a word for an open or broken sensor */
    OVP_TRACE_UNDER, /**< a word for under range */
    OVP_TRACE_OVER,  /**< a word for over range */
    OVP_TRACE_ERROR, /**< any other error word */
} ovp_trace_cell;

typedef enum ovp_trace_column {
    OVP_TRACE_TIME,
    OVP_TRACE_TEMPERATURE,
    OVP_TRACE_SETPOINT,
    OVP_TRACE_OUTPUT,
    OVP_TRACE_SUPPLY,
    OVP_TRACE_CURRENT,
    OVP_TRACE_COLD_JUNCTION,
    OVP_TRACE_COLUMNS,
} ovp_trace_column;

/** One sample; NAN where there is no value. Order of the members = canonical header. */
typedef struct ovp_trace_sample {
    double time_s; /**< from the first sample */
    double temperature_C;
    double setpoint_C;
    double output_percent;
    double supply_V;
    double element_A;
    double cold_junction_C;
    ovp_trace_cell cell; /**< why temperature_C is NAN */
} ovp_trace_sample;

typedef void (*ovp_trace_sample_function)(void *context, const ovp_trace_sample *sample);
/** Several samples at once, in their order; at least one. */
typedef void (*ovp_trace_batch_function)(void *context, const ovp_trace_sample samples[], size_t count);

/** "temperature", "setpoint"... as in --column temperature=... */
const char *ovp_trace_column_name(ovp_trace_column column);

/* ---- what the reader understood ------------------------------------------------------------------ */

enum {
    OVP_TRACE_WARNINGS = 16,
    OVP_TRACE_TEXT_SIZE = 200,
    OVP_TRACE_HEADER_SIZE = 96,
};

typedef struct ovp_trace_input {
    uint64_t samples; /**< rows that gave a sample */
    uint64_t missing; /**< of these, without a temperature */
    uint64_t plain;   /**< of these, read the short way (a figure for benchmarks and tests) */
    double
        start_s; /**< what the file's own elapsed time or epoch showed at the first sample; NAN for a clock */
    double duration_s;
    double interval_s; /**< median step */
    double temperature_min_C, temperature_max_C;
    char columns[OVP_TRACE_COLUMNS][OVP_TRACE_HEADER_SIZE]; /**< header text of each column used; "" */
    int column_numbers[OVP_TRACE_COLUMNS];                  /**< from 1; 0 = none */
    bool has[OVP_TRACE_COLUMNS];
    size_t warning_count; /**< may exceed the array: the rest were dropped and counted */
    char warnings[OVP_TRACE_WARNINGS][OVP_TRACE_TEXT_SIZE];
} ovp_trace_input;

/** Choices of the caller; init with ovp_trace_options_init. */
typedef struct ovp_trace_options {
    ovp_text_degrees degrees; /**< when the file says none: controller.degrees, --degrees or settings */
    const char *column[OVP_TRACE_COLUMNS]; /**< a header text or a number from 1; NULL = find it */
    int date_order;                        /**< 0 find out, 1 day first, 2 month first */
    double time_unit_s; /**< NAN find out; 1, 60, 3600: what a bare number in the time column counts */
} ovp_trace_options;

void ovp_trace_options_init(ovp_trace_options *options);

/**
 * The reader: about 200 KiB, owned by the caller. Bytes in, samples out; the dialect is found on the first
 * 64 KiB and kept. (Members in trace/reader_internal.h's order are private; do not touch.)
 */
typedef struct ovp_trace_reader ovp_trace_reader;

/** Bytes that a reader needs, aligned to 16. */
size_t ovp_trace_reader_size(void);
/** Make a reader in the caller's memory. */
ovp_trace_reader *ovp_trace_reader_init(void *memory, const ovp_trace_options *options,
                                        ovp_trace_sample_function sample, void *context);
/** Before the first byte: samples are given in batches, with the same context, and not one by one. */
void ovp_trace_reader_in_batches(ovp_trace_reader *reader, ovp_trace_batch_function batch);
/** Any count of bytes, cut anywhere. Errors: OVP_ERROR_DATA with the line, and a hint. */
ovp_status ovp_trace_reader_feed(ovp_trace_reader *reader, const char *bytes, size_t count, ovp_error *error);
/** The end of the file. Errors as feed (empty, no two samples, ...). */
ovp_status ovp_trace_reader_end(ovp_trace_reader *reader, ovp_error *error);
/** What was understood so far; valid until the reader's memory goes. */
const ovp_trace_input *ovp_trace_reader_input(const ovp_trace_reader *reader);

/**
 * A run noted by hand: "start 74F, 1000F 19:40, 1500F 30:10". Temperatures with a unit (or `bare`), times
 * min:s, h:min:s or a duration. Gives samples and fills input.
 */
ovp_status ovp_trace_times(const char *text, ovp_text_degrees bare, ovp_trace_sample_function sample,
                           void *context, ovp_trace_input *input, ovp_error *error);

/* ---- findings ----------------------------------------------------------------------------------- */

enum {
    OVP_TRACE_FINDINGS = 48,
    OVP_TRACE_CURVE = 256,
};

/** A row of reference/findings.csv. Strings live as long as the program. */
typedef struct ovp_trace_finding_row {
    const char *id, *text, *unit;
    const char *needs;   /**< words apart by blanks: columns, "oven", "expectation", "hold" */
    const char *answers; /**< "MEASUREMENT:outcome=answer|..." when the finding is the same fact; else "" */
    const char *tells;   /**< measurements that need not be asked once this is known, apart by blanks */
    const char *group;   /**< findings of one root; "" alone */
    const char *source;
    size_t outcome_count;
    const char *const *outcomes; /**< the normal one first */
} ovp_trace_finding_row;

size_t ovp_trace_finding_count(void);
const ovp_trace_finding_row *ovp_trace_finding_at(size_t index);
/** NULL when there is no such id. */
const ovp_trace_finding_row *ovp_trace_finding_named(const char *id);

/**
 * One check that this log allowed, and what it showed. `finding` is an id of reference/findings.csv;
 * `outcome` is one of its outcome words: also the normal one is evidence. `notable` ones are printed.
 */
typedef struct ovp_trace_finding {
    const char *finding;
    const char *outcome;
    bool notable;
    double at_s;                    /**< when it was first seen; NAN when it concerns the whole run */
    double since_s;                 /**< from when on the log was read for it; at_s where there is one */
    double value;                   /**< NAN when there is no number */
    double uncertainty;             /**< k = 2, in the unit; NAN: none, and no_uncertainty says why */
    const char *no_uncertainty;     /**< "no-number", "count", "kept" (from a case); "" when there is one */
    const char *unit;               /**< "" when there is no number */
    char text[OVP_TRACE_TEXT_SIZE]; /**< one sentence with the number in it, °F unless asked otherwise */
} ovp_trace_finding;

typedef struct ovp_trace_milestone {
    double to_C;
    double within_s;
    double time_s; /**< NAN: not reached, or no cold start */
    int pass;      /**< 1 pass, 0 fail, -1 not judged */
} ovp_trace_milestone;

/** A mark of the description as it would have gone at rated volts and room, and at those asked for. */
typedef struct ovp_trace_proof {
    double to_C, within_s;
    char reason[OVP_TRACE_TEXT_SIZE]; /**< why there is no correction; "": there is one */
    ovp_thermal_proof rated;          /**< holds without a reason */
    bool asked;                       /**< `at_asked` holds; else asked_reason, where a supply is asked for */
    char asked_reason[OVP_TRACE_TEXT_SIZE];
    ovp_thermal_proof at_asked; /**< at the supply that the expectation asks for */
    double power_W, loss_W;     /**< at full heat at the mark, and what of it does not heat; NAN: not known */
} ovp_trace_proof;

/** Where the volts of a run come from. */
typedef enum ovp_trace_volts {
    OVP_TRACE_VOLTS_LOGGED,
    OVP_TRACE_VOLTS_TOLD,   /**< read by hand */
    OVP_TRACE_VOLTS_UNREAD, /**< taken as rated, with what a line wanders */
} ovp_trace_volts;

/** What a whole trace showed. */
typedef struct ovp_trace_result {
    ovp_trace_finding findings[OVP_TRACE_FINDINGS];
    size_t finding_count;
    ovp_trace_milestone milestones[OVP_OVEN_HEAT_UP];
    size_t milestone_count;
    ovp_trace_proof proofs[OVP_OVEN_HEAT_UP]; /**< one for each milestone */
    ovp_trace_volts volts_from;
    double volts_V, volts_U_V;      /**< at the oven while it climbed, k = 2; NAN without a proof */
    double rated_V, asked_V;        /**< supplies that the proof is for; NAN: none */
    double power_ratio;             /**< NAN: cannot be said; power_ratio_reason says why */
    double power_ratio_uncertainty; /**< k = 2; NAN when unknown */
    char power_ratio_reason[OVP_TRACE_TEXT_SIZE];
    bool cold_start;
    double time_zero_s; /**< of the reader's clock */
    double start_C;
    double hold_percent, hold_C;   /**< mean output and temperature of the end of the hold; NAN: no hold */
    double hold_from_s, hold_to_s; /**< from time zero; NAN */
    double dead_time_s;            /**< output on to first rise; NAN without output */
    double end_C;                  /**< last reading */
    bool called_at_end;            /**< heat was still called for, as far as the columns tell */
    size_t curve_count;            /**< the first climb, for comparison with another run */
    double curve_s[OVP_TRACE_CURVE], curve_C[OVP_TRACE_CURVE]; /**< from time zero */
    double overshoot_C;                                        /**< NAN */
    bool danger_now; /**< heat must be switched off: reversed, shorted... under heat */
    char danger_text[OVP_TRACE_TEXT_SIZE];
    size_t warning_count;
    char warnings[OVP_TRACE_WARNINGS][OVP_TRACE_TEXT_SIZE];
} ovp_trace_result;

/** What a trace is judged against. */
typedef struct ovp_trace_expectation {
    const ovp_oven *oven;                    /**< NULL: only sensor and output checks */
    const ovp_thermal_parameters *model;     /**< NULL without an oven */
    const struct ovp_trace_result *baseline; /**< the oven's own good run, judged before; NULL without */
    double ambient_C;                        /**< NAN: unknown */
    ovp_text_degrees shown;                  /**< scale of the words */
    bool heat_from_start; /**< the heat went on at the first sample: a person noted it so */
    double told_V;  /**< volts at the oven while it heated, read by hand, where the log holds none; 0: none */
    double asked_V; /**< supply of a buyer, for the proof; 0: none */
    double tolerance_C;    /**< of the display, half-width; 0: not told */
    const char *tolerance; /**< or a class of ovp_tc_tolerance; NULL: none */
} ovp_trace_expectation;

/** The judge: a public struct would be long; its memory is the caller's, as with the reader. */
typedef struct ovp_trace_judge ovp_trace_judge;
size_t ovp_trace_judge_size(void);
ovp_trace_judge *ovp_trace_judge_init(void *memory, const ovp_trace_expectation *expectation);
void ovp_trace_judge_sample(ovp_trace_judge *judge, const ovp_trace_sample *sample);
/** The same for several samples in their order. */
void ovp_trace_judge_samples(ovp_trace_judge *judge, const ovp_trace_sample samples[], size_t count);
/** Draw the findings. May be called again after more samples (a growing file). */
void ovp_trace_judge_result(ovp_trace_judge *judge, ovp_trace_result *result);

/** A thinned copy of the run for drawing: at most `capacity` points, kept by the judge while it streams. */
size_t ovp_trace_judge_outline(const ovp_trace_judge *judge, ovp_trace_sample points[], size_t capacity);

#ifdef __cplusplus
}
#endif

/* The other parts of the room. */
#include "ovenproof/trace_compare.h"
#include "ovenproof/trace_firing.h"
#include "ovenproof/trace_stopwatch.h"
#include "ovenproof/trace_watch.h"

#endif
