/* require "ovenproof.thermocouple": ovenproof/thermocouple.h for scripts. Temperatures in degC, emf in mV. */
#include "lua/lua_internal.h"

#include <math.h>
#include <string.h>

/* A number is in degC; a text carries its unit ("932F"). */
static double temperature_argument(lua_State *L, int index, double otherwise)
{
    if (lua_isnoneornil(L, index))
        return otherwise;
    if (lua_type(L, index) != LUA_TSTRING)
        return luaL_checknumber(L, index);
    ovp_error error = {0};
    double value = NAN;
    if (ovp_text_quantity(ovp_span_of(lua_tostring(L, index)), OVP_TEXT_TEMPERATURE, OVP_TEXT_DEGREES_NONE,
                          &value, &error) != OVP_OK)
        luaL_argerror(L, index, lua_pushstring(L, error.what));
    return value;
}

static ovp_tc_type type_argument(lua_State *L, int index, bool copper)
{
    ovp_tc_type type = OVP_TC_K;
    size_t length;
    const char *word = luaL_checklstring(L, index, &length);
    if (!ovp_tc_type_named((ovp_span){word, length}, copper, &type))
        luaL_argerror(L, index, "no thermocouple type (B C E J K N R S T)");
    return type;
}

static int emf(lua_State *L)
{
    ovp_error error = {0};
    ovp_tc_type type = type_argument(L, 1, false);
    double hot_C = temperature_argument(L, 2, NAN), cold_C = temperature_argument(L, 3, 0.0);
    double hot_mV, cold_mV;
    if (ovp_tc_emf(type, hot_C, &hot_mV, &error) != OVP_OK ||
        ovp_tc_emf(type, cold_C, &cold_mV, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_pushnumber(L, hot_mV - cold_mV);
    return 1;
}

static int temperature(lua_State *L)
{
    ovp_error error = {0};
    ovp_tc_type type = type_argument(L, 1, false);
    double emf_mV = luaL_checknumber(L, 2), cold_C = temperature_argument(L, 3, 0.0), value_C;
    if (ovp_tc_temperature_at(type, emf_mV, cold_C, &value_C, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_pushnumber(L, value_C);
    return 1;
}

static int range(lua_State *L)
{
    double low_C, high_C, low_mV, high_mV;
    ovp_tc_range(type_argument(L, 1, false), &low_C, &high_C, &low_mV, &high_mV);
    lua_pushnumber(L, low_C);
    lua_pushnumber(L, high_C);
    return 2;
}

/* ---- misread ----------------------------------------------------------------------------------------------
 */

/* The field of the table at 1, on the stack; a wrong name is found by take_fields. */
static double temperature_field(lua_State *L, const char *name, double otherwise)
{
    lua_getfield(L, 1, name);
    double value = temperature_argument(L, lua_gettop(L), otherwise);
    lua_pop(L, 1);
    return value;
}

static bool flag_field(lua_State *L, const char *name, bool otherwise)
{
    bool value = lua_getfield(L, 1, name) == LUA_TNIL ? otherwise : lua_toboolean(L, -1) != 0;
    lua_pop(L, 1);
    return value;
}

static ovp_tc_type type_field(lua_State *L, const char *name, bool copper, ovp_tc_type otherwise)
{
    ovp_tc_type type =
        lua_getfield(L, 1, name) == LUA_TNIL ? otherwise : type_argument(L, lua_gettop(L), copper);
    lua_pop(L, 1);
    return type;
}

static const char *const loop_fields[] = {
    "sensor",
    "at",
    "head",
    "cold",
    "extension",
    "input",
    "reversed",
    "extension_reversed",
    "open",
    "no_compensation",
    "compensation_error",
    "shorted_at",
    "leak_ratio",
    "leak_at",
    "display_low",
    "display_high",
    NULL,
};

static void check_fields(lua_State *L)
{
    for (lua_pushnil(L); lua_next(L, 1) != 0; lua_pop(L, 1)) {
        const char *const *name = loop_fields;
        while (*name != NULL && (lua_type(L, -2) != LUA_TSTRING || strcmp(*name, lua_tostring(L, -2)) != 0))
            name++;
        if (*name == NULL)
            luaL_error(L, "misread: there is no field '%s'",
                       lua_type(L, -2) == LUA_TSTRING ? lua_tostring(L, -2) : "?");
    }
}

static void take_loop(lua_State *L, ovp_tc_loop *loop)
{
    ovp_tc_type sensor = type_field(L, "sensor", false, OVP_TC_TYPES);
    luaL_argcheck(L, sensor != OVP_TC_TYPES, 1, "needs a field 'sensor'");
    double panel_C = temperature_field(L, "cold", 25.0), tip_C = temperature_field(L, "at", NAN);
    luaL_argcheck(L, !isnan(tip_C), 1, "needs a field 'at'");
    ovp_tc_loop_init(loop, sensor, tip_C, panel_C);
    loop->head_C = temperature_field(L, "head", panel_C);
    loop->extension = type_field(L, "extension", true, sensor);
    loop->input = type_field(L, "input", false, sensor);
    loop->reversed = flag_field(L, "reversed", false);
    loop->extension_reversed = flag_field(L, "extension_reversed", false);
    loop->open = flag_field(L, "open", false);
    loop->compensation = !flag_field(L, "no_compensation", false);
    lua_getfield(L, 1, "compensation_error");
    loop->compensation_error_C = luaL_optnumber(L, -1, 0.0);
    lua_getfield(L, 1, "leak_ratio");
    loop->leak_ratio = luaL_optnumber(L, -1, NAN);
    loop->shorted_at_C = temperature_field(L, "shorted_at", NAN);
    loop->leak_at_C = temperature_field(L, "leak_at", NAN);
    loop->display_low_C = temperature_field(L, "display_low", NAN);
    loop->display_high_C = temperature_field(L, "display_high", NAN);
}

static int misread(lua_State *L)
{
    ovp_error error = {0};
    ovp_tc_loop loop;
    ovp_tc_reading reading;
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_settop(L, 1);
    check_fields(L);
    take_loop(L, &loop);
    if (ovp_tc_loop_read(&loop, &reading, &error) != OVP_OK)
        return bind_raise(L, &error);
    lua_newtable(L);
    bind_number(L, "reads_C", reading.reads_C);
    bind_number(L, "error_C", reading.error_C);
    bind_number(L, "emf_mV", reading.emf_mV);
    lua_pushstring(L, ovp_tc_display_name(reading.display));
    lua_setfield(L, -2, "display");
    return 1;
}

int bind_thermocouple(lua_State *L)
{
    static const luaL_Reg functions[] = {
        {"emf", emf}, {"misread", misread}, {"range", range}, {"temperature", temperature}, {NULL, NULL}};
    luaL_newlib(L, functions);
    return 1;
}
