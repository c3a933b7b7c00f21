/* require "ovenproof.electrical": ovenproof/electrical.h for scripts. An oven is a table as in its file. */
#include "lua/lua_internal.h"

#include "ovenproof/electrical.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- an oven from its table --------------------------------------------------------------------------- */

static ovp_status take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                            ovp_error *error)
{
    ovp_error warning = {0};
    return ovp_oven_set(context, path, kind, text, &warning, error);
}

static void oven_argument(lua_State *L, int index, ovp_oven *oven)
{
    ovp_oven_init(oven);
    bind_take_table(L, index, "oven", take_leaf, oven);
}

/* ---- what goes back -------------------------------------------------------------------------------------
 */

/* A number is in the unit of `kind`; a text carries its own. */
static double quantity_argument(lua_State *L, int index, ovp_text_kind kind, double otherwise)
{
    ovp_error error = {0};
    double value = NAN;
    if (lua_isnoneornil(L, index))
        return otherwise;
    if (lua_type(L, index) != LUA_TSTRING)
        return luaL_checknumber(L, index);
    if (ovp_text_quantity(ovp_span_of(lua_tostring(L, index)), kind, OVP_TEXT_DEGREES_NONE, &value, &error) !=
        OVP_OK)
        luaL_argerror(L, index, lua_pushstring(L, error.what));
    return value;
}

/* ---- the functions --------------------------------------------------------------------------------------
 */

static int load(lua_State *L)
{
    ovp_error error = {0};
    ovp_oven oven;
    ovp_electrical_load found;
    oven_argument(L, 1, &oven);
    const double volts_V = quantity_argument(L, 2, OVP_TEXT_VOLTAGE, NAN);
    if (ovp_electrical_load_of(&oven, volts_V, &found, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_newtable(L);
    bind_number(L, "full_A", found.full_A);
    bind_number(L, "full_W", found.full_W);
    bind_number(L, "cold_A", found.cold_A);
    bind_number(L, "total_A", found.total_A);
    bind_number(L, "hot_ohm", found.hot_ohm);
    bind_number(L, "cold_ohm", found.cold_ohm);
    return 1;
}

static int cord(lua_State *L)
{
    ovp_error error = {0};
    ovp_electrical_cord found;
    if (ovp_electrical_cord_of(luaL_checkstring(L, 1), &found, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_newtable(L);
    bind_number(L, "length_m", found.length_m);
    bind_number(L, "ohm", found.ohm);
    bind_number(L, "warm_ohm", found.warm_ohm);
    bind_number(L, "cord_A", found.wire.cord_A);
    bind_number(L, "breaker_A", found.wire.breaker_A);
    bind_string(L, "source", found.wire.source);
    return 1;
}

/* protection("20A", 27) -> what a sound breaker does; a third argument "fuse" makes a bare rating a fuse. */
static int protection(lua_State *L)
{
    static const char *const kinds[] = {"breaker", "fuse", NULL};
    ovp_error error = {0};
    ovp_electrical_device device;
    ovp_electrical_protection found;
    double rating_A;
    const bool fuse = luaL_checkoption(L, 3, "breaker", kinds) == 1;
    const double load_A = quantity_argument(L, 2, OVP_TEXT_CURRENT, NAN);
    luaL_argcheck(L, load_A >= 0.0, 2, "amps are wanted");
    if (ovp_electrical_rating_of(luaL_checkstring(L, 1), fuse, OVP_ELECTRICAL_RULES_US, &device, &rating_A,
                                 &error) != OVP_OK ||
        ovp_electrical_protection_of(device, rating_A, load_A, &found, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_newtable(L);
    bind_string(L, "device", ovp_electrical_device_name(device));
    bind_number(L, "multiple", found.multiple);
    bind_number(L, "holds_s", found.holds_s);
    bind_number(L, "opens_within_s", found.within_s);
    return 1;
}

/* A text of the table at 2; it stays on the stack so that the pointer lives. */
static const char *text_field(lua_State *L, const char *name)
{
    return lua_getfield(L, 2, name) == LUA_TNIL ? NULL : luaL_checkstring(L, -1);
}

static void question_argument(lua_State *L, ovp_electrical_question *question)
{
    ovp_electrical_question_init(question);
    if (lua_isnoneornil(L, 2))
        return;
    luaL_checktype(L, 2, LUA_TTABLE);
    question->circuit = text_field(L, "circuit");
    question->cord = text_field(L, "cord");
    question->extension = text_field(L, "extension");
    question->conductor = text_field(L, "conductor");
    question->plug = text_field(L, "plug");
    const char *rules = text_field(L, "rules");
    luaL_argcheck(L, rules == NULL || strcmp(rules, "us") == 0 || strcmp(rules, "iec") == 0, 2,
                  "rules are 'us' or 'iec'");
    if (rules != NULL && strcmp(rules, "iec") == 0)
        question->rules = OVP_ELECTRICAL_RULES_IEC;
    if (lua_getfield(L, 2, "shared") != LUA_TNIL)
        question->shared = lua_toboolean(L, -1) ? OVP_OVEN_FITTED : OVP_OVEN_NOT_FITTED;
    lua_getfield(L, 2, "full_heat");
    question->full_heat_s = quantity_argument(L, lua_gettop(L), OVP_TEXT_DURATION, NAN);
    lua_getfield(L, 2, "duty");
    question->duty = quantity_argument(L, lua_gettop(L), OVP_TEXT_RATIO, NAN);
    lua_getfield(L, 2, "line_ohm");
    question->line_ohm = quantity_argument(L, lua_gettop(L), OVP_TEXT_RESISTANCE, NAN);
}

static const char *const state_words[] = {"not-known", "good", "trouble"};

static void push_checks(lua_State *L, const ovp_electrical_review *review)
{
    lua_newtable(L);
    for (int i = 0; i < OVP_ELECTRICAL_CHECKS; i++)
        bind_string(L, ovp_electrical_check_name((ovp_electrical_check)i), state_words[review->checks[i]]);
}

/* What one failure does: texts of those that leave it heating. */
static void push_warnings(lua_State *L, const ovp_electrical_review *review)
{
    lua_Integer count = 0;
    lua_newtable(L);
    for (size_t i = 0; i < review->failure_count; i++) {
        if (review->failures[i].level != OVP_ELECTRICAL_FAILURE_HEATS)
            continue;
        lua_pushstring(L, review->failures[i].text);
        lua_rawseti(L, -2, ++count);
    }
}

static int circuit(lua_State *L)
{
    static const char *const rule_words[] = {"none", "rating", "shared", "long-load"};
    ovp_error error = {0};
    ovp_oven oven;
    ovp_electrical_question question;
    ovp_electrical_review review;
    lua_settop(L, 2);
    oven_argument(L, 1, &oven);
    question_argument(L, &question);
    if (ovp_electrical_review_of(&oven, &question, &review, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_newtable(L);
    bind_string(L, "verdict", state_words[review.verdict]);
    bind_string(L, "rule", rule_words[review.rule]);
    bind_number(L, "load_A", review.has_load ? review.load.total_A : NAN);
    bind_number(L, "share", review.share);
    bind_number(L, "continuous_A", review.continuous_A);
    bind_number(L, "rms_A", review.rms_A);
    bind_number(L, "lost_V", review.lost_V);
    bind_number(L, "power_left", review.power_left);
    push_checks(L, &review);
    lua_setfield(L, -2, "checks");
    push_warnings(L, &review);
    lua_setfield(L, -2, "warnings");
    return 1;
}

/* line_ohms(oven, "121.3V", "117.2V" [, "12A"]): the texts show the last digit of the meter. */
static int line_ohms(lua_State *L)
{
    ovp_error error = {0};
    ovp_oven oven;
    ovp_electrical_load full;
    ovp_electrical_readings readings = {0};
    ovp_electrical_line line;
    double digit_V;
    oven_argument(L, 1, &oven);
    if (ovp_electrical_shown_volts(luaL_checkstring(L, 2), &readings.off_V, &readings.resolution_V, &error) !=
            OVP_OK ||
        ovp_electrical_shown_volts(luaL_checkstring(L, 3), &readings.on_V, &digit_V, &error) != OVP_OK ||
        ovp_electrical_readings_load(&readings, luaL_optstring(L, 4, NULL), &oven, &error) != OVP_OK)
        return bind_raise(L, &error);
    readings.resolution_V = fmax(readings.resolution_V, digit_V);
    const bool known = ovp_electrical_load_of(&oven, NAN, &full, NULL) == OVP_OK;
    if (ovp_electrical_line_of(&readings, known ? full.hot_ohm : NAN, &line, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_newtable(L);
    bind_number(L, "ohm", line.ohm);
    bind_number(L, "ohm_uncertainty_ohm", line.ohm_U);
    bind_number(L, "load_A", line.load_A);
    bind_number(L, "sag_V", line.sag_V);
    bind_number(L, "sag_share", line.sag_share);
    bind_number(L, "power_left", line.power_left);
    bind_string(L, "state", state_words[line.state]);
    return 1;
}

int bind_electrical(lua_State *L)
{
    static const luaL_Reg functions[] = {{"circuit", circuit},       {"cord", cord},
                                         {"line_ohms", line_ohms},   {"load", load},
                                         {"protection", protection}, {NULL, NULL}};
    luaL_newlib(L, functions);
    bind_electrical_joint(L);
    return 1;
}
