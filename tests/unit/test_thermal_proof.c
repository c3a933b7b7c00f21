/* A heat-up time carried to other volts, against ovens that are integrated here: C dT/dt = P(V) - L(T), heat
   into a thick wall, and noise; nothing of it is the oven model. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "../seeded.h"
#include "described_oven.h"
#include "ovenproof/thermal.h"

enum {
    READINGS = 2000
};

static const double rated_V = 120, room_C = 24, step_s = 0.05, each_s = 2;

/* One lump: what it loses at a temperature is a law. */
typedef double (*loss_law)(double temperature_C);

typedef struct lump {
    double rated_W, J_per_K;
    loss_law loss_W;
} lump;

static double no_loss(double temperature_C)
{
    (void)temperature_C;
    return 0;
}

static double linear_loss(double temperature_C)
{
    return 1.1 * (temperature_C - room_C);
}

/* Mostly radiation from a small body: 800 W at 1000 degC. */
static double radiant_loss(double temperature_C)
{
    return 0.25 * (temperature_C - room_C) +
           2.1e-10 * (pow(temperature_C + 273.15, 4) - pow(room_C + 273.15, 4));
}

static const lump ovens[] = {
    {2000, 900, no_loss},
    {2000, 900, linear_loss},
    {2000, 900, radiant_loss},
};

typedef struct log_of_run {
    double time_s[READINGS], temperature_C[READINGS];
    size_t count;
} log_of_run;

/* Runge and Kutta's second order; readings every each_s until `top_C`. */
static void integrate(const lump *oven, double volts_V, double start_C, double top_C, log_of_run *log)
{
    const double power_W = oven->rated_W * pow(volts_V / rated_V, 2);
    double temperature_C = start_C;
    log->count = 0;
    for (size_t i = 0; log->count < READINGS && temperature_C < top_C; i++) {
        if (i % (size_t)(each_s / step_s + 0.5) == 0) {
            log->time_s[log->count] = (double)i * step_s;
            log->temperature_C[log->count++] = temperature_C;
        }
        double half_C = temperature_C + step_s / 2 * (power_W - oven->loss_W(temperature_C)) / oven->J_per_K;
        temperature_C += step_s * (power_W - oven->loss_W(half_C)) / oven->J_per_K;
    }
}

static double time_to(const log_of_run *log, double to_C)
{
    for (size_t i = 1; i < log->count; i++)
        if (log->temperature_C[i] >= to_C)
            return log->time_s[i] - each_s * (log->temperature_C[i] - to_C) /
                                        (log->temperature_C[i] - log->temperature_C[i - 1]);
    return NAN;
}

static ovp_thermal_proof_run run_of(const log_of_run *log, double volts_V)
{
    return (ovp_thermal_proof_run){
        .climb = {log->time_s, log->temperature_C, log->count, log->temperature_C[0]}, .supply_V = volts_V};
}

static ovp_thermal_proof_aim aim_at(double to_C, double supply_V)
{
    return (ovp_thermal_proof_aim){to_C, NAN, supply_V, room_C, NAN};
}

static ovp_thermal_proof carried(const ovp_thermal_proof_run *run, const ovp_thermal_proof_aim *aim)
{
    ovp_thermal_proof proof;
    ovp_error error = {0};
    if (ovp_thermal_prove(run, aim, NULL, &proof, &error) != OVP_OK)
        fail_msg("%s", error.what);
    return proof;
}

static void assert_within(double value, double expected, double share)
{
    if (!(fabs(value / expected - 1) <= share))
        fail_msg("%.6g is not within %.2g %% of %.6g", value, 100 * share, expected);
}

/* Source: numeric integration in this file. */
static void small_changes_of_volts(void **state)
{
    (void)state;
    static log_of_run low, high;
    static const double marks_C[] = {300, 600, 850};
    for (size_t k = 0; k < sizeof ovens / sizeof ovens[0]; k++) {
        for (double share = 0.95; share < 1.06; share += 0.02) {
            integrate(&ovens[k], share * rated_V, room_C, 980, &low);
            integrate(&ovens[k], rated_V, room_C, 980, &high);
            for (size_t i = 0; i < 3; i++) {
                const ovp_thermal_proof_run run = run_of(&low, share * rated_V);
                const ovp_thermal_proof_aim aim = aim_at(marks_C[i], rated_V);
                assert_within(carried(&run, &aim).time_s, time_to(&high, marks_C[i]), 0.02);
            }
        }
    }
}

/* A tenth of the volts with linear losses: the law is exact. Source: numeric integration in this file. */
static void large_changes_where_linear(void **state)
{
    (void)state;
    static log_of_run low, high;
    integrate(&ovens[1], 108, room_C, 980, &low);
    integrate(&ovens[1], 120, room_C, 980, &high);
    for (double to_C = 400; to_C < 950; to_C += 100) {
        const ovp_thermal_proof_run down = run_of(&low, 108), up = run_of(&high, 120);
        const ovp_thermal_proof_aim to_high = aim_at(to_C, 120), to_low = aim_at(to_C, 108);
        assert_within(carried(&down, &to_high).time_s, time_to(&high, to_C), 0.005);
        if (to_C < 750) /* above, the run on 120 V ends before what must be read of it */
            assert_within(carried(&up, &to_low).time_s, time_to(&low, to_C), 0.005);
    }
}

/* n is the mean over the climb's time of 2 P / (P - L); 2 without losses. Source: differentiating the
 * integral of C dT / (P - L) by ln V. */
static void exponent_is_the_mean_over_the_climb(void **state)
{
    (void)state;
    static log_of_run log;
    for (size_t k = 0; k < 2; k++) {
        integrate(&ovens[k], rated_V, room_C, 980, &log);
        for (double to_C = 300; to_C <= 900; to_C += 100) {
            double sum = 0, count = 0;
            for (size_t i = 0; i < log.count && log.temperature_C[i] < to_C; i++, count++)
                sum += 2 * ovens[k].rated_W / (ovens[k].rated_W - ovens[k].loss_W(log.temperature_C[i]));
            const ovp_thermal_proof_run run = run_of(&log, rated_V);
            const ovp_thermal_proof_aim aim = aim_at(to_C, rated_V);
            const ovp_thermal_proof proof = carried(&run, &aim);
            assert_within(proof.exponent, sum / count, 0.02);
            assert_true(fabs(proof.loss_share - (1 - 2 * count / sum)) < 0.02);
        }
    }
}

static void exponent_falls_to_two(void **state)
{
    (void)state;
    static log_of_run log;
    integrate(&ovens[0], rated_V, room_C, 980, &log);
    const ovp_thermal_proof_run run = run_of(&log, rated_V);
    const ovp_thermal_proof_aim aim = aim_at(800, rated_V);
    assert_true(fabs(carried(&run, &aim).exponent - 2) < 1e-6);
    assert_true(carried(&run, &aim).loss_share < 1e-6);
}

/* A wall so thick that heat never comes out, without anything else: T ~ P sqrt(t), so n is 4. Source: H. S.
 * Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2.9: constant flux into a half space. */
static void thick_wall_alone(void **state)
{
    (void)state;
    static log_of_run log;
    for (log.count = 0; log.count < READINGS; log.count++) {
        log.time_s[log.count] = each_s * (double)log.count;
        log.temperature_C[log.count] = room_C + 20 * sqrt(log.time_s[log.count]);
    }
    const ovp_thermal_proof_run run = run_of(&log, rated_V);
    const ovp_thermal_proof_aim aim = aim_at(800, rated_V);
    assert_true(fabs(carried(&run, &aim).exponent - 4) < 1e-6);
}

/* The same oven in a room of 10 degC. Source: numeric integration in this file: of a linear oven the rise
 * counts and not the room. */
static void another_room(void **state)
{
    (void)state;
    static log_of_run cold, usual;
    const double rise_C = 700 - room_C;
    integrate(&ovens[0], 117, 10, 980, &cold);
    integrate(&ovens[0], 120, room_C, 980, &usual);
    const ovp_thermal_proof_run run = run_of(&cold, 117);
    const ovp_thermal_proof_aim aim = aim_at(room_C + rise_C, 120);
    assert_within(carried(&run, &aim).time_s, time_to(&usual, room_C + rise_C), 0.005);
}

static double normal(void)
{
    return sqrt(-2 * log(1 - uniform())) * cos(2 * 3.14159265358979 * uniform());
}

/* Readings with noise, volts read wrong by their uncertainty: the truth lies within U in 95 % of the runs or
 * a little more. */
static void covers_the_truth(void **state)
{
    (void)state;
    static log_of_run clean, low, high;
    int held = 0, runs = 400;
    const double to_C = 700;
    integrate(&ovens[1], 114, room_C, 980, &clean);
    integrate(&ovens[1], 120, room_C, 980, &high);
    random_state = 20240611;
    for (int k = 0; k < runs; k++) {
        low = clean;
        for (size_t i = 0; i < low.count; i++)
            low.temperature_C[i] += 0.5 * normal();
        low.temperature_C[0] = room_C;
        ovp_thermal_proof_run run = run_of(&low, 114 + 0.57 * normal());
        run.supply_U_V = 2 * 0.57;
        run.reading_U_C = 2 * 0.5;
        const ovp_thermal_proof_aim aim = aim_at(to_C, 120);
        const ovp_thermal_proof proof = carried(&run, &aim);
        held += fabs(proof.time_s - time_to(&high, to_C)) <= proof.time_U_s;
    }
    print_message("within U: %d of %d\n", held, runs);
    assert_in_range(held, (int)(0.90 * runs), (int)(0.99 * runs));
}

/* Source: the rule of the guard band, ILAC-G8:09/2019 4.2.3: accept where time + U, refuse where time - U. */
static void guard_band(void **state)
{
    (void)state;
    assert_int_equal(ovp_thermal_decide(580, 20, 600), OVP_THERMAL_PASS);
    assert_int_equal(ovp_thermal_decide(580.1, 20, 600), OVP_THERMAL_CANNOT_SAY);
    assert_int_equal(ovp_thermal_decide(620, 20, 600), OVP_THERMAL_CANNOT_SAY);
    assert_int_equal(ovp_thermal_decide(620.1, 20, 600), OVP_THERMAL_FAIL);
    assert_int_equal(ovp_thermal_decide(NAN, 20, 600), OVP_THERMAL_CANNOT_SAY);
    assert_int_equal(ovp_thermal_decide(500, NAN, 600), OVP_THERMAL_CANNOT_SAY);
    assert_string_equal(ovp_thermal_decision_name(OVP_THERMAL_CANNOT_SAY), "cannot-say");
    assert_string_equal(ovp_thermal_decision_name(OVP_THERMAL_PASS), "pass");
    assert_string_equal(ovp_thermal_decision_name(OVP_THERMAL_FAIL), "fail");
}

/* At the least volts the time is the limit. Source: numeric integration in this file. */
static void least_volts(void **state)
{
    (void)state;
    static log_of_run log, again;
    integrate(&ovens[1], 120, room_C, 980, &log);
    ovp_thermal_proof_aim aim = aim_at(700, 120);
    aim.within_s = 1.06 * time_to(&log, 700);
    const ovp_thermal_proof_run run = run_of(&log, 120);
    const ovp_thermal_proof proof = carried(&run, &aim);
    assert_int_equal(proof.decision, OVP_THERMAL_PASS);
    integrate(&ovens[1], proof.least_V, room_C, 980, &again);
    assert_within(time_to(&again, 700), aim.within_s, 0.005);
}

static void refused(const ovp_thermal_proof_run *run, const ovp_thermal_proof_aim *aim, const char *words)
{
    ovp_thermal_proof proof;
    ovp_error error = {0};
    assert_int_equal(ovp_thermal_prove(run, aim, NULL, &proof, &error), OVP_ERROR_DATA);
    if (strstr(error.what, words) == NULL)
        fail_msg("\"%s\" does not hold \"%s\"", error.what, words);
}

/* Where the run does not give the losses there is no correction. */
static void refusals(void **state)
{
    (void)state;
    static log_of_run log;
    integrate(&ovens[1], 120, room_C, 700, &log);
    ovp_thermal_proof_run run = run_of(&log, 120);
    ovp_thermal_proof_aim aim = aim_at(750, 120);
    refused(&run, &aim, "not reached");
    aim = aim_at(690, 80);
    refused(&run, &aim, "too far");
    aim = aim_at(690, 104); /* asks for what lies far beyond the end of the climb */
    refused(&run, &aim, "does not hold the stretch");
    aim = aim_at(20, 120);
    refused(&run, &aim, "not reached");
    const double times_s[] = {0, 900}, readings_C[] = {24, 720};
    run.climb = (ovp_thermal_climb){times_s, readings_C, 2, 24};
    aim = aim_at(700, 120);
    refused(&run, &aim, "too few readings");
}

/* A run noted by hand at five marks carries, too. Source: numeric integration in this file. */
static void five_points_by_hand(void **state)
{
    (void)state;
    static log_of_run low, high;
    static const double marks_C[] = {24, 350, 500, 600, 700, 800};
    double times_s[6] = {0};
    integrate(&ovens[1], 114, room_C, 980, &low);
    integrate(&ovens[1], 120, room_C, 980, &high);
    for (size_t i = 1; i < 6; i++)
        times_s[i] = time_to(&low, marks_C[i]);
    ovp_thermal_proof_run run = {.climb = {times_s, marks_C, 6, 24}, .supply_V = 114};
    const ovp_thermal_proof_aim aim = aim_at(700, 120);
    assert_within(carried(&run, &aim).time_s, time_to(&high, 700), 0.02);
}

/* The oven model's own runs: with its bend they carry to one another. */
static void bend_of_the_model(void **state)
{
    (void)state;
    const ovp_oven oven = described_oven(240, 3600, 0.2032, 0.3048, 0.0635);
    ovp_thermal_parameters model, other;
    static log_of_run log;
    static const double marks_C[] = {400, 600, 800, 1000};
    double times_s[4];
    ovp_thermal_bend bends[4];
    assert_int_equal(ovp_thermal_from_oven(&oven, NULL, &model, NULL), OVP_OK);
    other = model;
    other.supply_V = 225;
    for (log.count = 0; log.count < READINGS; log.count++)
        log.time_s[log.count] = each_s * (double)log.count;
    ovp_thermal_curve(&other, log.time_s, log.count, log.temperature_C);
    ovp_thermal_heat_up(&model, marks_C, 4, 20000, times_s);
    ovp_thermal_bends(&model, 225, 240, marks_C, 4, bends);
    ovp_thermal_proof_run run = run_of(&log, 225);
    for (size_t i = 0; i < 4; i++) {
        ovp_thermal_proof proof;
        const ovp_thermal_proof_aim aim = aim_at(marks_C[i], 240);
        assert_true(bends[i].share > 0.7 && bends[i].share < 1);
        assert_int_equal(ovp_thermal_prove(&run, &aim, &bends[i], &proof, NULL), OVP_OK);
        assert_within(proof.time_s, times_s[i], 0.005);
        assert_within(proof.exponent, bends[i].exponent, 0.03);
        assert_true(proof.time_U_s > fabs(proof.time_s - times_s[i]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_changes_of_volts),
        cmocka_unit_test(large_changes_where_linear),
        cmocka_unit_test(exponent_is_the_mean_over_the_climb),
        cmocka_unit_test(exponent_falls_to_two),
        cmocka_unit_test(thick_wall_alone),
        cmocka_unit_test(another_room),
        cmocka_unit_test(covers_the_truth),
        cmocka_unit_test(guard_band),
        cmocka_unit_test(least_volts),
        cmocka_unit_test(refusals),
        cmocka_unit_test(five_points_by_hand),
        cmocka_unit_test(bend_of_the_model),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
