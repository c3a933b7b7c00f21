/* Settings that were read are written, and read back the same; what is not known is kept. */
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

typedef struct text {
    char *bytes;
    size_t count;
} text;

static void expect(bool holds)
{
    if (!holds)
        abort();
}

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

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static store_settings settings, again;
    ovp_error error = {0};
    ovp_span old = {(const char *)data, size};
    text written = {NULL, 0}, second = {NULL, 0};
    memset(&settings, 0, sizeof settings);
    memset(&again, 0, sizeof again);
    ovp_status status = store_settings_read(&settings, old, "settings", &error);
    expect(status == OVP_OK || (status == OVP_ERROR_DATA && error.what[0] != '\0' && error.line > 0));
    store_settings_write(&settings, old, (ovp_sink){append, &written});
    expect(store_settings_read(&again, (ovp_span){written.bytes, written.count}, "settings", &error) ==
           OVP_OK);
    store_settings_write(&again, (ovp_span){written.bytes, written.count}, (ovp_sink){append, &second});
    expect(again.degrees == settings.degrees && again.tools_known == settings.tools_known &&
           again.tool_count == settings.tool_count && again.instrument_count == settings.instrument_count);
    expect(strcmp(again.contact, settings.contact) == 0 && strcmp(again.colours, settings.colours) == 0);
    /* an empty file is begun with a comment */
    expect(written.count == 0 || second.count == written.count);
    expect(written.count == 0 || memcmp(second.bytes, written.bytes, second.count) == 0);
    free(written.bytes);
    free(second.bytes);
    return 0;
}
