/* trace_compare.c: several runs of one oven beside each other: a short verdict each, one table, what differs.
 */
#include "command/beside.h"
#include "command/trace.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    COLUMNS_MOST = OVP_TRACE_MEASURES + 1,
    NAME_COLUMNS = 20,
    CELL_SIZE = 32,
    TEXT_SIZE = 1200,
    RUNS_IN_FULL = 4, /* more runs get one line each */
};

typedef struct measured_run {
    ovp_trace_measure measures[OVP_TRACE_MEASURES];
    char name[NAME_COLUMNS + 1];
} measured_run;

typedef struct comparison {
    const trace_setting *setting;
    const trace_run *runs;
    measured_run *measured;
    size_t count, mark_count;
    double marks_C[OVP_TRACE_COMPARED_MARKS];
    ovp_text_degrees scale;
    bool shown[OVP_TRACE_MEASURES];
} comparison;

/* ---- numbers ----------------------------------------------------------------------------------------------
 */

/* The end of a long name tells runs apart. */
static void short_name(const char *path, char name[NAME_COLUMNS + 1])
{
    const char *base = path == NULL ? "--times" : path;
    const char *slash = strrchr(base, '/');
    base = slash != NULL && slash[1] != '\0' ? slash + 1 : base;
    const size_t length = strlen(base);
    if (length <= NAME_COLUMNS)
        snprintf(name, NAME_COLUMNS + 1, "%s", base);
    else
        snprintf(name, NAME_COLUMNS + 1, "..%s", base + length - (NAME_COLUMNS - 2));
}

static bool shows_any(const comparison *at, size_t id)
{
    for (size_t i = 0; i < at->count; i++)
        if (isfinite(at->measured[i].measures[id].value))
            return true;
    return false;
}

/* False without memory: the verdicts stand alone then. */
static bool measure(const trace_setting *setting, const trace_run runs[], size_t count, comparison *at)
{
    *at = (comparison){.setting = setting, .runs = runs, .count = count};
    at->scale =
        setting->expectation.shown == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : setting->expectation.shown;
    at->measured = calloc(count, sizeof *at->measured);
    if (at->measured == NULL)
        return false;
    at->mark_count =
        ovp_trace_compare_marks(setting->has_oven ? &setting->oven : NULL, at->scale, at->marks_C);
    for (size_t i = 0; i < count; i++) {
        short_name(runs[i].name, at->measured[i].name);
        ovp_trace_measures(&runs[i].result, runs[i].input.interval_s, at->marks_C, at->mark_count,
                           at->measured[i].measures);
    }
    for (size_t id = 0; id < OVP_TRACE_MEASURES; id++)
        at->shown[id] = shows_any(at, id);
    if (at->shown[OVP_TRACE_MEASURE_HOLD]) /* one of both says it */
        at->shown[OVP_TRACE_MEASURE_WATTS] = false;
    return true;
}

static bool differs(const comparison *at, size_t run, size_t id)
{
    return run > 0 && ovp_trace_measure_differs((ovp_trace_measure_id)id, &at->measured[0].measures[id],
                                                &at->measured[run].measures[id]);
}

static double in_scale(const comparison *at, double difference_C)
{
    return at->scale == OVP_TEXT_DEGREES_F ? difference_C * 1.8 : difference_C;
}

static const char *degrees(const comparison *at)
{
    return at->scale == OVP_TEXT_DEGREES_F   ? "\xC2\xB0"
                                               "F"
           : at->scale == OVP_TEXT_DEGREES_K ? "K"
                                             : "\xC2\xB0"
                                               "C";
}

/* ---- the table --------------------------------------------------------------------------------------------
 */

static void write_head(const comparison *at, size_t id, char cell[CELL_SIZE])
{
    if (id < OVP_TRACE_COMPARED_MARKS) {
        snprintf(cell, CELL_SIZE, "%.0f %s", ovp_text_from_celsius(at->marks_C[id], at->scale), degrees(at));
        return;
    }
    switch ((ovp_trace_measure_id)id) {
    case OVP_TRACE_MEASURE_SLOPE:
        snprintf(cell, CELL_SIZE, "%s/min", degrees(at));
        break;
    case OVP_TRACE_MEASURE_OVERSHOOT:
        snprintf(cell, CELL_SIZE, "over %s", degrees(at));
        break;
    default:
        snprintf(cell, CELL_SIZE, "%s",
                 id == OVP_TRACE_MEASURE_HOLD    ? "hold %"
                 : id == OVP_TRACE_MEASURE_WATTS ? "hold W"
                 : id == OVP_TRACE_MEASURE_DEAD  ? "wait s"
                                                 : "cool /h");
    }
}

static void write_value(const comparison *at, size_t run, size_t id, char cell[CELL_SIZE])
{
    const ovp_trace_measure *one = &at->measured[run].measures[id];
    const char *mark = differs(at, run, id) ? "*" : " ";
    if (isnan(one->value))
        snprintf(cell, CELL_SIZE, "- ");
    else if (id < OVP_TRACE_COMPARED_MARKS)
        snprintf(cell, CELL_SIZE, "%d:%02d%s", (int)(one->value + 0.5) / 60, (int)(one->value + 0.5) % 60,
                 mark);
    else if (id == OVP_TRACE_MEASURE_SLOPE || id == OVP_TRACE_MEASURE_OVERSHOOT)
        snprintf(cell, CELL_SIZE, "%.0f%s", fabs(in_scale(at, one->value)), mark);
    else
        snprintf(cell, CELL_SIZE, "%.*f%s", id == OVP_TRACE_MEASURE_COOLING ? 2 : 0, one->value, mark);
}

/* Row 0 is the head. */
static size_t fill_row(const comparison *at, size_t line, char cells[COLUMNS_MOST][CELL_SIZE],
                       const char *row[COLUMNS_MOST])
{
    size_t count = 1;
    row[0] = line == 0 ? "run" : at->measured[line - 1].name;
    for (size_t id = 0; id < OVP_TRACE_MEASURES; id++) {
        if (!at->shown[id])
            continue;
        if (line == 0)
            write_head(at, id, cells[count]);
        else
            write_value(at, line - 1, id, cells[count]);
        row[count] = cells[count];
        count++;
    }
    return count;
}

static void print_table(const comparison *at)
{
    char cells[COLUMNS_MOST][CELL_SIZE];
    const char *row[COLUMNS_MOST];
    int widths[COLUMNS_MOST] = {0}; /* below zero: to the right */
    size_t count = 0;
    for (size_t line = 0; line <= at->count; line++) {
        count = fill_row(at, line, cells, row);
        for (size_t c = 0; c < count; c++)
            widths[c] = (int)fmax(widths[c], (double)ovp_text_columns(row[c]));
    }
    for (size_t c = 1; c < count; c++)
        widths[c] = -widths[c];
    for (size_t line = 0; line <= at->count; line++) {
        count = fill_row(at, line, cells, row);
        (void)ovp_text_table_row(at->setting->call->out, row, widths, count);
    }
}

/* ---- what differs -----------------------------------------------------------------------------------------
 */

static void append(char text[TEXT_SIZE], const char *piece)
{
    const size_t used = strlen(text);
    snprintf(text + used, TEXT_SIZE - used, "%s%s", used > 0 ? "; " : "", piece);
}

/* The highest mark that both reached says most of the time; of what was not reached, the lowest. */
static void say_marks(const comparison *at, size_t run, char text[TEXT_SIZE])
{
    char piece[120], mark[CELL_SIZE];
    const ovp_trace_measure *first = at->measured[0].measures, *other = at->measured[run].measures;
    for (size_t id = at->mark_count; id-- > 0;) {
        const double by_s = other[id].value - first[id].value;
        if (isnan(by_s))
            continue;
        if (differs(at, run, id)) {
            write_head(at, id, mark);
            const trace_number by = trace_shown_fixed(fabs(by_s) / 60, fabs(by_s) < 600 ? 1 : 0);
            snprintf(piece, sizeof piece, "took %.16s min %s to %s", by.text, by_s > 0 ? "longer" : "less",
                     mark);
            append(text, piece);
        }
        break;
    }
    for (size_t id = 0; id < at->mark_count && at->runs[run].result.cold_start; id++) {
        if (isfinite(first[id].value) && isnan(other[id].value)) {
            write_head(at, id, mark);
            snprintf(piece, sizeof piece, "did not reach %s", mark);
            append(text, piece);
            break;
        }
    }
}

static void say_ratio(const comparison *at, size_t run, size_t id, const char *what, const char *more,
                      const char *less, char text[TEXT_SIZE])
{
    const ovp_trace_measure *first = &at->measured[0].measures[id], *other = &at->measured[run].measures[id];
    char piece[120];
    if (!differs(at, run, id) || !(first->value > 0))
        return;
    const double share = other->value / first->value - 1;
    snprintf(piece, sizeof piece, "%s %.0f %% %s", what, fabs(100 * share), share > 0 ? more : less);
    append(text, piece);
}

static void say_difference(const comparison *at, size_t run, char text[TEXT_SIZE])
{
    char piece[120];
    text[0] = '\0';
    say_marks(at, run, text);
    say_ratio(at, run, OVP_TRACE_MEASURE_SLOPE, "first climb", "faster", "slower", text);
    say_ratio(at, run, at->shown[OVP_TRACE_MEASURE_HOLD] ? OVP_TRACE_MEASURE_HOLD : OVP_TRACE_MEASURE_WATTS,
              "power to hold", "more", "less", text);
    for (size_t id = OVP_TRACE_MEASURE_OVERSHOOT; id <= OVP_TRACE_MEASURE_DEAD; id++) {
        const double by = at->measured[run].measures[id].value - at->measured[0].measures[id].value;
        if (!differs(at, run, id))
            continue;
        if (id == OVP_TRACE_MEASURE_DEAD)
            snprintf(piece, sizeof piece, "first rise %.0f s %s", fabs(by), by > 0 ? "later" : "sooner");
        else
            snprintf(piece, sizeof piece, "overshoot %.0f %s %s", fabs(in_scale(at, by)), degrees(at),
                     by > 0 ? "more" : "less");
        append(text, piece);
    }
    say_ratio(at, run, OVP_TRACE_MEASURE_COOLING, "cools", "faster", "slower", text);
}

static void print_differences(const comparison *at)
{
    char differing[TEXT_SIZE], line[TEXT_SIZE + 80];
    ovp_sink out = at->setting->call->out;
    (void)ovp_text_print(out, "* beside %s, by more than both are uncertain by:\n", at->measured[0].name);
    for (size_t i = 1; i < at->count; i++) {
        say_difference(at, i, differing);
        snprintf(line, sizeof line, "%s: %s.", at->measured[i].name,
                 differing[0] != '\0' ? differing : "no difference that counts");
        ovp_text_fold(out, line, 100, 2, 4);
    }
}

/* ---- verdicts ---------------------------------------------------------------------------------------------
 */

static void print_verdict(const comparison *at, size_t index)
{
    const trace_run *run = &at->runs[index];
    char line[TEXT_SIZE];
    const ovp_diagnosis_fault *fault = run->causes.cause_count > 0 ? run->causes.causes[0].fault : NULL;
    if (run->causes.verdict == OVP_DIAGNOSIS_HEALTHY)
        snprintf(line, sizeof line, "%s: good.", at->measured[index].name);
    else
        snprintf(line, sizeof line, "%s: %s %s: %s%s.", at->measured[index].name,
                 run->result.danger_now                       ? "SWITCH THE HEAT OFF. Trouble."
                 : run->causes.verdict == OVP_DIAGNOSIS_FAULT ? "trouble."
                                                              : "can't tell.",
                 run->causes.verdict == OVP_DIAGNOSIS_FAULT ? "Most likely" : "Possible",
                 fault != NULL ? fault->title : "something that is not on the list",
                 fault != NULL && fault->danger >= 3 ? " (dangerous)" : "");
    ovp_text_fold(at->setting->call->out, line, 100, 0, 2);
    if (run->next == NULL || run->causes.verdict == OVP_DIAGNOSIS_HEALTHY || at->count > RUNS_IN_FULL)
        return;
    snprintf(line, sizeof line, "Next check: %s", run->next->question);
    ovp_text_fold(at->setting->call->out, line, 100, 2, 2);
}

void command_trace_compare(const trace_setting *setting, const trace_run runs[], size_t count)
{
    comparison at;
    if (!measure(setting, runs, count, &at))
        return;
    for (size_t i = 0; i < count; i++)
        print_verdict(&at, i);
    (void)ovp_text_print(
        setting->call->out,
        "\nMinutes:seconds to each mark; first climb; hold; overshoot; wait until it rises; cooling:\n");
    print_table(&at);
    print_differences(&at);
    (void)ovp_text_print(setting->call->out, "Each run in full: --why, or name it alone.\n");
    free(at.measured);
}

/* ---- JSON -------------------------------------------------------------------------------------------------
 */

static void write_run(ovp_text_json *json, const comparison *at, size_t run, size_t id)
{
    const ovp_trace_measure *one = &at->measured[run].measures[id];
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "file", at->runs[run].name != NULL ? at->runs[run].name : "--times");
    ovp_text_json_key_number(json, "value", one->value);
    ovp_text_json_key_number(json, "uncertainty", one->uncertainty);
    if (id == OVP_TRACE_MEASURE_HOLD || id == OVP_TRACE_MEASURE_WATTS)
        ovp_text_json_key_number(json, "at_C", one->at_C);
    ovp_text_json_key_number(
        json, "difference",
        ovp_trace_measure_difference((ovp_trace_measure_id)id, &at->measured[0].measures[id], one));
    ovp_text_json_key_boolean(json, "differs", differs(at, run, id));
    ovp_text_json_end_object(json);
}

void command_trace_compare_json(ovp_text_json *json, const trace_setting *setting, const trace_run runs[],
                                size_t count)
{
    comparison at;
    if (!measure(setting, runs, count, &at))
        return;
    ovp_text_json_key(json, "compared");
    ovp_text_json_begin_array(json);
    for (size_t id = 0; id < OVP_TRACE_MEASURES; id++) {
        if (!shows_any(&at, id))
            continue;
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "measure", ovp_trace_measure_name((ovp_trace_measure_id)id));
        ovp_text_json_key_string(json, "unit", ovp_trace_measure_unit((ovp_trace_measure_id)id));
        ovp_text_json_key_number(json, "to_C", id < OVP_TRACE_COMPARED_MARKS ? at.marks_C[id] : (double)NAN);
        ovp_text_json_key(json, "runs");
        ovp_text_json_begin_array(json);
        for (size_t i = 0; i < count; i++)
            write_run(json, &at, i, id);
        ovp_text_json_end_array(json);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
    free(at.measured);
}
