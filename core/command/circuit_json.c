/* The document of `circuit` (docs/json.md). */
#include "command/circuit.h"

#include <math.h>

static const char *const state_words[] = {
    [OVP_ELECTRICAL_STATE_NOT_KNOWN] = "not-known",
    [OVP_ELECTRICAL_STATE_GOOD] = "good",
    [OVP_ELECTRICAL_STATE_TROUBLE] = "trouble",
};

static const char *const rule_words[] = {
    [OVP_ELECTRICAL_RULE_NONE] = "none",
    [OVP_ELECTRICAL_RULE_RATING] = "rating",
    [OVP_ELECTRICAL_RULE_SHARED] = "shared",
    [OVP_ELECTRICAL_RULE_LONG] = "long-load",
};

static const char *const level_words[] = {
    [OVP_ELECTRICAL_FAILURE_NOT_KNOWN] = "not-known", [OVP_ELECTRICAL_FAILURE_STOPPED] = "stopped",
    [OVP_ELECTRICAL_FAILURE_HIDDEN] = "hidden",       [OVP_ELECTRICAL_FAILURE_LIVE] = "live",
    [OVP_ELECTRICAL_FAILURE_HEATS] = "heats",
};

static void key_object(ovp_text_json *json, const char *key)
{
    ovp_text_json_key(json, key);
    ovp_text_json_begin_object(json);
}

static void write_protection(ovp_text_json *json, const ovp_electrical_protection *protection)
{
    ovp_electrical_device_limit limit;
    ovp_text_json_key_string(json, "device", ovp_electrical_device_name(protection->device));
    ovp_text_json_key_boolean(json, "holds_for_good", protection->holds_s == HUGE_VAL);
    ovp_text_json_key_number(json, "holds_s", protection->holds_s);
    ovp_text_json_key_number(json, "opens_within_s", protection->within_s);
    ovp_text_json_key(json, "limits");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; ovp_electrical_device_limit_at(protection->device, protection->rating_A, i, &limit);
         i++) {
        ovp_text_json_begin_object(json);
        ovp_text_json_key_number(json, "multiple", limit.multiple);
        ovp_text_json_key_number(json, "current_A", limit.current_A);
        ovp_text_json_key_string(json, "outcome", limit.opens ? "opens" : "holds");
        ovp_text_json_key_number(json, "time_s", limit.time_s);
        ovp_text_json_key_number(json, "air_C", limit.air_C);
        ovp_text_json_key_string(json, "source", limit.source);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static void write_load(ovp_text_json *json, const ovp_electrical_review *review)
{
    const ovp_electrical_load *load = &review->load;
    ovp_text_json_key(json, "load");
    if (!review->has_load) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "hot_ohm", load->hot_ohm);
    ovp_text_json_key_number(json, "cold_ohm", load->cold_ohm);
    ovp_text_json_key_number(json, "full_W", load->full_W);
    ovp_text_json_key_number(json, "full_A", load->full_A);
    ovp_text_json_key_number(json, "cold_A", load->cold_A);
    ovp_text_json_key_number(json, "total_A", load->total_A);
    ovp_text_json_key_boolean(json, "controls_counted", load->controls_counted);
    ovp_text_json_key_number(json, "rms_A", review->rms_A);
    ovp_text_json_end_object(json);
}

static void write_circuit(ovp_text_json *json, const ovp_electrical_review *review)
{
    static const char *const shared_words[] = {
        [OVP_OVEN_UNKNOWN] = NULL, [OVP_OVEN_NOT_FITTED] = "own", [OVP_OVEN_FITTED] = "shared"};
    key_object(json, "circuit");
    ovp_text_json_key_string(json, "rules", review->rules == OVP_ELECTRICAL_RULES_US ? "us" : "iec");
    ovp_text_json_key_number(json, "rating_A", review->circuit_A);
    ovp_text_json_key_string(json, "use", shared_words[review->shared]);
    ovp_text_json_key_number(json, "share", review->share);
    ovp_text_json_key_number(json, "continuous_A", review->continuous_A);
    ovp_text_json_key_number(json, "full_heat_s", review->full_heat_s);
    ovp_text_json_key_string(json, "rule", rule_words[review->rule]);
    key_object(json, "breaker");
    write_protection(json, &review->protection);
    ovp_text_json_end_object(json);
    ovp_text_json_end_object(json);
}

static void write_run(ovp_text_json *json, const char *key, const ovp_electrical_run_of_wire *run)
{
    ovp_text_json_key(json, key);
    if (!run->given) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "wire", circuit_wire(&run->cord.wire).text);
    ovp_text_json_key_number(json, "length_m", run->cord.length_m);
    ovp_text_json_key_number(json, "ohm", run->cord.ohm);
    ovp_text_json_key_number(json, "warm_ohm", run->cord.warm_ohm);
    ovp_text_json_key_number(json, "allowed_A", run->allowed_A);
    ovp_text_json_key_number(json, "drop_V", run->drop_V);
    ovp_text_json_end_object(json);
}

static void write_way(ovp_text_json *json, const ovp_electrical_review *review)
{
    write_run(json, "cord", &review->cord);
    write_run(json, "extension", &review->extension);
    write_run(json, "conductor", &review->conductor);
    key_object(json, "drop");
    ovp_text_json_key_number(json, "line_ohm", review->line_ohm);
    ovp_text_json_key_number(json, "series_ohm", review->series_ohm);
    ovp_text_json_key_number(json, "lost_V", review->lost_V);
    ovp_text_json_key_number(json, "lost_percent", 100.0 * review->lost_share);
    ovp_text_json_key_number(json, "lost_uncertainty_percent", 100.0 * review->lost_share_U);
    ovp_text_json_key_number(json, "lost_W", review->lost_W);
    ovp_text_json_key_number(json, "element_V", review->element_V);
    ovp_text_json_key_number(json, "power_left", review->power_left);
    ovp_text_json_key_number(json, "beyond_wire_ohm", review->beyond_wire_ohm);
    ovp_text_json_end_object(json);
}

static void write_line(ovp_text_json *json, const circuit_facts *facts)
{
    const ovp_electrical_line *line = &facts->line;
    ovp_text_json_key(json, "line");
    if (!facts->measured) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "off_V", facts->readings.off_V);
    ovp_text_json_key_number(json, "on_V", facts->readings.on_V);
    ovp_text_json_key_number(json, "resolution_V", facts->readings.resolution_V);
    ovp_text_json_key_number(json, "load_A", line->load_A);
    ovp_text_json_key_number(json, "ohm", line->ohm);
    ovp_text_json_key_number(json, "ohm_uncertainty_ohm", line->ohm_U);
    ovp_text_json_key_number(json, "sag_V", line->sag_V);
    ovp_text_json_key_number(json, "sag_percent", 100.0 * line->sag_share);
    ovp_text_json_key_number(json, "sag_uncertainty_percent", 100.0 * line->sag_share_U);
    ovp_text_json_key_number(json, "power_left", line->power_left);
    ovp_text_json_key_string(json, "state", state_words[line->state]);
    ovp_text_json_end_object(json);
}

static void write_device(ovp_text_json *json, const char *key, const ovp_electrical_fitted_device *device)
{
    static const char *const fitted_words[] = {
        [OVP_OVEN_UNKNOWN] = NULL, [OVP_OVEN_NOT_FITTED] = "no", [OVP_OVEN_FITTED] = "yes"};
    key_object(json, key);
    ovp_text_json_key_string(json, "fitted", fitted_words[device->fitted]);
    ovp_text_json_key_number(json, "rating_A", device->rating_A);
    ovp_text_json_key_number(json, "load_A", device->load_A);
    write_protection(json, &device->protection);
    ovp_text_json_end_object(json);
}

static void write_supply(ovp_text_json *json, const ovp_electrical_review *review)
{
    ovp_text_json_key(json, "supply");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < review->supply_count; i++) {
        const ovp_electrical_supply_step *step = &review->supply[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_number(json, "supply_V", step->volts_V);
        ovp_text_json_key_number(json, "heaters_A", step->heaters_A);
        ovp_text_json_key_number(json, "total_A", step->total_A);
        ovp_text_json_key_number(json, "power_W", step->power_W);
        ovp_text_json_key_number(json, "power_share", step->power_share);
        ovp_text_json_key_number(json, "circuit_share", step->of_circuit);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static void write_failures(ovp_text_json *json, const ovp_electrical_review *review)
{
    ovp_text_json_key(json, "single_failures");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < review->failure_count; i++) {
        const ovp_electrical_failure *failure = &review->failures[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "failure", failure->id);
        ovp_text_json_key_string(json, "level", level_words[failure->level]);
        ovp_text_json_key_string(json, "text", failure->text);
        ovp_text_json_key_string(json, "missing", failure->missing);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

int circuit_print_json(const command_call *call, const circuit_facts *facts)
{
    const ovp_electrical_review *review = &facts->review;
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "circuit", 1);
    ovp_text_json_key_string(&json, "oven", facts->oven->name);
    ovp_text_json_key_string(&json, "verdict", state_words[review->verdict]);
    key_object(&json, "checks");
    for (int i = 0; i < OVP_ELECTRICAL_CHECKS; i++)
        ovp_text_json_key_string(&json, ovp_electrical_check_name((ovp_electrical_check)i),
                                 state_words[review->checks[i]]);
    ovp_text_json_end_object(&json);
    write_load(&json, review);
    write_circuit(&json, review);
    write_way(&json, review);
    key_object(&json, "plug");
    ovp_text_json_key_string(&json, "pattern", review->plug);
    ovp_text_json_key_number(&json, "supply_V", review->plug_V);
    ovp_text_json_key_number(&json, "rating_A", review->plug_A);
    ovp_text_json_key_number(&json, "allowed_A", review->plug_allowed_A);
    ovp_text_json_end_object(&json);
    write_device(&json, "element_protector", &review->protector);
    write_device(&json, "control_fuse", &review->fuse);
    write_supply(&json, review);
    write_line(&json, facts);
    write_failures(&json, review);
    return (int)ovp_text_json_end_document(&json);
}
