#include "ovenproof/text.h"

#include <string.h>

static bool is_blank(char letter)
{
    return letter == ' ' || letter == '\t';
}

static bool is_line_end(char letter)
{
    return letter == '\n' || letter == '\r';
}

static bool parts(char letter, char delimiter)
{
    return letter == delimiter || (delimiter == ' ' && letter == '\t');
}

/* A quote opens only where a field begins: `8" deep` is a length. */
static bool opens_quote(const char *row, size_t at, char delimiter)
{
    if (at > 0 && delimiter == ' ')
        return is_blank(row[at - 1]);
    while (at > 0 && is_blank(row[at - 1]) && row[at - 1] != delimiter)
        at--;
    return at == 0 || row[at - 1] == delimiter;
}

static void scan_quoted(ovp_span row, ovp_text_row_scan *scan)
{
    while (scan->at < row.count) {
        char letter = row.bytes[scan->at++];
        if (letter == '"') {
            scan->quoted = false;
            scan->after_quote = true;
            return;
        }
        bool second = letter == '\n' && scan->at > 1 && row.bytes[scan->at - 2] == '\r';
        scan->lines += is_line_end(letter) && !second;
    }
}

/* High bit of each byte that equals `letter`; bits above the first hit may be wrong. */
static uint64_t equal_bytes(uint64_t eight, char letter)
{
    uint64_t differing = eight ^ (UINT64_C(0x0101010101010101) * (unsigned char)letter);
    return (differing - UINT64_C(0x0101010101010101)) & ~differing & UINT64_C(0x8080808080808080);
}

/* Passes over eight bytes at a time that hold neither a line end nor a quote. */
static size_t skip_plain(ovp_span row, size_t at)
{
    while (at + 8 <= row.count) {
        uint64_t eight = 0;
        memcpy(&eight, row.bytes + at, 8);
        if ((equal_bytes(eight, '\n') | equal_bytes(eight, '\r') | equal_bytes(eight, '"')) != 0)
            break;
        at += 8;
    }
    return at;
}

bool ovp_text_find_row_end(ovp_span row, char delimiter, ovp_text_row_scan *scan)
{
    while (scan->at < row.count) {
        if (scan->quoted) {
            scan_quoted(row, scan);
            continue;
        }
        char letter = row.bytes[scan->at];
        if (is_line_end(letter))
            return true;
        if (scan->begun == 0 && !is_blank(letter))
            scan->begun = letter;
        if (letter == '"' && scan->begun != '#') /* a quote in a comment holds no line end */
            scan->quoted = scan->after_quote || opens_quote(row.bytes, scan->at, delimiter);
        scan->after_quote = false;
        scan->at++;
        if (scan->begun != 0 && !scan->quoted)
            scan->at = skip_plain(row, scan->at);
    }
    return false;
}

typedef struct splitter {
    ovp_span row;
    size_t at;
    char delimiter;
    char *own;
    bool open;
} splitter;

static ovp_span trim(ovp_span field)
{
    bool tight = field.count > 0 && field.bytes[0] > ' ' && field.bytes[field.count - 1] > ' ';
    return tight ? field : ovp_span_trim(field);
}

/* The bytes up to the next delimiter, without the blanks around. */
static ovp_span plain_field(splitter *split)
{
    size_t from = split->at;
    const char *bytes = split->row.bytes;
    while (split->at < split->row.count && !parts(bytes[split->at], split->delimiter))
        split->at++;
    return trim((ovp_span){bytes + from, split->at - from});
}

/* Finds the closing quote; returns false when there is none. */
static bool find_close(const splitter *split, size_t from, size_t *close, bool *doubled)
{
    const char *bytes = split->row.bytes;
    for (size_t i = from; i < split->row.count; i++) {
        if (bytes[i] != '"')
            continue;
        if (i + 1 < split->row.count && bytes[i + 1] == '"') {
            *doubled = true;
            i++;
            continue;
        }
        *close = i;
        return true;
    }
    return false;
}

static ovp_span undouble(const splitter *split, size_t from, size_t to)
{
    size_t length = 0;
    for (size_t i = from; i < to; i++) {
        split->own[from + length++] = split->row.bytes[i];
        if (split->row.bytes[i] == '"')
            i++;
    }
    return (ovp_span){split->own + from, length};
}

static ovp_span quoted_field(splitter *split)
{
    size_t from = split->at + 1;
    size_t close = 0;
    bool doubled = false;
    if (!find_close(split, from, &close, &doubled)) {
        split->open = true;
        return plain_field(split);
    }
    split->at = close + 1;
    ovp_span tail = plain_field(split);
    if (tail.count > 0) /* "Oven" log: the words stay as they are */
        return ovp_span_trim((ovp_span){split->row.bytes + from - 1, split->at - from + 1});
    if (doubled && split->own != NULL)
        return undouble(split, from, close);
    return ovp_span_trim((ovp_span){split->row.bytes + from, close - from});
}

static void skip_blanks(splitter *split)
{
    while (split->at < split->row.count && is_blank(split->row.bytes[split->at]) &&
           (split->delimiter == ' ' || split->row.bytes[split->at] != split->delimiter))
        split->at++;
}

size_t ovp_text_split_row(ovp_span row, char delimiter, char *own, ovp_span fields[], size_t capacity,
                          bool *open)
{
    splitter split = {.row = row, .delimiter = delimiter};
    split.own = own;
    size_t count = 0;
    if (delimiter == ' ') /* blanks at the end begin no field */
        split.row = ovp_span_trim(row);
    for (;;) {
        skip_blanks(&split);
        bool quoted = split.at < split.row.count && split.row.bytes[split.at] == '"';
        ovp_span field = quoted ? quoted_field(&split) : plain_field(&split);
        if (count < capacity)
            fields[count] = field;
        count++;
        if (split.at >= split.row.count)
            break;
        split.at++;
    }
    *open = split.open;
    return count;
}
