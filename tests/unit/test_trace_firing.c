/* A run held against a firing plan, and water by weight. */
#include "trace/firing_internal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

static void limits_stand_in_order(void **state)
{
    static const char *const names[] = {
#define NAME(name) #name,
        FIRING_LIMITS(NAME)
#undef NAME
    };
    (void)state;
    for (size_t i = 0; i < FIRING_LIMIT_COUNT; i++)
        assert_string_equal(firing_limit_name(i), names[i]);
    assert_null(firing_limit_name(FIRING_LIMIT_COUNT));
}

/* An exponential is found exactly, whatever the times: w = dry + a e^(-kt). */
static void water_is_found_exactly(void **state)
{
    static const double times_s[][3] = {{0, 86400, 172800}, {0, 3600, 36000}, {100, 50000, 60000}};
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        ovp_thermal_weighing w[3];
        ovp_thermal_water water;
        for (size_t k = 0; k < 3; k++)
            w[k] = (ovp_thermal_weighing){times_s[i][k], 5.6 + 0.4 * exp(-times_s[i][k] / 40000.0)};
        assert_int_equal(ovp_thermal_water_left(w, 0.0, &water, NULL), OVP_OK);
        assert_true(fabs(water.dry_kg - 5.6) < 1e-9);
        assert_true(fabs(water.halves_s - 40000.0 * log(2.0)) < 1e-3);
    }
}

static void a_steady_weight_is_dry(void **state)
{
    const ovp_thermal_weighing w[3] = {{0, 6.0}, {86400, 5.9}, {172800, 5.9}};
    ovp_thermal_water water;
    (void)state;
    assert_int_equal(ovp_thermal_water_left(w, 0.001, &water, NULL), OVP_OK);
    assert_true(water.left_kg == 0.0);
    assert_true(isnan(water.halves_s));
}

static void impossible_weights_are_refused(void **state)
{
    static const ovp_thermal_weighing bad[][3] = {{{0, 6.0}, {86400, 5.9}, {172800, 5.8}},
                                                  {{0, 6.0}, {86400, 6.1}, {172800, 5.8}},
                                                  {{0, 6.0}, {0, 5.9}, {172800, 5.8}},
                                                  {{0, 6.0}, {86400, 5.95}, {172800, 5.8}},
                                                  {{0, 0.0}, {86400, 5.95}, {172800, 5.8}}};
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ovp_thermal_water water;
        ovp_error error = {0};
        assert_int_equal(ovp_thermal_water_left(bad[i], 0.001, &water, &error), OVP_ERROR_DATA);
        assert_true(error.what[0] != '\0');
    }
}

/* A hundred thousand samples say the same as a few: the blocks join. */
static void length_does_not_matter(void **state)
{
    ovp_oven_plan plan;
    static ovp_oven_plan_review review;
    static ovp_trace_firing_result result;
    const ovp_oven_plan_facts facts = {NAN, NAN, NAN, OVP_TEXT_DEGREES_F};
    (void)state;
    ovp_oven_plan_init(&plan);
    plan.floor = OVP_OVEN_FLOOR_DRY;
    plan.step_count = 2;
    plan.steps[0] =
        (ovp_oven_step){.kind = OVP_OVEN_STEP_RAMP, .to_C = 500, .per_hour_C = 100, .stair_C = NAN};
    plan.steps[1] = (ovp_oven_step){.kind = OVP_OVEN_STEP_HOLD, .time_s = 3600, .per_inch_s = NAN};
    ovp_oven_plan_review_of(&plan, &facts, &review);
    ovp_trace_firing *firing = ovp_trace_firing_init(malloc(ovp_trace_firing_size()), NAN);
    assert_non_null(firing);
    for (int i = 0; i < 100000; i++) {
        const double time_s = 0.25 * i, rise_C = fmin(476, time_s / 36);
        ovp_trace_firing_sample(
            firing, &(ovp_trace_sample){time_s, 24 + rise_C, NAN, 50, NAN, NAN, NAN, OVP_TRACE_NUMBER});
    }
    const ovp_trace_firing_facts asked = {.plan = &plan,
                                          .review = &review,
                                          .full_W = 1000,
                                          .rated_V = NAN,
                                          .water_left = NAN,
                                          .interval_s = 0.25,
                                          .shown = OVP_TEXT_DEGREES_F};
    assert_int_equal(ovp_trace_firing_judge(firing, &asked, &result, NULL), OVP_OK);
    assert_true(result.steps[0].state == OVP_TRACE_FIRING_DONE);
    assert_true(fabs(result.steps[0].found - 100) < 1);
    assert_true(result.steps[1].state >= OVP_TRACE_FIRING_DONE &&
                result.steps[1].state <= OVP_TRACE_FIRING_HELD);
    assert_true(fabs(result.steps[1].found - (25000 - 476 * 36)) < 400);
    assert_true(fabs(result.energy_J - 500 * 25000.0) < 0.02 * 500 * 25000.0);
    free(firing);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_stand_in_order),  cmocka_unit_test(water_is_found_exactly),
        cmocka_unit_test(a_steady_weight_is_dry), cmocka_unit_test(impossible_weights_are_refused),
        cmocka_unit_test(length_does_not_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
