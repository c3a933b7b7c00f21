/* Scores of forecasts that were checked: Brier and its parts (Murphy), log score, calibration error. */
#ifndef OVENPROOF_TESTS_SCORE_H
#define OVENPROOF_TESTS_SCORE_H

#include <math.h>
#include <stddef.h>

typedef struct score {
    double brier, log, reliability, resolution, uncertainty;
    double
        calibration_error; /* mean distance of forecast and rate, forecasts that are equal taken together */
} score;

/* n forecasts of "it is so", came[i] 0 or 1. Quadratic in n: for equal-forecast groups without sorting. */
static inline score score_of(const double forecast[], const int came[], size_t n)
{
    score s = {0};
    double mean = 0;
    for (size_t i = 0; i < n; i++) {
        mean += came[i] / (double)n;
        s.brier += pow(forecast[i] - came[i], 2) / (double)n;
        s.log -= log(came[i] ? forecast[i] : 1 - forecast[i]) / (double)n;
    }
    s.uncertainty = mean * (1 - mean);
    for (size_t i = 0; i < n; i++) {
        double same = 0, rate = 0;
        for (size_t j = 0; j < n; j++) {
            same += forecast[j] == forecast[i];
            rate += forecast[j] == forecast[i] ? came[j] : 0;
        }
        rate /= same;
        s.reliability += pow(forecast[i] - rate, 2) / (double)n;
        s.resolution += pow(rate - mean, 2) / (double)n;
        s.calibration_error += fabs(forecast[i] - rate) / (double)n;
    }
    return s;
}

#endif
