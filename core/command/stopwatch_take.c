/* stopwatch: a line comes in; it is kept, answered and watched. */
#include "command/stopwatch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static double seconds_of(clockid_t clock)
{
    struct timespec now = {0};
    (void)clock_gettime(clock, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void say(const stopwatch_session *session, const char *text)
{
    const size_t columns = session->terminal ? command_columns() : 100;
    (void)ovp_text_fold(session->out, text, columns > 100 ? 98 : columns > 40 ? columns - 2 : 38, 2, 4);
}

void stopwatch_help(const stopwatch_session *session)
{
    (void)ovp_text_print(
        session->out,
        "  412       what the display reads, at any time: the line is stamped%s\n"
        "  Enter     as the heat goes on, then as the display passes each mark\n"
        "  on, off   heat on, heat off        door, shut  the door opened, closed\n"
        "  v 117.5   volts at the oven        a 16.9      amps, all elements\n"
        "  o 60      output in percent        s 2000      setpoint\n"
        "  note ...  words to keep            undo        takes the last line back\n"
        "  412!      keeps a reading that looks like a slip of the fingers\n"
        "  end       closes the file and judges the run (Ctrl-C and Ctrl-D too)\n",
        session->count > 1 ? "\n  2 412     the same of oven 2; all that follow take the number, too" : "");
}

/* ---- time
 * -------------------------------------------------------------------------------------------------- */

static void note_sleep(stopwatch_session *session, double stepped_s)
{
    char words[STOPWATCH_WORDS];
    const trace_number length = trace_shown_duration(fabs(round(stepped_s)));
    (void)snprintf(words, sizeof words,
                   stepped_s > 0 ? "this computer slept, or its clock was set forward, by %s: times follow "
                                   "the clock on the wall"
                                 : "the clock of this computer was set back by %s: times go on without it",
                   length.text);
    say(session, words);
    for (size_t i = 0; i < session->count; i++) {
        stopwatch_oven *oven = &session->ovens[i];
        size_t changed;
        ovp_trace_typed note = {
            .kind = OVP_TRACE_TYPED_NOTE, .value = NAN, .at_s = NAN, .words = ovp_span_of(words)};
        if (oven->log.count > 0 && ovp_trace_log_take(&oven->log, &note, session->clock.now_s - oven->zero_s,
                                                      &changed, NULL) == OVP_OK)
            (void)stopwatch_keep(session, oven, NULL);
    }
}

double stopwatch_now(stopwatch_session *session)
{
    if (session->scripted)
        return session->script_s;
    double stepped_s;
    const double now_s = ovp_trace_log_clock_look(&session->clock, seconds_of(CLOCK_MONOTONIC),
                                                  seconds_of(CLOCK_REALTIME), &stepped_s);
    if (stepped_s != 0)
        note_sleep(session, stepped_s);
    return now_s;
}

/* ---- the first-minute rules
 * ------------------------------------------------------------------------------------ */

static void watch_events(ovp_trace_watch *watch, const ovp_trace_log *log, double from_s, double to_s)
{
    for (size_t i = 0; i < log->count; i++) {
        const ovp_trace_log_entry *entry = &log->entries[i];
        if (entry->undone || !(entry->time_s > from_s) || entry->time_s > to_s)
            continue;
        if (entry->kind == OVP_TRACE_TYPED_HEAT_ON)
            ovp_trace_watch_event(watch, entry->time_s, OVP_TRACE_EVENT_HEAT_ON);
        else if (entry->kind == OVP_TRACE_TYPED_HEAT_OFF)
            ovp_trace_watch_event(watch, entry->time_s, OVP_TRACE_EVENT_HEAT_OFF);
        else if (entry->kind == OVP_TRACE_TYPED_DOOR)
            ovp_trace_watch_event(watch, entry->time_s, OVP_TRACE_EVENT_DOOR_OPEN);
        else if (entry->kind == OVP_TRACE_TYPED_SHUT)
            ovp_trace_watch_event(watch, entry->time_s, OVP_TRACE_EVENT_DOOR_CLOSED);
    }
}

typedef struct watching {
    ovp_trace_watch watch;
    const ovp_trace_log *log;
    double last_s;
} watching;

/* Events first: a reading at the same moment is of what came after. */
static void watch_row(void *context, const ovp_trace_sample *sample)
{
    watching *on = context;
    watch_events(&on->watch, on->log, on->last_s, sample->time_s);
    on->last_s = sample->time_s;
    (void)ovp_trace_watch_sample(&on->watch, sample);
}

/* From the start each time: a line undone has never been. */
void stopwatch_watch(stopwatch_session *session, size_t index)
{
    stopwatch_oven *oven = &session->ovens[index];
    watching *on = malloc(sizeof *on);
    if (on == NULL)
        return;
    on->log = &oven->log;
    on->last_s = -1;
    ovp_trace_watch_init(&on->watch, &oven->expects);
    ovp_trace_log_samples(&oven->log, watch_row, on);
    const ovp_trace_alarm alarm = on->watch.state.alarm;
    oven->alarm_text[0] = '\0';
    if (alarm != OVP_TRACE_ALARM_NONE)
        ovp_trace_watch_words(&on->watch, oven->alarm_text, sizeof oven->alarm_text);
    free(on);
    const bool is_new = alarm != OVP_TRACE_ALARM_NONE && alarm != oven->alarm;
    oven->alarm = alarm;
    if (!is_new)
        return;
    char text[2 * STOPWATCH_WORDS];
    (void)snprintf(text, sizeof text, "%s%s", stopwatch_label(session, index).text, oven->alarm_text);
    (void)ovp_text_print(session->out, "\n");
    say(session, text);
    (void)ovp_text_print(session->out, "\n");
}

/* ---- lines
 * ---------------------------------------------------------------------------------------------------- */

static void complain(const stopwatch_session *session, const ovp_error *error)
{
    char text[2 * OVP_ERROR_TEXT_SIZE + 8];
    (void)snprintf(text, sizeof text, "%s; %s", error->what, error->hint);
    say(session, text);
}

/* Not on the disk: as if it had not been typed. */
static void take_back(stopwatch_oven *oven, size_t changed)
{
    oven->log.count--;
    if (changed < oven->log.count)
        oven->log.entries[changed].undone = false;
}

static void take(stopwatch_session *session, size_t index, const ovp_trace_typed *typed, double now_s)
{
    stopwatch_oven *oven = &session->ovens[index];
    ovp_error error = {0};
    size_t changed = 0;
    const bool first = isnan(oven->zero_s);
    if (first)
        oven->zero_s = now_s;
    const double at_s =
        session->scripted ? now_s : now_s - oven->zero_s; /* a time that was given is the record's */
    ovp_status status = ovp_trace_log_take(&oven->log, typed, at_s, &changed, &error);
    if (status == OVP_OK) {
        status = stopwatch_keep(session, oven, &error);
        if (status != OVP_OK)
            take_back(oven, changed);
    }
    if (status != OVP_OK) {
        if (first)
            oven->zero_s = NAN;
        if (status == OVP_ERROR_SYSTEM)
            say(session, "NOT KEPT:");
        complain(session, &error);
        return;
    }
    say(session, stopwatch_said(session, index, changed).text);
    stopwatch_watch(session, index);
}

static void ask_oven(stopwatch_session *session, const ovp_trace_typed *typed, const char *line, double now_s)
{
    char text[STOPWATCH_WORDS];
    session->waits = true;
    session->waiting = *typed;
    session->waiting_s = now_s;
    (void)ovp_copy_string(session->waiting_line, sizeof session->waiting_line, ovp_span_of(line));
    if (typed->words.bytes != NULL) /* they lie in the line */
        session->waiting.words.bytes = session->waiting_line + (typed->words.bytes - line);
    int used = snprintf(text, sizeof text, "%s of which oven?", line[0] == '\0' ? "Enter:" : line);
    for (size_t i = 0; i < session->count && used > 0 && (size_t)used < sizeof text; i++)
        used += snprintf(text + used, sizeof text - (size_t)used, "%s %zu %s", i ? "," : "", i + 1,
                         session->ovens[i].label);
    if (used > 0 && (size_t)used < sizeof text)
        (void)snprintf(text + used, sizeof text - (size_t)used, ". Type the number; the moment is kept");
    say(session, text);
}

static void drop_waiting(stopwatch_session *session)
{
    char text[STOPWATCH_WORDS];
    (void)snprintf(text, sizeof text, "(%s is not kept: no oven was named)",
                   session->waiting_line[0] == '\0' ? "Enter" : session->waiting_line);
    say(session, text);
    session->waits = false;
}

static void take_all(stopwatch_session *session, const ovp_trace_typed *typed, double now_s)
{
    for (size_t i = 0; i < session->count; i++)
        take(session, i, typed, now_s);
}

static void route(stopwatch_session *session, ovp_trace_typed *typed, const char *line, double now_s)
{
    if (session->waits && typed->kind == OVP_TRACE_TYPED_MARK && typed->oven > 0) {
        session->waits = false;
        take(session, typed->oven - 1, &session->waiting, session->waiting_s);
        return;
    }
    if (session->waits)
        drop_waiting(session);
    if (typed->oven == 0 && session->count == 1)
        typed->oven = 1;
    if (typed->oven > 0)
        take(session, typed->oven - 1, typed, now_s);
    else if (typed->kind == OVP_TRACE_TYPED_NOTE)
        take_all(session, typed, now_s);
    else
        ask_oven(session, typed, line, now_s);
}

void stopwatch_line(stopwatch_session *session, const char *line)
{
    ovp_trace_typed typed;
    ovp_error error = {0};
    double now_s = stopwatch_now(session);
    if (ovp_trace_typed_read(ovp_span_of(line), session->count, &typed, &error) != OVP_OK) {
        complain(session, &error);
        return;
    }
    if (!isnan(typed.at_s) && session->terminal) {
        say(session, "@ is for lines from a file: at the terminal the moment is when you press Enter");
        return;
    }
    if (!isnan(typed.at_s)) {
        session->scripted = true;
        now_s = session->script_s = typed.at_s;
    }
    if (typed.kind == OVP_TRACE_TYPED_END)
        session->ended = true;
    else if (typed.kind == OVP_TRACE_TYPED_HELP)
        stopwatch_help(session);
    else
        route(session, &typed, line, now_s);
}
