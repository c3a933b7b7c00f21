#include "reader_internal.h"

#include <math.h>
#include <string.h>

/* Which column holds the time and what its cells count. */

static const char option_hint[] = "say which with --column time=NAME or time=NUMBER";

static size_t firm(const column_facts *facts)
{
    return (size_t)facts->numbers + facts->clocks + facts->dates + facts->moments;
}

static bool mostly(size_t part, const column_facts *facts)
{
    return part > 0 && part * 2 >= firm(facts) && part >= facts->texts;
}

static cell_kind kind_of(const column_facts *facts)
{
    if (mostly(facts->moments, facts))
        return CELL_MOMENT;
    if (mostly(facts->clocks, facts))
        return CELL_CLOCK;
    if (mostly(facts->dates, facts))
        return CELL_DATE;
    return mostly(facts->numbers, facts) ? CELL_NUMBER : CELL_TEXT;
}

/* Seconds since 1970 in s, ms, us: no run is as long as these are large. */
static double epoch_scale(double first)
{
    static const double bounds[] = {1e8, 1e11, 1e14, 1e17};
    static const double scales[] = {1.0, 1e-3, 1e-6};
    for (int i = 0; i < 3; i++)
        if (first >= bounds[i] && first < bounds[i + 1])
            return scales[i];
    return 0.0;
}

/* No column in front holds anything. */
static bool is_first_firm(const ovp_trace_reader *reader, size_t column)
{
    for (size_t i = 0; i < column; i++)
        if (firm(&reader->facts[i]) > 0)
            return false;
    return true;
}

/* How good a column is as the time; 0 not at all. */
static int rank(const ovp_trace_reader *reader, size_t i, bool has_header)
{
    const column_facts *facts = &reader->facts[i];
    size_t header_count = 0;
    const ovp_span *header = ovp_text_delimited_header(reader->text, &header_count);
    label found = i < header_count ? trace_label(header[i]) : (label){0};
    cell_kind kind = kind_of(facts);
    bool named = found.role == ROLE_TIME || found.role == ROLE_DATE;
    if (kind == CELL_TEXT || found.role == ROLE_INDEX)
        return 0;
    if (named && found.fit == FIT_CANONICAL)
        return 100;
    if (kind == CELL_DATE)
        return 0;
    if (kind == CELL_MOMENT)
        return named ? 60 : 50;
    if (kind == CELL_CLOCK)
        return named ? 55 : 40;
    if (named && found.fit == FIT_NONE) /* a unit and no name */
        return 46;
    if (named)
        return found.unit != UNIT_NONE || facts->unit_row != UNIT_NONE ? 58 : 54;
    if (trace_unit_seconds((unit)facts->unit_row) > 0.0 || trace_unit_seconds((unit)facts->unit) > 0.0)
        return 45;
    if (trace_unit_is_temperature(found.unit) || trace_unit_is_temperature((unit)facts->unit) ||
        trace_unit_is_temperature((unit)facts->unit_row))
        return 0;
    bool rises =
        facts->backward == 0 && (facts->last > facts->first || epoch_scale((double)facts->first) > 0.0);
    bool unnamed = found.role == ROLE_NONE || (found.role == ROLE_OTHER && found.fit == FIT_NONE);
    return unnamed && (!has_header || rises) && is_first_firm(reader, i) ? 10 : 0;
}

static int find_time(const ovp_trace_reader *reader)
{
    size_t header_count = 0;
    ovp_text_delimited_header(reader->text, &header_count);
    int best = -1;
    int best_rank = 0;
    for (size_t i = 0; i < reader->plan.width; i++) {
        int r = rank(reader, i, header_count > 0);
        if (r > best_rank) {
            best_rank = r;
            best = (int)i;
        }
    }
    return best;
}

/* The column of dates beside a column of clocks. */
static int find_date(const ovp_trace_reader *reader, int time)
{
    int best = -1;
    for (int i = 0; i < (int)reader->plan.width; i++) {
        if (i == time || kind_of(&reader->facts[i]) != CELL_DATE)
            continue;
        if (best < 0 || i == time - 1)
            best = i;
    }
    return best;
}

static unit unit_of(const ovp_trace_reader *reader, int column)
{
    size_t header_count = 0;
    const ovp_span *header = ovp_text_delimited_header(reader->text, &header_count);
    unit u = (size_t)column < header_count ? trace_label(header[column]).unit : UNIT_NONE;
    if (u == UNIT_NONE)
        u = (unit)reader->facts[column].unit_row;
    return u;
}

static void plan_number(ovp_trace_reader *reader, int column)
{
    plan *to = &reader->plan;
    const column_facts *facts = &reader->facts[column];
    double said = trace_unit_seconds(unit_of(reader, column));
    double epoch = epoch_scale((double)facts->first);
    char title[OVP_TRACE_HEADER_SIZE];
    trace_column_title(reader, column, title, sizeof title);
    if (isfinite(reader->options.time_unit_s) && reader->options.time_unit_s > 0.0) {
        to->time_scale = reader->options.time_unit_s;
    } else if (said > 0.0) {
        to->time_scale = said;
    } else if (epoch > 0.0) {
        to->time_scale = epoch;
        trace_warn(&reader->input, "\"%s\" counts %s since 1970", title,
                   epoch >= 1.0   ? "seconds"
                   : epoch > 1e-5 ? "milliseconds"
                                  : "microseconds");
    } else if (trace_unit_seconds((unit)facts->unit) > 0.0) {
        to->time_scale = 1.0; /* each cell says its own unit */
    } else if (facts->first > 20000.0F && facts->first < 80000.0F && facts->last - facts->first < 60.0F &&
               facts->decimals != 255 && facts->highest - facts->lowest > 0.0F && facts->decimals > 2) {
        to->time_scale = 86400.0;
        trace_warn(&reader->input, "\"%s\" holds the day numbers of a spreadsheet: taken as days", title);
    } else {
        to->time_scale = 1.0;
        trace_warn(&reader->input,
                   "\"%s\" names no unit: taken as seconds (--time-unit min or h if it is not)", title);
    }
}

static bool is_time_of_day(const ovp_trace_reader *reader, int column)
{
    static const char *const names[] = {"uhrzeit", "time of day", "clock", "local time"};
    size_t count = 0;
    const ovp_span *header = ovp_text_delimited_header(reader->text, &count);
    for (size_t i = 0; i < sizeof names / sizeof names[0] && (size_t)column < count; i++)
        if (ovp_span_equals(header[column], names[i]))
            return true;
    return false;
}

/* 19:40 is minutes and seconds, or hours and minutes. */
static void plan_clock(ovp_trace_reader *reader, int column)
{
    const column_facts *facts = &reader->facts[column];
    plan *to = &reader->plan;
    if (!facts->two_parts)
        return;
    unit said = unit_of(reader, column);
    double option = reader->options.time_unit_s;
    if (option == 60.0 || option == 3600.0) {
        to->two_parts_are_minutes = option == 60.0;
        return;
    }
    if (is_time_of_day(reader, column) || facts->half_day)
        return;
    if (said == UNIT_CLOCK_MS || said == UNIT_CLOCK_HM || said == UNIT_MIN || said == UNIT_H) {
        to->two_parts_are_minutes = said == UNIT_CLOCK_MS || said == UNIT_MIN;
        return;
    }
    to->two_parts_are_minutes =
        to->date_column < 0 && (facts->long_first_part || facts->fraction || facts->first < 3600.0F);
    if (to->date_column < 0)
        trace_warn(&reader->input, "times such as 19:40 are taken as %s (--time-unit %s if they are not)",
                   to->two_parts_are_minutes ? "minutes:seconds" : "hours:minutes",
                   to->two_parts_are_minutes ? "h" : "min");
}

static void plan_date_order(ovp_trace_reader *reader, const column_facts *facts)
{
    plan *to = &reader->plan;
    if (reader->options.date_order == 1 || reader->options.date_order == 2) {
        to->order = reader->options.date_order == 1 ? DAY_FIRST : MONTH_FIRST;
        return;
    }
    to->order = -1;
    if (facts->valid[DAY_FIRST] != facts->valid[MONTH_FIRST])
        to->order = facts->valid[DAY_FIRST] ? DAY_FIRST : MONTH_FIRST;
    else if (facts->dotted)
        to->order = DAY_FIRST; /* points between the parts are written day first wherever they are written */
}

ovp_status trace_choose_time(ovp_trace_reader *reader, ovp_error *error)
{
    plan *to = &reader->plan;
    int column = -1;
    ovp_status status = trace_find_chosen(reader, OVP_TRACE_TIME, &column, error);
    if (status != OVP_OK)
        return status;
    if (column < 0)
        column = find_time(reader);
    if (column < 0) {
        status = ovp_error_set(error, OVP_ERROR_DATA, "no column holds times");
        ovp_error_hint(error, "%s", option_hint);
        return status;
    }
    to->column[OVP_TRACE_TIME] = column;
    to->time_kind = kind_of(&reader->facts[column]);
    to->date_column = to->time_kind == CELL_CLOCK ? find_date(reader, column) : -1;
    to->time_scale = 1.0;
    if (to->time_kind == CELL_TEXT) {
        status = ovp_error_set(error, OVP_ERROR_DATA, "the column chosen for the time holds no times");
        ovp_error_hint(error, "%s", option_hint);
        return status;
    }
    if (to->time_kind == CELL_NUMBER)
        plan_number(reader, column);
    if (to->time_kind == CELL_CLOCK)
        plan_clock(reader, column);
    if (to->time_kind == CELL_MOMENT || to->time_kind == CELL_DATE)
        plan_date_order(reader, &reader->facts[column]);
    else if (to->date_column >= 0)
        plan_date_order(reader, &reader->facts[to->date_column]);
    return OVP_OK;
}

/* ---- the time of one row ------------------------------------------------------------------------- */

/* Both readings of a date give the same elapsed time, or the order is known. */
static bool days_since_first(ovp_trace_reader *reader, const cell *date, double *days)
{
    plan *to = &reader->plan;
    int order = to->order >= 0 ? to->order : date->valid[DAY_FIRST] ? DAY_FIRST : MONTH_FIRST;
    if (!date->valid[order])
        return false;
    if (!reader->begun) {
        reader->day0[DAY_FIRST] = date->day[DAY_FIRST];
        reader->day0[MONTH_FIRST] = date->day[MONTH_FIRST];
    }
    *days = (double)(date->day[order] - reader->day0[order]);
    if (to->order >= 0)
        return true;
    if (date->valid[DAY_FIRST] != date->valid[MONTH_FIRST]) {
        to->order = order; /* this date exists in one order only */
        return true;
    }
    reader->order_matters = reader->order_matters || date->day[DAY_FIRST] - reader->day0[DAY_FIRST] !=
                                                         date->day[MONTH_FIRST] - reader->day0[MONTH_FIRST];
    return true;
}

/* A time of day that falls by more than half a day has passed midnight. */
static double over_midnight(ovp_trace_reader *reader, const cell *clock)
{
    static const double day = 86400.0;
    double time = clock->clock_s + reader->day_shift;
    if (!reader->begun)
        return time;
    double back = reader->time_last - time;
    if (back > 0.5 * day) {
        reader->day_shift += day;
        reader->midnight++;
        return time + day;
    }
    if (!clock->half_day && back > 11.0 * 3600.0 && back <= 0.5 * day &&
        time + 0.5 * day - reader->time_last < 3600.0) {
        reader->day_shift += 0.5 * day; /* 12:59 to 1:00 on a clock of twelve hours */
        reader->half_days++;
        return time + 0.5 * day;
    }
    return time;
}

static bool clock_time(ovp_trace_reader *reader, const ovp_text_row *row, const cell *clock, double *time)
{
    const plan *to = &reader->plan;
    if (to->date_column >= 0) {
        cell date = trace_cell(ovp_text_row_field(row, to->date_column), reader->dialect.decimal);
        double days = 0.0;
        if (date.kind == CELL_EMPTY && reader->begun)
            days = reader->days_last; /* written only where it changes */
        else if ((date.kind != CELL_DATE && date.kind != CELL_MOMENT) ||
                 !days_since_first(reader, &date, &days))
            return false;
        reader->days_last = days;
        *time = 86400.0 * days + clock->clock_s;
        return true;
    }
    if (clock->parts == 2 && to->two_parts_are_minutes) {
        *time = clock->clock_s / 60.0;
        return true;
    }
    *time = over_midnight(reader, clock);
    return true;
}

/* Most rows differ from the one before in their minutes and seconds only. */
static bool same_hour(const time_cache *kept, ovp_span text, double *time)
{
    char whole[CLOCK_SIZE] = {0};
    if (kept->count == 0 || text.count != kept->count)
        return false;
    memcpy(whole, text.bytes, text.count);
    return trace_same_hour(kept, whole, time);
}

/* Two digits below 60; -1 otherwise. */
static int sixty(const char *at)
{
    unsigned tens = (unsigned)(unsigned char)at[0] - '0', ones = (unsigned)(unsigned char)at[1] - '0';
    return tens <= 5 && ones <= 9 ? (int)(10 * tens + ones) : -1;
}

/* "...:mm:ss" and anything behind that is no digit: the two digits behind each of two colons. */
static void keep_hour(time_cache *kept, ovp_span text, const cell *seen, double time)
{
    char whole[CLOCK_SIZE] = {0}, mask[CLOCK_SIZE] = {0}, most[CLOCK_SIZE];
    kept->count = 0;
    const char *colon = memchr(text.bytes, ':', text.count);
    if (seen->parts != 3 || text.count > CLOCK_SIZE || seen->fraction || colon == NULL ||
        text.bytes[0] == '-')
        return;
    size_t at = (size_t)(colon - text.bytes) + 1;
    if (at + 5 > text.count || text.bytes[at + 2] != ':' || text.bytes[at + 4] == ':')
        return;
    memcpy(whole, text.bytes, text.count);
    int minutes = sixty(whole + at), seconds = sixty(whole + at + 3);
    if (minutes < 0 || seconds < 0)
        return;
    memset(mask, 0xFF, text.count);
    memset(most, 0x7F, sizeof most);
    for (size_t part = at; part < at + 6; part += 3) { /* tens up to 5, ones up to 9 */
        whole[part] = whole[part + 1] = '0';
        most[part] = 0x7A;
        most[part + 1] = 0x76;
    }
    kept->words = (text.count + 7) / 8;
    for (size_t i = 0; i < kept->words; i++) {
        kept->word[i] = trace_eight_bytes(whole + 8 * i);
        kept->mask[i] = trace_eight_bytes(mask + 8 * i);
        kept->most[i] = trace_eight_bytes(most + 8 * i);
    }
    kept->count = text.count;
    kept->minutes_at = at;
    kept->seconds_at = at + 3;
    kept->seconds = 60 * minutes + seconds;
    kept->time = time;
}

static bool time_of_cell(ovp_trace_reader *reader, const ovp_text_row *row, ovp_span text, const cell *seen,
                         double *time)
{
    const plan *to = &reader->plan;
    double days = 0.0;
    switch (seen->kind) {
    case CELL_NUMBER:
        if (to->time_kind != CELL_NUMBER) { /* 0, then 19:40 */
            *time = 0.0;
            return to->time_kind == CELL_CLOCK && seen->number == 0.0 && seen->unit == UNIT_NONE;
        }
        *time = seen->number * (seen->unit != UNIT_NONE ? trace_unit_seconds(seen->unit) : to->time_scale);
        return true;
    case CELL_CLOCK:
        return clock_time(reader, row, seen, time);
    case CELL_DATE:
    case CELL_MOMENT:
        if (!days_since_first(reader, seen, &days))
            return false;
        *time = 86400.0 * days + seen->clock_s;
        return true;
    case CELL_TEXT:
        return to->time_kind == CELL_NUMBER && trace_duration(text, reader->dialect.decimal, time);
    case CELL_INFINITE:
        *time = INFINITY;
        return to->time_kind == CELL_NUMBER;
    default:
        return false;
    }
}

bool trace_time_of_row(ovp_trace_reader *reader, const ovp_text_row *row, double *time)
{
    const plan *to = &reader->plan;
    ovp_span text = ovp_text_row_field(row, to->column[OVP_TRACE_TIME]);
    bool alone = to->date_column < 0; /* no second column has a say */
    if (reader->begun && alone && same_hour(&reader->hour, text, time))
        return true;
    double number = 0.0;
    if (to->time_kind == CELL_NUMBER && ovp_text_delimited_number(text, reader->dialect.decimal, &number)) {
        *time = number * to->time_scale;
        return true;
    }
    cell seen = trace_cell(text, reader->dialect.decimal);
    bool read = time_of_cell(reader, row, text, &seen, time);
    if (read && alone && (seen.kind == CELL_CLOCK || seen.kind == CELL_MOMENT))
        keep_hour(&reader->hour, text, &seen, *time);
    return read;
}
