/* command/lines.h: a dialogue in lines. The terminal keeps its mode, so nothing has to be put right on
 * leaving. */
#ifndef OVENPROOF_COMMAND_LINES_H
#define OVENPROOF_COMMAND_LINES_H

#include <stdbool.h>
#include <stddef.h>

enum {
    COMMAND_LINE_BYTES = 256,
};

/**
 * Ask with `prompt` for a line (ask_line of command/ask.h); "?" stays "?". False at the end of the input and
 * on Ctrl-C, which ask_begin catches.
 */
bool command_lines_read(const char *prompt, char line[COMMAND_LINE_BYTES]);

/** True when the line is one of the words (NULL ends them), letter case aside. */
bool command_lines_is(const char *line, const char *const words[]);

/** "2" as the number of one of `count` choices; 0 when the line is none. */
size_t command_lines_choice(const char *line, size_t count);

#endif
