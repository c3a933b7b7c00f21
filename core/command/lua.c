/* ovenproof lua: a script of the user's own, in the sandbox. */
#include "lua/lua.h"
#include "command/command.h"
#include "command/kept_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const command_option options[] = {
    {"time", "T", false, "longest time it may run, e.g. 30s; 10s when not given, at most 1h"},
    {"memory", "MB", false, "most memory in megabytes; 256 when not given"},
    {"output", "MB", false, "most output in megabytes; 16 when not given"},
    {0},
};

enum {
    MEGABYTE = 1000000,
    MEMORY_BYTES = 256 * MEGABYTE,
    OUTPUT_BYTES = 16 * MEGABYTE,
};

static ovp_status megabytes(const command_call *call, const char *name, size_t *bytes, ovp_error *error)
{
    double value = NAN;
    ovp_status status = command_quantity(call, name, OVP_TEXT_COUNT, &value, error);
    if (status != OVP_OK || isnan(value))
        return status;
    if (!(value > 0.0 && value <= 16000.0))
        return ovp_error_set(error, OVP_ERROR_USAGE, "--%s is a number of megabytes, from above 0 to 16000",
                             name);
    *bytes = (size_t)(value * MEGABYTE);
    return OVP_OK;
}

static ovp_status find_limits(const command_call *call, lua_limits *limits, ovp_error *error)
{
    *limits = (lua_limits){.seconds = 10.0, .memory_bytes = MEMORY_BYTES, .output_bytes = OUTPUT_BYTES};
    ovp_status status = command_quantity(call, "time", OVP_TEXT_DURATION, &limits->seconds, error);
    if (status == OVP_OK && !(limits->seconds > 0.0 && limits->seconds <= 3600.0))
        status = ovp_error_set(error, OVP_ERROR_USAGE, "--time is above 0 and at most 1h");
    if (status == OVP_OK)
        status = megabytes(call, "memory", &limits->memory_bytes, error);
    if (status == OVP_OK)
        status = megabytes(call, "output", &limits->output_bytes, error);
    return status;
}

static int print_document(const command_call *call, const char *script, lua_origin origin,
                          const command_kept_text *kept)
{
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "lua", 1);
    ovp_text_json_key_string(&json, "script", script);
    ovp_text_json_key_string(&json, "found", lua_origin_word(origin));
    ovp_text_json_key(&json, "layers");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; lua_layer_at(origin, i) != NULL; i++)
        ovp_text_json_string(&json, lua_layer_at(origin, i));
    ovp_text_json_end_array(&json);
    ovp_text_json_key_string(&json, "output", kept->bytes == NULL ? "" : kept->bytes);
    return (int)ovp_text_json_end_document(&json);
}

static int run(command_call *call)
{
    lua_limits limits;
    ovp_error error = {0};
    if (call->operand_count == 0)
        return command_usage(call, "which script");
    if (find_limits(call, &limits, &error) != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof lua --help` has the usual limits");
        return command_fail(&error);
    }
    command_kept_text kept = {0};
    ovp_sink out = call->json ? (ovp_sink){command_keep_text, &kept} : call->out;
    const char *script = call->operands[0];
    lua_origin origin = lua_origin_of(script);
    bool apart = origin == LUA_ORIGIN_ELSEWHERE;
    if (apart && !call->json && isatty(STDERR_FILENO))
        (void)fprintf(stderr, "ovenproof: note: %s is not from your own folder: it runs closed off\n",
                      script);
    ovp_status status = (apart ? lua_run_script_apart : lua_run_script)(
        script, call->operands + 1, call->operand_count - 1, &limits, out, &error);
    int exit_status = 0;
    if (status != OVP_OK) {
        ovp_error_hint(&error, "%swhat a script may use is in docs/lua.md",
                       apart ? "not from your own folder, so it ran closed off; " : "");
        exit_status = command_fail(&error);
    } else if (call->json) {
        exit_status = print_document(call, script, origin, &kept);
    }
    free(kept.bytes);
    return exit_status;
}

const command_definition command_lua = {
    .name = "lua",
    .synopsis = "SCRIPT [ARG...]",
    .summary = "Run a script of your own in the sandbox.",
    .details =
        "The script is Lua 5.4 without files, clock and system; it has string, table, math, utf8, "
        "coroutine,\n"
        "print, and by require the modules ovenproof.thermocouple, .electrical and .text. Its arguments are\n"
        "`...` and `arg`; put -- before arguments that start with a dash.\n"
        "A script that did not come with the program and is not in your data folder runs closed off as "
        "well:\n"
        "in a process of its own that can reach nothing.\n"
        "A script that fails or meets a limit ends with one line that names it, and status 3.",
    .options = options,
    .examples = "ovenproof lua docs/examples/emf-table.lua K 500 1000",
    .run = run,
};
