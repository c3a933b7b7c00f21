/*
 * The sandbox of user scripts: one state with an allow-list of functions and three limits: time, memory,
 * output. Once a limit is met nothing of the script survives: the functions that catch errors hand this one
 * on.
 */
#include "lua/lua_internal.h"

#include <stdlib.h>
#include <string.h>

enum {
    SCRIPT_BYTES = 4 * 1024 * 1024,
    HOOK_STEPS = 256,
};

static const char too_long[] = "took too long: the script was stopped";
static const char too_large[] = "used too much memory: the script was stopped";

sandbox *sandbox_of(lua_State *L)
{
    sandbox *box;
    memcpy(&box, lua_getextraspace(L), sizeof(void *)); /* NOLINT(bugprone-sizeof-expression) */
    return box;
}

static void look_at_clock(sandbox *box)
{
    if (box->spent == NULL && (box->memory.late || state_now() >= box->deadline_s))
        box->spent = too_long;
}

static void on_count(lua_State *L, lua_Debug *activation);

int sandbox_spend(lua_State *L, const char *what)
{
    sandbox *box = sandbox_of(L);
    if (box->spent == NULL)
        box->spent = what;
    if (box->spent_line == 0)
        box->spent_line = sandbox_line(L);
    lua_sethook(L, on_count, LUA_MASKCOUNT, 1); /* every further step of this thread fails too */
    lua_pushstring(L, box->spent);
    return lua_error(L);
}

void sandbox_check(lua_State *L)
{
    sandbox *box = sandbox_of(L);
    look_at_clock(box);
    if (box->spent != NULL)
        sandbox_spend(L, box->spent);
}

static void on_count(lua_State *L, lua_Debug *activation)
{
    (void)activation;
    sandbox_check(L);
}

void sandbox_open(lua_State *L, sandbox *box)
{
    memcpy(lua_getextraspace(L), &box, sizeof(void *)); /* NOLINT(bugprone-sizeof-expression) */
    sandbox_open_base(L);
    sandbox_open_string(L);
    sandbox_open_table(L);
    sandbox_open_rest(L);
    lua_sethook(L, on_count, LUA_MASKCOUNT, HOOK_STEPS);
}

/* ---- one run ------------------------------------------------------------------------------------------ */

typedef struct script {
    sandbox *box;
    const char *bytes;
    size_t byte_count;
    const char *const *arguments;
    size_t argument_count;
} script;

/* Runs protected: opening the libraries may run out of memory too. */
static int run_protected(lua_State *L)
{
    const script *run = lua_touserdata(L, 1);
    lua_settop(L, 0);
    sandbox_open(L, run->box);
    if (luaL_loadbufferx(L, run->bytes, run->byte_count, "=script", "t") != LUA_OK)
        return lua_error(L);
    luaL_checkstack(L, (int)run->argument_count + 4, "too many arguments");
    lua_createtable(L, (int)run->argument_count, 0);
    for (size_t i = 0; i < run->argument_count; i++) {
        lua_pushstring(L, run->arguments[i]);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setglobal(L, "arg");
    for (size_t i = 0; i < run->argument_count; i++)
        lua_pushstring(L, run->arguments[i]);
    run->box->memory.L = L;
    lua_call(L, (int)run->argument_count, 0);
    return 0;
}

/* Notes on which line an error came up; the error itself stays as it is. */
static int note_line(lua_State *L)
{
    sandbox *box = sandbox_of(L);
    box->error_line = sandbox_line(L);
    return 1;
}

static ovp_status spent_error(const char *what, int line, const char *path, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "%s", what);
    ovp_error_place(error, path, line > 0 ? (uint64_t)line : 0);
    return OVP_ERROR_DATA;
}

/* What a script threw that is no text is only named: asking it for its words would run more of the script. */
static ovp_status thrown_error(lua_State *L, int line, const char *path, ovp_error *error)
{
    if (lua_type(L, -1) == LUA_TSTRING) {
        ovp_status status = state_error(lua_tostring(L, -1), path, error);
        ovp_error_place(error, NULL, line > 0 ? (uint64_t)line : 0);
        return status;
    }
    return spent_error(lua_isnil(L, -1) ? "stopped with an error without words"
                                        : "stopped with an error that is no text",
                       line, path, error);
}

static ovp_status report(lua_State *L, const sandbox *box, int outcome, const char *path, ovp_error *error)
{
    if (box->spent != NULL)
        return spent_error(box->spent, box->spent_line, path, error);
    if (outcome == LUA_ERRMEM)
        return spent_error(box->memory.late ? too_long : too_large, box->memory.line, path, error);
    return outcome == LUA_OK ? OVP_OK : thrown_error(L, box->error_line, path, error);
}

static ovp_status run_state(script *run, const char *path, bool leave, ovp_error *error)
{
    sandbox *box = run->box;
    lua_State *L = state_new(&box->memory);
    if (L == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    memcpy(lua_getextraspace(L), &box, sizeof(void *)); /* NOLINT(bugprone-sizeof-expression) */
    lua_pushcfunction(L, note_line);
    lua_pushcfunction(L, run_protected);
    lua_pushlightuserdata(L, run);
    int outcome = lua_pcall(L, 1, 0, 1);
    ovp_status status = report(L, box, outcome, path, error);
    box->memory.L = NULL;
    if (!leave)
        lua_close(L);
    return status;
}

/* A first line "#!..." is for the shell. The line's end stays, so that lines keep their number. */
static size_t first_line(const char *bytes, size_t count)
{
    size_t at = 0;
    if (count > 0 && bytes[0] == '#')
        while (at < count && bytes[at] != '\n')
            at++;
    return at;
}

ovp_status sandbox_read_script(const char *path, char **bytes, size_t *count, ovp_error *error)
{
    return state_read_file(path, SCRIPT_BYTES, bytes, count, error);
}

ovp_status sandbox_run_bytes(const sandbox_script *wanted, ovp_sink out, ovp_error *error)
{
    const lua_limits *limits = wanted->limits;
    sandbox box = {.memory = {.most = limits->memory_bytes}, .out = out, .output_left = limits->output_bytes};
    box.deadline_s = state_now() + limits->seconds;
    box.memory.deadline_s = box.deadline_s;
    size_t skipped = first_line(wanted->bytes, wanted->byte_count);
    script run = {&box, wanted->bytes + skipped, wanted->byte_count - skipped, wanted->arguments,
                  wanted->argument_count};
    return run_state(&run, wanted->path, wanted->process_ends, error);
}

ovp_status lua_run_script(const char *path, const char *const arguments[], size_t count,
                          const lua_limits *limits, ovp_sink out, ovp_error *error)
{
    char *bytes;
    size_t length;
    ovp_status status = sandbox_read_script(path, &bytes, &length, error);
    if (status != OVP_OK)
        return status;
    sandbox_script wanted = {path, bytes, length, arguments, count, limits, false};
    status = sandbox_run_bytes(&wanted, out, error);
    free(bytes);
    return status;
}
