/* A process from a run: search, robust weights, intervals, and what must be said about them. */
#include "thermal/thermal_internal.h"

#include <math.h>

enum {
    LEAST_READINGS = 8,
    GRID_LAGS = 24,
    GRID_DEADS = 12,
    GRID_SECONDS = 5,
    STEPS = 40,
    HALVINGS = 12,
    ROUNDS = 3,
    STARTS = 3,
};

static const double normal_95 = 1.959963984540054;
static const double normal_quartile = 0.6744897501960817;

/* ---- search
 * --------------------------------------------------------------------------------------------------- */

static void clamp(const thermal_problem *problem, double shape[THERMAL_SHAPE])
{
    shape[0] = fmin(fmax(shape[0], log(problem->least_lag_s)), log(problem->most_lag_s));
    shape[1] = fmin(fmax(shape[1], 0), problem->most_dead_s);
    shape[2] = fmin(fmax(shape[2], log(0.01 * problem->least_lag_s)), shape[0]);
}

/* The best lags for one dead time. */
static thermal_guess grid_row(const thermal_problem *problem, double dead_s)
{
    const size_t seconds = problem->order > 1 ? GRID_SECONDS : 1;
    const double range = log(problem->most_lag_s / problem->least_lag_s);
    thermal_guess best = {.cost = INFINITY};

    for (size_t i = 0; i < GRID_LAGS; ++i) {
        const double first = log(problem->least_lag_s) + range * (double)i / (GRID_LAGS - 1);
        for (size_t k = 0; k < seconds; ++k) {
            thermal_guess guess = {.shape = {first, dead_s, first - log(1.3) - 0.9 * (double)k}};
            thermal_project(problem, false, &guess);
            if (guess.cost < best.cost && guess.linear[1] > 0) {
                best = guess;
            }
        }
    }
    return best;
}

/* The best places of a coarse grid, each of another dead time, the best first. Dead time 0 is none: there its
   slope says nothing that base and gain do not. */
static void grid_best(const thermal_problem *problem, thermal_guess best[STARTS])
{
    for (size_t i = 0; i < STARTS; ++i) {
        best[i] = (thermal_guess){.cost = INFINITY};
    }
    for (size_t j = 1; j <= GRID_DEADS; ++j) {
        const double share = (double)j / GRID_DEADS;
        thermal_guess next = grid_row(problem, problem->most_dead_s * share * share);
        for (size_t i = 0; i < STARTS; ++i) {
            if (next.cost < best[i].cost) {
                const thermal_guess worse = best[i];
                best[i] = next;
                next = worse;
            }
        }
    }
}

/* One step of Gauss and Newton on the shape, the linear part projected out; false when nothing is gained. */
static bool improve(const thermal_problem *problem, thermal_guess *guess)
{
    const size_t shapes = thermal_shapes(problem), linears = thermal_linears(problem);
    double solution[THERMAL_COLUMNS] = {0};
    double share = 1;
    thermal_triangle triangle;

    thermal_project(problem, true, guess);
    thermal_linearise(problem, guess, false, guess->shape[1] > 0, &triangle);
    thermal_triangle_solve(&triangle, solution);
    for (size_t j = 0; j < shapes; ++j) {
        const double most = j == 1 ? 0.5 * problem->most_dead_s : 1;
        if (fabs(solution[linears + j]) * share > most) {
            share = most / fabs(solution[linears + j]);
        }
    }
    for (size_t i = 0; i < HALVINGS; ++i, share /= 2) {
        thermal_guess next = *guess;
        for (size_t j = 0; j < shapes; ++j) {
            next.shape[j] += share * solution[linears + j];
        }
        clamp(problem, next.shape);
        thermal_project(problem, false, &next);
        if (next.cost < guess->cost && next.linear[1] > 0) {
            const bool worth = next.cost < guess->cost * (1 - 1e-10);
            *guess = next;
            return worth;
        }
    }
    return false;
}

static void search(const thermal_problem *problem, thermal_guess *guess)
{
    for (size_t i = 0; i < STEPS && improve(problem, guess); ++i) {
    }
    thermal_project(problem, true, guess);
}

/* ---- robust weights
 * ----------------------------------------------------------------------------------------- */

/* The value that half of the others lie below; moves the values about (C. A. R. Hoare, 1961). */
static double middle_of(double values[], size_t count)
{
    const size_t wanted = count / 2;
    size_t low = 0, high = count - 1;

    while (low < high) {
        const double pivot = values[low + (high - low) / 2];
        size_t i = low, j = high;
        for (;;) {
            while (values[i] < pivot) {
                ++i;
            }
            while (values[j] > pivot) {
                --j;
            }
            if (i >= j) {
                break;
            }
            const double swapped = values[i];
            values[i++] = values[j];
            values[j--] = swapped;
        }
        if (wanted <= j) {
            high = j;
        } else {
            low = j + 1;
        }
    }
    return values[wanted];
}

/* How far a reading stands out. Residuals that follow each other are the model's fault, not the readings':
   there only a reading that leaves its neighbours stands out. */
static double deviation(const ovp_thermal_record *record, size_t i, bool wander)
{
    const ovp_thermal_block *block = &record->blocks[i];

    if (!wander || i == 0 || i + 1 == record->count || block[-1].readings <= 0 || block[1].readings <= 0) {
        return wander ? 0 : fabs(block->residual_C);
    }
    return fabs(block->residual_C - 0.5 * (block[-1].residual_C + block[1].residual_C));
}

/* Standard deviation of the residuals by their median size, so that outliers do not count. */
static double robust_scale(const ovp_thermal_record *record, bool wander)
{
    double sizes[OVP_THERMAL_BLOCKS] = {0};
    size_t count = 0;

    for (size_t i = 0; i < record->count; ++i) {
        if (record->blocks[i].readings > 0) {
            sizes[count++] = deviation(record, i, wander);
        }
    }
    return count > 0 ? middle_of(sizes, count) / normal_quartile : 0;
}

static void weigh(ovp_thermal_record *record, bool wander, double bound_C)
{
    for (size_t i = 0; i < record->count; ++i) {
        const double size = deviation(record, i, wander);
        record->blocks[i].weight = size > bound_C && bound_C > 0 ? bound_C / size : 1;
    }
}

/* ---- what the residuals say
 * ----------------------------------------------------------------------------------- */

/* Wald and Wolfowitz 1940: fewer runs of one sign than chance gives mean that the model is not the oven. */
static double runs_test(double above, double below, double runs)
{
    const double all = above + below;
    const double mean = 2 * above * below / all + 1;
    const double variance = (mean - 1) * (mean - 2) / (all - 1);

    return variance > 0 ? (runs - mean) / sqrt(variance) : 0;
}

static void judge_residuals(const ovp_thermal_record *record, ovp_thermal_fit *fit)
{
    double squares = 0, products = 0, steps = 0, above = 0, below = 0, runs = 0;
    const ovp_thermal_block *before = NULL;

    for (size_t i = 0; i < record->count; ++i) {
        const ovp_thermal_block *block = &record->blocks[i];
        if (block->readings <= 0) {
            continue;
        }
        ++fit->readings;
        squares += block->residual_C * block->residual_C;
        *(block->residual_C > 0 ? &above : &below) += 1;
        if (before) {
            const double step = block->residual_C - before->residual_C;
            products += block->residual_C * before->residual_C;
            steps += step * step;
        }
        runs += !before || (before->residual_C > 0) != (block->residual_C > 0);
        before = block;
    }
    const double count = (double)fit->readings;
    fit->rms_C = sqrt(squares / count);
    fit->noise_C = sqrt(steps / (2 * (count - 1)));
    fit->correlation = squares > 0 ? products / squares : 0;
    fit->runs_sigma = runs_test(above, below, runs);
    fit->adequate = fit->runs_sigma > -normal_95 - 1 || fit->rms_C < 2 * fit->noise_C;
}

/* Mean drive between two times. */
static double drive_between(const ovp_thermal_record *record, double from_s, double to_s)
{
    double held_s = 0, sum = 0;

    for (size_t i = 0; i < record->count; ++i) {
        const ovp_thermal_block *block = &record->blocks[i];
        if (block->from_s >= from_s && block->from_s < to_s) {
            held_s += block->held_s;
            sum += block->held_s * block->drive;
        }
    }
    return held_s > 0 ? sum / held_s : 0;
}

/* A plateau near boiling while heat stays on is water leaving: slower than a quarter of the rise before and
   of the rise after, by more than a minute. Returns the time it took. */
static double wet_time(const ovp_thermal_record *record)
{
    const double from_C = thermal_figure("wet_from_C"), to_C = thermal_figure("wet_to_C");
    const double bounds_C[4] = {2 * from_C - to_C, from_C, to_C, 2 * to_C - from_C};
    double at_s[4] = {NAN, NAN, NAN, NAN};

    for (size_t i = 0; i < record->count; ++i) {
        const ovp_thermal_block *block = &record->blocks[i];
        for (size_t j = 0; j < 4 && block->readings > 0; ++j) {
            if (isnan(at_s[j]) && block->temperature_C >= bounds_C[j]) {
                at_s[j] = block->time_s;
            }
        }
    }
    const double dry_s = fmax(at_s[1] - at_s[0], at_s[3] - at_s[2]), took_s = at_s[2] - at_s[1];
    const bool wet = took_s - dry_s > thermal_figure("wet_extra_s") &&
                     took_s * thermal_figure("wet_slope_share") > dry_s &&
                     drive_between(record, at_s[1], at_s[2]) > 0.5 * drive_between(record, at_s[0], at_s[1]);
    return wet ? took_s - dry_s : 0;
}

/* ---- intervals
 * --------------------------------------------------------------------------------------------- */

/* Variance of one reading as the robust fit sees it, widened for readings that follow each other. */
static double reading_variance(const thermal_problem *problem, const ovp_thermal_fit *fit)
{
    const ovp_thermal_record *record = problem->record;
    double squares = 0, inside = 0;

    for (size_t i = 0; i < record->count; ++i) {
        const ovp_thermal_block *block = &record->blocks[i];
        if (block->readings > 0) {
            const double pulled = block->residual_C * block->weight;
            squares += pulled * pulled;
            inside += block->weight >= 1;
        }
    }
    const double count = (double)fit->readings;
    const double free = fmax(count - (double)(thermal_linears(problem) + thermal_shapes(problem)), 1);
    const double rho = fmin(fmax(fit->correlation, 0), 0.995);
    const double efficiency = fmax(inside / count, 0.5);
    return squares / free / (efficiency * efficiency) * (1 + rho) / (1 - rho);
}

static ovp_thermal_estimate estimate(double value, double variance)
{
    const double half = normal_95 * sqrt(variance);

    return (ovp_thermal_estimate){value, value - half, value + half};
}

static ovp_thermal_estimate estimate_log(double logarithm, double variance)
{
    const double half = fmin(normal_95 * sqrt(variance), 7); /* a thousand times either way: not known */

    return (ovp_thermal_estimate){exp(logarithm), exp(logarithm - half), exp(logarithm + half)};
}

static void take_estimates(const thermal_problem *problem, const thermal_guess *guess, ovp_thermal_fit *fit)
{
    const size_t linears = thermal_linears(problem);
    double variance[THERMAL_COLUMNS] = {0};
    thermal_triangle triangle;

    /* At dead time 0 the slopes are those of half a step later: at 0 itself they part nothing. */
    thermal_guess near = *guess;
    near.shape[1] = fmax(near.shape[1], problem->least_lag_s);
    thermal_linearise(problem, &near, true, true, &triangle);
    thermal_triangle_variances(&triangle, variance);
    const double one = reading_variance(problem, fit);
    fit->gain_C = estimate(guess->linear[1], one * variance[1]);
    fit->time_constant_s[0] = estimate_log(guess->shape[0], one * variance[linears]);
    fit->dead_time_s = estimate(guess->shape[1], one * variance[linears + 1]);
    fit->dead_time_s.low = fmax(fit->dead_time_s.low, 0);
    if (problem->order > 1) {
        fit->time_constant_s[1] = estimate_log(guess->shape[2], one * variance[linears + 2]);
    }
    const double lags_s = fit->time_constant_s[0].value + fit->time_constant_s[1].value;
    /* Gain and lag of a short run move together; their ratio is as good as the readings over the run. */
    const double seen = one / ((double)fit->readings * fmax(fit->seen_s * fit->seen_s / 12, 1e-9));
    fit->slope_C_per_s = estimate(guess->linear[1] / lags_s, seen);
}

/* ---- front
 * ----------------------------------------------------------------------------------------------------- */

/* Since heat first changed, s; NAN when it never did. */
static double time_since_change(const ovp_thermal_record *record, ovp_thermal_history history)
{
    const double before = history == OVP_THERMAL_COLD ? 0 : record->blocks[0].drive;

    for (size_t i = 0; i < record->count; ++i) {
        if (fabs(record->blocks[i].drive - before) > 0.01) {
            return record->last_s - record->blocks[i].from_s;
        }
    }
    return NAN;
}

static ovp_status check(const ovp_thermal_record *record, ovp_thermal_history history, ovp_error *error)
{
    size_t readings = 0;

    for (size_t i = 0; i < record->count; ++i) {
        readings += record->blocks[i].readings > 0;
    }
    if (readings < LEAST_READINGS) {
        return ovp_error_set(error, OVP_ERROR_DATA, "has %zu readings, at least %d are needed", readings,
                             LEAST_READINGS);
    }
    if (isnan(time_since_change(record, history))) {
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "the output never changes, so it shows nothing of the oven");
    }
    return OVP_OK;
}

ovp_status ovp_thermal_identify(ovp_thermal_record *record, ovp_thermal_history history, size_t order,
                                ovp_thermal_fit *fit, ovp_error *error)
{
    const ovp_status status = check(record, history, error);
    if (status != OVP_OK) {
        return status;
    }
    const double duration_s = record->last_s - record->blocks[0].from_s;
    const thermal_problem problem = {
        .record = record,
        .history = history,
        .order = order > 1 ? 2 : 1,
        .most_dead_s = 0.25 * duration_s,
        .least_lag_s = 0.5 * duration_s / (double)record->count,
        .most_lag_s = 20 * duration_s,
    };

    weigh(record, false, 0);
    thermal_guess starts[STARTS];
    grid_best(&problem, starts);
    if (!isfinite(starts[0].cost)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "the temperature does not rise with the output");
    }
    thermal_guess guess = starts[0];
    for (size_t i = 0; i < STARTS && isfinite(starts[i].cost); ++i) {
        search(&problem, &starts[i]);
        guess = starts[i].cost <= guess.cost ? starts[i] : guess;
    }
    thermal_project(&problem, true, &guess);
    ovp_thermal_fit plain = {0};
    judge_residuals(record, &plain);
    const bool wander = plain.correlation > thermal_figure("wander_correlation");
    for (size_t i = 0; i < ROUNDS; ++i) {
        const double bound_C = thermal_figure("huber_bound") * robust_scale(record, wander);
        weigh(record, wander, bound_C);
        search(&problem, &guess);
    }
    if (!(guess.linear[1] > 0)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "the temperature does not rise with the output");
    }
    *fit = (ovp_thermal_fit){.order = problem.order, .base_C = guess.linear[0]};
    fit->process = (ovp_thermal_process){
        .gain = guess.linear[1],
        .dead_time_s = guess.shape[1],
        .time_constants_s = {exp(guess.shape[0]), problem.order > 1 ? exp(guess.shape[2]) : 0}};
    judge_residuals(record, fit);
    fit->seen_s = time_since_change(record, history) - guess.shape[1];
    fit->too_short = fit->seen_s < thermal_figure("least_lags_seen") * fit->process.time_constants_s[0];
    fit->wet_s = wet_time(record);
    take_estimates(&problem, &guess, fit);
    return OVP_OK;
}

ovp_status ovp_thermal_identify_best(ovp_thermal_record *record, ovp_thermal_history history,
                                     ovp_thermal_fit *fit, ovp_error *error)
{
    ovp_thermal_fit one = {0}, two = {0};

    const ovp_status status = ovp_thermal_identify(record, history, 1, &one, error);
    if (status != OVP_OK) {
        return status;
    }
    *fit = one;
    if (ovp_thermal_identify(record, history, 2, &two, NULL) != OVP_OK) {
        return OVP_OK;
    }
    const double rho = fmin(fmax(two.correlation, 0), 0.995);
    const double independent = (double)two.readings * (1 - rho) / (1 + rho);
    const double gained = independent * 2 * log(one.rms_C / fmax(two.rms_C, 1e-12));
    if (gained > log((double)two.readings) &&
        two.time_constant_s[1].low > 0.05 * two.time_constant_s[1].value) {
        *fit = two;
        return OVP_OK;
    }
    return ovp_thermal_identify(record, history, 1, fit, error); /* residuals of the one that is told */
}
