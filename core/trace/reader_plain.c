/*
 * The short way for plain rows: a time that differs from the one kept in its minutes and seconds only (or is
 * a number), numbers of at most 16 characters, and whatever else the row holds between delimiters. Any other
 * row goes the long way through reader_rows.c; both give the same samples bit for bit.
 */
#include "reader_internal.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

enum {
    MOST_BLANKS = 8,   /* in front of a number */
    SLACK = 128,       /* so many bytes may be looked at from the start of a field on */
    LONGEST_ROW = 960, /* bytes: then it has fewer fields than are allowed, too */
    LONGEST_NUMBER = 16,
};

typedef struct plain_field {
    const char *end; /* the byte behind; NULL when the field is not plain */
    double value;
} plain_field;

static uint64_t every_byte(unsigned char byte)
{
    return UINT64_C(0x0101010101010101) * byte;
}

/* The high bit of each byte that equals `letter`. */
static uint64_t equal_bytes(uint64_t word, char letter)
{
    uint64_t differing = word ^ every_byte((unsigned char)letter);
    return ~(((differing & every_byte(0x7F)) + every_byte(0x7F)) | differing) & every_byte(0x80);
}

static unsigned first_byte(uint64_t marks)
{
    return (unsigned)__builtin_ctzll(marks) / 8;
}

/* ---- numbers ---------------------------------------------------------------------------------------------
 */

/* Eight characters and more, digit by digit. */
static plain_field long_number(const char *at, char decimal)
{
    const plain_field none = {NULL, 0.0};
    uint64_t digits = 0;
    const char *sign = NULL, *look = at;
    for (; look - at <= LONGEST_NUMBER; look++) {
        unsigned digit = (unsigned)(unsigned char)*look - '0';
        if (digit <= 9)
            digits = digits * 10 + digit;
        else if (*look == decimal && sign == NULL)
            sign = look;
        else
            break;
    }
    size_t length = (size_t)(look - at), behind = sign != NULL ? (size_t)(look - sign) - 1 : 0;
    if (length == 0 || length > LONGEST_NUMBER || sign == at || (sign != NULL && behind == 0) ||
        length - (sign != NULL) >= LONGEST_NUMBER)
        return none;
    return (plain_field){look, (double)digits / trace_power_of_ten[behind]};
}

/*
 * Up to seven characters at once. A byte past 0x7F may spoil the marks behind it, but it is marked itself,
 * and what ends a number is looked at again.
 */
static inline plain_field magnitude(const char *at, char decimal)
{
    const plain_field none = {NULL, 0.0};
    uint64_t digits = trace_eight_bytes(at) ^ every_byte('0');
    uint64_t others = ((digits + every_byte(0x76)) | digits) & every_byte(0x80);
    uint64_t behind_sign = others & (others - 1);
    if (others == 0)
        return long_number(at, decimal);
    unsigned whole = first_byte(others);
    if (at[whole] != decimal)
        return whole > 0 ? (plain_field){at + whole, trace_eight_digits(digits << (64 - 8 * whole))} : none;
    if (behind_sign == 0)
        return long_number(at, decimal);
    unsigned end = first_byte(behind_sign), behind = end - whole - 1;
    if (whole == 0 || behind == 0)
        return none;
    uint64_t front = (UINT64_C(1) << 8 * whole) - 1;
    uint64_t joined = (digits & front) | (digits >> 8 & ~front);
    return (plain_field){at + end,
                         trace_eight_digits(joined << (64 - 8 * (end - 1))) / trace_power_of_ten[behind]};
}

/* ---- what the columns hold -------------------------------------------------------------------------------
 */

static plain_column column_of(const ovp_trace_reader *reader, ovp_trace_column which)
{
    static const size_t places[OVP_TRACE_COLUMNS] = {
        offsetof(ovp_trace_sample, time_s),         offsetof(ovp_trace_sample, temperature_C),
        offsetof(ovp_trace_sample, setpoint_C),     offsetof(ovp_trace_sample, output_percent),
        offsetof(ovp_trace_sample, supply_V),       offsetof(ovp_trace_sample, element_A),
        offsetof(ovp_trace_sample, cold_junction_C)};
    const plan *from = &reader->plan;
    plain_column column = {.place = places[which], .scale = 1.0, .least = -INFINITY};
    unit u = from->unit[which];
    switch (which) {
    case OVP_TRACE_TIME:
        column.clock = from->time_kind != CELL_NUMBER;
        column.scale = from->time_scale;
        break;
    case OVP_TRACE_OUTPUT:
        column.scale = from->output_scale;
        break;
    case OVP_TRACE_SUPPLY:
    case OVP_TRACE_CURRENT:
        column.scale = u == UNIT_MA || u == UNIT_MV ? 1e-3 : 1.0;
        break;
    default:
        column.temperature = true;
        column.unit = u == UNIT_F || u == UNIT_K ? u : UNIT_C;
        column.least = absolute_zero_C;
        break;
    }
    column.as_it_is = column.temperature ? column.unit == UNIT_C : column.scale == 1.0;
    return column;
}

/* The columns from left to right; none where the rows of this file have no short way. */
void trace_plain_make(ovp_trace_reader *reader)
{
    const plan *from = &reader->plan;
    trace_plain *plain = &reader->plain;
    bool clock = from->time_kind == CELL_CLOCK || from->time_kind == CELL_MOMENT;
    plain->count = plain->used = 0;
    plain->clock = -1;
    plain->pairs = !reader->one_by_one && trace_pairs_here();
    for (size_t i = 0; i < PLAIN_BATCH; i++)
        plain->batch[i] = (ovp_trace_sample){NAN, NAN, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_NUMBER};
    if (reader->long_way || reader->dialect.delimiter == ' ' || from->date_column >= 0 ||
        (!clock && from->time_kind != CELL_NUMBER))
        return;
    for (int index = 0, before = -1; index < OVP_TEXT_ROW_FIELDS; index++) {
        for (int which = 0; which < OVP_TRACE_COLUMNS; which++) {
            if (from->column[which] != index)
                continue;
            if (which == OVP_TRACE_TEMPERATURE)
                plain->temperature = plain->count;
            if (which == OVP_TRACE_TIME && clock)
                plain->clock = (int)plain->count;
            plain_column *column = &plain->columns[plain->count++];
            *column = column_of(reader, (ovp_trace_column)which);
            column->skip = index - before - 1;
            if (column->skip < 0) { /* one column in two roles */
                plain->count = 0;
                return;
            }
            before = index;
        }
    }
}

/* ---- rows ------------------------------------------------------------------------------------------------
 */

/* Passes over fields that are not used; NULL where one holds a quote or the row ends. */
static const char *skip_fields(const char *at, const char *limit, char delimiter, int count)
{
    while (at <= limit) {
        uint64_t word = trace_eight_bytes(at);
        uint64_t marks = equal_bytes(word, delimiter) | equal_bytes(word, '\n') | equal_bytes(word, '\r') |
                         equal_bytes(word, '"');
        if (marks == 0) {
            at += 8;
            continue;
        }
        at += first_byte(marks);
        if (*at++ != delimiter)
            return NULL;
        if (--count == 0)
            return at;
    }
    return NULL;
}

/* From the end of the last field used to the start of the next row; NULL where that is not plain. */
static const char *skip_rest(const char *at, const char *limit, char delimiter)
{
    if (*at == '\n')
        return at + 1;
    if (*at != '\r' && *at != delimiter)
        return NULL;
    while (at <= limit) {
        uint64_t word = trace_eight_bytes(at);
        uint64_t marks = equal_bytes(word, '\n') | equal_bytes(word, '\r') | equal_bytes(word, '"');
        if (marks == 0) {
            at += 8;
            continue;
        }
        at += first_byte(marks);
        at += *at == '\r';
        return *at == '\n' ? at + 1 : NULL;
    }
    return NULL;
}

/* A row that begins otherwise may be a comment or blank. */
static bool begins_plain(char first)
{
    return (unsigned char)first > ' ' && first != '#' && first != '%' && first != '/' && first != '"';
}

/* Blanks and a minus in front. */
static plain_field signed_number(const char *at, char decimal)
{
    for (int i = 0; i < MOST_BLANKS && *at == ' '; i++)
        at++;
    bool negative = *at == '-';
    plain_field found = magnitude(at + negative, decimal);
    found.value = negative ? -found.value : found.value;
    return found;
}

static const char *read_number(plain_column *column, const char *at, char decimal, double *value)
{
    plain_field found = signed_number(at, decimal);
    if (found.end == NULL)
        return NULL;
    column->number = found.value;
    *value = column->as_it_is ? found.value : trace_plain_converted(column, found.value);
    return *value >= column->least ? found.end : NULL;
}

/* One row; returns the start of the next, NULL where this one is not plain. */
static inline const char *read_plain(ovp_trace_reader *reader, const char *at, const char *limit,
                                     ovp_trace_sample *sample)
{
    plain_column *column = reader->plain.columns;
    const plain_column *last = column + reader->plain.count - 1;
    const char *row = at;
    char delimiter = reader->dialect.delimiter;
    if (!begins_plain(*at))
        return NULL;
    for (;; column++) {
        double value = 0.0;
        if (column->skip > 0)
            at = skip_fields(at, limit, delimiter, column->skip);
        if (at == NULL || at > limit)
            return NULL;
        column->from = at;
        if (!column->clock)
            at = read_number(column, at, reader->dialect.decimal, &value);
        else
            at = trace_same_hour(&reader->hour, at, &value) ? at + reader->hour.count : NULL;
        if (at == NULL)
            return NULL;
        column->to = at;
        memcpy((char *)sample + column->place, &value, sizeof value);
        if (column == last)
            break;
        if (*at++ != delimiter)
            return NULL;
    }
    at = skip_rest(at, limit, delimiter);
    return at != NULL && at - row <= LONGEST_ROW ? at : NULL;
}

void trace_plain_flush(ovp_trace_reader *reader)
{
    trace_plain *plain = &reader->plain;
    if (plain->batched == 0)
        return;
    trace_take_batch(reader, plain->line, plain->batch, plain->batched);
    reader->input.plain += plain->batched;
    plain->line += plain->batched;
    plain->batched = 0;
}

size_t trace_plain_rows(ovp_trace_reader *reader, ovp_span bytes, uint64_t line, uint64_t *rows)
{
    trace_plain *plain = &reader->plain;
    const char *at = bytes.bytes, *limit = bytes.bytes + bytes.count - SLACK;
    if (plain->count == 0 || !reader->begun || line < reader->plan.first_line || bytes.count < SLACK)
        return 0;
    plain->line = line;
    trace_mould_hour(reader);
    for (at = trace_mould_rows(reader, at, limit); at <= limit; at = trace_mould_rows(reader, at, limit)) {
        const char *next = read_plain(reader, at, limit, trace_plain_next(reader));
        if (next == NULL)
            break;
        plain->batched++;
        reader->last_number = plain->columns[plain->temperature].number;
        trace_mould_keep(reader, at, (size_t)(next - at));
        at = next;
    }
    trace_plain_flush(reader);
    *rows = plain->line - line;
    return (size_t)(at - bytes.bytes);
}
