/* The first byte chooses the fault; the rest, up to a line end, is its severity, and what follows is the
   controller's settings as a description has them. Read or refused with words; what is read runs and gives
   numbers. */
#include "ovenproof/diagnosis.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static void make_oven(ovp_oven *oven)
{
    static const char *const leaves[][2] = {
        {"name", "fuzz"},           {"supply.volts", "120V"}, {"elements[1].watts", "1300W"},
        {"elements[1].at", "120V"}, {"sensor.type", "K"},     {"chamber.width", "5in"},
        {"chamber.height", "5in"},  {"chamber.depth", "8in"}, {"lining.wall", "2in fibre board"},
    };
    ovp_oven_init(oven);
    for (size_t i = 0; i < sizeof leaves / sizeof leaves[0]; i++)
        expect(ovp_oven_set(oven, leaves[i][0], OVP_OVEN_LEAF_TEXT, leaves[i][1], NULL, NULL) == OVP_OK);
}

static void take_line(const uint8_t *data, size_t size, char *text, size_t room)
{
    size_t count = 0;
    while (count < size && count + 1 < room && data[count] != '\n' && data[count] != '\0')
        count++;
    memcpy(text, data, count);
    text[count] = '\0';
}

static void run_plan(const ovp_thermal_plan *plan)
{
    ovp_thermal_run run;
    ovp_thermal_sample sample;
    ovp_thermal_run_start(plan, &run);
    for (int i = 0; i < 4; i++) {
        ovp_thermal_run_to(&run, i * 20.0, &sample);
        expect(isfinite(sample.supply_V) && isfinite(sample.element_A) && isfinite(sample.true_C));
        expect(sample.dark || (sample.output_percent >= 0 && sample.output_percent <= 100));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(data[0] % ovp_diagnosis_fault_count());
    char text[64];
    ovp_oven oven;
    ovp_error error = {0};
    double severity = 12345;
    make_oven(&oven);
    take_line(data + 1, size - 1, text, sizeof text);
    const size_t used = 1 + strlen(text);
    if (used + 1 < size)
        take_line(data + used + 1, size - used - 1, oven.controller.pid, sizeof oven.controller.pid);
    if (ovp_diagnosis_severity(&oven, fault->id, text, &severity, &error) != OVP_OK) {
        expect(severity == 12345 && error.what[0] != '\0' && error.hint[0] != '\0');
        return 0;
    }
    ovp_thermal_plan plan;
    expect(ovp_thermal_plan_for(&oven, NULL, 500, &plan, NULL) == OVP_OK);
    expect(plan.controller.band_C > 0 && plan.controller.integral_s >= 0);
    if (ovp_diagnosis_apply_fault(&oven, fault->id, severity, &plan.parameters, &plan.disturbance, &error) ==
        OVP_OK)
        run_plan(&plan);
    else
        expect(error.what[0] != '\0');
    return 0;
}
