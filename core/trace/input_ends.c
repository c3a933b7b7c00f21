/* input_ends.c: what one reading tells of the input, for the judge and the watch: its ends, and its scale. */
#include "judge_internal.h"

#include <math.h>

static const ovp_tc_type common[JUDGE_ENDS] = {OVP_TC_K, OVP_TC_N, OVP_TC_S, OVP_TC_R};
static const double lowest_C = -200; /* below, no input of the trade shows anything */

judge_ends judge_ends_of(const ovp_oven *oven)
{
    judge_ends ends = {NAN, NAN};
    double low_mV, high_mV;
    if (!oven) {
        return ends;
    }
    if (oven->controller.input_known || oven->sensor.known) {
        ovp_tc_range(oven->controller.input_known ? oven->controller.input : oven->sensor.type, &ends.low_C,
                     &ends.high_C, &low_mV, &high_mV);
        ends.low_C = fmax(ends.low_C, lowest_C);
    }
    if (!isnan(oven->controller.display_low_C)) {
        ends.low_C = oven->controller.display_low_C;
    }
    if (!isnan(oven->controller.display_high_C)) {
        ends.high_C = oven->controller.display_high_C;
    }
    return ends;
}

/* Upper end of a common input, as a display shows it. */
static double common_high_C(size_t index)
{
    double low_C, high_C, low_mV, high_mV;
    ovp_tc_range(common[index], &low_C, &high_C, &low_mV, &high_mV);
    return floor(high_C);
}

judge_ends judge_ends_nearest(judge_ends ends)
{
    judge_ends nearest = {isnan(ends.low_C) ? lowest_C : ends.low_C, ends.high_C};
    for (size_t i = 0; isnan(ends.high_C) && i < JUDGE_ENDS; i++) {
        nearest.high_C = fmin(nearest.high_C, common_high_C(i));
    }
    return nearest;
}

bool judge_at_low_end(judge_ends ends, double value_C)
{
    return value_C <= judge_ends_nearest(ends).low_C + LIMIT(open_within_C);
}

bool judge_at_high_end(judge_ends ends, double value_C)
{
    if (!isnan(ends.high_C)) {
        return value_C >= ends.high_C - LIMIT(open_within_C);
    }
    for (size_t i = 0; i < JUDGE_ENDS; i++) {
        if (fabs(value_C - common_high_C(i)) <= LIMIT(open_within_C)) {
            return true;
        }
    }
    return false;
}

judge_scale judge_scale_of(double first_C, double room_C)
{
    /* The bare number, were it degF read as degC. */
    const double as_F = ovp_text_from_celsius(first_C, OVP_TEXT_DEGREES_F);
    const bool low = isnan(room_C) ? first_C >= LIMIT(unit_low_C) && first_C <= LIMIT(unit_high_C)
                                   : fabs(as_F - room_C) <= 4 && fabs(first_C - room_C) > 10;
    if (low) {
        return JUDGE_SCALE_LOW;
    }
    const bool high =
        !isnan(room_C) && fabs(first_C - ovp_text_from_celsius(room_C, OVP_TEXT_DEGREES_F)) <= 4;
    return high ? JUDGE_SCALE_HIGH : JUDGE_SCALE_RIGHT;
}
