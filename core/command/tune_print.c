/* tune_print.c: what `tune` says: what to type in first. */
#include "command/beside.h"
#include "command/tune.h"

#include <math.h>
#include <stdio.h>

enum {
    TEXT_SIZE = 512,
    COLUMN = 12,
};

static command_words difference(const command_call *call, double value_C, int decimals)
{
    command_words shown = {""};
    ovp_text_format_difference(value_C, call->degrees, decimals, shown.text, sizeof shown.text);
    return shown;
}

static const char *found_words(ovp_thermal_found judged)
{
    switch (judged) {
    case OVP_THERMAL_FOUND_SWINGS:
        return "NOT plausible: with this band the oven would keep swinging";
    case OVP_THERMAL_FOUND_NARROW:
        return "NOT plausible: the band is far narrower than this oven bears";
    case OVP_THERMAL_FOUND_WIDE:
        return "NOT plausible: the band is far wider than this oven needs; it would creep to the setpoint";
    case OVP_THERMAL_FOUND_FAST:
        return "NOT plausible: the integral time is far too short; it would overshoot and swing";
    case OVP_THERMAL_FOUND_SLOW:
        return "NOT plausible: the integral time is far too long or off; it would stay below the setpoint";
    case OVP_THERMAL_FOUND_NERVOUS:
        return "NOT plausible: the derivative time is over half of the integral time";
    case OVP_THERMAL_FOUND_GOOD:
        break;
    }
    return "plausible for this oven: keep it";
}

static void settings_line(const tune_result *result, const char *label, const ovp_thermal_settings *settings,
                          bool cycle)
{
    char text[TEXT_SIZE], shown[160];

    ovp_thermal_format_settings(settings, &result->form, result->call->degrees, shown, sizeof shown);
    if (cycle)
        snprintf(text, sizeof text, "%s; cycle time %.3g s", shown, result->period_s);
    else
        snprintf(text, sizeof text, "%s", shown);
    command_say_beside(result->call->out, label, COLUMN, text);
}

static void overshoot_line(const tune_result *result)
{
    char text[TEXT_SIZE] = "";
    size_t used = 0;

    for (size_t i = 0; i < TUNE_MARKS; i++) {
        const double over_C = result->overshoot_C[i];
        if (isnan(result->mark_C[i]))
            continue;
        const command_words mark = command_show_temperature(result->call, result->mark_C[i], 0);
        const char *between = used > 0 ? "; " : "";
        int more;
        if (isnan(over_C))
            more = snprintf(text + used, sizeof text - used, "%snot reached: %s", between, mark.text);
        else
            more = snprintf(text + used, sizeof text - used, "%s%s past %s", between,
                            difference(result->call, over_C, 0).text, mark.text);
        used += more > 0 ? (size_t)more : 0;
    }
    if (used > 0) {
        snprintf(text + used, sizeof text - used, " (oven model, empty, from cold, %s)",
                 result->has_found ? "with the settings found" : "with these settings");
        command_say_beside(result->call->out, "Overshoot", COLUMN, text);
    }
}

/* What on-off control showed of the oven near where it works. */
static void swing_line(const tune_result *result)
{
    const ovp_thermal_swing *swing = &result->swing;
    char text[TEXT_SIZE], every[40];

    ovp_text_format_duration(swing->period_s, every, sizeof every);
    snprintf(text, sizeof text, "around %s it swings %s every %s with heat on and off; answers after %.0f s",
             command_show_temperature(result->call, swing->level_C, 0).text,
             difference(result->call, swing->cycle.highest_C - swing->cycle.lowest_C, 0).text, every,
             swing->process.dead_time_s);
    command_say_beside(result->call->out, "The oven", COLUMN, text);
}

static void oven_line(const tune_result *result)
{
    const ovp_thermal_fit *fit = &result->working.fit;
    char text[TEXT_SIZE];
    const double slope_C_per_s =
        isnan(result->working.slope_C_per_s) ? fit->slope_C_per_s.value : result->working.slope_C_per_s;
    int used =
        snprintf(text, sizeof text, "answers %.0f s after the heat comes on; full heat raises it %s a minute",
                 fit->dead_time_s.value, difference(result->call, 60 * slope_C_per_s, 0).text);

    if (!isnan(result->working.at_C) && used > 0)
        snprintf(text + used, sizeof text - (size_t)used, " near %s",
                 command_show_temperature(result->call, result->working.at_C, 0).text);
    command_say_beside(result->call->out, "The oven", COLUMN, text);
}

void tune_print(const tune_result *result)
{
    const command_call *call = result->call;
    const ovp_thermal_fit *fit = &result->working.fit;
    const bool usable = !result->weak && !result->too_short && fit->wet_s <= 0;
    char text[TEXT_SIZE];

    if (result->has_found)
        command_say_beside(call->out, "Found", COLUMN, found_words(result->judged));
    if (!usable)
        command_say_beside(call->out, "Not yet", COLUMN, result->warnings[0]);
    const bool keep = result->has_found && result->judged == OVP_THERMAL_FOUND_GOOD;
    settings_line(result,
                  !usable ? "At best"
                  : keep  ? "By the run"
                          : "Type in",
                  &result->advice[0].settings, true);
    settings_line(result, "Gentler", &result->advice[1].settings, false);
    overshoot_line(result);
    if (result->by_swing)
        swing_line(result);
    else
        oven_line(result);
    for (size_t i = 0; i < result->warning_count && i < 3; i++) {
        if (usable || i > 0)
            command_say_beside(call->out, "Note", COLUMN, result->warnings[i]);
    }
    snprintf(
        text, sizeof text,
        "first write down what is set now, and stay with the oven for the first run. The controller may find "
        "its own: empty, floor dry, setpoint near %s; then --found \"...\" judges it.",
        command_show_temperature(call, result->tune_at_C, 0).text);
    command_say_beside(call->out, "Next", COLUMN, text);
}

/* ---- why
 * -------------------------------------------------------------------------------------------------------- */

void tune_print_why(const tune_result *result)
{
    const command_call *call = result->call;
    const ovp_thermal_fit *fit = &result->working.fit;

    ovp_text_print(call->out, "\nWhat it rests on\n");
    ovp_text_print(call->out, "  %llu samples, %zu means of them used; model of %zu lag%s with dead time\n",
                   (unsigned long long)result->input.samples, fit->readings, fit->order,
                   fit->order > 1 ? "s" : "");
    ovp_text_print(call->out, "  dead time %.1f s (95 %%: %.1f to %.1f)\n", fit->dead_time_s.value,
                   fit->dead_time_s.low, fit->dead_time_s.high);
    for (size_t i = 0; i < fit->order && i < OVP_THERMAL_LAGS; i++)
        ovp_text_print(call->out, "  lag %.1f s (95 %%: %.1f to %.1f)\n", fit->time_constant_s[i].value,
                       fit->time_constant_s[i].low, fit->time_constant_s[i].high);
    ovp_text_print(call->out, "  full heat would end %s above its start (95 %%: %.0f to %.0f °C)\n",
                   difference(call, fit->gain_C.value, 0).text, fit->gain_C.low, fit->gain_C.high);
    ovp_text_print(call->out, "  misses the readings by %s; scatter of the readings %s\n",
                   difference(call, fit->rms_C, 2).text, difference(call, fit->noise_C, 2).text);
    if (result->swing.cycles > 0)
        ovp_text_print(call->out,
                       "  %zu on-off swings around %s, each %.0f s: dead time %.1f s, lag %.0f s%s\n",
                       result->swing.cycles, command_show_temperature(call, result->swing.level_C, 0).text,
                       result->swing.period_s, result->swing.process.dead_time_s,
                       result->swing.process.time_constants_s[0], result->by_swing ? " (used)" : "");
    ovp_text_print(call->out,
                   "Settings by every rule (simc: Skogestad 2003; ziegler-nichols: 1942, rough)\n");
    for (size_t i = 0; i < OVP_THERMAL_RULES; i++) {
        char shown[160];
        ovp_thermal_format_settings(&result->advice[i].settings, &result->form, call->degrees, shown,
                                    sizeof shown);
        ovp_text_print(call->out, "  %-16s %s%s\n", result->advice[i].rule, shown,
                       result->advice[i].widened ? " (narrowest band)" : "");
    }
    for (size_t i = 0; i < result->warning_count; i++)
        command_say_beside(call->out, "  note:", 8, result->warnings[i]);
}

/* ---- JSON
 * ---------------------------------------------------------------------------------------------------------
 */

static void write_interval(ovp_text_json *json, const char *key, const ovp_thermal_estimate *of, double scale)
{
    ovp_text_json_key(json, key);
    ovp_text_json_begin_array(json);
    ovp_text_json_number(json, scale * of->low);
    ovp_text_json_number(json, scale * of->high);
    ovp_text_json_end_array(json);
}

static void write_model(ovp_text_json *json, const tune_result *result)
{
    static const char *const lag_keys[OVP_THERMAL_LAGS] = {"time_constant_s", "second_time_constant_s"};
    const ovp_thermal_fit *fit = &result->working.fit;

    ovp_text_json_key(json, "model");
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "gain_C_per_percent", fit->gain_C.value / 100);
    ovp_text_json_key_number(json, "dead_time_s", fit->dead_time_s.value);
    ovp_text_json_key(json, "time_constants_s");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < fit->order && i < OVP_THERMAL_LAGS; i++)
        ovp_text_json_number(json, fit->time_constant_s[i].value);
    ovp_text_json_end_array(json);
    ovp_text_json_key_number(json, "rms_C", fit->rms_C);
    ovp_text_json_key(json, "interval");
    ovp_text_json_begin_object(json);
    write_interval(json, "gain_C_per_percent", &fit->gain_C, 0.01);
    write_interval(json, "dead_time_s", &fit->dead_time_s, 1);
    for (size_t i = 0; i < fit->order && i < OVP_THERMAL_LAGS; i++)
        write_interval(json, lag_keys[i], &fit->time_constant_s[i], 1);
    ovp_text_json_end_object(json);
    ovp_text_json_key_number(json, "noise_C", fit->noise_C);
    ovp_text_json_key_boolean(json, "adequate", fit->adequate);
    ovp_text_json_key_boolean(json, "too_short", fit->too_short);
    ovp_text_json_key_number(json, "wet_s", fit->wet_s);
    ovp_text_json_key_number(json, "part_to_C", result->working.part_to_C);
    ovp_text_json_key_number(json, "slope_C_per_s",
                             isnan(result->working.slope_C_per_s) ? fit->slope_C_per_s.value
                                                                  : result->working.slope_C_per_s);
    ovp_text_json_end_object(json);
}

static void write_swing(ovp_text_json *json, const ovp_thermal_swing *swing, bool used)
{
    ovp_text_json_key(json, "swing");
    if (swing->cycles == 0) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "cycles", (double)swing->cycles);
    ovp_text_json_key_number(json, "level_C", swing->level_C);
    ovp_text_json_key_number(json, "period_s", swing->period_s);
    ovp_text_json_key_number(json, "height_C", swing->cycle.highest_C - swing->cycle.lowest_C);
    ovp_text_json_key_number(json, "gain_C_per_percent", swing->process.gain / 100);
    ovp_text_json_key_number(json, "dead_time_s", swing->process.dead_time_s);
    ovp_text_json_key_number(json, "time_constant_s", swing->process.time_constants_s[0]);
    ovp_text_json_key_boolean(json, "used", used);
    ovp_text_json_end_object(json);
}

static void write_settings(ovp_text_json *json, const ovp_thermal_settings *settings)
{
    ovp_text_json_key_number(json, "kp_percent_per_C", 100 * settings->gain_per_C);
    ovp_text_json_key_number(json, "band_C", 1 / settings->gain_per_C);
    ovp_text_json_key_number(json, "ti_s", settings->integral_s);
    ovp_text_json_key_number(json, "td_s", settings->derivative_s);
}

static void write_found(ovp_text_json *json, const tune_result *result)
{
    static const char *const verdicts[] = {"plausible",      "swings",        "band-narrow",    "band-wide",
                                           "integral-short", "integral-long", "derivative-long"};

    ovp_text_json_key(json, "found");
    if (!result->has_found) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    write_settings(json, &result->found);
    ovp_text_json_key_string(json, "verdict", verdicts[result->judged]);
    ovp_text_json_end_object(json);
}

void tune_print_json(const tune_result *result)
{
    ovp_text_json json;

    ovp_text_json_init(&json, result->call->out);
    ovp_text_json_begin_document(&json, "tune", 1);
    write_model(&json, result);
    write_swing(&json, &result->swing, result->by_swing);
    ovp_text_json_key(&json, "settings");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < OVP_THERMAL_RULES; i++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "rule", result->advice[i].rule);
        write_settings(&json, &result->advice[i].settings);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    ovp_text_json_key(&json, "overshoot");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < TUNE_MARKS; i++) {
        if (isnan(result->mark_C[i]))
            continue;
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_number(&json, "at_C", result->mark_C[i]);
        ovp_text_json_key_number(&json, "overshoot_C", result->overshoot_C[i]);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    write_found(&json, result);
    ovp_text_json_key_number(&json, "cycle_s", result->period_s);
    ovp_text_json_key_number(&json, "find_own_at_C", result->tune_at_C);
    ovp_text_json_key(&json, "warnings");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < result->warning_count; i++)
        ovp_text_json_string(&json, result->warnings[i]);
    ovp_text_json_end_array(&json);
    (void)ovp_text_json_end_document(&json);
}
