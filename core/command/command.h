/*
 * command/command.h: what each command file and main.c share. A command parses, calls the library and
 * prints; it holds no sums.
 *
 * To add one: a file core/command/NAME.c with a `const command_definition command_NAME`, a line in
 * table.c, cases in tests/commands/NAME.cases.
 */
#ifndef OVENPROOF_COMMAND_COMMAND_H
#define OVENPROOF_COMMAND_COMMAND_H

#include "ovenproof/base.h"
#include "ovenproof/text.h"

#include <stdio.h>

/** One option, as a row: the help is made from it, so the two cannot drift apart. */
typedef struct command_option {
    const char *name;     /**< without the dashes (one letter: `-o`); NULL ends the table */
    const char *argument; /**< "FILE"; NULL for a flag */
    bool repeats;
    const char *help;
} command_option;

enum {
    COMMAND_OPERANDS = 256,
    COMMAND_VALUES = 64,
};

typedef struct command_call command_call;

typedef struct command_definition {
    const char *name;
    const char *synopsis;          /**< operands and main options: "TYPE T... [--cold T]" */
    const char *summary;           /**< one line */
    const char *details;           /**< paragraphs, may be NULL */
    const command_option *options; /**< --json, --help and --degrees are understood by every command */
    const char *examples;          /**< lines "ovenproof ..." that work as they stand in the source tree */
    int (*run)(command_call *call);
} command_definition;

/** One use of a command: what was typed, taken apart. */
struct command_call {
    const command_definition *definition;
    const char *operands[COMMAND_OPERANDS];
    size_t operand_count;
    struct {
        const char *name;
        const char *value; /**< NULL for a flag */
    } given[COMMAND_VALUES];
    size_t given_count;
    bool json;
    ovp_text_degrees degrees; /**< --degrees, else OVENPROOF_DEGREES, else the settings, else NONE */
    ovp_sink out;             /**< standard output */
};

/** Value of an option; NULL when not given. Of one given several times: the last. */
const char *command_value(const command_call *call, const char *name);
/** True when the option was given. */
bool command_given(const command_call *call, const char *name);
/** Walk the values of an option that repeats: index 0, 1, ...; NULL past the last. */
const char *command_value_at(const command_call *call, const char *name, size_t index);

/** Read a quantity of an option; leaves *value alone (and returns OVP_OK) when it was not given. */
ovp_status command_quantity(const command_call *call, const char *name, ovp_text_kind kind, double *value,
                            ovp_error *error);

/** Words of a value, handed back whole so that a printf can take them in place. */
typedef struct command_words {
    char text[96];
} command_words;

/** "932.0 °F (500.0 °C)", or the one scale that the call asks for. */
command_words command_show_temperature(const command_call *call, double value_C, int decimals);

/** The name of a file without its folders; "standard input" for "-". */
const char *command_file_name(const char *path);

/** Print "ovenproof: FILE:LINE: what" and the hint on standard error; returns the exit status. */
int command_fail(const ovp_error *error);
/** The same for wrong usage: says what is wrong, hints at --help, returns 2. */
int command_usage(const command_call *call, const char *format, ...) OVP_PRINTF(2, 3);

/** Flush standard output; a failed write (a full disk) is exit status 4 and a message, else `status`. */
int command_finish(int status);

/** True when standard output is a terminal that may show colour (NO_COLOR honoured). */
bool command_colour(void);
/** Columns of the terminal, 100 when there is none. */
size_t command_columns(void);
/** Whether the run is to be drawn: --plot or --picture. */
bool command_draws(const command_call *call);
/** "Drawn: FILE", where --picture wrote one and no document is printed. */
void command_say_drawn(const command_call *call);
/** Columns for a drawing: COLUMNS where it is set, else those of the terminal; 40 to 100. */
size_t command_drawing_columns(void);

/** All commands, in the order that --help prints them; NULL past the last. */
extern const command_definition *const command_table[];

#endif
