/* `expect`: heat-up times, energy and currents to expect, before the oven is built or at another supply. */
#include "command/command.h"
#include "lua/lua.h"
#include "ovenproof/thermal.h"
#include "picture/picture.h"

#include <math.h>
#include <string.h>

static const command_option options[] = {
    {"supply", "V", false, "volts at the wall, such as 228V; the oven's own when not given"},
    {"ambient", "T", false, "temperature of room and oven at the start; 75 °F (24 °C) when not given"},
    {"load", "MASS", false, "steel in the oven, such as 2lb; empty when not given"},
    {"plot", NULL, false, "draw the heat-up in the terminal, with the limits marked"},
    {"picture", "FILE", false, "draw it into a file that ends in .svg, .pdf or .png"},
    {"price", "P", false, "price of a kWh: adds what each heat-up costs, in the same money"},
    {0},
};

typedef struct asked {
    ovp_thermal_conditions conditions;
    double load_kg, price_per_kWh;
} asked;

static ovp_status read_asked(const command_call *call, asked *given, ovp_error *error)
{
    *given = (asked){.price_per_kWh = NAN};
    ovp_thermal_conditions_init(&given->conditions);
    const struct {
        const char *name;
        ovp_text_kind kind;
        double *value;
    } rows[] = {
        {"supply", OVP_TEXT_VOLTAGE, &given->conditions.supply_V},
        {"ambient", OVP_TEXT_TEMPERATURE, &given->conditions.ambient_C},
        {"load", OVP_TEXT_MASS, &given->load_kg},
        {"price", OVP_TEXT_COUNT, &given->price_per_kWh},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ovp_status status = command_quantity(call, rows[i].name, rows[i].kind, rows[i].value, error);
        if (status != OVP_OK) {
            return status;
        }
    }
    if (!isnan(given->conditions.supply_V) && !(given->conditions.supply_V > 0)) {
        return ovp_error_set(error, OVP_ERROR_USAGE, "option --supply: volts above zero are wanted");
    }
    if (given->load_kg < 0 || given->price_per_kWh < 0) {
        return ovp_error_set(error, OVP_ERROR_USAGE, "load and price cannot be below zero");
    }
    given->conditions.load_J_per_K = ovp_thermal_steel_J_per_K(given->load_kg);
    return OVP_OK;
}

/* ---- words ------------------------------------------------------------------------------------------ */

static command_words minutes(double time_s)
{
    command_words shown = {"never"};
    if (!isnan(time_s)) {
        snprintf(shown.text, sizeof shown.text, "%.1f min", time_s / 60);
    }
    return shown;
}

static void print_first_line(const command_call *call, const ovp_oven *oven, const asked *given,
                             const ovp_thermal_outlook *outlook)
{
    const size_t last = outlook->mark_count;
    char load[64] = "empty";

    if (given->load_kg > 0) {
        snprintf(load, sizeof load, "with %.2g kg of steel", given->load_kg);
    }
    if (last == 0 || isnan(outlook->marks[last - 1].time_s)) {
        printf("Expect %s, %s on %.0f V, to stop rising near %s.\n", oven->name, load, outlook->supply_V,
               command_show_temperature(call, outlook->ceiling_C, 0).text);
        return;
    }
    printf("Expect %s, %s on %.0f V, to reach %s in %.0f min from cold.\n", oven->name, load,
           outlook->supply_V, command_show_temperature(call, outlook->marks[last - 1].to_C, 0).text,
           outlook->marks[last - 1].time_s / 60);
}

static const char *remark(const ovp_thermal_outlook_mark *mark)
{
    if (isnan(mark->within_s)) {
        return "";
    }
    if (isnan(mark->time_s) || mark->time_s > mark->within_s) {
        return "late: the limit is not met";
    }
    if (mark->half_power_s <= mark->within_s) {
        return "slack: half the power would pass";
    }
    return "";
}

static void print_marks(const command_call *call, const ovp_thermal_outlook *outlook)
{
    const int widths[] = {20, -10, -10, -9, -8, 32};
    const bool cost = outlook->mark_count > 0 && !isnan(outlook->marks[0].cost);
    const char *head[] = {"from cold to",     "takes", outlook->limits ? "limit" : "", "energy",
                          cost ? "cost" : "", ""};

    ovp_text_table_row(call->out, head, widths, 6);
    for (size_t i = 0; i < outlook->mark_count; i++) {
        const ovp_thermal_outlook_mark *mark = &outlook->marks[i];
        const command_words to = command_show_temperature(call, mark->to_C, 0);
        const command_words takes = minutes(mark->time_s);
        const command_words limit = isnan(mark->within_s) ? (command_words){""} : minutes(mark->within_s);
        command_words energy = {""}, price = {""};
        if (!isnan(mark->energy_J)) {
            snprintf(energy.text, sizeof energy.text, "%.2f kWh", mark->energy_J / 3.6e6);
        }
        if (!isnan(mark->cost)) {
            snprintf(price.text, sizeof price.text, "%.2f", mark->cost);
        }
        const char *cells[] = {to.text, takes.text, limit.text, energy.text, price.text, remark(mark)};
        ovp_text_table_row(call->out, cells, widths, 6);
    }
}

/* The supply that the slowest mark asks for. */
static void print_least(const ovp_thermal_outlook *outlook)
{
    double least_V = 0;
    for (size_t i = 0; i < outlook->mark_count; i++) {
        const double here_V = outlook->marks[i].least_V;
        if (isnan(here_V)) {
            return;
        }
        least_V = fmax(least_V, here_V);
    }
    if (least_V > 0) {
        printf("\nBy this model every limit is met from %.0f V up.", ceil(least_V));
    }
}

static void print_rest(const command_call *call, const ovp_thermal_outlook *outlook)
{
    printf("Full heat draws %.1f A, %.0f W", outlook->full_A, outlook->full_W);
    if (outlook->controls_A > 0) {
        printf(", with its controls %.1f A", outlook->full_A + outlook->controls_A);
    }
    printf(".");
    if (!isnan(outlook->hold_C)) {
        printf("\nHolding %s takes %.0f W (%.0f %% output) once soaked.",
               command_show_temperature(call, outlook->hold_C, 0).text, outlook->hold_W,
               100 * outlook->hold_share);
    }
    print_least(outlook);
    printf("\nPower alone would bring it to about %s: only its controls keep it below its limit.\n",
           command_show_temperature(call, outlook->ceiling_C, 0).text);
    printf(
        "Times are good to about %.0f %%: a model with judged linings, dry. A first firing takes longer.\n",
        100 * outlook->time_uncertainty);
    printf("Next: record one good run, and `ovenproof trace RUN --oven %.40s` proves it.\n",
           call->operands[0]);
}

enum {
    PLOT_POINTS = 300,
    MARK_SIZE = 176,
};

/* To the last mark that is reached or the last limit, whichever is later, and a little more. */
static double plot_end_s(const ovp_thermal_outlook *outlook)
{
    double end_s = 600;

    for (size_t i = 0; i < outlook->mark_count; i++) {
        end_s = fmax(end_s, fmax(outlook->marks[i].time_s, outlook->marks[i].within_s));
    }
    return 1.05 * end_s;
}

static ovp_status draw(const command_call *call, const ovp_oven *oven, const asked *given,
                       const ovp_thermal_outlook *outlook, ovp_error *error)
{
    static picture_series series; /* large */
    double times_s[PLOT_POINTS], temperature_C[PLOT_POINTS];
    char texts[PICTURE_LIMITS][MARK_SIZE], all[PICTURE_LIMITS * MARK_SIZE] = "",
                                                                title[OVP_OVEN_STRING_SIZE + 32];
    picture_limit limits[PICTURE_LIMITS];
    ovp_thermal_parameters parameters;
    picture_trace picture = {.title = title,
                             .subtitle = "Worked out from its description: no oven was run.",
                             .run = &series,
                             .usual_step_s = NAN,
                             .shown = call->degrees,
                             .limits = limits,
                             .most_C = oven->chamber.limit_C};
    const ovp_text_degrees shown =
        call->degrees == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : call->degrees;

    ovp_status status = ovp_thermal_from_oven(oven, &given->conditions, &parameters, error);
    if (status != OVP_OK) {
        return status;
    }
    snprintf(title, sizeof title, "%s: heat-up to expect", oven->name);
    for (size_t i = 0; i < PLOT_POINTS; i++) {
        times_s[i] = plot_end_s(outlook) * (double)i / (PLOT_POINTS - 1);
    }
    ovp_thermal_curve(&parameters, times_s, PLOT_POINTS, temperature_C);
    picture_series_begin(&series);
    for (size_t i = 0; i < PLOT_POINTS; i++) {
        /* the controller ends it there, whatever power could do */
        const double shown_C = temperature_C[i] > oven->chamber.limit_C ? (double)NAN : temperature_C[i];
        const ovp_trace_sample point = {times_s[i], shown_C, NAN, NAN, NAN, NAN, NAN, OVP_TRACE_NUMBER};
        picture_series_sample(&series, &point);
    }
    for (size_t i = 0; i < outlook->mark_count && picture.limit_count < PICTURE_LIMITS; i++) {
        const ovp_thermal_outlook_mark *mark = &outlook->marks[i];
        char to[64], *text = texts[picture.limit_count];
        if (!isnan(mark->within_s)) {
            ovp_text_format_temperature(mark->to_C, shown, 0, to, sizeof to);
            snprintf(text, MARK_SIZE, "%s within %s", to, minutes(mark->within_s).text);
            limits[picture.limit_count++] = (picture_limit){0, mark->within_s, mark->to_C, text};
            const size_t used = strlen(all);
            snprintf(all + used, sizeof all - used, "%s%s", used > 0 ? "; " : "Heat-up limits: ", text);
        }
    }
    if (command_given(call, "plot") && !call->json) {
        (void)ovp_text_print(call->out, "\n");
        (void)picture_terminal_trace(call->out, &picture, command_drawing_columns(), 16, picture_utf8());
    }
    if (all[0] != '\0') {
        picture.notes[picture.note_count++] = all;
    }
    const char *path = command_value(call, "picture");
    return path != NULL ? picture_write(path, &picture, error) : OVP_OK;
}

static void print_json(const command_call *call, const ovp_oven *oven, const asked *given,
                       const ovp_thermal_outlook *outlook)
{
    ovp_text_json json;

    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "expect", 1);
    ovp_text_json_key_string(&json, "oven", oven->name);
    ovp_text_json_key_number(&json, "supply_V", outlook->supply_V);
    ovp_text_json_key_number(&json, "ambient_C", outlook->ambient_C);
    ovp_text_json_key_number(&json, "load_kg", given->load_kg);
    ovp_text_json_key(&json, "marks");
    ovp_text_json_begin_array(&json);
    for (size_t i = 0; i < outlook->mark_count; i++) {
        const ovp_thermal_outlook_mark *mark = &outlook->marks[i];
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_number(&json, "to_C", mark->to_C);
        ovp_text_json_key_number(&json, "time_s", mark->time_s);
        ovp_text_json_key_number(&json, "within_s", mark->within_s);
        ovp_text_json_key_number(&json, "half_power_time_s", mark->half_power_s);
        ovp_text_json_key_number(&json, "energy_J", mark->energy_J);
        ovp_text_json_key_number(&json, "cost", mark->cost);
        const double sure_s = outlook->time_uncertainty * mark->time_s;
        ovp_text_json_key_number(&json, "uncertainty_s", sure_s);
        ovp_text_json_key_number(&json, "margin_s", mark->within_s - mark->time_s);
        ovp_text_json_key_string(&json, "decision",
                                 isnan(mark->within_s) ? NULL
                                                       : ovp_thermal_decision_name(ovp_thermal_decide(
                                                             mark->time_s, sure_s, mark->within_s)));
        ovp_text_json_key_number(&json, "least_supply_V", mark->least_V);
        ovp_text_json_key_number(&json, "hold_W", mark->hold_W);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    ovp_text_json_key_number(&json, "full_W", outlook->full_W);
    ovp_text_json_key_number(&json, "full_A", outlook->full_A);
    ovp_text_json_key_number(&json, "load_A", outlook->full_A + outlook->controls_A);
    ovp_text_json_key_number(&json, "ceiling_C", outlook->ceiling_C);
    ovp_text_json_key(&json, "hold");
    ovp_text_json_begin_object(&json);
    ovp_text_json_key_number(&json, "at_C", outlook->hold_C);
    ovp_text_json_key_number(&json, "power_W", outlook->hold_W);
    ovp_text_json_key_number(&json, "output_percent", 100 * outlook->hold_share);
    ovp_text_json_end_object(&json);
    ovp_text_json_key_number(&json, "time_uncertainty_percent", 100 * outlook->time_uncertainty);
    (void)ovp_text_json_end_document(&json);
}

static void print_warning(void *context, const char *text)
{
    (void)context;
    fprintf(stderr, "ovenproof: warning: %s\n", text);
}

static int run(command_call *call)
{
    ovp_error error = {0};
    ovp_oven oven;
    asked given;
    ovp_thermal_outlook outlook;

    if (call->operand_count != 1) {
        return command_usage(call, "one oven is wanted, %zu are given", call->operand_count);
    }
    picture_kind kind;
    const char *path = command_value(call, "picture");
    ovp_status status = path != NULL ? picture_check(path, &kind, &error) : OVP_OK;
    if (status == OVP_OK) {
        status = read_asked(call, &given, &error);
    }
    if (status != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof expect --help` has an example");
        return command_fail(&error);
    }
    status = lua_read_oven(call->operands[0], &oven, print_warning, NULL, &error);
    if (status == OVP_OK) {
        status = ovp_thermal_outlook_of(&oven, &given.conditions, given.price_per_kWh, &outlook, &error);
    }
    if (status != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof describe %s --gaps` says what is missing", call->operands[0]);
        return command_fail(&error);
    }
    if (call->json) {
        print_json(call, &oven, &given, &outlook);
    } else {
        print_first_line(call, &oven, &given, &outlook);
        print_marks(call, &outlook);
        print_rest(call, &outlook);
    }
    if (command_draws(call)) {
        status = draw(call, &oven, &given, &outlook, &error);
    }
    if (status == OVP_OK) {
        command_say_drawn(call);
    }
    return status == OVP_OK ? 0 : command_fail(&error);
}

const command_definition command_expect = {
    .name = "expect",
    .synopsis = "OVEN [--supply V --ambient T --load MASS --price P]",
    .summary = "Heat-up times, energy and currents to expect of an oven, built or not.",
    .details =
        "OVEN is a file or a name such as QR-8. The times are those of the oven model: element, chamber, "
        "sliced\n"
        "linings with edges and corners, conductivity that rises with heat, supply volts squared over ohms.",
    .options = options,
    .examples = "ovenproof expect QR-8\n"
                "ovenproof expect QR-8 --supply 208V --load 2lb --price 0.18",
    .run = run,
};
