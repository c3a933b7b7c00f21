/* command/checklist.h: what the files of the command `checklist` share. */
#ifndef OVENPROOF_COMMAND_CHECKLIST_H
#define OVENPROOF_COMMAND_CHECKLIST_H

#include "command/command.h"
#include "lua/lua.h"

enum {
    CHECKLIST_OVENS = 8,
    CHECKLIST_ANSWER_SIZE = 64,
};

typedef enum checklist_result {
    CHECKLIST_OPEN,
    CHECKLIST_PASS,
    CHECKLIST_FAIL,
    CHECKLIST_SKIPPED,
    CHECKLIST_NOT_FITTED,
} checklist_result;

typedef enum checklist_verdict {
    CHECKLIST_GOOD,
    CHECKLIST_INCOMPLETE, /**< a safety test is open or skipped, or nothing was done */
    CHECKLIST_BAD,
    CHECKLIST_STOPPED, /**< a stop condition was met: the oven is not used */
} checklist_verdict;

/** One oven under the list. */
typedef struct checklist_oven {
    char label[OVP_OVEN_STRING_SIZE];
    ovp_oven description;
    bool described;
    struct {
        checklist_result result;
        double value; /**< NAN: none */
        char answer[CHECKLIST_ANSWER_SIZE];
    } steps[LUA_CHECKLIST_STEPS];
} checklist_oven;

typedef struct checklist_session {
    const command_call *call;
    char path[512];
    lua_checklist list;
    checklist_oven ovens[CHECKLIST_OVENS];
    size_t oven_count;
} checklist_session;

/** Take "pass", "fail", "skip", "not-fitted" or a quantity for a step of an oven. Errors: OVP_ERROR_DATA. */
ovp_status checklist_answer(checklist_session *session, size_t oven, size_t step, const char *answer,
                            ovp_error *error);
/** How it stands with one oven. */
checklist_verdict checklist_judge(const checklist_session *session, size_t oven);
/** The worst verdict as an exit status. */
int checklist_exit_status(const checklist_session *session);
/** True when the part is known not to be fitted: the step is skipped and counted. */
bool checklist_not_fitted(const checklist_session *session, size_t oven, size_t step);
/** What is known of an oven, for the limits and words of its steps. */
lua_checklist_facts checklist_facts(const checklist_session *session, size_t oven);
const lua_checklist_limit *checklist_limit(const checklist_session *session, size_t oven, size_t step,
                                           lua_checklist_limit *limit);

/** Read answers as JSON; "-" is standard input. */
ovp_status checklist_read_answers(checklist_session *session, const char *path, ovp_error *error);

void checklist_print_sheet(const checklist_session *session);
void checklist_print_cautions(const checklist_session *session);
void checklist_print_end(const checklist_session *session);
ovp_status checklist_print_json(const checklist_session *session);

/** The walk at the terminal. Returns the exit status. */
int checklist_talk(checklist_session *session);

#endif
