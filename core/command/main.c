/* ovenproof: one command; the work is in the files beside this one, a row each in table.c. */
#include "command/call.h"
#include "ovenproof/ovenproof.h"
#include "store/store.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

static ovp_status write_standard_output(void *context, const char *bytes, size_t count)
{
    (void)context;
    return fwrite(bytes, 1, count, stdout) == count ? OVP_OK : OVP_ERROR_SYSTEM;
}

static int print_version(void)
{
    printf("ovenproof %s\n", OVP_VERSION);
    return command_finish(0);
}

static int print_first_steps(void)
{
    puts("ovenproof proves small electric heat-treating ovens, and finds the fault when one is not right.");
    puts("");
    puts("Start with what you have:");
    puts("  an oven that misbehaves         ovenproof guide --oven OVEN");
    puts("  a controller's or logger's log  ovenproof trace LOG.csv --oven OVEN");
    puts("  an oven heating beside you      ovenproof stopwatch OVEN");
    puts("  a watch and a notepad           ovenproof trace --oven OVEN --times \"start 74F, 1000F 19:40\"");
    puts("  a calibrator or a reference     ovenproof verify --ask");
    puts("  a new oven to describe          ovenproof describe MY-OVEN.lua");
    puts("  an oven due for its check       ovenproof checklist half-year --oven OVEN");
    puts("");
    puts("`ovenproof setup` asks once for your degrees, wire colours and tools.");
    puts("`ovenproof --help` lists everything; OVEN is a file, or a name such as QR-8 (invented, to try).");
    return command_finish(0);
}

static int print_commands(void)
{
    puts("usage: ovenproof COMMAND ...");
    puts("");
    for (size_t i = 0; command_table[i] != NULL; i++)
        printf("  %-12s %s\n", command_table[i]->name, command_table[i]->summary);
    puts("");
    puts("`ovenproof COMMAND --help` tells more and gives an example. Every command takes --json.");
    puts("Exit status: 0 done and good, 1 judged not good, 2 wrong usage, 3 bad input, 4 device or disk.");
    return command_finish(0);
}

static const command_definition *find_command(const char *name)
{
    for (size_t i = 0; command_table[i] != NULL; i++)
        if (strcmp(command_table[i]->name, name) == 0)
            return command_table[i];
    return NULL;
}

static int unknown_command(const char *name)
{
    ovp_error error;
    ovp_error_set(&error, OVP_ERROR_USAGE, "there is no command \"%s\"", name);
    ovp_error_hint(&error, "`ovenproof --help` lists the commands");
    return command_fail(&error);
}

/* A settings file that cannot be read stops every command but the one that mends it. */
static ovp_status ask_settings(command_call *call, ovp_error *error)
{
    static store_settings settings; /* large, and only once */
    if (strcmp(call->definition->name, "setup") == 0)
        return OVP_OK;
    ovp_status status = store_settings_load(&settings, error);
    if (status == OVP_OK)
        call->degrees = settings.degrees;
    else
        ovp_error_hint(error, "`ovenproof setup` writes the settings anew");
    return status;
}

static int run_command(const command_definition *definition, char **arguments, int count)
{
    command_call call = {.definition = definition, .out = {write_standard_output, NULL}};
    ovp_error error = {0};
    if (command_take_apart(&call, arguments, count, &error) != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof %s --help` lists the options", definition->name);
        return command_fail(&error);
    }
    if (command_given(&call, "help")) {
        command_print_help(definition, call.out);
        return command_finish(0);
    }
    if (command_find_degrees(&call, &error) != OVP_OK)
        return command_fail(&error);
    if (call.degrees == OVP_TEXT_DEGREES_NONE && ask_settings(&call, &error) != OVP_OK)
        return command_fail(&error);
    return command_finish(definition->run(&call));
}

int main(int argument_count, char **arguments)
{
    signal(SIGPIPE, SIG_IGN); /* a closed pipe is seen by command_finish, not fatal in the middle */
    if (argument_count < 2)
        return print_first_steps();
    const char *name = arguments[1];
    if (strcmp(name, "--version") == 0)
        return print_version();
    if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0 || strcmp(name, "help") == 0)
        return print_commands();
    const command_definition *definition = find_command(name);
    if (definition == NULL)
        return unknown_command(name);
    return run_command(definition, arguments + 2, argument_count - 2);
}
