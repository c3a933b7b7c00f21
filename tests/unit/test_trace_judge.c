/* The judge on series made here, from curves that know nothing of the oven model. */
#include "judged_run.h"

/* ---- healthy runs ---------------------------------------------------------------------------------------
 */

static void healthy_runs_show_nothing(void **state)
{
    (void)state;
    static const double steps[] = {1, 10, 60};
    for (size_t i = 0; i < 3; i++) {
        for (int columns = 0; columns < 3; columns++) {
            made run = begin(NULL);
            run.noise_C = 0.1;
            good_run(&run, 1, steps[i], 5400, columns);
            const ovp_trace_result *result = result_of(&run);
            assert_int_equal(notable(result), 0);
            assert_false(result->danger_now);
            assert_true(result->cold_start);
            assert_string_equal(outcome(result, "reads-backwards"), "forward");
            end(&run);
        }
    }
}

static void one_degree_fahrenheit_is_no_fault(void **state)
{
    (void)state;
    made run = begin(NULL);
    run.resolution_C = 5.0 / 9;
    good_run(&run, 1, 5, 7200, 2);
    assert_int_equal(notable(result_of(&run)), 0);
    end(&run);
}

static void hot_restart_is_no_fault(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 3600; t += 5) {
        double value_C = t < 600 ? 420 * exp(-t / 6000) + 20 : 24 + 380 + two_lags(t - 620, 600, 1500, 40);
        put(&run, t, fmin(value_C, 700), t < 600 ? 20 : 700, t < 600 ? 0 : value_C < 700 ? 100 : 40);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_int_equal(notable(result), 0);
    assert_false(result->cold_start);
    assert_false(result->danger_now);
    end(&run);
}

static void door_opened_with_the_heat_off_is_no_fault(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 5400; t += 2) {
        double value_C = 24 + two_lags(t - 10, 1000, 1500, 40), output = 100;
        if (t > 2000) {
            double since = t - 2000;
            value_C = 24 + two_lags(1990, 1000, 1500, 40) * exp(-since / 8000);
            if (since > 300 && since < 400) { /* the door stands open, the air at the couple cools */
                value_C -= 200 * (1 - exp(-(since - 300) / 40));
            } else if (since >= 400) {
                value_C -= 184 * exp(-(since - 400) / 60);
            }
            output = 0;
        }
        put(&run, t, value_C, 800, output);
    }
    assert_int_equal(notable(result_of(&run)), 0);
    end(&run);
}

static void setpoint_walked_by_hand_is_no_fault(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_oven_init(&oven);
    oven.heat_up[0] = (ovp_oven_limit){538, 420};
    oven.heat_up_count = 1;
    ovp_trace_expectation expectation = {.oven = &oven, .ambient_C = NAN};
    made run = begin(&expectation);
    double value_C = 24;
    for (double t = 0; t < 7200; t += 5) {
        double setpoint_C = 100 + 100 * floor(t / 1200), rate = 0.5;
        double before_C = value_C;
        value_C = fmin(setpoint_C, value_C + rate * 5);
        put(&run, t, value_C, setpoint_C, value_C > before_C ? 100 : 15 + value_C / 20);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_int_equal(notable(result), 0);
    assert_int_equal(result->milestones[0].pass, -1);
    assert_true(isnan(result->milestones[0].time_s));
    assert_true(result->warning_count > 0);
    end(&run);
}

static void five_points_by_hand_are_no_fault(void **state)
{
    (void)state;
    made run = begin(NULL);
    run.resolution_C = 0;
    static const double points[][2] = {{0, 23.3}, {240, 204.4}, {1180, 537.8}, {1810, 815.6}, {2400, 926.7}};
    for (size_t i = 0; i < 5; i++) {
        put(&run, points[i][0], points[i][1], NAN, NAN);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_int_equal(notable(result), 0);
    assert_near(result->time_zero_s, 0, 1e-9);
    end(&run);
}

/* ---- power and loss ---------------------------------------------------------------------------------------
 */

static void half_power_beside_a_good_run(void **state)
{
    (void)state;
    made good = begin(NULL);
    good_run(&good, 1, 2, 5400, 2);
    static ovp_trace_result baseline;
    ovp_trace_judge_result(good.judge, &baseline);
    assert_true(baseline.curve_count > 100);
    static const double powers[] = {1, 0.9, 0.75, 0.5, 0.25};
    static const char *const outcomes[] = {"full", "reduced", "low", "half", "quarter"};
    for (size_t i = 0; i < 5; i++) {
        ovp_trace_expectation expectation = {.baseline = &baseline, .ambient_C = NAN};
        made run = begin(&expectation);
        good_run(&run, powers[i], 2, 5400, 2);
        const ovp_trace_result *result = result_of(&run);
        assert_near(result->power_ratio, powers[i], 0.03); /* a linear oven: exact but for sampling */
        assert_string_equal(outcome(result, "power-fraction"), outcomes[i]);
        assert_string_equal(outcome(result, "half-power"), i == 3 ? "half" : "no");
        assert_string_equal(outcome(result, "delay-growing"), i < 1 ? "no" : "far");
        end(&run);
    }
    end(&good);
}

static void water_is_a_constant_delay_and_a_plateau(void **state)
{
    (void)state;
    made good = begin(NULL);
    good_run(&good, 1, 2, 5400, 2);
    static ovp_trace_result baseline;
    ovp_trace_judge_result(good.judge, &baseline);
    ovp_trace_expectation expectation = {.baseline = &baseline, .ambient_C = NAN};
    made run = begin(&expectation);
    double delay_s = 300, at_s = 220;
    for (double t = 0; t < 5400; t += 2) {
        double own_s = t < at_s             ? t
                       : t < at_s + delay_s ? at_s + (t - at_s) * 0.02
                                            : t - delay_s + 0.02 * delay_s;
        double value_C = 24 + two_lags(own_s - 30, 1100, 1500, 40);
        put(&run, t, fmin(value_C, 600), 600, t < 20 ? 0 : value_C < 600 ? 100 : 45);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "plateau"), "plateau");
    assert_string_equal(outcome(result, "delay-constant"), "yes");
    assert_string_equal(outcome(result, "delay-growing"), "no");
    assert_near(finding(result, "delay-constant")->value, 294, 30);
    end(&run);
    end(&good);
}

static void a_relay_that_stays_on(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 2400; t += 2) { /* climbs through the setpoint as if nothing were off */
        double value_C = 24 + two_lags(t - 30, 1100, 1500, 40);
        put(&run, t, value_C, 400, t < 20 ? 0 : value_C < 400 ? 100 : 0);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "power-while-off"), "climbs");
    assert_true(result->danger_now);
    end(&run);
}

static void heat_that_stops_while_it_is_called(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 3600; t += 2) {
        double value_C = 24 + two_lags(t - 30, 1100, 1500, 40);
        if (t > 1500) {
            value_C = 24 + two_lags(1470, 1100, 1500, 40) * exp(-(t - 1500) / 4000);
        }
        put(&run, t, value_C, 900, 100);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "off-while-called"), "lost");
    assert_near(finding(result, "off-while-called")->at_s, 1500, 10);
    end(&run);
}

/* A hot relay lets go for half a minute now and again: the display dips while more is called for than holds.
 * A hold that swings is no loss: at the top of its swing little is called for. */
static void heat_that_comes_and_goes_in_a_hold(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 7200; t += 5) {
        double value_C = fmin(24 + two_lags(t - 30, 1100, 1500, 40), 600), output = value_C < 600 ? 100 : 40;
        const double since = fmod(t, 1200);
        if (t > 3600 && since < 120) {
            value_C -= since < 60 ? since / 5 : 12 * (120 - since) / 60;
            output = 60;
        }
        put(&run, t, value_C, 600, output);
    }
    assert_string_equal(outcome(result_of(&run), "off-while-called"), "dropouts");
    end(&run);
    run = begin(NULL);
    for (double t = 0; t < 7200; t += 5) {
        double value_C = 24 + two_lags(t - 30, 1100, 1500, 40);
        const bool there = value_C > 590;
        put(&run, t, there ? 600 + 9 * sin(t / 40) : value_C, 600, there ? 40 - 39 * sin(t / 40 + 0.8) : 100);
    }
    assert_string_equal(outcome(result_of(&run), "off-while-called"), "steady");
    end(&run);
}

static void a_hold_that_swings(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 5400; t += 2) {
        double value_C = 24 + two_lags(t - 30, 1100, 1500, 40);
        bool there = value_C > 590;
        put(&run, t, there ? 600 + 9 * sin(t / 40) : value_C, 600,
            there ? sin(t / 40 + 1) > 0 ? 0 : 100 : 100);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "swing"), "more-than-10F");
    assert_near(finding(result, "swing")->value, 18, 1.5);
    end(&run);
}

static void capped_output(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 1800; t += 2) {
        put(&run, t, 24 + two_lags(t - 30, 660, 1500, 40), 900, 60);
    }
    assert_string_equal(outcome(result_of(&run), "output-capped"), "capped");
    end(&run);
}

/* ---- clock, size --------------------------------------------------------------------------------- */

static void clock_steps_and_gaps(void **state)
{
    (void)state;
    made run = begin(NULL);
    double clock = 0;
    for (int i = 0; i < 2000; i++, clock += 1) {
        if (i == 700) {
            clock += 431;
        }
        if (i == 1200) {
            clock -= 3600;
        }
        put(&run, clock, 24 + i * 0.2, NAN, NAN);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "gap"), "gap");
    assert_near(finding(result, "gap")->value, 432, 1e-9);
    assert_string_equal(outcome(result, "clock-step"), "steps");
    end(&run);
}

static void a_long_log_joins_its_blocks(void **state)
{
    (void)state;
    made run = begin(NULL);
    run.noise_C = 0.2;
    good_run(&run, 1, 0.1, 5400, 2);
    static ovp_trace_sample outline[500];
    size_t count = ovp_trace_judge_outline(run.judge, outline, 500);
    assert_in_range(count, 250, 500);
    assert_true(outline[count - 1].time_s > 5300);
    const ovp_trace_result *result = result_of(&run);
    assert_int_equal(notable(result), 0);
    assert_near(result->time_zero_s, 20, 0.2);
    end(&run);
}

/* Whatever a log holds, the judge ends and its figures are finite or not given. */
static void nonsense_is_survived(void **state)
{
    (void)state;
    static const double odd[] = {0,  -0.0, 1e-300, 1e300, -1e300, INFINITY, -INFINITY, 20,
                                 21, 600,  -200,   1372,  100,    15,       240};
    uint32_t random = 7;
    for (int round = 0; round < 60; round++) {
        made run = begin(NULL);
        double time_s = 0;
        for (int i = 0; i < 500; i++) {
            double value[7];
            for (size_t k = 0; k < 7; k++) {
                random = random * 1664525u + 1013904223u;
                value[k] = random >> 30 ? odd[(random >> 16) % (sizeof odd / sizeof *odd)] : (double)NAN;
            }
            time_s += round % 3 ? 1 : isfinite(value[0]) ? fmin(fmax(value[0], -1e9), 1e9) : 0;
            ovp_trace_sample sample = {time_s,   value[1], value[2], value[3],
                                       value[4], value[5], value[6], (ovp_trace_cell)((random >> 20) % 6)};
            ovp_trace_judge_sample(run.judge, &sample);
        }
        const ovp_trace_result *result = result_of(&run);
        for (size_t i = 0; i < result->finding_count; i++) {
            assert_non_null(ovp_trace_finding_named(result->findings[i].finding));
            assert_true(strlen(result->findings[i].text) < OVP_TRACE_TEXT_SIZE);
        }
        end(&run);
    }
}

/* Every outcome that the judge names stands in the table, or the inference would not see it. */
static void outcomes_are_those_of_the_table(void **state)
{
    (void)state;
    made run = begin(NULL);
    good_run(&run, 1, 5, 5400, 2);
    const ovp_trace_result *result = result_of(&run);
    for (size_t i = 0; i < result->finding_count; i++) {
        const ovp_trace_finding_row *row = ovp_trace_finding_named(result->findings[i].finding);
        assert_non_null(row);
        assert_string_equal(result->findings[i].outcome, row->outcomes[0]); /* all usual: the first */
    }
    end(&run);
}

/* ---- current that flickers ----------------------------------------------------------------------- */

/* Full call on a heater of 16 ohm: a joint of `joint_ohm` that comes and goes, a line that sags now and then.
 */
static made amps_run(double joint_ohm, double sag_V, bool volts, double coarse_A, double opens_s)
{
    made run = begin(NULL);
    for (double t = 0; t <= 1800; t += 5) {
        double spit = scatter(&run), noise = 1 + 0.002 * scatter(&run);
        double line_V = 240 - (fmod(t, 600) < 120 ? sag_V : 0);
        double ohms = (t >= opens_s ? 32 : 16) + joint_ohm * (t >= 300 ? spit * spit : 0);
        ovp_trace_sample sample = blank(t);
        sample.temperature_C = 24 + two_lags(t - 30, 1100, 1500, 40);
        sample.setpoint_C = 900;
        sample.output_percent = 100;
        sample.supply_V = volts ? line_V : (double)NAN;
        sample.element_A = coarse_A * round(line_V / ohms * noise / coarse_A);
        ovp_trace_judge_sample(run.judge, &sample);
    }
    return run;
}

/* The scatter is known: 0.2 ohm times a squared normal number (variance 2) in 16.2 ohm is 1.75 %, from
   300 s to 1800 s, with the meter's 0.2 %: sqrt(1500/1800) * 1.75 = 1.6 %. */
static void a_loose_joint_flickers(void **state)
{
    (void)state;
    for (int volts = 0; volts < 2; volts++) {
        made run = amps_run(0.2, 0, volts, 0.01, INFINITY);
        const ovp_trace_finding *one = finding(result_of(&run), "flicker");
        assert_non_null(one);
        assert_string_equal(one->outcome, "flickers");
        assert_near(one->value, 1.6, 0.35);
        assert_near(one->at_s, 300, 60);
        end(&run);
    }
}

static void what_is_no_loose_joint_does_not_flicker(void **state)
{
    (void)state;
    made runs[] = {
        amps_run(0, 0, true, 0.01, INFINITY), amps_run(0, 0, false, 0.1, INFINITY),
        amps_run(0, 0, true, 0.5, INFINITY), /* a clamp with a coarse last digit */
        amps_run(0, 8, true, 0.01, INFINITY), amps_run(0, 8, false, 0.01, INFINITY),
        amps_run(0, 0, false, 0.01, 900), /* a branch opens: one step */
    };
    for (size_t i = 0; i < sizeof runs / sizeof *runs; i++) {
        assert_string_equal(outcome(result_of(&runs[i]), "flicker"), "steady");
        end(&runs[i]);
    }
}

/* ---- tables -------------------------------------------------------------------------------------- */

#define LIMIT_NAME(name) #name,

static void thresholds_stand_in_the_order_of_their_table(void **state)
{
    (void)state;
    static const char *const names[] = {JUDGE_LIMITS(LIMIT_NAME)};
    for (size_t i = 0; i < JUDGE_LIMIT_COUNT; i++) {
        assert_non_null(judge_limit_name(i));
        assert_string_equal(judge_limit_name(i), names[i]);
    }
    assert_null(judge_limit_name(JUDGE_LIMIT_COUNT));
}

static void findings_are_those_of_the_design(void **state)
{
    (void)state;
    static const char *const ids[] = {"reads-backwards",
                                      "open",
                                      "shorted",
                                      "stuck",
                                      "noisy",
                                      "jumps",
                                      "drifting",
                                      "withdrawn",
                                      "power-fraction",
                                      "delay-constant",
                                      "delay-growing",
                                      "delay-late",
                                      "half-power",
                                      "no-rise",
                                      "power-while-off",
                                      "off-while-called",
                                      "plateau",
                                      "overshoot",
                                      "swing",
                                      "sag",
                                      "resistance",
                                      "hold-watts",
                                      "wrong-unit",
                                      "under-range",
                                      "over-range",
                                      "clock-step",
                                      "gap"};
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        const ovp_trace_finding_row *row = ovp_trace_finding_named(ids[i]);
        assert_non_null(row);
        assert_true(row->outcome_count >= 2);
    }
    assert_null(ovp_trace_finding_named("nothing"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(healthy_runs_show_nothing),
        cmocka_unit_test(one_degree_fahrenheit_is_no_fault),
        cmocka_unit_test(hot_restart_is_no_fault),
        cmocka_unit_test(door_opened_with_the_heat_off_is_no_fault),
        cmocka_unit_test(setpoint_walked_by_hand_is_no_fault),
        cmocka_unit_test(five_points_by_hand_are_no_fault),
        cmocka_unit_test(half_power_beside_a_good_run),
        cmocka_unit_test(water_is_a_constant_delay_and_a_plateau),
        cmocka_unit_test(a_relay_that_stays_on),
        cmocka_unit_test(heat_that_stops_while_it_is_called),
        cmocka_unit_test(a_hold_that_swings),
        cmocka_unit_test(heat_that_comes_and_goes_in_a_hold),
        cmocka_unit_test(capped_output),
        cmocka_unit_test(clock_steps_and_gaps),
        cmocka_unit_test(a_long_log_joins_its_blocks),
        cmocka_unit_test(nonsense_is_survived),
        cmocka_unit_test(a_loose_joint_flickers),
        cmocka_unit_test(what_is_no_loose_joint_does_not_flicker),
        cmocka_unit_test(outcomes_are_those_of_the_table),
        cmocka_unit_test(thresholds_stand_in_the_order_of_their_table),
        cmocka_unit_test(findings_are_those_of_the_design),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
