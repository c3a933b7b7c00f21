/* The outcome of `joint`, in words and as JSON. */
#include "command/beside.h"
#include "command/joint.h"

#include <math.h>
#include <string.h>

enum {
    TEXT_SIZE = 480,
    MOST_ROWS = 3,
};

int joint_status(const joint_job *job)
{
    bool bad = (job->row_count > 0 && job->rows[0].result.grade > OVP_ELECTRICAL_GOOD) ||
               (job->compared && job->comparison.stands_out) || (job->has_check && job->due.now);
    return bad ? OVP_JUDGED : OVP_OK;
}

static const char *name_of(const ovp_electrical_joint *joint)
{
    return joint->name[0] != '\0' ? joint->name : "this joint";
}

static command_words difference(const command_call *call, double value_C)
{
    command_words said;
    ovp_text_format_difference(value_C, call->degrees, 0, said.text, sizeof said.text);
    return said;
}

/* ---- the first line --------------------------------------------------------------------------------- */

/* "120 mV at 15.0 A, 1.8 W in one spot; 32 °F (18 °C) over a like joint" */
static void facts(const command_call *call, const joint_row *row, char *text, size_t size)
{
    const ovp_electrical_joint_result *result = &row->result;
    size_t at = 0;
    text[0] = '\0';
    if (!isnan(result->full_drop_mV) && !isnan(result->full_A))
        snprintf(text, size, "%.0f mV at %.1f A, %.1f W in one spot", result->full_drop_mV, result->full_A,
                 result->full_heat_W);
    else if (!isnan(result->full_drop_mV))
        snprintf(text, size, "%.0f mV", result->full_drop_mV);
    at = strlen(text);
    if (!isnan(result->full_rise_like_C[1]))
        snprintf(text + at, size - at, "%s%s over a like joint", at > 0 ? "; " : "",
                 difference(call, result->full_rise_like_C[1]).text);
    at = strlen(text);
    if (!isnan(result->full_rise_ambient_C[1]))
        snprintf(text + at, size - at, "%s%s above the air", at > 0 ? "; " : "",
                 difference(call, result->full_rise_ambient_C[1]).text);
}

static const char *lead(ovp_electrical_grade grade)
{
    static const char *const words[] = {
        [OVP_ELECTRICAL_NOT_JUDGED] = "Not judged",
        [OVP_ELECTRICAL_GOOD] = "Good",
        [OVP_ELECTRICAL_WATCH] = "See to it when the cover is next off",
        [OVP_ELECTRICAL_REPAIR] = "Remake it before the next firing",
        [OVP_ELECTRICAL_STOP] = "Unplug it, and no heat until it is remade",
    };
    return words[grade];
}

static void print_verdict(const command_call *call, const joint_job *job)
{
    char said[TEXT_SIZE], text[TEXT_SIZE + 128];
    const joint_row *worst = &job->rows[0];
    facts(call, worst, said, sizeof said);
    if (worst->result.grade == OVP_ELECTRICAL_GOOD && job->row_count > 1)
        snprintf(text, sizeof text, "Good: %zu joints. The most: %s, %s.", job->row_count,
                 name_of(worst->joint), said);
    else if (worst->joint->name[0] == '\0')
        snprintf(text, sizeof text, "%s: %s.", lead(worst->result.grade), said);
    else
        snprintf(text, sizeof text, "%s: %s, %s.", lead(worst->result.grade), worst->joint->name, said);
    command_say(call->out, text);
}

/* ---- what follows ----------------------------------------------------------------------------------- */

static void print_outlier(const command_call *call, const joint_job *job)
{
    char text[TEXT_SIZE];
    const ovp_electrical_joint_comparison *found = &job->comparison;
    if (!job->compared || !found->stands_out)
        return;
    snprintf(text, sizeof text, "%s stands out: %.1f times the ohms of its like joints (%.0f mV there).",
             name_of(&job->list.joints[found->index]), found->ratio, found->others_mV);
    command_say(call->out, text);
}

static void print_table(const command_call *call, const joint_job *job)
{
    static const int widths[] = {22, -8, -8, -8, -18, 10};
    const char *head[] = {"joint", "mV", "A", "W", "over a like one", ""};
    if (job->row_count < 2)
        return;
    ovp_text_table_row(call->out, head, widths, 6);
    for (size_t i = 0; i < job->row_count && i < MOST_ROWS; i++) {
        const ovp_electrical_joint_result *result = &job->rows[i].result;
        command_words cell[4] = {{""}, {""}, {""}, {""}};
        if (!isnan(result->full_drop_mV))
            snprintf(cell[0].text, sizeof cell[0].text, "%.0f", result->full_drop_mV);
        if (!isnan(result->full_A))
            snprintf(cell[1].text, sizeof cell[1].text, "%.1f", result->full_A);
        if (!isnan(result->full_heat_W))
            snprintf(cell[2].text, sizeof cell[2].text, "%.1f", result->full_heat_W);
        if (!isnan(result->full_rise_like_C[1]))
            cell[3] = difference(call, result->full_rise_like_C[1]);
        char name[24];
        ovp_copy_string(name, sizeof name, ovp_span_of(name_of(job->rows[i].joint)));
        const char *cells[] = {name,         cell[0].text, cell[1].text,
                               cell[2].text, cell[3].text, ovp_electrical_grade_name(result->grade)};
        ovp_text_table_row(call->out, cells, widths, 6);
    }
    if (job->row_count > MOST_ROWS)
        ovp_text_print(call->out, "and %zu more, none worse (--json has all)\n", job->row_count - MOST_ROWS);
}

static void day_words(bool has, long day, char text[16])
{
    ovp_copy_string(text, 16, ovp_span_of("not soon"));
    if (has)
        ovp_text_format_day(day, text, 16);
}

/* The joint whose millivolts grow fastest. */
static void print_trend(const command_call *call, const joint_job *job)
{
    const joint_row *found = NULL;
    char text[TEXT_SIZE], day[16], early[16], late[16];
    for (size_t i = 0; i < job->row_count; i++)
        if (job->rows[i].has_trend &&
            (found == NULL || job->rows[i].trend.growth_mV_per_month > found->trend.growth_mV_per_month))
            found = &job->rows[i];
    if (found == NULL)
        return;
    const ovp_electrical_joint_trend *trend = &found->trend;
    day_words(trend->has_day, trend->day, day);
    day_words(trend->has_early_day, trend->early_day, early);
    day_words(trend->has_late_day, trend->late_day, late);
    if (!trend->grows)
        snprintf(text, sizeof text,
                 "Trend: none grows for sure; the most is %s, %.1f mV a month (%.1f to %.1f).",
                 name_of(found->joint), trend->growth_mV_per_month, trend->growth_low_mV_per_month,
                 trend->growth_high_mV_per_month);
    else
        snprintf(text, sizeof text,
                 "Trend: %s grows %.1f mV a month (%.1f to %.1f); %s %.0f mV on %s (%s to %s).",
                 name_of(found->joint), trend->growth_mV_per_month, trend->growth_low_mV_per_month,
                 trend->growth_high_mV_per_month, trend->passed ? "it is past" : "it passes", trend->limit_mV,
                 day, early, late);
    command_say(call->out, text);
}

static void print_load(const command_call *call, const joint_job *job)
{
    char text[TEXT_SIZE];
    const joint_row *row = &job->rows[0];
    const ovp_electrical_joint_result *result = &row->result;
    if (!(result->load_share < 0.99))
        return;
    bool rises =
        job->row_count == 1 && (result->full_rise_like_C[1] > 0.0 || result->full_rise_ambient_C[1] > 0.0);
    bool low = result->load_share < ovp_electrical_limit_named("joint-load-share")->value;
    snprintf(text, sizeof text, "That is at full amps; it was measured at %.1f A, %.0f %% of them.%s%s",
             row->joint->current_A, 100.0 * result->load_share,
             rises ? " A rise grows with the square of the amps, or a little less (power 1.6 to 2)." : "",
             rises && low ? " Below 40 % a rise says little: repeat it at full amps." : "");
    command_say(call->out, text);
}

static void print_action(const command_call *call, const joint_job *job)
{
    const joint_row *worst = &job->rows[0];
    if (joint_status(job) != OVP_OK &&
        (worst->result.grade > OVP_ELECTRICAL_GOOD || job->comparison.stands_out))
        command_say(call->out,
                    "Do: unplugged and cold, cut back to bright metal, new terminal, torque to the drawing. "
                    "Browned or brittle: replace it, do not tighten it. A loose connection overheats at "
                    "itself; no breaker sees it.");
    else
        command_say(call->out, "Next: write it down with the day: growth tells more than one reading.");
    bool by_rise = !isnan(worst->joint->rise_like_C) || !isnan(worst->joint->rise_ambient_C);
    if (by_rise && job->row_count == 1)
        command_say(call->out, "IR thermometer: only on matt tape or paint; bare metal reads far too cool.");
    command_say(call->out, "Live joints are for a technician. Unplugged first: brown marks, a tug, torque, "
                           "micro-ohms.");
}

static void print_due(const command_call *call, const joint_job *job)
{
    char text[TEXT_SIZE], day[16];
    const ovp_electrical_check_due *due = &job->due;
    if (!job->has_check)
        return;
    day_words(due->has_day, due->day, day);
    if (due->now)
        snprintf(text, sizeof text, "Torque check: due now (%s; %s).", day, due->text);
    else if (due->has_day)
        snprintf(text, sizeof text, "Torque check: next on %s (%s).", day, due->text);
    else if (!isnan(due->firings_left))
        snprintf(text, sizeof text, "Torque check: after %.0f more firing%s (%s).", due->firings_left,
                 due->firings_left > 1.0 ? "s" : "", due->text);
    else
        snprintf(text, sizeof text, "Torque check: %.0f hot hours left, or six months after the last check.",
                 due->hot_hours_left);
    command_say(call->out, text);
}

/* ---- --why ------------------------------------------------------------------------------------------ */

static void why_class(const command_call *call, const char *against, const ovp_electrical_rise_class *found,
                      const double rise_C[2])
{
    char text[TEXT_SIZE];
    if (isnan(rise_C[1]))
        return;
    snprintf(text, sizeof text, "  %s: %s to %s is class \"%s\" (%s degC printed): %s. %s", against,
             difference(call, rise_C[0]).text, difference(call, rise_C[1]).text, found->name,
             found->published[0] != '\0' ? found->published : "below 1", found->action, found->source);
    command_say(call->out, text);
}

static void print_why(const command_call *call, const joint_job *job)
{
    static const char *const names[] = {"rise-exponent-high",  "rise-exponent-low", "joint-load-share",
                                        "joint-outlier-ratio", "joint-reading-sd",  "check-hot-hours",
                                        "emissivity-bright"};
    char text[TEXT_SIZE];
    if (job->row_count > 0) {
        const joint_row *worst = &job->rows[0];
        snprintf(text, sizeof text, "Why: %s: %.3g milliohm, %.2f W as measured.", name_of(worst->joint),
                 worst->result.milliohm, worst->result.heat_W);
        command_say(call->out, text);
        command_say(call->out,
                    "  Millivolts at full amps: under 50 good, 50 to 100 watch, over 100 remake, 200 "
                    "stop. common practice, no published source");
        why_class(call, "over a like joint", &worst->result.like, worst->result.full_rise_like_C);
        why_class(call, "above the air", &worst->result.ambient, worst->result.full_rise_ambient_C);
    }
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const ovp_electrical_limit *row = ovp_electrical_limit_named(names[i]);
        snprintf(text, sizeof text, "  %g %s: %s. %s", row->value,
                 strcmp(row->unit, "1") == 0 ? "" : row->unit, row->text, row->source);
        command_say(call->out, text);
    }
}

int joint_print(const command_call *call, const joint_job *job)
{
    if (job->row_count > 0) {
        print_verdict(call, job);
        print_outlier(call, job);
        print_table(call, job);
        print_load(call, job);
        print_trend(call, job);
        print_action(call, job);
    }
    print_due(call, job);
    if (command_given(call, "why"))
        print_why(call, job);
    return command_finish(joint_status(job));
}

/* ---- JSON ------------------------------------------------------------------------------------------- */

static void json_day(ovp_text_json *json, const char *key, bool has, long day)
{
    char text[16];
    if (has)
        ovp_text_format_day(day, text, sizeof text);
    ovp_text_json_key_string(json, key, has ? text : NULL);
}

static void json_pair(ovp_text_json *json, const char *key, const double pair[2])
{
    ovp_text_json_key(json, key);
    if (isnan(pair[0])) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_array(json);
    ovp_text_json_number(json, pair[0]);
    ovp_text_json_number(json, pair[1]);
    ovp_text_json_end_array(json);
}

static void json_class(ovp_text_json *json, const char *key, const ovp_electrical_rise_class *found)
{
    ovp_text_json_key_string(json, key, found->grade == OVP_ELECTRICAL_NOT_JUDGED ? NULL : found->name);
}

static void json_trend(ovp_text_json *json, const joint_row *row)
{
    const ovp_electrical_joint_trend *trend = &row->trend;
    ovp_text_json_key(json, "trend");
    if (!row->has_trend) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    ovp_text_json_key_integer(json, "readings", (int64_t)trend->readings);
    ovp_text_json_key_number(json, "growth_mV_per_month", trend->growth_mV_per_month);
    ovp_text_json_key_number(json, "growth_low_mV_per_month", trend->growth_low_mV_per_month);
    ovp_text_json_key_number(json, "growth_high_mV_per_month", trend->growth_high_mV_per_month);
    ovp_text_json_key_number(json, "limit_mV", trend->limit_mV);
    ovp_text_json_key_boolean(json, "passed", trend->passed);
    json_day(json, "passes", trend->has_day, trend->day);
    json_day(json, "passes_earliest", trend->has_early_day, trend->early_day);
    json_day(json, "passes_latest", trend->has_late_day, trend->late_day);
    ovp_text_json_end_object(json);
}

static void json_row(ovp_text_json *json, const joint_row *row)
{
    const ovp_electrical_joint_result *result = &row->result;
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "name", row->joint->name[0] != '\0' ? row->joint->name : NULL);
    ovp_text_json_key_number(json, "drop_mV", row->joint->drop_mV);
    ovp_text_json_key_number(json, "current_A", row->joint->current_A);
    ovp_text_json_key_number(json, "resistance_ohm", result->milliohm / 1000.0);
    ovp_text_json_key_number(json, "heat_W", result->heat_W);
    ovp_text_json_key_number(json, "full_A", result->full_A);
    ovp_text_json_key_number(json, "full_drop_mV", result->full_drop_mV);
    ovp_text_json_key_number(json, "full_heat_W", result->full_heat_W);
    json_pair(json, "full_rise_over_like_C", result->full_rise_like_C);
    json_pair(json, "full_rise_over_ambient_C", result->full_rise_ambient_C);
    json_class(json, "class_over_like", &result->like);
    json_class(json, "class_over_ambient", &result->ambient);
    ovp_text_json_key_string(json, "grade", ovp_electrical_grade_name(result->grade));
    json_trend(json, row);
    ovp_text_json_end_object(json);
}

static void json_due(ovp_text_json *json, const joint_job *job)
{
    ovp_text_json_key(json, "next_check");
    if (!job->has_check) {
        ovp_text_json_null(json);
        return;
    }
    ovp_text_json_begin_object(json);
    ovp_text_json_key_boolean(json, "now", job->due.now);
    json_day(json, "day", job->due.has_day, job->due.day);
    ovp_text_json_key_number(json, "firings_left", job->due.firings_left);
    ovp_text_json_key_number(json, "hot_hours_left", job->due.hot_hours_left);
    ovp_text_json_key_string(json, "reason", job->due.text);
    ovp_text_json_end_object(json);
}

int joint_print_json(const command_call *call, const joint_job *job)
{
    ovp_text_json json;
    const ovp_electrical_joint_comparison *found = &job->comparison;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "joint", 1);
    ovp_text_json_key_string(&json, "grade",
                             ovp_electrical_grade_name(job->row_count > 0 ? job->rows[0].result.grade
                                                                          : OVP_ELECTRICAL_NOT_JUDGED));
    ovp_text_json_key(&json, "joints");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < job->row_count; i++)
        json_row(&json, &job->rows[i]);
    ovp_text_json_end_array(&json);
    ovp_text_json_key_string(&json, "stands_out",
                             job->compared && found->stands_out ? name_of(&job->list.joints[found->index])
                                                                : NULL);
    ovp_text_json_key_number(&json, "ratio_to_like_joints", job->compared ? found->ratio : NAN);
    json_due(&json, job);
    (void)ovp_text_json_end_document(&json);
    return command_finish(joint_status(job));
}
