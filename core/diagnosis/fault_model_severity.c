/* A severity as people write it: a share of the range, or a quantity in the unit of the fault. */
#include "ovenproof/diagnosis.h"

#include <math.h>
#include <string.h>

/* Which couples lie in the same drawer: the pairs that are mixed up in practice (judgement). */
size_t ovp_diagnosis_wrong_types(const char *fault, ovp_tc_type right,
                                 ovp_tc_type types[OVP_DIAGNOSIS_WRONG_TYPES])
{
    if (strcmp(fault, "extension-wrong-type") == 0) {
        types[0] = right == OVP_TC_K ? OVP_TC_J : OVP_TC_K;
        types[1] = OVP_TC_COPPER;
        return 2;
    }
    switch (right) {
    case OVP_TC_K:
        types[0] = OVP_TC_N;
        types[1] = OVP_TC_J;
        break;
    case OVP_TC_S:
        types[0] = OVP_TC_R;
        types[1] = OVP_TC_K;
        break;
    case OVP_TC_R:
        types[0] = OVP_TC_S;
        types[1] = OVP_TC_K;
        break;
    default:
        types[0] = OVP_TC_K;
        types[1] = right == OVP_TC_J ? OVP_TC_N : OVP_TC_J;
        break;
    }
    return 2;
}

/* What a unit of faults.csv is read as. */
static const struct unit {
    const char *name;
    ovp_text_kind kind;
    double factor;
    const char *suffix; /* a unit that no quantity has: a number and this */
    const char *example;
} units[] = {
    {"%", OVP_TEXT_RATIO, 100, "%", "15%"},
    {"C", OVP_TEXT_TEMPERATURE_DIFFERENCE, 1, NULL, "9F"},
    {"min", OVP_TEXT_DURATION, 1.0 / 60, NULL, "10min"},
    {"ohm", OVP_TEXT_RESISTANCE, 1, NULL, "0.3ohm"},
    {"kg", OVP_TEXT_MASS, 1, NULL, "1kg"},
    {"cm2", OVP_TEXT_COUNT, 1, "cm2", "2cm2"},
    {"/h", OVP_TEXT_COUNT, 1, "/h", "30/h"},
    {"x", OVP_TEXT_COUNT, 1, "x", "30x"},
};

static bool ends_with(ovp_span text, const char *suffix)
{
    const size_t length = strlen(suffix);

    return text.count > length && memcmp(text.bytes + text.count - length, suffix, length) == 0;
}

static ovp_status amount_in(const struct unit *unit, const char *text, double *amount, ovp_error *error)
{
    ovp_span number = ovp_span_trim(ovp_span_of(text));
    double value;

    if (unit->suffix) {
        if (!ends_with(number, unit->suffix)) {
            return ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" is not in %s", text, unit->name);
        }
        number.count -= strlen(unit->suffix);
        if (!ovp_text_number(number, &value)) {
            return ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" is not a quantity", text);
        }
        *amount = value;
        return OVP_OK;
    }
    const ovp_status status = ovp_text_quantity(number, unit->kind, OVP_TEXT_DEGREES_NONE, &value, error);
    if (status == OVP_OK) {
        *amount = value * unit->factor;
    }
    return status;
}

/* Volts of a supply fault, as its percentage: 228V on a 240 V oven is 5 % low, and 95 % of the right volts.
 */
static bool amount_from_volts(const ovp_oven *oven, const char *fault, const char *text, double *amount)
{
    const bool low = strcmp(fault, "supply-low") == 0 || strcmp(fault, "supply-shared") == 0;
    double volts_V;

    if ((!low && strcmp(fault, "supply-wrong-voltage") != 0) || !oven || !(oven->supply.volts_V > 0) ||
        ovp_text_quantity(ovp_span_of(text), OVP_TEXT_VOLTAGE, OVP_TEXT_DEGREES_NONE, &volts_V, NULL) !=
            OVP_OK) {
        return false;
    }
    const double percent = 100 * volts_V / oven->supply.volts_V;
    *amount = low ? 100 - percent : percent;
    return true;
}

static bool severity_of_type(const ovp_oven *oven, const char *fault, const char *text, double *severity)
{
    const ovp_tc_type right = oven && oven->sensor.known ? oven->sensor.type : OVP_TC_K;
    ovp_tc_type types[OVP_DIAGNOSIS_WRONG_TYPES];
    const size_t count = ovp_diagnosis_wrong_types(fault, right, types);
    ovp_tc_type named;

    if (!ovp_tc_type_named(ovp_span_of(text), true, &named)) {
        return false;
    }
    for (size_t i = 0; i < count; ++i) {
        if (types[i] == named) {
            *severity = ((double)i + 0.5) / (double)count;
            return true;
        }
    }
    return false;
}

static ovp_status refuse(const ovp_oven *oven, const ovp_diagnosis_fault *row, const char *text,
                         ovp_error *error)
{
    const ovp_tc_type right = oven && oven->sensor.known ? oven->sensor.type : OVP_TC_K;
    ovp_tc_type types[OVP_DIAGNOSIS_WRONG_TYPES];

    (void)ovp_error_set(error, OVP_ERROR_DATA, "%s cannot be \"%s\" bad", row->id, text);
    if (strcmp(row->severity_unit, "type") == 0) {
        (void)ovp_diagnosis_wrong_types(row->id, right, types);
        ovp_error_hint(error, "give 0 to 1, %s or %s", ovp_tc_type_name(types[0]),
                       ovp_tc_type_name(types[1]));
        return OVP_ERROR_DATA;
    }
    for (size_t i = 0; i < sizeof units / sizeof units[0]; ++i) {
        if (strcmp(units[i].name, row->severity_unit) == 0) {
            ovp_error_hint(error, "give 0 (mild) to 1 (severe), or a quantity such as %s", units[i].example);
            return OVP_ERROR_DATA;
        }
    }
    ovp_error_hint(error, "this fault has no degrees: leave the severity away");
    return OVP_ERROR_DATA;
}

ovp_status ovp_diagnosis_severity(const ovp_oven *oven, const char *fault, const char *text, double *severity,
                                  ovp_error *error)
{
    const ovp_diagnosis_fault *row = ovp_diagnosis_fault_named(fault);
    double value;

    if (!row) {
        return ovp_error_set(error, OVP_ERROR_DATA, "there is no fault \"%s\"", fault);
    }
    if (strcmp(text, "mild") == 0 || strcmp(text, "severe") == 0) {
        *severity = strcmp(text, "severe") == 0;
        return OVP_OK;
    }
    if (ovp_text_number(ovp_span_of(text), &value)) {
        if (!(value >= 0 && value <= 1)) {
            return refuse(oven, row, text, error);
        }
        *severity = value;
        return OVP_OK;
    }
    if (strcmp(row->severity_unit, "type") == 0) {
        return severity_of_type(oven, fault, text, severity) ? OVP_OK : refuse(oven, row, text, error);
    }
    bool known = amount_from_volts(oven, fault, text, &value);
    for (size_t i = 0; !known && i < sizeof units / sizeof units[0]; ++i) {
        known = strcmp(units[i].name, row->severity_unit) == 0 &&
                amount_in(&units[i], text, &value, NULL) == OVP_OK;
    }
    if (!known || !isfinite(value)) {
        return refuse(oven, row, text, error);
    }
    *severity = (value - row->mild) / (row->severe - row->mild);
    return OVP_OK;
}
