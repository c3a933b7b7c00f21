/* A number with its unit as an answer, held against the bounds of outcomes.csv. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* What a unit of the tables is, and its size in the unit that ovp_text_quantity gives. */
static bool unit_of(const char *unit, ovp_text_kind *kind, double *size)
{
    static const struct {
        const char *unit;
        ovp_text_kind kind;
        double size;
    } units[] = {
        {"ratio", OVP_TEXT_RATIO, 1},    {"degF", OVP_TEXT_TEMPERATURE_DIFFERENCE, 5.0 / 9.0},
        {"ohm", OVP_TEXT_RESISTANCE, 1}, {"Mohm", OVP_TEXT_RESISTANCE, 1e6},
        {"V", OVP_TEXT_VOLTAGE, 1},      {"A", OVP_TEXT_CURRENT, 1},
        {"mA", OVP_TEXT_CURRENT, 1e-3},  {"mV", OVP_TEXT_EMF, 1},
    };
    for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); i++) {
        if (strcmp(units[i].unit, unit) == 0) {
            *kind = units[i].kind;
            *size = units[i].size;
            return true;
        }
    }
    return false;
}

/* The figure of this oven that ratios of a measurement are relative to; NAN when it is not known. */
static double reference_of(const ovp_diagnosis_case *state, const char *reference, ovp_text_kind *kind)
{
    ovp_electrical_load load;
    const ovp_oven *oven = state->settings.oven;
    if (strcmp(reference, "supply_V") == 0) {
        *kind = OVP_TEXT_VOLTAGE;
        return oven != NULL ? oven->supply.volts_V : NAN;
    }
    if (strcmp(reference, "full_A") == 0) {
        *kind = OVP_TEXT_CURRENT;
        return oven != NULL && ovp_electrical_load_of(oven, NAN, &load, NULL) == OVP_OK ? load.full_A : NAN;
    }
    if (strcmp(reference, "element_cold_ohm") == 0) {
        *kind = OVP_TEXT_RESISTANCE;
        return oven != NULL && ovp_electrical_load_of(oven, NAN, &load, NULL) == OVP_OK
                   ? load.element_cold_ohm
                   : NAN;
    }
    *kind = OVP_TEXT_RATIO;
    return NAN;
}

/* A written number in the unit of one row; false when it is another kind of quantity. */
static bool in_unit_of(const ovp_diagnosis_outcome *row, ovp_span text, ovp_text_kind reference_kind,
                       double reference, double *value)
{
    ovp_text_kind kind;
    double size, read;
    if (!unit_of(row->unit, &kind, &size)) {
        return false;
    }
    if (kind == OVP_TEXT_RATIO && reference_kind != OVP_TEXT_RATIO &&
        ovp_text_quantity(text, reference_kind, OVP_TEXT_DEGREES_NONE, &read, NULL) == OVP_OK &&
        !isnan(reference)) {
        *value = read / reference;
        return true;
    }
    if (ovp_text_quantity(text, kind, OVP_TEXT_DEGREES_NONE, &read, NULL) != OVP_OK) {
        return false;
    }
    *value = read / size;
    return true;
}

static double distance(const ovp_diagnosis_outcome *row, double value)
{
    if (value >= row->low && value < row->high) {
        return -1;
    }
    const double away = value < row->low ? row->low - value : value - row->high;
    return away / fmax(1e-300, fmax(fabs(row->low), fabs(row->high) < 1e9 ? fabs(row->high) : 0));
}

static size_t place_of(const ovp_diagnosis_measurement *measurement, const char *outcome)
{
    size_t place = 0;
    while (place < measurement->outcome_count && strcmp(measurement->outcomes[place], outcome) != 0) {
        place++;
    }
    return place;
}

ovp_status diagnosis_outcome_of(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement,
                                ovp_span text, size_t *outcome, ovp_error *error)
{
    ovp_text_kind reference_kind;
    const double reference = reference_of(state, measurement->reference, &reference_kind);
    double nearest = INFINITY;
    bool bounded = false;
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(i);
        double value;
        if (isnan(row->low) || strcmp(row->measurement, measurement->id) != 0) {
            continue;
        }
        bounded = true;
        if (in_unit_of(row, text, reference_kind, reference, &value) && distance(row, value) < nearest) {
            nearest = distance(row, value);
            *outcome = place_of(measurement, row->outcome);
        }
    }
    if (isfinite(nearest)) {
        return OVP_OK;
    }
    if (!bounded) {
        return ovp_error_set(error, OVP_ERROR_DATA, "'%.*s' is no answer to %s",
                             (int)(text.count < 40 ? text.count : 40), text.bytes, measurement->id);
    }
    return ovp_error_set(
        error, OVP_ERROR_DATA, "'%.*s' is no answer to %s: it takes a word or a number in %s",
        (int)(text.count < 40 ? text.count : 40), text.bytes, measurement->id, measurement->unit);
}
