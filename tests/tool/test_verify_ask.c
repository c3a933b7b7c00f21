/*
 * `verify --ask` at a terminal: Ctrl-C ends the questions, what was typed is judged, the terminal is as it
 * was. Contract: docs/design.md section 2 (a command that is stopped leaves the terminal usable).
 */
#include "terminal.h"

extern const command_definition command_verify;

static dialogue begin(void)
{
    command_call call = {.definition = &command_verify, .degrees = OVP_TEXT_DEGREES_F};
    call.given[call.given_count++].name = "ask";
    return begin_call(&call);
}

static void answer_the_first_questions(dialogue *d)
{
    expect(d, "Type of the couple");
    type(d, "K\n");
    expect(d, "Uncertainty of the reference");
    type(d, "2\n");
    expect(d, "How far may it be wrong");
    type(d, "15\n");
    expect(d, "Set to");
    type(d, "1500\n");
    expect(d, "reference reads");
}

static void interrupted_in_the_middle(void **state)
{
    (void)state;
    dialogue d = begin();
    answer_the_first_questions(&d);
    type(&d, "1502\n");
    expect(&d, "display shows");
    type(&d, "1496\n");
    expect(&d, "again");
    type(&d, "\n");
    expect(&d, "reference reads");
    type(&d, "\x03");
    expect(&d, "Reads 6 \xC2\xB0"
               "F low at 1500");
    assert_int_equal(end(&d), 0);
}

static void interrupted_before_any_reading(void **state)
{
    (void)state;
    dialogue d = begin();
    answer_the_first_questions(&d);
    type(&d, "\x03");
    expect(&d, "no reading was given");
    assert_int_equal(end(&d), 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(interrupted_in_the_middle),
        cmocka_unit_test(interrupted_before_any_reading),
    };
    return cmocka_run_group_tests_name("verify --ask", tests, NULL, NULL);
}
