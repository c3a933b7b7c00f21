/* guide: the cases that are open, and closing one. */
#include "command/beside.h"
#include "command/causes.h"
#include "command/guide.h"

#include <stdlib.h>
#include <string.h>

/* ---- where a case stands ---------------------------------------------------------------------------------
 */

/* The session of a kept case, evaluated. False: `error` says what stands in the way; the session is there. */
static bool stand(const command_call *call, const store_case *one, guide_session **session, ovp_error *error)
{
    *session = guide_session_new(call);
    if (*session == NULL)
        return false;
    (*session)->kept = malloc(sizeof *one);
    if ((*session)->kept == NULL)
        return false;
    *(*session)->kept = *one;
    (*session)->kept->lock = -1;
    return guide_start(*session, error) == OVP_OK && guide_case_look(*session, error) == OVP_OK;
}

typedef struct listing {
    const command_call *call;
    command_call bare; /* without the options that would change a case */
    ovp_text_json json;
    size_t open, closed, unread;
    bool want_closed;
} listing;

/* ---- text ---------------------------------------------------------------------------------------------- */

static const char *oven_word(const store_case *one)
{
    const char *slash = strrchr(one->oven, '/');
    return one->oven[0] == '\0' ? "no oven named" : slash != NULL ? slash + 1 : one->oven;
}

static void say_stand(const listing *state, const guide_session *session)
{
    const ovp_diagnosis_result *result = &session->result;
    char text[2 * LUA_GUIDE_TEXT_SIZE];
    const char *likely = result->cause_count > 0 && (session->asked_count > 0 || session->trace != NULL)
                             ? result->causes[0].fault->title
                             : "nothing known yet";
    if (result->verdict == OVP_DIAGNOSIS_HEALTHY)
        likely = "good, as far as asked";
    (void)snprintf(text, sizeof text, "%s; %s%s", likely, session->step.concluded ? "concluded" : "next: ",
                   session->step.concluded ? "" : session->step.question->question);
    /* one line a case: the list is to be looked over */
    const size_t most = 84;
    if (ovp_text_columns(text) > most) {
        size_t cut = most;
        while (cut > 0 && text[cut] != ' ')
            cut--;
        (void)snprintf(text + cut, sizeof text - cut, "...");
    }
    (void)ovp_text_print(state->call->out, "    %s\n", text);
}

static void print_one(const listing *state, const store_case *one)
{
    char head[2 * STORE_CASE_TEXT];
    const size_t answers = one->answer_count;
    (void)snprintf(head, sizeof head, "%s, %.80s, last %s, %zu answer%s", oven_word(one), one->complaint,
                   guide_shown_time(one->touched).text, answers, answers == 1 ? "" : "s");
    command_say_beside(state->call->out, one->name, 16, head);
    guide_session *session = NULL;
    ovp_error error = {0};
    if (stand(&state->bare, one, &session, &error))
        say_stand(state, session);
    else
        (void)ovp_text_print(state->call->out, "    cannot go on: %s%s%s\n", error.file,
                             error.file[0] != '\0' ? ": " : "", error.what);
    guide_session_free(session);
}

static const char *closed_words(const store_case *one)
{
    const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_named(one->closed_fault);
    return fault != NULL                  ? fault->title
           : one->closed_fault[0] != '\0' ? one->closed_fault
                                          : one->closed_words;
}

static void print_closed(const listing *state, const store_case *one)
{
    char head[2 * STORE_CASE_TEXT];
    (void)snprintf(head, sizeof head, "%s, closed %s: %.200s", oven_word(one),
                   guide_shown_time(one->closed_when).text, closed_words(one));
    command_say_beside(state->call->out, one->name, 16, head);
}

static void print_case(void *context, const store_case *one, const ovp_error *wrong)
{
    listing *state = context;
    if (one == NULL) {
        state->unread++;
        (void)ovp_text_print(state->call->out, "not read: %s: %s\n", wrong->file, wrong->what);
        return;
    }
    state->open += !one->closed;
    state->closed += one->closed;
    if (one->closed && state->want_closed)
        print_closed(state, one);
    else if (!one->closed)
        print_one(state, one);
}

/* ---- JSON ---------------------------------------------------------------------------------------------- */

static void write_stand(listing *state, const store_case *one)
{
    ovp_text_json *json = &state->json;
    guide_session *session = NULL;
    ovp_error error = {0};
    if (!stand(&state->bare, one, &session, &error)) {
        ovp_text_json_key_string(json, "state", "stuck");
        ovp_text_json_key_string(json, "problem", error.what);
    } else {
        const ovp_diagnosis_result *result = &session->result;
        ovp_text_json_key_string(json, "state", session->step.concluded ? "concluded" : "asking");
        ovp_text_json_key_string(json, "likeliest",
                                 result->cause_count > 0 ? result->causes[0].fault->id : NULL);
        ovp_text_json_key(json, "present");
        if (result->cause_count > 0)
            ovp_text_json_number(json, result->causes[0].present);
        else
            ovp_text_json_null(json);
        ovp_text_json_key_string(json, "question",
                                 session->step.concluded ? NULL : session->step.question->id);
        ovp_text_json_key_number(json, "minutes", session->minutes);
    }
    guide_session_free(session);
}

static void write_case(void *context, const store_case *one, const ovp_error *wrong)
{
    listing *state = context;
    ovp_text_json *json = &state->json;
    ovp_text_json_begin_object(json);
    if (one == NULL) {
        ovp_text_json_key_string(json, "file", wrong->file);
        ovp_text_json_key_string(json, "state", "damaged");
        ovp_text_json_key_string(json, "problem", wrong->what);
        ovp_text_json_end_object(json);
        return;
    }
    ovp_text_json_key_string(json, "name", one->name);
    ovp_text_json_key_string(json, "file", one->path);
    ovp_text_json_key_string(json, "oven", one->oven[0] != '\0' ? one->oven : NULL);
    ovp_text_json_key_string(json, "guide", one->guide);
    ovp_text_json_key_string(json, "complaint", one->complaint);
    ovp_text_json_key_string(json, "context", one->context);
    ovp_text_json_key_string(json, "who", one->who);
    ovp_text_json_key_string(json, "began", one->began);
    ovp_text_json_key_string(json, "touched", one->touched);
    ovp_text_json_key_integer(json, "answers", (int64_t)one->answer_count);
    if (one->closed) {
        ovp_text_json_key_string(json, "state", "closed");
        ovp_text_json_key_string(json, "fault", one->closed_fault[0] != '\0' ? one->closed_fault : NULL);
        ovp_text_json_key_string(json, "words", one->closed_words);
        ovp_text_json_key_string(json, "closed", one->closed_when);
    } else {
        write_stand(state, one);
    }
    ovp_text_json_end_object(json);
}

static int open_json(listing *state)
{
    ovp_error error = {0};
    ovp_text_json_init(&state->json, state->call->out);
    ovp_text_json_begin_document(&state->json, "guide", 1);
    ovp_text_json_key(&state->json, "cases");
    ovp_text_json_begin_array(&state->json);
    if (store_case_each(write_case, state, &error) != OVP_OK)
        return command_fail(&error);
    ovp_text_json_end_array(&state->json);
    return ovp_text_json_end_document(&state->json) == OVP_OK ? 0 : (int)OVP_ERROR_SYSTEM;
}

/* ---- the two forms ---------------------------------------------------------------------------------------
 */

int guide_print_open(const command_call *call)
{
    listing state = {.call = call, .want_closed = command_given(call, "why")};
    state.bare = (command_call){
        .definition = call->definition, .json = call->json, .degrees = call->degrees, .out = call->out};
    if (call->json)
        return open_json(&state);
    ovp_error error = {0};
    if (store_case_each(print_case, &state, &error) != OVP_OK)
        return command_fail(&error);
    if (state.open == 0)
        (void)ovp_text_print(call->out, "No case is open. Begin one: ovenproof guide --oven OVEN --case-name "
                                        "NAME\n");
    if (state.closed > 0 && !state.want_closed)
        (void)ovp_text_print(call->out, "%zu closed (--why lists them too).\n", state.closed);
    return 0;
}

static ovp_status close_as(guide_session *session, ovp_error *error)
{
    store_case *kept = session->kept;
    const command_call *call = session->call;
    ovp_status status = guide_join_words(session, error);
    if (status != OVP_OK)
        return status;
    if (ovp_diagnosis_fault_named(session->complaint) != NULL)
        (void)ovp_copy_string(kept->closed_fault, sizeof kept->closed_fault, ovp_span_of(session->complaint));
    else if (call->operand_count > 0)
        (void)ovp_copy_string(kept->closed_words, sizeof kept->closed_words, ovp_span_of(session->complaint));
    kept->closed = true;
    store_now(kept->closed_when);
    return store_case_save(kept, error);
}

static void print_closing(const guide_session *session)
{
    const store_case *kept = session->kept;
    const command_call *call = session->call;
    if (call->json) {
        ovp_text_json json;
        ovp_text_json_init(&json, call->out);
        ovp_text_json_begin_document(&json, "guide", 1);
        ovp_text_json_key_string(&json, "state", "closed");
        ovp_text_json_key_string(&json, "name", kept->name);
        ovp_text_json_key_string(&json, "fault", kept->closed_fault[0] != '\0' ? kept->closed_fault : NULL);
        ovp_text_json_key_string(&json, "words", kept->closed_words);
        ovp_text_json_key_string(&json, "closed", kept->closed_when);
        ovp_text_json_key_string(&json, "proof", ovp_diagnosis_proof(kept->closed_fault));
        (void)ovp_text_json_end_document(&json);
        return;
    }
    char text[2 * STORE_CASE_TEXT];
    (void)snprintf(text, sizeof text, "%s is closed: %s.", kept->name, closed_words(kept));
    command_say(call->out, text);
    const char *proof = ovp_diagnosis_proof(kept->closed_fault);
    if (proof[0] != '\0')
        command_say_beside(call->out, "Proof", 10, proof);
}

int guide_case_close(guide_session *session)
{
    const command_call *call = session->call;
    const char *name = command_value(call, "close");
    ovp_error error = {0};
    if (call->operand_count == 0)
        return command_usage(call, "say what %s turned out to be: a fault (control-fuse-open) or a few words",
                             name);
    session->kept = calloc(1, sizeof *session->kept);
    if (session->kept == NULL) {
        (void)ovp_error_set(&error, OVP_ERROR_MEMORY, "out of memory");
        return command_fail(&error);
    }
    ovp_status status = store_case_open(session->kept, name, &error);
    if (status == OVP_OK && session->kept->is_new) {
        status = ovp_error_set(&error, OVP_ERROR_DATA, "there is no case %s", name);
        ovp_error_hint(&error, "`ovenproof guide --open` lists them");
    } else if (status == OVP_OK && session->kept->closed) {
        status = ovp_error_set(&error, OVP_ERROR_DATA, "the case %s is closed already", name);
        ovp_error_hint(&error, "open it again with: ovenproof guide --case-name %s --reopen", name);
    }
    if (status == OVP_OK)
        status = close_as(session, &error);
    if (status != OVP_OK)
        return command_fail(&error);
    print_closing(session);
    return 0;
}
