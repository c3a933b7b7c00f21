/* A list of joints as delimited text: name, kind, millivolts, amps, rises or temperatures, date, remade. */
#include "electrical/electrical_internal.h"

#include <math.h>
#include <string.h>

typedef enum column {
    NAME,
    KIND,
    DROP,
    CURRENT,
    RISE,
    AMBIENT_RISE,
    TEMPERATURE,
    AMBIENT,
    DATE,
    REMADE,
    COLUMNS,
} column;

enum {
    WORDS = 6, /* names of one column */
};

/* Column names as people write them, without the unit behind the underscore. */
static const struct column_row {
    const char *words[WORDS];
    bool is_text;
    ovp_text_kind kind;
    const char *unit; /* of a bare number; NULL: the header's or the caller's degrees */
    const char *example;
} columns[COLUMNS] = {
    [NAME] = {{"name", "joint", "where"}, true, OVP_TEXT_COUNT, "", ""},
    [KIND] = {{"kind", "type"}, true, OVP_TEXT_COUNT, "", ""},
    [DROP] = {{"mV", "drop_mV", "drop", "millivolts"}, false, OVP_TEXT_EMF, "mV", "45"},
    [CURRENT] = {{"A", "current_A", "current", "amps"}, false, OVP_TEXT_CURRENT, "A", "15"},
    [RISE] = {{"rise", "rise_over_like"}, false, OVP_TEXT_TEMPERATURE_DIFFERENCE, NULL, "18"},
    [AMBIENT_RISE] =
        {{"ambient_rise", "rise_over_ambient"}, false, OVP_TEXT_TEMPERATURE_DIFFERENCE, NULL, "18"},
    [TEMPERATURE] = {{"temperature", "temp"}, false, OVP_TEXT_TEMPERATURE, NULL, "120"},
    [AMBIENT] = {{"ambient", "room", "air"}, false, OVP_TEXT_TEMPERATURE, NULL, "75"},
    [DATE] = {{"date", "day"}, true, OVP_TEXT_COUNT, "", "2026-11-25"},
    [REMADE] = {{"remade", "replaced"}, true, OVP_TEXT_COUNT, "", "yes"},
};

struct ovp_electrical_joint_reader {
    ovp_text_delimited *parser;
    ovp_electrical_joint_list *list;
    ovp_text_degrees bare;
    bool has_header;
    int index[COLUMNS]; /* of the field; -1: no such column */
    ovp_text_degrees degrees[COLUMNS];
    size_t bytes;
};

/* ---- the header ---------------------------------------------------------------------------------- */

/* "rise_F" names column `which` in degF; "mV" the drop. */
static bool names(ovp_span field, column which, ovp_text_degrees *degrees)
{
    for (size_t i = 0; i < WORDS && columns[which].words[i] != NULL; i++) {
        size_t length = strlen(columns[which].words[i]);
        *degrees = OVP_TEXT_DEGREES_NONE;
        if (ovp_span_equals(field, columns[which].words[i]))
            return true;
        if (columns[which].unit == NULL && field.count > length + 1 && field.bytes[length] == '_' &&
            ovp_span_equals((ovp_span){field.bytes, length}, columns[which].words[i]) &&
            ovp_text_degrees_named((ovp_span){field.bytes + length + 1, field.count - length - 1}, degrees))
            return true;
    }
    return false;
}

static ovp_status find_column(ovp_electrical_joint_reader *reader, const ovp_text_row *row, column which,
                              ovp_error *error)
{
    reader->index[which] = -1;
    for (size_t i = 0; i < row->count; i++) {
        ovp_text_degrees degrees;
        if (!names(row->fields[i], which, &degrees))
            continue;
        if (reader->index[which] >= 0) {
            ovp_error_set(error, OVP_ERROR_DATA, "two columns for %s", columns[which].words[0]);
            ovp_error_hint(error, "take one of them out");
            return OVP_ERROR_DATA;
        }
        reader->index[which] = (int)i;
        reader->degrees[which] = degrees;
    }
    return OVP_OK;
}

static ovp_status no_column(const char *name, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "no column for %s", name);
    ovp_error_hint(error, "the first line names the columns: name,mV,A,rise_F,date; others are kind, "
                          "temperature_F, ambient_F, remade");
    return OVP_ERROR_DATA;
}

static ovp_status take_header(ovp_electrical_joint_reader *reader, const ovp_text_row *row, ovp_error *error)
{
    reader->has_header = true;
    for (int which = 0; which < COLUMNS; which++) {
        ovp_status status = find_column(reader, row, (column)which, error);
        if (status != OVP_OK)
            return status;
    }
    if (reader->index[NAME] < 0)
        return no_column("the joint's name", error);
    if (reader->index[DROP] < 0 && reader->index[RISE] < 0 && reader->index[AMBIENT_RISE] < 0 &&
        reader->index[TEMPERATURE] < 0)
        return no_column("mV, a rise or a temperature", error);
    return OVP_OK;
}

/* ---- rows ---------------------------------------------------------------------------------------- */

static ovp_status refuse(column which, ovp_span field, ovp_error *error)
{
    char found[40];
    ovp_copy_string(found, sizeof found, field);
    ovp_error_set(error, OVP_ERROR_DATA, "%s is \"%s\", which cannot be read", columns[which].words[0],
                  found);
    ovp_error_hint(error, "write it like %s, or leave the cell empty", columns[which].example);
    return OVP_ERROR_DATA;
}

static bool is_difference(column which)
{
    return columns[which].kind == OVP_TEXT_TEMPERATURE_DIFFERENCE;
}

/* A bare number in the unit of its column. False: its scale is not known. */
static bool in_unit(const ovp_electrical_joint_reader *reader, column which, double number, double *value)
{
    ovp_text_degrees degrees = reader->degrees[which];
    if (degrees == OVP_TEXT_DEGREES_NONE)
        degrees = reader->bare;
    *value = number;
    if (columns[which].unit != NULL)
        return true;
    if (degrees == OVP_TEXT_DEGREES_NONE)
        return false;
    if (is_difference(which))
        *value = degrees == OVP_TEXT_DEGREES_F ? number / 1.8 : number;
    else
        *value = ovp_text_to_celsius(number, degrees);
    return true;
}

/* A cell in mV, A or degC; NAN where it is empty or there is no such column. */
static ovp_status cell(const ovp_electrical_joint_reader *reader, const ovp_text_row *row, column which,
                       double *value, ovp_error *error)
{
    ovp_span field = ovp_text_row_field(row, reader->index[which]);
    double number;
    *value = NAN;
    if (field.count == 0)
        return OVP_OK;
    if (ovp_text_delimited_number(field, ovp_text_delimited_dialect(reader->parser).decimal, &number)) {
        if (in_unit(reader, which, number, value))
            return OVP_OK;
        ovp_error_set(error, OVP_ERROR_DATA, "the column %s has no unit", columns[which].words[0]);
        ovp_error_hint(error, "call it %s_F or %s_C, or add --degrees F", columns[which].words[0],
                       columns[which].words[0]);
        return OVP_ERROR_DATA;
    }
    if (ovp_text_quantity(field, columns[which].kind, reader->bare, value, NULL) != OVP_OK)
        return refuse(which, field, error);
    return OVP_OK;
}

static bool is_yes(ovp_span field)
{
    static const char *const words[] = {"yes", "y", "x", "true", "1", "remade", "replaced"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (ovp_span_equals(field, words[i]))
            return true;
    return false;
}

static ovp_status texts(const ovp_electrical_joint_reader *reader, const ovp_text_row *row,
                        ovp_electrical_joint *joint, ovp_error *error)
{
    ovp_span name = ovp_text_row_field(row, reader->index[NAME]);
    ovp_span date = ovp_text_row_field(row, reader->index[DATE]);
    if (name.count == 0) {
        ovp_error_set(error, OVP_ERROR_DATA, "a joint without a name");
        ovp_error_hint(error, "name each as on the drawing: plug L1, block 2, relay out");
        return OVP_ERROR_DATA;
    }
    ovp_copy_string(joint->name, sizeof joint->name, name);
    ovp_copy_string(joint->kind, sizeof joint->kind, ovp_text_row_field(row, reader->index[KIND]));
    joint->remade = is_yes(ovp_text_row_field(row, reader->index[REMADE]));
    joint->has_day = date.count > 0;
    if (joint->has_day && !ovp_text_day(date, &joint->day))
        return refuse(DATE, date, error);
    return OVP_OK;
}

/* What cannot be is said with its line, here, not later. */
static ovp_status check(const ovp_electrical_joint *joint, ovp_error *error)
{
    ovp_electrical_joint_result result;
    return ovp_electrical_joint_judge(joint, NAN, &result, error);
}

static ovp_status read_row(const ovp_electrical_joint_reader *reader, const ovp_text_row *row,
                           ovp_electrical_joint *joint, ovp_error *error)
{
    ovp_electrical_joint_init(joint);
    struct {
        column which;
        double *value;
    } cells[] = {
        {DROP, &joint->drop_mV},
        {CURRENT, &joint->current_A},
        {RISE, &joint->rise_like_C},
        {AMBIENT_RISE, &joint->rise_ambient_C},
        {TEMPERATURE, &joint->temperature_C},
        {AMBIENT, &joint->ambient_C},
    };
    ovp_status status = texts(reader, row, joint, error);
    for (size_t i = 0; i < sizeof cells / sizeof cells[0] && status == OVP_OK; i++)
        status = cell(reader, row, cells[i].which, cells[i].value, error);
    return status == OVP_OK ? check(joint, error) : status;
}

static bool is_empty(const ovp_text_row *row)
{
    for (size_t i = 0; i < row->count; i++)
        if (row->fields[i].count > 0)
            return false;
    return true;
}

static ovp_status take_row(ovp_electrical_joint_reader *reader, const ovp_text_row *row, ovp_error *error)
{
    ovp_electrical_joint_list *list = reader->list;
    if (row->comment || is_empty(row))
        return OVP_OK;
    if (!reader->has_header)
        return take_header(reader, row, error);
    if (list->count == OVP_ELECTRICAL_JOINTS) {
        ovp_error_set(error, OVP_ERROR_DATA, "more than %d readings", OVP_ELECTRICAL_JOINTS);
        ovp_error_hint(error, "keep the latest ones, or a file for each oven");
        return OVP_ERROR_DATA;
    }
    ovp_status status = read_row(reader, row, &list->joints[list->count], error);
    if (status == OVP_OK)
        list->lines[list->count++] = row->line;
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

static size_t own_size(void)
{
    return (sizeof(ovp_electrical_joint_reader) + 15) / 16 * 16;
}

size_t ovp_electrical_joint_reader_size(void)
{
    return own_size() + ovp_text_delimited_size();
}

ovp_electrical_joint_reader *ovp_electrical_joint_reader_init(void *memory, ovp_text_degrees bare,
                                                              ovp_electrical_joint_list *list)
{
    ovp_electrical_joint_reader *reader = memory;
    *reader = (ovp_electrical_joint_reader){.list = list, .bare = bare};
    list->count = 0;
    reader->parser = ovp_text_delimited_init(
        (char *)memory + own_size(), (ovp_text_delimited_client){.row = row_with_line, .context = reader});
    return reader;
}

ovp_status ovp_electrical_joint_reader_feed(ovp_electrical_joint_reader *reader, const char *bytes,
                                            size_t count, ovp_error *error)
{
    reader->bytes += count > 0;
    return ovp_text_delimited_feed(reader->parser, bytes, count, error);
}

ovp_status ovp_electrical_joint_reader_end(ovp_electrical_joint_reader *reader, ovp_error *error)
{
    ovp_status status = OVP_OK;
    if (reader->bytes == 0)
        status = ovp_error_set(error, OVP_ERROR_DATA, "there is nothing in it");
    else
        status = ovp_text_delimited_end(reader->parser, error);
    if (status == OVP_OK && reader->list->count == 0)
        status = ovp_error_set(error, OVP_ERROR_DATA, "no readings in it");
    if (status == OVP_OK)
        ovp_electrical_joints_fill(reader->list->joints, reader->list->count);
    else
        ovp_error_hint(error, "a line of names, name,mV,A,rise_F,date, then a line for each reading");
    return status;
}
