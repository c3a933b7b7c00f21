#include "reader_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Which column is what. Nothing is guessed between two that are equally likely. */

enum {
    TIER_NONE,
    TIER_AMBIENT,   /* the room's temperature, if there is no other */
    TIER_UNNAMED,   /* numbers under a name that says nothing */
    TIER_WORD,      /* a word or a unit of temperature */
    TIER_NAME,      /* named as the temperature */
    TIER_CANONICAL, /* temperature_C and the like */
    LISTED = 6,     /* choices listed in a hint */
};

const char *trace_column_title(const ovp_trace_reader *reader, int column, char *buffer, size_t size)
{
    size_t count = 0;
    const ovp_span *header = ovp_text_delimited_header(reader->text, &count);
    if (column >= 0 && (size_t)column < count && header[column].count > 0)
        ovp_copy_string(buffer, size, header[column]);
    else
        snprintf(buffer, size, "column %d", column + 1);
    return buffer;
}

static label label_of(const ovp_trace_reader *reader, int column)
{
    size_t count = 0;
    const ovp_span *header = ovp_text_delimited_header(reader->text, &count);
    label found = (size_t)column < count ? trace_label(header[column]) : (label){0};
    if (found.unit == UNIT_NONE)
        found.unit = (unit)reader->facts[column].unit_row;
    return found;
}

/* ---- a choice of the caller ---------------------------------------------------------------------- */

static void list_columns(const ovp_trace_reader *reader, const int columns[], size_t count, char *out,
                         size_t size)
{
    size_t length = 0;
    out[0] = '\0';
    for (size_t i = 0; i < count && i < LISTED; i++) {
        char title[40];
        trace_column_title(reader, columns[i], title, sizeof title);
        int wrote =
            snprintf(out + length, size - length, "%s\"%s\" (%d)", i > 0 ? ", " : "", title, columns[i] + 1);
        if (wrote < 0 || (size_t)wrote >= size - length)
            return;
        length += (size_t)wrote;
    }
    if (count > LISTED)
        snprintf(out + length, size - length, " and %zu more", count - LISTED);
}

static bool column_number(const char *text, size_t width, int *column)
{
    double value = 0.0;
    if (!ovp_text_number(ovp_span_of(text), &value) || value != floor(value) || value < 1.0 ||
        value > (double)width)
        return false;
    *column = (int)value - 1;
    return true;
}

/* Exactly so named; else the only one that is so named but for its unit. */
static int column_named(const ovp_trace_reader *reader, const char *name)
{
    int column = ovp_text_delimited_column(reader->text, name);
    if (column >= 0)
        return column;
    size_t count = 0;
    size_t length = strlen(name);
    const ovp_span *header = ovp_text_delimited_header(reader->text, &count);
    for (size_t i = 0; i < count; i++) {
        ovp_span text = header[i];
        bool starts = text.count > length && ovp_span_equals((ovp_span){text.bytes, length}, name);
        if (!starts || (text.bytes[length] != ' ' && text.bytes[length] != '(' && text.bytes[length] != '['))
            continue;
        if (trace_unit((ovp_span){text.bytes + length, text.count - length}) == UNIT_NONE)
            continue;
        if (column >= 0)
            return -1;
        column = (int)i;
    }
    return column;
}

ovp_status trace_find_chosen(const ovp_trace_reader *reader, ovp_trace_column which, int *column,
                             ovp_error *error)
{
    const char *choice = reader->options.column[which];
    *column = -1;
    if (choice == NULL)
        return OVP_OK;
    *column = column_named(reader, choice);
    if (*column >= 0 || column_number(choice, reader->plan.width, column))
        return OVP_OK;
    char list[OVP_ERROR_TEXT_SIZE - 40];
    int all[LISTED + 1];
    size_t count = reader->plan.width;
    for (size_t i = 0; i < count && i < LISTED + 1; i++)
        all[i] = (int)i;
    list_columns(reader, all, count, list, sizeof list);
    ovp_error_set(error, OVP_ERROR_DATA, "no column \"%s\" for the %s", choice, ovp_trace_column_name(which));
    ovp_error_hint(error, "the columns are %s", list);
    return OVP_ERROR_DATA;
}

/* ---- temperature --------------------------------------------------------------------------------- */

static bool holds_values(const column_facts *facts)
{
    unsigned values = (unsigned)facts->numbers + facts->words;
    return values > 0 && values >= (unsigned)facts->texts + facts->clocks + facts->dates + facts->moments;
}

/* Blank throughout: a display that is out of range, if the header says that it is one. */
static bool is_blank(const column_facts *facts)
{
    return facts->empties > 0 && facts->numbers == 0 && facts->words == 0 && facts->texts == 0 &&
           facts->clocks == 0 && facts->dates == 0 && facts->moments == 0;
}

static int tier_of(const ovp_trace_reader *reader, int column)
{
    const column_facts *facts = &reader->facts[column];
    if (column == reader->plan.column[OVP_TRACE_TIME] || column == reader->plan.date_column ||
        !(holds_values(facts) || is_blank(facts)))
        return TIER_NONE;
    label found = label_of(reader, column);
    if (is_blank(facts) && found.role != ROLE_TEMPERATURE)
        return TIER_NONE;
    bool degrees = trace_unit_is_temperature(found.unit) || trace_unit_is_temperature((unit)facts->unit);
    if (found.role == ROLE_AMBIENT)
        return TIER_AMBIENT;
    if (found.role == ROLE_TEMPERATURE)
        return found.fit == FIT_CANONICAL ? TIER_CANONICAL : found.fit == FIT_NAME ? TIER_NAME : TIER_WORD;
    if (found.capital_t)
        return TIER_WORD;
    if (found.role != ROLE_NONE)
        return TIER_NONE;
    if (degrees)
        return TIER_WORD;
    return found.unit == UNIT_NONE ? TIER_UNNAMED : TIER_NONE;
}

static size_t columns_of_tiers(const ovp_trace_reader *reader, int lowest, int highest, int columns[],
                               size_t capacity)
{
    size_t count = 0;
    for (int i = 0; i < (int)reader->plan.width; i++) {
        int tier = tier_of(reader, i);
        if (tier < lowest || tier > highest)
            continue;
        if (count < capacity)
            columns[count] = i;
        count++;
    }
    return count;
}

static ovp_status refuse_candidates(const ovp_trace_reader *reader, const int columns[], size_t count,
                                    ovp_error *error)
{
    char list[OVP_ERROR_TEXT_SIZE - 90];
    char title[40];
    list_columns(reader, columns, count, list, sizeof list);
    trace_column_title(reader, columns[0], title, sizeof title);
    ovp_error_set(error, OVP_ERROR_DATA, "%zu columns could be the temperature", count);
    ovp_error_hint(error, "choose one with --column temperature=\"%s\" or its number: %s", title, list);
    return OVP_ERROR_DATA;
}

static ovp_status no_temperature(ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "no column of temperatures beside the time");
    ovp_error_hint(error,
                   "each row needs a time and a temperature; or say which with --column temperature=NAME");
    return OVP_ERROR_DATA;
}

static void warn_others(ovp_trace_reader *reader, int column, int tier)
{
    int others[LISTED + 1];
    size_t count = 0;
    char list[OVP_TRACE_TEXT_SIZE - 80];
    char title[40];
    if (tier > TIER_WORD)
        count = columns_of_tiers(reader, TIER_WORD, tier - 1, others, LISTED + 1);
    if (count == 0)
        return;
    list_columns(reader, others, count, list, sizeof list);
    trace_warn(&reader->input, "\"%s\" is taken as the temperature, not %s",
               trace_column_title(reader, column, title, sizeof title), list);
}

/* No header: time first, temperature second; what stands in front of the time may be a count of rows. */
static int second_column(const ovp_trace_reader *reader)
{
    int time = reader->plan.column[OVP_TRACE_TIME];
    int found = -1;
    for (int i = (int)reader->plan.width - 1; i >= 0; i--)
        if (tier_of(reader, i) != TIER_NONE && (i > time || found < 0))
            found = i;
    return found;
}

static void warn_no_header(ovp_trace_reader *reader, int column)
{
    int all[LISTED + 1];
    size_t count = columns_of_tiers(reader, TIER_UNNAMED, TIER_UNNAMED, all, LISTED + 1);
    trace_warn(&reader->input, "no header: column %d is taken as the time, column %d as the temperature%s",
               reader->plan.column[OVP_TRACE_TIME] + 1, column + 1,
               count > 1 ? "; the others are not used" : "");
}

static ovp_status choose_temperature(ovp_trace_reader *reader, ovp_error *error)
{
    int *column = &reader->plan.column[OVP_TRACE_TEMPERATURE];
    ovp_status status = trace_find_chosen(reader, OVP_TRACE_TEMPERATURE, column, error);
    if (status == OVP_OK && *column >= 0 && *column == reader->plan.column[OVP_TRACE_TIME]) {
        ovp_error_set(error, OVP_ERROR_DATA, "the column chosen for the temperature is the time");
        ovp_error_hint(error, "choose another, or say which is the time with --column time=NAME");
        return OVP_ERROR_DATA;
    }
    if (status != OVP_OK || *column >= 0)
        return status;
    size_t header_count = 0;
    ovp_text_delimited_header(reader->text, &header_count);
    int candidates[LISTED + 1] = {0};
    for (int tier = TIER_CANONICAL; tier > TIER_NONE; tier--) {
        size_t count = columns_of_tiers(reader, tier, tier, candidates, LISTED + 1);
        if (count == 0)
            continue;
        if (header_count == 0 && tier == TIER_UNNAMED) {
            *column = second_column(reader);
            warn_no_header(reader, *column);
            return OVP_OK;
        }
        if (count > 1) { /* once the choice is open it is open between all */
            int lowest = tier < TIER_WORD ? tier : TIER_WORD;
            count = columns_of_tiers(reader, lowest, TIER_CANONICAL, candidates, LISTED + 1);
            return refuse_candidates(reader, candidates, count, error);
        }
        *column = candidates[0];
        char title[40];
        if (tier <= TIER_UNNAMED)
            trace_warn(&reader->input, "\"%s\" is taken as the temperature: nothing else could be it",
                       trace_column_title(reader, *column, title, sizeof title));
        warn_others(reader, *column, tier);
        return OVP_OK;
    }
    return no_temperature(error);
}

/* ---- the rest -------------------------------------------------------------------------------------------
 */

static ovp_status choose_role(ovp_trace_reader *reader, ovp_trace_column which, role wanted, ovp_error *error)
{
    int *column = &reader->plan.column[which];
    ovp_status status = trace_find_chosen(reader, which, column, error);
    if (status != OVP_OK || *column >= 0)
        return status;
    fit best = FIT_NONE;
    size_t equal = 0;
    for (int i = 0; i < (int)reader->plan.width; i++) {
        label found = label_of(reader, i);
        bool used =
            i == reader->plan.column[OVP_TRACE_TEMPERATURE] || i == reader->plan.column[OVP_TRACE_TIME];
        if (found.role != wanted || used || found.fit < best)
            continue;
        equal = found.fit == best && best != FIT_NONE ? equal + 1 : 1;
        if (found.fit > best)
            *column = i;
        best = found.fit;
    }
    char title[40];
    if (equal > 1)
        trace_warn(&reader->input, "\"%s\" is taken as the %s, the first of %zu (--column %s=NAME chooses)",
                   trace_column_title(reader, *column, title, sizeof title), ovp_trace_column_name(which),
                   equal, ovp_trace_column_name(which));
    return OVP_OK;
}

static unit unit_of_degrees(ovp_text_degrees degrees)
{
    switch (degrees) {
    case OVP_TEXT_DEGREES_F:
        return UNIT_F;
    case OVP_TEXT_DEGREES_K:
        return UNIT_K;
    case OVP_TEXT_DEGREES_C:
        return UNIT_C;
    default:
        return UNIT_NONE;
    }
}

/* K behind a name may be the type of the thermocouple: no oven stands below 200 K. */
static unit said_unit(const ovp_trace_reader *reader, int column)
{
    label found = label_of(reader, column);
    const column_facts *facts = &reader->facts[column];
    bool type_k = found.bare_kelvin && facts->numbers > 0 && facts->lowest < 200.0F;
    if (trace_unit_is_temperature(found.unit) && !type_k)
        return found.unit;
    if (trace_unit_is_temperature((unit)facts->unit))
        return (unit)facts->unit;
    const column_facts *next = facts + 1; /* a column of its own for the unit */
    bool units = (size_t)column + 1 < reader->plan.width && next->unit_texts > 0 &&
                 next->unit_texts == next->texts && next->numbers == 0;
    return units ? (unit)next->unit : UNIT_NONE;
}

static void plan_temperature_unit(ovp_trace_reader *reader)
{
    int column = reader->plan.column[OVP_TRACE_TEMPERATURE];
    unit *to = &reader->plan.unit[OVP_TRACE_TEMPERATURE];
    char title[40];
    *to = said_unit(reader, column);
    if (*to != UNIT_NONE)
        return;
    trace_column_title(reader, column, title, sizeof title);
    *to = unit_of_degrees(reader->options.degrees);
    if (*to == UNIT_NONE) {
        *to = UNIT_C;
        trace_warn(&reader->input,
                   "\"%s\" names no unit: taken as \xC2\xB0"
                   "C (--degrees F if it is not)",
                   title);
    } else {
        trace_warn(&reader->input, "\"%s\" names no unit: taken as %s", title,
                   *to == UNIT_F   ? "\xC2\xB0"
                                     "F"
                   : *to == UNIT_C ? "\xC2\xB0"
                                     "C"
                                   : "kelvins");
    }
}

static void plan_other_units(ovp_trace_reader *reader)
{
    plan *to = &reader->plan;
    static const ovp_trace_column hot[] = {OVP_TRACE_SETPOINT, OVP_TRACE_COLD_JUNCTION};
    for (size_t i = 0; i < 2; i++) {
        int column = to->column[hot[i]];
        unit u = column >= 0 ? said_unit(reader, column) : UNIT_NONE;
        to->unit[hot[i]] = u != UNIT_NONE ? u : to->unit[OVP_TRACE_TEMPERATURE];
    }
    static const ovp_trace_column plain[] = {OVP_TRACE_OUTPUT, OVP_TRACE_SUPPLY, OVP_TRACE_CURRENT};
    for (size_t i = 0; i < 3; i++)
        if (to->column[plain[i]] >= 0)
            to->unit[plain[i]] = label_of(reader, to->column[plain[i]]).unit;
    int output = to->column[OVP_TRACE_OUTPUT];
    if (output < 0 || to->unit[OVP_TRACE_OUTPUT] == UNIT_PERCENT)
        return;
    const column_facts *facts = &reader->facts[output];
    char title[40];
    if (facts->numbers == 0 || facts->lowest < 0.0F || facts->highest > 1.0F || facts->highest <= 0.0F)
        return;
    to->output_scale = 100.0;
    trace_warn(&reader->input, "\"%s\" runs from 0 to 1: taken as 0 to 100 %%",
               trace_column_title(reader, output, title, sizeof title));
}

static void note_columns(ovp_trace_reader *reader)
{
    for (int which = 0; which < OVP_TRACE_COLUMNS; which++) {
        int column = reader->plan.column[which];
        if (column < 0)
            continue;
        reader->input.has[which] = true;
        reader->input.column_numbers[which] = column + 1;
        trace_column_title(reader, column, reader->input.columns[which], OVP_TRACE_HEADER_SIZE);
    }
}

/* Under two headings three or four fields throughout: decimal commas in a file parted by commas. */
static bool decimals_are_parted(const ovp_trace_reader *reader)
{
    size_t count = 0;
    ovp_text_delimited_header(reader->text, &count);
    size_t width = reader->plan.width;
    if (reader->dialect.delimiter != ',' || count < 2 || (width != 2 * count - 1 && width != 2 * count))
        return false;
    for (size_t i = count; i < width; i++)
        if (reader->facts[i].numbers == 0 || reader->facts[i].texts + reader->facts[i].empties > 0)
            return false;
    return true;
}

ovp_status trace_choose_columns(ovp_trace_reader *reader, ovp_error *error)
{
    if (decimals_are_parted(reader)) {
        ovp_error_set(error, OVP_ERROR_DATA,
                      "more fields in the rows than in the header: decimal commas between commas");
        ovp_error_hint(error, "export it with semicolons between the fields, or with decimal points");
        return OVP_ERROR_DATA;
    }
    static const struct {
        ovp_trace_column which;
        role role;
    } others[] = {{OVP_TRACE_SETPOINT, ROLE_SETPOINT},
                  {OVP_TRACE_OUTPUT, ROLE_OUTPUT},
                  {OVP_TRACE_SUPPLY, ROLE_SUPPLY},
                  {OVP_TRACE_CURRENT, ROLE_CURRENT},
                  {OVP_TRACE_COLD_JUNCTION, ROLE_COLD_JUNCTION}};
    reader->plan.output_scale = 1.0;
    ovp_status status = choose_temperature(reader, error);
    for (size_t i = 0; status == OVP_OK && i < sizeof others / sizeof others[0]; i++)
        status = choose_role(reader, others[i].which, others[i].role, error);
    if (status != OVP_OK)
        return status;
    plan_temperature_unit(reader);
    plan_other_units(reader);
    note_columns(reader);
    return OVP_OK;
}
