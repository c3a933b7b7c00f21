#include "reader_internal.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *ovp_trace_column_name(ovp_trace_column column)
{
    static const char *const names[OVP_TRACE_COLUMNS] = {"time",   "temperature", "setpoint",     "output",
                                                         "supply", "current",     "cold_junction"};
    return column >= 0 && column < OVP_TRACE_COLUMNS ? names[column] : "";
}

void ovp_trace_options_init(ovp_trace_options *options)
{
    *options = (ovp_trace_options){.degrees = OVP_TEXT_DEGREES_NONE, .time_unit_s = NAN};
}

static void make_printable(char *text)
{
    for (; *text != '\0'; text++)
        if ((unsigned char)*text < 0x20 || *text == 0x7F)
            *text = '?';
}

static void format_text(char *text, size_t size, const char *format, va_list arguments)
{
    vsnprintf(text, size, format, arguments);
}

void trace_warn(ovp_trace_input *input, const char *format, ...)
{
    size_t at = input->warning_count++;
    if (at >= OVP_TRACE_WARNINGS)
        return;
    char text[2 * OVP_TRACE_TEXT_SIZE];
    va_list arguments;
    va_start(arguments, format);
    format_text(text, sizeof text, format, arguments);
    va_end(arguments);
    make_printable(text);
    ovp_copy_string(input->warnings[at], sizeof input->warnings[at], ovp_span_of(text));
}

ovp_text_row trace_joined(const ovp_trace_reader *reader, const ovp_text_row *row, ovp_span cells[])
{
    ovp_text_row joined = *row;
    if (reader->dialect.delimiter != ' ')
        return joined;
    joined.count = trace_join_cells(row, ' ', cells, OVP_TEXT_ROW_FIELDS);
    joined.fields = cells;
    return joined;
}

static size_t aligned(size_t size)
{
    return (size + 15) / 16 * 16;
}

size_t ovp_trace_reader_size(void)
{
    return aligned(sizeof(ovp_trace_reader)) + ovp_text_delimited_size();
}

static ovp_status take_head(void *context, ovp_text_delimited *text, ovp_error *error)
{
    ovp_status status = trace_plan(context, text, error);
    if (status == OVP_OK)
        trace_plain_make(context);
    return status;
}

static size_t take_plain(void *context, ovp_span bytes, uint64_t line, uint64_t *rows)
{
    return trace_plain_rows(context, bytes, line, rows);
}

static ovp_status take_row(void *context, const ovp_text_row *row, ovp_error *error)
{
    return trace_row(context, row, error);
}

ovp_trace_reader *ovp_trace_reader_init(void *memory, const ovp_trace_options *options,
                                        ovp_trace_sample_function sample, void *context)
{
    ovp_trace_reader *reader = memory;
    memset(reader, 0, sizeof *reader);
    if (options != NULL)
        reader->options = *options;
    else
        ovp_trace_options_init(&reader->options);
    reader->sample = sample;
    reader->context = context;
    reader->input.start_s = NAN;
    reader->input.interval_s = NAN;
    reader->input.temperature_min_C = NAN;
    reader->input.temperature_max_C = NAN;
    for (int i = 0; i < OVP_TRACE_COLUMNS; i++)
        reader->plan.column[i] = -1;
    reader->plan.date_column = -1;
    char *behind = (char *)memory + aligned(sizeof *reader);
    reader->text =
        ovp_text_delimited_init(behind, (ovp_text_delimited_client){take_head, take_row, reader, take_plain});
    return reader;
}

void ovp_trace_reader_in_batches(ovp_trace_reader *reader, ovp_trace_batch_function batch)
{
    reader->batch = batch;
}

ovp_status ovp_trace_reader_feed(ovp_trace_reader *reader, const char *bytes, size_t count, ovp_error *error)
{
    return ovp_text_delimited_feed(reader->text, bytes, count, error);
}

ovp_status ovp_trace_reader_end(ovp_trace_reader *reader, ovp_error *error)
{
    ovp_status status = ovp_text_delimited_end(reader->text, error);
    return status == OVP_OK ? trace_close(reader, error) : status;
}

const ovp_trace_input *ovp_trace_reader_input(const ovp_trace_reader *reader)
{
    return &reader->input;
}
