/* What the judge says of the sensor, on series made here. */
#include "judged_run.h"

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

/* Given up before it was hot is another matter than switched off once it was. */
static void a_run_that_breaks_off(void **state)
{
    (void)state;
    static const double stops_s[] = {300, 3000};
    static const char *const due[] = {"breaks-off", "stops"};
    for (size_t k = 0; k < 2; k++) {
        made run = begin(NULL);
        for (double t = 0; t < 4500; t += 5) {
            const bool on = t < stops_s[k];
            const double hot_C = fmin(24 + two_lags(fmin(t, stops_s[k]) - 10, 1000, 1500, 40), 600);
            put(&run, t, on ? hot_C : 24 + (hot_C - 24) * exp(-(t - stops_s[k]) / 4000), 600, on ? 100 : 0);
        }
        assert_string_equal(outcome(result_of(&run), "not-called"), due[k]);
        end(&run);
    }
}

/* physics: a display that stands still at full output has found its ceiling */
static void full_output_and_it_stands_still(void **state)
{
    (void)state;
    made run = begin(NULL);
    for (double t = 0; t < 4500; t += 5) {
        put(&run, t, 24 + two_lags(t - 10, 500, 500, 40), 1000, 100);
    }
    const ovp_trace_result *result = result_of(&run);
    assert_string_equal(outcome(result, "stalled"), "stalls");
    assert_near(finding(result, "stalled")->value, 524, 5);
    end(&run);
    run = begin(NULL);
    for (double t = 0; t < 1500; t += 5) {
        put(&run, t, 24 + two_lags(t - 10, 1500, 1500, 40), 1000, 100);
    }
    assert_string_equal(outcome(result_of(&run), "stalled"), "climbs");
    end(&run);
}

/* physics: at one temperature a couple adds nothing to its terminals */
static void a_cold_display_beside_its_terminals(void **state)
{
    (void)state;
    static const double first_C[] = {24, 34, 9};
    static const char *const due[] = {"near-room", "above", "below"};
    for (size_t k = 0; k < 3; k++) {
        made run = begin(NULL);
        for (double t = 0; t < 1500; t += 5) {
            ovp_trace_sample sample = blank(t);
            sample.temperature_C = round(10 * (first_C[k] + two_lags(t - 10, 1000, 1500, 40))) / 10;
            sample.cold_junction_C = 25;
            ovp_trace_judge_sample(run.judge, &sample);
        }
        assert_string_equal(outcome(result_of(&run), "cold-reading"), due[k]);
        end(&run);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
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
        cmocka_unit_test(a_run_that_breaks_off),
        cmocka_unit_test(full_output_and_it_stands_still),
        cmocka_unit_test(a_cold_display_beside_its_terminals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
