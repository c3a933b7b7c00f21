/* checklist: the model's one golden list of the controller's parameters, a step for each. */
#include "command/checklist.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Parameters that a description itself gives, where a model has no golden list of its own. */
static const struct {
    const char *path, *name, *differs;
    bool safety, stop;
} described[] = {
    {"controller.input", "input type",
     "it reads wrong at every temperature but the room's: no heat before it is right", true, true},
    {"controller.degrees", "unit of the display", "a setpoint in the wrong unit can be 1000 °F too hot", true,
     true},
    {"controller.on_sensor_break", "output when the sensor is open",
     "an open sensor would leave it heating: no heat before it is right", true, true},
    {"chamber.limit", "highest setpoint", "it can be set hotter than its lining bears", true, false},
    {"controller.period", "cycle time of the output", "too long: it swings; too short: a contactor wears out",
     false, false},
    {"controller.pid", "band, integral, derivative", "it overshoots, swings or crawls", false, false},
};

typedef struct golden_reading {
    lua_checklist *list;
    const lua_checklist_step *model;
    size_t first; /* its place in the list */
} golden_reading;

/* "input type" as an id: letters and digits, the rest as dashes. */
static void make_id(const char *name, char *id, size_t size)
{
    size_t at = 0;
    for (; name[at] != '\0' && at + 1 < size; at++)
        id[at] = (char)(isalnum((unsigned char)name[at]) ? tolower((unsigned char)name[at]) : '-');
    id[at] = '\0';
}

static lua_checklist_step *step_at(const golden_reading *reading, size_t index)
{
    lua_checklist *list = reading->list;
    if (reading->first + index >= LUA_CHECKLIST_STEPS)
        return NULL;
    while (list->step_count <= reading->first + index) {
        lua_checklist_step *step = &list->steps[list->step_count++];
        *step = *reading->model;
        step->of = LUA_CHECKLIST_OF_SAME;
        step->low = step->high = NAN;
        step->same[0] = step->id[0] = '\0';
        step->safety = step->stop = false;
    }
    return &list->steps[reading->first + index];
}

static ovp_status name_step(lua_checklist_step *step, const char *name, ovp_error *error)
{
    make_id(name, step->id, sizeof step->id);
    int length = snprintf(step->text, sizeof step->text, "%s", name);
    return length < (int)sizeof step->text
               ? OVP_OK
               : ovp_error_set(error, OVP_ERROR_DATA, "the name of a parameter is too long");
}

static ovp_status take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                            ovp_error *error)
{
    const golden_reading *reading = context;
    (void)kind;
    if (strcmp(path, "name") == 0 || strcmp(path, "note") == 0)
        return OVP_OK;
    char *end = NULL;
    unsigned long index = strncmp(path, "parameters[", 11) == 0 ? strtoul(path + 11, &end, 10) : 0;
    lua_checklist_step *step = index > 0 && index <= LUA_CHECKLIST_STEPS && strncmp(end, "].", 2) == 0
                                   ? step_at(reading, index - 1)
                                   : NULL;
    if (step == NULL)
        return ovp_error_set(error, OVP_ERROR_DATA, "a golden list has `name` and `parameters` (at most %d)",
                             LUA_CHECKLIST_STEPS - 1);
    const char *key = end + 2;
    bool fits = true;
    if (strcmp(key, "name") == 0)
        return name_step(step, text, error);
    if (strcmp(key, "value") == 0)
        fits = ovp_copy_string(step->same, sizeof step->same, ovp_span_of(text));
    else if (strcmp(key, "differs") == 0)
        fits = ovp_copy_string(step->if_not, sizeof step->if_not, ovp_span_of(text));
    else if (strcmp(key, "safety") == 0)
        step->safety = strcmp(text, "true") == 0;
    else if (strcmp(key, "stop") == 0)
        step->stop = strcmp(text, "true") == 0;
    else
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "a parameter has `name`, `value`, `differs`, `safety` and `stop`, not `%s`",
                             key);
    return fits ? OVP_OK : ovp_error_set(error, OVP_ERROR_DATA, "`%s` is too long", key);
}

static ovp_status from_description(const golden_reading *reading, const ovp_oven *oven, ovp_error *error)
{
    size_t count = 0;
    for (size_t i = 0; i < sizeof described / sizeof described[0]; i++) {
        char value[LUA_CHECKLIST_WORD_SIZE];
        if (!ovp_oven_value(oven, described[i].path, value, sizeof value))
            continue;
        lua_checklist_step *step = step_at(reading, count++);
        (void)name_step(step, described[i].name, NULL);
        (void)ovp_copy_string(step->same, sizeof step->same, ovp_span_of(value));
        (void)ovp_copy_string(step->if_not, sizeof step->if_not, ovp_span_of(described[i].differs));
        step->safety = described[i].safety;
        step->stop = described[i].stop;
    }
    if (count > 0)
        return OVP_OK;
    return ovp_error_set(error, OVP_ERROR_DATA,
                         "neither a golden list nor the description of %s gives parameters", oven->name);
}

static ovp_status check_steps(const lua_checklist *list, ovp_error *error)
{
    for (size_t i = 0; i < list->step_count; i++) {
        if (list->steps[i].id[0] == '\0' || list->steps[i].same[0] == '\0')
            return ovp_error_set(error, OVP_ERROR_DATA, "parameter %zu needs `name` and `value`", i + 1);
        for (size_t j = 0; j < i; j++)
            if (strcmp(list->steps[i].id, list->steps[j].id) == 0)
                return ovp_error_set(error, OVP_ERROR_DATA, "two parameters are called \"%s\"",
                                     list->steps[i].text);
    }
    return OVP_OK;
}

ovp_status checklist_expand(checklist_session *session, ovp_error *error)
{
    lua_checklist *list = &session->list;
    if (list->step_count != 1 || strcmp(list->steps[0].same, "each parameter") != 0)
        return OVP_OK;
    const ovp_oven *oven = &session->ovens[0].description;
    for (size_t i = 0; i < session->oven_count; i++) {
        if (session->ovens[i].described && strcmp(session->ovens[i].description.name, oven->name) == 0)
            continue;
        ovp_status status =
            ovp_error_set(error, OVP_ERROR_USAGE, "parameters are checked for one model at a time");
        ovp_error_hint(error, "name the oven: `ovenproof checklist parameters --oven QR-8`");
        return status;
    }
    char path[OVP_ERROR_FILE_SIZE];
    lua_checklist_step model = list->steps[0];
    golden_reading reading = {.list = list, .model = &model};
    list->step_count = 0;
    ovp_status status = lua_find("checklists/golden", oven->name, path, sizeof path, NULL);
    status = status == OVP_OK ? lua_read_data(path, take_leaf, &reading, error)
                              : from_description(&reading, oven, error);
    if (status == OVP_OK)
        status = check_steps(list, error);
    if (status == OVP_OK)
        checklist_fingerprint(session, 0, true, session->golden);
    return status;
}

void checklist_fingerprint(const checklist_session *session, size_t oven, bool golden, char digits[17])
{
    uint64_t value = OVP_DIGEST_BEGIN;
    for (size_t i = 0; i < session->list.step_count; i++) {
        const lua_checklist_step *row = &session->list.steps[i];
        const checklist_state *state = &session->ovens[oven].steps[i];
        const char *found = golden || state->result == CHECKLIST_PASS ? row->same
                            : state->result == CHECKLIST_FAIL         ? state->answer
                                                                      : "?";
        value = ovp_digest(value, ovp_span_of(row->id));
        value = ovp_digest(value, ovp_span_of("="));
        value = ovp_digest(value, ovp_span_of(found));
        value = ovp_digest(value, ovp_span_of("\n"));
    }
    (void)snprintf(digits, 17, "%04X-%04X", (unsigned)(value >> 48), (unsigned)(value >> 32 & 0xFFFF));
}
