/* Firing plans: the table of fields, the layout in time, the judgement before heat. */
#include "ovenproof/thermal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

static void assert_close(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.17g is not %.17g", value, expected);
}

static void set(ovp_oven_plan *plan, const char *path, const char *text)
{
    ovp_error error = {0};
    if (ovp_oven_plan_set(plan, path, OVP_OVEN_LEAF_TEXT, text, &error) != OVP_OK)
        fail_msg("%s: %s", path, error.what);
}

/* A step of a plan from pairs of words. */
static void add(ovp_oven_plan *plan, const char *const words[])
{
    char path[64];
    const size_t number = plan->step_count + 1;
    for (size_t i = 0; words[i] != NULL; i += 2) {
        snprintf(path, sizeof path, "steps[%zu].%s", number, words[i]);
        set(plan, path, words[i + 1]);
    }
}

#define STEP(...) add(plan, (const char *const[]){__VA_ARGS__, NULL})

static void begin(ovp_oven_plan *plan, const char *floor)
{
    ovp_oven_plan_init(plan);
    set(plan, "name", "trial");
    set(plan, "floor", floor);
}

static ovp_oven_plan_review review_of(const ovp_oven_plan *plan)
{
    static ovp_oven_plan_review review;
    const ovp_oven_plan_facts facts = {NAN, NAN, NAN, OVP_TEXT_DEGREES_F};
    ovp_oven_plan_review_of(plan, &facts, &review);
    return review;
}

static const ovp_oven_plan_note *noted(const ovp_oven_plan_review *review, const char *id)
{
    for (size_t i = 0; i < review->note_count; i++)
        if (strcmp(review->notes[i].id, id) == 0)
            return &review->notes[i];
    return NULL;
}

/* Supplier's dry-out sheet: 100 degF/h to 400 degF, 1 h an inch, 100 degF/h to 1000 degF, 1 h an inch, 200
 * degF/h. */
static void published_schedule(ovp_oven_plan *plan)
{
    begin(plan, "conventional castable");
    set(plan, "thickness", "1in");
    STEP("kind", "hold", "time", "24h", "heat", "false");
    STEP("kind", "ramp", "to", "400F", "per_hour", "100F");
    STEP("kind", "hold", "per_inch", "1h");
    STEP("kind", "condition", "by", "seen", "text", "no steam");
    STEP("kind", "ramp", "to", "1000F", "per_hour", "100F");
    STEP("kind", "hold", "per_inch", "1h");
    STEP("kind", "ramp", "to", "1800F", "per_hour", "200F");
    STEP("kind", "ramp", "to", "400F", "per_hour", "100F");
}

static void the_published_schedule_is_good(void **state)
{
    ovp_oven_plan plan;
    (void)state;
    published_schedule(&plan);
    assert_int_equal(ovp_oven_plan_check(&plan, NULL), OVP_OK);
    const ovp_oven_plan_review review = review_of(&plan);
    assert_int_equal(review.grade, OVP_OVEN_PLAN_GOOD);
    assert_int_equal(review.note_count, 0);
    /* 75.2 to 400 degF at 100, 1 h, 6 h, 1 h, 4 h, 14 h */
    assert_close(review.heated_s / 3600.0, 3.248 + 1 + 6 + 1 + 4 + 14, 1e-6);
    assert_close(review.air_s, 86400.0, 1e-9);
}

static void low_cement_is_slower(void **state)
{
    ovp_oven_plan plan;
    (void)state;
    published_schedule(&plan);
    set(&plan, "floor", "low-cement castable");
    const ovp_oven_plan_review review = review_of(&plan);
    assert_int_equal(review.grade, OVP_OVEN_PLAN_FASTER); /* 50 degF/h from 400 to 1000 degF, 100 above */
    const ovp_oven_plan_note *note = noted(&review, "rate");
    assert_non_null(note);
    assert_int_equal(note->step, 4);
    assert_close(note->published, 27.8, 0.1);
}

/* Each way to burst a slab is refused with its step. */
static void dangerous_plans_are_refused(void **state)
{
    ovp_oven_plan plan;
    (void)state;
    published_schedule(&plan);
    plan.steps[1].per_hour_C = NAN;
    ovp_oven_plan_review review = review_of(&plan);
    assert_int_equal(review.grade, OVP_OVEN_PLAN_NOT_GOOD);
    assert_int_equal(noted(&review, "full-heat")->step, 1);

    published_schedule(&plan);
    set(&plan, "steps[2].per_hour", "105F");
    review = review_of(&plan);
    assert_int_equal(review.grade, OVP_OVEN_PLAN_NOT_GOOD);
    assert_int_equal(noted(&review, "rate")->step, 1);

    published_schedule(&plan);
    set(&plan, "steps[3].per_inch", "20min");
    review = review_of(&plan);
    assert_int_equal(review.grade, OVP_OVEN_PLAN_NOT_GOOD);
    assert_int_equal(noted(&review, "hold")->step, 4);

    published_schedule(&plan);
    set(&plan, "steps[1].time", "23h");
    review = review_of(&plan);
    assert_int_equal(review.grade, OVP_OVEN_PLAN_NOT_GOOD);
    assert_non_null(noted(&review, "cure"));
}

static void a_condition_when_cold_proves_nothing(void **state)
{
    ovp_oven_plan plan;
    (void)state;
    begin(&plan, "conventional castable");
    add(&plan, (const char *const[]){"kind", "hold", "time", "24h", "heat", "false", NULL});
    add(&plan, (const char *const[]){"kind", "condition", "by", "weighed", "water_left", "0.5%", NULL});
    add(&plan, (const char *const[]){"kind", "ramp", "to", "400F", "per_hour", "300F", NULL});
    const ovp_oven_plan_review review = review_of(&plan);
    assert_int_equal(review.grade, OVP_OVEN_PLAN_NOT_GOOD);
}

static void a_board_has_no_schedule(void **state)
{
    ovp_oven_plan plan;
    (void)state;
    begin(&plan, "fibre board");
    add(&plan, (const char *const[]){"kind", "ramp", "to", "1700F", NULL});
    assert_int_equal(review_of(&plan).grade, OVP_OVEN_PLAN_GOOD);
}

static void what_does_not_belong_is_refused(void **state)
{
    static const struct {
        const char *const words[8];
    } bad[] = {
        {{"to", "400F", NULL}},
        {{"kind", "ramp", NULL}},
        {{"kind", "hold", NULL}},
        {{"kind", "hold", "time", "1h", "to", "400F", NULL}},
        {{"kind", "guard", NULL}},
        {{"kind", "condition", NULL}},
        {{"kind", "condition", "by", "weighed", NULL}},
        {{"kind", "condition", "by", "seen", NULL}},
        {{"kind", "stop", NULL}},
        {{"kind", "ramp", "to", "400F", "stair", "20F", NULL}},
        {{"kind", "ramp", "to", "400F", "by", "seen", NULL}},
        {{"kind", "ramp", "to", "400F", "heat", "false", NULL}},
    };
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ovp_oven_plan plan;
        ovp_error error = {0};
        begin(&plan, "fibre board");
        add(&plan, (const char *const[]){"kind", "ramp", "to", "300F", NULL});
        add(&plan, bad[i].words);
        assert_int_equal(ovp_oven_plan_check(&plan, &error), OVP_ERROR_DATA);
        assert_non_null(strstr(error.what, "steps[2]"));
        assert_true(error.hint[0] != '\0');
    }
}

static void every_field_has_its_words(void **state)
{
    (void)state;
    for (const ovp_oven_field *field = ovp_oven_plan_fields(); field->path != NULL; field++) {
        assert_true(field->text != NULL && field->text[0] != '\0');
        assert_true(field->matters != NULL && field->matters[0] != '\0');
    }
}

/* The enum and the rows of the table must not drift apart. */
static void floors_stand_in_order(void **state)
{
    (void)state;
    assert_string_equal(ovp_oven_floor_of(OVP_OVEN_FLOOR_CONVENTIONAL)->floor, "conventional castable");
    assert_string_equal(ovp_oven_floor_of(OVP_OVEN_FLOOR_LOW_CEMENT)->floor, "low-cement castable");
    assert_string_equal(ovp_oven_floor_of(OVP_OVEN_FLOOR_INSULATING)->floor, "insulating castable");
    assert_string_equal(ovp_oven_floor_of(OVP_OVEN_FLOOR_BOARD)->floor, "fibre board");
    assert_string_equal(ovp_oven_floor_of(OVP_OVEN_FLOOR_BRICK)->floor, "insulating firebrick");
    assert_string_equal(ovp_oven_floor_of(OVP_OVEN_FLOOR_DAMP)->floor, "damp lining");
    assert_string_equal(ovp_oven_floor_of(OVP_OVEN_FLOOR_DRY)->floor, "dry lining");
    assert_null(ovp_oven_floor_of(OVP_OVEN_FLOOR_NOT_SAID));
}

/* Steam tables: 1.013 bar at 100 degC, 4.76 at 150, 15.55 at 200. */
static void steam_pushes(void **state)
{
    (void)state;
    assert_close(ovp_thermal_steam_Pa(100.0), 0.0, 1e-9);
    assert_close(ovp_thermal_steam_Pa(60.0), 0.0, 1e-9);
    assert_close(ovp_thermal_steam_Pa(150.0), 4.76e5 - 1.013e5, 1.0);
    assert_close(ovp_thermal_steam_Pa(200.0), 15.55e5 - 1.013e5, 1.0);
    assert_close(ovp_thermal_steam_Pa(160.0) / 1e5, 6.18 - 1.013, 0.15); /* 6.18 bar */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_schedule_is_good),
        cmocka_unit_test(low_cement_is_slower),
        cmocka_unit_test(dangerous_plans_are_refused),
        cmocka_unit_test(a_condition_when_cold_proves_nothing),
        cmocka_unit_test(a_board_has_no_schedule),
        cmocka_unit_test(what_does_not_belong_is_refused),
        cmocka_unit_test(every_field_has_its_words),
        cmocka_unit_test(floors_stand_in_order),
        cmocka_unit_test(steam_pushes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
