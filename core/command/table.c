#include "command/command.h"

extern const command_definition command_checklist;
extern const command_definition command_circuit;
extern const command_definition command_ground;
extern const command_definition command_joint;
extern const command_definition command_describe;
extern const command_definition command_emf;
extern const command_definition command_expect;
extern const command_definition command_firing;
extern const command_definition command_lua;
extern const command_definition command_misread;
extern const command_definition command_simulate;
extern const command_definition command_selfcheck;
extern const command_definition command_stopwatch;
extern const command_definition command_setup;
extern const command_definition command_guide;
extern const command_definition command_table_of;
extern const command_definition command_trace;
extern const command_definition command_tune;
extern const command_definition command_temperature;
extern const command_definition command_verify;

/* The order here is the order of `ovenproof --help`: first what a shop does first. A command is one file
   NAME.c with `const command_definition command_NAME`, declared and listed here, a line each. */
/* clang-format off */
const command_definition *const command_table[] = {
    &command_guide,
    &command_trace,
    &command_stopwatch,
    &command_verify,
    &command_checklist,
    &command_misread,
    &command_describe,
    &command_circuit,
    &command_joint,
    &command_ground,
    &command_expect,
    &command_tune,
    &command_firing,
    &command_emf,
    &command_temperature,
    &command_table_of,
    &command_simulate,
    &command_setup,
    &command_lua,
    &command_selfcheck,
    NULL,
};
/* clang-format on */
