/* The answers of `guide --answers`: any bytes give answers or one message. */
#include "command/guide.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    guide_session *session = calloc(1, sizeof *session);
    if (session == NULL)
        return 0;
    ovp_error error = {0};
    uint64_t line = 0;
    ovp_status status = guide_parse_answers(session, (ovp_span){(const char *)data, size}, &line, &error);
    if (status != OVP_OK && error.what[0] == '\0')
        abort();
    if (session->answer_count > LUA_GUIDE_ANSWERS)
        abort();
    for (size_t i = 0; i < session->answer_count; i++)
        if (memchr(session->answers[i].id, '\0', LUA_GUIDE_ID_SIZE) == NULL ||
            memchr(session->answers[i].answer, '\0', LUA_GUIDE_ID_SIZE) == NULL)
            abort();
    free(session);
    return 0;
}
