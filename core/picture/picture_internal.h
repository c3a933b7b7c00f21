/* picture_internal.h: the layout that all drawings share, and what they are made of. */
#ifndef OVENPROOF_PICTURE_INTERNAL_H
#define OVENPROOF_PICTURE_INTERNAL_H

#include "picture/picture.h"
#include "picture/picture_scene.h"

/* ---- a series ----------------------------------------------------------------------------------------- */

void picture_extent_join(picture_extent *into, const picture_extent *later);
/** All of a channel of a run; count 0 when there is nothing (or no run). */
picture_extent picture_series_extent(const picture_series *series, picture_channel channel);

/* ---- scales and ticks: lengths are in units of whoever draws (a point, a letter, a dot) --------------- */

typedef struct picture_scale {
    double low, high; /* of the quantity; high is above low */
    double length;    /* of the axis, in units */
} picture_scale;

/** Units from the low end. */
double picture_place(const picture_scale *scale, double value);

enum {
    PICTURE_TICKS = 32,
};

typedef struct picture_tick {
    double at; /* units from the low end */
    char text[OVP_TEXT_NUMBER_SIZE];
} picture_tick;

typedef struct picture_ticks {
    const char *unit;
    picture_tick tick[PICTURE_TICKS];
    size_t count;
} picture_ticks;

/** A step of 1, 2 or 5 times a power of ten that parts `span` into at most `most` steps. */
double picture_step(double span, size_t most);

/** Ticks of a time axis in s: seconds, minutes, hours or days by the span, `apart` units or more. */
void picture_time_ticks(const picture_scale *scale, double apart, picture_ticks *ticks);
/** Ticks at round values of the shown scale along a scale in degC. */
void picture_temperature_ticks(const picture_scale *scale, ovp_text_degrees shown, double apart,
                               picture_ticks *ticks);
/** Ticks at round values. */
void picture_number_ticks(const picture_scale *scale, double apart, const char *unit, picture_ticks *ticks);

/**
 * Push labels apart: at[i] is the middle wished, width[i] the room it takes; in rising order. Afterwards none
 * overlaps and all lie within low..high, as long as they fit at all.
 */
void picture_spread(double at[], const double width[], size_t count, double low, double high);

/* ---- lines -------------------------------------------------------------------------------------------- */

typedef struct picture_line {
    picture_point *points; /* x from the left, y from below */
    size_t count, capacity;
    double before_x, before_y; /* the last place asked for, inside or not */
    bool begun;
} picture_line;

/** Points that a line may need at most along an axis of so many units. */
size_t picture_line_capacity(double length);

/** What a line is drawn along. */
typedef struct picture_along {
    const picture_scale *time, *value;
    double shift_s; /* added to the times of the series */
    double gap_s;   /* a longer step breaks the line */
    bool held;      /* a value holds until the next: a setpoint */
} picture_along;

/**
 * A channel as a line: within each unit of the time axis first, least, most, last. It is broken where the
 * temperature is missing or the log pauses, and cut at the ends of the scale.
 */
void picture_trace_line(const picture_series *series, picture_channel channel, const picture_along *along,
                        picture_line *line);

/** How often a line is broken. */
size_t picture_breaks(const picture_point points[], size_t count);

/** Mean of a channel for each of `count` columns of the time axis; NAN where the log is silent. */
void picture_levels(const picture_series *series, picture_channel channel, const picture_along *along,
                    float levels[], size_t count);

/* ---- the layout --------------------------------------------------------------------------------------- */

/** A strip below the temperatures. */
typedef struct picture_strip {
    picture_channel channel;
    const char *name, *unit;
    picture_scale scale;
    picture_ticks ticks;
    picture_extent extent;
} picture_strip;

/** What the drawing has room for, in its own units. */
typedef struct picture_room {
    double width, height, strip_height;
    double time_apart, value_apart; /* least distances of ticks */
} picture_room;

typedef struct picture_layout {
    picture_room room;
    ovp_text_degrees degrees;
    bool both; /* a second scale at the right */
    double gap_s;
    picture_scale time, temperature; /* s and degC */
    picture_ticks time_ticks, left, right;
    picture_strip strips[3];
    size_t strip_count;
    picture_extent setpoint; /* of the whole run */
} picture_layout;

void picture_lay_out(const picture_trace *trace, const picture_room *room, picture_layout *layout);

/** True when a time lies on the axis; *at is its place in units. */
bool picture_time_place(const picture_layout *layout, double time_s, double *at);

/** What the key says of the setpoint: where it is outside the drawing too. False: the run has none. */
bool picture_setpoint_words(const picture_layout *layout, char *words, size_t size);

/** The line of the legend. True when the mark has a place in the drawing, and so a number. */
bool picture_mark_words(const picture_layout *layout, const picture_mark *mark, char *words, size_t size);

/** What the temperature was at a time: the reading at it or the last before; NAN where there is none. */
double picture_temperature_at(const picture_series *series, double time_s);

/** "°F", "°C", "K" */
const char *picture_degrees_sign(ovp_text_degrees degrees);

/* ---- letters for the terminal -------------------------------------------------------------------------- */

enum {
    PICTURE_COLUMNS = 240,
    PICTURE_ROWS = 60,
    PICTURE_DOTS_X = 2, /* dots of a cell */
    PICTURE_DOTS_Y = 4,
};

typedef struct picture_grid {
    size_t columns, rows;
    bool utf8;
    unsigned char dots[PICTURE_ROWS][PICTURE_COLUMNS]; /* braille bits; 0 empty */
    unsigned char line[PICTURE_ROWS][PICTURE_COLUMNS]; /* 0 empty, else PICTURE_LINE_... */
} picture_grid;

enum {
    PICTURE_LINE_MARK = 1, /* a later one covers an earlier one */
    PICTURE_LINE_OTHER,
    PICTURE_LINE_LIMIT,
    PICTURE_LINE_LIMIT_END,
    PICTURE_LINE_SETPOINT,
};

void picture_grid_clear(picture_grid *grid, size_t columns, size_t rows, bool utf8);
/** Join two places in dots, from the lower left corner. */
void picture_grid_stroke(picture_grid *grid, double x0, double y0, double x1, double y1);
/** A lighter line, one letter a cell, under the dots. Places in dots. */
void picture_grid_lay(picture_grid *grid, double x, double y, unsigned char kind);
/** One letter of the grid as UTF-8. */
const char *picture_grid_letter(const picture_grid *grid, size_t row, size_t column, char buffer[5]);

/* ---- a scene --------------------------------------------------------------------------------------------
 */

/** A scene that grows; begin with {0}. */
typedef struct picture_canvas {
    picture_scene scene;
    size_t item_room, point_room, text_room;
    bool failed; /* out of memory */
} picture_canvas;

void picture_canvas_free(picture_canvas *canvas);
/** Add an item; NULL when the memory is used up. Zeroed but for the kind. */
picture_item *picture_add(picture_canvas *canvas, picture_item_kind kind);
void picture_add_line(picture_canvas *canvas, double x0, double y0, double x1, double y1, unsigned colour,
                      double width, picture_dash dash);
void picture_add_box(picture_canvas *canvas, double x, double y, double width, double height,
                     unsigned colour);
/** Words on a base line. */
void picture_add_words(picture_canvas *canvas, double x, double y, double size, picture_anchor anchor,
                       const char *text);
/** Points of a path: the first one of an item sets where it begins. */
void picture_add_point(picture_canvas *canvas, picture_item *item, picture_point point);

/** How wide words are at most in the usual fonts without serifs, at that size. */
double picture_words_width(const char *text, double size, bool bold);

/** A trace as a scene, 720 wide. */
ovp_status picture_draw(const picture_trace *trace, picture_canvas *canvas, ovp_error *error);

/** Write a scene as SVG. */
ovp_status picture_write_svg(ovp_sink sink, const picture_scene *scene);

#endif
