/* The oven model against what small ovens are known to do: times, ratios, the outlook. */
#include "thermal_oven.h"

/* Common practice, no published source: within 20 % of each. */
static void heat_up_of_a_small_oven(void **state)
{
    (void)state;
    ovp_oven oven = make_oven(2000, 120, 6, 6, 10);
    oven.floor.count = 1;
    oven.floor.layers[0] = (ovp_oven_layer){0.0254, OVP_OVEN_CAST_REFRACTORY};
    const ovp_thermal_parameters parameters = parameters_of(&oven);
    const double to_C[] = {celsius(1200), celsius(1500), celsius(1700), celsius(2000)};
    const double minutes[] = {20, 30, 40, 50};
    double times_s[4];

    ovp_thermal_heat_up(&parameters, to_C, 4, 36000, times_s);
    for (int i = 0; i < 4; ++i) {
        assert_near(times_s[i] / 60, minutes[i], 0.2 * minutes[i]);
    }
}

/* Common practice, no published source: how much longer a small oven takes to 1000, 1500 and 2000 degF under
   half the power, 10 % less volts, a lining that conducts a quarter more, 0.3 kg of damp, a door gap of 1 cm2
   and 1 kg of steel. Ratios of another model (1-D lining, 1440 W, 0.14 m2), within 20 %. */
static void ratios_of_a_small_oven(void **state)
{
    (void)state;
    const double never = NAN;
    const double expected[6][3] = {{2.70, 3.92, never}, {1.33, 1.45, 1.79}, {1.04, 1.15, 1.43},
                                   {2.42, 1.58, 1.19},  {1.05, 1.15, 1.52}, {1.71, 1.49, 1.22}};
    const double to_C[] = {celsius(1000), celsius(1500), celsius(2000)};
    const ovp_oven oven = make_oven(1440, 120, 5, 5, 8.35);
    const ovp_thermal_parameters healthy = parameters_of(&oven);
    double healthy_s[3];

    assert_near(healthy.wall.face_m2 + healthy.floor.face_m2, 0.14, 0.001);
    ovp_thermal_heat_up(&healthy, to_C, 3, 36000, healthy_s);
    for (int i = 0; i < 6; ++i) {
        ovp_thermal_parameters changed = healthy;
        double times_s[3];
        switch (i) {
        case 0:
            changed.power_fraction = 0.5;
            break;
        case 1:
            changed.supply_V *= 0.9;
            break;
        case 2:
            changed.conductivity_factor = 1.25;
            break;
        case 3:
            changed.moisture_kg = 0.3;
            break;
        case 4:
            changed.door_leak_m2 = 1e-4;
            changed.door_leak_W_per_K = 0.15;
            break;
        default:
            ovp_thermal_add_load(&changed, 1);
            break;
        }
        ovp_thermal_heat_up(&changed, to_C, 3, 36000, times_s);
        for (int k = 0; k < 3; ++k) {
            if (isnan(expected[i][k])) {
                assert_true(isnan(times_s[k]));
                continue;
            }
            assert_near(times_s[k] / healthy_s[k], expected[i][k], 0.2 * expected[i][k]);
        }
    }
}

static void the_outlook_names_slack_limits(void **state)
{
    (void)state;
    ovp_oven oven = make_oven(2000, 120, 6, 6, 10);
    ovp_thermal_outlook outlook;

    assert_int_equal(ovp_thermal_outlook_of(&oven, NULL, NAN, &outlook, NULL), OVP_OK);
    assert_false(outlook.limits);
    assert_int_equal(outlook.mark_count, 4);
    assert_near(outlook.full_A, 2000.0 / 120, 1e-9);
    assert_true(isnan(outlook.marks[0].cost));
    for (size_t i = 0; i < outlook.mark_count; ++i) {
        assert_true(outlook.marks[i].half_power_s > 2 * outlook.marks[i].time_s ||
                    isnan(outlook.marks[i].half_power_s));
        assert_near(outlook.marks[i].energy_J, 2000 * outlook.marks[i].time_s,
                    0.06 * outlook.marks[i].energy_J);
    }
    oven.chamber.limit_C = celsius(1600);
    assert_int_equal(ovp_thermal_outlook_of(&oven, NULL, 0.5, &outlook, NULL), OVP_OK);
    assert_int_equal(outlook.mark_count, 2);
    assert_near(outlook.marks[1].cost, 0.5 * outlook.marks[1].energy_J / 3.6e6, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(heat_up_of_a_small_oven),
        cmocka_unit_test(ratios_of_a_small_oven),
        cmocka_unit_test(the_outlook_names_slack_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
