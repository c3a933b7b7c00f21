/* What each kind of meter shows of a half-wave rectified sine. */
#include "electrical/electrical_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

static const struct meter_row {
    const char *name, *words, *mine;
} meters[OVP_ELECTRICAL_METERS] = {
    [OVP_ELECTRICAL_METER_AC_DC] = {"ac+dc", "a true-rms meter, ac+dc", "your ac+dc clamp"},
    [OVP_ELECTRICAL_METER_AC] = {"ac", "a true-rms meter, ac only", "your ac clamp"},
    [OVP_ELECTRICAL_METER_AVERAGE] = {"average", "an averaging meter", "your averaging clamp"},
    [OVP_ELECTRICAL_METER_AVERAGE_AC] = {"average-ac", "an averaging meter, ac only",
                                         "your averaging ac clamp"},
    [OVP_ELECTRICAL_METER_DC] = {"dc", "the dc range", "the dc range"},
};

bool ovp_electrical_meter_named(ovp_span word, ovp_electrical_meter *meter)
{
    word = ovp_span_trim(word);
    for (size_t i = 0; i < OVP_ELECTRICAL_METERS; i++) {
        if (ovp_span_equals(word, meters[i].name)) {
            *meter = (ovp_electrical_meter)i;
            return true;
        }
    }
    return false;
}

const char *ovp_electrical_meter_name(ovp_electrical_meter meter)
{
    return (size_t)meter < OVP_ELECTRICAL_METERS ? meters[meter].name : "";
}

const char *ovp_electrical_meter_words(ovp_electrical_meter meter)
{
    return (size_t)meter < OVP_ELECTRICAL_METERS ? meters[meter].words : "";
}

/*
 * The wave is sin x for 0..pi and 0 for pi..2 pi; the full sine has the rms 1/sqrt 2. Its mean is 1/pi, its
 * rms 1/2. An averaging meter shows pi/(2 sqrt 2) times the mean of the rectified wave; ac-coupled it
 * rectifies sin x - 1/pi, whose mean size is (2 cos a - (pi - 2a)/pi)/pi with sin a = 1/pi.
 */
double ovp_electrical_half_wave_share(ovp_electrical_meter meter)
{
    double mean = 1.0 / PI, full = sqrt(0.5), form = PI / (2.0 * sqrt(2.0)), angle = asin(1.0 / PI);
    switch (meter) {
    case OVP_ELECTRICAL_METER_AC_DC:
        return 0.5 / full;
    case OVP_ELECTRICAL_METER_AC:
        return sqrt(0.25 - mean * mean) / full;
    case OVP_ELECTRICAL_METER_AVERAGE:
        return form * mean / full;
    case OVP_ELECTRICAL_METER_AVERAGE_AC:
        return form * (2.0 * cos(angle) - (PI - 2.0 * angle) / PI) / PI / full;
    case OVP_ELECTRICAL_METER_DC:
        return mean / full;
    default:
        return NAN;
    }
}

enum {
    NUMBER_SIZE = 32,
};

static const char *amps(double value_A, char buffer[NUMBER_SIZE])
{
    ovp_text_format_fixed(value_A, value_A < 1.0 ? 2 : 1, buffer, NUMBER_SIZE);
    return buffer;
}

static size_t length_of(char *buffer)
{
    return strlen(buffer);
}

size_t ovp_electrical_half_wave_words(const ovp_oven *oven, double full_A, char *buffer, size_t size)
{
    char text[3][NUMBER_SIZE];
    ovp_electrical_meter meter;
    if (size == 0)
        return 0;
    buffer[0] = '\0';
    if (!isfinite(full_A))
        return 0;
    if (ovp_electrical_meter_named(ovp_span_of(oven->clamp_meter), &meter)) {
        snprintf(buffer, size, "half a wave shows %s A by %s",
                 amps(ovp_electrical_half_wave_share(meter) * full_A, text[0]), meters[meter].mine);
        return length_of(buffer);
    }
    for (int i = 0; i < 3; i++)
        amps(ovp_electrical_half_wave_share((ovp_electrical_meter)i) * full_A, text[i]);
    snprintf(buffer, size, "half a wave shows %s A (ac clamp), %s A (ac+dc) or %s A (averaging)",
             text[OVP_ELECTRICAL_METER_AC], text[OVP_ELECTRICAL_METER_AC_DC],
             text[OVP_ELECTRICAL_METER_AVERAGE]);
    return length_of(buffer);
}
