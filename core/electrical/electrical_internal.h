/* What the files of this room share. */
#ifndef OVENPROOF_ELECTRICAL_INTERNAL_H
#define OVENPROOF_ELECTRICAL_INTERNAL_H

#include "ovenproof/electrical.h"

/** A row of reference/electrical.csv; NAN for a name that is not there. */
double electrical_figure(const char *name);

/** The value of a row of reference/electrical-limits.csv; NAN for a name that is not there. */
double electrical_limit(const char *name);

#endif
