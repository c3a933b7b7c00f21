/* A run beside a model of each fault: what physics settles. The runs are simulated by the same model, with
 * control, noise and a display of 0.1 degC: a check of the reckoning, not of the model. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "ovenproof/diagnosis.h"

enum {
    INTERVAL_S = 5,
    SAMPLES = 721, /* an hour */
};

typedef struct log_of_run {
    ovp_trace_sample points[SAMPLES];
    ovp_trace_input input;
    ovp_trace_result result;
} log_of_run;

static void set(ovp_oven *oven, const char *path, const char *text)
{
    ovp_error error = {0};

    if (ovp_oven_set(oven, path, OVP_OVEN_LEAF_TEXT, text, NULL, &error) != OVP_OK) {
        fail_msg("%s: %s", path, error.what);
    }
}

static void make_oven(ovp_oven *oven)
{
    ovp_oven_init(oven);
    set(oven, "name", "test");
    set(oven, "supply.volts", "240V");
    set(oven, "elements[1].watts", "1800W");
    set(oven, "elements[1].at", "240V");
    set(oven, "elements[2].watts", "1800W");
    set(oven, "elements[2].at", "240V");
    set(oven, "wiring", "parallel");
    set(oven, "sensor.type", "K");
    set(oven, "chamber.width", "8in");
    set(oven, "chamber.height", "8in");
    set(oven, "chamber.depth", "12in");
    set(oven, "lining.wall", "2.5in fibre board");
    set(oven, "lining.floor", "1in insulating firebrick");
}

static void make_log(const ovp_oven *oven, const char *fault, double severity, double supply_V,
                     log_of_run *log)
{
    ovp_error error = {0};
    ovp_thermal_plan plan;
    ovp_thermal_conditions conditions;
    ovp_thermal_run run;

    ovp_thermal_conditions_init(&conditions);
    conditions.supply_V = supply_V;
    assert_int_equal(ovp_thermal_plan_for(oven, &conditions, NAN, &plan, &error), OVP_OK);
    if (fault) {
        assert_int_equal(
            ovp_diagnosis_apply_fault(oven, fault, severity, &plan.parameters, &plan.disturbance, &error),
            OVP_OK);
    }
    memset(log, 0, sizeof *log);
    ovp_thermal_run_start(&plan, &run);
    for (size_t i = 0; i < SAMPLES; i++) {
        ovp_thermal_sample sample;
        ovp_thermal_run_to(&run, (double)i * INTERVAL_S, &sample);
        log->points[i] = (ovp_trace_sample){.time_s = sample.time_s,
                                            .temperature_C = sample.temperature_C,
                                            .setpoint_C = sample.setpoint_C,
                                            .output_percent = sample.output_percent,
                                            .supply_V = NAN,
                                            .element_A = NAN,
                                            .cold_junction_C = NAN};
    }
    log->input.has[OVP_TRACE_OUTPUT] = true;
    log->result.cold_start = true;
    log->result.start_C = log->points[0].temperature_C;
}

static void compare(const ovp_oven *oven, const log_of_run *log, const log_of_run *good,
                    ovp_diagnosis_synthesis *result)
{
    ovp_error error = {0};
    ovp_thermal_parameters model;
    const ovp_diagnosis_run run = {log->points, SAMPLES, &log->input, &log->result};
    ovp_diagnosis_run baseline = {0};
    void *memory = malloc(ovp_diagnosis_synthesis_size());

    assert_non_null(memory);
    assert_int_equal(ovp_thermal_from_oven(oven, NULL, &model, &error), OVP_OK);
    if (good) {
        baseline = (ovp_diagnosis_run){good->points, SAMPLES, &good->input, &good->result};
    }
    ovp_diagnosis_synthesise(oven, &model, NAN, &run, good ? &baseline : NULL, memory, result);
    free(memory);
}

static const ovp_diagnosis_fit *fit_of(const ovp_diagnosis_synthesis *result, const char *fault)
{
    for (size_t i = 0; i < result->fit_count; i++) {
        if (strcmp(result->fits[i].fault->id, fault) == 0) {
            return &result->fits[i];
        }
    }
    fail_msg("no fit of %s", fault);
    return NULL;
}

static void test_a_good_run_makes_no_fault_likelier(void **state)
{
    static log_of_run log;
    static ovp_diagnosis_synthesis result;
    ovp_oven oven;

    (void)state;
    make_oven(&oven);
    make_log(&oven, NULL, 0, NAN, &log);
    compare(&oven, &log, NULL, &result);
    assert_true(result.speaks);
    assert_true(result.off_C < 4); /* coarse steps and points: well below the error assumed */
    for (size_t i = 0; i < result.fit_count; i++) {
        assert_true(result.fits[i].log_ratio < log1p(2)); /* under three times better: fit_held */
    }
}

/* Half waves are half the power (physics): nothing that takes a few percent explains that. */
static void test_half_the_power_is_told_from_a_little_less(void **state)
{
    static log_of_run log;
    static ovp_diagnosis_synthesis result;
    ovp_oven oven;

    (void)state;
    make_oven(&oven);
    make_log(&oven, "relay-half-wave", 0, NAN, &log);
    compare(&oven, &log, NULL, &result);
    assert_true(result.speaks);
    const double half = fit_of(&result, "relay-half-wave")->log_ratio;
    assert_true(half > 5);
    assert_true(half > fit_of(&result, "supply-low")->log_ratio + 3);
    assert_true(half > fit_of(&result, "insulation-degraded")->log_ratio + 3);
    /* One of two equal branches open is half the power too: the curve cannot part them. */
    assert_true(fabs(half - fit_of(&result, "element-branch-open")->log_ratio) < 1.5);
}

/* The severity that was put in comes out, within what the fit says of itself. Beside a good run: from the
 * description alone a quarter less power is within what ovens differ by (independent ovens: power_model_U).
 */
static void test_the_severity_comes_back(void **state)
{
    static log_of_run log, good;
    static ovp_diagnosis_synthesis result;
    ovp_oven oven;

    (void)state;
    make_oven(&oven);
    make_log(&oven, NULL, 0, NAN, &good);
    make_log(&oven, "element-aged", 1, NAN, &log);
    compare(&oven, &log, &good, &result);
    const ovp_diagnosis_fit *fit = fit_of(&result, "element-aged");
    assert_true(fit->log_ratio > 1);
    assert_true(fabs(fit->amount - 30) <= fit->amount_U + 2);
}

/* Small changes show beside the oven's own good run, and only there. */
static void test_a_good_run_shows_what_a_description_cannot(void **state)
{
    static log_of_run log, good;
    static ovp_diagnosis_synthesis alone, beside;
    ovp_oven oven;

    (void)state;
    make_oven(&oven);
    make_log(&oven, NULL, 0, NAN, &good);
    make_log(&oven, "insulation-degraded", 0.3, NAN, &log);
    compare(&oven, &log, NULL, &alone);
    compare(&oven, &log, &good, &beside);
    assert_true(beside.speaks);
    assert_true(fit_of(&beside, "insulation-degraded")->log_ratio >
                fit_of(&alone, "insulation-degraded")->log_ratio + 1);
}

static void test_what_cannot_be_compared_is_not(void **state)
{
    static log_of_run log;
    static ovp_diagnosis_synthesis result;
    ovp_oven oven;

    (void)state;
    make_oven(&oven);
    make_log(&oven, NULL, 0, NAN, &log);
    log.result.cold_start = false;
    compare(&oven, &log, NULL, &result);
    assert_false(result.speaks);
    assert_string_equal(result.reason, "the run does not start cold");
    log.result.cold_start = true;
    log.input.has[OVP_TRACE_OUTPUT] = false;
    compare(&oven, &log, NULL, &result);
    assert_false(result.speaks);
    assert_string_equal(result.reason, "the log has no output column");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_good_run_makes_no_fault_likelier),
        cmocka_unit_test(test_half_the_power_is_told_from_a_little_less),
        cmocka_unit_test(test_the_severity_comes_back),
        cmocka_unit_test(test_a_good_run_shows_what_a_description_cannot),
        cmocka_unit_test(test_what_cannot_be_compared_is_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
