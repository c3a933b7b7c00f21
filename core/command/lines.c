#include "command/lines.h"

#include "ovenproof/base.h"

#include <ctype.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static volatile sig_atomic_t interrupted;

static void note_interrupt(int number)
{
    (void)number;
    interrupted = 1;
}

void command_lines_begin(void)
{
    struct sigaction action = {.sa_handler = note_interrupt};
    (void)sigaction(SIGINT, &action, NULL);
}

/* Byte by byte from the descriptor: no line is read ahead, and Ctrl-C ends a read at once. */
bool command_lines_read(char line[COMMAND_LINE_BYTES])
{
    (void)fflush(stdout);
    size_t used = 0;
    for (;;) {
        char byte = 0;
        ssize_t got = read(STDIN_FILENO, &byte, 1);
        if (interrupted != 0 || (got < 0 && errno != EINTR) || (got == 0 && used == 0))
            return false;
        if (got == 0 || byte == '\n')
            break;
        if (got == 1 && used < COMMAND_LINE_BYTES - 1 && byte != '\0')
            line[used++] = byte;
    }
    ovp_span trimmed = ovp_span_trim((ovp_span){line, used});
    memmove(line, trimmed.bytes, trimmed.count);
    line[trimmed.count] = '\0';
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
