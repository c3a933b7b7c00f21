/* judge_words.c: findings and numbers as words. */
#include "judge_internal.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

judge_number judge_temperature(const ovp_trace_judge *judge, double value_C)
{
    judge_number number = {""};
    ovp_text_format_temperature(value_C, judge->shown, 0, number.text, sizeof number.text);
    return number;
}

judge_number judge_difference(const ovp_trace_judge *judge, double value_C)
{
    judge_number number = {""};
    double shown =
        judge->shown == OVP_TEXT_DEGREES_C || judge->shown == OVP_TEXT_DEGREES_K ? value_C : 1.8 * value_C;
    ovp_text_format_difference(value_C, judge->shown, fabs(shown) < 10 ? 1 : 0, number.text,
                               sizeof number.text);
    return number;
}

judge_number judge_fixed(double value, int decimals)
{
    judge_number number = {""};
    ovp_text_format_fixed(value, decimals, number.text, sizeof number.text);
    return number;
}

judge_number judge_duration(double value_s)
{
    judge_number number = {""};
    ovp_text_format_duration(fmax(value_s, 0), number.text, sizeof number.text);
    return number;
}

ovp_trace_finding *judge_find(ovp_trace_result *result, const char *id, const char *outcome, double at_s,
                              double value)
{
    if (result->finding_count == OVP_TRACE_FINDINGS) {
        return NULL;
    }
    const ovp_trace_finding_row *row = ovp_trace_finding_named(id);
    ovp_trace_finding *finding = &result->findings[result->finding_count++];
    *finding = (ovp_trace_finding){
        .finding = row ? row->id : id,
        .outcome = outcome,
        .at_s = at_s,
        .since_s = NAN,
        .value = value,
        .uncertainty = NAN,
        .no_uncertainty = "no-number",
        .unit = row && !isnan(value) ? row->unit : "",
    };
    return finding;
}

/* The library's own words hold no letter beyond ASCII and the degree sign: cut between characters. */
static void words(char text[OVP_TRACE_TEXT_SIZE], const char *format, va_list arguments)
{
    char whole[2 * OVP_TRACE_TEXT_SIZE];
    int length = vsnprintf(whole, sizeof whole, format, arguments);
    if (length < 0) {
        whole[0] = '\0';
    }
    ovp_copy_string(text, OVP_TRACE_TEXT_SIZE, ovp_span_of(whole));
}

void judge_say(ovp_trace_result *result, const char *id, const char *outcome, double at_s, double value,
               const char *format, ...)
{
    ovp_trace_finding *finding = judge_find(result, id, outcome, at_s, value);
    if (!finding) {
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    words(finding->text, format, arguments);
    va_end(arguments);
    finding->notable = true;
}

void judge_warn(ovp_trace_result *result, const char *format, ...)
{
    if (result->warning_count++ >= OVP_TRACE_WARNINGS) {
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    words(result->warnings[result->warning_count - 1], format, arguments);
    va_end(arguments);
}

void judge_danger(ovp_trace_result *result, const char *format, ...)
{
    if (result->danger_now) {
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    words(result->danger_text, format, arguments);
    va_end(arguments);
    result->danger_now = true;
}
