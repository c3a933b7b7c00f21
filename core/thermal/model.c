/* The oven as one implicit system: element, chamber, load and two linings, advanced in time. */
#include "thermal/thermal_internal.h"

#include <math.h>

enum {
    PASSES = 12,        /* of the search for the slices that boil in a step */
    ELEMENT_ROUNDS = 8, /* of the search for the elements' heat in a step in which they glow up */
};

static const double longest_step_s = 2;
static const double boiling_stiffness = 50;
static const double element_settled_K = 25;
static const double panel_reference_K = 792; /* 816 degC in a room of 24 degC */

static double factor_at(const ovp_thermal_parameters *parameters, double temperature_C)
{
    const double *factor = parameters->factor;

    if (temperature_C <= 100) {
        const double share = fmax(temperature_C - 20, 0) / 80;
        return factor[0] + share * (factor[1] - factor[0]);
    }
    if (temperature_C >= 1300) {
        return factor[OVP_THERMAL_FACTORS - 1];
    }
    const size_t i = (size_t)(temperature_C / 100);
    const double share = temperature_C / 100 - (double)i;
    return factor[i] + share * (factor[i + 1] - factor[i]);
}

double ovp_thermal_full_power(const ovp_thermal_parameters *parameters, double element_C, double *current_A,
                              double *volts_V)
{
    const double element_ohm =
        parameters->element_cold_ohm * parameters->resistance_factor * factor_at(parameters, element_C);
    const double current =
        parameters->supply_V / (element_ohm + parameters->joint_ohm + parameters->line_ohm);

    if (current_A) {
        *current_A = current * sqrt(parameters->power_fraction);
    }
    if (volts_V) {
        *volts_V = parameters->supply_V - current * sqrt(parameters->power_fraction) * parameters->line_ohm;
    }
    return current * current * element_ohm * parameters->power_fraction;
}

void ovp_thermal_start(const ovp_thermal_parameters *parameters, ovp_thermal_state *state)
{
    *state = (ovp_thermal_state){.element_C = parameters->start_C,
                                 .chamber_C = parameters->start_C,
                                 .load_C = parameters->start_C,
                                 .moisture_kg = parameters->moisture_kg,
                                 .sensor_C = parameters->start_C,
                                 .head_C = parameters->ambient_C,
                                 .panel_C = parameters->ambient_C};
    for (size_t i = 0; i < OVP_THERMAL_STAGES; ++i) {
        state->sensor_stage_C[i] = parameters->start_C;
    }
    for (size_t i = 0; i < parameters->wall.count; ++i) {
        state->wall_C[i] = parameters->start_C;
        state->wall_water_kg[i] = parameters->moisture_kg * parameters->wall.moisture_share[i];
    }
    for (size_t i = 0; i < parameters->floor.count; ++i) {
        state->floor_C[i] = parameters->start_C;
        state->floor_water_kg[i] = parameters->moisture_kg * parameters->floor.moisture_share[i];
    }
    (void)ovp_thermal_full_power(parameters, state->element_C, &state->current_A, &state->volts_V);
}

/* One step being solved: what was before stands in the state, what comes stands here. */
typedef struct step {
    double seconds, power_W;
    double element_C, chamber_C, load_C;
    double element_link, load_link, door_link, steam_link; /* W/K */
    thermal_chain wall, floor;
    double wall_C[OVP_THERMAL_NODES], floor_C[OVP_THERMAL_NODES];
} step;

/* What the elements, at a temperature, give to chamber and hot faces for each kelvin. */
static void link_element(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state,
                         double element_C, step *next)
{
    const double to_faces = parameters->radiating_m2 * parameters->direct_share;
    const double faces_m2 = parameters->wall.face_m2 + parameters->floor.face_m2;

    next->element_link = parameters->element_W_per_K +
                         thermal_radiation(parameters->radiating_m2 - to_faces, element_C, state->chamber_C);
    next->wall.direct_W_per_K =
        thermal_radiation(to_faces * parameters->wall.face_m2 / faces_m2, element_C, state->wall_C[0]);
    next->floor.direct_W_per_K =
        thermal_radiation(to_faces * parameters->floor.face_m2 / faces_m2, element_C, state->floor_C[0]);
}

static void prepare(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state, step *next)
{
    const double chamber_C = state->chamber_C;

    next->load_link =
        parameters->load_m2 * (parameters->face_W_per_m2K +
                               thermal_radiation(parameters->face_emissivity, state->load_C, chamber_C));
    next->door_link = parameters->door_leak_W_per_K +
                      thermal_radiation(parameters->door_leak_m2, chamber_C, parameters->ambient_C);
    /* Steam leaves through the chamber and is heated there: what boiled in the last step passes in this one.
     */
    next->steam_link =
        state->chamber_C > parameters->boils_C ? state->steam_kg_per_s * parameters->steam_J_per_kgK : 0;
    thermal_chain_prepare(parameters, &parameters->wall, state->wall_C, chamber_C, next->seconds,
                          &next->wall);
    thermal_chain_prepare(parameters, &parameters->floor, state->floor_C, chamber_C, next->seconds,
                          &next->floor);
    link_element(parameters, state, state->element_C, next);
}

/* Two equations are left once all else is eliminated: of the chamber and of the elements. */
typedef struct pair {
    double chamber, element, across; /* diagonal, diagonal, what each gives the other */
    double chamber_rest, element_rest;
} pair;

/* T[0] = (rest + inward * chamber + direct * element) / diagonal, put into both equations. */
static void add_chain(const thermal_chain *chain, double direct, pair *left)
{
    if (chain->count == 0) {
        return;
    }
    const double from_chamber = chain->inward[0] / chain->diagonal[0];
    const double from_element = direct / chain->diagonal[0];
    left->chamber += chain->inward[0] * (1 - from_chamber);
    left->chamber_rest += from_chamber * chain->rest[0];
    left->element += direct * (1 - from_element);
    left->element_rest += from_element * chain->rest[0];
    left->across += direct * from_chamber;
}

static void solve(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state, step *next)
{
    const double chamber_capacity = parameters->chamber_J_per_K / next->seconds;
    const double element_capacity = parameters->element_J_per_K / next->seconds;
    const double load_capacity = parameters->load_J_per_K / next->seconds;
    const double load_diagonal = load_capacity + next->load_link;
    pair left = {.chamber = chamber_capacity + next->door_link + next->steam_link + next->element_link,
                 .element = element_capacity + next->element_link,
                 .across = next->element_link,
                 .chamber_rest = chamber_capacity * state->chamber_C +
                                 next->door_link * parameters->ambient_C +
                                 next->steam_link * parameters->boils_C,
                 .element_rest = element_capacity * state->element_C + next->power_W};

    thermal_chain_eliminate(parameters, state->wall_C, &next->wall);
    thermal_chain_eliminate(parameters, state->floor_C, &next->floor);
    add_chain(&next->wall, next->wall.direct_W_per_K, &left);
    add_chain(&next->floor, next->floor.direct_W_per_K, &left);
    if (load_diagonal > 0) {
        left.chamber += next->load_link * (1 - next->load_link / load_diagonal);
        left.chamber_rest += next->load_link / load_diagonal * load_capacity * state->load_C;
    }
    const double determinant = left.chamber * left.element - left.across * left.across;
    next->chamber_C = (left.chamber_rest * left.element + left.across * left.element_rest) / determinant;
    next->element_C = (left.element_rest + left.across * next->chamber_C) / left.element;
    next->load_C = load_diagonal > 0
                       ? (load_capacity * state->load_C + next->load_link * next->chamber_C) / load_diagonal
                       : next->chamber_C;
    thermal_chain_solve(&next->wall, next->chamber_C, next->element_C, next->wall_C);
    thermal_chain_solve(&next->floor, next->chamber_C, next->element_C, next->floor_C);
}

/* Elements that glow up within one step radiate far more at its end than at its start: the step is solved
   again with what they give at its end, until the two agree. */
static void settle_element(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state,
                           step *next)
{
    double guess_C = state->element_C;

    for (int round = 0; round < ELEMENT_ROUNDS && fabs(next->element_C - guess_C) > element_settled_K;
         ++round) {
        guess_C = 0.5 * (guess_C + next->element_C);
        link_element(parameters, state, guess_C, next);
        solve(parameters, state, next);
    }
}

/* Heat that a slice's water takes in this step, W. */
static double boiling_W(const ovp_thermal_parameters *parameters, const thermal_chain *chain,
                        const double temperature_C[], size_t i)
{
    return chain->sink_W[i] + chain->sink_W_per_K[i] * (temperature_C[i] - parameters->boils_C);
}

/* Hold each wet slice that would pass the boiling point near it, until its water is gone. True when
   something changed and the step must be solved again. */
static bool hold_wet_slices(const ovp_thermal_parameters *parameters, const double temperature_C[],
                            const double water_kg[], double seconds, thermal_chain *chain)
{
    bool changed = false;

    for (size_t i = 0; i < chain->count; ++i) {
        if (water_kg[i] <= 0 || chain->sink_W[i] > 0) {
            continue;
        }
        const double most_W = water_kg[i] * parameters->latent_J_per_kg / seconds;
        if (chain->sink_W_per_K[i] == 0 && temperature_C[i] > parameters->boils_C) {
            const double outward = i + 1 < chain->count ? chain->inward[i + 1] : chain->shell_W_per_K;
            chain->sink_W_per_K[i] = boiling_stiffness * (chain->capacity[i] + chain->inward[i] + outward);
            changed = true;
        } else if (chain->sink_W_per_K[i] > 0 && boiling_W(parameters, chain, temperature_C, i) > most_W) {
            chain->sink_W_per_K[i] = 0;
            chain->sink_W[i] = most_W;
            changed = true;
        }
    }
    return changed;
}

/* Take the lining's new temperatures over; returns the heat that went into steam, W. */
static double take_lining(const ovp_thermal_parameters *parameters, const thermal_chain *chain,
                          double seconds, const double next_C[], double temperature_C[], double water_kg[])
{
    double steam_W = 0;

    for (size_t i = 0; i < chain->count; ++i) {
        const double heat_W = boiling_W(parameters, chain, next_C, i);
        temperature_C[i] = next_C[i];
        if (heat_W != 0) {
            water_kg[i] -= heat_W * seconds / parameters->latent_J_per_kg;
            steam_W += heat_W;
        }
    }
    return steam_W;
}

void thermal_lag(double seconds, double constant_s, double input, double *value)
{
    *value += seconds / (constant_s + seconds) * (input - *value);
}

/* Mean temperature of the hot faces. */
static double faces_C(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state)
{
    const double wall_m2 = parameters->wall.count ? parameters->wall.face_m2 : 0;
    const double floor_m2 = parameters->floor.count ? parameters->floor.face_m2 : 0;

    return wall_m2 + floor_m2 > 0
               ? (wall_m2 * state->wall_C[0] + floor_m2 * state->floor_C[0]) / (wall_m2 + floor_m2)
               : state->chamber_C;
}

/* Where a small body in the chamber settles that sees coils and hot faces by radiation and is bathed in the
   chamber's air: the conductances of radiation depend on the answer, three rounds are within 1 K. */
static double tip_C(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state)
{
    const double coils = parameters->sensor_coil_share;
    const double face_C = faces_C(parameters, state);
    double seen_C = state->sensor_stage_C[0];

    if (!(coils > 0)) {
        return state->chamber_C;
    }
    for (int round = 0; round < 3; ++round) {
        const double from_coils = thermal_radiation(coils, state->element_C, seen_C);
        const double from_faces = thermal_radiation(parameters->sensor_face_share, face_C, seen_C);
        const double from_chamber =
            parameters->sensor_film_W_per_m2K +
            thermal_radiation(1 - coils - parameters->sensor_face_share, state->chamber_C, seen_C);
        seen_C = (from_coils * state->element_C + from_faces * face_C + from_chamber * state->chamber_C) /
                 (from_coils + from_faces + from_chamber);
    }
    return seen_C;
}

static void step_sensor(const ovp_thermal_parameters *parameters, double seconds, ovp_thermal_state *state)
{
    const double wall_C =
        parameters->wall.count ? state->wall_C[parameters->wall.count / 2] : state->chamber_C;
    const double rise_K = state->chamber_C - parameters->ambient_C;
    const double around_C = tip_C(parameters, state);
    double seen_C = around_C + parameters->sensor_wall_share * (wall_C - around_C) +
                    parameters->sensor_element_share * (state->element_C - around_C);

    for (size_t i = 0; i < OVP_THERMAL_STAGES; ++i) {
        thermal_lag(seconds, parameters->sensor_dead_s / OVP_THERMAL_STAGES, seen_C,
                    &state->sensor_stage_C[i]);
        seen_C = state->sensor_stage_C[i];
    }
    thermal_lag(seconds, parameters->sensor_lag_s, seen_C, &state->sensor_C);
    thermal_lag(seconds, parameters->head_lag_s, parameters->ambient_C + parameters->head_share * rise_K,
                &state->head_C);
    thermal_lag(seconds, parameters->panel_lag_s,
                parameters->ambient_C + parameters->panel_rise_C * rise_K / panel_reference_K,
                &state->panel_C);
}

static double shell_loss_W(const ovp_thermal_parameters *parameters, const thermal_chain *chain,
                           const double temperature_C[])
{
    return chain->count ? chain->shell_W_per_K * (temperature_C[chain->count - 1] - parameters->ambient_C)
                        : 0;
}

static double water_left_kg(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state)
{
    double kg = 0;

    for (size_t i = 0; i < parameters->wall.count; ++i) {
        kg += fmax(state->wall_water_kg[i], 0);
    }
    for (size_t i = 0; i < parameters->floor.count; ++i) {
        kg += fmax(state->floor_water_kg[i], 0);
    }
    return kg;
}

void thermal_one_step(const ovp_thermal_parameters *parameters, double seconds, double duty,
                      ovp_thermal_state *state)
{
    const double on = duty + (1 - duty) * parameters->leak_fraction;
    step next = {.seconds = seconds};

    next.power_W =
        on * ovp_thermal_full_power(parameters, state->element_C, &state->current_A, &state->volts_V);
    prepare(parameters, state, &next);
    solve(parameters, state, &next);
    settle_element(parameters, state, &next);
    for (int pass = 0; state->moisture_kg > 0 && pass < PASSES; ++pass) {
        const bool wall = hold_wet_slices(parameters, next.wall_C, state->wall_water_kg, seconds, &next.wall);
        const bool floor =
            hold_wet_slices(parameters, next.floor_C, state->floor_water_kg, seconds, &next.floor);
        if (!wall && !floor) {
            break;
        }
        solve(parameters, state, &next);
    }

    const double steam_W =
        take_lining(parameters, &next.wall, seconds, next.wall_C, state->wall_C, state->wall_water_kg) +
        take_lining(parameters, &next.floor, seconds, next.floor_C, state->floor_C, state->floor_water_kg);
    state->time_s += seconds;
    state->element_C = next.element_C;
    state->chamber_C = next.chamber_C;
    state->load_C = next.load_C;
    state->power_W = next.power_W;
    state->loss_W = shell_loss_W(parameters, &next.wall, state->wall_C) +
                    shell_loss_W(parameters, &next.floor, state->floor_C) +
                    next.door_link * (next.chamber_C - parameters->ambient_C) +
                    next.steam_link * (next.chamber_C - parameters->boils_C);
    state->energy_in_J += next.power_W * seconds;
    state->lost_J += state->loss_W * seconds;
    state->evaporated_J += steam_W * seconds;
    state->steam_kg_per_s = fmax(steam_W, 0) / parameters->latent_J_per_kg;
    if (state->moisture_kg > 0) {
        state->moisture_kg = water_left_kg(parameters, state);
    }
    step_sensor(parameters, seconds, state);
}

void ovp_thermal_step(const ovp_thermal_parameters *parameters, double step_s, double duty,
                      ovp_thermal_state *state)
{
    const double bounded_s = fmin(fmax(step_s, 0), 60);
    const double bounded_duty = fmin(fmax(duty, 0), 1);
    const int count = (int)ceil(bounded_s / longest_step_s);

    for (int i = 0; i < count; ++i) {
        thermal_one_step(parameters, bounded_s / count, bounded_duty, state);
    }
}

static double lining_J(const ovp_thermal_lining *lining, const double temperature_C[], double start_C)
{
    double heat_J = 0;

    for (size_t i = 0; i < lining->count; ++i) {
        heat_J +=
            lining->J_per_m3K[i] * lining->thickness_m[i] * lining->area_m2[i] * (temperature_C[i] - start_C);
    }
    return heat_J;
}

double ovp_thermal_stored_J(const ovp_thermal_parameters *parameters, const ovp_thermal_state *state)
{
    const double start_C = parameters->start_C;

    return parameters->element_J_per_K * (state->element_C - start_C) +
           parameters->chamber_J_per_K * (state->chamber_C - start_C) +
           parameters->load_J_per_K * (state->load_C - start_C) +
           lining_J(&parameters->wall, state->wall_C, start_C) +
           lining_J(&parameters->floor, state->floor_C, start_C);
}
