/* finding_power.c: power-fraction, half-power, and the power ratio of the result. */
#include "judge_internal.h"

#include <math.h>

typedef struct estimate {
    double ratio, uncertainty; /* of the meter or the expectation: what outcomes are judged by */
    double scatter_U;          /* of this log */
    const char *basis;
} estimate;

static const estimate none = {NAN, NAN, 0, ""};

/* Volts and amps as logged. A half wave on a true-rms meter: the product is not the power, I squared R is. */
static estimate from_meters(const ovp_trace_judge *judge)
{
    const judge_counters *c = &judge->counters;
    double rated_W = judge_rated_W(judge), rated_ohm = judge_rated_ohm(judge);
    if (!c->has[CHANNEL_VOLTS] || !c->has[CHANNEL_AMPS] || isnan(rated_W)) {
        return none;
    }
    judge_channel volts = judge_total(judge, CHANNEL_VOLTS_ON, -INFINITY, INFINITY);
    judge_channel amps = judge_total(judge, CHANNEL_AMPS_ON, -INFINITY, INFINITY);
    if (amps.count < 3 || volts.count < 3) {
        return none;
    }
    double volts_V = judge_mean(&volts), amps_A = judge_mean(&amps), ohms = volts_V / amps_A / rated_ohm;
    double amps_u = judge_meter_u(judge, CHANNEL_AMPS_ON) / amps_A,
           volts_u = judge_meter_u(judge, CHANNEL_VOLTS_ON) / volts_V;
    if (ohms > 1.36 && ohms < 1.48) {
        double ratio = amps_A * amps_A * rated_ohm / rated_W;
        return (estimate){ratio, 3 * LIMIT(power_meter_U), 4 * ratio * amps_u,
                          "from the amps of a half wave (true rms)"};
    }
    double ratio = volts_V * amps_A / rated_W;
    return (estimate){ratio, LIMIT(power_meter_U), 2 * ratio * hypot(amps_u, volts_u), "from volts and amps"};
}

static bool window(const judge_run *run, double *low_s, double *high_s)
{
    const judge_reference *reference = &run->reference;
    *low_s = judge_reference_time(reference, reference->temperature_C[0] + LIMIT(power_rise_low_C));
    *high_s = judge_reference_time(reference, reference->temperature_C[0] + LIMIT(power_rise_high_C));
    if (isnan(*high_s) && reference->count) { /* a good run to a low setpoint: as far as it goes */
        *high_s = reference->time_s[reference->count - 1];
    }
    return !isnan(*low_s) && !isnan(*high_s);
}

/* What scatter and the last place leave open of a share of `product / square`, expanded. A good run scatters,
 * too.
 */
static double slope_U(const judge_run *run, double ratio, double low_s, double high_s)
{
    double squares = 0, follows = 0, before = 0, square = 0, due = 0;
    size_t count = 0;
    for (size_t i = run->zero; i < run->climb_end; i++) {
        double time_s = run->points[i].time_s - run->time_zero_s;
        if (time_s < low_s || time_s > high_s) {
            continue;
        }
        double due_C = judge_reference_at(&run->reference, time_s) - run->reference.temperature_C[0];
        double left_C = run->points[i].temperature_C - run->start_C - ratio * due_C;
        squares += left_C * left_C;
        follows += left_C * before;
        before = left_C;
        square += due_C * due_C;
        due += due_C;
        count++;
    }
    double follow = squares > 0 ? fmin(fmax(follows / squares, 0), 0.98) : 0;
    double variance = squares / fmax((double)count - 1, 1) * (1 + follow) / (1 - follow) / square;
    double start = judge_reading_u(run) * due / square; /* every rise counts from one reading */
    return 2 * sqrt(run->reference.from_model ? 1 : 2) * hypot(sqrt(variance), start);
}

/* At equal early times the rise is in proportion to the power. */
static double by_slope(const judge_run *run)
{
    double low_s, high_s, product = 0, square = 0;
    size_t count = 0;
    if (!window(run, &low_s, &high_s)) {
        return NAN;
    }
    for (size_t i = run->zero; i < run->climb_end; i++) {
        double time_s = run->points[i].time_s - run->time_zero_s;
        if (time_s < low_s || time_s > high_s) {
            continue;
        }
        double due_C = judge_reference_at(&run->reference, time_s) - run->reference.temperature_C[0];
        product += due_C * (run->points[i].temperature_C - run->start_C);
        square += due_C * due_C;
        count++;
    }
    return count >= 3 && square > 0 ? product / square : (double)NAN;
}

/* Where the log is too coarse for the slope: the time to its first mark. */
static double by_first_mark(const ovp_trace_judge *judge)
{
    const judge_run *run = &judge->run;
    size_t i = run->zero;
    while (i < run->climb_end && run->points[i].temperature_C < run->start_C + LIMIT(power_rise_high_C)) {
        i++;
    }
    if (i >= run->climb_end) {
        return NAN;
    }
    double mark_C = run->points[i].temperature_C, time_s = run->points[i].time_s - run->time_zero_s;
    double due_s = judge_reference_time(&run->reference, mark_C);
    if (isnan(due_s) || due_s <= 0 || time_s <= 0) {
        return NAN;
    }
    return pow(due_s / time_s, 1 / LIMIT(power_exponent));
}

static estimate from_slope(const ovp_trace_judge *judge, const char **reason)
{
    const judge_run *run = &judge->run;
    estimate result = none;
    if (!run->reference.known) {
        *reason = "no oven description and no good run to compare with";
    } else if (!run->cold_start) {
        *reason = "not a cold start";
    } else if (run->backwards) {
        *reason = "the display runs the wrong way";
    } else if (!run->climb_full) {
        *reason = "the log holds no climb at full power";
    } else {
        bool model = run->reference.from_model;
        double output = isnan(run->climb_output) ? 1 : fmax(run->climb_output, 0.05);
        result.uncertainty = model ? LIMIT(power_model_U) : LIMIT(power_baseline_U);
        result.ratio = by_slope(run);
        result.basis =
            model ? "first slope against the oven's description" : "first slope against the good run";
        if (isnan(result.ratio)) {
            result.ratio = by_first_mark(judge);
            result.uncertainty *= 1.5;
            result.basis = model ? "time to the first mark against the oven's description"
                                 : "time to the first mark against the good run";
        }
        result.ratio /= output;
        result.uncertainty += LIMIT(power_far_U) * fabs(1 - result.ratio);
        double low_s, high_s;
        if (window(run, &low_s, &high_s)) { /* a coarse log blurs time zero */
            result.scatter_U = slope_U(run, result.ratio * output, low_s, high_s) / output;
            result.uncertainty += 0.4 * judge->counters.interval_s / high_s;
        }
        *reason = isnan(result.ratio) ? "too few readings on the way up" : "";
    }
    return result;
}

static const char *power_outcome(double ratio, double uncertainty)
{
    if (fabs(ratio - 1) <= fmax(uncertainty, 0.07)) {
        return uncertainty > 0.1 ? "about-full" : "full";
    }
    return ratio > 1       ? "high"
           : ratio >= 0.8  ? "reduced"
           : ratio >= 0.58 ? "low"
           : ratio >= 0.4  ? "half"
                           : "quarter";
}

/* What an ordinary supply explains is no loss of this oven: the volts have a finding of their own. */
static double beside_supply(const ovp_trace_judge *judge, double ratio)
{
    const ovp_oven *oven = judge->expectation.oven;
    judge_channel volts = judge_total(judge, CHANNEL_VOLTS_ON, -INFINITY, INFINITY);
    if (!oven || !volts.count) {
        return ratio;
    }
    double share = judge_mean(&volts) / oven->supply.volts_V;
    return fabs(share - 1) <= LIMIT(supply_usual) ? ratio / (share * share) : ratio;
}

static void say_power(const ovp_trace_judge *judge, ovp_trace_result *result, estimate power)
{
    power.ratio = beside_supply(judge, power.ratio);
    const char *outcome = power_outcome(power.ratio, power.uncertainty);
    bool normal = fabs(power.ratio - 1) <= fmax(power.uncertainty, 0.07);
    bool half = power.ratio >= 0.4 && power.ratio < 0.58;
    double from_s = judge->run.time_zero_s, both_U = hypot(power.uncertainty, power.scatter_U);
    if (normal) {
        judge_find(result, "power-fraction", outcome, NAN, power.ratio);
    } else {
        judge_say(result, "power-fraction", outcome, NAN, power.ratio, "%s %% of the power arrives, %s",
                  judge_fixed(100 * power.ratio, 0).text, power.basis);
    }
    judge_sure(result, from_s, both_U);
    if (half) {
        judge_say(
            result, "half-power", "half", NAN, power.ratio,
            "close to half of the power: a relay that passes half waves, or one of two branches, does that");
    } else {
        judge_find(result, "half-power", "no", NAN, power.ratio);
    }
    judge_sure(result, from_s, both_U);
}

/* Volts and amps say what arrives; does the display rise by as much? */
static void find_display_slope(ovp_trace_judge *judge, ovp_trace_result *result, estimate metered)
{
    const char *reason = "";
    estimate slope = from_slope(judge, &reason);
    if (isnan(slope.ratio) || isnan(metered.ratio) || metered.ratio < 0.05) {
        return;
    }
    double ratio = slope.ratio / metered.ratio, uncertainty = slope.uncertainty + metered.uncertainty;
    double scatter_U = hypot(slope.scatter_U, metered.scatter_U) / metered.ratio;
    if (fabs(ratio - 1) <= uncertainty) {
        judge_find(result, "display-slope", "agrees", NAN, ratio);
        judge_sure(result, judge->run.time_zero_s, hypot(uncertainty, scatter_U));
        return;
    }
    judge_say(result, "display-slope",
              ratio < LIMIT(far_slow) ? "far-slow"
              : ratio < 1             ? "slow"
                                      : "fast",
              NAN, ratio,
              "the display rises at %s %% of what the metered power would do: sensor, its setting, or a load",
              judge_fixed(100 * ratio, 0).text);
    judge_sure(result, judge->run.time_zero_s, hypot(uncertainty, scatter_U));
}

void judge_findings_power(ovp_trace_judge *judge, ovp_trace_result *result)
{
    const char *reason = "";
    estimate power = from_meters(judge);
    find_display_slope(judge, result, power);
    if (isnan(power.ratio)) {
        power = from_slope(judge, &reason);
    }
    result->power_ratio = power.ratio;
    result->power_ratio_uncertainty =
        isnan(power.ratio) ? (double)NAN : hypot(power.uncertainty, power.scatter_U);
    ovp_copy_string(result->power_ratio_reason, sizeof result->power_ratio_reason,
                    ovp_span_of(isnan(power.ratio) ? reason : power.basis));
    if (!isnan(power.ratio)) {
        say_power(judge, result, power);
    }
}
