/*
 * `guide` and `checklist` at a terminal: Ctrl-C and the end of the input say what was found so far, the
 * terminal is as it was. Contract: docs/design.md section 2.
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
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

extern const command_definition command_guide, command_checklist;

static ovp_status write_out(void *context, const char *bytes, size_t count)
{
    (void)context;
    return fwrite(bytes, 1, count, stdout) == count ? OVP_OK : OVP_ERROR_SYSTEM;
}

static const char *run_name; /* of --run; NULL: none */

/* In the child: the terminal becomes its own, then the command runs as main would run it. */
static void be_the_command(const command_definition *command, const char *operand, const char *terminal)
{
    (void)setsid();
    int descriptor = open(terminal, O_RDWR); /* the first one opened becomes the controlling terminal */
    if (descriptor < 0)
        _exit(99);
    (void)dup2(descriptor, STDIN_FILENO);
    (void)dup2(descriptor, STDOUT_FILENO);
    (void)dup2(descriptor, STDERR_FILENO);
    command_call call = {.definition = command, .out = {write_out, NULL}, .degrees = OVP_TEXT_DEGREES_F};
    if (operand != NULL) { /* a run that goes on knows its list and its oven */
        call.operands[call.operand_count++] = operand;
        call.given[call.given_count].name = "oven";
        call.given[call.given_count++].value = "QR-8";
    }
    if (run_name != NULL) {
        call.given[call.given_count].name = "run";
        call.given[call.given_count++].value = run_name;
    }
    int status = command->run(&call);
    (void)fflush(stdout);
    _exit(status);
}

typedef struct dialogue {
    int terminal;
    pid_t child;
    struct termios before;
    char seen[65536];
    size_t length, taken; /* bytes read, and how far they were waited for */
} dialogue;

static dialogue begin(const command_definition *command, const char *operand)
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
        be_the_command(command, operand, name);
    assert_true(d.child > 0);
    return d;
}

/* Reads until the words have come after what was waited for before, or ten seconds have gone. */
static void expect(dialogue *d, const char *words)
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

static void type(const dialogue *d, const char *words)
{
    assert_int_equal(write(d->terminal, words, strlen(words)), strlen(words));
}

/* The exit status; the terminal's mode must be what it was. */
static int end(const dialogue *d)
{
    int status = 0;
    struct termios after;
    while (waitpid(d->child, &status, 0) < 0)
        assert_int_equal(errno, EINTR);
    assert_int_equal(tcgetattr(d->terminal, &after), 0);
    assert_int_equal(after.c_lflag, d->before.c_lflag);
    assert_int_equal(after.c_iflag, d->before.c_iflag);
    (void)close(d->terminal);
    assert_true(WIFEXITED(status)); /* never ended by the signal */
    return WEXITSTATUS(status);
}

static void guide_interrupted(void **state)
{
    (void)state;
    dialogue d = begin(&command_guide, "reads-backwards");
    expect(&d, "What have you seen");
    type(&d, "1\n");
    expect(&d, "warm the sensor tip");
    expect(&d, "answer");
    type(&d, "falls\n");
    expect(&d, "taken: falls");
    expect(&d, "answer");
    type(&d, "\003");
    expect(&d, "So far, after 1 question");
    expect(&d, "sensor wires crossed");
    assert_int_equal(end(&d), 0);
}

static void guide_goes_back(void **state)
{
    (void)state;
    dialogue d = begin(&command_guide, "reads-backwards");
    expect(&d, "What have you seen");
    type(&d, "2\n");
    expect(&d, "warm the sensor tip");
    type(&d, "1\n");
    expect(&d, "photo of sensor wires");
    type(&d, "back\n");
    expect(&d, "taken back: Cold oven");
    expect(&d, "warm the sensor tip");
    type(&d, "rises\n");
    expect(&d, "photo of sensor wires");
    type(&d, "crossed at two\n");
    expect(&d, "taken: crossed at two joints");
    type(&d, "quit\n");
    expect(&d, "So far");
    expect(&d, "sensor extension wires crossed at both ends");
    assert_int_equal(end(&d), 0);
}

static void guide_at_the_end_of_the_input(void **state)
{
    (void)state;
    dialogue d = begin(&command_guide, "trips-the-breaker");
    expect(&d, "What have you seen");
    type(&d, "\004");
    expect(&d, "So far, after 0 questions");
    assert_int_equal(end(&d), 0);
}

static void checklist_interrupted(void **state)
{
    (void)state;
    dialogue d = begin(&command_checklist, "half-year");
    expect(&d, "Who does it");
    type(&d, "\n");
    expect(&d, "1/25");
    expect(&d, "QR-8");
    type(&d, "\n"); /* Enter passes no safety test */
    expect(&d, "QR-8");
    type(&d, "pass\n");
    expect(&d, "2/25");
    type(&d, "p\n");
    expect(&d, "at most 0.3 ohm");
    type(&d, "0.2\n");
    expect(&d, "ohm"); /* a bare number is refused, and asked for again */
    type(&d, "0.2ohm\n");
    expect(&d, "pass");
    expect(&d, "4/25");
    type(&d, "s\n");
    expect(&d, "a safety test, so not a pass");
    type(&d, "\003");
    expect(&d, "conditional, not a pass");
    assert_int_equal(end(&d), 1);
}

/* A power cut: the process is gone between two answers, and the run knows all that was said. */
static void checklist_killed(void **state)
{
    (void)state;
    char folder[] = "/tmp/ovenproof-runs-XXXXXX";
    assert_non_null(mkdtemp(folder));
    assert_int_equal(setenv("XDG_DATA_HOME", folder, 1), 0);
    run_name = "bench-1";
    dialogue d = begin(&command_checklist, "half-year");
    expect(&d, "Who does it");
    type(&d, "J\n");
    expect(&d, "1/25");
    type(&d, "note brown spot, wiped\n");
    expect(&d, "kept");
    type(&d, "p\n");
    expect(&d, "2/25");
    type(&d, "f\n");
    expect(&d, "3/25");
    type(&d, "again torque\n");
    expect(&d, "2/25");
    type(&d, "p\n");
    expect(&d, "found f, now p");
    expect(&d, "3/25");
    type(&d, "0.25ohm\n");
    expect(&d, "4/25");
    assert_int_equal(kill(d.child, SIGKILL), 0);
    assert_int_equal(waitpid(d.child, NULL, 0), d.child);
    (void)close(d.terminal);
    d = begin(&command_checklist, NULL);
    expect(&d, "4/25");
    assert_null(strstr(d.seen, "1/25"));
    type(&d, "q\n");
    expect(&d, "3 passed, 0 failed");
    expect(&d, "found f, left p");
    assert_int_equal(end(&d), 1);
    run_name = NULL;
    char command[128];
    (void)snprintf(command, sizeof command, "rm -r %s", folder);
    assert_int_equal(system(command), 0); /* NOLINT(cert-env33-c): a folder of this test's own */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(guide_interrupted),
        cmocka_unit_test(guide_goes_back),
        cmocka_unit_test(guide_at_the_end_of_the_input),
        cmocka_unit_test(checklist_interrupted),
        cmocka_unit_test(checklist_killed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
