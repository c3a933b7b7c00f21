/* command/trace.h: what the files of the command `trace` share. */
#ifndef OVENPROOF_COMMAND_TRACE_H
#define OVENPROOF_COMMAND_TRACE_H

#include "command/command.h"
#include "ovenproof/diagnosis.h"
#include "ovenproof/trace.h"
#include "picture/picture.h"

enum {
    TRACE_OUTLINE = 2000,
    TRACE_ALARMS = OVP_TRACE_ALARMS, /* an alarm only becomes graver */
};

/** What all runs of one call are judged against. */
typedef struct trace_setting {
    const command_call *call;
    ovp_trace_options options;
    ovp_trace_expectation expectation; /* points into this struct */
    bool has_oven, has_model, has_baseline;
    ovp_oven oven;
    ovp_thermal_parameters model;
    ovp_error no_model; /* why the description gives no expectation */
    ovp_trace_result baseline;
    ovp_trace_input baseline_input;
    ovp_trace_sample baseline_outline[TRACE_OUTLINE];
    size_t baseline_count;
    picture_series *baseline_series; /* as in trace_run */
    ovp_diagnosis_context context;
} trace_setting;

/** What --follow called, and in which words. */
typedef struct trace_alarm {
    ovp_trace_watch_state state;
    const ovp_diagnosis_measurement *next;
    char text[2 * OVP_TRACE_TEXT_SIZE];
} trace_alarm;

typedef struct trace_run {
    const char *name;
    ovp_trace_input input;
    ovp_trace_result result;
    ovp_diagnosis_result causes;
    const ovp_diagnosis_measurement *next; /* NULL: nothing more to ask */
    char expect[OVP_DIAGNOSIS_TEXT_SIZE];
    ovp_trace_sample outline[TRACE_OUTLINE];
    size_t outline_count;
    picture_series *series; /* on the heap, kept while reading when a drawing is wanted; NULL: the outline is
                               drawn */
    trace_alarm alarms[TRACE_ALARMS]; /* of --follow */
    size_t alarm_count;
    bool followed;
    const char *broke_off;       /* why the follow ended before the run did; NULL */
    ovp_diagnosis_synthesis fit; /* of the whole run; speaks: false without an oven */
} trace_run;

/** What the options of a call say (those that it has) and its oven. `setting` is zero. */
ovp_status command_trace_prepare(const command_call *call, trace_setting *setting, ovp_error *error);

/** Judge against this oven: a file or a name. */
ovp_status command_trace_oven(trace_setting *setting, const char *name, ovp_error *error);

/** The samples of a file, or of standard input ("-"), one by one. */
ovp_status command_trace_samples(const char *name, const ovp_trace_options *options,
                                 ovp_trace_sample_function sample, void *context, ovp_trace_input *input,
                                 ovp_error *error);

/** Read and judge a file, "-" or the text of --times (name NULL). */
ovp_status command_trace_read(const trace_setting *setting, const char *name, trace_run *run,
                              ovp_error *error);
/** Read a file that grows, say alarms as they come, until it is quiet or the person ends it. */
ovp_status command_trace_follow(const trace_setting *setting, trace_run *run, ovp_error *error);
/** Weigh what it showed. */
ovp_status command_trace_weigh(const trace_setting *setting, trace_run *run, ovp_error *error);

/** Members of one run, into an object that is open. */
void command_trace_write_json(ovp_text_json *json, trace_run *run);
/** Several runs: a short verdict each, one table, what differs from the first; and the member `compared`. */
void command_trace_compare(const trace_setting *setting, const trace_run runs[], size_t count);
void command_trace_compare_json(ovp_text_json *json, const trace_setting *setting, const trace_run runs[],
                                size_t count);
void command_trace_print(const trace_setting *setting, const trace_run *run);
void command_trace_print_why(const trace_setting *setting, const trace_run *run);

/** Whether --picture can be done for so many runs: asked before anything is read. */
ovp_status command_trace_picture_check(const command_call *call, size_t runs, ovp_error *error);
/** Keep the run for a drawing while it is read, where the call wants one. */
ovp_status command_trace_keep_series(const command_call *call, picture_series **series, ovp_error *error);
/** "1000 °F (538 °C) in 7:08 of 8:00; ..." in a sentence; "" when no heat-up limit was judged. */
void command_trace_milestone_words(const trace_setting *setting, const trace_run *run, char *buffer,
                                   size_t size);
/** --plot: in the terminal; --picture: into its file. */
ovp_status command_trace_plot(const trace_setting *setting, const trace_run *run);
ovp_status command_trace_picture(const trace_setting *setting, const trace_run *run, ovp_error *error);

/** Options volts, supply and tolerance. */
ovp_status command_trace_proof_options(const command_call *call, ovp_trace_expectation *expectation,
                                       ovp_error *error);
/** The proof at rated volts: its members, its paragraph ("" when there is nothing to say) and its figures. */
void command_trace_write_proof(ovp_text_json *json, const trace_run *run);
void command_trace_proof_words(const trace_setting *setting, const trace_run *run, char *buffer, size_t size);
void command_trace_asked_words(const trace_setting *setting, const trace_run *run, char *buffer, size_t size);
void command_trace_proof_why(const trace_setting *setting, const trace_run *run);

/** Durations and numbers in words. */
typedef struct trace_number {
    char text[64];
} trace_number;
trace_number trace_shown_duration(double value_s);
trace_number trace_shown_fixed(double value, int decimals);
trace_number trace_shown_count(uint64_t value); /* 1,812 */

#endif
