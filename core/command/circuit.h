/* command/circuit.h: what the files of the command `circuit` share. */
#ifndef OVENPROOF_COMMAND_CIRCUIT_H
#define OVENPROOF_COMMAND_CIRCUIT_H

#include "command/command.h"
#include "ovenproof/electrical.h"

enum {
    CIRCUIT_TEXT_SIZE = 1024,
};

/** Everything one call is about. */
typedef struct circuit_facts {
    const ovp_oven *oven;
    const char *name; /**< of the oven as it was typed */
    ovp_electrical_question question;
    ovp_electrical_review review;
    bool measured; /**< two readings of the volts were given */
    ovp_electrical_readings readings;
    ovp_electrical_line line;
    const char *trace; /**< a run's file; NULL */
    ovp_electrical_cycle cycle;
} circuit_facts;

void circuit_print(const command_call *call, const circuit_facts *facts);
/** The table over the supply's volts, where circuit_print left it out. */
void circuit_print_table(const command_call *call, const circuit_facts *facts);
/** Every figure with its source, after a blank line. */
void circuit_print_why(const command_call *call, const circuit_facts *facts);
int circuit_print_json(const command_call *call, const circuit_facts *facts);

void circuit_print_verdict(const command_call *call, const circuit_facts *facts);
/** The most dangerous check that says trouble, which the verdict speaks of; OVP_ELECTRICAL_CHECKS for none.
 */
ovp_electrical_check circuit_first_trouble(const ovp_electrical_review *review);
/** A row of reference/electrical.csv. */
double circuit_figure(const char *name);

/** Append to a text of a fixed size. */
void circuit_add(char *text, size_t size, const char *format, ...) OVP_PRINTF(3, 4);

/** "60 min", "2 min", "0.1 s": a time as the standards give it. */
command_words circuit_time(double time_s);
/** "16 AWG" or "1.5 mm2". */
command_words circuit_wire(const ovp_electrical_wire *wire);

#endif
