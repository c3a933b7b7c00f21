/* Days of the Gregorian calendar: YYYY-MM-DD, day numbers, calendar months. */
#include "ovenproof/text.h"

enum {
    FIRST_YEAR = 1000,
    LAST_YEAR = 9999,
    MONTHS = 12,
};

static bool is_leap(long year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static long month_length(long year, long month)
{
    static const int lengths[MONTHS] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return lengths[month - 1] + (month == 2 && is_leap(year));
}

bool ovp_text_day_number(long year, long month, long day, long *number)
{
    if (year < FIRST_YEAR || year > LAST_YEAR || month < 1 || month > MONTHS || day < 1 ||
        day > month_length(year, month))
        return false;
    /* years that begin in March, so that the leap day is the last one */
    long shifted = month > 2 ? year : year - 1;
    long era = shifted / 400;
    long of_era = shifted - era * 400;
    long of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    *number = era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
    return true;
}

/* `count` digits and nothing else. */
static bool take_digits(const char *bytes, size_t count, long *value)
{
    *value = 0;
    for (size_t i = 0; i < count; i++) {
        if (bytes[i] < '0' || bytes[i] > '9')
            return false;
        *value = *value * 10 + (bytes[i] - '0');
    }
    return true;
}

bool ovp_text_day(ovp_span text, long *number)
{
    long year, month, day;
    text = ovp_span_trim(text);
    return text.count == 10 && text.bytes[4] == '-' && text.bytes[7] == '-' &&
           take_digits(text.bytes, 4, &year) && take_digits(text.bytes + 5, 2, &month) &&
           take_digits(text.bytes + 8, 2, &day) && ovp_text_day_number(year, month, day, number);
}

static void parts_of(long number, long *year, long *month, long *day)
{
    long from_march = number + 719468;
    long era = from_march / 146097;
    long of_era = from_march - era * 146097;
    long year_of_era = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    long of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    long shifted_month = (5 * of_year + 2) / 153;
    *day = of_year - (153 * shifted_month + 2) / 5 + 1;
    *month = shifted_month < 10 ? shifted_month + 3 : shifted_month - 9;
    *year = year_of_era + era * 400 + (*month <= 2);
}

/* The number within the calendar's years. */
static long kept(long number)
{
    long first = 0, last = 0;
    ovp_text_day_number(FIRST_YEAR, 1, 1, &first);
    ovp_text_day_number(LAST_YEAR, MONTHS, 31, &last);
    return number < first ? first : number > last ? last : number;
}

long ovp_text_add_months(long number, long months)
{
    long year, month, day, result = 0;
    parts_of(kept(number), &year, &month, &day);
    long most = (long)(LAST_YEAR - FIRST_YEAR) * MONTHS;
    long count = year * MONTHS + month - 1 + (months > most ? most : months < -most ? -most : months);
    year = count / MONTHS;
    month = count % MONTHS + 1;
    if (year < FIRST_YEAR || year > LAST_YEAR)
        return kept(year < FIRST_YEAR ? -10000000 : 10000000);
    long last = month_length(year, month);
    ovp_text_day_number(year, month, day < last ? day : last, &result);
    return result;
}

size_t ovp_text_format_day(long number, char *buffer, size_t size)
{
    long parts[3];
    static const int digits[3] = {4, 2, 2};
    char text[11];
    size_t at = 0;
    parts_of(kept(number), parts, parts + 1, parts + 2);
    for (int i = 0; i < 3; i++) {
        if (i > 0)
            text[at++] = '-';
        for (int digit = digits[i] - 1; digit >= 0; digit--, parts[i] /= 10)
            text[at + (size_t)digit] = (char)('0' + parts[i] % 10);
        at += (size_t)digits[i];
    }
    ovp_copy_string(buffer, size, (ovp_span){text, at});
    return at;
}
