/* A run of any length as block means: when the array is full, blocks join in pairs. */
#include "ovenproof/thermal.h"

#include <math.h>

void ovp_thermal_record_init(ovp_thermal_record *record, ovp_thermal_block blocks[], size_t capacity)
{
    const size_t used = capacity < OVP_THERMAL_BLOCKS ? capacity : OVP_THERMAL_BLOCKS;

    *record = (ovp_thermal_record){.blocks = blocks, .capacity = used - used % 2, .block_samples = 1};
}

static void join(ovp_thermal_block *into, const ovp_thermal_block *from)
{
    const double held_s = into->held_s + from->held_s;
    const double readings = into->readings + from->readings;

    if (held_s > 0) {
        into->drive = (into->drive * into->held_s + from->drive * from->held_s) / held_s;
    }
    into->held_s = held_s;
    if (into->readings <= 0) {
        into->time_s = from->time_s;
        into->temperature_C = from->temperature_C;
    } else if (from->readings > 0) {
        const double share = from->readings / readings;
        into->time_s += share * (from->time_s - into->time_s);
        into->temperature_C += share * (from->temperature_C - into->temperature_C);
    }
    into->readings = readings;
}

static void join_pairs(ovp_thermal_record *record)
{
    for (size_t i = 0; i < record->count / 2; ++i) {
        record->blocks[i] = record->blocks[2 * i];
        join(&record->blocks[i], &record->blocks[2 * i + 1]);
    }
    record->count /= 2;
    record->block_samples *= 2;
}

/* The last sample's drive held until now. */
static void hold(ovp_thermal_record *record, double time_s)
{
    ovp_thermal_block *last = &record->blocks[record->count - 1];
    const double since_s = time_s - record->last_s;

    last->drive = (last->drive * last->held_s + record->last_drive * since_s) / (last->held_s + since_s);
    last->held_s += since_s;
}

void ovp_thermal_record_add(ovp_thermal_record *record, double time_s, double temperature_C, double drive)
{
    const bool first = record->count == 0;

    if (record->capacity < 2 || !isfinite(time_s) || (!first && !(time_s > record->last_s))) {
        return;
    }
    if (!first) {
        hold(record, time_s);
    }
    if (isfinite(drive)) {
        record->last_drive = drive;
    }
    record->last_s = time_s;
    if (first || record->last_samples == record->block_samples) {
        if (record->count == record->capacity) {
            join_pairs(record);
        }
        record->blocks[record->count++] = (ovp_thermal_block){
            .from_s = time_s, .drive = record->last_drive, .time_s = NAN, .temperature_C = NAN, .weight = 1};
        record->last_samples = 0;
    }
    ovp_thermal_block *last = &record->blocks[record->count - 1];
    ++record->last_samples;
    if (isfinite(temperature_C)) {
        join(last, &(ovp_thermal_block){.time_s = time_s, .temperature_C = temperature_C, .readings = 1});
    }
}
