/* trace_picture.c: --plot and --picture. */
#include "command/trace.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    WORDS_SIZE = 400,
    PLOT_ROWS = 16,
};

/* What a drawing of a run needs, with the words in it. */
typedef struct run_drawing {
    picture_trace trace;
    picture_mark marks[PICTURE_MARKS];
    picture_limit limits[PICTURE_LIMITS];
    char limit_words[PICTURE_LIMITS][144];
    char title[WORDS_SIZE], subtitle[WORDS_SIZE], heat_up[WORDS_SIZE + 200], more[WORDS_SIZE];
    picture_series *made, *made_other; /* out of outlines: to be freed */
} run_drawing;

ovp_status command_trace_keep_series(const command_call *call, picture_series **series, ovp_error *error)
{
    if (!command_draws(call))
        return OVP_OK;
    if (*series == NULL)
        *series = malloc(sizeof **series);
    if (*series == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    picture_series_begin(*series);
    return OVP_OK;
}

ovp_status command_trace_picture_check(const command_call *call, size_t runs, ovp_error *error)
{
    const char *path = command_value(call, "picture");
    picture_kind kind;
    if (path == NULL)
        return OVP_OK;
    if (runs > 1) {
        ovp_error_set(error, OVP_ERROR_USAGE, "--picture draws one run, and %zu are given", runs);
        ovp_error_hint(error, "draw them one by one, or name a good run with --baseline to see both in one");
        return error->status;
    }
    return picture_check(path, &kind, error);
}

/* ---- what is drawn ------------------------------------------------------------------------------------ */

/* In the order of time; what concerns the whole run comes last. */
static int by_time(const void *left, const void *right)
{
    double a = ((const picture_mark *)left)->time_s, b = ((const picture_mark *)right)->time_s;
    if (isnan(a) || isnan(b))
        return isnan(a) - isnan(b);
    return (a > b) - (a < b);
}

static void take_marks(run_drawing *d, const trace_run *run)
{
    size_t left_out = 0;
    for (size_t i = 0; i < run->result.finding_count; i++) {
        const ovp_trace_finding *finding = &run->result.findings[i];
        if (!finding->notable)
            continue;
        if (d->trace.mark_count < PICTURE_MARKS)
            d->marks[d->trace.mark_count++] = (picture_mark){finding->at_s, finding->text};
        else
            left_out++;
    }
    qsort(d->marks, d->trace.mark_count, sizeof d->marks[0], by_time);
    d->trace.marks = d->marks;
    if (left_out > 0) {
        snprintf(d->more, sizeof d->more, "%zu more: `ovenproof trace ... --why` lists them.", left_out);
        d->trace.notes[d->trace.note_count++] = d->more;
    }
}

/* The heat-up limits, where the run is one that they are for. */
static void take_limits(run_drawing *d, const trace_setting *setting, const trace_run *run)
{
    const ovp_text_degrees shown =
        setting->call->degrees == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : setting->call->degrees;
    if (!run->result.cold_start || isnan(run->result.time_zero_s))
        return;
    for (size_t i = 0; i < run->result.milestone_count && d->trace.limit_count < PICTURE_LIMITS; i++) {
        const ovp_trace_milestone *milestone = &run->result.milestones[i];
        const size_t at = d->trace.limit_count;
        char to[64];
        if (milestone->pass < 0 && isnan(milestone->time_s))
            continue;
        ovp_text_format_temperature(milestone->to_C, shown, 0, to, sizeof to);
        snprintf(d->limit_words[at], sizeof d->limit_words[at], "%s within %s", to,
                 trace_shown_duration(milestone->within_s).text);
        d->limits[d->trace.limit_count++] =
            (picture_limit){run->result.time_zero_s, run->result.time_zero_s + milestone->within_s,
                            milestone->to_C, d->limit_words[at]};
    }
    d->trace.limits = d->limits;
    command_trace_milestone_words(setting, run, d->heat_up, sizeof d->heat_up);
    if (d->heat_up[0] != '\0')
        d->trace.notes[d->trace.note_count++] = d->heat_up;
}

static void take_words(run_drawing *d, const trace_setting *setting, const trace_run *run)
{
    static const char *const verdicts[] = {[OVP_DIAGNOSIS_HEALTHY] = "Good.",
                                           [OVP_DIAGNOSIS_FAULT] = "Trouble.",
                                           [OVP_DIAGNOSIS_UNCERTAIN] = "Can't tell."};
    const ovp_diagnosis_result *causes = &run->causes;
    const char *name =
        strcmp(run->name, "--times") == 0 ? "times noted by hand" : command_file_name(run->name);
    snprintf(d->title, sizeof d->title, "%.96s%s%.200s", setting->has_oven ? setting->oven.name : "",
             setting->has_oven ? ": " : "", name);
    const bool named = causes->verdict == OVP_DIAGNOSIS_FAULT && causes->cause_count > 0 &&
                       causes->causes[0].probability >= causes->unlisted;
    snprintf(d->subtitle, sizeof d->subtitle, "%s%s%s%s", verdicts[causes->verdict],
             named ? " Most likely: " : "", named ? causes->causes[0].fault->title : "",
             named && causes->causes[0].fault->danger >= 3 ? " (dangerous)" : "");
    d->trace.title = d->title;
    d->trace.subtitle = d->subtitle;
}

/* The thinned copy that the judge keeps, where nobody listened to the samples. */
static picture_series *of_outline(const ovp_trace_sample points[], size_t count)
{
    picture_series *series = malloc(sizeof *series);
    if (series == NULL)
        return NULL;
    picture_series_begin(series);
    for (size_t i = 0; i < count; i++)
        picture_series_sample(series, &points[i]);
    return series;
}

static void drop(run_drawing *d)
{
    if (d == NULL)
        return;
    free(d->made);
    free(d->made_other);
    free(d);
}

/* NULL: out of memory. */
static run_drawing *make(const trace_setting *setting, const trace_run *run)
{
    run_drawing *d = calloc(1, sizeof *d);
    if (d == NULL)
        return NULL;
    d->made = run->series == NULL ? of_outline(run->outline, run->outline_count) : NULL;
    d->trace = (picture_trace){
        .run = run->series != NULL ? run->series : d->made,
        .usual_step_s = run->series != NULL ? run->input.interval_s : (double)NAN,
        .shown = setting->call->degrees,
        .most_C = setting->has_oven ? setting->oven.chamber.limit_C : (double)NAN,
    };
    if (setting->has_baseline) {
        if (setting->baseline_series == NULL)
            d->made_other = of_outline(setting->baseline_outline, setting->baseline_count);
        const double shift_s = run->result.time_zero_s - setting->baseline.time_zero_s;
        d->trace.other = setting->baseline_series != NULL ? setting->baseline_series : d->made_other;
        d->trace.other_shift_s = isnan(shift_s) ? 0 : shift_s;
        d->trace.other_text = "good run";
    }
    if (d->trace.run == NULL) {
        drop(d);
        return NULL;
    }
    take_words(d, setting, run);
    take_marks(d, run);
    take_limits(d, setting, run);
    if (setting->has_oven && setting->oven.note[0] != '\0')
        d->trace.notes[d->trace.note_count++] = setting->oven.note;
    return d;
}

/* ---- where it goes ------------------------------------------------------------------------------------- */

ovp_status command_trace_plot(const trace_setting *setting, const trace_run *run)
{
    run_drawing *d = make(setting, run);
    if (d == NULL)
        return OVP_ERROR_MEMORY;
    d->trace.note_count = d->more[0] != '\0' ? 1 : 0; /* the others stand above already */
    const ovp_status status = picture_terminal_trace(setting->call->out, &d->trace, command_drawing_columns(),
                                                     PLOT_ROWS, picture_utf8());
    drop(d);
    return status;
}

ovp_status command_trace_picture(const trace_setting *setting, const trace_run *run, ovp_error *error)
{
    const char *path = command_value(setting->call, "picture");
    if (path == NULL)
        return OVP_OK;
    run_drawing *d = make(setting, run);
    if (d == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    const ovp_status status = picture_write(path, &d->trace, error);
    drop(d);
    return status;
}
