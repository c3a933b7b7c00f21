/* The first line of `circuit`: good, trouble or can't tell, and why. */
#include "command/beside.h"
#include "command/circuit.h"

#include <math.h>
#include <string.h>

enum {
    TEXT_SIZE = CIRCUIT_TEXT_SIZE,
};

#define ADD(text, ...) circuit_add((text), TEXT_SIZE, __VA_ARGS__)

double circuit_figure(const char *name)
{
    return ovp_electrical_figure(name, NULL);
}

static ovp_electrical_state check(const circuit_facts *facts, ovp_electrical_check which)
{
    return facts->review.checks[which];
}

/* ---- the verdict --------------------------------------------------------------------------------------- */

static void word_circuit_good(const circuit_facts *facts, char *text)
{
    const ovp_electrical_review *review = &facts->review;
    ADD(text, "%.40s draws %.1f A, %.0f %% of its %.3g A circuit", facts->oven->name, review->load.total_A,
        100.0 * review->share, review->circuit_A);
    if (review->rules == OVP_ELECTRICAL_RULES_IEC)
        ADD(text, ": within the breaker's rating (IEC 60364-4-43).");
    else if (review->load.total_A <= review->continuous_A * (1.0 + 1e-9))
        ADD(text, ": within the 80 %% rule (%.1f A), %s.", review->continuous_A,
            review->shared == OVP_OVEN_NOT_FITTED ? "for any time" : "shared or not");
    else
        ADD(text,
            ". Past 80 %% (%.1f A) is allowed on a circuit of its own while full heat stays under three "
            "hours; "
            "here it lasts %s.",
            review->continuous_A, circuit_time(review->full_heat_s).text);
}

/* 17.8 A on a 20 A circuit: which rule that breaks. */
static void word_past_80(const circuit_facts *facts, char *text)
{
    const ovp_electrical_review *review = &facts->review;
    ADD(text, "%s draws %.1f A, %.0f %% of its %.3g A circuit and past 80 %% (%.1f A). ", facts->oven->name,
        review->load.total_A, 100.0 * review->share, review->circuit_A, review->continuous_A);
    if (review->rule == OVP_ELECTRICAL_RULE_SHARED && review->shared == OVP_OVEN_FITTED)
        ADD(text,
            "It shares it with other outlets: there the 80 %% holds whatever the time, so this breaks the "
            "rule for shared circuits. Give it a circuit of its own.");
    else if (review->rule == OVP_ELECTRICAL_RULE_SHARED)
        ADD(text,
            "On a circuit shared with other outlets that breaks the rule for shared circuits, whatever the "
            "time; on one of its own it breaks the rule for long loads once full heat lasts three hours.");
    else if (review->checks[OVP_ELECTRICAL_CHECK_CIRCUIT] == OVP_ELECTRICAL_STATE_TROUBLE)
        ADD(text,
            "Full heat lasts %s: from three hours on that breaks the rule for long loads. It needs a larger "
            "circuit: breaker, wire and outlet.",
            circuit_time(review->full_heat_s).text);
    else
        ADD(text, "On a circuit of its own that is allowed, but it breaks the rule for long loads once full "
                  "heat lasts "
                  "three hours.");
}

static void word_circuit(const circuit_facts *facts, char *text)
{
    const ovp_electrical_review *review = &facts->review;
    if (!review->has_load)
        ADD(text, "%s.", review->no_load.what);
    else if (!(review->circuit_A > 0.0))
        ADD(text,
            "the breaker's rating (supply.circuit) is not given. %s draws %.1f A; for the 80 %% rule it "
            "wants a circuit of %.1f A or more.",
            facts->oven->name, review->load.total_A,
            review->load.total_A / ovp_electrical_figure("continuous_share", NULL));
    else if (review->checks[OVP_ELECTRICAL_CHECK_CIRCUIT] == OVP_ELECTRICAL_STATE_GOOD)
        word_circuit_good(facts, text);
    else if (review->rule == OVP_ELECTRICAL_RULE_RATING)
        ADD(text,
            "%s draws %.1f A, more than its %.3g A breaker carries (%.0f %%). It needs a larger circuit: "
            "breaker, wire and outlet.",
            facts->oven->name, review->load.total_A, review->circuit_A, 100.0 * review->share);
    else
        word_past_80(facts, text);
}

static void word_volts(const circuit_facts *facts, char *text)
{
    const ovp_oven *oven = facts->oven;
    ADD(text, "its elements are made for %.0f V and the supply is %.0f V: %.0f %% of their power. ",
        oven->elements[0].at_V, oven->supply.volts_V,
        100.0 * ovp_electrical_power_share(oven->supply.volts_V, oven->elements[0].at_V));
    ADD(text, "%s",
        oven->supply.volts_V > oven->elements[0].at_V
            ? "Do not plug it in: elements and relay burn out."
            : "It will be slow: fit elements for this supply, or another circuit.");
}

static void word_cord(const ovp_electrical_run_of_wire *run, const circuit_facts *facts, const char *what,
                      char *text)
{
    ADD(text,
        "%s of %s is good for %.0f A and would carry %.1f A: it overheats, coiled sooner still. Do not "
        "use it.",
        what, circuit_wire(&run->cord.wire).text, run->allowed_A, facts->review.load.total_A);
}

static void word_conductor(const circuit_facts *facts, char *text)
{
    const ovp_electrical_run_of_wire *run = &facts->review.conductor;
    if (isnan(run->allowed_A))
        ADD(text, "%s is too thin for wiring in a wall: stop using this circuit and call an electrician.",
            circuit_wire(&run->cord.wire).text);
    else
        ADD(text,
            "%s in the wall wants a breaker of %.0f A at most, and this one is %.0f A: the wire can burn "
            "before it trips. Stop using it and call an electrician.",
            circuit_wire(&run->cord.wire).text, run->allowed_A, facts->review.circuit_A);
}

static void word_plug(const circuit_facts *facts, char *text)
{
    const ovp_electrical_review *review = &facts->review;
    if (!review->plug_volts_fit)
        ADD(text,
            "the plug %s is for up to %.0f V, and this oven is for %.0f V: they do not belong together. Do "
            "not "
            "plug it in.",
            review->plug, review->plug_V, facts->oven->supply.volts_V);
    else
        ADD(text, "the plug %s is made for %.0f A (%.1f A here) and would carry %.1f A.", review->plug,
            review->plug_A, review->plug_allowed_A, review->load.total_A);
}

static void word_drop(const circuit_facts *facts, char *text)
{
    const ovp_electrical_review *review = &facts->review;
    ADD(text, "line and cords would take %.1f V (%.1f %%) at full heat, where %.0f %% is the advice: ",
        review->lost_V, 100.0 * review->lost_share, 100.0 * circuit_figure("sag_good"));
    ADD(text, "%.0f %% of the power is left and %.0f W heat wire and joints.", 100.0 * review->power_left,
        review->lost_W);
}

static void word_protector(const circuit_facts *facts, char *text)
{
    const ovp_electrical_fitted_device *device = &facts->review.protector;
    ADD(text, "the element protector is %.0f A and the heaters draw %.1f A: it will open.", device->rating_A,
        device->load_A);
}

static void word_fuse(const circuit_facts *facts, char *text)
{
    const ovp_electrical_fitted_device *device = &facts->review.fuse;
    if (device->rating_A > facts->review.usual_fuse_A)
        ADD(text,
            "the control fuse is %.3g A, and controls are usually behind %.3g A fast at most: a larger "
            "one lets a wire burn first.",
            device->rating_A, facts->review.usual_fuse_A);
    else
        ADD(text,
            "the controls draw %.2g A, more than a fuse of %.3g A carries for good (%.0f %%): it ages and "
            "opens.",
            device->load_A, device->rating_A, 100.0 * circuit_figure("fuse_share"));
}

/* The check to speak of: the most dangerous one that says trouble; OVP_ELECTRICAL_CHECKS when none does. */
ovp_electrical_check circuit_first_trouble(const ovp_electrical_review *review)
{
    static const ovp_electrical_check order[] = {
        OVP_ELECTRICAL_CHECK_VOLTS, OVP_ELECTRICAL_CHECK_CONDUCTOR, OVP_ELECTRICAL_CHECK_CIRCUIT,
        OVP_ELECTRICAL_CHECK_PLUG,  OVP_ELECTRICAL_CHECK_EXTENSION, OVP_ELECTRICAL_CHECK_CORD,
        OVP_ELECTRICAL_CHECK_FUSE,  OVP_ELECTRICAL_CHECK_PROTECTOR, OVP_ELECTRICAL_CHECK_DROP,
    };
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++)
        if (review->checks[order[i]] == OVP_ELECTRICAL_STATE_TROUBLE)
            return order[i];
    return OVP_ELECTRICAL_CHECKS;
}

static void word_extension(const circuit_facts *facts, char *text)
{
    word_cord(&facts->review.extension, facts, "an extension cord", text);
}

static void word_own_cord(const circuit_facts *facts, char *text)
{
    word_cord(&facts->review.cord, facts, "a cord", text);
}

static const char *const check_words[OVP_ELECTRICAL_CHECKS] = {
    [OVP_ELECTRICAL_CHECK_CIRCUIT] = "the load of the circuit",
    [OVP_ELECTRICAL_CHECK_VOLTS] = "the volts",
    [OVP_ELECTRICAL_CHECK_CONDUCTOR] = "the wire in the wall",
    [OVP_ELECTRICAL_CHECK_CORD] = "the cord",
    [OVP_ELECTRICAL_CHECK_EXTENSION] = "the extension cord",
    [OVP_ELECTRICAL_CHECK_PLUG] = "the plug",
    [OVP_ELECTRICAL_CHECK_DROP] = "the volts lost on the way",
    [OVP_ELECTRICAL_CHECK_PROTECTOR] = "the element protector",
    [OVP_ELECTRICAL_CHECK_FUSE] = "the control fuse",
};

static void word_trouble(const circuit_facts *facts, char *text)
{
    static void (*const words[OVP_ELECTRICAL_CHECKS])(const circuit_facts *, char *) = {
        [OVP_ELECTRICAL_CHECK_CIRCUIT] = word_circuit,     [OVP_ELECTRICAL_CHECK_VOLTS] = word_volts,
        [OVP_ELECTRICAL_CHECK_CONDUCTOR] = word_conductor, [OVP_ELECTRICAL_CHECK_CORD] = word_own_cord,
        [OVP_ELECTRICAL_CHECK_EXTENSION] = word_extension, [OVP_ELECTRICAL_CHECK_PLUG] = word_plug,
        [OVP_ELECTRICAL_CHECK_DROP] = word_drop,           [OVP_ELECTRICAL_CHECK_PROTECTOR] = word_protector,
        [OVP_ELECTRICAL_CHECK_FUSE] = word_fuse,
    };
    words[circuit_first_trouble(&facts->review)](facts, text);
    for (size_t i = 0, told = 0; i < OVP_ELECTRICAL_CHECKS; i++)
        if (facts->review.checks[i] == OVP_ELECTRICAL_STATE_TROUBLE &&
            (ovp_electrical_check)i != circuit_first_trouble(&facts->review))
            ADD(text, "%s%s", told++ == 0 ? " Not right either: " : ", ", check_words[i]);
    ADD(text, "%s", text[strlen(text) - 1] == '.' ? "" : ".");
}

void circuit_print_verdict(const command_call *call, const circuit_facts *facts)
{
    char text[TEXT_SIZE] = "";
    const bool circuit_decides = check(facts, OVP_ELECTRICAL_CHECK_CIRCUIT) != OVP_ELECTRICAL_STATE_GOOD;
    if (facts->review.verdict == OVP_ELECTRICAL_STATE_TROUBLE) {
        ADD(text, "Trouble: ");
        word_trouble(facts, text);
    } else if (facts->review.verdict == OVP_ELECTRICAL_STATE_GOOD) {
        ADD(text, "Good: ");
        word_circuit(facts, text);
    } else {
        ADD(text, "Can't tell: ");
        if (circuit_decides)
            word_circuit(facts, text);
        else
            ADD(text,
                "the two readings leave %.1f to %.1f %% sag at full heat, on both sides of the %.0f %% that "
                "is advised.",
                100.0 * fmax(0.0, facts->review.lost_share - facts->review.lost_share_U),
                100.0 * (facts->review.lost_share + facts->review.lost_share_U),
                100.0 * circuit_figure("sag_good"));
    }
    command_say(call->out, text);
}
