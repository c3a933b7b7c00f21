/* guide: fault-finding by one question at a time. This file weighs the answers and runs the command. */
#include "command/guide.h"

#include <stdlib.h>
#include <string.h>

static const command_option options[] = {
    {"oven", "OVEN", false, "the oven's description: a file, or a name on the search path"},
    {"context", "C", false, "new-build, in-service (default), after-transport or after-rewire"},
    {"who", "WHO", false, "owner (default; never asked for a live measurement) or technician"},
    {"have", "TOOL,...", false,
     "only these tools: multimeter, magnet...; `none` for hands and eyes; else those that `setup` was told"},
    {"trace", "RUN", false, "begin with what this heat-up trace showed"},
    {"answers", "FILE", false, "take these answers (JSON; - is standard input) and say what comes next"},
    {"case-name", "NAME", false, "keep this as a case, every answer as it is given, or go on with one"},
    {"say", NULL, false, "the next one or two questions as a text message to send"},
    {"heard", "TEXT", false, "an answer that came back as a message: take what is clear, say what is not"},
    {"note", "TEXT", false, "with --case-name: keep these words with the case"},
    {"open", NULL, false, "the open cases: where each stands (--why: the closed ones, too)"},
    {"close", "NAME", false, "close a case with what it turned out to be: the id of a fault, or a few words"},
    {"reopen", NULL, false, "with --case-name: a case that was closed is open again"},
    {"list", NULL, false, "every measurement and every guide"},
    {"why", NULL, false, "figures: probabilities and what moved them"},
    {0},
};

/* ---- weighing ----------------------------------------------------------------------------------------- */

static void count_asked(guide_session *session)
{
    session->asked_count = 0;
    session->minutes = 0;
    for (size_t i = 0; i < session->answer_count; i++) {
        bool replaced = false;
        for (size_t j = i + 1; j < session->answer_count; j++)
            replaced = replaced || strcmp(session->answers[i].id, session->answers[j].id) == 0;
        const ovp_diagnosis_measurement *measurement =
            ovp_diagnosis_measurement_named(session->answers[i].id);
        if (replaced || (measurement == NULL && !lua_guide_is_own(session->answers[i].id)))
            continue;
        session->asked_count++;
        if (measurement == NULL)
            continue;
        session->minutes += measurement->minutes + measurement->wait_minutes;
    }
}

static void list_not_proved(guide_session *session)
{
    session->not_proved_count = 0;
    for (size_t i = 0; i < ovp_diagnosis_safety_count(); i++) {
        ovp_diagnosis_safety test;
        ovp_diagnosis_safety_at(session->state, i, &test);
        bool open = test.state == OVP_DIAGNOSIS_SAFETY_UNDONE || test.state == OVP_DIAGNOSIS_SAFETY_FAILED;
        if (open && session->not_proved_count < GUIDE_NOT_PROVED)
            session->not_proved[session->not_proved_count++] = test.undone;
    }
}

static const char *or_else(const char *own, const char *table)
{
    return own[0] != '\0' ? own : table != NULL ? table : "";
}

/* What to post: for the fault that the guide itself named, else for all that is left. */
static void settle_post(guide_session *session)
{
    const ovp_diagnosis_cause alone = {.fault = ovp_diagnosis_fault_named(session->step.fault),
                                       .probability = 1};
    const ovp_diagnosis_cause *causes = alone.fault != NULL ? &alone : session->result.causes;
    const size_t count = alone.fault != NULL ? 1 : session->result.cause_count;
    session->post_count =
        ovp_diagnosis_parts(causes, count, session->post, GUIDE_PARTS, &session->post_covers);
}

static void settle_conclusion(guide_session *session)
{
    const ovp_diagnosis_fault *fault =
        session->result.cause_count > 0 ? session->result.causes[0].fault : NULL;
    if (session->step.fault[0] != '\0')
        fault = ovp_diagnosis_fault_named(session->step.fault);
    if (session->step.normal != NULL)
        fault = NULL;
    const char *proof = fault != NULL ? ovp_diagnosis_proof(fault->id) : NULL;
    session->remedy = or_else(session->step.remedy, fault != NULL ? fault->remedy : NULL);
    session->caution = fault != NULL ? fault->caution : "";
    session->proof = or_else(session->step.proof, proof);
    session->broke = fault != NULL ? fault->broke_by : "";
    session->broke_check = fault != NULL ? fault->broke_check : "";
    bool is_normal = session->step.normal != NULL; /* is said of one thing, never of the oven */
    bool too_soon =
        session->result.verdict == OVP_DIAGNOSIS_HEALTHY && !ovp_diagnosis_safety_done(session->state);
    if (session->step.fault[0] != '\0')
        session->result.verdict = OVP_DIAGNOSIS_FAULT;
    else if (is_normal || too_soon)
        session->result.verdict = OVP_DIAGNOSIS_UNCERTAIN;
}

ovp_status guide_evaluate(guide_session *session, ovp_error *error)
{
    session->state = ovp_diagnosis_case_init(session->case_memory, &session->settings);
    if (session->trace != NULL)
        ovp_diagnosis_take_trace(session->state, &session->trace->result, &session->trace->input);
    lua_guide_call call = {.path = session->path,
                           .settings = &session->settings,
                           .state = session->state,
                           .answers = session->answers,
                           .answer_count = session->answer_count,
                           .complaint = session->words,
                           .also = session->also_path[0] != '\0' ? &session->also : NULL};
    ovp_status status = lua_guide_run(&call, &session->step, error);
    if (status != OVP_OK)
        return status;
    ovp_diagnosis_infer(session->state, &session->result);
    count_asked(session);
    list_not_proved(session);
    settle_conclusion(session);
    settle_post(session);
    return OVP_OK;
}

int guide_exit_status(const guide_session *session)
{
    bool good = session->result.verdict == OVP_DIAGNOSIS_HEALTHY || session->step.normal != NULL;
    return session->step.concluded && !good ? (int)OVP_JUDGED : 0;
}

/* ---- a session ---------------------------------------------------------------------------------------- */

guide_session *guide_session_new(const command_call *call)
{
    guide_session *session = calloc(1, sizeof *session);
    if (session == NULL)
        return NULL;
    session->call = call;
    session->case_memory = aligned_alloc(64, (ovp_diagnosis_case_size() + 63) / 64 * 64);
    if (session->case_memory != NULL)
        return session;
    free(session);
    return NULL;
}

void guide_session_free(guide_session *session)
{
    if (session == NULL)
        return;
    if (session->kept != NULL)
        store_case_release(session->kept);
    free(session->kept);
    free(session->trace_setting);
    free(session->trace);
    free(session->case_memory);
    free(session);
}

/* ---- the command -------------------------------------------------------------------------------------- */

static ovp_status take_answers(guide_session *session, const char *path, ovp_error *error)
{
    ovp_status status = path == NULL ? OVP_OK : guide_read_answers(session, path, error);
    if (status != OVP_OK)
        return status;
    status = guide_evaluate(session, error);
    if (status != OVP_OK && path != NULL && session->step.bad_answer > 0)
        ovp_error_place(error, path,
                        guide_answer_line(path, session->answers[session->step.bad_answer - 1].id));
    return status == OVP_OK ? guide_keep(session, error) : status;
}

static ovp_status take_message(guide_session *session, ovp_error *error)
{
    const char *heard = command_value(session->call, "heard");
    ovp_status status = OVP_OK;
    if (heard != NULL) {
        status = guide_hear_message(session, heard, error);
        if (status == OVP_OK)
            status = guide_evaluate(session, error);
        if (status == OVP_OK)
            status = guide_keep(session, error);
    }
    return status == OVP_OK && command_given(session->call, "say") ? guide_say(session, error) : status;
}

static int print_state(guide_session *session)
{
    if (session->message[0] != '\0' && !session->call->json) {
        (void)ovp_text_print(session->call->out, "%s\n", session->message);
        return 0;
    }
    if (!session->call->json)
        guide_print_heard(session);
    if (session->call->json)
        return guide_print_json(session) == OVP_OK ? guide_exit_status(session) : (int)OVP_ERROR_SYSTEM;
    if (session->step.concluded)
        guide_print_conclusion(session, false);
    else
        guide_print_question(session, NULL);
    if (!session->step.concluded && command_given(session->call, "why"))
        guide_print_why(session);
    return guide_exit_status(session);
}

static int run_session(guide_session *session)
{
    ovp_error error = {0};
    const char *answers = command_value(session->call, "answers");
    const char *note = command_value(session->call, "note");
    ovp_status status = guide_case_open(session, &error);
    if (status == OVP_OK)
        status = guide_start(session, &error);
    if (status == OVP_OK)
        status = guide_case_join(session, &error);
    if (status == OVP_OK && note != NULL)
        status = guide_case_note(session, note, &error);
    const bool message = command_given(session->call, "say") || command_given(session->call, "heard");
    const bool talk = answers == NULL && note == NULL && !message && !session->call->json;
    if (status == OVP_OK && !talk)
        status = take_answers(session, answers, &error);
    if (status == OVP_OK && message)
        status = take_message(session, &error);
    if (status != OVP_OK)
        return command_fail(&error);
    if (note != NULL && !session->call->json)
        (void)ovp_text_print(session->call->out, "Noted with case %s.\n", session->kept->name);
    return talk ? guide_talk(session) : print_state(session);
}

static int out_of_memory(void)
{
    ovp_error error = {0};
    (void)ovp_error_set(&error, OVP_ERROR_SYSTEM, "out of memory");
    return command_fail(&error);
}

static int check_call(const command_call *call)
{
    static const char *const need_case[] = {"note", "reopen"};
    for (size_t i = 0; i < sizeof need_case / sizeof need_case[0]; i++)
        if (command_given(call, need_case[i]) && command_value(call, "case-name") == NULL)
            return command_usage(call, "--%s goes with --case-name NAME", need_case[i]);
    return 0;
}

static int run_guide(command_call *call)
{
    if (command_given(call, "list"))
        return guide_print_list(call);
    const int refused = check_call(call);
    if (refused != 0)
        return refused;
    guide_session *session = guide_session_new(call);
    if (session == NULL)
        return out_of_memory();
    int status = 0;
    if (command_given(call, "open"))
        status = guide_print_open(call);
    else if (command_given(call, "close"))
        status = guide_case_close(session);
    else
        status = run_session(session);
    guide_session_free(session);
    return status;
}

const command_definition command_guide = {
    .name = "guide",
    .synopsis = "[NAME | COMPLAINT] [--oven OVEN] [--who owner|technician] [--case-name NAME] [--trace RUN]\n"
                "                       [--answers FILE]",
    .summary = "Finds the fault of an oven by the fewest and safest questions.",
    .details =
        "One question at a time, each with the reason and what should be read on this oven. `?` is always "
        "an\n"
        "answer; `back` takes one back, `why` says more, `quit` says what was found so far. A guide is "
        "chosen\n"
        "by its name, by a few words of complaint, or left out: then every fault is open.\n"
        "With --answers the same guide is a function of its inputs: it prints the next question or the\n"
        "conclusion. With --case-name all of it is kept and goes on another day; --open lists what is open.\n"
        "Exit status: 0 while asking, concluded good or normal, 1 otherwise.",
    .options = options,
    .examples = "ovenproof guide reads-backwards\n"
                "ovenproof guide it trips the breaker --who technician\n"
                "ovenproof guide it does not heat --oven QR-8 --case-name mill-lane\n"
                "ovenproof guide --case-name mill-lane\n"
                "ovenproof guide --case-name mill-lane --say\n"
                "ovenproof guide --case-name mill-lane --heard 'fuse good, reads 40 low'\n"
                "ovenproof guide --open\n"
                "ovenproof guide --list",
    .run = run_guide,
};
