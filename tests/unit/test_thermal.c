/* The oven model against published figures, analytic solutions and its own conservation laws. */
#include "thermal_oven.h"

/* Published: Cengel, Heat and Mass Transfer, example 4-1: sphere of 1 mm, k 35, rho 8500, cp 320, h 210:
   b = 0.462 1/s, about 10 s to 99 %. */
static void cooling_of_a_sphere(void **state)
{
    (void)state;
    const double area_m2 = 3.14159265358979 * 1e-6;
    const double volume_m3 = 3.14159265358979 * 1e-9 / 6;
    const double rate = ovp_thermal_lump_rate(210, area_m2, 8500, volume_m3, 320);

    assert_near(rate, 0.463, 0.0005);
    assert_near(-log(0.01) / rate, 10, 0.1);
}

/* Published: 0.2 m at 1.52, 6 mm at 45 and 0.1 m at 0.138 W/mK: 0.8563 m2K/W. */
static void layers_in_series(void **state)
{
    (void)state;
    const double thickness_m[] = {0.2, 0.006, 0.1};
    const double W_per_mK[] = {1.52, 45, 0.138};

    assert_near(ovp_thermal_layers_resistance(thickness_m, W_per_mK, 3), 0.8563, 0.00005);
}

/* A box of nothing but a chamber: no lining, no leak. */
static ovp_thermal_parameters bare_chamber(double power_W, double J_per_K)
{
    ovp_thermal_parameters bare = {0};

    bare.supply_V = 100;
    bare.element_cold_ohm = 100 * 100 / power_W;
    for (size_t i = 0; i < OVP_THERMAL_FACTORS; ++i) {
        bare.factor[i] = 1;
    }
    bare.resistance_factor = bare.power_fraction = bare.output_cap = bare.conductivity_factor = 1;
    bare.ambient_C = bare.start_C = 20;
    bare.chamber_J_per_K = J_per_K;
    bare.element_J_per_K = 1e-6;
    bare.element_W_per_K = 1000;
    bare.shell_W_per_m2K = 10;
    bare.latent_J_per_kg = 2257000;
    bare.boils_C = 100;
    return bare;
}

/* One thin wet slice in a chamber, heated by 500 W: its water is gone 0.1 kg * 2.257 MJ/kg / 500 W = 451.4 s
   after it boils (published latent heat of steam tables; the arithmetic is exact). */
static void water_takes_its_latent_heat(void **state)
{
    (void)state;
    ovp_thermal_parameters wet = bare_chamber(500, 10);
    ovp_thermal_state now;
    double began_s = NAN;

    wet.face_W_per_m2K = 5000;
    wet.shell_W_per_m2K = 1e-9;
    wet.moisture_kg = 0.1;
    wet.wall = (ovp_thermal_lining){.count = 1, .face_m2 = 0.1, .outer_m2 = 0.1};
    wet.wall.thickness_m[0] = 0.001;
    wet.wall.area_m2[0] = 0.1;
    wet.wall.J_per_m3K[0] = 1e5;
    wet.wall.W_per_mK[0] = 100;
    wet.wall.moisture_share[0] = 1;
    ovp_thermal_start(&wet, &now);
    while (now.moisture_kg > 0) {
        const double before_kg = now.moisture_kg;
        ovp_thermal_step(&wet, 0.25, 1, &now);
        if (isnan(began_s) && now.moisture_kg < before_kg) {
            began_s = now.time_s - 0.25;
        }
        assert_true(now.time_s < 1000);
    }
    assert_near(now.time_s - began_s, 451.4, 1.5);
    assert_near(now.evaporated_J, 225700, 0.01);
}

/* Stefan-Boltzmann: a small body that sees a share f of coils and else the chamber, in still vacuum, settles
   at (f Te^4 + (1 - f) Tc^4)^(1/4): 720.4 K between 1273.15 and 293.15 K with f = 0.1. */
static void a_tip_that_sees_the_coils(void **state)
{
    (void)state;
    ovp_thermal_parameters bare = bare_chamber(1, 1e12);
    ovp_thermal_state now;

    bare.element_J_per_K = 1e12;
    bare.sensor_coil_share = 0.1;
    bare.sensor_lag_s = 5;
    ovp_thermal_start(&bare, &now);
    now.element_C = 1000;
    for (int i = 0; i < 600; ++i) {
        ovp_thermal_step(&bare, 1, 0, &now);
    }
    const double chamber_K = now.chamber_C + 273.15;
    const double wanted_K = pow(0.1 * pow(1273.15, 4) + 0.9 * pow(chamber_K, 4), 0.25);
    assert_near(wanted_K, 720.4, 0.1);
    assert_near(now.sensor_C + 273.15, wanted_K, 1.0);
}

/* Half space with a constant flux q: face rise 2 q sqrt(t / (pi k rho c)) (Carslaw and Jaeger 2.9). */
static void half_space_under_constant_flux(void **state)
{
    (void)state;
    ovp_oven oven = make_oven(1000, 120, 10, 10, 10);
    oven.wall.layers[0].thickness_m = 0.2;
    ovp_thermal_parameters slab = parameters_of(&oven);
    ovp_thermal_parameters bare = bare_chamber(200, 1e-3);
    ovp_thermal_state now;

    bare.wall = slab.wall;
    bare.face_W_per_m2K = 1e5;
    for (size_t i = 0; i < bare.wall.count; ++i) {
        bare.wall.area_m2[i] = 0.2;
        bare.wall.slope_per_K[i] = 0;
        bare.wall.W_per_mK[i] = 0.1;
        bare.wall.J_per_m3K[i] = 3e5;
    }
    bare.wall.face_m2 = bare.wall.outer_m2 = 0.2;
    ovp_thermal_start(&bare, &now);
    for (int minute = 1; minute <= 40; ++minute) {
        for (int i = 0; i < 60; ++i) {
            ovp_thermal_step(&bare, 1, 1, &now);
        }
        if (minute >= 5) {
            const double rise = 2 * 1000 * sqrt(now.time_s / (3.14159265358979 * 0.1 * 3e5));
            assert_near(now.chamber_C - 20, rise, 0.01 * rise);
        }
    }
}

/* Slab whose faces are suddenly held: the series of Carslaw and Jaeger 3.4 for the middle of the slab. */
static void slab_transient(void **state)
{
    (void)state;
    ovp_oven oven = make_oven(1000, 120, 10, 10, 10);
    oven.wall.layers[0].thickness_m = 0.05;
    ovp_thermal_parameters slab = parameters_of(&oven);
    ovp_thermal_parameters bare = bare_chamber(200, 1e12);
    ovp_thermal_state now;
    const double diffusivity = 0.1 / 3e5;
    const double pi = 3.14159265358979;

    bare.wall = slab.wall;
    bare.face_W_per_m2K = 1e7;
    bare.shell_W_per_m2K = 1e7;
    bare.start_C = 0;
    bare.ambient_C = 0;
    for (size_t i = 0; i < bare.wall.count; ++i) {
        bare.wall.area_m2[i] = 0.2;
        bare.wall.slope_per_K[i] = 0;
        bare.wall.W_per_mK[i] = 0.1;
        bare.wall.J_per_m3K[i] = 3e5;
    }
    bare.wall.face_m2 = bare.wall.outer_m2 = 0.2;
    ovp_thermal_start(&bare, &now);
    now.chamber_C = now.element_C = 100;
    for (int i = 0; i < 1200; ++i) {
        ovp_thermal_step(&bare, 1, 0, &now);
        if (i != 299 && i != 599 && i != 1199) {
            continue;
        }
        double depth_m = 0;
        for (size_t k = 0; k < bare.wall.count; ++k) {
            const double x = depth_m + 0.5 * bare.wall.thickness_m[k];
            double value = 100 * (1 - x / 0.05);
            for (int n = 1; n < 60; ++n) {
                value -= 200 / (pi * n) * sin(n * pi * x / 0.05) *
                         exp(-diffusivity * n * n * pi * pi * now.time_s / (0.05 * 0.05));
            }
            assert_near(now.wall_C[k], value, 0.8);
            depth_m += bare.wall.thickness_m[k];
        }
    }
}

/* Langmuir, Adams and Meikle 1913, as the constants of the shape factor are usually given: a cube of side a
   in a wall of L conducts 6 a^2/L + 12 * 0.54 a + 8 * 0.15 L. */
static void edges_and_corners(void **state)
{
    (void)state;
    const ovp_oven oven = make_oven(1000, 120, 8, 8, 8);
    ovp_thermal_parameters cube = parameters_of(&oven);
    const double side_m = 8 * 0.0254;
    const double depth_m = 2 * 0.0254;
    const double shape_m = 6 * side_m * side_m / depth_m + 12 * 0.54 * side_m + 8 * 0.15 * depth_m;
    double conducted = 0;

    for (int half = 0; half < 2; ++half) {
        const ovp_thermal_lining *lining = half ? &cube.floor : &cube.wall;
        double resistance = 0;
        for (size_t i = 0; i < lining->count; ++i) {
            resistance += lining->thickness_m[i] / lining->area_m2[i];
        }
        conducted += 1 / resistance;
    }
    assert_near(conducted, shape_m, 0.01 * shape_m);
}

static void energy_balance_closes(void **state)
{
    (void)state;
    ovp_oven oven = make_oven(2000, 120, 6, 6, 10);
    oven.floor.count = 1;
    oven.floor.layers[0] = (ovp_oven_layer){0.0254, OVP_OVEN_CAST_REFRACTORY};
    const ovp_thermal_conditions conditions = {NAN, 10, 30, 500};
    ovp_thermal_parameters parameters;
    ovp_thermal_state now;

    assert_int_equal(ovp_thermal_from_oven(&oven, &conditions, &parameters, NULL), OVP_OK);
    parameters.moisture_kg = 0.4;
    parameters.door_leak_m2 = 2e-4;
    parameters.door_leak_W_per_K = 0.2;
    ovp_thermal_start(&parameters, &now);
    for (int i = 0; i < 7200; ++i) {
        ovp_thermal_step(&parameters, 1, i % 300 < 200 ? 1 : 0.1, &now);
        const double balance_J =
            now.energy_in_J - now.lost_J - now.evaporated_J - ovp_thermal_stored_J(&parameters, &now);
        assert_near(balance_J, 0, 1e-6 * (1000 + now.energy_in_J));
    }
    assert_near(now.evaporated_J, 0.4 * 2257000, 0.4 * 2257000);
}

/* A number between two bounds, evenly by its logarithm: the same ones every time. */
static double draw(uint64_t *random, double low, double high)
{
    *random = *random * 6364136223846793005U + 1442695040888963407U;
    return low * pow(high / low, (double)(*random >> 11) * 0x1p-53);
}

/* Ovens that nobody would build: the model stays finite and its balance closes whatever it is given. */
static void odd_ovens_keep_the_balance(void **state)
{
    (void)state;
    uint64_t random = 1;

    for (int i = 0; i < 150; ++i) {
        ovp_oven oven = make_oven(draw(&random, 1, 1e6), draw(&random, 1, 2000), draw(&random, 0.05, 200),
                                  draw(&random, 0.05, 200), draw(&random, 0.05, 200));
        oven.wall.layers[0].thickness_m = draw(&random, 1e-4, 1);
        oven.wall.layers[0].material = (ovp_oven_material)(i % OVP_OVEN_MATERIALS);
        ovp_thermal_parameters parameters = parameters_of(&oven);
        ovp_thermal_state now;
        parameters.moisture_kg = i % 2 ? draw(&random, 1e-3, 100) : 0;
        ovp_thermal_start(&parameters, &now);
        for (int k = 0; k < 200; ++k) {
            ovp_thermal_step(&parameters, draw(&random, 0.05, 60), k % 3 / 2.0, &now);
        }
        const double balance_J =
            now.energy_in_J - now.lost_J - now.evaporated_J - ovp_thermal_stored_J(&parameters, &now);
        assert_near(balance_J, 0, 1e-5 * (1 + now.energy_in_J));
        assert_true(isfinite(now.sensor_C) && now.sensor_C > 23 && isfinite(now.element_C));
        assert_true(isfinite(ovp_thermal_ceiling(&parameters)));
        assert_true(ovp_thermal_hold_power(&parameters, 800) > 0);
    }
}

static void steps_converge(void **state)
{
    (void)state;
    const ovp_oven oven = make_oven(2000, 120, 6, 6, 10);
    const ovp_thermal_parameters parameters = parameters_of(&oven);
    ovp_thermal_state coarse, fine;

    ovp_thermal_start(&parameters, &coarse);
    ovp_thermal_start(&parameters, &fine);
    for (int i = 0; i < 1800; i += 60) {
        ovp_thermal_step(&parameters, 60, 1, &coarse);
        for (int k = 0; k < 600; ++k) {
            ovp_thermal_step(&parameters, 0.1, 1, &fine);
        }
        assert_near(coarse.sensor_C, fine.sensor_C, 3);
    }
    assert_near(coarse.sensor_C, fine.sensor_C, 0.5);
}

static void more_volts_heat_faster(void **state)
{
    (void)state;
    const ovp_oven oven = make_oven(2000, 120, 6, 6, 10);
    const double to_C[] = {200, 600, 900};
    double before_s[3] = {1e9, 1e9, 1e9};

    for (int volts = 90; volts <= 150; volts += 10) {
        const ovp_thermal_conditions conditions = {volts, NAN, NAN, 0};
        ovp_thermal_parameters parameters;
        double times_s[3];
        assert_int_equal(ovp_thermal_from_oven(&oven, &conditions, &parameters, NULL), OVP_OK);
        ovp_thermal_heat_up(&parameters, to_C, 3, 8 * 3600, times_s);
        for (int i = 0; i < 3; ++i) {
            assert_true(times_s[i] < before_s[i]);
            before_s[i] = times_s[i];
        }
    }
}

/* Time to a mark at volts a little above and below: the exponent n of t ~ V^-n. */
static double exponent_of(const ovp_thermal_parameters *rated, double to_C)
{
    ovp_thermal_parameters low = *rated;
    ovp_thermal_parameters high = *rated;
    double low_s, high_s;

    low.supply_V *= 0.995;
    high.supply_V *= 1.005;
    ovp_thermal_heat_up(&low, &to_C, 1, 36000, &low_s);
    ovp_thermal_heat_up(&high, &to_C, 1, 36000, &high_s);
    return log(low_s / high_s) / log(1.005 / 0.995);
}

/* From the energy balance of one store with a loss L: n = 2P/(P - L), L the mean loss on the way up (1/(P -
   L) is the mean over time of 1/(P - loss)); n = 2 only without loss. */
static void exponent_of_the_supply(void **state)
{
    (void)state;
    ovp_thermal_parameters store = bare_chamber(1000, 2000);
    ovp_thermal_state now;
    double seconds = 0;
    double mean = 0;

    assert_near(exponent_of(&store, 400), 2, 0.01);
    store.door_leak_W_per_K = 1.8;
    ovp_thermal_start(&store, &now);
    while (now.sensor_C < 400) {
        ovp_thermal_step(&store, 0.5, 1, &now);
        seconds += 0.5;
        mean += 0.5 / (now.power_W - now.loss_W);
    }
    const double n = 2 * 1000 * mean / seconds;
    assert_true(n > 2.5);
    assert_near(exponent_of(&store, 400), n, 0.02 * n);
}

/* In a lined oven what goes on into the lining counts as loss too: n rises with the temperature. Common
   practice, no published source: between 2 and 5, more towards the ceiling. */
static void exponent_rises_towards_the_ceiling(void **state)
{
    (void)state;
    const ovp_oven oven = make_oven(2000, 120, 6, 6, 10);
    const ovp_thermal_parameters rated = parameters_of(&oven);
    const double low = exponent_of(&rated, celsius(1000));
    const double high = exponent_of(&rated, celsius(2000));

    assert_true(low > 2 && low < high && high < 5);
}

static void ceiling_is_where_power_meets_loss(void **state)
{
    (void)state;
    const ovp_oven oven = make_oven(700, 120, 6, 6, 10);
    const ovp_thermal_parameters parameters = parameters_of(&oven);
    const double ceiling_C = ovp_thermal_ceiling(&parameters);
    ovp_thermal_state now;

    ovp_thermal_start(&parameters, &now);
    for (int i = 0; i < 48 * 60; ++i) {
        ovp_thermal_step(&parameters, 60, 1, &now);
    }
    assert_near(now.sensor_C, ceiling_C, 0.05 * ceiling_C);
    assert_near(now.loss_W, now.power_W, 0.01 * now.power_W);
}

static void assert_settings(const ovp_thermal_process *process, double gain, double integral_s,
                            double derivative_s)
{
    ovp_thermal_settings settings;

    ovp_thermal_simc(process, NAN, &settings);
    assert_near(settings.gain_per_C, gain, 0.006 * gain);
    assert_near(settings.integral_s, integral_s, 0.006 * integral_s);
    assert_near(settings.derivative_s, derivative_s, 1e-9);
}

/* Published: Skogestad 2003, examples E1, E3, E4 and E5. */
static void settings_of_the_published_examples(void **state)
{
    (void)state;
    const double e1[] = {1, 0.2};
    const double e4[] = {1, 1, 1, 1};
    const double e5[] = {1, 0.2, 0.04, 0.008};
    ovp_thermal_process process;

    ovp_thermal_half_rule(1, 0, e1, 2, 1, &process);
    assert_near(process.dead_time_s, 0.1, 1e-12);
    assert_settings(&process, 5.5, 0.8, 0);
    double e3[] = {20, 1, 0.1, 0.1};
    double gain = 2;
    assert_int_equal(ovp_thermal_drop_zero(15, 0.15, e3, 4, &gain), 3);
    ovp_thermal_half_rule(gain, 0, e3, 3, 1, &process);
    assert_near(process.gain, 1.5, 1e-12);
    assert_near(process.time_constants_s[0], 1.05, 1e-12);
    assert_near(process.dead_time_s, 0.15, 1e-12);
    assert_settings(&process, 2.33, 1.05, 0);
    ovp_thermal_half_rule(1, 0, e4, 4, 1, &process);
    assert_settings(&process, 0.3, 1.5, 0);
    ovp_thermal_half_rule(1, 0, e4, 4, 2, &process);
    assert_settings(&process, 1.0 / 3, 1, 1.5);
    ovp_thermal_half_rule(1, 0, e5, 4, 1, &process);
    assert_near(process.dead_time_s, 0.148, 1e-12);
    assert_settings(&process, 3.72, 1.1, 0);
    ovp_thermal_half_rule(1, 0, e5, 4, 2, &process);
    assert_near(process.dead_time_s, 0.028, 1e-12);
    assert_settings(&process, 17.9, 0.224, 0.22);
}

static void curve_and_marks_agree(void **state)
{
    (void)state;
    const ovp_oven oven = make_oven(2000, 120, 6, 6, 10);
    const ovp_thermal_parameters parameters = parameters_of(&oven);
    const double to_C[] = {20, 100, 500, 800, 3000};
    double times_s[5], temperature_C[4];

    ovp_thermal_heat_up(&parameters, to_C, 5, 7200, times_s);
    assert_true(times_s[0] == 0);
    assert_true(isnan(times_s[4]));
    ovp_thermal_curve(&parameters, times_s, 4, temperature_C);
    for (int i = 1; i < 4; ++i) {
        assert_near(temperature_C[i], to_C[i], 1e-6);
    }
}

static void missing_figures_are_named(void **state)
{
    (void)state;
    ovp_thermal_parameters parameters;
    ovp_error error = {0};
    ovp_oven oven = make_oven(2000, 120, 6, 6, 10);

    oven.element_count = 0;
    assert_int_equal(ovp_thermal_from_oven(&oven, NULL, &parameters, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "elements"));
    oven = make_oven(2000, 120, NAN, 6, 10);
    assert_int_equal(ovp_thermal_from_oven(&oven, NULL, &parameters, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "chamber"));
    oven = make_oven(2000, NAN, 6, 6, 10);
    assert_int_equal(ovp_thermal_from_oven(&oven, NULL, &parameters, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "volts"));
    oven = make_oven(2000, 120, 6, 6, 10);
    oven.wall.count = 0;
    assert_int_equal(ovp_thermal_from_oven(&oven, NULL, &parameters, &error), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "lining"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cooling_of_a_sphere),
        cmocka_unit_test(layers_in_series),
        cmocka_unit_test(water_takes_its_latent_heat),
        cmocka_unit_test(a_tip_that_sees_the_coils),
        cmocka_unit_test(half_space_under_constant_flux),
        cmocka_unit_test(slab_transient),
        cmocka_unit_test(edges_and_corners),
        cmocka_unit_test(energy_balance_closes),
        cmocka_unit_test(odd_ovens_keep_the_balance),
        cmocka_unit_test(steps_converge),
        cmocka_unit_test(more_volts_heat_faster),
        cmocka_unit_test(exponent_of_the_supply),
        cmocka_unit_test(exponent_rises_towards_the_ceiling),
        cmocka_unit_test(ceiling_is_where_power_meets_loss),
        cmocka_unit_test(settings_of_the_published_examples),
        cmocka_unit_test(curve_and_marks_agree),
        cmocka_unit_test(missing_figures_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
