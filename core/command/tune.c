/* `tune`: a process model and controller settings from a recorded run. */
#include "command/tune.h"

#include "command/trace.h"
#include "lua/lua.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static const command_option options[] = {
    {"oven", "OVEN", false, "the oven's description: how its controller counts, and what to expect"},
    {"found", "SETTINGS", false,
     "what the controller found itself, to be judged: \"band 38F, ti 210s, td 50s\""},
    {"low", "T", false, "lowest working temperature; the oven's first heat-up limit when not given"},
    {"high", "T", false, "highest working temperature; the oven's last heat-up limit when not given"},
    {"why", NULL, false, "the model with its intervals, what it rests on, and settings by every rule"},
    {"column", "WHAT=NAME", true, "which column is temperature, output...: by header or number"},
    {"time-unit", "UNIT", false, "what a bare number in the time column counts: s, min or h"},
    {"dates", "ORDER", false, "day-first or month-first, where the dates do not tell"},
    {0},
};

/* ---- the run as blocks ------------------------------------------------------------------------------------
 */

typedef struct collecting {
    ovp_thermal_record record;
    ovp_thermal_block blocks[OVP_THERMAL_BLOCKS];
    double rated_V; /* NAN: volts are not counted */
    double most_A, first_C;
    size_t outputs, amps;
    ovp_trace_judge *judge; /* a run of a faulty oven must not tune a sound one */
    ovp_trace_result shown;
} collecting;

static void collect(void *context, const ovp_trace_sample *sample)
{
    collecting *to = context;
    double drive = NAN;

    if (isfinite(sample->output_percent)) {
        to->outputs++;
        drive = sample->output_percent / 100;
        if (to->rated_V > 0 && sample->supply_V > 0) {
            drive *= sample->supply_V / to->rated_V * (sample->supply_V / to->rated_V);
        }
    } else if (to->outputs == 0 && isfinite(sample->element_A)) {
        to->amps++;
        drive = sample->element_A;
        to->most_A = fmax(to->most_A, sample->element_A);
    }
    if (isnan(to->first_C)) {
        to->first_C = sample->temperature_C;
    }
    ovp_trace_judge_sample(to->judge, sample);
    ovp_thermal_record_add(&to->record, sample->time_s, sample->temperature_C, drive);
}

static void warn(tune_result *result, const char *format, ...) OVP_PRINTF(2, 3);

static void warn(tune_result *result, const char *format, ...)
{
    va_list arguments;
    if (result->warning_count == TUNE_WARNINGS)
        return;
    va_start(arguments, format);
    vsnprintf(result->warnings[result->warning_count++], TUNE_WARNING_SIZE, format, arguments);
    va_end(arguments);
}

static void settle_drive(collecting *from, tune_result *result)
{
    if (from->outputs > 0)
        return;
    if (from->amps > 0 && from->most_A > 0) {
        for (size_t i = 0; i < from->record.count; i++)
            from->record.blocks[i].drive /= from->most_A;
        warn(result, "no output in the log: amps over the most amps stand for it");
        return;
    }
    ovp_thermal_record_assume_full(&from->record);
    warn(result, "no output and no amps in the log: full heat until near its highest reading is assumed");
}

/* ---- what follows
 * ------------------------------------------------------------------------------------------- */

static void warn_of_fit(tune_result *result)
{
    const ovp_thermal_fit *fit = &result->working.fit;
    const command_call *call = result->call;
    char much[64];

    if (result->too_short)
        warn(result,
             "the run is too short: %.0f s after the heat changed, where the oven takes %.0f s for 63 %%",
             fit->seen_s, fit->process.time_constants_s[0]);
    if (fit->wet_s > 0)
        warn(result, "the lining was wet: it stood near boiling for %.0f min. Dry it, then record again",
             fit->wet_s / 60);
    if (!fit->adequate && !result->by_swing) {
        ovp_text_format_difference(fit->rms_C, call->degrees, 1, much, sizeof much);
        warn(result, "%s not adequate: the model misses the readings by %s, and not by chance",
             fit->order == 1 ? "one lag is" : "two lags are", much);
    }
    if (result->by_swing)
        warn(result, "the settings rest on %zu on-off swings around %s, not on the rest of the run",
             result->swing.cycles, command_show_temperature(call, result->swing.level_C, 0).text);
    if (!isnan(result->working.part_to_C) && !result->by_swing)
        warn(result,
             "how soon it answers is taken from the climb up to %s, how fast it heats from the end of the "
             "climb: no one model holds so wide a run",
             command_show_temperature(call, result->working.part_to_C, 0).text);
}

static void expect_overshoot(tune_result *result)
{
    const ovp_oven *oven = &result->oven;
    ovp_error error = {0};

    if (oven->heat_up_count > 0) {
        if (isnan(result->mark_C[0]))
            result->mark_C[0] = oven->heat_up[0].to_C;
        if (isnan(result->mark_C[1]))
            result->mark_C[1] = oven->heat_up[oven->heat_up_count - 1].to_C;
    }
    for (size_t i = 0; i < TUNE_MARKS; i++) {
        if (!isnan(result->mark_C[i]) &&
            ovp_thermal_overshoot(oven, result->has_found ? &result->found : &result->advice[0].settings,
                                  result->mark_C[i], &result->overshoot_C[i], &error) != OVP_OK) {
            warn(result, "no overshoot can be foretold: %.150s", error.what);
            return;
        }
    }
}

static ovp_status read_found(tune_result *result, ovp_error *error)
{
    const char *text = command_value(result->call, "found");

    if (text == NULL)
        return OVP_OK;
    result->has_found = true;
    ovp_status status = ovp_thermal_read_settings(ovp_span_of(text), &result->form, result->call->degrees,
                                                  &result->found, error);
    if (status != OVP_OK) {
        error->status = OVP_ERROR_USAGE;
        ovp_error_hint(error, "such as --found \"band 38F, ti 210s, td 50s\"");
    }
    return status == OVP_OK ? OVP_OK : OVP_ERROR_USAGE;
}

/* What the judge of traces thinks of the run. */
static ovp_status refuse_danger(const collecting *from, ovp_error *error)
{
    if (!from->shown.danger_now)
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_DATA, "no run to tune by: %s", from->shown.danger_text);
    ovp_error_hint(error, "heat off; `ovenproof trace` with this run says what is wrong");
    return error->status;
}

static ovp_status read_run(tune_result *result, const trace_setting *setting, collecting *from,
                           ovp_error *error)
{
    void *memory = aligned_alloc(64, (ovp_trace_judge_size() + 63) / 64 * 64);

    if (memory == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    from->judge = ovp_trace_judge_init(memory, &setting->expectation);
    const ovp_status status = command_trace_samples(result->call->operands[0], &setting->options, collect,
                                                    from, &result->input, error);
    if (status == OVP_OK)
        ovp_trace_judge_result(from->judge, &from->shown);
    free(memory);
    return status;
}

/* The process by the whole run, and by the swing of on-off control where there is one: that is the oven at
   its working temperature, so it leads where one model does not hold the run. */
static ovp_status identify(tune_result *result, collecting *from, ovp_error *error)
{
    const bool cold = from->first_C <= ovp_thermal_cold_most_C();
    const double base_C = cold ? from->first_C : ovp_thermal_usual_ambient_C();
    const ovp_status status = ovp_thermal_identify_working(
        &from->record, cold ? OVP_THERMAL_COLD : OVP_THERMAL_RUNNING, &result->working, error);

    if (status != OVP_OK)
        return status;
    result->process = result->working.process;
    result->by_swing = ovp_thermal_swing_of(&from->record, base_C, &result->swing, NULL) == OVP_OK &&
                       !isnan(result->working.part_to_C);
    if (result->by_swing)
        result->process = result->swing.process;
    result->too_short = result->working.fit.too_short && !result->by_swing;
    return OVP_OK;
}

static ovp_status learn(tune_result *result, const trace_setting *setting, collecting *from, ovp_error *error)
{
    ovp_thermal_record_init(&from->record, from->blocks, OVP_THERMAL_BLOCKS);
    from->rated_V = result->has_oven ? result->oven.supply.volts_V : (double)NAN;
    from->first_C = NAN;
    const char *name = result->call->operands[0];
    ovp_status status = read_run(result, setting, from, error);
    if (status == OVP_OK)
        status = refuse_danger(from, error);
    if (status != OVP_OK) {
        ovp_error_place(error, strcmp(name, "-") == 0 ? "standard input" : name, 0);
        return status;
    }
    result->weak = from->shown.power_ratio < ovp_thermal_weak_power();
    if (result->weak)
        warn(result,
             "only %.0f %% of the oven's power arrived in this run: mend that first (`ovenproof trace`)",
             100 * from->shown.power_ratio);
    settle_drive(from, result);
    status = identify(result, from, error);
    if (status != OVP_OK) {
        ovp_error_place(error, strcmp(name, "-") == 0 ? "standard input" : name, 0);
        ovp_error_hint(error,
                       "record a heat-up from cold at full output, a step of the output by hand, or "
                       "on-off control around a setpoint; `ovenproof trace` says what is wrong with a run");
    }
    return status;
}

static int finish(tune_result *result)
{
    const ovp_thermal_fit *fit = &result->working.fit;

    if (result->call->json)
        tune_print_json(result);
    else {
        tune_print(result);
        if (command_given(result->call, "why"))
            tune_print_why(result);
    }
    const bool good = !result->weak && !result->too_short && fit->wet_s <= 0 &&
                      !(result->has_found && result->judged != OVP_THERMAL_FOUND_GOOD);
    return command_finish(good ? OVP_OK : OVP_JUDGED);
}

static ovp_status tune(tune_result *result, trace_setting *setting, collecting *from, ovp_error *error)
{
    ovp_status status = command_trace_prepare(result->call, setting, error);
    if (status != OVP_OK)
        return status;
    result->has_oven = setting->has_oven;
    result->oven = setting->oven;
    ovp_thermal_form_of(result->has_oven ? &result->oven : NULL, &result->form);
    status = read_found(result, error);
    if (status == OVP_OK)
        status = command_quantity(result->call, "low", OVP_TEXT_TEMPERATURE, &result->mark_C[0], error);
    if (status == OVP_OK)
        status = command_quantity(result->call, "high", OVP_TEXT_TEMPERATURE, &result->mark_C[1], error);
    if (status == OVP_OK)
        status = learn(result, setting, from, error);
    if (status != OVP_OK)
        return status;
    result->period_s = result->has_oven && result->oven.controller.period_s > 0
                           ? result->oven.controller.period_s
                           : ovp_thermal_usual_period_s();
    ovp_thermal_advise(&result->process, result->period_s, result->input.interval_s, result->advice);
    if (result->has_found)
        result->judged = ovp_thermal_judge_found(&result->process, result->period_s, result->input.interval_s,
                                                 &result->found);
    warn_of_fit(result);
    if (result->has_oven)
        expect_overshoot(result);
    const double high_C = isnan(result->mark_C[1]) ? result->input.temperature_max_C : result->mark_C[1];
    result->tune_at_C = ovp_thermal_tune_at_C(high_C);
    return OVP_OK;
}

static int run_tune(command_call *call)
{
    ovp_error error = {0};
    int status = OVP_ERROR_SYSTEM;

    if (call->operand_count != 1)
        return command_usage(call, "one recorded run is wanted, %zu are given", call->operand_count);
    tune_result *result = calloc(1, sizeof *result);
    trace_setting *setting = calloc(1, sizeof *setting);
    collecting *from = calloc(1, sizeof *from);
    if (result == NULL || setting == NULL || from == NULL) {
        ovp_error_set(&error, OVP_ERROR_MEMORY, "out of memory");
        status = command_fail(&error);
    } else {
        result->call = call;
        for (size_t i = 0; i < TUNE_MARKS; i++)
            result->mark_C[i] = result->overshoot_C[i] = NAN;
        status = tune(result, setting, from, &error) == OVP_OK ? finish(result) : command_fail(&error);
    }
    free(result);
    free(setting);
    free(from);
    return status;
}

const command_definition command_tune = {
    .name = "tune",
    .synopsis = "TRACE [--oven OVEN] [--found SETTINGS]",
    .summary = "controller settings from a recorded heat-up, step or on-off run",
    .details =
        "TRACE is any text that a logger, controller or spreadsheet writes, or - for standard input: a "
        "heat-up "
        "from cold, a step of the output by hand, or on-off control. Exit status: 1 when the run was too "
        "short, wet or short of power, or what the controller found is not plausible.",
    .options = options,
    .examples =
        "ovenproof tune docs/examples/demo/qr8-healthy.csv --oven QR-8\n"
        "ovenproof tune docs/examples/demo/qr8-healthy.csv --oven QR-8 --found \"band 38F, ti 210s, td 50s\"",
    .run = run_tune,
};
