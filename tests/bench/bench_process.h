/* What the benchmarks of whole programs share: a program from its start to its exit, and order statistics. */
#ifndef OVENPROOF_BENCH_PROCESS_H
#define OVENPROOF_BENCH_PROCESS_H

#ifndef _DEFAULT_SOURCE
#define _DEFAULT_SOURCE /* wait4 */
#endif

#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdbool.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <time.h>

extern char **environ;

typedef struct bench_cost {
    double wall_s, cpu_s; /* processor time of the program and of the kernel on its behalf */
    long peak_KiB;
    int status; /* of its exit; -1 when it could not be run or ended otherwise */
} bench_cost;

static inline double bench_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static inline double bench_of(struct timeval time)
{
    return (double)time.tv_sec + 1e-6 * (double)time.tv_usec;
}

/* What it prints is thrown away. */
static inline bench_cost bench_run(char *const arguments[])
{
    posix_spawn_file_actions_t actions;
    struct rusage used = {0};
    pid_t child = 0;
    int status = 0;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    double before_s = bench_seconds();
    bool failed = posix_spawnp(&child, arguments[0], &actions, NULL, arguments, environ) != 0;
    while (!failed && wait4(child, &status, 0, &used) < 0)
        failed = errno != EINTR;
    bench_cost cost = {bench_seconds() - before_s, bench_of(used.ru_utime) + bench_of(used.ru_stime),
                       used.ru_maxrss, !failed && WIFEXITED(status) ? WEXITSTATUS(status) : -1};
    posix_spawn_file_actions_destroy(&actions);
    return cost;
}

static inline int bench_by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Sorts them. */
static inline double bench_median(double values[], size_t count)
{
    qsort(values, count, sizeof values[0], bench_by_size);
    return count > 0 ? values[count / 2] : 0.0;
}

#endif
