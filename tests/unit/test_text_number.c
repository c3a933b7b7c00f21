/* Numbers in and out: bit-equal to the C library's strtod and printf in the C locale. */
#include "ovenproof/text.h"

#include <float.h>
#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static uint64_t bits_of(double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

static double of_bits(uint64_t bits)
{
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

/* splitmix64, public domain */
static uint64_t next(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

static void check_scan(const char *text)
{
    char *end;
    double expected = strtod(text, &end);
    double value = -12345;
    size_t length = ovp_text_scan_number(ovp_span_of(text), &value);
    if (length != (size_t)(end - text) || bits_of(value) != bits_of(expected))
        fail_msg("%s: read %zu bytes as %a, strtod %zu as %a", text, length, value, (size_t)(end - text),
                 expected);
}

static void test_scan_ordinary(void **state)
{
    (void)state;
    static const char *const texts[] = {"0",
                                        "-0",
                                        "1",
                                        "20.644",
                                        "-200",
                                        "+5",
                                        ".5",
                                        "5.",
                                        "1e3",
                                        "1E+3",
                                        "1.5e-3",
                                        "00012",
                                        "0.000",
                                        "1500F",
                                        "5e",
                                        "5e+",
                                        "5ether",
                                        "1.2.3",
                                        "1,5",
                                        "12 3",
                                        "1e22",
                                        "1e23",
                                        "1e-22",
                                        "1e-23",
                                        "1e308",
                                        "1.8e308",
                                        "1e309",
                                        "1e-400",
                                        "-1e999",
                                        "0e999999999999999999999",
                                        "1e-9999999999999999999999",
                                        "123456789012345678",
                                        "1234567890123456789012345",
                                        "0.1",
                                        "0.2",
                                        "0.3",
                                        "9007199254740993",
                                        "9007199254740992",
                                        "9007199254740991",
                                        "9007199254740993e0",
                                        "0x10"};
    /* strtod reads hexadecimal: the last is looked at by itself */
    for (size_t i = 0; i + 1 < sizeof texts / sizeof texts[0]; i++)
        check_scan(texts[i]);
    double value;
    assert_int_equal(ovp_text_scan_number(ovp_span_of("0x10"), &value), 1);
    assert_true(value == 0);
}

static void test_scan_refuses(void **state)
{
    (void)state;
    static const char *const texts[] = {"",    "-",   "+",    ".",   "-.",  "e5", " 1",
                                        "inf", "nan", "-inf", "+-1", "--1", ",5"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        double value = 7;
        assert_int_equal(ovp_text_scan_number(ovp_span_of(texts[i]), &value), 0);
        assert_true(value == 7);
    }
}

/* Clinger 1990; Paxson 1991 (program for testing IEEE decimal-binary conversion); IEEE 754 limits. */
static void test_scan_hard(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "2.2250738585072011e-308",
        "2.2250738585072012e-308",
        "2.2250738585072014e-308",
        "4.9406564584124654e-324",
        "2.4703282292062327e-324",
        "2.4703282292062328e-324",
        "2.47032822920623272088284396434110686182e-324",
        "1.7976931348623157e308",
        "1.7976931348623158e308",
        "1.797693134862315807e308",
        "1.7976931348623159e308",
        "1797693134862315807937289714053034150799341327100378269361737789804449682927647509466490179775872070"
        "9633028641669"
        "2887910946555547851940402630657488671505820681908902000708383676273854845817711531764475730270069855"
        "5713669596228"
        "4291497600000000000000000000000000000000000000000000000000000000000000000000000000000000",
        "9007199254740993.00000000000000000000000000000000000000000000000000000000000000000000000000000001",
        "5e-20",
        "67e14",
        "985e15",
        "7693e-10",
        "55895e-16",
        "996622e-44",
        "7038531e-32",
        "60419369e-46",
        "702990899e-20",
        "6930161142e-48",
        "25933168707e-13",
        "428896123233e-18",
        "5e125",
        "69e267",
        "999e-026",
        "7861e-034",
        "75569e-254",
        "928609e-261",
        "9210917e080",
        "84863171e114",
        "653777767e273",
        "5232604057e-298",
        "27235667517e-109",
        "653532977297e-123",
        "3142213164987e-294",
        "46202199371337e-072",
        "231010996856685e-073",
        "9324754620109615e212",
        "78459735791271921e049",
        "272104041512242479e200",
        "6802601037806061975e198",
        "6.10987272699921167e-5",
        "8.442911973260991817129021e-309",
        "1.00000000000000011102230246251565404236316680908203125",
        "1.00000000000000011102230246251565404236316680908203124",
        "1.00000000000000011102230246251565404236316680908203126",
        "0.500000000000000166533453693773481063544750213623046875",
        "3.518437208883201171875e13",
        "62.5364939768271845828",
        "8.10109172351e-10",
        "1.50000000000000011102230246251565",
        "9007199254740991.4999999999999999999999999999999995"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        check_scan(texts[i]);
}

/* Exact midpoints between neighbours, and one unit above and below, with up to 770 digits. */
static void check_midpoint(double value)
{
    char text[1600];
    double above = nextafter(value, INFINITY);
    if (isinf(above) || value <= 0)
        return;
    /* value and above differ by one in the last place: their mean times 2 is value + above, exact in long
     * double */
    long double middle = ((long double)value + (long double)above) / 2;
    snprintf(text, sizeof text, "%.1100Lf", middle);
    check_scan(text);
    size_t last = strlen(text);
    memcpy(text + last, "1", 2);
    check_scan(text);
    text[last] = '\0';
    while (last > 0 && (text[last - 1] == '0' || text[last - 1] == '.'))
        last--;
    if (last > 0 && text[last - 1] > '0' && text[last - 1] <= '9') {
        text[last - 1]--;
        memcpy(text + last, "9", 2);
        if (strchr(text, '.') != NULL)
            check_scan(text);
    }
}

static void test_scan_midpoints(void **state)
{
    (void)state;
    uint64_t random = 1;
    if (LDBL_MANT_DIG < 64)
        skip();
    for (int i = 0; i < 3000; i++) {
        double value = of_bits(next(&random) & INT64_MAX);
        if (isfinite(value))
            check_midpoint(value);
        check_midpoint(ldexp(1 + (double)(next(&random) % 1000) / 1024, (int)(next(&random) % 120) - 60));
        check_midpoint(of_bits(next(&random) & UINT64_C(0xFFFFFFFFFFFFF))); /* subnormal */
    }
}

static void test_scan_random(void **state)
{
    (void)state;
    uint64_t random = 2;
    char text[1400];
    for (int i = 0; i < 60000; i++) {
        double value = of_bits(next(&random));
        if (!isfinite(value))
            continue;
        snprintf(text, sizeof text, "%.*e", (int)(next(&random) % 25), value);
        check_scan(text);
        /* numbers as loggers write them */
        snprintf(text, sizeof text, "%.*f", (int)(next(&random) % 18),
                 (double)(int64_t)next(&random) / 4611686018427387.9);
        check_scan(text);
        /* random digits with a random exponent */
        snprintf(text, sizeof text, "%llu%llue%d", (unsigned long long)next(&random),
                 (unsigned long long)(next(&random) >> (next(&random) & 63)),
                 (int)(next(&random) % 700) - 380);
        check_scan(text);
        snprintf(text, sizeof text, "%llu.%llue%d",
                 (unsigned long long)(next(&random) >> (next(&random) & 63)),
                 (unsigned long long)(next(&random) >> (next(&random) & 63)), (int)(next(&random) % 60) - 30);
        check_scan(text);
    }
}

static void test_scan_very_long(void **state)
{
    (void)state;
    enum {
        LENGTH = 5000
    };
    char text[LENGTH + 16];
    memset(text, '0', LENGTH);
    memcpy(text + LENGTH, "1e5001", 7);
    text[1] = '.';
    check_scan(text);
    memset(text, '9', LENGTH);
    memcpy(text + LENGTH, "e-4990", 7);
    check_scan(text);
    memset(text, '1', LENGTH);
    text[LENGTH] = '\0';
    check_scan(text);
}

static void test_number(void **state)
{
    (void)state;
    double value = 7;
    assert_true(ovp_text_number(ovp_span_of(" 20.644\r\n"), &value));
    assert_true(value == 20.644);
    static const char *const refused[] = {"", " ", "1 2", "1e999", "nan", "inf", "0x1p3", "1,5", "20.644mV"};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++)
        assert_false(ovp_text_number(ovp_span_of(refused[i]), &value));
    assert_true(value == 20.644);
    /* a span is not ended by a zero */
    assert_true(ovp_text_number((ovp_span){"12345", 3}, &value));
    assert_true(value == 123);
}

static size_t shortest_by_printf(double value)
{
    char text[64];
    for (int digits = 0; digits <= 16; digits++) {
        snprintf(text, sizeof text, "%.*e", digits, value);
        if (strtod(text, NULL) == value)
            return (size_t)digits + 1;
    }
    return 17;
}

static size_t digits_in(const char *text)
{
    size_t count = 0, zeros = 0;
    for (; *text != '\0' && *text != 'e'; text++) {
        if (*text < '0' || *text > '9' || (*text == '0' && count == 0))
            continue;
        count++;
        zeros = *text == '0' ? zeros + 1 : 0;
    }
    return count - zeros;
}

static void check_format(double value)
{
    char text[OVP_TEXT_NUMBER_SIZE];
    memset(text, 'x', sizeof text);
    size_t length = ovp_text_format_number(value, text);
    assert_int_equal(length, strlen(text));
    if (bits_of(strtod(text, NULL)) != bits_of(value))
        fail_msg("%a was written as %s", value, text);
    /* Below a power of two the neighbour is nearer: there a decimal may read back that printf does not try.
     */
    if (value != 0 && digits_in(text) > shortest_by_printf(value))
        fail_msg("%a was written as %s, %zu digits would do", value, text, shortest_by_printf(value));
}

static void test_format_shortest(void **state)
{
    (void)state;
    static const double values[] = {0,
                                    -0.0,
                                    1,
                                    0.1,
                                    0.3,
                                    100,
                                    1e15,
                                    1e16,
                                    1e17,
                                    1e22,
                                    1e23,
                                    1e300,
                                    5e-324,
                                    1e-5,
                                    1e-6,
                                    1e-7,
                                    DBL_MAX,
                                    DBL_MIN,
                                    123456,
                                    20.644,
                                    -270,
                                    1.0 / 3,
                                    2.0 / 3,
                                    4.35,
                                    0.5,
                                    4503599627370496.5,
                                    9.5e-3,
                                    1e14,
                                    1e-22,
                                    1e-23,
                                    9007199254740992.0,
                                    9007199254740994.0};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
        check_format(values[i]);
    uint64_t random = 3;
    for (int i = 0; i < 20000; i++) {
        double value = of_bits(next(&random));
        if (isfinite(value))
            check_format(value);
        check_format((double)(int64_t)next(&random) / 4611686018427387.9);
        check_format((double)(next(&random) % 10000000) / 1000);
        check_format(of_bits(next(&random) & UINT64_C(0xFFFFFFFFFFFFF)));
        check_format(ldexp(1, (int)(next(&random) % 2090) - 1070));
    }
}

static void test_format_look(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *text;
    } rows[] = {{0.1, "0.1"},       {100, "100"},       {1e300, "1e+300"},
                {-200, "-200"},     {1e-7, "1e-7"},     {0.00001, "0.00001"},
                {20.644, "20.644"}, {1.5e-9, "1.5e-9"}, {1e16, "10000000000000000"},
                {1e17, "1e+17"},    {INFINITY, "inf"},  {-INFINITY, "-inf"},
                {NAN, "nan"},       {-0.0, "-0"}};
    char text[OVP_TEXT_NUMBER_SIZE];
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_text_format_number(rows[i].value, text);
        assert_string_equal(text, rows[i].text);
    }
}

static void test_format_fixed(void **state)
{
    (void)state;
    char text[400], expected[400];
    uint64_t random = 4;
    for (int i = 0; i < 20000; i++) {
        double value =
            i % 2 == 0 ? of_bits(next(&random)) : (double)(int64_t)next(&random) / 4611686018427387.9;
        int decimals = (int)(next(&random) % 18);
        if (!isfinite(value))
            continue;
        size_t length = ovp_text_format_fixed(value, decimals, text, sizeof text);
        snprintf(expected, sizeof expected, "%.*f", decimals, value);
        const char *wanted = expected;
        if (wanted[0] == '-' && strspn(wanted + 1, "0.") == strlen(wanted + 1))
            wanted++;
        assert_string_equal(text, wanted);
        assert_int_equal(length, strlen(text));
    }
    ovp_text_format_fixed(-0.0, 1, text, sizeof text);
    assert_string_equal(text, "0.0");
    ovp_text_format_fixed(0.5, 0, text, sizeof text);
    assert_string_equal(text, "0");
    ovp_text_format_fixed(2.5, 0, text, sizeof text);
    assert_string_equal(text, "2");
    ovp_text_format_fixed(-0.04, 1, text, sizeof text);
    assert_string_equal(text, "0.0");
    assert_int_equal(ovp_text_format_fixed(123.456, 2, text, 4), 3);
    assert_string_equal(text, "123");
}

/* A locale with a decimal comma: one that is installed, else one that localedef makes for this test. */
static const char *set_comma_locale(char folder[])
{
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8",
                                        "fr_FR.utf8",  "de_DE",      "fr_FR"};
    char command[256];
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (setlocale(LC_NUMERIC, names[i]) != NULL)
            return names[i];
    if (mkdtemp(folder) == NULL)
        return NULL;
    snprintf(command, sizeof command, "localedef -i de_DE -f UTF-8 %s/comma >/dev/null 2>&1", folder);
    if (system(command) < 0) /* NOLINT(cert-env33-c) */
        return NULL;
    setenv("LOCPATH", folder, 1);
    return setlocale(LC_NUMERIC, "comma");
}

/* It changes strtod and printf, and must change nothing here. */
static void test_comma_locale(void **state)
{
    (void)state;
    char folder[] = "/tmp/ovenproof-locale-XXXXXX", command[128], text[64], number[OVP_TEXT_NUMBER_SIZE];
    const char *set = set_comma_locale(folder);
    double value = 0, temperature = 0;
    char *end;
    bool comma = set != NULL && strtod("20,5", &end) == 20.5;
    size_t length = ovp_text_scan_number(ovp_span_of("20.644"), &value);
    ovp_text_format_fixed(1.5, 1, text, sizeof text);
    ovp_text_format_number(20.644, number);
    ovp_status status = ovp_text_quantity(ovp_span_of("815.5C"), OVP_TEXT_TEMPERATURE, OVP_TEXT_DEGREES_NONE,
                                          &temperature, NULL);
    setlocale(LC_NUMERIC, "C");
    snprintf(command, sizeof command, "rm -rf %s", folder);
    if (strstr(folder, "XXXXXX") == NULL && system(command) != 0) /* NOLINT(cert-env33-c) */
        print_message("left over: %s\n", folder);
    assert_int_equal(length, 6);
    assert_true(value == 20.644);
    assert_string_equal(text, "1.5");
    assert_string_equal(number, "20.644");
    assert_int_equal(status, OVP_OK);
    assert_true(temperature == 815.5);
    if (!comma) {
        print_message("skipped: no locale with a decimal comma is installed, and localedef made none\n");
        skip();
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_scan_ordinary), cmocka_unit_test(test_scan_refuses),
        cmocka_unit_test(test_scan_hard),     cmocka_unit_test(test_scan_midpoints),
        cmocka_unit_test(test_scan_random),   cmocka_unit_test(test_scan_very_long),
        cmocka_unit_test(test_number),        cmocka_unit_test(test_format_shortest),
        cmocka_unit_test(test_format_look),   cmocka_unit_test(test_format_fixed),
        cmocka_unit_test(test_comma_locale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
