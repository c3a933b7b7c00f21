/* terminal.c: a run as text. */
#include "picture/picture_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum {
    LABEL = 7, /* columns of the scale at the left, its line included */
};

bool picture_utf8(void)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *value = getenv(names[i]);
        if (!value || !*value) {
            continue;
        }
        const char *point = strchr(value, '.');
        return point && (strncasecmp(point + 1, "UTF-8", 5) == 0 || strncasecmp(point + 1, "UTF8", 4) == 0);
    }
    return false;
}

/* ---- scales ----------------------------------------------------------------------------------------------
 */

typedef struct plot_frame {
    double from_s, to_s, low, high, step; /* temperatures in the shown unit */
    double unit_s;                        /* 60: minutes */
    const char *unit;
    ovp_text_degrees degrees;
    picture_grid grid;
} plot_frame;

static double shown(const plot_frame *frame, double value_C)
{
    return ovp_text_from_celsius(value_C, frame->degrees);
}

static double x_of(const plot_frame *frame, double time_s)
{
    double dots = (double)(frame->grid.columns * PICTURE_DOTS_X - 1);
    return dots * (time_s - frame->from_s) / (frame->to_s - frame->from_s);
}

static double y_of(const plot_frame *frame, double value)
{
    double dots = (double)(frame->grid.rows * PICTURE_DOTS_Y - 1);
    return dots * (value - frame->low) / (frame->high - frame->low);
}

static void span(plot_frame *frame, const ovp_trace_sample points[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        double here = shown(frame, points[i].temperature_C);
        if (!isnan(here)) {
            frame->low = fmin(frame->low, here);
            frame->high = fmax(frame->high, here);
        }
    }
}

static void set_scales(plot_frame *frame, const picture_trace *trace, size_t rows)
{
    frame->low = INFINITY;
    frame->high = -INFINITY;
    span(frame, trace->points, trace->count);
    span(frame, trace->other, trace->other_count);
    double top = frame->high;
    for (size_t i = 0; i < trace->count; i++) { /* a setpoint far above is cut: the run is what matters */
        double setpoint = shown(frame, trace->points[i].setpoint_C);
        if (setpoint <= top + 0.35 * (top - frame->low)) {
            frame->high = fmax(frame->high, setpoint);
        }
    }
    if (!isfinite(frame->low)) {
        frame->low = 0;
        frame->high = 1;
    }
    if (frame->high - frame->low < 4) {
        frame->high += 2;
        frame->low -= 2;
    }
    frame->step = picture_step(frame->high - frame->low, rows / 3);
    double margin = 0.02 * (frame->high - frame->low);
    frame->high += margin;
    frame->low -= margin;
    frame->from_s = trace->count ? trace->points[0].time_s : 0;
    frame->to_s = trace->count ? trace->points[trace->count - 1].time_s : 1;
    if (frame->to_s <= frame->from_s) {
        frame->to_s = frame->from_s + 1;
    }
    double length_s = frame->to_s - frame->from_s;
    frame->unit_s = length_s > 5 * 86400.0 ? 86400 : length_s > 36000 ? 3600 : 60;
    frame->unit = length_s > 5 * 86400.0 ? "days" : length_s > 36000 ? "h" : "min";
}

/* ---- lines ------------------------------------------------------------------------------------------------
 */

static void draw_temperature(plot_frame *frame, const ovp_trace_sample points[], size_t count)
{
    double before_x = NAN, before_y = NAN;
    for (size_t i = 0; i < count; i++) {
        double x = x_of(frame, points[i].time_s), y = y_of(frame, shown(frame, points[i].temperature_C));
        if (!isnan(y)) {
            picture_grid_stroke(&frame->grid, isnan(before_y) ? x : before_x, isnan(before_y) ? y : before_y,
                                x, y);
        }
        before_x = x;
        before_y = y;
    }
}

static void lay_series(plot_frame *frame, const ovp_trace_sample points[], size_t count, bool setpoint)
{
    for (size_t column = 0; column < frame->grid.columns; column++) {
        double time_s = frame->from_s +
                        (frame->to_s - frame->from_s) * ((double)column + 0.5) / (double)frame->grid.columns;
        size_t i = 0;
        while (i + 1 < count && points[i + 1].time_s <= time_s) {
            i++;
        }
        if (!count || (!setpoint && time_s > points[count - 1].time_s)) {
            continue;
        }
        double value_C = setpoint ? points[i].setpoint_C : points[i].temperature_C;
        picture_grid_lay(&frame->grid, (double)(column * PICTURE_DOTS_X), y_of(frame, shown(frame, value_C)),
                         setpoint ? PICTURE_LINE_SETPOINT : PICTURE_LINE_OTHER);
    }
}

static bool mark_column(const plot_frame *frame, const picture_mark *mark, size_t *column)
{
    double x = x_of(frame, mark->time_s) / PICTURE_DOTS_X;
    if (!(x >= 0) || x > (double)frame->grid.columns) {
        return false;
    }
    *column = x < (double)frame->grid.columns ? (size_t)x : frame->grid.columns - 1;
    return true;
}

static void lay_marks(plot_frame *frame, const picture_trace *trace)
{
    size_t column;
    for (size_t i = 0; i < trace->mark_count; i++) {
        if (!mark_column(frame, &trace->marks[i], &column)) {
            continue;
        }
        for (size_t row = 0; row < frame->grid.rows; row++) {
            if (!frame->grid.line[row][column]) {
                frame->grid.line[row][column] = PICTURE_LINE_MARK;
            }
        }
    }
}

/* ---- rows of text
 * ------------------------------------------------------------------------------------------ */

static void print_rows(ovp_sink sink, const plot_frame *frame)
{
    const picture_grid *grid = &frame->grid;
    for (size_t row = 0; row < grid->rows; row++) {
        char label[OVP_TEXT_NUMBER_SIZE] = "", letter[5];
        double bottom =
            frame->low + (frame->high - frame->low) * (double)(grid->rows - 1 - row) / (double)grid->rows;
        double top =
            frame->low + (frame->high - frame->low) * (double)(grid->rows - row) / (double)grid->rows;
        double tick = frame->step * ceil(bottom / frame->step - 1e-9);
        bool has = tick < top - 1e-9;
        if (has) {
            ovp_text_format_fixed(tick, frame->step < 1 ? 1 : 0, label, sizeof label);
        }
        ovp_text_print(sink, "%*s %s", LABEL - 2, label, grid->utf8 ? "│" : has ? "+" : "|");
        size_t last = 0;
        for (size_t column = 0; column < grid->columns; column++) {
            if (picture_grid_letter(grid, row, column, letter)[0] != ' ') {
                last = column + 1;
            }
        }
        for (size_t column = 0; column < last; column++) {
            ovp_text_print(sink, "%s", picture_grid_letter(grid, row, column, letter));
        }
        ovp_text_print(sink, "\n");
    }
}

/* The time axis: a line with ticks, and the numbers below. */
static void print_axis(ovp_sink sink, const plot_frame *frame)
{
    size_t columns = frame->grid.columns;
    bool utf8 = frame->grid.utf8;
    double step = picture_step((frame->to_s - frame->from_s) / frame->unit_s, columns / 12);
    char numbers[PICTURE_COLUMNS + 32], ticks[PICTURE_COLUMNS];
    memset(numbers, ' ', sizeof numbers);
    memset(ticks, 0, sizeof ticks);
    size_t end = 0;
    for (double at = step * ceil(frame->from_s / frame->unit_s / step - 1e-9);
         at * frame->unit_s <= frame->to_s + 1e-9; at += step) {
        double x = x_of(frame, at * frame->unit_s) / PICTURE_DOTS_X;
        size_t column = x < (double)columns ? (size_t)x : columns - 1;
        char label[OVP_TEXT_NUMBER_SIZE];
        size_t length = ovp_text_format_fixed(at, step < 1 ? 1 : 0, label, sizeof label);
        ticks[column] = 1;
        if ((column >= end || !end) && column + length <= columns + 1) {
            memcpy(numbers + column, label, length);
            end = column + length + 1;
        }
    }
    numbers[end ? end - 1 : 0] = '\0';
    ovp_text_print(sink, "%*s%s", LABEL - 1, "", utf8 ? "└" : "+");
    for (size_t column = 0; column < columns; column++) {
        ovp_text_print(sink, "%s", utf8 ? ticks[column] ? "┬" : "─" : ticks[column] ? "+" : "-");
    }
    ovp_text_print(sink, "\n%*s %s\n", LABEL - 1, frame->unit, numbers);
}

static const char *level(double percent, bool utf8)
{
    static const char *const blocks[] = {" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    static const char *const letters[] = {" ", ".", ".", ":", ":", "=", "=", "#", "#"};
    if (isnan(percent)) {
        return " ";
    }
    double step = percent <= 0 ? 0 : fmin(fmax(ceil(percent / 12.5 - 0.5), 1), 8);
    return (utf8 ? blocks : letters)[(size_t)step];
}

/* Mean output of each column. */
static void print_output(ovp_sink sink, const plot_frame *frame, const picture_trace *trace)
{
    double sums[PICTURE_COLUMNS] = {0};
    size_t counts[PICTURE_COLUMNS] = {0}, any = 0;
    for (size_t i = 0; i < trace->count; i++) {
        double x = x_of(frame, trace->points[i].time_s) / PICTURE_DOTS_X;
        size_t column = x < (double)frame->grid.columns ? (size_t)fmax(x, 0) : frame->grid.columns - 1;
        if (!isnan(trace->points[i].output_percent)) {
            sums[column] += trace->points[i].output_percent;
            counts[column]++;
            any++;
        }
    }
    if (!any) {
        return;
    }
    ovp_text_print(sink, "%*s %s", LABEL - 2, "out %", frame->grid.utf8 ? "│" : "|");
    double held = NAN;
    for (size_t column = 0; column < frame->grid.columns; column++) {
        held = counts[column] ? sums[column] / (double)counts[column]
                              : held; /* sparse logs leave columns empty */
        ovp_text_print(sink, "%s", level(held, frame->grid.utf8));
    }
    ovp_text_print(sink, "\n");
}

static void print_marks(ovp_sink sink, const plot_frame *frame, const picture_trace *trace, size_t width)
{
    char letters[PICTURE_COLUMNS + 1];
    size_t last = 0, column;
    memset(letters, ' ', sizeof letters);
    for (size_t i = 0; i < trace->mark_count; i++) {
        if (mark_column(frame, &trace->marks[i], &column)) {
            while (column + 1 < frame->grid.columns && letters[column] != ' ') {
                column++; /* marks of one moment stand side by side */
            }
            letters[column] = (char)('a' + (int)i);
            last = column + 1 > last ? column + 1 : last;
        }
    }
    letters[last] = '\0';
    if (last) {
        ovp_text_print(sink, "%*s%s\n", LABEL, "", letters);
    }
    for (size_t i = 0; i < trace->mark_count; i++) {
        char line[OVP_TRACE_TEXT_SIZE + 8] = {
            mark_column(frame, &trace->marks[i], &column) ? (char)('a' + (int)i) : '-', ' '};
        ovp_copy_string(line + 2, sizeof line - 2, ovp_span_of(trace->marks[i].text));
        ovp_text_fold(sink, line, width, LABEL - 2, LABEL);
    }
}

ovp_status picture_terminal_trace(ovp_sink sink, const picture_trace *trace, size_t columns, size_t rows,
                                  bool utf8)
{
    plot_frame frame = {.degrees = trace->shown == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : trace->shown};
    size_t width = columns < 40 ? 40 : columns;
    picture_grid_clear(&frame.grid, width - LABEL - 1, rows < 5 ? 5 : rows, utf8);
    set_scales(&frame, trace, frame.grid.rows);
    lay_series(&frame, trace->other, trace->other_count, false);
    lay_series(&frame, trace->points, trace->count, true);
    lay_marks(&frame, trace);
    draw_temperature(&frame, trace->points, trace->count);
    const char *unit = frame.degrees == OVP_TEXT_DEGREES_C   ? "°C"
                       : frame.degrees == OVP_TEXT_DEGREES_K ? " K"
                                                             : "°F";
    bool sign = frame.degrees != OVP_TEXT_DEGREES_K;
    ovp_text_print(sink, "   %s   %s\n", sign && !utf8 ? unit + 1 + (unit[1] & 0x80 ? 1 : 0) : unit,
                   trace->title ? trace->title : "");
    print_rows(sink, &frame);
    print_axis(sink, &frame);
    print_output(sink, &frame, trace);
    print_marks(sink, &frame, trace, width);
    return ovp_text_print(sink, "%s", "");
}
