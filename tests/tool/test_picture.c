/* Drawings of a run: what stands where, at any width, in the terminal and as SVG; ticks, scales, lines. */
#include "picture/picture_internal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define assert_near(a, b, within) assert_true(fabs((double)(a) - (double)(b)) <= (within))

static char page[1 << 20];
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

/* ---- runs ------------------------------------------------------------------------------------------------
 */

static picture_series series, other;

static void add(picture_series *into, double time_s, double temperature_C, double setpoint_C, double percent)
{
    const ovp_trace_sample sample = {.time_s = time_s,
                                     .temperature_C = temperature_C,
                                     .setpoint_C = setpoint_C,
                                     .output_percent = percent,
                                     .supply_V = NAN,
                                     .element_A = NAN,
                                     .cold_junction_C = NAN};
    picture_series_sample(into, &sample);
}

static picture_trace trace_of(const picture_series *run, const char *title)
{
    return (picture_trace){
        .title = title, .run = run, .usual_step_s = NAN, .shown = OVP_TEXT_DEGREES_C, .most_C = NAN};
}

/* 400 samples, 9 s apart, 20 to 818 degC. */
static picture_trace ramp(void)
{
    picture_series_begin(&series);
    for (size_t i = 0; i < 400; i++) {
        add(&series, 9.0 * (double)i, 20 + 2 * (double)i, 818, i < 200 ? 100 : 0);
    }
    return trace_of(&series, "ramp");
}

/* ---- the terminal ----------------------------------------------------------------------------------------
 */

static const char *draw(const picture_trace *trace, size_t columns, bool utf8)
{
    used = 0;
    assert_int_equal(picture_terminal_trace((ovp_sink){keep, NULL}, trace, columns, 12, utf8), OVP_OK);
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

static const picture_mark long_mark = {
    1800, "the output went off and a rather long sentence follows that must be folded to the width"};

static void no_line_is_wider_than_the_terminal(void **state)
{
    (void)state;
    static const size_t widths[] = {40, 60, 80, 100, 131, 200};
    static const ovp_text_degrees scales[] = {OVP_TEXT_DEGREES_NONE, OVP_TEXT_DEGREES_F, OVP_TEXT_DEGREES_C,
                                              OVP_TEXT_DEGREES_K};
    picture_trace trace = ramp();
    trace.title =
        "a title that is far too long for a terminal of forty columns, and for one of eighty columns too";
    trace.marks = &long_mark;
    trace.mark_count = 1;
    for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
        trace.shown = scales[i % 4];
        assert_in_range(widest(draw(&trace, widths[i], true)), widths[i] / 2, widths[i]);
        assert_in_range(widest(draw(&trace, widths[i], false)), widths[i] / 2, widths[i]);
    }
}

static void without_utf8_every_byte_is_ascii(void **state)
{
    (void)state;
    picture_trace trace = ramp();
    trace.shown = OVP_TEXT_DEGREES_NONE;
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
    assert_null(strstr(page, "°F"));
    trace.shown = OVP_TEXT_DEGREES_F;
    draw(&trace, 100, true);
    assert_non_null(strstr(page, "°F"));
    assert_null(strstr(page, "°C"));
    assert_non_null(strstr(page, "1500 ")); /* 818 degC is 1504 degF */
    trace.shown = OVP_TEXT_DEGREES_NONE;
    draw(&trace, 100, true);
    assert_non_null(strstr(page, "°F"));
    assert_non_null(strstr(page, "°C"));
    assert_non_null(strstr(page, "├ 800"));
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

/* ---- any run, any drawing
 * ---------------------------------------------------------------------------------- */

static const char *svg(const picture_trace *trace)
{
    ovp_error error = {0};
    used = 0;
    assert_int_equal(picture_svg((ovp_sink){keep, NULL}, trace, &error), OVP_OK);
    return page;
}

static void a_run_of_nothing_draws_its_frame(void **state)
{
    (void)state;
    picture_series_begin(&series);
    picture_trace trace = trace_of(&series, "nothing");
    assert_non_null(strstr(draw(&trace, 80, true), "nothing"));
    assert_non_null(strstr(svg(&trace), "nothing"));
    add(&series, 0, NAN, NAN, NAN); /* one sample without anything */
    assert_non_null(strstr(draw(&trace, 80, true), "nothing"));
    assert_non_null(strstr(svg(&trace), "nothing"));
    assert_null(strstr(page, "nan"));
}

static void one_sample_and_a_flat_run_are_drawn(void **state)
{
    (void)state;
    picture_series_begin(&series);
    add(&series, 0, 500, NAN, NAN);
    picture_trace trace = trace_of(&series, "flat");
    assert_non_null(strstr(draw(&trace, 80, true), "500"));
    assert_null(strstr(svg(&trace), "nan"));
    add(&series, 60, 500, NAN, NAN);
    assert_non_null(strstr(draw(&trace, 80, true), "500"));
    assert_null(strstr(svg(&trace), "nan"));
    assert_non_null(strstr(page, ">500.0<"));
}

/* ---- ticks
 * ------------------------------------------------------------------------------------------------- */

static void check_time_ticks(double seconds, const char *unit, const char *second_tick)
{
    const picture_scale scale = {0, seconds, 570};
    picture_ticks ticks;
    picture_time_ticks(&scale, 52, &ticks);
    assert_string_equal(ticks.unit, unit);
    assert_in_range(ticks.count, 3, 12);
    assert_string_equal(ticks.tick[0].text, seconds > 1 ? "0" : "0.0");
    assert_string_equal(ticks.tick[1].text, second_tick);
    for (size_t i = 1; i < ticks.count; i++) {
        assert_true(ticks.tick[i].at - ticks.tick[i - 1].at >= 51.9);
        assert_true(ticks.tick[i].at <= 570.001);
    }
}

/* Steps as on a clock's face: common practice, no published source. */
static void times_have_the_steps_of_a_clock(void **state)
{
    (void)state;
    check_time_ticks(1, "seconds", "0.1");
    check_time_ticks(10, "seconds", "1");
    check_time_ticks(100, "seconds", "10");
    check_time_ticks(600, "minutes", "1");
    check_time_ticks(3600, "minutes", "10");
    check_time_ticks(3 * 3600.0, "minutes", "30");
    check_time_ticks(8 * 3600.0, "hours", "1");
    check_time_ticks(48 * 3600.0, "hours", "6");
    check_time_ticks(30 * 86400.0, "days", "7");
    check_time_ticks(3000 * 86400.0, "days", "500");
}

/* 0 degC is 32 degF and 100 degC is 212 degF: the two scales show the same places. */
static void both_scales_tell_the_same(void **state)
{
    (void)state;
    const picture_scale scale = {0, 1000, 300};
    picture_ticks fahrenheit, celsius;
    picture_temperature_ticks(&scale, OVP_TEXT_DEGREES_F, 26, &fahrenheit);
    picture_temperature_ticks(&scale, OVP_TEXT_DEGREES_C, 26, &celsius);
    assert_string_equal(celsius.tick[0].text, "0");
    assert_near(celsius.tick[0].at, 0, 1e-9);
    assert_string_equal(fahrenheit.unit, "°F");
    for (size_t i = 0; i < fahrenheit.count; i++) {
        double value_F = 0;
        assert_true(ovp_text_number(ovp_span_of(fahrenheit.tick[i].text), &value_F));
        assert_near(fahrenheit.tick[i].at, (value_F - 32) / 1.8 * 0.3, 1e-6);
        assert_near(fmod(value_F, 200), 0, 1e-9); /* 1832 degF on 300 units: steps of 200 */
    }
}

static void labels_are_pushed_apart(void **state)
{
    (void)state;
    double at[] = {5, 6, 7, 98, 99}, width[] = {10, 10, 10, 10, 10};
    picture_spread(at, width, 5, 0, 100);
    assert_true(at[0] >= 5 && at[4] <= 95);
    for (size_t i = 1; i < 5; i++) {
        assert_true(at[i] - at[i - 1] >= 10 - 1e-9);
    }
    double alone[] = {50};
    picture_spread(alone, width, 1, 0, 100);
    assert_near(alone[0], 50, 0);
}

/* ---- lines
 * ------------------------------------------------------------------------------------------------- */

static picture_point points[20000];

static size_t line_of(const picture_series *run, double gap_s, picture_layout *layout)
{
    picture_trace trace = trace_of(run, "");
    const picture_room room = {560, 300, 48, 52, 26};
    picture_lay_out(&trace, &room, layout);
    const picture_along along = {&layout->time, &layout->temperature, 0, gap_s, false};
    picture_line line = {.points = points, .capacity = sizeof points / sizeof *points};
    assert_true(picture_line_capacity(room.width) <= line.capacity);
    picture_trace_line(run, PICTURE_TEMPERATURE, &along, &line);
    return line.count;
}

/* A million rows, one of which is odd: it stays, and the room does not grow. */
static void one_odd_reading_in_a_million_shows(void **state)
{
    (void)state;
    picture_layout layout;
    picture_series_begin(&series);
    for (size_t i = 0; i < 1000000; i++) {
        add(&series, (double)i, i == 654321 ? 900 : 500, NAN, NAN);
    }
    assert_int_equal(series.samples, 1000000);
    assert_in_range(series.count, PICTURE_BINS / 4, PICTURE_BINS);
    const size_t count = line_of(&series, INFINITY, &layout);
    float highest = 0, x = 0;
    for (size_t i = 0; i < count; i++) {
        if (points[i].y > highest) {
            highest = points[i].y;
            x = points[i].x;
        }
    }
    assert_in_range(count, 2, 4 * 562);
    assert_near(highest, picture_place(&layout.temperature, 900), 0.01);
    assert_near(x, 560 * 0.654321, 1);
    const picture_extent all = picture_series_extent(&series, PICTURE_TEMPERATURE);
    assert_int_equal(all.count, 1000000);
    assert_near(all.sum, 999999 * 500.0 + 900, 1);
}

/* Times that grow and grow: the early ones are joined, nothing is lost and nothing overflows. */
static void uneven_times_fit_too(void **state)
{
    (void)state;
    picture_series_begin(&series);
    double time_s = 0;
    for (size_t i = 0; i < 20000; i++) {
        time_s += i < 19000 ? 0.001 : 60;
        add(&series, time_s, (double)i, NAN, NAN);
    }
    assert_true(series.count <= PICTURE_BINS);
    assert_int_equal(picture_series_extent(&series, PICTURE_TEMPERATURE).count, 20000);
    assert_true(series.count > 900); /* the last thousand, a minute apart, are not all joined */
    add(&series, 5, 1, NAN, NAN);    /* a clock that steps back moves nothing */
    assert_near(series.bins[series.count - 1].to_s, time_s, 0);
}

static void a_missing_reading_is_a_gap(void **state)
{
    (void)state;
    picture_layout layout;
    picture_series_begin(&series);
    for (size_t i = 0; i < 100; i++) {
        add(&series, 10.0 * (double)i, i >= 40 && i < 60 ? NAN : 100 + (double)i, NAN, NAN);
    }
    size_t count = line_of(&series, INFINITY, &layout);
    assert_int_equal(picture_breaks(points, count), 1);
    for (size_t i = 0; i < count; i++) { /* nothing between the last reading before and the first after */
        assert_false(points[i].x > 560.0F * 391 / 990 && points[i].x < 560.0F * 599 / 990);
    }
}

static void a_pause_of_the_log_is_a_gap(void **state)
{
    (void)state;
    picture_layout layout;
    picture_series_begin(&series);
    for (size_t i = 0; i < 100; i++) {
        add(&series, 10.0 * (double)i + (i >= 50 ? 300 : 0), 100 + (double)i, NAN, NAN);
    }
    assert_int_equal(picture_breaks(points, line_of(&series, 80, &layout)), 1);
    assert_int_equal(picture_breaks(points, line_of(&series, INFINITY, &layout)), 0);
    picture_trace trace = trace_of(&series, "");
    const picture_room room = {560, 300, 48, 52, 26};
    trace.usual_step_s = 10;
    picture_lay_out(&trace, &room, &layout);
    assert_near(layout.gap_s, 80, 1e-9);
}

/* What lies outside the scale is cut at its end: the cut is on the straight line between the two. */
static void a_line_is_cut_at_the_ends_of_the_scale(void **state)
{
    (void)state;
    picture_series_begin(&series);
    add(&series, 0, 50, NAN, NAN);
    add(&series, 100, 150, NAN, NAN);
    add(&series, 200, -50, NAN, NAN);
    const picture_scale time = {0, 200, 200}, value = {0, 100, 100};
    const picture_along along = {&time, &value, 0, INFINITY, false};
    picture_line line = {.points = points, .capacity = 100};
    picture_trace_line(&series, PICTURE_TEMPERATURE, &along, &line);
    assert_int_equal(line.count, 4);
    assert_near(points[1].x, 50, 1e-4);
    assert_near(points[1].y, 100, 1e-4);
    assert_true(points[2].move);
    assert_near(points[2].x, 125, 1e-4);
    assert_near(points[3].x, 175, 1e-4);
    assert_near(points[3].y, 0, 1e-4);
}

static void levels_are_means_and_hold(void **state)
{
    (void)state;
    float levels[4];
    picture_series_begin(&series);
    add(&series, 0, 20, NAN, 100);
    add(&series, 10, 20, NAN, 0);
    add(&series, 60, 20, NAN, 40);
    add(&series, 79, 20, NAN, 40);
    const picture_scale time = {0, 80, 4}, value = {0, 100, 1};
    const picture_along along = {&time, &value, 0, INFINITY, true};
    picture_levels(&series, PICTURE_OUTPUT, &along, levels, 4);
    assert_near(levels[0], 50, 1e-6);
    assert_near(levels[1], 0, 1e-6);
    assert_near(levels[3], 40, 1e-6);
}

/* ---- words
 * -------------------------------------------------------------------------------------------------- */

static void a_far_setpoint_is_told_and_not_drawn(void **state)
{
    (void)state;
    picture_series_begin(&series);
    for (size_t i = 0; i < 50; i++) {
        add(&series, 10.0 * (double)i, 20 - (double)i, 1000, 100);
    }
    picture_trace trace = trace_of(&series, "reversed");
    assert_non_null(strstr(svg(&trace), "setpoint: above the drawing, 1000 °C"));
    assert_non_null(strstr(draw(&trace, 100, true), "setpoint: above the drawing, 1000 °C"));
}

/* Names of files come from anywhere: the drawing stays well-formed. */
static void hostile_words_stay_words(void **state)
{
    (void)state;
    picture_trace trace = ramp();
    trace.title = "a<b>&\"c\" \x01\x1b[31m \xff\xc3 \xed\xa0\x80 \xef\xbf\xbf end";
    svg(&trace);
    assert_non_null(strstr(page, "a&lt;b&gt;&amp;&quot;c&quot;"));
    for (const unsigned char *at = (const unsigned char *)page; *at != '\0'; at++) {
        assert_true(*at >= 32 || *at == '\n');
        assert_true(*at != 0xff);
    }
    assert_null(strstr(page, "\xed\xa0\x80"));
}

static void marks_of_a_moment_have_numbers_and_others_not(void **state)
{
    (void)state;
    static const picture_mark marks[] = {{600, "it stopped"}, {NAN, "half of the power"}};
    picture_trace trace = ramp();
    trace.marks = marks;
    trace.mark_count = 2;
    assert_non_null(strstr(draw(&trace, 100, true), "1 at 10:00: it stopped"));
    assert_non_null(strstr(page, "- whole run: half of the power"));
    assert_non_null(strstr(svg(&trace), "at 10:00: it stopped"));
    assert_null(strstr(page, ">2</text>"));
}

/* The same run gives the same bytes: nothing of the time or the place of the drawing. */
static void the_same_run_gives_the_same_bytes(void **state)
{
    (void)state;
    static char first[sizeof page];
    picture_trace trace = ramp();
    strcpy(first, svg(&trace));
    assert_string_equal(first, svg(&trace));
}

/* Every word of the scene has room: none runs out of the picture, none over another. */
static void words_do_not_touch(void **state)
{
    (void)state;
    static const picture_mark marks[] = {{10, "one"}, {12, "two"}, {3590, "three"}, {3591, "four"}};
    static const picture_limit limits[] = {{0, 600, 260, "500 °F within 10:00"},
                                           {0, 1200, 300, "572 °F within 20:00"},
                                           {0, 1300, 310, "590 °F within 21:40"}};
    picture_canvas canvas = {0};
    ovp_error error = {0};
    picture_trace trace = ramp();
    trace.shown = OVP_TEXT_DEGREES_NONE;
    trace.marks = marks;
    trace.mark_count = 4;
    trace.limits = limits;
    trace.limit_count = 3;
    trace.most_C = 820;
    assert_int_equal(picture_draw(&trace, &canvas, &error), OVP_OK);
    const picture_scene *scene = &canvas.scene;
    for (size_t i = 0; i < scene->item_count; i++) {
        const picture_item *a = &scene->items[i];
        if (a->kind != PICTURE_ITEM_WORDS) {
            continue;
        }
        const double ax = a->x - (a->anchor == PICTURE_END      ? a->room
                                  : a->anchor == PICTURE_MIDDLE ? a->room / 2
                                                                : 0);
        assert_true(ax >= 0 && ax + a->room <= scene->width && a->y <= scene->height);
        for (size_t k = 0; k < i; k++) {
            const picture_item *b = &scene->items[k];
            const double bx = b->x - (b->anchor == PICTURE_END      ? b->room
                                      : b->anchor == PICTURE_MIDDLE ? b->room / 2
                                                                    : 0);
            const bool beside = ax >= bx + b->room || bx >= ax + a->room;
            const bool apart = a->y - 0.75 * a->size >= b->y || b->y - 0.75 * b->size >= a->y;
            if (b->kind == PICTURE_ITEM_WORDS && !beside && !apart) {
                fail_msg("\"%s\" touches \"%s\"", scene->texts + a->text, scene->texts + b->text);
            }
        }
    }
    picture_canvas_free(&canvas);
}

static void a_good_run_is_shifted_to_the_same_start(void **state)
{
    (void)state;
    picture_trace trace = ramp();
    picture_series_begin(&other);
    for (size_t i = 0; i < 100; i++) {
        add(&other, 1000 + 9.0 * (double)i, 20 + 4 * (double)i, NAN, NAN);
    }
    trace.other = &other;
    trace.other_shift_s = -1000;
    trace.other_text = "good run";
    assert_non_null(strstr(svg(&trace), "good run"));
    assert_non_null(strstr(draw(&trace, 100, true), "· good run"));
}

/* What goes on hotter after the run has ended does not press the run flat. */
static void what_is_compared_later_than_the_run_sets_no_scale(void **state)
{
    (void)state;
    picture_layout layout;
    picture_trace trace = ramp();
    picture_series_begin(&other);
    for (size_t i = 0; i < 100; i++) {
        add(&other, 100.0 * (double)i, 20 + 40 * (double)i, NAN, NAN);
    }
    trace.other = &other;
    const picture_room room = {560, 300, 48, 52, 26};
    picture_lay_out(&trace, &room, &layout);
    assert_in_range((int)layout.temperature.high, 1420, 1520); /* 20 + 40 x 35, and the margin */
}

static void names_of_pictures_are_checked(void **state)
{
    (void)state;
    picture_kind kind = PICTURE_PNG;
    ovp_error error = {0};
    assert_int_equal(picture_check("run.svg", &kind, &error), OVP_OK);
    assert_int_equal(kind, PICTURE_SVG);
    assert_int_equal(picture_check("RUN.SVG", &kind, &error), OVP_OK);
    assert_int_equal(picture_check("run.gif", &kind, &error), OVP_ERROR_USAGE);
    assert_int_equal(picture_check(".svg", &kind, &error), OVP_ERROR_USAGE);
    assert_int_equal(picture_check("-", &kind, &error), OVP_ERROR_USAGE);
    assert_non_null(strstr(error.hint, "--plot"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_line_is_wider_than_the_terminal),
        cmocka_unit_test(without_utf8_every_byte_is_ascii),
        cmocka_unit_test(axes_are_minutes_and_the_shown_scale),
        cmocka_unit_test(the_line_goes_where_the_run_goes),
        cmocka_unit_test(a_run_of_nothing_draws_its_frame),
        cmocka_unit_test(one_sample_and_a_flat_run_are_drawn),
        cmocka_unit_test(times_have_the_steps_of_a_clock),
        cmocka_unit_test(both_scales_tell_the_same),
        cmocka_unit_test(labels_are_pushed_apart),
        cmocka_unit_test(one_odd_reading_in_a_million_shows),
        cmocka_unit_test(uneven_times_fit_too),
        cmocka_unit_test(a_missing_reading_is_a_gap),
        cmocka_unit_test(a_pause_of_the_log_is_a_gap),
        cmocka_unit_test(a_line_is_cut_at_the_ends_of_the_scale),
        cmocka_unit_test(levels_are_means_and_hold),
        cmocka_unit_test(a_far_setpoint_is_told_and_not_drawn),
        cmocka_unit_test(hostile_words_stay_words),
        cmocka_unit_test(marks_of_a_moment_have_numbers_and_others_not),
        cmocka_unit_test(the_same_run_gives_the_same_bytes),
        cmocka_unit_test(words_do_not_touch),
        cmocka_unit_test(a_good_run_is_shifted_to_the_same_start),
        cmocka_unit_test(what_is_compared_later_than_the_run_sets_no_scale),
        cmocka_unit_test(names_of_pictures_are_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
