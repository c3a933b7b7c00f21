/* trace_words.c: what `trace` says to a person: what to do now first, at most 14 lines. */
#include "command/causes.h"
#include "command/trace.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum {
    LINES = 14,
    WIDTH = 100,
    PARAGRAPHS = 16,
    PARAGRAPH_SIZE = 900,
};

trace_number trace_shown_duration(double value_s)
{
    trace_number number = {""};
    ovp_text_format_duration(value_s, number.text, sizeof number.text);
    return number;
}

trace_number trace_shown_fixed(double value, int decimals)
{
    trace_number number = {""};
    ovp_text_format_fixed(value, decimals, number.text, sizeof number.text);
    return number;
}

trace_number trace_shown_count(uint64_t value)
{
    trace_number number = {""};
    char digits[32];
    int length = snprintf(digits, sizeof digits, "%llu", (unsigned long long)value), out = 0;
    for (int i = 0; i < length; i++) {
        if (i > 0 && (length - i) % 3 == 0)
            number.text[out++] = ',';
        number.text[out++] = digits[i];
    }
    return number;
}

/* ---- paragraphs: the least needed are dropped until all fits ------------------------------------------- */

typedef struct paragraph {
    char text[PARAGRAPH_SIZE];
    int rank; /* 0 is never dropped; the highest goes first */
    size_t indent;
} paragraph;

typedef struct text_page {
    paragraph paragraphs[PARAGRAPHS];
    size_t count;
} text_page;

static void add(text_page *page, int rank, size_t indent, const char *format, ...) OVP_PRINTF(4, 5);

static void add(text_page *page, int rank, size_t indent, const char *format, ...)
{
    if (page->count == PARAGRAPHS)
        return;
    paragraph *one = &page->paragraphs[page->count++];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(one->text, sizeof one->text, format, arguments);
    va_end(arguments);
    one->rank = rank;
    one->indent = indent;
}

static ovp_status count_lines(void *context, const char *bytes, size_t count)
{
    size_t *lines = context;
    for (size_t i = 0; i < count; i++)
        *lines += bytes[i] == '\n';
    return OVP_OK;
}

static size_t height(const text_page *page)
{
    size_t lines = 0;
    ovp_sink sink = {count_lines, &lines};
    for (size_t i = 0; i < page->count; i++)
        ovp_text_fold(sink, page->paragraphs[i].text, WIDTH, 0, page->paragraphs[i].indent);
    return lines;
}

static void print_page(ovp_sink out, text_page *page)
{
    while (height(page) > LINES) {
        size_t worst = 0;
        for (size_t i = 1; i < page->count; i++)
            if (page->paragraphs[i].rank >= page->paragraphs[worst].rank)
                worst = i;
        if (page->paragraphs[worst].rank == 0)
            break;
        memmove(&page->paragraphs[worst], &page->paragraphs[worst + 1],
                (page->count - worst - 1) * sizeof page->paragraphs[0]);
        page->count--;
    }
    for (size_t i = 0; i < page->count; i++)
        ovp_text_fold(out, page->paragraphs[i].text, WIDTH, 0, page->paragraphs[i].indent);
}

/* ---- what to do now ---------------------------------------------------------------------------------------
 */

static const ovp_diagnosis_fault *worst_held(const ovp_diagnosis_result *causes)
{
    const ovp_diagnosis_fault *worst = NULL;
    for (size_t i = 0; i < causes->cause_count; i++) {
        const ovp_diagnosis_cause *cause = &causes->causes[i];
        if (cause->probability >= 0.1 && cause->fault->danger >= 3 &&
            (worst == NULL || cause->fault->danger > worst->danger))
            worst = cause->fault;
    }
    return worst;
}

static void add_first(text_page *page, const trace_run *run)
{
    const ovp_diagnosis_fault *worst = worst_held(&run->causes);
    if (run->result.danger_now)
        add(page, 0, 0, "SWITCH THE HEAT OFF and leave it off. %s", run->result.danger_text);
    else if (run->causes.verdict == OVP_DIAGNOSIS_HEALTHY)
        add(page, 0, 0,
            run->causes.healthy >= 0.8
                ? "Nothing to do: this run is good."
                : "Nothing to do if the oven was loaded or stopped by hand: see below.");
    else if (worst != NULL)
        add(page, 0, 0, "Do not heat this oven again before the check below: it may be dangerous (%s).",
            worst->danger_text);
    else if (run->causes.verdict == OVP_DIAGNOSIS_FAULT)
        add(page, 0, 0, "Do the check below before the next run.");
    else
        add(page, 0, 0, "Nothing in this log is urgent; the check below tells more.");
}

static void add_read(text_page *page, const trace_run *run)
{
    const ovp_trace_input *input = &run->input;
    char columns[400] = "";
    for (size_t i = OVP_TRACE_TEMPERATURE; i < OVP_TRACE_COLUMNS; i++) {
        if (!input->has[i] || input->columns[i][0] == '\0')
            continue;
        size_t used = strlen(columns);
        snprintf(columns + used, sizeof columns - used, "%s\"%.40s\" as %s", used ? ", " : ": ",
                 input->columns[i], ovp_trace_column_name((ovp_trace_column)i));
    }
    char missing[96] = "";
    if (input->missing > 0)
        snprintf(missing, sizeof missing, " (%s without a reading)", trace_shown_count(input->missing).text);
    add(page, 2, 2, "Read %s sample%s%s over %s, %s apart%s.", trace_shown_count(input->samples).text,
        input->samples == 1 ? "" : "s", missing, trace_shown_duration(input->duration_s).text,
        trace_shown_duration(input->interval_s).text, columns);
}

static void add_verdict(text_page *page, const trace_setting *setting, const trace_run *run)
{
    const ovp_diagnosis_result *causes = &run->causes;
    if (causes->verdict == OVP_DIAGNOSIS_HEALTHY && causes->cause_count > 0 &&
        causes->causes[0].probability > 0.1)
        add(page, 0, 2, "Good, provided that this explains it: %s.", causes->causes[0].fault->title);
    else if (causes->verdict == OVP_DIAGNOSIS_HEALTHY)
        add(page, 0, 2, "Good. %s%s",
            setting->has_oven || setting->has_baseline ? "It heats as it should and the sensor behaves."
                                                       : "The sensor and the output behave.",
            causes->not_shown_count ? " A log does not show everything: --why lists what this one cannot."
                                    : "");
    else if (causes->verdict == OVP_DIAGNOSIS_UNCERTAIN)
        add(page, 0, 2, "Can't tell: this log speaks neither for a good oven nor clearly for one fault.");
    else if (causes->cause_count == 0 || causes->unlisted > causes->causes[0].probability)
        add(page, 0, 2, "Trouble, of a kind that no fault on the list explains well.");
    else
        add(page, 0, 2, "Trouble.");
}

void command_trace_milestone_words(const trace_setting *setting, const trace_run *run, char *buffer,
                                   size_t size)
{
    char text[PARAGRAPH_SIZE] = "";
    for (size_t i = 0; i < run->result.milestone_count; i++) {
        const ovp_trace_milestone *milestone = &run->result.milestones[i];
        size_t used = strlen(text);
        const char *between = i ? "; " : "";
        command_words to = command_show_temperature(setting->call, milestone->to_C, 0);
        trace_number within = trace_shown_duration(milestone->within_s);
        if (milestone->pass < 0 && isnan(milestone->time_s))
            continue;
        if (isnan(milestone->time_s))
            snprintf(text + used, sizeof text - used, "%s%s not reached, due within %s", used ? between : "",
                     to.text, within.text);
        else
            snprintf(text + used, sizeof text - used, "%s%s in %s of %s%s", used ? between : "", to.text,
                     trace_shown_duration(milestone->time_s).text, within.text,
                     milestone->pass > 0 ? "" : " (LATE)");
    }
    snprintf(buffer, size, "%s%s%s", text[0] != '\0' ? "Heat-up in minutes: " : "", text,
             text[0] != '\0' ? "." : "");
}

static void add_milestones(text_page *page, const trace_setting *setting, const trace_run *run)
{
    char text[PARAGRAPH_SIZE] = "";
    command_trace_milestone_words(setting, run, text, sizeof text);
    if (text[0] != '\0')
        add(page, 3, 2, "%s", text);
    command_trace_proof_words(setting, run, text, sizeof text);
    /* Of an oven with a fault, the repair comes before its proof. */
    if (text[0] != '\0')
        add(page, run->causes.verdict == OVP_DIAGNOSIS_FAULT ? 7 : 3, 2, "%s", text);
    command_trace_asked_words(setting, run, text, sizeof text);
    if (text[0] != '\0')
        add(page, 2, 2, "%s", text);
}

static const ovp_trace_finding *finding_of(const ovp_trace_result *result, const ovp_diagnosis_cause *cause)
{
    for (size_t j = 0; j < cause->because_count; j++) {
        if (cause->because[j].decibans <= 0)
            continue;
        for (size_t i = 0; i < result->finding_count; i++)
            if (result->findings[i].notable &&
                strcmp(result->findings[i].finding, cause->because[j].source) == 0)
                return &result->findings[i];
    }
    return NULL;
}

static void add_causes(text_page *page, const trace_run *run)
{
    const ovp_diagnosis_result *causes = &run->causes;
    const ovp_trace_finding *said[3] = {NULL};
    for (size_t i = 0; i < causes->cause_count && i < 3; i++) {
        const ovp_diagnosis_cause *cause = &causes->causes[i];
        if (i > 0 && cause->probability < 0.01)
            break;
        const char *how = command_likelihood_word(cause->probability);
        const ovp_trace_finding *because = finding_of(&run->result, cause);
        for (size_t j = 0; j < i && because != NULL; j++)
            if (said[j] == because)
                because = NULL;
        said[i] = because;
        add(page, i == 0 ? 0 : 4 + (int)i, 4, "%c%s: %s%s%s%s", how[0] - 'a' + 'A', how + 1,
            cause->fault->title, cause->fault->danger >= 3 ? " (dangerous)" : "", because != NULL ? "; " : "",
            because != NULL ? because->text : "");
    }
}

/* A question that a person answers from memory, with what may be said to it. */
static bool add_question(text_page *page, const ovp_diagnosis_measurement *next)
{
    char choices[500] = "";
    if (strncmp(next->id, "ask-", 4) != 0 || strcmp(next->unit, "choice") != 0)
        return false;
    for (size_t i = 0; i < next->outcome_count; i++) {
        const size_t used = strlen(choices);
        snprintf(choices + used, sizeof choices - used, "%s%s", i > 0 ? ", " : "",
                 ovp_diagnosis_outcome_text(next->id, next->outcomes[i]));
    }
    add(page, 0, 2, "Next question: %s (%s)", next->question, choices);
    add(page, 6, 2, "The guide takes the answer and goes on: ovenproof guide --trace RUN");
    return true;
}

static void add_next(text_page *page, const trace_run *run)
{
    const ovp_diagnosis_measurement *next = run->next;
    if (next == NULL)
        return;
    const char *who = strcmp(next->energised, "live") == 0 ? " (a technician, it is live)" : "";
    if (!add_question(page, next))
        add(page, 0, 2, "Next check%s: %s", who, next->question);
    if (run->expect[0] != '\0')
        add(page, 1, 2, "A good oven: %s", run->expect);
    static const char *const usual[] = {"", "-", "none", "low"};
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++)
        if (strcmp(next->caution, usual[i]) == 0)
            return;
    add(page, 1, 2, "Caution: %s", next->caution);
}

static void add_cost(text_page *page, const trace_setting *setting, const trace_run *run)
{
    if (!setting->has_oven && !setting->has_baseline)
        add(page, 4, 2,
            "Without --oven or --baseline only the sensor and the output are judged, not heat-up times, "
            "power or losses.");
    else if (!setting->has_model && !setting->has_baseline)
        add(page, 4, 2, "The description gives no expected heat-up: %s.", setting->no_model.what);
    if (!run->input.has[OVP_TRACE_OUTPUT] && !run->input.has[OVP_TRACE_SETPOINT])
        add(page, 7, 2, "Neither setpoint nor output is logged: whether heat was called for is not known.");
    /* what was left out of the judging matters more than how the file was read */
    for (size_t i = 0; i < run->result.warning_count && i < OVP_TRACE_WARNINGS; i++)
        add(page, 7, 2, "Note: %s.", run->result.warnings[i]);
    for (size_t i = 0; i < run->input.warning_count && i < OVP_TRACE_WARNINGS; i++)
        add(page, 8, 2, "Note: %s.", run->input.warnings[i]);
}

void command_trace_print(const trace_setting *setting, const trace_run *run)
{
    static text_page page; /* large */
    page.count = 0;
    add_first(&page, run);
    add_read(&page, run);
    add_verdict(&page, setting, run);
    add_milestones(&page, setting, run);
    if (run->causes.verdict != OVP_DIAGNOSIS_HEALTHY) {
        add_causes(&page, run);
        add_next(&page, run);
    }
    add_cost(&page, setting, run);
    print_page(setting->call->out, &page);
}

/* ---- --why
 * -------------------------------------------------------------------------------------------------- */

/* "fits best at 12 % give or take 3 %, 40 times better than a good oven" */
static void print_fit(ovp_sink out, const ovp_diagnosis_synthesis *fit, const ovp_diagnosis_cause *cause)
{
    for (size_t i = 0; fit->speaks && i < fit->fit_count; i++) {
        const ovp_diagnosis_fit *one = &fit->fits[i];
        if (one->fault != cause->fault || fabs(one->log_ratio) < log(1.5))
            continue;
        char best[240] = "explains the whole run";
        int decimals = fabs(one->fault->severe) < 5 ? 2 : fabs(one->fault->severe) < 20 ? 1 : 0;
        if (!isnan(one->amount))
            snprintf(best, sizeof best, "fits the whole run best at %s %s give or take %s,",
                     trace_shown_fixed(one->amount, decimals).text, one->fault->severity_unit,
                     trace_shown_fixed(one->amount_U, decimals).text);
        double times = exp(fmin(fabs(one->log_ratio), log(1000)));
        ovp_text_print(out, "      %s %s%s times %s than a good oven\n", best,
                       times > 999 ? "more than " : "", trace_shown_fixed(times, times < 10 ? 1 : 0).text,
                       one->log_ratio > 0 ? "better" : "worse");
    }
}

static void print_whole_run(ovp_sink out, const ovp_diagnosis_synthesis *fit)
{
    if (fit->reason == NULL)
        return;
    if (fit->speaks)
        ovp_text_print(out,
                       "  Whole run: each fault was tried in the model of this oven; a good one is off by "
                       "%s degC\n",
                       trace_shown_fixed(fit->off_C, 1).text);
    else
        ovp_text_print(out, "  Whole run: not compared with a model of each fault: %s\n", fit->reason);
}

static void print_reasons(ovp_sink out, const ovp_diagnosis_cause *cause)
{
    for (size_t i = 0; i < cause->because_count; i++) {
        const ovp_diagnosis_reason *reason = &cause->because[i];
        double times = pow(10, fabs(reason->decibans) / 10);
        ovp_text_print(out, "      %s = %s makes it %s times %s\n", reason->source, reason->outcome,
                       trace_shown_fixed(times, times < 10 ? 1 : 0).text,
                       reason->decibans >= 0 ? "likelier" : "less likely");
    }
}

/* Two places of the uncertainty; without one, two decimals. */
static int decimals_for(double uncertainty)
{
    if (!(uncertainty > 0))
        return 2;
    return (int)fmin(fmax(1 - floor(log10(uncertainty)), 0), 4);
}

void command_trace_print_why(const trace_setting *setting, const trace_run *run)
{
    ovp_sink out = setting->call->out;
    const ovp_trace_result *result = &run->result;
    ovp_text_print(out, "\nChecks that this log allowed\n");
    for (size_t i = 0; i < result->finding_count; i++) {
        const ovp_trace_finding *finding = &result->findings[i];
        char value[160] = "", sure[80] = "";
        const int decimals = decimals_for(finding->uncertainty);
        if (!isnan(finding->uncertainty))
            snprintf(sure, sizeof sure, " \xC2\xB1 %s",
                     trace_shown_fixed(finding->uncertainty, decimals).text);
        if (!isnan(finding->value))
            snprintf(value, sizeof value, " (%s%s%s%s)", trace_shown_fixed(finding->value, decimals).text,
                     sure, finding->unit[0] != '\0' ? " " : "", finding->unit);
        ovp_text_print(out, "  %-16s %s%s\n", finding->finding, finding->outcome, value);
        if (finding->notable)
            ovp_text_fold(out, finding->text, WIDTH, 6, 6);
    }
    if (isnan(result->power_ratio))
        ovp_text_print(out, "  Power that arrives: not known: %s\n", result->power_ratio_reason);
    else
        ovp_text_print(out, "  Power that arrives: %s %% \xC2\xB1 %s %% (%s)\n",
                       trace_shown_fixed(100 * result->power_ratio, 0).text,
                       trace_shown_fixed(100 * result->power_ratio_uncertainty, 0).text,
                       result->power_ratio_reason);
    command_trace_proof_why(setting, run);
    print_whole_run(out, &run->fit);
    ovp_text_print(out, "\nGood %s %%, none of the listed faults %s %%\n",
                   trace_shown_fixed(100 * run->causes.healthy, 1).text,
                   trace_shown_fixed(100 * run->causes.unlisted, 1).text);
    for (size_t i = 0; i < run->causes.cause_count && i < 10; i++) {
        const ovp_diagnosis_cause *cause = &run->causes.causes[i];
        ovp_text_print(out, "  %5s %%  %s (%s)\n", trace_shown_fixed(100 * cause->probability, 1).text,
                       cause->fault->title, cause->fault->id);
        print_reasons(out, cause);
        print_fit(out, &run->fit, cause);
    }
    ovp_text_print(out,
                   "How often a fault occurs and how often it shows so are judgement, not counted data.\n");
    if (run->causes.not_shown_count == 0)
        return;
    char list[PARAGRAPH_SIZE * 4] = "Cannot show in this log: ";
    for (size_t i = 0; i < run->causes.not_shown_count; i++) {
        size_t used = strlen(list);
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_named(run->causes.not_shown[i]);
        snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", fault != NULL ? fault->id : "");
    }
    ovp_text_fold(out, list, WIDTH, 0, 2);
}
