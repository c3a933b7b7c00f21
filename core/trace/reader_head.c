#include "reader_internal.h"

#include <string.h>

/* The start of the file is walked several times: how wide its rows are, what its columns hold, where the
 * data begin, which row is the header and which holds units. */

typedef struct walk {
    ovp_trace_reader *reader;
    ovp_text_delimited *text;
    size_t rows;      /* that are not comments */
    size_t widest;    /* fields of the widest row */
    size_t data_rows; /* that look like data */
    uint64_t last_line;
    int key_column; /* the first column of times or numbers */
    int header_score;
    uint64_t header_line;
    bool cut; /* rows behind this one do not matter any more */
    double time;
    size_t forward, backward;
} walk;

typedef struct shape {
    size_t empties;
    size_t values; /* numbers, times, words for no reading */
    size_t firm;   /* numbers and times */
} shape;

static bool is_time(cell_kind kind)
{
    return kind == CELL_CLOCK || kind == CELL_DATE || kind == CELL_MOMENT;
}

static bool is_firm(cell_kind kind)
{
    return kind == CELL_NUMBER || kind == CELL_INFINITE || is_time(kind);
}

static shape shape_of(const ovp_trace_reader *reader, const ovp_span cells[], size_t count)
{
    shape result = {0};
    for (size_t i = 0; i < count; i++) {
        cell_kind kind = trace_cell(cells[i], reader->dialect.decimal).kind;
        result.firm += is_firm(kind);
        result.values += is_firm(kind) || kind == CELL_WORD;
        result.empties += kind == CELL_EMPTY;
    }
    return result;
}

static bool is_data_shape(shape s)
{
    return s.firm >= 1 && s.values + s.empties >= 2; /* a blank is a reading out of range */
}

/* ---- how wide ------------------------------------------------------------------------------------ */

static ovp_status measure_row(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)error;
    walk *at = context;
    ovp_span cells[OVP_TEXT_ROW_FIELDS];
    if (row->comment)
        return OVP_OK;
    size_t count = trace_join_cells(row, at->reader->dialect.delimiter, cells, OVP_TEXT_ROW_FIELDS);
    at->rows++;
    at->widest = count > at->widest ? count : at->widest;
    at->last_line = row->line;
    if (!is_data_shape(shape_of(at->reader, cells, count)))
        return OVP_OK;
    at->data_rows++;
    at->reader->widths[count]++;
    return OVP_OK;
}

static size_t usual_width(const ovp_trace_reader *reader)
{
    size_t best = 0;
    for (size_t i = 1; i <= OVP_TEXT_ROW_FIELDS; i++)
        if (reader->widths[i] > 0 && reader->widths[i] >= reader->widths[best])
            best = i;
    return best;
}

/* ---- what the columns hold ----------------------------------------------------------------------- */

static void note_decimals(column_facts *facts, ovp_span text, char decimal)
{
    const char *sign = memchr(text.bytes, decimal, text.count);
    size_t count = sign != NULL ? text.count - (size_t)(sign - text.bytes) - 1 : 0;
    uint8_t decimals = (uint8_t)(count < 254 ? count : 254);
    facts->decimals = decimals < facts->decimals ? decimals : facts->decimals;
    facts->most_decimals = decimals > facts->most_decimals ? decimals : facts->most_decimals;
}

static void note_value(column_facts *facts, double value)
{
    float rounded = (float)value;
    if (facts->numbers + facts->clocks == 0) {
        facts->first = facts->lowest = facts->highest = rounded;
    } else {
        facts->backward = (uint16_t)(facts->backward + (rounded < facts->last));
        facts->lowest = rounded < facts->lowest ? rounded : facts->lowest;
        facts->highest = rounded > facts->highest ? rounded : facts->highest;
    }
    facts->last = rounded;
}

static void note_date(column_facts *facts, const cell *seen)
{
    bool first = facts->dates + facts->moments == 0;
    for (int order = 0; order < ORDERS; order++)
        facts->valid[order] = (first || facts->valid[order]) && seen->valid[order];
    facts->dotted = facts->dotted || seen->dotted;
}

static void note_unit_text(column_facts *facts, ovp_span text)
{
    unit u = trace_unit(text);
    if (!trace_unit_is_temperature(u))
        return;
    facts->unit = (uint8_t)u;
    facts->unit_texts++;
}

static void note_cell(column_facts *facts, ovp_span text, char decimal)
{
    cell seen = trace_cell(text, decimal);
    switch (seen.kind) {
    case CELL_NUMBER:
        note_value(facts, seen.number);
        note_decimals(facts, text, decimal);
        if (seen.unit != UNIT_NONE)
            facts->unit = (uint8_t)seen.unit;
        facts->numbers++;
        break;
    case CELL_CLOCK:
        note_value(facts, seen.clock_s);
        facts->long_first_part = facts->long_first_part || seen.clock_s >= 24.0 * 3600.0;
        facts->two_parts = facts->two_parts || seen.parts == 2;
        facts->half_day = facts->half_day || seen.half_day;
        facts->fraction = facts->fraction || seen.fraction;
        facts->clocks++;
        break;
    case CELL_DATE:
        note_date(facts, &seen);
        facts->dates++;
        break;
    case CELL_MOMENT:
        note_date(facts, &seen);
        facts->moments++;
        break;
    case CELL_EMPTY:
        facts->empties++;
        break;
    case CELL_WORD:
        facts->words++;
        break;
    default:
        facts->texts++;
        note_unit_text(facts, text);
        break;
    }
}

static ovp_status note_row(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)error;
    walk *at = context;
    ovp_trace_reader *reader = at->reader;
    ovp_span cells[OVP_TEXT_ROW_FIELDS];
    if (row->comment)
        return OVP_OK;
    size_t count = trace_join_cells(row, reader->dialect.delimiter, cells, OVP_TEXT_ROW_FIELDS);
    bool cut = !row->complete && at->data_rows > 1;
    if (row->line < reader->plan.first_line || cut || !is_data_shape(shape_of(reader, cells, count)))
        return OVP_OK;
    for (size_t i = 0; i < count; i++)
        note_cell(&reader->facts[i], cells[i], reader->dialect.decimal);
    return OVP_OK;
}

static ovp_status note_columns(walk *at, ovp_error *error)
{
    for (size_t i = 0; i < OVP_TEXT_ROW_FIELDS; i++)
        at->reader->facts[i] = (column_facts){.decimals = 255};
    return ovp_text_delimited_head(at->text, note_row, at, error);
}

static int find_key_column(const ovp_trace_reader *reader)
{
    for (size_t i = 0; i < reader->plan.width; i++) {
        const column_facts *facts = &reader->facts[i];
        unsigned firm = (unsigned)facts->numbers + facts->clocks + facts->dates + facts->moments;
        if (firm > 0 && firm >= (unsigned)facts->texts + facts->words)
            return (int)i;
    }
    return 0;
}

/* ---- where the data begin ------------------------------------------------------------------------ */

static ovp_status find_first_row(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)error;
    walk *at = context;
    ovp_span cells[OVP_TEXT_ROW_FIELDS];
    if (row->comment || at->cut)
        return OVP_OK;
    size_t count = trace_join_cells(row, at->reader->dialect.delimiter, cells, OVP_TEXT_ROW_FIELDS);
    if ((size_t)at->key_column >= count || !is_data_shape(shape_of(at->reader, cells, count)))
        return OVP_OK;
    if (!is_firm(trace_cell(cells[at->key_column], at->reader->dialect.decimal).kind))
        return OVP_OK;
    at->reader->plan.first_line = row->line;
    at->cut = true;
    return OVP_OK;
}

/* ---- header and units ---------------------------------------------------------------------------- */

/* In a file parted by blanks a header of two words is parted by two blanks from the next. */
static size_t wide_cells(const ovp_text_row *row, ovp_span cells[], size_t capacity)
{
    ovp_span left = ovp_span_trim(row->text);
    size_t count = 0;
    while (left.count > 0 && count < capacity) {
        size_t end = 0;
        while (end < left.count && left.bytes[end] != '\t' &&
               !(left.bytes[end] == ' ' && end + 1 < left.count && left.bytes[end + 1] == ' '))
            end++;
        cells[count++] = (ovp_span){left.bytes, end};
        left = ovp_span_trim((ovp_span){left.bytes + end, left.count - end});
    }
    return count;
}

/* A date and a clock under one heading, in a file parted by blanks. */
static size_t part_moment(const ovp_trace_reader *reader, ovp_span cells[], size_t count)
{
    bool pair = reader->facts[0].dates > 0 && reader->facts[1].clocks > 0;
    if (!pair || count + 1 != reader->plan.width || count + 1 > OVP_TEXT_ROW_FIELDS)
        return count;
    memmove(cells + 2, cells + 1, (count - 1) * sizeof cells[0]);
    cells[1] = (ovp_span){"", 0};
    return count + 1;
}

static size_t header_cells(const walk *at, const ovp_text_row *row, ovp_span cells[])
{
    const ovp_trace_reader *reader = at->reader;
    size_t count = row->count;
    memcpy(cells, row->fields, count * sizeof cells[0]);
    if (reader->dialect.delimiter != ' ')
        return count;
    if (row->comment && count > 1 && cells[0].count <= 2) {
        memmove(cells, cells + 1, (count - 1) * sizeof cells[0]);
        count--;
    }
    if (count == reader->plan.width)
        return count;
    ovp_span wide[OVP_TEXT_ROW_FIELDS];
    size_t wide_count = wide_cells(row, wide, OVP_TEXT_ROW_FIELDS);
    if (wide_count + 1 >= reader->plan.width && wide_count <= reader->plan.width) {
        memcpy(cells, wide, wide_count * sizeof cells[0]);
        count = wide_count;
    }
    return part_moment(reader, cells, count);
}

static ovp_span bare(ovp_span text)
{
    text = ovp_span_trim(text);
    while (text.count > 0 && (text.bytes[0] == '[' || text.bytes[0] == '(' || text.bytes[0] == '#'))
        text = (ovp_span){text.bytes + 1, text.count - 1};
    while (text.count > 0 && (text.bytes[text.count - 1] == ']' || text.bytes[text.count - 1] == ')'))
        text.count--;
    return text;
}

static bool is_unit_row(const ovp_span cells[], size_t count)
{
    size_t units = 0;
    size_t others = 0;
    for (size_t i = 0; i < count; i++) {
        cell_kind kind = trace_cell(cells[i], '.').kind;
        if (kind == CELL_EMPTY || kind == CELL_WORD) /* dashes */
            continue;
        bool is_unit = trace_unit(bare(cells[i])) != UNIT_NONE;
        units += is_unit;
        others += !is_unit;
    }
    return units > 0 && units >= others;
}

static int score_header(const walk *at, const ovp_span cells[], size_t count)
{
    int score = 0;
    size_t texts = 0;
    for (size_t i = 0; i < count; i++) {
        cell_kind kind = trace_cell(cells[i], at->reader->dialect.decimal).kind;
        texts += kind == CELL_TEXT || kind == CELL_WORD;
        if (kind == CELL_TEXT)
            score += (int)trace_label(cells[i]).fit;
    }
    if (texts == 0 || count < 2)
        return -1;
    size_t width = at->reader->plan.width;
    bool fits = count == width || count + 1 == width || count == width + 1;
    return fits ? 2 + score : score > 1 ? score : -1;
}

static ovp_status find_header(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)error;
    walk *at = context;
    if (row->line >= at->reader->plan.first_line)
        return OVP_OK;
    ovp_span cells[OVP_TEXT_ROW_FIELDS + 1];
    size_t count = header_cells(at, row, cells);
    if (is_unit_row(cells, count)) {
        for (size_t i = 0; i < count && i < OVP_TEXT_ROW_FIELDS; i++)
            at->reader->facts[i].unit_row = (uint8_t)trace_unit(bare(cells[i]));
        size_t kept = 0;
        ovp_text_delimited_header(at->text, &kept);
        if (kept > 0)
            return OVP_OK;
    }
    int score = score_header(at, cells, count);
    if (score < at->header_score)
        return OVP_OK;
    at->header_score = score;
    at->header_line = row->line;
    ovp_text_row header = *row;
    header.fields = cells;
    header.count = count;
    ovp_text_delimited_keep_header(at->text, &header);
    return OVP_OK;
}

/* ---- what is wrong when nothing looks like data -------------------------------------------------- */

static ovp_status no_data(const walk *at, ovp_error *error)
{
    ovp_status status = OVP_ERROR_DATA;
    bool header_only = at->rows == 1 && at->widest > 1;
    if (header_only) {
        ovp_error_set(error, status, "a header and nothing else: no row of readings");
        ovp_error_hint(error, "export the log again with its readings, one row for each");
    } else {
        ovp_error_set(error, status, "no row holds a time and a number");
        ovp_error_hint(error, "each row needs a time and a temperature in figures, such as 120,451.5");
    }
    ovp_error_place(error, NULL, header_only ? at->last_line : 1);
    return status;
}

/* ---- newest first -------------------------------------------------------------------------------- */

static ovp_status compare_times(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)error;
    walk *at = context;
    double time = 0.0;
    ovp_span cells[OVP_TEXT_ROW_FIELDS];
    ovp_text_row joined = trace_joined(at->reader, row, cells);
    if (row->comment || row->line < at->reader->plan.first_line ||
        !trace_time_of_row(at->reader, &joined, &time))
        return OVP_OK;
    if (at->reader->begun) {
        at->forward += time > at->time;
        at->backward += time < at->time;
    }
    at->reader->begun = true;
    at->time = time;
    return OVP_OK;
}

static ovp_status check_direction(ovp_trace_reader *reader, ovp_text_delimited *text, ovp_error *error)
{
    walk at = {.reader = reader, .text = text};
    if (reader->plan.time_kind == CELL_CLOCK && reader->plan.date_column < 0)
        return OVP_OK; /* a time of day that goes back has passed midnight */
    ovp_status status = ovp_text_delimited_head(text, compare_times, &at, error);
    reader->begun = false;
    reader->order_matters = false;
    reader->hour.count = 0;
    if (status != OVP_OK || at.backward <= 2 || at.backward <= 4 * at.forward)
        return status;
    status = ovp_error_set(error, OVP_ERROR_DATA, "the rows run backwards in time, newest first");
    ovp_error_hint(error, "sort the rows by time, oldest first");
    ovp_error_place(error, NULL, reader->plan.first_line);
    return status;
}

ovp_status trace_plan(ovp_trace_reader *reader, ovp_text_delimited *text, ovp_error *error)
{
    walk at = {.reader = reader, .text = text, .header_score = 0};
    reader->text = text;
    reader->dialect = ovp_text_delimited_dialect(text);
    ovp_status status = ovp_text_delimited_head(text, measure_row, &at, error);
    if (status != OVP_OK)
        return status;
    if (at.data_rows == 0)
        return no_data(&at, error);
    reader->plan.width = usual_width(reader);
    status = note_columns(&at, error);
    if (status != OVP_OK)
        return status;
    at.key_column = find_key_column(reader);
    status = ovp_text_delimited_head(text, find_first_row, &at, error);
    if (status == OVP_OK && !at.cut)
        return no_data(&at, error);
    if (status == OVP_OK)
        status = note_columns(&at, error); /* again, without what stands in front of the data */
    if (status == OVP_OK)
        status = ovp_text_delimited_head(text, find_header, &at, error);
    if (status == OVP_OK)
        status = trace_choose_time(reader, error);
    if (status == OVP_OK)
        status = trace_choose_columns(reader, error);
    if (status != OVP_OK) {
        ovp_error_place(error, NULL, at.header_line > 0 ? at.header_line : reader->plan.first_line);
        return status;
    }
    return check_direction(reader, text, error);
}
