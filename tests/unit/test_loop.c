/*
 * The loop law: what a display shows when sensor, wiring or setting is wrong.
 * The expected figures were computed from the ITS-90 functions by an independent program (bisection of the
 * reference function, Python), by the law written beside each table; "computed from ITS-90" in what follows.
 */
#include "ovenproof/thermocouple.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#define UNDER (-1000.0)
#define OVER 9999.0

static double celsius(double fahrenheit)
{
    return (fahrenheit - 32.0) / 1.8;
}

/* The display in degF; UNDER or OVER when it is out of range. */
static double shown(const ovp_tc_loop *loop)
{
    ovp_tc_reading reading;
    ovp_error error = {0};
    if (ovp_tc_loop_read(loop, &reading, &error) != OVP_OK)
        fail_msg("%s", error.what);
    if (reading.display == OVP_TC_DISPLAY_UNDER_RANGE)
        return UNDER;
    if (reading.display == OVP_TC_DISPLAY_OVER_RANGE)
        return OVER;
    assert_int_equal(reading.display, OVP_TC_DISPLAY_OK);
    assert_true(fabs(reading.error_C - (reading.reads_C - loop->tip_C)) < 1e-9);
    return reading.reads_C * 1.8 + 32.0;
}

/* The tables are rounded to a degree (or `unit`). */
static void check(const ovp_tc_loop *loop, double expected_F, double unit_F, const char *table)
{
    double got_F = shown(loop);
    if (!(fabs(got_F - expected_F) <= 0.5 * unit_F + 1e-6))
        fail_msg("table %s: %s couple, true %.0f degF: shows %.2f where %.1f was computed", table,
                 ovp_tc_type_name(loop->sensor), loop->tip_C * 1.8 + 32.0, got_F, expected_F);
}

static ovp_tc_loop loop_of(ovp_tc_type sensor, double tip_F, double panel_F)
{
    ovp_tc_loop loop;
    ovp_tc_loop_init(&loop, sensor, celsius(tip_F), celsius(panel_F));
    return loop;
}

static void right_loop_reads_the_tip(void **state)
{
    (void)state;
    for (int type = 0; type < OVP_TC_TYPES; type++) {
        double low_C, high_C, low_mV, high_mV;
        ovp_tc_range((ovp_tc_type)type, &low_C, &high_C, &low_mV, &high_mV);
        low_C = type == OVP_TC_B ? 43.0 : low_C;
        for (int i = 0; i <= 300; i++) {
            double tip_C = low_C + (high_C - low_C) * i / 300.0;
            ovp_tc_loop loop;
            ovp_tc_loop_init(&loop, (ovp_tc_type)type, tip_C, 37.7);
            loop.head_C = 71.1;
            ovp_tc_reading reading;
            assert_int_equal(ovp_tc_loop_read(&loop, &reading, NULL), OVP_OK);
            assert_int_equal(reading.display, OVP_TC_DISPLAY_OK);
            assert_true(fabs(reading.error_C) < 1e-7); /* K's pieces are 5e-8 degC apart at 0 degC */
        }
    }
}

/* All junctions at one temperature: V = 0 whatever is wrong, and the display is the cold junction. */
static void one_temperature_shows_the_panel(void **state)
{
    (void)state;
    for (int sensor = 0; sensor < OVP_TC_TYPES; sensor++)
        for (int input = 0; input < OVP_TC_TYPES; input++)
            for (int wrong = 0; wrong < 8; wrong++) {
                ovp_tc_loop loop;
                ovp_tc_loop_init(&loop, (ovp_tc_type)sensor, 24.0, 24.0);
                loop.input = (ovp_tc_type)input;
                loop.reversed = (wrong & 1) != 0;
                loop.extension_reversed = (wrong & 2) != 0;
                loop.extension = (wrong & 4) != 0 ? OVP_TC_COPPER : loop.sensor;
                ovp_tc_reading reading;
                assert_int_equal(ovp_tc_loop_read(&loop, &reading, NULL), OVP_OK);
                assert_int_equal(reading.display, OVP_TC_DISPLAY_OK);
                assert_true(fabs(reading.reads_C - 24.0) < 1e-9);
                assert_true(reading.emf_mV == 0.0);
            }
}

/* Table B. D = inv(2 E(panel) - E(hot)). */
static void reversed_at_the_controller(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double panel_F, shows_F[5]; /* at true 75, 400, 1000, 1500, 2000 */
        double leaves_range_F;
    } rows[] = {
        {OVP_TC_K, 75, {75, -419, UNDER, UNDER, UNDER}, 402},
        {OVP_TC_K, 100, {125, -267, UNDER, UNDER, UNDER}, 453},
        {OVP_TC_J, 75, {75, UNDER, UNDER, UNDER, UNDER}, 384},
        {OVP_TC_J, 100, {125, -275, UNDER, UNDER, UNDER}, 431},
        {OVP_TC_N, 75, {75, UNDER, UNDER, UNDER, UNDER}, 375},
        {OVP_TC_N, 100, {125, -340, UNDER, UNDER, UNDER}, 416},
        {OVP_TC_S, 75, {75, UNDER, UNDER, UNDER, UNDER}, 177},
        {OVP_TC_S, 100, {124, UNDER, UNDER, UNDER, UNDER}, 220},
    };
    static const double tips_F[] = {75, 400, 1000, 1500, 2000};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_tc_loop loop = loop_of(rows[i].type, 75, rows[i].panel_F);
        loop.reversed = true;
        for (size_t k = 0; k < 5; k++) {
            loop.tip_C = celsius(tips_F[k]);
            check(&loop, rows[i].shows_F[k], 1.0, "B");
        }
        loop.tip_C = celsius(rows[i].leaves_range_F - 1.0);
        assert_true(shown(&loop) != UNDER);
        loop.tip_C = celsius(rows[i].leaves_range_F + 1.0);
        assert_true(shown(&loop) == UNDER);
    }
}

/* Table B, last column: the display's own limit of -200 degC. */
static void display_limits(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double panel_F, passes_F;
    } rows[] = {{OVP_TC_K, 75, 377},  {OVP_TC_K, 100, 428}, {OVP_TC_J, 75, 377},
                {OVP_TC_J, 100, 424}, {OVP_TC_N, 75, 355},  {OVP_TC_N, 100, 397}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_tc_loop loop = loop_of(rows[i].type, rows[i].passes_F - 1.0, rows[i].panel_F);
        loop.reversed = true;
        loop.display_low_C = -200.0;
        assert_true(shown(&loop) > -329.0);
        loop.tip_C = celsius(rows[i].passes_F + 1.0);
        assert_true(shown(&loop) == UNDER);
    }
    ovp_tc_loop loop = loop_of(OVP_TC_K, 1500, 75);
    loop.display_high_C = 800.0;
    assert_true(shown(&loop) == OVER);
}

/* Table C. Crossed at the head only: D = inv(2 E(head) - E(hot)); head 160 degF, panel 100 degF. */
static void reversed_at_the_head(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double at_400_F;
    } rows[] = {{OVP_TC_K, -91}, {OVP_TC_J, -105}, {OVP_TC_N, -130}, {OVP_TC_S, UNDER}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_tc_loop loop = loop_of(rows[i].type, 400, 100);
        loop.reversed = loop.extension_reversed = true;
        loop.head_C = celsius(160);
        check(&loop, rows[i].at_400_F, 1.0, "C");
        for (int half = 2; half <= 4; half++) {
            loop.tip_C = celsius(500.0 * half);
            check(&loop, UNDER, 1.0, "C");
        }
        loop.tip_C = loop.head_C = celsius(75);
        check(&loop, 75, 1.0, "C");
    }
}

/* Table D. Extension crossed at both ends: D = inv(E(hot) - 2 (E(head) - E(panel))); panel 100 degF. */
static void double_reversal(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double head_F, shows_F[4], error_at_1500_F;
    } rows[] = {
        {OVP_TC_K, 100, {400, 1000, 1500, 2000}, 0},   {OVP_TC_K, 130, {338, 942, 1440, 1935}, -60},
        {OVP_TC_K, 160, {276, 884, 1380, 1871}, -120}, {OVP_TC_K, 250, {96, 708, 1202, 1681}, -298},
        {OVP_TC_J, 100, {400, 1000, 1500, 2000}, 0},   {OVP_TC_J, 130, {343, 944, 1451, 1945}, -49},
        {OVP_TC_J, 160, {285, 887, 1401, 1891}, -99},  {OVP_TC_J, 250, {104, 710, 1246, 1727}, -254},
        {OVP_TC_N, 100, {400, 1000, 1500, 2000}, 0},   {OVP_TC_N, 130, {349, 957, 1458, 1957}, -42},
        {OVP_TC_N, 160, {296, 913, 1415, 1912}, -85},  {OVP_TC_N, 250, {116, 772, 1280, 1775}, -220},
        {OVP_TC_S, 100, {400, 1000, 1500, 2000}, 0},   {OVP_TC_S, 130, {354, 961, 1465, 1967}, -35},
        {OVP_TC_S, 160, {304, 921, 1427, 1933}, -73},  {OVP_TC_S, 250, {126, 787, 1304, 1820}, -196},
    };
    static const double tips_F[] = {400, 1000, 1500, 2000};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_tc_loop loop = loop_of(rows[i].type, 75, 100);
        loop.extension_reversed = true;
        loop.head_C = celsius(rows[i].head_F);
        for (size_t k = 0; k < 4; k++) {
            loop.tip_C = celsius(tips_F[k]);
            check(&loop, rows[i].shows_F[k], 1.0, "D");
        }
        loop.tip_C = celsius(1500);
        assert_true(fabs(shown(&loop) - 1500.0 - rows[i].error_at_1500_F) <= 0.5 + 1e-6);
    }
}

/* Table E. Input set to the wrong type: D = inv_Y(E_Y(panel) + E_X(hot) - E_X(panel)); panel 100 degF. */
static void wrong_type_set(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type couple, set;
        double shows_F[4]; /* at true 400, 1000, 1500, 2000 */
    } rows[] = {
        {OVP_TC_K, OVP_TC_J, {326, 779, 1150, 1466}},   {OVP_TC_K, OVP_TC_N, {493, 1164, 1699, 2216}},
        {OVP_TC_K, OVP_TC_S, {1417, OVER, OVER, OVER}}, {OVP_TC_K, OVP_TC_T, {359, OVER, OVER, OVER}},
        {OVP_TC_K, OVP_TC_E, {284, 618, 880, 1124}},    {OVP_TC_K, OVP_TC_R, {1333, 3193, OVER, OVER}},
        {OVP_TC_K, OVP_TC_B, {2193, OVER, OVER, OVER}}, {OVP_TC_J, OVP_TC_K, {502, 1291, 2058, OVER}},
        {OVP_TC_J, OVP_TC_N, {610, 1478, 2275, OVER}},  {OVP_TC_J, OVP_TC_S, {1788, OVER, OVER, OVER}},
        {OVP_TC_J, OVP_TC_T, {436, OVER, OVER, OVER}},  {OVP_TC_J, OVP_TC_E, {341, 773, 1151, 1535}},
        {OVP_TC_J, OVP_TC_R, {1666, OVER, OVER, OVER}}, {OVP_TC_J, OVP_TC_B, {2572, OVER, OVER, OVER}},
        {OVP_TC_N, OVP_TC_K, {322, 851, 1311, 1789}},   {OVP_TC_N, OVP_TC_J, {269, 664, 1015, 1339}},
        {OVP_TC_N, OVP_TC_S, {1119, 3010, OVER, OVER}}, {OVP_TC_N, OVP_TC_T, {297, 689, OVER, OVER}},
        {OVP_TC_N, OVP_TC_E, {239, 536, 783, 1023}},    {OVP_TC_N, OVP_TC_R, {1063, 2727, OVER, OVER}},
        {OVP_TC_N, OVP_TC_B, {1875, OVER, OVER, OVER}}, {OVP_TC_S, OVP_TC_K, {155, 292, 422, 562}},
        {OVP_TC_S, OVP_TC_J, {143, 247, 342, 445}},     {OVP_TC_S, OVP_TC_N, {181, 363, 518, 678}},
        {OVP_TC_S, OVP_TC_T, {153, 273, 376, 481}},     {OVP_TC_S, OVP_TC_E, {136, 221, 297, 375}},
        {OVP_TC_S, OVP_TC_R, {394, 954, 1408, 1855}},   {OVP_TC_S, OVP_TC_B, {937, 1742, 2279, 2787}},
    };
    static const double tips_F[] = {400, 1000, 1500, 2000};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_tc_loop loop = loop_of(rows[i].couple, 75, 75);
        loop.input = rows[i].set;
        check(&loop, 75, 1.0, "E");
        loop.panel_C = loop.head_C = celsius(100);
        for (size_t k = 0; k < 4; k++) {
            loop.tip_C = celsius(tips_F[k]);
            check(&loop, rows[i].shows_F[k], 1.0, "E");
        }
    }
}

/* Table F. Wrong extension: D = inv(E(hot) - [E(head) - E(panel)] + [Ex(head) - Ex(panel)]); head 160, panel
 * 100 degF. */
static void wrong_extension(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type couple, extension;
        double shows_F[4], per_10_F;
    } rows[] = {
        {OVP_TC_K, OVP_TC_COPPER, {338, 942, 1440, 1935}, -10.1},
        {OVP_TC_K, OVP_TC_J, {418, 1016, 1517, 2019}, 2.9},
        {OVP_TC_K, OVP_TC_N, {380, 981, 1480, 1979}, -3.3},
        {OVP_TC_K, OVP_TC_S, {348, 951, 1449, 1945}, -8.5},
        {OVP_TC_K, OVP_TC_T, {403, 1003, 1503, 2003}, 0.5},
        {OVP_TC_K, OVP_TC_E, {433, 1031, 1533, 2035}, 5.5},
        {OVP_TC_J, OVP_TC_COPPER, {343, 944, 1451, 1945}, -8.2},
        {OVP_TC_J, OVP_TC_K, {387, 988, 1489, 1988}, -1.8},
        {OVP_TC_J, OVP_TC_N, {373, 973, 1477, 1974}, -3.9},
        {OVP_TC_J, OVP_TC_S, {350, 951, 1457, 1952}, -7.2},
        {OVP_TC_J, OVP_TC_T, {389, 990, 1491, 1990}, -1.5},
        {OVP_TC_J, OVP_TC_E, {411, 1011, 1510, 2011}, 1.6},
        {OVP_TC_N, OVP_TC_COPPER, {349, 957, 1457, 1956}, -7.1},
        {OVP_TC_N, OVP_TC_K, {424, 1021, 1521, 2021}, 3.4},
        {OVP_TC_N, OVP_TC_J, {445, 1039, 1538, 2040}, 6.4},
        {OVP_TC_N, OVP_TC_S, {361, 967, 1467, 1966}, -5.4},
        {OVP_TC_N, OVP_TC_T, {428, 1024, 1523, 2024}, 3.9},
        {OVP_TC_N, OVP_TC_E, {464, 1055, 1555, 2057}, 9.1},
        {OVP_TC_S, OVP_TC_COPPER, {353, 960, 1464, 1967}, -6.0},
        {OVP_TC_S, OVP_TC_K, {633, 1204, 1688, 2175}, 31.3},
        {OVP_TC_S, OVP_TC_J, {708, 1272, 1750, 2233}, 41.6},
        {OVP_TC_S, OVP_TC_N, {545, 1126, 1616, 2108}, 19.3},
        {OVP_TC_S, OVP_TC_T, {645, 1215, 1698, 2184}, 32.9},
        {OVP_TC_S, OVP_TC_E, {775, 1332, 1805, 2286}, 50.9},
    };
    static const double tips_F[] = {400, 1000, 1500, 2000};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_tc_loop loop = loop_of(rows[i].couple, 75, 100);
        loop.extension = rows[i].extension;
        loop.head_C = celsius(160);
        for (size_t k = 0; k < 4; k++) {
            loop.tip_C = celsius(tips_F[k]);
            check(&loop, rows[i].shows_F[k], 1.0, "F");
        }
        loop.tip_C = celsius(1500);
        assert_true(fabs((shown(&loop) - 1500.0) / 6.0 - rows[i].per_10_F) <= 0.05 + 1e-6);
    }
}

/* Table F2. Wrong extension, crossed at both ends: D = inv(E(hot) - [E + Ex](head..panel)). */
static void wrong_extension_crossed(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type couple, extension;
        double shows_F[4];
    } rows[] = {{OVP_TC_K, OVP_TC_J, {259, 867, 1363, 1853}},
                {OVP_TC_K, OVP_TC_N, {296, 903, 1399, 1892}},
                {OVP_TC_J, OVP_TC_K, {298, 899, 1412, 1903}},
                {OVP_TC_N, OVP_TC_K, {270, 892, 1394, 1891}},
                {OVP_TC_S, OVP_TC_K, {-9, 706, 1231, 1753}}};
    static const double tips_F[] = {400, 1000, 1500, 2000};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_tc_loop loop = loop_of(rows[i].couple, 75, 100);
        loop.extension = rows[i].extension;
        loop.extension_reversed = true;
        loop.head_C = celsius(160);
        for (size_t k = 0; k < 4; k++) {
            loop.tip_C = celsius(tips_F[k]);
            check(&loop, rows[i].shows_F[k], 1.0, "F2");
        }
    }
}

/* Table G. No compensation: D = inv(E(hot) - E(panel)); stuck at 75, or 20 degF high, panel 100 degF. */
static void compensation(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double none_F[5], stuck_F[5], high_F[5]; /* at true 75 (panel 75), 400, 1000, 1500, 2000 */
    } rows[] = {
        {OVP_TC_K, {32, 331, 936, 1433, 1928}, {75, 375, 976, 1475, 1973}, {95, 421, 1019, 1520, 2022}},
        {OVP_TC_J, {32, 337, 938, 1446, 1940}, {75, 377, 977, 1480, 1978}, {95, 419, 1018, 1516, 2018}},
        {OVP_TC_N, {32, 345, 953, 1454, 1953}, {75, 380, 982, 1483, 1982}, {95, 417, 1014, 1514, 2014}},
        {OVP_TC_S, {32, 353, 960, 1463, 1966}, {75, 382, 985, 1486, 1987}, {95, 415, 1013, 1512, 2011}},
    };
    static const double tips_F[] = {75, 400, 1000, 1500, 2000};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t k = 0; k < 5; k++) {
            double panel_F = k == 0 ? 75 : 100;
            ovp_tc_loop loop = loop_of(rows[i].type, tips_F[k], panel_F);
            loop.compensation_error_C = (75.0 - panel_F) / 1.8;
            check(&loop, rows[i].stuck_F[k], 1.0, "G");
            loop.compensation_error_C = 20.0 / 1.8;
            check(&loop, rows[i].high_F[k], 1.0, "G");
            loop.compensation = false;
            check(&loop, rows[i].none_F[k], 1.0, "G");
        }
}

/* Table H. A solid short: D = its temperature; millivolts at the screws, panel 100 degF. */
static void shorted(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double emf_mV[2]; /* short at 160, 400 degF */
    } rows[] = {{OVP_TC_K, {1.377, 6.795}},
                {OVP_TC_J, {1.767, 9.083}},
                {OVP_TC_N, {0.930, 5.056}},
                {OVP_TC_S, {0.219, 1.258}}};
    static const double at_F[] = {160, 400};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t k = 0; k < 2; k++) {
            ovp_tc_loop loop = loop_of(rows[i].type, 1500, 100);
            loop.head_C = celsius(160);
            loop.shorted_at_C = celsius(at_F[k]);
            check(&loop, at_F[k], 1e-6, "H");
            ovp_tc_reading reading;
            assert_int_equal(ovp_tc_loop_read(&loop, &reading, NULL), OVP_OK);
            assert_true(fabs(reading.emf_mV - rows[i].emf_mV[k]) <= 0.0005 + 1e-9);
        }
}

/* Table I. Leak Rp across the hot part Rh: D = inv(E(Tp) + (E(hot) - E(Tp)) Rp / (Rp + Rh)). */
static void leaking(void **state)
{
    (void)state;
    static const double ratios[] = {1000, 300, 100, 30, 10};
    static const struct {
        ovp_tc_type type;
        double tip_F, leak_F, shows_F[5];
    } rows[] = {
        {OVP_TC_K, 1500, 1200, {1499.7, 1499.0, 1497.0, 1490.1, 1472.3}},
        {OVP_TC_K, 2000, 1600, {1999.6, 1998.6, 1995.9, 1986.7, 1962.6}},
        {OVP_TC_K, 2000, 160, {1998.0, 1993.4, 1980.3, 1936.1, 1821.6}},
        {OVP_TC_J, 1500, 1200, {1499.7, 1499.0, 1497.1, 1490.6, 1473.4}},
        {OVP_TC_J, 2000, 1600, {1999.6, 1998.6, 1995.9, 1986.6, 1962.3}},
        {OVP_TC_J, 2000, 160, {1998.1, 1993.8, 1981.6, 1940.2, 1832.8}},
        {OVP_TC_N, 1500, 1200, {1499.7, 1499.0, 1497.0, 1490.3, 1472.7}},
        {OVP_TC_N, 2000, 1600, {1999.6, 1998.6, 1996.0, 1986.9, 1963.1}},
        {OVP_TC_N, 2000, 160, {1998.2, 1994.0, 1982.3, 1942.3, 1838.2}},
        {OVP_TC_S, 1500, 1200, {1499.7, 1499.0, 1497.1, 1490.6, 1473.4}},
        {OVP_TC_S, 2000, 1600, {1999.6, 1998.7, 1996.2, 1987.5, 1964.6}},
        {OVP_TC_S, 2000, 160, {1998.4, 1994.8, 1984.5, 1949.6, 1856.9}},
        /* the leak is hotter than the tip: it reads high (the ratio 1000 is not in the table) */
        {OVP_TC_K, 1200, 1800, {NAN, 1201.9, 1205.7, 1218.7, 1252.8}},
        {OVP_TC_J, 1200, 1800, {NAN, 1202.1, 1206.2, 1220.1, 1256.2}},
        {OVP_TC_N, 1200, 1800, {NAN, 1202.0, 1205.9, 1219.3, 1254.5}},
        {OVP_TC_S, 1200, 1800, {NAN, 1202.1, 1206.3, 1220.4, 1257.2}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t k = 0; k < 5; k++) {
            if (isnan(rows[i].shows_F[k]))
                continue;
            ovp_tc_loop loop = loop_of(rows[i].type, rows[i].tip_F, 100);
            loop.leak_at_C = celsius(rows[i].leak_F);
            loop.leak_ratio = ratios[k];
            check(&loop, rows[i].shows_F[k], 0.1, "I");
        }
}

/* Table K. Millivolts at the controller's screws, couple alone: E(hot) - E(panel). */
static void millivolts_at_the_screws(void **state)
{
    (void)state;
    static const double tips_F[] = {75, 212, 400, 700, 1000, 1200, 1500, 1700, 1800, 2000};
    static const struct {
        ovp_tc_type type;
        double panel_F, emf_mV[10];
    } rows[] = {
        {OVP_TC_K, 75, {0.00, 3.14, 7.36, 14.22, 21.30, 26.02, 32.96, 37.43, 39.63, 43.91}},
        {OVP_TC_K, 100, {-0.57, 2.58, 6.80, 13.66, 20.73, 25.46, 32.39, 36.87, 39.06, 43.35}},
        {OVP_TC_J, 75, {0.00, 4.05, 9.81, 19.04, 28.30, 34.78, 45.28, 52.31, 55.68, 62.19}},
        {OVP_TC_J, 100, {-0.72, 3.33, 9.08, 18.31, 27.58, 34.06, 44.56, 51.59, 54.95, 61.46}},
        {OVP_TC_N, 75, {0.00, 2.15, 5.43, 11.28, 17.57, 21.89, 28.44, 32.78, 34.94, 39.20}},
        {OVP_TC_N, 100, {-0.37, 1.77, 5.06, 10.90, 17.20, 21.52, 28.06, 32.41, 34.56, 38.83}},
        {OVP_TC_S, 75, {0.00, 0.51, 1.34, 2.85, 4.47, 5.61, 7.38, 8.61, 9.25, 10.54}},
        {OVP_TC_S, 100, {-0.08, 0.43, 1.26, 2.76, 4.39, 5.52, 7.29, 8.53, 9.16, 10.46}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t k = 0; k < 10; k++) {
            ovp_tc_loop loop = loop_of(rows[i].type, tips_F[k], rows[i].panel_F);
            ovp_tc_reading reading;
            assert_int_equal(ovp_tc_loop_read(&loop, &reading, NULL), OVP_OK);
            if (!(fabs(reading.emf_mV - rows[i].emf_mV[k]) <= 0.005 + 1e-9))
                fail_msg("table K: type %s at %g: %.5f, not %.2f", ovp_tc_type_name(rows[i].type), tips_F[k],
                         reading.emf_mV, rows[i].emf_mV[k]);
        }
}

/* Table L. Reversed, the first minutes; panel 75 degF. */
static void reversed_by_the_minute(void **state)
{
    (void)state;
    static const double tips_F[] = {75, 100, 150, 200, 250, 300, 350, 400, 450};
    static const struct {
        ovp_tc_type type;
        double shows_F[9];
    } rows[] = {
        {OVP_TC_K, {75, 50, -3, -59, -119, -187, -269, -419, UNDER}},
        {OVP_TC_J, {75, 50, -3, -59, -120, -188, -269, UNDER, UNDER}},
        {OVP_TC_N, {75, 50, -4, -62, -126, -203, -312, UNDER, UNDER}},
        {OVP_TC_S, {75, 49, -14, UNDER, UNDER, UNDER, UNDER, UNDER, UNDER}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t k = 0; k < 9; k++) {
            ovp_tc_loop loop = loop_of(rows[i].type, tips_F[k], 75);
            loop.reversed = true;
            check(&loop, rows[i].shows_F[k], 1.0, "L");
        }
}

/* Beyond the type: J above 1200, N above 1300, K above 1372, S above 1768 degC: over range, and under it
 * reversed. */
static void hotter_than_the_function(void **state)
{
    (void)state;
    static const struct {
        ovp_tc_type type;
        double tip_F;
    } rows[] = {{OVP_TC_J, 2193}, {OVP_TC_N, 2373}, {OVP_TC_K, 2503}, {OVP_TC_S, 3216}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_tc_loop loop = loop_of(rows[i].type, rows[i].tip_F, 100);
        assert_true(shown(&loop) == OVER);
        loop.input = OVP_TC_S; /* all base metal is off the scale of S long before */
        assert_true(shown(&loop) == OVER);
        loop.input = rows[i].type;
        loop.reversed = true;
        assert_true(shown(&loop) == UNDER);
    }
    ovp_tc_reading reading;
    ovp_tc_loop loop = loop_of(OVP_TC_J, 2300, 100);
    loop.input = OVP_TC_B; /* up to 76 mV would be on no scale of B */
    assert_true(shown(&loop) == OVER);
    loop.input = OVP_TC_E; /* 69.6 mV is on the scale of E, and nobody knows J beyond it */
    assert_int_equal(ovp_tc_loop_read(&loop, &reading, NULL), OVP_ERROR_DATA);
}

/* Two K tips in parallel, equal ohms, 1500 and 1400 degF: the mean emf, 1449.8 degF (computed from ITS-90).
 */
static void two_tips_in_parallel(void **state)
{
    (void)state;
    double a_mV = NAN, b_mV = NAN, mean_C = NAN;
    assert_int_equal(ovp_tc_emf(OVP_TC_K, celsius(1500), &a_mV, NULL), OVP_OK);
    assert_int_equal(ovp_tc_emf(OVP_TC_K, celsius(1400), &b_mV, NULL), OVP_OK);
    assert_int_equal(ovp_tc_temperature(OVP_TC_K, 0.5 * (a_mV + b_mV), &mean_C, NULL), OVP_OK);
    assert_true(fabs(mean_C * 1.8 + 32.0 - 1449.8) <= 0.05 + 1e-6);
}

static void open_and_refused(void **state)
{
    (void)state;
    ovp_tc_reading reading;
    ovp_error error = {0};
    ovp_tc_loop loop = loop_of(OVP_TC_K, 1500, 75);
    loop.open = true;
    assert_int_equal(ovp_tc_loop_read(&loop, &reading, &error), OVP_OK);
    assert_int_equal(reading.display, OVP_TC_DISPLAY_OPEN);
    assert_true(isnan(reading.reads_C) && isnan(reading.error_C) && isnan(reading.emf_mV));
    loop = loop_of(OVP_TC_K, -500, 75);
    assert_int_equal(ovp_tc_loop_read(&loop, &reading, &error), OVP_ERROR_DATA);
    loop = loop_of(OVP_TC_K, 1500, 75);
    loop.extension = OVP_TC_T;
    loop.head_C = 500.0;
    assert_int_equal(ovp_tc_loop_read(&loop, &reading, &error), OVP_ERROR_DATA);
    loop = loop_of(OVP_TC_K, 1500, -40);
    loop.input = OVP_TC_B;
    assert_int_equal(ovp_tc_loop_read(&loop, &reading, &error), OVP_ERROR_DATA);
    loop = loop_of(OVP_TC_K, 1500, 75);
    loop.leak_ratio = 0.0;
    loop.leak_at_C = 100.0;
    assert_int_equal(ovp_tc_loop_read(&loop, &reading, &error), OVP_ERROR_DATA);
    loop = loop_of(OVP_TC_K, NAN, 75);
    assert_int_equal(ovp_tc_loop_read(&loop, &reading, &error), OVP_ERROR_DATA);
}

/* Type B near room has two temperatures for one emf: nothing jumps when the couple warms by a hair. */
static void type_b_input_near_room(void **state)
{
    (void)state;
    static const double panels_C[] = {10.0, 24.0, 40.0, 50.0};
    for (size_t i = 0; i < sizeof panels_C / sizeof panels_C[0]; i++) {
        ovp_tc_loop loop;
        ovp_tc_loop_init(&loop, OVP_TC_B, panels_C[i] + 0.001, panels_C[i]);
        ovp_tc_reading reading;
        assert_int_equal(ovp_tc_loop_read(&loop, &reading, NULL), OVP_OK);
        assert_int_equal(reading.display, OVP_TC_DISPLAY_OK);
        assert_true(fabs(reading.reads_C - panels_C[i]) < 0.01);
    }
    assert_string_equal(ovp_tc_display_name(OVP_TC_DISPLAY_UNDER_RANGE), "under-range");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(right_loop_reads_the_tip),
        cmocka_unit_test(one_temperature_shows_the_panel),
        cmocka_unit_test(reversed_at_the_controller),
        cmocka_unit_test(display_limits),
        cmocka_unit_test(reversed_at_the_head),
        cmocka_unit_test(double_reversal),
        cmocka_unit_test(wrong_type_set),
        cmocka_unit_test(wrong_extension),
        cmocka_unit_test(wrong_extension_crossed),
        cmocka_unit_test(compensation),
        cmocka_unit_test(shorted),
        cmocka_unit_test(leaking),
        cmocka_unit_test(millivolts_at_the_screws),
        cmocka_unit_test(reversed_by_the_minute),
        cmocka_unit_test(hotter_than_the_function),
        cmocka_unit_test(two_tips_in_parallel),
        cmocka_unit_test(open_and_refused),
        cmocka_unit_test(type_b_input_near_room),
    };
    return cmocka_run_group_tests_name("loop", tests, NULL, NULL);
}
