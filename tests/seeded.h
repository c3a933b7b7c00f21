/* seeded.h: one sequence of numbers for tests, the same on every machine (xorshift64*: S. Vigna, An
 * experimental exploration of Marsaglia's xorshift generators, scrambled, 2016). Set random_state before use;
 * never 0. */
#ifndef OVENPROOF_TESTS_SEEDED_H
#define OVENPROOF_TESTS_SEEDED_H

#include <stdint.h>

static uint64_t random_state;

/* 0 <= uniform < 1 */
static double uniform(void)
{
    random_state ^= random_state >> 12;
    random_state ^= random_state << 25;
    random_state ^= random_state >> 27;
    return (double)(random_state * UINT64_C(0x2545F4914F6CDD1D) >> 11) / 9007199254740992.0;
}

#endif
