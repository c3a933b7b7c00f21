/* ovenproof describe: makes, shows and edits the description of an oven, and says what follows from it. */
#include "command/describe.h"
#include "command/ask.h"
#include "lua/lua.h"
#include "store/store.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const command_option options[] = {
    {"set", "FIELD=VALUE", true,
     "change a field and write the file, such as supply.circuit=20A; VALUE ? is not known"},
    {"gaps", NULL, false, "what is not given, and what cannot be said without it"},
    {"fields", NULL, false, "every field that a description may have"},
    {0},
};

void describe_reckon(const ovp_oven *oven, const char *file, describe_facts *facts)
{
    *facts = (describe_facts){.oven = oven, .file = file};
    facts->has_load = ovp_electrical_load_of(oven, NAN, &facts->load, &facts->no_load) == OVP_OK;
    facts->has_circuit =
        facts->has_load && ovp_electrical_circuit_of(oven, &facts->load, &facts->circuit, NULL) == OVP_OK;
    facts->has_outlook =
        ovp_thermal_outlook_of(oven, NULL, NAN, &facts->outlook, &facts->no_outlook) == OVP_OK;
    const ovp_oven_field *field = ovp_oven_fields();
    for (; describe_next_gap(oven, &field); field++)
        facts->gap_count++;
}

/* Words that nothing depends on are no gap; nor are ratings of a part that is known not to be there. */
bool describe_next_gap(const ovp_oven *oven, const ovp_oven_field **field)
{
    for (; (*field)->path != NULL; (*field)++) {
        if (strcmp((*field)->path, "note") == 0 || ovp_oven_given(oven, (*field)->path))
            continue;
        if (strcmp((*field)->path, "wiring") == 0 && oven->element_count == 1)
            continue;
        return true;
    }
    return false;
}

/* ---- reading and writing --------------------------------------------------------------------------------
 */

static void warn(void *context, const char *text)
{
    (void)context;
    fprintf(stderr, "ovenproof: warning: %s\n", text);
}

static ovp_status write_oven(const ovp_oven *oven, const char *path, ovp_error *error)
{
    static store_file file; /* some twenty kilobytes: not on the stack */
    ovp_status status = ovp_oven_check(oven, error);
    if (status == OVP_OK)
        status = store_file_begin(&file, path, error);
    if (status != OVP_OK)
        return status;
    status = ovp_oven_write(oven, store_file_sink(&file));
    if (status == OVP_OK)
        return store_file_commit(&file, error);
    store_file_abandon(&file);
    ovp_error_set(error, status, "cannot be written");
    ovp_error_place(error, path, 0);
    return status;
}

/* "supply.circuit=20A" into the oven. */
static ovp_status set_one(ovp_oven *oven, const char *text, ovp_error *error)
{
    const char *equals = strchr(text, '=');
    char path[128], value[512];
    if (equals == NULL || !ovp_copy_string(path, sizeof path, (ovp_span){text, (size_t)(equals - text)}) ||
        !ovp_copy_string(value, sizeof value, ovp_span_trim(ovp_span_of(equals + 1)))) {
        ovp_error_set(error, OVP_ERROR_USAGE, "\"%.60s\" is not FIELD=VALUE", text);
        ovp_error_hint(error, "write it as --set supply.circuit=20A");
        return OVP_ERROR_USAGE;
    }
    ovp_error warning = {0};
    if (value[0] == '\0' || strcmp(value, "?") == 0)
        return ovp_oven_clear(oven, path, error);
    ovp_status status = ovp_oven_set(oven, path, OVP_OVEN_LEAF_TEXT, value, &warning, error);
    if (status == OVP_OK && warning.what[0] != '\0')
        warn(NULL, warning.what);
    return status;
}

static int set_all(const command_call *call, ovp_oven *oven, const char *path)
{
    ovp_error error = {0};
    ovp_status status = OVP_OK;
    for (size_t i = 0; status == OVP_OK && command_value_at(call, "set", i) != NULL; i++)
        status = set_one(oven, command_value_at(call, "set", i), &error);
    if (status == OVP_OK)
        status = write_oven(oven, path, &error);
    if (status == OVP_OK)
        return 0;
    ovp_error_hint(&error, "`ovenproof describe --fields` lists the fields; the file was left as it was");
    return command_fail(&error);
}

/* ---- a new oven
 * --------------------------------------------------------------------------------------------- */

/* "QR-8 test" -> "QR-8-test.lua". */
static void file_of_name(const char *name, char *path, size_t size)
{
    size_t count = 0;
    for (const char *at = name; *at != '\0' && count + 5 < size; at++) {
        bool plain = (*at >= 'a' && *at <= 'z') || (*at >= 'A' && *at <= 'Z') || (*at >= '0' && *at <= '9') ||
                     *at == '-' || *at == '_';
        if (plain || (count > 0 && path[count - 1] != '-'))
            path[count++] = (char)(plain ? *at : '-');
    }
    memcpy(path + count, ".lua", 5);
}

static int refuse_to_overwrite(const char *path)
{
    ovp_error error = {0};
    ovp_error_set(&error, OVP_ERROR_DATA, "is there already, and was left as it was");
    ovp_error_place(&error, path, 0);
    ovp_error_hint(&error, "`ovenproof describe %s --set FIELD=VALUE` changes it; or name another file",
                   path);
    return command_fail(&error);
}

static int ask_new(command_call *call, const char *file)
{
    ovp_oven oven;
    ovp_oven_init(&oven);
    ask_begin();
    if (!describe_ask(call, &oven))
        return ask_give_up("no description was written");
    ask_end();
    char path[STORE_PATH_SIZE];
    ovp_error error = {0};
    if (file == NULL)
        file_of_name(oven.name, path, sizeof path);
    else
        ovp_copy_string(path, sizeof path, ovp_span_of(file));
    if (access(path, F_OK) == 0)
        return refuse_to_overwrite(path);
    if (write_oven(&oven, path, &error) != OVP_OK)
        return command_fail(&error);
    static describe_facts facts;
    describe_reckon(&oven, path, &facts);
    printf("Written to %s.\n", path);
    describe_print_follows(call, &facts);
    return 0;
}

/* ---- the command
 * --------------------------------------------------------------------------------------------- */

static int show(command_call *call, const ovp_oven *oven, const char *path)
{
    static describe_facts facts;
    describe_reckon(oven, path, &facts);
    if (call->json)
        return describe_print_json(call, &facts);
    if (command_given(call, "gaps"))
        describe_print_gaps(call, &facts);
    else
        describe_print(call, &facts);
    return 0;
}

static int edit(command_call *call, const char *file)
{
    ovp_oven oven;
    ovp_error error = {0};
    ovp_oven_init(&oven);
    if (access(file, F_OK) == 0) {
        if (lua_read_oven(file, &oven, warn, NULL, &error) != OVP_OK)
            return command_fail(&error);
    } else if (lua_read_oven(file, &oven, NULL, NULL, NULL) == OVP_OK) {
        ovp_error_set(&error, OVP_ERROR_USAGE, "\"%s\" is a name on the search path", file);
        ovp_error_hint(&error,
                       "to change it, give the path of its file; to begin another, a name of its own");
        return command_fail(&error);
    }
    int status = set_all(call, &oven, file);
    return status != 0 ? status : show(call, &oven, file);
}

static int run(command_call *call)
{
    if (command_given(call, "fields"))
        return call->json ? describe_print_fields_json(call) : (describe_print_fields(call), 0);
    if (call->operand_count > 1)
        return command_usage(call, "one file at a time");
    const char *file = call->operand_count == 1 ? call->operands[0] : NULL;
    bool asks_about_file = command_given(call, "set") || command_given(call, "gaps") || call->json;
    if (file == NULL && asks_about_file)
        return command_usage(call, "which file");
    if (file == NULL)
        return ask_new(call, NULL);
    if (command_given(call, "set"))
        return edit(call, file);
    ovp_oven oven;
    ovp_error error = {0};
    char path[OVP_ERROR_FILE_SIZE];
    size_t length = strlen(file);
    bool new_file = length > 4 && strcmp(file + length - 4, ".lua") == 0 && access(file, F_OK) != 0;
    if (new_file && !asks_about_file && lua_find("ovens", file, path, sizeof path, NULL) != OVP_OK)
        return ask_new(call, file);
    if (lua_find("ovens", file, path, sizeof path, &error) != OVP_OK ||
        lua_read_oven(file, &oven, warn, NULL, &error) != OVP_OK) {
        ovp_error_hint(&error, "all fields: `ovenproof describe --fields`");
        return command_fail(&error);
    }
    return show(call, &oven, call->json ? path : file);
}

const command_definition command_describe = {
    .name = "describe",
    .synopsis = "[FILE]",
    .summary = "Describe an oven: at most ten questions, and what follows for your meter.",
    .details =
        "Without FILE, or with the name of a new one that ends in .lua: asks what stands on the plate, each\n"
        "with a preset (Enter) and \"don't know\" (?), and writes the description. With FILE or a name such\n"
        "as QR-8: shows the oven, and what follows: cold ohms, amps, margin of the circuit, minutes.",
    .options = options,
    .examples = "ovenproof describe QR-8\n"
                "ovenproof describe QR-3 --gaps\n"
                "ovenproof describe my-oven.lua --set name=MINE --set supply.circuit=20A",
    .run = run,
};
