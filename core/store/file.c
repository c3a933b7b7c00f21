#define _XOPEN_SOURCE 700 /* realpath; NOLINT(bugprone-reserved-identifier) */
#include "store/store.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static ovp_status say(ovp_error *error, const char *path, const char *what, int number)
{
    ovp_status status = ovp_error_set(error, OVP_ERROR_SYSTEM, "%s: %s", what, strerror(number));
    ovp_error_place(error, path, 0);
    if (number == ENOSPC || number == EDQUOT)
        ovp_error_hint(error, "make room on the disk and try again; the old file is as it was");
    else if (number == EACCES || number == EPERM || number == EROFS)
        ovp_error_hint(error, "choose a folder that you may write to");
    else if (number == ENOENT || number == ENOTDIR)
        ovp_error_hint(error, "make the folder first, or choose another");
    return status;
}

/* Follows links, so that a settings file kept elsewhere stays a link; a new file has no real path yet. */
static ovp_status resolve(store_file *file, const char *path, ovp_error *error)
{
    char real[PATH_MAX];
    const char *target = realpath(path, real) != NULL ? real : path;
    if (!ovp_copy_string(file->path, sizeof file->path, ovp_span_of(target)))
        return say(error, path, "cannot write", ENAMETOOLONG);
    return OVP_OK;
}

static mode_t mode_of_new_file(void)
{
    mode_t mask = umask(0);
    umask(mask);
    return 0666 & ~mask;
}

ovp_status store_file_begin(store_file *file, const char *path, ovp_error *error)
{
    struct stat old;
    file->descriptor = -1;
    file->failure = 0;
    file->held = 0;
    ovp_status status = resolve(file, path, error);
    if (status != OVP_OK)
        return status;
    bool exists = stat(file->path, &old) == 0;
    if (exists && S_ISDIR(old.st_mode))
        return say(error, path, "cannot write", EISDIR);
    file->direct = exists && !S_ISREG(old.st_mode);
    if (file->direct) {
        file->descriptor = open(file->path, O_WRONLY | O_CLOEXEC);
        return file->descriptor < 0 ? say(error, path, "cannot write", errno) : OVP_OK;
    }
    if (exists && access(file->path, W_OK) != 0)
        return say(error, path, "cannot write", errno);
    snprintf(file->temporary, sizeof file->temporary, "%s.XXXXXX", file->path);
    file->descriptor = mkstemp(file->temporary);
    if (file->descriptor < 0)
        return say(error, path, "cannot write", errno);
    if (fchmod(file->descriptor, exists ? old.st_mode & 0777 : mode_of_new_file()) != 0)
        file->failure = errno;
    return OVP_OK;
}

static void write_out(store_file *file)
{
    size_t at = 0;
    while (at < file->held && file->failure == 0) {
        ssize_t count = write(file->descriptor, file->buffer + at, file->held - at);
        if (count >= 0)
            at += (size_t)count;
        else if (errno != EINTR)
            file->failure = errno;
    }
    file->held = 0;
}

static ovp_status take_bytes(void *context, const char *bytes, size_t count)
{
    store_file *file = context;
    while (count > 0 && file->failure == 0) {
        size_t room = sizeof file->buffer - file->held;
        size_t part = count < room ? count : room;
        memcpy(file->buffer + file->held, bytes, part);
        file->held += part;
        bytes += part;
        count -= part;
        if (file->held == sizeof file->buffer)
            write_out(file);
    }
    return file->failure == 0 ? OVP_OK : OVP_ERROR_SYSTEM;
}

ovp_sink store_file_sink(store_file *file)
{
    return (ovp_sink){take_bytes, file};
}

void store_file_abandon(store_file *file)
{
    if (file->descriptor < 0)
        return;
    close(file->descriptor);
    file->descriptor = -1;
    if (!file->direct)
        unlink(file->temporary);
}

/* The new name is on the disk only when its folder is. */
static void flush_folder(const char *path)
{
    char copy[STORE_PATH_SIZE];
    ovp_copy_string(copy, sizeof copy, ovp_span_of(path));
    int folder = open(dirname(copy), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0)
        return;
    fsync(folder); /* not every file system can; then there is nothing better to do */
    close(folder);
}

ovp_status store_file_commit(store_file *file, ovp_error *error)
{
    write_out(file);
    if (file->failure == 0 && !file->direct && fsync(file->descriptor) != 0)
        file->failure = errno;
    if (file->failure != 0) {
        store_file_abandon(file);
        return say(error, file->path, "cannot write", file->failure);
    }
    int closed = close(file->descriptor);
    int failure = errno;
    file->descriptor = -1;
    if (closed == 0 && file->direct)
        return OVP_OK;
    if (closed != 0 || rename(file->temporary, file->path) != 0) {
        failure = closed != 0 ? failure : errno;
        unlink(file->temporary);
        return say(error, file->path, "cannot write", failure);
    }
    flush_folder(file->path);
    return OVP_OK;
}

ovp_status store_file_replace(const char *path, const char *bytes, size_t count, ovp_error *error)
{
    store_file *file = malloc(sizeof *file);
    if (file == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    ovp_status status = store_file_begin(file, path, error);
    if (status == OVP_OK) {
        take_bytes(file, bytes, count);
        status = store_file_commit(file, error);
    }
    free(file);
    return status;
}

ovp_status store_make_folder(const char *path, ovp_error *error)
{
    char part[STORE_PATH_SIZE];
    if (!ovp_copy_string(part, sizeof part, ovp_span_of(path)))
        return say(error, path, "cannot make the folder", ENAMETOOLONG);
    for (char *at = part + 1;; at++) {
        if (*at != '/' && *at != '\0')
            continue;
        char end = *at;
        *at = '\0';
        if (mkdir(part, 0777) != 0 && errno != EEXIST)
            return say(error, part, "cannot make the folder", errno);
        if (end == '\0')
            break;
        *at = end;
    }
    struct stat made;
    if (stat(path, &made) != 0 || !S_ISDIR(made.st_mode))
        return say(error, path, "cannot make the folder", ENOTDIR);
    return OVP_OK;
}
