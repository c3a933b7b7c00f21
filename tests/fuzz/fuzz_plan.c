/* A firing plan is read or refused with words; one that passed is laid out and judged in finite figures. */
#include "lua/lua.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static void judge(const ovp_oven_plan *plan, double thickness_m)
{
    static ovp_oven_plan_review review;
    const ovp_oven_plan_facts facts = {thickness_m, NAN, 1000.0, OVP_TEXT_DEGREES_F};
    ovp_oven_plan_review_of(plan, &facts, &review);
    expect(review.leg_count <= plan->step_count && review.leg_count <= OVP_OVEN_PLAN_STEPS);
    expect(review.note_count <= OVP_OVEN_PLAN_NOTES);
    expect(isfinite(review.heated_s) && isfinite(review.air_s) && isfinite(review.top_C));
    for (size_t i = 0; i < review.leg_count; i++)
        expect(review.legs[i].step < plan->step_count && !(review.legs[i].time_s < 0));
    for (size_t i = 0; i < review.note_count; i++)
        expect(review.notes[i].text[0] != '\0' && review.notes[i].step <= plan->step_count &&
               review.notes[i].grade <= review.grade);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_oven_plan plan;
    ovp_error error = {0};
    if (lua_read_plan_bytes((const char *)data, size, "plan.lua", &plan, &error) != OVP_OK) {
        expect(error.what[0] != '\0');
        return 0;
    }
    judge(&plan, NAN);
    judge(&plan, 0.05);
    return 0;
}
