/* Uncertainty budgets against published ones. Sources stand beside each check. */
#include "ovenproof/metrology.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
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

/* ---- budget files --------------------------------------------------------------------------------- */

static ovp_metrology_budget_file file;

static void set(const char *path, const char *text)
{
    ovp_error error = {0};
    if (ovp_metrology_budget_set(&file, path, ovp_span_of(text), &error) != OVP_OK)
        fail_msg("%s = %s: %s", path, text, error.what);
}

static void refused(const char *path, const char *text)
{
    ovp_error error = {0};
    assert_int_equal(ovp_metrology_budget_set(&file, path, ovp_span_of(text), &error), OVP_ERROR_DATA);
    assert_true(error.what[0] != '\0');
}

/* Widths in degrees, millivolts, a share of the temperature and a class: K at 1000 degC, 38.98 uV/degC
 * (ITS-90). */
static void widths_of_every_kind(void **state)
{
    (void)state;
    static const ovp_tc_type sensor = OVP_TC_K;
    static const char *const widths[] = {"1.8F", "38.98uV", "0.1%", "astm-e230-special"};
    static const double expected_C[] = {1.0, 1.0, 1.0, 4.0};
    for (size_t i = 0; i < 4; i++) {
        ovp_metrology_budget_init(&file);
        set("name", "test");
        set("inputs[1].name", "a");
        set("inputs[1].source", "test");
        set("inputs[1].shape", "normal");
        set("inputs[1].k", "1");
        set("inputs[1].width", widths[i]);
        assert_int_equal(ovp_metrology_budget_check(&file, NULL), OVP_OK);
        ovp_metrology_point point;
        ovp_metrology_parts parts;
        ovp_metrology_result result;
        ovp_metrology_point_init(&point, 1000.0, 1e-9, 0.0);
        ovp_metrology_point_add(&point, 1000.0, 1000.0);
        assert_int_equal(ovp_metrology_point_with_budget(&point, 20.0, &file, &sensor, &parts, &result, NULL),
                         OVP_OK);
        assert_true(fabs(parts.combined.u - expected_C[i]) < 1e-4);
        assert_true(fabs(result.expanded_uncertainty_C - 2.0 * expected_C[i]) < 1e-3);
        bool needs_type = i == 1 || i == 3;
        assert_int_equal(ovp_metrology_point_with_budget(&point, 20.0, &file, NULL, &parts, &result, NULL),
                         needs_type ? OVP_ERROR_DATA : OVP_OK);
    }
}

/* Two readings have one degree of freedom: k is Student's 13.97 and not 2 when nothing else counts (JCGM 100
 * G.2). */
static void few_readings_widen_it(void **state)
{
    (void)state;
    ovp_metrology_budget_init(&file);
    ovp_metrology_point point;
    ovp_metrology_parts parts;
    ovp_metrology_result result;
    ovp_metrology_point_init(&point, 500.0, 1e-9, 0.0);
    ovp_metrology_point_add(&point, 500.0, 500.0);
    ovp_metrology_point_add(&point, 500.0, 502.0);
    assert_int_equal(ovp_metrology_point_with_budget(&point, 20.0, &file, NULL, &parts, &result, NULL),
                     OVP_OK);
    assert_true(fabs(parts.combined.k - 13.97) < 0.01);
    assert_true(fabs(result.error_C - 1.0) < 1e-12 && fabs(result.type_a_C - 1.0) < 1e-12);
}

static void bad_files(void **state)
{
    (void)state;
    ovp_metrology_budget_init(&file);
    assert_int_equal(ovp_metrology_budget_check(&file, NULL), OVP_ERROR_DATA);
    refused("inputs", "");
    refused("colour", "red");
    refused("inputs[0].name", "a");
    refused("inputs[-1].name", "a");
    refused("inputs[25].name", "a");
    refused("inputs[1]name", "a");
    refused("inputs[1].colour", "red");
    refused("inputs[1].shape", "round");
    refused("inputs[1].width", "-5F");
    refused("inputs[1].width", "5");
    refused("inputs[1].width", "five");
    refused("inputs[1].k", "0");
    refused("inputs[1].freedom", "-1");
    refused("inputs[1].stands_for", "luck");
    refused("inputs[1].name", "  ");
    static const char *const keys[] = {"name", "source", "shape", "width", "k"};
    static const char *const values[] = {"a", "b", "normal", "5F", "2"};
    ovp_metrology_budget_init(&file);
    for (size_t i = 0; i < 5; i++) {
        char path[64];
        file.count = 1;
        assert_int_equal(ovp_metrology_budget_check(&file, NULL), OVP_ERROR_DATA);
        snprintf(path, sizeof path, "inputs[1].%s", keys[i]);
        set(path, values[i]);
    }
    assert_int_equal(ovp_metrology_budget_check(&file, NULL), OVP_OK);
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
        cmocka_unit_test(widths_of_every_kind),
        cmocka_unit_test(few_readings_widen_it),
        cmocka_unit_test(bad_files),
    };
    return cmocka_run_group_tests_name("metrology budget", tests, NULL, NULL);
}
