/* What to post: sets worked out by hand. Common practice, no published source. */
#include "ovenproof/diagnosis.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

enum {
    MOST = 8
};

typedef struct given {
    const char *fault;
    double probability;
} given;

static size_t parts_of(const given list[], size_t count, ovp_diagnosis_part found[], double *covered)
{
    static ovp_diagnosis_cause causes[MOST];
    assert_true(count <= MOST);
    for (size_t i = 0; i < count; i++) {
        causes[i] = (ovp_diagnosis_cause){.fault = ovp_diagnosis_fault_named(list[i].fault),
                                          .probability = list[i].probability};
        assert_non_null(causes[i].fault);
    }
    return ovp_diagnosis_parts(causes, count, found, MOST, covered);
}

/* 0.5 of 0.55 is 0.909: the relay alone mends enough. */
static void test_one_part(void **state)
{
    (void)state;
    ovp_diagnosis_part found[MOST];
    double covered;
    const given list[] = {{"relay-shorted", 0.5}, {"contactor-welded", 0.05}};
    assert_int_equal(parts_of(list, 2, found, &covered), 1);
    assert_string_equal(found[0].part, "relay");
    assert_true(fabs(covered - 0.5 / 0.55) <= 1e-12);
    assert_true(fabs(found[0].mends - 0.5 / 0.55) <= 1e-12);
}

/* A fan mends fan-failed and relay-overheated, a relay only the second: one part where two would do. */
static void test_the_part_that_mends_both(void **state)
{
    (void)state;
    ovp_diagnosis_part found[MOST];
    double covered;
    const given list[] = {{"relay-overheated", 0.5}, {"fan-failed", 0.4}};
    assert_int_equal(parts_of(list, 2, found, &covered), 1);
    assert_string_equal(found[0].part, "fan");
    assert_true(fabs(covered - 1) <= 1e-12);
}

/* Sensor 0.5, element 0.3, door 0.2: two cover 0.8, so three; the one that mends most first. */
static void test_three_parts_most_first(void **state)
{
    (void)state;
    ovp_diagnosis_part found[MOST];
    double covered;
    const given list[] = {{"element-aged", 0.3}, {"sensor-drift", 0.5}, {"door-leak", 0.2}};
    assert_int_equal(parts_of(list, 3, found, &covered), 3);
    assert_string_equal(found[0].part, "sensor");
    assert_string_equal(found[1].part, "element");
    assert_string_equal(found[2].part, "door-seal");
    assert_true(fabs(covered - 1) <= 1e-12);
}

/* Settings need no part: what they leave of 0.9 is for the parts. */
static void test_settings_need_no_part(void **state)
{
    (void)state;
    ovp_diagnosis_part found[MOST];
    double covered;
    const given settings[] = {{"input-wrong-type", 0.8}, {"sensor-drift", 0.05}};
    assert_int_equal(parts_of(settings, 2, found, &covered), 0);
    assert_true(fabs(covered - 0.8 / 0.85) <= 1e-12);
    const given mixed[] = {{"input-wrong-type", 0.5}, {"sensor-drift", 0.4}, {"element-aged", 0.1}};
    assert_int_equal(parts_of(mixed, 3, found, &covered), 1);
    assert_string_equal(found[0].part, "sensor");
    assert_true(fabs(covered - 0.9) <= 1e-12);
    assert_int_equal(ovp_diagnosis_parts(NULL, 0, found, MOST, &covered), 0);
    assert_true(fabs(covered - 0) <= 1e-12);
}

/* More parts than are tried as sets; a short list keeps those that mend most. */
static void test_many_parts(void **state)
{
    (void)state;
    ovp_diagnosis_part found[MOST];
    double covered;
    const given list[] = {{"sensor-drift", 0.22},
                          {"element-aged", 0.21},
                          {"relay-open", 0.2},
                          {"contactor-open", 0.19},
                          {"door-leak", 0.18}};
    assert_int_equal(parts_of(list, 5, found, &covered), 5);
    assert_string_equal(found[0].part, "sensor");
    assert_string_equal(found[4].part, "door-seal");
    assert_true(fabs(covered - 1) <= 1e-12);
    ovp_diagnosis_cause causes[] = {{.fault = ovp_diagnosis_fault_named("door-leak"), .probability = 0.4},
                                    {.fault = ovp_diagnosis_fault_named("relay-open"), .probability = 0.6}};
    assert_int_equal(ovp_diagnosis_parts(causes, 2, found, 1, &covered), 1);
    assert_string_equal(found[0].part, "relay");
}

/* Every fault is mended by a part or needs none; no row names a fault that there is not. */
static void test_every_fault_has_its_part(void **state)
{
    (void)state;
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        size_t mended_by = 0;
        for (size_t i = 0; ovp_diagnosis_part_at(i) != NULL; i++) {
            mended_by += ovp_diagnosis_part_mends(ovp_diagnosis_part_at(i), ovp_diagnosis_fault_at(f)->id);
        }
        if (mended_by == 0) {
            fail_msg("no part mends %s", ovp_diagnosis_fault_at(f)->id);
        }
    }
    for (size_t i = 0; ovp_diagnosis_part_at(i) != NULL; i++) {
        const char *at = ovp_diagnosis_part_faults(i);
        while (*at != '\0') {
            char id[64] = "";
            const size_t length = strcspn(at, " ");
            assert_true(length > 0 && length < sizeof id);
            memcpy(id, at, length);
            assert_non_null(ovp_diagnosis_fault_named(id));
            at += length + (at[length] == ' ');
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_one_part),
        cmocka_unit_test(test_the_part_that_mends_both),
        cmocka_unit_test(test_three_parts_most_first),
        cmocka_unit_test(test_settings_need_no_part),
        cmocka_unit_test(test_many_parts),
        cmocka_unit_test(test_every_fault_has_its_part),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
