/* Settings in the words of a controller, by rule, and what to think of those that it found itself. */
#include "ovenproof/thermal.h"

#include "thermal/thermal_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- the controller's own form
 * ------------------------------------------------------------------------------ */

static bool holds(ovp_span text, const char *word)
{
    const size_t length = strlen(word);

    for (size_t i = 0; i + length <= text.count; ++i) {
        if (ovp_span_equals((ovp_span){text.bytes + i, length}, word)) {
            return true;
        }
    }
    return false;
}

/* The next piece between commas. */
static bool next_piece(ovp_span *rest, ovp_span *piece)
{
    if (rest->count == 0) {
        return false;
    }
    const char *comma = memchr(rest->bytes, ',', rest->count);
    const size_t count = comma ? (size_t)(comma - rest->bytes) : rest->count;
    *piece = ovp_span_trim((ovp_span){rest->bytes, count});
    const size_t used = comma ? count + 1 : count;
    *rest = (ovp_span){rest->bytes + used, rest->count - used};
    return true;
}

typedef enum part {
    PART_BAND,
    PART_INTEGRAL,
    PART_DERIVATIVE,
    PART_NONE,
} part;

/* "band 38F": the part by its first word, and what follows. */
static part part_of(ovp_span piece, ovp_span *value)
{
    static const struct {
        const char *word;
        part is;
    } words[] = {
        {"band", PART_BAND},     {"pb", PART_BAND},         {"integral", PART_INTEGRAL},
        {"ti", PART_INTEGRAL},   {"reset", PART_INTEGRAL},  {"derivative", PART_DERIVATIVE},
        {"td", PART_DERIVATIVE}, {"rate", PART_DERIVATIVE},
    };
    size_t count = 0;

    while (count < piece.count && piece.bytes[count] != ' ' && piece.bytes[count] != '=') {
        ++count;
    }
    *value = piece;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; ++i) {
        if (ovp_span_equals((ovp_span){piece.bytes, count}, words[i].word)) {
            const size_t used = count < piece.count ? count + 1 : count;
            *value = ovp_span_trim((ovp_span){piece.bytes + used, piece.count - used});
            return words[i].is;
        }
    }
    return PART_NONE;
}

static ovp_thermal_time_form time_form(ovp_span piece)
{
    if (holds(piece, "repeat") || holds(piece, "/min")) {
        return OVP_THERMAL_IN_REPEATS;
    }
    return holds(piece, "min") ? OVP_THERMAL_IN_MINUTES : OVP_THERMAL_IN_SECONDS;
}

void ovp_thermal_form_of(const ovp_oven *oven, ovp_thermal_form *form)
{
    *form = (ovp_thermal_form){.span_C = NAN};
    if (!oven) {
        return;
    }
    ovp_span rest = ovp_span_of(oven->controller.pid), piece, value;
    form->degrees = oven->controller.degrees;
    form->span_C = oven->controller.display_high_C - oven->controller.display_low_C;
    for (int i = PART_BAND; i < PART_NONE && next_piece(&rest, &piece); ++i) {
        const part named = part_of(piece, &value);
        const part is = named == PART_NONE ? (part)i : named;
        if (is == PART_BAND) {
            form->band_percent = holds(value, "%") || holds(value, "percent");
        } else if (is == PART_INTEGRAL) {
            form->integral = time_form(value);
        } else {
            form->derivative = time_form(value);
        }
    }
}

/* ---- words
 * ---------------------------------------------------------------------------------------------------- */

static void format_time(double value_s, ovp_thermal_time_form form, char *buffer, size_t size)
{
    char number[32];

    if (!(value_s > 0)) {
        snprintf(buffer, size, "0 (off)");
        return;
    }
    if (form == OVP_THERMAL_IN_REPEATS) {
        ovp_text_format_fixed(60 / value_s, 2, number, sizeof number);
        snprintf(buffer, size, "%s repeats/min", number);
    } else if (form == OVP_THERMAL_IN_MINUTES) {
        ovp_text_format_fixed(value_s / 60, 2, number, sizeof number);
        snprintf(buffer, size, "%s min", number);
    } else {
        ovp_text_format_fixed(value_s, value_s < 10, number, sizeof number);
        snprintf(buffer, size, "%s s", number);
    }
}

void ovp_thermal_format_settings(const ovp_thermal_settings *settings, const ovp_thermal_form *form,
                                 ovp_text_degrees shown, char *buffer, size_t size)
{
    char band[64], integral[48], derivative[48], number[32];
    const double band_C = 1 / settings->gain_per_C;
    const ovp_text_degrees degrees = form->degrees != OVP_TEXT_DEGREES_NONE ? form->degrees : shown;

    if (form->band_percent && form->span_C > 0) {
        ovp_text_format_fixed(100 * band_C / form->span_C, 1, number, sizeof number);
        snprintf(band, sizeof band, "%s %%", number);
    } else {
        ovp_text_format_difference(band_C, degrees, 0, band, sizeof band);
    }
    format_time(settings->integral_s, form->integral, integral, sizeof integral);
    format_time(settings->derivative_s, form->derivative, derivative, sizeof derivative);
    snprintf(buffer, size, "band %s, integral %s, derivative %s", band, integral, derivative);
}

static ovp_status read_band(ovp_span value, const ovp_thermal_form *form, ovp_text_degrees bare,
                            double *band_C, ovp_error *error)
{
    double share = NAN;

    if (!holds(value, "%")) {
        const ovp_text_degrees degrees = form->degrees != OVP_TEXT_DEGREES_NONE ? form->degrees : bare;
        return ovp_text_quantity(value, OVP_TEXT_TEMPERATURE_DIFFERENCE, degrees, band_C, error);
    }
    const ovp_status status = ovp_text_quantity(value, OVP_TEXT_RATIO, OVP_TEXT_DEGREES_NONE, &share, error);
    if (status == OVP_OK && !(form->span_C > 0)) {
        ovp_error_set(error, OVP_ERROR_DATA, "a band in percent needs the controller's range");
        ovp_error_hint(error,
                       "give display_low and display_high in the oven's description, or the band in degrees");
        return OVP_ERROR_DATA;
    }
    *band_C = share * form->span_C;
    return status;
}

static ovp_status read_time(ovp_span value, double *value_s, ovp_error *error)
{
    double repeats = 0;
    const size_t used = ovp_text_scan_number(value, &repeats);

    if (used > 0 && time_form(value) == OVP_THERMAL_IN_REPEATS) {
        *value_s = repeats > 0 ? 60 / repeats : 0;
        return OVP_OK;
    }
    if (used > 0 && used == value.count && repeats == 0) {
        *value_s = 0;
        return OVP_OK;
    }
    return ovp_text_quantity(value, OVP_TEXT_DURATION, OVP_TEXT_DEGREES_NONE, value_s, error);
}

ovp_status ovp_thermal_read_settings(ovp_span text, const ovp_thermal_form *form, ovp_text_degrees bare,
                                     ovp_thermal_settings *settings, ovp_error *error)
{
    double value[3] = {NAN, 0, 0};
    ovp_span rest = text, piece, words;

    while (next_piece(&rest, &piece)) {
        const part is = part_of(piece, &words);
        if (is == PART_NONE) {
            ovp_error_set(error, OVP_ERROR_DATA, "\"%.*s\" is no band, ti or td",
                          (int)fmin((double)piece.count, 40), piece.bytes);
            ovp_error_hint(error, "such as \"band 38F, ti 210s, td 50s\"");
            return OVP_ERROR_DATA;
        }
        const ovp_status status = is == PART_BAND ? read_band(words, form, bare, &value[0], error)
                                                  : read_time(words, &value[is], error);
        if (status != OVP_OK) {
            return status;
        }
    }
    if (!(value[0] > 0) || !(value[1] >= 0) || !(value[2] >= 0)) {
        ovp_error_set(error, OVP_ERROR_DATA, "a band above zero is wanted, and times that are not negative");
        ovp_error_hint(error, "such as \"band 38F, ti 210s, td 50s\"");
        return OVP_ERROR_DATA;
    }
    *settings = (ovp_thermal_settings){1 / value[0], value[1], value[2]};
    return OVP_OK;
}

/* ---- rules
 * ------------------------------------------------------------------------------------------------------ */

void ovp_thermal_standard_form(ovp_thermal_settings *settings)
{
    if (settings->derivative_s > 0 && settings->integral_s > 0) {
        const double factor = 1 + settings->derivative_s / settings->integral_s;
        settings->gain_per_C *= factor;
        settings->integral_s *= factor;
        settings->derivative_s /= factor;
    }
}

/* Half the period of the output and half a step of readings pass before anything can answer. */
static ovp_thermal_process as_controlled(const ovp_thermal_process *process, double period_s,
                                         double interval_s)
{
    ovp_thermal_process made = *process;

    made.dead_time_s = fmax(process->dead_time_s, 0.5 * interval_s) + 0.5 * period_s;
    return made;
}

void ovp_thermal_advise(const ovp_thermal_process *process, double period_s, double interval_s,
                        ovp_thermal_advice advice[OVP_THERMAL_RULES])
{
    const ovp_thermal_process used = as_controlled(process, period_s, interval_s);
    double gain, swing_s;

    advice[0] = (ovp_thermal_advice){.rule = "simc"};
    ovp_thermal_simc(&used, NAN, &advice[0].settings);
    advice[1] = (ovp_thermal_advice){.rule = "simc-smooth"};
    ovp_thermal_simc(&used, thermal_figure("smooth_dead_times") * used.dead_time_s, &advice[1].settings);
    ovp_thermal_standard_form(&advice[0].settings);
    ovp_thermal_standard_form(&advice[1].settings);
    advice[2] = (ovp_thermal_advice){.rule = "ziegler-nichols"};
    ovp_thermal_ultimate(used.gain, used.dead_time_s, used.time_constants_s, OVP_THERMAL_LAGS, &gain,
                         &swing_s);
    ovp_thermal_ziegler_nichols(gain, swing_s, true, &advice[2].settings);
    for (size_t i = 0; i < OVP_THERMAL_RULES; ++i) {
        const double most = 1 / thermal_figure("narrowest_band_C");
        advice[i].widened = advice[i].settings.gain_per_C > most;
        advice[i].settings.gain_per_C = fmin(advice[i].settings.gain_per_C, most);
    }
}

ovp_thermal_found ovp_thermal_judge_found(const ovp_thermal_process *process, double period_s,
                                          double interval_s, const ovp_thermal_settings *found)
{
    const ovp_thermal_process used = as_controlled(process, period_s, interval_s);
    const double bands = thermal_figure("found_band_times"), times = thermal_figure("found_time_times");
    ovp_thermal_advice advice[OVP_THERMAL_RULES];
    double ultimate, swing_s;

    ovp_thermal_advise(process, period_s, interval_s, advice);
    ovp_thermal_ultimate(used.gain, used.dead_time_s, used.time_constants_s, OVP_THERMAL_LAGS, &ultimate,
                         &swing_s);
    const double gain = found->gain_per_C / advice[0].settings.gain_per_C;
    const double integral = found->integral_s / advice[0].settings.integral_s;
    if (found->gain_per_C * thermal_figure("gain_margin") > ultimate) {
        return OVP_THERMAL_FOUND_SWINGS;
    }
    if (gain > bands) {
        return OVP_THERMAL_FOUND_NARROW;
    }
    if (gain < 1 / bands) {
        return OVP_THERMAL_FOUND_WIDE;
    }
    if (found->integral_s > 0 && integral < 1 / times) {
        return OVP_THERMAL_FOUND_FAST;
    }
    if (!(found->integral_s > 0) || integral > times) {
        return OVP_THERMAL_FOUND_SLOW;
    }
    return found->derivative_s > 0.5 * found->integral_s ? OVP_THERMAL_FOUND_NERVOUS : OVP_THERMAL_FOUND_GOOD;
}

/* ---- by the oven model
 * ------------------------------------------------------------------------------------------ */

ovp_status ovp_thermal_overshoot(const ovp_oven *oven, const ovp_thermal_settings *settings,
                                 double setpoint_C, double *overshoot_C, ovp_error *error)
{
    const double longest_s = 3 * 3600.0, after_s = 2400, step_s = 5;
    ovp_thermal_plan plan;
    ovp_thermal_run run;
    ovp_thermal_sample sample;
    double highest_C = -INFINITY, reached_s = NAN;

    const ovp_status status = ovp_thermal_plan_for(oven, NULL, setpoint_C, &plan, error);
    if (status != OVP_OK) {
        return status;
    }
    plan.noise_C = 0;
    plan.controller.band_C = 1 / settings->gain_per_C;
    plan.controller.integral_s = settings->integral_s;
    plan.controller.derivative_s = settings->derivative_s;
    ovp_thermal_run_start(&plan, &run);
    for (double time_s = step_s; time_s < longest_s && !(time_s > reached_s + after_s); time_s += step_s) {
        ovp_thermal_run_to(&run, time_s, &sample);
        highest_C = fmax(highest_C, run.state.sensor_C);
        if (isnan(reached_s) && highest_C > setpoint_C - plan.controller.band_C / 2) {
            reached_s = time_s;
        }
    }
    *overshoot_C = isnan(reached_s) ? (double)NAN : fmax(highest_C - setpoint_C, 0);
    return OVP_OK;
}

double ovp_thermal_usual_period_s(void)
{
    return thermal_figure("default_period_s");
}

/* The rule of thumb is told in degrees Fahrenheit. */
double ovp_thermal_tune_at_C(double highest_C)
{
    const double highest_F = ovp_text_from_celsius(highest_C, OVP_TEXT_DEGREES_F);

    return ovp_text_to_celsius(thermal_figure("tune_share") * highest_F, OVP_TEXT_DEGREES_F);
}

double ovp_thermal_weak_power(void)
{
    return thermal_figure("weak_power");
}
