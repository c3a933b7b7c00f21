/*
 * The first byte says how the rest is cut, the second which options are set; samples and warnings must not
 * depend on the cuts, and whatever comes out must be believable.
 */
#include "ovenproof/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

typedef struct run {
    uint64_t count;
    uint64_t digest;
    ovp_status status;
    ovp_error error;
    ovp_trace_input input;
} run;

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static void digest(run *to, const void *bytes, size_t count)
{
    const unsigned char *at = bytes;
    for (size_t i = 0; i < count; i++)
        to->digest = (to->digest ^ at[i]) * UINT64_C(0x100000001B3);
}

static void take(void *context, const ovp_trace_sample *sample)
{
    run *to = context;
    const double values[] = {sample->time_s,         sample->temperature_C, sample->setpoint_C,
                             sample->output_percent, sample->supply_V,      sample->element_A,
                             sample->cold_junction_C};
    expect(isfinite(sample->time_s));
    expect((sample->cell == OVP_TRACE_NUMBER) == isfinite(sample->temperature_C));
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        expect(!isinf(values[i]));
        if (!isnan(values[i]))
            digest(to, &values[i], sizeof values[i]);
    }
    expect(!(sample->temperature_C < -273.15) && !(sample->setpoint_C < -273.15));
    to->count++;
}

static void read_all(const uint8_t *data, size_t size, size_t piece, bool past_head,
                     const ovp_trace_options *options, run *to)
{
    static _Alignas(16) char memory[512 * 1024];
    static const char header[] = "Date;Uhrzeit;Temperatur [C];Stellgrad\n";
    static const char plain[] = "01.02.2024;10:00:00;20,5;50\r\n";
    expect(sizeof memory >= ovp_trace_reader_size());
    memset(to, 0, sizeof *to);
    ovp_trace_reader *reader = ovp_trace_reader_init(memory, options, take, to);
    if (past_head)
        to->status = ovp_trace_reader_feed(reader, header, sizeof header - 1, &to->error);
    for (size_t i = 0; past_head && i < 2400 && to->status == OVP_OK; i++)
        to->status = ovp_trace_reader_feed(reader, plain, sizeof plain - 1, &to->error);
    for (size_t at = 0; at < size && to->status == OVP_OK; at += piece)
        to->status = ovp_trace_reader_feed(reader, (const char *)data + at,
                                           size - at < piece ? size - at : piece, &to->error);
    if (to->status == OVP_OK)
        to->status = ovp_trace_reader_end(reader, &to->error);
    to->input = *ovp_trace_reader_input(reader);
    if (to->status != OVP_OK)
        expect(to->status == OVP_ERROR_DATA && to->error.what[0] != '\0' && to->error.hint[0] != '\0');
    else
        expect(to->count >= 2 && to->count == to->input.samples && to->input.missing <= to->count &&
               to->input.duration_s > 0.0 && to->input.interval_s > 0.0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static run whole;
    static run cut;
    ovp_trace_options options;
    if (size < 2)
        return 0;
    ovp_trace_options_init(&options);
    options.degrees = (ovp_text_degrees)(data[1] & 3);
    options.date_order = (data[1] >> 2 & 3) % 3;
    options.time_unit_s = (data[1] & 0x10) != 0 ? 60.0 : NAN;
    options.column[OVP_TRACE_TEMPERATURE] = (data[1] & 0x20) != 0 ? "2" : NULL;
    bool past_head = (data[0] & 0x80) != 0;
    read_all(data + 2, size - 2, size, past_head, &options, &whole);
    read_all(data + 2, size - 2, 1 + (data[0] & 0x0F), past_head, &options, &cut);
    expect(whole.status == cut.status && whole.count == cut.count && whole.digest == cut.digest);
    expect(whole.error.line == cut.error.line && strcmp(whole.error.what, cut.error.what) == 0);
    expect(whole.input.warning_count == cut.input.warning_count);
    return 0;
}
