/*
 * diagnosis_internal.h: the mathematics of the room, over models that know no oven.
 *
 * A hypothesis is "healthy", "unlisted" or a set of one to four faults. A question has outcomes, a default
 * row for whatever has no row of its own, and rows of faults. The combining rule stands in
 * docs/design.md, section 3. All of it works in memory that the caller owns.
 */
#ifndef OVENPROOF_DIAGNOSIS_INTERNAL_H
#define OVENPROOF_DIAGNOSIS_INTERNAL_H

#include "ovenproof/diagnosis.h"

enum {
    DIAGNOSIS_FAULTS = 64, /**< bits of a word */
    DIAGNOSIS_OUTCOMES = 8,
    DIAGNOSIS_EVIDENCE = 128,
    DIAGNOSIS_SET = 4, /**< faults in a set at most */
    DIAGNOSIS_PAIRS = DIAGNOSIS_FAULTS * (DIAGNOSIS_FAULTS - 1) / 2,
    DIAGNOSIS_HYPOTHESES = DIAGNOSIS_FAULTS + 2, /**< single faults, then healthy, then unlisted */
};

/* ---- rows of probabilities ---------------------------------------------------------------------- */

typedef struct diagnosis_question {
    size_t outcome_count; /**< 2 .. DIAGNOSIS_OUTCOMES */
    size_t normal;        /**< the outcome with the largest default */
    double error;         /**< chance e that the answer is misread */
    double defaults[DIAGNOSIS_OUTCOMES];
    uint64_t faults; /**< bit f: fault f has a row of its own */
    double rows[DIAGNOSIS_FAULTS][DIAGNOSIS_OUTCOMES];
} diagnosis_question;

/** Set outcome_count, error and the default row; no fault has a row yet. Rows are scaled to add to 1. */
void diagnosis_question_init(diagnosis_question *question, size_t outcome_count, const double defaults[],
                             double error);
void diagnosis_question_row(diagnosis_question *question, size_t fault, const double row[]);

/**
 * P(outcome | exactly these faults) as answered, misreading included. No faults: healthy. One: its own row.
 */
double diagnosis_likelihood(const diagnosis_question *question, const size_t faults[], size_t count,
                            size_t outcome);

/* ---- inference ---------------------------------------------------------------------------------- */

/** One answer; `weight` is the power of its likelihood (1, or 0.3 for the weaker ones of a group). */
typedef struct diagnosis_evidence {
    const diagnosis_question *question;
    size_t outcome;
    double weight;
} diagnosis_evidence;

typedef struct diagnosis_prior {
    size_t fault_count;
    double odds[DIAGNOSIS_FAULTS]; /**< share / (1 - share); 0 leaves the fault out */
    double healthy, unlisted;
    bool independent; /**< the sets are not scaled to the rest: healthy is the weight of no fault at all */
} diagnosis_prior;

typedef struct diagnosis_posterior {
    double healthy, unlisted;
    double share[DIAGNOSIS_FAULTS];   /**< a set of k counts 1/k to each; adds to 1 with the two above */
    double present[DIAGNOSIS_FAULTS]; /**< the fault is in the set */
    int with[DIAGNOSIS_FAULTS][DIAGNOSIS_SET - 1]; /**< companions in the likeliest set; -1 past the last */
    double log_evidence;                           /**< log of the sum of prior weight times likelihood */
    double not_covered; /**< part of the prior of all sets that sets of more than four hold */
} diagnosis_posterior;

/** Terms of one piece of evidence, taken apart so that a set costs a few operations. */
typedef struct diagnosis_terms {
    bool is_normal;
    double normal;       /**< default of the normal outcome */
    double raised;       /**< 0.01 x default of this outcome */
    double raised_all;   /**< 0.01 x default of all but the normal one */
    double floor, slope; /**< misreading: likelihood = floor + slope p */
    double weight;
    double base; /**< likelihood by the default row */
    double flat; /**< likelihood of an unlisted fault */
    uint64_t faults;
    size_t count;
    unsigned char member[DIAGNOSIS_FAULTS]; /**< faults with a row, ascending */
    double ratio[DIAGNOSIS_FAULTS], rise[DIAGNOSIS_FAULTS], rise_all[DIAGNOSIS_FAULTS]; /**< by member */
    double alone[DIAGNOSIS_FAULTS]; /**< likelihood by the fault's own row */
    double first[DIAGNOSIS_FAULTS]; /**< by the combining rule with this member only */
} diagnosis_terms;

/** Room for one inference; about 2.5 MB, no part of it needs to be kept. */
typedef struct diagnosis_work {
    diagnosis_terms terms[DIAGNOSIS_EVIDENCE];
    double factor[DIAGNOSIS_FAULTS]; /**< odds x ratio to the default of one fault in company */
    double pair[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS]; /**< correction of two */
    double triple[DIAGNOSIS_PAIRS][DIAGNOSIS_FAULTS];
    double block[DIAGNOSIS_PAIRS][DIAGNOSIS_FAULTS];
    double two[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS], three[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS];
    double sum[DIAGNOSIS_SET + 1][DIAGNOSIS_FAULTS]; /**< weight of the sets of each size that hold a fault */
    double best[DIAGNOSIS_FAULTS];
    unsigned char best_set[DIAGNOSIS_FAULTS][DIAGNOSIS_SET];
} diagnosis_work;

/**
 * Weigh all sets of at most `largest` (1 .. 4) faults: exact by the combining rule, nothing is pruned.
 * Cost: C(64,4) leaves of five multiplications, plus C(n,4) for evidence that n faults have rows for.
 */
void diagnosis_infer(const diagnosis_prior *prior, const diagnosis_evidence evidence[], size_t count,
                     size_t largest, diagnosis_work *work, diagnosis_posterior *posterior);

/** Take the evidence apart; returns the log of the product of the defaults. (Part of diagnosis_infer.) */
double diagnosis_prepare(const diagnosis_evidence evidence[], size_t count, diagnosis_work *work);

/** Likelihood of a set from its product of ratios and sums of rises. */
double diagnosis_combined(const diagnosis_terms *terms, double ratio, double rise, double rise_all);

/** e_1 .. e_4 of the odds, and the part of all sets that larger ones hold. */
double diagnosis_set_prior(const diagnosis_prior *prior, size_t largest, double *not_covered);

/** Sets of two, three and four, into work->sum and work->best; weights are relative to exp(shift). */
void diagnosis_sets(const diagnosis_prior *prior, size_t evidence_count, size_t largest, double log_scale,
                    double shift, diagnosis_work *work);

#endif
