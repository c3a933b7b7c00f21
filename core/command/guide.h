/* command/guide.h: what the files of the command `guide` share. */
#ifndef OVENPROOF_COMMAND_GUIDE_H
#define OVENPROOF_COMMAND_GUIDE_H

#include "command/command.h"
#include "command/trace.h"
#include "lua/lua.h"
#include "ovenproof/diagnosis.h"
#include "store/store.h"

enum {
    GUIDE_NOT_PROVED = 24,
};

/** One use of the command: what was given, and where the guide stands. On the heap: it is large. */
typedef struct guide_session {
    const command_call *call;
    char path[512];
    lua_guide_about about;
    ovp_oven oven;
    bool has_oven;
    ovp_diagnosis_settings settings;
    char owned_tools[STORE_TOOLS * (STORE_TOOL_SIZE + 1)]; /**< what `setup` was told */
    trace_setting *trace_setting;                          /**< NULL without --trace */
    trace_run *trace;
    void *case_memory;
    ovp_diagnosis_case *state;
    lua_guide_answer answers[LUA_GUIDE_ANSWERS];
    size_t answer_count;
    /* after guide_evaluate */
    lua_guide_step step;
    ovp_diagnosis_result result;
    const char *remedy, *proof, *caution, *broke; /**< of the conclusion; "" where there is none */
    const char *not_proved[GUIDE_NOT_PROVED];
    size_t not_proved_count;
    size_t asked_count;
    double minutes;
} guide_session;

/** Run the guide over the answers and weigh them. Errors as lua_guide_run. */
ovp_status guide_evaluate(guide_session *session, ovp_error *error);

/** 0 while asking or concluded good, 1 otherwise. */
int guide_exit_status(const guide_session *session);

/** Append an answer; a later one replaces an earlier one in what it means. Errors: OVP_ERROR_DATA, too many.
 */
ovp_status guide_add_answer(guide_session *session, const char *id, const char *answer, ovp_error *error);

/** Take answers from JSON text; *line is where it is no JSON, else 0. Errors: OVP_ERROR_DATA. */
ovp_status guide_parse_answers(guide_session *session, ovp_span text, uint64_t *line, ovp_error *error);

/** Read answers as JSON (an object in file order, or an array of {"id","answer"}); "-" is standard input. */
ovp_status guide_read_answers(guide_session *session, const char *path, ovp_error *error);

/** The line of the file on which answer `number` (from 1) stands; 0 when unknown. */
uint64_t guide_answer_line(const char *path, const char *id);

/** The document of `guide --answers`. */
ovp_status guide_print_json(const guide_session *session);

/** Words for a person: the question, or the conclusion. */
/** `before` is the question before (NULL at the start): what changes hands between the two is said. */
void guide_print_question(const guide_session *session, const ovp_diagnosis_measurement *before);
void guide_print_conclusion(const guide_session *session, bool so_far);
/** What makes it safe, said before the first question. */
void guide_print_opening(const guide_session *session);
/** True when a measurement leaves or wants a state: "unplugged", "cover-off", "cooled", "heated". */
bool guide_has_state(const ovp_diagnosis_measurement *measurement, const char *state);
/** True for a live measurement, and for one with the cover off and the controls on. */
bool guide_is_energised(const ovp_diagnosis_measurement *measurement);
/** "why" of the question, and where the inference stands. */
void guide_print_why(const guide_session *session);
const char *guide_why(const guide_session *session);
/** What should be read on this oven; "" when nothing can be said. */
const char *guide_expect(const guide_session *session, char *buffer, size_t size);

/** Every measurement and every guide. */
int guide_print_list(const command_call *call);

/** The dialogue on standard input and output. Returns the exit status. */
int guide_talk(guide_session *session);

#endif
