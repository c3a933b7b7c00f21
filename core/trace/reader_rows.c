#include "reader_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A row of data becomes a sample; what had to be left out or assumed is counted and said at the end. */

enum {
    GAP_FACTOR = 5, /* a step of more than so many usual ones is a gap; judgement */
};

static ovp_status bad_value(const ovp_text_row *row, const char *title, const char *what, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" is %s", title, what);
    ovp_error_hint(error, "mend or take out this row; leave the cell empty where there was no reading");
    ovp_error_place(error, NULL, row->line);
    return OVP_ERROR_DATA;
}

/* Most cells are plain numbers: nothing else of the cell is set then but its unit. */
static void read_cell(ovp_span text, char decimal, cell *seen)
{
    if (ovp_text_delimited_number(text, decimal, &seen->number)) {
        seen->kind = CELL_NUMBER;
        seen->unit = UNIT_NONE;
        seen->reason = OVP_TRACE_EMPTY;
        return;
    }
    *seen = trace_cell(text, decimal);
}

/* ---- temperature ----------------------------------------------------------------------------------------
 */

static void warn_cell_unit(ovp_trace_reader *reader, const ovp_text_row *row, unit found)
{
    if (found == reader->plan.unit[OVP_TRACE_TEMPERATURE] || reader->cell_unit_warned)
        return;
    reader->cell_unit_warned = true;
    trace_warn(&reader->input, "line %llu: the unit in the cell differs from the column's and is believed",
               (unsigned long long)row->line);
}

static void note_word(ovp_trace_reader *reader, const ovp_text_row *row, ovp_span text)
{
    if (reader->unknown_words++ > 0)
        return;
    char word[24];
    ovp_copy_string(word, sizeof word, text);
    trace_warn(&reader->input, "line %llu: \"%s\" is taken as a sensor error", (unsigned long long)row->line,
               word);
}

static ovp_status read_temperature(ovp_trace_reader *reader, const ovp_text_row *row,
                                   ovp_trace_sample *sample, ovp_error *error)
{
    const plan *from = &reader->plan;
    ovp_span text = ovp_text_row_field(row, from->column[OVP_TRACE_TEMPERATURE]);
    cell seen;
    read_cell(text, reader->dialect.decimal, &seen);
    const char *title = reader->input.columns[OVP_TRACE_TEMPERATURE];
    sample->temperature_C = NAN;
    sample->cell = seen.reason;
    switch (seen.kind) {
    case CELL_NUMBER:
        break;
    case CELL_EMPTY:
    case CELL_WORD:
        return OVP_OK;
    case CELL_INFINITE:
        return bad_value(row, title, "infinite", error);
    default:
        sample->cell = OVP_TRACE_ERROR;
        note_word(reader, row, text);
        return OVP_OK;
    }
    unit u = from->unit[OVP_TRACE_TEMPERATURE];
    if (trace_unit_is_temperature(seen.unit)) {
        warn_cell_unit(reader, row, seen.unit);
        u = seen.unit;
    }
    reader->last_number = seen.number;
    sample->cell = OVP_TRACE_NUMBER;
    sample->temperature_C = trace_unit_celsius(seen.number, u);
    if (sample->temperature_C < absolute_zero_C)
        return bad_value(row, title, "below absolute zero", error);
    return OVP_OK;
}

/* ---- the other columns ------------------------------------------------------------------------------------
 */

static void warn_range(ovp_trace_reader *reader, const ovp_text_row *row, ovp_trace_column which,
                       const char *what)
{
    if (reader->range_warned[which])
        return;
    reader->range_warned[which] = true;
    trace_warn(&reader->input, "line %llu: the %s is %s and left out", (unsigned long long)row->line,
               ovp_trace_column_name(which), what);
}

static double read_other(ovp_trace_reader *reader, const ovp_text_row *row, ovp_trace_column which)
{
    const plan *from = &reader->plan;
    if (from->column[which] < 0)
        return NAN;
    ovp_span text = ovp_text_row_field(row, from->column[which]);
    cell seen;
    read_cell(text, reader->dialect.decimal, &seen);
    double percent = 0.0;
    if (which == OVP_TRACE_OUTPUT && seen.kind != CELL_NUMBER && trace_switch(text, &percent))
        return percent;
    if (seen.kind == CELL_INFINITE)
        warn_range(reader, row, which, "infinite");
    if (seen.kind != CELL_NUMBER)
        return NAN;
    unit u = seen.unit != UNIT_NONE ? seen.unit : from->unit[which];
    if (which == OVP_TRACE_SETPOINT || which == OVP_TRACE_COLD_JUNCTION) {
        double value = trace_unit_celsius(seen.number, u);
        if (value >= absolute_zero_C)
            return value;
        warn_range(reader, row, which, "below absolute zero");
        return NAN;
    }
    if (which == OVP_TRACE_OUTPUT)
        return seen.unit == UNIT_PERCENT ? seen.number : seen.number * from->output_scale;
    return u == UNIT_MA || u == UNIT_MV ? seen.number * 1e-3 : seen.number;
}

/* ---- rows that are no samples -------------------------------------------------------------------- */

static void skip_row(ovp_trace_reader *reader, const ovp_text_row *row)
{
    if (reader->skipped++ == 0)
        reader->skipped_line = row->line;
}

/* Digits that are missing from a whole number make it ten, a hundred... times too small. */
static bool lost_digits(double last, double value)
{
    if (!(value > 0.0) || !(last >= 10.0 * value * 0.9))
        return false;
    double grown = 10.0 * value;
    while (grown < 0.9 * last)
        grown *= 10.0;
    return grown <= 1.1 * last;
}

static int last_column_used(const plan *from)
{
    int last = from->date_column;
    for (int i = 0; i < OVP_TRACE_COLUMNS; i++)
        last = from->column[i] > last ? from->column[i] : last;
    return last;
}

/* The last row has no line end: was it cut in the middle? Only the fields that are used count. */
static bool is_cut(const ovp_trace_reader *reader, const ovp_text_row *row)
{
    const plan *from = &reader->plan;
    int last = last_column_used(from);
    if (reader->input.samples == 0 || (int)row->count - 1 > last)
        return false;
    if ((int)row->count - 1 < last)
        return true;
    const column_facts *facts = &reader->facts[last];
    ovp_span text = ovp_text_row_field(row, last);
    cell seen = trace_cell(text, reader->dialect.decimal);
    if (facts->numbers < 2 || facts->texts + facts->words + facts->empties > 0)
        return false;
    if (seen.kind != CELL_NUMBER)
        return true;
    const char *sign = memchr(text.bytes, reader->dialect.decimal, text.count);
    size_t decimals = sign != NULL ? text.count - (size_t)(sign - text.bytes) - 1 : 0;
    if (facts->decimals == facts->most_decimals && decimals < facts->decimals)
        return true;
    return sign == NULL && last == from->column[OVP_TRACE_TEMPERATURE] &&
           lost_digits(reader->last_number, seen.number);
}

/* ---- time ---------------------------------------------------------------------------------------- */

static ovp_status refuse_order(const ovp_text_row *row, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA,
                  "the dates can be read day first or month first, and the times differ");
    ovp_error_hint(error, "say which with --dates day-first or --dates month-first");
    ovp_error_place(error, NULL, row->line);
    return OVP_ERROR_DATA;
}

static void note_equal_steps(steps *all, uint64_t count)
{
    all->count[all->last_bin] += count;
    all->total += count;
}

/* Most steps are as long as the one before: then no bin is looked for and nothing else can be new. */
static void note_step(ovp_trace_reader *reader, uint64_t line, double time)
{
    double step = time - reader->time_last;
    if (step > 0.0 && step == reader->steps.last) {
        note_equal_steps(&reader->steps, 1);
        return;
    }
    if (step < 0.0 && reader->back++ == 0) {
        reader->back_line = line;
        reader->back_s = -step;
    }
    if (step == 0.0 && reader->duplicates++ == 0)
        reader->duplicate_line = line;
    if (step > reader->longest_step) {
        reader->longest_step = step;
        reader->longest_line = line;
    }
    trace_steps_add(&reader->steps, step);
}

static void begin_clock(ovp_trace_reader *reader, double time)
{
    if (reader->plan.time_kind != CELL_NUMBER)
        return;
    reader->input.start_s = time;
    if (time < 0.0)
        trace_warn(&reader->input, "\"%s\" begins at %.6g s: times are counted from there",
                   reader->input.columns[OVP_TRACE_TIME], time);
}

static void note_time(ovp_trace_reader *reader, uint64_t line, double time)
{
    if (!reader->begun) {
        reader->begun = true;
        reader->time0 = time;
        begin_clock(reader, time);
    } else {
        note_step(reader, line, time);
    }
    reader->time_last = time;
}

static void note_sample(ovp_trace_reader *reader, const ovp_trace_sample *sample)
{
    ovp_trace_input *input = &reader->input;
    input->samples++;
    if (sample->cell != OVP_TRACE_NUMBER) {
        input->missing++;
    } else {
        if (!(sample->temperature_C >= input->temperature_min_C))
            input->temperature_min_C = sample->temperature_C;
        if (!(sample->temperature_C <= input->temperature_max_C))
            input->temperature_max_C = sample->temperature_C;
    }
    if (sample->time_s > input->duration_s)
        input->duration_s = sample->time_s;
}

static void hand_on(ovp_trace_reader *reader, const ovp_trace_sample samples[], size_t count)
{
    if (reader->batch != NULL) {
        reader->batch(reader->context, samples, count);
        return;
    }
    for (size_t i = 0; i < count && reader->sample != NULL; i++)
        reader->sample(reader->context, &samples[i]);
}

void trace_take(ovp_trace_reader *reader, uint64_t line, double time, ovp_trace_sample *sample)
{
    const uint64_t repeats = reader->duplicates;
    note_time(reader, line, time);
    if (sample->cell == OVP_TRACE_EMPTY) /* a row of the same moment without a reading notes a switch */
        reader->duplicates = repeats;
    sample->time_s = time - reader->time0;
    note_sample(reader, sample);
    hand_on(reader, sample, 1);
}

void trace_take_batch(ovp_trace_reader *reader, uint64_t line, ovp_trace_sample samples[], size_t count)
{
    ovp_trace_input *input = &reader->input;
    steps *all = &reader->steps;
    double last = reader->time_last, time0 = reader->time0, longest_s = input->duration_s;
    uint64_t equal = 0;
    for (size_t i = 0; i < count; i++) {
        double time = samples[i].time_s, value_C = samples[i].temperature_C, step = time - last;
        if (step > 0.0 && step == all->last) {
            equal++;
        } else {
            note_equal_steps(all, equal);
            equal = 0;
            reader->time_last = last;
            note_step(reader, line + i, time);
        }
        last = time;
        samples[i].time_s = time - time0;
        longest_s = samples[i].time_s > longest_s ? samples[i].time_s : longest_s;
        if (!(value_C >= input->temperature_min_C))
            input->temperature_min_C = value_C;
        if (!(value_C <= input->temperature_max_C))
            input->temperature_max_C = value_C;
    }
    note_equal_steps(all, equal);
    reader->time_last = last;
    input->duration_s = longest_s;
    input->samples += count;
    hand_on(reader, samples, count);
}

static ovp_status read_row(ovp_trace_reader *reader, const ovp_text_row *row, ovp_error *error)
{
    double time = 0.0;
    if (row->line < reader->plan.first_line)
        return OVP_OK;
    if (!row->complete && is_cut(reader, row)) {
        trace_warn(&reader->input, "line %llu: the last row is cut off and left out",
                   (unsigned long long)row->line);
        return OVP_OK;
    }
    if (reader->dialect.delimiter == ' ' && row->count < reader->plan.width) {
        if (reader->short_rows++ == 0) /* which of its cells is blank cannot be known */
            reader->short_line = row->line;
        return OVP_OK;
    }
    if (!trace_time_of_row(reader, row, &time)) {
        skip_row(reader, row);
        return OVP_OK;
    }
    if (!isfinite(time))
        return bad_value(row, reader->input.columns[OVP_TRACE_TIME], "infinite", error);
    if (reader->order_matters && reader->plan.order < 0)
        return refuse_order(row, error);
    ovp_trace_sample sample = {0};
    ovp_status status = read_temperature(reader, row, &sample, error);
    if (status != OVP_OK)
        return status;
    sample.setpoint_C = read_other(reader, row, OVP_TRACE_SETPOINT);
    sample.output_percent = read_other(reader, row, OVP_TRACE_OUTPUT);
    sample.supply_V = read_other(reader, row, OVP_TRACE_SUPPLY);
    sample.element_A = read_other(reader, row, OVP_TRACE_CURRENT);
    sample.cold_junction_C = read_other(reader, row, OVP_TRACE_COLD_JUNCTION);
    trace_take(reader, row->line, time, &sample);
    return OVP_OK;
}

ovp_status trace_row(ovp_trace_reader *reader, const ovp_text_row *row, ovp_error *error)
{
    if (row->comment)
        return OVP_OK;
    if (reader->dialect.delimiter != ' ')
        return read_row(reader, row, error);
    ovp_span cells[OVP_TEXT_ROW_FIELDS];
    ovp_text_row joined = trace_joined(reader, row, cells);
    return read_row(reader, &joined, error);
}

/* ---- the end ------------------------------------------------------------------------------------- */

static void say_counts(ovp_trace_reader *reader)
{
    ovp_trace_input *input = &reader->input;
    if (reader->skipped > 0)
        trace_warn(input, "%llu row(s) without a time left out, the first on line %llu",
                   (unsigned long long)reader->skipped, (unsigned long long)reader->skipped_line);
    if (reader->short_rows > 0)
        trace_warn(input, "%llu row(s) with fewer values than columns left out, the first on line %llu",
                   (unsigned long long)reader->short_rows, (unsigned long long)reader->short_line);
    if (reader->unknown_words > 1)
        trace_warn(input, "%llu cells hold words that are no known reading",
                   (unsigned long long)reader->unknown_words);
    if (reader->back > 0)
        trace_warn(input, "the clock steps back %llu time(s), first by %.6g s on line %llu",
                   (unsigned long long)reader->back, reader->back_s, (unsigned long long)reader->back_line);
    if (reader->duplicates > 0)
        trace_warn(input, "%llu row(s) repeat the time before, the first on line %llu",
                   (unsigned long long)reader->duplicates, (unsigned long long)reader->duplicate_line);
    if (reader->midnight > 0)
        trace_warn(input, "the time of day passes midnight %llu time(s)",
                   (unsigned long long)reader->midnight);
    if (reader->half_days > 0)
        trace_warn(input, "a clock of twelve hours without AM and PM: %llu half day(s) were added",
                   (unsigned long long)reader->half_days);
}

static void say_gaps(ovp_trace_reader *reader)
{
    double usual = reader->input.interval_s;
    if (reader->steps.total < 4 || !(reader->longest_step > GAP_FACTOR * usual))
        return;
    trace_warn(&reader->input, "%llu gap(s) in the record, the longest %.6g s before line %llu",
               (unsigned long long)trace_steps_longer(&reader->steps, GAP_FACTOR * usual),
               reader->longest_step, (unsigned long long)reader->longest_line);
}

ovp_status trace_close(ovp_trace_reader *reader, ovp_error *error)
{
    ovp_trace_input *input = &reader->input;
    if (input->samples < 2) {
        ovp_error_set(error, OVP_ERROR_DATA,
                      input->samples == 1 ? "only one sample" : "no row holds a time and a number");
        ovp_error_hint(error, "a run needs at least two readings, each with its time");
        ovp_error_place(error, NULL, reader->plan.first_line);
        return OVP_ERROR_DATA;
    }
    if (!(input->duration_s > 0.0)) {
        ovp_error_set(error, OVP_ERROR_DATA, "the time never goes on");
        ovp_error_hint(error, "check the column of times; choose it with --column time=NAME");
        ovp_error_place(error, NULL, reader->plan.first_line);
        return OVP_ERROR_DATA;
    }
    if (input->missing == input->samples && reader->unknown_words == input->samples) {
        ovp_error_set(error, OVP_ERROR_DATA, "words where the temperatures should be, in every row");
        ovp_error_hint(error, "choose the column of temperatures with --column temperature=NAME");
        ovp_error_place(error, NULL, reader->plan.first_line);
        return OVP_ERROR_DATA;
    }
    input->interval_s = trace_steps_median(&reader->steps);
    say_counts(reader);
    say_gaps(reader);
    return OVP_OK;
}
