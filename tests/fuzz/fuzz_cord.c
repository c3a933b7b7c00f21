/* Words of a cord, a rating and a meter's volts: read or refused with words, never both. */
#include "ovenproof/electrical.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static void refused(ovp_status status, const ovp_error *error)
{
    expect(status == OVP_ERROR_DATA && error->what[0] != '\0');
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char words[256];
    ovp_error error = {0};
    ovp_electrical_cord cord;
    ovp_electrical_device device = OVP_ELECTRICAL_DEVICES;
    double value, digit;
    if (size >= sizeof words)
        return 0;
    memcpy(words, data, size);
    words[size] = '\0';
    ovp_status status = ovp_electrical_cord_of(words, &cord, &error);
    if (status == OVP_OK)
        expect(cord.wire.ohm_per_m > 0 && (isnan(cord.length_m) || cord.ohm > 0));
    else
        refused(status, &error);
    for (int fuse = 0; fuse < 2; fuse++) {
        ovp_electrical_protection protection;
        status = ovp_electrical_rating_of(words, fuse != 0, OVP_ELECTRICAL_RULES_US, &device, &value, &error);
        if (status != OVP_OK) {
            refused(status, &error);
            continue;
        }
        expect(value > 0 && device < OVP_ELECTRICAL_DEVICES);
        (void)ovp_electrical_protection_of(device, value, value, &protection, &error);
    }
    status = ovp_electrical_shown_volts(words, &value, &digit, &error);
    if (status == OVP_OK)
        expect(value > 0 && digit >= 0);
    else
        refused(status, &error);
    return 0;
}
