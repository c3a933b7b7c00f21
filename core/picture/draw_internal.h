/* draw_internal.h: between draw.c and draw_words.c. */
#ifndef OVENPROOF_PICTURE_DRAW_INTERNAL_H
#define OVENPROOF_PICTURE_DRAW_INTERNAL_H

#include "picture/picture_internal.h"

enum {
    PICTURE_WIDTH = 720, /* ten inches; letters of 14 can still be read where a phone shows the whole width */
    PICTURE_MARGIN = 16,
    PICTURE_LETTERS = 14,
    PICTURE_SMALL = 13,
    PICTURE_DISC = 9, /* radius */
    PICTURE_BOXES = 80,
    PICTURE_FEW = 60, /* readings */
};

/* Dark and light, thick and thin, whole and broken tell the lines apart without any colour; the colours are
 * apart for eyes that do not see red and green too. */
enum {
    PICTURE_PAPER = 0xffffff,
    PICTURE_INK = 0x222222,
    PICTURE_SOFT = 0x555555,
    PICTURE_GRID = 0xdcdcdc,
    PICTURE_FILLED = 0x9fb6ca,
};

typedef struct picture_pen {
    unsigned colour;
    double width;
    picture_dash dash;
} picture_pen;

extern const picture_pen picture_pen_temperature, picture_pen_setpoint, picture_pen_other, picture_pen_limit,
    picture_pen_most;

typedef struct picture_rectangle {
    double x, y, width, height;
} picture_rectangle;

typedef struct picture_drawing {
    picture_canvas *canvas;
    const picture_trace *trace;
    picture_layout layout;
    size_t mark_count;
    double left, top;             /* corner of the plot */
    double y;                     /* where the next part begins */
    picture_point *points, *line; /* room for a line; the line of the temperature */
    size_t capacity, line_room, line_count;
    picture_rectangle boxes[PICTURE_BOXES]; /* taken by words and marks within the plot */
    size_t box_count;
} picture_drawing;

/** Words of the usual size. */
void picture_drawing_words(picture_drawing *d, double x, double y, picture_anchor anchor, const char *text);

/** True when the readings are few enough to show each one. */
bool picture_readings_shown(const picture_drawing *d);

/** Title, second line and key. */
void picture_drawing_head(picture_drawing *d);
/** What the numbers mean, and the notes. `disc` with number 0 is a point without one. */
void picture_drawing_legend(picture_drawing *d,
                            void (*disc)(picture_drawing *d, double x, double y, size_t number));

#endif
