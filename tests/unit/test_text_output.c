/* JSON (RFC 8259) and printing. */
#include "ovenproof/text.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

typedef struct page {
    char text[16384];
    size_t length;
    size_t room; /* a write past it fails */
} page;

static ovp_status write_page(void *context, const char *bytes, size_t count)
{
    page *p = context;
    if (p->length + count > p->room)
        return OVP_ERROR_SYSTEM;
    memcpy(p->text + p->length, bytes, count);
    p->length += count;
    p->text[p->length] = '\0';
    return OVP_OK;
}

static page *new_page(void)
{
    static page p;
    p.length = 0;
    p.room = sizeof p.text - 1;
    p.text[0] = '\0';
    return &p;
}

static void test_document(void **state)
{
    (void)state;
    page *p = new_page();
    ovp_text_json json;
    ovp_text_json_init(&json, (ovp_sink){write_page, p});
    ovp_text_json_begin_document(&json, "emf", 1);
    ovp_text_json_key_string(&json, "type", "K");
    ovp_text_json_key_number(&json, "cold_junction_C", -0.0);
    ovp_text_json_key(&json, "points");
    ovp_text_json_begin_array(&json);
    for (int i = 0; i < 2; i++) {
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_integer(&json, "i", i == 0 ? INT64_MIN : INT64_MAX);
        ovp_text_json_key_boolean(&json, "ok", i == 1);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_number(&json, NAN);
    ovp_text_json_number(&json, -INFINITY);
    ovp_text_json_null(&json);
    ovp_text_json_string(&json, NULL);
    ovp_text_json_begin_array(&json);
    ovp_text_json_end_array(&json);
    ovp_text_json_begin_object(&json);
    ovp_text_json_end_object(&json);
    ovp_text_json_end_array(&json);
    assert_int_equal(ovp_text_json_end_document(&json), OVP_OK);
    assert_string_equal(
        p->text, "{\"document\":\"emf\",\"version\":1,\"type\":\"K\",\"cold_junction_C\":0,\"points\":["
                 "{\"i\":-9223372036854775808,\"ok\":false},{\"i\":9223372036854775807,\"ok\":true},"
                 "null,null,null,null,[],{}]}\n");
}

static void check_string(const char *string, const char *expected)
{
    page *p = new_page();
    ovp_text_json json;
    ovp_text_json_init(&json, (ovp_sink){write_page, p});
    ovp_text_json_string(&json, string);
    assert_int_equal(json.status, OVP_OK);
    assert_string_equal(p->text, expected);
}

static void test_strings(void **state)
{
    (void)state;
    check_string("", "\"\"");
    check_string("a\"b\\c\n\t\r\b\f", "\"a\\\"b\\\\c\\n\\t\\r\\b\\f\"");
    check_string("\x01\x1B[2J\x7F", "\"\\u0001\\u001b[2J\\u007f\"");
    check_string("\xC2\x9B", "\"\\u009b\"");
    check_string("\xC2\xB0"
                 "F \xE2\x84\xA6 \xF0\x9F\x94\xA5",
                 "\"\xC2\xB0"
                 "F \xE2\x84\xA6 \xF0\x9F\x94\xA5\"");
    /* invalid: a lone byte, overlong, a surrogate, cut short, past the last plane */
    check_string("\xFFx", "\"\xEF\xBF\xBDx\"");
    check_string("\xC0\xAF", "\"\xEF\xBF\xBD\xEF\xBF\xBD\"");
    check_string("\xED\xA0\x80", "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\"");
    check_string("\xE2\x84", "\"\xEF\xBF\xBD\xEF\xBF\xBD\"");
    check_string("\xF4\x90\x80\x80", "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\"");
}

static ovp_status run_misuse(int which)
{
    ovp_text_json json;
    ovp_text_json_init(&json, (ovp_sink){write_page, new_page()});
    switch (which) {
    case 0: /* a key at the top */
        ovp_text_json_key(&json, "a");
        break;
    case 1: /* a value without a key */
        ovp_text_json_begin_object(&json);
        ovp_text_json_number(&json, 1);
        break;
    case 2: /* a key in an array */
        ovp_text_json_begin_array(&json);
        ovp_text_json_key(&json, "a");
        break;
    case 3: /* two keys */
        ovp_text_json_begin_object(&json);
        ovp_text_json_key(&json, "a");
        ovp_text_json_key(&json, "b");
        break;
    case 4: /* a key without a value */
        ovp_text_json_begin_object(&json);
        ovp_text_json_key(&json, "a");
        ovp_text_json_end_object(&json);
        break;
    case 5: /* the wrong end */
        ovp_text_json_begin_object(&json);
        ovp_text_json_end_array(&json);
        break;
    case 6: /* an end too many */
        ovp_text_json_end_object(&json);
        break;
    case 7: /* two values at the top */
        ovp_text_json_number(&json, 1);
        ovp_text_json_number(&json, 2);
        break;
    case 8: /* too deep */
        for (int i = 0; i < OVP_TEXT_JSON_DEPTH; i++)
            ovp_text_json_begin_array(&json);
        break;
    default: /* a document that does not end where it should */
        ovp_text_json_begin_document(&json, "a", 1);
        ovp_text_json_key(&json, "b");
        ovp_text_json_begin_object(&json);
        return ovp_text_json_end_document(&json);
    }
    return json.status;
}

static void test_misuse_is_noticed(void **state)
{
    (void)state;
    for (int which = 0; which < 10; which++)
        if (run_misuse(which) != OVP_ERROR_USAGE)
            fail_msg("misuse %d was not noticed", which);
}

static void test_a_failed_sink_is_kept(void **state)
{
    (void)state;
    page *p = new_page();
    p->room = 10;
    ovp_text_json json;
    ovp_text_json_init(&json, (ovp_sink){write_page, p});
    ovp_text_json_begin_document(&json, "emf", 1);
    assert_int_equal(ovp_text_json_end_document(&json), OVP_ERROR_SYSTEM);
}

static void test_print(void **state)
{
    (void)state;
    page *p = new_page();
    ovp_sink sink = {write_page, p};
    assert_int_equal(ovp_text_print(sink, "%s: %d\n", "a", 5), OVP_OK);
    assert_string_equal(p->text, "a: 5\n");
    char long_text[6000];
    memset(long_text, 'x', sizeof long_text);
    long_text[sizeof long_text - 1] = '\0';
    memcpy(long_text + 4094, "\xE2\x84\xA6", 3);
    p->length = 0;
    assert_int_equal(ovp_text_print(sink, "%s", long_text), OVP_OK);
    assert_int_equal(p->length, 4094); /* not half a sign */
    p->length = 0;
    memset(long_text + 4094, 'x', 3);
    assert_int_equal(ovp_text_print(sink, "%s", long_text), OVP_OK);
    assert_int_equal(p->length, 4096);
}

static void test_columns(void **state)
{
    (void)state;
    assert_int_equal(ovp_text_columns(""), 0);
    assert_int_equal(ovp_text_columns("932 \xC2\xB0"
                                      "F"),
                     6);
    assert_int_equal(ovp_text_columns("\xE7\x82\x89"), 2); /* a wide letter */
    assert_int_equal(ovp_text_columns("e\xCC\x81"), 1);    /* a combining accent */
    assert_int_equal(ovp_text_columns("\xFF\xFE"), 2);     /* shown as two signs for "no character" */
}

static void test_fold(void **state)
{
    (void)state;
    page *p = new_page();
    ovp_sink sink = {write_page, p};
    ovp_text_fold(sink, "Switch the heat off,  then check the sensor.", 20, 0, 2);
    assert_string_equal(p->text, "Switch the heat off,\n  then check the\n  sensor.\n");
    p->length = 0;
    ovp_text_fold(sink, "one\ntwo\n", 20, 2, 4);
    assert_string_equal(p->text, "  one\n    two\n");
    p->length = 0;
    ovp_text_fold(sink, "a averylongwordindeed b", 10, 0, 2);
    assert_string_equal(p->text, "a\n  averylongwordindeed\n  b\n");
    p->length = 0;
    ovp_text_fold(sink, "", 10, 0, 2);
    assert_string_equal(p->text, "\n");
}

static void test_table(void **state)
{
    (void)state;
    page *p = new_page();
    ovp_sink sink = {write_page, p};
    ovp_text_table_row(sink, (const char *const[]){"to", "time", NULL}, (const int[]){8, -6, 3}, 3);
    ovp_text_table_row(sink,
                       (const char *const[]){"1000 \xC2\xB0"
                                             "F",
                                             "6:12", "ok"},
                       (const int[]){8, -6, 3}, 3);
    assert_string_equal(p->text, "to          time\n1000 \xC2\xB0"
                                 "F     6:12  ok\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_document),
        cmocka_unit_test(test_strings),
        cmocka_unit_test(test_misuse_is_noticed),
        cmocka_unit_test(test_a_failed_sink_is_kept),
        cmocka_unit_test(test_print),
        cmocka_unit_test(test_columns),
        cmocka_unit_test(test_fold),
        cmocka_unit_test(test_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
