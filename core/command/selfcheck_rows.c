/*
 * How a row of reference/selfcheck.csv is computed. Columns by check:
 *   emf             subject TYPE             given T            expected EMF
 *   temperature     subject TYPE             given EMF COLD     expected T
 *   there-and-back  subject TYPE             given T            expected T
 *   tolerance       subject CLASS TYPE       given T            expected DIFFERENCE
 *   colours         subject STANDARD TYPE                       expected PLUS MINUS
 *   reversed        subject TYPE             given TIP SCREWS   expected T
 *   reversed-twice  subject TYPE             given TIP HEAD SCREWS
 *   decision                                 given ERROR U LIMIT          expected WORD
 *   conformance                              given VALUE u LOW HIGH       expected PROBABILITY
 *   number                                   given DECIMAL      expected INTEGER*2^EXPONENT
 *   quantity        subject KIND             given QUANTITY     expected NUMBER in the unit of the kind
 *   wire            subject GAUGE AWG        given LENGTH       expected OHMS
 *   layers          given THICKNESS k ...                expected m2 K/W of a plane wall
 *   lump            given h D k rho c of a sphere (SI units)    expected 1/s
 */
#include "command/selfcheck.h"
#include "ovenproof/ovenproof.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const selfcheck_row rows[] = {
#include "selfcheck.inc"
};

enum {
    WORDS = 6,
    WORD_SIZE = 48,
};

/* ---- reading a cell ------------------------------------------------------------------------------------ */

typedef struct words {
    char word[WORDS][WORD_SIZE];
    size_t count;
} words;

static words split(const char *text)
{
    words result = {.count = 0};
    while (*text != '\0' && result.count < WORDS) {
        size_t length = strcspn(text, " ");
        ovp_copy_string(result.word[result.count++], WORD_SIZE, (ovp_span){text, length});
        text += length + strspn(text + length, " ");
    }
    return result;
}

static double quantity(const char *text, ovp_text_kind kind)
{
    double value = NAN;
    ovp_text_quantity(ovp_span_of(text), kind, OVP_TEXT_DEGREES_NONE, &value, NULL);
    return value;
}

static double temperature(const char *text)
{
    return quantity(text, OVP_TEXT_TEMPERATURE);
}

static double plain(const char *text)
{
    double value = NAN;
    if (strcmp(text, "-inf") == 0)
        return -(double)INFINITY;
    if (strcmp(text, "inf") == 0)
        return (double)INFINITY;
    ovp_text_number(ovp_span_of(text), &value);
    return value;
}

/* ---- comparing -------------------------------------------------------------------------------------------
 */

static void put_number(selfcheck_result *result, double value, const char *unit)
{
    char number[OVP_TEXT_NUMBER_SIZE];
    ovp_text_format_number(value, number);
    snprintf(result->computed, sizeof result->computed, "%s%s", number, unit);
}

/* Good when within the tolerance, and a thousandth of it for the rounding of this comparison. */
static bool is_near(double computed, double expected, double tolerance)
{
    return fabs(computed - expected) <= tolerance * 1.001;
}

static void compare(const selfcheck_row *row, double computed, ovp_text_kind kind, const char *unit,
                    selfcheck_result *result)
{
    put_number(result, computed, unit);
    result->good = is_near(computed, quantity(row->expected, kind), quantity(row->tolerance, kind));
}

/* Temperatures are shown in the scale that the row is written in. */
static void compare_temperature(const selfcheck_row *row, double computed_C, selfcheck_result *result)
{
    size_t length = strlen(row->expected);
    bool is_F = length > 0 && row->expected[length - 1] == 'F';
    double tolerance_C = quantity(row->tolerance, OVP_TEXT_TEMPERATURE_DIFFERENCE);
    put_number(result, ovp_text_from_celsius(computed_C, is_F ? OVP_TEXT_DEGREES_F : OVP_TEXT_DEGREES_C),
               is_F ? "F" : "C");
    result->good = is_near(computed_C, temperature(row->expected), tolerance_C);
}

static void compare_words(const selfcheck_row *row, const char *computed, selfcheck_result *result)
{
    ovp_copy_string(result->computed, sizeof result->computed, ovp_span_of(computed));
    result->good = strcmp(computed, row->expected) == 0;
}

/* ---- the checks
 * -------------------------------------------------------------------------------------------- */

static bool type_of(const char *word, ovp_tc_type *type)
{
    return ovp_tc_type_named(ovp_span_of(word), false, type);
}

static void check_emf(const selfcheck_row *row, selfcheck_result *result)
{
    ovp_tc_type type;
    double emf_mV;
    if (type_of(row->subject, &type) && ovp_tc_emf(type, temperature(row->given), &emf_mV, NULL) == OVP_OK)
        compare(row, emf_mV, OVP_TEXT_EMF, "mV", result);
}

static void check_temperature(const selfcheck_row *row, selfcheck_result *result)
{
    ovp_tc_type type;
    double value_C;
    words given = split(row->given);
    if (type_of(row->subject, &type) &&
        ovp_tc_temperature_at(type, quantity(given.word[0], OVP_TEXT_EMF), temperature(given.word[1]),
                              &value_C, NULL) == OVP_OK)
        compare_temperature(row, value_C, result);
}

static void check_there_and_back(const selfcheck_row *row, selfcheck_result *result)
{
    ovp_tc_type type;
    double emf_mV, value_C;
    if (type_of(row->subject, &type) && ovp_tc_emf(type, temperature(row->given), &emf_mV, NULL) == OVP_OK &&
        ovp_tc_temperature(type, emf_mV, &value_C, NULL) == OVP_OK)
        compare_temperature(row, value_C, result);
}

static void check_tolerance(const selfcheck_row *row, selfcheck_result *result)
{
    ovp_tc_type type;
    double limit_C;
    words subject = split(row->subject);
    if (type_of(subject.word[1], &type) &&
        ovp_tc_tolerance(subject.word[0], type, temperature(row->given), &limit_C, NULL) == OVP_OK)
        compare(row, limit_C, OVP_TEXT_TEMPERATURE_DIFFERENCE, "C", result);
}

static void check_colours(const selfcheck_row *row, selfcheck_result *result)
{
    ovp_tc_type type;
    ovp_tc_colours colours;
    char text[64];
    words subject = split(row->subject);
    if (!type_of(subject.word[1], &type) || !ovp_tc_colours_of(subject.word[0], type, &colours))
        return;
    snprintf(text, sizeof text, "%s %s", colours.positive, colours.negative);
    compare_words(row, text, result);
}

static void read_loop(const selfcheck_row *row, const ovp_tc_loop *loop, selfcheck_result *result)
{
    ovp_tc_reading reading;
    if (ovp_tc_loop_read(loop, &reading, NULL) == OVP_OK)
        compare_temperature(row, reading.reads_C, result);
}

static void check_reversed(const selfcheck_row *row, selfcheck_result *result)
{
    ovp_tc_type type;
    ovp_tc_loop loop;
    words given = split(row->given);
    if (!type_of(row->subject, &type))
        return;
    ovp_tc_loop_init(&loop, type, temperature(given.word[0]), temperature(given.word[1]));
    loop.reversed = true;
    read_loop(row, &loop, result);
}

static void check_reversed_twice(const selfcheck_row *row, selfcheck_result *result)
{
    ovp_tc_type type;
    ovp_tc_loop loop;
    words given = split(row->given);
    if (!type_of(row->subject, &type))
        return;
    ovp_tc_loop_init(&loop, type, temperature(given.word[0]), temperature(given.word[2]));
    loop.head_C = temperature(given.word[1]);
    loop.extension_reversed = true;
    read_loop(row, &loop, result);
}

static void check_decision(const selfcheck_row *row, selfcheck_result *result)
{
    words given = split(row->given);
    ovp_metrology_decision decision =
        ovp_metrology_decide(plain(given.word[0]), plain(given.word[1]), plain(given.word[2]));
    compare_words(row, ovp_metrology_decision_name(decision), result);
}

static void check_conformance(const selfcheck_row *row, selfcheck_result *result)
{
    words given = split(row->given);
    double chance = ovp_metrology_conformance(plain(given.word[0]), plain(given.word[1]),
                                              plain(given.word[2]), plain(given.word[3]));
    put_number(result, chance, "");
    result->good = is_near(chance, plain(row->expected), plain(row->tolerance));
}

/* The expected value is made without reading a decimal fraction: a whole number and a power of two. */
static void check_number(const selfcheck_row *row, selfcheck_result *result)
{
    char *end;
    double value = plain(row->given);
    unsigned long long whole = strtoull(row->expected, &end, 10);
    bool exact = strncmp(end, "*2^", 3) == 0 && whole <= 1ULL << 53;
    put_number(result, value, "");
    result->good = exact && value == ldexp((double)whole, (int)strtol(end + 3, NULL, 10));
}

static void check_quantity(const selfcheck_row *row, selfcheck_result *result)
{
    static const struct {
        const char *name;
        ovp_text_kind kind;
    } kinds[] = {{"temperature", OVP_TEXT_TEMPERATURE},
                 {"length", OVP_TEXT_LENGTH},
                 {"mass", OVP_TEXT_MASS},
                 {"duration", OVP_TEXT_DURATION}};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strcmp(row->subject, kinds[i].name) != 0)
            continue;
        double value = quantity(row->given, kinds[i].kind), expected = plain(row->expected);
        put_number(result, value, "");
        result->good = is_near(value, expected, 1e-12 * fabs(expected));
    }
}

static void check_wire(const selfcheck_row *row, selfcheck_result *result)
{
    double ohm, gauge = plain(split(row->subject).word[0]);
    if (isfinite(gauge) && ovp_electrical_wire_ohm((int)gauge, quantity(row->given, OVP_TEXT_LENGTH), &ohm))
        compare(row, ohm, OVP_TEXT_RESISTANCE, "ohm", result);
}

static void check_layers(const selfcheck_row *row, selfcheck_result *result)
{
    words given = split(row->given);
    double thickness_m[WORDS / 2], W_per_mK[WORDS / 2];
    for (size_t i = 0; i < given.count / 2; i++) {
        thickness_m[i] = quantity(given.word[2 * i], OVP_TEXT_LENGTH);
        W_per_mK[i] = plain(given.word[2 * i + 1]);
    }
    double resistance = ovp_thermal_layers_resistance(thickness_m, W_per_mK, given.count / 2);
    put_number(result, resistance, "");
    result->good = is_near(resistance, plain(row->expected), plain(row->tolerance));
}

static void check_lump(const selfcheck_row *row, selfcheck_result *result)
{
    words given = split(row->given);
    double diameter_m = quantity(given.word[1], OVP_TEXT_LENGTH);
    double area_m2 = acos(-1.0) * diameter_m * diameter_m, volume_m3 = area_m2 * diameter_m / 6;
    double rate = ovp_thermal_lump_rate(plain(given.word[0]), area_m2, plain(given.word[3]), volume_m3,
                                        plain(given.word[4]));
    put_number(result, rate, "");
    result->good = is_near(rate, plain(row->expected), plain(row->tolerance));
}

static const struct {
    const char *name, *title;
    void (*compute)(const selfcheck_row *row, selfcheck_result *result);
} checks[] = {
    {"emf", "emf of a temperature, nine types of thermocouple", check_emf},
    {"temperature", "temperature of an emf", check_temperature},
    {"there-and-back", "temperature of an emf", check_there_and_back},
    {"tolerance", "limits of error of thermocouples", check_tolerance},
    {"colours", "wire colours", check_colours},
    {"reversed", "what crossed wires show", check_reversed},
    {"reversed-twice", "what crossed wires show", check_reversed_twice},
    {"decision", "decisions with an uncertainty", check_decision},
    {"conformance", "decisions with an uncertainty", check_conformance},
    {"number", "reading of numbers and quantities", check_number},
    {"quantity", "reading of numbers and quantities", check_quantity},
    {"wire", "ohms of copper wire", check_wire},
    {"layers", "heat through a wall of layers", check_layers},
    {"lump", "time constant of a small body", check_lump},
};

size_t selfcheck_row_count(void)
{
    return sizeof rows / sizeof rows[0];
}

const selfcheck_row *selfcheck_row_at(size_t index)
{
    return &rows[index];
}

const char *selfcheck_title(const char *check)
{
    for (size_t i = 0; i < sizeof checks / sizeof checks[0]; i++)
        if (strcmp(check, checks[i].name) == 0)
            return checks[i].title;
    return NULL;
}

void selfcheck_compute(const selfcheck_row *row, selfcheck_result *result)
{
    *result = (selfcheck_result){.good = false, .computed = "could not be computed"};
    for (size_t i = 0; i < sizeof checks / sizeof checks[0]; i++)
        if (strcmp(row->check, checks[i].name) == 0)
            checks[i].compute(row, result);
}
