/* Every fault that a log can show, in the oven model: it runs, it shows, and the ones that physics settles
 * are right. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "ovenproof/diagnosis.h"

enum {
    INTERVAL_S = 20,
    SAMPLES = 181, /* an hour */
};

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
}

static void make_plan(const ovp_oven *oven, ovp_thermal_plan *plan)
{
    memset(plan, 0, sizeof *plan);
    assert_int_equal(ovp_thermal_from_oven(oven, NULL, &plan->parameters, NULL), OVP_OK);
    ovp_thermal_disturbance_init(oven, &plan->disturbance);
    ovp_thermal_controller_for(oven, &plan->parameters, 816, &plan->controller);
    plan->noise_C = 0.1;
    plan->resolution_C = 0.1;
    plan->meter_noise = 0.002;
    plan->seed = 7;
}

static void run_plan(const ovp_thermal_plan *plan, ovp_thermal_sample samples[SAMPLES])
{
    ovp_thermal_run run;

    ovp_thermal_run_start(plan, &run);
    for (int i = 0; i < SAMPLES; ++i) {
        ovp_thermal_run_to(&run, (double)i * INTERVAL_S, &samples[i]);
    }
}

static void run_fault_to(const ovp_oven *oven, double setpoint_C, double period_s, const char *fault,
                         double severity, ovp_thermal_sample samples[SAMPLES])
{
    ovp_thermal_plan plan;
    ovp_error error = {0};

    make_plan(oven, &plan);
    plan.controller.setpoint_C = setpoint_C;
    plan.controller.period_s = period_s;
    if (fault && ovp_diagnosis_apply_fault(oven, fault, severity, &plan.parameters, &plan.disturbance,
                                           &error) != OVP_OK) {
        fail_msg("%s: %s", fault, error.what);
    }
    run_plan(&plan, samples);
}

static void run_fault(const ovp_oven *oven, const char *fault, double severity,
                      ovp_thermal_sample samples[SAMPLES])
{
    run_fault_to(oven, 816, 2, fault, severity, samples);
}

static void assert_sane(const char *fault, const ovp_thermal_sample *sample)
{
    const bool number = !sample->dark && sample->display == OVP_TC_DISPLAY_OK;

    if (number != isfinite(sample->temperature_C) || sample->dark != isnan(sample->output_percent) ||
        !isfinite(sample->supply_V) || !isfinite(sample->element_A) || !isfinite(sample->true_C) ||
        sample->element_A < 0 || sample->true_C > 3000 || sample->true_C < -50) {
        fail_msg("%s at %.0f s: %g degC true %g, %g V, %g A", fault, sample->time_s, sample->temperature_C,
                 sample->true_C, sample->supply_V, sample->element_A);
    }
}

/* How far two runs lie apart, in steps that a person would see. */
static double apart(const ovp_thermal_sample a[SAMPLES], const ovp_thermal_sample b[SAMPLES])
{
    double most = 0;

    for (int i = 0; i < SAMPLES; ++i) {
        if (a[i].dark != b[i].dark || a[i].display != b[i].display) {
            return INFINITY;
        }
        const double temperature = fabs(a[i].temperature_C - b[i].temperature_C) / 1.5;
        const double volts = fabs(a[i].supply_V - b[i].supply_V) / 5;
        const double amps = fabs(a[i].element_A - b[i].element_A) / 0.5;
        most = fmax(most, fmax(temperature, fmax(volts, amps)));
    }
    return most;
}

/* A slow output cycle makes it quick. A leaky relay shows where little heat is wanted, leaking ceramic where
 * it is hot. */
static const double setpoints_C[] = {60, 816, 1093};

static void every_fault_runs_and_shows(void **state)
{
    (void)state;
    static ovp_thermal_sample healthy[3][SAMPLES], samples[SAMPLES];
    static const double severities[] = {1, 1, 1, 0, 0.5};
    ovp_oven oven;

    make_oven(&oven);
    for (int run = 0; run < 3; ++run) {
        run_fault_to(&oven, setpoints_C[run], 10, NULL, 0, healthy[run]);
    }
    for (size_t i = 0; i < ovp_diagnosis_fault_count(); ++i) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(i);
        if (strcmp(fault->trace, "never") == 0) {
            ovp_thermal_plan plan;
            make_plan(&oven, &plan);
            assert_int_equal(
                ovp_diagnosis_apply_fault(&oven, fault->id, 0.5, &plan.parameters, &plan.disturbance, NULL),
                OVP_ERROR_DATA);
            continue;
        }
        double most = 0;
        for (int k = 0; k < 5; ++k) {
            const int at = k < 3 ? k : k - 3;
            run_fault_to(&oven, setpoints_C[at], 10, fault->id, severities[k], samples);
            for (int n = 0; n < SAMPLES; ++n) {
                assert_sane(fault->id, &samples[n]);
            }
            if (severities[k] == 1) {
                most = fmax(most, apart(healthy[at], samples));
            }
        }
        if (!(most > 1)) {
            fail_msg("%s: the severe fault does not show", fault->id);
        }
    }
}

static void no_severity_breaks_it(void **state)
{
    (void)state;
    static ovp_thermal_sample samples[SAMPLES];
    static const double severities[] = {-20, -3, -0.5, 3, 20};
    ovp_oven oven;

    make_oven(&oven);
    for (size_t i = 0; i < ovp_diagnosis_fault_count(); ++i) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(i);
        for (size_t k = 0; strcmp(fault->trace, "never") != 0 && k < sizeof severities / sizeof severities[0];
             ++k) {
            ovp_thermal_plan plan;
            make_plan(&oven, &plan);
            assert_int_equal(ovp_diagnosis_apply_fault(&oven, fault->id, severities[k], &plan.parameters,
                                                       &plan.disturbance, NULL),
                             OVP_OK);
            ovp_thermal_run run;
            plan.controller.period_s = 10;
            ovp_thermal_run_start(&plan, &run);
            for (int n = 0; n < 30; ++n) {
                ovp_thermal_run_to(&run, n * 40.0, &samples[n]);
                if (isnan(run.state.chamber_C) || isnan(samples[n].element_A) || isnan(samples[n].supply_V)) {
                    fail_msg("%s at severity %g gives no number", fault->id, severities[k]);
                }
            }
        }
    }
}

static void the_same_seed_gives_the_same_run(void **state)
{
    (void)state;
    static ovp_thermal_sample first[SAMPLES], second[SAMPLES];
    ovp_oven oven;
    ovp_thermal_plan plan;

    make_oven(&oven);
    run_fault(&oven, "joint-loose-element", 0.7, first);
    run_fault(&oven, "joint-loose-element", 0.7, second);
    assert_true(apart(first, second) == 0);
    make_plan(&oven, &plan);
    plan.seed = 8;
    run_plan(&plan, second);
    plan.seed = 9;
    run_plan(&plan, first);
    assert_true(apart(first, second) > 0);
}

/* How a run is logged must not change it: the sampling interval only picks other moments. */
static void logging_does_not_disturb(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_thermal_plan plan;
    ovp_thermal_run often, seldom;
    ovp_thermal_sample a, b;

    make_oven(&oven);
    make_plan(&oven, &plan);
    ovp_thermal_run_start(&plan, &often);
    ovp_thermal_run_start(&plan, &seldom);
    for (int i = 0; i <= 2400; ++i) {
        ovp_thermal_run_to(&often, i, &a);
    }
    ovp_thermal_run_to(&seldom, 2400, &b);
    assert_true(fabs(a.true_C - b.true_C) < 1);
}

static void hold_is_steady(void **state)
{
    (void)state;
    static ovp_thermal_sample samples[SAMPLES];
    ovp_oven oven;
    double highest_C = 0;

    make_oven(&oven);
    run_fault(&oven, NULL, 0, samples);
    for (int i = 0; i < SAMPLES; ++i) {
        highest_C = fmax(highest_C, samples[i].temperature_C);
    }
    assert_true(highest_C < 816 + 15);
    for (int i = SAMPLES - 60; i < SAMPLES; ++i) {
        assert_true(fabs(samples[i].temperature_C - 816) < 1.5);
    }
}

/* The loop law: a reversed couple shows inv(2 E(panel) - E(tip)); the controller keeps calling for heat, and
   its input's under-range ends it (common practice, no published source: display falls as the oven heats). */
static void reversed_sensor_calls_for_heat(void **state)
{
    (void)state;
    static ovp_thermal_sample samples[SAMPLES];
    ovp_oven oven;
    int warm = 0;

    make_oven(&oven);
    run_fault(&oven, "sensor-reversed", 1, samples);
    for (int i = 1; i < SAMPLES && samples[i].display == OVP_TC_DISPLAY_OK; ++i) {
        assert_true(samples[i].temperature_C < samples[0].temperature_C + 0.5);
        assert_true(samples[i].output_percent > 99);
        warm = i;
    }
    assert_true(warm >= 2);
    assert_int_equal(samples[warm + 1].display, OVP_TC_DISPLAY_UNDER_RANGE);
}

/* A half wave: half the power, 0.707 of the amps on an ac+dc true-rms meter, 0.50 on an averaging one. */
static void half_wave_amps(void **state)
{
    (void)state;
    static ovp_thermal_sample healthy[SAMPLES], samples[SAMPLES];
    ovp_oven oven;
    ovp_thermal_plan plan;

    make_oven(&oven);
    run_fault(&oven, NULL, 0, healthy);
    run_fault(&oven, "relay-half-wave", 1, samples);
    assert_true(fabs(samples[6].element_A / healthy[6].element_A - sqrt(0.5)) < 0.02);
    make_plan(&oven, &plan);
    plan.half_wave_meter_average = true;
    plan.parameters.power_fraction = 0.5;
    run_plan(&plan, samples);
    assert_true(fabs(samples[6].element_A / healthy[6].element_A - 0.5) < 0.02);
}

static void shorted_relay_runs_away(void **state)
{
    (void)state;
    static ovp_thermal_sample samples[SAMPLES];
    ovp_oven oven;

    make_oven(&oven);
    run_fault(&oven, "relay-shorted", 0, samples);
    assert_true(samples[SAMPLES - 1].output_percent == 0);
    assert_true(samples[SAMPLES - 1].true_C > 900);
    assert_true(samples[SAMPLES - 1].element_A > 14);
}

static void a_trip_is_dark(void **state)
{
    (void)state;
    static ovp_thermal_sample samples[SAMPLES];
    ovp_oven oven;
    double severity = NAN;

    make_oven(&oven);
    assert_int_equal(ovp_diagnosis_severity(&oven, "breaker-weak", "30min", &severity, NULL), OVP_OK);
    run_fault(&oven, "breaker-weak", severity, samples);
    assert_false(samples[89].dark);
    assert_true(samples[91].dark);
    assert_true(samples[91].supply_V == 0);
    assert_true(samples[91].element_A == 0);
    run_fault(&oven, "control-fuse-open", 1, samples);
    assert_true(samples[5].dark);
    assert_true(samples[5].supply_V > 230);
}

static void two_faults_keep_their_times(void **state)
{
    (void)state;
    static ovp_thermal_sample samples[SAMPLES];
    ovp_oven oven;
    ovp_thermal_plan plan;

    make_oven(&oven);
    make_plan(&oven, &plan);
    assert_int_equal(
        ovp_diagnosis_apply_fault(&oven, "supply-low", 1, &plan.parameters, &plan.disturbance, NULL), OVP_OK);
    assert_int_equal(
        ovp_diagnosis_apply_fault(&oven, "element-open", 0.5, &plan.parameters, &plan.disturbance, NULL),
        OVP_OK);
    run_plan(&plan, samples);
    assert_true(samples[3].supply_V < 210);
    assert_true(samples[3].element_A > 10);
    assert_true(samples[31].element_A == 0);
}

/* Mean output over the last ten minutes of an hour at 816 degC. */
static double hold_percent(const ovp_oven *oven, const char *fault, double severity)
{
    static ovp_thermal_sample samples[SAMPLES];
    double sum = 0;

    run_fault(oven, fault, severity, samples);
    for (int i = SAMPLES - 30; i < SAMPLES; ++i) {
        sum += samples[i].output_percent;
    }
    return sum / 30;
}

/* Common practice, no published source: hold watts at the same soak time tell loss and low readings (up) from
   lost power (unchanged), and from high readings (down). */
static void hold_watts_tell_loss_from_power(void **state)
{
    (void)state;
    ovp_oven oven;

    make_oven(&oven);
    const double healthy = hold_percent(&oven, NULL, 0);
    assert_true(hold_percent(&oven, "extension-reversed", 0.5) > 1.1 * healthy);
    assert_true(hold_percent(&oven, "input-wrong-type", 0.75) > 1.4 * healthy);
    assert_true(hold_percent(&oven, "door-leak", 0.5) > 1.1 * healthy);
    assert_true(hold_percent(&oven, "insulation-degraded", 0.5) > 1.1 * healthy);
    assert_true(hold_percent(&oven, "input-offset", 1) < 0.98 * healthy);
    assert_true(fabs(hold_percent(&oven, "supply-low", 0.5) * 0.91 * 0.91 - healthy) < 0.06 * healthy);
    assert_true(fabs(hold_percent(&oven, "element-aged", 0.4) / 1.15 - healthy) < 0.06 * healthy);
}

static double severity_of(const ovp_oven *oven, const char *fault, const char *text)
{
    double severity = NAN;
    ovp_error error = {0};

    if (ovp_diagnosis_severity(oven, fault, text, &severity, &error) != OVP_OK) {
        fail_msg("%s=%s: %s", fault, text, error.what);
    }
    return severity;
}

static void severities_are_read(void **state)
{
    (void)state;
    ovp_oven oven;
    double severity = 9;
    ovp_error error = {0};

    make_oven(&oven);
    assert_true(severity_of(&oven, "element-aged", "0.4") == 0.4);
    assert_true(fabs(severity_of(&oven, "element-aged", "15%") - 0.4) < 1e-12);
    assert_true(fabs(severity_of(&oven, "supply-low", "228V") - (5.0 - 3) / (15 - 3)) < 1e-12);
    assert_true(fabs(severity_of(&oven, "supply-wrong-voltage", "208V") - (208 / 2.4 - 87) / (50 - 87)) <
                1e-12);
    assert_true(fabs(severity_of(&oven, "input-offset", "9F") - (5.0 - 3) / (25 - 3)) < 1e-12);
    assert_true(fabs(severity_of(&oven, "lining-damp", "300g") - (0.3 - 0.05) / (1 - 0.05)) < 1e-12);
    assert_true(fabs(severity_of(&oven, "door-leak", "2.25cm2") - 0.5) < 1e-12);
    assert_true(fabs(severity_of(&oven, "sensor-intermittent", "63/h") - 0.5) < 1e-12);
    assert_true(fabs(severity_of(&oven, "sensor-leakage-hot", "55x") - 0.5) < 1e-12);
    assert_true(fabs(severity_of(&oven, "joint-loose-element", "0.21ohm") - 0.5) < 1e-12);
    assert_true(severity_of(&oven, "sensor-wrong-type", "N") < 0.5);
    assert_true(severity_of(&oven, "extension-wrong-type", "copper") > 0.5);
    assert_int_equal(ovp_diagnosis_severity(&oven, "element-aged", "15", &severity, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.hint, "15%"));
    assert_int_equal(ovp_diagnosis_severity(&oven, "relay-half-wave", "15%", &severity, &error),
                     OVP_ERROR_DATA);
    assert_int_equal(ovp_diagnosis_severity(&oven, "no-such", "1", &severity, &error), OVP_ERROR_DATA);
    assert_int_equal(ovp_diagnosis_severity(&oven, "sensor-wrong-type", "C", &severity, &error),
                     OVP_ERROR_DATA);
    assert_true(severity == 9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_fault_runs_and_shows),
        cmocka_unit_test(no_severity_breaks_it),
        cmocka_unit_test(the_same_seed_gives_the_same_run),
        cmocka_unit_test(logging_does_not_disturb),
        cmocka_unit_test(hold_is_steady),
        cmocka_unit_test(reversed_sensor_calls_for_heat),
        cmocka_unit_test(half_wave_amps),
        cmocka_unit_test(shorted_relay_runs_away),
        cmocka_unit_test(a_trip_is_dark),
        cmocka_unit_test(two_faults_keep_their_times),
        cmocka_unit_test(hold_watts_tell_loss_from_power),
        cmocka_unit_test(severities_are_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
