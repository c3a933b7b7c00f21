/* guide: its JSON documents, and the list of what can be asked. */
#include "command/causes.h"
#include "command/guide.h"

#include <string.h>

static void write_choices(ovp_text_json *json, const ovp_diagnosis_measurement *measurement)
{
    ovp_text_json_key(json, "choices");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < measurement->outcome_count; i++)
        ovp_text_json_string(json, measurement->outcomes[i]);
    ovp_text_json_end_array(json);
    ovp_text_json_key(json, "choice_texts");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < measurement->outcome_count; i++)
        ovp_text_json_string(json, ovp_diagnosis_outcome_text(measurement->id, measurement->outcomes[i]));
    ovp_text_json_end_array(json);
}

/* What a question of the guide and a line of the list have in common. */
static void write_measurement(ovp_text_json *json, const ovp_diagnosis_measurement *measurement)
{
    ovp_text_json_key_string(json, "id", measurement->id);
    ovp_text_json_key_string(json, "ask", measurement->question);
    ovp_text_json_key_string(json, "unit", measurement->unit);
    write_choices(json, measurement);
    ovp_text_json_key_string(json, "tools", measurement->tools);
    ovp_text_json_key_boolean(json, "energised", guide_is_energised(measurement));
    ovp_text_json_key_string(json, "hazard", measurement->caution);
}

static void write_meanings(const guide_session *session, ovp_text_json *json)
{
    char meaning[LUA_GUIDE_TEXT_SIZE];
    ovp_text_json_key(json, "choice_meanings");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < session->step.question->outcome_count; i++)
        ovp_text_json_string(json, guide_meaning(session, i, meaning, sizeof meaning));
    ovp_text_json_end_array(json);
}

static void write_question(const guide_session *session, ovp_text_json *json)
{
    char expect[LUA_GUIDE_TEXT_SIZE] = "";
    ovp_text_json_key(json, "question");
    ovp_text_json_begin_object(json);
    write_measurement(json, session->step.question);
    ovp_text_json_key_string(json, "why", guide_why(session));
    ovp_text_json_key_string(json, "expect", guide_expect(session, expect, sizeof expect));
    write_meanings(session, json);
    if (session->step.from_memory)
        ovp_text_json_key_boolean(json, "from_memory", true);
    ovp_text_json_end_object(json);
}

static void write_post(const guide_session *session, bool good, ovp_text_json *json)
{
    ovp_text_json_key(json, "post");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; !good && i < session->post_count; i++) {
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "part", session->post[i].part);
        ovp_text_json_key_string(json, "text", session->post[i].text);
        ovp_text_json_key_number(json, "mends", session->post[i].mends);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
    ovp_text_json_key_number(json, "post_covers", good ? 0 : session->post_covers);
}

static void write_steps(const guide_session *session, bool good, ovp_text_json *json)
{
    ovp_span steps[OVP_DIAGNOSIS_STEPS];
    const size_t count = good ? 0 : ovp_diagnosis_steps(session->remedy, steps);
    ovp_text_json_key(json, "remedy_steps");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < count; i++) {
        char step[LUA_GUIDE_TEXT_SIZE];
        (void)ovp_copy_string(step, sizeof step, steps[i]);
        ovp_text_json_string(json, step);
    }
    ovp_text_json_end_array(json);
}

static void write_conclusion(const guide_session *session, ovp_text_json *json)
{
    bool good = session->result.verdict == OVP_DIAGNOSIS_HEALTHY;
    if (session->step.fault[0] != '\0')
        ovp_text_json_key_string(json, "fault", session->step.fault);
    if (session->step.text[0] != '\0')
        ovp_text_json_key_string(json, "text", session->step.text);
    const ovp_diagnosis_normal *normal = session->step.normal;
    if (normal != NULL) {
        ovp_text_json_key(json, "normal");
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "id", normal->id);
        ovp_text_json_key_string(json, "sees", normal->sees);
        ovp_text_json_key_string(json, "why", normal->why);
        ovp_text_json_key_string(json, "limit", normal->limit);
        ovp_text_json_key_string(json, "past", normal->past);
        ovp_text_json_key_string(json, "source", normal->source);
        ovp_text_json_end_object(json);
    }
    ovp_text_json_key_string(json, "remedy", good ? "" : session->remedy);
    write_steps(session, good, json);
    ovp_text_json_key_string(json, "caution", good ? "" : session->caution);
    ovp_text_json_key_string(json, "proof", good ? "" : session->proof);
    ovp_text_json_key_string(json, "broke_by", good ? "" : session->broke);
    ovp_text_json_key_string(json, "broke_check", good ? "" : session->broke_check);
    write_post(session, good || normal != NULL, json);
}

static void write_strings(ovp_text_json *json, const char *key, const char *const strings[], size_t count)
{
    ovp_text_json_key(json, key);
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < count; i++)
        ovp_text_json_string(json, strings[i]);
    ovp_text_json_end_array(json);
}

static void write_asked(const guide_session *session, ovp_text_json *json)
{
    ovp_text_json_key(json, "asked");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < session->answer_count; i++) {
        bool replaced = false;
        for (size_t j = i + 1; j < session->answer_count; j++)
            replaced = replaced || strcmp(session->answers[i].id, session->answers[j].id) == 0;
        if (!replaced)
            ovp_text_json_string(json, session->answers[i].id);
    }
    ovp_text_json_end_array(json);
    ovp_text_json_key_number(json, "minutes", session->minutes);
}

ovp_status guide_print_json(const guide_session *session)
{
    ovp_text_json json;
    ovp_text_json_init(&json, session->call->out);
    ovp_text_json_begin_document(&json, "guide", 1);
    ovp_text_json_key_string(&json, "guide", session->about.name);
    if (session->about.found != LUA_ORIGIN_PROGRAM)
        ovp_text_json_key_string(&json, "guide_file", session->path);
    if (session->also_path[0] != '\0')
        ovp_text_json_key_string(&json, "also", session->also.name);
    ovp_text_json_key_string(&json, "state", session->step.concluded ? "concluded" : "asking");
    if (session->step.concluded)
        write_conclusion(session, &json);
    else
        write_question(session, &json);
    command_json_causes(&json, &session->result);
    ovp_text_json_key(&json, "priors");
    ovp_text_json_begin_object(&json);
    ovp_text_json_key_number(&json, "table_calls", ovp_diagnosis_table_calls());
    ovp_text_json_key_integer(&json, "own_calls", (int64_t)session->own_calls);
    ovp_text_json_end_object(&json);
    write_strings(&json, "recheck", session->result.recheck, session->result.recheck_count);
    write_strings(&json, "not_proved", session->not_proved, session->not_proved_count);
    write_strings(&json, "dangers_open", session->result.not_proved, session->result.not_proved_count);
    write_asked(session, &json);
    guide_case_write_json(session, &json);
    guide_heard_write_json(session, &json);
    guide_say_write_json(session, &json);
    return ovp_text_json_end_document(&json);
}

/* ---- the list ----------------------------------------------------------------------------------------- */

static void write_guide(void *context, const char *name, const char *path)
{
    ovp_text_json *json = context;
    lua_guide_about about;
    ovp_error error = {0};
    bool readable = lua_guide_read(path, &about, &error) == OVP_OK;
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "name", name);
    ovp_text_json_key_string(json, "title", readable ? about.title : "");
    ovp_text_json_key_string(json, "text", readable ? about.text : error.what);
    ovp_text_json_key_string(json, "file", path);
    ovp_text_json_end_object(json);
}

static int list_json(const command_call *call)
{
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "guide", 1);
    ovp_text_json_key(&json, "guides");
    ovp_text_json_begin_array(&json);
    lua_list("guides", write_guide, &json);
    ovp_text_json_end_array(&json);
    ovp_text_json_key(&json, "measurements");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        ovp_text_json_begin_object(&json);
        write_measurement(&json, measurement);
        ovp_text_json_key_string(&json, "power", measurement->energised);
        ovp_text_json_key_string(&json, "who", measurement->who);
        ovp_text_json_key_string(&json, "needs_part", measurement->needs_part);
        ovp_text_json_key_number(&json, "minutes", measurement->minutes);
        ovp_text_json_key_number(&json, "wait_minutes", measurement->wait_minutes);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    return ovp_text_json_end_document(&json) == OVP_OK ? 0 : (int)OVP_ERROR_SYSTEM;
}

static void print_guide(void *context, const char *name, const char *path)
{
    const ovp_sink *out = context;
    lua_guide_about about;
    ovp_error error = {0};
    bool readable = lua_guide_read(path, &about, &error) == OVP_OK;
    (void)ovp_text_print(*out, "  %-24s %s\n", name, readable ? about.title : error.what);
}

int guide_print_list(const command_call *call)
{
    if (call->json)
        return list_json(call);
    (void)ovp_text_print(call->out, "Guides\n");
    ovp_sink out = call->out;
    lua_list("guides", print_guide, &out);
    (void)ovp_text_print(call->out, "Measurements (who, tool)\n");
    for (size_t i = 0; i < ovp_diagnosis_measurement_count(); i++) {
        const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_at(i);
        (void)ovp_text_print(call->out, "  %-26s %-11s %-17s %s\n", measurement->id, measurement->who,
                             measurement->tools, measurement->unit);
    }
    (void)ovp_text_print(call->out,
                         "Every fault on one page, to read or to print: faults.html, made by the build "
                         "and installed beside the documents.\n");
    return 0;
}
