/* typed_rows.c: what was typed becomes rows of a trace. */
#include "judge_internal.h"
#include "typed_internal.h"

#include <math.h>

static bool is_meter(const ovp_trace_log_entry *entry)
{
    return !entry->undone && (entry->kind == OVP_TRACE_TYPED_VOLTS || entry->kind == OVP_TRACE_TYPED_AMPS);
}

static bool is_reading(const ovp_trace_log_entry *entry)
{
    return !entry->undone && entry->kind == OVP_TRACE_TYPED_READING;
}

/* Beyond it the oven draws something else. */
static bool parts(const ovp_trace_log_entry *entry)
{
    return !entry->undone &&
           (entry->kind == OVP_TRACE_TYPED_HEAT_ON || entry->kind == OVP_TRACE_TYPED_HEAT_OFF);
}

/* The first entry of that kind to one side, near in time and not beyond a switch of the heat; count: none. */
static size_t near(const ovp_trace_log *log, size_t from, int step,
                   bool (*wanted)(const ovp_trace_log_entry *entry))
{
    const double here_s = log->entries[from].time_s;
    for (size_t i = step > 0 ? from + 1 : from - 1; i<log->count; i = step> 0 ? i + 1 : i - 1) {
        const ovp_trace_log_entry *entry = &log->entries[i];
        if (parts(entry) || fabs(entry->time_s - here_s) > LIMIT(typed_join_s))
            break;
        if (wanted(entry))
            return i;
    }
    return log->count;
}

/* The reading whose row takes a meter's value: the nearest; count: none. */
static size_t reading_of(const ovp_trace_log *log, size_t meter)
{
    const size_t before = near(log, meter, -1, is_reading), after = near(log, meter, 1, is_reading);
    if (before == log->count || after == log->count)
        return before == log->count ? after : before;
    const double here_s = log->entries[meter].time_s;
    return log->entries[after].time_s - here_s < here_s - log->entries[before].time_s ? after : before;
}

static void take_meter(const ovp_trace_log_entry *entry, ovp_trace_sample *row)
{
    if (entry->kind == OVP_TRACE_TYPED_VOLTS)
        row->supply_V = entry->value;
    else
        row->element_A = entry->value;
}

/* The meters that belong to the reading at `index`; of several of a kind the last. */
static void join_meters(const ovp_trace_log *log, size_t index, ovp_trace_sample *row)
{
    size_t from = index;
    while (from > 0 && !parts(&log->entries[from - 1]) &&
           log->entries[index].time_s - log->entries[from - 1].time_s <= LIMIT(typed_join_s))
        from--;
    for (size_t i = from; i < log->count; i++) {
        const ovp_trace_log_entry *entry = &log->entries[i];
        if (i > index && (parts(entry) || entry->time_s - log->entries[index].time_s > LIMIT(typed_join_s)))
            break;
        if (is_meter(entry) && reading_of(log, i) == index)
            take_meter(entry, row);
    }
}

/* Near the setpoint, or with all marks behind it, the controller may be throttling: nobody knows. */
static bool may_throttle(const ovp_trace_log *log, const ovp_trace_log_state *state)
{
    if (log->oven->heat_up_count > 0 && state->next == log->oven->heat_up_count &&
        state->last_C > log->oven->heat_up[state->next - 1].to_C + 0.01)
        return true;
    if (log->oven->heat_up_count == 0 && isnan(state->setpoint_C))
        return true;
    return state->last_C >
           state->setpoint_C -
               fmax(LIMIT(typed_full_C), LIMIT(typed_full_share) * (state->setpoint_C - state->start_C));
}

static double output_of(const ovp_trace_log *log, const ovp_trace_log_state *state, bool ever, double time_s)
{
    if (!ever || state->door)
        return NAN;
    if (!state->heat)
        return 0;
    const bool throttles = may_throttle(log, state);
    if (!isnan(state->output_percent) && (!throttles || time_s - state->output_s <= LIMIT(typed_hold_s)))
        return state->output_percent;
    return throttles ? (double)NAN : 100;
}

static bool heat_ever(const ovp_trace_log *log)
{
    for (size_t i = 0; i < log->count; i++)
        if (!log->entries[i].undone && log->entries[i].kind == OVP_TRACE_TYPED_HEAT_ON)
            return true;
    return false;
}

static bool typed_row(const ovp_trace_log *log, size_t index, const ovp_trace_log_state *state,
                      ovp_trace_sample *row)
{
    const ovp_trace_log_entry *entry = &log->entries[index];
    const bool alone = is_meter(entry) && reading_of(log, index) == log->count;
    if (!alone && !is_reading(entry) && !parts(entry))
        return false;
    const bool first = entry->kind == OVP_TRACE_TYPED_HEAT_ON && entry->time_s <= state->heat_from_s;
    *row = (ovp_trace_sample){
        .time_s = entry->time_s,
        .temperature_C = NAN,
        .setpoint_C = state->door ? (double)NAN : state->setpoint_C,
        .output_percent = first && isnan(state->output_percent)
                              ? 100
                              : output_of(log, state, heat_ever(log), entry->time_s),
        .supply_V = NAN,
        .element_A = NAN,
        .cold_junction_C = NAN,
        .cell = OVP_TRACE_EMPTY,
    };
    if (alone)
        take_meter(entry, row);
    if (!is_reading(entry))
        return true;
    row->cell = entry->cell;
    if (entry->cell == OVP_TRACE_NUMBER)
        row->temperature_C = ovp_text_to_celsius(entry->value, log->degrees);
    join_meters(log, index, row);
    return true;
}

/* The heat is switched at a moment, not on the way from the row before to this one. */
static bool step_row(const ovp_trace_log *log, size_t index, const ovp_trace_log_state *before,
                     ovp_trace_sample *row)
{
    static const double least_s = 0.1; /* last digit of the time */
    const ovp_trace_log_entry *entry = &log->entries[index];
    if (!parts(entry) || index == 0 || entry->time_s - log->entries[index - 1].time_s < 1.5 * least_s)
        return false;
    const double output = output_of(log, before, heat_ever(log), entry->time_s);
    if (isnan(output))
        return false;
    *row = (ovp_trace_sample){.time_s = entry->time_s - least_s,
                              .temperature_C = NAN,
                              .setpoint_C = before->setpoint_C,
                              .output_percent = output,
                              .supply_V = NAN,
                              .element_A = NAN,
                              .cold_junction_C = NAN,
                              .cell = OVP_TRACE_EMPTY};
    return true;
}

size_t typed_rows(const ovp_trace_log *log, size_t index, ovp_trace_log_state *state,
                  ovp_trace_sample rows[TYPED_ROWS])
{
    size_t count = step_row(log, index, state, &rows[0]) ? 1 : 0;
    typed_stand(log, &log->entries[index], state);
    return count + (typed_row(log, index, state, &rows[count]) ? 1 : 0);
}

void ovp_trace_log_samples(const ovp_trace_log *log, ovp_trace_sample_function sample, void *context)
{
    ovp_trace_log_state state;
    typed_stand_begin(&state);
    for (size_t i = 0; i < log->count; i++) {
        ovp_trace_sample rows[TYPED_ROWS];
        const size_t count = typed_rows(log, i, &state, rows);
        for (size_t k = 0; k < count; k++)
            sample(context, &rows[k]);
    }
}
