/* command/tune.h: between the files of `tune` only. */
#ifndef OVENPROOF_COMMAND_TUNE_H
#define OVENPROOF_COMMAND_TUNE_H

#include "command/command.h"
#include "ovenproof/thermal.h"
#include "ovenproof/trace.h"

enum {
    TUNE_WARNINGS = 8,
    TUNE_WARNING_SIZE = 240,
    TUNE_MARKS = 2,
};

/** What is told. */
typedef struct tune_result {
    const command_call *call;
    bool has_oven, has_found;
    bool weak; /* the run had much less than the oven's power */
    ovp_oven oven;
    ovp_trace_input input;
    ovp_thermal_working working;
    ovp_thermal_swing swing;     /* cycles 0: no on-off control in the run */
    bool by_swing;               /* the settings rest on it */
    bool too_short;              /* and no swing stands for it */
    ovp_thermal_process process; /* that the settings rest on */
    ovp_thermal_form form;
    double period_s;
    ovp_thermal_advice advice[OVP_THERMAL_RULES];
    ovp_thermal_settings found;
    ovp_thermal_found judged;
    double mark_C[TUNE_MARKS], overshoot_C[TUNE_MARKS]; /* lowest and highest working temperature; NAN */
    double tune_at_C;                                   /* where a controller should find its own; NAN */
    char warnings[TUNE_WARNINGS][TUNE_WARNING_SIZE];
    size_t warning_count;
} tune_result;

void tune_print(const tune_result *result);
void tune_print_why(const tune_result *result);
void tune_print_json(const tune_result *result);

#endif
