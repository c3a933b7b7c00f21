/* The model's columns, exactly for a drive that holds its value between samples, and their least squares. */
#include "thermal/thermal_internal.h"

#include <math.h>

/* ---- least squares, row by row ---------------------------------------------------------------------------
 */

void thermal_triangle_add(thermal_triangle *triangle, double row[THERMAL_COLUMNS + 1])
{
    const size_t count = triangle->count;

    for (size_t i = 0; i < count; ++i) {
        if (row[i] == 0) {
            continue;
        }
        double *kept = triangle->r[i];
        const double length = sqrt(kept[i] * kept[i] + row[i] * row[i]);
        const double cosine = kept[i] / length, sine = row[i] / length;
        for (size_t j = i; j <= count; ++j) {
            const double before = kept[j];
            kept[j] = cosine * before + sine * row[j];
            row[j] = cosine * row[j] - sine * before;
        }
    }
    triangle->rest += row[count] * row[count];
}

/* A column that the others already hold tells nothing of its own: its coefficient is 0. */
static bool tells(const thermal_triangle *triangle, size_t i)
{
    double length = 0;

    for (size_t j = 0; j <= i; ++j) {
        length += triangle->r[j][i] * triangle->r[j][i];
    }
    return fabs(triangle->r[i][i]) > 1e-9 * sqrt(length);
}

void thermal_triangle_solve(const thermal_triangle *triangle, double solution[THERMAL_COLUMNS])
{
    const size_t count = triangle->count;

    for (size_t i = count; i-- > 0;) {
        double value = triangle->r[i][count];
        for (size_t j = i + 1; j < count; ++j) {
            value -= triangle->r[i][j] * solution[j];
        }
        solution[i] = tells(triangle, i) ? value / triangle->r[i][i] : 0;
    }
}

void thermal_triangle_variances(const thermal_triangle *triangle, double variance[THERMAL_COLUMNS])
{
    const size_t count = triangle->count;

    for (size_t i = 0; i < count; ++i) {
        variance[i] = 0;
    }
    for (size_t column = 0; column < count; ++column) { /* a column of the inverse triangle */
        double inverse[THERMAL_COLUMNS] = {0};
        for (size_t i = column + 1; i-- > 0;) {
            double value = i == column ? 1 : 0;
            for (size_t j = i + 1; j <= column; ++j) {
                value -= triangle->r[i][j] * inverse[j];
            }
            inverse[i] = tells(triangle, i) ? value / triangle->r[i][i] : (double)INFINITY;
            variance[i] += inverse[i] * inverse[i];
        }
    }
}

/* ---- one lag
 * ------------------------------------------------------------------------------------------------ */

/* exp(-s/tau) of the last s: samples mostly stand equally far apart. */
typedef struct decay {
    double s, value;
} decay;

static double decayed(decay *kept, double s, double lag_s)
{
    if (s != kept->s) {
        *kept = (decay){s, exp(-s / lag_s)};
    }
    return kept->value;
}

/* A lag that follows the drive; `edge` is the block whose drive holds now. */
typedef struct lag {
    double lag_s, at_edge;
    size_t edge;
    decay step, part;
} lag;

static void lag_start(const thermal_problem *problem, double lag_s, lag *made)
{
    const bool cold = problem->history == OVP_THERMAL_COLD;

    *made = (lag){.lag_s = lag_s,
                  .at_edge = cold ? 0 : problem->record->blocks[0].drive,
                  .step = {0, 1},
                  .part = {0, 1}};
}

/* Value at a time that never goes back. Before the first block nothing has moved yet. */
static double lag_at(const ovp_thermal_record *record, lag *one, double time_s)
{
    const ovp_thermal_block *blocks = record->blocks;

    while (one->edge + 1 < record->count && blocks[one->edge + 1].from_s <= time_s) {
        const double held_s = blocks[one->edge + 1].from_s - blocks[one->edge].from_s;
        const double drive = blocks[one->edge].drive;
        one->at_edge = drive + (one->at_edge - drive) * decayed(&one->step, held_s, one->lag_s);
        ++one->edge;
    }
    const double since_s = time_s - blocks[one->edge].from_s;
    if (since_s <= 0) {
        return one->at_edge;
    }
    const double drive = blocks[one->edge].drive;
    return drive + (one->at_edge - drive) * decayed(&one->part, since_s, one->lag_s);
}

/* ---- one shape: one lag, or two in series, and the dead time --------------------------------------------
 */

typedef struct response {
    lag lags[OVP_THERMAL_LAGS];
    double share[OVP_THERMAL_LAGS];
    double dead_s;
} response;

static void response_start(const thermal_problem *problem, const double shape[THERMAL_SHAPE], response *made)
{
    const double first_s = exp(shape[0]);
    double second_s = exp(shape[2]);

    *made = (response){.share = {1, 0}, .dead_s = shape[1]};
    lag_start(problem, first_s, &made->lags[0]);
    if (problem->order < 2) {
        return;
    }
    if (fabs(second_s / first_s - 1) < 1e-4) {
        second_s = first_s * (1 - 1e-4); /* partial fractions need two that differ */
    }
    lag_start(problem, second_s, &made->lags[1]);
    made->share[0] = first_s / (first_s - second_s);
    made->share[1] = 1 - made->share[0];
}

static double response_at(const thermal_problem *problem, response *one, double time_s)
{
    double value = lag_at(problem->record, &one->lags[0], time_s - one->dead_s);

    if (problem->order > 1) {
        value = one->share[0] * value +
                one->share[1] * lag_at(problem->record, &one->lags[1], time_s - one->dead_s);
    }
    return value;
}

size_t thermal_shapes(const thermal_problem *problem)
{
    return problem->order > 1 ? 3 : 2;
}

size_t thermal_linears(const thermal_problem *problem)
{
    return problem->history == OVP_THERMAL_RUNNING ? 3 : 2;
}

/* What is left at a time of a start that was not at rest. */
static double remains(const thermal_problem *problem, double lag_s, double time_s)
{
    return exp(-(time_s - problem->record->blocks[0].from_s) / lag_s);
}

static double weight_of(const ovp_thermal_record *record, const ovp_thermal_block *block, bool plain)
{
    const double share = block->readings / (double)record->block_samples;

    return sqrt(share * (plain ? 1 : block->weight));
}

void thermal_project(const thermal_problem *problem, bool keep, thermal_guess *guess)
{
    ovp_thermal_record *record = problem->record;
    thermal_triangle triangle = {.count = thermal_linears(problem)};
    const double lag_s = exp(guess->shape[0]);
    double solution[THERMAL_COLUMNS] = {0};
    response one;

    response_start(problem, guess->shape, &one);
    for (size_t i = 0; i < record->count; ++i) {
        ovp_thermal_block *block = &record->blocks[i];
        if (block->readings <= 0) {
            continue;
        }
        const double weight = weight_of(record, block, false);
        block->work = response_at(problem, &one, block->time_s);
        double row[THERMAL_COLUMNS + 1] = {weight, weight * block->work};
        if (triangle.count > 2) {
            row[2] = weight * remains(problem, lag_s, block->time_s);
        }
        row[triangle.count] = weight * block->temperature_C;
        thermal_triangle_add(&triangle, row);
    }
    thermal_triangle_solve(&triangle, solution);
    for (size_t i = 0; i < 3; ++i) {
        guess->linear[i] = i < triangle.count ? solution[i] : 0;
    }
    guess->cost = triangle.rest;
    for (size_t i = 0; keep && i < record->count; ++i) {
        ovp_thermal_block *block = &record->blocks[i];
        if (block->readings > 0) {
            block->residual_C = block->temperature_C - guess->linear[0] - guess->linear[1] * block->work;
            if (triangle.count > 2) {
                block->residual_C -= guess->linear[2] * remains(problem, lag_s, block->time_s);
            }
        }
    }
}

void thermal_linearise(const thermal_problem *problem, const thermal_guess *guess, bool plain, bool dead,
                       thermal_triangle *triangle)
{
    const ovp_thermal_record *record = problem->record;
    const size_t shapes = thermal_shapes(problem), linears = thermal_linears(problem);
    const double lag_s = exp(guess->shape[0]);
    double by[THERMAL_SHAPE];
    response one, moved[THERMAL_SHAPE];

    *triangle = (thermal_triangle){.count = linears + shapes};
    response_start(problem, guess->shape, &one);
    for (size_t j = 0; j < shapes; ++j) {
        double shape[THERMAL_SHAPE] = {guess->shape[0], guess->shape[1], guess->shape[2]};
        by[j] = j == 1 ? 1e-5 * lag_s : 1e-5;
        shape[j] += by[j];
        response_start(problem, shape, &moved[j]);
    }
    for (size_t i = 0; i < record->count; ++i) {
        const ovp_thermal_block *block = &record->blocks[i];
        if (block->readings <= 0) {
            continue;
        }
        const double weight = weight_of(record, block, plain);
        const double value = response_at(problem, &one, block->time_s);
        double row[THERMAL_COLUMNS + 1] = {weight, weight * value};
        for (size_t j = 0; j < shapes; ++j) {
            const double after = response_at(problem, &moved[j], block->time_s);
            row[linears + j] = j == 1 && !dead ? 0 : weight * guess->linear[1] * (after - value) / by[j];
        }
        if (linears > 2) {
            const double left = remains(problem, lag_s, block->time_s);
            row[2] = weight * left;
            row[linears] +=
                weight * guess->linear[2] * left * (block->time_s - record->blocks[0].from_s) / lag_s;
        }
        row[triangle->count] = weight * block->residual_C;
        thermal_triangle_add(triangle, row);
    }
}
