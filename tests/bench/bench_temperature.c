/*
 * Start-up time of `ovenproof temperature K 20.644` beside /bin/true and an empty python3: process start to
 * exit, interleaved so that a busy moment hits all alike. Printed, never asserted: quote the ratio, not the
 * milliseconds. usage: bench_temperature OVENPROOF [ROUNDS]
 */
#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>

extern char **environ;

enum {
    PROGRAMS = 3,
    MOST_ROUNDS = 2000,
};

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Seconds from start to exit; negative when the program could not be run. */
static double run_once(char *const arguments[])
{
    posix_spawn_file_actions_t actions;
    pid_t child = 0;
    int status = 0;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    double before = seconds();
    int failed = posix_spawnp(&child, arguments[0], &actions, NULL, arguments, environ);
    if (failed == 0)
        while (waitpid(child, &status, 0) < 0 && errno == EINTR)
            continue;
    double taken = seconds() - before;
    posix_spawn_file_actions_destroy(&actions);
    return failed == 0 && WIFEXITED(status) && WEXITSTATUS(status) == 0 ? taken : -1.0;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

int main(int argument_count, char **arguments)
{
    static double times[PROGRAMS][MOST_ROUNDS];
    char *program = argument_count > 1 ? arguments[1] : (char *)"ovenproof";
    int rounds = argument_count > 2 ? atoi(arguments[2]) : 300;
    char *ours[] = {program, (char *)"temperature", (char *)"K", (char *)"20.644", NULL};
    char *nothing[] = {(char *)"/bin/true", NULL};
    char *python[] = {(char *)"python3", (char *)"-c", (char *)"", NULL};
    char *const *const programs[PROGRAMS] = {nothing, ours, python};
    static const char *const names[PROGRAMS] = {"/bin/true", "ovenproof temperature K 20.644",
                                                "python3 -c ''"};
    if (rounds < 1 || rounds > MOST_ROUNDS)
        rounds = 300;
    size_t counts[PROGRAMS] = {0};
    for (int round = 0; round < rounds; round++)
        for (int i = 0; i < PROGRAMS; i++) {
            if (i == 2 && round % 10 != 0) /* slow, and needs no fine figure */
                continue;
            double taken = run_once(programs[i]);
            if (taken >= 0.0)
                times[i][counts[i]++] = taken;
        }
    double median_of_true = 0.0;
    for (int i = 0; i < PROGRAMS; i++) {
        if (counts[i] == 0) {
            printf("%-32s could not be run\n", names[i]);
            continue;
        }
        qsort(times[i], counts[i], sizeof times[i][0], by_size);
        double median = times[i][counts[i] / 2];
        if (i == 0)
            median_of_true = median;
        printf("%-32s median %.3f ms, least %.3f ms", names[i], 1e3 * median, 1e3 * times[i][0]);
        if (median_of_true > 0.0)
            printf(", %.2f of /bin/true", median / median_of_true);
        printf("\n");
    }
    return 0;
}
