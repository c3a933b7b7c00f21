/* Inference against brute force by the stated rule, and against published or exactly computed figures. */
#include "../seeded.h"
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void random_row(double row[], size_t count, size_t peak)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        row[i] = uniform() * (i == peak ? 8 : 1);
        sum += row[i];
    }
    for (size_t i = 0; i < count; i++) {
        row[i] /= sum;
    }
}

/* ---- the rule once more, written from its words ----------------------------------------------------- */

static double rule(const diagnosis_question *q, const int members[], size_t size, size_t outcome)
{
    const size_t k = q->outcome_count;
    double p[DIAGNOSIS_OUTCOMES] = {0};
    if (size == 0) {
        memcpy(p, q->defaults, sizeof(p));
    } else if (size == 1) {
        memcpy(p, (q->faults >> members[0] & 1) ? q->rows[members[0]] : q->defaults, sizeof(p));
    } else {
        double normal = q->defaults[q->normal], raised[DIAGNOSIS_OUTCOMES] = {0}, all = 0;
        for (size_t i = 0; i < size; i++) {
            const double *row = (q->faults >> members[i] & 1) ? q->rows[members[i]] : q->defaults;
            normal *= fmin(1, row[q->normal] / q->defaults[q->normal]);
            for (size_t o = 0; o < k; o++) {
                raised[o] += fmax(0, row[o] - q->defaults[o]);
            }
        }
        for (size_t o = 0; o < k; o++) {
            raised[o] += 0.01 * q->defaults[o];
            all += o == q->normal ? 0 : raised[o];
        }
        for (size_t o = 0; o < k; o++) {
            p[o] = o == q->normal ? normal : (1 - normal) * raised[o] / all;
        }
    }
    return (1 - q->error) * p[outcome] + q->error * (1 - p[outcome]) / (double)(k - 1);
}

typedef struct brute {
    double healthy, unlisted, share[DIAGNOSIS_FAULTS], present[DIAGNOSIS_FAULTS], total;
    double best[DIAGNOSIS_FAULTS];
    unsigned best_set[DIAGNOSIS_FAULTS];
} brute;

static void brute_force(const diagnosis_prior *prior, const diagnosis_evidence evidence[], size_t count,
                        size_t largest, brute *result)
{
    memset(result, 0, sizeof(*result));
    double prior_sum = 0;
    for (int pass = 0; pass < 2; pass++) {
        for (unsigned set = 0; set < 1U << prior->fault_count; set++) {
            int members[DIAGNOSIS_FAULTS];
            size_t size = 0;
            double weight = 1;
            for (size_t f = 0; f < prior->fault_count; f++) {
                if (set >> f & 1) {
                    members[size++] = (int)f;
                    weight *= prior->odds[f];
                }
            }
            if (size > largest || (size == 0 && pass == 0)) {
                continue;
            }
            if (pass == 0) {
                prior_sum += weight;
                continue;
            }
            weight =
                size == 0
                    ? prior->healthy
                    : weight * (prior->independent ? 1 : (1 - prior->healthy - prior->unlisted) / prior_sum);
            for (size_t q = 0; q < count; q++) {
                weight *=
                    pow(rule(evidence[q].question, members, size, evidence[q].outcome), evidence[q].weight);
            }
            result->total += weight;
            result->healthy += size == 0 ? weight : 0;
            for (size_t i = 0; i < size; i++) {
                result->share[members[i]] += weight / (double)size;
                result->present[members[i]] += weight;
                if (weight > result->best[members[i]]) {
                    result->best[members[i]] = weight;
                    result->best_set[members[i]] = set;
                }
            }
        }
    }
    result->unlisted = prior->unlisted;
    for (size_t q = 0; q < count; q++) {
        result->unlisted *= pow(1 / (double)evidence[q].question->outcome_count, evidence[q].weight);
    }
    result->total += result->unlisted;
}

static void assert_close(double value, double expected, double within)
{
    if (!(fabs(value - expected) <= within)) {
        print_error("%.15g is not %.15g within %g\n", value, expected, within);
        fail();
    }
}

static diagnosis_question questions[24];
static diagnosis_work *work;

static void random_model(size_t faults, size_t count, diagnosis_prior *prior, diagnosis_evidence evidence[])
{
    memset(prior, 0, sizeof(*prior));
    prior->fault_count = faults;
    prior->healthy = uniform() < 0.5 ? 0 : 0.5;
    prior->unlisted = 0.03;
    for (size_t f = 0; f < faults; f++) {
        prior->odds[f] = uniform() < 0.1 ? 0 : uniform() * 0.3;
    }
    for (size_t q = 0; q < count; q++) {
        double row[DIAGNOSIS_OUTCOMES];
        const size_t k = 2 + (size_t)(uniform() * 4);
        random_row(row, k, (size_t)(uniform() * (double)k));
        diagnosis_question_init(&questions[q], k, row, uniform() < 0.5 ? 0.05 : 0.015);
        for (size_t f = 0; f < faults; f++) {
            if (uniform() < 0.7) {
                random_row(row, k, (size_t)(uniform() * (double)k));
                diagnosis_question_row(&questions[q], f, row);
            }
        }
        evidence[q] =
            (diagnosis_evidence){&questions[q], (size_t)(uniform() * (double)k), uniform() < 0.3 ? 0.3 : 1};
    }
}

static void check_against_brute_force(size_t faults, size_t count, size_t largest)
{
    diagnosis_prior prior;
    diagnosis_evidence evidence[24];
    diagnosis_posterior posterior;
    brute expected;
    random_model(faults, count, &prior, evidence);
    brute_force(&prior, evidence, count, largest, &expected);
    diagnosis_infer(&prior, evidence, count, largest, work, &posterior);
    assert_close(posterior.healthy, expected.healthy / expected.total, 1e-12);
    assert_close(posterior.unlisted, expected.unlisted / expected.total, 1e-12);
    assert_close(posterior.log_evidence, log(expected.total), 1e-11);
    double sum = posterior.healthy + posterior.unlisted;
    for (size_t f = 0; f < faults; f++) {
        assert_close(posterior.share[f], expected.share[f] / expected.total, 1e-12);
        assert_close(posterior.present[f], expected.present[f] / expected.total, 1e-12);
        sum += posterior.share[f];
        unsigned set = 1U << f;
        for (size_t i = 0; i < 3; i++) {
            set |= posterior.with[f][i] >= 0 ? 1U << posterior.with[f][i] : 0;
        }
        if (prior.odds[f] > 0) {
            assert_int_equal(set, expected.best_set[f]);
        }
    }
    assert_close(sum, 1, 1e-12);
}

static void test_sets_equal_brute_force(void **state)
{
    (void)state;
    random_state = 20261125;
    for (size_t round = 0; round < 60; round++) {
        check_against_brute_force(7, 6, 1 + round % 4);
        check_against_brute_force(10, 12, 4);
        check_against_brute_force(4, 20, 4);
    }
    check_against_brute_force(12, 0, 4);
    check_against_brute_force(1, 3, 4);
}

/* One answer's row over all outcomes adds to 1 for every set. */
static void test_rows_of_sets_add_to_one(void **state)
{
    (void)state;
    random_state = 7;
    diagnosis_prior prior;
    diagnosis_evidence evidence[24];
    random_model(6, 20, &prior, evidence);
    for (size_t q = 0; q < 20; q++) {
        const size_t sets[][4] = {{0}, {1, 2}, {0, 3, 4}, {1, 2, 4, 5}};
        for (size_t size = 0; size <= 4; size++) {
            double sum = 0;
            for (size_t o = 0; o < questions[q].outcome_count; o++) {
                sum += diagnosis_likelihood(&questions[q], sets[size > 0 ? size - 1 : 0], size, o);
            }
            assert_close(sum, 1, 1e-12);
        }
    }
}

/*
 * Noisy-or network with leak (computed exactly by two methods): independent priors, no misreading, rows of
 * the negative outcome (1 - leak)(1 - q).
 */
static void test_noisy_or_network(void **state)
{
    (void)state;
    const double p[3] = {0.10, 0.05, 0.02}, leak[4] = {0.01, 0.02, 0.005, 0.01};
    const double q[3][4] = {{0.8, 0, 0.3, 0}, {0.2, 0.9, 0, 0}, {0, 0.5, 0.7, 0.6}};
    diagnosis_prior prior = {.fault_count = 3, .healthy = 1, .independent = true};
    double none = 1;
    for (size_t f = 0; f < 3; f++) {
        prior.odds[f] = p[f] / (1 - p[f]);
        none *= 1 - p[f];
    }
    for (size_t j = 0; j < 4; j++) {
        diagnosis_question_init(&questions[j], 2, (const double[]){1 - leak[j], leak[j]}, 0);
        for (size_t f = 0; f < 3; f++) {
            const double negative = (1 - leak[j]) * (1 - q[f][j]);
            diagnosis_question_row(&questions[j], f, (const double[]){negative, 1 - negative});
        }
    }
    static const struct {
        size_t count, question[4], outcome[4];
        double evidence, marginal[3];
    } cases[] = {
        {3, {0, 1, 3}, {1, 1, 0}, 0.013962403, {0.393939223, 0.857719570, 0.031833695}},
        {4, {0, 1, 2, 3}, {1, 1, 1, 0}, 0.001950314, {0.940795953, 0.632269129, 0.175456952}},
        {3, {0, 1, 2}, {0, 0, 1}, 0.015577643, {0.362845961, 0.004192872, 0.384527082}},
    };
    for (size_t c = 0; c < 3; c++) {
        diagnosis_evidence evidence[4];
        for (size_t i = 0; i < cases[c].count; i++) {
            evidence[i] = (diagnosis_evidence){&questions[cases[c].question[i]], cases[c].outcome[i], 1};
        }
        diagnosis_posterior posterior;
        diagnosis_infer(&prior, evidence, cases[c].count, 3, work, &posterior);
        assert_close(exp(posterior.log_evidence) * none, cases[c].evidence, 5e-10);
        for (size_t f = 0; f < 3; f++) {
            assert_close(posterior.present[f], cases[c].marginal[f], 5e-10);
        }
    }
}

/* Forty faults of 0.02: what sets of more than three and four hold (Poisson-binomial, computed exactly). */
static void test_mass_not_covered(void **state)
{
    (void)state;
    diagnosis_prior prior = {.fault_count = 40, .healthy = 1, .independent = true};
    for (size_t f = 0; f < 40; f++) {
        prior.odds[f] = 0.02 / 0.98;
    }
    double not_covered;
    diagnosis_set_prior(&prior, 2, &not_covered);
    assert_close(not_covered, 0.082393, 5e-7);
    diagnosis_set_prior(&prior, 3, &not_covered);
    assert_close(not_covered, 0.014867, 5e-7);
}

/* Sixty-four answers that all contradict one another still give numbers that add to 1. */
static void test_extreme_evidence(void **state)
{
    (void)state;
    diagnosis_prior prior = {.fault_count = 64, .healthy = 0.5, .unlisted = 0.03};
    static diagnosis_question sharp[2];
    diagnosis_question_init(&sharp[0], 2, (const double[]){0.999, 0.001}, 1e-4);
    diagnosis_question_init(&sharp[1], 2, (const double[]){0.999, 0.001}, 1e-4);
    for (size_t f = 0; f < 64; f++) {
        prior.odds[f] = 0.01;
        diagnosis_question_row(&sharp[f % 2], f, (const double[]){0.001, 0.999});
    }
    diagnosis_evidence evidence[64];
    for (size_t i = 0; i < 64; i++) {
        evidence[i] = (diagnosis_evidence){&sharp[i % 2], 1, 1};
    }
    diagnosis_posterior posterior;
    diagnosis_infer(&prior, evidence, 64, 4, work, &posterior);
    double sum = posterior.healthy + posterior.unlisted;
    for (size_t f = 0; f < 64; f++) {
        assert_true(posterior.share[f] >= 0);
        sum += posterior.share[f];
    }
    assert_close(sum, 1, 1e-9);
}

static int set_up(void **state)
{
    (void)state;
    work = malloc(sizeof(*work));
    return work == NULL;
}

static int tear_down(void **state)
{
    (void)state;
    free(work);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sets_equal_brute_force), cmocka_unit_test(test_rows_of_sets_add_to_one),
        cmocka_unit_test(test_noisy_or_network),       cmocka_unit_test(test_mass_not_covered),
        cmocka_unit_test(test_extreme_evidence),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
