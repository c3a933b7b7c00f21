/* checklist: a run as it is kept, every answer at once. The file is an object of JSON. */
#include "command/checklist.h"

#include <dirent.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char ending[] = ".run.json";

static void copy(const json_t *object, const char *key, char *to, size_t size)
{
    const char *text = json_string_value(json_object_get(object, key));
    (void)ovp_copy_string(to, size, ovp_span_of(text != NULL ? text : ""));
}

static ovp_status damaged(const char *path, ovp_error *error)
{
    ovp_status status = ovp_error_set(error, OVP_ERROR_DATA, "this run is damaged");
    ovp_error_place(error, path, 0);
    ovp_error_hint(error, "nothing was changed; move the file elsewhere, and the same command begins anew");
    return status;
}

static json_t *read_run(const char *path)
{
    json_t *root = json_load_file(path, 0, NULL);
    const char *document = json_string_value(json_object_get(root, "document"));
    if (document != NULL && strcmp(document, "checklist-run") == 0)
        return root;
    json_decref(root);
    return NULL;
}

/* What the run was begun with counts, unless the call says otherwise. */
static void take_head(checklist_session *session, const json_t *root)
{
    copy(root, "checklist", session->named, sizeof session->named);
    copy(root, "by", session->by, sizeof session->by);
    copy(root, "tools", session->tools, sizeof session->tools);
    session->tools_known = json_is_true(json_object_get(root, "tools_known"));
    session->technician = strcmp(json_string_value(json_object_get(root, "who")) != NULL
                                     ? json_string_value(json_object_get(root, "who"))
                                     : "",
                                 "technician") == 0;
    const char *repair = json_string_value(json_object_get(root, "repair"));
    session->repair = repair != NULL ? ovp_diagnosis_fault_named(repair) : NULL;
    const json_t *ovens = json_object_get(root, "ovens");
    for (size_t i = 0; i < json_array_size(ovens) && i < CHECKLIST_OVENS; i++) {
        const json_t *one = json_array_get(ovens, i);
        const json_t *first = json_object_get(one, "first_firing_s");
        copy(one, "oven", session->ovens[i].label, sizeof session->ovens[i].label);
        copy(one, "description", session->ovens[i].named, sizeof session->ovens[i].named);
        session->ovens[i].first_s = json_is_number(first) ? json_number_value(first) : NAN;
        session->ovens[i].first_V = NAN;
        session->oven_count = i + 1;
    }
}

ovp_status checklist_open_run(checklist_session *session, const char *name, ovp_error *error)
{
    char folder[STORE_PATH_SIZE];
    ovp_status status = store_check_name("run", name, error);
    if (status == OVP_OK)
        status = store_data_folder("runs", folder, error);
    if (status == OVP_OK)
        status = store_make_folder(folder, error);
    if (status == OVP_OK)
        status = store_lock("run", folder, name, &session->lock, error);
    if (status != OVP_OK)
        return status;
    (void)ovp_copy_string(session->run, sizeof session->run, ovp_span_of(name));
    (void)snprintf(session->run_path, sizeof session->run_path, "%s/%s%s", folder, name, ending);
    FILE *file = fopen(session->run_path, "rb");
    if (file == NULL)
        return OVP_OK;
    (void)fclose(file);
    json_t *root = read_run(session->run_path);
    if (root == NULL)
        return damaged(session->run_path, error);
    take_head(session, root);
    session->resumed = true;
    json_decref(root);
    return session->oven_count > 0 && session->named[0] != '\0' ? OVP_OK : damaged(session->run_path, error);
}

static bool find_place(const checklist_session *session, const json_t *one, checklist_entry *entry)
{
    const char *oven = json_string_value(json_object_get(one, "oven"));
    const char *step = json_string_value(json_object_get(one, "step"));
    if (oven == NULL || step == NULL)
        return false;
    for (entry->oven = 0; entry->oven < session->oven_count; entry->oven++)
        if (strcmp(session->ovens[entry->oven].label, oven) == 0)
            break;
    for (entry->step = 0; entry->step < session->list.step_count; entry->step++)
        if (strcmp(session->list.steps[entry->step].id, step) == 0)
            break;
    return entry->oven < session->oven_count && entry->step < session->list.step_count;
}

ovp_status checklist_replay(checklist_session *session, ovp_error *error)
{
    if (!session->resumed)
        return OVP_OK;
    json_t *root = read_run(session->run_path);
    const json_t *entries = json_object_get(root, "entries");
    ovp_status status = root != NULL ? OVP_OK : damaged(session->run_path, error);
    for (size_t i = 0; i < json_array_size(entries) && status == OVP_OK; i++) {
        const json_t *one = json_array_get(entries, i);
        checklist_entry entry = {0};
        if (!find_place(session, one, &entry)) {
            status = ovp_error_set(error, OVP_ERROR_DATA,
                                   "entry %zu is about a step that the checklist %s has no more", i + 1,
                                   session->list.name);
            ovp_error_hint(error, "the list was changed since: put it back, or begin a new run");
            break;
        }
        copy(one, "answer", entry.answer, sizeof entry.answer);
        copy(one, "note", entry.note, sizeof entry.note);
        copy(one, "photo", entry.photo, sizeof entry.photo);
        copy(one, "by", entry.by, sizeof entry.by);
        copy(one, "when", entry.when, sizeof entry.when);
        status = checklist_take(session, &entry, error);
    }
    json_decref(root);
    if (status != OVP_OK)
        ovp_error_place(error, session->run_path, 0);
    return status;
}

static bool is_finished(const checklist_session *session)
{
    for (size_t oven = 0; oven < session->oven_count; oven++)
        for (size_t step = 0; step < session->list.step_count; step++)
            if (session->ovens[oven].steps[step].result == CHECKLIST_OPEN &&
                (session->list.steps[step].of == LUA_CHECKLIST_OF_SAME ||
                 checklist_judge(session, oven) != CHECKLIST_STOPPED))
                return false;
    return true;
}

static void write_entries(const checklist_session *session, ovp_text_json *json)
{
    ovp_text_json_key(json, "entries");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < session->entry_count; i++) {
        const checklist_entry *entry = &session->entries[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "oven", session->ovens[entry->oven].label);
        ovp_text_json_key_string(json, "step", session->list.steps[entry->step].id);
        ovp_text_json_key_string(json, "answer", entry->answer);
        if (entry->note[0] != '\0')
            ovp_text_json_key_string(json, "note", entry->note);
        if (entry->photo[0] != '\0')
            ovp_text_json_key_string(json, "photo", entry->photo);
        ovp_text_json_key_string(json, "by", entry->by);
        ovp_text_json_key_string(json, "when", entry->when);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static ovp_status write_run(const checklist_session *session, ovp_sink sink)
{
    char now[STORE_WHEN_SIZE];
    ovp_text_json json;
    store_now(now);
    ovp_text_json_init(&json, sink);
    ovp_text_json_begin_document(&json, "checklist-run", 1);
    ovp_text_json_key_string(&json, "run", session->run);
    ovp_text_json_key_string(&json, "checklist", session->named);
    ovp_text_json_key_string(&json, "touched", now);
    ovp_text_json_key_boolean(&json, "finished", is_finished(session));
    ovp_text_json_key_string(&json, "by", session->by);
    ovp_text_json_key_string(&json, "who", session->technician ? "technician" : "owner");
    ovp_text_json_key_boolean(&json, "tools_known", session->tools_known);
    ovp_text_json_key_string(&json, "tools", session->tools);
    ovp_text_json_key_string(&json, "repair", session->repair != NULL ? session->repair->id : NULL);
    ovp_text_json_key(&json, "ovens");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < session->oven_count; i++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "oven", session->ovens[i].label);
        ovp_text_json_key_string(&json, "description", session->ovens[i].named);
        ovp_text_json_key_number(&json, "first_firing_s", session->ovens[i].first_s);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    write_entries(session, &json);
    return ovp_text_json_end_document(&json);
}

ovp_status checklist_save_run(const checklist_session *session, ovp_error *error)
{
    if (session->run[0] == '\0')
        return OVP_OK;
    store_file *file = malloc(sizeof *file);
    if (file == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    ovp_status status = store_file_begin(file, session->run_path, error);
    if (status == OVP_OK) {
        (void)write_run(session, store_file_sink(file));
        status = store_file_commit(file, error);
    }
    free(file);
    return status;
}

/* ---- unfinished runs
 * ------------------------------------------------------------------------------------------ */

typedef struct listed_run {
    char name[STORE_NAME_SIZE], checklist[STORE_CASE_TEXT], ovens[256], touched[STORE_WHEN_SIZE];
    size_t entries;
    bool readable;
} listed_run;

enum {
    LISTED_RUNS = 256,
};

static int later_first(const void *left, const void *right)
{
    return strcmp(((const listed_run *)right)->touched, ((const listed_run *)left)->touched);
}

/* False for a run that is finished. */
static bool look_at_run(const char *folder, const char *file, listed_run *run)
{
    char path[STORE_PATH_SIZE + 300];
    memset(run, 0, sizeof *run);
    (void)snprintf(path, sizeof path, "%s/%s", folder, file);
    (void)ovp_copy_string(run->name, sizeof run->name, (ovp_span){file, strlen(file) - strlen(ending)});
    json_t *root = read_run(path);
    bool finished = json_is_true(json_object_get(root, "finished"));
    run->readable = root != NULL;
    copy(root, "checklist", run->checklist, sizeof run->checklist);
    copy(root, "touched", run->touched, sizeof run->touched);
    run->entries = json_array_size(json_object_get(root, "entries"));
    const json_t *ovens = json_object_get(root, "ovens");
    for (size_t i = 0, used = 0; i < json_array_size(ovens) && used < sizeof run->ovens; i++) {
        const char *label = json_string_value(json_object_get(json_array_get(ovens, i), "oven"));
        used += (size_t)snprintf(run->ovens + used, sizeof run->ovens - used, "%s%s", i > 0 ? ", " : "",
                                 label != NULL ? label : "?");
    }
    json_decref(root);
    return !finished;
}

static size_t gather_runs(const char *folder, listed_run *runs)
{
    size_t count = 0;
    DIR *files = opendir(folder);
    for (const struct dirent *entry = files != NULL ? readdir(files) : NULL;
         entry != NULL && count < LISTED_RUNS; entry = readdir(files)) {
        const char *end = strstr(entry->d_name, ending);
        if (entry->d_name[0] != '.' && end != NULL && strcmp(end, ending) == 0)
            count += look_at_run(folder, entry->d_name, &runs[count]);
    }
    if (files != NULL)
        (void)closedir(files);
    qsort(runs, count, sizeof runs[0], later_first);
    return count;
}

static void print_runs(const command_call *call, const listed_run *runs, size_t count)
{
    if (count == 0)
        (void)ovp_text_print(call->out,
                             "No run is open. `ovenproof checklist half-year --oven QR-8 --run NAME` begins "
                             "one.\n");
    for (size_t i = 0; i < count; i++)
        if (runs[i].readable)
            (void)ovp_text_print(call->out, "%-20s %s, %s: %zu answer%s, last %s\n", runs[i].name,
                                 runs[i].checklist, runs[i].ovens, runs[i].entries,
                                 runs[i].entries == 1 ? "" : "s", runs[i].touched);
        else
            (void)ovp_text_print(call->out, "%-20s damaged: it cannot be read\n", runs[i].name);
    if (count > 0)
        (void)ovp_text_print(call->out, "Go on with one: `ovenproof checklist --run %s`\n", runs[0].name);
}

static ovp_status print_runs_json(const command_call *call, const listed_run *runs, size_t count)
{
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "checklist", 1);
    ovp_text_json_key(&json, "runs");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < count; i++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "run", runs[i].name);
        ovp_text_json_key_boolean(&json, "readable", runs[i].readable);
        ovp_text_json_key_string(&json, "checklist", runs[i].checklist);
        ovp_text_json_key_string(&json, "ovens", runs[i].ovens);
        ovp_text_json_key_integer(&json, "answers", (int64_t)runs[i].entries);
        ovp_text_json_key_string(&json, "touched", runs[i].touched);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    return ovp_text_json_end_document(&json);
}

int checklist_list_runs(const command_call *call)
{
    char folder[STORE_PATH_SIZE];
    ovp_error error = {0};
    if (store_data_folder("runs", folder, &error) != OVP_OK)
        return command_fail(&error);
    listed_run *runs = calloc(LISTED_RUNS, sizeof *runs);
    if (runs == NULL) {
        (void)ovp_error_set(&error, OVP_ERROR_SYSTEM, "out of memory");
        return command_fail(&error);
    }
    size_t count = gather_runs(folder, runs);
    ovp_status status = OVP_OK;
    if (call->json)
        status = print_runs_json(call, runs, count);
    else
        print_runs(call, runs, count);
    free(runs);
    return status == OVP_OK ? 0 : (int)OVP_ERROR_SYSTEM;
}
