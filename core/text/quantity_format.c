#include "text_internal.h"

#include <math.h>
#include <string.h>

enum {
    VALUE_SIZE = 400,
};

/* A buffer that is filled from the front and always ended. */
typedef struct output {
    char *buffer;
    size_t size, length;
} output;

static void add(output *out, const char *text)
{
    if (out->size == 0)
        return;
    ovp_copy_string(out->buffer + out->length, out->size - out->length, ovp_span_of(text));
    out->length += strlen(out->buffer + out->length);
}

static void add_fixed(output *out, double value, int decimals)
{
    char number[VALUE_SIZE];
    ovp_text_format_fixed(value, decimals, number, sizeof number);
    add(out, number);
}

static const char *sign_of(ovp_text_degrees degrees)
{
    static const char *const signs[] = {"", " \302\260F", " \302\260C", " K"};
    return signs[degrees];
}

static size_t format_degrees(double in_F, double in_C, double in_K, ovp_text_degrees shown, int decimals,
                             output *out)
{
    decimals = decimals < 0 ? 0 : decimals > 6 ? 6 : decimals;
    if (!isfinite(in_C)) {
        add(out, "not known");
        return out->length;
    }
    bool both = shown == OVP_TEXT_DEGREES_NONE;
    ovp_text_degrees first = both ? OVP_TEXT_DEGREES_F : shown;
    add_fixed(out, first == OVP_TEXT_DEGREES_F ? in_F : first == OVP_TEXT_DEGREES_C ? in_C : in_K, decimals);
    add(out, sign_of(first));
    if (both) {
        add(out, " (");
        add_fixed(out, in_C, decimals);
        add(out, sign_of(OVP_TEXT_DEGREES_C));
        add(out, ")");
    }
    return out->length;
}

size_t ovp_text_format_temperature(double value_C, ovp_text_degrees shown, int decimals, char *buffer,
                                   size_t size)
{
    output out = {buffer, size, 0};
    return format_degrees(ovp_text_from_celsius(value_C, OVP_TEXT_DEGREES_F), value_C,
                          ovp_text_from_celsius(value_C, OVP_TEXT_DEGREES_K), shown, decimals, &out);
}

size_t ovp_text_format_difference(double value_C, ovp_text_degrees shown, int decimals, char *buffer,
                                  size_t size)
{
    output out = {buffer, size, 0};
    return format_degrees(value_C * 9 / 5, value_C, value_C, shown, decimals, &out);
}

static void add_two(output *out, double value)
{
    if (value < 10)
        add(out, "0");
    add_fixed(out, value, 0);
}

size_t ovp_text_format_duration(double value_s, char *buffer, size_t size)
{
    output out = {buffer, size, 0};
    if (!isfinite(value_s)) {
        add(&out, "not known");
        return out.length;
    }
    double seconds = fabs(value_s);
    bool fine = seconds < 9.95 && seconds != floor(seconds + 0.5);
    double whole = floor(seconds + 0.5);
    if (value_s < 0 && (fine ? seconds >= 0.05 : whole > 0))
        add(&out, "-");
    if (fine) {
        add_fixed(&out, seconds, 1);
        add(&out, " s");
    } else if (whole < 60) {
        add_fixed(&out, whole, 0);
        add(&out, " s");
    } else if (whole < 3600) {
        add_fixed(&out, floor(whole / 60), 0);
        add(&out, ":");
        add_two(&out, fmod(whole, 60));
    } else {
        double minutes = floor(seconds / 60 + 0.5);
        add_fixed(&out, floor(minutes / 60), 0);
        add(&out, " h ");
        add_two(&out, fmod(minutes, 60));
        add(&out, " min");
    }
    return out.length;
}
