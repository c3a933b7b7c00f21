/* Private to the room: the published pieces and their evaluation in doubled precision. */
#ifndef OVENPROOF_THERMOCOUPLE_INTERNAL_H
#define OVENPROOF_THERMOCOUPLE_INTERNAL_H

#include "ovenproof/thermocouple.h"

enum {
    TC_COEFFICIENTS = 15,
    TC_PIECES = 3, /* the most that one type has */
};

/* A number as the sum of two doubles: about 32 digits. */
typedef struct tc_double {
    double high, low;
} tc_double;

/* One row of reference/its90-emf-from-temperature.csv. */
typedef struct tc_piece {
    const char *type;
    double low_C, high_C;
    int order;
    double a0_mV, a1_per_C2, a2_C; /* NAN: no exponential term */
    tc_double c[TC_COEFFICIENTS];
} tc_piece;

/* The pieces of a type, coldest first; *count of them. */
const tc_piece *tc_pieces_of(ovp_tc_type type, size_t *count);
/* The piece that holds a temperature inside the type's range; the lower one at a join. */
const tc_piece *tc_piece_at(ovp_tc_type type, double temperature_C);

/* Emf (doubled precision, and plain) and slope of a piece, continued beyond its ends if need be. */
tc_double tc_piece_emf(const tc_piece *piece, double temperature_C);
double tc_piece_emf_plain(const tc_piece *piece, double temperature_C);
double tc_piece_slope(const tc_piece *piece, double temperature_C);

/*
 * The root of piece(t) = emf between low_C and high_C, where the piece is monotone; the nearer end when
 * the emf is not between the ends'.
 */
double tc_piece_solve(const tc_piece *piece, double emf_mV, double low_C, double high_C);

/* Half a unit of the last published place: what a range end is accepted beyond. */
#define TC_END_MV 0.0005
/* Type B is monotone above its minimum, and has one temperature for one emf above its second zero. */
#define TC_B_MINIMUM_C 21.020
#define TC_B_SINGLE_C 42.132

#endif
