#include "reader_internal.h"

#include <math.h>
#include <string.h>

/* One cell: a number, a number with its unit, a date or clock, a word for no reading, or other text. */

typedef struct reading_word {
    const char *word;
    ovp_trace_cell reason;
} reading_word;

static const reading_word reading_words[] = {
    {"nan", OVP_TRACE_EMPTY},
    {"-nan", OVP_TRACE_EMPTY},
    {"+nan", OVP_TRACE_EMPTY},
    {"nan(ind)", OVP_TRACE_EMPTY},
    {"-nan(ind)", OVP_TRACE_EMPTY},
    {"#n/a", OVP_TRACE_EMPTY},
    {"#nv", OVP_TRACE_EMPTY},
    {"n/a", OVP_TRACE_EMPTY},
    {"na", OVP_TRACE_EMPTY},
    {"n.a.", OVP_TRACE_EMPTY},
    {"null", OVP_TRACE_EMPTY},
    {"none", OVP_TRACE_EMPTY},
    {"nil", OVP_TRACE_EMPTY},
    {"missing", OVP_TRACE_EMPTY},
    {"no data", OVP_TRACE_EMPTY},
    {"?", OVP_TRACE_EMPTY},
    {"*", OVP_TRACE_EMPTY},
    {"kein wert", OVP_TRACE_EMPTY},
    {"1.#qnan", OVP_TRACE_EMPTY},
    {"-1.#ind", OVP_TRACE_EMPTY},
    {"1.#ind", OVP_TRACE_EMPTY},
    {"-1.#qnan", OVP_TRACE_EMPTY},
    {"open", OVP_TRACE_OPEN},
    {"open circuit", OVP_TRACE_OPEN},
    {"open tc", OVP_TRACE_OPEN},
    {"tc open", OVP_TRACE_OPEN},
    {"open sensor", OVP_TRACE_OPEN},
    {"sensor open", OVP_TRACE_OPEN},
    {"open input", OVP_TRACE_OPEN},
    {"break", OVP_TRACE_OPEN},
    {"broken", OVP_TRACE_OPEN},
    {"sensor break", OVP_TRACE_OPEN},
    {"sensor broken", OVP_TRACE_OPEN},
    {"burnout", OVP_TRACE_OPEN},
    {"burn out", OVP_TRACE_OPEN},
    {"disconnected", OVP_TRACE_OPEN},
    {"unplugged", OVP_TRACE_OPEN},
    {"no sensor", OVP_TRACE_OPEN},
    {"no probe", OVP_TRACE_OPEN},
    {"no tc", OVP_TRACE_OPEN},
    {"offen", OVP_TRACE_OPEN},
    {"bruch", OVP_TRACE_OPEN},
    {"f\xC3\xBChlerbruch", OVP_TRACE_OPEN},
    {"fuehlerbruch", OVP_TRACE_OPEN},
    {"drahtbruch", OVP_TRACE_OPEN},
    {"under", OVP_TRACE_UNDER},
    {"under range", OVP_TRACE_UNDER},
    {"under-range", OVP_TRACE_UNDER},
    {"underrange", OVP_TRACE_UNDER},
    {"underflow", OVP_TRACE_UNDER},
    {"below range", OVP_TRACE_UNDER},
    {"low", OVP_TRACE_UNDER},
    {"lo", OVP_TRACE_UNDER},
    {"-over", OVP_TRACE_UNDER},
    {"-ol", OVP_TRACE_UNDER},
    {"unterlauf", OVP_TRACE_UNDER},
    {"zu tief", OVP_TRACE_UNDER},
    {"over", OVP_TRACE_OVER},
    {"over range", OVP_TRACE_OVER},
    {"over-range", OVP_TRACE_OVER},
    {"overrange", OVP_TRACE_OVER},
    {"overflow", OVP_TRACE_OVER},
    {"overload", OVP_TRACE_OVER},
    {"ol", OVP_TRACE_OVER},
    {"o.l", OVP_TRACE_OVER},
    {"+over", OVP_TRACE_OVER},
    {"+ol", OVP_TRACE_OVER},
    {"above range", OVP_TRACE_OVER},
    {"high", OVP_TRACE_OVER},
    {"hi", OVP_TRACE_OVER},
    {"\xC3\xBC"
     "berlauf",
     OVP_TRACE_OVER},
    {"ueberlauf", OVP_TRACE_OVER},
    {"err", OVP_TRACE_ERROR},
    {"error", OVP_TRACE_ERROR},
    {"fail", OVP_TRACE_ERROR},
    {"failed", OVP_TRACE_ERROR},
    {"fault", OVP_TRACE_ERROR},
    {"bad", OVP_TRACE_ERROR},
    {"invalid", OVP_TRACE_ERROR},
    {"sensor error", OVP_TRACE_ERROR},
    {"sensor fault", OVP_TRACE_ERROR},
    {"timeout", OVP_TRACE_ERROR},
    {"fehler", OVP_TRACE_ERROR},
    {"ung\xC3\xBCltig", OVP_TRACE_ERROR},
    {"#value!", OVP_TRACE_ERROR},
    {"#div/0!", OVP_TRACE_ERROR},
    {"#ref!", OVP_TRACE_ERROR},
    {"#num!", OVP_TRACE_ERROR},
    {"#name?", OVP_TRACE_ERROR},
    {"#wert!", OVP_TRACE_ERROR},
    {"#bezug!", OVP_TRACE_ERROR},
    {"#zahl!", OVP_TRACE_ERROR},
};

static ovp_span trim_marks(ovp_span text)
{
    while (text.count > 0 && (text.bytes[text.count - 1] == '!' || text.bytes[text.count - 1] == '.') &&
           text.bytes[0] != '#')
        text.count--;
    return text;
}

static bool is_dashes(ovp_span text)
{
    for (size_t i = 0; i < text.count; i++)
        if (text.bytes[i] != '-' && text.bytes[i] != '.' && text.bytes[i] != '_')
            return false;
    return text.count > 0;
}

/* "TC 1 open", "input over range": the word stands among others. */
static bool holds_reading_word(ovp_span text, ovp_trace_cell *reason)
{
    static const reading_word parts[] = {{"open", OVP_TRACE_OPEN},        {"break", OVP_TRACE_OPEN},
                                         {"bruch", OVP_TRACE_OPEN},       {"under range", OVP_TRACE_UNDER},
                                         {"underrange", OVP_TRACE_UNDER}, {"over range", OVP_TRACE_OVER},
                                         {"overrange", OVP_TRACE_OVER}};
    char folded[FOLDED_SIZE];
    trace_fold(text, folded);
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        if (strstr(folded, parts[i].word) == NULL)
            continue;
        *reason = parts[i].reason;
        return true;
    }
    return false;
}

static bool reading_word_of(ovp_span text, ovp_trace_cell *reason)
{
    *reason = OVP_TRACE_EMPTY;
    if (is_dashes(text))
        return true;
    for (int pass = 0; pass < 2; pass++) {
        ovp_span word = pass == 0 ? text : trim_marks(text);
        for (size_t i = 0; i < sizeof reading_words / sizeof reading_words[0]; i++) {
            if (ovp_span_equals(word, reading_words[i].word)) {
                *reason = reading_words[i].reason;
                return true;
            }
        }
    }
    return holds_reading_word(text, reason);
}

/* ">1372", "<-200": the display's end of range. */
static bool range_mark(ovp_span text, char decimal, ovp_trace_cell *reason)
{
    if (text.count < 2 || (text.bytes[0] != '>' && text.bytes[0] != '<'))
        return false;
    double value = 0.0;
    *reason = text.bytes[0] == '>' ? OVP_TRACE_OVER : OVP_TRACE_UNDER;
    return ovp_text_delimited_number((ovp_span){text.bytes + 1, text.count - 1}, decimal, &value);
}

static bool is_infinite(ovp_span text)
{
    static const char *const words[] = {"inf", "infinity", "1.#inf", "\xE2\x88\x9E"};
    if (text.count > 0 && (text.bytes[0] == '-' || text.bytes[0] == '+'))
        text = (ovp_span){text.bytes + 1, text.count - 1};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (ovp_span_equals(text, words[i]))
            return true;
    double value = 0.0;
    return text.count > 0 && ovp_text_scan_number(text, &value) == text.count && isinf(value);
}

static bool is_digit(char letter)
{
    return letter >= '0' && letter <= '9';
}

/* 72.1° says that it is a temperature and no more */
static bool is_degree_sign(ovp_span text)
{
    char folded[FOLDED_SIZE];
    trace_fold(text, folded);
    return strcmp(folded, "deg") == 0;
}

/* "72.1 F", "450 °C": a number and the unit behind it. */
static bool number_with_unit(ovp_span text, char decimal, cell *result)
{
    for (size_t at = text.count; at > 0; at--) {
        if (!is_digit(text.bytes[at - 1]))
            continue;
        if (at == text.count)
            return false;
        ovp_span behind = {text.bytes + at, text.count - at};
        unit u = trace_unit(behind);
        if ((u == UNIT_NONE && !is_degree_sign(behind)) ||
            !ovp_text_delimited_number((ovp_span){text.bytes, at}, decimal, &result->number))
            return false;
        result->unit = u;
        result->kind = CELL_NUMBER;
        return true;
    }
    return false;
}

cell trace_cell(ovp_span text, char decimal)
{
    cell result = {.kind = CELL_EMPTY, .reason = OVP_TRACE_EMPTY};
    text = ovp_span_trim(text);
    if (text.count == 0)
        return result;
    if (ovp_text_delimited_number(text, decimal, &result.number)) {
        result.kind = CELL_NUMBER;
        return result;
    }
    if (trace_moment(text, &result))
        return result;
    result = (cell){.kind = CELL_TEXT};
    if (number_with_unit(text, decimal, &result))
        return result;
    if (is_infinite(text))
        result.kind = CELL_INFINITE;
    else if (reading_word_of(text, &result.reason) || range_mark(text, decimal, &result.reason))
        result.kind = CELL_WORD;
    return result;
}

bool trace_duration(ovp_span text, char decimal, double *seconds)
{
    cell one = {.kind = CELL_TEXT};
    if (number_with_unit(text, decimal, &one)) {
        *seconds = one.number * trace_unit_seconds(one.unit);
        return trace_unit_seconds(one.unit) > 0.0;
    }
    return ovp_text_quantity(text, OVP_TEXT_DURATION, OVP_TEXT_DEGREES_NONE, seconds, NULL) == OVP_OK;
}

bool trace_switch(ovp_span text, double *percent)
{
    static const char *const on[] = {"on", "ein", "an", "true", "yes", "ja"};
    static const char *const off[] = {"off", "aus", "false", "no", "nein"};
    for (size_t i = 0; i < sizeof on / sizeof on[0]; i++)
        if (ovp_span_equals(text, on[i])) {
            *percent = 100.0;
            return true;
        }
    for (size_t i = 0; i < sizeof off / sizeof off[0]; i++)
        if (ovp_span_equals(text, off[i])) {
            *percent = 0.0;
            return true;
        }
    return false;
}

static bool joins(ovp_span cell_text, ovp_span before)
{
    static const char *const halves[] = {"am", "pm", "a.m.", "p.m.", "uhr"};
    for (size_t i = 0; i < sizeof halves / sizeof halves[0]; i++)
        if (ovp_span_equals(cell_text, halves[i]))
            return memchr(before.bytes, ':', before.count) != NULL;
    unit u = trace_unit(cell_text);
    double value = 0.0;
    return u != UNIT_NONE && ovp_text_delimited_number(before, '.', &value);
}

size_t trace_join_cells(const ovp_text_row *row, char delimiter, ovp_span cells[], size_t capacity)
{
    size_t count = 0;
    for (size_t i = 0; i < row->count; i++) {
        ovp_span field = row->fields[i];
        if (delimiter == ' ' && count > 0 && joins(field, cells[count - 1])) {
            ovp_span *before = &cells[count - 1];
            before->count = (size_t)(field.bytes + field.count - before->bytes);
            continue;
        }
        if (count == capacity)
            break;
        cells[count++] = field;
    }
    return count;
}
