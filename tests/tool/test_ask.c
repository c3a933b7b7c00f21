/* Ctrl-C at a question: the command ends by the signal, and the old settings are as they were. */
#include "terminal.h"

#include "store/store.h"

extern const command_definition command_setup;

static char folder[] = "/tmp/ovenproof-ask-XXXXXX";

static void test_interrupt(void **state)
{
    (void)state;
    store_settings settings = {.degrees = OVP_TEXT_DEGREES_K};
    setenv("XDG_CONFIG_HOME", folder, 1);
    assert_int_equal(store_settings_save(&settings, NULL), OVP_OK);
    dialogue d = begin_call(&(command_call){.definition = &command_setup});
    expect(&d, "1 of 5");
    type(&d, "F\n");
    expect(&d, "2 of 5");
    type(&d, "\003");
    expect(&d, "stopped: nothing was written");
    const int status = end_of_child(&d);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGINT);
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
