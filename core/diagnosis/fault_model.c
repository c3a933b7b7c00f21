/* What each fault does to the oven model and to what is shown. One row a fault; the amount comes from the
   range in reference/faults.csv, so the table and this file say the same. */
#include "ovenproof/diagnosis.h"

#include <math.h>
#include <string.h>

/* What an apply function may move. `amount` is in the row's severity_unit. */
typedef struct change {
    const ovp_oven *oven;
    const ovp_diagnosis_fault *fault;
    double amount;
    ovp_thermal_parameters *parameters;
    ovp_diagnosis_disturbance *disturbance;
} change;

typedef void (*apply_function)(change *made);

/* Quantities may lie outside the usual range, but not where the model would say nothing of any oven. */
static const double widest_severity = 20;

static double share(const change *made)
{
    return made->amount / 100;
}

/* The event comes at the amount's minute, unless another fault brings it sooner. */
static void begin(const change *made, double *from_s)
{
    *from_s = fmin(*from_s, fmax(60 * made->amount, 0));
}

/* ---- sensor ----------------------------------------------------------------------------------------- */

static void sensor_reversed(change *made)
{
    made->disturbance->loop.reversed = true;
}

/* The head stands `rise` above the panel with the chamber at 816 degC (1500 degF). */
static void warm_head(ovp_thermal_parameters *parameters, double rise_C)
{
    parameters->head_share = fmin(fmax((rise_C + parameters->panel_rise_C) / 792, 0), 0.5);
}

static void extension_reversed(change *made)
{
    made->disturbance->loop.extension_reversed = true;
    warm_head(made->parameters, made->amount);
}

static void sensor_open(change *made)
{
    begin(made, &made->disturbance->open_from_s);
}

static void sensor_intermittent(change *made)
{
    made->disturbance->sensor_dropouts_per_h = fmax(made->amount, 0);
    made->disturbance->dropout_s = 8;
}

static void sensor_shorted(change *made)
{
    made->disturbance->shorted = true;
    made->disturbance->short_share = fmin(fmax(share(made), 0), 1);
}

static void sensor_leakage_hot(change *made)
{
    made->disturbance->leak_ratio = fmax(made->amount, 0.1);
    made->disturbance->leak_share = 0.2; /* in the wall: 1600 degF with the tip at 2000 */
}

static void sensor_drift(change *made)
{
    made->disturbance->gain -= share(made);
}

static void sensor_withdrawn(change *made)
{
    const double back = fmin(fmax(share(made), 0), 1);

    made->parameters->sensor_wall_share = back;
    made->parameters->sensor_dead_s *= 1 + 4 * back;
    made->parameters->sensor_lag_s *= 1 + 4 * back;
}

static void sensor_near_element(change *made)
{
    made->parameters->sensor_element_share = fmin(fmax(share(made), 0), 1);
    made->parameters->sensor_lag_s *= 0.5;
}

static void input_noise(change *made)
{
    made->disturbance->noise_C = fmax(made->amount, 0);
}

/* ---- controller ------------------------------------------------------------------------------------- */

static void input_offset(change *made)
{
    made->disturbance->offset_C += made->amount;
}

/* The controller shows degC where the person reads degF. */
static void units_mixed(change *made)
{
    made->disturbance->unit_gain = 1 / 1.8;
    made->disturbance->unit_offset = -32 / 1.8;
}

static void setpoint_limited(change *made)
{
    made->disturbance->setpoint_share = fmin(fmax(1 - share(made), 0), 1);
}

static void output_limited(change *made)
{
    made->parameters->output_cap = fmin(fmax(share(made), 0), 1);
}

static void action_reversed(change *made)
{
    made->disturbance->action_reversed = true;
}

static void not_running(change *made)
{
    begin(made, &made->disturbance->idle_from_s);
}

static void bad_tuning(change *made)
{
    made->disturbance->tuning = fmax(share(made), 0.001);
}

static void input_failed(change *made)
{
    begin(made, &made->disturbance->frozen_from_s);
}

/* The error stands when the panel is warm, and is nothing while it is cold. */
static void cold_junction_error(change *made)
{
    made->disturbance->compensation_gain = made->amount / fmax(made->parameters->panel_rise_C, 1);
}

/* ---- power ------------------------------------------------------------------------------------------ */

/* Output is called and shown, no current flows. */
static void no_current(change *made)
{
    begin(made, &made->disturbance->no_current_from_s);
}

static void element_branch_open(change *made)
{
    const size_t count = made->oven->element_count;

    if (count > 1 && made->oven->wiring != OVP_OVEN_WIRING_SERIES) {
        made->parameters->resistance_factor *= (double)count / (double)(count - 1);
    } else {
        made->disturbance->no_current_from_s = 0;
    }
}

static void element_aged(change *made)
{
    made->parameters->resistance_factor *= fmax(1 + share(made), 0.1);
}

static void element_wrong(change *made)
{
    made->parameters->resistance_factor *= fmax(share(made), 0.1);
}

static void element_turns_shorted(change *made)
{
    made->parameters->resistance_factor *= fmax(1 - share(made), 0.1);
}

static void supply_low(change *made)
{
    made->parameters->supply_V *= fmax(1 - share(made), 0);
}

static void supply_wrong_voltage(change *made)
{
    made->parameters->supply_V *= fmax(share(made), 0);
}

static void supply_shared(change *made)
{
    made->disturbance->sag = fmin(fmax(share(made), 0), 1);
}

static void cord_drop(change *made)
{
    made->parameters->line_ohm += fmax(made->amount, 0);
}

static void relay_shorted(change *made)
{
    made->parameters->leak_fraction = 1;
    made->disturbance->leak_from_s = fmax(60 * made->amount, 0);
}

static void relay_half_wave(change *made)
{
    made->parameters->power_fraction *= 0.5;
}

static void relay_leaky(change *made)
{
    made->parameters->leak_fraction = fmin(fmax(share(made), 0), 1);
}

/* Drops out when the heat sink is hot, comes back when it has cooled a little. */
static void relay_overheated(change *made)
{
    made->disturbance->power_dropouts_per_h = 30;
    made->disturbance->dropout_s = 60;
    made->disturbance->dropouts_from_s = fmax(60 * made->amount, 0);
}

static void flickering_joint(change *made, double dropouts_per_h_ohm, double longest_per_h)
{
    const double ohm = fmax(made->amount, 0);

    made->parameters->joint_ohm += ohm;
    made->disturbance->flicker = 0.8;
    made->disturbance->power_dropouts_per_h = fmin(dropouts_per_h_ohm * ohm, longest_per_h);
    made->disturbance->dropout_s = 10;
}

static void joint_loose_element(change *made)
{
    flickering_joint(made, 100, 100);
    made->disturbance->dropouts_from_s = 300; /* it opens when it is hot */
}

static void joint_loose_block(change *made)
{
    flickering_joint(made, 60, 60);
}

static void plug_worn(change *made)
{
    made->parameters->line_ohm += fmax(made->amount, 0);
    made->disturbance->power_dropouts_per_h = fmin(20 * fmax(made->amount, 0), 60);
    made->disturbance->dropout_s = 3;
}

static void supply_gone(change *made)
{
    made->disturbance->supply_dies = true;
    begin(made, &made->disturbance->dead_from_s);
}

static void control_fuse_open(change *made)
{
    begin(made, &made->disturbance->dead_from_s);
}

/* ---- heat ------------------------------------------------------------------------------------------- */

/* A gap radiates and draws: 0.15 W/K of draught for each cm2 (judgement). */
static void door_leak(change *made)
{
    const double gap_cm2 = fmax(made->amount, 0);

    made->parameters->door_leak_m2 += gap_cm2 * 1e-4;
    made->parameters->door_leak_W_per_K += 0.15 * gap_cm2;
}

static void insulation_degraded(change *made)
{
    made->parameters->conductivity_factor *= fmax(1 + share(made), 0.1);
}

static void lining_damp(change *made)
{
    made->parameters->moisture_kg += fmax(made->amount, 0);
}

static void load_heavy(change *made)
{
    ovp_thermal_add_load(made->parameters, fmax(made->amount, 0));
}

/* ---- wrong types ------------------------------------------------------------------------------------ */

static ovp_tc_type type_of(const change *made)
{
    const ovp_tc_type right = made->oven->sensor.known ? made->oven->sensor.type : OVP_TC_K;
    ovp_tc_type types[OVP_DIAGNOSIS_WRONG_TYPES];
    const size_t count = ovp_diagnosis_wrong_types(made->fault->id, right, types);
    const double place = fmin(fmax(made->amount, 0), 1) * (double)count;

    return types[place >= (double)count ? count - 1 : (size_t)place];
}

static void sensor_wrong_type(change *made)
{
    made->disturbance->loop.sensor = type_of(made);
}

static void input_wrong_type(change *made)
{
    made->disturbance->loop.input = type_of(made);
}

static void extension_wrong_type(change *made)
{
    made->disturbance->loop.extension = type_of(made);
    warm_head(made->parameters, 40);
}

/* ---- the table -------------------------------------------------------------------------------------- */

static const struct {
    const char *id;
    apply_function apply;
} rows[] = {
    {"sensor-reversed", sensor_reversed},
    {"extension-reversed", extension_reversed},
    {"sensor-open", sensor_open},
    {"sensor-intermittent", sensor_intermittent},
    {"sensor-shorted", sensor_shorted},
    {"sensor-leakage-hot", sensor_leakage_hot},
    {"sensor-drift", sensor_drift},
    {"sensor-wrong-type", sensor_wrong_type},
    {"extension-wrong-type", extension_wrong_type},
    {"sensor-withdrawn", sensor_withdrawn},
    {"sensor-near-element", sensor_near_element},
    {"input-noise", input_noise},
    {"input-wrong-type", input_wrong_type},
    {"input-offset", input_offset},
    {"units-mixed", units_mixed},
    {"setpoint-limited", setpoint_limited},
    {"output-limited", output_limited},
    {"action-reversed", action_reversed},
    {"not-running", not_running},
    {"bad-tuning", bad_tuning},
    {"input-failed", input_failed},
    {"cold-junction-error", cold_junction_error},
    {"output-dead", no_current},
    {"element-open", no_current},
    {"element-branch-open", element_branch_open},
    {"element-aged", element_aged},
    {"element-wrong", element_wrong},
    {"element-turns-shorted", element_turns_shorted},
    {"element-to-ground", supply_gone},
    {"supply-low", supply_low},
    {"supply-wrong-voltage", supply_wrong_voltage},
    {"supply-shared", supply_shared},
    {"cord-drop", cord_drop},
    {"neutral-open", supply_gone},
    {"supply-dead", supply_gone},
    {"relay-open", no_current},
    {"relay-shorted", relay_shorted},
    {"relay-half-wave", relay_half_wave},
    {"relay-leaky", relay_leaky},
    {"relay-overheated", relay_overheated},
    {"contactor-open", no_current},
    {"door-switch-open", no_current},
    {"cutout-tripped", no_current},
    {"joint-loose-element", joint_loose_element},
    {"joint-loose-block", joint_loose_block},
    {"plug-worn", plug_worn},
    {"breaker-overload", supply_gone},
    {"breaker-weak", supply_gone},
    {"ground-fault-nuisance", supply_gone},
    {"arc-fault-nuisance", supply_gone},
    {"short-circuit", supply_gone},
    {"control-fuse-open", control_fuse_open},
    {"door-leak", door_leak},
    {"insulation-degraded", insulation_degraded},
    {"lining-damp", lining_damp},
    {"load-heavy", load_heavy},
};

ovp_status ovp_diagnosis_apply_fault(const ovp_oven *oven, const char *fault, double severity,
                                     ovp_thermal_parameters *parameters,
                                     ovp_diagnosis_disturbance *disturbance, ovp_error *error)
{
    const ovp_diagnosis_fault *row = ovp_diagnosis_fault_named(fault);

    if (!row) {
        return ovp_error_set(error, OVP_ERROR_DATA, "there is no fault \"%s\"", fault);
    }
    if (!(fabs(severity) <= widest_severity)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "no oven has %s that badly", fault);
    }
    change made = {oven, row, row->mild + severity * (row->severe - row->mild), parameters, disturbance};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; ++i) {
        if (strcmp(rows[i].id, fault) == 0) {
            rows[i].apply(&made);
            return OVP_OK;
        }
    }
    return ovp_error_set(error, OVP_ERROR_DATA, "%s does not show in a log", fault);
}
