/* How a joint's millivolts at full amps grow from one dated reading to the next. */
#include "electrical/electrical_internal.h"
#include "ovenproof/metrology.h"

#include <math.h>

static const double DAYS_PER_MONTH = 365.25 / 12.0, HORIZON_DAYS = 50.0 * 365.25;

/* A straight line with what is needed for its band. Days count from the last reading. */
typedef struct line {
    size_t count;
    double mean_day, spread; /* of the days: mean, and sum of squares about it */
    double mean_mV, slope;
    double deviation_mV, k; /* standard deviation of one reading, coverage factor */
} line;

static bool is_one(const ovp_electrical_joint *joint, const char *name)
{
    return joint->has_day && ovp_span_equals(ovp_span_of(joint->name), name) &&
           !isnan(joint->drop_mV / joint->current_A);
}

/* First day that counts: that of the last remaking. */
static long first_day(const ovp_electrical_joint joints[], size_t count, const char *name)
{
    long day = -1000000;
    for (size_t i = 0; i < count; i++)
        if (is_one(&joints[i], name) && joints[i].remade && joints[i].day > day)
            day = joints[i].day;
    return day;
}

static bool counts(const ovp_electrical_joint *joint, const char *name, long first)
{
    return is_one(joint, name) && joint->day >= first;
}

static double at_full_mV(const ovp_electrical_joint *joint, double full_A)
{
    return joint->drop_mV / joint->current_A * full_A;
}

static void fit(const ovp_electrical_joint joints[], size_t count, const char *name, long first, long last,
                double full_A, line *made)
{
    double products = 0.0, squares = 0.0;
    *made = (line){0};
    for (size_t i = 0; i < count; i++) {
        if (!counts(&joints[i], name, first))
            continue;
        double day = (double)(joints[i].day - last), mV = at_full_mV(&joints[i], full_A);
        made->count++;
        double day_step = day - made->mean_day, mV_step = mV - made->mean_mV;
        made->mean_day += day_step / (double)made->count;
        made->mean_mV += mV_step / (double)made->count;
        made->spread += day_step * (day - made->mean_day);
        products += day_step * (mV - made->mean_mV);
        squares += mV_step * (mV - made->mean_mV);
    }
    if (!(made->spread > 0.0))
        return;
    made->slope = products / made->spread;
    double level = electrical_limit("joint-trend-level"), least_mV = electrical_limit("joint-reading-sd");
    double freedom = (double)made->count - 2.0;
    double rest = fmax(0.0, squares - made->slope * products);
    double seen_mV = freedom > 0.0 ? sqrt(rest / freedom) : 0.0;
    made->deviation_mV = fmax(seen_mV, least_mV);
    made->k = ovp_metrology_student(level, seen_mV > least_mV ? freedom : INFINITY);
}

/* The line with `side` times its band: 0 the line itself, 1 the upper end, -1 the lower. */
static double band(const line *made, double side, double day)
{
    double from_mean = day - made->mean_day;
    double width =
        made->deviation_mV * sqrt(1.0 / (double)made->count + from_mean * from_mean / made->spread);
    return made->mean_mV + made->slope * from_mean + side * made->k * width;
}

/* Days from the last reading until an end of the band passes the limit; NAN: not within the horizon. */
static double passes(const line *made, double side, double limit_mV)
{
    double low = 0.0, high = HORIZON_DAYS;
    if (band(made, side, 0.0) >= limit_mV)
        return 0.0;
    if (band(made, side, high) < limit_mV)
        return NAN;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        if (band(made, side, middle) >= limit_mV)
            high = middle;
        else
            low = middle;
    }
    return high;
}

static void take_day(double days, long last, bool *has_day, long *day)
{
    *has_day = !isnan(days);
    *day = *has_day ? last + (long)ceil(days - 1e-6) : 0;
}

static ovp_status check(const ovp_electrical_joint joints[], size_t count, const char *name, double full_A,
                        long first, long *last, ovp_error *error)
{
    long earliest = 0;
    size_t found = 0;
    for (size_t i = 0; i < count; i++) {
        if (!counts(&joints[i], name, first))
            continue;
        earliest = found == 0 || joints[i].day < earliest ? joints[i].day : earliest;
        *last = found == 0 || joints[i].day > *last ? joints[i].day : *last;
        found++;
    }
    if (!(full_A > 0.0 && full_A <= 1000.0)) {
        ovp_error_set(error, OVP_ERROR_DATA, "a trend needs the full amps");
        ovp_error_hint(error, "give them: --at 15A, or --oven OVEN");
        return OVP_ERROR_DATA;
    }
    if (found > 0 && *last > earliest)
        return OVP_OK;
    ovp_error_set(error, OVP_ERROR_DATA, "a trend needs readings of two days");
    ovp_error_hint(error, "millivolts and amps of the same joint, each with its date");
    return OVP_ERROR_DATA;
}

ovp_status ovp_electrical_joint_trend_of(const ovp_electrical_joint joints[], size_t count, const char *name,
                                         double full_A, double limit_mV, ovp_electrical_joint_trend *trend,
                                         ovp_error *error)
{
    long first = first_day(joints, count, name), last = 0;
    ovp_status status = check(joints, count, name, full_A, first, &last, error);
    if (status != OVP_OK)
        return status;
    line made;
    fit(joints, count, name, first, last, full_A, &made);
    double doubt = made.k * made.deviation_mV / sqrt(made.spread);
    ovp_electrical_joint_trend result = {
        .readings = made.count,
        .growth_mV_per_month = made.slope * DAYS_PER_MONTH,
        .growth_low_mV_per_month = (made.slope - doubt) * DAYS_PER_MONTH,
        .growth_high_mV_per_month = (made.slope + doubt) * DAYS_PER_MONTH,
        .latest_mV = band(&made, 0.0, 0.0),
        .limit_mV = limit_mV,
    };
    result.grows = result.growth_low_mV_per_month > 0.0;
    result.passed = result.latest_mV >= limit_mV;
    take_day(passes(&made, 0.0, limit_mV), last, &result.has_day, &result.day);
    take_day(passes(&made, 1.0, limit_mV), last, &result.has_early_day, &result.early_day);
    take_day(passes(&made, -1.0, limit_mV), last, &result.has_late_day, &result.late_day);
    *trend = result;
    return OVP_OK;
}
