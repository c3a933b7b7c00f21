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

#include "ovenproof/diagnosis.h"
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

/** Read a firing plan: `name` as for lua_find("plans"). It is checked with ovp_oven_plan_check. */
ovp_status lua_read_plan(const char *name, ovp_oven_plan *plan, ovp_error *error);

/** The same from memory; `name` stands for the file in messages. */
ovp_status lua_read_plan_bytes(const char *bytes, size_t count, const char *name, ovp_oven_plan *plan,
                               ovp_error *error);

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

/** Where a script stands. Only what is in the first two places runs in this process. */
typedef enum lua_origin {
    LUA_ORIGIN_PROGRAM,   /**< came with the program: its installed folders, or the tree it was built from */
    LUA_ORIGIN_USER,      /**< the user's own data folder */
    LUA_ORIGIN_ELSEWHERE, /**< anywhere else, or a file that everybody on the machine may change */
} lua_origin;

/** Links are followed first. A file that does not exist stands elsewhere. */
lua_origin lua_origin_of(const char *path);

/** "program", "user", "elsewhere". */
const char *lua_origin_word(lua_origin origin);

/** What holds a script of that origin: "language", "process", "calls"; NULL past the last. */
const char *lua_layer_at(lua_origin origin, size_t index);

/** The user's data folder, where own scripts stand; false when the environment names none. */
bool lua_user_folder(char *folder, size_t size);

/**
 * lua_run_script in a process of its own that keeps no file, may make no system call but those of computing,
 * and is ended when its time is over, whatever it does. Errors as lua_run_script; OVP_ERROR_DATA, too, "the
 * script was ended: ...", and when this kernel or this build cannot close a process off: then nothing of it
 * has run.
 */
ovp_status lua_run_script_apart(const char *path, const char *const arguments[], size_t count,
                                const lua_limits *limits, ovp_sink out, ovp_error *error);

/* ---- guides ------------------------------------------------------------------------------------------- */

enum {
    LUA_GUIDE_ID_SIZE = 64,
    LUA_GUIDE_TEXT_SIZE = 640,
    LUA_GUIDE_PATH_SIZE = 512,
    LUA_GUIDE_WORDS = 96,
    LUA_GUIDE_HINTS = 16,
    LUA_GUIDE_HEARD = 12,
    LUA_GUIDE_TOLD = 16,
    LUA_GUIDE_EVIDENCE = 6,
    LUA_GUIDE_ANSWERS = 160,
    LUA_GUIDE_CHOICES = 12,
    LUA_GUIDE_QUESTIONS = 40, /**< a guide concludes after at most this many */
};

/** An answer as it came: an id and an outcome word, "unknown" or a quantity. */
typedef struct lua_guide_answer {
    char id[LUA_GUIDE_ID_SIZE];
    char answer[LUA_GUIDE_ID_SIZE];
} lua_guide_answer;

/** What a guide says of itself, without running it. */
typedef struct lua_guide_about {
    char name[LUA_GUIDE_ID_SIZE];
    char title[LUA_GUIDE_ID_SIZE * 2];
    char text[LUA_GUIDE_TEXT_SIZE];
    char first[LUA_GUIDE_TEXT_SIZE];                /**< what to do at once ("Heat off..."); "" */
    char words[LUA_GUIDE_WORDS][LUA_GUIDE_ID_SIZE]; /**< phrases of a complaint that lead here */
    size_t word_count;
    char hints[LUA_GUIDE_HINTS][LUA_GUIDE_ID_SIZE]; /**< words that lead here when nothing better is said */
    size_t hint_count;
    int danger; /**< 0 to 4, as column danger_level: of two complaints the worse one leads */
    char context[LUA_GUIDE_ID_SIZE]; /**< the context when nobody gave one; "" for in-service */
    char opening[LUA_GUIDE_ID_SIZE]; /**< the question that sorts, asked too when another guide leads; "" */
    lua_guide_answer implies[LUA_GUIDE_EVIDENCE]; /**< what the complaint itself has already shown */
    size_t implied_count;
    struct {
        char phrases[LUA_GUIDE_EVIDENCE][LUA_GUIDE_ID_SIZE];
        size_t phrase_count;
        lua_guide_answer evidence[LUA_GUIDE_EVIDENCE];
        size_t evidence_count;
    } heard[LUA_GUIDE_HEARD]; /**< what a phrase in the line of complaint has shown */
    size_t heard_count;
    struct {
        char text[LUA_GUIDE_TEXT_SIZE]; /**< "No heat at all" */
        char guide[LUA_GUIDE_ID_SIZE];  /**< the guide that this one hands over to; "" for none */
        lua_guide_answer evidence[LUA_GUIDE_EVIDENCE];
        size_t evidence_count;
    } told[LUA_GUIDE_TOLD]; /**< what the person may have seen already: offered first at the terminal */
    size_t told_count;
    lua_origin found;
} lua_guide_about;

/**
 * Read what a guide says of itself. One from elsewhere is run closed off, here and in lua_guide_run. Errors:
 * OVP_ERROR_SYSTEM when the file cannot be read, OVP_ERROR_DATA with the line.
 */
ovp_status lua_guide_read(const char *path, lua_guide_about *about, ovp_error *error);

/** Where a line of complaint leads. */
typedef struct lua_guide_choice {
    char path[LUA_GUIDE_PATH_SIZE]; /**< of the guide that leads; "" when no guide knows any of the words */
    char also[LUA_GUIDE_PATH_SIZE]; /**< of the guide for the other complaint in the line; "" */
} lua_guide_choice;

/**
 * Sort a complaint in a line of words by the phrases that the guides on the search path list. Slips of the
 * keyboard, word endings and case do not matter. Of two complaints the more dangerous one leads.
 */
void lua_guide_sort(const char *line, lua_guide_choice *choice);

/** What a guide hears in a line of complaint: the evidence of its phrases. Returns how many, at most room. */
size_t lua_guide_hear(const lua_guide_about *about, const char *line, lua_guide_answer evidence[],
                      size_t room);

/** How many words a line has. */
size_t lua_guide_words_in(const char *line);

/** One run of a guide: everything that its outcome depends on. */
typedef struct lua_guide_call {
    const char *path;
    const ovp_diagnosis_settings *settings;
    ovp_diagnosis_case *state; /**< made with the same settings; a trace's findings already taken */
    const lua_guide_answer *answers;
    size_t answer_count;
    const char *complaint;       /**< the line of words, for what was heard in it; NULL for none */
    const lua_guide_about *also; /**< the guide of the other complaint in the line; NULL for none */
} lua_guide_call;

/**
 * A question of the guide's own, ask{ text =, choices = }: it is no evidence, it only leads. Its id is "own-"
 * and its words; an answer is one of its choices.
 */
typedef struct lua_guide_own {
    char id[LUA_GUIDE_ID_SIZE]; /**< "" none */
    char text[LUA_GUIDE_TEXT_SIZE], caution[LUA_GUIDE_TEXT_SIZE];
    char choices[LUA_GUIDE_CHOICES][LUA_GUIDE_ID_SIZE];
    size_t choice_count;
    double minutes;
    const char *outcomes[LUA_GUIDE_CHOICES]; /* into choices */
    ovp_diagnosis_measurement question;      /* into all of these: the step is not copied */
} lua_guide_own;

/** True for the id of a guide's own question. */
bool lua_guide_is_own(const char *id);

/** Where a guide stands after its answers. Not to be copied: a guide's own question points into it. */
typedef struct lua_guide_step {
    bool concluded;
    const ovp_diagnosis_measurement *question; /**< when not concluded */
    char why[LUA_GUIDE_TEXT_SIZE];      /**< the guide's own words for this question; "" for the table's */
    char expect[LUA_GUIDE_TEXT_SIZE];   /**< likewise */
    bool from_memory;                   /**< the guide asks what was seen before, not for a new measurement */
    const ovp_diagnosis_normal *normal; /**< concluded as normal, within its limit; NULL else */
    char fault[LUA_GUIDE_ID_SIZE];      /**< named by conclude{fault=...}; "" leaves it to the inference */
    char text[LUA_GUIDE_TEXT_SIZE], remedy[LUA_GUIDE_TEXT_SIZE], proof[LUA_GUIDE_TEXT_SIZE];
    size_t bad_answer; /**< on failure: the answer that was refused, counted from 1; 0 for another failure */
    lua_guide_own own;
} lua_guide_step;

/**
 * Run a guide from its start over the answers so far: the outcome is a function of the call alone. Gives
 * the next question or the conclusion; call->state then holds all the evidence and can be inferred from.
 * The rules of safety are kept here, whatever the guide asks for: no live question to an owner, nothing
 * about a part not fitted, cold tests before heat while the sensor is in doubt, "unknown" never asked again.
 * Errors: OVP_ERROR_DATA for a refused answer or a guide that fails (its line) or meets a limit.
 */
ovp_status lua_guide_run(const lua_guide_call *call, lua_guide_step *step, ovp_error *error);

/* ---- checklists --------------------------------------------------------------------------------------- */

enum {
    LUA_CHECKLIST_STEPS = 96,
    LUA_CHECKLIST_CAUTIONS = 8,
    LUA_CHECKLIST_WORD_SIZE = 64,
    LUA_CHECKLIST_TEXT_SIZE = 400,
};

/** What a value is judged by. */
typedef enum lua_checklist_of {
    LUA_CHECKLIST_OF_EYE,            /**< no value: pass or fail */
    LUA_CHECKLIST_OF_FIGURE,         /**< low and high as written */
    LUA_CHECKLIST_OF_ELEMENT,        /**< shares of the cold ohms of one element of this oven */
    LUA_CHECKLIST_OF_OVEN_OHMS,      /**< shares of the cold ohms of all elements as wired */
    LUA_CHECKLIST_OF_AMPS,           /**< shares of the hot amps of this oven, at the volts measured */
    LUA_CHECKLIST_OF_INSULATION,     /**< by the oven's power: ovp_electrical_insulation_judge */
    LUA_CHECKLIST_OF_INSULATION_NEW, /**< the same, new and dry */
    LUA_CHECKLIST_OF_BOND,           /**< by ovp_electrical_bond_judge, with its cord */
    LUA_CHECKLIST_OF_VOLTS,          /**< shares of the plate's volts */
    LUA_CHECKLIST_OF_SENSOR_MV,      /**< mV of the couple, tip in boiling water, its screws at room */
    LUA_CHECKLIST_OF_HEAT_UP,        /**< minutes to the last mark of this oven's plate */
    LUA_CHECKLIST_OF_FIRST_FIRING,   /**< minutes to the same mark, by its own first firing */
    LUA_CHECKLIST_OF_SAME,           /**< a word or a quantity, the same as the golden list's */
} lua_checklist_of;

typedef struct lua_checklist_step {
    char id[LUA_CHECKLIST_WORD_SIZE], station[LUA_CHECKLIST_WORD_SIZE * 2], tool[LUA_CHECKLIST_WORD_SIZE];
    char needs_part[LUA_CHECKLIST_WORD_SIZE];
    char text[LUA_CHECKLIST_TEXT_SIZE], caution[LUA_CHECKLIST_TEXT_SIZE], if_not[LUA_CHECKLIST_TEXT_SIZE];
    char record[LUA_CHECKLIST_TEXT_SIZE], source[LUA_CHECKLIST_TEXT_SIZE];
    char after[LUA_CHECKLIST_TEXT_SIZE]; /**< families or ids of faults "sensor|controller" whose repair
                                            touches it; "": always */
    char same[LUA_CHECKLIST_WORD_SIZE];  /**< the value of the golden list */
    bool technician;                     /**< who = "technician" */
    bool safety;                         /**< skipped is never a pass */
    bool stop;                           /**< failed: stop, the oven is not used */
    lua_checklist_of of;
    ovp_text_kind kind; /**< of a value */
    double low, high;   /**< in the kind's unit, or shares; NAN where there is none */
} lua_checklist_step;

typedef struct lua_checklist {
    char name[LUA_CHECKLIST_WORD_SIZE], title[LUA_CHECKLIST_WORD_SIZE * 2];
    char text[LUA_CHECKLIST_TEXT_SIZE], due[LUA_CHECKLIST_TEXT_SIZE];
    bool technician; /**< who = "technician": it is a list for the shop */
    char cautions[LUA_CHECKLIST_CAUTIONS][LUA_CHECKLIST_TEXT_SIZE];
    size_t caution_count;
    lua_checklist_step steps[LUA_CHECKLIST_STEPS];
    size_t step_count;
} lua_checklist;

/**
 * Read a checklist; `path` from lua_find("checklists"). A step with `use = ID` takes what it does not say
 * itself from the step of that id in the library of steps, `steps/shared.lua` beside the checklists.
 * Errors as lua_read_data.
 */
ovp_status lua_read_checklist(const char *path, lua_checklist *list, ovp_error *error);

/** The same from memory; `name` stands for the file in messages. */
ovp_status lua_read_checklist_bytes(const char *bytes, size_t count, const char *name, lua_checklist *list,
                                    ovp_error *error);

/** What is known of one oven while a list is worked through. */
typedef struct lua_checklist_facts {
    const ovp_oven *oven; /**< NULL: no description */
    ovp_text_degrees shown;
    const char *colours;               /**< standard or country of the wire colours; NULL or "": not said */
    double first_s;                    /**< its first firing: time to the last mark; NAN: not known */
    double first_V;                    /**< volts under load on that day; NAN */
    double volts_V;                    /**< measured under load; NAN: not measured, the plate's are taken */
    const ovp_diagnosis_fault *repair; /**< what was repaired; NULL: nothing */
} lua_checklist_facts;

/** A limit worked out for one oven. */
typedef struct lua_checklist_limit {
    bool known;       /**< false: the description does not give it (text says what is missing) */
    double low, high; /**< NAN where there is none */
    char text[LUA_CHECKLIST_TEXT_SIZE]; /**< "14.9 ohm to 17.6 ohm"; "" for a step by eye */
} lua_checklist_limit;

void lua_checklist_limit_of(const lua_checklist_step *step, const lua_checklist_facts *facts,
                            lua_checklist_limit *limit);

/** True when a value lies within a known limit. */
bool lua_checklist_within(const lua_checklist_limit *limit, double value);

/**
 * A step's words for one oven: {colours}, {magnet}, {volts}, {circuit}, {amps}, {fuse}, {protector},
 * {type}, {mark}, {proof}, {broke_by} are replaced by what the description says, or by general words.
 */
void lua_checklist_words(const char *text, const lua_checklist_facts *facts, char *buffer, size_t size);

#endif
