/* What a closed process says of itself: any bytes, and whatever is made of them keeps the rules of safety. */
#include "lua/lua_internal.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_text(const char *text, size_t size)
{
    if (memchr(text, '\0', size) == NULL)
        abort();
}

/* Never a live question to an owner, never one that nobody can be asked, and every text ends. */
static void check_step(const lua_guide_call *call, const lua_guide_step *step)
{
    check_text(step->why, sizeof step->why);
    check_text(step->expect, sizeof step->expect);
    check_text(step->text, sizeof step->text);
    check_text(step->remedy, sizeof step->remedy);
    check_text(step->proof, sizeof step->proof);
    check_text(step->fault, sizeof step->fault);
    if (step->concluded == (step->question != NULL))
        abort();
    if (step->fault[0] != '\0' && ovp_diagnosis_fault_named(step->fault) == NULL)
        abort();
    if (step->question == NULL || step->question == &step->own.question)
        return;
    if (strcmp(step->question->energised, "live") == 0 || !ovp_diagnosis_in_role(call->state, step->question))
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const ovp_diagnosis_settings owner = {.context = OVP_DIAGNOSIS_IN_SERVICE, .shown = OVP_TEXT_DEGREES_F};
    void *memory = malloc(ovp_diagnosis_case_size());
    lua_guide_about *about = calloc(1, sizeof *about);
    lua_guide_step *step = calloc(1, sizeof *step);
    if (memory != NULL && about != NULL && step != NULL) {
        const lua_guide_call call = {
            .path = "theirs.lua", .settings = &owner, .state = ovp_diagnosis_case_init(memory, &owner)};
        ovp_error error = {0};
        ovp_status status =
            guide_settle_bytes(&call, (ovp_span){(const char *)data, size}, about, step, &error);
        if (status == OVP_OK)
            check_step(&call, step);
        else if (error.what[0] == '\0')
            abort();
    }
    free(step);
    free(about);
    free(memory);
    return 0;
}
