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
    GUIDE_PARTS = 20, /**< as many as there can be */
    GUIDE_CHANGED_SIZE = 1024,
    GUIDE_HEARD = 16,
    GUIDE_MESSAGE_SIZE = 1600,
    GUIDE_WORDS_SIZE = 640, /**< a text of the tables, worded */
};

/** A piece of a message that came back, and what it was taken for. */
typedef struct guide_heard {
    char words[256];
    const ovp_diagnosis_measurement *about; /**< NULL: not understood */
    char answer[LUA_GUIDE_ID_SIZE];         /**< "" : about this, but what it showed was not said */
    const char *text;                       /**< the answer in plain words, where it is known; else NULL */
    bool clear, taken;
} guide_heard;

/** One use of the command: what was given, and where the guide stands. On the heap: it is large. */
typedef struct guide_session {
    const command_call *call;
    char path[512];
    lua_guide_about about;
    ovp_oven oven;
    char oven_name[512], oven_path[512]; /**< as it was named, and where it was found; "" without */
    char complaint[512];                 /**< the words of the call; "" none */
    char words[512];                     /**< the line of words that led to the guide; "" for a name */
    char also_path[512];                 /**< the guide of the other complaint in the line; "" for none */
    lua_guide_about also;
    ovp_diagnosis_settings settings;
    char owned_tools[STORE_TOOLS * (STORE_TOOL_SIZE + 1)]; /**< what `setup` was told */
    command_call trace_call;      /**< the call with the oven of the case, for the trace's reader */
    trace_setting *trace_setting; /**< NULL without --trace */
    trace_run *trace;
    store_case *kept; /**< the case that is kept; NULL without --case-name */
    bool keep_failed; /**< an answer could not be written: said once, and the exit status is 4 */
    char changed[GUIDE_CHANGED_SIZE]; /**< what is not as it was when the case was kept; "" nothing */
    void *case_memory;
    ovp_diagnosis_case *state;
    lua_guide_answer answers[LUA_GUIDE_ANSWERS];
    size_t answer_count;
    /* after guide_evaluate */
    lua_guide_step step;
    ovp_diagnosis_result result;
    const char *remedy, *proof, *caution, *broke,
        *broke_check;                     /**< of the conclusion; "" where there is none */
    ovp_diagnosis_part post[GUIDE_PARTS]; /**< what to post for what is left */
    size_t post_count;
    double post_covers; /**< the share of what is left that they mend; 0: nothing is left */
    const char *not_proved[GUIDE_NOT_PROVED];
    size_t not_proved_count;
    size_t asked_count;
    double minutes;
    ovp_diagnosis_own own[OVP_DIAGNOSIS_CAUSES]; /**< what closed cases turned out to be, in this context */
    size_t own_calls;
    /* of a message */
    guide_heard heard[GUIDE_HEARD];
    size_t heard_count;
    char message[GUIDE_MESSAGE_SIZE]; /**< --say; "" without */
    const ovp_diagnosis_measurement *message_asks[STORE_CASE_ASKED];
    size_t message_ask_count;
} guide_session;

/** A session without anything in it; NULL when there is no memory. Free it with guide_session_free. */
guide_session *guide_session_new(const command_call *call);
void guide_session_free(guide_session *session);

/** The words of the call with blanks between, into `complaint`. Errors: USAGE when they are too long. */
ovp_status guide_join_words(guide_session *session, ovp_error *error);

/** Take what the call says, and where it is silent what the case keeps. Errors as those it reads. */
ovp_status guide_start(guide_session *session, ovp_error *error);

/**
 * Take the guide of a name, of a path or of a line of complaint; no words are any-complaint. Errors:
 * OVP_ERROR_DATA with the names that exist.
 */
ovp_status guide_choose(guide_session *session, const char *line, ovp_error *error);

/** Take the guide that these words lead to; false when no guide knows them. */
bool guide_choose_by_words(guide_session *session, const char *line);

/** Hear these words for the guide that the session has already, as when a case goes on. */
void guide_hear(guide_session *session, const char *line);

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

/* ---- cases (guide_case.c, guide_open.c) ---------------------------------------------------------------- */

/** Open the case of --case-name, if there is one. Errors as store_case_open; USAGE when it is closed. */
ovp_status guide_case_open(guide_session *session, ovp_error *error);
/** What the case keeps of a trace, as evidence; nothing where it keeps none. */
ovp_status guide_case_trace(guide_session *session, ovp_error *error);
/**
 * After guide_start: a new case is begun, an old one gives its answers; what does not fit any more is set
 * aside and said in `changed`. The session is evaluated. Errors: USAGE where the call and the case differ.
 */
ovp_status guide_case_join(guide_session *session, ovp_error *error);
/** Like guide_case_join, to look only: nothing is written. */
ovp_status guide_case_look(guide_session *session, ovp_error *error);
/** Keep the answers that were added since. Does nothing without a case. Errors: SYSTEM. */
ovp_status guide_keep(guide_session *session, ovp_error *error);
/** Take the answer at `index` back; a case keeps it among those set aside. Errors: SYSTEM. */
ovp_status guide_take_back(guide_session *session, size_t index, ovp_error *error);
/** Keep a note with the case. Errors: USAGE, DATA, SYSTEM. */
ovp_status guide_case_note(guide_session *session, const char *text, ovp_error *error);
/** Make the session a case from now on. Errors as guide_case_open; USAGE when there is such a case. */
ovp_status guide_case_begin(guide_session *session, const char *name, ovp_error *error);
/** The case goes on with the guide that has taken over. Does nothing without a case. Errors: SYSTEM. */
ovp_status guide_case_hand_over(guide_session *session, ovp_error *error);
/** Counts what the closed cases of this context turned out to be, this case left out. Errors: SYSTEM. */
ovp_status guide_own_calls(guide_session *session, ovp_error *error);
/** --close: returns the exit status. */
int guide_case_close(guide_session *session);
/** The members of the case into the object that is open; nothing without a case. */
void guide_case_write_json(const guide_session *session, ovp_text_json *json);
/** "2026-11-25 14:20", local time, of a kept time; the kept text when it is none. */
command_words guide_shown_time(const char *when);

/* ---- words (guide_understand.c, guide_heard.c, guide_say.c) ----------------------------------------------
 */

/** True for "?", "can't tell" and their like. */
bool guide_is_unknown(const char *line);
/** An answer to a question as the case takes it, from its choice in words or a quantity; false: `error` says.
 */
bool guide_answer_from(const guide_session *session, const ovp_diagnosis_measurement *question,
                       const char *words, char answer[LUA_GUIDE_ID_SIZE], ovp_error *error);
/** What words out of turn are probably about, best first. */
size_t guide_offers(const guide_session *session, const char *words, ovp_diagnosis_offered found[],
                    size_t capacity);
/** An answer in plain words. */
const char *guide_answer_words(const char *id, const char *answer);
/** A question without the state that it begins with ("Unplugged: ..."), which is said before it. */
const char *guide_without_state(const char *question);
/** A question in one short line. */
command_words guide_short_question(const char *id);
/** False for an answer that a later one replaced. */
bool guide_in_force(const guide_session *session, size_t index);
/** What an answer to the question would mean: "points to ...", "changes little". */
const char *guide_meaning(const guide_session *session, size_t outcome, char *buffer, size_t size);
/** Why the question is asked, and what each answer to it would mean. */
void guide_print_meanings(guide_session *session);
/** The doubted answer, and the one that it does not fit with, where there is one alone. */
void guide_print_contradiction(guide_session *session, const char *doubted);
/** A text of the tables in the degrees of this person. */
size_t guide_plain_words(const guide_session *session, const char *text, char *buffer, size_t size);

/** --heard: take a message that came back apart, and take what is clear or confirmed. Evaluate afterwards.
 * Errors: DATA when nothing of it is understood. */
ovp_status guide_hear_message(guide_session *session, const char *text, ovp_error *error);
void guide_print_heard(const guide_session *session);
void guide_heard_write_json(const guide_session *session, ovp_text_json *json);

/** --say: the message into session->message; a case remembers what it asks. Errors: SYSTEM. */
ovp_status guide_say(guide_session *session, ovp_error *error);
void guide_say_write_json(const guide_session *session, ovp_text_json *json);

/** --open: returns the exit status. */
int guide_print_open(const command_call *call);

/** The dialogue on standard input and output. Returns the exit status. */
int guide_talk(guide_session *session);

#endif
