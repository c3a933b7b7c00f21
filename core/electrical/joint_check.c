/* When the joints are due: the one interval rule, for every command. */
#include "electrical/electrical_internal.h"

#include <math.h>

static const char *const reason_text[] = {
    "after the first three firings",
    "six months after the last check",
    "yearly: the last two checks needed no turn",
    "half the interval: two checks in a row took more than an eighth of a turn. Find out why",
    "200 hot hours pull it forward",
};

static bool reached(size_t count, const char *limit)
{
    return (double)count >= electrical_limit(limit);
}

/* Months between checks, and why. */
static int interval(const ovp_electrical_check_history *history, ovp_electrical_check_reason *reason)
{
    bool settled = reached(history->tight_in_a_row, "check-tight");
    double months = electrical_limit(settled ? "check-months-settled" : "check-months");
    *reason = settled ? OVP_ELECTRICAL_CHECK_YEARLY : OVP_ELECTRICAL_CHECK_SIX_MONTHS;
    if (!settled && reached(history->far_in_a_row, "check-tight")) {
        months *= electrical_limit("check-halved");
        *reason = OVP_ELECTRICAL_CHECK_HALVED;
    }
    return (int)months;
}

/* Hot hours may come before the calendar. */
static void pull_forward(const ovp_electrical_check_history *history, ovp_electrical_check_due *due)
{
    due->hot_hours_left = fmax(0.0, electrical_limit("check-hot-hours") - history->hot_hours);
    if (isnan(history->hot_hours)) {
        due->hot_hours_left = NAN;
        return;
    }
    bool spent = due->hot_hours_left <= 0.0;
    double days = spent ? 0.0 : due->hot_hours_left / history->hot_hours_per_day;
    if (!(days >= 0.0 && days < 36525.0))
        return;
    long day = history->today + (long)days;
    if (due->has_day && due->day <= day && !spent)
        return;
    due->now = due->now || spent;
    if (!due->has_day || day < due->day) {
        due->has_day = true;
        due->day = day;
        due->reason = OVP_ELECTRICAL_CHECK_HOT_HOURS;
    }
}

static void first_check(const ovp_electrical_check_history *history, ovp_electrical_check_due *due)
{
    due->reason = OVP_ELECTRICAL_CHECK_FIRST_FIRINGS;
    due->firings_left = NAN;
    if (isnan(history->firings))
        return;
    due->firings_left = fmax(0.0, electrical_limit("check-first-firings") - history->firings);
    if (due->firings_left <= 0.0) {
        due->now = due->has_day = true;
        due->day = history->today;
    }
}

void ovp_electrical_next_check(const ovp_electrical_check_history *history, ovp_electrical_check_due *due)
{
    ovp_electrical_check_due made = {.firings_left = NAN};
    if (history->checks == 0)
        first_check(history, &made);
    else
        made.months = interval(history, &made.reason);
    if (history->has_day && !made.has_day) {
        int months = made.months > 0 ? made.months : (int)electrical_limit("check-months");
        made.has_day = true;
        made.day = ovp_text_add_months(history->day, months);
        if (history->checks == 0 && isnan(history->firings))
            made.reason = OVP_ELECTRICAL_CHECK_SIX_MONTHS;
    }
    pull_forward(history, &made);
    made.now = made.now || (made.has_day && made.day <= history->today);
    made.text = reason_text[made.reason];
    *due = made;
}
