/* What owners call about and what is no fault: reference/normal.csv. */
#include "ovenproof/diagnosis.h"

#include <string.h>

static const ovp_diagnosis_normal rows[] = {
#include "normal.inc"
};

size_t ovp_diagnosis_normal_count(void)
{
    return sizeof rows / sizeof rows[0];
}

const ovp_diagnosis_normal *ovp_diagnosis_normal_at(size_t index)
{
    return index < ovp_diagnosis_normal_count() ? &rows[index] : NULL;
}

const ovp_diagnosis_normal *ovp_diagnosis_normal_named(const char *id)
{
    for (size_t i = 0; i < ovp_diagnosis_normal_count(); i++)
        if (strcmp(rows[i].id, id) == 0)
            return &rows[i];
    return NULL;
}
