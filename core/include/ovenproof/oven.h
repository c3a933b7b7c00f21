/*
 * ovenproof/oven.h: what an oven is and what is asked of it. No physics.
 *
 * One table of fields (ovp_oven_fields) gives the reader, the questions of `describe`, the messages, the
 * JSON and the manual. A description is built leaf by leaf with ovp_oven_set("supply.volts", "240V"),
 * whoever reads the file. NAN, "" and OVP_OVEN_UNKNOWN mean "not given": not known, never "not fitted".
 */
#ifndef OVENPROOF_OVEN_H
#define OVENPROOF_OVEN_H

#include "ovenproof/base.h"
#include "ovenproof/text.h"
#include "ovenproof/thermocouple.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    OVP_OVEN_STRING_SIZE = 96,
    OVP_OVEN_ELEMENTS = 12,
    OVP_OVEN_HEAT_UP = 16,
    OVP_OVEN_LAYERS = 6,
    OVP_OVEN_WORD_SIZE = 40,
};

/** The parts whose presence matters to a question or a fault (column needs_part of the tables). */
typedef enum ovp_oven_part {
    OVP_OVEN_DOOR_SWITCH,
    OVP_OVEN_CONTACTOR,
    OVP_OVEN_LIMITER,
    OVP_OVEN_ELEMENT_SWITCH,
    OVP_OVEN_ELEMENT_PROTECTOR,
    OVP_OVEN_CONTROL_FUSE,
    OVP_OVEN_PANEL_CUTOUT,
    OVP_OVEN_FAN,
    OVP_OVEN_CHECK_HOLE,
    OVP_OVEN_OUTPUT_LAMP,
    OVP_OVEN_RELAY_LAMP,
    OVP_OVEN_PARALLEL_BRANCHES, /**< follows from wiring and elements */
    OVP_OVEN_PARTS,
} ovp_oven_part;

typedef enum ovp_oven_fitted {
    OVP_OVEN_UNKNOWN, /**< ask once */
    OVP_OVEN_NOT_FITTED,
    OVP_OVEN_FITTED,
} ovp_oven_fitted;

typedef enum ovp_oven_wiring {
    OVP_OVEN_WIRING_UNKNOWN,
    OVP_OVEN_WIRING_SINGLE,
    OVP_OVEN_WIRING_PARALLEL,
    OVP_OVEN_WIRING_SERIES,
} ovp_oven_wiring;

typedef struct ovp_oven_element {
    double power_W; /**< at at_V, hot */
    double at_V;
    char alloy[OVP_OVEN_STRING_SIZE]; /**< a row of reference/heater-ct.csv, or "" */
} ovp_oven_element;

/** What a layer of lining is made of; thermal/ holds the figures. */
typedef enum ovp_oven_material {
    OVP_OVEN_MATERIAL_UNKNOWN,
    OVP_OVEN_FIBRE_BOARD,
    OVP_OVEN_FIBRE_BOARD_DENSE,
    OVP_OVEN_FIBRE_BLANKET,
    OVP_OVEN_INSULATING_FIREBRICK,
    OVP_OVEN_DENSE_FIREBRICK,
    OVP_OVEN_CAST_REFRACTORY,
    OVP_OVEN_DENSE_BOARD,
    OVP_OVEN_SHELF_SLAB,
    OVP_OVEN_MATERIALS,
} ovp_oven_material;

typedef struct ovp_oven_layer {
    double thickness_m;
    ovp_oven_material material;
} ovp_oven_layer;

typedef struct ovp_oven_lining {
    ovp_oven_layer layers[OVP_OVEN_LAYERS]; /**< hot face first */
    size_t count;
    char words[OVP_OVEN_LAYERS][OVP_OVEN_WORD_SIZE]; /**< as written, of an unknown material; else "" */
} ovp_oven_lining;

typedef struct ovp_oven_limit {
    double to_C;
    double within_s;
} ovp_oven_limit;

typedef struct ovp_oven {
    char name[OVP_OVEN_STRING_SIZE];
    char note[OVP_OVEN_STRING_SIZE]; /**< free words, e.g. that the oven is invented */
    struct {
        double volts_V;
        double circuit_A;
        double line_ohms;
        char cord[OVP_OVEN_STRING_SIZE];
        ovp_oven_fitted shared; /**< other loads on the circuit: FITTED means yes */
    } supply;
    ovp_oven_element elements[OVP_OVEN_ELEMENTS];
    size_t element_count;
    ovp_oven_wiring wiring;
    struct {
        bool known;
        ovp_tc_type type;
        bool extension_known;
        ovp_tc_type extension;
        char gauge[OVP_OVEN_STRING_SIZE];
        double depth_m;
    } sensor;
    struct {
        bool input_known;
        ovp_tc_type input;
        double period_s;
        ovp_text_degrees degrees;
        double display_low_C, display_high_C;
        char on_sensor_break[OVP_OVEN_STRING_SIZE]; /**< "off", "full", "hold" or "" */
        char pid[OVP_OVEN_STRING_SIZE];
        ovp_oven_fitted ramps, log;
    } controller;
    struct {
        double width_m, height_m, depth_m;
        double limit_C;
    } chamber;
    ovp_oven_lining wall, floor;
    ovp_oven_limit heat_up[OVP_OVEN_HEAT_UP];
    size_t heat_up_count;
    ovp_oven_fitted fitted[OVP_OVEN_PARTS];                 /**< read through ovp_oven_has */
    char part_rating[OVP_OVEN_PARTS][OVP_OVEN_STRING_SIZE]; /**< e.g. "5A fast"; "" */
    double controls_A;
    char clamp_meter[OVP_OVEN_STRING_SIZE]; /**< "ac", "ac+dc", "average" or "" */
} ovp_oven;

/** An oven of which nothing is known. */
void ovp_oven_init(ovp_oven *oven);

/** How a leaf of a description was written. */
typedef enum ovp_oven_leaf {
    OVP_OVEN_LEAF_TEXT,
    OVP_OVEN_LEAF_NUMBER,
    OVP_OVEN_LEAF_BOOLEAN, /**< text is "true" or "false" */
    OVP_OVEN_LEAF_EMPTY,   /**< a table without entries; text is "". `elements = { {} }` is one element, not
                              known */
} ovp_oven_leaf;

/**
 * Set one leaf: path "supply.volts", "elements[2].watts", "fitted.door_switch"; array index from 1.
 * Errors (OVP_ERROR_DATA): an unknown field (the nearest known one is named), a bare number where a unit
 * is needed, a value out of range, a word that is none of the choices, an index past the bound. An
 * unknown word of lining is no error: the layer keeps OVP_OVEN_MATERIAL_UNKNOWN and `warning` (may be
 * NULL; text is "" otherwise) says which default will be used.
 */
ovp_status ovp_oven_set(ovp_oven *oven, const char *path, ovp_oven_leaf leaf, const char *text,
                        ovp_error *warning, ovp_error *error);

/**
 * Forget one leaf: it becomes "not given". An element or heat-up line keeps its place.
 * Errors (OVP_ERROR_DATA): an unknown field.
 */
ovp_status ovp_oven_clear(ovp_oven *oven, const char *path, ovp_error *error);

/** After the last leaf: what must be there is there and agrees (heat-up rising, limit above it, ...). */
ovp_status ovp_oven_check(const ovp_oven *oven, ovp_error *error);

/** One row of the table of fields. */
typedef struct ovp_oven_field {
    const char *path; /**< "elements[].watts"; [] is any index */
    ovp_text_kind kind;
    int store;           /**< private to the room, as the sizes: where the value lives */
    const char *choices; /**< "single|parallel|series" or NULL */
    double low, high;    /**< range in the kind's unit */
    const char *text;    /**< what it is, for a person */
    const char *matters; /**< what cannot be said without it */
    size_t offset, known_offset, stride;
    size_t count_offset, bound, size; /**< of an array: its count and room; of a text: its bytes, 0 usual */
    bool is_text;                     /**< a word or free text, `kind` unused */
    bool is_yes_no;
    bool required;
} ovp_oven_field;

/** The table; NULL path past the last. */
const ovp_oven_field *ovp_oven_fields(void);

/** True when the field (a path of the table; [] means the first) has been given. */
bool ovp_oven_given(const ovp_oven *oven, const char *path);

/** Material of a lining by its words ("insulating firebrick"; "fiber" is "fibre"); UNKNOWN for any other. */
ovp_oven_material ovp_oven_material_named(ovp_span words);
/** "fibre board"; "" for OVP_OVEN_MATERIAL_UNKNOWN. */
const char *ovp_oven_material_name(ovp_oven_material material);

/** One leaf as `ovp_oven_write` writes it ("240V", "parallel", "yes"); false when it is not given. */
bool ovp_oven_value(const ovp_oven *oven, const char *path, char *buffer, size_t size);

/** A part by its word ("door_switch"); false for an unknown word. */
bool ovp_oven_part_named(ovp_span name, ovp_oven_part *part);
const char *ovp_oven_part_name(ovp_oven_part part);

/** Whether a part is fitted; parallel_branches is derived. */
ovp_oven_fitted ovp_oven_has(const ovp_oven *oven, ovp_oven_part part);

/** Whether any of the parts "a|b" is fitted: FITTED if one is, NOT_FITTED if all are absent. "" is FITTED. */
ovp_oven_fitted ovp_oven_has_any(const ovp_oven *oven, const char *needs_part);

/** Write the description as a data file that reads back to the same oven. */
ovp_status ovp_oven_write(const ovp_oven *oven, ovp_sink sink);

#ifdef __cplusplus
}
#endif

#include "ovenproof/oven_plan.h" /* firing plans */

#endif
