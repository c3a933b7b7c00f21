/*
 * The first byte says how the rest is cut and whether a plain stretch past the head goes before it; the rows
 * must not depend on the cuts.
 */
#include "ovenproof/text.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

typedef struct rows {
    uint64_t count;
    uint64_t digest;
    uint64_t last_line;
    ovp_status status;
    ovp_error error;
} rows;

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static void digest(rows *to, const void *bytes, size_t count)
{
    const unsigned char *at = bytes;
    for (size_t i = 0; i < count; i++)
        to->digest = (to->digest ^ at[i]) * UINT64_C(0x100000001B3);
}

static ovp_status take(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)error;
    rows *to = context;
    expect(row->count >= 1 && row->count <= OVP_TEXT_ROW_FIELDS);
    expect(row->line > to->last_line);
    to->last_line = row->line;
    to->count++;
    digest(to, &row->line, sizeof row->line);
    digest(to, &row->complete, sizeof row->complete);
    for (size_t i = 0; i < row->count; i++) {
        ovp_span field = ovp_text_row_field(row, (int)i);
        double value = 0.0;
        digest(to, field.bytes, field.count);
        digest(to, "|", 1);
        if (ovp_text_delimited_number(field, '.', &value))
            digest(to, &value, sizeof value);
        if (ovp_text_delimited_number(field, ',', &value))
            digest(to, &value, sizeof value);
    }
    return OVP_OK;
}

static ovp_status look(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)error;
    ovp_text_delimited *parser = context;
    size_t count = 0;
    ovp_text_delimited_keep_header(parser, row);
    ovp_text_delimited_header(parser, &count);
    expect(count <= row->count);
    ovp_text_delimited_column(parser, "time_s");
    return OVP_OK;
}

static ovp_status head(void *context, ovp_text_delimited *parser, ovp_error *error)
{
    (void)context;
    return ovp_text_delimited_head(parser, look, parser, error);
}

static ovp_status feed_pieces(ovp_text_delimited *parser, const char *bytes, size_t count, size_t piece,
                              ovp_error *error)
{
    ovp_status status = OVP_OK;
    for (size_t at = 0; at < count && status == OVP_OK; at += piece)
        status = ovp_text_delimited_feed(parser, bytes + at, count - at < piece ? count - at : piece, error);
    return status;
}

static void read_all(const uint8_t *data, size_t size, size_t piece, bool past_head, rows *to)
{
    static _Alignas(16) char memory[256 * 1024];
    static const char plain[] = "12.5;20,5;open\r\n";
    expect(sizeof memory >= ovp_text_delimited_size());
    memset(to, 0, sizeof *to);
    ovp_text_delimited *parser = ovp_text_delimited_init(
        memory, (ovp_text_delimited_client){.head = head, .row = take, .context = to});
    for (size_t i = 0; past_head && i < OVP_TEXT_HEAD_BYTES / sizeof plain + 100 && to->status == OVP_OK; i++)
        to->status = ovp_text_delimited_feed(parser, plain, sizeof plain - 1, &to->error);
    if (to->status == OVP_OK)
        to->status = feed_pieces(parser, (const char *)data, size, piece, &to->error);
    if (to->status == OVP_OK)
        to->status = ovp_text_delimited_end(parser, &to->error);
    expect(to->status == OVP_OK || (to->status == OVP_ERROR_DATA && to->error.what[0] != '\0' &&
                                    to->error.hint[0] != '\0' && to->error.line > 0));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    rows whole;
    rows cut;
    if (size < 1)
        return 0;
    bool past_head = (data[0] & 0x80) != 0;
    read_all(data + 1, size - 1, size, past_head, &whole);
    read_all(data + 1, size - 1, 1 + (data[0] & 0x0F), past_head, &cut);
    expect(whole.status == cut.status && whole.count == cut.count && whole.digest == cut.digest);
    expect(whole.error.line == cut.error.line && strcmp(whole.error.what, cut.error.what) == 0);
    return 0;
}
