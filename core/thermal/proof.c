/* A heat-up time carried to other volts and another room by the exponent of its own climb. */
#include "ovenproof/thermal_proof.h"
#include "thermal/thermal_internal.h"

#include <math.h>

enum {
    TERMS = 3,          /* level, slope and bend of ln t over ln rise */
    LEAST_READINGS = 3, /* two give a line that nothing proves */
    BEND_READINGS = 8,  /* from so many a bend can be told */
    WIDEST = 3,         /* times the usual window */
};

static const double window_low = -0.5, window_high = 0.15; /* of ln rise, about the mark */
static const double beyond_most = 0.2;                     /* past the end of the climb */
static const double least_step = 0.1;                      /* ln of power: a bend wants some distance */
static const double longest_s = 12 * 3600.0;

const char *ovp_thermal_decision_name(ovp_thermal_decision decision)
{
    static const char *const names[] = {"cannot-say", "pass", "fail"};
    return names[decision];
}

ovp_thermal_decision ovp_thermal_decide(double time_s, double time_U_s, double within_s)
{
    return time_s + time_U_s <= within_s  ? OVP_THERMAL_PASS
           : time_s - time_U_s > within_s ? OVP_THERMAL_FAIL
                                          : OVP_THERMAL_CANNOT_SAY;
}

double ovp_thermal_meter_volts_U(void)
{
    return thermal_figure("proof_meter_volts_U");
}

double ovp_thermal_unread_volts_U(void)
{
    return thermal_figure("line_share");
}

ovp_thermal_bend ovp_thermal_usual_bend(void)
{
    return (ovp_thermal_bend){thermal_figure("proof_bend"), NAN};
}

/* ---- the climb about a mark --------------------------------------------------------------------------- */

/* First passage of a level, s; NAN when it is not reached. */
static double passage(const ovp_thermal_climb *climb, double level_C)
{
    for (size_t i = 0; i < climb->count; ++i) {
        const double above_C = climb->temperature_C[i] - level_C;
        if (above_C < 0) {
            continue;
        }
        if (i == 0) {
            return climb->time_s[0];
        }
        const double step_C = climb->temperature_C[i] - climb->temperature_C[i - 1];
        return climb->time_s[i] - (climb->time_s[i] - climb->time_s[i - 1]) * above_C / step_C;
    }
    return NAN;
}

/* ln t = level + slope u + bend u^2 by least squares, u = ln(rise / rise at the mark). */
typedef struct curve {
    size_t terms, readings;
    double beta[TERMS], covariance[TERMS][TERMS];
    double u_low, u_high;
} curve;

typedef struct sums {
    double xx[TERMS][TERMS], xy[TERMS];
} sums;

static void powers(double u, double x[TERMS])
{
    x[0] = 1;
    x[1] = u;
    x[2] = u * u;
}

/* Inverse of the leading block of a symmetric positive matrix; false when it is singular. */
static bool invert(const double matrix[TERMS][TERMS], size_t terms, double inverse[TERMS][TERMS])
{
    double work[TERMS][2 * TERMS] = {{0}};

    for (size_t i = 0; i < terms; ++i) {
        for (size_t k = 0; k < terms; ++k) {
            work[i][k] = matrix[i][k];
        }
        work[i][terms + i] = 1;
    }
    for (size_t i = 0; i < terms; ++i) {
        const double pivot = work[i][i];
        if (!(pivot > 1e-12 * matrix[i][i])) {
            return false;
        }
        for (size_t k = 0; k < 2 * terms; ++k) {
            work[i][k] /= pivot;
        }
        for (size_t j = 0; j < terms; ++j) {
            const double share = work[j][i];
            for (size_t k = 0; j != i && k < 2 * terms; ++k) {
                work[j][k] -= share * work[i][k];
            }
        }
    }
    for (size_t i = 0; i < terms; ++i) {
        for (size_t k = 0; k < terms; ++k) {
            inverse[i][k] = work[i][terms + k];
        }
    }
    return true;
}

typedef struct window {
    const ovp_thermal_climb *climb;
    double rise_C; /* at the mark */
    double low, high;
} window;

/* False outside the window. */
static bool point_of(const window *part, size_t i, double *u, double *y)
{
    const double rise_C = part->climb->temperature_C[i] - part->climb->start_C;

    if (!(rise_C > 0) || !(part->climb->time_s[i] > 0)) {
        return false;
    }
    *u = log(rise_C / part->rise_C);
    *y = log(part->climb->time_s[i]);
    return *u >= part->low && *u <= part->high;
}

static void add_up(const window *part, curve *fit, sums *all)
{
    fit->readings = 0;
    fit->u_low = INFINITY;
    fit->u_high = -INFINITY;
    for (size_t i = 0; i < part->climb->count; ++i) {
        double u, y, x[TERMS];
        if (!point_of(part, i, &u, &y)) {
            continue;
        }
        powers(u, x);
        for (size_t a = 0; a < TERMS; ++a) {
            all->xy[a] += x[a] * y;
            for (size_t b = 0; b < TERMS; ++b) {
                all->xx[a][b] += x[a] * x[b];
            }
        }
        fit->u_low = fmin(fit->u_low, u);
        fit->u_high = fmax(fit->u_high, u);
        ++fit->readings;
    }
}

/* Variance of one reading; residuals that follow each other count as fewer (first-order autoregression). */
static double scatter(const window *part, const curve *fit)
{
    double squares = 0, products = 0, before = NAN;

    for (size_t i = 0; i < part->climb->count; ++i) {
        double u, y, x[TERMS];
        if (!point_of(part, i, &u, &y)) {
            continue;
        }
        powers(u, x);
        double residual = y;
        for (size_t k = 0; k < fit->terms; ++k) {
            residual -= fit->beta[k] * x[k];
        }
        squares += residual * residual;
        products += isnan(before) ? 0 : residual * before;
        before = residual;
    }
    const double freedom = fmax((double)fit->readings - (double)fit->terms, 1);
    const double follow = squares > 0 ? fmin(fmax(products / squares, 0), 0.98) : 0;
    return squares / freedom * (1 + follow) / (1 - follow);
}

static bool fit_curve(const window *part, curve *fit)
{
    sums all = {{{0}}, {0}};
    double inverse[TERMS][TERMS];

    *fit = (curve){0};
    add_up(part, fit, &all);
    fit->terms = fit->readings >= BEND_READINGS ? TERMS : 2;
    if (fit->readings < LEAST_READINGS || !(fit->u_high - fit->u_low > least_step) ||
        !invert((const double(*)[TERMS])all.xx, fit->terms, inverse)) {
        return false;
    }
    for (size_t i = 0; i < fit->terms; ++i) {
        for (size_t k = 0; k < fit->terms; ++k) {
            fit->beta[i] += inverse[i][k] * all.xy[k];
        }
    }
    const double variance = scatter(part, fit);
    for (size_t i = 0; i < fit->terms; ++i) {
        for (size_t k = 0; k < fit->terms; ++k) {
            fit->covariance[i][k] = variance * inverse[i][k];
        }
    }
    return true;
}

/* Exponent of the volts between the mark and u, and its standard deviation: twice the mean slope. */
static double exponent_to(const curve *fit, double u, double *deviation)
{
    const double variance =
        fit->covariance[1][1] + 2 * u * fit->covariance[1][2] + u * u * fit->covariance[2][2];

    *deviation = 2 * sqrt(fmax(variance, 0));
    return 2 * (fit->beta[1] + u * fit->beta[2]);
}

/* ---- carrying ----------------------------------------------------------------------------------------- */

/* How far the wanted conditions are: ln of the power's share and of the rise's share, as a place on the
 * climb. */
static double place(const ovp_thermal_proof_run *run, const ovp_thermal_proof_aim *aim)
{
    return 2 * log(run->supply_V / aim->supply_V) +
           log((aim->to_C - aim->ambient_C) / (aim->to_C - run->climb.start_C));
}

static ovp_status refuse(ovp_error *error, const char *why)
{
    return ovp_error_set(error, OVP_ERROR_DATA, "%s", why);
}

static ovp_status read_exponent(const ovp_thermal_proof_run *run, double to_C, double u, double *exponent,
                                double *deviation, ovp_error *error)
{
    curve fit;
    bool fitted = false;

    /* A run noted by hand has few readings near the mark: those further off must do. */
    for (int wider = 1; wider <= WIDEST && !fitted; ++wider) {
        const window part = {&run->climb, to_C - run->climb.start_C, fmin(wider * window_low, u - least_step),
                             fmax(wider * window_high, u + least_step)};
        fitted = fit_curve(&part, &fit);
    }
    if (!fitted) {
        return refuse(error, "too few readings about the mark to tell what the oven loses there");
    }
    if (u > fit.u_high + beyond_most || u < fit.u_low - beyond_most) {
        return refuse(error, "the climb does not hold the stretch that the correction is read from");
    }
    *exponent = exponent_to(&fit, u, deviation);
    return OVP_OK;
}

static double square(double value)
{
    return value * value;
}

ovp_status ovp_thermal_prove(const ovp_thermal_proof_run *run, const ovp_thermal_proof_aim *aim,
                             const ovp_thermal_bend *bend, ovp_thermal_proof *proof, ovp_error *error)
{
    ovp_thermal_proof made = {.least_V = NAN,
                              .run_s = isnan(aim->run_s) ? passage(&run->climb, aim->to_C) : aim->run_s};
    const double rise_C = aim->to_C - run->climb.start_C;
    double deviation = 0;

    if (isnan(made.run_s) || !(made.run_s > 0) || !(rise_C > 0) || !(aim->to_C > aim->ambient_C)) {
        return refuse(error, "the mark was not reached in one climb at full heat");
    }
    if (fabs(log(run->supply_V / aim->supply_V)) > thermal_figure("proof_volts_most")) {
        return refuse(error, "the volts of the run are too far from those asked for");
    }
    const double u = place(run, aim);
    const ovp_status status = read_exponent(run, aim->to_C, u, &made.exponent, &deviation, error);
    if (status != OVP_OK) {
        return status;
    }
    double bend_U = 0;
    if (bend != NULL) {
        made.exponent *= bend->share;
        deviation *= bend->share;
        bend_U = isnan(bend->exponent)
                     ? thermal_figure("proof_bend_U") * made.exponent
                     : hypot(thermal_figure("proof_exponent_U"), made.exponent - bend->exponent);
    }
    made.exponent_U = hypot(2 * deviation, bend_U);
    made.loss_share = fmax(1 - 2 / made.exponent, 0);
    const double by_rise = fabs(made.exponent) / 2 / rise_C; /* d ln t / dT */
    made.run_U_s = hypot(run->time_U_s, made.run_s * by_rise * run->reading_U_C);
    made.time_s = made.run_s * exp(made.exponent * u / 2);
    made.time_U_s = made.time_s * sqrt(square(made.run_U_s / made.run_s) + square(made.exponent_U * u / 2) +
                                       square(made.exponent * run->supply_U_V / run->supply_V) +
                                       square(by_rise * run->start_U_C));
    made.least_V = aim->supply_V * pow(made.time_s / aim->within_s, 1 / made.exponent);
    made.decision = ovp_thermal_decide(made.time_s, made.time_U_s, aim->within_s);
    *proof = made;
    return OVP_OK;
}

/* ---- what the oven model says of the bend ---------------------------------------------------------------
 */

static double model_step(double run_V, double aim_V)
{
    const double step = 2 * log(run_V / aim_V);

    return fabs(step) >= least_step ? step : step > 0 ? least_step : -least_step;
}

void ovp_thermal_bends(const ovp_thermal_parameters *model, double run_V, double aim_V, const double to_C[],
                       size_t count, ovp_thermal_bend bends[])
{
    const double step = model_step(run_V, aim_V);
    ovp_thermal_parameters run = *model, aim = *model;
    double lower_C[OVP_OVEN_HEAT_UP], run_s[OVP_OVEN_HEAT_UP], aim_s[OVP_OVEN_HEAT_UP],
        lower_s[OVP_OVEN_HEAT_UP];

    run.supply_V = run_V;
    aim.supply_V = run_V * exp(-step / 2);
    for (size_t i = 0; i < count; ++i) {
        lower_C[i] = model->start_C + (to_C[i] - model->start_C) * exp(step);
    }
    ovp_thermal_heat_up(&run, to_C, count, longest_s, run_s);
    ovp_thermal_heat_up(&aim, to_C, count, longest_s, aim_s);
    ovp_thermal_heat_up(&run, lower_C, count, longest_s, lower_s);
    for (size_t i = 0; i < count; ++i) {
        const double linear = 2 * log(lower_s[i] / run_s[i]) / step,
                     own = 2 * log(aim_s[i] / run_s[i]) / step;
        bends[i] = isfinite(own / linear) && linear > 0 && own > 0 ? (ovp_thermal_bend){own / linear, own}
                                                                   : ovp_thermal_usual_bend();
    }
}
