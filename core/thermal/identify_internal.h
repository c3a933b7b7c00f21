/* What the files of identification share. */
#ifndef OVENPROOF_THERMAL_IDENTIFY_INTERNAL_H
#define OVENPROOF_THERMAL_IDENTIFY_INTERNAL_H

#include "ovenproof/thermal_identify.h"

enum {
    THERMAL_SHAPE = 3,   /* what is not linear: log of the first lag, dead time, log of the second lag */
    THERMAL_COLUMNS = 6, /* base, gain, start, and the slopes by the shape */
};

/* Where a search stands. */
typedef struct thermal_guess {
    double shape[THERMAL_SHAPE];
    double linear[3]; /* base, gain, start (what is left of the past at the first block) */
    double cost;      /* weighted sum of squares */
} thermal_guess;

typedef struct thermal_problem {
    ovp_thermal_record *record;
    ovp_thermal_history history;
    size_t order;
    double most_dead_s, least_lag_s, most_lag_s;
} thermal_problem;

/* A least-squares problem taken in row by row: the triangle of its QR decomposition (Givens). */
typedef struct thermal_triangle {
    size_t count;
    double r[THERMAL_COLUMNS][THERMAL_COLUMNS + 1];
    double rest; /* sum of squares left */
} thermal_triangle;

void thermal_triangle_add(thermal_triangle *triangle, double row[THERMAL_COLUMNS + 1]);
void thermal_triangle_solve(const thermal_triangle *triangle, double solution[THERMAL_COLUMNS]);
/* Diagonal of the inverse of (columns' columns). */
void thermal_triangle_variances(const thermal_triangle *triangle, double variance[THERMAL_COLUMNS]);

size_t thermal_shapes(const thermal_problem *problem);
size_t thermal_linears(const thermal_problem *problem);

/* Best linear part for guess->shape, and the cost; with `keep` the residuals go into the blocks. */
void thermal_project(const thermal_problem *problem, bool keep, thermal_guess *guess);
/* The triangle of all columns around a guess; residuals as right side. `plain`: weights left out;
   not `dead`: the dead time stays. */
void thermal_linearise(const thermal_problem *problem, const thermal_guess *guess, bool plain, bool dead,
                       thermal_triangle *triangle);

#endif
