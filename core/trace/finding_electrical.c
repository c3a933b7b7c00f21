/* finding_electrical.c: volts, sag, resistance, amps. */
#include "judge_internal.h"

#include <math.h>

/* Mean of a channel over blocks in which the supply was there: after a trip the volts are 0. */
static judge_channel live(const ovp_trace_judge *judge, judge_channel_id id, double rated_V)
{
    judge_channel total = {0};
    for (size_t i = 0; i < judge->block_count; i++) {
        const judge_block *block = &judge->blocks[i];
        if (block->channel[CHANNEL_VOLTS].count && block->channel[CHANNEL_VOLTS].low < 0.5 * rated_V) {
            continue;
        }
        total.sum += block->channel[id].sum;
        total.count += block->channel[id].count;
    }
    return total;
}

/* Steps of the line with other loads: the spread of the volts under load, noise apart. */
static double unsteady_V(const ovp_trace_judge *judge, double rated_V)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i + 2 < judge->block_count; i++) { /* three blocks together: one reading is no step */
        double sum = 0;
        uint64_t count = 0;
        for (size_t j = i; j < i + 3; j++) {
            const judge_channel *on = &judge->blocks[j].channel[CHANNEL_VOLTS_ON];
            bool live_block = on->count && judge->blocks[j].channel[CHANNEL_VOLTS].low > 0.5 * rated_V;
            sum += live_block ? judge_mean(on) : 0;
            count += live_block;
        }
        if (count == 3) {
            low = fmin(low, sum / 3);
            high = fmax(high, sum / 3);
        }
    }
    return high > low ? high - low : 0;
}

/* Ohms of the line: what the volts lose over what flows. */
static void find_line(const ovp_trace_judge *judge, ovp_trace_result *result, double lost_V, double lost_U_V)
{
    judge_channel amps = judge_total(judge, CHANNEL_AMPS_ON, -INFINITY, INFINITY);
    if (amps.count < 3) {
        return;
    }
    double ohm = lost_V / judge_mean(&amps);
    judge_find(result, "line-ohms", "measured", NAN, ohm);
    judge_sure(result, judge->counters.first_s,
               hypot(lost_U_V / judge_mean(&amps), LIMIT(power_meter_U) * ohm));
}

static void find_volts(ovp_trace_judge *judge, ovp_trace_result *result, double rated_V)
{
    judge_channel on = live(judge, CHANNEL_VOLTS_ON, rated_V), off = live(judge, CHANNEL_VOLTS_OFF, rated_V);
    judge_channel all = live(judge, CHANNEL_VOLTS, rated_V);
    double volts_V = on.count ? judge_mean(&on) : judge_mean(&all), ratio = volts_V / rated_V;
    if (isnan(ratio)) {
        return;
    }
    const char *outcome = ratio > 1 + LIMIT(supply_usual)    ? "high"
                          : ratio >= 1 - LIMIT(supply_usual) ? "as-rated"
                          : ratio >= 0.9                     ? "low"
                                                             : "far-low";
    double spread_V = unsteady_V(judge, rated_V);
    if (ratio <= 1.05 && ratio >= 0.93 && spread_V > LIMIT(unsteady_share) * rated_V) {
        judge_say(result, "volts", "unsteady", NAN, ratio,
                  "the line moves by %s V under load: something else runs on it",
                  judge_fixed(spread_V, 1).text);
    } else if (ratio <= 1 + LIMIT(supply_usual) && ratio >= 1 - LIMIT(supply_usual)) {
        judge_find(result, "volts", outcome, NAN, ratio);
    } else {
        judge_say(result, "volts", outcome, NAN, ratio, "%s V at the oven under load, %s %% of its %s V",
                  judge_fixed(volts_V, 1).text, judge_fixed(100 * ratio, 0).text,
                  judge_fixed(rated_V, 0).text);
    }
    double on_u = judge_meter_u(judge, on.count ? CHANNEL_VOLTS_ON : CHANNEL_VOLTS) / rated_V;
    judge_sure(result, judge->counters.first_s, hypot(ovp_thermal_meter_volts_U() * ratio, 2 * on_u));
    if (on.count < 3 || off.count < 3) {
        return;
    }
    double sag = 100 * (judge_mean(&off) - judge_mean(&on)) / rated_V;
    if (sag < 3) {
        judge_find(result, "sag", "<3%", NAN, sag);
    } else {
        judge_say(result, "sag", sag < 6 ? "3-6%" : ">6%", NAN, sag,
                  "the line sags by %s %% when the heat comes on", judge_fixed(sag, 1).text);
    }
    /* One meter read both: its scale is the sag's. */
    double off_u = judge_meter_u(judge, CHANNEL_VOLTS_OFF) / rated_V;
    judge_sure(result, judge->counters.first_s,
               100 * hypot(2 * hypot(on_u, off_u), ovp_thermal_meter_volts_U() * sag / 100));
    find_line(judge, result, judge_mean(&off) - judge_mean(&on), 2 * rated_V * hypot(on_u, off_u));
}

/* Was full output asked for without any current? */
static bool no_current_at_full(const ovp_trace_judge *judge)
{
    double asked_s = 0;
    for (size_t i = 0; i < judge->block_count; i++) {
        const judge_block *block = &judge->blocks[i];
        if (block->channel[CHANNEL_AMPS_ON].count) {
            return false;
        }
        if (block->channel[CHANNEL_OUTPUT].count &&
            block->channel[CHANNEL_OUTPUT].low >= LIMIT(output_full_percent)) {
            asked_s += i ? block->to_s - judge->blocks[i - 1].to_s : 0;
        }
    }
    return asked_s >= 30;
}

static void find_resistance(ovp_trace_judge *judge, ovp_trace_result *result, double rated_ohm)
{
    judge_channel volts = judge_total(judge, CHANNEL_VOLTS_ON, -INFINITY, INFINITY);
    judge_channel amps = judge_total(judge, CHANNEL_AMPS_ON, -INFINITY, INFINITY);
    if (no_current_at_full(judge)) {
        judge_say(result, "resistance", "far-high", NAN, NAN,
                  "no current flows although full output is called for");
        return;
    }
    if (amps.count < 3 || volts.count < 3) {
        return;
    }
    double ohms = judge_mean(&volts) / judge_mean(&amps), ratio = ohms / rated_ohm;
    const char *outcome = ratio < 0.93   ? "low"
                          : ratio < 1.07 ? "normal"
                          : ratio < 1.36 ? "raised"
                          : ratio < 1.47 ? "root-two"
                          : ratio < 1.7  ? "high"
                          : ratio < 2.6  ? "double"
                                         : "far-high";
    if (ratio >= 0.93 && ratio < 1.07) {
        judge_find(result, "resistance", outcome, NAN, ratio);
    } else {
        judge_say(result, "resistance", outcome, NAN, ratio,
                  "volts over amps give %s ohm, %s times the %s ohm of the description",
                  judge_fixed(ohms, 1).text, judge_fixed(ratio, 2).text, judge_fixed(rated_ohm, 1).text);
    }
    double own_u = hypot(judge_meter_u(judge, CHANNEL_VOLTS_ON) / judge_mean(&volts),
                         judge_meter_u(judge, CHANNEL_AMPS_ON) / judge_mean(&amps));
    judge_sure(result, judge->counters.first_s, ratio * hypot(LIMIT(power_meter_U), 2 * own_u));
}

static void find_amps(ovp_trace_judge *judge, ovp_trace_result *result, double rated_A)
{
    judge_channel amps = judge_total(judge, CHANNEL_AMPS_ON, -INFINITY, INFINITY);
    bool zero = no_current_at_full(judge);
    if (!zero && amps.count < 3) {
        return;
    }
    double ratio = zero ? 0 : judge_mean(&amps) / rated_A;
    const char *outcome = ratio > 1.05    ? "r>1.05"
                          : ratio >= 0.94 ? "r0.95-1.05"
                          : ratio >= 0.8  ? "r0.8-0.95"
                          : ratio >= 0.6  ? "r0.6-0.8"
                          : ratio >= 0.2  ? "r0.4-0.6"
                                          : "zero";
    if (ratio >= 0.94 && ratio <= 1.05) {
        judge_find(result, "amps", outcome, NAN, ratio);
    } else {
        judge_say(result, "amps", outcome, NAN, ratio, "%s A while on, %s %% of the rated %s A",
                  judge_fixed(ratio * rated_A, 1).text, judge_fixed(100 * ratio, 0).text,
                  judge_fixed(rated_A, 1).text);
    }
    double own_u = zero ? 0 : judge_meter_u(judge, CHANNEL_AMPS_ON) / rated_A;
    judge_sure(result, judge->counters.first_s, hypot(LIMIT(power_meter_U) * ratio, 2 * own_u));
}

void judge_findings_electrical(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const ovp_oven *oven = judge->expectation.oven;
    double rated_ohm = judge_rated_ohm(judge);
    if (!oven || isnan(oven->supply.volts_V)) {
        return;
    }
    if (judge->counters.has[CHANNEL_VOLTS]) {
        find_volts(judge, result, oven->supply.volts_V);
    }
    if (!judge->counters.has[CHANNEL_AMPS] || isnan(rated_ohm)) {
        return;
    }
    if (judge->counters.has[CHANNEL_VOLTS]) {
        find_resistance(judge, result, rated_ohm);
    } else {
        find_amps(judge, result, oven->supply.volts_V / rated_ohm);
    }
}
