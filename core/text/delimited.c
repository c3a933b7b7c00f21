#include "text_internal.h"

#include <string.h>

/* Bytes -> UTF-8 -> rows. UTF-16 is turned on the way in; everything else is a superset of ASCII, so rows
 * and fields are found on the bytes and only a row with a byte above 0x7F is looked at again. The buffer
 * first holds the start of the text (the dialect is found on it), later the unfinished row. */

enum {
    START_BYTES = 64, /* enough to know UTF-16 by */
    HEADER_BYTES = 16384,
    HEADER_FIELD = 48,
    STEP = 256, /* bytes added to an unfinished row at a time */
    TURN_BYTES = 4096,
};

typedef enum phase {
    PHASE_HEAD,
    PHASE_ROWS,
    PHASE_FAILED,
} phase;

struct ovp_text_delimited {
    ovp_text_delimited_client client;
    phase phase;
    ovp_status failure;
    text_encoding encoding;
    ovp_text_dialect dialect;
    uint64_t line;
    bool after_return; /* a row ended in CR: an LF behind it belongs to the same line end */
    bool any_byte;
    ovp_text_row_scan scan;
    unsigned pause, pause_next; /* rows until the client is offered plain rows again */
    size_t start_count;
    char start[START_BYTES];
    unsigned char half; /* the first byte of a UTF-16 unit that was cut */
    bool has_half;
    unsigned surrogate;
    size_t header_count;
    size_t header_used;
    char header_text[HEADER_BYTES];
    ovp_span header[OVP_TEXT_ROW_FIELDS];
    size_t count;
    char buffer[OVP_TEXT_HEAD_BYTES];
    char scratch[2 * OVP_TEXT_ROW_BYTES];
    ovp_span fields[OVP_TEXT_ROW_FIELDS];
};

size_t ovp_text_delimited_size(void)
{
    return sizeof(ovp_text_delimited);
}

ovp_text_delimited *ovp_text_delimited_init(void *memory, ovp_text_delimited_client client)
{
    ovp_text_delimited *parser = memory;
    memset(parser, 0, offsetof(ovp_text_delimited, header_text));
    parser->client = client;
    parser->line = 1;
    parser->count = 0;
    parser->dialect = (ovp_text_dialect){',', '.'};
    return parser;
}

ovp_text_dialect ovp_text_delimited_dialect(const ovp_text_delimited *parser)
{
    return parser->dialect;
}

static ovp_status fail(ovp_text_delimited *parser, ovp_error *error, ovp_status status)
{
    parser->phase = PHASE_FAILED;
    parser->failure = status;
    ovp_error_place(error, NULL, parser->line);
    return status;
}

/* ---- one row ------------------------------------------------------------------------------------- */

static bool is_comment(ovp_span row)
{
    row = ovp_span_trim(row);
    return row.count > 0 && (row.bytes[0] == '#' || row.bytes[0] == '%' ||
                             (row.count > 1 && row.bytes[0] == '/' && row.bytes[1] == '/'));
}

static ovp_status too_many_fields(ovp_error *error)
{
    ovp_status status =
        ovp_error_set(error, OVP_ERROR_DATA, "a row of more than %d fields", OVP_TEXT_ROW_FIELDS);
    ovp_error_hint(error, "keep the time and the columns you need, at most %d", OVP_TEXT_ROW_FIELDS);
    return status;
}

static ovp_status unterminated(ovp_error *error)
{
    ovp_status status = ovp_error_set(error, OVP_ERROR_DATA, "a quote that opens here is never closed");
    ovp_error_hint(error, "close the quote (\") or take it out");
    return status;
}

/* A row's bytes lie in the buffer or in the caller's chunk; only scratch is written. */
static ovp_status give_row(ovp_text_delimited *parser, ovp_span bytes, bool complete,
                           ovp_text_row_function function, void *context, uint64_t line, ovp_error *error)
{
    if (ovp_span_trim(bytes).count == 0)
        return OVP_OK;
    ovp_span row = bytes;
    if (!text_is_ascii(row) && !text_is_utf8(row))
        row = text_from_latin(row, parser->scratch);
    bool quotes = memchr(row.bytes, '"', row.count) != NULL;
    if (quotes && row.bytes != parser->scratch) {
        memcpy(parser->scratch, row.bytes, row.count);
        row.bytes = parser->scratch;
    }
    bool open = false;
    ovp_text_row result = {.line = line, .fields = parser->fields, .text = bytes, .complete = complete};
    result.comment = is_comment(row);
    if (!quotes)
        result.text = row;
    result.count = ovp_text_split_row(row, parser->dialect.delimiter, quotes ? parser->scratch : NULL,
                                      parser->fields, OVP_TEXT_ROW_FIELDS, &open);
    if (open && !result.comment && !complete)
        return unterminated(error);
    if (result.count > OVP_TEXT_ROW_FIELDS)
        return too_many_fields(error);
    ovp_status status = function(context, &result, error);
    if (status != OVP_OK)
        ovp_error_place(error, NULL, line);
    return status;
}

/* ---- rows of a stretch of bytes ------------------------------------------------------------------ */

static ovp_status too_long(const ovp_text_row_scan *scan, ovp_error *error)
{
    if (scan->quoted)
        return unterminated(error);
    ovp_status status =
        ovp_error_set(error, OVP_ERROR_DATA, "a line of more than %d bytes", OVP_TEXT_ROW_BYTES);
    ovp_error_hint(error,
                   "this does not look like a log: one row for each sample, each on a line of its own");
    return status;
}

static bool past_bounds(const ovp_text_row_scan *scan)
{
    return scan->at > OVP_TEXT_ROW_BYTES || (scan->quoted && scan->lines > OVP_TEXT_QUOTED_LINES);
}

/* Where a walk over rows stands; the parser's own, or one that only looks. */
typedef struct walk {
    ovp_text_row_scan scan;
    uint64_t line;
    bool after_return;
} walk;

enum {
    LONGEST_PAUSE = 7, /* an offer in vain costs a tenth of a row */
};

/* The client takes what plain rows there are; where it takes none it is asked less and less often. */
static void offer_plain(ovp_text_delimited *parser, ovp_span *left, walk *at)
{
    if (parser->phase != PHASE_ROWS || parser->client.plain == NULL || at->scan.at != 0)
        return;
    if (parser->pause > 0) {
        parser->pause--;
        return;
    }
    uint64_t rows = 0;
    size_t taken = parser->client.plain(parser->client.context, *left, at->line, &rows);
    parser->pause_next = taken > 0 ? 0 : 2 * parser->pause_next + 1;
    if (parser->pause_next > LONGEST_PAUSE)
        parser->pause_next = LONGEST_PAUSE;
    parser->pause = parser->pause_next;
    at->line += rows;
    left->bytes += taken;
    left->count -= taken;
}

/*
 * Gives the complete rows of `bytes` and says how many bytes they took. What is left is the start of a row,
 * which walk->scan has looked at.
 */
static ovp_status give_rows(ovp_text_delimited *parser, ovp_span bytes, walk *at,
                            ovp_text_row_function function, void *context, size_t *used, ovp_error *error)
{
    ovp_span left = bytes;
    *used = 0;
    while (left.count > 0) {
        if (at->after_return && left.bytes[0] == '\n' && at->scan.at == 0) {
            left.bytes++;
            left.count--;
            at->after_return = false;
            *used = bytes.count - left.count;
            continue;
        }
        at->after_return = false;
        offer_plain(parser, &left, at);
        *used = bytes.count - left.count;
        bool ended = ovp_text_find_row_end(left, parser->dialect.delimiter, &at->scan);
        if (past_bounds(&at->scan))
            return too_long(&at->scan, error);
        if (!ended)
            break;
        ovp_status status =
            give_row(parser, (ovp_span){left.bytes, at->scan.at}, true, function, context, at->line, error);
        if (status != OVP_OK)
            return status;
        at->after_return = left.bytes[at->scan.at] == '\r';
        at->line += 1 + at->scan.lines;
        left.count -= at->scan.at + 1;
        left.bytes += at->scan.at + 1;
        at->scan = (ovp_text_row_scan){0};
        *used = bytes.count - left.count;
    }
    return OVP_OK;
}

static ovp_status give_own_rows(ovp_text_delimited *parser, ovp_span bytes, size_t *used, ovp_error *error)
{
    walk at = {parser->scan, parser->line, parser->after_return};
    ovp_status status =
        give_rows(parser, bytes, &at, parser->client.row, parser->client.context, used, error);
    parser->scan = at.scan;
    parser->line = at.line;
    parser->after_return = at.after_return;
    return status == OVP_OK ? OVP_OK : fail(parser, error, status);
}

ovp_status ovp_text_delimited_head(ovp_text_delimited *parser, ovp_text_row_function row, void *context,
                                   ovp_error *error)
{
    walk at = {.line = 1};
    size_t used = 0;
    ovp_status status =
        give_rows(parser, (ovp_span){parser->buffer, parser->count}, &at, row, context, &used, error);
    bool whole = parser->count < sizeof parser->buffer; /* the text ended: its last row may be uncut */
    if (status == OVP_OK && whole && at.scan.quoted)
        status = unterminated(error);
    else if (status == OVP_OK && whole && used < parser->count)
        status = give_row(parser, (ovp_span){parser->buffer + used, parser->count - used}, false, row,
                          context, at.line, error);
    ovp_error_place(status == OVP_OK ? NULL : error, NULL, at.line);
    return status;
}

/* ---- the start ----------------------------------------------------------------------------------- */

static bool begins(ovp_span text, const char *word)
{
    size_t length = strlen(word);
    return text.count >= length && ovp_span_equals((ovp_span){text.bytes, length}, word);
}

static ovp_status check_not_html(ovp_span head, ovp_error *error)
{
    static const char *const starts[] = {"<!doctype", "<html", "<?xml", "<head", "<body", "<table", "<!--"};
    head = ovp_span_trim(head);
    for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++) {
        if (!begins(head, starts[i]))
            continue;
        ovp_status status =
            ovp_error_set(error, OVP_ERROR_DATA, "this is a web page (HTML or XML), not a log");
        ovp_error_hint(error, "download the log itself, or export the table as CSV");
        return status;
    }
    return OVP_OK;
}

static ovp_status check_not_binary(ovp_span head, ovp_error *error)
{
    size_t controls = 0;
    for (size_t i = 0; i < head.count; i++) {
        unsigned char byte = (unsigned char)head.bytes[i];
        bool blank = (byte >= '\t' && byte <= '\r') || byte == 0x1A; /* 1A once ended a text */
        controls += byte < 0x20 && !blank;
    }
    bool workbook = head.count > 4 && memcmp(head.bytes, "PK\x03\x04", 4) == 0;
    if (!workbook && (controls < 3 || controls * 50 <= head.count))
        return OVP_OK;
    ovp_status status = ovp_error_set(error, OVP_ERROR_DATA,
                                      workbook ? "this is a workbook or a zip archive, not delimited text"
                                               : "this is a binary file, not delimited text");
    ovp_error_hint(error, "open it in the program that wrote it and save or export it as CSV");
    return status;
}

static ovp_status check_head(ovp_text_delimited *parser, ovp_error *error)
{
    ovp_span head = {parser->buffer, parser->count};
    ovp_status status = check_not_binary(head, error);
    if (status == OVP_OK)
        status = check_not_html(head, error);
    if (status != OVP_OK || ovp_span_trim(head).count > 0)
        return status;
    status = ovp_error_set(error, OVP_ERROR_DATA, "the file is empty");
    ovp_error_hint(error, "export the log again; it needs a time and a temperature in each row");
    return status;
}

static ovp_status begin_rows(ovp_text_delimited *parser, ovp_error *error)
{
    ovp_status status = check_head(parser, error);
    if (status != OVP_OK)
        return fail(parser, error, status);
    parser->dialect = ovp_text_find_dialect((ovp_span){parser->buffer, parser->count});
    if (parser->client.head != NULL) {
        status = parser->client.head(parser->client.context, parser, error);
        if (status != OVP_OK)
            return fail(parser, error, status);
    }
    parser->phase = PHASE_ROWS;
    size_t used = 0;
    status = give_own_rows(parser, (ovp_span){parser->buffer, parser->count}, &used, error);
    if (status != OVP_OK)
        return status;
    parser->count -= used;
    memmove(parser->buffer, parser->buffer + used, parser->count);
    return OVP_OK;
}

/* Adds to the unfinished row in the buffer until it is given; says how many bytes of the chunk that took. */
static ovp_status finish_row(ovp_text_delimited *parser, ovp_span chunk, size_t *taken, ovp_error *error)
{
    *taken = 0;
    while (parser->count > 0 && *taken < chunk.count) {
        size_t step = chunk.count - *taken < STEP ? chunk.count - *taken : STEP;
        memcpy(parser->buffer + parser->count, chunk.bytes + *taken, step);
        ovp_text_row_scan scan = parser->scan;
        bool ended = ovp_text_find_row_end((ovp_span){parser->buffer, parser->count + step},
                                           parser->dialect.delimiter, &scan);
        size_t total = ended ? scan.at + 1 : parser->count + step;
        size_t used = 0;
        ovp_status status = give_own_rows(parser, (ovp_span){parser->buffer, total}, &used, error);
        if (status != OVP_OK)
            return status;
        *taken += total - parser->count;
        parser->count = total - used;
    }
    return OVP_OK;
}

/* UTF-8 in. */
static ovp_status feed_text(ovp_text_delimited *parser, ovp_span chunk, ovp_error *error)
{
    if (parser->phase == PHASE_HEAD) {
        size_t room = sizeof parser->buffer - parser->count;
        size_t part = chunk.count < room ? chunk.count : room;
        memcpy(parser->buffer + parser->count, chunk.bytes, part);
        parser->count += part;
        if (parser->count < sizeof parser->buffer)
            return OVP_OK;
        ovp_status status = begin_rows(parser, error);
        if (status != OVP_OK)
            return status;
        chunk = (ovp_span){chunk.bytes + part, chunk.count - part};
    }
    size_t taken = 0;
    ovp_status status = finish_row(parser, chunk, &taken, error);
    if (status != OVP_OK || taken == chunk.count)
        return status;
    chunk = (ovp_span){chunk.bytes + taken, chunk.count - taken};
    size_t used = 0;
    status = give_own_rows(parser, chunk, &used, error);
    if (status != OVP_OK)
        return status;
    parser->count = chunk.count - used;
    memcpy(parser->buffer, chunk.bytes + used, parser->count);
    return OVP_OK;
}

/* ---- encodings ----------------------------------------------------------------------------------- */

static ovp_status feed_ascii_like(ovp_text_delimited *parser, ovp_span chunk, ovp_error *error)
{
    const char *zero = memchr(chunk.bytes, 0, chunk.count);
    if (zero == NULL)
        return feed_text(parser, chunk, error);
    ovp_status status = feed_text(parser, (ovp_span){chunk.bytes, (size_t)(zero - chunk.bytes)}, error);
    if (status == OVP_OK && parser->phase == PHASE_HEAD) {
        for (size_t i = 0; i < parser->count; i++)
            parser->line += parser->buffer[i] == '\n';
    }
    if (status != OVP_OK)
        return status;
    status = ovp_error_set(error, OVP_ERROR_DATA,
                           "a zero byte (NUL): this is no text, or its writing was cut off");
    ovp_error_hint(error,
                   "if a power cut ended the recording, keep the lines before this one; otherwise export it "
                   "again as text");
    return fail(parser, error, status);
}

/* One UTF-16 unit to UTF-8: returns the bytes written, 0 while half a pair is held. */
static size_t turn_unit(ovp_text_delimited *parser, unsigned unit, char *out)
{
    unsigned high = parser->surrogate;
    parser->surrogate = 0;
    if (unit >= 0xD800 && unit < 0xDC00) {
        parser->surrogate = unit;
        return high != 0 ? text_utf8_encode(out, 0xFFFD) : 0;
    }
    if (unit < 0xDC00 || unit >= 0xE000) {
        size_t count = high != 0 ? text_utf8_encode(out, 0xFFFD) : 0;
        return count + text_utf8_encode(out + count, unit);
    }
    return text_utf8_encode(out, high == 0 ? 0xFFFD : 0x10000 + ((high - 0xD800) << 10) + (unit - 0xDC00));
}

static ovp_status feed_utf16(ovp_text_delimited *parser, ovp_span chunk, ovp_error *error)
{
    char turned[TURN_BYTES];
    size_t count = 0;
    for (size_t i = 0; i < chunk.count; i++) {
        unsigned char byte = (unsigned char)chunk.bytes[i];
        if (!parser->has_half) {
            parser->half = byte;
            parser->has_half = true;
            continue;
        }
        parser->has_half = false;
        unsigned unit = parser->encoding == TEXT_ENCODING_UTF16_LITTLE ? parser->half | (unsigned)byte << 8
                                                                       : (unsigned)parser->half << 8 | byte;
        count += turn_unit(parser, unit, turned + count);
        if (count < sizeof turned - 8)
            continue;
        ovp_status status = feed_ascii_like(parser, (ovp_span){turned, count}, error);
        if (status != OVP_OK)
            return status;
        count = 0;
    }
    return feed_ascii_like(parser, (ovp_span){turned, count}, error);
}

static ovp_status feed_known(ovp_text_delimited *parser, ovp_span chunk, ovp_error *error)
{
    return parser->encoding == TEXT_ENCODING_ASCII_LIKE ? feed_ascii_like(parser, chunk, error)
                                                        : feed_utf16(parser, chunk, error);
}

static ovp_status begin_encoding(ovp_text_delimited *parser, ovp_error *error)
{
    size_t mark = 0;
    parser->encoding = text_find_encoding((ovp_span){parser->start, parser->start_count}, &mark);
    return feed_known(parser, (ovp_span){parser->start + mark, parser->start_count - mark}, error);
}

ovp_status ovp_text_delimited_feed(ovp_text_delimited *parser, const char *bytes, size_t count,
                                   ovp_error *error)
{
    if (parser->phase == PHASE_FAILED)
        return parser->failure;
    if (count == 0)
        return OVP_OK;
    ovp_span chunk = {bytes, count};
    if (parser->encoding == TEXT_ENCODING_UNKNOWN) {
        size_t room = sizeof parser->start - parser->start_count;
        size_t part = count < room ? count : room;
        memcpy(parser->start + parser->start_count, bytes, part);
        parser->start_count += part;
        if (parser->start_count < sizeof parser->start)
            return OVP_OK;
        ovp_status status = begin_encoding(parser, error);
        if (status != OVP_OK)
            return status;
        chunk = (ovp_span){bytes + part, count - part};
    }
    return feed_known(parser, chunk, error);
}

ovp_status ovp_text_delimited_end(ovp_text_delimited *parser, ovp_error *error)
{
    if (parser->phase == PHASE_FAILED)
        return parser->failure;
    if (parser->encoding == TEXT_ENCODING_UNKNOWN) {
        ovp_status status = begin_encoding(parser, error);
        if (status != OVP_OK)
            return status;
    }
    if (parser->phase == PHASE_HEAD) {
        ovp_status status = begin_rows(parser, error);
        if (status != OVP_OK)
            return status;
    }
    if (parser->count == 0)
        return OVP_OK;
    if (parser->scan.quoted)
        return fail(parser, error, unterminated(error));
    ovp_status status = give_row(parser, (ovp_span){parser->buffer, parser->count}, false, parser->client.row,
                                 parser->client.context, parser->line, error);
    parser->count = 0;
    return status == OVP_OK ? OVP_OK : fail(parser, error, status);
}

/* ---- header -------------------------------------------------------------------------------------- */

static ovp_span without_comment_sign(ovp_span field)
{
    while (field.count > 0 && (field.bytes[0] == '#' || field.bytes[0] == '%' || field.bytes[0] == '/'))
        field = (ovp_span){field.bytes + 1, field.count - 1};
    return ovp_span_trim(field);
}

void ovp_text_delimited_keep_header(ovp_text_delimited *parser, const ovp_text_row *row)
{
    parser->header_count = 0;
    parser->header_used = 0;
    const ovp_span *fields = row->fields;
    size_t count = row->count;
    if (row->comment && count > 1 && without_comment_sign(fields[0]).count == 0) {
        fields++; /* blanks part the fields: the sign stands alone */
        count--;
    }
    for (size_t i = 0; i < count; i++) {
        ovp_span field = i == 0 && row->comment ? without_comment_sign(fields[0]) : fields[i];
        size_t room = sizeof parser->header_text - parser->header_used;
        size_t fair = room / (count - i);
        size_t size = fair > HEADER_FIELD ? fair : room < HEADER_FIELD ? room : HEADER_FIELD;
        char *to = parser->header_text + parser->header_used;
        ovp_copy_string(to, size, field);
        parser->header[i] = (ovp_span){to, size > 0 ? strlen(to) : 0};
        parser->header_used += size > 0 ? parser->header[i].count + 1 : 0;
        parser->header_count++;
    }
}

const ovp_span *ovp_text_delimited_header(const ovp_text_delimited *parser, size_t *count)
{
    *count = parser->header_count;
    return parser->header;
}

int ovp_text_delimited_column(const ovp_text_delimited *parser, const char *name)
{
    for (size_t i = 0; i < parser->header_count; i++)
        if (ovp_span_equals(parser->header[i], name))
            return (int)i;
    return -1;
}

ovp_span ovp_text_row_field(const ovp_text_row *row, int index)
{
    if (index < 0 || (size_t)index >= row->count)
        return (ovp_span){"", 0};
    return row->fields[index];
}
