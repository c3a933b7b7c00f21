/* layout.c: the sums that all drawings share: what is on the axes, where the scales begin and end. */
#include "picture/picture_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double beyond = 0.35;    /* what lies further outside than this share of the run is left out */
static const double margin = 0.04;    /* room above and below, as a share of the scale */
static const double least_span_C = 4; /* a run that does not move is no mountain range */

typedef struct span {
    double low, high;
} span;

static void widen(span *s, double value)
{
    s->low = fmin(s->low, value);
    s->high = fmax(s->high, value);
}

/* The temperatures of the run, and of what it is compared with in the same time. */
static span span_of_run(const picture_trace *trace, const picture_scale *time)
{
    const picture_extent run = picture_series_extent(trace->run, PICTURE_TEMPERATURE);
    span s = {INFINITY, -INFINITY};
    if (run.count > 0) {
        widen(&s, (double)run.least);
        widen(&s, (double)run.most);
    }
    for (size_t i = 0; trace->other != NULL && i < trace->other->count; i++) {
        const picture_extent *other = &trace->other->bins[i].channel[PICTURE_TEMPERATURE];
        const double at_s = trace->other->bins[i].from_s + trace->other_shift_s;
        if (other->count > 0 && at_s >= time->low && at_s <= time->high) {
            widen(&s, (double)other->least);
            widen(&s, (double)other->most);
        }
    }
    return s;
}

/* A setpoint or a limit far away would press the run flat: it is taken in only where it lies near. */
static void take_near(span *s, const span *run, double value_C)
{
    const double reach = beyond * (run->high - run->low);
    if (value_C <= run->high + reach && value_C >= run->low - reach) {
        widen(s, value_C);
    }
}

static void set_temperature(const picture_trace *trace, picture_layout *layout)
{
    const span run = span_of_run(trace, &layout->time);
    span s = run;
    for (size_t i = 0; i < trace->run->count; i++) {
        const picture_extent *setpoint = &trace->run->bins[i].channel[PICTURE_SETPOINT];
        if (setpoint->count > 0) {
            take_near(&s, &run, (double)setpoint->least);
            take_near(&s, &run, (double)setpoint->most);
        }
    }
    for (size_t i = 0; i < trace->limit_count; i++) {
        take_near(&s, &run, trace->limits[i].to_C);
    }
    take_near(&s, &run, trace->most_C);
    if (!(s.low <= s.high)) {
        s = (span){0, 1};
    }
    const double missing = fmax(0, least_span_C - (s.high - s.low)) / 2;
    const double room = margin * (s.high - s.low + 2 * missing);
    layout->temperature =
        (picture_scale){s.low - missing - room, s.high + missing + room, layout->room.height};
    layout->setpoint = picture_series_extent(trace->run, PICTURE_SETPOINT);
}

static void set_time(const picture_trace *trace, picture_layout *layout)
{
    const picture_series *run = trace->run;
    double from_s = 0, to_s = 1;
    if (run->count > 0) {
        from_s = run->bins[0].from_s;
        to_s = run->bins[run->count - 1].to_s;
    }
    if (!(to_s > from_s)) {
        to_s = from_s + 1;
    }
    layout->time = (picture_scale){from_s, to_s, layout->room.width};
    layout->gap_s =
        run->samples >= 20 && trace->usual_step_s > 0 ? 8 * trace->usual_step_s : (double)INFINITY;
}

/* Amps are read from zero; volts are near their rated value and only their sag is of interest. */
static picture_scale strip_scale(picture_channel channel, const picture_extent *extent, double length)
{
    double low = (double)extent->least, high = (double)extent->most;
    if (channel == PICTURE_OUTPUT) {
        low = fmin(low, 0);
        high = fmax(high, 100);
    } else if (channel == PICTURE_AMPS) {
        low = fmin(low, 0);
        high = fmax(high, 1);
    } else {
        const double missing = fmax(0, 10 - (high - low)) / 2;
        low -= missing;
        high += missing;
    }
    const double room = channel == PICTURE_OUTPUT ? 0 : 0.06 * (high - low);
    return (picture_scale){low - (low < 0 || channel == PICTURE_VOLTS ? room : 0), high + room, length};
}

static void set_strips(const picture_trace *trace, picture_layout *layout)
{
    static const struct {
        picture_channel channel;
        const char *name, *unit;
    } rows[] = {{PICTURE_OUTPUT, "output", "%"}, {PICTURE_VOLTS, "volts", "V"}, {PICTURE_AMPS, "amps", "A"}};
    layout->strip_count = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const picture_extent extent = picture_series_extent(trace->run, rows[i].channel);
        if (extent.count == 0) {
            continue;
        }
        picture_strip *strip = &layout->strips[layout->strip_count++];
        strip->channel = rows[i].channel;
        strip->name = rows[i].name;
        strip->unit = rows[i].unit;
        strip->extent = extent;
        strip->scale = strip_scale(strip->channel, &extent, layout->room.strip_height);
        picture_number_ticks(&strip->scale, layout->room.value_apart, strip->unit, &strip->ticks);
    }
}

void picture_lay_out(const picture_trace *trace, const picture_room *room, picture_layout *layout)
{
    layout->room = *room;
    layout->both = trace->shown == OVP_TEXT_DEGREES_NONE;
    layout->degrees = layout->both ? OVP_TEXT_DEGREES_F : trace->shown;
    set_time(trace, layout);
    set_temperature(trace, layout);
    picture_time_ticks(&layout->time, room->time_apart, &layout->time_ticks);
    picture_temperature_ticks(&layout->temperature, layout->degrees, room->value_apart, &layout->left);
    picture_temperature_ticks(&layout->temperature, OVP_TEXT_DEGREES_C, room->value_apart, &layout->right);
    set_strips(trace, layout);
}

bool picture_time_place(const picture_layout *layout, double time_s, double *at)
{
    const double place = picture_place(&layout->time, time_s);
    if (!(place >= -1e-9) || place > layout->time.length + 1e-9) {
        return false;
    }
    *at = fmin(fmax(place, 0), layout->time.length);
    return true;
}

double picture_temperature_at(const picture_series *series, double time_s)
{
    double found_C = NAN;
    for (size_t i = 0; i < series->count && series->bins[i].from_s <= time_s; i++) {
        const picture_extent *extent = &series->bins[i].channel[PICTURE_TEMPERATURE];
        if (extent->count > 0) {
            found_C = series->bins[i].to_s <= time_s ? (double)extent->last : (double)extent->first;
        }
    }
    return found_C;
}

bool picture_setpoint_words(const picture_layout *layout, char *words, size_t size)
{
    const picture_extent *setpoint = &layout->setpoint;
    const double least = (double)setpoint->least, most = (double)setpoint->most;
    const bool above = most > layout->temperature.high, below = least < layout->temperature.low;
    char highest[64];
    if (setpoint->count == 0) {
        return false;
    }
    ovp_text_format_temperature(most, layout->degrees, 0, highest, sizeof highest);
    if (least > layout->temperature.high) {
        snprintf(words, size, "setpoint: above the drawing, %s", highest);
    } else if (most < layout->temperature.low) {
        snprintf(words, size, "setpoint: below the drawing, %s", highest);
    } else if (above) {
        snprintf(words, size, "setpoint, in part above the drawing (to %s)", highest);
    } else {
        snprintf(words, size, "setpoint%s", below ? ", in part below the drawing" : "");
    }
    return true;
}

bool picture_mark_words(const picture_layout *layout, const picture_mark *mark, char *words, size_t size)
{
    double at;
    char time[64];
    const bool placed = picture_time_place(layout, mark->time_s, &at);
    if (placed) {
        ovp_text_format_duration(mark->time_s, time, sizeof time);
    }
    if (placed && strstr(mark->text, time) == NULL) {
        snprintf(words, size, "at %s: %s", time, mark->text);
    } else {
        snprintf(words, size, "%s%s", placed ? "" : "whole run: ", mark->text);
    }
    return placed;
}
