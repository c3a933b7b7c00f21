/* stopwatch: lines from a terminal, with a status above the prompt that goes on by itself; or from a pipe. */
#include "command/stopwatch.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

/* The terminal keeps its mode: whatever ends the program, nothing has to be put right. So what is being typed
   is not known, and the status is redrawn without touching that line. */

typedef struct typed_lines {
    char bytes[4096];
    size_t count;
    bool too_long, end;
} typed_lines;

static volatile sig_atomic_t stopped;

static void note_stop(int number)
{
    (void)number;
    stopped = 1;
}

enum {
    SIGNALS = 3,
};

static const int signals[SIGNALS] = {SIGINT, SIGTERM, SIGHUP};

static void catch_signals(struct sigaction before[SIGNALS])
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = note_stop; /* no SA_RESTART: the wait must end */
    (void)sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < SIGNALS; i++)
        (void)sigaction(signals[i], &action, &before[i]);
}

static void release_signals(const struct sigaction before[SIGNALS])
{
    for (size_t i = 0; i < SIGNALS; i++)
        (void)sigaction(signals[i], &before[i], NULL);
}

/* ---- the screen
 * --------------------------------------------------------------------------------------------------- */

static bool moves_cursor(const stopwatch_session *session)
{
    return session->terminal && isatty(STDOUT_FILENO) == 1 && !session->call->json;
}

/* A line of status, never wider than the screen. */
static void print_status(const stopwatch_session *session, size_t oven, double now_s)
{
    stopwatch_text status = stopwatch_status(session, oven, now_s);
    const size_t columns = command_columns();
    while (ovp_text_columns(status.text) >= columns && status.text[0] != '\0') {
        size_t length = strlen(status.text);
        while (length > 1 && ((unsigned char)status.text[length - 1] & 0xC0) == 0x80)
            length--;
        status.text[length - 1] = '\0';
    }
    (void)ovp_text_print(session->out, "%s", status.text);
}

static void draw(stopwatch_session *session)
{
    const double now_s = stopwatch_now(session);
    for (size_t i = 0; i < session->count; i++) {
        print_status(session, i, now_s);
        (void)ovp_text_print(session->out, "\n");
    }
    (void)ovp_text_print(session->out, "> ");
    (void)fflush(stdout);
}

/* In place, above the line that is being typed; the cursor comes back to where it was. */
static void redraw(stopwatch_session *session)
{
    const double now_s = stopwatch_now(session);
    (void)ovp_text_print(session->out, "\0337\r\033[%zuA", session->count);
    for (size_t i = 0; i < session->count; i++) {
        print_status(session, i, now_s);
        (void)ovp_text_print(session->out, "\033[K\r\033[1B");
    }
    (void)ovp_text_print(session->out, "\0338");
    (void)fflush(stdout);
}

/* The line has been typed: status and prompt go, the answer takes their place. */
static void clear(const stopwatch_session *session, const char *line)
{
    const size_t columns = command_columns(),
                 rows = 1 + (2 + ovp_text_columns(line)) / (columns ? columns : 1);
    (void)ovp_text_print(session->out, "\r\033[%zuA\033[J", session->count + rows);
}

/* ---- lines
 * ----------------------------------------------------------------------------------------------------------
 */

static void take_text(stopwatch_session *session, char *text, bool too_long)
{
    size_t kept = 0;
    for (const char *at = text; *at != '\0'; at++) {
        if (*at != '\r')
            text[kept++] = *at;
    }
    text[kept] = '\0';
    if (moves_cursor(session))
        clear(session, text);
    if (too_long || strlen(text) >= STOPWATCH_LINE_BYTES)
        (void)ovp_text_print(session->out, "  that line is too long: not taken\n");
    else
        stopwatch_line(session, text);
}

/* Whole lines out of what has come; the rest waits. True when one was taken. */
static bool take_lines(stopwatch_session *session, typed_lines *lines)
{
    bool taken = false;
    char *end;
    while (!session->ended && (end = memchr(lines->bytes, '\n', lines->count)) != NULL) {
        const size_t count = (size_t)(end - lines->bytes) + 1;
        *end = '\0';
        if (memchr(lines->bytes, '\0', count - 1) != NULL)
            lines->bytes[0] = '\1'; /* refused as a control character */
        take_text(session, lines->bytes, lines->too_long);
        lines->too_long = false;
        memmove(lines->bytes, lines->bytes + count, lines->count - count);
        lines->count -= count;
        taken = true;
    }
    if (lines->count == sizeof lines->bytes - 1) {
        lines->too_long = true;
        lines->count = 0;
    }
    return taken;
}

static ovp_status read_some(typed_lines *lines, ovp_error *error)
{
    const ssize_t count =
        read(STDIN_FILENO, lines->bytes + lines->count, sizeof lines->bytes - 1 - lines->count);
    if (count < 0 && errno != EINTR && errno != EIO)
        return ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot read what is typed: %s", strerror(errno));
    if (count == 0 || (count < 0 && errno == EIO)) { /* EIO: the terminal has gone */
        lines->end = true;
        if (lines->count > 0) /* the last line of a file without its end */
            lines->bytes[lines->count++] = '\n';
    } else if (count > 0) {
        lines->count += (size_t)count;
    }
    return OVP_OK;
}

ovp_status stopwatch_talk(stopwatch_session *session, ovp_error *error)
{
    typed_lines lines = {.count = 0};
    struct sigaction before[SIGNALS];
    ovp_status status = OVP_OK;
    stopped = 0;
    catch_signals(before);
    if (moves_cursor(session))
        draw(session);
    while (!session->ended && !lines.end && stopped == 0 && status == OVP_OK) {
        struct pollfd wait = {.fd = STDIN_FILENO, .events = POLLIN};
        const int ready = poll(&wait, 1, moves_cursor(session) ? 1000 : -1);
        if (ready == 0)
            redraw(session);
        if (ready <= 0)
            continue;
        status = read_some(&lines, error);
        if (take_lines(session, &lines) && moves_cursor(session) && !session->ended && !lines.end)
            draw(session);
    }
    release_signals(before);
    return status;
}
