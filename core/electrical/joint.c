/* Joints: heat, classes of a rise, grades of a drop, full amps from a part load, like against like. */
#include "electrical/electrical_internal.h"

#include <math.h>
#include <string.h>

static const struct rise_row {
    const char *against, *published;
    double from_C, to_C;
    const char *name, *grade, *action, *source;
} rise_rows[] = {
#include "joint-rise.inc"
};

static const struct drop_row {
    double from_mV;
    int over;
    const char *grade, *action, *source;
} drop_rows[] = {
#include "joint-drop.inc"
};

static const char *const grade_names[] = {"not judged", "good", "watch", "repair", "stop"};

enum {
    GRADES = sizeof grade_names / sizeof grade_names[0],
    RISES = sizeof rise_rows / sizeof rise_rows[0],
    DROPS = sizeof drop_rows / sizeof drop_rows[0],
};

const char *ovp_electrical_grade_name(ovp_electrical_grade grade)
{
    return (size_t)grade < GRADES ? grade_names[grade] : grade_names[0];
}

static ovp_electrical_grade grade_named(const char *name)
{
    for (size_t i = 0; i < GRADES; i++)
        if (strcmp(grade_names[i], name) == 0)
            return (ovp_electrical_grade)i;
    return OVP_ELECTRICAL_NOT_JUDGED;
}

/* ---- classes ---------------------------------------------------------------------------------------- */

static ovp_electrical_rise_class rise_class(const char *against, double rise_C)
{
    ovp_electrical_rise_class found = {"none", "", "nothing to do", OVP_ELECTRICAL_GOOD, ""};
    if (isnan(rise_C)) {
        found.grade = OVP_ELECTRICAL_NOT_JUDGED;
        return found;
    }
    for (size_t i = 0; i < RISES; i++) {
        const struct rise_row *row = &rise_rows[i];
        if (strcmp(row->against, against) != 0)
            continue;
        found.source = row->source;
        if (rise_C < row->from_C)
            break;
        found = (ovp_electrical_rise_class){row->name, row->published, row->action, grade_named(row->grade),
                                            row->source};
        if (isnan(row->to_C) || rise_C <= row->to_C)
            break;
    }
    return found;
}

ovp_electrical_rise_class ovp_electrical_rise_over_like(double rise_C)
{
    return rise_class("like", rise_C);
}

ovp_electrical_rise_class ovp_electrical_rise_over_ambient(double rise_C)
{
    return rise_class("ambient", rise_C);
}

ovp_electrical_grade ovp_electrical_drop_grade(double drop_mV, const char **action, const char **source)
{
    const struct drop_row *found = NULL;
    for (size_t i = 0; i < DROPS; i++)
        if (drop_rows[i].over != 0 ? drop_mV > drop_rows[i].from_mV : drop_mV >= drop_rows[i].from_mV)
            found = &drop_rows[i];
    if (action != NULL)
        *action = found != NULL ? found->action : "";
    if (source != NULL)
        *source = drop_rows[0].source;
    return found != NULL ? grade_named(found->grade) : OVP_ELECTRICAL_NOT_JUDGED;
}

double ovp_electrical_drop_limit_mV(ovp_electrical_grade grade)
{
    for (size_t i = 0; i < DROPS; i++)
        if (grade_named(drop_rows[i].grade) == grade)
            return drop_rows[i].from_mV;
    return NAN;
}

/* ---- one reading ------------------------------------------------------------------------------------ */

void ovp_electrical_joint_init(ovp_electrical_joint *joint)
{
    *joint = (ovp_electrical_joint){.drop_mV = NAN,
                                    .current_A = NAN,
                                    .rise_like_C = NAN,
                                    .rise_ambient_C = NAN,
                                    .temperature_C = NAN,
                                    .ambient_C = NAN};
}

static bool is_wrong(double value, double low, double high)
{
    return !isnan(value) && !(value >= low && value <= high);
}

static ovp_status check_current(const char *what, double current_A, ovp_error *error)
{
    if (isnan(current_A) || (current_A > 0.0 && current_A <= 1000.0))
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_DATA, "%s of %.6g A is none", what, current_A);
    ovp_error_hint(error, "the clamp's reading at that moment, above 0 and up to 1000 A");
    return OVP_ERROR_DATA;
}

static ovp_status check(const ovp_electrical_joint *joint, double full_A, ovp_error *error)
{
    ovp_status status = check_current("a current", joint->current_A, error);
    if (status == OVP_OK)
        status = check_current("a full current", full_A, error);
    if (status != OVP_OK)
        return status;
    if (is_wrong(joint->drop_mV, 0.0, electrical_limit("joint-drop-most"))) {
        ovp_error_set(error, OVP_ERROR_DATA, "%.6g mV across a joint cannot be", joint->drop_mV);
        ovp_error_hint(error, "0 to 100 V: look at the unit, and leave the sign out");
        return OVP_ERROR_DATA;
    }
    if (is_wrong(joint->rise_like_C, 0.0, 1500.0) || is_wrong(joint->rise_ambient_C, 0.0, 1500.0)) {
        ovp_error_set(error, OVP_ERROR_DATA, "a rise of a joint is 0 to 1500 degrees");
        ovp_error_hint(error, "how much warmer it is than the like joint, or than the air: 18K or 32F");
        return OVP_ERROR_DATA;
    }
    if (isnan(joint->drop_mV) && isnan(joint->rise_like_C) && isnan(joint->rise_ambient_C) &&
        isnan(joint->temperature_C)) {
        ovp_error_set(error, OVP_ERROR_DATA, "neither millivolts nor a rise: nothing to judge");
        ovp_error_hint(error, "give the millivolts across the joint and the amps, or its rise");
        return OVP_ERROR_DATA;
    }
    if (!isnan(full_A) && isnan(joint->current_A)) {
        ovp_error_set(error, OVP_ERROR_DATA, "full amps are known, but not the amps of the reading");
        ovp_error_hint(error, "give the amps at which it was taken");
        return OVP_ERROR_DATA;
    }
    return OVP_OK;
}

/* A rise at `ratio` times the current, least and most. */
static void scale_rise(double rise_C, double ratio, double scaled_C[2])
{
    double low_C = rise_C * pow(ratio, electrical_limit("rise-exponent-low"));
    double high_C = rise_C * pow(ratio, electrical_limit("rise-exponent-high"));
    scaled_C[0] = fmin(low_C, high_C);
    scaled_C[1] = fmax(low_C, high_C);
    if (isnan(rise_C))
        scaled_C[0] = scaled_C[1] = NAN;
}

static ovp_electrical_grade graver(ovp_electrical_grade a, ovp_electrical_grade b)
{
    return a > b ? a : b;
}

ovp_status ovp_electrical_joint_judge(const ovp_electrical_joint *joint, double full_A,
                                      ovp_electrical_joint_result *result, ovp_error *error)
{
    ovp_status status = check(joint, full_A, error);
    if (status != OVP_OK)
        return status;
    double measured_A = joint->current_A;
    double judged_A = isnan(full_A) || measured_A > full_A ? measured_A : full_A;
    double ratio = isnan(judged_A) ? 1.0 : judged_A / measured_A;
    ovp_electrical_joint_result made = {
        .milliohm = joint->drop_mV / measured_A,
        .heat_W = joint->drop_mV / 1000.0 * measured_A,
        .full_A = judged_A,
        .load_share = isnan(full_A) ? NAN : measured_A / full_A,
        .full_drop_mV = joint->drop_mV * ratio,
    };
    made.full_heat_W = made.full_drop_mV / 1000.0 * judged_A;
    scale_rise(joint->rise_like_C, ratio, made.full_rise_like_C);
    scale_rise(joint->rise_ambient_C, ratio, made.full_rise_ambient_C);
    made.like = ovp_electrical_rise_over_like(made.full_rise_like_C[1]);
    made.ambient = ovp_electrical_rise_over_ambient(made.full_rise_ambient_C[1]);
    made.by_drop = ovp_electrical_drop_grade(made.full_drop_mV, &made.drop_action, NULL);
    made.grade = graver(made.by_drop, graver(made.like.grade, made.ambient.grade));
    *result = made;
    return OVP_OK;
}

/* ---- several ---------------------------------------------------------------------------------------- */

static bool same_kind(const ovp_electrical_joint *a, const ovp_electrical_joint *b)
{
    return ovp_span_equals(ovp_span_of(a->kind), b->kind);
}

static bool same_day(const ovp_electrical_joint *a, const ovp_electrical_joint *b)
{
    return a->has_day == b->has_day && (!a->has_day || a->day == b->day);
}

static double like_temperature_C(const ovp_electrical_joint joints[], size_t count, size_t which)
{
    double values[OVP_ELECTRICAL_JOINTS];
    size_t used = 0;
    for (size_t i = 0; i < count && used < OVP_ELECTRICAL_JOINTS; i++)
        if (i != which && same_kind(&joints[i], &joints[which]) && same_day(&joints[i], &joints[which]) &&
            !isnan(joints[i].temperature_C))
            values[used++] = joints[i].temperature_C;
    return ovp_median(values, used);
}

void ovp_electrical_joints_fill(ovp_electrical_joint joints[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        ovp_electrical_joint *joint = &joints[i];
        if (isnan(joint->rise_ambient_C) && !isnan(joint->ambient_C))
            joint->rise_ambient_C = fmax(0.0, joint->temperature_C - joint->ambient_C);
        if (isnan(joint->temperature_C))
            continue;
        double like_C = like_temperature_C(joints, count, i);
        if (isnan(joint->rise_like_C) && !isnan(like_C))
            joint->rise_like_C = fmax(0.0, joint->temperature_C - like_C);
    }
}

static bool same_name(const ovp_electrical_joint *a, const ovp_electrical_joint *b)
{
    return a->name[0] != '\0' && ovp_span_equals(ovp_span_of(a->name), b->name);
}

size_t ovp_electrical_joints_latest(const ovp_electrical_joint joints[], size_t count, size_t latest[])
{
    size_t used = 0;
    for (size_t i = 0; i < count; i++) {
        size_t at = 0;
        while (at < used && !same_name(&joints[latest[at]], &joints[i]))
            at++;
        if (at == used)
            latest[used++] = i;
        else if (!joints[latest[at]].has_day ||
                 (joints[i].has_day && joints[i].day >= joints[latest[at]].day))
            latest[at] = i;
    }
    return used;
}

static double ohms_of(const ovp_electrical_joint *joint)
{
    return joint->drop_mV / joint->current_A;
}

static double others_milliohm(const ovp_electrical_joint joints[], const size_t indices[], size_t count,
                              size_t which, size_t *used)
{
    double values[OVP_ELECTRICAL_JOINTS];
    *used = 0;
    for (size_t i = 0; i < count && *used < OVP_ELECTRICAL_JOINTS; i++) {
        const ovp_electrical_joint *other = &joints[indices[i]];
        if (i != which && same_kind(other, &joints[indices[which]]) && !isnan(ohms_of(other)))
            values[(*used)++] = ohms_of(other);
    }
    return ovp_median(values, *used);
}

bool ovp_electrical_joints_compare(const ovp_electrical_joint joints[], const size_t indices[], size_t count,
                                   double full_A, ovp_electrical_joint_comparison *comparison)
{
    ovp_electrical_joint_comparison found = {.ratio = NAN, .others_mV = NAN};
    double most_milliohm = -1.0;
    for (size_t i = 0; i < count; i++) {
        const ovp_electrical_joint *joint = &joints[indices[i]];
        double milliohm = ohms_of(joint), at_A = isnan(full_A) ? joint->current_A : full_A;
        if (isnan(milliohm))
            continue;
        size_t others;
        double like = others_milliohm(joints, indices, count, i, &others);
        bool out = others > 0 && milliohm >= electrical_limit("joint-outlier-ratio") * like &&
                   (milliohm - like) * at_A >= electrical_limit("joint-outlier-difference");
        if (out < found.stands_out || (out == found.stands_out && milliohm <= most_milliohm))
            continue;
        most_milliohm = milliohm;
        found = (ovp_electrical_joint_comparison){out, indices[i], milliohm / like, like * at_A, others};
    }
    *comparison = found;
    return most_milliohm >= 0.0;
}
