/*
 * ovenproof/trace_compare.h: several runs of one kind beside each other.
 *
 * A measure is one number of a run that another run of the same oven, with the same load, would show again.
 * What two runs differ by counts only beyond the uncertainty of the difference.
 */
#ifndef OVENPROOF_TRACE_COMPARE_H
#define OVENPROOF_TRACE_COMPARE_H

#include "ovenproof/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    OVP_TRACE_COMPARED_MARKS = 4,
};

/** The first OVP_TRACE_COMPARED_MARKS are the times to the marks. */
typedef enum ovp_trace_measure_id {
    OVP_TRACE_MEASURE_MARK = 0,
    OVP_TRACE_MEASURE_SLOPE = OVP_TRACE_COMPARED_MARKS, /**< from 50 to 150 degC above the start, degC/min */
    OVP_TRACE_MEASURE_HOLD,                             /**< mean output at the end of the longest hold, % */
    OVP_TRACE_MEASURE_WATTS,                            /**< power there, W */
    OVP_TRACE_MEASURE_OVERSHOOT,                        /**< first overshoot, degC */
    OVP_TRACE_MEASURE_DEAD,                             /**< from the first heat to the first sure rise, s */
    OVP_TRACE_MEASURE_COOLING,                          /**< constant of cooling with the heat off, 1/h */
    OVP_TRACE_MEASURES,
} ovp_trace_measure_id;

typedef struct ovp_trace_measure {
    double value;       /**< NAN: this run does not show it */
    double uncertainty; /**< k = 2, against another run of the same oven and the same logger */
    double at_C;        /**< the mark, or the temperature of the hold; NAN */
} ovp_trace_measure;

/**
 * Marks that the runs are compared at, degC: those of the oven (NULL: none), else round ones in the scale
 * shown; at most OVP_TRACE_COMPARED_MARKS. Returns their count.
 */
size_t ovp_trace_compare_marks(const ovp_oven *oven, ovp_text_degrees shown,
                               double marks_C[OVP_TRACE_COMPARED_MARKS]);

/** All measures of a run. interval_s: of its log. */
void ovp_trace_measures(const ovp_trace_result *run, double interval_s, const double marks_C[],
                        size_t mark_count, ovp_trace_measure measures[OVP_TRACE_MEASURES]);

/** Both show it, under the same conditions: the difference, other less first; else NAN. */
double ovp_trace_measure_difference(ovp_trace_measure_id id, const ovp_trace_measure *first,
                                    const ovp_trace_measure *other);
/** The difference is beyond its uncertainty (the root of the sum of both squares). */
bool ovp_trace_measure_differs(ovp_trace_measure_id id, const ovp_trace_measure *first,
                               const ovp_trace_measure *other);

/** "time-to-mark", "first-slope", "hold-output"...: the words of the JSON, and their unit. */
const char *ovp_trace_measure_name(ovp_trace_measure_id id);
const char *ovp_trace_measure_unit(ovp_trace_measure_id id);

#ifdef __cplusplus
}
#endif

#endif
