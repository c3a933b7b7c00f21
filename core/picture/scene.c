/* scene.c: a list of things to paint that grows. */
#include "picture/picture_internal.h"

#include <stdlib.h>
#include <string.h>

void picture_canvas_free(picture_canvas *canvas)
{
    free(canvas->scene.items);
    free(canvas->scene.points);
    free(canvas->scene.texts);
    memset(canvas, 0, sizeof *canvas);
}

/* Room for `more` members beyond `count`; the old block stays when there is none. */
static bool grow(picture_canvas *canvas, void **block, size_t *room, size_t count, size_t more, size_t size)
{
    size_t wanted = *room ? *room : 64, bytes;
    if (canvas->failed) {
        return false;
    }
    while (wanted < count + more) {
        wanted *= 2;
    }
    if (wanted == *room) {
        return true;
    }
    void *larger = ovp_multiply_size(wanted, size, &bytes) ? realloc(*block, bytes) : NULL;
    if (larger == NULL) {
        canvas->failed = true;
        return false;
    }
    *block = larger;
    *room = wanted;
    return true;
}

picture_item *picture_add(picture_canvas *canvas, picture_item_kind kind)
{
    picture_scene *scene = &canvas->scene;
    void *items = scene->items;
    const bool has_room =
        grow(canvas, &items, &canvas->item_room, scene->item_count, 1, sizeof *scene->items);
    scene->items = items;
    if (!has_room) {
        return NULL;
    }
    picture_item *item = &scene->items[scene->item_count++];
    memset(item, 0, sizeof *item);
    item->kind = kind;
    item->first = scene->point_count;
    return item;
}

void picture_add_point(picture_canvas *canvas, picture_item *item, picture_point point)
{
    picture_scene *scene = &canvas->scene;
    void *points = scene->points;
    const bool has_room = item != NULL && grow(canvas, &points, &canvas->point_room, scene->point_count, 1,
                                               sizeof *scene->points);
    scene->points = points;
    if (has_room) {
        scene->points[scene->point_count++] = point;
        item->count++;
    }
}

void picture_add_line(picture_canvas *canvas, double x0, double y0, double x1, double y1, unsigned colour,
                      double width, picture_dash dash)
{
    picture_item *item = picture_add(canvas, PICTURE_ITEM_PATH);
    if (item == NULL) {
        return;
    }
    item->colour = colour;
    item->line_width = width;
    item->dash = dash;
    picture_add_point(canvas, item, (picture_point){(float)x0, (float)y0, true});
    picture_add_point(canvas, item, (picture_point){(float)x1, (float)y1, false});
}

void picture_add_box(picture_canvas *canvas, double x, double y, double width, double height, unsigned colour)
{
    picture_item *item = picture_add(canvas, PICTURE_ITEM_BOX);
    if (item != NULL) {
        item->x = x;
        item->y = y;
        item->width = width;
        item->height = height;
        item->colour = colour;
    }
}

/* A copy of the words without control characters, which XML does not allow. */
static bool add_text(picture_canvas *canvas, const char *text, size_t *at)
{
    picture_scene *scene = &canvas->scene;
    const size_t length = strlen(text) + 1;
    void *texts = scene->texts;
    const bool has_room = grow(canvas, &texts, &canvas->text_room, scene->text_count, length, 1);
    scene->texts = texts;
    if (!has_room) {
        return false;
    }
    *at = scene->text_count;
    for (size_t i = 0; i < length; i++) {
        const unsigned char byte = (unsigned char)text[i];
        scene->texts[scene->text_count++] = (char)(byte != 0 && (byte < 32 || byte == 127) ? ' ' : byte);
    }
    return true;
}

void picture_add_words(picture_canvas *canvas, double x, double y, double size, picture_anchor anchor,
                       const char *text)
{
    picture_item *item = picture_add(canvas, PICTURE_ITEM_WORDS);
    size_t at = 0;
    if (item == NULL || !add_text(canvas, text, &at)) {
        return;
    }
    item->x = x;
    item->y = y;
    item->size = size;
    item->anchor = anchor;
    item->text = at;
    item->room = picture_words_width(text, size, false);
}

/* Advance widths of DejaVu Sans in 1/1000 of the size, from the space on: the widest of the usual letters, so
 * that words laid out by them have room in any other. */
static const unsigned short widths[] = {
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838};

double picture_words_width(const char *text, double size, bool bold)
{
    double sum = 0;
    for (const unsigned char *at = (const unsigned char *)text; *at != '\0'; at++) {
        if (*at >= 32 && *at < 127) {
            sum += widths[*at - 32];
        } else if ((*at & 0xC0) != 0x80) {                      /* once for each letter of several bytes */
            sum += *at == 0xC2 ? 500 : *at < 0xE3 ? 800 : 1000; /* C2 begins the degree and its neighbours */
        }
    }
    return sum * size / 1000 * (bold ? 1.13 : 1);
}
