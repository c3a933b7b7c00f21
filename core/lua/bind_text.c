/* require "ovenproof.text": ovenproof/text.h for scripts: quantities with units, temperatures in words. */
#include "lua/lua_internal.h"

static const char *const kind_words[] = {
    "temperature", "difference", "emf",  "voltage", "current", "resistance", "power",
    "duration",    "length",     "mass", "ratio",   "count",   NULL,
};

static ovp_text_degrees degrees_argument(lua_State *L, int index)
{
    ovp_text_degrees degrees = OVP_TEXT_DEGREES_NONE;
    size_t length;
    const char *word = luaL_optlstring(L, index, NULL, &length);
    if (word != NULL && !ovp_text_degrees_named((ovp_span){word, length}, &degrees))
        luaL_argerror(L, index, "degrees are F, C or K");
    return degrees;
}

/* quantity("932F", "temperature") -> 500.0; nil and a message when it is none. */
static int quantity(lua_State *L)
{
    size_t length;
    const char *text = luaL_checklstring(L, 1, &length);
    ovp_text_kind kind = (ovp_text_kind)luaL_checkoption(L, 2, NULL, kind_words);
    ovp_error error = {0};
    double value;
    if (ovp_text_quantity((ovp_span){text, length}, kind, degrees_argument(L, 3), &value, &error) == OVP_OK) {
        lua_pushnumber(L, value);
        return 1;
    }
    lua_pushnil(L);
    lua_pushstring(L, error.what);
    return 2;
}

static int temperature(lua_State *L)
{
    char text[96];
    lua_Integer decimals = luaL_optinteger(L, 3, 1);
    double value_C = luaL_checknumber(L, 1);
    luaL_argcheck(L, decimals >= 0 && decimals <= 6, 3, "decimals are 0 to 6");
    ovp_text_format_temperature(value_C, degrees_argument(L, 2), (int)decimals, text, sizeof text);
    lua_pushstring(L, text);
    return 1;
}

static int duration(lua_State *L)
{
    char text[96];
    ovp_text_format_duration(luaL_checknumber(L, 1), text, sizeof text);
    lua_pushstring(L, text);
    return 1;
}

static int number(lua_State *L)
{
    char text[OVP_TEXT_NUMBER_SIZE];
    ovp_text_format_number(luaL_checknumber(L, 1), text);
    lua_pushstring(L, text);
    return 1;
}

int bind_text(lua_State *L)
{
    static const luaL_Reg functions[] = {{"duration", duration},
                                         {"number", number},
                                         {"quantity", quantity},
                                         {"temperature", temperature},
                                         {NULL, NULL}};
    luaL_newlib(L, functions);
    return 1;
}
