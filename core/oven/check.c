/* What a description must hold, and what must agree in it. */
#include "oven/oven_internal.h"

#include <math.h>

static ovp_status check_required(const ovp_oven *oven, ovp_error *error)
{
    for (const ovp_oven_field *field = ovp_oven_fields(); field->path != NULL; field++) {
        if (!field->required || ovp_oven_given(oven, field->path))
            continue;
        ovp_error_set(error, OVP_ERROR_DATA, "'%s' is missing: %s", field->path, field->text);
        ovp_error_hint(error, "add it to the description");
        return OVP_ERROR_DATA;
    }
    return OVP_OK;
}

static ovp_status check_wiring(const ovp_oven *oven, ovp_error *error)
{
    if (oven->wiring == OVP_OVEN_WIRING_SINGLE && oven->element_count > 1) {
        ovp_error_set(error, OVP_ERROR_DATA, "wiring is 'single' but there are %zu elements",
                      oven->element_count);
        ovp_error_hint(error, "write wiring=\"parallel\" or \"series\"");
        return OVP_ERROR_DATA;
    }
    if ((oven->wiring == OVP_OVEN_WIRING_PARALLEL || oven->wiring == OVP_OVEN_WIRING_SERIES) &&
        oven->element_count == 1) {
        ovp_error_set(error, OVP_ERROR_DATA, "wiring is '%s' but there is one element",
                      oven->wiring == OVP_OVEN_WIRING_PARALLEL ? "parallel" : "series");
        ovp_error_hint(error, "write wiring=\"single\", or list every element");
        return OVP_ERROR_DATA;
    }
    return OVP_OK;
}

static ovp_status check_heat_up(const ovp_oven *oven, ovp_error *error)
{
    double to_C = -INFINITY, within_s = 0.0;
    for (size_t i = 0; i < oven->heat_up_count; i++) {
        const ovp_oven_limit *limit = &oven->heat_up[i];
        if (isnan(limit->to_C) || isnan(limit->within_s))
            return ovp_error_set(error, OVP_ERROR_DATA, "heat_up[%zu] needs both 'to' and 'within'", i + 1);
        if (limit->to_C <= to_C || limit->within_s <= within_s) {
            ovp_error_set(error, OVP_ERROR_DATA, "heat_up[%zu] is not hotter and later than the one before",
                          i + 1);
            ovp_error_hint(error, "list the marks from the coolest to the hottest");
            return OVP_ERROR_DATA;
        }
        to_C = limit->to_C;
        within_s = limit->within_s;
    }
    if (!(to_C <= oven->chamber.limit_C) && !isnan(oven->chamber.limit_C) && oven->heat_up_count > 0) {
        ovp_error_set(error, OVP_ERROR_DATA, "heat_up[%zu] is above chamber.limit", oven->heat_up_count);
        ovp_error_hint(error, "no heat-up may pass the chamber's limit");
        return OVP_ERROR_DATA;
    }
    return OVP_OK;
}

static ovp_status check_sensor(const ovp_oven *oven, ovp_error *error)
{
    if (oven->controller.display_low_C >= oven->controller.display_high_C)
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "controller.display_low is not below controller.display_high");
    if (!oven->sensor.known || isnan(oven->chamber.limit_C))
        return OVP_OK;
    double low_C, high_C, low_mV, high_mV;
    ovp_tc_range(oven->sensor.type, &low_C, &high_C, &low_mV, &high_mV);
    if (oven->chamber.limit_C <= high_C)
        return OVP_OK;
    char limit[64], highest[64];
    ovp_text_format_temperature(oven->chamber.limit_C, OVP_TEXT_DEGREES_NONE, 0, limit, sizeof limit);
    ovp_text_format_temperature(high_C, OVP_TEXT_DEGREES_NONE, 0, highest, sizeof highest);
    ovp_error_set(error, OVP_ERROR_DATA, "chamber.limit is %s, but a type %s sensor reads to %s only", limit,
                  ovp_tc_type_name(oven->sensor.type), highest);
    ovp_error_hint(error, "check the sensor's letter on the drawing");
    return OVP_ERROR_DATA;
}

ovp_status ovp_oven_check(const ovp_oven *oven, ovp_error *error)
{
    ovp_status status = check_required(oven, error);
    if (status == OVP_OK)
        status = check_wiring(oven, error);
    if (status == OVP_OK)
        status = check_heat_up(oven, error);
    if (status == OVP_OK)
        status = check_sensor(oven, error);
    return status;
}
