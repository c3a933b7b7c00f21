/* A controller that suits an oven. */
#include "thermal/thermal_internal.h"

#include <math.h>
#include <string.h>

/* controller.pid: band in degrees, integral and derivative time, each a word and a quantity or the quantity
 * alone. */
static bool piece_of(const char *text, size_t index, ovp_text_kind kind, ovp_text_degrees degrees,
                     double *value)
{
    const char *from = text;

    for (size_t i = 0; i < index; ++i) {
        from = strchr(from, ',');
        if (!from) {
            return false;
        }
        ++from;
    }
    const char *comma = strchr(from, ',');
    ovp_span piece = ovp_span_trim((ovp_span){from, comma ? (size_t)(comma - from) : strlen(from)});
    size_t at = piece.count;
    while (at > 0 && piece.bytes[at - 1] != ' ') {
        --at;
    }
    piece = (ovp_span){piece.bytes + at, piece.count - at};
    double read = NAN;
    if (ovp_text_quantity(piece, kind, degrees, &read, NULL) != OVP_OK || !(read >= 0)) {
        return false;
    }
    *value = read;
    return true;
}

static void take_described(const ovp_oven *oven, ovp_thermal_controller *controller)
{
    const char *pid = oven->controller.pid;
    double band_C = NAN;

    if (piece_of(pid, 0, OVP_TEXT_TEMPERATURE_DIFFERENCE, oven->controller.degrees, &band_C) && band_C > 0) {
        controller->band_C = band_C;
        (void)piece_of(pid, 1, OVP_TEXT_DURATION, OVP_TEXT_DEGREES_NONE, &controller->integral_s);
        (void)piece_of(pid, 2, OVP_TEXT_DURATION, OVP_TEXT_DEGREES_NONE, &controller->derivative_s);
    }
    if (oven->controller.period_s > 0) {
        controller->period_s = oven->controller.period_s;
    }
    controller->display_low_C = oven->controller.display_low_C;
    controller->display_high_C = oven->controller.display_high_C;
    if (strcmp(oven->controller.on_sensor_break, "full") == 0) {
        controller->on_break = OVP_THERMAL_BREAK_FULL;
    } else if (strcmp(oven->controller.on_sensor_break, "hold") == 0) {
        controller->on_break = OVP_THERMAL_BREAK_HOLD;
    }
}

/* Slope at full output as the sensor passes a temperature, K/s. */
static double slope_at(const ovp_thermal_parameters *parameters, double temperature_C)
{
    ovp_thermal_state state;
    double before_C = parameters->start_C;

    ovp_thermal_start(parameters, &state);
    while (state.sensor_C < temperature_C && state.time_s < 6 * 3600.0) {
        before_C = state.sensor_C;
        ovp_thermal_step(parameters, 10, 1, &state);
    }
    return fmax((state.sensor_C - before_C) / 10, 0.01);
}

void ovp_thermal_controller_for(const ovp_oven *oven, const ovp_thermal_parameters *parameters,
                                double setpoint_C, ovp_thermal_controller *controller)
{
    /* Near a setpoint an oven is close to an integrator: a lag so long that only gain over lag, the slope,
     * counts. */
    const double long_lag_s = 1e6;
    const double delay_s = parameters->sensor_dead_s + parameters->sensor_lag_s;
    const ovp_thermal_process process = {.gain = slope_at(parameters, setpoint_C) * long_lag_s,
                                         .dead_time_s = delay_s,
                                         .time_constants_s = {long_lag_s, 0.8 * delay_s}};
    ovp_thermal_settings settings;

    ovp_thermal_simc(&process, NAN, &settings);
    *controller = (ovp_thermal_controller){
        .setpoint_C = setpoint_C,
        .band_C = fmax(1 / settings.gain_per_C, thermal_figure("narrowest_band_C")),
        .integral_s = settings.integral_s,
        .derivative_s = settings.derivative_s,
        .period_s = thermal_figure("default_period_s"),
        .display_low_C = NAN,
        .display_high_C = NAN,
    };
    take_described(oven, controller);
}

/* 1500 degF: the working temperature that ovens of this kind are spoken of at. */
static const double usual_setpoint_C = (1500 - 32) / 1.8;

/* A mark is passed at full output only when the setpoint lies above it. */
static double usual_setpoint(const ovp_oven *oven)
{
    const double above_mark_C = thermal_figure("setpoint_above_mark_C");
    const double wanted_C = oven->heat_up_count > 0
                                ? oven->heat_up[oven->heat_up_count - 1].to_C + above_mark_C
                                : usual_setpoint_C;

    return oven->chamber.limit_C < wanted_C ? oven->chamber.limit_C : wanted_C;
}

ovp_status ovp_thermal_plan_for(const ovp_oven *oven, const ovp_thermal_conditions *conditions,
                                double setpoint_C, ovp_thermal_plan *plan, ovp_error *error)
{
    ovp_thermal_plan made = {.seed = 1, .resolution_C = 0.1};

    const ovp_status status = ovp_thermal_from_oven(oven, conditions, &made.parameters, error);
    if (status != OVP_OK) {
        return status;
    }
    ovp_thermal_disturbance_init(oven, &made.disturbance);
    ovp_thermal_controller_for(oven, &made.parameters, isnan(setpoint_C) ? usual_setpoint(oven) : setpoint_C,
                               &made.controller);
    made.noise_C = thermal_figure("display_noise_C");
    made.meter_noise = thermal_figure("meter_noise");
    made.half_wave_meter_average = strcmp(oven->clamp_meter, "average") == 0;
    *plan = made;
    return OVP_OK;
}
