/* The description out again: one leaf, or the whole data file. */
#include "oven/oven_internal.h"

#include <math.h>
#include <string.h>

void oven_append(char *buffer, size_t size, const char *text)
{
    size_t used = strlen(buffer);
    ovp_copy_string(buffer + used, size - used, ovp_span_of(text));
}

/* ---- quantities ----------------------------------------------------------------------------------- */

/* Units to try, the held one last: value = (held - offset) / scale. */
typedef struct unit_row {
    const char *unit;
    double scale, offset;
} unit_row;

enum {
    UNITS = 5,
};

static const unit_row *units_of(ovp_text_kind kind)
{
    static const unit_row temperature[UNITS] = {
        {"F", 5.0 / 9.0, -160.0 / 9.0}, {"C", 1, 0}, {"K", 1, -273.15}};
    static const unit_row difference[UNITS] = {{"F", 5.0 / 9.0, 0}, {"C", 1, 0}};
    static const unit_row emf[UNITS] = {{"mV", 1, 0}};
    static const unit_row voltage[UNITS] = {{"V", 1, 0}};
    static const unit_row current[UNITS] = {{"A", 1, 0}, {"mA", 1e-3, 0}};
    static const unit_row resistance[UNITS] = {{"ohm", 1, 0}};
    static const unit_row power[UNITS] = {{"W", 1, 0}, {"kW", 1e3, 0}};
    static const unit_row duration[UNITS] = {{"min", 60, 0}, {"s", 1, 0}, {"h", 3600, 0}, {"d", 86400, 0}};
    static const unit_row length[UNITS] = {{"in", 0.0254, 0}, {"mm", 1e-3, 0}, {"cm", 1e-2, 0}, {"m", 1, 0}};
    static const unit_row mass[UNITS] = {{"kg", 1, 0}, {"g", 1e-3, 0}, {"lb", 0.45359237, 0}};
    static const unit_row bare[UNITS] = {{"", 1, 0}};
    switch (kind) {
    case OVP_TEXT_TEMPERATURE:
        return temperature;
    case OVP_TEXT_TEMPERATURE_DIFFERENCE:
        return difference;
    case OVP_TEXT_EMF:
        return emf;
    case OVP_TEXT_VOLTAGE:
        return voltage;
    case OVP_TEXT_CURRENT:
        return current;
    case OVP_TEXT_RESISTANCE:
        return resistance;
    case OVP_TEXT_POWER:
        return power;
    case OVP_TEXT_DURATION:
        return duration;
    case OVP_TEXT_LENGTH:
        return length;
    case OVP_TEXT_MASS:
        return mass;
    case OVP_TEXT_RATIO:
    case OVP_TEXT_COUNT:
        break;
    }
    return bare;
}

/* Shortest decimal of a value that may carry the rounding of a change of unit. */
static void short_number(double value, char buffer[OVP_TEXT_NUMBER_SIZE])
{
    char fixed[64];
    double read;
    if (fabs(value) < 1e9 && ovp_text_format_fixed(value, 8, fixed, sizeof fixed) < sizeof fixed &&
        ovp_text_number(ovp_span_of(fixed), &read))
        value = read;
    ovp_text_format_number(value, buffer);
}

void oven_format_quantity(double value, ovp_text_kind kind, char *buffer, size_t size)
{
    const unit_row *units = units_of(kind);
    size_t best = SIZE_MAX;
    buffer[0] = '\0';
    for (int i = 0; i < UNITS && units[i].unit != NULL; i++) {
        char number[OVP_TEXT_NUMBER_SIZE], whole[OVP_TEXT_NUMBER_SIZE + 8];
        bool held = units[i].scale == 1.0 && units[i].offset == 0.0;
        double read;
        if (held)
            ovp_text_format_number(value, number);
        else
            short_number((value - units[i].offset) / units[i].scale, number);
        ovp_copy_string(whole, sizeof whole, ovp_span_of(number));
        oven_append(whole, sizeof whole, units[i].unit);
        if (strlen(whole) + 1 >= best || /* an earlier unit, unless it is clearly longer */

            ovp_text_quantity(ovp_span_of(whole), kind, OVP_TEXT_DEGREES_NONE, &read, NULL) != OVP_OK ||
            read != value)
            continue;
        best = strlen(whole);
        ovp_copy_string(buffer, size, ovp_span_of(whole));
    }
}

/* ---- one leaf ------------------------------------------------------------------------------------- */

static const char *const wiring_words[] = {"", "single", "parallel", "series"};
static const char *const degrees_words[] = {"", "F", "C", "K"};

static void format_fitted(ovp_oven_fitted fitted, const char *rating, char *buffer, size_t size)
{
    const char *word = fitted == OVP_OVEN_FITTED ? "yes" : fitted == OVP_OVEN_NOT_FITTED ? "no" : "";
    if (fitted == OVP_OVEN_FITTED && rating[0] != '\0')
        word = rating;
    ovp_copy_string(buffer, size, ovp_span_of(word));
}

static void format_leaf(const ovp_oven *oven, oven_place place, char *buffer, size_t size)
{
    const void *at = oven_at_const(oven, place);
    const char *side = (const char *)oven + place.field->known_offset;
    buffer[0] = '\0';
    switch ((oven_store)place.field->store) {
    case OVEN_STORE_QUANTITY:
        if (!isnan(*(const double *)at))
            oven_format_quantity(*(const double *)at, place.field->kind, buffer, size);
        break;
    case OVEN_STORE_TEXT:
        ovp_copy_string(buffer, size, ovp_span_of(at));
        break;
    case OVEN_STORE_TYPE:
        if (*(const bool *)(const void *)side)
            ovp_copy_string(buffer, size, ovp_span_of(ovp_tc_type_name(*(const ovp_tc_type *)at)));
        break;
    case OVEN_STORE_WIRING:
        ovp_copy_string(buffer, size, ovp_span_of(wiring_words[*(const ovp_oven_wiring *)at]));
        break;
    case OVEN_STORE_DEGREES:
        ovp_copy_string(buffer, size, ovp_span_of(degrees_words[*(const ovp_text_degrees *)at]));
        break;
    case OVEN_STORE_LINING:
        oven_format_lining(at, buffer, size);
        break;
    case OVEN_STORE_PART:
        format_fitted(*(const ovp_oven_fitted *)at, side, buffer, size);
        break;
    case OVEN_STORE_YES_NO:
        format_fitted(*(const ovp_oven_fitted *)at, "", buffer, size);
        break;
    case OVEN_STORE_CHOICE:
        break; /* an oven has none */
    }
}

bool ovp_oven_value(const ovp_oven *oven, const char *path, char *buffer, size_t size)
{
    oven_place place;
    char value[OVEN_VALUE_SIZE];
    if (oven_find(oven_schema_of_oven(), path, &place, NULL) != OVP_OK)
        return false;
    format_leaf(oven, place, value, sizeof value);
    if (buffer != NULL)
        ovp_copy_string(buffer, size, ovp_span_of(value));
    return value[0] != '\0';
}

bool ovp_oven_given(const ovp_oven *oven, const char *path)
{
    return ovp_oven_value(oven, path, NULL, 0);
}

/* ---- the file ------------------------------------------------------------------------------------- */

static void write_quoted(ovp_sink sink, ovp_status *status, const char *text)
{
    char out[4 * OVEN_VALUE_SIZE + 3];
    size_t count = 0;
    out[count++] = '"';
    for (const char *at = text; *at != '\0' && count + 6 < sizeof out; at++) {
        unsigned char byte = (unsigned char)*at;
        if (byte == '"' || byte == '\\') {
            out[count++] = '\\';
            out[count++] = *at;
        } else if (byte < 0x20 || byte == 0x7F) {
            out[count++] = '\\';
            out[count++] = (char)('0' + byte / 100);
            out[count++] = (char)('0' + byte / 10 % 10);
            out[count++] = (char)('0' + byte % 10);
        } else {
            out[count++] = *at;
        }
    }
    out[count++] = '"';
    if (*status == OVP_OK)
        *status = sink.write(sink.context, out, count);
}

static void put(ovp_sink sink, ovp_status *status, const char *text)
{
    if (*status == OVP_OK)
        *status = sink.write(sink.context, text, strlen(text));
}

static void write_value(const ovp_oven *oven, oven_place place, const char *value, ovp_sink sink,
                        ovp_status *status)
{
    bool plain = place.field->is_yes_no;
    if (place.field->store == OVEN_STORE_PART && ((const char *)oven + place.field->known_offset)[0] != '\0')
        plain = false;
    if (plain)
        put(sink, status, strcmp(value, "no") == 0 ? "false" : "true");
    else
        write_quoted(sink, status, value);
}

/* "supply" of "supply.volts", "" of "name", "elements" of "elements[].watts". */
static size_t group_length(const ovp_oven_field *field)
{
    return strchr(field->path, '.') == NULL ? 0 : strcspn(field->path, ".[");
}

static bool same_group(const ovp_oven_field *a, const ovp_oven_field *b)
{
    size_t length = group_length(a);
    return length > 0 && length == group_length(b) && strncmp(a->path, b->path, length) == 0;
}

/* The leaves of one group (of entry `index` of an array): "volts=..., circuit=...". Returns how many. */
static size_t write_leaves(const ovp_oven *oven, const ovp_oven_field *first, size_t index, ovp_sink sink,
                           ovp_status *status, bool really)
{
    size_t count = 0;
    for (const ovp_oven_field *field = first;
         field->path != NULL && (field == first || same_group(first, field)); field++) {
        char value[OVEN_VALUE_SIZE];
        oven_place place = {field, index};
        format_leaf(oven, place, value, sizeof value);
        if (value[0] == '\0')
            continue;
        if (really) {
            const char *dot = strchr(field->path, '.');
            put(sink, status, count == 0 ? "" : ", ");
            put(sink, status, dot == NULL ? field->path : dot + 1);
            put(sink, status, " = ");
            write_value(oven, place, value, sink, status);
        }
        count++;
    }
    return count;
}

static void write_array(const ovp_oven *oven, const ovp_oven_field *first, size_t entries, ovp_sink sink,
                        ovp_status *status)
{
    for (size_t i = 0; i < entries; i++) {
        put(sink, status, "        { ");
        write_leaves(oven, first, i, sink, status, true);
        put(sink, status, " },\n");
    }
}

static void write_group(const ovp_oven *oven, const ovp_oven_field *first, ovp_sink sink, ovp_status *status)
{
    char name[OVEN_PATH_SIZE];
    size_t length = group_length(first);
    size_t entries = first->stride == 0 ? 0 : oven_entries(oven, first);
    if (first->stride > 0 ? entries == 0 : write_leaves(oven, first, 0, sink, status, false) == 0)
        return;
    put(sink, status, "    ");
    if (length == 0) {
        write_leaves(oven, first, 0, sink, status, true);
        put(sink, status, ",\n");
        return;
    }
    ovp_copy_string(name, sizeof name, (ovp_span){first->path, length});
    put(sink, status, name);
    put(sink, status, first->stride == 0 ? " = { " : " = {\n");
    if (first->stride == 0)
        write_leaves(oven, first, 0, sink, status, true);
    else
        write_array(oven, first, entries, sink, status);
    put(sink, status, first->stride == 0 ? " },\n" : "    },\n");
}

ovp_status ovp_oven_write(const ovp_oven *oven, ovp_sink sink)
{
    ovp_status status = OVP_OK;
    put(sink, &status,
        "-- An oven's description: data, not code. A figure left out is not known.\nreturn {\n");
    const ovp_oven_field *previous = NULL;
    for (const ovp_oven_field *field = ovp_oven_fields(); field->path != NULL; field++) {
        if (previous == NULL || !same_group(previous, field))
            write_group(oven, field, sink, &status);
        previous = field;
    }
    put(sink, &status, "}\n");
    return status;
}
