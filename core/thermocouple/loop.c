/* The loop law: emf is made only where a wire's temperature changes, with the sign of the way it is walked.
 */
#include "thermocouple/thermocouple_internal.h"

#include <math.h>

static ovp_status wire_emf(ovp_tc_type type, double temperature_C, double *emf_mV, ovp_error *error)
{
    if (type != OVP_TC_COPPER)
        return ovp_tc_emf(type, temperature_C, emf_mV, error);
    if (!isfinite(temperature_C))
        return ovp_error_set(error, OVP_ERROR_DATA, "the temperature is not a number");
    *emf_mV = 0.0;
    return OVP_OK;
}

ovp_status ovp_tc_loop_emf(const ovp_tc_segment segments[], size_t count, double *emf_mV, ovp_error *error)
{
    double sum_mV = 0.0;
    for (size_t i = 0; i < count; i++) {
        const ovp_tc_segment *segment = segments + i;
        double hot_mV = 0.0, cold_mV = 0.0;
        ovp_status status = wire_emf(segment->type, segment->hot_C, &hot_mV, error);
        if (status == OVP_OK)
            status = wire_emf(segment->type, segment->cold_C, &cold_mV, error);
        if (status != OVP_OK)
            return status;
        sum_mV += segment->sign * (hot_mV - cold_mV);
    }
    *emf_mV = sum_mV;
    return OVP_OK;
}

void ovp_tc_loop_init(ovp_tc_loop *loop, ovp_tc_type sensor, double tip_C, double panel_C)
{
    *loop = (ovp_tc_loop){
        .sensor = sensor,
        .tip_C = tip_C,
        .extension = sensor,
        .head_C = panel_C,
        .panel_C = panel_C,
        .input = sensor,
        .compensation = true,
        .shorted_at_C = NAN,
        .leak_ratio = NAN,
        .leak_at_C = NAN,
        .display_low_C = NAN,
        .display_high_C = NAN,
    };
}

/* Emf between the screws: a short moves the measuring junction, a leak divides what is made beyond it. */
static ovp_status screws_emf(const ovp_tc_loop *loop, double *emf_mV, ovp_error *error)
{
    double tip_C = isnan(loop->shorted_at_C) ? loop->tip_C : loop->shorted_at_C;
    double leak_at_C = isnan(loop->leak_ratio) ? loop->head_C : loop->leak_at_C;
    int sign = loop->reversed ? -1 : 1;
    int extension_sign = loop->extension_reversed ? -sign : sign;
    ovp_tc_segment hot = {loop->sensor, tip_C, leak_at_C, sign};
    ovp_tc_segment rest[] = {
        {loop->sensor, leak_at_C, loop->head_C, sign},
        {loop->extension, loop->head_C, loop->panel_C, extension_sign},
    };
    double hot_mV = 0.0, rest_mV = 0.0;
    ovp_status status = ovp_tc_loop_emf(&hot, 1, &hot_mV, error);
    if (status == OVP_OK)
        status = ovp_tc_loop_emf(rest, sizeof rest / sizeof rest[0], &rest_mV, error);
    if (status != OVP_OK)
        return status;
    double share = isnan(loop->leak_ratio) ? 1.0 : loop->leak_ratio / (1.0 + loop->leak_ratio);
    *emf_mV = hot_mV * share + rest_mV;
    return OVP_OK;
}

/*
 * What the input makes of a compensated emf. Type B has two temperatures for an emf near zero: an input then
 * shows the one on the side of its own cold junction, so that an emf of nothing shows the screws'
 * temperature.
 */
static ovp_tc_display input_temperature(const ovp_tc_loop *loop, double emf_mV, double junction_C,
                                        double *reads_C)
{
    if (ovp_tc_temperature(loop->input, emf_mV, reads_C, NULL) == OVP_OK)
        return OVP_TC_DISPLAY_OK;
    size_t count = 0;
    const tc_piece *piece = tc_pieces_of(loop->input, &count);
    if (loop->input != OVP_TC_B)
        return emf_mV < tc_piece_emf(piece, piece->low_C).high ? OVP_TC_DISPLAY_UNDER_RANGE
                                                               : OVP_TC_DISPLAY_OVER_RANGE;
    double minimum_mV = tc_piece_emf(piece, TC_B_MINIMUM_C).high;
    if (emf_mV < minimum_mV - TC_END_MV)
        return OVP_TC_DISPLAY_UNDER_RANGE;
    if (emf_mV > TC_END_MV)
        return OVP_TC_DISPLAY_OVER_RANGE;
    if (junction_C < TC_B_MINIMUM_C && emf_mV <= 0.0)
        *reads_C = tc_piece_solve(piece, emf_mV, piece->low_C, TC_B_MINIMUM_C);
    else
        *reads_C = tc_piece_solve(piece, emf_mV, TC_B_MINIMUM_C, piece->high_C);
    return OVP_TC_DISPLAY_OK;
}

static ovp_status show(const ovp_tc_loop *loop, ovp_tc_reading *reading, ovp_error *error)
{
    double junction_C = loop->compensation ? loop->panel_C + loop->compensation_error_C : 0.0;
    double junction_mV = 0.0;
    ovp_status status = ovp_tc_emf(loop->input, junction_C, &junction_mV, error);
    if (status != OVP_OK)
        return status;
    double reads_C = junction_C;
    if (reading->emf_mV != 0.0)
        reading->display = input_temperature(loop, reading->emf_mV + junction_mV, junction_C, &reads_C);
    if (reading->display == OVP_TC_DISPLAY_OK && reads_C < loop->display_low_C)
        reading->display = OVP_TC_DISPLAY_UNDER_RANGE;
    if (reading->display == OVP_TC_DISPLAY_OK && reads_C > loop->display_high_C)
        reading->display = OVP_TC_DISPLAY_OVER_RANGE;
    if (reading->display != OVP_TC_DISPLAY_OK)
        return OVP_OK;
    reading->reads_C = reads_C;
    reading->error_C = reads_C - loop->tip_C;
    return OVP_OK;
}

static ovp_status read_within(const ovp_tc_loop *loop, ovp_tc_reading *reading, ovp_error *error)
{
    ovp_tc_reading result = {OVP_TC_DISPLAY_OK, NAN, NAN, NAN};
    ovp_status status = screws_emf(loop, &result.emf_mV, error);
    if (status == OVP_OK)
        status = show(loop, &result, error);
    if (status == OVP_OK)
        *reading = result;
    return status;
}

/*
 * A tip hotter than its type's function has no known emf, but one beyond that of the end. Where the end
 * already is at the top of the input (or, reversed, below its range), the display is known all the same.
 */
static bool read_beyond(const ovp_tc_loop *loop, ovp_tc_reading *reading)
{
    double low_C, high_C, low_mV, high_mV, input_high_C;
    ovp_tc_range(loop->input, &low_C, &input_high_C, &low_mV, &high_mV);
    ovp_tc_range(loop->sensor, &low_C, &high_C, &low_mV, &high_mV);
    if (!(loop->tip_C > high_C) || !isfinite(loop->tip_C) || !isnan(loop->shorted_at_C))
        return false;
    ovp_tc_loop at_end = *loop;
    ovp_tc_reading end;
    at_end.tip_C = high_C;
    if (read_within(&at_end, &end, NULL) != OVP_OK)
        return false;
    bool at_top = end.display == OVP_TC_DISPLAY_OVER_RANGE || end.reads_C >= input_high_C - 1e-6;
    if (!loop->reversed && at_top)
        *reading = (ovp_tc_reading){OVP_TC_DISPLAY_OVER_RANGE, NAN, NAN, NAN};
    else if (loop->reversed && end.display == OVP_TC_DISPLAY_UNDER_RANGE)
        *reading = (ovp_tc_reading){OVP_TC_DISPLAY_UNDER_RANGE, NAN, NAN, NAN};
    else
        return false;
    return true;
}

ovp_status ovp_tc_loop_read(const ovp_tc_loop *loop, ovp_tc_reading *reading, ovp_error *error)
{
    if (loop->open) {
        *reading = (ovp_tc_reading){OVP_TC_DISPLAY_OPEN, NAN, NAN, NAN};
        return OVP_OK;
    }
    if (!isnan(loop->leak_ratio) && !(loop->leak_ratio > 0.0))
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "a leak of %g times the loop's resistance is not above zero", loop->leak_ratio);
    if (read_beyond(loop, reading))
        return OVP_OK;
    return read_within(loop, reading, error);
}

int ovp_tc_loop_follows(const ovp_tc_loop *loop)
{
    if (loop->open || !isnan(loop->shorted_at_C))
        return 0;
    return loop->reversed ? -1 : 1;
}

ovp_tc_runaway ovp_tc_loop_runaway(const ovp_tc_loop *loop, const ovp_tc_reading *reading)
{
    if (loop->open)
        return OVP_TC_DEPENDS;
    if (ovp_tc_loop_follows(loop) != 1 || reading->display == OVP_TC_DISPLAY_UNDER_RANGE)
        return OVP_TC_RUNS_AWAY;
    return OVP_TC_STAYS;
}

const char *ovp_tc_display_name(ovp_tc_display display)
{
    static const char *const names[] = {"ok", "under-range", "over-range", "open"};
    return names[display];
}
