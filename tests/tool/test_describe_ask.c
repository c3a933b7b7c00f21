/* Ctrl-C at a question of `describe`: the command ends by the signal and leaves no file, not even a temporary
 * one. */
#include "terminal.h"

extern const command_definition command_describe;

static char folder[] = "/tmp/ovenproof-describe-XXXXXX";

static void interrupted(void **state)
{
    (void)state;
    char here[4096];
    assert_non_null(getcwd(here, sizeof here));
    assert_int_equal(chdir(folder), 0);
    dialogue d = begin_call(&(command_call){.definition = &command_describe});
    assert_int_equal(chdir(here), 0);
    expect(&d, " 1  ");
    type(&d, "MINE\n");
    expect(&d, " 2  ");
    type(&d, "240\n");
    expect(&d, " 3  How many");
    type(&d, "\003");
    expect(&d, "stopped: no description was written");
    const int status = end_of_child(&d);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGINT);
    assert_int_equal(rmdir(folder), 0); /* which fails when a file is in it */
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(interrupted)};
    if (mkdtemp(folder) == NULL)
        return 1;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
