/* `stopwatch`: the hand recorder of a shop without a logger. */
#include "command/stopwatch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static const command_option options[] = {
    {"record", "FILE", false, "where to keep it; for several ovens a folder. Else OVEN-DATE-TIME.csv, here"},
    {"serial", "A,B", false, "serials: several ovens of the one model, or one for each oven"},
    {"resume", NULL, false,
     "go on with a record that was cut off: the file of --record, else the last one here"},
    {0},
};

static ovp_status to_error(void *context, const char *bytes, size_t count)
{
    (void)context;
    return fwrite(bytes, 1, count, stderr) == count ? OVP_OK : OVP_ERROR_SYSTEM;
}

/* ---- the end
 * ------------------------------------------------------------------------------------------------------ */

static void mark_ended(stopwatch_oven *oven)
{
    char when[STORE_WHEN_SIZE], line[64];
    store_now(when);
    const int length = snprintf(line, sizeof line, "# ended: %s\n", when);
    if (length > 0) /* without it the record is complete all the same */
        (void)store_recording_append(&oven->file, line, (size_t)length, NULL);
}

static void judge(stopwatch_oven *oven)
{
    oven->run = calloc(1, sizeof *oven->run);
    if (oven->run == NULL)
        return;
    ovp_status status = command_trace_read(oven->setting, oven->file.path, oven->run, &oven->not_judged);
    if (status == OVP_OK)
        status = command_trace_weigh(oven->setting, oven->run, &oven->not_judged);
    if (status == OVP_OK)
        return;
    free(oven->run);
    oven->run = NULL;
}

static size_t readings_of(const stopwatch_oven *oven)
{
    ovp_trace_log_state state;
    ovp_trace_log_stand(&oven->log, &state);
    return state.readings;
}

static bool heat_is_on(const stopwatch_oven *oven)
{
    ovp_trace_log_state state;
    ovp_trace_log_stand(&oven->log, &state);
    return state.heat;
}

/* Called out while it ran, and the run as a whole does not say what it was. */
static bool is_danger(const stopwatch_oven *oven)
{
    return ovp_trace_alarm_is_danger(oven->alarm) &&
           (oven->run == NULL ||
            (!oven->run->result.danger_now && oven->run->causes.verdict != OVP_DIAGNOSIS_FAULT));
}

static void print_oven(const stopwatch_session *session, const stopwatch_oven *oven)
{
    ovp_sink out = session->call->out;
    if (oven->log.count == 0) {
        (void)ovp_text_print(out, "%s: nothing was typed, so nothing was kept.\n", oven->label);
        return;
    }
    const size_t readings = readings_of(oven);
    (void)ovp_text_print(out, "%s: %zu reading%s in %s\n", oven->label, readings, readings == 1 ? "" : "s",
                         oven->file.path);
    if (is_danger(oven)) { /* the whole run may be too short for a verdict; the alarm is none too early */
        (void)ovp_text_fold(out, oven->alarm_text, 98, 0, 2);
        (void)ovp_text_print(out,
                             "Leave the heat off. With the oven cold, this finds the cause:\n"
                             "  ovenproof guide --oven %s --trace %s\n",
                             oven->named, oven->file.path);
        return;
    }
    if (oven->run != NULL)
        command_trace_print(oven->setting, oven->run);
    else
        (void)ovp_text_print(out, "  Too little to judge: %s.\n", oven->not_judged.what);
    if (heat_is_on(oven))
        (void)ovp_text_print(out, "The heat was still on: switch it off, or stay beside the oven.\n");
}

static void print_json(const stopwatch_session *session)
{
    ovp_text_json json;
    ovp_text_json_init(&json, session->call->out);
    ovp_text_json_begin_document(&json, "stopwatch", 1);
    ovp_text_json_key(&json, "ovens");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < session->count; i++) {
        const stopwatch_oven *oven = &session->ovens[i];
        ovp_trace_log_state state;
        ovp_trace_log_stand(&oven->log, &state);
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_string(&json, "oven", oven->label);
        ovp_text_json_key_string(&json, "file", oven->log.count > 0 ? oven->file.path : NULL);
        ovp_text_json_key_string(&json, "began", oven->log.count > 0 ? oven->log.began : NULL);
        ovp_text_json_key_integer(&json, "readings", (int64_t)state.readings);
        ovp_text_json_key_integer(&json, "undone", (int64_t)state.undone);
        ovp_text_json_key_string(
            &json, "alarm", oven->alarm == OVP_TRACE_ALARM_NONE ? NULL : ovp_trace_alarm_name(oven->alarm));
        ovp_text_json_key(&json, "trace");
        if (oven->run != NULL) {
            ovp_text_json_begin_object(&json);
            command_trace_write_json(&json, oven->run);
            ovp_text_json_end_object(&json);
        } else {
            ovp_text_json_null(&json);
        }
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    (void)ovp_text_json_end_document(&json);
}

static int finish(stopwatch_session *session)
{
    int verdict = OVP_OK;
    for (size_t i = 0; i < session->count; i++) {
        stopwatch_oven *oven = &session->ovens[i];
        if (oven->log.count == 0)
            continue;
        mark_ended(oven);
        judge(oven);
        if (oven->run == NULL || is_danger(oven) || oven->run->causes.verdict != OVP_DIAGNOSIS_HEALTHY)
            verdict = OVP_JUDGED;
    }
    if (session->call->json) {
        print_json(session);
        return verdict;
    }
    (void)ovp_text_print(session->call->out, "\n");
    for (size_t i = 0; i < session->count; i++) {
        if (i > 0)
            (void)ovp_text_print(session->call->out, "\n");
        print_oven(session, &session->ovens[i]);
    }
    return verdict;
}

/* ---- the start
 * ---------------------------------------------------------------------------------------------------- */

static void begin_clock(stopwatch_session *session)
{
    struct timespec steady = {0}, wall = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &steady);
    (void)clock_gettime(CLOCK_REALTIME, &wall);
    ovp_trace_log_clock_begin(&session->clock, (double)steady.tv_sec + (double)steady.tv_nsec * 1e-9,
                              (double)wall.tv_sec + (double)wall.tv_nsec * 1e-9, 0);
}

static void greet(const stopwatch_session *session)
{
    if (!session->terminal)
        return;
    (void)ovp_text_print(session->out,
                         "Type what the display reads, any time. Stay beside it the first two minutes.\n"
                         "`help` lists the rest, `end` closes the file and judges the run.\n");
}

static int run_stopwatch(command_call *call)
{
    if (call->operand_count == 0)
        return command_usage(call, "an oven is wanted: a file, or a name such as QR-8");
    stopwatch_session *session = calloc(1, sizeof *session);
    ovp_error error = {0};
    int verdict = OVP_OK;
    if (session == NULL) {
        (void)ovp_error_set(&error, OVP_ERROR_MEMORY, "out of memory");
        return command_fail(&error);
    }
    session->call = call;
    session->out = call->json ? (ovp_sink){to_error, NULL} : call->out;
    session->terminal = isatty(STDIN_FILENO) == 1;
    begin_clock(session);
    ovp_status status = stopwatch_open(session, &error);
    if (status == OVP_OK) {
        greet(session);
        for (size_t i = 0; i < session->count; i++)
            if (session->ovens[i].resumed)
                stopwatch_watch(session, i);
        status = stopwatch_talk(session, &error);
    }
    if (status == OVP_OK)
        verdict = finish(session);
    stopwatch_close(session);
    free(session);
    return status == OVP_OK ? command_finish(verdict) : command_fail(&error);
}

const command_definition command_stopwatch = {
    .name = "stopwatch",
    .synopsis = "OVEN... [--serial A,B] [--record FILE]",
    .summary = "Records a heat-up by hand: type what the display reads, press Enter at each mark.",
    .details =
        "The moment is stamped when the line arrives, every line is on the disk before it is answered, "
        "and a display that runs the wrong way is called out at once. Several ovens: put the number in "
        "front, `2 412`. Cut off? The same command goes on with the file. From notes on paper, as "
        "standard input: `@19:40 1000` is 1000 at 19 min 40 s. At the end each run is judged as `trace` "
        "does. Exit status: 0 good, 1 fault, can't tell or too little to judge.",
    .options = options,
    .examples = "ovenproof stopwatch QR-3\n"
                "ovenproof stopwatch QR-8 --serial QR8-001,QR8-002\n"
                "ovenproof stopwatch QR-3 < docs/examples/stopwatch-notes.txt\n",
    .run = run_stopwatch,
};
