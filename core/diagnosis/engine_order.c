/* The order of repairs when there is nothing left to ask. */
#include "diagnosis/diagnosis_internal.h"

#include <string.h>

/* Of one closed place, or of what is in the open: the run of actions with the largest share over cost. */
typedef struct run {
    double p, cost;
    size_t count;
    unsigned char members[DIAGNOSIS_HYPOTHESES];
} run;

/* Actions left in a place by share over cost, as many as raise the ratio, the access paid once. */
static void best_run(const diagnosis_action actions[], size_t count, const bool done[], size_t place,
                     double access, run *best)
{
    run here = {.cost = access};
    bool taken[DIAGNOSIS_HYPOTHESES];
    memcpy(taken, done, count * sizeof(taken[0]));
    best->p = best->cost = 0;
    best->count = 0;
    for (;;) {
        size_t next = count;
        for (size_t i = 0; i < count; i++) {
            if (!taken[i] && actions[i].place == place &&
                (next == count || actions[i].p * actions[next].cost > actions[next].p * actions[i].cost)) {
                next = i;
            }
        }
        if (next == count) {
            return;
        }
        taken[next] = true;
        here.p += actions[next].p;
        here.cost += actions[next].cost;
        here.members[here.count++] = (unsigned char)next;
        if (best->count == 0 || here.p * best->cost > best->p * here.cost) {
            *best = here;
        }
    }
}

double diagnosis_order_repairs(const diagnosis_action actions[], size_t count, const double access[],
                               size_t places, unsigned char order[])
{
    bool done[DIAGNOSIS_HYPOTHESES] = {false}, open[DIAGNOSIS_PLACES] = {false};
    double left = 0, cost = 0;
    for (size_t i = 0; i < count; i++) {
        left += actions[i].p;
    }
    for (size_t placed = 0; placed < count;) {
        run best = {0};
        size_t best_place = 0;
        for (size_t place = 0; place < places; place++) {
            run here;
            best_run(actions, count, done, place, open[place] ? 0 : access[place], &here);
            if (here.count > 0 && (best.count == 0 || here.p * best.cost > best.p * here.cost)) {
                best = here;
                best_place = place;
            }
        }
        cost += open[best_place] ? 0 : access[best_place] * left;
        open[best_place] = true;
        for (size_t i = 0; i < best.count; i++) {
            const size_t action = best.members[i];
            cost += actions[action].cost * left;
            left -= actions[action].p;
            done[action] = true;
            order[placed++] = (unsigned char)action;
        }
    }
    return cost;
}

double diagnosis_sequence_cost(const double weights[], size_t causes, const double *works,
                               const double costs[], const unsigned char order[], size_t count)
{
    double left[DIAGNOSIS_HYPOTHESES], cost = 0;
    memcpy(left, weights, causes * sizeof(left[0]));
    for (size_t i = 0; i < count; i++) {
        double open = 0;
        for (size_t h = 0; h < causes; h++) {
            open += left[h];
            left[h] *= 1 - works[order[i] * causes + h];
        }
        cost += costs[order[i]] * open;
    }
    return cost;
}

double diagnosis_order_actions(const double weights[], size_t causes, const double *works,
                               const double costs[], size_t count, unsigned char order[])
{
    double left[DIAGNOSIS_HYPOTHESES];
    bool done[DIAGNOSIS_HYPOTHESES] = {false};
    memcpy(left, weights, causes * sizeof(left[0]));
    for (size_t placed = 0; placed < count; placed++) {
        size_t best = count;
        double most = -1;
        for (size_t i = 0; i < count; i++) {
            double ends = 0;
            for (size_t h = 0; h < causes; h++) {
                ends += left[h] * works[i * causes + h];
            }
            if (!done[i] && ends / costs[i] > most) {
                most = ends / costs[i];
                best = i;
            }
        }
        done[best] = true;
        order[placed] = (unsigned char)best;
        for (size_t h = 0; h < causes; h++) {
            left[h] *= 1 - works[best * causes + h];
        }
    }
    return diagnosis_sequence_cost(weights, causes, works, costs, order, count);
}
