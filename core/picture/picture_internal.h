/* picture_internal.h: a grid of dots and letters for the terminal. */
#ifndef OVENPROOF_PICTURE_INTERNAL_H
#define OVENPROOF_PICTURE_INTERNAL_H

#include "picture/picture.h"

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
    PICTURE_LINE_SETPOINT = 1,
    PICTURE_LINE_OTHER,
    PICTURE_LINE_MARK
};

void picture_grid_clear(picture_grid *grid, size_t columns, size_t rows, bool utf8);
/** Join two places in dots, from the lower left corner. */
void picture_grid_stroke(picture_grid *grid, double x0, double y0, double x1, double y1);
/** A lighter line, one letter a cell, under the dots. */
void picture_grid_lay(picture_grid *grid, double x, double y, unsigned char kind);
/** One letter of the grid as UTF-8. */
const char *picture_grid_letter(const picture_grid *grid, size_t row, size_t column, char buffer[5]);

/** A step of 1, 2 or 5 times a power of ten that parts `span` into at most `most` steps. */
double picture_step(double span, size_t most);

#endif
