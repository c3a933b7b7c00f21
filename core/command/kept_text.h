/* command/kept_text.h: text that is printed into memory. */
#ifndef OVENPROOF_COMMAND_KEPT_TEXT_H
#define OVENPROOF_COMMAND_KEPT_TEXT_H

#include "ovenproof/base.h"

#include <stddef.h>

/** Grows as it is written; starts as zero, free(bytes) ends it. */
typedef struct command_kept_text {
    char *bytes; /**< ends in a zero that is not counted; NULL before the first byte */
    size_t count, room;
} command_kept_text;

/** The write function of an ovp_sink whose context is a command_kept_text. Errors: OVP_ERROR_MEMORY. */
ovp_status command_keep_text(void *context, const char *bytes, size_t count);

#endif
