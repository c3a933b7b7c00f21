/* What a person types beside an oven: lines, the log, its file, the clock. */
#include "ovenproof/trace_stopwatch.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    ENTRIES = 64,
};

typedef struct record {
    ovp_oven oven;
    ovp_trace_log_entry entries[ENTRIES];
    ovp_trace_log log;
} record;

static void begin(record *at)
{
    ovp_oven_init(&at->oven);
    at->oven.heat_up_count = 2;
    at->oven.heat_up[0] = (ovp_oven_limit){ovp_text_to_celsius(500, OVP_TEXT_DEGREES_F), 240};
    at->oven.heat_up[1] = (ovp_oven_limit){ovp_text_to_celsius(1000, OVP_TEXT_DEGREES_F), 480};
    ovp_trace_log_init(&at->log, at->entries, ENTRIES, "QR8-001", &at->oven, NULL, OVP_TEXT_DEGREES_F);
}

static ovp_status type(record *at, double time_s, const char *line, ovp_error *error)
{
    ovp_trace_typed typed;
    size_t changed;
    ovp_status status = ovp_trace_typed_read(ovp_span_of(line), 1, &typed, error);
    return status == OVP_OK ? ovp_trace_log_take(&at->log, &typed, time_s, &changed, error) : status;
}

static void must(record *at, double time_s, const char *line)
{
    ovp_error error = {0};
    if (type(at, time_s, line, &error) != OVP_OK)
        fail_msg("\"%s\": %s", line, error.what);
}

static void must_not(record *at, double time_s, const char *line, const char *why)
{
    ovp_error error = {0};
    assert_int_equal(type(at, time_s, line, &error), OVP_ERROR_DATA);
    if (strstr(error.what, why) == NULL)
        fail_msg("\"%s\": %s", line, error.what);
    assert_true(error.hint[0] != '\0');
}

/* contract: the words that `help` lists */
static void test_lines(void **state)
{
    static const struct {
        const char *line;
        size_t ovens;
        ovp_trace_typed_kind kind;
        unsigned oven;
        double value;
        ovp_text_degrees degrees;
        bool insists;
    } rows[] = {
        {"412", 1, OVP_TRACE_TYPED_READING, 0, 412, OVP_TEXT_DEGREES_NONE, false},
        {" 412 F ", 1, OVP_TRACE_TYPED_READING, 0, 412, OVP_TEXT_DEGREES_F, false},
        {"211C", 1, OVP_TRACE_TYPED_READING, 0, 211, OVP_TEXT_DEGREES_C, false},
        {"4120!", 1, OVP_TRACE_TYPED_READING, 0, 4120, OVP_TEXT_DEGREES_NONE, true},
        {"-5", 1, OVP_TRACE_TYPED_READING, 0, -5, OVP_TEXT_DEGREES_NONE, false},
        {"2", 1, OVP_TRACE_TYPED_READING, 0, 2, OVP_TEXT_DEGREES_NONE, false},
        {"2 412", 2, OVP_TRACE_TYPED_READING, 2, 412, OVP_TEXT_DEGREES_NONE, false},
        {"1 412", 1, OVP_TRACE_TYPED_READING, 1, 412, OVP_TEXT_DEGREES_NONE, false},
        {"2 2", 2, OVP_TRACE_TYPED_READING, 2, 2, OVP_TEXT_DEGREES_NONE, false},
        {"2", 2, OVP_TRACE_TYPED_MARK, 2, NAN, OVP_TEXT_DEGREES_NONE, false},
        {"", 2, OVP_TRACE_TYPED_MARK, 0, NAN, OVP_TEXT_DEGREES_NONE, false},
        {"5 C", 9, OVP_TRACE_TYPED_READING, 0, 5, OVP_TEXT_DEGREES_C, false},
        {"v 117.5", 1, OVP_TRACE_TYPED_VOLTS, 0, 117.5, OVP_TEXT_DEGREES_NONE, false},
        {"2 a16.9", 2, OVP_TRACE_TYPED_AMPS, 2, 16.9, OVP_TEXT_DEGREES_NONE, false},
        {"o 60%", 1, OVP_TRACE_TYPED_OUTPUT, 0, 60, OVP_TEXT_DEGREES_NONE, false},
        {"s 2000F", 1, OVP_TRACE_TYPED_SETPOINT, 0, 2000, OVP_TEXT_DEGREES_F, false},
        {"heat off", 1, OVP_TRACE_TYPED_HEAT_OFF, 0, NAN, OVP_TEXT_DEGREES_NONE, false},
        {"1 DOOR", 2, OVP_TRACE_TYPED_DOOR, 1, NAN, OVP_TEXT_DEGREES_NONE, false},
        {"open", 1, OVP_TRACE_TYPED_READING, 0, NAN, OVP_TEXT_DEGREES_NONE, false},
        {"----", 1, OVP_TRACE_TYPED_READING, 0, NAN, OVP_TEXT_DEGREES_NONE, false},
        {"undo", 1, OVP_TRACE_TYPED_UNDO, 0, NAN, OVP_TEXT_DEGREES_NONE, false},
        {"q", 1, OVP_TRACE_TYPED_END, 0, NAN, OVP_TEXT_DEGREES_NONE, false},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_trace_typed typed;
        ovp_error error = {0};
        if (ovp_trace_typed_read(ovp_span_of(rows[i].line), rows[i].ovens, &typed, &error) != OVP_OK)
            fail_msg("\"%s\": %s", rows[i].line, error.what);
        if (typed.kind != rows[i].kind || typed.oven != rows[i].oven || typed.degrees != rows[i].degrees ||
            typed.insists != rows[i].insists || isnan(typed.value) != isnan(rows[i].value) ||
            fabs(typed.value - rows[i].value) > 1e-9)
            fail_msg("\"%s\": kind %d, oven %u, value %g", rows[i].line, (int)typed.kind, typed.oven,
                     typed.value);
    }
}

static void test_lines_refused(void **state)
{
    static const char *const lines[] = {"hello",  "v", "v hot", "o 120",   "v -3",  "3 412",
                                        "@x 412", "@", "note",  "v 2 117", "-500C", "the door opened",
                                        "412 F x"};
    (void)state;
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        ovp_trace_typed typed;
        ovp_error error = {0};
        if (ovp_trace_typed_read(ovp_span_of(lines[i]), 2, &typed, &error) != OVP_ERROR_DATA)
            fail_msg("\"%s\" was taken", lines[i]);
        assert_true(error.what[0] != '\0' && error.hint[0] != '\0');
    }
}

static void test_times(void **state)
{
    ovp_trace_typed typed;
    (void)state;
    assert_int_equal(ovp_trace_typed_read(ovp_span_of("@19:40 1000"), 1, &typed, NULL), OVP_OK);
    assert_true(fabs(typed.at_s - (1180)) < 1e-9);
    assert_int_equal(ovp_trace_typed_read(ovp_span_of("@12.5"), 1, &typed, NULL), OVP_OK);
    assert_true(fabs(typed.at_s - (12.5)) < 1e-9);
    assert_int_equal(typed.kind, OVP_TRACE_TYPED_MARK);
}

/* The marks are the oven's heat-up limits, counted from heat on. */
static void test_marks(void **state)
{
    record at;
    ovp_trace_log_state stand;
    (void)state;
    begin(&at);
    must(&at, 0, "74");
    must(&at, 10, "");
    ovp_trace_log_stand(&at.log, &stand);
    assert_true(stand.heat);
    assert_int_equal(stand.next, 0);
    assert_true(fabs(stand.next_due_s - (250)) < 1e-9);
    must_not(&at, 12, "", "no oven heats so fast"); /* Enter by a slip */
    must(&at, 230, "");
    must_not(&at, 231, "on", "on already");
    ovp_trace_log_stand(&at.log, &stand);
    assert_int_equal(stand.next, 1);
    must(&at, 400, "1001"); /* a reading past the mark counts as well */
    ovp_trace_log_stand(&at.log, &stand);
    assert_true(isnan(stand.next_C));
    must_not(&at, 401, "", "all marks");
    must(&at, 402, "off");
    must_not(&at, 403, "", "heat is off");
    must_not(&at, 300, "990", "before the last line");
}

/* judgement: trace-limits.csv jump_rate_C_per_s, 10 °F a second where the oven is not known */
static void test_slips(void **state)
{
    record at;
    (void)state;
    begin(&at);
    must(&at, 0, "74");
    must_not(&at, 10, "740", "no oven heats so fast");
    must(&at, 10, "740!");
    must_not(&at, 20, "9999", "more than this display");
    must_not(&at, 20, "-500F", "below absolute zero");
    must(&at, 40, "v 239");
    must(&at, 50, "undo");
    must(&at, 51, "undo");
    must(&at, 52, "80"); /* judged beside 74 again */
    must(&at, 53, "undo");
    must(&at, 54, "undo");
    must_not(&at, 55, "undo", "nothing to undo");
}

static ovp_status add(void *context, const char *bytes, size_t count)
{
    strncat(context, bytes, count);
    return OVP_OK;
}

/* The file alone brings the log back; nothing that was typed is missing from it. */
static void test_file(void **state)
{
    static const char *const lines[] = {"74",   "on",       "90",   "v 239", "note seal, new", "98!",
                                        "undo", "open",     "door", "95",    "shut",           "s 1500",
                                        "o 60", "mark 500", "off",  "211C"};
    static char first[8192], second[8192];
    record at, again;
    bool torn;
    (void)state;
    begin(&at);
    (void)ovp_copy_string(at.log.began, sizeof at.log.began, ovp_span_of("2026-11-25T14:02:11Z"));
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        must(&at, 60.5 * (double)i, lines[i]);
    first[0] = second[0] = '\0';
    assert_int_equal(ovp_trace_log_write(&at.log, (ovp_sink){add, first}), OVP_OK);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        if (i + 1 < sizeof lines / sizeof lines[0] && strstr(first, lines[i]) == NULL)
            fail_msg("\"%s\" is not in the file", lines[i]);
    begin(&again);
    assert_int_equal(ovp_trace_log_read(&again.log, ovp_span_of(first), &torn, NULL), OVP_OK);
    assert_false(torn);
    assert_int_equal(ovp_trace_log_write(&again.log, (ovp_sink){add, second}), OVP_OK);
    assert_string_equal(first, second);
    assert_string_equal(again.log.began, "2026-11-25T14:02:11Z");
    first[strlen(first) - 1] = '\0'; /* cut in the last row: every line before it stands */
    begin(&again);
    assert_int_equal(ovp_trace_log_read(&again.log, ovp_span_of(first), &torn, NULL), OVP_OK);
    assert_true(torn);
    assert_int_equal(again.log.count, at.log.count);
}

static void test_file_refused(void **state)
{
    static const char *const texts[] = {
        "", "time_s,temperature_F\n0,74\n", "# ovenproof stopwatch 1\n#> x 74\n",
        "# ovenproof stopwatch 1\n#> 5 74\n#> 4 75\n", "# ovenproof stopwatch 1\n# degrees: X\n"};
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        record at;
        bool torn;
        ovp_error error = {0};
        begin(&at);
        assert_int_equal(ovp_trace_log_read(&at.log, ovp_span_of(texts[i]), &torn, &error), OVP_ERROR_DATA);
        assert_true(error.what[0] != '\0');
    }
}

typedef struct rows {
    ovp_trace_sample row[32];
    size_t count;
} rows;

static void keep_row(void *context, const ovp_trace_sample *sample)
{
    rows *to = context;
    to->row[to->count++] = *sample;
}

static void test_rows(void **state)
{
    record at;
    rows seen = {.count = 0};
    (void)state;
    begin(&at);
    must(&at, 0, "74");
    must(&at, 10, "on");
    must(&at, 40, "110");
    must(&at, 45, "v 238");
    must(&at, 90, "200"); /* 238 V is nearer to 110 */
    must(&at, 95, "door");
    must(&at, 100, "190");
    must(&at, 110, "shut");
    must(&at, 120, "off");
    must(&at, 300, "a 0.1"); /* no reading near */
    must(&at, 400, "150");
    ovp_trace_log_samples(&at.log, keep_row, &seen);
    assert_int_equal(seen.count, 10);
    assert_true(fabs(seen.row[0].output_percent) < 1e-9);
    assert_true(fabs(seen.row[1].time_s - 9.9) < 1e-9); /* a step, no slope */
    assert_true(fabs(seen.row[1].output_percent) < 1e-9);
    assert_true(isnan(seen.row[2].temperature_C));
    assert_true(fabs(seen.row[2].output_percent - 100) < 1e-9);
    assert_true(fabs(seen.row[3].supply_V - 238) < 1e-9);
    assert_true(isnan(seen.row[4].supply_V));
    assert_true(isnan(seen.row[5].output_percent)); /* the door is open: nobody knows */
    assert_true(fabs(seen.row[6].output_percent - 100) < 1e-9);
    assert_true(fabs(seen.row[7].output_percent) < 1e-9);
    assert_true(fabs(seen.row[8].element_A - 0.1) < 1e-9);
    assert_true(fabs(seen.row[9].temperature_C - (150 - 32) / 1.8) < 1e-9);
}

/* common practice, no published source: the first minutes are watched */
static void test_wishes(void **state)
{
    record at;
    ovp_trace_log_state stand;
    (void)state;
    begin(&at);
    ovp_trace_log_stand(&at.log, &stand);
    assert_int_equal(ovp_trace_log_wants(&at.log, &stand, 0), OVP_TRACE_WISH_COLD);
    must(&at, 0, "74");
    ovp_trace_log_stand(&at.log, &stand);
    assert_int_equal(ovp_trace_log_wants(&at.log, &stand, 5), OVP_TRACE_WISH_HEAT);
    must(&at, 10, "on");
    ovp_trace_log_stand(&at.log, &stand);
    assert_int_equal(ovp_trace_log_wants(&at.log, &stand, 20), OVP_TRACE_WISH_MARK);
    assert_int_equal(ovp_trace_log_wants(&at.log, &stand, 30), OVP_TRACE_WISH_AGAIN);
    must(&at, 130, "300");
    ovp_trace_log_stand(&at.log, &stand);
    assert_int_equal(ovp_trace_log_wants(&at.log, &stand, 200), OVP_TRACE_WISH_MARK);
    assert_int_equal(ovp_trace_log_wants(&at.log, &stand, 260), OVP_TRACE_WISH_LATE);
    assert_int_equal(ovp_trace_log_wants(&at.log, &stand, 430), OVP_TRACE_WISH_AGAIN);
}

static void test_clock(void **state)
{
    ovp_trace_log_clock clock;
    double stepped_s;
    (void)state;
    ovp_trace_log_clock_begin(&clock, 1000, 5000, 0);
    assert_true(fabs(ovp_trace_log_clock_look(&clock, 1010, 5010.4, &stepped_s) - (10)) < 1e-9);
    assert_true(fabs(stepped_s - (0)) < 1e-9);
    assert_true(fabs(ovp_trace_log_clock_look(&clock, 1011, 5311.4, &stepped_s) - (311)) < 1e-9); /* slept */
    assert_true(fabs(stepped_s - (300)) < 1e-9);
    assert_true(fabs(ovp_trace_log_clock_look(&clock, 1021, 1721.4, &stepped_s) - (321)) <
                1e-9); /* set back */
    assert_true(stepped_s < 0);
    assert_true(fabs(ovp_trace_log_clock_look(&clock, 1022, 1722.4, &stepped_s) - (322)) < 1e-9);
    assert_true(fabs(stepped_s - (0)) < 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lines),        cmocka_unit_test(test_lines_refused),
        cmocka_unit_test(test_times),        cmocka_unit_test(test_marks),
        cmocka_unit_test(test_slips),        cmocka_unit_test(test_file),
        cmocka_unit_test(test_file_refused), cmocka_unit_test(test_rows),
        cmocka_unit_test(test_wishes),       cmocka_unit_test(test_clock),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
