/* firing_timetable.c: one sheet by wall clock for several ovens and one person. */
#include "command/beside.h"
#include "command/firing.h"
#include "ovenproof/electrical.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum {
    OVENS = 8,
    NAME_SIZE = 16,
};

static const double J_per_kWh = 3.6e6;

/* One oven as its description has it; without one all are alike and nothing is known of their power. */
typedef struct kind {
    firing_job job;
    double full_A, circuit_A; /* NAN */
    bool both_legs;
} kind;

typedef struct timetable {
    kind kinds[OVENS]; /* as they were given; the first stands for all where there is one */
    size_t kind_count;
    const firing_job *job; /* the plan on the oven that takes longest */
    const kind *worst;     /* on which the plan is judged worst */
    ovp_oven_sheet sheet;
    ovp_oven_sheet_facts facts;
    char names[OVENS][NAME_SIZE], circuits[OVENS][NAME_SIZE];
    size_t count;
    double start_s; /* since midnight */
    bool has_day;
    long day;
    size_t clash[2]; /* two ovens on one circuit; equal: none */
} timetable;

/* ---- what was asked ---------------------------------------------------------------------------------------
 */

/* "9,10,11" into short names; false when one is empty, too long or one too many. */
static bool split(const char *list, char names[OVENS][NAME_SIZE], size_t *count)
{
    for (*count = 0;;) {
        const size_t length = strcspn(list, ",");
        const ovp_span name = ovp_span_trim((ovp_span){list, length});
        if (name.count == 0 || *count == OVENS || !ovp_copy_string(names[(*count)++], NAME_SIZE, name))
            return false;
        if (list[length] == '\0')
            return true;
        list += length + 1;
    }
}

static ovp_status read_names(const command_call *call, timetable *t, ovp_error *error)
{
    const char *ovens = command_value(call, "ovens"), *circuits = command_value(call, "circuits");
    size_t circuit_count = 0;
    while (ovens == NULL && t->count < OVENS && command_value_at(call, "oven", t->count) != NULL) {
        snprintf(t->names[t->count], NAME_SIZE, "%zu", t->count + 1);
        t->count++;
    }
    if (t->count == 0 && !split(ovens != NULL ? ovens : "1", t->names, &t->count)) {
        ovp_error_set(error, OVP_ERROR_USAGE, "option --ovens: one to %d short names with commas between",
                      OVENS);
        ovp_error_hint(error, "such as --ovens 9,10,11");
        return error->status;
    }
    for (size_t i = 0; i < t->count; i++)
        for (size_t k = 0; k < i; k++)
            if (strcmp(t->names[i], t->names[k]) == 0) {
                ovp_error_set(error, OVP_ERROR_USAGE, "option --ovens: %s stands there twice", t->names[i]);
                ovp_error_hint(error, "such as --ovens 9,10,11");
                return error->status;
            }
    if (circuits == NULL)
        return OVP_OK;
    if (!split(circuits, t->circuits, &circuit_count) || circuit_count != t->count) {
        ovp_error_set(error, OVP_ERROR_USAGE, "option --circuits: a name for each of the %zu ovens is wanted",
                      t->count);
        ovp_error_hint(error, "in the same order, such as --ovens 9,10,11 --circuits A,B,C");
        return error->status;
    }
    for (size_t i = 0; i < t->count; i++)
        for (size_t k = 0; k < i && t->clash[0] == t->clash[1]; k++)
            if (strcmp(t->circuits[i], t->circuits[k]) == 0) {
                t->clash[0] = k;
                t->clash[1] = i;
            }
    return OVP_OK;
}

/* "8:00", "20:15", "8:00pm". */
static bool read_clock(const char *text, double *since_s)
{
    int hour = 0, minute = 0, used = 0;
    if (sscanf(text, "%2d:%2d%n", &hour, &minute, &used) != 2 || hour < 0 || minute < 0 || minute > 59)
        return false;
    const ovp_span rest = ovp_span_trim(ovp_span_of(text + used));
    const bool pm = ovp_span_equals(rest, "pm"), am = ovp_span_equals(rest, "am");
    if ((!pm && !am && rest.count > 0) || hour > (pm || am ? 12 : 23) || ((pm || am) && hour == 0))
        return false;
    if (pm || am)
        hour = hour % 12 + (pm ? 12 : 0);
    *since_s = 3600.0 * hour + 60.0 * minute;
    return true;
}

static ovp_status read_start(const command_call *call, timetable *t, ovp_error *error)
{
    const char *start = command_value(call, "start"), *day = command_value(call, "day");
    if (start != NULL && !read_clock(start, &t->start_s)) {
        ovp_error_set(error, OVP_ERROR_USAGE, "option --start: \"%.20s\" is no time of day", start);
        ovp_error_hint(error, "such as --start 8:00 or --start 8:00pm");
        return error->status;
    }
    if (day != NULL && !ovp_text_day(ovp_span_of(day), &t->day)) {
        ovp_error_set(error, OVP_ERROR_USAGE, "option --day: \"%.20s\" is no day", day);
        ovp_error_hint(error, "such as --day 2026-11-25");
        return error->status;
    }
    t->has_day = day != NULL;
    if (start == NULL) { /* the next quarter of an hour */
        const time_t now = time(NULL);
        struct tm local;
        if (localtime_r(&now, &local) != NULL)
            t->start_s = 900.0 * ceil((3600.0 * local.tm_hour + 60.0 * local.tm_min + 1.0) / 900.0);
    }
    return OVP_OK;
}

static const kind *kind_of(const timetable *t, size_t oven)
{
    return &t->kinds[t->kind_count > 1 ? oven : 0];
}

static void read_amps(kind *one)
{
    ovp_electrical_load load;
    const ovp_oven *oven = &one->job.oven;
    one->full_A = one->circuit_A = NAN;
    if (!one->job.has_oven || ovp_electrical_load_of(oven, NAN, &load, NULL) != OVP_OK)
        return;
    one->full_A = load.total_A;
    one->circuit_A = oven->supply.circuit_A;
    one->both_legs = oven->supply.volts_V > 150.0; /* 208 or 240 V lies across both */
}

/* One description for all, or one for each. */
static ovp_status read_kinds(const command_call *call, timetable *t, ovp_error *error)
{
    ovp_status status = OVP_OK;
    size_t given = 0;
    while (command_value_at(call, "oven", given) != NULL)
        given++;
    if (given > 1 && given != t->count) {
        ovp_error_set(error, OVP_ERROR_USAGE, "%zu descriptions for %zu ovens", given, t->count);
        ovp_error_hint(error, "one --oven for all, or one for each in the order of --ovens");
        return error->status;
    }
    t->kind_count = given > 1 ? given : 1;
    for (size_t i = 0; i < t->kind_count && status == OVP_OK; i++) {
        kind *one = &t->kinds[i];
        status = firing_prepare(call, call->operands[1], command_value_at(call, "oven", i), &one->job, error);
        if (status != OVP_OK)
            break;
        read_amps(one);
        if (t->job == NULL || one->job.total_s > t->job->total_s)
            t->job = &one->job;
        if (t->worst == NULL || one->job.review.grade > t->worst->job.review.grade)
            t->worst = one;
    }
    return status;
}

/* Of a leg on the slowest of them: the sheet is one for all. NAN: as planned. */
static double slowest_s(const timetable *t, size_t leg)
{
    double takes_s = NAN;
    for (size_t i = 0; i < t->kind_count; i++) {
        const firing_job *job = &t->kinds[i].job;
        if (job->has_model && leg < job->review.leg_count)
            takes_s = isnan(takes_s) ? job->walked[leg].time_s : fmax(takes_s, job->walked[leg].time_s);
    }
    return takes_s;
}

static bool by_hand(const timetable *t)
{
    for (size_t i = 0; i < t->kind_count; i++)
        if (!t->kinds[i].job.has_oven || t->kinds[i].job.oven.controller.ramps != OVP_OVEN_FITTED)
            return true;
    return false;
}

static double energy_J(const timetable *t)
{
    double sum_J = 0;
    for (size_t i = 0; i < t->count; i++)
        sum_J += kind_of(t, i)->job.energy_J;
    return sum_J;
}

static ovp_status lay_out(const command_call *call, timetable *t, ovp_error *error)
{
    double takes_s[OVP_OVEN_PLAN_STEPS];
    t->facts = (ovp_oven_sheet_facts){.ovens = t->count,
                                      .spacing_s = ovp_oven_sheet_figure("spacing_s"),
                                      .stairs = by_hand(t),
                                      .shown = call->degrees};
    ovp_status status = command_quantity(call, "spacing", OVP_TEXT_DURATION, &t->facts.spacing_s, error);
    if (status == OVP_OK && !(t->facts.spacing_s >= 60 && t->facts.spacing_s <= 3600)) {
        status = ovp_error_set(error, OVP_ERROR_USAGE, "option --spacing: one minute to an hour");
        ovp_error_hint(error, "such as --spacing 5min");
    }
    for (size_t i = 0; i < t->job->review.leg_count; i++)
        takes_s[i] = slowest_s(t, i);
    if (status == OVP_OK)
        status = ovp_oven_sheet_of(t->job->review.legs, takes_s, t->job->review.leg_count, &t->facts,
                                   &t->sheet, error);
    ovp_error_hint(error, "give fewer ovens, or a plan with fewer ramps");
    return status;
}

/* ---- the sheet --------------------------------------------------------------------------------------------
 */

static double clock_s(const timetable *t, const ovp_oven_action *action, size_t oven)
{
    return t->start_s + action->time_s + (double)oven * t->facts.spacing_s;
}

static void print_day(const timetable *t, long day)
{
    char words[16];
    if (t->has_day) {
        ovp_text_format_day(t->day + day, words, sizeof words);
        printf("%s\n", words);
    } else
        printf("day %ld\n", day + 1);
}

static void print_cells(const timetable *t, const char *what, const ovp_oven_action *action, long day)
{
    int widths[OVENS + 1] = {32};
    command_words cells[OVENS];
    const char *row[OVENS + 1] = {what};
    for (size_t i = 0; i < t->count; i++) {
        long at_day;
        int hour, minute;
        ovp_oven_clock_of(clock_s(t, action, i), &at_day, &hour, &minute);
        snprintf(cells[i].text, sizeof cells[i].text, "%d:%02d%s", hour, minute, at_day > day ? "+1" : "");
        widths[i + 1] = -6;
        row[i + 1] = cells[i].text;
    }
    ovp_text_table_row(t->job->call->out, row, widths, t->count + 1);
}

static void say_action(const timetable *t, const ovp_oven_action *action, char *text, size_t size)
{
    const command_call *call = t->job->call;
    if (action->kind == OVP_OVEN_ACTION_HOLD)
        firing_add(text, size, "  hold %s from", firing_duration(action->lasts_s).text);
    else if (action->kind == OVP_OVEN_ACTION_RAMP)
        firing_add(text, size, "  ramp to %s", command_show_temperature(call, action->to_C, 0).text);
    else
        firing_add(text, size, "  set %s", command_show_temperature(call, action->to_C, 0).text);
}

static void print_sheet(const timetable *t)
{
    size_t step = SIZE_MAX, ramp = SIZE_MAX;
    long day = 0;
    char text[FIRING_TEXT_SIZE], label[32];
    (void)ramp;
    int widths[OVENS + 1] = {32};
    const char *head[OVENS + 1] = {"oven"};
    for (size_t i = 0; i < t->count; i++) {
        head[i + 1] = t->names[i];
        widths[i + 1] = -6;
    }
    ovp_text_table_row(t->job->call->out, head, widths, t->count + 1);
    print_day(t, 0);
    for (size_t i = 0; i < t->sheet.action_count; i++) {
        const ovp_oven_action *action = &t->sheet.actions[i];
        long at_day;
        int hour, minute;
        ovp_oven_clock_of(clock_s(t, action, 0), &at_day, &hour, &minute);
        if (at_day != day)
            print_day(t, at_day);
        day = at_day;
        if (action->step != step && t->job->plan.steps[action->step].kind == OVP_OVEN_STEP_RAMP) {
            (void)firing_say_group(t->job, action->step, text, sizeof text);
            snprintf(label, sizeof label, "%4zu", action->step + 1);
            command_say_beside(t->job->call->out, label, 6, text);
        }
        step = action->step;
        text[0] = '\0';
        say_action(t, action, text, sizeof text);
        print_cells(t, text, action, day);
    }
    const ovp_oven_action end = {.time_s = t->sheet.length_s};
    print_cells(t, "  end", &end, day);
}

static void print_head(const timetable *t)
{
    const firing_job *job = t->job;
    char text[FIRING_TEXT_SIZE] = "";
    const ovp_oven_plan_grade grade = t->worst->job.review.grade;
    if (grade != OVP_OVEN_PLAN_GOOD)
        firing_add(text, sizeof text, "The plan is %s%s%s: see `ovenproof firing show` before any heat. ",
                   grade == OVP_OVEN_PLAN_NOT_GOOD ? "NOT GOOD" : "faster than published",
                   t->kind_count > 1 ? " for " : "", t->kind_count > 1 ? t->worst->job.oven.name : "");
    firing_add(text, sizeof text, "%s, %zu oven%s, one person, %s between two settings%s.", job->plan.name,
               t->count, t->count > 1 ? "s" : "", firing_duration(t->facts.spacing_s).text,
               t->facts.stairs ? "; stairs by hand, no ramps" : "");
    if (job->review.air_s > 0)
        firing_add(text, sizeof text, " Before the sheet: %s without heat.",
                   firing_duration(job->review.air_s).text);
    command_say(job->call->out, text);
    command_say(
        job->call->out,
        "Stay to the end: nobody leaves a first firing alone. Hot surfaces. Go on only when the step's "
        "condition is met; if one oven waits, all its later times move.");
}

/* Each with its amps; "" when those of one are not known. */
static void say_each(const timetable *t, char *text, size_t size)
{
    const kind *first = kind_of(t, 0);
    if (t->kind_count == 1) {
        firing_add(text, size, "Each %s draws %.1f A at full heat", first->job.oven.name, first->full_A);
        if (!isnan(first->circuit_A))
            firing_add(text, size, " on its own circuit of %.0f A", first->circuit_A);
    }
    for (size_t i = 0; i < t->count && t->kind_count > 1; i++)
        firing_add(text, size, i == 0 ? "Oven %s (%s) draws %.1f A at full heat" : ", %s (%s) %.1f A",
                   t->names[i], kind_of(t, i)->job.oven.name, kind_of(t, i)->full_A);
    firing_add(text, size, ".");
}

/* Ovens across one leg take turns. */
static void say_legs(const timetable *t, char *text, size_t size)
{
    double on_A[2] = {0, 0};
    size_t single = 0;
    for (size_t i = 0; i < t->count; i++) {
        const kind *one = kind_of(t, i);
        on_A[0] += one->both_legs || single % 2 == 0 ? one->full_A : 0;
        on_A[1] += one->both_legs || single % 2 == 1 ? one->full_A : 0;
        single += !one->both_legs;
    }
    firing_add(text, size, " All at once: leg A %.1f A, leg B %.1f A%s.", on_A[0], on_A[1],
               single < 2           ? ""
               : single == t->count ? ", every other oven on leg B"
                                    : ", every other 120 V oven on leg B");
}

static void print_amps(const timetable *t)
{
    char text[FIRING_TEXT_SIZE] = "";
    for (size_t i = 0; i < t->count; i++)
        if (isnan(kind_of(t, i)->full_A)) {
            command_say(t->job->call->out, "Amps, energy and cost need --oven.");
            return;
        }
    say_each(t, text, sizeof text);
    say_legs(t, text, sizeof text);
    if (!isnan(energy_J(t))) {
        firing_add(text, sizeof text, " About %.1f kWh together", energy_J(t) / J_per_kWh);
        if (!isnan(t->job->price_per_kWh))
            firing_add(text, sizeof text, ", which costs %.2f",
                       energy_J(t) / J_per_kWh * t->job->price_per_kWh);
        firing_add(text, sizeof text, ".");
    }
    if (t->circuits[0][0] == '\0' && t->count > 1)
        firing_add(text, sizeof text,
                   " Each on a circuit of its own is taken for granted: say --circuits A,B,...");
    command_say(t->job->call->out, text);
}

static void print_clash(const timetable *t)
{
    char text[FIRING_TEXT_SIZE] = "";
    const kind *one = kind_of(t, t->clash[0]), *other = kind_of(t, t->clash[1]);
    firing_add(text, sizeof text, "Not good: ovens %s and %s are both on circuit %s", t->names[t->clash[0]],
               t->names[t->clash[1]], t->circuits[t->clash[0]]);
    if (!isnan(one->full_A) && !isnan(other->full_A) && !isnan(one->circuit_A))
        firing_add(text, sizeof text, ": %.1f A together on %.0f A", one->full_A + other->full_A,
                   one->circuit_A);
    firing_add(text, sizeof text, ". No sheet is made.");
    command_say(t->job->call->out, text);
    command_say(t->job->call->out, "First: put one of them on another circuit, or fire it on another day.");
}

static void print_json(const timetable *t)
{
    static const char *const kinds[] = {"set", "ramp", "hold"};
    ovp_text_json json;
    const bool clash = t->clash[0] != t->clash[1];
    ovp_text_json_init(&json, t->job->call->out);
    ovp_text_json_begin_document(&json, "firing", 1);
    ovp_text_json_key_string(&json, "job", "timetable");
    firing_json_head(&json, t->job);
    ovp_text_json_key_string(&json, "grade", ovp_oven_plan_grade_name(t->worst->job.review.grade));
    ovp_text_json_key_boolean(&json, "refused", clash);
    ovp_text_json_key_number(&json, "start_s", t->start_s);
    ovp_text_json_key_number(&json, "spacing_s", t->facts.spacing_s);
    ovp_text_json_key_boolean(&json, "stairs", t->facts.stairs);
    ovp_text_json_key_number(&json, "length_s", t->sheet.length_s);
    ovp_text_json_key_number(&json, "full_A", t->kind_count == 1 ? t->kinds[0].full_A : (double)NAN);
    ovp_text_json_key_number(&json, "circuit_A", t->kind_count == 1 ? t->kinds[0].circuit_A : (double)NAN);
    ovp_text_json_key_number(&json, "energy_J", energy_J(t));
    ovp_text_json_key_number(&json, "cost", energy_J(t) / J_per_kWh * t->job->price_per_kWh);
    ovp_text_json_key(&json, "ovens");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < t->count; i++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "oven", t->names[i]);
        ovp_text_json_key_string(&json, "circuit", t->circuits[i][0] != '\0' ? t->circuits[i] : NULL);
        ovp_text_json_key_string(&json, "description",
                                 kind_of(t, i)->job.has_oven ? kind_of(t, i)->job.oven.name : NULL);
        ovp_text_json_key_number(&json, "oven_full_A", kind_of(t, i)->full_A);
        ovp_text_json_key_number(&json, "after_s", (double)i * t->facts.spacing_s);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    ovp_text_json_key(&json, "actions");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; !clash && i < t->sheet.action_count; i++) {
        const ovp_oven_action *action = &t->sheet.actions[i];
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "action", kinds[action->kind]);
        ovp_text_json_key_integer(&json, "step", (int64_t)action->step + 1);
        ovp_text_json_key_number(&json, "time_s", action->time_s);
        ovp_text_json_key_number(&json, "to_C", action->to_C);
        ovp_text_json_key_number(&json, "rate_C_per_h", action->per_hour_C);
        ovp_text_json_key_number(&json, "lasts_s", action->lasts_s);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    (void)ovp_text_json_end_document(&json);
}

int firing_timetable(const command_call *call)
{
    ovp_error error = {0};
    timetable *t = calloc(1, sizeof *t);
    if (t == NULL) {
        ovp_error_set(&error, OVP_ERROR_MEMORY, "out of memory");
        return command_fail(&error);
    }
    ovp_status status = read_names(call, t, &error);
    if (status == OVP_OK)
        status = read_start(call, t, &error);
    if (status == OVP_OK)
        status = read_kinds(call, t, &error);
    if (status == OVP_OK)
        status = lay_out(call, t, &error);
    const bool clash = t->clash[0] != t->clash[1];
    const bool good = status == OVP_OK && t->worst->job.review.grade == OVP_OVEN_PLAN_GOOD && !clash;
    if (status == OVP_OK && call->json)
        print_json(t);
    else if (status == OVP_OK && clash)
        print_clash(t);
    else if (status == OVP_OK) {
        print_head(t);
        print_sheet(t);
        print_amps(t);
    }
    free(t);
    return status == OVP_OK ? command_finish(good ? OVP_OK : OVP_JUDGED) : command_fail(&error);
}
