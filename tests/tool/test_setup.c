/* Every tool that a measurement asks for can be said to be owned. */
#include "command/setup.h"
#include "ovenproof/diagnosis.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void test_every_tool_has_a_name(void **state)
{
    (void)state;
    assert_true(ovp_diagnosis_measurement_count() > 0);
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const char *tools = ovp_diagnosis_measurement_at(i)->tools;
        while (*tools != '\0') {
            char word[64];
            size_t length = strcspn(tools, "|,+ ");
            store_settings settings = {0};
            ovp_copy_string(word, sizeof word, (ovp_span){tools, length});
            if (length > 0 && setup_set(&settings, "tools", word, NULL) != OVP_OK)
                fail_msg("%s: reference/tools.csv has no \"%s\"", ovp_diagnosis_measurement_at(i)->id, word);
            tools += length + strspn(tools + length, "|,+ ");
        }
    }
}

static void test_all_tools_fit(void **state)
{
    (void)state;
    store_settings settings = {0};
    assert_int_equal(setup_set(&settings, "tools", "all", NULL), OVP_OK);
    assert_int_equal(settings.tool_count, setup_tool_count());
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_tool_has_a_name),
        cmocka_unit_test(test_all_tools_fit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
