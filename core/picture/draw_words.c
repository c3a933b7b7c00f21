/* draw_words.c: what stands around the plot: title, key, legend. */
#include "picture/draw_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    LINE_SIZE = 400,
    LINE_HEIGHT = 19,
};

static void last_item(picture_drawing *d, unsigned colour, bool bold)
{
    picture_scene *scene = &d->canvas->scene;
    if (!d->canvas->failed && scene->item_count > 0) {
        scene->items[scene->item_count - 1].colour = colour;
        scene->items[scene->item_count - 1].bold = bold;
    }
}

void picture_drawing_words(picture_drawing *d, double x, double y, picture_anchor anchor, const char *text)
{
    picture_add_words(d->canvas, x, y, PICTURE_LETTERS, anchor, text);
    last_item(d, PICTURE_INK, false);
}

static size_t letter_end(const char *text, size_t at)
{
    at++;
    while (((unsigned char)text[at] & 0xC0) == 0x80) {
        at++;
    }
    return at;
}

/* The bytes of `text` that fit: up to a blank where there is one. All of it when it fits. */
static size_t fitting(const char *text, double size, bool bold, double width)
{
    char part[LINE_SIZE];
    size_t blank = 0, end = 0;
    while (text[end] != '\0') {
        const size_t next = letter_end(text, end);
        if (next >= sizeof part) {
            break;
        }
        memcpy(part, text, next);
        part[next] = '\0';
        if (picture_words_width(part, size, bold) > width) {
            break;
        }
        if (text[end] == ' ') {
            blank = end;
        }
        end = next;
    }
    return text[end] == '\0' ? end : blank > 0 ? blank : end > 0 ? end : letter_end(text, 0);
}

/* Words over as many lines as they need; d->y is the base line of the last one afterwards. */
static void paragraph(picture_drawing *d, double x, double width, const char *text)
{
    bool first = true;
    while (*text != '\0') {
        char line[LINE_SIZE];
        size_t count = fitting(text, PICTURE_LETTERS, false, width);
        (void)ovp_copy_string(line, sizeof line, (ovp_span){text, count});
        d->y += first ? 0 : LINE_HEIGHT;
        first = false;
        picture_drawing_words(d, x, d->y, PICTURE_START, line);
        text += count;
        text += strspn(text, " ");
    }
}

/* One line; what does not fit is cut with a sign that there is more. */
static void one_line(picture_drawing *d, double size, bool bold, const char *text)
{
    const double width = PICTURE_WIDTH - 2 * PICTURE_MARGIN;
    char line[LINE_SIZE];
    if (picture_words_width(text, size, bold) <= width) {
        (void)ovp_copy_string(line, sizeof line - 4, ovp_span_of(text));
    } else {
        const size_t count = fitting(text, size, bold, width - size);
        (void)ovp_copy_string(line, sizeof line - 4, (ovp_span){text, count});
        memcpy(line + strlen(line), "…", sizeof "…");
    }
    picture_add_words(d->canvas, PICTURE_MARGIN, d->y, size, PICTURE_START, line);
    last_item(d, PICTURE_INK, bold);
    if (!d->canvas->failed) {
        picture_scene *scene = &d->canvas->scene;
        scene->items[scene->item_count - 1].room = width;
    }
}

/* ---- key ------------------------------------------------------------------------------------------------
 */

const picture_pen picture_pen_temperature = {0x0b4f8a, 2.4, PICTURE_SOLID};
const picture_pen picture_pen_setpoint = {0xc04a00, 1.4, PICTURE_DASHED};
const picture_pen picture_pen_other = {0xa8a8a8, 4, PICTURE_SOLID};
const picture_pen picture_pen_limit = {PICTURE_INK, 1.1, PICTURE_SOLID};
const picture_pen picture_pen_most = {PICTURE_INK, 2, PICTURE_DOTTED};

static void draw_sign(picture_drawing *d, const picture_pen *pen, double x, double y)
{
    picture_add_line(d->canvas, x, y, x + 30, y, pen->colour, pen->width, pen->dash);
    if (pen == &picture_pen_limit) {
        picture_add_line(d->canvas, x + 30, y - 6, x + 30, y + 6, PICTURE_INK, 2, PICTURE_SOLID);
    }
}

static void key_entry(picture_drawing *d, double *x, const picture_pen *pen, const char *text)
{
    const double width = 38 + picture_words_width(text, PICTURE_LETTERS, false);
    if (*x > PICTURE_MARGIN && *x + width > PICTURE_WIDTH - PICTURE_MARGIN) {
        *x = PICTURE_MARGIN;
        d->y += LINE_HEIGHT;
    }
    draw_sign(d, pen, *x, d->y - 5);
    picture_drawing_words(d, *x + 38, d->y, PICTURE_START, text);
    *x += width + 22;
}

static bool limits_visible(const picture_drawing *d)
{
    for (size_t i = 0; i < d->trace->limit_count && i < PICTURE_LIMITS; i++) {
        const double place = picture_place(&d->layout.temperature, d->trace->limits[i].to_C);
        if (place >= 0 && place <= d->layout.temperature.length &&
            d->trace->limits[i].from_s < d->layout.time.high) {
            return true;
        }
    }
    return false;
}

bool picture_readings_shown(const picture_drawing *d)
{
    return d->trace->run->samples <= PICTURE_FEW;
}

static void setpoint_entry(picture_drawing *d, double *x)
{
    char words[96];
    if (picture_setpoint_words(&d->layout, words, sizeof words)) {
        key_entry(d, x, &picture_pen_setpoint, words);
    }
}

static void key(picture_drawing *d)
{
    const picture_layout *layout = &d->layout;
    double x = PICTURE_MARGIN;
    if (picture_series_extent(d->trace->run, PICTURE_TEMPERATURE).count > 0) {
        key_entry(d, &x, &picture_pen_temperature,
                  picture_readings_shown(d) ? "temperature, a dot each reading" : "temperature");
    }
    setpoint_entry(d, &x);
    if (d->trace->other != NULL) {
        key_entry(d, &x, &picture_pen_other,
                  d->trace->other_text != NULL ? d->trace->other_text : "to compare");
    }
    if (limits_visible(d)) {
        key_entry(d, &x, &picture_pen_limit, "heat-up limit");
    }
    const double most = picture_place(&layout->temperature, d->trace->most_C);
    if (most >= 0 && most <= layout->temperature.length) {
        key_entry(d, &x, &picture_pen_most, "highest allowed");
    }
}

void picture_drawing_head(picture_drawing *d)
{
    d->y = PICTURE_MARGIN + 16;
    d->canvas->scene.title = d->canvas->scene.text_count;
    one_line(d, 18, true, d->trace->title != NULL ? d->trace->title : "");
    if (d->trace->subtitle != NULL) {
        d->y += 22;
        one_line(d, PICTURE_LETTERS, false, d->trace->subtitle);
    }
    d->y += 27;
    key(d);
}

/* ---- legend ---------------------------------------------------------------------------------------------
 */

static void legend_mark(picture_drawing *d, size_t i,
                        void (*disc)(picture_drawing *d, double x, double y, size_t number))
{
    const picture_mark *mark = &d->trace->marks[i];
    char line[LINE_SIZE];
    const bool numbered = picture_mark_words(&d->layout, mark, line, sizeof line);
    d->y += LINE_HEIGHT + 3;
    disc(d, PICTURE_MARGIN + PICTURE_DISC, d->y - 5, numbered ? i + 1 : 0);
    paragraph(d, PICTURE_MARGIN + 2 * PICTURE_DISC + 8,
              PICTURE_WIDTH - 2 * PICTURE_MARGIN - 2 * PICTURE_DISC - 8, line);
}

void picture_drawing_legend(picture_drawing *d,
                            void (*disc)(picture_drawing *d, double x, double y, size_t number))
{
    for (size_t i = 0; i < d->mark_count; i++) {
        legend_mark(d, i, disc);
    }
    if (picture_breaks(d->line, d->line_count) > 0) {
        d->y += LINE_HEIGHT + 6;
        picture_drawing_words(d, PICTURE_MARGIN, d->y, PICTURE_START,
                              "Where the line is broken, nothing was read.");
    }
    for (size_t i = 0; i < d->trace->note_count && i < PICTURE_NOTES; i++) {
        d->y += LINE_HEIGHT + 6;
        paragraph(d, PICTURE_MARGIN, PICTURE_WIDTH - 2 * PICTURE_MARGIN, d->trace->notes[i]);
    }
}
