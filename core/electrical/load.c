#include "electrical/electrical_internal.h"

#include <math.h>
#include <string.h>

static const struct figure_row {
    const char *name;
    double value;
    const char *unit, *source;
} figures[] = {
#include "electrical.inc"
};

double ovp_electrical_figure(const char *name, const char **source)
{
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        if (strcmp(figures[i].name, name) != 0)
            continue;
        if (source != NULL)
            *source = figures[i].source;
        return figures[i].value;
    }
    return NAN;
}

double electrical_figure(const char *name)
{
    return ovp_electrical_figure(name, NULL);
}

static ovp_status missing(const char *what, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "the oven's description has no %s", what);
    ovp_error_hint(error, "add it: ovenproof describe FILE --set %s", what);
    return OVP_ERROR_DATA;
}

/* Volts at which the plate gives an element's watts. In series the plate's volts are not the element's. */
static ovp_status plate_volts(const ovp_oven *oven, size_t index, double *volts_V, ovp_error *error)
{
    double at_V = oven->elements[index].at_V;
    if (isnan(at_V) && oven->wiring != OVP_OVEN_WIRING_SERIES)
        at_V = oven->supply.volts_V;
    if (isnan(at_V))
        return missing(oven->wiring == OVP_OVEN_WIRING_SERIES ? "elements[].at" : "supply.volts", error);
    *volts_V = at_V;
    return OVP_OK;
}

/* Hot and cold ohms of one element alone. */
static ovp_status element_ohms(const ovp_oven *oven, size_t index, double *hot_ohm, double *cold_ohm,
                               ovp_error *error)
{
    const ovp_oven_element *element = &oven->elements[index];
    double volts_V, factor;
    if (isnan(element->power_W))
        return missing("elements[].watts", error);
    ovp_status status = plate_volts(oven, index, &volts_V, error);
    if (status != OVP_OK)
        return status;
    if (!ovp_electrical_alloy_factor(element->alloy, electrical_figure("element_hot_temperature"), &factor)) {
        ovp_error_set(error, OVP_ERROR_DATA, "elements[%zu].alloy: '%s' is not an alloy known here",
                      index + 1, element->alloy);
        ovp_error_hint(error,
                       "write FeCrAl, NiCr 80/20 or another row of reference/heater-ct.csv, or leave it out");
        return OVP_ERROR_DATA;
    }
    *hot_ohm = volts_V * volts_V / element->power_W;
    *cold_ohm = *hot_ohm / factor;
    return OVP_OK;
}

/* Join one more element to those before it. */
static void join(bool parallel, double *sum_ohm, double ohm)
{
    if (!parallel)
        *sum_ohm += ohm;
    else
        *sum_ohm = *sum_ohm == 0.0 ? ohm : *sum_ohm * ohm / (*sum_ohm + ohm);
}

static ovp_status join_elements(const ovp_oven *oven, ovp_electrical_load *load, ovp_error *error)
{
    bool parallel = oven->wiring == OVP_OVEN_WIRING_PARALLEL;
    for (size_t i = 0; i < oven->element_count; i++) {
        double hot_ohm, cold_ohm;
        ovp_status status = element_ohms(oven, i, &hot_ohm, &cold_ohm, error);
        if (status != OVP_OK)
            return status;
        join(parallel, &load->hot_ohm, hot_ohm);
        join(parallel, &load->cold_ohm, cold_ohm);
        load->element_ohm[i] = cold_ohm;
        load->alloy_assumed = load->alloy_assumed || oven->elements[i].alloy[0] == '\0';
    }
    load->element_cold_ohm = load->element_ohm[0];
    load->branches = parallel ? oven->element_count : 1;
    return OVP_OK;
}

ovp_status ovp_electrical_load_of(const ovp_oven *oven, double supply_V, ovp_electrical_load *load,
                                  ovp_error *error)
{
    double volts_V = isnan(supply_V) ? oven->supply.volts_V : supply_V;
    if (oven->element_count == 0)
        return missing("elements[1].watts", error);
    if (isnan(volts_V))
        return missing("supply.volts", error);
    if (oven->element_count > 1 && oven->wiring == OVP_OVEN_WIRING_UNKNOWN)
        return missing("wiring", error);
    ovp_electrical_load made = {.ohm_tolerance = electrical_figure("element_ohm_tolerance")};
    ovp_status status = join_elements(oven, &made, error);
    if (status != OVP_OK)
        return status;
    made.full_A = volts_V / made.hot_ohm;
    made.full_W = volts_V * made.full_A;
    made.cold_A = volts_V / made.cold_ohm;
    made.controls_counted = !isnan(oven->controls_A);
    made.total_A = made.full_A + (made.controls_counted ? oven->controls_A : 0.0);
    *load = made;
    return OVP_OK;
}
