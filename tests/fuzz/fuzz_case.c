/* A case that was read is written, and read back the same. */
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

typedef struct text {
    char bytes[1 << 20];
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
    if (count > sizeof to->bytes - to->count)
        return OVP_ERROR_MEMORY;
    memcpy(to->bytes + to->count, bytes, count);
    to->count += count;
    return OVP_OK;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static store_case one, again;
    static text written, second;
    ovp_error error = {0};
    ovp_status status = store_case_parse(&one, (ovp_span){(const char *)data, size}, &error);
    if (status != OVP_OK) {
        expect(error.what[0] != '\0');
        return 0;
    }
    written.count = second.count = 0;
    if (store_case_write(&one, (ovp_sink){append, &written}) != OVP_OK)
        return 0; /* longer than the room here */
    expect(store_case_parse(&again, (ovp_span){written.bytes, written.count}, &error) == OVP_OK);
    expect(store_case_write(&again, (ovp_sink){append, &second}) == OVP_OK);
    expect(second.count == written.count && memcmp(second.bytes, written.bytes, written.count) == 0);
    expect(again.answer_count == one.answer_count && again.closed == one.closed);
    return 0;
}
