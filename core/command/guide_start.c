/* guide: what the call says, and where it is silent what the case keeps: who, tools, oven, guide, trace. */
#include "command/guide.h"

#include <stdlib.h>
#include <string.h>

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

/* An option of the call, else what the case keeps, else NULL. */
static const char *said(const guide_session *session, const char *option, const char *kept)
{
    const char *value = command_value(session->call, option);
    return value != NULL ? value : session->kept != NULL && kept[0] != '\0' ? kept : NULL;
}

/*
 * `--have`, else what the case keeps, else what `setup` was told; when nobody said, every tool is allowed and
 * the question names it.
 */
static ovp_status take_tools(guide_session *session, ovp_error *error)
{
    session->settings.tools = said(session, "have", session->kept != NULL ? session->kept->tools : "");
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
    const store_case *kept = session->kept;
    session->settings.context = OVP_DIAGNOSIS_IN_SERVICE;
    const char *context = said(session, "context", kept != NULL ? kept->context : "");
    if (context != NULL && !ovp_diagnosis_context_named(context, &session->settings.context)) {
        (void)ovp_error_set(error, OVP_ERROR_USAGE, "\"%s\" is no context", context);
        ovp_error_hint(error, "choose new-build, in-service, after-transport or after-rewire");
        return OVP_ERROR_USAGE;
    }
    const char *who = said(session, "who", kept != NULL ? kept->who : "");
    if (who != NULL && strcmp(who, "owner") != 0 && strcmp(who, "technician") != 0) {
        (void)ovp_error_set(error, OVP_ERROR_USAGE, "\"%s\" is neither owner nor technician", who);
        ovp_error_hint(error, "a technician is qualified to measure with the cover off and the power on");
        return OVP_ERROR_USAGE;
    }
    session->settings.technician = who != NULL && strcmp(who, "technician") == 0;
    session->settings.shown = session->call->degrees;
    return take_tools(session, error);
}

static void warn_of_oven(void *context, const char *text)
{
    (void)context;
    (void)fprintf(stderr, "ovenproof: note: %s\n", text);
}

static ovp_status take_oven(guide_session *session, ovp_error *error)
{
    const char *name = said(session, "oven", session->kept != NULL ? session->kept->oven : "");
    if (name == NULL)
        return OVP_OK;
    (void)ovp_copy_string(session->oven_name, sizeof session->oven_name, ovp_span_of(name));
    ovp_status status = lua_find("ovens", name, session->oven_path, sizeof session->oven_path, error);
    if (status == OVP_OK)
        status = lua_read_oven(name, &session->oven, warn_of_oven, NULL, error);
    session->settings.oven = status == OVP_OK ? &session->oven : NULL;
    return status;
}

/* What a recorded heat-up showed comes first: healthy is then as likely as for `trace`. */
static ovp_status take_trace(guide_session *session, ovp_error *error)
{
    const char *name = command_value(session->call, "trace");
    if (name == NULL)
        return guide_case_trace(session, error);
    session->trace_setting = calloc(1, sizeof *session->trace_setting);
    session->trace = calloc(1, sizeof *session->trace);
    if (session->trace_setting == NULL || session->trace == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    session->settings.healthy = 0.5;
    session->trace_call = *session->call;
    command_call *call = &session->trace_call;
    if (session->oven_name[0] != '\0' && !command_given(call, "oven") && call->given_count < COMMAND_VALUES) {
        call->given[call->given_count].name = "oven"; /* as the case knows it */
        call->given[call->given_count++].value = session->oven_name;
    }
    ovp_status status = command_trace_prepare(call, session->trace_setting, error);
    return status == OVP_OK ? command_trace_read(session->trace_setting, name, session->trace, error)
                            : status;
}

/* ---- which guide -------------------------------------------------------------------------------------- */

ovp_status guide_join_words(guide_session *session, ovp_error *error)
{
    const command_call *call = session->call;
    size_t used = 0;
    for (size_t i = 0; i < call->operand_count; i++) {
        int wrote = snprintf(session->complaint + used, sizeof session->complaint - used, "%s%s",
                             i > 0 ? " " : "", call->operands[i]);
        used += wrote > 0 ? (size_t)wrote : 0;
        if (used >= sizeof session->complaint)
            return ovp_error_set(error, OVP_ERROR_USAGE, "the complaint is too long");
    }
    return OVP_OK;
}

/* The guide of the call, else the one that the case keeps. */
static ovp_status find_guide(guide_session *session, ovp_error *error)
{
    const store_case *kept = session->kept;
    ovp_status status = guide_join_words(session, error);
    if (status != OVP_OK)
        return status;
    const bool goes_on = session->complaint[0] == '\0' && kept != NULL && !kept->is_new;
    status = guide_choose(session, goes_on ? kept->guide : session->complaint, error);
    if (status != OVP_OK)
        return status;
    if (goes_on)
        guide_hear(session, kept->complaint);
    const bool told = said(session, "context", kept != NULL ? kept->context : "") != NULL;
    if (!told && session->about.context[0] != '\0')
        (void)ovp_diagnosis_context_named(session->about.context, &session->settings.context);
    return OVP_OK;
}

ovp_status guide_start(guide_session *session, ovp_error *error)
{
    ovp_status status = take_settings(session, error);
    if (status == OVP_OK)
        status = take_oven(session, error);
    if (status == OVP_OK)
        status = find_guide(session, error);
    if (status == OVP_OK)
        status = guide_own_calls(session, error);
    return status == OVP_OK ? take_trace(session, error) : status;
}
