/* checklist: answers as JSON, and the base lines of earlier results. */
#include "command/checklist.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

static ovp_status read_json(const char *path, json_t **root, ovp_error *error)
{
    json_error_t at = {0};
    *root = strcmp(path, "-") == 0 ? json_loadf(stdin, 0, &at) : json_load_file(path, 0, &at);
    if (*root != NULL)
        return OVP_OK;
    bool unreadable = json_error_code(&at) == json_error_cannot_open_file;
    ovp_status status = unreadable
                            ? ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot be read: %s", strerror(errno))
                            : ovp_error_set(error, OVP_ERROR_DATA, "is not JSON: %s", at.text);
    if (unreadable)
        ovp_error_hint(error, "check that it is a file that you may read");
    ovp_error_place(error, path, unreadable || at.line < 0 ? 0 : (uint64_t)at.line);
    return status;
}

/* A word, a quantity, a number, true or false. */
static ovp_status read_word(const json_t *value, checklist_entry *entry, ovp_error *error)
{
    char number[OVP_TEXT_NUMBER_SIZE];
    const char *word = json_string_value(value);
    if (json_is_number(value)) {
        ovp_text_format_number(json_number_value(value), number);
        word = number;
    } else if (json_is_boolean(value)) {
        word = json_is_true(value) ? "pass" : "fail";
    }
    if (word == NULL)
        return ovp_error_set(error, OVP_ERROR_DATA, "a result is no word and no quantity");
    if (!ovp_copy_string(entry->answer, sizeof entry->answer, ovp_span_of(word)))
        return ovp_error_set(error, OVP_ERROR_DATA, "a result is longer than %d bytes",
                             CHECKLIST_ANSWER_SIZE - 1);
    return OVP_OK;
}

static void read_text(const json_t *object, const char *key, char *to, size_t size)
{
    const char *text = json_string_value(json_object_get(object, key));
    if (text != NULL)
        (void)ovp_copy_string(to, size, ovp_span_of(text));
}

/* One result: a word, { "answer":.., "note":.., "photo":.. }, or an array of them: as found, then as left. */
static ovp_status take_result(checklist_session *session, size_t oven, size_t step, const json_t *value,
                              ovp_error *error)
{
    checklist_entry entry = {.oven = oven, .step = step};
    ovp_status status = OVP_OK;
    if (json_is_array(value)) {
        for (size_t i = 0; i < json_array_size(value) && status == OVP_OK; i++) {
            const json_t *one = json_array_get(value, i);
            status = json_is_array(one) ? ovp_error_set(error, OVP_ERROR_DATA, "a result lies too deep")
                                        : take_result(session, oven, step, one, error);
        }
        return status;
    }
    (void)ovp_copy_string(entry.by, sizeof entry.by, ovp_span_of(session->by));
    if (json_is_object(value)) {
        read_text(value, "note", entry.note, sizeof entry.note);
        read_text(value, "photo", entry.photo, sizeof entry.photo);
        read_text(value, "by", entry.by, sizeof entry.by);
        read_text(value, "when", entry.when, sizeof entry.when);
        value = json_object_get(value, "answer");
    }
    status = read_word(value, &entry, error);
    return status == OVP_OK ? checklist_take(session, &entry, error) : status;
}

static ovp_status find_step(const checklist_session *session, const char *id, size_t *step, ovp_error *error)
{
    for (size_t i = 0; i < session->list.step_count; i++) {
        if (strcmp(session->list.steps[i].id, id) != 0)
            continue;
        *step = i;
        return OVP_OK;
    }
    return ovp_error_set(error, OVP_ERROR_DATA, "the checklist %s has no step \"%s\"", session->list.name,
                         id);
}

/* Which of the results it is that cannot be taken. */
static void say_which(const char *id, ovp_error *error)
{
    char what[sizeof error->what];
    (void)ovp_copy_string(what, sizeof what, ovp_span_of(error->what));
    (void)snprintf(error->what, sizeof error->what, "%.60s: %.*s", id, (int)sizeof what - 64, what);
}

/* { "ground": "0.1ohm" } for every oven, or { "ground": { "QR-8": "0.1ohm" } } for each by its name. */
static ovp_status answer_step(checklist_session *session, const char *id, json_t *value, ovp_error *error)
{
    size_t step = 0;
    ovp_status status = find_step(session, id, &step, error);
    bool by_oven = json_is_object(value) && json_object_get(value, "answer") == NULL;
    for (size_t i = 0; i < session->oven_count && status == OVP_OK; i++) {
        const json_t *one = by_oven ? json_object_get(value, session->ovens[i].label) : value;
        if (one != NULL && !checklist_not_fitted(session, i, step))
            status = take_result(session, i, step, one, error);
    }
    if (status != OVP_OK && error->what[0] != '\0' && strstr(error->what, id) == NULL)
        say_which(id, error);
    return status;
}

ovp_status checklist_read_answers(checklist_session *session, const char *path, ovp_error *error)
{
    json_t *root = NULL;
    ovp_status status = read_json(path, &root, error);
    if (status == OVP_OK && !json_is_object(root))
        status = ovp_error_set(error, OVP_ERROR_DATA, "is not an object of steps");
    const char *id = NULL;
    json_t *value = NULL;
    json_object_foreach(root, id, value)
    {
        if (status == OVP_OK)
            status = answer_step(session, id, value, error);
    }
    json_decref(root);
    if (status != OVP_OK) {
        ovp_error_place(error, path, 0);
        ovp_error_hint(
            error, "results look like {\"ground\": \"0.1ohm\", \"door\": \"pass\", \"limiter\": \"skip\"}");
    }
    return status;
}

/* ---- base lines
 * --------------------------------------------------------------------------------------------- */

static void take_base(checklist_oven *oven, const json_t *steps)
{
    for (size_t i = 0; i < json_array_size(steps); i++) {
        const json_t *step = json_array_get(steps, i);
        const char *id = json_string_value(json_object_get(step, "id"));
        const double value = json_number_value(json_object_get(step, "value"));
        if (id == NULL || !(value > 0) || !isfinite(value))
            continue;
        if (strcmp(id, "heat-up") == 0)
            oven->first_s = value;
        if (strcmp(id, "volts") == 0)
            oven->first_V = value;
    }
}

ovp_status checklist_read_record(checklist_session *session, const char *path, ovp_error *error)
{
    json_t *root = NULL;
    ovp_status status = read_json(path, &root, error);
    if (status != OVP_OK)
        ovp_error_hint(error, "give a file that `ovenproof checklist ... --results FILE.json` wrote");
    const char *document = json_string_value(json_object_get(root, "document"));
    if (status == OVP_OK && (document == NULL || strcmp(document, "checklist") != 0)) {
        status = ovp_error_set(error, OVP_ERROR_DATA, "is no result of a checklist");
        ovp_error_hint(error, "give a file that `ovenproof checklist ... --results FILE.json` wrote");
    }
    const json_t *ovens = json_object_get(root, "ovens");
    for (size_t i = 0; i < json_array_size(ovens) && status == OVP_OK; i++) {
        const json_t *one = json_array_get(ovens, i);
        const char *label = json_string_value(json_object_get(one, "oven"));
        for (size_t j = 0; j < session->oven_count && label != NULL; j++)
            if (strcmp(label, session->ovens[j].label) == 0)
                take_base(&session->ovens[j], json_object_get(one, "steps"));
    }
    json_decref(root);
    ovp_error_place(error, status == OVP_OK ? NULL : path, 0);
    return status;
}
