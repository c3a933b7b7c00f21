/* trace_follow.c: a file that grows, judged as it grows. The watch speaks at once; the judge has the last
 * word. */
#include "command/beside.h"
#include "command/trace.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum {
    HEAD_BYTES =
        OVP_TEXT_HEAD_BYTES, /* until then the whole text is read anew: the dialect may still change */
    CHUNK = 65536,
    PAUSE_MS = 250,
};

/* Where a file ends for now. */
typedef struct growing {
    const char *name;
    int file;
    bool is_file; /* else a pipe or a terminal, whose end is the end */
    ino_t inode;
    dev_t device;
    char head[HEAD_BYTES +
              CHUNK]; /* what was read so far, up to HEAD_BYTES; then what stands without a line end */
    size_t held;
    bool past_head;
    double quiet_since_s, told_quiet_s;
} growing;

typedef struct following {
    const trace_setting *setting;
    ovp_trace_watch_setting expected;
    ovp_trace_watch watch;
    ovp_trace_reader *reader;
    ovp_trace_judge *judge;
    void *reader_memory, *judge_memory;
    ovp_trace_expectation expectation;
    trace_alarm alarms[TRACE_ALARMS];
    size_t alarm_count;
    ovp_trace_alarm told;
    double first_s; /* the first sample's time */
    bool opened;    /* what is read was said */
    bool mute;      /* what is said arrives nowhere */
    bool terminal;
    const char *broke_off; /* why the file was not followed to its end; NULL */
    growing from;
} following;

static volatile sig_atomic_t stopped;

static void stop(int signal_number)
{
    (void)signal_number;
    stopped = 1;
}

static double now_s(void)
{
    struct timespec at;
    clock_gettime(CLOCK_MONOTONIC, &at);
    return (double)at.tv_sec + 1e-9 * (double)at.tv_nsec;
}

/* ---- samples ----------------------------------------------------------------------------------------------
 */

static void clear_line(const following *at)
{
    if (at->terminal)
        (void)ovp_text_print(at->setting->call->out, "\r%*s\r", (int)command_columns() - 1, "");
}

static void tell_start(following *at)
{
    const ovp_trace_input *input = ovp_trace_reader_input(at->reader);
    if (at->opened || input->columns[OVP_TRACE_TEMPERATURE][0] == '\0')
        return;
    at->opened = true;
    if (at->setting->call->json)
        return;
    (void)ovp_text_print(at->setting->call->out,
                         "Following %s, \"%s\" as temperature%s\nCtrl-C ends and judges the run.\n",
                         at->from.name, input->columns[OVP_TRACE_TEMPERATURE],
                         at->setting->has_oven ? "." : "; without --oven only plain faults show.");
    (void)fflush(stdout);
}

/* The one next check, without heat wherever one tells as much. */
static const ovp_diagnosis_measurement *next_of(ovp_trace_alarm alarm)
{
    static const char *const rows[OVP_TRACE_ALARMS] = {[OVP_TRACE_ALARM_OPEN] = "ohms-couple",
                                                       [OVP_TRACE_ALARM_UNDER] = "warm-tip",
                                                       [OVP_TRACE_ALARM_UNIT] = "read-unit",
                                                       [OVP_TRACE_ALARM_BACKWARDS] = "warm-tip",
                                                       [OVP_TRACE_ALARM_NO_RISE] = "warm-tip",
                                                       [OVP_TRACE_ALARM_NO_POWER] = "ohms-plug-pins",
                                                       [OVP_TRACE_ALARM_UNSEEN] = "look-tip",
                                                       [OVP_TRACE_ALARM_HALF] = "ohms-element",
                                                       [OVP_TRACE_ALARM_HEATS_OFF] = "ohms-relay-output"};
    return rows[alarm] != NULL ? ovp_diagnosis_measurement_named(rows[alarm]) : NULL;
}

/* What cannot be said must not go unnoticed: the run may be in danger. */
static void say_alarm(following *at, const trace_alarm *alarm)
{
    char next[2 * OVP_TRACE_TEXT_SIZE];
    const double time_s = alarm->state.at_s - at->first_s;
    clear_line(at);
    if (at->terminal && ovp_trace_alarm_is_danger(alarm->state.alarm))
        (void)ovp_text_print(at->setting->call->out, "\a");
    command_say(at->setting->call->out, alarm->text);
    (void)ovp_text_print(at->setting->call->out, "  At %s of the run.\n", trace_shown_duration(time_s).text);
    if (alarm->next != NULL) {
        (void)snprintf(next, sizeof next, "Next check: %s", alarm->next->question);
        command_say(at->setting->call->out, next);
    }
    at->mute = fflush(stdout) != 0;
}

static void tell_alarm(following *at)
{
    tell_start(at);
    at->told = at->watch.state.alarm;
    if (at->alarm_count >= TRACE_ALARMS)
        return;
    trace_alarm *kept = &at->alarms[at->alarm_count++];
    kept->state = at->watch.state;
    kept->next = next_of(at->told);
    ovp_trace_watch_words(&at->watch, kept->text, sizeof kept->text);
    if (!at->setting->call->json)
        say_alarm(at, kept);
}

static void take_sample(void *context, const ovp_trace_sample *sample)
{
    following *at = context;
    if (isnan(at->first_s))
        at->first_s = sample->time_s;
    ovp_trace_judge_sample(at->judge, sample);
    /* What was read anew comes to the same alarms: only what is new is told. */
    if (ovp_trace_watch_sample(&at->watch, sample) && at->watch.state.alarm != at->told &&
        (at->alarm_count == 0 || at->watch.state.at_s > at->alarms[at->alarm_count - 1].state.at_s))
        tell_alarm(at);
}

static void start_reading(following *at)
{
    at->judge = ovp_trace_judge_init(at->judge_memory, &at->expectation);
    at->reader = ovp_trace_reader_init(at->reader_memory, &at->setting->options, take_sample, at);
    ovp_trace_watch_init(&at->watch, &at->expected);
    at->first_s = NAN;
}

/* ---- bytes ------------------------------------------------------------------------------------------------
 */

/* Bytes up to and with the last line end. */
static size_t whole_lines(const char *bytes, size_t count)
{
    while (count > 0 && bytes[count - 1] != '\n' && bytes[count - 1] != '\r')
        count--;
    return count;
}

/* The first stretch is read from its start each time, as a file that ends there. A text that is too short to
   be understood may still grow. */
static void read_head_anew(following *at, bool last, ovp_status *status, ovp_error *error)
{
    const size_t count = last ? at->from.held : whole_lines(at->from.head, at->from.held);
    start_reading(at);
    *status = ovp_trace_reader_feed(at->reader, at->from.head, count, error);
    if (*status == OVP_OK)
        *status = ovp_trace_reader_end(at->reader, error);
    if (*status == OVP_ERROR_DATA && !last)
        *status = OVP_OK;
}

/* From then on the reader keeps what it has; only whole lines are handed on. */
static ovp_status read_on(following *at, bool last, ovp_error *error)
{
    growing *from = &at->from;
    const bool endless = from->held > CHUNK; /* no line is so long: the reader says what is wrong */
    const size_t count = last || endless ? from->held : whole_lines(from->head, from->held);
    ovp_status status = ovp_trace_reader_feed(at->reader, from->head, count, error);
    memmove(from->head, from->head + count, from->held - count);
    from->held -= count;
    return status == OVP_OK && last ? ovp_trace_reader_end(at->reader, error) : status;
}

static ovp_status take_bytes(following *at, bool last, ovp_error *error)
{
    ovp_status status = OVP_OK;
    if (!at->from.past_head && at->from.held > HEAD_BYTES) {
        at->from.past_head = true;
        start_reading(at);
    }
    if (at->from.past_head)
        return read_on(at, last, error);
    read_head_anew(at, last, &status, error);
    return status;
}

/* A file that was replaced or cut is another run: this one is judged up to there. */
static bool is_same(following *at)
{
    struct stat by_name, open_file;
    if (!at->from.is_file || fstat(at->from.file, &open_file) != 0)
        return true;
    if (open_file.st_size < lseek(at->from.file, 0, SEEK_CUR))
        at->broke_off = "the file became shorter while it was followed: a new run may have begun there";
    else if (stat(at->from.name, &by_name) != 0)
        at->broke_off = "the file was removed while it was followed";
    else if (by_name.st_ino != at->from.inode || by_name.st_dev != at->from.device)
        at->broke_off = "the file was replaced while it was followed: a new run may have begun there";
    return at->broke_off == NULL;
}

/* Waits for a pipe, and reads what is there; *end: nothing will come any more. */
static ovp_status read_some(following *at, size_t *count, bool *end, ovp_error *error)
{
    struct pollfd wait = {at->from.file, POLLIN, 0};
    *count = 0;
    if (!at->from.is_file && poll(&wait, 1, PAUSE_MS) <= 0)
        return OVP_OK;
    const ssize_t got = read(at->from.file, at->from.head + at->from.held, CHUNK - 1);
    if (got < 0 && errno != EINTR && errno != EAGAIN) {
        ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot be read: %s", strerror(errno));
        ovp_error_hint(error, "is the disk or the stick still there?");
        return error->status;
    }
    *count = got > 0 ? (size_t)got : 0;
    at->from.held += *count;
    *end = got == 0 && !at->from.is_file;
    return OVP_OK;
}

/* ---- what is seen meanwhile
 * ----------------------------------------------------------------------------------- */

static void show_status(const following *at)
{
    if (!at->terminal || at->watch.samples == 0)
        return;
    const trace_number time = trace_shown_duration(at->watch.last_s);
    (void)ovp_text_print(at->setting->call->out, "\r%s  %s  %-30s", time.text,
                         command_show_temperature(at->setting->call, at->watch.last_C, 0).text,
                         at->told == OVP_TRACE_ALARM_NONE ? "nothing wrong seen so far" : "see above");
    (void)fflush(stdout);
}

/* True when it was quiet for as long as the caller waits. */
static bool is_quiet(following *at, double until_s)
{
    static const double tell_after_s = 120;
    const double quiet_s = now_s() - at->from.quiet_since_s;
    if (quiet_s - at->from.told_quiet_s >= tell_after_s && !at->setting->call->json && at->terminal) {
        at->from.told_quiet_s = quiet_s;
        clear_line(at);
        (void)ovp_text_print(at->setting->call->out, "No new reading for %s: is the logger running?\n",
                             trace_shown_duration(quiet_s).text);
        (void)fflush(stdout);
    }
    return quiet_s >= until_s;
}

static ovp_status follow(following *at, double until_s, ovp_error *error)
{
    bool end = false;
    ovp_status status = OVP_OK;
    at->from.quiet_since_s = now_s();
    while (status == OVP_OK && !end && stopped == 0 && !at->mute) {
        size_t count = 0;
        status = read_some(at, &count, &end, error);
        if (status == OVP_OK && count > 0) {
            at->from.quiet_since_s = now_s();
            at->from.told_quiet_s = 0;
            status = take_bytes(at, false, error);
            tell_start(at);
            show_status(at);
            continue;
        }
        if (status != OVP_OK || end || !is_same(at) || is_quiet(at, until_s))
            break;
        if (at->from.is_file)
            (void)poll(NULL, 0, PAUSE_MS);
    }
    if (at->mute) {
        if (freopen("/dev/null", "w", stdout) == NULL) /* what waits there can go nowhere */
            clearerr(stdout);
        ovp_error_set(error, OVP_ERROR_SYSTEM, "%.240s The output cannot be written.",
                      at->alarms[at->alarm_count - 1].text);
        ovp_error_hint(error, "is the disk full?");
        return error->status;
    }
    clear_line(at);
    if (at->opened && !at->setting->call->json)
        (void)ovp_text_print(at->setting->call->out, at->broke_off != NULL ? "\nEnded: %s.\n" : "\n",
                             at->broke_off);
    return status == OVP_OK ? take_bytes(at, true, error) : status;
}

/* ---- the command
 * ------------------------------------------------------------------------------------------------ */

/* A logger that has not begun yet: its file is waited for, where there is a folder for it. */
static void wait_for_file(following *at, double until_s)
{
    const double since_s = now_s();
    if (access(at->from.name, F_OK) == 0)
        return;
    if (!at->setting->call->json) {
        (void)ovp_text_print(at->setting->call->out, "%s is not there yet: waiting for it. Ctrl-C ends.\n",
                             at->from.name);
        (void)fflush(stdout);
    }
    while (access(at->from.name, F_OK) != 0 && errno == ENOENT && stopped == 0 && now_s() - since_s < until_s)
        (void)poll(NULL, 0, PAUSE_MS);
}

static ovp_status open_growing(following *at, const char *name, double until_s, ovp_error *error)
{
    struct stat about;
    const bool given = strcmp(name, "-") != 0;
    at->from.name = given ? name : "standard input";
    if (given)
        wait_for_file(at, until_s);
    at->from.file = given ? open(name, O_RDONLY | O_CLOEXEC) : STDIN_FILENO;
    if (at->from.file < 0 || fstat(at->from.file, &about) != 0 || S_ISDIR(about.st_mode)) {
        if (at->from.file >= 0 && S_ISDIR(about.st_mode))
            ovp_error_set(error, OVP_ERROR_DATA, "is a folder");
        else
            ovp_error_set(error, OVP_ERROR_DATA, "cannot be opened: %s", strerror(errno));
        ovp_error_hint(error, "name the file that the logger writes, or - for standard input");
        return error->status;
    }
    at->from.is_file = S_ISREG(about.st_mode) && at->from.file != STDIN_FILENO;
    at->from.inode = about.st_ino;
    at->from.device = about.st_dev;
    return OVP_OK;
}

static void listen_to_stop(void)
{
    struct sigaction action = {.sa_handler = stop};
    stopped = 0;
    (void)sigemptyset(&action.sa_mask);
    (void)sigaction(SIGINT, &action, NULL); /* once: a second Ctrl-C ends at once */
}

static void *aligned(size_t size)
{
    return aligned_alloc(64, (size + 63) / 64 * 64);
}

static ovp_status follow_run(following *at, double until_s, trace_run *run, ovp_error *error)
{
    const trace_setting *setting = at->setting;
    ovp_status status = open_growing(at, setting->call->operands[0], until_s, error);
    if (status == OVP_OK) {
        at->reader_memory = aligned(ovp_trace_reader_size());
        at->judge_memory = aligned(ovp_trace_judge_size());
        if (at->reader_memory == NULL || at->judge_memory == NULL)
            status = ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    }
    if (status == OVP_OK) {
        ovp_trace_watch_expect(
            setting->has_oven ? &setting->oven : NULL, setting->has_model ? &setting->model : NULL,
            setting->has_baseline ? &setting->baseline : NULL, setting->expectation.ambient_C, &at->expected);
        at->expected.shown = setting->expectation.shown;
        at->expectation = setting->expectation;
        start_reading(at);
        status = follow(at, until_s, error);
    }
    if (status != OVP_OK) {
        ovp_error_place(error, at->from.name, 0);
        return status;
    }
    run->name = at->from.name;
    run->input = *ovp_trace_reader_input(at->reader);
    ovp_trace_judge_result(at->judge, &run->result);
    run->outline_count = ovp_trace_judge_outline(at->judge, run->outline, TRACE_OUTLINE);
    memcpy(run->alarms, at->alarms, sizeof run->alarms);
    run->alarm_count = at->alarm_count;
    run->followed = true;
    run->broke_off = at->broke_off;
    return OVP_OK;
}

ovp_status command_trace_follow(const trace_setting *setting, trace_run *run, ovp_error *error)
{
    double until_s = INFINITY;
    ovp_status status = command_quantity(setting->call, "until-quiet", OVP_TEXT_DURATION, &until_s, error);
    if (status != OVP_OK)
        return status;
    following *at = calloc(1, sizeof *at);
    if (at == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    at->setting = setting;
    at->terminal = isatty(STDOUT_FILENO) == 1 && !setting->call->json;
    at->from.file = -1;
    listen_to_stop();
    status = follow_run(at, until_s, run, error);
    if (at->from.file > STDIN_FILENO)
        (void)close(at->from.file);
    free(at->reader_memory);
    free(at->judge_memory);
    free(at);
    return status;
}
