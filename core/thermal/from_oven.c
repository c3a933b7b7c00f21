/* A description turned into the model's parameters. */
#include "ovenproof/electrical.h"
#include "thermal/thermal_internal.h"

#include <math.h>
#include <string.h>

struct material_row {
    const char *name;
    double conductivity_W_per_mK, slope_per_K, density_kg_per_m3, heat_capacity_J_per_kgK;
};

/* In the order of ovp_oven_material. */
static const struct material_row material_rows[] = {
#include "materials.inc"
};
_Static_assert(sizeof material_rows / sizeof material_rows[0] == OVP_OVEN_MATERIALS,
               "one row for each material");

struct figure_row {
    const char *name;
    double value;
};

static const struct figure_row figure_rows[] = {
#include "oven-model.inc"
};

/* Langmuir, Adams and Meikle 1913: an edge adds 0.54 of its length, a corner 0.15 of the wall's thickness. */
static const double edge_share = 0.54;
static const double corner_share = 0.15;
static const double first_slice_m = 0.001;
static const double slice_growth = 1.3;

double thermal_figure(const char *name)
{
    for (size_t i = 0; i < sizeof figure_rows / sizeof figure_rows[0]; ++i) {
        if (strcmp(figure_rows[i].name, name) == 0) {
            return figure_rows[i].value;
        }
    }
    return NAN;
}

void ovp_thermal_conditions_init(ovp_thermal_conditions *conditions)
{
    *conditions = (ovp_thermal_conditions){NAN, NAN, NAN, 0};
}

double ovp_thermal_steel_J_per_K(double mass_kg)
{
    return mass_kg * thermal_figure("steel_J_per_kgK");
}

void ovp_thermal_add_load(ovp_thermal_parameters *parameters, double steel_kg)
{
    parameters->load_J_per_K += ovp_thermal_steel_J_per_K(steel_kg);
    parameters->load_m2 = parameters->load_J_per_K * thermal_figure("load_m2_per_J_per_K");
}

static double total_thickness_m(const ovp_oven_lining *layers)
{
    double thickness_m = 0;

    for (size_t i = 0; i < layers->count; ++i) {
        thickness_m += layers->layers[i].thickness_m;
    }
    return thickness_m;
}

/* Growth b of an area A(x) = face + b x whose conduction over a depth is that of the shape factor. */
static double area_growth_m(double face_m2, double depth_m, double edge_m, double corners)
{
    const double wanted = face_m2 / depth_m + edge_share * edge_m + corner_share * corners * depth_m;
    double low = 0;
    double high = 1000 * face_m2 / depth_m;

    for (int i = 0; i < 100; ++i) {
        const double middle = 0.5 * (low + high);
        if (middle / log1p(middle * depth_m / face_m2) < wanted) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}

static ovp_status add_slice(const ovp_oven_layer *layer, double thickness_m, double area_m2,
                            ovp_thermal_lining *lining, ovp_error *error)
{
    const struct material_row *row = &material_rows[layer->material];
    const size_t i = lining->count;

    if (i == OVP_THERMAL_NODES) {
        return ovp_error_set(error, OVP_ERROR_DATA, "the lining is too thick to be computed");
    }
    lining->thickness_m[i] = thickness_m;
    lining->area_m2[i] = area_m2;
    lining->J_per_m3K[i] = row->density_kg_per_m3 * row->heat_capacity_J_per_kgK;
    lining->W_per_mK[i] = row->conductivity_W_per_mK * thermal_figure("seams_factor");
    lining->slope_per_K[i] = row->slope_per_K;
    lining->moisture_share[i] = 0;
    ++lining->count;
    return OVP_OK;
}

ovp_status thermal_slice(const ovp_oven_lining *layers, double face_m2, double edge_m, double corners,
                         ovp_thermal_lining *lining, ovp_error *error)
{
    const double depth_m = total_thickness_m(layers);
    const double growth_m = area_growth_m(face_m2, depth_m, edge_m, corners);
    double from_m = 0;
    double wanted_m = first_slice_m;

    *lining = (ovp_thermal_lining){.face_m2 = face_m2, .outer_m2 = face_m2 + growth_m * depth_m};
    for (size_t i = 0; i < layers->count; ++i) {
        double left_m = layers->layers[i].thickness_m;
        while (left_m > 1e-9) {
            /* The last slice of a layer takes a rest that would be too thin to stand alone. */
            const double slice_m = left_m < 1.6 * wanted_m ? left_m : wanted_m;
            const double area_m2 = face_m2 + growth_m * (from_m + 0.5 * slice_m);
            const ovp_status status = add_slice(&layers->layers[i], slice_m, area_m2, lining, error);
            if (status != OVP_OK) {
                return status;
            }
            from_m += slice_m;
            left_m -= slice_m;
            wanted_m = slice_growth * slice_m;
        }
    }
    return OVP_OK;
}

/* The water sits in the slices next to the hot face, evenly by volume. */
static void spread_moisture(double depth_share, ovp_thermal_lining *wall, ovp_thermal_lining *floor)
{
    ovp_thermal_lining *linings[2] = {wall, floor};
    double total_m3 = 0;

    for (size_t k = 0; k < 2; ++k) {
        double depth_m = 0;
        double from_m = 0;
        for (size_t i = 0; i < linings[k]->count; ++i) {
            depth_m += linings[k]->thickness_m[i];
        }
        for (size_t i = 0; i < linings[k]->count && from_m < depth_share * depth_m; ++i) {
            linings[k]->moisture_share[i] = linings[k]->thickness_m[i] * linings[k]->area_m2[i];
            total_m3 += linings[k]->moisture_share[i];
            from_m += linings[k]->thickness_m[i];
        }
    }
    for (size_t k = 0; k < 2; ++k) {
        for (size_t i = 0; i < linings[k]->count; ++i) {
            linings[k]->moisture_share[i] /= total_m3;
        }
    }
}

/* What lies below: a thin floor is a slab on the wall's lining. */
static ovp_status floor_layers(const ovp_oven *oven, ovp_oven_lining *layers, ovp_error *error)
{
    if (oven->floor.count == 0) {
        *layers = oven->wall;
        return OVP_OK;
    }
    *layers = oven->floor;
    if (total_thickness_m(&oven->floor) >= total_thickness_m(&oven->wall)) {
        return OVP_OK;
    }
    for (size_t i = 0; i < oven->wall.count; ++i) {
        if (layers->count == OVP_OVEN_LAYERS) {
            return ovp_error_set(error, OVP_ERROR_DATA, "floor and wall have more than %d layers together",
                                 OVP_OVEN_LAYERS);
        }
        layers->layers[layers->count++] = oven->wall.layers[i];
    }
    return OVP_OK;
}

static ovp_status check_given(const ovp_oven *oven, ovp_error *error)
{
    const double width_m = oven->chamber.width_m;
    const double height_m = oven->chamber.height_m;
    const double depth_m = oven->chamber.depth_m;

    if (!(width_m > 0) || !(height_m > 0) || !(depth_m > 0)) {
        return ovp_error_set(
            error, OVP_ERROR_DATA,
            "the chamber's width, height and depth are not given: how it heats cannot be computed");
    }
    if (oven->wall.count == 0 || !(total_thickness_m(&oven->wall) > 0)) {
        return ovp_error_set(error, OVP_ERROR_DATA,
                             "the wall's lining is not given: how the oven heats cannot be computed");
    }
    return OVP_OK;
}

static ovp_status take_linings(const ovp_oven *oven, ovp_thermal_parameters *made, ovp_error *error)
{
    const double width_m = oven->chamber.width_m;
    const double height_m = oven->chamber.height_m;
    const double depth_m = oven->chamber.depth_m;
    const double floor_m2 = width_m * depth_m;
    const double wall_m2 = floor_m2 + 2 * height_m * (width_m + depth_m);
    const double ring_m = 2 * (width_m + depth_m); /* edges round the floor, shared with the wall */
    ovp_oven_lining below;

    ovp_status status = floor_layers(oven, &below, error);
    if (status != OVP_OK) {
        return status;
    }
    status = thermal_slice(&oven->wall, wall_m2, 1.5 * ring_m + 4 * height_m, 6, &made->wall, error);
    if (status != OVP_OK) {
        return status;
    }
    status = thermal_slice(&below, floor_m2, 0.5 * ring_m, 2, &made->floor, error);
    if (status != OVP_OK) {
        return status;
    }
    spread_moisture(thermal_figure("damp_depth_share"), &made->wall, &made->floor);
    return OVP_OK;
}

/* The alloy of the elements: they are taken as alike; the first one's name counts. */
static ovp_status take_alloy(const ovp_oven *oven, ovp_thermal_parameters *made, ovp_error *error)
{
    for (size_t i = 0; i < OVP_THERMAL_FACTORS; ++i) {
        const double temperature_C = i == 0 ? 20 : 100 * (double)i;
        if (!ovp_electrical_alloy_factor(oven->elements[0].alloy, temperature_C, &made->factor[i])) {
            return ovp_error_set(error, OVP_ERROR_DATA, "the alloy \"%s\" is not known",
                                 oven->elements[0].alloy);
        }
    }
    return OVP_OK;
}

static ovp_status take_power(const ovp_oven *oven, double supply_V, ovp_thermal_parameters *made,
                             ovp_error *error)
{
    ovp_electrical_load load;
    double rated_W = 0;
    double cord_ohm = 0;

    ovp_status status = ovp_electrical_load_of(oven, supply_V, &load, error);
    if (status == OVP_OK) {
        status = take_alloy(oven, made, error);
    }
    if (status != OVP_OK) {
        return status;
    }
    for (size_t i = 0; i < oven->element_count; ++i) {
        rated_W += oven->elements[i].power_W;
    }
    made->supply_V = isnan(supply_V) ? oven->supply.volts_V : supply_V;
    made->element_cold_ohm = load.cold_ohm;
    made->line_ohm = isnan(oven->supply.line_ohms) ? thermal_figure("line_ohm") : oven->supply.line_ohms;
    if (ovp_electrical_cord_ohm(oven->supply.cord, &cord_ohm)) {
        made->line_ohm += cord_ohm;
    }
    made->resistance_factor = 1;
    made->power_fraction = 1;
    made->output_cap = 1;
    const double surface_m2 = rated_W / 1000 * thermal_figure("element_surface_m2_per_kW");
    made->element_J_per_K = rated_W / 1000 * thermal_figure("element_J_per_K_kW");
    made->element_W_per_K = surface_m2 * thermal_figure("element_convection_W_per_m2K");
    made->radiating_m2 = surface_m2 * thermal_figure("element_view");
    made->direct_share = thermal_figure("element_direct_share");
    return OVP_OK;
}

static void take_judged(ovp_thermal_parameters *made)
{
    made->conductivity_factor = 1;
    made->shell_W_per_m2K = thermal_figure("shell_W_per_m2K");
    made->latent_J_per_kg = thermal_figure("latent_heat_J_per_kg");
    made->boils_C = thermal_figure("water_boils_C");
    made->steam_J_per_kgK = thermal_figure("steam_J_per_kgK");
    made->face_emissivity = thermal_figure("face_emissivity");
    made->face_W_per_m2K = thermal_figure("face_convection_W_per_m2K");
    made->chamber_J_per_K =
        (made->wall.face_m2 + made->floor.face_m2) * thermal_figure("furnishings_J_per_m2K");
    made->sensor_lag_s = thermal_figure("sensor_lag_s");
    made->sensor_dead_s = thermal_figure("sensor_dead_s");
    made->sensor_coil_share = fmin(thermal_figure("tip_open_share") * made->radiating_m2 /
                                       (made->wall.face_m2 + made->floor.face_m2),
                                   0.5);
    made->sensor_face_share = thermal_figure("tip_face_share");
    made->sensor_film_W_per_m2K = thermal_figure("tip_film_W_per_m2K");
    made->head_share = thermal_figure("head_share");
    made->head_lag_s = thermal_figure("head_lag_s");
    made->panel_rise_C = thermal_figure("panel_rise_C");
    made->panel_lag_s = thermal_figure("panel_lag_s");
}

ovp_status ovp_thermal_from_oven(const ovp_oven *oven, const ovp_thermal_conditions *conditions,
                                 ovp_thermal_parameters *parameters, ovp_error *error)
{
    ovp_thermal_conditions usual;
    ovp_thermal_parameters made = {0};

    if (!conditions) {
        ovp_thermal_conditions_init(&usual);
        conditions = &usual;
    }
    ovp_status status = check_given(oven, error);
    if (status == OVP_OK) {
        status = take_power(oven, conditions->supply_V, &made, error);
    }
    if (status == OVP_OK) {
        status = take_linings(oven, &made, error);
    }
    if (status != OVP_OK) {
        return status;
    }
    take_judged(&made);
    made.ambient_C = isnan(conditions->ambient_C) ? thermal_figure("ambient_C") : conditions->ambient_C;
    made.start_C = isnan(conditions->start_C) ? made.ambient_C : conditions->start_C;
    made.load_J_per_K = conditions->load_J_per_K;
    made.load_m2 = conditions->load_J_per_K * thermal_figure("load_m2_per_J_per_K");
    *parameters = made;
    return OVP_OK;
}
