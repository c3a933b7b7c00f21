/* One lining as a tridiagonal chain, solved from the shell inward. */
#include "thermal/thermal_internal.h"

#include <math.h>

double thermal_radiation(double emissivity, double a_C, double b_C)
{
    const double a = a_C + THERMAL_KELVIN;
    const double b = b_C + THERMAL_KELVIN;

    return emissivity * THERMAL_STEFAN_BOLTZMANN * (a * a + b * b) * (a + b);
}

static double conductivity(const ovp_thermal_parameters *parameters, const ovp_thermal_lining *lining,
                           size_t i, double temperature_C)
{
    const double rise = 1 + lining->slope_per_K[i] * (temperature_C - 20);

    return parameters->conductivity_factor * lining->W_per_mK[i] * fmax(rise, 0.2);
}

void thermal_chain_prepare(const ovp_thermal_parameters *parameters, const ovp_thermal_lining *lining,
                           const double temperature_C[], double chamber_C, double step_s,
                           thermal_chain *chain)
{
    double half = 0; /* K/W from the middle of the slice before to its outer face */

    chain->count = lining->count;
    for (size_t i = 0; i < lining->count; ++i) {
        const double own = 0.5 * lining->thickness_m[i] /
                           (conductivity(parameters, lining, i, temperature_C[i]) * lining->area_m2[i]);
        if (i == 0) {
            const double film = parameters->face_W_per_m2K +
                                thermal_radiation(parameters->face_emissivity, chamber_C, temperature_C[0]);
            half = 1 / (film * lining->face_m2);
        }
        chain->inward[i] = 1 / (half + own);
        chain->capacity[i] =
            step_s > 0 ? lining->J_per_m3K[i] * lining->thickness_m[i] * lining->area_m2[i] / step_s : 0;
        chain->sink_W_per_K[i] = 0;
        chain->sink_W[i] = 0;
        half = own;
    }
    chain->direct_W_per_K = 0;
    chain->shell_W_per_K = 1 / (half + 1 / (parameters->shell_W_per_m2K * lining->outer_m2));
}

void thermal_chain_eliminate(const ovp_thermal_parameters *parameters, const double temperature_C[],
                             thermal_chain *chain)
{
    double outward = chain->shell_W_per_K;
    double share = 0; /* of the conductance outward that the slice beyond gives back */
    double from_outside = outward * parameters->ambient_C;

    for (size_t i = chain->count; i-- > 0;) {
        chain->diagonal[i] =
            chain->capacity[i] + chain->inward[i] + outward + chain->sink_W_per_K[i] - outward * share;
        chain->rest[i] = chain->capacity[i] * temperature_C[i] + from_outside +
                         chain->sink_W_per_K[i] * parameters->boils_C - chain->sink_W[i];
        if (i == 0) {
            chain->diagonal[0] += chain->direct_W_per_K;
        }
        share = chain->inward[i] / chain->diagonal[i];
        from_outside = share * chain->rest[i];
        outward = chain->inward[i];
    }
}

void thermal_chain_solve(const thermal_chain *chain, double chamber_C, double element_C,
                         double temperature_C[])
{
    double inner = chamber_C;
    double direct_W = chain->direct_W_per_K * element_C;

    for (size_t i = 0; i < chain->count; ++i) {
        inner = (chain->rest[i] + chain->inward[i] * inner + direct_W) / chain->diagonal[i];
        temperature_C[i] = inner;
        direct_W = 0;
    }
}
