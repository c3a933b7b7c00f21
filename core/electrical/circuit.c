#include "electrical/electrical_internal.h"

#include <math.h>

static const struct wire_row {
    int awg;
    double ohm_per_1000ft, diameter_in;
    const char *source;
} wires[] = {
#include "awg.inc"
};

bool ovp_electrical_wire_ohm(int awg, double length_m, double *ohm)
{
    for (size_t i = 0; i < sizeof wires / sizeof wires[0]; i++) {
        if (wires[i].awg != awg)
            continue;
        *ohm = wires[i].ohm_per_1000ft / 304.8 * length_m;
        return true;
    }
    return false;
}

/* The next word of a cord's description, without the blanks around it. */
static ovp_span next_word(ovp_span *rest)
{
    *rest = ovp_span_trim(*rest);
    size_t length = 0;
    while (length < rest->count && rest->bytes[length] != ' ' && rest->bytes[length] != ',')
        length++;
    ovp_span word = {rest->bytes, length};
    size_t skip = length < rest->count ? length + 1 : length;
    *rest = (ovp_span){rest->bytes + skip, rest->count - skip};
    return word;
}

static bool scan_gauge(ovp_span word, int *awg)
{
    double number;
    size_t digits = ovp_text_scan_number(word, &number);
    if (digits == 0 || !(number >= 1 && number <= 40) ||
        !ovp_span_equals((ovp_span){word.bytes + digits, word.count - digits}, "awg"))
        return false;
    *awg = (int)number;
    return true;
}

bool ovp_electrical_cord_ohm(const char *cord, double *ohm)
{
    ovp_span rest = ovp_span_of(cord);
    double length_m = NAN, one_way_ohm;
    int awg = 0;
    while (rest.count > 0) {
        ovp_span word = next_word(&rest);
        double length;
        if (!scan_gauge(word, &awg) &&
            ovp_text_quantity(word, OVP_TEXT_LENGTH, OVP_TEXT_DEGREES_NONE, &length, NULL) == OVP_OK)
            length_m = length;
    }
    if (!(length_m > 0.0) || !ovp_electrical_wire_ohm(awg, length_m, &one_way_ohm))
        return false;
    *ohm = 2.0 * one_way_ohm;
    return true;
}

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
