/* Days of the Gregorian calendar: arithmetic of ISO 8601, checked against known days. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "ovenproof/text.h"

static long day(const char *text)
{
    long number = -1;
    if (!ovp_text_day(ovp_span_of(text), &number))
        fail_msg("\"%s\" was refused", text);
    return number;
}

/* POSIX.1: 1970-01-01 is day 0, and 2000-03-01 is day 11017 (951868800 s). */
static void known_days(void **state)
{
    (void)state;
    assert_int_equal(day("1970-01-01"), 0);
    assert_int_equal(day("2000-03-01"), 11017);
    assert_int_equal(day("2026-11-25"), 20782);                 /* 1795564800 s */
    assert_int_equal(day("1900-03-01") - day("1900-02-28"), 1); /* no leap year */
    assert_int_equal(day("2000-03-01") - day("2000-02-28"), 2);
    assert_int_equal(day(" 1969-12-31 "), -1);
}

static void no_days(void **state)
{
    (void)state;
    static const char *const rows[] = {
        "",         "2026-02-29", "2026-13-01", "2026-00-10",  "2026-04-31", "2026-1-1",    "2026/01/01",
        "26-01-01", "2026-01-00", "0999-12-31", "12026-01-01", "2026-01-1x", "2026-01-011", "-026-01-01"};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        long number = 7;
        assert_false(ovp_text_day(ovp_span_of(rows[i]), &number));
    }
}

/* Every day of the calendar comes back as itself, and follows the one before. */
static void there_and_back(void **state)
{
    (void)state;
    char text[16];
    for (long number = day("1900-01-01"); number <= day("2200-12-31"); number++) {
        assert_int_equal(ovp_text_format_day(number, text, sizeof text), 10);
        assert_int_equal(day(text), number);
    }
    ovp_text_format_day(-10000000, text, sizeof text);
    assert_string_equal(text, "1000-01-01");
    ovp_text_format_day(10000000, text, sizeof text);
    assert_string_equal(text, "9999-12-31");
}

static void months(void **state)
{
    (void)state;
    static const struct {
        const char *from;
        long months;
        const char *to;
    } rows[] = {
        {"2026-05-25", 6, "2026-11-25"},   {"2026-08-31", 6, "2027-02-28"},
        {"2027-08-31", 6, "2028-02-29"},   {"2026-11-25", 12, "2027-11-25"},
        {"2026-03-31", -1, "2026-02-28"},  {"2026-01-15", -1, "2025-12-15"},
        {"2026-01-15", 0, "2026-01-15"},   {"9999-06-01", 12, "9999-12-31"},
        {"1000-06-01", -12, "1000-01-01"}, {"2026-01-15", 9999999, "9999-12-31"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(ovp_text_add_months(day(rows[i].from), rows[i].months), day(rows[i].to));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_days),
        cmocka_unit_test(no_days),
        cmocka_unit_test(there_and_back),
        cmocka_unit_test(months),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
