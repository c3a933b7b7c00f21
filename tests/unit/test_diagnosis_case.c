/* A case from the first answer to the conclusion. Rules: docs/design.md; figures of the trade: judgement. */
#include "diagnosis_case.h"

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
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
