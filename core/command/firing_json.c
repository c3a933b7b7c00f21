/* firing_json.c: what the commands of `firing` give to programs. */
#include "command/firing.h"

#include <math.h>

void firing_json_head(ovp_text_json *json, const firing_job *job)
{
    const ovp_oven_floor_row *floor = ovp_oven_floor_of(job->plan.floor);
    ovp_text_json_key_string(json, "plan", job->plan.name);
    ovp_text_json_key_string(json, "title", job->plan.title);
    ovp_text_json_key_string(json, "floor", floor->floor);
    ovp_text_json_key_number(json, "thickness_m", job->review.thickness_m);
    ovp_text_json_key_string(json, "oven", job->has_oven ? job->oven.name : NULL);
}

static void write_notes(ovp_text_json *json, const firing_job *job)
{
    ovp_text_json_key(json, "notes");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < job->review.note_count; i++) {
        const ovp_oven_plan_note *note = &job->review.notes[i];
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "note", note->id);
        ovp_text_json_key_string(json, "grade", ovp_oven_plan_grade_name(note->grade));
        ovp_text_json_key(json, "step");
        if (note->step < job->plan.step_count)
            ovp_text_json_integer(json, (int64_t)note->step + 1);
        else
            ovp_text_json_null(json);
        ovp_text_json_key_number(json, "planned", note->planned);
        ovp_text_json_key_number(json, "published", note->published);
        ovp_text_json_key_string(json, "unit", note->unit);
        ovp_text_json_key_string(json, "text", note->text);
        ovp_text_json_key_string(json, "source", note->source);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static void write_legs(ovp_text_json *json, const firing_job *job)
{
    ovp_text_json_key(json, "legs");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < job->review.leg_count; i++) {
        const ovp_oven_leg *leg = &job->review.legs[i];
        const ovp_thermal_firing_leg *walked = &job->walked[i];
        const bool known = job->has_model;
        ovp_text_json_begin_object(json);
        ovp_text_json_key_integer(json, "step", (int64_t)leg->step + 1);
        ovp_text_json_key_number(json, "from_C", leg->from_C);
        ovp_text_json_key_number(json, "to_C", leg->to_C);
        ovp_text_json_key_number(json, "rate_C_per_h", leg->per_hour_C);
        ovp_text_json_key_number(json, "planned_s", leg->time_s);
        ovp_text_json_key_boolean(json, "heated", leg->heated);
        ovp_text_json_key_boolean(json, "wet", leg->wet);
        ovp_text_json_key_number(json, "time_s", known ? walked->time_s : leg->time_s);
        ovp_text_json_key_number(json, "energy_J", known ? walked->energy_J : (double)NAN);
        ovp_text_json_key_number(json, "output_most_percent", known ? 100 * walked->most_share : (double)NAN);
        ovp_text_json_key_number(json, "behind_at_C", known ? walked->behind_at_C : (double)NAN);
        ovp_text_json_key(json, "reached");
        if (known)
            ovp_text_json_boolean(json, walked->reached);
        else
            ovp_text_json_null(json);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

void firing_show_json(const firing_job *job)
{
    ovp_text_json json;
    ovp_text_json_init(&json, job->call->out);
    ovp_text_json_begin_document(&json, "firing", 1);
    ovp_text_json_key_string(&json, "job", "show");
    firing_json_head(&json, job);
    ovp_text_json_key_string(&json, "grade", ovp_oven_plan_grade_name(job->review.grade));
    ovp_text_json_key_number(&json, "heated_s", job->total_s);
    ovp_text_json_key_number(&json, "air_s", job->review.air_s);
    ovp_text_json_key_number(&json, "top_C", job->review.top_C);
    ovp_text_json_key_number(&json, "energy_J", job->energy_J);
    ovp_text_json_key_number(&json, "cost", job->energy_J / 3.6e6 * job->price_per_kWh);
    ovp_text_json_key_number(&json, "boiling_time_s", job->boil_s);
    ovp_text_json_key_number(&json, "boiling_rate_C_per_h", job->boil_C_per_h);
    write_legs(&json, job);
    write_notes(&json, job);
    (void)ovp_text_json_end_document(&json);
}
