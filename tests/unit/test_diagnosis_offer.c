/* Words out of turn: each line of texts/offered.txt. Common practice, no published source. */
#include "ovenproof/diagnosis.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static ovp_diagnosis_case *new_case(ovp_oven *oven)
{
    ovp_oven_init(oven);
    const char *const leaves[][2] = {{"supply.volts", "240V"},       {"supply.circuit", "20A"},
                                     {"elements[1].watts", "1800W"}, {"elements[1].at", "240V"},
                                     {"elements[2].watts", "1800W"}, {"elements[2].at", "240V"},
                                     {"wiring", "parallel"},         {"sensor.type", "K"}};
    for (size_t i = 0; i < sizeof leaves / sizeof leaves[0]; i++) {
        assert_int_equal(ovp_oven_set(oven, leaves[i][0], OVP_OVEN_LEAF_TEXT, leaves[i][1], NULL, NULL),
                         OVP_OK);
    }
    const ovp_diagnosis_settings settings = {.context = OVP_DIAGNOSIS_IN_SERVICE, .oven = oven};
    void *memory = malloc(ovp_diagnosis_case_size());
    assert_non_null(memory);
    return ovp_diagnosis_case_init(memory, &settings);
}

/* "words | measurement | outcome" taken apart in place; false for a comment or an empty line. */
static bool take_line(char *line, char *fields[3])
{
    line[strcspn(line, "\n")] = '\0';
    if (line[0] == '#' || line[0] == '\0') {
        return false;
    }
    for (size_t i = 0; i < 3; i++) {
        fields[i] = line;
        char *bar = strstr(line, " | ");
        assert_true((bar != NULL) == (i < 2));
        if (bar != NULL) {
            *bar = '\0';
            line = bar + 3;
        }
    }
    return true;
}

static void check_line(const ovp_diagnosis_case *state, char *fields[3], size_t *wrong)
{
    ovp_diagnosis_offered found[3];
    const size_t count = ovp_diagnosis_offer_answers(state, fields[0], found, 3);
    const char *id = count > 0 ? found[0].measurement->id : "-";
    const char *outcome = count > 0 && found[0].outcome != NULL ? found[0].outcome : "-";
    if (strcmp(id, fields[1]) != 0 || strcmp(outcome, fields[2]) != 0) {
        print_error("\"%s\": %s %s, expected %s %s\n", fields[0], id, outcome, fields[1], fields[2]);
        ++*wrong;
    }
    const bool answers = count > 0 && found[0].answer[0] != '\0';
    assert_true(outcome[0] == '-' || answers);
    assert_true(count == 0 || (found[0].text[0] != '\0') == (found[0].outcome != NULL));
}

static void test_words_find_their_answer(void **unused)
{
    (void)unused;
    ovp_oven oven;
    ovp_diagnosis_case *state = new_case(&oven);
    FILE *file = fopen(TREE "/tests/unit/texts/offered.txt", "r");
    assert_non_null(file);
    char line[256];
    char *fields[3];
    size_t lines = 0, wrong = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        if (take_line(line, fields)) {
            lines++;
            check_line(state, fields, &wrong);
        }
    }
    (void)fclose(file);
    free(state);
    assert_true(lines >= 60);
    assert_int_equal(wrong, 0);
}

/* The proposed answer is one that the case takes. */
static void test_the_answer_is_taken(void **unused)
{
    (void)unused;
    ovp_oven oven;
    ovp_diagnosis_case *state = new_case(&oven);
    ovp_diagnosis_offered found[1];
    assert_int_equal(ovp_diagnosis_offer_answers(state, "element 16.2 ohms", found, 1), 1);
    assert_string_equal(found[0].answer, "16.2ohm");
    assert_int_equal(ovp_diagnosis_answer(state, found[0].measurement->id, found[0].answer, NULL), OVP_OK);
    assert_string_equal(ovp_diagnosis_answered(state, "ohms-element"), found[0].outcome);
    assert_int_equal(ovp_diagnosis_offer_answers(state, "reads 40 low", found, 1), 1);
    assert_string_equal(found[0].answer, "-40F");
    assert_int_equal(ovp_diagnosis_answer(state, found[0].measurement->id, found[0].answer, NULL), OVP_OK);
    free(state);
}

/* Without a description a ratio cannot be said, the number is kept all the same. */
static void test_without_an_oven(void **unused)
{
    (void)unused;
    ovp_diagnosis_offered found[2];
    assert_true(ovp_diagnosis_offer_answers(NULL, "element 16 ohms", found, 2) >= 1);
    assert_string_equal(found[0].measurement->id, "ohms-element");
    assert_null(found[0].outcome);
    assert_string_equal(found[0].text, "");
    assert_int_equal(ovp_diagnosis_offer_answers(NULL, "fuse good", found, 0), 0);
    assert_int_equal(ovp_diagnosis_offer_answers(NULL, "", found, 2), 0);
    char longest[4096];
    memset(longest, 'x', sizeof longest - 1);
    longest[sizeof longest - 1] = '\0';
    assert_int_equal(ovp_diagnosis_offer_answers(NULL, longest, found, 2), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_words_find_their_answer),
        cmocka_unit_test(test_the_answer_is_taken),
        cmocka_unit_test(test_without_an_oven),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
