/* `simulate`: a trace from the oven model, healthy or faulty. */
#include "command/command.h"
#include "lua/lua.h"
#include "ovenproof/diagnosis.h"
#include "picture/picture.h"
#include "store/store.h"

#include <math.h>
#include <string.h>

enum {
    FAULTS = 8,
    CELL_SIZE = 48,
};

static const command_option options[] = {
    {"fault", "ID[=SEVERITY]", true, "a fault, half way from mild to severe when not said; may repeat"},
    {"seed", "N", false, "another number, another run of the same oven; 1 when not given"},
    {"minutes", "M", false, "how long; 60 when not given"},
    {"interval", "S", false, "seconds between samples; 10 when not given"},
    {"setpoint", "T", false, "50 °F above the oven's highest heat-up mark when not given"},
    {"supply", "V", false, "volts at the wall, such as 228V; the oven's own when not given"},
    {"ambient", "T", false, "temperature of the room; 75 °F (24 °C) when not given"},
    {"start", "T", false, "temperature of the oven at the start; the room's when not given"},
    {"load", "MASS", false, "steel in the oven, such as 2lb; empty when not given"},
    {"noise", "D", false, "scatter of the display, standard deviation, such as 0.5F"},
    {"resolution", "D", false, "last place of the display, such as 1F; 0.1C when not given"},
    {"columns", "LIST", false, "columns with commas between; the first four below when not given"},
    {"o", "FILE", false, "write to a file instead of standard output"},
    {"plot", NULL, false, "draw the run in the terminal instead of printing it"},
    {"picture", "FILE", false, "draw it into a file that ends in .svg, .pdf or .png instead of printing it"},
    {0},
};

/* ---- columns ---------------------------------------------------------------------------------------- */

typedef enum quantity {
    TIME,
    TEMPERATURE,
    SETPOINT,
    OUTPUT,
    SUPPLY,
    CURRENT,
    COLD_JUNCTION,
} quantity;

static const struct column {
    const char *name;
    quantity what;
    ovp_text_degrees degrees;
    double seconds; /* of a unit of time */
} known_columns[] = {
    {"time_s", TIME, OVP_TEXT_DEGREES_NONE, 1},
    {"time_min", TIME, OVP_TEXT_DEGREES_NONE, 60},
    {"time_h", TIME, OVP_TEXT_DEGREES_NONE, 3600},
    {"temperature_C", TEMPERATURE, OVP_TEXT_DEGREES_C, 0},
    {"temperature_F", TEMPERATURE, OVP_TEXT_DEGREES_F, 0},
    {"temperature_K", TEMPERATURE, OVP_TEXT_DEGREES_K, 0},
    {"setpoint_C", SETPOINT, OVP_TEXT_DEGREES_C, 0},
    {"setpoint_F", SETPOINT, OVP_TEXT_DEGREES_F, 0},
    {"setpoint_K", SETPOINT, OVP_TEXT_DEGREES_K, 0},
    {"output_percent", OUTPUT, OVP_TEXT_DEGREES_NONE, 0},
    {"supply_V", SUPPLY, OVP_TEXT_DEGREES_NONE, 0},
    {"element_A", CURRENT, OVP_TEXT_DEGREES_NONE, 0},
    {"cold_junction_C", COLD_JUNCTION, OVP_TEXT_DEGREES_C, 0},
    {"cold_junction_F", COLD_JUNCTION, OVP_TEXT_DEGREES_F, 0},
    {"cold_junction_K", COLD_JUNCTION, OVP_TEXT_DEGREES_K, 0},
};

enum {
    KNOWN_COLUMNS = sizeof known_columns / sizeof known_columns[0],
};

/* ---- what was asked --------------------------------------------------------------------------------- */

typedef struct job {
    ovp_oven oven;
    ovp_thermal_conditions conditions;
    double load_kg, setpoint_C, noise_C, resolution_C;
    double seed, minutes, interval_s;
    ovp_thermal_plan plan;
    const struct column *columns[KNOWN_COLUMNS];
    size_t column_count;
    const ovp_diagnosis_fault *faults[FAULTS];
    double severities[FAULTS];
    size_t fault_count;
} job;

static ovp_status read_columns(const char *list, job *asked, ovp_error *error)
{
    const char *from = list;

    while (*from != '\0') {
        const char *comma = strchr(from, ',');
        const ovp_span name = ovp_span_trim((ovp_span){from, comma ? (size_t)(comma - from) : strlen(from)});
        size_t i = 0;
        while (i < KNOWN_COLUMNS && !ovp_span_equals(name, known_columns[i].name)) {
            i++;
        }
        if (i == KNOWN_COLUMNS || asked->column_count == KNOWN_COLUMNS) {
            ovp_error_set(error, OVP_ERROR_USAGE,
                          "option --columns: \"%.*s\" is not a column that can be written",
                          (int)(name.count < 40 ? name.count : 40), name.bytes);
            ovp_error_hint(
                error, "such as --columns time_s,temperature_C,setpoint_C,output_percent,supply_V,element_A");
            return OVP_ERROR_USAGE;
        }
        asked->columns[asked->column_count++] = &known_columns[i];
        from = comma ? comma + 1 : from + strlen(from);
    }
    return OVP_OK;
}

static ovp_status check_numbers(const job *asked, ovp_error *error)
{
    if (!(asked->minutes > 0 && asked->minutes <= 10080)) {
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --minutes: above 0 and at most 10080 (a week)");
    }
    if (!(asked->interval_s >= 0.1 && asked->interval_s <= 3600)) {
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --interval: 0.1 to 3600 seconds");
    }
    if (!(asked->seed >= 0 && asked->seed <= 9007199254740992.0) || asked->seed != floor(asked->seed)) {
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --seed: a whole number, not below zero");
    }
    if (asked->load_kg < 0 || asked->noise_C < 0 || asked->resolution_C < 0) {
        return ovp_error_set(error, OVP_ERROR_USAGE, "load, noise and resolution cannot be below zero");
    }
    if (!isnan(asked->conditions.supply_V) && !(asked->conditions.supply_V > 0)) {
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --supply: volts above zero are wanted");
    }
    return OVP_OK;
}

static ovp_status read_options(const command_call *call, job *asked, ovp_error *error)
{
    const struct {
        const char *name;
        ovp_text_kind kind;
        double *value;
    } rows[] = {
        {"seed", OVP_TEXT_COUNT, &asked->seed},
        {"minutes", OVP_TEXT_COUNT, &asked->minutes},
        {"interval", OVP_TEXT_COUNT, &asked->interval_s},
        {"setpoint", OVP_TEXT_TEMPERATURE, &asked->setpoint_C},
        {"supply", OVP_TEXT_VOLTAGE, &asked->conditions.supply_V},
        {"ambient", OVP_TEXT_TEMPERATURE, &asked->conditions.ambient_C},
        {"start", OVP_TEXT_TEMPERATURE, &asked->conditions.start_C},
        {"load", OVP_TEXT_MASS, &asked->load_kg},
        {"noise", OVP_TEXT_TEMPERATURE_DIFFERENCE, &asked->noise_C},
        {"resolution", OVP_TEXT_TEMPERATURE_DIFFERENCE, &asked->resolution_C},
    };
    ovp_thermal_conditions_init(&asked->conditions);
    asked->setpoint_C = asked->noise_C = asked->resolution_C = NAN;
    asked->seed = 1;
    asked->minutes = 60;
    asked->interval_s = 10;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const ovp_status status = command_quantity(call, rows[i].name, rows[i].kind, rows[i].value, error);
        if (status != OVP_OK) {
            return status;
        }
    }
    asked->conditions.load_J_per_K = ovp_thermal_steel_J_per_K(asked->load_kg);
    const ovp_status status = check_numbers(asked, error);
    if (status != OVP_OK) {
        return status;
    }
    const char *list = command_value(call, "columns");
    return read_columns(list ? list : "time_s,temperature_C,setpoint_C,output_percent", asked, error);
}

/* ---- faults ----------------------------------------------------------------------------------------- */

static ovp_status name_fault(const char *word, job *asked, const char **severity_text, ovp_error *error)
{
    const char *equals = strchr(word, '=');
    char id[64] = "";

    if (asked->fault_count == FAULTS) {
        return ovp_error_set(error, OVP_ERROR_USAGE, "more than %d faults", FAULTS);
    }
    (void)ovp_copy_string(id, sizeof id, (ovp_span){word, equals ? (size_t)(equals - word) : strlen(word)});
    const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_named(id);
    if (!fault) {
        ovp_error_set(error, OVP_ERROR_DATA, "there is no fault \"%s\"", id);
        ovp_error_hint(error, "the ids stand in reference/faults.csv, such as relay-half-wave or supply-low");
        return OVP_ERROR_DATA;
    }
    if (ovp_oven_has_any(&asked->oven, fault->needs_part) == OVP_OVEN_NOT_FITTED) {
        ovp_error_set(error, OVP_ERROR_DATA, "%s cannot be on this oven: it has no %s", id,
                      fault->needs_part);
        ovp_error_hint(error, "the part is not fitted by the oven's description");
        return OVP_ERROR_DATA;
    }
    asked->faults[asked->fault_count] = fault;
    *severity_text = equals ? equals + 1 : NULL;
    return OVP_OK;
}

static ovp_status apply_faults(const command_call *call, job *asked, ovp_error *error)
{
    const char *word;

    for (size_t i = 0; (word = command_value_at(call, "fault", i)) != NULL; i++) {
        const char *text = NULL;
        double severity = 0.5;
        ovp_status status = name_fault(word, asked, &text, error);
        if (status == OVP_OK && text) {
            status = ovp_diagnosis_severity(&asked->oven, asked->faults[i]->id, text, &severity, error);
        }
        if (status == OVP_OK) {
            status = ovp_diagnosis_apply_fault(&asked->oven, asked->faults[i]->id, severity,
                                               &asked->plan.parameters, &asked->plan.disturbance, error);
        }
        if (status != OVP_OK) {
            return status;
        }
        asked->severities[asked->fault_count++] = severity;
    }
    return OVP_OK;
}

static ovp_status make_plan(const command_call *call, job *asked, ovp_error *error)
{
    ovp_status status =
        ovp_thermal_plan_for(&asked->oven, &asked->conditions, asked->setpoint_C, &asked->plan, error);
    if (status != OVP_OK) {
        ovp_error_hint(error, "`ovenproof describe %s --gaps` says what is missing", call->operands[0]);
        return status;
    }
    asked->plan.seed = (uint64_t)asked->seed;
    if (!isnan(asked->noise_C)) {
        asked->plan.noise_C = asked->noise_C;
    }
    if (!isnan(asked->resolution_C)) {
        asked->plan.resolution_C = asked->resolution_C;
    }
    return apply_faults(call, asked, error);
}

/* ---- what is written -------------------------------------------------------------------------------- */

static double value_of(const struct column *column, const ovp_thermal_sample *sample)
{
    switch (column->what) {
    case TIME:
        return sample->time_s / column->seconds;
    case TEMPERATURE:
        return ovp_text_from_celsius(sample->temperature_C, column->degrees);
    case SETPOINT:
        return ovp_text_from_celsius(sample->setpoint_C, column->degrees);
    case OUTPUT:
        return sample->output_percent;
    case SUPPLY:
        return sample->supply_V;
    case CURRENT:
        return sample->element_A;
    case COLD_JUNCTION:
        return ovp_text_from_celsius(sample->cold_junction_C, column->degrees);
    }
    return NAN;
}

static int decimals_of(const struct column *column, double resolution_C)
{
    const double resolution = column->degrees == OVP_TEXT_DEGREES_F ? 1.8 * resolution_C : resolution_C;

    switch (column->what) {
    case TIME:
        return column->seconds > 1 ? 4 : 1;
    case TEMPERATURE:
    case SETPOINT:
        return resolution > 0.99 ? 0 : resolution > 0.09 ? 1 : 3;
    case CURRENT:
        return 2;
    default:
        return 1;
    }
}

static void format_cell(const job *asked, const struct column *column, const ovp_thermal_sample *sample,
                        char cell[CELL_SIZE])
{
    const double value = value_of(column, sample);

    cell[0] = '\0';
    if (column->what == TEMPERATURE && !sample->dark && sample->display != OVP_TC_DISPLAY_OK) {
        (void)ovp_copy_string(cell, CELL_SIZE, ovp_span_of(ovp_tc_display_name(sample->display)));
        return;
    }
    if (isnan(value)) {
        return;
    }
    (void)ovp_text_format_fixed(value, decimals_of(column, asked->plan.resolution_C), cell, CELL_SIZE);
    char *point = strchr(cell, '.');
    if (column->what == TIME && point && strspn(point + 1, "0") == strlen(point + 1)) {
        *point = '\0';
    }
}

typedef void (*sample_function)(void *context, const job *asked, const ovp_thermal_sample *sample);

static void each_sample(const job *asked, sample_function use, void *context)
{
    const uint64_t last = (uint64_t)floor(asked->minutes * 60 / asked->interval_s + 1e-9);
    ovp_thermal_run run;
    ovp_thermal_sample sample;

    ovp_thermal_run_start(&asked->plan, &run);
    for (uint64_t i = 0; i <= last; i++) {
        ovp_thermal_run_to(&run, (double)i * asked->interval_s, &sample);
        use(context, asked, &sample);
    }
}

typedef struct text_output {
    ovp_sink sink;
    ovp_status status; /* the first failure */
} text_output;

static void text_line(text_output *output, const char *line)
{
    if (output->status == OVP_OK) {
        output->status = output->sink.write(output->sink.context, line, strlen(line));
    }
}

static void text_sample(void *context, const job *asked, const ovp_thermal_sample *sample)
{
    text_output *output = context;
    char cell[CELL_SIZE];

    for (size_t i = 0; i < asked->column_count; i++) {
        format_cell(asked, asked->columns[i], sample, cell);
        text_line(output, cell);
        text_line(output, i + 1 < asked->column_count ? "," : "\n");
    }
}

static ovp_status write_text(const job *asked, ovp_sink sink)
{
    text_output output = {sink, OVP_OK};
    char line[256], number[OVP_TEXT_NUMBER_SIZE];

    (void)ovp_text_format_fixed(asked->seed, 0, number, sizeof number);
    snprintf(line, sizeof line, "# simulated by ovenproof: invented, no oven was run; oven %.95s, seed %s, ",
             asked->oven.name, number);
    text_line(&output, line);
    if (asked->fault_count == 0) {
        text_line(&output, "healthy");
    }
    for (size_t i = 0; i < asked->fault_count; i++) {
        snprintf(line, sizeof line, "%sfault %s", i > 0 ? ", " : "", asked->faults[i]->id);
        text_line(&output, line);
        if (strcmp(asked->faults[i]->severity_unit, "none") != 0) {
            (void)ovp_text_format_fixed(asked->severities[i], 2, number, sizeof number);
            text_line(&output, "=");
            text_line(&output, number);
        }
    }
    text_line(&output, "\n");
    for (size_t i = 0; i < asked->column_count; i++) {
        text_line(&output, asked->columns[i]->name);
        text_line(&output, i + 1 < asked->column_count ? "," : "\n");
    }
    each_sample(asked, text_sample, &output);
    return output.status;
}

static void json_sample(void *context, const job *asked, const ovp_thermal_sample *sample)
{
    ovp_text_json *json = context;

    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < asked->column_count; i++) {
        const struct column *column = asked->columns[i];
        if (column->what == TEMPERATURE && !sample->dark && sample->display != OVP_TC_DISPLAY_OK) {
            ovp_text_json_string(json, ovp_tc_display_name(sample->display));
        } else {
            ovp_text_json_number(json, value_of(column, sample));
        }
    }
    ovp_text_json_end_array(json);
}

static ovp_status write_json(const job *asked, ovp_sink sink)
{
    ovp_text_json json;

    ovp_text_json_init(&json, sink);
    ovp_text_json_begin_document(&json, "simulate", 1);
    ovp_text_json_key_string(&json, "oven", asked->oven.name);
    ovp_text_json_key_boolean(&json, "invented", true);
    ovp_text_json_key_number(&json, "seed", asked->seed);
    ovp_text_json_key_number(&json, "setpoint_C", asked->plan.controller.setpoint_C);
    ovp_text_json_key_number(&json, "interval_s", asked->interval_s);
    ovp_text_json_key(&json, "faults");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < asked->fault_count; i++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "fault", asked->faults[i]->id);
        ovp_text_json_key_number(&json, "severity", asked->severities[i]);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    ovp_text_json_key(&json, "columns");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < asked->column_count; i++) {
        ovp_text_json_string(&json, asked->columns[i]->name);
    }
    ovp_text_json_end_array(&json);
    ovp_text_json_key(&json, "samples");
    ovp_text_json_begin_array(&json);
    each_sample(asked, json_sample, &json);
    ovp_text_json_end_array(&json);
    return ovp_text_json_end_document(&json);
}

static void picture_sample(void *context, const job *asked, const ovp_thermal_sample *sample)
{
    bool has[CURRENT + 1] = {false};
    for (size_t i = 0; i < asked->column_count; i++) {
        if (asked->columns[i]->what <= CURRENT) {
            has[asked->columns[i]->what] = true;
        }
    }
    const ovp_trace_sample point = {.time_s = sample->time_s,
                                    .temperature_C = sample->temperature_C,
                                    .setpoint_C = sample->setpoint_C,
                                    .output_percent = sample->output_percent,
                                    .supply_V = has[SUPPLY] ? sample->supply_V : (double)NAN,
                                    .element_A = has[CURRENT] ? sample->element_A : (double)NAN,
                                    .cold_junction_C = NAN};
    picture_series_sample(context, &point);
}

static ovp_status draw(const command_call *call, const job *asked, ovp_error *error)
{
    static picture_series series; /* large */
    char title[OVP_OVEN_STRING_SIZE + 64];

    picture_series_begin(&series);
    each_sample(asked, picture_sample, &series);
    snprintf(title, sizeof title, "%s, simulated: %s", asked->oven.name,
             asked->fault_count > 0 ? asked->faults[0]->title : "healthy");
    const picture_trace picture = {.title = title,
                                   .subtitle = "Invented: no oven was run.",
                                   .run = &series,
                                   .usual_step_s = asked->interval_s,
                                   .shown = call->degrees,
                                   .most_C = asked->oven.chamber.limit_C};
    if (command_given(call, "plot") && !call->json) {
        (void)picture_terminal_trace(call->out, &picture, command_drawing_columns(), 16, picture_utf8());
    }
    const char *path = command_value(call, "picture");
    return path != NULL ? picture_write(path, &picture, error) : OVP_OK;
}

static ovp_status write_to(const command_call *call, const job *asked, ovp_sink sink)
{
    return call->json ? write_json(asked, sink) : write_text(asked, sink);
}

static ovp_status write_file(const command_call *call, const job *asked, const char *path, ovp_error *error)
{
    static store_file file;

    ovp_status status = store_file_begin(&file, path, error);
    if (status != OVP_OK) {
        return status;
    }
    /* A failed write is kept by the file and told by the commit. */
    (void)write_to(call, asked, store_file_sink(&file));
    status = store_file_commit(&file, error);
    store_file_abandon(&file);
    return status;
}

static void print_warning(void *context, const char *text)
{
    (void)context;
    fprintf(stderr, "ovenproof: warning: %s\n", text);
}

/* A document stays a document, and is written beside a picture. */
static bool drawing_instead(const command_call *call)
{
    return command_draws(call) && !call->json;
}

static int run(command_call *call)
{
    static job asked;
    ovp_error error = {0};

    if (call->operand_count != 1) {
        return command_usage(call, "one oven is wanted, %zu are given", call->operand_count);
    }
    picture_kind kind;
    const char *drawn = command_value(call, "picture");
    ovp_status status = drawn != NULL ? picture_check(drawn, &kind, &error) : OVP_OK;
    if (status == OVP_OK) {
        status = read_options(call, &asked, &error);
    }
    if (status == OVP_OK) {
        status = lua_read_oven(call->operands[0], &asked.oven, print_warning, NULL, &error);
    }
    if (status == OVP_OK) {
        status = make_plan(call, &asked, &error);
    }
    const char *path = command_value(call, "o");
    if (status == OVP_OK && path) {
        status = write_file(call, &asked, path, &error);
    } else if (status == OVP_OK && !drawing_instead(call)) {
        (void)write_to(call, &asked, call->out); /* command_finish tells of a full disk */
    }
    if (status == OVP_OK && (drawing_instead(call) || command_given(call, "picture"))) {
        status = draw(call, &asked, &error);
    }
    if (status == OVP_OK) {
        command_say_drawn(call);
    }
    if (status != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof simulate --help` has an example");
        return command_fail(&error);
    }
    return 0;
}

const command_definition command_simulate = {
    .name = "simulate",
    .synopsis = "OVEN [--fault ID[=SEVERITY]]... [--seed N] [-o FILE]",
    .summary = "A trace from the oven model, healthy or faulty, to try things out.",
    .details = "OVEN is a file or a name such as QR-8. The trace is invented and says so in its first line. "
               "The same\n"
               "oven, options and seed give the same bytes on any machine.\n"
               "A severity is mild (0) to severe (1) or a quantity: supply-low=228V, element-aged=15%, "
               "lining-damp=300g.\n"
               "Columns: time_s temperature_C setpoint_C output_percent supply_V element_A cold_junction_C, "
               "and the same "
               "in time_min, time_h, _F and _K.",
    .options = options,
    .examples = "ovenproof simulate QR-8 --minutes 40\n"
                "ovenproof simulate QR-8 --fault sensor-reversed --minutes 10 --plot\n"
                "ovenproof simulate QR-8 --fault relay-half-wave -o half-wave.csv\n"
                "ovenproof simulate QR-3 --fault supply-low=108V --columns time_min,temperature_F,element_A",
    .run = run,
};
