/*
 * Every shipped guide, walked for every single fault with the outcome that the fault makes likeliest: it
 * ends, in the safe order, with nothing live for an owner, and with the fault's name among the first three.
 * The likelihoods are reference/likelihoods.csv (judgement of the trade).
 */
#include "diagnosis/diagnosis_internal.h"
#include "lua/lua.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    MOST_QUESTIONS = 40,
#ifdef OVP_OPEN_FENCE /* a build with sanitizers or coverage is many times slower: a sample of the walks */
    FAULTS_APART = 8,
    GUIDES_APART = 56,
#else
    FAULTS_APART = 1,
    GUIDES_APART = 7, /* each guide is walked with every seventh fault, the next guide with the next one */
#endif
};

typedef struct walk {
    const char *guide;
    ovp_diagnosis_settings settings;
    ovp_diagnosis_case *state;
    lua_guide_answer answers[LUA_GUIDE_ANSWERS];
    size_t count;
    lua_guide_step step;
    ovp_diagnosis_result result;
    double minutes;
} walk;

static const char *const guides[] = {"any-complaint",
                                     "reads-backwards",
                                     "reads-wrong",
                                     "will-not-heat",
                                     "slow",
                                     "overshoots-or-swings",
                                     "will-not-stop",
                                     "trips-the-breaker",
                                     "blows-its-fuse",
                                     "hot-or-burnt-terminal",
                                     "panel-too-hot",
                                     "damp-after-storage",
                                     "tingle-or-shock",
                                     "arrival-after-transport",
                                     "normal-things"};

static bool is_blind_fault(const char *id)
{
    return strcmp(id, "sensor-reversed") == 0 || strcmp(id, "sensor-shorted") == 0 ||
           strcmp(id, "sensor-withdrawn") == 0;
}

/* Chance of an outcome under a fault: its own row, else the default row. */
static double chance(const char *fault, const char *measurement, const char *outcome)
{
    size_t count = 0;
    const diagnosis_row *rows = diagnosis_rows(&count);
    double own = -1, usual = 0;
    bool has_own = false;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(rows[i].measurement, measurement) != 0)
            continue;
        if (strcmp(rows[i].fault, fault) == 0) {
            has_own = true;
            if (strcmp(rows[i].outcome, outcome) == 0)
                own = rows[i].p;
        }
        if (strcmp(rows[i].fault, "*") == 0 && strcmp(rows[i].outcome, outcome) == 0)
            usual = rows[i].p;
    }
    return has_own ? own : usual;
}

static const char *likeliest(const char *fault, const ovp_diagnosis_measurement *question)
{
    if (strncmp(question->id, "fitted-", 7) == 0)
        return "yes";
    const char *best = question->outcomes[0];
    double most = -1;
    for (size_t i = 0; i < question->outcome_count; i++) {
        double p = chance(fault, question->id, question->outcomes[i]);
        if (p > most) {
            most = p;
            best = question->outcomes[i];
        }
    }
    return best;
}

static void evaluate(walk *w)
{
    char path[512];
    ovp_error error = {0};
    w->state = ovp_diagnosis_case_init(w->state, &w->settings);
    assert_int_equal(lua_find("guides", w->guide, path, sizeof path, &error), OVP_OK);
    lua_guide_call call = {.path = path,
                           .settings = &w->settings,
                           .state = w->state,
                           .answers = w->answers,
                           .answer_count = w->count};
    ovp_status status = lua_guide_run(&call, &w->step, &error);
    if (status != OVP_OK)
        fail_msg("%s: %s", w->guide, error.what);
    ovp_diagnosis_infer(w->state, &w->result);
}

/* The rules of safety, looked at from outside at each question. */
static void check_question(const walk *w, const char *fault)
{
    const ovp_diagnosis_measurement *question = w->step.question;
    if (!w->settings.technician &&
        (strcmp(question->energised, "live") == 0 || strcmp(question->who, "owner") != 0))
        fail_msg("%s, %s: an owner is asked %s", w->guide, fault, question->id);
    for (size_t i = 0; i < w->count; i++)
        if (strcmp(w->answers[i].id, question->id) == 0)
            fail_msg("%s, %s: %s is asked twice", w->guide, fault, question->id);
    if (!ovp_diagnosis_needs_heat(question) || w->step.from_memory)
        return;
    double doubt = 0;
    for (size_t i = 0; i < w->result.cause_count; i++)
        doubt += is_blind_fault(w->result.causes[i].fault->id) ? w->result.causes[i].probability : 0;
    if (doubt <= 0.05)
        return;
    static const char *const cold[] = {"warm-tip", "look-tip", "look-wire-colours", "ohms-couple",
                                       "magnet-legs"};
    for (size_t c = 0; c < sizeof cold / sizeof cold[0]; c++)
        if (ovp_diagnosis_answered(w->state, cold[c]) == NULL)
            fail_msg("%s, %s: %s with heat on while the sensor is in doubt (%.2f) and %s is not done",
                     w->guide, fault, question->id, doubt, cold[c]);
}

static void answer(walk *w, const char *outcome)
{
    assert_true(w->count < LUA_GUIDE_ANSWERS);
    lua_guide_answer *to = &w->answers[w->count++];
    *to = (lua_guide_answer){0};
    assert_true(ovp_copy_string(to->id, sizeof to->id, ovp_span_of(w->step.question->id)));
    assert_true(ovp_copy_string(to->answer, sizeof to->answer, ovp_span_of(outcome)));
    w->minutes += w->step.question->minutes + w->step.question->wait_minutes;
}

/* fault NULL: "unknown" everywhere. */
static void walk_guide(walk *w, const char *guide, bool technician, const char *fault)
{
    ovp_diagnosis_case *memory = w->state;
    *w = (walk){.guide = guide, .state = memory};
    w->settings.context = OVP_DIAGNOSIS_IN_SERVICE;
    w->settings.technician = technician;
    for (evaluate(w); !w->step.concluded; evaluate(w)) {
        if (w->count >= MOST_QUESTIONS)
            fail_msg("%s, %s: more than %d questions", guide, fault != NULL ? fault : "unknown",
                     MOST_QUESTIONS);
        check_question(w, fault != NULL ? fault : "unknown");
        answer(w, fault != NULL ? likeliest(fault, w->step.question) : "unknown");
    }
}

static size_t rank_of(const walk *w, const char *fault)
{
    for (size_t i = 0; i < w->result.cause_count; i++)
        if (strcmp(w->result.causes[i].fault->id, fault) == 0)
            return i + 1;
    return 0;
}

static walk *new_walk(void)
{
    walk *w = calloc(1, sizeof *w);
    assert_non_null(w);
    w->state = malloc(ovp_diagnosis_case_size());
    assert_non_null(w->state);
    return w;
}

static void free_walk(walk *w)
{
    free(w->state);
    free(w);
}

/* regression lock: how many of the 64 come out first, and among the first three */
static void every_fault(bool technician, size_t least_first, size_t least_three)
{
    walk *w = new_walk();
    size_t first = 0, three = 0, questions = 0;
    double minutes = 0;
    for (size_t i = 0; i < ovp_diagnosis_fault_count(); i += FAULTS_APART) {
        const char *fault = ovp_diagnosis_fault_at(i)->id;
        walk_guide(w, "any-complaint", technician, fault);
        size_t rank = rank_of(w, fault);
        first += rank == 1;
        three += rank >= 1 && rank <= 3;
        questions += w->count;
        minutes += w->minutes;
        if (rank != 1)
            print_message("  %s: %s comes out as number %zu (first: %s)\n",
                          technician ? "technician" : "owner", fault, rank, w->result.causes[0].fault->id);
        const ovp_diagnosis_fault *row = ovp_diagnosis_fault_at(i);
        if (row->danger >= 3 && w->result.verdict == OVP_DIAGNOSIS_HEALTHY &&
            ovp_diagnosis_safety_done(w->state))
            fail_msg("%s is called good", fault);
    }
    print_message("%s: %zu of %zu first, %zu among three, %.1f questions, %.0f minutes\n",
                  technician ? "technician" : "owner", first, ovp_diagnosis_fault_count(), three,
                  (double)questions / (double)ovp_diagnosis_fault_count(),
                  minutes / (double)ovp_diagnosis_fault_count());
    assert_true(first * FAULTS_APART + FAULTS_APART > least_first);
    assert_true(three * FAULTS_APART + FAULTS_APART > least_three);
    free_walk(w);
}

static void every_fault_as_owner(void **state)
{
    (void)state;
    every_fault(false, 58, 62);
}

static void every_fault_as_technician(void **state)
{
    (void)state;
    every_fault(true, 60, 62);
}

static void unknown_everywhere_ends(void **state)
{
    (void)state;
    walk *w = new_walk();
    for (size_t g = 0; g < sizeof guides / sizeof guides[0]; g++)
        for (int technician = 0; technician < 2; technician++) {
            walk_guide(w, guides[g], technician == 1, NULL);
            assert_true(w->count <= MOST_QUESTIONS);
            assert_false(w->result.verdict == OVP_DIAGNOSIS_HEALTHY && ovp_diagnosis_safety_done(w->state));
        }
    free_walk(w);
}

/* The faults that each named guide is for come out first, or within the group that its questions part. */
static void named_guides(void **state)
{
    (void)state;
    static const struct {
        const char *guide, *fault;
    } rows[] = {
        {"reads-backwards", "sensor-reversed"},
        {"reads-backwards", "extension-reversed"},
        {"will-not-heat", "element-open"},
        {"slow", "element-branch-open"},
        {"slow", "element-aged"},
        {"slow", "relay-half-wave"},
        {"slow", "lining-damp"},
        {"slow", "supply-low"},
        {"will-not-heat", "door-switch-open"},
        {"will-not-heat", "not-running"},
        {"will-not-heat", "control-fuse-open"},
        {"will-not-heat", "sensor-shorted"},
        {"will-not-heat", "supply-dead"},
        {"trips-the-breaker", "short-circuit"},
        {"trips-the-breaker", "lining-damp-leakage"},
        {"trips-the-breaker", "breaker-overload"},
        {"blows-its-fuse", "control-fuse-open"},
        {"trips-the-breaker", "element-to-ground"},
        {"trips-the-breaker", "ground-fault-nuisance"},
        {"will-not-stop", "relay-shorted"},
        {"will-not-stop", "contactor-welded"},
        {"reads-wrong", "input-wrong-type"},
        {"reads-wrong", "units-mixed"},
        {"reads-wrong", "input-offset"},
        {"overshoots-or-swings", "bad-tuning"},
        {"hot-or-burnt-terminal", "plug-worn"},
        {"hot-or-burnt-terminal", "joint-loose-block"},
        {"panel-too-hot", "fan-failed"},
        {"panel-too-hot", "fan-thermostat-misset"},
        {"damp-after-storage", "lining-damp-leakage"},
        {"tingle-or-shock", "ground-open"},
        {"tingle-or-shock", "element-to-ground"},
        {"arrival-after-transport", "sensor-withdrawn"},
    };
    walk *w = new_walk();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (int technician = 0; technician < 2; technician++) {
            walk_guide(w, rows[i].guide, technician == 1, rows[i].fault);
            size_t rank = rank_of(w, rows[i].fault);
            print_message("  %s, %s, %s: number %zu after %zu questions\n", rows[i].guide, rows[i].fault,
                          technician == 1 ? "technician" : "owner", rank, w->count);
            if (rank == 0 || rank > 3)
                fail_msg("%s: %s is not among the first three", rows[i].guide, rows[i].fault);
        }
    free_walk(w);
}

/* Also with a fault that it is not for a guide ends, in the safe order: each fault with several guides. */
static void named_guides_end_for_every_fault(void **state)
{
    (void)state;
    walk *w = new_walk();
    size_t longest = 0;
    for (size_t g = 1; g < sizeof guides / sizeof guides[0]; g++)
        for (size_t i = g % GUIDES_APART; i < ovp_diagnosis_fault_count(); i += GUIDES_APART) {
            walk_guide(w, guides[g], false, ovp_diagnosis_fault_at(i)->id);
            longest = w->count > longest ? w->count : longest;
            assert_true(w->step.concluded);
        }
    print_message("longest: %zu questions\n", longest);
    free_walk(w);
}

/* Nobody is asked for what is not fitted, and what is not known to be fitted is asked first. */
static void parts_are_asked_for_once(void **state)
{
    (void)state;
    ovp_oven *oven = calloc(1, sizeof *oven);
    assert_non_null(oven);
    ovp_error error = {0};
    assert_int_equal(lua_read_oven("QR-3", oven, NULL, NULL, &error), OVP_OK);
    walk *w = new_walk();
    ovp_diagnosis_case *memory = w->state;
    *w = (walk){.guide = "any-complaint", .state = memory};
    w->settings.context = OVP_DIAGNOSIS_IN_SERVICE;
    w->settings.oven = oven;
    for (evaluate(w); !w->step.concluded; evaluate(w)) {
        const char *needs = w->step.question->needs_part;
        if (needs[0] != '\0' && ovp_oven_has_any(oven, needs) == OVP_OVEN_NOT_FITTED)
            fail_msg("%s is asked of an oven that has no %s", w->step.question->id, needs);
        answer(w, likeliest("expectation-unfair", w->step.question));
        assert_true(w->count <= MOST_QUESTIONS);
    }
    free_walk(w);
    free(oven);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unknown_everywhere_ends),
        cmocka_unit_test(named_guides),
        cmocka_unit_test(named_guides_end_for_every_fault),
        cmocka_unit_test(parts_are_asked_for_once),
        cmocka_unit_test(every_fault_as_owner),
        cmocka_unit_test(every_fault_as_technician),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
