/* Rows of probabilities and the combining rule. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

static const double leak = 0.01;   /* weight of the default row where nothing is raised */
static const double least = 1e-25; /* a likelihood of exact zero reads as this, so that ratios exist */

static void scale(double row[], size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += row[i];
    }
    for (size_t i = 0; i < count && sum > 0; i++) {
        row[i] /= sum;
    }
}

void diagnosis_question_init(diagnosis_question *question, size_t outcome_count, const double defaults[],
                             double error)
{
    memset(question, 0, sizeof(*question));
    question->outcome_count = outcome_count;
    question->error = error;
    question->unlisted_moved = 1;
    for (size_t i = 0; i < outcome_count; i++) {
        question->defaults[i] = defaults[i];
    }
    scale(question->defaults, outcome_count);
    for (size_t i = 1; i < outcome_count; i++) {
        if (question->defaults[i] > question->defaults[question->normal]) {
            question->normal = i;
        }
    }
}

void diagnosis_question_row(diagnosis_question *question, size_t fault, const double row[])
{
    for (size_t i = 0; i < question->outcome_count; i++) {
        question->rows[fault][i] = row[i];
    }
    scale(question->rows[fault], question->outcome_count);
    question->faults |= UINT64_C(1) << fault;
}

double diagnosis_unlisted_row(const diagnosis_question *question, size_t outcome)
{
    const double moved = question->unlisted_moved;
    return moved / (double)question->outcome_count + (1 - moved) * question->defaults[outcome];
}

static void take_apart(const diagnosis_question *question, size_t outcome, double weight,
                       diagnosis_terms *terms)
{
    const double e = question->error, others = (double)(question->outcome_count - 1);
    terms->is_normal = outcome == question->normal;
    terms->normal = question->defaults[question->normal];
    terms->raised = leak * question->defaults[outcome];
    terms->raised_all = leak * (1 - terms->normal);
    terms->floor = e / others;
    terms->slope = 1 - e - e / others;
    terms->weight = weight;
}

static double as_answered(const diagnosis_terms *terms, double p)
{
    double likelihood = terms->floor + terms->slope * p;
    if (likelihood < least) {
        likelihood = least;
    }
    return terms->weight == 1 ? likelihood : pow(likelihood, terms->weight);
}

double diagnosis_combined(const diagnosis_terms *terms, double ratio, double rise, double rise_all)
{
    const double normal = terms->normal * ratio;
    if (terms->is_normal) {
        return as_answered(terms, normal);
    }
    const double all = rise_all + terms->raised_all;
    return as_answered(terms, all > 0 ? (1 - normal) * (rise + terms->raised) / all : 0);
}

/* What one fault adds to the rule: its ratio at the normal outcome, its rise at this one and at all. */
static void terms_of(const diagnosis_question *question, size_t fault, size_t outcome, double *ratio,
                     double *rise, double *rise_all)
{
    const double *row = question->rows[fault];
    const size_t n = question->normal;
    *ratio = row[n] < question->defaults[n] ? row[n] / question->defaults[n] : 1;
    *rise = fmax(0, row[outcome] - question->defaults[outcome]);
    *rise_all = 0;
    for (size_t o = 0; o < question->outcome_count; o++) {
        *rise_all += o == n ? 0 : fmax(0, row[o] - question->defaults[o]);
    }
}

double diagnosis_likelihood(const diagnosis_question *question, const size_t faults[], size_t count,
                            size_t outcome)
{
    diagnosis_terms terms;
    take_apart(question, outcome, 1, &terms);
    if (count == 0) {
        return as_answered(&terms, question->defaults[outcome]);
    }
    if (count == 1) {
        const bool own = (question->faults >> faults[0] & 1) != 0;
        return as_answered(&terms, own ? question->rows[faults[0]][outcome] : question->defaults[outcome]);
    }
    double ratio = 1, rise = 0, rise_all = 0;
    for (size_t i = 0; i < count; i++) {
        if ((question->faults >> faults[i] & 1) != 0) {
            double r, a, b;
            terms_of(question, faults[i], outcome, &r, &a, &b);
            ratio *= r;
            rise += a;
            rise_all += b;
        }
    }
    return diagnosis_combined(&terms, ratio, rise, rise_all);
}

double diagnosis_prepare(const diagnosis_evidence evidence[], size_t count, diagnosis_terms list[])
{
    double log_base = 0;
    for (size_t q = 0; q < count; q++) {
        const diagnosis_question *question = evidence[q].question;
        diagnosis_terms *terms = &list[q];
        const size_t outcome = evidence[q].outcome;
        take_apart(question, outcome, evidence[q].weight, terms);
        terms->base = as_answered(terms, question->defaults[outcome]);
        terms->flat = as_answered(terms, diagnosis_unlisted_row(question, outcome));
        terms->faults = question->faults;
        terms->count = 0;
        for (size_t f = 0; f < DIAGNOSIS_FAULTS; f++) {
            if ((question->faults >> f & 1) == 0) {
                continue;
            }
            const size_t m = terms->count++;
            terms->member[m] = (unsigned char)f;
            terms_of(question, f, outcome, &terms->ratio[m], &terms->rise[m], &terms->rise_all[m]);
            terms->alone[m] = as_answered(terms, question->rows[f][outcome]);
            terms->first[m] = diagnosis_combined(terms, terms->ratio[m], terms->rise[m], terms->rise_all[m]);
        }
        log_base += log(terms->base);
    }
    return log_base;
}
