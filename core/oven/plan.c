/* A firing plan as data: its table of fields, one leaf in, and what each kind of step needs. */
#include "oven/oven_internal.h"

#include <math.h>
#include <string.h>

#define AT(member) offsetof(ovp_oven_plan, member)
#define STEP_AT(member) (AT(steps) + offsetof(ovp_oven_step, member))
#define IN_STEP .stride = sizeof(ovp_oven_step), .count_offset = AT(step_count), .bound = OVP_OVEN_PLAN_STEPS

#define STEP_QUANTITY(p, k, m, lo, hi, t, why)                                                               \
    {                                                                                                        \
        .path = "steps[]." p, .kind = (k), .low = (lo), .high = (hi), .text = (t), .matters = (why),         \
        .store = OVEN_STORE_QUANTITY, .offset = STEP_AT(m), IN_STEP                                          \
    }
#define STEP_CHOICE(p, m, c, t, why)                                                                         \
    {                                                                                                        \
        .path = "steps[]." p, .is_text = true, .choices = (c), .text = (t), .matters = (why),                \
        .store = OVEN_STORE_CHOICE, .offset = STEP_AT(m), IN_STEP                                            \
    }
#define STEP_TEXT(p, m, t, why)                                                                              \
    {                                                                                                        \
        .path = "steps[]." p, .is_text = true, .text = (t), .matters = (why), .store = OVEN_STORE_TEXT,      \
        .offset = STEP_AT(m), .size = OVP_OVEN_PLAN_TEXT_SIZE, IN_STEP                                       \
    }

#define FLOORS                                                                                               \
    "conventional castable|low-cement castable|insulating castable|fibre board|insulating firebrick|"        \
    "damp lining|dry lining"

static const ovp_oven_field fields[] = {
    {.path = "name",
     .is_text = true,
     .required = true,
     .text = "name of the plan, as its file",
     .matters = "it cannot be spoken of",
     .store = OVEN_STORE_TEXT,
     .offset = AT(name)},
    {.path = "title",
     .is_text = true,
     .text = "what it is, in a line",
     .matters = "its name is shown instead",
     .store = OVEN_STORE_TEXT,
     .offset = AT(title)},
    {.path = "text",
     .is_text = true,
     .text = "what it is for",
     .matters = "nothing",
     .store = OVEN_STORE_TEXT,
     .offset = AT(text),
     .size = OVP_OVEN_PLAN_TEXT_SIZE},
    {.path = "floor",
     .is_text = true,
     .required = true,
     .choices = FLOORS,
     .text = "what is dried or fired: it decides which published schedule holds",
     .matters = "no schedule can be held against it",
     .store = OVEN_STORE_CHOICE,
     .offset = AT(floor)},
    {.path = "thickness",
     .kind = OVP_TEXT_LENGTH,
     .low = 0.005,
     .high = 0.5,
     .text = "thickness of the slab; an oven's description or --thickness goes before it",
     .matters = "an inch is assumed where a hold goes by the inch",
     .store = OVEN_STORE_QUANTITY,
     .offset = AT(thickness_m)},
    STEP_CHOICE("kind", kind, "ramp|hold|guard|condition|stop", "what the step is", "it cannot be followed"),
    STEP_QUANTITY("to", OVP_TEXT_TEMPERATURE, to_C, 0.0, 1800.0, "ramp: where it ends", "nowhere to go"),
    STEP_QUANTITY("per_hour", OVP_TEXT_TEMPERATURE_DIFFERENCE, per_hour_C, 0.5, 2000.0,
                  "ramp: how far in an hour; left out: a bare setpoint, as fast as the oven heats or cools",
                  "the oven goes there at full heat"),
    STEP_QUANTITY("stair", OVP_TEXT_TEMPERATURE_DIFFERENCE, stair_C, 1.0, 200.0,
                  "ramp: walked up by hand in stairs of this, for a controller without ramps",
                  "a controller with ramps is meant"),
    STEP_QUANTITY("time", OVP_TEXT_DURATION, time_s, 0.0, 60.0 * 86400.0,
                  "hold: how long; condition: the output flat for so long", "the hold has no end"),
    STEP_QUANTITY("per_inch", OVP_TEXT_DURATION, per_inch_s, 0.0, 48.0 * 3600.0,
                  "hold: how long for each inch of the slab; with `time` the longer one counts",
                  "the hold does not go by the thickness"),
    {.path = "steps[].heat",
     .is_yes_no = true,
     .text = "hold: false is with the heat off, as for drying in air",
     .matters = "the heat is taken to be on",
     .store = OVEN_STORE_YES_NO,
     .offset = STEP_AT(heat),
     IN_STEP},
    STEP_QUANTITY("not_above", OVP_TEXT_TEMPERATURE, not_above_C, 0.0, 1800.0,
                  "guard: not hotter than this until the next condition is met", "it guards nothing"),
    STEP_CHOICE("by", by, "measured|seen|weighed", "condition: how it is known", "it cannot be known"),
    STEP_QUANTITY("water_left", OVP_TEXT_RATIO, water_left, 0.0, 0.5,
                  "condition, weighed: at most this share of the dry weight, from three weighings",
                  "weighing proves nothing"),
    STEP_CHOICE("door", door, "shut|crack|open", "how the door stands", "nothing is said of it"),
    STEP_CHOICE("gives_off", gives_off, "steam|binder", "what leaves the oven", "no caution is shown"),
    STEP_TEXT("text", text, "what to do, or what must be seen", "nothing"),
    STEP_TEXT("caution", caution, "said before what to do", "nothing"),
    STEP_TEXT("source", source, "where its figures come from", "the figures stand without a source"),
    {.path = NULL},
};

const ovp_oven_field *ovp_oven_plan_fields(void)
{
    return fields;
}

const oven_schema *oven_schema_of_plan(void)
{
    static const oven_schema schema = {fields, "a firing plan", "; all fields: docs/extending.md"};
    return &schema;
}

void ovp_oven_plan_init(ovp_oven_plan *plan)
{
    oven_clear_all(oven_schema_of_plan(), plan, sizeof *plan);
}

ovp_status ovp_oven_plan_set(ovp_oven_plan *plan, const char *path, ovp_oven_leaf leaf, const char *text,
                             ovp_error *error)
{
    return oven_set_leaf(oven_schema_of_plan(), plan, path, leaf, text, NULL, error);
}

const char *ovp_oven_step_name(ovp_oven_step_kind kind)
{
    static const char *const names[] = {"", "ramp", "hold", "guard", "condition", "stop"};
    return names[kind];
}

const char *ovp_oven_by_name(ovp_oven_by by)
{
    static const char *const names[] = {"", "measured", "seen", "weighed"};
    return names[by];
}

/* ---- what each kind needs ---------------------------------------------------------------------------- */

/* Which kinds know a quantity, and which need it. */
static const struct quantity_use {
    const char *name;
    size_t offset;
    unsigned known, needed; /* bits: 1 << kind */
} uses[] = {
    {"to", offsetof(ovp_oven_step, to_C), 1U << OVP_OVEN_STEP_RAMP, 1U << OVP_OVEN_STEP_RAMP},
    {"per_hour", offsetof(ovp_oven_step, per_hour_C), 1U << OVP_OVEN_STEP_RAMP, 0},
    {"stair", offsetof(ovp_oven_step, stair_C), 1U << OVP_OVEN_STEP_RAMP, 0},
    {"time", offsetof(ovp_oven_step, time_s), 1U << OVP_OVEN_STEP_HOLD | 1U << OVP_OVEN_STEP_CONDITION, 0},
    {"per_inch", offsetof(ovp_oven_step, per_inch_s), 1U << OVP_OVEN_STEP_HOLD, 0},
    {"not_above", offsetof(ovp_oven_step, not_above_C), 1U << OVP_OVEN_STEP_GUARD, 1U << OVP_OVEN_STEP_GUARD},
    {"water_left", offsetof(ovp_oven_step, water_left), 1U << OVP_OVEN_STEP_CONDITION, 0},
};

static ovp_status check_quantities(const ovp_oven_step *step, size_t number, ovp_error *error)
{
    for (size_t i = 0; i < sizeof uses / sizeof uses[0]; i++) {
        const double value = *(const double *)(const void *)((const char *)step + uses[i].offset);
        const unsigned kind = 1U << step->kind;
        if (!isnan(value) && (uses[i].known & kind) == 0)
            return ovp_error_set(error, OVP_ERROR_DATA, "steps[%zu]: a %s has no '%s'", number,
                                 ovp_oven_step_name(step->kind), uses[i].name);
        if (isnan(value) && (uses[i].needed & kind) != 0)
            return ovp_error_set(error, OVP_ERROR_DATA, "steps[%zu]: the %s needs '%s'", number,
                                 ovp_oven_step_name(step->kind), uses[i].name);
    }
    return OVP_OK;
}

static ovp_status check_words(const ovp_oven_step *step, size_t number, ovp_error *error)
{
    if (step->kind == OVP_OVEN_STEP_NONE)
        return ovp_error_set(error, OVP_ERROR_DATA, "steps[%zu] needs its 'kind'", number);
    if (step->kind == OVP_OVEN_STEP_HOLD && isnan(step->time_s) && isnan(step->per_inch_s))
        return ovp_error_set(error, OVP_ERROR_DATA, "steps[%zu]: the hold needs 'time' or 'per_inch'",
                             number);
    if (!isnan(step->stair_C) && isnan(step->per_hour_C))
        return ovp_error_set(error, OVP_ERROR_DATA, "steps[%zu]: stairs need 'per_hour', too", number);
    if (step->heat != OVP_OVEN_UNKNOWN && step->kind != OVP_OVEN_STEP_HOLD)
        return ovp_error_set(error, OVP_ERROR_DATA, "steps[%zu]: only a hold has 'heat'", number);
    if ((step->by != OVP_OVEN_BY_NONE) != (step->kind == OVP_OVEN_STEP_CONDITION))
        return ovp_error_set(error, OVP_ERROR_DATA,
                             step->by != OVP_OVEN_BY_NONE ? "steps[%zu]: only a condition has 'by'"
                                                          : "steps[%zu]: the condition needs 'by'",
                             number);
    if ((step->by == OVP_OVEN_BY_WEIGHED) != !isnan(step->water_left))
        return ovp_error_set(error, OVP_ERROR_DATA, "steps[%zu]: 'weighed' and 'water_left' go together",
                             number);
    if ((step->by == OVP_OVEN_BY_SEEN || step->kind == OVP_OVEN_STEP_STOP) && step->text[0] == '\0')
        return ovp_error_set(error, OVP_ERROR_DATA, "steps[%zu] needs its 'text': what must be seen", number);
    return OVP_OK;
}

ovp_status ovp_oven_plan_check(const ovp_oven_plan *plan, ovp_error *error)
{
    ovp_status status = OVP_OK;
    bool moves = false;
    if (plan->name[0] == '\0')
        status = ovp_error_set(error, OVP_ERROR_DATA, "'name' is missing: name of the plan, as its file");
    else if (plan->floor == OVP_OVEN_FLOOR_NOT_SAID)
        status = ovp_error_set(error, OVP_ERROR_DATA, "'floor' is missing: what is dried or fired");
    for (size_t i = 0; status == OVP_OK && i < plan->step_count; i++) {
        status = check_words(&plan->steps[i], i + 1, error);
        if (status == OVP_OK)
            status = check_quantities(&plan->steps[i], i + 1, error);
        moves = moves || plan->steps[i].kind == OVP_OVEN_STEP_RAMP;
    }
    if (status == OVP_OK && !moves)
        status = ovp_error_set(error, OVP_ERROR_DATA, "the plan has no ramp: it heats nothing");
    if (status != OVP_OK)
        ovp_error_hint(error, "docs/extending.md shows a plan; `ovenproof firing show board-floor` one that "
                              "comes with the tool");
    return status;
}

/* ---- figures ------------------------------------------------------------------------------------------ */

static const ovp_oven_floor_row floors[] = {
#include "dry-out-floors.inc"
};

static const ovp_oven_schedule_row schedule[] = {
#include "dry-out.inc"
};

const ovp_oven_floor_row *ovp_oven_floor_of(ovp_oven_floor floor)
{
    return floor == OVP_OVEN_FLOOR_NOT_SAID ? NULL : &floors[floor - 1];
}

const ovp_oven_schedule_row *ovp_oven_schedule_at(ovp_oven_floor floor, size_t index)
{
    const ovp_oven_floor_row *of = ovp_oven_floor_of(floor);
    for (size_t i = 0; of != NULL && i < sizeof schedule / sizeof schedule[0]; i++)
        if (strcmp(schedule[i].floor, of->floor) == 0 && index-- == 0)
            return &schedule[i];
    return NULL;
}
