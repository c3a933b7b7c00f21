#include "command/setup.h"
#include "command/ask.h"
#include "command/command.h"
#include "ovenproof/thermocouple.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

/* ---- what may be said -------------------------------------------------------------------------------- */

static const setup_tool tools[] = {
#include "tools.inc"
};

size_t setup_tool_count(void)
{
    return sizeof tools / sizeof tools[0];
}

const setup_tool *setup_tool_at(size_t index)
{
    return &tools[index];
}

/* By its word, or by its number in the list of the question. */
static const setup_tool *find_tool(const char *word)
{
    double number;
    if (ovp_text_number(ovp_span_of(word), &number)) {
        bool in_list = number >= 1 && number <= (double)setup_tool_count() && number == floor(number);
        return in_list ? &tools[(size_t)number - 1] : NULL;
    }
    for (size_t i = 0; i < setup_tool_count(); i++)
        if (ovp_span_equals(ovp_span_of(word), tools[i].word))
            return &tools[i];
    return NULL;
}

static ovp_status refuse_tool(const char *word, ovp_error *error)
{
    char words[OVP_ERROR_TEXT_SIZE];
    size_t length = 0;
    for (size_t i = 0; i < setup_tool_count() && length < sizeof words; i++)
        length +=
            (size_t)snprintf(words + length, sizeof words - length, "%s%s", i > 0 ? ", " : "", tools[i].word);
    ovp_status status = ovp_error_set(error, OVP_ERROR_DATA, "no tool is called \"%s\"", word);
    ovp_error_hint(error, "the words: %s", words);
    return status;
}

static ovp_status set_tools(store_settings *settings, const char *value, ovp_error *error)
{
    store_settings changed = *settings;
    if (ovp_span_equals(ovp_span_of(value), "all")) {
        changed.tools_known = true;
        changed.tool_count = 0;
        for (size_t i = 0; i < setup_tool_count() && i < STORE_TOOLS; i++)
            ovp_copy_string(changed.tools[changed.tool_count++], STORE_TOOL_SIZE, ovp_span_of(tools[i].word));
    } else {
        ovp_status status = store_settings_set(&changed, "tools", ovp_span_of(value), error);
        if (status != OVP_OK)
            return status;
    }
    for (size_t i = 0; i < changed.tool_count; i++) {
        const setup_tool *tool = find_tool(changed.tools[i]);
        if (tool == NULL)
            return refuse_tool(changed.tools[i], error);
        ovp_copy_string(changed.tools[i], STORE_TOOL_SIZE, ovp_span_of(tool->word));
    }
    *settings = changed;
    return OVP_OK;
}

ovp_status setup_set(store_settings *settings, const char *key, const char *value, ovp_error *error)
{
    ovp_tc_colours ignored;
    if (strcmp(key, "tools") == 0)
        return set_tools(settings, value, error);
    if (strcmp(key, "colours") == 0 && value[0] != '\0' && !ovp_tc_colours_of(value, OVP_TC_K, &ignored)) {
        ovp_status status =
            ovp_error_set(error, OVP_ERROR_DATA, "no wire colours are known for \"%s\"", value);
        ovp_error_hint(error, "us, eu, or a standard: astm-e230, iec-60584-3, bs-1843, din-43714");
        return status;
    }
    return store_settings_set(settings, key, ovp_span_of(value), error);
}

bool setup_forget_instrument(store_settings *settings, const char *name)
{
    for (size_t i = 0; i < settings->instrument_count; i++) {
        if (!ovp_span_equals(ovp_span_of(name), settings->instruments[i].name))
            continue;
        size_t after = settings->instrument_count - i - 1;
        memmove(&settings->instruments[i], &settings->instruments[i + 1],
                after * sizeof settings->instruments[0]);
        settings->instrument_count--;
        return true;
    }
    return false;
}

ovp_status setup_add_instrument(store_settings *settings, const char *text, ovp_error *error)
{
    store_instrument instrument;
    ovp_status status = store_instrument_read(ovp_span_of(text), &instrument, error);
    if (status != OVP_OK)
        return status;
    for (size_t i = 0; i < settings->instrument_count; i++) {
        if (ovp_span_equals(ovp_span_of(instrument.name), settings->instruments[i].name)) {
            settings->instruments[i] = instrument;
            return OVP_OK;
        }
    }
    return store_settings_set(settings, "instrument", ovp_span_of(text), error);
}

/* ---- what is said -------------------------------------------------------------------------------------- */

static const char *degrees_name(ovp_text_degrees degrees)
{
    static const char *const names[] = {NULL, "F", "C", "K"};
    return names[degrees];
}

static void print_json_instrument(ovp_text_json *json, const store_instrument *one)
{
    double difference_C = NAN, emf_mV = NAN;
    ovp_span uncertainty = ovp_span_of(one->uncertainty);
    if (ovp_text_quantity(uncertainty, OVP_TEXT_TEMPERATURE_DIFFERENCE, OVP_TEXT_DEGREES_NONE, &difference_C,
                          NULL) != OVP_OK)
        ovp_text_quantity(uncertainty, OVP_TEXT_EMF, OVP_TEXT_DEGREES_NONE, &emf_mV, NULL);
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "name", one->name);
    ovp_text_json_key_string(json, "certificate", one->certificate[0] != '\0' ? one->certificate : NULL);
    ovp_text_json_key_string(json, "due", one->due[0] != '\0' ? one->due : NULL);
    ovp_text_json_key_number(json, "expanded_uncertainty_C", difference_C);
    ovp_text_json_key_number(json, "expanded_uncertainty_mV", emf_mV);
    ovp_text_json_end_object(json);
}

static void print_json(const store_settings *settings, const char *path, bool written, ovp_sink sink)
{
    ovp_text_json json;
    ovp_text_json_init(&json, sink);
    ovp_text_json_begin_document(&json, "setup", 1);
    ovp_text_json_key_string(&json, "file", path);
    ovp_text_json_key_boolean(&json, "written", written);
    ovp_text_json_key_string(&json, "degrees", degrees_name(settings->degrees));
    ovp_text_json_key_string(&json, "colours", settings->colours[0] != '\0' ? settings->colours : NULL);
    ovp_text_json_key(&json, "tools");
    if (settings->tools_known) {
        ovp_text_json_begin_array(&json);
        for (size_t i = 0; i < settings->tool_count; i++)
            ovp_text_json_string(&json, settings->tools[i]);
        ovp_text_json_end_array(&json);
    } else {
        ovp_text_json_null(&json);
    }
    ovp_text_json_key(&json, "instruments");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < settings->instrument_count; i++)
        print_json_instrument(&json, &settings->instruments[i]);
    ovp_text_json_end_array(&json);
    ovp_text_json_key_string(&json, "contact", settings->contact[0] != '\0' ? settings->contact : NULL);
    ovp_text_json_end_document(&json);
}

static void print_colours(const store_settings *settings)
{
    ovp_tc_colours colours;
    if (settings->colours[0] == '\0' || !ovp_tc_colours_of(settings->colours, OVP_TC_K, &colours)) {
        puts("  wire colours  not said");
        return;
    }
    printf("  wire colours  %s: a type K extension is %s for plus, %s for minus\n", settings->colours,
           colours.positive, colours.negative);
}

/* Also needs today's date: a certificate that ran out proves nothing. */
static bool is_past(const char *due)
{
    char today[16];
    time_t now = time(NULL);
    struct tm local;
    if (due[0] == '\0' || localtime_r(&now, &local) == NULL ||
        strftime(today, sizeof today, "%Y-%m-%d", &local) == 0)
        return false;
    return strcmp(due, today) < 0;
}

static void print_instrument(const store_instrument *one)
{
    printf("  instrument    %s, ", one->name);
    if (one->certificate[0] != '\0')
        printf("certificate %s, ", one->certificate);
    else
        printf("no certificate, ");
    if (one->due[0] != '\0')
        printf("%s %s, ", is_past(one->due) ? "RAN OUT on" : "good until", one->due);
    if (one->uncertainty[0] != '\0')
        printf("U %s (k = 2)\n", one->uncertainty);
    else
        printf("uncertainty not known\n");
}

static void print_text(const store_settings *settings, const command_call *call)
{
    char words[STORE_TOOLS * (STORE_TOOL_SIZE + 2)] = "none";
    const char *degrees = degrees_name(settings->degrees);
    printf("  degrees       %s\n", degrees != NULL ? degrees : "not said; a bare temperature is refused");
    print_colours(settings);
    if (!settings->tools_known)
        ovp_copy_string(words, sizeof words,
                        ovp_span_of("not said; a question may ask for any, and names it"));
    else if (settings->tool_count > 0)
        store_settings_tools(settings, ", ", words, sizeof words);
    printf("  tools");
    ovp_text_fold(call->out, words, 90, 9, 16);
    for (size_t i = 0; i < settings->instrument_count; i++)
        print_instrument(&settings->instruments[i]);
    if (settings->instrument_count == 0)
        puts("  instrument    none; a comparison then says so, and cannot pass");
    printf("  contact       %s\n", settings->contact[0] != '\0' ? settings->contact : "none");
}

static int report(const command_call *call, const store_settings *settings, bool written)
{
    char path[STORE_PATH_SIZE] = "";
    store_settings_path(path, sizeof path, NULL);
    if (call->json) {
        print_json(settings, path, written, call->out);
        return 0;
    }
    printf(written ? "Written to %s:\n" : "In %s:\n", path);
    print_text(settings, call);
    if (written)
        puts("Next: `ovenproof describe MY-OVEN.lua` to describe an oven, or `ovenproof guide --oven QR-8`.");
    return 0;
}

/* ---- the command ------------------------------------------------------------------------------------------
 */

static const command_option options[] = {
    {"show", NULL, false, "print what is set; write nothing"},
    {"colours", "COUNTRY", false, "wire colours: us, eu, or a standard such as bs-1843"},
    {"tools", "LIST", false, "tools you own: multimeter,clamp-meter...; all; none"},
    {"instrument", "TEXT", true,
     "\"NAME; certificate NUMBER; due YYYY-MM-DD; U 0.5C\": added, or replaced by its name"},
    {"forget", "NAME", true, "drop the instrument of that name"},
    {"contact", "TEXT", false, "a line for reports and labels; \"\" for none"},
    {0},
};

static bool has_answers(const command_call *call)
{
    static const char *const names[] = {"degrees", "colours", "tools", "instrument", "forget", "contact"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (command_given(call, names[i]))
            return true;
    return false;
}

static ovp_status take_instruments(const command_call *call, store_settings *settings, ovp_error *error)
{
    const char *text;
    for (size_t i = 0; (text = command_value_at(call, "forget", i)) != NULL; i++) {
        if (setup_forget_instrument(settings, text))
            continue;
        ovp_status status = ovp_error_set(error, OVP_ERROR_DATA, "there is no instrument \"%s\"", text);
        ovp_error_hint(error, "`ovenproof setup --show` lists them");
        return status;
    }
    for (size_t i = 0; (text = command_value_at(call, "instrument", i)) != NULL; i++) {
        ovp_status status = setup_add_instrument(settings, text, error);
        if (status != OVP_OK)
            return status;
    }
    return OVP_OK;
}

static ovp_status take_options(const command_call *call, store_settings *settings, ovp_error *error)
{
    static const char *const keys[] = {"degrees", "colours", "tools", "contact"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        const char *value = command_value(call, keys[i]);
        ovp_status status = value != NULL ? setup_set(settings, keys[i], value, error) : OVP_OK;
        if (status != OVP_OK)
            return status;
    }
    return take_instruments(call, settings, error);
}

static int ask_and_save(const command_call *call, store_settings *settings)
{
    ovp_error error = {0};
    ask_begin();
    bool complete = setup_ask(settings);
    if (!complete)
        return ask_give_up("nothing was written");
    ask_end();
    if (store_settings_save(settings, &error) != OVP_OK)
        return command_fail(&error);
    putchar('\n');
    return report(call, settings, true);
}

static int run(command_call *call)
{
    store_settings settings;
    ovp_error error = {0};
    if (call->operand_count > 0)
        return command_usage(call, "setup takes no operand, and \"%s\" is one", call->operands[0]);
    if (command_given(call, "show") && has_answers(call))
        return command_usage(call, "--show writes nothing, so it goes with no other option");
    ovp_status loaded = store_settings_load(&settings, &error);
    bool shows = command_given(call, "show") || (call->json && !has_answers(call));
    if (loaded != OVP_OK && (shows || loaded != OVP_ERROR_DATA))
        return command_fail(&error);
    if (loaded != OVP_OK)
        command_fail(&error); /* said, and mended by what is written now */
    if (shows)
        return report(call, &settings, false);
    if (!has_answers(call))
        return ask_and_save(call, &settings);
    if (take_options(call, &settings, &error) != OVP_OK) {
        error.status = OVP_ERROR_USAGE;
        return command_fail(&error);
    }
    if (store_settings_save(&settings, &error) != OVP_OK)
        return command_fail(&error);
    return report(call, &settings, true);
}

const command_definition command_setup = {
    .name = "setup",
    .synopsis = "[--show] [--degrees F|C|K] [--colours COUNTRY] [--tools LIST] [--instrument TEXT]...",
    .summary = "Asks once: your degrees, wire colours, tools, instruments and a contact line.",
    .details =
        "Without options it asks at the terminal; with options it sets just those. The answers are kept in\n"
        "$XDG_CONFIG_HOME/ovenproof/settings (else ~/.config/ovenproof/settings), a text that you may edit.\n"
        "Nothing else is kept there and nothing is sent anywhere. --json alone prints what is set.",
    .options = options,
    .examples =
        "ovenproof setup\n"
        "ovenproof setup --degrees F --colours us --tools multimeter,clamp-meter\n"
        "ovenproof setup --instrument \"Bench calibrator; certificate 1234; due 2027-03-01; U 0.5C\"\n"
        "ovenproof setup --show",
    .run = run,
};
