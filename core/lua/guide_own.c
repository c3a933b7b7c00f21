/*
 * A guide's own questions: ask{ text = "Does it click?", choices = { "yes", "no" } }. Nothing is inferred
 * from the answer; it is for the guide to go by.
 */
#include "lua/lua_internal.h"

#include <ctype.h>
#include <string.h>

static const char prefix[] = "own-";

bool lua_guide_is_own(const char *id)
{
    return strncmp(id, prefix, strlen(prefix)) == 0;
}

/* "own-does-it-click": the letters and digits of the words, a dash for all else. */
static void make_id(const char *words, char id[LUA_GUIDE_ID_SIZE])
{
    size_t used = strlen(prefix);
    memcpy(id, prefix, used);
    for (const char *at = words; *at != '\0' && used + 1 < LUA_GUIDE_ID_SIZE; at++) {
        const bool plain = (unsigned char)*at < 0x80 && isalnum((unsigned char)*at) != 0;
        if (plain)
            id[used++] = (char)tolower((unsigned char)*at);
        else if (id[used - 1] != '-')
            id[used++] = '-';
    }
    while (used > strlen(prefix) && id[used - 1] == '-')
        used--;
    id[used] = '\0';
}

static void take_field(lua_State *L, const char *key, bool needed, char buffer[LUA_GUIDE_TEXT_SIZE])
{
    const int type = lua_getfield(L, 1, key);
    if (type != LUA_TSTRING && (needed || type != LUA_TNIL))
        luaL_error(
            L,
            "ask{...}: `%s` must be a text: ask{ text = \"Does it click?\", choices = { \"yes\", \"no\" } }",
            key);
    guide_copy_words(L, -1, key, buffer);
    lua_pop(L, 1);
}

static void take_choices(lua_State *L, lua_guide_own *own)
{
    if (lua_getfield(L, 1, "choices") != LUA_TTABLE)
        luaL_error(L, "ask{...}: `choices` must be a list: ask{ text = \"Does it click?\", choices = { "
                      "\"yes\", \"no\" } }");
    own->choice_count = 0;
    for (lua_Integer i = 1; lua_rawgeti(L, -1, i) != LUA_TNIL; i++) {
        if (own->choice_count == LUA_GUIDE_CHOICES)
            luaL_error(L, "ask{...}: more than %d choices", LUA_GUIDE_CHOICES);
        if (lua_type(L, -1) != LUA_TSTRING ||
            !ovp_copy_string(own->choices[own->choice_count], LUA_GUIDE_ID_SIZE,
                             ovp_span_of(lua_tostring(L, -1))) ||
            own->choices[own->choice_count][0] == '\0')
            luaL_error(L, "ask{...}: choice %d is no text of 1 to %d bytes", (int)i, LUA_GUIDE_ID_SIZE - 1);
        own->choice_count++;
        lua_pop(L, 1);
    }
    lua_pop(L, 2);
    if (own->choice_count < 2)
        luaL_error(L, "ask{...}: `choices` needs at least two");
}

void guide_settle_own(lua_guide_step *step)
{
    lua_guide_own *own = &step->own;
    for (size_t i = 0; i < own->choice_count; i++)
        own->outcomes[i] = own->choices[i];
    const bool warns = own->caution[0] != '\0';
    own->question = (ovp_diagnosis_measurement){.id = own->id,
                                                .question = own->text,
                                                .unit = "choice",
                                                .tools = "none",
                                                .who = "owner",
                                                .energised = "no",
                                                .caution = warns ? own->caution : "none",
                                                .needs_part = "",
                                                .why = "",
                                                .expect = "",
                                                .group = "",
                                                .states = "",
                                                .read_by = "eye",
                                                .reference = "",
                                                .keywords = "",
                                                .formula = "",
                                                .hazard_level = warns,
                                                .minutes = own->minutes,
                                                .outcome_count = own->choice_count,
                                                .outcomes = own->outcomes};
    step->question = &own->question;
}

/* The answer that was given to it, as the guide spelled it. */
static int push_given(lua_State *L, guide_host *host, const lua_guide_own *own, const lua_guide_answer *given)
{
    if (strcmp(given->answer, "unknown") == 0) {
        lua_pushliteral(L, "unknown");
        return 1;
    }
    luaL_Buffer all;
    for (size_t i = 0; i < own->choice_count; i++)
        if (ovp_span_equals(ovp_span_of(given->answer), own->choices[i])) {
            lua_pushstring(L, own->choices[i]);
            return 1;
        }
    host->step->bad_answer = (size_t)(given - host->call->answers) + 1;
    luaL_buffinit(L, &all);
    for (size_t i = 0; i < own->choice_count; i++) {
        luaL_addstring(&all, own->choices[i]);
        luaL_addstring(&all, ", ");
    }
    luaL_addstring(&all, "or unknown");
    luaL_pushresult(&all);
    return luaL_error(L, "'%s' is no answer to %s (%s)", given->answer, own->id, lua_tostring(L, -1));
}

int guide_ask_own(lua_State *L, guide_host *host)
{
    lua_guide_step *step = host->step;
    lua_guide_own *own = &step->own;
    char words[LUA_GUIDE_TEXT_SIZE] = "";
    *own = (lua_guide_own){.minutes = 1};
    take_field(L, "text", true, own->text);
    take_choices(L, own);
    take_field(L, "caution", false, own->caution);
    take_field(L, "id", false, words);
    make_id(words[0] != '\0' ? words : own->text, own->id);
    const lua_guide_answer *given = guide_given(host, own->id);
    if (given != NULL)
        return push_given(L, host, own, given);
    if (guide_questions_asked(host) >= LUA_GUIDE_QUESTIONS)
        return guide_end_concluded(L, host);
    take_field(L, "why", false, step->why);
    take_field(L, "expect", false, step->expect);
    guide_settle_own(step);
    step->concluded = false;
    return lua_yield(L, 0);
}
