/* A plan judged before heat: each step against the published schedule of its floor. */
#include "oven/oven_internal.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const double room_C = 24.0;
static const double steam_from_C = 90.0; /* water begins to push here */
static const double inch_m = 0.0254;
static const double slack = 1.01; /* figures are rounded between the scales */

typedef struct reviewing {
    const ovp_oven_plan *plan;
    const ovp_oven_plan_facts *facts;
    const ovp_oven_floor_row *floor;
    ovp_oven_plan_review *review;
} reviewing;

typedef struct words {
    char text[64];
} words;

static words temperature(const reviewing *r, double value_C)
{
    words shown;
    ovp_text_format_temperature(value_C, r->facts->shown, 0, shown.text, sizeof shown.text);
    return shown;
}

static words difference(const reviewing *r, double value_C)
{
    words shown;
    ovp_text_format_difference(value_C, r->facts->shown, 0, shown.text, sizeof shown.text);
    return shown;
}

static words duration(double value_s)
{
    words shown;
    const double hours = value_s / 3600.0;
    if (hours >= 1.0 && fabs(hours - round(hours)) < 1e-6)
        snprintf(shown.text, sizeof shown.text, "%.0f h", hours);
    else
        ovp_text_format_duration(60.0 * round(value_s / 60.0), shown.text, sizeof shown.text);
    return shown;
}

static ovp_oven_plan_note *note(reviewing *r, ovp_oven_plan_grade grade, size_t step, const char *id,
                                const char *source, const char *format, ...) OVP_PRINTF(6, 7);

static ovp_oven_plan_note *note(reviewing *r, ovp_oven_plan_grade grade, size_t step, const char *id,
                                const char *source, const char *format, ...)
{
    static const size_t last = OVP_OVEN_PLAN_NOTES - 1;
    ovp_oven_plan_review *review = r->review;
    va_list arguments;
    if (grade > review->grade)
        review->grade = grade;
    ovp_oven_plan_note *made = &review->notes[review->note_count < last ? review->note_count++ : last];
    *made = (ovp_oven_plan_note){.grade = grade,
                                 .step = step,
                                 .id = id,
                                 .planned = NAN,
                                 .published = NAN,
                                 .unit = "",
                                 .source = source};
    va_start(arguments, format);
    vsnprintf(made->text, sizeof made->text, format, arguments);
    va_end(arguments);
    return made;
}

static void figures(ovp_oven_plan_note *of, double planned, double published, const char *unit)
{
    of->planned = planned;
    of->published = published;
    of->unit = unit;
}

/* ---- rates --------------------------------------------------------------------------------------------- */

/* A ramp against one range of the schedule. */
static void judge_rate(reviewing *r, const ovp_oven_leg *leg, const ovp_oven_schedule_row *row)
{
    const double low_C = fmax(leg->from_C, row->from_C), high_C = fmin(leg->to_C, row->to_C);
    if (!(high_C - low_C > 1.0) || isnan(row->most_C_per_h) || leg->per_hour_C <= slack * row->most_C_per_h ||
        isnan(leg->per_hour_C))
        return;
    const bool bursts = leg->wet && high_C > steam_from_C;
    figures(note(r, bursts ? OVP_OVEN_PLAN_NOT_GOOD : OVP_OVEN_PLAN_FASTER, leg->step, "rate", row->source,
                 "%s an hour from %s to %s; the published schedule has at most %s an hour%s",
                 difference(r, leg->per_hour_C).text, temperature(r, low_C).text, temperature(r, high_C).text,
                 difference(r, row->most_C_per_h).text,
                 bursts ? ", and water is still in it: steam can burst the slab" : ""),
            leg->per_hour_C, row->most_C_per_h, "C/h");
}

/* A setpoint without a rate: full heat. */
static void judge_bare(reviewing *r, const ovp_oven_leg *leg)
{
    if (!isnan(leg->per_hour_C) || leg->to_C <= leg->from_C)
        return;
    if (leg->wet && leg->to_C > steam_from_C) {
        note(
            r, OVP_OVEN_PLAN_NOT_GOOD, leg->step, "full-heat", "physics: water boils at 212 °F (100 °C)",
            "a bare setpoint of %s takes the slab through the boiling point at full heat: steam can burst it",
            temperature(r, leg->to_C).text);
        return;
    }
    const ovp_oven_schedule_row *row = ovp_oven_schedule_at(r->plan->floor, 0);
    if (row != NULL && r->floor->per_inch)
        note(r, OVP_OVEN_PLAN_FASTER, leg->step, "full-heat", row->source,
             "a bare setpoint of %s goes there at full heat; the published schedule has a rate",
             temperature(r, leg->to_C).text);
}

static void judge_cooling(reviewing *r, const ovp_oven_leg *leg)
{
    if (leg->to_C >= leg->from_C || isnan(leg->per_hour_C) || isnan(r->floor->cool_C_per_h) ||
        leg->per_hour_C <= slack * r->floor->cool_C_per_h)
        return;
    figures(note(r, OVP_OVEN_PLAN_FASTER, leg->step, "cooling", r->floor->source,
                 "it is cooled at %s an hour; the published schedule has at most %s",
                 difference(r, leg->per_hour_C).text, difference(r, r->floor->cool_C_per_h).text),
            leg->per_hour_C, r->floor->cool_C_per_h, "C/h");
}

/* ---- holds --------------------------------------------------------------------------------------------- */

static double wanted_hold_s(const reviewing *r, const ovp_oven_schedule_row *row)
{
    const double inches = isnan(r->review->thickness_m) ? 1.0 : r->review->thickness_m / inch_m;
    double hours = fmax(row->hold_h, row->hold_h_per_inch * inches);
    if (!isnan(row->hold_most_h))
        hours = fmin(hours, row->hold_most_h);
    return 3600.0 * hours;
}

static double held_s(const reviewing *r, double low_C, double high_C, size_t until)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < until; i++) {
        const ovp_oven_leg *leg = &r->review->legs[i];
        if (leg->heated && leg->from_C == leg->to_C && leg->to_C >= low_C - 1.0 && leg->to_C <= high_C + 1.0)
            sum_s += leg->time_s;
    }
    return sum_s;
}

/* The first leg that goes past a temperature; leg_count for none. */
static size_t leg_past(const reviewing *r, double past_C)
{
    size_t i = 0;
    while (i < r->review->leg_count && !(r->review->legs[i].to_C > past_C + 1.0))
        i++;
    return i;
}

static void judge_hold(reviewing *r, const ovp_oven_schedule_row *row)
{
    if (isnan(row->hold_low_C))
        return;
    const size_t past = leg_past(r, row->hold_high_C);
    const double wanted_s = wanted_hold_s(r, row);
    if (past == r->review->leg_count)
        return;
    const double had_s = held_s(r, row->hold_low_C, row->hold_high_C, past);
    if (had_s >= 0.99 * wanted_s)
        return;
    const bool drying = row->from_C < 0;
    const double lower_s = drying ? held_s(r, steam_from_C, row->hold_high_C, past) : had_s;
    const bool bursts = drying && lower_s < 0.5 * wanted_s;
    figures(note(r, bursts ? OVP_OVEN_PLAN_NOT_GOOD : OVP_OVEN_PLAN_FASTER, r->review->legs[past].step,
                 "hold", row->source,
                 "it goes past %s with %s of hold between %s and there; the published schedule has %s%s",
                 temperature(r, row->hold_high_C).text, had_s > 0 ? duration(had_s).text : "no time",
                 temperature(r, row->hold_low_C).text, duration(wanted_s).text,
                 bursts ? ": the water has no time to leave" : ""),
            had_s, wanted_s, "s");
}

/* ---- the plan's own rules, the oven's limit, cure, proof -------------------------------------------------
 */

static void judge_guards(reviewing *r)
{
    double not_above_C = INFINITY;
    for (size_t i = 0; i < r->plan->step_count; i++) {
        const ovp_oven_step *step = &r->plan->steps[i];
        if (step->kind == OVP_OVEN_STEP_GUARD)
            not_above_C = step->not_above_C;
        if (step->kind == OVP_OVEN_STEP_CONDITION)
            not_above_C = INFINITY;
        if (step->kind == OVP_OVEN_STEP_RAMP && step->to_C > not_above_C + 0.5)
            figures(
                note(r, OVP_OVEN_PLAN_NOT_GOOD, i, "guard", "the plan itself",
                     "it goes to %s, but the plan's own guard says not above %s before the next condition",
                     temperature(r, step->to_C).text, temperature(r, not_above_C).text),
                step->to_C, not_above_C, "C");
    }
}

static void judge_limit(reviewing *r)
{
    if (!(r->review->top_C > r->facts->limit_C + 0.5))
        return;
    for (size_t i = 0; i < r->review->leg_count; i++) {
        if (r->review->legs[i].to_C <= r->facts->limit_C + 0.5)
            continue;
        figures(note(r, OVP_OVEN_PLAN_NOT_GOOD, r->review->legs[i].step, "limit", "the oven's description",
                     "it goes to %s, above this oven's limit of %s",
                     temperature(r, r->review->legs[i].to_C).text, temperature(r, r->facts->limit_C).text),
                r->review->legs[i].to_C, r->facts->limit_C, "C");
        return;
    }
}

static void judge_cure(reviewing *r)
{
    const double wanted_s = 3600.0 * r->floor->cure_h;
    if (!(r->review->air_s < wanted_s))
        return;
    figures(note(r, OVP_OVEN_PLAN_NOT_GOOD, r->plan->step_count, "cure", r->floor->source,
                 "%s has %s without heat before the first ramp; at least %s of cure is published",
                 r->floor->said, r->review->air_s > 0 ? duration(r->review->air_s).text : "no time",
                 duration(wanted_s).text),
            r->review->air_s, wanted_s, "s");
}

static void judge_thickness(reviewing *r)
{
    const double most_m = r->floor->thickest_in * inch_m;
    if (r->review->thickness_m > slack * most_m)
        note(r, OVP_OVEN_PLAN_FASTER, r->plan->step_count, "thickness", r->floor->source,
             "the slab is thicker than the %g inches that its schedule is published for: ask the maker",
             r->floor->thickest_in);
    if (r->review->thickness_assumed)
        note(r, OVP_OVEN_PLAN_FASTER, r->plan->step_count, "thickness", "",
             "the slab's thickness is not known: the holds are laid out for one inch");
}

/* Hotter than the first range of the schedule with nothing that proved the water gone. */
static void judge_proof(reviewing *r)
{
    const ovp_oven_schedule_row *row = ovp_oven_schedule_at(r->plan->floor, 0);
    const size_t past = row == NULL || !r->floor->wet ? r->review->leg_count : leg_past(r, row->to_C);
    if (past == r->review->leg_count || !r->review->legs[past].wet)
        return;
    note(r, OVP_OVEN_PLAN_FASTER, r->review->legs[past].step, "proof", "judgement",
         "it goes past %s on the clock alone: no condition above the boiling point says that the water has "
         "gone",
         temperature(r, row->to_C).text);
}

/* ---- all -------------------------------------------------------------------------------------------------
 */

static void take_facts(reviewing *r)
{
    ovp_oven_plan_review *review = r->review;
    const double start_C = isnan(r->facts->start_C) ? room_C : r->facts->start_C;
    review->thickness_m = isnan(r->facts->thickness_m) ? r->plan->thickness_m : r->facts->thickness_m;
    review->leg_count =
        ovp_oven_plan_lay(r->plan, r->facts->thickness_m, start_C, review->legs, &review->thickness_assumed);
    review->top_C = start_C;
    bool hot = false;
    for (size_t i = 0; i < review->leg_count; i++) {
        const ovp_oven_leg *leg = &review->legs[i];
        review->top_C = fmax(review->top_C, leg->to_C);
        hot = hot || leg->heated;
        if (!hot)
            review->air_s += leg->time_s;
        else if (!isnan(leg->time_s))
            review->heated_s += leg->time_s;
    }
}

void ovp_oven_plan_review_of(const ovp_oven_plan *plan, const ovp_oven_plan_facts *facts,
                             ovp_oven_plan_review *review)
{
    reviewing r = {plan, facts, ovp_oven_floor_of(plan->floor), review};
    *review = (ovp_oven_plan_review){.thickness_m = NAN};
    if (r.floor == NULL)
        return;
    take_facts(&r);
    judge_limit(&r);
    judge_cure(&r);
    judge_guards(&r);
    for (size_t i = 0; i < review->leg_count; i++) {
        const ovp_oven_schedule_row *row;
        judge_bare(&r, &review->legs[i]);
        for (size_t j = 0; (row = ovp_oven_schedule_at(plan->floor, j)) != NULL; j++)
            judge_rate(&r, &review->legs[i], row);
        judge_cooling(&r, &review->legs[i]);
    }
    const ovp_oven_schedule_row *row;
    for (size_t j = 0; (row = ovp_oven_schedule_at(plan->floor, j)) != NULL; j++)
        judge_hold(&r, row);
    judge_proof(&r);
    judge_thickness(&r);
}

const char *ovp_oven_plan_grade_name(ovp_oven_plan_grade grade)
{
    static const char *const names[] = {"good", "faster-than-published", "not-good"};
    return names[grade];
}
