/* The trend of a joint, and its list as text. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "ovenproof/electrical.h"

static ovp_error error;
static ovp_electrical_joint_list list;

static void near(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.12g is not within %g of %.12g", value, tolerance, expected);
}

static ovp_status read_text(const char *text, ovp_text_degrees bare)
{
    void *memory = malloc(ovp_electrical_joint_reader_size());
    assert_non_null(memory);
    error = (ovp_error){0};
    ovp_electrical_joint_reader *reader = ovp_electrical_joint_reader_init(memory, bare, &list);
    ovp_status status = ovp_electrical_joint_reader_feed(reader, text, strlen(text), &error);
    if (status == OVP_OK)
        status = ovp_electrical_joint_reader_end(reader, &error);
    free(memory);
    return status;
}

static ovp_status trend_of(double limit_mV, ovp_electrical_joint_trend *trend)
{
    return ovp_electrical_joint_trend_of(list.joints, list.count, "a", 15, limit_mV, trend, &error);
}

static long day(const char *text)
{
    long number = -1;
    assert_true(ovp_text_day(ovp_span_of(text), &number));
    return number;
}

/* By hand: 20 mV in 365 days is 20/365*30.4375 = 1.6678 mV a month; from 60 to 100 mV 730 days more. Two
   readings of standard deviation 2 mV (a row of reference/electrical-limits.csv): the slope is known
   to 1.95996*2*sqrt(2)/365 mV a day, 0.46230 mV a month. */
static void two_readings(void **state)
{
    (void)state;
    ovp_electrical_joint_trend trend;
    assert_int_equal(
        read_text("name,mV,A,date\na,40,15,2025-01-01\na,60,15,2026-01-01\n", OVP_TEXT_DEGREES_NONE), OVP_OK);
    assert_int_equal(trend_of(100, &trend), OVP_OK);
    near(trend.growth_mV_per_month, 1.667808, 1e-5);
    near(trend.growth_high_mV_per_month - trend.growth_mV_per_month, 0.46230, 1e-4);
    near(trend.latest_mV, 60, 1e-9);
    assert_true(trend.grows && !trend.passed);
    assert_int_equal(trend.day, day("2028-01-01"));
    assert_true(trend.early_day < trend.day && trend.day < trend.late_day);
    assert_int_equal(trend_of(60, &trend), OVP_OK);
    assert_true(trend.passed);
    assert_int_equal(trend.day, day("2026-01-01"));
}

/* Readings at half the amps count as twice the millivolts; a joint that does not grow has no day. */
static void amps_and_flat(void **state)
{
    (void)state;
    ovp_electrical_joint_trend trend;
    assert_int_equal(
        read_text("name;mV;A;date\na;20,5;7,5;2025-01-01\na;41;15;2026-01-01\n", OVP_TEXT_DEGREES_NONE),
        OVP_OK);
    assert_int_equal(trend_of(100, &trend), OVP_OK);
    near(trend.growth_mV_per_month, 0, 1e-9);
    assert_false(trend.grows || trend.has_day || trend.has_late_day);
}

/* Least squares by hand: 10, 30, 20 mV at 0, 100, 200 days have the slope 0.05 mV a day and a residual sum of
   squares of 150, so s = sqrt(150/1), and t(0.95, 1) = 12.7062 (tables of Student's t). */
static void spread_of_the_readings(void **state)
{
    (void)state;
    ovp_electrical_joint_trend trend;
    assert_int_equal(read_text("name,mV,A,date\na,10,15,2025-01-01\na,30,15,2025-04-11\na,20,15,2025-07-20\n",
                               OVP_TEXT_DEGREES_NONE),
                     OVP_OK);
    assert_int_equal(trend_of(100, &trend), OVP_OK);
    near(trend.growth_mV_per_month, 0.05 * 30.4375, 1e-9);
    near(trend.growth_high_mV_per_month - trend.growth_mV_per_month,
         12.7062 * sqrt(150.0 / 20000.0) * 30.4375, 1e-3);
    assert_int_equal(trend.readings, 3);
}

static void a_new_history(void **state)
{
    (void)state;
    ovp_electrical_joint_trend trend;
    assert_int_equal(read_text("name,mV,A,date,remade\na,90,15,2025-01-01,\na,20,15,2026-01-01,yes\n",
                               OVP_TEXT_DEGREES_NONE),
                     OVP_OK);
    assert_int_equal(trend_of(100, &trend), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "two days"));
    assert_int_equal(ovp_electrical_joint_trend_of(list.joints, list.count, "a", 0, 100, &trend, &error),
                     OVP_ERROR_DATA);
}

static void a_list(void **state)
{
    (void)state;
    assert_int_equal(read_text("# at full heat\nJoint\tkind\tmV\tamps\ttemperature_F\troom_F\tdate\n"
                               "plug\tscrew\t20mV\t15\t104\t75\t2026-01-02\n"
                               "block\tscrew\t0.03V\t15A\t140F\t75\t2026-01-02\n\n",
                               OVP_TEXT_DEGREES_NONE),
                     OVP_OK);
    assert_int_equal(list.count, 2);
    near(list.joints[1].drop_mV, 30, 1e-9);
    near(list.joints[1].current_A, 15, 0);
    near(list.joints[1].rise_like_C, 20, 1e-9);
    near(list.joints[0].rise_like_C, 0, 0);
    near(list.joints[0].rise_ambient_C, 29 / 1.8, 1e-9);
    assert_int_equal(list.lines[1], 4);
    /* alone of its kind and without the room's temperature: kept, not judged */
    ovp_electrical_joint_result result;
    assert_int_equal(read_text("name,temperature_F\na,104\n", OVP_TEXT_DEGREES_NONE), OVP_OK);
    assert_int_equal(ovp_electrical_joint_judge(&list.joints[0], NAN, &result, &error), OVP_OK);
    assert_int_equal(result.grade, OVP_ELECTRICAL_NOT_JUDGED);
    assert_int_equal(read_text("name,rise\na,18\n", OVP_TEXT_DEGREES_F), OVP_OK);
    near(list.joints[0].rise_like_C, 10, 1e-12);
}

static void lists_that_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text, *what;
        uint64_t line;
    } rows[] = {
        {"", "nothing in it", 0},
        {"name,mV\n", "no readings", 0},
        {"mV,A\n20,15\n", "the joint's name", 1},
        {"name,A\na,15\n", "no column for mV", 1},
        {"name,mV,drop\na,1,2\n", "two columns", 1},
        {"name,mV,A\na,20,15\n,20,15\n", "without a name", 3},
        {"name,mV,A\na,many,15\n", "many", 2},
        {"name,mV,A\na,20,0\n", "current of 0 A", 2},
        {"name,mV,A\na,-5,15\n", "cannot be", 2},
        {"name,mV,A\na,,15\n", "nothing to judge", 2},
        {"name,mV,date\na,20,2026-02-30\n", "2026-02-30", 2},
        {"name,rise\na,20\n", "no unit", 2},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(read_text(rows[i].text, OVP_TEXT_DEGREES_NONE), OVP_ERROR_DATA);
        if (strstr(error.what, rows[i].what) == NULL)
            fail_msg("\"%s\" does not say \"%s\"", error.what, rows[i].what);
        assert_int_equal(error.line, rows[i].line);
        assert_true(error.hint[0] != '\0');
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_readings),
        cmocka_unit_test(amps_and_flat),
        cmocka_unit_test(spread_of_the_readings),
        cmocka_unit_test(a_new_history),
        cmocka_unit_test(a_list),
        cmocka_unit_test(lists_that_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
