/* Temperatures in the texts of the tables, in the degrees that a person reads. */
#include "diagnosis/diagnosis_internal.h"

#include <stdio.h>
#include <string.h>

enum {
    NUMBERS = 6,
    NUMBER_SIZE = 24,
};

/* "32, 1000 and 1800 °F": numbers, what stands between them, and which kind of degrees closes them. */
typedef struct run {
    double value[NUMBERS];
    int decimals[NUMBERS];
    ovp_span between[NUMBERS]; /* before the number of the same index; the first is empty */
    size_t count;
    bool difference;
} run;

typedef struct page {
    char *buffer;
    size_t size, length;
} page;

static void put(page *out, const char *text, size_t count)
{
    for (size_t i = 0; i < count && out->length + 1 < out->size; i++) {
        out->buffer[out->length++] = text[i];
    }
    out->buffer[out->length] = '\0';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* A number at *at: digits with an optional fraction, and a minus where one can stand. */
static bool take_number(const char **at, double *value, int *decimals)
{
    const char *end = *at;
    end += *end == '-';
    if (!is_digit(*end)) {
        return false;
    }
    while (is_digit(*end)) {
        end++;
    }
    *decimals = 0;
    if (*end == '.' && is_digit(end[1])) {
        for (end++; is_digit(*end); end++) {
            ++*decimals;
        }
    }
    if (!ovp_text_number((ovp_span){*at, (size_t)(end - *at)}, value)) {
        return false;
    }
    *at = end;
    return true;
}

static size_t starts_with(const char *text, const char *start)
{
    const size_t length = strlen(start);
    return strncmp(text, start, length) == 0 ? length : 0;
}

/* What may stand between two numbers of one run. */
static size_t separator(const char *at)
{
    static const char *const separators[] = {" to ", " and ", " or ", ", ", "/", "-"};
    for (size_t i = 0; i < sizeof(separators) / sizeof(separators[0]); i++) {
        if (starts_with(at, separators[i]) > 0) {
            return strlen(separators[i]);
        }
    }
    return 0;
}

/* A pair in brackets that says the same in °C is left out: it is written anew. */
static const char *past_pair(const char *at)
{
    static const char sign[] = " \xC2\xB0"
                               "C)";
    const char *end = starts_with(at, " (") > 0 ? strchr(at, ')') : NULL;
    const size_t length = strlen(sign);
    return end != NULL && (size_t)(end + 1 - at) > length && strncmp(end + 1 - length, sign, length) == 0
               ? end + 1
               : at;
}

/* A whole run at `at`; returns what follows it, NULL when there is none here. */
static const char *take_run(const char *at, run *list)
{
    *list = (run){.between = {{at, 0}}};
    while (list->count < NUMBERS &&
           take_number(&at, &list->value[list->count], &list->decimals[list->count])) {
        list->count++;
        size_t sign = starts_with(at, " \xC2\xB0"
                                      "F");
        if (sign == 0) {
            sign = starts_with(at, " degrees F");
            list->difference = sign > 0;
        }
        if (sign > 0) {
            return past_pair(at + sign);
        }
        const size_t count = separator(at);
        if (count == 0 || list->count == NUMBERS) {
            return NULL;
        }
        list->between[list->count] = (ovp_span){at, count};
        at += count;
    }
    return NULL;
}

static double shown_value(const run *list, size_t i, ovp_text_degrees shown)
{
    if (shown == OVP_TEXT_DEGREES_F) {
        return list->value[i];
    }
    return list->difference
               ? list->value[i] * 5 / 9
               : ovp_text_from_celsius(ovp_text_to_celsius(list->value[i], OVP_TEXT_DEGREES_F), shown);
}

static void put_run(page *out, const run *list, ovp_text_degrees shown)
{
    for (size_t i = 0; i < list->count; i++) {
        char number[NUMBER_SIZE];
        put(out, list->between[i].bytes, list->between[i].count);
        const size_t length =
            ovp_text_format_fixed(shown_value(list, i, shown), list->decimals[i], number, sizeof(number));
        put(out, number, length);
    }
    const char *sign = shown == OVP_TEXT_DEGREES_F   ? " \xC2\xB0"
                                                       "F"
                       : shown == OVP_TEXT_DEGREES_C ? " \xC2\xB0"
                                                       "C"
                                                     : " K";
    put(out, sign, strlen(sign));
}

size_t ovp_diagnosis_words(const char *text, ovp_text_degrees shown, char *buffer, size_t size)
{
    page out = {buffer, size, 0};
    if (size == 0) {
        return 0;
    }
    buffer[0] = '\0';
    bool inside = false; /* a number or word has begun: "QR8-001 °F" holds no temperature of its own */
    for (const char *at = text; *at != '\0';) {
        run list;
        const char *after = inside ? NULL : take_run(at, &list);
        if (after == NULL) {
            inside = is_digit(*at) || ((*at | 0x20) >= 'a' && (*at | 0x20) <= 'z');
            put(&out, at++, 1);
            continue;
        }
        put_run(&out, &list, shown == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : shown);
        if (shown == OVP_TEXT_DEGREES_NONE) {
            put(&out, " (", 2);
            put_run(&out, &list, OVP_TEXT_DEGREES_C);
            put(&out, ")", 1);
        }
        at = after;
    }
    return out.length;
}
