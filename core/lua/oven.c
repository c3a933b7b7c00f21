#include "lua/lua_internal.h"

typedef struct oven_reading {
    ovp_oven *oven;
    void (*warn)(void *context, const char *text);
    void *context;
} oven_reading;

static ovp_status take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                            ovp_error *error)
{
    oven_reading *reading = context;
    ovp_error warning = {0};
    ovp_status status = ovp_oven_set(reading->oven, path, kind, text, &warning, error);
    if (status == OVP_OK && warning.what[0] != '\0' && reading->warn != NULL)
        reading->warn(reading->context, warning.what);
    return status;
}

ovp_status lua_read_oven(const char *name, ovp_oven *oven, void (*warn)(void *context, const char *text),
                         void *context, ovp_error *error)
{
    char path[OVP_ERROR_FILE_SIZE];
    ovp_status status = lua_find("ovens", name, path, sizeof path, error);
    if (status != OVP_OK)
        return status;
    ovp_oven read;
    ovp_oven_init(&read);
    oven_reading reading = {&read, warn, context};
    status = lua_read_data(path, take_leaf, &reading, error);
    if (status == OVP_OK) {
        status = ovp_oven_check(&read, error);
        if (status != OVP_OK)
            ovp_error_place(error, path, 0);
    }
    if (status == OVP_OK)
        *oven = read;
    return status;
}
