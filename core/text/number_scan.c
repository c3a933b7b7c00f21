#include "text_internal.h"

#include <math.h>

/*
 * Three ways to the same answer, the correctly rounded one: exact doubles (nearly every number that
 * people and loggers write), exact 128-bit integers (up to 19 digits near 1), exact big integers.
 */

enum {
    DIGITS_KEPT = 800, /* 768 decide any double; one more says whether anything followed */
    EXACT_POWERS = 22, /* 10^22 is the last power of ten that a double holds */
    EXACT_FIVES = 27,  /* 5^27 is the last power of five that 64 bits hold */
};

static const double power_of_ten[EXACT_POWERS + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                      1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                      1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

__extension__ typedef unsigned __int128 wide;

/* A decimal number as it stands in the text: digits * 10^exponent. */
typedef struct decimal {
    bool negative;
    uint64_t leading;  /* the first 19 significant digits */
    size_t digits;     /* significant digits in the text, leading zeros not counted */
    int64_t exponent;  /* of the last digit in the text */
    ovp_span mantissa; /* digits and point, for those who need more than 19 */
} decimal;

static bool is_digit(char letter)
{
    return letter >= '0' && letter <= '9';
}

static size_t scan_mantissa(ovp_span text, size_t at, decimal *number)
{
    size_t start = at, all = 0;
    bool point = false;
    for (; at < text.count; at++) {
        char letter = text.bytes[at];
        if (letter == '.' && !point) {
            point = true;
            continue;
        }
        if (!is_digit(letter))
            break;
        all++;
        if (number->digits > 0 || letter != '0') {
            if (number->digits < 19)
                number->leading = number->leading * 10 + (uint64_t)(letter - '0');
            number->digits++;
        }
        number->exponent -= point;
    }
    number->mantissa = (ovp_span){text.bytes + start, at - start};
    return all > 0 ? at : 0;
}

/* Takes the exponent only when it has a digit: "5e" is 5, and "2ether" is 2. */
static size_t scan_exponent(ovp_span text, size_t at, decimal *number)
{
    size_t next = at;
    if (next >= text.count || (text.bytes[next] != 'e' && text.bytes[next] != 'E'))
        return at;
    next++;
    bool negative = false;
    if (next < text.count && (text.bytes[next] == '+' || text.bytes[next] == '-'))
        negative = text.bytes[next++] == '-';
    if (next >= text.count || !is_digit(text.bytes[next]))
        return at;
    int64_t exponent = 0;
    for (; next < text.count && is_digit(text.bytes[next]); next++)
        if (exponent < INT64_C(100000000000000000))
            exponent = exponent * 10 + (text.bytes[next] - '0');
    number->exponent += negative ? -exponent : exponent;
    return next;
}

/* top * 2^exponent, `top` with its highest bit set and `more` when something below it was cut, to a double.
 */
static double round_to_double(uint64_t top, bool more, int exponent)
{
    int drop = 64 - 53;
    if (exponent + drop < -1074)
        drop = -1074 - exponent;
    if (drop > 64)
        return 0.0;
    uint64_t kept = drop == 64 ? 0 : top >> drop;
    uint64_t rest = drop == 64 ? top : top & ((UINT64_C(1) << drop) - 1);
    uint64_t half = UINT64_C(1) << (drop - 1);
    if (rest > half || (rest == half && (more || (kept & 1) != 0)))
        kept++;
    return ldexp((double)kept, exponent + drop);
}

/* Leading zero bits of a value that is not zero. */
static int zeros_of(uint64_t value)
{
    int zeros = 0;
    for (int step = 32; step > 0; step /= 2) {
        if (value >> (64 - step) != 0)
            continue;
        value <<= step;
        zeros += step;
    }
    return zeros;
}

static double round_wide(wide value, bool more, int exponent)
{
    uint64_t high = (uint64_t)(value >> 64), low = (uint64_t)value;
    if (high == 0) {
        int zeros = zeros_of(low);
        return round_to_double(low << zeros, more, exponent - zeros);
    }
    int zeros = zeros_of(high);
    value <<= zeros;
    return round_to_double((uint64_t)(value >> 64), more || (uint64_t)value != 0, exponent + 64 - zeros);
}

/* leading * 10^exponent by exact 128-bit integers, |exponent| <= EXACT_FIVES. */
static double value_of_wide(uint64_t leading, int exponent)
{
    uint64_t fives = 1;
    for (int i = exponent < 0 ? -exponent : exponent; i > 0; i--)
        fives *= 5;
    if (exponent >= 0)
        return round_wide((wide)leading * fives, false, exponent);
    /* A full numerator: the quotient then has at least 64 bits. */
    int shift = 64 + zeros_of(leading);
    wide numerator = (wide)leading << shift;
    return round_wide(numerator / fives, numerator % fives != 0, exponent - shift);
}

static void read_digits(const decimal *number, text_big *digits, int64_t *exponent)
{
    text_big_set(digits, 0);
    size_t taken = 0;
    bool more = false;
    for (size_t i = 0; i < number->mantissa.count; i++) {
        char letter = number->mantissa.bytes[i];
        if (letter == '.' || (letter == '0' && taken == 0))
            continue;
        if (taken < DIGITS_KEPT)
            text_big_multiply_add(digits, 10, (uint32_t)(letter - '0'));
        else
            more = more || letter != '0';
        taken++;
    }
    *exponent = number->exponent;
    if (taken <= DIGITS_KEPT)
        return;
    /* All that is cut stands for one digit that is not zero, if any was. */
    text_big_multiply_add(digits, 10, more);
    *exponent += (int64_t)(taken - DIGITS_KEPT) - 1;
}

static double value_of_big(const decimal *number)
{
    text_big numerator, denominator;
    int64_t exponent;
    read_digits(number, &numerator, &exponent);
    text_big_set(&denominator, 1);
    if (exponent >= 0)
        text_big_multiply_power_of_ten(&numerator, (unsigned)exponent);
    else
        text_big_multiply_power_of_ten(&denominator, (unsigned)-exponent);
    /* Bring the quotient into [1, 2), then divide bit by bit. */
    int scale = (int)text_big_bits(&numerator) - (int)text_big_bits(&denominator);
    if (scale > 0)
        text_big_shift_left(&denominator, (unsigned)scale);
    else
        text_big_shift_left(&numerator, (unsigned)-scale);
    if (text_big_compare(&numerator, &denominator) < 0) {
        text_big_shift_left(&numerator, 1);
        scale--;
    }
    uint64_t quotient = 0;
    for (int bit = 0; bit < 64; bit++) {
        quotient <<= 1;
        if (text_big_compare(&numerator, &denominator) >= 0) {
            text_big_subtract(&numerator, &denominator);
            quotient |= 1;
        }
        text_big_shift_left(&numerator, 1);
    }
    return round_to_double(quotient, numerator.count > 0, scale - 63);
}

/* More than 19 digits: when the first 19, and those plus one, round alike, so does all between. */
static bool value_between(const decimal *number, double *value)
{
    int64_t exponent = number->exponent + (int64_t)number->digits - 19;
    if (exponent < -EXACT_FIVES || exponent > EXACT_FIVES)
        return false;
    *value = value_of_wide(number->leading, (int)exponent);
    return *value == value_of_wide(number->leading + 1, (int)exponent);
}

static double value_of(const decimal *number)
{
    if (number->digits == 0)
        return 0.0;
    int64_t point = (int64_t)number->digits + number->exponent;
    if (point > 310)
        return (double)INFINITY;
    if (point < -330)
        return 0.0;
    int exponent = (int)number->exponent;
    if (number->digits <= 19) {
        if (number->leading <= UINT64_C(1) << 53) {
            if (exponent >= 0 && exponent <= EXACT_POWERS)
                return (double)number->leading * power_of_ten[exponent];
            if (exponent < 0 && -exponent <= EXACT_POWERS)
                return (double)number->leading / power_of_ten[-exponent];
        }
        if (exponent >= -EXACT_FIVES && exponent <= EXACT_FIVES)
            return value_of_wide(number->leading, exponent);
    }
    double value;
    if (number->digits > 19 && value_between(number, &value))
        return value;
    return value_of_big(number);
}

size_t ovp_text_scan_number(ovp_span text, double *value)
{
    decimal number = {0};
    size_t at = 0;
    if (text.count > 0 && (text.bytes[0] == '-' || text.bytes[0] == '+'))
        number.negative = text.bytes[at++] == '-';
    at = scan_mantissa(text, at, &number);
    if (at == 0)
        return 0;
    at = scan_exponent(text, at, &number);
    double magnitude = value_of(&number);
    *value = number.negative ? -magnitude : magnitude;
    return at;
}

bool ovp_text_number(ovp_span text, double *value)
{
    text = ovp_span_trim(text);
    double number;
    if (text.count == 0 || ovp_text_scan_number(text, &number) != text.count || !isfinite(number))
        return false;
    *value = number;
    return true;
}
