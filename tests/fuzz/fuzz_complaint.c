/* A complaint in words: any bytes are split and sorted, and every word found is one of the line. */
#include "lua/lua_internal.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* The first line is a phrase, the rest is what was said. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = calloc(1, size + 1);
    if (text == NULL)
        return 0;
    memcpy(text, data, size);
    char *line = strchr(text, '\n');
    const char *said_text = line != NULL ? line + 1 : text;
    if (line != NULL)
        *line = '\0';
    guide_words said;
    guide_split_words(said_text, &said);
    uint64_t mask = guide_find_phrase(&said, text);
    if (said.count > GUIDE_WORDS_MOST || (mask >> (said.count < 63 ? said.count : 63)) > 1)
        abort();
    for (size_t i = 0; i < said.count; i++)
        if (memchr(said.word[i], '\0', GUIDE_WORD_SIZE) == NULL ||
            ((mask >> i & 1) != 0 && said.word[i][0] == '\0'))
            abort();
    static const char *const known[] = {"trips breaker", "won't stop", "overshoots", "fan never stops"};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        (void)guide_find_phrase(&said, known[i]);
    free(text);
    return 0;
}
