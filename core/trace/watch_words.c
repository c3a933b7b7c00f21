/* watch_words.c: an alarm in words, what to do first. */
#include "watch_internal.h"

#include <math.h>
#include <stdio.h>

bool ovp_trace_alarm_is_danger(ovp_trace_alarm alarm)
{
    return alarm == OVP_TRACE_ALARM_OPEN || alarm == OVP_TRACE_ALARM_UNDER ||
           alarm == OVP_TRACE_ALARM_BACKWARDS || alarm == OVP_TRACE_ALARM_NO_RISE ||
           alarm == OVP_TRACE_ALARM_UNSEEN || alarm == OVP_TRACE_ALARM_HEATS_OFF;
}

const char *ovp_trace_alarm_name(ovp_trace_alarm alarm)
{
    static const char *const names[OVP_TRACE_ALARMS] = {
        [OVP_TRACE_ALARM_NONE] = "none",           [OVP_TRACE_ALARM_OPEN] = "open",
        [OVP_TRACE_ALARM_UNDER] = "under-range",   [OVP_TRACE_ALARM_UNIT] = "wrong-unit",
        [OVP_TRACE_ALARM_BACKWARDS] = "backwards", [OVP_TRACE_ALARM_NO_RISE] = "no-rise",
        [OVP_TRACE_ALARM_NO_POWER] = "no-power",   [OVP_TRACE_ALARM_UNSEEN] = "heats-unseen",
        [OVP_TRACE_ALARM_HALF] = "half-power",     [OVP_TRACE_ALARM_HEATS_OFF] = "heats-while-off"};
    return alarm >= 0 && alarm < OVP_TRACE_ALARMS ? names[alarm] : "";
}

typedef struct number {
    char text[JUDGE_TEXT_SIZE];
} number;

static number difference(const ovp_trace_watch *watch, double value_C)
{
    number made = {""};
    ovp_text_format_difference(value_C, watch->setting.shown, 0, made.text, sizeof made.text);
    return made;
}

static number duration(double value_s)
{
    number made = {""};
    const double shown_s = isnan(value_s) ? 0 : fmax(value_s, 0);
    if (shown_s < 100) {
        snprintf(made.text, sizeof made.text, "%.0f s", shown_s);
    } else {
        ovp_text_format_duration(shown_s, made.text, sizeof made.text);
    }
    return made;
}

/* "does not rise", or by how little of what is due. */
static number rise(const ovp_trace_watch *watch)
{
    number made = {"does not rise"};
    const ovp_trace_watch_state *state = &watch->state;
    if (state->change_C >= 1 && state->expected_C > state->change_C) {
        const number moved = difference(watch, state->change_C), due = difference(watch, state->expected_C);
        snprintf(made.text, sizeof made.text, "rose only %.18s where %.18s is due", moved.text, due.text);
    }
    return made;
}

void ovp_trace_watch_words(const ovp_trace_watch *watch, char *buffer, size_t size)
{
    const ovp_trace_watch_state *state = &watch->state;
    const number since = duration(state->since_s), moved = difference(watch, fabs(state->change_C));
    buffer[0] = '\0';
    switch (state->alarm) {
    case OVP_TRACE_ALARM_OPEN:
        snprintf(buffer, size,
                 "HEAT OFF NOW: the display has lost the sensor. Nothing shows how hot the oven is.");
        break;
    case OVP_TRACE_ALARM_UNDER:
        snprintf(
            buffer, size,
            "HEAT OFF NOW: the display is below its range. The sensor reads backwards or is broken; the oven "
            "may be far hotter than it shows.");
        break;
    case OVP_TRACE_ALARM_BACKWARDS:
        snprintf(
            buffer, size,
            "HEAT OFF NOW: it fell %s in %s with heat on. The sensor reads backwards: the controller would "
            "heat until something breaks.",
            moved.text, since.text);
        break;
    case OVP_TRACE_ALARM_NO_RISE:
        snprintf(buffer, size,
                 "HEAT OFF NOW: heat has been on for %s and the display %s. Either little or nothing heats, "
                 "or the "
                 "sensor does not see it; amps would tell which.",
                 since.text, rise(watch).text);
        break;
    case OVP_TRACE_ALARM_UNSEEN:
        snprintf(buffer, size,
                 "HEAT OFF NOW: current has flowed for %s and the display %s. The sensor does not see "
                 "the heat: shorted, or pulled back.",
                 since.text, rise(watch).text);
        break;
    case OVP_TRACE_ALARM_HEATS_OFF:
        snprintf(buffer, size,
                 "PULL THE PLUG: the heat has been off for %s and it still rose %s. The relay is stuck on.",
                 since.text, moved.text);
        break;
    case OVP_TRACE_ALARM_NO_POWER:
        snprintf(buffer, size, "Nothing heats: heat has been called for %s and no current flows.",
                 since.text);
        break;
    case OVP_TRACE_ALARM_HALF:
        snprintf(
            buffer, size,
            "About half of the power is missing (%.0f %% of what is due): one element out, or a relay that "
            "passes half of each cycle.",
            100 * state->power_share);
        break;
    case OVP_TRACE_ALARM_UNIT:
        snprintf(
            buffer, size,
            "Look at the unit: it starts where no room is, but the same number in the other scale would be.");
        break;
    case OVP_TRACE_ALARM_NONE:
    case OVP_TRACE_ALARMS:
        break;
    }
}
