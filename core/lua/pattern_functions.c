/* find, match, gmatch and gsub of the sandbox, on top of pattern.c. */
#include "lua/lua_internal.h"

#include <string.h>

/* ---- what a match gives ---------------------------------------------------------------------------------
 */

static void push_capture(pattern_matcher *m, int index, const char *start, const char *end)
{
    if (index >= m->level) {
        if (index != 0)
            luaL_error(m->L, "invalid capture index %%%d", index + 1);
        lua_pushlstring(m->L, start, (size_t)(end - start));
        return;
    }
    const pattern_capture *one = &m->captures[index];
    if (one->length == CAPTURE_OPEN)
        luaL_error(m->L, "unfinished capture");
    if (one->length == CAPTURE_POSITION)
        lua_pushinteger(m->L, (lua_Integer)(one->start - m->source) + 1);
    else
        lua_pushlstring(m->L, one->start, (size_t)one->length);
}

/* All captures, or the whole match where there is none and `whole` says so. */
static int push_captures(pattern_matcher *m, const char *start, const char *end, bool whole)
{
    int count = m->level == 0 && whole ? 1 : m->level;
    luaL_checkstack(m->L, count, "too many captures");
    for (int i = 0; i < count; i++)
        push_capture(m, i, start, end);
    return count;
}

static void start_matcher(lua_State *L, pattern_matcher *m, int source_index)
{
    size_t length;
    m->L = L;
    m->source = luaL_checklstring(L, source_index, &length);
    m->end = m->source + length;
    m->steps = 0;
    m->level = 0;
    m->depth = 0;
    m->items = NULL;
}

/* Offset of the optional position argument; false when it lies behind the text. */
static bool initial(lua_State *L, int index, size_t length, size_t *offset)
{
    lua_Integer position = luaL_optinteger(L, index, 1);
    if (position > 0)
        *offset = (size_t)position - 1;
    else if (position == 0 || position < -(lua_Integer)length)
        *offset = 0;
    else
        *offset = length - (size_t)(-position);
    return *offset <= length;
}

static const char *find_plain(pattern_matcher *m, const char *from, const char *needle, size_t length)
{
    if (length == 0)
        return from;
    while ((size_t)(m->end - from) >= length) {
        const char *first = memchr(from, needle[0], (size_t)(m->end - from) - length + 1);
        if (first == NULL)
            return NULL;
        pattern_charge(m, 1 + length / 64 + (size_t)(first - from) / 64);
        if (memcmp(first, needle, length) == 0)
            return first;
        from = first + 1;
    }
    return NULL;
}

static bool is_plain(const char *pattern, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (pattern[i] != '\0' && strchr("^$*+?.([%-", pattern[i]) != NULL)
            return false;
    return true;
}

static int find_or_match(lua_State *L, bool find)
{
    pattern_matcher m;
    size_t length, offset;
    start_matcher(L, &m, 1);
    const char *pattern = luaL_checklstring(L, 2, &length);
    if (!initial(L, 3, (size_t)(m.end - m.source), &offset)) {
        lua_pushnil(L);
        return 1;
    }
    const char *at = m.source + offset;
    if (find && (lua_toboolean(L, 4) || is_plain(pattern, length))) {
        const char *found = find_plain(&m, at, pattern, length);
        if (found == NULL) {
            lua_pushnil(L);
            return 1;
        }
        lua_pushinteger(L, (lua_Integer)(found - m.source) + 1);
        lua_pushinteger(L, (lua_Integer)(found - m.source) + (lua_Integer)length);
        return 2;
    }
    bool anchored = length > 0 && pattern[0] == '^';
    m.items = pattern_compile(L, pattern + anchored, length - anchored);
    for (;; at++) {
        const char *end = pattern_match_at(&m, at);
        if (end != NULL && !find)
            return push_captures(&m, at, end, true);
        if (end != NULL) {
            lua_pushinteger(L, (lua_Integer)(at - m.source) + 1);
            lua_pushinteger(L, (lua_Integer)(end - m.source));
            return push_captures(&m, at, end, false) + 2;
        }
        if (anchored || at >= m.end)
            break;
    }
    lua_pushnil(L);
    return 1;
}

int pattern_find(lua_State *L)
{
    return find_or_match(L, true);
}

int pattern_match(lua_State *L)
{
    return find_or_match(L, false);
}

/* Upvalues: text, pattern, items, where to go on (from 0), end of the last match (-1: none). */
static int next_match(lua_State *L)
{
    pattern_matcher m;
    start_matcher(L, &m, lua_upvalueindex(1));
    m.items = lua_touserdata(L, lua_upvalueindex(3));
    size_t length = (size_t)(m.end - m.source);
    size_t offset = (size_t)lua_tointeger(L, lua_upvalueindex(4));
    lua_Integer last = lua_tointeger(L, lua_upvalueindex(5));
    for (; offset <= length; offset++) {
        const char *at = m.source + offset, *end = pattern_match_at(&m, at);
        if (end == NULL || end - m.source == last)
            continue;
        lua_pushinteger(L, end - m.source);
        lua_copy(L, -1, lua_upvalueindex(4));
        lua_replace(L, lua_upvalueindex(5));
        return push_captures(&m, at, end, true);
    }
    lua_pushinteger(L, (lua_Integer)length + 1);
    lua_replace(L, lua_upvalueindex(4));
    return 0;
}

int pattern_gmatch(lua_State *L)
{
    size_t source_length, length, offset;
    luaL_checklstring(L, 1, &source_length);
    const char *pattern = luaL_checklstring(L, 2, &length);
    if (!initial(L, 3, source_length, &offset))
        offset = source_length + 1;
    lua_settop(L, 2);
    pattern_compile(L, pattern, length);
    lua_pushinteger(L, (lua_Integer)offset);
    lua_pushinteger(L, -1);
    lua_pushcclosure(L, next_match, 5);
    return 1;
}

/* ---- replacing ------------------------------------------------------------------------------------------
 */

static void add_replacement_text(pattern_matcher *m, luaL_Buffer *buffer, const char *start, const char *end)
{
    lua_State *L = m->L;
    size_t length;
    const char *text = lua_tolstring(L, 3, &length);
    for (size_t i = 0; i < length; i++) {
        if (text[i] != '%') {
            luaL_addchar(buffer, text[i]);
            continue;
        }
        i++;
        if (i < length && text[i] == '%') {
            luaL_addchar(buffer, '%');
        } else if (i < length && text[i] == '0') {
            luaL_addlstring(buffer, start, (size_t)(end - start));
        } else if (i < length && text[i] >= '1' && text[i] <= '9') {
            push_capture(m, text[i] - '1', start, end);
            luaL_tolstring(L, -1, NULL);
            lua_remove(L, -2);
            luaL_addvalue(buffer);
        } else {
            luaL_error(L, "invalid use of '%%' in replacement string");
        }
    }
}

static void add_replacement(pattern_matcher *m, luaL_Buffer *buffer, const char *start, const char *end,
                            int kind)
{
    lua_State *L = m->L;
    if (kind == LUA_TFUNCTION) {
        lua_pushvalue(L, 3);
        int count = push_captures(m, start, end, true);
        lua_call(L, count, 1);
    } else if (kind == LUA_TTABLE) {
        push_capture(m, 0, start, end);
        lua_gettable(L, 3);
    } else {
        add_replacement_text(m, buffer, start, end);
        return;
    }
    if (!lua_toboolean(L, -1)) {
        lua_pop(L, 1);
        luaL_addlstring(buffer, start, (size_t)(end - start));
    } else if (!lua_isstring(L, -1)) {
        luaL_error(L, "invalid replacement value (a %s)", luaL_typename(L, -1));
    } else {
        luaL_addvalue(buffer);
    }
}

int pattern_gsub(lua_State *L)
{
    pattern_matcher m;
    size_t length;
    start_matcher(L, &m, 1);
    const char *pattern = luaL_checklstring(L, 2, &length);
    int kind = lua_type(L, 3);
    luaL_argexpected(
        L, kind == LUA_TNUMBER || kind == LUA_TSTRING || kind == LUA_TFUNCTION || kind == LUA_TTABLE, 3,
        "string/function/table");
    lua_Integer most = luaL_optinteger(L, 4, (lua_Integer)(m.end - m.source) + 1), count = 0;
    bool anchored = length > 0 && pattern[0] == '^';
    lua_settop(L, 4);
    if (kind == LUA_TNUMBER)
        lua_tostring(L, 3);
    m.items = pattern_compile(L, pattern + anchored, length - anchored);
    luaL_Buffer buffer;
    luaL_buffinit(L, &buffer);
    const char *at = m.source, *last = NULL;
    while (count < most) {
        const char *end = pattern_match_at(&m, at);
        if (end != NULL && end != last) {
            count++;
            add_replacement(&m, &buffer, at, end, kind);
            at = last = end;
        } else if (at < m.end) {
            luaL_addchar(&buffer, *at++);
        } else {
            break;
        }
        if (anchored)
            break;
    }
    luaL_addlstring(&buffer, at, (size_t)(m.end - at));
    luaL_pushresult(&buffer);
    lua_pushinteger(L, count);
    return 2;
}
