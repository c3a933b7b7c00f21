/* trace_json.c: the document of `trace`; docs/json.md says what each key means. */
#include "command/causes.h"
#include "command/trace.h"

#include <math.h>

static void write_milestones(ovp_text_json *json, const ovp_trace_result *result)
{
    ovp_text_json_key(json, "milestones");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < result->milestone_count; i++) {
        const ovp_trace_milestone *milestone = &result->milestones[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_number(json, "to_C", milestone->to_C);
        ovp_text_json_key_number(json, "time_s", milestone->time_s);
        ovp_text_json_key_number(json, "within_s", milestone->within_s);
        ovp_text_json_key(json, "pass");
        if (milestone->pass < 0)
            ovp_text_json_null(json);
        else
            ovp_text_json_boolean(json, milestone->pass > 0);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

/* What of a severity fits best, and how well: against a good oven, over all severities. */
static void write_fit(ovp_text_json *json, const ovp_diagnosis_synthesis *fit)
{
    ovp_text_json_key(json, "whole_run");
    ovp_text_json_begin_object(json);
    ovp_text_json_key_boolean(json, "compared", fit->speaks);
    ovp_text_json_key_string(json, "reason",
                             fit->reason != NULL ? fit->reason : "no description of the oven");
    ovp_text_json_key_number(json, "off_C", fit->reason != NULL ? fit->off_C : (double)NAN);
    ovp_text_json_key(json, "fits");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; fit->speaks && i < fit->fit_count; i++) {
        const ovp_diagnosis_fit *one = &fit->fits[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "fault", one->fault->id);
        ovp_text_json_key_number(json, "log_ratio", one->log_ratio);
        ovp_text_json_key_number(json, "severity", one->amount);
        ovp_text_json_key_number(json, "severity_U", one->amount_U);
        ovp_text_json_key_string(json, "severity_unit", isnan(one->amount) ? "" : one->fault->severity_unit);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
    ovp_text_json_end_object(json);
}

static void write_alarms(ovp_text_json *json, const trace_run *run)
{
    ovp_text_json_key(json, "alarms");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < run->alarm_count; i++) {
        const ovp_trace_watch_state *state = &run->alarms[i].state;
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "alarm", ovp_trace_alarm_name(state->alarm));
        ovp_text_json_key_boolean(json, "danger", ovp_trace_alarm_is_danger(state->alarm));
        ovp_text_json_key_number(json, "at_s", state->at_s);
        ovp_text_json_key_number(json, "since_s", state->since_s);
        ovp_text_json_key_number(json, "change_C", state->change_C);
        ovp_text_json_key_number(json, "power_share", state->power_share);
        ovp_text_json_key_number(json, "odds_log10",
                                 isfinite(state->odds_log10) ? state->odds_log10 : (double)NAN);
        ovp_text_json_key_string(json, "next", run->alarms[i].next != NULL ? run->alarms[i].next->id : NULL);
        ovp_text_json_key_string(json, "text", run->alarms[i].text);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
    ovp_text_json_key_string(json, "broke_off", run->broke_off);
}

static void write_value(ovp_text_json *json, const ovp_trace_finding *finding)
{
    ovp_text_json_key_number(json, "since_s", finding->since_s);
    ovp_text_json_key_number(json, "value", finding->value);
    ovp_text_json_key_string(json, "unit", finding->unit);
    ovp_text_json_key_number(json, "uncertainty", finding->uncertainty);
    ovp_text_json_key_string(json, "no_uncertainty",
                             isnan(finding->uncertainty) ? finding->no_uncertainty : NULL);
}

/* What speaks is in `findings`; every check that the log allowed, the normal ones too, is in `checks`. */
static void write_findings(ovp_text_json *json, const ovp_trace_result *result)
{
    ovp_text_json_key(json, "findings");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < result->finding_count; i++) {
        const ovp_trace_finding *finding = &result->findings[i];
        if (!finding->notable)
            continue;
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "finding", finding->finding);
        ovp_text_json_key_string(json, "outcome", finding->outcome);
        ovp_text_json_key_number(json, "at_s", finding->at_s);
        write_value(json, finding);
        ovp_text_json_key_string(json, "text", finding->text);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
    ovp_text_json_key(json, "checks");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < result->finding_count; i++) {
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "finding", result->findings[i].finding);
        ovp_text_json_key_string(json, "outcome", result->findings[i].outcome);
        write_value(json, &result->findings[i]);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static void write_warnings(ovp_text_json *json, char (*warnings)[OVP_TRACE_TEXT_SIZE], size_t count)
{
    for (size_t i = 0; i < count && i < OVP_TRACE_WARNINGS; i++)
        ovp_text_json_string(json, warnings[i]);
}

static void write_input(ovp_text_json *json, trace_run *run)
{
    ovp_trace_input *input = &run->input;
    ovp_text_json_key(json, "input");
    ovp_text_json_begin_object(json);
    ovp_text_json_key_integer(json, "samples", (int64_t)input->samples);
    ovp_text_json_key_integer(json, "missing", (int64_t)input->missing);
    ovp_text_json_key_number(json, "start_s", input->start_s);
    ovp_text_json_key_number(json, "duration_s", input->duration_s);
    ovp_text_json_key_number(json, "interval_s", input->interval_s);
    ovp_text_json_key_number(json, "temperature_min_C", input->temperature_min_C);
    ovp_text_json_key_number(json, "temperature_max_C", input->temperature_max_C);
    ovp_text_json_key(json, "columns");
    ovp_text_json_begin_object(json);
    for (size_t i = 0; i < OVP_TRACE_COLUMNS; i++)
        if (input->has[i])
            ovp_text_json_key_string(json, ovp_trace_column_name((ovp_trace_column)i), input->columns[i]);
    ovp_text_json_end_object(json);
    ovp_text_json_key(json, "warnings");
    ovp_text_json_begin_array(json);
    write_warnings(json, input->warnings, input->warning_count);
    write_warnings(json, run->result.warnings, run->result.warning_count);
    ovp_text_json_end_array(json);
    ovp_text_json_end_object(json);
}

void command_trace_write_json(ovp_text_json *json, trace_run *run)
{
    const ovp_trace_result *result = &run->result;
    ovp_text_json_key_string(json, "file", run->name);
    command_json_causes(json, &run->causes);
    write_milestones(json, result);
    command_trace_write_proof(json, run);
    write_findings(json, result);
    write_fit(json, &run->fit);
    ovp_text_json_key_number(json, "power_ratio", result->power_ratio);
    ovp_text_json_key_number(json, "power_ratio_uncertainty", result->power_ratio_uncertainty);
    ovp_text_json_key_string(json, "power_ratio_reason", result->power_ratio_reason);
    ovp_text_json_key_boolean(json, "danger_now", result->danger_now);
    ovp_text_json_key_string(json, "danger", result->danger_now ? result->danger_text : NULL);
    ovp_text_json_key_boolean(json, "cold_start", result->cold_start);
    ovp_text_json_key_number(json, "time_zero_s", result->time_zero_s);
    ovp_text_json_key_number(json, "start_C", result->start_C);
    ovp_text_json_key_number(json, "hold_C", result->hold_C);
    ovp_text_json_key_number(json, "hold_percent", result->hold_percent);
    ovp_text_json_key_number(json, "overshoot_C", result->overshoot_C);
    ovp_text_json_key_string(json, "next", run->next != NULL ? run->next->id : NULL);
    write_input(json, run);
    if (run->followed)
        write_alarms(json, run);
}
