#include "reader_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A run noted by hand: "start 74F, 1000F 19:40, 1500F 30:10". */

static const char example[] =
    "write it as \"start 74F, 1000F 19:40, 1500F 30:10\": each temperature with its unit "
    "and the time since the start";

enum {
    ITEM_SIZE = 96,
    TOKEN_SIZE = 48,
};

typedef struct item {
    ovp_trace_sample sample;
    bool has_time, has_temperature;
} item;

static ovp_status refuse(ovp_error *error, const char *what, ovp_span where)
{
    char text[ITEM_SIZE];
    ovp_copy_string(text, sizeof text, where);
    ovp_error_set(error, OVP_ERROR_DATA, "\"%s\": %s", text, what);
    ovp_error_hint(error, "%s", example);
    return OVP_ERROR_DATA;
}

/* The next word; a number and a unit that a blank parts are one. */
static ovp_span next_token(ovp_span *left, char joined[TOKEN_SIZE])
{
    *left = ovp_span_trim(*left);
    size_t end = 0;
    while (end < left->count && left->bytes[end] != ' ' && left->bytes[end] != '\t')
        end++;
    ovp_span token = {left->bytes, end};
    *left = ovp_span_trim((ovp_span){left->bytes + end, left->count - end});
    double number = 0.0;
    if (!ovp_text_number(token, &number) || left->count == 0)
        return token;
    end = 0;
    while (end < left->count && left->bytes[end] != ' ' && left->bytes[end] != '\t')
        end++;
    ovp_span behind = {left->bytes, end};
    if (trace_unit(behind) == UNIT_NONE || token.count + behind.count >= TOKEN_SIZE)
        return token;
    memcpy(joined, token.bytes, token.count);
    memcpy(joined + token.count, behind.bytes, behind.count);
    token = (ovp_span){joined, token.count + behind.count};
    *left = (ovp_span){left->bytes + end, left->count - end};
    return token;
}

static bool is_filler(ovp_span token)
{
    static const char *const words[] = {"at", "after", "in", "to", "reached", "=", "@", "-", "nach", "bei"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (ovp_span_equals(token, words[i]))
            return true;
    return false;
}

static ovp_status take_token(item *to, ovp_span token, ovp_text_degrees bare, ovp_error *error)
{
    double value = 0.0;
    if (ovp_span_equals(token, "start") || ovp_span_equals(token, "begin")) {
        to->sample.time_s = 0.0;
        to->has_time = true;
        return OVP_OK;
    }
    if (is_filler(token))
        return OVP_OK;
    double number = 0.0;
    bool plain = ovp_text_number(token, &number);
    if (!plain &&
        ovp_text_quantity(token, OVP_TEXT_DURATION, OVP_TEXT_DEGREES_NONE, &value, NULL) == OVP_OK) {
        if (to->has_time)
            return refuse(error, "a second time in one reading", token);
        to->sample.time_s = value;
        to->has_time = true;
        return OVP_OK;
    }
    if (to->has_temperature)
        return refuse(error, "a second temperature in one reading, or a time without a unit", token);
    to->has_temperature = true;
    cell word = trace_cell(token, '.');
    if (word.kind == CELL_WORD) {
        to->sample.cell = word.reason;
        return OVP_OK;
    }
    ovp_status status = ovp_text_quantity(token, OVP_TEXT_TEMPERATURE, bare, &value, error);
    if (status != OVP_OK) {
        ovp_error_hint(error, "%s", example);
        return status;
    }
    to->sample.cell = OVP_TRACE_NUMBER;
    to->sample.temperature_C = value;
    return OVP_OK;
}

static ovp_status read_item(ovp_span text, ovp_text_degrees bare, item *to, ovp_error *error)
{
    *to = (item){.sample = {.time_s = NAN,
                            .temperature_C = NAN,
                            .setpoint_C = NAN,
                            .output_percent = NAN,
                            .supply_V = NAN,
                            .element_A = NAN,
                            .cold_junction_C = NAN,
                            .cell = OVP_TRACE_EMPTY}};
    char joined[TOKEN_SIZE];
    ovp_span left = text;
    for (ovp_span token = next_token(&left, joined); token.count > 0; token = next_token(&left, joined)) {
        ovp_status status = take_token(to, token, bare, error);
        if (status != OVP_OK)
            return status;
    }
    return to->has_temperature ? OVP_OK : refuse(error, "no temperature", text);
}

static ovp_span next_item(ovp_span *left)
{
    size_t end = 0;
    while (end < left->count && left->bytes[end] != ',' && left->bytes[end] != ';' &&
           left->bytes[end] != '\n')
        end++;
    ovp_span text = ovp_span_trim((ovp_span){left->bytes, end});
    size_t used = end < left->count ? end + 1 : end;
    *left = (ovp_span){left->bytes + used, left->count - used};
    return text;
}

static void note(ovp_trace_input *input, const ovp_trace_sample *sample)
{
    input->samples++;
    input->duration_s = sample->time_s;
    if (sample->cell != OVP_TRACE_NUMBER) {
        input->missing++;
        return;
    }
    if (!(sample->temperature_C >= input->temperature_min_C))
        input->temperature_min_C = sample->temperature_C;
    if (!(sample->temperature_C <= input->temperature_max_C))
        input->temperature_max_C = sample->temperature_C;
}

/* Checks all of the readings; hands them on when `sample` is given. */
static ovp_status walk(ovp_span left, ovp_text_degrees bare, ovp_trace_sample_function sample, void *context,
                       ovp_trace_input *input, ovp_error *error)
{
    steps all = {0};
    double last = 0.0;
    double first = 0.0;
    while (left.count > 0) {
        ovp_span text = next_item(&left);
        item one;
        if (text.count == 0)
            continue;
        ovp_status status = read_item(text, bare, &one, error);
        if (status != OVP_OK)
            return status;
        if (!one.has_time && input->samples > 0)
            return refuse(error, "no time", text);
        if (!one.has_time) {
            one.sample.time_s = 0.0;
            trace_warn(input, "the first reading has no time: taken as the start");
        }
        if (input->samples == 0)
            first = one.sample.time_s;
        else if (!(one.sample.time_s > last))
            return refuse(error, "the time is not later than the one before", text);
        else
            trace_steps_add(&all, one.sample.time_s - last);
        last = one.sample.time_s;
        one.sample.time_s -= first;
        note(input, &one.sample);
        if (sample != NULL)
            sample(context, &one.sample);
    }
    input->interval_s = trace_steps_median(&all);
    return OVP_OK;
}

static void begin(ovp_trace_input *input)
{
    *input = (ovp_trace_input){
        .start_s = NAN, .interval_s = NAN, .temperature_min_C = NAN, .temperature_max_C = NAN};
    input->has[OVP_TRACE_TIME] = true;
    input->has[OVP_TRACE_TEMPERATURE] = true;
}

ovp_status ovp_trace_times(const char *text, ovp_text_degrees bare, ovp_trace_sample_function sample,
                           void *context, ovp_trace_input *input, ovp_error *error)
{
    ovp_span all = ovp_span_of(text);
    begin(input);
    ovp_status status = walk(all, bare, NULL, NULL, input, error);
    if (status != OVP_OK)
        return status;
    if (input->samples < 2)
        return refuse(error, "a run needs at least two readings", ovp_span_trim(all));
    begin(input);
    return walk(all, bare, sample, context, input, error);
}
