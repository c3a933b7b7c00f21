/* Limits that stand alone: rows of reference/electrical-limits.csv. */
#include "electrical/electrical_internal.h"

#include <math.h>
#include <string.h>

static const ovp_electrical_limit rows[] = {
#include "electrical-limits.inc"
};

const ovp_electrical_limit *ovp_electrical_limit_at(size_t index)
{
    return index < sizeof rows / sizeof rows[0] ? &rows[index] : NULL;
}

const ovp_electrical_limit *ovp_electrical_limit_named(const char *name)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].name, name) == 0)
            return &rows[i];
    return NULL;
}

double electrical_limit(const char *name)
{
    const ovp_electrical_limit *row = ovp_electrical_limit_named(name);
    return row != NULL ? row->value : NAN;
}
