/*
 * The short way of the reader beside the long one: samples must be equal bit for bit, and all that is said of
 * the input, too. Numbers are held against strtod of the C library in the C locale.
 */
#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "trace/reader_internal.h"

enum {
    TEXT_SIZE = 1 << 20,
    SAMPLES = 40000,
    ROUNDS = 12,
    ROWS = 2500,
    NUMBERS = 2000000,
};

typedef struct run {
    ovp_trace_sample samples[SAMPLES];
    size_t count;
    ovp_status status;
    ovp_error error;
    ovp_trace_input input;
} run;

static run quick, slow, single;
static char text[TEXT_SIZE];
static size_t text_count;

/* splitmix64, public domain */
static uint64_t state;

static uint64_t next(void)
{
    uint64_t z = state += UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

static unsigned below(unsigned bound)
{
    return (unsigned)(next() % bound);
}

static void put(const char *format, ...) OVP_PRINTF(1, 2);

static void put(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    text_count += (size_t)vsnprintf(text + text_count, TEXT_SIZE - text_count, format, arguments);
    va_end(arguments);
    assert_true(text_count < TEXT_SIZE - 1);
}

static void take(void *context, const ovp_trace_sample *sample)
{
    run *to = context;
    assert_true(to->count < SAMPLES);
    to->samples[to->count++] = *sample;
}

typedef enum way {
    WAY_SHORT,      /* as the program does */
    WAY_ONE_BY_ONE, /* as it does where the processor cannot read two numbers at once */
    WAY_LONG,
} way;

static void read_text(way by, const ovp_trace_options *options, run *to)
{
    void *memory = malloc(ovp_trace_reader_size());
    assert_non_null(memory);
    memset(to, 0, sizeof *to);
    ovp_trace_reader *reader = ovp_trace_reader_init(memory, options, take, to);
    reader->long_way = by == WAY_LONG;
    reader->one_by_one = by == WAY_ONE_BY_ONE;
    for (size_t at = 0; at < text_count && to->status == OVP_OK;) {
        size_t size = 1 + below(20000);
        if (size > text_count - at)
            size = text_count - at;
        char *copy = malloc(size); /* so that a sanitizer sees a byte read too far */
        assert_non_null(copy);
        memcpy(copy, text + at, size);
        to->status = ovp_trace_reader_feed(reader, copy, size, &to->error);
        free(copy);
        at += size;
    }
    if (to->status == OVP_OK)
        to->status = ovp_trace_reader_end(reader, &to->error);
    to->input = *ovp_trace_reader_input(reader);
    free(memory);
}

static bool same_bits(double a, double b)
{
    return memcmp(&a, &b, sizeof a) == 0 || (isnan(a) && isnan(b));
}

static void assert_same_sample(size_t at, const run *other)
{
    const ovp_trace_sample *a = &quick.samples[at], *b = &other->samples[at];
    if (!same_bits(a->time_s, b->time_s) || !same_bits(a->temperature_C, b->temperature_C) ||
        !same_bits(a->setpoint_C, b->setpoint_C) || !same_bits(a->output_percent, b->output_percent) ||
        !same_bits(a->supply_V, b->supply_V) || !same_bits(a->element_A, b->element_A) ||
        !same_bits(a->cold_junction_C, b->cold_junction_C) || a->cell != b->cell)
        fail_msg("sample %zu differs: %a %a and %a %a", at, a->time_s, a->temperature_C, b->time_s,
                 b->temperature_C);
}

static void assert_same_run(const run *other)
{
    assert_int_equal(quick.status, other->status);
    assert_string_equal(quick.error.what, other->error.what);
    assert_int_equal(quick.error.line, other->error.line);
    assert_int_equal(quick.count, other->count);
    for (size_t i = 0; i < quick.count; i++)
        assert_same_sample(i, other);
}

/* The text that stands in `text`, all ways. Returns the rows that went the short way. */
static uint64_t compare(const ovp_trace_options *options)
{
    read_text(WAY_SHORT, options, &quick);
    read_text(WAY_ONE_BY_ONE, options, &single);
    read_text(WAY_LONG, options, &slow);
    assert_same_run(&single);
    assert_same_run(&slow);
    const uint64_t plain = quick.input.plain;
    assert_int_equal(slow.input.plain, 0);
    quick.input.plain = single.input.plain = 0; /* they depend on where the chunks are cut */
    assert_memory_equal(&quick.input, &slow.input, sizeof quick.input);
    assert_memory_equal(&quick.input, &single.input, sizeof quick.input);
    return plain;
}

/* ---- texts
 * ------------------------------------------------------------------------------------------------- */

typedef struct dialect {
    const char *header;
    char delimiter, decimal;
    int clock; /* 0 seconds, 1 ISO, 2 day first, 3 time of day with AM and PM, 4 ISO with an offset, 5 h:mm:ss
                */
    int front; /* fields before the time */
    int numbers;
    int behind; /* fields behind the numbers */
    const char *end;
    bool plain; /* most rows are to go the short way */
    bool above; /* no number below 0, which would be below absolute zero */
} dialect;

static const dialect dialects[] = {
    {"time,temperature_C,setpoint_C,output_percent", ',', '.', 1, 0, 3, 0, "\n", true, false},
    {"time_s,temperature_F,setpoint_F,output_percent,supply_V,element_A", ',', '.', 0, 0, 5, 0, "\r\n", true,
     false},
    {"Zeit;Istwert (°C);Sollwert (°C);Stellgrad (%)", ';', ',', 2, 0, 3, 0, "\n", true, false},
    {"a\tb\ttime\ttemperature_K\tsetpoint_K\tx\ty", '\t', '.', 4, 2, 2, 2, "\n", true, true},
    {"time,temperature_C", ',', '.', 3, 0, 1, 0, "\r", false, false},
    {"time,temperature_C,supply mV", ',', '.', 3, 0, 2, 0, "\n", true, false},
    {"n|elapsed|temperature_F|note", '|', ',', 5, 1, 1, 1, "\r\n", true, false},
    {"time_min temperature_C", ' ', '.', 0, 0, 1, 0, "\n", false, false},
};

static void put_number(char decimal, bool above)
{
    static const char *const odd[] = {"",
                                      "---",
                                      "OPEN",
                                      "-0",
                                      "+5",
                                      "5.",
                                      ".5",
                                      "1e2",
                                      " 20",
                                      "20 ",
                                      "\"21\"",
                                      "0007",
                                      "#",
                                      "12 F",
                                      "1 234",
                                      "1'000",
                                      "-0,0",
                                      "-273.15",
                                      "99999.9999999999",
                                      "9007199254740993",
                                      "123456789012345",
                                      "1234567890123456789"};
    char number[64];
    if (below(60) == 0) {
        const char *word = odd[below(sizeof odd / sizeof odd[0])];
        put("%s", above && word[0] == '-' ? "" : word);
        return;
    }
    double value =
        !above && below(8) == 0 ? -(double)below(200) : (double)below(20000) / (double)(1 + below(300));
    snprintf(number, sizeof number, "%.*f", below(10) == 0 ? (int)below(12) : 1, value);
    for (char *at = number; *at != '\0'; at++)
        if (*at == '.')
            *at = decimal;
    put("%s%s", below(40) == 0 ? " " : "", number);
}

static void put_time(const dialect *as, unsigned second)
{
    unsigned hour = second / 3600 % 24, minute = second / 60 % 60, day = 28 + second / 86400;
    second %= 60;
    switch (as->clock) {
    case 1:
        put("2024-01-%02uT%02u:%02u:%02u", day, hour, minute, second);
        break;
    case 2:
        put("%02u.01.2024 %02u:%02u:%02u", day, hour, minute, second);
        break;
    case 3:
        put("%u:%02u:%02u %s", hour % 12 == 0 ? 12 : hour % 12, minute, second, hour < 12 ? "AM" : "PM");
        break;
    case 4:
        put("2024-01-%02u %02u:%02u:%02u+01:00", day, hour, minute, second);
        break;
    case 5:
        put("%u:%02u:%02u", hour + 24 * (day - 28), minute, second);
        break;
    default:
        put("%u", 86400 * (day - 28) + 3600 * hour + 60 * minute + second);
        if (below(5) == 0)
            put("%c%u", as->decimal, below(1000));
        break;
    }
}

static void put_row(const dialect *as, unsigned second)
{
    static const char *const odd[] = {"# a note", "", "x", "% y", "  ", "//", "\"a\nb\""};
    static const char *const words[] = {"abc",      "x", "1.5", "\xC3\xA4", "\xE4", "a b",
                                        "8\" deep", "-", "",    "12:30",    "C"};
    if (below(150) == 0) {
        put("%s%s", odd[below(sizeof odd / sizeof odd[0])], as->end);
        return;
    }
    for (int i = 0; i < as->front; i++)
        put("%s%c", words[below(sizeof words / sizeof words[0])], as->delimiter);
    put_time(as, second);
    for (int i = 0; i < as->numbers; i++) {
        put("%c", as->delimiter);
        put_number(as->decimal, as->above);
    }
    for (int i = 0; i < as->behind && below(30) > 0; i++)
        put("%c%s", as->delimiter, words[below(sizeof words / sizeof words[0])]);
    put("%s", as->end);
}

static void test_both_ways_agree(void **unused)
{
    (void)unused;
    for (size_t i = 0; i < sizeof dialects / sizeof dialects[0]; i++) {
        const dialect *as = &dialects[i];
        uint64_t plain = 0, rows = 0;
        for (unsigned round = 0; round < ROUNDS; round++) {
            ovp_trace_options options;
            ovp_trace_options_init(&options);
            options.date_order = 1;
            state = 1000 * i + round;
            text_count = 0;
            put("%s%s", as->header, as->end);
            for (unsigned row = 0, second = below(86400); row < ROWS; row++) {
                second += below(12) == 0 ? below(4000) : 1 + round % 3;
                put_row(as, below(200) == 0 ? second / 2 : second);
            }
            if (round % 2 == 0)
                text_count -= 1 + below(8); /* the last row is cut */
            plain += compare(&options);
            rows += quick.count;
        }
        assert_true(rows > 0);
        if (as->plain ? plain * 3 < rows : plain > 0)
            fail_msg("dialect %zu: %llu of %llu rows the short way", i, (unsigned long long)plain,
                     (unsigned long long)rows);
    }
}

/* ---- numbers
 * ----------------------------------------------------------------------------------------------- */

/* Signs, zeros in front and behind, up to forty digits, a point anywhere, an exponent now and then. */
static size_t make_number(char *out)
{
    static const char digits[] = "0123456789";
    size_t count = 0, front = below(8) == 0 ? below(24) : below(9),
           behind = below(8) == 0 ? below(24) : below(8);
    if (below(4) == 0)
        out[count++] = below(2) == 0 ? '-' : '+';
    for (unsigned zeros = below(12) == 0 ? below(6) : 0; zeros > 0; zeros--)
        out[count++] = '0';
    for (size_t i = 0; i < front; i++)
        out[count++] = digits[below(10)];
    bool none = count == 0 || out[count - 1] == '-' || out[count - 1] == '+';
    if (none || below(3) > 0) {
        out[count++] = '.';
        for (size_t i = 0; i < behind + none; i++)
            out[count++] = below(6) == 0 ? '0' : digits[below(10)];
    }
    if (below(16) == 0)
        count += (size_t)sprintf(out + count, "%c%d", below(2) == 0 ? 'e' : 'E', (int)below(640) - 330);
    out[count] = '\0';
    return count;
}

static void test_numbers_are_those_of_strtod(void **unused)
{
    (void)unused;
    assert_string_equal(setlocale(LC_NUMERIC, NULL), "C");
    state = 1;
    for (int i = 0; i < NUMBERS; i++) {
        char number[96];
        size_t count = make_number(number);
        double value = 0.0, expected = strtod(number, NULL);
        bool read = ovp_text_delimited_number((ovp_span){number, count}, '.', &value);
        if (read != (bool)isfinite(expected) || (read && !same_bits(value, expected)))
            fail_msg("%s: read as %a, strtod %a", number, value, expected);
    }
}

/* The same through rows: times and temperatures as they come out of the reader, the short way or not. */
static void test_numbers_in_rows(void **unused)
{
    (void)unused;
    static double expected[SAMPLES];
    uint64_t plain = 0, rows = 0;
    for (unsigned round = 0; round < 10; round++) {
        state = 77 + round;
        text_count = 0;
        size_t count = 0;
        put("time_s,output_percent,temperature_C\n0,1,20.0\n1,1,20.5\n");
        expected[count++] = 20.0;
        expected[count++] = 20.5;
        while (text_count < TEXT_SIZE - 200 && count < SAMPLES) {
            char number[96];
            make_number(number);
            double value = strtod(number, NULL);
            if (!isfinite(value) || value < -273.15)
                continue;
            put("%zu,1,%s\n", count, number);
            expected[count++] = value;
        }
        read_text(WAY_SHORT, NULL, &quick);
        assert_int_equal(quick.status, OVP_OK);
        assert_int_equal(quick.count, count);
        for (size_t i = 0; i < count; i++)
            if (!same_bits(quick.samples[i].temperature_C, expected[i]) ||
                quick.samples[i].time_s != (double)i)
                fail_msg("sample %zu: %a, strtod %a", i, quick.samples[i].temperature_C, expected[i]);
        plain += quick.input.plain;
        rows += count;
    }
    assert_true(plain * 4 > rows);
}

/* Rows that differ in their digits only are read by the shape of the first of them. */
static void test_numbers_of_one_shape(void **unused)
{
    (void)unused;
    static double expected[SAMPLES];
    for (unsigned round = 0; round < 6; round++) {
        state = 177 + round / 2;
        text_count = 0;
        size_t count = 0;
        put("time_s,output_percent,temperature_C\n0,1,20.0\n1,1,20.5\n");
        expected[count++] = 20.0;
        expected[count++] = 20.5;
        while (text_count < TEXT_SIZE - 4000 && count < SAMPLES - 100) {
            char number[96];
            make_number(number);
            for (unsigned again = 0; again < 24; again++) {
                for (char *at = number; *at != '\0' && *at != 'e' && *at != 'E'; at++)
                    *at = *at >= '0' && *at <= '9' ? (char)('0' + below(10)) : *at;
                double value = strtod(number, NULL);
                if (!isfinite(value) || value < -273.15)
                    continue;
                put("%zu,1,%s\n", count, number);
                expected[count++] = value;
            }
        }
        read_text(round % 2 == 0 ? WAY_SHORT : WAY_ONE_BY_ONE, NULL, &quick);
        assert_int_equal(quick.status, OVP_OK);
        assert_int_equal(quick.count, count);
        for (size_t i = 0; i < count; i++)
            if (!same_bits(quick.samples[i].temperature_C, expected[i]))
                fail_msg("sample %zu: %a, strtod %a", i, quick.samples[i].temperature_C, expected[i]);
        assert_true(quick.input.plain * 3 > count);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_both_ways_agree),
        cmocka_unit_test(test_numbers_are_those_of_strtod),
        cmocka_unit_test(test_numbers_in_rows),
        cmocka_unit_test(test_numbers_of_one_shape),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
