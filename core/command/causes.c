#include "command/causes.h"

#include <string.h>

const char *command_verdict_word(ovp_diagnosis_verdict verdict)
{
    switch (verdict) {
    case OVP_DIAGNOSIS_HEALTHY:
        return "healthy";
    case OVP_DIAGNOSIS_FAULT:
        return "fault";
    case OVP_DIAGNOSIS_UNCERTAIN:
        break;
    }
    return "uncertain";
}

const char *command_likelihood_word(double probability)
{
    if (probability >= 0.5)
        return "most likely";
    return probability >= 0.1 ? "possible" : "not ruled out";
}

static void write_reasons(ovp_text_json *json, const ovp_diagnosis_cause *cause)
{
    ovp_text_json_key(json, "because");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < cause->because_count; i++) {
        const ovp_diagnosis_reason *reason = &cause->because[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, reason->is_finding ? "finding" : "measurement", reason->source);
        ovp_text_json_key_string(json, "outcome", reason->outcome);
        ovp_text_json_key_number(json, "decibans", reason->decibans);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static void write_cause(ovp_text_json *json, const ovp_diagnosis_cause *cause)
{
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "fault", cause->fault->id);
    ovp_text_json_key_string(json, "title", cause->fault->title);
    ovp_text_json_key_number(json, "probability", cause->probability);
    ovp_text_json_key_number(json, "present", cause->present);
    ovp_text_json_key(json, "with");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < sizeof cause->with / sizeof cause->with[0] && cause->with[i] != NULL; i++)
        ovp_text_json_string(json, cause->with[i]);
    ovp_text_json_end_array(json);
    ovp_text_json_key_boolean(json, "dangerous", cause->fault->danger >= 3);
    ovp_text_json_key_string(json, "next", cause->next);
    write_reasons(json, cause);
    ovp_text_json_end_object(json);
}

void command_json_causes(ovp_text_json *json, const ovp_diagnosis_result *result)
{
    ovp_text_json_key_string(json, "verdict", command_verdict_word(result->verdict));
    ovp_text_json_key_number(json, "healthy", result->healthy);
    ovp_text_json_key_number(json, "unlisted", result->unlisted);
    ovp_text_json_key(json, "causes");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < result->cause_count; i++)
        write_cause(json, &result->causes[i]);
    ovp_text_json_end_array(json);
    ovp_text_json_key(json, "not_shown");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < result->not_shown_count; i++)
        ovp_text_json_string(json, result->not_shown[i]);
    ovp_text_json_end_array(json);
}
