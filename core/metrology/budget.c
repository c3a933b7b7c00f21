/* Uncertainty budgets: inputs with their shapes, combined by the law of propagation. */
#include "ovenproof/metrology.h"

#include <math.h>

bool ovp_metrology_shape_named(ovp_span word, ovp_metrology_shape *shape)
{
    static const char *const names[] = {"normal", "rectangular", "triangular", "u-shaped"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        if (!ovp_span_equals(ovp_span_trim(word), names[i]))
            continue;
        *shape = (ovp_metrology_shape)i;
        return true;
    }
    return false;
}

/* What the half-width is divided by. */
static double divisor_of(const ovp_metrology_input *input)
{
    switch (input->shape) {
    case OVP_METROLOGY_NORMAL:
        return input->k;
    case OVP_METROLOGY_RECTANGULAR:
        return sqrt(3.0);
    case OVP_METROLOGY_TRIANGULAR:
        return sqrt(6.0);
    case OVP_METROLOGY_U_SHAPED:
        break;
    }
    return sqrt(2.0);
}

double ovp_metrology_contribution(const ovp_metrology_input *input)
{
    return input->sensitivity * input->width / divisor_of(input);
}

/* ---- Student's t --------------------------------------------------------------------------------- */

/* ln Gamma by Stirling's series past 10, by recurrence below; lgamma() would write a global. */
static double log_gamma(double x)
{
    double shift = 0.0;
    while (x < 10.0) {
        shift += log(x);
        x += 1.0;
    }
    double square = x * x;
    double series =
        (1.0 / 12.0 - (1.0 / 360.0 - (1.0 / 1260.0 - 1.0 / (1680.0 * square)) / square) / square) / x;
    return (x - 0.5) * log(x) - x + 0.5 * log(2.0 * acos(-1.0)) + series - shift;
}

static double away_from_zero(double value)
{
    return fabs(value) < 1e-300 ? 1e-300 : value;
}

/* Continued fraction of the incomplete beta function (DLMF 8.17.22), by Lentz's method. */
static double beta_fraction(double a, double b, double x)
{
    double c = 1.0, d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0)), result = d;
    for (int i = 1; i < 1000; i++) {
        double m = i;
        double even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        double odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        result *= c * d;
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        result *= c * d;
        if (fabs(c * d - 1.0) < 1e-15)
            break;
    }
    return result;
}

/* Regularised incomplete beta function I_x(a, b), 0 < x < 1. */
static double incomplete_beta(double a, double b, double x)
{
    if (x > (a + 1.0) / (a + b + 2.0))
        return 1.0 - incomplete_beta(b, a, 1.0 - x);
    double front = exp(log_gamma(a + b) - log_gamma(a) - log_gamma(b) + a * log(x) + b * log1p(-x));
    return front * beta_fraction(a, b, x) / a;
}

/* P(|t| > k), which is I_x(freedom / 2, 1 / 2) at x = freedom / (freedom + k^2). */
static double two_tails(double k, double freedom)
{
    if (freedom > 1e7)
        return erfc(k / sqrt(2.0));
    if (k <= 0.0)
        return 1.0;
    return incomplete_beta(0.5 * freedom, 0.5, freedom / (freedom + k * k));
}

double ovp_metrology_student(double level, double freedom)
{
    double low = 0.0, high = 1.0;
    while (two_tails(high, freedom) > 1.0 - level && high < 1e12)
        high *= 2.0;
    for (int i = 0; i < 100; i++) {
        double middle = 0.5 * (low + high);
        if (two_tails(middle, freedom) > 1.0 - level)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* ---- combining ----------------------------------------------------------------------------------- */

static ovp_status check_input(const ovp_metrology_input *input, size_t index, ovp_error *error)
{
    int number = (int)index + 1;
    if (!isfinite(input->width) || input->width < 0.0)
        return ovp_error_set(error, OVP_ERROR_DATA, "input %d: a width of %g is not zero or above", number,
                             input->width);
    if (input->shape == OVP_METROLOGY_NORMAL && !(input->k > 0.0 && isfinite(input->k)))
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "input %d: a normal width needs its coverage factor k above zero", number);
    if (!isfinite(input->sensitivity))
        return ovp_error_set(error, OVP_ERROR_DATA, "input %d: no sensitivity", number);
    if (!(input->freedom > 0.0))
        return ovp_error_set(error, OVP_ERROR_DATA, "input %d: %g degrees of freedom are not above zero",
                             number, input->freedom);
    return OVP_OK;
}

static ovp_status check_budget(const ovp_metrology_budget *budget, double level, ovp_error *error)
{
    if (budget->count == 0 || budget->count > OVP_METROLOGY_INPUTS ||
        budget->correlation_count > OVP_METROLOGY_CORRELATIONS)
        return ovp_error_set(error, OVP_ERROR_DATA, "a budget has 1 to %d inputs and at most %d correlations",
                             OVP_METROLOGY_INPUTS, OVP_METROLOGY_CORRELATIONS);
    if (!(level > 0.0 && level < 1.0))
        return ovp_error_set(error, OVP_ERROR_DATA, "a coverage of %g is not between 0 and 1", level);
    for (size_t i = 0; i < budget->count; i++) {
        ovp_status status = check_input(budget->inputs + i, i, error);
        if (status != OVP_OK)
            return status;
    }
    for (size_t i = 0; i < budget->correlation_count; i++) {
        size_t a = budget->correlations[i].a, b = budget->correlations[i].b;
        double r = budget->correlations[i].r;
        if (a >= budget->count || b >= budget->count || a == b)
            return ovp_error_set(error, OVP_ERROR_DATA, "correlation %d does not name two different inputs",
                                 (int)i + 1);
        if (!(r >= -1.0 && r <= 1.0))
            return ovp_error_set(error, OVP_ERROR_DATA, "a correlation of %g is not between -1 and 1", r);
    }
    return OVP_OK;
}

ovp_status ovp_metrology_combine(const ovp_metrology_budget *budget, double level,
                                 ovp_metrology_combined *combined, ovp_error *error)
{
    ovp_status status = check_budget(budget, level, error);
    if (status != OVP_OK)
        return status;
    double variance = 0.0, over_freedom = 0.0;
    for (size_t i = 0; i < budget->count; i++) {
        double part = ovp_metrology_contribution(budget->inputs + i);
        variance += part * part;
        over_freedom += part * part * part * part / budget->inputs[i].freedom;
    }
    for (size_t i = 0; i < budget->correlation_count; i++)
        variance += 2.0 * budget->correlations[i].r *
                    ovp_metrology_contribution(budget->inputs + budget->correlations[i].a) *
                    ovp_metrology_contribution(budget->inputs + budget->correlations[i].b);
    if (!isfinite(variance * variance) || !isfinite(over_freedom))
        return ovp_error_set(error, OVP_ERROR_DATA, "the widths are too large to add up");
    variance = fmax(variance, 0.0);
    double freedom = over_freedom > 0.0 ? variance * variance / over_freedom : INFINITY;
    double k = ovp_metrology_student(level, fmax(1.0, floor(freedom)));
    *combined = (ovp_metrology_combined){sqrt(variance), freedom, k, k * sqrt(variance)};
    return OVP_OK;
}
