/* command/standing.h: the standing warning of a missing safety part, said alike everywhere. */
#ifndef OVENPROOF_COMMAND_STANDING_H
#define OVENPROOF_COMMAND_STANDING_H

#include "ovenproof/electrical.h"

/**
 * What one failure does to this oven with nothing to stop it, in sentences; nothing is said without one.
 * brief: the worst in one line.
 */
void command_say_standing_warning(ovp_sink out, const ovp_oven *oven, bool brief);

#endif
