/* The description of an oven: each leaf in, checks, parts, and out again. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ovenproof/oven.h"

static ovp_error error, warning;

static ovp_status set_text(ovp_oven *oven, const char *path, const char *text)
{
    error = (ovp_error){0};
    return ovp_oven_set(oven, path, OVP_OVEN_LEAF_TEXT, text, &warning, &error);
}

static ovp_status set_yes(ovp_oven *oven, const char *path, bool yes)
{
    error = (ovp_error){0};
    return ovp_oven_set(oven, path, OVP_OVEN_LEAF_BOOLEAN, yes ? "true" : "false", &warning, &error);
}

static void refused(const char *path, ovp_oven_leaf leaf, const char *text, const char *what)
{
    ovp_oven oven;
    ovp_oven_init(&oven);
    error = (ovp_error){0};
    assert_int_equal(ovp_oven_set(&oven, path, leaf, text, NULL, &error), OVP_ERROR_DATA);
    if (strstr(error.what, what) == NULL)
        fail_msg("%s = %s: \"%s\" does not say \"%s\"", path, text, error.what, what);
}

static void a_new_oven_knows_nothing(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_oven_init(&oven);
    for (const ovp_oven_field *field = ovp_oven_fields(); field->path != NULL; field++) {
        assert_false(ovp_oven_given(&oven, field->path));
        assert_non_null(field->text);
        assert_non_null(field->matters);
    }
    for (int part = 0; part < OVP_OVEN_PARTS; part++)
        assert_int_equal(ovp_oven_has(&oven, (ovp_oven_part)part), OVP_OVEN_UNKNOWN);
    assert_int_equal(ovp_oven_check(&oven, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "'name' is missing"));
}

/* Units by their definition: 1 in = 25.4 mm; F = 9/5 C + 32. */
static void units_are_kept_in_si(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_oven_init(&oven);
    assert_int_equal(set_text(&oven, "chamber.width", "8in"), OVP_OK);
    assert_int_equal(set_text(&oven, "chamber.limit", "2100F"), OVP_OK);
    assert_int_equal(set_text(&oven, "supply.volts", "240V"), OVP_OK);
    assert_int_equal(set_text(&oven, "elements[1].watts", "1.8kW"), OVP_OK);
    assert_int_equal(set_text(&oven, "controller.period", "2s"), OVP_OK);
    assert_int_equal(set_text(&oven, "heat_up[1].within", "1h30m"), OVP_OK);
    assert_true(fabs(oven.chamber.width_m - 0.2032) < 1e-12);
    assert_true(fabs(oven.chamber.limit_C - 2068.0 / 1.8) < 1e-9);
    assert_true(oven.supply.volts_V == 240.0 && oven.elements[0].power_W == 1800.0);
    assert_true(oven.controller.period_s == 2.0 && oven.heat_up[0].within_s == 5400.0);
    assert_int_equal(oven.element_count, 1);
}

static void words_and_letters(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_oven_init(&oven);
    assert_int_equal(set_text(&oven, "wiring", "Parallel"), OVP_OK);
    assert_int_equal(set_text(&oven, "sensor.type", "k"), OVP_OK);
    assert_int_equal(set_text(&oven, "sensor.extension", "copper"), OVP_OK);
    assert_int_equal(set_text(&oven, "controller.degrees", "F"), OVP_OK);
    assert_int_equal(set_text(&oven, "controller.on_sensor_break", "off"), OVP_OK);
    assert_int_equal(oven.wiring, OVP_OVEN_WIRING_PARALLEL);
    assert_true(oven.sensor.known && oven.sensor.type == OVP_TC_K);
    assert_true(oven.sensor.extension_known && oven.sensor.extension == OVP_TC_COPPER);
    assert_int_equal(oven.controller.degrees, OVP_TEXT_DEGREES_F);
    assert_string_equal(oven.controller.on_sensor_break, "off");
}

static void what_is_refused(void **state)
{
    (void)state;
    refused("supply.volt", OVP_OVEN_LEAF_TEXT, "240V", "'supply.volt' is not a field");
    assert_non_null(strstr(error.hint, "supply.volts"));
    refused("suply.volts", OVP_OVEN_LEAF_TEXT, "240V", "not a field");
    assert_non_null(strstr(error.hint, "supply.volts"));
    refused("chamber.limit", OVP_OVEN_LEAF_TEXT, "2100", "chamber.limit");
    refused("chamber.limit", OVP_OVEN_LEAF_NUMBER, "2100", "chamber.limit");
    refused("chamber.limit", OVP_OVEN_LEAF_TEXT, "2100V", "chamber.limit");
    refused("chamber.limit", OVP_OVEN_LEAF_TEXT, "9000F", "outside");
    refused("supply.volts", OVP_OVEN_LEAF_TEXT, "0.24kV to 250V", "supply.volts");
    refused("supply.volts", OVP_OVEN_LEAF_BOOLEAN, "true", "quantity");
    refused("wiring", OVP_OVEN_LEAF_TEXT, "delta", "'delta' is none");
    assert_non_null(strstr(error.hint, "single, parallel, series"));
    refused("sensor.type", OVP_OVEN_LEAF_TEXT, "copper", "none of its words");
    refused("sensor.type", OVP_OVEN_LEAF_TEXT, "Q", "none of its words");
    refused("controller.ramps", OVP_OVEN_LEAF_TEXT, "sometimes", "neither true nor false");
    refused("fitted.limiter", OVP_OVEN_LEAF_NUMBER, "1", "neither fitted nor not");
    refused("fitted.parallel_branches", OVP_OVEN_LEAF_BOOLEAN, "true", "cannot be given");
    refused("elements[2].watts", OVP_OVEN_LEAF_TEXT, "1800W", "no entry 1");
    refused("elements[13].watts", OVP_OVEN_LEAF_TEXT, "1800W", "one too many");
    refused("elements[0].watts", OVP_OVEN_LEAF_TEXT, "1800W", "not the name");
    refused("elements[x].watts", OVP_OVEN_LEAF_TEXT, "1800W", "not the name");
    refused("supply", OVP_OVEN_LEAF_TEXT, "240V", "a table");
    refused("supply.volts", OVP_OVEN_LEAF_EMPTY, "", "an empty table");
    refused("lining.wall", OVP_OVEN_LEAF_TEXT, "fibre board", "not a thickness");
    refused("lining.wall", OVP_OVEN_LEAF_TEXT, "2.5 fibre board", "lining.wall");
    refused("lining.wall", OVP_OVEN_LEAF_TEXT, "2in fibre board +", "not a thickness");
    refused("lining.wall", OVP_OVEN_LEAF_TEXT, "3m fibre board", "outside");
    refused("name", OVP_OVEN_LEAF_TEXT,
            "a name that is so long that it no longer fits into the room that a description of an oven has "
            "for it, at "
            "all",
            "longer than 95 bytes");
}

static void linings(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_oven_init(&oven);
    assert_int_equal(set_text(&oven, "lining.wall", "1in insulating firebrick + 0.5 in Dense-board"), OVP_OK);
    assert_int_equal(oven.wall.count, 2);
    assert_int_equal(oven.wall.layers[0].material, OVP_OVEN_INSULATING_FIREBRICK);
    assert_true(fabs(oven.wall.layers[0].thickness_m - 0.0254) < 1e-12);
    assert_int_equal(oven.wall.layers[1].material, OVP_OVEN_DENSE_BOARD);
    assert_int_equal(set_text(&oven, "lining.wall", "50mm ceramic fiber board (dense)"), OVP_OK);
    assert_string_equal(warning.what,
                        "lining.wall: 'ceramic fiber board (dense)' is not a material known here: "
                        "reckoned as fibre board");
    assert_int_equal(oven.wall.layers[0].material, OVP_OVEN_MATERIAL_UNKNOWN);
    assert_int_equal(set_text(&oven, "lining.wall", "50mm fiber board (dense)"), OVP_OK);
    assert_string_equal(warning.what, "");
    assert_int_equal(oven.wall.layers[0].material, OVP_OVEN_FIBRE_BOARD_DENSE);
    assert_int_equal(set_text(&oven, "lining.wall", "1in a + 1in b + 1in c + 1in d + 1in e + 1in f + 1in g"),
                     OVP_ERROR_DATA);
    for (int i = OVP_OVEN_FIBRE_BOARD; i < OVP_OVEN_MATERIALS; i++)
        assert_int_equal(ovp_oven_material_named(ovp_span_of(ovp_oven_material_name((ovp_oven_material)i))),
                         i);
}

static void parts(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_oven_init(&oven);
    assert_int_equal(set_yes(&oven, "fitted.limiter", false), OVP_OK);
    assert_int_equal(set_text(&oven, "fitted.element_protector", "20A"), OVP_OK);
    assert_int_equal(set_text(&oven, "fitted.fan", "thermostat"), OVP_OK);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_LIMITER), OVP_OVEN_NOT_FITTED);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_ELEMENT_PROTECTOR), OVP_OVEN_FITTED);
    assert_string_equal(oven.part_rating[OVP_OVEN_ELEMENT_PROTECTOR], "20A");
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_FAN), OVP_OVEN_FITTED);
    /* a part left out is not known, never not fitted */
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_CONTACTOR), OVP_OVEN_UNKNOWN);
    assert_int_equal(ovp_oven_has_any(&oven, ""), OVP_OVEN_FITTED);
    assert_int_equal(ovp_oven_has_any(&oven, "limiter"), OVP_OVEN_NOT_FITTED);
    assert_int_equal(ovp_oven_has_any(&oven, "limiter|contactor"), OVP_OVEN_UNKNOWN);
    assert_int_equal(ovp_oven_has_any(&oven, "panel_cutout|element_protector|limiter"), OVP_OVEN_FITTED);
    assert_int_equal(ovp_oven_has_any(&oven, "no_such_part"), OVP_OVEN_UNKNOWN);
    /* two paths only with more than one element in parallel */
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_PARALLEL_BRANCHES), OVP_OVEN_UNKNOWN);
    assert_int_equal(set_text(&oven, "elements[1].watts", "1800W"), OVP_OK);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_PARALLEL_BRANCHES), OVP_OVEN_NOT_FITTED);
    assert_int_equal(set_text(&oven, "elements[2].watts", "1800W"), OVP_OK);
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_PARALLEL_BRANCHES), OVP_OVEN_UNKNOWN);
    oven.wiring = OVP_OVEN_WIRING_PARALLEL;
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_PARALLEL_BRANCHES), OVP_OVEN_FITTED);
    oven.wiring = OVP_OVEN_WIRING_SERIES;
    assert_int_equal(ovp_oven_has(&oven, OVP_OVEN_PARALLEL_BRANCHES), OVP_OVEN_NOT_FITTED);
}

static void checked(ovp_oven *oven, const char *what)
{
    error = (ovp_error){0};
    assert_int_equal(ovp_oven_check(oven, &error), what == NULL ? OVP_OK : OVP_ERROR_DATA);
    if (what != NULL && strstr(error.what, what) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", error.what, what);
}

static void what_must_agree(void **state)
{
    (void)state;
    ovp_oven oven, good;
    ovp_oven_init(&good);
    set_text(&good, "name", "one");
    set_text(&good, "sensor.type", "K");
    set_text(&good, "chamber.limit", "2100F");
    set_text(&good, "elements[1].watts", "1800W");
    set_text(&good, "heat_up[1].to", "1000F");
    set_text(&good, "heat_up[1].within", "7min");
    checked(&good, NULL);
    oven = good;
    oven.wiring = OVP_OVEN_WIRING_SERIES;
    checked(&oven, "wiring is 'series' but there is one element");
    oven = good;
    oven.wiring = OVP_OVEN_WIRING_SINGLE;
    oven.element_count = 2;
    checked(&oven, "wiring is 'single' but there are 2");
    oven = good;
    set_text(&oven, "heat_up[2].to", "1500F");
    checked(&oven, "heat_up[2] needs both");
    set_text(&oven, "heat_up[2].within", "6min");
    checked(&oven, "not hotter and later");
    set_text(&oven, "heat_up[2].within", "20min");
    checked(&oven, NULL);
    set_text(&oven, "heat_up[2].to", "2200F");
    checked(&oven, "above chamber.limit");
    oven = good;
    set_text(&oven, "sensor.type", "T");
    checked(&oven, "a type T sensor reads to");
    oven = good;
    set_text(&oven, "controller.display_low", "100F");
    set_text(&oven, "controller.display_high", "50F");
    checked(&oven, "display_low is not below");
}

/* ---- out and in again --------------------------------------------------------------------------- */

typedef struct text {
    char bytes[8192];
    size_t count;
} text;

static ovp_status keep(void *context, const char *bytes, size_t count)
{
    text *kept = context;
    assert_true(kept->count + count < sizeof kept->bytes);
    memcpy(kept->bytes + kept->count, bytes, count);
    kept->count += count;
    kept->bytes[kept->count] = '\0';
    return OVP_OK;
}

static void every_leaf_reads_back(void **state)
{
    (void)state;
    static const char *const leaves[][2] = {
        {"name", "a \"name\" with \\ and \t"},
        {"supply.volts", "237.3V"},
        {"chamber.limit", "2100F"},
        {"chamber.width", "203mm"},
        {"chamber.height", "8.1in"},
        {"controller.period", "0.5s"},
        {"controller.display_low", "-328F"},
        {"heat_up[1].to", "933.47K"},
        {"heat_up[1].within", "19:41"},
        {"lining.wall", "2.5in fibre board + 7mm wet wool"},
        {"supply.line_ohms", "0.25ohm"},
        {"fitted.fan", "thermostat"},
        {"fitted.limiter", "no"},
        {"fitted.contactor", "yes"},
        {"sensor.extension", "N"},
        {"wiring", "series"},
        {"controls.amps", "350mA"},
    };
    ovp_oven oven;
    ovp_oven_init(&oven);
    for (size_t i = 0; i < sizeof leaves / sizeof leaves[0]; i++)
        assert_int_equal(set_text(&oven, leaves[i][0], leaves[i][1]), OVP_OK);
    for (const ovp_oven_field *field = ovp_oven_fields(); field->path != NULL; field++) {
        char value[512];
        if (!ovp_oven_value(&oven, field->path, value, sizeof value))
            continue;
        ovp_oven other = oven;
        assert_int_equal(ovp_oven_clear(&other, field->path, &error), OVP_OK);
        assert_false(ovp_oven_given(&other, field->path));
        assert_int_equal(set_text(&other, field->path, value), OVP_OK);
        assert_memory_equal(&oven, &other, sizeof oven);
    }
    char value[64];
    assert_true(ovp_oven_value(&oven, "chamber.limit", value, sizeof value));
    assert_string_equal(value, "2100F");
    assert_true(ovp_oven_value(&oven, "chamber.width", value, sizeof value));
    assert_string_equal(value, "203mm");
    assert_true(ovp_oven_value(&oven, "heat_up[1].within", value, sizeof value));
    assert_string_equal(value, "1181s");
}

static void a_file_holds_what_is_given(void **state)
{
    (void)state;
    ovp_oven oven;
    ovp_oven_init(&oven);
    set_text(&oven, "name", "say \"hot\"\n");
    set_text(&oven, "supply.volts", "240V");
    set_text(&oven, "elements[1].watts", "1800W");
    assert_int_equal(ovp_oven_set(&oven, "elements[2]", OVP_OVEN_LEAF_EMPTY, "", NULL, &error), OVP_OK);
    set_yes(&oven, "fitted.limiter", false);
    set_text(&oven, "fitted.fan", "thermostat");
    text kept = {{0}, 0};
    assert_int_equal(ovp_oven_write(&oven, (ovp_sink){keep, &kept}), OVP_OK);
    assert_string_equal(kept.bytes,
                        "-- An oven's description: data, not code. A figure left out is not known.\n"
                        "return {\n"
                        "    name = \"say \\\"hot\\\"\\010\",\n"
                        "    supply = { volts = \"240V\" },\n"
                        "    elements = {\n"
                        "        { watts = \"1800W\" },\n"
                        "        {  },\n"
                        "    },\n"
                        "    fitted = { limiter = false, fan = \"thermostat\" },\n"
                        "}\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_new_oven_knows_nothing),
        cmocka_unit_test(units_are_kept_in_si),
        cmocka_unit_test(words_and_letters),
        cmocka_unit_test(what_is_refused),
        cmocka_unit_test(linings),
        cmocka_unit_test(parts),
        cmocka_unit_test(what_must_agree),
        cmocka_unit_test(every_leaf_reads_back),
        cmocka_unit_test(a_file_holds_what_is_given),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
