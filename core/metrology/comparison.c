/* A sensor or an input beside a reference: error, how sure, decision. */
#include "ovenproof/metrology.h"

#include <math.h>

/* What subtracting two temperatures may leave in the last bits. */
static const double ROUNDING = 1e-9;

const char *ovp_metrology_decision_name(ovp_metrology_decision decision)
{
    static const char *const names[] = {"pass", "conditional-pass", "conditional-fail", "fail"};
    return names[decision];
}

ovp_metrology_decision ovp_metrology_decide(double error, double expanded_uncertainty, double tolerance)
{
    double size = fabs(error) - ROUNDING;
    if (size <= tolerance - expanded_uncertainty)
        return OVP_METROLOGY_PASS;
    if (size <= tolerance)
        return OVP_METROLOGY_CONDITIONAL_PASS;
    if (size <= tolerance + expanded_uncertainty)
        return OVP_METROLOGY_CONDITIONAL_FAIL;
    return OVP_METROLOGY_FAIL;
}

/* Chance that a standard normal variable is above x. */
static double upper_tail(double x)
{
    return 0.5 * erfc(x / sqrt(2.0));
}

double ovp_metrology_conformance(double value, double u, double low, double high)
{
    return 1.0 - upper_tail((value - low) / u) - upper_tail((high - value) / u);
}

void ovp_metrology_point_init(ovp_metrology_point *point, double nominal_C, double reference_U_C,
                              double resolution_C)
{
    *point = (ovp_metrology_point){
        .nominal_C = nominal_C,
        .reference_U_C = reference_U_C,
        .resolution_C = resolution_C,
    };
}

/* Welford's update: no sum of squares of large numbers. */
void ovp_metrology_point_add(ovp_metrology_point *point, double reference_C, double reading_C)
{
    double error_C = reading_C - reference_C;
    double before_C = error_C - point->mean_error_C;
    point->count++;
    double count = (double)point->count;
    point->mean_error_C += before_C / count;
    point->squares += before_C * (error_C - point->mean_error_C);
    point->mean_reference_C += (reference_C - point->mean_reference_C) / count;
}

static double type_a(const ovp_metrology_point *point)
{
    if (point->count < 2)
        return 0.0;
    double count = (double)point->count;
    return sqrt(point->squares / (count - 1.0) / count);
}

void ovp_metrology_point_result(const ovp_metrology_point *point, double tolerance_C,
                                ovp_metrology_result *result)
{
    double a_C = type_a(point);
    bool assumed = isnan(point->reference_U_C);
    double reference_C = assumed ? 0.0 : 0.5 * point->reference_U_C;
    double resolution_C = point->resolution_C / sqrt(12.0);
    double expanded_C = 2.0 * sqrt(a_C * a_C + reference_C * reference_C + resolution_C * resolution_C);
    ovp_metrology_decision decision = ovp_metrology_decide(point->mean_error_C, expanded_C, tolerance_C);
    if (assumed && decision == OVP_METROLOGY_PASS)
        decision = OVP_METROLOGY_CONDITIONAL_PASS;
    *result = (ovp_metrology_result){
        .error_C = point->mean_error_C,
        .type_a_C = a_C,
        .expanded_uncertainty_C = expanded_C,
        .reference_assumed = assumed,
        .tolerance_C = tolerance_C,
        .decision = decision,
    };
}
