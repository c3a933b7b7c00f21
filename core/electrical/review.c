/* The parts of this room put together for one oven on one circuit. */
#include "electrical/electrical_internal.h"

#include <math.h>
#include <string.h>

static const struct step_row {
    double share;
    const char *text, *source;
} steps[] = {
#include "supply-steps.inc"
};

static const char *const check_names[OVP_ELECTRICAL_CHECKS] = {
    [OVP_ELECTRICAL_CHECK_CIRCUIT] = "circuit",     [OVP_ELECTRICAL_CHECK_VOLTS] = "volts",
    [OVP_ELECTRICAL_CHECK_CONDUCTOR] = "conductor", [OVP_ELECTRICAL_CHECK_CORD] = "cord",
    [OVP_ELECTRICAL_CHECK_EXTENSION] = "extension", [OVP_ELECTRICAL_CHECK_PLUG] = "plug",
    [OVP_ELECTRICAL_CHECK_DROP] = "drop",           [OVP_ELECTRICAL_CHECK_PROTECTOR] = "element_protector",
    [OVP_ELECTRICAL_CHECK_FUSE] = "control_fuse",
};

const char *ovp_electrical_check_name(ovp_electrical_check check)
{
    return check < OVP_ELECTRICAL_CHECKS ? check_names[check] : "";
}

void ovp_electrical_question_init(ovp_electrical_question *question)
{
    *question = (ovp_electrical_question){.full_heat_s = NAN, .duty = NAN, .rms_share = NAN, .line_ohm = NAN};
}

/* 15.000000000000002 A on 15 A is 15 A. */
static bool at_most(double value, double limit)
{
    return value <= limit * (1.0 + 1e-9);
}

static ovp_electrical_state good_if(bool good)
{
    return good ? OVP_ELECTRICAL_STATE_GOOD : OVP_ELECTRICAL_STATE_TROUBLE;
}

/* ---- the circuit --------------------------------------------------------------------------------------- */

static ovp_status find_circuit(const ovp_oven *oven, const ovp_electrical_question *question,
                               ovp_electrical_review *review, ovp_error *error)
{
    const bool us = question->rules == OVP_ELECTRICAL_RULES_US;
    review->breaker = us ? OVP_ELECTRICAL_BREAKER_UL : OVP_ELECTRICAL_BREAKER_IEC_B;
    review->circuit_A = oven->supply.circuit_A;
    review->rules = question->rules;
    review->shared = question->shared != OVP_OVEN_UNKNOWN ? question->shared : oven->supply.shared;
    if (question->circuit == NULL)
        return OVP_OK;
    ovp_status status = ovp_electrical_rating_of(question->circuit, false, question->rules, &review->breaker,
                                                 &review->circuit_A, error);
    if (status == OVP_OK && review->breaker != OVP_ELECTRICAL_BREAKER_UL &&
        review->breaker != OVP_ELECTRICAL_FUSE_UL)
        review->rules = OVP_ELECTRICAL_RULES_IEC;
    return status;
}

/* IEC 60364-4-43: the load stays within the breaker's rating. There is no rule of 80 %. */
static void judge_iec(ovp_electrical_review *review)
{
    const bool within = at_most(review->load.total_A, review->circuit_A);
    review->rule = within ? OVP_ELECTRICAL_RULE_NONE : OVP_ELECTRICAL_RULE_RATING;
    review->checks[OVP_ELECTRICAL_CHECK_CIRCUIT] = good_if(within);
}

/* On a circuit shared with other outlets 80 % whatever the time; on its own 80 % from three hours on. */
static void judge_us(ovp_electrical_review *review)
{
    ovp_electrical_state *state = &review->checks[OVP_ELECTRICAL_CHECK_CIRCUIT];
    *state = OVP_ELECTRICAL_STATE_TROUBLE;
    review->rule = OVP_ELECTRICAL_RULE_RATING;
    if (!at_most(review->load.total_A, review->circuit_A))
        return;
    review->rule = OVP_ELECTRICAL_RULE_NONE;
    if (at_most(review->load.total_A, review->continuous_A)) {
        *state = OVP_ELECTRICAL_STATE_GOOD;
        return;
    }
    review->rule =
        review->shared == OVP_OVEN_NOT_FITTED ? OVP_ELECTRICAL_RULE_LONG : OVP_ELECTRICAL_RULE_SHARED;
    const bool long_load = review->full_heat_s >= electrical_figure("long_load");
    if (review->shared == OVP_OVEN_FITTED)
        return;
    if (long_load) { /* own or shared: either rule is broken */
        review->rule = OVP_ELECTRICAL_RULE_LONG;
        return;
    }
    *state = OVP_ELECTRICAL_STATE_NOT_KNOWN;
    if (review->shared == OVP_OVEN_NOT_FITTED && !isnan(review->full_heat_s)) {
        review->rule = OVP_ELECTRICAL_RULE_NONE;
        *state = OVP_ELECTRICAL_STATE_GOOD;
    }
}

static void judge_circuit(const ovp_electrical_question *question, ovp_electrical_review *review)
{
    review->full_heat_s = question->full_heat_s;
    if (!review->has_load || !(review->circuit_A > 0.0))
        return;
    review->share = review->load.total_A / review->circuit_A;
    review->continuous_A = electrical_figure("continuous_share") * review->circuit_A;
    (void)ovp_electrical_protection_of(review->breaker, review->circuit_A, review->load.total_A,
                                       &review->protection, NULL);
    if (review->rules == OVP_ELECTRICAL_RULES_IEC)
        judge_iec(review);
    else
        judge_us(review);
    if (!isnan(question->rms_share))
        review->rms_A = review->load.total_A * question->rms_share;
    else if (!isnan(question->duty))
        review->rms_A = review->load.total_A * sqrt(question->duty);
}

/* Another nominal voltage: 208 V on 240 V elements, or worse. */
static void judge_volts(const ovp_oven *oven, ovp_electrical_review *review)
{
    const bool series = oven->wiring == OVP_OVEN_WIRING_SERIES;
    if (oven->element_count == 0 || isnan(oven->supply.volts_V) || isnan(oven->elements[0].at_V) || series)
        return;
    const double share = oven->supply.volts_V / oven->elements[0].at_V;
    review->checks[OVP_ELECTRICAL_CHECK_VOLTS] =
        good_if(share >= electrical_figure("volts_low") && share <= electrical_figure("volts_high"));
}

/* ---- on the way ---------------------------------------------------------------------------------------- */

static ovp_status take_wire(const char *words, const char *option, ovp_electrical_run_of_wire *run,
                            ovp_error *error)
{
    ovp_error why = {0};
    run->drop_V = run->allowed_A = run->cord.ohm = run->cord.warm_ohm = run->cord.length_m = NAN;
    if (words == NULL || words[0] == '\0')
        return OVP_OK;
    if (ovp_electrical_cord_of(words, &run->cord, &why) != OVP_OK) {
        ovp_error_set(error, OVP_ERROR_DATA, "%s %s", option, why.what);
        ovp_error_hint(error, "%s", why.hint);
        return OVP_ERROR_DATA;
    }
    run->given = true;
    return OVP_OK;
}

static void judge_cord(ovp_electrical_check check, ovp_electrical_run_of_wire *run,
                       ovp_electrical_review *review)
{
    run->allowed_A = run->given ? run->cord.wire.cord_A : NAN;
    if (run->given && review->has_load && !isnan(run->allowed_A))
        review->checks[check] = good_if(at_most(review->load.total_A, run->allowed_A));
}

/* The wire in the wall is protected by its breaker, and carries the load. */
static void judge_conductor(ovp_electrical_review *review)
{
    ovp_electrical_run_of_wire *run = &review->conductor;
    if (!run->given)
        return;
    run->allowed_A = run->cord.wire.breaker_A;
    ovp_electrical_state *state = &review->checks[OVP_ELECTRICAL_CHECK_CONDUCTOR];
    const bool too_thin = isnan(run->allowed_A); /* stands in no table of house wiring */
    const bool overloaded = review->has_load && !at_most(review->load.total_A, run->allowed_A);
    const bool known = review->circuit_A > 0.0;
    if (too_thin || overloaded || (known && !at_most(review->circuit_A, run->allowed_A)))
        *state = OVP_ELECTRICAL_STATE_TROUBLE;
    else if (known)
        *state = OVP_ELECTRICAL_STATE_GOOD;
}

static void add_ohm(double *sum_ohm, double ohm)
{
    if (!isnan(ohm))
        *sum_ohm = isnan(*sum_ohm) ? ohm : *sum_ohm + ohm;
}

/* All that is known between the street and the elements. A measured line holds the wire in the wall. */
static void add_series(ovp_electrical_review *review)
{
    add_ohm(&review->series_ohm, review->line_ohm);
    add_ohm(&review->series_ohm, review->cord.cord.ohm);
    add_ohm(&review->series_ohm, review->extension.cord.ohm);
    if (isnan(review->line_ohm))
        add_ohm(&review->series_ohm, review->conductor.cord.ohm);
    else
        review->beyond_wire_ohm = review->line_ohm - review->conductor.cord.ohm;
}

static ovp_electrical_state state_of_drop(const ovp_electrical_review *review)
{
    const double good = electrical_figure("sag_good");
    if (at_most(review->lost_share + review->lost_share_U, good))
        return OVP_ELECTRICAL_STATE_GOOD;
    return at_most(review->lost_share - review->lost_share_U, good) ? OVP_ELECTRICAL_STATE_NOT_KNOWN
                                                                    : OVP_ELECTRICAL_STATE_TROUBLE;
}

static void judge_drop(const ovp_electrical_question *question, ovp_electrical_review *review)
{
    add_series(review);
    if (!review->has_load || isnan(review->series_ohm))
        return;
    const double hot_ohm = review->load.hot_ohm, sum_ohm = hot_ohm + review->series_ohm;
    const double wall_V = review->load.full_A * hot_ohm, left = hot_ohm / sum_ohm;
    review->element_A = wall_V / sum_ohm;
    review->element_V = wall_V * left;
    review->lost_V = wall_V - review->element_V;
    review->lost_W = review->lost_V * review->element_A;
    review->lost_share = 1.0 - left;
    review->lost_share_U = isnan(question->line_ohm) ? 0.0 : question->line_ohm_U * left / sum_ohm;
    review->power_left = left * left;
    review->cord.drop_V = review->cord.cord.ohm * review->element_A;
    review->extension.drop_V = review->extension.cord.ohm * review->element_A;
    review->conductor.drop_V = review->conductor.cord.ohm * review->element_A;
    review->checks[OVP_ELECTRICAL_CHECK_DROP] = state_of_drop(review);
}

static ovp_status judge_plug(const ovp_oven *oven, const ovp_electrical_question *question,
                             ovp_electrical_review *review, ovp_error *error)
{
    review->plug = question->plug;
    if (question->plug == NULL)
        return OVP_OK;
    if (!ovp_electrical_plug_named(question->plug, &review->plug_V, &review->plug_A, &review->plug_source)) {
        ovp_error_set(error, OVP_ERROR_DATA, "\"%.40s\" is no plug pattern known here", question->plug);
        ovp_error_hint(error, "5-15, 5-20, 6-15, 6-20, 6-30, L6-20, L6-30, 14-30, 14-50, CEE 7/7, BS 1363");
        return OVP_ERROR_DATA;
    }
    const bool own = review->shared == OVP_OVEN_NOT_FITTED || review->rules == OVP_ELECTRICAL_RULES_IEC;
    review->plug_allowed_A = own ? review->plug_A : electrical_figure("shared_share") * review->plug_A;
    if (!review->has_load || isnan(oven->supply.volts_V))
        return OVP_OK;
    const double nominal = electrical_figure("plug_volts_low") * review->plug_V;
    review->plug_volts_fit = at_most(oven->supply.volts_V, review->plug_V) && oven->supply.volts_V >= nominal;
    review->checks[OVP_ELECTRICAL_CHECK_PLUG] =
        good_if(review->plug_volts_fit && at_most(review->load.total_A, review->plug_allowed_A));
    return OVP_OK;
}

static ovp_status look_on_the_way(const ovp_oven *oven, const ovp_electrical_question *question,
                                  ovp_electrical_review *review, ovp_error *error)
{
    const char *cord = question->cord != NULL ? question->cord : oven->supply.cord;
    const char *cord_name = question->cord != NULL ? "cord" : "supply.cord";
    review->line_ohm = !isnan(question->line_ohm) ? question->line_ohm : oven->supply.line_ohms;
    ovp_status status = take_wire(cord, cord_name, &review->cord, error);
    if (status != OVP_OK && question->cord == NULL) { /* free words of a description: not known, no error */
        status = OVP_OK;
    }
    if (status == OVP_OK)
        status = take_wire(question->extension, "extension", &review->extension, error);
    if (status == OVP_OK)
        status = take_wire(question->conductor, "conductor", &review->conductor, error);
    if (status == OVP_OK)
        status = judge_plug(oven, question, review, error);
    if (status != OVP_OK)
        return status;
    judge_cord(OVP_ELECTRICAL_CHECK_CORD, &review->cord, review);
    judge_cord(OVP_ELECTRICAL_CHECK_EXTENSION, &review->extension, review);
    judge_conductor(review);
    judge_drop(question, review);
    return OVP_OK;
}

/* ---- in the oven --------------------------------------------------------------------------------------- */

static void look_at_device(const ovp_oven *oven, ovp_oven_part part, double load_A,
                           ovp_electrical_rules rules, ovp_electrical_fitted_device *device)
{
    const bool fuse = part == OVP_OVEN_CONTROL_FUSE;
    device->fitted = ovp_oven_has(oven, part);
    device->load_A = load_A;
    device->rating_A = NAN;
    device->protection.holds_s = device->protection.within_s = NAN;
    if (device->fitted != OVP_OVEN_FITTED || oven->part_rating[part][0] == '\0')
        return;
    ovp_electrical_device kind;
    if (ovp_electrical_rating_of(oven->part_rating[part], fuse, rules, &kind, &device->rating_A, NULL) !=
        OVP_OK)
        return;
    device->rated = true;
    device->protection = (ovp_electrical_protection){
        .device = kind, .rating_A = device->rating_A, .load_A = NAN, .holds_s = NAN, .within_s = NAN};
    if (!isnan(load_A))
        (void)ovp_electrical_protection_of(kind, device->rating_A, load_A, &device->protection, NULL);
}

static void look_inside(const ovp_oven *oven, ovp_electrical_review *review)
{
    const double heaters_A = review->has_load ? review->load.full_A : NAN;
    ovp_electrical_fitted_device *protector = &review->protector, *fuse = &review->fuse;
    look_at_device(oven, OVP_OVEN_ELEMENT_PROTECTOR, heaters_A, review->rules, protector);
    look_at_device(oven, OVP_OVEN_CONTROL_FUSE, oven->controls_A, review->rules, fuse);
    review->usual_fuse_A = electrical_figure("control_fuse_usual");
    if (protector->rated && !isnan(protector->load_A))
        review->checks[OVP_ELECTRICAL_CHECK_PROTECTOR] =
            good_if(at_most(protector->load_A, protector->rating_A));
    if (!fuse->rated)
        return;
    const bool too_large = !at_most(fuse->rating_A, review->usual_fuse_A);
    const bool too_small =
        !isnan(fuse->load_A) && !at_most(fuse->load_A, electrical_figure("fuse_share") * fuse->rating_A);
    if (too_large || too_small || !isnan(fuse->load_A))
        review->checks[OVP_ELECTRICAL_CHECK_FUSE] = good_if(!too_large && !too_small);
}

/* ---- the supply ---------------------------------------------------------------------------------------- */

static void step_the_supply(const ovp_oven *oven, ovp_electrical_review *review)
{
    for (size_t i = 0; review->has_load && i < sizeof steps / sizeof steps[0]; i++) {
        if (review->supply_count == OVP_ELECTRICAL_SUPPLY_STEPS)
            return;
        ovp_electrical_load load;
        const double volts_V = steps[i].share * oven->supply.volts_V;
        if (ovp_electrical_load_of(oven, volts_V, &load, NULL) != OVP_OK)
            return;
        review->supply[review->supply_count++] = (ovp_electrical_supply_step){
            .share = steps[i].share,
            .volts_V = volts_V,
            .heaters_A = load.full_A,
            .total_A = load.total_A,
            .power_W = load.full_W,
            .power_share = ovp_electrical_power_share(volts_V, oven->supply.volts_V),
            .of_circuit = load.total_A / review->circuit_A,
            .text = steps[i].text,
            .source = steps[i].source,
        };
    }
}

static ovp_electrical_state verdict_of(const ovp_electrical_question *question,
                                       const ovp_electrical_review *review)
{
    for (size_t i = 0; i < OVP_ELECTRICAL_CHECKS; i++)
        if (review->checks[i] == OVP_ELECTRICAL_STATE_TROUBLE)
            return OVP_ELECTRICAL_STATE_TROUBLE;
    const bool measured = !isnan(question->line_ohm);
    if (measured && review->checks[OVP_ELECTRICAL_CHECK_DROP] == OVP_ELECTRICAL_STATE_NOT_KNOWN)
        return OVP_ELECTRICAL_STATE_NOT_KNOWN;
    return review->checks[OVP_ELECTRICAL_CHECK_CIRCUIT];
}

ovp_status ovp_electrical_review_of(const ovp_oven *oven, const ovp_electrical_question *question,
                                    ovp_electrical_review *review, ovp_error *error)
{
    ovp_electrical_review made = {
        .share = NAN,
        .continuous_A = NAN,
        .rms_A = NAN,
        .plug_V = NAN,
        .plug_A = NAN,
        .plug_allowed_A = NAN,
        .series_ohm = NAN,
        .lost_V = NAN,
        .lost_share = NAN,
        .element_V = NAN,
        .element_A = NAN,
        .power_left = NAN,
        .protection = {.holds_s = NAN, .within_s = NAN},
        .lost_W = NAN,
        .beyond_wire_ohm = NAN,
    };
    ovp_status status = find_circuit(oven, question, &made, error);
    if (status != OVP_OK)
        return status;
    made.has_load = ovp_electrical_load_of(oven, NAN, &made.load, &made.no_load) == OVP_OK;
    judge_circuit(question, &made);
    judge_volts(oven, &made);
    status = look_on_the_way(oven, question, &made, error);
    if (status != OVP_OK)
        return status;
    look_inside(oven, &made);
    step_the_supply(oven, &made);
    made.failure_count = ovp_electrical_failures_of(oven, made.failures);
    made.verdict = verdict_of(question, &made);
    *review = made;
    return OVP_OK;
}
