/*
 * Run while building: writes the system-call filter of the closed process as rows of C. libseccomp makes it
 * here, so that the program itself neither links nor loads that library and starts as quickly as before.
 *
 * What passes is what computing needs (memory, the clock, the end) and `write` to the one channel. Whatever
 * else is called ends the process. An open file would be no way out either: all are closed before.
 */
/* NOLINTNEXTLINE(bugprone-reserved-identifier): the standard's own name */
#define _DEFAULT_SOURCE /* MAP_ANONYMOUS */
#include <linux/filter.h>
#include <seccomp.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>

enum {
    CHANNEL = 3, /* CHILD_CHANNEL of lua_internal.h; a test compares the two by using them */
};

static void must(int outcome, const char *what)
{
    if (outcome >= 0)
        return;
    fprintf(stderr, "make_call_filter: %s: error %d\n", what, -outcome);
    exit(1);
}

static void allow_rules(scmp_filter_ctx filter)
{
    static const int calls[] = {SCMP_SYS(brk),        SCMP_SYS(munmap), SCMP_SYS(mremap),
                                SCMP_SYS(madvise),    SCMP_SYS(futex),  SCMP_SYS(clock_gettime),
                                SCMP_SYS(exit_group), SCMP_SYS(exit),   SCMP_SYS(rt_sigreturn)};
    for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++)
        must(seccomp_rule_add(filter, SCMP_ACT_ALLOW, calls[i], 0), "a call");
    must(seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(write), 1, SCMP_A0(SCMP_CMP_EQ, CHANNEL, 0)),
         "write");
    /* memory for data only: nothing of a file, nothing that could be run */
    must(seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(mmap), 2,
                          SCMP_A2(SCMP_CMP_MASKED_EQ, PROT_EXEC, 0),
                          SCMP_A3(SCMP_CMP_MASKED_EQ, MAP_ANONYMOUS, MAP_ANONYMOUS)),
         "mmap");
}

static void print_rows(FILE *program, FILE *to)
{
    struct sock_filter row;
    rewind(program);
    fprintf(to, "/* made by core/lua/filter/make_call_filter.c */\n");
    while (fread(&row, sizeof row, 1, program) == 1)
        fprintf(to, "{0x%04x, %u, %u, 0x%08xU},\n", (unsigned)row.code, (unsigned)row.jt, (unsigned)row.jf,
                (unsigned)row.k);
}

int main(int count, char *arguments[])
{
    FILE *program = tmpfile(), *to = count == 2 ? fopen(arguments[1], "w") : NULL;
    if (program == NULL || to == NULL)
        return 1;
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_KILL_PROCESS);
    if (filter == NULL)
        return 1;
    allow_rules(filter);
    must(seccomp_export_bpf(filter, fileno(program)), "writing it out");
    seccomp_release(filter);
    print_rows(program, to);
    fclose(program);
    return fclose(to) == 0 ? 0 : 1;
}
