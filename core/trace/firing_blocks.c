/* firing_blocks.c: a run of any length as blocks; full, they join in pairs. */
#include "firing_internal.h"

#include <math.h>
#include <string.h>

static const struct {
    const char *name;
    double value;
} rows[] = {
#include "firing-limits.inc"
};

double firing_limit(firing_limit_id id)
{
    return rows[id].value;
}

const char *firing_limit_name(size_t index)
{
    return index < sizeof rows / sizeof rows[0] ? rows[index].name : NULL;
}

size_t ovp_trace_firing_size(void)
{
    return sizeof(ovp_trace_firing);
}

ovp_trace_firing *ovp_trace_firing_init(void *memory, double rated_V)
{
    ovp_trace_firing *firing = memory;
    if (firing == NULL) {
        return NULL;
    }
    memset(firing, 0, sizeof *firing);
    firing->rated_V = rated_V;
    firing->block_samples = 1;
    firing->last_reading_s = firing->last_output = firing->last_volt_amp = NAN;
    return firing;
}

static void join(firing_block *into, const firing_block *from)
{
    into->to_s = from->to_s;
    into->sum_s += from->sum_s;
    into->sum_C += from->sum_C;
    into->low_C = fmin(into->low_C, from->low_C);
    into->high_C = fmax(into->high_C, from->high_C);
    into->readings += from->readings;
    into->gap_s = fmax(into->gap_s, from->gap_s);
    into->output_s += from->output_s;
    into->volt_amp_J += from->volt_amp_J;
    into->outputs_s += from->outputs_s;
    into->amps_s += from->amps_s;
}

static void join_pairs(ovp_trace_firing *firing)
{
    for (size_t i = 0; i < FIRING_BLOCKS / 2; i++) {
        firing->blocks[i] = firing->blocks[2 * i];
        join(&firing->blocks[i], &firing->blocks[2 * i + 1]);
    }
    firing->count = FIRING_BLOCKS / 2;
    firing->block_samples *= 2;
}

static firing_block *block_for(ovp_trace_firing *firing, double time_s)
{
    if (firing->count > 0 && firing->last_samples < firing->block_samples) {
        firing->last_samples++;
        return &firing->blocks[firing->count - 1];
    }
    if (firing->count == FIRING_BLOCKS) {
        join_pairs(firing);
    }
    firing_block *block = &firing->blocks[firing->count++];
    *block = (firing_block){.from_s = time_s, .low_C = INFINITY, .high_C = -INFINITY};
    firing->last_samples = 1;
    return block;
}

/* What was on since the last sample, into the block of this one. */
static void add_power(ovp_trace_firing *firing, firing_block *block, double span_s)
{
    if (!isnan(firing->last_output)) {
        block->output_s += firing->last_output * span_s;
        block->outputs_s += span_s;
    }
    if (!isnan(firing->last_volt_amp)) {
        block->volt_amp_J += firing->last_volt_amp * span_s;
        block->amps_s += span_s;
    }
}

void ovp_trace_firing_sample(ovp_trace_firing *firing, const ovp_trace_sample *sample)
{
    if (!isfinite(sample->time_s) || (firing->samples > 0 && !(sample->time_s > firing->last_s))) {
        return;
    }
    firing_block *block = block_for(firing, sample->time_s);
    if (firing->samples++ > 0) {
        add_power(firing, block, sample->time_s - firing->last_s);
    }
    firing->last_s = block->to_s = sample->time_s;
    const double volts = isnan(sample->supply_V) ? firing->rated_V : sample->supply_V;
    const double squared = firing->rated_V > 0 && sample->supply_V > 0
                               ? (sample->supply_V / firing->rated_V) * (sample->supply_V / firing->rated_V)
                               : 1;
    firing->last_output = sample->output_percent / 100 * squared;
    firing->last_volt_amp = volts * sample->element_A;
    firing->most_volt_amp = fmax(firing->most_volt_amp, firing->last_volt_amp);
    if (!isfinite(sample->temperature_C)) {
        return;
    }
    if (!isnan(firing->last_reading_s)) {
        block->gap_s = fmax(block->gap_s, sample->time_s - firing->last_reading_s);
    }
    firing->last_reading_s = sample->time_s;
    block->sum_s += sample->time_s;
    block->sum_C += sample->temperature_C;
    block->low_C = fmin(block->low_C, sample->temperature_C);
    block->high_C = fmax(block->high_C, sample->temperature_C);
    block->readings++;
}
