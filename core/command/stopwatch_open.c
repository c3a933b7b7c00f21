/* stopwatch: the ovens of a session, their files, and going on with one. */
#include "command/ask.h"
#include "command/kept_text.h"
#include "command/stopwatch.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum {
    FILE_BYTES_MOST = 1 << 20, /* a record by hand is a few kilobytes */
};

/* ---- names
 * -------------------------------------------------------------------------------------------------------- */

static bool is_folder(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

/* What of a label may stand in the name of a file. */
static void file_word(const char *label, char word[64])
{
    size_t used = 0;
    const char *slash = strrchr(label, '/');
    for (const char *at = slash != NULL ? slash + 1 : label; *at != '\0' && used < 40; at++) {
        const bool plain = (*at >= '0' && *at <= '9') || (*at >= 'A' && *at <= 'Z') ||
                           (*at >= 'a' && *at <= 'z') || *at == '-' || *at == '_';
        word[used++] = plain ? *at : '_';
    }
    word[used] = '\0';
}

static const char *folder_of(const stopwatch_session *session)
{
    const char *record = command_value(session->call, "record");
    return record != NULL && is_folder(record) ? record : ".";
}

/* FILE of --record, else LABEL-2026-11-25-1402.csv in the folder; with the seconds where that is taken, and
   with a number where those are, too. */
static ovp_status name_file(const stopwatch_session *session, const stopwatch_oven *oven,
                            char path[STORE_PATH_SIZE], ovp_error *error)
{
    const char *record = command_value(session->call, "record"), *folder = folder_of(session);
    if (record != NULL && !is_folder(record)) {
        if (ovp_copy_string(path, STORE_PATH_SIZE, ovp_span_of(record)))
            return OVP_OK;
        return ovp_error_set(error, OVP_ERROR_USAGE, "the name behind --record is too long");
    }
    char word[64], when[40] = "", again[8] = "";
    static const char *const forms[] = {"%Y-%m-%d-%H%M", "%Y-%m-%d-%H%M%S"};
    const time_t now = time(NULL);
    struct tm parts;
    file_word(oven->label, word);
    for (int i = 0; i < 100; i++) {
        if (localtime_r(&now, &parts) == NULL || strftime(when, sizeof when, forms[i > 0], &parts) == 0)
            when[0] = '\0';
        if (i > 1) /* behind the others by name, too: the names sort by date */
            (void)snprintf(again, sizeof again, "_%02d", i);
        const int length =
            snprintf(path, STORE_PATH_SIZE, "%s%s%s-%s%s.csv", strcmp(folder, ".") == 0 ? "" : folder,
                     strcmp(folder, ".") == 0 ? "" : "/", word, when, again);
        if (length < 0 || length >= STORE_PATH_SIZE)
            return ovp_error_set(error, OVP_ERROR_USAGE, "the name of the folder is too long");
        if (access(path, F_OK) != 0)
            break;
    }
    return OVP_OK;
}

/* ---- keeping
 * ------------------------------------------------------------------------------------------------------ */

static ovp_status begin_file(stopwatch_session *session, stopwatch_oven *oven, ovp_error *error)
{
    char path[STORE_PATH_SIZE];
    store_now(oven->log.began);
    ovp_status status = name_file(session, oven, path, error);
    if (status == OVP_OK)
        status = store_recording_open(&oven->file, path, true, error);
    if (status == OVP_OK)
        (void)ovp_text_print(session->out, "  %severy line is kept in %s\n",
                             stopwatch_label(session, (size_t)(oven - session->ovens)).text, path);
    return status;
}

ovp_status stopwatch_keep(stopwatch_session *session, stopwatch_oven *oven, ovp_error *error)
{
    command_kept_text text = {0};
    ovp_status status = OVP_OK;
    if (oven->file.descriptor < 0)
        status = begin_file(session, oven, error);
    if (status != OVP_OK)
        return status;
    if (ovp_trace_log_write(&oven->log, (ovp_sink){command_keep_text, &text}) != OVP_OK) {
        free(text.bytes);
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    }
    const bool grows = oven->kept_count > 0 && text.count >= oven->kept_count &&
                       memcmp(text.bytes, oven->kept, oven->kept_count) == 0;
    status = grows ? store_recording_append(&oven->file, text.bytes + oven->kept_count,
                                            text.count - oven->kept_count, error)
                   : store_recording_replace(&oven->file, text.bytes, text.count, error);
    if (status != OVP_OK) {
        free(text.bytes);
        return status;
    }
    free(oven->kept);
    oven->kept = text.bytes;
    oven->kept_count = text.count;
    return OVP_OK;
}

/* ---- going on
 * --------------------------------------------------------------------------------------------------- */

static ovp_status read_whole(const char *path, command_kept_text *text, ovp_error *error)
{
    char bytes[4096];
    FILE *file = fopen(path, "rb");
    size_t count;
    ovp_status status = OVP_OK;
    if (file == NULL)
        status = ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot be read: %s", strerror(errno));
    while (status == OVP_OK && (count = fread(bytes, 1, sizeof bytes, file)) > 0) {
        status = command_keep_text(text, bytes, count);
        if (status == OVP_OK && text->count > FILE_BYTES_MOST)
            status = ovp_error_set(error, OVP_ERROR_DATA, "is too large for a record by hand");
    }
    if (status == OVP_OK && ferror(file))
        status = ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot be read: %s", strerror(errno));
    if (file != NULL)
        (void)fclose(file);
    return status;
}

/* Seconds since 1970 of "2026-11-25T14:02:11Z"; NAN for anything else. */
static double moment_of(const char *began)
{
    long day;
    int hour, minute, second;
    char mark;
    if (!ovp_text_day((ovp_span){began, strlen(began) < 10 ? strlen(began) : 10}, &day) ||
        sscanf(began + 10, "T%2d:%2d:%2d%c", &hour, &minute, &second, &mark) != 4 || mark != 'Z')
        return NAN;
    return (double)day * 86400 + hour * 3600.0 + minute * 60.0 + second;
}

static ovp_status resume_text(stopwatch_oven *oven, ovp_span text, bool *torn, ovp_error *error)
{
    char label[OVP_TRACE_LOG_NAME];
    (void)ovp_copy_string(label, sizeof label, ovp_span_of(oven->log.name));
    ovp_status status = ovp_trace_log_read(&oven->log, text, torn, error);
    if (status == OVP_OK && strcmp(label, oven->log.name) != 0) {
        status = ovp_error_set(error, OVP_ERROR_DATA, "is a record of %s, not of %s", oven->log.name, label);
        ovp_error_hint(error, "name that oven, or another file");
    }
    return status;
}

/* The time goes on by the wall clock; never before the last line. */
static void resume_clock(stopwatch_oven *oven)
{
    const double began_s = moment_of(oven->log.began);
    const double last_s = oven->log.count > 0 ? oven->log.entries[oven->log.count - 1].time_s : 0;
    double now_s = (double)time(NULL) - began_s;
    if (!(now_s > last_s))
        now_s = last_s + 1;
    oven->zero_s = -now_s;
    oven->resumed = true;
}

static ovp_status resume(stopwatch_session *session, stopwatch_oven *oven, const char *path, ovp_error *error)
{
    command_kept_text text = {0};
    bool torn = false;
    ovp_status status = store_recording_open(&oven->file, path, false, error);
    if (status == OVP_OK)
        status = read_whole(path, &text, error);
    if (status == OVP_OK)
        status = resume_text(oven, (ovp_span){text.bytes, text.count}, &torn, error);
    free(text.bytes);
    if (status != OVP_OK) {
        ovp_error_place(error, path, 0);
        return status;
    }
    resume_clock(oven);
    const command_words label = stopwatch_label(session, (size_t)(oven - session->ovens));
    (void)ovp_text_print(
        session->out, "  %sgoing on with %s: %zu lines, the last %s ago%s\n", label.text, path,
        oven->log.count,
        trace_shown_duration(
            oven->log.count > 0 ? floor(-oven->zero_s - oven->log.entries[oven->log.count - 1].time_s) : 0)
            .text,
        torn ? "; a line cut by the end of the program was not kept" : "");
    return OVP_OK;
}

static bool has_ended(const char *path)
{
    command_kept_text text = {0};
    bool ended = false;
    if (read_whole(path, &text, NULL) == OVP_OK && text.bytes != NULL)
        ended = strstr(text.bytes, "\n# ended:") != NULL;
    free(text.bytes);
    return ended;
}

/* The youngest record of this oven in the folder: the names sort by date. */
static bool find_youngest(const stopwatch_session *session, const stopwatch_oven *oven,
                          char path[STORE_PATH_SIZE])
{
    char word[64], best[256] = "";
    const char *folder = folder_of(session);
    file_word(oven->label, word);
    const size_t length = strlen(word);
    DIR *entries = opendir(folder);
    for (struct dirent *entry = NULL; entries != NULL && (entry = readdir(entries)) != NULL;) {
        const char *name = entry->d_name;
        const char *behind = strlen(name) > length ? name + length : "";
        if (strncmp(name, word, length) == 0 && behind[0] == '-' && strncmp(behind, "-2", 2) == 0 &&
            strlen(behind) >= strlen("-2026-11-25-1402.csv") && strstr(behind, ".csv") != NULL &&
            strcmp(name, best) > 0)
            (void)ovp_copy_string(best, sizeof best, ovp_span_of(name));
    }
    if (entries != NULL)
        (void)closedir(entries);
    if (best[0] == '\0')
        return false;
    const bool here = strcmp(folder, ".") == 0;
    return snprintf(path, STORE_PATH_SIZE, "%s%s%s", here ? "" : folder, here ? "" : "/", best) <
           STORE_PATH_SIZE;
}

/* Asked at a terminal; elsewhere --resume says it. */
static bool may_resume(const stopwatch_session *session, const char *path, bool *left)
{
    char question[STORE_PATH_SIZE + 64], answer[16];
    *left = false;
    if (command_given(session->call, "resume"))
        return true;
    if (!session->terminal)
        return false;
    (void)snprintf(question, sizeof question, "%s is not finished. Go on with it? y or n", path);
    const ask_outcome outcome = ask_line(question, "y", answer, sizeof answer);
    *left = outcome == ASK_ENDED;
    return outcome == ASK_ANSWER && (answer[0] == 'y' || answer[0] == 'Y');
}

static ovp_status open_named(stopwatch_session *session, stopwatch_oven *oven, const char *path,
                             ovp_error *error)
{
    bool left;
    if (access(path, F_OK) != 0)
        return OVP_OK;
    if (may_resume(session, path, &left))
        return resume(session, oven, path, error);
    (void)ovp_error_set(error, OVP_ERROR_USAGE, "exists already; it is left as it is");
    ovp_error_hint(error, "--resume goes on with a record of the stopwatch; else name another file");
    ovp_error_place(error, path, 0);
    return OVP_ERROR_USAGE;
}

static ovp_status open_file(stopwatch_session *session, stopwatch_oven *oven, ovp_error *error)
{
    const char *record = command_value(session->call, "record");
    char path[STORE_PATH_SIZE];
    bool left = false;
    if (record != NULL && !is_folder(record))
        return open_named(session, oven, record, error);
    if (!find_youngest(session, oven, path)) {
        if (!command_given(session->call, "resume"))
            return OVP_OK;
        (void)ovp_error_set(error, OVP_ERROR_USAGE, "there is no record of %s to go on with", oven->label);
        ovp_error_hint(error, "leave --resume out, or name the file with --record");
        return OVP_ERROR_USAGE;
    }
    if (!command_given(session->call, "resume") && (!session->terminal || has_ended(path)))
        return OVP_OK;
    if (may_resume(session, path, &left))
        return resume(session, oven, path, error);
    return left ? ovp_error_set(error, OVP_ERROR_USAGE, "stopped: nothing was recorded") : OVP_OK;
}

/* ---- ovens
 * -------------------------------------------------------------------------------------------------------- */

static ovp_status no_degrees(const stopwatch_oven *oven, ovp_error *error)
{
    (void)ovp_error_set(error, OVP_ERROR_USAGE, "the scale of %s's display is not known", oven->label);
    ovp_error_hint(error, "--degrees F or --degrees C; `ovenproof setup` keeps it for good");
    return OVP_ERROR_USAGE;
}

static ovp_status add_oven(stopwatch_session *session, const char *named, ovp_span label, ovp_error *error)
{
    if (session->count == STOPWATCH_OVENS)
        return ovp_error_set(error, OVP_ERROR_USAGE, "at most %d ovens at once", STOPWATCH_OVENS);
    stopwatch_oven *oven = &session->ovens[session->count];
    oven->file.descriptor = -1;
    oven->zero_s = NAN;
    oven->named = named;
    (void)ovp_copy_string(oven->label, sizeof oven->label, label);
    for (size_t i = 0; i < session->count; i++)
        if (strcmp(session->ovens[i].label, oven->label) == 0) {
            (void)ovp_error_set(error, OVP_ERROR_USAGE, "the oven %s is named twice", oven->label);
            ovp_error_hint(error, "two of one model: stopwatch QR-8 --serial QR8-001,QR8-002");
            return OVP_ERROR_USAGE;
        }
    session->count++;
    oven->setting = calloc(1, sizeof *oven->setting);
    oven->entries = calloc(STOPWATCH_LINES, sizeof *oven->entries);
    if (oven->setting == NULL || oven->entries == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    ovp_status status = command_trace_prepare(session->call, oven->setting, error);
    if (status == OVP_OK)
        status = command_trace_oven(oven->setting, named, error);
    if (status != OVP_OK)
        return status;
    const ovp_text_degrees degrees = oven->setting->options.degrees;
    if (degrees == OVP_TEXT_DEGREES_NONE)
        return no_degrees(oven, error);
    ovp_trace_log_init(&oven->log, oven->entries, STOPWATCH_LINES, oven->label, &oven->setting->oven,
                       oven->setting->has_model ? &oven->setting->model : NULL, degrees);
    ovp_trace_watch_expect(&oven->setting->oven, oven->setting->has_model ? &oven->setting->model : NULL,
                           NULL, NAN, &oven->expects);
    oven->expects.shown = degrees;
    return OVP_OK;
}

/* One model with its serials, or each oven with one. */
static ovp_status add_ovens(stopwatch_session *session, ovp_error *error)
{
    const command_call *call = session->call;
    const char *serials = command_value(call, "serial");
    ovp_status status = OVP_OK;
    size_t index = 0;
    for (const char *at = serials; at != NULL && status == OVP_OK; index++) {
        const size_t length = strcspn(at, ",");
        const ovp_span label = ovp_span_trim((ovp_span){at, length});
        if (call->operand_count > 1 && index >= call->operand_count)
            break;
        if (label.count > 0)
            status = add_oven(session, call->operands[call->operand_count > 1 ? index : 0], label, error);
        at = at[length] == ',' ? at + length + 1 : NULL;
    }
    if (status == OVP_OK && serials != NULL && call->operand_count > 1 && index != call->operand_count) {
        status =
            ovp_error_set(error, OVP_ERROR_USAGE, "%zu ovens and %zu serials", call->operand_count, index);
        ovp_error_hint(error, "one serial for each oven, or one oven with several serials");
    }
    for (size_t i = 0; serials == NULL && i < call->operand_count && status == OVP_OK; i++) {
        const char *slash = strrchr(call->operands[i], '/'),
                   *name = slash != NULL ? slash + 1 : call->operands[i];
        const size_t length = strlen(name);
        const bool lua = length > 4 && strcmp(name + length - 4, ".lua") == 0;
        status = add_oven(session, call->operands[i], (ovp_span){name, lua ? length - 4 : length}, error);
    }
    return status;
}

ovp_status stopwatch_open(stopwatch_session *session, ovp_error *error)
{
    const char *record = command_value(session->call, "record");
    ovp_status status = add_ovens(session, error);
    if (status == OVP_OK && record != NULL && session->count > 1 && !is_folder(record)) {
        status =
            ovp_error_set(error, OVP_ERROR_USAGE, "--record \"%.80s\" is no folder, and there are %zu ovens",
                          record, session->count);
        ovp_error_hint(error, "name a folder that exists: each oven gets its own file in it");
    }
    for (size_t i = 0; i < session->count && status == OVP_OK; i++)
        status = open_file(session, &session->ovens[i], error);
    return status;
}

void stopwatch_close(stopwatch_session *session)
{
    for (size_t i = 0; i < session->count; i++) {
        stopwatch_oven *oven = &session->ovens[i];
        store_recording_close(&oven->file);
        free(oven->kept);
        free(oven->entries);
        free(oven->setting);
        free(oven->run);
    }
}
