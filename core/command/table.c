#include "command/command.h"

/* The order here is the order of `ovenproof --help`: first what a shop does first. A command is one file
   NAME.c with `const command_definition command_NAME`, declared and listed here. */
const command_definition *const command_table[] = {
    NULL,
};
