/* checklist: the sheet, the end and the document. */
#include "command/beside.h"
#include "command/checklist.h"

#include <math.h>
#include <string.h>

void checklist_print_cautions(const checklist_session *session)
{
    ovp_sink out = session->call->out;
    for (size_t i = 0; i < session->list.caution_count; i++)
        command_say_beside(out, "  !", 4, session->list.cautions[i]);
}

/* ---- the sheet ---------------------------------------------------------------------------------------- */

static void print_heading(const checklist_session *session)
{
    ovp_sink out = session->call->out;
    (void)ovp_text_print(out, "%s:", session->list.title);
    for (size_t i = 0; i < session->oven_count; i++)
        (void)ovp_text_print(out, "%s %s", i > 0 ? "," : "", session->ovens[i].label);
    (void)ovp_text_print(out, "\n");
    command_say(out, session->list.text);
    (void)ovp_text_print(out,
                         "\nDate ______________  Done by ______________  Serial ______________  Hot hours "
                         "________\n\nFirst\n");
    checklist_print_cautions(session);
}

/* One line when the ovens share a limit, else a line each. */
static void print_limits(const checklist_session *session, size_t step)
{
    char line[LUA_CHECKLIST_TEXT_SIZE + CHECKLIST_OVENS * (OVP_OVEN_STRING_SIZE + 32)],
        last[LUA_CHECKLIST_TEXT_SIZE] = "";
    size_t used = 0;
    for (size_t i = 0; i < session->oven_count; i++) {
        lua_checklist_limit limit;
        checklist_limit(session, i, step, &limit);
        if (limit.text[0] == '\0' || session->ovens[i].steps[step].result == CHECKLIST_NOT_FITTED)
            continue;
        if (used > 0 && strcmp(limit.text, last) != 0) {
            command_say_beside(session->call->out, "        Limit:", 15, line);
            used = 0;
        }
        if (used == 0)
            used = (size_t)snprintf(line, sizeof line, "%s.  Reads", limit.text);
        bool several = session->oven_count > 1;
        used += (size_t)snprintf(line + used, sizeof line - used, "%s%s ______________", several ? " " : "",
                                 several ? session->ovens[i].label : "");
        (void)ovp_copy_string(last, sizeof last, ovp_span_of(limit.text));
    }
    if (used > 0)
        command_say_beside(session->call->out, "        Limit:", 15, line);
}

static void print_sheet_step(const checklist_session *session, size_t step)
{
    ovp_sink out = session->call->out;
    const lua_checklist_step *row = &session->list.steps[step];
    char label[CHECKLIST_OVENS * 4 + 16];
    size_t used = 0;
    for (size_t i = 0; i < session->oven_count; i++) {
        bool fitted = session->ovens[i].steps[step].result != CHECKLIST_NOT_FITTED;
        used += (size_t)snprintf(label + used, sizeof label - used, "%s", fitted ? "[ ] " : " -  ");
    }
    (void)snprintf(label + used, sizeof label - used, "%2zu", step + 1);
    char text[LUA_CHECKLIST_TEXT_SIZE * 2];
    char words[LUA_CHECKLIST_TEXT_SIZE];
    const lua_checklist_facts facts = checklist_facts(session, 0);
    lua_checklist_words(row->text, &facts, words, sizeof words);
    (void)snprintf(text, sizeof text, "%s%s%s%s%s", words, row->tool[0] != '\0' ? " (" : "", row->tool,
                   row->tool[0] != '\0' ? ")" : "", row->safety ? " *" : "");
    if (row->caution[0] != '\0')
        command_say_beside(out, "      !", 8, row->caution);
    command_say_beside(out, label, used + 4, text);
    print_limits(session, step);
    (void)snprintf(text, sizeof text, "%s%s", row->stop ? "STOP: " : "", row->if_not);
    command_say_beside(out, "        If not:", 16, text);
    if (row->record[0] != '\0') {
        (void)snprintf(text, sizeof text, "%s ____________________________", row->record);
        command_say_beside(out, "        Write:", 15, text);
    }
}

void checklist_print_sheet(const checklist_session *session)
{
    ovp_sink out = session->call->out;
    print_heading(session);
    const char *station = "";
    for (size_t i = 0; i < session->list.step_count; i++) {
        if (strcmp(station, session->list.steps[i].station) != 0)
            (void)ovp_text_print(out, "\n%s\n", session->list.steps[i].station);
        station = session->list.steps[i].station;
        print_sheet_step(session, i);
    }
    (void)ovp_text_print(out, "\n* safety test: skipped is never passed.  - part not fitted.\n");
    command_say(out, session->list.due);
}

/* ---- the end ------------------------------------------------------------------------------------------ */

static size_t count_results(const checklist_session *session, size_t oven, checklist_result result)
{
    size_t count = 0;
    for (size_t i = 0; i < session->list.step_count; i++)
        count += session->ovens[oven].steps[i].result == result;
    return count;
}

static const char *verdict_word(checklist_verdict verdict)
{
    static const char *const words[] = {"pass", "incomplete", "fail", "stop"};
    return words[verdict];
}

static bool unproved(const checklist_session *session, size_t oven, size_t step)
{
    checklist_result result = session->ovens[oven].steps[step].result;
    return result == CHECKLIST_OPEN || result == CHECKLIST_SKIPPED;
}

/* The tool that the most unproved steps want; NULL when they want none. */
static const char *missing_tool(const checklist_session *session, size_t oven, size_t *steps)
{
    const char *best = NULL;
    *steps = 0;
    for (size_t i = 0; i < session->list.step_count; i++) {
        const char *tool = session->list.steps[i].tool;
        size_t count = 0;
        for (size_t j = 0; j < session->list.step_count && tool[0] != '\0'; j++)
            count += unproved(session, oven, j) && strcmp(session->list.steps[j].tool, tool) == 0;
        if (count > *steps) {
            *steps = count;
            best = tool;
        }
    }
    return best;
}

static void print_oven_end(const checklist_session *session, size_t oven)
{
    static const char *const lines[] = {
        "good: every safety test that applies was done and passed.",
        "not proved: a safety test is undone. Not a pass.",
        "trouble: see below.",
        "STOP: do not use it until this is repaired and checked again.",
    };
    ovp_sink out = session->call->out;
    const checklist_oven *one = &session->ovens[oven];
    (void)ovp_text_print(out, "%s: %s\n", one->label, lines[checklist_judge(session, oven)]);
    (void)ovp_text_print(
        out, "  %zu passed, %zu failed, %zu skipped, %zu open, %zu not fitted\n",
        count_results(session, oven, CHECKLIST_PASS), count_results(session, oven, CHECKLIST_FAIL),
        count_results(session, oven, CHECKLIST_SKIPPED), count_results(session, oven, CHECKLIST_OPEN),
        count_results(session, oven, CHECKLIST_NOT_FITTED));
    for (size_t i = 0; i < session->list.step_count; i++) {
        char text[LUA_CHECKLIST_TEXT_SIZE + 128];
        if (one->steps[i].result != CHECKLIST_FAIL)
            continue;
        (void)snprintf(text, sizeof text, "%s%s%s: %s", session->list.steps[i].id,
                       isnan(one->steps[i].value) ? "" : " ",
                       isnan(one->steps[i].value) ? "" : one->steps[i].answer, session->list.steps[i].if_not);
        command_say_beside(out, "  failed", 11, text);
    }
    char ids[1024] = "";
    size_t used = 0;
    for (size_t i = 0; i < session->list.step_count && used < sizeof ids; i++)
        if (unproved(session, oven, i))
            used += (size_t)snprintf(ids + used, sizeof ids - used, "%s%s%s", used > 0 ? ", " : "",
                                     session->list.steps[i].id, session->list.steps[i].safety ? "*" : "");
    if (used > 0)
        command_say_beside(out, "  unproved", 11, ids);
    size_t steps = 0;
    const char *tool = missing_tool(session, oven, &steps);
    if (tool != NULL)
        (void)ovp_text_print(out, "  A %s would prove %zu of them.\n", tool, steps);
}

void checklist_print_end(const checklist_session *session)
{
    for (size_t i = 0; i < session->oven_count; i++)
        print_oven_end(session, i);
    (void)ovp_text_print(session->call->out, "* safety test\n");
    command_say(session->call->out, session->list.due);
}

/* ---- the document ------------------------------------------------------------------------------------- */

static const char *unit_of(ovp_text_kind kind)
{
    switch (kind) {
    case OVP_TEXT_RESISTANCE:
        return "ohm";
    case OVP_TEXT_EMF:
        return "mV";
    case OVP_TEXT_CURRENT:
        return "A";
    case OVP_TEXT_VOLTAGE:
        return "V";
    case OVP_TEXT_DURATION:
        return "s";
    case OVP_TEXT_TEMPERATURE_DIFFERENCE:
        return "C";
    default:
        return "";
    }
}

static void write_step(const checklist_session *session, size_t oven, size_t step, ovp_text_json *json)
{
    static const char *const results[] = {"open", "pass", "fail", "skipped", "not-fitted"};
    const lua_checklist_step *row = &session->list.steps[step];
    lua_checklist_limit limit;
    checklist_limit(session, oven, step, &limit);
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "id", row->id);
    ovp_text_json_key_string(json, "station", row->station);
    ovp_text_json_key_string(json, "step", row->text);
    ovp_text_json_key_string(json, "caution", row->caution);
    ovp_text_json_key_string(json, "who", row->technician ? "technician" : "owner");
    ovp_text_json_key_string(json, "tools", row->tool[0] != '\0' ? row->tool : "none");
    ovp_text_json_key_string(json, "result", results[session->ovens[oven].steps[step].result]);
    ovp_text_json_key_number(json, "value", session->ovens[oven].steps[step].value);
    ovp_text_json_key_number(json, "low", limit.low);
    ovp_text_json_key_number(json, "high", limit.high);
    ovp_text_json_key_string(json, "unit", row->of == LUA_CHECKLIST_OF_EYE ? "" : unit_of(row->kind));
    ovp_text_json_key_string(json, "limit", limit.text);
    ovp_text_json_key_boolean(json, "safety", row->safety);
    ovp_text_json_key_boolean(json, "stop", row->stop);
    ovp_text_json_key_string(json, "if_not", row->if_not);
    ovp_text_json_key_string(json, "source", row->source);
    ovp_text_json_end_object(json);
}

static void write_ids(const checklist_session *session, size_t oven, bool failed, ovp_text_json *json)
{
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < session->list.step_count; i++)
        if (failed ? session->ovens[oven].steps[i].result == CHECKLIST_FAIL : unproved(session, oven, i))
            ovp_text_json_string(json, session->list.steps[i].id);
    ovp_text_json_end_array(json);
}

ovp_status checklist_print_json(const checklist_session *session)
{
    ovp_text_json json;
    ovp_text_json_init(&json, session->call->out);
    ovp_text_json_begin_document(&json, "checklist", 1);
    ovp_text_json_key_string(&json, "checklist", session->list.name);
    ovp_text_json_key_string(&json, "title", session->list.title);
    ovp_text_json_key_string(&json, "due", session->list.due);
    ovp_text_json_key(&json, "cautions");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < session->list.caution_count; i++)
        ovp_text_json_string(&json, session->list.cautions[i]);
    ovp_text_json_end_array(&json);
    ovp_text_json_key(&json, "ovens");
    ovp_text_json_begin_array(&json);
    for (size_t oven = 0; oven < session->oven_count; oven++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "oven", session->ovens[oven].label);
        ovp_text_json_key_string(&json, "verdict", verdict_word(checklist_judge(session, oven)));
        ovp_text_json_key(&json, "failed");
        write_ids(session, oven, true, &json);
        ovp_text_json_key(&json, "not_proved");
        write_ids(session, oven, false, &json);
        ovp_text_json_key(&json, "steps");
        ovp_text_json_begin_array(&json);
        for (size_t i = 0; i < session->list.step_count; i++)
            write_step(session, oven, i, &json);
        ovp_text_json_end_array(&json);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    return ovp_text_json_end_document(&json);
}
