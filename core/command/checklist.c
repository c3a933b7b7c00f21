/* checklist: a sheet to print, or a walk step by step, for several ovens side by side. */
#include "command/checklist.h"

#include "command/beside.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const command_option options[] = {
    {"oven", "OVEN", true, "an oven to check; give it again for several at one station"},
    {"answers", "FILE", false,
     "results as JSON: {\"ground\": \"0.1ohm\", \"door\": \"pass\"}; - is standard input"},
    {"list", NULL, false, "the checklists there are"},
    {0},
};

/* ---- judging ------------------------------------------------------------------------------------------ */

lua_checklist_facts checklist_facts(const checklist_session *session, size_t oven)
{
    const checklist_oven *one = &session->ovens[oven];
    return (lua_checklist_facts){
        .oven = one->described ? &one->description : NULL,
        .shown = session->call->degrees,
        .first_s = NAN,
        .first_V = NAN,
        .volts_V = NAN,
    };
}

const lua_checklist_limit *checklist_limit(const checklist_session *session, size_t oven, size_t step,
                                           lua_checklist_limit *limit)
{
    const lua_checklist_facts facts = checklist_facts(session, oven);
    lua_checklist_limit_of(&session->list.steps[step], &facts, limit);
    return limit;
}

bool checklist_not_fitted(const checklist_session *session, size_t oven, size_t step)
{
    const checklist_oven *one = &session->ovens[oven];
    const char *part = session->list.steps[step].needs_part;
    return one->described && ovp_oven_has_any(&one->description, part) == OVP_OVEN_NOT_FITTED;
}

static ovp_status judge_value(checklist_session *session, size_t oven, size_t step, double value,
                              ovp_error *error)
{
    lua_checklist_limit limit;
    checklist_limit(session, oven, step, &limit);
    if (!limit.known)
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "the oven's description does not give the limit of %s: say pass or fail",
                             session->list.steps[step].id);
    bool good = lua_checklist_within(&limit, value);
    session->ovens[oven].steps[step].value = value;
    session->ovens[oven].steps[step].result = good ? CHECKLIST_PASS : CHECKLIST_FAIL;
    return OVP_OK;
}

ovp_status checklist_answer(checklist_session *session, size_t oven, size_t step, const char *answer,
                            ovp_error *error)
{
    static const struct {
        const char *word;
        checklist_result result;
    } words[] = {
        {"pass", CHECKLIST_PASS},    {"p", CHECKLIST_PASS},          {"fail", CHECKLIST_FAIL},
        {"f", CHECKLIST_FAIL},       {"skip", CHECKLIST_SKIPPED},    {"s", CHECKLIST_SKIPPED},
        {"?", CHECKLIST_SKIPPED},    {"unknown", CHECKLIST_SKIPPED}, {"not-fitted", CHECKLIST_NOT_FITTED},
        {"n", CHECKLIST_NOT_FITTED},
    };
    const lua_checklist_step *row = &session->list.steps[step];
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (!ovp_span_equals(ovp_span_of(answer), words[i].word))
            continue;
        if (words[i].result == CHECKLIST_NOT_FITTED && row->needs_part[0] == '\0')
            return ovp_error_set(error, OVP_ERROR_DATA, "%s concerns no part that could be left out",
                                 row->id);
        session->ovens[oven].steps[step].result = words[i].result;
        session->ovens[oven].steps[step].value = NAN;
        (void)ovp_copy_string(session->ovens[oven].steps[step].answer, CHECKLIST_ANSWER_SIZE,
                              ovp_span_of(answer));
        return OVP_OK;
    }
    if (row->of == LUA_CHECKLIST_OF_EYE)
        return ovp_error_set(error, OVP_ERROR_DATA, "%s takes pass, fail or skip, not \"%s\"", row->id,
                             answer);
    double value = NAN;
    ovp_status status =
        ovp_text_quantity(ovp_span_of(answer), row->kind, session->call->degrees, &value, error);
    if (status == OVP_OK)
        status = judge_value(session, oven, step, value, error);
    if (status == OVP_OK)
        (void)ovp_copy_string(session->ovens[oven].steps[step].answer, CHECKLIST_ANSWER_SIZE,
                              ovp_span_of(answer));
    return status;
}

checklist_verdict checklist_judge(const checklist_session *session, size_t oven)
{
    bool failed = false, open = false;
    size_t passed = 0;
    for (size_t i = 0; i < session->list.step_count; i++) {
        const lua_checklist_step *row = &session->list.steps[i];
        checklist_result result = session->ovens[oven].steps[i].result;
        if (result == CHECKLIST_FAIL && row->stop)
            return CHECKLIST_STOPPED;
        failed = failed || result == CHECKLIST_FAIL;
        passed += result == CHECKLIST_PASS;
        open = open || (row->safety && (result == CHECKLIST_OPEN || result == CHECKLIST_SKIPPED));
    }
    if (failed)
        return CHECKLIST_BAD;
    return open || passed == 0 ? CHECKLIST_INCOMPLETE : CHECKLIST_GOOD;
}

int checklist_exit_status(const checklist_session *session)
{
    for (size_t i = 0; i < session->oven_count; i++)
        if (checklist_judge(session, i) != CHECKLIST_GOOD)
            return (int)OVP_JUDGED;
    return 0;
}

/* ---- answers as JSON ---------------------------------------------------------------------------------- */

static ovp_status answer_value(checklist_session *session, size_t oven, size_t step, const json_t *value,
                               ovp_error *error)
{
    char number[OVP_TEXT_NUMBER_SIZE];
    if (json_is_string(value))
        return checklist_answer(session, oven, step, json_string_value(value), error);
    if (json_is_number(value)) {
        ovp_text_format_number(json_number_value(value), number);
        return checklist_answer(session, oven, step, number, error);
    }
    if (json_is_boolean(value))
        return checklist_answer(session, oven, step, json_is_true(value) ? "pass" : "fail", error);
    return ovp_error_set(error, OVP_ERROR_DATA, "the result of %s is no word and no quantity",
                         session->list.steps[step].id);
}

static ovp_status find_step(const checklist_session *session, const char *id, size_t *step, ovp_error *error)
{
    for (size_t i = 0; i < session->list.step_count; i++) {
        if (strcmp(session->list.steps[i].id, id) != 0)
            continue;
        *step = i;
        return OVP_OK;
    }
    return ovp_error_set(error, OVP_ERROR_DATA, "the checklist %s has no step \"%s\"", session->list.name,
                         id);
}

/* { "ground": "0.1ohm" } for every oven, or { "ground": { "QR-8": "0.1ohm" } } for each by its name. */
static ovp_status answer_step(checklist_session *session, const char *id, json_t *value, ovp_error *error)
{
    size_t step = 0;
    ovp_status status = find_step(session, id, &step, error);
    for (size_t i = 0; i < session->oven_count && status == OVP_OK; i++) {
        const json_t *one = json_is_object(value) ? json_object_get(value, session->ovens[i].label) : value;
        if (one != NULL && !checklist_not_fitted(session, i, step))
            status = answer_value(session, i, step, one, error);
    }
    return status;
}

ovp_status checklist_read_answers(checklist_session *session, const char *path, ovp_error *error)
{
    json_error_t at = {0};
    json_t *root = strcmp(path, "-") == 0 ? json_loadf(stdin, 0, &at) : json_load_file(path, 0, &at);
    ovp_status status = OVP_OK;
    if (root == NULL) {
        bool unreadable = json_error_code(&at) == json_error_cannot_open_file;
        status = unreadable ? ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot be read")
                            : ovp_error_set(error, OVP_ERROR_DATA, "is not JSON: %s", at.text);
        if (unreadable)
            ovp_error_hint(error, "check that it is a file that you may read");
        ovp_error_place(error, path, unreadable || at.line < 0 ? 0 : (uint64_t)at.line);
    } else if (!json_is_object(root)) {
        status = ovp_error_set(error, OVP_ERROR_DATA, "is not an object of steps");
    }
    const char *id = NULL;
    json_t *value = NULL;
    json_object_foreach(root, id, value)
    {
        if (status == OVP_OK)
            status = answer_step(session, id, value, error);
    }
    json_decref(root);
    if (status != OVP_OK) {
        ovp_error_place(error, path, 0);
        ovp_error_hint(
            error, "results look like {\"ground\": \"0.1ohm\", \"door\": \"pass\", \"limiter\": \"skip\"}");
    }
    return status;
}

/* ---- the command -------------------------------------------------------------------------------------- */

static void warn_of_oven(void *context, const char *text)
{
    (void)context;
    (void)fprintf(stderr, "ovenproof: note: %s\n", text);
}

static ovp_status take_ovens(checklist_session *session, ovp_error *error)
{
    const char *name = NULL;
    for (size_t i = 0; (name = command_value_at(session->call, "oven", i)) != NULL; i++) {
        if (i == CHECKLIST_OVENS)
            return ovp_error_set(error, OVP_ERROR_USAGE, "more than %d ovens", CHECKLIST_OVENS);
        checklist_oven *oven = &session->ovens[i];
        ovp_status status = lua_read_oven(name, &oven->description, warn_of_oven, NULL, error);
        if (status != OVP_OK)
            return status;
        oven->described = true;
        (void)ovp_copy_string(oven->label, sizeof oven->label, ovp_span_of(name));
        session->oven_count = i + 1;
    }
    if (session->oven_count == 0) {
        session->oven_count = 1;
        (void)ovp_copy_string(session->ovens[0].label, sizeof session->ovens[0].label,
                              ovp_span_of("the oven"));
    }
    return OVP_OK;
}

static void note_not_fitted(checklist_session *session)
{
    for (size_t oven = 0; oven < session->oven_count; oven++)
        for (size_t step = 0; step < session->list.step_count; step++) {
            session->ovens[oven].steps[step].value = NAN;
            if (checklist_not_fitted(session, oven, step))
                session->ovens[oven].steps[step].result = CHECKLIST_NOT_FITTED;
        }
}

static int run_session(checklist_session *session)
{
    const command_call *call = session->call;
    ovp_error error = {0};
    const char *name = call->operand_count > 0 ? call->operands[0] : "half-year";
    ovp_status status = lua_find("checklists", name, session->path, sizeof session->path, &error);
    if (status == OVP_OK)
        status = lua_read_checklist(session->path, &session->list, &error);
    if (status == OVP_OK)
        status = take_ovens(session, &error);
    if (status != OVP_OK)
        return command_fail(&error);
    note_not_fitted(session);
    const char *answers = command_value(call, "answers");
    if (answers != NULL && checklist_read_answers(session, answers, &error) != OVP_OK)
        return command_fail(&error);
    if (call->json)
        status = checklist_print_json(session);
    else if (answers != NULL)
        checklist_print_end(session);
    else if (isatty(STDIN_FILENO) == 1 && isatty(STDOUT_FILENO) == 1)
        return checklist_talk(session);
    else
        checklist_print_sheet(session);
    if (status != OVP_OK)
        return (int)OVP_ERROR_SYSTEM;
    return answers != NULL ? checklist_exit_status(session) : 0;
}

static void list_one(void *context, const char *name, const char *path)
{
    const ovp_sink *out = context;
    lua_checklist *list = malloc(sizeof *list);
    ovp_error error = {0};
    bool readable = list != NULL && lua_read_checklist(path, list, &error) == OVP_OK;
    (void)ovp_text_print(*out, "%-20s %s\n", name, readable ? list->title : error.what);
    free(list);
}

static void list_one_json(void *context, const char *name, const char *path)
{
    ovp_text_json *json = context;
    lua_checklist *list = malloc(sizeof *list);
    ovp_error error = {0};
    bool readable = list != NULL && lua_read_checklist(path, list, &error) == OVP_OK;
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "name", name);
    ovp_text_json_key_string(json, "title", readable ? list->title : "");
    ovp_text_json_key_string(json, "text", readable ? list->text : error.what);
    ovp_text_json_key_string(json, "file", path);
    ovp_text_json_key_integer(json, "steps", readable ? (int64_t)list->step_count : 0);
    ovp_text_json_end_object(json);
    free(list);
}

static int print_list(const command_call *call)
{
    if (!call->json) {
        ovp_sink out = call->out;
        lua_list("checklists", list_one, &out);
        return 0;
    }
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "checklist", 1);
    ovp_text_json_key(&json, "checklists");
    ovp_text_json_begin_array(&json);
    lua_list("checklists", list_one_json, &json);
    ovp_text_json_end_array(&json);
    return ovp_text_json_end_document(&json) == OVP_OK ? 0 : (int)OVP_ERROR_SYSTEM;
}

static int run_checklist(command_call *call)
{
    if (call->operand_count > 1)
        return command_usage(call, "one checklist at a time");
    if (command_given(call, "list"))
        return print_list(call);
    checklist_session *session = calloc(1, sizeof *session);
    if (session == NULL) {
        ovp_error error = {0};
        (void)ovp_error_set(&error, OVP_ERROR_SYSTEM, "out of memory");
        return command_fail(&error);
    }
    session->call = call;
    int status = run_session(session);
    free(session);
    return status;
}

const command_definition command_checklist = {
    .name = "checklist",
    .synopsis = "[NAME] [--oven OVEN]... [--answers FILE]",
    .summary = "a maintenance checklist with the limits of this oven, to print or to walk",
    .details =
        "At a terminal it is walked step by step; elsewhere the sheet is printed, with boxes to tick. A\n"
        "skipped safety test is never a pass. NAME is half-year when it is left out. Exit status with\n"
        "results: 0 when every oven is good, 1 otherwise.",
    .options = options,
    .examples = "ovenproof checklist half-year --oven QR-8 > sheet.txt\n"
                "ovenproof checklist half-year --oven QR-8 --oven QR-3\n"
                "ovenproof checklist --list",
    .run = run_checklist,
};
