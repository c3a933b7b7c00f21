#include "text_internal.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- the units ---------------------------------------------------------------------------------- */

enum {
    KINDS = OVP_TEXT_COUNT + 1,
    FOUND_SIZE = 48, /* of the text that a message quotes */
};

typedef struct unit {
    const char *names;       /* separated by blanks */
    double multiply, divide; /* to the unit that values are held in; whole numbers, so that 8in is 0.2032 */
} unit;

static const unit emf_units[] = {
    {"mV millivolt millivolts", 1, 1},
    {"uV \xC2\xB5V \xCE\xBCV microvolt microvolts", 1, 1e3},
    {"V volt volts", 1e3, 1},
    {NULL, 0, 1},
};
static const unit voltage_units[] = {
    {"V volt volts VAC Vac VDC Vdc", 1, 1},
    {"mV millivolt millivolts", 1, 1e3},
    {"kV kilovolt kilovolts", 1e3, 1},
    {"uV \xC2\xB5V \xCE\xBCV microvolt microvolts", 1, 1e6},
    {NULL, 0, 1},
};
static const unit current_units[] = {
    {"A amp amps ampere amperes", 1, 1},
    {"mA milliamp milliamps", 1, 1e3},
    {NULL, 0, 1},
};
static const unit resistance_units[] = {
    {"ohm ohms \xCE\xA9 \xE2\x84\xA6", 1, 1},
    {"kohm kohms k\xCE\xA9 k\xE2\x84\xA6", 1e3, 1},
    {"Mohm Mohms M\xCE\xA9 M\xE2\x84\xA6 megohm megohms", 1e6, 1},
    {"mohm mohms m\xCE\xA9 m\xE2\x84\xA6 milliohm milliohms", 1, 1e3},
    {NULL, 0, 1},
};
static const unit power_units[] = {
    {"W watt watts", 1, 1},
    {"kW kilowatt kilowatts", 1e3, 1},
    {NULL, 0, 1},
};
static const unit duration_units[] = {
    {"d day days", 86400, 1},
    {"h hr hrs hour hours", 3600, 1},
    {"min mins minute minutes m", 60, 1},
    {"s sec secs second seconds", 1, 1},
    {NULL, 0, 1},
};
static const unit length_units[] = {
    {"ft foot feet", 3048, 1e4},
    {"in inch inches \" \xE2\x80\xB3 \xE2\x80\x9D", 254, 1e4},
    {"m metre metres meter meters", 1, 1},
    {"cm", 1, 100},
    {"mm", 1, 1e3},
    {NULL, 0, 1},
};
static const unit mass_units[] = {
    {"kg", 1, 1},
    {"g gram grams", 1, 1e3},
    {"lb lbs pound pounds", 45359237, 1e8},
    {"oz ounce ounces", 28349523125, 1e12},
    {NULL, 0, 1},
};
static const unit ratio_units[] = {
    {"% percent", 1, 100},
    {NULL, 0, 1},
};
static const unit no_units[] = {{NULL, 0, 1}};

typedef struct kind_row {
    const unit *units;
    bool bare;       /* a bare number is in the first unit */
    bool below_zero; /* may be negative */
    const char *name, *examples;
} kind_row;

/* In the order of ovp_text_kind. Temperatures are read by their own rule. */
static const kind_row kinds[KINDS] = {
    {no_units, false, true, "temperature", "1500F, 816C or 1089K"},
    {no_units, false, true, "temperature difference", "9F or 5C"},
    {emf_units, true, true, "emf", "20.64mV or 20640uV"},
    {voltage_units, false, true, "voltage", "240V or 45mV"},
    {current_units, false, true, "current", "15A or 250mA"},
    {resistance_units, false, false, "resistance", "16ohm or 1.2Mohm"},
    {power_units, false, false, "power", "3600W or 3.6kW"},
    {duration_units, false, false, "duration", "50min, 1h30m or 19:40"},
    {length_units, false, false, "length", "8in, 200mm or 2.5in"},
    {mass_units, false, false, "mass", "2kg or 4.4lb"},
    {ratio_units, true, true, "ratio", "0.8 or 80%"},
    {no_units, true, true, "number", "12"},
};

/* ---- words about what was found ------------------------------------------------------------------- */

/* The text as a message may show it: short, valid UTF-8. */
static const char *show(ovp_span text, char buffer[FOUND_SIZE])
{
    size_t length = 0;
    while (text.count > 0) {
        uint32_t code;
        size_t bytes = text_utf8_decode(text, &code);
        if (length + bytes + 4 > FOUND_SIZE) {
            memcpy(buffer + length, "...", 3);
            length += 3;
            break;
        }
        if (code == UINT32_MAX || code < 0x20)
            buffer[length++] = '?';
        else
            for (size_t i = 0; i < bytes; i++)
                buffer[length++] = text.bytes[i];
        text.bytes += bytes;
        text.count -= bytes;
    }
    buffer[length] = '\0';
    return buffer;
}

static const char *article(const char *name)
{
    return strchr("aeiou", name[0]) != NULL ? "an" : "a";
}

static ovp_status hint_at_examples(ovp_error *error, ovp_text_kind kind)
{
    ovp_error_hint(error, "write %s %s like %s", article(kinds[kind].name), kinds[kind].name,
                   kinds[kind].examples);
    return OVP_ERROR_DATA;
}

static ovp_status refuse(ovp_error *error, ovp_text_kind kind, ovp_span text, const char *why)
{
    char found[FOUND_SIZE];
    ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" %s", show(text, found), why);
    return hint_at_examples(error, kind);
}

static ovp_status refuse_empty(ovp_error *error, ovp_text_kind kind)
{
    ovp_error_set(error, OVP_ERROR_DATA, "nothing where %s %s was wanted", article(kinds[kind].name),
                  kinds[kind].name);
    return hint_at_examples(error, kind);
}

/* "is no temperature" */
static ovp_status refuse_other(ovp_error *error, ovp_text_kind kind, ovp_span text)
{
    char why[FOUND_SIZE];
    snprintf(why, sizeof why, "is no %s", kinds[kind].name);
    return refuse(error, kind, text, why);
}

/* ---- pieces of a quantity --------------------------------------------------------------------------- */

static bool is_blank_code(uint32_t code)
{
    return code == ' ' || code == '\t' || code == 0xA0 || code == 0x2009 || code == 0x202F;
}

static ovp_span skip(ovp_span text, size_t count)
{
    return (ovp_span){text.bytes + count, text.count - count};
}

static ovp_span skip_blanks(ovp_span text)
{
    while (text.count > 0) {
        uint32_t code;
        size_t length = text_utf8_decode(text, &code);
        if (!is_blank_code(code))
            break;
        text = skip(text, length);
    }
    return text;
}

static bool is_digit_at(ovp_span text, size_t at)
{
    return at < text.count && text.bytes[at] >= '0' && text.bytes[at] <= '9';
}

/* A number, also with the typographic minus that word processors put in. Returns the bytes; 0: none. */
static size_t scan_signed(ovp_span text, double *value)
{
    static const char minus[] = "\xE2\x88\x92";
    if (text.count <= 3 || memcmp(text.bytes, minus, 3) != 0)
        return ovp_text_scan_number(text, value);
    ovp_span rest = skip(text, 3);
    if (!is_digit_at(rest, 0) && rest.bytes[0] != '.')
        return 0;
    size_t length = ovp_text_scan_number(rest, value);
    *value = -*value;
    return length == 0 ? 0 : length + 3;
}

/* Length of the word at the start: up to a blank, a digit or a sign of a number. */
static size_t word_length(ovp_span text)
{
    size_t length = 0;
    while (length < text.count && !is_digit_at(text, length)) {
        uint32_t code;
        size_t bytes = text_utf8_decode(skip(text, length), &code);
        if (is_blank_code(code) || code == '+' || code == '-' || code == ',')
            break;
        length += bytes;
    }
    return length;
}

static bool is_exact(ovp_span word, const char *name, size_t length)
{
    return word.count == length && memcmp(word.bytes, name, length) == 0;
}

static bool is_letter_equal(char a, char b)
{
    char low_a = a >= 'A' && a <= 'Z' ? (char)(a + 32) : a;
    char low_b = b >= 'A' && b <= 'Z' ? (char)(b + 32) : b;
    return low_a == low_b;
}

static bool is_loose(ovp_span word, const char *name, size_t length)
{
    if (word.count != length)
        return false;
    for (size_t i = 0; i < length; i++)
        if (!is_letter_equal(word.bytes[i], name[i]))
            return false;
    return true;
}

static bool is_named(ovp_span word, const char *names, bool (*equal)(ovp_span, const char *, size_t))
{
    while (*names != '\0') {
        size_t length = strcspn(names, " ");
        if (equal(word, names, length))
            return true;
        names += length + strspn(names + length, " ");
    }
    return false;
}

/* As spelled; else in any letter case, where that leaves one unit only (MOHM may be milli or mega). */
static const unit *find_unit(const unit units[], ovp_span word, bool *ambiguous)
{
    const unit *found = NULL;
    for (const unit *u = units; u->names != NULL; u++)
        if (is_named(word, u->names, is_exact))
            return u;
    for (const unit *u = units; u->names != NULL; u++) {
        if (!is_named(word, u->names, is_loose))
            continue;
        *ambiguous = found != NULL;
        if (found != NULL)
            return NULL;
        found = u;
    }
    return found;
}

/* ---- temperatures ------------------------------------------------------------------------------------- */

static ovp_span without_degree_sign(ovp_span name)
{
    static const char *const signs[] = {"degrees", "degree", "deg", "\xC2\xB0", "\xC2\xBA"};
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++) {
        size_t length = strlen(signs[i]);
        if (name.count > length && is_loose((ovp_span){name.bytes, length}, signs[i], length))
            return skip_blanks(skip(name, length));
    }
    return name;
}

bool ovp_text_degrees_named(ovp_span name, ovp_text_degrees *degrees)
{
    static const struct {
        const char *names;
        ovp_text_degrees degrees;
    } rows[] = {
        {"F fahrenheit \xE2\x84\x89", OVP_TEXT_DEGREES_F},
        {"C celsius centigrade \xE2\x84\x83", OVP_TEXT_DEGREES_C},
        {"K kelvin kelvins", OVP_TEXT_DEGREES_K},
    };
    ovp_span word = without_degree_sign(ovp_span_trim(name));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (word.count > 0 && is_named(word, rows[i].names, is_loose)) {
            *degrees = rows[i].degrees;
            return true;
        }
    }
    return false;
}

double ovp_text_to_celsius(double value, ovp_text_degrees degrees)
{
    if (degrees == OVP_TEXT_DEGREES_F)
        return (value - 32) * 5 / 9;
    return degrees == OVP_TEXT_DEGREES_K ? value - 273.15 : value;
}

double ovp_text_from_celsius(double value_C, ovp_text_degrees degrees)
{
    if (degrees == OVP_TEXT_DEGREES_F)
        return value_C * 9 / 5 + 32;
    return degrees == OVP_TEXT_DEGREES_K ? value_C + 273.15 : value_C;
}

static ovp_status refuse_bare(ovp_error *error, ovp_text_kind kind, ovp_span text, double value)
{
    char found[FOUND_SIZE], number[OVP_TEXT_NUMBER_SIZE];
    if (kind != OVP_TEXT_TEMPERATURE && kind != OVP_TEXT_TEMPERATURE_DIFFERENCE)
        return refuse(error, kind, text, "has no unit");
    ovp_text_format_number(value, number);
    ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" does not say which degrees", show(text, found));
    ovp_error_hint(error, "write %sF, %sC or %sK", number, number, number);
    return OVP_ERROR_DATA;
}

static ovp_status refuse_absolute_zero(ovp_error *error, ovp_span text)
{
    char found[FOUND_SIZE];
    ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" is below absolute zero", show(text, found));
    ovp_error_hint(error, "look at the sign and the scale: absolute zero is -459.67F, -273.15C, 0K");
    return OVP_ERROR_DATA;
}

static ovp_status take_temperature(ovp_span text, ovp_text_kind kind, double number, ovp_text_degrees degrees,
                                   double *value, ovp_error *error)
{
    /* Back and forth between the scales multiplies by nine before it divides by five: room for that. */
    if (fabs(number) > DBL_MAX / 16)
        return refuse(error, kind, text, "is too large");
    if (kind == OVP_TEXT_TEMPERATURE_DIFFERENCE) {
        *value = degrees == OVP_TEXT_DEGREES_F ? number * 5 / 9 : number;
        return OVP_OK;
    }
    /* Absolute zero in each scale, so that -459.67F itself is not lost to rounding. */
    double lowest = degrees == OVP_TEXT_DEGREES_F ? -459.67 : degrees == OVP_TEXT_DEGREES_K ? 0 : -273.15;
    if (number < lowest)
        return refuse_absolute_zero(error, text);
    *value = ovp_text_to_celsius(number, degrees);
    return OVP_OK;
}

/* ---- clocks, compounds, fractions -----------------------------------------------------------------------
 */

/* 19:40 is min:s, 1:02:03 is h:min:s; a part after the first is below 60. True when it is a clock. */
static bool take_clock(ovp_span text, double *value)
{
    double parts[3], total = 0;
    size_t count = 0;
    for (;;) {
        if (count == 3 || !is_digit_at(text, 0))
            return false;
        size_t length = ovp_text_scan_number(text, &parts[count]);
        bool last = length == text.count;
        bool whole = memchr(text.bytes, '.', length) == NULL && parts[count] == floor(parts[count]);
        if ((!whole && !last) || (count > 0 && (parts[count] >= 60 || !is_digit_at(text, 1))))
            return false;
        total = total * 60 + parts[count++];
        if (last)
            break;
        if (text.bytes[length] != ':')
            return false;
        text = skip(text, length + 1);
    }
    if (count < 2 || !isfinite(total))
        return false;
    *value = total;
    return true;
}

/* "2 1/2", "2-1/2", "1/2": as inches are said. Returns the bytes; 0: no fraction. */
static size_t scan_fraction(ovp_span text, double *value)
{
    double whole = 0, above, below;
    size_t at = 0;
    if (!is_digit_at(text, 0))
        return 0;
    while (is_digit_at(text, at))
        at++;
    size_t from = 0;
    if (at < text.count && text.bytes[at] != '/') {
        ovp_text_scan_number((ovp_span){text.bytes, at}, &whole);
        if (text.bytes[at] != ' ' && text.bytes[at] != '-')
            return 0;
        from = ++at;
        while (is_digit_at(text, at))
            at++;
    }
    if (at == from || at >= text.count || text.bytes[at] != '/' || !is_digit_at(text, at + 1))
        return 0;
    ovp_text_scan_number((ovp_span){text.bytes + from, at - from}, &above);
    from = ++at;
    while (is_digit_at(text, at))
        at++;
    ovp_text_scan_number((ovp_span){text.bytes + from, at - from}, &below);
    if (below == 0 || above >= below)
        return 0;
    *value = whole + above / below;
    return at;
}

static size_t scan_value(ovp_span text, ovp_text_kind kind, double *value)
{
    size_t length = kind == OVP_TEXT_LENGTH ? scan_fraction(text, value) : 0;
    return length > 0 ? length : scan_signed(text, value);
}

static ovp_status refuse_comma(ovp_error *error, ovp_text_kind kind, ovp_span text)
{
    char found[FOUND_SIZE];
    ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" has a comma", show(text, found));
    ovp_error_hint(error, "numbers take a point, and nothing between the thousands; like %s",
                   kinds[kind].examples);
    return OVP_ERROR_DATA;
}

/* Kind that a word is a unit of, for the message; -1 when it is no unit at all. */
static int kind_of_unit(ovp_span word)
{
    ovp_text_degrees degrees;
    if (ovp_text_degrees_named(word, &degrees))
        return OVP_TEXT_TEMPERATURE;
    for (int kind = OVP_TEXT_VOLTAGE; kind < KINDS; kind++) {
        bool ignored = false;
        if (find_unit(kinds[kind].units, word, &ignored) != NULL)
            return kind;
    }
    return -1;
}

/* What to say about a word that is no unit of this kind. */
static ovp_status refuse_unit(ovp_error *error, ovp_text_kind kind, ovp_span text, ovp_span word,
                              bool ambiguous)
{
    char why[2 * FOUND_SIZE + 48], found[FOUND_SIZE];
    int other = kind_of_unit(word);
    if (ambiguous)
        return refuse(error, kind, text, "may be milli or mega: letter case decides");
    if (word.bytes[0] == ',')
        return refuse_comma(error, kind, text);
    if (other >= 0)
        snprintf(why, sizeof why, "is %s %s, not %s %s", article(kinds[other].name), kinds[other].name,
                 article(kinds[kind].name), kinds[kind].name);
    else
        snprintf(why, sizeof why, "ends in \"%s\", which is no unit of %s", show(word, found),
                 kinds[kind].name);
    return refuse(error, kind, text, why);
}

static bool may_compound(ovp_text_kind kind)
{
    return kind == OVP_TEXT_DURATION || kind == OVP_TEXT_LENGTH || kind == OVP_TEXT_MASS;
}

/* One number and its unit, taken off the front of *rest; NULL when it is refused. */
static const unit *take_part(ovp_span text, ovp_text_kind kind, ovp_span *rest, bool first, double *number,
                             ovp_error *error)
{
    static const unit none = {"", 1, 1};
    size_t length = scan_value(*rest, kind, number);
    if (length == 0) {
        if (first)
            refuse_other(error, kind, text);
        else
            refuse(error, kind, text, "has something behind its unit");
        return NULL;
    }
    *rest = skip_blanks(skip(*rest, length));
    ovp_span word = {rest->bytes, word_length(*rest)};
    bool ambiguous = false;
    const unit *found = word.count > 0 ? find_unit(kinds[kind].units, word, &ambiguous) : NULL;
    if (found == NULL && rest->count > 0)
        refuse_unit(error, kind, text, *rest, ambiguous);
    else if (found == NULL && (!first || !kinds[kind].bare))
        refuse_bare(error, kind, text, *number);
    else if (found == NULL)
        found = &none;
    *rest = skip_blanks(skip(*rest, word.count));
    return found;
}

static bool is_smaller(const unit *a, const unit *b)
{
    return a->multiply * b->divide < b->multiply * a->divide;
}

/* Number and unit, or several with ever smaller units: 1h30m, 1 ft 6 in. */
static ovp_status take_units(ovp_span text, ovp_text_kind kind, double *value, ovp_error *error)
{
    ovp_span rest = text;
    const unit *before = NULL;
    double total = 0;
    do {
        double number = 0;
        const unit *found = take_part(text, kind, &rest, before == NULL, &number, error);
        if (found == NULL)
            return OVP_ERROR_DATA;
        if (before != NULL && (!may_compound(kind) || number < 0))
            return refuse(error, kind, text, "has something behind its unit");
        if (before != NULL && !is_smaller(found, before))
            return refuse(error, kind, text, "does not go from the larger unit to the smaller");
        total += number * found->multiply / found->divide;
        before = found;
    } while (rest.count > 0);
    if (!isfinite(total))
        return refuse(error, kind, text, "is too large");
    if (total < 0 && !kinds[kind].below_zero)
        return refuse(error, kind, text, "is below zero");
    *value = total;
    return OVP_OK;
}

ovp_status ovp_text_quantity(ovp_span text, ovp_text_kind kind, ovp_text_degrees bare, double *value,
                             ovp_error *error)
{
    text = ovp_span_trim(text);
    if (text.count == 0)
        return refuse_empty(error, kind);
    if (kind == OVP_TEXT_DURATION && take_clock(text, value))
        return OVP_OK;
    if (kind != OVP_TEXT_TEMPERATURE && kind != OVP_TEXT_TEMPERATURE_DIFFERENCE)
        return take_units(text, kind, value, error);
    double number;
    size_t length = scan_signed(text, &number);
    if (length == 0)
        return refuse_other(error, kind, text);
    ovp_span name = skip_blanks(skip(text, length));
    ovp_text_degrees degrees = bare;
    if (name.count > 0 && !ovp_text_degrees_named(name, &degrees))
        return refuse_unit(error, kind, text, name, false);
    if (degrees == OVP_TEXT_DEGREES_NONE)
        return refuse_bare(error, kind, text, number);
    return take_temperature(text, kind, number, degrees, value, error);
}
