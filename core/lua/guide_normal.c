/* normal(id): the thing asked about is normal, and its limit is told. Nothing else is called good by it. */
#include "lua/lua_internal.h"

/* What would have to be ruled out first: a dangerous cause that holds more than this. */
static const double danger_held = 0.2;

bool guide_danger_is_likely(const guide_host *host)
{
    ovp_diagnosis_result result;
    ovp_diagnosis_infer(host->call->state, &result);
    for (size_t i = 0; i < result.cause_count; i++)
        if (result.causes[i].fault->danger >= GUIDE_DANGEROUS && result.causes[i].present > danger_held)
            return true;
    return false;
}

int guide_normal(lua_State *L)
{
    guide_host *host = guide_host_of(L);
    guide_check_can_wait(L, "normal");
    const char *id = luaL_checkstring(L, 1);
    const ovp_diagnosis_normal *row = ovp_diagnosis_normal_named(id);
    if (row == NULL)
        return luaL_error(L, "\"%s\" is not among the normal things (reference/normal.csv)", id);
    if (guide_danger_is_likely(host)) {
        lua_pushboolean(L, 0);
        return 1;
    }
    host->step->normal = row;
    return guide_end_concluded(L, host);
}
