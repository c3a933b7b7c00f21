/* bind_table.c: a script's table as the leaves of a description, as if it had been read from a file; and what
   goes back to a script. */
#include "lua/lua_internal.h"

#include <math.h>
#include <stdio.h>

enum {
    LEVELS = 4,
    PATH_SIZE = 96,
    ENTRIES = 64, /* of a list; one too many is refused by the reader of the leaf */
};

typedef struct taking {
    const char *what; /* "oven" */
    lua_leaf_function leaf;
    void *context;
} taking;

static void take_inner(lua_State *L, const taking *of, const char *path, int level);

/* The value on top of the stack is the leaf or the table at `path`. */
static void take_value(lua_State *L, const taking *of, const char *path, int level)
{
    const int type = lua_type(L, -1);
    ovp_error error = {0};
    ovp_status status = OVP_OK;
    if (type == LUA_TTABLE) {
        take_inner(L, of, path, level + 1);
        return;
    }
    if (type == LUA_TBOOLEAN)
        status = of->leaf(of->context, path, OVP_OVEN_LEAF_BOOLEAN, lua_toboolean(L, -1) ? "true" : "false",
                          &error);
    else if (type == LUA_TSTRING)
        status = of->leaf(of->context, path, OVP_OVEN_LEAF_TEXT, lua_tostring(L, -1), &error);
    else if (type == LUA_TNUMBER) {
        char text[OVP_TEXT_NUMBER_SIZE];
        ovp_text_format_number(lua_tonumber(L, -1), text);
        status = of->leaf(of->context, path, OVP_OVEN_LEAF_NUMBER, text, &error);
    } else {
        luaL_error(L, "the %s's %s is a %s", of->what, path, luaL_typename(L, -1));
    }
    if (status != OVP_OK)
        luaL_error(L, "%s", error.what);
}

/* The table on top of the stack: its list first, then its names. */
static void take_inner(lua_State *L, const taking *of, const char *path, int level)
{
    char inner[PATH_SIZE];
    luaL_checkstack(L, 4, "a description's table");
    if (level > LEVELS)
        luaL_error(L, "the %s's table is nested too deep", of->what);
    const lua_Unsigned count = lua_rawlen(L, -1);
    for (lua_Unsigned i = 1; i <= count && i <= ENTRIES; i++) {
        snprintf(inner, sizeof inner, "%s[%d]", path, (int)i);
        lua_rawgeti(L, -1, (lua_Integer)i);
        take_value(L, of, inner, level);
        lua_pop(L, 1);
    }
    for (lua_pushnil(L); lua_next(L, -2) != 0; lua_pop(L, 1)) {
        if (lua_type(L, -2) != LUA_TSTRING)
            continue;
        const int length =
            snprintf(inner, sizeof inner, "%s%s%s", path, path[0] == '\0' ? "" : ".", lua_tostring(L, -2));
        if (length < 0 || (size_t)length >= sizeof inner)
            luaL_error(L, "a name in the %s's table is too long", of->what);
        take_value(L, of, inner, level);
    }
}

void bind_take_table(lua_State *L, int index, const char *what, lua_leaf_function leaf, void *context)
{
    const taking of = {what, leaf, context};
    luaL_checktype(L, index, LUA_TTABLE);
    lua_pushvalue(L, index);
    take_inner(L, &of, "", 0);
    lua_pop(L, 1);
}

int bind_raise(lua_State *L, const ovp_error *error)
{
    return luaL_error(L, "%s", error->what);
}

void bind_number(lua_State *L, const char *key, double value)
{
    if (isnan(value))
        return;
    lua_pushnumber(L, value);
    lua_setfield(L, -2, key);
}

void bind_string(lua_State *L, const char *key, const char *value)
{
    if (value == NULL)
        return;
    lua_pushstring(L, value);
    lua_setfield(L, -2, key);
}
