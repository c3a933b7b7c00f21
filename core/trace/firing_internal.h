/* firing_internal.h: what the files that hold a run against a plan share. */
#ifndef OVENPROOF_TRACE_FIRING_INTERNAL_H
#define OVENPROOF_TRACE_FIRING_INTERNAL_H

#include "ovenproof/trace.h"

enum {
    FIRING_BLOCKS = 4096,
};

/* Rows of reference/firing-limits.csv, in this order (a test holds the two together). */
#define FIRING_LIMITS(X)                                                                                     \
    X(band_C)                                                                                                \
    X(rate_share)                                                                                            \
    X(burst_share)                                                                                           \
    X(burst_s)                                                                                               \
    X(stair_C)                                                                                               \
    X(stair_share)                                                                                           \
    X(still_share)                                                                                           \
    X(hold_share)                                                                                            \
    X(skipped_share)                                                                                         \
    X(held_share)                                                                                            \
    X(noise_C)                                                                                               \
    X(rounding_s)                                                                                            \
    X(gap_s)                                                                                                 \
    X(gap_intervals)                                                                                         \
    X(flat_share)                                                                                            \
    X(wet_to_C)                                                                                              \
    X(heat_on_C)                                                                                             \
    X(dry_run_U)                                                                                             \
    X(model_U)                                                                                               \
    X(water_J_per_kg)

typedef enum firing_limit_id {
#define FIRING_LIMIT_ID(name) FIRING_##name,
    FIRING_LIMITS(FIRING_LIMIT_ID)
#undef FIRING_LIMIT_ID
    FIRING_LIMIT_COUNT,
} firing_limit_id;

double firing_limit(firing_limit_id id);
/* NULL past the last row. */
const char *firing_limit_name(size_t index);
#define FIRING_LIMIT(name) firing_limit(FIRING_##name)

/* As many samples as the others, but for the last. */
typedef struct firing_block {
    double from_s, to_s;
    double sum_s, sum_C, low_C, high_C;
    double readings;
    double gap_s;             /* longest hole between two of its readings, or before the first */
    double output_s;          /* output (0..1) times time, by volts squared where logged */
    double volt_amp_J;        /* volts times amps times time */
    double outputs_s, amps_s; /* time for which there was an output, amps */
} firing_block;

struct ovp_trace_firing {
    firing_block blocks[FIRING_BLOCKS];
    size_t count;
    uint64_t samples, block_samples, last_samples;
    double rated_V;
    double last_s, last_reading_s, last_output, last_volt_amp, most_volt_amp;
    /* made of the blocks when judging */
    double time_s[FIRING_BLOCKS], mean_C[FIRING_BLOCKS], dry_J[FIRING_BLOCKS], energy_J[FIRING_BLOCKS];
    double gap_before_s[FIRING_BLOCKS], power_W[FIRING_BLOCKS];
    size_t points;
};

#endif
