/* What the tests of the oven model share: a plain oven, and nearness. */
#ifndef OVENPROOF_TESTS_THERMAL_OVEN_H
#define OVENPROOF_TESTS_THERMAL_OVEN_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "ovenproof/thermal.h"

static inline ovp_oven make_oven(double power_W, double volts_V, double width_in, double height_in,
                                 double depth_in)
{
    ovp_oven oven;

    ovp_oven_init(&oven);
    oven.supply.volts_V = volts_V;
    oven.element_count = 1;
    oven.elements[0].power_W = power_W;
    oven.elements[0].at_V = volts_V;
    oven.wiring = OVP_OVEN_WIRING_SINGLE;
    oven.chamber.width_m = width_in * 0.0254;
    oven.chamber.height_m = height_in * 0.0254;
    oven.chamber.depth_m = depth_in * 0.0254;
    oven.wall.count = 1;
    oven.wall.layers[0] = (ovp_oven_layer){2 * 0.0254, OVP_OVEN_FIBRE_BOARD};
    return oven;
}

static inline ovp_thermal_parameters parameters_of(const ovp_oven *oven)
{
    ovp_thermal_parameters parameters;

    assert_int_equal(ovp_thermal_from_oven(oven, NULL, &parameters, NULL), OVP_OK);
    return parameters;
}

static inline double celsius(double fahrenheit)
{
    return (fahrenheit - 32) / 1.8;
}

static inline void assert_near(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance)) {
        fail_msg("%.9g is not within %.3g of %.9g", value, tolerance, expected);
    }
}

#endif
