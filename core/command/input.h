/* command/input.h: a text file, or standard input, fed to a reader of the library. */
#ifndef OVENPROOF_COMMAND_INPUT_H
#define OVENPROOF_COMMAND_INPUT_H

#include "ovenproof/base.h"

typedef ovp_status (*command_feed)(void *reader, const char *bytes, size_t count, ovp_error *error);

/**
 * Feed all of a file ("-": standard input). Errors carry the file's name: OVP_ERROR_DATA when it cannot be
 * opened or is a folder, OVP_ERROR_SYSTEM when reading fails, and what `feed` returns. `hint`: what to do
 * when it cannot be opened.
 */
ovp_status command_feed_file(const char *path, command_feed feed, void *reader, const char *hint,
                             ovp_error *error);

/** The name of a file for people: "standard input" for "-". */
const char *command_input_name(const char *path);

#endif
