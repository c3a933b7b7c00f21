/* `circuit --why`: every figure with its source. */
#include "command/beside.h"
#include "command/circuit.h"

#include <math.h>

enum {
    TEXT_SIZE = 512,
    COLUMN = 24,
};

static void say(const command_call *call, const char *label, const char *text)
{
    command_say_beside(call->out, label, COLUMN, text);
}

/* A figure of reference/electrical.csv with its source. */
static void say_figure(const command_call *call, const char *label, const char *name)
{
    const char *source = "";
    (void)ovp_electrical_figure(name, &source);
    say(call, label, source);
}

static void say_limits(const command_call *call, const char *label,
                       const ovp_electrical_protection *protection)
{
    ovp_electrical_device_limit limit;
    for (size_t i = 0; ovp_electrical_device_limit_at(protection->device, protection->rating_A, i, &limit);
         i++) {
        char text[TEXT_SIZE] = "";
        circuit_add(text, sizeof text, "%s %.3g A", limit.opens ? "must open at" : "carries",
                    limit.current_A);
        if (limit.time_s == HUGE_VAL)
            circuit_add(text, sizeof text, " for good");
        else
            circuit_add(text, sizeof text, " %s %s", limit.opens ? "within" : "for",
                        circuit_time(limit.time_s).text);
        circuit_add(text, sizeof text, ": %s", limit.source);
        say(call, i == 0 ? label : "", text);
    }
}

static void say_wire(const command_call *call, const char *label, const ovp_electrical_run_of_wire *run)
{
    char text[TEXT_SIZE] = "";
    if (!run->given)
        return;
    circuit_add(text, sizeof text, "%s", circuit_wire(&run->cord.wire).text);
    if (!isnan(run->cord.ohm))
        circuit_add(text, sizeof text, ", %.2f m: %.3f ohm there and back at 20 °C, %.3f ohm warm",
                    run->cord.length_m, run->cord.ohm, run->cord.warm_ohm);
    circuit_add(text, sizeof text, " (%s)", run->cord.wire.ohm_source);
    if (run->cord.wire.source != NULL)
        circuit_add(text, sizeof text, "; amps: %s", run->cord.wire.source);
    say(call, label, text);
}

static void say_load(const command_call *call, const circuit_facts *facts)
{
    char text[TEXT_SIZE] = "";
    if (!facts->review.has_load)
        return;
    circuit_add(text, sizeof text,
                "%.2f ohm hot from the plate (volts squared over watts), %.2f ohm cold by the alloy's "
                "factor; give or "
                "take %.0f %% of the wire",
                facts->review.load.hot_ohm, facts->review.load.cold_ohm,
                100.0 * facts->review.load.ohm_tolerance);
    say(call, "heaters", text);
}

static void say_rules(const command_call *call, const circuit_facts *facts)
{
    if (facts->review.rules == OVP_ELECTRICAL_RULES_IEC) {
        say(call, "rule", "IEC 60364-4-43 433.1: the load stays within the breaker's rating (memory)");
        return;
    }
    say_figure(call, "rule, shared", "shared_share");
    say_figure(call, "rule, three hours", "continuous_share");
    say_figure(call, "three hours", "long_load");
}

static void say_failures(const command_call *call, const circuit_facts *facts)
{
    static const char *const words[] = {
        [OVP_ELECTRICAL_FAILURE_NOT_KNOWN] = "not known: ",   [OVP_ELECTRICAL_FAILURE_STOPPED] = "",
        [OVP_ELECTRICAL_FAILURE_HIDDEN] = "hidden: ",         [OVP_ELECTRICAL_FAILURE_LIVE] = "live: ",
        [OVP_ELECTRICAL_FAILURE_HEATS] = "goes on heating: ",
    };
    for (size_t i = 0; i < facts->review.failure_count; i++) {
        const ovp_electrical_failure *failure = &facts->review.failures[i];
        char text[TEXT_SIZE] = "";
        circuit_add(text, sizeof text, "%s%s", words[failure->level],
                    failure->text != NULL ? failure->text : failure->missing);
        say(call, i == 0 ? "one failure" : "", text);
    }
}

static void say_line(const command_call *call, const circuit_facts *facts)
{
    char text[TEXT_SIZE] = "";
    if (!facts->measured)
        return;
    circuit_add(
        text, sizeof text,
        "%.4g V less %.4g V is %.2f V, give or take %.2f V by the last digit (%.2g V) of both readings, over "
        "%.2f A",
        facts->readings.off_V, facts->readings.on_V, facts->line.drop_V, facts->line.drop_U_V,
        facts->readings.resolution_V, facts->line.load_A);
    say(call, "line", text);
    say(call, "", "other loads that switch between the two readings are not counted: read three times");
}

/* What a clamp would show of a relay that passes half of each cycle. */
static void say_half_wave(const command_call *call, const circuit_facts *facts)
{
    char text[TEXT_SIZE];
    if (facts->review.has_load &&
        ovp_electrical_half_wave_words(facts->oven, facts->review.load.full_A, text, sizeof text) > 0)
        say(call, "half a wave", text);
}

void circuit_print_why(const command_call *call, const circuit_facts *facts)
{
    const ovp_electrical_review *review = &facts->review;
    (void)ovp_text_print(call->out, "\n");
    circuit_print_table(call, facts);
    say_load(call, facts);
    say_half_wave(call, facts);
    say_rules(call, facts);
    say_limits(call, "breaker", &review->protection);
    say(call, "",
        "these are tests in open air: in a warm panel a breaker trips sooner; one that trips at less than "
        "it should carry has other loads, a hot panel or a bad joint, or is worn");
    say_limits(call, "element protector", &review->protector.protection);
    say_limits(call, "control fuse", &review->fuse.protection);
    if (review->fuse.fitted == OVP_OVEN_FITTED) {
        say_figure(call, "control fuse, usual", "control_fuse_usual");
        say_figure(call, "control fuse, 75 %", "fuse_share");
    }
    say_wire(call, "cord", &review->cord);
    say_wire(call, "extension", &review->extension);
    say_wire(call, "wire in the wall", &review->conductor);
    if (review->extension.given)
        say_figure(call, "extension, usual", "extension_wire");
    if (review->plug != NULL)
        say(call, "plug", review->plug_source);
    say_line(call, facts);
    say_figure(call, "volts lost, 3 %", "sag_good");
    say_figure(call, "volts lost, 5 %", "sag_most");
    for (size_t i = 0; i < review->supply_count; i++)
        say(call, review->supply[i].text, review->supply[i].source);
    if (ovp_oven_has(facts->oven, OVP_OVEN_FAN) == OVP_OVEN_FITTED)
        say_figure(call, "fan thermostat", "fan_thermostat_usual");
    say_failures(call, facts);
}
