/* The data reader takes any bytes: leaves, or an error with words. What an oven takes is written and read
 * back the same. */
#include "lua/lua.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

typedef struct text {
    char *bytes;
    size_t count;
} text;

static ovp_status append(void *context, const char *bytes, size_t count)
{
    text *to = context;
    char *grown = realloc(to->bytes, to->count + count + 1);
    expect(grown != NULL);
    memcpy(grown + to->count, bytes, count);
    to->bytes = grown;
    to->count += count;
    return OVP_OK;
}

/* What the oven does not take is passed over. */
static ovp_status offer(void *context, const char *path, ovp_oven_leaf kind, const char *value,
                        ovp_error *error)
{
    (void)error;
    expect(strlen(path) < 512);
    ovp_oven_set(context, path, kind, value, NULL, NULL);
    return OVP_OK;
}

static ovp_status take(void *context, const char *path, ovp_oven_leaf kind, const char *value,
                       ovp_error *error)
{
    return ovp_oven_set(context, path, kind, value, NULL, error);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_oven oven, again;
    ovp_error error = {0};
    text written = {NULL, 0};
    ovp_oven_init(&oven);
    ovp_oven_init(&again);
    ovp_status status = lua_read_data_bytes((const char *)data, size, "fuzz", offer, &oven, &error);
    expect(status == OVP_OK || (status == OVP_ERROR_DATA && error.what[0] != '\0' && error.file[0] != '\0'));
    expect(ovp_oven_write(&oven, (ovp_sink){append, &written}) == OVP_OK);
    expect(lua_read_data_bytes(written.bytes, written.count, "written", take, &again, &error) == OVP_OK);
    expect(memcmp(&oven, &again, sizeof oven) == 0);
    free(written.bytes);
    return 0;
}
