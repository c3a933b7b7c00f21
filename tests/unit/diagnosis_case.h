/* What the tests of a case share: the invented QR-8, answers, causes. */
#ifndef OVENPROOF_TESTS_DIAGNOSIS_CASE_H
#define OVENPROOF_TESTS_DIAGNOSIS_CASE_H

#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void *memory;
static ovp_diagnosis_result result;

static inline ovp_diagnosis_case *start(const ovp_oven *oven, bool technician)
{
    const ovp_diagnosis_settings settings = {
        .context = OVP_DIAGNOSIS_IN_SERVICE, .oven = oven, .technician = technician};
    return ovp_diagnosis_case_init(memory, &settings);
}

/* The invented QR-8 of the demo, as far as the questions need it. */
static inline void describe(ovp_oven *oven)
{
    static const struct {
        const char *path, *text;
        ovp_oven_leaf leaf;
    } leaves[] = {
        {"supply.volts", "240V", OVP_OVEN_LEAF_TEXT},
        {"supply.circuit", "20A", OVP_OVEN_LEAF_TEXT},
        {"elements[1].watts", "1800W", OVP_OVEN_LEAF_TEXT},
        {"elements[1].at", "240V", OVP_OVEN_LEAF_TEXT},
        {"elements[2].watts", "1800W", OVP_OVEN_LEAF_TEXT},
        {"elements[2].at", "240V", OVP_OVEN_LEAF_TEXT},
        {"wiring", "parallel", OVP_OVEN_LEAF_TEXT},
        {"sensor.type", "K", OVP_OVEN_LEAF_TEXT},
        {"controller.input", "K", OVP_OVEN_LEAF_TEXT},
        {"fitted.door_switch", "true", OVP_OVEN_LEAF_BOOLEAN},
        {"fitted.contactor", "false", OVP_OVEN_LEAF_BOOLEAN},
        {"fitted.limiter", "false", OVP_OVEN_LEAF_BOOLEAN},
        {"fitted.element_switch", "true", OVP_OVEN_LEAF_BOOLEAN},
        {"fitted.element_protector", "false", OVP_OVEN_LEAF_BOOLEAN},
        {"fitted.control_fuse", "5A fast", OVP_OVEN_LEAF_TEXT},
        {"fitted.panel_cutout", "true", OVP_OVEN_LEAF_BOOLEAN},
        {"fitted.fan", "thermostat", OVP_OVEN_LEAF_TEXT},
        {"fitted.check_hole", "false", OVP_OVEN_LEAF_BOOLEAN},
        {"fitted.output_lamp", "true", OVP_OVEN_LEAF_BOOLEAN},
        {"fitted.relay_lamp", "true", OVP_OVEN_LEAF_BOOLEAN},
    };
    ovp_oven_init(oven);
    for (size_t i = 0; i < sizeof(leaves) / sizeof(leaves[0]); i++) {
        ovp_error error = {0};
        if (ovp_oven_set(oven, leaves[i].path, leaves[i].leaf, leaves[i].text, NULL, &error) != OVP_OK) {
            print_error("%s: %s\n", leaves[i].path, error.what);
            fail();
        }
    }
}

static inline void answer(ovp_diagnosis_case *state, const char *id, const char *word)
{
    ovp_error error = {0};
    if (ovp_diagnosis_answer(state, id, word, &error) != OVP_OK) {
        print_error("%s %s: %s (%s)\n", id, word, error.what, error.hint);
        fail();
    }
}

static inline void assert_taken_as(ovp_diagnosis_case *state, const char *id, const char *text,
                                   const char *outcome)
{
    answer(state, id, text);
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    const size_t question = (size_t)(measurement - ovp_diagnosis_measurement_at(0));
    const int place = diagnosis_answer_place(state, question);
    assert_true(place >= 0);
    assert_string_equal(measurement->outcomes[state->answers[place].outcome], outcome);
}

static inline const ovp_diagnosis_cause *cause_of(const char *id)
{
    for (size_t i = 0; i < result.cause_count; i++) {
        if (strcmp(result.causes[i].fault->id, id) == 0) {
            return &result.causes[i];
        }
    }
    return NULL;
}

static inline double total(void)
{
    double sum = result.healthy + result.unlisted;
    for (size_t i = 0; i < result.cause_count; i++) {
        sum += result.causes[i].probability;
    }
    return sum;
}

static inline int set_up(void **state)
{
    (void)state;
    memory = malloc(ovp_diagnosis_case_size());
    return memory == NULL;
}

static inline int tear_down(void **state)
{
    (void)state;
    free(memory);
    return 0;
}

#endif
