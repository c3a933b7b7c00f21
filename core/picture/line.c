/* line.c: a channel of a series as a line of the drawing, or as one level a column. */
#include "picture/picture_internal.h"

#include <math.h>

enum {
    POINTS_A_UNIT = 8, /* four of a unit, each of which may be cut at the end of the scale */
};

size_t picture_line_capacity(double length)
{
    return POINTS_A_UNIT * ((size_t)length + 2);
}

static void push(picture_line *line, double x, double y, bool move)
{
    if (line->count == line->capacity) {
        return;
    }
    if (!move && line->count >= 2) { /* a level stretch needs its two ends only */
        picture_point *last = &line->points[line->count - 1];
        const picture_point *first = last - 1;
        if (!last->move && first->y == (float)y && last->y == (float)y && last->x <= (float)x) {
            last->x = (float)x;
            return;
        }
    }
    line->points[line->count++] = (picture_point){(float)x, (float)y, move};
}

/* Go on to a place; what lies outside 0..height is cut away. */
static void line_to(picture_line *line, double x, double y, double height, bool move)
{
    const double x0 = line->before_x, y0 = line->before_y;
    const bool inside = y >= 0 && y <= height, was_inside = line->begun && y0 >= 0 && y0 <= height;
    move = move || !line->begun;
    line->before_x = x;
    line->before_y = y;
    line->begun = true;
    if (move) {
        if (inside) {
            push(line, x, y, true);
        }
        return;
    }
    if (inside && was_inside) {
        push(line, x, y, false);
        return;
    }
    if ((y0 < 0 && y < 0) || (y0 > height && y > height)) {
        return;
    }
    const double edge_0 = y0 < 0 ? 0 : height, edge_1 = y < 0 ? 0 : height;
    if (!was_inside) {
        push(line, x0 + (x - x0) * (edge_0 - y0) / (y - y0), edge_0, true);
    }
    if (inside) {
        push(line, x, y, false);
    } else {
        push(line, x0 + (x - x0) * (edge_1 - y0) / (y - y0), edge_1, false);
    }
}

/* All bins that fall within one unit of the time axis. */
typedef struct unit_column {
    double unit, from_x, to_x, to_s;
    bool broken;
    picture_extent extent;
} unit_column;

static void draw_column(const unit_column *column, const picture_along *along, picture_line *line)
{
    const picture_extent *e = &column->extent;
    const double height = along->value->length;
    const double first = picture_place(along->value, e->first), last = picture_place(along->value, e->last),
                 least = picture_place(along->value, e->least), most = picture_place(along->value, e->most);
    const double middle = (column->from_x + column->to_x) / 2;
    if (along->held && line->begun && !column->broken) {
        line_to(line, column->from_x, line->before_y, height, false);
    }
    line_to(line, column->from_x, first, height, column->broken);
    if (least < fmin(first, last) || most > fmax(first, last)) {
        line_to(line, middle, first <= last ? most : least, height, false);
        line_to(line, middle, first <= last ? least : most, height, false);
    }
    if (e->count > 1) {
        line_to(line, column->to_x, last, height, false);
    }
}

void picture_trace_line(const picture_series *series, picture_channel channel, const picture_along *along,
                        picture_line *line)
{
    unit_column column = {.unit = NAN};
    line->count = 0;
    line->begun = false;
    for (size_t i = 0; i < series->count; i++) {
        const picture_bin *bin = &series->bins[i];
        const double x = picture_place(along->time, bin->from_s + along->shift_s);
        if (bin->channel[channel].count == 0 || x < -1e-9 || x > along->time->length + 1e-9) {
            continue;
        }
        const bool breaks = (channel == PICTURE_TEMPERATURE && bin->broken) ||
                            (column.extent.count > 0 && bin->from_s - column.to_s > along->gap_s);
        const double to_x = fmin(picture_place(along->time, bin->to_s + along->shift_s), along->time->length);
        if (floor(x) == column.unit && !breaks) {
            picture_extent_join(&column.extent, &bin->channel[channel]);
            column.to_x = to_x;
        } else {
            if (column.extent.count > 0) {
                draw_column(&column, along, line);
            }
            column = (unit_column){floor(x), x, to_x, 0, breaks, bin->channel[channel]};
        }
        column.to_s = bin->to_s;
    }
    if (column.extent.count > 0) {
        draw_column(&column, along, line);
    }
}

size_t picture_breaks(const picture_point points[], size_t count)
{
    size_t breaks = 0;
    for (size_t i = 1; i < count; i++) {
        breaks += points[i].move;
    }
    return breaks;
}

void picture_levels(const picture_series *series, picture_channel channel, const picture_along *along,
                    float levels[], size_t count)
{
    size_t bin = 0;
    double before_s = NAN;
    float held = NAN;
    for (size_t i = 0; i < count; i++) {
        const double to_s = i + 1 == count ? INFINITY
                                           : along->time->low + (along->time->high - along->time->low) *
                                                                    (double)(i + 1) / (double)count;
        double sum = 0;
        uint64_t readings = 0;
        for (; bin < series->count && series->bins[bin].from_s + along->shift_s < to_s; bin++) {
            const picture_extent *extent = &series->bins[bin].channel[channel];
            sum += extent->sum;
            readings += extent->count;
            if (extent->count > 0) {
                held = extent->last;
                before_s = series->bins[bin].to_s + along->shift_s;
            }
        }
        const bool goes_on = bin < series->count && /* the next sample is no pause away */
                             series->bins[bin].from_s + along->shift_s - before_s <= along->gap_s;
        levels[i] = readings > 0 ? (float)(sum / (double)readings) : goes_on ? held : NAN;
    }
}
