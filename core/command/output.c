/* Where a command's words go: standard output through a sink, messages to standard error. */
#include "command/beside.h"
#include "command/call.h"
#include "command/command.h"

#include <errno.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum {
    HELP_COLUMN = 30,
};

int command_fail(const ovp_error *error)
{
    fflush(stdout);
    fputs("ovenproof: ", stderr);
    if (error->file[0] != '\0' && error->line > 0)
        fprintf(stderr, "%s:%llu: ", error->file, (unsigned long long)error->line);
    else if (error->file[0] != '\0')
        fprintf(stderr, "%s: ", error->file);
    fprintf(stderr, "%s\n", error->what);
    if (error->hint[0] != '\0')
        fprintf(stderr, "hint: %s\n", error->hint);
    if (error->status == OVP_ERROR_MEMORY)
        return OVP_ERROR_SYSTEM;
    return (int)error->status;
}

/* A synopsis of several lines as one: a hint is a line. */
static void copy_in_one_line(const char *text, char *buffer, size_t size)
{
    size_t used = 0;
    for (; *text != '\0' && used + 1 < size; text++) {
        const bool blank = *text == ' ' || *text == '\n';
        if (!blank || (used > 0 && buffer[used - 1] != ' '))
            buffer[used++] = blank ? ' ' : *text;
    }
    buffer[used] = '\0';
}

int command_usage(const command_call *call, const char *format, ...)
{
    char what[OVP_ERROR_TEXT_SIZE];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    ovp_error error;
    ovp_error_set(&error, OVP_ERROR_USAGE, "%s", what);
    char synopsis[OVP_ERROR_TEXT_SIZE];
    copy_in_one_line(call->definition->synopsis, synopsis, sizeof synopsis);
    ovp_error_hint(&error, "usage: ovenproof %s %s; `ovenproof %s --help` has an example",
                   call->definition->name, synopsis, call->definition->name);
    return command_fail(&error);
}

const char *command_file_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return strcmp(path, "-") == 0 ? "standard input" : slash != NULL ? slash + 1 : path;
}

command_words command_show_temperature(const command_call *call, double value_C, int decimals)
{
    command_words words;
    ovp_text_format_temperature(value_C, call->degrees, decimals, words.text, sizeof words.text);
    return words;
}

int command_finish(int status)
{
    static bool told; /* once is enough */
    if (told || (fflush(stdout) == 0 && ferror(stdout) == 0))
        return status;
    if (errno == EPIPE) /* `| head` has read enough: not a failure of ours */
        return status;
    told = true;
    ovp_error error;
    ovp_error_set(&error, OVP_ERROR_SYSTEM, "cannot write the output: %s", strerror(errno));
    ovp_error_hint(&error, "is the disk full?");
    return command_fail(&error);
}

bool command_colour(void)
{
    const char *no_colour = getenv("NO_COLOR");
    const char *terminal = getenv("TERM");
    if (no_colour != NULL && no_colour[0] != '\0')
        return false;
    return isatty(STDOUT_FILENO) == 1 && terminal != NULL && strcmp(terminal, "dumb") != 0;
}

size_t command_columns(void)
{
    struct winsize size;
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
        return size.ws_col;
    return 100;
}

bool command_draws(const command_call *call)
{
    return command_given(call, "plot") || command_given(call, "picture");
}

void command_say_drawn(const command_call *call)
{
    const char *path = command_value(call, "picture");
    if (path != NULL && !call->json)
        (void)ovp_text_print(call->out, "Drawn: %s\n", path);
}

size_t command_drawing_columns(void)
{
    const char *told = getenv("COLUMNS");
    double columns = 0;
    if (told == NULL || !ovp_text_number(ovp_span_of(told), &columns) || !(columns >= 1))
        columns = (double)command_columns();
    return columns < 40 ? 40 : columns > 100 ? 100 : (size_t)columns;
}

static void print_options(const command_option *option, ovp_sink out)
{
    for (; option != NULL && option->name != NULL; option++) {
        char left[64];
        snprintf(left, sizeof left, "  %s%s%s%s", command_option_dashes(option), option->name,
                 option->argument != NULL ? " " : "", option->argument != NULL ? option->argument : "");
        const bool wide = strlen(left) > HELP_COLUMN - 2;
        if (wide)
            (void)ovp_text_print(out, "%s\n", left);
        command_say_beside(out, wide ? "" : left, HELP_COLUMN, option->help);
    }
}

void command_print_help(const command_definition *definition, ovp_sink out)
{
    char usage[OVP_ERROR_TEXT_SIZE], synopsis[OVP_ERROR_TEXT_SIZE];
    copy_in_one_line(definition->synopsis, synopsis, sizeof synopsis);
    snprintf(usage, sizeof usage, "ovenproof %s", definition->name);
    command_say_beside(out, usage, strlen(usage) + 1, synopsis);
    command_say(out, definition->summary);
    if (definition->details != NULL) {
        printf("\n");
        command_say(out, definition->details);
    }
    printf("\nOptions\n");
    print_options(definition->options, out);
    print_options(command_common_options(), out);
    printf("\nExamples\n");
    for (const char *line = definition->examples; *line != '\0';) {
        const char *end = strchr(line, '\n');
        size_t count = end != NULL ? (size_t)(end - line) : strlen(line);
        printf("  %.*s\n", (int)count, line);
        line += count + (end != NULL);
    }
}
