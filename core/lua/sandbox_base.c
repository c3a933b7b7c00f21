/*
 * The base functions of the sandbox: those of Lua that can neither reach a file nor hide a met limit, and our
 * own in place of those that could: pcall, xpcall, setmetatable, tostring, print, require, coroutines.
 */
#include "lua/lua_internal.h"

#include <lualib.h>
#include <string.h>

void sandbox_push_checked(lua_State *L, lua_CFunction function);

static int checked_call(lua_State *L)
{
    lua_CFunction function = lua_tocfunction(L, lua_upvalueindex(1));
    sandbox_check(L);
    return function(L);
}

void sandbox_push_checked(lua_State *L, lua_CFunction function)
{
    lua_pushcfunction(L, function);
    lua_pushcclosure(L, checked_call, 1);
}

/* ---- errors ----------------------------------------------------------------------------------------------
 */

/* After a protected call that failed: a limit that was met is handed on. The error is on top. */
static void hand_on_limit(lua_State *L, int status)
{
    sandbox *box = sandbox_of(L);
    if (status == LUA_OK || status == LUA_YIELD)
        return;
    if (box->spent == NULL && status == LUA_ERRMEM)
        sandbox_spend(L, box->memory.late ? "took too long: the script was stopped"
                                          : "used too much memory: the script was stopped");
    if (box->spent != NULL)
        sandbox_spend(L, box->spent);
}

static int end_of_pcall(lua_State *L, int status, lua_KContext before)
{
    hand_on_limit(L, status);
    if (status != LUA_OK && status != LUA_YIELD) {
        lua_pushboolean(L, 0);
        lua_pushvalue(L, -2);
        return 2;
    }
    return lua_gettop(L) - (int)before;
}

static int guarded_pcall(lua_State *L)
{
    sandbox_check(L);
    luaL_checkany(L, 1);
    lua_pushboolean(L, 1);
    lua_insert(L, 1);
    int status = lua_pcallk(L, lua_gettop(L) - 2, LUA_MULTRET, 0, 0, end_of_pcall);
    return end_of_pcall(L, status, 0);
}

/* Upvalue: the script's own handler. It sees no limit. */
static int guarded_handler(lua_State *L)
{
    if (sandbox_of(L)->spent != NULL)
        return 1;
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, lua_gettop(L) - 1, 1);
    return 1;
}

static int guarded_xpcall(lua_State *L)
{
    sandbox_check(L);
    luaL_checktype(L, 2, LUA_TFUNCTION);
    lua_pushvalue(L, 2);
    lua_pushcclosure(L, guarded_handler, 1);
    lua_replace(L, 2);
    int count = lua_gettop(L);
    lua_pushboolean(L, 1);
    lua_pushvalue(L, 1);
    lua_rotate(L, 3, 2); /* function, handler, true, function, arguments */
    int status = lua_pcallk(L, count - 2, LUA_MULTRET, 2, 2, end_of_pcall);
    return end_of_pcall(L, status, 2);
}

/* ---- coroutines
 * -------------------------------------------------------------------------------------------- */

static lua_State *coroutine_at(lua_State *L, int index)
{
    lua_State *co = lua_tothread(L, index);
    luaL_argexpected(L, co != NULL, index, "coroutine");
    return co;
}

/* Resume with `count` arguments from the top. Returns the count of results on L, or -1 with the error there.
 */
static int resume(lua_State *L, lua_State *co, int count)
{
    int results;
    sandbox_check(L);
    if (!lua_checkstack(co, count)) {
        lua_pushliteral(L, "too many arguments to resume");
        return -1;
    }
    lua_xmove(L, co, count);
    int status = lua_resume(co, L, count, &results);
    if (status != LUA_OK && status != LUA_YIELD) {
        lua_xmove(co, L, 1);
        hand_on_limit(L, status);
        return -1;
    }
    if (!lua_checkstack(L, results + 1)) {
        lua_pop(co, results);
        lua_pushliteral(L, "too many results to resume");
        return -1;
    }
    lua_xmove(co, L, results);
    return results;
}

static int co_resume(lua_State *L)
{
    lua_State *co = coroutine_at(L, 1);
    int results = resume(L, co, lua_gettop(L) - 1);
    if (results < 0) {
        lua_pushboolean(L, 0);
        lua_insert(L, -2);
        return 2;
    }
    lua_pushboolean(L, 1);
    lua_insert(L, -(results + 1));
    return results + 1;
}

static int call_wrapped(lua_State *L)
{
    lua_State *co = coroutine_at(L, lua_upvalueindex(1));
    int results = resume(L, co, lua_gettop(L));
    if (results >= 0)
        return results;
    int status = lua_status(co);
    if (status != LUA_OK && status != LUA_YIELD) {
        status = lua_resetthread(co); /* closes its pending variables */
        hand_on_limit(L, status);
    }
    if (lua_type(L, -1) == LUA_TSTRING) {
        luaL_where(L, 1);
        lua_insert(L, -2);
        lua_concat(L, 2);
    }
    return lua_error(L);
}

static int co_create(lua_State *L)
{
    luaL_checktype(L, 1, LUA_TFUNCTION);
    lua_State *co = lua_newthread(L);
    lua_pushvalue(L, 1);
    lua_xmove(L, co, 1);
    return 1;
}

static int co_wrap(lua_State *L)
{
    co_create(L);
    lua_pushcclosure(L, call_wrapped, 1);
    return 1;
}

static int co_yield (lua_State *L)
{
    return lua_yield(L, lua_gettop(L));
}

static const char *status_of(lua_State *L, lua_State *co)
{
    if (L == co)
        return "running";
    switch (lua_status(co)) {
    case LUA_YIELD:
        return "suspended";
    case LUA_OK: {
        lua_Debug activation;
        if (lua_getstack(co, 0, &activation))
            return "normal";
        return lua_gettop(co) == 0 ? "dead" : "suspended";
    }
    default:
        return "dead";
    }
}

static int co_status(lua_State *L)
{
    lua_pushstring(L, status_of(L, coroutine_at(L, 1)));
    return 1;
}

static int co_running(lua_State *L)
{
    lua_pushboolean(L, lua_pushthread(L));
    return 2;
}

static int co_isyieldable(lua_State *L)
{
    lua_pushboolean(L, lua_isyieldable(L));
    return 1;
}

static int co_close(lua_State *L)
{
    lua_State *co = coroutine_at(L, 1);
    const char *status = status_of(L, co);
    sandbox_check(L);
    if (strcmp(status, "dead") != 0 && strcmp(status, "suspended") != 0)
        return luaL_error(L, "cannot close a %s coroutine", status);
    int outcome = lua_resetthread(co);
    if (outcome == LUA_OK) {
        lua_pushboolean(L, 1);
        return 1;
    }
    lua_xmove(co, L, 1);
    hand_on_limit(L, outcome);
    lua_pushboolean(L, 0);
    lua_insert(L, -2);
    return 2;
}

/* ---- values
 * ------------------------------------------------------------------------------------------------ */

const char *sandbox_tostring(lua_State *L, int index, size_t *length)
{
    int type = lua_type(L, index);
    bool own_words = luaL_getmetafield(L, index, "__tostring") != LUA_TNIL;
    if (own_words)
        lua_pop(L, 1);
    if (own_words || type == LUA_TNIL || type == LUA_TBOOLEAN || type == LUA_TNUMBER || type == LUA_TSTRING)
        return luaL_tolstring(L, index, length);
    lua_pushstring(L, lua_typename(L, type)); /* an address would differ from run to run */
    return lua_tolstring(L, -1, length);
}

static int plain_tostring(lua_State *L)
{
    luaL_checkany(L, 1);
    sandbox_tostring(L, 1, NULL);
    return 1;
}

static void put(lua_State *L, const char *bytes, size_t count)
{
    sandbox *box = sandbox_of(L);
    if (count > box->output_left)
        sandbox_spend(L, "printed too much: the script was stopped");
    box->output_left -= count;
    if (count > 0 && box->out.write(box->out.context, bytes, count) != OVP_OK)
        sandbox_spend(L, "what it printed could not be written");
}

static int guarded_print(lua_State *L)
{
    int count = lua_gettop(L);
    sandbox_check(L);
    for (int i = 1; i <= count; i++) {
        size_t length;
        const char *text = sandbox_tostring(L, i, &length);
        if (i > 1)
            put(L, "\t", 1);
        put(L, text, length);
        lua_pop(L, 1);
    }
    put(L, "\n", 1);
    return 0;
}

/* Lua runs __gc where no hook looks: a metatable with one is refused. */
static int guarded_setmetatable(lua_State *L)
{
    luaL_checktype(L, 1, LUA_TTABLE);
    luaL_argexpected(L, lua_isnil(L, 2) || lua_istable(L, 2), 2, "nil or table");
    if (luaL_getmetafield(L, 1, "__metatable") != LUA_TNIL)
        return luaL_error(L, "cannot change a protected metatable");
    if (lua_istable(L, 2)) {
        lua_pushliteral(L, "__gc");
        if (lua_rawget(L, 2) != LUA_TNIL)
            return luaL_error(L, "a metatable with __gc is not allowed here");
    }
    lua_settop(L, 2);
    lua_setmetatable(L, 1);
    return 1;
}

static int require_known(lua_State *L)
{
    static const luaL_Reg modules[] = {{"ovenproof.thermocouple", bind_thermocouple},
                                       {"ovenproof.text", bind_text},
                                       {"ovenproof.electrical", bind_electrical},
                                       {"ovenproof.thermal", bind_thermal},
                                       {"ovenproof.oven", bind_oven},
                                       {NULL, NULL}};
    const char *name = luaL_checkstring(L, 1);
    lua_settop(L, 1);
    luaL_getsubtable(L, LUA_REGISTRYINDEX, "ovenproof modules");
    if (lua_getfield(L, 2, name) != LUA_TNIL)
        return 1;
    for (const luaL_Reg *module = modules; module->name != NULL; module++) {
        if (strcmp(module->name, name) != 0)
            continue;
        module->func(L);
        lua_pushvalue(L, -1);
        lua_setfield(L, 2, name);
        return 1;
    }
    return luaL_error(L,
                      "there is no module '%s' here; there are ovenproof.thermocouple, ovenproof.electrical, "
                      "ovenproof.thermal, ovenproof.oven and ovenproof.text",
                      name);
}

/* ---- opening
 * ------------------------------------------------------------------------------------------------- */

/* Take the named functions out of a library of Lua's own. The library itself stays unreachable. */
static void take(lua_State *L, lua_CFunction open, const char *const names[], int into)
{
    lua_pushcfunction(L, open);
    lua_call(L, 0, 1);
    for (size_t i = 0; names[i] != NULL; i++) {
        lua_getfield(L, -1, names[i]);
        lua_CFunction function = lua_tocfunction(L, -1);
        lua_pop(L, 1);
        sandbox_push_checked(L, function);
        lua_setfield(L, into, names[i]);
    }
    lua_pop(L, 1);
}

void sandbox_open_base(lua_State *L)
{
    static const char *const names[] = {"assert", "error",    "getmetatable", "ipairs", "next",
                                        "pairs",  "rawequal", "rawget",       "rawlen", "rawset",
                                        "select", "tonumber", "type",         NULL};
    static const luaL_Reg own[] = {{"pcall", guarded_pcall},
                                   {"print", guarded_print},
                                   {"require", require_known},
                                   {"tostring", plain_tostring},
                                   {"setmetatable", guarded_setmetatable},
                                   {"xpcall", guarded_xpcall},
                                   {NULL, NULL}};
    lua_pushglobaltable(L);
    int globals = lua_gettop(L);
    lua_newtable(L); /* luaopen_base fills the globals: it is given a table that is thrown away */
    lua_rawgeti(L, LUA_REGISTRYINDEX, LUA_RIDX_GLOBALS);
    lua_pushvalue(L, -2);
    lua_rawseti(L, LUA_REGISTRYINDEX, LUA_RIDX_GLOBALS);
    take(L, luaopen_base, names, globals);
    lua_rawseti(L, LUA_REGISTRYINDEX, LUA_RIDX_GLOBALS);
    lua_settop(L, globals);
    luaL_setfuncs(L, own, 0);
    lua_pushvalue(L, globals);
    lua_setfield(L, globals, LUA_GNAME);
    lua_pushstring(L, LUA_VERSION);
    lua_setfield(L, globals, "_VERSION");
    lua_settop(L, globals - 1);
}

/* math.randomseed without a number would take one from the clock. */
static int seed(lua_State *L)
{
    luaL_checknumber(L, 1);
    lua_settop(L, 2);
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, lua_gettop(L) - 1, 0);
    return 0;
}

static void open_math(lua_State *L)
{
    /* by name: a Lua built for old scripts brings more */
    static const char *const names[] = {
        "abs",  "acos",   "asin", "atan", "ceil", "cos",        "deg",        "exp",  "floor",
        "fmod", "huge",   "log",  "max",  "min",  "maxinteger", "mininteger", "modf", "pi",
        "rad",  "random", "sin",  "sqrt", "tan",  "tointeger",  "type",       "ult",  NULL};
    lua_newtable(L);
    int library = lua_gettop(L);
    lua_pushcfunction(L, luaopen_math);
    lua_call(L, 0, 1);
    int original = lua_gettop(L);
    for (size_t i = 0; names[i] != NULL; i++) {
        lua_getfield(L, original, names[i]);
        lua_setfield(L, library, names[i]);
    }
    lua_getfield(L, original, "randomseed");
    lua_pushvalue(L, -1);
    lua_pushinteger(L, 1);
    lua_call(L, 1, 0); /* the same numbers in every run */
    lua_pushcclosure(L, seed, 1);
    lua_setfield(L, library, "randomseed");
    lua_settop(L, library);
    lua_setglobal(L, LUA_MATHLIBNAME);
}

static void open_coroutine(lua_State *L)
{
    static const luaL_Reg functions[] = {
        {"close", co_close},   {"create", co_create},   {"isyieldable", co_isyieldable},
        {"resume", co_resume}, {"running", co_running}, {"status", co_status},
        {"wrap", co_wrap},     {"yield", co_yield },    {NULL, NULL}};
    luaL_newlib(L, functions);
    lua_setglobal(L, LUA_COLIBNAME);
}

static void open_utf8(lua_State *L)
{
    static const char *const names[] = {"char", "codepoint", "codes", "len", "offset", NULL};
    lua_newtable(L);
    int library = lua_gettop(L);
    take(L, luaopen_utf8, names, library);
    lua_pushliteral(L, "[\0-\x7F\xC2-\xFD][\x80-\xBF]*");
    lua_setfield(L, library, "charpattern");
    lua_setglobal(L, LUA_UTF8LIBNAME);
}

void sandbox_open_rest(lua_State *L)
{
    open_math(L);
    open_coroutine(L);
    open_utf8(L);
}
