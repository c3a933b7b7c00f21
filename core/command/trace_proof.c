/* trace_proof.c: the heat-up proved at rated volts and at a buyer's, in JSON and in words. */
#include "command/trace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- options ----------------------------------------------------------------------------------------------
 */

static ovp_status volts_option(const command_call *call, const char *name, double *value_V, ovp_error *error)
{
    if (command_value(call, name) == NULL)
        return OVP_OK;
    ovp_status status = command_quantity(call, name, OVP_TEXT_VOLTAGE, value_V, error);
    if (status == OVP_OK && !(*value_V > 0)) {
        ovp_error_set(error, OVP_ERROR_USAGE, "option --%s: volts above zero are wanted", name);
        ovp_error_hint(error, "such as --%s 114V", name);
        return error->status;
    }
    return status;
}

static ovp_status tolerance_option(const command_call *call, ovp_trace_expectation *expectation,
                                   ovp_error *error)
{
    const char *word = command_value(call, "tolerance");
    if (word == NULL)
        return OVP_OK;
    for (size_t i = 0; ovp_tc_tolerance_name(i) != NULL; i++) {
        if (ovp_span_equals(ovp_span_trim(ovp_span_of(word)), ovp_tc_tolerance_name(i))) {
            expectation->tolerance = ovp_tc_tolerance_name(i);
            return OVP_OK;
        }
    }
    ovp_status status = ovp_text_quantity(ovp_span_of(word), OVP_TEXT_TEMPERATURE_DIFFERENCE, call->degrees,
                                          &expectation->tolerance_C, NULL);
    if (status == OVP_OK && expectation->tolerance_C >= 0)
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_USAGE,
                  "option --tolerance: \"%.40s\" is neither a limit such as 5F nor a tolerance class", word);
    ovp_error_hint(error,
                   "classes are astm-e230-standard, astm-e230-special, iec-60584-1-class-1, -2 and -3");
    return error->status;
}

ovp_status command_trace_proof_options(const command_call *call, ovp_trace_expectation *expectation,
                                       ovp_error *error)
{
    ovp_status status = volts_option(call, "volts", &expectation->told_V, error);
    if (status == OVP_OK)
        status = volts_option(call, "supply", &expectation->asked_V, error);
    return status == OVP_OK ? tolerance_option(call, expectation, error) : status;
}

/* ---- JSON -------------------------------------------------------------------------------------------------
 */

static const char *volts_word(ovp_trace_volts from)
{
    static const char *const words[] = {"log", "told", "assumed"};
    return words[from];
}

static void write_time(ovp_text_json *json, const ovp_thermal_proof *proof, double within_s)
{
    ovp_text_json_key_number(json, "time_s", proof->time_s);
    ovp_text_json_key_number(json, "uncertainty_s", proof->time_U_s);
    ovp_text_json_key_number(json, "margin_s", within_s - proof->time_s);
    ovp_text_json_key_string(json, "decision", ovp_thermal_decision_name(proof->decision));
}

static void write_mark(ovp_text_json *json, const ovp_trace_proof *mark, double asked_V)
{
    static const ovp_thermal_proof none = {NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, OVP_THERMAL_CANNOT_SAY};
    const ovp_thermal_proof *rated = mark->reason[0] == '\0' ? &mark->rated : &none;
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "to_C", mark->to_C);
    ovp_text_json_key_number(json, "within_s", mark->within_s);
    ovp_text_json_key_number(json, "as_run_s", rated->run_s);
    ovp_text_json_key_number(json, "as_run_uncertainty_s", rated->run_U_s);
    write_time(json, rated, mark->within_s);
    ovp_text_json_key_string(json, "reason", mark->reason[0] != '\0' ? mark->reason : NULL);
    ovp_text_json_key_number(json, "exponent", rated->exponent);
    ovp_text_json_key_number(json, "exponent_uncertainty", rated->exponent_U);
    ovp_text_json_key_number(json, "power_W", mark->power_W);
    ovp_text_json_key_number(json, "loss_W", mark->loss_W);
    ovp_text_json_key_number(json, "least_supply_V", rated->least_V);
    ovp_text_json_key(json, "at_supply");
    if (asked_V > 0) {
        const bool known = mark->reason[0] == '\0' && mark->asked;
        ovp_text_json_begin_object(json);
        ovp_text_json_key_number(json, "supply_V", asked_V);
        write_time(json, known ? &mark->at_asked : &none, mark->within_s);
        ovp_text_json_key_string(json, "reason", known ? NULL : mark->asked_reason);
        ovp_text_json_end_object(json);
    } else {
        ovp_text_json_null(json);
    }
    ovp_text_json_end_object(json);
}

void command_trace_write_proof(ovp_text_json *json, const trace_run *run)
{
    const ovp_trace_result *result = &run->result;
    ovp_text_json_key(json, "proof");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < result->milestone_count; i++)
        write_mark(json, &result->proofs[i], result->asked_V);
    ovp_text_json_end_array(json);
    ovp_text_json_key(json, "proof_conditions");
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "supply_V", result->rated_V);
    ovp_text_json_key_number(json, "ambient_C", ovp_thermal_usual_ambient_C());
    ovp_text_json_key_number(json, "run_V", result->volts_V);
    ovp_text_json_key_number(json, "run_uncertainty_V", result->volts_U_V);
    ovp_text_json_key_string(json, "run_V_from",
                             isnan(result->volts_V) ? NULL : volts_word(result->volts_from));
    ovp_text_json_key_number(json, "run_start_C", result->start_C);
    ovp_text_json_end_object(json);
}

/* ---- words ------------------------------------------------------------------------------------------------
 */

static const char *decision_words(ovp_thermal_decision decision)
{
    static const char *const words[] = {"can't tell", "good", "TOO SLOW"};
    return words[decision];
}

/* "12.4 ± 0.6 of 16 min, good" */
static void say_mark(const trace_setting *setting, const ovp_trace_proof *mark,
                     const ovp_thermal_proof *proof, char *buffer, size_t size)
{
    const double within_min = mark->within_s / 60;
    const int whole = fabs(within_min - round(within_min)) < 0.05 ? 0 : 1;
    snprintf(buffer, size, "%s in %s \xC2\xB1 %s of %s min, %s",
             command_show_temperature(setting->call, mark->to_C, 0).text,
             trace_shown_fixed(proof->time_s / 60, 1).text,
             trace_shown_fixed(fmax(proof->time_U_s / 60, 0.1), 1).text,
             trace_shown_fixed(within_min, whole).text, decision_words(proof->decision));
}

static bool any_asked(const ovp_trace_result *result)
{
    for (size_t i = 0; i < result->milestone_count; i++)
        if (result->proofs[i].reason[0] == '\0' && result->proofs[i].asked)
            return true;
    return false;
}

static void say_marks(const trace_setting *setting, const ovp_trace_result *result, bool asked, char *buffer,
                      size_t size)
{
    const char *between = "";
    for (size_t i = 0; i < result->milestone_count; i++) {
        const ovp_trace_proof *mark = &result->proofs[i];
        const size_t used = strlen(buffer);
        if (mark->reason[0] != '\0' || (asked && !mark->asked))
            continue;
        snprintf(buffer + used, size - used, "%s", between);
        say_mark(setting, mark, asked ? &mark->at_asked : &mark->rated, buffer + strlen(buffer),
                 size - strlen(buffer));
        between = "; ";
    }
    const size_t used = strlen(buffer);
    snprintf(buffer + used, size - used, ".");
}

/* Why there is no proof at all: of the first mark that was timed, else of the first. NULL: there is one. */
static const char *first_reason(const ovp_trace_result *result)
{
    const char *timed = NULL;
    for (size_t i = 0; i < result->milestone_count; i++) {
        if (result->proofs[i].reason[0] == '\0')
            return NULL;
        if (timed == NULL && !isnan(result->milestones[i].time_s))
            timed = result->proofs[i].reason;
    }
    return timed != NULL ? timed : result->milestone_count > 0 ? result->proofs[0].reason : NULL;
}

/* Without volts the times hang on a guess: when that settles no mark, the list of them says nothing. */
static bool settles_nothing(const ovp_trace_result *result)
{
    for (size_t i = 0; i < result->milestone_count; i++)
        if (result->proofs[i].reason[0] == '\0' && result->proofs[i].rated.decision != OVP_THERMAL_CANNOT_SAY)
            return false;
    return result->volts_from == OVP_TRACE_VOLTS_UNREAD;
}

void command_trace_proof_words(const trace_setting *setting, const trace_run *run, char *buffer, size_t size)
{
    const ovp_trace_result *result = &run->result;
    buffer[0] = '\0';
    if (result->milestone_count == 0)
        return;
    if (first_reason(result) != NULL && run->causes.verdict == OVP_DIAGNOSIS_FAULT)
        return;
    if (first_reason(result) != NULL) {
        snprintf(buffer, size, "No proof at the plate's volts: %s.", first_reason(result));
        return;
    }
    if (settles_nothing(result)) {
        snprintf(buffer, size,
                 "Proof at %s V: can't tell, because no volts are logged (a line within %s V is usual): "
                 "--volts tells them.",
                 trace_shown_fixed(result->rated_V, 0).text, trace_shown_fixed(result->volts_U_V, 0).text);
        return;
    }
    const bool unread = result->volts_from == OVP_TRACE_VOLTS_UNREAD;
    snprintf(
        buffer, size,
        "Proof at %s V in a room of %s (%s %s \xC2\xB1 %s V%s): ", trace_shown_fixed(result->rated_V, 0).text,
        command_show_temperature(setting->call, ovp_thermal_usual_ambient_C(), 0).text,
        unread ? "no volts logged: taken as" : "this run had", trace_shown_fixed(result->volts_V, 0).text,
        trace_shown_fixed(result->volts_U_V, unread ? 0 : 1).text, unread ? "; --volts tells them" : "");
    say_marks(setting, result, false, buffer, size);
}

void command_trace_asked_words(const trace_setting *setting, const trace_run *run, char *buffer, size_t size)
{
    const ovp_trace_result *result = &run->result;
    buffer[0] = '\0';
    if (!(result->asked_V > 0) || result->milestone_count == 0)
        return;
    if (!any_asked(result)) {
        snprintf(buffer, size, "On %s V: not known: %s.", trace_shown_fixed(result->asked_V, 0).text,
                 first_reason(result) != NULL ? first_reason(result) : result->proofs[0].asked_reason);
        return;
    }
    snprintf(buffer, size, "On %s V: ", trace_shown_fixed(result->asked_V, 0).text);
    say_marks(setting, result, true, buffer, size);
}

void command_trace_proof_why(const trace_setting *setting, const trace_run *run)
{
    ovp_sink out = setting->call->out;
    const ovp_trace_result *result = &run->result;
    for (size_t i = 0; i < result->milestone_count; i++) {
        const ovp_trace_proof *mark = &result->proofs[i];
        command_words to = command_show_temperature(setting->call, mark->to_C, 0);
        if (mark->reason[0] != '\0') {
            ovp_text_print(out, "  Proof at %s: none: %s\n", to.text, mark->reason);
            continue;
        }
        char text[600];
        snprintf(
            text, sizeof text,
            "Proof at %s: time goes as volts to the power -%s \xC2\xB1 %s (of %s W full heat %s W are lost "
            "or soak in on the way); meets its limit from %s V up\n",
            to.text, trace_shown_fixed(mark->rated.exponent, 2).text,
            trace_shown_fixed(mark->rated.exponent_U, 2).text, trace_shown_fixed(mark->power_W, 0).text,
            trace_shown_fixed(mark->loss_W, 0).text, trace_shown_fixed(mark->rated.least_V, 0).text);
        ovp_text_fold(out, text, 100, 2, 6);
    }
}
