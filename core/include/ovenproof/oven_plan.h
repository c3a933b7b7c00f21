/*
 * ovenproof/oven_plan.h: the part of ovenproof/oven.h about firing plans. No physics.
 *
 * A plan is data: steps of ramp, hold, guard, condition and stop. It is laid out as legs of time, and judged
 * before heat against the published dry-out schedules of its floor: rows of reference/dry-out.csv and
 * reference/dry-out-floors.csv, each with its source.
 */
#ifndef OVENPROOF_OVEN_PLAN_H
#define OVENPROOF_OVEN_PLAN_H

#include "ovenproof/oven.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    OVP_OVEN_PLAN_STEPS = 48,
    OVP_OVEN_PLAN_TEXT_SIZE = 280,
    OVP_OVEN_PLAN_NOTES = 64,
};

typedef enum ovp_oven_step_kind {
    OVP_OVEN_STEP_NONE,
    OVP_OVEN_STEP_RAMP,      /**< to a temperature, at a rate */
    OVP_OVEN_STEP_HOLD,      /**< there for a time */
    OVP_OVEN_STEP_GUARD,     /**< not above a temperature until the next condition is met */
    OVP_OVEN_STEP_CONDITION, /**< not further before something is measured, seen or weighed */
    OVP_OVEN_STEP_STOP,      /**< at any time: heat off when this is seen */
} ovp_oven_step_kind;

/** How a condition is known. */
typedef enum ovp_oven_by {
    OVP_OVEN_BY_NONE,
    OVP_OVEN_BY_MEASURED, /**< the output, or the power, has gone flat */
    OVP_OVEN_BY_SEEN,
    OVP_OVEN_BY_WEIGHED,
} ovp_oven_by;

typedef enum ovp_oven_door {
    OVP_OVEN_DOOR_NOT_SAID,
    OVP_OVEN_DOOR_SHUT,
    OVP_OVEN_DOOR_CRACK,
    OVP_OVEN_DOOR_OPEN,
} ovp_oven_door;

/** What leaves the oven during a step. */
typedef enum ovp_oven_fumes {
    OVP_OVEN_FUMES_NONE,
    OVP_OVEN_FUMES_STEAM,
    OVP_OVEN_FUMES_BINDER,
} ovp_oven_fumes;

/** What the plan is for: a row of reference/dry-out-floors.csv, in its order. */
typedef enum ovp_oven_floor {
    OVP_OVEN_FLOOR_NOT_SAID,
    OVP_OVEN_FLOOR_CONVENTIONAL,
    OVP_OVEN_FLOOR_LOW_CEMENT,
    OVP_OVEN_FLOOR_INSULATING,
    OVP_OVEN_FLOOR_BOARD,
    OVP_OVEN_FLOOR_BRICK,
    OVP_OVEN_FLOOR_DAMP,
    OVP_OVEN_FLOOR_DRY,
} ovp_oven_floor;

typedef struct ovp_oven_step {
    ovp_oven_step_kind kind;
    double to_C;          /**< ramp */
    double per_hour_C;    /**< ramp: kelvins an hour; NAN: a bare setpoint, as fast as the oven heats */
    double stair_C;       /**< ramp: walked up by hand in stairs of this; NAN: no stairs */
    double time_s;        /**< hold: so long; condition: flat for so long */
    double per_inch_s;    /**< hold: for each inch of the slab; with time_s the longer counts */
    ovp_oven_fitted heat; /**< hold: NOT_FITTED: with the heat off */
    double not_above_C;   /**< guard */
    ovp_oven_by by;       /**< condition */
    double water_left;    /**< condition, weighed: at most this share of the dry weight */
    ovp_oven_door door;
    ovp_oven_fumes gives_off;
    char text[OVP_OVEN_PLAN_TEXT_SIZE]; /**< what to see or do */
    char caution[OVP_OVEN_PLAN_TEXT_SIZE];
    char source[OVP_OVEN_PLAN_TEXT_SIZE]; /**< of its figures */
} ovp_oven_step;

typedef struct ovp_oven_plan {
    char name[OVP_OVEN_STRING_SIZE];
    char title[OVP_OVEN_STRING_SIZE];
    char text[OVP_OVEN_PLAN_TEXT_SIZE];
    ovp_oven_floor floor;
    double thickness_m; /**< of the slab; NAN: not said */
    ovp_oven_step steps[OVP_OVEN_PLAN_STEPS];
    size_t step_count;
} ovp_oven_plan;

/** A plan without a step. */
void ovp_oven_plan_init(ovp_oven_plan *plan);

/** The table of fields of a plan; NULL path past the last. */
const ovp_oven_field *ovp_oven_plan_fields(void);

/** Set one leaf, as ovp_oven_set: "name", "steps[2].to". Errors: OVP_ERROR_DATA. */
ovp_status ovp_oven_plan_set(ovp_oven_plan *plan, const char *path, ovp_oven_leaf leaf, const char *text,
                             ovp_error *error);

/** After the last leaf: each step has what its kind needs, and nothing that it does not know. */
ovp_status ovp_oven_plan_check(const ovp_oven_plan *plan, ovp_error *error);

/** "ramp", "hold"...; "" for NONE. */
const char *ovp_oven_step_name(ovp_oven_step_kind kind);
/** "measured", "seen", "weighed"; "" for NONE. */
const char *ovp_oven_by_name(ovp_oven_by by);

/** What is known of a kind of floor: a row of reference/dry-out-floors.csv. NAN where nothing is said. */
typedef struct ovp_oven_floor_row {
    const char *floor;   /**< "conventional castable" */
    const char *said;    /**< "a conventional cast slab" */
    bool wet;            /**< it holds water until it has been dried */
    bool per_inch;       /**< its holds go by the thickness */
    double cure_h;       /**< cure and drying in air before heat, at least, in hours */
    double cool_C_per_h; /**< cooled no faster */
    double thickest_in;  /**< inches; its schedule holds so far */
    const char *source;
} ovp_oven_floor_row;

/** NULL for NOT_SAID. */
const ovp_oven_floor_row *ovp_oven_floor_of(ovp_oven_floor floor);

/** One range of a published schedule: a row of reference/dry-out.csv. */
typedef struct ovp_oven_schedule_row {
    const char *floor;
    double from_C, to_C;
    double most_C_per_h;                         /**< NAN: no limit */
    double hold_low_C, hold_high_C;              /**< a hold lies here before it goes on; NAN none */
    double hold_h, hold_h_per_inch, hold_most_h; /**< hours; NAN not said */
    const char *source;
} ovp_oven_schedule_row;

/** The rows of a floor in rising order: index 0, 1, ...; NULL past the last. */
const ovp_oven_schedule_row *ovp_oven_schedule_at(ovp_oven_floor floor, size_t index);

/* ---- a plan in time -------------------------------------------------------------------------------- */

/** One stretch of a plan. */
typedef struct ovp_oven_leg {
    size_t step; /**< index into the plan's steps */
    double from_C, to_C;
    double per_hour_C; /**< of a ramp, always above 0; NAN: a hold, or a bare setpoint */
    double time_s;     /**< NAN: a bare setpoint, as long as it takes */
    bool heated;       /**< false: with the heat off */
    double stair_C;    /**< walked up in stairs of this; NAN none */
    bool wet;          /**< no condition has said yet that the water is gone */
} ovp_oven_leg;

/**
 * Lay the ramps and holds of a plan out in order, from a room at start_C. thickness_m: of the slab; NAN: the
 * plan's own. Returns how many legs, at most OVP_OVEN_PLAN_STEPS. A hold for each inch of a thickness that is
 * not known takes an inch; *assumed (may be NULL) says so.
 */
size_t ovp_oven_plan_lay(const ovp_oven_plan *plan, double thickness_m, double start_C, ovp_oven_leg legs[],
                         bool *assumed);

/* ---- judged before heat ---------------------------------------------------------------------------- */

typedef enum ovp_oven_plan_grade {
    OVP_OVEN_PLAN_GOOD,
    OVP_OVEN_PLAN_FASTER,   /**< than published, or less held, or not proved */
    OVP_OVEN_PLAN_NOT_GOOD, /**< it can burst the slab, pass the oven's limit or its own guard */
} ovp_oven_plan_grade;

/** "good", "faster-than-published", "not-good". */
const char *ovp_oven_plan_grade_name(ovp_oven_plan_grade grade);

/** One thing that a plan was judged by. */
typedef struct ovp_oven_plan_note {
    ovp_oven_plan_grade grade;
    size_t step;                        /**< index; step_count: the plan as a whole */
    const char *id;                     /**< "full-heat", "rate", "hold", "cure", "guard", "limit", ... */
    double planned, published;          /**< NAN where there is no number */
    const char *unit;                   /**< of both */
    char text[OVP_OVEN_PLAN_TEXT_SIZE]; /**< a sentence without the step's number */
    const char *source;                 /**< of the published figure; "" */
} ovp_oven_plan_note;

typedef struct ovp_oven_plan_facts {
    double thickness_m; /**< NAN: the plan's own */
    double start_C;     /**< NAN: 24 */
    double limit_C;     /**< of the chamber; NAN not known */
    ovp_text_degrees shown;
} ovp_oven_plan_facts;

typedef struct ovp_oven_plan_review {
    ovp_oven_plan_grade grade; /**< the worst of the notes */
    ovp_oven_plan_note notes[OVP_OVEN_PLAN_NOTES];
    size_t note_count;
    ovp_oven_leg legs[OVP_OVEN_PLAN_STEPS];
    size_t leg_count;
    double thickness_m; /**< that was taken; NAN where no step asks for it */
    bool thickness_assumed;
    double air_s;    /**< with the heat off, before heat */
    double heated_s; /**< of the legs with heat and a time */
    double top_C;
} ovp_oven_plan_review;

/** Judge a plan that passed ovp_oven_plan_check. Never fails. */
void ovp_oven_plan_review_of(const ovp_oven_plan *plan, const ovp_oven_plan_facts *facts,
                             ovp_oven_plan_review *review);

/* ---- laid out by wall clock -------------------------------------------------------------------------- */

enum {
    OVP_OVEN_SHEET_ACTIONS = 512,
};

typedef enum ovp_oven_action_kind {
    OVP_OVEN_ACTION_SET,  /**< a setpoint by hand */
    OVP_OVEN_ACTION_RAMP, /**< a ramp of the controller */
    OVP_OVEN_ACTION_HOLD, /**< nothing to set: look */
} ovp_oven_action_kind;

/** One thing to do at each oven in turn. */
typedef struct ovp_oven_action {
    ovp_oven_action_kind kind;
    size_t step;
    double time_s;           /**< from the first oven's start; the next ovens follow by the spacing */
    double to_C, per_hour_C; /**< rate of a ramp; NAN */
    double lasts_s;          /**< until the next action */
} ovp_oven_action;

typedef struct ovp_oven_sheet_facts {
    size_t ovens;     /**< how many, at least 1 */
    double spacing_s; /**< between two actions of one person, above 0 */
    bool stairs;      /**< controllers without ramps */
    ovp_text_degrees shown;
} ovp_oven_sheet_facts;

typedef struct ovp_oven_sheet {
    ovp_oven_action actions[OVP_OVEN_SHEET_ACTIONS];
    size_t action_count;
    double base_s;   /**< every action lies on a multiple of this: with the spacing no two meet */
    double length_s; /**< of one oven */
} ovp_oven_sheet;

/**
 * Lay legs out as actions. takes_s (may be NULL): how long each leg takes on the oven, where longer than its
 * plan; NAN not known. Times are rounded up to a grid, so no step gets shorter. Stairs are no higher than
 * reference/firing-sheet.csv says and keep the rate. Errors: OVP_ERROR_DATA: too many actions.
 */
ovp_status ovp_oven_sheet_of(const ovp_oven_leg legs[], const double takes_s[], size_t count,
                             const ovp_oven_sheet_facts *facts, ovp_oven_sheet *sheet, ovp_error *error);

/** A row of reference/firing-sheet.csv; NAN for a name that is not there. */
double ovp_oven_sheet_figure(const char *name);

/** Seconds since a midnight as a clock: days later, hour 0 to 23, minute. */
void ovp_oven_clock_of(double since_s, long *day, int *hour, int *minute);

#ifdef __cplusplus
}
#endif

#endif
