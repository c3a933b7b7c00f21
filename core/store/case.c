/* Cases: where they lie, who holds one, and how they are listed. Their text is case_text.c. */
#include "store/store.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum {
    CASE_BYTES = 4 << 20,
    CASE_PATH_SIZE = STORE_PATH_SIZE + 256, /* the folder with any name in it */
    CASE_LIST = 4096,
    DAMAGED_TRIES = 1000,
};

static const char ending[] = ".case", damaged[] = ".damaged-";

/* ---- small things -------------------------------------------------------------------------------------- */

void store_now(char when[STORE_WHEN_SIZE])
{
    time_t now = time(NULL);
    struct tm parts;
    when[0] = '\0';
    if (gmtime_r(&now, &parts) != NULL)
        (void)strftime(when, STORE_WHEN_SIZE, "%Y-%m-%dT%H:%M:%SZ", &parts);
}

void store_digest_words(uint64_t value, char digest[STORE_CASE_DIGEST])
{
    (void)snprintf(digest, STORE_CASE_DIGEST, "%016llx", (unsigned long long)value);
}

void store_digest_file(const char *path, char digest[STORE_CASE_DIGEST])
{
    char bytes[16384];
    uint64_t value = OVP_DIGEST_BEGIN;
    FILE *file = fopen(path, "rb");
    digest[0] = '\0';
    if (file == NULL)
        return;
    for (size_t count; (count = fread(bytes, 1, sizeof bytes, file)) > 0;)
        value = ovp_digest(value, (ovp_span){bytes, count});
    if (ferror(file) == 0)
        store_digest_words(value, digest);
    (void)fclose(file);
}

static ovp_status failed(ovp_error *error, const char *path, const char *what, int number)
{
    ovp_status status = ovp_error_set(error, OVP_ERROR_SYSTEM, "%s: %s", what, strerror(number));
    ovp_error_place(error, path, 0);
    ovp_error_hint(error, "check that the folder is there and that you may write to it");
    return status;
}

void store_case_release(store_case *one)
{
    if (one->lock > 0)
        (void)close(one->lock);
    one->lock = -1;
}

/* ---- reading ------------------------------------------------------------------------------------------- */

/* The whole file into memory of its own; *bytes is NULL when there is none. */
static ovp_status read_whole(const char *path, char **bytes, size_t *count, ovp_error *error)
{
    *bytes = NULL;
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return errno == ENOENT ? OVP_OK : failed(error, path, "cannot read", errno);
    char *text = malloc(CASE_BYTES + 1);
    *count = text == NULL ? 0 : fread(text, 1, CASE_BYTES + 1, file);
    const bool bad = text == NULL || ferror(file) != 0;
    (void)fclose(file);
    if (bad || *count > CASE_BYTES) {
        free(text);
        return bad ? failed(error, path, "cannot read", EIO)
                   : ovp_error_set(error, OVP_ERROR_DATA, "this case is damaged: larger than cases are");
    }
    *bytes = text;
    return OVP_OK;
}

static ovp_status read_case(store_case *one, const char *path, ovp_error *error)
{
    char *bytes = NULL, name[STORE_CASE_WORD];
    size_t count = 0;
    const int lock = one->lock;
    (void)ovp_copy_string(name, sizeof name, ovp_span_of(one->name));
    ovp_status status = read_whole(path, &bytes, &count, error);
    const bool is_new = status == OVP_OK && bytes == NULL;
    if (bytes != NULL)
        status = store_case_parse(one, (ovp_span){bytes, count}, error);
    free(bytes);
    one->is_new = is_new;
    one->lock = lock;
    (void)ovp_copy_string(one->name, sizeof one->name, ovp_span_of(name)); /* the file's name counts */
    (void)ovp_copy_string(one->path, sizeof one->path, ovp_span_of(path));
    ovp_error_place(error, status == OVP_OK ? NULL : path, 0);
    return status;
}

/* Under the first free name beside it, so that what can be read in it is never lost. */
static void keep_aside(const char *path, ovp_error *error)
{
    char aside[CASE_PATH_SIZE + 32];
    for (int i = 1; i < DAMAGED_TRIES; i++) {
        (void)snprintf(aside, sizeof aside, "%s%s%d", path, damaged, i);
        if (access(aside, F_OK) == 0)
            continue;
        if (rename(path, aside) == 0) {
            const char *slash = strrchr(aside, '/');
            ovp_error_hint(error, "it is kept beside it as %s; the same command again begins anew",
                           slash != NULL ? slash + 1 : aside);
        }
        break;
    }
    ovp_error_hint(error, "move it elsewhere, and the same command begins anew");
}

ovp_status store_case_open(store_case *one, const char *name, ovp_error *error)
{
    char folder[STORE_PATH_SIZE], path[CASE_PATH_SIZE];
    memset(one, 0, sizeof *one);
    one->lock = -1;
    ovp_status status = store_check_name("case", name, error);
    if (status == OVP_OK)
        status = store_data_folder("cases", folder, error);
    if (status == OVP_OK)
        status = store_make_folder(folder, error);
    if (status != OVP_OK)
        return status;
    (void)ovp_copy_string(one->name, sizeof one->name, ovp_span_of(name));
    (void)snprintf(path, sizeof path, "%s/%s%s", folder, name, ending);
    status = store_lock("case", folder, name, &one->lock, error);
    if (status == OVP_OK)
        status = read_case(one, path, error);
    if (status == OVP_ERROR_DATA)
        keep_aside(path, error);
    if (status != OVP_OK)
        store_case_release(one);
    return status;
}

ovp_status store_case_save(store_case *one, ovp_error *error)
{
    store_file *file = malloc(sizeof *file);
    if (file == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    store_now(one->touched);
    if (one->began[0] == '\0')
        (void)ovp_copy_string(one->began, sizeof one->began, ovp_span_of(one->touched));
    ovp_status status = store_file_begin(file, one->path, error);
    if (status == OVP_OK) {
        (void)store_case_write(one, store_file_sink(file));
        status = store_file_commit(file, error);
    }
    free(file);
    return status;
}

ovp_status store_case_set_aside(store_case *one, size_t answer, const char *reason, ovp_error *error)
{
    if (one->aside_count == STORE_CASE_ASIDE)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "more than %d answers were taken back",
                             STORE_CASE_ASIDE);
    store_case_entry *to = &one->aside[one->aside_count++];
    *to = one->answers[answer];
    (void)ovp_copy_string(to->text, sizeof to->text, ovp_span_of(reason));
    one->answer_count--;
    memmove(&one->answers[answer], &one->answers[answer + 1],
            (one->answer_count - answer) * sizeof one->answers[0]);
    return OVP_OK;
}

/* ---- all of them --------------------------------------------------------------------------------------- */

typedef struct listed {
    char *path;
    char touched[STORE_WHEN_SIZE];
    bool aside;
} listed;

static int compare_listed(const void *left, const void *right)
{
    const listed *a = left, *b = right;
    const int later = strcmp(b->touched, a->touched);
    return later != 0 ? later : strcmp(a->path, b->path);
}

static bool is_case_name(const char *name, bool *aside)
{
    const char *end = strstr(name, ending);
    if (name[0] == '.' || end == NULL)
        return false;
    const char *rest = end + strlen(ending);
    *aside = strncmp(rest, damaged, strlen(damaged)) == 0;
    return *rest == '\0' || *aside;
}

static void name_case(store_case *one, const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash != NULL ? slash + 1 : path;
    const size_t length = strlen(name) - strlen(ending);
    memset(one, 0, sizeof *one);
    one->lock = -1;
    (void)ovp_copy_string(one->name, sizeof one->name, (ovp_span){name, length});
}

static size_t gather(const char *folder, listed all[], store_case *one)
{
    size_t count = 0;
    DIR *files = opendir(folder);
    for (const struct dirent *entry = files != NULL ? readdir(files) : NULL;
         entry != NULL && count < CASE_LIST; entry = readdir(files)) {
        char path[CASE_PATH_SIZE];
        listed item = {0};
        if (!is_case_name(entry->d_name, &item.aside))
            continue;
        (void)snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (!item.aside) {
            name_case(one, path);
            if (read_case(one, path, NULL) == OVP_OK)
                (void)ovp_copy_string(item.touched, sizeof item.touched, ovp_span_of(one->touched));
        }
        item.path = strdup(path);
        if (item.path != NULL)
            all[count++] = item;
    }
    if (files != NULL)
        (void)closedir(files);
    return count;
}

static void show(const listed *item, store_case *one,
                 void (*found)(void *context, const store_case *one, const ovp_error *wrong), void *context)
{
    ovp_error error = {0};
    if (item->aside) {
        (void)ovp_error_set(&error, OVP_ERROR_DATA, "damaged, kept aside");
        ovp_error_place(&error, item->path, 0);
        found(context, NULL, &error);
        return;
    }
    name_case(one, item->path);
    if (read_case(one, item->path, &error) == OVP_OK)
        found(context, one, NULL);
    else
        found(context, NULL, &error);
}

ovp_status store_case_each(void (*found)(void *context, const store_case *one, const ovp_error *wrong),
                           void *context, ovp_error *error)
{
    char folder[STORE_PATH_SIZE];
    ovp_status status = store_data_folder("cases", folder, error);
    if (status != OVP_OK)
        return status;
    listed *all = calloc(CASE_LIST, sizeof *all);
    store_case *one = malloc(sizeof *one);
    if (all != NULL && one != NULL) {
        const size_t count = gather(folder, all, one);
        qsort(all, count, sizeof all[0], compare_listed);
        for (size_t i = 0; i < count; i++) {
            show(&all[i], one, found, context);
            free(all[i].path);
        }
    } else {
        status = ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    }
    free(one);
    free(all);
    return status;
}
