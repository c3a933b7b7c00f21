/*
 * ovenproof/metrology.h: how sure. First part: a sensor or an input compared with a reference.
 *
 * error = reading - reference. Readings of one nominal are one point; their spread over sqrt(n) is the
 * type A part. Decisions follow ILAC-G8:09/2019 clause 4.2.3 with guard band w = U (k = 2):
 * pass <= TL - w < conditional pass <= TL < conditional fail <= TL + w < fail.
 */
#ifndef OVENPROOF_METROLOGY_H
#define OVENPROOF_METROLOGY_H

#include "ovenproof/base.h"
#include "ovenproof/text.h"
#include "ovenproof/thermocouple.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum ovp_metrology_decision {
    OVP_METROLOGY_PASS,
    OVP_METROLOGY_CONDITIONAL_PASS,
    OVP_METROLOGY_CONDITIONAL_FAIL,
    OVP_METROLOGY_FAIL,
} ovp_metrology_decision;

/** "pass", "conditional-pass", "conditional-fail", "fail". */
const char *ovp_metrology_decision_name(ovp_metrology_decision decision);

/**
 * Decision for an error, its expanded uncertainty (k = 2) and a tolerance, all in one unit, both >= 0. A
 * bound that is met exactly belongs to the better side; 1e-9 units are allowed for the last bits of a
 * subtraction.
 */
ovp_metrology_decision ovp_metrology_decide(double error, double expanded_uncertainty, double tolerance);

/**
 * Chance that the true value lies in low..high (either may be infinite) when a measurement gave `value` with
 * standard uncertainty u > 0, normal and without other knowledge: JCGM 106:2012 clause 7.
 */
double ovp_metrology_conformance(double value, double u, double low, double high);

/** One point of a comparison while readings are added. Start it with ovp_metrology_point_init. */
typedef struct ovp_metrology_point {
    double nominal_C;
    double reference_U_C; /**< expanded (k = 2); NAN: nobody knows, then the decision can never be pass */
    double resolution_C;  /**< of the reading; 0 when unknown */
    size_t count;
    double mean_error_C;
    double squares; /**< sum of squared deviations of the error */
    double mean_reference_C;
} ovp_metrology_point;

typedef struct ovp_metrology_result {
    double error_C;
    double type_a_C;               /**< standard uncertainty from the spread; 0 for one reading */
    double expanded_uncertainty_C; /**< k = 2 */
    bool reference_assumed;
    double tolerance_C;
    ovp_metrology_decision decision;
} ovp_metrology_result;

void ovp_metrology_point_init(ovp_metrology_point *point, double nominal_C, double reference_U_C,
                              double resolution_C);
void ovp_metrology_point_add(ovp_metrology_point *point, double reference_C, double reading_C);
/**
 * The point's result: U = 2 sqrt(type A^2 + (reference U / 2)^2 + resolution^2 / 12). A reference that nobody
 * knows adds nothing to U, and a pass becomes a conditional pass. `tolerance_C` is the half-width at the
 * reference temperature. */
void ovp_metrology_point_result(const ovp_metrology_point *point, double tolerance_C,
                                ovp_metrology_result *result);

/* ---- uncertainty budgets ------------------------------------------------------------------------- */

/** How the possible values of an input lie about its estimate: JCGM 100:2008 clauses 4.3.3 to 4.3.9. */
typedef enum ovp_metrology_shape {
    OVP_METROLOGY_NORMAL, /**< width is k standard uncertainties; k = 1: the standard uncertainty itself */
    OVP_METROLOGY_RECTANGULAR, /**< anywhere within +- width alike: width / sqrt 3 */
    OVP_METROLOGY_TRIANGULAR,  /**< within +- width, the middle likelier: width / sqrt 6 */
    OVP_METROLOGY_U_SHAPED,    /**< swings between +- width: width / sqrt 2 */
} ovp_metrology_shape;

/** "normal", "rectangular", "triangular", "u-shaped"; false for any other word. */
bool ovp_metrology_shape_named(ovp_span word, ovp_metrology_shape *shape);

enum {
    OVP_METROLOGY_INPUTS = 32,
    OVP_METROLOGY_CORRELATIONS = 16,
};

typedef struct ovp_metrology_input {
    ovp_metrology_shape shape;
    double width;       /**< >= 0, in the input's unit */
    double k;           /**< of NORMAL: > 0; not used by the others */
    double sensitivity; /**< units of the result per unit of the input */
    double freedom;     /**< degrees of freedom, > 0; INFINITY when it was not drawn from few readings */
} ovp_metrology_input;

typedef struct ovp_metrology_budget {
    ovp_metrology_input inputs[OVP_METROLOGY_INPUTS];
    size_t count;
    struct {
        size_t a, b; /**< indices of two different inputs */
        double r;    /**< -1..1 */
    } correlations[OVP_METROLOGY_CORRELATIONS];
    size_t correlation_count;
} ovp_metrology_budget;

typedef struct ovp_metrology_combined {
    double u;        /**< combined standard uncertainty */
    double freedom;  /**< effective, Welch and Satterthwaite (JCGM 100:2008 G.4); INFINITY is possible */
    double k;        /**< of Student's t at the level, the freedom cut to a whole number */
    double expanded; /**< k u */
} ovp_metrology_combined;

/** Standard uncertainty of one input, in the result's unit, with the sign of its sensitivity. */
double ovp_metrology_contribution(const ovp_metrology_input *input);

/**
 * Combine by the law of propagation (JCGM 100:2008 clause 5). `level` is the coverage probability, 0..1 open;
 * 0.9545 gives k = 2.00 for many degrees of freedom. Effective degrees of freedom hold for uncorrelated
 * inputs. Errors: OVP_ERROR_DATA for a negative width, a correlation outside -1..1, a freedom not above zero,
 * no input...
 */
ovp_status ovp_metrology_combine(const ovp_metrology_budget *budget, double level,
                                 ovp_metrology_combined *combined, ovp_error *error);

/** Two-sided coverage factor of Student's t: P(|t| <= k) = level. freedom > 0, may be INFINITY. */
double ovp_metrology_student(double level, double freedom);

/* ---- readings: rows to points -------------------------------------------------------------------- */

enum {
    OVP_METROLOGY_POINTS = 64,
};

/** One row of a comparison. */
typedef struct ovp_metrology_row {
    double nominal_C, reference_C, reading_C;
    double reference_U_C; /**< k = 2; NAN or 0: nobody knows */
    double resolution_C;  /**< of the reading; 0 when unknown */
} ovp_metrology_row;

/** Rows gathered into points, in the order in which each nominal first came. Start it with {0}. */
typedef struct ovp_metrology_readings {
    ovp_metrology_point points[OVP_METROLOGY_POINTS];
    size_t point_count;
    uint64_t rows;
    bool from_emf; /**< the couple's millivolts were read, not a display */
} ovp_metrology_readings;

/**
 * Add a row. Rows of one nominal are one point, with the largest reference uncertainty of its rows (unknown
 * in one is unknown in all) and the finest resolution. Errors: OVP_ERROR_DATA for a temperature that no oven
 * has, more than OVP_METROLOGY_POINTS nominals; nothing is added then.
 */
ovp_status ovp_metrology_readings_add(ovp_metrology_readings *readings, const ovp_metrology_row *row,
                                      ovp_error *error);

/**
 * Give every point whose reference nobody knows an expanded uncertainty (k = 2, > 0): in degC, or as the emf
 * of a calibrator that plays a couple of `type`. Errors: OVP_ERROR_DATA when a point lies outside the type.
 */
void ovp_metrology_readings_reference(ovp_metrology_readings *readings, double reference_U_C);
ovp_status ovp_metrology_readings_reference_emf(ovp_metrology_readings *readings, ovp_tc_type type,
                                                double reference_U_mV, ovp_error *error);

/**
 * A reader of delimited text with the header nominal_C,reference_C,reading_C (or _F, _K), or emf_mV with
 * cold_junction_C in place of reading_C; reference_U_C (k = 2) and resolution_C may be there. Without a
 * resolution it is taken from the digits that the readings are written with. Bytes in, rows gathered in
 * `readings`.
 */
typedef struct ovp_metrology_reader ovp_metrology_reader;

/** Bytes of memory that a reader needs (about 190 KiB), aligned to 16. */
size_t ovp_metrology_reader_size(void);
/** Make a reader in the caller's memory. `sensor` turns emf into temperature; NULL: emf_mV is refused. */
ovp_metrology_reader *ovp_metrology_reader_init(void *memory, const ovp_tc_type *sensor,
                                                ovp_metrology_readings *readings);
/** Any count of bytes, cut anywhere. Errors: OVP_ERROR_DATA with the line, and a hint. */
ovp_status ovp_metrology_reader_feed(ovp_metrology_reader *reader, const char *bytes, size_t count,
                                     ovp_error *error);
/** The end of the text. Errors as feed (empty, a header and no row...). */
ovp_status ovp_metrology_reader_end(ovp_metrology_reader *reader, ovp_error *error);

/* ---- budgets of a comparison --------------------------------------------------------------------- */

/** How a width was written. */
typedef enum ovp_metrology_width {
    OVP_METROLOGY_DEGREES,    /**< width in degC */
    OVP_METROLOGY_MILLIVOLTS, /**< width in mV of a couple of the sensor's type */
    OVP_METROLOGY_SHARE,      /**< width as a share of the temperature in degC */
    OVP_METROLOGY_CLASS,      /**< the tolerance class `class_name` of the sensor's type */
} ovp_metrology_width;

enum {
    OVP_METROLOGY_LINES = 24, /* and the three that the readings give are fewer than OVP_METROLOGY_INPUTS */
    OVP_METROLOGY_NAME_SIZE = 96,
};

/** One line of a budget file. */
typedef struct ovp_metrology_budget_line {
    char name[OVP_METROLOGY_NAME_SIZE];
    char source[OVP_METROLOGY_NAME_SIZE]; /**< "certificate", "judgement"... */
    char class_name[OVP_METROLOGY_NAME_SIZE];
    ovp_metrology_width written;
    bool has_shape, has_width;
    bool is_reference; /**< stands for the reference where its own uncertainty is not known */
    ovp_metrology_input input;
} ovp_metrology_budget_line;

/** A budget file: what else may be wrong beside spread, reference and last digit. */
typedef struct ovp_metrology_budget_file {
    char name[OVP_METROLOGY_NAME_SIZE];
    char note[OVP_METROLOGY_NAME_SIZE * 2];
    ovp_metrology_budget_line lines[OVP_METROLOGY_LINES];
    size_t count;
} ovp_metrology_budget_file;

void ovp_metrology_budget_init(ovp_metrology_budget_file *file);

/**
 * Set one leaf of a budget file: "name", "note", "inputs[2].width"... Keys of an input: name, source, shape,
 * width (5F, 2uV, 0.4% or a tolerance class), k (of a normal width), sensitivity, freedom, stands_for
 * ("reference"). Errors: OVP_ERROR_DATA for an unknown key or a value that does not fit, with an example.
 */
ovp_status ovp_metrology_budget_set(ovp_metrology_budget_file *file, const char *path, ovp_span text,
                                    ovp_error *error);

/** The whole file: each input has a name, a source, a shape, a width and, if normal, its k. Errors:
 * OVP_ERROR_DATA. */
ovp_status ovp_metrology_budget_check(const ovp_metrology_budget_file *file, ovp_error *error);

/** What a point's uncertainty is made of: part i of `budget` is called names[i]. */
typedef struct ovp_metrology_parts {
    ovp_metrology_budget budget;
    const char *names[OVP_METROLOGY_INPUTS]; /**< live as long as the file */
    ovp_metrology_combined combined;
} ovp_metrology_parts;

/**
 * A point's result with a budget file: U = k u of spread, reference, last digit and the file's lines, 95.45
 * %. Lines that stand for the reference count only where its own uncertainty is not known, which is then an
 * assumed one. `sensor` may be NULL where no line is in millivolts or a class. Errors: OVP_ERROR_DATA.
 */
ovp_status ovp_metrology_point_with_budget(const ovp_metrology_point *point, double tolerance_C,
                                           const ovp_metrology_budget_file *file, const ovp_tc_type *sensor,
                                           ovp_metrology_parts *parts, ovp_metrology_result *result,
                                           ovp_error *error);

#ifdef __cplusplus
}
#endif

#endif
