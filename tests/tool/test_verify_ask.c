/*
 * `verify --ask` at a terminal: Ctrl-C ends the questions, what was typed is judged, the terminal is as it
 * was. Contract: docs/design.md section 2 (a command that is stopped leaves the terminal usable).
 */
/* NOLINTNEXTLINE(bugprone-reserved-identifier): the standard's own name, for pseudo-terminals */
#define _XOPEN_SOURCE 700

#include "command/command.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

extern const command_definition command_verify;

static ovp_status write_out(void *context, const char *bytes, size_t count)
{
    (void)context;
    return fwrite(bytes, 1, count, stdout) == count ? OVP_OK : OVP_ERROR_SYSTEM;
}

/* In the child: the terminal becomes its own, then the command runs as main would run it. */
static void be_the_command(const char *terminal)
{
    setsid();
    int descriptor = open(terminal, O_RDWR); /* the first one opened becomes the controlling terminal */
    if (descriptor < 0)
        _exit(99);
    dup2(descriptor, STDIN_FILENO);
    dup2(descriptor, STDOUT_FILENO);
    dup2(descriptor, STDERR_FILENO);
    command_call call = {.definition = &command_verify, .out = {write_out, NULL}};
    call.degrees = OVP_TEXT_DEGREES_F;
    call.given[call.given_count++].name = "ask";
    int status = command_verify.run(&call);
    fflush(stdout);
    _exit(status);
}

/* Reads until the words have come (or ten seconds have gone). */
static bool wait_for(int terminal, const char *words, char *seen, size_t size)
{
    size_t length = 0;
    seen[0] = '\0';
    while (strstr(seen, words) == NULL && length < size - 1) {
        struct pollfd ready = {.fd = terminal, .events = POLLIN};
        if (poll(&ready, 1, 10000) <= 0)
            return false;
        ssize_t count = read(terminal, seen + length, size - 1 - length);
        if (count <= 0)
            return false;
        length += (size_t)count;
        seen[length] = '\0';
    }
    return strstr(seen, words) != NULL;
}

static void type(int terminal, const char *words)
{
    assert_int_equal(write(terminal, words, strlen(words)), strlen(words));
}

static void expect(int terminal, const char *words)
{
    char seen[8192];
    if (!wait_for(terminal, words, seen, sizeof seen))
        fail_msg("waited for \"%s\", got \"%s\"", words, seen);
}

static int open_terminal(void)
{
    int terminal = posix_openpt(O_RDWR | O_NOCTTY);
    if (terminal < 0 || grantpt(terminal) != 0 || unlockpt(terminal) != 0) {
        print_message("skipped: no pseudo-terminal here\n");
        skip();
    }
    return terminal;
}

static pid_t start(int terminal)
{
    char name[128];
    const char *slave = ptsname(terminal);
    assert_non_null(slave);
    assert_true(ovp_copy_string(name, sizeof name, ovp_span_of(slave)));
    fflush(NULL);
    pid_t child = fork();
    if (child == 0)
        be_the_command(name);
    assert_true(child > 0);
    return child;
}

static int finish(pid_t child)
{
    int status = 0;
    while (waitpid(child, &status, 0) < 0)
        assert_int_equal(errno, EINTR);
    assert_true(WIFEXITED(status)); /* never ended by the signal */
    return WEXITSTATUS(status);
}

static void answer_the_first_questions(int terminal)
{
    expect(terminal, "Type of the couple");
    type(terminal, "K\n");
    expect(terminal, "Uncertainty of the reference");
    type(terminal, "2\n");
    expect(terminal, "How far may it be wrong");
    type(terminal, "15\n");
    expect(terminal, "Set to");
    type(terminal, "1500\n");
    expect(terminal, "reference reads");
}

static void interrupted_in_the_middle(void **state)
{
    (void)state;
    int terminal = open_terminal();
    struct termios before, after;
    pid_t child = start(terminal);
    assert_int_equal(tcgetattr(terminal, &before), 0);
    answer_the_first_questions(terminal);
    type(terminal, "1502\n");
    expect(terminal, "display shows");
    type(terminal, "1496\n");
    expect(terminal, "again");
    type(terminal, "\n");
    expect(terminal, "reference reads");
    type(terminal, "\x03");
    expect(terminal, "Reads 6 \xC2\xB0"
                     "F low at 1500");
    assert_int_equal(tcgetattr(terminal, &after), 0);
    assert_int_equal(before.c_lflag, after.c_lflag);
    assert_int_equal(before.c_iflag, after.c_iflag);
    assert_int_equal(before.c_oflag, after.c_oflag);
    assert_int_equal(finish(child), 0);
    close(terminal);
}

static void interrupted_before_any_reading(void **state)
{
    (void)state;
    int terminal = open_terminal();
    pid_t child = start(terminal);
    answer_the_first_questions(terminal);
    type(terminal, "\x03");
    expect(terminal, "no reading was given");
    assert_int_equal(finish(child), 3);
    close(terminal);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(interrupted_in_the_middle),
        cmocka_unit_test(interrupted_before_any_reading),
    };
    return cmocka_run_group_tests_name("verify --ask", tests, NULL, NULL);
}
