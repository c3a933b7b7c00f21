/* Files that are replaced whole or not at all, and the settings. */
#include "store/store.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static char folder[] = "/tmp/ovenproof-store-XXXXXX";

static const char *in_folder(const char *name)
{
    static char path[4][256];
    static int turn;
    turn = (turn + 1) % 4;
    snprintf(path[turn], sizeof path[turn], "%s/%s", folder, name);
    return path[turn];
}

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static const char *read_text(const char *path)
{
    static char text[65536];
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    size_t count = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    text[count] = '\0';
    return text;
}

static size_t files_in_folder(void)
{
    char command[300];
    snprintf(command, sizeof command, "ls -A '%s' | wc -l", folder);
    FILE *pipe = popen(command, "r"); /* NOLINT(cert-env33-c) */
    size_t count = 0;
    assert_int_equal(fscanf(pipe, "%zu", &count), 1);
    pclose(pipe);
    return count;
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

static void test_replace(void **state)
{
    (void)state;
    const char *path = in_folder("a");
    ovp_error error = {0};
    assert_int_equal(store_file_replace(path, "one", 3, &error), OVP_OK);
    assert_string_equal(read_text(path), "one");
    assert_int_equal(chmod(path, 0640), 0);
    assert_int_equal(store_file_replace(path, "two!", 4, &error), OVP_OK);
    assert_string_equal(read_text(path), "two!");
    struct stat made;
    assert_int_equal(stat(path, &made), 0);
    assert_int_equal(made.st_mode & 0777, 0640);
    assert_int_equal(files_in_folder(), 1);
    unlink(path);
}

static void test_abandon_leaves_the_old(void **state)
{
    (void)state;
    static store_file file;
    const char *path = in_folder("a");
    write_text(path, "old");
    assert_int_equal(store_file_begin(&file, path, NULL), OVP_OK);
    assert_int_equal(ovp_text_print(store_file_sink(&file), "new"), OVP_OK);
    assert_string_equal(read_text(path), "old");
    store_file_abandon(&file);
    store_file_abandon(&file);
    assert_string_equal(read_text(path), "old");
    assert_int_equal(files_in_folder(), 1);
    unlink(path);
}

static void test_a_link_stays_a_link(void **state)
{
    (void)state;
    const char *path = in_folder("real"), *link_path = in_folder("link");
    write_text(path, "old");
    assert_int_equal(symlink(path, link_path), 0);
    assert_int_equal(store_file_replace(link_path, "new", 3, NULL), OVP_OK);
    struct stat made;
    assert_int_equal(lstat(link_path, &made), 0);
    assert_true(S_ISLNK(made.st_mode));
    assert_string_equal(read_text(path), "new");
    unlink(link_path);
    unlink(path);
}

static void test_failures_are_said(void **state)
{
    (void)state;
    ovp_error error = {0};
    assert_int_equal(store_file_replace(in_folder("none/a"), "x", 1, &error), OVP_ERROR_SYSTEM);
    assert_non_null(strstr(error.what, "No such file"));
    assert_non_null(strstr(error.file, "none/a"));
    assert_true(error.hint[0] != '\0');
    assert_int_equal(store_file_replace(folder, "x", 1, &error), OVP_ERROR_SYSTEM);
    assert_non_null(strstr(error.what, "directory"));
    write_text(in_folder("plain"), "");
    assert_int_equal(store_make_folder(in_folder("plain/b"), &error), OVP_ERROR_SYSTEM);
    assert_int_equal(store_make_folder(in_folder("plain"), &error), OVP_ERROR_SYSTEM);
    unlink(in_folder("plain"));
    assert_int_equal(files_in_folder(), 0);
}

static void test_a_device_is_written_directly(void **state)
{
    (void)state;
    ovp_error error = {0};
    assert_int_equal(store_file_replace("/dev/null", "x", 1, &error), OVP_OK);
    struct stat device;
    assert_int_equal(stat("/dev/null", &device), 0);
    assert_true(S_ISCHR(device.st_mode));
    if (access("/dev/full", W_OK) != 0)
        return;
    /* a full disk */
    assert_int_equal(store_file_replace("/dev/full", "x", 1, &error), OVP_ERROR_SYSTEM);
    assert_non_null(strstr(error.what, "No space"));
    assert_non_null(strstr(error.hint, "make room"));
}

/* A file size limit fails the write as a full disk does; the old file must stay whole. */
static void test_a_failed_write_keeps_the_old(void **state)
{
    (void)state;
    const char *path = in_folder("a");
    write_text(path, "old");
    static char large[40000];
    struct rlimit before, small;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = 20000;
    ovp_error error = {0};
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    ovp_status status = store_file_replace(path, large, sizeof large, &error);
    setrlimit(RLIMIT_FSIZE, &before);
    assert_int_equal(status, OVP_ERROR_SYSTEM);
    assert_non_null(strstr(error.what, "too large"));
    assert_string_equal(read_text(path), "old");
    assert_int_equal(files_in_folder(), 1);
    unlink(path);
}

static void test_settings_path(void **state)
{
    (void)state;
    char path[STORE_PATH_SIZE];
    setenv("HOME", "/home/x", 1);
    setenv("XDG_CONFIG_HOME", "/conf", 1);
    assert_int_equal(store_settings_path(path, sizeof path, NULL), OVP_OK);
    assert_string_equal(path, "/conf/ovenproof/settings");
    setenv("XDG_CONFIG_HOME", "relative", 1);
    assert_int_equal(store_settings_path(path, sizeof path, NULL), OVP_OK);
    assert_string_equal(path, "/home/x/.config/ovenproof/settings");
    unsetenv("XDG_CONFIG_HOME");
    unsetenv("HOME");
    ovp_error error = {0};
    assert_int_equal(store_settings_path(path, sizeof path, &error), OVP_ERROR_SYSTEM);
    store_settings settings;
    assert_int_equal(store_settings_load(&settings, NULL), OVP_OK);
    assert_int_equal(settings.degrees, OVP_TEXT_DEGREES_NONE);
}

static void use_folder_as_home(void)
{
    setenv("XDG_CONFIG_HOME", folder, 1);
    unlink(in_folder("ovenproof/settings"));
}

static void test_settings_round_trip(void **state)
{
    (void)state;
    use_folder_as_home();
    store_settings settings, read;
    ovp_error error = {0};
    assert_int_equal(store_settings_load(&settings, &error), OVP_OK);
    assert_false(settings.tools_known);
    assert_int_equal(store_settings_set(&settings, "degrees", ovp_span_of("f"), &error), OVP_OK);
    assert_int_equal(store_settings_set(&settings, "colours", ovp_span_of("us"), &error), OVP_OK);
    assert_int_equal(store_settings_set(&settings, "tools", ovp_span_of("multimeter, clamp-meter"), &error),
                     OVP_OK);
    assert_int_equal(
        store_settings_set(&settings, "contact", ovp_span_of("Quarry Road Ovens (invented)"), &error),
        OVP_OK);
    assert_int_equal(store_settings_set(
                         &settings, "instrument",
                         ovp_span_of("Bench calibrator; U=0.5C; certificate 12 34; due 2027-02-28"), &error),
                     OVP_OK);
    assert_int_equal(store_settings_set(&settings, "instrument", ovp_span_of("Old meter"), &error), OVP_OK);
    assert_int_equal(store_settings_save(&settings, &error), OVP_OK);
    assert_int_equal(store_settings_load(&read, &error), OVP_OK);
    assert_int_equal(read.degrees, OVP_TEXT_DEGREES_F);
    assert_string_equal(read.colours, "us");
    assert_true(read.tools_known);
    assert_int_equal(read.tool_count, 2);
    assert_string_equal(read.tools[1], "clamp-meter");
    assert_string_equal(read.contact, "Quarry Road Ovens (invented)");
    assert_int_equal(read.instrument_count, 2);
    assert_string_equal(read.instruments[0].name, "Bench calibrator");
    assert_string_equal(read.instruments[0].certificate, "12 34");
    assert_string_equal(read.instruments[0].due, "2027-02-28");
    assert_string_equal(read.instruments[0].uncertainty, "0.5C");
    assert_string_equal(read.instruments[1].name, "Old meter");
    /* a shop that owns no tool at all is not the same as nobody knows */
    assert_int_equal(store_settings_set(&read, "tools", ovp_span_of("none"), &error), OVP_OK);
    assert_int_equal(store_settings_save(&read, &error), OVP_OK);
    assert_int_equal(store_settings_load(&settings, &error), OVP_OK);
    assert_true(settings.tools_known);
    assert_int_equal(settings.tool_count, 0);
}

static void test_settings_keep_what_they_do_not_know(void **state)
{
    (void)state;
    use_folder_as_home();
    store_make_folder(in_folder("ovenproof"), NULL);
    write_text(in_folder("ovenproof/settings"),
               "# mine\ndegrees = C\n\ncolour of the door = blue\ncontact=\n");
    store_settings settings;
    ovp_error error = {0};
    assert_int_equal(store_settings_load(&settings, &error), OVP_OK);
    assert_int_equal(settings.degrees, OVP_TEXT_DEGREES_C);
    settings.degrees = OVP_TEXT_DEGREES_K;
    strcpy(settings.contact, "the shop"); /* NOLINT */
    strcpy(settings.colours, "eu");       /* NOLINT */
    assert_int_equal(store_settings_save(&settings, &error), OVP_OK);
    assert_string_equal(
        read_text(in_folder("ovenproof/settings")),
        "# mine\ndegrees = K\n\ncolour of the door = blue\ncontact = the shop\ncolours = eu\n");
}

static void test_settings_say_what_is_wrong(void **state)
{
    (void)state;
    static const struct {
        const char *text, *word;
        uint64_t line;
    } rows[] = {
        {"degrees = F\nhello\n", "key = value", 2},
        {"degrees = warm\n", "warm", 1},
        {"\n\ninstrument = A; due 2027-13-01\n", "2027-13-01", 3},
        {"instrument = A; due 2027-02-29\n", "2027-02-29", 1},
        {"instrument = A; U five\n", "five", 1},
        {"instrument = A; U -1C\n", "-1C", 1},
        {"instrument = A; colour red\n", "colour red", 1},
        {"instrument = ; U 1C\n", "name", 1},
        {"contact = a\x01"
         "b\n",
         "control", 1},
    };
    use_folder_as_home();
    store_make_folder(in_folder("ovenproof"), NULL);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        write_text(in_folder("ovenproof/settings"), rows[i].text);
        store_settings settings;
        ovp_error error = {0};
        assert_int_equal(store_settings_load(&settings, &error), OVP_ERROR_DATA);
        if (strstr(error.what, rows[i].word) == NULL)
            fail_msg("%s: says %s", rows[i].text, error.what);
        assert_int_equal(error.line, rows[i].line);
        assert_non_null(strstr(error.file, "settings"));
        assert_int_equal(settings.degrees, i == 0 ? OVP_TEXT_DEGREES_F : OVP_TEXT_DEGREES_NONE);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_replace),
        cmocka_unit_test(test_abandon_leaves_the_old),
        cmocka_unit_test(test_a_link_stays_a_link),
        cmocka_unit_test(test_failures_are_said),
        cmocka_unit_test(test_a_device_is_written_directly),
        cmocka_unit_test(test_a_failed_write_keeps_the_old),
        cmocka_unit_test(test_settings_path),
        cmocka_unit_test(test_settings_round_trip),
        cmocka_unit_test(test_settings_keep_what_they_do_not_know),
        cmocka_unit_test(test_settings_say_what_is_wrong),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
