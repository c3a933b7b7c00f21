/* Values one by one: from the command line in words, from standard input as bare numbers for other programs.
 */
#include "command/convert.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    LINE_SIZE = 256,
};

const command_option convert_options[] = {
    {"cold", "T", false, "temperature of the cold junction (the screws); 0C when not given"},
    {0},
};

static ovp_status convert(const convert_job *job, ovp_span text, convert_point *point, ovp_error *error)
{
    double value = NAN;
    ovp_status status = ovp_text_quantity(text, job->kind, job->degrees, &value, error);
    if (status != OVP_OK)
        return status;
    if (job->gives_temperature) {
        point->emf_mV = value;
        return ovp_tc_temperature_at(job->type, value, job->cold_C, &point->temperature_C, error);
    }
    point->temperature_C = value;
    return ovp_tc_emf_at(job->type, value, job->cold_C, &point->emf_mV, error);
}

/* ---- standard input ------------------------------------------------------------------------------ */

/* One line without its end; false at the end of the file. A line that does not fit is an error. */
static bool read_line(char line[LINE_SIZE], size_t *length, uint64_t *number, ovp_error *error)
{
    size_t count = 0;
    int letter = getc_unlocked(stdin);
    if (letter == EOF)
        return false;
    *number += 1;
    for (; letter != EOF && letter != '\n'; letter = getc_unlocked(stdin)) {
        if (count == LINE_SIZE) {
            ovp_error_set(error, OVP_ERROR_DATA, "a line longer than %d characters is no number", LINE_SIZE);
            return false;
        }
        line[count++] = (char)letter;
    }
    *length = count;
    return true;
}

/* The value of a line: without the mark that some programs put before the first; blank when there is none. */
static ovp_span value_of_line(const char *line, size_t length, uint64_t number)
{
    ovp_span text = {line, length};
    if (number == 1 && length >= 3 && memcmp(line, "\xEF\xBB\xBF", 3) == 0)
        text = (ovp_span){line + 3, length - 3};
    text = ovp_span_trim(text);
    if (text.count > 0 && text.bytes[0] == '#')
        text.count = 0;
    return text;
}

typedef ovp_status (*take_point)(void *context, const convert_point *point);

static ovp_status read_values(const convert_job *job, take_point take, void *context, ovp_error *error)
{
    char line[LINE_SIZE];
    size_t length = 0;
    uint64_t number = 0;
    ovp_status status = OVP_OK;
    while (status == OVP_OK && read_line(line, &length, &number, error)) {
        ovp_span text = value_of_line(line, length, number);
        if (text.count == 0)
            continue;
        convert_point point = {NAN, NAN};
        status = convert(job, text, &point, error);
        if (status == OVP_OK)
            status = take(context, &point);
    }
    if (status == OVP_OK && ferror(stdin))
        status = ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot read it: %s", strerror(errno));
    if (status == OVP_OK)
        status = error->status; /* of a line too long */
    if (status != OVP_OK)
        ovp_error_place(error, "standard input", status == OVP_ERROR_SYSTEM ? 0 : number);
    return status;
}

static ovp_status print_bare(void *context, const convert_point *point)
{
    const convert_job *job = context;
    char number[OVP_TEXT_NUMBER_SIZE + 1];
    ovp_text_degrees degrees = job->degrees == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_C : job->degrees;
    double value =
        job->gives_temperature ? ovp_text_from_celsius(point->temperature_C, degrees) : point->emf_mV;
    size_t length = ovp_text_format_number(value, number);
    number[length] = '\n';
    fwrite(number, 1, length + 1, stdout);
    return OVP_OK;
}

/* ---- one JSON document --------------------------------------------------------------------------- */

/* All points are held until the last is good: a document is whole or not printed at all. */
typedef struct point_list {
    convert_point *points;
    size_t count, room;
    ovp_error *error;
} point_list;

static ovp_status keep_point(void *context, const convert_point *point)
{
    point_list *list = context;
    if (list->count == list->room) {
        size_t room = 0, bytes = 0;
        convert_point *points = NULL;
        if (ovp_add_size(list->room * 2, 64, &room) && ovp_multiply_size(room, sizeof *points, &bytes))
            points = realloc(list->points, bytes);
        if (points == NULL)
            return ovp_error_set(list->error, OVP_ERROR_MEMORY, "too many values for the memory there is");
        list->points = points;
        list->room = room;
    }
    list->points[list->count++] = *point;
    return OVP_OK;
}

static ovp_status print_json(const command_call *call, const convert_job *job, const point_list *list)
{
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, job->document, 1);
    ovp_text_json_key_string(&json, "type", ovp_tc_type_name(job->type));
    ovp_text_json_key_number(&json, "cold_junction_C", job->cold_C);
    ovp_text_json_key(&json, "points");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < list->count; i++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_number(&json, "temperature_C", list->points[i].temperature_C);
        ovp_text_json_key_number(&json, "emf_mV", list->points[i].emf_mV);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    return ovp_text_json_end_document(&json);
}

/* ---- the command line ---------------------------------------------------------------------------- */

static ovp_status convert_operands(const command_call *call, const convert_job *job, point_list *list)
{
    ovp_error *error = list->error;
    for (size_t i = 1; i < call->operand_count; i++) {
        convert_point point = {NAN, NAN};
        double ignored = 0.0;
        ovp_span text = ovp_span_of(call->operands[i]);
        ovp_status status = convert(job, text, &point, error);
        if (status == OVP_ERROR_DATA &&
            ovp_text_quantity(text, job->kind, job->degrees, &ignored, NULL) != OVP_OK)
            return error->status = OVP_ERROR_USAGE; /* not a value at all */
        if (status == OVP_OK)
            status = keep_point(list, &point);
        if (status != OVP_OK)
            return status;
    }
    return OVP_OK;
}

/* "20.644 mV  932.0 °F (500.0 °C)": what was given stands before its answer when there are several. */
static void print_words(const convert_job *job, const point_list *list)
{
    char temperature[64], cold[64], emf[64];
    for (size_t i = 0; i < list->count; i++) {
        const convert_point *point = list->points + i;
        size_t length = ovp_text_format_fixed(point->emf_mV, 3, emf, sizeof emf);
        ovp_copy_string(emf + length, sizeof emf - length, ovp_span_of(" mV"));
        ovp_text_format_temperature(point->temperature_C, job->degrees, 1, temperature, sizeof temperature);
        if (list->count == 1)
            printf("%s\n", job->gives_temperature ? temperature : emf);
        else if (job->gives_temperature)
            printf("%10s  %s\n", emf, temperature);
        else
            printf("%10s  at %s\n", emf, temperature);
    }
    if (job->cold_C == 0.0)
        return;
    ovp_text_format_temperature(job->cold_C, job->degrees, 1, cold, sizeof cold);
    printf("Type %s, cold junction at %s.\n", ovp_tc_type_name(job->type), cold);
}

static ovp_status run(const command_call *call, convert_job *job, ovp_error *error)
{
    point_list list = {.error = error};
    ovp_status status = OVP_OK;
    if (call->operand_count > 1)
        status = convert_operands(call, job, &list);
    else if (call->json)
        status = read_values(job, keep_point, &list, error);
    else
        status = read_values(job, print_bare, job, error);
    if (status == OVP_OK && call->json)
        status = print_json(call, job, &list) == OVP_OK ? OVP_OK : OVP_ERROR_SYSTEM;
    else if (status == OVP_OK && call->operand_count > 1)
        print_words(job, &list);
    free(list.points);
    return status;
}

int convert_run(command_call *call, bool gives_temperature)
{
    ovp_error error = {0};
    convert_job job = {
        .document = call->definition->name,
        .kind = gives_temperature ? OVP_TEXT_EMF : OVP_TEXT_TEMPERATURE,
        .gives_temperature = gives_temperature,
        .degrees = call->degrees,
    };
    if (call->operand_count == 0)
        return command_usage(call, "no thermocouple type");
    if (!ovp_tc_type_named(ovp_span_of(call->operands[0]), false, &job.type))
        return command_usage(call, "\"%.40s\" is no thermocouple type; types are B C E J K N R S T",
                             call->operands[0]);
    ovp_status status = command_quantity(call, "cold", OVP_TEXT_TEMPERATURE, &job.cold_C, &error);
    if (status == OVP_OK)
        status = run(call, &job, &error);
    if (status == OVP_OK)
        return 0;
    if (error.status == OVP_OK)
        return OVP_ERROR_SYSTEM; /* the output failed: command_finish says so */
    if (error.status == OVP_ERROR_DATA && error.file[0] == '\0')
        ovp_error_hint(&error, "`ovenproof table %s` prints the whole range", ovp_tc_type_name(job.type));
    ovp_error_hint(&error, "`ovenproof %s --help` has an example", call->definition->name);
    return command_fail(&error);
}
