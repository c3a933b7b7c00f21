/* Paths of leaves: "elements[2].watts" to a row of a table of fields and a place in a struct. */
#include "oven/oven_internal.h"

#include <string.h>

/* "elements[2].watts" -> "elements[].watts" and 1. False when the index is not a whole number from 1. */
static bool split_path(const char *path, char plain[OVEN_PATH_SIZE], size_t *index)
{
    *index = 0;
    const char *bracket = strchr(path, '[');
    if (bracket == NULL)
        return ovp_copy_string(plain, OVEN_PATH_SIZE, ovp_span_of(path));
    size_t number = 0;
    const char *at = bracket + 1;
    for (; *at >= '0' && *at <= '9' && number < 10000; at++)
        number = number * 10 + (size_t)(*at - '0');
    if (*at != ']' || (number == 0 && at != bracket + 1))
        return false;
    *index = number == 0 ? 0 : number - 1; /* "[]" is the first */
    plain[0] = '\0';
    size_t head = (size_t)(bracket - path) + 1;
    if (head + strlen(at) + 1 > OVEN_PATH_SIZE)
        return false;
    memcpy(plain, path, head);
    memcpy(plain + head, at, strlen(at) + 1);
    return true;
}

/* Edit distance with a bound on length: only to say "did you mean". */
static size_t distance(const char *a, const char *b)
{
    size_t row[OVEN_PATH_SIZE + 1];
    size_t width = strlen(b);
    if (width > OVEN_PATH_SIZE)
        return OVEN_PATH_SIZE;
    for (size_t j = 0; j <= width; j++)
        row[j] = j;
    for (size_t i = 1; a[i - 1] != '\0'; i++) {
        size_t corner = row[0];
        row[0] = i;
        for (size_t j = 1; j <= width; j++) {
            size_t change = corner + (a[i - 1] != b[j - 1]);
            corner = row[j];
            size_t least = row[j] < row[j - 1] ? row[j] + 1 : row[j - 1] + 1;
            row[j] = change < least ? change : least;
        }
    }
    return row[width];
}

static ovp_status unknown_field(const oven_schema *schema, const char *path, const char *plain,
                                ovp_error *error)
{
    ovp_oven_part part;
    if (strncmp(plain, "fitted.", 7) == 0 && ovp_oven_part_named(ovp_span_of(plain + 7), &part)) {
        ovp_error_set(error, OVP_ERROR_DATA, "'%s' cannot be given", path);
        ovp_error_hint(error, "it follows from wiring and elements; leave it out");
        return OVP_ERROR_DATA;
    }
    const ovp_oven_field *nearest = schema->rows;
    size_t least = SIZE_MAX;
    for (const ovp_oven_field *field = schema->rows; field->path != NULL; field++) {
        size_t steps = distance(plain, field->path);
        if (steps < least) {
            least = steps;
            nearest = field;
        }
    }
    ovp_error_set(error, OVP_ERROR_DATA, "'%s' is not a field of %s", path, schema->of);
    ovp_error_hint(error, "the nearest is '%s'%s", nearest->path, schema->all);
    return OVP_ERROR_DATA;
}

ovp_status oven_find(const oven_schema *schema, const char *path, oven_place *place, ovp_error *error)
{
    char plain[OVEN_PATH_SIZE];
    size_t index;
    if (!split_path(path, plain, &index))
        return ovp_error_set(error, OVP_ERROR_DATA, "'%.60s' is not the name of a field", path);
    for (const ovp_oven_field *field = schema->rows; field->path != NULL; field++) {
        if (strcmp(field->path, plain) != 0)
            continue;
        if (field->stride > 0 && index >= field->bound)
            return ovp_error_set(error, OVP_ERROR_DATA, "'%s' is one too many: there is room for %zu", path,
                                 field->bound);
        *place = (oven_place){field, index};
        return OVP_OK;
    }
    return unknown_field(schema, path, plain, error);
}

bool oven_is_group(const oven_schema *schema, const char *path, size_t *index)
{
    char plain[OVEN_PATH_SIZE];
    if (!split_path(path, plain, index))
        return false;
    size_t length = strlen(plain);
    for (const ovp_oven_field *field = schema->rows; field->path != NULL; field++)
        if (strncmp(field->path, plain, length) == 0 &&
            (field->path[length] == '.' || field->path[length] == '['))
            return true;
    return false;
}

size_t *oven_count(void *base, const ovp_oven_field *field)
{
    return (size_t *)(void *)((char *)base + field->count_offset);
}

size_t oven_entries(const void *base, const ovp_oven_field *field)
{
    return *(const size_t *)(const void *)((const char *)base + field->count_offset);
}

void *oven_at(void *base, oven_place place)
{
    return (char *)base + place.field->offset + place.index * place.field->stride;
}

const void *oven_at_const(const void *base, oven_place place)
{
    return (const char *)base + place.field->offset + place.index * place.field->stride;
}

bool *oven_known(ovp_oven *oven, oven_place place)
{
    return (bool *)(void *)((char *)oven + place.field->known_offset);
}

char *oven_rating(ovp_oven *oven, oven_place place)
{
    return (char *)oven + place.field->known_offset;
}
