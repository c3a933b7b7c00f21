/* firing_show.c: a plan judged before heat, in words. */
#include "command/beside.h"
#include "command/firing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double J_per_kWh = 3.6e6;

/* ---- one ramp and what follows it --------------------------------------------------------------------- */

static const ovp_oven_leg *leg_of(const firing_job *job, size_t step)
{
    for (size_t i = 0; i < job->review.leg_count; i++)
        if (job->review.legs[i].step == step)
            return &job->review.legs[i];
    return NULL;
}

/* Of a rate. */
static command_words rate(const firing_job *job, double value_C)
{
    command_call call = *job->call;
    if (job->brief && call.degrees == OVP_TEXT_DEGREES_NONE)
        call.degrees = OVP_TEXT_DEGREES_F;
    return firing_difference(&call, value_C);
}

static void say_ramp(const firing_job *job, const ovp_oven_leg *leg, char *text, size_t size)
{
    const command_call *call = job->call;
    const bool down = leg->to_C < leg->from_C;
    firing_add(text, size, "%s %s", down ? "cool to" : "to",
               command_show_temperature(call, leg->to_C, 0).text);
    if (isnan(leg->per_hour_C)) {
        firing_add(text, size, down ? " by itself" : " at full heat");
        return;
    }
    if (isnan(leg->stair_C)) {
        firing_add(text, size, " at %s%s an hour", down ? "most " : "", rate(job, leg->per_hour_C).text);
        return;
    }
    firing_add(text, size, " in stairs of %s every %s", rate(job, leg->stair_C).text,
               firing_duration(leg->stair_C / leg->per_hour_C * 3600.0).text);
}

static void say_hold(const firing_job *job, const ovp_oven_leg *leg, char *text, size_t size)
{
    char words[FIRING_TEXT_SIZE];
    const bool first = text[0] == '\0';
    if (leg->heated) {
        firing_add(text, size, "%shold %s", first ? "" : ", ", firing_duration(leg->time_s).text);
        return;
    }
    firing_words(job, job->plan.steps[leg->step].text, words, sizeof words);
    firing_add(text, size, "%s%s %s", first ? "heat off " : ", then ", firing_duration(leg->time_s).text,
               words);
}

/* The first step that gives this off tells what to do about it. */
static bool is_first_with(const firing_job *job, size_t step, ovp_oven_fumes fumes)
{
    for (size_t i = 0; i < step; i++)
        if (job->plan.steps[i].gives_off == fumes)
            return false;
    return job->plan.steps[step].gives_off == fumes;
}

static void say_caution(const firing_job *job, size_t step, char *text, size_t size)
{
    const bool crack = job->plan.steps[step].door == OVP_OVEN_DOOR_CRACK;
    if (is_first_with(job, step, OVP_OVEN_FUMES_STEAM))
        firing_add(text, size, "; %ssteam scalds", crack ? "door a crack, " : "");
    if (is_first_with(job, step, OVP_OVEN_FUMES_BINDER))
        firing_add(text, size, "; %sbinder smoke and carbon monoxide: air the room",
                   crack ? "door a crack, " : "");
}

size_t firing_say_group(const firing_job *job, size_t step, char *text, size_t size)
{
    const ovp_oven_plan *plan = &job->plan;
    const char *join = "; on when ";
    bool begun = false;
    size_t ramp = plan->step_count;
    text[0] = '\0';
    for (; step < plan->step_count; step++) {
        const ovp_oven_step *at = &plan->steps[step];
        const ovp_oven_leg *leg = leg_of(job, step);
        if (at->kind == OVP_OVEN_STEP_RAMP) {
            if (begun)
                break;
            say_ramp(job, leg, text, size);
            ramp = step;
        } else if (at->kind == OVP_OVEN_STEP_HOLD) {
            say_hold(job, leg, text, size);
        } else if (at->kind == OVP_OVEN_STEP_CONDITION) {
            char words[FIRING_TEXT_SIZE];
            firing_words(job, at->text, words, sizeof words);
            if (at->by == OVP_OVEN_BY_WEIGHED)
                firing_add(text, size, "%sat most %.2g %% of water is left by weight", join,
                           100 * at->water_left);
            else
                firing_add(text, size, "%s%s", join, words[0] != '\0' ? words : "the output is flat");
            join = ", ";
        } else {
            if (begun)
                break;
            continue;
        }
        begun = true;
    }
    if (ramp < plan->step_count)
        say_caution(job, ramp, text, size);
    return step;
}

/* ---- the verdict ------------------------------------------------------------------------------------------
 */

static const ovp_oven_plan_note *worst_note(const ovp_oven_plan_review *review)
{
    for (size_t i = 0; i < review->note_count; i++)
        if (review->notes[i].grade == review->grade)
            return &review->notes[i];
    return NULL;
}

static void say_note(const firing_job *job, const ovp_oven_plan_note *note, char *text, size_t size)
{
    if (note->step < job->plan.step_count)
        firing_add(text, size, "step %zu: ", note->step + 1);
    firing_add(text, size, "%s.", note->text);
}

static void say_remedy(const firing_job *job, const ovp_oven_plan_note *note, char *text, size_t size)
{
    const size_t step = note->step + 1;
    if (strcmp(note->id, "rate") == 0 || strcmp(note->id, "cooling") == 0)
        firing_add(text, size, "slow step %zu down to at most %s an hour", step,
                   firing_difference(job->call, note->published).text);
    else if (strcmp(note->id, "full-heat") == 0)
        firing_add(text, size, "give step %zu a rate, or walk it up by hand in stairs", step);
    else if (strcmp(note->id, "hold") == 0)
        firing_add(text, size, "put a hold of %s before step %zu", firing_duration(note->published).text,
                   step);
    else if (strcmp(note->id, "cure") == 0)
        firing_add(text, size, "leave the slab %s without heat first", firing_duration(note->published).text);
    else if (strcmp(note->id, "guard") == 0)
        firing_add(text, size, "put a condition before step %zu, or end it at %s", step,
                   command_show_temperature(job->call, note->published, 0).text);
    else if (strcmp(note->id, "limit") == 0)
        firing_add(text, size, "end step %zu below %s", step,
                   command_show_temperature(job->call, note->published, 0).text);
    else if (strcmp(note->id, "proof") == 0)
        firing_add(text, size, "put a condition before step %zu: no steam seen, or the output flat", step);
    else
        firing_add(text, size, "give the thickness with --thickness, and ask the maker of the castable");
}

static void print_verdict(const firing_job *job)
{
    const ovp_oven_plan_note *worst = worst_note(&job->review);
    char text[FIRING_TEXT_SIZE] = "", remedy[FIRING_TEXT_SIZE] = "First: ";
    if (job->review.grade == OVP_OVEN_PLAN_GOOD || worst == NULL) {
        const ovp_oven_floor_row *floor = ovp_oven_floor_of(job->plan.floor);
        firing_add(text, sizeof text,
                   floor->per_inch ? "Good: %s is no faster than the published schedule of %s."
                                   : "Good: nothing speaks against %s. For %s no schedule is published.",
                   job->plan.name, floor->said);
        command_say(job->call->out, text);
        return;
    }
    firing_add(text, sizeof text, "%s%s: ",
               job->review.grade == OVP_OVEN_PLAN_NOT_GOOD ? "Not good, do not fire "
                                                           : "Faster than published, ",
               job->plan.name);
    say_note(job, worst, text, sizeof text);
    command_say(job->call->out, text);
    say_remedy(job, worst, remedy, sizeof remedy);
    firing_add(remedy, sizeof remedy, ".%s",
               ovp_oven_floor_of(job->plan.floor)->per_inch ? " Its maker's own sheet goes before all this."
                                                            : "");
    command_say(job->call->out, remedy);
}

/* ---- the rest ---------------------------------------------------------------------------------------------
 */

static void print_steps(const firing_job *job)
{
    char text[FIRING_TEXT_SIZE], label[32];
    for (size_t step = 0; step < job->plan.step_count;) {
        size_t first = step;
        while (first < job->plan.step_count && job->plan.steps[first].kind != OVP_OVEN_STEP_RAMP &&
               job->plan.steps[first].kind != OVP_OVEN_STEP_HOLD)
            first++;
        step = firing_say_group(job, step, text, sizeof text);
        if (text[0] == '\0')
            continue;
        snprintf(label, sizeof label, "%4zu", first + 1);
        command_say_beside(job->call->out, label, 6, text);
    }
}

static void print_totals(const firing_job *job)
{
    char text[FIRING_TEXT_SIZE] = "";
    firing_add(text, sizeof text, "%s with heat", firing_duration(job->total_s).text);
    if (job->review.air_s > 0 && !job->brief) /* the steps say it, too */
        firing_add(text, sizeof text, ", after %s without", firing_duration(job->review.air_s).text);
    if (job->has_model) {
        firing_add(text, sizeof text, "; about %.1f kWh on %s", job->energy_J / J_per_kWh, job->oven.name);
        if (!isnan(job->price_per_kWh))
            firing_add(text, sizeof text, ", costs %.2f", job->energy_J / J_per_kWh * job->price_per_kWh);
    }
    firing_add(text, sizeof text, ".");
    if (job->has_model && job->behind == job->review.leg_count)
        firing_add(text, sizeof text, " It can follow every ramp.");
    command_say(job->call->out, text);
}

static void print_behind(const firing_job *job)
{
    char text[FIRING_TEXT_SIZE] = "";
    if (!job->has_model || job->behind == job->review.leg_count)
        return;
    const ovp_oven_leg *leg = &job->review.legs[job->behind];
    const ovp_thermal_firing_leg *walked = &job->walked[job->behind];
    if (!walked->reached)
        firing_add(text, sizeof text, "%s cannot do step %zu: at full heat it does not come to %s.",
                   job->oven.name, leg->step + 1, command_show_temperature(job->call, leg->to_C, 0).text);
    else
        firing_add(
            text, sizeof text, "%s falls behind step %zu from %s on and needs %s for it: that does no harm.",
            job->oven.name, leg->step + 1, command_show_temperature(job->call, walked->behind_at_C, 0).text,
            firing_duration(walked->time_s).text);
    command_say(job->call->out, text);
}

/* What a controller without ramps would do with the end of a ramp as its setpoint. */
static void print_bare(const firing_job *job)
{
    char text[FIRING_TEXT_SIZE] = "";
    if (!ovp_oven_floor_of(job->plan.floor)->wet)
        return;
    if (job->has_oven && job->oven.controller.ramps == OVP_OVEN_NOT_FITTED)
        firing_add(text, sizeof text, "No ramps here: walk it up in stairs. ");
    firing_add(text, sizeof text, "Never a bare setpoint while it is wet: full heat passes %s",
               command_show_temperature(job->call, 100.0, 0).text);
    if (!isnan(job->boil_s))
        firing_add(text, sizeof text, " in %.0f s", job->boil_s);
    firing_add(text, sizeof text, ".");
    command_say(job->call->out, text);
}

static bool door_cracked(const firing_job *job)
{
    for (size_t i = 0; i < job->plan.step_count; i++)
        if (job->plan.steps[i].door == OVP_OVEN_DOOR_CRACK)
            return true;
    return false;
}

static void print_cautions(const firing_job *job)
{
    char text[FIRING_TEXT_SIZE] = "Caution: nobody leaves a first firing alone; hot surfaces.";
    const bool has_switch =
        job->has_oven && ovp_oven_has(&job->oven, OVP_OVEN_DOOR_SWITCH) == OVP_OVEN_FITTED;
    if (door_cracked(job) && has_switch)
        firing_add(
            text, sizeof text,
            " Never bridge the door switch: if a door ajar cuts the heat, open it a minute every ten.");
    command_say(job->call->out, text);
}

/* A plan for another floor than the description's. */
static void print_floor(const firing_job *job)
{
    const ovp_oven_floor_row *floor = ovp_oven_floor_of(job->plan.floor);
    char text[FIRING_TEXT_SIZE] = "";
    if (!job->has_oven || !floor->per_inch || job->oven.floor.count == 0)
        return;
    for (size_t i = 0; i < job->oven.floor.count; i++)
        if (job->oven.floor.layers[i].material == OVP_OVEN_CAST_REFRACTORY)
            return;
    const char *material = ovp_oven_material_name(job->oven.floor.layers[0].material);
    firing_add(text, sizeof text, "Look first: %s's floor is %s; this plan is for %s.", job->oven.name,
               material[0] != '\0' ? material : job->oven.floor.words[0], floor->said);
    command_say(job->call->out, text);
}

/* ---- --why ------------------------------------------------------------------------------------------------
 */

static void print_step_why(const firing_job *job, size_t i)
{
    const ovp_oven_step *step = &job->plan.steps[i];
    const ovp_oven_leg *leg = leg_of(job, i);
    char text[FIRING_TEXT_SIZE] = "", words[FIRING_TEXT_SIZE], label[32];
    if (step->kind == OVP_OVEN_STEP_RAMP)
        say_ramp(job, leg, text, sizeof text);
    else if (step->kind == OVP_OVEN_STEP_HOLD)
        say_hold(job, leg, text, sizeof text);
    else if (step->kind == OVP_OVEN_STEP_GUARD)
        firing_add(text, sizeof text, "not above %s",
                   command_show_temperature(job->call, step->not_above_C, 0).text);
    else
        firing_add(text, sizeof text, "%s",
                   step->kind == OVP_OVEN_STEP_STOP ? "stop at" : ovp_oven_by_name(step->by));
    firing_words(job, step->text, words, sizeof words);
    if (words[0] != '\0' && (leg == NULL || leg->heated))
        firing_add(text, sizeof text, " %s", words);
    if (leg != NULL && leg->heated && job->has_model)
        firing_add(text, sizeof text, "; %s, %.2f kWh, output up to %.0f %%",
                   firing_duration(job->walked[leg - job->review.legs].time_s).text,
                   job->walked[leg - job->review.legs].energy_J / J_per_kWh,
                   100 * job->walked[leg - job->review.legs].most_share);
    if (step->caution[0] != '\0') {
        firing_words(job, step->caution, words, sizeof words);
        firing_add(text, sizeof text, ". Caution: %s", words);
    }
    firing_words(job, step->source, words, sizeof words);
    firing_add(text, sizeof text, ". Source: %s", words[0] != '\0' ? words : "not given");
    snprintf(label, sizeof label, "%4zu", i + 1);
    command_say_beside(job->call->out, label, 6, text);
}

static void print_why(const firing_job *job)
{
    printf("\nEvery step, and where its figures come from\n");
    for (size_t i = 0; i < job->plan.step_count; i++)
        print_step_why(job, i);
    if (job->review.note_count > 0)
        printf("\nWhat was held against it\n");
    for (size_t i = 0; i < job->review.note_count; i++) {
        char text[FIRING_TEXT_SIZE] = "";
        say_note(job, &job->review.notes[i], text, sizeof text);
        if (job->review.notes[i].source[0] != '\0')
            firing_add(text, sizeof text, " Source: %s", job->review.notes[i].source);
        command_say_beside(job->call->out, "   -", 6, text);
    }
    if (ovp_oven_floor_of(job->plan.floor)->wet) {
        char text[FIRING_TEXT_SIZE] = "";
        firing_add(text, sizeof text,
                   "Steam shut in at %s pushes with %.1f bar, at %s with %.0f bar (steam tables).",
                   command_show_temperature(job->call, (300 - 32) / 1.8, 0).text,
                   ovp_thermal_steam_Pa((300 - 32) / 1.8) / 1e5,
                   command_show_temperature(job->call, (400 - 32) / 1.8, 0).text,
                   ovp_thermal_steam_Pa((400 - 32) / 1.8) / 1e5);
        command_say(job->call->out, text);
    }
    if (job->has_model)
        command_say(job->call->out,
                    "Minutes and energy are of the oven model, dry and empty: good to about 20 %. Water "
                    "adds 0.63 kWh for each kilogram.");
}

static void print_answer(const firing_job *job)
{
    print_verdict(job);
    print_floor(job);
    print_steps(job);
    print_totals(job);
    print_behind(job);
    print_bare(job);
    print_cautions(job);
}

static size_t lines_of(firing_job *job)
{
    size_t lines = 0;
    command_call counted = *job->call;
    const command_call *call = job->call;
    counted.out = (ovp_sink){firing_count_lines, &lines};
    job->call = &counted;
    print_answer(job);
    job->call = call;
    return lines;
}

void firing_show_print(firing_job *job)
{
    job->brief = lines_of(job) > FIRING_LINES;
    print_answer(job);
    if (command_given(job->call, "why"))
        print_why(job);
}

int firing_show(const command_call *call, const char *plan)
{
    ovp_error error = {0};
    firing_job *job = calloc(1, sizeof *job);
    if (job == NULL) {
        ovp_error_set(&error, OVP_ERROR_MEMORY, "out of memory");
        return command_fail(&error);
    }
    int status = OVP_OK;
    if (firing_prepare(call, plan, command_value(call, "oven"), job, &error) != OVP_OK)
        status = command_fail(&error);
    else {
        if (call->json)
            firing_show_json(job);
        else
            firing_show_print(job);
        status = command_finish(job->review.grade == OVP_OVEN_PLAN_GOOD ? OVP_OK : OVP_JUDGED);
    }
    free(job);
    return status;
}
