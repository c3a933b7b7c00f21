/* What `describe` prints for people. */
#include "command/describe.h"
#include "command/standing.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum {
    LINE_SIZE = 1024,
    GAPS_IN_FULL = 11,
};

/* Append to a line of LINE_SIZE bytes. */
static void OVP_PRINTF(2, 3) add(char *line, const char *format, ...)
{
    size_t used = strlen(line);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line + used, LINE_SIZE - used, format, arguments);
    va_end(arguments);
}

static void print_line(const command_call *call, const char *line)
{
    ovp_text_fold(call->out, line, 100, 0, 2);
}

static void add_value(char *line, const ovp_oven *oven, const char *before, const char *path,
                      const char *after)
{
    char value[512];
    if (ovp_oven_value(oven, path, value, sizeof value))
        add(line, "%s%s%s", before, value, after);
}

static void add_temperature(char *line, const command_call *call, double value_C)
{
    char text[96];
    ovp_text_format_temperature(value_C, call->degrees, 0, text, sizeof text);
    add(line, "%s", text);
}

/* ---- the oven itself -------------------------------------------------------------------------------------
 */

static void print_plate(const command_call *call, const ovp_oven *oven)
{
    char line[LINE_SIZE] = "";
    add(line, "%s:", oven->name);
    add_value(line, oven, " ", "supply.volts", ",");
    if (oven->element_count > 0)
        add(line, " %zu element%s", oven->element_count, oven->element_count == 1 ? "" : "s");
    add_value(line, oven, oven->element_count > 1 ? " of " : ", ", "elements[].watts", "");
    if (oven->element_count > 1)
        add_value(line, oven, " in ", "wiring", "");
    add_value(line, oven, "; sensor type ", "sensor.type", "");
    add_value(line, oven, ", input ", "controller.input", "");
    add_value(line, oven, "; chamber ", "chamber.width", "");
    add_value(line, oven, " x ", "chamber.height", "");
    add_value(line, oven, " x ", "chamber.depth", "");
    if (!isnan(oven->chamber.limit_C)) {
        add(line, ", to ");
        add_temperature(line, call, oven->chamber.limit_C);
    }
    add_value(line, oven, "; wall ", "lining.wall", "");
    add_value(line, oven, ", floor ", "lining.floor", "");
    add(line, line[strlen(line) - 1] == ':' ? " of its plate nothing is known." : ".");
    print_line(call, line);
    if (oven->note[0] != '\0')
        print_line(call, oven->note);
}

static void add_part(char *line, const ovp_oven *oven, ovp_oven_part part)
{
    char words[64];
    ovp_copy_string(words, sizeof words, ovp_span_of(ovp_oven_part_name(part)));
    for (char *at = words; *at != '\0'; at++)
        if (*at == '_')
            *at = ' ';
    add(line, "%s%s", line[strlen(line) - 1] == ':' ? " " : ", ", words);
    if (oven->part_rating[part][0] != '\0')
        add(line, " (%s)", oven->part_rating[part]);
}

static void print_parts(const command_call *call, const ovp_oven *oven)
{
    static const char *const heads[] = {"not known:", "not fitted:", "fitted:"};
    static const ovp_oven_fitted order[] = {OVP_OVEN_FITTED, OVP_OVEN_NOT_FITTED, OVP_OVEN_UNKNOWN};
    char whole[LINE_SIZE] = "";
    for (size_t i = 0; i < 3; i++) {
        char line[LINE_SIZE] = "";
        add(line, "%s", heads[order[i]]);
        size_t empty = strlen(line);
        for (int part = 0; part < OVP_OVEN_PARALLEL_BRANCHES; part++)
            if (ovp_oven_has(oven, (ovp_oven_part)part) == order[i])
                add_part(line, oven, (ovp_oven_part)part);
        if (strlen(line) > empty)
            add(whole, "%s%s", whole[0] == '\0' ? "" : "; ", line);
    }
    whole[0] = (char)(whole[0] == 'f' ? 'F' : 'N');
    add(whole, ".");
    print_line(call, whole);
}

/* ---- what follows
 * ------------------------------------------------------------------------------------------ */

static void add_ohms(char *line, double ohm, double tolerance)
{
    add(line, "%.1f ohm (%.1f to %.1f)", ohm, ohm * (1.0 - tolerance), ohm * (1.0 + tolerance));
}

static void print_ohms(const command_call *call, const describe_facts *facts)
{
    const ovp_electrical_load *load = &facts->load;
    char line[LINE_SIZE] = "Cold ohms, plug pulled and proved dead: ";
    bool alike = true;
    for (size_t i = 1; i < facts->oven->element_count; i++)
        alike = alike && fabs(load->element_ohm[i] - load->element_ohm[0]) < 1e-9;
    if (facts->oven->element_count > 1) {
        for (size_t i = 0; i < (alike ? 1 : facts->oven->element_count); i++) {
            if (alike)
                add(line, "each element alone, one lead off, ");
            else
                add(line, "element %zu alone, one lead off, ", i + 1);
            add_ohms(line, load->element_ohm[i], load->ohm_tolerance);
            add(line, "; ");
        }
        add(line, "together ");
    }
    add_ohms(line, load->cold_ohm, load->ohm_tolerance);
    add(line, ", less the meter's leads.");
    if (load->alloy_assumed)
        add(line, " The alloy is not given: %s was taken (judgement).", ovp_electrical_usual_alloy(NULL));
    print_line(call, line);
}

static const char *circuit_verdict(const ovp_electrical_circuit *circuit)
{
    if (!circuit->within_rating)
        return "more than its breaker carries: it needs a larger circuit";
    if (circuit->within_continuous)
        return "within the 80 % rule";
    return circuit->shared == OVP_OVEN_FITTED
               ? "past 80 % on a shared circuit: it needs one of its own"
               : "past 80 %: only on a circuit of its own, and under three hours of full heat on end";
}

static void print_amps(const command_call *call, const describe_facts *facts)
{
    const ovp_electrical_circuit *circuit = &facts->circuit;
    char line[LINE_SIZE] = "";
    add(line, "Full heat: %.1f A, %.0f W (%.1f A in the first moment)", facts->load.full_A,
        facts->load.full_W, facts->load.cold_A);
    if (facts->load.controls_counted)
        add(line, "; with its controls %.1f A", facts->load.total_A);
    if (!facts->has_circuit)
        add(line, ". Its breaker is not given, so the margin of the circuit cannot be judged.");
    else
        add(line, "; on %.0f A that is %.0f %%, %s (%.1f A). The local code and the inspector decide.",
            circuit->circuit_A, 100.0 * circuit->share, circuit_verdict(circuit), circuit->continuous_A);
    if (facts->has_circuit && !isnan(circuit->lost_V))
        add(line, " Line and cord lose %.1f V: %.0f %% of the watts are left.", circuit->lost_V,
            100.0 * circuit->power_left);
    print_line(call, line);
}

static void print_minutes(const command_call *call, const describe_facts *facts)
{
    const ovp_thermal_outlook *outlook = &facts->outlook;
    char line[LINE_SIZE] = "Heat-up, empty and dry, from room temperature: ";
    if (!facts->has_outlook) {
        add(line, "cannot be reckoned: %s.", facts->no_outlook.what);
        print_line(call, line);
        return;
    }
    for (size_t i = 0; i < outlook->mark_count; i++) {
        const ovp_thermal_outlook_mark *mark = &outlook->marks[i];
        add(line, "%s", i == 0 ? "" : ", ");
        add_temperature(line, call, mark->to_C);
        if (isnan(mark->time_s))
            add(line, " never");
        else
            add(line, " in %.1f min", mark->time_s / 60.0);
        if (!isnan(mark->within_s))
            add(line, " (limit %.1f)", mark->within_s / 60.0);
    }
    add(line, ". A model, good to about %.0f %%.", 100.0 * outlook->time_uncertainty);
    print_line(call, line);
}

static void print_next(const command_call *call, const describe_facts *facts)
{
    char line[LINE_SIZE] = "";
    if (facts->gap_count > 0)
        add(line, "Not known: %zu fields; `ovenproof describe %s --gaps` says what each is for.",
            facts->gap_count, facts->file);
    else
        add(line, "Next: one good run, and `ovenproof trace RUN --oven %s` proves it against the limits.",
            facts->file);
    print_line(call, line);
}

void describe_print_follows(const command_call *call, const describe_facts *facts)
{
    if (facts->has_load) {
        print_ohms(call, facts);
        print_amps(call, facts);
    } else {
        char line[LINE_SIZE] = "";
        add(line, "Ohms, amps and the circuit cannot be reckoned: %s.", facts->no_load.what);
        print_line(call, line);
    }
    print_minutes(call, facts);
    command_say_standing_warning(call->out, facts->oven, true);
    print_next(call, facts);
}

void describe_print(const command_call *call, const describe_facts *facts)
{
    print_plate(call, facts->oven);
    print_parts(call, facts->oven);
    describe_print_follows(call, facts);
}

/* ---- gaps and fields
 * --------------------------------------------------------------------------------------- */

void describe_print_gaps(const command_call *call, const describe_facts *facts)
{
    char rest[LINE_SIZE] = "";
    size_t count = 0;
    if (facts->gap_count == 0)
        printf("%s: nothing is missing.\n", facts->oven->name);
    else
        printf("%s: %zu fields are not known. In the order of the description:\n", facts->oven->name,
               facts->gap_count);
    const ovp_oven_field *field = ovp_oven_fields();
    for (; describe_next_gap(facts->oven, &field); field++) {
        if (count++ < GAPS_IN_FULL)
            printf("  %-26s %s\n", field->path, field->matters);
        else
            add(rest, "%s%s", rest[0] == '\0' ? "and: " : ", ", field->path);
    }
    if (rest[0] != '\0')
        print_line(call, rest);
}

static const char *const kind_examples[] = {
    [OVP_TEXT_TEMPERATURE] = "2100F", [OVP_TEXT_TEMPERATURE_DIFFERENCE] = "9F",
    [OVP_TEXT_EMF] = "20.6mV",        [OVP_TEXT_VOLTAGE] = "240V",
    [OVP_TEXT_CURRENT] = "20A",       [OVP_TEXT_RESISTANCE] = "0.2ohm",
    [OVP_TEXT_POWER] = "1800W",       [OVP_TEXT_DURATION] = "15min",
    [OVP_TEXT_LENGTH] = "8in",        [OVP_TEXT_MASS] = "2lb",
    [OVP_TEXT_RATIO] = "5%",          [OVP_TEXT_COUNT] = "2",
};

void describe_print_fields(const command_call *call)
{
    puts("Fields of a description; [] counts from 1. One that is left out is not known.");
    for (const ovp_oven_field *field = ovp_oven_fields(); field->path != NULL; field++) {
        const char *form = field->is_yes_no         ? "true|false"
                           : field->choices != NULL ? field->choices
                           : field->is_text         ? "words"
                                                    : kind_examples[field->kind];
        const char *cells[] = {field->path, form, field->text};
        static const int widths[] = {26, 22, 46};
        ovp_text_table_row(call->out, cells, widths, 3);
    }
}
