/* The terminal drawing: what stands where, at any width, with and without UTF-8. */
#include "picture/picture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static char page[65536];
static size_t used;

static ovp_status keep(void *context, const char *bytes, size_t count)
{
    (void)context;
    assert_true(used + count < sizeof page);
    memcpy(page + used, bytes, count);
    used += count;
    page[used] = '\0';
    return OVP_OK;
}

static ovp_trace_sample points[400];

static picture_trace ramp(void)
{
    for (size_t i = 0; i < 400; i++) {
        points[i] = (ovp_trace_sample){.time_s = 9.0 * (double)i,
                                       .temperature_C = 20 + 2 * (double)i,
                                       .setpoint_C = 818,
                                       .output_percent = i < 200 ? 100 : 0,
                                       .supply_V = NAN,
                                       .element_A = NAN,
                                       .cold_junction_C = NAN};
    }
    return (picture_trace){.title = "ramp", .points = points, .count = 400, .shown = OVP_TEXT_DEGREES_C};
}

static const char *draw(const picture_trace *trace, size_t columns, bool utf8)
{
    used = 0;
    picture_terminal_trace((ovp_sink){keep, NULL}, trace, columns, 12, utf8);
    return page;
}

static size_t widest(const char *text)
{
    size_t most = 0;
    char line[2048];
    for (const char *at = text; *at != '\0';) {
        size_t length = strcspn(at, "\n");
        assert_true(length < sizeof line);
        memcpy(line, at, length);
        line[length] = '\0';
        size_t columns = ovp_text_columns(line);
        most = columns > most ? columns : most;
        at += length + (at[length] == '\n');
    }
    return most;
}

static void no_line_is_wider_than_the_terminal(void **state)
{
    (void)state;
    static const size_t widths[] = {40, 60, 80, 100, 131, 200};
    picture_trace trace = ramp();
    trace.marks[0] = (picture_mark){
        1800, "the output went off and a rather long sentence follows that must be folded to the width"};
    trace.mark_count = 1;
    for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
        assert_in_range(widest(draw(&trace, widths[i], true)), widths[i] / 2, widths[i]);
        assert_in_range(widest(draw(&trace, widths[i], false)), widths[i] / 2, widths[i]);
    }
}

static void without_utf8_every_byte_is_ascii(void **state)
{
    (void)state;
    picture_trace trace = ramp();
    for (const char *at = draw(&trace, 80, false); *at != '\0'; at++) {
        assert_true((unsigned char)*at < 128);
    }
    assert_non_null(strstr(page, "*"));
}

static void axes_are_minutes_and_the_shown_scale(void **state)
{
    (void)state;
    picture_trace trace = ramp();
    draw(&trace, 100, true);
    assert_non_null(strstr(page, "°C"));
    assert_non_null(strstr(page, "min 0"));
    assert_non_null(strstr(page, " 800 "));
    trace.shown = OVP_TEXT_DEGREES_F;
    draw(&trace, 100, true);
    assert_non_null(strstr(page, "°F"));
    assert_non_null(strstr(page, "1500 ")); /* 818 degC is 1504 degF */
}

/* A ramp from the lower left to the upper right: the first row ends at the right, the last begins at the
 * left. */
static void the_line_goes_where_the_run_goes(void **state)
{
    (void)state;
    picture_trace trace = ramp();
    char *line = strtok((char *)(uintptr_t)draw(&trace, 60, false), "\n");
    size_t star[32], rows = 0;
    for (; line != NULL; line = strtok(NULL, "\n")) {
        const char *first = strchr(line, '*');
        if (first != NULL && rows < 32) {
            star[rows++] = (size_t)(first - line);
        }
    }
    assert_in_range(rows, 10, 12);
    for (size_t i = 1; i < rows; i++) {
        assert_true(star[i] < star[i - 1]);
    }
}

static void an_empty_run_draws_its_frame(void **state)
{
    (void)state;
    picture_trace trace = {.title = "nothing", .points = points, .count = 0};
    assert_non_null(strstr(draw(&trace, 80, true), "nothing"));
    points[0] = (ovp_trace_sample){.temperature_C = NAN, .setpoint_C = NAN, .output_percent = NAN};
    trace.count = 1;
    assert_non_null(strstr(draw(&trace, 80, true), "nothing"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_line_is_wider_than_the_terminal),
        cmocka_unit_test(without_utf8_every_byte_is_ascii),
        cmocka_unit_test(axes_are_minutes_and_the_shown_scale),
        cmocka_unit_test(the_line_goes_where_the_run_goes),
        cmocka_unit_test(an_empty_run_draws_its_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
