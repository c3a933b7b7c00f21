/* Joints: heat by hand, classes of ANSI/NETA MTS table 100.18, scaling, like against like, the interval rule.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "ovenproof/electrical.h"

static ovp_error error;

static void near(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.12g is not within %g of %.12g", value, tolerance, expected);
}

static ovp_electrical_joint reading(const char *name, double drop_mV, double current_A)
{
    ovp_electrical_joint joint;
    ovp_electrical_joint_init(&joint);
    ovp_copy_string(joint.name, sizeof joint.name, ovp_span_of(name));
    joint.drop_mV = drop_mV;
    joint.current_A = current_A;
    return joint;
}

static ovp_electrical_joint dated(const char *name, double drop_mV, double current_A, const char *day)
{
    ovp_electrical_joint joint = reading(name, drop_mV, current_A);
    joint.has_day = ovp_text_day(ovp_span_of(day), &joint.day);
    assert_true(joint.has_day);
    return joint;
}

/* Arithmetic: 15 A across 45 mV is 0.675 W and 3 milliohm; across 1 V 15 W; 15 A at 120 mV 1.8 W, 8 milliohm.
 */
static void heat_by_hand(void **state)
{
    (void)state;
    static const struct {
        double drop_mV, watts_W, milliohm;
    } rows[] = {{45, 0.675, 3}, {1000, 15, 1000.0 / 15}, {120, 1.8, 8}, {0, 0, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_electrical_joint joint = reading("a", rows[i].drop_mV, 15);
        ovp_electrical_joint_result result;
        assert_int_equal(ovp_electrical_joint_judge(&joint, NAN, &result, &error), OVP_OK);
        near(result.heat_W, rows[i].watts_W, 1e-12);
        near(result.milliohm, rows[i].milliohm, 1e-12);
        near(result.full_heat_W, rows[i].watts_W, 1e-12);
        assert_true(isnan(result.load_share));
    }
}

/* Common practice, no published source: below 50 mV good, above 100 mV remake, 200 mV stop. */
static void grades_of_a_drop(void **state)
{
    (void)state;
    static const struct {
        double drop_mV;
        ovp_electrical_grade grade;
    } rows[] = {
        {0, OVP_ELECTRICAL_GOOD},    {49.9, OVP_ELECTRICAL_GOOD},    {50, OVP_ELECTRICAL_WATCH},
        {100, OVP_ELECTRICAL_WATCH}, {100.1, OVP_ELECTRICAL_REPAIR}, {199.9, OVP_ELECTRICAL_REPAIR},
        {200, OVP_ELECTRICAL_STOP},  {5000, OVP_ELECTRICAL_STOP},    {NAN, OVP_ELECTRICAL_NOT_JUDGED},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(ovp_electrical_drop_grade(rows[i].drop_mV, NULL, NULL), rows[i].grade);
    const char *action, *source;
    ovp_electrical_drop_grade(250, &action, &source);
    assert_non_null(strstr(action, "unplug"));
    assert_string_equal(source, "common practice, no published source");
    near(ovp_electrical_drop_limit_mV(OVP_ELECTRICAL_REPAIR), 100, 0);
}

/* ANSI/NETA MTS table 100.18: over a like joint 1..3 possible, 4..15 probable, over 15 major; above ambient
   1..10 possible, 11..20 probable, 21..40 watch until corrected, over 40 major. */
static void classes_of_a_rise(void **state)
{
    (void)state;
    static const struct {
        double rise_C;
        const char *like, *ambient;
    } rows[] = {
        {0, "none", "none"},          {0.9, "none", "none"},           {1, "possible", "possible"},
        {3, "possible", "possible"},  {4, "probable", "possible"},     {10, "probable", "possible"},
        {11, "probable", "probable"}, {15, "probable", "probable"},    {16, "major", "probable"},
        {20, "major", "probable"},    {21, "major", "until repaired"}, {40, "major", "until repaired"},
        {41, "major", "major"},       {400, "major", "major"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_string_equal(ovp_electrical_rise_over_like(rows[i].rise_C).name, rows[i].like);
        assert_string_equal(ovp_electrical_rise_over_ambient(rows[i].rise_C).name, rows[i].ambient);
    }
    assert_int_equal(ovp_electrical_rise_over_like(15.01).grade, OVP_ELECTRICAL_STOP);
    assert_int_equal(ovp_electrical_rise_over_like(3.5).grade, OVP_ELECTRICAL_REPAIR); /* the graver one */
    assert_int_equal(ovp_electrical_rise_over_like(NAN).grade, OVP_ELECTRICAL_NOT_JUDGED);
    assert_non_null(strstr(ovp_electrical_rise_over_like(0.5).source, "100.18"));
}

/* Arithmetic: half the current, a quarter of the heat; 10 K at half load is 40 K by the square and
   10 * 2^1.6 = 30.31 K by the power 1.6. The drop doubles. */
static void full_amps_from_a_part_load(void **state)
{
    (void)state;
    ovp_electrical_joint joint = reading("a", 60, 7.5);
    ovp_electrical_joint_result result;
    joint.rise_like_C = 10;
    joint.rise_ambient_C = 12;
    assert_int_equal(ovp_electrical_joint_judge(&joint, 15, &result, &error), OVP_OK);
    near(result.load_share, 0.5, 1e-12);
    near(result.full_drop_mV, 120, 1e-12);
    near(result.full_heat_W, 4 * result.heat_W, 1e-12);
    near(result.full_rise_like_C[0], 30.314331, 1e-5);
    near(result.full_rise_like_C[1], 40, 1e-12);
    near(result.full_rise_ambient_C[1], 48, 1e-12);
    assert_string_equal(result.like.name, "major");
    assert_string_equal(result.ambient.name, "major");
    assert_int_equal(result.by_drop, OVP_ELECTRICAL_REPAIR);
    assert_int_equal(result.grade, OVP_ELECTRICAL_STOP);
    /* a reading above full amps is judged as it was measured */
    assert_int_equal(ovp_electrical_joint_judge(&joint, 5, &result, &error), OVP_OK);
    near(result.full_A, 7.5, 0);
    near(result.full_rise_like_C[1], 10, 1e-12);
    near(result.load_share, 1.5, 1e-12);
}

static void what_cannot_be_is_refused(void **state)
{
    (void)state;
    ovp_electrical_joint_result result;
    ovp_electrical_joint joint = reading("a", NAN, NAN);
    assert_int_equal(ovp_electrical_joint_judge(&joint, NAN, &result, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "nothing to judge"));
    joint = reading("a", -3, 15);
    assert_int_equal(ovp_electrical_joint_judge(&joint, NAN, &result, &error), OVP_ERROR_DATA);
    joint = reading("a", 200000, 15);
    assert_int_equal(ovp_electrical_joint_judge(&joint, NAN, &result, &error), OVP_ERROR_DATA);
    joint = reading("a", 30, 0);
    assert_int_equal(ovp_electrical_joint_judge(&joint, NAN, &result, &error), OVP_ERROR_DATA);
    joint = reading("a", 30, NAN);
    assert_int_equal(ovp_electrical_joint_judge(&joint, 15, &result, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "amps of the reading"));
    assert_int_equal(ovp_electrical_joint_judge(&joint, NAN, &result, &error), OVP_OK);
    assert_true(isnan(result.heat_W));
    joint.rise_like_C = -2;
    assert_int_equal(ovp_electrical_joint_judge(&joint, NAN, &result, &error), OVP_ERROR_DATA);
    assert_true(error.hint[0] != '\0');
}

/* By hand: 20, 22, 24 and 90 mV at 15 A: the others' median is 22 mV, the ratio 90/22. */
static void like_against_like(void **state)
{
    (void)state;
    ovp_electrical_joint joints[] = {reading("plug", 20, 15), reading("block", 22, 15),
                                     reading("relay", 12, 7.5), reading("element", 90, 15)};
    size_t indices[4];
    ovp_electrical_joint_comparison found;
    size_t count = ovp_electrical_joints_latest(joints, 4, indices);
    assert_int_equal(count, 4);
    assert_true(ovp_electrical_joints_compare(joints, indices, count, 15, &found));
    assert_true(found.stands_out);
    assert_int_equal(found.index, 3);
    assert_int_equal(found.others_count, 3);
    near(found.ratio, 90.0 / 22.0, 1e-12);
    near(found.others_mV, 22, 1e-12);
    /* of its own kind only: alone it has nothing to compare with */
    memcpy(joints[3].kind, "terminal", 9);
    assert_true(ovp_electrical_joints_compare(joints, indices, count, 15, &found));
    assert_false(found.stands_out);
    /* 2 against 5 mV: more than twice, and nothing that a second placing of the probes would not do */
    joints[0].drop_mV = 5, joints[1].drop_mV = 2, joints[2].drop_mV = 1;
    assert_true(ovp_electrical_joints_compare(joints, indices, 3, 15, &found));
    assert_false(found.stands_out);
    joints[0].drop_mV = joints[1].drop_mV = joints[2].drop_mV = NAN;
    assert_false(ovp_electrical_joints_compare(joints, indices, 3, 15, &found));
}

static void the_latest_of_each(void **state)
{
    (void)state;
    ovp_electrical_joint joints[] = {
        dated("plug", 20, 15, "2026-06-01"), dated("block", 22, 15, "2026-06-01"),
        dated("PLUG", 30, 15, "2026-11-01"), dated("plug", 25, 15, "2026-08-01")};
    size_t indices[4];
    assert_int_equal(ovp_electrical_joints_latest(joints, 4, indices), 2);
    assert_int_equal(indices[0], 2);
    assert_int_equal(indices[1], 1);
}

/* By hand: 40, 42, 60 degC: over the median of the others 0 (40 under 51), 0, 19 K; ambient 24. */
static void rises_from_temperatures(void **state)
{
    (void)state;
    ovp_electrical_joint joints[3];
    double temperatures_C[] = {40, 42, 60};
    for (size_t i = 0; i < 3; i++) {
        joints[i] = reading("a", NAN, NAN);
        joints[i].temperature_C = temperatures_C[i];
        joints[i].ambient_C = 24;
    }
    ovp_electrical_joints_fill(joints, 3);
    near(joints[0].rise_like_C, 0, 0);
    near(joints[2].rise_like_C, 19, 1e-12);
    near(joints[1].rise_ambient_C, 18, 1e-12);
}

/* Common practice, no published source: after the first three firings, at six months, then yearly once two
   checks needed no turn; 200 hot hours pull it forward. */
static void the_interval_rule(void **state)
{
    (void)state;
    static const struct {
        double firings;
        size_t checks, tight, far;
        const char *last;
        double hot_hours, per_day;
        const char *today, *due;
        bool now;
        ovp_electrical_check_reason reason;
    } rows[] = {
        {1, 0, 0, 0, "2026-05-25", NAN, NAN, "2026-05-26", "2026-11-25", false,
         OVP_ELECTRICAL_CHECK_FIRST_FIRINGS},
        {3, 0, 0, 0, "2026-05-25", NAN, NAN, "2026-05-28", "2026-05-28", true,
         OVP_ELECTRICAL_CHECK_FIRST_FIRINGS},
        {NAN, 0, 0, 0, "2026-05-25", NAN, NAN, "2026-05-28", "2026-11-25", false,
         OVP_ELECTRICAL_CHECK_SIX_MONTHS},
        {NAN, 1, 1, 0, "2026-05-25", NAN, NAN, "2026-05-28", "2026-11-25", false,
         OVP_ELECTRICAL_CHECK_SIX_MONTHS},
        {NAN, 2, 2, 0, "2026-05-25", NAN, NAN, "2026-05-28", "2027-05-25", false,
         OVP_ELECTRICAL_CHECK_YEARLY},
        {NAN, 5, 1, 0, "2026-05-25", NAN, NAN, "2026-12-28", "2026-11-25", true,
         OVP_ELECTRICAL_CHECK_SIX_MONTHS},
        {NAN, 2, 0, 2, "2026-05-25", NAN, NAN, "2026-05-28", "2026-08-25", false,
         OVP_ELECTRICAL_CHECK_HALVED},
        {NAN, 2, 2, 0, "2026-05-25", 199, NAN, "2026-05-28", "2027-05-25", false,
         OVP_ELECTRICAL_CHECK_YEARLY},
        {NAN, 2, 2, 0, "2026-05-25", 200, NAN, "2026-09-28", "2026-09-28", true,
         OVP_ELECTRICAL_CHECK_HOT_HOURS},
        {NAN, 2, 2, 0, "2026-05-25", 100, 5, "2026-06-01", "2026-06-21", false,
         OVP_ELECTRICAL_CHECK_HOT_HOURS},
        {NAN, 2, 2, 0, "2026-05-25", 0, 0, "2026-06-01", "2027-05-25", false, OVP_ELECTRICAL_CHECK_YEARLY},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char day[16];
        ovp_electrical_check_due due;
        ovp_electrical_check_history history = {.firings = rows[i].firings,
                                                .checks = rows[i].checks,
                                                .tight_in_a_row = rows[i].tight,
                                                .far_in_a_row = rows[i].far,
                                                .hot_hours = rows[i].hot_hours,
                                                .hot_hours_per_day = rows[i].per_day};
        history.has_day = ovp_text_day(ovp_span_of(rows[i].last), &history.day);
        assert_true(ovp_text_day(ovp_span_of(rows[i].today), &history.today));
        ovp_electrical_next_check(&history, &due);
        assert_true(due.has_day);
        ovp_text_format_day(due.day, day, sizeof day);
        assert_string_equal(day, rows[i].due);
        assert_int_equal(due.now, rows[i].now);
        assert_int_equal(due.reason, rows[i].reason);
        assert_true(due.text[0] != '\0');
    }
    ovp_electrical_check_due due;
    ovp_electrical_next_check(&(ovp_electrical_check_history){.firings = 2, .hot_hours = NAN}, &due);
    assert_false(due.has_day || due.now);
    near(due.firings_left, 1, 0);
}

/* Every limit says where it comes from. */
static void limits_have_sources(void **state)
{
    (void)state;
    for (size_t i = 0; ovp_electrical_limit_at(i) != NULL; i++) {
        const ovp_electrical_limit *row = ovp_electrical_limit_at(i);
        assert_true(row->source[0] != '\0' && row->text[0] != '\0' && isfinite(row->value));
        assert_ptr_equal(ovp_electrical_limit_named(row->name), row);
    }
    assert_null(ovp_electrical_limit_named("no-such-limit"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(heat_by_hand),
        cmocka_unit_test(grades_of_a_drop),
        cmocka_unit_test(classes_of_a_rise),
        cmocka_unit_test(full_amps_from_a_part_load),
        cmocka_unit_test(what_cannot_be_is_refused),
        cmocka_unit_test(like_against_like),
        cmocka_unit_test(the_latest_of_each),
        cmocka_unit_test(rises_from_temperatures),
        cmocka_unit_test(the_interval_rule),
        cmocka_unit_test(limits_have_sources),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
