/* Ground bond and insulation: a reading against its limit. */
#include "electrical/electrical_internal.h"

#include <math.h>

static const char *const decision_names[] = {"pass", "conditional", "fail"};

const char *ovp_electrical_decision_name(ovp_electrical_decision decision)
{
    return (size_t)decision < 3 ? decision_names[decision] : "";
}

static ovp_electrical_judgement judged(ovp_electrical_decision decision, const char *row, const char *why,
                                       const char *next)
{
    const ovp_electrical_limit *found = ovp_electrical_limit_named(row);
    return (ovp_electrical_judgement){decision, found->value, found, why, next};
}

/* ---- ground bond ------------------------------------------------------------------------------------ */

static ovp_electrical_judgement bond_limit(const ovp_electrical_bond *bond)
{
    if (bond->by_multimeter)
        return judged(OVP_ELECTRICAL_CONDITIONAL, "bond-multimeter", "", "");
    if (bond->fixed)
        return judged(OVP_ELECTRICAL_PASS, "bond-fixed", "", "");
    if (isnan(bond->cord_ohm))
        return judged(OVP_ELECTRICAL_PASS, "bond-with-cord", "", "");
    ovp_electrical_judgement limit = judged(OVP_ELECTRICAL_PASS, "bond-beyond-cord", "", "");
    limit.limit += bond->cord_ohm;
    return limit;
}

ovp_status ovp_electrical_bond_judge(const ovp_electrical_bond *bond, ovp_electrical_judgement *judgement,
                                     ovp_error *error)
{
    if (!(bond->ohm >= 0.0 && isfinite(bond->ohm)) || bond->cord_ohm < 0.0) {
        ovp_error_set(error, OVP_ERROR_DATA, "%.6g ohm is no ground bond", bond->ohm);
        ovp_error_hint(error, "ohms from the ground pin to bare shell, such as 0.08ohm; an open one fails");
        return OVP_ERROR_DATA;
    }
    ovp_electrical_judgement made = bond_limit(bond);
    /* 0.1 + 0.1 is 0.2 */
    if (bond->ohm > made.limit * (1.0 + 1e-9)) {
        made.decision = OVP_ELECTRICAL_FAIL;
        made.why = "the shell is not well grounded: any insulation fault would make it live";
        made.next = "do not plug it in; clean and tighten the ground wire at plug, cord entry and shell, and "
                    "measure again";
    } else if (bond->by_multimeter) {
        made.why = "a multimeter finds a broken ground wire, but not one that hangs on a strand";
        made.next = "prove it with a bond tester: 10 A or more, 12 V or less";
    } else {
        made.why = "the shell is grounded";
        made.next = "test door and cover as well: bare metal, not paint";
    }
    *judgement = made;
    return OVP_OK;
}

/* ---- insulation ------------------------------------------------------------------------------------- */

static const char *insulation_row(const ovp_electrical_insulation *insulation)
{
    if (insulation->new_build)
        return "insulation-new";
    return insulation->power_W < electrical_limit("insulation-heating-power") ? "insulation-heating"
                                                                              : "insulation-class-1";
}

static double base_of(const ovp_electrical_insulation *insulation)
{
    double above_K = insulation->temperature_C - electrical_limit("insulation-base-temperature");
    if (isnan(insulation->temperature_C))
        return insulation->Mohm;
    return insulation->Mohm * exp2(above_K / electrical_limit("insulation-halving"));
}

/* Below its limit. */
static void below(const ovp_electrical_insulation *insulation, ovp_electrical_judgement *made)
{
    made->decision = OVP_ELECTRICAL_FAIL;
    if (insulation->Mohm < electrical_limit("insulation-touch")) {
        made->why = "this low something touches the shell; damp alone does not do it";
        made->next =
            "do not plug it in; find the touch: a coil on the shell, a pinched wire, a pierced sleeve";
        return;
    }
    bool large = insulation->Mohm >= electrical_limit("insulation-heating") && !insulation->new_build;
    if (large) {
        made->decision = OVP_ELECTRICAL_CONDITIONAL;
        made->why = "enough for a small heater, less than wanted at this power";
        made->next = "have the leakage measured under full heat, cold and after 30 min: it decides";
    } else if (insulation->dried) {
        made->why = "dried, and still below the limit";
        made->next = "do not use it; part the elements from the wiring and test each alone";
    } else {
        made->decision = OVP_ELECTRICAL_CONDITIONAL;
        made->why = "a damp lining reads like this, and so does a wire about to touch";
        made->next = "dry it first: a warm dry room or outside heat for hours, never with its ground lifted; "
                     "then repeat";
    }
}

ovp_status ovp_electrical_insulation_judge(const ovp_electrical_insulation *insulation,
                                           ovp_electrical_judgement *judgement, double *base_Mohm,
                                           ovp_error *error)
{
    if (!(insulation->Mohm >= 0.0)) {
        ovp_error_set(error, OVP_ERROR_DATA, "%.6g Mohm is no insulation", insulation->Mohm);
        ovp_error_hint(error, "megohms from line and neutral together to the shell, such as 5Mohm");
        return OVP_ERROR_DATA;
    }
    if (!isnan(insulation->test_V) && !(insulation->test_V > 0.0 && insulation->test_V <= 5000.0)) {
        ovp_error_set(error, OVP_ERROR_DATA, "%.6g V is no test voltage", insulation->test_V);
        ovp_error_hint(error, "500 V dc, or 250 V with the electronics still connected");
        return OVP_ERROR_DATA;
    }
    ovp_electrical_judgement made =
        judged(OVP_ELECTRICAL_PASS, insulation_row(insulation), "dry and clear of the shell",
               "write it down with the day and the room's temperature: the trend says more than one reading");
    if (insulation->Mohm < made.limit) {
        below(insulation, &made);
    } else if (insulation->test_V < electrical_limit("insulation-volts")) {
        made.decision = OVP_ELECTRICAL_CONDITIONAL;
        made.why = "good at a lower voltage than the test asks for";
        made.next = "disconnect the electronics and repeat at 500 V dc";
    }
    if (base_Mohm != NULL)
        *base_Mohm = base_of(insulation);
    *judgement = made;
    return OVP_OK;
}
