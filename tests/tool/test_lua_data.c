/* The data reader: what it reads, where it says a thing stands, and all that it does not let in. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lua/lua.h"

static ovp_error error;
static char seen[65536];

static ovp_status note(void *context, const char *path, ovp_oven_leaf kind, const char *text, ovp_error *why)
{
    (void)context;
    if (strcmp(text, "refuse me") == 0)
        return ovp_error_set(why, OVP_ERROR_DATA, "refused");
    size_t used = strlen(seen);
    snprintf(seen + used, sizeof seen - used, "%s:%d=%s;", path, (int)kind, text);
    return OVP_OK;
}

static ovp_status read_bytes(const char *bytes, size_t count)
{
    seen[0] = '\0';
    error = (ovp_error){0};
    ovp_status status = lua_read_data_bytes(bytes, count, "a.lua", note, NULL, &error);
    if (status != OVP_OK)
        print_message("%s:%d: %s\n", error.file, (int)error.line, error.what);
    return status;
}

static ovp_status read_text(const char *text)
{
    return read_bytes(text, strlen(text));
}

static void refused(const char *text, uint64_t line, const char *what)
{
    assert_int_equal(read_text(text), OVP_ERROR_DATA);
    if (strstr(error.what, what) == NULL || error.line != line)
        fail_msg("%.60s: line %d, \"%s\"; wanted line %d, \"%s\"", text, (int)error.line, error.what,
                 (int)line, what);
    assert_string_equal(error.file, "a.lua");
    assert_string_equal(seen, "");
}

static void leaves_in_a_stable_order(void **state)
{
    (void)state;
    assert_int_equal(
        read_text("\xEF\xBB\xBF-- words\nreturn { b = 'x', a = { 3, -2.5, true; {} }, [\"c-d\"] = [[y]], "
                  "--[==[ a\n ]] ]==] e = nil, ['f'] = 0x10, };"),
        OVP_OK);
    assert_string_equal(seen, "a[1]:1=3;a[2]:1=-2.5;a[3]:2=true;a[4]:3=;b:0=x;c-d:0=y;f:1=16;");
    assert_int_equal(read_text("return {}"), OVP_OK);
    assert_string_equal(seen, ":3=;");
    assert_int_equal(read_text("return { [3] = 'c', [1] = 'a', name = 1e300 }"), OVP_OK);
    assert_string_equal(seen, "[1]:0=a;[3]:0=c;name:1=1e+300;");
}

static void a_refused_leaf_is_named_by_its_line(void **state)
{
    (void)state;
    assert_int_equal(read_text("return {\n a = { 'x',\n 'refuse me' } }"), OVP_ERROR_DATA);
    assert_int_equal(error.line, 3);
    assert_string_equal(error.file, "a.lua");
    assert_int_equal(read_text("return {\n a = 'x',\n b = { c = {\n d = 'refuse me' } } }"), OVP_ERROR_DATA);
    assert_int_equal(error.line, 4);
    assert_int_equal(read_text("return {\n a = [[\n\n]],\n ['b'] = 'refuse me' }"), OVP_ERROR_DATA);
    assert_int_equal(error.line, 5);
}

static void what_is_not_data(void **state)
{
    (void)state;
    refused("", 1, "empty");
    refused("  -- only words\n", 1, "empty");
    refused("return", 1, "too early");
    refused("return 5", 1, "'{' is wanted");
    refused("return {\n a = 5", 2, "too early");
    refused("return { 'x\n' }", 1, "does not end");
    refused("return { [[x }", 1, "does not end");
    refused("--[[ x", 1, "does not end");
    refused("return { a b }", 1, "'a'");
    refused("return { 1 2 }", 1, "'2'");
    refused("return { a = }", 1, "a value is wanted");
    refused("return {} return {}", 1, "'return'");
    refused("return {}; 5", 1, "nothing may follow");
    refused("return {}\nprint('x')", 2, "'print'");
    refused("local x = 5\nreturn { a = x }", 1, "'local'");
    refused("return {\n a = x }", 2, "'x'");
    refused("return {\n\n f() }", 3, "'f'");
    refused("return {\n a = function() while true do end end }", 2, "'function'");
    refused("while true do end", 1, "'while'");
    refused("return { a = ('x'):rep(1000000000) }", 1, "'('");
    refused("return { a = 'x' .. 'y' }", 1, "'.'");
    refused("return { a = 2 ^ 9 }", 1, "'^'");
    refused("return { a = #'xx' }", 1, "'#'");
    refused("return { a = -'1' }", 1, "must follow '-'");
    refused("return { a = ... }", 1, "'.'");
    refused("return setmetatable({}, { __index = os })", 1, "'setmetatable'");
    refused("goto x", 1, "'goto'");
    refused("return { ['a b'] = 1 }", 1, "a key");
    refused("return { [1.5] = 1 }", 1, "a key");
    refused("return { [0] = 1 }", 1, "a key");
    refused("return { a = 'x\\0y' }", 1, "zero byte");
    refused("return { a = 12ab }", 1, "malformed number");
    refused("return { a = '\\q' }", 1, "invalid escape");
    refused("return { a = 'b\\\nc' }", 1, "several lines");
    refused("return { {{{{{{{{{{{{{{{{{ }}}}}}}}}}}}}}}}} }", 1, "16 deep");
    refused("\x1BLuaS", 1, "is wanted");
    refused("return { \xC3\xA4 = 1 }", 1, "not '\xC3\xA4'");
}

/* Bytes of a compiled chunk never reach Lua; nor do zero bytes. */
static void bytes_that_are_no_text(void **state)
{
    (void)state;
    static const char bytecode[] = "\x1BLua\x54\x00\x19\x93\r\n\x1A\n\x04\x08\x08";
    assert_int_equal(read_bytes(bytecode, sizeof bytecode), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "not a text file"));
    assert_int_equal(read_bytes("return { a = 1 }\0", 17), OVP_ERROR_DATA);
    assert_int_equal(read_bytes("return {\0 a = 1 }", 17), OVP_ERROR_DATA);
}

static char *repeat(const char *head, const char *body, size_t times, const char *tail)
{
    size_t size = strlen(head) + times * strlen(body) + strlen(tail) + 1;
    char *made = malloc(size);
    assert_non_null(made);
    char *at = made + sprintf(made, "%s", head);
    for (size_t i = 0; i < times; i++)
        at += sprintf(at, "%s", body);
    sprintf(at, "%s", tail);
    return made;
}

static ovp_status count_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                             ovp_error *why)
{
    (void)path, (void)kind, (void)text, (void)why;
    ++*(size_t *)context;
    return OVP_OK;
}

static void bounds(void **state)
{
    (void)state;
    size_t leaves = 0;
    char *made = repeat("return {", "1,", 20000, "}");
    assert_int_equal(lua_read_data_bytes(made, strlen(made), "a", count_leaf, &leaves, &error), OVP_OK);
    assert_int_equal(leaves, 20000);
    free(made);
    made = repeat("return {", "1,", 20001, "}");
    assert_int_equal(lua_read_data_bytes(made, strlen(made), "a", count_leaf, &leaves, &error),
                     OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "20,000"));
    free(made);
    made = repeat("return {", "'0123456789abcde',", 60000, "}");
    assert_int_equal(lua_read_data_bytes(made, strlen(made), "a", count_leaf, &leaves, &error),
                     OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "1024 KiB"));
    free(made);
    made = repeat("return ", "{", 100000, "");
    assert_int_equal(lua_read_data_bytes(made, strlen(made), "a", count_leaf, &leaves, &error),
                     OVP_ERROR_DATA);
    free(made);
}

/* ---- ovens -------------------------------------------------------------------------------------- */

static char warned[400];

static void keep_warning(void *context, const char *text)
{
    (void)context;
    snprintf(warned, sizeof warned, "%s", text);
}

/* The invented ovens, as docs/design.md section 4 describes them. */
static void the_demo_ovens(void **state)
{
    (void)state;
    ovp_oven oven;
    assert_int_equal(lua_read_oven("QR-8", &oven, keep_warning, NULL, &error), OVP_OK);
    assert_string_equal(oven.name, "QR-8");
    assert_non_null(strstr(oven.note, "invented"));
    assert_true(oven.supply.volts_V == 240 && oven.supply.circuit_A == 20);
    assert_int_equal(oven.element_count, 2);
    assert_true(oven.elements[0].power_W == 1800 && oven.elements[1].power_W == 1800);
    assert_int_equal(oven.wiring, OVP_OVEN_WIRING_PARALLEL);
    assert_true(oven.sensor.known && oven.sensor.type == OVP_TC_K);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_DOOR_SWITCH), OVP_OVEN_FITTED);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_CONTACTOR), OVP_OVEN_FITTED);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_FAN), OVP_OVEN_FITTED);
    assert_true(fabs(oven.chamber.depth_m - 0.3048) < 1e-12);
    assert_int_equal(oven.wall.layers[0].material, OVP_OVEN_FIBRE_BOARD);
    assert_int_equal(oven.floor.layers[0].material, OVP_OVEN_INSULATING_FIREBRICK);
    assert_true(oven.heat_up_count >= 3);
    assert_int_equal(lua_read_oven("QR-3", &oven, keep_warning, NULL, &error), OVP_OK);
    assert_true(oven.supply.volts_V == 120 && oven.supply.circuit_A == 15 && oven.element_count == 1);
    assert_true(oven.elements[0].power_W == 1300);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_DOOR_SWITCH), OVP_OVEN_NOT_FITTED);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_LIMITER), OVP_OVEN_NOT_FITTED);
    assert_int_equal(oven.controller.ramps, OVP_OVEN_NOT_FITTED);
    assert_string_equal(warned, "");
}

static void write_file(const char *path, const char *text)
{
    FILE *stream = fopen(path, "w");
    assert_non_null(stream);
    assert_true(fputs(text, stream) >= 0);
    assert_int_equal(fclose(stream), 0);
}

static void ovens_that_are_wrong(void **state)
{
    (void)state;
    char path[] = "/tmp/ovenproof-test-oven-XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    ovp_oven oven;
    static const struct {
        const char *text;
        uint64_t line;
        const char *what;
    } rows[] = {
        {"return {\n name = 'x',\n supply = { volts = '240' } }", 3, "supply.volts"},
        {"return {\n name = 'x',\n suply = { volts = '240V' } }", 3, "suply.volts"},
        {"return {\n name = 'x',\n chamber = {\n limit = 2100 } }", 4, "chamber.limit"},
        {"return {\n elements = { { watts = '1kW' } } }", 0, "'name' is missing"},
        {"return {\n name = 'x', elements = 5 }", 2, "elements"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        write_file(path, rows[i].text);
        error = (ovp_error){0};
        assert_int_equal(lua_read_oven(path, &oven, NULL, NULL, &error), OVP_ERROR_DATA);
        assert_int_equal(error.line, rows[i].line);
        assert_string_equal(error.file, path);
        if (strstr(error.what, rows[i].what) == NULL)
            fail_msg("\"%s\" does not say \"%s\"", error.what, rows[i].what);
    }
    warned[0] = '\0';
    write_file(path, "return { name = 'x', lining = { wall = '2in straw' } }");
    assert_int_equal(lua_read_oven(path, &oven, keep_warning, NULL, &error), OVP_OK);
    assert_non_null(strstr(warned, "'straw'"));
    remove(path);
    assert_int_equal(lua_read_oven(path, &oven, NULL, NULL, &error), OVP_ERROR_DATA);
    assert_int_equal(lua_read_oven("no-such-oven", &oven, NULL, NULL, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.hint, "QR-3, QR-8"));
    assert_int_equal(lua_read_data("/tmp", note, NULL, &error), OVP_ERROR_SYSTEM);
}

typedef struct kept_text {
    char bytes[16384];
    size_t count;
} kept_text;

static ovp_status keep_bytes(void *context, const char *bytes, size_t count)
{
    kept_text *kept = context;
    assert_true(kept->count + count < sizeof kept->bytes);
    memcpy(kept->bytes + kept->count, bytes, count);
    kept->count += count;
    return OVP_OK;
}

static ovp_status set_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                           ovp_error *why)
{
    return ovp_oven_set(context, path, kind, text, NULL, why);
}

/* What ovp_oven_write writes is a data file that reads back to the same oven, byte for byte. */
static void written_ovens_read_back(void **state)
{
    (void)state;
    static const char *const names[] = {"QR-8", "QR-3"};
    for (size_t i = 0; i < 2; i++) {
        ovp_oven oven, again;
        assert_int_equal(lua_read_oven(names[i], &oven, NULL, NULL, &error), OVP_OK);
        ovp_oven_set(&oven, "supply.cord", OVP_OVEN_LEAF_TEXT, "\"6ft\" \\12AWG\\ \xC2\xB5\r\n\x01 9", NULL,
                     NULL);
        ovp_oven_set(&oven, "lining.floor", OVP_OVEN_LEAF_TEXT, "1in odd \"stuff\" + 3mm dense board", NULL,
                     NULL);
        kept_text kept = {.count = 0};
        assert_int_equal(ovp_oven_write(&oven, (ovp_sink){keep_bytes, &kept}), OVP_OK);
        ovp_oven_init(&again);
        assert_int_equal(lua_read_data_bytes(kept.bytes, kept.count, "written", set_leaf, &again, &error),
                         OVP_OK);
        assert_memory_equal(&oven, &again, sizeof oven);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(leaves_in_a_stable_order),
        cmocka_unit_test(a_refused_leaf_is_named_by_its_line),
        cmocka_unit_test(what_is_not_data),
        cmocka_unit_test(bytes_that_are_no_text),
        cmocka_unit_test(bounds),
        cmocka_unit_test(the_demo_ovens),
        cmocka_unit_test(ovens_that_are_wrong),
        cmocka_unit_test(written_ovens_read_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
