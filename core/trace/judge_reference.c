/* judge_reference.c: what a good oven would have shown: its own good run, else the model of its description.
 */
#include "judge_internal.h"

#include <math.h>

double judge_rated_W(const ovp_trace_judge *judge)
{
    return judge->expectation.model
               ? ovp_thermal_full_power(judge->expectation.model, LIMIT(working_C), NULL, NULL)
               : (double)NAN;
}

double judge_heating_rate(const ovp_thermal_parameters *model)
{
    if (model == NULL || !(model->element_J_per_K + model->chamber_J_per_K > 0))
        return NAN;
    double watts = ovp_thermal_full_power(model, LIMIT(working_C), NULL, NULL);
    return watts > 0 ? LIMIT(jump_rate_share) * watts / (model->element_J_per_K + model->chamber_J_per_K)
                     : (double)NAN;
}

double judge_rated_ohm(const ovp_trace_judge *judge)
{
    double current_A = 0, volts_V = 0;
    if (!judge->expectation.model) {
        return NAN;
    }
    ovp_thermal_full_power(judge->expectation.model, LIMIT(working_C), &current_A, &volts_V);
    return current_A > 0 ? volts_V / current_A : (double)NAN;
}

/* Linear between points; NAN outside. */
double judge_series_at(const double x[], const double y[], size_t count, double at)
{
    for (size_t i = 1; i < count; i++) {
        if (at >= x[i - 1] && at <= x[i]) {
            double span = x[i] - x[i - 1];
            return span > 0 ? y[i - 1] + (y[i] - y[i - 1]) * (at - x[i - 1]) / span : y[i];
        }
    }
    return NAN;
}

double judge_reference_at(const judge_reference *reference, double time_s)
{
    return judge_series_at(reference->time_s, reference->temperature_C, reference->count, time_s);
}

double judge_series_passes(const double x[], const double y[], size_t count, double level)
{
    for (size_t i = 1; i < count; i++) {
        double a = y[i - 1], b = y[i];
        if (a <= level && b >= level && b > a) {
            return x[i - 1] + (x[i] - x[i - 1]) * (level - a) / (b - a);
        }
    }
    return NAN;
}

double judge_reference_time(const judge_reference *reference, double temperature_C)
{
    return judge_series_passes(reference->time_s, reference->temperature_C, reference->count, temperature_C);
}

double judge_climb_time(const judge_run *run, double temperature_C)
{
    double before_s = 0, before_C = run->start_C;
    for (size_t i = run->zero; i < run->climb_end; i++) {
        double time_s = run->points[i].time_s - run->time_zero_s, here_C = run->points[i].temperature_C;
        if (here_C >= temperature_C && here_C > before_C) {
            return before_C >= temperature_C
                       ? before_s
                       : before_s + (time_s - before_s) * (temperature_C - before_C) / (here_C - before_C);
        }
        before_s = time_s;
        before_C = here_C;
    }
    return NAN;
}

double judge_climb_at(const judge_run *run, double time_s)
{
    double before_s = 0, before_C = run->start_C;
    for (size_t i = run->zero; i < run->climb_end; i++) {
        double here_s = run->points[i].time_s - run->time_zero_s, here_C = run->points[i].temperature_C;
        if (here_s >= time_s) {
            return here_s > before_s
                       ? before_C + (here_C - before_C) * (time_s - before_s) / (here_s - before_s)
                       : here_C;
        }
        before_s = here_s;
        before_C = here_C;
    }
    return NAN;
}

static void from_baseline(judge_reference *reference, const ovp_trace_result *baseline)
{
    reference->count = baseline->curve_count;
    for (size_t i = 0; i < baseline->curve_count; i++) {
        reference->time_s[i] = baseline->curve_s[i];
        reference->temperature_C[i] = baseline->curve_C[i];
    }
    reference->dead_time_s = baseline->dead_time_s;
    reference->known = reference->count >= 3;
}

static void from_model(ovp_trace_judge *judge)
{
    judge_run *run = &judge->run;
    judge_reference *reference = &run->reference;
    ovp_thermal_parameters model = *judge->expectation.model;
    model.start_C = run->start_C;
    model.ambient_C =
        !isnan(judge->expectation.ambient_C) ? judge->expectation.ambient_C : fmin(run->start_C, 40);
    double last_s = run->points[run->climb_end - 1].time_s - run->time_zero_s;
    double span_s = fmin(fmax(2 * last_s, 900), 8 * 3600.0);
    for (size_t i = 0; i < OVP_TRACE_CURVE; i++) {
        double share = (double)i / (OVP_TRACE_CURVE - 1);
        reference->time_s[i] = span_s * share * share;
    }
    ovp_thermal_curve(&model, reference->time_s, OVP_TRACE_CURVE, reference->temperature_C);
    reference->count = OVP_TRACE_CURVE;
    reference->known = reference->from_model = true;
    reference->dead_time_s = judge_reference_time(reference, run->start_C + LIMIT(rise_C));
}

void judge_reference_make(ovp_trace_judge *judge)
{
    judge_run *run = &judge->run;
    run->reference.dead_time_s = NAN;
    if (judge->expectation.baseline) {
        from_baseline(&run->reference, judge->expectation.baseline);
    }
    bool upright = run->start_C > -40 && run->start_C < 60;
    if (!run->reference.known && judge->expectation.model && run->zero < run->count && upright) {
        size_t keep = run->climb_end;
        if (run->climb_end <= run->zero) {
            run->climb_end = run->zero + 1;
        }
        from_model(judge);
        run->climb_end = keep;
    }
}
