#include "ovenproof/base.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

static void error_keeps_the_innermost_place_and_hint(void **state)
{
    (void)state;
    ovp_error error = {0};
    assert_int_equal(ovp_error_set(&error, OVP_ERROR_DATA, "%s is no number", "abc"), OVP_ERROR_DATA);
    ovp_error_place(&error, "run.csv", 12);
    ovp_error_place(&error, "other.csv", 99);
    ovp_error_hint(&error, "write %d", 5);
    ovp_error_hint(&error, "something else");
    assert_string_equal(error.what, "abc is no number");
    assert_string_equal(error.file, "run.csv");
    assert_int_equal(error.line, 12);
    assert_string_equal(error.hint, "write 5");
}

static void error_may_be_null(void **state)
{
    (void)state;
    assert_int_equal(ovp_error_set(NULL, OVP_ERROR_USAGE, "x"), OVP_ERROR_USAGE);
    ovp_error_place(NULL, "f", 1);
    ovp_error_hint(NULL, "h");
}

static void error_shows_no_control_characters(void **state)
{
    (void)state;
    ovp_error error;
    ovp_error_set(&error, OVP_ERROR_DATA, "a%sb", "\x1b[2J\n\xC2\x9B");
    assert_string_equal(error.what, "a?[2J???b");
}

static void error_cuts_between_characters(void **state)
{
    (void)state;
    char long_text[2 * OVP_ERROR_TEXT_SIZE];
    long_text[0] = 'x'; /* so that the two-byte characters straddle the end */
    for (size_t i = 1; i + 2 < sizeof long_text; i += 2)
        memcpy(long_text + i, "\xC2\xB0", 2);
    long_text[sizeof long_text - 1] = '\0';
    ovp_error error;
    ovp_error_set(&error, OVP_ERROR_DATA, "%s", long_text);
    size_t length = strlen(error.what);
    assert_true(length >= OVP_ERROR_TEXT_SIZE - 2);
    assert_int_equal((unsigned char)error.what[length - 1], 0xB0);
}

static void spans_compare_without_case_and_trim(void **state)
{
    (void)state;
    assert_true(ovp_span_equals(ovp_span_of("Type K"), "type k"));
    assert_false(ovp_span_equals(ovp_span_of("Type"), "type k"));
    assert_false(ovp_span_equals(ovp_span_of("Type K"), "type"));
    ovp_span trimmed = ovp_span_trim(ovp_span_of(" \t a b\r\n"));
    assert_int_equal(trimmed.count, 3);
    assert_memory_equal(trimmed.bytes, "a b", 3);
    assert_int_equal(ovp_span_trim(ovp_span_of("  ")).count, 0);
}

static void copying_reports_what_did_not_fit(void **state)
{
    (void)state;
    char small[4];
    assert_true(ovp_copy_string(small, sizeof small, ovp_span_of("abc")));
    assert_string_equal(small, "abc");
    assert_false(ovp_copy_string(small, sizeof small, ovp_span_of("ab\xC2\xB0z")));
    assert_string_equal(small, "ab");
    char tiny[2];
    assert_false(ovp_copy_string(tiny, sizeof tiny, ovp_span_of("\xC2\xB0")));
    assert_string_equal(tiny, ""); /* no half of a letter */
    assert_false(ovp_copy_string(small, sizeof small, ovp_span_of("\xA7\xA7\xA7\xA7\xA7\xA7\xA7")));
    assert_int_equal(strlen(small), sizeof small - 1); /* bytes that are no letters are not lost for it */
    assert_false(ovp_copy_string(small, 0, ovp_span_of("a")));
    assert_int_equal(ovp_span_whole(ovp_span_of("a\xE2\x82")).count, 1);
    assert_int_equal(ovp_span_whole(ovp_span_of("a\xE2\x82\xAC")).count, 4);
    assert_int_equal(ovp_span_whole(ovp_span_of("")).count, 0);
}

static void sizes_do_not_wrap(void **state)
{
    (void)state;
    size_t result = 7;
    assert_true(ovp_add_size(2, 3, &result));
    assert_int_equal(result, 5);
    assert_false(ovp_add_size(SIZE_MAX, 1, &result));
    assert_true(ovp_multiply_size(0, SIZE_MAX, &result));
    assert_int_equal(result, 0);
    assert_false(ovp_multiply_size(SIZE_MAX / 2, 3, &result));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(error_keeps_the_innermost_place_and_hint),
        cmocka_unit_test(error_may_be_null),
        cmocka_unit_test(error_shows_no_control_characters),
        cmocka_unit_test(error_cuts_between_characters),
        cmocka_unit_test(spans_compare_without_case_and_trim),
        cmocka_unit_test(copying_reports_what_did_not_fit),
        cmocka_unit_test(sizes_do_not_wrap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
