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
    bool refused;      /**< the bound was met at least once */
    double deadline_s; /**< of state_now; 0: none. Past it no large block is given any more */
    bool late;         /**< a large block was refused for that */
    lua_State *L;      /**< the main thread, when the line of a refusal is wanted; else NULL */
    int line;          /**< on which the last block was refused; 0 not known */
} state_memory;

/** Seconds of a clock that only runs forward. */
double state_now(void);

/** A state whose allocator refuses beyond `memory->most`; NULL when there is no memory at all. */
lua_State *state_new(state_memory *memory);

/** The innermost line of Lua code; 0 when there is none. Only looks, so that the allocator may call it. */
int sandbox_line(lua_State *L);

/** Read a whole file of at most `most` bytes into malloc'ed memory. Errors: SYSTEM, or DATA when it is
 * longer. */
ovp_status state_read_file(const char *path, size_t most, char **bytes, size_t *count, ovp_error *error);

/**
 * Lua's message "NAME:LINE: what" (chunk name "=NAME") taken apart into an error of OVP_ERROR_DATA.
 * `name` is the file for people.
 */
ovp_status state_error(const char *message, const char *name, ovp_error *error);

/* ---- the sandbox (sandbox.c, sandbox_base.c, sandbox_string.c, pattern.c) ---------------------------- */

/** One run of a script. Its pointer lies in the extra space of every thread of the state. */
typedef struct sandbox {
    state_memory memory; /**< the allocator's context */
    double deadline_s;
    const char
        *spent; /**< the limit that was met, in words; NULL: none. Then nothing of the script survives */
    int spent_line;
    int error_line; /**< on which the last uncaught error came up; 0 not known */
    ovp_sink out;
    size_t output_left;
} sandbox;

sandbox *sandbox_of(lua_State *L);

/** Raise an error when a limit has been met; looks at the clock. Called by every function that may take long.
 */
void sandbox_check(lua_State *L);

/** A limit is met: say so, and raise the error that no pcall keeps. */
int sandbox_spend(lua_State *L, const char *what);

/** Open what a script may use (docs/lua.md lists it) and set the hook. The state's extra space must hold
 * `box`. */
void sandbox_open(lua_State *L, sandbox *box);

/** A value as print shows it: without addresses. Leaves a string on the stack. */
const char *sandbox_tostring(lua_State *L, int index, size_t *length);

/** A script and what it is given. The bytes belong to the caller. */
typedef struct sandbox_script {
    const char *path; /**< for messages alone */
    const char *bytes;
    size_t byte_count;
    const char *const *arguments;
    size_t argument_count;
    const lua_limits *limits;
    bool process_ends; /**< the process ends right after: what the script held is not taken apart */
} sandbox_script;

/** Read the text of a script into malloc'ed memory. Errors as state_read_file. */
ovp_status sandbox_read_script(const char *path, char **bytes, size_t *count, ovp_error *error);

/** Run it in this process. Errors as lua_run_script. */
ovp_status sandbox_run_bytes(const sandbox_script *wanted, ovp_sink out, ovp_error *error);

/* parts of sandbox_open */
void sandbox_open_base(lua_State *L);
void sandbox_open_string(lua_State *L);
void sandbox_open_table(lua_State *L);
void sandbox_open_rest(lua_State *L);
/** Push a function of Lua's own behind a look at the clock. */
void sandbox_push_checked(lua_State *L, lua_CFunction function);

/* ---- a closed process (child.c, child_messages.c, script_apart.c) -------------------------------------- */

enum {
    CHILD_CHANNEL = 3, /**< the one open file of the closed process */
    CHILD_WORD_BYTES = 32,
    CHILD_PAYLOAD_BYTES = 16384,
};

/** Say one message: a word of a-z and '-', and bytes. For a body that runs in the closed process. */
bool child_say(int channel, const char *word, const char *bytes, size_t count);

/** A whole message; the payload is ended by a zero that is not counted. False ends the reading. */
typedef bool (*child_take)(void *context, const char *word, ovp_span payload);

typedef enum child_place {
    CHILD_IN_WORD,
    CHILD_IN_LENGTH,
    CHILD_IN_PAYLOAD,
    CHILD_AT_END,
} child_place;

/** Takes messages apart, however the bytes come. */
typedef struct child_reader {
    child_place place;
    char word[CHILD_WORD_BYTES];
    size_t word_count, digits;
    char payload[CHILD_PAYLOAD_BYTES + 1];
    size_t payload_length, payload_count;
    child_take take;
    void *context;
} child_reader;

void child_reader_init(child_reader *reader, child_take take, void *context);
/** False once the form is broken or `take` said so: then nothing more may be pushed. */
bool child_reader_push(child_reader *reader, const char *bytes, size_t count);

/** A closed process and what it may use. */
typedef struct child_call {
    void (*body)(void *context, int channel); /**< runs in it; has the caller's memory as it was */
    void *body_context;
    double seconds; /**< then it is ended */
    size_t memory_bytes;
    size_t received_most; /**< bytes over the channel, then it is ended */
    child_take take;      /**< what it said, in the calling process: to be believed in nothing */
    void *take_context;
} child_call;

/** How it ended. */
typedef struct child_end {
    bool said_end; /**< its body came to its end */
    bool fenced;   /**< the system's own limits and the filter stood before the body began */
    bool no_fence; /**< this kernel or this build has none: the body did not run */
    bool late, flooded, broken;
    int signal; /**< that ended it, 0: none */
} child_end;

/**
 * Run a body in a closed process and read it until it ends, is late, sends too much or breaks the form; then
 * it is no more. Errors: OVP_ERROR_SYSTEM when no process could be started.
 */
ovp_status child_run(const child_call *call, child_end *end, ovp_error *error);

/** False in builds for sanitizers, fuzzing and coverage, which cannot run behind a filter, and without
 * libseccomp. */
bool child_has_filter(void);

/** "the script was ended: ..."; NULL when it came to its end by itself. */
const char *child_end_words(const child_end *end);

/** An error as messages, and back. `word` is "failed" or "hint"; the file is the caller's to add. */
void child_say_error(int channel, const ovp_error *error);
bool child_take_error(const char *word, ovp_span payload, ovp_error *error);

/** What a run came to: what it said itself counts first, then how its process ended. */
ovp_status child_settle(const child_end *end, const ovp_error *failed, const char *path, ovp_error *error);

/* ---- patterns (pattern.c, pattern_functions.c) -------------------------------------------------------- */

enum {
    PATTERN_CAPTURES = 32,
    CAPTURE_OPEN = -1,
    CAPTURE_POSITION = -2,
};

typedef enum item_kind {
    ITEM_SET,
    ITEM_OPEN,
    ITEM_OPEN_POSITION,
    ITEM_CLOSE,
    ITEM_BACK,     /* %1 */
    ITEM_BALANCE,  /* %bxy */
    ITEM_FRONTIER, /* %f[set] */
    ITEM_END,      /* $ as the last byte */
    ITEM_DONE,
} item_kind;

typedef struct pattern_item {
    item_kind kind;
    char repeat;      /* 0, '*', '+', '-' or '?' */
    int number;       /* of a back reference, from 0 */
    char first, last; /* of a balance */
    uint32_t set[8];
} pattern_item;

typedef struct pattern_capture {
    const char *start;
    ptrdiff_t length;
} pattern_capture;

typedef struct pattern_matcher {
    lua_State *L;
    const char *source, *end;
    const pattern_item *items;
    int level, depth;
    size_t steps;
    pattern_capture captures[PATTERN_CAPTURES];
} pattern_matcher;

/** Take a pattern apart; leaves the items as a userdata on the stack. Raises what Lua raises. */
const pattern_item *pattern_compile(lua_State *L, const char *pattern, size_t length);

/** Match from here: the end of the match, or NULL. */
const char *pattern_match_at(pattern_matcher *m, const char *at);

/** Count steps; now and then looks at the clock. */
void pattern_charge(pattern_matcher *m, size_t steps);

int pattern_find(lua_State *L);
int pattern_match(lua_State *L);
int pattern_gmatch(lua_State *L);
int pattern_gsub(lua_State *L);

/** `require "ovenproof.thermocouple"` and its like; leave the module on the stack. */
int bind_thermocouple(lua_State *L);
int bind_text(lua_State *L);
int bind_electrical(lua_State *L);
int bind_thermal(lua_State *L);
int bind_oven(lua_State *L);
/** Raises what is wrong; returns nothing. */
int bind_raise(lua_State *L, const ovp_error *error);
/** Fields of the table on top of the stack; NAN and NULL stay nil. */
void bind_number(lua_State *L, const char *key, double value);
void bind_string(lua_State *L, const char *key, const char *value);
/** Each leaf of the table at `index`, as the data reader gives those of a file; raises an error. */
void bind_take_table(lua_State *L, int index, const char *what, lua_leaf_function leaf, void *context);
/** Add the joints, ground and meters to the module on top of the stack. */
void bind_electrical_joint(lua_State *L);

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

/* ---- checklists (checklist.c) ------------------------------------------------------------------------ */

enum {
    CHECKLIST_BYTES = 1024 * 1024,
};

/** A lua_leaf_function; its context is private to checklist.c. */
ovp_status checklist_take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                               ovp_error *error);

/* ---- complaints (guide_sort.c) ---------------------------------------------------------------------- */

enum {
    GUIDE_WORDS_MOST = 64, /**< as many as a mask has bits */
    GUIDE_WORD_SIZE = 24,
};

/** A line in lower-case words without apostrophes; an empty word ends a clause. */
typedef struct guide_words {
    char word[GUIDE_WORDS_MOST][GUIDE_WORD_SIZE];
    size_t count;
} guide_words;

void guide_split_words(const char *line, guide_words *words);

/** The words of the line that a phrase was found in, as bits; 0 when it is not there. */
uint64_t guide_find_phrase(const guide_words *said, const char *text);

/* ---- guides (guide.c, guide_functions.c, guide_normal.c, guide_apart.c) ---------------------------------
 */

enum {
    GUIDE_MEMORY_BYTES = 32 << 20,
    GUIDE_SECONDS = 5, /* behind the steps: for what one call of the library could take */
};

/** A guide's text, read already: the closed process has no files. */
typedef struct guide_text {
    const char *path; /**< for messages alone */
    const char *bytes;
    size_t count;
} guide_text;

/** A running guide, as its functions see it. */
enum {
    GUIDE_DANGEROUS = 3, /**< of 0 to 4: a complaint, or a fault, that can hurt somebody */
};

typedef struct guide_host {
    const lua_guide_call *call;
    lua_guide_step *step;
    sandbox box;
    int steps_left; /**< the same everywhere, where a clock is not */
    int danger;     /**< of the complaint: of two in one line that of the worse */
} guide_host;

/** Put the functions of a guide (ask, expect, conclude...) into the globals; they keep `host`. */
void guide_open_functions(lua_State *L, guide_host *host);

/** True when a dangerous cause holds too much for anything to be called normal. */
bool guide_danger_is_likely(const guide_host *host);

/** normal(id): ends the guide as normal within its limit, or gives false while a danger is likely. */
int guide_normal(lua_State *L);

/** The host of a function of a guide. */
guide_host *guide_host_of(lua_State *L);

/** A guide that ended without conclude(): sets host->step. */
void guide_finish(guide_host *host);

/** The answer that a person gave to a question, the last one counting; NULL when there is none. */
const lua_guide_answer *guide_given(const guide_host *host, const char *id);

/** What the complaint implies, unless the person said otherwise; then the answers, a later one replacing. */
ovp_status guide_take_answers(guide_host *host, const lua_guide_about *about, ovp_error *error);

/** lua_guide_read and lua_guide_run in this process, and in a closed one. */
ovp_status guide_read_here(const guide_text *text, lua_guide_about *about, ovp_error *error);
ovp_status guide_read_apart(const guide_text *text, lua_guide_about *about, ovp_error *error);
ovp_status guide_run_here(const guide_text *text, const lua_guide_call *call, lua_guide_about *about,
                          lua_guide_step *step, ovp_error *error);
ovp_status guide_run_apart(const guide_text *text, const lua_guide_call *call, lua_guide_about *about,
                           lua_guide_step *step, ovp_error *error);

/** What guide_run_apart makes of these messages, without a process: so that hostile ones can be tried. */
ovp_status guide_settle_bytes(const lua_guide_call *call, ovp_span said, lua_guide_about *about,
                              lua_guide_step *step, ovp_error *error);

/** Raises an error where a guide cannot wait; ends it as concluded. */
void guide_check_can_wait(lua_State *L, const char *name);
/** ask{ text =, choices = }, the table at 1: the answer on the stack, or the question put. */
int guide_ask_own(lua_State *L, guide_host *host);
/** Make the question of step->own from its texts. */
void guide_settle_own(lua_guide_step *step);
/** How many questions were answered, each once. */
size_t guide_questions_asked(const guide_host *host);
/** A text argument or field into a buffer, where it is not nil. */
void guide_copy_words(lua_State *L, int index, const char *what, char buffer[LUA_GUIDE_TEXT_SIZE]);
int guide_end_concluded(lua_State *L, guide_host *host);

#endif
