/* What tests share: an oven of one element, square in front, with walls of fibre board. */
#ifndef OVENPROOF_TESTS_DESCRIBED_OVEN_H
#define OVENPROOF_TESTS_DESCRIBED_OVEN_H

#include "ovenproof/oven.h"

static inline ovp_oven described_oven(double volts_V, double power_W, double front_m, double depth_m,
                                      double wall_m)
{
    ovp_oven oven;
    ovp_oven_init(&oven);
    oven.supply.volts_V = volts_V;
    oven.element_count = 1;
    oven.elements[0].power_W = power_W;
    oven.elements[0].at_V = volts_V;
    oven.wiring = OVP_OVEN_WIRING_SINGLE;
    oven.chamber.width_m = oven.chamber.height_m = front_m;
    oven.chamber.depth_m = depth_m;
    oven.wall.count = 1;
    oven.wall.layers[0] = (ovp_oven_layer){wall_m, OVP_OVEN_FIBRE_BOARD};
    return oven;
}

#endif
