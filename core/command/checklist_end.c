/* checklist: what was done, what stays unproved, what next; as text and as the document. */
#include "command/beside.h"
#include "command/checklist.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static size_t count_results(const checklist_session *session, size_t oven, checklist_result result)
{
    size_t count = 0;
    for (size_t i = 0; i < session->list.step_count; i++)
        count += session->ovens[oven].steps[i].result == result;
    return count;
}

static void print_failed(const checklist_session *session, size_t oven, ovp_sink out)
{
    for (size_t i = 0; i < session->list.step_count; i++) {
        const checklist_state *state = &session->ovens[oven].steps[i];
        const lua_checklist_step *row = &session->list.steps[i];
        char text[2 * LUA_CHECKLIST_TEXT_SIZE], words[LUA_CHECKLIST_TEXT_SIZE];
        if (state->result != CHECKLIST_FAIL)
            continue;
        if (row->of == LUA_CHECKLIST_OF_SAME)
            (void)snprintf(text, sizeof text, "%s is %s, golden %s: %s", row->text, state->answer, row->same,
                           checklist_words(session, oven, row->if_not, words));
        else
            (void)snprintf(text, sizeof text, "%s%s%s: %s", row->id, isnan(state->value) ? "" : " ",
                           isnan(state->value) ? "" : state->answer,
                           checklist_words(session, oven, row->if_not, words));
        command_say_beside(out, "  failed", 11, text);
    }
}

/* As found and as left, where they differ. */
static void print_remade(const checklist_session *session, size_t oven, ovp_sink out)
{
    for (size_t i = 0; i < session->list.step_count; i++) {
        const checklist_state *state = &session->ovens[oven].steps[i];
        char text[256];
        if (state->times < 2 || strcmp(state->answer, state->found_answer) == 0)
            continue;
        (void)snprintf(text, sizeof text, "%s: found %s, left %s", session->list.steps[i].id,
                       checklist_said(state->found_answer), checklist_said(state->answer));
        command_say_beside(out, "  remade", 11, text);
    }
}

static void print_unproved(const checklist_session *session, size_t oven, ovp_sink out)
{
    char ids[2048] = "";
    size_t used = 0, steps = 0;
    for (size_t i = 0; i < session->list.step_count && used < sizeof ids; i++)
        if (checklist_unproved(session, oven, i))
            used += (size_t)snprintf(ids + used, sizeof ids - used, "%s%s%s", used > 0 ? ", " : "",
                                     session->list.steps[i].id, session->list.steps[i].safety ? "*" : "");
    if (used > 0)
        command_say_beside(out, "  unproved", 11, ids);
    const char *tool = checklist_missing_tool(session, oven, &steps);
    if (tool != NULL)
        (void)ovp_text_print(out,
                             "  One tool would prove most of it, own, borrow or hire: %s, for %zu step%s.\n",
                             tool, steps, steps == 1 ? "" : "s");
}

static void print_oven_end(const checklist_session *session, size_t oven, ovp_sink out)
{
    static const char *const lines[] = {
        "good: every safety test that applies was done and passed.",
        "conditional, not a pass: open steps or safety tests are not proved.",
        "trouble: mend what failed, then measure it again.",
        "STOP: unplug it; do not use it until this is repaired and checked again.",
    };
    const checklist_oven *one = &session->ovens[oven];
    checklist_verdict verdict = checklist_judge(session, oven);
    (void)ovp_text_print(out, "%s: %s\n", one->label, lines[verdict]);
    if (verdict != CHECKLIST_GOOD && session->repair != NULL && session->repair->danger >= 3)
        (void)ovp_text_print(out,
                             "  The repair was of something dangerous: do not use it before this is good.\n");
    (void)ovp_text_print(
        out, "  %zu passed, %zu failed, %zu skipped, %zu open, %zu not fitted\n",
        count_results(session, oven, CHECKLIST_PASS), count_results(session, oven, CHECKLIST_FAIL),
        count_results(session, oven, CHECKLIST_SKIPPED), count_results(session, oven, CHECKLIST_OPEN),
        count_results(session, oven, CHECKLIST_NOT_FITTED));
    print_failed(session, oven, out);
    print_remade(session, oven, out);
    if (verdict != CHECKLIST_STOPPED)
        print_unproved(session, oven, out);
    if (session->golden[0] != '\0') {
        char digits[17];
        checklist_fingerprint(session, oven, false, digits);
        (void)ovp_text_print(out, "  fingerprint %s; the golden list's is %s\n", digits, session->golden);
    }
}

static void print_due(const checklist_session *session, ovp_sink out)
{
    char day[16];
    const ovp_electrical_check_due *due = &session->due;
    if (!session->has_due) {
        command_say(out, session->list.due);
        return;
    }
    (void)ovp_text_format_day(due->day, day, sizeof day);
    char text[LUA_CHECKLIST_TEXT_SIZE];
    size_t used = (size_t)snprintf(text, sizeof text, "Next check of the joints: ");
    if (due->now)
        used += (size_t)snprintf(text + used, sizeof text - used, "NOW");
    else if (!isnan(due->firings_left))
        used += (size_t)snprintf(text + used, sizeof text - used, "after %.0f more firing%s%s%s",
                                 due->firings_left, due->firings_left == 1 ? "" : "s",
                                 due->has_day ? ", at the latest " : "", due->has_day ? day : "");
    else
        used += (size_t)snprintf(text + used, sizeof text - used, "%s", due->has_day ? day : "not by date");
    if (!isnan(due->hot_hours_left) && !due->now)
        used += (size_t)snprintf(text + used, sizeof text - used,
                                 ", or after %.0f more hot hours if that comes first", due->hot_hours_left);
    (void)snprintf(text + used, sizeof text - used, " (%s).", due->text);
    command_say(out, text);
}

void checklist_print_end(const checklist_session *session, ovp_sink out)
{
    for (size_t i = 0; i < session->oven_count; i++)
        print_oven_end(session, i, out);
    (void)ovp_text_print(out, "* safety test\n");
    print_due(session, out);
}

/* ---- the document ---------------------------------------------------------------------------------------
 */

static const char *const results[] = {"open", "pass", "fail", "skipped", "not-fitted", "not-touched"};

static void key_text(ovp_text_json *json, const char *key, const char *text)
{
    ovp_text_json_key_string(json, key, text != NULL && text[0] != '\0' ? text : NULL);
}

static void write_state(const checklist_state *state, ovp_text_json *json)
{
    ovp_text_json_key_string(json, "result", results[state->result]);
    ovp_text_json_key_number(json, "value", state->value);
    key_text(json, "answer", state->answer);
    key_text(json, "skipped_because", state->because);
    ovp_text_json_key_string(json, "found_result", state->times > 0 ? results[state->found] : NULL);
    ovp_text_json_key_number(json, "found_value", state->found_value);
    key_text(json, "found_answer", state->found_answer);
    ovp_text_json_key_integer(json, "times", (int64_t)state->times);
    key_text(json, "note", state->note);
    key_text(json, "photo", state->photo);
    key_text(json, "by", state->by);
    key_text(json, "when", state->when);
}

static void write_step(const checklist_session *session, size_t oven, size_t step, ovp_text_json *json)
{
    const lua_checklist_step *row = &session->list.steps[step];
    bool measured = row->of != LUA_CHECKLIST_OF_EYE && row->of != LUA_CHECKLIST_OF_SAME;
    char words[LUA_CHECKLIST_TEXT_SIZE];
    lua_checklist_limit limit;
    checklist_limit(session, oven, step, &limit);
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "id", row->id);
    ovp_text_json_key_string(json, "station", row->station);
    ovp_text_json_key_string(json, "step", checklist_words(session, oven, row->text, words));
    ovp_text_json_key_string(json, "caution", checklist_words(session, oven, row->caution, words));
    ovp_text_json_key_string(json, "who", row->technician ? "technician" : "owner");
    ovp_text_json_key_string(json, "tools", row->tool[0] != '\0' ? row->tool : "none");
    write_state(&session->ovens[oven].steps[step], json);
    ovp_text_json_key_number(json, "low", limit.low);
    ovp_text_json_key_number(json, "high", limit.high);
    ovp_text_json_key_string(json, "unit", measured ? checklist_unit(row->kind) : "");
    ovp_text_json_key_string(json, "limit", limit.text);
    ovp_text_json_key_boolean(json, "safety", row->safety);
    ovp_text_json_key_boolean(json, "stop", row->stop);
    ovp_text_json_key_string(json, "if_not", checklist_words(session, oven, row->if_not, words));
    ovp_text_json_key_string(json, "source", row->source);
    ovp_text_json_end_object(json);
}

static void write_ids(const checklist_session *session, size_t oven, bool failed, ovp_text_json *json)
{
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < session->list.step_count; i++)
        if (failed ? session->ovens[oven].steps[i].result == CHECKLIST_FAIL
                   : checklist_unproved(session, oven, i))
            ovp_text_json_string(json, session->list.steps[i].id);
    ovp_text_json_end_array(json);
}

static void write_oven(const checklist_session *session, size_t oven, ovp_text_json *json)
{
    static const char *const verdicts[] = {"pass", "incomplete", "fail", "stop"};
    size_t steps = 0;
    char digits[17] = "";
    if (session->golden[0] != '\0')
        checklist_fingerprint(session, oven, false, digits);
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "oven", session->ovens[oven].label);
    ovp_text_json_key_string(json, "verdict", verdicts[checklist_judge(session, oven)]);
    ovp_text_json_key(json, "failed");
    write_ids(session, oven, true, json);
    ovp_text_json_key(json, "not_proved");
    write_ids(session, oven, false, json);
    ovp_text_json_key_string(json, "most_proving_tool", checklist_missing_tool(session, oven, &steps));
    ovp_text_json_key_integer(json, "most_proving_steps", (int64_t)steps);
    key_text(json, "fingerprint", digits);
    ovp_text_json_key(json, "steps");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < session->list.step_count; i++)
        write_step(session, oven, i, json);
    ovp_text_json_end_array(json);
    ovp_text_json_end_object(json);
}

static void write_due(const checklist_session *session, ovp_text_json *json)
{
    char day[16] = "";
    const ovp_electrical_check_due *due = &session->due;
    ovp_text_json_key(json, "next_check");
    if (!session->has_due) {
        ovp_text_json_null(json);
        return;
    }
    if (due->has_day)
        (void)ovp_text_format_day(due->day, day, sizeof day);
    ovp_text_json_begin_object(json);
    ovp_text_json_key_boolean(json, "now", due->now);
    key_text(json, "date", day);
    ovp_text_json_key_integer(json, "months", due->months);
    ovp_text_json_key_number(json, "firings_left", due->firings_left);
    ovp_text_json_key_number(json, "hot_hours_left", due->hot_hours_left);
    ovp_text_json_key_string(json, "reason", due->text);
    ovp_text_json_end_object(json);
}

ovp_status checklist_print_json(const checklist_session *session, ovp_sink out)
{
    ovp_text_json json;
    ovp_text_json_init(&json, out);
    ovp_text_json_begin_document(&json, "checklist", 1);
    ovp_text_json_key_string(&json, "checklist", session->list.name);
    ovp_text_json_key_string(&json, "title", session->list.title);
    ovp_text_json_key_string(&json, "due", session->list.due);
    key_text(&json, "run", session->run);
    key_text(&json, "by", session->by);
    ovp_text_json_key_string(&json, "repair", session->repair != NULL ? session->repair->id : NULL);
    key_text(&json, "golden_fingerprint", session->golden);
    write_due(session, &json);
    ovp_text_json_key(&json, "cautions");
    ovp_text_json_begin_array(&json);
    char words[LUA_CHECKLIST_TEXT_SIZE];
    for (size_t i = 0; i < session->list.caution_count; i++)
        ovp_text_json_string(&json, checklist_words(session, 0, session->list.cautions[i], words));
    ovp_text_json_end_array(&json);
    ovp_text_json_key(&json, "ovens");
    ovp_text_json_begin_array(&json);
    for (size_t oven = 0; oven < session->oven_count; oven++)
        write_oven(session, oven, &json);
    ovp_text_json_end_array(&json);
    return ovp_text_json_end_document(&json);
}

/* ---- results as files
 * --------------------------------------------------------------------------------------- */

/* Every step with what was read, for paper. */
static void write_text(const checklist_session *session, ovp_sink out)
{
    (void)ovp_text_print(out, "%s\n", session->list.title);
    for (size_t oven = 0; oven < session->oven_count; oven++) {
        (void)ovp_text_print(out, "\n%s\n", session->ovens[oven].label);
        for (size_t i = 0; i < session->list.step_count; i++) {
            const checklist_state *state = &session->ovens[oven].steps[i];
            lua_checklist_limit limit;
            char text[4 * LUA_CHECKLIST_TEXT_SIZE], label[16];
            checklist_limit(session, oven, i, &limit);
            (void)snprintf(label, sizeof label, "%-11s", results[state->result]);
            (void)snprintf(
                text, sizeof text, "%s%s%s%s%s%s%s%s%s%s", session->list.steps[i].id,
                state->answer[0] != '\0' ? ": " : "", state->answer, limit.text[0] != '\0' ? "; limit " : "",
                limit.text, state->note[0] != '\0' ? "; " : "", state->note,
                state->photo[0] != '\0' ? "; photo " : "", state->photo, state->by[0] != '\0' ? "; " : "");
            size_t used = strlen(text);
            if (state->by[0] != '\0')
                (void)snprintf(text + used, sizeof text - used, "%s %.10s", state->by, state->when);
            command_say_beside(out, label, 12, text);
        }
    }
    (void)ovp_text_print(out, "\n");
    checklist_print_end(session, out);
}

ovp_status checklist_write_results(const checklist_session *session, ovp_error *error)
{
    const char *path = NULL;
    ovp_status status = OVP_OK;
    store_file *file = malloc(sizeof *file);
    if (file == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    for (size_t i = 0; status == OVP_OK && (path = command_value_at(session->call, "results", i)) != NULL;
         i++) {
        size_t length = strlen(path);
        status = store_file_begin(file, path, error);
        if (status != OVP_OK)
            break;
        if (length > 5 && strcmp(path + length - 5, ".json") == 0)
            (void)checklist_print_json(session, store_file_sink(file));
        else
            write_text(session, store_file_sink(file));
        status = store_file_commit(file, error);
    }
    free(file);
    return status;
}
