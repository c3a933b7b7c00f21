/* Temperature of an emf: the root of the published function itself, never of the published approximate
 * inverse. */
#include "thermocouple/thermocouple_internal.h"

#include <math.h>

/* Plain double is good to about 2e-8 degC at worst (near -270): as near as the first steps need to come. */
static double step_of(const tc_piece *piece, double emf_mV, double t, bool last_steps)
{
    double slope = tc_piece_slope(piece, t);
    if (!last_steps)
        return (tc_piece_emf_plain(piece, t) - emf_mV) / slope;
    tc_double emf = tc_piece_emf(piece, t);
    return ((emf.high - emf_mV) + emf.low) / slope;
}

/* Newton's step where it stays inside the bracket, else (and if it dawdles) the middle. */
double tc_piece_solve(const tc_piece *piece, double emf_mV, double low_C, double high_C)
{
    double low_mV = tc_piece_emf(piece, low_C).high, high_mV = tc_piece_emf(piece, high_C).high;
    bool rising = high_mV > low_mV;
    if (rising ? emf_mV <= low_mV : emf_mV >= low_mV)
        return low_C;
    if (rising ? emf_mV >= high_mV : emf_mV <= high_mV)
        return high_C;
    double t = low_C + (high_C - low_C) * ((emf_mV - low_mV) / (high_mV - low_mV));
    double below_C = low_C, above_C = high_C;
    bool last_steps = false;
    for (int i = 0; i < 200; i++) {
        double step = step_of(piece, emf_mV, t, last_steps);
        if (step == 0.0 && last_steps)
            return t;
        if (step > 0.0)
            above_C = t;
        else
            below_C = t;
        double next = t - step;
        if (!(next > below_C && next < above_C) || i >= 60)
            next = below_C + 0.5 * (above_C - below_C);
        if (last_steps &&
            (fabs(next - t) <= 1e-15 * fabs(next) + 1e-16 || next == below_C || next == above_C))
            return next;
        if (!last_steps && (fabs(next - t) <= 1e-4 || i >= 40)) {
            last_steps = true; /* the bracket was drawn by coarser sums: draw it anew */
            below_C = low_C;
            above_C = high_C;
        }
        t = next;
    }
    return t;
}

static ovp_status refuse(ovp_tc_type type, double emf_mV, double low_mV, double high_mV, ovp_error *error)
{
    if (isnan(emf_mV))
        return ovp_error_set(error, OVP_ERROR_DATA, "the emf is not a number");
    if (type == OVP_TC_B && emf_mV < low_mV)
        return ovp_error_set(
            error, OVP_ERROR_DATA,
            "%.6g mV: a type B emf below that of %g °C (107.8 °F) belongs to two temperatures, "
            "so it cannot be read as one",
            emf_mV, TC_B_SINGLE_C);
    return ovp_error_set(error, OVP_ERROR_DATA, "%.6g mV is outside type %s, which goes from %.3f to %.3f mV",
                         emf_mV, ovp_tc_type_name(type), low_mV, high_mV);
}

/*
 * Lower piece wins: up to the emf of its upper end it has the answer; between that and the emf of the next
 * piece's lower end there is a gap, and the gap is the join.
 */
static double solve(const tc_piece *piece, size_t count, double low_C, double emf_mV)
{
    for (; count > 1; count--, piece++) {
        double end_mV = tc_piece_emf(piece, piece->high_C).high;
        if (emf_mV == end_mV)
            return piece->high_C;
        if (emf_mV < end_mV)
            return tc_piece_solve(piece, emf_mV, low_C, piece->high_C);
        if (emf_mV < tc_piece_emf(piece + 1, piece->high_C).high)
            return piece->high_C;
        low_C = piece->high_C;
    }
    return tc_piece_solve(piece, emf_mV, low_C, piece->high_C);
}

ovp_status ovp_tc_temperature(ovp_tc_type type, double emf_mV, double *temperature_C, ovp_error *error)
{
    size_t count = 0;
    const tc_piece *piece = tc_pieces_of(type, &count);
    const tc_piece *last = piece + count - 1;
    double low_C = type == OVP_TC_B ? TC_B_SINGLE_C : piece->low_C;
    double low_mV = tc_piece_emf(piece, low_C).high;
    double high_mV = tc_piece_emf(last, last->high_C).high;
    double beyond_mV = type == OVP_TC_B ? 0.0 : TC_END_MV;
    if (!(emf_mV >= low_mV - beyond_mV && emf_mV <= high_mV + TC_END_MV))
        return refuse(type, emf_mV, low_mV, high_mV, error);
    if (emf_mV == 0.0 && type != OVP_TC_B)
        *temperature_C = 0.0; /* exactly so in every type, and not a root's 1e-14 */
    else
        *temperature_C = solve(piece, count, low_C, emf_mV);
    return OVP_OK;
}

ovp_status ovp_tc_temperature_at(ovp_tc_type type, double emf_mV, double cold_C, double *temperature_C,
                                 ovp_error *error)
{
    double cold_mV = 0.0;
    ovp_status status = ovp_tc_emf(type, cold_C, &cold_mV, error);
    if (status != OVP_OK)
        return status;
    return ovp_tc_temperature(type, emf_mV + cold_mV, temperature_C, error);
}

ovp_status ovp_tc_emf_at(ovp_tc_type type, double temperature_C, double cold_C, double *emf_mV,
                         ovp_error *error)
{
    double hot_mV = 0.0, cold_mV = 0.0;
    ovp_status status = ovp_tc_emf(type, cold_C, &cold_mV, error);
    if (status == OVP_OK)
        status = ovp_tc_emf(type, temperature_C, &hot_mV, error);
    if (status == OVP_OK)
        *emf_mV = hot_mV - cold_mV;
    return status;
}
