/*
 * Every checklist on both ovens of the demo, as owner and as technician: all done well it is good, every stop
 * condition stops, and a skipped safety test is never a pass. Contract: docs/json.md.
 */
#include "command/checklist.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char *const ovens[] = {"QR-8", "QR-3"};
static size_t lists_seen, stops_seen;

static void make_session(checklist_session *session, const command_call *call, const char *path,
                         const char *oven, bool technician)
{
    memset(session, 0, sizeof *session);
    session->call = call;
    session->technician = technician;
    session->oven_count = 1;
    session->ovens[0].described = true;
    session->ovens[0].first_s = session->ovens[0].first_V = (double)NAN;
    assert_int_equal(lua_read_oven(oven, &session->ovens[0].description, NULL, NULL, NULL), OVP_OK);
    assert_int_equal(lua_read_checklist(path, &session->list, NULL), OVP_OK);
    assert_int_equal(checklist_expand(session, NULL), OVP_OK);
    checklist_set_aside(session);
}

/* An answer just as good or as bad as the step wants it. */
static void answer(checklist_session *session, size_t step, bool good)
{
    const lua_checklist_step *row = &session->list.steps[step];
    char number[OVP_TEXT_NUMBER_SIZE], text[OVP_TEXT_NUMBER_SIZE + 8];
    lua_checklist_limit limit;
    ovp_error error = {0};
    checklist_limit(session, 0, step, &limit);
    if (row->of == LUA_CHECKLIST_OF_EYE || !limit.known) {
        (void)snprintf(text, sizeof text, good ? "pass" : "fail");
    } else if (row->of == LUA_CHECKLIST_OF_SAME) {
        (void)snprintf(text, sizeof text, "%.30s", good ? row->same : "another");
    } else {
        const double edge = isnan(limit.high) ? limit.low : limit.high;
        const double outside =
            isnan(limit.high) ? edge - 0.01 * fabs(edge) : edge + 0.01 * fabs(edge) + 0.001;
        ovp_text_format_number(good ? edge : outside, number);
        (void)snprintf(text, sizeof text, "%s%s", number, checklist_unit(row->kind));
    }
    if (checklist_answer(session, 0, step, text, &error) != OVP_OK)
        fail_msg("%s %s: %s: %s", session->list.name, row->id, text, error.what);
}

static void answer_all(checklist_session *session)
{
    for (size_t i = 0; i < session->list.step_count; i++)
        if (session->ovens[0].steps[i].result == CHECKLIST_OPEN)
            answer(session, i, true);
}

static void try_list(void *context, const char *name, const char *path)
{
    checklist_session *session = context;
    const command_call call = {.degrees = OVP_TEXT_DEGREES_F};
    lists_seen++;
    for (size_t oven = 0; oven < 2; oven++) {
        for (int technician = 0; technician < 2; technician++) {
            make_session(session, &call, path, ovens[oven], technician == 1);
            answer_all(session);
            bool aside = false;
            for (size_t i = 0; i < session->list.step_count; i++)
                aside =
                    aside || (session->list.steps[i].safety && session->ovens[0].steps[i].because != NULL);
            if (checklist_judge(session, 0) != (aside ? CHECKLIST_INCOMPLETE : CHECKLIST_GOOD))
                fail_msg("%s, %s: not good when all is good", name, ovens[oven]);
        }
        for (size_t i = 0; i < session->list.step_count; i++) {
            const checklist_result was = session->ovens[0].steps[i].result;
            if (was >= CHECKLIST_NOT_FITTED)
                continue;
            answer(session, i, false);
            if (checklist_judge(session, 0) !=
                (session->list.steps[i].stop ? CHECKLIST_STOPPED : CHECKLIST_BAD))
                fail_msg("%s, %s: %s failed and nothing came of it", name, ovens[oven],
                         session->list.steps[i].id);
            stops_seen += session->list.steps[i].stop;
            assert_int_equal(checklist_answer(session, 0, i, "skip", NULL), OVP_OK);
            if (session->list.steps[i].safety)
                assert_int_equal(checklist_judge(session, 0), CHECKLIST_INCOMPLETE);
            answer(session, i, true);
            assert_int_equal(checklist_judge(session, 0), CHECKLIST_GOOD);
        }
    }
}

static void every_list(void **state)
{
    (void)state;
    checklist_session *session = malloc(sizeof *session);
    assert_non_null(session);
    lua_list("checklists", try_list, session);
    free(session);
    assert_true(lists_seen >= 9);
    assert_true(stops_seen >= 150);
    print_message("%zu lists, %zu stop conditions fired\n", lists_seen, stops_seen);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_list)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
