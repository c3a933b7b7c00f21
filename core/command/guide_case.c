/* guide: a case that keeps itself. Every answer is on the disk before the next question is put. */
#include "command/guide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static const char *const context_words[] = {"new-build", "in-service", "after-transport", "after-rewire"};

#define COPY(to, text) ((void)ovp_copy_string(to, sizeof(to), ovp_span_of(text)))

/* ---- small things -------------------------------------------------------------------------------------- */

command_words guide_shown_time(const char *when)
{
    command_words words = {""};
    struct tm parts = {0};
    long year = 0, month = 0, day = 0, days = 0, hour = 0, minute = 0;
    COPY(words.text, when);
    if (sscanf(when, "%4ld-%2ld-%2ldT%2ld:%2ld:", /* NOLINT(cert-err34-c): each is at most four digits */
               &year, &month, &day, &hour, &minute) != 5 ||
        !ovp_text_day_number(year, month, day, &days))
        return words;
    const time_t at = (time_t)(days * 86400L + hour * 3600L + minute * 60L);
    if (localtime_r(&at, &parts) != NULL)
        (void)strftime(words.text, sizeof words.text, "%Y-%m-%d %H:%M", &parts);
    return words;
}

static void say_changed(guide_session *session, const char *what)
{
    const size_t used = strlen(session->changed);
    (void)snprintf(session->changed + used, sizeof session->changed - used, "%s%s", used > 0 ? "\n" : "",
                   what);
}

/* How a file is found again from any folder: what comes with the tool or lies on a fixed path by its name. */
static void lasting_name(const char *name, const char *path, char *buffer, size_t size)
{
    char folder[STORE_PATH_SIZE];
    const bool by_name = path[0] == '\0' || (path[0] == '/' && strchr(name, '/') == NULL);
    (void)ovp_copy_string(buffer, size, ovp_span_of(by_name ? name : path));
    if (by_name || path[0] == '/' || getcwd(folder, sizeof folder) == NULL)
        return;
    const char *rest = strncmp(path, "./", 2) == 0 ? path + 2 : path;
    if (strlen(folder) + strlen(rest) + 2 > size)
        return; /* found again from the same folder only */
    (void)ovp_copy_string(buffer, size, ovp_span_of(folder));
    (void)ovp_copy_string(buffer + strlen(buffer), size - strlen(buffer), ovp_span_of("/"));
    (void)ovp_copy_string(buffer + strlen(buffer), size - strlen(buffer), ovp_span_of(rest));
}

/* The file name of a guide without folder and ending: what it is found by. */
static void base_name(const char *path, char *buffer, size_t size)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash != NULL ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    (void)ovp_copy_string(buffer, size, (ovp_span){name, dot != NULL ? (size_t)(dot - name) : strlen(name)});
}

static void guide_key(const guide_session *session, char *buffer, size_t size)
{
    char name[STORE_CASE_TEXT];
    if (session->about.found == LUA_ORIGIN_PROGRAM)
        base_name(session->path, name, sizeof name);
    else
        COPY(name, session->path);
    lasting_name(name, session->path, buffer, size);
}

/* ---- opening ------------------------------------------------------------------------------------------- */

static ovp_status open_named(guide_session *session, const char *name, ovp_error *error)
{
    session->kept = calloc(1, sizeof *session->kept);
    if (session->kept == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    return store_case_open(session->kept, name, error);
}

ovp_status guide_case_open(guide_session *session, ovp_error *error)
{
    const char *name = command_value(session->call, "case-name");
    if (name == NULL)
        return OVP_OK;
    ovp_status status = open_named(session, name, error);
    if (status != OVP_OK)
        return status;
    store_case *kept = session->kept;
    if (!kept->closed)
        return OVP_OK;
    if (command_given(session->call, "reopen")) {
        kept->closed = false;
        return store_case_save(kept, error);
    }
    status = ovp_error_set(error, OVP_ERROR_USAGE, "the case %s was closed on %s", name,
                           guide_shown_time(kept->closed_when).text);
    ovp_error_hint(error, "choose another name for a new trouble, or open it again with --reopen");
    return status;
}

/* ---- a trace ------------------------------------------------------------------------------------------- */

static void keep_trace(guide_session *session)
{
    store_case *kept = session->kept;
    const char *name = command_value(session->call, "trace");
    if (name == NULL)
        return;
    const ovp_trace_result *result = &session->trace->result;
    kept->has_trace = true;
    lasting_name(name, name, kept->trace_file, sizeof kept->trace_file);
    store_digest_file(name, kept->trace_digest);
    COPY(kept->danger_text, result->danger_now ? result->danger_text : "");
    kept->finding_count = 0;
    for (size_t i = 0; i < result->finding_count && i < STORE_CASE_FINDINGS; i++) {
        const ovp_trace_finding *from = &result->findings[i];
        store_case_finding *to = &kept->findings[kept->finding_count++];
        *to = (store_case_finding){.notable = from->notable, .at_s = from->at_s, .value = from->value};
        COPY(to->finding, from->finding);
        COPY(to->outcome, from->outcome != NULL ? from->outcome : "");
        COPY(to->unit, from->unit != NULL ? from->unit : "");
        COPY(to->text, from->text);
    }
}

ovp_status guide_case_trace(guide_session *session, ovp_error *error)
{
    const store_case *kept = session->kept;
    if (kept == NULL || !kept->has_trace)
        return OVP_OK;
    session->trace = calloc(1, sizeof *session->trace);
    if (session->trace == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    session->settings.healthy = 0.5;
    ovp_trace_result *result = &session->trace->result;
    result->danger_now = kept->danger_text[0] != '\0';
    COPY(result->danger_text, kept->danger_text);
    for (size_t i = 0; i < kept->finding_count && i < OVP_TRACE_FINDINGS; i++) {
        const store_case_finding *from = &kept->findings[i];
        ovp_trace_finding *to = &result->findings[result->finding_count];
        if (ovp_trace_finding_named(from->finding) == NULL)
            continue; /* a check that there is no more */
        *to = (ovp_trace_finding){.finding = from->finding,
                                  .outcome = from->outcome,
                                  .notable = from->notable,
                                  .at_s = from->at_s,
                                  .since_s = from->at_s,
                                  .value = from->value,
                                  .uncertainty = NAN,
                                  .no_uncertainty = "kept",
                                  .unit = from->unit};
        COPY(to->text, from->text);
        result->finding_count++;
    }
    char digest[STORE_CASE_DIGEST];
    store_digest_file(kept->trace_file, digest);
    if (digest[0] != '\0' && strcmp(digest, kept->trace_digest) != 0)
        say_changed(session, "The trace's file was changed since; what it showed then counts (--trace RUN "
                             "takes it anew).");
    return OVP_OK;
}

/* ---- joining the call and the case -----------------------------------------------------------------------
 */

static ovp_status differ(ovp_error *error, const store_case *kept, const char *about, const char *now)
{
    ovp_status status =
        ovp_error_set(error, OVP_ERROR_USAGE, "the case %s is about %s, not %s", kept->name, about, now);
    ovp_error_hint(error, "leave it out to go on with that case, or choose another name for a new one");
    return status;
}

/* Sets `text` and says whether it was something else before. */
static bool renew(char *text, size_t size, const char *now)
{
    const bool differs = strcmp(text, now) != 0;
    (void)ovp_copy_string(text, size, ovp_span_of(now));
    return differs;
}

static bool renew_digests(guide_session *session)
{
    store_case *kept = session->kept;
    char tables[STORE_CASE_DIGEST], guide[STORE_CASE_DIGEST], oven[STORE_CASE_DIGEST] = "";
    store_digest_words(ovp_diagnosis_tables_digest(), tables);
    store_digest_file(session->path, guide);
    if (session->oven_path[0] != '\0')
        store_digest_file(session->oven_path, oven);
    const bool other_tables = renew(kept->tables_digest, sizeof kept->tables_digest, tables);
    const bool other_guide = renew(kept->guide_digest, sizeof kept->guide_digest, guide);
    const bool other_oven = renew(kept->oven_digest, sizeof kept->oven_digest, oven);
    if (kept->is_new)
        return true;
    if (other_tables)
        say_changed(session, "The tables of faults and questions are not those that this case began with: "
                             "answers that still fit are kept.");
    if (other_guide && !other_tables)
        say_changed(session, "The guide was changed since: answers that still fit are kept.");
    if (other_oven && command_value(session->call, "oven") == NULL)
        say_changed(session, "The oven's description was changed since.");
    return other_tables || other_guide || other_oven;
}

static ovp_status renew_settings(guide_session *session, bool *changed, ovp_error *error)
{
    store_case *kept = session->kept;
    char guide[STORE_CASE_TEXT], oven[STORE_CASE_TEXT] = "";
    guide_key(session, guide, sizeof guide);
    if (session->oven_name[0] != '\0')
        lasting_name(session->oven_name, session->oven_path, oven, sizeof oven);
    if (!kept->is_new && strcmp(guide, kept->guide) != 0)
        return differ(error, kept, kept->complaint[0] != '\0' ? kept->complaint : kept->guide,
                      session->about.title);
    if (kept->oven[0] != '\0' && strcmp(oven, kept->oven) != 0)
        return differ(error, kept, kept->oven, oven);
    *changed = renew(kept->guide, sizeof kept->guide, guide);
    *changed |= renew(kept->oven, sizeof kept->oven, oven);
    *changed |= renew(kept->context, sizeof kept->context, context_words[session->settings.context]);
    *changed |= renew(kept->who, sizeof kept->who, session->settings.technician ? "technician" : "owner");
    const char *have = command_value(session->call, "have");
    if (have != NULL)
        *changed |= renew(kept->tools, sizeof kept->tools, have);
    kept->tools_said = kept->tools[0] != '\0';
    if (kept->is_new)
        COPY(kept->complaint, session->complaint[0] != '\0' ? session->complaint : session->about.title);
    return OVP_OK;
}

/* The answers of the case into the session, but for those that do not fit any more. */
static ovp_status take_kept(guide_session *session, bool *changed, ovp_error *error)
{
    store_case *kept = session->kept;
    for (;;) {
        session->answer_count = 0;
        for (size_t i = 0; i < kept->answer_count; i++)
            (void)guide_add_answer(session, kept->answers[i].id, kept->answers[i].answer, NULL);
        ovp_error wrong = {0};
        ovp_status status = guide_evaluate(session, &wrong);
        const size_t bad = session->step.bad_answer;
        if (status == OVP_OK || bad == 0 || bad > kept->answer_count) {
            if (error != NULL && status != OVP_OK)
                *error = wrong;
            return status;
        }
        char text[STORE_CASE_TEXT];
        (void)snprintf(text, sizeof text, "Set aside, it does not fit any more: %s = %s.",
                       kept->answers[bad - 1].id, kept->answers[bad - 1].answer);
        say_changed(session, text);
        *changed = true;
        status = store_case_set_aside(kept, bad - 1, "does not fit the tables any more", error);
        if (status != OVP_OK)
            return status;
    }
}

ovp_status guide_case_join(guide_session *session, ovp_error *error)
{
    store_case *kept = session->kept;
    if (kept == NULL)
        return OVP_OK;
    bool changed = kept->is_new || command_value(session->call, "trace") != NULL;
    bool renewed = false;
    ovp_status status = renew_settings(session, &renewed, error);
    if (status != OVP_OK)
        return status;
    keep_trace(session);
    changed |= renew_digests(session);
    status = take_kept(session, &renewed, error);
    if (status == OVP_OK && (changed || renewed))
        status = store_case_save(kept, error);
    return status;
}

ovp_status guide_case_hand_over(guide_session *session, ovp_error *error)
{
    store_case *kept = session->kept;
    if (kept == NULL)
        return OVP_OK;
    guide_key(session, kept->guide, sizeof kept->guide);
    store_digest_file(session->path, kept->guide_digest);
    COPY(kept->complaint, session->words[0] != '\0' ? session->words : session->about.title);
    return store_case_save(kept, error);
}

ovp_status guide_case_look(guide_session *session, ovp_error *error)
{
    bool ignored = false;
    return take_kept(session, &ignored, error);
}

ovp_status guide_case_begin(guide_session *session, const char *name, ovp_error *error)
{
    ovp_status status = open_named(session, name, error);
    if (status == OVP_OK && !session->kept->is_new) {
        status = ovp_error_set(error, OVP_ERROR_USAGE, "there is a case %s already", name);
        ovp_error_hint(error, "choose another name");
    }
    bool renewed = false;
    if (status == OVP_OK)
        status = renew_settings(session, &renewed, error);
    if (status == OVP_OK) {
        session->kept->told = true;
        keep_trace(session);
        (void)renew_digests(session);
        status = store_case_save(session->kept, error);
        session->kept->is_new = false;
    }
    if (status == OVP_OK)
        return guide_keep(session, error);
    if (session->kept != NULL)
        store_case_release(session->kept);
    free(session->kept);
    session->kept = NULL;
    return status;
}

/* ---- what is said in a case ------------------------------------------------------------------------------
 */

static void stamp(const guide_session *session, store_case_entry *entry)
{
    COPY(entry->by, session->settings.technician ? "technician" : "owner");
    store_now(entry->when);
}

ovp_status guide_keep(guide_session *session, ovp_error *error)
{
    store_case *kept = session->kept;
    if (kept == NULL || kept->answer_count >= session->answer_count)
        return OVP_OK;
    while (kept->answer_count < session->answer_count) {
        store_case_entry *to = &kept->answers[kept->answer_count];
        *to = (store_case_entry){0};
        COPY(to->id, session->answers[kept->answer_count].id);
        COPY(to->answer, session->answers[kept->answer_count].answer);
        stamp(session, to);
        kept->answer_count++;
    }
    return store_case_save(kept, error);
}

ovp_status guide_take_back(guide_session *session, size_t index, ovp_error *error)
{
    store_case *kept = session->kept;
    if (kept != NULL && index < kept->answer_count) {
        ovp_status status = store_case_set_aside(kept, index, "taken back", error);
        if (status == OVP_OK)
            status = store_case_save(kept, error);
        if (status != OVP_OK)
            return status;
    }
    session->answer_count--;
    memmove(&session->answers[index], &session->answers[index + 1],
            (session->answer_count - index) * sizeof session->answers[0]);
    return OVP_OK;
}

ovp_status guide_case_note(guide_session *session, const char *text, ovp_error *error)
{
    store_case *kept = session->kept;
    if (kept->note_count == STORE_CASE_NOTES)
        return ovp_error_set(error, OVP_ERROR_DATA, "this case has %d notes already", STORE_CASE_NOTES);
    store_case_entry note = {0};
    if (text[0] == '\0' || !ovp_copy_string(note.text, sizeof note.text, ovp_span_of(text))) {
        ovp_status status =
            ovp_error_set(error, OVP_ERROR_USAGE, "a note has 1 to %d bytes", STORE_CASE_TEXT - 1);
        ovp_error_hint(error, "say it shorter, or in two notes");
        return status;
    }
    stamp(session, &note);
    kept->notes[kept->note_count++] = note;
    return store_case_save(kept, error);
}

/* ---- JSON ---------------------------------------------------------------------------------------------- */

void guide_case_write_json(const guide_session *session, ovp_text_json *json)
{
    const store_case *kept = session->kept;
    if (kept == NULL)
        return;
    ovp_text_json_key(json, "case");
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "name", kept->name);
    ovp_text_json_key_string(json, "file", kept->path);
    ovp_text_json_key_string(json, "complaint", kept->complaint);
    ovp_text_json_key_string(json, "began", kept->began);
    ovp_text_json_key_string(json, "touched", kept->touched);
    ovp_text_json_key(json, "answers");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < kept->answer_count; i++) {
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "id", kept->answers[i].id);
        ovp_text_json_key_string(json, "answer", kept->answers[i].answer);
        ovp_text_json_key_string(json, "by", kept->answers[i].by);
        ovp_text_json_key_string(json, "when", kept->answers[i].when);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
    ovp_text_json_key_integer(json, "set_aside", (int64_t)kept->aside_count);
    ovp_text_json_key(json, "notes");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < kept->note_count; i++)
        ovp_text_json_string(json, kept->notes[i].text);
    ovp_text_json_end_array(json);
    ovp_text_json_key_string(json, "changed", session->changed);
    ovp_text_json_end_object(json);
}
