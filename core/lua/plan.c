/* Firing plans: data, read leaf by leaf. */
#include "lua/lua_internal.h"

static ovp_status take_leaf(void *context, const char *path, ovp_oven_leaf kind, const char *text,
                            ovp_error *error)
{
    return ovp_oven_plan_set(context, path, kind, text, error);
}

static ovp_status check(const ovp_oven_plan *plan, const char *name, ovp_error *error)
{
    const ovp_status status = ovp_oven_plan_check(plan, error);
    if (status != OVP_OK)
        ovp_error_place(error, name, 0);
    return status;
}

ovp_status lua_read_plan_bytes(const char *bytes, size_t count, const char *name, ovp_oven_plan *plan,
                               ovp_error *error)
{
    ovp_oven_plan_init(plan);
    const ovp_status status = lua_read_data_bytes(bytes, count, name, take_leaf, plan, error);
    return status == OVP_OK ? check(plan, name, error) : status;
}

ovp_status lua_read_plan(const char *name, ovp_oven_plan *plan, ovp_error *error)
{
    char path[OVP_ERROR_FILE_SIZE];
    ovp_status status = lua_find("plans", name, path, sizeof path, error);
    ovp_oven_plan_init(plan);
    if (status == OVP_OK)
        status = lua_read_data(path, take_leaf, plan, error);
    return status == OVP_OK ? check(plan, path, error) : status;
}
