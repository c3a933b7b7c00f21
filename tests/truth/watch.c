/* watch.c: holds the watch of `trace --follow` against ovens that it was not built on: how many healthy runs
 * it disturbs, and how soon it calls each fault.
 *
 * usage: watch FOLDER RUNS [check]
 *
 * FOLDER holds what watch_runs.lua wrote. The run of an oven in a situation is always the same; each of RUNS
 * draws anew when the log begins, how far apart its rows are, noise, rounding, scale, columns, whether the
 * description, a good run and the room's temperature are known. So RUNS are independent in what the log does
 * to a run, and not in what the oven does. check: the exit status is 1 when a healthy run was disturbed or a
 * delay of the contract missed.
 */
#include "../seeded.h"
#include "lua/lua.h"
#include "ovenproof/thermal.h"
#include "ovenproof/trace.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    RUNS_MOST = 320,
    ROWS_MOST = 8000,
    DELAYS_MOST = 40000,
};

static const uint64_t seed_of_all = 20261125;

typedef enum kind {
    GOOD,
    HEALTHY,
    FAULT
} kind;

typedef struct run {
    ovp_trace_sample *rows;
    size_t count;
    double room_C, rated_V;
    kind kind;
    bool fahrenheit;
    char name[40], oven[16], description[200], path[200];
} run;

typedef struct known_oven {
    char name[16];
    ovp_oven oven;
    ovp_thermal_parameters model;
    bool has_model;
    ovp_trace_result good;
    double dead_s; /* of the good run: until it has risen by two degrees */
} known_oven;

/* How a log of a run is made. */
typedef struct log_form {
    double begin_s, every_s, noise_C, step, jitter_s;
    bool fahrenheit, round_times;
    int columns; /* 0 all, 1 no amps, 2 output, 3 bare */
    int known;   /* 0 description, 1 good run, 2 nothing */
    bool room_known;
} log_form;

typedef struct delays {
    double value_s[DELAYS_MOST];
    size_t count, missed, other;
} delays;

static run runs[RUNS_MOST];
static size_t run_count;
static known_oven ovens[16];
static size_t oven_count;

static void die(const char *what, const char *which)
{
    fprintf(stderr, "watch: %s: %s\n", which, what);
    exit(2);
}

static double normal(void)
{
    return sqrt(-2 * log(1 - uniform())) * cos(6.283185307179586 * uniform());
}

static double between(double low, double high)
{
    return low + (high - low) * uniform();
}

static int pick(int count)
{
    return (int)(uniform() * count);
}

/* ---- what was written -------------------------------------------------------------------------------------
 */

static double cell_of(char **at)
{
    char *end = *at;
    const double value = strtod(*at, &end);
    const bool number = end != *at;
    *at = end + strcspn(end, ",\n");
    *at += **at == ',' ? 1 : 0;
    return number ? value : (double)NAN;
}

static ovp_trace_cell word_of(const char *at)
{
    return strncmp(at, "under", 5) == 0  ? OVP_TRACE_UNDER
           : strncmp(at, "over", 4) == 0 ? OVP_TRACE_OVER
           : strncmp(at, "open", 4) == 0 ? OVP_TRACE_OPEN
                                         : OVP_TRACE_NUMBER;
}

static void read_rows(run *to)
{
    static ovp_trace_sample rows[ROWS_MOST];
    char line[200];
    FILE *file = fopen(to->path, "r");
    if (file == NULL || fgets(line, sizeof line, file) == NULL)
        die("cannot be read", to->path);
    while (to->count < ROWS_MOST && fgets(line, sizeof line, file) != NULL) {
        char *at = line;
        ovp_trace_sample *row = &rows[to->count++];
        row->time_s = cell_of(&at);
        row->cell = word_of(at);
        row->temperature_C = cell_of(&at);
        if (row->cell == OVP_TRACE_NUMBER && isnan(row->temperature_C))
            row->cell = OVP_TRACE_EMPTY;
        row->setpoint_C = cell_of(&at);
        row->output_percent = cell_of(&at);
        row->supply_V = cell_of(&at);
        row->element_A = cell_of(&at);
        row->cold_junction_C = cell_of(&at);
    }
    fclose(file);
    to->rows = malloc(to->count * sizeof *to->rows);
    if (to->rows == NULL)
        die("out of memory", to->path);
    memcpy(to->rows, rows, to->count * sizeof *rows);
}

static void read_list(const char *folder)
{
    char path[300], line[700], word[16], scale[4];
    snprintf(path, sizeof path, "%s/runs.txt", folder);
    FILE *file = fopen(path, "r");
    if (file == NULL)
        die("cannot be read", path);
    while (run_count < RUNS_MOST && fgets(line, sizeof line, file) != NULL) {
        run *to = &runs[run_count++];
        if (sscanf(line, "%15[^\t]\t%39[^\t]\t%15[^\t]\t%199[^\t]\t%lf\t%lf\t%199[^\t]\t%3s", word, to->name,
                   to->oven, to->description, &to->room_C, &to->rated_V, to->path, scale) != 8)
            die("is no list of runs", path);
        to->kind = strcmp(word, "good") == 0 ? GOOD : strcmp(word, "healthy") == 0 ? HEALTHY : FAULT;
        to->fahrenheit = scale[0] == 'F';
        read_rows(to);
    }
    fclose(file);
}

/* The good run as `--baseline` takes it: a row in ten seconds, to a tenth of a degree. */
static void judge_good(known_oven *to, const run *good)
{
    const size_t size = (ovp_trace_judge_size() + 63) / 64 * 64;
    void *memory = aligned_alloc(64, size);
    ovp_trace_expectation expectation = {.oven = &to->oven, .ambient_C = good->room_C};
    if (to->has_model)
        expectation.model = &to->model;
    if (memory == NULL)
        die("out of memory", good->path);
    ovp_trace_judge *judge = ovp_trace_judge_init(memory, &expectation);
    to->dead_s = NAN;
    for (size_t i = 0; i < good->count; i++) {
        ovp_trace_sample row = good->rows[i];
        if (isnan(to->dead_s) && row.temperature_C > good->rows[0].temperature_C + 2)
            to->dead_s = row.time_s;
        row.temperature_C = floor((row.temperature_C + 0.1 * normal()) * 10 + 0.5) / 10;
        if (i % 10 == 0)
            ovp_trace_judge_sample(judge, &row);
    }
    ovp_trace_judge_result(judge, &to->good);
    free(memory);
}

static void know_ovens(void)
{
    for (size_t i = 0; i < run_count; i++) {
        if (runs[i].kind != GOOD)
            continue;
        known_oven *to = &ovens[oven_count++];
        ovp_error error = {0};
        snprintf(to->name, sizeof to->name, "%s", runs[i].oven);
        if (lua_read_oven(runs[i].description, &to->oven, NULL, NULL, &error) != OVP_OK)
            die(error.what, runs[i].description);
        to->has_model = ovp_thermal_from_oven(&to->oven, NULL, &to->model, &error) == OVP_OK;
        judge_good(to, &runs[i]);
    }
}

static const known_oven *oven_of(const run *of)
{
    for (size_t i = 0; i < oven_count; i++)
        if (strcmp(ovens[i].name, of->oven) == 0)
            return &ovens[i];
    die("has no good run", of->oven);
    return NULL;
}

/* ---- a log of it, watched
 * ---------------------------------------------------------------------------------- */

static double rounded(double value_C, const log_form *form)
{
    if (!form->fahrenheit)
        return form->step * floor(value_C / form->step + 0.5);
    const double shown_F = form->step * floor((value_C * 1.8 + 32) / form->step + 0.5);
    return (shown_F - 32) / 1.8;
}

static ovp_trace_sample logged(const ovp_trace_sample *row, const log_form *form)
{
    ovp_trace_sample made = *row;
    made.time_s = form->round_times ? floor(row->time_s / 30 + 0.5) * 30 : row->time_s;
    if (isfinite(row->temperature_C))
        made.temperature_C = rounded(row->temperature_C + form->noise_C * normal(), form);
    if (isfinite(row->setpoint_C))
        made.setpoint_C = floor(row->setpoint_C * 10 + 0.5) / 10;
    if (form->columns >= 1)
        made.element_A = NAN;
    else if (made.element_A > 0)
        made.element_A *= 1 + 0.004 * normal();
    if (form->columns >= 2)
        made.supply_V = made.cold_junction_C = NAN;
    if (form->columns >= 3)
        made.setpoint_C = made.output_percent = NAN;
    return made;
}

static void expect(const run *of, const log_form *form, ovp_trace_watch_setting *setting)
{
    const known_oven *oven = oven_of(of);
    const double room_C = form->room_known ? floor(of->room_C + 0.5) : (double)NAN;
    if (form->known == 2)
        ovp_trace_watch_expect(NULL, NULL, NULL, room_C, setting);
    else
        ovp_trace_watch_expect(&oven->oven, oven->has_model ? &oven->model : NULL,
                               form->known == 1 ? &oven->good : NULL, room_C, setting);
}

typedef struct called {
    ovp_trace_alarm first, last; /* the first, and the gravest in the end */
    double at_s, heat_s;         /* of the first; heat on since */
    double bare_s, risen_s; /* the first row without a reading, and the first that has risen by 30 degF */
    double change_C;
    char text[2 * OVP_TRACE_TEXT_SIZE];
} called;

static called follow(const run *of, const log_form *form)
{
    static ovp_trace_watch watch;
    static ovp_trace_watch_setting setting;
    called found = {.at_s = NAN, .heat_s = NAN, .bare_s = NAN, .risen_s = NAN};
    double due_s = form->begin_s;
    expect(of, form, &setting);
    ovp_trace_watch_init(&watch, &setting);
    for (size_t i = 0; i < of->count; i++) {
        const ovp_trace_sample *row = &of->rows[i];
        if (row->time_s < due_s)
            continue;
        due_s = fmax(due_s + form->every_s, row->time_s) + form->jitter_s * (uniform() - 0.5);
        if (isnan(found.heat_s) && row->output_percent > 0)
            found.heat_s = row->time_s;
        if (isnan(found.bare_s) && row->cell == OVP_TRACE_OPEN)
            found.bare_s = row->time_s;
        if (isnan(found.risen_s) && row->temperature_C >= of->rows[0].temperature_C + 30 / 1.8)
            found.risen_s = row->time_s;
        const ovp_trace_sample sample = logged(row, form);
        if (ovp_trace_watch_sample(&watch, &sample) && found.first == OVP_TRACE_ALARM_NONE) {
            found.first = watch.state.alarm;
            found.at_s = sample.time_s;
            found.change_C = watch.state.change_C;
            ovp_trace_watch_words(&watch, found.text, sizeof found.text);
        }
    }
    found.last = watch.state.alarm;
    return found;
}

static log_form any_form(const run *of)
{
    static const double intervals_s[] = {1, 1, 2, 5, 10, 10, 30, 60}, steps[] = {0.1, 0.1, 1};
    log_form form = {.fahrenheit = of->fahrenheit, .step = steps[pick(3)], .every_s = intervals_s[pick(8)]};
    form.begin_s = uniform() < 0.3 ? floor(between(0, 600)) : 0;
    form.noise_C = between(0.05, 0.3);
    form.jitter_s = uniform() < 0.3 ? 0.5 * form.every_s : 0;
    form.round_times = form.every_s >= 30 && uniform() < 0.3;
    form.columns = pick(4);
    form.known = pick(3);
    form.room_known = uniform() < 0.5;
    return form;
}

/* The log of the contract: a row a second, a tenth of a degree. */
static log_form plain_form(const run *of)
{
    log_form form = any_form(of);
    form.begin_s = form.jitter_s = 0;
    form.every_s = 1;
    form.step = 0.1;
    form.round_times = false;
    form.columns = pick(3);
    form.known = pick(2);
    return form;
}

/* ---- healthy runs
 * ------------------------------------------------------------------------------------------ */

static size_t watch_healthy(size_t wanted)
{
    static size_t healthy[RUNS_MOST];
    size_t count = 0, disturbed = 0;
    for (size_t i = 0; i < run_count; i++)
        if (runs[i].kind == HEALTHY)
            healthy[count++] = i;
    for (size_t i = 0; i < wanted && count > 0; i++) {
        const run *of = &runs[healthy[i % count]];
        const log_form form = any_form(of);
        const called found = follow(of, &form);
        if (found.first == OVP_TRACE_ALARM_NONE)
            continue;
        disturbed++;
        if (disturbed <= 40)
            printf("  false: %s, %s: %s at %.0f s, %.1f degC; every %g s, step %g, noise %.2f, begins %g, "
                   "columns %d, "
                   "known %d, room %d%s\n",
                   of->oven, of->name, ovp_trace_alarm_name(found.first), found.at_s, found.change_C,
                   form.every_s, form.step, form.noise_C, form.begin_s, form.columns, form.known,
                   form.room_known, form.round_times ? ", times rounded" : "");
    }
    printf("healthy: %zu logs of %zu runs of %zu ovens, disturbed: %zu\n", wanted, count, oven_count,
           disturbed);
    return disturbed;
}

/* ---- delays
 * ------------------------------------------------------------------------------------------------ */

typedef struct fault_row {
    const char *name;
    ovp_trace_alarm expected[4];
    bool wants_call;     /* shows only where the log says that heat is called for */
    bool from_dead_time; /* else from heat on or, of an open sensor, from the first row without a reading */
    double limit_s;      /* of the contract; INFINITY: none */
} fault_row;

static const fault_row fault_rows[] = {
    {"open", {OVP_TRACE_ALARM_OPEN}, false, false, 2},
    {"wrong unit", {OVP_TRACE_ALARM_UNIT}, false, false, 2},
    {"wrong unit, high", {OVP_TRACE_ALARM_UNIT}, false, false, 32},
    {"reversed", {OVP_TRACE_ALARM_BACKWARDS}, false, true, 60},
    {"shorted at the head", {OVP_TRACE_ALARM_NO_RISE, OVP_TRACE_ALARM_UNSEEN}, true, true, 30},
    {"withdrawn, severe", {OVP_TRACE_ALARM_NO_RISE, OVP_TRACE_ALARM_UNSEEN}, true, true, INFINITY},
    {"no power", {OVP_TRACE_ALARM_NO_RISE, OVP_TRACE_ALARM_NO_POWER}, true, true, 30},
    {"half wave", {OVP_TRACE_ALARM_HALF}, true, false, 30},
    {"one of two out", {OVP_TRACE_ALARM_HALF}, true, false, 30},
};

static int by_value(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

static bool is_expected(const fault_row *row, ovp_trace_alarm alarm)
{
    for (size_t i = 0; i < 4 && row->expected[i] != OVP_TRACE_ALARM_NONE; i++)
        if (alarm == row->expected[i])
            return true;
    return false;
}

static void take_fault(const fault_row *row, const run *of, const log_form *form, delays *to)
{
    const called found = follow(of, form);
    const double from_s = row->expected[0] == OVP_TRACE_ALARM_HALF ? found.risen_s
                          : row->from_dead_time                    ? found.heat_s + oven_of(of)->dead_s
                          : isfinite(found.bare_s)                 ? found.bare_s
                                                                   : found.heat_s;
    if (found.first == OVP_TRACE_ALARM_NONE) {
        to->missed++;
    } else if (!is_expected(row, found.first)) {
        to->other++;
    } else {
        to->value_s[to->count++] = found.at_s - from_s;
    }
}

static const char *after_of(const fault_row *row)
{
    return row->expected[0] == OVP_TRACE_ALARM_HALF ? "a rise of 30 degF"
           : row->from_dead_time                    ? "the dead time"
                                                    : "it shows";
}

static bool print_delays(const fault_row *row, const char *form, bool contract, delays *of)
{
    qsort(of->value_s, of->count, sizeof *of->value_s, by_value);
    const double median_s = of->count > 0 ? of->value_s[of->count / 2] : (double)NAN;
    const double worst_s = of->count > 0 ? of->value_s[of->count - 1] : (double)NAN;
    const bool late = contract && isfinite(row->limit_s) && (of->missed > 0 || worst_s > row->limit_s);
    printf("  %-20s %-9s %6zu called, median %5.0f s, worst %5.0f s after %s; other alarm first %zu, missed "
           "%zu%s\n",
           row->name, form, of->count, median_s, worst_s, after_of(row), of->other, of->missed,
           late ? "  LATE" : "");
    return late;
}

static log_form fault_form(const fault_row *row, const run *of, bool plain)
{
    log_form form = plain ? plain_form(of) : any_form(of);
    form.begin_s = 0;
    if (row->wants_call && form.columns > 2)
        form.columns = pick(3);
    if (row->expected[0] == OVP_TRACE_ALARM_HALF && plain && form.columns > 0)
        form.known = 1; /* what shows half power by contract: amps or a good run */
    form.room_known = form.room_known || row->expected[0] == OVP_TRACE_ALARM_UNIT;
    return form;
}

static void take_runs(const fault_row *row, bool plain, size_t each, delays *to)
{
    memset(to, 0, sizeof *to);
    for (size_t i = 0; i < run_count; i++) {
        if (strcmp(runs[i].name, row->name) != 0)
            continue;
        for (size_t n = 0; n < each; n++) {
            const log_form form = fault_form(row, &runs[i], plain);
            take_fault(row, &runs[i], &form, to);
        }
    }
}

/* Each fault in the log of the contract, and in any log. */
static bool watch_faults(size_t each)
{
    static delays of;
    bool late = false;
    for (size_t r = 0; r < sizeof fault_rows / sizeof fault_rows[0]; r++) {
        for (int plain = 1; plain >= 0; plain--) {
            take_runs(&fault_rows[r], plain == 1, each, &of);
            if (of.count + of.missed + of.other > 0)
                late = print_delays(&fault_rows[r], plain ? "1 s, 0.1" : "any log", plain == 1, &of) || late;
        }
    }
    return late;
}

int main(int argc, char **argv)
{
    if (argc < 3) {
        fprintf(stderr, "usage: watch FOLDER RUNS [check]\n");
        return 2;
    }
    const size_t wanted = (size_t)strtoul(argv[2], NULL, 10);
    random_state = seed_of_all;
    read_list(argv[1]);
    know_ovens();
    const size_t disturbed = watch_healthy(wanted);
    const bool late = watch_faults(wanted >= 2000 ? 100 : 10);
    for (size_t i = 0; i < run_count; i++)
        free(runs[i].rows);
    return argc > 3 && (disturbed > 0 || late) ? 1 : 0;
}
