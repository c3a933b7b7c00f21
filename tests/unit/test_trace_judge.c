/* The judge on series made here, from curves that know nothing of the oven model. */
#include "ovenproof/trace.h"
#include "trace/judge_internal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* This cmocka compares float only. */
#define assert_near(a, b, within) assert_true(fabs((a) - (b)) <= (within))

/* ---- making runs --------------------------------------------------------------------------------- */

typedef struct made {
    ovp_trace_judge *judge;
    uint32_t random;
    double noise_C, resolution_C;
} made;

static const ovp_trace_result *result_of(made *run)
{
    static ovp_trace_result result;
    ovp_trace_judge_result(run->judge, &result);
    return &result;
}

static made begin(const ovp_trace_expectation *given)
{
    ovp_trace_expectation expectation = {.ambient_C = NAN};
    if (given) {
        expectation = *given;
    }
    made run = {.random = 12345, .resolution_C = 0.1};
    run.judge = ovp_trace_judge_init(malloc(ovp_trace_judge_size()), &expectation);
    return run;
}

static void end(made *run)
{
    free(run->judge);
}

/* Sum of twelve uniform numbers: near enough to a normal one, and the same on every machine. */
static double scatter(made *run)
{
    double sum = 0;
    for (int i = 0; i < 12; i++) {
        run->random = run->random * 1664525u + 1013904223u;
        sum += (double)(run->random >> 8) / 16777216.0;
    }
    return sum - 6;
}

static ovp_trace_sample blank(double time_s)
{
    return (ovp_trace_sample){time_s, NAN, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_NUMBER};
}

static void put(made *run, double time_s, double temperature_C, double setpoint_C, double output)
{
    ovp_trace_sample sample = blank(time_s);
    double value_C = temperature_C + run->noise_C * scatter(run);
    sample.temperature_C =
        run->resolution_C > 0 ? run->resolution_C * round(value_C / run->resolution_C) : value_C;
    sample.setpoint_C = setpoint_C;
    sample.output_percent = output;
    ovp_trace_judge_sample(run->judge, &sample);
}

/* A heat-up of two lags: 0 at t = 0, towards `gain`. */
static double two_lags(double time_s, double gain, double slow_s, double quick_s)
{
    if (time_s <= 0) {
        return 0;
    }
    return gain *
           (1 - (slow_s * exp(-time_s / slow_s) - quick_s * exp(-time_s / quick_s)) / (slow_s - quick_s));
}

static const ovp_trace_finding *finding(const ovp_trace_result *result, const char *id)
{
    for (size_t i = 0; i < result->finding_count; i++) {
        if (strcmp(result->findings[i].finding, id) == 0) {
            return &result->findings[i];
        }
    }
    return NULL;
}

static const char *outcome(const ovp_trace_result *result, const char *id)
{
    const ovp_trace_finding *one = finding(result, id);
    return one ? one->outcome : "(not judged)";
}

static size_t notable(const ovp_trace_result *result)
{
    size_t count = 0;
    for (size_t i = 0; i < result->finding_count; i++) {
        if (result->findings[i].notable) {
            print_message("notable: %s %s: %s\n", result->findings[i].finding, result->findings[i].outcome,
                          result->findings[i].text);
            count++;
        }
    }
    return count;
}

/* Heat up to a setpoint, then hold: output falls from 100 to what holds. */
static void good_run(made *run, double power, double step_s, double length_s, double columns)
{
    double setpoint_C = 600, reached_s = NAN;
    for (double t = 0; t <= length_s; t += step_s) {
        double rise_C = two_lags(t - 30, 1100 * power, 1500, 40), value_C = 24 + rise_C,
               output = t >= 20 ? 100 : 0;
        if (value_C >= setpoint_C || !isnan(reached_s)) {
            reached_s = isnan(reached_s) ? t : reached_s;
            value_C = setpoint_C + 3 * exp(-(t - reached_s) / 120) * sin((t - reached_s) / 60);
            output = 45 + 20 * exp(-(t - reached_s) / 900);
        }
        put(run, t, value_C, columns > 0 ? setpoint_C : (double)NAN, columns > 1 ? output : (double)NAN);
    }
}

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

/* ---- the sensor ------------------------------------------------------------------------------------------
 */

/* The law of one reversal at the screws: E(shown) = 2 E(screws) - E(true). */
static double reversed_K(double true_C, double screws_C)
{
    ovp_tc_loop loop;
    ovp_tc_reading reading;
    ovp_tc_loop_init(&loop, OVP_TC_K, true_C, screws_C);
    loop.reversed = true;
    return ovp_tc_loop_read(&loop, &reading, NULL) ? (double)NAN : reading.reads_C;
}

static void reversed_is_dangerous_within_the_first_minute(void **state)
{
    (void)state;
    made run = begin(NULL);
    run.noise_C = 0.1;
    double shown_s = NAN;
    for (double t = 0; t < 180 && isnan(shown_s); t += 1) {
        double true_C =
            24 + two_lags(t - 50, 1100, 1500, 40); /* dead for 30 s after the output came on at 20 s */
        put(&run, t, reversed_K(true_C, 24), 600, t >= 20 ? 100 : 0);
        if (result_of(&run)->danger_now) {
            shown_s = t;
        }
    }
    assert_true(shown_s < 20 + 30 + 60);
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "reads-backwards"), "backwards");
    assert_true(strstr(result->danger_text, "wrong way") != NULL);
    end(&run);
}

/* Reading backwards, as published functions give it (NIST SRD 60): true 200 degF with the screws at 75 degF
 * shows -59 degF. The trace turns it round to the degree. */
static void what_a_reversed_sensor_means_agrees_with_the_loop_law(void **state)
{
    (void)state;
    double shown_C = reversed_K((200 - 32) / 1.8, (75 - 32) / 1.8);
    assert_near(1.8 * shown_C + 32, -59, 1);
    made run = begin(NULL);
    run.resolution_C = 0;
    for (double t = 0; t <= 200; t += 1) {
        double true_C = (75 - 32) / 1.8 + fmax(t - 20, 0) * (125 / 1.8) / 180;
        put(&run, t, reversed_K(true_C, (75 - 32) / 1.8), 600, 100);
    }
    const ovp_trace_finding *one = finding(result_of(&run), "reads-backwards");
    assert_non_null(one);
    assert_non_null(strstr(one->text, "200 °F"));
    end(&run);
}

static void reversed_without_other_columns_is_found_too(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 600; t += 10) {
        put(&run, t, reversed_K(fmin(24 + fmax(t - 30, 0) * 0.4, 180), 24), NAN, NAN);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "reads-backwards"), "backwards");
    assert_true(result->danger_now);
    end(&run);
}

static void cooling_is_not_backwards(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 20000; t += 10) { /* called, but the element is dead: cools to the room */
        put(&run, t, 22 + 18 * exp(-t / 3000), 600, 100);
    }
    assert_string_not_equal(outcome(result_of(&run), "reads-backwards"), "backwards");
    end(&run);
}

static void open_sensor(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 1200; t += 1) {
        put(&run, t, t < 800 ? 24 + two_lags(t - 10, 1000, 1500, 40) : 1372, 700, t < 800 ? 100 : 0);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "open"), "open");
    assert_string_equal(outcome(result, "over-range"), "over");
    assert_near(finding(result, "open")->at_s, 800, 1);
    assert_string_equal(outcome(result, "jumps"), "none");
    end(&run);
}

static void open_by_a_word_that_comes_and_goes(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 1200; t += 1) {
        if (fmod(t, 100) < 3 && t > 300) {
            ovp_trace_sample sample = blank(t);
            sample.cell = OVP_TRACE_OPEN;
            ovp_trace_judge_sample(run.judge, &sample);
        } else {
            put(&run, t, 24 + two_lags(t - 10, 1000, 1500, 40), NAN, NAN);
        }
    }
    assert_string_equal(outcome(result_of(&run), "open"), "comes-and-goes");
    end(&run);
}

static void jumps_are_electrical(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 1200; t += 1) {
        double value_C = 24 + two_lags(t - 10, 1000, 1500, 40);
        put(&run, t, t > 600 && fmod(t, 50) < 4 ? value_C - 90 : value_C, 700, 100);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "jumps"), "jumps");
    assert_near(fabs(finding(result, "jumps")->value), 90, 2);
    assert_string_not_equal(outcome(result, "off-while-called"), "lost");
    end(&run);
}

/* Arithmetic: 40 degC away between 600 and 601 s, and back 9 s later, slow enough for heat. */
static void a_jump_finds_its_way_back(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 1200; t += t == 601 ? 9 : 1) {
        double value_C = 24 + two_lags(t - 10, 1000, 1500, 40);
        put(&run, t, t == 601 ? value_C - 40 : value_C, 700, 100);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "jumps"), "jumps");
    assert_non_null(strstr(finding(result, "jumps")->text, "1 jump faster"));
    assert_non_null(strstr(finding(result, "jumps")->text, ", and back after 9 s"));
    end(&run);
}

static void noise_is_measured(void **state)
{
    (void)state;
    made run = begin(NULL);
    run.noise_C = 4;
    good_run(&run, 1, 1, 3600, 2);
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "noisy"), "noisy");
    assert_near(finding(result, "noisy")->value, 4, 0.3);
    assert_string_equal(outcome(result, "jumps"), "none");
    assert_string_equal(outcome(result, "reads-backwards"), "forward");
    end(&run);
}

static void a_tip_at_the_element_steps_with_the_output(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 1800; t += 1) {
        double output = fmod(t, 20) < 9 ? 100 : 0;
        put(&run, t, 24 + two_lags(t - 10, 700, 1500, 40) + (output > 0 ? 9 : 0), 700, output);
    }
    assert_string_equal(outcome(result_of(&run), "noisy"), "with-output");
    end(&run);
}

static void stuck_display(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 1800; t += 1) {
        put(&run, t, 24 + two_lags(fmin(t, 500) - 10, 1000, 1500, 40), 900, 100);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "stuck"), "stuck");
    assert_near(finding(result, "stuck")->at_s, 500, 3);
    end(&run);
}

static void shorted_at_the_head(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 1800; t += 2) { /* creeps with the shell while the oven passes 1500 degF */
        ovp_trace_sample sample = blank(t);
        sample.temperature_C = round(24 + 30 * (1 - exp(-t / 3000)));
        sample.setpoint_C = 800;
        sample.output_percent = 100;
        sample.element_A = 15;
        ovp_trace_judge_sample(run.judge, &sample);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "no-rise"), "none");
    assert_string_equal(outcome(result, "shorted"), "near-room-with-current");
    assert_true(result->danger_now);
    end(&run);
}

static void dead_element_with_amps_is_no_danger_now(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 900; t += 2) {
        ovp_trace_sample sample = blank(t);
        sample.temperature_C = 24;
        sample.setpoint_C = 800;
        sample.output_percent = 100;
        sample.element_A = 0.01;
        ovp_trace_judge_sample(run.judge, &sample);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "no-rise"), "none");
    assert_string_equal(outcome(result, "shorted"), "follows");
    assert_false(result->danger_now);
    end(&run);
}

static void never_called(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 900; t += 5) {
        put(&run, t, 24, 800, 0);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "not-called"), "never");
    assert_null(finding(result, "no-rise"));
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
        cmocka_unit_test(reversed_is_dangerous_within_the_first_minute),
        cmocka_unit_test(what_a_reversed_sensor_means_agrees_with_the_loop_law),
        cmocka_unit_test(reversed_without_other_columns_is_found_too),
        cmocka_unit_test(cooling_is_not_backwards),
        cmocka_unit_test(open_sensor),
        cmocka_unit_test(open_by_a_word_that_comes_and_goes),
        cmocka_unit_test(jumps_are_electrical),
        cmocka_unit_test(a_jump_finds_its_way_back),
        cmocka_unit_test(noise_is_measured),
        cmocka_unit_test(a_tip_at_the_element_steps_with_the_output),
        cmocka_unit_test(stuck_display),
        cmocka_unit_test(shorted_at_the_head),
        cmocka_unit_test(dead_element_with_amps_is_no_danger_now),
        cmocka_unit_test(never_called),
        cmocka_unit_test(half_power_beside_a_good_run),
        cmocka_unit_test(water_is_a_constant_delay_and_a_plateau),
        cmocka_unit_test(a_relay_that_stays_on),
        cmocka_unit_test(heat_that_stops_while_it_is_called),
        cmocka_unit_test(a_hold_that_swings),
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
