/* trace_read.c: bytes of a run to a judged run. */
#include "command/trace.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* Who takes the samples: the judge, and the drawing where one is wanted. */
typedef struct takers {
    ovp_trace_judge *judge;
    picture_series *series;
} takers;

static void take_sample(void *context, const ovp_trace_sample *sample)
{
    const takers *both = context;
    ovp_trace_judge_sample(both->judge, sample);
    if (both->series != NULL)
        picture_series_sample(both->series, sample);
}

static void take_samples(void *context, const ovp_trace_sample samples[], size_t count)
{
    const takers *both = context;
    ovp_trace_judge_samples(both->judge, samples, count);
    for (size_t i = 0; i < count && both->series != NULL; i++)
        picture_series_sample(both->series, &samples[i]);
}

static ovp_status feed_file(ovp_trace_reader *reader, FILE *file, const char *name, ovp_error *error)
{
    enum {
        CHUNK = 262144
    };
    char *bytes = malloc(CHUNK);
    ovp_status status = OVP_OK;
    if (bytes == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    while (status == OVP_OK) {
        size_t count = fread(bytes, 1, CHUNK, file);
        if (count == 0)
            break;
        status = ovp_trace_reader_feed(reader, bytes, count, error);
    }
    free(bytes);
    if (status == OVP_OK && ferror(file)) {
        status = ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot be read: %s", strerror(errno));
        ovp_error_hint(error, "is the disk or the stick still there?");
    }
    if (status == OVP_OK)
        status = ovp_trace_reader_end(reader, error);
    if (status != OVP_OK)
        ovp_error_place(error, name, 0);
    return status;
}

static FILE *open_run(const char *name, ovp_error *error)
{
    struct stat about;
    if (strcmp(name, "-") == 0)
        return stdin;
    FILE *file = fopen(name, "rb");
    if (file == NULL) {
        ovp_error_set(error, OVP_ERROR_DATA, "cannot be opened: %s", strerror(errno));
        ovp_error_hint(error, "name the file of a recorded run, or - for standard input");
    } else if (fstat(fileno(file), &about) == 0 && S_ISDIR(about.st_mode)) {
        ovp_error_set(error, OVP_ERROR_DATA, "is a folder");
        ovp_error_hint(error, "name the file in it");
        fclose(file);
        file = NULL;
    }
    if (file == NULL)
        ovp_error_place(error, name, 0);
    return file;
}

/* Samples go to one of the two functions. */
static ovp_status read_run(const char *name, const ovp_trace_options *options,
                           ovp_trace_sample_function sample, ovp_trace_batch_function batch, void *context,
                           ovp_trace_input *input, ovp_error *error)
{
    FILE *file = open_run(name, error);
    if (file == NULL)
        return error->status;
    ovp_status status = OVP_OK;
    void *memory = aligned_alloc(64, (ovp_trace_reader_size() + 63) / 64 * 64);
    if (memory == NULL) {
        status = ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    } else {
        ovp_trace_reader *reader = ovp_trace_reader_init(memory, options, sample, context);
        ovp_trace_reader_in_batches(reader, batch);
        status = feed_file(reader, file, strcmp(name, "-") == 0 ? "standard input" : name, error);
        if (status == OVP_OK)
            *input = *ovp_trace_reader_input(reader);
        free(memory);
    }
    if (file != stdin)
        fclose(file);
    return status;
}

ovp_status command_trace_samples(const char *name, const ovp_trace_options *options,
                                 ovp_trace_sample_function sample, void *context, ovp_trace_input *input,
                                 ovp_error *error)
{
    return read_run(name, options, sample, NULL, context, input, error);
}

ovp_status command_trace_read(const trace_setting *setting, const char *name, trace_run *run,
                              ovp_error *error)
{
    ovp_status status = command_trace_keep_series(setting->call, &run->series, error);
    void *memory = status == OVP_OK ? aligned_alloc(64, (ovp_trace_judge_size() + 63) / 64 * 64) : NULL;
    if (memory == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    ovp_trace_expectation expectation = setting->expectation;
    expectation.heat_from_start = name == NULL;
    ovp_trace_judge *judge = ovp_trace_judge_init(memory, &expectation);
    takers both = {judge, run->series};
    const char *times = command_value(setting->call, "times");
    run->name = name != NULL ? name : "--times";
    status = name != NULL
                 ? read_run(name, &setting->options, NULL, take_samples, &both, &run->input, error)
                 : ovp_trace_times(times, setting->options.degrees, take_sample, &both, &run->input, error);
    if (status == OVP_OK) {
        if (expectation.told_V > 0 && !run->input.has[OVP_TRACE_SUPPLY]) { /* the judge takes it as logged */
            run->input.has[OVP_TRACE_SUPPLY] = true;
            ovp_copy_string(run->input.columns[OVP_TRACE_SUPPLY], OVP_TRACE_HEADER_SIZE,
                            ovp_span_of("--volts"));
        }
        ovp_trace_judge_result(judge, &run->result);
        run->outline_count = ovp_trace_judge_outline(judge, run->outline, TRACE_OUTLINE);
    }
    free(memory);
    return status;
}

/* Beside a model of each fault. */
static ovp_status fit_run(const trace_setting *setting, trace_run *run, ovp_error *error)
{
    if (!setting->has_model)
        return OVP_OK;
    void *memory = aligned_alloc(64, (ovp_diagnosis_synthesis_size() + 63) / 64 * 64);
    if (memory == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    const ovp_diagnosis_run here = {run->outline, run->outline_count, &run->input, &run->result};
    const ovp_diagnosis_run good = {setting->baseline_outline, setting->baseline_count,
                                    &setting->baseline_input, &setting->baseline};
    ovp_diagnosis_synthesise(&setting->oven, &setting->model, setting->expectation.ambient_C, &here,
                             setting->has_baseline ? &good : NULL, memory, &run->fit);
    free(memory);
    return OVP_OK;
}

ovp_status command_trace_weigh(const trace_setting *setting, trace_run *run, ovp_error *error)
{
    ovp_diagnosis_settings settings = {
        .context = setting->context,
        .oven = setting->has_oven ? &setting->oven : NULL,
        .healthy = 0.5,
        .log_only = true,
        .shown = setting->call->degrees,
    };
    if (fit_run(setting, run, error) != OVP_OK)
        return error->status;
    void *memory = aligned_alloc(64, (ovp_diagnosis_case_size() + 63) / 64 * 64);
    if (memory == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    ovp_diagnosis_case *state = ovp_diagnosis_case_init(memory, &settings);
    ovp_diagnosis_take_trace(state, &run->result, &run->input);
    ovp_diagnosis_take_synthesis(state, &run->fit);
    ovp_diagnosis_infer(state, &run->causes);
    if (run->causes.verdict != OVP_DIAGNOSIS_HEALTHY) {
        if (run->causes.cause_count > 0)
            run->next = ovp_diagnosis_measurement_named(run->causes.causes[0].next);
        else
            run->next = ovp_diagnosis_next(state);
        if (run->next != NULL)
            ovp_diagnosis_expect(state, run->next, run->expect, sizeof run->expect);
    }
    free(memory);
    return OVP_OK;
}
