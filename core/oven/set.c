/* One leaf in, one leaf out. */
#include "oven/oven_internal.h"

#include <math.h>
#include <string.h>

void oven_clear_all(const oven_schema *schema, void *base, size_t size)
{
    memset(base, 0, size);
    for (const ovp_oven_field *field = schema->rows; field->path != NULL; field++) {
        if (field->store != OVEN_STORE_QUANTITY)
            continue;
        size_t count = field->stride == 0 ? 1 : field->bound;
        for (size_t i = 0; i < count; i++)
            *(double *)oven_at(base, (oven_place){field, i}) = NAN;
    }
}

void ovp_oven_init(ovp_oven *oven)
{
    oven_clear_all(oven_schema_of_oven(), oven, sizeof *oven);
}

static ovp_status set_quantity(double *value, const char *path, const ovp_oven_field *field, const char *text,
                               ovp_error *error)
{
    double read;
    ovp_error inner = {0};
    ovp_status status =
        ovp_text_quantity(ovp_span_of(text), field->kind, OVP_TEXT_DEGREES_NONE, &read, &inner);
    if (status != OVP_OK) {
        ovp_error_set(error, status, "%s: %s", path, inner.what);
        if (inner.hint[0] != '\0')
            ovp_error_hint(error, "%s", inner.hint);
        return status;
    }
    if (read >= field->low && read <= field->high) {
        *value = read;
        return OVP_OK;
    }
    char low[OVEN_PATH_SIZE], high[OVEN_PATH_SIZE];
    oven_format_quantity(field->low, field->kind, low, sizeof low);
    oven_format_quantity(field->high, field->kind, high, sizeof high);
    return ovp_error_set(error, OVP_ERROR_DATA, "%s: %.60s is outside %s to %s", path, text, low, high);
}

/* Which of "a|b|c" the text is, from 1; 0 when none. Letter case does not matter. */
static int choose(const char *choices, ovp_span text, char *chosen, size_t size)
{
    int number = 1;
    for (const char *at = choices; *at != '\0'; number++) {
        size_t length = strcspn(at, "|");
        char word[OVP_OVEN_WORD_SIZE];
        ovp_copy_string(word, sizeof word, (ovp_span){at, length});
        if (ovp_span_equals(text, word))
            return ovp_copy_string(chosen, size, ovp_span_of(word)) ? number : 0;
        at += length + (at[length] == '|');
    }
    return 0;
}

static ovp_status not_a_choice(const char *path, const char *choices, const char *text, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "%s: '%.60s' is none of its words", path, text);
    char list[OVP_ERROR_TEXT_SIZE] = "";
    for (const char *at = choices; *at != '\0';) {
        size_t length = strcspn(at, "|");
        char word[OVP_OVEN_WORD_SIZE];
        ovp_copy_string(word, sizeof word, (ovp_span){at, length});
        oven_append(list, sizeof list, list[0] == '\0' ? "" : ", ");
        oven_append(list, sizeof list, word);
        at += length + (at[length] == '|');
    }
    ovp_error_hint(error, "one of: %s", list);
    return OVP_ERROR_DATA;
}

static ovp_status set_text(char *value, const char *path, const ovp_oven_field *field, const char *text,
                           ovp_error *error)
{
    const size_t size = field->size == 0 ? OVP_OVEN_STRING_SIZE : field->size;
    char read[OVP_OVEN_PLAN_TEXT_SIZE] = {0}; /* no bytes left behind the zero: ovens are compared whole */
    if (field->choices != NULL) {
        if (choose(field->choices, ovp_span_trim(ovp_span_of(text)), read, size) == 0)
            return not_a_choice(path, field->choices, text, error);
    } else if (!ovp_copy_string(read, size, ovp_span_of(text))) {
        return ovp_error_set(error, OVP_ERROR_DATA, "%s: longer than %zu bytes", path, size - 1);
    }
    memcpy(value, read, size);
    return OVP_OK;
}

static ovp_status set_choice(int *value, const char *path, const ovp_oven_field *field, const char *text,
                             ovp_error *error)
{
    char word[OVP_OVEN_WORD_SIZE];
    const int chosen = choose(field->choices, ovp_span_trim(ovp_span_of(text)), word, sizeof word);
    if (chosen == 0)
        return not_a_choice(path, field->choices, text, error);
    *value = chosen;
    return OVP_OK;
}

/* 1 yes, 0 no, -1 neither. */
static int yes_or_no(ovp_oven_leaf leaf, ovp_span text)
{
    static const char *const yes[] = {"true", "yes", "fitted"}, *const no[] = {"false", "no", "none",
                                                                               "not fitted"};
    if (leaf == OVP_OVEN_LEAF_NUMBER)
        return -1;
    for (size_t i = 0; i < sizeof yes / sizeof yes[0]; i++)
        if (ovp_span_equals(text, yes[i]))
            return 1;
    for (size_t i = 0; i < sizeof no / sizeof no[0]; i++)
        if (ovp_span_equals(text, no[i]))
            return 0;
    return -1;
}

static ovp_status set_yes_no(void *oven, oven_place place, const char *path, ovp_oven_leaf leaf,
                             const char *text, ovp_error *error)
{
    ovp_span trimmed = ovp_span_trim(ovp_span_of(text));
    int answer = yes_or_no(leaf, trimmed);
    bool part = place.field->store == OVEN_STORE_PART;
    if (answer < 0 && !part) {
        ovp_error_set(error, OVP_ERROR_DATA, "%s: '%.60s' is neither true nor false", path, text);
        ovp_error_hint(error, "write true or false without quotes, or leave it out when it is not known");
        return OVP_ERROR_DATA;
    }
    if (answer < 0 && (leaf == OVP_OVEN_LEAF_NUMBER || trimmed.count == 0)) {
        ovp_error_set(error, OVP_ERROR_DATA, "%s: '%.60s' says neither fitted nor not", path, text);
        ovp_error_hint(error,
                       "write true, false, or its rating as \"20A\"; leave it out when it is not known");
        return OVP_ERROR_DATA;
    }
    char rating[OVP_OVEN_STRING_SIZE] = "";
    if (answer < 0 && !ovp_copy_string(rating, sizeof rating, trimmed))
        return ovp_error_set(error, OVP_ERROR_DATA, "%s: longer than %d bytes", path,
                             OVP_OVEN_STRING_SIZE - 1);
    *(ovp_oven_fitted *)oven_at(oven, place) = answer == 0 ? OVP_OVEN_NOT_FITTED : OVP_OVEN_FITTED;
    if (part)
        memcpy(oven_rating(oven, place), rating, sizeof rating);
    return OVP_OK;
}

static ovp_status set_type(void *oven, oven_place place, const char *path, const char *text, ovp_error *error)
{
    ovp_tc_type type;
    bool copper = strstr(place.field->choices, "copper") != NULL;
    if (!ovp_tc_type_named(ovp_span_trim(ovp_span_of(text)), copper, &type))
        return not_a_choice(path, place.field->choices, text, error);
    *(ovp_tc_type *)oven_at(oven, place) = type;
    *oven_known(oven, place) = true;
    return OVP_OK;
}

static ovp_status set_wiring(ovp_oven_wiring *wiring, const char *path, const ovp_oven_field *field,
                             const char *text, ovp_error *error)
{
    ovp_span trimmed = ovp_span_trim(ovp_span_of(text));
    if (ovp_span_equals(trimmed, "single"))
        *wiring = OVP_OVEN_WIRING_SINGLE;
    else if (ovp_span_equals(trimmed, "parallel"))
        *wiring = OVP_OVEN_WIRING_PARALLEL;
    else if (ovp_span_equals(trimmed, "series"))
        *wiring = OVP_OVEN_WIRING_SERIES;
    else
        return not_a_choice(path, field->choices, text, error);
    return OVP_OK;
}

static ovp_status set_value(void *oven, oven_place place, const char *path, ovp_oven_leaf leaf,
                            const char *text, ovp_error *warning, ovp_error *error)
{
    void *at = oven_at(oven, place);
    if (leaf == OVP_OVEN_LEAF_BOOLEAN && !place.field->is_yes_no)
        return ovp_error_set(error, OVP_ERROR_DATA, "%s: '%s' where a %s is wanted", path, text,
                             place.field->is_text ? "word" : "quantity");
    switch ((oven_store)place.field->store) {
    case OVEN_STORE_QUANTITY:
        return set_quantity(at, path, place.field, text, error);
    case OVEN_STORE_TEXT:
        return set_text(at, path, place.field, text, error);
    case OVEN_STORE_TYPE:
        return set_type(oven, place, path, text, error);
    case OVEN_STORE_WIRING:
        return set_wiring(at, path, place.field, text, error);
    case OVEN_STORE_DEGREES:
        if (!ovp_text_degrees_named(ovp_span_trim(ovp_span_of(text)), at))
            return not_a_choice(path, place.field->choices, text, error);
        return OVP_OK;
    case OVEN_STORE_LINING:
        return oven_parse_lining(path, ovp_span_of(text), at, warning, error);
    case OVEN_STORE_YES_NO:
    case OVEN_STORE_PART:
        return set_yes_no(oven, place, path, leaf, text, error);
    case OVEN_STORE_CHOICE:
        return set_choice(at, path, place.field, text, error);
    }
    return OVP_ERROR_USAGE;
}

static ovp_status check_index(void *base, oven_place place, const char *path, ovp_error *error)
{
    if (place.field->stride == 0 || place.index <= *oven_count(base, place.field))
        return OVP_OK;
    return ovp_error_set(error, OVP_ERROR_DATA, "'%s': there is no entry %zu before it", path, place.index);
}

/* The first row of the array that a path such as "elements[2]" leads into; NULL for a plain table. */
static const ovp_oven_field *array_of(const oven_schema *schema, const char *path)
{
    const char *bracket = strchr(path, '[');
    const size_t length = bracket == NULL ? 0 : (size_t)(bracket - path) + 1;
    for (const ovp_oven_field *field = schema->rows; length > 0 && field->path != NULL; field++)
        if (field->stride > 0 && strncmp(field->path, path, length) == 0)
            return field;
    return NULL;
}

/* An empty table names its place in an array, and says nothing else. */
static ovp_status set_empty(const oven_schema *schema, void *base, const char *path, ovp_error *error)
{
    size_t index;
    oven_place place;
    if (path[0] == '\0')
        return OVP_OK; /* a description without a field */
    if (!oven_is_group(schema, path, &index))
        return oven_find(schema, path, &place, error) == OVP_OK
                   ? ovp_error_set(error, OVP_ERROR_DATA, "%s: an empty table where a value is wanted", path)
                   : OVP_ERROR_DATA;
    const ovp_oven_field *field = array_of(schema, path);
    if (field == NULL)
        return OVP_OK;
    place = (oven_place){field, index};
    if (index >= field->bound)
        return ovp_error_set(error, OVP_ERROR_DATA, "'%s' is one too many: there is room for %zu", path,
                             field->bound);
    ovp_status status = check_index(base, place, path, error);
    size_t *count = oven_count(base, place.field);
    if (status == OVP_OK && *count == index)
        *count = index + 1;
    return status;
}

ovp_status oven_set_leaf(const oven_schema *schema, void *base, const char *path, ovp_oven_leaf leaf,
                         const char *text, ovp_error *warning, ovp_error *error)
{
    if (warning != NULL)
        *warning = (ovp_error){0};
    if (leaf == OVP_OVEN_LEAF_EMPTY)
        return set_empty(schema, base, path, error);
    oven_place place;
    size_t index;
    if (oven_is_group(schema, path, &index))
        return ovp_error_set(error, OVP_ERROR_DATA, "%s: '%.60s' where a table { ... } is wanted", path,
                             text);
    ovp_status status = oven_find(schema, path, &place, error);
    if (status != OVP_OK)
        return status;
    status = check_index(base, place, path, error);
    if (status != OVP_OK)
        return status;
    status = set_value(base, place, path, leaf, text, warning, error);
    if (status == OVP_OK && place.field->stride > 0 && *oven_count(base, place.field) == place.index)
        *oven_count(base, place.field) = place.index + 1;
    return status;
}

ovp_status ovp_oven_set(ovp_oven *oven, const char *path, ovp_oven_leaf leaf, const char *text,
                        ovp_error *warning, ovp_error *error)
{
    return oven_set_leaf(oven_schema_of_oven(), oven, path, leaf, text, warning, error);
}

ovp_status ovp_oven_clear(ovp_oven *oven, const char *path, ovp_error *error)
{
    oven_place place;
    ovp_status status = oven_find(oven_schema_of_oven(), path, &place, error);
    if (status != OVP_OK)
        return status;
    void *at = oven_at(oven, place);
    switch ((oven_store)place.field->store) {
    case OVEN_STORE_QUANTITY:
        *(double *)at = NAN;
        break;
    case OVEN_STORE_TEXT:
        memset(at, 0, OVP_OVEN_STRING_SIZE);
        break;
    case OVEN_STORE_TYPE:
        *(ovp_tc_type *)at = OVP_TC_B;
        *oven_known(oven, place) = false;
        break;
    case OVEN_STORE_WIRING:
        *(ovp_oven_wiring *)at = OVP_OVEN_WIRING_UNKNOWN;
        break;
    case OVEN_STORE_DEGREES:
        *(ovp_text_degrees *)at = OVP_TEXT_DEGREES_NONE;
        break;
    case OVEN_STORE_LINING:
        memset(at, 0, sizeof(ovp_oven_lining));
        break;
    case OVEN_STORE_PART:
        memset(oven_rating(oven, place), 0, OVP_OVEN_STRING_SIZE);
        *(ovp_oven_fitted *)at = OVP_OVEN_UNKNOWN;
        break;
    case OVEN_STORE_YES_NO:
        *(ovp_oven_fitted *)at = OVP_OVEN_UNKNOWN;
        break;
    case OVEN_STORE_CHOICE:
        *(int *)at = 0;
        break;
    }
    return OVP_OK;
}
