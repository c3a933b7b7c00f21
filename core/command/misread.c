/* `misread`: what the display shows when sensor, wiring or setting is wrong, and how to tell. */
#include "command/command.h"
#include "ovenproof/thermocouple.h"

#include <math.h>
#include <string.h>

static const command_option options[] = {
    {"sensor", "TYPE", false, "the couple that is fitted: B C E J K N R S T"},
    {"at", "T", false, "what the tip really is at"},
    {"cold", "T", false, "the controller's screws; 25C when not given"},
    {"head", "T", false, "the block where couple and extension meet; as --cold when not given"},
    {"reversed", NULL, false, "+ and - crossed at the controller's screws"},
    {"extension-reversed", NULL, false, "extension crossed at both ends; with --reversed: at the block only"},
    {"extension", "METAL", false, "copper, or the type that the extension is; as --sensor when not given"},
    {"input", "TYPE", false, "the type that the controller is set to; the sensor's when not given"},
    {"no-compensation", NULL, false, "the input takes its screws as 32 °F (0 °C)"},
    {"compensation-error", "D", false, "what the cold-junction sensor reads too high, such as 20F"},
    {"shorted-at", "T", false, "the legs touch where it is this warm"},
    {"leak", "RATIO@T", false, "leak over loop resistance, and how warm it is there: 30@1600F"},
    {"open", NULL, false, "a broken wire"},
    {"display-low", "T", false, "lowest temperature that the display shows; the type's when not given"},
    {"display-high", "T", false, "highest temperature that the display shows"},
    {0},
};

/* ---- the command line ---------------------------------------------------------------------------- */

static ovp_status type_option(const command_call *call, const char *name, bool allow_copper,
                              ovp_tc_type *type, ovp_error *error)
{
    const char *word = command_value(call, name);
    if (word == NULL || ovp_tc_type_named(ovp_span_of(word), allow_copper, type))
        return OVP_OK;
    return ovp_error_set(error, OVP_ERROR_USAGE, "option --%s: \"%.40s\" is not one of B C E J K N R S T%s",
                         name, word, allow_copper ? " copper" : "");
}

/* 30@1600F */
static ovp_status leak_option(const command_call *call, ovp_tc_loop *loop, ovp_error *error)
{
    const char *word = command_value(call, "leak");
    if (word == NULL)
        return OVP_OK;
    const char *at = strchr(word, '@');
    double ratio = NAN;
    if (at == NULL || !ovp_text_number((ovp_span){word, (size_t)(at - word)}, &ratio) || !(ratio > 0.0))
        return ovp_error_set(
            error, OVP_ERROR_USAGE,
            "option --leak: \"%.40s\" is not a ratio above zero and a temperature, such as 30@1600F", word);
    ovp_status status =
        ovp_text_quantity(ovp_span_of(at + 1), OVP_TEXT_TEMPERATURE, call->degrees, &loop->leak_at_C, error);
    if (status != OVP_OK)
        return error->status = OVP_ERROR_USAGE;
    loop->leak_ratio = ratio;
    return OVP_OK;
}

static ovp_status temperatures(const command_call *call, ovp_tc_loop *loop, ovp_error *error)
{
    const struct {
        const char *name;
        ovp_text_kind kind;
        double *value;
    } rows[] = {
        {"head", OVP_TEXT_TEMPERATURE, &loop->head_C},
        {"compensation-error", OVP_TEXT_TEMPERATURE_DIFFERENCE, &loop->compensation_error_C},
        {"shorted-at", OVP_TEXT_TEMPERATURE, &loop->shorted_at_C},
        {"display-low", OVP_TEXT_TEMPERATURE, &loop->display_low_C},
        {"display-high", OVP_TEXT_TEMPERATURE, &loop->display_high_C},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_status status = command_quantity(call, rows[i].name, rows[i].kind, rows[i].value, error);
        if (status != OVP_OK)
            return status;
    }
    return leak_option(call, loop, error);
}

static ovp_status read_loop(const command_call *call, ovp_tc_loop *loop, ovp_error *error)
{
    ovp_tc_type sensor = OVP_TC_K;
    double tip_C = NAN, panel_C = 25.0;
    if (!command_given(call, "sensor") || !command_given(call, "at"))
        return ovp_error_set(error, OVP_ERROR_USAGE, "--sensor TYPE and --at T are wanted");
    ovp_status status = type_option(call, "sensor", false, &sensor, error);
    if (status == OVP_OK)
        status = command_quantity(call, "at", OVP_TEXT_TEMPERATURE, &tip_C, error);
    if (status == OVP_OK)
        status = command_quantity(call, "cold", OVP_TEXT_TEMPERATURE, &panel_C, error);
    if (status != OVP_OK)
        return status;
    ovp_tc_loop_init(loop, sensor, tip_C, panel_C);
    loop->reversed = command_given(call, "reversed");
    loop->extension_reversed = command_given(call, "extension-reversed");
    loop->open = command_given(call, "open");
    loop->compensation = !command_given(call, "no-compensation");
    status = type_option(call, "extension", true, &loop->extension, error);
    if (status == OVP_OK)
        status = type_option(call, "input", false, &loop->input, error);
    if (status == OVP_OK)
        status = temperatures(call, loop, error);
    return status;
}

/* ---- words --------------------------------------------------------------------------------------- */

static command_words display_words(const command_call *call, const ovp_tc_reading *reading)
{
    command_words shown = {""};
    switch (reading->display) {
    case OVP_TC_DISPLAY_OK:
        return command_show_temperature(call, reading->reads_C, 1);
    case OVP_TC_DISPLAY_UNDER_RANGE:
        ovp_copy_string(shown.text, sizeof shown.text, ovp_span_of("no number (under range)"));
        break;
    case OVP_TC_DISPLAY_OVER_RANGE:
        ovp_copy_string(shown.text, sizeof shown.text, ovp_span_of("no number (over range)"));
        break;
    case OVP_TC_DISPLAY_OPEN:
        ovp_copy_string(shown.text, sizeof shown.text,
                        ovp_span_of("what it is set to show for a broken sensor"));
        break;
    }
    return shown;
}

static void print_danger(const ovp_tc_loop *loop, const ovp_tc_reading *reading)
{
    switch (ovp_tc_loop_runaway(loop, reading)) {
    case OVP_TC_RUNS_AWAY:
        if (ovp_tc_loop_follows(loop) < 0)
            printf("RUNS AWAY: the display falls as the oven heats, so the controller keeps heating. "
                   "Keep the heat off.\n");
        else
            printf("RUNS AWAY: the display stays cold while the oven heats, so heat stays on. Keep the heat "
                   "off.\n");
        break;
    case OVP_TC_DEPENDS:
        printf(
            "RUNS AWAY unless the controller is set to show high for a broken sensor. Keep the heat off.\n");
        break;
    case OVP_TC_STAYS:
        if (reading->error_C < -0.5)
            printf(
                "Does not run away, but the oven is HOTTER than it shows: work and elements are at risk.\n");
        else if (reading->error_C > 0.5)
            printf("Does not run away: the oven is colder than it shows.\n");
        else if (reading->display == OVP_TC_DISPLAY_OVER_RANGE)
            printf("Does not run away: the display is above its range, so heat stays off.\n");
        else
            printf("Does not run away, and reads right at this temperature.\n");
        break;
    }
}

static void print_shows(const command_call *call, const ovp_tc_loop *loop, const ovp_tc_reading *reading)
{
    printf("With the tip at %s it shows\n  %s", command_show_temperature(call, loop->tip_C, 1).text,
           display_words(call, reading).text);
    if (reading->display == OVP_TC_DISPLAY_OK) {
        char error[64];
        ovp_text_format_difference(fabs(reading->error_C), call->degrees, 1, error, sizeof error);
        if (fabs(reading->error_C) < 0.05)
            printf(", which is right");
        else
            printf(": %s %s", error, reading->error_C < 0.0 ? "low" : "high");
    }
    printf(".\n");
}

static void print_meter(const ovp_tc_loop *loop, const ovp_tc_reading *reading)
{
    ovp_tc_loop right;
    ovp_tc_reading right_reading;
    ovp_tc_loop_init(&right, loop->sensor, loop->tip_C, loop->panel_C);
    if (isnan(reading->emf_mV) || ovp_tc_loop_read(&right, &right_reading, NULL) != OVP_OK)
        return;
    printf("A meter at the screws (dc mV, red lead on +) reads %.2f; a right loop gives %.2f.\n",
           reading->emf_mV, right_reading.emf_mV);
}

static void print_why(const ovp_tc_loop *loop, const ovp_tc_reading *reading)
{
    const char *sensor = ovp_tc_type_name(loop->sensor);
    if (isnan(reading->emf_mV) && !loop->open)
        printf("Why: the tip is hotter than type %s is made for.\n", sensor);
    if (loop->open)
        printf("Why: a broken wire gives the input nothing to read.\n");
    if (!isnan(loop->shorted_at_C))
        printf(
            "Why: where the legs touch is the tip that the controller reads; the true tip does nothing.\n");
    if (loop->reversed && !loop->extension_reversed)
        printf("Why: + and - are crossed once, at the controller, so the emf counts backwards.\n");
    if (loop->reversed && loop->extension_reversed)
        printf(
            "Why: couple and extension are crossed where they meet. Swapping the pair at the controller "
            "would\n"
            "hide it, not cure it: it then reads low by twice the block's warmth. Cure it at the block.\n");
    if (!loop->reversed && loop->extension_reversed)
        printf("Why: the extension is crossed at both ends: no error while block and panel are alike, and "
               "twice\n"
               "their difference, low, when the block is warm. Cure both ends.\n");
    if (loop->extension == OVP_TC_COPPER)
        printf("Why: copper makes no emf, so the block's warmth above the panel is lost.\n");
    else if (loop->extension != loop->sensor)
        printf("Why: type %s extension on a type %s couple adds the wrong emf for the block's warmth.\n",
               ovp_tc_type_name(loop->extension), sensor);
    if (loop->input != loop->sensor)
        printf("Why: a type %s couple is read by the type %s table; the error grows with heat.\n", sensor,
               ovp_tc_type_name(loop->input));
    if (!loop->compensation)
        printf("Why: the input adds nothing for the warmth of its own screws.\n");
    else if (loop->compensation_error_C != 0.0)
        printf("Why: the input adds the wrong emf for the warmth of its own screws.\n");
    if (!isnan(loop->leak_ratio))
        printf("Why: a leak between the legs mixes in the temperature where it sits; it shows only hot.\n");
}

/* ---- the cold tests: what this very fault would show --------------------------------------------- */

static void print_test(const command_call *call, const ovp_tc_loop *loop, const char *what, double tip_C,
                       double head_C)
{
    ovp_tc_loop wrong = *loop;
    ovp_tc_reading reading, right_reading;
    wrong.tip_C = tip_C;
    wrong.head_C = head_C;
    if (!isnan(wrong.shorted_at_C))
        wrong.shorted_at_C = wrong.panel_C; /* cold, like all but the tip */
    wrong.leak_ratio = NAN;                 /* a leak of the hot insulation is not there cold */
    ovp_tc_loop right;
    ovp_tc_loop_init(&right, loop->sensor, tip_C, loop->panel_C);
    if (ovp_tc_loop_read(&wrong, &reading, NULL) != OVP_OK ||
        ovp_tc_loop_read(&right, &right_reading, NULL) != OVP_OK)
        return;
    bool tells = reading.display != OVP_TC_DISPLAY_OK || fabs(reading.reads_C - right_reading.reads_C) > 3.0;
    printf("  %s%*s %s%s\n", what, (int)(36 - ovp_text_columns(what)), "", display_words(call, &reading).text,
           tells ? "  <- tells" : "");
}

static void print_tests(const command_call *call, const ovp_tc_loop *loop)
{
    double panel_C = loop->panel_C;
    double block_C = panel_C + ovp_text_to_celsius(92.0, OVP_TEXT_DEGREES_F); /* 60 degF warmer */
    if (loop->open) {
        printf("How to tell: unplugged, one wire lifted, ohms across the pair: a good couple is below 50 "
               "ohm.\n");
        return;
    }
    if (!isnan(loop->leak_ratio))
        printf("A leak is found hot: a reference beside the tip at two temperatures; the error grows with "
               "heat.\n");
    printf("How to tell, heat off, all else at %s (a right loop shows the tip):\n",
           command_show_temperature(call, panel_C, 1).text);
    print_test(call, loop, "tip in the hand (95 °F, 35 °C)", 35.0, panel_C);
    print_test(call, loop, "tip in boiling water (sea level)", 100.0, panel_C);
    print_test(call, loop, "block 60 °F (33 °C) warmer, tip not", panel_C, block_C);
}

static void print_colours(const ovp_tc_loop *loop)
{
    ovp_tc_colours us, iec;
    bool wiring = loop->reversed || loop->extension_reversed || loop->extension != loop->sensor;
    if (!wiring || !ovp_tc_colours_of("us", loop->sensor, &us) ||
        !ovp_tc_colours_of("eu", loop->sensor, &iec))
        return;
    printf("Wire: %s + and %s - (ASTM E230), %s + and %s - (IEC 60584-3).\n", us.positive, us.negative,
           iec.positive, iec.negative);
    if (loop->sensor == OVP_TC_K)
        printf("A magnet draws the - leg of K and not the +.\n");
    if (loop->sensor == OVP_TC_J)
        printf("A magnet draws the + leg of J and not the -.\n");
}

static void print_text(const command_call *call, const ovp_tc_loop *loop, const ovp_tc_reading *reading)
{
    print_danger(loop, reading);
    print_shows(call, loop, reading);
    print_meter(loop, reading);
    print_why(loop, reading);
    print_tests(call, loop);
    print_colours(loop);
}

static void print_json(const command_call *call, const ovp_tc_loop *loop, const ovp_tc_reading *reading)
{
    static const char *const runaway[] = {"no", "yes", "depends"};
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "misread", 1);
    ovp_text_json_key_number(&json, "reads_C", reading->reads_C);
    ovp_text_json_key_string(&json, "display", ovp_tc_display_name(reading->display));
    ovp_text_json_key_number(&json, "error_C", reading->error_C);
    ovp_text_json_key_number(&json, "emf_mV", reading->emf_mV);
    ovp_text_json_key_string(&json, "runs_away", runaway[ovp_tc_loop_runaway(loop, reading)]);
    ovp_text_json_end_document(&json);
}

static int run(command_call *call)
{
    ovp_tc_loop loop = {0};
    ovp_tc_reading reading = {0};
    ovp_error error = {0};
    if (call->operand_count > 0)
        return command_usage(call, "\"%.40s\" is not wanted here", call->operands[0]);
    if (read_loop(call, &loop, &error) != OVP_OK || ovp_tc_loop_read(&loop, &reading, &error) != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof misread --help` has an example");
        return command_fail(&error);
    }
    if (call->json)
        print_json(call, &loop, &reading);
    else
        print_text(call, &loop, &reading);
    return 0;
}

const command_definition command_misread = {
    .name = "misread",
    .synopsis = "--sensor TYPE --at T [what is wrong]",
    .summary = "What the display shows when sensor, wiring or setting is wrong, and how to tell.",
    .details = "One law of the thermocouple loop, computed from ITS-90. Several things may be wrong at once.",
    .options = options,
    .examples = "ovenproof misread --sensor K --at 300F --cold 75F --reversed\n"
                "ovenproof misread --sensor K --at 1500F --cold 100F --head 160F --extension-reversed\n"
                "ovenproof misread --sensor K --at 1500F --input J",
    .run = run,
};
