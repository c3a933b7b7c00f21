/* draw.c: a trace as a scene: frame, strips, lines, marks. */
#include "picture/draw_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- frame ----------------------------------------------------------------------------------------------
 */

static void frame(picture_drawing *d, double top, double height)
{
    picture_canvas *canvas = d->canvas;
    const double right = d->left + d->layout.room.width;
    picture_add_line(canvas, d->left, top, d->left, top + height, PICTURE_SOFT, 1, PICTURE_SOLID);
    picture_add_line(canvas, right, top, right, top + height, PICTURE_SOFT, 1, PICTURE_SOLID);
    picture_add_line(canvas, d->left, top + height, right, top + height, PICTURE_SOFT, 1, PICTURE_SOLID);
}

static void upright_lines(picture_drawing *d, double top, double height)
{
    for (size_t i = 0; i < d->layout.time_ticks.count; i++) {
        const double x = d->left + d->layout.time_ticks.tick[i].at;
        picture_add_line(d->canvas, x, top, x, top + height, PICTURE_GRID, 0.8, PICTURE_SOLID);
    }
}

static void left_scale(picture_drawing *d, const picture_ticks *ticks, double top, double height)
{
    for (size_t i = 0; i < ticks->count; i++) {
        const double y = top + height - ticks->tick[i].at;
        picture_add_line(d->canvas, d->left, y, d->left + d->layout.room.width, y, PICTURE_GRID, 0.8,
                         PICTURE_SOLID);
        picture_add_line(d->canvas, d->left - 4, y, d->left, y, PICTURE_SOFT, 1, PICTURE_SOLID);
        picture_drawing_words(d, d->left - 7, y + 0.36 * PICTURE_LETTERS, PICTURE_END, ticks->tick[i].text);
    }
}

static void right_scale(picture_drawing *d)
{
    const double x = d->left + d->layout.room.width;
    for (size_t i = 0; i < d->layout.right.count; i++) {
        const picture_tick *tick = &d->layout.right.tick[i];
        const double y = d->top + d->layout.room.height - tick->at;
        picture_add_line(d->canvas, x, y, x + 4, y, PICTURE_SOFT, 1, PICTURE_SOLID);
        picture_drawing_words(d, x + 7, y + 0.36 * PICTURE_LETTERS, PICTURE_START, tick->text);
    }
}

static void time_axis(picture_drawing *d)
{
    char words[64];
    const double middle = d->left + d->layout.room.width / 2;
    for (size_t i = 0; i < d->layout.time_ticks.count; i++) {
        const picture_tick *tick = &d->layout.time_ticks.tick[i];
        picture_add_line(d->canvas, d->left + tick->at, d->y, d->left + tick->at, d->y + 4, PICTURE_SOFT, 1,
                         PICTURE_SOLID);
        picture_drawing_words(d, d->left + tick->at, d->y + 18, PICTURE_MIDDLE, tick->text);
    }
    snprintf(words, sizeof words, "%s from the start", d->layout.time_ticks.unit);
    picture_drawing_words(d, middle, d->y + 36, PICTURE_MIDDLE, words);
    d->y += 48;
}

/* ---- lines ----------------------------------------------------------------------------------------------
 */

static void trace_line(picture_drawing *d, const picture_series *series, picture_channel channel,
                       const picture_scale *scale, double top, const picture_pen *pen)
{
    const bool compared = series == d->trace->other; /* its own pauses are not what is looked at */
    const picture_along along = {&d->layout.time, scale, compared ? d->trace->other_shift_s : 0,
                                 compared ? (double)INFINITY : d->layout.gap_s, channel == PICTURE_SETPOINT};
    picture_line line = {.points = d->points, .capacity = d->capacity};
    picture_trace_line(series, channel, &along, &line);
    picture_item *item = picture_add(d->canvas, PICTURE_ITEM_PATH);
    if (item == NULL) {
        return;
    }
    item->colour = pen->colour;
    item->line_width = pen->width;
    item->dash = pen->dash;
    for (size_t i = 0; i < line.count; i++) {
        picture_point point = line.points[i];
        const bool alone = point.move && (i + 1 == line.count || line.points[i + 1].move);
        point.x += (float)d->left;
        point.y = (float)(top + scale->length) - point.y;
        picture_add_point(d->canvas, item, point);
        if (alone) { /* one reading between two gaps: a dot */
            picture_add_point(d->canvas, item, (picture_point){point.x + 1.5F, point.y, false});
        }
    }
}

/* The mean of each unit of the time axis, filled from below. */
static void levels(picture_drawing *d, const picture_strip *strip, double top)
{
    const picture_along along = {&d->layout.time, &strip->scale, 0, d->layout.gap_s, true};
    const size_t count = (size_t)d->layout.room.width;
    float *level = calloc(count, sizeof *level);
    picture_item *item = level != NULL ? picture_add(d->canvas, PICTURE_ITEM_PATH) : NULL;
    if (item == NULL) {
        d->canvas->failed = true;
        free(level);
        return;
    }
    picture_levels(d->trace->run, strip->channel, &along, level, count);
    item->colour = PICTURE_FILLED;
    const float floor_y = (float)(top + strip->scale.length - picture_place(&strip->scale, 0));
    for (size_t i = 0; i < count;) {
        size_t end = i + 1;
        while (end < count && level[end] == level[i]) {
            end++;
        }
        const double height = picture_place(&strip->scale, (double)level[i]);
        if (height > 0) {
            const float x0 = (float)(d->left + (double)i), x1 = (float)(d->left + (double)end);
            const float y = (float)(top + strip->scale.length - fmin(height, strip->scale.length));
            picture_add_point(d->canvas, item, (picture_point){x0, floor_y, true});
            picture_add_point(d->canvas, item, (picture_point){x0, y, false});
            picture_add_point(d->canvas, item, (picture_point){x1, y, false});
            picture_add_point(d->canvas, item, (picture_point){x1, floor_y, false});
        }
        i = end;
    }
    free(level);
}

static void strips(picture_drawing *d)
{
    static const picture_pen pen = {PICTURE_INK, 1.2, PICTURE_SOLID};
    for (size_t i = 0; i < d->layout.strip_count; i++) {
        const picture_strip *strip = &d->layout.strips[i];
        const double top = d->y + 20, height = d->layout.room.strip_height;
        char name[32];
        upright_lines(d, top, height);
        if (strip->channel == PICTURE_OUTPUT) {
            levels(d, strip, top);
        }
        left_scale(d, &strip->ticks, top, height);
        if (strip->channel != PICTURE_OUTPUT) {
            trace_line(d, d->trace->run, strip->channel, &strip->scale, top, &pen);
        }
        frame(d, top, height);
        snprintf(name, sizeof name, "%s %s", strip->name, strip->unit);
        picture_drawing_words(d, d->left + d->layout.room.width + 7, top + height / 2 + 5, PICTURE_START,
                              name);
        d->y = top + height;
    }
}

/* ---- marks ----------------------------------------------------------------------------------------------
 */

static void disc_at(picture_drawing *d, double x, double y, double radius, unsigned colour)
{
    picture_item *item = picture_add(d->canvas, PICTURE_ITEM_DISC);
    if (item != NULL) {
        item->x = x;
        item->y = y;
        item->width = radius;
        item->colour = colour;
    }
}

static void disc(picture_drawing *d, double x, double y, size_t number)
{
    char text[24];
    disc_at(d, x, y, number > 0 ? PICTURE_DISC : 3.5, PICTURE_INK);
    if (number == 0) {
        return;
    }
    snprintf(text, sizeof text, "%zu", number);
    picture_add_words(d->canvas, x, y + 4.3, 12, PICTURE_MIDDLE, text);
    if (!d->canvas->failed) {
        d->canvas->scene.items[d->canvas->scene.item_count - 1].colour = PICTURE_PAPER;
        d->canvas->scene.items[d->canvas->scene.item_count - 1].bold = true;
    }
}

static void point_on_line(picture_drawing *d, double x, double time_s)
{
    const double here_C = picture_temperature_at(d->trace->run, time_s);
    if (!isnan(here_C)) {
        disc_at(d, x, d->top + d->layout.room.height - picture_place(&d->layout.temperature, here_C), 4,
                PICTURE_INK);
    }
}

static void marks(picture_drawing *d, double bottom)
{
    const double low = d->top - 13;
    double at[PICTURE_MARKS], place[PICTURE_MARKS], room[PICTURE_MARKS];
    size_t number[PICTURE_MARKS], count = 0;
    for (size_t i = 0; i < d->mark_count; i++) {
        if (picture_time_place(&d->layout, d->trace->marks[i].time_s, &place[count])) {
            at[count] = place[count];
            room[count] = 2 * PICTURE_DISC + 2;
            number[count++] = i;
        }
    }
    picture_spread(at, room, count, 0, d->layout.room.width);
    for (size_t i = 0; i < count; i++) {
        const double x = d->left + place[i];
        picture_add_line(d->canvas, d->left + at[i], low, x, d->top, PICTURE_SOFT, 1, PICTURE_SOLID);
        picture_add_line(d->canvas, x, d->top, x, bottom, PICTURE_SOFT, 1, PICTURE_DOTTED);
        point_on_line(d, x, d->trace->marks[number[i]].time_s);
    }
    for (size_t i = 0; i < count; i++) {
        disc(d, d->left + at[i], low, number[i] + 1);
    }
}

/* ---- limits ---------------------------------------------------------------------------------------------
 */

static bool crosses(const picture_drawing *d, double x, double y, double width, double height)
{
    for (size_t i = 0; i < d->box_count; i++) {
        const picture_rectangle *box = &d->boxes[i];
        if (x < box->x + box->width && box->x < x + width && y < box->y + box->height &&
            box->y < y + height) {
            return true;
        }
    }
    return false;
}

/* Whether the line of the temperature passes through. */
static bool on_the_line(const picture_drawing *d, double x, double y, double width, double height)
{
    for (size_t i = 1; i < d->line_count; i++) {
        const picture_point *a = &d->line[i - 1], *b = &d->line[i];
        if (!b->move && (double)fminf(a->x, b->x) < x + width && (double)fmaxf(a->x, b->x) > x &&
            (double)fminf(a->y, b->y) < y + height && (double)fmaxf(a->y, b->y) > y) {
            return true;
        }
    }
    return false;
}

/* Words beside a line that ends at x1, where they cover nothing; left out when there is no such place: the
 * legend has them too. */
static void label_limit(picture_drawing *d, double x0, double x1, double y, const char *text)
{
    const double width = picture_words_width(text, PICTURE_SMALL, false), height = PICTURE_SMALL + 3;
    const double right = d->left + d->layout.room.width;
    const picture_rectangle places[] = {
        {x1 + 7, y - height / 2, width, height},
        {x0 + 4, y - height - 7, width, height},
        {x1 - width - 4, y - height - 2, width, height},
        {x1 - width - 4, y + 3, width, height},
        {x1 + 7, y + 3, width, height},
        {x1 + 7, y - height - 2, width, height},
    };
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        const picture_rectangle *p = &places[i];
        if (p->x < d->left + 2 || p->x + width > right - 2 || p->y < d->top + 1 ||
            p->y + height > d->top + d->layout.room.height - 1 || crosses(d, p->x, p->y, width, height) ||
            on_the_line(d, p->x, p->y, width, height) || d->box_count == PICTURE_BOXES) {
            continue;
        }
        d->boxes[d->box_count++] = *p;
        picture_add_box(d->canvas, p->x - 1, p->y, width + 2, height, PICTURE_PAPER);
        picture_add_words(d->canvas, p->x, p->y + height - 4, PICTURE_SMALL, PICTURE_START, text);
        if (!d->canvas->failed) {
            d->canvas->scene.items[d->canvas->scene.item_count - 1].colour = PICTURE_INK;
        }
        return;
    }
}

static bool level_of(const picture_drawing *d, double value_C, double *y)
{
    const double place = picture_place(&d->layout.temperature, value_C);
    if (!(place >= 0) || place > d->layout.temperature.length) {
        return false;
    }
    *y = d->top + d->layout.room.height - place;
    return true;
}

static bool limit_ends(const picture_drawing *d, const picture_limit *limit, double *x0, double *x1)
{
    const double from = fmax(picture_place(&d->layout.time, limit->from_s), 0);
    const double to = fmin(picture_place(&d->layout.time, limit->due_s), d->layout.time.length);
    *x0 = d->left + from;
    *x1 = d->left + to;
    return to > from;
}

static void limits(picture_drawing *d)
{
    double x0, x1, y;
    for (size_t i = 0; i < d->trace->limit_count && i < PICTURE_LIMITS; i++) {
        const picture_limit *limit = &d->trace->limits[i];
        if (!level_of(d, limit->to_C, &y) || !limit_ends(d, limit, &x0, &x1)) {
            continue;
        }
        picture_add_line(d->canvas, x0, y, x1, y, PICTURE_INK, 1.1, PICTURE_SOLID);
        if (limit->due_s <= d->layout.time.high) {
            picture_add_line(d->canvas, x1, y - 6, x1, y + 6, PICTURE_INK, 2, PICTURE_SOLID);
        }
    }
    if (level_of(d, d->trace->most_C, &y)) {
        picture_add_line(d->canvas, d->left, y, d->left + d->layout.room.width, y, PICTURE_INK, 2,
                         PICTURE_DOTTED);
    }
}

static void limit_labels(picture_drawing *d)
{
    double x0, x1, y;
    for (size_t i = 0; i < d->trace->limit_count && i < PICTURE_LIMITS; i++) {
        if (level_of(d, d->trace->limits[i].to_C, &y) && limit_ends(d, &d->trace->limits[i], &x0, &x1)) {
            label_limit(d, x0, x1, y, d->trace->limits[i].text);
        }
    }
}

/* No words over the lines of the marks, over a level setpoint and over the highest temperature allowed. */
static void keep_clear(picture_drawing *d)
{
    const picture_extent setpoint = picture_series_extent(d->trace->run, PICTURE_SETPOINT);
    double at, y, x0, x1;
    for (size_t i = 0; i < d->trace->limit_count && i < PICTURE_LIMITS; i++) {
        if (level_of(d, d->trace->limits[i].to_C, &y) && limit_ends(d, &d->trace->limits[i], &x0, &x1)) {
            d->boxes[d->box_count++] = (picture_rectangle){x0, y - 1, x1 - x0, 2};
            d->boxes[d->box_count++] = (picture_rectangle){x1 - 1, y - 6, 2, 12};
        }
    }
    if (setpoint.count > 0 && level_of(d, (double)setpoint.most, &y)) {
        d->boxes[d->box_count++] = (picture_rectangle){d->left, y - 2, d->layout.room.width, 4};
    }
    if (level_of(d, d->trace->most_C, &y)) {
        d->boxes[d->box_count++] = (picture_rectangle){d->left, y - 2, d->layout.room.width, 4};
    }
    for (size_t i = 0; i < d->mark_count; i++) {
        if (picture_time_place(&d->layout, d->trace->marks[i].time_s, &at) && d->box_count < PICTURE_BOXES) {
            d->boxes[d->box_count++] =
                (picture_rectangle){d->left + at - 2, d->top, 4, d->layout.room.height};
        }
    }
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

/* The line of the temperature as it was painted, for the labels to keep clear of. */
static void remember_line(picture_drawing *d)
{
    const picture_scene *scene = &d->canvas->scene;
    if (!d->canvas->failed && scene->item_count > 0) {
        const picture_item *item = &scene->items[scene->item_count - 1];
        d->line_count = item->count < d->line_room ? item->count : d->line_room;
        memcpy(d->line, scene->points + item->first, d->line_count * sizeof *d->line);
    }
}

/* Few readings far apart: the line between them is nobody's reading. */
static void readings(picture_drawing *d)
{
    double at, y;
    for (size_t i = 0; i < d->trace->run->count; i++) {
        const picture_bin *bin = &d->trace->run->bins[i];
        const picture_extent *extent = &bin->channel[PICTURE_TEMPERATURE];
        if (extent->count > 0 && picture_time_place(&d->layout, bin->from_s, &at) &&
            level_of(d, (double)extent->first, &y)) {
            disc_at(d, d->left + at, y, 3.2, picture_pen_temperature.colour);
        }
    }
}

static void plot(picture_drawing *d)
{
    const picture_layout *layout = &d->layout;
    const double height = layout->room.height;
    upright_lines(d, d->top, height);
    left_scale(d, &layout->left, d->top, height);
    if (layout->both) {
        right_scale(d);
    }
    if (d->trace->other != NULL) {
        trace_line(d, d->trace->other, PICTURE_TEMPERATURE, &layout->temperature, d->top, &picture_pen_other);
    }
    trace_line(d, d->trace->run, PICTURE_TEMPERATURE, &layout->temperature, d->top, &picture_pen_temperature);
    remember_line(d);
    if (picture_readings_shown(d)) {
        readings(d);
    }
    trace_line(d, d->trace->run, PICTURE_SETPOINT, &layout->temperature, d->top, &picture_pen_setpoint);
    keep_clear(d);
    limit_labels(d);
    limits(d); /* over the paper behind the labels */
    frame(d, d->top, height);
    d->y = d->top + height;
}

/* Title, key and legend stand around the plot: draw_words.c. */
static void draw_all(picture_drawing *d)
{
    picture_add_box(d->canvas, 0, 0, PICTURE_WIDTH, 0, PICTURE_PAPER); /* its height is set at the end */
    picture_drawing_head(d);
    d->top = d->y + 34;
    picture_drawing_words(d, d->left - 7, d->top - 13, PICTURE_END, d->layout.left.unit);
    if (d->layout.both) {
        picture_drawing_words(d, d->left + d->layout.room.width + 7, d->top - 13, PICTURE_START,
                              d->layout.right.unit);
    }
    plot(d);
    strips(d);
    marks(d, d->y);
    time_axis(d);
    picture_drawing_legend(d, disc);
    d->y += PICTURE_MARGIN;
    d->canvas->scene.width = PICTURE_WIDTH;
    d->canvas->scene.height = ceil(d->y);
    if (!d->canvas->failed) {
        d->canvas->scene.items[0].height = d->canvas->scene.height;
    }
}

ovp_status picture_draw(const picture_trace *trace, picture_canvas *canvas, ovp_error *error)
{
    picture_drawing d = {.canvas = canvas, .trace = trace, .left = 62};
    const bool wide_margin = trace->shown == OVP_TEXT_DEGREES_NONE ||
                             picture_series_extent(trace->run, PICTURE_OUTPUT).count > 0 ||
                             picture_series_extent(trace->run, PICTURE_VOLTS).count > 0 ||
                             picture_series_extent(trace->run, PICTURE_AMPS).count > 0;
    const picture_room room = {PICTURE_WIDTH - d.left - (wide_margin ? 86 : 22), 300, 48, 52, 24};
    d.mark_count = trace->mark_count < PICTURE_MARKS ? trace->mark_count : PICTURE_MARKS;
    d.capacity = d.line_room = picture_line_capacity(room.width);
    d.points = calloc(d.capacity, sizeof *d.points);
    d.line = calloc(d.line_room, sizeof *d.line);
    if (d.points == NULL || d.line == NULL) {
        canvas->failed = true;
    } else {
        picture_lay_out(trace, &room, &d.layout);
        draw_all(&d);
    }
    free(d.points);
    free(d.line);
    return canvas->failed ? ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory") : OVP_OK;
}
