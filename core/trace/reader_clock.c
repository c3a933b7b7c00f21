#include "reader_internal.h"

#include <string.h>

/* Dates and clocks. A date whose day and month could change places is read both ways; the rows decide. */

typedef struct cursor {
    const char *at;
    const char *end;
} cursor;

static bool is_digit(char letter)
{
    return letter >= '0' && letter <= '9';
}

static bool is_letter(char letter)
{
    return (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') ||
           (unsigned char)letter >= 0x80;
}

static char peek(const cursor *in)
{
    return (char)(in->at < in->end ? *in->at : '\0');
}

static void skip_blanks(cursor *in)
{
    while (peek(in) == ' ' || peek(in) == '\t')
        in->at++;
}

/* A run of at most `most` digits. */
static bool take_digits(cursor *in, int most, long *value, int *count)
{
    *value = 0;
    *count = 0;
    while (*count < most && is_digit(peek(in))) {
        *value = *value * 10 + (*in->at - '0');
        in->at++;
        (*count)++;
    }
    return *count > 0 && !is_digit(peek(in));
}

static ovp_span take_word(cursor *in)
{
    const char *from = in->at;
    while (is_letter(peek(in)))
        in->at++;
    return (ovp_span){from, (size_t)(in->at - from)};
}

static int month_named(ovp_span word)
{
    static const char *const names[12][3] = {
        {"jan", "january", "januar"}, {"feb", "february", "februar"},  {"mar", "march", "m\xC3\xA4rz"},
        {"apr", "april", "april"},    {"may", "mai", "mai"},           {"jun", "june", "juni"},
        {"jul", "july", "juli"},      {"aug", "august", "august"},     {"sep", "september", "sept"},
        {"oct", "october", "okt"},    {"nov", "november", "november"}, {"dec", "december", "dez"}};
    static const char *const more[4] = {"m\xC3\xA4r", "mrz", "oktober", "dezember"};
    static const int more_month[4] = {3, 3, 10, 12};
    for (int month = 0; month < 12; month++)
        for (int i = 0; i < 3; i++)
            if (ovp_span_equals(word, names[month][i]))
                return month + 1;
    for (int i = 0; i < 4; i++)
        if (ovp_span_equals(word, more[i]))
            return more_month[i];
    return 0;
}

/* A log is of a year in which somebody may have logged. */
static bool day_number(long year, long month, long day, long *number)
{
    return year >= 1900 && year <= 2200 && ovp_text_day_number(year, month, day, number);
}

static long full_year(long year, int digits)
{
    return digits > 2 ? year : year < 70 ? 2000 + year : 1900 + year;
}

static bool same_both_ways(cell *result, long year, long month, long day)
{
    bool valid = day_number(year, month, day, &result->day[DAY_FIRST]);
    result->day[MONTH_FIRST] = result->day[DAY_FIRST];
    result->valid[DAY_FIRST] = result->valid[MONTH_FIRST] = valid;
    return valid;
}

/* 28/10/2024: two numbers that may change places. */
static bool either_way(cell *result, long first, long second, long year)
{
    result->valid[DAY_FIRST] = day_number(year, second, first, &result->day[DAY_FIRST]);
    result->valid[MONTH_FIRST] = day_number(year, first, second, &result->day[MONTH_FIRST]);
    return result->valid[DAY_FIRST] || result->valid[MONTH_FIRST];
}

static bool is_date_sign(char letter)
{
    return letter == '-' || letter == '/' || letter == '.';
}

/* "20241028" */
static bool compact_date(cursor *in, cell *result)
{
    cursor look = *in;
    long value = 0;
    int count = 0;
    if (!take_digits(&look, 8, &value, &count) || count != 8)
        return false;
    if (!same_both_ways(result, value / 10000, value / 100 % 100, value % 100))
        return false;
    *in = look;
    return true;
}

/* Between a day and a month's name: "28-Oct-2024", "28. Oktober 2024", "28 Oct 24". */
static bool named_month_date(cursor *in, long day, cell *result)
{
    while (is_date_sign(peek(in)) || peek(in) == ' ')
        in->at++;
    int month = month_named(take_word(in));
    if (month == 0)
        return false;
    while (is_date_sign(peek(in)) || peek(in) == ' ' || peek(in) == ',')
        in->at++;
    long year = 0;
    int count = 0;
    if (!take_digits(in, 4, &year, &count))
        return false;
    if (count > 2 && day > 31)
        return false;
    return same_both_ways(result, full_year(year, count), month, day);
}

static bool numeric_date(cursor *in, cell *result)
{
    cursor look = *in;
    long part[3];
    int digits[3];
    if (!take_digits(&look, 4, &part[0], &digits[0]))
        return false;
    char sign = peek(&look);
    cursor named = look;
    if (digits[0] <= 2 && named_month_date(&named, part[0], result)) {
        *in = named;
        return true;
    }
    for (int i = 1; i < 3; i++) {
        if (!is_date_sign(peek(&look)) || peek(&look) != sign)
            return false;
        look.at++;
        if (sign == '.')
            skip_blanks(&look);
        if (!take_digits(&look, 4, &part[i], &digits[i]))
            return false;
    }
    *in = look;
    if (digits[0] == 4 || part[0] > 31)
        return same_both_ways(result, full_year(part[0], digits[0]), part[1], part[2]);
    if (digits[0] > 2 || digits[1] > 2 || digits[2] == 3)
        return false;
    result->dotted = sign == '.';
    return either_way(result, part[0], part[1], full_year(part[2], digits[2]));
}

/* "Oct 28, 2024" and a day of the week in front of any date. */
static bool worded_date(cursor *in, cell *result)
{
    cursor look = *in;
    ovp_span word = take_word(&look);
    if (word.count == 0)
        return false;
    while (peek(&look) == '.' || peek(&look) == ',' || peek(&look) == ' ' || peek(&look) == '-')
        look.at++;
    int month = month_named(word);
    if (month == 0) { /* Mon, Tuesday, Mi. */
        if (word.count < 2 || word.count > 10 ||
            !(numeric_date(&look, result) || compact_date(&look, result)))
            return false;
        *in = look;
        return true;
    }
    long day = 0;
    long year = 0;
    int count = 0;
    if (!take_digits(&look, 2, &day, &count))
        return false;
    while (peek(&look) == ',' || peek(&look) == ' ' || peek(&look) == '-')
        look.at++;
    if (!take_digits(&look, 4, &year, &count) || !same_both_ways(result, full_year(year, count), month, day))
        return false;
    *in = look;
    return true;
}

static double take_fraction(cursor *in, bool *any)
{
    double value = 0.0;
    double scale = 1.0;
    *any = false;
    if ((peek(in) != '.' && peek(in) != ',') || in->at + 1 >= in->end || !is_digit(in->at[1]))
        return 0.0;
    in->at++;
    for (int i = 0; is_digit(peek(in)); in->at++, i++) {
        if (i >= 9)
            continue;
        value = value * 10.0 + (*in->at - '0');
        scale *= 10.0;
    }
    *any = true;
    return value / scale;
}

/* 10:15:30:250; -1 when it is none. */
static double take_milliseconds(cursor *in)
{
    long value = 0;
    int count = 0;
    in->at++;
    return take_digits(in, 3, &value, &count) && count == 3 ? 1e-3 * (double)value : -1.0;
}

/* AM, p.m., Uhr. False when the hour does not go with it. */
static bool half_day(cursor *in, long hour, cell *result)
{
    cursor look = *in;
    skip_blanks(&look);
    char letter = peek(&look);
    bool after_noon = letter == 'p' || letter == 'P';
    if (after_noon || letter == 'a' || letter == 'A') {
        look.at++;
        if (peek(&look) == '.')
            look.at++;
        if (peek(&look) != 'm' && peek(&look) != 'M')
            return true;
        look.at++;
        if (peek(&look) == '.')
            look.at++;
        if (hour < 1 || hour > 12)
            return false;
        result->half_day = true;
        result->clock_s += 3600.0 * ((after_noon ? 12.0 : 0.0) - (hour == 12 ? 12.0 : 0.0));
        *in = look;
        return true;
    }
    ovp_span word = take_word(&look);
    if (ovp_span_equals(word, "uhr") || ovp_span_equals(word, "h"))
        *in = look;
    return true;
}

/* Z, UTC, +01:00, -0500, +01: the clock is turned to UTC. */
static bool zone(cursor *in, cell *result)
{
    cursor look = *in;
    skip_blanks(&look);
    char sign = peek(&look);
    if (sign == 'Z' || sign == 'z') {
        in->at = look.at + 1;
        return true;
    }
    ovp_span word = take_word(&look);
    if (word.count >= 3 && word.count <= 5) { /* UTC, CET: the clock as it stands */
        *in = look;
        return true;
    }
    if (sign != '+' && sign != '-')
        return true;
    look.at++;
    long hours = 0;
    long minutes = 0;
    int count = 0;
    if (!take_digits(&look, 4, &hours, &count))
        return false;
    if (count > 2) {
        minutes = hours % 100;
        hours /= 100;
    } else if (peek(&look) == ':') {
        look.at++;
        if (!take_digits(&look, 2, &minutes, &count))
            return false;
    }
    if (hours > 15 || minutes > 59)
        return false;
    double offset = 3600.0 * (double)hours + 60.0 * (double)minutes;
    result->clock_s -= sign == '+' ? offset : -offset;
    *in = look;
    return true;
}

/* "10:15", "1:02:03.5", and "101530" behind a date. */
static bool take_clock(cursor *in, bool behind_date, cell *result)
{
    long part[3] = {0, 0, 0};
    int count = 0;
    if (!take_digits(in, 6, &part[0], &count))
        return false;
    result->parts = 1;
    if (peek(in) != ':') {
        if (!behind_date || (count != 6 && count != 4))
            return false;
        long packed = count == 6 ? part[0] : part[0] * 100;
        part[0] = packed / 10000;
        part[1] = packed / 100 % 100;
        part[2] = packed % 100;
        result->parts = 3;
    }
    while (peek(in) == ':' && result->parts < 3) {
        in->at++;
        if (!take_digits(in, 2, &part[result->parts], &count))
            return false;
        result->parts++;
    }
    if (part[1] > 59 || part[2] > 60 || (behind_date && part[0] > 24))
        return false;
    bool milliseconds = peek(in) == ':';
    double fraction = milliseconds ? take_milliseconds(in) : take_fraction(in, &result->fraction);
    result->fraction = result->fraction || milliseconds;
    if (fraction < 0.0)
        return false;
    if (result->parts == 2)
        fraction *= 60.0; /* 19:40.5 has its decimals on the last part */
    result->clock_s = 3600.0 * (double)part[0] + 60.0 * (double)part[1] + (double)part[2] + fraction;
    return half_day(in, part[0], result);
}

static bool take_date(cursor *in, cell *result)
{
    return compact_date(in, result) || numeric_date(in, result) || worded_date(in, result);
}

/* "1.02:03:04", "1d 02:03:04", "2 days, 3:04:05": returns the days, 0 when there are none. */
static double take_days(cursor *in)
{
    cursor look = *in;
    long days = 0;
    int count = 0;
    if (!take_digits(&look, 4, &days, &count))
        return 0.0;
    if (peek(&look) == '.') {
        look.at++;
    } else {
        skip_blanks(&look);
        ovp_span word = take_word(&look);
        if (!ovp_span_equals(word, "d") && !ovp_span_equals(word, "day") && !ovp_span_equals(word, "days"))
            return 0.0;
        while (peek(&look) == ',' || peek(&look) == ' ')
            look.at++;
    }
    cursor clock = look;
    cell rest = {.kind = CELL_TEXT};
    if (!take_clock(&clock, false, &rest) || rest.parts != 3)
        return 0.0;
    *in = look;
    return (double)days;
}

/* A clock alone: "-0:01:30", "10:15 PM", "1.02:03:04". */
static bool elapsed_clock(cursor in, cell *result)
{
    bool negative = peek(&in) == '-';
    in.at += negative;
    double days = take_days(&in);
    if (!take_clock(&in, false, result) || in.at != in.end)
        return false;
    result->clock_s += 86400.0 * days;
    result->clock_s = negative ? -result->clock_s : result->clock_s;
    result->kind = CELL_CLOCK;
    return true;
}

bool trace_moment(ovp_span text, cell *result)
{
    cursor in = {text.bytes, text.bytes + text.count};
    *result = (cell){.kind = CELL_TEXT};
    if (elapsed_clock(in, result))
        return true;
    *result = (cell){.kind = CELL_TEXT};
    if (!take_date(&in, result))
        return false;
    if (in.at == in.end) {
        result->kind = CELL_DATE;
        return true;
    }
    while (peek(&in) == ' ' || peek(&in) == 'T' || peek(&in) == 't' || peek(&in) == ',' || peek(&in) == '-' ||
           peek(&in) == '_' || peek(&in) == '/')
        in.at++;
    if (!take_clock(&in, true, result) || !zone(&in, result) || in.at != in.end)
        return false;
    result->kind = CELL_MOMENT;
    return true;
}
