/* command/setup.h: what setup.c and setup_ask.c share. */
#ifndef OVENPROOF_COMMAND_SETUP_H
#define OVENPROOF_COMMAND_SETUP_H

#include "store/store.h"

/** A tool of reference/tools.csv. */
typedef struct setup_tool {
    const char *word, *text;
} setup_tool;

size_t setup_tool_count(void);
const setup_tool *setup_tool_at(size_t index);

/** Set one key as typed or given, with the words checked against what ovenproof knows. Errors:
 * OVP_ERROR_DATA. */
ovp_status setup_set(store_settings *settings, const char *key, const char *value, ovp_error *error);

/** Add an instrument, or replace the one of the same name. Errors: OVP_ERROR_DATA. */
ovp_status setup_add_instrument(store_settings *settings, const char *text, ovp_error *error);

/** False when there is none of that name. */
bool setup_forget_instrument(store_settings *settings, const char *name);

/** Ask all at the terminal. False when the answers ended before the last question. */
bool setup_ask(store_settings *settings);

#endif
