/* The published functions, evaluated in doubled precision: near -270 degC the terms are a thousand times
 * their sum. */
#include "thermocouple/thermocouple_internal.h"

#include <math.h>
#include <string.h>

static const tc_piece pieces[] = {
#include "its90-emf-from-temperature.inc"
};

enum {
    PIECES = sizeof pieces / sizeof pieces[0],
};

static const char *const type_names[] = {"B", "C", "E", "J", "K", "N", "R", "S", "T", "copper"};

const char *ovp_tc_type_name(ovp_tc_type type)
{
    return type_names[type];
}

bool ovp_tc_type_named(ovp_span name, bool allow_copper, ovp_tc_type *type)
{
    name = ovp_span_trim(name);
    if (name.count > 4 && ovp_span_equals((ovp_span){name.bytes, 4}, "type"))
        name = ovp_span_trim((ovp_span){name.bytes + 4, name.count - 4});
    int count = allow_copper ? OVP_TC_TYPES + 1 : OVP_TC_TYPES;
    for (int i = 0; i < count; i++) {
        if (!ovp_span_equals(name, type_names[i]))
            continue;
        *type = (ovp_tc_type)i;
        return true;
    }
    return false;
}

const tc_piece *tc_pieces_of(ovp_tc_type type, size_t *count)
{
    size_t first = 0;
    while (first < PIECES && strcmp(pieces[first].type, type_names[type]) != 0)
        first++;
    size_t past = first;
    while (past < PIECES && strcmp(pieces[past].type, type_names[type]) == 0)
        past++;
    *count = past - first;
    return pieces + first;
}

const tc_piece *tc_piece_at(ovp_tc_type type, double temperature_C)
{
    size_t count = 0;
    const tc_piece *piece = tc_pieces_of(type, &count);
    for (; count > 1 && temperature_C > piece->high_C; count--)
        piece++;
    return piece;
}

/* a + b and a * b without rounding (Knuth 1969; Dekker 1971). No fma: the result is the same on every
 * machine. */
static tc_double exact_sum(double a, double b)
{
    double sum = a + b;
    double part = sum - a;
    return (tc_double){sum, (a - (sum - part)) + (b - part)};
}

static tc_double split(double a)
{
    double scaled = 134217729.0 * a; /* 2^27 + 1 */
    double high = scaled - (scaled - a);
    return (tc_double){high, a - high};
}

static tc_double exact_product(double a, double b)
{
    double product = a * b;
    tc_double x = split(a), y = split(b);
    double error = ((x.high * y.high - product) + x.high * y.low + x.low * y.high) + x.low * y.low;
    return (tc_double){product, error};
}

/* a * t + c */
static tc_double multiply_add(tc_double a, double t, tc_double c)
{
    tc_double product = exact_product(a.high, t);
    product.low += a.low * t;
    tc_double sum = exact_sum(product.high, c.high);
    return exact_sum(sum.high, sum.low + (product.low + c.low));
}

static double exponential(const tc_piece *piece, double temperature_C)
{
    double from_middle = temperature_C - piece->a2_C;
    return piece->a0_mV * exp(piece->a1_per_C2 * from_middle * from_middle);
}

tc_double tc_piece_emf(const tc_piece *piece, double temperature_C)
{
    tc_double emf = piece->c[piece->order];
    for (int i = piece->order - 1; i >= 0; i--)
        emf = multiply_add(emf, temperature_C, piece->c[i]);
    if (!isnan(piece->a0_mV)) {
        tc_double sum = exact_sum(emf.high, exponential(piece, temperature_C));
        emf = exact_sum(sum.high, sum.low + emf.low);
    }
    return emf;
}

double tc_piece_emf_plain(const tc_piece *piece, double temperature_C)
{
    double emf_mV = piece->c[piece->order].high;
    for (int i = piece->order - 1; i >= 0; i--)
        emf_mV = emf_mV * temperature_C + piece->c[i].high;
    return isnan(piece->a0_mV) ? emf_mV : emf_mV + exponential(piece, temperature_C);
}

double tc_piece_slope(const tc_piece *piece, double temperature_C)
{
    double slope = 0.0;
    for (int i = piece->order; i >= 1; i--)
        slope = slope * temperature_C + i * piece->c[i].high;
    if (!isnan(piece->a0_mV))
        slope += 2.0 * piece->a1_per_C2 * (temperature_C - piece->a2_C) * exponential(piece, temperature_C);
    return slope;
}

void ovp_tc_range(ovp_tc_type type, double *low_C, double *high_C, double *low_mV, double *high_mV)
{
    size_t count = 0;
    const tc_piece *piece = tc_pieces_of(type, &count);
    const tc_piece *last = piece + count - 1;
    *low_C = piece->low_C;
    *high_C = last->high_C;
    *low_mV = tc_piece_emf(piece, piece->low_C).high;
    *high_mV = tc_piece_emf(last, last->high_C).high;
}

static ovp_status check_temperature(ovp_tc_type type, double temperature_C, ovp_error *error)
{
    if (isnan(temperature_C))
        return ovp_error_set(error, OVP_ERROR_DATA, "the temperature is not a number");
    size_t count = 0;
    const tc_piece *piece = tc_pieces_of(type, &count);
    double low_C = piece->low_C, high_C = piece[count - 1].high_C;
    if (temperature_C >= low_C && temperature_C <= high_C)
        return OVP_OK;
    return ovp_error_set(
        error, OVP_ERROR_DATA, "%.6g °C is outside type %s, which goes from %g to %g °C (%g to %g °F)",
        temperature_C, ovp_tc_type_name(type), low_C, high_C, low_C * 1.8 + 32.0, high_C * 1.8 + 32.0);
}

ovp_status ovp_tc_emf(ovp_tc_type type, double temperature_C, double *emf_mV, ovp_error *error)
{
    ovp_status status = check_temperature(type, temperature_C, error);
    if (status != OVP_OK)
        return status;
    *emf_mV = tc_piece_emf(tc_piece_at(type, temperature_C), temperature_C).high;
    return OVP_OK;
}

ovp_status ovp_tc_seebeck(ovp_tc_type type, double temperature_C, double *mV_per_C, ovp_error *error)
{
    ovp_status status = check_temperature(type, temperature_C, error);
    if (status != OVP_OK)
        return status;
    *mV_per_C = tc_piece_slope(tc_piece_at(type, temperature_C), temperature_C);
    return OVP_OK;
}
