/* A closed process that tries to get out, to be heard for ever, or not to end. The bodies are C: the filter
 * and the limits are proved without the language's own fence in front of them. */
#define _GNU_SOURCE
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/ptrace.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "lua/lua_internal.h"

static char heard[4096];
static size_t heard_count;

static bool hear(void *context, const char *word, ovp_span payload)
{
    (void)context;
    (void)payload;
    heard_count++;
    if (strlen(heard) + strlen(word) + 2 < sizeof heard)
        strcat(strcat(heard, word), " ");
    return strcmp(word, "stop") != 0;
}

static child_end run(void (*body)(void *context, int channel), double seconds)
{
    child_call call = {
        .body = body, .seconds = seconds, .memory_bytes = 32000000, .received_most = 1000000, .take = hear};
    child_end end;
    heard[0] = '\0';
    heard_count = 0;
    assert_int_equal(child_run(&call, &end, NULL), OVP_OK);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1); /* nothing is left behind */
    return end;
}

/* ---- what the filter stops ------------------------------------------------------------------------------
 */

typedef long (*attempt)(void);

static long try_open(void)
{
    return open("/etc/passwd", O_RDONLY);
}
static long try_create(void)
{
    return open("/tmp/ovenproof-escaped", O_WRONLY | O_CREAT, 0600);
}
static long try_socket(void)
{
    return socket(AF_INET, SOCK_STREAM, 0);
}
static long try_execve(void)
{
    char *none[] = {NULL};
    return execve("/bin/true", none, none);
}
static long try_fork(void)
{
    return syscall(SYS_clone, SIGCHLD, NULL, NULL, NULL, NULL);
}
static long try_ptrace(void)
{
    return ptrace(PTRACE_ATTACH, getppid(), NULL, NULL);
}
static long try_kill(void)
{
    return kill(1, 0);
}
static long try_getppid(void)
{
    return syscall(SYS_getppid);
}
static long try_read(void)
{
    char byte;
    return read(CHILD_CHANNEL, &byte, 1);
}
static long try_write_elsewhere(void)
{
    return write(1, "out", 3);
}
static long try_write_high(void)
{
    /* the same low half as the channel: the filter looks at all 64 bits */
    return syscall(SYS_write, 0x100000000UL + CHILD_CHANNEL, "x", 1);
}
static long try_unlink(void)
{
    return unlink("/tmp/ovenproof-nothing");
}
static long try_mmap_exec(void)
{
    return (long)mmap(NULL, 4096, PROT_READ | PROT_EXEC, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
}
static long try_mmap_file(void)
{
    return (long)mmap(NULL, 4096, PROT_READ, MAP_SHARED, CHILD_CHANNEL, 0);
}
static long try_mprotect(void)
{
    static char page[8192];
    return mprotect((void *)(((uintptr_t)page + 4095) & ~(uintptr_t)4095), 4096, PROT_READ | PROT_EXEC);
}
static long try_setrlimit(void)
{
    struct rlimit most = {RLIM_INFINITY, RLIM_INFINITY};
    return setrlimit(RLIMIT_CPU, &most);
}
static long try_dup(void)
{
    return dup(CHILD_CHANNEL);
}
static long try_sendmsg(void)
{
    return send(CHILD_CHANNEL, "x", 1, 0);
}
static long try_sleep(void)
{
    struct timespec second = {1, 0};
    return syscall(SYS_nanosleep, &second, NULL);
}
static long try_process_vm(void)
{
    return syscall(SYS_process_vm_readv, getpid(), NULL, 0, NULL, 0, 0);
}
static long try_io_uring(void)
{
    return syscall(425, 1, NULL); /* io_uring_setup: calls that no filter sees */
}
#ifdef __x86_64__
static long try_other_numbers(void)
{
    return syscall(0x40000000 + SYS_open, "/etc/passwd", O_RDONLY); /* the x32 numbers */
}
static long try_old_gate(void)
{
    long outcome;
    __asm__ volatile("int $0x80" : "=a"(outcome) : "a"(5), "b"(0), "c"(0) : "memory"); /* open, 32 bit */
    return outcome;
}
#endif

static const struct {
    const char *name;
    attempt run;
} attempts[] = {
    {"open", try_open},
    {"open to create", try_create},
    {"socket", try_socket},
    {"execve", try_execve},
    {"clone", try_fork},
    {"ptrace", try_ptrace},
    {"kill", try_kill},
    {"getppid", try_getppid},
    {"read", try_read},
    {"write to another file", try_write_elsewhere},
    {"write, 64 bits", try_write_high},
    {"unlink", try_unlink},
    {"mmap to run", try_mmap_exec},
    {"mmap of a file", try_mmap_file},
    {"mprotect", try_mprotect},
    {"setrlimit", try_setrlimit},
    {"dup", try_dup},
    {"sendto", try_sendmsg},
    {"nanosleep", try_sleep},
    {"process_vm_readv", try_process_vm},
    {"io_uring_setup", try_io_uring},
#ifdef __x86_64__
    {"x32 numbers", try_other_numbers},
    {"int 0x80", try_old_gate},
#endif
};

static size_t attempted;

static void body_attempts(void *context, int channel)
{
    (void)context;
    (void)attempts[attempted].run();
    (void)child_say(channel, "lived", "", 0);
}

static void calls_that_are_stopped(void **state)
{
    (void)state;
    if (!child_has_filter()) {
        print_message("skipped: this build has no filter\n");
        return;
    }
    for (attempted = 0; attempted < sizeof attempts / sizeof attempts[0]; attempted++) {
        child_end end = run(body_attempts, 10);
        if (!end.fenced || end.signal != SIGSYS || end.said_end || heard_count != 0)
            fail_msg("%s: fenced %d, signal %d, heard \"%s\"", attempts[attempted].name, end.fenced,
                     end.signal, heard);
        assert_string_equal(child_end_words(&end), "the script was ended: it tried what a script may not do");
    }
    assert_int_equal(access("/tmp/ovenproof-escaped", F_OK), -1);
    print_message("%zu calls stopped\n", attempted);
}

/* ---- what it may do -------------------------------------------------------------------------------------
 */

static void body_computes(void *context, int channel)
{
    (void)context;
    char *large = malloc(8000000);
    if (large == NULL)
        return;
    memset(large, 1, 8000000);
    large = realloc(large, 16000000);
    free(large);
    (void)state_now();
    (void)child_say(channel, "computed", "bytes", 5);
}

static void work_goes_through(void **state)
{
    (void)state;
    child_end end = run(body_computes, 10);
    assert_true(end.fenced && end.said_end);
    assert_null(child_end_words(&end));
    assert_string_equal(heard, "computed ");
}

static void body_takes_memory(void *context, int channel)
{
    (void)context;
    size_t held = 0;
    for (;; held++) {
        char *block = malloc(1 << 20);
        if (block == NULL)
            break;
        block[0] = 1;
        if (held > 4000)
            return; /* no limit: says nothing */
    }
    (void)child_say(channel, "refused", "", 0);
}

static void memory_is_limited(void **state)
{
    (void)state;
    if (!child_has_filter())
        return;
    child_end end = run(body_takes_memory, 10);
    assert_true(end.said_end);
    assert_string_equal(heard, "refused ");
}

/* ---- bodies that do not end, or not well ------------------------------------------------------------------
 */

static void body_spins(void *context, int channel)
{
    (void)context;
    (void)child_say(channel, "begun", "", 0);
    for (volatile int i = 0;; i = 1 - i) {
    }
}

static void body_floods(void *context, int channel)
{
    (void)context;
    while (child_say(channel, "more", "0123456789", 10)) {
    }
}

static void body_floods_nothing(void *context, int channel)
{
    (void)context;
    while (child_say(channel, "a", "", 0)) {
    }
}

static void body_breaks_off(void *context, int channel)
{
    (void)context;
    (void)!write(channel, "out 100\nabc", 11);
    _exit(0);
}

static void body_garbage(void *context, int channel)
{
    (void)context;
    (void)!write(channel, "OUT 1\nx\n", 8);
    for (;;) {
    }
}

static void body_lies_of_length(void *context, int channel)
{
    (void)context;
    (void)!write(channel, "out 99999999999\n", 16);
    for (;;) {
    }
}

static void body_says_end_and_stays(void *context, int channel)
{
    (void)context;
    (void)child_say(channel, "end", "", 0);
    for (;;) {
    }
}

static void body_crashes(void *context, int channel)
{
    (void)context;
    (void)channel;
    volatile char *volatile nowhere = NULL;
    *nowhere = 1;
}

static void body_exits(void *context, int channel)
{
    (void)context;
    (void)channel;
    _exit(0);
}

static int deep(int level)
{
    volatile char room[100000];
    room[0] = (char)level;
    return level < 0 ? room[0] : deep(level + 1) + room[0];
}

static void body_recurses(void *context, int channel)
{
    (void)context;
    (void)deep(channel);
}

/* The most time past its limit that any of them was there. */
static double worst_s;

#ifdef OVP_OPEN_FENCE
static const bool a_sanitizer_reports_first = true;
#else
static const bool a_sanitizer_reports_first = false;
#endif

static void ends(const char *name, void (*body)(void *context, int channel), const char *words,
                 double seconds, bool waits)
{
    double from = state_now();
    child_end end = run(body, seconds);
    double took = state_now() - from;
    if (child_end_words(&end) == NULL || strcmp(child_end_words(&end), words) != 0)
        fail_msg("%s: %s", name, child_end_words(&end));
    if (waits && took - seconds > worst_s)
        worst_s = took - seconds;
}

static void bodies_that_do_not_end_well(void **state)
{
    (void)state;
    static const char late[] = "the script was ended: it took too long",
                      flood[] = "the script was ended: it sent too much",
                      form[] = "the script was ended: what it sent was not understood",
                      silent[] = "the script was ended: its process stopped without a word";
    worst_s = 0;
    ends("spins", body_spins, late, 0.1, true);
    ends("spins, one millisecond", body_spins, late, 0.001, true);
    ends("floods", body_floods, flood, 60, false);
    ends("floods nothing", body_floods_nothing, flood, 60, false);
    ends("breaks off", body_breaks_off, silent, 60, false);
    ends("garbage", body_garbage, form, 60, false);
    ends("lies of length", body_lies_of_length, form, 60, false);
    ends("exits", body_exits, silent, 60, false);
    if (!a_sanitizer_reports_first) {
        ends("crashes", body_crashes, "the script was ended: its process broke down", 60, false);
        ends("recurses", body_recurses, "the script was ended: its process broke down", 60, false);
    }
    child_end end = run(body_says_end_and_stays, 60);
    assert_null(child_end_words(&end));
    print_message("longest past the limit: %.0f ms\n", 1e3 * worst_s);
}

/* Somebody else ends or stops the process from outside. */
static int signal_to_send;

static bool signal_the_child(void *context, const char *word, ovp_span payload)
{
    (void)context;
    (void)word;
    pid_t child = (pid_t)strtol(payload.bytes, NULL, 10);
    assert_int_equal(kill(child, signal_to_send), 0);
    return true;
}

static void body_says_pid(void *context, int channel)
{
    (void)context;
    char number[32];
    /* the number is read where the filter cannot be asked: it was kept by the C library's caller */
    int length = snprintf(number, sizeof number, "%ld", *(long *)context);
    (void)child_say(channel, "pid", number, (size_t)length);
    for (;;) {
    }
}

static long *shared_pid;

static void note_pid(void)
{
    *shared_pid = (long)getpid();
}

static void signals_from_outside(void **state)
{
    (void)state;
    shared_pid = mmap(NULL, sizeof *shared_pid, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    assert_true(shared_pid != MAP_FAILED);
    assert_int_equal(pthread_atfork(NULL, NULL, note_pid), 0);
    static const struct {
        int number;
        const char *words;
    } rows[] = {{SIGKILL, "the script was ended: its process stopped without a word"},
                {SIGTERM, "the script was ended: its process stopped without a word"},
                {SIGSTOP, "the script was ended: it took too long"},
                {SIGSEGV, "the script was ended: its process broke down"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        signal_to_send = rows[i].number;
        child_call call = {.body = body_says_pid,
                           .body_context = shared_pid,
                           .seconds = 0.3,
                           .memory_bytes = 32000000,
                           .received_most = 1000000,
                           .take = signal_the_child};
        child_end end;
        double from = state_now();
        assert_int_equal(child_run(&call, &end, NULL), OVP_OK);
        assert_true(state_now() - from < 30);
        if (child_end_words(&end) == NULL || strcmp(child_end_words(&end), rows[i].words) != 0)
            fail_msg("signal %d: %s", rows[i].number, child_end_words(&end));
    }
    munmap(shared_pid, sizeof *shared_pid);
}

/* ---- the messages -----------------------------------------------------------------------------------------
 */

static bool keep_one(void *context, const char *word, ovp_span payload)
{
    char *text = context;
    strcat(strcat(text, word), "=");
    strncat(text, payload.bytes, payload.count);
    return strcat(text, ";") != NULL;
}

static void messages_come_in_pieces(void **state)
{
    (void)state;
    static const char bytes[] = "out 3\na\nb\nend 0\n\nfailed 5\n3 7 x\n";
    static child_reader reader;
    char expected[64] = "out=a\nb;end=;failed=3 7 x;";
    for (size_t step = 1; step < sizeof bytes; step++) {
        char text[64] = "";
        child_reader_init(&reader, keep_one, text);
        for (size_t at = 0; at < sizeof bytes - 1; at += step)
            assert_true(child_reader_push(&reader, bytes + at,
                                          at + step < sizeof bytes - 1 ? step : sizeof bytes - 1 - at));
        assert_string_equal(text, expected);
    }
    static const char *const wrong[] = {" 1\nx\n",
                                        "out\n",
                                        "out 1x",
                                        "out -1\n",
                                        "out  1\nx\n",
                                        "out 1\nxy",
                                        "out 16385\n",
                                        "out 000001\n",
                                        "Out 1\nx\n",
                                        "\n",
                                        "out 1\r\nx\n",
                                        "out \n",
                                        "abcdefghijklmnopqrstuvwxyzabcdef 1\nx\n"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        char text[64] = "";
        child_reader_init(&reader, keep_one, text);
        if (child_reader_push(&reader, wrong[i], strlen(wrong[i])))
            fail_msg("taken: %s", wrong[i]);
        assert_string_equal(text, "");
    }
}

static void errors_cross_over(void **state)
{
    (void)state;
    ovp_error error = {0};
    assert_true(child_take_error("hint", (ovp_span){"do it", 5}, &error));
    assert_true(child_take_error("failed", (ovp_span){"3 17 it broke", 13}, &error));
    assert_int_equal(error.status, OVP_ERROR_DATA);
    assert_int_equal(error.line, 17);
    assert_string_equal(error.what, "it broke");
    assert_string_equal(error.hint, "do it");
    error = (ovp_error){0};
    assert_true(child_take_error("failed", (ovp_span){"", 0}, &error));
    assert_int_equal(error.status, OVP_ERROR_DATA);
    assert_string_equal(error.what, "failed without a message");
    error = (ovp_error){0};
    assert_true(child_take_error("failed", (ovp_span){"0 0 \x1B[2Jx", 9}, &error));
    assert_string_equal(error.what, "?[2Jx"); /* no terminal is moved */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(calls_that_are_stopped), cmocka_unit_test(work_goes_through),
        cmocka_unit_test(memory_is_limited),      cmocka_unit_test(bodies_that_do_not_end_well),
        cmocka_unit_test(signals_from_outside),   cmocka_unit_test(messages_come_in_pieces),
        cmocka_unit_test(errors_cross_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
