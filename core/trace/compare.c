/* compare.c: numbers of a run that another run of the same oven would show again. */
#include "ovenproof/trace_compare.h"

#include "judge_internal.h"

#include <math.h>
#include <string.h>

static const double slope_from_C = 50, slope_to_C = 150;

size_t ovp_trace_compare_marks(const ovp_oven *oven, ovp_text_degrees shown,
                               double marks_C[OVP_TRACE_COMPARED_MARKS])
{
    size_t count = 0;
    for (size_t i = 0; oven != NULL && i < oven->heat_up_count && count < OVP_TRACE_COMPARED_MARKS; i++) {
        marks_C[count++] = oven->heat_up[i].to_C;
    }
    for (size_t i = 1;
         count < i && i <= OVP_TRACE_COMPARED_MARKS && (oven == NULL || oven->heat_up_count == 0); i++) {
        marks_C[count++] =
            shown == OVP_TEXT_DEGREES_F ? ovp_text_to_celsius(500.0 * (double)i, shown) : 250.0 * (double)i;
    }
    return count;
}

static double time_to(const ovp_trace_result *run, double mark_C)
{
    for (size_t i = 0; i < run->milestone_count; i++) {
        if (fabs(run->milestones[i].to_C - mark_C) < 1e-6 && isfinite(run->milestones[i].time_s)) {
            return run->milestones[i].time_s;
        }
    }
    return judge_series_passes(run->curve_s, run->curve_C, run->curve_count, mark_C);
}

/* Of a time at which the display passes a temperature: the logger's step, what the display is off by, and
   what a line wanders from day to day. */
static double time_U(const ovp_trace_result *run, double interval_s, double mark_C, double time_s)
{
    const double before_s = judge_series_passes(run->curve_s, run->curve_C, run->curve_count, mark_C - 20);
    const double slope_C_per_s = time_s > before_s ? 20 / (time_s - before_s) : (double)NAN;
    const double display_s = isfinite(slope_C_per_s) ? LIMIT(compare_display_C) / slope_C_per_s : 0;
    const double line_s = LIMIT(compare_line_U) * time_s;
    return sqrt(interval_s * interval_s + display_s * display_s + line_s * line_s);
}

static void take_marks(const ovp_trace_result *run, double interval_s, const double marks_C[],
                       size_t mark_count, ovp_trace_measure measures[])
{
    for (size_t i = 0; i < mark_count && i < OVP_TRACE_COMPARED_MARKS; i++) {
        const double time_s = run->cold_start ? time_to(run, marks_C[i]) : (double)NAN;
        measures[i].at_C = marks_C[i];
        measures[i].value = time_s;
        measures[i].uncertainty = isnan(time_s) ? time_s : time_U(run, interval_s, marks_C[i], time_s);
    }
}

static void take_slope(const ovp_trace_result *run, double interval_s, ovp_trace_measure *to)
{
    const double from_s =
        judge_series_passes(run->curve_s, run->curve_C, run->curve_count, run->start_C + slope_from_C);
    const double to_s =
        judge_series_passes(run->curve_s, run->curve_C, run->curve_count, run->start_C + slope_to_C);
    const double span_s = to_s - from_s;
    if (!run->cold_start || !(span_s > 0)) {
        return;
    }
    to->value = (slope_to_C - slope_from_C) / span_s * 60;
    const double clock = interval_s / span_s,
                 display = LIMIT(compare_display_C) / (slope_to_C - slope_from_C);
    to->uncertainty =
        to->value * sqrt(clock * clock + display * display + LIMIT(compare_line_U) * LIMIT(compare_line_U));
}

static void take_finding(const ovp_trace_result *run, const char *id, double least_U, ovp_trace_measure *to)
{
    for (size_t i = 0; i < run->finding_count; i++) {
        const ovp_trace_finding *finding = &run->findings[i];
        if (strcmp(finding->finding, id) == 0 && isfinite(finding->value)) {
            to->value = finding->value;
            to->uncertainty = isnan(finding->uncertainty) ? least_U : fmax(finding->uncertainty, least_U);
        }
    }
}

void ovp_trace_measures(const ovp_trace_result *run, double interval_s, const double marks_C[],
                        size_t mark_count, ovp_trace_measure measures[OVP_TRACE_MEASURES])
{
    for (size_t i = 0; i < OVP_TRACE_MEASURES; i++) {
        measures[i] = (ovp_trace_measure){NAN, NAN, NAN};
    }
    take_marks(run, interval_s, marks_C, mark_count, measures);
    take_slope(run, interval_s, &measures[OVP_TRACE_MEASURE_SLOPE]);
    ovp_trace_measure *hold = &measures[OVP_TRACE_MEASURE_HOLD];
    if (isfinite(run->hold_percent)) {
        hold->value = run->hold_percent;
        hold->uncertainty = LIMIT(compare_line_U) * run->hold_percent + LIMIT(compare_output_percent);
    }
    take_finding(run, "hold-power", 0, &measures[OVP_TRACE_MEASURE_WATTS]);
    hold->at_C = measures[OVP_TRACE_MEASURE_WATTS].at_C = run->hold_C;
    take_finding(run, "overshoot", LIMIT(compare_display_C), &measures[OVP_TRACE_MEASURE_OVERSHOOT]);
    take_finding(run, "dead-time", interval_s, &measures[OVP_TRACE_MEASURE_DEAD]);
    take_finding(run, "cooling", 0, &measures[OVP_TRACE_MEASURE_COOLING]);
}

double ovp_trace_measure_difference(ovp_trace_measure_id id, const ovp_trace_measure *first,
                                    const ovp_trace_measure *other)
{
    const bool of_hold = id == OVP_TRACE_MEASURE_HOLD || id == OVP_TRACE_MEASURE_WATTS;
    if (of_hold && !(fabs(first->at_C - other->at_C) <= LIMIT(compare_hold_C))) {
        return NAN;
    }
    return other->value - first->value;
}

bool ovp_trace_measure_differs(ovp_trace_measure_id id, const ovp_trace_measure *first,
                               const ovp_trace_measure *other)
{
    const double difference = ovp_trace_measure_difference(id, first, other);
    return fabs(difference) > hypot(first->uncertainty, other->uncertainty);
}

typedef struct measure_words {
    const char *name, *unit;
} measure_words;

static measure_words words_of(ovp_trace_measure_id id)
{
    switch (id) {
    case OVP_TRACE_MEASURE_SLOPE:
        return (measure_words){"first-slope", "degC/min"};
    case OVP_TRACE_MEASURE_HOLD:
        return (measure_words){"hold-output", "%"};
    case OVP_TRACE_MEASURE_WATTS:
        return (measure_words){"hold-power", "W"};
    case OVP_TRACE_MEASURE_OVERSHOOT:
        return (measure_words){"overshoot", "degC"};
    case OVP_TRACE_MEASURE_DEAD:
        return (measure_words){"dead-time", "s"};
    case OVP_TRACE_MEASURE_COOLING:
        return (measure_words){"cooling", "1/h"};
    default:
        return (measure_words){"time-to-mark", "s"};
    }
}

const char *ovp_trace_measure_name(ovp_trace_measure_id id)
{
    return words_of(id).name;
}

const char *ovp_trace_measure_unit(ovp_trace_measure_id id)
{
    return words_of(id).unit;
}
