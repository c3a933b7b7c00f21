/*
 * The data reader. Three walls, one behind the other: the gate (data_scan.c) lets only data through; Lua runs
 * it in a state in which no library is opened, without globals and without metatables, text only; steps and
 * memory are bounded.
 */
#include "lua/lua_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    DATA_BYTES = 1024 * 1024,
    DATA_LEAVES = 20000,
    DATA_LINES = 2 * DATA_LEAVES, /* leaves and tables */
    DATA_STEPS = 1000000,
    DATA_MEMORY = 32 * 1024 * 1024,
    DATA_PATH_SIZE = 512,
    DATA_DEPTH = 16,
};

/* One reading, from the gate to the last leaf. */
typedef struct reading {
    const char *bytes;
    size_t count;
    const char *name;
    lua_leaf_function leaf;
    void *context;
    ovp_error *error;
    ovp_status status;
    data_lines lines;
    size_t leaves;
    char path[DATA_PATH_SIZE];
} reading;

typedef struct data_key {
    lua_Integer index; /* when word is NULL */
    const char *word;
} data_key;

static int compare_keys(const void *left, const void *right)
{
    const data_key *a = left, *b = right;
    if (a->word == NULL && b->word == NULL)
        return (a->index > b->index) - (a->index < b->index);
    if (a->word == NULL || b->word == NULL)
        return a->word == NULL ? -1 : 1;
    return strcmp(a->word, b->word);
}

/* Files, lines and hints of the innermost word are kept. */
static void place(reading *r)
{
    ovp_error_place(r->error, r->name, data_line_of(&r->lines, r->path));
}

static void fail(reading *r, const char *what)
{
    r->status = ovp_error_set(r->error, OVP_ERROR_DATA, "%s", what);
    place(r);
}

/* A key is a word, so that a path can be read back. */
static bool is_key(const char *key, size_t length)
{
    if (length == 0 || length > 64 || strlen(key) != length || (key[0] >= '0' && key[0] <= '9'))
        return false;
    return strspn(key, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") == length;
}

static bool take_key(lua_State *L, reading *r, data_key *key)
{
    if (lua_isinteger(L, -2)) {
        *key = (data_key){.index = lua_tointeger(L, -2)};
        if (key->index >= 1)
            return true;
    } else if (lua_type(L, -2) == LUA_TSTRING) {
        size_t length;
        *key = (data_key){.word = lua_tolstring(L, -2, &length)};
        if (is_key(key->word, length))
            return true;
    }
    fail(r, "a key of a table must be a word or a whole number from 1");
    return false;
}

/* Leaves a userdata with the sorted keys on the stack. */
static data_key *sorted_keys(lua_State *L, reading *r, size_t *count)
{
    int table = lua_gettop(L);
    size_t room = 0, at = 0;
    for (lua_pushnil(L); lua_next(L, table) != 0; lua_pop(L, 1))
        room++;
    data_key *keys = lua_newuserdatauv(L, (room + 1) * sizeof *keys, 0);
    lua_pushnil(L);
    while (at < room && lua_next(L, table) != 0) {
        if (!take_key(L, r, &keys[at++])) {
            lua_pop(L, 2);
            return NULL;
        }
        lua_pop(L, 1);
    }
    if (at < room || room == 0)
        lua_settop(L, table + 1);
    else
        lua_pop(L, lua_gettop(L) - table - 1);
    qsort(keys, room, sizeof *keys, compare_keys);
    *count = room;
    return keys;
}

static void give_leaf(reading *r, ovp_oven_leaf kind, const char *text)
{
    if (++r->leaves > DATA_LEAVES) {
        fail(r, "more than 20,000 values");
        return;
    }
    r->status = r->leaf(r->context, r->path, kind, text, r->error);
    if (r->status != OVP_OK)
        place(r);
}

static void walk_table(lua_State *L, reading *r, int depth);

static void walk_value(lua_State *L, reading *r, int depth)
{
    char number[OVP_TEXT_NUMBER_SIZE];
    size_t length;
    const char *text;
    switch (lua_type(L, -1)) {
    case LUA_TTABLE:
        walk_table(L, r, depth + 1);
        break;
    case LUA_TSTRING:
        text = lua_tolstring(L, -1, &length);
        if (strlen(text) != length)
            fail(r, "a text with a zero byte in it");
        else
            give_leaf(r, OVP_OVEN_LEAF_TEXT, text);
        break;
    case LUA_TNUMBER:
        if (lua_isinteger(L, -1))
            snprintf(number, sizeof number, LUA_INTEGER_FMT, lua_tointeger(L, -1));
        else
            ovp_text_format_number(lua_tonumber(L, -1), number);
        give_leaf(r, OVP_OVEN_LEAF_NUMBER, number);
        break;
    case LUA_TBOOLEAN:
        give_leaf(r, OVP_OVEN_LEAF_BOOLEAN, lua_toboolean(L, -1) ? "true" : "false");
        break;
    default:
        fail(r, "a value that is neither text, number, true, false nor a table");
        break;
    }
}

/* The path of an entry: "a.b", "a[3]". False when it grows too long. */
static bool push_path(reading *r, const data_key *key)
{
    size_t used = strlen(r->path), room = sizeof r->path - used;
    int wanted = key->word == NULL ? snprintf(r->path + used, room, "[" LUA_INTEGER_FMT "]", key->index)
                                   : snprintf(r->path + used, room, "%s%s", used > 0 ? "." : "", key->word);
    if (wanted > 0 && (size_t)wanted < room)
        return true;
    r->path[used] = '\0';
    fail(r, "names that are too long");
    return false;
}

static void walk_table(lua_State *L, reading *r, int depth)
{
    int table = lua_gettop(L);
    size_t count = 0, used = strlen(r->path);
    if (depth > DATA_DEPTH || !lua_checkstack(L, 8)) {
        fail(r, "tables lie more than 16 deep");
        return;
    }
    data_key *keys = sorted_keys(L, r, &count);
    if (keys != NULL && count == 0)
        give_leaf(r, OVP_OVEN_LEAF_EMPTY, "");
    for (size_t i = 0; keys != NULL && i < count && r->status == OVP_OK; i++) {
        if (!push_path(r, &keys[i]))
            break;
        if (keys[i].word == NULL)
            lua_rawgeti(L, table, keys[i].index);
        else
            lua_getfield(L, table, keys[i].word); /* no metatable can be there */
        walk_value(L, r, depth);
        lua_settop(L, table + 1);
        r->path[used] = '\0';
    }
    lua_settop(L, table);
}

static void too_many_steps(lua_State *L, lua_Debug *activation)
{
    (void)activation;
    luaL_error(L, "too many steps for a data file");
}

/* Runs protected: any error of Lua ends up in data_call. */
static int read_protected(lua_State *L)
{
    reading *r = lua_touserdata(L, 1);
    size_t mark = r->count >= 3 && memcmp(r->bytes, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    if (luaL_loadbufferx(L, r->bytes + mark, r->count - mark, "=data", "t") != LUA_OK)
        return lua_error(L);
    lua_pushnil(L);
    lua_setupvalue(L, -2, 1); /* no globals: the only upvalue of a chunk is its environment */
    lua_sethook(L, too_many_steps, LUA_MASKCOUNT, DATA_STEPS);
    lua_call(L, 0, 1);
    lua_sethook(L, NULL, 0, 0);
    if (!lua_istable(L, -1))
        return luaL_error(L, "the file does not return a table");
    walk_table(L, r, 1);
    return 0;
}

static ovp_status run_reading(reading *r)
{
    state_memory memory = {.most = DATA_MEMORY};
    lua_State *L = state_new(&memory);
    if (L == NULL)
        return ovp_error_set(r->error, OVP_ERROR_MEMORY, "out of memory");
    lua_pushcfunction(L, read_protected);
    lua_pushlightuserdata(L, r);
    int outcome = lua_pcall(L, 1, 0, 0);
    if (outcome != LUA_OK && r->status == OVP_OK)
        r->status = state_error(lua_tostring(L, -1), r->name, r->error);
    lua_close(L);
    return r->status;
}

ovp_status lua_read_data_bytes(const char *bytes, size_t count, const char *name, lua_leaf_function leaf,
                               void *context, ovp_error *error)
{
    ovp_error own = {0};
    reading r = {.bytes = bytes,
                 .count = count,
                 .name = name,
                 .leaf = leaf,
                 .context = context,
                 .error = error != NULL ? error : &own};
    if (count > DATA_BYTES) {
        ovp_error_set(error, OVP_ERROR_DATA, "longer than 1024 KiB");
        ovp_error_place(error, name, 0);
        return OVP_ERROR_DATA;
    }
    r.lines = (data_lines){.rows = malloc(DATA_LINES * sizeof(data_line)), .room = DATA_LINES};
    if (r.lines.rows == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    r.status = data_scan(bytes, count, &r.lines, r.error);
    if (r.status == OVP_OK)
        run_reading(&r);
    else
        ovp_error_place(r.error, name, 0);
    free(r.lines.rows);
    return r.status;
}

ovp_status lua_read_data(const char *path, lua_leaf_function leaf, void *context, ovp_error *error)
{
    char *bytes;
    size_t count;
    ovp_status status = state_read_file(path, DATA_BYTES, &bytes, &count, error);
    if (status != OVP_OK)
        return status;
    status = lua_read_data_bytes(bytes, count, path, leaf, context, error);
    free(bytes);
    return status;
}
