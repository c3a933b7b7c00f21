/* Answers as JSON: an object in file order, or an array of {"id":..,"answer":..}. */
#include "command/guide.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

enum {
    ANSWERS_BYTES = 1 << 20,
};

ovp_status guide_add_answer(guide_session *session, const char *id, const char *answer, ovp_error *error)
{
    if (session->answer_count == LUA_GUIDE_ANSWERS)
        return ovp_error_set(error, OVP_ERROR_DATA, "more than %d answers", LUA_GUIDE_ANSWERS);
    lua_guide_answer *to = &session->answers[session->answer_count];
    *to = (lua_guide_answer){0};
    if (!ovp_copy_string(to->id, sizeof to->id, ovp_span_of(id)))
        return ovp_error_set(error, OVP_ERROR_DATA, "there is no measurement \"%.40s...\"", id);
    if (!ovp_copy_string(to->answer, sizeof to->answer, ovp_span_of(answer)))
        return ovp_error_set(error, OVP_ERROR_DATA, "the answer to %s is too long", id);
    session->answer_count++;
    return OVP_OK;
}

/* An answer may be a word, a number, yes or no, or null for "unknown". */
static ovp_status add_value(guide_session *session, const char *id, const json_t *value, ovp_error *error)
{
    char number[OVP_TEXT_NUMBER_SIZE];
    if (json_is_string(value)) {
        if (strlen(json_string_value(value)) != json_string_length(value))
            return ovp_error_set(error, OVP_ERROR_DATA, "the answer to %s holds a zero byte", id);
        return guide_add_answer(session, id, json_string_value(value), error);
    }
    if (json_is_number(value)) {
        ovp_text_format_number(json_number_value(value), number);
        return guide_add_answer(session, id, number, error);
    }
    if (json_is_boolean(value))
        return guide_add_answer(session, id, json_is_true(value) ? "yes" : "no", error);
    if (json_is_null(value))
        return guide_add_answer(session, id, "unknown", error);
    return ovp_error_set(error, OVP_ERROR_DATA, "the answer to %s is no word and no number", id);
}

static ovp_status add_object(guide_session *session, json_t *object, ovp_error *error)
{
    const char *id = NULL;
    json_t *value = NULL;
    json_object_foreach(object, id, value)
    {
        ovp_status status = add_value(session, id, value, error);
        if (status != OVP_OK)
            return status;
    }
    return OVP_OK;
}

static ovp_status add_array(guide_session *session, const json_t *array, ovp_error *error)
{
    for (size_t i = 0; i < json_array_size(array); i++) {
        const json_t *entry = json_array_get(array, i);
        const char *id = json_string_value(json_object_get(entry, "id"));
        const json_t *answer = json_object_get(entry, "answer");
        if (id == NULL || answer == NULL)
            return ovp_error_set(error, OVP_ERROR_DATA, "entry %zu is not {\"id\": ..., \"answer\": ...}",
                                 i + 1);
        ovp_status status = add_value(session, id, answer, error);
        if (status != OVP_OK)
            return status;
    }
    return OVP_OK;
}

ovp_status guide_parse_answers(guide_session *session, ovp_span text, uint64_t *line, ovp_error *error)
{
    json_error_t at = {0};
    json_t *root = json_loadb(text.bytes, text.count, JSON_DECODE_ANY, &at);
    ovp_status status = OVP_OK;
    *line = 0;
    if (root == NULL) {
        *line = at.line > 0 ? (uint64_t)at.line : 0;
        status = ovp_error_set(error, OVP_ERROR_DATA, "is not JSON: %s", at.text);
    } else if (json_is_object(root)) {
        status = add_object(session, root, error);
    } else if (json_is_array(root)) {
        status = add_array(session, root, error);
    } else {
        status = ovp_error_set(error, OVP_ERROR_DATA, "is neither an object nor an array");
    }
    json_decref(root);
    return status;
}

static ovp_status read_text(const char *path, char *text, size_t *count, ovp_error *error)
{
    FILE *file = strcmp(path, "-") == 0 ? stdin : fopen(path, "rb");
    *count = file == NULL ? 0 : fread(text, 1, ANSWERS_BYTES + 1, file);
    bool failed = file == NULL || ferror(file) != 0;
    if (file != NULL && file != stdin)
        (void)fclose(file);
    if (failed) {
        ovp_status status = ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot be read");
        ovp_error_hint(error, "check that it is a file that you may read");
        return status;
    }
    if (*count > ANSWERS_BYTES)
        return ovp_error_set(error, OVP_ERROR_DATA, "is larger than answers can be (1 MiB)");
    return OVP_OK;
}

ovp_status guide_read_answers(guide_session *session, const char *path, ovp_error *error)
{
    char *text = malloc(ANSWERS_BYTES + 1);
    if (text == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    size_t count = 0;
    uint64_t line = 0;
    ovp_status status = read_text(path, text, &count, error);
    if (status == OVP_OK)
        status = guide_parse_answers(session, (ovp_span){text, count}, &line, error);
    free(text);
    if (status != OVP_OK) {
        ovp_error_place(error, path, line);
        ovp_error_hint(error, "answers look like {\"warm-tip\": \"rises\", \"ohms-ground\": \"0.2ohm\"}");
    }
    return status;
}

uint64_t guide_answer_line(const char *path, const char *id)
{
    FILE *file = strcmp(path, "-") == 0 ? NULL : fopen(path, "rb");
    if (file == NULL)
        return 0;
    char quoted[LUA_GUIDE_ID_SIZE + 3], line[1024];
    (void)snprintf(quoted, sizeof quoted, "\"%s\"", id);
    uint64_t number = 0, found = 0;
    bool whole = true;
    while (found == 0 && fgets(line, sizeof line, file) != NULL) {
        number += whole;
        whole = strchr(line, '\n') != NULL;
        if (strstr(line, quoted) != NULL)
            found = number;
    }
    (void)fclose(file);
    return found;
}
