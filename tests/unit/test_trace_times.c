/* A run noted by hand. The wording of the line is this program's own; the arithmetic is plain. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "ovenproof/trace.h"

typedef struct taken {
    ovp_trace_sample samples[16];
    size_t count;
} taken;

static void take(void *context, const ovp_trace_sample *sample)
{
    taken *to = context;
    assert_true(to->count < 16);
    to->samples[to->count++] = *sample;
}

static void reads(const char *text, ovp_text_degrees bare, taken *to, ovp_trace_input *input)
{
    ovp_error error = {0};
    memset(to, 0, sizeof *to);
    if (ovp_trace_times(text, bare, take, to, input, &error) != OVP_OK)
        fail_msg("%s: %s", text, error.what);
}

static void sample_is(const ovp_trace_sample *sample, double time_s, double temperature_C)
{
    assert_true(sample->time_s == time_s);
    assert_true(fabs(sample->temperature_C - temperature_C) < 1e-9);
    assert_true(isnan(sample->setpoint_C) && isnan(sample->output_percent));
}

static void reads_the_notepad(void **state)
{
    (void)state;
    taken got;
    ovp_trace_input input;
    reads("start 74F, 1000F 19:40, 1500F 30:10", OVP_TEXT_DEGREES_NONE, &got, &input);
    assert_int_equal(got.count, 3);
    sample_is(&got.samples[0], 0.0, (74.0 - 32.0) / 1.8);
    sample_is(&got.samples[1], 1180.0, (1000.0 - 32.0) / 1.8);
    sample_is(&got.samples[2], 1810.0, (1500.0 - 32.0) / 1.8);
    assert_int_equal(input.samples, 3);
    assert_true(input.duration_s == 1810.0);
    assert_int_equal(input.warning_count, 0);
}

static void takes_other_ways_to_write(void **state)
{
    (void)state;
    taken got;
    ovp_trace_input input;
    reads("start 20 C; 500 C at 20 min; 1h30m 816C", OVP_TEXT_DEGREES_NONE, &got, &input);
    sample_is(&got.samples[1], 1200.0, 500.0);
    sample_is(&got.samples[2], 5400.0, 816.0);
    reads("74, 1000 19:40, 1:02:03 1500", OVP_TEXT_DEGREES_F, &got, &input);
    sample_is(&got.samples[2], 3723.0, (1500.0 - 32.0) / 1.8);
    assert_int_equal(input.warning_count, 1); /* the first has no time */
    reads("start 20C, open 2:00, 20C 3:00", OVP_TEXT_DEGREES_NONE, &got, &input);
    assert_int_equal(got.samples[1].cell, OVP_TRACE_OPEN);
    assert_int_equal(input.missing, 1);
}

static void counts_from_the_first_reading(void **state)
{
    (void)state;
    taken got;
    ovp_trace_input input;
    reads("20C 2:00, 30C 3:00", OVP_TEXT_DEGREES_NONE, &got, &input);
    sample_is(&got.samples[0], 0.0, 20.0);
    sample_is(&got.samples[1], 60.0, 30.0);
}

static void refused(const char *text, const char *what)
{
    taken got = {.count = 0};
    ovp_trace_input input;
    ovp_error error = {0};
    ovp_status status = ovp_trace_times(text, OVP_TEXT_DEGREES_NONE, take, &got, &input, &error);
    assert_int_equal(status, OVP_ERROR_DATA);
    assert_int_equal(got.count, 0); /* nothing half done */
    if (strstr(error.what, what) == NULL || error.hint[0] == '\0')
        fail_msg("%s: %s / %s", text, error.what, error.hint);
}

static void refuses_what_is_unclear(void **state)
{
    (void)state;
    refused("", "two readings");
    refused("start 74F", "two readings");
    refused("start 74F, 1000F", "no time");
    refused("start 74F, 19:40", "no temperature");
    refused("start 74F, 1000F 19:40, 1500F 19:40", "not later");
    refused("start 74F, 1000F 19:40, 1500F 10:00", "not later");
    refused("start 74F, 1000F 2000F", "second temperature");
    refused("start 74F, 1000F 19:40 20:00", "second time");
    refused("start 74F, 1000 19:40", "1000");
    refused("start 74F, -500F 19:40", "absolute zero");
    refused("start 74F, hot 19:40", "hot");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_the_notepad),
        cmocka_unit_test(takes_other_ways_to_write),
        cmocka_unit_test(counts_from_the_first_reading),
        cmocka_unit_test(refuses_what_is_unclear),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
