/* Random numbers by counter: the same on every machine, whatever is drawn before. */
#include "thermal/thermal_internal.h"

/* The finaliser of SplitMix64 (Steele, Lea and Flood 2014): a bijection that mixes well. */
static uint64_t mix(uint64_t value)
{
    value += 0x9E3779B97F4A7C15U;
    value = (value ^ (value >> 30)) * 0xBF58476D1CE4E5B9U;
    value = (value ^ (value >> 27)) * 0x94D049BB133111EBU;
    return value ^ (value >> 31);
}

double thermal_uniform(uint64_t seed, uint64_t stream, uint64_t counter)
{
    const uint64_t bits = mix(mix(mix(seed) ^ stream) ^ counter);

    return (double)(bits >> 11) * 0x1p-53;
}

/* The sum of twelve: no library function, so the same bits everywhere. */
double thermal_normal(uint64_t seed, uint64_t stream, uint64_t counter)
{
    double sum = -6;

    for (uint64_t i = 0; i < 12; ++i) {
        sum += thermal_uniform(seed, stream * 16 + i + 1000, counter);
    }
    return sum;
}
