/* What one failure does to an oven with these parts. */
#include "electrical/electrical_internal.h"

#include <string.h>

static const struct failure_row {
    const char *id, *fitted, *absent, *on_break, *level, *text, *source;
} rows[] = {
#include "single-failures.inc"
};

static const size_t row_count = sizeof rows / sizeof rows[0];

static const char *const level_words[] = {
    [OVP_ELECTRICAL_FAILURE_STOPPED] = "stopped",
    [OVP_ELECTRICAL_FAILURE_HIDDEN] = "hidden",
    [OVP_ELECTRICAL_FAILURE_LIVE] = "live",
    [OVP_ELECTRICAL_FAILURE_HEATS] = "heats",
};

static ovp_electrical_failure_level level_of(const char *word)
{
    for (size_t i = 1; i < sizeof level_words / sizeof level_words[0]; i++)
        if (strcmp(level_words[i], word) == 0)
            return (ovp_electrical_failure_level)i;
    return OVP_ELECTRICAL_FAILURE_NOT_KNOWN;
}

/* Which field of the description names a part ("fitted.limiter"). */
static const char *field_of(ovp_oven_part part)
{
    const char *name = ovp_oven_part_name(part);
    for (const ovp_oven_field *field = ovp_oven_fields(); field->path != NULL; field++)
        if (strncmp(field->path, "fitted.", 7) == 0 && strcmp(field->path + 7, name) == 0)
            return field->path;
    return NULL;
}

typedef enum holds {
    HOLDS_NOT,
    HOLDS_PERHAPS,
    HOLDS,
} holds;

/* Whether every part of "a|b" is as wanted; *missing becomes the first field that is not known. */
static holds parts_are(const ovp_oven *oven, const char *parts, ovp_oven_fitted wanted, const char **missing)
{
    holds answer = HOLDS;
    for (const char *at = parts; *at != '\0';) {
        const size_t length = strcspn(at, "|");
        ovp_oven_part part;
        if (!ovp_oven_part_named((ovp_span){at, length}, &part))
            return HOLDS_NOT;
        const ovp_oven_fitted have = ovp_oven_has(oven, part);
        if (have != wanted && have != OVP_OVEN_UNKNOWN)
            return HOLDS_NOT;
        if (have == OVP_OVEN_UNKNOWN) {
            answer = HOLDS_PERHAPS;
            if (*missing == NULL)
                *missing = field_of(part);
        }
        at += length + (at[length] == '|');
    }
    return answer;
}

static holds on_break_is(const ovp_oven *oven, const char *words, const char **missing)
{
    const char *have = oven->controller.on_sensor_break;
    if (words[0] == '\0')
        return HOLDS;
    if (have[0] == '\0') {
        if (*missing == NULL)
            *missing = "controller.on_sensor_break";
        return HOLDS_PERHAPS;
    }
    for (const char *at = words; *at != '\0';) {
        const size_t length = strcspn(at, "|");
        if (ovp_span_equals((ovp_span){at, length}, have))
            return HOLDS;
        at += length + (at[length] == '|');
    }
    return HOLDS_NOT;
}

static holds row_holds(const ovp_oven *oven, const struct failure_row *row, const char **missing)
{
    const holds parts[] = {
        on_break_is(oven, row->on_break, missing),
        parts_are(oven, row->fitted, OVP_OVEN_FITTED, missing),
        parts_are(oven, row->absent, OVP_OVEN_NOT_FITTED, missing),
    };
    holds answer = HOLDS;
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        answer = parts[i] < answer ? parts[i] : answer;
    return answer;
}

/* The rows of one id: the first that holds counts, unless one before it that perhaps holds says otherwise. */
static void weigh(const ovp_oven *oven, const struct failure_row *row, size_t count,
                  ovp_electrical_failure *failure)
{
    const char *perhaps = NULL; /* level of those that perhaps hold */
    for (size_t i = 0; i < count; i++) {
        const char *missing = NULL;
        const holds answer = row_holds(oven, &row[i], &missing);
        if (answer == HOLDS_NOT)
            continue;
        failure->source = row[i].source;
        const bool same = perhaps == NULL || strcmp(perhaps, row[i].level) == 0;
        if (answer == HOLDS && same) {
            failure->level = level_of(row[i].level);
            failure->text = row[i].text;
            failure->missing = NULL;
            return;
        }
        if (failure->missing == NULL)
            failure->missing = missing;
        if (answer == HOLDS || !same)
            return;
        perhaps = row[i].level;
    }
}

size_t ovp_electrical_failures_of(const ovp_oven *oven, ovp_electrical_failure failures[])
{
    size_t count = 0;
    for (size_t i = 0, next; i < row_count && count < OVP_ELECTRICAL_FAILURES; i = next) {
        for (next = i + 1; next < row_count && strcmp(rows[next].id, rows[i].id) == 0;)
            next++;
        failures[count] = (ovp_electrical_failure){.id = rows[i].id};
        weigh(oven, &rows[i], next - i, &failures[count++]);
    }
    return count;
}
