/* Wire, cords and plugs by their words. */
#include "electrical/electrical_internal.h"

#include <math.h>
#include <string.h>

static const struct gauge_row {
    int awg;
    double ohm_per_1000ft, diameter_in;
    const char *source;
} gauges[] = {
#include "awg.inc"
};

static const struct metric_row {
    double mm2, ohm_per_km;
    const char *source;
} metric[] = {
#include "metric-wire.inc"
};

static const struct conductor_row {
    int awg;
    double mm2, cord_A, wall_A, breaker_A;
    const char *source;
} conductors[] = {
#include "conductors.inc"
};

static const struct plug_row {
    const char *plug, *also;
    double volts_V, rating_A;
    const char *source;
} plugs[] = {
#include "plugs.inc"
};

#define COUNT(table) (sizeof(table) / sizeof((table)[0]))

bool ovp_electrical_wire_ohm(int awg, double length_m, double *ohm)
{
    for (size_t i = 0; i < COUNT(gauges); i++) {
        if (gauges[i].awg != awg)
            continue;
        *ohm = gauges[i].ohm_per_1000ft / 304.8 * length_m;
        return true;
    }
    return false;
}

bool ovp_electrical_plug_named(const char *words, double *volts_V, double *rating_A, const char **source)
{
    ovp_span name = ovp_span_trim(ovp_span_of(words));
    for (size_t i = 0; i < COUNT(plugs); i++) {
        if (!ovp_span_equals(name, plugs[i].plug) && !ovp_span_equals(name, plugs[i].also))
            continue;
        *volts_V = plugs[i].volts_V;
        *rating_A = plugs[i].rating_A;
        *source = plugs[i].source;
        return true;
    }
    return false;
}

/* ---- words of a wire ----------------------------------------------------------------------------------- */

static bool same_wire(int awg, double mm2, int row_awg, double row_mm2)
{
    return awg != 0 ? awg == row_awg : fabs(mm2 - row_mm2) < 1e-9;
}

/* Everything the tables say of it; false when they have no ohms. */
static bool look_up(int awg, double mm2, ovp_electrical_wire *wire)
{
    ovp_electrical_wire found = {
        .awg = awg, .mm2 = mm2, .ohm_per_m = NAN, .cord_A = NAN, .wall_A = NAN, .breaker_A = NAN};
    for (size_t i = 0; awg != 0 && i < COUNT(gauges); i++)
        if (gauges[i].awg == awg) {
            found.ohm_per_m = gauges[i].ohm_per_1000ft / 304.8;
            found.ohm_source = gauges[i].source;
        }
    for (size_t i = 0; awg == 0 && i < COUNT(metric); i++)
        if (fabs(metric[i].mm2 - mm2) < 1e-9) {
            found.ohm_per_m = metric[i].ohm_per_km / 1000.0;
            found.ohm_source = metric[i].source;
        }
    if (isnan(found.ohm_per_m))
        return false;
    for (size_t i = 0; i < COUNT(conductors); i++)
        if (same_wire(awg, mm2, conductors[i].awg, conductors[i].mm2)) {
            found.cord_A = conductors[i].cord_A;
            found.wall_A = conductors[i].wall_A;
            found.breaker_A = conductors[i].breaker_A;
            found.source = conductors[i].source;
        }
    *wire = found;
    return true;
}

static bool one_of(ovp_span word, const char *const words[])
{
    for (; *words != NULL; words++)
        if (ovp_span_equals(word, *words))
            return true;
    return false;
}

/* "16AWG", "16 ga", "14/3" (gauge and conductors), "1.5mm2". */
static bool scan_wire(ovp_span word, int *awg, double *mm2)
{
    static const char *const gauge_words[] = {"awg", "ga", "gauge", "/2", "/3", "/4", NULL};
    static const char *const area_words[] = {"mm2", "mm\xC2\xB2", "mm^2", "sqmm", NULL};
    double number;
    size_t digits = ovp_text_scan_number(word, &number);
    if (digits == 0 || !(number > 0.0))
        return false;
    ovp_span unit = ovp_span_trim((ovp_span){word.bytes + digits, word.count - digits});
    if (one_of(unit, gauge_words) && number <= 40.0 && number == floor(number)) {
        *awg = (int)number;
        *mm2 = NAN;
        return true;
    }
    if (!one_of(unit, area_words))
        return false;
    *awg = 0;
    *mm2 = number;
    return true;
}

static bool blank(char byte)
{
    return byte == ' ' || byte == ',' || byte == ';' || byte == '\t';
}

/* The next word without the blanks around it; a bare number takes its unit with it ("25 ft"). */
static ovp_span next_word(ovp_span *rest)
{
    size_t from = 0, to;
    while (from < rest->count && blank(rest->bytes[from]))
        from++;
    for (to = from; to < rest->count && !blank(rest->bytes[to]);)
        to++;
    ovp_span word = {rest->bytes + from, to - from};
    double number;
    if (word.count > 0 && ovp_text_scan_number(word, &number) == word.count) {
        while (to < rest->count && blank(rest->bytes[to]))
            to++;
        while (to < rest->count && !blank(rest->bytes[to]))
            to++;
        word = ovp_span_trim((ovp_span){rest->bytes + from, to - from});
    }
    *rest = (ovp_span){rest->bytes + to, rest->count - to};
    return word;
}

static ovp_status refuse(ovp_error *error, const char *what, ovp_span word)
{
    char shown[48];
    ovp_copy_string(shown, sizeof shown, word);
    ovp_error_set(error, OVP_ERROR_DATA, "\"%s\": %s", shown, what);
    ovp_error_hint(error, "write a cord as \"25ft 16AWG\" or \"7.5m 1.5mm2\"");
    return OVP_ERROR_DATA;
}

static ovp_status take_word(ovp_span word, ovp_electrical_cord *cord, bool *wire, ovp_error *error)
{
    int awg;
    double mm2, length_m;
    if (scan_wire(word, &awg, &mm2)) {
        if (*wire)
            return refuse(error, "a second wire size", word);
        *wire = true;
        return look_up(awg, mm2, &cord->wire) ? OVP_OK
                                              : refuse(error, "no wire size of the tables here", word);
    }
    if (ovp_text_quantity(word, OVP_TEXT_LENGTH, OVP_TEXT_DEGREES_NONE, &length_m, NULL) != OVP_OK ||
        !(length_m > 0.0))
        return refuse(error, "neither a length nor a wire size", word);
    if (!isnan(cord->length_m))
        return refuse(error, "a second length", word);
    cord->length_m = length_m;
    return OVP_OK;
}

ovp_status ovp_electrical_cord_of(const char *words, ovp_electrical_cord *cord, ovp_error *error)
{
    ovp_span rest = ovp_span_of(words);
    ovp_electrical_cord made = {.length_m = NAN, .ohm = NAN, .warm_ohm = NAN};
    bool wire = false;
    for (ovp_span word = next_word(&rest); word.count > 0; word = next_word(&rest)) {
        ovp_status status = take_word(word, &made, &wire, error);
        if (status != OVP_OK)
            return status;
    }
    if (!wire)
        return refuse(error, "no wire size in it", ovp_span_of(words));
    made.ohm = 2.0 * made.wire.ohm_per_m * made.length_m;
    made.warm_ohm =
        made.ohm * (1.0 + electrical_figure("copper_rise") * (electrical_figure("cord_warm") - 20.0));
    *cord = made;
    return OVP_OK;
}

bool ovp_electrical_cord_for(double load_A, bool metric_wanted, ovp_electrical_wire *wire)
{
    const struct conductor_row *best = NULL;
    for (size_t i = 0; i < COUNT(conductors); i++)
        if ((conductors[i].awg == 0) == metric_wanted && conductors[i].cord_A >= load_A &&
            (best == NULL || conductors[i].cord_A < best->cord_A))
            best = &conductors[i];
    return best != NULL && look_up(best->awg, best->mm2, wire);
}

bool ovp_electrical_cord_ohm(const char *cord, double *ohm)
{
    ovp_electrical_cord made;
    if (ovp_electrical_cord_of(cord, &made, NULL) != OVP_OK || isnan(made.ohm))
        return false;
    *ohm = made.ohm;
    return true;
}
