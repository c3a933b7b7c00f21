/* A run: what the display shows, what the controller makes of it, what a logger writes down. */
#include "thermal/thermal_internal.h"

#include <math.h>

enum stream {
    STREAM_CONTROL_NOISE,
    STREAM_LOG_NOISE,
    STREAM_VOLTS,
    STREAM_AMPS,
    STREAM_SENSOR_DROPOUT,
    STREAM_SENSOR_LENGTH,
    STREAM_POWER_DROPOUT,
    STREAM_POWER_LENGTH,
    STREAM_JOINT,
    STREAM_SAG,
};

static const double shortest_step_s = 1e-6;
static const double leak_decade_K =
    140; /* ceramic loses a decade of resistance in about this much: judgement */
static const double leak_reference_C = 1093; /* 2000 degF */

void ovp_thermal_disturbance_init(const ovp_oven *oven, ovp_thermal_disturbance *disturbance)
{
    const ovp_tc_type sensor = oven->sensor.known ? oven->sensor.type : OVP_TC_K;

    *disturbance = (ovp_thermal_disturbance){.leak_ratio = NAN,
                                             .unit_gain = 1,
                                             .setpoint_share = 1,
                                             .tuning = 1,
                                             .dropout_s = 10,
                                             .sag_mean_s = 300,
                                             .open_from_s = INFINITY,
                                             .frozen_from_s = INFINITY,
                                             .idle_from_s = INFINITY,
                                             .no_current_from_s = INFINITY,
                                             .dead_from_s = INFINITY};
    ovp_tc_loop_init(&disturbance->loop, sensor, 20, 20);
    if (oven->sensor.extension_known) {
        disturbance->loop.extension = oven->sensor.extension;
    }
    if (oven->controller.input_known) {
        disturbance->loop.input = oven->controller.input;
    }
    disturbance->loop.display_low_C = oven->controller.display_low_C;
    disturbance->loop.display_high_C = oven->controller.display_high_C;
}

void ovp_thermal_run_start(const ovp_thermal_plan *plan, ovp_thermal_run *run)
{
    *run = (ovp_thermal_run){
        .plan = *plan, .joint_share = 1, .last_shown_C = NAN, .shown_C = plan->parameters.start_C};
    ovp_thermal_start(&plan->parameters, &run->state);
}

static double between(double tip_C, double head_C, double share)
{
    return tip_C + share * (head_C - tip_C);
}

static double clamp_to(ovp_tc_type type, double temperature_C)
{
    double low_C, high_C, low_mV, high_mV;

    if (type >= OVP_TC_TYPES) {
        return temperature_C;
    }
    ovp_tc_range(type, &low_C, &high_C, &low_mV, &high_mV);
    return fmin(fmax(temperature_C, low_C), high_C);
}

/* The loop with the temperatures of now. A couple past its range is taken at its end. */
static ovp_tc_loop loop_of_now(const ovp_thermal_run *run)
{
    const ovp_thermal_disturbance *wrong = &run->plan.disturbance;
    ovp_tc_loop loop = wrong->loop;

    loop.tip_C = clamp_to(loop.sensor, run->state.sensor_C);
    loop.head_C = run->state.head_C;
    loop.panel_C = run->state.panel_C;
    loop.compensation_error_C +=
        wrong->compensation_gain * (run->state.panel_C - run->plan.parameters.ambient_C);
    if (wrong->shorted) {
        loop.shorted_at_C = clamp_to(loop.sensor, between(loop.tip_C, loop.head_C, wrong->short_share));
    }
    if (!isnan(wrong->leak_ratio)) {
        loop.leak_ratio =
            wrong->leak_ratio * exp2((leak_reference_C - loop.tip_C) / leak_decade_K * 3.321928094887362);
        loop.leak_at_C = between(loop.tip_C, loop.head_C, wrong->leak_share);
    }
    loop.open =
        loop.open || run->state.time_s >= wrong->open_from_s || run->state.time_s < run->sensor_back_s;
    return loop;
}

static double shown_number(const ovp_thermal_run *run, double reads_C)
{
    const ovp_thermal_disturbance *wrong = &run->plan.disturbance;

    const double panel_C = run->state.panel_C;
    const double drifted_C = panel_C + (reads_C - panel_C) * (1 + wrong->gain) + wrong->offset_C;
    return wrong->unit_gain * drifted_C + wrong->unit_offset;
}

void thermal_read_display(const ovp_thermal_run *run, double noise, ovp_tc_display *display, double *shown_C)
{
    const ovp_thermal_disturbance *wrong = &run->plan.disturbance;
    const ovp_tc_loop loop = loop_of_now(run);
    ovp_tc_reading reading;

    if (run->state.time_s >= wrong->frozen_from_s) {
        *display = run->display;
        *shown_C = run->shown_C;
        return;
    }
    if (ovp_tc_loop_read(&loop, &reading, NULL) != OVP_OK) {
        *display = OVP_TC_DISPLAY_OVER_RANGE;
        *shown_C = NAN;
        return;
    }
    *display = reading.display;
    *shown_C = NAN;
    if (reading.display == OVP_TC_DISPLAY_OK) {
        const double deviation_C =
            sqrt(run->plan.noise_C * run->plan.noise_C + wrong->noise_C * wrong->noise_C);
        *shown_C = shown_number(run, reading.reads_C) + noise * deviation_C;
    }
}

static double output_for(ovp_thermal_run *run, ovp_tc_display display, double shown_C)
{
    const ovp_thermal_controller *controller = &run->plan.controller;
    const ovp_thermal_disturbance *wrong = &run->plan.disturbance;

    if (display != OVP_TC_DISPLAY_OK) {
        run->last_shown_C = NAN;
        if (controller->on_break == OVP_THERMAL_BREAK_HOLD) {
            return run->output;
        }
        return controller->on_break == OVP_THERMAL_BREAK_FULL ? 1 : 0;
    }
    const double tuning = wrong->tuning;
    const double setpoint_C = controller->setpoint_C * wrong->setpoint_share;
    const double sign = wrong->action_reversed ? -1 : 1;
    const double band_C = controller->band_C * tuning;
    const double error_C = sign * (setpoint_C - shown_C);
    const double fall_K =
        isnan(run->last_shown_C) ? 0 : sign * (run->last_shown_C - shown_C) / controller->period_s;
    thermal_lag(controller->period_s, 0.25 * controller->derivative_s * tuning + controller->period_s, fall_K,
                &run->derivative_K);
    run->last_shown_C = shown_C;

    const double wanted =
        (error_C + controller->derivative_s * tuning * run->derivative_K) / band_C + run->integral;
    const bool saturated = (wanted >= 1 && error_C > 0) || (wanted <= 0 && error_C < 0);
    if (controller->integral_s > 0 && !saturated && fabs(error_C) < 0.5 * band_C) {
        run->integral += error_C / band_C * controller->period_s / (controller->integral_s * tuning);
    }
    run->integral = fmin(fmax(run->integral, 0), 1);
    return fmin(fmax(wanted, 0), 1);
}

static double dropout_end(const ovp_thermal_run *run, double per_h, uint64_t stream, double end_s)
{
    const ovp_thermal_plan *plan = &run->plan;
    const double chance = per_h * plan->controller.period_s / 3600;

    if (run->state.time_s < end_s || thermal_uniform(plan->seed, stream, run->cycle) >= chance) {
        return end_s;
    }
    return run->state.time_s +
           plan->disturbance.dropout_s * 2 * thermal_uniform(plan->seed, stream + 1, run->cycle);
}

/* What chance does at the start of a cycle. */
static void draw_events(ovp_thermal_run *run)
{
    const ovp_thermal_plan *plan = &run->plan;
    const ovp_thermal_disturbance *wrong = &plan->disturbance;

    /* Mostly little, now and then three times the mean: a contact that spits. */
    const double contact = thermal_uniform(plan->seed, STREAM_JOINT, run->cycle);
    run->joint_share = 1 + wrong->flicker * (3 * contact * contact - 1);
    if (thermal_uniform(plan->seed, STREAM_SAG, run->cycle) < plan->controller.period_s / wrong->sag_mean_s) {
        run->sagging = !run->sagging;
    }
    if (run->state.time_s < wrong->dropouts_from_s) {
        return;
    }
    run->sensor_back_s =
        dropout_end(run, wrong->sensor_dropouts_per_h, STREAM_SENSOR_DROPOUT, run->sensor_back_s);
    run->power_back_s =
        dropout_end(run, wrong->power_dropouts_per_h, STREAM_POWER_DROPOUT, run->power_back_s);
}

static void begin_cycle(ovp_thermal_run *run)
{
    const ovp_thermal_plan *plan = &run->plan;
    const double start_s = run->state.time_s;
    ovp_tc_display display;
    double shown_C;

    draw_events(run);
    thermal_read_display(run, thermal_normal(plan->seed, STREAM_CONTROL_NOISE, run->cycle), &display,
                         &shown_C);
    run->output = output_for(run, display, shown_C);
    run->output = fmin(run->output, plan->parameters.output_cap);
    if (start_s >= plan->disturbance.idle_from_s || start_s >= plan->disturbance.dead_from_s) {
        run->output = 0;
    }
    run->display = display;
    run->shown_C = shown_C;
    run->cycle_s = start_s + plan->controller.period_s;
    run->on_until_s = start_s + run->output * plan->controller.period_s;
    ++run->cycle;
}

/* The parameters in force, with what chance does to them. */
static void parameters_of_now(const ovp_thermal_run *run, ovp_thermal_parameters *now)
{
    const ovp_thermal_disturbance *wrong = &run->plan.disturbance;

    const double time_s = run->state.time_s;
    const bool dead = time_s >= wrong->dead_from_s;

    *now = run->plan.parameters;
    now->joint_ohm *= run->joint_share;
    if (run->sagging) {
        now->supply_V *= 1 - wrong->sag;
    }
    if (time_s < wrong->leak_from_s) {
        now->leak_fraction = 0;
    }
    if (dead || time_s < run->power_back_s || time_s >= wrong->no_current_from_s) {
        now->power_fraction = 0;
    }
    if (dead && wrong->supply_dies) {
        now->supply_V = 0;
    }
}

/* Advance to a time within the cycle; the end of the on-time, the start of the faults and the end of a
   dropout are met exactly. */
static void advance(ovp_thermal_run *run, double to_s)
{
    const ovp_thermal_disturbance *wrong = &run->plan.disturbance;
    ovp_thermal_parameters now;

    while (to_s - run->state.time_s > shortest_step_s) {
        const double at_s = run->state.time_s;
        const double edges_s[] = {run->on_until_s, wrong->dead_from_s, wrong->no_current_from_s,
                                  wrong->leak_from_s, run->power_back_s};
        double end_s = to_s;
        for (size_t i = 0; i < sizeof edges_s / sizeof edges_s[0]; ++i) {
            if (edges_s[i] - at_s > shortest_step_s && edges_s[i] < end_s) {
                end_s = edges_s[i];
            }
        }
        parameters_of_now(run, &now);
        const bool on = run->on_until_s - at_s > shortest_step_s;
        ovp_thermal_step(&now, end_s - at_s, on ? 1 : 0, &run->state);
        run->state.time_s = end_s;
    }
}

static double rounded(double value, double resolution)
{
    return resolution > 0 ? resolution * floor(value / resolution + 0.5) : value;
}

static void measure_power(const ovp_thermal_run *run, ovp_thermal_sample *sample)
{
    const ovp_thermal_plan *plan = &run->plan;
    ovp_thermal_parameters now;
    double current_A, volts_V;

    parameters_of_now(run, &now);
    (void)ovp_thermal_full_power(&now, run->state.element_C, &current_A, &volts_V);
    const double flowing = run->output > 0 ? 1 : sqrt(now.leak_fraction);
    const double meter = plan->half_wave_meter_average ? sqrt(now.power_fraction) : 1;
    const double volts_error = plan->meter_noise * thermal_normal(plan->seed, STREAM_VOLTS, run->samples);
    const double amps_error = plan->meter_noise * thermal_normal(plan->seed, STREAM_AMPS, run->samples);

    sample->element_A = current_A * flowing * meter * (1 + amps_error);
    sample->supply_V = (now.supply_V - (now.supply_V - volts_V) * flowing) * (1 + volts_error);
}

void ovp_thermal_run_to(ovp_thermal_run *run, double time_s, ovp_thermal_sample *sample)
{
    const ovp_thermal_plan *plan = &run->plan;

    do {
        if (run->cycle == 0 || run->cycle_s - run->state.time_s <= shortest_step_s) {
            begin_cycle(run);
        }
        advance(run, fmin(time_s, run->cycle_s));
    } while (time_s - run->state.time_s > shortest_step_s);

    *sample =
        (ovp_thermal_sample){.time_s = time_s,
                             .setpoint_C = plan->controller.setpoint_C * plan->disturbance.setpoint_share,
                             .output_percent = 100 * run->output,
                             .cold_junction_C = run->state.panel_C,
                             .true_C = run->state.chamber_C};
    thermal_read_display(run, thermal_normal(plan->seed, STREAM_LOG_NOISE, run->samples), &sample->display,
                         &sample->temperature_C);
    sample->temperature_C = rounded(sample->temperature_C, plan->resolution_C);
    measure_power(run, sample);
    sample->dark = time_s >= plan->disturbance.dead_from_s;
    if (sample->dark) {
        sample->temperature_C = NAN;
        sample->output_percent = NAN;
        sample->setpoint_C = NAN;
        sample->cold_junction_C = NAN;
    }
    ++run->samples;
}
