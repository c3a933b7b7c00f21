/* Leakage to ground, and a relay that is off. */
#include "electrical/electrical_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- leakage to ground ------------------------------------------------------------------------------ */

static const char *const trip_names[] = {"no", "near", "may", "must"};

const char *ovp_electrical_trip_name(ovp_electrical_trip trip)
{
    return (size_t)trip < 4 ? trip_names[trip] : "";
}

ovp_electrical_trip ovp_electrical_ground_fault(double leakage_mA, double *longest_s)
{
    ovp_electrical_trip trip = OVP_ELECTRICAL_TRIP_NO;
    if (longest_s != NULL)
        *longest_s = NAN;
    if (leakage_mA >= electrical_limit("ground-fault-near"))
        trip = OVP_ELECTRICAL_TRIP_NEAR;
    if (leakage_mA >= electrical_limit("ground-fault-holds"))
        trip = OVP_ELECTRICAL_TRIP_MAY;
    if (leakage_mA >= electrical_limit("ground-fault-trips")) {
        trip = OVP_ELECTRICAL_TRIP_MUST;
        double counted_mA = fmin(leakage_mA, electrical_limit("ground-fault-time-most"));
        if (longest_s != NULL)
            *longest_s = pow(electrical_limit("ground-fault-time-mA") / counted_mA,
                             electrical_limit("ground-fault-time-power"));
    }
    return trip;
}

static const ovp_electrical_limit *leakage_row(bool portable, double power_W, double *limit_mA)
{
    const ovp_electrical_limit *row =
        ovp_electrical_limit_named(portable ? "leakage-portable" : "leakage-stationary");
    *limit_mA = row->value;
    if (portable || isnan(power_W))
        return row;
    const ovp_electrical_limit *by_power = ovp_electrical_limit_named("leakage-per-kilowatt");
    const ovp_electrical_limit *most = ovp_electrical_limit_named("leakage-most");
    double scaled_mA = by_power->value * power_W / 1000.0;
    if (scaled_mA <= row->value)
        return row;
    *limit_mA = fmin(scaled_mA, most->value);
    return scaled_mA > most->value ? most : by_power;
}

double ovp_electrical_leakage_limit_mA(bool portable, double power_W)
{
    double limit_mA;
    leakage_row(portable, power_W, &limit_mA);
    return limit_mA;
}

double ovp_electrical_leakage_of_insulation(double Mohm, double ground_V)
{
    return ground_V / (Mohm * 1000.0);
}

ovp_status ovp_electrical_leakage_judge(const ovp_electrical_leakage *leakage,
                                        ovp_electrical_leakage_result *result, ovp_error *error)
{
    if (!(leakage->mA >= 0.0 && isfinite(leakage->mA))) {
        ovp_error_set(error, OVP_ERROR_DATA, "%.6g mA is no leakage", leakage->mA);
        ovp_error_hint(error, "milliamperes by a leakage clamp, such as 0.8mA");
        return OVP_ERROR_DATA;
    }
    ovp_electrical_leakage_result made = {.implied_Mohm = leakage->ground_V / (leakage->mA * 1000.0)};
    ovp_electrical_judgement *judgement = &made.judgement;
    judgement->row = leakage_row(leakage->portable, leakage->power_W, &judgement->limit);
    made.trip = ovp_electrical_ground_fault(leakage->mA, &made.longest_s);
    if (leakage->mA <= judgement->limit * (1.0 + 1e-9)) {
        judgement->decision = OVP_ELECTRICAL_PASS;
        judgement->why = "no more than the standard allows";
        judgement->next = "measure it once cold and once after 30 min at full heat: the larger one counts";
    } else {
        judgement->decision = OVP_ELECTRICAL_FAIL;
        judgement->why = "more than the standard allows: damp, or insulation that is going";
        judgement->next = "unplug it and test the insulation; if it was stored damp, dry it and repeat";
    }
    *result = made;
    return OVP_OK;
}

/* ---- a relay that is off ------------------------------------------------------------------------------ */

/* Volts over a resistance in series with the snubber's capacitance. */
static double over_meter(double supply_V, double snubber_ohm, double meter_ohm)
{
    return supply_V * meter_ohm / hypot(meter_ohm, snubber_ohm);
}

void ovp_electrical_relay_off_of(double supply_V, double load_ohm, double leakage_mA,
                                 ovp_electrical_relay_off *off)
{
    double mA = isnan(leakage_mA) ? electrical_limit("relay-leakage-usual") : leakage_mA;
    double snubber_ohm = supply_V / (mA / 1000.0);
    double load_V = over_meter(supply_V, snubber_ohm, load_ohm);
    *off = (ovp_electrical_relay_off){
        .leakage_mA = mA,
        .load_V = load_V,
        .open_V = over_meter(supply_V, snubber_ohm, electrical_limit("meter-impedance") * 1e6),
        .open_low_V = over_meter(supply_V, snubber_ohm, electrical_limit("meter-low-impedance") * 1e3),
        .leak_W = load_V * load_V / load_ohm,
    };
}

/* Nothing stands across it: current decides between a short and a break elsewhere. */
static ovp_electrical_relay_state without_volts(const ovp_electrical_relay_reading *reading)
{
    bool flows = reading->load_A > electrical_limit("relay-leakage-fault") / 1000.0;
    return flows ? OVP_ELECTRICAL_RELAY_SHORTED : OVP_ELECTRICAL_RELAY_NO_CURRENT;
}

ovp_electrical_relay_state ovp_electrical_relay_judge(const ovp_electrical_relay_reading *reading)
{
    double volts_V = reading->across_V, share = volts_V / reading->supply_V;
    if (!reading->load_connected || !(volts_V >= 0.0) || !(reading->supply_V > 0.0))
        return OVP_ELECTRICAL_RELAY_UNKNOWN;
    if (volts_V < electrical_limit("relay-shorted"))
        return without_volts(reading);
    if (share >= electrical_limit("relay-line"))
        return reading->driven ? OVP_ELECTRICAL_RELAY_OPEN : OVP_ELECTRICAL_RELAY_OFF;
    if (share >= electrical_limit("relay-half-low") && share <= electrical_limit("relay-half-high"))
        return OVP_ELECTRICAL_RELAY_HALF;
    bool on = reading->driven && volts_V >= electrical_limit("relay-on-low") &&
              volts_V <= electrical_limit("relay-on-high");
    return on ? OVP_ELECTRICAL_RELAY_ON : OVP_ELECTRICAL_RELAY_UNKNOWN;
}

static const char *const relay_words[] = {
    [OVP_ELECTRICAL_RELAY_UNKNOWN] = "says nothing: measure with the load connected; without it a good relay "
                                     "that is off shows ghost volts",
    [OVP_ELECTRICAL_RELAY_ON] = "on, as it should be",
    [OVP_ELECTRICAL_RELAY_SHORTED] = "shorted: it carries current with no volts across it",
    [OVP_ELECTRICAL_RELAY_OPEN] = "does not conduct although it is called for: look for the drive volts at "
                                  "its input; there, it is open",
    [OVP_ELECTRICAL_RELAY_OFF] = "off, as it should be; whether it can conduct shows only when called for",
    [OVP_ELECTRICAL_RELAY_HALF] = "one half of it conducts: the dc range over the element tells",
    [OVP_ELECTRICAL_RELAY_NO_CURRENT] = "no volts across it and no current seen: the break is elsewhere in "
                                        "the loop, or it is shorted; amps tell",
};

const char *ovp_electrical_relay_words(ovp_electrical_relay_state state)
{
    return (size_t)state < sizeof relay_words / sizeof relay_words[0] ? relay_words[state] : "";
}

size_t ovp_electrical_relay_off_words(const ovp_oven *oven, char *buffer, size_t size)
{
    ovp_electrical_load load = {.hot_ohm = 16.0};
    ovp_electrical_relay_off off;
    char volts[32];
    if (size == 0)
        return 0;
    buffer[0] = '\0';
    if (!(oven->supply.volts_V > 0.0))
        return 0;
    ovp_electrical_load_of(oven, NAN, &load, NULL); /* the ghost does not depend on the load */
    ovp_electrical_relay_off_of(oven->supply.volts_V, load.hot_ohm, NAN, &off);
    ovp_text_format_fixed(off.open_V, 0, volts, sizeof volts);
    snprintf(buffer, size,
             "a good relay that is off leaks a few mA: with the load off or broken a meter shows %s V",
             volts);
    return strlen(buffer);
}
