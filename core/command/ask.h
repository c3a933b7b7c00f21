/* command/ask.h: one question at the terminal, one line of answer. */
#ifndef OVENPROOF_COMMAND_ASK_H
#define OVENPROOF_COMMAND_ASK_H

#include "ovenproof/base.h"

typedef enum ask_outcome {
    ASK_ANSWER,  /**< something was typed, or Enter took the preset */
    ASK_UNKNOWN, /**< "?" or "don't know" */
    ASK_ENDED,   /**< end of the input, or Ctrl-C */
} ask_outcome;

/** Catch Ctrl-C until ask_end, so that a question can be left without harm. */
void ask_begin(void);

/**
 * Print the question with its preset ("" for none) and read one line, trimmed. Enter gives the preset; a
 * line too long or with control characters is asked for again.
 */
ask_outcome ask_line(const char *question, const char *preset, char *answer, size_t size);

/** Say what was wrong with an answer, folded to the screen. */
void ask_complain(const ovp_error *error);

/**
 * Give Ctrl-C back to the system. After ASK_ENDED: says on standard error that nothing was written and
 * returns the exit status; when Ctrl-C ended it, the command ends by that signal as the shell expects.
 */
void ask_end(void);
int ask_give_up(const char *what);

#endif
