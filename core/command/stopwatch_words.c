/* stopwatch: what it says while it runs. */
#include "command/stopwatch.h"

#include <math.h>
#include <string.h>

command_words stopwatch_temperature(const stopwatch_oven *oven, double value_C)
{
    command_words words;
    const double shown = ovp_text_from_celsius(value_C, oven->log.degrees);
    const int decimals = fabs(shown - round(shown)) < 0.05 ? 0 : 1;
    (void)ovp_text_format_temperature(value_C, oven->log.degrees, decimals, words.text, sizeof words.text);
    return words;
}

static command_words difference(const stopwatch_oven *oven, double value_C)
{
    command_words words = {""};
    char text[64];
    (void)ovp_text_format_difference(fabs(value_C), oven->log.degrees, 0, text, sizeof text);
    (void)snprintf(words.text, sizeof words.text, "%s %s", value_C < 0 ? "down" : "up", text);
    return words;
}

command_words stopwatch_label(const stopwatch_session *session, size_t oven)
{
    command_words words = {""};
    if (session->count > 1)
        (void)snprintf(words.text, sizeof words.text, "%zu %.80s: ", oven + 1, session->ovens[oven].label);
    return words;
}

/* "0:45 of heat", "before the heat" */
static command_words when(const ovp_trace_log_state *state, double time_s)
{
    command_words words = {"before the heat"};
    if (state->heat_ever && time_s >= state->heat_from_s)
        (void)snprintf(words.text, sizeof words.text, "%s of heat",
                       trace_shown_duration(floor(time_s - state->heat_from_s)).text);
    return words;
}

/* ---- what was done with a line
 * ------------------------------------------------------------------------------ */

static void say_mark(const stopwatch_oven *oven, const ovp_trace_log_entry *entry,
                     const ovp_trace_log_state *state, char *text, size_t size)
{
    const double value_C = ovp_text_to_celsius(entry->value, oven->log.degrees);
    const double took_s = entry->time_s - state->heat_from_s;
    double within_s = NAN;
    for (size_t i = 0; i < oven->log.oven->heat_up_count; i++)
        if (fabs(oven->log.oven->heat_up[i].to_C - value_C) < 0.05)
            within_s = oven->log.oven->heat_up[i].within_s;
    (void)snprintf(text, size, "%s passed in %s, due within %s%s", stopwatch_temperature(oven, value_C).text,
                   trace_shown_duration(round(took_s)).text, trace_shown_duration(within_s).text,
                   took_s > within_s ? ": LATE" : "");
}

static void say_reading(const stopwatch_oven *oven, const ovp_trace_log_entry *entry,
                        const ovp_trace_log_state *state, char *text, size_t size)
{
    if (entry->mark) {
        say_mark(oven, entry, state, text, size);
        return;
    }
    if (entry->cell != OVP_TRACE_NUMBER) {
        (void)snprintf(text, size, "\"%.24s\" on the display, no number (%s)", entry->words,
                       when(state, entry->time_s).text);
        return;
    }
    char change[256] = "";
    if (!isnan(state->before_C))
        (void)snprintf(change, sizeof change, ", %s in %s",
                       difference(oven, state->last_C - state->before_C).text,
                       trace_shown_duration(round(state->last_s - state->before_s)).text);
    (void)snprintf(text, size, "%s (%s)%s",
                   stopwatch_temperature(oven, ovp_text_to_celsius(entry->value, oven->log.degrees)).text,
                   when(state, entry->time_s).text, change);
}

static void say_next(const stopwatch_oven *oven, const ovp_trace_log_state *state, char *text, size_t size)
{
    const size_t used = strlen(text);
    if (!state->heat)
        return;
    if (!isnan(state->next_C))
        (void)snprintf(text + used, size - used, "; next mark %s: press Enter as the display passes it",
                       stopwatch_temperature(oven, state->next_C).text);
    else if (oven->log.oven->heat_up_count > 0)
        (void)snprintf(text + used, size - used, "; that was the last mark: `end`, or type on");
}

static void say_entry(const stopwatch_oven *oven, const ovp_trace_log_entry *entry,
                      const ovp_trace_log_state *state, char *text, size_t size)
{
    trace_number value =
        trace_shown_fixed(entry->value, fabs(entry->value - round(entry->value)) < 1e-9 ? 0 : 1);
    switch (entry->kind) {
    case OVP_TRACE_TYPED_READING:
        say_reading(oven, entry, state, text, size);
        break;
    case OVP_TRACE_TYPED_VOLTS:
        (void)snprintf(text, size, "%s V at the oven (%s)", value.text, when(state, entry->time_s).text);
        break;
    case OVP_TRACE_TYPED_AMPS:
        (void)snprintf(text, size, "%s A in all (%s)", value.text, when(state, entry->time_s).text);
        break;
    case OVP_TRACE_TYPED_OUTPUT:
        (void)snprintf(text, size, "output %s %%", value.text);
        break;
    case OVP_TRACE_TYPED_SETPOINT:
        (void)snprintf(
            text, size, "setpoint %s",
            stopwatch_temperature(oven, ovp_text_to_celsius(entry->value, oven->log.degrees)).text);
        break;
    case OVP_TRACE_TYPED_HEAT_ON:
        (void)snprintf(text, size, "heat on");
        break;
    case OVP_TRACE_TYPED_HEAT_OFF:
        (void)snprintf(text, size, "heat off (%s)", when(state, entry->time_s).text);
        break;
    case OVP_TRACE_TYPED_DOOR:
        (void)snprintf(text, size, "door open (%s); `shut` when it is closed",
                       when(state, entry->time_s).text);
        break;
    case OVP_TRACE_TYPED_SHUT:
        (void)snprintf(text, size, "door shut");
        break;
    default:
        (void)snprintf(text, size, "note kept");
        break;
    }
}

/* The display has gone past a mark with this entry, Enter or not. */
static bool passes_mark(const stopwatch_oven *oven, size_t entry_index, const ovp_trace_log_state *now)
{
    ovp_trace_log before = oven->log;
    ovp_trace_log_state state;
    before.count = entry_index;
    ovp_trace_log_stand(&before, &state);
    return now->next != state.next;
}

stopwatch_text stopwatch_said(const stopwatch_session *session, size_t index, size_t entry_index)
{
    stopwatch_text said = {""};
    const stopwatch_oven *oven = &session->ovens[index];
    const ovp_trace_log_entry *entry = &oven->log.entries[entry_index];
    ovp_trace_log_state state;
    char text[STOPWATCH_WORDS] = "";
    ovp_trace_log_stand(&oven->log, &state);
    if (entry->undone) {
        ovp_trace_log log = oven->log; /* as it stood with that line */
        ovp_trace_log_entry restored = *entry;
        restored.undone = false;
        log.count = entry_index;
        ovp_trace_log_stand(&log, &state);
        char was[STOPWATCH_WORDS] = "";
        say_entry(oven, &restored, &state, was, sizeof was);
        if (restored.kind == OVP_TRACE_TYPED_READING && !restored.mark && restored.cell == OVP_TRACE_NUMBER)
            (void)snprintf(was, sizeof was, "%s",
                           stopwatch_temperature(oven, ovp_text_to_celsius(entry->value, log.degrees)).text);
        if (restored.kind == OVP_TRACE_TYPED_NOTE)
            (void)snprintf(was, sizeof was, "note \"%.60s\"", restored.words);
        (void)snprintf(text, sizeof text, "undone: %.400s", was);
        ovp_trace_log_stand(&oven->log, &state);
    } else {
        say_entry(oven, entry, &state, text, sizeof text);
    }
    if (entry->undone || passes_mark(oven, entry_index, &state) || entry->kind == OVP_TRACE_TYPED_HEAT_ON)
        say_next(oven, &state, text, sizeof text);
    (void)snprintf(said.text, sizeof said.text, "%s%.400s", stopwatch_label(session, index).text, text);
    return said;
}

/* ---- status
 * --------------------------------------------------------------------------------------------------- */

static void say_wish(const stopwatch_oven *oven, const ovp_trace_log_state *state, double now_s, char *text,
                     size_t size)
{
    const command_words next = stopwatch_temperature(oven, isnan(state->next_C) ? 0 : state->next_C);
    const trace_number left = trace_shown_duration(fabs(round(state->next_due_s - now_s)));
    switch (ovp_trace_log_wants(&oven->log, state, now_s)) {
    case OVP_TRACE_WISH_COLD:
        (void)snprintf(text, size, "type the display, cold and before the heat");
        break;
    case OVP_TRACE_WISH_HEAT:
        (void)snprintf(text, size, "press Enter as you switch the heat on");
        break;
    case OVP_TRACE_WISH_AGAIN:
        (void)snprintf(text, size, "TYPE THE DISPLAY AGAIN NOW");
        break;
    case OVP_TRACE_WISH_MARK:
        (void)snprintf(text, size, "Enter as it passes %s, due in %s", next.text, left.text);
        break;
    case OVP_TRACE_WISH_LATE:
        (void)snprintf(text, size, "Enter as it passes %s, LATE by %s", next.text, left.text);
        break;
    case OVP_TRACE_WISH_END:
        (void)snprintf(text, size, "all marks passed: `end`, or type on");
        break;
    default:
        (void)snprintf(text, size, "heat is off; `on` as it goes on, `end` to finish");
        break;
    }
}

stopwatch_text stopwatch_status(const stopwatch_session *session, size_t index, double session_s)
{
    stopwatch_text status = {""};
    const stopwatch_oven *oven = &session->ovens[index];
    ovp_trace_log_state state;
    ovp_trace_log_stand(&oven->log, &state);
    const double now_s = isnan(oven->zero_s) ? 0 : session_s - oven->zero_s;
    char wish[200], heat[96] = "", last[192] = "";
    say_wish(oven, &state, now_s, wish, sizeof wish);
    if (state.heat_ever)
        (void)snprintf(heat, sizeof heat, "%s%s, ",
                       trace_shown_duration(floor(now_s - state.heat_from_s)).text,
                       state.door ? ", door open" : "");
    if (!isnan(state.last_C))
        (void)snprintf(last, sizeof last, "%s %s ago, ", stopwatch_temperature(oven, state.last_C).text,
                       trace_shown_duration(floor(now_s - state.last_s)).text);
    if (oven->alarm_text[0] != '\0' && ovp_trace_alarm_is_danger(oven->alarm) && state.heat)
        (void)snprintf(wish, sizeof wish, "HEAT OFF NOW, then type `off`");
    (void)snprintf(status.text, sizeof status.text, "%.90s%.80s%.130s%.190s",
                   stopwatch_label(session, index).text, heat, last, wish);
    return status;
}
