/* `verify`: a sensor or an input beside a reference, from a file or asked at the terminal. */
#include "command/verify.h"
#include "command/input.h"
#include "lua/lua.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static const command_option options[] = {
    {"sensor", "TYPE", false, "type of the couple; the oven's when --oven is given"},
    {"oven", "OVEN", false, "a described oven"},
    {"tolerance", "LIMIT", false, "allowed error: 5F, or a class such as astm-e230-special"},
    {"reference", "WHO", false, "U (k = 2) of the reference, where the file has none: 2F, 5uV, or a name"},
    {"budget", "NAME", false, "what else may be wrong: beside-the-tip, at-the-screws, or a file of your own"},
    {"ask", NULL, false, "ask for the readings at the terminal, one by one"},
    {"why", NULL, false, "the figures behind it"},
    {0},
};

/* ---- what to judge by ---------------------------------------------------------------------------- */

ovp_status verify_tolerance(verify_job *job, const char *word, ovp_text_degrees bare, ovp_error *error)
{
    double value_C = NAN;
    for (size_t i = 0; ovp_tc_tolerance_name(i) != NULL; i++) {
        if (!ovp_span_equals(ovp_span_trim(ovp_span_of(word)), ovp_tc_tolerance_name(i)))
            continue;
        if (!job->has_sensor)
            return ovp_error_set(error, OVP_ERROR_USAGE, "%s depends on the type: name it with --sensor",
                                 ovp_tc_tolerance_name(i));
        ovp_copy_string(job->tolerance_name, sizeof job->tolerance_name,
                        ovp_span_of(ovp_tc_tolerance_name(i)));
        job->has_tolerance = true;
        return OVP_OK;
    }
    ovp_status status =
        ovp_text_quantity(ovp_span_of(word), OVP_TEXT_TEMPERATURE_DIFFERENCE, bare, &value_C, NULL);
    if (status != OVP_OK || !(value_C > 0.0)) {
        ovp_error_set(error, OVP_ERROR_USAGE, "\"%.40s\" is neither a limit such as 5F nor a tolerance class",
                      word);
        ovp_error_hint(error,
                       "classes are astm-e230-standard, astm-e230-special, iec-60584-1-class-1, -2 and -3");
        return OVP_ERROR_USAGE;
    }
    job->tolerance_name[0] = '\0';
    job->tolerance_C = value_C;
    job->has_tolerance = true;
    return OVP_OK;
}

/* True when the day (YYYY-MM-DD) is past. */
static bool is_past(const char *day)
{
    char today[16];
    time_t now = time(NULL);
    struct tm local;
    return day[0] != '\0' && localtime_r(&now, &local) != NULL &&
           strftime(today, sizeof today, "%Y-%m-%d", &local) > 0 && strcmp(day, today) < 0;
}

static bool read_uncertainty(verify_job *job, const char *word, ovp_text_degrees bare)
{
    double value = NAN;
    ovp_span text = ovp_span_of(word);
    if (ovp_text_quantity(text, OVP_TEXT_TEMPERATURE_DIFFERENCE, bare, &value, NULL) == OVP_OK &&
        value > 0.0) {
        job->reference_U_C = value;
        return true;
    }
    bool has_unit = word[strcspn(word, "uVv")] != '\0'; /* a bare number is no emf here */
    if (has_unit && ovp_text_quantity(text, OVP_TEXT_EMF, bare, &value, NULL) == OVP_OK && value > 0.0) {
        job->reference_U_mV = value;
        return true;
    }
    return false;
}

/* An overdue or unknown certificate is no certificate: what it says is not used. */
static void take_instrument(verify_job *job, const store_instrument *instrument)
{
    ovp_copy_string(job->reference_name, sizeof job->reference_name, ovp_span_of(instrument->name));
    ovp_copy_string(job->reference_due, sizeof job->reference_due, ovp_span_of(instrument->due));
    job->reference_overdue = is_past(instrument->due);
    if (!job->reference_overdue)
        read_uncertainty(job, instrument->uncertainty, OVP_TEXT_DEGREES_NONE);
}

static store_settings settings; /* large */

void verify_print_instruments(FILE *file)
{
    if (store_settings_load(&settings, NULL) != OVP_OK || settings.instrument_count == 0)
        return;
    fputs("Known references:", file);
    for (size_t i = 0; i < settings.instrument_count; i++)
        fprintf(file, "%s %s", i > 0 ? "," : "", settings.instruments[i].name);
    fputc('\n', file);
}

ovp_status verify_reference(verify_job *job, const char *word, ovp_text_degrees bare, ovp_error *error)
{
    if (read_uncertainty(job, word, bare))
        return OVP_OK;
    ovp_status status = store_settings_load(&settings, error);
    if (status != OVP_OK)
        return status;
    for (size_t i = 0; i < settings.instrument_count; i++)
        if (ovp_span_equals(ovp_span_trim(ovp_span_of(word)), settings.instruments[i].name)) {
            take_instrument(job, settings.instruments + i);
            return OVP_OK;
        }
    ovp_error_set(error, OVP_ERROR_USAGE,
                  "\"%.40s\" is neither an uncertainty such as 2F nor an instrument of the settings", word);
    ovp_error_hint(error, "take U (k = 2) from its certificate; `ovenproof setup` keeps it");
    return OVP_ERROR_USAGE;
}

static ovp_status take_oven(const command_call *call, verify_job *job, ovp_error *error)
{
    static ovp_oven oven; /* large */
    const char *name = command_value(call, "oven");
    if (name == NULL)
        return OVP_OK;
    ovp_status status = lua_read_oven(name, &oven, NULL, NULL, error);
    if (status != OVP_OK)
        return status;
    job->has_sensor = oven.sensor.known;
    job->sensor = oven.sensor.type;
    if (job->degrees == OVP_TEXT_DEGREES_NONE)
        job->degrees = oven.controller.degrees;
    return OVP_OK;
}

static ovp_status take_budget_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                                   ovp_error *error)
{
    (void)kind;
    return ovp_metrology_budget_set(context, path, ovp_span_of(text), error);
}

static ovp_status take_budget(const command_call *call, verify_job *job, ovp_error *error)
{
    char path[STORE_PATH_SIZE];
    const char *name = command_value(call, "budget");
    if (name == NULL)
        return OVP_OK;
    ovp_metrology_budget_init(&job->budget);
    ovp_status status = lua_find("budgets", name, path, sizeof path, error);
    if (status == OVP_OK)
        status = lua_read_data(path, take_budget_leaf, &job->budget, error);
    if (status != OVP_OK)
        return status;
    status = ovp_metrology_budget_check(&job->budget, error);
    if (status != OVP_OK)
        ovp_error_place(error, path, 0);
    job->has_budget = true;
    return status;
}

ovp_status verify_prepare(const command_call *call, verify_job *job, ovp_error *error)
{
    job->degrees = call->degrees;
    job->reference_U_C = job->reference_U_mV = NAN;
    ovp_status status = take_oven(call, job, error);
    const char *sensor = command_value(call, "sensor");
    if (status == OVP_OK && sensor != NULL) {
        job->has_sensor = ovp_tc_type_named(ovp_span_of(sensor), false, &job->sensor);
        if (!job->has_sensor)
            return ovp_error_set(error, OVP_ERROR_USAGE,
                                 "option --sensor: \"%.40s\" is not one of B C E J K N R S T", sensor);
    }
    const char *tolerance = command_value(call, "tolerance");
    if (status == OVP_OK && tolerance != NULL)
        status = verify_tolerance(job, tolerance, call->degrees, error);
    if (status == OVP_OK)
        status = take_budget(call, job, error);
    const char *reference = command_value(call, "reference");
    if (status == OVP_OK && reference != NULL)
        status = verify_reference(job, reference, call->degrees, error);
    return status;
}

/* A class of the standard, when nobody named a limit; said in the text. */
static ovp_status default_tolerance(verify_job *job, ovp_error *error)
{
    if (job->has_tolerance)
        return OVP_OK;
    if (!job->has_sensor) {
        ovp_error_set(error, OVP_ERROR_USAGE,
                      "how much may it be wrong? neither --tolerance nor the type is known");
        ovp_error_hint(error, "say --tolerance 5F, or --sensor K for the limits of the standard");
        return OVP_ERROR_USAGE;
    }
    job->tolerance_by_default = true;
    return verify_tolerance(job, ovp_tc_tolerance_name(0), OVP_TEXT_DEGREES_NONE, error);
}

/* ---- judging ------------------------------------------------------------------------------------- */

static ovp_status fill_reference(verify_job *job, ovp_error *error)
{
    if (!isnan(job->reference_U_C))
        ovp_metrology_readings_reference(&job->readings, job->reference_U_C);
    if (isnan(job->reference_U_mV))
        return OVP_OK;
    if (!job->has_sensor)
        return ovp_error_set(error, OVP_ERROR_USAGE,
                             "an uncertainty in millivolts needs the type: name it with --sensor");
    return ovp_metrology_readings_reference_emf(&job->readings, job->sensor, job->reference_U_mV, error);
}

static ovp_status judge_point(verify_job *job, size_t at, ovp_error *error)
{
    const ovp_metrology_point *point = job->readings.points + at;
    double tolerance_C = job->tolerance_C;
    ovp_status status = OVP_OK;
    if (job->tolerance_name[0] != '\0')
        status =
            ovp_tc_tolerance(job->tolerance_name, job->sensor, point->mean_reference_C, &tolerance_C, error);
    if (status == OVP_OK && job->has_budget)
        return ovp_metrology_point_with_budget(point, tolerance_C, &job->budget,
                                               job->has_sensor ? &job->sensor : NULL, job->parts + at,
                                               job->results + at, error);
    if (status == OVP_OK)
        ovp_metrology_point_result(point, tolerance_C, job->results + at);
    return status;
}

ovp_status verify_judge(verify_job *job, ovp_error *error)
{
    ovp_status status = default_tolerance(job, error);
    if (status == OVP_OK)
        status = fill_reference(job, error);
    job->decision = OVP_METROLOGY_PASS;
    for (size_t i = 0; i < job->readings.point_count && status == OVP_OK; i++) {
        status = judge_point(job, i, error);
        if (status == OVP_OK && job->results[i].decision > job->decision)
            job->decision = job->results[i].decision;
    }
    return status;
}

/* ---- the file ------------------------------------------------------------------------------------ */

static ovp_status feed(void *reader, const char *bytes, size_t count, ovp_error *error)
{
    return ovp_metrology_reader_feed(reader, bytes, count, error);
}

static ovp_status read_file(const char *path, verify_job *job, ovp_error *error)
{
    void *memory = malloc(ovp_metrology_reader_size());
    if (memory == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    ovp_metrology_reader *reader =
        ovp_metrology_reader_init(memory, job->has_sensor ? &job->sensor : NULL, &job->readings);
    ovp_status status = command_feed_file(path, feed, reader,
                                          "is the name right? `ovenproof verify --ask` needs no file", error);
    if (status == OVP_OK)
        status = ovp_metrology_reader_end(reader, error);
    free(memory);
    if (status != OVP_OK)
        ovp_error_place(error, command_input_name(path), 0);
    return status;
}

static int run(command_call *call)
{
    static verify_job job; /* 64 points: too large for a small stack */
    ovp_error error = {0};
    bool ask = command_given(call, "ask");
    if (ask ? call->operand_count != 0 : call->operand_count != 1)
        return command_usage(call, ask ? "--ask reads no file" : "one file of readings is wanted, or --ask");
    ovp_status status = verify_prepare(call, &job, &error);
    if (status == OVP_OK && !ask)
        status = default_tolerance(&job, &error); /* before a long file */
    if (status == OVP_OK)
        status = ask ? verify_ask(call, &job, &error) : read_file(call->operands[0], &job, &error);
    if (status == OVP_OK)
        status = verify_judge(&job, &error);
    if (status != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof verify --help` has an example");
        return command_fail(&error);
    }
    return verify_print(call, &job);
}

const command_definition command_verify = {
    .name = "verify",
    .synopsis = "READINGS [--sensor TYPE] [--oven OVEN] [--tolerance LIMIT] | --ask",
    .summary = "Compare a sensor or an input with a reference or calibrator, and decide.",
    .details =
        "READINGS is delimited text with the header nominal_C,reference_C,reading_C (or _F), or emf_mV with\n"
        "cold_junction_C for the couple alone; reference_U_C (k = 2) may be there. Rows of one nominal are\n"
        "one point. The decision is pass, conditional-pass, conditional-fail or fail (ILAC-G8).\n"
        "Classes: astm-e230-standard (when no limit is given), astm-e230-special, iec-60584-1-class-1,\n"
        "-2 and -3. A named reference is one that `setup` was told of; past its due day its figure is not\n"
        "used. A budget is a file of NAME.lua: what else may be wrong, and by how much.",
    .options = options,
    .examples =
        "ovenproof verify docs/examples/readings.csv --sensor K\n"
        "ovenproof verify docs/examples/readings.csv --sensor K --tolerance 15F --budget beside-the-tip\n"
        "ovenproof verify --ask --oven QR-8",
    .run = run,
};
