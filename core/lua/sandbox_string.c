/* string and table of the sandbox: bounded work, no bytecode, no addresses. */
#include "lua/lua_internal.h"

#include <lualib.h>
#include <string.h>

enum {
    SORT_MOST = 2000000,  /* entries that table.sort takes: about a second */
    MOVE_MOST = 10000000, /* entries that table.move takes */
};

/* ---- string ---------------------------------------------------------------------------------------------
 */

static int capped_rep(lua_State *L)
{
    size_t length, between;
    const char *text = luaL_checklstring(L, 1, &length);
    lua_Integer times = luaL_checkinteger(L, 2);
    const char *separator = luaL_optlstring(L, 3, "", &between);
    sandbox_check(L);
    if (times <= 0 || length + between == 0) {
        lua_pushliteral(L, "");
        return 1;
    }
    size_t once = length + between, total;
    if (!ovp_multiply_size(once, (size_t)times, &total) || total - between > sandbox_of(L)->memory.most)
        return luaL_error(L, "resulting string too large");
    luaL_Buffer buffer;
    char *made = luaL_buffinitsize(L, &buffer, total);
    memcpy(made, text, length);
    memcpy(made + length, separator, between);
    for (size_t filled = once; filled < total;) { /* double what is there */
        size_t more = filled < total - filled ? filled : total - filled;
        memcpy(made + filled, made, more);
        filled += more;
    }
    luaL_pushresultsize(&buffer, total - between);
    return 1;
}

/* Behind the '%': the letter that ends a specification, and where it stands. */
static const char *conversion_at(const char *at, const char *end)
{
    while (at < end && strchr("-+ #0123456789.", *at) != NULL && *at != '\0')
        at++;
    return at;
}

/* Upvalue: Lua's own format, which bounds width and precision to 99. */
static int capped_format(lua_State *L)
{
    size_t length;
    const char *at = luaL_checklstring(L, 1, &length), *end = at + length;
    int argument = 1, top = lua_gettop(L);
    sandbox_check(L);
    for (; at < end; at++) {
        if (*at != '%')
            continue;
        at = conversion_at(at + 1, end);
        if (at >= end || *at == '%')
            continue;
        if (*at == 'p')
            return luaL_error(L, "invalid conversion '%%p' to 'format'");
        argument++;
        if (*at == 's' && argument <= top) {
            sandbox_tostring(L, argument, NULL);
            lua_replace(L, argument);
        }
    }
    return lua_tocfunction(L, lua_upvalueindex(1))(L);
}

void sandbox_open_string(lua_State *L)
{
    static const char *const names[] = {"byte", "char", "len", "lower", "reverse", "sub", "upper", NULL};
    static const luaL_Reg own[] = {{"find", pattern_find}, {"gmatch", pattern_gmatch},
                                   {"gsub", pattern_gsub}, {"match", pattern_match},
                                   {"rep", capped_rep},    {NULL, NULL}};
    int base = lua_gettop(L);
    lua_newtable(L);
    int library = lua_gettop(L);
    lua_pushcfunction(L, luaopen_string); /* also gives strings their metatable */
    lua_call(L, 0, 1);
    int original = lua_gettop(L);
    for (size_t i = 0; names[i] != NULL; i++) {
        lua_getfield(L, original, names[i]);
        sandbox_push_checked(L, lua_tocfunction(L, -1));
        lua_setfield(L, library, names[i]);
        lua_pop(L, 1);
    }
    lua_getfield(L, original, "format");
    lua_pushcclosure(L, capped_format, 1);
    lua_setfield(L, library, "format");
    lua_pushvalue(L, library);
    luaL_setfuncs(L, own, 0);
    /* methods of strings, ("x"):upper(), come from here and from nowhere else */
    lua_pushliteral(L, "");
    lua_getmetatable(L, -1);
    lua_pushvalue(L, library);
    lua_setfield(L, -2, "__index");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_pushvalue(L, library);
    lua_setglobal(L, LUA_STRLIBNAME);
    lua_settop(L, base);
}

/* ---- table ----------------------------------------------------------------------------------------------
 */

/* A metatable could answer any length, and any index, without a step that a hook sees. */
static void check_plain(lua_State *L, int index, size_t most)
{
    luaL_checktype(L, index, LUA_TTABLE);
    if (lua_getmetatable(L, index))
        luaL_error(L, "the functions of 'table' take tables without a metatable");
    if (most > 0 && lua_rawlen(L, index) > most)
        luaL_error(L, "a table of more than %d entries", (int)most);
}

/* Upvalue 1: Lua's own function. */
static int plain_call(lua_State *L)
{
    sandbox_check(L);
    check_plain(L, 1, 0);
    return lua_tocfunction(L, lua_upvalueindex(1))(L);
}

static int capped_sort(lua_State *L)
{
    sandbox_check(L);
    check_plain(L, 1, SORT_MOST);
    return lua_tocfunction(L, lua_upvalueindex(1))(L);
}

static int capped_move(lua_State *L)
{
    sandbox_check(L);
    check_plain(L, 1, 0);
    lua_Integer first = luaL_checkinteger(L, 2), last = luaL_checkinteger(L, 3);
    if (!lua_isnoneornil(L, 5))
        check_plain(L, 5, 0);
    if (last >= first && (lua_Unsigned)last - (lua_Unsigned)first >= MOVE_MOST)
        return luaL_error(L, "too many entries to move");
    return lua_tocfunction(L, lua_upvalueindex(1))(L);
}

void sandbox_open_table(lua_State *L)
{
    static const luaL_Reg functions[] = {
        {"concat", plain_call}, {"insert", plain_call}, {"move", capped_move}, {"remove", plain_call},
        {"sort", capped_sort},  {"unpack", plain_call}, {NULL, NULL}};
    int base = lua_gettop(L);
    lua_newtable(L);
    int library = lua_gettop(L);
    lua_pushcfunction(L, luaopen_table);
    lua_call(L, 0, 1);
    int original = lua_gettop(L);
    for (const luaL_Reg *row = functions; row->name != NULL; row++) {
        lua_getfield(L, original, row->name);
        lua_pushcclosure(L, row->func, 1);
        lua_setfield(L, library, row->name);
    }
    lua_getfield(L, original, "pack");
    lua_setfield(L, library, "pack");
    lua_pushvalue(L, library);
    lua_setglobal(L, LUA_TABLIBNAME);
    lua_settop(L, base);
}
