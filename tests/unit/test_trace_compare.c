/* Runs beside each other: straight climbs made here by hand, so that each figure can be worked out on paper.
 */
#include "ovenproof/trace.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* From 20 degC, `rate` degC a minute, to 1000 degC. */
static void straight(double rate_C_per_min, ovp_trace_result *run)
{
    memset(run, 0, sizeof *run);
    run->cold_start = true;
    run->start_C = 20;
    run->hold_percent = run->hold_C = run->overshoot_C = NAN;
    run->curve_count = 50;
    for (size_t i = 0; i < run->curve_count; i++) {
        run->curve_C[i] = 20 + 20.0 * (double)i;
        run->curve_s[i] = 20.0 * (double)i / rate_C_per_min * 60;
    }
}

static void measured(const ovp_trace_result *run, ovp_trace_measure measures[OVP_TRACE_MEASURES])
{
    static const double marks_C[] = {200, 800};
    ovp_trace_measures(run, 1, marks_C, 2, measures);
}

static void test_straight_climbs(void **state)
{
    static ovp_trace_result slow, fast, alike;
    ovp_trace_measure first[OVP_TRACE_MEASURES], other[OVP_TRACE_MEASURES], third[OVP_TRACE_MEASURES];
    (void)state;
    straight(20, &fast);
    straight(18, &slow);
    straight(19.8, &alike);
    measured(&fast, first);
    measured(&slow, other);
    measured(&alike, third);
    assert_true(fabs(first[0].value - 540) < 1e-6);  /* 180 degC at 20 a minute: 9 min */
    assert_true(fabs(other[1].value - 2600) < 1e-6); /* 780 degC at 18 a minute: 43.33 min */
    assert_true(fabs(first[OVP_TRACE_MEASURE_SLOPE].value - 20) < 1e-9);
    /* 2340 s and 2600 s: 3 % of each and 4.5 s to 5 s of the display; together 105 s */
    assert_true(fabs(ovp_trace_measure_difference(OVP_TRACE_MEASURE_MARK, &first[1], &other[1]) - 260) <
                1e-6);
    assert_true(ovp_trace_measure_differs(OVP_TRACE_MEASURE_MARK, &first[1], &other[1]));
    assert_false(ovp_trace_measure_differs(OVP_TRACE_MEASURE_MARK, &first[1], &third[1]));
    assert_true(isnan(first[2].value)); /* no third mark was asked for */
    assert_true(isnan(first[OVP_TRACE_MEASURE_COOLING].value));
}

/* A warm start is no time to a mark. */
static void test_warm_start(void **state)
{
    static ovp_trace_result run;
    ovp_trace_measure measures[OVP_TRACE_MEASURES];
    (void)state;
    straight(20, &run);
    run.cold_start = false;
    measured(&run, measures);
    assert_true(isnan(measures[0].value));
    assert_true(isnan(measures[OVP_TRACE_MEASURE_SLOPE].value));
}

/* Holds count at the same temperature only. */
static void test_holds(void **state)
{
    static ovp_trace_result one, two;
    ovp_trace_measure first[OVP_TRACE_MEASURES], other[OVP_TRACE_MEASURES];
    (void)state;
    straight(20, &one);
    two = one;
    one.hold_percent = 50;
    two.hold_percent = 56;
    one.hold_C = 900;
    two.hold_C = 905;
    measured(&one, first);
    measured(&two, other);
    /* 2.0 and 2.18 percent: together 2.96, and they are 6 apart */
    assert_true(ovp_trace_measure_differs(OVP_TRACE_MEASURE_HOLD, &first[OVP_TRACE_MEASURE_HOLD],
                                          &other[OVP_TRACE_MEASURE_HOLD]));
    other[OVP_TRACE_MEASURE_HOLD].at_C = 950;
    assert_false(ovp_trace_measure_differs(OVP_TRACE_MEASURE_HOLD, &first[OVP_TRACE_MEASURE_HOLD],
                                           &other[OVP_TRACE_MEASURE_HOLD]));
}

static void test_marks(void **state)
{
    static ovp_oven oven;
    double marks_C[OVP_TRACE_COMPARED_MARKS];
    (void)state;
    assert_int_equal(ovp_trace_compare_marks(NULL, OVP_TEXT_DEGREES_F, marks_C), 4);
    assert_true(fabs(marks_C[1] - (1000 - 32) / 1.8) < 1e-9);
    assert_int_equal(ovp_trace_compare_marks(NULL, OVP_TEXT_DEGREES_C, marks_C), 4);
    assert_true(fabs(marks_C[3] - 1000) < 1e-9);
    ovp_oven_init(&oven);
    oven.heat_up_count = 1;
    oven.heat_up[0] = (ovp_oven_limit){500, 600};
    assert_int_equal(ovp_trace_compare_marks(&oven, OVP_TEXT_DEGREES_F, marks_C), 1);
    assert_true(fabs(marks_C[0] - 500) < 1e-9);
}

static void test_words(void **state)
{
    (void)state;
    assert_string_equal(ovp_trace_measure_name(OVP_TRACE_MEASURE_MARK), "time-to-mark");
    assert_string_equal(ovp_trace_measure_unit(OVP_TRACE_MEASURE_COOLING), "1/h");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_straight_climbs), cmocka_unit_test(test_warm_start),
        cmocka_unit_test(test_holds),           cmocka_unit_test(test_marks),
        cmocka_unit_test(test_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
