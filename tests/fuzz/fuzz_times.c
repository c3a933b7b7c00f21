/* A run noted by hand gives samples in order of time, or is refused with words. */
#include "ovenproof/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

typedef struct seen {
    uint64_t samples;
    double time_s;
} seen;

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static void take_sample(void *context, const ovp_trace_sample *sample)
{
    seen *s = context;
    expect(isfinite(sample->time_s) && sample->time_s >= s->time_s);
    /* "broken" in the place of a temperature is a sample without one */
    if (sample->cell == OVP_TRACE_NUMBER)
        expect(isfinite(sample->temperature_C) && sample->temperature_C >= -273.15);
    else
        expect(isnan(sample->temperature_C));
    s->time_s = sample->time_s;
    s->samples++;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_trace_input input;
    seen s = {0, 0};
    ovp_error error = {0};
    char *text = malloc(size + 1);
    expect(text != NULL);
    memcpy(text, data, size);
    text[size] = '\0';
    ovp_status status = ovp_trace_times(text, (ovp_text_degrees)(size % 4), take_sample, &s, &input, &error);
    expect(status == OVP_OK || error.what[0] != '\0');
    if (status == OVP_OK)
        expect(input.samples == s.samples && s.samples >= 2);
    free(text);
    return 0;
}
