/* Any bytes become a valid JSON string, and any order of calls is either a valid document or refused. */
#include "ovenproof/text.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

/* A string as written holds no control character and no bare quote. */
static ovp_status check_bytes(void *context, const char *bytes, size_t count)
{
    size_t *total = context;
    for (size_t i = 0; i < count; i++)
        expect((unsigned char)bytes[i] >= 0x20 || bytes[i] == '\n');
    *total += count;
    return OVP_OK;
}

static void call(ovp_text_json *json, uint8_t which)
{
    switch (which % 8) {
    case 0:
        ovp_text_json_begin_object(json);
        break;
    case 1:
        ovp_text_json_end_object(json);
        break;
    case 2:
        ovp_text_json_begin_array(json);
        break;
    case 3:
        ovp_text_json_end_array(json);
        break;
    case 4:
        ovp_text_json_key(json, "k");
        break;
    case 5:
        ovp_text_json_number(json, which);
        break;
    case 6:
        ovp_text_json_null(json);
        break;
    default:
        ovp_text_json_boolean(json, true);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t total = 0;
    char *string = malloc(size + 1);
    expect(string != NULL);
    memcpy(string, data, size);
    string[size] = '\0';
    ovp_text_json json;
    ovp_text_json_init(&json, (ovp_sink){check_bytes, &total});
    ovp_text_json_string(&json, string);
    expect(json.status == OVP_OK && total >= 2);
    ovp_text_columns(string);
    ovp_text_fold((ovp_sink){check_bytes, &total}, "", 1 + size % 100, 0, size % 7);
    free(string);

    ovp_text_json_init(&json, (ovp_sink){check_bytes, &total});
    for (size_t i = 0; i < size; i++)
        call(&json, data[i]);
    expect(json.depth >= 0 && json.depth < OVP_TEXT_JSON_DEPTH);
    return 0;
}
