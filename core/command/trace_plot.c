/* trace_plot.c: --plot. */
#include "command/trace.h"
#include "picture/picture.h"

#include <math.h>

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
    picture_terminal_trace(setting->call->out, &picture, command_columns(), 16, picture_utf8());
}
