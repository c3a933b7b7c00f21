/* Ohms of the line from two readings, and what the conductors feel over a cycling run. */
#include "electrical/electrical_internal.h"

#include <math.h>

static ovp_status refuse(ovp_error *error, const char *what, const char *hint)
{
    ovp_error_set(error, OVP_ERROR_DATA, "%s", what);
    ovp_error_hint(error, "%s", hint);
    return OVP_ERROR_DATA;
}

/* A heater is a resistor: at the volts read it draws V * W / plate^2. */
static double drawn_A(const ovp_electrical_readings *readings)
{
    if (!isnan(readings->load_A))
        return readings->load_A;
    if (!isnan(readings->load_W))
        return readings->on_V * readings->load_W / (readings->plate_V * readings->plate_V);
    return readings->on_V / readings->load_ohm;
}

double ovp_electrical_power_share(double value, double full)
{
    return full != 0 ? value / full * (value / full) : NAN;
}

/* Where the sag lies once its uncertainty is counted. */
static void judge(ovp_electrical_line *line)
{
    const double good = electrical_figure("sag_good"), most = electrical_figure("sag_most");
    line->past_most = line->sag_share - line->sag_share_U > most;
    if (line->sag_share + line->sag_share_U <= good)
        line->state = OVP_ELECTRICAL_STATE_GOOD;
    else if (line->sag_share - line->sag_share_U > good)
        line->state = OVP_ELECTRICAL_STATE_TROUBLE;
}

static void predict(const ovp_electrical_readings *readings, double full_ohm, ovp_electrical_line *line)
{
    const double left = full_ohm / (full_ohm + line->ohm);
    line->full_A = readings->off_V / (full_ohm + line->ohm);
    line->sag_V = line->full_A * line->ohm;
    line->sag_share = 1.0 - left;
    line->sag_share_U = line->ohm_U * full_ohm / ((full_ohm + line->ohm) * (full_ohm + line->ohm));
    line->power_left = left * left;
    line->heat_W = line->full_A * line->full_A * line->ohm;
    judge(line);
}

ovp_status ovp_electrical_line_of(const ovp_electrical_readings *readings, double full_ohm,
                                  ovp_electrical_line *line, ovp_error *error)
{
    const double load_A = drawn_A(readings);
    if (!(readings->off_V > 0.0) || !(readings->on_V > 0.0))
        return refuse(error, "volts above zero are wanted", "read the volts at the outlet, load off and on");
    if (!(load_A > 0.0))
        return refuse(error, "what the load draws is not known", "give --load 12A or --load 1500W");
    if (readings->on_V > readings->off_V)
        return refuse(error, "the volts rise with the load on",
                      "are the two readings the right way round? If so a neutral may be open: stop, unplug, "
                      "and call an electrician");
    /* each reading is anywhere within its last digit: half of it over the square root of 3; k = 2 */
    ovp_electrical_line made = {
        .drop_V = readings->off_V - readings->on_V,
        .drop_U_V = 2.0 * sqrt(2.0) * readings->resolution_V / sqrt(12.0),
        .load_A = load_A,
        .full_A = NAN,
        .sag_V = NAN,
        .heat_W = NAN,
        .sag_share = NAN,
        .sag_share_U = NAN,
        .power_left = NAN,
    };
    made.ohm = made.drop_V / load_A;
    made.ohm_U = hypot(made.drop_U_V / load_A, made.ohm * readings->load_share);
    if (full_ohm > 0.0)
        predict(readings, full_ohm, &made);
    *line = made;
    return OVP_OK;
}

/* ---- words of readings --------------------------------------------------------------------------------- */

/* What the last digit of a number is worth, in the number's own unit: 0.1 of "121.3". */
static double last_digit(ovp_span text)
{
    double digit = 1.0;
    bool point = false;
    for (size_t i = 0; i < text.count; i++) {
        const char byte = text.bytes[i];
        if (byte == '.' || byte == ',')
            point = true;
        else if (byte < '0' || byte > '9')
            break;
        else if (point)
            digit /= 10.0;
    }
    return digit;
}

static ovp_status shown(const char *words, ovp_text_kind kind, double *value, double *resolution,
                        ovp_error *error)
{
    const ovp_span text = ovp_span_trim(ovp_span_of(words));
    double read, number;
    ovp_status status = ovp_text_quantity(text, kind, OVP_TEXT_DEGREES_NONE, &read, error);
    if (status != OVP_OK)
        return status;
    if (!(read > 0.0))
        return refuse(error, "a reading above zero is wanted", "write it as the meter shows it: 121.3V");
    *value = read;
    *resolution =
        ovp_text_scan_number(text, &number) > 0 && number > 0.0 ? last_digit(text) * read / number : 0.0;
    return OVP_OK;
}

ovp_status ovp_electrical_shown_volts(const char *words, double *volts_V, double *resolution_V,
                                      ovp_error *error)
{
    return shown(words, OVP_TEXT_VOLTAGE, volts_V, resolution_V, error);
}

/* The oven itself: its hot ohms by the plate. */
static ovp_status load_of_oven(ovp_electrical_readings *readings, const ovp_oven *oven, ovp_error *error)
{
    ovp_electrical_load load;
    ovp_status status = ovp_electrical_load_of(oven, readings->off_V, &load, error);
    if (status != OVP_OK)
        return status;
    readings->load_ohm = load.hot_ohm;
    readings->load_share = load.ohm_tolerance;
    return OVP_OK;
}

ovp_status ovp_electrical_readings_load(ovp_electrical_readings *readings, const char *words,
                                        const ovp_oven *oven, ovp_error *error)
{
    double resolution_A;
    readings->load_A = readings->load_W = readings->load_ohm = readings->plate_V = NAN;
    readings->load_share = 0.0;
    if (words == NULL)
        return load_of_oven(readings, oven, error);
    if (shown(words, OVP_TEXT_CURRENT, &readings->load_A, &resolution_A, NULL) == OVP_OK) {
        readings->load_share = 2.0 * resolution_A / sqrt(12.0) / readings->load_A;
        return OVP_OK;
    }
    if (shown(words, OVP_TEXT_POWER, &readings->load_W, &resolution_A, NULL) != OVP_OK)
        return refuse(error, "a load is amps or watts", "write --load 12A or --load 1500W");
    if (isnan(oven->supply.volts_V))
        return refuse(error, "the volts on the load's plate are not known",
                      "give the amps of the load, or supply.volts of the oven");
    readings->plate_V = oven->supply.volts_V;
    readings->load_share = electrical_figure("load_watts_tolerance");
    return OVP_OK;
}

/* ---- a cycling load ------------------------------------------------------------------------------------ */

void ovp_electrical_cycle_add(ovp_electrical_cycle *cycle, double time_s, double square_share)
{
    const double step_s = time_s - cycle->last_time_s;
    if (cycle->begun > 0.0 && step_s > 0.0) {
        const double full = electrical_figure("full_output");
        cycle->square_A2s += cycle->last_share * step_s;
        cycle->time_s += step_s;
        cycle->stretch_s = cycle->last_share >= full ? cycle->stretch_s + step_s : 0.0;
        cycle->longest_full_s = fmax(cycle->longest_full_s, cycle->stretch_s);
    }
    if (!isnan(square_share))
        cycle->last_share = square_share;
    if (!isnan(square_share) || cycle->begun > 0.0) {
        cycle->begun = 1.0;
        cycle->last_time_s = time_s;
    }
}

double ovp_electrical_cycle_rms(const ovp_electrical_cycle *cycle)
{
    return cycle->time_s > 0.0 ? sqrt(cycle->square_A2s / cycle->time_s) : NAN;
}
