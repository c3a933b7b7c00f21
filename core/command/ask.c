#include "command/ask.h"
#include "command/command.h"

#include <errno.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

static volatile sig_atomic_t interrupted;
static struct sigaction before;

static void note_interrupt(int number)
{
    (void)number;
    interrupted = 1;
}

void ask_begin(void)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = note_interrupt; /* no SA_RESTART: the read must end */
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, &before);
}

void ask_end(void)
{
    sigaction(SIGINT, &before, NULL);
}

/* The rest of a line that did not fit. */
static void skip_line(void)
{
    int letter = getchar();
    while (letter != '\n' && letter != EOF)
        letter = getchar();
}

static bool read_line(char *line, size_t size, const char **problem)
{
    size_t count = 0;
    *problem = NULL;
    int letter = getchar();
    if (letter == EOF)
        return false;
    for (; letter != '\n' && letter != EOF; letter = getchar()) {
        if (count + 1 == size) {
            skip_line();
            *problem = "that is too long";
            return true;
        }
        if ((letter < 0x20 && letter != '\t' && letter != '\r') || letter == 0x7F)
            *problem = "that holds control characters";
        line[count++] = (char)letter;
    }
    line[count] = '\0';
    return !interrupted;
}

static bool is_unknown(ovp_span answer)
{
    static const char *const words[] = {"?", "don't know", "dont know", "unknown"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (ovp_span_equals(answer, words[i]))
            return true;
    return false;
}

ask_outcome ask_line(const char *question, const char *preset, char *answer, size_t size)
{
    char line[512];
    for (;;) {
        const char *problem;
        printf("%s", question);
        if (preset[0] != '\0')
            printf(" [%s]", preset);
        printf(": ");
        fflush(stdout);
        bool read = !interrupted && read_line(line, sizeof line < size ? sizeof line : size, &problem);
        if (isatty(STDIN_FILENO) != 1) /* nobody typed the line end that a terminal shows */
            putchar('\n');
        if (!read)
            return ASK_ENDED;
        if (problem != NULL) {
            printf("  %s; once more, please\n", problem);
            continue;
        }
        ovp_span typed = ovp_span_trim(ovp_span_of(line));
        if (is_unknown(typed))
            return ASK_UNKNOWN;
        ovp_copy_string(answer, size, typed.count > 0 ? typed : ovp_span_of(preset));
        return ASK_ANSWER;
    }
}

static ovp_status write_out(void *context, const char *bytes, size_t count)
{
    (void)context;
    return fwrite(bytes, 1, count, stdout) == count ? OVP_OK : OVP_ERROR_SYSTEM;
}

void ask_complain(const ovp_error *error)
{
    char text[2 * OVP_ERROR_TEXT_SIZE + 4];
    snprintf(text, sizeof text, "%s; %s", error->what, error->hint);
    ovp_text_fold((ovp_sink){write_out, NULL}, text, 98, 2, 2);
}

int ask_give_up(const char *what)
{
    ovp_error error;
    if (isatty(STDIN_FILENO) == 1)
        putchar('\n');
    ask_end();
    if (interrupted) {
        ovp_error_set(&error, OVP_ERROR_DATA, "stopped: %s", what);
        ovp_error_hint(&error, "start again when it suits");
        command_fail(&error);
        raise(SIGINT);
    }
    ovp_error_set(&error, OVP_ERROR_DATA, "the answers ended before the last question: %s", what);
    ovp_error_hint(&error,
                   "answer every question (Enter keeps what stands in brackets, ? is \"don't know\"), "
                   "or give the answers as options");
    return command_fail(&error);
}
