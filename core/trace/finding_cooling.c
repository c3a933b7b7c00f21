/* finding_cooling.c: cooling: the constant of the fall towards the room while the heat is off. */
#include "judge_internal.h"

#include <math.h>

typedef struct fall {
    const judge_run *run;
    double room_C, least_C; /* read down to so far above the room */
} fall;

static bool log_above_room(const void *context, size_t i, double *x, double *y)
{
    const fall *of = context;
    const double above_C = of->run->points[i].temperature_C - of->room_C;
    *x = of->run->points[i].time_s;
    *y = log(above_C);
    return above_C > of->least_C;
}

/* The stretch without output, past what stored heat still lifts, that falls furthest. */
static double longest_fall(const judge_run *run, size_t *from, size_t *to)
{
    double most_C = 0;
    for (size_t i = 0; i < run->count;) {
        size_t begin = i;
        while (i < run->count && run->points[i].output_high < LIMIT(output_on_percent)) {
            i++;
        }
        size_t late = begin;
        while (late < i && run->points[late].time_s < run->points[begin].time_s + LIMIT(off_wait_s)) {
            late++;
        }
        if (i > late + 1 && run->points[late].temperature_C - run->points[i - 1].temperature_C > most_C) {
            most_C = run->points[late].temperature_C - run->points[i - 1].temperature_C;
            *from = late;
            *to = i;
        }
        i += i == begin;
    }
    return most_C;
}

void judge_findings_cooling(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    const double told_C = judge->expectation.ambient_C;
    const bool told = !isnan(told_C);
    size_t from = 0, to = 0;
    if (!judge->counters.has[CHANNEL_OUTPUT] || run->backwards || (!told && !run->cold_start) ||
        longest_fall(run, &from, &to) < LIMIT(cooling_fall_C)) {
        return;
    }
    fall of = {run, told ? told_C : run->start_C, 0};
    of.least_C = LIMIT(cooling_share) * (run->points[from].temperature_C - of.room_C);
    const judge_line line = judge_line_of(log_above_room, &of, from, to);
    if (line.count < 10 || !(line.slope < 0)) {
        return;
    }
    /* The room may be a degree or two away from what it is taken for. */
    of.room_C += told ? 1 : 2;
    const double moved = judge_line_of(log_above_room, &of, from, to).slope - line.slope;
    judge_find(result, "cooling", "measured", run->points[from].time_s, -3600 * line.slope);
    judge_sure(result, run->points[from].time_s, 2 * 3600 * hypot(line.slope_u, moved / 2));
}
