/*
 * picture/picture.h: drawings of a run, in the terminal and as SVG, PDF and PNG.
 *
 * One layout (scales, ticks, lines, places of the marks) serves all four. A run is kept as a
 * picture_series while it is read: the least and the greatest of each stretch, so that one odd reading among
 * millions still shows and the memory does not grow with the run.
 *
 * SVG and the terminal are drawn by this room alone. PDF and PNG need cairo and pango, which live in a module
 * that is loaded when such a file is asked for and not before.
 */
#ifndef OVENPROOF_PICTURE_PICTURE_H
#define OVENPROOF_PICTURE_PICTURE_H

#include "ovenproof/trace.h"

/* ---- a run, kept for drawing ----------------------------------------------------------------------- */

typedef enum picture_channel {
    PICTURE_TEMPERATURE, /* degC */
    PICTURE_SETPOINT,    /* degC */
    PICTURE_OUTPUT,      /* percent */
    PICTURE_VOLTS,
    PICTURE_AMPS,
    PICTURE_CHANNELS,
} picture_channel;

enum {
    PICTURE_BINS = 4096,
};

/** What one channel did within a stretch of the run. */
typedef struct picture_extent {
    float first, last, least, most;
    double sum;
    uint64_t count; /**< of readings; 0: none, and the rest means nothing */
} picture_extent;

typedef struct picture_bin {
    double from_s, to_s; /**< first and last sample of the stretch */
    bool broken;         /**< a sample without a temperature stood before its first reading */
    picture_extent channel[PICTURE_CHANNELS];
} picture_bin;

/** About 1 MB whatever the length of the run: on the heap. */
typedef struct picture_series {
    double width_s; /* all samples of a bin fall into one multiple of this */
    bool missing;   /* no temperature since the last one that was a number */
    uint64_t samples;
    size_t count;
    picture_bin bins[PICTURE_BINS];
} picture_series;

void picture_series_begin(picture_series *series);
/** Take a sample; `context` is the picture_series. A time before the last one is taken as the last one. */
void picture_series_sample(void *context, const ovp_trace_sample *sample);

/* ---- what is drawn ----------------------------------------------------------------------------------- */

enum {
    PICTURE_MARKS = 12,
    PICTURE_LIMITS = 16,
    PICTURE_NOTES = 6,
};

/** Something that was seen, with a number in the drawing and a line below it. */
typedef struct picture_mark {
    double time_s;    /**< NAN: it concerns the whole run */
    const char *text; /**< a line of the legend */
} picture_mark;

/** A temperature that is due at a time: drawn from the start of the heat to the moment it is due. */
typedef struct picture_limit {
    double from_s, due_s;
    double to_C;
    const char *text; /**< a few words beside it: "1000 °F within 8:00" */
} picture_limit;

typedef struct picture_trace {
    const char *title;
    const char *subtitle;        /**< one line; may be NULL */
    const picture_series *run;   /**< may be empty, never NULL */
    const picture_series *other; /**< a good run to compare with, or what a plan asks; may be NULL */
    double other_shift_s;        /**< added to its times */
    const char *other_text;      /**< what it is: "good run" */
    double usual_step_s;         /**< between samples; a far longer one is drawn as a gap. NAN: never */
    ovp_text_degrees shown;      /**< the one scale; NONE: °F at the left and °C at the right */
    const picture_mark *marks;
    size_t mark_count; /**< more than PICTURE_MARKS are cut */
    const picture_limit *limits;
    size_t limit_count;
    double most_C; /**< what the oven may never pass; NAN: not known */
    const char *notes[PICTURE_NOTES];
    size_t note_count;
} picture_trace;

/* ---- the terminal ------------------------------------------------------------------------------------- */

/** True when LC_ALL, LC_CTYPE or LANG (the first that is set) names UTF-8. Asks the environment, not the
 * locale. */
bool picture_utf8(void);

/** Draw. `columns` 40 and up, `rows` of the drawing itself 5 and up; less is taken as that. */
ovp_status picture_terminal_trace(ovp_sink sink, const picture_trace *trace, size_t columns, size_t rows,
                                  bool utf8);

/* ---- files ------------------------------------------------------------------------------------------ */

typedef enum picture_kind {
    PICTURE_SVG,
    PICTURE_PDF,
    PICTURE_PNG,
} picture_kind;

/**
 * Whether such a picture can be made here: before a long run is read. Errors: OVP_ERROR_USAGE for an ending
 * that is none of .svg, .pdf, .png; OVP_ERROR_SYSTEM when the module for PDF and PNG is not there, with the
 * package to install.
 */
ovp_status picture_check(const char *path, picture_kind *kind, ovp_error *error);

/**
 * Write the picture: whole or not at all. The same trace gives the same bytes: no picture holds the time of
 * its making. Errors: as picture_check; OVP_ERROR_SYSTEM when the file cannot be written; OVP_ERROR_MEMORY.
 */
ovp_status picture_write(const char *path, const picture_trace *trace, ovp_error *error);

/** The picture as SVG, into a sink. */
ovp_status picture_svg(ovp_sink sink, const picture_trace *trace, ovp_error *error);

#endif
