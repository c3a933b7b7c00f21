#include "ovenproof/text.h"

#include <string.h>

/* The dialect is the one in which most rows of the start read as a time and a number. */

enum {
    MOST_FIELDS = 256, /* enough to judge a row by */
    MOST_ROWS = 400,
};

typedef struct tally {
    unsigned long score;
    unsigned rows;   /* rows looked at that hold the delimiter */
    unsigned points; /* numbers whose sign can only be decimal */
    unsigned commas;
    unsigned either_comma; /* "1,200" */
} tally;

static bool is_digit(char letter)
{
    return letter >= '0' && letter <= '9';
}

static bool is_letter(char letter)
{
    return (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z');
}

/* "72.1 F", "5 min", "450 °C": the count of bytes in front of a short unit. */
static size_t before_unit(ovp_span field)
{
    size_t end = field.count;
    while (end > 0 && !is_digit(field.bytes[end - 1]) && field.bytes[end - 1] != ',' &&
           field.bytes[end - 1] != ';' && field.count - end < 6)
        end--;
    return end > 0 && is_digit(field.bytes[end - 1]) ? end : 0;
}

static bool is_number(ovp_span field)
{
    double value = 0.0;
    if (field.count == 0)
        return false;
    if (ovp_text_delimited_number(field, '.', &value))
        return true;
    size_t end = before_unit(field);
    return end > 0 && end < field.count &&
           ovp_text_delimited_number((ovp_span){field.bytes, end}, '.', &value);
}

/* A date or a clock by its looks: digits in groups, parted by : / - . and few letters. */
static bool is_time(ovp_span field)
{
    size_t colons = 0;
    size_t dashes = 0;
    size_t letters = 0;
    size_t commas = 0;
    if (field.count < 4 || field.count > 40 || !(is_digit(field.bytes[0]) || is_letter(field.bytes[0])))
        return false;
    for (size_t i = 0; i < field.count; i++) {
        char letter = field.bytes[i];
        if (letter == ';' || letter == '\t' || letter == '|' || (letter == '.' && commas > 0))
            return false;
        colons += letter == ':';
        dashes += letter == '/' || letter == '-' || letter == '.';
        letters += is_letter(letter);
        commas +=
            letter == ',' && i > 0 && is_digit(field.bytes[i - 1]); /* that of a fraction, not of "Mo," */
    }
    return letters <= 8 && commas <= 1 && (colons >= 1 || dashes >= 2);
}

static void note_sign(tally *sum, ovp_span field)
{
    const char *point = memchr(field.bytes, '.', field.count);
    const char *comma = memchr(field.bytes, ',', field.count);
    if (point != NULL && comma != NULL) {
        sum->points += point > comma;
        sum->commas += comma > point;
        return;
    }
    double as_point = 0.0;
    double as_comma = 0.0;
    bool differs = ovp_text_delimited_number(field, '.', &as_point) &&
                   ovp_text_delimited_number(field, ',', &as_comma) && as_point != as_comma;
    sum->points += point != NULL && !differs;
    sum->commas += comma != NULL && !differs;
    sum->either_comma += comma != NULL && differs;
}

static void note_row(tally *sum, const ovp_span fields[], size_t count)
{
    unsigned values = 0;
    unsigned numbers = 0;
    unsigned texts = 0;
    for (size_t i = 0; i < count; i++) {
        bool number = is_number(fields[i]);
        bool value = number || is_time(fields[i]);
        numbers += number;
        values += value;
        texts += !value && fields[i].count > 0;
        if (number)
            note_sign(sum, fields[i]);
    }
    sum->rows += count > 1;
    if (values >= 2 && numbers >= 1)
        sum->score += 100 - 10 * (texts < 9 ? texts : 9);
}

static tally try_delimiter(ovp_span head, char delimiter)
{
    tally sum = {0};
    ovp_span fields[MOST_FIELDS];
    for (unsigned row = 0; row < MOST_ROWS && head.count > 0; row++) {
        ovp_text_row_scan scan = {0};
        bool ended = ovp_text_find_row_end(head, delimiter, &scan);
        bool open = false;
        size_t count =
            ovp_text_split_row((ovp_span){head.bytes, scan.at}, delimiter, NULL, fields, MOST_FIELDS, &open);
        note_row(&sum, fields, count < MOST_FIELDS ? count : MOST_FIELDS);
        size_t used = scan.at + (ended ? 1 : 0);
        head.bytes += used;
        head.count -= used;
    }
    return sum;
}

/* "72,125" throughout: a decimal comma in every dialect but the one that parts fields by commas. */
static char decimal_for(const tally *sum, char delimiter)
{
    if (sum->commas != sum->points)
        return sum->commas > sum->points ? ',' : '.';
    return sum->either_comma > 0 && sum->points == 0 && delimiter != ',' ? ',' : '.';
}

ovp_text_dialect ovp_text_find_dialect(ovp_span head)
{
    static const char delimiters[] = {';', '\t', ',', '|', ' '};
    tally best = {0};
    char delimiter = ',';
    for (size_t i = 0; i < sizeof delimiters; i++) {
        tally sum = try_delimiter(head, delimiters[i]);
        /* rows without a single reading still show what parts them; blanks do not, being in every sentence */
        if (delimiters[i] != ' ' && sum.score == 0 && best.score == 0 && sum.rows > best.rows) {
            best = sum;
            delimiter = delimiters[i];
        }
        if (sum.score > best.score) {
            best = sum;
            delimiter = delimiters[i];
        }
    }
    return (ovp_text_dialect){delimiter, decimal_for(&best, delimiter)};
}
