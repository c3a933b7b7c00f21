/* Checklists: data, read leaf by leaf. A step may take from the shared library of steps what it does not say.
 */
#include "lua/lua_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What a step said itself, by bit: the rows of step_fields first, then these. */
enum {
    GIVEN_SAFETY = 24,
    GIVEN_STOP,
    GIVEN_WHO,
    GIVEN_LIMIT,
};

/* One reading. */
typedef struct list_reading {
    lua_checklist *list;
    bool is_library;                                     /* steps only, none of which uses another */
    lua_checklist *library;                              /* NULL until a step uses it; owned */
    uint32_t given[LUA_CHECKLIST_STEPS];                 /* of each step */
    const lua_checklist_step *base[LUA_CHECKLIST_STEPS]; /* in the library; NULL */
} list_reading;

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

static const text_field step_fields[] = {STEP_FIELD(id),         STEP_FIELD(station), STEP_FIELD(tool),
                                         STEP_FIELD(needs_part), STEP_FIELD(text),    STEP_FIELD(caution),
                                         STEP_FIELD(if_not),     STEP_FIELD(record),  STEP_FIELD(source),
                                         STEP_FIELD(after),      STEP_FIELD(same),    {NULL, 0, 0}};
static const text_field list_fields[] = {
    LIST_FIELD(name), LIST_FIELD(title), LIST_FIELD(text), LIST_FIELD(due), {NULL, 0, 0}};

/* Copies `text` into the field of that name; its row, or -1 when there is no such field. */
static int set_text(const text_field *fields, void *base, const char *key, const char *text,
                    ovp_status *status, ovp_error *error)
{
    for (int row = 0; fields[row].key != NULL; row++) {
        if (strcmp(fields[row].key, key) != 0)
            continue;
        *status = OVP_OK;
        if (!ovp_copy_string((char *)base + fields[row].offset, fields[row].size, ovp_span_of(text)))
            *status = ovp_error_set(error, OVP_ERROR_DATA, "`%s` is longer than %zu bytes", key,
                                    fields[row].size - 1);
        return row;
    }
    return -1;
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

/* ---- limits ---------------------------------------------------------------------------------------------
 */

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
        if (step->of == LUA_CHECKLIST_OF_EYE)
            step->of = LUA_CHECKLIST_OF_FIGURE;
        return OVP_OK;
    }
    return ovp_error_set(error, OVP_ERROR_DATA,
                         "\"%s\" is no limit: a figure with its unit is wanted (\"0.3ohm\")", text);
}

static const struct {
    const char *word;
    lua_checklist_of of;
    ovp_text_kind kind;
} limit_words[] = {
    {"element-cold-ohms", LUA_CHECKLIST_OF_ELEMENT, OVP_TEXT_RESISTANCE},
    {"oven-cold-ohms", LUA_CHECKLIST_OF_OVEN_OHMS, OVP_TEXT_RESISTANCE},
    {"full-amps", LUA_CHECKLIST_OF_AMPS, OVP_TEXT_CURRENT},
    {"insulation", LUA_CHECKLIST_OF_INSULATION, OVP_TEXT_RESISTANCE},
    {"insulation-new", LUA_CHECKLIST_OF_INSULATION_NEW, OVP_TEXT_RESISTANCE},
    {"ground-bond", LUA_CHECKLIST_OF_BOND, OVP_TEXT_RESISTANCE},
    {"supply-volts", LUA_CHECKLIST_OF_VOLTS, OVP_TEXT_VOLTAGE},
    {"sensor-millivolts", LUA_CHECKLIST_OF_SENSOR_MV, OVP_TEXT_EMF},
    {"heat-up", LUA_CHECKLIST_OF_HEAT_UP, OVP_TEXT_DURATION},
    {"first-firing", LUA_CHECKLIST_OF_FIRST_FIRING, OVP_TEXT_DURATION},
};

static ovp_status set_limit_of(lua_checklist_step *step, const char *word, ovp_error *error)
{
    for (size_t i = 0; i < sizeof limit_words / sizeof limit_words[0]; i++) {
        if (strcmp(word, limit_words[i].word) != 0)
            continue;
        step->of = limit_words[i].of;
        step->kind = limit_words[i].kind;
        return OVP_OK;
    }
    return ovp_error_set(error, OVP_ERROR_DATA,
                         "no limit is worked out from \"%s\": element-cold-ohms, oven-cold-ohms, full-amps, "
                         "supply-volts, insulation, insulation-new, ground-bond, sensor-millivolts, heat-up "
                         "or first-firing",
                         word);
}

static ovp_status set_temperature(lua_checklist_step *step, double *figure, const char *text,
                                  ovp_error *error)
{
    step->kind = OVP_TEXT_TEMPERATURE;
    step->of = LUA_CHECKLIST_OF_FIGURE;
    return ovp_text_quantity(ovp_span_of(text), OVP_TEXT_TEMPERATURE, OVP_TEXT_DEGREES_NONE, figure, error);
}

static ovp_status set_limit(lua_checklist_step *step, const char *key, ovp_oven_leaf kind, const char *text,
                            ovp_error *error)
{
    if (strcmp(key, "of") == 0)
        return set_limit_of(step, text, error);
    if (strcmp(key, "coolest") == 0 || strcmp(key, "hottest") == 0)
        return set_temperature(step, key[0] == 'c' ? &step->low : &step->high, text, error);
    bool low = strcmp(key, "low") == 0;
    if (!low && strcmp(key, "high") != 0)
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "a limit has `low` and `high` (figures, or shares with `of`), or `coolest` and "
                             "`hottest` (temperatures)");
    if (kind != OVP_OVEN_LEAF_NUMBER)
        return set_figure(step, low ? &step->low : &step->high, text, error);
    double share = NAN;
    if (!ovp_text_number(ovp_span_of(text), &share))
        return ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" is no number", text);
    *(low ? &step->low : &step->high) = share;
    return OVP_OK;
}

/* ---- steps ----------------------------------------------------------------------------------------------
 */

static lua_checklist_step new_step(void)
{
    return (lua_checklist_step){.low = NAN, .high = NAN};
}

static ovp_status set_who(bool *technician, const char *text, ovp_error *error)
{
    *technician = strcmp(text, "technician") == 0;
    if (*technician || strcmp(text, "owner") == 0)
        return OVP_OK;
    return ovp_error_set(error, OVP_ERROR_DATA, "`who` is owner or technician, not \"%s\"", text);
}

static ovp_status set_yes_no(bool *yes, const char *key, ovp_oven_leaf kind, const char *text,
                             ovp_error *error)
{
    if (kind != OVP_OVEN_LEAF_BOOLEAN)
        return ovp_error_set(error, OVP_ERROR_DATA, "`%s` is true or false", key);
    *yes = strcmp(text, "true") == 0;
    return OVP_OK;
}

static ovp_status open_library(list_reading *reading, ovp_error *error)
{
    char path[OVP_ERROR_FILE_SIZE];
    if (reading->library != NULL)
        return OVP_OK;
    ovp_status status = lua_find("checklists/steps", "shared", path, sizeof path, error);
    if (status != OVP_OK)
        return status;
    lua_checklist *library = calloc(1, sizeof *library);
    list_reading *inner = calloc(1, sizeof *inner);
    if (library == NULL || inner == NULL) {
        status = ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    } else {
        *inner = (list_reading){.list = library, .is_library = true};
        status = lua_read_data(path, checklist_take_leaf, inner, error);
    }
    free(inner);
    reading->library = status == OVP_OK ? library : NULL;
    if (status != OVP_OK)
        free(library);
    return status;
}

static ovp_status use_step(list_reading *reading, size_t step, const char *id, ovp_error *error)
{
    if (reading->is_library)
        return ovp_error_set(error, OVP_ERROR_DATA, "a step of the library uses no other");
    ovp_status status = open_library(reading, error);
    if (status != OVP_OK)
        return status;
    for (size_t i = 0; i < reading->library->step_count; i++) {
        if (strcmp(reading->library->steps[i].id, id) != 0)
            continue;
        reading->base[step] = &reading->library->steps[i];
        return OVP_OK;
    }
    return ovp_error_set(error, OVP_ERROR_DATA, "the library of steps has no \"%s\"", id);
}

static ovp_status set_step(list_reading *reading, size_t at, const char *key, ovp_oven_leaf kind,
                           const char *text, ovp_error *error)
{
    ovp_status status = OVP_OK;
    lua_checklist_step *step = &reading->list->steps[at];
    uint32_t *given = &reading->given[at];
    if (strcmp(key, "use") == 0)
        return use_step(reading, at, text, error);
    if (strncmp(key, "limit.", 6) == 0) {
        *given |= UINT32_C(1) << GIVEN_LIMIT;
        return set_limit(step, key + 6, kind, text, error);
    }
    if (strcmp(key, "safety") == 0 || strcmp(key, "stop") == 0) {
        *given |= UINT32_C(1) << (key[1] == 'a' ? GIVEN_SAFETY : GIVEN_STOP);
        return set_yes_no(key[1] == 'a' ? &step->safety : &step->stop, key, kind, text, error);
    }
    if (strcmp(key, "who") == 0) {
        *given |= UINT32_C(1) << GIVEN_WHO;
        return set_who(&step->technician, text, error);
    }
    int row = set_text(step_fields, step, key, text, &status, error);
    if (row < 0)
        return ovp_error_set(error, OVP_ERROR_DATA, "a step has no field `%s`", key);
    *given |= UINT32_C(1) << row;
    if (status == OVP_OK && strcmp(key, "same") == 0) {
        *given |= UINT32_C(1) << GIVEN_LIMIT;
        step->of = LUA_CHECKLIST_OF_SAME;
    }
    return status;
}

/* What the step did not say itself. */
static void inherit(lua_checklist_step *step, const lua_checklist_step *base, uint32_t given)
{
    for (int row = 0; step_fields[row].key != NULL; row++)
        if ((given >> row & 1) == 0)
            (void)ovp_copy_string((char *)step + step_fields[row].offset, step_fields[row].size,
                                  ovp_span_of((const char *)base + step_fields[row].offset));
    if ((given >> GIVEN_SAFETY & 1) == 0)
        step->safety = base->safety;
    if ((given >> GIVEN_STOP & 1) == 0)
        step->stop = base->stop;
    if ((given >> GIVEN_WHO & 1) == 0)
        step->technician = base->technician;
    if ((given >> GIVEN_LIMIT & 1) != 0)
        return;
    step->of = base->of;
    step->kind = base->kind;
    step->low = base->low;
    step->high = base->high;
}

/* ---- the list ---------------------------------------------------------------------------------------------
 */

ovp_status checklist_take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                               ovp_error *error)
{
    list_reading *reading = context;
    lua_checklist *list = reading->list;
    const char *rest = "";
    ovp_status status = OVP_OK;
    size_t index = index_of(path, "steps", &rest);
    if (index > LUA_CHECKLIST_STEPS)
        return ovp_error_set(error, OVP_ERROR_DATA, "more than %d steps", LUA_CHECKLIST_STEPS);
    if (index > 0) {
        while (list->step_count < index)
            list->steps[list->step_count++] = new_step();
        return set_step(reading, index - 1, rest, kind, text, error);
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
    if (strcmp(path, "who") == 0)
        return set_who(&list->technician, text, error);
    if (set_text(list_fields, list, path, text, &status, error) >= 0)
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

ovp_status lua_read_checklist_bytes(const char *bytes, size_t count, const char *name, lua_checklist *list,
                                    ovp_error *error)
{
    memset(list, 0, sizeof *list);
    list_reading *reading = calloc(1, sizeof *reading);
    if (reading == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    reading->list = list;
    ovp_status status = lua_read_data_bytes(bytes, count, name, checklist_take_leaf, reading, error);
    for (size_t i = 0; i < list->step_count && status == OVP_OK; i++)
        if (reading->base[i] != NULL)
            inherit(&list->steps[i], reading->base[i], reading->given[i]);
    free(reading->library);
    free(reading);
    if (status == OVP_OK) {
        status = check_list(list, error);
        ovp_error_place(error, status == OVP_OK ? NULL : name, 0);
    }
    if (status != OVP_OK)
        ovp_error_hint(error, "docs/extending.md says what a checklist is");
    return status;
}

ovp_status lua_read_checklist(const char *path, lua_checklist *list, ovp_error *error)
{
    char *bytes = NULL;
    size_t count = 0;
    ovp_status status = state_read_file(path, CHECKLIST_BYTES, &bytes, &count, error);
    if (status != OVP_OK)
        return status;
    status = lua_read_checklist_bytes(bytes, count, path, list, error);
    free(bytes);
    return status;
}
