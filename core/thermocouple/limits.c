/* Tolerances and colours: rows of the standards, looked up. */
#include "thermocouple/thermocouple_internal.h"

#include <math.h>
#include <string.h>

typedef struct tolerance_row {
    const char *name, *type;
    double low_C, high_C, absolute_C, relative;
    const char *rule;
} tolerance_row;

static const tolerance_row tolerance_rows[] = {
#include "tolerances.inc"
};

static const char *const tolerance_names[] = {
    "astm-e230-standard",  "astm-e230-special",   "iec-60584-1-class-1",
    "iec-60584-1-class-2", "iec-60584-1-class-3",
};

enum {
    TOLERANCE_ROWS = sizeof tolerance_rows / sizeof tolerance_rows[0],
    TOLERANCE_NAMES = sizeof tolerance_names / sizeof tolerance_names[0],
};

const char *ovp_tc_tolerance_name(size_t index)
{
    return index < TOLERANCE_NAMES ? tolerance_names[index] : NULL;
}

static double width_of(const tolerance_row *row, double temperature_C)
{
    if (strcmp(row->rule, "absolute") == 0)
        return row->absolute_C;
    if (strcmp(row->rule, "slope") == 0)
        return row->absolute_C + row->relative * (temperature_C - row->low_C);
    double relative_C = row->relative * fabs(temperature_C);
    if (strcmp(row->rule, "relative") == 0)
        return relative_C;
    return relative_C > row->absolute_C ? relative_C : row->absolute_C;
}

/* The class as the table spells it, or NULL. */
static const char *known_name(const char *name)
{
    for (size_t i = 0; i < TOLERANCE_NAMES; i++)
        if (ovp_span_equals(ovp_span_of(name), tolerance_names[i]))
            return tolerance_names[i];
    return NULL;
}

ovp_status ovp_tc_tolerance(const char *name, ovp_tc_type type, double temperature_C, double *tolerance_C,
                            ovp_error *error)
{
    const char *known = known_name(name);
    if (known == NULL) {
        ovp_error_set(error, OVP_ERROR_DATA, "there is no tolerance class \"%.60s\"", name);
        ovp_error_hint(error, "classes are %s, %s, %s, %s and %s; or give a limit such as 5F",
                       tolerance_names[0], tolerance_names[1], tolerance_names[2], tolerance_names[3],
                       tolerance_names[4]);
        return OVP_ERROR_DATA;
    }
    bool covers_type = false;
    for (size_t i = 0; i < TOLERANCE_ROWS; i++) {
        const tolerance_row *row = tolerance_rows + i;
        if (strcmp(row->name, known) != 0 || strcmp(row->type, ovp_tc_type_name(type)) != 0)
            continue;
        covers_type = true;
        if (temperature_C < row->low_C || temperature_C > row->high_C || isnan(temperature_C))
            continue;
        *tolerance_C = width_of(row, temperature_C);
        return OVP_OK;
    }
    if (!covers_type)
        ovp_error_set(error, OVP_ERROR_DATA, "%s has no limit for type %s", known, ovp_tc_type_name(type));
    else
        ovp_error_set(error, OVP_ERROR_DATA, "%s has no limit for type %s at %.6g °C (%.6g °F)", known,
                      ovp_tc_type_name(type), temperature_C, temperature_C * 1.8 + 32.0);
    ovp_error_hint(error, "name another class, or give the limit itself, such as 5F");
    return OVP_ERROR_DATA;
}

typedef struct colour_row {
    const char *name, *type, *positive, *negative, *sheath, *source;
} colour_row;

static const colour_row colour_rows[] = {
#include "colours.inc"
};

static const char *standard_named(const char *word)
{
    static const char *const countries[][2] = {
        {"us", "astm-e230"},   {"usa", "astm-e230"},   {"ca", "astm-e230"},
        {"eu", "iec-60584-3"}, {"iec", "iec-60584-3"}, {"astm", "astm-e230"},
    };
    for (size_t i = 0; i < sizeof countries / sizeof countries[0]; i++)
        if (ovp_span_equals(ovp_span_of(word), countries[i][0]))
            return countries[i][1];
    return word;
}

/* "K" and "R/S" name types; "J (L)" is another couple under the old letter. */
static bool row_is_for(const char *types, const char *type)
{
    return strcmp(types, type) == 0 || (strcmp(types, "R/S") == 0 && (type[0] == 'R' || type[0] == 'S'));
}

bool ovp_tc_colours_of(const char *standard, ovp_tc_type type, ovp_tc_colours *colours)
{
    ovp_span name = ovp_span_of(standard_named(standard));
    for (size_t i = 0; i < sizeof colour_rows / sizeof colour_rows[0]; i++) {
        const colour_row *row = colour_rows + i;
        if (!ovp_span_equals(name, row->name) || !row_is_for(row->type, ovp_tc_type_name(type)))
            continue;
        *colours = (ovp_tc_colours){row->name, row->positive, row->negative, row->sheath, row->source};
        return true;
    }
    return false;
}

static const struct magnet_row {
    const char *type, *text;
} magnet_rows[] = {
#include "magnet.inc"
};

const char *ovp_tc_magnet(ovp_tc_type type)
{
    for (size_t i = 0; i < sizeof magnet_rows / sizeof magnet_rows[0]; i++)
        if (strcmp(magnet_rows[i].type, ovp_tc_type_name(type)) == 0)
            return magnet_rows[i].text;
    return "";
}
