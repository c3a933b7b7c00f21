/* `table`: the reference table of a type, for the wall of the shop. */
#include "command/command.h"
#include "ovenproof/thermocouple.h"

#include <math.h>

enum {
    COLUMNS = 10, /* 6 + 10 x 8 columns of text */
    MOST_POINTS = 100000,
};

typedef struct grid {
    ovp_tc_type type;
    ovp_text_degrees degrees;
    double from, to, step; /* in `degrees` */
    long points;
} grid;

static const command_option options[] = {
    {"from", "T", false, "first temperature; 0 of the scale, or where the type begins"},
    {"to", "T", false, "last temperature; the end of the type"},
    {"step", "D", false, "from column to column; 10 degrees"},
    {0},
};

/* In the scale of the table: 932 and not 931.9999999999999. */
static double tidy(double value)
{
    double rounded = round(value * 1e6) / 1e6;
    return rounded == 0.0 ? 0.0 : rounded;
}

static double value_at(const grid *table, long index)
{
    return tidy(table->from + (double)index * table->step);
}

static ovp_status emf_at(const grid *table, double value, double *temperature_C, double *emf_mV)
{
    *temperature_C = ovp_text_to_celsius(value, table->degrees);
    return ovp_tc_emf(table->type, *temperature_C, emf_mV, NULL);
}

static void print_json(const command_call *call, const grid *table)
{
    ovp_text_json json;
    ovp_text_json_init(&json, call->out);
    ovp_text_json_begin_document(&json, "table", 1);
    ovp_text_json_key_string(&json, "type", ovp_tc_type_name(table->type));
    ovp_text_json_key_number(&json, "cold_junction_C", 0.0);
    ovp_text_json_key(&json, "points");
    ovp_text_json_begin_array(&json);
    for (long i = 0; i < table->points; i++) {
        double temperature_C = NAN, emf_mV = NAN;
        if (emf_at(table, value_at(table, i), &temperature_C, &emf_mV) != OVP_OK)
            continue;
        ovp_text_json_begin_object(&json);
        ovp_text_json_key_number(&json, "temperature_C", temperature_C);
        ovp_text_json_key_number(&json, "emf_mV", emf_mV);
        ovp_text_json_end_object(&json);
    }
    ovp_text_json_end_array(&json);
    ovp_text_json_end_document(&json);
}

static void print_number(double value, int width)
{
    char number[OVP_TEXT_NUMBER_SIZE];
    ovp_text_format_number(value, number);
    printf("%*s", width, number);
}

static void print_row(const grid *table, double start)
{
    print_number(tidy(start), 6);
    int blanks = 0; /* held back, so that no row ends in blanks */
    for (int column = 0; column < COLUMNS; column++) {
        double value = tidy(start + column * table->step), temperature_C = NAN, emf_mV = NAN;
        char cell[OVP_TEXT_NUMBER_SIZE] = "";
        bool wanted = value >= table->from && value <= table->to;
        if (wanted && emf_at(table, value, &temperature_C, &emf_mV) == OVP_OK)
            ovp_text_format_fixed(emf_mV, 3, cell, sizeof cell);
        blanks += 9;
        if (cell[0] == '\0')
            continue;
        printf("%*s", blanks, cell);
        blanks = 0;
    }
    putchar('\n');
}

static void print_head(const grid *table, const char *unit)
{
    printf("Type %s, emf in mV, reference junction at 32 °F (0 °C). ITS-90 (NIST Monograph 175).\n",
           ovp_tc_type_name(table->type));
    if (table->type == OVP_TC_C)
        printf("Type C: ASTM E230/E230M, IEC 60584-1.\n");
    printf("\n%5s", unit);
    for (int column = 0; column < COLUMNS; column++)
        print_number(tidy(column * table->step), column == 0 ? 10 : 9);
    putchar('\n');
}

static void print_foot(const grid *table)
{
    double room_mV = NAN;
    ovp_tc_colours us, iec;
    printf("\nA meter at the screws shows less, by the emf of the screws' own temperature");
    if (ovp_tc_emf(table->type, ovp_text_to_celsius(75.0, OVP_TEXT_DEGREES_F), &room_mV, NULL) == OVP_OK)
        printf(":\nadd %.3f mV to what it shows when they are at 75 °F", room_mV);
    printf(".\n");
    if (ovp_tc_colours_of("us", table->type, &us) && ovp_tc_colours_of("iec-60584-3", table->type, &iec))
        printf("Extension wire: %s + and %s - (ASTM E230); %s + and %s - (IEC 60584-3).\n", us.positive,
               us.negative, iec.positive, iec.negative);
}

static void print_text(const grid *table)
{
    double row = COLUMNS * table->step;
    print_head(table, table->degrees == OVP_TEXT_DEGREES_F   ? "°F"
                      : table->degrees == OVP_TEXT_DEGREES_C ? "°C"
                                                             : "K");
    double start = tidy(floor(table->from / row + 1e-9) * row);
    for (long i = 0; tidy(start + (double)i * row) <= table->to; i++)
        print_row(table, start + (double)i * row);
    print_foot(table);
}

/* One end from the command line, in the scale of the table. */
static ovp_status option_in_scale(const command_call *call, const char *name, ovp_text_degrees degrees,
                                  double *value, ovp_error *error)
{
    double value_C = NAN;
    ovp_status status = command_quantity(call, name, OVP_TEXT_TEMPERATURE, &value_C, error);
    if (status == OVP_OK && !isnan(value_C))
        *value = tidy(ovp_text_from_celsius(value_C, degrees));
    return status;
}

static ovp_status lay_out(const command_call *call, grid *table, ovp_error *error)
{
    double low_C, high_C, low_mV, high_mV, step_C = NAN;
    ovp_tc_range(table->type, &low_C, &high_C, &low_mV, &high_mV);
    double low = ovp_text_from_celsius(low_C, table->degrees),
           high = ovp_text_from_celsius(high_C, table->degrees);
    table->from = fmax(0.0, ceil(low - 1e-6));
    table->to = tidy(high);
    table->step = 10.0;
    ovp_status status = option_in_scale(call, "from", table->degrees, &table->from, error);
    if (status == OVP_OK)
        status = option_in_scale(call, "to", table->degrees, &table->to, error);
    if (status == OVP_OK)
        status = command_quantity(call, "step", OVP_TEXT_TEMPERATURE_DIFFERENCE, &step_C, error);
    if (status != OVP_OK)
        return status;
    if (!isnan(step_C))
        table->step = tidy(table->degrees == OVP_TEXT_DEGREES_F ? step_C * 1.8 : step_C);
    if (!(table->step > 0.0) || table->from > table->to)
        return ovp_error_set(
            error, OVP_ERROR_USAGE,
            "the table would be empty: --from must not be above --to, and --step must be above zero");
    if (table->to < low - 1e-6 || table->from > high + 1e-6)
        return ovp_error_set(error, OVP_ERROR_DATA, "type %s goes from %g to %g °C (%g to %g °F)",
                             ovp_tc_type_name(table->type), low_C, high_C,
                             ovp_text_from_celsius(low_C, OVP_TEXT_DEGREES_F),
                             ovp_text_from_celsius(high_C, OVP_TEXT_DEGREES_F));
    double points = floor((table->to - table->from) / table->step + 1e-9) + 1.0;
    if (points > MOST_POINTS)
        return ovp_error_set(error, OVP_ERROR_USAGE, "%.0f entries are more than %d; take a larger --step",
                             points, MOST_POINTS);
    table->points = (long)points;
    return OVP_OK;
}

static int run(command_call *call)
{
    grid table = {.degrees = call->degrees == OVP_TEXT_DEGREES_NONE ? OVP_TEXT_DEGREES_F : call->degrees};
    ovp_error error = {0};
    if (call->operand_count != 1)
        return command_usage(call, "one thermocouple type is wanted");
    if (!ovp_tc_type_named(ovp_span_of(call->operands[0]), false, &table.type))
        return command_usage(call, "\"%.40s\" is no thermocouple type; types are B C E J K N R S T",
                             call->operands[0]);
    if (lay_out(call, &table, &error) != OVP_OK) {
        ovp_error_hint(&error, "`ovenproof table --help` has an example");
        return command_fail(&error);
    }
    if (call->json)
        print_json(call, &table);
    else
        print_text(&table);
    return 0;
}

const command_definition command_table_of = {
    .name = "table",
    .synopsis = "TYPE [--from T] [--to T] [--step D]",
    .summary = "Reference table of a thermocouple type, for the wall of the shop.",
    .details =
        "In °F unless --degrees or the settings say otherwise. Rows of ten steps, 100 columns wide at most.",
    .options = options,
    .examples = "ovenproof table K\n"
                "ovenproof table K --degrees C --from 0 --to 100 --step 1",
    .run = run,
};
