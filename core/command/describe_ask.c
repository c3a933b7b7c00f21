/* The questions of `describe`, in the order in which a plate is read; nothing is written here. */
#include "command/ask.h"
#include "command/describe.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    ANSWER_SIZE = 256,
};

typedef struct asking {
    const command_call *call;
    ovp_oven *oven;
    size_t number;
} asking;

/* Takes an answer that is not "don't know"; an error asks again. */
typedef ovp_status (*take_answer)(asking *a, const char *answer, ovp_error *error);

static bool ask(asking *a, const char *words, const char *preset, take_answer take)
{
    char question[ANSWER_SIZE], answer[ANSWER_SIZE];
    snprintf(question, sizeof question, "%2zu  %s", ++a->number, words);
    for (;;) {
        ovp_error error = {0};
        ask_outcome outcome = ask_line(question, preset, answer, sizeof answer);
        if (outcome == ASK_ENDED)
            return false;
        if (outcome == ASK_UNKNOWN || take(a, answer, &error) == OVP_OK)
            return true;
        ask_complain(&error);
    }
}

static ovp_status set(asking *a, const char *path, const char *value, ovp_error *error)
{
    ovp_error warning = {0};
    ovp_status status = ovp_oven_set(a->oven, path, OVP_OVEN_LEAF_TEXT, value, &warning, error);
    if (status != OVP_OK)
        ovp_error_hint(error, "or ? when it is not known");
    if (status == OVP_OK && warning.what[0] != '\0')
        printf("      note: %s\n", warning.what);
    return status;
}

/* On the plate of an oven a bare 240 after "volts" has its unit already. */
static ovp_status set_with_unit(asking *a, const char *path, const char *answer, const char *unit,
                                ovp_error *error)
{
    char whole[ANSWER_SIZE + 8];
    double number;
    bool bare = ovp_text_number(ovp_span_of(answer), &number);
    snprintf(whole, sizeof whole, "%s%s", answer, bare ? unit : "");
    return set(a, path, whole, error);
}

/* ---- one function a question -----------------------------------------------------------------------------
 */

static ovp_status take_name(asking *a, const char *answer, ovp_error *error)
{
    return set(a, "name", answer, error);
}

static ovp_status take_volts(asking *a, const char *answer, ovp_error *error)
{
    return set_with_unit(a, "supply.volts", answer, "V", error);
}

static ovp_status take_circuit(asking *a, const char *answer, ovp_error *error)
{
    return set_with_unit(a, "supply.circuit", answer, "A", error);
}

static ovp_status take_count(asking *a, const char *answer, ovp_error *error)
{
    double count;
    if (!ovp_text_number(ovp_span_of(answer), &count) || !(count >= 1 && count <= OVP_OVEN_ELEMENTS) ||
        count != floor(count)) {
        ovp_error_set(error, OVP_ERROR_DATA, "'%.40s' is not a number of elements", answer);
        ovp_error_hint(error, "a whole number from 1 to %d, or ? when it is not known", OVP_OVEN_ELEMENTS);
        return OVP_ERROR_DATA;
    }
    a->oven->element_count = (size_t)count; /* their figures are not known yet */
    if (count == 1)
        a->oven->wiring = OVP_OVEN_WIRING_SINGLE;
    return OVP_OK;
}

static ovp_status take_watts(asking *a, const char *answer, ovp_error *error)
{
    ovp_status status = OVP_OK;
    size_t count = a->oven->element_count;
    for (size_t i = 1; status == OVP_OK && i <= (count == 0 ? 1 : count); i++) {
        char path[64];
        snprintf(path, sizeof path, "elements[%zu].watts", i);
        status = set_with_unit(a, path, answer, "W", error);
    }
    return status;
}

static ovp_status take_wiring(asking *a, const char *answer, ovp_error *error)
{
    return set(a, "wiring", answer, error);
}

static ovp_status take_sensor(asking *a, const char *answer, ovp_error *error)
{
    ovp_status status = set(a, "sensor.type", answer, error);
    return status == OVP_OK ? set(a, "controller.input", answer, error) : status;
}

/* "8 x 8 x 12 in": three lengths; a bare one takes the unit of the last. */
static size_t split_lengths(const char *answer, char parts[3][64])
{
    size_t count = 0;
    const char *from = answer;
    for (const char *at = answer;; at++) {
        bool times = (unsigned char)at[0] == 0xC3 && (unsigned char)at[1] == 0x97;
        if (*at != '\0' && *at != 'x' && *at != 'X' && *at != ',' && !times)
            continue;
        ovp_span part = ovp_span_trim((ovp_span){from, (size_t)(at - from)});
        if (count < 3)
            ovp_copy_string(parts[count], 64, part);
        count++;
        at += times ? 1 : 0;
        from = at + 1;
        if (*at == '\0')
            return count;
    }
}

static ovp_status take_chamber(asking *a, const char *answer, ovp_error *error)
{
    static const char *const paths[] = {"chamber.width", "chamber.height", "chamber.depth"};
    char parts[3][64];
    double number;
    if (split_lengths(answer, parts) != 3) {
        ovp_error_set(error, OVP_ERROR_DATA, "'%.60s' is not width x height x depth", answer);
        ovp_error_hint(error, "write it as 8 x 8 x 12 in, or ? when it is not known");
        return OVP_ERROR_DATA;
    }
    const char *unit = parts[2] + ovp_text_scan_number(ovp_span_of(parts[2]), &number);
    char last_unit[64];
    ovp_copy_string(last_unit, sizeof last_unit, ovp_span_trim(ovp_span_of(unit)));
    ovp_oven before = *a->oven;
    ovp_status status = OVP_OK;
    for (size_t i = 0; status == OVP_OK && i < 3; i++)
        status = set_with_unit(a, paths[i], parts[i], last_unit, error);
    if (status != OVP_OK)
        *a->oven = before;
    return status;
}

static ovp_status take_limit(asking *a, const char *answer, ovp_error *error)
{
    static const char *const units[] = {"", "F", "C", "K"};
    ovp_oven before = *a->oven;
    ovp_status status = set_with_unit(a, "chamber.limit", answer, units[a->call->degrees], error);
    if (status == OVP_OK)
        status = ovp_oven_check(a->oven, error); /* against what the sensor can read */
    if (status != OVP_OK)
        *a->oven = before;
    return status;
}

static ovp_status take_lining(asking *a, const char *answer, ovp_error *error)
{
    return set(a, "lining.wall", answer, error);
}

static bool ask_elements(asking *a)
{
    bool low = a->oven->supply.volts_V < 180.0;
    if (!ask(a, "How many heating elements", low ? "1" : "2", take_count))
        return false;
    /* nobody counted them: the plate's watts give the amps all the same, held as one element */
    const bool counted = a->oven->element_count > 0;
    const char *words = !counted                      ? "Watts on the plate, all elements together, hot"
                        : a->oven->element_count == 1 ? "Watts of the element, hot, at those volts"
                                                      : "Watts of each element, hot, at those volts";
    if (!ask(a, words, low ? "1300W" : counted && a->oven->element_count > 1 ? "1800W" : "3600W", take_watts))
        return false;
    return a->oven->element_count == 1 ||
           ask(a, "How they are joined: parallel, series or single", "parallel", take_wiring);
}

bool describe_ask(const command_call *call, ovp_oven *oven)
{
    asking a = {.call = call, .oven = oven};
    puts("At most ten questions; the plate and the drawing answer most. Enter takes what stands in "
         "[brackets];");
    puts("? is \"don't know\", and never wrong; Ctrl-C leaves without a file.");
    if (!ask(&a, "Name of the oven or its model", "my-oven", take_name))
        return false;
    if (oven->name[0] == '\0') /* the one field that a description must have */
        ovp_copy_string(oven->name, sizeof oven->name, ovp_span_of("my-oven"));
    return ask(&a, "Volts on the plate", "240V", take_volts) && ask_elements(&a) &&
           ask(&a, "Breaker of its circuit", oven->supply.volts_V < 180.0 ? "15A" : "20A", take_circuit) &&
           ask(&a, "Letter of the thermocouple on the drawing", "K", take_sensor) &&
           ask(&a, "Chamber inside, width x height x depth", "8 x 8 x 12 in", take_chamber) &&
           ask(&a, "Highest temperature allowed", "2100F", take_limit) &&
           ask(&a, "Wall: thickness and material, hot side first", "2.5in fibre board", take_lining);
}
