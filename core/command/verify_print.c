/* The outcome of `verify`, in words and as JSON. */
#include "command/verify.h"

#include <math.h>
#include <string.h>

enum {
    TEXT_SIZE = 96,
    MOST_ROWS = 4,
};

typedef struct words {
    char text[TEXT_SIZE];
} words;

/* "6 °F", "-0.4 °C": one scale, one decimal, and none where it would be .0. */
static words in_one_scale(double value, const char *unit)
{
    words said;
    size_t length = ovp_text_format_fixed(value, 1, said.text, sizeof said.text);
    if (length > 2 && strcmp(said.text + length - 2, ".0") == 0)
        length -= 2;
    ovp_copy_string(said.text + length, sizeof said.text - length, ovp_span_of(unit));
    return said;
}

static ovp_text_degrees scale_of(const verify_job *job)
{
    return job->degrees == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : job->degrees;
}

static const char *unit_of(const verify_job *job)
{
    ovp_text_degrees degrees = scale_of(job);
    return degrees == OVP_TEXT_DEGREES_F ? " °F" : degrees == OVP_TEXT_DEGREES_C ? " °C" : " K";
}

static words difference(const verify_job *job, double value_C)
{
    return in_one_scale(scale_of(job) == OVP_TEXT_DEGREES_F ? value_C * 1.8 : value_C, unit_of(job));
}

static words temperature(const verify_job *job, double value_C)
{
    return in_one_scale(ovp_text_from_celsius(value_C, scale_of(job)), unit_of(job));
}

static words both(const verify_job *job, double value_C)
{
    words said;
    ovp_text_format_temperature(value_C, job->degrees, 1, said.text, sizeof said.text);
    return said;
}

/* ---- the first lines: what it means and what to do ----------------------------------------------- */

/* The point that decides: the worst, and of these the one that uses most of its limit. */
static size_t deciding_point(const verify_job *job)
{
    size_t chosen = 0;
    for (size_t i = 1; i < job->readings.point_count; i++) {
        const ovp_metrology_result *a = job->results + i, *b = job->results + chosen;
        double use_a = fabs(a->error_C) / a->tolerance_C, use_b = fabs(b->error_C) / b->tolerance_C;
        if (a->decision > b->decision || (a->decision == b->decision && use_a > use_b))
            chosen = i;
    }
    return chosen;
}

static const char *side_words(const ovp_metrology_result *result)
{
    return result->decision <= OVP_METROLOGY_CONDITIONAL_PASS ? "inside" : "outside";
}

static const char *doubt_words(const ovp_metrology_result *result)
{
    if (result->reference_assumed)
        return "if the reference is right";
    bool beyond = result->decision == OVP_METROLOGY_PASS || result->decision == OVP_METROLOGY_FAIL;
    return beyond ? "no doubt" : "but not beyond doubt";
}

static void print_verdict(const verify_job *job)
{
    size_t at = deciding_point(job);
    const ovp_metrology_result *result = job->results + at;
    double size_C = fabs(result->error_C);
    words U = difference(job, result->expanded_uncertainty_C);
    *strstr(U.text, unit_of(job)) = '\0'; /* the unit is said before and after it */
    printf("Reads");
    if (size_C < 0.05 / 1.8)
        printf(" right");
    else
        printf(" %s %s", difference(job, size_C).text, result->error_C < 0.0 ? "low" : "high");
    printf(" at %s, give or take %s: %s %s ±%s limit, %s.\n",
           temperature(job, job->readings.points[at].nominal_C).text, U.text, side_words(result),
           job->tolerance_by_default ? "the" : "your", difference(job, result->tolerance_C).text,
           doubt_words(result));
}

static void print_what_to_do(const verify_job *job)
{
    const ovp_metrology_result *result = job->results + deciding_point(job);
    switch (job->decision) {
    case OVP_METROLOGY_PASS:
        printf("Nothing to mend. Keep this record with the unit.\n");
        break;
    case OVP_METROLOGY_CONDITIONAL_PASS:
        if (result->reference_assumed)
            printf("Find U (k = 2) on the reference's certificate and give it: --reference 2F.\n");
        else
            printf("Take more readings there, or use a reference with a smaller uncertainty.\n");
        break;
    case OVP_METROLOGY_CONDITIONAL_FAIL:
        printf("Measure that point again, steady and with a better reference, before anything is changed.\n");
        break;
    case OVP_METROLOGY_FAIL:
        printf("Do not ship or use it so. First the type setting and the wiring (`ovenproof misread` shows "
               "what each\n"
               "does), then the couple.\n");
        break;
    }
    if (result->error_C < 0.0 && job->decision >= OVP_METROLOGY_CONDITIONAL_FAIL)
        printf("It reads low: the oven is hotter than it shows.\n");
}

/* ---- the points ---------------------------------------------------------------------------------- */

static void print_point(const verify_job *job, size_t at)
{
    const ovp_metrology_point *point = job->readings.points + at;
    const ovp_metrology_result *result = job->results + at;
    words at_words = both(job, point->nominal_C);
    int blanks = 24 - (int)ovp_text_columns(at_words.text);
    printf("  %s%*s %9s  ± %-9s limit %-9s %s, %zu reading%s\n", at_words.text, blanks > 0 ? blanks : 0, "",
           difference(job, result->error_C).text, difference(job, result->expanded_uncertainty_C).text,
           difference(job, result->tolerance_C).text, ovp_metrology_decision_name(result->decision),
           point->count, point->count == 1 ? "" : "s");
}

static void print_points(const verify_job *job)
{
    if (job->readings.point_count < 2)
        return;
    for (size_t i = 0; i < job->readings.point_count && i < MOST_ROWS; i++)
        print_point(job, i);
    if (job->readings.point_count > MOST_ROWS)
        printf("  and %zu more; --why or --json shows them all\n", job->readings.point_count - MOST_ROWS);
}

/* ---- what it rests on ---------------------------------------------------------------------------- */

static bool any_assumed(const verify_job *job)
{
    for (size_t i = 0; i < job->readings.point_count; i++)
        if (job->results[i].reference_assumed)
            return true;
    return false;
}

static bool any_repeated(const verify_job *job)
{
    for (size_t i = 0; i < job->readings.point_count; i++)
        if (job->readings.points[i].count > 1)
            return true;
    return false;
}

static void print_limit(const verify_job *job)
{
    if (job->tolerance_name[0] == '\0')
        return;
    printf("Limit: %s, type %s%s.\n", job->tolerance_name, ovp_tc_type_name(job->sensor),
           job->tolerance_by_default ? " (nobody named one; --tolerance does)" : "");
}

static double part_size(const ovp_metrology_parts *parts, size_t index)
{
    return fabs(ovp_metrology_contribution(parts->budget.inputs + index));
}

/* The two largest parts of the deciding point's uncertainty. */
static void print_largest_parts(const verify_job *job)
{
    const ovp_metrology_parts *parts = job->parts + deciding_point(job);
    bool said[OVP_METROLOGY_INPUTS] = {false};
    printf("Give or take is by the budget \"%s\" (95 %%, k = %.2f). Its largest parts:\n", job->budget.name,
           parts->combined.k);
    for (int row = 0; row < 2 && row < (int)parts->budget.count; row++) {
        size_t largest = OVP_METROLOGY_INPUTS;
        for (size_t i = 0; i < parts->budget.count; i++)
            if (!said[i] &&
                (largest == OVP_METROLOGY_INPUTS || part_size(parts, i) > part_size(parts, largest)))
                largest = i;
        said[largest] = true;
        printf("%s%s %s", row == 0 ? "  " : ", ", parts->names[largest],
               difference(job, part_size(parts, largest)).text);
    }
    printf("\n");
}

static void print_counted(const verify_job *job)
{
    if (job->has_budget) {
        print_largest_parts(job);
    } else {
        printf("Give or take (k = 2) counts %s%sthe last digit.\n", any_repeated(job) ? "the spread, " : "",
               any_assumed(job) ? "" : "the reference's certificate and ");
        printf("It does not count the rest: drift, leads, how alike their places are; --budget does.\n");
    }
    if (!any_repeated(job))
        printf("One reading a point shows no spread: three or more would.\n");
    if (job->reference_overdue)
        printf("The certificate of \"%s\" ended on %s: its figure is not used.\n", job->reference_name,
               job->reference_due);
}

/* What a comparison leaves open; NULL past the last. */
static const char *not_proved(const verify_job *job, size_t index)
{
    static const char *const of_couple[] = {"the extension", "the controller",
                                            "the couple's place in the oven"};
    static const char *const of_display[] = {"other places in the oven",
                                             "with a calibrator at the screws: couple and extension"};
    if (job->readings.from_emf)
        return index < 3 ? of_couple[index] : NULL;
    return index < 2 ? of_display[index] : NULL;
}

static void print_rests_on(const verify_job *job)
{
    print_limit(job);
    print_counted(job);
    printf("Not proved: ");
    for (size_t i = 0; not_proved(job, i) != NULL; i++)
        printf("%s%s", i > 0 ? "; " : "", not_proved(job, i));
    printf(".\n");
    if (any_assumed(job))
        printf("Nobody said how good the reference is: this can never be a pass.\n");
    printf("Without the reference's certificate this is a comparison record, not a calibration.\n");
}

static void print_why_point(const verify_job *job, size_t at)
{
    const ovp_metrology_point *point = job->readings.points + at;
    const ovp_metrology_result *result = job->results + at;
    if (at >= MOST_ROWS)
        print_point(job, at);
    printf("  %s: A %s of %zu, U_ref %s, digit %s", temperature(job, point->nominal_C).text,
           difference(job, result->type_a_C).text, point->count,
           result->reference_assumed ? "not known" : difference(job, point->reference_U_C).text,
           difference(job, point->resolution_C).text);
    double u_C = 0.5 * result->expanded_uncertainty_C;
    if (u_C > 0.0 && !result->reference_assumed)
        printf("; chance of being inside %.1f %%",
               100.0 * ovp_metrology_conformance(result->error_C, u_C, -result->tolerance_C,
                                                 result->tolerance_C));
    printf("\n");
    for (size_t i = 0; job->has_budget && i < job->parts[at].budget.count; i++)
        printf("    %s %s\n",
               difference(job, fabs(ovp_metrology_contribution(job->parts[at].budget.inputs + i))).text,
               job->parts[at].names[i]);
}

static void print_why(const verify_job *job)
{
    printf("\nWhy: %s;\ndecision by ILAC-G8:09/2019 clause 4.2.3 with a guard band of U.\n",
           job->has_budget ? "U = k u, u from the parts below by JCGM 100:2008 clause 5"
                           : "U = 2 sqrt(A^2 + (U_ref/2)^2 + digit^2/12), JCGM 100:2008");
    for (size_t i = 0; i < job->readings.point_count; i++)
        print_why_point(job, i);
}

/* ---- JSON ---------------------------------------------------------------------------------------- */

static void json_parts(ovp_text_json *json, const ovp_metrology_parts *parts)
{
    ovp_text_json_key_number(json, "coverage_factor", parts->combined.k);
    ovp_text_json_key(json, "parts");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < parts->budget.count; i++) {
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "name", parts->names[i]);
        ovp_text_json_key_number(json, "standard_uncertainty_C",
                                 fabs(ovp_metrology_contribution(parts->budget.inputs + i)));
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}

static void json_point(ovp_text_json *json, const verify_job *job, size_t at)
{
    const ovp_metrology_point *point = job->readings.points + at;
    const ovp_metrology_result *result = job->results + at;
    ovp_text_json_begin_object(json);
    ovp_text_json_key_number(json, "nominal_C", point->nominal_C);
    ovp_text_json_key_number(json, "error_C", result->error_C);
    ovp_text_json_key_number(json, "expanded_uncertainty_C", result->expanded_uncertainty_C);
    ovp_text_json_key_number(json, "tolerance_C", result->tolerance_C);
    ovp_text_json_key_string(json, "decision", ovp_metrology_decision_name(result->decision));
    ovp_text_json_key_number(json, "reference_C", point->mean_reference_C);
    ovp_text_json_key_integer(json, "readings", (int64_t)point->count);
    ovp_text_json_key_number(json, "type_a_C", result->type_a_C);
    ovp_text_json_key_number(json, "reference_U_C", point->reference_U_C);
    ovp_text_json_key_number(json, "resolution_C", point->resolution_C);
    if (job->has_budget)
        json_parts(json, job->parts + at);
    ovp_text_json_end_object(json);
}

static void print_json(const command_call *call, const verify_job *job)
{
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "verify", 1);
    ovp_text_json_key_string(&json, "sensor", job->has_sensor ? ovp_tc_type_name(job->sensor) : NULL);
    ovp_text_json_key_string(&json, "tolerance", job->tolerance_name[0] != '\0' ? job->tolerance_name : NULL);
    ovp_text_json_key_string(&json, "budget", job->has_budget ? job->budget.name : NULL);
    ovp_text_json_key_boolean(&json, "reference_assumed", any_assumed(job));
    ovp_text_json_key(&json, "points");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < job->readings.point_count; i++)
        json_point(&json, job, i);
    ovp_text_json_end_array(&json);
    ovp_text_json_key_string(&json, "decision", ovp_metrology_decision_name(job->decision));
    ovp_text_json_key(&json, "not_proved");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; not_proved(job, i) != NULL; i++)
        ovp_text_json_string(&json, not_proved(job, i));
    ovp_text_json_end_array(&json);
    ovp_text_json_end_document(&json);
}

int verify_print(const command_call *call, const verify_job *job)
{
    if (call->json) {
        print_json(call, job);
        return job->decision == OVP_METROLOGY_PASS ? 0 : OVP_JUDGED;
    }
    print_verdict(job);
    print_what_to_do(job);
    print_points(job);
    print_rests_on(job);
    if (command_given(call, "why"))
        print_why(job);
    return job->decision == OVP_METROLOGY_PASS ? 0 : OVP_JUDGED;
}
