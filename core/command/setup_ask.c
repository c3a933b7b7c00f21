/* The questions of `setup`, one after the other; nothing is written here. */
#include "command/ask.h"
#include "command/command.h"
#include "command/setup.h"

#include <string.h>

enum {
    QUESTION_SIZE = 512,
};

/* Asks until the answer is good. */
static bool ask_key(store_settings *settings, const char *key, const char *question, const char *preset)
{
    char answer[QUESTION_SIZE];
    for (;;) {
        ovp_error error = {0};
        ask_outcome outcome = ask_line(question, preset, answer, sizeof answer);
        if (outcome == ASK_ENDED)
            return false;
        if (outcome == ASK_UNKNOWN)
            answer[0] = '\0';
        if (setup_set(settings, key, answer, &error) == OVP_OK)
            return true;
        ask_complain(&error);
    }
}

static bool ask_degrees(store_settings *settings)
{
    static const char *const names[] = {"F", "F", "C", "K"};
    return ask_key(settings, "degrees", "1 of 5  Degrees you think in: F, C or K", names[settings->degrees]);
}

static bool ask_colours(store_settings *settings)
{
    const char *preset = settings->colours[0] != '\0' ? settings->colours : "us";
    return ask_key(
        settings, "colours",
        "2 of 5  Wire colours: us (red is minus), eu (white is minus), or a standard such as bs-1843",
        preset);
}

static bool ask_tools(store_settings *settings)
{
    char preset[QUESTION_SIZE] = "multimeter";
    if (settings->tools_known)
        store_settings_tools(settings, ", ", preset, sizeof preset);
    if (settings->tools_known && settings->tool_count == 0)
        ovp_copy_string(preset, sizeof preset, ovp_span_of("none"));
    puts("3 of 5  Tools you own, so that you are asked only for what you can measure:");
    for (size_t i = 0; i < setup_tool_count(); i++)
        printf("      %4zu  %-18s %s\n", i + 1, setup_tool_at(i)->word, setup_tool_at(i)->text);
    return ask_key(settings, "tools", "        Numbers or words, with commas between; all; or none", preset);
}

/* One part of an instrument onto the end of `text`, such as "; due 2027-03-01". False at the end. */
static bool ask_part(const char *question, const char *word, char text[QUESTION_SIZE])
{
    char answer[STORE_FIELD_SIZE], part[QUESTION_SIZE];
    store_instrument ignored;
    for (;;) {
        ovp_error error = {0};
        ask_outcome outcome = ask_line(question, "", answer, sizeof answer);
        if (outcome == ASK_ENDED)
            return false;
        if (outcome == ASK_UNKNOWN || answer[0] == '\0')
            return true;
        snprintf(part, sizeof part, "%.300s; %s %s", text, word, answer);
        if (store_instrument_read(ovp_span_of(part), &ignored, &error) == OVP_OK) {
            ovp_copy_string(text, QUESTION_SIZE, ovp_span_of(part));
            return true;
        }
        ask_complain(&error);
    }
}

static bool ask_instrument(store_settings *settings, const char *name)
{
    char text[QUESTION_SIZE];
    ovp_error error = {0};
    ovp_copy_string(text, sizeof text, ovp_span_of(name));
    if (!ask_part("          number of its certificate", "certificate", text) ||
        !ask_part("          certificate good until (YYYY-MM-DD)", "due", text) ||
        !ask_part("          uncertainty on the certificate, k = 2 (0.5C, 0.9F, 5uV)", "U", text))
        return false;
    if (setup_add_instrument(settings, text, &error) != OVP_OK)
        ask_complain(&error);
    return true;
}

static bool ask_instruments(store_settings *settings)
{
    char name[STORE_FIELD_SIZE];
    puts("4 of 5  Instruments that you compare with: a calibrator, a reference thermometer.");
    if (settings->instrument_count > 0)
        puts("        Those that are known are kept; the same name again replaces one.");
    for (size_t i = 0; i < settings->instrument_count; i++)
        printf("          kept: %s\n", settings->instruments[i].name);
    for (;;) {
        const char *question = "        Name of one more (Enter: no more)";
        ask_outcome outcome = ask_line(question, "", name, sizeof name);
        if (outcome == ASK_ENDED)
            return false;
        if (outcome == ASK_UNKNOWN || name[0] == '\0')
            return true;
        if (strchr(name, ';') != NULL)
            puts("  a name has no semicolon");
        else if (!ask_instrument(settings, name))
            return false;
    }
}

bool setup_ask(store_settings *settings)
{
    puts("Five questions, once. Enter takes what stands in [brackets]; ? is \"don't know\"; Ctrl-C leaves");
    puts("everything as it was.");
    return ask_degrees(settings) && ask_colours(settings) && ask_tools(settings) &&
           ask_instruments(settings) &&
           ask_key(settings, "contact",
                   "5 of 5  A line for reports and labels: name, phone or mail (Enter: none)",
                   settings->contact);
}
