/* watch.c: a run judged while it happens. The filter weighs, this file says when heat is called for and what
 * the weights are worth. */
#include "ovenproof/trace_watch.h"

#include "watch_internal.h"

#include <math.h>
#include <string.h>

/* ---- what is expected -----------------------------------------------------------------------------------
 */

void ovp_trace_watch_expect_nothing(ovp_trace_watch_setting *setting)
{
    memset(setting, 0, sizeof *setting);
    setting->dead_time_s = setting->full_A = setting->ambient_C = NAN;
    setting->rail_low_C = setting->rail_high_C = setting->rated_V = NAN;
    setting->shown = OVP_TEXT_DEGREES_F;
}

/* The model's climb from cold, closer together at its start. */
static void expect_model(const ovp_thermal_parameters *model, ovp_trace_watch_setting *setting)
{
    static const double span_s = 2 * 3600.0;
    for (size_t i = 0; i < OVP_TRACE_CURVE; i++) {
        const double share = (double)i / (OVP_TRACE_CURVE - 1);
        setting->curve_s[i] = span_s * share * share;
    }
    ovp_thermal_curve(model, setting->curve_s, OVP_TRACE_CURVE, setting->curve_C);
    setting->curve_count = OVP_TRACE_CURVE;
    double volts_V = NAN;
    ovp_thermal_full_power(model, LIMIT(working_C), &setting->full_A, &volts_V);
}

void ovp_trace_watch_expect(const ovp_oven *oven, const ovp_thermal_parameters *model,
                            const ovp_trace_result *baseline, double ambient_C,
                            ovp_trace_watch_setting *setting)
{
    ovp_trace_watch_expect_nothing(setting);
    setting->ambient_C = ambient_C;
    if (oven != NULL) {
        const judge_ends ends = judge_ends_of(oven);
        setting->rail_low_C = ends.low_C;
        setting->rail_high_C = ends.high_C;
        setting->rated_V = oven->supply.volts_V;
    }
    if (model != NULL) {
        expect_model(model, setting);
    }
    if (baseline != NULL && baseline->curve_count >= 3) {
        memcpy(setting->curve_s, baseline->curve_s, sizeof setting->curve_s);
        memcpy(setting->curve_C, baseline->curve_C, sizeof setting->curve_C);
        setting->curve_count = baseline->curve_count;
        setting->curve_measured = true;
        setting->dead_time_s = baseline->dead_time_s;
    }
    if (isnan(setting->dead_time_s) && setting->curve_count > 0) {
        setting->dead_time_s = watch_curve_time(setting, setting->curve_C[0] + LIMIT(rise_C));
    }
}

void ovp_trace_watch_init(ovp_trace_watch *watch, const ovp_trace_watch_setting *setting)
{
    memset(watch, 0, sizeof *watch);
    watch->setting = *setting;
    watch->resolution_C = NAN;
    watch->amps_at_s = -INFINITY;
    watch->last_s = watch->last_C = watch->step_before_C = NAN;
    watch->called_s = watch->off_s = watch->off_top_C = NAN;
    watch->state = (ovp_trace_watch_state){
        .at_s = NAN, .since_s = NAN, .change_C = NAN, .expected_C = NAN, .power_share = NAN, .odds_log10 = 0};
}

double watch_dead_s(const ovp_trace_watch *watch)
{
    return isnan(watch->setting.dead_time_s) ? LIMIT(watch_dead_s) : watch->setting.dead_time_s;
}

/* ---- alarms -----------------------------------------------------------------------------------------------
 */

/* Larger is graver. */
static int gravity(ovp_trace_alarm alarm)
{
    static const int rows[OVP_TRACE_ALARMS] = {
        [OVP_TRACE_ALARM_NONE] = 0,     [OVP_TRACE_ALARM_UNIT] = 1,  [OVP_TRACE_ALARM_HALF] = 2,
        [OVP_TRACE_ALARM_NO_POWER] = 3, [OVP_TRACE_ALARM_OPEN] = 4,  [OVP_TRACE_ALARM_NO_RISE] = 5,
        [OVP_TRACE_ALARM_UNSEEN] = 6,   [OVP_TRACE_ALARM_UNDER] = 7, [OVP_TRACE_ALARM_BACKWARDS] = 8,
        [OVP_TRACE_ALARM_HEATS_OFF] = 9};
    return rows[alarm];
}

static void raise_alarm(ovp_trace_watch *watch, ovp_trace_watch_state state)
{
    if (gravity(state.alarm) > gravity(watch->state.alarm)) {
        watch->state = state;
    }
}

static ovp_trace_watch_state state_of(const ovp_trace_watch *watch, ovp_trace_alarm alarm, double odds_log10)
{
    return (ovp_trace_watch_state){.alarm = alarm,
                                   .at_s = watch->last_s,
                                   .since_s = watch->last_s - watch->called_s,
                                   .change_C = NAN,
                                   .expected_C = NAN,
                                   .power_share = NAN,
                                   .odds_log10 = odds_log10};
}

/* ---- facts that one sample shows --------------------------------------------------------------------------
 */

static judge_ends ends_of(const ovp_trace_watch *watch)
{
    return (judge_ends){watch->setting.rail_low_C, watch->setting.rail_high_C};
}

static void judge_input(ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    const bool number = isfinite(sample->temperature_C);
    const bool open = sample->cell == OVP_TRACE_OPEN || sample->cell == OVP_TRACE_ERROR ||
                      sample->cell == OVP_TRACE_OVER ||
                      (number && judge_at_high_end(ends_of(watch), sample->temperature_C));
    const bool under = sample->cell == OVP_TRACE_UNDER ||
                       (number && judge_at_low_end(ends_of(watch), sample->temperature_C));
    if (open) {
        raise_alarm(watch, state_of(watch, OVP_TRACE_ALARM_OPEN, INFINITY));
    }
    if (under) {
        raise_alarm(watch, state_of(watch, OVP_TRACE_ALARM_UNDER, INFINITY));
    }
}

/* The first reading, were it counted in the other unit. */
static judge_scale scale_of(const ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    const double room_C = isnan(sample->cold_junction_C) ? watch->setting.ambient_C : sample->cold_junction_C;
    return judge_scale_of(sample->temperature_C, room_C);
}

static void raise_unit(ovp_trace_watch *watch)
{
    ovp_trace_watch_state state = state_of(watch, OVP_TRACE_ALARM_UNIT, INFINITY);
    state.change_C = watch->unit_C;
    watch->unit_C = NAN;
    raise_alarm(watch, state);
}

/* Of a first reading in doubt: cold, waiting and then gaining speed, or on its way already and slowing down?
 */
static void weigh_unit(ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    const double step_s = sample->time_s - watch->unit_s, before_C_per_s = watch->unit_slope_C_per_s;
    if (!(step_s >= LIMIT(watch_unit_s))) {
        return;
    }
    const double rise_C = sample->temperature_C - watch->unit_last_C;
    const bool first = isnan(before_C_per_s);
    watch->unit_slope_C_per_s = rise_C / step_s;
    watch->unit_last_C = sample->temperature_C;
    watch->unit_s = sample->time_s;
    if (first ? rise_C < LIMIT(watch_unit_rise_C)
              : rise_C / step_s > LIMIT(watch_unit_gain) * before_C_per_s) {
        raise_unit(watch);
    } else if (!first) {
        watch->unit_C = NAN;
    }
}

/* A log that begins while the oven heats may begin where a room in degF would be: looked at for a while. */
static void judge_unit(ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    const bool heated = !isnan(watch->called_s);
    if (watch->samples == 1) {
        const judge_scale scale = scale_of(watch, sample);
        watch->unit_C = scale == JUDGE_SCALE_RIGHT ? (double)NAN : sample->temperature_C;
        watch->unit_last_C = sample->temperature_C;
        watch->unit_s = sample->time_s;
        watch->unit_slope_C_per_s = NAN;
        if (scale == JUDGE_SCALE_LOW || (scale == JUDGE_SCALE_HIGH && !heated)) {
            raise_unit(watch);
        }
    } else if (!isnan(watch->unit_C)) {
        weigh_unit(watch, sample);
    }
}

/* ---- is heat called for -----------------------------------------------------------------------------------
 */

static void begin_heat(ovp_trace_watch *watch, double time_s, double start_C)
{
    watch->called_s = time_s;
    watch->off_s = NAN;
    watch->start_C = watch->lowest_C = start_C;
    watch->held_s = watch->full_s = 0;
    watch_filter_begin(watch, start_C);
}

static void end_heat(ovp_trace_watch *watch, double time_s, double top_C)
{
    watch->called_s = NAN;
    watch->off_s = time_s;
    watch->off_top_C = top_C;
}

/* What the columns and the person say of the heat. */
static judge_called call_of(const ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    if (watch->switched_off) {
        return CALLED_NO;
    }
    if (isfinite(sample->output_percent)) {
        return sample->output_percent >= LIMIT(output_on_percent) ? CALLED_YES : CALLED_NO;
    }
    if (watch->has_output) {
        return watch->called ? CALLED_YES : CALLED_NO;
    }
    if (isfinite(sample->setpoint_C) && isfinite(sample->temperature_C)) {
        return sample->temperature_C < sample->setpoint_C - LIMIT(below_setpoint_C) ? CALLED_YES
                                                                                    : CALLED_UNKNOWN;
    }
    return watch->switched_on || watch->setting.heat_from_start ? CALLED_YES : CALLED_UNKNOWN;
}

static bool wants_full_heat(const ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    if (!watch->called) {
        return false;
    }
    if (isfinite(sample->output_percent)) {
        return sample->output_percent >= LIMIT(output_full_percent);
    }
    return !watch->has_output;
}

static void take_no_call(ovp_trace_watch *watch, double time_s, double reading_C)
{
    if (isnan(watch->off_s)) {
        watch->off_s = time_s;
        watch->off_top_C = reading_C;
    }
    /* A pause of a cycling output is not the end of the heat. */
    if (time_s - watch->off_s >= LIMIT(watch_off_s) && !isnan(watch->called_s)) {
        end_heat(watch, watch->off_s, watch->off_top_C);
    }
}

static void take_call(ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    const double reading_C = isfinite(sample->temperature_C) ? sample->temperature_C : watch->last_C;
    watch->has_output = watch->has_output || isfinite(sample->output_percent);
    const judge_called call = call_of(watch, sample);
    if (call == CALLED_NO) {
        take_no_call(watch, sample->time_s, reading_C);
    } else {
        /* Where nothing says, heat may be on: judged by what no cooling explains. */
        if (isnan(watch->called_s) && isfinite(reading_C)) {
            begin_heat(watch, sample->time_s, reading_C);
        }
        watch->off_s = NAN;
    }
    watch->called = call == CALLED_YES;
}

void ovp_trace_watch_event(ovp_trace_watch *watch, double time_s, ovp_trace_event event)
{
    switch (event) {
    case OVP_TRACE_EVENT_HEAT_ON:
        watch->switched_on = true;
        watch->switched_off = false;
        watch->called_s = NAN;
        if (isfinite(watch->last_C)) {
            begin_heat(watch, time_s, watch->last_C);
        }
        break;
    case OVP_TRACE_EVENT_HEAT_OFF:
        watch->switched_on = false;
        watch->switched_off = true;
        end_heat(watch, time_s, watch->last_C);
        break;
    case OVP_TRACE_EVENT_DOOR_OPEN:
        watch->door = true;
        break;
    case OVP_TRACE_EVENT_DOOR_CLOSED:
        watch->door = false;
        if (!isnan(watch->called_s)) { /* what the door did is forgotten; time starts again once it has
                                          settled */
            begin_heat(watch, time_s + LIMIT(watch_door_s), watch->last_C);
        }
        break;
    }
}

/* ---- what the readings bear
 * -------------------------------------------------------------------------------- */

static bool is_cold(double start_C)
{
    return start_C <= LIMIT(reversed_room_C);
}

static void judge_backwards(ovp_trace_watch *watch)
{
    const double fall_C = watch->start_C - watch->last_C;
    const double room_C = isnan(watch->setting.ambient_C) ? LIMIT(cold_low_C) : watch->setting.ambient_C;
    const double odds = watch_odds_of_fall(watch) / log(10);
    const double coarse_C = isnan(watch->resolution_C) ? 0 : 2 * watch->resolution_C;
    const bool cold = is_cold(watch->start_C);
    const double least_C =
        fmax(watch->called ? LIMIT(reversed_fall_C) : LIMIT(reversed_fall_blind_C), coarse_C);
    /* Nothing cools below the room: from warm, only that counts. */
    if (cold ? fall_C < least_C : watch->last_C > room_C - 10) {
        return;
    }
    if (odds < LIMIT(watch_odds_log10)) {
        return;
    }
    ovp_trace_watch_state state = state_of(watch, OVP_TRACE_ALARM_BACKWARDS, odds);
    state.change_C = -fall_C;
    raise_alarm(watch, state);
}

/* Share of the on-current that full heat would draw; NAN when no amps are logged. */
static double amps_share(const ovp_trace_watch *watch)
{
    if (watch->amps_count < 1) {
        return NAN;
    }
    double full_A = watch->setting.full_A;
    if (watch->volts_count > 0 && watch->setting.rated_V > 0) {
        full_A *= watch->volts_sum / watch->volts_count / watch->setting.rated_V;
    }
    return full_A > 0 ? watch->amps_sum / watch->amps_count / full_A : (double)NAN;
}

static void judge_no_rise(ovp_trace_watch *watch, double amps_A)
{
    const double dead_s = watch_dead_s(watch);
    const bool known = watch->setting.curve_count > 0;
    const double wait_s = is_cold(watch->start_C)
                              ? known ? dead_s + LIMIT(watch_wait_s) : LIMIT(no_rise_after_s)
                              : LIMIT(watch_hot_times) * dead_s + 2 * LIMIT(watch_wait_s);
    const double rise_C = watch->last_C - watch->lowest_C;
    const double odds = (watch->still_log - watch->rise_log) / log(10);
    if (watch->held_s < wait_s || watch->full_s < 0.9 * watch->held_s || odds < LIMIT(watch_odds_log10) ||
        rise_C > fmax(0.5 * watch->expected_C, 2 * LIMIT(watch_noise_C))) {
        return;
    }
    const bool flows = watch->last_s - watch->amps_at_s <= LIMIT(watch_wait_s);
    const ovp_trace_alarm alarm = isnan(amps_A) ? OVP_TRACE_ALARM_NO_RISE
                                  : !flows      ? OVP_TRACE_ALARM_NO_POWER
                                                : OVP_TRACE_ALARM_UNSEEN;
    ovp_trace_watch_state state = state_of(watch, alarm, odds);
    state.change_C = watch->last_C - watch->start_C;
    state.expected_C = watch->expected_C;
    raise_alarm(watch, state);
}

/* Rise over that of the good run at the same time since heat on, and its standard deviation. */
static double share_of_curve(const ovp_trace_watch *watch, double *sigma)
{
    const ovp_trace_watch_setting *setting = &watch->setting;
    const double since_s = watch->last_s - watch->called_s;
    const double due_C = watch_curve_at(setting, since_s) - setting->curve_C[0];
    const double later_C = watch_curve_at(setting, since_s + 2) - setting->curve_C[0];
    if (!(due_C > 0) || isnan(later_C)) {
        return NAN;
    }
    const double noise = watch_noise_C(watch) * sqrt(2) / due_C, clock = (later_C - due_C) / due_C;
    *sigma = sqrt(LIMIT(watch_half_U) * LIMIT(watch_half_U) + noise * noise + clock * clock);
    double volts = 1;
    if (watch->volts_count > 0 && setting->rated_V > 0) {
        volts = watch->volts_sum / watch->volts_count / setting->rated_V;
    }
    return (watch->last_C - watch->start_C) / due_C / (volts * volts);
}

static void raise_half(ovp_trace_watch *watch, double share, double most, double poor, double sigma)
{
    /* Odds of the poorest healthy share being this low: a normal tail by its usual bound. */
    const double away = (poor - share) / sigma;
    const double odds = away * away / 2 / log(10);
    if (!(share < most) || !(away > 0) || odds < LIMIT(watch_odds_log10)) {
        return;
    }
    ovp_trace_watch_state state = state_of(watch, OVP_TRACE_ALARM_HALF, odds);
    state.change_C = watch->last_C - watch->start_C;
    state.power_share = share;
    raise_alarm(watch, state);
}

static void judge_half(ovp_trace_watch *watch)
{
    const double rise_C = watch->last_C - watch->start_C;
    if (rise_C < LIMIT(watch_half_rise_C) || watch->full_s < 0.95 * watch->held_s) {
        return;
    }
    const double amps = amps_share(watch);
    if (!isnan(amps) && watch->amps_count >= 3) {
        raise_half(watch, amps, LIMIT(watch_amps_most), LIMIT(watch_amps_poor), LIMIT(watch_amps_U));
    }
    double sigma = NAN;
    const bool same_start = fabs(watch->start_C - watch->setting.curve_C[0]) <= 15;
    if (watch->setting.curve_measured && is_cold(watch->start_C) && same_start) {
        const double share = share_of_curve(watch, &sigma);
        raise_half(watch, share, LIMIT(watch_half_most), LIMIT(watch_half_poor), sigma);
    }
}

static void judge_off(ovp_trace_watch *watch)
{
    const double off_s = watch->last_s - watch->off_s;
    if (off_s <= LIMIT(off_wait_s)) {
        watch->off_top_C = fmax(watch->off_top_C, watch->last_C);
        return;
    }
    if (off_s > LIMIT(off_wait_s) + LIMIT(off_least_s) &&
        watch->last_C >= watch->off_top_C + LIMIT(off_rise_C)) {
        ovp_trace_watch_state state = state_of(watch, OVP_TRACE_ALARM_HEATS_OFF, INFINITY);
        state.since_s = off_s;
        state.change_C = watch->last_C - watch->off_top_C;
        raise_alarm(watch, state);
    }
}

/* ---- one sample
 * --------------------------------------------------------------------------------------------- */

static void take_meters(ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    if (!watch->called) {
        return;
    }
    if (sample->element_A > LIMIT(current_on_A)) {
        watch->amps_sum += sample->element_A;
        watch->amps_count++;
        watch->amps_at_s = sample->time_s;
    }
    if (sample->supply_V > 0) {
        watch->volts_sum += sample->supply_V;
        watch->volts_count++;
    }
}

static void take_scatter(ovp_trace_watch *watch, double step_C)
{
    if (step_C != 0) {
        watch->resolution_C =
            isnan(watch->resolution_C) ? fabs(step_C) : fmin(watch->resolution_C, fabs(step_C));
    }
    if (!isnan(watch->step_before_C)) {
        const double bend_C = step_C - watch->step_before_C;
        watch->noise_sum += bend_C * bend_C;
        watch->noise_count++;
    }
    watch->step_before_C = step_C;
}

static void take_reading(ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    const double step_s = sample->time_s - watch->last_s;
    if (watch->samples > 0) {
        take_scatter(watch, sample->temperature_C - watch->last_C);
    }
    watch->samples++;
    watch->last_s = sample->time_s;
    watch->last_C = sample->temperature_C;
    judge_unit(watch, sample);
    if (watch->door || isnan(step_s)) {
        return;
    }
    if (!isnan(watch->called_s) && sample->time_s > watch->called_s) {
        watch->lowest_C = fmin(watch->lowest_C, sample->temperature_C);
        watch->held_s += step_s;
        watch->full_s += watch->full ? step_s : 0;
        watch_filter_step(watch, step_s, sample->temperature_C);
        judge_backwards(watch);
        judge_no_rise(watch, sample->element_A);
        judge_half(watch);
    } else if (!isnan(watch->off_s)) {
        judge_off(watch);
    }
}

bool ovp_trace_watch_sample(ovp_trace_watch *watch, const ovp_trace_sample *sample)
{
    const ovp_trace_alarm before = watch->state.alarm;
    const bool reads = isfinite(sample->temperature_C);
    /* A row of the same moment without a reading says that a switch was turned. */
    if (!isfinite(sample->time_s) || sample->time_s < watch->last_s ||
        (reads && sample->time_s == watch->last_s)) {
        return false;
    }
    take_call(watch, sample);
    watch->full = wants_full_heat(watch, sample);
    take_meters(watch, sample);
    if (reads && !judge_at_high_end(ends_of(watch), sample->temperature_C) &&
        !judge_at_low_end(ends_of(watch), sample->temperature_C)) {
        take_reading(watch, sample);
    } else {
        const double last_s = watch->last_s;
        watch->last_s = sample->time_s;
        judge_input(watch, sample);
        watch->last_s = isnan(last_s) ? sample->time_s : last_s;
    }
    return watch->state.alarm != before;
}
