/* A plan as actions of one person: setpoints at times, in stairs where the controllers have no ramps. */
#include "oven/oven_internal.h"

#include <math.h>
#include <string.h>

static const struct {
    const char *name;
    double value;
} rows[] = {
#include "firing-sheet.inc"
};

double ovp_oven_sheet_figure(const char *name)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].name, name) == 0)
            return rows[i].value;
    return NAN;
}

static double up_to(double value, double of)
{
    return of * ceil(value / of - 1e-9);
}

/* Down to a number that is easily set: fives in the scale of the display. */
static double easy_C(double value_C, ovp_text_degrees shown)
{
    const ovp_text_degrees scale = shown == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : shown;
    const double easy = 5.0 * floor(ovp_text_from_celsius(value_C, scale) / 5.0 + 1e-6);
    return ovp_text_to_celsius(easy, scale);
}

static bool add(ovp_oven_sheet *sheet, ovp_oven_action action)
{
    if (sheet->action_count == OVP_OVEN_SHEET_ACTIONS)
        return false;
    sheet->actions[sheet->action_count++] = action;
    return true;
}

/* A rising ramp by hand. The first stair leads by its own height, the others keep the rate. */
static bool add_stairs(ovp_oven_sheet *sheet, const ovp_oven_leg *leg, double base_s, ovp_text_degrees shown)
{
    const double most_C = isnan(leg->stair_C) ? ovp_oven_sheet_figure("stair_most_C") : leg->stair_C;
    const double rate = leg->per_hour_C / 3600.0;
    const double wanted_s =
        isnan(leg->stair_C) ? ovp_oven_sheet_figure("stair_least_s") : leg->stair_C / rate;
    const double interval_s = up_to(wanted_s, base_s);
    const double height_C = fmin(most_C, rate * interval_s);
    bool fits = true;
    double at_C = leg->from_C;
    while (fits && at_C < leg->to_C - 0.5) {
        double next_C = easy_C(at_C + height_C, shown);
        if (next_C <= at_C + 0.5)
            next_C = at_C + height_C;
        if (next_C > leg->to_C - 0.5)
            next_C = leg->to_C;
        fits = add(sheet, (ovp_oven_action){.kind = OVP_OVEN_ACTION_SET,
                                            .step = leg->step,
                                            .time_s = sheet->length_s,
                                            .to_C = next_C,
                                            .per_hour_C = NAN,
                                            .lasts_s = interval_s});
        sheet->length_s += interval_s;
        at_C = next_C;
    }
    return fits;
}

static bool add_leg(ovp_oven_sheet *sheet, const ovp_oven_leg *leg, double takes_s, double base_s,
                    bool stairs, ovp_text_degrees shown)
{
    const bool hold = leg->from_C == leg->to_C, up = leg->to_C > leg->from_C;
    if (up && !isnan(leg->per_hour_C) && (stairs || !isnan(leg->stair_C)))
        return add_stairs(sheet, leg, base_s, shown);
    const double planned_s = isnan(leg->time_s) ? takes_s : fmax(leg->time_s, isnan(takes_s) ? 0 : takes_s);
    const bool bare = isnan(leg->per_hour_C) || (!up && stairs);
    ovp_oven_action action = {.kind = hold   ? OVP_OVEN_ACTION_HOLD
                                      : bare ? OVP_OVEN_ACTION_SET
                                             : OVP_OVEN_ACTION_RAMP,
                              .step = leg->step,
                              .time_s = sheet->length_s,
                              .to_C = leg->to_C,
                              .per_hour_C = bare ? (double)NAN : leg->per_hour_C,
                              .lasts_s = up_to(isnan(planned_s) ? 0 : planned_s, base_s)};
    sheet->length_s += action.lasts_s;
    return add(sheet, action);
}

ovp_status ovp_oven_sheet_of(const ovp_oven_leg legs[], const double takes_s[], size_t count,
                             const ovp_oven_sheet_facts *facts, ovp_oven_sheet *sheet, ovp_error *error)
{
    const double base_s = up_to((double)facts->ovens * facts->spacing_s, ovp_oven_sheet_figure("grid_s"));
    *sheet = (ovp_oven_sheet){.base_s = base_s};
    for (size_t i = 0; i < count; i++) {
        if (!legs[i].heated && sheet->action_count == 0)
            continue; /* cure and air stand before the sheet */
        if (!add_leg(sheet, &legs[i], takes_s == NULL ? (double)NAN : takes_s[i], base_s, facts->stairs,
                     facts->shown))
            return ovp_error_set(error, OVP_ERROR_DATA, "the sheet has more than %d lines",
                                 OVP_OVEN_SHEET_ACTIONS);
    }
    return OVP_OK;
}

void ovp_oven_clock_of(double since_s, long *day, int *hour, int *minute)
{
    const double minutes = floor(since_s / 60.0 + 0.5);
    const double days = floor(minutes / 1440.0);
    const int left = (int)(minutes - 1440.0 * days);
    *day = (long)days;
    *hour = left / 60;
    *minute = left % 60;
}
