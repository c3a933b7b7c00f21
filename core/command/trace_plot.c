/* trace_plot.c: --plot. */
#include "command/trace.h"
#include "picture/picture.h"

#include <math.h>
#include <stdlib.h>

/* In the order of time; what concerns the whole run comes last. */
static int by_time(const void *left, const void *right)
{
    double a = ((const picture_mark *)left)->time_s, b = ((const picture_mark *)right)->time_s;
    if (isnan(a) || isnan(b))
        return isnan(a) - isnan(b);
    return (a > b) - (a < b);
}

void command_trace_plot(const trace_setting *setting, const trace_run *run)
{
    picture_trace picture = {
        .title = run->name,
        .points = run->outline,
        .count = run->outline_count,
        .shown = setting->call->degrees,
        .other = setting->has_baseline ? setting->baseline_outline : NULL,
        .other_count = setting->has_baseline ? setting->baseline_count : 0,
    };
    for (size_t i = 0; i < run->result.finding_count && picture.mark_count < PICTURE_MARKS; i++) {
        const ovp_trace_finding *finding = &run->result.findings[i];
        if (finding->notable)
            picture.marks[picture.mark_count++] = (picture_mark){finding->at_s, finding->text};
    }
    qsort(picture.marks, picture.mark_count, sizeof picture.marks[0], by_time);
    picture_terminal_trace(setting->call->out, &picture, command_columns(), 16, picture_utf8());
}
