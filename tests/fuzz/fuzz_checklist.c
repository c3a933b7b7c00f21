/* A checklist is read or refused with words; what was read has limits and words for an oven. */
#include "lua/lua.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static lua_checklist list;
    static ovp_oven oven;
    ovp_error error = {0};
    if (lua_read_checklist_bytes((const char *)data, size, "list.lua", &list, &error) != OVP_OK) {
        if (error.what[0] == '\0')
            abort();
        return 0;
    }
    ovp_oven_init(&oven);
    const lua_checklist_facts facts = {
        .oven = &oven, .first_s = (double)NAN, .first_V = (double)NAN, .volts_V = (double)NAN};
    for (size_t i = 0; i < list.step_count; i++) {
        char words[LUA_CHECKLIST_TEXT_SIZE];
        lua_checklist_limit limit;
        lua_checklist_limit_of(&list.steps[i], &facts, &limit);
        (void)lua_checklist_within(&limit, 1.0);
        lua_checklist_words(list.steps[i].text, &facts, words, sizeof words);
        if (strlen(words) >= sizeof words)
            abort();
    }
    return 0;
}
