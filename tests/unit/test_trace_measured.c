/*
 * Measured runs that others have published, read as they stand. What must come out is the publisher's, or
 * plain arithmetic on the file. The files are not part of this tree: they are looked for in the folder that
 * OVENPROOF_OUTSIDE_DATA names (../shared without it), under data/.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "ovenproof/trace.h"

enum {
    MOST = 8192,
    CHUNK = 4096,
};

typedef struct run {
    double time[MOST];
    double value[MOST];
    double setpoint[MOST];
    size_t count;
    ovp_trace_input input;
    ovp_status status;
    ovp_error error;
} run;

static run got;

static void take(void *context, const ovp_trace_sample *sample)
{
    run *to = context;
    assert_true(to->count < MOST);
    to->time[to->count] = sample->time_s;
    to->value[to->count] = sample->temperature_C;
    to->setpoint[to->count] = sample->setpoint_C;
    to->count++;
}

static FILE *open_data(const char *name)
{
    char path[512];
    const char *folder = getenv("OVENPROOF_OUTSIDE_DATA");
    snprintf(path, sizeof path, "%s/data/%s", folder != NULL ? folder : "../shared", name);
    return fopen(path, "rb");
}

static void feed_file(ovp_trace_reader *reader, FILE *file)
{
    static char bytes[CHUNK];
    size_t count = fread(bytes, 1, CHUNK, file);
    while (count > 0 && got.status == OVP_OK) {
        got.status = ovp_trace_reader_feed(reader, bytes, count, &got.error);
        count = fread(bytes, 1, CHUNK, file);
    }
    if (got.status == OVP_OK)
        got.status = ovp_trace_reader_end(reader, &got.error);
}

/* Reads with a column chosen (NULL: none). Ends the test when the file is not there. */
static void read_data(const char *name, const char *column)
{
    FILE *file = open_data(name);
    if (file == NULL) {
        print_message("skipped: no shared data\n");
        skip();
    }
    memset(&got, 0, sizeof got);
    ovp_trace_options options;
    ovp_trace_options_init(&options);
    options.column[OVP_TRACE_TEMPERATURE] = column;
    void *memory = malloc(ovp_trace_reader_size());
    assert_non_null(memory);
    ovp_trace_reader *reader = ovp_trace_reader_init(memory, &options, take, &got);
    feed_file(reader, file);
    got.input = *ovp_trace_reader_input(reader);
    fclose(file);
    free(memory);
}

static void reads(const char *name, const char *column)
{
    read_data(name, column);
    if (got.status != OVP_OK)
        fail_msg("%s:%lu: %s", name, (unsigned long)got.error.line, got.error.what);
    assert_int_equal(got.count, got.input.samples);
}

static bool warned(const char *words)
{
    for (size_t i = 0; i < got.input.warning_count && i < OVP_TRACE_WARNINGS; i++)
        if (strstr(got.input.warnings[i], words) != NULL)
            return true;
    return false;
}

static double slope_per_s(double from_s, double to_s)
{
    double n = 0.0;
    double t = 0.0;
    double v = 0.0;
    for (size_t i = 0; i < got.count; i++) {
        if (got.time[i] < from_s || got.time[i] > to_s)
            continue;
        n += 1.0;
        t += got.time[i];
        v += got.value[i];
    }
    double upper = 0.0;
    double lower = 0.0;
    for (size_t i = 0; i < got.count; i++) {
        if (got.time[i] < from_s || got.time[i] > to_s)
            continue;
        upper += (got.time[i] - t / n) * (got.value[i] - v / n);
        lower += (got.time[i] - t / n) * (got.time[i] - t / n);
    }
    return upper / lower;
}

static void near(double value, double wanted, double tolerance)
{
    if (!(fabs(value - wanted) <= tolerance))
        fail_msg("%.10g is not within %g of %.10g", value, tolerance, wanted);
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double from_s, double to_s)
{
    static double part[MOST];
    size_t count = 0;
    for (size_t i = 0; i < got.count; i++)
        if (got.time[i] >= from_s && got.time[i] <= to_s)
            part[count++] = got.value[i];
    assert_true(count > 0);
    qsort(part, count, sizeof part[0], by_value);
    return count % 2 == 1 ? part[count / 2] : 0.5 * (part[count / 2 - 1] + part[count / 2]);
}

/* NIST, CAROLFIRE (NUREG/CR-6931), penlight test 1: shroud plateau 483.5 degC, 95 % of the rise at 92.5 s. */
static void carolfire_shroud(void **state)
{
    (void)state;
    reads("nist-fire/CAROLFIRE_PT_1.csv", "Shroud");
    assert_int_equal(got.count, 1613);
    assert_true(got.input.start_s == -0.5);
    assert_true(warned("begins at -0.5 s"));
    assert_true(warned("names no unit"));
    double plateau = median(120.0, 858.0);
    near(plateau, 483.5, 1.0);
    double level = got.value[0] + 0.95 * (483.5 - got.value[0]);
    size_t i = 0;
    while (i < got.count && got.value[i] < level)
        i++;
    near(got.time[i] + got.input.start_s, 92.5, 1e-9);
}

static void carolfire_needs_a_choice(void **state)
{
    (void)state;
    read_data("nist-fire/CAROLFIRE_PT_1.csv", NULL);
    assert_int_equal(got.status, OVP_ERROR_DATA);
    assert_non_null(strstr(got.error.hint, "\"Shroud\" (2)"));
}

static void carolfire_other_tests(void **state)
{
    (void)state;
    reads("nist-fire/CAROLFIRE_PT_24.csv", "Conduit 1");
    assert_int_equal(got.count, 3767);
    reads("nist-fire/CAROLFIRE_PT_5.csv", "7");
    assert_int_equal(got.count, 1473);
    assert_string_equal(got.input.columns[OVP_TRACE_TEMPERATURE], "Cable 5");
}

/* Channel Cable 2 of penlight test 30 is not to be believed from about 472 s on: it jumps, then has no value.
 */
static void carolfire_bad_channel(void **state)
{
    (void)state;
    reads("nist-fire/CAROLFIRE_PT_30.csv", "Cable 2");
    assert_int_equal(got.count, 1984);
    assert_int_equal(got.input.missing, 888);
    size_t i = 0;
    while (i + 1 < got.count && !(got.value[i + 1] - got.value[i] > 200.0))
        i++;
    near(got.time[i] + got.input.start_s, 472.0, 1.0);
}

/* NIST, E119 compartment test 1: units in row 2, 40 columns; beam thermocouple 8 stays near the room's. */
static void compartment(void **state)
{
    (void)state;
    reads("nist-fire/E119_Compartment_Test_1.csv", "BeamTC8");
    assert_int_equal(got.count, 144);
    assert_true(got.input.interval_s == 15.0);
    assert_false(warned("unit"));
    near(got.input.temperature_max_C, 17.1, 1e-9);
    reads("nist-fire/E119_Compartment_Test_1.csv", "5");
    assert_string_equal(got.input.columns[OVP_TRACE_TEMPERATURE], "BeamTC4");
    near(got.input.temperature_max_C, 526.0, 1e-9);
    read_data("nist-fire/E119_Compartment_Test_1.csv", NULL);
    assert_int_equal(got.status, OVP_ERROR_DATA);
}

static void plate_thermometer(void **state)
{
    (void)state;
    reads("nist-fire/Plate_TC_25_exp.csv", NULL);
    assert_int_equal(got.count, 403);
    assert_true(got.input.interval_s == 5.0);
    near(got.input.temperature_max_C, 481.6, 1e-9);
}

/* MaCFP copper calorimeter (doi 10.18434/mds2-2940): kelvin by a row of units; 3.73 K/s over 2 to 30 s. */
static void calorimeter(void **state)
{
    (void)state;
    reads("macfp/Black-Copper_q50_Temp.csv", NULL);
    assert_int_equal(got.count, 101);
    assert_string_equal(got.input.columns[OVP_TRACE_TEMPERATURE], "Temperature");
    near(got.value[0], 294.073237 - 273.15, 1e-9);
    near(slope_per_s(2.0, 30.0), 3.73, 0.005);
}

/* DaISy heating system (KU Leuven): 801 rows, 2 s, aligned by blanks, no header; the third column is hot. */
static void heating_system(void **state)
{
    (void)state;
    reads("daisy-heating/heating_system.dat", "3");
    assert_int_equal(got.count, 801);
    assert_true(got.input.interval_s == 2.0);
    near(got.value[800], 120.536, 1e-9);
    reads("daisy-heating/heating_system.dat", NULL);
    assert_true(warned("no header"));
}

/* Numenta anomaly benchmark: hourly with gaps; stuck throughout; stuck at 40.0 on 2014-04-11; clean. */
static void anomaly_series(void **state)
{
    (void)state;
    reads("nab/ambient_temperature_system_failure.csv", NULL);
    assert_int_equal(got.count, 7267);
    assert_true(got.input.interval_s == 3600.0);
    assert_true(warned("8 gap(s) in the record, the longest 626400 s"));
    reads("nab/art_flatline.csv", NULL);
    assert_true(got.input.temperature_min_C == 45.0 && got.input.temperature_max_C == 45.0);
    reads("nab/art_daily_small_noise.csv", NULL);
    assert_int_equal(got.count, 4032);
    reads("nab/art_daily_flatmiddle.csv", NULL);
    size_t stuck = 0;
    for (size_t i = 0; i < got.count; i++) /* the tenth day after 2014-04-01 */
        stuck += got.value[i] == 40.0 && floor(got.time[i] / 86400.0) == 10.0;
    assert_true(stuck > 200);
}

/* Two heaters and a box: header behind a comment sign, irregular steps, a first value that is a glitch. */
static void heated_box(void **state)
{
    (void)state;
    reads("heatbox/first_run_data.csv", "box temp");
    assert_int_equal(got.count, 1093);
    assert_string_equal(got.input.columns[OVP_TRACE_TIME], "time");
    assert_string_equal(got.input.columns[OVP_TRACE_SETPOINT], "SP");
    assert_true(got.value[0] == 28.0 && got.value[1] == 23.0);
    read_data("heatbox/no_deriv.csv", NULL);
    assert_int_equal(got.status, OVP_ERROR_DATA);
    reads("heatbox/no_deriv.csv", "heater 1 temp");
    assert_int_equal(got.count, 471);
    size_t i = 0; /* the two sensors change places for some seconds */
    while (i + 1 < got.count && !(got.value[i + 1] - got.value[i] < -19.0))
        i++;
    near(got.time[i] + got.input.start_s, 336.56, 2.0);
}

/*
 * Air bath: ';' with a trailing ';', day-first dates parted from the clock by '-', 32 columns. Ramps of
 * 1.147, -1.101, -0.429 and +0.428 K/h, and a gap of 431 s.
 */
static void air_bath(void **state)
{
    (void)state;
    reads("airbath/tcsweep_1mvdc_test4_oct2024.dsv", "box_temp");
    assert_int_equal(got.count, 6559);
    assert_string_equal(got.input.columns[OVP_TRACE_SETPOINT], "sv_temp");
    assert_true(warned("the longest 431 s"));
    near(slope_per_s(9000.0, 44000.0) * 3600.0, 1.147, 0.003);
    near(slope_per_s(54000.0, 91000.0) * 3600.0, -1.101, 0.003);
    near(slope_per_s(127000.0, 166000.0) * 3600.0, -0.429, 0.003);
    near(slope_per_s(177000.0, 216000.0) * 3600.0, 0.428, 0.003);
    read_data("airbath/tcsweep_1mvdc_test4_oct2024.dsv", NULL);
    assert_int_equal(got.status, OVP_ERROR_DATA);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(carolfire_shroud),
        cmocka_unit_test(carolfire_needs_a_choice),
        cmocka_unit_test(carolfire_other_tests),
        cmocka_unit_test(carolfire_bad_channel),
        cmocka_unit_test(compartment),
        cmocka_unit_test(plate_thermometer),
        cmocka_unit_test(calorimeter),
        cmocka_unit_test(heating_system),
        cmocka_unit_test(anomaly_series),
        cmocka_unit_test(heated_box),
        cmocka_unit_test(air_bath),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
