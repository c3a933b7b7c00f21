#include "reader_internal.h"

#include <string.h>

/* Units in every spelling, and the folding of words that they and the header texts share. */

/* ---- folding: small letters, umlauts spelled out, one blank between words ------------------------ */

typedef struct folding {
    const char *from;
    const char *to;
} folding;

/* Degree signs of every origin, also broken ones: U+00BA, U+02DA, a lost letter, one turned twice. */
static const folding foldings[] = {
    {"\xC3\x82\xC2\xB0", " deg"},
    {"\xC2\xB0", " deg"},
    {"\xC2\xBA", " deg"},
    {"\xCB\x9A", " deg"},
    {"\xE2\x84\x83", " degc"},
    {"\xE2\x84\x89", " degf"},
    {"\xEF\xBF\xBD", " deg"},
    {"\xC2\xA1", " deg"},
    {"\xC3\xA4", "ae"},
    {"\xC3\x84", "ae"},
    {"\xC3\xB6", "oe"},
    {"\xC3\x96", "oe"},
    {"\xC3\xBC", "ue"},
    {"\xC3\x9C", "ue"},
    {"\xC3\x9F", "ss"},
    {"\xC2\xB5", "u"},
    {"\xCE\xBC", "u"},
    {"\xC2\xA0", " "},
};

static bool is_word_letter(char letter)
{
    return (letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9') || letter == '%' ||
           letter == '#';
}

static size_t fold_one(const char *at, const char *end, const char **to)
{
    for (size_t i = 0; i < sizeof foldings / sizeof foldings[0]; i++) {
        size_t length = strlen(foldings[i].from);
        if ((size_t)(end - at) >= length && memcmp(at, foldings[i].from, length) == 0) {
            *to = foldings[i].to;
            return length;
        }
    }
    return 0;
}

static void put_folded(char *out, size_t *length, char letter)
{
    if (letter >= 'A' && letter <= 'Z')
        letter = (char)(letter - 'A' + 'a');
    if (!is_word_letter(letter))
        letter = ' ';
    bool at_gap = *length == 0 || out[*length - 1] == ' ';
    if ((letter == ' ' && at_gap) || *length + 1 >= FOLDED_SIZE)
        return;
    out[(*length)++] = letter;
}

void trace_fold(ovp_span text, char out[FOLDED_SIZE])
{
    size_t length = 0;
    const char *end = text.bytes + text.count;
    for (const char *at = text.bytes; at < end;) {
        const char *to = NULL;
        size_t taken = fold_one(at, end, &to);
        for (; taken > 0 && *to != '\0'; to++)
            put_folded(out, &length, *to);
        if (taken == 0)
            put_folded(out, &length, *at);
        at += taken > 0 ? taken : 1;
    }
    while (length > 0 && out[length - 1] == ' ')
        length--;
    out[length] = '\0';
}

/* ---- units --------------------------------------------------------------------------------------- */

typedef struct unit_word {
    const char *word;
    unit unit;
} unit_word;

static const unit_word unit_words[] = {
    {"c", UNIT_C},
    {"degc", UNIT_C},
    {"deg c", UNIT_C},
    {"celsius", UNIT_C},
    {"grad", UNIT_C},
    {"grad c", UNIT_C},
    {"grad celsius", UNIT_C},
    {"degrees c", UNIT_C},
    {"degree c", UNIT_C},
    {"degrees celsius", UNIT_C},
    {"deg celsius", UNIT_C},
    {"oc", UNIT_C},
    {"f", UNIT_F},
    {"degf", UNIT_F},
    {"deg f", UNIT_F},
    {"fahrenheit", UNIT_F},
    {"degrees f", UNIT_F},
    {"degree f", UNIT_F},
    {"degrees fahrenheit", UNIT_F},
    {"deg fahrenheit", UNIT_F},
    {"of", UNIT_F},
    {"k", UNIT_K},
    {"kelvin", UNIT_K},
    {"deg k", UNIT_K},
    {"degk", UNIT_K},
    {"s", UNIT_S},
    {"sec", UNIT_S},
    {"secs", UNIT_S},
    {"second", UNIT_S},
    {"seconds", UNIT_S},
    {"sek", UNIT_S},
    {"sekunde", UNIT_S},
    {"sekunden", UNIT_S},
    {"min", UNIT_MIN},
    {"mins", UNIT_MIN},
    {"minute", UNIT_MIN},
    {"minutes", UNIT_MIN},
    {"minuten", UNIT_MIN},
    {"h", UNIT_H},
    {"hr", UNIT_H},
    {"hrs", UNIT_H},
    {"hour", UNIT_H},
    {"hours", UNIT_H},
    {"std", UNIT_H},
    {"stunde", UNIT_H},
    {"stunden", UNIT_H},
    {"ms", UNIT_MS},
    {"msec", UNIT_MS},
    {"millisecond", UNIT_MS},
    {"milliseconds", UNIT_MS},
    {"millisekunden", UNIT_MS},
    {"us", UNIT_US},
    {"microseconds", UNIT_US},
    {"d", UNIT_DAY},
    {"days", UNIT_DAY},
    {"tage", UNIT_DAY},
    {"%", UNIT_PERCENT},
    {"percent", UNIT_PERCENT},
    {"pct", UNIT_PERCENT},
    {"prozent", UNIT_PERCENT},
    {"v", UNIT_V},
    {"volt", UNIT_V},
    {"volts", UNIT_V},
    {"vac", UNIT_V},
    {"mv", UNIT_MV},
    {"a", UNIT_A},
    {"amp", UNIT_A},
    {"amps", UNIT_A},
    {"ampere", UNIT_A},
    {"amperes", UNIT_A},
    {"ma", UNIT_MA},
    {"m s", UNIT_CLOCK_MS},
    {"mm ss", UNIT_CLOCK_MS},
    {"min s", UNIT_CLOCK_MS},
    {"min sec", UNIT_CLOCK_MS},
    {"h m", UNIT_CLOCK_HM},
    {"hh mm", UNIT_CLOCK_HM},
    {"h min", UNIT_CLOCK_HM},
    {"hh mm ss", UNIT_OTHER},
    {"h mm ss", UNIT_OTHER},
    {"w", UNIT_OTHER},
    {"kw", UNIT_OTHER},
    {"kwh", UNIT_OTHER},
    {"kw m2", UNIT_OTHER},
    {"w m2", UNIT_OTHER},
    {"ohm", UNIT_OTHER},
    {"hz", UNIT_OTHER},
    {"bar", UNIT_OTHER},
    {"mbar", UNIT_OTHER},
    {"hpa", UNIT_OTHER},
    {"pa", UNIT_OTHER},
    {"kpa", UNIT_OTHER},
    {"psi", UNIT_OTHER},
    {"rh", UNIT_OTHER},
    {"% rh", UNIT_OTHER},
    {"%rh", UNIT_OTHER},
    {"rpm", UNIT_OTHER},
    {"ppm", UNIT_OTHER},
    {"m", UNIT_OTHER},
    {"mm", UNIT_OTHER},
    {"kg", UNIT_OTHER},
    {"g", UNIT_OTHER},
    {"l min", UNIT_OTHER},
    {"m s2", UNIT_OTHER},
};

unit trace_folded_unit(const char *word)
{
    for (size_t i = 0; i < sizeof unit_words / sizeof unit_words[0]; i++)
        if (strcmp(unit_words[i].word, word) == 0)
            return unit_words[i].unit;
    return UNIT_NONE;
}

unit trace_unit(ovp_span text)
{
    char folded[FOLDED_SIZE];
    trace_fold(text, folded);
    return trace_folded_unit(folded[0] == ' ' ? folded + 1 : folded);
}

bool trace_unit_is_temperature(unit u)
{
    return u == UNIT_C || u == UNIT_F || u == UNIT_K;
}

double trace_unit_seconds(unit u)
{
    switch (u) {
    case UNIT_S:
        return 1.0;
    case UNIT_MIN:
        return 60.0;
    case UNIT_H:
        return 3600.0;
    case UNIT_DAY:
        return 86400.0;
    case UNIT_MS:
        return 1e-3;
    case UNIT_US:
        return 1e-6;
    default:
        return 0.0;
    }
}

double trace_unit_celsius(double value, unit u)
{
    if (u == UNIT_F)
        return ovp_text_to_celsius(value, OVP_TEXT_DEGREES_F);
    return ovp_text_to_celsius(value, u == UNIT_K ? OVP_TEXT_DEGREES_K : OVP_TEXT_DEGREES_C);
}
