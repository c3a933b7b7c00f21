/* Rows of a comparison: gathered into points, and read from delimited text. */
#include "ovenproof/metrology.h"

#include <math.h>
#include <string.h>

/* Past these nothing that a thermocouple measures lies; a unit or a column is wrong. */
static const double COLDEST_C = -273.15, HOTTEST_C = 3000.0, LARGEST_U_C = 500.0;

typedef enum column {
    NOMINAL,
    REFERENCE,
    READING,
    EMF,
    COLD_JUNCTION,
    REFERENCE_U,
    RESOLUTION,
    COLUMNS,
} column;

typedef struct column_row {
    const char *name; /* without the unit */
    bool difference;
} column_row;

static const column_row column_rows[COLUMNS] = {
    {"nominal", false},       {"reference", false},  {"reading", false},   {"emf", false},
    {"cold_junction", false}, {"reference_U", true}, {"resolution", true},
};

struct ovp_metrology_reader {
    ovp_text_delimited *parser;
    ovp_metrology_readings *readings;
    ovp_tc_type sensor;
    bool has_sensor, has_header;
    int index[COLUMNS]; /* of the field; -1: no such column */
    ovp_text_degrees degrees[COLUMNS];
    size_t bytes; /* not 0 once anything came */
    int decimals; /* most digits after the point of any reading */
};

static ovp_status check_temperature(const char *what, double value_C, ovp_error *error)
{
    if (value_C >= COLDEST_C && value_C <= HOTTEST_C)
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_DATA, "the %s of %.6g °C (%.6g °F) is no temperature of an oven", what,
                  value_C, value_C * 1.8 + 32.0);
    ovp_error_hint(error, "look at the unit in the column's name, _C or _F, and at the value");
    return OVP_ERROR_DATA;
}

static ovp_metrology_point *point_of(ovp_metrology_readings *readings, double nominal_C)
{
    for (size_t i = 0; i < readings->point_count; i++)
        if (fabs(readings->points[i].nominal_C - nominal_C) < 1e-9)
            return readings->points + i;
    if (readings->point_count == OVP_METROLOGY_POINTS)
        return NULL;
    ovp_metrology_point *point = readings->points + readings->point_count++;
    ovp_metrology_point_init(point, nominal_C, 0.0, 0.0);
    return point;
}

ovp_status ovp_metrology_readings_add(ovp_metrology_readings *readings, const ovp_metrology_row *row,
                                      ovp_error *error)
{
    ovp_status status = check_temperature("nominal", row->nominal_C, error);
    if (status == OVP_OK)
        status = check_temperature("reference", row->reference_C, error);
    if (status == OVP_OK)
        status = check_temperature("reading", row->reading_C, error);
    if (status != OVP_OK)
        return status;
    ovp_metrology_point *point = point_of(readings, row->nominal_C);
    if (point == NULL) {
        ovp_error_set(error, OVP_ERROR_DATA, "more than %d nominal temperatures", OVP_METROLOGY_POINTS);
        ovp_error_hint(error,
                       "rows of one point must have the same nominal; split the file if there are more");
        return OVP_ERROR_DATA;
    }
    double U_C = row->reference_U_C > 0.0 ? row->reference_U_C : NAN;
    if (isnan(U_C) || U_C > point->reference_U_C) /* a NAN stays */
        point->reference_U_C = U_C;
    if (row->resolution_C > 0.0 && (point->resolution_C == 0.0 || row->resolution_C < point->resolution_C))
        point->resolution_C = row->resolution_C;
    ovp_metrology_point_add(point, row->reference_C, row->reading_C);
    readings->rows++;
    return OVP_OK;
}

void ovp_metrology_readings_reference(ovp_metrology_readings *readings, double reference_U_C)
{
    for (size_t i = 0; i < readings->point_count; i++)
        if (isnan(readings->points[i].reference_U_C))
            readings->points[i].reference_U_C = reference_U_C;
}

ovp_status ovp_metrology_readings_reference_emf(ovp_metrology_readings *readings, ovp_tc_type type,
                                                double reference_U_mV, ovp_error *error)
{
    double U_C[OVP_METROLOGY_POINTS];
    for (size_t i = 0; i < readings->point_count; i++) {
        double mV_per_C = NAN;
        ovp_status status = ovp_tc_seebeck(type, readings->points[i].mean_reference_C, &mV_per_C, error);
        if (status != OVP_OK)
            return status;
        U_C[i] = reference_U_mV / fabs(mV_per_C);
    }
    for (size_t i = 0; i < readings->point_count; i++)
        if (isnan(readings->points[i].reference_U_C))
            readings->points[i].reference_U_C = U_C[i];
    return OVP_OK;
}

/* ---- the header ---------------------------------------------------------------------------------- */

/* "reference_F" is column `name` in degF; false for any other text. */
static bool is_column(ovp_span field, const char *name, ovp_text_degrees *degrees)
{
    size_t length = strlen(name);
    if (field.count < length + 2 || field.bytes[length] != '_' ||
        !ovp_span_equals((ovp_span){field.bytes, length}, name))
        return false;
    ovp_span unit = {field.bytes + length + 1, field.count - length - 1};
    if (strcmp(name, "emf") == 0)
        return ovp_span_equals(unit, "mV");
    return ovp_text_degrees_named(unit, degrees);
}

static ovp_status find_column(ovp_metrology_reader *reader, const ovp_text_row *row, column which,
                              ovp_error *error)
{
    reader->index[which] = -1;
    for (size_t i = 0; i < row->count; i++) {
        ovp_text_degrees degrees = OVP_TEXT_DEGREES_NONE;
        if (!is_column(row->fields[i], column_rows[which].name, &degrees))
            continue;
        if (reader->index[which] >= 0) {
            ovp_error_set(error, OVP_ERROR_DATA, "two columns for the %s", column_rows[which].name);
            ovp_error_hint(error, "take one of them out");
            return OVP_ERROR_DATA;
        }
        reader->index[which] = (int)i;
        reader->degrees[which] = degrees;
    }
    return OVP_OK;
}

static ovp_status no_column(const char *name, const char *hint, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "no column %s", name);
    ovp_error_hint(error, "%s", hint);
    return OVP_ERROR_DATA;
}

static ovp_status two_readings(ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "both a reading and an emf_mV: which of the two is the reading?");
    ovp_error_hint(error, "take one of the columns out");
    return OVP_ERROR_DATA;
}

static ovp_status no_sensor(ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "emf_mV, and nobody said of what type of couple");
    ovp_error_hint(error, "name it with --sensor, such as --sensor K");
    return OVP_ERROR_DATA;
}

static ovp_status check_columns(const ovp_metrology_reader *reader, ovp_error *error)
{
    static const char *const header =
        "the first line names the columns: nominal_C,reference_C,reading_C (or _F)";
    if (reader->index[NOMINAL] < 0)
        return no_column("nominal_C or nominal_F", header, error);
    if (reader->index[REFERENCE] < 0)
        return no_column("reference_C or reference_F", header, error);
    if (reader->index[READING] < 0 && reader->index[EMF] < 0)
        return no_column("reading_C, reading_F or emf_mV", header, error);
    if (reader->index[READING] >= 0 && reader->index[EMF] >= 0)
        return two_readings(error);
    if (reader->index[EMF] < 0)
        return OVP_OK;
    if (reader->index[COLD_JUNCTION] < 0)
        return no_column("cold_junction_C, which emf_mV needs", "add it; 0 for an ice bath", error);
    if (!reader->has_sensor)
        return no_sensor(error);
    return OVP_OK;
}

static ovp_status take_header(ovp_metrology_reader *reader, const ovp_text_row *row, ovp_error *error)
{
    reader->has_header = true;
    for (int which = 0; which < COLUMNS; which++) {
        ovp_status status = find_column(reader, row, (column)which, error);
        if (status != OVP_OK)
            return status;
    }
    return check_columns(reader, error);
}

/* ---- rows ---------------------------------------------------------------------------------------- */

static ovp_status no_number(const char *name, ovp_span field, ovp_error *error)
{
    char found[40];
    ovp_copy_string(found, sizeof found, field);
    if (field.count == 0)
        ovp_error_set(error, OVP_ERROR_DATA, "no %s in this row", name);
    else
        ovp_error_set(error, OVP_ERROR_DATA, "the %s is \"%s\", which is no number", name, found);
    ovp_error_hint(error, "write a plain number, or take the row out");
    return OVP_ERROR_DATA;
}

/* A cell in degC or mV; NAN where there is no such column, or an empty cell of one that may be empty. */
static ovp_status cell(const ovp_metrology_reader *reader, const ovp_text_row *row, column which,
                       double *value, ovp_error *error)
{
    *value = NAN;
    if (reader->index[which] < 0)
        return OVP_OK;
    ovp_span field = ovp_text_row_field(row, reader->index[which]);
    bool may_be_empty = which == REFERENCE_U || which == RESOLUTION;
    if (field.count == 0 && may_be_empty)
        return OVP_OK;
    double number = NAN;
    char decimal = ovp_text_delimited_dialect(reader->parser).decimal;
    if (!ovp_text_delimited_number(field, decimal, &number))
        return no_number(column_rows[which].name, field, error);
    if (which == EMF)
        *value = number;
    else if (column_rows[which].difference)
        *value = reader->degrees[which] == OVP_TEXT_DEGREES_F ? number / 1.8 : number;
    else
        *value = ovp_text_to_celsius(number, reader->degrees[which]);
    return OVP_OK;
}

static ovp_status check_size(const char *what, double value_C, ovp_error *error)
{
    if (isnan(value_C) || (value_C >= 0.0 && value_C <= LARGEST_U_C))
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_DATA, "a %s of %.6g °C is none", what, value_C);
    ovp_error_hint(error, "leave the cell empty when it is not known");
    return OVP_ERROR_DATA;
}

/* Digits after the decimal sign; 0 with an exponent, which no display has. */
static int decimals_of(ovp_span field, char decimal)
{
    int decimals = -1;
    for (size_t i = 0; i < field.count; i++) {
        char letter = field.bytes[i];
        if (letter == 'e' || letter == 'E')
            return 0;
        if (letter == decimal)
            decimals = 0;
        else if (decimals >= 0 && letter >= '0' && letter <= '9')
            decimals++;
    }
    return decimals > 0 ? decimals : 0;
}

static ovp_status read_cells(const ovp_metrology_reader *reader, const ovp_text_row *row,
                             double values[COLUMNS], ovp_error *error)
{
    for (int which = 0; which < COLUMNS; which++) {
        ovp_status status = cell(reader, row, (column)which, values + which, error);
        if (status != OVP_OK)
            return status;
    }
    ovp_status status = check_size("reference_U", values[REFERENCE_U], error);
    if (status == OVP_OK)
        status = check_size("resolution", values[RESOLUTION], error);
    if (status == OVP_OK && reader->index[EMF] >= 0)
        status = ovp_tc_temperature_at(reader->sensor, values[EMF], values[COLD_JUNCTION], values + READING,
                                       error);
    if (status != OVP_OK)
        ovp_error_hint(error, "is the value, its unit or --sensor wrong?");
    return status;
}

static bool is_empty(const ovp_text_row *row)
{
    for (size_t i = 0; i < row->count; i++)
        if (row->fields[i].count > 0)
            return false;
    return true;
}

static ovp_status take_row(ovp_metrology_reader *reader, const ovp_text_row *row, ovp_error *error)
{
    if (row->comment || is_empty(row))
        return OVP_OK;
    if (!reader->has_header)
        return take_header(reader, row, error);
    double values[COLUMNS];
    ovp_status status = read_cells(reader, row, values, error);
    if (status != OVP_OK)
        return status;
    ovp_metrology_row taken = {
        .nominal_C = values[NOMINAL],
        .reference_C = values[REFERENCE],
        .reading_C = values[READING],
        .reference_U_C = values[REFERENCE_U],
        .resolution_C = isnan(values[RESOLUTION]) ? 0.0 : values[RESOLUTION],
    };
    status = ovp_metrology_readings_add(reader->readings, &taken, error);
    int shown = reader->index[EMF] >= 0 ? reader->index[EMF] : reader->index[READING];
    char decimal = ovp_text_delimited_dialect(reader->parser).decimal;
    int decimals = decimals_of(ovp_text_row_field(row, shown), decimal);
    if (decimals > reader->decimals)
        reader->decimals = decimals;
    return status;
}

static ovp_status row_with_line(void *context, const ovp_text_row *row, ovp_error *error)
{
    ovp_status status = take_row(context, row, error);
    if (status != OVP_OK)
        ovp_error_place(error, NULL, row->line);
    return status;
}

/* ---- the reader ---------------------------------------------------------------------------------- */

static size_t rounded_up(size_t size)
{
    return (size + 15) / 16 * 16;
}

size_t ovp_metrology_reader_size(void)
{
    return rounded_up(sizeof(ovp_metrology_reader)) + ovp_text_delimited_size();
}

ovp_metrology_reader *ovp_metrology_reader_init(void *memory, const ovp_tc_type *sensor,
                                                ovp_metrology_readings *readings)
{
    ovp_metrology_reader *reader = memory;
    *reader = (ovp_metrology_reader){.readings = readings, .has_sensor = sensor != NULL};
    if (sensor != NULL)
        reader->sensor = *sensor;
    *readings = (ovp_metrology_readings){0};
    void *rest = (char *)memory + rounded_up(sizeof *reader);
    reader->parser =
        ovp_text_delimited_init(rest, (ovp_text_delimited_client){.row = row_with_line, .context = reader});
    return reader;
}

ovp_status ovp_metrology_reader_feed(ovp_metrology_reader *reader, const char *bytes, size_t count,
                                     ovp_error *error)
{
    reader->bytes += count > 0;
    return ovp_text_delimited_feed(reader->parser, bytes, count, error);
}

/* The last digit of the readings is what they are known to, where no column says. */
static void add_resolution(const ovp_metrology_reader *reader)
{
    double digit = pow(10.0, -reader->decimals);
    for (size_t i = 0; i < reader->readings->point_count; i++) {
        ovp_metrology_point *point = reader->readings->points + i;
        double mV_per_C = NAN;
        if (point->resolution_C > 0.0)
            continue;
        if (reader->index[EMF] < 0)
            point->resolution_C = reader->degrees[READING] == OVP_TEXT_DEGREES_F ? digit / 1.8 : digit;
        else if (ovp_tc_seebeck(reader->sensor, point->mean_reference_C, &mV_per_C, NULL) == OVP_OK &&
                 mV_per_C > 0.0)
            point->resolution_C = digit / mV_per_C;
    }
}

static ovp_status no_readings(ovp_error *error)
{
    ovp_error_hint(error, "a line of names, nominal_C,reference_C,reading_C, then a line for each reading");
    return OVP_ERROR_DATA;
}

ovp_status ovp_metrology_reader_end(ovp_metrology_reader *reader, ovp_error *error)
{
    if (reader->bytes == 0) {
        ovp_error_set(error, OVP_ERROR_DATA, "there is nothing in it");
        return no_readings(error);
    }
    ovp_status status = ovp_text_delimited_end(reader->parser, error);
    if (status != OVP_OK)
        return status;
    if (reader->readings->rows == 0) {
        ovp_error_set(error, OVP_ERROR_DATA, "no readings in it");
        return no_readings(error);
    }
    reader->readings->from_emf = reader->index[EMF] >= 0;
    add_resolution(reader);
    return OVP_OK;
}
