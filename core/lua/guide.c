/*
 * The guide host. A guide is a Lua file that returns a table; its `run` is a coroutine that waits only in
 * `ask`. It is run from its start for every question, over the answers so far, so that its outcome is a
 * function of them: taking an answer back is leaving it out.
 */
#include "lua/lua_internal.h"

#include <stdlib.h>
#include <string.h>

enum {
    GUIDE_TEXT_BYTES = 1 << 20,
    GUIDE_STEPS = 20000000,
    GUIDE_STEPS_A_LOOK = 1000,
};

/* ---- a state with limits ---------------------------------------------------------------------------- */

/* Kept in the registry of the state, so that the hook finds it. */
static const char registry_steps[] = "ovenproof guide steps";

static void count_steps(lua_State *L, lua_Debug *activation)
{
    (void)activation;
    (void)lua_getfield(L, LUA_REGISTRYINDEX, registry_steps);
    int *steps_left = lua_touserdata(L, -1);
    lua_pop(L, 1);
    *steps_left -= GUIDE_STEPS_A_LOOK;
    if (*steps_left <= 0)
        (void)sandbox_spend(L, "the guide does not end: it ran too long without a question");
    sandbox_check(L);
}

/* Runs protected: opening a library allocates. A guide has what a script has, but for what could make its
   outcome depend on more than the answers, and for coroutines: `ask` is its only way to wait. */
static int open_all(lua_State *L)
{
    static const char *const taken_out[] = {"collectgarbage", "coroutine", "print", "require"};
    guide_host *host = lua_touserdata(L, 1);
    sandbox_open(L, &host->box);
    for (size_t i = 0; i < sizeof taken_out / sizeof taken_out[0]; i++) {
        lua_pushnil(L);
        lua_setglobal(L, taken_out[i]);
    }
    (void)lua_getglobal(L, "math");
    lua_pushnil(L);
    lua_setfield(L, -2, "random");
    lua_pushnil(L);
    lua_setfield(L, -2, "randomseed");
    lua_pop(L, 1);
    lua_pushlightuserdata(L, &host->steps_left);
    lua_setfield(L, LUA_REGISTRYINDEX, registry_steps);
    guide_open_functions(L, host);
    lua_sethook(L, count_steps, LUA_MASKCOUNT, GUIDE_STEPS_A_LOOK);
    return 0;
}

/* ---- failures --------------------------------------------------------------------------------------- */

static ovp_status guide_failed(lua_State *L, const char *path, ovp_error *error)
{
    const sandbox *box = sandbox_of(L);
    const char *thrown =
        lua_type(L, -1) == LUA_TSTRING ? lua_tostring(L, -1) : "stopped with an error that is no text";
    ovp_status status = state_error(box->spent != NULL ? box->spent : thrown, path, error);
    ovp_error_place(error, NULL, box->spent_line > 0 ? (uint64_t)box->spent_line : 0);
    ovp_error_hint(error, "mend the guide; docs/extending.md says what a guide is");
    return status;
}

/* A new state with the guide's table on its stack; NULL on failure. */
static lua_State *load_guide(const guide_text *text, guide_host *host, ovp_error *error)
{
    host->steps_left = GUIDE_STEPS;
    host->box.memory.most = GUIDE_MEMORY_BYTES;
    host->box.deadline_s = state_now() + GUIDE_SECONDS;
    host->box.memory.deadline_s = host->box.deadline_s;
    lua_State *L = state_new(&host->box.memory);
    if (L == NULL) {
        (void)ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    sandbox *box = &host->box;
    memcpy(lua_getextraspace(L), &box, sizeof(void *)); /* NOLINT(bugprone-sizeof-expression) */
    lua_pushcfunction(L, open_all);
    lua_pushlightuserdata(L, host);
    int status = lua_pcall(L, 1, 0, 0);
    if (status == LUA_OK)
        status = luaL_loadbufferx(L, text->bytes, text->count, "=guide", "t");
    if (status == LUA_OK)
        status = lua_pcall(L, 0, 1, 0);
    if (status == LUA_OK && !lua_istable(L, -1)) {
        lua_pop(L, 1);
        lua_pushstring(L, "a guide returns a table: return { name = ..., run = function() ... end }");
        status = LUA_ERRRUN;
    }
    if (status == LUA_OK)
        return L;
    (void)guide_failed(L, text->path, error);
    lua_close(L);
    return NULL;
}

/* ---- what a guide says of itself ---------------------------------------------------------------------- */

/* Runs protected, with the guide's table as argument 1 and the struct to fill as argument 2. */
static void take_text(lua_State *L, int table, const char *key, bool needed, char *buffer, size_t size)
{
    if (lua_getfield(L, table, key) == LUA_TSTRING) {
        if (!ovp_copy_string(buffer, size, ovp_span_of(lua_tostring(L, -1))))
            luaL_error(L, "`%s` is longer than %d bytes", key, (int)size - 1);
    } else if (needed || !lua_isnil(L, -1)) {
        luaL_error(L, "`%s` must be a text", key);
    }
    lua_pop(L, 1);
}

/* The table on top: { ["warm-tip"] = "rises" }. In the order of the ids, so that nothing depends on chance.
 */
static size_t take_evidence(lua_State *L, lua_guide_answer evidence[])
{
    size_t count = 0;
    lua_pushnil(L);
    while (lua_next(L, -2) != 0) {
        if (lua_type(L, -2) == LUA_TSTRING && lua_type(L, -1) == LUA_TSTRING) {
            if (count == LUA_GUIDE_EVIDENCE)
                luaL_error(L, "more than %d pieces of evidence", LUA_GUIDE_EVIDENCE);
            lua_guide_answer item = {0};
            if (strcmp(lua_tostring(L, -2), "guide") == 0) {
                lua_pop(L, 1);
                continue;
            }
            if (ovp_diagnosis_measurement_named(lua_tostring(L, -2)) == NULL)
                luaL_error(L, "there is no measurement \"%s\"", lua_tostring(L, -2));
            (void)ovp_copy_string(item.id, sizeof item.id, ovp_span_of(lua_tostring(L, -2)));
            (void)ovp_copy_string(item.answer, sizeof item.answer, ovp_span_of(lua_tostring(L, -1)));
            size_t at = count++;
            for (; at > 0 && strcmp(evidence[at - 1].id, item.id) > 0; at--)
                evidence[at] = evidence[at - 1];
            evidence[at] = item;
        }
        lua_pop(L, 1);
    }
    return count;
}

/* The texts of the table on top, in order. */
static size_t take_phrases(lua_State *L, const char *what, size_t most, char (*phrases)[LUA_GUIDE_ID_SIZE])
{
    size_t count = 0;
    for (lua_Integer i = 1; lua_geti(L, -1, i) == LUA_TSTRING; i++) {
        if (count == most)
            luaL_error(L, "more than %d %s", (int)most, what);
        (void)ovp_copy_string(phrases[count++], LUA_GUIDE_ID_SIZE, ovp_span_of(lua_tostring(L, -1)));
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
    return count;
}

static void take_words(lua_State *L, lua_guide_about *about)
{
    if (lua_getfield(L, 1, "words") == LUA_TTABLE)
        about->word_count = take_phrases(L, "words of complaint", LUA_GUIDE_WORDS, about->words);
    if (lua_getfield(L, 1, "hints") == LUA_TTABLE)
        about->hint_count = take_phrases(L, "hints", LUA_GUIDE_HINTS, about->hints);
    lua_pop(L, 2);
}

/* heard = { { "at once", "as soon as", ["ask-trip-when"] = "at-once" }, ... } */
static void take_heard(lua_State *L, lua_guide_about *about)
{
    if (lua_getfield(L, 1, "heard") == LUA_TTABLE) {
        for (lua_Integer i = 1; lua_geti(L, -1, i) == LUA_TTABLE; i++) {
            if (about->heard_count == LUA_GUIDE_HEARD)
                luaL_error(L, "more than %d things to hear", LUA_GUIDE_HEARD);
            size_t at = about->heard_count++;
            about->heard[at].phrase_count = take_phrases(L, "phrases for one thing to hear",
                                                         LUA_GUIDE_EVIDENCE, about->heard[at].phrases);
            about->heard[at].evidence_count = take_evidence(L, about->heard[at].evidence);
            lua_pop(L, 1);
        }
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
}

static void take_sorting(lua_State *L, lua_guide_about *about)
{
    take_words(L, about);
    take_heard(L, about);
    take_text(L, 1, "context", false, about->context, sizeof about->context);
    take_text(L, 1, "opening", false, about->opening, sizeof about->opening);
    if (about->opening[0] != '\0' && ovp_diagnosis_measurement_named(about->opening) == NULL)
        luaL_error(L, "there is no measurement \"%s\" for `opening`", about->opening);
    ovp_diagnosis_context context;
    if (about->context[0] != '\0' && !ovp_diagnosis_context_named(about->context, &context))
        luaL_error(L, "\"%s\" is no context", about->context);
    (void)lua_getfield(L, 1, "danger");
    lua_Integer danger = lua_tointeger(L, -1);
    if (danger < 0 || danger > 4)
        luaL_error(L, "`danger` must be from 0 to 4");
    about->danger = (int)danger;
    lua_pop(L, 1);
}

static void take_told(lua_State *L, lua_guide_about *about)
{
    if (lua_getfield(L, 1, "told") == LUA_TTABLE) {
        for (lua_Integer i = 1; lua_geti(L, -1, i) == LUA_TTABLE; i++) {
            if (about->told_count == LUA_GUIDE_TOLD)
                luaL_error(L, "more than %d things to tell", LUA_GUIDE_TOLD);
            size_t at = about->told_count++;
            if (lua_geti(L, -1, 1) != LUA_TSTRING)
                luaL_error(L, "entry %d of `told` must begin with its text", (int)i);
            (void)ovp_copy_string(about->told[at].text, LUA_GUIDE_TEXT_SIZE,
                                  ovp_span_of(lua_tostring(L, -1)));
            lua_pop(L, 1);
            take_text(L, lua_gettop(L), "guide", false, about->told[at].guide, LUA_GUIDE_ID_SIZE);
            about->told[at].evidence_count = take_evidence(L, about->told[at].evidence);
            lua_pop(L, 1);
        }
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
}

static int take_about(lua_State *L)
{
    lua_guide_about *about = lua_touserdata(L, 2);
    take_text(L, 1, "name", true, about->name, sizeof about->name);
    take_text(L, 1, "title", true, about->title, sizeof about->title);
    take_text(L, 1, "text", true, about->text, sizeof about->text);
    take_text(L, 1, "first", false, about->first, sizeof about->first);
    take_sorting(L, about);
    if (lua_getfield(L, 1, "implies") == LUA_TTABLE)
        about->implied_count = take_evidence(L, about->implies);
    lua_pop(L, 1);
    take_told(L, about);
    if (lua_getfield(L, 1, "run") != LUA_TFUNCTION)
        return luaL_error(L, "`run` must be a function");
    return 0;
}

static ovp_status about_of(lua_State *L, const char *path, lua_guide_about *about, ovp_error *error)
{
    *about = (lua_guide_about){0};
    lua_pushcfunction(L, take_about);
    lua_pushvalue(L, -2);
    lua_pushlightuserdata(L, about);
    if (lua_pcall(L, 2, 0, 0) == LUA_OK)
        return OVP_OK;
    return guide_failed(L, path, error);
}

ovp_status guide_read_here(const guide_text *text, lua_guide_about *about, ovp_error *error)
{
    lua_guide_call call = {0};
    lua_guide_step step = {0};
    guide_host host = {.call = &call, .step = &step};
    lua_State *L = load_guide(text, &host, error);
    if (L == NULL)
        return error != NULL ? error->status : OVP_ERROR_DATA;
    ovp_status status = about_of(L, text->path, about, error);
    lua_close(L);
    return status;
}

ovp_status lua_guide_read(const char *path, lua_guide_about *about, ovp_error *error)
{
    char *bytes;
    size_t count;
    ovp_status status = state_read_file(path, GUIDE_TEXT_BYTES, &bytes, &count, error);
    if (status != OVP_OK)
        return status;
    guide_text text = {path, bytes, count};
    lua_origin origin = lua_origin_of(path);
    status = (origin == LUA_ORIGIN_ELSEWHERE ? guide_read_apart : guide_read_here)(&text, about, error);
    about->found = origin;
    free(bytes);
    return status;
}

/* ---- a run -------------------------------------------------------------------------------------------- */

const lua_guide_answer *guide_given(const guide_host *host, const char *id)
{
    for (size_t i = host->call->answer_count; i > 0; i--)
        if (strcmp(host->call->answers[i - 1].id, id) == 0)
            return &host->call->answers[i - 1];
    return NULL;
}

/* Evidence of the complaint, unless the person said otherwise. */
static ovp_status take_implied(const guide_host *host, const lua_guide_answer evidence[], size_t count,
                               ovp_error *error)
{
    for (size_t i = 0; i < count; i++) {
        if (guide_given(host, evidence[i].id) != NULL)
            continue;
        ovp_status status =
            ovp_diagnosis_answer(host->call->state, evidence[i].id, evidence[i].answer, error);
        if (status != OVP_OK) {
            ovp_error_place(error, host->call->path, 0);
            return status;
        }
    }
    return OVP_OK;
}

/* What the complaint implies, and what was heard in its words. */
static ovp_status take_complaint(const guide_host *host, const lua_guide_about *about, ovp_error *error)
{
    ovp_status status = take_implied(host, about->implies, about->implied_count, error);
    if (host->call->complaint == NULL || status != OVP_OK)
        return status;
    lua_guide_answer heard[LUA_GUIDE_HEARD];
    const size_t count = lua_guide_hear(about, host->call->complaint, heard, LUA_GUIDE_HEARD);
    return take_implied(host, heard, count, error);
}

/* The complaints, the leading one last so that it counts; then the answers, a later one replacing. */
ovp_status guide_take_answers(guide_host *host, const lua_guide_about *about, ovp_error *error)
{
    const lua_guide_call *call = host->call;
    ovp_status told = call->also != NULL ? take_complaint(host, call->also, error) : OVP_OK;
    if (told == OVP_OK)
        told = take_complaint(host, about, error);
    if (told != OVP_OK)
        return told;
    for (size_t i = 0; i < call->answer_count; i++) {
        if (lua_guide_is_own(call->answers[i].id))
            continue; /* the guide looks at it when it comes to that question */
        ovp_status status =
            ovp_diagnosis_answer(call->state, call->answers[i].id, call->answers[i].answer, error);
        if (status != OVP_OK) {
            host->step->bad_answer = i + 1;
            return status;
        }
    }
    return OVP_OK;
}

/* Runs protected (a new thread allocates): the guide's table, the host. Gives nil, or what went wrong. */
static int resume_guide(lua_State *L)
{
    guide_host *host = lua_touserdata(L, 2);
    lua_State *thread = lua_newthread(L);
    (void)lua_getfield(L, 1, "run");
    lua_xmove(L, thread, 1);
    int results = 0;
    int status = lua_resume(thread, L, 0, &results);
    if (status == LUA_OK)
        guide_finish(host);
    if (status == LUA_OK || status == LUA_YIELD)
        return 0;
    lua_xmove(thread, L, 1);
    return lua_error(L);
}

static ovp_status run_coroutine(lua_State *L, guide_host *host, ovp_error *error)
{
    lua_pushcfunction(L, resume_guide);
    lua_pushvalue(L, -2);
    lua_pushlightuserdata(L, host);
    if (lua_pcall(L, 2, 0, 0) == LUA_OK)
        return OVP_OK;
    ovp_status status = guide_failed(L, host->call->path, error);
    if (host->step->bad_answer > 0 && error != NULL) { /* the place is that of the answer */
        error->file[0] = error->hint[0] = '\0';
        error->line = 0;
        ovp_error_hint(error, "choose one of the answers of that question");
    }
    return status;
}

ovp_status guide_run_here(const guide_text *text, const lua_guide_call *call, lua_guide_about *about,
                          lua_guide_step *step, ovp_error *error)
{
    *step = (lua_guide_step){0};
    guide_host host = {.call = call, .step = step};
    lua_State *L = load_guide(text, &host, error);
    if (L == NULL)
        return error != NULL ? error->status : OVP_ERROR_DATA;
    ovp_status status = about_of(L, text->path, about, error);
    host.danger =
        call->also != NULL && call->also->danger > about->danger ? call->also->danger : about->danger;
    if (status == OVP_OK)
        status = guide_take_answers(&host, about, error);
    if (status == OVP_OK)
        status = run_coroutine(L, &host, error);
    lua_close(L);
    return status;
}

ovp_status lua_guide_run(const lua_guide_call *call, lua_guide_step *step, ovp_error *error)
{
    char *bytes;
    size_t count;
    lua_guide_about about;
    *step = (lua_guide_step){0};
    ovp_status status = state_read_file(call->path, GUIDE_TEXT_BYTES, &bytes, &count, error);
    if (status != OVP_OK)
        return status;
    guide_text text = {call->path, bytes, count};
    bool apart = lua_origin_of(call->path) == LUA_ORIGIN_ELSEWHERE;
    status = (apart ? guide_run_apart : guide_run_here)(&text, call, &about, step, error);
    free(bytes);
    return status;
}
