/* The safety set: what must have been seen before anybody says "good". And what proves a repair. */
#include "ovenproof/diagnosis.h"

#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

typedef struct safety_row {
    const char *test, *text, *undone, *needs_part;
    const char *passed_by; /**< "warm-tip=rises watch-display-direction=up": any of them */
} safety_row;

static const safety_row rows[] = {
#include "safety-set.inc"
};

static const struct {
    const char *fault, *proof;
} proofs[] = {
#include "repair-proofs.inc"
};

enum {
    ID_SIZE = 64,
};

/* One way of passing a test, taken from passed_by: a measurement and the outcomes that pass. */
typedef struct way {
    char id[ID_SIZE];
    ovp_span outcomes; /**< parted by | */
} way;

/* The next way at *at; false past the last. */
static bool next_way(const char **at, way *found)
{
    const char *equals = strchr(*at, '=');
    if (equals == NULL)
        return false;
    const char *end = strchr(equals, ' ');
    size_t count = end != NULL ? (size_t)(end - equals - 1) : strlen(equals + 1);
    (void)ovp_copy_string(found->id, sizeof found->id, (ovp_span){*at, (size_t)(equals - *at)});
    found->outcomes = (ovp_span){equals + 1, count};
    *at = end != NULL ? end + 1 : equals + 1 + count;
    return true;
}

static bool passes(ovp_span outcomes, const char *outcome)
{
    size_t length = strlen(outcome);
    while (outcomes.count > 0) {
        const char *bar = memchr(outcomes.bytes, '|', outcomes.count);
        size_t count = bar != NULL ? (size_t)(bar - outcomes.bytes) : outcomes.count;
        if (count == length && memcmp(outcomes.bytes, outcome, length) == 0)
            return true;
        outcomes.bytes += count + (bar != NULL);
        outcomes.count -= count + (bar != NULL);
    }
    return false;
}

size_t ovp_diagnosis_safety_count(void)
{
    return COUNT(rows);
}

/* A failed way outweighs a passed one; a test passed in one way needs no other. */
static void judge_ways(const ovp_diagnosis_case *state, const safety_row *row, ovp_diagnosis_safety *test)
{
    way one;
    for (const char *at = row->passed_by; next_way(&at, &one);) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(one.id);
        if (measurement == NULL)
            continue;
        const char *outcome = ovp_diagnosis_answered(state, one.id);
        bool known = outcome != NULL && strcmp(outcome, "unknown") != 0;
        if (known && !passes(one.outcomes, outcome))
            test->state = OVP_DIAGNOSIS_SAFETY_FAILED;
        else if (known && test->state == OVP_DIAGNOSIS_SAFETY_UNDONE)
            test->state = OVP_DIAGNOSIS_SAFETY_PASSED;
        if (outcome == NULL && test->ask == NULL && ovp_diagnosis_allows(state, measurement))
            test->ask = measurement;
        test->holds_back = test->holds_back || ovp_diagnosis_in_role(state, measurement);
    }
}

void ovp_diagnosis_safety_at(const ovp_diagnosis_case *state, size_t index, ovp_diagnosis_safety *test)
{
    *test = (ovp_diagnosis_safety){0};
    if (index >= COUNT(rows))
        return;
    const safety_row *row = &rows[index];
    test->test = row->test;
    test->text = row->text;
    test->undone = row->undone;
    if (ovp_diagnosis_fitted(state, row->needs_part) == OVP_OVEN_NOT_FITTED) {
        test->state = OVP_DIAGNOSIS_SAFETY_NOT_FITTED;
        return;
    }
    judge_ways(state, row, test);
    if (test->state != OVP_DIAGNOSIS_SAFETY_UNDONE)
        test->ask = NULL;
}

bool ovp_diagnosis_safety_done(const ovp_diagnosis_case *state)
{
    for (size_t i = 0; i < COUNT(rows); i++) {
        ovp_diagnosis_safety test;
        ovp_diagnosis_safety_at(state, i, &test);
        if (test.state == OVP_DIAGNOSIS_SAFETY_FAILED)
            return false;
        if (test.state == OVP_DIAGNOSIS_SAFETY_UNDONE && test.holds_back)
            return false;
    }
    return true;
}

const char *ovp_diagnosis_proof(const char *fault)
{
    for (size_t i = 0; i < COUNT(proofs); i++)
        if (strcmp(proofs[i].fault, fault) == 0)
            return proofs[i].proof;
    return "";
}

static bool ends_sentence(const char *at)
{
    return at[0] == '.' && (at[1] == '\0' || (at[1] == ' ' && at[2] >= 'A' && at[2] <= 'Z'));
}

size_t ovp_diagnosis_steps(const char *remedy, ovp_span steps[OVP_DIAGNOSIS_STEPS])
{
    size_t count = 0;
    const char *begin = remedy;
    for (const char *at = remedy; *at != '\0'; at++) {
        if (!ends_sentence(at) || count + 1 == OVP_DIAGNOSIS_STEPS)
            continue;
        steps[count++] = (ovp_span){begin, (size_t)(at - begin)};
        begin = at + 1 + (at[1] == ' ');
    }
    if (*begin != '\0')
        steps[count++] = ovp_span_of(begin);
    return count;
}
