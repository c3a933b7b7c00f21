/* The log of a run as the models are compared with it: what drove the oven, what was shown. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

enum {
    POINTS = DIAGNOSIS_FIT_POINTS,
};

static const double longest_log_s = 4 * 3600; /* beyond it an oven is soaked: nothing new */
static const double least_step_s = 5;
static const double steps = 400; /* of the model in a run */

/* What shows by itself and spoils the curve for all that comes after. */
static const char *const events[] = {"open",       "shorted",          "stuck",       "jumps",
                                     "no-rise",    "off-while-called", "under-range", "over-range",
                                     "wrong-unit", "reads-backwards",  "not-called",  "power-while-off"};

static bool has_event(const ovp_trace_result *result)
{
    for (size_t i = 0; i < result->finding_count; i++) {
        for (size_t k = 0; k < sizeof(events) / sizeof(events[0]); k++) {
            if (result->findings[i].notable && strcmp(result->findings[i].finding, events[k]) == 0) {
                return true;
            }
        }
    }
    return false;
}

static bool usable(const ovp_trace_sample *point)
{
    return point->output_percent >= 0 && point->output_percent <= 100;
}

const char *diagnosis_fit_silent(const ovp_diagnosis_run *run)
{
    if (!run->input->has[OVP_TRACE_OUTPUT]) {
        return "the log has no output column";
    }
    if (!run->result->cold_start || isnan(run->result->start_C)) {
        return "the run does not start cold";
    }
    if (has_event(run->result)) {
        return "an event in the run speaks for itself";
    }
    for (size_t i = 0; i < run->count; i++) {
        if (!isnan(run->points[i].output_percent) && !usable(&run->points[i])) {
            return "the output column is no percentage";
        }
    }
    return "";
}

/* From here on nobody knows what was called for: a person stopped noting it, or a door stood open. */
static bool output_lost(const ovp_diagnosis_run *run, size_t from)
{
    enum {
        BLANK = 3 /* fewer are gaps in a column */
    };
    size_t blank = 0;
    while (from + blank < run->count && blank < BLANK && !usable(&run->points[from + blank])) {
        blank++;
    }
    return blank == BLANK || (blank > 0 && from + blank == run->count);
}

/* Points to drive by: the output between two of them is the mean. The first sample alone, or the model would
   begin a stride late; then `stride` of them up to each point. */
static void drive_by(const ovp_diagnosis_run *run, size_t stride, diagnosis_fit_log *log)
{
    const bool volts = run->input->has[OVP_TRACE_SUPPLY];
    double on_V = NAN;
    bool known = false;
    log->drive_count = 0;
    for (size_t i = 0; i < run->count && log->drive_count < DIAGNOSIS_FIT_DRIVE; i += stride) {
        const size_t from = i > 0 ? i - stride + 1 : 0;
        double output = 0;
        known = known || usable(&run->points[i]);
        if (known && output_lost(run, i)) {
            break;
        }
        for (size_t k = from; k <= i; k++) {
            output += usable(&run->points[k]) ? run->points[k].output_percent / 100 : 0;
        }
        const ovp_trace_sample *last = &run->points[i];
        if (volts && last->supply_V > 0) {
            on_V = last->supply_V;
        }
        log->drive[log->drive_count++] =
            (ovp_thermal_drive){last->time_s, output / (double)(i - from + 1), on_V};
        if (last->time_s - run->points[0].time_s > longest_log_s) {
            break;
        }
    }
}

static void weigh_errors(double left, diagnosis_fit_log *log)
{
    double span_s = 0;
    log->error_s = diagnosis_figure(DIAGNOSIS_fit_error_s);
    log->scatter_C = 0.5; /* a display's last place and its noise: judgement */
    if (log->drive_count > 1) {
        span_s = log->drive[log->drive_count - 1].time_s - log->drive[0].time_s;
    }
    log->longest_s = fmax(least_step_s, span_s / steps);
    log->effective = fmin(2 + span_s / log->error_s, (double)log->count);
    for (size_t i = 0; i < log->count; i++) {
        log->error_C[i] =
            left * (diagnosis_figure(DIAGNOSIS_fit_error_C) +
                    diagnosis_figure(DIAGNOSIS_fit_error_share) * fabs(log->shown_C[i] - log->start_C));
    }
}

void diagnosis_fit_thin(const ovp_diagnosis_run *run, double left, diagnosis_fit_log *log)
{
    const size_t stride = (run->count + DIAGNOSIS_FIT_DRIVE - 1) / DIAGNOSIS_FIT_DRIVE;
    log->start_C = run->result->start_C;
    drive_by(run, stride, log);
    log->count = 0;
    const size_t every = (log->drive_count + POINTS - 1) / POINTS;
    for (size_t i = every; i < log->drive_count && every > 0; i += every) {
        const double shown_C = run->points[i * stride].temperature_C;
        if (!isnan(shown_C)) {
            log->at[log->count] = i;
            log->shown_C[log->count++] = shown_C;
        }
    }
    weigh_errors(left, log);
}
