/* command/stopwatch.h: what the files of `stopwatch` share. */
#ifndef OVENPROOF_COMMAND_STOPWATCH_H
#define OVENPROOF_COMMAND_STOPWATCH_H

#include "command/trace.h"
#include "store/store.h"

enum {
    STOPWATCH_OVENS = 9,
    STOPWATCH_LINES = 4096, /* of one oven */
    STOPWATCH_LINE_BYTES = 256,
    STOPWATCH_WORDS = 512,
};

typedef struct stopwatch_oven {
    char label[OVP_TRACE_LOG_NAME];
    const char *named;      /* as on the command line */
    trace_setting *setting; /* its description and model */
    ovp_trace_log log;
    ovp_trace_log_entry *entries;
    double zero_s; /* of its record, by the session's clock; NAN: nothing typed yet */
    store_recording file;
    char *kept; /* the text that is on the disk */
    size_t kept_count;
    bool resumed;
    ovp_trace_watch_setting expects;
    ovp_trace_alarm alarm; /* said already */
    char alarm_text[STOPWATCH_WORDS];
    trace_run *run; /* judged at the end; NULL: too little */
    ovp_error not_judged;
} stopwatch_oven;

typedef struct stopwatch_session {
    const command_call *call;
    ovp_sink out; /* standard error with --json */
    bool terminal;
    stopwatch_oven ovens[STOPWATCH_OVENS];
    size_t count;
    ovp_trace_log_clock clock;
    bool scripted; /* times came with the lines */
    double script_s;
    /* a line that named no oven, waiting for a number */
    bool waits;
    ovp_trace_typed waiting;
    char waiting_line[STOPWATCH_LINE_BYTES];
    double waiting_s;
    bool ended;
} stopwatch_session;

/* stopwatch_open.c */
ovp_status stopwatch_open(stopwatch_session *session, ovp_error *error);
void stopwatch_close(stopwatch_session *session);
/** On the disk before it returns; on a failure the log goes back to `count` entries. */
ovp_status stopwatch_keep(stopwatch_session *session, stopwatch_oven *oven, ovp_error *error);

/* stopwatch_take.c */
/** One line, which came at this moment; what is said of it goes out. */
void stopwatch_line(stopwatch_session *session, const char *line);
/** The first-minute rules over all that was typed for an oven; a new alarm goes out. */
void stopwatch_watch(stopwatch_session *session, size_t index);
void stopwatch_help(const stopwatch_session *session);
double stopwatch_now(stopwatch_session *session);

/* stopwatch_words.c */
typedef struct stopwatch_text {
    char text[STOPWATCH_WORDS];
} stopwatch_text;
/** One line of status. */
stopwatch_text stopwatch_status(const stopwatch_session *session, size_t index, double session_s);
/** What was done with an entry. */
stopwatch_text stopwatch_said(const stopwatch_session *session, size_t index, size_t entry_index);
/** The display as a person reads it: in the oven's own scale. */
command_words stopwatch_temperature(const stopwatch_oven *oven, double value_C);
/** "1 QR8-001", or "" where there is only one. */
command_words stopwatch_label(const stopwatch_session *session, size_t oven);

/* stopwatch_talk.c */
ovp_status stopwatch_talk(stopwatch_session *session, ovp_error *error);

#endif
