/* recording.c: a file that grows by a person's or an instrument's lines, and loses none that was kept. */
#include "store/store.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

static ovp_status failed(ovp_error *error, const char *path, const char *what, int number)
{
    ovp_status status = ovp_error_set(error, OVP_ERROR_SYSTEM, "%s: %s", what, strerror(number));
    ovp_error_place(error, path, 0);
    if (number == ENOSPC || number == EDQUOT)
        ovp_error_hint(error, "make room on the disk; what was kept before is there");
    else
        ovp_error_hint(error, "is the folder there, and may you write to it?");
    return status;
}

/* The lock goes with the descriptor, also when it is a copy. */
static ovp_status hold(store_recording *recording, ovp_error *error)
{
    if (flock(recording->descriptor, LOCK_EX | LOCK_NB) == 0)
        return OVP_OK;
    if (errno != EWOULDBLOCK)
        return OVP_OK; /* a file system without locks: nothing better to do */
    (void)ovp_error_set(error, OVP_ERROR_SYSTEM, "another window is recording into it");
    ovp_error_place(error, recording->path, 0);
    ovp_error_hint(error, "type there, or name another file");
    store_recording_close(recording);
    return OVP_ERROR_SYSTEM;
}

ovp_status store_recording_open(store_recording *recording, const char *path, bool is_new, ovp_error *error)
{
    recording->descriptor = -1;
    if (!ovp_copy_string(recording->path, sizeof recording->path, ovp_span_of(path)))
        return failed(error, path, "cannot record", ENAMETOOLONG);
    const int created = is_new ? O_CREAT | O_EXCL : 0;
    recording->descriptor = open(path, O_RDWR | O_APPEND | O_CLOEXEC | created, 0666);
    if (recording->descriptor < 0)
        return failed(error, path, "cannot record", errno);
    return hold(recording, error);
}

static ovp_status write_all(int descriptor, const char *bytes, size_t count)
{
    while (count > 0) {
        const ssize_t part = write(descriptor, bytes, count);
        if (part < 0 && errno != EINTR)
            return OVP_ERROR_SYSTEM;
        if (part > 0) {
            bytes += part;
            count -= (size_t)part;
        }
    }
    return OVP_OK;
}

ovp_status store_recording_append(store_recording *recording, const char *bytes, size_t count,
                                  ovp_error *error)
{
    struct stat before;
    if (fstat(recording->descriptor, &before) != 0)
        return failed(error, recording->path, "cannot record", errno);
    if (write_all(recording->descriptor, bytes, count) == OVP_OK && fdatasync(recording->descriptor) == 0)
        return OVP_OK;
    const int number = errno;
    if (ftruncate(recording->descriptor, before.st_size) != 0)
        return failed(error, recording->path, "cannot record, and half a line may stand at the end", number);
    return failed(error, recording->path, "cannot record", number);
}

ovp_status store_recording_replace(store_recording *recording, const char *bytes, size_t count,
                                   ovp_error *error)
{
    store_file file;
    ovp_status status = store_file_begin(&file, recording->path, error);
    if (status != OVP_OK)
        return status;
    const ovp_sink sink = store_file_sink(&file);
    (void)sink.write(sink.context, bytes, count); /* a failure is kept and told by the commit */
    const int next = fcntl(file.descriptor, F_DUPFD_CLOEXEC, 3);
    (void)(next >= 0 && flock(next, LOCK_EX | LOCK_NB)); /* a new file: nobody else can hold it */
    if (next < 0 || fcntl(next, F_SETFL, O_APPEND) != 0) {
        const int number = errno;
        store_file_abandon(&file);
        if (next >= 0)
            (void)close(next);
        return failed(error, recording->path, "cannot record", number);
    }
    status = store_file_commit(&file, error);
    if (status != OVP_OK) {
        (void)close(next);
        return status;
    }
    (void)close(recording->descriptor);
    recording->descriptor = next;
    return OVP_OK;
}

void store_recording_close(store_recording *recording)
{
    if (recording->descriptor >= 0)
        (void)close(recording->descriptor);
    recording->descriptor = -1;
}
