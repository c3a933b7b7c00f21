/*
 * Rows that have the shape of one shortly before, digit for digit: the whole row is held against its mould at
 * once, and where it fits the numbers are taken from where they must stand. Eight moulds are kept: readings
 * go to and fro between 99.9 and 100.0.
 */
#include "reader_internal.h"

#include <math.h>
#include <string.h>

enum {
    LONGEST_WAIT = 63,  /* rows; where rows seldom fit, moulds are made seldom */
    ENOUGH_BYTES = 512, /* that fit one after the other are worth a mould */
    WORD = 8,
    WIDEST = 16, /* characters of a number */
};

static inline bool is_digit(char letter)
{
    return letter >= '0' && letter <= '9';
}

static double wide_value(const mould_number *number, const char *at)
{
    uint64_t digits = 0;
    for (size_t i = 0; i < number->count; i++)
        if (is_digit(at[i]))
            digits = digits * 10 + (uint64_t)(at[i] - '0');
    return (double)digits / number->divisor;
}

static inline double value_of(const mould_number *number, const char *row)
{
    uint64_t digits = trace_eight_bytes(row + number->at) ^ UINT64_C(0x3030303030303030);
    if (number->count > WORD)
        return wide_value(number, row + number->at);
    uint64_t joined = (digits & number->front) | (digits >> 8 & ~number->front);
    return trace_eight_digits(joined << number->shift) / number->divisor;
}

/* False where a value is none. */
static inline bool take_row(const ovp_trace_reader *reader, const mould *one, const char *row,
                            ovp_trace_sample *sample)
{
    const trace_plain *plain = &reader->plain;
    if (plain->clock >= 0)
        sample->time_s = trace_time_in_hour(&reader->hour, row + one->clock_at);
    for (size_t i = 0; i < one->number_count; i++) {
        const plain_column *column = &plain->columns[one->numbers[i].column];
        double value = value_of(&one->numbers[i], row);
        if (!column->as_it_is)
            value = trace_plain_converted(column, value);
        if (!(value >= column->least))
            return false;
        memcpy((char *)sample + column->place, &value, sizeof value);
    }
    return true;
}

/* As it was written. */
static double temperature_of(const trace_plain *plain, const mould *one, const char *row)
{
    for (size_t i = 0; i < one->number_count; i++)
        if (one->numbers[i].column == plain->temperature)
            return value_of(&one->numbers[i], row);
    return NAN;
}

static const char *rows_one_by_one(ovp_trace_reader *reader, const char *at, const char *limit)
{
    trace_plain *plain = &reader->plain;
    while (at <= limit) {
        const mould *one = trace_mould_find(plain, at);
        if (one == NULL || !take_row(reader, one, at, trace_plain_next(reader)))
            break;
        plain->batched++;
        plain->last = one;
        at += one->length;
    }
    return at;
}

const char *trace_mould_rows(ovp_trace_reader *reader, const char *at, const char *limit)
{
    trace_plain *plain = &reader->plain;
    const char *from = at;
    if (plain->used == 0)
        return at;
    at = plain->all_pairs ? trace_pair_rows(reader, at, limit) : rows_one_by_one(reader, at, limit);
    if (at > from)
        reader->last_number = temperature_of(plain, plain->last, at - plain->last->length);
    if (at - from >= ENOUGH_BYTES)
        plain->wait = plain->wait_next = 0;
    return at;
}

/* ---- making one ------------------------------------------------------------------------------------------
 */

static void set_byte(mould *one, size_t at, char pattern, unsigned most)
{
    one->pattern[at / MOULD_CHUNK][at % MOULD_CHUNK] = (unsigned char)pattern;
    one->most[at / MOULD_CHUNK][at % MOULD_CHUNK] = (unsigned char)most;
}

/* The bytes of the hour kept, and what may change in them. */
static void set_clock(const ovp_trace_reader *reader, mould *one)
{
    const time_cache *hour = &reader->hour;
    for (size_t i = 0; i < hour->count && one->clock_at + i < MOULD_SIZE; i++) {
        unsigned shift = 8 * (i % WORD);
        char pattern = (char)(hour->word[i / WORD] >> shift & 0xFF);
        set_byte(one, one->clock_at + i, pattern, 0x7F - (unsigned)(hour->most[i / WORD] >> shift & 0xFF));
    }
}

static bool set_number(mould_number *number, const char *row, const plain_column *column, char decimal)
{
    const char *at = column->from;
    while (at < column->to && *at == ' ')
        at++;
    bool negative = at < column->to && *at == '-';
    at += negative;
    size_t count = (size_t)(column->to - at);
    const char *point = memchr(at, decimal, count);
    size_t whole = point != NULL ? (size_t)(point - at) : count;
    size_t behind = point != NULL ? count - whole - 1 : 0;
    if (count == 0 || count > WIDEST)
        return false;
    number->at = (size_t)(at - row);
    number->count = count;
    number->point = whole;
    number->divisor = negative ? -trace_power_of_ten[behind] : trace_power_of_ten[behind];
    number->front = whole < WORD ? (UINT64_C(1) << 8 * whole) - 1 : UINT64_MAX;
    number->shift = count <= WORD ? (unsigned)(8 * (WORD - count + (point != NULL))) : 0;
    return true;
}

/* An odd one is read twice. */
static void set_pair(const trace_plain *plain, const mould *one, size_t first, mould_pair *pair)
{
    pair->as_they_are = true;
    for (size_t k = 0; k < 2; k++) {
        size_t index = first + k < one->number_count ? first + k : first;
        const mould_number *number = &one->numbers[index];
        const plain_column *column = &plain->columns[number->column];
        size_t skipped = 0;
        pair->at[k] = number->at;
        pair->column[k] = number->column;
        pair->place[k] = column->place;
        pair->divisor[k] = number->divisor;
        pair->least[k] = column->least;
        pair->as_they_are = pair->as_they_are && column->as_it_is;
        for (size_t i = WORD; i-- > 0;) { /* from the right */
            size_t place = number->count - 1 - (WORD - 1 - i) - skipped;
            bool sign = place < number->count && place == number->point;
            skipped += sign;
            place -= sign;
            pair->order[k * WORD + i] = (unsigned char)(place < number->count ? k * WORD + place : 0xFF);
        }
    }
}

static void set_pairs(const trace_plain *plain, mould *one)
{
    for (size_t i = 0; i < one->number_count; i++)
        if (one->numbers[i].count > WORD)
            return;
    for (size_t i = 0; i < one->number_count; i += 2)
        set_pair(plain, one, i, &one->pairs[one->pair_count++]);
}

static bool set_mould(const ovp_trace_reader *reader, mould *one, const char *row, size_t length)
{
    const trace_plain *plain = &reader->plain;
    memset(one, 0, sizeof *one);
    one->length = length;
    one->chunks = (length + MOULD_CHUNK - 1) / MOULD_CHUNK;
    for (size_t i = 0; i < one->chunks * MOULD_CHUNK; i++) {
        bool digit = i < length && is_digit(row[i]);
        set_byte(one, i, digit ? '0' : i < length ? row[i] : '\0', digit ? 9 : i < length ? 0 : 0xFF);
    }
    for (size_t i = 0; i < plain->count; i++) {
        const plain_column *column = &plain->columns[i];
        mould_number *number = &one->numbers[one->number_count];
        if (column->clock) {
            one->clock_at = (size_t)(column->from - row);
            set_clock(reader, one);
            continue;
        }
        number->column = i;
        if (!set_number(number, row, column, reader->dialect.decimal))
            return false;
        one->number_count++;
    }
    if (plain->pairs)
        set_pairs(plain, one);
    return true;
}

void trace_mould_keep(ovp_trace_reader *reader, const char *row, size_t length)
{
    trace_plain *plain = &reader->plain;
    if (length > MOULD_SIZE)
        return;
    if (plain->wait > 0) {
        plain->wait--;
        return;
    }
    size_t place = plain->used < MOULDS ? plain->used : plain->oldest;
    if (!set_mould(reader, &plain->moulds[place], row, length)) {
        plain->used = place; /* the ones behind are given up with it */
        return;
    }
    plain->fitting = place;
    plain->used = plain->used > place ? plain->used : place + 1;
    plain->oldest = (place + 1) % MOULDS;
    plain->all_pairs = plain->pairs;
    for (size_t i = 0; i < plain->used; i++)
        plain->all_pairs = plain->all_pairs && plain->moulds[i].pair_count > 0;
    plain->wait_next = 2 * plain->wait_next + 1 < LONGEST_WAIT ? 2 * plain->wait_next + 1 : LONGEST_WAIT;
    plain->wait = plain->wait_next;
}

void trace_mould_hour(ovp_trace_reader *reader)
{
    trace_plain *plain = &reader->plain;
    const time_cache *hour = &reader->hour;
    if (plain->clock < 0)
        return;
    bool same = plain->hour_count == hour->count && plain->minutes_at == hour->minutes_at;
    if (same && memcmp(plain->hour, hour->word, sizeof plain->hour) == 0)
        return;
    if (!same || hour->count == 0)
        plain->used = 0;
    for (size_t i = 0; i < plain->used; i++)
        set_clock(reader, &plain->moulds[i]);
    memcpy(plain->hour, hour->word, sizeof plain->hour);
    plain->hour_count = hour->count;
    plain->minutes_at = hour->minutes_at;
}
