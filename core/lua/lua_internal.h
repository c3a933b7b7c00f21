/* What the hosts of this room share: bounded states and the gate of the data reader. */
#ifndef OVENPROOF_LUA_INTERNAL_H
#define OVENPROOF_LUA_INTERNAL_H

#include "lua/lua.h"

#include <lauxlib.h>
#include <lua.h>

/* ---- bounded states (state.c) --------------------------------------------------------------------- */

/** Memory of one state: what it holds, and the most it may hold. */
typedef struct state_memory {
    size_t used, most;
    bool refused; /**< the bound was met at least once */
} state_memory;

/** A state whose allocator refuses beyond `memory->most`; NULL when there is no memory at all. */
lua_State *state_new(state_memory *memory);

/** Read a whole file of at most `most` bytes into malloc'ed memory. Errors: SYSTEM, or DATA when it is
 * longer. */
ovp_status state_read_file(const char *path, size_t most, char **bytes, size_t *count, ovp_error *error);

/**
 * Lua's message "NAME:LINE: what" (chunk name "=NAME") taken apart into an error of OVP_ERROR_DATA.
 * `name` is the file for people.
 */
ovp_status state_error(const char *message, const char *name, ovp_error *error);

/* ---- the gate of the data reader (data_scan.c) ---------------------------------------------------- */

/** The line of each leaf, by the hash of its path. */
typedef struct data_line {
    uint64_t path_hash;
    uint64_t line;
} data_line;

typedef struct data_lines {
    data_line *rows; /**< owned by the caller: `room` rows */
    size_t count, room;
} data_lines;

uint64_t data_hash(const char *path);
/** 0 when the path is not there. */
uint64_t data_line_of(const data_lines *lines, const char *path);

/**
 * Walk the text and let only data pass: `return { ... }` of strings, numbers, true, false, nil, tables and
 * comments. Everything that could act (a name, a call, an operator, `function`) is refused with its line.
 */
ovp_status data_scan(const char *bytes, size_t count, data_lines *lines, ovp_error *error);

/* ---- guides (guide.c, guide_functions.c) ------------------------------------------------------------ */

/** A running guide, as its functions see it. */
typedef struct guide_host {
    const lua_guide_call *call;
    lua_guide_step *step;
    state_memory memory;
    int steps_left;
} guide_host;

/** Put the functions of a guide (ask, expect, conclude...) into the globals; they keep `host`. */
void guide_open_functions(lua_State *L, guide_host *host);

/** A guide that ended without conclude(): sets host->step. */
void guide_finish(guide_host *host);

/** The answer that a person gave to a question, the last one counting; NULL when there is none. */
const lua_guide_answer *guide_given(const guide_host *host, const char *id);

#endif
