/* Taking a command line apart, and the rows of options that also make the help. */
#include "command/call.h"

#include <stdlib.h>
#include <string.h>

static const command_option common_options[] = {
    {"degrees", "F|C|K", false, "scale of bare temperatures and of what is printed"},
    {"json", NULL, false, "one JSON document instead of text"},
    {"help", NULL, false, "this text"},
    {0},
};

const command_option *command_common_options(void)
{
    return common_options;
}

static const command_option *find_in(const command_option *options, ovp_span name)
{
    for (; options != NULL && options->name != NULL; options++)
        if (strlen(options->name) == name.count && memcmp(options->name, name.bytes, name.count) == 0)
            return options;
    return NULL;
}

static const command_option *find_option(const command_definition *definition, ovp_span name)
{
    const command_option *option = find_in(definition->options, name);
    return option != NULL ? option : find_in(common_options, name);
}

const char *command_option_dashes(const command_option *option)
{
    return option->name[1] == '\0' ? "-" : "--";
}

/* "-200C" and "-.5" are values; "-" is standard input; anything else that starts with '-' is an option. */
static bool is_option(const char *word)
{
    if (word[0] != '-' || word[1] == '\0')
        return false;
    return !((word[1] >= '0' && word[1] <= '9') || word[1] == '.');
}

static ovp_status add_value(command_call *call, const command_option *option, const char *value,
                            ovp_error *error)
{
    if (!option->repeats && command_given(call, option->name))
        return ovp_error_set(error, OVP_ERROR_USAGE, "option %s%s is given twice",
                             command_option_dashes(option), option->name);
    if (call->given_count == COMMAND_VALUES)
        return ovp_error_set(error, OVP_ERROR_USAGE, "more than %d options", COMMAND_VALUES);
    call->given[call->given_count].name = option->name;
    call->given[call->given_count].value = value;
    call->given_count++;
    return OVP_OK;
}

/* Takes the option at arguments[*at]; moves *at past the value it used. */
static ovp_status take_option(command_call *call, char **arguments, int count, int *at, ovp_error *error)
{
    const char *word = arguments[*at];
    const char *name = word + (word[1] == '-' ? 2 : 1);
    const char *equals = strchr(name, '=');
    ovp_span span = {name, equals != NULL ? (size_t)(equals - name) : strlen(name)};
    const bool short_form = word[1] != '-'; /* -o FILE: options whose whole name is one letter */
    const command_option *option =
        short_form == (span.count == 1) ? find_option(call->definition, span) : NULL;
    if (strcmp(word, "-h") == 0)
        option = find_in(common_options, ovp_span_of("help"));
    if (option == NULL)
        return ovp_error_set(error, OVP_ERROR_USAGE, "unknown option \"%s\"", word);
    if (option->argument == NULL) {
        if (equals != NULL)
            return ovp_error_set(error, OVP_ERROR_USAGE, "option %s%s takes no value",
                                 command_option_dashes(option), option->name);
        return add_value(call, option, NULL, error);
    }
    if (equals != NULL)
        return add_value(call, option, equals + 1, error);
    if (*at + 1 >= count)
        return ovp_error_set(error, OVP_ERROR_USAGE, "option %s%s needs a value: %s",
                             command_option_dashes(option), option->name, option->argument);
    *at += 1;
    return add_value(call, option, arguments[*at], error);
}

ovp_status command_take_apart(command_call *call, char **arguments, int count, ovp_error *error)
{
    bool options_ended = false;
    for (int at = 0; at < count; at++) {
        const char *word = arguments[at];
        if (!options_ended && strcmp(word, "--") == 0) {
            options_ended = true;
            continue;
        }
        if (!options_ended && is_option(word)) {
            ovp_status status = take_option(call, arguments, count, &at, error);
            if (status != OVP_OK)
                return status;
            continue;
        }
        if (call->operand_count == COMMAND_OPERANDS)
            return ovp_error_set(error, OVP_ERROR_USAGE, "more than %d operands", COMMAND_OPERANDS);
        call->operands[call->operand_count++] = word;
    }
    call->json = command_given(call, "json");
    return OVP_OK;
}

const char *command_value(const command_call *call, const char *name)
{
    for (size_t i = call->given_count; i > 0; i--)
        if (strcmp(call->given[i - 1].name, name) == 0)
            return call->given[i - 1].value;
    return NULL;
}

bool command_given(const command_call *call, const char *name)
{
    for (size_t i = 0; i < call->given_count; i++)
        if (strcmp(call->given[i].name, name) == 0)
            return true;
    return false;
}

const char *command_value_at(const command_call *call, const char *name, size_t index)
{
    for (size_t i = 0; i < call->given_count; i++)
        if (strcmp(call->given[i].name, name) == 0 && index-- == 0)
            return call->given[i].value;
    return NULL;
}

ovp_status command_quantity(const command_call *call, const char *name, ovp_text_kind kind, double *value,
                            ovp_error *error)
{
    const char *text = command_value(call, name);
    if (text == NULL)
        return OVP_OK;
    ovp_status status = ovp_text_quantity(ovp_span_of(text), kind, call->degrees, value, error);
    if (status == OVP_OK)
        return OVP_OK;
    if (error != NULL) {
        char what[OVP_ERROR_TEXT_SIZE];
        ovp_copy_string(what, sizeof what, ovp_span_of(error->what));
        snprintf(error->what, sizeof error->what, "option --%s: %.280s", name, what);
        error->status = OVP_ERROR_USAGE;
    }
    return OVP_ERROR_USAGE;
}

/* --degrees first, then OVENPROOF_DEGREES; the settings are asked by the caller when both are silent. */
ovp_status command_find_degrees(command_call *call, ovp_error *error)
{
    const char *word = command_value(call, "degrees");
    if (word != NULL) {
        if (!ovp_text_degrees_named(ovp_span_of(word), &call->degrees))
            return ovp_error_set(error, OVP_ERROR_USAGE, "option --degrees: \"%s\" is not F, C or K", word);
        return OVP_OK;
    }
    word = getenv("OVENPROOF_DEGREES");
    if (word != NULL && word[0] != '\0' && !ovp_text_degrees_named(ovp_span_of(word), &call->degrees))
        return ovp_error_set(error, OVP_ERROR_USAGE, "OVENPROOF_DEGREES: \"%s\" is not F, C or K", word);
    return OVP_OK;
}
