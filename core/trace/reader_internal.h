/* What the files of the trace reader share. Nobody else includes this. */
#ifndef OVENPROOF_TRACE_READER_INTERNAL_H
#define OVENPROOF_TRACE_READER_INTERNAL_H

#include "ovenproof/trace.h"

#include <string.h>

/* ---- units and header words (reader_words.c) ----------------------------------------------------- */

typedef enum unit {
    UNIT_NONE,
    UNIT_C,
    UNIT_F,
    UNIT_K,
    UNIT_S,
    UNIT_MIN,
    UNIT_H,
    UNIT_MS,
    UNIT_US,
    UNIT_DAY,
    UNIT_PERCENT,
    UNIT_V,
    UNIT_MV,
    UNIT_A,
    UNIT_MA,
    UNIT_CLOCK_MS, /* "mm:ss" */
    UNIT_CLOCK_HM, /* "hh:mm" */
    UNIT_OTHER,
} unit;

typedef enum role {
    ROLE_NONE,
    ROLE_TIME,
    ROLE_DATE,
    ROLE_TEMPERATURE,
    ROLE_AMBIENT,
    ROLE_SETPOINT,
    ROLE_OUTPUT,
    ROLE_SUPPLY,
    ROLE_CURRENT,
    ROLE_COLD_JUNCTION,
    ROLE_INDEX,
    ROLE_OTHER,
} role;

/* How well a header text fits its role. */
typedef enum fit {
    FIT_NONE,
    FIT_WORD,      /* holds a word of the role */
    FIT_NAME,      /* is a name of the role, numbers aside */
    FIT_CANONICAL, /* is the canonical header */
} fit;

typedef struct label {
    role role;
    fit fit;
    unit unit;
    bool capital_t;   /* the header is "T": time in front, temperature behind */
    bool bare_kelvin; /* K stood where the type of the thermocouple also stands */
} label;

enum {
    FOLDED_SIZE = 128,
};

/* Small ASCII letters and figures, umlauts spelled out, one blank between words, "deg" for degree signs. */
void trace_fold(ovp_span text, char out[FOLDED_SIZE]);
unit trace_folded_unit(const char *word);
/* What a header text means. */
label trace_label(ovp_span header);
/* The unit that a text names by itself ("[K]", "°F", "min"); UNIT_NONE when it names none. */
unit trace_unit(ovp_span text);
bool trace_unit_is_temperature(unit u);
double trace_unit_seconds(unit u); /* 0 when it is no time */
double trace_unit_celsius(double value, unit u);

/* ---- cells (reader_cells.c) ---------------------------------------------------------------------- */

typedef enum cell_kind {
    CELL_EMPTY,
    CELL_NUMBER,
    CELL_CLOCK, /* h:mm, h:mm:ss or min:s */
    CELL_DATE,
    CELL_MOMENT, /* date and clock */
    CELL_WORD,   /* a word for no reading */
    CELL_TEXT,
    CELL_INFINITE,
} cell_kind;

enum {
    DAY_FIRST,
    MONTH_FIRST,
    ORDERS,
};

typedef struct cell {
    cell_kind kind;
    double number;         /* CELL_NUMBER */
    unit unit;             /* that stood behind the number */
    ovp_trace_cell reason; /* CELL_WORD and CELL_EMPTY */
    double clock_s;        /* since midnight, in UTC where the cell said an offset; two parts are h:mm here */
    int parts;             /* of the clock: 2 or 3 */
    bool half_day;         /* AM or PM was said */
    bool fraction;         /* the clock's last part had decimals */
    bool valid[ORDERS];    /* the date exists when read in this order */
    long day[ORDERS];      /* since 1970-01-01 */
    bool dotted;           /* 28.10.2024 */
} cell;

/* Any cell. `decimal` as in ovp_text_delimited_number. */
cell trace_cell(ovp_span text, char decimal);
/* Dates and clocks only (reader_clock.c). */
bool trace_moment(ovp_span text, cell *result);
/* "5 min", "1h30m" in seconds; false when it is no duration. */
bool trace_duration(ovp_span text, char decimal, double *seconds);
/* ON and OFF in their spellings: 100 and 0; false otherwise. */
bool trace_switch(ovp_span text, double *percent);

/* ---- the reader's state -------------------------------------------------------------------------- */

enum {
    STEP_BINS_OCTAVE = 64,
    STEP_OCTAVES = 48, /* 2^-20 s (1 us) to 2^28 s (8 years) */
    STEP_BINS = STEP_BINS_OCTAVE * STEP_OCTAVES,
};

/* Median of the steps: bins of 1.6 %, each with its first member, so equal steps give it exactly. */
typedef struct steps {
    double last; /* the bin of the step before is kept: most are equal */
    size_t last_bin;
    uint64_t total;
    uint64_t count[STEP_BINS];
    double first[STEP_BINS];
} steps;

/* What the start of the file showed of one column. */
typedef struct column_facts {
    uint16_t numbers, clocks, dates, moments, words, texts, empties;
    uint16_t unit_texts; /* texts that are a unit of temperature */
    uint16_t backward;   /* numbers smaller than the one before */
    uint8_t decimals;    /* fewest seen, 255 none */
    uint8_t most_decimals;
    uint8_t unit;       /* seen in a cell */
    uint8_t unit_row;   /* from a row of units */
    bool valid[ORDERS]; /* every date exists in this order */
    bool dotted, two_parts, half_day, long_first_part, fraction;
    float first, last, lowest, highest;
} column_facts;

typedef struct plan {
    int column[OVP_TRACE_COLUMNS]; /* -1 none */
    unit unit[OVP_TRACE_COLUMNS];
    int date_column; /* -1 none */
    cell_kind time_kind;
    double time_scale; /* seconds of one */
    bool two_parts_are_minutes;
    int order; /* DAY_FIRST, MONTH_FIRST, or -1 while both give the same */
    double output_scale;
    size_t width;        /* usual count of fields */
    uint64_t first_line; /* the first row of data */
} plan;

enum {
    CLOCK_WORDS = 5,
    CLOCK_SIZE = 8 * CLOCK_WORDS,
};

/*
 * The last time cell that was read in full, and its bytes in words of eight: rows that differ from it in
 * their minutes and seconds only need not be read again.
 */
typedef struct time_cache {
    size_t count; /* of its bytes; 0: none */
    size_t minutes_at, seconds_at;
    int seconds; /* in its hour */
    double time;
    size_t words;
    uint64_t word[CLOCK_WORDS]; /* with 0 for the digits of minutes and seconds */
    uint64_t mask[CLOCK_WORDS]; /* 0 past the end */
    uint64_t most[CLOCK_WORDS]; /* what may be added to each byte that fits before its high bit is set */
} time_cache;

enum {
    MOULDS = 8,
    MOULD_CHUNK = 16,
    MOULD_CHUNKS = 6,
    MOULD_SIZE = MOULD_CHUNK * MOULD_CHUNKS,
    PLAIN_BATCH = 128, /* rows: 8 KiB of samples, which stay in the first cache */
};

typedef unsigned char mould_bytes __attribute__((vector_size(MOULD_CHUNK)));

/* Where the digits of a number stand in a row. */
typedef struct mould_number {
    size_t at;      /* from the start of the row, behind the sign */
    size_t count;   /* of its characters; the wide ones have nine to sixteen */
    size_t point;   /* the place of the decimal sign; count where there is none */
    uint64_t front; /* the bytes before the decimal sign */
    unsigned shift;
    size_t column;  /* index of the plain column */
    double divisor; /* a power of ten; negative behind a minus */
} mould_number;

/* Two numbers of up to eight characters, for processors that read both at once. */
typedef struct mould_pair {
    mould_bytes order; /* the place in both of each digit, right-aligned; past 127: none */
    size_t at[2], column[2], place[2];
    double divisor[2], least[2];
    bool as_they_are;
} mould_pair;

/*
 * The shape of a whole row: most rows have the shape of one shortly before, digit for digit. Where they do,
 * everything about the row is known beforehand and nothing in it is looked for.
 */
typedef struct mould {
    size_t length; /* of the row with its end; 0: none */
    size_t chunks;
    mould_bytes pattern[MOULD_CHUNKS]; /* the row, with every digit that may change 0 */
    mould_bytes most[MOULD_CHUNKS]; /* 9 where any digit may stand, 5 for tens of minutes, 255 past the end */
    size_t clock_at;                /* of the time cell */
    size_t number_count;
    mould_number numbers[OVP_TRACE_COLUMNS];
    size_t pair_count; /* 0: the numbers are taken one by one */
    mould_pair pairs[(OVP_TRACE_COLUMNS + 1) / 2];
} mould;

/* How a column is read the short way (reader_plain.c). */
typedef struct plain_column {
    int skip;                          /* fields between the column before and this one */
    bool clock, temperature, as_it_is; /* as_it_is: the number needs no conversion */
    unit unit;
    size_t place; /* in the sample */
    double scale, least;
    double number;         /* as it was written in the last row */
    const char *from, *to; /* of the field in the row read last */
} plain_column;

typedef struct trace_plain {
    size_t count;       /* 0: every row goes the long way */
    size_t temperature; /* the index of its column */
    int clock;          /* the index of the column of clocks; -1 none */
    bool pairs;         /* this processor reads two numbers at once */
    bool all_pairs;     /* and every mould has them */
    plain_column columns[OVP_TRACE_COLUMNS];
    uint64_t hour[CLOCK_WORDS]; /* what the moulds have as the time cell */
    size_t hour_count, minutes_at;
    size_t used, fitting, oldest; /* moulds; the one of the last row; the one that is given up next */
    unsigned wait, wait_next;     /* rows until a mould is made again */
    mould moulds[MOULDS];
    const mould *last; /* the one that fitted last */
    uint64_t line;     /* of the first row of the batch */
    size_t batched;
    ovp_trace_sample batch[PLAIN_BATCH];
} trace_plain;

struct ovp_trace_reader {
    trace_plain plain; /* first: it is aligned to 16 */
    ovp_text_delimited *text;
    ovp_trace_options options;
    ovp_trace_sample_function sample;
    ovp_trace_batch_function batch; /* instead, where it is wanted */
    void *context;
    ovp_trace_input input;
    plan plan;
    ovp_text_dialect dialect;
    /* the run so far */
    long day0[ORDERS];
    time_cache hour;
    double time0, time_last;
    double day_shift;
    double days_last; /* of the last date, for rows that leave it out */
    double longest_step, back_s;
    uint64_t longest_line;
    uint64_t back, back_line, duplicates, duplicate_line, skipped, skipped_line, midnight, unknown_words;
    uint64_t half_days, short_rows, short_line;
    double last_number; /* as written in the temperature cell before */
    bool begun;
    bool long_way;      /* every row goes the long way: for the test that holds the ways together */
    bool one_by_one;    /* no two numbers at once: likewise */
    bool order_matters; /* the two readings of a date give different elapsed times */
    bool cell_unit_warned, range_warned[OVP_TRACE_COLUMNS];
    steps steps;
    column_facts facts[OVP_TEXT_ROW_FIELDS];
    uint16_t widths[OVP_TEXT_ROW_FIELDS + 1];
};

static const double absolute_zero_C = -273.15;

/* Adds a warning; more than OVP_TRACE_WARNINGS are counted only. */
void trace_warn(ovp_trace_input *input, const char *format, ...) OVP_PRINTF(2, 3);

/* In the blank-parted dialect "10:15 PM" and "72.1 F" are one cell each. Returns the count. */
size_t trace_join_cells(const ovp_text_row *row, char delimiter, ovp_span cells[], size_t capacity);

/* The row with its cells joined; `cells` has room for OVP_TEXT_ROW_FIELDS. */
ovp_text_row trace_joined(const ovp_trace_reader *reader, const ovp_text_row *row, ovp_span cells[]);

/* The head of the file -> reader->plan (reader_columns.c, reader_head.c). */
ovp_status trace_plan(ovp_trace_reader *reader, ovp_text_delimited *text, ovp_error *error);
ovp_status trace_choose_columns(ovp_trace_reader *reader, ovp_error *error);
ovp_status trace_choose_time(ovp_trace_reader *reader, ovp_error *error);
/* The column that the caller chose for a role, by name or number; -1 when none was chosen. */
ovp_status trace_find_chosen(const ovp_trace_reader *reader, ovp_trace_column which, int *column,
                             ovp_error *error);
const char *trace_column_title(const ovp_trace_reader *reader, int column, char *buffer, size_t size);

/*
 * The time of a row in seconds on the clock of the first row; false when its cell holds none. Moves the
 * state that carries a time of day over midnight.
 */
bool trace_time_of_row(ovp_trace_reader *reader, const ovp_text_row *row, double *time);

/* Eight bytes, the first of them lowest. */
static inline uint64_t trace_eight_bytes(const char *at)
{
    uint64_t word = 0;
    memcpy(&word, at, sizeof word);
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
    word = __builtin_bswap64(word);
#endif
    return word;
}

/* Of a cell that is known to differ from the one kept in its minutes and seconds only. */
static inline double trace_time_in_hour(const time_cache *kept, const char *at)
{
    const char *minutes = at + kept->minutes_at, *seconds = at + kept->seconds_at;
    int now = 60 * (10 * minutes[0] + minutes[1]) + 10 * seconds[0] + seconds[1] - 61 * 11 * '0';
    return kept->time + (double)(now - kept->seconds);
}

/*
 * True when the CLOCK_SIZE bytes at `at` begin with a time that differs from the one kept in its minutes and
 * seconds only. The time is then that of the row kept plus the difference: whole seconds, so nothing is
 * rounded.
 */
static inline bool trace_same_hour(const time_cache *kept, const char *at, double *time)
{
    uint64_t too_much = 0;
    for (size_t i = 0; i < kept->words; i++) {
        uint64_t differing = (trace_eight_bytes(at + 8 * i) ^ kept->word[i]) & kept->mask[i];
        too_much |= (differing + kept->most[i]) | differing;
    }
    if ((too_much & UINT64_C(0x8080808080808080)) != 0 || kept->count == 0)
        return false;
    *time = trace_time_in_hour(kept, at);
    return true;
}

/* The short way for rows that are plain; the numbers of rows and bytes taken as in ovp_text_delimited_client.
 */
void trace_plain_make(ovp_trace_reader *reader);
size_t trace_plain_rows(ovp_trace_reader *reader, ovp_span bytes, uint64_t line, uint64_t *rows);

/* Every byte is that of the mould, or a digit where one may stand. */
static inline bool trace_mould_fits(const mould *one, const char *at)
{
    mould_bytes good = {0};
    good = ~good;
    for (size_t i = 0; i < one->chunks; i++) {
        mould_bytes here;
        memcpy(&here, at + i * MOULD_CHUNK, sizeof here);
        here ^= one->pattern[i];
        good &= (mould_bytes)(here <= one->most[i]);
    }
    uint64_t halves[2];
    memcpy(halves, &good, sizeof halves);
    return (halves[0] & halves[1]) == UINT64_MAX;
}

/* The mould of the last row first; NULL when none fits. */
static inline const mould *trace_mould_find(trace_plain *plain, const char *at)
{
    if (trace_mould_fits(&plain->moulds[plain->fitting], at))
        return &plain->moulds[plain->fitting];
    for (size_t i = 0; i < plain->used; i++) {
        if (i != plain->fitting && trace_mould_fits(&plain->moulds[i], at)) {
            plain->fitting = i;
            return &plain->moulds[i];
        }
    }
    return NULL;
}

/* reader_mould.c: rows from `at` on, not past `limit`, while they fit a mould. Returns where that ends. */
const char *trace_mould_rows(ovp_trace_reader *reader, const char *at, const char *limit);
/* reader_pairs.c: whether this processor can read two numbers at once; then the same for such moulds alone.
 */
bool trace_pairs_here(void);
const char *trace_pair_rows(ovp_trace_reader *reader, const char *at, const char *limit);
/* A row was read by its columns: the next may have its shape. */
void trace_mould_keep(ovp_trace_reader *reader, const char *row, size_t length);
/* The time cell of the moulds is that of the row kept last. */
void trace_mould_hour(ovp_trace_reader *reader);
/* The batch is handed on when it is full, or when a row goes another way. */
void trace_plain_flush(ovp_trace_reader *reader);

/* Room for the sample of one more plain row. */
static inline ovp_trace_sample *trace_plain_next(ovp_trace_reader *reader)
{
    trace_plain *plain = &reader->plain;
    if (plain->batched == PLAIN_BATCH)
        trace_plain_flush(reader);
    return &plain->batch[plain->batched];
}

static inline double trace_plain_converted(const plain_column *column, double value)
{
    return column->temperature ? trace_unit_celsius(value, column->unit) : value * column->scale;
}

/* An integer below 2^53 over an exact power of ten is rounded once, so it is the nearest double. */
static const double trace_power_of_ten[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                            1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

/* Eight digits as values 0 to 9, the first in the lowest byte. */
static inline double trace_eight_digits(uint64_t digits)
{
    digits = digits * 10 + (digits >> 8);
    uint64_t low = (digits & UINT64_C(0x000000FF000000FF)) * UINT64_C(0x000F424000000064);
    uint64_t high = (digits >> 16 & UINT64_C(0x000000FF000000FF)) * UINT64_C(0x0000271000000001);
    return (double)(int32_t)((low + high) >> 32);
}

/* A row of data -> a sample (reader_rows.c). */
ovp_status trace_row(ovp_trace_reader *reader, const ovp_text_row *row, ovp_error *error);
/* The one door for samples: notes the time, in seconds on the file's own clock, and hands the sample on. */
void trace_take(ovp_trace_reader *reader, uint64_t line, double time, ovp_trace_sample *sample);
/* The same for plain rows, whose times are still on the file's own clock. */
void trace_take_batch(ovp_trace_reader *reader, uint64_t line, ovp_trace_sample samples[], size_t count);
/* Counts of the whole run -> warnings and figures of input. */
ovp_status trace_close(ovp_trace_reader *reader, ovp_error *error);

void trace_steps_add(steps *all, double step);
double trace_steps_median(const steps *all);
/* How many steps are longer than bound. */
uint64_t trace_steps_longer(const steps *all, double bound);

#endif
