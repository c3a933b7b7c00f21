#include "command/selfcheck.h"
#include "command/command.h"
#include "ovenproof/ovenproof.h"

#include <string.h>

enum {
    FAILURES_SHOWN = 6,
};

static void print_row(const selfcheck_row *row, const selfcheck_result *result)
{
    const char *between = row->subject[0] != '\0' && row->given[0] != '\0' ? " " : "";
    printf("%-8s %s %s%s%s: computed %s, published %s", result->good ? "good" : "TROUBLE", row->check,
           row->subject, between, row->given, result->computed, row->expected);
    if (row->tolerance[0] != '\0')
        printf(" +- %s", row->tolerance);
    printf(" [%s]\n", row->source);
}

static size_t count_failures(void)
{
    size_t failures = 0;
    for (size_t i = 0; i < selfcheck_row_count(); i++) {
        selfcheck_result result;
        selfcheck_compute(selfcheck_row_at(i), &result);
        failures += !result.good;
    }
    return failures;
}

static void print_rows(bool all)
{
    size_t shown = 0;
    for (size_t i = 0; i < selfcheck_row_count(); i++) {
        selfcheck_result result;
        selfcheck_compute(selfcheck_row_at(i), &result);
        if (!all && (result.good || shown == FAILURES_SHOWN))
            continue;
        print_row(selfcheck_row_at(i), &result);
        shown++;
    }
}

/* What stands before the colon of a source is the publication; after it, the page. */
static bool same_publication(const char *a, const char *b)
{
    size_t length = strcspn(a, ":");
    return strcspn(b, ":") == length && strncmp(a, b, length) == 0;
}

static size_t count_sources(void)
{
    size_t count = 0;
    for (size_t i = 0; i < selfcheck_row_count(); i++) {
        bool is_new = true;
        for (size_t before = 0; before < i && is_new; before++)
            is_new = !same_publication(selfcheck_row_at(before)->source, selfcheck_row_at(i)->source);
        count += is_new;
    }
    return count;
}

/* A line for each kind of check, in the order of the table. */
static void print_titles(void)
{
    for (size_t i = 0; i < selfcheck_row_count(); i++) {
        const char *title = selfcheck_title(selfcheck_row_at(i)->check);
        size_t count = 0, first = selfcheck_row_count();
        for (size_t other = 0; other < selfcheck_row_count(); other++) {
            if (strcmp(selfcheck_title(selfcheck_row_at(other)->check), title) != 0)
                continue;
            first = first < other ? first : other;
            count++;
        }
        if (first == i)
            printf("  %3zu  %s\n", count, title);
    }
}

static void print_text(size_t failures, bool why)
{
    size_t count = selfcheck_row_count();
    if (failures == 0) {
        printf("Good: this copy of ovenproof %s computes all %zu published values anew, from %zu sources.\n",
               OVP_VERSION, count, count_sources());
    } else {
        printf("Trouble: %zu of %zu published values do not come out. Do not rely on this copy; install it "
               "anew.\n",
               failures, count);
    }
    if (why || failures > 0)
        print_rows(why);
    else
        print_titles();
    if (!why)
        puts("Each value with its source: `ovenproof selfcheck --why`.");
}

static void print_json(size_t failures, ovp_sink sink)
{
    ovp_text_json json;
    ovp_text_json_init(&json, sink);
    ovp_text_json_begin_document(&json, "selfcheck", 1);
    ovp_text_json_key_string(&json, "program_version", OVP_VERSION);
    ovp_text_json_key_boolean(&json, "good", failures == 0);
    ovp_text_json_key_integer(&json, "checked", (int64_t)selfcheck_row_count());
    ovp_text_json_key_integer(&json, "failed", (int64_t)failures);
    ovp_text_json_key(&json, "checks");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < selfcheck_row_count(); i++) {
        const selfcheck_row *row = selfcheck_row_at(i);
        selfcheck_result result;
        selfcheck_compute(row, &result);
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "check", row->check);
        ovp_text_json_key_string(&json, "subject", row->subject);
        ovp_text_json_key_string(&json, "given", row->given);
        ovp_text_json_key_string(&json, "expected", row->expected);
        ovp_text_json_key_string(&json, "tolerance", row->tolerance);
        ovp_text_json_key_string(&json, "computed", result.computed);
        ovp_text_json_key_boolean(&json, "good", result.good);
        ovp_text_json_key_string(&json, "source", row->source);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    ovp_text_json_end_document(&json);
}

static int run(command_call *call)
{
    if (call->operand_count > 0)
        return command_usage(call, "selfcheck takes no operand, and \"%s\" is one", call->operands[0]);
    size_t failures = count_failures();
    if (call->json)
        print_json(failures, call->out);
    else
        print_text(failures, command_given(call, "why"));
    return failures == 0 ? OVP_OK : OVP_JUDGED;
}

static const command_option options[] = {
    {"why", NULL, false, "every value: what was computed, what is published, and by whom"},
    {0},
};

const command_definition command_selfcheck = {
    .name = "selfcheck",
    .synopsis = "[--why]",
    .summary = "This installed copy computes published values anew and says whether they come out.",
    .details =
        "Thermocouple tables, worked examples, limits of error, decisions, the reading of numbers. Needs no\n"
        "file and no network. Exit status 0 when every value comes out, 1 when one does not.",
    .options = options,
    .examples = "ovenproof selfcheck\n"
                "ovenproof selfcheck --why",
    .run = run,
};
