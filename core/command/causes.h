/* command/causes.h: the part of a document that `trace` and `guide` share. */
#ifndef OVENPROOF_COMMAND_CAUSES_H
#define OVENPROOF_COMMAND_CAUSES_H

#include "ovenproof/diagnosis.h"

/** "healthy", "fault" or "uncertain". */
const char *command_verdict_word(ovp_diagnosis_verdict verdict);

/** Into an open object: verdict, healthy, unlisted, causes, not_shown. */
void command_json_causes(ovp_text_json *json, const ovp_diagnosis_result *result);

/** "most likely", "possible" or "not ruled out". */
const char *command_likelihood_word(double probability);

#endif
