/* Where a person's own things lie, what they may be called, and who holds one. */
#include "store/store.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
    LOCK_TRIES = 20,
    LOCK_PATH_SIZE = STORE_PATH_SIZE + 256,
};

ovp_status store_data_folder(const char *kind, char folder[STORE_PATH_SIZE], ovp_error *error)
{
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    int length = -1;
    if (data != NULL && data[0] == '/') /* a relative one is to be passed over: XDG base directories */
        length = snprintf(folder, STORE_PATH_SIZE, "%s/ovenproof/%s", data, kind);
    else if (home != NULL && home[0] == '/')
        length = snprintf(folder, STORE_PATH_SIZE, "%s/.local/share/ovenproof/%s", home, kind);
    if (length >= 0 && length < STORE_PATH_SIZE - STORE_NAME_SIZE - 32)
        return OVP_OK;
    ovp_status status = ovp_error_set(error, OVP_ERROR_SYSTEM, "no place for the %s", kind);
    ovp_error_hint(error, "set HOME or XDG_DATA_HOME to a folder of yours");
    return status;
}

ovp_status store_check_name(const char *what, const char *name, ovp_error *error)
{
    static const char good[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_";
    const size_t length = strlen(name);
    if (length > 0 && length < STORE_NAME_SIZE && strspn(name, good) == length && name[0] != '-')
        return OVP_OK;
    ovp_status status =
        ovp_error_set(error, OVP_ERROR_USAGE, "\"%.64s\" cannot be the name of a %s", name, what);
    ovp_error_hint(error, "letters, digits, - and _ make a name (at most %d): mill-lane-2",
                   STORE_NAME_SIZE - 1);
    return status;
}

static ovp_status failed(ovp_error *error, const char *path, const char *what, int number)
{
    ovp_status status =
        ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot hold the %s: %s", what, strerror(number));
    ovp_error_place(error, path, 0);
    ovp_error_hint(error, "check that the folder is there and that you may write to it");
    return status;
}

static bool try_lock(int descriptor)
{
    struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    return fcntl(descriptor, F_SETLK, &whole) == 0;
}

/* A file of its own beside the thing, which stays: the thing itself is replaced at every save. */
ovp_status store_lock(const char *what, const char *folder, const char *name, int *lock, ovp_error *error)
{
    char path[LOCK_PATH_SIZE];
    (void)snprintf(path, sizeof path, "%s/.%s.lock", folder, name);
    *lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (*lock < 0)
        return failed(error, path, what, errno);
    for (int i = 0; i < LOCK_TRIES; i++) {
        const struct timespec tenth = {0, 100000000};
        if (try_lock(*lock))
            return OVP_OK;
        if (errno != EACCES && errno != EAGAIN)
            return failed(error, path, what, errno);
        (void)nanosleep(&tenth, NULL);
    }
    struct flock holder = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    const bool known = fcntl(*lock, F_GETLK, &holder) == 0 && holder.l_type != F_UNLCK && holder.l_pid > 0;
    ovp_status status =
        known ? ovp_error_set(error, OVP_ERROR_SYSTEM, "the %s %s is open elsewhere (process %ld)", what,
                              name, (long)holder.l_pid)
              : ovp_error_set(error, OVP_ERROR_SYSTEM, "the %s %s is open elsewhere", what, name);
    ovp_error_hint(error, "leave it there with `quit`, which keeps everything; then it opens here");
    return status;
}
