/* Cases of the guide: kept whole, held by one at a time, never lost. Contract: core/store/store.h. */
#include "store/store.h"

#include <errno.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static char folder[] = "/tmp/ovenproof-case-XXXXXX";

static void fill(store_case *one)
{
    strcpy(one->guide, "slow");
    strcpy(one->oven, "QR-8");
    strcpy(one->complaint, "it does \"not\" heat\n");
    strcpy(one->tools, "multimeter,magnet");
    one->tools_said = true;
    one->answer_count = 2;
    strcpy(one->answers[0].id, "ask-onset");
    strcpy(one->answers[0].answer, "sudden");
    strcpy(one->answers[1].id, "ohms-ground");
    strcpy(one->answers[1].answer, "0.2ohm");
    strcpy(one->answers[1].by, "technician");
    one->note_count = 1;
    strcpy(one->notes[0].text, "calls back");
    one->has_trace = true;
    strcpy(one->trace_file, "/runs/a.csv");
    one->finding_count = 1;
    strcpy(one->findings[0].finding, "half-power");
    strcpy(one->findings[0].outcome, "yes");
    one->findings[0].at_s = 60.5;
    one->findings[0].value = NAN;
    one->findings[0].notable = true;
}

static void test_what_is_kept_comes_back(void **state)
{
    (void)state;
    store_case *one = malloc(sizeof *one), *again = malloc(sizeof *again);
    ovp_error error = {0};
    assert_int_equal(store_case_open(one, "round", &error), OVP_OK);
    assert_true(one->is_new);
    fill(one);
    assert_int_equal(store_case_save(one, &error), OVP_OK);
    store_case_release(one);
    assert_int_equal(store_case_open(again, "round", &error), OVP_OK);
    assert_false(again->is_new);
    assert_string_equal(again->complaint, one->complaint);
    assert_string_equal(again->tools, one->tools);
    assert_int_equal(again->answer_count, 2);
    assert_string_equal(again->answers[1].answer, "0.2ohm");
    assert_string_equal(again->answers[1].by, "technician");
    assert_string_equal(again->notes[0].text, "calls back");
    assert_true(again->has_trace && again->findings[0].notable && isnan(again->findings[0].value));
    assert_true(again->findings[0].at_s == 60.5);
    assert_true(strlen(again->touched) == 20);
    store_case_release(again);
    free(one);
    free(again);
}

static void test_an_answer_set_aside_is_not_lost(void **state)
{
    (void)state;
    store_case *one = calloc(1, sizeof *one);
    fill(one);
    assert_int_equal(store_case_set_aside(one, 0, "taken back", NULL), OVP_OK);
    assert_int_equal(one->answer_count, 1);
    assert_string_equal(one->answers[0].id, "ohms-ground");
    assert_int_equal(one->aside_count, 1);
    assert_string_equal(one->aside[0].id, "ask-onset");
    assert_string_equal(one->aside[0].text, "taken back");
    free(one);
}

/* Another process is refused while this one holds the case, and told so; it may when it is let go. */
static int open_in_child(void)
{
    int status = 0;
    const pid_t child = fork();
    if (child == 0) {
        store_case *one = malloc(sizeof *one);
        ovp_error error = {0};
        const ovp_status got = store_case_open(one, "held", &error);
        const bool said = strstr(error.what, "is open elsewhere (process ") != NULL;
        _exit(got == OVP_OK ? 0 : said ? 10 + (int)got : 99);
    }
    while (waitpid(child, &status, 0) < 0)
        assert_int_equal(errno, EINTR);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static void test_one_at_a_time(void **state)
{
    (void)state;
    store_case *one = malloc(sizeof *one);
    assert_int_equal(store_case_open(one, "held", NULL), OVP_OK);
    assert_int_equal(open_in_child(), 10 + (int)OVP_ERROR_SYSTEM);
    store_case_release(one);
    assert_int_equal(open_in_child(), 0);
    free(one);
}

static void test_names(void **state)
{
    (void)state;
    static const char *const bad[] = {"",
                                      ".",
                                      "..",
                                      "../a",
                                      "a/b",
                                      "-a",
                                      "a b",
                                      "a.case",
                                      "\xC3\xA4",
                                      "a\n",
                                      "0123456789012345678901234567890123456789012345678901234567890123"};
    store_case *one = malloc(sizeof *one);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ovp_error error = {0};
        assert_int_equal(store_case_open(one, bad[i], &error), OVP_ERROR_USAGE);
        assert_non_null(strstr(error.hint, "mill-lane-2"));
    }
    free(one);
}

static void write_file(const char *name, const char *text)
{
    char path[512];
    snprintf(path, sizeof path, "%s/ovenproof/cases/%s", folder, name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static void test_damaged_is_kept_aside(void **state)
{
    (void)state;
    store_case *one = malloc(sizeof *one);
    static const char *const texts[] = {
        "",
        "{",
        "[]",
        "{\"document\":\"trace\"}",
        "{\"document\":\"case\",\"version\":1}",
        "{\"document\":\"case\",\"version\":1,\"guide\":\"a\",\"answers\":[{}]}",
        "{\"document\":\"case\",\"version\":1,\"guide\":7}"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        ovp_error error = {0};
        char path[512], aside[64];
        write_file("bad.case", texts[i]);
        assert_int_equal(store_case_open(one, "bad", &error), OVP_ERROR_DATA);
        snprintf(aside, sizeof aside, "bad.case.damaged-%zu", i + 1);
        assert_non_null(strstr(error.hint, aside));
        snprintf(path, sizeof path, "%s/ovenproof/cases/%s", folder, aside);
        assert_int_equal(access(path, F_OK), 0);
        assert_int_equal(store_case_open(one, "bad", &error), OVP_OK);
        assert_true(one->is_new);
        store_case_release(one);
    }
    free(one);
}

static void count_case(void *context, const store_case *one, const ovp_error *wrong)
{
    size_t *count = context;
    assert_true((one == NULL) == (wrong != NULL));
    count[one == NULL]++;
    if (wrong != NULL)
        assert_true(wrong->what[0] != '\0' && wrong->file[0] != '\0');
}

static void test_all_are_listed(void **state)
{
    (void)state;
    size_t count[2] = {0, 0};
    write_file("worse.case", "no case");
    write_file("notes.txt", "not of ours");
    assert_int_equal(store_case_each(count_case, count, NULL), OVP_OK);
    assert_int_equal(count[0], 1); /* "round" */
    assert_int_equal(count[1], 8); /* seven aside, and the one just written */
}

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) == NULL ? -1 : setenv("XDG_DATA_HOME", folder, 1);
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
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_kept_comes_back),
        cmocka_unit_test(test_an_answer_set_aside_is_not_lost),
        cmocka_unit_test(test_one_at_a_time),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_damaged_is_kept_aside),
        cmocka_unit_test(test_all_are_listed),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
