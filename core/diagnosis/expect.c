/* What a question should read on this oven, in words. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    FIELD_SIZE = 160,
};

static bool write_number(char buffer[FIELD_SIZE], double value, int decimals, const char *unit)
{
    if (!isfinite(value)) {
        return false;
    }
    const size_t length = ovp_text_format_fixed(value, decimals, buffer, FIELD_SIZE);
    snprintf(buffer + length, FIELD_SIZE - length, " %s", unit);
    return true;
}

/* Three significant digits or so: what a meter of the trade shows. */
static int decimals_of(double value)
{
    return fabs(value) < 10 ? 2 : fabs(value) < 1000 ? 1 : 0;
}

static bool electrical_field(const ovp_oven *oven, const char *name, char buffer[FIELD_SIZE])
{
    const double volts = oven->supply.volts_V;
    if (strcmp(name, "supply_V") == 0) {
        return write_number(buffer, volts, 0, "V");
    }
    if (strcmp(name, "sag_3_V") == 0) {
        return write_number(buffer, 0.03 * volts, 1, "V");
    }
    if (strcmp(name, "element_97_V") == 0) {
        return write_number(buffer, 0.97 * volts, 0, "V at the element");
    }
    if (strcmp(name, "half_wave_dc_V") == 0) {
        return write_number(buffer, sqrt(2) / 3.14159265358979323846 * volts, 0, "V dc");
    }
    ovp_electrical_load load;
    if (ovp_electrical_load_of(oven, NAN, &load, NULL) != OVP_OK) {
        return false;
    }
    if (strcmp(name, "element_cold_ohm") == 0) {
        return write_number(buffer, load.element_cold_ohm, decimals_of(load.element_cold_ohm), "ohm");
    }
    if (strcmp(name, "total_cold_ohm") == 0) {
        return write_number(buffer, load.cold_ohm, decimals_of(load.cold_ohm), "ohm");
    }
    if (strcmp(name, "full_A") == 0) {
        return write_number(buffer, load.full_A, 1, "A");
    }
    if (strcmp(name, "plate_share") == 0) {
        return write_number(buffer, 100 * load.total_A / oven->supply.circuit_A, 0, "%");
    }
    return false;
}

static bool difference_field(const ovp_oven *oven, double hot_C, double cold_C, char buffer[FIELD_SIZE])
{
    double hot_mV, cold_mV;
    return oven->sensor.known && ovp_tc_emf(oven->sensor.type, hot_C, &hot_mV, NULL) == OVP_OK &&
           ovp_tc_emf(oven->sensor.type, cold_C, &cold_mV, NULL) == OVP_OK &&
           write_number(buffer, hot_mV - cold_mV, 2, "mV");
}

static bool sensor_field(const ovp_oven *oven, const char *name, char buffer[FIELD_SIZE])
{
    if (strcmp(name, "input_type") == 0) {
        return oven->controller.input_known &&
               snprintf(buffer, FIELD_SIZE, "type %s", ovp_tc_type_name(oven->controller.input)) > 0;
    }
    if (strcmp(name, "mv_at_212F") == 0) {
        return difference_field(oven, 100, ovp_text_to_celsius(75, OVP_TEXT_DEGREES_F), buffer);
    }
    if (strcmp(name, "mv_at_1000F") == 0) {
        return difference_field(oven, ovp_text_to_celsius(1000, OVP_TEXT_DEGREES_F), 0, buffer);
    }
    if (!oven->sensor.known) {
        return false;
    }
    if (strcmp(name, "magnet") == 0) {
        const char *text = ovp_tc_magnet(oven->sensor.type);
        return text[0] != '\0' &&
               snprintf(buffer, FIELD_SIZE, "type %s: %s", ovp_tc_type_name(oven->sensor.type), text) > 0;
    }
    ovp_tc_colours us, iec;
    if (strcmp(name, "colours") == 0 && ovp_tc_colours_of("astm-e230", oven->sensor.type, &us) &&
        ovp_tc_colours_of("iec-60584-3", oven->sensor.type, &iec)) {
        return snprintf(buffer, FIELD_SIZE,
                        "at every joint the same way: %s + and %s - (US), %s + and %s - (IEC)", us.positive,
                        us.negative, iec.positive, iec.negative) > 0;
    }
    return false;
}

/* Fill the fields of one template; false when one of them is not known on this oven. */
static bool fill(const ovp_oven *oven, ovp_span template, char *buffer, size_t size)
{
    size_t at = 0;
    for (size_t i = 0; i < template.count;) {
        char field[FIELD_SIZE];
        size_t length = 1;
        const char *from = template.bytes + i;
        i++;
        if (*from == '{') {
            const char *end = memchr(from, '}', template.count - i + 1);
            char name[32];
            if (end == NULL || oven == NULL ||
                !ovp_copy_string(name, sizeof(name), (ovp_span){from + 1, (size_t)(end - from - 1)}) ||
                !(electrical_field(oven, name, field) || sensor_field(oven, name, field))) {
                return false;
            }
            i += (size_t)(end - from);
            from = field;
            length = strlen(field);
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
    if (size == 0) {
        return 0;
    }
    buffer[0] = '\0';
    const char *template = measurement->expect;
    const char *other = strstr(template, "||");
    const ovp_span first = {template, other != NULL ? (size_t)(other - template) : strlen(template)};
    if (fill(state->settings.oven, first, buffer, size)) {
        return strlen(buffer);
    }
    buffer[0] = '\0';
    if (other != NULL) {
        ovp_copy_string(buffer, size, ovp_span_of(other + 2));
    }
    return strlen(buffer);
}
