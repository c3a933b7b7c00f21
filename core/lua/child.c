/*
 * A process of its own for what is not the shop's own: it keeps no file, may make no system call but those of
 * computing, has limits of the system's own beside those of the language, and can only speak over one
 * channel. The parent reads it with a clock in hand, ends it, and never waits for its good will.
 */
/* NOLINTNEXTLINE(bugprone-reserved-identifier): the standard's own name */
#define _DEFAULT_SOURCE /* syscall(): close_range has no other name everywhere */
#include "lua/lua_internal.h"

#include <errno.h>
#include <limits.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#ifdef OVP_COVERAGE_BUILD
void __gcov_dump(void);
#endif

enum {
    FILES_MOST = 65536, /* where the kernel has no close_range */
    SPARE_BYTES = 96 << 20,
    READ_BYTES = 65536,
};

/* How long past its time the script may take to say itself that its time is over. */
static const double grace_s = 0.05;

/* ---- in the child -------------------------------------------------------------------------------------- */

#ifndef OVP_OPEN_FENCE
static const struct sock_filter filter_rows[] = {
#include "call_filter.inc"
    {0, 0, 0, 0}, /* never reached: the last row made is a return */
};
#endif

bool child_has_filter(void)
{
#ifdef OVP_OPEN_FENCE
    return false;
#else
    return sizeof filter_rows / sizeof filter_rows[0] > 1;
#endif
}

static bool limit(int what, rlim_t most)
{
    struct rlimit both = {most, most}, now;
    if (getrlimit(what, &now) == 0 && now.rlim_max < most)
        both = (struct rlimit){now.rlim_max, now.rlim_max};
    return setrlimit(what, &both) == 0;
}

static bool close_others(void)
{
#ifdef SYS_close_range
    if (syscall(SYS_close_range, CHILD_CHANNEL + 1, UINT_MAX, 0) == 0)
        return close(0) + close(1) + close(2) <= 0;
#endif
    long most = sysconf(_SC_OPEN_MAX);
    for (int file = CHILD_CHANNEL + 1; file < (most > 0 && most < FILES_MOST ? (int)most : FILES_MOST);
         file++)
        close(file);
    return close(0) + close(1) + close(2) <= 0;
}

static bool set_limits(const child_call *call)
{
    bool set = limit(RLIMIT_CPU, (rlim_t)ceil(call->seconds) + 1) && limit(RLIMIT_CORE, 0);
#ifndef OVP_OPEN_FENCE
    /* twice: small blocks have a head each, and what grows is for a moment there twice */
    set = set && limit(RLIMIT_AS, (rlim_t)2 * call->memory_bytes + SPARE_BYTES) && limit(RLIMIT_FSIZE, 0) &&
          limit(RLIMIT_NOFILE, 0) && limit(RLIMIT_NPROC, 0);
#endif
    return set;
}

/* 0, or what the kernel answered. */
static int set_filter(void)
{
#ifdef OVP_OPEN_FENCE
    return 0;
#else
    struct sock_fprog program = {.len = sizeof filter_rows / sizeof filter_rows[0] - 1};
    const void *const rows = filter_rows; /* the kernel's type is not const, but it only reads them */
    memcpy(&program.filter, &rows, sizeof rows);
    if (program.len == 0)
        return ENOSYS;
    return prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program, 0, 0) == 0 ? 0 : errno;
#endif
}

/* What the calling program does about signals is not for the child. */
static void forget_handlers(void)
{
    for (int number = 1; number < NSIG; number++)
        (void)signal(number, SIG_DFL);
}

static _Noreturn void be_child(const child_call *call, int channel, pid_t parent)
{
    bool held = prctl(PR_SET_PDEATHSIG, SIGKILL, 0, 0, 0) == 0 && getppid() == parent;
    forget_handlers();
    held = held && (channel == CHILD_CHANNEL || dup2(channel, CHILD_CHANNEL) == CHILD_CHANNEL);
    held = held && close_others() && set_limits(call) && prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0;
    int refused = held ? set_filter() : EPERM;
    if (refused != 0) {
        char number[16];
        int length = snprintf(number, sizeof number, "%d", refused);
        child_say(CHILD_CHANNEL, "no-fence", number, length > 0 ? (size_t)length : 0);
        _exit(1);
    }
    child_say(CHILD_CHANNEL, "fence", "", 0);
    call->body(call->body_context, CHILD_CHANNEL);
#ifdef OVP_COVERAGE_BUILD
    __gcov_dump();
#endif
    child_say(CHILD_CHANNEL, "end", "", 0);
    _exit(0);
}

/* ---- in the parent ------------------------------------------------------------------------------------- */

typedef struct listening {
    const child_call *call;
    child_end *end;
    size_t received;
    child_reader reader;
} listening;

static bool take_message(void *context, const char *word, ovp_span payload)
{
    listening *to = context;
    if (!to->end->fenced) { /* nothing of a script is believed before the fence stands */
        to->end->fenced = strcmp(word, "fence") == 0;
        to->end->no_fence = strcmp(word, "no-fence") == 0;
        return to->end->fenced;
    }
    if (strcmp(word, "end") == 0) {
        to->end->said_end = true;
        return false;
    }
    return to->call->take(to->call->take_context, word, payload);
}

/* True when something can be read before the deadline. */
static bool wait_for(int channel, double deadline_s)
{
    for (;;) {
        double left_s = deadline_s - state_now();
        if (!(left_s > 0.0))
            return false;
        struct pollfd what = {.fd = channel, .events = POLLIN};
        int ready = poll(&what, 1, left_s > 1000.0 ? 1000000 : (int)ceil(left_s * 1e3));
        if (ready > 0)
            return true;
        if (ready < 0 && errno != EINTR)
            return false;
    }
}

static void listen_to(listening *to, int channel, double deadline_s)
{
    char bytes[READ_BYTES];
    while (wait_for(channel, deadline_s)) {
        ssize_t count = read(channel, bytes, sizeof bytes);
        if (count < 0 && errno == EINTR)
            continue;
        if (count <= 0)
            return;
        to->received += (size_t)count;
        if (!child_reader_push(&to->reader, bytes, (size_t)count)) {
            to->end->broken = !to->end->said_end && !to->end->no_fence;
            return;
        }
        if (to->received > to->call->received_most) {
            to->end->flooded = true;
            return;
        }
    }
    to->end->late = true;
}

/* Ends it, whatever it does, and waits for that alone. */
static void end_child(pid_t child, child_end *end)
{
    int status = 0;
    kill(child, SIGKILL);
    while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
    }
    end->signal = WIFSIGNALED(status) ? WTERMSIG(status) : 0;
}

static ovp_status no_process(ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_SYSTEM, "no process could be started for the script: %s", strerror(errno));
    return OVP_ERROR_SYSTEM;
}

ovp_status child_run(const child_call *call, child_end *end, ovp_error *error)
{
    int pair[2];
    *end = (child_end){0};
    listening *to = calloc(1, sizeof *to);
    if (to == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0) {
        free(to);
        return no_process(error);
    }
    pid_t parent = getpid();
    double deadline_s = state_now() + call->seconds + grace_s;
    pid_t child = fork();
    if (child == 0)
        be_child(call, pair[1], parent);
    close(pair[1]);
    ovp_status status = OVP_OK;
    if (child > 0) {
        to->call = call;
        to->end = end;
        child_reader_init(&to->reader, take_message, to);
        listen_to(to, pair[0], deadline_s);
        end_child(child, end);
    } else {
        status = no_process(error);
    }
    close(pair[0]);
    free(to);
    return status;
}

const char *child_end_words(const child_end *end)
{
    if (end->said_end)
        return NULL;
    if (end->late || end->signal == SIGXCPU)
        return "the script was ended: it took too long";
    if (end->flooded)
        return "the script was ended: it sent too much";
    if (end->broken)
        return "the script was ended: what it sent was not understood";
    if (end->signal == SIGSYS)
        return "the script was ended: it tried what a script may not do";
    if (end->signal == SIGSEGV || end->signal == SIGBUS || end->signal == SIGABRT || end->signal == SIGILL)
        return "the script was ended: its process broke down";
    return "the script was ended: its process stopped without a word";
}
