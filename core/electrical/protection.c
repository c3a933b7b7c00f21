/* What a sound breaker or fuse does at some amps, by the published tests. */
#include "electrical/electrical_internal.h"

#include <math.h>
#include <string.h>

static const struct device_row {
    const char *device;
    double rating_low_A, rating_high_A, multiple;
    const char *outcome;
    double seconds, air_C;
    const char *source;
} rows[] = {
#include "protective-devices.inc"
};

static const size_t row_count = sizeof rows / sizeof rows[0];

static const char *const names[OVP_ELECTRICAL_DEVICES] = {
    [OVP_ELECTRICAL_BREAKER_UL] = "breaker-ul",
    [OVP_ELECTRICAL_BREAKER_IEC_B] = "breaker-iec-b",
    [OVP_ELECTRICAL_BREAKER_IEC_C] = "breaker-iec-c",
    [OVP_ELECTRICAL_BREAKER_IEC_D] = "breaker-iec-d",
    [OVP_ELECTRICAL_FUSE_UL] = "fuse-ul",
    [OVP_ELECTRICAL_FUSE_IEC_FAST] = "fuse-iec-fast",
    [OVP_ELECTRICAL_FUSE_IEC_GG] = "fuse-iec-gg",
};

const char *ovp_electrical_device_name(ovp_electrical_device device)
{
    return device < OVP_ELECTRICAL_DEVICES ? names[device] : "";
}

static bool applies(const struct device_row *row, ovp_electrical_device device, double rating_A)
{
    return rating_A > 0.0 && strcmp(row->device, ovp_electrical_device_name(device)) == 0 &&
           rating_A >= row->rating_low_A && rating_A <= row->rating_high_A;
}

static bool opens(const struct device_row *row)
{
    return strcmp(row->outcome, "opens") == 0;
}

static double seconds_of(const struct device_row *row)
{
    return isnan(row->seconds) ? HUGE_VAL : row->seconds;
}

bool ovp_electrical_device_limit_at(ovp_electrical_device device, double rating_A, size_t index,
                                    ovp_electrical_device_limit *limit)
{
    for (size_t i = 0; i < row_count; i++) {
        if (!applies(&rows[i], device, rating_A) || index-- > 0)
            continue;
        *limit = (ovp_electrical_device_limit){
            .multiple = rows[i].multiple,
            .current_A = rows[i].multiple * rating_A,
            .opens = opens(&rows[i]),
            .time_s = seconds_of(&rows[i]),
            .air_C = rows[i].air_C,
            .source = rows[i].source,
        };
        return true;
    }
    return false;
}

/* A device that holds 1.13 times holds less as long; one that opens at 1.35 times opens at more as soon. */
static void take(ovp_electrical_protection *made, const struct device_row *row)
{
    const double slack = 1e-9 * row->multiple, time_s = seconds_of(row);
    if (!opens(row) && made->multiple <= row->multiple + slack && !(time_s <= made->holds_s)) {
        made->holds_s = time_s;
        made->holds_source = row->source;
    }
    if (opens(row) && made->multiple >= row->multiple - slack && !(time_s >= made->within_s)) {
        made->within_s = time_s;
        made->within_source = row->source;
    }
}

ovp_status ovp_electrical_protection_of(ovp_electrical_device device, double rating_A, double load_A,
                                        ovp_electrical_protection *protection, ovp_error *error)
{
    ovp_electrical_protection made = {
        .device = device, .rating_A = rating_A, .load_A = load_A, .holds_s = NAN, .within_s = NAN};
    bool known = false;
    made.multiple = load_A / rating_A;
    for (size_t i = 0; rating_A > 0.0 && load_A >= 0.0 && i < row_count; i++) {
        if (!applies(&rows[i], device, rating_A))
            continue;
        known = true;
        take(&made, &rows[i]);
    }
    if (!known) {
        ovp_error_set(error, OVP_ERROR_DATA, "no published limits for %s of %g A",
                      ovp_electrical_device_name(device), rating_A);
        ovp_error_hint(error, "is that the rating on the device itself?");
        return OVP_ERROR_DATA;
    }
    *protection = made;
    return OVP_OK;
}

/* ---- words of a device --------------------------------------------------------------------------------- */

static bool has_word(ovp_span text, const char *word)
{
    const size_t length = strlen(word);
    for (size_t i = 0; i + length <= text.count; i++)
        if (ovp_span_equals((ovp_span){text.bytes + i, length}, word))
            return true;
    return false;
}

/* "B16", "C 20A": a letter of IEC 60898 and the amps. */
static bool scan_letter(ovp_span text, ovp_electrical_device *device, ovp_span *rest)
{
    static const char letters[] = "BCD";
    if (text.count < 2)
        return false;
    const char letter = (char)(text.bytes[0] & ~0x20);
    const char *at = strchr(letters, letter);
    if (letter == '\0' || at == NULL)
        return false;
    *device = (ovp_electrical_device)(OVP_ELECTRICAL_BREAKER_IEC_B + (at - letters));
    *rest = ovp_span_trim((ovp_span){text.bytes + 1, text.count - 1});
    return true;
}

/* Amps at the start of the words: "20A", "20 A fast"; a bare number only behind a letter ("B16"). */
static bool scan_amps(ovp_span text, bool bare, double *amps_A)
{
    double number;
    const size_t digits = ovp_text_scan_number(text, &number);
    const ovp_span rest = ovp_span_trim((ovp_span){text.bytes + digits, text.count - digits});
    if (digits == 0 || !(number > 0.0) || !(number < 1e4))
        return false;
    if (rest.count == 0) {
        *amps_A = number;
        return bare;
    }
    const bool milli = rest.count >= 2 && ovp_span_equals((ovp_span){rest.bytes, 2}, "mA");
    const size_t unit = milli ? 2 : 1;
    const bool whole = rest.count == unit || rest.bytes[unit] == ' ' || rest.bytes[unit] == ',';
    if (!whole || (!milli && (rest.bytes[0] & ~0x20) != 'A'))
        return false;
    *amps_A = milli ? number / 1000.0 : number;
    return true;
}

static ovp_electrical_device device_of(ovp_span words, bool fuse, ovp_electrical_rules rules)
{
    if (has_word(words, "gG"))
        return OVP_ELECTRICAL_FUSE_IEC_GG;
    fuse = (fuse || has_word(words, "fuse")) && !has_word(words, "breaker");
    if (rules == OVP_ELECTRICAL_RULES_IEC)
        return fuse ? OVP_ELECTRICAL_FUSE_IEC_FAST : OVP_ELECTRICAL_BREAKER_IEC_B;
    return fuse ? OVP_ELECTRICAL_FUSE_UL : OVP_ELECTRICAL_BREAKER_UL;
}

ovp_status ovp_electrical_rating_of(const char *words, bool fuse, ovp_electrical_rules rules,
                                    ovp_electrical_device *device, double *rating_A, ovp_error *error)
{
    const ovp_span text = ovp_span_trim(ovp_span_of(words));
    ovp_electrical_device found = device_of(text, fuse, rules);
    ovp_span rest = text;
    double amps_A = NAN;
    const bool letter = scan_letter(text, &found, &rest);
    if (text.count > 2 && has_word((ovp_span){text.bytes, 2}, "gG"))
        rest = ovp_span_trim((ovp_span){text.bytes + 2, text.count - 2});
    if (!scan_amps(rest, letter, &amps_A)) {
        ovp_error_set(error, OVP_ERROR_DATA, "\"%.40s\" is no rating", words);
        ovp_error_hint(error, "write 20A, or B16 for a breaker with the letter of IEC 60898");
        return OVP_ERROR_DATA;
    }
    *device = found;
    *rating_A = amps_A;
    return OVP_OK;
}
