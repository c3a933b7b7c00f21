/* What is typed beside an oven is taken or refused with words; a log that was written reads back to the same
   text; a file of any bytes is a log or is refused. */
#include "ovenproof/trace_stopwatch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum {
    ENTRIES = 64,
    TEXT = 32768,
};

typedef struct text {
    char bytes[TEXT];
    size_t count;
} text;

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static ovp_status add(void *context, const char *bytes, size_t count)
{
    text *to = context;
    if (to->count + count > TEXT)
        return OVP_ERROR_MEMORY;
    memcpy(to->bytes + to->count, bytes, count);
    to->count += count;
    return OVP_OK;
}

static void check_row(void *context, const ovp_trace_sample *row)
{
    double *last_s = context;
    expect(isfinite(row->time_s) && row->time_s >= *last_s);
    expect((row->cell == OVP_TRACE_NUMBER) == isfinite(row->temperature_C));
    *last_s = row->time_s;
}

static void check_written(const ovp_trace_log *log)
{
    static text first, second;
    static ovp_trace_log_entry entries[ENTRIES];
    ovp_trace_log again;
    bool torn;
    double last_s = 0;
    first.count = second.count = 0;
    ovp_trace_log_samples(log, check_row, &last_s);
    if (ovp_trace_log_write(log, (ovp_sink){add, &first}) != OVP_OK)
        return;
    ovp_trace_log_init(&again, entries, ENTRIES, log->name, log->oven, NULL, OVP_TEXT_DEGREES_C);
    expect(ovp_trace_log_read(&again, (ovp_span){first.bytes, first.count}, &torn, NULL) == OVP_OK && !torn);
    expect(ovp_trace_log_write(&again, (ovp_sink){add, &second}) == OVP_OK);
    expect(first.count == second.count && memcmp(first.bytes, second.bytes, first.count) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ovp_oven oven;
    static ovp_trace_log_entry entries[ENTRIES];
    ovp_trace_log log;
    ovp_trace_log_state state;
    ovp_error error = {0};
    bool torn;
    char *typed_text = malloc(size + 1);
    expect(typed_text != NULL);
    memcpy(typed_text, data, size);
    typed_text[size] = '\0';
    ovp_oven_init(&oven);
    oven.heat_up_count = 2;
    oven.heat_up[0] = (ovp_oven_limit){260, 240};
    oven.heat_up[1] = (ovp_oven_limit){538, 480};
    ovp_trace_log_init(&log, entries, ENTRIES, "QR-8", &oven, NULL, OVP_TEXT_DEGREES_F);
    double now_s = 0;
    for (char *line = typed_text; line < typed_text + size;) {
        const size_t length = strcspn(line, "\n");
        ovp_trace_typed typed;
        size_t changed = ENTRIES;
        if (ovp_trace_typed_read((ovp_span){line, length}, 1 + size % 9, &typed, &error) == OVP_OK) {
            expect(typed.oven <= 1 + size % 9 && (isnan(typed.at_s) || typed.at_s >= 0));
            now_s = isnan(typed.at_s) ? now_s + 7 : typed.at_s;
            if (ovp_trace_log_take(&log, &typed, now_s, &changed, &error) == OVP_OK)
                expect(changed < log.count);
            else
                expect(error.what[0] != '\0' && error.hint[0] != '\0');
        } else {
            expect(error.what[0] != '\0' && error.hint[0] != '\0');
        }
        line += length + 1;
    }
    ovp_trace_log_stand(&log, &state);
    (void)ovp_trace_log_wants(&log, &state, now_s);
    check_written(&log);
    ovp_trace_log_init(&log, entries, ENTRIES, "QR-8", &oven, NULL, OVP_TEXT_DEGREES_F);
    if (ovp_trace_log_read(&log, (ovp_span){typed_text, size}, &torn, &error) == OVP_OK)
        check_written(&log);
    free(typed_text);
    return 0;
}
