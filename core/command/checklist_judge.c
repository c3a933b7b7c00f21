/* checklist: what an answer means, what is set aside, and how it stands. */
#include "command/checklist.h"

#include <math.h>
#include <string.h>

/* ---- facts and limits -----------------------------------------------------------------------------------
 */

/* Volts measured under load in this run: the step of that kind. */
static double volts_of(const checklist_session *session, size_t oven)
{
    for (size_t i = 0; i < session->list.step_count; i++)
        if (session->list.steps[i].of == LUA_CHECKLIST_OF_VOLTS &&
            isfinite(session->ovens[oven].steps[i].value))
            return session->ovens[oven].steps[i].value;
    return NAN;
}

lua_checklist_facts checklist_facts(const checklist_session *session, size_t oven)
{
    const checklist_oven *one = &session->ovens[oven];
    return (lua_checklist_facts){
        .oven = one->described ? &one->description : NULL,
        .shown = session->call->degrees,
        .colours = session->colours,
        .first_s = one->first_s > 0 ? one->first_s : NAN,
        .first_V = one->first_V,
        .volts_V = volts_of(session, oven),
        .repair = session->repair,
    };
}

const lua_checklist_limit *checklist_limit(const checklist_session *session, size_t oven, size_t step,
                                           lua_checklist_limit *limit)
{
    const lua_checklist_facts facts = checklist_facts(session, oven);
    lua_checklist_limit_of(&session->list.steps[step], &facts, limit);
    return limit;
}

const char *checklist_words(const checklist_session *session, size_t oven, const char *text,
                            char words[LUA_CHECKLIST_TEXT_SIZE])
{
    const lua_checklist_facts facts = checklist_facts(session, oven);
    lua_checklist_words(text, &facts, words, LUA_CHECKLIST_TEXT_SIZE);
    return words;
}

const char *checklist_tools(const lua_checklist_step *step, char words[LUA_CHECKLIST_TEXT_SIZE])
{
    size_t used = 0;
    words[0] = '\0';
    for (const char *at = step->tool; *at != '\0' && used < LUA_CHECKLIST_TEXT_SIZE;) {
        const size_t length = strcspn(at, "|");
        used += (size_t)snprintf(words + used, LUA_CHECKLIST_TEXT_SIZE - used, "%s%.*s",
                                 used > 0 ? " or " : "", (int)length, at);
        at += length + (at[length] != '\0');
    }
    return words;
}

const char *checklist_unit(ovp_text_kind kind)
{
    switch (kind) {
    case OVP_TEXT_RESISTANCE:
        return "ohm";
    case OVP_TEXT_EMF:
        return "mV";
    case OVP_TEXT_CURRENT:
        return "A";
    case OVP_TEXT_VOLTAGE:
        return "V";
    case OVP_TEXT_DURATION:
        return "s";
    case OVP_TEXT_TEMPERATURE:
    case OVP_TEXT_TEMPERATURE_DIFFERENCE:
        return "C";
    default:
        return "";
    }
}

/* ---- what is set aside ------------------------------------------------------------------------------------
 */

bool checklist_not_fitted(const checklist_session *session, size_t oven, size_t step)
{
    const checklist_oven *one = &session->ovens[oven];
    const char *part = session->list.steps[step].needs_part;
    return one->described && ovp_oven_has_any(&one->description, part) == OVP_OVEN_NOT_FITTED;
}

/* True when one of the words of `list` is `word`. */
static bool holds(const char *list, char separator, ovp_span word)
{
    const char marks[2] = {separator, '\0'};
    while (*list != '\0') {
        size_t length = strcspn(list, marks);
        if (length == word.count && memcmp(list, word.bytes, length) == 0)
            return true;
        list += length + (list[length] != '\0');
    }
    return false;
}

/* "insulation-tester|safety-tester": any of them is at hand. */
static bool has_tool(const checklist_session *session, const char *any)
{
    if (!session->tools_known || any[0] == '\0')
        return true;
    while (*any != '\0') {
        size_t length = strcspn(any, "|");
        if (holds(session->tools, ',', (ovp_span){any, length}))
            return true;
        any += length + (any[length] != '\0');
    }
    return false;
}

static bool touched(const checklist_session *session, const lua_checklist_step *step)
{
    return session->repair == NULL || step->after[0] == '\0' ||
           holds(step->after, '|', ovp_span_of(session->repair->family)) ||
           holds(step->after, '|', ovp_span_of(session->repair->id));
}

static void set_aside_one(checklist_session *session, size_t oven, size_t step)
{
    const lua_checklist_step *row = &session->list.steps[step];
    checklist_state *state = &session->ovens[oven].steps[step];
    state->value = state->found_value = NAN;
    if (checklist_not_fitted(session, oven, step)) {
        state->result = CHECKLIST_NOT_FITTED;
    } else if (!touched(session, row)) {
        state->result = CHECKLIST_NOT_TOUCHED;
    } else if (row->technician && !session->technician) {
        state->result = CHECKLIST_SKIPPED;
        state->because = "for a qualified person";
    } else if (!has_tool(session, row->tool)) {
        state->result = CHECKLIST_SKIPPED;
        state->because = "the tool is not at hand";
    }
}

void checklist_set_aside(checklist_session *session)
{
    for (size_t oven = 0; oven < session->oven_count; oven++)
        for (size_t step = 0; step < session->list.step_count; step++)
            set_aside_one(session, oven, step);
}

/* ---- answers
 * ------------------------------------------------------------------------------------------------ */

static ovp_status judge_value(checklist_session *session, size_t oven, size_t step, double value,
                              ovp_error *error)
{
    lua_checklist_limit limit;
    checklist_limit(session, oven, step, &limit);
    if (!limit.known)
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "the oven's description does not give the limit of %s: say pass or fail",
                             session->list.steps[step].id);
    session->ovens[oven].steps[step].value = value;
    session->ovens[oven].steps[step].result =
        lua_checklist_within(&limit, value) ? CHECKLIST_PASS : CHECKLIST_FAIL;
    return OVP_OK;
}

static ovp_status take_value(checklist_session *session, size_t oven, size_t step, const char *answer,
                             ovp_error *error)
{
    static const char *const over_range[] = {"ol", "open-circuit", "over", "infinite"};
    const lua_checklist_step *row = &session->list.steps[step];
    double value = NAN;
    for (size_t i = 0; i < sizeof over_range / sizeof over_range[0]; i++)
        if (row->kind == OVP_TEXT_RESISTANCE && ovp_span_equals(ovp_span_of(answer), over_range[i]))
            return judge_value(session, oven, step, INFINITY, error);
    ovp_status status =
        ovp_text_quantity(ovp_span_of(answer), row->kind, session->call->degrees, &value, error);
    return status == OVP_OK ? judge_value(session, oven, step, value, error) : status;
}

/* The same word, letter case aside, or the same quantity in whatever unit. */
static bool is_same(const char *golden, const char *answer)
{
    static const ovp_text_kind kinds[] = {OVP_TEXT_TEMPERATURE, OVP_TEXT_DURATION, OVP_TEXT_RATIO};
    if (ovp_span_equals(ovp_span_trim(ovp_span_of(answer)), golden))
        return true;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        double a = NAN, b = NAN;
        if (ovp_text_quantity(ovp_span_of(golden), kinds[i], OVP_TEXT_DEGREES_NONE, &a, NULL) == OVP_OK &&
            ovp_text_quantity(ovp_span_of(answer), kinds[i], OVP_TEXT_DEGREES_NONE, &b, NULL) == OVP_OK)
            return fabs(a - b) <= 1e-9 * fmax(1, fabs(a));
    }
    return false;
}

static const struct {
    const char *word;
    checklist_result result;
} words[] = {
    {"pass", CHECKLIST_PASS},    {"p", CHECKLIST_PASS},          {"yes", CHECKLIST_PASS},
    {"y", CHECKLIST_PASS},       {"fail", CHECKLIST_FAIL},       {"f", CHECKLIST_FAIL},
    {"skip", CHECKLIST_SKIPPED}, {"s", CHECKLIST_SKIPPED},       {"?", CHECKLIST_SKIPPED},
    {"open", CHECKLIST_OPEN},    {"unknown", CHECKLIST_SKIPPED}, {"not-fitted", CHECKLIST_NOT_FITTED},
    {"-", CHECKLIST_NOT_FITTED}, {"no", CHECKLIST_FAIL},         {"n", CHECKLIST_FAIL},
};

const char *checklist_said(const char *answer)
{
    static const char *const said[] = {"open", "pass", "fail", "skipped", "not fitted", "not touched"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (ovp_span_equals(ovp_span_of(answer), words[i].word))
            return said[words[i].result];
    return answer;
}

static bool take_word(checklist_session *session, size_t oven, size_t step, const char *answer,
                      ovp_status *status, ovp_error *error)
{
    const lua_checklist_step *row = &session->list.steps[step];
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (!ovp_span_equals(ovp_span_of(answer), words[i].word))
            continue;
        bool measured = row->of != LUA_CHECKLIST_OF_EYE && row->of != LUA_CHECKLIST_OF_SAME;
        lua_checklist_limit limit;
        *status = OVP_OK;
        if (words[i].result == CHECKLIST_NOT_FITTED && row->needs_part[0] == '\0')
            *status =
                ovp_error_set(error, OVP_ERROR_DATA, "%s concerns no part that could be left out", row->id);
        else if (words[i].result == CHECKLIST_PASS && measured && row->safety &&
                 checklist_limit(session, oven, step, &limit)->known)
            *status = ovp_error_set(error, OVP_ERROR_DATA,
                                    "%s is a measured safety test: type what the meter reads, with its unit",
                                    row->id);
        if (*status == OVP_OK) {
            session->ovens[oven].steps[step].result = words[i].result;
            session->ovens[oven].steps[step].value = NAN;
        }
        return true;
    }
    return false;
}

ovp_status checklist_answer(checklist_session *session, size_t oven, size_t step, const char *answer,
                            ovp_error *error)
{
    const lua_checklist_step *row = &session->list.steps[step];
    checklist_state *state = &session->ovens[oven].steps[step];
    ovp_status status = OVP_OK;
    if (row->of == LUA_CHECKLIST_OF_SAME && is_same(row->same, answer)) {
        state->result = CHECKLIST_PASS;
        state->value = NAN;
    } else if (take_word(session, oven, step, answer, &status, error)) {
        if (status != OVP_OK)
            return status;
    } else if (row->of == LUA_CHECKLIST_OF_EYE) {
        return ovp_error_set(error, OVP_ERROR_DATA, "%s takes pass, fail or skip, not \"%s\"", row->id,
                             answer);
    } else if (row->of == LUA_CHECKLIST_OF_SAME) {
        state->result = CHECKLIST_FAIL;
        state->value = NAN;
    } else {
        status = take_value(session, oven, step, answer, error);
        if (status != OVP_OK)
            return status;
    }
    state->because = NULL;
    bool fits = ovp_copy_string(state->answer, sizeof state->answer, ovp_span_of(answer));
    return fits ? OVP_OK : ovp_error_set(error, OVP_ERROR_DATA, "the answer to %s is too long", row->id);
}

static void add_words(char *to, size_t size, const char *words_more)
{
    size_t used = strlen(to);
    if (words_more[0] != '\0')
        (void)snprintf(to + used, size - used, "%s%s", used > 0 ? "; " : "", words_more);
}

ovp_status checklist_take(checklist_session *session, const checklist_entry *entry, ovp_error *error)
{
    checklist_state *state = &session->ovens[entry->oven].steps[entry->step];
    if (session->entry_count == CHECKLIST_ENTRIES)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "more than %d entries in one run", CHECKLIST_ENTRIES);
    if (entry->answer[0] != '\0') {
        ovp_status status = checklist_answer(session, entry->oven, entry->step, entry->answer, error);
        if (status != OVP_OK)
            return status;
        bool back = state->result == CHECKLIST_OPEN;
        bool measured = state->result == CHECKLIST_PASS || state->result == CHECKLIST_FAIL;
        if (back)
            state->times = 0;
        if (measured && state->times++ == 0) {
            state->found = state->result;
            state->found_value = state->value;
            (void)ovp_copy_string(state->found_answer, sizeof state->found_answer,
                                  ovp_span_of(entry->answer));
        }
        (void)ovp_copy_string(state->by, sizeof state->by, ovp_span_of(entry->by));
        (void)ovp_copy_string(state->when, sizeof state->when, ovp_span_of(entry->when));
    }
    add_words(state->note, sizeof state->note, entry->note);
    add_words(state->photo, sizeof state->photo, entry->photo);
    session->entries[session->entry_count++] = *entry;
    return OVP_OK;
}

/* ---- how it stands --------------------------------------------------------------------------------------
 */

checklist_verdict checklist_judge(const checklist_session *session, size_t oven)
{
    bool failed = false, open = false;
    size_t passed = 0;
    for (size_t i = 0; i < session->list.step_count; i++) {
        const lua_checklist_step *row = &session->list.steps[i];
        checklist_result result = session->ovens[oven].steps[i].result;
        if (result == CHECKLIST_FAIL && row->stop)
            return CHECKLIST_STOPPED;
        failed = failed || result == CHECKLIST_FAIL;
        passed += result == CHECKLIST_PASS;
        open = open || result == CHECKLIST_OPEN || (row->safety && result == CHECKLIST_SKIPPED);
    }
    if (failed)
        return CHECKLIST_BAD;
    return open || passed == 0 ? CHECKLIST_INCOMPLETE : CHECKLIST_GOOD;
}

int checklist_exit_status(const checklist_session *session)
{
    for (size_t i = 0; i < session->oven_count; i++)
        if (checklist_judge(session, i) != CHECKLIST_GOOD)
            return (int)OVP_JUDGED;
    return 0;
}

bool checklist_unproved(const checklist_session *session, size_t oven, size_t step)
{
    checklist_result result = session->ovens[oven].steps[step].result;
    return result == CHECKLIST_OPEN || result == CHECKLIST_SKIPPED;
}

/* Steps that a tool would prove, safety tests before all others. */
static size_t weigh_tool(const checklist_session *session, size_t oven, ovp_span tool, size_t *steps)
{
    size_t safety = 0;
    *steps = 0;
    for (size_t i = 0; i < session->list.step_count; i++) {
        const lua_checklist_step *row = &session->list.steps[i];
        if (!checklist_unproved(session, oven, i) || !holds(row->tool, '|', tool))
            continue;
        ++*steps;
        safety += row->safety;
    }
    return safety * LUA_CHECKLIST_STEPS + *steps;
}

const char *checklist_missing_tool(const checklist_session *session, size_t oven, size_t *steps)
{
    static char best[LUA_CHECKLIST_WORD_SIZE];
    size_t most = 0;
    for (size_t i = 0; i < session->list.step_count; i++) {
        const char *at = session->list.steps[i].tool;
        while (*at != '\0' && checklist_unproved(session, oven, i)) {
            ovp_span tool = {at, strcspn(at, "|")};
            size_t count = 0, weight = weigh_tool(session, oven, tool, &count);
            if (weight > most) {
                most = weight;
                *steps = count;
                (void)ovp_copy_string(best, sizeof best, tool);
            }
            at += tool.count + (at[tool.count] != '\0');
        }
    }
    return most > 0 ? best : NULL;
}
