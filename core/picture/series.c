/* series.c: a run of any length in a fixed room: the least and the greatest of each stretch. */
#include "picture/picture_internal.h"

#include <math.h>
#include <string.h>

/* Far below any logger's step: the stretches begin as single samples and widen when the room is full. */
static const double first_width_s = 1e-6;

void picture_series_begin(picture_series *series)
{
    series->width_s = first_width_s;
    series->missing = false;
    series->samples = 0;
    series->count = 0;
}

static void extend(picture_extent *into, double value)
{
    const float reading = (float)value;
    if (isnan(value)) {
        return;
    }
    if (into->count == 0) {
        into->first = into->least = into->most = reading;
    }
    into->last = reading;
    into->least = fminf(into->least, reading);
    into->most = fmaxf(into->most, reading);
    into->sum += value;
    into->count++;
}

void picture_extent_join(picture_extent *into, const picture_extent *later)
{
    if (later->count == 0) {
        return;
    }
    if (into->count == 0) {
        *into = *later;
        return;
    }
    into->last = later->last;
    into->least = fminf(into->least, later->least);
    into->most = fmaxf(into->most, later->most);
    into->sum += later->sum;
    into->count += later->count;
}

static void join_bins(picture_bin *into, const picture_bin *later)
{
    if (into->channel[PICTURE_TEMPERATURE].count == 0) {
        into->broken = later->broken;
    }
    into->to_s = later->to_s;
    for (size_t i = 0; i < PICTURE_CHANNELS; i++) {
        picture_extent_join(&into->channel[i], &later->channel[i]);
    }
}

static double stretch_of(const picture_series *series, double time_s)
{
    return floor((time_s - series->bins[0].from_s) / series->width_s);
}

/* Wider stretches, until there is room: each of two that fall together becomes one. */
static void make_room(picture_series *series)
{
    while (series->count == PICTURE_BINS) {
        size_t kept = 0;
        series->width_s *= 2;
        for (size_t i = 1; i < series->count; i++) {
            if (stretch_of(series, series->bins[i].from_s) == stretch_of(series, series->bins[kept].from_s)) {
                join_bins(&series->bins[kept], &series->bins[i]);
            } else {
                series->bins[++kept] = series->bins[i];
            }
        }
        series->count = kept + 1;
    }
}

static picture_bin *bin_for(picture_series *series, double time_s)
{
    if (series->count > 0) {
        picture_bin *last = &series->bins[series->count - 1];
        if (stretch_of(series, time_s) == stretch_of(series, last->from_s)) {
            return last;
        }
        make_room(series);
    }
    picture_bin *fresh = &series->bins[series->count++];
    memset(fresh, 0, sizeof *fresh);
    fresh->from_s = time_s;
    return fresh;
}

void picture_series_sample(void *context, const ovp_trace_sample *sample)
{
    picture_series *series = context;
    double time_s = sample->time_s;
    if (!isfinite(time_s)) {
        return;
    }
    if (series->count > 0) {
        time_s = fmax(time_s, series->bins[series->count - 1].to_s);
    }
    picture_bin *bin = bin_for(series, time_s);
    bin->to_s = time_s;
    series->samples++;
    if (isnan(sample->temperature_C)) {
        series->missing = true;
    } else {
        if (bin->channel[PICTURE_TEMPERATURE].count == 0) {
            bin->broken = series->missing;
        }
        series->missing = false;
    }
    extend(&bin->channel[PICTURE_TEMPERATURE], sample->temperature_C);
    extend(&bin->channel[PICTURE_SETPOINT], sample->setpoint_C);
    extend(&bin->channel[PICTURE_OUTPUT], sample->output_percent);
    extend(&bin->channel[PICTURE_VOLTS], sample->supply_V);
    extend(&bin->channel[PICTURE_AMPS], sample->element_A);
}

picture_extent picture_series_extent(const picture_series *series, picture_channel channel)
{
    picture_extent all = {0};
    for (size_t i = 0; series != NULL && i < series->count; i++) {
        picture_extent_join(&all, &series->bins[i].channel[channel]);
    }
    return all;
}
