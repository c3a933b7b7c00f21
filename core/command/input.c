#include "command/input.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

const char *command_input_name(const char *path)
{
    return strcmp(path, "-") == 0 ? "standard input" : path;
}

static ovp_status feed_all(FILE *file, command_feed feed, void *reader, ovp_error *error)
{
    char buffer[16384];
    ovp_status status = OVP_OK;
    size_t count = 0;
    while (status == OVP_OK && (count = fread(buffer, 1, sizeof buffer, file)) > 0)
        status = feed(reader, buffer, count, error);
    if (status == OVP_OK && ferror(file))
        return ovp_error_set(error, errno == EISDIR ? OVP_ERROR_DATA : OVP_ERROR_SYSTEM, "cannot read it: %s",
                             strerror(errno));
    return status;
}

ovp_status command_feed_file(const char *path, command_feed feed, void *reader, const char *hint,
                             ovp_error *error)
{
    bool is_input = strcmp(path, "-") == 0;
    FILE *file = is_input ? stdin : fopen(path, "rb");
    ovp_status status = OVP_ERROR_DATA;
    if (file != NULL) {
        status = feed_all(file, feed, reader, error);
    } else {
        ovp_error_set(error, OVP_ERROR_DATA, "cannot open it: %s", strerror(errno));
        ovp_error_hint(error, "%s", hint);
    }
    if (file != NULL && !is_input)
        fclose(file);
    if (status != OVP_OK)
        ovp_error_place(error, command_input_name(path), 0);
    return status;
}
