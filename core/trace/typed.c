/* typed.c: one line typed beside a heating oven. */
#include "ovenproof/trace_stopwatch.h"

#include "reader_internal.h"

#include <math.h>
#include <string.h>

enum {
    OVENS = 9, /* one digit names an oven */
};

static ovp_span next_word(ovp_span *left)
{
    *left = ovp_span_trim(*left);
    size_t end = 0;
    while (end < left->count && left->bytes[end] != ' ' && left->bytes[end] != '\t')
        end++;
    const ovp_span word = {left->bytes, end};
    *left = ovp_span_trim((ovp_span){left->bytes + end, left->count - end});
    return word;
}

static ovp_status refuse(ovp_error *error, ovp_span what, const char *why)
{
    char text[48];
    (void)ovp_copy_string(text, sizeof text, what);
    (void)ovp_error_set(error, OVP_ERROR_DATA, "\"%s\" %s", text, why);
    ovp_error_hint(error, "type the display as a number: 412; `help` lists the rest");
    return OVP_ERROR_DATA;
}

/* ---- words ------------------------------------------------------------------------------------------ */

typedef struct typed_word {
    const char *word;
    ovp_trace_typed_kind kind;
    bool has_value;
} typed_word;

static const typed_word words[] = {
    {"v", OVP_TRACE_TYPED_VOLTS, true},       {"volts", OVP_TRACE_TYPED_VOLTS, true},
    {"a", OVP_TRACE_TYPED_AMPS, true},        {"amps", OVP_TRACE_TYPED_AMPS, true},
    {"o", OVP_TRACE_TYPED_OUTPUT, true},      {"output", OVP_TRACE_TYPED_OUTPUT, true},
    {"s", OVP_TRACE_TYPED_SETPOINT, true},    {"setpoint", OVP_TRACE_TYPED_SETPOINT, true},
    {"sp", OVP_TRACE_TYPED_SETPOINT, true},   {"mark", OVP_TRACE_TYPED_MARK, true},
    {"on", OVP_TRACE_TYPED_HEAT_ON, false},   {"heat on", OVP_TRACE_TYPED_HEAT_ON, false},
    {"off", OVP_TRACE_TYPED_HEAT_OFF, false}, {"heat off", OVP_TRACE_TYPED_HEAT_OFF, false},
    {"door", OVP_TRACE_TYPED_DOOR, false},    {"door open", OVP_TRACE_TYPED_DOOR, false},
    {"shut", OVP_TRACE_TYPED_SHUT, false},    {"door shut", OVP_TRACE_TYPED_SHUT, false},
    {"closed", OVP_TRACE_TYPED_SHUT, false},  {"door closed", OVP_TRACE_TYPED_SHUT, false},
    {"undo", OVP_TRACE_TYPED_UNDO, false},    {"u", OVP_TRACE_TYPED_UNDO, false},
    {"end", OVP_TRACE_TYPED_END, false},      {"quit", OVP_TRACE_TYPED_END, false},
    {"q", OVP_TRACE_TYPED_END, false},        {"exit", OVP_TRACE_TYPED_END, false},
    {"stop", OVP_TRACE_TYPED_END, false},     {"help", OVP_TRACE_TYPED_HELP, false},
    {"h", OVP_TRACE_TYPED_HELP, false},       {"?", OVP_TRACE_TYPED_HELP, false},
};

static const typed_word *word_of(ovp_span text, bool has_value)
{
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (words[i].has_value == has_value && ovp_span_equals(text, words[i].word))
            return &words[i];
    return NULL;
}

/* ---- values ----------------------------------------------------------------------------------------- */

static bool unit_fits(ovp_trace_typed_kind kind, unit u)
{
    switch (kind) {
    case OVP_TRACE_TYPED_VOLTS:
        return u == UNIT_NONE || u == UNIT_V;
    case OVP_TRACE_TYPED_AMPS:
        return u == UNIT_NONE || u == UNIT_A;
    case OVP_TRACE_TYPED_OUTPUT:
        return u == UNIT_NONE || u == UNIT_PERCENT;
    default:
        return u == UNIT_NONE || trace_unit_is_temperature(u);
    }
}

static ovp_text_degrees degrees_of(unit u)
{
    return u == UNIT_F   ? OVP_TEXT_DEGREES_F
           : u == UNIT_C ? OVP_TEXT_DEGREES_C
           : u == UNIT_K ? OVP_TEXT_DEGREES_K
                         : OVP_TEXT_DEGREES_NONE;
}

/* A number with or without its unit; a comma may part the thousands. */
static bool read_value(ovp_span text, ovp_trace_typed *typed)
{
    const cell seen = trace_cell(text, '.');
    if (seen.kind != CELL_NUMBER || !isfinite(seen.number) || !unit_fits(typed->kind, seen.unit))
        return false;
    typed->value = seen.number;
    typed->degrees = degrees_of(seen.unit);
    return true;
}

static bool in_range(const ovp_trace_typed *typed)
{
    switch (typed->kind) {
    case OVP_TRACE_TYPED_VOLTS:
    case OVP_TRACE_TYPED_AMPS:
        return typed->value >= 0 && typed->value <= 1000;
    case OVP_TRACE_TYPED_OUTPUT:
        return typed->value >= 0 && typed->value <= 100;
    default:
        return typed->degrees == OVP_TEXT_DEGREES_NONE ||
               ovp_text_to_celsius(typed->value, typed->degrees) >= -273.15;
    }
}

/* `v117.5` is as good as `v 117.5`. */
static const typed_word *glued_word(ovp_span text, ovp_span *value)
{
    if (text.count < 2 || !((text.bytes[1] >= '0' && text.bytes[1] <= '9') || text.bytes[1] == '.'))
        return NULL;
    *value = (ovp_span){text.bytes + 1, text.count - 1};
    return word_of((ovp_span){text.bytes, 1}, true);
}

static void take_insistence(ovp_span *text, ovp_trace_typed *typed)
{
    if (text->count > 1 && text->bytes[text->count - 1] == '!') {
        typed->insists = true;
        *text = ovp_span_trim((ovp_span){text->bytes, text->count - 1});
    }
}

/* One word that a display shows in place of a number. */
static bool read_display_word(ovp_span text, ovp_trace_typed *typed)
{
    for (size_t i = 0; i < text.count; i++)
        if (text.bytes[i] == ' ' || text.bytes[i] == '\t' || text.bytes[i] == ',' || text.bytes[i] == '"')
            return false;
    const cell seen = trace_cell(text, '.');
    if (seen.kind != CELL_WORD && seen.kind != CELL_EMPTY)
        return false;
    typed->cell = seen.reason;
    typed->words = text;
    return true;
}

static ovp_status read_what(ovp_span text, ovp_trace_typed *typed, ovp_error *error)
{
    ovp_span left = text;
    const ovp_span first = next_word(&left);
    const typed_word *word = word_of(text, false);
    if (word != NULL) {
        typed->kind = word->kind;
        return OVP_OK;
    }
    if (ovp_span_equals(first, "note") || ovp_span_equals(first, "n")) {
        typed->kind = OVP_TRACE_TYPED_NOTE;
        typed->words = left;
        return left.count > 0 ? OVP_OK : refuse(error, text, "has no words behind it");
    }
    word = word_of(first, true);
    if (word == NULL)
        word = glued_word(text, &left);
    if (word != NULL && left.count > 0) {
        typed->kind = word->kind;
        take_insistence(&left, typed);
        if (!read_value(left, typed))
            return refuse(error, text, "has no such number behind it");
        return in_range(typed) ? OVP_OK : refuse(error, text, "is out of range");
    }
    ovp_span value = text;
    take_insistence(&value, typed);
    if (read_value(value, typed)) {
        typed->cell = OVP_TRACE_NUMBER;
        return in_range(typed) ? OVP_OK : refuse(error, text, "is below absolute zero");
    }
    return read_display_word(value, typed) ? OVP_OK : refuse(error, text, "is not understood");
}

/* ---- in front: the time and the oven ------------------------------------------------------------------ */

static ovp_status read_time(ovp_span *line, ovp_trace_typed *typed, ovp_error *error)
{
    if (line->count == 0 || line->bytes[0] != '@')
        return OVP_OK;
    ovp_span left = {line->bytes + 1, line->count - 1};
    const ovp_span time = next_word(&left);
    double at_s = NAN;
    if (!ovp_text_number(time, &at_s) &&
        ovp_text_quantity(time, OVP_TEXT_DURATION, OVP_TEXT_DEGREES_NONE, &at_s, NULL) != OVP_OK)
        at_s = NAN;
    if (!(at_s >= 0 && at_s <= 31.0 * 86400)) {
        (void)refuse(error, *line, "has no time behind @");
        if (error != NULL)
            error->hint[0] = '\0';
        ovp_error_hint(error, "since the start, in seconds or min:s: @12.5 412, @19:40 1000");
        return OVP_ERROR_DATA;
    }
    typed->at_s = at_s;
    *line = left;
    return OVP_OK;
}

static bool is_unit(ovp_span text)
{
    return trace_unit(text) != UNIT_NONE || ovp_span_equals(text, "!");
}

static ovp_status read_oven(ovp_span *line, size_t ovens, ovp_trace_typed *typed, ovp_error *error)
{
    ovp_span left = *line;
    const ovp_span first = next_word(&left);
    if (first.count != 1 || first.bytes[0] < '1' || first.bytes[0] > '9')
        return OVP_OK;
    const unsigned number = (unsigned)(first.bytes[0] - '0');
    const bool more = left.count > 0 && !is_unit(left);
    if (number > ovens && more) {
        (void)refuse(error, *line, "names an oven that is not there");
        return OVP_ERROR_DATA;
    }
    if (number > ovens || (ovens == 1 && !more) || (!more && left.count > 0))
        return OVP_OK;
    typed->oven = number;
    *line = left;
    return OVP_OK;
}

static bool has_control(ovp_span text)
{
    for (size_t i = 0; i < text.count; i++) {
        const unsigned char letter = (unsigned char)text.bytes[i];
        if ((letter < 0x20 && letter != '\t') || letter == 0x7F)
            return true;
    }
    return false;
}

ovp_status ovp_trace_typed_read(ovp_span line, size_t ovens, ovp_trace_typed *typed, ovp_error *error)
{
    ovp_trace_typed read = {
        .kind = OVP_TRACE_TYPED_READING, .at_s = NAN, .value = NAN, .cell = OVP_TRACE_EMPTY};
    ovp_span left = ovp_span_trim(line);
    if (has_control(left)) {
        (void)ovp_error_set(error, OVP_ERROR_DATA, "that line holds control characters: not taken");
        ovp_error_hint(error, "type it once more");
        return OVP_ERROR_DATA;
    }
    ovp_status status = read_time(&left, &read, error);
    if (status == OVP_OK)
        status = read_oven(&left, ovens < OVENS ? ovens : OVENS, &read, error);
    if (status == OVP_OK && left.count == 0)
        read.kind = OVP_TRACE_TYPED_MARK;
    else if (status == OVP_OK)
        status = read_what(left, &read, error);
    if (status == OVP_OK)
        *typed = read;
    return status;
}
