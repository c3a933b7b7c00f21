/*
 * All sets of two, three and four faults, exactly.
 *
 * The weight of a set is a product over the evidence of L(S), and L(S) depends only on those members that
 * have a row for that piece. So with L written as base x one-factors x corrections of two, three and four
 * (the corrections are 1 unless all their members have a row), the weight of a set is a product of table
 * entries, and a leaf costs a few multiplications whatever the count of answers.
 */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>

/* Row of the tables for a pair f < g. */
static size_t row_of(size_t f, size_t g)
{
    return g * (g - 1) / 2 + f;
}

/* L of two members of one piece of evidence, by member number. */
static double two_of(const diagnosis_terms *t, size_t i, size_t j)
{
    return diagnosis_combined(t, t->ratio[i] * t->ratio[j], t->rise[i] + t->rise[j],
                              t->rise_all[i] + t->rise_all[j]);
}

static double three_of(const diagnosis_terms *t, size_t i, size_t j, size_t k)
{
    return diagnosis_combined(t, t->ratio[i] * t->ratio[j] * t->ratio[k],
                              t->rise[i] + t->rise[j] + t->rise[k],
                              t->rise_all[i] + t->rise_all[j] + t->rise_all[k]);
}

static double four_of(const diagnosis_terms *t, size_t i, size_t j, size_t k, size_t l)
{
    return diagnosis_combined(t, t->ratio[i] * t->ratio[j] * (t->ratio[k] * t->ratio[l]),
                              t->rise[i] + t->rise[j] + (t->rise[k] + t->rise[l]),
                              t->rise_all[i] + t->rise_all[j] + (t->rise_all[k] + t->rise_all[l]));
}

static void fill_two(const diagnosis_terms *t, diagnosis_work *work)
{
    for (size_t j = 1; j < t->count; j++) {
        for (size_t i = 0; i < j; i++) {
            work->two[i][j] = work->two[j][i] = two_of(t, i, j);
        }
    }
}

static void set_ones(double table[][DIAGNOSIS_FAULTS], size_t rows)
{
    for (size_t i = 0; i < rows; i++) {
        for (size_t j = 0; j < DIAGNOSIS_FAULTS; j++) {
            table[i][j] = 1;
        }
    }
}

static void correct_pairs(const diagnosis_terms *t, diagnosis_work *work)
{
    for (size_t j = 1; j < t->count; j++) {
        for (size_t i = 0; i < j; i++) {
            const double correction = work->two[i][j] * t->base / (t->first[i] * t->first[j]);
            work->pair[t->member[i]][t->member[j]] *= correction;
            work->pair[t->member[j]][t->member[i]] = work->pair[t->member[i]][t->member[j]];
        }
    }
}

/* Corrections of three: the table row of the two smaller ones, the column of the largest. */
static void correct_triples(const diagnosis_terms *t, diagnosis_work *work)
{
    for (size_t k = 2; k < t->count; k++) {
        for (size_t j = 1; j < k; j++) {
            const double outer = t->first[j] * t->first[k] / (work->two[j][k] * t->base);
            for (size_t i = 0; i < j; i++) {
                const double correction =
                    three_of(t, i, j, k) * t->first[i] * outer / (work->two[i][j] * work->two[i][k]);
                work->triple[row_of(t->member[i], t->member[j])][t->member[k]] *= correction;
            }
        }
    }
}

/* Corrections of four for sets whose smallest member is member i of this piece. */
static void correct_block(const diagnosis_terms *t, size_t i, diagnosis_work *work)
{
    for (size_t k = i + 2; k < t->count; k++) {
        for (size_t j = i + 1; j < k; j++) {
            work->three[j][k] = work->three[k][j] = three_of(t, i, j, k);
        }
    }
    for (size_t j = i + 1; j + 2 < t->count; j++) {
        for (size_t k = j + 1; k + 1 < t->count; k++) {
            double *row = work->block[row_of(t->member[j], t->member[k])];
            const double inner = work->two[i][j] * work->two[i][k] * work->two[j][k] * t->base /
                                 (work->three[j][k] * t->first[i] * t->first[j] * t->first[k]);
            for (size_t l = k + 1; l < t->count; l++) {
                const double above =
                    four_of(t, i, j, k, l) * work->two[i][l] * work->two[j][l] * work->two[k][l];
                const double below =
                    work->three[j][l] * work->three[k][l] * three_of(t, j, k, l) * t->first[l];
                row[t->member[l]] *= inner * above / below;
            }
        }
    }
}

/* The tables that hold for every set. */
static void fill_tables(const diagnosis_prior *prior, size_t evidence_count, size_t largest,
                        diagnosis_work *work)
{
    set_ones(work->pair, DIAGNOSIS_FAULTS);
    if (largest > 2) {
        set_ones(work->triple, DIAGNOSIS_PAIRS);
    }
    for (size_t f = 0; f < DIAGNOSIS_FAULTS; f++) {
        work->factor[f] = f < prior->fault_count ? prior->odds[f] : 0;
    }
    for (size_t q = 0; q < evidence_count; q++) {
        const diagnosis_terms *t = &work->terms[q];
        for (size_t m = 0; m < t->count; m++) {
            work->factor[t->member[m]] *= t->first[m] / t->base;
        }
        fill_two(t, work);
        correct_pairs(t, work);
        if (largest > 2) {
            correct_triples(t, work);
        }
    }
}

static void note_best(diagnosis_work *work, size_t fault, double weight,
                      const unsigned char set[DIAGNOSIS_SET])
{
    if (weight > work->best[fault]) {
        work->best[fault] = weight;
        for (size_t i = 0; i < DIAGNOSIS_SET; i++) {
            work->best_set[fault][i] = set[i];
        }
    }
}

static void note_set(diagnosis_work *work, double weight, const unsigned char set[DIAGNOSIS_SET], size_t size)
{
    for (size_t i = 0; i < size; i++) {
        work->sum[size][set[i]] += weight;
        note_best(work, set[i], weight, set);
    }
}

/* The leaves {f, g, h, i} for all i > h. `reach` is what adding i to {f, g} multiplies by. */
static void add_leaves(const double reach[], size_t h, const double *row_fh, const double *row_gh,
                       const unsigned char triple[DIAGNOSIS_SET], double weight, size_t faults,
                       diagnosis_work *work)
{
    double total = 0, most = 0;
    size_t most_at = 0;
    const double *pair_h = work->pair[h];
    for (size_t i = h + 1; i < faults; i++) {
        const double leaf = weight * reach[i] * (pair_h[i] * row_fh[i]) * row_gh[i];
        total += leaf;
        work->sum[4][i] += leaf;
        if (leaf > most) {
            most = leaf;
            most_at = i;
        }
        if (leaf > work->best[i]) {
            const unsigned char set[DIAGNOSIS_SET] = {triple[0], triple[1], triple[2], (unsigned char)i};
            note_best(work, i, leaf, set);
        }
    }
    const unsigned char set[DIAGNOSIS_SET] = {triple[0], triple[1], triple[2], (unsigned char)most_at};
    for (size_t i = 0; i < 3; i++) {
        work->sum[4][triple[i]] += total;
        note_best(work, triple[i], most, set);
    }
}

/* Start the block of sets whose smallest member is f: corrections of three among the others, then of four. */
static void fill_block(size_t f, size_t evidence_count, size_t faults, diagnosis_work *work)
{
    for (size_t h = f + 2; h < faults; h++) {
        for (size_t g = f + 1; g < h; g++) {
            for (size_t i = h + 1; i < faults; i++) {
                work->block[row_of(g, h)][i] = work->triple[row_of(g, h)][i];
            }
        }
    }
    for (size_t q = 0; q < evidence_count; q++) {
        const diagnosis_terms *t = &work->terms[q];
        for (size_t m = 0; m < t->count; m++) {
            if (t->member[m] == f && t->count > m + 3) {
                fill_two(t, work);
                correct_block(t, m, work);
            }
        }
    }
}

void diagnosis_sets(const diagnosis_prior *prior, size_t evidence_count, size_t largest, double log_scale,
                    double shift, diagnosis_work *work)
{
    enum {
        none = DIAGNOSIS_FAULTS
    };
    const size_t faults = prior->fault_count;
    const double unit = exp(log_scale - shift);
    work->pair_unit = unit;
    fill_tables(prior, evidence_count, largest, work);
    for (size_t f = 0; f < faults; f++) {
        if (work->factor[f] == 0) {
            continue;
        }
        if (largest > 3) {
            fill_block(f, evidence_count, faults, work);
        }
        for (size_t g = f + 1; g < faults; g++) {
            const double pair = unit * work->factor[f] * work->factor[g] * work->pair[f][g];
            if (pair == 0) {
                continue;
            }
            note_set(work, pair, (const unsigned char[]){(unsigned char)f, (unsigned char)g, none, none}, 2);
            if (largest < 3) {
                continue;
            }
            double reach[DIAGNOSIS_FAULTS];
            for (size_t i = g + 1; i < faults; i++) {
                reach[i] =
                    work->factor[i] * work->pair[f][i] * work->pair[g][i] * work->triple[row_of(f, g)][i];
            }
            for (size_t h = g + 1; h < faults; h++) {
                const unsigned char set[] = {(unsigned char)f, (unsigned char)g, (unsigned char)h, none};
                note_set(work, pair * reach[h], set, 3);
                if (largest > 3) {
                    add_leaves(reach, h, work->triple[row_of(f, h)], work->block[row_of(g, h)], set,
                               pair * reach[h], faults, work);
                }
            }
        }
    }
}
