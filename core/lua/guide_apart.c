/*
 * A guide that is not the shop's own, in a closed process. The child holds a copy of the case and runs the
 * whole guide over it; what crosses over is where the guide stands. The parent takes the answers into its own
 * case, and holds its own rules against what the child says: no guide can put a question that is not allowed,
 * nor call good what is not proved.
 */
#include "lua/lua_internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- in the child -------------------------------------------------------------------------------------- */

typedef struct wanted {
    const guide_text *text;
    const lua_guide_call *call; /* NULL: only what the guide says of itself */
} wanted;

static void say(int channel, const char *word, const char *text)
{
    if (text[0] != '\0')
        child_say(channel, word, text, strlen(text));
}

/* ID=ANSWER; no id holds a '='. */
static void say_evidence(int channel, const char *word, const lua_guide_answer evidence[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char pair[2 * LUA_GUIDE_ID_SIZE + 2];
        snprintf(pair, sizeof pair, "%s=%s", evidence[i].id, evidence[i].answer);
        say(channel, word, pair);
    }
}

/* What sorts a line of complaint. */
static void say_sorting(int channel, const lua_guide_about *about)
{
    static const char *const dangers[] = {"", "1", "2", "3", "4"};
    say(channel, "danger", dangers[about->danger]);
    say(channel, "context", about->context);
    say(channel, "opening", about->opening);
    for (size_t i = 0; i < about->hint_count; i++)
        say(channel, "hint-word", about->hints[i]);
    for (size_t i = 0; i < about->heard_count; i++) {
        child_say(channel, "heard", "", 0);
        for (size_t j = 0; j < about->heard[i].phrase_count; j++)
            say(channel, "heard-phrase", about->heard[i].phrases[j]);
        say_evidence(channel, "heard-evidence", about->heard[i].evidence, about->heard[i].evidence_count);
    }
}

static void say_about(int channel, const lua_guide_about *about)
{
    say(channel, "name", about->name);
    say(channel, "title", about->title);
    say(channel, "about", about->text);
    say(channel, "first", about->first);
    for (size_t i = 0; i < about->word_count; i++)
        say(channel, "word", about->words[i]);
    say_evidence(channel, "implies", about->implies, about->implied_count);
    say_sorting(channel, about);
    for (size_t i = 0; i < about->told_count; i++) {
        child_say(channel, "told", about->told[i].text, strlen(about->told[i].text));
        say(channel, "told-guide", about->told[i].guide);
        say_evidence(channel, "told-evidence", about->told[i].evidence, about->told[i].evidence_count);
    }
}

static void say_step(int channel, const lua_guide_call *call, const lua_guide_step *step)
{
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const char *id = ovp_diagnosis_measurement_at(i)->id;
        if (ovp_diagnosis_answered(call->state, id) != NULL)
            say(channel, "holds", id);
    }
    if (!step->concluded && step->question != NULL)
        say(channel, "question", step->question->id);
    if (!step->concluded && step->question == &step->own.question) {
        say(channel, "own-text", step->own.text);
        say(channel, "own-caution", step->own.caution);
        for (size_t i = 0; i < step->own.choice_count; i++)
            say(channel, "own-choice", step->own.choices[i]);
    }
    say(channel, "why", step->why);
    say(channel, "expect", step->expect);
    if (step->from_memory)
        child_say(channel, "from-memory", "", 0);
    say(channel, "normal", step->normal != NULL ? step->normal->id : "");
    say(channel, "fault", step->fault);
    say(channel, "text", step->text);
    say(channel, "remedy", step->remedy);
    say(channel, "proof", step->proof);
}

static void run_in_child(void *context, int channel)
{
    const wanted *what = context;
    static lua_guide_about about; /* large */
    static lua_guide_step step;
    ovp_error error = {0};
    ovp_status status = what->call == NULL ? guide_read_here(what->text, &about, &error)
                                           : guide_run_here(what->text, what->call, &about, &step, &error);
    if (status != OVP_OK) {
        char number[24];
        snprintf(number, sizeof number, "%zu", step.bad_answer);
        say(channel, "bad-answer", number);
        child_say_error(channel, &error);
        return;
    }
    say_about(channel, &about);
    if (what->call != NULL)
        say_step(channel, what->call, &step);
}

/* ---- in the parent ------------------------------------------------------------------------------------- */

enum {
    HELD_MOST = 512,
};

typedef struct listener {
    lua_guide_about *about;
    lua_guide_step *step;
    char question[LUA_GUIDE_ID_SIZE], normal[LUA_GUIDE_ID_SIZE];
    const ovp_diagnosis_measurement *held[HELD_MOST]; /* what is answered in the child's case */
    size_t held_count;
    ovp_error failed;
} listener;

/* False when there is no such measurement, or no room. */
static bool hear_evidence(ovp_span payload, lua_guide_answer evidence[], size_t *count)
{
    const char *equals = memchr(payload.bytes, '=', payload.count);
    if (equals == NULL || *count == LUA_GUIDE_EVIDENCE)
        return false;
    lua_guide_answer *item = &evidence[*count];
    size_t length = (size_t)(equals - payload.bytes);
    if (!ovp_copy_string(item->id, sizeof item->id, (ovp_span){payload.bytes, length}) ||
        !ovp_copy_string(item->answer, sizeof item->answer,
                         (ovp_span){equals + 1, payload.count - length - 1}) ||
        ovp_diagnosis_measurement_named(item->id) == NULL)
        return false;
    ++*count;
    return true;
}

static bool hear_word(lua_guide_about *about, ovp_span payload)
{
    return about->word_count < LUA_GUIDE_WORDS &&
           ovp_copy_string(about->words[about->word_count++], LUA_GUIDE_ID_SIZE, payload);
}

static bool hear_hint(lua_guide_about *about, ovp_span payload)
{
    return about->hint_count < LUA_GUIDE_HINTS &&
           ovp_copy_string(about->hints[about->hint_count++], LUA_GUIDE_ID_SIZE, payload);
}

static bool hear_heard(lua_guide_about *about, const char *word, ovp_span payload)
{
    if (strcmp(word, "heard") == 0)
        return about->heard_count < LUA_GUIDE_HEARD && ++about->heard_count > 0;
    if (about->heard_count == 0)
        return false;
    size_t last = about->heard_count - 1;
    if (strcmp(word, "heard-evidence") == 0)
        return hear_evidence(payload, about->heard[last].evidence, &about->heard[last].evidence_count);
    size_t *count = &about->heard[last].phrase_count;
    return strcmp(word, "heard-phrase") == 0 && *count < LUA_GUIDE_EVIDENCE &&
           ovp_copy_string(about->heard[last].phrases[(*count)++], LUA_GUIDE_ID_SIZE, payload);
}

static bool hear_danger(lua_guide_about *about, ovp_span payload)
{
    about->danger = payload.count == 1 ? payload.bytes[0] - '0' : 0;
    return about->danger >= 1 && about->danger <= 4;
}

static bool hear_told_guide(lua_guide_about *about, ovp_span payload)
{
    return about->told_count > 0 &&
           ovp_copy_string(about->told[about->told_count - 1].guide, LUA_GUIDE_ID_SIZE, payload);
}

static bool hear_told(lua_guide_about *about, ovp_span payload)
{
    return about->told_count < LUA_GUIDE_TOLD &&
           ovp_copy_string(about->told[about->told_count++].text, LUA_GUIDE_TEXT_SIZE, payload);
}

static bool hear_told_evidence(lua_guide_about *about, ovp_span payload)
{
    if (about->told_count == 0)
        return false;
    size_t last = about->told_count - 1;
    return hear_evidence(payload, about->told[last].evidence, &about->told[last].evidence_count);
}

static bool hear_choice(lua_guide_own *own, ovp_span payload)
{
    return own->choice_count < LUA_GUIDE_CHOICES &&
           ovp_copy_string(own->choices[own->choice_count++], LUA_GUIDE_ID_SIZE, payload);
}

static bool hear_held(listener *to, ovp_span payload)
{
    const ovp_diagnosis_measurement *held = ovp_diagnosis_measurement_named(payload.bytes);
    if (held == NULL || to->held_count == HELD_MOST)
        return false;
    to->held[to->held_count++] = held;
    return true;
}

/* A text that goes into one buffer. False when the word is none of them or the text is too long. */
static bool hear_text(listener *to, const char *word, ovp_span payload)
{
    const struct {
        const char *word;
        char *buffer;
        size_t size;
    } rows[] = {
        {"name", to->about->name, sizeof to->about->name},
        {"title", to->about->title, sizeof to->about->title},
        {"about", to->about->text, sizeof to->about->text},
        {"first", to->about->first, sizeof to->about->first},
        {"context", to->about->context, sizeof to->about->context},
        {"opening", to->about->opening, sizeof to->about->opening},
        {"normal", to->normal, sizeof to->normal},
        {"question", to->question, sizeof to->question},
        {"why", to->step->why, sizeof to->step->why},
        {"expect", to->step->expect, sizeof to->step->expect},
        {"own-text", to->step->own.text, sizeof to->step->own.text},
        {"own-caution", to->step->own.caution, sizeof to->step->own.caution},
        {"fault", to->step->fault, sizeof to->step->fault},
        {"text", to->step->text, sizeof to->step->text},
        {"remedy", to->step->remedy, sizeof to->step->remedy},
        {"proof", to->step->proof, sizeof to->step->proof},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(word, rows[i].word) == 0)
            return ovp_copy_string(rows[i].buffer, rows[i].size, payload);
    return false;
}

static bool hear(void *context, const char *word, ovp_span payload)
{
    listener *to = context;
    if (memchr(payload.bytes, '\0', payload.count) != NULL)
        return false;
    if (strcmp(word, "failed") == 0 || strcmp(word, "hint") == 0)
        return child_take_error(word, payload, &to->failed);
    if (strcmp(word, "bad-answer") == 0) {
        to->step->bad_answer = (size_t)strtoul(payload.bytes, NULL, 10);
        return true;
    }
    if (strcmp(word, "word") == 0)
        return hear_word(to->about, payload);
    if (strcmp(word, "hint-word") == 0)
        return hear_hint(to->about, payload);
    if (strcmp(word, "danger") == 0)
        return hear_danger(to->about, payload);
    if (strncmp(word, "heard", sizeof "heard" - 1) == 0)
        return hear_heard(to->about, word, payload);
    if (strcmp(word, "told-guide") == 0)
        return hear_told_guide(to->about, payload);
    if (strcmp(word, "implies") == 0)
        return hear_evidence(payload, to->about->implies, &to->about->implied_count);
    if (strcmp(word, "told") == 0)
        return hear_told(to->about, payload);
    if (strcmp(word, "told-evidence") == 0)
        return hear_told_evidence(to->about, payload);
    if (strcmp(word, "own-choice") == 0)
        return hear_choice(&to->step->own, payload);
    if (strcmp(word, "holds") == 0)
        return hear_held(to, payload);
    if (strcmp(word, "from-memory") == 0) {
        to->step->from_memory = true;
        return true;
    }
    return hear_text(to, word, payload);
}

static ovp_status listen_to(wanted *what, listener *to, ovp_error *error)
{
    enum {
        RECEIVED_MOST = 1 << 18,
    };
    child_call call = {.body = run_in_child,
                       .body_context = what,
                       .seconds = GUIDE_SECONDS,
                       .memory_bytes = GUIDE_MEMORY_BYTES,
                       .received_most = RECEIVED_MOST,
                       .take = hear,
                       .take_context = to};
    child_end end;
    ovp_status status = child_run(&call, &end, error);
    if (status != OVP_OK) {
        ovp_error_place(error, what->text->path, 0);
        return status;
    }
    return child_settle(&end, &to->failed, what->text->path, error);
}

ovp_status guide_read_apart(const guide_text *text, lua_guide_about *about, ovp_error *error)
{
    lua_guide_step unused = {0};
    wanted what = {text, NULL};
    listener to = {.about = about, .step = &unused};
    *about = (lua_guide_about){0};
    return listen_to(&what, &to, error);
}

/* doubt() only takes back, and never what a person answered. */
static void take_back(const guide_host *host, const listener *to)
{
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        bool held = ovp_diagnosis_answered(host->call->state, measurement->id) == NULL ||
                    guide_given(host, measurement->id) != NULL;
        for (size_t j = 0; j < to->held_count && !held; j++)
            held = to->held[j] == measurement;
        if (!held)
            (void)ovp_diagnosis_retract(host->call->state, measurement->id);
    }
}

static ovp_status not_allowed(const guide_host *host, const char *what, const char *id, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "the script was ended: %s \"%s\"", what, id);
    ovp_error_place(error, host->call->path, 0);
    return OVP_ERROR_DATA;
}

/* The rules once more, on this side. */
static ovp_status settle_step(guide_host *host, const listener *to, ovp_error *error)
{
    lua_guide_step *step = host->step;
    if (step->fault[0] != '\0' && ovp_diagnosis_fault_named(step->fault) == NULL)
        return not_allowed(host, "it concluded a fault that is not known,", step->fault, error);
    if (to->normal[0] != '\0' && ovp_diagnosis_normal_named(to->normal) == NULL)
        return not_allowed(host, "it concluded what is not among the normal things,", to->normal, error);
    if (to->question[0] == '\0' && to->normal[0] != '\0' && !guide_danger_is_likely(host)) {
        step->concluded = true;
        step->normal = ovp_diagnosis_normal_named(to->normal);
        return OVP_OK;
    }
    if (to->question[0] == '\0') {
        step->concluded = true;
        if (step->fault[0] == '\0')
            guide_finish(host);
        return OVP_OK;
    }
    if (lua_guide_is_own(to->question) && step->own.choice_count > 1 && step->own.text[0] != '\0' &&
        guide_given(host, to->question) == NULL) {
        (void)ovp_copy_string(step->own.id, sizeof step->own.id, ovp_span_of(to->question));
        step->own.minutes = 1;
        guide_settle_own(step);
        return OVP_OK;
    }
    const ovp_diagnosis_measurement *question = ovp_diagnosis_measurement_named(to->question);
    if (question == NULL || ovp_diagnosis_answered(host->call->state, question->id) != NULL ||
        !ovp_diagnosis_allows(host->call->state, question))
        return not_allowed(host, "it asked what may not be asked,", to->question, error);
    const ovp_diagnosis_measurement *before =
        step->from_memory ? NULL : ovp_diagnosis_before(host->call->state, question);
    step->question = before != NULL ? before : question;
    return OVP_OK;
}

/* The answers into the case of this process, and what the child said of itself on top. */
static ovp_status settle(guide_host *host, const listener *to, ovp_error *error)
{
    ovp_status status = guide_take_answers(host, to->about, error);
    if (status != OVP_OK)
        return status;
    take_back(host, to);
    return settle_step(host, to, error);
}

static listener *new_listener(lua_guide_about *about, lua_guide_step *step, ovp_error *error)
{
    listener *to = calloc(1, sizeof *to);
    *about = (lua_guide_about){0};
    *step = (lua_guide_step){0};
    if (to == NULL) {
        (void)ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    to->about = about;
    to->step = step;
    return to;
}

ovp_status guide_run_apart(const guide_text *text, const lua_guide_call *call, lua_guide_about *about,
                           lua_guide_step *step, ovp_error *error)
{
    guide_host host = {.call = call, .step = step};
    wanted what = {text, call};
    listener *to = new_listener(about, step, error);
    if (to == NULL)
        return OVP_ERROR_MEMORY;
    ovp_status status = listen_to(&what, to, error);
    if (step->bad_answer > call->answer_count)
        step->bad_answer = 0;
    if (status == OVP_OK)
        status = settle(&host, to, error);
    else if (step->bad_answer > 0 &&
             error != NULL) { /* the place is that of the answer, which the caller knows */
        error->file[0] = '\0';
        error->line = 0;
    }
    free(to);
    return status;
}

ovp_status guide_settle_bytes(const lua_guide_call *call, ovp_span said, lua_guide_about *about,
                              lua_guide_step *step, ovp_error *error)
{
    guide_host host = {.call = call, .step = step};
    listener *to = new_listener(about, step, error);
    child_reader *reader = calloc(1, sizeof *reader);
    ovp_status status = OVP_ERROR_MEMORY;
    if (to != NULL && reader != NULL) {
        child_reader_init(reader, hear, to);
        bool form = child_reader_push(reader, said.bytes, said.count);
        status = form ? settle(&host, to, error)
                      : not_allowed(&host, "what it sent was not understood", "", error);
    }
    free(reader);
    free(to);
    return status;
}
