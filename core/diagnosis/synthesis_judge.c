/* How well a modelled run explains a logged one: errors that last, a few that are far out, and what no oven
   has exactly as described. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <string.h>

enum {
    NUISANCES = DIAGNOSIS_FIT_NUISANCES,
    ROUNDS = 6,
};

/* Errors of a model last (a first-order chain): what is new at each point, in standard deviations. */
static void whiten(const diagnosis_fit_log *log, const double error_C[], double fresh[])
{
    double before = 0;
    for (size_t i = 0; i < log->count; i++) {
        const double here = error_C[i] / log->error_C[i];
        const double scatter = log->scatter_C / log->error_C[i];
        const double span_s =
            i > 0 ? log->drive[log->at[i]].time_s - log->drive[log->at[i - 1]].time_s : INFINITY;
        const double kept = exp(-span_s / log->error_s);
        fresh[i] = (here - kept * before) / sqrt(1 - kept * kept + (1 + kept * kept) * scatter * scatter);
        before = here;
    }
}

/* L L' = matrix in place, lower half. Returns the log of the determinant. */
static double factorise(double matrix[NUISANCES][NUISANCES])
{
    double log_determinant = 0;
    for (size_t i = 0; i < NUISANCES; i++) {
        for (size_t j = 0; j <= i; j++) {
            double sum = matrix[i][j];
            for (size_t k = 0; k < j; k++) {
                sum -= matrix[i][k] * matrix[j][k];
            }
            matrix[i][j] = i == j ? sqrt(fmax(sum, 1e-12)) : sum / matrix[j][j];
        }
        log_determinant += 2 * log(matrix[i][i]);
    }
    return log_determinant;
}

static void substitute(double lower[NUISANCES][NUISANCES], double value[NUISANCES])
{
    for (size_t i = 0; i < NUISANCES; i++) {
        for (size_t k = 0; k < i; k++) {
            value[i] -= lower[i][k] * value[k];
        }
        value[i] /= lower[i][i];
    }
    for (size_t i = NUISANCES; i-- > 0;) {
        for (size_t k = i + 1; k < NUISANCES; k++) {
            value[i] -= lower[k][i] * value[k];
        }
        value[i] /= lower[i][i];
    }
}

/* What is left of a point when the nuisances stand at `moved`. */
static double left_at(const diagnosis_fit_log *log, const double fresh[],
                      double slope[NUISANCES][DIAGNOSIS_FIT_POINTS], const double moved[], size_t i)
{
    double left = fresh[i];
    for (size_t k = 0; k < NUISANCES; k++) {
        left -= slope[k][i] * (moved[k] - log->from[k]);
    }
    return left;
}

/* One round of weighted least squares at an error of `size` times what is assumed (squared); returns the log
   of the determinant. */
static double move(const diagnosis_fit_log *log, const double fresh[],
                   double slope[NUISANCES][DIAGNOSIS_FIT_POINTS], double size, double moved[NUISANCES])
{
    const double robust = diagnosis_figure(DIAGNOSIS_fit_robust) * sqrt(size);
    double normal[NUISANCES][NUISANCES] = {{0}}, right[NUISANCES] = {0};
    for (size_t i = 0; i < log->count; i++) {
        const double left = left_at(log, fresh, slope, moved, i);
        const double weight = (fabs(left) > robust ? robust / fabs(left) : 1) / size;
        const double at_zero = left_at(log, fresh, slope, (const double[NUISANCES]){0}, i);
        for (size_t k = 0; k < NUISANCES; k++) {
            right[k] += weight * slope[k][i] * at_zero;
            for (size_t j = 0; j <= k; j++) {
                normal[k][j] += weight * slope[k][i] * slope[j][i];
            }
        }
    }
    for (size_t k = 0; k < NUISANCES; k++) {
        normal[k][k] += 1; /* each is within its own spread */
        moved[k] = right[k];
    }
    const double log_determinant = factorise(normal);
    substitute(normal, moved);
    return log_determinant;
}

static double huber(double error, double robust)
{
    return fabs(error) > robust ? robust * (fabs(error) - 0.5 * robust) : 0.5 * error * error;
}

static double loss_at(const diagnosis_fit_log *log, const double fresh[],
                      double slope[NUISANCES][DIAGNOSIS_FIT_POINTS], const double moved[], double size)
{
    const double robust = diagnosis_figure(DIAGNOSIS_fit_robust) * sqrt(size);
    double loss = 0;
    for (size_t i = 0; i < log->count; i++) {
        loss += huber(left_at(log, fresh, slope, moved, i), robust);
    }
    return loss;
}

/*
 * The size of the model's error is itself not known: with a gamma distribution for it the likelihood is
 * Student's t, so that what no hypothesis explains tells nothing between them however many readings there
 * are.
 */
void diagnosis_fit_judge(const diagnosis_fit_log *log, const double modelled_C[], diagnosis_fit_score *score)
{
    static const double lost_C = 300; /* a display without a number where the log has one */
    const double freedom = diagnosis_figure(DIAGNOSIS_fit_freedom);
    double error_C[DIAGNOSIS_FIT_POINTS], fresh[DIAGNOSIS_FIT_POINTS];
    double slope[NUISANCES][DIAGNOSIS_FIT_POINTS];
    *score = (diagnosis_fit_score){0};
    memcpy(score->moved, log->from, sizeof(score->moved));
    for (size_t i = 0; i < log->count; i++) {
        error_C[i] = isnan(modelled_C[i]) ? lost_C : log->shown_C[i] - modelled_C[i];
    }
    whiten(log, error_C, fresh);
    for (size_t k = 0; k < NUISANCES; k++) {
        whiten(log, log->slope[k], slope[k]);
    }
    double log_determinant = 0, loss = 0, away = 0, size = 1;
    for (int round = 0; round < ROUNDS;
         round++) { /* first as if the error were small: see how far that goes */
        log_determinant = move(log, fresh, slope, size, score->moved);
        loss = loss_at(log, fresh, slope, score->moved, size);
        size = round < ROUNDS / 2 ? 1 : fmax((freedom + 2 * loss) / (freedom + log->effective), 0.5);
    }
    for (size_t k = 0; k < NUISANCES; k++) {
        away += score->moved[k] * score->moved[k];
    }
    score->loss = loss / log->effective;
    score->log_evidence =
        -0.5 * (freedom + log->effective) * log1p(2 * loss / freedom) - 0.5 * away - 0.5 * log_determinant;
}
