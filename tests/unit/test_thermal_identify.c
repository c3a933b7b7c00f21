/*
 * A process from a run. Outside data is looked for in the folder that OVENPROOF_OUTSIDE_DATA names (../shared
 * without it), under data/. OVENPROOF_FIT_RUNS sets how many runs the statistics rest on (2000 for the
 * record).
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "ovenproof/thermal.h"
#include "thermal/thermal_internal.h"

static ovp_thermal_block blocks[OVP_THERMAL_BLOCKS];

static void assert_near(double got, double wanted, double tolerance)
{
    if (!(fabs(got - wanted) <= tolerance)) {
        fail_msg("%.12g is not %.12g +- %g", got, wanted, tolerance);
    }
}

/* ---- made runs: the closed solution of a step, so no code under test makes them ---------------------------
 */

typedef struct made {
    double gain, lag_s, second_s, dead_s, noise_C, step_s, length_s, spike_C;
    uint64_t seed;
} made;

static double rise(const made *run, double time_s)
{
    const double t = time_s - run->dead_s;

    if (t <= 0) {
        return 0;
    }
    if (run->second_s <= 0) {
        return run->gain * (1 - exp(-t / run->lag_s));
    }
    return run->gain * (1 - (run->lag_s * exp(-t / run->lag_s) - run->second_s * exp(-t / run->second_s)) /
                                (run->lag_s - run->second_s));
}

static ovp_thermal_record record_of(const made *run)
{
    ovp_thermal_record record;

    ovp_thermal_record_init(&record, blocks, OVP_THERMAL_BLOCKS);
    for (uint64_t i = 0; (double)i * run->step_s <= run->length_s; ++i) {
        const double time_s = (double)i * run->step_s;
        double shown_C = 20 + rise(run, time_s) + run->noise_C * thermal_normal(run->seed, 1, i);
        if (run->spike_C != 0 && i % 50 == 17) {
            shown_C += run->spike_C;
        }
        ovp_thermal_record_add(&record, time_s, shown_C, 1);
    }
    return record;
}

static void test_exact_step(void **state)
{
    const made run = {.gain = 200, .lag_s = 600, .dead_s = 30.5, .step_s = 7, .length_s = 1800};
    ovp_thermal_record record = record_of(&run);
    ovp_thermal_fit fit;
    (void)state;

    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 1, &fit, NULL), OVP_OK);
    assert_near(fit.process.gain, 200, 1e-4);
    assert_near(fit.process.time_constants_s[0], 600, 1e-3);
    assert_near(fit.process.dead_time_s, 30.5, 1e-4);
    assert_near(fit.base_C, 20, 1e-5);
    assert_false(fit.too_short);
}

static void test_exact_two_lags(void **state)
{
    const made run = {.gain = 200, .lag_s = 600, .second_s = 60, .dead_s = 12, .step_s = 5, .length_s = 2400};
    ovp_thermal_record record = record_of(&run);
    ovp_thermal_fit fit;
    (void)state;

    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 2, &fit, NULL), OVP_OK);
    assert_near(fit.process.gain, 200, 1e-3);
    assert_near(fit.process.time_constants_s[0], 600, 1e-2);
    assert_near(fit.process.time_constants_s[1], 60, 1e-2);
    assert_near(fit.process.dead_time_s, 12, 1e-2);
}

/* Heat on and off by chance: the superposition of steps, each by the closed solution. */
static void test_any_pattern(void **state)
{
    const made run = {.gain = 900, .lag_s = 800, .second_s = 40, .dead_s = 17};
    double at_s[400], by[400], drive = 0;
    size_t steps = 0;
    ovp_thermal_record record;
    ovp_thermal_fit fit;
    (void)state;

    ovp_thermal_record_init(&record, blocks, OVP_THERMAL_BLOCKS);
    for (uint64_t i = 0; i < 400; ++i) {
        const double time_s = 6.0 * (double)i + 4 * thermal_uniform(5, 1, i); /* unequal steps */
        const double next = thermal_uniform(5, 2, i / 9) < 0.5 ? 0.1 : 0.9;
        double shown_C = 25;
        if (next != drive) {
            at_s[steps] = time_s;
            by[steps++] = next - drive;
            drive = next;
        }
        for (size_t j = 0; j < steps; ++j) {
            shown_C += by[j] * rise(&run, time_s - at_s[j]);
        }
        ovp_thermal_record_add(&record, time_s, i % 7 == 3 ? (double)NAN : shown_C, drive);
    }
    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 2, &fit, NULL), OVP_OK);
    assert_near(fit.process.gain, 900, 0.05);
    assert_near(fit.process.time_constants_s[0], 800, 0.1);
    assert_near(fit.process.time_constants_s[1], 40, 0.05);
    assert_near(fit.process.dead_time_s, 17, 0.05);
}

/* One reading in fifty 40 degC too high. */
static void test_outliers(void **state)
{
    const made run = {.gain = 200,
                      .lag_s = 600,
                      .dead_s = 30,
                      .noise_C = 0.1,
                      .step_s = 2,
                      .length_s = 1800,
                      .spike_C = 40,
                      .seed = 3};
    ovp_thermal_record record = record_of(&run);
    ovp_thermal_fit fit;
    (void)state;

    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 1, &fit, NULL), OVP_OK);
    assert_near(fit.process.gain, 200, 0.15);
    assert_near(fit.process.time_constants_s[0], 600, 1);
}

/* Ten times the samples that the array holds: blocks join, the model stays. */
static void test_long_run(void **state)
{
    const made run = {
        .gain = 200, .lag_s = 600, .dead_s = 30, .noise_C = 0.1, .step_s = 0.05, .length_s = 2000, .seed = 9};
    ovp_thermal_record record = record_of(&run);
    ovp_thermal_fit fit;
    (void)state;

    assert_true(record.count <= OVP_THERMAL_BLOCKS && record.count > OVP_THERMAL_BLOCKS / 2 - 1);
    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 1, &fit, NULL), OVP_OK);
    assert_near(fit.process.gain, 200, 0.02);
    assert_near(fit.process.time_constants_s[0], 600, 0.15);
    assert_near(fit.process.dead_time_s, 30, 0.05);
}

static void test_short_run(void **state)
{
    const made run = {
        .gain = 200, .lag_s = 600, .dead_s = 30, .noise_C = 0.1, .step_s = 1, .length_s = 330, .seed = 4};
    ovp_thermal_record record = record_of(&run);
    ovp_thermal_fit fit;
    (void)state;

    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 1, &fit, NULL), OVP_OK);
    assert_true(fit.too_short);
    assert_near(fit.slope_C_per_s.value, 200.0 / 600, 0.01);
}

static void test_wet(void **state)
{
    ovp_thermal_record record;
    ovp_thermal_fit fit;
    (void)state;

    /* 0.1 kg of water at 500 W net takes 451.4 s (2.257 MJ/kg, steam tables): the rise stands so long at 98
     * degC */
    const made run = {.gain = 600, .lag_s = 1500, .dead_s = 20};
    ovp_thermal_record_init(&record, blocks, OVP_THERMAL_BLOCKS);
    double late_s = 0;
    for (int i = 0; i < 1000; ++i) {
        const double time_s = 5.0 * i;
        if (20 + rise(&run, time_s - late_s) > 98 && late_s < 450) {
            late_s += 5;
        }
        ovp_thermal_record_add(&record, time_s, 20 + rise(&run, time_s - late_s), 1);
    }
    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 1, &fit, NULL), OVP_OK);
    assert_near(fit.wet_s, 450, 30);
}

static void test_refused(void **state)
{
    ovp_thermal_record record;
    ovp_thermal_fit fit;
    ovp_error error = {0};
    (void)state;

    ovp_thermal_record_init(&record, blocks, OVP_THERMAL_BLOCKS);
    for (int i = 0; i < 5; ++i) {
        ovp_thermal_record_add(&record, i, 20 + i, 1);
    }
    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 1, &fit, &error), OVP_ERROR_DATA);
    for (int i = 5; i < 50; ++i) {
        ovp_thermal_record_add(&record, i, 20 + i, 1);
    }
    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_RUNNING, 1, &fit, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "never changes"));
    ovp_thermal_record_init(&record, blocks, OVP_THERMAL_BLOCKS);
    for (int i = 0; i < 50; ++i) {
        ovp_thermal_record_add(&record, i, 200 - i, 1);
    }
    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 1, &fit, &error), OVP_ERROR_DATA);
}

/* ---- statistics: the Cramer-Rao bound, reckoned here from the closed solution's own slopes
 * ------------------ */

/* Inverse of J'J / sigma^2 for base, gain, lag, dead time by Gauss and Jordan. */
static void cramer_rao(const made *run, double bound[4])
{
    double a[4][8] = {{0}};

    for (uint64_t i = 0; (double)i * run->step_s <= run->length_s; ++i) {
        const double t = (double)i * run->step_s - run->dead_s;
        const double left = t > 0 ? exp(-t / run->lag_s) : 0;
        const double slope[4] = {1, t > 0 ? 1 - left : 0,
                                 t > 0 ? -run->gain * left * t / (run->lag_s * run->lag_s) : 0,
                                 t > 0 ? -run->gain * left / run->lag_s : 0};
        for (size_t j = 0; j < 4; ++j) {
            for (size_t k = 0; k < 4; ++k) {
                a[j][k] += slope[j] * slope[k] / (run->noise_C * run->noise_C);
            }
        }
    }
    for (size_t j = 0; j < 4; ++j) {
        a[j][4 + j] = 1;
    }
    for (size_t j = 0; j < 4; ++j) {
        const double pivot = a[j][j];
        for (size_t k = 0; k < 8; ++k) {
            a[j][k] /= pivot;
        }
        for (size_t i = 0; i < 4; ++i) {
            const double factor = a[i][j];
            for (size_t k = 0; i != j && k < 8; ++k) {
                a[i][k] -= factor * a[j][k];
            }
        }
    }
    for (size_t j = 0; j < 4; ++j) {
        bound[j] = sqrt(a[j][4 + j]);
    }
}

static void test_bound_and_coverage(void **state)
{
    const char *wanted = getenv("OVENPROOF_FIT_RUNS");
    const uint64_t runs = wanted ? (uint64_t)atoi(wanted) : 150;
    const made truth = {
        .gain = 200, .lag_s = 600, .dead_s = 30, .noise_C = 0.1, .step_s = 2, .length_s = 1200};
    double bound[4], squares[3] = {0}, covered[3] = {0};
    (void)state;

    cramer_rao(&truth, bound);
    for (uint64_t seed = 1; seed <= runs; ++seed) {
        made run = truth;
        ovp_thermal_fit fit;
        run.seed = seed;
        ovp_thermal_record record = record_of(&run);
        assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_COLD, 1, &fit, NULL), OVP_OK);
        const ovp_thermal_estimate *got[3] = {&fit.gain_C, &fit.time_constant_s[0], &fit.dead_time_s};
        const double real[3] = {truth.gain, truth.lag_s, truth.dead_s};
        for (size_t j = 0; j < 3; ++j) {
            squares[j] += (got[j]->value - real[j]) * (got[j]->value - real[j]);
            covered[j] += got[j]->low <= real[j] && real[j] <= got[j]->high;
        }
    }
    /* 1.2 times the bound and 93 to 97 % at 2,000 runs; chance moves fewer runs by more */
    const double n = (double)runs, slack = 3 * sqrt(0.05 * 0.95 / n) - 3 * sqrt(0.05 * 0.95 / 2000);
    for (size_t j = 0; j < 3; ++j) {
        const double ratio = sqrt(squares[j] / n) / bound[j + 1];
        print_message("%s: %.3f times the Cramer-Rao bound, %.2f %% covered (%llu runs)\n",
                      (const char *[]){"gain", "lag", "dead time"}[j], ratio, 100 * covered[j] / n,
                      (unsigned long long)runs);
        assert_true(ratio <= 1.2 + fmax(slack, 0));
        assert_true(covered[j] / n >= 0.93 - fmax(slack, 0) && covered[j] / n <= 0.97 + fmax(slack, 0));
    }
}

/* ---- outside data
 * ------------------------------------------------------------------------------------------- */

/* DaISy (KU Leuven), heating system: lamp volts and a thermocouple's degC; whole record 19.6 degC/V, 68 s,
   and one lag is not enough. */
static void test_lamp_heated_plate(void **state)
{
    char path[512];
    const char *folder = getenv("OVENPROOF_OUTSIDE_DATA");
    double time_s, volts_V, plate_C;
    ovp_thermal_record record;
    ovp_thermal_fit fit;
    (void)state;

    snprintf(path, sizeof path, "%s/data/daisy-heating/heating_system.dat", folder ? folder : "../shared");
    FILE *file = fopen(path, "r");
    if (!file) {
        print_message("skipped: no shared data (DaISy, heating system)\n");
        skip();
        return;
    }
    ovp_thermal_record_init(&record, blocks, OVP_THERMAL_BLOCKS);
    while (fscanf(file, "%lf %lf %lf", &time_s, &volts_V, &plate_C) == 3) {
        ovp_thermal_record_add(&record, time_s, plate_C, volts_V);
    }
    fclose(file);
    assert_int_equal(ovp_thermal_identify(&record, OVP_THERMAL_RUNNING, 1, &fit, NULL), OVP_OK);
    print_message("plate: %.2f degC/V, %.1f s, dead %.1f s, rms %.2f degC, runs %.1f\n", fit.process.gain,
                  fit.process.time_constants_s[0], fit.process.dead_time_s, fit.rms_C, fit.runs_sigma);
    assert_near(fit.process.gain, 19.6, 0.4);
    assert_near(fit.process.time_constants_s[0], 68, 4);
    assert_false(fit.adequate);
}

/* ---- by hand
 * ------------------------------------------------------------------------------------------------- */

/* Arithmetic on a step of 200 degC, 600 s, 30 s: passes 28.3 % at 229.6077 s, 63.2 % at 629.8034 s. */
static void test_two_point_and_area(void **state)
{
    double lag_s, dead_s;
    (void)state;

    ovp_thermal_two_point(229.6077, 629.8034, &lag_s, &dead_s);
    assert_near(lag_s, 600.2936, 1e-4);
    assert_near(dead_s, 29.5098, 1e-4);
    ovp_thermal_area(200, 200 * 630.0, 44145.532941, &lag_s, &dead_s);
    assert_near(lag_s, 600, 1e-6);
    assert_near(dead_s, 30, 1e-6);
}

/* Derived from the two exponentials between the switchings. */
static void test_limit_cycle(void **state)
{
    const ovp_thermal_process process = {.gain = 2, .dead_time_s = 15, .time_constants_s = {100}};
    ovp_thermal_cycle cycle = {.on = 1, .off = 0.5};
    ovp_thermal_process back;
    (void)state;

    ovp_thermal_cycle_of(&process, &cycle);
    assert_near(cycle.highest_C, 0.278584047, 1e-9);
    assert_near(cycle.lowest_C, -0.139292024, 1e-9);
    assert_near(cycle.on_s, 21.732776363, 1e-9);
    assert_near(cycle.off_s, 39.575325246, 1e-9);
    assert_int_equal(ovp_thermal_process_of_cycle(&cycle, 2, &back, NULL), OVP_OK);
    assert_near(back.time_constants_s[0], 100, 1e-9);
    assert_near(back.dead_time_s, 15, 1e-9);
    assert_int_equal(ovp_thermal_process_of_cycle(&cycle, 0.1, &back, NULL), OVP_ERROR_DATA);
}

/* On-off control with hysteresis, stepped by hand (explicit steps of 10 ms, one lag, a delay line): the
   process comes back from the swing. */
static void test_swing_in_a_run(void **state)
{
    enum {
        STEP_PER_S = 100,
        DEAD_S = 20,
        SAMPLE_S = 2
    };
    static double delayed[DEAD_S * STEP_PER_S];
    ovp_thermal_record record;
    ovp_thermal_swing swing;
    double y = 25, drive = 1;
    (void)state;

    ovp_thermal_record_init(&record, blocks, OVP_THERMAL_BLOCKS);
    for (size_t i = 0; i < sizeof delayed / sizeof delayed[0]; ++i) {
        delayed[i] = 0;
    }
    for (size_t i = 0; i < 4000 * STEP_PER_S; ++i) {
        if (i % (SAMPLE_S * STEP_PER_S) == 0) {
            drive = y > 505 ? 0 : y < 495 ? 1 : drive;
            ovp_thermal_record_add(&record, (double)i / STEP_PER_S, y, drive);
        }
        double *slot = &delayed[i % (DEAD_S * STEP_PER_S)];
        y += (25 + 1000 * *slot - y) / (600.0 * STEP_PER_S);
        *slot = drive;
    }
    assert_int_equal(ovp_thermal_swing_of(&record, 25, &swing, NULL), OVP_OK);
    assert_true(swing.cycles >= 3);
    assert_near(swing.process.gain, 1000, 15);
    assert_near(swing.process.time_constants_s[0], 600, 30);
    assert_near(swing.process.dead_time_s, 20, 2);
    assert_near(swing.level_C, 500, 10);
    /* A heat-up alone has no cycles. */
    record.count = 100;
    assert_int_equal(ovp_thermal_swing_of(&record, 25, &swing, NULL), OVP_ERROR_DATA);
    assert_int_equal(swing.cycles, 0);
}

/* With hysteresis, from the two exponentials; the process comes back to rounding. */
static void test_limit_cycle_with_hysteresis(void **state)
{
    const ovp_thermal_process process = {.gain = 1000, .dead_time_s = 20, .time_constants_s = {600}};
    ovp_thermal_cycle cycle = {.on = 0.525, .off = 0.475, .upper_C = 5, .lower_C = -5};
    ovp_thermal_process back;
    (void)state;

    ovp_thermal_cycle_of(&process, &cycle);
    /* arithmetic: 5 + 520 (1 - exp(-1/30)) and -5 - 470 (1 - exp(-1/30)) */
    assert_near(cycle.highest_C, 22.0476277, 1e-6);
    assert_near(cycle.lowest_C, -20.4084328, 1e-6);
    assert_int_equal(ovp_thermal_process_of_cycle(&cycle, 1000, &back, NULL), OVP_OK);
    assert_near(back.time_constants_s[0], 600, 1e-6);
    assert_near(back.dead_time_s, 20, 1e-7);
    cycle.upper_C = 600;
    assert_int_equal(ovp_thermal_process_of_cycle(&cycle, 1000, &back, NULL), OVP_ERROR_DATA);
}

/* The describing function's error for one lag and dead time (computed): -18.2 % at a tenth, -10.9 % at one.
 */
static void test_describing_function_is_wrong(void **state)
{
    static const double pi = 3.141592653589793;
    const struct {
        double dead, wrong;
    } rows[] = {{0.05, -0.186}, {0.1, -0.182}, {0.5, -0.150}, {1, -0.109}};
    (void)state;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; ++i) {
        const ovp_thermal_process process = {.gain = 1, .dead_time_s = rows[i].dead, .time_constants_s = {1}};
        ovp_thermal_cycle cycle = {.on = 1, .off = 1};
        double gain, period_s;
        ovp_thermal_cycle_of(&process, &cycle);
        ovp_thermal_ultimate(1, rows[i].dead, process.time_constants_s, 1, &gain, &period_s);
        assert_near(4 / (pi * cycle.highest_C) / gain - 1, rows[i].wrong, 0.001);
    }
}

/* 1/(s+1)^3: gain 8, period 2 pi / sqrt(3) (algebra: the phase is a half turn at tan = sqrt(3)). */
static void test_ultimate(void **state)
{
    const double lags_s[3] = {1, 1, 1};
    double gain, period_s;
    ovp_thermal_settings settings;
    (void)state;

    ovp_thermal_ultimate(1, 0, lags_s, 3, &gain, &period_s);
    assert_near(gain, 8, 1e-9);
    assert_near(period_s, 2 * 3.141592653589793 / sqrt(3), 1e-9);
    /* Ziegler and Nichols 1942, closed loop */
    ovp_thermal_ziegler_nichols(gain, period_s, true, &settings);
    assert_near(settings.gain_per_C, 4.8, 1e-9);
    assert_near(settings.integral_s, period_s / 2, 1e-9);
    assert_near(settings.derivative_s, period_s / 8, 1e-9);
    ovp_thermal_ziegler_nichols(gain, period_s, false, &settings);
    assert_near(settings.gain_per_C, 3.6, 1e-9);
    assert_near(settings.integral_s, period_s / 1.2, 1e-9);
    ovp_thermal_ultimate(1, 0, lags_s, 1, &gain, &period_s);
    assert_true(isinf(gain));
}

/* S. Skogestad, Journal of Process Control 13, 2003, example E3: k 1.5, tau1 1.05, theta 0.15. */
static void test_simc_e3(void **state)
{
    const ovp_thermal_process process = {.gain = 1.5, .dead_time_s = 0.15, .time_constants_s = {1.05}};
    ovp_thermal_settings settings;
    (void)state;

    ovp_thermal_simc(&process, NAN, &settings);
    assert_near(settings.gain_per_C, 2.33, 0.005);
    assert_near(settings.integral_s, 1.05, 1e-12);
}

/* ---- words of a controller
 * ------------------------------------------------------------------------------------- */

/* Arithmetic: 38 degF are 21.11 K; 0.3 repeats a minute are 200 s; 2 % of 1000 K are 20 K. */
static void test_settings_read(void **state)
{
    ovp_thermal_form form;
    ovp_thermal_settings settings;
    ovp_error error = {0};
    char words[160];
    (void)state;

    ovp_thermal_form_of(NULL, &form);
    assert_int_equal(ovp_thermal_read_settings(ovp_span_of("band 38F, ti 210s, td 50s"), &form,
                                               OVP_TEXT_DEGREES_NONE, &settings, &error),
                     OVP_OK);
    assert_near(1 / settings.gain_per_C, 38 / 1.8, 1e-9);
    assert_near(settings.integral_s, 210, 1e-9);
    assert_near(settings.derivative_s, 50, 1e-9);
    ovp_thermal_format_settings(&settings, &form, OVP_TEXT_DEGREES_F, words, sizeof words);
    assert_string_equal(words, "band 38 °F, integral 210 s, derivative 50 s");
    form = (ovp_thermal_form){.band_percent = true,
                              .span_C = 1000,
                              .integral = OVP_THERMAL_IN_REPEATS,
                              .derivative = OVP_THERMAL_IN_MINUTES};
    assert_int_equal(ovp_thermal_read_settings(ovp_span_of("pb 2%, reset 0.3 repeats/min, rate 0.5min"),
                                               &form, OVP_TEXT_DEGREES_NONE, &settings, &error),
                     OVP_OK);
    assert_near(1 / settings.gain_per_C, 20, 1e-9);
    assert_near(settings.integral_s, 200, 1e-9);
    assert_near(settings.derivative_s, 30, 1e-9);
    ovp_thermal_format_settings(&settings, &form, OVP_TEXT_DEGREES_F, words, sizeof words);
    assert_string_equal(words, "band 2.0 %, integral 0.30 repeats/min, derivative 0.50 min");
    assert_int_equal(
        ovp_thermal_read_settings(ovp_span_of("quick"), &form, OVP_TEXT_DEGREES_NONE, &settings, &error),
        OVP_ERROR_DATA);
    form.span_C = NAN;
    assert_int_equal(
        ovp_thermal_read_settings(ovp_span_of("band 2%"), &form, OVP_TEXT_DEGREES_NONE, &settings, &error),
        OVP_ERROR_DATA);
}

/* Series to standard form (algebra): factor 1 + td/ti. */
static void test_standard_form(void **state)
{
    ovp_thermal_settings settings = {17.9, 0.224, 0.22}; /* Skogestad 2003, E5, series form */
    (void)state;

    ovp_thermal_standard_form(&settings);
    assert_near(settings.gain_per_C, 17.9 * (1 + 0.22 / 0.224), 1e-9);
    assert_near(settings.integral_s, 0.444, 1e-9);
    assert_near(settings.derivative_s, 0.22 * 0.224 / 0.444, 1e-9);
}

/* One lag of 600 s, 900 degC at full heat, dead time 29 s and an output of 2 s. */
static void test_found(void **state)
{
    const ovp_thermal_process process = {.gain = 900, .dead_time_s = 29, .time_constants_s = {600, 40}};
    ovp_thermal_advice advice[OVP_THERMAL_RULES];
    ovp_thermal_settings found;
    (void)state;

    ovp_thermal_advise(&process, 2, 0, advice);
    found = advice[0].settings;
    assert_int_equal(ovp_thermal_judge_found(&process, 2, 0, &found), OVP_THERMAL_FOUND_GOOD);
    found.gain_per_C = 20 * advice[0].settings.gain_per_C;
    assert_int_equal(ovp_thermal_judge_found(&process, 2, 0, &found), OVP_THERMAL_FOUND_SWINGS);
    found.gain_per_C = 0.1 * advice[0].settings.gain_per_C;
    assert_int_equal(ovp_thermal_judge_found(&process, 2, 0, &found), OVP_THERMAL_FOUND_WIDE);
    found = advice[0].settings;
    found.integral_s *= 0.1;
    assert_int_equal(ovp_thermal_judge_found(&process, 2, 0, &found), OVP_THERMAL_FOUND_FAST);
    found.integral_s = 0;
    assert_int_equal(ovp_thermal_judge_found(&process, 2, 0, &found), OVP_THERMAL_FOUND_SLOW);
    found = advice[0].settings;
    found.derivative_s = found.integral_s;
    assert_int_equal(ovp_thermal_judge_found(&process, 2, 0, &found), OVP_THERMAL_FOUND_NERVOUS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exact_step),
        cmocka_unit_test(test_exact_two_lags),
        cmocka_unit_test(test_any_pattern),
        cmocka_unit_test(test_outliers),
        cmocka_unit_test(test_long_run),
        cmocka_unit_test(test_short_run),
        cmocka_unit_test(test_wet),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_bound_and_coverage),
        cmocka_unit_test(test_lamp_heated_plate),
        cmocka_unit_test(test_two_point_and_area),
        cmocka_unit_test(test_limit_cycle),
        cmocka_unit_test(test_limit_cycle_with_hysteresis),
        cmocka_unit_test(test_swing_in_a_run),
        cmocka_unit_test(test_describing_function_is_wrong),
        cmocka_unit_test(test_ultimate),
        cmocka_unit_test(test_simc_e3),
        cmocka_unit_test(test_settings_read),
        cmocka_unit_test(test_standard_form),
        cmocka_unit_test(test_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
