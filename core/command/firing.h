/* command/firing.h: what the files of the command `firing` share. */
#ifndef OVENPROOF_COMMAND_FIRING_H
#define OVENPROOF_COMMAND_FIRING_H

#include "command/command.h"
#include "lua/lua.h"
#include "ovenproof/thermal.h"
#include "picture/picture.h"

enum {
    FIRING_TEXT_SIZE = 1024,
    FIRING_LINES = 14, /* most of an answer */
};

/** A plan, the oven it is for, and what both come to. */
typedef struct firing_job {
    const command_call *call;
    ovp_oven_plan plan;
    bool has_oven, has_model;
    const char *oven_name; /**< as it was typed; NULL */
    ovp_oven oven;
    ovp_error no_model; /**< why the description gives no minutes */
    ovp_thermal_parameters model;
    double price_per_kWh; /**< NAN none */
    ovp_oven_plan_facts facts;
    ovp_oven_plan_review review;
    ovp_thermal_firing_leg walked[OVP_OVEN_PLAN_STEPS]; /**< where there is a model */
    double total_s, energy_J;                           /**< of the heated legs; energy NAN without a model */
    double boil_s, boil_C_per_h; /**< full heat through the boiling point; NAN without a model */
    bool brief;                  /**< rates in one scale and nothing twice, so that the answer stays short */
    size_t behind;               /**< leg that the oven cannot follow; leg_count: it follows all */
} firing_job;

/** Read plan and oven (operand and options of the call) and work them out. */
ovp_status firing_prepare(const command_call *call, const char *plan, const char *oven, firing_job *job,
                          ovp_error *error);

int firing_show(const command_call *call, const char *plan);
void firing_show_print(firing_job *job);
void firing_show_json(const firing_job *job);

int firing_check(const command_call *call);
int firing_timetable(const command_call *call);

/** What a drawing of a checked run shows beside the plan. */
typedef struct firing_drawing {
    const char *name, *verdict;
    const picture_series *run;
    double usual_step_s, heat_on_s; /**< on the run's clock; NAN: no heat */
    picture_mark marks[PICTURE_MARKS];
    size_t mark_count;
} firing_drawing;

/** Draw the run and the plan, in the terminal or into the file of --picture. Errors: as picture_write. */
ovp_status firing_picture(const firing_job *job, const firing_drawing *drawing, bool terminal,
                          ovp_error *error);

/** Three weighings, "0h 6.40kg, 24h 6.12kg, 48h 6.04kg", of more the last three. Errors: OVP_ERROR_DATA. */
ovp_status firing_weighings(const char *text, ovp_thermal_water *water, ovp_error *error);

/** Members `plan`, `title`, `floor`, `oven`, `thickness_m` of a document, into an object that is open. */
void firing_json_head(ovp_text_json *json, const firing_job *job);

/** One ramp with the holds and conditions behind it, in words; returns the index of the step after them. */
size_t firing_say_group(const firing_job *job, size_t step, char *text, size_t size);

/** A sink that prints nothing and counts lines into a size_t. */
ovp_status firing_count_lines(void *context, const char *bytes, size_t count);

/** Append to a text of a fixed size. */
void firing_add(char *text, size_t size, const char *format, ...) OVP_PRINTF(3, 4);

/** Words of a plan with {250F} and {+50F} in the scale asked for. */
void firing_words(const firing_job *job, const char *text, char *buffer, size_t size);

/** "3 h 20 min", "2 days". */
command_words firing_duration(double value_s);
command_words firing_difference(const command_call *call, double value_C);

#endif
