/*
 * What a guide can call, and the rules that hold whatever it asks for: no live question to an owner, none
 * about a part that is not fitted, cold tests before heat while the sensor is in doubt, "good" refused
 * while a safety test that can be done is undone.
 */
#include "lua/lua_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char registry_words[] = "ovenproof guide words";

guide_host *guide_host_of(lua_State *L)
{
    return lua_touserdata(L, lua_upvalueindex(1));
}

static const ovp_diagnosis_measurement *check_measurement(lua_State *L, int argument)
{
    const char *id = luaL_checkstring(L, argument);
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    if (measurement == NULL)
        luaL_error(L, "there is no measurement \"%s\" (`ovenproof guide --list` has them all)", id);
    return measurement;
}

size_t guide_questions_asked(const guide_host *host)
{
    size_t count = 0;
    for (size_t i = 0; i < host->call->answer_count; i++)
        count += guide_given(host, host->call->answers[i].id) == &host->call->answers[i];
    return count;
}

/* ---- the rules ---------------------------------------------------------------------------------------- */

/* Whatever a guide asks for, what must come before it is asked first. */
static const ovp_diagnosis_measurement *order_kept(const guide_host *host,
                                                   const ovp_diagnosis_measurement *wanted)
{
    const ovp_diagnosis_measurement *before = ovp_diagnosis_before(host->call->state, wanted);
    return before == NULL ? wanted : before;
}

/* True when "nothing is wrong" is what it looks like, proved or not. */
static bool looks_good(const ovp_diagnosis_result *result)
{
    if (result->verdict == OVP_DIAGNOSIS_HEALTHY || result->cause_count == 0)
        return true;
    const ovp_diagnosis_cause *first = &result->causes[0];
    return result->healthy > first->probability || strcmp(first->fault->family, "none") == 0;
}

/* The first undone safety test that this person can do, when all else looks good; NULL else. */
static const ovp_diagnosis_measurement *safety_left(const guide_host *host)
{
    ovp_diagnosis_result result;
    ovp_diagnosis_infer(host->call->state, &result);
    if (!looks_good(&result))
        return NULL;
    for (size_t i = 0; i < ovp_diagnosis_safety_count(); i++) {
        ovp_diagnosis_safety test;
        ovp_diagnosis_safety_at(host->call->state, i, &test);
        if (test.state == OVP_DIAGNOSIS_SAFETY_UNDONE && test.ask != NULL)
            return order_kept(host, test.ask);
    }
    return NULL;
}

/*
 * To try the likeliest repair may cost less than to ask on; a person wants to know before a screw is turned.
 * So early on, while no cause holds half, what tells most about the first three is asked.
 */
static const ovp_diagnosis_measurement *worth_knowing(const guide_host *host)
{
    enum {
        EARLY = 8
    };
    static const double held = 0.5;
    ovp_diagnosis_result result;
    ovp_diagnosis_infer(host->call->state, &result);
    if (guide_questions_asked(host) >= EARLY || looks_good(&result) || result.causes[0].probability >= held)
        return NULL;
    for (size_t i = 0; i < result.cause_count && i < 3; i++) {
        const ovp_diagnosis_measurement *next = ovp_diagnosis_measurement_named(result.causes[i].next);
        if (next != NULL && ovp_diagnosis_answered(host->call->state, next->id) == NULL &&
            ovp_diagnosis_allows(host->call->state, next))
            return order_kept(host, next);
    }
    return NULL;
}

/* The question that sorts the other complaint in the line, while it is open. */
static const ovp_diagnosis_measurement *other_complaint(const guide_host *host)
{
    const lua_guide_about *also = host->call->also;
    if (also == NULL || also->opening[0] == '\0')
        return NULL;
    const ovp_diagnosis_measurement *opening = ovp_diagnosis_measurement_named(also->opening);
    bool open = opening != NULL && ovp_diagnosis_answered(host->call->state, opening->id) == NULL;
    return open && ovp_diagnosis_allows(host->call->state, opening) ? opening : NULL;
}

static const ovp_diagnosis_measurement *next_of(const guide_host *host)
{
    if (guide_questions_asked(host) >= LUA_GUIDE_QUESTIONS)
        return NULL;
    const ovp_diagnosis_measurement *next = other_complaint(host);
    if (next == NULL)
        next = ovp_diagnosis_next(host->call->state);
    if (next == NULL)
        next = worth_knowing(host);
    return next != NULL ? next : safety_left(host);
}

/* ---- asking ------------------------------------------------------------------------------------------- */

/* Words that the guide gave for a measurement with expect{}: on the stack, or nil. */
static void push_words(lua_State *L, const char *id)
{
    (void)lua_getfield(L, LUA_REGISTRYINDEX, registry_words);
    (void)lua_getfield(L, -1, id);
    lua_remove(L, -2);
}

void guide_copy_words(lua_State *L, int index, const char *what, char buffer[LUA_GUIDE_TEXT_SIZE])
{
    if (lua_isnoneornil(L, index))
        return;
    if (!ovp_copy_string(buffer, LUA_GUIDE_TEXT_SIZE, ovp_span_of(luaL_checkstring(L, index))))
        luaL_error(L, "`%s` is longer than %d bytes", what, LUA_GUIDE_TEXT_SIZE - 1);
}

static int end_with_question(lua_State *L, guide_host *host, const ovp_diagnosis_measurement *question)
{
    host->step->concluded = false;
    host->step->question = question;
    push_words(L, question->id);
    guide_copy_words(L, -1, "expect", host->step->expect);
    lua_pop(L, 1);
    return lua_yield(L, 0);
}

int guide_end_concluded(lua_State *L, guide_host *host)
{
    host->step->concluded = true;
    host->step->question = NULL;
    return lua_yield(L, 0);
}

void guide_check_can_wait(lua_State *L, const char *name)
{
    if (!lua_isyieldable(L))
        luaL_error(L,
                   "`%s` cannot be used inside a function that the library calls (table.sort, string.gsub): "
                   "ask first, then sort",
                   name);
}

/* An owner who was told to leave it unplugged is not told to heat it for a question: what was seen before
 * counts, or "unknown". */
static bool heat_stays_off(const guide_host *host, const ovp_diagnosis_measurement *measurement)
{
    return host->danger >= GUIDE_DANGEROUS && !host->call->settings->technician &&
           ovp_diagnosis_needs_heat(measurement);
}

/* ask(id [, {why=, expect=}]) -> outcome word; "unknown", too, for what this person or oven cannot be asked.
 */
static int guide_ask(lua_State *L)
{
    guide_host *host = guide_host_of(L);
    guide_check_can_wait(L, "ask");
    if (lua_istable(L, 1))
        return guide_ask_own(L, host);
    const ovp_diagnosis_measurement *measurement = check_measurement(L, 1);
    const char *answer = ovp_diagnosis_answered(host->call->state, measurement->id);
    if (answer != NULL) {
        lua_pushstring(L, answer);
        return 1;
    }
    if (guide_questions_asked(host) >= LUA_GUIDE_QUESTIONS)
        return guide_end_concluded(L, host);
    if (!ovp_diagnosis_allows(host->call->state, measurement)) {
        lua_pushliteral(L, "unknown");
        return 1;
    }
    if (measurement == other_complaint(host)) {
        host->step->from_memory = true; /* the person has told of it already: nothing is done for it */
        return end_with_question(L, host, measurement);
    }
    const bool off = heat_stays_off(host, measurement);
    const bool remembered =
        off || (lua_istable(L, 2) && lua_getfield(L, 2, "from_memory") != LUA_TNIL && lua_toboolean(L, -1));
    /* what was seen before is only told: nothing is heated for it, so nothing has to come before it */
    const ovp_diagnosis_measurement *first = remembered ? measurement : order_kept(host, measurement);
    host->step->from_memory = remembered && first == measurement;
    if (first == measurement && lua_istable(L, 2)) {
        (void)lua_getfield(L, 2, "why");
        guide_copy_words(L, -1, "why", host->step->why);
        if (lua_getfield(L, 2, "expect") != LUA_TNIL) {
            luaL_checkstring(L, -1);
            (void)lua_getfield(L, LUA_REGISTRYINDEX, registry_words);
            lua_pushvalue(L, -2);
            lua_setfield(L, -2, measurement->id);
        }
    }
    return end_with_question(L, host, first);
}

/* expect{ ["ohms-element"] = "15.4 to 17.0 ohm" }: what should be read on this oven. */
static int guide_expect(lua_State *L)
{
    luaL_checktype(L, 1, LUA_TTABLE);
    (void)lua_getfield(L, LUA_REGISTRYINDEX, registry_words);
    lua_pushnil(L);
    while (lua_next(L, 1) != 0) {
        if (lua_type(L, -2) != LUA_TSTRING || lua_type(L, -1) != LUA_TSTRING)
            return luaL_error(L,
                              "expect wants measurements and texts: expect{ [\"warm-tip\"] = \"it rises\" }");
        (void)check_measurement(L, -2);
        lua_pushvalue(L, -2);
        lua_insert(L, -2);
        lua_settable(L, 2);
    }
    return 0;
}

/* next_question() -> id of what is best asked now, or nil when it is time to conclude. */
static int guide_next_question(lua_State *L)
{
    const ovp_diagnosis_measurement *next = next_of(guide_host_of(L));
    if (next == NULL)
        lua_pushnil(L);
    else
        lua_pushstring(L, next->id);
    return 1;
}

static void set_number(lua_State *L, const char *key, double value)
{
    lua_pushnumber(L, value);
    lua_setfield(L, -2, key);
}

static void set_string(lua_State *L, const char *key, const char *value)
{
    lua_pushstring(L, value);
    lua_setfield(L, -2, key);
}

static const char *verdict_word(ovp_diagnosis_verdict verdict)
{
    return verdict == OVP_DIAGNOSIS_HEALTHY ? "healthy"
           : verdict == OVP_DIAGNOSIS_FAULT ? "fault"
                                            : "uncertain";
}

/* infer() -> { verdict=, healthy=, unlisted=, causes = { {fault=, probability=, present=, danger=}, ... } }
 */
static int guide_infer(lua_State *L)
{
    ovp_diagnosis_result result;
    ovp_diagnosis_infer(guide_host_of(L)->call->state, &result);
    lua_createtable(L, 0, 4);
    set_string(L, "verdict", verdict_word(result.verdict));
    set_number(L, "healthy", result.healthy);
    set_number(L, "unlisted", result.unlisted);
    lua_createtable(L, (int)result.cause_count, 0);
    for (size_t i = 0; i < result.cause_count; i++) {
        lua_createtable(L, 0, 4);
        set_string(L, "fault", result.causes[i].fault->id);
        set_number(L, "probability", result.causes[i].probability);
        set_number(L, "present", result.causes[i].present);
        set_number(L, "danger", result.causes[i].fault->danger);
        lua_seti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, "causes");
    return 1;
}

/* answer_of(id) -> outcome word, "unknown", or nil when nobody said. */
static int guide_answer_of(lua_State *L)
{
    const ovp_diagnosis_measurement *measurement = check_measurement(L, 1);
    const char *answer = ovp_diagnosis_answered(guide_host_of(L)->call->state, measurement->id);
    if (answer == NULL)
        lua_pushnil(L);
    else
        lua_pushstring(L, answer);
    return 1;
}

/* doubt(id): take back what the complaint implied; what a person answered stays. */
static int guide_doubt(lua_State *L)
{
    guide_host *host = guide_host_of(L);
    const ovp_diagnosis_measurement *measurement = check_measurement(L, 1);
    if (guide_given(host, measurement->id) == NULL)
        (void)ovp_diagnosis_retract(host->call->state, measurement->id);
    return 0;
}

/* conclude{ fault=, text=, remedy=, proof= }, or conclude() to leave it to the inference. */
static int guide_conclude(lua_State *L)
{
    guide_host *host = guide_host_of(L);
    lua_guide_step *step = host->step;
    guide_check_can_wait(L, "conclude");
    if (!lua_isnoneornil(L, 1)) {
        luaL_checktype(L, 1, LUA_TTABLE);
        (void)lua_getfield(L, 1, "fault");
        const char *fault = lua_isnil(L, -1) ? NULL : luaL_checkstring(L, -1);
        if (fault != NULL && ovp_diagnosis_fault_named(fault) == NULL)
            return luaL_error(L, "there is no fault \"%s\"", fault);
        if (fault != NULL)
            (void)ovp_copy_string(step->fault, sizeof step->fault, ovp_span_of(fault));
        (void)lua_getfield(L, 1, "text");
        guide_copy_words(L, -1, "text", step->text);
        (void)lua_getfield(L, 1, "remedy");
        guide_copy_words(L, -1, "remedy", step->remedy);
        (void)lua_getfield(L, 1, "proof");
        guide_copy_words(L, -1, "proof", step->proof);
    }
    const ovp_diagnosis_measurement *left = NULL;
    if (step->fault[0] == '\0' && guide_questions_asked(host) < LUA_GUIDE_QUESTIONS)
        left = safety_left(host);
    return left != NULL ? end_with_question(L, host, left) : guide_end_concluded(L, host);
}

void guide_finish(guide_host *host)
{
    const ovp_diagnosis_measurement *left =
        guide_questions_asked(host) < LUA_GUIDE_QUESTIONS ? safety_left(host) : NULL;
    host->step->concluded = left == NULL;
    host->step->question = left;
}

/* A temperature of a field with its unit; NAN when it is left out. */
static double field_temperature(lua_State *L, const char *key)
{
    double value_C = NAN;
    ovp_error error = {0};
    if (lua_getfield(L, 1, key) != LUA_TNIL &&
        ovp_text_quantity(ovp_span_of(luaL_checkstring(L, -1)), OVP_TEXT_TEMPERATURE, OVP_TEXT_DEGREES_NONE,
                          &value_C, &error) != OVP_OK)
        luaL_error(L, "`%s`: %s", key, error.what);
    lua_pop(L, 1);
    return value_C;
}

static bool field_true(lua_State *L, const char *key)
{
    (void)lua_getfield(L, 1, key);
    bool value = lua_toboolean(L, -1) != 0;
    lua_pop(L, 1);
    return value;
}

/*
 * reading{ tip = "300F", panel = "75F", head =, reversed =, extension_reversed = } -> what the display of
 * this oven would show, in words: the loop law that `misread` uses.
 */
static int guide_reading(lua_State *L)
{
    const ovp_diagnosis_settings *settings = guide_host_of(L)->call->settings;
    luaL_checktype(L, 1, LUA_TTABLE);
    bool known = settings->oven != NULL && settings->oven->sensor.known;
    double tip_C = field_temperature(L, "tip"), panel_C = field_temperature(L, "panel");
    double head_C = field_temperature(L, "head");
    if (isnan(tip_C) || isnan(panel_C))
        return luaL_error(L, "reading needs `tip` and `panel`: reading{ tip = \"300F\", panel = \"75F\" }");
    ovp_tc_loop loop;
    ovp_tc_loop_init(&loop, known ? settings->oven->sensor.type : OVP_TC_K, tip_C, panel_C);
    loop.head_C = isnan(head_C) ? panel_C : head_C;
    loop.reversed = field_true(L, "reversed");
    loop.extension_reversed = field_true(L, "extension_reversed");
    ovp_tc_reading shown;
    ovp_error error = {0};
    if (ovp_tc_loop_read(&loop, &shown, &error) != OVP_OK)
        return luaL_error(L, "%s", error.what);
    char text[64] = "no number";
    if (shown.display == OVP_TC_DISPLAY_OK)
        (void)ovp_text_format_temperature(shown.reads_C, settings->shown, 0, text, sizeof text);
    lua_pushstring(L, text);
    return 1;
}

static const luaL_Reg functions[] = {
    {"reading", guide_reading},   {"ask", guide_ask},
    {"expect", guide_expect},     {"next_question", guide_next_question},
    {"infer", guide_infer},       {"answer_of", guide_answer_of},
    {"doubt", guide_doubt},       {"normal", guide_normal},
    {"conclude", guide_conclude}, {NULL, NULL},
};

void guide_open_functions(lua_State *L, guide_host *host)
{
    lua_newtable(L);
    lua_setfield(L, LUA_REGISTRYINDEX, registry_words);
    lua_pushglobaltable(L);
    lua_pushlightuserdata(L, host);
    luaL_setfuncs(L, functions, 1);
    lua_pop(L, 1);
}
