/* command/lines.h: a dialogue in lines. The terminal keeps its mode, so nothing has to be put right on
 * leaving. */
#ifndef OVENPROOF_COMMAND_LINES_H
#define OVENPROOF_COMMAND_LINES_H

#include <stdbool.h>
#include <stddef.h>

enum {
    COMMAND_LINE_BYTES = 256,
};

/** Let Ctrl-C end a dialogue as the end of the input does, instead of the program. */
void command_lines_begin(void);

/** The next line without blanks at its ends; false at the end of the input and on Ctrl-C. Flushes the output.
 */
bool command_lines_read(char line[COMMAND_LINE_BYTES]);

/** True when the line is one of the words (NULL ends them), letter case aside. */
bool command_lines_is(const char *line, const char *const words[]);

/** "2" as the number of one of `count` choices; 0 when the line is none. */
size_t command_lines_choice(const char *line, size_t count);

#endif
