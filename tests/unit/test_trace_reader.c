/*
 * The dialects of logs, as text: tests/unit/texts/NAME.cases. Each case is read three times, the bytes in one
 * piece, one at a time and in odd pieces; all three must give the same. Format of the files: see the top of
 * texts/dialects.cases.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "ovenproof/trace.h"

enum {
    INPUT_SIZE = 1 << 16,
    LINES = 64,
    LINE_SIZE = 400,
    SAMPLES = 64,
};

typedef struct reading_case {
    char name[LINE_SIZE];
    unsigned char input[INPUT_SIZE];
    size_t input_count;
    char expected[LINES][LINE_SIZE];
    size_t expected_count;
    char warnings[LINES][LINE_SIZE];
    size_t warning_count;
    bool warnings_counted;
    char error[LINE_SIZE], hint[LINE_SIZE], encoding[32], ends[8];
    unsigned long line;
    double interval;
    char columns[OVP_TRACE_COLUMNS][LINE_SIZE];
    ovp_trace_options options;
} reading_case;

typedef struct taken {
    ovp_trace_sample samples[SAMPLES];
    size_t count;
} taken;

typedef struct outcome {
    ovp_status status;
    ovp_error error;
    ovp_trace_input input;
    taken taken;
} outcome;

static void keep(char *to, size_t size, const char *text)
{
    assert_true(ovp_copy_string(to, size, ovp_span_of(text)));
}

static void take(void *context, const ovp_trace_sample *sample)
{
    taken *to = context;
    if (to->count < SAMPLES)
        to->samples[to->count] = *sample;
    to->count++;
}

static void read_in_pieces(const reading_case *one, size_t piece, outcome *result)
{
    void *memory = malloc(ovp_trace_reader_size());
    assert_non_null(memory);
    memset(memory, 0xA5, ovp_trace_reader_size());
    memset(result, 0, sizeof *result);
    ovp_trace_reader *reader = ovp_trace_reader_init(memory, &one->options, take, &result->taken);
    size_t at = 0;
    while (at < one->input_count && result->status == OVP_OK) {
        size_t size = piece > 0 ? piece : 1 + (at * 7 + 3) % 11;
        if (size > one->input_count - at)
            size = one->input_count - at;
        char *copy = malloc(size); /* so that a sanitizer sees a byte read too far */
        assert_non_null(copy);
        memcpy(copy, one->input + at, size);
        result->status = ovp_trace_reader_feed(reader, copy, size, &result->error);
        free(copy);
        at += size;
    }
    if (result->status == OVP_OK)
        result->status = ovp_trace_reader_end(reader, &result->error);
    result->input = *ovp_trace_reader_input(reader);
    free(memory);
}

/* ---- comparing -------------------------------------------------------------------------------------------
 */

static bool same_number(double a, double b)
{
    return (isnan(a) && isnan(b)) || a == b;
}

static bool same_sample(const ovp_trace_sample *a, const ovp_trace_sample *b)
{
    return same_number(a->time_s, b->time_s) && same_number(a->temperature_C, b->temperature_C) &&
           same_number(a->setpoint_C, b->setpoint_C) && same_number(a->output_percent, b->output_percent) &&
           same_number(a->supply_V, b->supply_V) && same_number(a->element_A, b->element_A) &&
           same_number(a->cold_junction_C, b->cold_junction_C) && a->cell == b->cell;
}

static int complain(const reading_case *one, const char *what, const char *wanted, const char *got)
{
    print_error("%s: %s: wanted \"%s\", got \"%s\"\n", one->name, what, wanted, got);
    return 1;
}

static int compare_cuts(const reading_case *one, const outcome *whole, const outcome *cut)
{
    if (whole->status != cut->status || strcmp(whole->error.what, cut->error.what) != 0 ||
        whole->error.line != cut->error.line)
        return complain(one, "cut elsewhere", whole->error.what, cut->error.what);
    if (whole->taken.count != cut->taken.count || whole->input.warning_count != cut->input.warning_count)
        return complain(one, "cut elsewhere", "the same samples and warnings", "others");
    for (size_t i = 0; i < whole->taken.count && i < SAMPLES; i++)
        if (!same_sample(&whole->taken.samples[i], &cut->taken.samples[i]))
            return complain(one, "cut elsewhere", "the same sample", "another");
    return 0;
}

static void show_value(char *to, size_t size, double value)
{
    if (isnan(value))
        snprintf(to, size, " -");
    else
        snprintf(to, size, " %.10g", value);
}

static void show_sample(const ovp_trace_sample *sample, size_t values, char *to, size_t size)
{
    static const char *const words[] = {"?", "empty", "open", "under", "over", "error"};
    const double all[] = {sample->setpoint_C, sample->output_percent, sample->supply_V, sample->element_A,
                          sample->cold_junction_C};
    char text[40];
    snprintf(to, size, "%.10g", sample->time_s);
    if (sample->cell == OVP_TRACE_NUMBER)
        show_value(text, sizeof text, sample->temperature_C);
    else
        snprintf(text, sizeof text, " %s", words[sample->cell]);
    strncat(to, text, size - strlen(to) - 1);
    for (size_t i = 2; i < values && i < 7; i++) {
        show_value(text, sizeof text, all[i - 2]);
        strncat(to, text, size - strlen(to) - 1);
    }
}

static size_t words_in(const char *text)
{
    size_t count = 0;
    for (const char *at = text; *at != '\0'; at++)
        count += *at != ' ' && (at == text || at[-1] == ' ');
    return count;
}

static int compare_samples(const reading_case *one, const outcome *got)
{
    int failures = 0;
    for (size_t i = 0; i < one->expected_count; i++) {
        char shown[LINE_SIZE] = "nothing";
        if (i < got->taken.count)
            show_sample(&got->taken.samples[i], words_in(one->expected[i]), shown, sizeof shown);
        if (strcmp(shown, one->expected[i]) != 0)
            failures += complain(one, "sample", one->expected[i], shown);
    }
    if (one->error[0] == '\0' && got->taken.count != one->expected_count) {
        char count[24];
        snprintf(count, sizeof count, "%zu samples", got->taken.count);
        failures += complain(one, "samples", "those listed", count);
    }
    return failures;
}

static int compare_warnings(const reading_case *one, const outcome *got)
{
    int failures = 0;
    for (size_t i = 0; i < one->warning_count; i++) {
        bool found = false;
        for (size_t k = 0; k < got->input.warning_count && k < OVP_TRACE_WARNINGS; k++)
            found = found || strstr(got->input.warnings[k], one->warnings[i]) != NULL;
        if (!found)
            failures += complain(one, "warning", one->warnings[i], got->input.warnings[0]);
    }
    if (one->warnings_counted && one->warning_count != got->input.warning_count)
        failures +=
            complain(one, "warnings", "only those listed", got->input.warnings[got->input.warning_count - 1]);
    return failures;
}

static int compare_columns(const reading_case *one, const outcome *got)
{
    int failures = 0;
    for (int i = 0; i < OVP_TRACE_COLUMNS; i++)
        if (one->columns[i][0] != '\0' && strcmp(one->columns[i], got->input.columns[i]) != 0)
            failures += complain(one, "column", one->columns[i], got->input.columns[i]);
    if (!isnan(one->interval) && one->interval != got->input.interval_s) {
        char shown[40];
        snprintf(shown, sizeof shown, "%.10g", got->input.interval_s);
        failures += complain(one, "interval", "the one listed", shown);
    }
    return failures;
}

static int run_case(const reading_case *one)
{
    static outcome whole;
    static outcome cut;
    int failures = 0;
    read_in_pieces(one, INPUT_SIZE, &whole);
    read_in_pieces(one, 1, &cut);
    failures += compare_cuts(one, &whole, &cut);
    read_in_pieces(one, 0, &cut);
    failures += compare_cuts(one, &whole, &cut);
    if (one->error[0] != '\0' || whole.status != OVP_OK) {
        if (one->error[0] == '\0' || strstr(whole.error.what, one->error) == NULL)
            failures += complain(one, "error", one->error, whole.error.what);
        if (strstr(whole.error.hint, one->hint) == NULL || whole.error.hint[0] == '\0')
            failures += complain(one, "hint", one->hint, whole.error.hint);
        if (whole.status != OVP_ERROR_DATA)
            failures += complain(one, "status", "3", "another");
        if (one->line != 0 && one->line != whole.error.line) {
            char line[24];
            snprintf(line, sizeof line, "%lu", (unsigned long)whole.error.line);
            failures += complain(one, "line", "the one listed", line);
        }
        return failures;
    }
    return failures + compare_samples(one, &whole) + compare_warnings(one, &whole) +
           compare_columns(one, &whole);
}

/* ---- the files of cases -------------------------------------------------------------------------- */

static void add_byte(reading_case *one, unsigned char byte)
{
    assert_true(one->input_count < INPUT_SIZE);
    one->input[one->input_count++] = byte;
}

static void add_code(reading_case *one, unsigned code)
{
    if (strncmp(one->encoding, "utf-16le", 8) == 0) {
        add_byte(one, (unsigned char)(code & 0xFF));
        add_byte(one, (unsigned char)(code >> 8));
    } else if (strcmp(one->encoding, "utf-16be") == 0) {
        add_byte(one, (unsigned char)(code >> 8));
        add_byte(one, (unsigned char)(code & 0xFF));
    } else if (strcmp(one->encoding, "latin-1") == 0 || code < 0x80) {
        add_byte(one, (unsigned char)code);
    } else if (code < 0x800) {
        add_byte(one, (unsigned char)(0xC0 | code >> 6));
        add_byte(one, (unsigned char)(0x80 | (code & 0x3F)));
    } else {
        add_byte(one, (unsigned char)(0xE0 | code >> 12));
        add_byte(one, (unsigned char)(0x80 | (code >> 6 & 0x3F)));
        add_byte(one, (unsigned char)(0x80 | (code & 0x3F)));
    }
}

static unsigned next_code(const char **at)
{
    const unsigned char *bytes = (const unsigned char *)*at;
    if (bytes[0] < 0x80) {
        *at += 1;
        return bytes[0];
    }
    if (bytes[0] < 0xE0) {
        *at += 2;
        return (bytes[0] & 0x1FU) << 6 | (bytes[1] & 0x3FU);
    }
    *at += 3;
    return (bytes[0] & 0x0FU) << 12 | (bytes[1] & 0x3FU) << 6 | (bytes[2] & 0x3FU);
}

/* \t tab, \0 zero byte, \r return, \. at the end: no line end */
static void add_input(reading_case *one, const char *text)
{
    bool ended = true;
    while (*text != '\0') {
        if (text[0] != '\\') {
            add_code(one, next_code(&text));
            continue;
        }
        char escape = text[1];
        text += 2;
        if (escape == 't')
            add_code(one, '\t');
        else if (escape == '0')
            add_byte(one, 0);
        else if (escape == 'r')
            add_code(one, '\r');
        else if (escape == '.')
            ended = false;
        else
            fail_msg("%s: unknown escape", one->name);
    }
    if (!ended)
        return;
    if (strcmp(one->ends, "lf") != 0)
        add_code(one, '\r');
    if (strcmp(one->ends, "cr") != 0)
        add_code(one, '\n');
}

static void add_mark(reading_case *one)
{
    if (one->input_count == 0 && strstr(one->encoding, "utf-16") != NULL &&
        strstr(one->encoding, "bare") == NULL)
        add_code(one, 0xFEFF);
}

static char *rest_of(char *line, const char *word)
{
    size_t length = strlen(word);
    if (strncmp(line, word, length) != 0)
        return NULL;
    line += length;
    return *line == ' ' ? line + 1 : line;
}

static void set_column(const char *columns[OVP_TRACE_COLUMNS], char *text)
{
    static char kept[OVP_TRACE_COLUMNS][LINE_SIZE];
    char *sign = strchr(text, '=');
    assert_non_null(sign);
    *sign = '\0';
    for (int i = 0; i < OVP_TRACE_COLUMNS; i++)
        if (strcmp(text, ovp_trace_column_name((ovp_trace_column)i)) == 0) {
            keep(kept[i], LINE_SIZE, sign + 1);
            columns[i] = kept[i];
        }
}

static void set_option(reading_case *one, char *text)
{
    char *rest = NULL;
    if ((rest = rest_of(text, "--column")) != NULL)
        set_column(one->options.column, rest);
    else if ((rest = rest_of(text, "--degrees")) != NULL)
        assert_true(ovp_text_degrees_named(ovp_span_of(rest), &one->options.degrees));
    else if ((rest = rest_of(text, "--dates")) != NULL)
        one->options.date_order = strcmp(rest, "day-first") == 0 ? 1 : 2;
    else if ((rest = rest_of(text, "--time-unit")) != NULL)
        one->options.time_unit_s = strcmp(rest, "h") == 0 ? 3600.0 : strcmp(rest, "min") == 0 ? 60.0 : 1.0;
    else
        fail_msg("%s: unknown option %s", one->name, text);
}

static void add_expected_column(reading_case *one, char *text)
{
    char *sign = strchr(text, '=');
    assert_non_null(sign);
    *sign = '\0';
    for (int i = 0; i < OVP_TRACE_COLUMNS; i++)
        if (strcmp(text, ovp_trace_column_name((ovp_trace_column)i)) == 0)
            keep(one->columns[i], LINE_SIZE, sign + 1);
}

static void read_line(reading_case *one, char *line)
{
    char *rest = NULL;
    if (line[0] == '\0' || line[0] == '#')
        return;
    if ((rest = rest_of(line, "<")) != NULL) {
        add_mark(one);
        add_input(one, rest);
    } else if ((rest = rest_of(line, ">")) != NULL)
        keep(one->expected[one->expected_count++], LINE_SIZE, rest);
    else if ((rest = rest_of(line, "warning:")) != NULL)
        keep(one->warnings[one->warning_count++], LINE_SIZE, rest);
    else if (strcmp(line, "no other warning") == 0)
        one->warnings_counted = true;
    else if ((rest = rest_of(line, "error:")) != NULL)
        keep(one->error, LINE_SIZE, rest);
    else if ((rest = rest_of(line, "hint:")) != NULL)
        keep(one->hint, LINE_SIZE, rest);
    else if ((rest = rest_of(line, "line:")) != NULL)
        one->line = strtoul(rest, NULL, 10);
    else if ((rest = rest_of(line, "interval:")) != NULL)
        one->interval = strtod(rest, NULL);
    else if ((rest = rest_of(line, "column:")) != NULL)
        add_expected_column(one, rest);
    else if ((rest = rest_of(line, "encoding:")) != NULL)
        keep(one->encoding, sizeof one->encoding, rest);
    else if ((rest = rest_of(line, "ends:")) != NULL)
        keep(one->ends, sizeof one->ends, rest);
    else if ((rest = rest_of(line, "option:")) != NULL)
        set_option(one, rest);
    else
        fail_msg("%s: what is this line? %s", one->name, line);
}

static void begin_case(reading_case *one, const char *name)
{
    memset(one, 0, sizeof *one);
    keep(one->name, LINE_SIZE, name);
    snprintf(one->ends, sizeof one->ends, "lf");
    one->interval = NAN;
    ovp_trace_options_init(&one->options);
}

static void run_file(const char *path)
{
    static reading_case one;
    char line[LINE_SIZE * 4];
    FILE *file = fopen(path, "r");
    int failures = 0;
    int cases = 0;
    assert_non_null(file);
    begin_case(&one, "");
    while (fgets(line, sizeof line, file) != NULL) {
        line[strcspn(line, "\n")] = '\0';
        if (strncmp(line, "== ", 3) != 0) {
            read_line(&one, line);
            continue;
        }
        if (one.name[0] != '\0')
            failures += run_case(&one);
        begin_case(&one, line + 3);
        cases++;
    }
    failures += run_case(&one);
    fclose(file);
    print_message("%s: %d cases\n", path, cases);
    assert_true(cases > 0);
    assert_int_equal(failures, 0);
}

static void reads_every_dialect(void **state)
{
    (void)state;
    run_file(TREE "/tests/unit/texts/dialects.cases");
}

static void refuses_what_is_no_log(void **state)
{
    (void)state;
    run_file(TREE "/tests/unit/texts/refusals.cases");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_every_dialect),
        cmocka_unit_test(refuses_what_is_no_log),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
