/* Controller settings as typed: understood, or refused with words; what is understood can be said and read
 * back. */
#include "ovenproof/thermal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_oven oven;
    ovp_error error = {0};
    ovp_thermal_form form;
    ovp_thermal_settings read, back;
    char words[160];

    /* the same bytes as the description's own form */
    ovp_oven_init(&oven);
    (void)ovp_copy_string(oven.controller.pid, sizeof oven.controller.pid,
                          (ovp_span){(const char *)data, size});
    oven.controller.display_low_C = 0;
    oven.controller.display_high_C = 1000;
    ovp_thermal_form_of(&oven, &form);
    const ovp_status status = ovp_thermal_read_settings((ovp_span){(const char *)data, size}, &form,
                                                        (ovp_text_degrees)(size % 4), &read, &error);
    expect(status == OVP_OK || error.what[0] != '\0');
    if (status != OVP_OK)
        return 0;
    expect(read.gain_per_C >= 0 && read.integral_s >= 0 && read.derivative_s >= 0);
    ovp_thermal_format_settings(&read, &form, OVP_TEXT_DEGREES_F, words, sizeof words);
    expect(strlen(words) > 0);
    (void)ovp_thermal_read_settings(ovp_span_of(words), &form, OVP_TEXT_DEGREES_F, &back, &error);
    return 0;
}
