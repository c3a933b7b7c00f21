/* What a question should read on this oven, in words. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    FIELD_SIZE = 160,
    TEMPLATE_SIZE = 480,
};

static const char no_oven[] = "not known without a description of the oven";

/* One field being filled: where it goes, and what the description lacks when it cannot be. */
typedef struct field {
    const ovp_oven *oven;
    const ovp_diagnosis_measurement *measurement;
    char text[FIELD_SIZE];
    const char *missing;
} field;

static bool lacks(field *to, const char *what)
{
    to->missing = what;
    return false;
}

static bool write_number(field *to, double value, int decimals, const char *unit, const char *missing)
{
    if (!isfinite(value)) {
        return lacks(to, missing);
    }
    const size_t length = ovp_text_format_fixed(value, decimals, to->text, FIELD_SIZE);
    snprintf(to->text + length, FIELD_SIZE - length, " %s", unit);
    return true;
}

/* Three significant digits or so: what a meter of the trade shows. */
static int decimals_of(double value)
{
    return fabs(value) < 10 ? 2 : fabs(value) < 100 ? 1 : 0;
}

/* ---- figures of the load ------------------------------------------------------------------------------ */

static const char *what_load_lacks(const ovp_oven *oven)
{
    return isnan(oven->supply.volts_V) ? "the supply volts" : "the elements' watts and volts";
}

static bool load_field(field *to, const char *name)
{
    const ovp_oven *oven = to->oven;
    ovp_electrical_load load;
    if (ovp_electrical_load_of(oven, NAN, &load, NULL) != OVP_OK) {
        return lacks(to, what_load_lacks(oven));
    }
    if (strcmp(name, "element_cold_ohm") == 0) {
        return write_number(to, load.element_cold_ohm, decimals_of(load.element_cold_ohm), "ohm", "watts");
    }
    if (strcmp(name, "element_hot_ohm") == 0) {
        const double hot = oven->elements[0].at_V * oven->elements[0].at_V / oven->elements[0].power_W;
        return write_number(to, hot, decimals_of(hot), "ohm", "the elements' watts and volts");
    }
    if (strcmp(name, "total_cold_ohm") == 0) {
        return write_number(to, load.cold_ohm, decimals_of(load.cold_ohm), "ohm", "watts");
    }
    if (strcmp(name, "full_A") == 0) {
        return write_number(to, load.full_A, 1, "A", "watts");
    }
    if (strcmp(name, "total_A") == 0) {
        return write_number(to, load.total_A, 1, "A", "watts");
    }
    if (strcmp(name, "plate_share") == 0) {
        return write_number(to, 100 * load.total_A / oven->supply.circuit_A, 0, "%", "the circuit's amps");
    }
    return lacks(to, "");
}

static bool is_load_field(const char *name)
{
    return diagnosis_has_word("element_cold_ohm|element_hot_ohm|total_cold_ohm|full_A|total_A|plate_share",
                              '|', name, strlen(name));
}

/* ---- bounds of an outcome on this oven ----------------------------------------------------------------- */

static const ovp_diagnosis_outcome *bounds_of(const char *measurement, const char *outcome)
{
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(i);
        if (strcmp(row->measurement, measurement) == 0 && strcmp(row->outcome, outcome) == 0 &&
            !isnan(row->low)) {
            return row;
        }
    }
    return NULL;
}

/* "band OUTCOME", "low OUTCOME", "high OUTCOME": ratios of outcomes.csv times the figure of this oven. */
static bool bound_field(field *to, const char *which, const char *outcome)
{
    const ovp_diagnosis_outcome *row = bounds_of(to->measurement->id, outcome);
    if (row == NULL) {
        return lacks(to, "");
    }
    const char *unit;
    const double figure = diagnosis_reference(to->oven, to->measurement->reference, &unit) *
                          (strcmp(row->unit, "%") == 0 ? 0.01 : 1);
    const char *missing = strcmp(unit, "V") == 0 ? "the supply volts" : what_load_lacks(to->oven);
    const double low = row->low * figure, high = row->high * figure;
    if (strcmp(which, "low") == 0) {
        return write_number(to, low, decimals_of(low), unit, missing);
    }
    if (!write_number(to, high, decimals_of(high), unit, missing) || strcmp(which, "high") == 0) {
        return isfinite(high);
    }
    char upper[48], lower[24];
    (void)ovp_copy_string(upper, sizeof(upper), ovp_span_of(to->text));
    (void)ovp_text_format_fixed(low, decimals_of(high), lower, sizeof(lower));
    snprintf(to->text, FIELD_SIZE, "%s to %s", lower, upper);
    return true;
}

/* ---- the sensor ---------------------------------------------------------------------------------------- */

/* "mv HOT COLD", both in °F: what the sensor gives between the two. */
static bool emf_field(field *to, const char *temperatures)
{
    const char *space = strchr(temperatures, ' ');
    double hot_F, cold_F, hot_mV, cold_mV;
    if (space == NULL || !ovp_text_number((ovp_span){temperatures, (size_t)(space - temperatures)}, &hot_F) ||
        !ovp_text_number(ovp_span_of(space + 1), &cold_F)) {
        return lacks(to, "");
    }
    if (!to->oven->sensor.known) {
        return lacks(to, "the sensor's type");
    }
    const ovp_tc_type type = to->oven->sensor.type;
    return ovp_tc_emf(type, ovp_text_to_celsius(hot_F, OVP_TEXT_DEGREES_F), &hot_mV, NULL) == OVP_OK &&
           ovp_tc_emf(type, ovp_text_to_celsius(cold_F, OVP_TEXT_DEGREES_F), &cold_mV, NULL) == OVP_OK &&
           write_number(to, hot_mV - cold_mV, 2, "mV", "");
}

static bool magnet_field(field *to)
{
    const char *text = ovp_tc_magnet(to->oven->sensor.type);
    return text[0] != '\0' ? snprintf(to->text, FIELD_SIZE, "type %s: %s",
                                      ovp_tc_type_name(to->oven->sensor.type), text) > 0
                           : lacks(to, "");
}

static bool colours_field(field *to)
{
    ovp_tc_colours us, iec;
    if (!ovp_tc_colours_of("astm-e230", to->oven->sensor.type, &us) ||
        !ovp_tc_colours_of("iec-60584-3", to->oven->sensor.type, &iec)) {
        return lacks(to, "");
    }
    return snprintf(to->text, FIELD_SIZE,
                    "at every joint the same way: %s + and %s - (US), %s + and %s - (IEC)", us.positive,
                    us.negative, iec.positive, iec.negative) > 0;
}

/* ---- the rest -------------------------------------------------------------------------------------------
 */

/* The heat-up limit nearest to the temperature that the question asks for. */
static bool heat_up_field(field *to)
{
    static const double asked_F = 1000;
    const ovp_oven *oven = to->oven;
    const ovp_oven_limit *nearest = NULL;
    const double asked_C = ovp_text_to_celsius(asked_F, OVP_TEXT_DEGREES_F);
    for (size_t i = 0; i < oven->heat_up_count; i++) {
        const ovp_oven_limit *limit = &oven->heat_up[i];
        if (nearest == NULL || fabs(limit->to_C - asked_C) < fabs(nearest->to_C - asked_C)) {
            nearest = limit;
        }
    }
    if (nearest == NULL) {
        return lacks(to, "its heat-up limits");
    }
    char minutes[24], degrees[24];
    const double exact = nearest->within_s / 60;
    ovp_text_format_fixed(exact, fabs(exact - round(exact)) < 0.05 ? 0 : 1, minutes, sizeof(minutes));
    ovp_text_format_fixed(ovp_text_from_celsius(nearest->to_C, OVP_TEXT_DEGREES_F), 0, degrees,
                          sizeof(degrees));
    return snprintf(to->text, FIELD_SIZE,
                    "the minutes on its own record, within 7 %%; by its limits at most %s min to %s \xC2\xB0"
                    "F",
                    minutes, degrees) > 0;
}

static bool limit_field(field *to)
{
    const double limit_C = to->oven->chamber.limit_C;
    char degrees[24];
    if (!isfinite(limit_C)) {
        return lacks(to, "its highest temperature");
    }
    ovp_text_format_fixed(ovp_text_from_celsius(limit_C, OVP_TEXT_DEGREES_F), 0, degrees, sizeof(degrees));
    return snprintf(to->text, FIELD_SIZE,
                    "%s \xC2\xB0"
                    "F and 100 %%",
                    degrees) > 0;
}

static const char *after_word(const char *name, const char *word)
{
    const size_t length = strlen(word);
    return strncmp(name, word, length) == 0 && name[length] == ' ' ? name + length + 1 : NULL;
}

/* Amps of the clamp at hand with half of each cycle missing. */
static bool half_wave_field(field *to)
{
    ovp_electrical_load load;
    if (ovp_electrical_load_of(to->oven, NAN, &load, NULL) != OVP_OK) {
        return lacks(to, what_load_lacks(to->oven));
    }
    return ovp_electrical_half_wave_words(to->oven, load.full_A, to->text, FIELD_SIZE) > 0;
}

static bool fill_field(field *to, const char *name)
{
    const ovp_oven *oven = to->oven;
    static const char *const bounds[] = {"band", "low", "high"};
    if (oven == NULL) {
        return lacks(to, no_oven);
    }
    for (size_t i = 0; i < sizeof(bounds) / sizeof(bounds[0]); i++) {
        if (after_word(name, bounds[i]) != NULL) {
            return bound_field(to, bounds[i], after_word(name, bounds[i]));
        }
    }
    if (after_word(name, "mv") != NULL) {
        return emf_field(to, after_word(name, "mv"));
    }
    if (is_load_field(name)) {
        return load_field(to, name);
    }
    if (strcmp(name, "supply_V") == 0) {
        return write_number(to, oven->supply.volts_V, 0, "V", "the supply volts");
    }
    if (strcmp(name, "circuit_A") == 0) {
        return write_number(to, oven->supply.circuit_A, 0, "A", "the circuit's amps");
    }
    if (strcmp(name, "half_wave_dc_V") == 0) {
        return write_number(to,
                            ovp_electrical_half_wave_share(OVP_ELECTRICAL_METER_DC) * oven->supply.volts_V, 0,
                            "V dc", "the supply volts");
    }
    if (strcmp(name, "half_wave") == 0) {
        return half_wave_field(to);
    }
    if (strcmp(name, "relay_off") == 0) {
        return ovp_electrical_relay_off_words(oven, to->text, FIELD_SIZE) > 0 ||
               lacks(to, "the supply volts");
    }
    if (strcmp(name, "heat_up") == 0) {
        return heat_up_field(to);
    }
    if (strcmp(name, "limit") == 0) {
        return limit_field(to);
    }
    if (strcmp(name, "input_type") == 0) {
        return oven->controller.input_known
                   ? snprintf(to->text, FIELD_SIZE, "type %s", ovp_tc_type_name(oven->controller.input)) > 0
                   : lacks(to, "the controller's input type");
    }
    if (!oven->sensor.known) {
        return lacks(to, "the sensor's type");
    }
    return strcmp(name, "magnet") == 0    ? magnet_field(to)
           : strcmp(name, "colours") == 0 ? colours_field(to)
                                          : lacks(to, "");
}

/* Fill the fields of one template; false when one of them is not known, to->missing says what it lacks. */
static bool fill(field *to, ovp_span template, char *buffer, size_t size)
{
    size_t at = 0;
    for (size_t i = 0; i < template.count;) {
        size_t length = 1;
        const char *from = template.bytes + i;
        i++;
        if (*from == '{') {
            const char *end = memchr(from, '}', template.count - i + 1);
            char name[48];
            if (end == NULL ||
                !ovp_copy_string(name, sizeof(name), (ovp_span){from + 1, (size_t)(end - from - 1)}) ||
                !fill_field(to, name)) {
                return false;
            }
            i += (size_t)(end - from);
            from = to->text;
            length = strlen(from);
        }
        if (at + length < size) {
            memcpy(buffer + at, from, length);
        }
        at += length;
    }
    if (at >= size) {
        return false;
    }
    buffer[at] = '\0';
    return true;
}

size_t ovp_diagnosis_expect(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement,
                            char *buffer, size_t size)
{
    const char *template = measurement->expect;
    const char *other = strstr(template, "||");
    const ovp_span first = {template, other != NULL ? (size_t)(other - template) : strlen(template)};
    char text[TEMPLATE_SIZE];
    field to = {.oven = state->settings.oven, .measurement = measurement, .missing = ""};
    if (fill(&to, first, text, sizeof(text))) {
        return ovp_diagnosis_words(text, state->settings.shown, buffer, size);
    }
    const char *general = other != NULL ? other + 2 : "";
    const char *between = general[0] != '\0' ? "; on this oven " : "";
    if (to.missing == no_oven) {
        snprintf(text, sizeof(text), "%s%s%s", general, between, no_oven);
    } else if (to.missing[0] != '\0') {
        snprintf(text, sizeof(text), "%s%snot known: its description lacks %s", general, between, to.missing);
    } else {
        snprintf(text, sizeof(text), "%s", general);
    }
    return ovp_diagnosis_words(text, state->settings.shown, buffer, size);
}
