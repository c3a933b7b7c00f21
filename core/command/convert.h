/* command/convert.h: what `emf` and `temperature` share: values from the command line or a line each from
 * standard input. */
#ifndef OVENPROOF_COMMAND_CONVERT_H
#define OVENPROOF_COMMAND_CONVERT_H

#include "command/command.h"
#include "ovenproof/thermocouple.h"

typedef struct convert_job {
    const char *document;   /**< of the JSON */
    ovp_text_kind kind;     /**< of what is given */
    bool gives_temperature; /**< of the two members of a point, which one is the answer */
    ovp_tc_type type;
    double cold_C;
    ovp_text_degrees degrees; /**< of bare temperatures, in and out */
} convert_job;

/** One value on standard input and its answer. */
typedef struct convert_point {
    double temperature_C, emf_mV;
} convert_point;

/** Runs either command. */
int convert_run(command_call *call, bool gives_temperature);

/** The option rows of both. */
extern const command_option convert_options[];

#endif
