/* A case from the first answer to the conclusion. Rules: docs/design.md; figures of the trade: judgement. */
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

static ovp_diagnosis_case *start(const ovp_oven *oven, bool technician)
{
    const ovp_diagnosis_settings settings = {
        .context = OVP_DIAGNOSIS_IN_SERVICE, .oven = oven, .technician = technician};
    return ovp_diagnosis_case_init(memory, &settings);
}

/* The invented QR-8 of the demo, as far as the questions need it. */
static void describe(ovp_oven *oven)
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

static void answer(ovp_diagnosis_case *state, const char *id, const char *word)
{
    ovp_error error = {0};
    if (ovp_diagnosis_answer(state, id, word, &error) != OVP_OK) {
        print_error("%s %s: %s (%s)\n", id, word, error.what, error.hint);
        fail();
    }
}

static void assert_taken_as(ovp_diagnosis_case *state, const char *id, const char *text, const char *outcome)
{
    answer(state, id, text);
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    const size_t question = (size_t)(measurement - ovp_diagnosis_measurement_at(0));
    const int place = diagnosis_answer_place(state, question);
    assert_true(place >= 0);
    assert_string_equal(measurement->outcomes[state->answers[place].outcome], outcome);
}

static const ovp_diagnosis_cause *cause_of(const char *id)
{
    for (size_t i = 0; i < result.cause_count; i++) {
        if (strcmp(result.causes[i].fault->id, id) == 0) {
            return &result.causes[i];
        }
    }
    return NULL;
}

static double total(void)
{
    double sum = result.healthy + result.unlisted;
    for (size_t i = 0; i < result.cause_count; i++) {
        sum += result.causes[i].probability;
    }
    return sum;
}

/* ---- answers ------------------------------------------------------------------------------------------- */

static void test_quantities_find_their_outcome(void **state)
{
    (void)state;
    ovp_oven oven;
    describe(&oven);
    ovp_diagnosis_case *c = start(&oven, true);
    assert_taken_as(c, "volts-open", "240V", "nominal+-5%");
    assert_taken_as(c, "volts-open", "228V", "nominal+-5%"); /* 0.95: low <= x */
    assert_taken_as(c, "volts-open", "227.9V", "low");
    assert_taken_as(c, "volts-open", "208V", "other-nominal");
    assert_taken_as(c, "volts-open", "0.97", "nominal+-5%"); /* a bare ratio */
    assert_taken_as(c, "amps-full", "15A", "r0.95-1.05");
    assert_taken_as(c, "amps-full", "7.5A", "r0.4-0.6");
    assert_taken_as(c, "amps-full", "0A", "zero");
    assert_taken_as(c, "volts-relay-drop", "1.2V", "0.8-1.8");
    assert_taken_as(c, "volts-relay-drop", "0.1V", "<0.3");
    assert_taken_as(c, "volts-relay-drop", "239V", "full-line");
    assert_taken_as(c, "volts-relay-drop", "120V", "about-half-to-0.75");
    assert_taken_as(c, "ohms-couple", "3.1ohm", "0.2-10-steady");
    assert_taken_as(c, "ohms-couple", "0.05ohm", "near-0-or-changed-half");
    assert_taken_as(c, "joint-millivolts", "49", "all<50"); /* a bare emf is mV */
    assert_taken_as(c, "joint-millivolts", "0.25V", "one>200");
    assert_taken_as(c, "second-thermometer", "-41F", "reads-low-more");
    assert_taken_as(c, "second-thermometer", "4C", "agrees");
    assert_taken_as(c, "insulation-test", "250kohm", "<0.3M");
    assert_taken_as(c, "ohms-element-to-shell", "<10k", "<10k"); /* a word before a quantity */
    assert_taken_as(c, "volts-dc-on-element", "-54V", ">20");
    assert_taken_as(c, "look-display-cold", "9F", "off-5-to-60F");
    assert_taken_as(c, "ask-breaker-rating", "80%", "plate<=80%");
    assert_taken_as(c, "ask-breaker-rating", "81%", "80-100%");
    assert_taken_as(c, "watch-display-direction", " DOWN ", "down");
}

static void test_wrong_answers_are_refused_with_choices(void **state)
{
    (void)state;
    ovp_diagnosis_case *c = start(NULL, true);
    ovp_error error = {0};
    assert_int_equal(ovp_diagnosis_answer(c, "look-fuse", "maybe", &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.hint, "black-or-silver"));
    memset(&error, 0, sizeof(error));
    assert_int_equal(ovp_diagnosis_answer(c, "look-the-fuse", "whole", &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "look-the-fuse"));
    assert_int_equal(ovp_diagnosis_answer(c, "second-thermometer", "40", &error),
                     OVP_ERROR_DATA); /* no unit */
    assert_int_equal(ovp_diagnosis_answer(c, "volts-open", "-", NULL), OVP_ERROR_DATA);
    assert_int_equal(ovp_diagnosis_answer(c, "volts-open", "", NULL), OVP_ERROR_DATA);
    /* Nothing of it was kept. */
    assert_int_equal(c->answer_count, 0);
    /* Without a description 240 V is relative to nothing. */
    assert_int_equal(ovp_diagnosis_answer(c, "volts-open", "240V", NULL), OVP_ERROR_DATA);
}

static void test_unknown_is_no_evidence_and_a_later_answer_replaces(void **state)
{
    (void)state;
    ovp_diagnosis_case *c = start(NULL, false);
    ovp_diagnosis_infer(c, &result);
    const double before = cause_of("sensor-open")->probability;
    answer(c, "warm-tip", "unknown");
    ovp_diagnosis_infer(c, &result);
    assert_true(cause_of("sensor-open")->probability == before);
    answer(c, "warm-tip", "no-change");
    ovp_diagnosis_infer(c, &result);
    assert_true(cause_of("sensor-open")->probability > before);
    answer(c, "warm-tip", "rises");
    ovp_diagnosis_infer(c, &result);
    assert_true(cause_of("sensor-open")->probability < before);
    assert_true(ovp_diagnosis_retract(c, "warm-tip"));
    assert_false(ovp_diagnosis_retract(c, "warm-tip"));
    assert_false(ovp_diagnosis_retract(c, "no-such-thing"));
    ovp_diagnosis_infer(c, &result);
    assert_true(cause_of("sensor-open")->probability == before);
}

static void test_order_of_answers_does_not_matter(void **state)
{
    (void)state;
    static const char *const given[][2] = {
        {"ask-onset", "sudden"},      {"warm-tip", "no-change"},    {"look-display-cold", "near-room"},
        {"boil-or-ice", "no-change"}, {"ask-trip-when", "no-trip"}, {"ask-trip-device", "none-trips"}};
    double probability[2];
    for (size_t pass = 0; pass < 2; pass++) {
        ovp_diagnosis_case *c = start(NULL, false);
        for (size_t i = 0; i < 6; i++) {
            answer(c, given[pass == 0 ? i : 5 - i][0], given[pass == 0 ? i : 5 - i][1]);
        }
        ovp_diagnosis_infer(c, &result);
        probability[pass] = cause_of("sensor-shorted")->probability;
    }
    assert_true(fabs(probability[0] - probability[1]) < 1e-12);
}

/* Two answers to one root weigh less than two answers to two roots. */
static void test_one_root_counts_once_in_full(void **state)
{
    (void)state;
    ovp_diagnosis_case *c = start(NULL, false);
    answer(c, "lamp-outlet", "no");
    answer(c, "try-other-outlet", "gone");
    diagnosis_gather(c, true);
    assert_int_equal(c->evidence_count, 2);
    const double sum = c->evidence[0].weight + c->evidence[1].weight;
    assert_true(fabs(sum - 1.3) < 1e-12);
    answer(c, "ask-onset", "sudden");
    diagnosis_gather(c, true);
    assert_true(c->evidence[2].weight == 1);
}

/* ---- prior and parts -------------------------------------------------------------------------------------
 */

static void test_prior_shares(void **state)
{
    (void)state;
    ovp_diagnosis_case *c = start(NULL, false);
    ovp_diagnosis_infer(c, &result);
    assert_true(fabs(total() - 1) < 1e-9);
    assert_true(result.healthy == 0);
    assert_true(fabs(result.unlisted - 0.03) < 1e-12);
    assert_int_equal(result.cause_count, ovp_diagnosis_fault_count());
    assert_int_equal(result.verdict, OVP_DIAGNOSIS_UNCERTAIN);
    assert_true(result.mass_not_covered > 0 && result.mass_not_covered < 0.01);
    /* A prior of zero reads as a half: nothing is impossible. */
    const ovp_diagnosis_settings moved = {.context = OVP_DIAGNOSIS_AFTER_TRANSPORT, .healthy = 0.5};
    c = ovp_diagnosis_case_init(memory, &moved);
    ovp_diagnosis_infer(c, &result);
    assert_true(fabs(result.healthy - 0.5) < 1e-12);
    diagnosis_gather(c, true);
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        assert_true(c->prior.odds[f] > 0);
    }
}

static void test_parts_not_fitted_drop_faults_and_questions(void **state)
{
    (void)state;
    ovp_oven oven;
    describe(&oven);
    ovp_diagnosis_case *c = start(&oven, true);
    ovp_diagnosis_infer(c, &result);
    assert_null(cause_of("contactor-welded"));
    assert_non_null(cause_of("door-switch-open"));
    assert_false(diagnosis_permitted(c, ovp_diagnosis_measurement_named("contactor-click")));
    assert_true(diagnosis_permitted(c, ovp_diagnosis_measurement_named("door-lamp-test")));
    /* Not known is not "not fitted": the fault stays, and the question asks for the part first. */
    c = start(NULL, true);
    ovp_diagnosis_infer(c, &result);
    assert_non_null(cause_of("contactor-welded"));
    assert_true(diagnosis_permitted(c, ovp_diagnosis_measurement_named("contactor-click")));
    answer(c, "fitted-contactor", "no");
    ovp_diagnosis_infer(c, &result);
    assert_null(cause_of("contactor-welded"));
    answer(c, "fitted-contactor", "unknown"); /* final: not asked again, the fault is not ruled out */
    ovp_diagnosis_infer(c, &result);
    assert_non_null(cause_of("contactor-welded"));
    assert_false(diagnosis_permitted(c, ovp_diagnosis_measurement_named("contactor-click")));
}

/* ---- causes, reasons, doubts ------------------------------------------------------------------------------
 */

static void test_half_wave_relay(void **state)
{
    (void)state;
    ovp_oven oven;
    describe(&oven);
    ovp_diagnosis_case *c = start(&oven, true);
    answer(c, "amps-full", "7.5A");
    answer(c, "ohms-element", "r0.93-1.07");
    answer(c, "volts-dc-on-element", "108V");
    ovp_diagnosis_infer(c, &result);
    assert_string_equal(result.causes[0].fault->id, "relay-half-wave");
    assert_true(result.causes[0].probability > 0.5);
    assert_true(result.causes[0].present >= result.causes[0].probability);
    assert_int_equal(result.verdict, OVP_DIAGNOSIS_FAULT);
    assert_true(result.causes[0].because_count >= 2);
    assert_string_equal(result.causes[0].because[0].source, "amps-full");
    assert_string_equal(result.causes[0].because[1].source, "volts-dc-on-element");
    assert_string_equal(result.causes[0].because[1].outcome, ">20");
    assert_true(result.causes[0].because[1].decibans > 10);
    assert_true(fabs(total() - 1) < 1e-9);
}

static void test_causes_are_in_order_and_complete(void **state)
{
    (void)state;
    ovp_diagnosis_case *c = start(NULL, true);
    answer(c, "ask-onset", "gradual");
    answer(c, "time-ratio-mid", "r1.07-1.25");
    ovp_diagnosis_infer(c, &result);
    for (size_t i = 0; i < result.cause_count; i++) {
        const ovp_diagnosis_cause *cause = &result.causes[i];
        assert_true(i == 0 || result.causes[i - 1].probability >= cause->probability);
        assert_true(cause->probability >= 0.001);
        assert_true(cause->present >= cause->probability);
        assert_non_null(cause->next);
        assert_non_null(ovp_diagnosis_measurement_named(cause->next));
        for (size_t j = 1; j < cause->because_count; j++) {
            assert_true(fabs(cause->because[j - 1].decibans) >= fabs(cause->because[j].decibans));
        }
        for (size_t j = 0; j < i; j++) {
            assert_ptr_not_equal(result.causes[j].fault, cause->fault);
        }
    }
    assert_true(fabs(total() - 1) < 1e-9);
}

/* Many good answers and one that fits none of them: that one is to be taken again. */
static void test_a_contradiction_is_named(void **state)
{
    (void)state;
    ovp_diagnosis_case *c = start(NULL, true);
    answer(c, "warm-tip", "rises");
    answer(c, "look-wire-colours", "right");
    answer(c, "magnet-legs", "as-expected");
    answer(c, "boil-or-ice", "both-right");
    answer(c, "watch-display-direction", "down");
    ovp_diagnosis_infer(c, &result);
    assert_int_equal(result.recheck_count, 1);
    assert_string_equal(result.recheck[0], "watch-display-direction");
    answer(c, "watch-display-direction", "up");
    ovp_diagnosis_infer(c, &result);
    assert_int_equal(result.recheck_count, 0);
}

static const char *meaning(const ovp_diagnosis_case *c, const char *id, const char *outcome, char *text,
                           size_t size)
{
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    size_t place = 0;
    while (strcmp(measurement->outcomes[place], outcome) != 0) {
        place++;
    }
    const size_t length = ovp_diagnosis_meaning(c, measurement, place, text, size);
    assert_int_equal(length, strlen(text));
    return text;
}

/* A tip that falls when it is warmed is crossed; one that rises is not. An answer that is none says nothing.
 */
static void test_what_an_answer_would_mean(void **state)
{
    (void)state;
    char text[256];
    ovp_diagnosis_case *c = start(NULL, true);
    answer(c, "ask-onset", "after-work-on-it");
    ovp_diagnosis_infer(c, &result);
    assert_non_null(strstr(meaning(c, "look-wire-colours", "crossed-once", text, sizeof text), "points to"));
    assert_non_null(strstr(text, "sensor wires crossed"));
    (void)meaning(c, "look-wire-colours", "right", text, sizeof text);
    assert_null(strstr(text, "points to sensor wires crossed"));
    size_t against = 0; /* some answers point to nothing, and speak against something */
    for (size_t q = 0; q < ovp_diagnosis_measurement_count(); q++) {
        const ovp_diagnosis_measurement *one = ovp_diagnosis_measurement_at(q);
        for (size_t o = 0; o < one->outcome_count; o++) {
            (void)ovp_diagnosis_meaning(c, one, o, text, sizeof text);
            against += strncmp(text, "speaks against ", 15) == 0;
        }
    }
    assert_true(against > 0);
    char small[12];
    assert_non_null(meaning(c, "look-wire-colours", "right", small, sizeof small)); /* cut, not overrun */
    assert_int_equal(
        ovp_diagnosis_meaning(c, ovp_diagnosis_measurement_named("look-wire-colours"), 99, text, sizeof text),
        0);
    assert_string_equal(text, "");
}

static void test_nothing_is_called_good_while_dangers_are_untested(void **state)
{
    (void)state;
    ovp_diagnosis_case *c = start(NULL, false);
    answer(c, "look-run-state", "something-off");
    answer(c, "look-output-lamp", "off");
    ovp_diagnosis_infer(c, &result);
    assert_string_equal(result.causes[0].fault->id, "not-running");
    assert_int_not_equal(result.verdict, OVP_DIAGNOSIS_HEALTHY);
    assert_true(result.not_proved_count > 0);
}

/* Every answer to every question leaves numbers that add to 1 and a question or an end. */
static void test_every_answer_holds(void **state)
{
    (void)state;
    for (size_t q = 0; q < ovp_diagnosis_measurement_count(); q++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(q);
        for (size_t o = 0; o < measurement->outcome_count; o++) {
            ovp_diagnosis_case *c = start(NULL, true);
            answer(c, measurement->id, measurement->outcomes[o]);
            ovp_diagnosis_infer(c, &result);
            assert_true(fabs(total() - 1) < 1e-9);
            const ovp_diagnosis_measurement *next = ovp_diagnosis_next(c);
            assert_true(next == NULL || strcmp(next->id, measurement->id) != 0);
        }
    }
}

/* ---- questions --------------------------------------------------------------------------------------------
 */

static void test_an_owner_is_never_asked_for_a_live_measurement(void **state)
{
    (void)state;
    ovp_diagnosis_case *c = start(NULL, false);
    size_t asked = 0;
    for (const ovp_diagnosis_measurement *m = ovp_diagnosis_next(c); m != NULL; m = ovp_diagnosis_next(c)) {
        assert_string_not_equal(m->energised, "live");
        assert_string_equal(m->who, "owner");
        answer(c, m->id, "unknown");
        asked++;
        assert_true(asked <= 40 + OVP_OVEN_PARTS);
    }
    assert_true(asked > 5);
}

static void test_only_tools_at_hand(void **state)
{
    (void)state;
    const ovp_diagnosis_settings settings = {
        .context = OVP_DIAGNOSIS_IN_SERVICE, .technician = true, .tools = "magnet,multimeter"};
    ovp_diagnosis_case *c = ovp_diagnosis_case_init(memory, &settings);
    for (const ovp_diagnosis_measurement *m = ovp_diagnosis_next(c); m != NULL; m = ovp_diagnosis_next(c)) {
        assert_true(diagnosis_has_word("none|magnet|multimeter", '|', m->tools, strlen(m->tools)));
        answer(c, m->id, "unknown");
    }
}

/* A sensor that may be crossed: no heat while a cold test is to be had. */
static void test_cold_tests_come_first_while_the_sensor_is_in_doubt(void **state)
{
    (void)state;
    static const ovp_diagnosis_context contexts[] = {OVP_DIAGNOSIS_NEW_BUILD, OVP_DIAGNOSIS_AFTER_REWIRE};
    for (size_t i = 0; i < 4; i++) {
        const ovp_diagnosis_settings settings = {.context = contexts[i / 2], .technician = i % 2 == 1};
        ovp_diagnosis_case *c = ovp_diagnosis_case_init(memory, &settings);
        for (size_t asked = 0; asked < 3; asked++) {
            const ovp_diagnosis_measurement *m = ovp_diagnosis_next(c);
            assert_non_null(m);
            assert_null(strstr(m->states, "heated"));
            answer(c, m->id, "unknown");
        }
    }
    ovp_diagnosis_case *c = start(NULL, false);
    answer(c, "read-error-code", "under-range");
    for (size_t asked = 0; asked < 3; asked++) {
        const ovp_diagnosis_measurement *m = ovp_diagnosis_next(c);
        assert_non_null(m);
        assert_null(strstr(m->states, "heated"));
        answer(c, m->id, "unknown");
    }
}

/* Cover, plug and heat are paid for once. */
static void test_states_are_paid_once(void **state)
{
    (void)state;
    ovp_oven oven;
    describe(&oven);
    ovp_diagnosis_case *c = start(&oven, true);
    const ovp_diagnosis_measurement *relay = ovp_diagnosis_measurement_named("ohms-relay-output");
    const double first = diagnosis_cost(c, relay);
    answer(c, "ohms-element", "r0.93-1.07");
    assert_true(diagnosis_cost(c, relay) == relay->minutes);
    assert_true(first == relay->minutes + diagnosis_figure(DIAGNOSIS_cover_off) +
                             diagnosis_figure(DIAGNOSIS_unplugged));
    const ovp_diagnosis_measurement *panel = ovp_diagnosis_measurement_named("feel-panel");
    const double cold = diagnosis_cost(c, panel);
    answer(c, "feel-shell", "even");
    assert_true(diagnosis_cost(c, panel) < cold - 50);
    const ovp_diagnosis_measurement *couple = ovp_diagnosis_measurement_named("ohms-couple");
    /* an hour of heat: two thirds of the way from soaked hot to cold */
    assert_true(diagnosis_cost(c, couple) > couple->minutes + 0.6 * diagnosis_figure(DIAGNOSIS_cooled));
}

/* Crossed wires seen four ways: nothing more to ask but what bears on them, and soon nothing at all. */
static void test_a_plain_case_ends_soon(void **state)
{
    (void)state;
    ovp_oven oven;
    describe(&oven);
    ovp_diagnosis_case *c = start(&oven, false);
    answer(c, "watch-display-direction", "down");
    answer(c, "warm-tip", "falls");
    answer(c, "look-wire-colours", "crossed-once");
    answer(c, "magnet-legs", "crossed");
    size_t asked = 0;
    for (const ovp_diagnosis_measurement *m = ovp_diagnosis_next(c); m != NULL; m = ovp_diagnosis_next(c)) {
        answer(c, m->id, "unknown");
        asked++;
    }
    assert_true(asked <= 4);
    ovp_diagnosis_infer(c, &result);
    assert_string_equal(result.causes[0].fault->id, "sensor-reversed");
}

static void test_a_few_words_find_the_measurement(void **state)
{
    (void)state;
    const ovp_diagnosis_measurement *found[3];
    assert_true(ovp_diagnosis_offer("fuse good", found, 3) >= 1);
    assert_string_equal(found[0]->id, "look-fuse");
    assert_true(ovp_diagnosis_offer("it reads 40 low", found, 3) >= 1);
    assert_string_equal(found[0]->id, "second-thermometer");
    assert_true(ovp_diagnosis_offer("Reads Backwards", found, 3) >= 1);
    assert_string_equal(found[0]->id, "watch-display-direction");
    assert_int_equal(ovp_diagnosis_offer("zebra", found, 3), 0);
    assert_int_equal(ovp_diagnosis_offer("", found, 3), 0);
}

static void test_expected_values_on_this_oven(void **state)
{
    (void)state;
    ovp_oven oven;
    describe(&oven);
    ovp_diagnosis_case *c = start(&oven, true);
    char text[OVP_DIAGNOSIS_TEXT_SIZE];
    /* 240 V squared over 1800 W is 32.0 ohm hot; cold about 30.7 with iron-chromium-aluminium wire. */
    assert_true(ovp_diagnosis_expect(c, ovp_diagnosis_measurement_named("ohms-element"), text, sizeof(text)) >
                0);
    assert_non_null(strstr(text, "ohm"));
    assert_true(atof(text) > 29 && atof(text) < 32.5);
    ovp_diagnosis_expect(c, ovp_diagnosis_measurement_named("amps-full"), text, sizeof(text));
    assert_non_null(strstr(text, "15.0 A"));
    /* Half a wave by integral: 0.5453, 0.7071 and 0.5 of 15 A. */
    assert_non_null(strstr(text, "half a wave shows 8.2 A (ac clamp), 10.6 A (ac+dc) or 7.5 A (averaging)"));
    /* A snubber of a few mA, a meter of 10 Mohm: all of the 240 V. */
    ovp_diagnosis_expect(c, ovp_diagnosis_measurement_named("volts-relay-drop"), text, sizeof(text));
    assert_non_null(strstr(text, "with the load off or broken a meter shows 240 V"));
    /* Type K, 212 degF against 75 degF: 3.14 mV (ITS-90). */
    ovp_diagnosis_expect(c, ovp_diagnosis_measurement_named("mv-at-controller"), text, sizeof(text));
    assert_non_null(strstr(text, "3.14 mV"));
    /* Half a wave of 240 V: 0.45 of it is dc. */
    ovp_diagnosis_expect(c, ovp_diagnosis_measurement_named("volts-dc-on-element"), text, sizeof(text));
    assert_non_null(strstr(text, "108 V dc"));
    c = start(NULL, true);
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        ovp_diagnosis_expect(c, ovp_diagnosis_measurement_at(i), text, sizeof(text));
        assert_null(strchr(text, '{'));
        assert_null(strstr(text, "||"));
    }
    assert_int_equal(ovp_diagnosis_expect(c, ovp_diagnosis_measurement_at(0), text, 0), 0);
    ovp_diagnosis_expect(c, ovp_diagnosis_measurement_at(0), text, 4);
    assert_true(strlen(text) < 4);
}

/* ---- a trace
 * ------------------------------------------------------------------------------------------------ */

static void add_finding(ovp_trace_result *trace, const char *finding, const char *outcome)
{
    ovp_trace_finding *place = &trace->findings[trace->finding_count++];
    place->finding = finding;
    place->outcome = outcome;
    place->notable = true;
}

static void test_a_trace_that_runs_backwards(void **state)
{
    (void)state;
    static ovp_trace_result trace;
    memset(&trace, 0, sizeof(trace));
    add_finding(&trace, "reads-backwards", "backwards");
    add_finding(&trace, "wrong-unit", "right");
    static const char *const normal[] = {"open",
                                         "stuck",
                                         "noisy",
                                         "jumps",
                                         "over-range",
                                         "under-range",
                                         "plateau",
                                         "off-while-called",
                                         "power-while-off",
                                         "overshoot"};
    for (size_t i = 0; i < sizeof(normal) / sizeof(normal[0]); i++) {
        add_finding(&trace, normal[i], ovp_trace_finding_named(normal[i])->outcomes[0]);
    }
    const ovp_diagnosis_settings settings = {
        .context = OVP_DIAGNOSIS_IN_SERVICE, .healthy = 0.5, .log_only = true};
    ovp_diagnosis_case *c = ovp_diagnosis_case_init(memory, &settings);
    ovp_diagnosis_take_trace(c, &trace, NULL);
    ovp_diagnosis_infer(c, &result);
    assert_string_equal(result.causes[0].fault->id, "sensor-reversed");
    assert_true(result.causes[0].probability > 0.5);
    assert_true(result.causes[0].because[0].is_finding);
    assert_string_equal(result.causes[0].because[0].source, "reads-backwards");
    assert_int_not_equal(result.verdict, OVP_DIAGNOSIS_HEALTHY);
    assert_true(fabs(total() - 1) < 1e-9);
    /* What no log can show is no hypothesis, and is said. */
    assert_null(cause_of("ground-open"));
    bool said = false;
    for (size_t i = 0; i < result.not_shown_count; i++) {
        said = said || strcmp(result.not_shown[i], "ground-open") == 0;
        assert_null(cause_of(result.not_shown[i]));
    }
    assert_true(said);
}

static void test_a_finding_that_is_an_answer_counts_once(void **state)
{
    (void)state;
    static ovp_trace_result trace;
    memset(&trace, 0, sizeof(trace));
    add_finding(&trace, "swing", "more-than-10F");
    const ovp_diagnosis_settings settings = {.context = OVP_DIAGNOSIS_IN_SERVICE, .healthy = 0.5};
    ovp_diagnosis_case *c = ovp_diagnosis_case_init(memory, &settings);
    ovp_diagnosis_take_trace(c, &trace, NULL);
    ovp_diagnosis_infer(c, &result);
    const double once = cause_of("bad-tuning")->probability;
    answer(c, "watch-swing", "more-than-10F");
    ovp_diagnosis_infer(c, &result);
    assert_true(fabs(cause_of("bad-tuning")->probability - once) < 1e-12);
    assert_int_equal(c->evidence_count, 1);
}

static double share_of(const ovp_diagnosis_case *c, const char *id)
{
    const double odds = c->prior.odds[ovp_diagnosis_fault_named(id) - ovp_diagnosis_fault_at(0)];
    return odds / (1 + odds);
}

/* By hand: 20 calls of the table and 8 own ones are 28; 0.97 is what an unlisted fault leaves. */
static void test_own_calls_move_the_prior(void **state)
{
    (void)state;
    ovp_diagnosis_settings settings = {.context = OVP_DIAGNOSIS_IN_SERVICE};
    ovp_diagnosis_case *c = ovp_diagnosis_case_init(memory, &settings);
    diagnosis_gather(c, true);
    const double open = share_of(c, "element-open") / 0.97, sensor = share_of(c, "sensor-open") / 0.97;
    assert_true(fabs(open - 60.0 / 1274.0) < 1e-12); /* rows of faults.csv, in service: 60 in 1274 calls */
    const ovp_diagnosis_own own[] = {{ovp_diagnosis_fault_named("element-open"), 6},
                                     {ovp_diagnosis_fault_named("door-switch-open"), 1},
                                     {ovp_diagnosis_fault_named("element-open"), 1},
                                     {NULL, 5}};
    settings.own = own;
    settings.own_count = 4;
    c = ovp_diagnosis_case_init(memory, &settings);
    diagnosis_gather(c, true);
    assert_true(fabs(share_of(c, "element-open") / 0.97 - (20 * open + 7) / 28) < 1e-12);
    assert_true(fabs(share_of(c, "sensor-open") / 0.97 - 20 * sensor / 28) < 1e-12);
    double all = 0;
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        all += share_of(c, ovp_diagnosis_fault_at(f)->id);
    }
    assert_true(fabs(all - 0.97) < 1e-12);
}

/* A call about a part that this oven has not says nothing about it: 20 and 7 are 27. */
static void test_own_calls_of_parts_not_fitted_do_not_count(void **state)
{
    (void)state;
    static ovp_oven oven;
    describe(&oven); /* no contactor */
    ovp_diagnosis_settings settings = {.context = OVP_DIAGNOSIS_IN_SERVICE, .oven = &oven};
    ovp_diagnosis_case *c = ovp_diagnosis_case_init(memory, &settings);
    diagnosis_gather(c, true);
    const double open = share_of(c, "element-open") / 0.97;
    const ovp_diagnosis_own own[] = {{ovp_diagnosis_fault_named("element-open"), 7},
                                     {ovp_diagnosis_fault_named("contactor-welded"), 9}};
    settings.own = own;
    settings.own_count = 2;
    c = ovp_diagnosis_case_init(memory, &settings);
    diagnosis_gather(c, true);
    assert_true(fabs(share_of(c, "element-open") / 0.97 - (20 * open + 7) / 27) < 1e-12);
    assert_true(share_of(c, "contactor-welded") == 0);
}

static int set_up(void **state)
{
    (void)state;
    memory = malloc(ovp_diagnosis_case_size());
    return memory == NULL;
}

static int tear_down(void **state)
{
    (void)state;
    free(memory);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_quantities_find_their_outcome),
        cmocka_unit_test(test_wrong_answers_are_refused_with_choices),
        cmocka_unit_test(test_unknown_is_no_evidence_and_a_later_answer_replaces),
        cmocka_unit_test(test_order_of_answers_does_not_matter),
        cmocka_unit_test(test_one_root_counts_once_in_full),
        cmocka_unit_test(test_prior_shares),
        cmocka_unit_test(test_parts_not_fitted_drop_faults_and_questions),
        cmocka_unit_test(test_half_wave_relay),
        cmocka_unit_test(test_causes_are_in_order_and_complete),
        cmocka_unit_test(test_a_contradiction_is_named),
        cmocka_unit_test(test_what_an_answer_would_mean),
        cmocka_unit_test(test_nothing_is_called_good_while_dangers_are_untested),
        cmocka_unit_test(test_every_answer_holds),
        cmocka_unit_test(test_an_owner_is_never_asked_for_a_live_measurement),
        cmocka_unit_test(test_only_tools_at_hand),
        cmocka_unit_test(test_cold_tests_come_first_while_the_sensor_is_in_doubt),
        cmocka_unit_test(test_states_are_paid_once),
        cmocka_unit_test(test_a_plain_case_ends_soon),
        cmocka_unit_test(test_a_few_words_find_the_measurement),
        cmocka_unit_test(test_expected_values_on_this_oven),
        cmocka_unit_test(test_a_trace_that_runs_backwards),
        cmocka_unit_test(test_a_finding_that_is_an_answer_counts_once),
        cmocka_unit_test(test_own_calls_move_the_prior),
        cmocka_unit_test(test_own_calls_of_parts_not_fitted_do_not_count),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
