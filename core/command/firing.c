/* `firing`: dry-out and firing plans, judged before heat, against a run, and laid out by wall clock. */
#include "command/firing.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static const command_option options[] = {
    {"oven", "OVEN", true,
     "the oven's description: minutes, energy, whether it can follow; timetable: one for all or for each"},
    {"thickness", "LENGTH", false,
     "of the cast slab, such as 1.5in; the oven's or the plan's when not given"},
    {"price", "P", false, "price of a kWh: adds the cost, in the same money"},
    {"weighed", "TEXT", false, "check: three weighings, \"0h 6.40kg, 24h 6.12kg, 48h 6.04kg\": water left"},
    {"dry", "RUN", false, "check: a run of the same oven when dry: water by power is held against it"},
    {"column", "WHAT=NAME", true, "check: which column is temperature, output...: by header or number"},
    {"time-unit", "UNIT", false, "check: what a bare number in the time column counts: s, min or h"},
    {"dates", "ORDER", false, "check: day-first or month-first, where the dates do not tell"},
    {"plot", NULL, false, "check: draw the run in the terminal, beside the plan"},
    {"picture", "FILE", false, "check: draw them into a file that ends in .svg, .pdf or .png"},
    {"ovens", "LIST", false, "timetable: names of the ovens, such as 9,10,11"},
    {"circuits", "LIST", false, "timetable: the circuit of each, in the same order: two on one are refused"},
    {"start", "CLOCK", false,
     "timetable: such as 8:00 or 8:00pm; the next quarter of an hour when not given"},
    {"day", "DAY", false, "timetable: the first day, such as 2026-11-25"},
    {"spacing", "TIME", false, "timetable: between two settings of one person; 5min when not given"},
    {"why", NULL, false, "every step with its caution and the source of its figures"},
    {0},
};

/* ---- words --------------------------------------------------------------------------------------------- */

void firing_add(char *text, size_t size, const char *format, ...)
{
    const size_t used = strlen(text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text + used, size - used, format, arguments);
    va_end(arguments);
}

ovp_status firing_count_lines(void *context, const char *bytes, size_t count)
{
    size_t *lines = context;
    for (size_t i = 0; i < count; i++)
        *lines += bytes[i] == '\n';
    return OVP_OK;
}

command_words firing_duration(double value_s)
{
    command_words shown = {""};
    if (value_s < 90) {
        snprintf(shown.text, sizeof shown.text, "%.0f s", value_s);
        return shown;
    }
    const long minutes = (long)(fmin(value_s, 1e9) / 60.0 + 0.5);
    const long days = minutes / 1440, hours = minutes / 60 % 24;
    if (days >= 2)
        firing_add(shown.text, sizeof shown.text, "%ld days", days);
    if (days >= 2 ? hours > 0 : minutes >= 60)
        firing_add(shown.text, sizeof shown.text, "%s%ld h", days >= 2 ? " " : "",
                   days >= 2 ? hours : minutes / 60);
    if (minutes % 60 > 0 && days < 2)
        firing_add(shown.text, sizeof shown.text, "%s%ld min", minutes >= 60 ? " " : "", minutes % 60);
    return shown;
}

command_words firing_difference(const command_call *call, double value_C)
{
    command_words shown;
    ovp_text_format_difference(value_C, call->degrees, 0, shown.text, sizeof shown.text);
    return shown;
}

void firing_words(const firing_job *job, const char *text, char *buffer, size_t size)
{
    const lua_checklist_facts facts = {.oven = job->has_oven ? &job->oven : NULL,
                                       .shown = job->call->degrees,
                                       .first_s = NAN,
                                       .first_V = NAN,
                                       .volts_V = NAN};
    lua_checklist_words(text, &facts, buffer, size);
}

/* ---- plan and oven ---------------------------------------------------------------------------------------
 */

/* The cast layer of a floor, where a plan goes by its inches. */
static double slab_m(const firing_job *job)
{
    const ovp_oven_floor_row *floor = ovp_oven_floor_of(job->plan.floor);
    for (size_t i = 0; job->has_oven && floor->per_inch && i < job->oven.floor.count; i++)
        if (job->oven.floor.layers[i].material == OVP_OVEN_CAST_REFRACTORY)
            return job->oven.floor.layers[i].thickness_m;
    return NAN;
}

static ovp_status read_numbers(const command_call *call, firing_job *job, ovp_error *error)
{
    ovp_status status = command_quantity(call, "price", OVP_TEXT_COUNT, &job->price_per_kWh, error);
    if (status == OVP_OK)
        status = command_quantity(call, "thickness", OVP_TEXT_LENGTH, &job->facts.thickness_m, error);
    if (status == OVP_OK &&
        (job->price_per_kWh < 0 || job->facts.thickness_m <= 0 || job->facts.thickness_m > 0.5)) {
        status = ovp_error_set(error, OVP_ERROR_USAGE,
                               "a price is zero or above, a thickness above zero and at most 500mm");
        ovp_error_hint(error, "such as --price 0.20 --thickness 1.5in");
    }
    return status;
}

static void walk(firing_job *job)
{
    ovp_oven_plan_review *review = &job->review;
    job->behind = review->leg_count;
    job->total_s = job->review.heated_s;
    job->energy_J = job->boil_s = job->boil_C_per_h = NAN;
    if (!job->has_model)
        return;
    ovp_thermal_firing_walk(&job->model, review->legs, review->leg_count, job->walked);
    ovp_thermal_through_boiling(&job->model, &job->boil_s, &job->boil_C_per_h);
    job->total_s = job->energy_J = 0;
    bool hot = false;
    for (size_t i = 0; i < review->leg_count; i++) {
        hot = hot || review->legs[i].heated;
        job->energy_J += job->walked[i].energy_J;
        job->total_s += hot ? job->walked[i].time_s : 0;
        const bool late = !isnan(job->walked[i].behind_at_C) ||
                          (!job->walked[i].reached && review->legs[i].to_C > review->legs[i].from_C);
        if (late && job->behind == review->leg_count)
            job->behind = i;
    }
}

ovp_status firing_prepare(const command_call *call, const char *plan, const char *oven, firing_job *job,
                          ovp_error *error)
{
    *job = (firing_job){.call = call, .price_per_kWh = NAN, .oven_name = oven};
    job->facts = (ovp_oven_plan_facts){NAN, NAN, NAN, call->degrees};
    ovp_status status = read_numbers(call, job, error);
    if (status == OVP_OK)
        status = lua_read_plan(plan, &job->plan, error);
    if (status == OVP_OK && oven != NULL)
        status = lua_read_oven(oven, &job->oven, NULL, NULL, error);
    if (status != OVP_OK)
        return status;
    job->has_oven = oven != NULL;
    if (job->has_oven) {
        job->facts.limit_C = job->oven.chamber.limit_C;
        job->has_model = ovp_thermal_from_oven(&job->oven, NULL, &job->model, &job->no_model) == OVP_OK;
    }
    if (isnan(job->facts.thickness_m))
        job->facts.thickness_m = slab_m(job);
    ovp_oven_plan_review_of(&job->plan, &job->facts, &job->review);
    walk(job);
    return OVP_OK;
}

/* ---- the command
 * ------------------------------------------------------------------------------------------- */

static void print_name(void *context, const char *name, const char *path)
{
    ovp_oven_plan plan;
    (void)context;
    if (lua_read_plan(path, &plan, NULL) == OVP_OK)
        printf("  %-18s %s\n", name, plan.title[0] != '\0' ? plan.title : plan.name);
}

static int list_plans(void)
{
    printf("Firing plans; `ovenproof firing show PLAN --oven OVEN` judges one before heat:\n");
    lua_list("plans", print_name, NULL);
    return command_finish(OVP_OK);
}

static int run(command_call *call)
{
    const char *what = call->operand_count > 0 ? call->operands[0] : "";
    if (strcmp(what, "show") == 0 && call->operand_count == 1 && !call->json)
        return list_plans();
    if (strcmp(what, "timetable") != 0 && command_value_at(call, "oven", 1) != NULL)
        return command_usage(call, "one --oven is wanted: several go with timetable");
    if (strcmp(what, "show") == 0 && call->operand_count == 2)
        return firing_show(call, call->operands[1]);
    if (strcmp(what, "check") == 0 && call->operand_count == 3)
        return firing_check(call);
    if (strcmp(what, "timetable") == 0 && call->operand_count == 2)
        return firing_timetable(call);
    return command_usage(call,
                         "show and a plan, check with a plan and a run, or timetable and a plan are wanted");
}

const command_definition command_firing = {
    .name = "firing",
    .synopsis = "show [PLAN] | check PLAN RUN | timetable PLAN [--oven OVEN]",
    .summary = "Dry-out and first-firing plans: judged before heat, after a run, by the clock.",
    .details =
        "A PLAN is a file, or a name such as cast-slab; `firing show` lists them. `show` judges it step by "
        "step against the published dry-out schedules of its floor. Exit status: 1 when it is faster "
        "than published or not good, or a run is not as planned.",
    .options = options,
    .examples = "ovenproof firing show\n"
                "ovenproof firing show cast-slab --oven QR-8\n"
                "ovenproof firing show board-floor --oven QR-3 --price 0.20\n"
                "ovenproof firing timetable damp-storage --ovens 9,10,11 --start 8:00 --oven QR-3\n"
                "ovenproof firing timetable damp-storage --ovens 9,4 --oven QR-3 --oven QR-8 --start 8:00\n",
    .run = run,
};
