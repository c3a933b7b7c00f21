/*
 * picture/picture.h: drawings of a run. First part: the terminal.
 *
 * The drawing is text: a temperature line over minutes with its setpoint, a strip of the output below, marks
 * with letters. With UTF-8 the line is made of dots, eight to a letter; else of plain letters.
 */
#ifndef OVENPROOF_PICTURE_PICTURE_H
#define OVENPROOF_PICTURE_PICTURE_H

#include "ovenproof/trace.h"

enum {
    PICTURE_MARKS = 12,
};

/** A place on the time axis, and a line on the scale. */
typedef struct picture_mark {
    double time_s;
    const char *text; /**< one line for the legend */
} picture_mark;

typedef struct picture_trace {
    const char *title;
    const ovp_trace_sample *points; /**< rising time; a reading of NAN breaks the line */
    size_t count;
    ovp_text_degrees shown; /**< the scale of the axis: F unless C or K */
    picture_mark marks[PICTURE_MARKS];
    size_t mark_count;
    const ovp_trace_sample *other; /**< a good run to compare with; may be NULL */
    size_t other_count;
} picture_trace;

/** True when LC_ALL, LC_CTYPE or LANG (the first that is set) names UTF-8. Asks the environment, not the
 * locale. */
bool picture_utf8(void);

/** Draw. `columns` 40 and up, `rows` of the drawing itself 5 and up; less is taken as that. */
ovp_status picture_terminal_trace(ovp_sink sink, const picture_trace *trace, size_t columns, size_t rows,
                                  bool utf8);

#endif
