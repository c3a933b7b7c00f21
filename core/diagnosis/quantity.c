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
        {"%", OVP_TEXT_RATIO, 0.01},
        {"ratio", OVP_TEXT_RATIO, 1},
        {"degF", OVP_TEXT_TEMPERATURE_DIFFERENCE, 5.0 / 9.0},
        {"ohm", OVP_TEXT_RESISTANCE, 1},
        {"Mohm", OVP_TEXT_RESISTANCE, 1e6},
        {"V", OVP_TEXT_VOLTAGE, 1},
        {"A", OVP_TEXT_CURRENT, 1},
        {"mA", OVP_TEXT_CURRENT, 1e-3},
        {"mV", OVP_TEXT_EMF, 1},
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

/* What the ratios of a measurement are relative to on this oven. */
typedef struct reference_figure {
    ovp_text_kind kind; /**< RATIO: only a ratio can be said */
    double value;       /**< NAN when it is not known */
    bool over;          /**< the ratio is this figure over what was read, not the other way round */
} reference_figure;

/* Emf of the sensor with its tip in boiling water at sea level and the controller's screws at room. */
static double boiling_emf(const ovp_oven *oven)
{
    static const double boiling_C = 100, room_F = 75;
    double hot_mV, cold_mV;
    return oven != NULL && oven->sensor.known &&
                   ovp_tc_emf(oven->sensor.type, boiling_C, &hot_mV, NULL) == OVP_OK &&
                   ovp_tc_emf(oven->sensor.type, ovp_text_to_celsius(room_F, OVP_TEXT_DEGREES_F), &cold_mV,
                              NULL) == OVP_OK
               ? hot_mV - cold_mV
               : NAN;
}

static reference_figure reference_of(const ovp_oven *oven, const char *reference)
{
    ovp_electrical_load load;
    const bool known = oven != NULL && ovp_electrical_load_of(oven, NAN, &load, NULL) == OVP_OK;
    if (strcmp(reference, "supply_V") == 0) {
        return (reference_figure){OVP_TEXT_VOLTAGE, oven != NULL ? oven->supply.volts_V : NAN, false};
    }
    if (strcmp(reference, "full_A") == 0) {
        return (reference_figure){OVP_TEXT_CURRENT, known ? load.full_A : NAN, false};
    }
    if (strcmp(reference, "element_cold_ohm") == 0) {
        return (reference_figure){OVP_TEXT_RESISTANCE, known ? load.element_cold_ohm : NAN, false};
    }
    if (strcmp(reference, "total_cold_ohm") == 0) {
        return (reference_figure){OVP_TEXT_RESISTANCE, known ? load.cold_ohm : NAN, false};
    }
    if (strcmp(reference, "boiling_mV") == 0) {
        return (reference_figure){OVP_TEXT_EMF, boiling_emf(oven), false};
    }
    if (strcmp(reference, "plate_over_breaker") == 0) {
        return (reference_figure){OVP_TEXT_CURRENT, known ? load.total_A : NAN, true};
    }
    return (reference_figure){OVP_TEXT_RATIO, NAN, false};
}

double diagnosis_reference(const ovp_oven *oven, const char *reference, const char **unit)
{
    const reference_figure figure = reference_of(oven, reference);
    *unit = figure.kind == OVP_TEXT_VOLTAGE      ? "V"
            : figure.kind == OVP_TEXT_CURRENT    ? "A"
            : figure.kind == OVP_TEXT_RESISTANCE ? "ohm"
            : figure.kind == OVP_TEXT_EMF        ? "mV"
                                                 : "";
    return figure.value;
}

/* A written number in the unit of one row; false when it is another kind of quantity. */
static bool in_unit_of(const ovp_diagnosis_outcome *row, ovp_span text, reference_figure reference,
                       double *value)
{
    ovp_text_kind kind;
    double size, read;
    if (!unit_of(row->unit, &kind, &size)) {
        return false;
    }
    if (kind == OVP_TEXT_RATIO && reference.kind != OVP_TEXT_RATIO && !isnan(reference.value) &&
        ovp_text_quantity(text, reference.kind, OVP_TEXT_DEGREES_NONE, &read, NULL) == OVP_OK) {
        *value = (reference.over ? reference.value / read : read / reference.value) / size;
        return isfinite(*value);
    }
    if (ovp_text_quantity(text, kind, OVP_TEXT_DEGREES_NONE, &read, NULL) != OVP_OK) {
        return false;
    }
    /* a bare number where per cent are asked for is per cent */
    const bool bare = strcmp(row->unit, "%") == 0 && memchr(text.bytes, '%', text.count) == NULL;
    *value = bare ? read : read / size;
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

ovp_status diagnosis_outcome_of(const ovp_oven *oven, const ovp_diagnosis_measurement *measurement,
                                ovp_span text, size_t *outcome, ovp_error *error)
{
    const reference_figure reference = reference_of(oven, measurement->reference);
    double nearest = INFINITY;
    bool bounded = false;
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(i);
        double value;
        if (isnan(row->low) || strcmp(row->measurement, measurement->id) != 0) {
            continue;
        }
        bounded = true;
        if (in_unit_of(row, text, reference, &value) && distance(row, value) < nearest) {
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
