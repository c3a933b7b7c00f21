/* Quantities, in and out. Conversions are exact by definition (international foot and pound, BIPM). */
#include "ovenproof/text.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void check(const char *text, ovp_text_kind kind, double expected)
{
    ovp_error error = {0};
    double value = NAN;
    if (ovp_text_quantity(ovp_span_of(text), kind, OVP_TEXT_DEGREES_NONE, &value, &error) != OVP_OK)
        fail_msg("%s: %s", text, error.what);
    if (!(fabs(value - expected) <= 1e-12 * fabs(expected)))
        fail_msg("%s: read as %.17g, not %.17g", text, value, expected);
}

static void check_refused(const char *text, ovp_text_kind kind, const char *word)
{
    ovp_error error = {0};
    double value = 7;
    assert_int_equal(ovp_text_quantity(ovp_span_of(text), kind, OVP_TEXT_DEGREES_NONE, &value, &error),
                     OVP_ERROR_DATA);
    assert_true(value == 7);
    assert_int_equal(error.status, OVP_ERROR_DATA);
    if (strstr(error.what, word) == NULL && strstr(error.hint, word) == NULL)
        fail_msg("%s: the message says \"%s\", \"%s\", without \"%s\"", text, error.what, error.hint, word);
    assert_true(error.what[0] != '\0' && error.hint[0] != '\0');
}

static void test_temperatures(void **state)
{
    (void)state;
    check("1500F", OVP_TEXT_TEMPERATURE, (1500.0 - 32) * 5 / 9);
    check("816C", OVP_TEXT_TEMPERATURE, 816);
    check("1089K", OVP_TEXT_TEMPERATURE, 815.85);
    check("1500 \xC2\xB0"
          "F",
          OVP_TEXT_TEMPERATURE, (1500.0 - 32) * 5 / 9);
    check("1500\xC2\xA0\xC2\xB0"
          "F",
          OVP_TEXT_TEMPERATURE, (1500.0 - 32) * 5 / 9);
    check("1500degF", OVP_TEXT_TEMPERATURE, (1500.0 - 32) * 5 / 9);
    check("1500 deg F", OVP_TEXT_TEMPERATURE, (1500.0 - 32) * 5 / 9);
    check("  -200C ", OVP_TEXT_TEMPERATURE, -200);
    check("\xE2\x88\x92"
          "200C",
          OVP_TEXT_TEMPERATURE, -200);
    check("212f", OVP_TEXT_TEMPERATURE, 100);
    check("20.5 \xE2\x84\x83", OVP_TEXT_TEMPERATURE, 20.5);
    check("0K", OVP_TEXT_TEMPERATURE, -273.15);
    check("-459.67F", OVP_TEXT_TEMPERATURE, -273.15);
    check("-273.15C", OVP_TEXT_TEMPERATURE, -273.15);
    check("9F", OVP_TEXT_TEMPERATURE_DIFFERENCE, 5);
    check("-500C", OVP_TEXT_TEMPERATURE_DIFFERENCE, -500);
    check("2K", OVP_TEXT_TEMPERATURE_DIFFERENCE, 2);
    double value;
    assert_int_equal(
        ovp_text_quantity(ovp_span_of("212"), OVP_TEXT_TEMPERATURE, OVP_TEXT_DEGREES_F, &value, NULL),
        OVP_OK);
    assert_true(value == 100);
    /* a unit that is written wins */
    assert_int_equal(
        ovp_text_quantity(ovp_span_of("212C"), OVP_TEXT_TEMPERATURE, OVP_TEXT_DEGREES_F, &value, NULL),
        OVP_OK);
    assert_true(value == 212);
    check_refused("1500", OVP_TEXT_TEMPERATURE, "1500F");
    check_refused("-274C", OVP_TEXT_TEMPERATURE, "absolute zero");
    check_refused("-459.68F", OVP_TEXT_TEMPERATURE, "absolute zero");
    check_refused("-1K", OVP_TEXT_TEMPERATURE, "absolute zero");
    check_refused("hot", OVP_TEXT_TEMPERATURE, "\"hot\"");
    check_refused("", OVP_TEXT_TEMPERATURE, "1500F");
    check_refused("240V", OVP_TEXT_TEMPERATURE, "is a voltage, not a temperature");
    check_refused("1e999F", OVP_TEXT_TEMPERATURE, "too large");
    check_refused("732e305F", OVP_TEXT_TEMPERATURE, "too large");
    check_refused("732e305F", OVP_TEXT_TEMPERATURE_DIFFERENCE, "too large");
    check_refused("732e305C", OVP_TEXT_TEMPERATURE, "too large");
    check_refused("1500F 816C", OVP_TEXT_TEMPERATURE, "F 816C");
    check_refused("1,500F", OVP_TEXT_TEMPERATURE, "comma");
    check_refused("nanF", OVP_TEXT_TEMPERATURE, "is no temperature");
}

static void test_electrical(void **state)
{
    (void)state;
    check("20.64mV", OVP_TEXT_EMF, 20.64);
    check("20640uV", OVP_TEXT_EMF, 20.64);
    check("20640 \xC2\xB5V", OVP_TEXT_EMF, 20.64);
    check("20640 \xCE\xBCV", OVP_TEXT_EMF, 20.64);
    check("0.02064V", OVP_TEXT_EMF, 20.64);
    check("20.64", OVP_TEXT_EMF, 20.64);
    check("-3.554", OVP_TEXT_EMF, -3.554);
    check("240V", OVP_TEXT_VOLTAGE, 240);
    check("240 volts", OVP_TEXT_VOLTAGE, 240);
    check("45mV", OVP_TEXT_VOLTAGE, 0.045);
    check("15A", OVP_TEXT_CURRENT, 15);
    check("15 amps", OVP_TEXT_CURRENT, 15);
    check("250mA", OVP_TEXT_CURRENT, 0.25);
    check("16ohm", OVP_TEXT_RESISTANCE, 16);
    check("16 \xCE\xA9", OVP_TEXT_RESISTANCE, 16);
    check("16\xE2\x84\xA6", OVP_TEXT_RESISTANCE, 16);
    check("1.2Mohm", OVP_TEXT_RESISTANCE, 1.2e6);
    check("5mohm", OVP_TEXT_RESISTANCE, 0.005);
    check("3600W", OVP_TEXT_POWER, 3600);
    check("3.6kW", OVP_TEXT_POWER, 3600);
    check("3.6kw", OVP_TEXT_POWER, 3600);
    check_refused("240", OVP_TEXT_VOLTAGE, "no unit");
    check_refused("16", OVP_TEXT_RESISTANCE, "16ohm");
    check_refused("5MOHM", OVP_TEXT_RESISTANCE, "milli or mega");
    check_refused("-5ohm", OVP_TEXT_RESISTANCE, "below zero");
    check_refused("20,64mV", OVP_TEXT_EMF, "comma");
    check_refused("500C", OVP_TEXT_EMF, "is a temperature, not an emf");
    check_refused("16 zorks", OVP_TEXT_RESISTANCE, "zorks");
    check_refused("15A 20A", OVP_TEXT_CURRENT, "behind its unit");
    check_refused("15 A 20", OVP_TEXT_CURRENT, "no unit");
}

static void test_durations(void **state)
{
    (void)state;
    check("50min", OVP_TEXT_DURATION, 3000);
    check("50 minutes", OVP_TEXT_DURATION, 3000);
    check("1h30m", OVP_TEXT_DURATION, 5400);
    check("1 h 30 min", OVP_TEXT_DURATION, 5400);
    check("1h30min20s", OVP_TEXT_DURATION, 5420);
    check("2d", OVP_TEXT_DURATION, 172800);
    check("45s", OVP_TEXT_DURATION, 45);
    check("0.5s", OVP_TEXT_DURATION, 0.5);
    check("19:40", OVP_TEXT_DURATION, 1180);
    check("90:00", OVP_TEXT_DURATION, 5400);
    check("1:02:03", OVP_TEXT_DURATION, 3723);
    check("0:30.5", OVP_TEXT_DURATION, 30.5);
    check_refused("50", OVP_TEXT_DURATION, "no unit");
    check_refused("1h 30", OVP_TEXT_DURATION, "no unit");
    check_refused("30m1h", OVP_TEXT_DURATION, "larger unit");
    check_refused("19:70", OVP_TEXT_DURATION, "19:40");
    check_refused("1:2:3:4", OVP_TEXT_DURATION, "1:2:3:4");
    check_refused("-5min", OVP_TEXT_DURATION, "below zero");
    check_refused("1h-5min", OVP_TEXT_DURATION, "behind its unit");
    check_refused(":30", OVP_TEXT_DURATION, "is no duration");
    check_refused("1.5:30", OVP_TEXT_DURATION, "1.5:30");
    check_refused("1e999:00", OVP_TEXT_DURATION, "1e999");
}

static void test_the_rest(void **state)
{
    (void)state;
    check("8in", OVP_TEXT_LENGTH, 0.2032);
    check("8\"", OVP_TEXT_LENGTH, 0.2032);
    check("2.5 in", OVP_TEXT_LENGTH, 0.0635);
    check("2 1/2in", OVP_TEXT_LENGTH, 0.0635);
    check("2-1/2 in", OVP_TEXT_LENGTH, 0.0635);
    check("1/2in", OVP_TEXT_LENGTH, 0.0127);
    check("200mm", OVP_TEXT_LENGTH, 0.2);
    check("20 cm", OVP_TEXT_LENGTH, 0.2);
    check("1m", OVP_TEXT_LENGTH, 1);
    check("1ft 6in", OVP_TEXT_LENGTH, 0.4572);
    check("2kg", OVP_TEXT_MASS, 2);
    check("4lb", OVP_TEXT_MASS, 4 * 0.45359237);
    check("1lb 8oz", OVP_TEXT_MASS, 1.5 * 0.45359237);
    check("80%", OVP_TEXT_RATIO, 0.8);
    check("80 percent", OVP_TEXT_RATIO, 0.8);
    check("0.8", OVP_TEXT_RATIO, 0.8);
    check("12", OVP_TEXT_COUNT, 12);
    check_refused("8", OVP_TEXT_LENGTH, "8in");
    check_refused("1/0in", OVP_TEXT_LENGTH, "1/0in");
    check_refused("12 pcs", OVP_TEXT_COUNT, "pcs");
    check_refused("80%%", OVP_TEXT_RATIO, "%%");
    check_refused("8in\x01\xFF", OVP_TEXT_LENGTH, "8in??");
}

static void test_a_long_text_is_quoted_short(void **state)
{
    (void)state;
    char text[2000];
    memset(text, 'x', sizeof text);
    ovp_error error = {0};
    double value;
    assert_int_equal(ovp_text_quantity((ovp_span){text, sizeof text}, OVP_TEXT_POWER, OVP_TEXT_DEGREES_NONE,
                                       &value, &error),
                     OVP_ERROR_DATA);
    assert_true(strlen(error.what) < 160);
    assert_non_null(strstr(error.what, "xxx...\""));
}

static void test_degrees(void **state)
{
    (void)state;
    static const char *const names[] = {
        "F", "f", "degF", "\302\260F", "fahrenheit", "deg f", "Degrees Fahrenheit",
    };
    ovp_text_degrees degrees;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        degrees = OVP_TEXT_DEGREES_NONE;
        assert_true(ovp_text_degrees_named(ovp_span_of(names[i]), &degrees));
        assert_int_equal(degrees, OVP_TEXT_DEGREES_F);
    }
    assert_true(ovp_text_degrees_named(ovp_span_of("celsius"), &degrees));
    assert_int_equal(degrees, OVP_TEXT_DEGREES_C);
    assert_true(ovp_text_degrees_named(ovp_span_of("K"), &degrees));
    assert_int_equal(degrees, OVP_TEXT_DEGREES_K);
    assert_false(ovp_text_degrees_named(ovp_span_of("deg"), &degrees));
    assert_false(ovp_text_degrees_named(ovp_span_of(""), &degrees));
    assert_false(ovp_text_degrees_named(ovp_span_of("X"), &degrees));
    assert_true(ovp_text_from_celsius(500, OVP_TEXT_DEGREES_F) == 932);
    assert_true(ovp_text_to_celsius(932, OVP_TEXT_DEGREES_F) == 500);
    assert_true(ovp_text_from_celsius(0, OVP_TEXT_DEGREES_K) == 273.15);
}

static void test_format(void **state)
{
    (void)state;
    char text[64];
    ovp_text_format_temperature(500, OVP_TEXT_DEGREES_NONE, 1, text, sizeof text);
    assert_string_equal(text, "932.0 \xC2\xB0"
                              "F (500.0 \xC2\xB0"
                              "C)");
    ovp_text_format_temperature(500, OVP_TEXT_DEGREES_F, 0, text, sizeof text);
    assert_string_equal(text, "932 \xC2\xB0"
                              "F");
    ovp_text_format_temperature(500, OVP_TEXT_DEGREES_C, 2, text, sizeof text);
    assert_string_equal(text, "500.00 \xC2\xB0"
                              "C");
    ovp_text_format_temperature(500, OVP_TEXT_DEGREES_K, 1, text, sizeof text);
    assert_string_equal(text, "773.1 K"); /* 773.15 as a double lies below 773.15 */
    ovp_text_format_difference(5, OVP_TEXT_DEGREES_NONE, 1, text, sizeof text);
    assert_string_equal(text, "9.0 \xC2\xB0"
                              "F (5.0 \xC2\xB0"
                              "C)");
    ovp_text_format_temperature(NAN, OVP_TEXT_DEGREES_NONE, 1, text, sizeof text);
    assert_string_equal(text, "not known");
    assert_int_equal(ovp_text_format_temperature(500, OVP_TEXT_DEGREES_NONE, 1, text, 7), 6);
    assert_string_equal(text, "932.0 ");
    static const struct {
        double value;
        const char *text;
    } rows[] = {{45, "45 s"},         {1180, "19:40"}, {3720, "1 h 02 min"},    {0, "0 s"},
                {4.5, "4.5 s"},       {59.6, "1:00"},  {3599.7, "1 h 00 min"},  {3600, "1 h 00 min"},
                {61, "1:01"},         {-90, "-1:30"},  {187800, "52 h 10 min"}, {NAN, "not known"},
                {3659, "1 h 01 min"}, {0.04, "0.0 s"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        size_t length = ovp_text_format_duration(rows[i].value, text, sizeof text);
        assert_string_equal(text, rows[i].text);
        assert_int_equal(length, strlen(text));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_temperatures),
        cmocka_unit_test(test_electrical),
        cmocka_unit_test(test_durations),
        cmocka_unit_test(test_the_rest),
        cmocka_unit_test(test_a_long_text_is_quoted_short),
        cmocka_unit_test(test_degrees),
        cmocka_unit_test(test_format),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
