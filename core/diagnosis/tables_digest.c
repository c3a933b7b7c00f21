/* One number that differs when anything in the tables was changed. */
#include "diagnosis/diagnosis_internal.h"

static uint64_t add_text(uint64_t digest, const char *text)
{
    digest = ovp_digest(digest, ovp_span_of(text));
    return ovp_digest(digest, (ovp_span){"", 1}); /* so that "ab" "c" is not "a" "bc" */
}

static uint64_t add_number(uint64_t digest, double value)
{
    return ovp_digest(digest, (ovp_span){(const char *)&value, sizeof value});
}

static uint64_t add_faults(uint64_t digest)
{
    for (size_t i = 0; i < ovp_diagnosis_fault_count(); i++) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(i);
        digest = add_text(digest, fault->id);
        for (size_t j = 0; j < sizeof fault->prior / sizeof fault->prior[0]; j++)
            digest = add_number(digest, fault->prior[j]);
        digest = add_number(digest, fault->danger);
        digest = add_number(digest, fault->repair_minutes);
    }
    return digest;
}

static uint64_t add_measurements(uint64_t digest)
{
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *one = ovp_diagnosis_measurement_at(i);
        const char *texts[] = {one->id,         one->question, one->unit,   one->tools,  one->who,
                               one->energised,  one->caution,  one->why,    one->expect, one->group,
                               one->needs_part, one->states,   one->read_by};
        for (size_t j = 0; j < sizeof texts / sizeof texts[0]; j++)
            digest = add_text(digest, texts[j]);
        for (size_t j = 0; j < one->outcome_count; j++)
            digest = add_text(digest, one->outcomes[j]);
        digest = add_number(digest, one->minutes);
        digest = add_number(digest, one->wait_minutes);
        digest = add_number(digest, one->hazard_level);
    }
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *one = ovp_diagnosis_outcome_at(i);
        digest = add_text(add_text(digest, one->measurement), one->outcome);
        digest = add_text(add_text(digest, one->unit), one->relative_to);
        digest = add_text(add_number(add_number(digest, one->low), one->high), one->text);
    }
    return digest;
}

static uint64_t add_rows(uint64_t digest, const diagnosis_row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        digest = add_text(add_text(digest, rows[i].fault), rows[i].measurement);
        digest = add_number(add_text(digest, rows[i].outcome), rows[i].p);
    }
    return digest;
}

uint64_t ovp_diagnosis_tables_digest(void)
{
    size_t count = 0;
    uint64_t digest = add_measurements(add_faults(OVP_DIGEST_BEGIN));
    const diagnosis_row *rows = diagnosis_rows(&count);
    digest = add_rows(digest, rows, count);
    rows = diagnosis_finding_rows(&count);
    return add_rows(digest, rows, count);
}
