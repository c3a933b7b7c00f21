/* require "ovenproof.thermal": a process from readings, and settings for its controller. */
#include "lua/lua_internal.h"

#include "ovenproof/thermal.h"

#include <math.h>

static void set_flag(lua_State *L, const char *key, bool value)
{
    lua_pushboolean(L, value);
    lua_setfield(L, -2, key);
}

static double number_field(lua_State *L, const char *key, double otherwise)
{
    lua_getfield(L, 1, key);
    if (!lua_isnil(L, -1) && !lua_isnumber(L, -1))
        luaL_error(L, "%s is a %s, a number is wanted", key, luaL_typename(L, -1));
    const double value = lua_isnil(L, -1) ? otherwise : lua_tonumber(L, -1);
    lua_pop(L, 1);
    return value;
}

/* The array under a key, left on the stack. */
static lua_Integer array_field(lua_State *L, const char *key)
{
    if (lua_getfield(L, 1, key) != LUA_TTABLE)
        luaL_error(L, "%s is a %s, an array of numbers is wanted", key, luaL_typename(L, -1));
    return (lua_Integer)lua_rawlen(L, -1);
}

static double element(lua_State *L, int array, lua_Integer index)
{
    lua_rawgeti(L, array, index);
    const double value = lua_isnumber(L, -1) ? lua_tonumber(L, -1) : (double)NAN;
    lua_pop(L, 1);
    return value;
}

static void set_interval(lua_State *L, const char *key, const ovp_thermal_estimate *of, double scale)
{
    lua_createtable(L, 2, 0);
    lua_pushnumber(L, scale * of->low);
    lua_rawseti(L, -2, 1);
    lua_pushnumber(L, scale * of->high);
    lua_rawseti(L, -2, 2);
    lua_setfield(L, -2, key);
}

static int push_fit(lua_State *L, const ovp_thermal_fit *fit)
{
    lua_newtable(L);
    bind_number(L, "gain_C_per_percent", fit->gain_C.value / 100);
    bind_number(L, "dead_time_s", fit->dead_time_s.value);
    lua_createtable(L, (int)fit->order, 0);
    for (size_t i = 0; i < fit->order && i < OVP_THERMAL_LAGS; i++) {
        lua_pushnumber(L, fit->time_constant_s[i].value);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, "time_constants_s");
    bind_number(L, "rms_C", fit->rms_C);
    bind_number(L, "slope_C_per_s", fit->slope_C_per_s.value);
    bind_number(L, "wet_s", fit->wet_s);
    set_flag(L, "adequate", fit->adequate);
    set_flag(L, "too_short", fit->too_short);
    lua_newtable(L);
    set_interval(L, "gain_C_per_percent", &fit->gain_C, 0.01);
    set_interval(L, "dead_time_s", &fit->dead_time_s, 1);
    set_interval(L, "time_constant_s", &fit->time_constant_s[0], 1);
    lua_setfield(L, -2, "interval");
    return 1;
}

/* fit { time_s = {..}, temperature_C = {..}, output_percent = {..}, cold = true, order = 1 } */
static int fit(lua_State *L)
{
    ovp_thermal_record record;
    ovp_thermal_fit found;
    ovp_error error = {0};
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_settop(L, 1);
    const double order = number_field(L, "order", 0);
    lua_getfield(L, 1, "cold");
    const bool running = lua_isboolean(L, -1) && !lua_toboolean(L, -1);
    lua_settop(L, 1);
    const lua_Integer count = array_field(L, "time_s");
    if (array_field(L, "temperature_C") != count || array_field(L, "output_percent") != count)
        return luaL_error(L, "time_s, temperature_C and output_percent are not equally long");
    const size_t capacity = OVP_THERMAL_BLOCKS;
    ovp_thermal_block *blocks = lua_newuserdatauv(L, capacity * sizeof *blocks, 0);
    ovp_thermal_record_init(&record, blocks, capacity);
    for (lua_Integer i = 1; i <= count; i++)
        ovp_thermal_record_add(&record, element(L, 2, i), element(L, 3, i), element(L, 4, i) / 100);
    const ovp_thermal_history history = running ? OVP_THERMAL_RUNNING : OVP_THERMAL_COLD;
    const ovp_status status = order > 0
                                  ? ovp_thermal_identify(&record, history, order > 1 ? 2 : 1, &found, &error)
                                  : ovp_thermal_identify_best(&record, history, &found, &error);
    if (status != OVP_OK)
        return luaL_error(L, "%s", error.what);
    return push_fit(L, &found);
}

/* settings { gain_C_per_percent = .., dead_time_s = .., time_constants_s = {..}, cycle_s = .., interval_s =
 * .. } */
static int settings(lua_State *L)
{
    ovp_thermal_advice advice[OVP_THERMAL_RULES];
    ovp_thermal_process process = {0};
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_settop(L, 1);
    process.gain = 100 * number_field(L, "gain_C_per_percent", NAN);
    process.dead_time_s = number_field(L, "dead_time_s", NAN);
    const double cycle_s = number_field(L, "cycle_s", ovp_thermal_usual_period_s());
    const double interval_s = number_field(L, "interval_s", 0);
    const lua_Integer count = array_field(L, "time_constants_s");
    if (count < 1 || count > OVP_THERMAL_LAGS)
        return luaL_error(L, "time_constants_s: one or two are wanted");
    for (lua_Integer i = 0; i < count; i++)
        process.time_constants_s[i] = element(L, 2, i + 1);
    if (!(process.gain > 0) || !(process.dead_time_s >= 0) || !(process.time_constants_s[0] > 0) ||
        !(process.time_constants_s[1] >= 0) || !(cycle_s >= 0) || !(interval_s >= 0) ||
        !(process.dead_time_s + cycle_s + interval_s > 0))
        return luaL_error(L,
                          "a gain and a time constant above zero and a dead time or a cycle time are wanted");
    ovp_thermal_advise(&process, cycle_s, interval_s, advice);
    lua_createtable(L, OVP_THERMAL_RULES, 0);
    for (size_t i = 0; i < OVP_THERMAL_RULES; i++) {
        lua_newtable(L);
        lua_pushstring(L, advice[i].rule);
        lua_setfield(L, -2, "rule");
        bind_number(L, "kp_percent_per_C", 100 * advice[i].settings.gain_per_C);
        bind_number(L, "band_C", 1 / advice[i].settings.gain_per_C);
        bind_number(L, "ti_s", advice[i].settings.integral_s);
        bind_number(L, "td_s", advice[i].settings.derivative_s);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    return 1;
}

/* water_left { time_s = {..}, kg = {..}, resolution_kg = .. }: three weighings on an exponential */
static int water_left(lua_State *L)
{
    ovp_thermal_weighing weighings[3];
    ovp_thermal_water water;
    ovp_error error = {0};
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_settop(L, 1);
    const double resolution_kg = number_field(L, "resolution_kg", 0.001);
    if (array_field(L, "time_s") != 3 || array_field(L, "kg") != 3)
        return luaL_error(L, "time_s and kg: three weighings are wanted");
    for (int i = 0; i < 3; i++)
        weighings[i] = (ovp_thermal_weighing){element(L, 2, i + 1), element(L, 3, i + 1)};
    if (ovp_thermal_water_left(weighings, resolution_kg, &water, &error) != OVP_OK)
        return luaL_error(L, "%s", error.what);
    lua_newtable(L);
    bind_number(L, "dry_kg", water.dry_kg);
    bind_number(L, "left_kg", water.left_kg);
    bind_number(L, "left_uncertainty_kg", water.left_U_kg);
    bind_number(L, "halves_s", water.halves_s);
    return 1;
}

int bind_thermal(lua_State *L)
{
    static const luaL_Reg functions[] = {
        {"fit", fit}, {"settings", settings}, {"water_left", water_left}, {NULL, NULL}};
    luaL_newlib(L, functions);
    return 1;
}
