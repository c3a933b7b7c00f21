/* What `circuit` prints for people. */
#include "command/beside.h"
#include "command/circuit.h"
#include "command/standing.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum {
    TEXT_SIZE = CIRCUIT_TEXT_SIZE,
};

void circuit_add(char *text, size_t size, const char *format, ...)
{
    const size_t used = strlen(text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text + used, size - used, format, arguments);
    va_end(arguments);
}

#define ADD(text, ...) circuit_add((text), TEXT_SIZE, __VA_ARGS__)

command_words circuit_time(double time_s)
{
    command_words shown = {""};
    if (time_s >= 7200.0)
        snprintf(shown.text, sizeof shown.text, "%.3g h", time_s / 3600.0);
    else if (time_s >= 120.0)
        snprintf(shown.text, sizeof shown.text, "%.0f min", time_s / 60.0);
    else
        snprintf(shown.text, sizeof shown.text, "%.3g s", time_s);
    return shown;
}

command_words circuit_wire(const ovp_electrical_wire *wire)
{
    command_words shown = {""};
    if (wire->awg != 0)
        snprintf(shown.text, sizeof shown.text, "%d AWG", wire->awg);
    else
        snprintf(shown.text, sizeof shown.text, "%g mm2", wire->mm2);
    return shown;
}

/* ---- standing warnings --------------------------------------------------------------------------------- */

static void print_warnings(const command_call *call, const circuit_facts *facts)
{
    char unknown[TEXT_SIZE] = "";
    command_say_standing_warning(call->out, facts->oven, false);
    for (size_t i = 0; i < facts->review.failure_count; i++) {
        const ovp_electrical_failure *failure = &facts->review.failures[i];
        if (failure->level == OVP_ELECTRICAL_FAILURE_NOT_KNOWN && strstr(unknown, failure->missing) == NULL)
            ADD(unknown, "%s%s", unknown[0] == '\0' ? "What one failure does cannot be told without: " : ", ",
                failure->missing);
    }
    if (unknown[0] != '\0') {
        ADD(unknown, ".");
        command_say(call->out, unknown);
    }
}

/* ---- figures ------------------------------------------------------------------------------------------- */

static void print_load(const command_call *call, const circuit_facts *facts)
{
    const ovp_electrical_load *load = &facts->review.load;
    char text[TEXT_SIZE] = "";
    if (!facts->review.has_load)
        return;
    ADD(text, "Full heat: heaters %.1f A hot (%.1f A cold, at first), %.0f W at %.0f V; controls ",
        load->full_A, load->cold_A, load->full_W, facts->oven->supply.volts_V);
    if (load->controls_counted)
        ADD(text, "%.2g A.", facts->oven->controls_A);
    else
        ADD(text, "not known.");
    command_say(call->out, text);
}

/* What a sound breaker does at these amps, and at which amps it must open. */
static void print_breaker(const command_call *call, const circuit_facts *facts)
{
    const ovp_electrical_protection *protection = &facts->review.protection;
    char text[TEXT_SIZE] = "";
    ovp_electrical_device_limit limit;
    if (!(protection->rating_A > 0.0))
        return;
    ADD(text, "A sound %.3g A breaker ", protection->rating_A);
    if (!isnan(protection->within_s))
        ADD(text, "trips at %.1f A within %s", protection->load_A, circuit_time(protection->within_s).text);
    else if (protection->holds_s == HUGE_VAL)
        ADD(text, "carries %.1f A", protection->load_A);
    else if (!isnan(protection->holds_s))
        ADD(text, "carries %.1f A for %s at least", protection->load_A,
            circuit_time(protection->holds_s).text);
    else
        ADD(text, "may hold %.1f A or trip", protection->load_A);
    size_t told = 0;
    for (size_t i = 0;
         told < 2 && ovp_electrical_device_limit_at(protection->device, protection->rating_A, i, &limit); i++)
        if (limit.opens && limit.time_s > 1.0)
            ADD(text, "%s %.1f A within %s", told++ == 0 ? "; it must trip at" : ", at", limit.current_A,
                circuit_time(limit.time_s).text);
    ADD(text, ".");
    command_say(call->out, text);
}

static const char *marked(const circuit_facts *facts, const ovp_electrical_supply_step *step)
{
    if (isnan(step->of_circuit))
        return "";
    if (step->of_circuit > 1.0 + 1e-9)
        return " over";
    const bool past = step->total_A > facts->review.continuous_A * (1.0 + 1e-9);
    return past && facts->review.rules == OVP_ELECTRICAL_RULES_US ? " past 80 %" : "";
}

static void print_supply(const command_call *call, const circuit_facts *facts)
{
    enum {
        COLUMNS = 1 + OVP_ELECTRICAL_SUPPLY_STEPS
    };
    static const char *const heads[] = {"supply", "amps", "power"};
    const ovp_electrical_review *review = &facts->review;
    char cells[3][COLUMNS][48];
    const char *row[COLUMNS];
    int widths[COLUMNS] = {8};
    if (review->supply_count == 0)
        return;
    for (size_t i = 0; i < review->supply_count; i++) {
        const ovp_electrical_supply_step *step = &review->supply[i];
        widths[i + 1] = 18;
        snprintf(cells[0][i + 1], sizeof cells[0][0], "%.0f V (%s)", step->volts_V, step->text);
        snprintf(cells[1][i + 1], sizeof cells[1][0], "%.1f A%s", step->total_A, marked(facts, step));
        snprintf(cells[2][i + 1], sizeof cells[2][0], "%.0f W (%.0f %%)", step->power_W,
                 100.0 * step->power_share);
    }
    for (size_t line = 0; line < 3; line++) {
        row[0] = heads[line];
        for (size_t i = 0; i < review->supply_count; i++)
            row[i + 1] = cells[line][i + 1];
        ovp_text_table_row(call->out, row, widths, review->supply_count + 1);
    }
}

static void add_device(const char *name, const ovp_electrical_fitted_device *device, const char *unknown,
                       char *text)
{
    if (device->fitted == OVP_OVEN_NOT_FITTED)
        return;
    ADD(text, "%s%s: ", text[0] == '\0' ? "" : " ", name);
    if (device->fitted == OVP_OVEN_UNKNOWN)
        ADD(text, "not known.");
    else if (!device->rated)
        ADD(text, "its amps are not given.");
    else if (isnan(device->load_A))
        ADD(text, "%.3g A, %s.", device->rating_A, unknown);
    else
        ADD(text, "%.3g A, carries %.2g A (%.0f %%).", device->rating_A, device->load_A,
            100.0 * device->load_A / device->rating_A);
}

static void print_devices(const command_call *call, const circuit_facts *facts)
{
    char text[TEXT_SIZE] = "";
    add_device("Element protector", &facts->review.protector, "its load is not known", text);
    add_device("Control fuse", &facts->review.fuse, "its load (controls.amps) is not given", text);
    if (text[0] != '\0')
        command_say(call->out, text);
}

static void add_run(const char *name, const ovp_electrical_run_of_wire *run, char *text)
{
    if (!run->given)
        return;
    ADD(text, "%s%s %s", text[0] == '\0' ? "" : " ", name, circuit_wire(&run->cord.wire).text);
    if (!isnan(run->allowed_A))
        ADD(text, ", good for %.0f A", run->allowed_A);
    if (!isnan(run->drop_V))
        ADD(text, ", loses %.1f V", run->drop_V);
    ADD(text, ".");
}

static void print_way(const command_call *call, const circuit_facts *facts)
{
    const ovp_electrical_review *review = &facts->review;
    char text[TEXT_SIZE] = "";
    add_run("Cord", &review->cord, text);
    add_run("Extension", &review->extension, text);
    if (review->conductor.given && !isnan(review->conductor.allowed_A))
        ADD(text, "%sWire in the wall %s: breaker %.3g A at most.", text[0] == '\0' ? "" : " ",
            circuit_wire(&review->conductor.cord.wire).text, review->conductor.allowed_A);
    const char *gap = text[0] == '\0' ? "" : " ";
    if (isnan(review->lost_V) && review->verdict == OVP_ELECTRICAL_STATE_GOOD)
        ADD(text, "%sVolts lost in line and cord: not known, not counted.", gap);
    else if (!isnan(review->lost_V) && !facts->measured &&
             circuit_first_trouble(review) != OVP_ELECTRICAL_CHECK_DROP)
        ADD(text, "%sOn the way %.1f V (%.1f %%) are lost at full heat: %.0f %% of the power is left.", gap,
            review->lost_V, 100.0 * review->lost_share, 100.0 * review->power_left);
    if (text[0] != '\0')
        command_say(call->out, text);
}

static void print_line(const command_call *call, const circuit_facts *facts)
{
    const ovp_electrical_line *line = &facts->line;
    const double beyond_ohm = facts->review.beyond_wire_ohm;
    char text[TEXT_SIZE] = "";
    ADD(text, "Line: %.1f V less with %.1f A is %.2f ohm, give or take %.2f.", line->drop_V, line->load_A,
        line->ohm, line->ohm_U);
    if (!isnan(line->sag_V))
        ADD(text,
            " At full heat it would sag %.1f V (%.1f %%) to %.1f V; %.0f W warm the line and its "
            "joints.",
            line->sag_V, 100.0 * line->sag_share, facts->readings.off_V - line->sag_V, line->heat_W);
    if (!isnan(beyond_ohm))
        ADD(text,
            " The wire in the wall accounts for %.2f ohm of it; the rest is joints, outlet, breaker and "
            "street.",
            line->ohm - beyond_ohm);
    command_say(call->out, text);
}

static void print_cycle(const command_call *call, const circuit_facts *facts)
{
    char text[TEXT_SIZE] = "";
    if (isnan(facts->review.rms_A))
        return;
    ADD(text, "Over %s the wires feel %.1f A (rms)", facts->trace != NULL ? "that run" : "such cycles",
        facts->review.rms_A);
    if (facts->trace != NULL)
        ADD(text, ", full heat lasts %s at most", circuit_time(facts->cycle.longest_full_s).text);
    ADD(text, ". That tells their warmth; the rules go by the plate's amps all the same.");
    command_say(call->out, text);
}

/* ---- what to do next ----------------------------------------------------------------------------------- */

static void word_new_cord(const ovp_electrical_review *review, char *text)
{
    ovp_electrical_wire wire;
    if (ovp_electrical_cord_for(review->load.total_A, review->rules == OVP_ELECTRICAL_RULES_IEC, &wire))
        ADD(text, "a new cord of %s or thicker, which carries %.0f A.", circuit_wire(&wire).text,
            wire.cord_A);
    else
        ADD(text, "a cord for %.1f A; ask an electrician.", review->load.total_A);
}

static void word_other_outlet(const circuit_facts *facts, char *text)
{
    if (facts->line.past_most)
        ADD(text, "do not run it on this outlet until this is found. ");
    ADD(text,
        "Read the same pair at another outlet of this circuit: as bad there, the way to it; good there, this "
        "outlet or its plug.");
}

/* What the first trouble asks for. */
static void word_repair(const circuit_facts *facts, char *text)
{
    const ovp_electrical_review *review = &facts->review;
    const ovp_electrical_check first = circuit_first_trouble(review);
    if (review->extension.given &&
        (first == OVP_ELECTRICAL_CHECK_EXTENSION || first == OVP_ELECTRICAL_CHECK_DROP))
        ADD(text,
            "plug it straight into the outlet. If an extension cannot be avoided: %.0f AWG or thicker, "
            "uncoiled, "
            "%.0f ft at most.",
            circuit_figure("extension_wire"), circuit_figure("extension_length") / 0.3048);
    else if (facts->measured && first == OVP_ELECTRICAL_CHECK_DROP)
        word_other_outlet(facts, text);
    else if (first == OVP_ELECTRICAL_CHECK_CORD || (first == OVP_ELECTRICAL_CHECK_DROP && review->cord.given))
        word_new_cord(review, text);
    else if (first == OVP_ELECTRICAL_CHECK_PROTECTOR || first == OVP_ELECTRICAL_CHECK_FUSE)
        ADD(text, "what does the drawing say? Same rating, never a larger one to keep it from opening.");
    else
        ADD(text,
            "an electrician for anything in wall or panel; never a larger breaker or fuse on the same wire.");
}

static bool looks_european(const circuit_facts *facts)
{
    const double volts_V = facts->oven->supply.volts_V;
    return facts->review.rules == OVP_ELECTRICAL_RULES_US && volts_V >= circuit_figure("iec_volts_low") &&
           volts_V <= circuit_figure("iec_volts_high");
}

static void word_next(const circuit_facts *facts, char *text)
{
    const ovp_electrical_review *review = &facts->review;
    if (circuit_first_trouble(review) != OVP_ELECTRICAL_CHECKS)
        word_repair(facts, text);
    else if (facts->measured && review->checks[OVP_ELECTRICAL_CHECK_DROP] == OVP_ELECTRICAL_STATE_NOT_KNOWN)
        ADD(text, "read again, three times, with a larger load or a meter with more digits, nothing else "
                  "switching.");
    else if (!review->has_load || !(review->circuit_A > 0.0))
        ADD(text, "`ovenproof describe %.40s --gaps` lists what is missing and how to give it.", facts->name);
    else if (looks_european(facts))
        ADD(text, "%.0f V: a European circuit? Then --circuit B%.0f or --rules iec.",
            facts->oven->supply.volts_V, review->circuit_A);
    else if (review->rule == OVP_ELECTRICAL_RULE_SHARED && review->shared == OVP_OVEN_UNKNOWN)
        ADD(text,
            "is anything else on this breaker? Switch it off, see what is dead; give --shared or --own.");
    else if (review->rule == OVP_ELECTRICAL_RULE_LONG)
        ADD(text, "how long does full heat last without a pause? Give --full-heat 2h, or --trace RUN.");
    else if (review->shared == OVP_OVEN_UNKNOWN)
        ADD(text, "find out whether other outlets are on this breaker: their amps come on top.");
    else if (isnan(review->line_ohm))
        ADD(text, "volts at the outlet, heat off and on, by a plug-in meter (--volts-off, --volts-on).");
    else
        ADD(text, "feel plug and cord after 30 min of heat: warm is fine, hot is not.");
}

static void print_next(const command_call *call, const circuit_facts *facts)
{
    char text[TEXT_SIZE] = "Next: ";
    word_next(facts, text);
    if (facts->review.supply_count > 1 && facts->review.verdict == OVP_ELECTRICAL_STATE_GOOD)
        ADD(text, " Minutes at other volts: `ovenproof expect %.40s --supply %.0fV`.", facts->name,
            facts->review.supply[1].volts_V);
    ADD(text, " The local code and the inspector decide.");
    command_say(call->out, text);
}

/* Fourteen lines at most: the table makes room for what was asked, and --why always shows it. */
static bool shows_supply(const circuit_facts *facts)
{
    return !facts->measured && isnan(facts->review.rms_A) &&
           facts->review.verdict != OVP_ELECTRICAL_STATE_TROUBLE;
}

void circuit_print(const command_call *call, const circuit_facts *facts)
{
    circuit_print_verdict(call, facts);
    print_warnings(call, facts);
    if (facts->measured)
        print_line(call, facts);
    print_load(call, facts);
    print_breaker(call, facts);
    if (shows_supply(facts))
        print_supply(call, facts);
    if (!facts->measured)
        print_devices(call, facts);
    print_way(call, facts);
    print_cycle(call, facts);
    print_next(call, facts);
}

void circuit_print_table(const command_call *call, const circuit_facts *facts)
{
    if (!shows_supply(facts))
        print_supply(call, facts);
}
