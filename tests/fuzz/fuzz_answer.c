/* The first byte chooses the measurement, the rest is the answer: taken as one of its outcomes, or refused
 * with words. */
#include "ovenproof/diagnosis.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static ovp_diagnosis_case *make_case(void)
{
    static ovp_oven oven;
    ovp_oven_init(&oven);
    oven.supply.volts_V = 240;
    oven.element_count = 1;
    oven.wiring = OVP_OVEN_WIRING_SINGLE;
    oven.elements[0].power_W = 1800;
    oven.elements[0].at_V = 240;
    const ovp_diagnosis_settings settings = {
        .context = OVP_DIAGNOSIS_IN_SERVICE, .oven = &oven, .technician = true};
    void *memory = malloc(ovp_diagnosis_case_size());
    expect(memory != NULL);
    return ovp_diagnosis_case_init(memory, &settings);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_diagnosis_case *state;
    if (state == NULL)
        state = make_case();
    char text[512];
    if (size < 2 || size > sizeof text)
        return 0;
    memcpy(text, data + 1, size - 1);
    text[size - 1] = '\0';
    const ovp_diagnosis_measurement *measurement =
        ovp_diagnosis_measurement_at(data[0] % ovp_diagnosis_measurement_count());
    ovp_error error = {0};
    const ovp_status status = ovp_diagnosis_answer(state, measurement->id, text, &error);
    if (status == OVP_OK) {
        expect(error.what[0] == '\0');
        expect(ovp_diagnosis_retract(state, measurement->id));
    } else {
        expect(status == OVP_ERROR_DATA && error.what[0] != '\0' && error.hint[0] != '\0');
    }
    expect(!ovp_diagnosis_retract(state, measurement->id));
    const ovp_diagnosis_measurement *found[3];
    expect(ovp_diagnosis_offer(text, found, 3) <= 3);
    expect(ovp_diagnosis_answer(state, text, "unknown", NULL) == OVP_ERROR_DATA ||
           ovp_diagnosis_retract(state, text));
    return 0;
}
