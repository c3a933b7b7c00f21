/* guide: fault-finding by one question at a time. This file takes the call apart and weighs the answers. */
#include "command/guide.h"

#include "command/causes.h"
#include "store/store.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

static const command_option options[] = {
    {"oven", "OVEN", false, "the oven's description: a file, or a name on the search path"},
    {"context", "C", false, "new-build, in-service (default), after-transport or after-rewire"},
    {"who", "WHO", false, "owner (default; never asked for a live measurement) or technician"},
    {"have", "TOOL,...", false,
     "only these tools: multimeter, magnet...; `none` for hands and eyes; else those that `setup` was told"},
    {"trace", "RUN", false, "begin with what this heat-up trace showed"},
    {"answers", "FILE", false, "take these answers (JSON; - is standard input) and say what comes next"},
    {"list", NULL, false, "every measurement and every guide"},
    {"why", NULL, false, "figures: probabilities and what moved them"},
    {0},
};

/* ---- what the call says ------------------------------------------------------------------------------- */

static bool is_tool(const char *tools, ovp_span word)
{
    ovp_span rest = ovp_span_of(tools);
    while (rest.count > 0) {
        const char *bar = memchr(rest.bytes, ',', rest.count);
        ovp_span one = {rest.bytes, bar != NULL ? (size_t)(bar - rest.bytes) : rest.count};
        if (one.count == word.count && memcmp(one.bytes, word.bytes, word.count) == 0)
            return true;
        rest.bytes += one.count + (bar != NULL);
        rest.count -= one.count + (bar != NULL);
    }
    return false;
}

static bool some_measurement_needs(ovp_span word)
{
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++)
        if (is_tool(ovp_diagnosis_measurement_at(i)->tools, word))
            return true;
    return false;
}

static ovp_status check_tools(const char *tools, ovp_error *error)
{
    ovp_span rest = ovp_span_of(tools);
    do {
        const char *comma = memchr(rest.bytes, ',', rest.count);
        ovp_span one = {rest.bytes, comma != NULL ? (size_t)(comma - rest.bytes) : rest.count};
        if (!some_measurement_needs(one)) {
            (void)ovp_error_set(error, OVP_ERROR_USAGE, "no measurement needs a tool \"%.*s\"",
                                (int)one.count, one.bytes);
            ovp_error_hint(error, "the tools are named by `ovenproof guide --list`");
            return OVP_ERROR_USAGE;
        }
        rest.bytes += one.count + (comma != NULL);
        rest.count -= one.count + (comma != NULL);
    } while (rest.count > 0);
    return OVP_OK;
}

/* `--have`, else what `setup` was told; when nobody said, every tool is allowed and the question names it. */
static ovp_status take_tools(guide_session *session, ovp_error *error)
{
    session->settings.tools = command_value(session->call, "have");
    if (session->settings.tools != NULL)
        return check_tools(session->settings.tools, error);
    static store_settings owned; /* large */
    ovp_status status = store_settings_load(&owned, error);
    if (status != OVP_OK || !owned.tools_known)
        return status;
    ovp_copy_string(session->owned_tools, sizeof session->owned_tools, ovp_span_of("none"));
    if (owned.tool_count > 0)
        store_settings_tools(&owned, ",", session->owned_tools, sizeof session->owned_tools);
    session->settings.tools = session->owned_tools;
    return OVP_OK;
}

static ovp_status take_settings(guide_session *session, ovp_error *error)
{
    const command_call *call = session->call;
    session->settings.context = OVP_DIAGNOSIS_IN_SERVICE;
    const char *context = command_value(call, "context");
    if (context != NULL && !ovp_diagnosis_context_named(context, &session->settings.context)) {
        (void)ovp_error_set(error, OVP_ERROR_USAGE, "\"%s\" is no context", context);
        ovp_error_hint(error, "choose new-build, in-service, after-transport or after-rewire");
        return OVP_ERROR_USAGE;
    }
    const char *who = command_value(call, "who");
    if (who != NULL && strcmp(who, "owner") != 0 && strcmp(who, "technician") != 0) {
        (void)ovp_error_set(error, OVP_ERROR_USAGE, "\"%s\" is neither owner nor technician", who);
        ovp_error_hint(error, "a technician is qualified to measure with the cover off and the power on");
        return OVP_ERROR_USAGE;
    }
    session->settings.technician = who != NULL && strcmp(who, "technician") == 0;
    session->settings.shown = call->degrees;
    return take_tools(session, error);
}

static void warn_of_oven(void *context, const char *text)
{
    (void)context;
    (void)fprintf(stderr, "ovenproof: note: %s\n", text);
}

static ovp_status take_oven(guide_session *session, ovp_error *error)
{
    const char *name = command_value(session->call, "oven");
    if (name == NULL)
        return OVP_OK;
    ovp_status status = lua_read_oven(name, &session->oven, warn_of_oven, NULL, error);
    session->settings.oven = status == OVP_OK ? &session->oven : NULL;
    return status;
}

/* What a recorded heat-up showed comes first: healthy is then as likely as for `trace`. */
static ovp_status take_trace(guide_session *session, ovp_error *error)
{
    const char *name = command_value(session->call, "trace");
    if (name == NULL)
        return OVP_OK;
    session->trace_setting = calloc(1, sizeof *session->trace_setting);
    session->trace = calloc(1, sizeof *session->trace);
    if (session->trace_setting == NULL || session->trace == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    session->settings.healthy = 0.5;
    ovp_status status = command_trace_prepare(session->call, session->trace_setting, error);
    return status == OVP_OK ? command_trace_read(session->trace_setting, name, session->trace, error)
                            : status;
}

/* ---- which guide -------------------------------------------------------------------------------------- */

typedef struct complaint {
    const char *text;
    size_t best;
    char path[512];
} complaint;

static size_t word_length(const char *text)
{
    size_t length = 0;
    while (isalnum((unsigned char)text[length]) || text[length] == '-')
        length++;
    return length;
}

static bool holds_word(const char *text, const char *word)
{
    while (*text != '\0') {
        size_t length = word_length(text);
        if (length > 0 && ovp_span_equals((ovp_span){text, length}, word))
            return true;
        text += length > 0 ? length : 1;
    }
    return false;
}

static void weigh_guide(void *context, const char *name, const char *path)
{
    (void)name;
    complaint *wanted = context;
    lua_guide_about about;
    if (lua_guide_read(path, &about, NULL) != OVP_OK)
        return;
    size_t hits = 0;
    for (size_t i = 0; i < about.word_count; i++)
        hits += holds_word(wanted->text, about.words[i]);
    if (hits > wanted->best) {
        wanted->best = hits;
        (void)ovp_copy_string(wanted->path, sizeof wanted->path, ovp_span_of(path));
    }
}

/* A guide by its name, else by the words of a complaint ("it trips the breaker"). */
static ovp_status find_guide(guide_session *session, ovp_error *error)
{
    const command_call *call = session->call;
    char text[512] = "";
    size_t used = 0;
    for (size_t i = 0; i < call->operand_count; i++) {
        int wrote = snprintf(text + used, sizeof text - used, "%s%s", i > 0 ? " " : "", call->operands[i]);
        used += wrote > 0 ? (size_t)wrote : 0;
        if (used >= sizeof text)
            return ovp_error_set(error, OVP_ERROR_USAGE, "the complaint is too long");
    }
    const char *name = used == 0 ? "any-complaint" : text;
    ovp_status status = lua_find("guides", name, session->path, sizeof session->path, error);
    if (status != OVP_OK) {
        complaint wanted = {.text = text};
        lua_list("guides", weigh_guide, &wanted);
        if (wanted.best == 0)
            return status;
        (void)ovp_copy_string(session->path, sizeof session->path, ovp_span_of(wanted.path));
    }
    return lua_guide_read(session->path, &session->about, error);
}

/* ---- weighing ----------------------------------------------------------------------------------------- */

static void count_asked(guide_session *session)
{
    session->asked_count = 0;
    session->minutes = 0;
    for (size_t i = 0; i < session->answer_count; i++) {
        bool replaced = false;
        for (size_t j = i + 1; j < session->answer_count; j++)
            replaced = replaced || strcmp(session->answers[i].id, session->answers[j].id) == 0;
        const ovp_diagnosis_measurement *measurement =
            ovp_diagnosis_measurement_named(session->answers[i].id);
        if (replaced || measurement == NULL)
            continue;
        session->asked_count++;
        session->minutes += measurement->minutes + measurement->wait_minutes;
    }
}

static void list_not_proved(guide_session *session)
{
    session->not_proved_count = 0;
    for (size_t i = 0; i < ovp_diagnosis_safety_count(); i++) {
        ovp_diagnosis_safety test;
        ovp_diagnosis_safety_at(session->state, i, &test);
        bool open = test.state == OVP_DIAGNOSIS_SAFETY_UNDONE || test.state == OVP_DIAGNOSIS_SAFETY_FAILED;
        if (open && session->not_proved_count < GUIDE_NOT_PROVED)
            session->not_proved[session->not_proved_count++] = test.undone;
    }
}

static const char *or_else(const char *own, const char *table)
{
    return own[0] != '\0' ? own : table != NULL ? table : "";
}

static void settle_conclusion(guide_session *session)
{
    const ovp_diagnosis_fault *fault =
        session->result.cause_count > 0 ? session->result.causes[0].fault : NULL;
    if (session->step.fault[0] != '\0')
        fault = ovp_diagnosis_fault_named(session->step.fault);
    const char *proof = fault != NULL ? ovp_diagnosis_proof(fault->id) : NULL;
    session->remedy = or_else(session->step.remedy, fault != NULL ? fault->remedy : NULL);
    session->caution = fault != NULL ? fault->caution : "";
    session->proof = or_else(session->step.proof, proof);
    session->broke = fault != NULL ? fault->broke_by : "";
    if (session->step.fault[0] != '\0')
        session->result.verdict = OVP_DIAGNOSIS_FAULT;
    else if (session->result.verdict == OVP_DIAGNOSIS_HEALTHY && !ovp_diagnosis_safety_done(session->state))
        session->result.verdict = OVP_DIAGNOSIS_UNCERTAIN;
}

ovp_status guide_evaluate(guide_session *session, ovp_error *error)
{
    session->state = ovp_diagnosis_case_init(session->case_memory, &session->settings);
    if (session->trace != NULL)
        ovp_diagnosis_take_trace(session->state, &session->trace->result, &session->trace->input);
    lua_guide_call call = {session->path, &session->settings, session->state, session->answers,
                           session->answer_count};
    ovp_status status = lua_guide_run(&call, &session->step, error);
    if (status != OVP_OK)
        return status;
    ovp_diagnosis_infer(session->state, &session->result);
    count_asked(session);
    list_not_proved(session);
    settle_conclusion(session);
    return OVP_OK;
}

int guide_exit_status(const guide_session *session)
{
    bool good = session->result.verdict == OVP_DIAGNOSIS_HEALTHY;
    return session->step.concluded && !good ? (int)OVP_JUDGED : 0;
}

/* ---- the command -------------------------------------------------------------------------------------- */

static int answer_file(guide_session *session, const char *path)
{
    ovp_error error = {0};
    ovp_status status = path == NULL ? OVP_OK : guide_read_answers(session, path, &error);
    if (status == OVP_OK) {
        status = guide_evaluate(session, &error);
        if (status != OVP_OK && path != NULL && session->step.bad_answer > 0)
            ovp_error_place(&error, path,
                            guide_answer_line(path, session->answers[session->step.bad_answer - 1].id));
    }
    if (status != OVP_OK)
        return command_fail(&error);
    if (session->call->json)
        status = guide_print_json(session);
    else if (session->step.concluded)
        guide_print_conclusion(session, false);
    else
        guide_print_question(session, NULL);
    if (!session->call->json && !session->step.concluded && command_given(session->call, "why"))
        guide_print_why(session);
    return status == OVP_OK ? guide_exit_status(session) : (int)OVP_ERROR_SYSTEM;
}

static int run_session(guide_session *session)
{
    ovp_error error = {0};
    ovp_status status = take_settings(session, &error);
    if (status == OVP_OK)
        status = take_oven(session, &error);
    if (status == OVP_OK)
        status = find_guide(session, &error);
    if (status == OVP_OK)
        status = take_trace(session, &error);
    if (status != OVP_OK)
        return command_fail(&error);
    const char *answers = command_value(session->call, "answers");
    if (answers != NULL || session->call->json)
        return answer_file(session, answers);
    return guide_talk(session);
}

static int run_guide(command_call *call)
{
    if (command_given(call, "list"))
        return guide_print_list(call);
    guide_session *session = calloc(1, sizeof *session);
    void *memory = aligned_alloc(64, (ovp_diagnosis_case_size() + 63) / 64 * 64);
    int status = (int)OVP_ERROR_SYSTEM;
    if (session != NULL && memory != NULL) {
        session->call = call;
        session->case_memory = memory;
        status = run_session(session);
        free(session->trace_setting);
        free(session->trace);
    } else {
        ovp_error error = {0};
        (void)ovp_error_set(&error, OVP_ERROR_SYSTEM, "out of memory");
        status = command_fail(&error);
    }
    free(memory);
    free(session);
    return status;
}

const command_definition command_guide = {
    .name = "guide",
    .synopsis = "[NAME | COMPLAINT] [--oven OVEN] [--who owner|technician] [--trace RUN] [--answers FILE]",
    .summary = "finds the fault of an oven by the fewest and safest questions",
    .details =
        "One question at a time, each with the reason and what should be read on this oven. `?` is always "
        "an\n"
        "answer; `back` takes one back, `why` says more, `quit` says what was found so far. A guide is "
        "chosen\n"
        "by its name, by a few words of complaint, or left out: then every fault is open.\n"
        "With --answers the same guide is a function of its inputs: it prints the next question or the\n"
        "conclusion. Exit status: 0 while asking or concluded good, 1 otherwise.",
    .options = options,
    .examples = "ovenproof guide reads-backwards\n"
                "ovenproof guide it trips the breaker --who technician\n"
                "ovenproof guide --list",
    .run = run_guide,
};
