/*
 * `verify --ask`: readings typed one by one. Questions go to standard error, so that the outcome on standard
 * output can be kept in a file. Ctrl-C ends the questions like an empty line: what was typed is judged and
 * printed.
 */
#include "command/verify.h"

#include <errno.h>
#include <math.h>
#include <signal.h>
#include <string.h>
#include <sys/select.h>
#include <unistd.h>

enum {
    LINE_SIZE = 128,
};

static volatile sig_atomic_t interrupted;

static void note_interrupt(int number)
{
    (void)number;
    interrupted = 1;
}

/* The signal is held back but for the wait itself: one that comes a moment before it is not lost. */
static void catch_interrupt(struct sigaction *action_before, sigset_t *mask_before)
{
    struct sigaction action = {0};
    sigset_t held;
    action.sa_handler = note_interrupt;
    sigemptyset(&action.sa_mask);
    sigemptyset(&held);
    sigaddset(&held, SIGINT);
    interrupted = 0;
    sigprocmask(SIG_BLOCK, &held, mask_before);
    sigaction(SIGINT, &action, action_before);
    setvbuf(stdin, NULL, _IONBF, 0); /* what waits is then seen by the wait */
}

static void release_interrupt(const struct sigaction *action_before, const sigset_t *mask_before)
{
    sigprocmask(SIG_SETMASK, mask_before, NULL);
    sigaction(SIGINT, action_before, NULL);
}

/* True when there is something to read, or the end; false after Ctrl-C. */
static bool wait_for_answer(void)
{
    fd_set input;
    sigset_t mask;
    FD_ZERO(&input);
    FD_SET(STDIN_FILENO, &input);
    sigprocmask(SIG_SETMASK, NULL, &mask);
    sigdelset(&mask, SIGINT);
    while (!interrupted) {
        if (pselect(STDIN_FILENO + 1, &input, NULL, NULL, NULL, &mask) > 0)
            return true;
        if (errno != EINTR)
            return true; /* no wait to be had: let the read say what is wrong */
    }
    return false;
}

/* A line, with Ctrl-C able to end it half-way. */
static bool read_answer(char line[LINE_SIZE])
{
    sigset_t interrupt;
    sigemptyset(&interrupt);
    sigaddset(&interrupt, SIGINT);
    sigprocmask(SIG_UNBLOCK, &interrupt, NULL);
    bool read = fgets(line, LINE_SIZE, stdin) != NULL;
    sigprocmask(SIG_BLOCK, &interrupt, NULL);
    return read && !interrupted;
}

/* One answer without blanks at its ends; false when there will be no more. */
static bool ask(const char *question, char line[LINE_SIZE])
{
    fprintf(stderr, "%s ", question);
    fflush(stderr);
    if (!wait_for_answer() || !read_answer(line)) {
        fputc('\n', stderr);
        return false;
    }
    size_t length = strlen(line);
    if (length == LINE_SIZE - 1 && line[length - 1] != '\n')
        for (int letter = getchar(); letter != '\n' && letter != EOF;)
            letter = getchar(); /* far too long an answer: drop the rest of it */
    ovp_span text = ovp_span_trim((ovp_span){line, length});
    memmove(line, text.bytes, text.count);
    line[text.count] = '\0';
    return true;
}

static void say(const ovp_error *error)
{
    fprintf(stderr, "  %s\n", error->what);
    if (error->hint[0] != '\0')
        fprintf(stderr, "  %s\n", error->hint);
}

/* ---- once, before the readings ------------------------------------------------------------------- */

static bool ask_degrees(verify_job *job)
{
    char line[LINE_SIZE];
    while (job->degrees == OVP_TEXT_DEGREES_NONE) {
        if (!ask("Degrees, F or C [F]:", line))
            return false;
        if (line[0] == '\0')
            job->degrees = OVP_TEXT_DEGREES_F;
        else if (!ovp_text_degrees_named(ovp_span_of(line), &job->degrees))
            fprintf(stderr, "  F or C\n");
    }
    return true;
}

static bool ask_sensor(verify_job *job)
{
    char line[LINE_SIZE];
    while (!job->has_sensor) {
        if (!ask("Type of the couple, such as K [don't know]:", line))
            return false;
        if (line[0] == '\0' || strncmp(line, "don", 3) == 0)
            return true;
        job->has_sensor = ovp_tc_type_named(ovp_span_of(line), false, &job->sensor);
        if (!job->has_sensor)
            fprintf(stderr, "  one of B C E J K N R S T\n");
    }
    return true;
}

static bool ask_reference(verify_job *job)
{
    char line[LINE_SIZE];
    ovp_error error = {0};
    verify_print_instruments(stderr);
    while (isnan(job->reference_U_C) && isnan(job->reference_U_mV) && job->reference_name[0] == '\0') {
        if (!ask("Uncertainty of the reference (k = 2, on its certificate), or its name [don't know]:", line))
            return false;
        if (line[0] == '\0' || strncmp(line, "don", 3) == 0)
            return true;
        if (verify_reference(job, line, job->degrees, &error) != OVP_OK)
            say(&error);
        if (!isnan(job->reference_U_mV) && !job->has_sensor) {
            job->reference_U_mV = NAN;
            fprintf(stderr, "  in millivolts it needs the type of the couple; give it in degrees\n");
        }
    }
    return true;
}

static bool ask_tolerance(verify_job *job)
{
    char line[LINE_SIZE];
    ovp_error error = {0};
    while (!job->has_tolerance) {
        if (!ask(job->has_sensor ? "How far may it be wrong, such as 5, or a class [astm-e230-standard]:"
                                 : "How far may it be wrong, such as 5:",
                 line))
            return false;
        if (line[0] == '\0' && job->has_sensor)
            return true; /* the default, and said to be */
        if (verify_tolerance(job, line, job->degrees, &error) != OVP_OK)
            say(&error);
    }
    return true;
}

/* ---- the readings -------------------------------------------------------------------------------- */

/* Digits after the point: what the display can show. */
static double resolution_of(const char *line, ovp_text_degrees degrees)
{
    const char *point = strchr(line, '.');
    size_t decimals = point != NULL ? strspn(point + 1, "0123456789") : 0;
    double digit = pow(10.0, -(double)decimals);
    return degrees == OVP_TEXT_DEGREES_F ? digit / 1.8 : digit;
}

/* 1 a temperature, 0 an empty line, -1 no more answers. */
static int ask_temperature(const verify_job *job, const char *question, double *value_C, char line[LINE_SIZE])
{
    ovp_error error = {0};
    for (;;) {
        if (!ask(question, line))
            return -1;
        if (line[0] == '\0')
            return 0;
        if (ovp_text_quantity(ovp_span_of(line), OVP_TEXT_TEMPERATURE, job->degrees, value_C, &error) ==
            OVP_OK)
            return 1;
        say(&error);
    }
}

/* One reading; false when there are no more. An empty set point is the one before. */
static bool ask_reading(verify_job *job, double *nominal_C)
{
    char line[LINE_SIZE], question[160], before[64] = "";
    ovp_error error = {0};
    ovp_metrology_row row = {.reference_U_C = NAN};
    if (!isnan(*nominal_C)) {
        ovp_text_format_temperature(*nominal_C, job->degrees, 1, before, sizeof before);
        snprintf(question, sizeof question, "Set to [Enter: %s again]:", before);
    } else {
        snprintf(question, sizeof question, "Set to [Enter: no more]:");
    }
    int answer = ask_temperature(job, question, &row.nominal_C, line);
    if (answer == 0)
        row.nominal_C = *nominal_C;
    if (answer < 0 || isnan(row.nominal_C))
        return false;
    if (ask_temperature(job, "  reference reads [Enter: no more]:", &row.reference_C, line) != 1)
        return false;
    if (ask_temperature(job, "  display shows [Enter: no more]:", &row.reading_C, line) != 1)
        return false;
    row.resolution_C = resolution_of(line, job->degrees);
    if (ovp_metrology_readings_add(&job->readings, &row, &error) == OVP_OK)
        *nominal_C = row.nominal_C;
    else
        say(&error);
    return true;
}

ovp_status verify_ask(const command_call *call, verify_job *job, ovp_error *error)
{
    (void)call;
    struct sigaction action_before;
    sigset_t mask_before;
    double nominal_C = NAN;
    catch_interrupt(&action_before, &mask_before);
    bool more = ask_degrees(job) && ask_sensor(job) && ask_reference(job) && ask_tolerance(job);
    while (more && ask_reading(job, &nominal_C))
        continue;
    release_interrupt(&action_before, &mask_before);
    if (job->readings.rows > 0)
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_DATA, "no reading was given");
    ovp_error_hint(error, "a reading is three figures: set to, reference, display");
    return OVP_ERROR_DATA;
}
