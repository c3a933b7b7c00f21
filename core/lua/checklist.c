/* Checklists: data, read leaf by leaf, and their limits for one oven. */
#include "lua/lua_internal.h"
#include "ovenproof/electrical.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- reading ------------------------------------------------------------------------------------------ */

typedef struct text_field {
    const char *key;
    size_t offset, size;
} text_field;

#define STEP_FIELD(key)                                                                                      \
    {                                                                                                        \
#key, offsetof(lua_checklist_step, key), sizeof((lua_checklist_step *)0)->key                        \
    }
#define LIST_FIELD(key)                                                                                      \
    {                                                                                                        \
#key, offsetof(lua_checklist, key), sizeof((lua_checklist *)0)->key                                  \
    }

static const text_field step_fields[] = {
    STEP_FIELD(id),      STEP_FIELD(station), STEP_FIELD(tool),   STEP_FIELD(needs_part), STEP_FIELD(text),
    STEP_FIELD(caution), STEP_FIELD(if_not),  STEP_FIELD(record), STEP_FIELD(source),     {NULL, 0, 0}};
static const text_field list_fields[] = {
    LIST_FIELD(name), LIST_FIELD(title), LIST_FIELD(text), LIST_FIELD(due), {NULL, 0, 0}};

/* Copies `text` into the field of that name; false when there is no such field. */
static bool set_text(const text_field *fields, void *base, const char *key, const char *text,
                     ovp_status *status, ovp_error *error)
{
    for (; fields->key != NULL; fields++) {
        if (strcmp(fields->key, key) != 0)
            continue;
        *status = OVP_OK;
        if (!ovp_copy_string((char *)base + fields->offset, fields->size, ovp_span_of(text)))
            *status =
                ovp_error_set(error, OVP_ERROR_DATA, "`%s` is longer than %zu bytes", key, fields->size - 1);
        return true;
    }
    return false;
}

/* "steps[3].limit.high": the index and what follows; 0 when it is none of `array`. */
static size_t index_of(const char *path, const char *array, const char **rest)
{
    size_t count = strlen(array);
    if (strncmp(path, array, count) != 0 || path[count] != '[')
        return 0;
    char *end = NULL;
    unsigned long index = strtoul(path + count + 1, &end, 10);
    if (*end != ']')
        return 0;
    *rest = end[1] == '.' ? end + 2 : end + 1;
    return index;
}

static const ovp_text_kind figure_kinds[] = {OVP_TEXT_RESISTANCE, OVP_TEXT_EMF,
                                             OVP_TEXT_CURRENT,    OVP_TEXT_VOLTAGE,
                                             OVP_TEXT_DURATION,   OVP_TEXT_TEMPERATURE_DIFFERENCE};

/* A limit with its unit; the unit says what kind of value the step wants. */
static ovp_status set_figure(lua_checklist_step *step, double *figure, const char *text, ovp_error *error)
{
    for (size_t i = 0; i < sizeof figure_kinds / sizeof figure_kinds[0]; i++) {
        if (ovp_text_quantity(ovp_span_of(text), figure_kinds[i], OVP_TEXT_DEGREES_NONE, figure, NULL) !=
            OVP_OK)
            continue;
        step->kind = figure_kinds[i];
        step->of = LUA_CHECKLIST_OF_FIGURE;
        return OVP_OK;
    }
    return ovp_error_set(error, OVP_ERROR_DATA,
                         "\"%s\" is no limit: a figure with its unit is wanted (\"0.3ohm\")", text);
}

static ovp_status set_limit(lua_checklist_step *step, const char *key, ovp_oven_leaf kind, const char *text,
                            ovp_error *error)
{
    bool low = strcmp(key, "low") == 0;
    if (strcmp(key, "of") == 0 && strcmp(text, "element-cold-ohms") == 0) {
        step->of = LUA_CHECKLIST_OF_ELEMENT;
        step->kind = OVP_TEXT_RESISTANCE;
        return OVP_OK;
    }
    if (strcmp(key, "of") == 0 && strcmp(text, "heat-up") == 0) {
        step->of = LUA_CHECKLIST_OF_HEAT_UP;
        step->kind = OVP_TEXT_DURATION;
        return OVP_OK;
    }
    if (!low && strcmp(key, "high") != 0)
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "a limit has `low`, `high` and `of` (element-cold-ohms, heat-up)");
    if (kind == OVP_OVEN_LEAF_NUMBER) {
        double share = NAN;
        if (!ovp_text_number(ovp_span_of(text), &share))
            return ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" is no number", text);
        *(low ? &step->low : &step->high) = share;
        return OVP_OK;
    }
    return set_figure(step, low ? &step->low : &step->high, text, error);
}

static ovp_status set_step(lua_checklist_step *step, const char *key, ovp_oven_leaf kind, const char *text,
                           ovp_error *error)
{
    ovp_status status = OVP_OK;
    if (strncmp(key, "limit.", 6) == 0)
        return set_limit(step, key + 6, kind, text, error);
    if (strcmp(key, "safety") == 0 || strcmp(key, "stop") == 0) {
        *(key[1] == 'a' ? &step->safety : &step->stop) = strcmp(text, "true") == 0;
        return OVP_OK;
    }
    if (strcmp(key, "who") == 0) {
        step->technician = strcmp(text, "technician") == 0;
        if (step->technician || strcmp(text, "owner") == 0)
            return OVP_OK;
        return ovp_error_set(error, OVP_ERROR_DATA, "`who` is owner or technician, not \"%s\"", text);
    }
    if (set_text(step_fields, step, key, text, &status, error))
        return status;
    return ovp_error_set(error, OVP_ERROR_DATA, "a step has no field `%s`", key);
}

static ovp_status take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                            ovp_error *error)
{
    lua_checklist *list = context;
    const char *rest = "";
    ovp_status status = OVP_OK;
    size_t index = index_of(path, "steps", &rest);
    if (index > LUA_CHECKLIST_STEPS)
        return ovp_error_set(error, OVP_ERROR_DATA, "more than %d steps", LUA_CHECKLIST_STEPS);
    if (index > 0) {
        while (list->step_count < index)
            list->steps[list->step_count++] = (lua_checklist_step){.low = NAN, .high = NAN};
        return set_step(&list->steps[index - 1], rest, kind, text, error);
    }
    index = index_of(path, "cautions", &rest);
    if (index > LUA_CHECKLIST_CAUTIONS)
        return ovp_error_set(error, OVP_ERROR_DATA, "more than %d cautions", LUA_CHECKLIST_CAUTIONS);
    if (index > 0) {
        list->caution_count = index > list->caution_count ? index : list->caution_count;
        if (!ovp_copy_string(list->cautions[index - 1], LUA_CHECKLIST_TEXT_SIZE, ovp_span_of(text)))
            return ovp_error_set(error, OVP_ERROR_DATA, "a caution is too long");
        return OVP_OK;
    }
    if (set_text(list_fields, list, path, text, &status, error))
        return status;
    return ovp_error_set(error, OVP_ERROR_DATA, "a checklist has no field `%s`", path);
}

/* What must be there: a step without its text, its remedy or its id is no step; ids are not used twice. */
static ovp_status check_list(const lua_checklist *list, ovp_error *error)
{
    if (list->name[0] == '\0' || list->title[0] == '\0' || list->step_count == 0 || list->caution_count == 0)
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "a checklist needs `name`, `title`, `cautions` and `steps`");
    for (size_t i = 0; i < list->step_count; i++) {
        const lua_checklist_step *step = &list->steps[i];
        if (step->id[0] == '\0' || step->text[0] == '\0' || step->if_not[0] == '\0' ||
            step->station[0] == '\0')
            return ovp_error_set(error, OVP_ERROR_DATA, "step %zu needs `id`, `station`, `text` and `if_not`",
                                 i + 1);
        for (size_t j = 0; j < i; j++)
            if (strcmp(step->id, list->steps[j].id) == 0)
                return ovp_error_set(error, OVP_ERROR_DATA, "two steps have the id \"%s\"", step->id);
    }
    return OVP_OK;
}

ovp_status lua_read_checklist(const char *path, lua_checklist *list, ovp_error *error)
{
    memset(list, 0, sizeof *list);
    ovp_status status = lua_read_data(path, take_leaf, list, error);
    if (status == OVP_OK) {
        status = check_list(list, error);
        ovp_error_place(error, status == OVP_OK ? NULL : path, 0);
    }
    if (status != OVP_OK)
        ovp_error_hint(error, "docs/extending.md says what a checklist is");
    return status;
}

/* ---- limits for one oven ------------------------------------------------------------------------------ */

static void format_figure(ovp_text_kind kind, double value, ovp_text_degrees shown, char *buffer, size_t size)
{
    switch (kind) {
    case OVP_TEXT_RESISTANCE:
        (void)snprintf(buffer, size, value >= 1000 ? "%.0f kohm" : "%.3g ohm",
                       value >= 1000 ? value / 1000 : value);
        return;
    case OVP_TEXT_EMF:
        (void)snprintf(buffer, size, "%.4g mV", value);
        return;
    case OVP_TEXT_CURRENT:
        (void)snprintf(buffer, size, "%.3g A", value);
        return;
    case OVP_TEXT_VOLTAGE:
        (void)snprintf(buffer, size, "%.4g V", value);
        return;
    case OVP_TEXT_DURATION:
        (void)snprintf(buffer, size, "%.3g min", value / 60);
        return;
    default:
        (void)ovp_text_format_difference(value, shown, 0, buffer, size);
    }
}

static void word_limit(const lua_checklist_step *step, ovp_text_degrees shown, lua_checklist_limit *limit)
{
    char low[80] = "", high[80] = "";
    format_figure(step->kind, limit->low, shown, low, sizeof low);
    format_figure(step->kind, limit->high, shown, high, sizeof high);
    if (isnan(limit->high))
        (void)snprintf(limit->text, sizeof limit->text, "at least %s", low);
    else if (isnan(limit->low))
        (void)snprintf(limit->text, sizeof limit->text, "at most %s", high);
    else
        (void)snprintf(limit->text, sizeof limit->text, "%s to %s", low, high);
}

static void limit_of_element(const lua_checklist_step *step, const ovp_oven *oven, lua_checklist_limit *limit)
{
    ovp_electrical_load load;
    limit->known = oven != NULL && ovp_electrical_load_of(oven, NAN, &load, NULL) == OVP_OK;
    if (!limit->known) {
        (void)snprintf(limit->text, sizeof limit->text, "%.0f to %.0f %% of the cold ohms on its record",
                       100 * step->low, 100 * step->high);
        return;
    }
    limit->low = step->low * load.element_cold_ohm;
    limit->high = step->high * load.element_cold_ohm;
}

static void limit_of_heat_up(const ovp_oven *oven, ovp_text_degrees shown, lua_checklist_limit *limit)
{
    limit->known = oven != NULL && oven->heat_up_count > 0;
    if (!limit->known) {
        (void)snprintf(limit->text, sizeof limit->text, "within 7 %% of its own record");
        return;
    }
    char mark[80], minutes[80];
    limit->high = oven->heat_up[oven->heat_up_count - 1].within_s;
    (void)ovp_text_format_temperature(oven->heat_up[oven->heat_up_count - 1].to_C, shown, 0, mark,
                                      sizeof mark);
    format_figure(OVP_TEXT_DURATION, limit->high, shown, minutes, sizeof minutes);
    (void)snprintf(limit->text, sizeof limit->text, "%s within %s", mark, minutes);
}

void lua_checklist_limit_of(const lua_checklist_step *step, const ovp_oven *oven, ovp_text_degrees shown,
                            lua_checklist_limit *limit)
{
    *limit = (lua_checklist_limit){.known = true, .low = NAN, .high = NAN};
    switch (step->of) {
    case LUA_CHECKLIST_OF_EYE:
        return;
    case LUA_CHECKLIST_OF_HEAT_UP:
        limit_of_heat_up(oven, shown, limit);
        return;
    case LUA_CHECKLIST_OF_ELEMENT:
        limit_of_element(step, oven, limit);
        break;
    case LUA_CHECKLIST_OF_FIGURE:
        limit->low = step->low;
        limit->high = step->high;
        break;
    }
    if (limit->known)
        word_limit(step, shown, limit);
}
