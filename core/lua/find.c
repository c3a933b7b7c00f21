/*
 * Where scripts and data files are found: as given, in ./, in the folders of OVENPROOF_PATH, in the user's
 * data folder, in the installed copy and, for a binary in a build folder, in its source tree.
 */
/* NOLINTNEXTLINE(bugprone-reserved-identifier): the standard's own name */
#define _XOPEN_SOURCE 700 /* realpath */
#include "lua/lua_internal.h"

#include <dirent.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    FIND_PATH_SIZE = 4096,
    FIND_FOLDERS = 32,
    FIND_NAMES = 1024,
};

/* Folders to look in for a kind, nearest first. */
typedef struct folders {
    size_t count;
    char path[FIND_FOLDERS][FIND_PATH_SIZE];
} folders;

static void add_folder(folders *list, const char *format, const char *root, const char *kind)
{
    if (list->count == FIND_FOLDERS)
        return;
    int wanted = snprintf(list->path[list->count], FIND_PATH_SIZE, format, root, kind);
    if (wanted > 0 && wanted < FIND_PATH_SIZE)
        list->count++;
}

/* The folder of the running binary; false when the system does not say. */
static bool own_folder(char folder[FIND_PATH_SIZE])
{
    ssize_t length = readlink("/proc/self/exe", folder, FIND_PATH_SIZE - 1);
    if (length <= 0)
        return false;
    folder[length] = '\0';
    char *slash = strrchr(folder, '/');
    if (slash == NULL)
        return false;
    *slash = '\0';
    return true;
}

/* The source tree that the build wrote beside its binary, or one folder above (a test's own folder). */
static bool source_tree(const char *folder, char tree[FIND_PATH_SIZE])
{
    static const char *const places[] = {"%s/ovenproof-tree", "%s/../ovenproof-tree"};
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        char path[FIND_PATH_SIZE + 32];
        snprintf(path, sizeof path, places[i], folder);
        FILE *stream = fopen(path, "r");
        if (stream == NULL)
            continue;
        bool read = fgets(tree, FIND_PATH_SIZE, stream) != NULL;
        fclose(stream);
        if (!read)
            continue;
        tree[strcspn(tree, "\r\n")] = '\0';
        return tree[0] != '\0';
    }
    return false;
}

static void add_path_variable(folders *list, const char *kind)
{
    const char *at = getenv("OVENPROOF_PATH");
    while (at != NULL && *at != '\0') {
        size_t length = strcspn(at, ":");
        char root[FIND_PATH_SIZE];
        if (length > 0 && ovp_copy_string(root, sizeof root, (ovp_span){at, length})) {
            add_folder(list, "%s/%s", root, kind);
            add_folder(list, "%s", root, kind);
        }
        at += length + (at[length] == ':');
    }
}

bool lua_user_folder(char *folder, size_t size)
{
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    int wanted = -1;
    if (data != NULL && data[0] == '/')
        wanted = snprintf(folder, size, "%s/ovenproof", data);
    else if (home != NULL && home[0] == '/')
        wanted = snprintf(folder, size, "%s/.local/share/ovenproof", home);
    return wanted > 0 && (size_t)wanted < size;
}

static void add_user_folder(folders *list, const char *kind)
{
    char folder[FIND_PATH_SIZE];
    if (lua_user_folder(folder, sizeof folder))
        add_folder(list, "%s/%s", folder, kind);
}

/* Those that come with the tool. */
static void add_shipped(folders *list, const char *kind)
{
    char folder[FIND_PATH_SIZE], tree[FIND_PATH_SIZE];
    if (!own_folder(folder))
        return;
    if (source_tree(folder, tree))
        add_folder(list, "%s/scripts/%s", tree, kind);
    add_folder(list, "%s/../share/ovenproof/%s", folder, kind);
}

static folders *folders_of(const char *kind)
{
    folders *list = calloc(1, sizeof *list);
    if (list == NULL)
        return NULL;
    add_folder(list, "%s", ".", kind);
    add_folder(list, "%s/%s", ".", kind);
    add_path_variable(list, kind);
    add_user_folder(list, kind);
    add_shipped(list, kind);
    return list;
}

static bool is_file(const char *path)
{
    struct stat facts;
    return stat(path, &facts) == 0 && !S_ISDIR(facts.st_mode);
}

/* ---- the names that exist ------------------------------------------------------------------------- */

typedef struct found_name {
    char *name, *path;
} found_name;

typedef struct names {
    size_t count;
    found_name list[FIND_NAMES];
} names;

static bool is_listed(const names *all, const char *name, size_t length)
{
    for (size_t i = 0; i < all->count; i++)
        if (strlen(all->list[i].name) == length && memcmp(all->list[i].name, name, length) == 0)
            return true;
    return false;
}

static void add_name(names *all, const char *folder, const char *file)
{
    size_t length = strlen(file);
    if (length < 5 || strcmp(file + length - 4, ".lua") != 0 || file[0] == '.' || all->count == FIND_NAMES)
        return;
    char path[FIND_PATH_SIZE + 300];
    snprintf(path, sizeof path, "%s/%s", folder, file);
    if (is_listed(all, file, length - 4) || !is_file(path))
        return;
    found_name *slot = &all->list[all->count];
    slot->name = strndup(file, length - 4);
    slot->path = strdup(path);
    if (slot->name != NULL && slot->path != NULL)
        all->count++;
}

static int compare_names(const void *left, const void *right)
{
    return strcmp(((const found_name *)left)->name, ((const found_name *)right)->name);
}

/* ./ may hold any Lua file, so only folders that are named for the kind are listed. */
static void list_folder(names *all, const char *folder, const char *kind)
{
    size_t length = strlen(folder), wanted = strlen(kind);
    if (length < wanted || strcmp(folder + length - wanted, kind) != 0)
        return;
    DIR *open_folder = opendir(folder);
    if (open_folder == NULL)
        return;
    for (struct dirent *entry = readdir(open_folder); entry != NULL; entry = readdir(open_folder))
        add_name(all, folder, entry->d_name);
    closedir(open_folder);
}

void lua_list(const char *kind, void (*found)(void *context, const char *name, const char *path),
              void *context)
{
    folders *list = folders_of(kind);
    names *all = calloc(1, sizeof *all);
    if (list != NULL && all != NULL) {
        for (size_t i = 0; i < list->count; i++)
            list_folder(all, list->path[i], kind);
        qsort(all->list, all->count, sizeof all->list[0], compare_names);
        for (size_t i = 0; i < all->count; i++)
            found(context, all->list[i].name, all->list[i].path);
        for (size_t i = 0; i < all->count; i++) {
            free(all->list[i].name);
            free(all->list[i].path);
        }
    }
    free(all);
    free(list);
}

/* ---- one name ------------------------------------------------------------------------------------- */

static void collect_name(void *context, const char *name, const char *path)
{
    (void)path;
    char *list = context; /* OVP_ERROR_TEXT_SIZE bytes */
    size_t used = strlen(list);
    if (used + strlen(name) + 8 < OVP_ERROR_TEXT_SIZE)
        snprintf(list + used, OVP_ERROR_TEXT_SIZE - used, "%s%s", used > 0 ? ", " : "", name);
}

static ovp_status not_found(const char *kind, const char *name, ovp_error *error)
{
    char list[OVP_ERROR_TEXT_SIZE] = "";
    lua_list(kind, collect_name, list);
    ovp_error_set(error, OVP_ERROR_DATA, "no such file, and no name on the search path (%s)", kind);
    ovp_error_place(error, name, 0);
    if (list[0] != '\0')
        ovp_error_hint(error, "the %s that exist: %s", kind, list);
    else
        ovp_error_hint(error, "give the path of a file, or set OVENPROOF_PATH");
    return OVP_ERROR_DATA;
}

static bool find_in(const folders *list, const char *name, char *path, size_t size)
{
    static const char *const forms[] = {"%s/%s.lua", "%s/%s"};
    for (size_t i = 0; list != NULL && i < list->count; i++) {
        for (size_t j = 0; j < sizeof forms / sizeof forms[0]; j++) {
            int wanted = snprintf(path, size, forms[j], list->path[i], name);
            if (wanted > 0 && (size_t)wanted < size && is_file(path))
                return true;
        }
    }
    return false;
}

ovp_status lua_find(const char *kind, const char *name, char *path, size_t size, ovp_error *error)
{
    if (name[0] == '\0')
        return ovp_error_set(error, OVP_ERROR_DATA, "an empty name where one of the %s is wanted", kind);
    if (is_file(name) && ovp_copy_string(path, size, ovp_span_of(name)))
        return OVP_OK;
    folders *list = folders_of(kind);
    bool found = strchr(name, '/') == NULL && find_in(list, name, path, size);
    free(list);
    if (found)
        return OVP_OK;
    path[0] = '\0';
    return not_found(kind, name, error);
}

/* ---- whose a script is -------------------------------------------------------------------------------- */

/* True when the file, its links followed, stands below the folder, its links followed. */
static bool stands_below(const char *file, const char *folder)
{
    char *real = realpath(folder, NULL);
    if (real == NULL)
        return false;
    size_t length = strlen(real);
    bool below = length > 1 && strncmp(file, real, length) == 0 && file[length] == '/';
    free(real);
    return below;
}

static bool came_with_program(const char *file)
{
    static const char *const built[] = {"%s/scripts", "%s/docs"};
    static const char *const installed[] = {"%s/../share/ovenproof", "%s/../share/doc/ovenproof"};
    char folder[FIND_PATH_SIZE], tree[FIND_PATH_SIZE], place[FIND_PATH_SIZE + 32];
    if (!own_folder(folder))
        return false;
    bool has_tree = source_tree(folder, tree);
    for (size_t i = 0; i < sizeof built / sizeof built[0]; i++) {
        snprintf(place, sizeof place, has_tree ? built[i] : installed[i], has_tree ? tree : folder);
        if (stands_below(file, place))
            return true;
    }
    return false;
}

lua_origin lua_origin_of(const char *path)
{
    struct stat facts;
    char folder[FIND_PATH_SIZE];
    char *file = realpath(path, NULL);
    lua_origin origin = LUA_ORIGIN_ELSEWHERE;
    if (file == NULL)
        return origin;
    bool everybody = stat(file, &facts) != 0 || (facts.st_mode & S_IWOTH) != 0;
    if (!everybody && came_with_program(file))
        origin = LUA_ORIGIN_PROGRAM;
    else if (!everybody && lua_user_folder(folder, sizeof folder) && stands_below(file, folder))
        origin = LUA_ORIGIN_USER;
    free(file);
    return origin;
}

const char *lua_origin_word(lua_origin origin)
{
    static const char *const words[] = {"program", "user", "elsewhere"};
    return words[origin];
}
