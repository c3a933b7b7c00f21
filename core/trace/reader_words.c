#include "reader_internal.h"

#include <string.h>

/* What header texts mean, in English and German. */

/* ---- names --------------------------------------------------------------------------------------- */

typedef struct role_name {
    const char *name;
    role role;
} role_name;

/* Whole names, the number of a channel aside. */
static const role_name role_names[] = {
    {"time", ROLE_TIME},
    {"times", ROLE_TIME},
    {"t", ROLE_TIME},
    {"elapsed", ROLE_TIME},
    {"elapsed time", ROLE_TIME},
    {"time elapsed", ROLE_TIME},
    {"timestamp", ROLE_TIME},
    {"ts", ROLE_TIME},
    {"time stamp", ROLE_TIME},
    {"datetime", ROLE_TIME},
    {"date time", ROLE_TIME},
    {"date and time", ROLE_TIME},
    {"time of day", ROLE_TIME},
    {"clock", ROLE_TIME},
    {"run time", ROLE_TIME},
    {"runtime", ROLE_TIME},
    {"utc", ROLE_TIME},
    {"local time", ROLE_TIME},
    {"epoch", ROLE_TIME},
    {"unix time", ROLE_TIME},
    {"unix", ROLE_TIME},
    {"zeit", ROLE_TIME},
    {"uhrzeit", ROLE_TIME},
    {"zeitstempel", ROLE_TIME},
    {"zeitpunkt", ROLE_TIME},
    {"laufzeit", ROLE_TIME},
    {"messzeit", ROLE_TIME},
    {"datum zeit", ROLE_TIME},
    {"datum uhrzeit", ROLE_TIME},
    {"datum und uhrzeit", ROLE_TIME},
    {"date", ROLE_DATE},
    {"datum", ROLE_DATE},
    {"day", ROLE_DATE},
    {"tag", ROLE_DATE},
    {"temperature", ROLE_TEMPERATURE},
    {"temp", ROLE_TEMPERATURE},
    {"temperatur", ROLE_TEMPERATURE},
    {"pv", ROLE_TEMPERATURE},
    {"process value", ROLE_TEMPERATURE},
    {"process temperature", ROLE_TEMPERATURE},
    {"process temp", ROLE_TEMPERATURE},
    {"present value", ROLE_TEMPERATURE},
    {"actual", ROLE_TEMPERATURE},
    {"actual value", ROLE_TEMPERATURE},
    {"actual temperature", ROLE_TEMPERATURE},
    {"actual temp", ROLE_TEMPERATURE},
    {"measured", ROLE_TEMPERATURE},
    {"measured value", ROLE_TEMPERATURE},
    {"measured temperature", ROLE_TEMPERATURE},
    {"reading", ROLE_TEMPERATURE},
    {"display", ROLE_TEMPERATURE},
    {"oven", ROLE_TEMPERATURE},
    {"oven temperature", ROLE_TEMPERATURE},
    {"oven temp", ROLE_TEMPERATURE},
    {"chamber", ROLE_TEMPERATURE},
    {"chamber temperature", ROLE_TEMPERATURE},
    {"chamber temp", ROLE_TEMPERATURE},
    {"furnace", ROLE_TEMPERATURE},
    {"furnace temperature", ROLE_TEMPERATURE},
    {"furnace temp", ROLE_TEMPERATURE},
    {"thermocouple", ROLE_TEMPERATURE},
    {"tc", ROLE_TEMPERATURE},
    {"ist", ROLE_TEMPERATURE},
    {"istwert", ROLE_TEMPERATURE},
    {"ist temperatur", ROLE_TEMPERATURE},
    {"isttemperatur", ROLE_TEMPERATURE},
    {"messwert", ROLE_TEMPERATURE},
    {"ofen", ROLE_TEMPERATURE},
    {"ofentemperatur", ROLE_TEMPERATURE},
    {"kammertemperatur", ROLE_TEMPERATURE},
    {"setpoint", ROLE_SETPOINT},
    {"set point", ROLE_SETPOINT},
    {"sp", ROLE_SETPOINT},
    {"sv", ROLE_SETPOINT},
    {"set value", ROLE_SETPOINT},
    {"set", ROLE_SETPOINT},
    {"set temperature", ROLE_SETPOINT},
    {"set temp", ROLE_SETPOINT},
    {"target", ROLE_SETPOINT},
    {"target temperature", ROLE_SETPOINT},
    {"target temp", ROLE_SETPOINT},
    {"soll", ROLE_SETPOINT},
    {"sollwert", ROLE_SETPOINT},
    {"soll temperatur", ROLE_SETPOINT},
    {"solltemperatur", ROLE_SETPOINT},
    {"output", ROLE_OUTPUT},
    {"op", ROLE_OUTPUT},
    {"heater power", ROLE_OUTPUT},
    {"out", ROLE_OUTPUT},
    {"power", ROLE_OUTPUT},
    {"control output", ROLE_OUTPUT},
    {"heater output", ROLE_OUTPUT},
    {"heat output", ROLE_OUTPUT},
    {"duty", ROLE_OUTPUT},
    {"duty cycle", ROLE_OUTPUT},
    {"heat", ROLE_OUTPUT},
    {"stellgrad", ROLE_OUTPUT},
    {"stellgroesse", ROLE_OUTPUT},
    {"ausgang", ROLE_OUTPUT},
    {"relay", ROLE_OUTPUT},
    {"ssr", ROLE_OUTPUT},
    {"heizung", ROLE_OUTPUT},
    {"leistung", ROLE_OUTPUT},
    {"supply", ROLE_SUPPLY},
    {"supply voltage", ROLE_SUPPLY},
    {"supply volts", ROLE_SUPPLY},
    {"line", ROLE_SUPPLY},
    {"line voltage", ROLE_SUPPLY},
    {"line volts", ROLE_SUPPLY},
    {"mains", ROLE_SUPPLY},
    {"mains voltage", ROLE_SUPPLY},
    {"voltage", ROLE_SUPPLY},
    {"volts", ROLE_SUPPLY},
    {"spannung", ROLE_SUPPLY},
    {"netzspannung", ROLE_SUPPLY},
    {"element", ROLE_CURRENT},
    {"element current", ROLE_CURRENT},
    {"element amps", ROLE_CURRENT},
    {"current", ROLE_CURRENT},
    {"amps", ROLE_CURRENT},
    {"amperes", ROLE_CURRENT},
    {"heater current", ROLE_CURRENT},
    {"load current", ROLE_CURRENT},
    {"strom", ROLE_CURRENT},
    {"heizstrom", ROLE_CURRENT},
    {"cold junction", ROLE_COLD_JUNCTION},
    {"cj", ROLE_COLD_JUNCTION},
    {"cjc", ROLE_COLD_JUNCTION},
    {"cold junction temperature", ROLE_COLD_JUNCTION},
    {"cold junction temp", ROLE_COLD_JUNCTION},
    {"reference junction", ROLE_COLD_JUNCTION},
    {"vergleichsstelle", ROLE_COLD_JUNCTION},
    {"kaltstelle", ROLE_COLD_JUNCTION},
    {"klemmentemperatur", ROLE_COLD_JUNCTION},
    {"no", ROLE_INDEX},
    {"nr", ROLE_INDEX},
    {"number", ROLE_INDEX},
    {"index", ROLE_INDEX},
    {"idx", ROLE_INDEX},
    {"record", ROLE_INDEX},
    {"sample", ROLE_INDEX},
    {"sample number", ROLE_INDEX},
    {"row", ROLE_INDEX},
    {"point", ROLE_INDEX},
    {"scan", ROLE_INDEX},
    {"lfd nr", ROLE_INDEX},
    {"id", ROLE_INDEX},
    {"#", ROLE_INDEX},
    {"count", ROLE_INDEX},
    {"n", ROLE_INDEX},
    {"nummer", ROLE_INDEX},
    {"messung", ROLE_INDEX},
    {"p", ROLE_OTHER},
    {"i", ROLE_OTHER},
    {"d", ROLE_OTHER},
    {"err", ROLE_OTHER},
    {"error", ROLE_OTHER},
    {"status", ROLE_OTHER},
    {"mode", ROLE_OTHER},
    {"alarm", ROLE_OTHER},
    {"event", ROLE_OTHER},
    {"comment", ROLE_OTHER},
    {"note", ROLE_OTHER},
    {"notes", ROLE_OTHER},
    {"bemerkung", ROLE_OTHER},
};

/* Words inside a longer name; the first that is found rules. */
static const role_name role_words[] = {
    {"setpoint", ROLE_SETPOINT},
    {"sp", ROLE_SETPOINT},
    {"sv", ROLE_SETPOINT},
    {"target", ROLE_SETPOINT},
    {"soll", ROLE_SETPOINT},
    {"sollwert", ROLE_SETPOINT},
    {"solltemperatur", ROLE_SETPOINT},
    {"junction", ROLE_COLD_JUNCTION},
    {"cj", ROLE_COLD_JUNCTION},
    {"cjc", ROLE_COLD_JUNCTION},
    {"vergleichsstelle", ROLE_COLD_JUNCTION},
    {"humidity", ROLE_OTHER},
    {"rh", ROLE_OTHER},
    {"pressure", ROLE_OTHER},
    {"druck", ROLE_OTHER},
    {"feuchte", ROLE_OTHER},
    {"error", ROLE_OTHER},
    {"deviation", ROLE_OTHER},
    {"abweichung", ROLE_OTHER},
    {"kwh", ROLE_OTHER},
    {"energy", ROLE_OTHER},
    {"energie", ROLE_OTHER},
    {"battery", ROLE_OTHER},
    {"batterie", ROLE_OTHER},
    {"uc", ROLE_OTHER},
    {"uncertainty", ROLE_OTHER},
    {"alarm", ROLE_OTHER},
    {"ambient", ROLE_AMBIENT},
    {"amb", ROLE_AMBIENT},
    {"outside", ROLE_AMBIENT},
    {"room", ROLE_AMBIENT},
    {"aussen", ROLE_AMBIENT},
    {"aussentemperatur", ROLE_AMBIENT},
    {"umgebung", ROLE_AMBIENT},
    {"umgebungstemperatur", ROLE_AMBIENT},
    {"raum", ROLE_AMBIENT},
    {"raumtemperatur", ROLE_AMBIENT},
    {"temperature", ROLE_TEMPERATURE},
    {"temp", ROLE_TEMPERATURE},
    {"temperatur", ROLE_TEMPERATURE},
    {"pv", ROLE_TEMPERATURE},
    {"tc", ROLE_TEMPERATURE},
    {"thermocouple", ROLE_TEMPERATURE},
    {"istwert", ROLE_TEMPERATURE},
    {"thermoelement", ROLE_TEMPERATURE},
    {"fuehler", ROLE_TEMPERATURE},
    {"output", ROLE_OUTPUT},
    {"stellgrad", ROLE_OUTPUT},
    {"duty", ROLE_OUTPUT},
    {"volts", ROLE_SUPPLY},
    {"voltage", ROLE_SUPPLY},
    {"spannung", ROLE_SUPPLY},
    {"amps", ROLE_CURRENT},
    {"current", ROLE_CURRENT},
    {"strom", ROLE_CURRENT},
    {"time", ROLE_TIME},
    {"timestamp", ROLE_TIME},
    {"datetime", ROLE_TIME},
    {"elapsed", ROLE_TIME},
    {"zeit", ROLE_TIME},
    {"uhrzeit", ROLE_TIME},
    {"date", ROLE_DATE},
    {"datum", ROLE_DATE},
};

static const role_name canonical_names[] = {
    {"time_s", ROLE_TIME},
    {"time_min", ROLE_TIME},
    {"time_h", ROLE_TIME},
    {"temperature_C", ROLE_TEMPERATURE},
    {"temperature_F", ROLE_TEMPERATURE},
    {"temperature_K", ROLE_TEMPERATURE},
    {"setpoint_C", ROLE_SETPOINT},
    {"setpoint_F", ROLE_SETPOINT},
    {"setpoint_K", ROLE_SETPOINT},
    {"output_percent", ROLE_OUTPUT},
    {"supply_V", ROLE_SUPPLY},
    {"element_A", ROLE_CURRENT},
    {"cold_junction_C", ROLE_COLD_JUNCTION},
    {"cold_junction_F", ROLE_COLD_JUNCTION},
    {"cold_junction_K", ROLE_COLD_JUNCTION},
};

static void cut_number(char *name)
{
    size_t length = strlen(name);
    while (length > 0 && ((name[length - 1] >= '0' && name[length - 1] <= '9') || name[length - 1] == '#' ||
                          name[length - 1] == ' '))
        length--;
    if (length > 0)
        name[length] = '\0';
}

static bool holds_word(const char *name, const char *word)
{
    size_t length = strlen(word);
    for (const char *at = strstr(name, word); at != NULL; at = strstr(at + 1, word)) {
        bool starts = at == name || at[-1] == ' ';
        bool ends = at[length] == '\0' || at[length] == ' ' || (at[length] >= '0' && at[length] <= '9');
        if (starts && ends)
            return true;
    }
    return false;
}

static void find_role(char *name, label *found)
{
    char numbered[FOLDED_SIZE];
    memcpy(numbered, name, FOLDED_SIZE);
    cut_number(name);
    for (size_t i = 0; i < sizeof role_names / sizeof role_names[0]; i++) {
        /* T1 is no time and P1 no part of a controller: such names stand without a number */
        bool numbered_role = role_names[i].role != ROLE_TIME && role_names[i].role != ROLE_INDEX &&
                             role_names[i].role != ROLE_OTHER && role_names[i].role != ROLE_DATE;
        if (strcmp(role_names[i].name, numbered_role ? name : numbered) == 0) {
            found->role = role_names[i].role;
            found->fit = FIT_NAME;
            return;
        }
    }
    for (size_t i = 0; i < sizeof role_words / sizeof role_words[0]; i++) {
        if (holds_word(numbered, role_words[i].name)) {
            found->role = role_words[i].role;
            found->fit = FIT_WORD;
            return;
        }
    }
    /* "ProcessTemp", "BoxTemperature": run together */
    if (strstr(name, "temp") != NULL) {
        found->role = ROLE_TEMPERATURE;
        found->fit = FIT_WORD;
    }
}

/* ---- the unit in a header ------------------------------------------------------------------------ */

/* "Temp (°C)", "Zeit [min]": the last bracket that holds a unit is cut out of the text. */
static unit cut_bracket(ovp_span *text)
{
    for (size_t close = text->count; close > 0; close--) {
        char end = text->bytes[close - 1];
        if (end != ')' && end != ']' && end != '}')
            continue;
        char begin = (char)(end == ')' ? '(' : end == ']' ? '[' : '{');
        for (size_t open = close - 1; open > 0; open--) {
            if (text->bytes[open - 1] != begin)
                continue;
            unit u = trace_unit((ovp_span){text->bytes + open, close - 1 - open});
            if (u != UNIT_NONE && close + 2 >= text->count)
                text->count = open - 1;
            return u;
        }
    }
    return UNIT_NONE;
}

/* "Temp/°C", "Time, min", "Temp in °F" */
static unit cut_behind_sign(ovp_span *text)
{
    for (size_t at = text->count; at > 1; at--) {
        char sign = text->bytes[at - 1];
        bool in = at > 3 && sign == ' ' && ovp_span_equals((ovp_span){text->bytes + at - 4, 4}, " in ");
        if (sign != '/' && sign != ',' && sign != ';' && !in)
            continue;
        unit u = trace_unit((ovp_span){text->bytes + at, text->count - at});
        if (u != UNIT_NONE)
            text->count = in ? at - 4 : at - 1;
        return u;
    }
    return UNIT_NONE;
}

/* The last word or two of a folded name, when they are a unit that fits what stands before. */
static unit cut_last_word(char *name, label *found)
{
    for (char *at = name; *at != '\0'; at++) {
        if (at != name && at[-1] != ' ')
            continue;
        unit u = trace_folded_unit(at);
        if (u == UNIT_NONE || u == UNIT_OTHER)
            continue;
        label before = {0};
        if (at == name) {
            char whole[FOLDED_SIZE];
            memcpy(whole, name, FOLDED_SIZE);
            find_role(whole, &before);
            bool says = trace_unit_is_temperature(u) || trace_unit_seconds(u) > 0.0;
            if (before.fit == FIT_NAME || !says) /* the D of a controller is no day, zone A no ampere */
                return UNIT_NONE;
            name[0] = '\0';
            return u;
        }
        char rest[FOLDED_SIZE] = {0};
        memcpy(rest, name, (size_t)(at - name) - 1);
        find_role(rest, &before);
        bool hot = before.role == ROLE_TEMPERATURE || before.role == ROLE_SETPOINT ||
                   before.role == ROLE_COLD_JUNCTION || before.role == ROLE_AMBIENT;
        bool long_word = strlen(at) > 2;
        bool fits = trace_unit_is_temperature(u)  ? hot || long_word
                    : trace_unit_seconds(u) > 0.0 ? before.role == ROLE_TIME
                                                  : before.role != ROLE_NONE;
        if (!fits)
            continue;
        found->bare_kelvin = u == UNIT_K && !long_word;
        at[-1] = '\0';
        return u;
    }
    return UNIT_NONE;
}

static bool canonical(ovp_span header, label *found)
{
    for (size_t i = 0; i < sizeof canonical_names / sizeof canonical_names[0]; i++) {
        if (!ovp_span_equals(header, canonical_names[i].name))
            continue;
        const char *last = strrchr(canonical_names[i].name, '_');
        found->role = canonical_names[i].role;
        found->fit = FIT_CANONICAL;
        found->unit = trace_unit(ovp_span_of(last + 1));
        return true;
    }
    return false;
}

/* "TempF", "°F Oven", "Oven (zone 1) Fahrenheit at top": a unit that stands anywhere but at the end. */
static unit unit_inside(const char *name)
{
    static const struct {
        const char *text;
        unit unit;
    } insides[] = {{"degf", UNIT_F},        {"deg f", UNIT_F},        {"fahrenheit", UNIT_F},
                   {"degc", UNIT_C},        {"deg c", UNIT_C},        {"celsius", UNIT_C},
                   {"kelvin", UNIT_K},      {"tempf", UNIT_F},        {"tempc", UNIT_C},
                   {"tempk", UNIT_K},       {"temperaturef", UNIT_F}, {"temperaturec", UNIT_C},
                   {"temperaturek", UNIT_K}};
    for (size_t i = 0; i < sizeof insides / sizeof insides[0]; i++) {
        const char *at = strstr(name, insides[i].text);
        const char *end = at != NULL ? at + strlen(insides[i].text) : NULL;
        if (at != NULL && (*end == '\0' || *end == ' ' || (*end >= '0' && *end <= '9')))
            return insides[i].unit;
    }
    return UNIT_NONE;
}

/* What the unit says about the role. */
static void settle_role(ovp_span header, const char *name, label *found)
{
    if (found->unit == UNIT_NONE)
        found->unit = unit_inside(name);
    bool degrees = trace_unit_is_temperature(found->unit);
    if (found->role == ROLE_TIME && degrees && found->fit == FIT_NAME) /* T in degC */
        found->role = ROLE_TEMPERATURE;
    found->capital_t = header.count == 1 && header.bytes[0] == 'T';
    if (found->role != ROLE_NONE ||
        (found->unit != UNIT_A && found->unit != UNIT_MA && found->unit != UNIT_V))
        return;
    found->role = found->unit == UNIT_V ? ROLE_SUPPLY : ROLE_CURRENT;
    found->fit = FIT_WORD;
}

label trace_label(ovp_span header)
{
    label found = {0};
    header = ovp_span_trim(header);
    if (canonical(header, &found))
        return found;
    ovp_span text = header;
    found.unit = cut_bracket(&text);
    found.bare_kelvin = found.unit == UNIT_K;
    if (found.unit == UNIT_NONE)
        found.unit = cut_behind_sign(&text);
    char name[FOLDED_SIZE] = {0};
    trace_fold(text, name);
    if (found.unit == UNIT_NONE)
        found.unit = cut_last_word(name, &found);
    find_role(name, &found);
    if (found.role == ROLE_NONE && trace_unit_seconds(found.unit) > 0.0 && name[0] == '\0')
        found.role = ROLE_TIME;
    settle_role(header, name, &found);
    if (found.role == ROLE_OUTPUT && found.unit != UNIT_NONE && found.unit != UNIT_PERCENT)
        found.role = ROLE_OTHER; /* power in watts */
    if (found.role == ROLE_TEMPERATURE && found.unit != UNIT_NONE && !trace_unit_is_temperature(found.unit))
        found.role = ROLE_OTHER;
    return found;
}
