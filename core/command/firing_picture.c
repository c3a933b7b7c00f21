/* firing_picture.c: `firing check --picture` and `--plot`: the run beside what the plan asks. */
#include "command/firing.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    PLOT_ROWS = 16,
    LEG_PARTS = 100,
};

static void add_place(picture_series *series, double time_s, double temperature_C)
{
    const ovp_trace_sample place = {time_s, temperature_C, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_NUMBER};
    picture_series_sample(series, &place);
}

/* The plan in time, from the moment the heat went on; it ends where the plan says "as long as it takes". */
static void lay_plan(const firing_job *job, double from_s, picture_series *series)
{
    const ovp_oven_plan_review *review = &job->review;
    picture_series_begin(series);
    size_t first = 0;
    while (first < review->leg_count &&
           !review->legs[first].heated) /* the days in air come before the heat */
        first++;
    if (isnan(from_s) || first == review->leg_count)
        return;
    add_place(series, from_s, review->legs[first].from_C);
    for (size_t i = first; i < review->leg_count && !isnan(review->legs[i].time_s); i++) {
        const ovp_oven_leg *leg = &review->legs[i];
        for (int part = 1; part <= LEG_PARTS;
             part++) /* so that one that goes past the run is cut at its end */
            add_place(series, from_s + leg->time_s * part / LEG_PARTS,
                      leg->from_C + (leg->to_C - leg->from_C) * part / LEG_PARTS);
        from_s += leg->time_s;
    }
}

ovp_status firing_picture(const firing_job *job, const firing_drawing *drawing, bool terminal,
                          ovp_error *error)
{
    const command_call *call = job->call;
    const char *path = command_value(call, "picture");
    char title[400];
    picture_series *plan = malloc(sizeof *plan);
    if (plan == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    lay_plan(job, drawing->heat_on_s, plan);
    snprintf(title, sizeof title, "%.96s%s%.96s: %.120s", job->has_oven ? job->oven.name : "",
             job->has_oven ? ", " : "", job->plan.name, command_file_name(drawing->name));
    const picture_trace trace = {.title = title,
                                 .subtitle = drawing->verdict,
                                 .run = drawing->run,
                                 .other = plan->count > 1 ? plan : NULL,
                                 .other_text = "the plan",
                                 .usual_step_s = drawing->usual_step_s,
                                 .shown = call->degrees,
                                 .marks = drawing->marks,
                                 .mark_count = drawing->mark_count,
                                 .most_C = job->has_oven ? job->oven.chamber.limit_C : (double)NAN};
    ovp_status status = OVP_OK;
    if (!terminal)
        status = picture_write(path, &trace, error);
    else {
        (void)ovp_text_print(call->out, "\n");
        (void)picture_terminal_trace(call->out, &trace, command_drawing_columns(), PLOT_ROWS, picture_utf8());
    }
    free(plan);
    return status;
}
