/* module/cairo.c: paints a scene as PDF or PNG. Loaded by picture/file.c when such a picture is asked for. */
#include "picture/picture_scene.h"

#include <math.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <string.h>

#ifdef CAIRO_HAS_PDF_SURFACE
#include <cairo-pdf.h>
#endif

static const double png_scale = 2; /* pixels a unit: sharp on a phone */
/* US Letter; on A4 it prints the same with a little more paper at the ends. */
static const double paper_short = 612, paper_long = 792, paper_margin = 36;

typedef struct painter {
    cairo_t *cairo;
    PangoLayout *layout;
    const picture_scene *scene;
} painter;

static void set_colour(const painter *p, unsigned colour)
{
    cairo_set_source_rgb(p->cairo, ((colour >> 16) & 0xFF) / 255.0, ((colour >> 8) & 0xFF) / 255.0,
                         (colour & 0xFF) / 255.0);
}

static void paint_path(const painter *p, const picture_item *item)
{
    static const double dashed[] = {6, 4}, dotted[] = {1.5, 3};
    for (size_t i = 0; i < item->count; i++) {
        const picture_point *point = &p->scene->points[item->first + i];
        if (point->move) {
            cairo_move_to(p->cairo, (double)point->x, (double)point->y);
        } else {
            cairo_line_to(p->cairo, (double)point->x, (double)point->y);
        }
    }
    if (item->line_width > 0) {
        cairo_set_line_width(p->cairo, item->line_width);
        cairo_set_dash(p->cairo, item->dash == PICTURE_DASHED ? dashed : dotted,
                       item->dash == PICTURE_SOLID ? 0 : 2, 0);
        cairo_stroke(p->cairo);
    } else {
        cairo_fill(p->cairo);
    }
}

static void set_letters(const painter *p, double size, bool bold)
{
    PangoFontDescription *font = pango_font_description_from_string("DejaVu Sans, Sans");
    pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
    pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(p->layout, font);
    pango_font_description_free(font);
}

static double words_width(const painter *p)
{
    int width = 0, height = 0;
    pango_layout_get_size(p->layout, &width, &height);
    return (double)width / PANGO_SCALE;
}

static void paint_words(const painter *p, const picture_item *item)
{
    set_letters(p, item->size, item->bold);
    pango_layout_set_text(p->layout, p->scene->texts + item->text, -1);
    double width = words_width(p);
    if (item->room > 0 && width > item->room * 1.15) { /* another font than the layout counted with */
        set_letters(p, item->size * item->room * 1.15 / width, item->bold);
        width = words_width(p);
    }
    const double shift = item->anchor == PICTURE_MIDDLE ? width / 2 : item->anchor == PICTURE_END ? width : 0;
    const double base = (double)pango_layout_get_baseline(p->layout) / PANGO_SCALE;
    cairo_move_to(p->cairo, item->x - shift, item->y - base);
    pango_cairo_show_layout(p->cairo, p->layout);
    cairo_new_path(p->cairo);
}

static void paint_item(const painter *p, const picture_item *item)
{
    set_colour(p, item->colour);
    switch (item->kind) {
    case PICTURE_ITEM_PATH:
        paint_path(p, item);
        break;
    case PICTURE_ITEM_BOX:
        cairo_rectangle(p->cairo, item->x, item->y, item->width, item->height);
        cairo_fill(p->cairo);
        break;
    case PICTURE_ITEM_DISC:
        cairo_arc(p->cairo, item->x, item->y, item->width, 0, 2 * acos(-1.0));
        cairo_fill(p->cairo);
        break;
    case PICTURE_ITEM_WORDS:
        paint_words(p, item);
        break;
    }
}

/* Letters are laid out the same whatever the screen's own settings. */
static PangoLayout *make_layout(cairo_t *cairo)
{
    PangoLayout *layout = pango_cairo_create_layout(cairo);
    PangoContext *context = pango_layout_get_context(layout);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(context, options);
    pango_cairo_context_set_resolution(context, 72);
    pango_layout_context_changed(layout);
    cairo_font_options_destroy(options);
    return layout;
}

static void fail(char message[PICTURE_MODULE_MESSAGE], const char *text)
{
    snprintf(message, PICTURE_MODULE_MESSAGE, "%s", text);
}

/* False when letters are missing or cairo gave up. */
static bool paint_scene(cairo_t *cairo, const picture_scene *scene, char message[PICTURE_MODULE_MESSAGE])
{
    const painter p = {cairo, make_layout(cairo), scene};
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    for (size_t i = 0; i < scene->item_count; i++) {
        paint_item(&p, &scene->items[i]);
    }
    /* A font of the machine may lack a letter of a file's name; without any font at all every letter is. */
    set_letters(&p, 12, false);
    pango_layout_set_text(p.layout, "0", -1);
    const bool no_font = pango_layout_get_unknown_glyphs_count(p.layout) > 0 || words_width(&p) <= 0;
    g_object_unref(p.layout);
    if (no_font) {
        fail(message, "no font is installed (apt-get install fonts-dejavu-core)");
        return false;
    }
    if (cairo_status(cairo) != CAIRO_STATUS_SUCCESS) {
        fail(message, cairo_status_to_string(cairo_status(cairo)));
        return false;
    }
    return true;
}

typedef struct output {
    picture_module_write write;
    void *context;
    bool failed;
} output;

static cairo_status_t write_bytes(void *context, const unsigned char *bytes, unsigned count)
{
    output *out = context;
    if (!out->failed && !out->write(out->context, bytes, count)) {
        out->failed = true;
    }
    return out->failed ? CAIRO_STATUS_WRITE_ERROR : CAIRO_STATUS_SUCCESS;
}

/* Nothing more to say when it was the disk: whoever writes knows. */
static bool judged(cairo_status_t status, const output *out, char message[PICTURE_MODULE_MESSAGE])
{
    if (status != CAIRO_STATUS_SUCCESS && !out->failed && message[0] == '\0') {
        fail(message, cairo_status_to_string(status));
    }
    return status == CAIRO_STATUS_SUCCESS && !out->failed && message[0] == '\0';
}

static bool paint_png(const picture_scene *scene, output *out, char message[PICTURE_MODULE_MESSAGE])
{
    cairo_surface_t *surface = cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, (int)ceil(scene->width * png_scale), (int)ceil(scene->height * png_scale));
    cairo_t *cairo = cairo_create(surface);
    cairo_scale(cairo, png_scale, png_scale);
    cairo_status_t status = CAIRO_STATUS_SUCCESS;
    if (paint_scene(cairo, scene, message)) {
        status = cairo_surface_write_to_png_stream(surface, write_bytes, out);
    }
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return judged(status, out, message);
}

/* How large it may be on a paper: never larger than it was laid out for. */
static double fitting(const picture_scene *scene, double width, double height)
{
    return fmin(fmin((width - 2 * paper_margin) / scene->width, (height - 2 * paper_margin) / scene->height),
                1);
}

static bool paint_pdf(const picture_scene *scene, output *out, char message[PICTURE_MODULE_MESSAGE])
{
#ifdef CAIRO_HAS_PDF_SURFACE
    const double lying = fitting(scene, paper_long, paper_short),
                 upright = fitting(scene, paper_short, paper_long);
    const double width = upright > lying ? paper_short : paper_long;
    const double scale = fmax(upright, lying);
    cairo_surface_t *surface =
        cairo_pdf_surface_create_for_stream(write_bytes, out, width, paper_short + paper_long - width);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "none"); /* leaves it out */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE,
                                   scene->text_count > 0 ? scene->texts + scene->title : "");
    cairo_t *cairo = cairo_create(surface);
    cairo_translate(cairo, (width - scale * scene->width) / 2, paper_margin);
    cairo_scale(cairo, scale, scale);
    (void)paint_scene(cairo, scene, message);
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    const cairo_status_t status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return judged(status, out, message);
#else
    (void)scene;
    (void)out;
    fail(message, "this cairo writes no PDF");
    return false;
#endif
}

static bool paint(const picture_scene *scene, int kind, picture_module_write write, void *context,
                  char message[PICTURE_MODULE_MESSAGE])
{
    output out = {write, context, false};
    message[0] = '\0';
    /* Fontconfig and pango keep their tables to the end of the process: giving them back by force can abort.
     */
    return kind == PICTURE_MODULE_PDF ? paint_pdf(scene, &out, message) : paint_png(scene, &out, message);
}

__attribute__((visibility("default"))) extern const picture_module picture_module_cairo;
const picture_module picture_module_cairo = {PICTURE_MODULE_VERSION, sizeof(picture_scene), paint};
