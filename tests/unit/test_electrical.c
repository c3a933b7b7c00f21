/* What an oven draws: Ohm's law by hand, alloy factors and wire ohms from their tables. */
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

static ovp_oven make(size_t elements, ovp_oven_wiring wiring, double watts_W, double at_V, double volts_V)
{
    ovp_oven oven;
    ovp_oven_init(&oven);
    oven.element_count = elements;
    oven.wiring = wiring;
    oven.supply.volts_V = volts_V;
    for (size_t i = 0; i < elements; i++) {
        oven.elements[i].power_W = watts_W;
        oven.elements[i].at_V = at_V;
        memcpy(oven.elements[i].alloy, "FeCrAl", 7);
    }
    return oven;
}

/* An alloy maker's table: FeCrAl 25-5 1.013 at 400, 1.040 at 800, 1.044 at 1000; NiCr 80/20 1.025 at 400,
   1.008 at 800, 1.014 at 1000 degC. */
static void alloy_factors(void **state)
{
    (void)state;
    static const struct {
        const char *alloy;
        double temperature_C, factor;
    } rows[] = {
        {"0Cr25Al5", 400, 1.013},   {"fecral 25-5", 800, 1.040}, {"FeCrAl", 1000, 1.044},
        {"NiCr 80/20", 400, 1.025}, {"Cr20Ni80", 800, 1.008},    {"nicr", 1000, 1.014},
        {"FeCrAl", 20, 1.0},        {"FeCrAl", -40, 1.0},        {"FeCrAl", 60, 1.001},
        {"FeCrAl", 2000, 1.047},    {"", 1000, 1.044},           {"0Cr27Al7Mo2", 1300, 0.967},
        {"FeCrAl", 350, 1.0105},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double factor = 0;
        assert_true(ovp_electrical_alloy_factor(rows[i].alloy, rows[i].temperature_C, &factor));
        near(factor, rows[i].factor, 1e-12);
    }
    double untouched = 7;
    assert_false(ovp_electrical_alloy_factor("tungsten", 20, &untouched));
    assert_true(untouched == 7);
}

/* By hand: 240^2/1800 = 32 ohm an element, 16 ohm two in parallel, 64 ohm in series; 15 A and 3.75 A. */
static void two_elements(void **state)
{
    (void)state;
    ovp_electrical_load load;
    ovp_oven oven = make(2, OVP_OVEN_WIRING_PARALLEL, 1800, 240, 240);
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_OK);
    near(load.hot_ohm, 16, 1e-12);
    near(load.full_A, 15, 1e-12);
    near(load.full_W, 3600, 1e-9);
    near(load.cold_ohm, 16 / 1.044, 1e-12);
    near(load.element_cold_ohm, 32 / 1.044, 1e-12);
    near(load.cold_A, 15 * 1.044, 1e-9);
    assert_int_equal(load.branches, 2);
    assert_false(load.alloy_assumed);
    assert_false(load.controls_counted);
    near(load.total_A, 15, 1e-12);
    oven.controls_A = 0.5;
    assert_int_equal(ovp_electrical_load_of(&oven, 228, &load, &error), OVP_OK);
    near(load.full_W, 3600 * 0.95 * 0.95, 1e-9);
    near(load.total_A, 14.75, 1e-12);
    oven.wiring = OVP_OVEN_WIRING_SERIES;
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_OK);
    near(load.hot_ohm, 64, 1e-12);
    near(load.full_A, 3.75, 1e-12);
    assert_int_equal(load.branches, 1);
}

static void what_is_missing_is_named(void **state)
{
    (void)state;
    ovp_electrical_load load;
    ovp_oven oven;
    ovp_oven_init(&oven);
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "elements[1].watts"));
    oven = make(2, OVP_OVEN_WIRING_UNKNOWN, 1800, 240, 240);
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "wiring"));
    oven = make(1, OVP_OVEN_WIRING_UNKNOWN, 1300, NAN, 120);
    oven.elements[0].alloy[0] = '\0';
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_OK);
    near(load.hot_ohm, 14400.0 / 1300.0, 1e-12);
    assert_true(load.alloy_assumed);
    oven.supply.volts_V = NAN;
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "supply.volts"));
    oven = make(2, OVP_OVEN_WIRING_SERIES, 1800, NAN, 240);
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "elements[].at"));
    oven = make(1, OVP_OVEN_WIRING_SINGLE, 1800, 240, 240);
    memcpy(oven.elements[0].alloy, "cheese", 7);
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "'cheese'"));
}

/* Wire: 14 AWG 2.525 ohm per 1000 ft (a physics reference table), so 25 ft both ways are 0.12625 ohm. */
static void cords(void **state)
{
    (void)state;
    double ohm = 0;
    assert_true(ovp_electrical_wire_ohm(14, 304.8, &ohm));
    near(ohm, 2.525, 1e-12);
    assert_false(ovp_electrical_wire_ohm(13, 1, &ohm));
    assert_true(ovp_electrical_cord_ohm("25ft 14AWG", &ohm));
    near(ohm, 2 * 2.525 * 0.025, 1e-12);
    assert_true(ovp_electrical_cord_ohm("14awg, 25ft", &ohm));
    near(ohm, 2 * 2.525 * 0.025, 1e-12);
    assert_false(ovp_electrical_cord_ohm("long and thin", &ohm));
    assert_false(ovp_electrical_cord_ohm("25ft", &ohm));
    assert_false(ovp_electrical_cord_ohm("14AWG", &ohm));
    assert_false(ovp_electrical_cord_ohm("", &ohm));
}

/* NFPA 70 210.20(A) (memory): a load of three hours or more takes at most 80 % of the rating: 16 A of 20 A.
   Trade (common practice, no published source): 17.8 A on a 20 A circuit is past 80 %. */
static void circuits(void **state)
{
    (void)state;
    ovp_electrical_load load;
    ovp_electrical_circuit circuit;
    ovp_oven oven = make(2, OVP_OVEN_WIRING_PARALLEL, 1800, 240, 240);
    assert_int_equal(ovp_electrical_load_of(&oven, NAN, &load, &error), OVP_OK);
    assert_int_equal(ovp_electrical_circuit_of(&oven, &load, &circuit, &error), OVP_ERROR_DATA);
    oven.supply.circuit_A = 20;
    assert_int_equal(ovp_electrical_circuit_of(&oven, &load, &circuit, &error), OVP_OK);
    near(circuit.share, 0.75, 1e-12);
    near(circuit.continuous_A, 16, 1e-12);
    assert_true(circuit.within_rating && circuit.within_continuous);
    assert_true(isnan(circuit.lost_V) && isnan(circuit.power_left));
    load.total_A = 17.8;
    assert_int_equal(ovp_electrical_circuit_of(&oven, &load, &circuit, &error), OVP_OK);
    assert_true(circuit.within_rating && !circuit.within_continuous);
    load.total_A = 20.5;
    assert_int_equal(ovp_electrical_circuit_of(&oven, &load, &circuit, &error), OVP_OK);
    assert_true(!circuit.within_rating);
    /* power left is (R/(R+Rs))^2: 16 ohm behind 0.4 ohm keeps 95.18 % */
    oven.supply.line_ohms = 0.4;
    assert_int_equal(ovp_electrical_circuit_of(&oven, &load, &circuit, &error), OVP_OK);
    near(circuit.power_left, (16 / 16.4) * (16 / 16.4), 1e-12);
    near(circuit.lost_V, 240 * 0.4 / 16.4, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(alloy_factors),
        cmocka_unit_test(two_elements),
        cmocka_unit_test(what_is_missing_is_named),
        cmocka_unit_test(cords),
        cmocka_unit_test(circuits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
