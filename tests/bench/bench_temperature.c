/*
 * Start-up time of `ovenproof temperature K 20.644` beside /bin/true and an empty python3: process start to
 * exit, interleaved so that a busy moment hits all alike. Printed, never asserted: quote the ratio, not the
 * milliseconds. usage: bench_temperature OVENPROOF [ROUNDS]
 */
#include "bench_process.h"

#include <stdio.h>

enum {
    PROGRAMS = 3,
    MOST_ROUNDS = 2000,
};

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
            bench_cost cost = bench_run(programs[i]);
            if (cost.status == 0)
                times[i][counts[i]++] = cost.wall_s;
        }
    double median_of_true = 0.0;
    for (int i = 0; i < PROGRAMS; i++) {
        if (counts[i] == 0) {
            printf("%-32s could not be run\n", names[i]);
            continue;
        }
        double median = bench_median(times[i], counts[i]);
        if (i == 0)
            median_of_true = median;
        printf("%-32s median %.3f ms, least %.3f ms", names[i], 1e3 * median, 1e3 * times[i][0]);
        if (median_of_true > 0.0)
            printf(", %.2f of /bin/true", median / median_of_true);
        printf("\n");
    }
    return 0;
}
