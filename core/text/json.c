#include "text_internal.h"

#include <math.h>
#include <string.h>

static void put(ovp_text_json *json, const char *bytes, size_t count)
{
    if (json->status == OVP_OK && count > 0)
        json->status = json->sink.write(json->sink.context, bytes, count);
}

static void misuse(ovp_text_json *json)
{
    if (json->status == OVP_OK)
        json->status = OVP_ERROR_USAGE;
}

/* What stands before a value or a key: a comma, or nothing. False when none may stand here. */
static bool begin_item(ovp_text_json *json, bool is_key)
{
    if (json->status != OVP_OK)
        return false;
    if (json->after_key) {
        json->after_key = false;
        if (is_key)
            misuse(json);
        return !is_key;
    }
    if (json->depth == 0) {
        /* one value only at the top */
        if (is_key || json->has_items[0])
            misuse(json);
        json->has_items[0] = true;
        return json->status == OVP_OK;
    }
    if (json->is_object[json->depth - 1] != is_key) {
        misuse(json);
        return false;
    }
    if (json->has_items[json->depth])
        put(json, ",", 1);
    json->has_items[json->depth] = true;
    return json->status == OVP_OK;
}

static void put_code(ovp_text_json *json, uint32_t code)
{
    static const char hex[] = "0123456789abcdef";
    char escape[] = "\\u0000";
    for (int i = 0; i < 4; i++)
        escape[5 - i] = hex[code >> 4 * i & 15];
    put(json, escape, 6);
}

static void put_escape(ovp_text_json *json, uint32_t code)
{
    static const char letters[] = "\b\f\n\r\t\"\\";
    static const char names[] = "bfnrt\"\\";
    const char *found = code != 0 && code < 0x80 ? strchr(letters, (int)code) : NULL;
    if (found == NULL) {
        put_code(json, code);
        return;
    }
    char escape[2] = {'\\', names[found - letters]};
    put(json, escape, 2);
}

static void put_string(ovp_text_json *json, const char *string)
{
    ovp_span rest = ovp_span_of(string);
    size_t plain = 0; /* bytes at the start of `rest` that need no change */
    put(json, "\"", 1);
    while (plain < rest.count) {
        uint32_t code;
        size_t length = text_utf8_decode((ovp_span){rest.bytes + plain, rest.count - plain}, &code);
        /* Control characters are escaped, also DEL and C1, so that a document cannot steer a terminal. */
        bool control = code < 0x20 || (code >= 0x7F && code < 0xA0);
        if (!control && code != '"' && code != '\\' && code != UINT32_MAX) {
            plain += length;
            continue;
        }
        put(json, rest.bytes, plain);
        if (code == UINT32_MAX)
            put(json, "\xEF\xBF\xBD", 3);
        else
            put_escape(json, code);
        rest.bytes += plain + length;
        rest.count -= plain + length;
        plain = 0;
    }
    put(json, rest.bytes, plain);
    put(json, "\"", 1);
}

static void begin_nest(ovp_text_json *json, bool is_object)
{
    if (!begin_item(json, false))
        return;
    if (json->depth + 1 >= OVP_TEXT_JSON_DEPTH) {
        misuse(json);
        return;
    }
    json->is_object[json->depth] = is_object;
    json->depth++;
    json->has_items[json->depth] = false;
    put(json, is_object ? "{" : "[", 1);
}

static void end_nest(ovp_text_json *json, bool is_object)
{
    if (json->status != OVP_OK)
        return;
    if (json->depth == 0 || json->after_key || json->is_object[json->depth - 1] != is_object) {
        misuse(json);
        return;
    }
    json->depth--;
    put(json, is_object ? "}" : "]", 1);
}

void ovp_text_json_init(ovp_text_json *json, ovp_sink sink)
{
    *json = (ovp_text_json){.sink = sink};
}

void ovp_text_json_begin_object(ovp_text_json *json)
{
    begin_nest(json, true);
}

void ovp_text_json_end_object(ovp_text_json *json)
{
    end_nest(json, true);
}

void ovp_text_json_begin_array(ovp_text_json *json)
{
    begin_nest(json, false);
}

void ovp_text_json_end_array(ovp_text_json *json)
{
    end_nest(json, false);
}

void ovp_text_json_key(ovp_text_json *json, const char *key)
{
    if (!begin_item(json, true))
        return;
    put_string(json, key);
    put(json, ":", 1);
    json->after_key = true;
}

void ovp_text_json_string(ovp_text_json *json, const char *string)
{
    if (string == NULL)
        ovp_text_json_null(json);
    else if (begin_item(json, false))
        put_string(json, string);
}

void ovp_text_json_number(ovp_text_json *json, double value)
{
    if (!isfinite(value)) {
        ovp_text_json_null(json);
        return;
    }
    if (!begin_item(json, false))
        return;
    char number[OVP_TEXT_NUMBER_SIZE];
    put(json, number, ovp_text_format_number(value == 0 ? 0.0 : value, number));
}

void ovp_text_json_integer(ovp_text_json *json, int64_t value)
{
    if (!begin_item(json, false))
        return;
    char digits[24];
    size_t at = sizeof digits;
    uint64_t rest = value < 0 ? 0 - (uint64_t)value : (uint64_t)value;
    do {
        digits[--at] = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest > 0);
    if (value < 0)
        digits[--at] = '-';
    put(json, digits + at, sizeof digits - at);
}

void ovp_text_json_boolean(ovp_text_json *json, bool value)
{
    if (begin_item(json, false))
        put(json, value ? "true" : "false", value ? 4 : 5);
}

void ovp_text_json_null(ovp_text_json *json)
{
    if (begin_item(json, false))
        put(json, "null", 4);
}

void ovp_text_json_key_string(ovp_text_json *json, const char *key, const char *string)
{
    ovp_text_json_key(json, key);
    ovp_text_json_string(json, string);
}

void ovp_text_json_key_number(ovp_text_json *json, const char *key, double value)
{
    ovp_text_json_key(json, key);
    ovp_text_json_number(json, value);
}

void ovp_text_json_key_integer(ovp_text_json *json, const char *key, int64_t value)
{
    ovp_text_json_key(json, key);
    ovp_text_json_integer(json, value);
}

void ovp_text_json_key_boolean(ovp_text_json *json, const char *key, bool value)
{
    ovp_text_json_key(json, key);
    ovp_text_json_boolean(json, value);
}

void ovp_text_json_begin_document(ovp_text_json *json, const char *name, int version)
{
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "document", name);
    ovp_text_json_key_integer(json, "version", version);
}

ovp_status ovp_text_json_end_document(ovp_text_json *json)
{
    ovp_text_json_end_object(json);
    if (json->depth != 0)
        misuse(json);
    put(json, "\n", 1);
    return json->status;
}
