/* command/beside.h: text folded beside a label. */
#ifndef OVENPROOF_COMMAND_BESIDE_H
#define OVENPROOF_COMMAND_BESIDE_H

#include "ovenproof/text.h"

/** The label padded to `column` columns, then the text folded beside it, at most 100 columns wide. */
void command_say_beside(ovp_sink out, const char *label, size_t column, const char *text);

/** Text folded from the left margin. */
void command_say(ovp_sink out, const char *text);

#endif
