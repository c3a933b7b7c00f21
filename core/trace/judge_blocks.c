/* judge_blocks.c: the run in blocks of constant number: full, they join in pairs. */
#include "judge_internal.h"

#include <math.h>

static void channel_clear(judge_channel *channel)
{
    *channel = (judge_channel){.low = INFINITY, .high = -INFINITY};
}

static void channel_take(judge_channel *channel, double value)
{
    if (isnan(value)) {
        return;
    }
    channel->sum += value;
    channel->count++;
    channel->low = value < channel->low ? value : channel->low;
    channel->high = value > channel->high ? value : channel->high;
}

static void channel_join(judge_channel *into, const judge_channel *from)
{
    into->sum += from->sum;
    into->count += from->count;
    into->low = fmin(into->low, from->low);
    into->high = fmax(into->high, from->high);
}

double judge_mean(const judge_channel *channel)
{
    return channel->count ? channel->sum / (double)channel->count : NAN;
}

static void block_join(judge_block *into, const judge_block *from)
{
    into->to_s = from->to_s;
    into->sum_s += from->sum_s;
    into->samples += from->samples;
    into->rail_low += from->rail_low;
    into->rail_high += from->rail_high;
    for (size_t i = 0; i < CHANNELS; i++) {
        channel_join(&into->channel[i], &from->channel[i]);
    }
    for (size_t i = 0; i < JUDGE_CELLS; i++) {
        into->cells[i] += from->cells[i];
    }
}

static void join_pairs(ovp_trace_judge *judge)
{
    for (size_t i = 0; i < JUDGE_BLOCKS / 2; i++) {
        judge->blocks[i] = judge->blocks[2 * i];
        block_join(&judge->blocks[i], &judge->blocks[2 * i + 1]);
    }
    judge->block_count = JUDGE_BLOCKS / 2;
    judge->block_samples *= 2;
}

static judge_block *new_block(ovp_trace_judge *judge, double time_s)
{
    if (judge->block_count == JUDGE_BLOCKS) {
        join_pairs(judge);
    }
    judge_block *block = &judge->blocks[judge->block_count++];
    *block = (judge_block){.from_s = time_s};
    for (size_t i = 0; i < CHANNELS; i++) {
        channel_clear(&block->channel[i]);
    }
    judge->block = block;
    return block;
}

/* Is heat on at this very sample? A current says so best. */
static judge_called on_now(const ovp_trace_sample *sample)
{
    if (!isnan(sample->element_A)) {
        return sample->element_A > LIMIT(current_on_A) ? CALLED_YES : CALLED_NO;
    }
    if (isnan(sample->output_percent)) {
        return CALLED_UNKNOWN;
    }
    return sample->output_percent >= LIMIT(output_full_percent) ? CALLED_YES
           : sample->output_percent < LIMIT(output_on_percent)  ? CALLED_NO
                                                                : CALLED_UNKNOWN;
}

static void take_meters(judge_block *block, const ovp_trace_sample *sample)
{
    channel_take(&block->channel[CHANNEL_VOLTS], sample->supply_V);
    channel_take(&block->channel[CHANNEL_AMPS], sample->element_A);
    judge_called on = on_now(sample);
    if (on == CALLED_YES) {
        channel_take(&block->channel[CHANNEL_VOLTS_ON], sample->supply_V);
        channel_take(&block->channel[CHANNEL_AMPS_ON], sample->element_A);
    } else if (on == CALLED_NO) {
        channel_take(&block->channel[CHANNEL_VOLTS_OFF], sample->supply_V);
    }
}

void judge_block_take(ovp_trace_judge *judge, const ovp_trace_sample *sample, double time_s, bool rail_low,
                      bool rail_high)
{
    judge_block *block = judge->block;
    if (block == NULL || block->samples >= judge->block_samples) {
        block = new_block(judge, time_s);
    }
    block->to_s = time_s;
    block->sum_s += time_s;
    block->samples++;
    if (rail_low || rail_high) {
        block->rail_low += rail_low;
        block->rail_high += rail_high;
    } else if (!isnan(sample->temperature_C)) {
        channel_take(&block->channel[CHANNEL_TEMPERATURE], sample->temperature_C);
    } else if (sample->cell <= OVP_TRACE_ERROR) {
        block->cells[sample->cell]++;
    }
    channel_take(&block->channel[CHANNEL_SETPOINT], sample->setpoint_C);
    channel_take(&block->channel[CHANNEL_OUTPUT], sample->output_percent);
    channel_take(&block->channel[CHANNEL_COLD], sample->cold_junction_C);
    if (!isnan(sample->supply_V) || !isnan(sample->element_A)) {
        take_meters(block, sample);
    }
}

size_t judge_block_room(const ovp_trace_judge *judge)
{
    return judge->block != NULL && judge->block->samples < judge->block_samples
               ? (size_t)(judge->block_samples - judge->block->samples)
               : 0;
}

void judge_block_take_quiet(judge_block *block, const ovp_trace_sample samples[], size_t count, double to_s,
                            double sum_s)
{
    judge_channel temperature = block->channel[CHANNEL_TEMPERATURE];
    for (size_t i = 0; i < count; i++) {
        channel_take(&temperature, samples[i].temperature_C);
    }
    block->channel[CHANNEL_TEMPERATURE] = temperature;
    judge_channel setpoint = block->channel[CHANNEL_SETPOINT], output = block->channel[CHANNEL_OUTPUT];
    for (size_t i = 0; i < count; i++) {
        channel_take(&setpoint, samples[i].setpoint_C);
        channel_take(&output, samples[i].output_percent);
    }
    block->channel[CHANNEL_SETPOINT] = setpoint;
    block->channel[CHANNEL_OUTPUT] = output;
    for (size_t i = 0; i < count; i++) {
        channel_take(&block->channel[CHANNEL_COLD], samples[i].cold_junction_C);
    }
    block->samples += count;
    block->to_s = to_s;
    block->sum_s = sum_s;
}
