/* command/selfcheck.h: one row of reference/selfcheck.csv and what becomes of it. */
#ifndef OVENPROOF_COMMAND_SELFCHECK_H
#define OVENPROOF_COMMAND_SELFCHECK_H

#include "ovenproof/base.h"

/** A row as it stands in the table: texts, so that it can be read against the source it names. */
typedef struct selfcheck_row {
    const char *check, *subject, *given, *expected, *tolerance, *source;
} selfcheck_row;

typedef struct selfcheck_result {
    bool good;
    char computed[64]; /**< in the unit of `expected`; or why it could not be computed */
} selfcheck_result;

size_t selfcheck_row_count(void);
const selfcheck_row *selfcheck_row_at(size_t index);

/** Compute a row anew. A row that cannot be read or computed is not good. */
void selfcheck_compute(const selfcheck_row *row, selfcheck_result *result);

/** What the rows of a check have in common, in words; NULL for an unknown check. */
const char *selfcheck_title(const char *check);

#endif
