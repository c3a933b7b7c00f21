/* A budget file, leaf by leaf, and a point judged with it. */
#include "ovenproof/metrology.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void ovp_metrology_budget_init(ovp_metrology_budget_file *file)
{
    *file = (ovp_metrology_budget_file){0};
    for (size_t i = 0; i < OVP_METROLOGY_LINES; i++)
        file->lines[i].input = (ovp_metrology_input){OVP_METROLOGY_NORMAL, 0.0, NAN, 1.0, INFINITY};
}

/* ---- leaves -------------------------------------------------------------------------------------- */

static ovp_status keep(char *buffer, size_t size, ovp_span text, ovp_error *error)
{
    text = ovp_span_trim(text);
    if (text.count > 0 && ovp_copy_string(buffer, size, text))
        return OVP_OK;
    return ovp_error_set(error, OVP_ERROR_DATA,
                         text.count == 0 ? "the text is empty" : "the text is too long");
}

static ovp_status set_number(double *value, ovp_span text, double above, const char *example,
                             ovp_error *error)
{
    double number = NAN;
    if (ovp_text_number(text, &number) && number > above) {
        *value = number;
        return OVP_OK;
    }
    ovp_error_set(error, OVP_ERROR_DATA, "this is no such number");
    ovp_error_hint(error, "write it like %s", example);
    return OVP_ERROR_DATA;
}

static ovp_status set_shape(ovp_metrology_budget_line *line, ovp_span text, ovp_error *error)
{
    line->has_shape = ovp_metrology_shape_named(text, &line->input.shape);
    if (line->has_shape)
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_DATA, "this is no shape");
    ovp_error_hint(error, "shapes are normal, rectangular, triangular and u-shaped");
    return OVP_ERROR_DATA;
}

/* "5F", "2uV", "0.4%" or a tolerance class. A bare number says no unit, and is refused. */
static bool read_width(ovp_metrology_budget_line *line, ovp_span text)
{
    double *width = &line->input.width;
    double bare = 0.0;
    ovp_copy_string(line->class_name, sizeof line->class_name, ovp_span_trim(text));
    for (size_t i = 0; ovp_tc_tolerance_name(i) != NULL; i++)
        if (ovp_span_equals(ovp_span_of(line->class_name), ovp_tc_tolerance_name(i))) {
            line->written = OVP_METROLOGY_CLASS;
            return true;
        }
    if (ovp_text_number(text, &bare))
        return false;
    static const ovp_text_kind kinds[] = {OVP_TEXT_TEMPERATURE_DIFFERENCE, OVP_TEXT_EMF, OVP_TEXT_RATIO};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (ovp_text_quantity(text, kinds[i], OVP_TEXT_DEGREES_NONE, width, NULL) == OVP_OK &&
            *width >= 0.0) {
            line->written = (ovp_metrology_width)i;
            return true;
        }
    return false;
}

static ovp_status set_width(ovp_metrology_budget_line *line, ovp_span text, ovp_error *error)
{
    line->has_width = read_width(line, text);
    if (line->has_width)
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_DATA, "this is no width: zero or above, with its unit");
    ovp_error_hint(error, "write it like \"5F\", \"2uV\", \"0.4%%\" or \"astm-e230-special\"");
    return OVP_ERROR_DATA;
}

static ovp_status set_role(ovp_metrology_budget_line *line, ovp_span text, ovp_error *error)
{
    line->is_reference = ovp_span_equals(ovp_span_trim(text), "reference");
    return line->is_reference
               ? OVP_OK
               : ovp_error_set(error, OVP_ERROR_DATA, "a line can stand for the \"reference\" only");
}

static ovp_status set_line(ovp_metrology_budget_line *line, const char *key, ovp_span text, ovp_error *error)
{
    if (strcmp(key, "name") == 0)
        return keep(line->name, sizeof line->name, text, error);
    if (strcmp(key, "source") == 0)
        return keep(line->source, sizeof line->source, text, error);
    if (strcmp(key, "shape") == 0)
        return set_shape(line, text, error);
    if (strcmp(key, "width") == 0)
        return set_width(line, text, error);
    if (strcmp(key, "k") == 0)
        return set_number(&line->input.k, text, 0.0, "k = 2", error);
    if (strcmp(key, "sensitivity") == 0)
        return set_number(&line->input.sensitivity, text, -1e6, "sensitivity = 1", error);
    if (strcmp(key, "freedom") == 0)
        return set_number(&line->input.freedom, text, 0.0, "freedom = 9", error);
    if (strcmp(key, "stands_for") == 0)
        return set_role(line, text, error);
    ovp_error_set(error, OVP_ERROR_DATA, "an input has no \"%.40s\"", key);
    ovp_error_hint(error, "keys are name, source, shape, width, k, sensitivity, freedom and stands_for");
    return OVP_ERROR_DATA;
}

ovp_status ovp_metrology_budget_set(ovp_metrology_budget_file *file, const char *path, ovp_span text,
                                    ovp_error *error)
{
    static const char start[] = "inputs[";
    if (strcmp(path, "name") == 0)
        return keep(file->name, sizeof file->name, text, error);
    if (strcmp(path, "note") == 0)
        return keep(file->note, sizeof file->note, text, error);
    char *end = NULL;
    unsigned long number = 0;
    if (strncmp(path, start, sizeof start - 1) == 0)
        number = strtoul(path + sizeof start - 1, &end, 10);
    if (end == NULL || end[0] != ']' || end[1] != '.' || number < 1) {
        ovp_error_set(error, OVP_ERROR_DATA, "a budget has no \"%.60s\"", path);
        ovp_error_hint(error,
                       "a budget is name, note and inputs = { { name = ..., shape = ..., width = ... } }");
        return OVP_ERROR_DATA;
    }
    if (number > OVP_METROLOGY_LINES)
        return ovp_error_set(error, OVP_ERROR_DATA, "more than %d inputs", OVP_METROLOGY_LINES);
    if (number > file->count)
        file->count = number;
    return set_line(file->lines + number - 1, end + 2, text, error);
}

ovp_status ovp_metrology_budget_check(const ovp_metrology_budget_file *file, ovp_error *error)
{
    if (file->count == 0)
        return ovp_error_set(error, OVP_ERROR_DATA, "a budget without inputs");
    for (size_t i = 0; i < file->count; i++) {
        const ovp_metrology_budget_line *line = file->lines + i;
        const char *missing = line->name[0] == '\0'                                               ? "name"
                              : line->source[0] == '\0'                                           ? "source"
                              : !line->has_shape                                                  ? "shape"
                              : !line->has_width                                                  ? "width"
                              : line->input.shape == OVP_METROLOGY_NORMAL && isnan(line->input.k) ? "k"
                                                                                                  : NULL;
        if (missing == NULL)
            continue;
        ovp_error_set(error, OVP_ERROR_DATA, "input %d (%.60s) has no %s", (int)i + 1, line->name, missing);
        ovp_error_hint(error,
                       "each input has a name, a source, a shape and a width; a normal width also its k");
        return OVP_ERROR_DATA;
    }
    return OVP_OK;
}

/* ---- a point ------------------------------------------------------------------------------------- */

static void add_part(ovp_metrology_parts *parts, const char *name, ovp_metrology_input input)
{
    parts->names[parts->budget.count] = name;
    parts->budget.inputs[parts->budget.count++] = input;
}

/* The line's width at this temperature, in degC. */
static ovp_status width_at(const ovp_metrology_budget_line *line, double temperature_C,
                           const ovp_tc_type *sensor, double *width_C, ovp_error *error)
{
    double mV_per_C = NAN;
    ovp_status status = OVP_OK;
    *width_C = line->input.width;
    if (line->written == OVP_METROLOGY_DEGREES)
        return OVP_OK;
    if (line->written == OVP_METROLOGY_SHARE) {
        *width_C = line->input.width * fabs(temperature_C);
        return OVP_OK;
    }
    if (sensor == NULL) {
        ovp_error_set(error, OVP_ERROR_DATA, "the budget's \"%.60s\" depends on the type of the couple",
                      line->name);
        ovp_error_hint(error, "name it with --sensor, such as --sensor K");
        return OVP_ERROR_DATA;
    }
    if (line->written == OVP_METROLOGY_CLASS)
        return ovp_tc_tolerance(line->class_name, *sensor, temperature_C, width_C, error);
    status = ovp_tc_seebeck(*sensor, temperature_C, &mV_per_C, error);
    if (status == OVP_OK)
        *width_C = line->input.width / fabs(mV_per_C);
    return status;
}

static void add_readings(const ovp_metrology_point *point, double type_a_C, ovp_metrology_parts *parts)
{
    if (point->count > 1)
        add_part(parts, "spread of the readings",
                 (ovp_metrology_input){OVP_METROLOGY_NORMAL, type_a_C, 1.0, 1.0, (double)point->count - 1.0});
    if (!isnan(point->reference_U_C))
        add_part(parts, "reference, from its certificate",
                 (ovp_metrology_input){OVP_METROLOGY_NORMAL, point->reference_U_C, 2.0, 1.0, INFINITY});
    add_part(parts, "last digit",
             (ovp_metrology_input){OVP_METROLOGY_RECTANGULAR, 0.5 * point->resolution_C, 1.0, 1.0, INFINITY});
}

ovp_status ovp_metrology_point_with_budget(const ovp_metrology_point *point, double tolerance_C,
                                           const ovp_metrology_budget_file *file, const ovp_tc_type *sensor,
                                           ovp_metrology_parts *parts, ovp_metrology_result *result,
                                           ovp_error *error)
{
    ovp_metrology_result judged;
    ovp_metrology_point_result(point, tolerance_C, &judged);
    *parts = (ovp_metrology_parts){0};
    add_readings(point, judged.type_a_C, parts);
    for (size_t i = 0; i < file->count; i++) {
        const ovp_metrology_budget_line *line = file->lines + i;
        ovp_metrology_input input = line->input;
        if (line->is_reference && !judged.reference_assumed)
            continue;
        ovp_status status = width_at(line, point->mean_reference_C, sensor, &input.width, error);
        if (status != OVP_OK)
            return status;
        add_part(parts, line->name, input);
    }
    ovp_status status = ovp_metrology_combine(&parts->budget, 0.9545, &parts->combined, error);
    if (status != OVP_OK)
        return status;
    judged.expanded_uncertainty_C = parts->combined.expanded;
    judged.decision = ovp_metrology_decide(judged.error_C, judged.expanded_uncertainty_C, tolerance_C);
    if (judged.reference_assumed && judged.decision == OVP_METROLOGY_PASS)
        judged.decision = OVP_METROLOGY_CONDITIONAL_PASS;
    *result = judged;
    return OVP_OK;
}
