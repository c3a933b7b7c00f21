/* Breakers, fuses, wire and cords by their published rows; the line, the rules and one failure by hand. */
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
        fail_msg("%.12g is not %.12g", value, expected);
}

/* ---- published rows ---- */

static void devices_do_what_their_standards_say(void **state)
{
    (void)state;
    const double good = HUGE_VAL;
    const struct {
        ovp_electrical_device device;
        double rating_A, multiple, holds_s, within_s;
        const char *source;
    } rows[] = {
        {OVP_ELECTRICAL_BREAKER_UL, 20, 1.00, good, NAN, "UL 489: 100 % holds"},
        {OVP_ELECTRICAL_BREAKER_UL, 20, 1.20, NAN, NAN, "UL 489: nothing said between 100 and 135 %"},
        {OVP_ELECTRICAL_BREAKER_UL, 20, 1.35, NAN, 3600, "UL 489: 135 % within 1 h (50 A and below)"},
        {OVP_ELECTRICAL_BREAKER_UL, 50, 1.35, NAN, 3600, "UL 489: 135 % within 1 h (50 A and below)"},
        {OVP_ELECTRICAL_BREAKER_UL, 60, 1.35, NAN, 7200, "UL 489: 135 % within 2 h above 50 A (memory)"},
        {OVP_ELECTRICAL_BREAKER_UL, 30, 2.00, NAN, 120, "UL 489: 200 % within 2 min (30 A and below)"},
        {OVP_ELECTRICAL_BREAKER_UL, 40, 2.00, NAN, 240, "UL 489: 200 % within 4 min to 50 A (memory)"},
        {OVP_ELECTRICAL_BREAKER_IEC_B, 16, 1.00, good, NAN, "IEC 60898-1: the rated current (memory)"},
        {OVP_ELECTRICAL_BREAKER_IEC_B, 16, 1.13, 3600, NAN, "IEC 60898-1: 1.13 In holds 1 h"},
        {OVP_ELECTRICAL_BREAKER_IEC_C, 16, 1.45, 0.1, 3600, "IEC 60898-1: 1.45 In trips within 1 h"},
        {OVP_ELECTRICAL_BREAKER_IEC_D, 32, 2.55, 0.1, 60,
         "IEC 60898-1: 2.55 In within 60 s (32 A and below)"},
        {OVP_ELECTRICAL_BREAKER_IEC_B, 16, 3.00, 0.1, 60, "IEC 60898-1: B not at once at 3 In"},
        {OVP_ELECTRICAL_BREAKER_IEC_B, 16, 5.00, NAN, 0.1, "IEC 60898-1: B at once at 5 In"},
        {OVP_ELECTRICAL_BREAKER_IEC_C, 16, 5.00, 0.1, 60, "IEC 60898-1: C not at once at 5 In"},
        {OVP_ELECTRICAL_BREAKER_IEC_C, 16, 10.0, NAN, 0.1, "IEC 60898-1: C at once at 10 In"},
        {OVP_ELECTRICAL_BREAKER_IEC_D, 16, 10.0, 0.1, 60, "IEC 60898-1: D not at once at 10 In"},
        {OVP_ELECTRICAL_BREAKER_IEC_D, 16, 20.0, NAN, 0.1, "IEC 60898-1: D at once at 20 In"},
        {OVP_ELECTRICAL_FUSE_UL, 10, 1.00, good, NAN, "UL 248-14: carries 100 %"},
        {OVP_ELECTRICAL_FUSE_UL, 10, 1.10, 14400, NAN, "UL 248-14: carries 110 %"},
        {OVP_ELECTRICAL_FUSE_UL, 10, 1.35, NAN, 3600, "UL 248-14: opens at 135 % within 1 h"},
        {OVP_ELECTRICAL_FUSE_UL, 30, 2.00, NAN, 120, "UL 248-14: 200 % within 2 min (0 to 30 A)"},
        {OVP_ELECTRICAL_FUSE_UL, 40, 2.00, NAN, 240, "UL 248-14: 200 % within 4 min (35 to 60 A)"},
        {OVP_ELECTRICAL_FUSE_IEC_FAST, 5, 1.50, 3600, NAN, "IEC 60127: 150 % holds 1 h"},
        {OVP_ELECTRICAL_FUSE_IEC_FAST, 5, 2.10, NAN, 1800, "IEC 60127: 210 % opens"},
        {OVP_ELECTRICAL_FUSE_IEC_GG, 16, 1.25, 3600, NAN, "IEC 60269 gG: 1.25 In holds 1 h (memory)"},
        {OVP_ELECTRICAL_FUSE_IEC_GG, 63, 1.60, NAN, 3600, "IEC 60269 gG: 1.6 In opens within 1 h (memory)"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_electrical_protection found;
        assert_int_equal(ovp_electrical_protection_of(rows[i].device, rows[i].rating_A,
                                                      rows[i].multiple * rows[i].rating_A, &found, &error),
                         OVP_OK);
        const bool holds = isnan(rows[i].holds_s) ? isnan(found.holds_s) : found.holds_s == rows[i].holds_s;
        const bool within =
            isnan(rows[i].within_s) ? isnan(found.within_s) : found.within_s == rows[i].within_s;
        if (!holds || !within)
            fail_msg("%s: holds %g s, opens within %g s", rows[i].source, found.holds_s, found.within_s);
        assert_true(isnan(found.within_s) == (found.within_source == NULL));
    }
    ovp_electrical_protection found;
    assert_int_equal(ovp_electrical_protection_of(OVP_ELECTRICAL_BREAKER_UL, 0, 1, &found, &error),
                     OVP_ERROR_DATA);
    assert_int_equal(ovp_electrical_protection_of(OVP_ELECTRICAL_FUSE_IEC_GG, 5, 1, &found, &error),
                     OVP_ERROR_DATA);
}

static void wire_has_its_published_ohms_and_amps(void **state)
{
    (void)state;
    ovp_electrical_cord cord;
    const struct {
        const char *words;
        double ohm, cord_A, breaker_A;
        const char *source;
    } rows[] = {
        /* there and back: twice the length */
        {"500ft 18AWG", 6.385, 10, NAN,
         "a physics reference table: 6.385 ohm/1000 ft; NFPA 70 400.5(A): 10 A"},
        {"500ft 16AWG", 4.016, 13, NAN, "4.016 ohm/1000 ft; NFPA 70 400.5(A): 13 A"},
        {"500 ft, 14 AWG", 2.525, 18, 15, "2.525 ohm/1000 ft; 400.5(A): 18 A; 240.4(D): 15 A"},
        {"12/3 500ft", 1.588, 25, 20, "1.588 ohm/1000 ft; 400.5(A): 25 A; 240.4(D): 20 A"},
        {"10 ga 500ft", 0.9989, 30, 30, "0.9989 ohm/1000 ft; 240.4(D): 30 A"},
        {"500m 1.5mm2", 13.3, 16, 16, "IEC 60228 class 5: 13.3 ohm/km; IEC 60335-1 table 11 (memory)"},
        {"500m 2.5 mm\xC2\xB2", 7.98, 25, 20, "IEC 60228 class 5: 7.98 ohm/km"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (ovp_electrical_cord_of(rows[i].words, &cord, &error) != OVP_OK)
            fail_msg("%s: %s", rows[i].words, error.what);
        near(cord.ohm, rows[i].ohm, 1e-9);
        near(cord.wire.cord_A, rows[i].cord_A, 1e-9);
        assert_true(isnan(rows[i].breaker_A) ? isnan(cord.wire.breaker_A)
                                             : cord.wire.breaker_A == rows[i].breaker_A);
    }
    /* copper rises 0.393 % a kelvin: 14 AWG at 75 degC is 3.07 ohm/1000 ft in a code's table; at 60 degC
     * x1.157 */
    near(cord.warm_ohm / cord.ohm, 1.1572, 1e-4);
    assert_int_equal(ovp_electrical_cord_of("12AWG", &cord, &error), OVP_OK);
    assert_true(isnan(cord.length_m) && isnan(cord.ohm));
    ovp_electrical_wire wire;
    assert_true(ovp_electrical_cord_for(15.4, false, &wire) && wire.awg == 14);
    assert_true(ovp_electrical_cord_for(18.1, false, &wire) && wire.awg == 12);
    assert_true(ovp_electrical_cord_for(15.4, true, &wire) && wire.mm2 == 1.5);
    assert_false(ovp_electrical_cord_for(500, false, &wire));
}

static void words_that_are_no_cord(void **state)
{
    (void)state;
    ovp_electrical_cord cord = {.length_m = 7};
    static const char *const words[] = {"",        "long and thin",    "25ft",          "25",
                                        "13AWG",   "25ft 16AWG 12AWG", "25ft 3m 16AWG", "-5ft 16AWG",
                                        "25ft 16", "16AWG 0ft",        "1.7mm2 3m",     "nan AWG"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        error = (ovp_error){0};
        if (ovp_electrical_cord_of(words[i], &cord, &error) != OVP_ERROR_DATA)
            fail_msg("\"%s\" was taken", words[i]);
        assert_true(error.what[0] != '\0' && error.hint[0] != '\0' && cord.length_m == 7);
    }
}

static void ratings(void **state)
{
    (void)state;
    const struct {
        const char *words;
        bool fuse;
        ovp_electrical_device device;
        double rating_A;
    } rows[] = {
        {"20A", false, OVP_ELECTRICAL_BREAKER_UL, 20},
        {"20 A", false, OVP_ELECTRICAL_BREAKER_UL, 20},
        {"5A fast", true, OVP_ELECTRICAL_FUSE_UL, 5},
        {"B16", false, OVP_ELECTRICAL_BREAKER_IEC_B, 16},
        {"c 20A", false, OVP_ELECTRICAL_BREAKER_IEC_C, 20},
        {"D10", false, OVP_ELECTRICAL_BREAKER_IEC_D, 10},
        {"gG 16A", false, OVP_ELECTRICAL_FUSE_IEC_GG, 16},
        {"20A fuse", false, OVP_ELECTRICAL_FUSE_UL, 20},
        {"10A breaker", true, OVP_ELECTRICAL_BREAKER_UL, 10},
        {"500mA", true, OVP_ELECTRICAL_FUSE_UL, 0.5},
    };
    ovp_electrical_device device = OVP_ELECTRICAL_DEVICES;
    double rating_A = 7;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(ovp_electrical_rating_of(rows[i].words, rows[i].fuse, OVP_ELECTRICAL_RULES_US,
                                                  &device, &rating_A, &error),
                         OVP_OK);
        assert_int_equal(device, rows[i].device);
        near(rating_A, rows[i].rating_A, 1e-12);
    }
    static const char *const none[] = {"", "A", "20", "twenty", "B", "-5A", "20Ah", "20V", "0A", "B-3"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
        if (ovp_electrical_rating_of(none[i], false, OVP_ELECTRICAL_RULES_US, &device, &rating_A, &error) !=
            OVP_ERROR_DATA)
            fail_msg("\"%s\" was taken", none[i]);
}

/* ---- the line ---- */

/* By hand: 121.3 V less 117.2 V is 4.1 V over 12 A: 0.34167 ohm. Each reading is within 0.05 V; the
   difference of two such readings has U = 2 x sqrt(2) x 0.1/sqrt(12) = 0.0816 V (k = 2, JCGM 100 4.3.7),
   0.0068 ohm. */
static void line_from_two_readings(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_electrical_line line;
    ovp_electrical_readings readings = {0};
    ovp_oven_init(&oven);
    oven.supply.volts_V = 120;
    double digit_V;
    assert_int_equal(ovp_electrical_shown_volts("121.3V", &readings.off_V, &readings.resolution_V, &error),
                     OVP_OK);
    assert_int_equal(ovp_electrical_shown_volts("117.2V", &readings.on_V, &digit_V, &error), OVP_OK);
    near(readings.resolution_V, 0.1, 1e-12);
    assert_int_equal(ovp_electrical_readings_load(&readings, "12.00A", &oven, &error), OVP_OK);
    assert_int_equal(ovp_electrical_line_of(&readings, 10, &line, &error), OVP_OK);
    near(line.ohm, 4.1 / 12, 1e-12);
    near(line.drop_U_V, 0.08165, 1e-5);
    near(line.ohm_U, 0.0068, 1e-4);
    near(line.sag_share, 0.341667 / 10.341667, 1e-6);
    near(line.power_left, (10 / 10.341667) * (10 / 10.341667), 1e-6);
    near(line.sag_V, 121.3 * 0.341667 / 10.341667, 1e-4);
    near(line.heat_W, 121.3 * 121.3 * 0.341667 / (10.341667 * 10.341667), 1e-3); /* amps squared by ohms */
    assert_int_equal(line.state, OVP_ELECTRICAL_STATE_TROUBLE); /* 3.3 % past 3 % (NFPA 70 210.19 note) */
    assert_false(line.past_most);
    /* a plate of 1500 W at 120 V draws 1500 x 117.2/120^2 = 12.208 A at 117.2 V */
    assert_int_equal(ovp_electrical_readings_load(&readings, "1500W", &oven, &error), OVP_OK);
    assert_int_equal(ovp_electrical_line_of(&readings, NAN, &line, &error), OVP_OK);
    near(line.load_A, 12.208333, 1e-6);
    assert_true(isnan(line.sag_V));
    /* whole volts: 1 V is the last digit */
    assert_int_equal(ovp_electrical_shown_volts("117V", &readings.on_V, &readings.resolution_V, &error),
                     OVP_OK);
    near(readings.resolution_V, 1, 1e-12);
    readings.on_V = 122;
    assert_int_equal(ovp_electrical_line_of(&readings, 10, &line, &error), OVP_ERROR_DATA);
    assert_int_equal(ovp_electrical_readings_load(&readings, "12V", &oven, &error), OVP_ERROR_DATA);
    assert_int_equal(ovp_electrical_readings_load(&readings, NULL, &oven, &error), OVP_ERROR_DATA);
    assert_int_equal(ovp_electrical_shown_volts("0V", &readings.on_V, &digit_V, &error), OVP_ERROR_DATA);
    assert_int_equal(ovp_electrical_shown_volts("117", &readings.on_V, &digit_V, &error), OVP_ERROR_DATA);
}

/* Full heat for 30 s and nothing for 10 s: rms sqrt(3/4) of the full amps. */
static void cycles(void **state)
{
    (void)state;
    ovp_electrical_cycle cycle = {0};
    assert_true(isnan(ovp_electrical_cycle_rms(&cycle)));
    ovp_electrical_cycle_add(&cycle, 90, NAN);
    ovp_electrical_cycle_add(&cycle, 100, 1);
    ovp_electrical_cycle_add(&cycle, 110, NAN);
    ovp_electrical_cycle_add(&cycle, 120, 1);
    ovp_electrical_cycle_add(&cycle, 130, 0);
    ovp_electrical_cycle_add(&cycle, 140, 0);
    near(ovp_electrical_cycle_rms(&cycle), sqrt(0.75), 1e-12);
    near(cycle.longest_full_s, 30, 1e-12);
}

/* ---- the review ---- */

static ovp_oven make(double power_W, double circuit_A, ovp_oven_fitted shared)
{
    ovp_oven oven;
    ovp_oven_init(&oven);
    oven.supply.volts_V = 240;
    oven.supply.circuit_A = circuit_A;
    oven.supply.shared = shared;
    oven.element_count = 1;
    oven.wiring = OVP_OVEN_WIRING_SINGLE;
    oven.elements[0].power_W = power_W;
    oven.elements[0].at_V = 240;
    return oven;
}

static ovp_electrical_review review(const ovp_oven *oven, ovp_electrical_question question)
{
    ovp_electrical_review made;
    error = (ovp_error){0};
    if (ovp_electrical_review_of(oven, &question, &made, &error) != OVP_OK)
        fail_msg("%s", error.what);
    return made;
}

/* Trade (common practice, no published source): 17.8 A on a 20 A circuit is past 80 %; which rule that breaks
   is by NFPA 70 210.23(A)(1) (shared) and 210.20(A) (three hours or more). 4272 W at 240 V is 17.8 A. */
static void rules_of_a_circuit(void **state)
{
    (void)state;
    ovp_electrical_question question;
    ovp_electrical_question_init(&question);
    const struct {
        double power_W;
        ovp_oven_fitted shared;
        double full_heat_s;
        ovp_electrical_rule rule;
        ovp_electrical_state state;
    } rows[] = {
        {4272, OVP_OVEN_FITTED, NAN, OVP_ELECTRICAL_RULE_SHARED, OVP_ELECTRICAL_STATE_TROUBLE},
        {4272, OVP_OVEN_FITTED, 60, OVP_ELECTRICAL_RULE_SHARED, OVP_ELECTRICAL_STATE_TROUBLE},
        {4272, OVP_OVEN_NOT_FITTED, NAN, OVP_ELECTRICAL_RULE_LONG, OVP_ELECTRICAL_STATE_NOT_KNOWN},
        {4272, OVP_OVEN_NOT_FITTED, 10799, OVP_ELECTRICAL_RULE_NONE, OVP_ELECTRICAL_STATE_GOOD},
        {4272, OVP_OVEN_NOT_FITTED, 10800, OVP_ELECTRICAL_RULE_LONG, OVP_ELECTRICAL_STATE_TROUBLE},
        {4272, OVP_OVEN_UNKNOWN, NAN, OVP_ELECTRICAL_RULE_SHARED, OVP_ELECTRICAL_STATE_NOT_KNOWN},
        {4272, OVP_OVEN_UNKNOWN, 10800, OVP_ELECTRICAL_RULE_LONG, OVP_ELECTRICAL_STATE_TROUBLE},
        {3840, OVP_OVEN_FITTED, NAN, OVP_ELECTRICAL_RULE_NONE, OVP_ELECTRICAL_STATE_GOOD},    /* 16.0 A */
        {3840, OVP_OVEN_UNKNOWN, 36000, OVP_ELECTRICAL_RULE_NONE, OVP_ELECTRICAL_STATE_GOOD}, /* 16.0 A */
        {4824, OVP_OVEN_NOT_FITTED, 60, OVP_ELECTRICAL_RULE_RATING,
         OVP_ELECTRICAL_STATE_TROUBLE}, /* 20.1 A */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const ovp_oven oven = make(rows[i].power_W, 20, rows[i].shared);
        question.full_heat_s = rows[i].full_heat_s;
        question.duty = 0.25; /* half the amps, rms: shown, and never overrules */
        const ovp_electrical_review made = review(&oven, question);
        if (made.rule != rows[i].rule || made.verdict != rows[i].state)
            fail_msg("row %zu: rule %d, state %d", i, (int)made.rule, (int)made.verdict);
        near(made.rms_A, made.load.total_A / 2, 1e-9);
    }
}

/* IEC 60364-4-43: up to the breaker's rating; there is no 80 %. */
static void rules_elsewhere(void **state)
{
    (void)state;
    ovp_electrical_question question;
    ovp_electrical_question_init(&question);
    ovp_oven oven = make(3600, NAN, OVP_OVEN_FITTED);
    assert_int_equal(review(&oven, question).verdict, OVP_ELECTRICAL_STATE_NOT_KNOWN);
    question.circuit = "B16";
    ovp_electrical_review made = review(&oven, question);
    assert_int_equal(made.rules, OVP_ELECTRICAL_RULES_IEC);
    assert_int_equal(made.verdict, OVP_ELECTRICAL_STATE_GOOD);
    question.circuit = "B13";
    assert_int_equal(review(&oven, question).rule, OVP_ELECTRICAL_RULE_RATING);
    question.circuit = "16A";
    question.rules = OVP_ELECTRICAL_RULES_IEC;
    assert_int_equal(review(&oven, question).breaker, OVP_ELECTRICAL_BREAKER_IEC_B);
}

/* 16 ohm (3600 W at 240 V) behind 50 ft of 16 AWG, 0.4016 ohm: 240 x 0.4016/16.4016 V lost. */
static void on_the_way(void **state)
{
    (void)state;
    ovp_electrical_question question;
    ovp_electrical_question_init(&question);
    ovp_oven oven = make(3600, 20, OVP_OVEN_NOT_FITTED);
    question.extension = "50ft 16AWG";
    ovp_electrical_review made = review(&oven, question);
    near(made.lost_V, 240 * 0.4016 / 16.4016, 1e-9);
    near(made.power_left, pow(16 / 16.4016, 2), 1e-9);
    near(made.lost_W, made.lost_V * 240 / 16.4016, 1e-9);
    assert_int_equal(made.checks[OVP_ELECTRICAL_CHECK_EXTENSION],
                     OVP_ELECTRICAL_STATE_TROUBLE);                                      /* 15 A on 13 A */
    assert_int_equal(made.checks[OVP_ELECTRICAL_CHECK_DROP], OVP_ELECTRICAL_STATE_GOOD); /* 2.4 % */
    question.extension = "100ft 12AWG"; /* 25 A, 0.3176 ohm */
    assert_int_equal(review(&oven, question).verdict, OVP_ELECTRICAL_STATE_GOOD);
    question.conductor = "14AWG"; /* behind 15 A at most */
    assert_int_equal(review(&oven, question).checks[OVP_ELECTRICAL_CHECK_CONDUCTOR],
                     OVP_ELECTRICAL_STATE_TROUBLE);
    question.conductor = "60ft 12AWG"; /* 0.19056 ohm of a measured 0.5 */
    question.extension = NULL;
    question.line_ohm = 0.5;
    made = review(&oven, question);
    near(made.beyond_wire_ohm, 0.5 - 0.19056, 1e-9);
    near(made.series_ohm, 0.5, 1e-12);
    question.line_ohm_U = 0.1; /* 3.03 % give or take 0.6 %: on both sides of 3 % */
    made = review(&oven, question);
    assert_int_equal(made.verdict, OVP_ELECTRICAL_STATE_NOT_KNOWN);
    question.extension = "nonsense";
    assert_int_equal(ovp_electrical_review_of(&oven, &question, &made, &error), OVP_ERROR_DATA);
    strcpy(oven.supply.cord, "as delivered"); /* free words of a description are no error */
    question.extension = NULL;
    assert_false(review(&oven, question).cord.given);
}

static void plugs(void **state)
{
    (void)state;
    ovp_electrical_question question;
    ovp_electrical_question_init(&question);
    const ovp_oven oven = make(3600, 20, OVP_OVEN_NOT_FITTED);
    const struct {
        const char *plug;
        ovp_electrical_state state;
    } rows[] = {
        {"6-20", OVP_ELECTRICAL_STATE_GOOD},
        {"NEMA 6-15", OVP_ELECTRICAL_STATE_GOOD},
        {"5-20", OVP_ELECTRICAL_STATE_TROUBLE}, /* 125 V (NEMA WD 6, memory) */
        {"L6-30", OVP_ELECTRICAL_STATE_GOOD},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        question.plug = rows[i].plug;
        assert_int_equal(review(&oven, question).checks[OVP_ELECTRICAL_CHECK_PLUG], rows[i].state);
    }
    /* NEMA 5-20 on a shared circuit: 16 A (arithmetic on the 80 % rule) */
    question.shared = OVP_OVEN_FITTED;
    question.plug = "6-20";
    near(review(&oven, question).plug_allowed_A, 16, 1e-12);
    assert_true(review(&oven, question).plug_volts_fit);
    question.plug = "5-20";
    assert_false(review(&oven, question).plug_volts_fit);
}

/* Trade (common practice, no published source): a 10 A fast-acting glass fuse for the controls, and a fan
   thermostat at about 95 degF (35 degC) on a dial of 40 to 130 degF (4.4 to 54.4 degC). */
static void figures_of_the_trade(void **state)
{
    (void)state;
    const char *source = "";
    ovp_electrical_question question;
    ovp_electrical_question_init(&question);
    ovp_oven oven = make(3600, 20, OVP_OVEN_NOT_FITTED);
    oven.fitted[OVP_OVEN_CONTROL_FUSE] = OVP_OVEN_FITTED;
    strcpy(oven.part_rating[OVP_OVEN_CONTROL_FUSE], "10A fast");
    assert_int_equal(review(&oven, question).checks[OVP_ELECTRICAL_CHECK_FUSE],
                     OVP_ELECTRICAL_STATE_NOT_KNOWN);
    oven.controls_A = 0.9;
    assert_int_equal(review(&oven, question).checks[OVP_ELECTRICAL_CHECK_FUSE], OVP_ELECTRICAL_STATE_GOOD);
    strcpy(oven.part_rating[OVP_OVEN_CONTROL_FUSE], "15A fast");
    assert_int_equal(review(&oven, question).checks[OVP_ELECTRICAL_CHECK_FUSE], OVP_ELECTRICAL_STATE_TROUBLE);
    strcpy(oven.part_rating[OVP_OVEN_CONTROL_FUSE], "1A fast"); /* 0.9 A is past 75 % of it */
    assert_int_equal(review(&oven, question).checks[OVP_ELECTRICAL_CHECK_FUSE], OVP_ELECTRICAL_STATE_TROUBLE);
    near(ovp_electrical_figure("control_fuse_usual", &source), 10, 0);
    assert_non_null(strstr(source, "common practice, no published source"));
    near(ovp_electrical_figure("fan_thermostat_usual", &source) * 1.8 + 32, 95, 1e-9);
    assert_non_null(strstr(source, "common practice, no published source"));
    near(ovp_electrical_figure("fan_dial_low", &source) * 1.8 + 32, 40, 0.1);
    near(ovp_electrical_figure("fan_dial_high", &source) * 1.8 + 32, 130, 0.1);
    assert_true(isnan(ovp_electrical_figure("no such row", &source)));
}

/* ---- one failure ---- */

static ovp_electrical_failure failure_of(const ovp_oven *oven, const char *id)
{
    ovp_electrical_failure failures[OVP_ELECTRICAL_FAILURES];
    const size_t count = ovp_electrical_failures_of(oven, failures);
    for (size_t i = 0; i < count; i++)
        if (strcmp(failures[i].id, id) == 0)
            return failures[i];
    fail_msg("no failure %s", id);
    return failures[0];
}

/* The circuit of such an oven: what breaks the heat when the relay no longer does. */
static void one_failure(void **state)
{
    (void)state;
    const ovp_oven_fitted yes = OVP_OVEN_FITTED, no = OVP_OVEN_NOT_FITTED, asked = OVP_OVEN_UNKNOWN;
    const struct {
        ovp_oven_fitted limiter, contactor, door;
        ovp_electrical_failure_level level;
        const char *says;
    } rows[] = {
        {yes, yes, yes, OVP_ELECTRICAL_FAILURE_STOPPED, "limiter"},
        {yes, asked, asked, OVP_ELECTRICAL_FAILURE_STOPPED, "limiter"},
        {no, yes, yes, OVP_ELECTRICAL_FAILURE_HEATS, "opens the door"},
        {no, yes, no, OVP_ELECTRICAL_FAILURE_HEATS, "switches it off"},
        {no, no, no, OVP_ELECTRICAL_FAILURE_HEATS, "nothing but the plug"},
        {no, no, yes, OVP_ELECTRICAL_FAILURE_HEATS, "nothing but the plug"},
        {no, asked, asked, OVP_ELECTRICAL_FAILURE_HEATS, "until somebody stops it"},
        {asked, no, no, OVP_ELECTRICAL_FAILURE_NOT_KNOWN, "fitted.limiter"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_oven oven;
        ovp_oven_init(&oven);
        oven.fitted[OVP_OVEN_LIMITER] = rows[i].limiter;
        oven.fitted[OVP_OVEN_CONTACTOR] = rows[i].contactor;
        oven.fitted[OVP_OVEN_DOOR_SWITCH] = rows[i].door;
        const ovp_electrical_failure failure = failure_of(&oven, "relay-shorted");
        const char *said = failure.text != NULL ? failure.text : failure.missing;
        if (failure.level != rows[i].level || said == NULL || strstr(said, rows[i].says) == NULL)
            fail_msg("row %zu: level %d, %s", i, (int)failure.level, said == NULL ? "nothing" : said);
    }
    ovp_oven oven;
    ovp_oven_init(&oven);
    assert_string_equal(failure_of(&oven, "sensor-open").missing, "controller.on_sensor_break");
    oven.fitted[OVP_OVEN_LIMITER] = no;
    strcpy(oven.controller.on_sensor_break, "full");
    assert_int_equal(failure_of(&oven, "sensor-open").level, OVP_ELECTRICAL_FAILURE_HEATS);
    strcpy(oven.controller.on_sensor_break, "off");
    assert_int_equal(failure_of(&oven, "sensor-open").level, OVP_ELECTRICAL_FAILURE_STOPPED);
    oven.fitted[OVP_OVEN_CONTACTOR] = yes;
    assert_int_equal(failure_of(&oven, "contactor-welded").level, OVP_ELECTRICAL_FAILURE_HIDDEN);
}

/* Whatever is not given is not known, and nothing is guessed. */
static void nothing_given(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_electrical_question question;
    ovp_oven_init(&oven);
    ovp_electrical_question_init(&question);
    const ovp_electrical_review made = review(&oven, question);
    assert_int_equal(made.verdict, OVP_ELECTRICAL_STATE_NOT_KNOWN);
    assert_false(made.has_load);
    assert_true(made.no_load.what[0] != '\0');
    for (int i = 0; i < OVP_ELECTRICAL_CHECKS; i++) {
        assert_int_equal(made.checks[i], OVP_ELECTRICAL_STATE_NOT_KNOWN);
        assert_true(ovp_electrical_check_name((ovp_electrical_check)i)[0] != '\0');
    }
    assert_true(isnan(made.lost_V) && isnan(made.rms_A) && isnan(made.share));
    assert_int_equal(made.supply_count, 0);
}

/* Joule's law on a resistance: 208 V on 240 V elements leave three quarters (the trade's usual figure). */
static void share_of_the_power(void **state)
{
    (void)state;
    near(ovp_electrical_power_share(208, 240), 0.7511, 1e-4);
    near(ovp_electrical_power_share(7.5, 15), 0.25, 1e-15);
    assert_true(isnan(ovp_electrical_power_share(1, 0)));
    assert_true(isnan(ovp_electrical_power_share(NAN, 240)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(share_of_the_power),
        cmocka_unit_test(devices_do_what_their_standards_say),
        cmocka_unit_test(wire_has_its_published_ohms_and_amps),
        cmocka_unit_test(words_that_are_no_cord),
        cmocka_unit_test(ratings),
        cmocka_unit_test(line_from_two_readings),
        cmocka_unit_test(cycles),
        cmocka_unit_test(rules_of_a_circuit),
        cmocka_unit_test(rules_elsewhere),
        cmocka_unit_test(on_the_way),
        cmocka_unit_test(plugs),
        cmocka_unit_test(figures_of_the_trade),
        cmocka_unit_test(one_failure),
        cmocka_unit_test(nothing_given),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
