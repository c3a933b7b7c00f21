/*
 * A command at a terminal of its own, for tests: it types, waits for words, and looks at what is left behind.
 * Include it first in the file: it asks for the pseudo-terminals of POSIX.
 */
#ifndef TESTS_TOOL_TERMINAL_H
#define TESTS_TOOL_TERMINAL_H

/* NOLINTNEXTLINE(bugprone-reserved-identifier): the standard's own name, for pseudo-terminals */
#define _XOPEN_SOURCE 700

#include "command/command.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

typedef struct dialogue {
    int terminal;
    pid_t child;
    struct termios before;
    char seen[65536];
    size_t length, taken; /* bytes read, and how far they were waited for */
} dialogue;

static inline ovp_status terminal_write_out(void *context, const char *bytes, size_t count)
{
    (void)context;
    return fwrite(bytes, 1, count, stdout) == count ? OVP_OK : OVP_ERROR_SYSTEM;
}

/* In the child: the terminal becomes its own, then the command runs as main would run it. */
static inline void terminal_be_the_command(command_call call, const char *terminal)
{
    (void)setsid();
    (void)alarm(120);                        /* a test that failed leaves nobody behind who waits for ever */
    int descriptor = open(terminal, O_RDWR); /* the first one opened becomes the controlling terminal */
    if (descriptor < 0)
        _exit(99);
    (void)dup2(descriptor, STDIN_FILENO);
    (void)dup2(descriptor, STDOUT_FILENO);
    (void)dup2(descriptor, STDERR_FILENO);
    (void)signal(SIGINT, SIG_DFL);
    call.out = (ovp_sink){terminal_write_out, NULL};
    int status = call.definition->run(&call);
    (void)fflush(stdout);
    _exit(status);
}

static inline dialogue begin_call(const command_call *call)
{
    dialogue d = {.terminal = posix_openpt(O_RDWR | O_NOCTTY)};
    if (d.terminal < 0 || grantpt(d.terminal) != 0 || unlockpt(d.terminal) != 0) {
        print_message("skipped: no pseudo-terminal here\n");
        skip();
    }
    char name[128];
    const char *other_end = ptsname(d.terminal);
    assert_non_null(other_end);
    assert_true(ovp_copy_string(name, sizeof name, ovp_span_of(other_end)));
    assert_int_equal(tcgetattr(d.terminal, &d.before), 0);
    (void)fflush(NULL);
    d.child = fork();
    if (d.child == 0)
        terminal_be_the_command(*call, name);
    assert_true(d.child > 0);
    return d;
}

/* Reads until the words have come after what was waited for before, or ten seconds have gone. */
static inline void expect(dialogue *d, const char *words)
{
    const char *found = NULL;
    while ((found = strstr(d->seen + d->taken, words)) == NULL) {
        struct pollfd ready = {.fd = d->terminal, .events = POLLIN};
        size_t room = sizeof d->seen - 1 - d->length;
        ssize_t count =
            room > 0 && poll(&ready, 1, 10000) > 0 ? read(d->terminal, d->seen + d->length, room) : 0;
        if (count <= 0)
            fail_msg("waited for \"%s\", got \"%s\"", words, d->seen + d->taken);
        d->length += count > 0 ? (size_t)count : 0;
        d->seen[d->length] = '\0';
    }
    d->taken = (size_t)(found - d->seen) + strlen(words);
}

static inline void type(const dialogue *d, const char *words)
{
    assert_int_equal(write(d->terminal, words, strlen(words)), strlen(words));
}

/* What waitpid says of it; the terminal's mode must be what it was. */
static inline int end_of_child(const dialogue *d)
{
    int status = 0;
    struct termios now;
    while (waitpid(d->child, &status, 0) < 0)
        assert_int_equal(errno, EINTR);
    assert_int_equal(tcgetattr(d->terminal, &now), 0);
    assert_int_equal(now.c_lflag, d->before.c_lflag);
    assert_int_equal(now.c_iflag, d->before.c_iflag);
    assert_int_equal(now.c_oflag, d->before.c_oflag);
    (void)close(d->terminal);
    return status;
}

/* The exit status: never ended by the signal. */
static inline int end(const dialogue *d)
{
    const int status = end_of_child(d);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

#endif
