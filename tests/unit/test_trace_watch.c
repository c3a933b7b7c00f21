/* A run judged while it happens: what it calls and how soon, on runs made here by hand (a delay, a lag and a
 * straight climb; seeded noise; rounding), none of them from the oven model. */
#include "../seeded.h"
#include "ovenproof/trace_watch.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static double normal(void)
{
    return sqrt(-2 * log(1 - uniform())) * cos(6.283185307179586 * uniform());
}

/* How a made-up oven runs and is logged. */
typedef struct made_run {
    double start_C, room_C, slope_C_per_s, dead_s, lag_s; /* of the healthy climb */
    double share;                                         /* -1 reversed, 0 no rise, 0.5 half, 1 healthy */
    double step_s, resolution_C, noise_C, jitter;
    double on_s; /* heat on at */
    double last_s;
    double amps_A;          /* NAN none logged */
    double cooling_C_per_s; /* before heat on and until the dead time is over */
    double wander_C;        /* of the room, in the root of a second */
} made_run;

static const made_run usual = {.start_C = 22,
                               .room_C = 22,
                               .slope_C_per_s = 0.8,
                               .dead_s = 25,
                               .lag_s = 20,
                               .share = 1,
                               .step_s = 1,
                               .resolution_C = 0.1,
                               .noise_C = 0.1,
                               .on_s = 10,
                               .last_s = 400,
                               .amps_A = NAN,
                               .wander_C = 0.01};

/* The climb of the healthy oven: after the dead time a lag, then straight. */
static double climb_C(const made_run *run, double since_s)
{
    const double t = since_s - run->dead_s;
    return t <= 0 ? 0 : run->slope_C_per_s * (t - run->lag_s * (1 - exp(-t / run->lag_s)));
}

static void good_run(const made_run *run, bool measured, ovp_trace_watch_setting *setting)
{
    ovp_trace_watch_expect_nothing(setting);
    setting->curve_count = OVP_TRACE_CURVE;
    for (size_t i = 0; i < OVP_TRACE_CURVE; i++) {
        setting->curve_s[i] = 4.0 * (double)i;
        setting->curve_C[i] = 22 + climb_C(run, setting->curve_s[i]);
    }
    setting->curve_measured = measured;
    setting->dead_time_s = run->dead_s;
    setting->full_A = 15;
    setting->rated_V = 240;
}

/* The alarm that stands at the end; *at_s: since heat on. */
static ovp_trace_alarm follow(const made_run *run, const ovp_trace_watch_setting *setting, double *at_s)
{
    static ovp_trace_watch watch;
    double room_C = 0;
    ovp_trace_watch_init(&watch, setting);
    for (double t = 0; t < run->last_s; t += run->step_s * (1 + run->jitter * (uniform() - 0.5))) {
        room_C += run->wander_C * sqrt(run->step_s) * normal();
        const double since_s = t - run->on_s;
        const double cooled_s = fmin(t, run->on_s + run->dead_s);
        double shown_C = run->start_C + room_C - run->cooling_C_per_s * cooled_s +
                         run->share * climb_C(run, since_s) + run->noise_C * normal();
        shown_C = run->resolution_C * floor(shown_C / run->resolution_C + 0.5);
        ovp_trace_sample sample = {t, shown_C, 1000, since_s >= 0 ? 100 : 0, NAN, NAN, NAN, OVP_TRACE_NUMBER};
        sample.element_A = since_s >= 0 ? run->amps_A : isnan(run->amps_A) ? (double)NAN : 0;
        if (ovp_trace_watch_sample(&watch, &sample)) {
            *at_s = since_s;
        }
    }
    return watch.state.alarm;
}

static void test_healthy_runs_stay_quiet(void **state)
{
    ovp_trace_watch_setting setting;
    double at_s = NAN;
    (void)state;
    random_state = 20261125;
    good_run(&usual, true, &setting);
    for (int i = 0; i < 200; i++) {
        made_run run = usual;
        run.share = 0.85 + 0.3 * uniform();
        run.resolution_C = i % 3 == 0 ? 0.1 : i % 3 == 1 ? 1 : 0.556;
        run.noise_C = 0.05 + 0.4 * uniform();
        run.step_s = i % 4 == 0 ? 5 : 1;
        run.jitter = 0.5;
        if (i % 5 == 0) { /* hot, and cooling before the heat comes on */
            run.start_C = 300;
            run.cooling_C_per_s = 0.15;
        }
        assert_int_equal(follow(&run, &setting, &at_s), OVP_TRACE_ALARM_NONE);
    }
}

/* Within 60 s of a 1 s, 0.1 degC log after the dead time. */
static void test_backwards_within_a_minute(void **state)
{
    ovp_trace_watch_setting setting;
    double at_s = NAN, worst_s = 0;
    (void)state;
    random_state = 1;
    for (int i = 0; i < 100; i++) {
        made_run run = usual;
        run.share = -1;
        run.slope_C_per_s = 0.15 + 1.2 * uniform();
        good_run(&run, false, &setting);
        if (i % 2 == 0) {
            ovp_trace_watch_expect_nothing(&setting);
        }
        assert_int_equal(follow(&run, &setting, &at_s), OVP_TRACE_ALARM_BACKWARDS);
        worst_s = fmax(worst_s, at_s - run.dead_s);
    }
    print_message("backwards: at most %.0f s after the dead time\n", worst_s);
    assert_true(worst_s <= 60);
}

/* By dead time + 30 s; parted by amps. */
static void test_no_rise(void **state)
{
    static const struct {
        double amps_A;
        ovp_trace_alarm alarm;
    } rows[] = {{NAN, OVP_TRACE_ALARM_NO_RISE}, {0, OVP_TRACE_ALARM_NO_POWER}, {15, OVP_TRACE_ALARM_UNSEEN}};
    ovp_trace_watch_setting setting;
    double at_s = NAN, worst_s = 0;
    (void)state;
    random_state = 2;
    for (int i = 0; i < 60; i++) {
        made_run run = usual;
        run.share = 0;
        run.amps_A = rows[i % 3].amps_A;
        good_run(&usual, false, &setting);
        assert_int_equal(follow(&run, &setting, &at_s), rows[i % 3].alarm);
        worst_s = fmax(worst_s, at_s - run.dead_s);
    }
    print_message("no rise: at most %.0f s after the dead time\n", worst_s);
    assert_true(worst_s <= 36);
}

/* Once the rise exceeds 30 degF, with a baseline or amps; never from the model alone. */
static void test_half_power(void **state)
{
    ovp_trace_watch_setting setting;
    double at_s = NAN;
    (void)state;
    random_state = 3;
    made_run run = usual;
    run.share = 0.5;
    good_run(&usual, true, &setting);
    assert_int_equal(follow(&run, &setting, &at_s), OVP_TRACE_ALARM_HALF);
    print_message("half power, good run: %.0f s after heat on\n", at_s);
    assert_true(0.5 * climb_C(&usual, at_s) >= 16 && 0.5 * climb_C(&usual, at_s) < 35);
    good_run(&usual, false, &setting);
    assert_int_equal(follow(&run, &setting, &at_s), OVP_TRACE_ALARM_NONE);
    run.amps_A = 7.5;
    assert_int_equal(follow(&run, &setting, &at_s), OVP_TRACE_ALARM_HALF);
    run.share = 1;
    run.amps_A = 14.2;
    assert_int_equal(follow(&run, &setting, &at_s), OVP_TRACE_ALARM_NONE);
}

static void give(ovp_trace_watch *watch, double time_s, double shown_C)
{
    const ovp_trace_sample sample = {time_s, shown_C, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_NUMBER};
    (void)ovp_trace_watch_sample(watch, &sample);
}

/* Typed by hand: three readings are enough for what cannot be anything else. */
static void test_typed_readings(void **state)
{
    static ovp_trace_watch watch;
    ovp_trace_watch_setting setting;
    char words[2 * OVP_TRACE_TEXT_SIZE];
    (void)state;
    ovp_trace_watch_expect_nothing(&setting);
    ovp_trace_watch_init(&watch, &setting);
    give(&watch, 0, 22.2); /* 72 degF */
    ovp_trace_watch_event(&watch, 0, OVP_TRACE_EVENT_HEAT_ON);
    give(&watch, 12, 20);   /* 68 */
    give(&watch, 25, 17.8); /* 64: 8 degF in 25 s */
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_BACKWARDS);
    ovp_trace_watch_words(&watch, words, sizeof words);
    assert_non_null(strstr(words, "HEAT OFF NOW: it fell 8 \xC2\xB0"
                                  "F in 25 s"));

    /* the switch as a row of its own, at the moment of the first reading */
    ovp_trace_watch_init(&watch, &setting);
    const double rows[][3] = {{0, 22.2, 0}, {0, NAN, 100}, {12, 20, 100}, {25, 17.8, 100}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const ovp_trace_sample sample = {
            rows[i][0], rows[i][1], NAN, rows[i][2],
            NAN,        NAN,        NAN, isnan(rows[i][1]) ? OVP_TRACE_EMPTY : OVP_TRACE_NUMBER};
        (void)ovp_trace_watch_sample(&watch, &sample);
    }
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_BACKWARDS);
    assert_true(watch.state.since_s == 25);

    /* heat never on: a room that cools is no alarm */
    ovp_trace_watch_init(&watch, &setting);
    give(&watch, 0, 22.2);
    give(&watch, 300, 17.8);
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_NONE);
}

/* The door explains a fall. */
static void test_door_is_forgiven(void **state)
{
    static ovp_trace_watch watch;
    ovp_trace_watch_setting setting;
    (void)state;
    ovp_trace_watch_expect_nothing(&setting);
    setting.heat_from_start = true;
    ovp_trace_watch_init(&watch, &setting);
    give(&watch, 0, 30);
    give(&watch, 30, 31);
    ovp_trace_watch_event(&watch, 31, OVP_TRACE_EVENT_DOOR_OPEN);
    for (int t = 35; t < 90; t += 5) {
        give(&watch, t, 31 - (t - 30) * 0.2);
    }
    ovp_trace_watch_event(&watch, 90, OVP_TRACE_EVENT_DOOR_CLOSED);
    for (int t = 95; t < 200; t += 5) {
        give(&watch, t, 19 + (t - 90) * 0.2);
    }
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_NONE);
}

static void test_input_at_once(void **state)
{
    static ovp_trace_watch watch;
    ovp_trace_watch_setting setting;
    (void)state;
    ovp_trace_watch_expect_nothing(&setting);
    ovp_trace_watch_init(&watch, &setting);
    ovp_trace_sample sample = {0, NAN, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_OPEN};
    assert_true(ovp_trace_watch_sample(&watch, &sample));
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_OPEN);
    ovp_trace_watch_init(&watch, &setting);
    give(&watch, 0, 1372);
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_OPEN);
    ovp_trace_watch_init(&watch, &setting);
    give(&watch, 0, -5.6); /* 22, read in degF */
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_UNIT);
    assert_false(ovp_trace_alarm_is_danger(watch.state.alarm));
    ovp_trace_watch_init(&watch, &setting);
    give(&watch, 0, 22);
    give(&watch, 1, -200);
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_UNDER);
    /* a blank is no word for an open sensor */
    ovp_trace_watch_init(&watch, &setting);
    give(&watch, 0, 22);
    sample = (ovp_trace_sample){1, NAN, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_EMPTY};
    assert_false(ovp_trace_watch_sample(&watch, &sample));
}

static void test_heats_while_off(void **state)
{
    static ovp_trace_watch watch;
    ovp_trace_watch_setting setting;
    (void)state;
    ovp_trace_watch_expect_nothing(&setting);
    ovp_trace_watch_init(&watch, &setting);
    for (int t = 0; t < 900; t += 5) {
        /* heat off from 300 s; what is stored lifts it for 90 s more, then it must not rise */
        const double shown_C = t < 390 ? 20 + 0.5 * t : 215 + 0.3 * (t - 390);
        ovp_trace_sample sample = {t, shown_C, 500, t < 300 ? 100 : 0, NAN, NAN, NAN, OVP_TRACE_NUMBER};
        (void)ovp_trace_watch_sample(&watch, &sample);
    }
    assert_int_equal(watch.state.alarm, OVP_TRACE_ALARM_HEATS_OFF);
    assert_true(watch.state.at_s > 540 && watch.state.at_s < 620);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_healthy_runs_stay_quiet),
        cmocka_unit_test(test_backwards_within_a_minute),
        cmocka_unit_test(test_no_rise),
        cmocka_unit_test(test_half_power),
        cmocka_unit_test(test_typed_readings),
        cmocka_unit_test(test_door_is_forgiven),
        cmocka_unit_test(test_input_at_once),
        cmocka_unit_test(test_heats_while_off),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
