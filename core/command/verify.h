/* command/verify.h: what the files of `verify` share: the job, its judgement, its words, its questions. */
#ifndef OVENPROOF_COMMAND_VERIFY_H
#define OVENPROOF_COMMAND_VERIFY_H

#include "command/command.h"
#include "ovenproof/metrology.h"

enum {
    VERIFY_WORD_SIZE = 96,
};

typedef struct verify_job {
    ovp_text_degrees degrees; /**< of what is printed; NONE: both */
    bool has_sensor;
    ovp_tc_type sensor;
    char tolerance_name[VERIFY_WORD_SIZE]; /**< a class, or "" when tolerance_C is the limit itself */
    double tolerance_C;
    bool has_tolerance, tolerance_by_default;
    char reference_name[VERIFY_WORD_SIZE]; /**< of the settings; "" when none was named */
    char reference_due[16];
    bool reference_overdue;
    double reference_U_C, reference_U_mV; /**< NAN: not this one */
    bool has_budget;
    ovp_metrology_budget_file budget;
    ovp_metrology_readings readings;
    ovp_metrology_result results[OVP_METROLOGY_POINTS];
    ovp_metrology_parts parts[OVP_METROLOGY_POINTS]; /**< with a budget only */
    ovp_metrology_decision decision;
} verify_job;

/** Sensor, tolerance and reference from the options, the oven and the settings. */
ovp_status verify_prepare(const command_call *call, verify_job *job, ovp_error *error);

/** Read a tolerance: a class name or a quantity. */
ovp_status verify_tolerance(verify_job *job, const char *word, ovp_text_degrees bare, ovp_error *error);

/** Read who the reference is: an instrument of the settings, or its uncertainty as a quantity. */
ovp_status verify_reference(verify_job *job, const char *word, ovp_text_degrees bare, ovp_error *error);

/** One line with the names of the instruments that the settings hold; nothing when there are none. */
void verify_print_instruments(FILE *file);

/** Judge all points that were read. Errors: OVP_ERROR_DATA where the tolerance class has no limit. */
ovp_status verify_judge(verify_job *job, ovp_error *error);

/** Print the outcome; returns the exit status. */
int verify_print(const command_call *call, const verify_job *job);

/** Ask at the terminal and gather readings. Ends at an empty line, at the end of the input or with Ctrl-C. */
ovp_status verify_ask(const command_call *call, verify_job *job, ovp_error *error);

#endif
