/* The next action by expected cost of repair with an entropy bound. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>

static const double tie = 1e-9;

void diagnosis_order_init(unsigned char order[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        order[i] = (unsigned char)i;
    }
}

/* Insertion sort, largest share over cost first: the order changes little from one outcome to the next. */
static void sort_order(const double weights[], const double repair[], size_t count, unsigned char order[])
{
    double keys[DIAGNOSIS_HYPOTHESES];
    for (size_t i = 0; i < count; i++) {
        const unsigned char hypothesis = order[i];
        const double key = weights[hypothesis] / repair[hypothesis];
        size_t place = i;
        while (place > 0 && keys[place - 1] < key) {
            keys[place] = keys[place - 1];
            order[place] = order[place - 1];
            place--;
        }
        keys[place] = key;
        order[place] = hypothesis;
    }
}

diagnosis_outlook diagnosis_look(const double weights[], const double repair[], size_t count,
                                 unsigned char order[])
{
    diagnosis_outlook outlook = {0};
    double logs = 0, costs = 0;
    for (size_t i = 0; i < count; i++) {
        if (weights[i] > 0) {
            outlook.p += weights[i];
            logs += weights[i] * log2(weights[i]);
            costs += weights[i] * repair[i];
        }
    }
    if (outlook.p <= 0) {
        return outlook;
    }
    outlook.entropy = fmax(0, log2(outlook.p) - logs / outlook.p);
    outlook.right = costs / outlook.p;
    sort_order(weights, repair, count, order);
    double rest = outlook.p;
    for (size_t i = 0; i < count && rest > 1e-12 * outlook.p; i++) {
        outlook.repairs += repair[order[i]] * rest / outlook.p;
        rest -= weights[order[i]];
    }
    return outlook;
}

double diagnosis_worth(const diagnosis_outlook *outlook, double kappa)
{
    const double bound = outlook->entropy > 0 ? outlook->right + kappa * outlook->entropy : outlook->right;
    return fmin(outlook->repairs, bound);
}

/* Unnormalised weights after an outcome. */
static void after(const diagnosis_problem *problem, const double weights[], size_t test, size_t outcome,
                  double left[])
{
    const diagnosis_test *row = &problem->test[test];
    for (size_t h = 0; h < problem->hypotheses; h++) {
        left[h] = weights[h] * row->p[h * row->outcomes + outcome];
    }
}

double diagnosis_kappa(const diagnosis_problem *problem, const double weights[], uint64_t open)
{
    unsigned char order[DIAGNOSIS_HYPOTHESES];
    diagnosis_order_init(order, problem->hypotheses);
    const diagnosis_outlook now = diagnosis_look(weights, problem->repair, problem->hypotheses, order);
    double kappa = INFINITY;
    for (size_t k = 0; k < problem->tests; k++) {
        if ((open >> k & 1) == 0) {
            continue;
        }
        double gain = now.entropy, left[DIAGNOSIS_HYPOTHESES];
        for (size_t o = 0; o < problem->test[k].outcomes; o++) {
            after(problem, weights, k, o, left);
            const diagnosis_outlook then = diagnosis_look(left, problem->repair, problem->hypotheses, order);
            gain -= then.p / now.p * then.entropy;
        }
        if (gain >= tie) {
            kappa = fmin(kappa, problem->test[k].cost / gain);
        }
    }
    return kappa;
}

static double worth_of(const diagnosis_problem *problem, const double weights[], uint64_t open, double kappa,
                       int steps);

static double value_of_test(const diagnosis_problem *problem, const double weights[], double total,
                            uint64_t open, size_t test, double kappa, int steps)
{
    double value = problem->test[test].cost, left[DIAGNOSIS_HYPOTHESES];
    for (size_t o = 0; o < problem->test[test].outcomes; o++) {
        after(problem, weights, test, o, left);
        double p = 0;
        for (size_t h = 0; h < problem->hypotheses; h++) {
            p += left[h];
        }
        if (p > 0) {
            value += p / total * worth_of(problem, left, open & ~(UINT64_C(1) << test), kappa, steps);
        }
    }
    return value;
}

/* The repair with the largest share over cost, and what follows if it fails. */
static double value_of_repair(const diagnosis_problem *problem, const double weights[], double total,
                              uint64_t open, double kappa, int steps, size_t *index)
{
    double left[DIAGNOSIS_HYPOTHESES];
    *index = 0;
    for (size_t h = 0; h < problem->hypotheses; h++) {
        left[h] = weights[h];
        if (weights[h] * problem->repair[*index] > weights[*index] * problem->repair[h]) {
            *index = h;
        }
    }
    left[*index] = 0;
    const double rest = 1 - weights[*index] / total;
    return problem->repair[*index] + (rest > 1e-12 ? rest * worth_of(problem, left, open, kappa, steps) : 0);
}

/* V after `steps` more actions looked at. */
static double worth_of(const diagnosis_problem *problem, const double weights[], uint64_t open, double kappa,
                       int steps)
{
    unsigned char order[DIAGNOSIS_HYPOTHESES];
    diagnosis_order_init(order, problem->hypotheses);
    const diagnosis_outlook now = diagnosis_look(weights, problem->repair, problem->hypotheses, order);
    double worth = now.p > 0 ? diagnosis_worth(&now, kappa) : 0;
    if (steps == 0 || now.p <= 0) {
        return worth;
    }
    size_t index;
    worth = fmin(worth, value_of_repair(problem, weights, now.p, open, kappa, steps - 1, &index));
    for (size_t k = 0; k < problem->tests; k++) {
        if ((open >> k & 1) != 0) {
            worth = fmin(worth, value_of_test(problem, weights, now.p, open, k, kappa, steps - 1));
        }
    }
    return worth;
}

/* The eight tests with the least one-step values stay open for a second step. */
static uint64_t best_eight(const double values[], size_t count, uint64_t open)
{
    uint64_t best = 0;
    for (size_t n = 0; n < 8; n++) {
        size_t least = count;
        for (size_t k = 0; k < count; k++) {
            if ((open >> k & 1) != 0 && (best >> k & 1) == 0 &&
                (least == count || values[k] < values[least])) {
                least = k;
            }
        }
        best |= least < count ? UINT64_C(1) << least : 0;
    }
    return best;
}

diagnosis_choice diagnosis_choose(const diagnosis_problem *problem, const double weights[], uint64_t open,
                                  int steps, double values[])
{
    double own[64], *value = values != NULL ? values : own, total = 0;
    for (size_t h = 0; h < problem->hypotheses; h++) {
        total += weights[h];
    }
    const double kappa = diagnosis_kappa(problem, weights, open);
    uint64_t looked_at = open;
    if (steps > 1) {
        for (size_t k = 0; k < problem->tests; k++) {
            value[k] = (open >> k & 1) != 0 ? value_of_test(problem, weights, total, open, k, kappa, 0) : NAN;
        }
        looked_at = best_eight(value, problem->tests, open);
    }
    diagnosis_choice choice = {.is_test = false};
    choice.value = value_of_repair(problem, weights, total, looked_at, kappa, steps - 1, &choice.index);
    for (size_t k = 0; k < problem->tests; k++) {
        value[k] = (looked_at >> k & 1) != 0
                       ? value_of_test(problem, weights, total, looked_at, k, kappa, steps - 1)
                       : NAN;
        if (value[k] < choice.value - tie) {
            choice = (diagnosis_choice){true, k, value[k]};
        }
    }
    return choice;
}
