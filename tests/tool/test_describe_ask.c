/* Ctrl-C at a question of `describe`: the command ends by the signal and leaves no file, not even a temporary
 * one. */
#include "command/command.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

extern const command_definition command_describe;

static char folder[] = "/tmp/ovenproof-describe-XXXXXX";

static void run_child(int input, int output)
{
    dup2(input, STDIN_FILENO);
    dup2(output, STDOUT_FILENO);
    dup2(output, STDERR_FILENO);
    signal(SIGINT, SIG_DFL);
    command_call call = {.definition = &command_describe};
    _exit(chdir(folder) == 0 ? command_describe.run(&call) : 99);
}

/* Reads until `wanted` was seen, or the end. */
static bool read_until(int from, const char *wanted, char *text, size_t size)
{
    size_t length = 0;
    ssize_t count;
    text[0] = '\0';
    while (length + 1 < size && (count = read(from, text + length, size - 1 - length)) > 0) {
        length += (size_t)count;
        text[length] = '\0';
        if (wanted != NULL && strstr(text, wanted) != NULL)
            return true;
    }
    return wanted == NULL;
}

static void interrupted(void **state)
{
    (void)state;
    int to_child[2], from_child[2], status = 0;
    assert_int_equal(pipe(to_child), 0);
    assert_int_equal(pipe(from_child), 0);
    pid_t child = fork();
    if (child == 0) {
        close(from_child[0]);
        close(to_child[1]);
        run_child(to_child[0], from_child[1]);
    }
    close(from_child[1]);
    close(to_child[0]);
    char text[8192];
    assert_int_equal(write(to_child[1], "MINE\n240\n", 9), 9);
    assert_true(read_until(from_child[0], " 3  How many", text, sizeof text));
    kill(child, SIGINT);
    assert_true(read_until(from_child[0], NULL, text, sizeof text));
    assert_int_equal(waitpid(child, &status, 0), child);
    close(to_child[1]);
    close(from_child[0]);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGINT);
    assert_non_null(strstr(text, "stopped: no description was written"));
    assert_int_equal(rmdir(folder), 0); /* which fails when a file is in it */
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(interrupted)};
    if (mkdtemp(folder) == NULL)
        return 1;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
