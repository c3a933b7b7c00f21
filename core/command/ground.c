/* `ground`: what a safety tester showed of ground bond, insulation and leakage, against the limits. */
#include "command/beside.h"
#include "command/command.h"
#include "lua/lua.h"
#include "ovenproof/electrical.h"

#include <math.h>
#include <string.h>

static const command_option options[] = {
    {"bond", "OHM", false, "ground pin of the plug to bare shell: 0.08ohm"},
    {"multimeter", NULL, false, "the bond was read by a multimeter: a first look, never a pass"},
    {"cord", "OHM", false, "ohms of the cord's ground wire alone: the limit is 0.1 ohm and it"},
    {"fixed", NULL, false, "wired in, no cord"},
    {"insulation", "MOHM", false, "line and neutral to shell: 5Mohm; `over` past the tester's range"},
    {"test", "V", false, "dc volts of that test; 500V when not given"},
    {"new", NULL, false, "a new, dry oven: the shop's own, higher limit"},
    {"dried", NULL, false, "it was dried before this reading"},
    {"warm", "T", false, "temperature of the oven: adds the reading at 20 °C, for a trend"},
    {"leakage", "MA", false, "by a leakage clamp under full heat: 0.8mA"},
    {"portable", NULL, false, "the stricter leakage limit of portable appliances"},
    {"to-ground", "V", false, "volts of a live wire to ground; the oven's volts when not given"},
    {"oven", "OVEN", false, "a described oven: its power and volts decide limits"},
    {"why", NULL, false, "where the limits come from"},
    {0},
};

typedef struct test {
    const char *name, *unit;
    bool given;
    double value;
    ovp_electrical_judgement judgement;
} test;

enum {
    BOND,
    INSULATION,
    LEAKAGE,
    TESTS,
    TEXT_SIZE = 480,
};

typedef struct ground_job {
    double power_W, ground_V;
    test tests[TESTS];
    double base_Mohm;   /* NAN: no temperature was given */
    double expected_mA; /* through the insulation; NAN: not known */
    ovp_electrical_trip expected_trip;
    ovp_electrical_leakage_result leakage;
    ovp_electrical_decision decision;
} ground_job;

/* ---- reading the options ---------------------------------------------------------------------------- */

static ovp_status read_oven(const command_call *call, ground_job *job, ovp_error *error)
{
    static ovp_oven oven; /* large */
    ovp_electrical_load load;
    const char *name = command_value(call, "oven");
    job->power_W = job->ground_V = NAN;
    if (name != NULL) {
        ovp_status status = lua_read_oven(name, &oven, NULL, NULL, error);
        if (status == OVP_OK)
            status = ovp_electrical_load_of(&oven, NAN, &load, error);
        if (status != OVP_OK)
            return status;
        job->power_W = load.full_W;
        job->ground_V = oven.supply.volts_V;
    }
    ovp_status status = command_quantity(call, "to-ground", OVP_TEXT_VOLTAGE, &job->ground_V, error);
    if (status == OVP_OK && job->ground_V <= 0.0)
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --to-ground: volts above zero are wanted");
    return status;
}

/* What the library refuses came from an option. */
static ovp_status from_option(const char *name, ovp_status status, ovp_error *error)
{
    if (status == OVP_OK)
        return OVP_OK;
    char what[OVP_ERROR_TEXT_SIZE];
    ovp_copy_string(what, sizeof what, ovp_span_of(error->what));
    snprintf(error->what, sizeof error->what, "option --%s: %.280s", name, what);
    error->status = OVP_ERROR_USAGE;
    return OVP_ERROR_USAGE;
}

static ovp_status take_bond(const command_call *call, ground_job *job, ovp_error *error)
{
    test *made = &job->tests[BOND];
    ovp_electrical_bond bond = {.ohm = NAN, .cord_ohm = NAN};
    ovp_status status = command_quantity(call, "bond", OVP_TEXT_RESISTANCE, &bond.ohm, error);
    if (status == OVP_OK)
        status = command_quantity(call, "cord", OVP_TEXT_RESISTANCE, &bond.cord_ohm, error);
    *made =
        (test){.name = "ground bond", .unit = "ohm", .given = command_given(call, "bond"), .value = bond.ohm};
    if (status != OVP_OK || !made->given)
        return status;
    bond.fixed = command_given(call, "fixed");
    bond.by_multimeter = command_given(call, "multimeter");
    return from_option("bond", ovp_electrical_bond_judge(&bond, &made->judgement, error), error);
}

static ovp_status take_insulation(const command_call *call, ground_job *job, ovp_error *error)
{
    test *made = &job->tests[INSULATION];
    double ohm = NAN;
    ovp_status status = OVP_OK;
    ovp_electrical_insulation given = {.power_W = job->power_W, .test_V = NAN, .temperature_C = NAN};
    const char *value = command_value(call, "insulation");
    *made = (test){.name = "insulation", .unit = "Mohm", .given = value != NULL};
    job->base_Mohm = job->expected_mA = NAN;
    if (value == NULL)
        return OVP_OK;
    if (ovp_span_equals(ovp_span_trim(ovp_span_of(value)), "over"))
        ohm = INFINITY;
    else
        status = command_quantity(call, "insulation", OVP_TEXT_RESISTANCE, &ohm, error);
    if (status == OVP_OK)
        status = command_quantity(call, "test", OVP_TEXT_VOLTAGE, &given.test_V, error);
    if (status == OVP_OK)
        status = command_quantity(call, "warm", OVP_TEXT_TEMPERATURE, &given.temperature_C, error);
    if (status != OVP_OK)
        return status;
    made->value = given.Mohm = ohm / 1e6;
    given.new_build = command_given(call, "new");
    given.dried = command_given(call, "dried");
    double base_Mohm = NAN;
    status = ovp_electrical_insulation_judge(&given, &made->judgement, &base_Mohm, error);
    if (command_given(call, "warm"))
        job->base_Mohm = base_Mohm;
    job->expected_mA = ovp_electrical_leakage_of_insulation(given.Mohm, job->ground_V);
    job->expected_trip = ovp_electrical_ground_fault(job->expected_mA, NULL);
    return from_option("insulation", status, error);
}

static ovp_status take_leakage(const command_call *call, ground_job *job, ovp_error *error)
{
    test *made = &job->tests[LEAKAGE];
    double current_A = NAN;
    *made = (test){.name = "leakage", .unit = "mA", .given = command_given(call, "leakage")};
    if (!made->given)
        return OVP_OK;
    ovp_status status = command_quantity(call, "leakage", OVP_TEXT_CURRENT, &current_A, error);
    if (status != OVP_OK)
        return status;
    ovp_electrical_leakage given = {current_A * 1000.0, job->power_W, job->ground_V,
                                    command_given(call, "portable")};
    made->value = given.mA;
    status = ovp_electrical_leakage_judge(&given, &job->leakage, error);
    made->judgement = job->leakage.judgement;
    return from_option("leakage", status, error);
}

static ovp_status prepare(const command_call *call, ground_job *job, ovp_error *error)
{
    ovp_status status = read_oven(call, job, error);
    if (status == OVP_OK)
        status = take_bond(call, job, error);
    if (status == OVP_OK)
        status = take_insulation(call, job, error);
    if (status == OVP_OK)
        status = take_leakage(call, job, error);
    for (int i = 0; i < TESTS; i++)
        if (job->tests[i].given && job->tests[i].judgement.decision > job->decision)
            job->decision = job->tests[i].judgement.decision;
    return status;
}

/* ---- words ------------------------------------------------------------------------------------------ */

static const test *deciding(const ground_job *job)
{
    for (int i = 0; i < TESTS; i++)
        if (job->tests[i].given && job->tests[i].judgement.decision == job->decision)
            return &job->tests[i];
    return &job->tests[0];
}

/* "0.08 ohm"; a tester past its range says no number */
static command_words amount(double value, const char *unit)
{
    command_words said = {"over the tester's range"};
    if (isfinite(value))
        snprintf(said.text, sizeof said.text, "%.3g %s", value, unit);
    return said;
}

/* "Pass, as far as tested: ground bond 0.08 ohm, insulation 5 Mohm." */
static void passed(const ground_job *job, char *text, size_t size)
{
    size_t at = (size_t)snprintf(text, size, "Pass, as far as tested");
    const char *sign = ":";
    for (int i = 0; i < TESTS; i++) {
        const test *done = &job->tests[i];
        if (!done->given)
            continue;
        at += (size_t)snprintf(text + at, size - at, "%s %s %s", sign, done->name,
                               amount(done->value, done->unit).text);
        sign = ",";
    }
    snprintf(text + at, size - at, ".");
}

static void print_verdict(const command_call *call, const ground_job *job)
{
    static const char *const lead[] = {"Pass", "Not proved", "Fail"};
    char text[TEXT_SIZE];
    const test *worst = deciding(job);
    if (job->decision == OVP_ELECTRICAL_PASS)
        passed(job, text, sizeof text);
    else
        snprintf(text, sizeof text, "%s: %s %s: %s.", lead[job->decision], worst->name,
                 amount(worst->value, worst->unit).text, worst->judgement.why);
    command_say(call->out, text);
    snprintf(text, sizeof text, "%s: %s.", job->decision == OVP_ELECTRICAL_PASS ? "Next" : "Do",
             worst->judgement.next);
    command_say(call->out, text);
}

static void print_tests(const command_call *call, const ground_job *job)
{
    static const int widths[] = {14, -24, -20, 14};
    for (int i = 0; i < TESTS; i++) {
        const test *done = &job->tests[i];
        command_words limit = {""};
        if (done->given)
            snprintf(limit.text, sizeof limit.text, "%s %.3g %s", i == INSULATION ? "at least" : "at most",
                     done->judgement.limit, done->unit);
        const command_words value = amount(done->value, done->unit);
        const char *cells[] = {done->name, done->given ? value.text : "", limit.text,
                               done->given ? ovp_electrical_decision_name(done->judgement.decision)
                                           : "not tested: never a pass"};
        ovp_text_table_row(call->out, cells, widths, 4);
    }
}

static void print_trip(const command_call *call, const ground_job *job)
{
    static const char *const words[] = {
        "a ground-fault outlet (4 to 6 mA) holds",
        "a ground-fault outlet holds, and may trip when something switches",
        "a ground-fault outlet may trip, and would be right: find the leak, do not move it to another outlet",
        "a ground-fault outlet must trip, and is right: never bypass it",
    };
    char text[TEXT_SIZE];
    if (job->tests[LEAKAGE].given)
        snprintf(text, sizeof text, "With %.2g mA %s.", job->tests[LEAKAGE].value, words[job->leakage.trip]);
    else if (job->expected_mA > 0.0)
        snprintf(text, sizeof text,
                 "That insulation leaks about %.2g mA at %.0f V to ground: %s. Cables and filters add to it.",
                 job->expected_mA, job->ground_V, words[job->expected_trip]);
    else
        return;
    command_say(call->out, text);
}

static void print_rest(const command_call *call, const ground_job *job)
{
    char text[TEXT_SIZE];
    if (isfinite(job->base_Mohm)) {
        snprintf(text, sizeof text,
                 "At 20 °C it would read about %.3g Mohm, by a rule of thumb for cable: for a trend, not for "
                 "the limit.",
                 job->base_Mohm);
        command_say(call->out, text);
    }
    if (job->tests[INSULATION].given || job->tests[LEAKAGE].given)
        command_say(
            call->out,
            "Insulation and leakage are a technician's: 500 V on the bare leads with the electronics off, or "
            "the cover off live. Never lift the ground.");
}

static void print_why(const command_call *call, const ground_job *job)
{
    char text[TEXT_SIZE];
    for (int i = 0; i < TESTS; i++) {
        const ovp_electrical_limit *row = job->tests[i].judgement.row;
        if (!job->tests[i].given)
            continue;
        snprintf(text, sizeof text, "  %s: %s. %s", job->tests[i].name, row->text, row->source);
        command_say(call->out, text);
    }
    if (job->tests[BOND].given)
        command_say(call->out, "  the bond is measured with 10 A or more from a source of 12 V or less: EN "
                               "50106:2008 A.1");
    if (job->tests[INSULATION].given && isnan(job->power_W))
        command_say(call->out, "  the oven's power is not known (--oven): the stricter limit is taken");
    if (job->tests[LEAKAGE].given && !isnan(job->leakage.implied_Mohm)) {
        snprintf(
            text, sizeof text,
            "  that leakage is an insulation of about %.3g Mohm or more, at %.0f V to ground (--to-ground)",
            job->leakage.implied_Mohm, job->ground_V);
        command_say(call->out, text);
    }
    if (!isnan(job->leakage.longest_s) && job->tests[LEAKAGE].given) {
        snprintf(text, sizeof text, "  a ground-fault device opens within %.2g s there: UL 943, class A",
                 job->leakage.longest_s);
        command_say(call->out, text);
    }
}

/* ---- JSON ------------------------------------------------------------------------------------------- */

static void json_test(ovp_text_json *json, const char *key, const test *done)
{
    char name[32];
    ovp_text_json_key(json, key);
    if (!done->given) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    snprintf(name, sizeof name, "reading_%s", done->unit);
    ovp_text_json_key_number(json, name, done->value);
    snprintf(name, sizeof name, "limit_%s", done->unit);
    ovp_text_json_key_number(json, name, done->judgement.limit);
    ovp_text_json_key_string(json, "decision", ovp_electrical_decision_name(done->judgement.decision));
    ovp_text_json_key_string(json, "why", done->judgement.why);
    ovp_text_json_key_string(json, "next", done->judgement.next);
    ovp_text_json_key_string(json, "source", done->judgement.row->source);
    ovp_text_json_end_object(json);
}

static void print_json(const command_call *call, const ground_job *job)
{
    ovp_text_json json;
    bool measured = job->tests[LEAKAGE].given;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "ground", 1);
    ovp_text_json_key_string(&json, "decision", ovp_electrical_decision_name(job->decision));
    json_test(&json, "bond", &job->tests[BOND]);
    json_test(&json, "insulation", &job->tests[INSULATION]);
    json_test(&json, "leakage", &job->tests[LEAKAGE]);
    ovp_text_json_key_number(&json, "insulation_at_20_C_Mohm", job->base_Mohm);
    ovp_text_json_key_number(&json, "expected_leakage_mA", job->expected_mA);
    ovp_text_json_key_number(&json, "implied_insulation_Mohm", measured ? job->leakage.implied_Mohm : NAN);
    ovp_text_json_key_string(&json, "ground_fault_trips",
                             measured                  ? ovp_electrical_trip_name(job->leakage.trip)
                             : job->expected_mA >= 0.0 ? ovp_electrical_trip_name(job->expected_trip)
                                                       : NULL);
    (void)ovp_text_json_end_document(&json);
}

static int run(command_call *call)
{
    ovp_error error = {0};
    ground_job job = {0};
    if (call->operand_count != 0)
        return command_usage(call, "\"%.40s\" is not expected", call->operands[0]);
    if (!command_given(call, "bond") && !command_given(call, "insulation") && !command_given(call, "leakage"))
        return command_usage(call,
                             "what was measured? --bond 0.08ohm, --insulation 5Mohm or --leakage 0.8mA");
    if (prepare(call, &job, &error) != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof ground --help` has examples");
        return command_fail(&error);
    }
    if (call->json) {
        print_json(call, &job);
    } else {
        print_verdict(call, &job);
        print_tests(call, &job);
        print_trip(call, &job);
        print_rest(call, &job);
        if (command_given(call, "why"))
            print_why(call, &job);
    }
    return command_finish(job.decision == OVP_ELECTRICAL_PASS ? OVP_OK : OVP_JUDGED);
}

const command_definition command_ground = {
    .name = "ground",
    .synopsis = "[--bond OHM] [--insulation MOHM] [--leakage MA] [--oven OVEN]",
    .summary = "Ground (earth) bond, insulation and leakage: what a safety tester showed, judged.",
    .details =
        "Bond first: nothing else is tested while the shell is not grounded. It is measured with 10 A or\n"
        "more (EN 50106); a multimeter finds a broken wire, and cannot pass it. Insulation is line and\n"
        "neutral together to the shell at 500 V dc, the electronics disconnected. A damp oven is dried\n"
        "first and measured again. What is not tested is never a pass. Local codes rule.",
    .options = options,
    .examples = "ovenproof ground --bond 0.08ohm --insulation 5Mohm --leakage 0.8mA --oven QR-8\n"
                "ovenproof ground --insulation 200kohm --oven QR-3\n"
                "ovenproof ground --bond 0.3ohm --multimeter",
    .run = run,
};
