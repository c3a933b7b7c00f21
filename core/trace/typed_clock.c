/* typed_clock.c: how long the record has run, on a computer that may sleep. */
#include "judge_internal.h"
#include "ovenproof/trace_stopwatch.h"

#include <math.h>

void ovp_trace_log_clock_begin(ovp_trace_log_clock *clock, double steady_s, double wall_s, double now_s)
{
    *clock = (ovp_trace_log_clock){steady_s, wall_s, now_s};
}

double ovp_trace_log_clock_look(ovp_trace_log_clock *clock, double steady_s, double wall_s, double *stepped_s)
{
    const double steady = fmax(steady_s - clock->steady_s, 0), wall = wall_s - clock->wall_s;
    *stepped_s = fabs(wall - steady) > LIMIT(typed_sleep_s) ? wall - steady : 0;
    clock->now_s += *stepped_s > 0 ? wall : steady;
    clock->steady_s = steady_s;
    clock->wall_s = wall_s;
    return clock->now_s;
}
