/* checklist: the sheet to print. */
#include "command/beside.h"
#include "command/checklist.h"

#include <string.h>

void checklist_print_cautions(const checklist_session *session, ovp_sink out)
{
    char words[LUA_CHECKLIST_TEXT_SIZE];
    for (size_t i = 0; i < session->list.caution_count; i++)
        command_say_beside(out, "  !", 4, checklist_words(session, 0, session->list.cautions[i], words));
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
    checklist_print_cautions(session, out);
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
        if (limit.text[0] == '\0' || session->ovens[i].steps[step].result >= CHECKLIST_NOT_FITTED)
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
        bool fitted = session->ovens[i].steps[step].result < CHECKLIST_NOT_FITTED;
        used += (size_t)snprintf(label + used, sizeof label - used, "%s", fitted ? "[ ] " : " -  ");
    }
    (void)snprintf(label + used, sizeof label - used, "%2zu", step + 1);
    char text[LUA_CHECKLIST_TEXT_SIZE * 2];
    char words[LUA_CHECKLIST_TEXT_SIZE], tools[LUA_CHECKLIST_TEXT_SIZE];
    checklist_words(session, 0, row->text, words);
    (void)snprintf(text, sizeof text, "%s%s%s%s%s", words, row->tool[0] != '\0' ? " (" : "",
                   checklist_tools(row, tools), row->tool[0] != '\0' ? ")" : "", row->safety ? " *" : "");
    const char *beside = label;
    if (row->caution[0] != '\0') {
        char caution[LUA_CHECKLIST_TEXT_SIZE + 3];
        (void)snprintf(caution, sizeof caution, "! %s", checklist_words(session, 0, row->caution, words));
        command_say_beside(out, label, used + 4, caution);
        beside = ""; /* the number stands beside its caution: what to mind comes first */
    }
    command_say_beside(out, beside, used + 4, text);
    print_limits(session, step);
    (void)snprintf(text, sizeof text, "%s%s", row->stop ? "STOP: " : "",
                   checklist_words(session, 0, row->if_not, words));
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
    (void)ovp_text_print(
        out, "\n* safety test: skipped is never passed.  - part not fitted, or not touched by the repair.\n");
    command_say(out, session->list.due);
}
