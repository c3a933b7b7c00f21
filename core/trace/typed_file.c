/* typed_file.c: the log as the text of its file, and back. */
#include "typed_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char first_line[] = "# ovenproof stopwatch 1", line_mark[] = "#> ";

typedef struct typed_columns {
    bool setpoint, output, supply, current;
} typed_columns;

static const char *letter_of(ovp_text_degrees degrees)
{
    return degrees == OVP_TEXT_DEGREES_F ? "F" : degrees == OVP_TEXT_DEGREES_C ? "C" : "K";
}

static void note_columns(void *context, const ovp_trace_sample *row)
{
    typed_columns *columns = context;
    columns->setpoint = columns->setpoint || !isnan(row->setpoint_C);
    columns->output = columns->output || !isnan(row->output_percent);
    columns->supply = columns->supply || !isnan(row->supply_V);
    columns->current = columns->current || !isnan(row->element_A);
}

/* ---- lines as they were typed -----------------------------------------------------------------------------
 */

static const char *word_of(ovp_trace_typed_kind kind)
{
    switch (kind) {
    case OVP_TRACE_TYPED_VOLTS:
        return "v ";
    case OVP_TRACE_TYPED_AMPS:
        return "a ";
    case OVP_TRACE_TYPED_OUTPUT:
        return "o ";
    case OVP_TRACE_TYPED_SETPOINT:
        return "s ";
    case OVP_TRACE_TYPED_HEAT_ON:
        return "on";
    case OVP_TRACE_TYPED_HEAT_OFF:
        return "off";
    case OVP_TRACE_TYPED_DOOR:
        return "door";
    case OVP_TRACE_TYPED_SHUT:
        return "shut";
    case OVP_TRACE_TYPED_NOTE:
        return "note ";
    case OVP_TRACE_TYPED_UNDO:
        return "undo";
    default:
        return "";
    }
}

static ovp_status write_line(const ovp_trace_log_entry *entry, ovp_sink sink)
{
    char time[OVP_TEXT_NUMBER_SIZE], value[OVP_TEXT_NUMBER_SIZE] = "";
    (void)ovp_text_format_fixed(entry->time_s, 1, time, sizeof time);
    if (!isnan(entry->value))
        (void)ovp_text_format_number(entry->value, value);
    return ovp_text_print(sink, "%s%s %s%s%s%s%s\n", line_mark, time, word_of(entry->kind),
                          entry->mark ? "mark " : "", value, entry->words, entry->insists ? "!" : "");
}

/* ---- rows ---------------------------------------------------------------------------------------------- */

static ovp_status write_header(const ovp_trace_log *log, const typed_columns *columns, ovp_sink sink)
{
    const char *letter = letter_of(log->degrees);
    char setpoint[16] = "";
    if (columns->setpoint)
        (void)snprintf(setpoint, sizeof setpoint, ",setpoint_%s", letter);
    return ovp_text_print(sink, "time_s,temperature_%s%s%s%s%s\n", letter, setpoint,
                          columns->output ? ",output_percent" : "", columns->supply ? ",supply_V" : "",
                          columns->current ? ",element_A" : "");
}

static ovp_status write_cell(double value, ovp_sink sink)
{
    char number[OVP_TEXT_NUMBER_SIZE] = "";
    if (!isnan(value))
        (void)ovp_text_format_number(value, number);
    return ovp_text_print(sink, ",%s", number);
}

static double shown(const ovp_trace_log *log, double value_C)
{
    return isnan(value_C) ? (double)NAN : round(ovp_text_from_celsius(value_C, log->degrees) * 1000) / 1000;
}

static ovp_status write_row(const ovp_trace_log *log, const ovp_trace_log_entry *entry,
                            const ovp_trace_sample *row, const typed_columns *columns, ovp_sink sink)
{
    char time[OVP_TEXT_NUMBER_SIZE];
    (void)ovp_text_format_fixed(row->time_s, 1, time, sizeof time);
    ovp_status status = ovp_text_print(sink, "%s", time);
    if (status == OVP_OK && entry->kind == OVP_TRACE_TYPED_READING && row->cell != OVP_TRACE_NUMBER)
        status = ovp_text_print(sink, ",%s", entry->words);
    else if (status == OVP_OK)
        status = write_cell(shown(log, row->temperature_C), sink);
    if (status == OVP_OK && columns->setpoint)
        status = write_cell(shown(log, row->setpoint_C), sink);
    if (status == OVP_OK && columns->output)
        status = write_cell(row->output_percent, sink);
    if (status == OVP_OK && columns->supply)
        status = write_cell(row->supply_V, sink);
    if (status == OVP_OK && columns->current)
        status = write_cell(row->element_A, sink);
    return status == OVP_OK ? ovp_text_print(sink, "\n") : status;
}

ovp_status ovp_trace_log_write(const ovp_trace_log *log, ovp_sink sink)
{
    typed_columns columns = {0};
    ovp_trace_log_state state;
    ovp_trace_log_samples(log, note_columns, &columns);
    ovp_status status = ovp_text_print(
        sink,
        "%s\n# oven: %s\n# began: %s\n# degrees: %s\n"
        "# lines behind #> are what was typed; output 100 is taken while the heat is on, up to\n"
        "# the last mark or near the setpoint, unless it was typed\n",
        first_line, log->name, log->began, letter_of(log->degrees));
    if (status == OVP_OK)
        status = write_header(log, &columns, sink);
    typed_stand_begin(&state);
    for (size_t i = 0; i < log->count && status == OVP_OK; i++) {
        ovp_trace_sample rows[TYPED_ROWS];
        const size_t count = typed_rows(log, i, &state, rows);
        status = write_line(&log->entries[i], sink);
        for (size_t k = 0; k < count && status == OVP_OK; k++)
            status = write_row(log, &log->entries[i], &rows[k], &columns, sink);
    }
    return status;
}

/* ---- back ------------------------------------------------------------------------------------------------
 */

static bool starts(ovp_span line, const char *words)
{
    const size_t count = strlen(words);
    return line.count >= count && memcmp(line.bytes, words, count) == 0;
}

static ovp_span behind(ovp_span line, size_t count)
{
    return ovp_span_trim((ovp_span){line.bytes + count, line.count - count});
}

static ovp_status bad_line(uint64_t line, const char *what, ovp_error *error)
{
    (void)ovp_error_set(error, OVP_ERROR_DATA, "%s", what);
    ovp_error_hint(error, "leave the file as it is, and record into a new one");
    ovp_error_place(error, NULL, line);
    return OVP_ERROR_DATA;
}

static ovp_status read_typed(ovp_trace_log *log, ovp_span text, uint64_t line, ovp_error *error)
{
    double time_s = 0;
    ovp_trace_typed typed;
    size_t changed;
    const size_t used = ovp_text_scan_number(text, &time_s);
    if (used == 0 || !(time_s >= 0 && time_s < 1e9))
        return bad_line(line, "no time behind #>", error);
    ovp_status status = ovp_trace_typed_read(behind(text, used), 1, &typed, error);
    if (status == OVP_OK)
        status = typed_take(log, &typed, time_s, true, &changed, error);
    if (status != OVP_OK)
        ovp_error_place(error, NULL, line);
    return status;
}

/* The words of a head row; the file may be anything. */
static void take_words(char *buffer, size_t size, ovp_span text)
{
    char words[OVP_TRACE_LOG_NAME];
    size_t count = 0;
    for (; count < text.count && count + 1 < size && count < sizeof words; count++) {
        const unsigned char letter = (unsigned char)text.bytes[count];
        words[count] = letter < 0x20 || letter == 0x7F ? '?' : (char)letter;
    }
    (void)ovp_copy_string(buffer, size, ovp_span_trim((ovp_span){words, count}));
}

static ovp_status read_line(ovp_trace_log *log, ovp_span text, uint64_t line, ovp_error *error)
{
    static const char oven[] = "# oven:", began[] = "# began:", degrees[] = "# degrees:";
    if (line == 1)
        return starts(text, first_line) ? OVP_OK : bad_line(line, "is no record of the stopwatch", error);
    if (starts(text, line_mark))
        return read_typed(log, behind(text, sizeof line_mark - 1), line, error);
    if (starts(text, oven))
        take_words(log->name, sizeof log->name, behind(text, sizeof oven - 1));
    else if (starts(text, began))
        take_words(log->began, sizeof log->began, behind(text, sizeof began - 1));
    else if (starts(text, degrees) && log->count == 0 &&
             !ovp_text_degrees_named(behind(text, sizeof degrees - 1), &log->degrees))
        return bad_line(line, "no scale behind \"# degrees:\"", error);
    return OVP_OK;
}

ovp_status ovp_trace_log_read(ovp_trace_log *log, ovp_span text, bool *torn, ovp_error *error)
{
    uint64_t line = 0;
    *torn = false;
    while (text.count > 0) {
        const char *end = memchr(text.bytes, '\n', text.count);
        if (end == NULL) {
            *torn = true;
            break;
        }
        const size_t count = (size_t)(end - text.bytes);
        ovp_status status = read_line(log, ovp_span_trim((ovp_span){text.bytes, count}), ++line, error);
        if (status != OVP_OK)
            return status;
        text = (ovp_span){end + 1, text.count - count - 1};
    }
    return line > 0 ? OVP_OK : bad_line(1, "is no record of the stopwatch", error);
}
