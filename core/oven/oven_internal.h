/* What the files of this room share: how a row of the table of fields finds its value. */
#ifndef OVENPROOF_OVEN_INTERNAL_H
#define OVENPROOF_OVEN_INTERNAL_H

#include "ovenproof/oven.h"

/** What lies at a field's offset. */
typedef enum oven_store {
    OVEN_STORE_QUANTITY, /* double */
    OVEN_STORE_TEXT,     /* char[OVP_OVEN_STRING_SIZE] */
    OVEN_STORE_YES_NO,   /* ovp_oven_fitted */
    OVEN_STORE_TYPE,     /* ovp_tc_type, and a bool at known_offset */
    OVEN_STORE_WIRING,   /* ovp_oven_wiring */
    OVEN_STORE_DEGREES,  /* ovp_text_degrees */
    OVEN_STORE_LINING,   /* ovp_oven_lining */
    OVEN_STORE_PART,     /* ovp_oven_fitted, and the rating text at known_offset */
    OVEN_STORE_CHOICE,   /* an enum: which of the choices, from 1; 0 not given */
} oven_store;

enum {
    OVEN_PATH_SIZE = 96,
    OVEN_VALUE_SIZE = 512,
};

/** A path taken apart: the row, and which element or heat-up line (from 0). */
typedef struct oven_place {
    const ovp_oven_field *field;
    size_t index;
} oven_place;

/** A table of fields and what it is of. */
typedef struct oven_schema {
    const ovp_oven_field *rows; /* NULL path past the last */
    const char *of;             /* "an oven" */
    const char *all;            /* end of a hint: where all fields are listed; "" nowhere */
} oven_schema;

const oven_schema *oven_schema_of_oven(void);
const oven_schema *oven_schema_of_plan(void);

/** Every quantity of a struct made "not given"; all else is zero. */
void oven_clear_all(const oven_schema *schema, void *base, size_t size);

/** Set one leaf of a struct by its table: the work of ovp_oven_set. */
ovp_status oven_set_leaf(const oven_schema *schema, void *base, const char *path, ovp_oven_leaf leaf,
                         const char *text, ovp_error *warning, ovp_error *error);

/** Find the row of a path ("elements[2].watts"). Errors name the nearest known field. */
ovp_status oven_find(const oven_schema *schema, const char *path, oven_place *place, ovp_error *error);

/** True when the path leads to a table, not a leaf ("supply", "elements[2]"); index as above. */
bool oven_is_group(const oven_schema *schema, const char *path, size_t *index);

/** Entries of the array that a row of "elements[]" belongs to. */
size_t *oven_count(void *base, const ovp_oven_field *field);
size_t oven_entries(const void *base, const ovp_oven_field *field);

void *oven_at(void *base, oven_place place);
const void *oven_at_const(const void *base, oven_place place);
bool *oven_known(ovp_oven *oven, oven_place place);
char *oven_rating(ovp_oven *oven, oven_place place);

/** The shortest quantity that reads back to exactly this value. */
void oven_format_quantity(double value, ovp_text_kind kind, char *buffer, size_t size);

ovp_status oven_parse_lining(const char *path, ovp_span text, ovp_oven_lining *lining, ovp_error *warning,
                             ovp_error *error);
void oven_format_lining(const ovp_oven_lining *lining, char *buffer, size_t size);

/** Append to a buffer that ends in a zero; what does not fit is left out. */
void oven_append(char *buffer, size_t size, const char *text);

#endif
