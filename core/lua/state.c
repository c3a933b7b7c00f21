#include "lua/lua_internal.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

enum {
    LARGE_BLOCK = 65536,
};

double state_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

int sandbox_line(lua_State *L)
{
    lua_Debug activation;
    for (int level = 0; L != NULL && lua_getstack(L, level, &activation) != 0; level++)
        if (lua_getinfo(L, "l", &activation) != 0 && activation.currentline > 0)
            return activation.currentline;
    return 0;
}

static void *refuse(state_memory *memory)
{
    memory->refused = true;
    memory->line = sandbox_line(memory->L);
    return NULL;
}

/* Joining and copying large texts is the one long work that no hook sees: the clock is looked at here. */
static bool too_late(state_memory *memory, size_t size)
{
    if (size < LARGE_BLOCK || memory->deadline_s == 0.0)
        return false;
    if (!memory->late && state_now() < memory->deadline_s)
        return false;
    memory->late = true;
    return true;
}

static void *allocate(void *context, void *block, size_t old_size, size_t size)
{
    state_memory *memory = context;
    size_t held = block == NULL ? 0 : old_size; /* without a block, old_size is a kind of object */
    if (size == 0) {
        free(block);
        memory->used -= held;
        return NULL;
    }
    if (size > held && (size - held > memory->most - memory->used || too_late(memory, size)))
        return refuse(memory);
    void *moved = realloc(block, size);
    if (moved == NULL)
        return size > held ? refuse(memory) : block; /* Lua counts on a block that shrinks */
    memory->used = memory->used - held + size;
    return moved;
}

lua_State *state_new(state_memory *memory)
{
    memory->used = 0;
    memory->refused = false;
    memory->late = false;
    memory->L = NULL;
    memory->line = 0;
    return lua_newstate(allocate, memory);
}

static ovp_status cannot_read(const char *path, int number, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot be read: %s", strerror(number));
    ovp_error_place(error, path, 0);
    ovp_error_hint(error, "check that it is a file that you may read");
    return OVP_ERROR_SYSTEM;
}

static ovp_status read_stream(FILE *stream, const char *path, size_t most, char **bytes, size_t *count,
                              ovp_error *error)
{
    size_t room = 16384, used = 0;
    char *buffer = malloc(room);
    while (buffer != NULL) {
        used += fread(buffer + used, 1, room - used, stream);
        if (used < room || used > most)
            break;
        room *= 2;
        char *grown = realloc(buffer, room);
        if (grown == NULL)
            free(buffer);
        buffer = grown;
    }
    if (buffer == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    if (ferror(stream)) {
        int number = errno;
        free(buffer);
        return cannot_read(path, number, error);
    }
    if (used > most) {
        free(buffer);
        ovp_error_set(error, OVP_ERROR_DATA, "longer than %zu KiB", most / 1024);
        ovp_error_place(error, path, 0);
        return OVP_ERROR_DATA;
    }
    *bytes = buffer;
    *count = used;
    return OVP_OK;
}

ovp_status state_read_file(const char *path, size_t most, char **bytes, size_t *count, ovp_error *error)
{
    struct stat facts;
    FILE *stream = fopen(path, "rb");
    if (stream == NULL)
        return cannot_read(path, errno, error);
    ovp_status status;
    if (fstat(fileno(stream), &facts) == 0 && S_ISDIR(facts.st_mode))
        status = cannot_read(path, EISDIR, error);
    else
        status = read_stream(stream, path, most, bytes, count, error);
    fclose(stream);
    return status;
}

/* Where ":LINE: " ends, when `text` starts with it. */
static const char *after_line(const char *text, uint64_t *line)
{
    if (*text != ':')
        return NULL;
    char *end;
    unsigned long long number = strtoull(text + 1, &end, 10);
    if (end == text + 1 || *end != ':')
        return NULL;
    *line = number;
    return end[1] == ' ' ? end + 2 : end + 1;
}

ovp_status state_error(const char *message, const char *name, ovp_error *error)
{
    uint64_t line = 0;
    const char *what = message == NULL ? "failed without a message" : message;
    for (const char *at = strchr(what, ':'); at != NULL; at = strchr(at + 1, ':')) {
        const char *rest = after_line(at, &line);
        if (rest == NULL)
            continue;
        what = rest;
        break;
    }
    /* a coroutine puts its own place before that of what failed in it */
    for (uint64_t inner = 0; strncmp(what, "script:", 7) == 0;) {
        const char *rest = after_line(what + 6, &inner);
        if (rest == NULL)
            break;
        what = rest;
    }
    ovp_error_set(error, OVP_ERROR_DATA, "%.*s", (int)strcspn(what, "\r\n"), what);
    ovp_error_place(error, name, line);
    return OVP_ERROR_DATA;
}
