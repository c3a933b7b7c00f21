/*
 * `guide` and `checklist` at a terminal: Ctrl-C and the end of the input say what was found so far, the
 * terminal is as it was. Contract: docs/design.md section 2.
 */
#include "terminal.h"

extern const command_definition command_guide, command_checklist;

static char folder[] = "/tmp/ovenproof-dialogues-XXXXXX";

static void give(command_call *call, const char *option, const char *value)
{
    call->given[call->given_count].name = option;
    call->given[call->given_count++].value = value;
}

/* `keeper` is the option that names what is kept; `name` NULL: nothing. What goes on has no operand. */
static dialogue begin_kept(const command_definition *command, const char *operand, const char *keeper,
                           const char *name)
{
    command_call call = {.definition = command, .degrees = OVP_TEXT_DEGREES_F};
    if (operand != NULL) {
        call.operands[call.operand_count++] = operand;
        give(&call, "oven", "QR-8");
    }
    if (name != NULL)
        give(&call, keeper, name);
    return begin_call(&call);
}

static dialogue begin_case(const command_definition *command, const char *operand, const char *name)
{
    return begin_kept(command, operand, "case-name", name);
}

static dialogue begin(const command_definition *command, const char *operand)
{
    return begin_kept(command, operand, NULL, NULL);
}

static void guide_interrupted(void **state)
{
    (void)state;
    dialogue d = begin(&command_guide, "reads-backwards");
    expect(&d, "What have you seen");
    type(&d, "1\n");
    expect(&d, "Warm only the sensor tip");
    expect(&d, "answer");
    type(&d, "falls\n");
    expect(&d, "taken: falls");
    expect(&d, "answer");
    type(&d, "\003");
    expect(&d, "So far, after 1 question");
    expect(&d, "sensor wires crossed");
    assert_int_equal(end(&d), 0);
}

static void guide_goes_back(void **state)
{
    (void)state;
    dialogue d = begin(&command_guide, "reads-backwards");
    expect(&d, "What have you seen");
    type(&d, "2\n");
    expect(&d, "Warm only the sensor tip");
    type(&d, "1\n");
    expect(&d, "sensor wires at the head");
    type(&d, "back\n");
    expect(&d, "taken back: ");
    expect(&d, "Warm only the sensor tip");
    type(&d, "rises\n");
    expect(&d, "sensor wires at the head");
    type(&d, "crossed at two\n");
    expect(&d, "taken: crossed at two joints");
    type(&d, "quit\n");
    expect(&d, "So far");
    expect(&d, "sensor extension wires crossed at both ends");
    assert_int_equal(end(&d), 0);
}

static void guide_at_the_end_of_the_input(void **state)
{
    (void)state;
    dialogue d = begin(&command_guide, "trips-the-breaker");
    expect(&d, "What have you seen");
    type(&d, "\004");
    expect(&d, "So far, after 0 questions");
    assert_int_equal(end(&d), 0);
}

static void checklist_interrupted(void **state)
{
    (void)state;
    dialogue d = begin(&command_checklist, "half-year");
    expect(&d, "Who does it");
    type(&d, "\n");
    expect(&d, "1/25");
    expect(&d, "QR-8");
    type(&d, "\n"); /* Enter passes no safety test */
    expect(&d, "QR-8");
    type(&d, "pass\n");
    expect(&d, "2/25");
    type(&d, "p\n");
    expect(&d, "at most 0.3 ohm");
    type(&d, "0.2\n");
    expect(&d, "ohm"); /* a bare number is refused, and asked for again */
    type(&d, "0.2ohm\n");
    expect(&d, "pass");
    expect(&d, "4/25");
    type(&d, "s\n");
    expect(&d, "a safety test, so not a pass");
    type(&d, "\003");
    expect(&d, "conditional, not a pass");
    assert_int_equal(end(&d), 1);
}

/* A power cut: the process is gone between two answers, and the run knows all that was said. */
static void checklist_killed(void **state)
{
    (void)state;
    dialogue d = begin_kept(&command_checklist, "half-year", "run", "bench-1");
    expect(&d, "Who does it");
    type(&d, "J\n");
    expect(&d, "1/25");
    type(&d, "note brown spot, wiped\n");
    expect(&d, "kept");
    type(&d, "p\n");
    expect(&d, "2/25");
    type(&d, "f\n");
    expect(&d, "3/25");
    type(&d, "again torque\n");
    expect(&d, "2/25");
    type(&d, "p\n");
    expect(&d, "found fail, now pass");
    expect(&d, "3/25");
    type(&d, "0.25ohm\n");
    expect(&d, "4/25");
    assert_int_equal(kill(d.child, SIGKILL), 0);
    assert_true(WIFSIGNALED(end_of_child(&d)));
    d = begin_kept(&command_checklist, NULL, "run", "bench-1");
    expect(&d, "4/25");
    assert_null(strstr(d.seen, "1/25"));
    type(&d, "q\n");
    expect(&d, "3 passed, 0 failed");
    expect(&d, "found fail, left pass");
    assert_int_equal(end(&d), 1);
}

/* The line is cut in the middle of a case: what was answered is there in the next call. */
static void case_goes_on(void **state)
{
    (void)state;
    dialogue d = begin_case(&command_guide, "reads-backwards", "cut");
    expect(&d, "What have you seen");
    type(&d, "1\n");
    expect(&d, "Warm only the sensor tip");
    type(&d, "falls\n");
    expect(&d, "taken: falls");
    expect(&d, "answer");
    type(&d, "\004");
    expect(&d, "Kept. To go on: ovenproof guide --case-name cut");
    assert_int_equal(end(&d), 0);
    d = begin_case(&command_guide, NULL, "cut");
    expect(&d, "Case cut, begun");
    expect(&d, "sensor wires at the head");
    type(&d, "list\n");
    expect(&d, ": falls");
    type(&d, "take back warm tip\n");
    expect(&d, "taken back: ");
    expect(&d, "Warm only the sensor tip");
    type(&d, "quit\n");
    expect(&d, "Kept.");
    assert_int_equal(end(&d), 0);
}

/* Killed without a word: every answer was on the disk before the next question. */
static void case_survives_a_kill(void **state)
{
    (void)state;
    dialogue d = begin_case(&command_guide, "reads-backwards", "killed");
    expect(&d, "What have you seen");
    type(&d, "1\n");
    expect(&d, "Warm only the sensor tip");
    type(&d, "falls\n");
    expect(&d, "sensor wires at the head");
    assert_int_equal(kill(d.child, SIGKILL), 0);
    assert_true(WIFSIGNALED(end_of_child(&d)));
    d = begin_case(&command_guide, NULL, "killed");
    expect(&d, "sensor wires at the head");
    type(&d, "list\n");
    expect(&d, ": falls");
    type(&d, "quit\n");
    assert_int_equal(end(&d), 0);
}

static void a_second_one_is_refused(void **state)
{
    (void)state;
    dialogue first = begin_case(&command_guide, "reads-backwards", "twice");
    expect(&first, "What have you seen");
    dialogue second = begin_case(&command_guide, NULL, "twice");
    expect(&second, "the case twice is open elsewhere (process ");
    expect(&second, "hint: leave it there with `quit`");
    assert_int_equal(end(&second), 4);
    type(&first, "\004");
    expect(&first, "Kept.");
    assert_int_equal(end(&first), 0);
}

/* What was said out of turn stands in brackets; Enter takes it. */
static void words_out_of_turn(void **state)
{
    (void)state;
    dialogue d = begin(&command_guide, "reads-backwards");
    expect(&d, "What have you seen");
    type(&d, "1\n");
    expect(&d, "answer: ");
    type(&d, "fuse good\n");
    expect(&d, "That is about this one");
    expect(&d, "answer [whole]: ");
    type(&d, "\n");
    expect(&d, "taken: whole");
    expect(&d, "answer: ");
    type(&d, "why\n");
    expect(&d, "Why");
    expect(&d, "points to");
    type(&d, "quit\n");
    assert_int_equal(end(&d), 0);
}

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) == NULL ? -1 : setenv("XDG_DATA_HOME", folder, 1);
}

static int remove_folder(void **state)
{
    (void)state;
    char command[300];
    (void)snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command); /* NOLINT(cert-env33-c) */
}

/* A stop condition ends the walk; once mended it is measured again, and both values stand. */
static void checklist_stopped(void **state)
{
    (void)state;
    dialogue d = begin(&command_checklist, "half-year");
    expect(&d, "Who does it");
    type(&d, "\n");
    expect(&d, "1/25");
    type(&d, "no\n");
    expect(&d, "takes no further part");
    expect(&d, "Stopped.");
    type(&d, "again marks\n");
    expect(&d, "1/25");
    type(&d, "p\n");
    expect(&d, "found fail, now pass");
    expect(&d, "2/25");
    type(&d, "q\n");
    expect(&d, "marks: found fail, left pass");
    assert_int_equal(end(&d), 1);
}

/* A wrong parameter forbids the heat and not the reading: the whole list is seen before one is changed. */
static void parameters_are_read_on(void **state)
{
    (void)state;
    dialogue d = begin(&command_checklist, "parameters");
    expect(&d, "Who does it");
    type(&d, "\n");
    expect(&d, "golden K (Enter: the same)");
    type(&d, "J\n");
    expect(&d, "No heat before it is set right");
    expect(&d, "golden F");
    assert_null(strstr(d.seen, "takes no further part"));
    type(&d, "again input-type\n");
    expect(&d, "golden K");
    type(&d, "\n");
    expect(&d, "found J, now K");
    expect(&d, "golden F");
    type(&d, "q\n");
    expect(&d, "input-type: found J, left K");
    assert_int_equal(end(&d), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(guide_interrupted),
        cmocka_unit_test(guide_goes_back),
        cmocka_unit_test(guide_at_the_end_of_the_input),
        cmocka_unit_test(checklist_interrupted),
        cmocka_unit_test(checklist_killed),
        cmocka_unit_test(checklist_stopped),
        cmocka_unit_test(parameters_are_read_on),
        cmocka_unit_test(case_goes_on),
        cmocka_unit_test(case_survives_a_kill),
        cmocka_unit_test(a_second_one_is_refused),
        cmocka_unit_test(words_out_of_turn),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
