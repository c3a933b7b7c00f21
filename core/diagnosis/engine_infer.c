/* From prior and evidence to what each fault holds. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

double diagnosis_set_prior(const diagnosis_prior *prior, size_t largest, double *not_covered)
{
    double elementary[DIAGNOSIS_SET + 1] = {1, 0, 0, 0, 0}, all = 1;
    for (size_t f = 0; f < prior->fault_count; f++) {
        all *= 1 + prior->odds[f];
        for (size_t k = DIAGNOSIS_SET; k > 0; k--) {
            elementary[k] += prior->odds[f] * elementary[k - 1];
        }
    }
    double covered = 0;
    for (size_t k = 1; k <= largest; k++) {
        covered += elementary[k];
    }
    *not_covered = all > 1 ? fmax(0, (all - 1 - covered) / (all - 1)) : 0;
    return covered;
}

/* Ratio of the likelihood of each fault alone, by its own row, to the default; as a log. */
static void log_alone(const diagnosis_prior *prior, size_t count, const diagnosis_work *work,
                      double log_single[])
{
    for (size_t f = 0; f < prior->fault_count; f++) {
        log_single[f] = prior->odds[f] > 0 ? log(prior->odds[f]) : -INFINITY;
    }
    for (size_t q = 0; q < count; q++) {
        const diagnosis_terms *terms = &work->terms[q];
        for (size_t m = 0; m < terms->count; m++) {
            if (terms->member[m] < prior->fault_count) {
                log_single[terms->member[m]] += log(terms->alone[m] / terms->base);
            }
        }
    }
}

static void add_singles(const diagnosis_prior *prior, const double log_single[], double log_scale,
                        double shift, diagnosis_work *work)
{
    work->pair_unit = 0;
    memset(work->sum, 0, sizeof(work->sum));
    memset(work->best, 0, sizeof(work->best));
    memset(work->best_set, DIAGNOSIS_FAULTS, sizeof(work->best_set));
    for (size_t f = 0; f < prior->fault_count; f++) {
        work->sum[1][f] = exp(log_single[f] + log_scale - shift);
        work->best[f] = work->sum[1][f];
        work->best_set[f][0] = (unsigned char)f;
    }
}

static void name_companions(const diagnosis_work *work, size_t fault, int with[DIAGNOSIS_SET - 1])
{
    size_t count = 0;
    for (size_t i = 0; i < DIAGNOSIS_SET; i++) {
        const unsigned char member = work->best_set[fault][i];
        if (member < DIAGNOSIS_FAULTS && member != fault && count < DIAGNOSIS_SET - 1) {
            with[count++] = member;
        }
    }
    while (count < DIAGNOSIS_SET - 1) {
        with[count++] = -1;
    }
}

void diagnosis_infer(const diagnosis_prior *prior, const diagnosis_evidence evidence[], size_t count,
                     size_t largest, diagnosis_work *work, diagnosis_posterior *posterior)
{
    const double log_base = diagnosis_prepare(evidence, count, work->terms);
    const double sets = diagnosis_set_prior(prior, largest, &posterior->not_covered);
    const double rest = fmax(0, 1 - prior->healthy - prior->unlisted);
    const double log_scale = prior->independent ? 0 : (sets > 0 ? log(rest / sets) : -INFINITY);

    double log_single[DIAGNOSIS_FAULTS];
    log_alone(prior, count, work, log_single);
    double log_unlisted = log(prior->unlisted);
    for (size_t q = 0; q < count; q++) {
        log_unlisted += log(work->terms[q].flat / work->terms[q].base);
    }
    double shift = fmax(log(prior->healthy), log_unlisted);
    for (size_t f = 0; f < prior->fault_count; f++) {
        shift = fmax(shift, log_single[f] + log_scale);
    }
    if (!isfinite(shift)) {
        shift = 0;
    }

    add_singles(prior, log_single, log_scale, shift, work);
    if (largest > 1 && isfinite(log_scale)) {
        diagnosis_sets(prior, count, largest, log_scale, shift, work);
    }
    const double healthy = exp(log(prior->healthy) - shift), unlisted = exp(log_unlisted - shift);
    double total = healthy + unlisted;
    for (size_t f = 0; f < prior->fault_count; f++) {
        for (size_t k = 1; k <= largest; k++) {
            total += work->sum[k][f] / (double)k;
        }
    }
    posterior->total = total;
    posterior->healthy = healthy / total;
    posterior->unlisted = unlisted / total;
    for (size_t f = 0; f < DIAGNOSIS_FAULTS; f++) {
        posterior->share[f] = posterior->present[f] = 0;
        for (size_t k = 1; k <= largest && f < prior->fault_count; k++) {
            posterior->share[f] += work->sum[k][f] / (double)k / total;
            posterior->present[f] += work->sum[k][f] / total;
        }
        name_companions(work, f, posterior->with[f]);
    }
    posterior->log_evidence = log(total) + shift + log_base;
}
