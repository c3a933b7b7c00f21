#include "command/kept_text.h"

#include <stdlib.h>
#include <string.h>

ovp_status command_keep_text(void *context, const char *bytes, size_t count)
{
    command_kept_text *kept = context;
    if (count + 1 > kept->room - kept->count) {
        size_t room = 2 * (kept->room + count + 1);
        char *grown = realloc(kept->bytes, room);
        if (grown == NULL)
            return OVP_ERROR_MEMORY;
        kept->bytes = grown;
        kept->room = room;
    }
    memcpy(kept->bytes + kept->count, bytes, count);
    kept->count += count;
    kept->bytes[kept->count] = '\0';
    return OVP_OK;
}
