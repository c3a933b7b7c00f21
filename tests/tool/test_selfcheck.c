/* The self-check can fail: a row with another figure, or one that cannot be read, is never good. */
#include "command/selfcheck.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void test_rows_hold(void **state)
{
    (void)state;
    for (size_t i = 0; i < selfcheck_row_count(); i++) {
        const selfcheck_row *row = selfcheck_row_at(i);
        selfcheck_result result;
        selfcheck_compute(row, &result);
        if (!result.good)
            fail_msg("%s %s %s: %s, published %s", row->check, row->subject, row->given, result.computed,
                     row->expected);
        assert_true(row->source[0] != '\0');
        assert_non_null(selfcheck_title(row->check));
    }
}

/* Every row with the figure of another row of its check, where that is another figure. */
static void test_another_figure_fails(void **state)
{
    (void)state;
    size_t tried = 0;
    for (size_t i = 0; i < selfcheck_row_count(); i++) {
        const selfcheck_row *row = selfcheck_row_at(i);
        for (size_t other = 0; other < selfcheck_row_count(); other++) {
            const selfcheck_row *from = selfcheck_row_at(other);
            selfcheck_row changed = *row;
            selfcheck_result result;
            if (strcmp(from->check, row->check) != 0 || strcmp(from->expected, row->expected) == 0)
                continue;
            changed.expected = from->expected;
            selfcheck_compute(&changed, &result);
            if (result.good)
                fail_msg("%s %s %s holds with %s too", row->check, row->subject, row->given, from->expected);
            tried++;
        }
    }
    assert_true(tried > 1000);
}

static void test_one_digit_is_enough(void **state)
{
    (void)state;
    static const selfcheck_row rows[] = {
        {"emf", "K", "500C", "20.645mV", "0.0005mV", ""},
        {"emf", "K", "500C", "20.643mV", "0.0005mV", ""},
        {"there-and-back", "K", "500C", "500.00000001C", "1e-9C", ""},
        {"tolerance", "astm-e230-standard K", "1000C", "7.6C", "1e-9C", ""},
        {"colours", "us K", "", "red yellow", "", ""},
        {"reversed", "K", "150F 75F", "-5F", "1F", ""},
        {"decision", "", "2.01 1 2", "pass", "", ""},
        {"conformance", "", "13.6 1.8 12.5 16.3", "0.65", "0.005", ""},
        {"number", "", "9007199254740993", "9007199254740993*2^0", "", ""},
        {"number", "", "9007199254740993", "9007199254740994*2^0", "", ""},
        {"quantity", "length", "8in", "0.2033", "", ""},
        {"wire", "12 AWG", "1000ft", "1.6ohm", "0.0016ohm", ""},
        {"lump", "", "210 0.001m 35 8500 320", "0.47", "0.0005", ""},
        {"layers", "", "0.2m 1.52 6mm 45 0.1m 0.138", "0.8566", "0.00005", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        selfcheck_result result;
        selfcheck_compute(&rows[i], &result);
        if (result.good)
            fail_msg("row %zu holds", i);
    }
}

static void test_what_cannot_be_read_fails(void **state)
{
    (void)state;
    static const selfcheck_row rows[] = {
        {"dance", "K", "500C", "20.644mV", "0.0005mV", ""},
        {"emf", "Z", "500C", "20.644mV", "0.0005mV", ""},
        {"emf", "K", "500", "20.644mV", "0.0005mV", ""},
        {"emf", "K", "500C", "20.644", "", ""},
        {"emf", "K", "5000C", "20.644mV", "1mV", ""},
        {"temperature", "K", "20.644mV", "500C", "1C", ""},
        {"wire", "13.5", "1000ft", "1ohm", "9ohm", ""},
        {"quantity", "colour", "8in", "0.2032", "", ""},
        {"number", "", "0.1", "0.1", "", ""},
        {"conformance", "", "1 2 3", "0.5", "1", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        selfcheck_result result;
        selfcheck_compute(&rows[i], &result);
        if (result.good)
            fail_msg("row %zu holds", i);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rows_hold),
        cmocka_unit_test(test_another_figure_fails),
        cmocka_unit_test(test_one_digit_is_enough),
        cmocka_unit_test(test_what_cannot_be_read_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
