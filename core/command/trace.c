/* `trace`: what a heat-up shows, the likely causes, what to measure next. */
#include "command/trace.h"

#include "lua/lua.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const command_option options[] = {
    {"oven", "OVEN", false, "the oven's description: a file, or a name such as QR-8"},
    {"baseline", "GOOD", false,
     "a good run of this very oven to compare with: small changes show only beside it"},
    {"context", "C", false, "new-build, in-service (as when not given), after-transport or after-rewire"},
    {"times", "TEXT", false, "a run noted by hand: \"start 74F, 1000F 19:40, 1500F 30:10\""},
    {"follow", NULL, false, "judge a file while it grows, and say at once what must be done"},
    {"until-quiet", "TIME", false,
     "with --follow: end when no new reading came for so long; else Ctrl-C ends"},
    {"plot", NULL, false, "draw the run in the terminal"},
    {"picture", "FILE", false, "draw it into a file that ends in .svg, .pdf or .png"},
    {"why", NULL, false, "every check with its figure, and how sure each cause is"},
    {"column", "WHAT=NAME", true, "which column is temperature, setpoint, output...: by header or number"},
    {"ambient", "T", false, "how warm the room was"},
    {"volts", "V", false, "volts at the oven while it heated, read by hand, where the log holds none"},
    {"supply", "V", false, "what its heat-up would come to on a buyer's supply, such as 114V"},
    {"tolerance", "LIMIT", false,
     "how far the display may be off: 5F, or a class such as astm-e230-standard: widens the proof"},
    {"time-unit", "UNIT", false, "what a bare number in the time column counts: s, min or h"},
    {"dates", "ORDER", false, "day-first or month-first, where the dates do not tell"},
    {0},
};

/* ---- the command line -----------------------------------------------------------------------------------
 */

static ovp_status column_option(const char *text, ovp_trace_options *choices, ovp_error *error)
{
    const char *equals = strchr(text, '=');
    for (size_t i = 0; equals != NULL && i < OVP_TRACE_COLUMNS; i++) {
        if (ovp_span_equals((ovp_span){text, (size_t)(equals - text)},
                            ovp_trace_column_name((ovp_trace_column)i))) {
            choices->column[i] = equals + 1;
            return OVP_OK;
        }
    }
    ovp_error_set(error, OVP_ERROR_USAGE, "option --column: \"%.60s\" is not WHAT=NAME", text);
    ovp_error_hint(
        error,
        "such as --column temperature=\"Zone 1\"; WHAT is time, temperature, setpoint, output, supply, "
        "current or cold_junction");
    return error->status;
}

static ovp_status word_option(const command_call *call, const char *name, const char *const words[],
                              const double values[], double *value, ovp_error *error)
{
    const char *given = command_value(call, name);
    if (given == NULL)
        return OVP_OK;
    for (size_t i = 0; words[i] != NULL; i++) {
        if (strcmp(given, words[i]) == 0) {
            *value = values[i];
            return OVP_OK;
        }
    }
    ovp_error_set(error, OVP_ERROR_USAGE, "option --%s: \"%.40s\" is none of the choices", name, given);
    ovp_error_hint(error, "`ovenproof trace --help` lists them");
    return error->status;
}

static ovp_status read_options(const command_call *call, trace_setting *setting, ovp_error *error)
{
    static const char *const units[] = {"s", "min", "h", NULL}, *const orders[] = {"day-first", "month-first",
                                                                                   NULL};
    static const double seconds[] = {1, 60, 3600}, numbers[] = {1, 2};
    double order = 0;
    setting->call = call;
    ovp_trace_options_init(&setting->options);
    setting->options.degrees = call->degrees;
    setting->expectation.ambient_C = NAN;
    setting->expectation.shown = call->degrees == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : call->degrees;
    setting->context = OVP_DIAGNOSIS_IN_SERVICE;
    ovp_status status = OVP_OK;
    for (size_t i = 0; status == OVP_OK && command_value_at(call, "column", i) != NULL; i++)
        status = column_option(command_value_at(call, "column", i), &setting->options, error);
    if (status == OVP_OK)
        status =
            command_quantity(call, "ambient", OVP_TEXT_TEMPERATURE, &setting->expectation.ambient_C, error);
    if (status == OVP_OK)
        status = command_trace_proof_options(call, &setting->expectation, error);
    if (status == OVP_OK)
        status = word_option(call, "time-unit", units, seconds, &setting->options.time_unit_s, error);
    if (status == OVP_OK)
        status = word_option(call, "dates", orders, numbers, &order, error);
    setting->options.date_order = (int)order;
    const char *context = command_value(call, "context");
    if (status == OVP_OK && context != NULL && !ovp_diagnosis_context_named(context, &setting->context)) {
        status = ovp_error_set(error, OVP_ERROR_USAGE, "option --context: \"%.40s\" is none of the choices",
                               context);
        ovp_error_hint(error, "new-build, in-service, after-transport or after-rewire");
    }
    return status;
}

/* ---- what it is judged against ----------------------------------------------------------------------------
 */

ovp_status command_trace_oven(trace_setting *setting, const char *name, ovp_error *error)
{
    ovp_status status = lua_read_oven(name, &setting->oven, NULL, NULL, error);
    if (status != OVP_OK)
        return status;
    setting->has_oven = true;
    setting->expectation.oven = &setting->oven;
    if (setting->oven.controller.degrees != OVP_TEXT_DEGREES_NONE)
        setting->options.degrees = setting->oven.controller.degrees;
    setting->has_model =
        ovp_thermal_from_oven(&setting->oven, NULL, &setting->model, &setting->no_model) == OVP_OK;
    if (setting->has_model)
        setting->expectation.model = &setting->model;
    return OVP_OK;
}

ovp_status command_trace_prepare(const command_call *call, trace_setting *setting, ovp_error *error)
{
    ovp_status status = read_options(call, setting, error);
    const char *name = command_value(call, "oven");
    return status == OVP_OK && name != NULL ? command_trace_oven(setting, name, error) : status;
}

static ovp_status read_baseline(trace_setting *setting, trace_run *room, ovp_error *error)
{
    const char *name = command_value(setting->call, "baseline");
    if (name == NULL)
        return OVP_OK;
    ovp_status status = command_trace_read(setting, name, room, error);
    if (status != OVP_OK)
        return status;
    if (room->result.curve_count < 3) {
        ovp_error_set(error, OVP_ERROR_DATA,
                      "holds no climb from a cold start, so it is no run to compare with");
        ovp_error_hint(error, "choose a good run from cold at full output");
        ovp_error_place(error, name, 0);
        return error->status;
    }
    setting->baseline = room->result;
    setting->baseline_input = room->input;
    memcpy(setting->baseline_outline, room->outline, sizeof room->outline);
    setting->baseline_count = room->outline_count;
    setting->baseline_series = room->series;
    setting->has_baseline = true;
    setting->expectation.baseline = &setting->baseline;
    return OVP_OK;
}

/* ---- printing ---------------------------------------------------------------------------------------------
 */

static void print_json(const trace_setting *setting, trace_run runs[], size_t count)
{
    const command_call *call = setting->call;
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "trace", 1);
    if (count == 1) {
        command_trace_write_json(&json, &runs[0]);
    } else {
        ovp_text_json_key(&json, "runs");
        ovp_text_json_begin_array(&json);
        for (size_t i = 0; i < count; i++) {
            ovp_text_json_begin_object(&json);
            command_trace_write_json(&json, &runs[i]);
            ovp_text_json_end_object(&json);
        }
        ovp_text_json_end_array(&json);
        command_trace_compare_json(&json, setting, runs, count);
    }
    ovp_text_json_end_document(&json);
}

static void print_text(const trace_setting *setting, const trace_run runs[], size_t count)
{
    const bool in_full = count == 1 || command_given(setting->call, "why");
    if (count > 1)
        command_trace_compare(setting, runs, count);
    for (size_t i = 0; i < count; i++) {
        if (count > 1 && (in_full || command_given(setting->call, "plot")))
            ovp_text_print(setting->call->out, "\n%s\n", runs[i].name);
        if (in_full)
            command_trace_print(setting, &runs[i]);
        if (command_given(setting->call, "plot")) {
            ovp_text_print(setting->call->out, "\n");
            (void)command_trace_plot(setting, &runs[i]);
        }
        if (command_given(setting->call, "why"))
            command_trace_print_why(setting, &runs[i]);
    }
    command_say_drawn(setting->call);
}

static ovp_status judge_all(const trace_setting *setting, trace_run runs[], size_t count, ovp_error *error)
{
    bool times = command_given(setting->call, "times");
    ovp_status status = OVP_OK;
    for (size_t i = 0; i < count && status == OVP_OK; i++) {
        const char *name = times && i == 0 ? NULL : setting->call->operands[i - (times ? 1 : 0)];
        status = command_given(setting->call, "follow") ? command_trace_follow(setting, &runs[i], error)
                                                        : command_trace_read(setting, name, &runs[i], error);
        if (status == OVP_OK)
            status = command_trace_weigh(setting, &runs[i], error);
    }
    return status;
}

static int run_trace(command_call *call)
{
    size_t count = call->operand_count + (command_given(call, "times") ? 1 : 0);
    if (count == 0)
        return command_usage(call, "a recorded run is wanted: a file, or - for standard input");
    if (command_given(call, "follow") && (count > 1 || command_given(call, "times")))
        return command_usage(call, "--follow takes one file that grows, or -");
    if (command_given(call, "until-quiet") && !command_given(call, "follow"))
        return command_usage(call, "--until-quiet goes with --follow");
    trace_setting *setting = calloc(1, sizeof *setting);
    trace_run *runs = calloc(count, sizeof *runs);
    ovp_error error = {0};
    ovp_status status = OVP_OK;
    int verdict = OVP_OK;
    if (setting == NULL || runs == NULL) {
        free(setting);
        free(runs);
        ovp_error_set(&error, OVP_ERROR_MEMORY, "out of memory");
        return command_fail(&error);
    }
    status = command_trace_picture_check(call, count, &error);
    if (status == OVP_OK)
        status = command_trace_prepare(call, setting, &error);
    if (status == OVP_OK)
        status = read_baseline(setting, &runs[0], &error);
    if (status == OVP_OK)
        memset(&runs[0], 0, sizeof runs[0]);
    if (status == OVP_OK)
        status = judge_all(setting, runs, count, &error);
    if (status == OVP_OK)
        status = command_trace_picture(setting, &runs[0], &error);
    if (status == OVP_OK) {
        if (call->json)
            print_json(setting, runs, count);
        else
            print_text(setting, runs, count);
        for (size_t i = 0; i < count; i++)
            if (runs[i].causes.verdict != OVP_DIAGNOSIS_HEALTHY || runs[i].alarm_count > 0)
                verdict = OVP_JUDGED;
    }
    free(setting->baseline_series);
    for (size_t i = 0; i < count; i++)
        free(runs[i].series);
    free(setting);
    free(runs);
    if (status != OVP_OK)
        return command_fail(&error);
    return command_finish(verdict);
}

const command_definition command_trace = {
    .name = "trace",
    .synopsis = "RUN... [--oven OVEN] [--baseline GOOD]",
    .summary = "What a recorded heat-up shows, the likely causes, what to measure next.",
    .details = "RUN is any text that a logger, controller or spreadsheet writes, or - for standard input; "
               "several are "
               "judged one by one and compared with the first. With the oven's description it is judged "
               "against the limits and the "
               "expected heat-up; "
               "beside a good run of the same oven small changes show too. Exit status: 0 good, 1 fault or "
               "can't tell.",
    .options = options,
    .examples = "ovenproof trace docs/examples/demo/qr8-healthy.csv --oven QR-8\n"
                "ovenproof trace docs/examples/demo/qr8-reversed-sensor.csv --oven QR-8 --plot\n"
                "ovenproof trace docs/examples/demo/qr8-half-wave.csv --oven QR-8 --picture run.svg\n"
                "ovenproof trace monday.csv tuesday.csv --oven QR-8\n"
                "ovenproof trace run.csv --oven QR-8 --follow\n"
                "ovenproof trace --times \"start 74F, 1000F 8:40, 1500F 19:10\" --oven QR-8\n",
    .run = run_trace,
};
