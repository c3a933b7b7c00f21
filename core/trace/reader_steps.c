#include "reader_internal.h"

#include <math.h>

/* The bin is the exponent and the first six bits behind it, so no logarithm is taken. */
static size_t bin_of(double step)
{
    int exponent = 0;
    double mantissa = frexp(step, &exponent); /* 0.5 <= mantissa < 1 */
    long octave = (long)exponent + 19;
    if (octave < 0)
        return 0;
    if (octave >= STEP_OCTAVES)
        return STEP_BINS - 1;
    return (size_t)octave * STEP_BINS_OCTAVE + (size_t)((mantissa - 0.5) * 2.0 * STEP_BINS_OCTAVE);
}

void trace_steps_add(steps *all, double step)
{
    if (!(step > 0.0))
        return;
    size_t bin = step == all->last ? all->last_bin : bin_of(step);
    all->last = step;
    all->last_bin = bin;
    if (all->count[bin]++ == 0)
        all->first[bin] = step;
    all->total++;
}

double trace_steps_median(const steps *all)
{
    uint64_t passed = 0;
    for (size_t bin = 0; bin < STEP_BINS; bin++) {
        passed += all->count[bin];
        if (passed > 0 && passed * 2 >= all->total)
            return all->first[bin];
    }
    return NAN;
}

uint64_t trace_steps_longer(const steps *all, double bound)
{
    uint64_t count = 0;
    for (size_t bin = 0; bin < STEP_BINS; bin++)
        if (all->count[bin] > 0 && all->first[bin] > bound)
            count += all->count[bin];
    return count;
}
