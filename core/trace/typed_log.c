/* typed_log.c: what was typed for one oven, and where its run stands. */
#include "judge_internal.h"
#include "typed_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

void ovp_trace_log_init(ovp_trace_log *log, ovp_trace_log_entry entries[], size_t capacity, const char *name,
                        const ovp_oven *oven, const ovp_thermal_parameters *model, ovp_text_degrees degrees)
{
    *log = (ovp_trace_log){.entries = entries,
                           .capacity = capacity,
                           .oven = oven,
                           .degrees = degrees,
                           .jump_C_per_s = judge_heating_rate(model)};
    if (isnan(log->jump_C_per_s))
        log->jump_C_per_s = LIMIT(jump_rate_C_per_s);
    (void)ovp_copy_string(log->name, sizeof log->name, ovp_span_of(name));
}

/* ---- where the run stands ----------------------------------------------------------------------------- */

static void stand_reading(const ovp_trace_log *log, const ovp_trace_log_entry *entry,
                          ovp_trace_log_state *state)
{
    state->readings++;
    if (entry->cell != OVP_TRACE_NUMBER)
        return;
    state->before_s = state->last_s;
    state->before_C = state->last_C;
    state->last_s = entry->time_s;
    state->last_C = ovp_text_to_celsius(entry->value, log->degrees);
    if (!state->heat_ever || isnan(state->start_C))
        state->start_C = state->last_C;
    if (state->heat_ever)
        state->highest_C = fmax(state->highest_C, state->last_C); /* of a NAN and a number: the number */
}

void typed_stand(const ovp_trace_log *log, const ovp_trace_log_entry *entry, ovp_trace_log_state *state)
{
    if (entry->undone) {
        state->undone++;
        return;
    }
    switch (entry->kind) {
    case OVP_TRACE_TYPED_READING:
        stand_reading(log, entry, state);
        break;
    case OVP_TRACE_TYPED_HEAT_ON:
        if (!state->heat_ever)
            state->heat_from_s = entry->time_s;
        state->heat = state->heat_ever = true;
        break;
    case OVP_TRACE_TYPED_HEAT_OFF:
        state->heat = false;
        state->output_percent = state->output_s = NAN;
        break;
    case OVP_TRACE_TYPED_DOOR:
    case OVP_TRACE_TYPED_SHUT:
        state->door = entry->kind == OVP_TRACE_TYPED_DOOR;
        break;
    case OVP_TRACE_TYPED_OUTPUT:
        state->output_percent = entry->value;
        state->output_s = entry->time_s;
        break;
    case OVP_TRACE_TYPED_SETPOINT:
        state->setpoint_C = ovp_text_to_celsius(entry->value, log->degrees);
        break;
    default:
        break;
    }
    while (state->next < log->oven->heat_up_count &&
           state->highest_C >= log->oven->heat_up[state->next].to_C - 0.01) /* a display has no finer digit */
        state->next++;
}

void typed_stand_begin(ovp_trace_log_state *state)
{
    *state = (ovp_trace_log_state){.heat_from_s = NAN,
                                   .last_s = NAN,
                                   .last_C = NAN,
                                   .before_s = NAN,
                                   .before_C = NAN,
                                   .start_C = NAN,
                                   .highest_C = NAN,
                                   .next_C = NAN,
                                   .next_due_s = NAN,
                                   .setpoint_C = NAN,
                                   .output_percent = NAN,
                                   .output_s = NAN};
}

void ovp_trace_log_stand(const ovp_trace_log *log, ovp_trace_log_state *state)
{
    typed_stand_begin(state);
    for (size_t i = 0; i < log->count; i++)
        typed_stand(log, &log->entries[i], state);
    if (state->next < log->oven->heat_up_count) {
        state->next_C = log->oven->heat_up[state->next].to_C;
        state->next_due_s = state->heat_from_s + log->oven->heat_up[state->next].within_s;
    }
}

/* ---- what may be taken ----------------------------------------------------------------------------------
 */

static ovp_status refuse(ovp_error *error, const char *what, const char *hint)
{
    (void)ovp_error_set(error, OVP_ERROR_DATA, "%s", what);
    ovp_error_hint(error, "%s", hint);
    return OVP_ERROR_DATA;
}

/* "1412 °F" in the log's own scale */
static void show(const ovp_trace_log *log, double value_C, char text[TYPED_SHOWN])
{
    (void)ovp_text_format_temperature(value_C, log->degrees, 0, text, TYPED_SHOWN);
}

static double hottest_C(const ovp_oven *oven)
{
    if (!isnan(oven->controller.display_high_C))
        return oven->controller.display_high_C;
    double low_C, high_C, low_mV, high_mV;
    ovp_tc_range(oven->controller.input_known ? oven->controller.input
                 : oven->sensor.known         ? oven->sensor.type
                                              : OVP_TC_B,
                 &low_C, &high_C, &low_mV, &high_mV);
    return high_C;
}

static ovp_status check_reading(const ovp_trace_log *log, const ovp_trace_log_state *state, double value_C,
                                double time_s, ovp_error *error)
{
    char here[TYPED_SHOWN], last[TYPED_SHOWN];
    show(log, value_C, here);
    if (value_C > hottest_C(log->oven)) {
        (void)ovp_error_set(error, OVP_ERROR_DATA, "%s is more than this display can show: not taken", here);
        ovp_error_hint(error, "type it again; with ! behind it is kept as it stands");
        return OVP_ERROR_DATA;
    }
    if (isnan(state->last_C))
        return OVP_OK;
    const double step_C = value_C - state->last_C, step_s = time_s - state->last_s;
    const double rate = step_C > 0 ? log->jump_C_per_s : fmax(log->jump_C_per_s, LIMIT(jump_rate_C_per_s));
    if (fabs(step_C) <= LIMIT(jump_least_C) + rate * step_s)
        return OVP_OK;
    char time[TYPED_SHOWN];
    show(log, state->last_C, last);
    (void)ovp_text_format_duration(step_s, time, sizeof time);
    (void)ovp_error_set(error, OVP_ERROR_DATA, "%s after %s %s ago: no oven %s so fast, not taken", here,
                        last, time, step_C > 0 ? "heats" : "cools");
    ovp_error_hint(error, "type it again; if the display does show it, put ! behind it and it is kept");
    return OVP_ERROR_DATA;
}

static ovp_status take_mark(const ovp_trace_log *log, const ovp_trace_log_state *state,
                            ovp_trace_log_entry *entry, ovp_error *error)
{
    if (!state->heat_ever && state->readings == 0)
        return refuse(error, "the display before the heat is wanted first",
                      "type what it reads, then Enter as the heat goes on; `on` where it is on already");
    if (!state->heat_ever) {
        entry->kind = OVP_TRACE_TYPED_HEAT_ON;
        return OVP_OK;
    }
    if (!state->heat)
        return refuse(error, "the heat is off: no mark to pass", "`on` as it goes on again, or a reading");
    if (isnan(state->next_C))
        return refuse(error, "all marks have passed", "type what the display reads, or `end`");
    entry->kind = OVP_TRACE_TYPED_READING;
    entry->mark = true;
    entry->cell = OVP_TRACE_NUMBER;
    entry->value = ovp_text_from_celsius(state->next_C, log->degrees);
    return OVP_OK;
}

static ovp_status take_value(const ovp_trace_log *log, const ovp_trace_typed *typed,
                             ovp_trace_log_entry *entry, ovp_error *error)
{
    const bool temperature = typed->kind == OVP_TRACE_TYPED_READING ||
                             typed->kind == OVP_TRACE_TYPED_SETPOINT || typed->kind == OVP_TRACE_TYPED_MARK;
    entry->value = typed->value;
    if (!temperature || isnan(typed->value))
        return OVP_OK;
    const ovp_text_degrees degrees = typed->degrees == OVP_TEXT_DEGREES_NONE ? log->degrees : typed->degrees;
    const double value_C = ovp_text_to_celsius(typed->value, degrees);
    if (value_C < -273.15)
        return refuse(error, "that is below absolute zero", "type what the display shows");
    if (degrees != log->degrees)
        entry->value = round(ovp_text_from_celsius(value_C, log->degrees) * 100) / 100;
    return OVP_OK;
}

static ovp_status take_event(const ovp_trace_log_state *state, ovp_trace_typed_kind kind, ovp_error *error)
{
    if (kind == OVP_TRACE_TYPED_HEAT_ON && state->heat)
        return refuse(error, "the heat is on already", "`off` as it goes off");
    if (kind == OVP_TRACE_TYPED_HEAT_OFF && !state->heat)
        return refuse(error, "the heat is off already", "`on`, or Enter, as it goes on");
    if (kind == OVP_TRACE_TYPED_DOOR && state->door)
        return refuse(error, "the door is open already", "`shut` as it is closed");
    if (kind == OVP_TRACE_TYPED_SHUT && !state->door)
        return refuse(error, "the door was not open", "`door` as it is opened");
    return OVP_OK;
}

static ovp_status undo(ovp_trace_log *log, double time_s, size_t *changed, ovp_error *error)
{
    for (size_t i = log->count; i > 0; i--) {
        ovp_trace_log_entry *entry = &log->entries[i - 1];
        if (entry->undone || entry->kind == OVP_TRACE_TYPED_UNDO)
            continue;
        entry->undone = true;
        log->entries[log->count++] =
            (ovp_trace_log_entry){.kind = OVP_TRACE_TYPED_UNDO, .time_s = time_s, .value = NAN};
        *changed = i - 1;
        return OVP_OK;
    }
    return refuse(error, "there is nothing to undo", "nothing was typed for this oven yet");
}

static ovp_status fill(const ovp_trace_log *log, const ovp_trace_log_state *state,
                       const ovp_trace_typed *typed, ovp_trace_log_entry *entry, ovp_error *error)
{
    ovp_status status = take_value(log, typed, entry, error);
    if (status == OVP_OK && typed->kind == OVP_TRACE_TYPED_MARK && isnan(typed->value))
        status = take_mark(log, state, entry, error);
    if (entry->kind == OVP_TRACE_TYPED_MARK) { /* a mark with its temperature */
        entry->kind = OVP_TRACE_TYPED_READING;
        entry->cell = OVP_TRACE_NUMBER;
        entry->mark = true;
    }
    if (status == OVP_OK)
        status = take_event(state, entry->kind, error);
    if (!ovp_copy_string(entry->words, sizeof entry->words, typed->words) && status == OVP_OK)
        status = refuse(error, "that note is too long", "make two of it");
    for (char *at = entry->words; *at != '\0'; at++)
        if (*at == '\t')
            *at = ' ';
    return status;
}

ovp_status typed_take(ovp_trace_log *log, const ovp_trace_typed *typed, double time_s, bool trusted,
                      size_t *changed, ovp_error *error)
{
    ovp_trace_log_state state;
    if (typed->kind == OVP_TRACE_TYPED_END || typed->kind == OVP_TRACE_TYPED_HELP)
        return refuse(error, "that is nothing to record", "`help` lists what can be typed");
    if (log->count == log->capacity)
        return refuse(error, "this record is full", "`end`, and begin another");
    time_s = round(time_s * 10) / 10; /* as the file keeps it */
    if (log->count > 0 && time_s < log->entries[log->count - 1].time_s)
        return refuse(error, "that time is before the last line", "give the lines in order of time");
    if (typed->kind == OVP_TRACE_TYPED_UNDO)
        return undo(log, time_s, changed, error);
    ovp_trace_log_entry entry = {
        .kind = typed->kind, .time_s = time_s, .value = NAN, .cell = typed->cell, .insists = typed->insists};
    ovp_trace_log_stand(log, &state);
    ovp_status status = fill(log, &state, typed, &entry, error);
    if (status == OVP_OK && entry.kind == OVP_TRACE_TYPED_READING && !isnan(entry.value) && !entry.insists &&
        !trusted)
        status = check_reading(log, &state, ovp_text_to_celsius(entry.value, log->degrees), time_s, error);
    if (status != OVP_OK)
        return status;
    *changed = log->count;
    log->entries[log->count++] = entry;
    return OVP_OK;
}

ovp_status ovp_trace_log_take(ovp_trace_log *log, const ovp_trace_typed *typed, double time_s,
                              size_t *changed, ovp_error *error)
{
    return typed_take(log, typed, time_s, false, changed, error);
}

/* ---- what to type next -------------------------------------------------------------------------------- */

ovp_trace_log_wish ovp_trace_log_wants(const ovp_trace_log *log, const ovp_trace_log_state *state,
                                       double now_s)
{
    if (!state->heat_ever)
        return state->readings == 0 ? OVP_TRACE_WISH_COLD : OVP_TRACE_WISH_HEAT;
    if (!state->heat)
        return OVP_TRACE_WISH_NOTHING;
    const double since_s =
        isnan(state->last_s) ? now_s - state->heat_from_s : now_s - fmax(state->last_s, state->heat_from_s);
    const bool first = now_s - state->heat_from_s <= LIMIT(typed_first_s);
    if (since_s >= (first ? LIMIT(typed_again_s) : LIMIT(typed_quiet_s)))
        return OVP_TRACE_WISH_AGAIN;
    if (isnan(state->next_C))
        return log->oven->heat_up_count > 0 ? OVP_TRACE_WISH_END : OVP_TRACE_WISH_NOTHING;
    return now_s > state->next_due_s ? OVP_TRACE_WISH_LATE : OVP_TRACE_WISH_MARK;
}
