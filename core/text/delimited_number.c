#include "ovenproof/text.h"

#include <string.h>

/* A number in a log is written in one of a dozen ways; all are brought to the plain one and read by the
 * one exact reader of ovp_text_number. */

enum {
    PLAIN_SIZE = 96, /* longer numbers than this are no readings */
};

static bool is_digit(char letter)
{
    return letter >= '0' && letter <= '9';
}

/* Blanks of every kind that group digits: returns how many bytes one takes, 0 for none. */
static size_t blank_bytes(ovp_span text)
{
    static const char *const blanks[] = {" ", "\t", "\xC2\xA0", "\xE2\x80\xAF", "\xE2\x80\x89"};
    for (size_t i = 0; i < sizeof blanks / sizeof blanks[0]; i++) {
        size_t length = strlen(blanks[i]);
        if (text.count >= length && memcmp(text.bytes, blanks[i], length) == 0)
            return length;
    }
    return 0;
}

static ovp_span skip(ovp_span text, size_t count)
{
    return (ovp_span){text.bytes + count, text.count - count};
}

static ovp_span trim_wide(ovp_span text)
{
    text = ovp_span_trim(text);
    for (size_t n = blank_bytes(text); n > 0; n = blank_bytes(text))
        text = skip(text, n);
    while (text.count > 0) {
        size_t n = 1;
        while (n < text.count && n < 3 && ((unsigned char)text.bytes[text.count - n] & 0xC0) == 0x80)
            n++;
        ovp_span last = {text.bytes + text.count - n, n};
        if (blank_bytes(last) != n)
            break;
        text.count -= n;
    }
    return text;
}

/* Takes a sign, the typographic minus and the dash included. */
static ovp_span take_sign(ovp_span text, bool *negative)
{
    static const char *const minus[] = {"-", "\xE2\x88\x92", "\xE2\x80\x93"};
    *negative = false;
    if (text.count > 0 && text.bytes[0] == '+')
        return skip(text, 1);
    for (size_t i = 0; i < sizeof minus / sizeof minus[0]; i++) {
        size_t length = strlen(minus[i]);
        if (text.count >= length && memcmp(text.bytes, minus[i], length) == 0) {
            *negative = true;
            return skip(text, length);
        }
    }
    return text;
}

/* Groups of three behind a first group of one to three digits that does not begin with 0. */
static bool grouped_by(ovp_span text, char separator)
{
    size_t digits = 0;
    bool first = true;
    for (size_t i = 0; i <= text.count; i++) {
        if (i < text.count && is_digit(text.bytes[i])) {
            digits++;
            continue;
        }
        bool at_end = i == text.count || text.bytes[i] != separator;
        if (first ? digits == 0 || digits > 3 || text.bytes[0] == '0' : digits != 3)
            return false;
        if (at_end)
            return !first;
        first = false;
        digits = 0;
    }
    return false;
}

/* Which sign is the decimal one in this number. 0 when the signs make no sense. */
static char decimal_of(ovp_span text, char decimal)
{
    size_t points = 0;
    size_t commas = 0;
    char last = '\0';
    for (size_t i = 0; i < text.count; i++) {
        points += text.bytes[i] == '.';
        commas += text.bytes[i] == ',';
        if (text.bytes[i] == '.' || text.bytes[i] == ',')
            last = text.bytes[i];
    }
    if (points + commas == 0)
        return decimal;
    if (points > 0 && commas > 0)
        return (char)((last == '.' ? points : commas) == 1 ? last : '\0');
    char other = (char)(last == '.' ? ',' : '.');
    if (points + commas > 1)
        return other;
    if (last == decimal)
        return last;
    return (char)(grouped_by(text, last) ? other : last);
}

typedef struct plain {
    char text[PLAIN_SIZE];
    size_t length;
    size_t group;   /* digits since the last separator */
    bool separated; /* a group separator was seen */
} plain;

static bool put(plain *out, char letter)
{
    if (out->length >= PLAIN_SIZE)
        return false;
    out->text[out->length++] = letter;
    return true;
}

static bool close_group(plain *out)
{
    return !out->separated || out->group == 3;
}

/* One separator between groups; returns the bytes it takes, 0 when there is none here. */
static size_t separator_bytes(ovp_span text, char decimal)
{
    size_t blank = blank_bytes(text);
    if (blank > 0)
        return blank;
    char letter = text.bytes[0];
    return letter == '\'' || ((letter == '.' || letter == ',') && letter != decimal) ? 1 : 0;
}

static bool whole_part(plain *out, ovp_span *text, char decimal)
{
    while (text->count > 0) {
        char letter = text->bytes[0];
        if (is_digit(letter)) {
            out->group++;
            if (!put(out, letter))
                return false;
            *text = skip(*text, 1);
            continue;
        }
        size_t length = separator_bytes(*text, decimal);
        if (length == 0)
            break;
        bool shaped =
            out->separated ? out->group == 3 : out->group >= 1 && out->group <= 3 && out->text[0] != '0';
        if (!shaped)
            return false;
        out->separated = true;
        out->group = 0;
        *text = skip(*text, length);
    }
    return close_group(out);
}

static bool rest(plain *out, ovp_span text, char decimal)
{
    if (text.count > 0 && text.bytes[0] == decimal) {
        if (!put(out, '.'))
            return false;
        text = skip(text, 1);
        if (decimal == ',' && (text.count == 0 || !is_digit(text.bytes[0])))
            return false;
    }
    for (size_t i = 0; i < text.count; i++) {
        char letter = text.bytes[i];
        bool behind_e = i > 0 && (text.bytes[i - 1] == 'e' || text.bytes[i - 1] == 'E');
        bool sign = letter == '-' || letter == '+';
        bool allowed = is_digit(letter) || letter == 'e' || letter == 'E' || (sign && behind_e);
        if (!allowed || !put(out, letter))
            return false;
    }
    return true;
}

/* Fifteen digits and one decimal sign: an exact integer over an exact power of ten, rounded once. */
static bool short_number(ovp_span field, char decimal, double *value)
{
    static const double powers[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    const char *at = field.bytes;
    const char *end = at + field.count;
    bool negative = at < end && *at == '-';
    at += negative;
    if (end - at < 1 || end - at > 16)
        return false;
    uint64_t digits = 0;
    const char *sign = NULL;
    for (const char *look = at; look < end; look++) {
        unsigned digit = (unsigned)(unsigned char)*look - '0';
        if (digit <= 9)
            digits = digits * 10 + digit;
        else if (*look == decimal && sign == NULL)
            sign = look;
        else
            return false;
    }
    size_t behind = sign != NULL ? (size_t)(end - sign) - 1 : 0;
    if (sign == NULL ? end - at > 15 : behind == 0 || sign == at)
        return false;
    double magnitude = (double)digits / powers[behind];
    *value = negative ? -magnitude : magnitude;
    return true;
}

bool ovp_text_delimited_number(ovp_span field, char decimal, double *value)
{
    if (short_number(field, decimal, value))
        return true;
    if (decimal == '.' && ovp_text_number(field, value))
        return true;
    ovp_span text = trim_wide(field);
    bool negative = false;
    text = take_sign(text, &negative);
    if (text.count == 0)
        return false;
    char sign = decimal_of(text, decimal);
    if (sign == '\0')
        return false;
    plain out = {.length = 0};
    if (!whole_part(&out, &text, sign) || !rest(&out, text, sign))
        return false;
    double magnitude = 0.0;
    if (!ovp_text_number((ovp_span){out.text, out.length}, &magnitude))
        return false;
    *value = negative ? -magnitude : magnitude;
    return true;
}
