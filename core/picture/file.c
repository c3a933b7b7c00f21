/* file.c: a picture as a file; the module that paints PDF and PNG. */
#include "ovenproof/ovenproof.h"
#include "picture/picture_internal.h"
#include "store/store.h"

#include <dlfcn.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#ifndef OVP_PICTURE_MODULE_FOLDER
#define OVP_PICTURE_MODULE_FOLDER "../lib/ovenproof" /* from the folder of the command */
#endif

static const char module_name[] = "ovenproof-picture.so";

/* ---- the module ---------------------------------------------------------------------------------------- */

/* The folder of the running command, then where it is installed. */
static void *open_module(char *why, size_t size)
{
    static const char *const places[] = {"", OVP_PICTURE_MODULE_FOLDER "/"};
    char folder[PATH_MAX], path[PATH_MAX + 128];
    const ssize_t length = readlink("/proc/self/exe", folder, sizeof folder - 1);
    why[0] = '\0';
    if (length <= 0) {
        return NULL;
    }
    folder[length] = '\0';
    *(strrchr(folder, '/') + 1) = '\0';
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        snprintf(path, sizeof path, "%s%s%s", folder, places[i], module_name);
        if (access(path, R_OK) != 0) {
            continue;
        }
        void *handle = dlopen(path, RTLD_NOW | RTLD_LOCAL);
        if (handle != NULL) {
            return handle;
        }
        snprintf(why, size, "%.150s", dlerror());
    }
    return NULL;
}

static const picture_module *module_of(void *handle)
{
    const picture_module *module = handle != NULL ? dlsym(handle, PICTURE_MODULE_SYMBOL) : NULL;
    if (module != NULL &&
        (module->version != PICTURE_MODULE_VERSION || module->scene_size != sizeof(picture_scene))) {
        return NULL;
    }
    return module;
}

/* Opened once and never closed. */
static const picture_module *find_module(ovp_error *error)
{
    static const picture_module *module;
    char why[160];
    if (module != NULL) {
        return module;
    }
    void *handle = open_module(why, sizeof why);
    module = module_of(handle);
    if (module == NULL) {
        if (why[0] != '\0') {
            ovp_error_set(error, OVP_ERROR_SYSTEM, "no PDF or PNG here: %s", why);
        } else if (handle != NULL) {
            ovp_error_set(error, OVP_ERROR_SYSTEM, "no PDF or PNG here: %s is of another version",
                          module_name);
        } else {
            ovp_error_set(error, OVP_ERROR_SYSTEM,
                          "no PDF or PNG here: this copy was built without pictures");
        }
        ovp_error_hint(error, "a picture that ends in .svg works without; for the others: apt-get install %s",
                       why[0] != '\0' ? "libpangocairo-1.0-0"
                                      : "libcairo2-dev libpango1.0-dev, then build again");
    }
    return module;
}

/* ---- files --------------------------------------------------------------------------------------------- */

static bool kind_of(const char *path, picture_kind *kind)
{
    static const char *const endings[] = {".svg", ".pdf", ".png"};
    const size_t length = strlen(path);
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
        if (length > 4 && strcasecmp(path + length - 4, endings[i]) == 0) {
            *kind = (picture_kind)i;
            return true;
        }
    }
    return false;
}

ovp_status picture_check(const char *path, picture_kind *kind, ovp_error *error)
{
    picture_kind found;
    if (!kind_of(path, &found)) {
        ovp_error_set(error, OVP_ERROR_USAGE, "\"%.100s\" is no name for a picture", path);
        ovp_error_hint(error, "a file that ends in .svg, .pdf or .png; --plot draws in the terminal");
        return OVP_ERROR_USAGE;
    }
    if (found != PICTURE_SVG && find_module(error) == NULL) {
        return OVP_ERROR_SYSTEM;
    }
    *kind = found;
    return OVP_OK;
}

static bool take_bytes(void *context, const unsigned char *bytes, size_t count)
{
    const ovp_sink *sink = context;
    return sink->write(sink->context, (const char *)bytes, count) == OVP_OK;
}

/* A failed write is kept by the file and told by its commit. */
static ovp_status paint(picture_kind kind, const picture_scene *scene, ovp_sink sink, ovp_error *error)
{
    char message[PICTURE_MODULE_MESSAGE] = "";
    if (kind == PICTURE_SVG) {
        (void)picture_write_svg(sink, scene);
        return OVP_OK;
    }
    const picture_module *module = find_module(error);
    if (module == NULL) {
        return OVP_ERROR_SYSTEM;
    }
    if (!module->paint(scene, kind == PICTURE_PDF ? PICTURE_MODULE_PDF : PICTURE_MODULE_PNG, take_bytes,
                       &sink, message) &&
        message[0] != '\0') {
        ovp_error_set(error, OVP_ERROR_SYSTEM, "the picture cannot be painted: %s", message);
        ovp_error_hint(error, "a picture that ends in .svg needs nothing of the system");
        return OVP_ERROR_SYSTEM;
    }
    return OVP_OK;
}

static ovp_status write_scene(const char *path, picture_kind kind, const picture_scene *scene,
                              ovp_error *error)
{
    store_file *file = malloc(sizeof *file);
    if (file == NULL) {
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    }
    ovp_status status = store_file_begin(file, path, error);
    if (status == OVP_OK) {
        status = paint(kind, scene, store_file_sink(file), error);
        if (status == OVP_OK) {
            status = store_file_commit(file, error);
        }
        store_file_abandon(file);
    }
    free(file);
    return status;
}

ovp_status picture_write(const char *path, const picture_trace *trace, ovp_error *error)
{
    picture_canvas canvas = {0};
    picture_kind kind;
    ovp_status status = picture_check(path, &kind, error);
    if (status == OVP_OK) {
        status = picture_draw(trace, &canvas, error);
    }
    if (status == OVP_OK) {
        status = write_scene(path, kind, &canvas.scene, error);
    }
    picture_canvas_free(&canvas);
    return status;
}
