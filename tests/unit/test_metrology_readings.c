/* Rows of a comparison, from text to points. Contract: docs/json.md, `verify`. */
#include "ovenproof/metrology.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const ovp_tc_type type_k = OVP_TC_K;
static ovp_metrology_readings readings;

/* The text in two cuts at every place gives the same; `cut` past the end is one piece. */
static ovp_status read_cut(const char *text, size_t cut, const ovp_tc_type *sensor, ovp_error *error)
{
    size_t length = strlen(text);
    size_t first = cut < length ? cut : length;
    void *memory = malloc(ovp_metrology_reader_size());
    assert_non_null(memory);
    *error = (ovp_error){0};
    ovp_metrology_reader *reader = ovp_metrology_reader_init(memory, sensor, &readings);
    ovp_status status = ovp_metrology_reader_feed(reader, text, first, error);
    if (status == OVP_OK)
        status = ovp_metrology_reader_feed(reader, text + first, length - first, error);
    if (status == OVP_OK)
        status = ovp_metrology_reader_end(reader, error);
    free(memory);
    return status;
}

static void read_well(const char *text, const ovp_tc_type *sensor)
{
    ovp_error error;
    for (size_t cut = 0; cut <= strlen(text); cut += 7)
        if (read_cut(text, cut, sensor, &error) != OVP_OK)
            fail_msg("%s (line %d)", error.what, (int)error.line);
}

static void rows_of_one_nominal_are_one_point(void **state)
{
    (void)state;
    read_well("# by hand\nnominal_C,reference_C,reading_C,reference_U_C\n"
              "500,500.5,498,0.6\n800,801,799.5,0.8\n500,500.1,499,0.7\n",
              NULL);
    assert_int_equal(readings.rows, 3);
    assert_int_equal(readings.point_count, 2);
    assert_true(readings.points[0].nominal_C == 500.0 && readings.points[1].nominal_C == 800.0);
    assert_int_equal(readings.points[0].count, 2);
    assert_true(fabs(readings.points[0].mean_error_C - (-2.5 - 1.1) / 2.0) < 1e-9);
    assert_true(fabs(readings.points[0].mean_reference_C - 500.3) < 1e-9);
    assert_true(readings.points[0].reference_U_C == 0.7); /* the largest of its rows */
    assert_true(fabs(readings.points[0].resolution_C - 0.1) < 1e-15);
    assert_false(readings.from_emf);
}

static void fahrenheit_and_kelvin(void **state)
{
    (void)state;
    read_well("Nominal_F;Reference_K;Reading_F;Reference_U_F\n1500;1088,7;1496;1,8\n", NULL);
    assert_true(fabs(readings.points[0].nominal_C - 815.5555555555) < 1e-6);
    assert_true(fabs(readings.points[0].mean_reference_C - 815.55) < 1e-9);
    assert_true(fabs(readings.points[0].reference_U_C - 1.0) < 1e-12);
    assert_true(fabs(readings.points[0].resolution_C - 1.0 / 1.8) < 1e-12);
}

/* K, 19.689 mV with the screws at 75 degF is 500 degC (computed from ITS-90: 20.644 - 0.955). */
static void emf_with_its_cold_junction(void **state)
{
    (void)state;
    read_well("nominal_C,reference_C,emf_mV,cold_junction_F,reference_U_C\n500,500,19.689,75,0.5\n", &type_k);
    assert_true(fabs(readings.points[0].mean_error_C) < 0.03);
    assert_true(fabs(readings.points[0].resolution_C - 0.001 / 0.0426) < 1e-3); /* 42.6 uV/degC at 500 */
    assert_true(readings.from_emf);
}

static void unknown_reference_stays_unknown(void **state)
{
    (void)state;
    read_well("nominal_C,reference_C,reading_C,reference_U_C\n500,500,500,0.5\n500,500,500,\n", NULL);
    assert_true(isnan(readings.points[0].reference_U_C));
    read_well("nominal_C,reference_C,reading_C,reference_U_C\n500,500,500,0\n500,500,500,0.5\n", NULL);
    assert_true(isnan(readings.points[0].reference_U_C)); /* nobody's reference is perfect */
    read_well("nominal_C,reference_C,reading_C\n500,500,500\n", NULL);
    assert_true(isnan(readings.points[0].reference_U_C));
    ovp_metrology_readings_reference(&readings, 0.4);
    assert_true(readings.points[0].reference_U_C == 0.4);
    ovp_metrology_readings_reference(&readings, 0.9); /* known by now */
    assert_true(readings.points[0].reference_U_C == 0.4);
}

/* A calibrator's 4.26 uV are 0.1 degC at 500 degC on K: 42.6 uV/degC (computed from ITS-90). */
static void calibrator_in_microvolts(void **state)
{
    (void)state;
    read_well("nominal_C,reference_C,reading_C\n500,500,500\n", NULL);
    assert_int_equal(ovp_metrology_readings_reference_emf(&readings, OVP_TC_K, 0.00426, NULL), OVP_OK);
    assert_true(fabs(readings.points[0].reference_U_C - 0.1) < 1e-3);
    read_well("nominal_C,reference_C,reading_C\n500,500,500\n", NULL);
    assert_int_equal(ovp_metrology_readings_reference_emf(&readings, OVP_TC_T, 0.00426, NULL),
                     OVP_ERROR_DATA);
}

static void resolution_column_wins(void **state)
{
    (void)state;
    read_well("nominal_C,reference_C,reading_C,resolution_C\n500,500,500.25,0.5\n", NULL);
    assert_true(readings.points[0].resolution_C == 0.5);
}

static void refusals_name_the_line(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        uint64_t line;
        const char *says;
    } rows[] = {
        {"", 0, "nothing in it"},
        {"nominal_C,reference_C,reading_C\n", 0, "no readings"},
        {"500,500,500\n", 1, "no column nominal"},
        {"nominal_C,reading_C\n500,500\n", 1, "no column reference"},
        {"nominal_C,reference_C\n500,500\n", 1, "no column reading"},
        {"nominal,reference,reading\n500,500,500\n", 1, "no column nominal"},
        {"nominal_C,reference_C,reading_C,reading_F\n5,5,5,5\n", 1, "two columns"},
        {"nominal_C,reference_C,reading_C,emf_mV\n5,5,5,5\n", 1, "which of the two"},
        {"nominal_C,reference_C,emf_mV\n5,5,5\n", 1, "cold_junction_C"},
        {"nominal_C,reference_C,reading_C\n500,500,500\n500,hot,500\n", 3, "\"hot\", which is no number"},
        {"nominal_C,reference_C,reading_C\n500,500,\n", 2, "no reading in this row"},
        {"nominal_C,reference_C,reading_C\n500,500,OPEN\n", 2, "OPEN"},
        {"nominal_C,reference_C,reading_C\n500,500,-300\n", 2, "no temperature of an oven"},
        {"nominal_C,reference_C,reading_C\n500,1e300,500\n", 2, "no temperature of an oven"},
        {"nominal_C,reference_C,reading_C\n500,inf,500\n", 2, "no number"},
        {"nominal_C,reference_C,reading_C,reference_U_C\n500,500,500,-1\n", 2, "reference_U"},
        {"nominal_C,reference_C,emf_mV,cold_junction_C\n500,500,99,20\n", 2, "outside type K"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_error error;
        ovp_status status = read_cut(rows[i].text, 11, &type_k, &error);
        if (status != OVP_ERROR_DATA || error.line != rows[i].line ||
            strstr(error.what, rows[i].says) == NULL)
            fail_msg("row %d: status %d, line %d, \"%s\"", (int)i, (int)status, (int)error.line, error.what);
        assert_true(error.hint[0] != '\0');
    }
    ovp_error error;
    assert_int_equal(read_cut("nominal_C,reference_C,emf_mV,cold_junction_C\n5,5,1,2\n", 9, NULL, &error),
                     OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "type of couple"));
}

static void too_many_points(void **state)
{
    (void)state;
    readings = (ovp_metrology_readings){0};
    ovp_metrology_row row = {.reference_C = 500.0, .reading_C = 500.0, .reference_U_C = 1.0};
    for (int i = 0; i < OVP_METROLOGY_POINTS; i++) {
        row.nominal_C = 500.0 + i;
        assert_int_equal(ovp_metrology_readings_add(&readings, &row, NULL), OVP_OK);
    }
    row.nominal_C = 100.0;
    assert_int_equal(ovp_metrology_readings_add(&readings, &row, NULL), OVP_ERROR_DATA);
    row.nominal_C = 500.0;
    assert_int_equal(ovp_metrology_readings_add(&readings, &row, NULL), OVP_OK);
    assert_int_equal(readings.rows, OVP_METROLOGY_POINTS + 1);
    row.reading_C = NAN;
    assert_int_equal(ovp_metrology_readings_add(&readings, &row, NULL), OVP_ERROR_DATA);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_of_one_nominal_are_one_point),
        cmocka_unit_test(fahrenheit_and_kelvin),
        cmocka_unit_test(emf_with_its_cold_junction),
        cmocka_unit_test(unknown_reference_stays_unknown),
        cmocka_unit_test(calibrator_in_microvolts),
        cmocka_unit_test(resolution_column_wins),
        cmocka_unit_test(refusals_name_the_line),
        cmocka_unit_test(too_many_points),
    };
    return cmocka_run_group_tests_name("metrology readings", tests, NULL, NULL);
}
