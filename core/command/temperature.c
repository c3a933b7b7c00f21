#include "command/convert.h"

static int run(command_call *call)
{
    return convert_run(call, true);
}

const command_definition command_temperature = {
    .name = "temperature",
    .synopsis = "TYPE MV... [--cold T]",
    .summary = "Temperature of a thermocouple's millivolts (ITS-90, exact inverse).",
    .details =
        "TYPE is one of B C E J K N R S T; a bare number is in mV. A meter at the screws shows the emf\n"
        "against the screws' temperature: give that as --cold. Without a value: one a line from standard\n"
        "input, one bare number a line out, in °C or the scale of --degrees; blank lines and lines that\n"
        "start with # are skipped.",
    .options = convert_options,
    .examples = "ovenproof temperature K 20.644\n"
                "ovenproof temperature K 32.39mV --cold 100F",
    .run = run,
};
