/* Ctrl-C at a question: the command ends by the signal, and the old settings are as they were. */
#include "command/command.h"
#include "store/store.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

extern const command_definition command_setup;

static char folder[] = "/tmp/ovenproof-ask-XXXXXX";

static void run_child(int input, int output)
{
    dup2(input, STDIN_FILENO);
    dup2(output, STDOUT_FILENO);
    dup2(output, STDERR_FILENO);
    signal(SIGINT, SIG_DFL);
    command_call call = {.definition = &command_setup};
    _exit(command_setup.run(&call));
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

static void test_interrupt(void **state)
{
    (void)state;
    store_settings settings = {.degrees = OVP_TEXT_DEGREES_K};
    setenv("XDG_CONFIG_HOME", folder, 1);
    assert_int_equal(store_settings_save(&settings, NULL), OVP_OK);
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
    assert_int_equal(write(to_child[1], "F\n", 2), 2);
    assert_true(read_until(from_child[0], "2 of 5", text, sizeof text));
    kill(child, SIGINT);
    assert_true(read_until(from_child[0], NULL, text, sizeof text));
    assert_int_equal(waitpid(child, &status, 0), child);
    close(to_child[1]);
    close(from_child[0]);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGINT);
    assert_non_null(strstr(text, "stopped: nothing was written"));
    assert_int_equal(store_settings_load(&settings, NULL), OVP_OK);
    assert_int_equal(settings.degrees, OVP_TEXT_DEGREES_K);
}

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) == NULL;
}

static int remove_folder(void **state)
{
    (void)state;
    char command[300];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command); /* NOLINT(cert-env33-c) */
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_interrupt)};
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
