/* firing_check.c: a recorded run judged against a plan. */
#include "command/beside.h"
#include "command/firing.h"
#include "command/trace.h"
#include "ovenproof/electrical.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double J_per_kWh = 3.6e6;

typedef struct checking {
    firing_job job;
    trace_setting setting;
    ovp_trace_input input;
    ovp_trace_firing_facts facts;
    ovp_trace_firing_result result, dry;
    bool weighed;
    ovp_thermal_water water;
    const char *run;
    ovp_trace_firing *firing;
    picture_series *series; /* where a drawing is wanted; else NULL */
} checking;

/* ---- weighings: "0h 6.40kg, 24h 6.12kg, 48h 6.04kg"
 * --------------------------------------------------------- */

/* The last digit that was written, in kg: "6.40kg" is 0.01 kg. */
static double last_digit_kg(ovp_span mass)
{
    size_t end = 0, decimals = 0;
    bool point = false;
    for (; end < mass.count && ((mass.bytes[end] >= '0' && mass.bytes[end] <= '9') || mass.bytes[end] == '.');
         end++) {
        decimals += point;
        point = point || mass.bytes[end] == '.';
    }
    char one[32];
    double kg = 0.001;
    snprintf(one, sizeof one, "1%.*s", (int)(mass.count - end < 8 ? mass.count - end : 8), mass.bytes + end);
    (void)ovp_text_quantity(ovp_span_of(one), OVP_TEXT_MASS, OVP_TEXT_DEGREES_NONE, &kg, NULL);
    return kg * pow(10.0, -(double)decimals);
}

ovp_status firing_weighings(const char *text, ovp_thermal_water *water, ovp_error *error)
{
    ovp_thermal_weighing weighings[3] = {{0}};
    double resolution_kg = 0;
    size_t count = 0;
    ovp_span left = ovp_span_trim(ovp_span_of(text));
    ovp_status status = OVP_OK;
    while (status == OVP_OK && left.count > 0) {
        const char *comma = memchr(left.bytes, ',', left.count);
        const size_t length = comma != NULL ? (size_t)(comma - left.bytes) : left.count;
        ovp_span item = ovp_span_trim((ovp_span){left.bytes, length});
        size_t blank = 0;
        while (blank < item.count && item.bytes[blank] != ' ')
            blank++;
        const ovp_span time = {item.bytes, blank},
                       mass = ovp_span_trim((ovp_span){item.bytes + blank, item.count - blank});
        memmove(weighings, weighings + 1, 2 * sizeof weighings[0]);
        status =
            ovp_text_quantity(time, OVP_TEXT_DURATION, OVP_TEXT_DEGREES_NONE, &weighings[2].time_s, error);
        if (status == OVP_OK)
            status = ovp_text_quantity(mass, OVP_TEXT_MASS, OVP_TEXT_DEGREES_NONE, &weighings[2].kg, error);
        if (status == OVP_OK)
            resolution_kg = fmax(resolution_kg, last_digit_kg(mass));
        count++;
        left =
            comma != NULL ? ovp_span_trim((ovp_span){comma + 1, left.count - length - 1}) : (ovp_span){"", 0};
    }
    if (status == OVP_OK && count < 3)
        status = ovp_error_set(error, OVP_ERROR_DATA, "three weighings are wanted");
    if (status == OVP_OK)
        status = ovp_thermal_water_left(weighings, resolution_kg, water, error);
    if (status != OVP_OK)
        ovp_error_hint(error, "such as --weighed \"0h 6.40kg, 24h 6.12kg, 48h 6.04kg\"");
    return status;
}

/* ---- words ------------------------------------------------------------------------------------------------
 */

static const char *said(const checking *c, size_t step)
{
    const bool cooling = c->job.plan.steps[step].kind == OVP_OVEN_STEP_RAMP;
    switch (c->result.steps[step].state) {
    case OVP_TRACE_FIRING_DONE:
        return "done";
    case OVP_TRACE_FIRING_HELD:
        return cooling ? "slower, no harm" : "held longer, no harm";
    case OVP_TRACE_FIRING_NOT_PROVED:
        return "not proved";
    case OVP_TRACE_FIRING_NOT_YET:
        return "not yet";
    case OVP_TRACE_FIRING_TOO_SHORT:
        return "TOO SHORT";
    case OVP_TRACE_FIRING_SKIPPED:
        return "SKIPPED";
    case OVP_TRACE_FIRING_NOT_MET:
        return "NOT MET";
    case OVP_TRACE_FIRING_TOO_FAST:
        return "TOO FAST";
    case OVP_TRACE_FIRING_TOO_HOT:
        return "TOO HOT";
    case OVP_TRACE_FIRING_STATES:
        break;
    }
    return "";
}

/* "at 52 °F an hour (plan 50 °F)", "held 1 h (plan 1 h)" */
static void say_found(const checking *c, size_t step, char *text, size_t size)
{
    const ovp_trace_firing_step *found = &c->result.steps[step];
    const command_call *call = c->job.call;
    if (isnan(found->found))
        return;
    if (strcmp(found->unit, "C/h") == 0)
        firing_add(text, size, " at %s an hour (plan %s)", firing_difference(call, found->found).text,
                   firing_difference(call, found->planned).text);
    else if (strcmp(found->unit, "s") == 0)
        firing_add(text, size, " for %s (plan %s)", firing_duration(found->found).text,
                   firing_duration(found->planned).text);
}

static void say_step(const checking *c, size_t step, char *text, size_t size)
{
    const ovp_oven_step *plan = &c->job.plan.steps[step];
    const ovp_trace_firing_step *found = &c->result.steps[step];
    char words[FIRING_TEXT_SIZE];
    firing_words(&c->job, plan->text, words, sizeof words);
    if (plan->kind == OVP_OVEN_STEP_RAMP)
        firing_add(text, size, "to %s", command_show_temperature(c->job.call, plan->to_C, 0).text);
    else if (plan->kind == OVP_OVEN_STEP_HOLD)
        firing_add(text, size, plan->heat == OVP_OVEN_NOT_FITTED ? "heat off %s" : "hold", words);
    else if (plan->kind == OVP_OVEN_STEP_GUARD)
        firing_add(text, size, "not above %s",
                   command_show_temperature(c->job.call, plan->not_above_C, 0).text);
    else if (plan->by == OVP_OVEN_BY_WEIGHED)
        firing_add(text, size, "at most %.2g %% of water left by weight", 100 * plan->water_left);
    else
        firing_add(text, size, "%s", words[0] != '\0' ? words : "output flat");
    say_found(c, step, text, size);
    firing_add(text, size, ": %s", said(c, step));
    if (found->text[0] != '\0')
        firing_add(text, size, ", %s", found->text);
    if (found->stairs)
        firing_add(text, size, " in stairs");
}

static bool damaging(const checking *c)
{
    const ovp_oven_floor_row *floor = ovp_oven_floor_of(c->job.plan.floor);
    return c->result.worst < c->result.step_count && floor->wet;
}

static size_t first_not_yet(const checking *c)
{
    for (size_t i = 0; i < c->result.step_count; i++)
        if (c->result.steps[i].state == OVP_TRACE_FIRING_NOT_YET &&
            c->job.plan.steps[i].kind == OVP_OVEN_STEP_RAMP)
            return i;
    for (size_t i = 0; i < c->result.step_count; i++)
        if (c->result.steps[i].state == OVP_TRACE_FIRING_NOT_YET)
            return i;
    return c->result.step_count;
}

static void print_verdict(const checking *c)
{
    char text[FIRING_TEXT_SIZE] = "", first[FIRING_TEXT_SIZE] = "";
    const size_t worst = c->result.worst, next = first_not_yet(c);
    if (isnan(c->result.heat_on_s))
        firing_add(text, sizeof text, "Not fired: nothing in this log shows heat.");
    else if (worst < c->result.step_count) {
        firing_add(text, sizeof text, "Not as planned: step %zu, ", worst + 1);
        say_step(c, worst, text, sizeof text);
        firing_add(text, sizeof text, ".");
    } else if (!c->result.complete && next < c->result.step_count)
        firing_add(text, sizeof text, "Not finished: as planned so far; go on from step %zu.", next + 1);
    else
        firing_add(text, sizeof text, "As planned: every step of %s that this log can show was done.",
                   c->job.plan.name);
    command_say(c->job.call->out, text);
    if (damaging(c))
        firing_add(first, sizeof first,
                   "First: let it cool, look for cracks and spalls, then fire again from the first ramp.");
    else if (worst < c->result.step_count)
        firing_add(first, sizeof first, "First: do step %zu again as planned before the oven works.",
                   worst + 1);
    if (first[0] != '\0')
        command_say(c->job.call->out, first);
}

/* Where a row of its own says nothing that another place does not. */
static bool has_row(const checking *c, size_t step)
{
    const ovp_oven_step *plan = &c->job.plan.steps[step];
    if (plan->kind == OVP_OVEN_STEP_STOP)
        return false;
    return command_given(c->job.call, "why") ||
           (plan->kind != OVP_OVEN_STEP_GUARD && plan->kind != OVP_OVEN_STEP_CONDITION &&
            plan->heat != OVP_OVEN_NOT_FITTED && step != c->result.worst);
}

static bool is_done(const checking *c, size_t step)
{
    return c->result.steps[step].state == OVP_TRACE_FIRING_DONE;
}

/* Those that were done as planned in one line, where the answer would be too long. */
static void print_done(const checking *c)
{
    char text[FIRING_TEXT_SIZE] = "";
    for (size_t i = 0; i < c->result.step_count; i++)
        if (has_row(c, i) && is_done(c, i))
            firing_add(text, sizeof text, "%s %zu", text[0] != '\0' ? "," : "Done as planned: steps", i + 1);
    if (text[0] == '\0')
        return;
    firing_add(text, sizeof text, " (--why shows each).");
    command_say(c->job.call->out, text);
}

static void print_rows(const checking *c)
{
    if (c->job.brief)
        print_done(c);
    for (size_t i = 0; i < c->result.step_count; i++) {
        char text[FIRING_TEXT_SIZE] = "", label[32];
        if (!has_row(c, i) || (c->job.brief && is_done(c, i)))
            continue;
        say_step(c, i, text, sizeof text);
        snprintf(label, sizeof label, "%4zu", i + 1);
        command_say_beside(c->job.call->out, label, 6, text);
    }
}

static void print_time_and_water(const checking *c)
{
    const ovp_trace_firing_result *r = &c->result;
    char text[FIRING_TEXT_SIZE] = "";
    if (isnan(r->heat_on_s))
        return;
    firing_add(text, sizeof text, "%s with heat before the cooling", firing_duration(r->heated_s).text);
    if (!isnan(r->planned_s) && r->planned_s > 0)
        firing_add(text, sizeof text, " (plan %s)", firing_duration(r->planned_s).text);
    firing_add(text, sizeof text, ", top %s", command_show_temperature(c->job.call, r->top_C, 0).text);
    if (!isnan(r->energy_J))
        firing_add(text, sizeof text, ", %.2f kWh", r->energy_J / J_per_kWh);
    firing_add(text, sizeof text, ".");
    if (!isnan(r->water_kg) && r->water_kg > r->water_U_kg)
        firing_add(text, sizeof text,
                   " By power about %.2f kg of water left it (± %.2f): it took %.2f kWh up to %s, %s %.2f.",
                   r->water_kg, r->water_U_kg, r->wet_J / J_per_kWh,
                   command_show_temperature(c->job.call, r->wet_to_C, 0).text,
                   r->by_dry_run ? "itself when dry" : "a dry oven", r->dry_J / J_per_kWh);
    else if (!isnan(r->water_kg))
        firing_add(text, sizeof text, " By power no water shows that is more than %.2f kg.",
                   fmax(0, r->water_kg) + r->water_U_kg);
    else if (ovp_oven_floor_of(c->job.plan.floor)->wet)
        firing_add(text, sizeof text,
                   " Water by power needs --oven and a column of output, or volts and amps.");
    command_say(c->job.call->out, text);
}

static void print_water(const ovp_thermal_water *water, const command_call *call)
{
    char text[FIRING_TEXT_SIZE] = "";
    firing_add(text, sizeof text, "By weight %.3f kg of water is left (± %.3f), %.1f %% of the dry %.2f kg",
               water->left_kg, water->left_U_kg, 100 * water->share, water->dry_kg);
    if (!isnan(water->halves_s))
        firing_add(text, sizeof text, "; what is left halves in %s", firing_duration(water->halves_s).text);
    firing_add(text, sizeof text, ". Water bound in the cement is not in it.");
    command_say(call->out, text);
}

static void print_not_proved(const checking *c)
{
    char text[FIRING_TEXT_SIZE] = "";
    size_t count = 0;
    for (size_t i = 0; i < c->result.step_count; i++) {
        const ovp_oven_step *plan = &c->job.plan.steps[i];
        if (c->result.steps[i].state != OVP_TRACE_FIRING_NOT_PROVED)
            continue;
        char words[FIRING_TEXT_SIZE];
        firing_words(&c->job, plan->text, words, sizeof words);
        firing_add(text, sizeof text, "%sstep %zu%s%s", count++ == 0 ? "Not proved by this log: " : ", ",
                   i + 1, words[0] != '\0' ? " (" : "", words);
        firing_add(text, sizeof text, words[0] != '\0' ? ")" : "");
    }
    if (count > 0) {
        firing_add(text, sizeof text, ".");
        command_say(c->job.call->out, text);
    }
}

static void print_published(const checking *c)
{
    char text[FIRING_TEXT_SIZE] = "";
    if (c->job.review.grade == OVP_OVEN_PLAN_GOOD)
        return;
    firing_add(text, sizeof text, "The plan itself is %s: `ovenproof firing show` says where.",
               c->job.review.grade == OVP_OVEN_PLAN_FASTER ? "faster than the published schedule"
                                                           : "not good");
    command_say(c->job.call->out, text);
}

static void print_answer(const checking *c)
{
    print_verdict(c);
    print_rows(c);
    print_time_and_water(c);
    if (c->weighed)
        print_water(&c->water, c->job.call);
    print_not_proved(c);
    print_published(c);
}

static size_t lines_of(checking *c)
{
    size_t lines = 0;
    command_call counted = *c->job.call;
    const command_call *call = c->job.call;
    counted.out = (ovp_sink){firing_count_lines, &lines};
    c->job.call = &counted;
    print_answer(c);
    c->job.call = call;
    return lines;
}

static void print_json(const checking *c)
{
    const ovp_trace_firing_result *r = &c->result;
    ovp_text_json json;
    ovp_text_json_init(&json, c->job.call->out);
    ovp_text_json_begin_document(&json, "firing", 1);
    ovp_text_json_key_string(&json, "job", "check");
    firing_json_head(&json, &c->job);
    ovp_text_json_key_string(&json, "verdict",
                             r->worst < r->step_count ? "not-as-planned"
                             : r->complete            ? "as-planned"
                                                      : "not-finished");
    ovp_text_json_key_string(&json, "grade", ovp_oven_plan_grade_name(c->job.review.grade));
    ovp_text_json_key_number(&json, "heat_on_s", r->heat_on_s);
    ovp_text_json_key_number(&json, "heated_s", r->heated_s);
    ovp_text_json_key_number(&json, "planned_s", r->planned_s);
    ovp_text_json_key_number(&json, "top_C", r->top_C);
    ovp_text_json_key_number(&json, "energy_J", r->energy_J);
    ovp_text_json_key_number(&json, "dry_energy_J", r->dry_J);
    ovp_text_json_key_number(&json, "wet_energy_J", r->wet_J);
    ovp_text_json_key_number(&json, "water_kg", r->water_kg);
    ovp_text_json_key_number(&json, "water_uncertainty_kg", r->water_U_kg);
    ovp_text_json_key_boolean(&json, "by_dry_run", r->by_dry_run);
    ovp_text_json_key_number(&json, "water_left_kg", c->weighed ? c->water.left_kg : (double)NAN);
    ovp_text_json_key_number(&json, "water_left_uncertainty_kg",
                             c->weighed ? c->water.left_U_kg : (double)NAN);
    ovp_text_json_key(&json, "steps");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < r->step_count; i++) {
        const ovp_trace_firing_step *step = &r->steps[i];
        if (c->job.plan.steps[i].kind == OVP_OVEN_STEP_STOP)
            continue;
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_integer(&json, "step", (int64_t)i + 1);
        ovp_text_json_key_string(&json, "kind", ovp_oven_step_name(c->job.plan.steps[i].kind));
        ovp_text_json_key_string(&json, "state", ovp_trace_firing_state_name(step->state));
        ovp_text_json_key_number(&json, "from_s", step->from_s);
        ovp_text_json_key_number(&json, "to_s", step->to_s);
        ovp_text_json_key_number(&json, "planned", step->planned);
        ovp_text_json_key_number(&json, "found", step->found);
        ovp_text_json_key_string(&json, "unit", step->unit);
        ovp_text_json_key_number(&json, "most_C_per_h", step->most_C_per_h);
        ovp_text_json_key_boolean(&json, "stairs", step->stairs);
        ovp_text_json_key_boolean(&json, "gap", step->gap);
        ovp_text_json_key_string(&json, "text", step->text);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    (void)ovp_text_json_end_document(&json);
}

/* ---- the work ---------------------------------------------------------------------------------------------
 */

static void take_sample(void *context, const ovp_trace_sample *sample)
{
    const checking *c = context;
    ovp_trace_firing_sample(c->firing, sample);
    if (c->series != NULL)
        picture_series_sample(c->series, sample);
}

static void take_facts(checking *c)
{
    ovp_electrical_load load;
    c->facts =
        (ovp_trace_firing_facts){.plan = &c->job.plan,
                                 .review = &c->job.review,
                                 .model = c->job.has_model ? &c->job.model : NULL,
                                 .full_W = NAN,
                                 .rated_V = NAN,
                                 .water_left = c->weighed ? c->water.share + c->water.share_U : (double)NAN,
                                 .shown = c->job.call->degrees};
    if (c->job.has_oven && ovp_electrical_load_of(&c->job.oven, NAN, &load, NULL) == OVP_OK) {
        c->facts.full_W = load.full_W;
        c->facts.rated_V = c->job.oven.supply.volts_V;
    }
}

/* "0:20" may be minutes or hours; a plan of hours that would be over in minutes decides it. */
static bool hours_are_meant(const checking *c)
{
    if (!isnan(c->setting.options.time_unit_s) || strcmp(c->run, "-") == 0 ||
        !(c->input.duration_s < 0.05 * c->job.review.heated_s))
        return false;
    for (size_t i = 0; i < c->input.warning_count && i < OVP_TRACE_WARNINGS; i++)
        if (strstr(c->input.warnings[i], "minutes:seconds") != NULL)
            return true;
    return false;
}

static ovp_status read_once(checking *c, const char *run, void *memory, ovp_error *error)
{
    c->firing = ovp_trace_firing_init(memory, c->facts.rated_V);
    if (c->series != NULL)
        picture_series_begin(c->series);
    return command_trace_samples(run, &c->setting.options, take_sample, c, &c->input, error);
}

static ovp_status read_samples(checking *c, const char *run, void *memory, ovp_error *error)
{
    ovp_status status = read_once(c, run, memory, error);
    if (status == OVP_OK && hours_are_meant(c)) {
        c->setting.options.time_unit_s = 3600.0;
        status = read_once(c, run, memory, error);
        if (status == OVP_OK && c->input.warning_count < OVP_TRACE_WARNINGS)
            snprintf(
                c->input.warnings[c->input.warning_count++], OVP_TRACE_TEXT_SIZE,
                "times are taken as hours:minutes: the plan takes hours (--time-unit min if they are not)");
    }
    c->facts.interval_s = c->input.interval_s;
    return status;
}

static ovp_status read_run(checking *c, const char *run, void *memory, ovp_trace_firing_result *result,
                           ovp_error *error)
{
    ovp_status status = read_samples(c, run, memory, error);
    if (status == OVP_OK) {
        status = ovp_trace_firing_judge(c->firing, &c->facts, result, error);
        ovp_error_place(error, run, 0);
        if (status != OVP_OK)
            ovp_error_hint(error, "record the display while the plan is fired; `ovenproof stopwatch` can");
    }
    return status;
}

/* The run of the dry oven, which the other is held against. */
static ovp_status read_dry(checking *c, const char *run, void *memory, ovp_error *error)
{
    ovp_status status = read_run(c, run, memory, &c->dry, error);
    if (status == OVP_OK && !(c->dry.dry_J > 0)) {
        status = ovp_error_set(error, OVP_ERROR_DATA, "the run of the dry oven does not show its power");
        ovp_error_hint(error, "give --oven, and a run with a column of output, or volts and amps");
        ovp_error_place(error, run, 0);
    }
    if (status == OVP_OK)
        c->facts.dry = &c->dry;
    return status;
}

static ovp_status check(checking *c, const command_call *call, ovp_error *error)
{
    const char *weighed = command_value(call, "weighed");
    ovp_status status = command_trace_picture_check(call, 1, error);
    if (status == OVP_OK)
        status = firing_prepare(call, call->operands[1], command_value(call, "oven"), &c->job, error);
    if (status == OVP_OK)
        status = command_trace_prepare(call, &c->setting, error);
    if (status == OVP_OK && weighed != NULL) {
        status = firing_weighings(weighed, &c->water, error);
        c->weighed = status == OVP_OK;
    }
    if (status != OVP_OK)
        return status;
    take_facts(c);
    c->run = call->operands[2];
    void *memory = aligned_alloc(64, (ovp_trace_firing_size() + 63) / 64 * 64);
    if (memory == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    if (command_draws(call)) {
        c->series = malloc(sizeof *c->series);
        if (c->series == NULL) {
            free(memory);
            return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
        }
    }
    const char *dry = command_value(call, "dry");
    if (dry != NULL)
        status = read_dry(c, dry, memory, error);
    if (status == OVP_OK)
        status = read_run(c, c->run, memory, &c->result, error);
    free(memory);
    return status;
}

/* Each step that was not as planned, where it began, and what the plan asked beside it. */
static ovp_status draw(const checking *c, bool terminal, ovp_error *error)
{
    static char texts[PICTURE_MARKS][FIRING_TEXT_SIZE]; /* large */
    firing_drawing drawing = {.name = c->run,
                              .run = c->series,
                              .usual_step_s = c->input.interval_s,
                              .heat_on_s = c->result.heat_on_s,
                              .verdict = c->result.worst < c->result.step_count ? "Not as planned."
                                         : c->result.complete                   ? "As planned."
                                                                                : "Not finished."};
    for (size_t i = 0; i < c->result.step_count && drawing.mark_count < PICTURE_MARKS; i++) {
        const ovp_trace_firing_step *step = &c->result.steps[i];
        char *text = texts[drawing.mark_count];
        if (step->state < OVP_TRACE_FIRING_TOO_SHORT || c->job.plan.steps[i].kind == OVP_OVEN_STEP_STOP)
            continue;
        snprintf(text, FIRING_TEXT_SIZE, "step %zu, ", i + 1);
        say_step(c, i, text, FIRING_TEXT_SIZE);
        drawing.marks[drawing.mark_count++] = (picture_mark){c->result.heat_on_s + step->from_s, text};
    }
    return firing_picture(&c->job, &drawing, terminal, error);
}

int firing_check(const command_call *call)
{
    ovp_error error = {0};
    checking *c = calloc(1, sizeof *c);
    int status = OVP_ERROR_SYSTEM;
    if (c == NULL) {
        ovp_error_set(&error, OVP_ERROR_MEMORY, "out of memory");
        return command_fail(&error);
    }
    if (check(c, call, &error) != OVP_OK ||
        (command_given(call, "picture") && draw(c, false, &error) != OVP_OK))
        status = command_fail(&error);
    else if (call->json) {
        print_json(c);
        status = c->result.worst == c->result.step_count && c->result.complete ? OVP_OK : OVP_JUDGED;
    } else {
        for (size_t i = 0; i < c->input.warning_count && i < OVP_TRACE_WARNINGS; i++)
            fprintf(stderr, "ovenproof: warning: %s\n", c->input.warnings[i]);
        c->job.brief = !command_given(call, "why") && lines_of(c) > FIRING_LINES;
        print_answer(c);
        if (command_given(call, "plot"))
            (void)draw(c, true, &error);
        command_say_drawn(call);
        status = c->result.worst == c->result.step_count && c->result.complete ? OVP_OK : OVP_JUDGED;
    }
    free(c->series);
    free(c);
    return command_finish(status);
}
