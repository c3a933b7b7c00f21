#include "text_internal.h"

#include <math.h>
#include <string.h>

enum {
    DIGITS = 17,
    PLAIN_LOW = -5, /* decimal exponents that are written out: 0.00001 up to 17 digits before the point */
    PLAIN_HIGH = 16,
};

/* The digits of a positive number: 0.d1d2d3... * 10^point. */
typedef struct digits {
    char digit[DIGITS + 1];
    int count;
    int point;
} digits;

static void strip_zeros(digits *result)
{
    while (result->count > 1 && result->digit[result->count - 1] == '0')
        result->count--;
}

static void put_integer(uint64_t value, digits *result)
{
    char backwards[20];
    int count = 0;
    for (; value > 0; value /= 10)
        backwards[count++] = (char)('0' + value % 10);
    result->count = count;
    for (int i = 0; i < count; i++)
        result->digit[i] = backwards[count - 1 - i];
}

/*
 * Up to 15 digits: two such decimals never read as one double, so the one that reads back is the
 * shortest once its zeros are gone. Multiplying and dividing by 10^22 at most is exact enough to find it
 * and exact to check it.
 */
static bool short_digits(double value, digits *result)
{
    if (value < 1e-7 || value >= 1e15)
        return false;
    double power = 1;
    int places = 0;
    while (value * power < 1e14 && places < 22) {
        power *= 10;
        places++;
    }
    double whole = floor(value * power + 0.5);
    if (whole >= 1e15 || whole / power != value)
        return false;
    put_integer((uint64_t)whole, result);
    result->point = result->count - places;
    strip_zeros(result);
    return true;
}

/* A positive double between its two neighbours' midpoints, as fractions over one denominator. */
typedef struct bracket {
    text_big numerator, denominator;
    text_big below, above; /* distances to the midpoints */
    bool inclusive;        /* a midpoint itself reads back (ties go to the even) */
} bracket;

static void make_bracket(double value, bracket *b)
{
    int exponent;
    uint64_t mantissa = (uint64_t)ldexp(frexp(value, &exponent), 53);
    exponent -= 53;
    if (exponent < -1074) {
        mantissa >>= -1074 - exponent;
        exponent = -1074;
    }
    b->inclusive = (mantissa & 1) == 0;
    bool uneven = mantissa == UINT64_C(1) << 52 && exponent > -1074; /* the gap below is half the gap above */
    text_big_set(&b->numerator, mantissa);
    text_big_set(&b->denominator, 1);
    text_big_set(&b->below, 1);
    text_big_set(&b->above, 1);
    unsigned up = exponent > 0 ? (unsigned)exponent : 0;
    unsigned down = exponent < 0 ? (unsigned)-exponent : 0;
    text_big_shift_left(&b->numerator, up + 1 + uneven);
    text_big_shift_left(&b->denominator, down + 1 + uneven);
    text_big_shift_left(&b->below, up);
    text_big_shift_left(&b->above, up + uneven);
}

/* True when what is left, plus `above`, reaches the denominator: the next digit up also reads back. */
static bool reaches_up(const bracket *b)
{
    text_big sum = b->numerator;
    text_big_add(&sum, &b->above);
    int order = text_big_compare(&sum, &b->denominator);
    return order > 0 || (order == 0 && b->inclusive);
}

static bool reaches_down(const bracket *b)
{
    int order = text_big_compare(&b->numerator, &b->below);
    return order < 0 || (order == 0 && b->inclusive);
}

static void scale_bracket(bracket *b, int *point)
{
    if (*point >= 0) {
        text_big_multiply_power_of_ten(&b->denominator, (unsigned)*point);
    } else {
        text_big_multiply_power_of_ten(&b->numerator, (unsigned)-*point);
        text_big_multiply_power_of_ten(&b->below, (unsigned)-*point);
        text_big_multiply_power_of_ten(&b->above, (unsigned)-*point);
    }
    if (reaches_up(b)) {
        text_big_multiply_add(&b->denominator, 10, 0);
        (*point)++;
    }
}

/* Free-format printing after Steele and White 1990, Burger and Dybvig 1996: exact integers. */
static void long_digits(double value, digits *result)
{
    bracket b;
    make_bracket(value, &b);
    /* One too small at most, which scale_bracket sees. */
    result->point = (int)ceil(log10(value) - 1e-9);
    scale_bracket(&b, &result->point);
    result->count = 0;
    for (;;) {
        text_big_multiply_add(&b.numerator, 10, 0);
        text_big_multiply_add(&b.below, 10, 0);
        text_big_multiply_add(&b.above, 10, 0);
        char digit = '0';
        for (; text_big_compare(&b.numerator, &b.denominator) >= 0; digit++)
            text_big_subtract(&b.numerator, &b.denominator);
        bool down = reaches_down(&b);
        bool up = reaches_up(&b);
        if (down && up) {
            text_big_shift_left(&b.numerator, 1);
            up = text_big_compare(&b.numerator, &b.denominator) >= 0;
        }
        result->digit[result->count++] = (char)(digit + up);
        if (down || up || result->count == DIGITS)
            return;
    }
}

static size_t put_plain(const digits *d, char *to)
{
    char *start = to;
    for (int i = 0; i < d->point; i++)
        *to++ = i < d->count ? d->digit[i] : '0';
    if (d->point <= 0)
        *to++ = '0';
    if (d->count > d->point) {
        *to++ = '.';
        for (int i = d->point; i < d->count; i++)
            *to++ = i < 0 ? '0' : d->digit[i];
    }
    return (size_t)(to - start);
}

static size_t put_exponent(const digits *d, char *to)
{
    char *start = to;
    *to++ = d->digit[0];
    if (d->count > 1) {
        *to++ = '.';
        for (int i = 1; i < d->count; i++)
            *to++ = d->digit[i];
    }
    int exponent = d->point - 1;
    *to++ = 'e';
    *to++ = exponent < 0 ? '-' : '+';
    exponent = exponent < 0 ? -exponent : exponent;
    if (exponent >= 100)
        *to++ = (char)('0' + exponent / 100);
    if (exponent >= 10)
        *to++ = (char)('0' + exponent / 10 % 10);
    *to++ = (char)('0' + exponent % 10);
    return (size_t)(to - start);
}

static size_t put_word(const char *word, char *buffer, size_t size)
{
    ovp_copy_string(buffer, size, ovp_span_of(word));
    return size == 0 ? 0 : strlen(buffer);
}

size_t ovp_text_format_number(double value, char buffer[OVP_TEXT_NUMBER_SIZE])
{
    if (isnan(value))
        return put_word("nan", buffer, OVP_TEXT_NUMBER_SIZE);
    if (isinf(value))
        return put_word(value < 0 ? "-inf" : "inf", buffer, OVP_TEXT_NUMBER_SIZE);
    char *to = buffer;
    if (signbit(value))
        *to++ = '-';
    if (value == 0) {
        *to++ = '0';
    } else {
        digits d = {0};
        if (!short_digits(fabs(value), &d))
            long_digits(fabs(value), &d);
        bool plain = d.point - 1 >= PLAIN_LOW && d.point - 1 <= PLAIN_HIGH;
        to += plain ? put_plain(&d, to) : put_exponent(&d, to);
    }
    *to = '\0';
    return (size_t)(to - buffer);
}

/* |value| * 10^decimals, rounded to the nearest whole number, a tie to the even one: as printf does. */
static void scaled_integer(double value, int decimals, text_big *result)
{
    int exponent;
    uint64_t mantissa = (uint64_t)ldexp(frexp(value, &exponent), 53);
    exponent -= 53;
    text_big_set(result, mantissa);
    text_big_multiply_power_of_ten(result, (unsigned)decimals);
    if (exponent >= 0) {
        text_big_shift_left(result, (unsigned)exponent);
        return;
    }
    unsigned down = (unsigned)-exponent;
    if (down > text_big_bits(result) + 1) {
        text_big_set(result, 0);
        return;
    }
    bool tie_bits = false, half = false;
    for (; down > 0; down -= down > 31 ? 31 : down) {
        unsigned step = down > 31 ? 31 : down;
        uint32_t rest = text_big_divide_small(result, UINT32_C(1) << step);
        uint32_t middle = UINT32_C(1) << (step - 1);
        tie_bits = tie_bits || half || (rest & (middle - 1)) != 0;
        half = (rest & middle) != 0;
    }
    bool odd = result->count > 0 && (result->limb[0] & 1) != 0;
    if (half && (tie_bits || odd)) {
        text_big one;
        text_big_set(&one, 1);
        text_big_add(result, &one);
    }
}

size_t ovp_text_format_fixed(double value, int decimals, char *buffer, size_t size)
{
    if (size == 0)
        return 0;
    if (isnan(value))
        return put_word("nan", buffer, size);
    if (isinf(value))
        return put_word(value < 0 ? "-inf" : "inf", buffer, size);
    decimals = decimals < 0 ? 0 : decimals > 17 ? 17 : decimals;
    text_big whole;
    scaled_integer(fabs(value), decimals, &whole);
    bool negative = value < 0 && whole.count > 0;
    char backwards[352]; /* 309 digits before the point and 17 behind */
    size_t count = 0;
    int place = 0;
    while (whole.count > 0 || place <= decimals) {
        if (place == decimals && decimals > 0)
            backwards[count++] = '.';
        backwards[count++] = (char)('0' + text_big_divide_small(&whole, 10));
        place++;
    }
    if (negative)
        backwards[count++] = '-';
    size_t length = 0;
    for (; count > 0 && length + 1 < size; length++)
        buffer[length] = backwards[--count];
    buffer[length] = '\0';
    return length;
}
