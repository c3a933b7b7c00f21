/*
 * A user script in a closed process. In the child its prints and its end become messages; in the parent they
 * are taken under the same limits once more, because the child is believed in nothing.
 */
#include "lua/lua_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- in the child -------------------------------------------------------------------------------------- */

/* What was printed goes out when it is much or 50 ms old, so that a person sees a slow script at work. */
static const double held_back_s = 0.05;

typedef struct speaker {
    int channel;
    size_t held;
    double said_s;
    char bytes[CHILD_PAYLOAD_BYTES];
} speaker;

static ovp_status say_held(speaker *to)
{
    bool said = to->held == 0 || child_say(to->channel, "out", to->bytes, to->held);
    to->held = 0;
    to->said_s = state_now();
    return said ? OVP_OK : OVP_ERROR_SYSTEM;
}

static ovp_status speak(void *context, const char *bytes, size_t count)
{
    speaker *to = context;
    while (count > 0) {
        size_t room = sizeof to->bytes - to->held, taken = count < room ? count : room;
        memcpy(to->bytes + to->held, bytes, taken);
        to->held += taken;
        bytes += taken;
        count -= taken;
        if (to->held == sizeof to->bytes && say_held(to) != OVP_OK)
            return OVP_ERROR_SYSTEM;
    }
    return state_now() - to->said_s > held_back_s ? say_held(to) : OVP_OK;
}

/* STATUS LINE WHAT, and the hint in a message of its own. */
void child_say_error(int channel, const ovp_error *error)
{
    char text[OVP_ERROR_TEXT_SIZE + 64];
    if (error->hint[0] != '\0')
        child_say(channel, "hint", error->hint, strlen(error->hint));
    int length = snprintf(text, sizeof text, "%d %llu %s", (int)error->status,
                          (unsigned long long)error->line, error->what);
    child_say(channel, "failed", text, length > 0 ? (size_t)length : 0);
}

static void run_in_child(void *context, int channel)
{
    const sandbox_script *wanted = context;
    static speaker to; /* large */
    ovp_error error = {0};
    to.channel = channel;
    ovp_status status = sandbox_run_bytes(wanted, (ovp_sink){speak, &to}, &error);
    say_held(&to);
    if (status != OVP_OK)
        child_say_error(channel, &error);
}

/* ---- in the parent ------------------------------------------------------------------------------------- */

bool child_take_error(const char *word, ovp_span payload, ovp_error *error)
{
    if (strcmp(word, "hint") == 0) {
        ovp_error_hint(error, "%s", payload.bytes);
        return true;
    }
    char *at;
    unsigned long status = strtoul(payload.bytes, &at, 10);
    unsigned long long line = strtoull(at, &at, 10);
    char hint[OVP_ERROR_TEXT_SIZE];
    ovp_copy_string(hint, sizeof hint, ovp_span_of(error->hint));
    ovp_error_set(error, status == OVP_ERROR_MEMORY ? OVP_ERROR_MEMORY : OVP_ERROR_DATA, "%s",
                  *at == ' ' && at[1] != '\0' ? at + 1 : "failed without a message");
    if (hint[0] != '\0')
        ovp_error_hint(error, "%s", hint);
    ovp_error_place(error, NULL, line);
    return true;
}

typedef struct listener {
    ovp_sink out;
    size_t output_left;
    ovp_error failed; /* status OVP_OK: it did not fail */
} listener;

static bool hear(void *context, const char *word, ovp_span payload)
{
    listener *to = context;
    if (strcmp(word, "failed") == 0 || strcmp(word, "hint") == 0)
        return child_take_error(word, payload, &to->failed);
    if (strcmp(word, "out") != 0)
        return false;
    if (payload.count > to->output_left) {
        ovp_error_set(&to->failed, OVP_ERROR_DATA, "printed too much: the script was stopped");
        return false;
    }
    to->output_left -= payload.count;
    if (to->out.write(to->out.context, payload.bytes, payload.count) == OVP_OK)
        return true;
    ovp_error_set(&to->failed, OVP_ERROR_DATA, "what it printed could not be written");
    return false;
}

ovp_status child_settle(const child_end *end, const ovp_error *failed, const char *path, ovp_error *error)
{
    const char *words = child_end_words(end);
    if (end->no_fence) {
        char folder[OVP_ERROR_FILE_SIZE] = "your data folder";
        (void)lua_user_folder(folder, sizeof folder);
        ovp_error_set(
            error, OVP_ERROR_DATA,
            "not run: it is not your own, and this machine cannot close it off (no system-call filter)");
        ovp_error_hint(error, "read it; if you trust it, put it below %s", folder);
    } else if (failed->status != OVP_OK) {
        if (error != NULL)
            *error = *failed;
    } else if (words != NULL) {
        ovp_error_set(error, OVP_ERROR_DATA, "%s", words);
    } else {
        return OVP_OK;
    }
    ovp_error_place(error, path, 0);
    return failed->status == OVP_ERROR_MEMORY ? OVP_ERROR_MEMORY : OVP_ERROR_DATA;
}

ovp_status lua_run_script_apart(const char *path, const char *const arguments[], size_t count,
                                const lua_limits *limits, ovp_sink out, ovp_error *error)
{
    char *bytes;
    size_t length;
    ovp_status status = sandbox_read_script(path, &bytes, &length, error);
    if (status != OVP_OK)
        return status;
    sandbox_script wanted = {path, bytes, length, arguments, count, limits, true};
    listener to = {.out = out, .output_left = limits->output_bytes};
    child_call call = {.body = run_in_child,
                       .body_context = &wanted,
                       .seconds = limits->seconds,
                       .memory_bytes = limits->memory_bytes,
                       .received_most = 2 * limits->output_bytes + ((size_t)1 << 20),
                       .take = hear,
                       .take_context = &to};
    child_end end;
    status = child_run(&call, &end, error);
    free(bytes);
    if (status != OVP_OK) {
        ovp_error_place(error, path, 0);
        return status;
    }
    return child_settle(&end, &to.failed, path, error);
}

const char *lua_layer_at(lua_origin origin, size_t index)
{
    static const char *const layers[] = {"language", "process", "calls"};
    size_t count = origin != LUA_ORIGIN_ELSEWHERE ? 1 : child_has_filter() ? 3 : 2;
    return index < count ? layers[index] : NULL;
}
