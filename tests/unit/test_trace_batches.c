/* Samples one by one and many at once: the judge must come to the same result to the last bit. */
#include "../seeded.h"
#include "trace/judge_internal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    SAMPLES = 20000,
    ROUNDS = 60,
    OUTLINE = 512,
};

static ovp_trace_sample samples[SAMPLES];

static bool once_in(double times)
{
    return uniform() * times < 1;
}

static void make_trouble(ovp_trace_sample *sample)
{
    if (once_in(1500))
        sample->temperature_C += once_in(2) ? 40 : -40;
    if (once_in(2500))
        sample->temperature_C = once_in(2) ? 1372 : -200;
    if (once_in(700)) {
        sample->temperature_C = NAN;
        sample->cell = (ovp_trace_cell)(1 + (int)(5 * uniform()));
    }
}

static double make_output(unsigned kind, double read_C)
{
    if (once_in(5000))
        return 250;
    if (once_in(200))
        return NAN;
    if (kind % 7 == 0)
        return once_in(9) ? 0 : 100;
    return fmin(100, 0.2 * (1150 - read_C));
}

/* What a log may hold at any sample: pauses, a clock set back, jumps, words, the ends of an input, meters. */
static void make_sample(unsigned kind, double *time_s, double *base_C, ovp_trace_sample *sample)
{
    static const double steps_s[] = {1, 0.1, 2, 29.9, 30, 0.3333333333333333};
    double step_s = steps_s[kind % 6] * (kind % 5 == 0 && once_in(3) ? 1 + uniform() : 1);
    *time_s += once_in(4000)   ? -3600 * uniform()
               : once_in(3000) ? 400 * uniform()
               : once_in(900)  ? 0
                               : step_s;
    *base_C += 0.05 * step_s;
    *base_C = *base_C > 1100 ? 20 : *base_C;
    double scatter_C = (kind % 3 == 0 ? 0.2 : 3.0) * (uniform() - 0.5);
    double read_C = kind % 2 == 0 ? round(10 * (*base_C + scatter_C)) / 10 : *base_C + scatter_C;
    *sample = (ovp_trace_sample){*time_s, read_C, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_NUMBER};
    sample->setpoint_C = kind % 4 == 1 ? NAN : 950;
    if (kind % 4 != 2)
        sample->output_percent = make_output(kind, read_C);
    if (kind % 8 == 3) {
        sample->element_A = once_in(50) ? NAN : 15 + uniform();
        sample->supply_V = 240 - uniform();
    }
    if (kind % 3 == 1)
        sample->cold_junction_C = once_in(100) ? NAN : 30 + uniform();
    make_trouble(sample);
}

static void test_batches_agree(void **unused)
{
    (void)unused;
    static ovp_trace_result single, many;
    static ovp_trace_sample outlines[2][OUTLINE];
    const ovp_trace_expectation expectation = {.ambient_C = NAN};
    for (unsigned kind = 0; kind < ROUNDS; kind++) {
        double time_s = 0, base_C = 20;
        size_t count = 100 + (size_t)(uniform() * (SAMPLES - 100)), taken = 0;
        random_state = 1 + kind;
        for (size_t i = 0; i < count; i++)
            make_sample(kind, &time_s, &base_C, &samples[i]);
        ovp_trace_judge *one = ovp_trace_judge_init(malloc(ovp_trace_judge_size()), &expectation);
        ovp_trace_judge *all = ovp_trace_judge_init(malloc(ovp_trace_judge_size()), &expectation);
        for (size_t i = 0; i < count; i++)
            ovp_trace_judge_sample(one, &samples[i]);
        while (taken < count) {
            size_t size = 1 + (size_t)(300 * uniform());
            size = size < count - taken ? size : count - taken;
            ovp_trace_judge_samples(all, &samples[taken], size);
            taken += size;
        }
        assert_memory_equal(&one->counters, &all->counters, sizeof one->counters);
        assert_int_equal(one->block_count, all->block_count);
        size_t points = ovp_trace_judge_outline(one, outlines[0], OUTLINE);
        assert_int_equal(ovp_trace_judge_outline(all, outlines[1], OUTLINE), points);
        assert_memory_equal(outlines[0], outlines[1], points * sizeof outlines[0][0]);
        ovp_trace_judge_result(one, &single);
        ovp_trace_judge_result(all, &many);
        assert_true(single.finding_count > 0);
        assert_memory_equal(&single, &many, sizeof single);
        free(one);
        free(all);
    }
}

int main(void)
{
    random_state = 1;
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_batches_agree)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
