/*
 * A lining is written as a thickness and words, layers joined by " + ", the hot face first:
 * "2.5in fibre board", "1in insulating firebrick + 0.5in dense board".
 */
#include "oven/oven_internal.h"

#include <string.h>

static const char *const material_names[OVP_OVEN_MATERIALS] = {
    [OVP_OVEN_MATERIAL_UNKNOWN] = "",
    [OVP_OVEN_FIBRE_BOARD] = "fibre board",
    [OVP_OVEN_FIBRE_BOARD_DENSE] = "dense fibre board",
    [OVP_OVEN_FIBRE_BLANKET] = "fibre blanket",
    [OVP_OVEN_INSULATING_FIREBRICK] = "insulating firebrick",
    [OVP_OVEN_DENSE_FIREBRICK] = "dense firebrick",
    [OVP_OVEN_CAST_REFRACTORY] = "cast refractory",
    [OVP_OVEN_DENSE_BOARD] = "dense board",
    [OVP_OVEN_SHELF_SLAB] = "kiln shelf slab",
};

/* Other words of the trade for the same stuff. */
static const struct {
    const char *word;
    ovp_oven_material material;
} other_words[] = {
    {"light fibre board", OVP_OVEN_FIBRE_BOARD},
    {"fibre board light", OVP_OVEN_FIBRE_BOARD},
    {"fibreboard", OVP_OVEN_FIBRE_BOARD},
    {"ceramic fibre board", OVP_OVEN_FIBRE_BOARD},
    {"fibre board dense", OVP_OVEN_FIBRE_BOARD_DENSE},
    {"ceramic fibre blanket", OVP_OVEN_FIBRE_BLANKET},
    {"blanket", OVP_OVEN_FIBRE_BLANKET},
    {"insulating fire brick", OVP_OVEN_INSULATING_FIREBRICK},
    {"insulating brick", OVP_OVEN_INSULATING_FIREBRICK},
    {"soft firebrick", OVP_OVEN_INSULATING_FIREBRICK},
    {"soft brick", OVP_OVEN_INSULATING_FIREBRICK},
    {"dense fire brick", OVP_OVEN_DENSE_FIREBRICK},
    {"hard firebrick", OVP_OVEN_DENSE_FIREBRICK},
    {"hard brick", OVP_OVEN_DENSE_FIREBRICK},
    {"castable", OVP_OVEN_CAST_REFRACTORY},
    {"castable refractory", OVP_OVEN_CAST_REFRACTORY},
    {"kiln shelf", OVP_OVEN_SHELF_SLAB},
    {"shelf slab", OVP_OVEN_SHELF_SLAB},
};

/* Lower case, one blank between words, no hyphen, comma or bracket, "fibre" for "fiber". */
static void plain_words(ovp_span words, char *plain, size_t size)
{
    size_t count = 0;
    bool blank = false;
    for (size_t i = 0; i < words.count; i++) {
        char letter = words.bytes[i];
        if (letter >= 'A' && letter <= 'Z')
            letter = (char)(letter - 'A' + 'a');
        if (letter == ' ' || letter == '\t' || letter == '-' || letter == ',' || letter == '(' ||
            letter == ')') {
            blank = count > 0;
            continue;
        }
        if (count + 3 > size)
            break;
        if (blank)
            plain[count++] = ' ';
        blank = false;
        plain[count++] = letter;
    }
    plain[count] = '\0';
    char *american = strstr(plain, "fiber");
    if (american != NULL) {
        american[3] = 'r';
        american[4] = 'e';
    }
}

ovp_oven_material ovp_oven_material_named(ovp_span words)
{
    char plain[64];
    plain_words(words, plain, sizeof plain);
    for (int i = OVP_OVEN_MATERIAL_UNKNOWN + 1; i < OVP_OVEN_MATERIALS; i++)
        if (strcmp(plain, material_names[i]) == 0)
            return (ovp_oven_material)i;
    for (size_t i = 0; i < sizeof other_words / sizeof other_words[0]; i++)
        if (strcmp(plain, other_words[i].word) == 0)
            return other_words[i].material;
    return OVP_OVEN_MATERIAL_UNKNOWN;
}

const char *ovp_oven_material_name(ovp_oven_material material)
{
    return material_names[material];
}

static bool is_unit_letter(char letter)
{
    return (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') || letter == '"';
}

/* Length of "2.5in" or "2.5 in" at the start of a layer. */
static size_t thickness_length(ovp_span layer)
{
    double number;
    size_t at = ovp_text_scan_number(layer, &number);
    if (at == 0)
        return 0;
    while (at < layer.count && layer.bytes[at] == ' ')
        at++;
    while (at < layer.count && is_unit_letter(layer.bytes[at]))
        at++;
    return at;
}

static ovp_status parse_layer(const char *path, ovp_span text, ovp_oven_layer *layer,
                              char word[OVP_OVEN_WORD_SIZE], ovp_error *warning, ovp_error *error)
{
    size_t length = thickness_length(text);
    ovp_span words = ovp_span_trim((ovp_span){text.bytes + length, text.count - length});
    if (length == 0 || words.count == 0) {
        ovp_error_set(error, OVP_ERROR_DATA, "%s: '%.*s' is not a thickness and a material", path,
                      (int)text.count, text.bytes);
        ovp_error_hint(error, "write it as \"2.5in fibre board\", layers joined by \" + \"");
        return OVP_ERROR_DATA;
    }
    ovp_error inner = {0};
    ovp_status status = ovp_text_quantity((ovp_span){text.bytes, length}, OVP_TEXT_LENGTH,
                                          OVP_TEXT_DEGREES_NONE, &layer->thickness_m, &inner);
    if (status != OVP_OK) {
        ovp_error_set(error, OVP_ERROR_DATA, "%s: %s", path, inner.what);
        ovp_error_hint(error, "write it as \"2.5in fibre board\", layers joined by \" + \"");
        return OVP_ERROR_DATA;
    }
    if (!(layer->thickness_m >= 0.001 && layer->thickness_m <= 1.0))
        return ovp_error_set(error, OVP_ERROR_DATA, "%s: a layer of '%.*s' is outside 1 mm to 1 m", path,
                             (int)length, text.bytes);
    layer->material = ovp_oven_material_named(words);
    word[0] = '\0';
    if (layer->material != OVP_OVEN_MATERIAL_UNKNOWN)
        return OVP_OK;
    ovp_copy_string(word, OVP_OVEN_WORD_SIZE, words);
    word[ovp_span_trim(ovp_span_of(word)).count] = '\0'; /* cut short, it may end in a blank */
    ovp_error_set(warning, OVP_OK, "%s: '%s' is not a material known here: reckoned as fibre board", path,
                  word);
    ovp_error_hint(warning,
                   "known: fibre board (light, dense), fibre blanket, insulating firebrick, dense firebrick, "
                   "cast refractory, dense board, kiln shelf slab");
    return OVP_OK;
}

ovp_status oven_parse_lining(const char *path, ovp_span text, ovp_oven_lining *lining, ovp_error *warning,
                             ovp_error *error)
{
    ovp_oven_lining read = {0};
    for (size_t at = 0; at <= text.count;) {
        size_t end = at;
        while (end < text.count && text.bytes[end] != '+')
            end++;
        if (read.count == OVP_OVEN_LAYERS)
            return ovp_error_set(error, OVP_ERROR_DATA, "%s: more than %d layers", path, OVP_OVEN_LAYERS);
        ovp_span layer = ovp_span_trim((ovp_span){text.bytes + at, end - at});
        ovp_status status =
            parse_layer(path, layer, &read.layers[read.count], read.words[read.count], warning, error);
        if (status != OVP_OK)
            return status;
        read.count++;
        at = end + 1;
    }
    *lining = read;
    return OVP_OK;
}

void oven_format_lining(const ovp_oven_lining *lining, char *buffer, size_t size)
{
    buffer[0] = '\0';
    for (size_t i = 0; i < lining->count; i++) {
        const ovp_oven_layer *layer = &lining->layers[i];
        char thickness[OVP_TEXT_NUMBER_SIZE + 8];
        oven_format_quantity(layer->thickness_m, OVP_TEXT_LENGTH, thickness, sizeof thickness);
        if (i > 0)
            oven_append(buffer, size, " + ");
        oven_append(buffer, size, thickness);
        oven_append(buffer, size, " ");
        oven_append(buffer, size,
                    layer->material == OVP_OVEN_MATERIAL_UNKNOWN ? lining->words[i]
                                                                 : material_names[layer->material]);
    }
}
