/* What the files of this room share. */
#ifndef OVENPROOF_THERMAL_INTERNAL_H
#define OVENPROOF_THERMAL_INTERNAL_H

#include "ovenproof/thermal.h"

/* Exact (CODATA 2018): k_B^4 2 pi^5 / (15 h^3 c^2), W/(m2 K4). */
#define THERMAL_STEFAN_BOLTZMANN 5.670374419e-8
#define THERMAL_KELVIN 273.15

/* Conductance of radiation between two surfaces: exact for these temperatures, W/(m2 K). */
double thermal_radiation(double emissivity, double a_C, double b_C);

/* A lining ready to be solved: each slice's equation after elimination from the shell inward is
   T[i] = (rest[i] + inward[i] * T[i-1]) / diagonal[i], with T[-1] the chamber; the hot face also has the
   elements' direct radiation. */
typedef struct thermal_chain {
    size_t count;
    double inward[OVP_THERMAL_NODES];
    double diagonal[OVP_THERMAL_NODES];
    double rest[OVP_THERMAL_NODES];
    double capacity[OVP_THERMAL_NODES];
    double sink_W_per_K[OVP_THERMAL_NODES];
    double sink_W[OVP_THERMAL_NODES];
    double shell_W_per_K;
    double direct_W_per_K; /* from the elements to the hot face */
} thermal_chain;

/* Set up (step_s <= 0 means steady state: no heat capacity), then eliminate. */
void thermal_chain_prepare(const ovp_thermal_parameters *parameters, const ovp_thermal_lining *lining,
                           const double temperature_C[], double chamber_C, double step_s,
                           thermal_chain *chain);
void thermal_chain_eliminate(const ovp_thermal_parameters *parameters, const double temperature_C[],
                             thermal_chain *chain);
/* Temperatures of the slices once the chamber's and the elements' are known. */
void thermal_chain_solve(const thermal_chain *chain, double chamber_C, double element_C,
                         double temperature_C[]);

/* Slices of a lining: face area, total edge length and corners that belong to it. Errors: too many slices. */
ovp_status thermal_slice(const ovp_oven_lining *layers, double face_m2, double edge_m, double corners,
                         ovp_thermal_lining *lining, ovp_error *error);

/* A free figure of reference/oven-model.csv; NAN for a name that is not there. */
double thermal_figure(const char *name);

/* One first-order lag, implicit: never overshoots, whatever the step. */
void thermal_lag(double seconds, double constant_s, double input, double *value);

/* One implicit step, undivided. */
void thermal_one_step(const ovp_thermal_parameters *parameters, double seconds, double duty,
                      ovp_thermal_state *state);

/* Read the display; `noise` in standard deviations. */
void thermal_read_display(const ovp_thermal_run *run, double noise, ovp_tc_display *display, double *shown_C);

/* Counter-based random numbers: 0 <= uniform < 1; normal with mean 0 and standard deviation 1. */
double thermal_uniform(uint64_t seed, uint64_t stream, uint64_t counter);
double thermal_normal(uint64_t seed, uint64_t stream, uint64_t counter);

/* ---- identification ------------------------------------------------------------------------------------ */

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
