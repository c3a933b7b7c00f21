/* grid.c: dots and letters. */
#include "picture/picture_internal.h"

#include <math.h>
#include <string.h>

void picture_grid_clear(picture_grid *grid, size_t columns, size_t rows, bool utf8)
{
    memset(grid, 0, sizeof *grid);
    grid->columns = columns < PICTURE_COLUMNS ? columns : PICTURE_COLUMNS;
    grid->rows = rows < PICTURE_ROWS ? rows : PICTURE_ROWS;
    grid->utf8 = utf8;
}

static void put_dot(picture_grid *grid, long x, long y)
{
    static const unsigned char bits[PICTURE_DOTS_Y][PICTURE_DOTS_X] = {
        {0x40, 0x80}, {0x04, 0x20}, {0x02, 0x10}, {0x01, 0x08}}; /* from the bottom of the cell up */
    if (x < 0 || y < 0) {
        return;
    }
    size_t column = (size_t)x / PICTURE_DOTS_X, up = (size_t)y / PICTURE_DOTS_Y;
    if (column >= grid->columns || up >= grid->rows) {
        return;
    }
    grid->dots[grid->rows - 1 - up][column] |= bits[(size_t)y % PICTURE_DOTS_Y][(size_t)x % PICTURE_DOTS_X];
}

void picture_grid_stroke(picture_grid *grid, double x0, double y0, double x1, double y1)
{
    double steps = ceil(fmax(fabs(x1 - x0), fabs(y1 - y0)));
    steps = fmin(fmax(steps, 1), 4 * PICTURE_COLUMNS);
    for (int i = 0; i <= (int)steps; i++) {
        put_dot(grid, lround(x0 + (x1 - x0) * i / steps), lround(y0 + (y1 - y0) * i / steps));
    }
}

void picture_grid_lay(picture_grid *grid, double x, double y, unsigned char kind)
{
    if (!(x >= 0) || !(y >= 0)) {
        return;
    }
    size_t column = (size_t)x / PICTURE_DOTS_X, up = (size_t)y / PICTURE_DOTS_Y;
    if (column < grid->columns && up < grid->rows) {
        grid->line[grid->rows - 1 - up][column] = kind;
    }
}

static const char *encode(unsigned code, char buffer[5])
{
    buffer[0] = (char)(0xE0 | (code >> 12));
    buffer[1] = (char)(0x80 | ((code >> 6) & 0x3F));
    buffer[2] = (char)(0x80 | (code & 0x3F));
    buffer[3] = '\0';
    return buffer;
}

const char *picture_grid_letter(const picture_grid *grid, size_t row, size_t column, char buffer[5])
{
    unsigned char dots = grid->dots[row][column];
    if (dots && grid->line[row][column] != PICTURE_LINE_LIMIT_END) { /* the end is what is looked for */
        return grid->utf8 ? encode(0x2800u + dots, buffer) : "*";
    }
    switch (grid->line[row][column]) {
    case PICTURE_LINE_SETPOINT:
        return grid->utf8 ? "╌" : "-";
    case PICTURE_LINE_OTHER:
        return grid->utf8 ? "·" : ".";
    case PICTURE_LINE_LIMIT:
        return grid->utf8 ? "─" : "_";
    case PICTURE_LINE_LIMIT_END:
        return grid->utf8 ? "┤" : "]";
    case PICTURE_LINE_MARK:
        return grid->utf8 ? "┊" : ":";
    default:
        return " ";
    }
}
