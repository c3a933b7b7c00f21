/* terminal.c: a run as text. */
#include "picture/picture_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum {
    LABEL = 7,       /* columns of the scale at the left, its line included */
    LABEL_RIGHT = 6, /* of a second scale at the right */
    NUMBERS = PICTURE_COLUMNS + 40,
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

/* Units of the layout are dots, two to a letter across and four up. */
typedef struct terminal {
    ovp_sink sink;
    const picture_trace *trace;
    picture_layout layout;
    picture_grid grid;
    picture_point *points;
    size_t capacity, width;
    bool utf8;
} terminal;

static size_t cell(const terminal *t, double dots)
{
    const size_t column = (size_t)fmax(dots, 0) / PICTURE_DOTS_X;
    return column < t->grid.columns ? column : t->grid.columns - 1;
}

/* ---- lines ------------------------------------------------------------------------------------------------
 */

typedef void (*line_use)(terminal *t, const picture_point *from, const picture_point *to);

static void stroke(terminal *t, const picture_point *from, const picture_point *to)
{
    picture_grid_stroke(&t->grid, (double)from->x, (double)from->y, (double)to->x, (double)to->y);
}

static void lay_along(terminal *t, const picture_point *from, const picture_point *to, unsigned char kind)
{
    const double steps =
        fmax(ceil(fmax(fabs((double)(to->x - from->x)), fabs((double)(to->y - from->y)))), 1);
    for (int i = 0; i <= (int)steps; i++) {
        const double share = i / steps;
        picture_grid_lay(&t->grid, (double)from->x + share * (double)(to->x - from->x),
                         (double)from->y + share * (double)(to->y - from->y), kind);
    }
}

static void lay_setpoint(terminal *t, const picture_point *from, const picture_point *to)
{
    lay_along(t, from, to, PICTURE_LINE_SETPOINT);
}

static void lay_other(terminal *t, const picture_point *from, const picture_point *to)
{
    lay_along(t, from, to, PICTURE_LINE_OTHER);
}

static void draw_line(terminal *t, const picture_series *series, picture_channel channel, line_use use)
{
    const bool compared = series == t->trace->other; /* its own pauses are not what is looked at */
    const picture_along along = {&t->layout.time, &t->layout.temperature,
                                 compared ? t->trace->other_shift_s : 0,
                                 compared ? (double)INFINITY : t->layout.gap_s, channel == PICTURE_SETPOINT};
    picture_line line = {.points = t->points, .capacity = t->capacity};
    picture_trace_line(series, channel, &along, &line);
    for (size_t i = 0; i < line.count; i++) {
        const bool alone = line.points[i].move;
        use(t, &line.points[alone ? i : i - 1], &line.points[i]);
    }
}

static void lay_limits(terminal *t)
{
    for (size_t i = 0; i < t->trace->limit_count && i < PICTURE_LIMITS; i++) {
        const picture_limit *limit = &t->trace->limits[i];
        const double y = picture_place(&t->layout.temperature, limit->to_C);
        const double from = fmax(picture_place(&t->layout.time, limit->from_s), 0);
        const double to = picture_place(&t->layout.time, limit->due_s);
        const size_t end = cell(t, fmin(to, t->layout.time.length));
        for (size_t column = cell(t, from); to > from && column <= end; column++) {
            picture_grid_lay(&t->grid, (double)(column * PICTURE_DOTS_X), y, PICTURE_LINE_LIMIT);
        }
        picture_grid_lay(&t->grid, to, y, PICTURE_LINE_LIMIT_END);
    }
}

static void lay_marks(terminal *t)
{
    double at;
    for (size_t i = 0; i < t->trace->mark_count && i < PICTURE_MARKS; i++) {
        for (size_t row = 0;
             picture_time_place(&t->layout, t->trace->marks[i].time_s, &at) && row < t->grid.rows; row++) {
            t->grid.line[row][cell(t, at)] = PICTURE_LINE_MARK;
        }
    }
}

/* ---- rows of text
 * ------------------------------------------------------------------------------------------ */

/* The label of a scale whose tick falls into this row of letters; "" when none does. */
static const char *tick_of_row(const terminal *t, const picture_ticks *ticks, size_t row)
{
    const double low = (double)((t->grid.rows - 1 - row) * PICTURE_DOTS_Y) - 0.5;
    for (size_t i = 0; i < ticks->count; i++) {
        if (ticks->tick[i].at >= low && ticks->tick[i].at < low + PICTURE_DOTS_Y) {
            return ticks->tick[i].text;
        }
    }
    return "";
}

static void print_row(const terminal *t, size_t row)
{
    const char *left = tick_of_row(t, &t->layout.left, row);
    const char *right = t->layout.both ? tick_of_row(t, &t->layout.right, row) : "";
    char letter[5];
    size_t last = right[0] != '\0' ? t->grid.columns : 0;
    for (size_t column = last; column < t->grid.columns; column++) {
        if (picture_grid_letter(&t->grid, row, column, letter)[0] != ' ') {
            last = column + 1;
        }
    }
    ovp_text_print(t->sink, "%*s %s", LABEL - 2, left, t->utf8 ? (left[0] ? "┤" : "│") : left[0] ? "+" : "|");
    for (size_t column = 0; column < last; column++) {
        ovp_text_print(t->sink, "%s", picture_grid_letter(&t->grid, row, column, letter));
    }
    ovp_text_print(t->sink, "%s%s\n", right[0] ? t->utf8 ? "├ " : "+ " : "", right);
}

/* A row of labels under the axis, pushed apart: text at the columns given. */
static void print_labels(const terminal *t, const char *head, const double wished[],
                         const char *const texts[], size_t count)
{
    double at[PICTURE_TICKS] = {0}, room[PICTURE_TICKS] = {0};
    char row[NUMBERS];
    size_t end = 0;
    for (size_t i = 0; i < count; i++) {
        room[i] = (double)strlen(texts[i]) + 1;
        at[i] = (double)cell(t, wished[i]) + 0.5 * room[i];
    }
    picture_spread(at, room, count, 0, (double)t->grid.columns + 1);
    memset(row, ' ', sizeof row);
    for (size_t i = 0; i < count; i++) {
        const size_t start = (size_t)lround(fmax(at[i] - 0.5 * room[i], 0)), length = strlen(texts[i]);
        if (start >= end && start + length < sizeof row) {
            memcpy(row + start, texts[i], length);
            end = start + length;
        }
    }
    row[end] = '\0';
    ovp_text_print(t->sink, "%*s %s\n", LABEL - 1, head, row);
}

/* The time axis: a line with ticks, and the numbers below. */
static void print_axis(const terminal *t)
{
    const picture_ticks *ticks = &t->layout.time_ticks;
    unsigned char marked[PICTURE_COLUMNS] = {0};
    const char *texts[PICTURE_TICKS];
    double at[PICTURE_TICKS];
    char unit[LABEL];
    for (size_t i = 0; i < ticks->count; i++) {
        marked[cell(t, ticks->tick[i].at)] = 1;
        texts[i] = ticks->tick[i].text;
        at[i] = ticks->tick[i].at;
    }
    ovp_text_print(t->sink, "%*s%s", LABEL - 1, "", t->utf8 ? "└" : "+");
    for (size_t column = 0; column < t->grid.columns; column++) {
        ovp_text_print(t->sink, "%s", t->utf8 ? marked[column] ? "┬" : "─" : marked[column] ? "+" : "-");
    }
    ovp_text_print(t->sink, "\n");
    /* "min", "s", "h", "days" */
    (void)ovp_copy_string(unit, sizeof unit,
                          strcmp(ticks->unit, "minutes") == 0   ? ovp_span_of("min")
                          : strcmp(ticks->unit, "seconds") == 0 ? ovp_span_of("s")
                          : strcmp(ticks->unit, "hours") == 0   ? ovp_span_of("h")
                                                                : ovp_span_of(ticks->unit));
    print_labels(t, unit, at, texts, ticks->count);
}

static const char *level(double share, bool utf8)
{
    static const char *const blocks[] = {" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    static const char *const letters[] = {" ", ".", ".", ":", ":", "=", "=", "#", "#"};
    if (isnan(share)) {
        return " ";
    }
    const double step = share <= 0 ? 0 : fmin(fmax(ceil(8 * share - 0.5), 1), 8);
    return (utf8 ? blocks : letters)[(size_t)step];
}

/* Volts stand near their rated value: their row is from the least to the most, and says so. */
static void print_strip(const terminal *t, const picture_strip *strip)
{
    const picture_along along = {&t->layout.time, &strip->scale, 0, t->layout.gap_s, true};
    float levels[PICTURE_COLUMNS];
    char name[LABEL + 8], low[OVP_TEXT_NUMBER_SIZE], high[OVP_TEXT_NUMBER_SIZE];
    const bool from_zero = strip->channel != PICTURE_VOLTS;
    const double bottom = from_zero ? 0 : (double)strip->extent.least - 1;
    const double top = strip->channel == PICTURE_OUTPUT ? 100 : (double)strip->extent.most;
    picture_levels(t->trace->run, strip->channel, &along, levels, t->grid.columns);
    (void)ovp_copy_string(name, sizeof name,
                          ovp_span_of(strip->channel == PICTURE_OUTPUT ? "out %" : strip->name));
    ovp_text_print(t->sink, "%*s %s", LABEL - 2, name, t->utf8 ? "│" : "|");
    for (size_t column = 0; column < t->grid.columns; column++) {
        ovp_text_print(t->sink, "%s", level(((double)levels[column] - bottom) / (top - bottom), t->utf8));
    }
    ovp_text_print(t->sink, "\n");
    if (strip->channel != PICTURE_OUTPUT) {
        ovp_text_format_fixed((double)strip->extent.least, 1, low, sizeof low);
        ovp_text_format_fixed((double)strip->extent.most, 1, high, sizeof high);
        ovp_text_print(t->sink, "%*s%s to %s %s\n", LABEL, "", low, high, strip->unit);
    }
}

static void print_marks(const terminal *t)
{
    static const char *const numbers[PICTURE_MARKS] = {"1", "2", "3", "4",  "5",  "6",
                                                       "7", "8", "9", "10", "11", "12"};
    const char *texts[PICTURE_MARKS];
    double at[PICTURE_MARKS];
    size_t count = 0;
    for (size_t i = 0; i < t->trace->mark_count && i < PICTURE_MARKS; i++) {
        if (picture_time_place(&t->layout, t->trace->marks[i].time_s, &at[count])) {
            texts[count++] = numbers[i];
        }
    }
    if (count > 0) {
        print_labels(t, "seen", at, texts, count);
    }
    for (size_t i = 0; i < t->trace->mark_count && i < PICTURE_MARKS; i++) {
        char words[OVP_TRACE_TEXT_SIZE + 80], line[sizeof words + 8];
        const bool numbered = picture_mark_words(&t->layout, &t->trace->marks[i], words, sizeof words);
        snprintf(line, sizeof line, "%s %s", numbered ? numbers[i] : "-", words);
        ovp_text_fold(t->sink, line, t->width, LABEL - 2, LABEL + 1);
    }
    for (size_t i = 0; i < t->trace->note_count && i < PICTURE_NOTES; i++) {
        ovp_text_fold(t->sink, t->trace->notes[i], t->width, LABEL - 2, LABEL + 1);
    }
}

/* What the lines are that this drawing has. */
static void print_key(const terminal *t)
{
    const char *other = t->trace->other_text != NULL ? t->trace->other_text : "to compare";
    char words[320 + PICTURE_LIMITS * 60] = "", setpoint[96];
    if (picture_setpoint_words(&t->layout, setpoint, sizeof setpoint)) {
        snprintf(words, sizeof words, "%s %s   ", t->utf8 ? "╌" : "-", setpoint);
    }
    if (t->trace->other != NULL) {
        const size_t used = strlen(words);
        snprintf(words + used, sizeof words - used, "%s %.60s   ", t->utf8 ? "·" : ".", other);
    }
    if (t->trace->limit_count > 0) {
        const size_t used = strlen(words);
        snprintf(words + used, sizeof words - used, "%s heat-up limit", t->utf8 ? "─┤" : "_]");
    }
    for (size_t i = 0; i < t->trace->limit_count && i < PICTURE_LIMITS; i++) {
        const size_t used = strlen(words);
        snprintf(words + used, sizeof words - used, "%s%s", i > 0 ? "; " : ": ", t->trace->limits[i].text);
    }
    if (words[0] != '\0') {
        ovp_text_fold(t->sink, words, t->width, LABEL, LABEL);
    }
}

/* The title between the units of the two scales, cut where it is too long. */
static void print_head(const terminal *t)
{
    const char *left = t->layout.left.unit, *right = t->layout.both ? t->layout.right.unit : "";
    char title[PICTURE_COLUMNS * 4];
    (void)ovp_copy_string(title, sizeof title, ovp_span_of(t->trace->title ? t->trace->title : ""));
    while (ovp_text_columns(title) > t->grid.columns - 1) {
        size_t end = strlen(title) - 1;
        while (end > 0 && ((unsigned char)title[end] & 0xC0) == 0x80) {
            end--;
        }
        title[end] = '\0';
    }
    const size_t skip = t->utf8 || strncmp(left, "°", 2) != 0 ? 0 : 2;
    const size_t width = ovp_text_columns(left + skip);
    ovp_text_print(t->sink, "%*s%s %s%*s%s\n", (int)(LABEL - 2 - width), "", left + skip, title,
                   right[0] ? (int)(t->grid.columns + 1 - ovp_text_columns(title)) : 0, "",
                   right[0] ? right + skip : "");
}

static ovp_status draw(terminal *t)
{
    lay_marks(t);
    lay_limits(t);
    if (t->trace->other != NULL) {
        draw_line(t, t->trace->other, PICTURE_TEMPERATURE, lay_other);
    }
    draw_line(t, t->trace->run, PICTURE_SETPOINT, lay_setpoint);
    draw_line(t, t->trace->run, PICTURE_TEMPERATURE, stroke);
    print_head(t);
    for (size_t row = 0; row < t->grid.rows; row++) {
        print_row(t, row);
    }
    print_axis(t);
    for (size_t i = 0; i < t->layout.strip_count; i++) {
        print_strip(t, &t->layout.strips[i]);
    }
    print_key(t);
    print_marks(t);
    return ovp_text_print(t->sink, "%s", "");
}

ovp_status picture_terminal_trace(ovp_sink sink, const picture_trace *trace, size_t columns, size_t rows,
                                  bool utf8)
{
    terminal *t = calloc(1, sizeof *t);
    if (t == NULL) {
        return OVP_ERROR_MEMORY;
    }
    t->sink = sink;
    t->trace = trace;
    t->utf8 = utf8;
    t->width = columns < 40 ? 40 : columns;
    const size_t right = trace->shown == OVP_TEXT_DEGREES_NONE ? LABEL_RIGHT + 1 : 1;
    picture_grid_clear(&t->grid, t->width - LABEL - right, rows < 5 ? 5 : rows, utf8);
    const picture_room room = {(double)(t->grid.columns * PICTURE_DOTS_X - 1),
                               (double)(t->grid.rows * PICTURE_DOTS_Y - 1), PICTURE_DOTS_Y,
                               9 * PICTURE_DOTS_X, 2 * PICTURE_DOTS_Y};
    t->capacity = picture_line_capacity(room.width);
    t->points = calloc(t->capacity, sizeof *t->points);
    ovp_status status = OVP_ERROR_MEMORY;
    if (t->points != NULL) {
        picture_lay_out(trace, &room, &t->layout);
        status = draw(t);
    }
    free(t->points);
    free(t);
    return status;
}
