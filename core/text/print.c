#include "text_internal.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    PRINT_SIZE = 4096,
};

static ovp_status put(ovp_sink sink, const char *bytes, size_t count)
{
    return count == 0 ? OVP_OK : sink.write(sink.context, bytes, count);
}

static ovp_status put_blanks(ovp_sink sink, size_t count)
{
    static const char blanks[] = "                                ";
    ovp_status status = OVP_OK;
    while (count > 0 && status == OVP_OK) {
        size_t part = count < sizeof blanks - 1 ? count : sizeof blanks - 1;
        status = put(sink, blanks, part);
        count -= part;
    }
    return status;
}

ovp_status ovp_text_print(ovp_sink sink, const char *format, ...)
{
    char formatted[PRINT_SIZE + 2], cut[PRINT_SIZE + 1]; /* one more byte, to see where the cut falls */
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(formatted, sizeof formatted, format, arguments);
    va_end(arguments);
    if (length < 0)
        return OVP_ERROR_USAGE;
    if (length <= PRINT_SIZE)
        return put(sink, formatted, (size_t)length);
    ovp_copy_string(cut, sizeof cut, (ovp_span){formatted, PRINT_SIZE + 1});
    return put(sink, cut, strlen(cut));
}

typedef struct range {
    uint32_t first, last;
} range;

/* Unicode Standard Annex 11, classes W and F, whole blocks where a block is wide throughout. */
static const range wide_ranges[] = {
    {0x1100, 0x115F},   {0x2E80, 0x303E},   {0x3041, 0x33FF},   {0x3400, 0x4DBF},   {0x4E00, 0x9FFF},
    {0xA000, 0xA4CF},   {0xA960, 0xA97F},   {0xAC00, 0xD7A3},   {0xF900, 0xFAFF},   {0xFE30, 0xFE6F},
    {0xFF00, 0xFF60},   {0xFFE0, 0xFFE6},   {0x1F300, 0x1F64F}, {0x1F680, 0x1F6FF}, {0x1F900, 0x1F9FF},
    {0x20000, 0x2FFFD}, {0x30000, 0x3FFFD},
};

/* Marks that stand on the letter before them, and characters that show nothing. */
static const range empty_ranges[] = {
    {0x0000, 0x001F}, {0x007F, 0x009F}, {0x0300, 0x036F}, {0x0483, 0x0489},
    {0x0591, 0x05BD}, {0x200B, 0x200F}, {0x202A, 0x202E}, {0x2060, 0x2064},
    {0x20D0, 0x20FF}, {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}, {0xFEFF, 0xFEFF},
};

static bool is_in(uint32_t code, const range ranges[], size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (code >= ranges[i].first && code <= ranges[i].last)
            return true;
    return false;
}

static size_t columns_of_span(ovp_span text)
{
    size_t columns = 0;
    while (text.count > 0) {
        uint32_t code;
        size_t length = text_utf8_decode(text, &code);
        text.bytes += length;
        text.count -= length;
        if (is_in(code, empty_ranges, sizeof empty_ranges / sizeof empty_ranges[0]))
            continue;
        columns += is_in(code, wide_ranges, sizeof wide_ranges / sizeof wide_ranges[0]) ? 2 : 1;
    }
    return columns;
}

size_t ovp_text_columns(const char *string)
{
    return columns_of_span(ovp_span_of(string));
}

typedef struct folding {
    ovp_sink sink;
    size_t width, indent;
    size_t column;
    bool line_empty; /* no word yet: the next word is never moved to a new line */
    ovp_status status;
} folding;

static void fold_new_line(folding *fold)
{
    if (fold->status == OVP_OK)
        fold->status = put(fold->sink, "\n", 1);
    fold->column = 0;
    fold->line_empty = true;
}

static void fold_word(folding *fold, ovp_span word, size_t indent)
{
    size_t columns = columns_of_span(word);
    if (!fold->line_empty && fold->column + 1 + columns > fold->width) {
        fold_new_line(fold);
        indent = fold->indent;
    }
    size_t blanks = fold->line_empty ? indent : 1;
    if (fold->status == OVP_OK)
        fold->status = put_blanks(fold->sink, blanks);
    if (fold->status == OVP_OK)
        fold->status = put(fold->sink, word.bytes, word.count);
    fold->column += blanks + columns;
    fold->line_empty = false;
}

ovp_status ovp_text_fold(ovp_sink sink, const char *string, size_t width, size_t indent_first, size_t indent)
{
    folding fold = {.sink = sink, .width = width, .indent = indent, .line_empty = true, .status = OVP_OK};
    size_t indent_now = indent_first;
    while (*string != '\0') {
        if (*string == '\n') {
            if (string[1] != '\0')
                fold_new_line(&fold);
            indent_now = indent;
            string++;
            continue;
        }
        if (*string == ' ' || *string == '\t' || *string == '\r') {
            string++;
            continue;
        }
        size_t length = strcspn(string, " \t\r\n");
        fold_word(&fold, (ovp_span){string, length}, indent_now);
        string += length;
    }
    fold_new_line(&fold);
    return fold.status;
}

ovp_status ovp_text_table_row(ovp_sink sink, const char *const cells[], const int widths[], size_t count)
{
    size_t owed = 0; /* blanks that are written only when something follows them */
    ovp_status status = OVP_OK;
    for (size_t i = 0; i < count && status == OVP_OK; i++) {
        const char *cell = cells[i] == NULL ? "" : cells[i];
        size_t columns = ovp_text_columns(cell);
        size_t width = (size_t)abs(widths[i]);
        size_t pad = width > columns ? width - columns : 0;
        if (widths[i] < 0)
            owed += pad;
        if (cell[0] != '\0') {
            status = put_blanks(sink, owed);
            owed = 0;
            if (status == OVP_OK)
                status = put(sink, cell, strlen(cell));
        }
        if (widths[i] >= 0)
            owed += pad;
        owed += 2;
    }
    return status == OVP_OK ? put(sink, "\n", 1) : status;
}
