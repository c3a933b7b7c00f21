/* Uncertainty budgets against published ones. Sources stand beside each check. */
#include "ovenproof/metrology.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

static ovp_metrology_budget budget;

static void begin(void)
{
    budget = (ovp_metrology_budget){0};
}

static void add(ovp_metrology_shape shape, double width, double k, double sensitivity, double freedom)
{
    budget.inputs[budget.count++] = (ovp_metrology_input){shape, width, k, sensitivity, freedom};
}

static ovp_metrology_combined combine(double level)
{
    ovp_metrology_combined combined;
    ovp_error error = {0};
    if (ovp_metrology_combine(&budget, level, &combined, &error) != OVP_OK)
        fail_msg("%s", error.what);
    return combined;
}

/* EA-4/02, example S5, first part: temperature of the furnace, a type N couple at 1000 degC. u = 0.641 degC,
 * U 1.3. */
static void furnace_temperature(void **state)
{
    (void)state;
    const double C_per_uV = 0.077;
    begin();
    add(OVP_METROLOGY_NORMAL, 0.10, 1, 1, INFINITY);            /* observation */
    add(OVP_METROLOGY_NORMAL, 0.3, 2, 1, INFINITY);             /* calibration of the reference */
    add(OVP_METROLOGY_NORMAL, 1.00, 1, C_per_uV, INFINITY);     /* voltmeter */
    add(OVP_METROLOGY_RECTANGULAR, 0.5, 1, C_per_uV, INFINITY); /* its resolution: 0.29 uV */
    add(OVP_METROLOGY_RECTANGULAR, 2, 1, C_per_uV, INFINITY);   /* reversing switch */
    add(OVP_METROLOGY_RECTANGULAR, 0.1, 1, -0.407, INFINITY);   /* ice point */
    add(OVP_METROLOGY_RECTANGULAR, 0.3, 1, 1, INFINITY);        /* drift */
    add(OVP_METROLOGY_RECTANGULAR, 1, 1, 1, INFINITY);          /* furnace not uniform */
    ovp_metrology_combined combined = combine(0.9545);
    assert_true(fabs(combined.u - 0.641) <= 0.0005);
    assert_true(fabs(combined.k - 2.0) <= 0.0001);
    assert_true(fabs(combined.expanded - 1.3) <= 0.05);
}

/* EA-4/02, example S5, second part: emf of the couple under calibration. u = 25.0 uV, U 50 uV. */
static void emf_of_the_couple(void **state)
{
    (void)state;
    begin();
    add(OVP_METROLOGY_NORMAL, 1.6, 1, 1, INFINITY);          /* indication */
    add(OVP_METROLOGY_NORMAL, 1.00, 1, 1, INFINITY);         /* voltmeter */
    add(OVP_METROLOGY_RECTANGULAR, 0.5, 1, 1, INFINITY);     /* its resolution */
    add(OVP_METROLOGY_RECTANGULAR, 2, 1, 1, INFINITY);       /* reversing switch */
    add(OVP_METROLOGY_RECTANGULAR, 5, 1, 1, INFINITY);       /* compensating cable */
    add(OVP_METROLOGY_NORMAL, 0.641, 1, 38.5, INFINITY);     /* temperature of the furnace */
    add(OVP_METROLOGY_RECTANGULAR, 0.1, 1, -25.6, INFINITY); /* ice point */
    ovp_metrology_combined combined = combine(0.9545);
    assert_true(fabs(combined.u - 25.0) <= 0.05);
    assert_true(fabs(combined.expanded - 50.0) <= 0.5);
}

/* JCGM 100:2008, example H.1, end gauge: u 32 nm, 16 degrees of freedom, k 2.92 and U 93 nm at 99 %. */
static void end_gauge(void **state)
{
    (void)state;
    const double length_nm = 50000623.0;
    begin();
    add(OVP_METROLOGY_NORMAL, 25, 1, 1, 18);                      /* the standard */
    add(OVP_METROLOGY_NORMAL, 9.7, 1, 1, 25.6);                   /* difference measured */
    add(OVP_METROLOGY_NORMAL, 0.58e-6, 1, -length_nm * -0.1, 50); /* difference of expansion */
    add(OVP_METROLOGY_NORMAL, 0.029, 1, -length_nm * 11.5e-6, 2); /* difference of temperature */
    ovp_metrology_combined combined = combine(0.99);
    assert_true(fabs(combined.u - 32.0) <= 0.5);
    assert_true(floor(combined.freedom) == 16.0);
    assert_true(fabs(combined.k - 2.92) <= 0.005);
    assert_true(fabs(combined.expanded - 93.0) <= 0.5);
}

/* JCGM 100:2008, table G.2: Student's t. */
static void coverage_factors(void **state)
{
    (void)state;
    static const struct {
        double level, freedom, k;
    } rows[] = {{0.6827, 1, 1.84},  {0.95, 1, 12.71},        {0.9545, 1, 13.97},       {0.99, 1, 63.66},
                {0.95, 5, 2.57},    {0.9545, 5, 2.65},       {0.99, 5, 4.03},          {0.9973, 5, 5.51},
                {0.95, 10, 2.23},   {0.9545, 10, 2.28},      {0.99, 16, 2.92},         {0.9545, 50, 2.05},
                {0.95, 100, 1.984}, {0.95, INFINITY, 1.960}, {0.9973, INFINITY, 3.000}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double k = ovp_metrology_student(rows[i].level, rows[i].freedom);
        if (!(fabs(k - rows[i].k) <= 0.0051))
            fail_msg("level %g, %g degrees of freedom: k %.4f, not %.3f", rows[i].level, rows[i].freedom, k,
                     rows[i].k);
    }
    /* two degrees of freedom have a closed form: k = p sqrt(2 / (1 - p^2)) */
    for (int i = 1; i < 100; i++) {
        double p = i / 100.0;
        assert_true(fabs(ovp_metrology_student(p, 2.0) - p * sqrt(2.0 / (1.0 - p * p))) < 1e-10);
    }
}

/* JCGM 100:2008 clause 4.3: half-widths, and clause 5.2: r = 1 adds, r = -1 subtracts. */
static void shapes_and_correlation(void **state)
{
    (void)state;
    static const struct {
        ovp_metrology_shape shape;
        double u;
    } rows[] = {{OVP_METROLOGY_NORMAL, 0.5},
                {OVP_METROLOGY_RECTANGULAR, 0.577350269},
                {OVP_METROLOGY_TRIANGULAR, 0.408248290},
                {OVP_METROLOGY_U_SHAPED, 0.707106781}};
    for (size_t i = 0; i < 4; i++) {
        begin();
        add(rows[i].shape, 1, 2, -3, INFINITY);
        assert_true(fabs(combine(0.9545).u - 3.0 * rows[i].u) < 1e-8);
    }
    begin();
    add(OVP_METROLOGY_NORMAL, 3, 1, 1, INFINITY);
    add(OVP_METROLOGY_NORMAL, 4, 1, 1, INFINITY);
    assert_true(fabs(combine(0.9545).u - 5.0) < 1e-12);
    budget.correlations[0].b = 1;
    budget.correlations[0].r = 1.0;
    budget.correlation_count = 1;
    assert_true(fabs(combine(0.9545).u - 7.0) < 1e-12);
    budget.correlations[0].r = -1.0;
    assert_true(fabs(combine(0.9545).u - 1.0) < 1e-12);
    ovp_metrology_shape shape;
    assert_true(ovp_metrology_shape_named(ovp_span_of("U-shaped"), &shape) &&
                shape == OVP_METROLOGY_U_SHAPED);
    assert_false(ovp_metrology_shape_named(ovp_span_of("square"), &shape));
}

static void bad_budgets(void **state)
{
    (void)state;
    static const struct {
        ovp_metrology_input input;
        const char *says;
    } rows[] = {
        {{OVP_METROLOGY_RECTANGULAR, -1, 1, 1, INFINITY}, "width"},
        {{OVP_METROLOGY_RECTANGULAR, NAN, 1, 1, INFINITY}, "width"},
        {{OVP_METROLOGY_NORMAL, 1, 0, 1, INFINITY}, "coverage factor"},
        {{OVP_METROLOGY_NORMAL, 1, NAN, 1, INFINITY}, "coverage factor"},
        {{OVP_METROLOGY_NORMAL, 1, 1, NAN, INFINITY}, "sensitivity"},
        {{OVP_METROLOGY_NORMAL, 1, 1, 1, 0}, "degrees of freedom"},
        {{OVP_METROLOGY_NORMAL, 1, 1, 1, NAN}, "degrees of freedom"},
    };
    ovp_metrology_combined combined;
    ovp_error error = {0};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        begin();
        budget.inputs[budget.count++] = rows[i].input;
        assert_int_equal(ovp_metrology_combine(&budget, 0.95, &combined, &error), OVP_ERROR_DATA);
        assert_non_null(strstr(error.what, rows[i].says));
    }
    begin();
    assert_int_equal(ovp_metrology_combine(&budget, 0.95, &combined, &error), OVP_ERROR_DATA);
    add(OVP_METROLOGY_NORMAL, 1, 1, 1, INFINITY);
    assert_int_equal(ovp_metrology_combine(&budget, 1.0, &combined, &error), OVP_ERROR_DATA);
    budget.correlation_count = 1; /* of an input with itself */
    assert_int_equal(ovp_metrology_combine(&budget, 0.95, &combined, &error), OVP_ERROR_DATA);
    add(OVP_METROLOGY_NORMAL, 1, 1, 1, INFINITY);
    budget.correlations[0].b = 1;
    budget.correlations[0].r = 1.5;
    assert_int_equal(ovp_metrology_combine(&budget, 0.95, &combined, &error), OVP_ERROR_DATA);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(furnace_temperature),
        cmocka_unit_test(emf_of_the_couple),
        cmocka_unit_test(end_gauge),
        cmocka_unit_test(coverage_factors),
        cmocka_unit_test(shapes_and_correlation),
        cmocka_unit_test(bad_budgets),
    };
    return cmocka_run_group_tests_name("metrology budget", tests, NULL, NULL);
}
