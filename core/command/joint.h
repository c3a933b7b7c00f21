/* command/joint.h: between the files of `joint` only. */
#ifndef OVENPROOF_COMMAND_JOINT_H
#define OVENPROOF_COMMAND_JOINT_H

#include "command/command.h"
#include "ovenproof/electrical.h"

/** The latest reading of one joint and what follows from it. */
typedef struct joint_row {
    const ovp_electrical_joint *joint;
    ovp_electrical_joint_result result;
    bool has_trend;
    ovp_electrical_joint_trend trend;
} joint_row;

typedef struct joint_job {
    ovp_electrical_joint_list list;
    const char *file;                      /**< NULL: from the command line */
    double full_A;                         /**< NAN: judged as measured */
    double limit_mV;                       /**< of the trend */
    joint_row rows[OVP_ELECTRICAL_JOINTS]; /**< the gravest first */
    size_t row_count;
    bool compared; /**< at least two joints with ohms */
    ovp_electrical_joint_comparison comparison;
    bool has_check;
    ovp_electrical_check_history history;
    ovp_electrical_check_due due;
} joint_job;

/** Text or JSON on standard output; returns the exit status. */
int joint_print(const command_call *call, const joint_job *job);
int joint_print_json(const command_call *call, const joint_job *job);
/** 0 when all is good, else 1. */
int joint_status(const joint_job *job);

#endif
