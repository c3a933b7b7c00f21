/*
 * A guide in a closed process comes to what it comes to in this one; and whatever such a process says, the
 * rules of the guide hold on this side. The answers are drawn by a fixed sequence, so that the same ones come
 * every time.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "lua/lua_internal.h"

enum {
    QUESTIONS = 12,
};

static uint32_t drawn = 20261125;

static uint32_t draw(uint32_t below)
{
    drawn = drawn * 1664525U + 1013904223U;
    return (drawn >> 16) % below;
}

static ovp_diagnosis_case *new_memory(void)
{
    void *memory = aligned_alloc(64, (ovp_diagnosis_case_size() + 63) / 64 * 64);
    assert_non_null(memory);
    return memory;
}

/* One run of a guide's text, with a case of its own. */
typedef struct side {
    ovp_diagnosis_case *memory, *state;
    lua_guide_about about;
    lua_guide_step step;
    ovp_error error;
    ovp_status status;
} side;

static side here, apart;
static ovp_diagnosis_settings settings;
static lua_guide_answer answers[QUESTIONS + 1];
static size_t answer_count;

static void evaluate(side *s, const guide_text *text,
                     ovp_status (*run)(const guide_text *, const lua_guide_call *, lua_guide_about *,
                                       lua_guide_step *, ovp_error *))
{
    s->state = ovp_diagnosis_case_init(s->memory, &settings);
    s->error = (ovp_error){0};
    lua_guide_call call = {.path = text->path,
                           .settings = &settings,
                           .state = s->state,
                           .answers = answers,
                           .answer_count = answer_count};
    s->status = run(text, &call, &s->about, &s->step, &s->error);
}

static void both(const guide_text *text)
{
    evaluate(&here, text, guide_run_here);
    evaluate(&apart, text, guide_run_apart);
    if (here.status != apart.status || strcmp(here.error.what, apart.error.what) != 0)
        fail_msg("%s: %d %s, %d %s", text->path, here.status, here.error.what, apart.status,
                 apart.error.what);
    assert_string_equal(here.error.hint, apart.error.hint);
    assert_string_equal(here.error.file, apart.error.file);
    assert_int_equal(here.error.line, apart.error.line);
    assert_int_equal(here.step.bad_answer, apart.step.bad_answer);
    if (here.status != OVP_OK)
        return;
    assert_memory_equal(&here.about, &apart.about, sizeof here.about);
    assert_memory_equal(&here.step, &apart.step, sizeof here.step);
    ovp_diagnosis_result left, right;
    ovp_diagnosis_infer(here.state, &left);
    ovp_diagnosis_infer(apart.state, &right);
    assert_int_equal(left.cause_count, right.cause_count);
    assert_true(left.healthy == right.healthy && left.unlisted == right.unlisted);
    for (size_t i = 0; i < left.cause_count; i++)
        assert_true(left.causes[i].fault == right.causes[i].fault &&
                    left.causes[i].probability == right.causes[i].probability);
}

static size_t compared;

static void walk_guide(const guide_text *text, bool technician)
{
    settings = (ovp_diagnosis_settings){.context = OVP_DIAGNOSIS_IN_SERVICE, .technician = technician};
    for (answer_count = 0; answer_count < QUESTIONS;) {
        both(text);
        compared++;
        if (here.status != OVP_OK)
            fail_msg("%s: %s", text->path, here.error.what);
        if (here.step.concluded)
            return;
        const ovp_diagnosis_measurement *question = here.step.question;
        lua_guide_answer *to = &answers[answer_count++];
        uint32_t which = draw((uint32_t)question->outcome_count + 1);
        snprintf(to->id, sizeof to->id, "%s", question->id);
        snprintf(to->answer, sizeof to->answer, "%s",
                 which == question->outcome_count ? "unknown" : question->outcomes[which]);
    }
}

static void walk_one(void *context, const char *name, const char *path)
{
    (void)context;
    char *bytes;
    size_t count;
    assert_int_equal(state_read_file(path, 1 << 20, &bytes, &count, NULL), OVP_OK);
    guide_text text = {name, bytes, count};
    lua_guide_about read_here, read_apart;
    assert_int_equal(guide_read_here(&text, &read_here, NULL), OVP_OK);
    assert_int_equal(guide_read_apart(&text, &read_apart, NULL), OVP_OK);
    assert_memory_equal(&read_here, &read_apart, sizeof read_here);
    walk_guide(&text, false);
    walk_guide(&text, true);
    free(bytes);
}

static void shipped_guides_come_to_the_same(void **state)
{
    (void)state;
    lua_list("guides", walk_one, NULL);
    assert_true(compared > 20);
    print_message("%zu questions and conclusions compared\n", compared);
}

static void of_text(const char *words)
{
    guide_text text = {"g.lua", words, strlen(words)};
    both(&text);
}

#define HEAD "return { name = 'g', title = 'G', text = 'g', "

static void own_guides_come_to_the_same(void **state)
{
    (void)state;
    settings = (ovp_diagnosis_settings){.context = OVP_DIAGNOSIS_IN_SERVICE};
    answer_count = 0;
    of_text("return 1");
    of_text("return {");
    of_text(HEAD "run = 1 }");
    of_text("\n\nerror('x')");
    of_text(HEAD "run = function()\n error({}) end }");
    of_text(HEAD "run = function() end }");
    of_text(HEAD "run = function() ask('warm-tip', { why = 'because\\nof it', from_memory = true }) end }");
    of_text(HEAD "run = function() ask('no-such') end }");
    of_text(
        HEAD
        "run = function()\n table.sort({ 3, 2, 1 }, function(a, b) ask('warm-tip') return a < b end) end }");
    of_text(HEAD
            "run = function() conclude { fault = 'sensor-reversed', text = 't', remedy = 'r', proof = 'p' } "
            "end }");
    of_text(HEAD "implies = { ['warm-tip'] = 'no-such' }, run = function() end }");
    of_text(
        HEAD
        "implies = { ['warm-tip'] = 'falls' }, words = { 'a', 'b' }, first = 'off', told = { { 'x', "
        "['warm-tip'] = 'falls' }, { 'y' } }, run = function() doubt('warm-tip') ask(next_question()) end }");
    of_text(HEAD "run = function() ask('ohms-couple', { why = ('x'):rep(700) }) end }");
    snprintf(answers[0].id, sizeof answers[0].id, "warm-tip");
    snprintf(answers[0].answer, sizeof answers[0].answer, "purple");
    answer_count = 1;
    of_text(HEAD "run = function() end }");
    assert_int_equal(apart.step.bad_answer, 1);
    assert_string_equal(apart.error.file, "");
    answer_count = 0;
}

/* A guide that never ends, or takes all: the line in both, whoever of the two sees it first. */
static void guides_that_do_not_end(void **state)
{
    (void)state;
    static const char *const texts[] = {
        HEAD "run = function() while true do end end }",
        HEAD "run = function() while true do pcall(ask) end end }",
        HEAD "run = function() local t = {} while true do t[#t + 1] = {} end end }",
        HEAD "run = function() return ('a'):rep(200000):find('.-.-.-b') end }",
        "while true do end",
    };
    settings = (ovp_diagnosis_settings){.context = OVP_DIAGNOSIS_IN_SERVICE};
    answer_count = 0;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        guide_text text = {"g.lua", texts[i], strlen(texts[i])};
        evaluate(&apart, &text, guide_run_apart);
        assert_int_equal(apart.status, OVP_ERROR_DATA);
        assert_string_equal(apart.error.file, "g.lua");
        assert_null(strchr(apart.error.what, '\n'));
    }
}

/* ---- a process that lies ----------------------------------------------------------------------------------
 */

static void said_bytes(ovp_span messages)
{
    apart.state = ovp_diagnosis_case_init(apart.memory, &settings);
    apart.error = (ovp_error){0};
    lua_guide_call call = {.path = "g.lua",
                           .settings = &settings,
                           .state = apart.state,
                           .answers = answers,
                           .answer_count = answer_count};
    apart.status = guide_settle_bytes(&call, messages, &apart.about, &apart.step, &apart.error);
}

static void said(const char *messages)
{
    said_bytes(ovp_span_of(messages));
}

static void refused(const char *messages, const char *what)
{
    said(messages);
    if (apart.status != OVP_ERROR_DATA || strstr(apart.error.what, what) == NULL)
        fail_msg("%s: %d %s", messages, apart.status, apart.error.what);
}

static const ovp_diagnosis_measurement *some_live(void)
{
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++)
        if (strcmp(ovp_diagnosis_measurement_at(i)->energised, "live") == 0)
            return ovp_diagnosis_measurement_at(i);
    return NULL;
}

static void no_lie_passes(void **state)
{
    (void)state;
    char message[256];
    settings = (ovp_diagnosis_settings){.context = OVP_DIAGNOSIS_IN_SERVICE};
    answer_count = 0;
    const ovp_diagnosis_measurement *live = some_live();
    assert_non_null(live);
    snprintf(message, sizeof message, "question %zu\n%s\n", strlen(live->id), live->id);
    refused(message, "may not be asked"); /* of an owner */
    refused("question 7\nno-such\n", "may not be asked");
    refused("holds 7\nno-such\n", "not understood");
    refused("fault 7\nno-such\n", "not known");
    refused("purple 1\nx\n", "not understood");
    said_bytes((ovp_span){"title 3\na\0b\n", 12});
    assert_int_equal(apart.status, OVP_ERROR_DATA);
    refused("told-evidence 14\nwarm-tip=falls\n", "not understood");
    refused("implies 8\nwarm-tip\n", "not understood");
    refused("implies 9\nno-such=x\n", "not understood");
    said("implies 14\nwarm-tip=purple\n");
    assert_int_equal(apart.status, OVP_ERROR_DATA);
    /* "good" without the safety set: a question comes instead */
    settings.healthy = 0.9; /* a clean trace */
    said("");
    assert_int_equal(apart.status, OVP_OK);
    assert_false(apart.step.concluded);
    assert_non_null(apart.step.question);
    settings.healthy = 0;
    /* what a person answered is not taken back by leaving it out */
    snprintf(answers[0].id, sizeof answers[0].id, "warm-tip");
    snprintf(answers[0].answer, sizeof answers[0].answer, "falls");
    answer_count = 1;
    said("");
    assert_int_equal(apart.status, OVP_OK);
    assert_string_equal(ovp_diagnosis_answered(apart.state, "warm-tip"), "falls");
    refused("question 8\nwarm-tip\n", "may not be asked"); /* again */
    answer_count = 0;
}

static int set_up(void **state)
{
    (void)state;
    here.memory = new_memory();
    apart.memory = new_memory();
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    free(here.memory);
    free(apart.memory);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shipped_guides_come_to_the_same),
        cmocka_unit_test(own_guides_come_to_the_same),
        cmocka_unit_test(guides_that_do_not_end),
        cmocka_unit_test(no_lie_passes),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
