/* ticks.c: scales, round values along them, labels that do not touch. */
#include "picture/picture_internal.h"

#include <math.h>

double picture_place(const picture_scale *scale, double value)
{
    return scale->length * (value - scale->low) / (scale->high - scale->low);
}

double picture_step(double span, size_t most)
{
    double least = span / (double)(most ? most : 1);
    if (!(least > 0) || !isfinite(least)) {
        return 1;
    }
    double power = pow(10, floor(log10(least)));
    double share = least / power;
    return power * (share <= 1 ? 1 : share <= 2 ? 2 : share <= 5 ? 5 : 10);
}

static size_t most_ticks(const picture_scale *scale, double apart)
{
    double most = floor(scale->length / apart);
    return most < 1 ? 1 : most > PICTURE_TICKS - 2 ? PICTURE_TICKS - 2 : (size_t)most;
}

static int decimals_of(double step)
{
    int decimals = 0;
    while (decimals < 6 && fabs(step - round(step)) > 1e-9 * step) {
        step *= 10;
        decimals++;
    }
    return decimals;
}

/* ---- time --------------------------------------------------------------------------------------------- */

static const struct {
    double up_to_s, seconds;
    const char *name;
} time_units[] = {
    {150, 1, "seconds"},
    {4 * 3600.0, 60, "minutes"},
    {4.5 * 86400, 3600, "hours"},
    {INFINITY, 86400, "days"},
};

static const double time_steps_s[] = {
    0.1,         0.2,          0.5,         1,    2,    5,    10,    15,    30,    60,    120,
    300,         600,          900,         1800, 3600, 7200, 10800, 21600, 43200, 86400, 2 * 86400.0,
    7 * 86400.0, 14 * 86400.0, 28 * 86400.0};

static double time_step(double span_s, double unit_s, size_t most)
{
    for (size_t i = 0; i < sizeof time_steps_s / sizeof time_steps_s[0]; i++) {
        if (time_steps_s[i] * (double)most >= span_s && (unit_s == 1 || time_steps_s[i] >= unit_s)) {
            return time_steps_s[i];
        }
    }
    return picture_step(span_s / unit_s, most) * unit_s;
}

void picture_time_ticks(const picture_scale *scale, double apart, picture_ticks *ticks)
{
    const double span_s = scale->high - scale->low;
    size_t unit = 0;
    while (span_s > time_units[unit].up_to_s) {
        unit++;
    }
    const double unit_s = time_units[unit].seconds;
    const double step_s = time_step(span_s, unit_s, most_ticks(scale, apart));
    const int decimals = decimals_of(step_s / unit_s);
    ticks->unit = time_units[unit].name;
    ticks->count = 0;
    for (double n = ceil(scale->low / step_s - 1e-9); ticks->count < PICTURE_TICKS; n++) {
        const double at_s = n * step_s;
        if (at_s > scale->high + 1e-9 * span_s) {
            break;
        }
        picture_tick *tick = &ticks->tick[ticks->count++];
        tick->at = picture_place(scale, at_s);
        ovp_text_format_fixed(at_s / unit_s, decimals, tick->text, sizeof tick->text);
    }
}

/* ---- values ------------------------------------------------------------------------------------------- */

/* `low` and `high` are the ends of the scale in the unit shown: round values of it along the scale. */
static void round_ticks(double low, double high, double length, double apart, picture_ticks *ticks)
{
    const picture_scale shown = {low, high, length};
    const double step = picture_step(high - low, most_ticks(&shown, apart));
    const int decimals = decimals_of(step);
    ticks->count = 0;
    for (double n = ceil(low / step - 1e-9); ticks->count < PICTURE_TICKS; n++) {
        if (n * step > high + 1e-9 * (high - low)) {
            break;
        }
        picture_tick *tick = &ticks->tick[ticks->count++];
        tick->at = picture_place(&shown, n * step);
        ovp_text_format_fixed(n * step, decimals, tick->text, sizeof tick->text);
    }
}

const char *picture_degrees_sign(ovp_text_degrees degrees)
{
    return degrees == OVP_TEXT_DEGREES_C ? "°C" : degrees == OVP_TEXT_DEGREES_K ? "K" : "°F";
}

void picture_temperature_ticks(const picture_scale *scale, ovp_text_degrees shown, double apart,
                               picture_ticks *ticks)
{
    ticks->unit = picture_degrees_sign(shown);
    round_ticks(ovp_text_from_celsius(scale->low, shown), ovp_text_from_celsius(scale->high, shown),
                scale->length, apart, ticks);
}

void picture_number_ticks(const picture_scale *scale, double apart, const char *unit, picture_ticks *ticks)
{
    ticks->unit = unit;
    round_ticks(scale->low, scale->high, scale->length, apart, ticks);
}

/* ---- labels ------------------------------------------------------------------------------------------- */

void picture_spread(double at[], const double width[], size_t count, double low, double high)
{
    double free_from = low;
    for (size_t i = 0; i < count; i++) {
        at[i] = fmax(at[i], free_from + width[i] / 2);
        free_from = at[i] + width[i] / 2;
    }
    double free_to = high;
    for (size_t i = count; i > 0; i--) {
        at[i - 1] = fmin(at[i - 1], free_to - width[i - 1] / 2);
        free_to = at[i - 1] - width[i - 1] / 2;
    }
}
