/* The parser of delimited text by itself: numbers, bounds, binary input, header access. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "ovenproof/text.h"

/* ---- numbers ---------------------------------------------------------------------------------------------
 */

typedef struct number_case {
    const char *text;
    char decimal;
    double value;
} number_case;

static void reads_numbers_of_every_style(void **state)
{
    (void)state;
    static const number_case cases[] = {
        {"20.5", '.', 20.5},
        {"20,5", '.', 20.5}, /* no group of three: can only be decimal */
        {"20.5", ',', 20.5},
        {"1,200", '.', 1200.0},
        {"1,200", ',', 1.2},
        {"1.200", ',', 1200.0},
        {"1.200", '.', 1.2},
        {"0,200", '.', 0.2}, /* no group begins with 0 */
        {"1,234.5", ',', 1234.5},
        {"1.234,5", '.', 1234.5},
        {"1.234.567", '.', 1234567.0},
        {"1,234,567", ',', 1234567.0},
        {"1 234 567,25", ',', 1234567.25},
        {"1\xC2\xA0"
         "234.5",
         '.', 1234.5},
        {"1\xE2\x80\xAF"
         "234.5",
         '.', 1234.5},
        {"1'234.5", '.', 1234.5},
        {"\xE2\x88\x92"
         "5.5",
         '.', -5.5},
        {"-5,5", ',', -5.5},
        {"+5", '.', 5.0},
        {" \xC2\xA0 7 \xC2\xA0", '.', 7.0},
        {".5", '.', 0.5},
        {"5.", '.', 5.0},
        {"1.5e3", '.', 1500.0},
        {"1,5E-3", ',', 0.0015},
        {"9007199254740993", '.', 9007199254740992.0}, /* ties to even, as strtod */
        {"0.1", '.', 0.1},
        {"123456789012345678901234567890", '.', 123456789012345678901234567890.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double value = NAN;
        bool read = ovp_text_delimited_number(ovp_span_of(cases[i].text), cases[i].decimal, &value);
        if (!read || value != cases[i].value)
            fail_msg("\"%s\" gave %.17g", cases[i].text, value);
    }
}

static void refuses_what_is_no_number(void **state)
{
    (void)state;
    static const char *const texts[] = {"",        " ",     "-",     "+",           ".",      ",",     "e5",
                                        "1e",      "1,2,3", "1.2.3", "12 34",       "1 2345", "0 123", "1,",
                                        "nan",     "inf",   "1e999", "0x10",        "5 C",    "1-2",   "1.5.",
                                        "1,234,5", "--5",   "1e5.5", "1.234,567.8", "1''234"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        double value = 0.0;
        if (ovp_text_delimited_number(ovp_span_of(texts[i]), ',', &value))
            fail_msg("\"%s\" was read as %g", texts[i], value);
    }
}

/* ---- rows -------------------------------------------------------------------------------------------------
 */

typedef struct rows {
    char text[4096]; /* fields between bars, rows between newlines */
    uint64_t count;
    uint64_t last_line;
    size_t last_count;
    ovp_text_delimited *parser;
    bool keep;
} rows;

static ovp_status take(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)error;
    rows *to = context;
    if (to->keep && to->count == 0)
        ovp_text_delimited_keep_header(to->parser, row);
    to->count++;
    to->last_line = row->line;
    to->last_count = row->count;
    for (size_t i = 0; i < row->count; i++) {
        size_t at = strlen(to->text);
        if (at + row->fields[i].count + 2 < sizeof to->text) {
            memcpy(to->text + at, row->fields[i].bytes, row->fields[i].count);
            strcpy(to->text + at + row->fields[i].count, "|");
        }
    }
    strncat(to->text, "\n", sizeof to->text - strlen(to->text) - 1);
    return OVP_OK;
}

static ovp_status read_bytes(const char *bytes, size_t count, size_t piece, rows *to, ovp_error *error)
{
    void *memory = malloc(ovp_text_delimited_size());
    assert_non_null(memory);
    to->parser = ovp_text_delimited_init(memory, (ovp_text_delimited_client){.row = take, .context = to});
    ovp_status status = OVP_OK;
    for (size_t at = 0; at < count && status == OVP_OK; at += piece)
        status =
            ovp_text_delimited_feed(to->parser, bytes + at, count - at < piece ? count - at : piece, error);
    if (status == OVP_OK)
        status = ovp_text_delimited_end(to->parser, error);
    if (!to->keep)
        free(memory);
    return status;
}

static void parts_rows(void **state)
{
    (void)state;
    static const char text[] = "a;b;\"c;\"\"d\"\"\"\r\n\r\n\"two\r\nlines\"; x ;\r1;2;3";
    for (size_t piece = 1; piece < sizeof text; piece++) {
        rows got = {.count = 0};
        ovp_error error = {0};
        assert_int_equal(read_bytes(text, sizeof text - 1, piece, &got, &error), OVP_OK);
        assert_string_equal(got.text, "a|b|c;\"d\"|\ntwo\r\nlines|x||\n1|2|3|\n");
        assert_int_equal(got.last_line, 5); /* a quoted line end counts, CRLF once */
    }
}

static void gives_access_to_the_header(void **state)
{
    (void)state;
    static const char text[] = "# nominal_C, reference_C ,Reading_C\n1,2,3\n";
    rows got = {.keep = true};
    ovp_error error = {0};
    assert_int_equal(read_bytes(text, sizeof text - 1, 7, &got, &error), OVP_OK);
    size_t count = 0;
    const ovp_span *header = ovp_text_delimited_header(got.parser, &count);
    assert_int_equal(count, 3);
    assert_true(ovp_span_equals(header[0], "nominal_C"));
    assert_int_equal(ovp_text_delimited_column(got.parser, "reading_c"), 2);
    assert_int_equal(ovp_text_delimited_column(got.parser, "reading"), -1);
    free(got.parser);
}

static void takes_hundreds_of_columns(void **state)
{
    (void)state;
    static char text[2 * 1024 * 24];
    for (size_t columns = 900; columns <= 1100; columns += 100) {
        size_t length = 0;
        for (size_t i = 0; i < columns; i++)
            length += (size_t)snprintf(text + length, sizeof text - length, "%zu.5%s", i,
                                       i + 1 < columns ? "," : "\n");
        rows got = {.count = 0};
        ovp_error error = {0};
        ovp_status status = read_bytes(text, length, 1000, &got, &error);
        if (columns <= OVP_TEXT_ROW_FIELDS) {
            assert_int_equal(status, OVP_OK);
            assert_int_equal(got.last_count, columns);
        } else {
            assert_int_equal(status, OVP_ERROR_DATA);
            assert_non_null(strstr(error.what, "fields"));
        }
    }
}

/* ---- bounds -------------------------------------------------------------------------------------- */

static void refused(const char *bytes, size_t count, const char *what, uint64_t line)
{
    static const size_t pieces[] = {1u << 20, 4096, 97};
    for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
        rows got = {.count = 0};
        ovp_error error = {0};
        assert_int_equal(read_bytes(bytes, count, pieces[i], &got, &error), OVP_ERROR_DATA);
        if (strstr(error.what, what) == NULL || error.hint[0] == '\0' || error.line != line)
            fail_msg("line %lu: %s / %s", (unsigned long)error.line, error.what, error.hint);
    }
}

static void refuses_a_line_of_five_megabytes(void **state)
{
    (void)state;
    size_t count = 5u << 20;
    char *text = malloc(count);
    assert_non_null(text);
    memset(text, '7', count);
    memcpy(text, "0,20\n1,21\n", 10);
    refused(text, count, "a line of more than 32768 bytes", 3);
    memset(text, ' ', count); /* blanks are a line, too */
    memcpy(text, "0,20\n1,21\n", 10);
    refused(text, count, "a line of more than 32768 bytes", 3);
    free(text);
}

static void refuses_a_quote_that_swallows_the_file(void **state)
{
    (void)state;
    static char text[100000];
    size_t length = (size_t)snprintf(text, sizeof text, "0,20\n1,\"21\n");
    while (length < 90000)
        length += (size_t)snprintf(text + length, sizeof text - length, "2,22\n");
    refused(text, length, "never closed", 2);
}

static void refuses_binary(void **state)
{
    (void)state;
    static const char image[] = "\x89PNG\r\n\x1a\n\0\0\0\rIHDR";
    static const char workbook[] =
        "PK\x03\x04\x14zzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzz";
    static const char controls[] = "\x01\x02\x03\x04\x05\x06,\x01\x02\x03\x04\x05\x06\n\x01\x02\x03\x04\x05";
    refused(image, sizeof image - 1, "zero byte", 3);
    refused(workbook, sizeof workbook - 1, "workbook", 1);
    refused(controls, sizeof controls - 1, "binary", 1);
    static char late[80000];
    for (size_t i = 0; i + 5 <= sizeof late; i += 5)
        memcpy(late + i, "1,22\n", 5);
    late[79992] = '\0'; /* a recording that a power cut ended */
    refused(late, sizeof late, "zero byte", 79992 / 5 + 1);
}

/* A text of the old kind ends in Ctrl-Z. */
static void takes_an_end_mark(void **state)
{
    (void)state;
    static const char text[] = "0,20\r\n1,21\r\n\x1A";
    rows got = {.count = 0};
    ovp_error error = {0};
    assert_int_equal(read_bytes(text, sizeof text - 1, 5, &got, &error), OVP_OK);
    assert_int_equal(got.count, 3);
}

static ovp_status stop(void *context, const ovp_text_row *row, ovp_error *error)
{
    (void)context;
    if (row->line < 2)
        return OVP_OK;
    return ovp_error_set(error, OVP_ERROR_DATA, "not this row");
}

static void hands_on_what_the_client_says(void **state)
{
    (void)state;
    static const char text[] = "1,2\n3,4\n5,6\n";
    void *memory = malloc(ovp_text_delimited_size());
    ovp_error error = {0};
    assert_non_null(memory);
    ovp_text_delimited *parser = ovp_text_delimited_init(memory, (ovp_text_delimited_client){.row = stop});
    assert_int_equal(ovp_text_delimited_feed(parser, text, sizeof text - 1, &error), OVP_OK);
    assert_int_equal(ovp_text_delimited_end(parser, &error), OVP_ERROR_DATA);
    assert_string_equal(error.what, "not this row");
    assert_int_equal(error.line, 2);
    assert_int_equal(ovp_text_delimited_feed(parser, text, 4, &error), OVP_ERROR_DATA); /* stays failed */
    free(memory);
}

/* ---- dialects ------------------------------------------------------------------------------------ */

static void finds_dialects(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        char delimiter, decimal;
    } cases[] = {
        {"0,20.5\n1,21.5\n", ',', '.'},
        {"0;20,5\n1;21,5\n", ';', ','},
        {"0;20.5;\n1;21.5;\n", ';', '.'},
        {"0\t20,5\n1\t21,5\n", '\t', ','},
        {"0 20.5\n1 21.5\n", ' ', '.'},
        {"0 200,5\n10 210,5\n20 220,5\n", ' ', ','},
        {"0|20\n1|21\n", '|', '.'},
        {"2024-01-02 10:00:00,72\n2024-01-02 10:00:01,73\n", ',', '.'},
        {"2024-01-02 10:00:00\t72.1\n2024-01-02 10:00:01\t73.1\n", '\t', '.'},
        {"01.02.2024 10:00:00;20,5\n01.02.2024 10:00:01;20,6\n", ';', ','},
        {"0, 20.5, 100\n1, 21.5, 100\n", ',', '.'},
        {"a log\nof words only", ',', '.'},
        {"", ',', '.'},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ovp_text_dialect found = ovp_text_find_dialect(ovp_span_of(cases[i].text));
        if (found.delimiter != cases[i].delimiter || found.decimal != cases[i].decimal)
            fail_msg("\"%s\": '%c' and '%c'", cases[i].text, found.delimiter, found.decimal);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_numbers_of_every_style),
        cmocka_unit_test(refuses_what_is_no_number),
        cmocka_unit_test(parts_rows),
        cmocka_unit_test(gives_access_to_the_header),
        cmocka_unit_test(takes_hundreds_of_columns),
        cmocka_unit_test(refuses_a_line_of_five_megabytes),
        cmocka_unit_test(refuses_a_quote_that_swallows_the_file),
        cmocka_unit_test(refuses_binary),
        cmocka_unit_test(takes_an_end_mark),
        cmocka_unit_test(hands_on_what_the_client_says),
        cmocka_unit_test(finds_dialects),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
