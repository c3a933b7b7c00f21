/* `describe --json`: docs/json.md says what each key means. */
#include "command/describe.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const units[] = {
    [OVP_TEXT_TEMPERATURE] = "C", [OVP_TEXT_TEMPERATURE_DIFFERENCE] = "C",
    [OVP_TEXT_EMF] = "mV",        [OVP_TEXT_VOLTAGE] = "V",
    [OVP_TEXT_CURRENT] = "A",     [OVP_TEXT_RESISTANCE] = "ohm",
    [OVP_TEXT_POWER] = "W",       [OVP_TEXT_DURATION] = "s",
    [OVP_TEXT_LENGTH] = "m",      [OVP_TEXT_MASS] = "kg",
    [OVP_TEXT_RATIO] = "",        [OVP_TEXT_COUNT] = "",
};

static const char *const fitted_words[] = {"unknown", "not-fitted", "fitted"};

static bool is_quantity(const ovp_oven_field *field)
{
    return !field->is_text && !field->is_yes_no;
}

static void write_field(ovp_text_json *json, const ovp_oven *oven, const ovp_oven_field *field,
                        const char *path)
{
    char text[512];
    double value;
    if (!ovp_oven_value(oven, path, text, sizeof text))
        return;
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "field", path);
    ovp_text_json_key_string(json, "text", text);
    if (is_quantity(field) &&
        ovp_text_quantity(ovp_span_of(text), field->kind, OVP_TEXT_DEGREES_NONE, &value, NULL) == OVP_OK) {
        ovp_text_json_key_number(json, "value", value);
        ovp_text_json_key_string(json, "unit", units[field->kind]);
    }
    ovp_text_json_end_object(json);
}

/* "elements[].watts" with its index filled in. */
static void indexed_path(const char *path, size_t index, char *made, size_t size)
{
    const char *bracket = strchr(path, ']');
    snprintf(made, size, "%.*s%zu%s", (int)(bracket - path), path, index, bracket);
}

static void write_fields(ovp_text_json *json, const ovp_oven *oven)
{
    ovp_text_json_key(json, "fields");
    ovp_text_json_begin_array(json);
    for (const ovp_oven_field *field = ovp_oven_fields(); field->path != NULL; field++) {
        char path[128];
        size_t entries = strncmp(field->path, "elements", 8) == 0 ? oven->element_count : oven->heat_up_count;
        if (strchr(field->path, '[') == NULL)
            write_field(json, oven, field, field->path);
        else
            for (size_t i = 1; i <= entries; i++) {
                indexed_path(field->path, i, path, sizeof path);
                write_field(json, oven, field, path);
            }
    }
    ovp_text_json_end_array(json);
}

static void write_parts(ovp_text_json *json, const ovp_oven *oven)
{
    ovp_text_json_key(json, "parts");
    ovp_text_json_begin_object(json);
    for (int part = 0; part < OVP_OVEN_PARTS; part++)
        ovp_text_json_key_string(json, ovp_oven_part_name((ovp_oven_part)part),
                                 fitted_words[ovp_oven_has(oven, (ovp_oven_part)part)]);
    ovp_text_json_end_object(json);
}

static void write_load(ovp_text_json *json, const describe_facts *facts)
{
    const ovp_electrical_load *load = &facts->load;
    ovp_text_json_key(json, "load");
    if (!facts->has_load) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "hot_ohm", load->hot_ohm);
    ovp_text_json_key_number(json, "cold_ohm", load->cold_ohm);
    ovp_text_json_key(json, "element_cold_ohm");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < facts->oven->element_count; i++)
        ovp_text_json_number(json, load->element_ohm[i]);
    ovp_text_json_end_array(json);
    ovp_text_json_key_number(json, "tolerance", load->ohm_tolerance);
    ovp_text_json_key_number(json, "full_W", load->full_W);
    ovp_text_json_key_number(json, "full_A", load->full_A);
    ovp_text_json_key_number(json, "cold_A", load->cold_A);
    ovp_text_json_key_number(json, "total_A", load->total_A);
    ovp_text_json_key_integer(json, "branches", (int64_t)load->branches);
    ovp_text_json_key_boolean(json, "alloy_assumed", load->alloy_assumed);
    ovp_text_json_end_object(json);
}

static void write_circuit(ovp_text_json *json, const describe_facts *facts)
{
    const ovp_electrical_circuit *circuit = &facts->circuit;
    ovp_text_json_key(json, "circuit");
    if (!facts->has_circuit) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "load_A", circuit->load_A);
    ovp_text_json_key_number(json, "rating_A", circuit->circuit_A);
    ovp_text_json_key_number(json, "share", circuit->share);
    ovp_text_json_key_number(json, "continuous_A", circuit->continuous_A);
    ovp_text_json_key_boolean(json, "within_rating", circuit->within_rating);
    ovp_text_json_key_boolean(json, "within_continuous", circuit->within_continuous);
    ovp_text_json_key_number(json, "series_ohm", circuit->series_ohm);
    ovp_text_json_key_number(json, "lost_V", circuit->lost_V);
    ovp_text_json_key_number(json, "power_left", circuit->power_left);
    ovp_text_json_end_object(json);
}

static void write_heat_up(ovp_text_json *json, const describe_facts *facts)
{
    ovp_text_json_key(json, "heat_up");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; facts->has_outlook && i < facts->outlook.mark_count; i++) {
        const ovp_thermal_outlook_mark *mark = &facts->outlook.marks[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_number(json, "to_C", mark->to_C);
        ovp_text_json_key_number(json, "time_s", mark->time_s);
        ovp_text_json_key_number(json, "within_s", mark->within_s);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static void write_gaps(ovp_text_json *json, const ovp_oven *oven)
{
    ovp_text_json_key(json, "gaps");
    ovp_text_json_begin_array(json);
    const ovp_oven_field *field = ovp_oven_fields();
    for (; describe_next_gap(oven, &field); field++) {
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "field", field->path);
        ovp_text_json_key_string(json, "text", field->text);
        ovp_text_json_key_string(json, "matters", field->matters);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

int describe_print_json(const command_call *call, const describe_facts *facts)
{
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "describe", 1);
    ovp_text_json_key_string(&json, "file", facts->file);
    ovp_text_json_key_string(&json, "name", facts->oven->name);
    write_fields(&json, facts->oven);
    write_parts(&json, facts->oven);
    write_load(&json, facts);
    write_circuit(&json, facts);
    write_heat_up(&json, facts);
    write_gaps(&json, facts->oven);
    return (int)ovp_text_json_end_document(&json);
}

int describe_print_fields_json(const command_call *call)
{
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "fields", 1);
    ovp_text_json_key(&json, "fields");
    ovp_text_json_begin_array(&json);
    for (const ovp_oven_field *field = ovp_oven_fields(); field->path != NULL; field++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "field", field->path);
        ovp_text_json_key_string(&json, "kind",
                                 field->is_yes_no ? "yes-no"
                                 : field->is_text ? "words"
                                                  : "quantity");
        ovp_text_json_key_string(&json, "unit", is_quantity(field) ? units[field->kind] : NULL);
        ovp_text_json_key_string(&json, "choices", field->choices);
        ovp_text_json_key_boolean(&json, "required", field->required);
        ovp_text_json_key_string(&json, "text", field->text);
        ovp_text_json_key_string(&json, "matters", field->matters);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    return (int)ovp_text_json_end_document(&json);
}
