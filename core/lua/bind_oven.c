/* require "ovenproof.oven": firing plans for scripts. A plan is a table as in its file. */
#include "lua/lua_internal.h"

#include "ovenproof/oven.h"

#include <math.h>

static ovp_status take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                            ovp_error *error)
{
    return ovp_oven_plan_set(context, path, kind, text, error);
}

/* A field of the second argument, a text with its unit; NAN: not given. */
static double fact(lua_State *L, const char *key, ovp_text_kind kind)
{
    ovp_error error = {0};
    double value = NAN;
    if (lua_isnoneornil(L, 2) || lua_getfield(L, 2, key) == LUA_TNIL)
        return NAN;
    if (ovp_text_quantity(ovp_span_of(luaL_checkstring(L, -1)), kind, OVP_TEXT_DEGREES_NONE, &value,
                          &error) != OVP_OK)
        luaL_error(L, "%s: %s", key, error.what);
    lua_pop(L, 1);
    return value;
}

static void push_legs(lua_State *L, const ovp_oven_plan_review *review)
{
    lua_createtable(L, (int)review->leg_count, 0);
    for (size_t i = 0; i < review->leg_count; i++) {
        const ovp_oven_leg *leg = &review->legs[i];
        lua_newtable(L);
        bind_number(L, "step", (double)leg->step + 1);
        bind_number(L, "from_C", leg->from_C);
        bind_number(L, "to_C", leg->to_C);
        bind_number(L, "rate_C_per_h", leg->per_hour_C);
        bind_number(L, "planned_s", leg->time_s);
        lua_pushboolean(L, leg->heated);
        lua_setfield(L, -2, "heated");
        lua_pushboolean(L, leg->wet);
        lua_setfield(L, -2, "wet");
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, "legs");
}

static void push_notes(lua_State *L, const ovp_oven_plan *plan, const ovp_oven_plan_review *review)
{
    lua_createtable(L, (int)review->note_count, 0);
    for (size_t i = 0; i < review->note_count; i++) {
        const ovp_oven_plan_note *note = &review->notes[i];
        lua_newtable(L);
        if (note->step < plan->step_count)
            bind_number(L, "step", (double)note->step + 1);
        bind_string(L, "note", note->id);
        bind_string(L, "grade", ovp_oven_plan_grade_name(note->grade));
        bind_number(L, "planned", note->planned);
        bind_number(L, "published", note->published);
        bind_string(L, "unit", note->unit);
        bind_string(L, "text", note->text);
        bind_string(L, "source", note->source);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, "notes");
}

/* plan_review { steps = {...} } or, beside it, { thickness = "1in", start = "70F", limit = "2100F" } */
static int plan_review(lua_State *L)
{
    ovp_oven_plan plan;
    ovp_oven_plan_review review;
    ovp_error error = {0};
    if (!lua_isnoneornil(L, 2))
        luaL_checktype(L, 2, LUA_TTABLE);
    ovp_oven_plan_init(&plan);
    bind_take_table(L, 1, "plan", take_leaf, &plan);
    if (ovp_oven_plan_check(&plan, &error) != OVP_OK)
        return luaL_error(L, "%s", error.what);
    const ovp_oven_plan_facts facts = {.thickness_m = fact(L, "thickness", OVP_TEXT_LENGTH),
                                       .start_C = fact(L, "start", OVP_TEXT_TEMPERATURE),
                                       .limit_C = fact(L, "limit", OVP_TEXT_TEMPERATURE),
                                       .shown = OVP_TEXT_DEGREES_NONE};
    ovp_oven_plan_review_of(&plan, &facts, &review);
    lua_newtable(L);
    bind_string(L, "grade", ovp_oven_plan_grade_name(review.grade));
    bind_number(L, "top_C", review.top_C);
    bind_number(L, "heated_s", review.heated_s);
    bind_number(L, "air_s", review.air_s);
    push_legs(L, &review);
    push_notes(L, &plan, &review);
    return 1;
}

int bind_oven(lua_State *L)
{
    static const luaL_Reg functions[] = {{"plan_review", plan_review}, {NULL, NULL}};
    luaL_newlib(L, functions);
    return 1;
}
