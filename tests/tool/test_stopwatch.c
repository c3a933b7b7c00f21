/* The hand recorder at a terminal of its own, ended in the middle and taken up again; and its file. */
#include "terminal.h"

#include "store/store.h"

extern const command_definition command_stopwatch;

static char folder[] = "/tmp/ovenproof-stopwatch-XXXXXX", record[64];

static int make_folder(void **state)
{
    (void)state;
    if (mkdtemp(folder) == NULL)
        return 1;
    (void)snprintf(record, sizeof record, "%s/run.csv", folder);
    return 0;
}

static int drop_folder(void **state)
{
    (void)state;
    (void)unlink(record);
    return rmdir(folder);
}

static dialogue begin_oven(void)
{
    command_call call = {
        .definition = &command_stopwatch, .operands = {TREE "/scripts/ovens/QR-8.lua"}, .operand_count = 1};
    call.given[0].name = "record";
    call.given[0].value = record;
    call.given_count = 1;
    return begin_call(&call);
}

static void expect_file(const char *words, bool there)
{
    char text[8192] = "";
    FILE *file = fopen(record, "rb");
    assert_non_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    (void)fclose(file);
    if ((strstr(text, words) != NULL) != there)
        fail_msg("\"%s\" in the file: %s", words, text);
}

/* contract: every line is on the disk before it is answered, and the same command goes on */
static void test_killed_and_resumed(void **state)
{
    (void)state;
    (void)unlink(record);
    dialogue d = begin_oven();
    expect(&d, "type the display, cold and before the heat");
    type(&d, "74\n");
    expect(&d, "74 °F (before the heat)");
    expect(&d, "press Enter as you switch the heat on");
    type(&d, "\n");
    expect(&d, "heat on; next mark 500 °F");
    type(&d, "75\n");
    expect(&d, "75 °F (");
    (void)kill(d.child, SIGKILL);
    const int status = end_of_child(&d);
    assert_true(WIFSIGNALED(status));
    expect_file("\n#> 0.0 74\n", true);
    expect_file(" 75\n", true);
    expect_file("# ended", false);

    d = begin_oven();
    expect(&d, "is not finished. Go on with it?");
    type(&d, "y\n");
    expect(&d, "going on with");
    expect(&d, "75 °F");
    type(&d, "hello\n");
    expect(&d, "is not understood");
    type(&d, "undo\n");
    expect(&d, "undone: 75 °F");
    type(&d, "\3");
    expect(&d, "QR-8: 1 reading in ");
    (void)end(&d);
    expect_file(" undo\n", true);
    expect_file("# ended", true);
}

static void test_left_alone(void **state)
{
    (void)state;
    assert_int_equal(store_file_replace(record, "precious\n", 9, NULL), OVP_OK);
    dialogue d = begin_oven();
    expect(&d, "Go on with it?");
    type(&d, "n\n");
    expect(&d, "exists already; it is left as it is");
    assert_int_equal(end(&d), OVP_ERROR_USAGE);
    expect_file("precious", true);
}

static void test_recording(void **state)
{
    store_recording one, two;
    ovp_error error = {0};
    (void)state;
    (void)unlink(record);
    assert_int_equal(store_recording_open(&one, record, true, &error), OVP_OK);
    assert_int_equal(store_recording_append(&one, "a\n", 2, &error), OVP_OK);
    assert_int_equal(store_recording_open(&two, record, true, &error), OVP_ERROR_SYSTEM);
    assert_int_equal(store_recording_open(&two, record, false, &error), OVP_ERROR_SYSTEM);
    assert_non_null(strstr(error.what, "another window"));
    assert_int_equal(store_recording_replace(&one, "b\n", 2, &error), OVP_OK);
    assert_int_equal(store_recording_open(&two, record, false, &error),
                     OVP_ERROR_SYSTEM); /* held all along */
    assert_int_equal(store_recording_append(&one, "c\n", 2, &error), OVP_OK);
    expect_file("b\nc\n", true);
    expect_file("a\n", false);
    store_recording_close(&one);
    assert_int_equal(store_recording_open(&two, record, false, &error), OVP_OK);
    store_recording_close(&two);
    store_recording_close(&two);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_killed_and_resumed),
        cmocka_unit_test(test_left_alone),
        cmocka_unit_test(test_recording),
    };
    return cmocka_run_group_tests(tests, make_folder, drop_folder);
}
