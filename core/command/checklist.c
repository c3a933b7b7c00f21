/* checklist: a sheet to print, or a walk step by step, for several ovens side by side. */
#include "command/checklist.h"

#include "command/setup.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const command_option options[] = {
    {"oven", "OVEN", true, "an oven to check; give it again for several at one station"},
    {"serial", "A,B", false, "several ovens of the one model that --oven names, by their serials"},
    {"order", "step|oven", false, "a step for all ovens, then the next (default); or a station oven by oven"},
    {"who", "WHO", false, "owner or technician; else what the list is for"},
    {"have", "TOOL,...", false,
     "only these tools; `none` for hands and eyes; else those that `setup` was told"},
    {"run", "NAME", false, "keep this as a run, every answer at once, or go on with one"},
    {"open", NULL, false, "runs that are not finished"},
    {"answers", "FILE", false,
     "results as JSON: {\"ground\": \"0.1ohm\", \"door\": \"pass\"}; - is standard input"},
    {"results", "FILE", true, "write the results: JSON when FILE ends in .json, else text to print"},
    {"record", "FILE", false, "results of its first firing, to compare with"},
    {"first-firing", "TIME", false, "how long its first firing took to the last mark: 30min"},
    {"repair", "FAULT", false, "what was repaired: its proof, and the steps that it touched"},
    {"by", "NAME", false, "who does it"},
    {"date", "DATE", false, "the day of the check (2026-11-25); else today"},
    {"firings", "N", false, "firings since it was new or its joints were remade"},
    {"hot-hours", "N", false, "hot hours since the last check of its joints"},
    {"checks", "N", false, "checks of its joints before this one"},
    {"tight", "N", false, "of the latest of them: how many needed no turn"},
    {"turned", "no|yes|far", false, "whether a screw turned now; far: more than an eighth of a turn"},
    {"print", NULL, false, "the sheet with boxes to tick, also at a terminal"},
    {"list", NULL, false, "the checklists there are"},
    {0},
};

/* ---- the command -------------------------------------------------------------------------------------- */

static void warn_of_oven(void *context, const char *text)
{
    (void)context;
    (void)fprintf(stderr, "ovenproof: note: %s\n", text);
}

static ovp_status add_oven(checklist_session *session, const char *named, const char *label, ovp_error *error)
{
    if (session->oven_count == CHECKLIST_OVENS)
        return ovp_error_set(error, OVP_ERROR_USAGE, "more than %d ovens", CHECKLIST_OVENS);
    for (size_t i = 0; i < session->oven_count; i++)
        if (strcmp(session->ovens[i].label, label) == 0)
            return ovp_error_set(error, OVP_ERROR_USAGE, "the oven %s is named twice", label);
    checklist_oven *oven = &session->ovens[session->oven_count++];
    oven->first_s = oven->first_V = NAN;
    (void)ovp_copy_string(oven->named, sizeof oven->named, ovp_span_of(named));
    (void)ovp_copy_string(oven->label, sizeof oven->label, ovp_span_of(label));
    return OVP_OK;
}

/* One model, several serials. */
static ovp_status add_serials(checklist_session *session, const char *model, const char *serials,
                              ovp_error *error)
{
    ovp_status status = OVP_OK;
    for (const char *at = serials; *at != '\0' && status == OVP_OK;) {
        char label[OVP_OVEN_STRING_SIZE];
        size_t length = strcspn(at, ",");
        (void)ovp_copy_string(label, sizeof label, ovp_span_trim((ovp_span){at, length}));
        if (label[0] != '\0')
            status = add_oven(session, model, label, error);
        at += length + (at[length] != '\0');
    }
    return status;
}

static ovp_status name_ovens(checklist_session *session, ovp_error *error)
{
    const command_call *call = session->call;
    const char *name = NULL, *serials = command_value(call, "serial");
    ovp_status status = OVP_OK;
    if (session->resumed) {
        if (!command_given(call, "oven") && serials == NULL)
            return OVP_OK;
        status = ovp_error_set(error, OVP_ERROR_USAGE, "the run %s has its ovens already", session->run);
        ovp_error_hint(error, "leave --oven and --serial out to go on with it, or begin another run");
        return status;
    }
    if (serials != NULL &&
        (command_value_at(call, "oven", 0) == NULL || command_value_at(call, "oven", 1) != NULL))
        return ovp_error_set(error, OVP_ERROR_USAGE, "--serial goes with one --oven, which names the model");
    if (serials != NULL)
        return add_serials(session, command_value(call, "oven"), serials, error);
    for (size_t i = 0; status == OVP_OK && (name = command_value_at(call, "oven", i)) != NULL; i++)
        status = add_oven(session, name, name, error);
    if (session->oven_count == 0)
        status = add_oven(session, "", "the oven", error);
    return status;
}

static ovp_status take_ovens(checklist_session *session, ovp_error *error)
{
    ovp_status status = name_ovens(session, error);
    for (size_t i = 0; i < session->oven_count && status == OVP_OK; i++) {
        checklist_oven *oven = &session->ovens[i];
        oven->described = oven->named[0] != '\0';
        if (oven->described)
            status =
                lua_read_oven(oven->named, &oven->description, i == 0 ? warn_of_oven : NULL, NULL, error);
        if (status != OVP_OK)
            ovp_error_hint(error, "a serial is named beside its model: --oven QR-8 --serial QR8-001,QR8-002");
    }
    return status;
}

static ovp_status take_tools(checklist_session *session, ovp_error *error)
{
    static store_settings settings; /* large */
    ovp_status status = store_settings_load(&settings, error);
    if (status != OVP_OK)
        return status;
    (void)ovp_copy_string(session->colours, sizeof session->colours, ovp_span_of(settings.colours));
    const char *have = command_value(session->call, "have");
    if (have == NULL && session->resumed)
        return OVP_OK;
    session->tools_known = have != NULL || settings.tools_known;
    if (have == NULL) {
        (void)store_settings_tools(&settings, ",", session->tools, sizeof session->tools);
        return OVP_OK;
    }
    if (!ovp_span_equals(ovp_span_of(have), "none") &&
        setup_set(&settings, "tools", have, error) != OVP_OK) { /* checks the words */
        error->status = OVP_ERROR_USAGE;
        return OVP_ERROR_USAGE;
    }
    session->tools[0] = '\0';
    if (!ovp_span_equals(ovp_span_of(have), "none"))
        (void)store_settings_tools(&settings, ",", session->tools, sizeof session->tools);
    return OVP_OK;
}

static ovp_status take_choice(const command_call *call, const char *option, const char *usual,
                              const char *other, bool *is_other, ovp_error *error)
{
    const char *word = command_value(call, option);
    if (word == NULL)
        return OVP_OK;
    *is_other = strcmp(word, other) == 0;
    if (*is_other || strcmp(word, usual) == 0)
        return OVP_OK;
    return ovp_error_set(error, OVP_ERROR_USAGE, "option --%s: %s or %s, not \"%s\"", option, usual, other,
                         word);
}

static ovp_status take_repair(checklist_session *session, ovp_error *error)
{
    const char *fault = command_value(session->call, "repair");
    if (fault == NULL)
        return OVP_OK;
    session->repair = ovp_diagnosis_fault_named(fault);
    if (session->repair != NULL)
        return OVP_OK;
    ovp_status status = ovp_error_set(error, OVP_ERROR_USAGE, "no fault is called \"%s\"", fault);
    ovp_error_hint(error, "the faults are rows of reference/faults.csv, such as relay-shorted");
    return status;
}

static ovp_status take_options(checklist_session *session, ovp_error *error)
{
    const command_call *call = session->call;
    const char *by = command_value(call, "by");
    double first_s = NAN;
    if (!session->resumed)
        session->technician = session->list.technician;
    if (by != NULL)
        (void)ovp_copy_string(session->by, sizeof session->by, ovp_span_of(by));
    ovp_status status = take_choice(call, "who", "owner", "technician", &session->technician, error);
    if (status == OVP_OK)
        status = take_choice(call, "order", "step", "oven", &session->oven_by_oven, error);
    if (status == OVP_OK)
        status = take_repair(session, error);
    if (status == OVP_OK)
        status = take_tools(session, error);
    if (status == OVP_OK)
        status = command_quantity(call, "first-firing", OVP_TEXT_DURATION, &first_s, error);
    for (size_t i = 0; i < session->oven_count && !isnan(first_s); i++)
        session->ovens[i].first_s = first_s;
    const char *record = command_value(call, "record");
    if (status == OVP_OK && record != NULL)
        status = checklist_read_record(session, record, error);
    return status;
}

/* ---- when the joints are due
 * --------------------------------------------------------------------------------- */

static ovp_status take_count(const command_call *call, const char *option, double *count, ovp_error *error)
{
    ovp_status status = command_quantity(call, option, OVP_TEXT_COUNT, count, error);
    if (status == OVP_OK && *count < 0)
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --%s is below 0", option);
    return status;
}

/* Whether the joints were looked at in this run: on every oven. */
static bool torqued(const checklist_session *session)
{
    size_t done = 0;
    for (size_t oven = 0; oven < session->oven_count; oven++)
        for (size_t i = 0; i < session->list.step_count; i++)
            done += strcmp(session->list.steps[i].id, "torque") == 0 &&
                    session->ovens[oven].steps[i].result == CHECKLIST_PASS;
    return done == session->oven_count;
}

static bool due_is_asked(const checklist_session *session)
{
    static const char *const names[] = {"date", "firings", "hot-hours", "checks", "tight", "turned"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (command_given(session->call, names[i]))
            return true;
    return torqued(session);
}

static ovp_status take_due(checklist_session *session, ovp_error *error)
{
    const command_call *call = session->call;
    const char *date = command_value(call, "date"), *turned = command_value(call, "turned");
    double firings = NAN, hours = NAN, checks = 0, tight = 0;
    char now[STORE_WHEN_SIZE];
    store_now(now);
    (void)ovp_text_day((ovp_span){now, 10}, &session->today);
    if (date != NULL && !ovp_text_day(ovp_span_of(date), &session->today))
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --date: \"%s\" is no day such as 2026-11-25",
                             date);
    if (turned != NULL && strcmp(turned, "no") != 0 && strcmp(turned, "yes") != 0 &&
        strcmp(turned, "far") != 0)
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --turned: no, yes or far, not \"%s\"", turned);
    ovp_status status = take_count(call, "firings", &firings, error);
    if (status == OVP_OK)
        status = take_count(call, "hot-hours", &hours, error);
    if (status == OVP_OK)
        status = take_count(call, "checks", &checks, error);
    if (status == OVP_OK)
        status = take_count(call, "tight", &tight, error);
    if (status != OVP_OK || !due_is_asked(session))
        return status;
    const bool checked = torqued(session);
    ovp_electrical_check_history history = {
        .firings = firings,
        .checks = (size_t)fmin(checks, 1000) + checked,
        .tight_in_a_row = (size_t)fmin(tight, 1000),
        .has_day = true,
        .day = session->today,
        .hot_hours = checked ? 0 : hours,
        .hot_hours_per_day = NAN,
        .today = session->today,
    };
    if (checked)
        history.tight_in_a_row = turned != NULL && strcmp(turned, "no") == 0 ? history.tight_in_a_row + 1 : 0;
    if (turned != NULL && strcmp(turned, "far") == 0)
        history.far_in_a_row = 1;
    ovp_electrical_next_check(&history, &session->due);
    session->has_due = true;
    return OVP_OK;
}

/* ---- the run
 * ---------------------------------------------------------------------------------------------------- */

static ovp_status begin(checklist_session *session, ovp_error *error)
{
    const command_call *call = session->call;
    const char *run = command_value(call, "run"), *named = "half-year";
    ovp_status status = run != NULL ? checklist_open_run(session, run, error) : OVP_OK;
    if (status != OVP_OK)
        return status;
    if (call->operand_count > 0)
        named = call->operands[0];
    if (session->resumed && call->operand_count > 0 && strcmp(named, session->named) != 0) {
        status = ovp_error_set(error, OVP_ERROR_USAGE, "the run %s is of the checklist %s", session->run,
                               session->named);
        ovp_error_hint(error, "go on with `ovenproof checklist --run %s`, or begin another run",
                       session->run);
        return status;
    }
    if (!session->resumed)
        (void)ovp_copy_string(session->named, sizeof session->named, ovp_span_of(named));
    status = lua_find("checklists", session->named, session->path, sizeof session->path, error);
    if (status == OVP_OK)
        status = lua_read_checklist(session->path, &session->list, error);
    if (status == OVP_OK)
        status = take_ovens(session, error);
    if (status == OVP_OK)
        status = take_options(session, error);
    if (status == OVP_OK)
        status = checklist_expand(session, error);
    if (status != OVP_OK)
        return status;
    checklist_set_aside(session);
    return checklist_replay(session, error);
}

static int run_session(checklist_session *session)
{
    const command_call *call = session->call;
    ovp_error error = {0};
    const char *answers = command_value(call, "answers");
    ovp_status status = begin(session, &error);
    if (status == OVP_OK && answers != NULL)
        status = checklist_read_answers(session, answers, &error);
    if (status == OVP_OK && answers != NULL)
        status = checklist_save_run(session, &error);
    if (status == OVP_OK)
        status = take_due(session, &error);
    if (status == OVP_ERROR_USAGE)
        ovp_error_hint(&error, "`ovenproof checklist --help` shows every option");
    if (status != OVP_OK)
        return command_fail(&error);
    bool terminal = isatty(STDIN_FILENO) == 1 && isatty(STDOUT_FILENO) == 1;
    bool judged = answers != NULL || session->resumed;
    if (!terminal && !judged && !call->json && command_given(call, "run") && !command_given(call, "print")) {
        ovp_error_set(&error, OVP_ERROR_USAGE, "a new run is walked at a terminal, and this is none");
        ovp_error_hint(&error, "take results from a file: --answers FILE; or print the sheet without --run");
        return command_fail(&error);
    }
    if (terminal && !call->json && answers == NULL && !command_given(call, "print"))
        return checklist_talk(session);
    if (judged && checklist_write_results(session, &error) != OVP_OK)
        return command_fail(&error);
    if (call->json)
        status = checklist_print_json(session, call->out);
    else if (judged && !command_given(call, "print"))
        checklist_print_end(session, call->out);
    else
        checklist_print_sheet(session);
    if (status != OVP_OK)
        return (int)OVP_ERROR_SYSTEM;
    return judged ? checklist_exit_status(session) : 0;
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
    if (command_given(call, "open"))
        return checklist_list_runs(call);
    checklist_session *session = calloc(1, sizeof *session);
    if (session == NULL) {
        ovp_error error = {0};
        (void)ovp_error_set(&error, OVP_ERROR_SYSTEM, "out of memory");
        return command_fail(&error);
    }
    session->call = call;
    session->lock = -1;
    session->entries = calloc(CHECKLIST_ENTRIES, sizeof *session->entries);
    int status = (int)OVP_ERROR_SYSTEM;
    if (session->entries != NULL)
        status = run_session(session);
    if (session->lock >= 0)
        (void)close(session->lock);
    free(session->entries);
    free(session);
    return status;
}

const command_definition command_checklist = {
    .name = "checklist",
    .synopsis = "[NAME] [--oven OVEN]... [--run NAME] [--answers FILE] [--results FILE]",
    .summary = "A maintenance checklist with the limits of this oven, to print or to walk.",
    .details =
        "At a terminal it is walked step by step; elsewhere the sheet is printed, with boxes to tick. A\n"
        "skipped safety test is never a pass. NAME is half-year when it is left out. Exit status with\n"
        "results: 0 when every oven is good, 1 otherwise.",
    .options = options,
    .examples = "ovenproof checklist half-year --oven QR-8 > sheet.txt\n"
                "ovenproof checklist bench-test --oven QR-8 --serial QR8-001,QR8-002\n"
                "ovenproof checklist parameters --oven QR-8\n"
                "ovenproof checklist repair-acceptance --oven QR-3 --repair relay-shorted\n"
                "ovenproof checklist --list",
    .run = run_checklist,
};
