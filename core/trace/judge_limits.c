/* judge_limits.c: the thresholds and the list of findings, from reference/. */
#include "judge_internal.h"

#include <string.h>

const judge_limit_row judge_limits[JUDGE_LIMIT_COUNT] = {
#include "trace-limits.inc"
};

const char *judge_limit_name(size_t index)
{
    return index < JUDGE_LIMIT_COUNT ? judge_limits[index].name : NULL;
}

static const ovp_trace_finding_row finding_rows[] = {
#include "findings.inc"
};

size_t ovp_trace_finding_count(void)
{
    return sizeof finding_rows / sizeof *finding_rows;
}

const ovp_trace_finding_row *ovp_trace_finding_at(size_t index)
{
    return index < ovp_trace_finding_count() ? &finding_rows[index] : NULL;
}

const ovp_trace_finding_row *ovp_trace_finding_named(const char *id)
{
    for (size_t i = 0; i < ovp_trace_finding_count(); i++) {
        if (strcmp(finding_rows[i].id, id) == 0) {
            return &finding_rows[i];
        }
    }
    return NULL;
}
