/* command/describe.h: between the files of `describe` only. */
#ifndef OVENPROOF_COMMAND_DESCRIBE_H
#define OVENPROOF_COMMAND_DESCRIBE_H

#include "command/command.h"
#include "ovenproof/electrical.h"
#include "ovenproof/thermal.h"

/** What follows from a description, as far as it goes. */
typedef struct describe_facts {
    const ovp_oven *oven;
    const char *file; /**< where the description lies */
    bool has_load, has_circuit, has_outlook;
    ovp_electrical_load load;
    ovp_electrical_circuit circuit;
    ovp_thermal_outlook outlook;
    ovp_error no_load, no_outlook; /**< why not */
    size_t gap_count;
} describe_facts;

void describe_reckon(const ovp_oven *oven, const char *file, describe_facts *facts);

/** A gap: a field that is not given. Walk with *field = ovp_oven_fields(); false past the last. */
bool describe_next_gap(const ovp_oven *oven, const ovp_oven_field **field);

/** At most ten questions; false when the answers ended. */
bool describe_ask(const command_call *call, ovp_oven *oven);

void describe_print(const command_call *call, const describe_facts *facts);
void describe_print_follows(const command_call *call, const describe_facts *facts);
void describe_print_gaps(const command_call *call, const describe_facts *facts);
void describe_print_fields(const command_call *call);
int describe_print_json(const command_call *call, const describe_facts *facts);
int describe_print_fields_json(const command_call *call);

#endif
