/* A case as text: one JSON document, read back by the same names. */
#include "store/store.h"

#include <jansson.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

enum {
    CASE_VERSION = 1,
};

/* ---- writing ------------------------------------------------------------------------------------------- */

static void write_entries(ovp_text_json *json, const char *key, const store_case_entry entries[],
                          size_t count)
{
    ovp_text_json_key(json, key);
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < count; i++) {
        const store_case_entry *entry = &entries[i];
        ovp_text_json_begin_object(json);
        if (entry->id[0] != '\0') {
            ovp_text_json_key_string(json, "id", entry->id);
            ovp_text_json_key_string(json, "answer", entry->answer);
        }
        if (entry->text[0] != '\0')
            ovp_text_json_key_string(json, "text", entry->text);
        ovp_text_json_key_string(json, "by", entry->by);
        ovp_text_json_key_string(json, "when", entry->when);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static void write_words(ovp_text_json *json, const char *key, const char words[][STORE_CASE_WORD],
                        size_t count)
{
    ovp_text_json_key(json, key);
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < count; i++)
        ovp_text_json_string(json, words[i]);
    ovp_text_json_end_array(json);
}

static void write_trace(ovp_text_json *json, const store_case *one)
{
    ovp_text_json_key(json, "trace");
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "file", one->trace_file);
    ovp_text_json_key_string(json, "digest", one->trace_digest);
    ovp_text_json_key_string(json, "danger", one->danger_text);
    ovp_text_json_key(json, "findings");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < one->finding_count; i++) {
        const store_case_finding *finding = &one->findings[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "finding", finding->finding);
        ovp_text_json_key_string(json, "outcome", finding->outcome);
        ovp_text_json_key_boolean(json, "notable", finding->notable);
        ovp_text_json_key_number(json, "at_s", finding->at_s);
        ovp_text_json_key_number(json, "value", finding->value);
        ovp_text_json_key_string(json, "unit", finding->unit);
        ovp_text_json_key_string(json, "text", finding->text);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
    ovp_text_json_end_object(json);
}

/* The members that are a text each, in the order of the file. */
typedef struct text_member {
    const char *key;
    size_t at, size;
} text_member;

#define TEXT_MEMBER(key, member)                                                                             \
    {                                                                                                        \
        key, offsetof(store_case, member), sizeof(((store_case *)0)->member)                                 \
    }

static const text_member texts[] = {
    TEXT_MEMBER("name", name),
    TEXT_MEMBER("guide", guide),
    TEXT_MEMBER("oven", oven),
    TEXT_MEMBER("complaint", complaint),
    TEXT_MEMBER("context", context),
    TEXT_MEMBER("who", who),
    TEXT_MEMBER("began", began),
    TEXT_MEMBER("touched", touched),
    TEXT_MEMBER("tables_digest", tables_digest),
    TEXT_MEMBER("guide_digest", guide_digest),
    TEXT_MEMBER("oven_digest", oven_digest),
};

ovp_status store_case_write(const store_case *one, ovp_sink sink)
{
    ovp_text_json json;
    ovp_text_json_init(&json, sink);
    ovp_text_json_begin_document(&json, "case", CASE_VERSION);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        ovp_text_json_key_string(&json, texts[i].key, (const char *)one + texts[i].at);
    if (one->tools_said)
        ovp_text_json_key_string(&json, "tools", one->tools);
    ovp_text_json_key_boolean(&json, "told", one->told);
    write_entries(&json, "answers", one->answers, one->answer_count);
    write_entries(&json, "set_aside", one->aside, one->aside_count);
    write_entries(&json, "notes", one->notes, one->note_count);
    write_words(&json, "asked_again", one->doubted, one->doubted_count);
    write_words(&json, "message_asked", one->asked, one->asked_count);
    if (one->has_trace)
        write_trace(&json, one);
    if (one->closed) {
        ovp_text_json_key(&json, "closed");
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "fault", one->closed_fault);
        ovp_text_json_key_string(&json, "words", one->closed_words);
        ovp_text_json_key_string(&json, "when", one->closed_when);
        ovp_text_json_end_object(&json);
    }
    return ovp_text_json_end_document(&json);
}

/* ---- reading ------------------------------------------------------------------------------------------- */

/* A reading that goes on until something is wrong; then nothing more is looked at. */
typedef struct reading {
    ovp_status status;
    ovp_error *error;
} reading;

static void wrong(reading *state, const char *key, const char *what)
{
    if (state->status == OVP_OK)
        state->status =
            ovp_error_set(state->error, OVP_ERROR_DATA, "this case is damaged: `%s` %s", key, what);
}

static void take_text(reading *state, const json_t *object, const char *key, char *buffer, size_t size)
{
    const json_t *value = json_object_get(object, key);
    buffer[0] = '\0';
    if (value == NULL)
        return;
    if (!json_is_string(value) || strlen(json_string_value(value)) != json_string_length(value))
        wrong(state, key, "is no text");
    else if (!ovp_copy_string(buffer, size, ovp_span_of(json_string_value(value))))
        wrong(state, key, "is too long");
}

static bool take_flag(reading *state, const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (value != NULL && !json_is_boolean(value))
        wrong(state, key, "is neither true nor false");
    return json_is_true(value);
}

static double take_number(reading *state, const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (value != NULL && !json_is_null(value) && !json_is_number(value))
        wrong(state, key, "is no number");
    return json_is_number(value) ? json_number_value(value) : NAN;
}

/* The entries of a list, or none where there is no such list. */
static size_t list_size(reading *state, const json_t *root, const char *key, size_t most, const json_t **list)
{
    *list = json_object_get(root, key);
    if (*list == NULL)
        return 0;
    if (!json_is_array(*list))
        wrong(state, key, "is no list");
    else if (json_array_size(*list) > most)
        wrong(state, key, "has too many entries");
    return state->status == OVP_OK ? json_array_size(*list) : 0;
}

static size_t take_entries(reading *state, const json_t *root, const char *key, store_case_entry entries[],
                           size_t most, bool answers)
{
    const json_t *list = NULL;
    const size_t count = list_size(state, root, key, most, &list);
    for (size_t i = 0; i < count; i++) {
        const json_t *item = json_array_get(list, i);
        store_case_entry *entry = &entries[i];
        take_text(state, item, "id", entry->id, sizeof entry->id);
        take_text(state, item, "answer", entry->answer, sizeof entry->answer);
        take_text(state, item, "text", entry->text, sizeof entry->text);
        take_text(state, item, "by", entry->by, sizeof entry->by);
        take_text(state, item, "when", entry->when, sizeof entry->when);
        if (answers ? entry->id[0] == '\0' || entry->answer[0] == '\0' : entry->text[0] == '\0')
            wrong(state, key, "has an entry without words");
    }
    return count;
}

static size_t take_words(reading *state, const json_t *root, const char *key, char words[][STORE_CASE_WORD],
                         size_t most)
{
    const json_t *list = NULL;
    const size_t count = list_size(state, root, key, most, &list);
    for (size_t i = 0; i < count; i++) {
        const char *word = json_string_value(json_array_get(list, i));
        if (word == NULL || !ovp_copy_string(words[i], STORE_CASE_WORD, ovp_span_of(word)))
            wrong(state, key, "has an entry that is no word");
    }
    return count;
}

static void take_trace(reading *state, const json_t *trace, store_case *one)
{
    const json_t *list = NULL;
    one->has_trace = true;
    take_text(state, trace, "file", one->trace_file, sizeof one->trace_file);
    take_text(state, trace, "digest", one->trace_digest, sizeof one->trace_digest);
    take_text(state, trace, "danger", one->danger_text, sizeof one->danger_text);
    one->finding_count = list_size(state, trace, "findings", STORE_CASE_FINDINGS, &list);
    for (size_t i = 0; i < one->finding_count; i++) {
        const json_t *item = json_array_get(list, i);
        store_case_finding *finding = &one->findings[i];
        take_text(state, item, "finding", finding->finding, sizeof finding->finding);
        take_text(state, item, "outcome", finding->outcome, sizeof finding->outcome);
        take_text(state, item, "unit", finding->unit, sizeof finding->unit);
        take_text(state, item, "text", finding->text, sizeof finding->text);
        finding->notable = take_flag(state, item, "notable");
        finding->at_s = take_number(state, item, "at_s");
        finding->value = take_number(state, item, "value");
    }
}

static void take_closed(reading *state, const json_t *closed, store_case *one)
{
    one->closed = true;
    take_text(state, closed, "fault", one->closed_fault, sizeof one->closed_fault);
    take_text(state, closed, "words", one->closed_words, sizeof one->closed_words);
    take_text(state, closed, "when", one->closed_when, sizeof one->closed_when);
}

static void take_all(reading *state, const json_t *root, store_case *one)
{
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        take_text(state, root, texts[i].key, (char *)one + texts[i].at, texts[i].size);
    one->tools_said = json_object_get(root, "tools") != NULL;
    take_text(state, root, "tools", one->tools, sizeof one->tools);
    one->told = take_flag(state, root, "told");
    one->answer_count = take_entries(state, root, "answers", one->answers, STORE_CASE_ANSWERS, true);
    one->aside_count = take_entries(state, root, "set_aside", one->aside, STORE_CASE_ASIDE, true);
    one->note_count = take_entries(state, root, "notes", one->notes, STORE_CASE_NOTES, false);
    one->doubted_count = take_words(state, root, "asked_again", one->doubted, STORE_CASE_DOUBTED);
    one->asked_count = take_words(state, root, "message_asked", one->asked, STORE_CASE_ASKED);
    const json_t *trace = json_object_get(root, "trace"), *closed = json_object_get(root, "closed");
    if (trace != NULL)
        take_trace(state, trace, one);
    if (closed != NULL)
        take_closed(state, closed, one);
    if (one->guide[0] == '\0')
        wrong(state, "guide", "is missing");
}

ovp_status store_case_parse(store_case *one, ovp_span text, ovp_error *error)
{
    json_error_t at = {0};
    json_t *root = json_loadb(text.bytes, text.count, 0, &at);
    reading state = {.error = error};
    memset(one, 0, sizeof *one);
    one->lock = -1;
    if (root == NULL) {
        state.status = ovp_error_set(error, OVP_ERROR_DATA, "this case is damaged: %s", at.text);
        ovp_error_place(error, NULL, at.line > 0 ? (uint64_t)at.line : 0);
    } else if (!json_is_object(root) || json_string_value(json_object_get(root, "document")) == NULL ||
               strcmp(json_string_value(json_object_get(root, "document")), "case") != 0) {
        wrong(&state, "document", "does not say \"case\"");
    } else if (json_integer_value(json_object_get(root, "version")) > CASE_VERSION) {
        state.status = ovp_error_set(error, OVP_ERROR_SYSTEM, "this case was written by a newer ovenproof");
        ovp_error_hint(error, "open it with the newer one; nothing was changed");
    } else {
        take_all(&state, root, one);
    }
    json_decref(root);
    return state.status;
}
