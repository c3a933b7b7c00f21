/* The standing warning of a missing safety part: no fault of the unit, but of the model. */
#include "command/standing.h"
#include "command/beside.h"

#include <stdio.h>
#include <string.h>

enum {
    TEXT_SIZE = 1024,
};

static bool is_standing(const ovp_oven *oven, const ovp_electrical_failure *failure)
{
    return failure->level == OVP_ELECTRICAL_FAILURE_HEATS ||
           (failure->level == OVP_ELECTRICAL_FAILURE_LIVE &&
            ovp_oven_has(oven, OVP_OVEN_DOOR_SWITCH) == OVP_OVEN_NOT_FITTED);
}

/* One sentence of a text that begins in lower case. */
static void add_sentence(char *text, const char *sentence)
{
    const size_t used = strlen(text);
    const char first = sentence[0];
    (void)snprintf(text + used, TEXT_SIZE - used, "%s%c%s.", used == 0 ? "" : " ",
                   first >= 'a' && first <= 'z' ? first - 'a' + 'A' : first, sentence + 1);
}

void command_say_standing_warning(ovp_sink out, const ovp_oven *oven, bool brief)
{
    char words[TEXT_SIZE] = "", text[TEXT_SIZE + 64];
    ovp_electrical_failure failures[OVP_ELECTRICAL_FAILURES];
    const size_t count = ovp_electrical_failures_of(oven, failures);
    for (size_t i = 0; i < count && (!brief || words[0] == '\0'); i++)
        if (is_standing(oven, &failures[i]))
            add_sentence(words, failures[i].text);
    if (words[0] == '\0')
        return;
    if (brief)
        (void)snprintf(text, sizeof text, "Warning: %s", words);
    else
        (void)snprintf(text, sizeof text, "Standing warning: %s Stay with it while it heats.", words);
    command_say(out, text);
}
