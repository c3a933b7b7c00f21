/* Water left in a slab, from three weighings on an exponential. */
#include "thermal/thermal_internal.h"

#include <math.h>

enum {
    BISECTIONS = 200,
};

/* (1 - e^-a) / (e^-a (1 - e^-b)) with a = k first_s, b = k second_s: the loss before over the loss after. */
static double loss_ratio(double k, double first_s, double second_s)
{
    return expm1(k * first_s) / -expm1(-k * second_s);
}

/* Where the weight is going; NAN when the loss does not slow down. */
static double dry_weight(const ovp_thermal_weighing w[3], double *k)
{
    const double first_s = w[1].time_s - w[0].time_s, second_s = w[2].time_s - w[1].time_s;
    const double before_kg = w[0].kg - w[1].kg, after_kg = w[1].kg - w[2].kg;

    *k = NAN;
    if (after_kg <= 0) {
        return w[2].kg;
    }
    const double ratio = before_kg / after_kg;
    double low = 0, high = 1 / first_s;
    if (!(ratio > first_s / second_s)) {
        return NAN;
    }
    while (loss_ratio(high, first_s, second_s) < ratio) {
        high *= 2;
    }
    for (int i = 0; i < BISECTIONS; ++i) {
        const double middle = 0.5 * (low + high);
        if (loss_ratio(middle, first_s, second_s) < ratio) {
            low = middle;
        } else {
            high = middle;
        }
    }
    *k = low;
    return w[2].kg - after_kg / expm1(low * second_s);
}

static ovp_status check(const ovp_thermal_weighing w[3], ovp_error *error)
{
    for (int i = 0; i < 3; ++i) {
        if (!(w[i].kg > 0) || !isfinite(w[i].kg) || !isfinite(w[i].time_s)) {
            return ovp_error_set(error, OVP_ERROR_DATA, "a weight is not above zero");
        }
    }
    if (!(w[1].time_s > w[0].time_s && w[2].time_s > w[1].time_s)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "the weighings are not in order of time");
    }
    return OVP_OK;
}

ovp_status ovp_thermal_water_left(const ovp_thermal_weighing w[3], double resolution_kg,
                                  ovp_thermal_water *water, ovp_error *error)
{
    double k, other_k, sum = 0;
    const ovp_status status = check(w, error);

    if (status != OVP_OK) {
        return status;
    }
    if (w[1].kg > w[0].kg + resolution_kg || w[2].kg > w[1].kg + resolution_kg) {
        return ovp_error_set(error, OVP_ERROR_DATA, "the weight rises from one weighing to the next");
    }
    const double dry_kg = dry_weight(w, &k);
    if (!(dry_kg > 0)) {
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "the loss of weight does not slow down: no end can be foreseen yet");
    }
    /* the last digit is a rectangle: each weight moved by its standard deviation */
    const double deviation_kg = resolution_kg / sqrt(12);
    for (int i = 0; i < 3; ++i) {
        double worst_kg = 0;
        for (int sign = -1; sign <= 1; sign += 2) {
            ovp_thermal_weighing moved[3] = {w[0], w[1], w[2]};
            moved[i].kg += sign * deviation_kg;
            const double left_kg = moved[2].kg - dry_weight(moved, &other_k);
            const double change_kg = fabs(left_kg - (w[2].kg - dry_kg));
            worst_kg = isnan(change_kg) ? INFINITY : fmax(worst_kg, change_kg);
        }
        sum += worst_kg * worst_kg;
    }
    *water = (ovp_thermal_water){
        .dry_kg = dry_kg,
        .left_kg = fmax(0, w[2].kg - dry_kg),
        .left_U_kg = 2 * sqrt(sum),
        .halves_s = isnan(k) ? (double)NAN : log(2) / k,
    };
    water->share = water->left_kg / dry_kg;
    water->share_U = water->left_U_kg / dry_kg;
    return OVP_OK;
}
