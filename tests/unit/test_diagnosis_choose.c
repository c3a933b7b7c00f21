/*
 * The choice of the next action against exactly computed figures, and against the optimum that dynamic
 * programming finds on random models.
 */
#include "../closed_loop/score.h"
#include "../seeded.h"
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    FAULTS = 7,
    TESTS = 6,
    RESULTS = 729, /* 3 to the power of TESTS: not done, no, yes */
    MASKS = 1 << FAULTS,
    MODELS = 200,
};

static void assert_close(double value, double expected, double within)
{
    if (!(fabs(value - expected) <= within)) {
        print_error("%.12g is not %.12g within %g\n", value, expected, within);
        fail();
    }
}

/* ---- a model with yes/no tests, its optimum and the cost of a policy --------------------------------------
 */

typedef struct model {
    size_t faults, tests;
    double prior[FAULTS], repair[FAULTS];
    double rows[TESTS][FAULTS * 2]; /* [fault][no, yes] */
    diagnosis_test test[TESTS];
    diagnosis_problem problem;
    size_t power[TESTS];
} model;

static void finish(model *m)
{
    for (size_t k = 0, power = 1; k < m->tests; k++, power *= 3) {
        m->test[k].outcomes = 2;
        m->test[k].p = m->rows[k];
        m->power[k] = power;
    }
    m->problem = (diagnosis_problem){m->faults, m->repair, m->tests, m->test};
}

/* Unnormalised weights of the faults left after the results so far. */
static double weights_at(const model *m, size_t mask, size_t results, double weights[])
{
    double total = 0;
    for (size_t f = 0; f < m->faults; f++) {
        weights[f] = (mask >> f & 1) != 0 ? m->prior[f] : 0;
        size_t rest = results;
        for (size_t k = 0; k < m->tests; k++, rest /= 3) {
            weights[f] *= rest % 3 == 0 ? 1 : m->rows[k][2 * f + rest % 3 - 1];
        }
        total += weights[f];
    }
    return total;
}

static double values[MASKS * RESULTS];

/* Expected cost from here on, times the chance of being here; steps 0: the optimum, else the policy. */
static double cost_from(const model *m, size_t mask, size_t results, int steps)
{
    double *known = &values[mask * RESULTS + results];
    if (*known >= 0) {
        return *known;
    }
    double weights[FAULTS], best = INFINITY;
    const double total = weights_at(m, mask, results, weights);
    uint64_t open = 0;
    size_t rest = results;
    for (size_t k = 0; k < m->tests; k++, rest /= 3) {
        open |= rest % 3 == 0 ? UINT64_C(1) << k : 0;
    }
    diagnosis_choice choice = {0};
    if (steps > 0) {
        choice = diagnosis_choose(&m->problem, weights, open, steps, NULL);
    }
    for (size_t f = 0; f < m->faults; f++) {
        if ((mask >> f & 1) == 0 || (steps > 0 && (choice.is_test || choice.index != f))) {
            continue;
        }
        const size_t left = mask & ~((size_t)1 << f);
        best = fmin(best, m->repair[f] * total + (left != 0 ? cost_from(m, left, results, steps) : 0));
    }
    for (size_t k = 0; k < m->tests; k++) {
        if ((open >> k & 1) == 0 || (steps > 0 && (!choice.is_test || choice.index != k))) {
            continue;
        }
        best = fmin(best, m->test[k].cost * total + cost_from(m, mask, results + m->power[k], steps) +
                              cost_from(m, mask, results + 2 * m->power[k], steps));
    }
    return *known = best;
}

static double expected_cost(const model *m, int steps)
{
    for (size_t i = 0; i < MASKS * RESULTS; i++) {
        values[i] = -1;
    }
    return cost_from(m, ((size_t)1 << m->faults) - 1, 0, steps);
}

/* ---- figures computed exactly
 * -------------------------------------------------------------------------------- */

static void four_faults(model *m)
{
    *m = (model){.faults = 4,
                 .tests = 3,
                 .prior = {0.40, 0.25, 0.20, 0.15},
                 .repair = {5, 10, 8, 20},
                 .test = {{.cost = 1}, {.cost = 2}, {.cost = 3}}};
    const double yes[3][4] = {{0.95, 0.05, 0.05, 0.05}, {0.10, 0.90, 0.90, 0.10}, {0.02, 0.98, 0.02, 0.02}};
    for (size_t k = 0; k < 3; k++) {
        for (size_t f = 0; f < 4; f++) {
            m->rows[k][2 * f] = 1 - yes[k][f];
            m->rows[k][2 * f + 1] = yes[k][f];
        }
    }
    finish(m);
}

/* Four faults, three tests: every figure computed exactly. */
static void test_four_faults(void **state)
{
    (void)state;
    model m;
    four_faults(&m);
    unsigned char order[DIAGNOSIS_HYPOTHESES];
    diagnosis_order_init(order, 4);
    const diagnosis_outlook now = diagnosis_look(m.prior, m.repair, 4, order);
    assert_close(now.repairs, 16.8, 1e-12);
    assert_close(now.entropy, 1.903702, 5e-7);
    assert_close(diagnosis_kappa(&m.problem, m.prior, 7), 1.449058, 5e-7);
    double value[3];
    const diagnosis_choice first = diagnosis_choose(&m.problem, m.prior, 7, 1, value);
    assert_true(first.is_test && first.index == 0);
    assert_close(value[0], 11.858574, 5e-7);
    assert_close(value[1], 13.095815, 5e-7);
    assert_close(value[2], 13.865526, 5e-7);
    const diagnosis_choice repair = diagnosis_choose(&m.problem, m.prior, 0, 1, NULL);
    assert_true(!repair.is_test && repair.index == 0);
    assert_close(expected_cost(&m, 0), 14.10775, 1e-9);
    assert_close(expected_cost(&m, 1), 14.126975, 1e-9);
    assert_close(expected_cost(&m, 2), 14.126975, 1e-9);
    double after[4], total = 0;
    for (size_t f = 0; f < 4; f++) {
        after[f] = m.prior[f] * m.rows[0][2 * f + 1];
        total += after[f];
    }
    assert_close(after[0] / total, 0.926829, 5e-7);
    assert_close(after[3] / total, 0.018293, 5e-7);
}

/* Repairs by share over cost: order 3, 1, 0, 2 and 35.7, the best of all permutations. */
static void test_repairs_by_share_over_cost(void **state)
{
    (void)state;
    const diagnosis_action actions[4] = {{0.35, 30, 0}, {0.30, 12, 0}, {0.20, 20, 0}, {0.15, 5, 0}};
    const double access[1] = {0};
    unsigned char order[4];
    assert_close(diagnosis_order_repairs(actions, 4, access, 1, order), 35.7, 1e-12);
    assert_memory_equal(order, ((unsigned char[]){3, 1, 0, 2}), 4);
    double weights[4], repair[4];
    for (size_t i = 0; i < 4; i++) {
        weights[i] = actions[i].p;
        repair[i] = actions[i].cost;
    }
    diagnosis_order_init(order, 4);
    assert_close(diagnosis_look(weights, repair, 4, order).repairs, 35.7, 1e-12);
}

/* Actions 0 and 2 lie behind a cover (exhaustive search). */
static void test_repairs_behind_a_cover(void **state)
{
    (void)state;
    const diagnosis_action actions[4] = {{0.35, 6, 1}, {0.30, 8, 0}, {0.20, 4, 1}, {0.15, 5, 0}};
    static const struct {
        double access, cost;
        unsigned char order[4];
    } cases[] = {{5, 17.85, {1, 0, 2, 3}}, {10, 21.1, {1, 3, 0, 2}}, {15, 23.85, {1, 3, 0, 2}}};
    for (size_t i = 0; i < 3; i++) {
        unsigned char order[4];
        const double access[2] = {0, cases[i].access};
        assert_close(diagnosis_order_repairs(actions, 4, access, 2, order), cases[i].cost, 1e-12);
        assert_memory_equal(order, cases[i].order, 4);
    }
}

/*
 * Jensen and Nielsen, Bayesian Networks and Decision Graphs, exercise: program .80, virus .15, hardware .05;
 * reboot 1, virus tool 2, reformat 25, buy 500 (answer computed).
 */
static void test_published_exercise(void **state)
{
    (void)state;
    const double weights[3] = {0.80, 0.15, 0.05}, costs[4] = {1, 2, 25, 500};
    const double works[4 * 3] = {1, 0, 0, 0, 0.95, 0, 0.99, 0.99, 0, 1, 1, 1};
    unsigned char order[4];
    assert_close(diagnosis_order_actions(weights, 3, works, costs, 4, order), 27.875, 1e-12);
    assert_memory_equal(order, ((unsigned char[]){0, 1, 2, 3}), 4);
    assert_close(diagnosis_sequence_cost(weights, 3, works, costs, (const unsigned char[]){1, 0, 2, 3}, 4),
                 29.3325, 1e-12);
    assert_close(diagnosis_sequence_cost(weights, 3, works, costs, (const unsigned char[]){0, 1, 3}, 3),
                 30.15, 1e-12);
}

/* Ten forecasts (computed exactly). */
static void test_scores_of_forecasts(void **state)
{
    (void)state;
    const double forecast[10] = {0.9, 0.9, 0.9, 0.6, 0.6, 0.2, 0.2, 0.2, 0.2, 0.05};
    const int came[10] = {1, 1, 0, 1, 0, 0, 1, 0, 0, 0};
    const score s = score_of(forecast, came, 10);
    assert_close(s.brier, 0.21125, 1e-12);
    assert_close(s.log, 0.627058434, 5e-10);
    assert_close(s.reliability, 0.019583333, 5e-10);
    assert_close(s.resolution, 0.048333333, 5e-10);
    assert_close(s.uncertainty, 0.24, 1e-12);
    assert_close(s.brier, s.reliability - s.resolution + s.uncertainty, 1e-12);
    assert_close(s.calibration_error, 0.115, 1e-12);
}

/* ---- random models
 * ---------------------------------------------------------------------------------------------- */

/*
 * The generator: shares -log(u) scaled to 1; repairs cost 2 to 20; tests cost 0.5 to 3; each fault answers
 * each test yes or no with equal chance, 5 % of the answers are wrong.
 */
static void random_model(model *m)
{
    static const double error = 0.05;
    *m = (model){.faults = FAULTS, .tests = TESTS};
    double sum = 0;
    for (size_t f = 0; f < FAULTS; f++) {
        m->prior[f] = -log(uniform() + 1e-9);
        sum += m->prior[f];
        m->repair[f] = 2 + 18 * uniform();
    }
    for (size_t f = 0; f < FAULTS; f++) {
        m->prior[f] /= sum;
    }
    for (size_t k = 0; k < TESTS; k++) {
        m->test[k].cost = 0.5 + 2.5 * uniform();
        for (size_t f = 0; f < FAULTS; f++) {
            const bool yes = uniform() < 0.5;
            m->rows[k][2 * f] = yes ? error : 1 - error;
            m->rows[k][2 * f + 1] = yes ? 1 - error : error;
        }
    }
    finish(m);
}

static void compare(size_t models, int steps, double mean_at_most, double worst_at_most)
{
    double sum = 0, worst = 0;
    random_state = 20261125;
    for (size_t i = 0; i < models; i++) {
        model m;
        random_model(&m);
        const double ratio = expected_cost(&m, steps) / expected_cost(&m, 0);
        assert_true(ratio >= 1 - 1e-12);
        sum += ratio;
        worst = fmax(worst, ratio);
    }
    print_message(
        "%zu random models of %d faults and %d tests, %d step(s): mean %.4f, worst %.4f of the optimum\n",
        models, (int)FAULTS, (int)TESTS, steps, sum / (double)models, worst);
    assert_true(sum / (double)models <= mean_at_most);
    assert_true(worst <= worst_at_most);
}

static void test_one_step_near_the_optimum(void **state)
{
    (void)state;
    compare(MODELS, 1, 1.010, 1.10);
}

static void test_two_steps_near_the_optimum(void **state)
{
    (void)state;
    compare(MODELS, 2, 1.005, 1.06);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_four_faults),
        cmocka_unit_test(test_repairs_by_share_over_cost),
        cmocka_unit_test(test_repairs_behind_a_cover),
        cmocka_unit_test(test_published_exercise),
        cmocka_unit_test(test_scores_of_forecasts),
        cmocka_unit_test(test_one_step_near_the_optimum),
        cmocka_unit_test(test_two_steps_near_the_optimum),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
