/* svg.c: a scene as SVG, its words as text: they can be searched and read aloud. */
#include "picture/picture_internal.h"

#include <math.h>
#include <string.h>

/* The first failure of the sink is kept. */
typedef struct svg_out {
    ovp_sink sink;
    ovp_status status;
} svg_out;

static void put(svg_out *out, const char *bytes, size_t count)
{
    if (out->status == OVP_OK && count > 0) {
        out->status = out->sink.write(out->sink.context, bytes, count);
    }
}

static void say(svg_out *out, const char *text)
{
    put(out, text, strlen(text));
}

static void number(svg_out *out, double value)
{
    char text[OVP_TEXT_NUMBER_SIZE];
    size_t length = ovp_text_format_fixed(value, 1, text, sizeof text);
    if (length > 2 && memcmp(text + length - 2, ".0", 2) == 0) {
        length -= 2;
    }
    put(out, text, length);
}

static void attribute(svg_out *out, const char *name, double value)
{
    say(out, " ");
    say(out, name);
    say(out, "=\"");
    number(out, value);
    say(out, "\"");
}

static void colour(svg_out *out, const char *name, unsigned value)
{
    static const char digits[] = "0123456789abcdef";
    char text[8] = "#";
    for (int i = 0; i < 6; i++) {
        text[1 + i] = digits[(value >> (20 - 4 * i)) & 0xF];
    }
    say(out, " ");
    say(out, name);
    say(out, "=\"");
    say(out, text);
    say(out, "\"");
}

/* Bytes of a well-formed UTF-8 letter that XML allows; 0 when it is none. */
static size_t letter(const unsigned char *at)
{
    const size_t length = at[0] < 0x80                    ? 1
                          : at[0] >= 0xC2 && at[0] < 0xE0 ? 2
                          : at[0] >= 0xE0 && at[0] < 0xF0 ? 3
                          : at[0] >= 0xF0 && at[0] < 0xF5 ? 4
                                                          : 0;
    unsigned long code = length == 1   ? at[0]
                         : length == 2 ? at[0] & 0x1F
                         : length == 3 ? at[0] & 0x0F
                                       : at[0] & 0x07;
    for (size_t i = 1; i < length; i++) {
        if ((at[i] & 0xC0) != 0x80) {
            return 0;
        }
        code = code << 6 | (at[i] & 0x3F);
    }
    const bool surrogate = code >= 0xD800 && code < 0xE000, none = code == 0xFFFE || code == 0xFFFF;
    const bool longer = (length == 3 && code < 0x800) || (length == 4 && (code < 0x10000 || code > 0x10FFFF));
    return surrogate || none || longer ? 0 : length;
}

static void escaped(svg_out *out, const char *text)
{
    for (const unsigned char *at = (const unsigned char *)text; *at != '\0';) {
        const size_t length = letter(at);
        const char *named = *at == '<'   ? "&lt;"
                            : *at == '>' ? "&gt;"
                            : *at == '&' ? "&amp;"
                            : *at == '"' ? "&quot;"
                                         : NULL;
        if (named != NULL) {
            say(out, named);
        } else if (length == 0) {
            say(out, "\xEF\xBF\xBD");
        } else {
            put(out, (const char *)at, length);
        }
        at += length ? length : 1;
    }
}

static void path(svg_out *out, const picture_scene *scene, const picture_item *item)
{
    say(out, "<path");
    if (item->line_width > 0) {
        say(out, " fill=\"none\"");
        colour(out, "stroke", item->colour);
        attribute(out, "stroke-width", item->line_width);
        if (item->dash != PICTURE_SOLID) {
            say(out,
                item->dash == PICTURE_DASHED ? " stroke-dasharray=\"6 4\"" : " stroke-dasharray=\"1.5 3\"");
        }
    } else {
        colour(out, "fill", item->colour);
    }
    say(out, " d=\"");
    for (size_t i = 0; i < item->count; i++) {
        const picture_point *point = &scene->points[item->first + i];
        say(out, point->move ? "M" : "L");
        number(out, point->x);
        say(out, " ");
        number(out, point->y);
        say(out, i % 12 == 11 ? "\n" : "");
    }
    say(out, "\"/>\n");
}

static void words(svg_out *out, const picture_scene *scene, const picture_item *item)
{
    say(out, "<text");
    attribute(out, "x", item->x);
    attribute(out, "y", item->y);
    attribute(out, "font-size", item->size);
    colour(out, "fill", item->colour);
    if (item->anchor != PICTURE_START) {
        say(out, item->anchor == PICTURE_MIDDLE ? " text-anchor=\"middle\"" : " text-anchor=\"end\"");
    }
    say(out, item->bold ? " font-weight=\"bold\">" : ">");
    escaped(out, scene->texts + item->text);
    say(out, "</text>\n");
}

static void paint(svg_out *out, const picture_scene *scene, const picture_item *item)
{
    switch (item->kind) {
    case PICTURE_ITEM_PATH:
        path(out, scene, item);
        break;
    case PICTURE_ITEM_BOX:
        say(out, "<rect");
        attribute(out, "x", item->x);
        attribute(out, "y", item->y);
        attribute(out, "width", item->width);
        attribute(out, "height", item->height);
        colour(out, "fill", item->colour);
        say(out, "/>\n");
        break;
    case PICTURE_ITEM_DISC:
        say(out, "<circle");
        attribute(out, "cx", item->x);
        attribute(out, "cy", item->y);
        attribute(out, "r", item->width);
        colour(out, "fill", item->colour);
        say(out, "/>\n");
        break;
    case PICTURE_ITEM_WORDS:
        words(out, scene, item);
        break;
    }
}

ovp_status picture_write_svg(ovp_sink sink, const picture_scene *scene)
{
    svg_out out = {sink, OVP_OK};
    say(&out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" "
              "viewBox=\"0 0 ");
    number(&out, scene->width);
    say(&out, " ");
    number(&out, scene->height);
    say(&out, "\"");
    attribute(&out, "width", scene->width);
    attribute(&out, "height", scene->height);
    say(&out, " role=\"img\" font-family=\"DejaVu Sans, Helvetica, Arial, sans-serif\" "
              "stroke-linejoin=\"round\">\n<title>");
    escaped(&out, scene->text_count > 0 ? scene->texts + scene->title : "");
    say(&out, "</title>\n");
    for (size_t i = 0; i < scene->item_count && out.status == OVP_OK; i++) {
        paint(&out, scene, &scene->items[i]);
    }
    say(&out, "</svg>\n");
    return out.status;
}

ovp_status picture_svg(ovp_sink sink, const picture_trace *trace, ovp_error *error)
{
    picture_canvas canvas = {0};
    ovp_status status = picture_draw(trace, &canvas, error);
    if (status == OVP_OK && picture_write_svg(sink, &canvas.scene) != OVP_OK) {
        status = ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot write the picture");
    }
    picture_canvas_free(&canvas);
    return status;
}
