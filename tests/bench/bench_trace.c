/*
 * Reading a long log: `ovenproof trace` with all its findings beside programs that do much less with the same
 * file, in turn in one run, so that a busy moment hits all alike; its memory for a short and a long log; and
 * a whole verdict on one hour. Printed, never asserted: quote the ratios.
 * usage: bench_trace OVENPROOF [ROWS]   (10 million rows, 400 MB, when not given; 100 million need 4.1 GB)
 */
#include "bench_process.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum {
    ROUNDS = 9,
    SLOW_ROUNDS = 1, /* for a program that takes more than SLOW_S */
    SLOW_S = 4,
    PATH_SIZE = 512,
    BYTES_A_ROW = 42,
    SHORT_LOG = 100000,
};

typedef struct rival {
    const char *name;
    char *arguments[6];
    double wall_s[ROUNDS], cpu_s[ROUNDS], cpu_ratio[ROUNDS];
    size_t count;
    long peak_KiB;
} rival;

/* An oven that climbs to 950 C and is let cool down, over and over; the seed of the noise is fixed. */
static void write_rows(FILE *file, long rows)
{
    uint64_t state = 1;
    fputs("time,temperature_C,setpoint_C,output_percent\n", file);
    for (long i = 0; i < rows; i++) {
        state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        double noise = (double)(state >> 33) / 2147483648.0 - 0.5;
        double here_C = 20.0 + 935.0 * (1.0 - exp(-(double)(i % 40000) / 6000.0)) + 0.6 * noise;
        double output = fmax(0.0, fmin(100.0, 2.0 * (950.0 - here_C) + noise));
        long day = i / 86400 % 28, month = i / 86400 / 28 % 12, year = 2020 + i / 86400 / 28 / 12;
        fprintf(file, "%04ld-%02ld-%02ldT%02ld:%02ld:%02ld,%.2f,950.0,%.2f\n", year, month + 1, day + 1,
                i / 3600 % 24, i / 60 % 60, i % 60, here_C, output);
    }
}

static bool make_log(const char *path, long rows)
{
    FILE *file = fopen(path, "wb");
    if (file == NULL)
        return false;
    write_rows(file, rows);
    bool failed = ferror(file) != 0;
    return fclose(file) == 0 && !failed;
}

static void take(rival *one, double yardstick_s)
{
    bench_cost cost = bench_run(one->arguments);
    if (cost.status < 0 || cost.status > 1)
        return;
    one->wall_s[one->count] = cost.wall_s;
    one->cpu_s[one->count] = cost.cpu_s;
    one->cpu_ratio[one->count++] = cost.cpu_s / (yardstick_s > 0.0 ? yardstick_s : cost.cpu_s);
    one->peak_KiB = cost.peak_KiB > one->peak_KiB ? cost.peak_KiB : one->peak_KiB;
}

static void compare(rival rivals[], size_t count)
{
    for (size_t round = 0; round < ROUNDS; round++) {
        for (size_t i = 0; i < count; i++) {
            rival *one = &rivals[i];
            bool slow = round >= SLOW_ROUNDS && (one->count == 0 || one->wall_s[0] > SLOW_S);
            if (!slow)
                take(one, i > 0 && rivals[0].count > 0 ? rivals[0].cpu_s[rivals[0].count - 1] : 0.0);
        }
    }
}

static void print_rivals(rival rivals[], size_t count)
{
    double ours_s = 0.0;
    for (size_t i = 0; i < count; i++) {
        rival *one = &rivals[i];
        if (one->count == 0) {
            printf("  %-28s not there\n", one->name);
            continue;
        }
        double cpu_s = bench_median(one->cpu_s, one->count), wall_s = bench_median(one->wall_s, one->count);
        ours_s = i == 1 ? cpu_s : ours_s;
        printf("  %-28s processor %.3f s (least %.3f), clock %.3f s, %.1f x wc -l", one->name, cpu_s,
               one->cpu_s[0], wall_s, bench_median(one->cpu_ratio, one->count));
        if (i > 1 && ours_s > 0.0)
            printf(", %.1f x ovenproof", cpu_s / ours_s);
        printf(", peak %.1f MB\n", (double)one->peak_KiB * 1024e-6);
    }
}

static void read_long(char *program, char *path, long rows)
{
    static char sum[] = "{ total += $2 } END { print total }";
    static char frame[] = "import pandas, sys; print(pandas.read_csv(sys.argv[1]).temperature_C.mean())";
    rival rivals[] = {
        {.name = "wc -l", .arguments = {(char *)"wc", (char *)"-l", path}},
        {.name = "ovenproof trace, all columns", .arguments = {program, (char *)"trace", path}},
        {.name = "mawk, sum of one column", .arguments = {(char *)"mawk", (char *)"-F,", sum, path}},
        {.name = "pandas, read only", .arguments = {(char *)"python3", (char *)"-c", frame, path}},
    };
    char *const pandas[] = {(char *)"python3", (char *)"-c", (char *)"import pandas", NULL};
    size_t count = sizeof rivals / sizeof rivals[0];
    count -= bench_run(pandas).status != 0;
    printf("%ld rows:\n", rows);
    compare(rivals, count);
    print_rivals(rivals, count);
}

static void read_short(char *program, char *path)
{
    char *arguments[] = {program, (char *)"trace", path, NULL};
    bench_cost cost = bench_run(arguments);
    printf("%d rows: ovenproof trace peak %.1f MB\n", SHORT_LOG, (double)cost.peak_KiB * 1024e-6);
}

/* Everything: reading, findings, each fault tried on the oven's model, the causes and the next check. */
static void judge_hour(char *program, char *path)
{
    char *simulate[] = {program,
                        (char *)"simulate",
                        (char *)"QR-8",
                        (char *)"--interval",
                        (char *)"2",
                        (char *)"--fault",
                        (char *)"lining-damp",
                        (char *)"-o",
                        path,
                        NULL};
    char *trace[] = {program, (char *)"trace", path, (char *)"--oven", (char *)"QR-8", NULL};
    double wall_s[ROUNDS];
    size_t count = 0;
    if (bench_run(simulate).status != 0)
        return;
    for (int round = 0; round < ROUNDS; round++) {
        bench_cost cost = bench_run(trace);
        if (cost.status >= 0 && cost.status <= 1)
            wall_s[count++] = cost.wall_s;
    }
    double median_s = bench_median(wall_s, count); /* sorts them */
    if (count > 0)
        printf("one hour at 2 s beside the oven's model, whole verdict: median %.0f ms, least %.0f ms\n",
               1e3 * median_s, 1e3 * wall_s[0]);
}

static bool path_of(char path[PATH_SIZE], const char *what)
{
    const char *folder = getenv("TMPDIR") != NULL ? getenv("TMPDIR") : "/tmp";
    int length = snprintf(path, PATH_SIZE, "%s/ovenproof-bench-%ld-%s.csv", folder, (long)getpid(), what);
    return length > 0 && length < PATH_SIZE;
}

int main(int argument_count, char **arguments)
{
    char *program = argument_count > 1 ? arguments[1] : (char *)"ovenproof";
    long rows = argument_count > 2 ? strtol(arguments[2], NULL, 10) : 10000000;
    char path[PATH_SIZE];
    if (rows < 1000 || !path_of(path, "log")) {
        fprintf(stderr, "usage: bench_trace OVENPROOF [ROWS]\n");
        return 2;
    }
    if (make_log(path, SHORT_LOG))
        read_short(program, path);
    if (make_log(path, rows))
        read_long(program, path, rows);
    else
        printf("%ld rows: no room for about %.0f MB at %s\n", rows, (double)rows * BYTES_A_ROW * 1e-6, path);
    remove(path);
    judge_hour(program, path);
    remove(path);
    return 0;
}
