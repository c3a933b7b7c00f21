/* judge_blocks.c: the run in blocks of constant number: full, they join in pairs. */
#include "judge_internal.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

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

/* Two channels side by side; a NAN changes nothing, as in channel_take. */
typedef double two __attribute__((vector_size(16)));
typedef long long two_masks __attribute__((vector_size(16)));

typedef struct judge_channels {
    two sum, low, high;
    two_masks count;
} judge_channels;

static inline two chosen(two_masks where, two value, two otherwise)
{
    return (two)((where & (two_masks)value) | (~where & (two_masks)otherwise));
}

static inline void channels_take(judge_channels *channels, two value)
{
    two_masks there = value <= (two){INFINITY, INFINITY}; /* no NAN */
    channels->sum += (two)(there & (two_masks)value);
    channels->low = chosen(value < channels->low, value, channels->low);
    channels->high = chosen(value > channels->high, value, channels->high);
    channels->count -= there; /* true is -1 */
}

static judge_channels side_by_side(const judge_channel *a, const judge_channel *b)
{
    return (judge_channels){{a->sum, b->sum}, {a->low, b->low}, {a->high, b->high}, {0, 0}};
}

static void channel_of(const judge_channels *from, size_t which, judge_channel *channel)
{
    channel->sum = from->sum[which];
    channel->low = from->low[which];
    channel->high = from->high[which];
    channel->count += (uint64_t)from->count[which];
}

_Static_assert(offsetof(ovp_trace_sample, output_percent) ==
                   offsetof(ovp_trace_sample, setpoint_C) + sizeof(double),
               "setpoint and output are read side by side");

void judge_block_take_quiet(judge_block *block, const ovp_trace_sample samples[], size_t count, double to_s,
                            double sum_s)
{
    judge_channel *setpoint = &block->channel[CHANNEL_SETPOINT], *output = &block->channel[CHANNEL_OUTPUT];
    judge_channel temperature = block->channel[CHANNEL_TEMPERATURE];
    judge_channels called = side_by_side(setpoint, output);
    for (size_t i = 0; i < count; i++) {
        double value_C = samples[i].temperature_C;
        two value;
        memcpy(&value, &samples[i].setpoint_C, sizeof value);
        channels_take(&called, value);
        temperature.sum += value_C;
        temperature.low = value_C < temperature.low ? value_C : temperature.low;
        temperature.high = value_C > temperature.high ? value_C : temperature.high;
        channel_take(&block->channel[CHANNEL_COLD], samples[i].cold_junction_C);
    }
    temperature.count += count;
    block->channel[CHANNEL_TEMPERATURE] = temperature;
    channel_of(&called, 0, setpoint);
    channel_of(&called, 1, output);
    block->samples += count;
    block->to_s = to_s;
    block->sum_s = sum_s;
}

void judge_blocks_tell(ovp_trace_judge *judge)
{
    const double told_V = judge->expectation.told_V;
    if (!(told_V > 0) || (!judge->told && judge_total(judge, CHANNEL_VOLTS, -INFINITY, INFINITY).count > 0)) {
        return;
    }
    judge->told = true;
    for (size_t i = 0; i < judge->block_count; i++) {
        judge_block *block = &judge->blocks[i];
        const judge_channel *output = &block->channel[CHANNEL_OUTPUT], *amps = &block->channel[CHANNEL_AMPS];
        const bool off = (output->count && output->high < LIMIT(output_on_percent)) ||
                         (!output->count && amps->count && !block->channel[CHANNEL_AMPS_ON].count);
        if (!off && !block->channel[CHANNEL_VOLTS].count) {
            channel_take(&block->channel[CHANNEL_VOLTS], told_V);
            channel_take(&block->channel[CHANNEL_VOLTS_ON], told_V);
        }
    }
}
