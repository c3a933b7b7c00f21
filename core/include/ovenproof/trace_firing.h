/*
 * ovenproof/trace_firing.h: the part of ovenproof/trace.h that judges a recorded run against a firing plan.
 *
 * Samples stream into blocks of constant number; at the end the plan's legs are looked for in order: ramps by
 * the temperature they reach, holds by the time near it. What the log cannot show is said to be not proved.
 * Figures are rows of reference/firing-limits.csv.
 */
#ifndef OVENPROOF_TRACE_FIRING_H
#define OVENPROOF_TRACE_FIRING_H

#include "ovenproof/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What became of a step. */
typedef enum ovp_trace_firing_state {
    OVP_TRACE_FIRING_DONE,
    OVP_TRACE_FIRING_HELD,       /**< slower, or held longer: no harm */
    OVP_TRACE_FIRING_NOT_PROVED, /**< this log cannot show it */
    OVP_TRACE_FIRING_NOT_YET,    /**< the run ends before it */
    OVP_TRACE_FIRING_TOO_SHORT,
    OVP_TRACE_FIRING_SKIPPED,
    OVP_TRACE_FIRING_NOT_MET, /**< a condition: the log shows that it was not met */
    OVP_TRACE_FIRING_TOO_FAST,
    OVP_TRACE_FIRING_TOO_HOT, /**< a guard passed */
    OVP_TRACE_FIRING_STATES,
} ovp_trace_firing_state;

/** "done", "held-longer", "not-proved", ... */
const char *ovp_trace_firing_state_name(ovp_trace_firing_state state);

/** One step of the plan, as it was run. */
typedef struct ovp_trace_firing_step {
    ovp_trace_firing_state state;
    double from_s, to_s;            /**< from heat on; NAN: not found */
    double planned, found;          /**< kelvins an hour, seconds, degC or a share; NAN */
    const char *unit;               /**< "C/h", "s", "C", "1" or "" */
    double most_C_per_h;            /**< ramp: the fastest quarter of an hour; NAN */
    double most_at_C;               /**< and where */
    bool stairs;                    /**< ramp: it was walked in stairs */
    bool gap;                       /**< the log has a hole in it */
    char text[OVP_TRACE_TEXT_SIZE]; /**< what was found, in words; "" */
} ovp_trace_firing_step;

typedef struct ovp_trace_firing_result {
    ovp_trace_firing_step steps[OVP_OVEN_PLAN_STEPS]; /**< by the plan's index */
    size_t step_count;
    size_t worst;     /**< index of the worst step; step_count: none is worse than not proved */
    bool complete;    /**< every heated step but the cooling is in the log */
    double heat_on_s; /**< on the reader's clock; NAN: no heat in the log */
    double heated_s;  /**< from heat on to the end of the last heated step, without the cooling */
    double planned_s; /**< the same, of the plan; NAN with a bare setpoint */
    double top_C;
    double energy_J; /**< into the elements in that time; NAN without output or amps */
    double dry_J;    /**< of it up to wet_to_C: what the dry oven would have taken; NAN without a model */
    double wet_J;    /**< what it took until then */
    double wet_to_C;
    bool by_dry_run; /**< the dry oven's share was measured by a run of its own, not taken from the model */
    double water_kg, water_U_kg; /**< by power, and its uncertainty (k = 2); NAN */
} ovp_trace_firing_result;

/** What a run is judged against. */
typedef struct ovp_trace_firing_facts {
    const ovp_oven_plan *plan;
    const ovp_oven_plan_review *review;        /**< its legs, laid out for this slab */
    const ovp_thermal_parameters *model;       /**< NULL without an oven */
    double full_W;                             /**< at rated_V; NAN: from volts and amps of the log */
    double rated_V;                            /**< NAN not known */
    const struct ovp_trace_firing_result *dry; /**< another run of the same oven, dry, judged before; NULL */
    double water_left; /**< by weight, share of the dry weight, at most; NAN not weighed */
    double interval_s; /**< between samples; times may be rounded to this */
    ovp_text_degrees shown;
} ovp_trace_firing_facts;

/** The digest of a run: its memory is the caller's, aligned to 16. */
typedef struct ovp_trace_firing ovp_trace_firing;
size_t ovp_trace_firing_size(void);
/** rated_V: volts that the full power is at; NAN: volts of the log are not counted. */
ovp_trace_firing *ovp_trace_firing_init(void *memory, double rated_V);
void ovp_trace_firing_sample(ovp_trace_firing *firing, const ovp_trace_sample *sample);

/** Judge what has come so far. Errors: OVP_ERROR_DATA when no two readings came. */
ovp_status ovp_trace_firing_judge(ovp_trace_firing *firing, const ovp_trace_firing_facts *facts,
                                  ovp_trace_firing_result *result, ovp_error *error);

#ifdef __cplusplus
}
#endif

#endif
