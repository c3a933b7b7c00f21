#include "command/lines.h"

#include "command/ask.h"

#include <ctype.h>
#include <stdlib.h>

bool command_lines_read(const char *prompt, char line[COMMAND_LINE_BYTES])
{
    switch (ask_line(prompt, "", line, COMMAND_LINE_BYTES)) {
    case ASK_ENDED:
        return false;
    case ASK_UNKNOWN:
        (void)ovp_copy_string(line, COMMAND_LINE_BYTES, ovp_span_of("?"));
        return true;
    case ASK_ANSWER:
        break;
    }
    return true;
}

bool command_lines_is(const char *line, const char *const words[])
{
    for (; *words != NULL; words++)
        if (ovp_span_equals(ovp_span_of(line), *words))
            return true;
    return false;
}

size_t command_lines_choice(const char *line, size_t count)
{
    if (!isdigit((unsigned char)line[0]))
        return 0;
    char *end = NULL;
    unsigned long number = strtoul(line, &end, 10);
    return *end == '\0' && number >= 1 && number <= count ? number : 0;
}
