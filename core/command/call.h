/* command/call.h: between main.c and call.c only. */
#ifndef OVENPROOF_COMMAND_CALL_H
#define OVENPROOF_COMMAND_CALL_H

#include "command/command.h"

/** --degrees, --json, --help: every command understands them. */
const command_option *command_common_options(void);

/** "-" before a name of one letter, "--" before others. */
const char *command_option_dashes(const command_option *option);

/** Sort words into operands and options of call->definition. Errors: OVP_ERROR_USAGE. */
ovp_status command_take_apart(command_call *call, char **arguments, int count, ovp_error *error);

/** Fill call->degrees from --degrees or the environment; NONE when neither says. Errors: OVP_ERROR_USAGE. */
ovp_status command_find_degrees(command_call *call, ovp_error *error);

/** Print the help of one command, from its rows. */
void command_print_help(const command_definition *definition, ovp_sink out);

#endif
