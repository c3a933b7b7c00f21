/* Comparison with a reference and its decision. Sources stand beside each check. */
#include "ovenproof/metrology.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

/* ILAC-G8:09/2019 clause 4.2.3, guard band w = U: every bound and both sides of it. */
static void four_outcomes(void **state)
{
    (void)state;
    static const struct {
        double error, uncertainty, tolerance;
        ovp_metrology_decision decision;
    } rows[] = {
        {0.0, 0.5, 2.0, OVP_METROLOGY_PASS},
        {1.5, 0.5, 2.0, OVP_METROLOGY_PASS},
        {-1.5, 0.5, 2.0, OVP_METROLOGY_PASS},
        {1.51, 0.5, 2.0, OVP_METROLOGY_CONDITIONAL_PASS},
        {-2.0, 0.5, 2.0, OVP_METROLOGY_CONDITIONAL_PASS},
        {2.01, 0.5, 2.0, OVP_METROLOGY_CONDITIONAL_FAIL},
        {-2.5, 0.5, 2.0, OVP_METROLOGY_CONDITIONAL_FAIL},
        {2.51, 0.5, 2.0, OVP_METROLOGY_FAIL},
        {-9.0, 0.5, 2.0, OVP_METROLOGY_FAIL},
        {0.0, 2.5, 2.0, OVP_METROLOGY_CONDITIONAL_PASS}, /* nothing can pass when U is wider than the limit */
        {2.0, 0.0, 2.0, OVP_METROLOGY_PASS},
        {2.1, 0.0, 2.0, OVP_METROLOGY_FAIL},
        {1000.3 - 1000.0, 0.2, 0.5, OVP_METROLOGY_PASS}, /* 0.29999999999995 and a bound of 0.3 */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(ovp_metrology_decide(rows[i].error, rows[i].uncertainty, rows[i].tolerance),
                         rows[i].decision);
    assert_string_equal(ovp_metrology_decision_name(OVP_METROLOGY_CONDITIONAL_FAIL), "conditional-fail");
}

/* JCGM 106:2012, examples of clause 7. */
static void conformance_probability(void **state)
{
    (void)state;
    assert_true(fabs(ovp_metrology_conformance(-5.47, 0.05, -INFINITY, -5.40) - 0.92) <= 0.005);
    assert_true(fabs(ovp_metrology_conformance(509.7, 8.6, 490.0, INFINITY) - 0.99) <= 0.005);
    assert_true(fabs(ovp_metrology_conformance(13.6, 1.8, 12.5, 16.3) - 0.66) <= 0.005);
}

/* ILAC-G8:09/2019 table 1: chance of a false accept for a value that just meets the acceptance limit. */
static void guard_band_risk(void **state)
{
    (void)state;
    static const struct {
        double guard_in_U, risk, within;
    } rows[] = {{0.0, 0.50, 1e-9}, {0.83, 0.0485, 5e-5}, {1.0, 0.0228, 5e-5}, {1.5, 0.00135, 5e-6}};
    const double U = 0.8, limit = 2.2;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double risk =
            1.0 - ovp_metrology_conformance(limit - rows[i].guard_in_U * U, 0.5 * U, -INFINITY, limit);
        assert_true(fabs(risk - rows[i].risk) <= rows[i].within);
    }
    assert_true(1.0 - ovp_metrology_conformance(limit - 3.0 * U, 0.5 * U, -INFINITY, limit) < 1e-6);
    /* so a bare pass with w = U is wrong in at most 2.28 % of such cases */
    assert_int_equal(ovp_metrology_decide(limit - U, U, limit), OVP_METROLOGY_PASS);
}

/* Type A: s / sqrt(n), JCGM 100:2008 clause 4.2 (worked by hand: errors 1, 2, 3, 6: mean 3, s^2 = 14/3). */
static void spread_of_readings(void **state)
{
    (void)state;
    static const double errors[] = {1.0, 2.0, 3.0, 6.0};
    ovp_metrology_point point;
    ovp_metrology_result result;
    ovp_metrology_point_init(&point, 1000.0, 0.6, 0.1);
    for (size_t i = 0; i < 4; i++)
        ovp_metrology_point_add(&point, 1e4 + (double)i, 1e4 + (double)i + errors[i]);
    ovp_metrology_point_result(&point, 9.0, &result);
    double type_a = sqrt(14.0 / 3.0 / 4.0);
    assert_true(fabs(result.error_C - 3.0) < 1e-12);
    assert_true(fabs(result.type_a_C - type_a) < 1e-12);
    assert_true(fabs(result.expanded_uncertainty_C - 2.0 * sqrt(type_a * type_a + 0.09 + 0.01 / 12.0)) <
                1e-12);
    assert_true(fabs(point.mean_reference_C - 10001.5) < 1e-9);
    assert_int_equal(result.decision, OVP_METROLOGY_PASS);
    assert_false(result.reference_assumed);
}

static void one_reading_has_no_spread(void **state)
{
    (void)state;
    ovp_metrology_point point;
    ovp_metrology_result result;
    ovp_metrology_point_init(&point, 800.0, 0.5, 0.0);
    ovp_metrology_point_add(&point, 801.0, 799.0);
    ovp_metrology_point_result(&point, 3.0, &result);
    assert_true(result.error_C == -2.0 && result.type_a_C == 0.0 && result.expanded_uncertainty_C == 0.5);
    assert_int_equal(result.decision, OVP_METROLOGY_PASS);
}

/* A reference without a known uncertainty never gives pass; the other outcomes stand. */
static void unknown_reference_never_passes(void **state)
{
    (void)state;
    static const struct {
        double error;
        ovp_metrology_decision decision;
    } rows[] = {{0.0, OVP_METROLOGY_CONDITIONAL_PASS},
                {2.0, OVP_METROLOGY_CONDITIONAL_PASS},
                {2.05, OVP_METROLOGY_CONDITIONAL_FAIL},
                {9.0, OVP_METROLOGY_FAIL}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_metrology_point point;
        ovp_metrology_result result;
        ovp_metrology_point_init(&point, 800.0, NAN, 0.2);
        ovp_metrology_point_add(&point, 800.0, 800.0 + rows[i].error);
        ovp_metrology_point_result(&point, 2.0, &result);
        assert_true(result.reference_assumed);
        assert_int_equal(result.decision, rows[i].decision);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(four_outcomes),
        cmocka_unit_test(conformance_probability),
        cmocka_unit_test(guard_band_risk),
        cmocka_unit_test(spread_of_readings),
        cmocka_unit_test(one_reading_has_no_spread),
        cmocka_unit_test(unknown_reference_never_passes),
    };
    return cmocka_run_group_tests_name("metrology", tests, NULL, NULL);
}
