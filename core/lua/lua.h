/*
 * lua/lua.h: data files, user scripts and guides. Lua starts only for a command that runs or reads Lua.
 *
 * Three hosts, each with as little as it needs:
 *  - the data reader: a state in which no library is opened, no function may be defined, steps and memory
 *    are limited. Ovens, plans, budgets, checklists, instruments: data, not code;
 *  - the sandbox: user scripts with an allow-listed set of libraries;
 *  - the guide host: a guide is a coroutine; `ask` is its only way to wait.
 */
#ifndef OVENPROOF_LUA_LUA_H
#define OVENPROOF_LUA_LUA_H

#include "ovenproof/oven.h"

/* ---- where scripts are found ---------------------------------------------------------------------- */

/**
 * Find a file of a kind ("ovens", "guides", "checklists"...): a path that exists, else NAME.lua on the
 * search path (./, $OVENPROOF_PATH, the user's data folder, the installed or the source tree).
 * Errors: OVP_ERROR_DATA; the hint lists the names that exist.
 */
ovp_status lua_find(const char *kind, const char *name, char *path, size_t size, ovp_error *error);

/** Call `found` with the name and path of every file of a kind, first on the search path wins, sorted by
 * name. */
void lua_list(const char *kind, void (*found)(void *context, const char *name, const char *path),
              void *context);

/* ---- the data reader -------------------------------------------------------------------------------- */

/**
 * One leaf of a data file: path "elements[2].watts". An empty table is a leaf too (OVP_OVEN_LEAF_EMPTY). When
 * it refuses (an error without a line), the reader adds the file and the line on which the leaf stands.
 */
typedef ovp_status (*lua_leaf_function)(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                                        ovp_error *error);

/**
 * Read `return { ... }` and hand out its leaves in a stable order (arrays by index, then keys sorted).
 * Bounds: 1 MiB of text, 16 levels, 20,000 leaves, 1,000,000 steps, 32 MiB. No function, no global, no
 * metatable. Errors: OVP_ERROR_SYSTEM when the file cannot be read, OVP_ERROR_DATA with file and line.
 */
ovp_status lua_read_data(const char *path, lua_leaf_function leaf, void *context, ovp_error *error);

/** The same from memory; `name` stands for the file in messages. */
ovp_status lua_read_data_bytes(const char *bytes, size_t count, const char *name, lua_leaf_function leaf,
                               void *context, ovp_error *error);

/**
 * Read an oven: `name` as for lua_find("ovens"). Warnings (an unknown lining word) go to `warn`, which may
 * be NULL. The oven is checked with ovp_oven_check.
 */
ovp_status lua_read_oven(const char *name, ovp_oven *oven, void (*warn)(void *context, const char *text),
                         void *context, ovp_error *error);

/* ---- user scripts ------------------------------------------------------------------------------------ */

typedef struct lua_limits {
    double seconds;      /**< 10 */
    size_t memory_bytes; /**< 256 MB */
    size_t output_bytes; /**< 16 MB */
} lua_limits;

/** Run a script in the sandbox; its print goes to `out`. One line and OVP_ERROR_DATA when it fails or meets a
 * limit. */
ovp_status lua_run_script(const char *path, const char *const arguments[], size_t count,
                          const lua_limits *limits, ovp_sink out, ovp_error *error);

#endif
