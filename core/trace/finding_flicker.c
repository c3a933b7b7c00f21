/* finding_flicker.c: current that jumps about while the call for heat is constant: a contact that comes and
 * goes. */
#include "judge_internal.h"

#include <math.h>

/* Is heat called for in full, and not just since this sample? */
static bool call_is_constant(const judge_counters *c, const ovp_trace_sample *sample)
{
    if (!isnan(sample->output_percent)) {
        return sample->output_percent >= LIMIT(output_full_percent) &&
               fabs(sample->output_percent - c->last_output) < 0.5;
    }
    return sample->temperature_C < sample->setpoint_C - LIMIT(capped_below_C);
}

/* Where volts are logged the line's own movement is taken out. */
static double conductance(const ovp_trace_sample *sample)
{
    return sample->supply_V > 0 ? sample->element_A / sample->supply_V : sample->element_A;
}

void judge_flicker_take(judge_counters *c, const ovp_trace_sample *sample, double time_s)
{
    judge_flicker *flicker = &c->flicker;
    if (!(sample->element_A > LIMIT(current_on_A)) || !call_is_constant(c, sample)) {
        flicker->has_last = false;
        return;
    }
    double here = conductance(sample);
    bool follows = flicker->has_last && time_s - flicker->last_s <= LIMIT(gap_intervals) * c->interval_s &&
                   (sample->supply_V > 0) == flicker->with_volts;
    if (follows) {
        double code_A = fabs(sample->element_A - flicker->last_A);
        if (code_A > 1e-6) {
            flicker->resolution_A = flicker->resolution_A > 0 ? fmin(flicker->resolution_A, code_A) : code_A;
        }
        /* One step is a part that opened or a line that sagged; it must not count as many small ones. */
        double step = fmin(fabs(log(here / flicker->last)), LIMIT(flicker_widest));
        flicker->sum += step * step;
        flicker->sum_A += sample->element_A;
        flicker->pairs++;
        if (step > LIMIT(flicker_step)) {
            flicker->first_s = flicker->steps++ ? flicker->first_s : time_s;
        }
    }
    flicker->has_last = true;
    flicker->with_volts = sample->supply_V > 0;
    flicker->last = here;
    flicker->last_A = sample->element_A;
    flicker->last_s = time_s;
}

void judge_findings_flicker(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_flicker *flicker = &judge->counters.flicker;
    if ((double)flicker->pairs < LIMIT(flicker_pairs)) {
        return;
    }
    double pairs = (double)flicker->pairs, spread = sqrt(flicker->sum / pairs / 2);
    /* Of a standard deviation from as many pairs, half of which share a sample. */
    double spread_U = 2 * 100 * spread / sqrt(pairs);
    double coarse = LIMIT(flicker_resolutions) * flicker->resolution_A * pairs / flicker->sum_A;
    /* A display that only ever moves in large steps is not known to be coarse when all of it flickers. */
    double least = fmax(LIMIT(flicker_spread), fmin(coarse, LIMIT(flicker_step)));
    if (spread < least || (double)flicker->steps < LIMIT(flicker_steps)) {
        judge_find(result, "flicker", "steady", NAN, 100 * spread);
        judge_sure(result, NAN, spread_U);
        return;
    }
    judge_say(result, "flicker", "flickers", flicker->first_s, 100 * spread,
              "the current flickers by %s %% while heat is called for without a pause, as a loose joint does",
              judge_fixed(100 * spread, 1).text);
    judge_sure(result, NAN, spread_U);
}
