/* Ground bond, insulation, leakage, a relay that is off, and what meters show of a half wave. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "ovenproof/electrical.h"

static ovp_error error;

static void near(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.12g is not within %g of %.12g", value, tolerance, expected);
}

/* EN 50106:2008 A.1: at most 0.2 ohm with a cord, or 0.1 ohm and the cord; 0.1 ohm without one; by at least
   10 A from at most 12 V. A multimeter never passes. */
static void ground_bond(void **state)
{
    (void)state;
    static const struct {
        ovp_electrical_bond bond;
        ovp_electrical_decision decision;
        double limit;
    } rows[] = {
        {{0.20, false, NAN, false}, OVP_ELECTRICAL_PASS, 0.2},
        {{0.21, false, NAN, false}, OVP_ELECTRICAL_FAIL, 0.2},
        {{0.11, true, NAN, false}, OVP_ELECTRICAL_FAIL, 0.1},
        {{0.10, true, NAN, false}, OVP_ELECTRICAL_PASS, 0.1},
        {{0.13, false, 0.03, false}, OVP_ELECTRICAL_PASS, 0.13},
        {{0.14, false, 0.03, false}, OVP_ELECTRICAL_FAIL, 0.13},
        {{0.08, false, NAN, true}, OVP_ELECTRICAL_CONDITIONAL, 0.3},
        {{0.31, false, NAN, true}, OVP_ELECTRICAL_FAIL, 0.3},
    };
    ovp_electrical_judgement judgement;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(ovp_electrical_bond_judge(&rows[i].bond, &judgement, &error), OVP_OK);
        assert_int_equal(judgement.decision, rows[i].decision);
        near(judgement.limit, rows[i].limit, 1e-12);
        assert_true(judgement.why[0] != '\0' && judgement.next[0] != '\0');
    }
    near(ovp_electrical_limit_named("bond-test-current")->value, 10, 0);
    near(ovp_electrical_limit_named("bond-test-volts")->value, 12, 0);
    ovp_electrical_bond wrong = {.ohm = -0.1, .cord_ohm = NAN};
    assert_int_equal(ovp_electrical_bond_judge(&wrong, &judgement, &error), OVP_ERROR_DATA);
    wrong.ohm = INFINITY;
    assert_int_equal(ovp_electrical_bond_judge(&wrong, &judgement, &error), OVP_ERROR_DATA);
}

/* In-service testing of class I equipment: 500 V dc, 1 Mohm; heating below 3 kW 0.3 Mohm (DIN VDE 0701-0702
   has the same 0.3 Mohm with heating elements on, and lets the leakage decide at high power). New 2 Mohm:
   common practice, no published source. */
static void insulation(void **state)
{
    (void)state;
    static const struct {
        double Mohm, power_W, test_V;
        bool new_build, dried;
        ovp_electrical_decision decision;
        double limit;
        const char *next;
    } rows[] = {
        {0.30, 1300, NAN, false, false, OVP_ELECTRICAL_PASS, 0.3, ""},
        {0.29, 1300, NAN, false, false, OVP_ELECTRICAL_CONDITIONAL, 0.3, "dry it first"},
        {0.29, 1300, NAN, false, true, OVP_ELECTRICAL_FAIL, 0.3, "do not use it"},
        {0.009, 1300, NAN, false, false, OVP_ELECTRICAL_FAIL, 0.3, "find the touch"},
        {1.0, 3600, NAN, false, false, OVP_ELECTRICAL_PASS, 1, ""},
        {0.5, 3600, NAN, false, false, OVP_ELECTRICAL_CONDITIONAL, 1, "leakage"},
        {0.5, NAN, NAN, false, true, OVP_ELECTRICAL_CONDITIONAL, 1, "leakage"},
        {0.2, 3600, NAN, false, false, OVP_ELECTRICAL_CONDITIONAL, 1, "dry it first"},
        {1.9, 1300, NAN, true, false, OVP_ELECTRICAL_CONDITIONAL, 2, "dry it first"},
        {1.9, 1300, NAN, true, true, OVP_ELECTRICAL_FAIL, 2, ""},
        {2.0, 3600, NAN, true, false, OVP_ELECTRICAL_PASS, 2, ""},
        {5.0, 1300, 250, false, false, OVP_ELECTRICAL_CONDITIONAL, 0.3, "500 V"},
        {INFINITY, 3600, 500, true, false, OVP_ELECTRICAL_PASS, 2, ""},
        {0.0, 3600, 500, false, false, OVP_ELECTRICAL_FAIL, 1, "touch"},
    };
    ovp_electrical_judgement judgement;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_electrical_insulation given = {.Mohm = rows[i].Mohm,
                                           .power_W = rows[i].power_W,
                                           .test_V = rows[i].test_V,
                                           .new_build = rows[i].new_build,
                                           .dried = rows[i].dried,
                                           .temperature_C = NAN};
        assert_int_equal(ovp_electrical_insulation_judge(&given, &judgement, NULL, &error), OVP_OK);
        assert_int_equal(judgement.decision, rows[i].decision);
        near(judgement.limit, rows[i].limit, 1e-12);
        assert_non_null(strstr(judgement.next, rows[i].next));
    }
}

/* Rule of thumb of insulation testing: half for every 10 degC more. It never changes the judgement. */
static void insulation_at_20_degC(void **state)
{
    (void)state;
    double base_Mohm = 0;
    ovp_electrical_judgement judgement;
    ovp_electrical_insulation given = {.Mohm = 0.25, .power_W = 1300, .test_V = NAN, .temperature_C = 40};
    assert_int_equal(ovp_electrical_insulation_judge(&given, &judgement, &base_Mohm, &error), OVP_OK);
    near(base_Mohm, 1.0, 1e-12);
    assert_int_equal(judgement.decision, OVP_ELECTRICAL_CONDITIONAL);
    given.Mohm = NAN;
    assert_int_equal(ovp_electrical_insulation_judge(&given, &judgement, &base_Mohm, &error), OVP_ERROR_DATA);
    given.Mohm = 1, given.test_V = 0;
    assert_int_equal(ovp_electrical_insulation_judge(&given, &judgement, &base_Mohm, &error), OVP_ERROR_DATA);
}

/* UL 943 class A: holds below 4 mA, trips at 6 mA and more, within (20/I)^1.43 s: 5.59 s at 6 mA, 1 s at 20
   mA, 0.0250 s at 264 mA. */
static void ground_fault_device(void **state)
{
    (void)state;
    static const struct {
        double mA;
        ovp_electrical_trip trip;
        double longest_s;
    } rows[] = {
        {0, OVP_ELECTRICAL_TRIP_NO, NAN},          {2.9, OVP_ELECTRICAL_TRIP_NO, NAN},
        {3.5, OVP_ELECTRICAL_TRIP_NEAR, NAN},      {4, OVP_ELECTRICAL_TRIP_MAY, NAN},
        {5.9, OVP_ELECTRICAL_TRIP_MAY, NAN},       {6, OVP_ELECTRICAL_TRIP_MUST, 5.594},
        {20, OVP_ELECTRICAL_TRIP_MUST, 1.0},       {264, OVP_ELECTRICAL_TRIP_MUST, 0.02497},
        {1000, OVP_ELECTRICAL_TRIP_MUST, 0.02497},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double longest_s = 0;
        assert_int_equal(ovp_electrical_ground_fault(rows[i].mA, &longest_s), rows[i].trip);
        if (isnan(rows[i].longest_s))
            assert_true(isnan(longest_s));
        else
            near(longest_s, rows[i].longest_s, 1e-3 * rows[i].longest_s + 1e-4);
    }
}

/* IEC 60335-1 clause 13.2: class I portable 0.75 mA; stationary heating the greater of 0.75 mA and 0.75 mA a
   kilowatt, 5 mA at most. Ohm's law: 120 V over 24 kohm is 5 mA. */
static void leakage(void **state)
{
    (void)state;
    near(ovp_electrical_leakage_limit_mA(true, 3600), 0.75, 0);
    near(ovp_electrical_leakage_limit_mA(false, 700), 0.75, 0);
    near(ovp_electrical_leakage_limit_mA(false, 3600), 2.7, 1e-12);
    near(ovp_electrical_leakage_limit_mA(false, 12000), 5, 0);
    near(ovp_electrical_leakage_limit_mA(false, NAN), 0.75, 0);
    near(ovp_electrical_leakage_of_insulation(0.024, 120), 5, 1e-12);
    ovp_electrical_leakage_result result;
    ovp_electrical_leakage given = {.mA = 2.7, .power_W = 3600, .ground_V = 120};
    assert_int_equal(ovp_electrical_leakage_judge(&given, &result, &error), OVP_OK);
    assert_int_equal(result.judgement.decision, OVP_ELECTRICAL_PASS);
    near(result.implied_Mohm, 120.0 / 2700.0, 1e-12);
    assert_int_equal(result.trip, OVP_ELECTRICAL_TRIP_NO);
    given.mA = 5;
    assert_int_equal(ovp_electrical_leakage_judge(&given, &result, &error), OVP_OK);
    assert_int_equal(result.judgement.decision, OVP_ELECTRICAL_FAIL);
    assert_int_equal(result.trip, OVP_ELECTRICAL_TRIP_MAY);
    near(result.implied_Mohm, 0.024, 1e-12);
    given.mA = -1;
    assert_int_equal(ovp_electrical_leakage_judge(&given, &result, &error), OVP_ERROR_DATA);
}

/* ---- half a wave -------------------------------------------------------------------------------------- */

enum {
    STEPS = 2000000,
};

/* What a meter shows of half a wave, and of the whole, by adding up the wave itself (midpoint rule). */
static double summed(ovp_electrical_meter meter)
{
    const double pi = acos(-1.0);
    double mean = 0, square = 0, size = 0;
    for (long i = 0; i < STEPS; i++)
        mean += fmax(0.0, sin(2.0 * pi * ((double)i + 0.5) / STEPS)) / STEPS;
    double offset = meter == OVP_ELECTRICAL_METER_AC || meter == OVP_ELECTRICAL_METER_AVERAGE_AC ? mean : 0.0;
    for (long i = 0; i < STEPS; i++) {
        double value = fmax(0.0, sin(2.0 * pi * ((double)i + 0.5) / STEPS)) - offset;
        square += value * value / STEPS;
        size += fabs(value) / STEPS;
    }
    double whole_square = 0.5, whole_size = 2.0 / pi;
    if (meter == OVP_ELECTRICAL_METER_DC)
        return mean / sqrt(whole_square);
    if (meter == OVP_ELECTRICAL_METER_AVERAGE || meter == OVP_ELECTRICAL_METER_AVERAGE_AC)
        return size / whole_size;
    return sqrt(square / whole_square);
}

/* Integrals of the wave, and by hand: 15.0 A shows 10.6, 8.2, 7.5 and 6.8 A; 120 V
   shows 84.9, 65.4, 60.0, 66.1 and 54.0 V. */
static void half_a_wave(void **state)
{
    (void)state;
    static const struct {
        ovp_electrical_meter meter;
        double share, amps_A, volts_V;
    } rows[] = {
        {OVP_ELECTRICAL_METER_AC_DC, 0.7071, 10.6, 84.9},
        {OVP_ELECTRICAL_METER_AC, 0.5453, 8.2, 65.4},
        {OVP_ELECTRICAL_METER_AVERAGE, 0.5, 7.5, 60.0},
        {OVP_ELECTRICAL_METER_AVERAGE_AC, 0.5511, 8.3, 66.1},
        {OVP_ELECTRICAL_METER_DC, 0.4502, 6.8, 54.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double share = ovp_electrical_half_wave_share(rows[i].meter);
        near(share, rows[i].share, 5e-5);
        near(share, summed(rows[i].meter), 1e-9);
        near(15 * share, rows[i].amps_A, 0.051);
        near(120 * share, rows[i].volts_V, 0.051);
    }
    double rms = ovp_electrical_half_wave_share(OVP_ELECTRICAL_METER_AC_DC);
    near(rms * rms, 0.5, 1e-12); /* the power is half */
    assert_true(isnan(ovp_electrical_half_wave_share(OVP_ELECTRICAL_METERS)));
}

static void half_a_wave_in_words(void **state)
{
    (void)state;
    char text[160];
    ovp_oven oven;
    ovp_electrical_meter meter;
    ovp_oven_init(&oven);
    assert_true(ovp_electrical_half_wave_words(&oven, 15, text, sizeof text) > 0);
    assert_string_equal(text, "half a wave shows 8.2 A (ac clamp), 10.6 A (ac+dc) or 7.5 A (averaging)");
    memcpy(oven.clamp_meter, "ac", 3);
    ovp_electrical_half_wave_words(&oven, 15, text, sizeof text);
    assert_string_equal(text, "half a wave shows 8.2 A by your ac clamp");
    assert_int_equal(ovp_electrical_half_wave_words(&oven, NAN, text, sizeof text), 0);
    assert_string_equal(text, "");
    assert_int_equal(ovp_electrical_half_wave_words(&oven, 15, text, 0), 0);
    for (size_t i = 0; i < OVP_ELECTRICAL_METERS; i++) {
        assert_true(ovp_electrical_meter_named(
            ovp_span_of(ovp_electrical_meter_name((ovp_electrical_meter)i)), &meter));
        assert_int_equal(meter, i);
    }
    assert_false(ovp_electrical_meter_named(ovp_span_of("digital"), &meter));
}

/* ---- a relay --------------------------------------------------------------------------------------------
 */

/* Ohm's law with a snubber of 240 V / 5 mA = 48 kohm: 0.08 V over 16 ohm; 240 * 10M/hypot(10M, 48k) = 239.997
   V; 240 * 3k/hypot(3k, 48k) = 14.97 V. */
static void a_relay_that_is_off(void **state)
{
    (void)state;
    ovp_electrical_relay_off off;
    ovp_electrical_relay_off_of(240, 16, 5, &off);
    near(off.load_V, 0.08, 1e-6);
    near(off.open_V, 239.9972, 1e-3);
    near(off.open_low_V, 14.971, 1e-2);
    near(off.leak_W, 0.0004, 1e-6);
    ovp_electrical_relay_off_of(240, 16, NAN, &off);
    near(off.leakage_mA, 5, 0);
    near(ovp_electrical_limit_named("relay-leakage-low")->value, 1, 0);
    near(ovp_electrical_limit_named("relay-leakage-high")->value, 10, 0);
    char text[200];
    ovp_oven oven;
    ovp_oven_init(&oven);
    assert_int_equal(ovp_electrical_relay_off_words(&oven, text, sizeof text), 0);
    oven.supply.volts_V = 120;
    ovp_electrical_relay_off_words(&oven, text, sizeof text);
    assert_non_null(strstr(text, "with the load off or broken a meter shows 120 V"));
}

/* Common practice, no published source: a good relay drops about 0.8 to 1.8 V; the full line across it with
   the load connected is no conduction; nothing is said without the load. */
static void volts_across_a_relay(void **state)
{
    (void)state;
    static const struct {
        ovp_electrical_relay_reading reading;
        ovp_electrical_relay_state state;
    } rows[] = {
        {{1.2, 240, true, true, 15}, OVP_ELECTRICAL_RELAY_ON},
        {{0.1, 240, true, true, 15}, OVP_ELECTRICAL_RELAY_SHORTED},
        {{0.1, 240, false, true, 15}, OVP_ELECTRICAL_RELAY_SHORTED},
        {{0.1, 240, true, true, 0}, OVP_ELECTRICAL_RELAY_NO_CURRENT},
        {{0.1, 240, true, true, NAN}, OVP_ELECTRICAL_RELAY_NO_CURRENT},
        {{239, 240, true, true, 0}, OVP_ELECTRICAL_RELAY_OPEN},
        {{239, 240, false, true, 0}, OVP_ELECTRICAL_RELAY_OFF},
        {{239, 240, true, false, 0}, OVP_ELECTRICAL_RELAY_UNKNOWN},
        {{170, 240, true, true, 10.6}, OVP_ELECTRICAL_RELAY_HALF},
        {{131, 240, true, true, 8.2}, OVP_ELECTRICAL_RELAY_HALF},
        {{30, 240, true, true, 15}, OVP_ELECTRICAL_RELAY_UNKNOWN},
        {{1.2, 240, false, true, NAN}, OVP_ELECTRICAL_RELAY_UNKNOWN},
        {{NAN, 240, true, true, NAN}, OVP_ELECTRICAL_RELAY_UNKNOWN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_electrical_relay_state found = ovp_electrical_relay_judge(&rows[i].reading);
        assert_int_equal(found, rows[i].state);
        assert_true(ovp_electrical_relay_words(found)[0] != '\0');
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ground_bond),
        cmocka_unit_test(insulation),
        cmocka_unit_test(insulation_at_20_degC),
        cmocka_unit_test(ground_fault_device),
        cmocka_unit_test(leakage),
        cmocka_unit_test(half_a_wave),
        cmocka_unit_test(half_a_wave_in_words),
        cmocka_unit_test(a_relay_that_is_off),
        cmocka_unit_test(volts_across_a_relay),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
