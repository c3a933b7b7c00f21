/* judge_proof.c: the marks of the description as they would have gone at rated volts and room. */
#include "judge_internal.h"

#include <math.h>
#include <string.h>

enum {
    CLIMB = 512
};

static const double rectangular = 1.7320508075688772; /* square root of 3: half-width over deviation */

typedef struct climb_copy {
    double time_s[CLIMB], temperature_C[CLIMB];
    size_t count;
} climb_copy;

/* Means of as many points as make the climb fit. */
static void copy_climb(const judge_run *run, climb_copy *climb)
{
    const size_t span = run->climb_end > run->zero ? run->climb_end - run->zero : 0;
    const size_t each = span / CLIMB + 1;

    climb->count = 0;
    for (size_t i = run->zero; i < run->zero + span; i += each) {
        const size_t to = i + each < run->zero + span ? i + each : run->zero + span;
        double time_s = 0, sum_C = 0;
        for (size_t k = i; k < to; k++) {
            time_s += run->points[k].time_s - run->time_zero_s;
            sum_C += run->points[k].temperature_C;
        }
        climb->time_s[climb->count] = time_s / (double)(to - i);
        climb->temperature_C[climb->count++] = sum_C / (double)(to - i);
    }
}

/* What makes a climb no proof, whatever the volts. */
static bool shows(const ovp_trace_result *result, const char *finding)
{
    for (size_t i = 0; i < result->finding_count; i++) {
        if (result->findings[i].notable && strcmp(result->findings[i].finding, finding) == 0) {
            return true;
        }
    }
    return false;
}

static const char *why_none(const ovp_trace_judge *judge, const ovp_trace_result *result)
{
    static const struct {
        const char *finding, *why;
    } spoilt[] = {
        {"plateau", "water left the lining on the way up: run it again dry"},
        {"delay-constant", "time was lost early, as water or a load does: run it again dry and empty"},
        {"off-while-called", "the heat stopped on the way up"},
        {"output-capped", "the controller gave less than full output"},
        {"open", "the sensor came and went"},
        {"jumps", "the display jumped"},
        {"stuck", "the display stood still"},
        {"wrong-unit", "the unit of the log is in doubt"},
    };
    const judge_run *run = &judge->run;
    if (!run->cold_start) {
        return "it did not start cold";
    }
    if (run->backwards || !run->climb_full || isnan(run->time_zero_s)) {
        return "the log holds no climb at full heat";
    }
    if (run->climb_output < LIMIT(output_full_percent) / 100) {
        return "the output was below full on the way up";
    }
    for (size_t i = 0; i < sizeof spoilt / sizeof spoilt[0]; i++) {
        if (shows(result, spoilt[i].finding)) {
            return spoilt[i].why;
        }
    }
    return NULL;
}

/* ---- conditions of the run ------------------------------------------------------------------------------
 */

/* Volts at the oven that stand for the supply on the plate: less what its line takes. */
static double at_oven(const ovp_trace_judge *judge, double supply_V)
{
    const ovp_thermal_parameters *model = judge->expectation.model;
    double volts_V = NAN;
    if (model == NULL) {
        return supply_V;
    }
    ovp_thermal_full_power(model, LIMIT(working_C), NULL, &volts_V);
    return supply_V * volts_V / model->supply_V;
}

static void take_volts(const ovp_trace_judge *judge, ovp_trace_result *result)
{
    const judge_run *run = &judge->run;
    const double rated_V = at_oven(judge, judge->expectation.oven->supply.volts_V);
    const double to_s = run->climb_end > run->zero ? run->points[run->climb_end - 1].to_s : run->time_zero_s;
    const judge_channel on = judge_total(judge, CHANNEL_VOLTS_ON, run->time_zero_s, to_s);

    if (on.count > 0 && judge_mean(&on) > 0) {
        /* Where in the climb they wandered is not weighed: half of the spread counts. */
        const double spread_V = (on.high - on.low) / 2 / (2 * rectangular);
        result->volts_from = judge->told ? OVP_TRACE_VOLTS_TOLD : OVP_TRACE_VOLTS_LOGGED;
        result->volts_V = judge_mean(&on);
        result->volts_U_V = hypot(ovp_thermal_meter_volts_U() * result->volts_V, 2 * spread_V);
    } else {
        result->volts_from = OVP_TRACE_VOLTS_UNREAD;
        result->volts_V = rated_V;
        result->volts_U_V = ovp_thermal_unread_volts_U() * rated_V;
    }
}

/* Expanded, of the reading at a mark: its last place, its scatter and the tolerance where one is told. */
static double reading_U(const ovp_trace_judge *judge, double to_C)
{
    const judge_run *run = &judge->run;
    const ovp_trace_expectation *expectation = &judge->expectation;
    double tolerance_C = expectation->tolerance_C;
    const double place_C = isfinite(run->resolution_C) ? run->resolution_C / (2 * rectangular) : 0;

    if (expectation->tolerance != NULL && expectation->oven->sensor.known) {
        (void)ovp_tc_tolerance(expectation->tolerance, expectation->oven->sensor.type, to_C, &tolerance_C,
                               NULL);
    }
    return 2 * hypot(hypot(place_C, run->noise_C), tolerance_C / rectangular);
}

/* Mean of a channel about a time, of the on-samples. */
static double about(const ovp_trace_judge *judge, judge_channel_id id, double time_s)
{
    const double half_s = fmax(60, 2 * judge->counters.interval_s);
    const judge_channel near = judge_total(judge, id, time_s - half_s, time_s + half_s);
    return judge_mean(&near);
}

static double power_at(const ovp_trace_judge *judge, const ovp_trace_result *result, double time_s)
{
    const double volts_V = about(judge, CHANNEL_VOLTS_ON, time_s),
                 amps_A = about(judge, CHANNEL_AMPS_ON, time_s);
    const double share = result->volts_V / at_oven(judge, judge->expectation.oven->supply.volts_V);
    const double metered_W = volts_V * amps_A;
    return isnan(metered_W) ? judge_rated_W(judge) * share * share : metered_W;
}

/* How finely times were taken. A person notes a mark as it is passed, to a minute, half of one or a few
 * seconds; a logger knows no more than its interval. */
static double clock_step(const ovp_trace_judge *judge)
{
    static const double habits_s[] = {60, 30};
    const judge_run *run = &judge->run;
    const double interval_s = judge->counters.interval_s;
    if (!judge->expectation.heat_from_start && interval_s <= LIMIT(mark_pause_s)) {
        return interval_s;
    }
    for (size_t k = 0; k < sizeof habits_s / sizeof habits_s[0]; k++) {
        size_t whole = 0;
        for (size_t i = 0; i < run->count; i++) {
            whole += fmod(run->points[i].from_s - run->points[0].from_s, habits_s[k]) == 0;
        }
        if (whole == run->count) {
            return fmin(habits_s[k], interval_s);
        }
    }
    return fmin(LIMIT(proof_hand_s), interval_s);
}

/* ---- the proof ------------------------------------------------------------------------------------------
 */

typedef struct job {
    const ovp_trace_judge *judge;
    ovp_thermal_proof_run run;
    ovp_thermal_bend rated[OVP_OVEN_HEAT_UP], asked[OVP_OVEN_HEAT_UP];
    double rated_V, asked_V; /* at the oven */
} job;

static void find_bends(const ovp_trace_result *result, double aim_V, const ovp_thermal_parameters *model,
                       ovp_thermal_bend bends[])
{
    double to_C[OVP_OVEN_HEAT_UP];
    for (size_t i = 0; i < result->milestone_count; i++) {
        to_C[i] = result->milestones[i].to_C;
        bends[i] = ovp_thermal_usual_bend();
    }
    if (model != NULL) {
        ovp_thermal_bends(model, result->volts_V, aim_V, to_C, result->milestone_count, bends);
    }
}

static void give_reason(ovp_trace_proof *proof, const char *why)
{
    ovp_copy_string(proof->reason, sizeof proof->reason, ovp_span_of(why));
    ovp_copy_string(proof->asked_reason, sizeof proof->asked_reason, ovp_span_of(why));
}

static void prove_mark(job *at, const ovp_trace_result *result, size_t i, ovp_trace_proof *proof)
{
    ovp_thermal_proof_aim aim = {proof->to_C, proof->within_s, at->rated_V, ovp_thermal_usual_ambient_C(),
                                 result->milestones[i].time_s};
    ovp_error error = {0};

    at->run.reading_U_C = reading_U(at->judge, proof->to_C);
    if (isnan(aim.run_s)) {
        give_reason(proof, "the mark was not reached, or not timed, in one climb at full heat");
        return;
    }
    if (ovp_thermal_prove(&at->run, &aim, &at->rated[i], &proof->rated, &error) != OVP_OK) {
        give_reason(proof, error.what);
        return;
    }
    if (at->asked_V > 0) {
        aim.supply_V = at->asked_V;
        proof->asked = ovp_thermal_prove(&at->run, &aim, &at->asked[i], &proof->at_asked, &error) == OVP_OK;
        ovp_copy_string(proof->asked_reason, sizeof proof->asked_reason,
                        ovp_span_of(proof->asked ? "" : error.what));
    }
    proof->power_W = power_at(at->judge, result, at->judge->run.time_zero_s + proof->rated.run_s);
    proof->loss_W = proof->power_W * proof->rated.loss_share;
}

void judge_proofs(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const ovp_trace_expectation *expectation = &judge->expectation;
    const char *why = why_none(judge, result);
    climb_copy climb;

    if (expectation->oven == NULL) {
        return;
    }
    if (isnan(expectation->oven->supply.volts_V)) {
        why = "the description gives no volts";
    }
    for (size_t i = 0; i < result->milestone_count; i++) {
        result->proofs[i] = (ovp_trace_proof){.to_C = result->milestones[i].to_C,
                                              .within_s = result->milestones[i].within_s,
                                              .power_W = NAN,
                                              .loss_W = NAN};
        give_reason(&result->proofs[i], why != NULL ? why : "");
    }
    result->rated_V = expectation->oven->supply.volts_V;
    result->asked_V = expectation->asked_V > 0 ? expectation->asked_V : NAN;
    if (result->milestone_count == 0 || why != NULL) {
        return;
    }
    take_volts(judge, result);
    copy_climb(&judge->run, &climb);
    const double room_C = expectation->ambient_C;
    job at = {
        .judge = judge,
        .run = {.climb = {climb.time_s, climb.temperature_C, climb.count, judge->run.start_C},
                .supply_V = result->volts_V,
                .supply_U_V = result->volts_U_V,
                .time_U_s = 2 * clock_step(judge) / (2 * rectangular) * sqrt(2),
                .start_U_C = isnan(room_C) ? 0 : fabs(room_C - judge->run.start_C)},
        .rated_V = at_oven(judge, expectation->oven->supply.volts_V),
        .asked_V = expectation->asked_V > 0 ? at_oven(judge, expectation->asked_V) : 0,
    };
    find_bends(result, at.rated_V, expectation->model, at.rated);
    if (at.asked_V > 0) {
        find_bends(result, at.asked_V, expectation->model, at.asked);
    }
    for (size_t i = 0; i < result->milestone_count; i++) {
        prove_mark(&at, result, i, &result->proofs[i]);
    }
}
