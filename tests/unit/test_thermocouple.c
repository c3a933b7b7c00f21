/*
 * The published ITS-90 functions: forward, inverse, ends and joins.
 * Sources: NIST SRD 60 / NIST Monograph 175 (tables of B E J K N R S T), ASTM E230/E230M and IEC 60584-1 (C).
 */
#include "ovenproof/thermocouple.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Published entries, mV. Source: NIST SRD 60 / Monograph 175. */
static const struct {
    ovp_tc_type type;
    double temperature_C, emf_mV;
} published[] = {
    {OVP_TC_K, -270, -6.458},
    {OVP_TC_K, -200, -5.891},
    {OVP_TC_K, -100, -3.554},
    {OVP_TC_K, 100, 4.096},
    {OVP_TC_K, 500, 20.644},
    {OVP_TC_K, 800, 33.275},
    {OVP_TC_K, 1000, 41.276},
    {OVP_TC_K, 1300, 52.410},
    {OVP_TC_K, 1372, 54.886},
    {OVP_TC_J, -210, -8.095},
    {OVP_TC_J, 100, 5.269},
    {OVP_TC_J, 500, 27.393},
    {OVP_TC_J, 760, 42.919},
    {OVP_TC_J, 1000, 57.953},
    {OVP_TC_J, 1200, 69.553},
    {OVP_TC_T, -270, -6.258},
    {OVP_TC_T, -200, -5.603},
    {OVP_TC_T, -100, -3.379},
    {OVP_TC_T, 100, 4.279},
    {OVP_TC_T, 400, 20.872},
    {OVP_TC_E, -270, -9.835},
    {OVP_TC_E, 100, 6.319},
    {OVP_TC_E, 500, 37.005},
    {OVP_TC_E, 1000, 76.373},
    {OVP_TC_N, -270, -4.345},
    {OVP_TC_N, 100, 2.774},
    {OVP_TC_N, 500, 16.748},
    {OVP_TC_N, 1000, 36.256},
    {OVP_TC_N, 1300, 47.513},
    {OVP_TC_R, -50, -0.226},
    {OVP_TC_R, 100, 0.647},
    {OVP_TC_R, 500, 4.471},
    {OVP_TC_R, 1000, 10.506},
    {OVP_TC_R, 1500, 17.451},
    {OVP_TC_R, 1768, 21.101},
    {OVP_TC_S, -50, -0.236},
    {OVP_TC_S, 100, 0.646},
    {OVP_TC_S, 500, 4.233},
    {OVP_TC_S, 1000, 9.587},
    {OVP_TC_S, 1500, 15.582},
    {OVP_TC_S, 1768, 18.693},
    {OVP_TC_B, 100, 0.033},
    {OVP_TC_B, 500, 1.242},
    {OVP_TC_B, 1000, 4.834},
    {OVP_TC_B, 1500, 10.099},
    {OVP_TC_B, 1820, 13.820},
    /* the three hardest roundings of the eight tables */
    {OVP_TC_B, 1752, 13.037},
    {OVP_TC_T, 109, 4.702},
    {OVP_TC_S, 1249, 12.542},
};

static double rounded(double emf_mV)
{
    return round(emf_mV * 1000.0) / 1000.0;
}

static void published_entries(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof published / sizeof published[0]; i++) {
        double emf_mV = NAN;
        assert_int_equal(ovp_tc_emf(published[i].type, published[i].temperature_C, &emf_mV, NULL), OVP_OK);
        if (rounded(emf_mV) != published[i].emf_mV)
            fail_msg("type %s at %g: %.9f where %.3f is published", ovp_tc_type_name(published[i].type),
                     published[i].temperature_C, emf_mV, published[i].emf_mV);
    }
}

/* Hardest roundings to nine places, ASTM E230 type C values: computed from the published functions. */
static void published_functions_to_more_places(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double temperature_C, emf_mV, within_mV;
    } rows[] = {
        {OVP_TC_B, 1752, 13.037499989, 1e-9}, {OVP_TC_T, 109, 4.702499955, 1e-9},
        {OVP_TC_S, 1249, 12.541500250, 1e-9}, {OVP_TC_B, 1820, 13.820279, 1e-6},
        {OVP_TC_E, 1000, 76.372826, 1e-6},    {OVP_TC_J, 1200, 69.553180, 1e-6},
        {OVP_TC_K, 1372, 54.886364, 1e-6},    {OVP_TC_N, 1300, 47.512772, 1e-6},
        {OVP_TC_R, 1768.1, 21.102702, 1e-6},  {OVP_TC_S, 1768.1, 18.693541, 1e-6},
        {OVP_TC_T, 400, 20.871970, 1e-6},     {OVP_TC_E, -270, -9.834951, 1e-6},
        {OVP_TC_J, -210, -8.095380, 1e-6},    {OVP_TC_K, -270, -6.457738, 1e-6},
        {OVP_TC_N, -270, -4.345135, 1e-6},    {OVP_TC_R, -50, -0.226465, 1e-6},
        {OVP_TC_S, -50, -0.235555, 1e-6},     {OVP_TC_T, -270, -6.257505, 1e-6},
        {OVP_TC_B, 21.020, -0.002585, 1e-6},  {OVP_TC_C, 100, 1.4515, 5.1e-5},
        {OVP_TC_C, 500, 8.6569, 5.1e-5},      {OVP_TC_C, 1000, 18.2602, 5.1e-5},
        {OVP_TC_C, 2315, 37.0698, 5.1e-5},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double emf_mV = NAN;
        assert_int_equal(ovp_tc_emf(rows[i].type, rows[i].temperature_C, &emf_mV, NULL), OVP_OK);
        if (!(fabs(emf_mV - rows[i].emf_mV) <= rows[i].within_mV))
            fail_msg("type %s at %g: %.10f, not %.10f", ovp_tc_type_name(rows[i].type), rows[i].temperature_C,
                     emf_mV, rows[i].emf_mV);
    }
}

/* NIST SRD 60, the tables by whole degrees: 12,026 entries. The file is not part of this tree. */
static void published_tables_whole(void **state)
{
    (void)state;
    const char *folder = getenv("OVENPROOF_OUTSIDE_DATA");
    char path[512];
    snprintf(path, sizeof path, "%s/reference/nist-its90-table.csv", folder != NULL ? folder : "../shared");
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        print_message("skipped: no shared data (NIST SRD 60 tables)\n");
        skip();
    }
    char line[128];
    size_t checked = 0;
    assert_non_null(fgets(line, sizeof line, file));
    while (fgets(line, sizeof line, file) != NULL) {
        char name[8];
        double temperature_C = NAN, published_mV = NAN, emf_mV = NAN;
        assert_int_equal(sscanf(line, "%7[^,],%lf,%lf", name, &temperature_C, &published_mV), 3);
        ovp_tc_type type;
        assert_true(ovp_tc_type_named(ovp_span_of(name), false, &type));
        assert_int_equal(ovp_tc_emf(type, temperature_C, &emf_mV, NULL), OVP_OK);
        if (fabs(rounded(emf_mV) - published_mV) > 1e-9)
            fail_msg("type %s at %g: %.9f where %.3f is published", name, temperature_C, emf_mV,
                     published_mV);
        checked++;
    }
    fclose(file);
    assert_int_equal(checked, 12026);
}

/* Within this of a join the stated rule is what is tested, not the round trip. */
static bool near_join(ovp_tc_type type, double temperature_C)
{
    static const struct {
        ovp_tc_type type;
        double join_C;
    } joins[] = {{OVP_TC_B, 630.615}, {OVP_TC_C, 630.615}, {OVP_TC_J, 760.0},   {OVP_TC_K, 0.0},
                 {OVP_TC_R, 1064.18}, {OVP_TC_R, 1664.5},  {OVP_TC_S, 1064.18}, {OVP_TC_S, 1664.5}};
    for (size_t i = 0; i < sizeof joins / sizeof joins[0]; i++)
        if (joins[i].type == type && fabs(joins[i].join_C - temperature_C) < 1e-5)
            return true;
    return false;
}

static void there_and_back(ovp_tc_type type, double temperature_C)
{
    double emf_mV = NAN, back_C = NAN;
    assert_int_equal(ovp_tc_emf(type, temperature_C, &emf_mV, NULL), OVP_OK);
    assert_int_equal(ovp_tc_temperature(type, emf_mV, &back_C, NULL), OVP_OK);
    if (!near_join(type, temperature_C) && !(fabs(back_C - temperature_C) <= 1e-9))
        fail_msg("type %s: %.17g came back as %.17g", ovp_tc_type_name(type), temperature_C, back_C);
}

static void inverse_of_forward_over_every_range(void **state)
{
    (void)state;
    for (int type = 0; type < OVP_TC_TYPES; type++) {
        double low_C, high_C, low_mV, high_mV;
        ovp_tc_range((ovp_tc_type)type, &low_C, &high_C, &low_mV, &high_mV);
        if (type == OVP_TC_B)
            low_C = 42.132;
        const int steps = 20011;
        for (int i = 0; i <= steps; i++)
            there_and_back((ovp_tc_type)type, i == steps ? high_C : low_C + (high_C - low_C) * i / steps);
        /* thickly at both ends, and around zero and every join */
        static const double centres[] = {0.0, 630.615, 760.0, 1064.18, 1664.5};
        for (int i = 0; i <= 2000; i++) {
            there_and_back((ovp_tc_type)type, low_C + 1e-3 * i * i * 1e-4);
            there_and_back((ovp_tc_type)type, high_C - 1e-3 * i * i * 1e-4);
            for (size_t k = 0; k < sizeof centres / sizeof centres[0]; k++) {
                double at_C = centres[k] + (i - 1000) * 2.5e-4;
                if (at_C >= low_C && at_C <= high_C)
                    there_and_back((ovp_tc_type)type, at_C);
            }
        }
    }
}

/* The rule: lower piece wins, an emf in the gap gives the join. Gaps and overlaps as measured from the
 * functions. */
static void joins_by_their_rule(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double join_C, apart_C; /* how far apart the pieces are, as temperature */
    } joins[] = {{OVP_TC_B, 630.615, 3.6e-7}, {OVP_TC_C, 630.615, 7.3e-6}, {OVP_TC_J, 760.0, 1.3e-6},
                 {OVP_TC_K, 0.0, 5.1e-8},     {OVP_TC_N, 0.0, 1e-15},      {OVP_TC_R, 1064.18, 1.3e-9},
                 {OVP_TC_R, 1664.5, 1.4e-7},  {OVP_TC_S, 1064.18, 5e-9},   {OVP_TC_S, 1664.5, 2.4e-8}};
    for (size_t i = 0; i < sizeof joins / sizeof joins[0]; i++) {
        double at_mV = NAN, slope = NAN, back_C = NAN;
        assert_int_equal(ovp_tc_emf(joins[i].type, joins[i].join_C, &at_mV, NULL), OVP_OK);
        assert_int_equal(ovp_tc_temperature(joins[i].type, at_mV, &back_C, NULL), OVP_OK);
        assert_true(back_C == joins[i].join_C); /* the lower piece, exactly */
        assert_int_equal(ovp_tc_seebeck(joins[i].type, joins[i].join_C, &slope, NULL), OVP_OK);
        double before_C = joins[i].join_C - 1e-5;
        for (int k = -1000; k <= 1000; k++) { /* never backwards, never more than the gap away */
            double step_C = k * 1e-8;
            assert_int_equal(ovp_tc_temperature(joins[i].type, at_mV + slope * step_C, &back_C, NULL),
                             OVP_OK);
            assert_true(back_C >= before_C - 1e-9);
            if (fabs(back_C - (joins[i].join_C + step_C)) > joins[i].apart_C + 0.02 * fabs(step_C) + 1e-9)
                fail_msg("type %s: %.9f where %.9f was expected", ovp_tc_type_name(joins[i].type), back_C,
                         joins[i].join_C + step_C);
            before_C = back_C;
        }
    }
}

static void gap_gives_the_join(void **state)
{
    (void)state;
    double temperature_C = NAN;
    /* K: the piece above 0 degC begins at 1.974e-9 mV (computed from the published coefficients). */
    assert_int_equal(ovp_tc_temperature(OVP_TC_K, 1e-9, &temperature_C, NULL), OVP_OK);
    assert_true(temperature_C == 0.0);
    assert_int_equal(ovp_tc_temperature(OVP_TC_K, 3e-9, &temperature_C, NULL), OVP_OK);
    assert_true(temperature_C > 0.0 && temperature_C < 3e-8);
    double at_mV = NAN; /* J: the gap at 760 degC is 7.5e-8 mV */
    assert_int_equal(ovp_tc_emf(OVP_TC_J, 760.0, &at_mV, NULL), OVP_OK);
    assert_int_equal(ovp_tc_temperature(OVP_TC_J, at_mV + 5e-8, &temperature_C, NULL), OVP_OK);
    assert_true(temperature_C == 760.0);
}

static void range_ends(void **state)
{
    (void)state;
    /* Published first and last entries lie up to half a unit of the last place outside the function. */
    static const struct {
        ovp_tc_type type;
        double emf_mV, temperature_C;
    } ends[] = {{OVP_TC_E, 76.373, 1000}, {OVP_TC_N, 47.513, 1300}, {OVP_TC_R, 21.103, 1768.1},
                {OVP_TC_T, 20.872, 400},  {OVP_TC_K, -6.458, -270}, {OVP_TC_T, -6.258, -270},
                {OVP_TC_E, -9.835, -270}, {OVP_TC_S, -0.236, -50},  {OVP_TC_K, 54.8868, 1372}};
    double temperature_C = NAN;
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        assert_int_equal(ovp_tc_temperature(ends[i].type, ends[i].emf_mV, &temperature_C, NULL), OVP_OK);
        assert_true(temperature_C == ends[i].temperature_C);
    }
    ovp_error error = {0};
    for (int type = 0; type < OVP_TC_TYPES; type++) {
        double low_C, high_C, low_mV, high_mV, ignored = 7.0;
        ovp_tc_range((ovp_tc_type)type, &low_C, &high_C, &low_mV, &high_mV);
        assert_int_equal(ovp_tc_temperature((ovp_tc_type)type, high_mV + 0.00051, &ignored, &error),
                         OVP_ERROR_DATA);
        assert_int_equal(ovp_tc_temperature((ovp_tc_type)type, low_mV - 0.00051, &ignored, &error),
                         OVP_ERROR_DATA);
        assert_int_equal(ovp_tc_emf((ovp_tc_type)type, high_C + 1e-6, &ignored, &error), OVP_ERROR_DATA);
        assert_int_equal(ovp_tc_emf((ovp_tc_type)type, low_C - 1e-6, &ignored, &error), OVP_ERROR_DATA);
        assert_int_equal(ovp_tc_emf((ovp_tc_type)type, NAN, &ignored, &error), OVP_ERROR_DATA);
        assert_int_equal(ovp_tc_seebeck((ovp_tc_type)type, INFINITY, &ignored, &error), OVP_ERROR_DATA);
        assert_int_equal(ovp_tc_temperature((ovp_tc_type)type, NAN, &ignored, &error), OVP_ERROR_DATA);
        assert_int_equal(ovp_tc_temperature((ovp_tc_type)type, -INFINITY, &ignored, NULL), OVP_ERROR_DATA);
        assert_true(ignored == 7.0);
    }
}

static void type_b_below_its_second_zero(void **state)
{
    (void)state;
    double value = NAN;
    ovp_error error = {0};
    assert_int_equal(ovp_tc_emf(OVP_TC_B, 0.0, &value, &error), OVP_OK);
    assert_true(value == 0.0);
    assert_int_equal(ovp_tc_temperature(OVP_TC_B, -0.001, &value, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "two temperatures"));
    assert_int_equal(ovp_tc_temperature(OVP_TC_B, 0.0, &value, &error), OVP_OK);
    assert_true(fabs(value - 42.1321) < 1e-4);
    assert_int_equal(ovp_tc_emf(OVP_TC_B, 42.132, &value, &error), OVP_OK);
    assert_int_equal(ovp_tc_temperature(OVP_TC_B, value, &value, &error), OVP_OK);
    assert_true(fabs(value - 42.132) <= 1e-9);
    /* emf to a warm cold junction may be below zero and still belong to one temperature */
    assert_int_equal(ovp_tc_temperature_at(OVP_TC_B, -0.001, 60.0, &value, &error), OVP_OK);
}

static void seebeck_is_the_slope(void **state)
{
    (void)state;
    /* uV per degC: NIST Monograph 175 (N at 0 degC: 26.159 below, 25.929 above; the lower piece wins) */
    double slope = NAN;
    assert_int_equal(ovp_tc_seebeck(OVP_TC_N, 0.0, &slope, NULL), OVP_OK);
    assert_true(fabs(slope * 1000.0 - 26.159) < 5e-4);
    assert_int_equal(ovp_tc_seebeck(OVP_TC_N, 1e-9, &slope, NULL), OVP_OK);
    assert_true(fabs(slope * 1000.0 - 25.929) < 5e-4);
    for (int type = 0; type < OVP_TC_TYPES; type++) {
        double low_C, high_C, low_mV, high_mV;
        ovp_tc_range((ovp_tc_type)type, &low_C, &high_C, &low_mV, &high_mV);
        int steps = (int)((high_C - low_C - 0.5) / 7.3);
        for (int i = 0; i < steps; i++) {
            double t = low_C + 0.35 + 7.3 * i;
            double below = NAN, above = NAN;
            if (t < 0.1 && t > -0.1)
                continue;
            assert_int_equal(ovp_tc_emf((ovp_tc_type)type, t - 0.05, &below, NULL), OVP_OK);
            assert_int_equal(ovp_tc_emf((ovp_tc_type)type, t + 0.05, &above, NULL), OVP_OK);
            assert_int_equal(ovp_tc_seebeck((ovp_tc_type)type, t, &slope, NULL), OVP_OK);
            assert_true(fabs((above - below) / 0.1 - slope) < 3e-6);
        }
    }
}

static void cold_junction_by_emf(void **state)
{
    (void)state;
    /* 2.55 mV of a K couple with its reference junction at 84 degF: 195 degF (a published worked example) */
    double temperature_C = NAN;
    assert_int_equal(ovp_tc_temperature_at(OVP_TC_K, 2.55, (84.0 - 32.0) / 1.8, &temperature_C, NULL),
                     OVP_OK);
    assert_true(fabs(temperature_C * 1.8 + 32.0 - 195.0) < 0.5);
    ovp_error error = {0};
    assert_int_equal(ovp_tc_temperature_at(OVP_TC_K, 2.55, -300.0, &temperature_C, &error), OVP_ERROR_DATA);
}

/* Worked examples of two public training pages: emf and reference junction to temperature. */
static void worked_examples(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double emf_mV, cold_C, temperature_C, within_C;
    } rows[] = {
        /* K with its reference junction at 84 degF: 195, 357, 567 and 904 degF */
        {OVP_TC_K, 2.55, 52.0 / 1.8, (195.0 - 32.0) / 1.8, 0.5 / 1.8},
        {OVP_TC_K, 6.21, 52.0 / 1.8, (357.0 - 32.0) / 1.8, 0.5 / 1.8},
        {OVP_TC_K, 10.93, 52.0 / 1.8, (567.0 - 32.0) / 1.8, 0.5 / 1.8},
        {OVP_TC_K, 18.83, 52.0 / 1.8, (904.0 - 32.0) / 1.8, 0.5 / 1.8},
        /* J with its reference junction at 17 degC */
        {OVP_TC_J, 5.05, 17.0, 112.0, 0.5},
        {OVP_TC_J, 31.44, 17.0, 586.0, 0.5},
        {OVP_TC_J, 40.29, 17.0, 732.0, 0.5},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double got_C = NAN;
        assert_int_equal(ovp_tc_temperature_at(rows[i].type, rows[i].emf_mV, rows[i].cold_C, &got_C, NULL),
                         OVP_OK);
        assert_true(fabs(got_C - rows[i].temperature_C) <= rows[i].within_C);
    }
    /* a maker's page: the eight types at 350 degC */
    static const ovp_tc_type types[] = {OVP_TC_B, OVP_TC_E, OVP_TC_J, OVP_TC_K,
                                        OVP_TC_N, OVP_TC_R, OVP_TC_S, OVP_TC_T};
    static const double at_350_mV[] = {0.596, 24.964, 19.090, 14.293, 11.136, 2.896, 2.786, 17.819};
    for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
        double emf_mV = NAN;
        assert_int_equal(ovp_tc_emf(types[i], 350.0, &emf_mV, NULL), OVP_OK);
        assert_true(fabs(emf_mV - at_350_mV[i]) <= 0.0005);
    }
}

static const struct {
    const char *type;
    double low_mV, high_mV;
    int order;
    double low_C, high_C;
    double d[11];
} approximate[] = {
#include "its90-approximate-inverse.inc"
};

/*
 * NIST's approximate inverse functions state how far they are from the functions: approximate less exact lies
 * in that band, plus half the last digit it is printed to.
 */
static void approximate_inverse_keeps_its_band(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof approximate / sizeof approximate[0]; i++) {
        ovp_tc_type type;
        assert_true(ovp_tc_type_named(ovp_span_of(approximate[i].type), false, &type));
        bool thousandths = fabs(approximate[i].high_C) < 0.0095 || fabs(approximate[i].low_C) < 0.0095;
        bool finer = fabs(approximate[i].high_C) < 0.00095 || fabs(approximate[i].low_C) < 0.00095;
        double half_digit_C = finer ? 0.00005 : thousandths ? 0.0005 : 0.005;
        double low_C, high_C, low_mV,
            high_mV; /* the published top lies up to 0.0003 mV above the function's */
        ovp_tc_range(type, &low_C, &high_C, &low_mV, &high_mV);
        for (int k = 0; k <= 2000; k++) {
            double emf_mV =
                approximate[i].low_mV + (approximate[i].high_mV - approximate[i].low_mV) * k / 2000.0;
            emf_mV = fmin(emf_mV, high_mV);
            double exact_C = NAN, about_C = 0.0;
            assert_int_equal(ovp_tc_temperature(type, emf_mV, &exact_C, NULL), OVP_OK);
            for (int order = approximate[i].order; order >= 0; order--)
                about_C = about_C * emf_mV + approximate[i].d[order];
            double error_C = about_C - exact_C;
            if (!(error_C >= approximate[i].low_C - half_digit_C &&
                  error_C <= approximate[i].high_C + half_digit_C))
                fail_msg("type %s at %.6f mV: %.6f outside %g..%g", approximate[i].type, emf_mV, error_C,
                         approximate[i].low_C, approximate[i].high_C);
        }
    }
}

/* Whichever is greater: ASTM E230/E230M and IEC 60584-1 (as quoted; see reference/tolerances.csv for the
 * status). */
static void tolerance_classes(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        ovp_tc_type type;
        double temperature_C, tolerance_C;
    } rows[] = {
        {"astm-e230-standard", OVP_TC_K, 100.0, 2.2},   {"astm-e230-standard", OVP_TC_K, 1000.0, 7.5},
        {"astm-e230-standard", OVP_TC_K, -100.0, 2.2},  {"astm-e230-standard", OVP_TC_K, -200.0, 4.0},
        {"astm-e230-special", OVP_TC_K, 1000.0, 4.0},   {"ASTM-E230-Special", OVP_TC_T, 20.0, 0.5},
        {"astm-e230-standard", OVP_TC_J, 760.0, 5.7},   {"astm-e230-standard", OVP_TC_N, 1260.0, 9.45},
        {"astm-e230-standard", OVP_TC_S, 600.0, 1.5},   {"astm-e230-special", OVP_TC_R, 1400.0, 1.4},
        {"astm-e230-standard", OVP_TC_B, 1000.0, 5.0},  {"astm-e230-standard", OVP_TC_E, -200.0, 2.0},
        {"iec-60584-1-class-1", OVP_TC_K, 375.0, 1.5},  {"iec-60584-1-class-1", OVP_TC_K, 1000.0, 4.0},
        {"iec-60584-1-class-2", OVP_TC_K, 1200.0, 9.0}, {"iec-60584-1-class-3", OVP_TC_N, -200.0, 3.0},
        {"iec-60584-1-class-1", OVP_TC_S, 1100.0, 1.0}, {"iec-60584-1-class-1", OVP_TC_R, 1600.0, 2.5},
        {"iec-60584-1-class-2", OVP_TC_S, 1600.0, 4.0}, {"iec-60584-1-class-3", OVP_TC_B, 600.0, 4.0},
        {"iec-60584-1-class-1", OVP_TC_T, 125.0, 0.5},  {"astm-e230-standard", OVP_TC_C, 1000.0, 10.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double tolerance_C = NAN;
        assert_int_equal(
            ovp_tc_tolerance(rows[i].name, rows[i].type, rows[i].temperature_C, &tolerance_C, NULL), OVP_OK);
        assert_true(fabs(tolerance_C - rows[i].tolerance_C) < 1e-12);
    }
    double ignored = 0.0;
    ovp_error error = {0};
    assert_int_equal(ovp_tc_tolerance("iec-60584-1-class-1", OVP_TC_K, 1100.0, &ignored, &error),
                     OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "1100"));
    assert_int_equal(ovp_tc_tolerance("iec-60584-1-class-3", OVP_TC_J, 0.0, &ignored, &error),
                     OVP_ERROR_DATA);
    assert_int_equal(ovp_tc_tolerance("class 1", OVP_TC_K, 0.0, &ignored, &error), OVP_ERROR_DATA);
    assert_int_equal(ovp_tc_tolerance("astm-e230-standard", OVP_TC_K, NAN, &ignored, &error), OVP_ERROR_DATA);
    assert_string_equal(ovp_tc_tolerance_name(0), "astm-e230-standard");
    assert_null(ovp_tc_tolerance_name(5));
}

/* Negative red (ASTM E230), negative white (IEC 60584-3); negative red is also common practice of the trade.
 */
static void colours(void **state)
{
    (void)state;
    ovp_tc_colours found;
    for (int type = 0; type < OVP_TC_TYPES; type++) {
        if (ovp_tc_colours_of("us", (ovp_tc_type)type, &found))
            assert_string_equal(found.negative, "red");
        else
            assert_int_equal(type, OVP_TC_C);
        if (ovp_tc_colours_of("iec-60584-3", (ovp_tc_type)type, &found))
            assert_string_equal(found.negative, "white");
        else
            assert_int_equal(type, OVP_TC_C);
    }
    assert_true(ovp_tc_colours_of("astm-e230", OVP_TC_K, &found));
    assert_string_equal(found.positive, "yellow");
    assert_string_equal(found.standard, "astm-e230");
    assert_true(ovp_tc_colours_of("EU", OVP_TC_K, &found));
    assert_string_equal(found.positive, "green");
    assert_true(ovp_tc_colours_of("astm-e230", OVP_TC_R, &found));
    assert_string_equal(found.sheath, "green");
    assert_false(ovp_tc_colours_of("din-43714", OVP_TC_J, &found)); /* L is another couple */
    assert_false(ovp_tc_colours_of("nowhere", OVP_TC_K, &found));
}

static void names(void **state)
{
    (void)state;
    ovp_tc_type type;
    assert_true(ovp_tc_type_named(ovp_span_of(" k "), false, &type) && type == OVP_TC_K);
    assert_true(ovp_tc_type_named(ovp_span_of("type S"), false, &type) && type == OVP_TC_S);
    assert_true(ovp_tc_type_named(ovp_span_of("Copper"), true, &type) && type == OVP_TC_COPPER);
    assert_false(ovp_tc_type_named(ovp_span_of("copper"), false, &type));
    assert_false(ovp_tc_type_named(ovp_span_of("L"), true, &type));
    assert_false(ovp_tc_type_named(ovp_span_of(""), true, &type));
    assert_string_equal(ovp_tc_type_name(OVP_TC_COPPER), "copper");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_entries),
        cmocka_unit_test(published_functions_to_more_places),
        cmocka_unit_test(published_tables_whole),
        cmocka_unit_test(inverse_of_forward_over_every_range),
        cmocka_unit_test(joins_by_their_rule),
        cmocka_unit_test(gap_gives_the_join),
        cmocka_unit_test(range_ends),
        cmocka_unit_test(type_b_below_its_second_zero),
        cmocka_unit_test(seebeck_is_the_slope),
        cmocka_unit_test(cold_junction_by_emf),
        cmocka_unit_test(worked_examples),
        cmocka_unit_test(approximate_inverse_keeps_its_band),
        cmocka_unit_test(tolerance_classes),
        cmocka_unit_test(colours),
        cmocka_unit_test(names),
    };
    return cmocka_run_group_tests_name("thermocouple", tests, NULL, NULL);
}
