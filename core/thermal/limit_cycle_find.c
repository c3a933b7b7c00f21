/* On-off control in a recorded run: the last cycles that are alike, and the process around their level. */
#include "ovenproof/thermal.h"

#include "thermal/thermal_internal.h"

#include <math.h>

enum {
    CYCLES_LEAST = 3,
    CYCLES_MOST = 8, /* the last ones: the level is settled there */
};

/* One cycle, from heat on to heat on. */
typedef struct cycle_seen {
    size_t from, off, to; /* blocks: heat comes on, goes off, comes on again */
    double on_s, off_s;
    double upper_C, lower_C; /* where it goes off, and where it comes on again */
    double highest_C, lowest_C;
    double area, span_s, heat_s; /* of temperature; of time; of drive */
} cycle_seen;

static bool is_on(const ovp_thermal_block *block)
{
    return block->drive >= 0.5;
}

/* Neither on nor off: time-proportioned output, or the mean of several samples, tells no switching. */
static bool is_between(const ovp_thermal_block *block)
{
    const double full = thermal_figure("full_drive");
    return block->drive > 1 - full && block->drive < full;
}

/* The block at which the drive before `end` began; SIZE_MAX when the run does not show it. A block that holds
   a switching is the mean of both sides; two of them in a row are time-proportioned output. */
static size_t began(const ovp_thermal_record *record, size_t end, bool on)
{
    size_t at = end;

    while (at > 0 && is_on(&record->blocks[at - 1]) == on) {
        --at;
        if (at + 1 < end && is_between(&record->blocks[at]) && is_between(&record->blocks[at + 1])) {
            return SIZE_MAX;
        }
    }
    return at == 0 || at == end ? SIZE_MAX : at;
}

/* When the heat comes on, or goes off, about the start of a block: a mixed block tells by its mean. */
static double switched_s(const ovp_thermal_record *record, size_t at, bool on)
{
    const ovp_thermal_block *before = &record->blocks[at - 1], *after = &record->blocks[at];
    const double late = on ? 1 - after->drive : after->drive;
    const double early = on ? before->drive : 1 - before->drive;

    return after->from_s + late * after->held_s - early * before->held_s;
}

/* Temperature at a moment about the start of a block: on the line between two readings. */
static double temperature_at(const ovp_thermal_record *record, size_t at, double time_s)
{
    while (at + 1 < record->count && record->blocks[at].time_s < time_s) {
        ++at;
    }
    while (at > 1 && record->blocks[at - 1].time_s > time_s) {
        --at;
    }
    const ovp_thermal_block *before = &record->blocks[at - 1], *after = &record->blocks[at];
    const double step_s = after->time_s - before->time_s;
    if (!(step_s > 0)) {
        return after->temperature_C;
    }
    const double share = (time_s - before->time_s) / step_s;
    return before->temperature_C + share * (after->temperature_C - before->temperature_C);
}

/* Measure a cycle; the top is looked for after the heat goes off, the bottom after it comes on. */
static bool measure(const ovp_thermal_record *record, cycle_seen *seen)
{
    const ovp_thermal_block *blocks = record->blocks;

    const double on_at_s = switched_s(record, seen->from, true);
    const double off_at_s = switched_s(record, seen->off, false);
    seen->on_s = off_at_s - on_at_s;
    seen->off_s = switched_s(record, seen->to, true) - off_at_s;
    seen->upper_C = temperature_at(record, seen->off, off_at_s);
    seen->lower_C = temperature_at(record, seen->from, on_at_s);
    seen->highest_C = -INFINITY;
    seen->lowest_C = INFINITY;
    seen->area = seen->span_s = seen->heat_s = 0;
    for (size_t i = seen->from; i < seen->to; ++i) {
        if (!(blocks[i].readings > 0)) {
            return false;
        }
        seen->highest_C = fmax(seen->highest_C, blocks[i].temperature_C);
        seen->lowest_C = fmin(seen->lowest_C, blocks[i].temperature_C);
        const double next_C = i + 1 < record->count && blocks[i + 1].readings > 0
                                  ? blocks[i + 1].temperature_C
                                  : blocks[i].temperature_C;
        seen->area += 0.5 * (blocks[i].temperature_C + next_C) * blocks[i].held_s;
        seen->span_s += blocks[i].held_s;
        seen->heat_s += blocks[i].drive * blocks[i].held_s;
    }
    return seen->on_s > 0 && seen->off_s > 0;
}

/* The last whole cycles, latest first. */
static size_t find_cycles(const ovp_thermal_record *record, cycle_seen seen[CYCLES_MOST])
{
    size_t count = 0, to = record->count;

    if (record->count < 4) {
        return 0;
    }
    /* The last stretch is not whole; after it comes one that ends in heat on. */
    while (to > 0 && !(is_on(&record->blocks[to - 1]) && to < record->count && !is_on(&record->blocks[to]))) {
        --to;
    }
    to = to > 0 ? began(record, to, true) : SIZE_MAX;
    while (count < CYCLES_MOST && to != SIZE_MAX) {
        const size_t off = began(record, to, false);
        const size_t from = off == SIZE_MAX ? SIZE_MAX : began(record, off, true);
        if (from == SIZE_MAX) {
            break;
        }
        seen[count] = (cycle_seen){.from = from, .off = off, .to = to};
        if (!measure(record, &seen[count])) {
            break;
        }
        ++count;
        to = from;
    }
    return count;
}

static double spread_of(double sum, double squares, double n)
{
    const double mean = sum / n;
    return sqrt(fmax(0, squares / n - mean * mean) * n / (n - 1)) / mean;
}

/* The means of the cycles, from the level that their mean drive holds. */
static void average(const ovp_thermal_record *record, const cycle_seen seen[], size_t count,
                    ovp_thermal_swing *swing)
{
    double area = 0, span_s = 0, heat_s = 0, on_s = 0, period = 0, periods = 0, height = 0, heights = 0;
    ovp_thermal_cycle cycle = {0};
    const double n = (double)count;

    for (size_t i = 0; i < count; ++i) {
        const double period_s = seen[i].on_s + seen[i].off_s, high = seen[i].highest_C - seen[i].lowest_C;
        area += seen[i].area;
        span_s += seen[i].span_s;
        heat_s += seen[i].heat_s;
        on_s += seen[i].on_s;
        period += period_s;
        periods += period_s * period_s;
        height += high;
        heights += high * high;
        cycle.upper_C += seen[i].upper_C / n;
        cycle.lower_C += seen[i].lower_C / n;
        cycle.highest_C += seen[i].highest_C / n;
        cycle.lowest_C += seen[i].lowest_C / n;
    }
    *swing = (ovp_thermal_swing){.cycles = count,
                                 .level_C = area / span_s,
                                 .drive = heat_s / span_s,
                                 .period_s = period / n,
                                 .from_s = record->blocks[seen[count - 1].from].from_s,
                                 .to_s = record->blocks[seen[0].to].from_s,
                                 .period_spread = spread_of(period, periods, n),
                                 .height_spread = spread_of(height, heights, n)};
    cycle.on = 1 - swing->drive;
    cycle.off = swing->drive;
    cycle.on_s = on_s / n;
    cycle.off_s = swing->period_s - cycle.on_s;
    cycle.upper_C -= swing->level_C;
    cycle.lower_C -= swing->level_C;
    cycle.highest_C -= swing->level_C;
    cycle.lowest_C -= swing->level_C;
    swing->cycle = cycle;
}

ovp_status ovp_thermal_swing_of(const ovp_thermal_record *record, double base_C, ovp_thermal_swing *swing,
                                ovp_error *error)
{
    cycle_seen seen[CYCLES_MOST];
    ovp_thermal_swing made;
    const double alike = thermal_figure("cycles_alike_share");

    *swing = (ovp_thermal_swing){0};
    const size_t count = find_cycles(record, seen);
    if (count < CYCLES_LEAST) {
        return ovp_error_set(error, OVP_ERROR_DATA, "no three whole cycles of heat on and heat off");
    }
    average(record, seen, count, &made);
    if (!(made.period_spread < alike && made.height_spread < alike)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "no two cycles are alike");
    }
    if (!(made.level_C > base_C)) {
        return ovp_error_set(error, OVP_ERROR_DATA, "it swings below the temperature at rest");
    }
    const double gain = (made.level_C - base_C) / made.drive;
    const ovp_status status = ovp_thermal_process_of_cycle(&made.cycle, gain, &made.process, error);
    if (status == OVP_OK) {
        *swing = made;
    }
    return status;
}
