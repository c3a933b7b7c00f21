/* command/checklist.h: what the files of the command `checklist` share. */
#ifndef OVENPROOF_COMMAND_CHECKLIST_H
#define OVENPROOF_COMMAND_CHECKLIST_H

#include "command/command.h"
#include "lua/lua.h"
#include "ovenproof/electrical.h"
#include "store/store.h"

enum {
    CHECKLIST_OVENS = 12,
    CHECKLIST_ANSWER_SIZE = 64,
    CHECKLIST_NOTE_SIZE = 240,
    CHECKLIST_ENTRIES = 4096,
    CHECKLIST_TOOLS_SIZE = 512,
};

typedef enum checklist_result {
    CHECKLIST_OPEN,
    CHECKLIST_PASS,
    CHECKLIST_FAIL,
    CHECKLIST_SKIPPED,
    CHECKLIST_NOT_FITTED,
    CHECKLIST_NOT_TOUCHED, /**< the repair does not concern it */
} checklist_result;

typedef enum checklist_verdict {
    CHECKLIST_GOOD,
    CHECKLIST_INCOMPLETE, /**< a safety test is skipped, a step is open, or nothing was done */
    CHECKLIST_BAD,
    CHECKLIST_STOPPED, /**< a stop condition was met: the oven is not used */
} checklist_verdict;

/** A step of one oven: as it was found first, and as it was left. */
typedef struct checklist_state {
    checklist_result result, found;
    double value, found_value; /**< NAN: none */
    char answer[CHECKLIST_ANSWER_SIZE], found_answer[CHECKLIST_ANSWER_SIZE];
    size_t times;        /**< measured */
    const char *because; /**< why it was skipped by itself; NULL: a person did */
    char note[CHECKLIST_NOTE_SIZE], photo[CHECKLIST_NOTE_SIZE];
    char by[STORE_NAME_SIZE], when[STORE_WHEN_SIZE];
} checklist_state;

/** One oven under the list. */
typedef struct checklist_oven {
    char label[OVP_OVEN_STRING_SIZE],
        named[STORE_CASE_TEXT]; /**< as shown; its description as it was named */
    ovp_oven description;
    bool described;
    double first_s, first_V; /**< its first firing; NAN */
    checklist_state steps[LUA_CHECKLIST_STEPS];
} checklist_oven;

/** What was said, in order; the state of all steps follows from these alone. */
typedef struct checklist_entry {
    size_t oven, step;
    char answer[CHECKLIST_ANSWER_SIZE]; /**< "open": taken back; "": only a note or a photo */
    char note[CHECKLIST_NOTE_SIZE], photo[CHECKLIST_NOTE_SIZE];
    char by[STORE_NAME_SIZE], when[STORE_WHEN_SIZE];
} checklist_entry;

typedef struct checklist_session {
    const command_call *call;
    char path[512];
    char named[STORE_CASE_TEXT]; /**< the list as it was named */
    lua_checklist list;
    checklist_oven ovens[CHECKLIST_OVENS];
    size_t oven_count;
    checklist_entry *entries; /**< CHECKLIST_ENTRIES of them, owned */
    size_t entry_count;
    bool technician, oven_by_oven;
    bool tools_known;
    char tools[CHECKLIST_TOOLS_SIZE]; /**< "multimeter,magnet" */
    char colours[STORE_TOOL_SIZE];
    const ovp_diagnosis_fault *repair;
    char by[STORE_NAME_SIZE];
    char run[STORE_NAME_SIZE], run_path[STORE_PATH_SIZE + 128]; /**< "": not kept */
    int lock;
    bool resumed;
    char golden[17]; /**< fingerprint of the golden list; "": none */
    bool has_due;
    ovp_electrical_check_due due;
    long today;
} checklist_session;

/* ---- judging (checklist_judge.c) ---- */

/** Take "pass", "fail", "skip", "not-fitted", "open" or a value for a step of an oven. Errors:
 * OVP_ERROR_DATA. */
ovp_status checklist_answer(checklist_session *session, size_t oven, size_t step, const char *answer,
                            ovp_error *error);
/** The same with its note, photo, person and time, noted among the entries. */
ovp_status checklist_take(checklist_session *session, const checklist_entry *entry, ovp_error *error);
/** How it stands with one oven. */
checklist_verdict checklist_judge(const checklist_session *session, size_t oven);
/** The worst verdict as an exit status. */
int checklist_exit_status(const checklist_session *session);
/** Parts that are not fitted, steps of others, tools that are not there. */
void checklist_set_aside(checklist_session *session);
/** True when the part is known not to be fitted: the step is skipped and counted. */
bool checklist_not_fitted(const checklist_session *session, size_t oven, size_t step);
bool checklist_unproved(const checklist_session *session, size_t oven, size_t step);
/** The one tool with which the unproved steps, by their weight, would be proved most; NULL: none. */
const char *checklist_missing_tool(const checklist_session *session, size_t oven, size_t *steps);
/** What is known of an oven, for the limits and words of its steps. */
lua_checklist_facts checklist_facts(const checklist_session *session, size_t oven);
const lua_checklist_limit *checklist_limit(const checklist_session *session, size_t oven, size_t step,
                                           lua_checklist_limit *limit);
/** The words of a step for one oven. */
const char *checklist_words(const checklist_session *session, size_t oven, const char *text,
                            char words[LUA_CHECKLIST_TEXT_SIZE]);
/** An answer as the end shows it: "pass" for "p" or "yes", a reading as it is. */
const char *checklist_said(const char *answer);
/** "insulation-tester or safety-tester": the tools of a step, any of which will do. */
const char *checklist_tools(const lua_checklist_step *step, char words[LUA_CHECKLIST_TEXT_SIZE]);
/** "ohm", "mV"...: the unit in which a value of that kind is held. */
const char *checklist_unit(ovp_text_kind kind);

/* ---- the golden list (checklist_golden.c) ---- */

/** A list without steps of its own gets a step for each parameter of the model's golden list. */
ovp_status checklist_expand(checklist_session *session, ovp_error *error);
/** Sixteen digits over all parameters as found; `golden` takes the golden values. */
void checklist_fingerprint(const checklist_session *session, size_t oven, bool golden, char digits[17]);

/* ---- answers and runs (checklist_answers.c, checklist_run.c) ---- */

/** Read answers as JSON; "-" is standard input. */
ovp_status checklist_read_answers(checklist_session *session, const char *path, ovp_error *error);
/** Base lines of earlier results: what a results file says of first firings. */
ovp_status checklist_read_record(checklist_session *session, const char *path, ovp_error *error);
/** Open the run of that name: what it keeps, or a new one. Before the list and ovens are read. */
ovp_status checklist_open_run(checklist_session *session, const char *name, ovp_error *error);
/** Take what the opened run keeps; after the list and ovens are read. */
ovp_status checklist_replay(checklist_session *session, ovp_error *error);
ovp_status checklist_save_run(const checklist_session *session, ovp_error *error);
/** Runs that are not finished, the latest last touched first. Returns the exit status. */
int checklist_list_runs(const command_call *call);

/* ---- printing ---- */

void checklist_print_sheet(const checklist_session *session);
void checklist_print_cautions(const checklist_session *session, ovp_sink out);
void checklist_print_end(const checklist_session *session, ovp_sink out);
ovp_status checklist_print_json(const checklist_session *session, ovp_sink out);
/** Results into the files of --results: JSON when the name ends so, else text. */
ovp_status checklist_write_results(const checklist_session *session, ovp_error *error);

/** The walk at the terminal. Returns the exit status. */
int checklist_talk(checklist_session *session);

#endif
