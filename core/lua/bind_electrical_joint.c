/* The joints, ground and meters of require "ovenproof.electrical". */
#include "lua/lua_internal.h"

#include "ovenproof/electrical.h"

#include <math.h>
#include <string.h>

/* A field of the table at `index`: a number, or a text with its unit; NAN when it is not there. */
static double field(lua_State *L, int index, const char *key, ovp_text_kind kind)
{
    double value = NAN;
    ovp_error error = {0};
    lua_getfield(L, index, key);
    if (lua_type(L, -1) == LUA_TNUMBER)
        value = lua_tonumber(L, -1);
    else if (lua_type(L, -1) == LUA_TSTRING) {
        if (ovp_text_quantity(ovp_span_of(lua_tostring(L, -1)), kind, OVP_TEXT_DEGREES_NONE, &value,
                              &error) != OVP_OK)
            luaL_error(L, "%s: %s", key, error.what);
    } else if (!lua_isnil(L, -1))
        luaL_error(L, "%s is a %s", key, luaL_typename(L, -1));
    lua_pop(L, 1);
    return value;
}

static bool flag(lua_State *L, int index, const char *key)
{
    lua_getfield(L, index, key);
    const bool set = lua_toboolean(L, -1);
    lua_pop(L, 1);
    return set;
}

/* joint { drop = "120mV", current = "15A", rise = "18K", ambient_rise = .., at = "15A" } */
static int joint(lua_State *L)
{
    ovp_error error = {0};
    ovp_electrical_joint given;
    ovp_electrical_joint_result found;
    luaL_checktype(L, 1, LUA_TTABLE);
    ovp_electrical_joint_init(&given);
    given.drop_mV = field(L, 1, "drop", OVP_TEXT_EMF);
    given.current_A = field(L, 1, "current", OVP_TEXT_CURRENT);
    given.rise_like_C = field(L, 1, "rise", OVP_TEXT_TEMPERATURE_DIFFERENCE);
    given.rise_ambient_C = field(L, 1, "ambient_rise", OVP_TEXT_TEMPERATURE_DIFFERENCE);
    if (ovp_electrical_joint_judge(&given, field(L, 1, "at", OVP_TEXT_CURRENT), &found, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_newtable(L);
    bind_string(L, "grade", ovp_electrical_grade_name(found.grade));
    bind_number(L, "milliohm", found.milliohm);
    bind_number(L, "heat_W", found.heat_W);
    bind_number(L, "full_drop_mV", found.full_drop_mV);
    bind_number(L, "full_heat_W", found.full_heat_W);
    bind_number(L, "full_rise_least_C", found.full_rise_like_C[0]);
    bind_number(L, "full_rise_most_C", found.full_rise_like_C[1]);
    return 1;
}

/* half_wave(amps [, "ac"]): what a meter shows; ac+dc when none is named */
static int half_wave(lua_State *L)
{
    ovp_electrical_meter meter;
    const double full = luaL_checknumber(L, 1);
    if (!ovp_electrical_meter_named(ovp_span_of(luaL_optstring(L, 2, "ac+dc")), &meter))
        return luaL_argerror(L, 2, "meters are ac+dc, ac, average, average-ac and dc");
    lua_pushnumber(L, full * ovp_electrical_half_wave_share(meter));
    return 1;
}

static int judged(lua_State *L, const ovp_electrical_judgement *judgement)
{
    lua_newtable(L);
    bind_string(L, "decision", ovp_electrical_decision_name(judgement->decision));
    bind_number(L, "limit", judgement->limit);
    bind_string(L, "why", judgement->why);
    bind_string(L, "next", judgement->next);
    bind_string(L, "source", judgement->row->source);
    return 1;
}

/* bond { ohm = 0.08, cord = 0.02, fixed = .., multimeter = .. } */
static int bond(lua_State *L)
{
    ovp_error error = {0};
    ovp_electrical_judgement judgement;
    luaL_checktype(L, 1, LUA_TTABLE);
    const ovp_electrical_bond given = {field(L, 1, "ohm", OVP_TEXT_RESISTANCE), flag(L, 1, "fixed"),
                                       field(L, 1, "cord", OVP_TEXT_RESISTANCE), flag(L, 1, "multimeter")};
    if (ovp_electrical_bond_judge(&given, &judgement, &error) != OVP_OK)
        return bind_raise(L, &error);
    return judged(L, &judgement);
}

/* insulation { ohm = "5Mohm", watts = 3600, volts = 500, new = .., dried = .. } */
static int insulation(lua_State *L)
{
    ovp_error error = {0};
    ovp_electrical_judgement judgement;
    luaL_checktype(L, 1, LUA_TTABLE);
    const ovp_electrical_insulation given = {.Mohm = field(L, 1, "ohm", OVP_TEXT_RESISTANCE) / 1e6,
                                             .power_W = field(L, 1, "watts", OVP_TEXT_POWER),
                                             .test_V = field(L, 1, "volts", OVP_TEXT_VOLTAGE),
                                             .new_build = flag(L, 1, "new"),
                                             .dried = flag(L, 1, "dried"),
                                             .temperature_C = NAN};
    if (ovp_electrical_insulation_judge(&given, &judgement, NULL, &error) != OVP_OK)
        return bind_raise(L, &error);
    return judged(L, &judgement);
}

/* leakage { amps = "0.8mA", watts = 3600, to_ground = 120, portable = .. } */
static int leakage(lua_State *L)
{
    ovp_error error = {0};
    ovp_electrical_leakage_result found;
    luaL_checktype(L, 1, LUA_TTABLE);
    const ovp_electrical_leakage given = {field(L, 1, "amps", OVP_TEXT_CURRENT) * 1000.0,
                                          field(L, 1, "watts", OVP_TEXT_POWER),
                                          field(L, 1, "to_ground", OVP_TEXT_VOLTAGE), flag(L, 1, "portable")};
    if (ovp_electrical_leakage_judge(&given, &found, &error) != OVP_OK)
        return bind_raise(L, &error);
    judged(L, &found.judgement);
    bind_string(L, "ground_fault_trips", ovp_electrical_trip_name(found.trip));
    bind_number(L, "implied_Mohm", found.implied_Mohm);
    return 1;
}

void bind_electrical_joint(lua_State *L)
{
    static const luaL_Reg functions[] = {
        {"bond", bond},   {"half_wave", half_wave}, {"insulation", insulation},
        {"joint", joint}, {"leakage", leakage},     {NULL, NULL}};
    luaL_setfuncs(L, functions, 0);
}
