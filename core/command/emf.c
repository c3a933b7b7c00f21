#include "command/convert.h"

static int run(command_call *call)
{
    return convert_run(call, false);
}

const command_definition command_emf = {
    .name = "emf",
    .synopsis = "TYPE T... [--cold T]",
    .summary = "Millivolts of a thermocouple at a temperature (ITS-90).",
    .details =
        "TYPE is one of B C E J K N R S T. Without a temperature: one a line from standard input, one bare\n"
        "number in mV a line out; blank lines and lines that start with # are skipped.",
    .options = convert_options,
    .examples = "ovenproof emf K 932F\n"
                "ovenproof emf K 500C 1000C --cold 75F",
    .run = run,
};
