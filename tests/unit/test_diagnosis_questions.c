/* Which question a case asks next, and what a trace adds to it. Rules: docs/design.md; figures of the trade:
 * judgement. */
#include "diagnosis_case.h"

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

int main(void)
{
    const struct CMUnitTest tests[] = {
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
