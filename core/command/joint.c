/* `joint`: heat in a terminal, from millivolts and amps or from a rise; trend, and when torque is due. */
#include "command/joint.h"
#include "command/input.h"
#include "lua/lua.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static const command_option options[] = {
    {"drop", "MV", true, "millivolts across a joint: 120mV, or with its name: block=120mV"},
    {"current", "A", true, "amps through it at that moment; one for all, or one for each --drop"},
    {"rise", "D", false, "how much warmer it is than a like joint under like load: 18K or 32F"},
    {"ambient-rise", "D", false, "how much warmer it is than the air around"},
    {"at", "A", false, "full amps: what a reading at part load means there"},
    {"oven", "OVEN", false, "a described oven: its full amps"},
    {"joints", "FILE", false, "a list: name,mV,A,rise_F,date; several dates of a joint make a trend"},
    {"limit", "MV", false, "of the trend: when does it pass this; 100mV when not given"},
    {"checked", "DATE", true, "a torque check, oldest first: DATE:tight, :turned, :far (1/8 turn)"},
    {"firings", "N", false, "firings since the joints were new or remade, while no check was done"},
    {"hot-hours", "H", false, "hours hot since the last check"},
    {"hot-hours-a-week", "H", false, "as it is used"},
    {"why", NULL, false, "the figures behind it, with their sources"},
    {0},
};

/* ---- readings of the command line ------------------------------------------------------------------ */

static ovp_status option_error(const char *name, ovp_error *error)
{
    char what[OVP_ERROR_TEXT_SIZE];
    ovp_copy_string(what, sizeof what, ovp_span_of(error->what));
    snprintf(error->what, sizeof error->what, "option --%s: %.280s", name, what);
    error->status = OVP_ERROR_USAGE;
    return OVP_ERROR_USAGE;
}

/* "block=120mV": the name goes to the joint, the rest is returned. */
static ovp_span part_name(const char *value, ovp_electrical_joint *joint)
{
    const char *sign = strchr(value, '=');
    if (sign == NULL)
        return ovp_span_of(value);
    ovp_copy_string(joint->name, sizeof joint->name,
                    ovp_span_trim((ovp_span){value, (size_t)(sign - value)}));
    return ovp_span_of(sign + 1);
}

static ovp_status read_current(const command_call *call, size_t index, double *current_A, ovp_error *error)
{
    const char *value = command_value_at(call, "current", index);
    if (value == NULL && command_value_at(call, "current", 1) != NULL)
        return ovp_error_set(error, OVP_ERROR_USAGE, "--current is wanted once for all, or once for each");
    if (value == NULL)
        value = command_value(call, "current");
    if (value == NULL)
        return OVP_OK;
    ovp_status status =
        ovp_text_quantity(ovp_span_of(value), OVP_TEXT_CURRENT, OVP_TEXT_DEGREES_NONE, current_A, error);
    return status == OVP_OK ? OVP_OK : option_error("current", error);
}

static ovp_status read_drops(const command_call *call, joint_job *job, ovp_error *error)
{
    const char *value;
    ovp_electrical_joint_list *list = &job->list;
    while ((value = command_value_at(call, "drop", list->count)) != NULL) {
        ovp_electrical_joint *joint = &list->joints[list->count];
        ovp_electrical_joint_init(joint);
        ovp_span number = part_name(value, joint);
        if (ovp_text_quantity(number, OVP_TEXT_EMF, OVP_TEXT_DEGREES_NONE, &joint->drop_mV, error) != OVP_OK)
            return option_error("drop", error);
        ovp_status status = read_current(call, list->count, &joint->current_A, error);
        if (status != OVP_OK)
            return status;
        if (isnan(joint->current_A))
            return ovp_error_set(error, OVP_ERROR_USAGE,
                                 "--drop needs the amps at that moment: --current 15A");
        list->count++;
    }
    return OVP_OK;
}

/* A rise goes with the one drop, or stands alone. */
static ovp_status read_rises(const command_call *call, joint_job *job, ovp_error *error)
{
    ovp_electrical_joint *joint = &job->list.joints[0];
    if (!command_given(call, "rise") && !command_given(call, "ambient-rise"))
        return OVP_OK;
    if (job->list.count > 1)
        return ovp_error_set(error, OVP_ERROR_USAGE, "a rise of which joint? several need --joints FILE");
    if (job->list.count == 0) {
        ovp_electrical_joint_init(joint);
        ovp_status status = read_current(call, 0, &joint->current_A, error);
        if (status != OVP_OK)
            return status;
        job->list.count = 1;
    }
    ovp_status status =
        command_quantity(call, "rise", OVP_TEXT_TEMPERATURE_DIFFERENCE, &joint->rise_like_C, error);
    if (status == OVP_OK)
        status = command_quantity(call, "ambient-rise", OVP_TEXT_TEMPERATURE_DIFFERENCE,
                                  &joint->rise_ambient_C, error);
    return status;
}

/* ---- the list --------------------------------------------------------------------------------------- */

static ovp_status feed(void *reader, const char *bytes, size_t count, ovp_error *error)
{
    return ovp_electrical_joint_reader_feed(reader, bytes, count, error);
}

static ovp_status read_list(const command_call *call, joint_job *job, ovp_error *error)
{
    job->file = command_value(call, "joints");
    if (job->file == NULL)
        return OVP_OK;
    if (command_given(call, "drop") || command_given(call, "rise") || command_given(call, "ambient-rise"))
        return ovp_error_set(error, OVP_ERROR_USAGE,
                             "--joints has the readings: leave --drop and --rise out");
    void *memory = malloc(ovp_electrical_joint_reader_size());
    if (memory == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    ovp_electrical_joint_reader *reader = ovp_electrical_joint_reader_init(memory, call->degrees, &job->list);
    ovp_status status = command_feed_file(job->file, feed, reader, "is the name right?", error);
    if (status == OVP_OK)
        status = ovp_electrical_joint_reader_end(reader, error);
    free(memory);
    if (status != OVP_OK)
        ovp_error_place(error, command_input_name(job->file), 0);
    return status;
}

/* ---- full amps -------------------------------------------------------------------------------------- */

static ovp_status read_full(const command_call *call, joint_job *job, ovp_error *error)
{
    static ovp_oven oven; /* large */
    ovp_electrical_load load;
    const char *name = command_value(call, "oven");
    job->full_A = NAN;
    if (name != NULL) {
        ovp_status status = lua_read_oven(name, &oven, NULL, NULL, error);
        if (status == OVP_OK)
            status = ovp_electrical_load_of(&oven, NAN, &load, error);
        if (status != OVP_OK)
            return status;
        job->full_A = load.full_A;
    }
    return command_quantity(call, "at", OVP_TEXT_CURRENT, &job->full_A, error);
}

/* A list without amps is rises alone: full amps have nothing to scale. */
static double full_amps(const joint_job *job, const ovp_electrical_joint *joint)
{
    return isnan(joint->current_A) && job->file != NULL ? NAN : job->full_A;
}

/* ---- torque checks ---------------------------------------------------------------------------------- */

static ovp_status take_check(const char *value, ovp_electrical_check_history *history, ovp_error *error)
{
    const char *sign = strchr(value, ':');
    ovp_span date = {value, sign != NULL ? (size_t)(sign - value) : strlen(value)};
    ovp_span found = ovp_span_trim(ovp_span_of(sign != NULL ? sign + 1 : "turned"));
    bool tight = ovp_span_equals(found, "tight"), far = ovp_span_equals(found, "far");
    long day;
    if (!ovp_text_day(date, &day) || !(tight || far || ovp_span_equals(found, "turned"))) {
        ovp_error_set(error, OVP_ERROR_USAGE, "option --checked: \"%.40s\" is no check", value);
        ovp_error_hint(error, "write 2026-05-25:tight, :turned or :far (more than an eighth of a turn)");
        return OVP_ERROR_USAGE;
    }
    if (history->checks > 0 && day < history->day)
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --checked: %.40s is earlier than the one before",
                             value);
    history->checks++;
    history->has_day = true;
    history->day = day;
    history->tight_in_a_row = tight ? history->tight_in_a_row + 1 : 0;
    history->far_in_a_row = far ? history->far_in_a_row + 1 : 0;
    return OVP_OK;
}

static long today(void)
{
    time_t now = time(NULL);
    struct tm local;
    long day = 0;
    if (localtime_r(&now, &local) != NULL)
        ovp_text_day_number(local.tm_year + 1900L, local.tm_mon + 1L, local.tm_mday, &day);
    return day;
}

static ovp_status read_count(const command_call *call, const char *name, double *value, ovp_error *error)
{
    ovp_status status = command_quantity(call, name, OVP_TEXT_COUNT, value, error);
    if (status == OVP_OK && (*value < 0.0 || *value > 1e6))
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --%s: a number from 0 on is wanted", name);
    return status;
}

static ovp_status read_checks(const command_call *call, joint_job *job, ovp_error *error)
{
    ovp_electrical_check_history *history = &job->history;
    double per_week = NAN;
    const char *value;
    *history = (ovp_electrical_check_history){.firings = NAN, .hot_hours = NAN, .today = today()};
    ovp_status status = read_count(call, "firings", &history->firings, error);
    if (status == OVP_OK)
        status = read_count(call, "hot-hours", &history->hot_hours, error);
    if (status == OVP_OK)
        status = read_count(call, "hot-hours-a-week", &per_week, error);
    for (size_t i = 0; status == OVP_OK && (value = command_value_at(call, "checked", i)) != NULL; i++)
        status = take_check(value, history, error);
    history->hot_hours_per_day = per_week / 7.0;
    job->has_check = history->checks > 0 || !isnan(history->firings) || !isnan(history->hot_hours);
    if (status == OVP_OK && job->has_check)
        ovp_electrical_next_check(history, &job->due);
    return status;
}

/* ---- judging ---------------------------------------------------------------------------------------- */

static bool graver(const joint_row *a, const joint_row *b)
{
    if (a->result.grade != b->result.grade)
        return a->result.grade > b->result.grade;
    return a->result.full_drop_mV > b->result.full_drop_mV;
}

static void keep_in_order(joint_job *job, const joint_row *row)
{
    size_t at = job->row_count++;
    for (; at > 0 && graver(row, &job->rows[at - 1]); at--)
        job->rows[at] = job->rows[at - 1];
    job->rows[at] = *row;
}

static ovp_status judge_one(joint_job *job, size_t index, ovp_error *error)
{
    const ovp_electrical_joint_list *list = &job->list;
    joint_row row = {.joint = &list->joints[index]};
    ovp_status status = ovp_electrical_joint_judge(row.joint, full_amps(job, row.joint), &row.result, error);
    if (status != OVP_OK) {
        if (job->file == NULL)
            error->status = OVP_ERROR_USAGE;
        else
            ovp_error_place(error, command_input_name(job->file), list->lines[index]);
        return error->status;
    }
    row.has_trend =
        ovp_electrical_joint_trend_of(list->joints, list->count, row.joint->name, row.result.full_A,
                                      job->limit_mV, &row.trend, NULL) == OVP_OK;
    keep_in_order(job, &row);
    return OVP_OK;
}

static ovp_status judge(joint_job *job, ovp_error *error)
{
    static size_t latest[OVP_ELECTRICAL_JOINTS];
    size_t count = ovp_electrical_joints_latest(job->list.joints, job->list.count, latest);
    for (size_t i = 0; i < count; i++) {
        ovp_status status = judge_one(job, latest[i], error);
        if (status != OVP_OK)
            return status;
    }
    job->compared =
        ovp_electrical_joints_compare(job->list.joints, latest, count, job->full_A, &job->comparison) &&
        job->comparison.others_count > 0;
    return OVP_OK;
}

static ovp_status prepare(const command_call *call, joint_job *job, ovp_error *error)
{
    job->limit_mV = ovp_electrical_drop_limit_mV(OVP_ELECTRICAL_REPAIR);
    ovp_status status = read_list(call, job, error);
    if (status == OVP_OK)
        status = read_drops(call, job, error);
    if (status == OVP_OK)
        status = read_rises(call, job, error);
    if (status == OVP_OK)
        status = read_full(call, job, error);
    if (status == OVP_OK)
        status = command_quantity(call, "limit", OVP_TEXT_EMF, &job->limit_mV, error);
    if (status == OVP_OK && !(job->limit_mV > 0.0))
        status = ovp_error_set(error, OVP_ERROR_USAGE, "option --limit: millivolts above zero are wanted");
    if (status == OVP_OK)
        status = read_checks(call, job, error);
    return status;
}

static int run(command_call *call)
{
    static joint_job job; /* 512 readings: too large for a small stack */
    ovp_error error = {0};
    if (call->operand_count != 0)
        return command_usage(call, "\"%.40s\" is not expected: a list is given with --joints",
                             call->operands[0]);
    ovp_status status = prepare(call, &job, &error);
    if (status == OVP_OK && job.list.count == 0 && !job.has_check)
        return command_usage(call,
                             "what was measured? --drop 120mV --current 15A, --rise 32F or --joints FILE");
    if (status == OVP_OK)
        status = judge(&job, &error);
    if (status != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof joint --help` has examples");
        return command_fail(&error);
    }
    return call->json ? joint_print_json(call, &job) : joint_print(call, &job);
}

const command_definition command_joint = {
    .name = "joint",
    .synopsis = "--drop MV --current A | --rise D | --joints FILE [--at A | --oven OVEN]",
    .summary = "Heat in a joint of plug, block or terminal: what to do, and when torque is due.",
    .details =
        "Millivolts across a joint times the amps through it are watts in one spot. Full amps: under 50 mV "
        "is\n"
        "good, over 100 mV is remade, at 200 mV stop (common practice). A rise over a like joint under like\n"
        "load, or above the air, has the classes of ANSI/NETA MTS table 100.18.\n"
        "Measuring millivolts across a live joint is for a technician. Unplugged come first: eyes for brown\n"
        "marks, a tug, torque, or a micro-ohm meter. An IR thermometer wants matt tape on bare metal.\n"
        "FILE is delimited text with a header of name,mV,A,rise_F,date; any of them but the name may be "
        "left\n"
        "out, and there may be kind (compares like with like), temperature_F, ambient_F and remade (yes).",
    .options = options,
    .examples = "ovenproof joint --drop 120mV --current 15A\n"
                "ovenproof joint --drop plug=22 --drop block=25 --drop relay=96 --current 12A --at 15A\n"
                "ovenproof joint --rise 32F --current 8A --oven QR-8\n"
                "ovenproof joint --joints docs/examples/joints.csv --oven QR-8\n"
                "ovenproof joint --checked 2026-05-20:tight --checked 2026-11-20:tight --hot-hours 60",
    .run = run,
};
