/* The tables of the diagnosis agree with one another: common practice, no published source for the figures.
 */
#include "diagnosis/diagnosis_internal.h"
#include "ovenproof/oven.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* Rows of measurements and of findings in one list. */
static const diagnosis_row *row_at(size_t index)
{
    size_t measurements, findings;
    const diagnosis_row *first = diagnosis_rows(&measurements), *second = diagnosis_finding_rows(&findings);
    return index < measurements              ? first + index
           : index - measurements < findings ? second + (index - measurements)
                                             : NULL;
}

static bool among(const char *word, const char *list, char separator)
{
    size_t length = strlen(word);
    for (const char *at = list; at != NULL; at = strchr(at, separator)) {
        at += *at == separator;
        if (strncmp(at, word, length) == 0 && (at[length] == separator || at[length] == '\0')) {
            return true;
        }
    }
    return false;
}

static bool has_outcome(const ovp_diagnosis_measurement *measurement, const char *outcome)
{
    for (size_t i = 0; i < measurement->outcome_count; i++) {
        if (strcmp(measurement->outcomes[i], outcome) == 0) {
            return true;
        }
    }
    return false;
}

static bool is_fitted_question(const ovp_diagnosis_measurement *measurement)
{
    return strncmp(measurement->id, "fitted-", 7) == 0;
}

/* Sum of a row, and how many outcomes it names. */
static double row_sum(const char *measurement, const char *fault, size_t *count)
{
    double sum = 0;
    *count = 0;
    for (size_t i = 0; row_at(i) != NULL; i++) {
        const diagnosis_row *row = row_at(i);
        if (strcmp(row->measurement, measurement) == 0 && strcmp(row->fault, fault) == 0) {
            assert_true(row->p >= 0 && row->p <= 1);
            sum += row->p;
            ++*count;
        }
    }
    return sum;
}

static void test_ids_are_unique(void **state)
{
    (void)state;
    assert_true(ovp_diagnosis_fault_count() == OVP_DIAGNOSIS_CAUSES);
    for (size_t i = 0; i < ovp_diagnosis_fault_count(); i++) {
        assert_ptr_equal(ovp_diagnosis_fault_named(ovp_diagnosis_fault_at(i)->id), ovp_diagnosis_fault_at(i));
    }
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        assert_ptr_equal(ovp_diagnosis_measurement_named(measurement->id), measurement);
        assert_null(ovp_diagnosis_fault_named(measurement->id));
        assert_true(measurement->outcome_count >= 2);
    }
    assert_null(ovp_diagnosis_fault_named("healthy"));
    assert_null(ovp_diagnosis_fault_named("unlisted"));
    assert_null(ovp_diagnosis_measurement_named("no-such-thing"));
    assert_null(ovp_diagnosis_fault_at(ovp_diagnosis_fault_count()));
    assert_null(ovp_diagnosis_measurement_at(ovp_diagnosis_measurement_count()));
}

static void test_words_are_known(void **state)
{
    (void)state;
    for (size_t i = 0; i < ovp_diagnosis_fault_count(); i++) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(i);
        assert_true(fault->danger >= 0 && fault->danger <= 4);
        assert_true(among(fault->trace, "log|baseline|never", '|'));
        assert_true(fault->title[0] != '\0' && fault->remedy[0] != '\0' && fault->caution[0] != '\0');
        assert_string_not_equal(fault->title, fault->id);
        assert_true(fault->repair_minutes > 0);
        for (size_t c = 0; c < 4; c++) {
            assert_true(fault->prior[c] >= 0);
        }
    }
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        assert_true(among(measurement->who, "owner|technician", '|'));
        assert_true(among(measurement->energised, "no|controls|normal-use|live", '|'));
        assert_true(among(measurement->read_by, "eye|meter", '|'));
        assert_true(measurement->hazard_level >= 0 && measurement->hazard_level <= 3);
        assert_true(measurement->minutes > 0 && measurement->wait_minutes >= 0);
        assert_true(measurement->why[0] != '\0');
        char word[32];
        for (const char *at = measurement->states; *at != '\0';) {
            size_t length = strcspn(at, ";");
            assert_true(length < sizeof(word));
            memcpy(word, at, length);
            word[length] = '\0';
            assert_true(among(word, "cover-off|unplugged|cooled|heated", '|'));
            at += length + (at[length] == ';');
        }
    }
}

/* Nothing unplugged is energised, and nothing live is asked of an owner. */
static void test_safety_words_agree(void **state)
{
    (void)state;
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        if (strcmp(measurement->energised, "live") == 0) {
            assert_string_equal(measurement->who, "technician");
            assert_true(measurement->hazard_level == 3);
        }
        if (among("heated", measurement->states, ';')) {
            assert_string_not_equal(measurement->energised, "controls");
            assert_false(among("cooled", measurement->states, ';'));
            assert_false(among("unplugged", measurement->states, ';'));
        }
        if (strcmp(measurement->energised, "live") == 0) {
            assert_false(among("cooled", measurement->states, ';'));
        }
    }
}

static void test_parts_are_known(void **state)
{
    (void)state;
    const size_t faults = ovp_diagnosis_fault_count();
    for (size_t i = 0; i < faults + ovp_diagnosis_measurement_count(); i++) {
        const char *parts = i < faults ? ovp_diagnosis_fault_at(i)->needs_part
                                       : ovp_diagnosis_measurement_at(i - faults)->needs_part;
        while (*parts != '\0') {
            size_t length = strcspn(parts, "|");
            ovp_oven_part part;
            assert_true(ovp_oven_part_named((ovp_span){parts, length}, &part));
            parts += length + (parts[length] == '|');
        }
    }
    for (int part = 0; part < OVP_OVEN_PARTS; part++) {
        char id[64] = "fitted-";
        strcat(id, ovp_oven_part_name((ovp_oven_part)part));
        assert_non_null(ovp_diagnosis_measurement_named(id));
    }
}

static void check_rows(const char *id, size_t outcomes)
{
    size_t count;
    assert_true(fabs(row_sum(id, "*", &count) - 1) <= 0.01);
    assert_int_equal(count, outcomes);
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        const double sum = row_sum(id, ovp_diagnosis_fault_at(f)->id, &count);
        if (count > 0) {
            assert_true(fabs(sum - 1) <= 0.01);
            assert_int_equal(count, outcomes);
        }
    }
}

static void test_likelihood_rows_are_whole(void **state)
{
    (void)state;
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        assert_true(measurement->outcome_count <= DIAGNOSIS_OUTCOMES);
        if (!is_fitted_question(measurement)) {
            check_rows(measurement->id, measurement->outcome_count);
        }
    }
    for (size_t i = 0; i < ovp_trace_finding_count(); i++) {
        const ovp_trace_finding_row *finding = ovp_trace_finding_at(i);
        size_t count;
        assert_true(finding->outcome_count <= DIAGNOSIS_OUTCOMES);
        (void)row_sum(finding->id, "*", &count);
        if (count > 0) { /* a matter of the logger has no rows */
            check_rows(finding->id, finding->outcome_count);
        }
    }
    assert_true(ovp_diagnosis_measurement_count() + ovp_trace_finding_count() <= DIAGNOSIS_QUESTIONS);
}

static bool known_outcome(const diagnosis_row *row)
{
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(row->measurement);
    const ovp_trace_finding_row *finding = ovp_trace_finding_named(row->measurement);
    const char *const *outcomes = measurement != NULL ? measurement->outcomes : finding->outcomes;
    const size_t count = measurement != NULL ? measurement->outcome_count : finding->outcome_count;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(outcomes[i], row->outcome) == 0) {
            return true;
        }
    }
    return false;
}

static void test_no_orphan_rows(void **state)
{
    (void)state;
    for (size_t i = 0; row_at(i) != NULL; i++) {
        const diagnosis_row *row = row_at(i);
        const bool measurement = ovp_diagnosis_measurement_named(row->measurement) != NULL;
        const bool finding = ovp_trace_finding_named(row->measurement) != NULL;
        assert_true(measurement != finding);
        assert_true(known_outcome(row));
        assert_true(strcmp(row->fault, "*") == 0 || ovp_diagnosis_fault_named(row->fault) != NULL);
    }
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(i);
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(row->measurement);
        assert_non_null(measurement);
        assert_true(has_outcome(measurement, row->outcome));
        assert_true(among(row->relative_to, "none|nominal|record|room|line", '|'));
        assert_true(isnan(row->low) == isnan(row->high));
        assert_false(row->low >= row->high);
    }
}

/* Every numeric question has bounds for at least two outcomes, and words for each outcome. */
static void test_outcomes_have_words_and_bounds(void **state)
{
    (void)state;
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        size_t bounded = 0;
        for (size_t j = 0; j < ovp_diagnosis_outcome_count(); j++) {
            const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(j);
            bounded += strcmp(row->measurement, measurement->id) == 0 && !isnan(row->low);
        }
        bool pattern = among(measurement->id,
                             "boil-or-ice|inject-mv|mv-at-controller|volts-three-way|ohms-plug-pins|log-"
                             "volts|compare-two-temperatures",
                             '|');
        if (strcmp(measurement->unit, "choice") != 0 && !pattern) {
            assert_true(bounded >= 1);
        }
    }
    assert_string_equal(ovp_diagnosis_outcome_text("watch-display-direction", "down"), "down: heat off now");
}

/* Every outcome has words of its own. */
static void test_every_outcome_has_words(void **state)
{
    (void)state;
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        for (size_t o = 0; o < measurement->outcome_count; o++) {
            bool worded = false;
            for (size_t j = 0; j < ovp_diagnosis_outcome_count(); j++) {
                const ovp_diagnosis_outcome *row = ovp_diagnosis_outcome_at(j);
                worded =
                    worded || (strcmp(row->measurement, measurement->id) == 0 &&
                               strcmp(row->outcome, measurement->outcomes[o]) == 0 && row->text[0] != '\0');
            }
            if (!worded) {
                fail_msg("%s: no words for %s", measurement->id, measurement->outcomes[o]);
            }
        }
    }
}

/* No number belongs to two outcomes: rows of one measurement and one unit do not overlap. */
static void test_bounds_do_not_overlap(void **state)
{
    (void)state;
    for (size_t i = 0; i < ovp_diagnosis_outcome_count(); i++) {
        const ovp_diagnosis_outcome *one = ovp_diagnosis_outcome_at(i);
        for (size_t j = i + 1; j < ovp_diagnosis_outcome_count() && !isnan(one->low); j++) {
            const ovp_diagnosis_outcome *other = ovp_diagnosis_outcome_at(j);
            if (!isnan(other->low) && strcmp(one->measurement, other->measurement) == 0 &&
                strcmp(one->unit, other->unit) == 0 && one->low < other->high && other->low < one->high) {
                fail_msg("%s: %s and %s overlap", one->measurement, one->outcome, other->outcome);
            }
        }
    }
}

/* A fault is whole: what to do, what to mind, what proves it, what broke it and how to find out. */
static void test_every_fault_is_whole(void **state)
{
    (void)state;
    for (size_t i = 0; i < ovp_diagnosis_fault_count(); i++) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(i);
        ovp_span steps[OVP_DIAGNOSIS_STEPS];
        const size_t count = ovp_diagnosis_steps(fault->remedy, steps);
        assert_true(count >= 1 && count <= 6);
        assert_true(ovp_diagnosis_proof(fault->id)[0] != '\0');
        assert_true(fault->broke_by[0] != '\0' && fault->broke_check[0] != '\0');
        assert_true(fault->severity_unit[0] != '\0' && isfinite(fault->mild) && isfinite(fault->severe));
        assert_true(fault->mild != fault->severe);
    }
}

/* A finding that is the same fact as a measurement names it, and an answer of it for each outcome. */
static void test_findings_that_are_answers(void **state)
{
    (void)state;
    size_t found = 0;
    for (size_t i = 0; i < ovp_trace_finding_count(); i++) {
        const ovp_trace_finding_row *finding = ovp_trace_finding_at(i);
        const char *colon = strchr(finding->answers, ':');
        if (finding->answers[0] == '\0') {
            continue;
        }
        found++;
        assert_non_null(colon);
        char id[64];
        assert_true(ovp_copy_string(id, sizeof(id),
                                    (ovp_span){finding->answers, (size_t)(colon - finding->answers)}));
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
        assert_non_null(measurement);
        for (const char *at = colon + 1; *at != '\0';) {
            const size_t length = strcspn(at, "|");
            const char *equals = memchr(at, '=', length);
            assert_non_null(equals);
            char answer[64];
            assert_true(ovp_copy_string(answer, sizeof(answer),
                                        (ovp_span){equals + 1, length - (size_t)(equals + 1 - at)}));
            assert_true(has_outcome(measurement, answer));
            at += length + (at[length] == '|');
        }
    }
    assert_true(found >= 1);
}

/* The names in the code are the rows of the table, in order. */
static void test_figures_of_the_rule(void **state)
{
    (void)state;
#define NAME(name) #name,
    static const char *const names[] = {DIAGNOSIS_FIGURES(NAME)};
#undef NAME
    double value;
    for (size_t i = 0; i < DIAGNOSIS_FIGURE_COUNT; i++) {
        assert_string_equal(diagnosis_figure_at(i, &value), names[i]);
        assert_true(isfinite(value) && value == diagnosis_figure((diagnosis_figure_name)i));
    }
    assert_null(diagnosis_figure_at(DIAGNOSIS_FIGURE_COUNT, &value));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ids_are_unique),
        cmocka_unit_test(test_words_are_known),
        cmocka_unit_test(test_safety_words_agree),
        cmocka_unit_test(test_parts_are_known),
        cmocka_unit_test(test_likelihood_rows_are_whole),
        cmocka_unit_test(test_no_orphan_rows),
        cmocka_unit_test(test_outcomes_have_words_and_bounds),
        cmocka_unit_test(test_every_outcome_has_words),
        cmocka_unit_test(test_bounds_do_not_overlap),
        cmocka_unit_test(test_every_fault_is_whole),
        cmocka_unit_test(test_findings_that_are_answers),
        cmocka_unit_test(test_figures_of_the_rule),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
