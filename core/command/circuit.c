/* ovenproof circuit: load, supply and protection margins of an oven on its branch circuit. */
#include "command/circuit.h"
#include "command/trace.h"
#include "lua/lua.h"

#include <math.h>
#include <string.h>

static const command_option options[] = {
    {"circuit", "RATING", false, "breaker in place of the description's: 20A, or B16 (IEC 60898)"},
    {"shared", NULL, false, "other outlets or loads are on the same circuit"},
    {"own", NULL, false, "a circuit of its own with a single receptacle"},
    {"rules", "us|iec", false, "whose limits apply; us when not given"},
    {"full-heat", "TIME", false, "longest time of full heat without a pause, such as 2h"},
    {"cord", "WORDS", false, "the oven's cord, such as \"6ft 12AWG\" or \"2m 1.5mm2\""},
    {"extension", "WORDS", false, "an extension cord, such as \"25ft 16AWG\""},
    {"conductor", "WORDS", false, "the wire in the wall, such as 12AWG or \"60ft 12AWG\""},
    {"plug", "PATTERN", false, "such as 5-20, 6-20, L6-30, \"CEE 7/7\""},
    {"volts-off", "V", false, "volts at the outlet with the load off, with every digit shown: 121.3V"},
    {"volts-on", "V", false, "the same with the load on"},
    {"load", "A|W", false, "what was on, such as 12A or 1500W; the oven at full heat when not given"},
    {"trace", "RUN", false, "a recorded run: what the wires felt over it, and how long full heat lasted"},
    {"duty", "SHARE", false, "share of the time with heat on, such as 60%"},
    {"why", NULL, false, "every figure with its source"},
    {0},
};

/* ---- options ------------------------------------------------------------------------------------------- */

static ovp_status read_rules(const command_call *call, ovp_electrical_question *question, ovp_error *error)
{
    const char *rules = command_value(call, "rules");
    if (rules != NULL && strcmp(rules, "iec") == 0)
        question->rules = OVP_ELECTRICAL_RULES_IEC;
    else if (rules != NULL && strcmp(rules, "us") != 0)
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --rules: us or iec is wanted, not \"%.20s\"",
                             rules);
    if (command_given(call, "shared") && command_given(call, "own"))
        return ovp_error_set(error, OVP_ERROR_USAGE, "--shared and --own exclude each other");
    if (command_given(call, "shared"))
        question->shared = OVP_OVEN_FITTED;
    if (command_given(call, "own"))
        question->shared = OVP_OVEN_NOT_FITTED;
    return OVP_OK;
}

static ovp_status read_question(const command_call *call, ovp_electrical_question *question, ovp_error *error)
{
    ovp_electrical_question_init(question);
    question->circuit = command_value(call, "circuit");
    question->cord = command_value(call, "cord");
    question->extension = command_value(call, "extension");
    question->conductor = command_value(call, "conductor");
    question->plug = command_value(call, "plug");
    ovp_status status = read_rules(call, question, error);
    if (status == OVP_OK)
        status = command_quantity(call, "full-heat", OVP_TEXT_DURATION, &question->full_heat_s, error);
    if (status == OVP_OK)
        status = command_quantity(call, "duty", OVP_TEXT_RATIO, &question->duty, error);
    if (status == OVP_OK && (question->duty < 0.0 || question->duty > 1.0))
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --duty: a share from 0 to 100 %% is wanted");
    return status;
}

static ovp_status read_volts(const command_call *call, circuit_facts *facts, ovp_error *error)
{
    const char *off = command_value(call, "volts-off"), *on = command_value(call, "volts-on");
    double off_digit_V, on_digit_V;
    if (off == NULL && on == NULL)
        return OVP_OK;
    if (off == NULL || on == NULL)
        return ovp_error_set(error, OVP_ERROR_USAGE, "--volts-off and --volts-on belong together");
    ovp_electrical_readings *readings = &facts->readings;
    ovp_status status = ovp_electrical_shown_volts(off, &readings->off_V, &off_digit_V, error);
    if (status == OVP_OK)
        status = ovp_electrical_shown_volts(on, &readings->on_V, &on_digit_V, error);
    if (status == OVP_OK)
        status = ovp_electrical_readings_load(readings, command_value(call, "load"), facts->oven, error);
    if (status != OVP_OK)
        return status;
    readings->resolution_V = fmax(off_digit_V, on_digit_V);
    ovp_electrical_load load;
    const bool known = ovp_electrical_load_of(facts->oven, NAN, &load, NULL) == OVP_OK;
    status = ovp_electrical_line_of(readings, known ? load.hot_ohm : NAN, &facts->line, error);
    facts->measured = status == OVP_OK;
    facts->question.line_ohm = facts->line.ohm;
    facts->question.line_ohm_U = facts->line.ohm_U;
    return status;
}

/* ---- a run --------------------------------------------------------------------------------------------- */

typedef struct run_of_heat {
    ovp_electrical_cycle *cycle;
    double full_A;
} run_of_heat;

static void take_sample(void *context, const ovp_trace_sample *sample)
{
    run_of_heat *run = context;
    double share = NAN;
    if (!isnan(sample->output_percent))
        share = sample->output_percent / 100.0;
    else if (!isnan(sample->element_A))
        share = ovp_electrical_power_share(sample->element_A, run->full_A);
    ovp_electrical_cycle_add(run->cycle, sample->time_s, share);
}

static ovp_status read_run(const command_call *call, circuit_facts *facts, ovp_error *error)
{
    ovp_electrical_load load;
    ovp_trace_options reading;
    static ovp_trace_input input;
    facts->trace = command_value(call, "trace");
    if (facts->trace == NULL)
        return OVP_OK;
    ovp_status status = ovp_electrical_load_of(facts->oven, NAN, &load, error);
    if (status != OVP_OK)
        return status;
    ovp_trace_options_init(&reading);
    reading.degrees = facts->oven->controller.degrees != OVP_TEXT_DEGREES_NONE
                          ? facts->oven->controller.degrees
                          : call->degrees;
    run_of_heat run = {&facts->cycle, load.full_A};
    status = command_trace_samples(facts->trace, &reading, take_sample, &run, &input, error);
    if (status != OVP_OK)
        return status;
    facts->question.rms_share = ovp_electrical_cycle_rms(&facts->cycle);
    if (isnan(facts->question.rms_share)) {
        ovp_error_set(error, OVP_ERROR_DATA, "has neither output nor amps");
        ovp_error_place(error, facts->trace, 0);
        ovp_error_hint(error, "log the controller's output in percent, or give --duty 60%%");
        return OVP_ERROR_DATA;
    }
    if (isnan(facts->question.full_heat_s))
        facts->question.full_heat_s = facts->cycle.longest_full_s;
    return OVP_OK;
}

/* ---- the command --------------------------------------------------------------------------------------- */

static void warn(void *context, const char *text)
{
    (void)context;
    fprintf(stderr, "ovenproof: warning: %s\n", text);
}

static ovp_status gather(const command_call *call, ovp_oven *oven, circuit_facts *facts, ovp_error *error)
{
    ovp_status status = read_question(call, &facts->question, error);
    if (status == OVP_OK)
        status = lua_read_oven(call->operands[0], oven, warn, NULL, error);
    facts->oven = oven;
    facts->name = call->operands[0];
    if (status == OVP_OK)
        status = read_volts(call, facts, error);
    if (status == OVP_OK)
        status = read_run(call, facts, error);
    if (status == OVP_OK)
        status = ovp_electrical_review_of(oven, &facts->question, &facts->review, error);
    return status;
}

static int run(command_call *call)
{
    static circuit_facts facts;
    static ovp_oven oven; /* facts point to it */
    ovp_error error = {0};
    facts = (circuit_facts){0};
    if (call->operand_count != 1)
        return command_usage(call, "one oven is wanted, %zu are given", call->operand_count);
    if (gather(call, &oven, &facts, &error) != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof circuit --help` has an example");
        return command_fail(&error);
    }
    const int status = facts.review.verdict == OVP_ELECTRICAL_STATE_GOOD ? 0 : OVP_JUDGED;
    if (call->json) {
        circuit_print_json(call, &facts);
        return status;
    }
    circuit_print(call, &facts);
    if (command_given(call, "why"))
        circuit_print_why(call, &facts);
    return status;
}

const command_definition command_circuit = {
    .name = "circuit",
    .synopsis = "OVEN [--extension \"25ft 16AWG\" ...]",
    .summary = "Is the circuit right: amps, breaker, wire, volts, and what one failure does.",
    .details =
        "Status 0 when all that is known is good, 1 when something is not or cannot be told. With two\n"
        "readings of the volts, a load off and on, it tells the ohms of the line. The local code and the\n"
        "inspector decide, not this. Volts at an outlet: with a plug-in meter, or by a qualified person.",
    .options = options,
    .examples = "ovenproof circuit QR-8\n"
                "ovenproof circuit QR-3 --extension \"50ft 16AWG\"\n"
                "ovenproof circuit QR-3 --volts-off 121.3V --volts-on 117.2V --load 1500W\n"
                "ovenproof circuit QR-8 --trace docs/examples/demo/qr8-healthy.csv --why",
    .run = run,
};
