/*
 * ovenproof/text.h: bytes to values and back. Never a path, never the locale.
 *
 * Numbers are read correctly rounded and written in the shortest form that reads back. Quantities are a
 * number with a unit (`1500F`, `20.64mV`, `1h30m`). JSON is written through a sink as it goes.
 */
#ifndef OVENPROOF_TEXT_H
#define OVENPROOF_TEXT_H

#include "ovenproof/base.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- numbers ------------------------------------------------------------------------------------ */

enum {
    OVP_TEXT_NUMBER_SIZE = 32, /**< room for any double in its shortest form, and the zero */
};

/**
 * Read the longest decimal number at the start of `text`: sign, digits, point, exponent. Correctly
 * rounded, as strtod in the C locale. No hexadecimal, no "inf", no "nan", no leading blank.
 * Returns the count of bytes read; 0 when there is no number. A number too large gives infinity.
 */
size_t ovp_text_scan_number(ovp_span text, double *value);

/** The whole span (blanks trimmed) as one number; false when it is anything else or not finite. */
bool ovp_text_number(ovp_span text, double *value);

/** Shortest decimal form that reads back to the same double ("0.1", "1e+300"). Returns its length. */
size_t ovp_text_format_number(double value, char buffer[OVP_TEXT_NUMBER_SIZE]);

/** Fixed count of decimals (0..17), point always '.', "-0" printed as "0". Returns the length. */
size_t ovp_text_format_fixed(double value, int decimals, char *buffer, size_t size);

/* ---- quantities --------------------------------------------------------------------------------- */

/** What a quantity is of. The unit that `value` is held in stands behind each. */
typedef enum ovp_text_kind {
    OVP_TEXT_TEMPERATURE,            /**< degC; units F C K, also degF °F */
    OVP_TEXT_TEMPERATURE_DIFFERENCE, /**< degC (kelvins); 9F is 5 */
    OVP_TEXT_EMF,                    /**< mV; units uV mV V; a bare number is mV */
    OVP_TEXT_VOLTAGE,                /**< V; units V mV kV */
    OVP_TEXT_CURRENT,                /**< A; units A mA */
    OVP_TEXT_RESISTANCE,             /**< ohm; units ohm kohm Mohm, also the sign Ω */
    OVP_TEXT_POWER,                  /**< W; units W kW */
    OVP_TEXT_DURATION, /**< s; units s min h d, compounds 1h30m, clocks 19:40 (min:s) and 1:02:03 */
    OVP_TEXT_LENGTH,   /**< m; units in mm cm m ft, also the sign " */
    OVP_TEXT_MASS,     /**< kg; units kg g lb oz */
    OVP_TEXT_RATIO,    /**< 1; units % and none */
    OVP_TEXT_COUNT,    /**< 1; a bare number */
} ovp_text_kind;

/** A temperature scale; NONE means "not said" and makes a bare temperature an error. */
typedef enum ovp_text_degrees {
    OVP_TEXT_DEGREES_NONE,
    OVP_TEXT_DEGREES_F,
    OVP_TEXT_DEGREES_C,
    OVP_TEXT_DEGREES_K,
} ovp_text_degrees;

/** "F", "degF", "°F", "fahrenheit", "C", ..., "K": letter case does not matter. */
bool ovp_text_degrees_named(ovp_span name, ovp_text_degrees *degrees);
double ovp_text_to_celsius(double value, ovp_text_degrees degrees);
double ovp_text_from_celsius(double value_C, ovp_text_degrees degrees);

/**
 * Read one quantity, the whole span. A bare number is refused where a wrong unit would hurt
 * (temperature without `bare`, length, duration, resistance...), accepted for EMF (mV), RATIO and COUNT.
 * The message says what was found, its hint gives an example of what is wanted.
 * Errors: OVP_ERROR_DATA; also for a temperature below absolute zero.
 */
ovp_status ovp_text_quantity(ovp_span text, ovp_text_kind kind, ovp_text_degrees bare, double *value,
                             ovp_error *error);

/**
 * "932.0 °F (500.0 °C)", or in one scale only when `shown` says which. `decimals` 0..6.
 * Needs 64 bytes. Returns the length.
 */
size_t ovp_text_format_temperature(double value_C, ovp_text_degrees shown, int decimals, char *buffer,
                                   size_t size);

/** Like the above for a difference: "9.0 °F (5.0 °C)". */
size_t ovp_text_format_difference(double value_C, ovp_text_degrees shown, int decimals, char *buffer,
                                  size_t size);

/** "45 s", "19:40", "1 h 02 min": as a person would say it. Returns the length. */
size_t ovp_text_format_duration(double value_s, char *buffer, size_t size);

/* ---- days ----------------------------------------------------------------------------------------- */

/** A day of the Gregorian calendar, 1000 to 9999, as days since 1970-01-01; false when there is no such day.
 */
bool ovp_text_day_number(long year, long month, long day, long *number);

/** The whole span (blanks trimmed) as "2026-11-25"; false when it is anything else. */
bool ovp_text_day(ovp_span text, long *number);

/** "2026-11-25" (a day outside the calendar's years becomes its first or last). Needs 11 bytes; returns 10.
 */
size_t ovp_text_format_day(long number, char *buffer, size_t size);

/** Calendar months later (or earlier): 31 August and six months is the last of February. */
long ovp_text_add_months(long number, long months);

/* ---- JSON writer -------------------------------------------------------------------------------- */

enum {
    OVP_TEXT_JSON_DEPTH = 32,
};

/**
 * A streaming JSON writer. The first failure of the sink (or a misuse) is kept in `status`; later calls
 * do nothing, so a caller may check once at the end. Invalid UTF-8 becomes U+FFFD. NAN and infinities
 * become null.
 */
typedef struct ovp_text_json {
    ovp_sink sink;
    ovp_status status;
    int depth;
    bool has_items[OVP_TEXT_JSON_DEPTH]; /**< by depth, [0] is the top */
    bool is_object[OVP_TEXT_JSON_DEPTH]; /**< of the nest opened at that depth; else an array */
    bool after_key;
} ovp_text_json;

void ovp_text_json_init(ovp_text_json *json, ovp_sink sink);
void ovp_text_json_begin_object(ovp_text_json *json);
void ovp_text_json_end_object(ovp_text_json *json);
void ovp_text_json_begin_array(ovp_text_json *json);
void ovp_text_json_end_array(ovp_text_json *json);
void ovp_text_json_key(ovp_text_json *json, const char *key);
void ovp_text_json_string(ovp_text_json *json, const char *string); /**< NULL writes null */
void ovp_text_json_number(ovp_text_json *json, double value);
void ovp_text_json_integer(ovp_text_json *json, int64_t value);
void ovp_text_json_boolean(ovp_text_json *json, bool value);
void ovp_text_json_null(ovp_text_json *json);
/* key and value in one line */
void ovp_text_json_key_string(ovp_text_json *json, const char *key, const char *string);
void ovp_text_json_key_number(ovp_text_json *json, const char *key, double value);
void ovp_text_json_key_integer(ovp_text_json *json, const char *key, int64_t value);
void ovp_text_json_key_boolean(ovp_text_json *json, const char *key, bool value);
/** Begin {"document":NAME,"version":VERSION, ... of one document. */
void ovp_text_json_begin_document(ovp_text_json *json, const char *name, int version);
/** End it with a newline; returns the first failure. */
ovp_status ovp_text_json_end_document(ovp_text_json *json);

/* ---- printing ----------------------------------------------------------------------------------- */

/**
 * printf into a sink (at most 4,096 bytes a call, cut beyond). Of printf's conversions only the
 * floating ones ask the locale: where that may not be "C", format with ovp_text_format_fixed and print %s.
 */
ovp_status ovp_text_print(ovp_sink sink, const char *format, ...) OVP_PRINTF(2, 3);

/** Columns that a UTF-8 string takes on a terminal (wide East Asian letters count as two). */
size_t ovp_text_columns(const char *string);

/**
 * Fold words to `width` columns. Writes the indent too: `indent_first` blanks before the first line,
 * `indent` before the others. A line end in the string is kept; the last line is ended with one. A word
 * longer than the line stands alone.
 */
ovp_status ovp_text_fold(ovp_sink sink, const char *string, size_t width, size_t indent_first, size_t indent);

/**
 * One row of a text table and its line end: cells padded to `widths` columns with two spaces between;
 * negative widths align right. A NULL cell is empty; no blanks at the end; a cell too wide is not cut.
 */
ovp_status ovp_text_table_row(ovp_sink sink, const char *const cells[], const int widths[], size_t count);

/* ==== delimited text: begin (core/text/delimited*.c) ============================================= */

enum {
    OVP_TEXT_ROW_BYTES = 32768,  /**< longest row, quoted line ends included; a longer one is refused */
    OVP_TEXT_ROW_FIELDS = 1024,  /**< most fields of a row; more are refused */
    OVP_TEXT_QUOTED_LINES = 64,  /**< most lines that one quoted field may span */
    OVP_TEXT_HEAD_BYTES = 65536, /**< the stretch at the start on which the dialect is found */
};

/** How the fields of a text are parted and its numbers written. */
typedef struct ovp_text_dialect {
    char delimiter; /**< ',' ';' '|' a tab, or ' ' for any run of blanks and tabs */
    char decimal;   /**< '.' or ',' */
} ovp_text_dialect;

/** One row. All spans are valid during the call only. Fields are trimmed, unquoted and UTF-8. */
typedef struct ovp_text_row {
    uint64_t line; /**< the line on which it begins, from 1 */
    const ovp_span *fields;
    size_t count;  /**< an empty last field (trailing delimiter) counts; missing fields are for the client */
    ovp_span text; /**< the row as it stands, UTF-8, without the line end */
    bool comment;  /**< begins with '#', '%' or "//" */
    bool complete; /**< a line end followed; false only for the last row of a text that was cut */
} ovp_text_row;

/** A streaming reader of delimited text; its memory is the caller's. */
typedef struct ovp_text_delimited ovp_text_delimited;

typedef ovp_status (*ovp_text_row_function)(void *context, const ovp_text_row *row, ovp_error *error);

/** Who takes the rows. */
typedef struct ovp_text_delimited_client {
    /** Called once, when the dialect is known, before the first row; ovp_text_delimited_head gives the rows
     *  of the start without consuming them. May be NULL. */
    ovp_status (*head)(void *context, ovp_text_delimited *parser, ovp_error *error);
    /** Each row that is not blank, in order. A failure ends the reading and is handed on. */
    ovp_text_row_function row;
    void *context;
    /**
     * A short way for rows that need nothing of this parser (no quotes, no comment, only what the client
     * knows to be plain); may be NULL. Offered a stretch that begins with a row, on `line`: takes as many
     * whole rows from its front as it likes, each as `row` would have taken it, adds their number to *rows
     * and returns their bytes, line ends ("\n" or "\r\n") included; 0 hands the first row to `row`. A row
     * that OVP_TEXT_ROW_BYTES or OVP_TEXT_ROW_FIELDS would refuse must not be taken.
     */
    size_t (*plain)(void *context, ovp_span bytes, uint64_t line, uint64_t *rows);
} ovp_text_delimited_client;

/** Bytes of memory that a parser needs (about 180 KiB), aligned to 16. */
size_t ovp_text_delimited_size(void);

/**
 * Make a parser in the caller's memory. It takes UTF-8 (with or without byte order mark), UTF-16 in either
 * order and, line by line where a line is not UTF-8, Windows-1252 (Latin-1); line ends LF, CRLF and CR;
 * comma, semicolon, tab, bar and runs of blanks; fields quoted with `"`, also over lines.
 */
ovp_text_delimited *ovp_text_delimited_init(void *memory, ovp_text_delimited_client client);

/**
 * Any count of bytes, cut anywhere: the rows do not depend on where. Errors: OVP_ERROR_DATA with the line
 * and a hint (zero bytes, a workbook or another binary file, a web page, a line past OVP_TEXT_ROW_BYTES, a
 * quote that is not closed), and whatever the client returns. After a failure the parser stays failed.
 */
ovp_status ovp_text_delimited_feed(ovp_text_delimited *parser, const char *bytes, size_t count,
                                   ovp_error *error);

/** The end of the text. Errors as feed; an empty text is one. */
ovp_status ovp_text_delimited_end(ovp_text_delimited *parser, ovp_error *error);

/** What was found; meaningful from the client's head call on. */
ovp_text_dialect ovp_text_delimited_dialect(const ovp_text_delimited *parser);

/** Inside the client's head call: the rows of the start, as often as wished (the cut last one left out). */
ovp_status ovp_text_delimited_head(ovp_text_delimited *parser, ovp_text_row_function row, void *context,
                                   ovp_error *error);

/**
 * Keep a row as the header: its fields are copied (48 bytes of each at least; long ones cut when 16 KiB
 * are used up) and a leading comment sign is dropped.
 */
void ovp_text_delimited_keep_header(ovp_text_delimited *parser, const ovp_text_row *row);

/** The kept header; count 0 when none was kept. */
const ovp_span *ovp_text_delimited_header(const ovp_text_delimited *parser, size_t *count);

/** Index from 0 of the header field equal to `name` but for letter case; -1 when there is none. */
int ovp_text_delimited_column(const ovp_text_delimited *parser, const char *name);

/** The field at `index` of a row; an empty span where the row is shorter or index is negative. */
ovp_span ovp_text_row_field(const ovp_text_row *row, int index);

/**
 * One field as a number, correctly rounded: decimal point or comma, digits grouped in threes by a blank, a
 * no-break or thin space, an apostrophe or the sign that is not the decimal one, a typographic minus.
 * `decimal` decides only where a number could be either ("1,200"). False for anything else, also not finite.
 */
bool ovp_text_delimited_number(ovp_span field, char decimal, double *value);

/**
 * Find the dialect of the start of a text (UTF-8 or any superset of ASCII). Where nothing speaks for one,
 * comma and point. Never fails.
 */
ovp_text_dialect ovp_text_find_dialect(ovp_span head);

/** Where a row ends: the scan may be continued when more bytes of the same row came. Start it with {0}. */
typedef struct ovp_text_row_scan {
    size_t at; /**< bytes of the row looked at */
    bool quoted;
    bool after_quote;
    char begun;     /**< the first byte that is no blank; 0 before it */
    unsigned lines; /**< line ends inside quotes */
} ovp_text_row_scan;

/** True when the row that begins at row.bytes ends at scan->at (the line end stands there). */
bool ovp_text_find_row_end(ovp_span row, char delimiter, ovp_text_row_scan *scan);

/**
 * Part a row into fields. `own` is row.bytes where the caller may change them: doubled quotes are undone in
 * place; with NULL they stay doubled. Returns the count of fields; more than `capacity` when they did not
 * fit. *open is true when a quote is not closed.
 */
size_t ovp_text_split_row(ovp_span row, char delimiter, char *own, ovp_span fields[], size_t capacity,
                          bool *open);

/* ==== delimited text: end ======================================================================== */

#ifdef __cplusplus
}
#endif

#endif
