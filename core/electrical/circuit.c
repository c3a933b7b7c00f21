#include "electrical/electrical_internal.h"

#include <math.h>

static double series_ohm(const ovp_oven *oven)
{
    double cord_ohm = NAN;
    bool cord = ovp_electrical_cord_ohm(oven->supply.cord, &cord_ohm);
    if (isnan(oven->supply.line_ohms))
        return cord ? cord_ohm : NAN;
    return oven->supply.line_ohms + (cord ? cord_ohm : 0.0);
}

ovp_status ovp_electrical_circuit_of(const ovp_oven *oven, const ovp_electrical_load *load,
                                     ovp_electrical_circuit *circuit, ovp_error *error)
{
    if (isnan(oven->supply.circuit_A)) {
        ovp_error_set(error, OVP_ERROR_DATA, "the oven's description has no supply.circuit");
        ovp_error_hint(error, "add the breaker's rating: ovenproof describe FILE --set supply.circuit=20A");
        return OVP_ERROR_DATA;
    }
    ovp_electrical_circuit made = {
        .load_A = load->total_A,
        .circuit_A = oven->supply.circuit_A,
        .share = load->total_A / oven->supply.circuit_A,
        .continuous_A = electrical_figure("continuous_share") * oven->supply.circuit_A,
        .shared = oven->supply.shared,
        .series_ohm = series_ohm(oven),
    };
    /* 15.000000000000002 A on 15 A is 15 A */
    double slack = 1e-9 * made.circuit_A;
    made.within_rating = made.load_A <= made.circuit_A + slack;
    made.within_continuous = made.load_A <= made.continuous_A + slack;
    double left = load->hot_ohm / (load->hot_ohm + made.series_ohm);
    made.lost_V = load->full_A * load->hot_ohm * (1.0 - left);
    made.power_left = left * left;
    *circuit = made;
    return OVP_OK;
}
