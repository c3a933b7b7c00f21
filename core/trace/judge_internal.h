/*
 * judge_internal.h: what the files of the judge share.
 *
 * The judge keeps a run twice, both of constant size: counters that need every sample (clock, jumps, noise,
 * equal readings), and blocks, which halve in number whenever they are full. At the end the blocks become
 * points, the points become a run (start, time zero, climb, hold), and each finding_*.c draws its findings
 * from those.
 */
#ifndef OVENPROOF_TRACE_JUDGE_INTERNAL_H
#define OVENPROOF_TRACE_JUDGE_INTERNAL_H

#include "ovenproof/trace.h"

enum {
    JUDGE_BLOCKS = 4096,
    JUDGE_TEXT_SIZE = 64,
    JUDGE_ENDS = 4, /* inputs whose ends are known where no description says which it is */
    JUDGE_CELLS = OVP_TRACE_ERROR + 1,
};

/* Thresholds: rows of reference/trace-limits.csv, in this order (a test holds the two together). */
#define JUDGE_LIMITS(X)                                                                                      \
    X(gap_intervals)                                                                                         \
    X(gap_least_s)                                                                                           \
    X(clock_leap_s)                                                                                          \
    X(jump_least_C)                                                                                          \
    X(jump_rate_C_per_s)                                                                                     \
    X(jump_rate_share)                                                                                       \
    X(jump_sigmas)                                                                                           \
    X(jump_interval_s)                                                                                       \
    X(jump_back_s)                                                                                           \
    X(current_on_A)                                                                                          \
    X(output_on_percent)                                                                                     \
    X(output_full_percent)                                                                                   \
    X(below_setpoint_C)                                                                                      \
    X(rise_C)                                                                                                \
    X(cold_low_C)                                                                                            \
    X(cold_high_C)                                                                                           \
    X(cold_within_C)                                                                                         \
    X(room_C)                                                                                                \
    X(reversed_fall_C)                                                                                       \
    X(reversed_fall_blind_C)                                                                                 \
    X(reversed_sigmas)                                                                                       \
    X(reversed_room_C)                                                                                       \
    X(no_rise_after_s)                                                                                       \
    X(no_rise_C)                                                                                             \
    X(no_rise_share)                                                                                         \
    X(no_rise_blind_share)                                                                                   \
    X(no_rise_rate_C_per_min)                                                                                \
    X(stuck_share_equal)                                                                                     \
    X(stuck_least_s)                                                                                         \
    X(stuck_moves_C)                                                                                         \
    X(stuck_all_s)                                                                                           \
    X(noise_C)                                                                                               \
    X(noise_resolutions)                                                                                     \
    X(noise_interval_s)                                                                                      \
    X(edge_C)                                                                                                \
    X(edges_least)                                                                                           \
    X(open_within_C)                                                                                         \
    X(lag_ratio)                                                                                             \
    X(lag_least_s)                                                                                           \
    X(power_baseline_U)                                                                                      \
    X(power_model_U)                                                                                         \
    X(power_far_U)                                                                                           \
    X(power_meter_U)                                                                                         \
    X(power_rise_low_C)                                                                                      \
    X(power_rise_high_C)                                                                                     \
    X(power_exponent)                                                                                        \
    X(delay_baseline_U)                                                                                      \
    X(delay_model_U)                                                                                         \
    X(delay_least_s)                                                                                         \
    X(plateau_low_C)                                                                                         \
    X(plateau_high_C)                                                                                        \
    X(plateau_slope_share)                                                                                   \
    X(plateau_least_s)                                                                                       \
    X(water_J_per_kg)                                                                                        \
    X(hold_within_C)                                                                                         \
    X(hold_least_s)                                                                                          \
    X(hold_drift_least_s)                                                                                    \
    X(hold_drift_percent)                                                                                    \
    X(hold_drift_share)                                                                                      \
    X(hold_baseline_U)                                                                                       \
    X(hold_model_U)                                                                                          \
    X(hold_far)                                                                                              \
    X(hold_regulated_percent)                                                                                \
    X(overshoot_C)                                                                                           \
    X(overshoot_share)                                                                                       \
    X(swing_small_F)                                                                                         \
    X(swing_large_F)                                                                                         \
    X(off_wait_s)                                                                                            \
    X(off_least_s)                                                                                           \
    X(off_rise_C)                                                                                            \
    X(off_full_share)                                                                                        \
    X(stalled_s)                                                                                             \
    X(stalled_below_C)                                                                                       \
    X(stalled_within_C)                                                                                      \
    X(cold_above_C)                                                                                          \
    X(cold_below_C)                                                                                          \
    X(held_share)                                                                                            \
    X(lost_fall_C)                                                                                           \
    X(lost_least_s)                                                                                          \
    X(lost_quick_C)                                                                                          \
    X(lost_quick_s)                                                                                          \
    X(lost_before_s)                                                                                         \
    X(lost_quick_least_s)                                                                                    \
    X(lost_current_share)                                                                                    \
    X(capped_percent)                                                                                        \
    X(capped_below_C)                                                                                        \
    X(not_called_s)                                                                                          \
    X(unit_low_C)                                                                                            \
    X(unit_high_C)                                                                                           \
    X(staircase_C)                                                                                           \
    X(working_C)                                                                                             \
    X(mark_pause_s)                                                                                          \
    X(mark_pause_share)                                                                                      \
    X(resolution_C)                                                                                          \
    X(unsteady_share)                                                                                        \
    X(dead_least_s)                                                                                          \
    X(far_slow)                                                                                              \
    X(constant_share)                                                                                        \
    X(supply_usual)                                                                                          \
    X(flat_C)                                                                                                \
    X(flicker_step)                                                                                          \
    X(flicker_widest)                                                                                        \
    X(flicker_spread)                                                                                        \
    X(flicker_resolutions)                                                                                   \
    X(flicker_pairs)                                                                                         \
    X(flicker_steps)                                                                                         \
    X(watch_odds_log10)                                                                                      \
    X(watch_wander_C)                                                                                        \
    X(watch_noise_C)                                                                                         \
    X(watch_rise_share)                                                                                      \
    X(watch_wait_s)                                                                                          \
    X(watch_dead_s)                                                                                          \
    X(watch_hot_times)                                                                                       \
    X(watch_half_rise_C)                                                                                     \
    X(watch_half_most)                                                                                       \
    X(watch_half_poor)                                                                                       \
    X(watch_half_U)                                                                                          \
    X(watch_amps_most)                                                                                       \
    X(watch_amps_poor)                                                                                       \
    X(watch_amps_U)                                                                                          \
    X(watch_door_s)                                                                                          \
    X(watch_off_s)                                                                                           \
    X(watch_unit_s)                                                                                          \
    X(watch_unit_rise_C)                                                                                     \
    X(watch_unit_gain)                                                                                       \
    X(compare_display_C)                                                                                     \
    X(compare_line_U)                                                                                        \
    X(compare_output_percent)                                                                                \
    X(compare_hold_C)                                                                                        \
    X(typed_join_s)                                                                                          \
    X(typed_hold_s)                                                                                          \
    X(typed_full_C)                                                                                          \
    X(typed_full_share)                                                                                      \
    X(typed_again_s)                                                                                         \
    X(typed_first_s)                                                                                         \
    X(typed_quiet_s)                                                                                         \
    X(typed_sleep_s)                                                                                         \
    X(proof_hand_s)                                                                                          \
    X(power_unmetered_U)                                                                                     \
    X(cooling_fall_C)                                                                                        \
    X(cooling_share)

#define JUDGE_LIMIT_ENUM(name) LIMIT_##name,
typedef enum judge_limit_id {
    JUDGE_LIMITS(JUDGE_LIMIT_ENUM) JUDGE_LIMIT_COUNT
} judge_limit_id;

typedef struct judge_limit_row {
    const char *name;
    double value;
} judge_limit_row;
extern const judge_limit_row judge_limits[JUDGE_LIMIT_COUNT];
/** Name of a row of the table, by its place; NULL past the last. */
const char *judge_limit_name(size_t index);
#define LIMIT(name) (judge_limits[LIMIT_##name].value)

typedef enum judge_channel_id {
    CHANNEL_TEMPERATURE,
    CHANNEL_SETPOINT,
    CHANNEL_OUTPUT,
    CHANNEL_VOLTS,
    CHANNEL_AMPS,
    CHANNEL_COLD,
    CHANNEL_VOLTS_ON, /* while current flows, or the output is on where no current is logged */
    CHANNEL_VOLTS_OFF,
    CHANNEL_AMPS_ON, /* the on-current, without the pauses of a cycling output */
    CHANNELS,
} judge_channel_id;

typedef struct judge_channel {
    double sum, low, high;
    uint64_t count;
} judge_channel;

typedef struct judge_block {
    double from_s, to_s, sum_s;
    uint64_t samples;
    judge_channel channel[CHANNELS];
    uint32_t cells[JUDGE_CELLS];
    uint32_t rail_low, rail_high;
} judge_block;

/** A block as the findings read it; NAN where there is nothing. */
typedef struct judge_point {
    double time_s, from_s, to_s, temperature_C, setpoint_C, output_percent, output_low, output_high;
    const judge_block *block;
} judge_point;

/** Whether heat was called for. */
typedef enum judge_called {
    CALLED_UNKNOWN,
    CALLED_NO,
    CALLED_YES
} judge_called;

/** Steps of the current from sample to sample under a constant call for full heat. */
typedef struct judge_flicker {
    uint64_t pairs, steps;
    double sum, sum_A; /* of squared relative steps; of the current */
    double resolution_A, first_s;
    double last, last_A, last_s;
    bool has_last, with_volts;
} judge_flicker;

/** What every sample was needed for. */
typedef struct judge_counters {
    uint64_t samples, readings, words, rails;
    double first_s, last_s, shift_s; /* shift: what was added after the clock stepped back */
    double interval_s;               /* running median of the step */
    double resolution_C;             /* smallest difference seen; INFINITY before */
    double first_output_s;           /* NAN: never on */
    double last_C, last_reading_s;   /* of the last sample with a reading */
    bool has_last;
    double last_output;
    /* second differences, robust to a slope */
    double step_C, step_s;
    bool has_step;
    double noise_sum;
    uint64_t noise_count;
    double noise_off_sum;
    uint64_t noise_off_count;
    /* display steps at output edges */
    double edge_sum;
    uint64_t edges;
    /* jumps */
    uint64_t jumps;
    double jump_first_s, jump_largest_C, jump_largest_s;
    double jump_last_C, jump_last_s, jump_back_s; /* back: from the largest jump to the way back, or NAN */
    bool began_with_glitch;
    /* equal readings */
    uint64_t equal_steps, unequal_steps;
    double equal_from_s, equal_called_s;
    uint64_t equal_count;
    double longest_from_s, longest_s, longest_C, longest_called_s, longest_setpoint_C;
    uint64_t longest_count;
    /* clock */
    uint64_t clock_steps, gaps;
    double clock_first_s, gap_first_s, gap_longest_s;
    /* words and ends of the input */
    double word_first_s[JUDGE_CELLS], rail_low_first_s, rail_high_first_s;
    uint64_t bad_outputs; /* not a percentage */
    uint64_t open_episodes, word_count[JUDGE_CELLS], rail_low, rail_high;
    bool last_was_open;
    bool has[CHANNELS]; /* set when the findings are drawn */
    judge_flicker flicker;
} judge_counters;

/** The expected climb: time from zero and the reading. */
typedef struct judge_reference {
    size_t count;
    double time_s[OVP_TRACE_CURVE], temperature_C[OVP_TRACE_CURVE];
    bool known, from_model;
    double dead_time_s;
} judge_reference;

/** The run as the findings see it. */
typedef struct judge_run {
    size_t count;
    judge_point *points;
    double resolution_C, noise_C;
    size_t zero; /* first point at or after time zero; count when there is none */
    double time_zero_s;
    double start_C;
    bool cold_start;
    size_t climb_end;           /* one past the last point of the first climb; zero when there is none */
    double climb_output;        /* mean output of the climb, 0..1; NAN unknown */
    bool climb_full;            /* not led by a ramp or staircase */
    double climb_slope_C_per_s; /* steepest sustained slope of the climb; NAN */
    size_t hold_from, hold_to;  /* hold_to == hold_from: none */
    double top_C, low_C;
    bool backwards; /* set by finding_polarity.c, read by those that would be misled */
    bool rises;
    judge_reference reference;
} judge_run;

/** Ends of what the display shows; NAN: not known, and then those of the common inputs count. */
typedef struct judge_ends {
    double low_C, high_C;
} judge_ends;

struct ovp_trace_judge {
    ovp_trace_expectation expectation;
    ovp_text_degrees shown;
    judge_counters counters;
    judge_ends ends;
    double inner_low_C, inner_high_C; /* between these a reading is certainly at no end of the input */
    double jump_rate_C_per_s;
    uint64_t block_samples; /* samples that a full block holds */
    size_t block_count;
    judge_block *block; /* the one that is being filled; NULL before the first */
    judge_block blocks[JUDGE_BLOCKS];
    judge_point points[JUDGE_BLOCKS];
    judge_run run;
    bool told; /* the volts are those that a person read */
};

/* input_ends.c */
/** Of the oven's display, else of the type that its input is set to; oven NULL: not known. */
judge_ends judge_ends_of(const ovp_oven *oven);
/** The nearest that may be meant: both known. */
judge_ends judge_ends_nearest(judge_ends ends);
bool judge_at_low_end(judge_ends ends, double value_C);
bool judge_at_high_end(judge_ends ends, double value_C);
/** Whether a first reading is a room only in the other scale; room_C NAN: not known. */
typedef enum judge_scale {
    JUDGE_SCALE_RIGHT,
    JUDGE_SCALE_LOW,  /**< counted in degC, taken for degF */
    JUDGE_SCALE_HIGH, /**< counted in degF, taken for degC */
} judge_scale;
judge_scale judge_scale_of(double first_C, double room_C);

/* judge_blocks.c */
void judge_block_take(ovp_trace_judge *judge, const ovp_trace_sample *sample, double time_s, bool rail_low,
                      bool rail_high);
/** Samples that fit into the block that is being filled. */
size_t judge_block_room(const ovp_trace_judge *judge);
/** Readings inside the input's range without volts or amps; the time of the last one and the new sum of
 * times. */
void judge_block_take_quiet(judge_block *block, const ovp_trace_sample samples[], size_t count, double to_s,
                            double sum_s);
double judge_mean(const judge_channel *channel);
/** Volts that a person read, into the blocks with heat on, where the log holds none. */
void judge_blocks_tell(ovp_trace_judge *judge);

/* judge_run.c */
void judge_run_make(ovp_trace_judge *judge);
judge_called judge_called_at(const judge_run *run, size_t index);
double judge_slope(const judge_run *run, size_t from, size_t to); /* least squares, C/s; NAN */
/** All samples of a channel together. */
judge_channel judge_total(const ovp_trace_judge *judge, judge_channel_id id, double from_s, double to_s);

/** Is heat called for at the very end? */
judge_called judge_called_now(const ovp_trace_judge *judge);

/* judge_reference.c */
void judge_reference_make(ovp_trace_judge *judge);
/** A rising series at a place, and the first place at which it passes a level; NAN outside. */
double judge_series_at(const double x[], const double y[], size_t count, double at);
double judge_series_passes(const double x[], const double y[], size_t count, double level);
double judge_reference_at(const judge_reference *reference, double time_s); /* reading; NAN outside */
double judge_reference_time(const judge_reference *reference, double temperature_C); /* NAN: not reached */
double judge_climb_time(const judge_run *run, double temperature_C); /* of the run, from time zero; NAN */
double judge_climb_at(const judge_run *run, double time_s);
double judge_rated_W(const ovp_trace_judge *judge); /* NAN unknown */
/* Fastest true change of the display of this oven; NAN unknown. */
double judge_heating_rate(const ovp_thermal_parameters *model);
double judge_rated_ohm(const ovp_trace_judge *judge);

/* judge_words.c */
typedef struct judge_number {
    char text[JUDGE_TEXT_SIZE];
} judge_number;
judge_number judge_temperature(const ovp_trace_judge *judge, double value_C);
judge_number judge_difference(const ovp_trace_judge *judge, double value_C);
judge_number judge_fixed(double value, int decimals);
judge_number judge_duration(double value_s);
/** Add a finding; NULL when the table is full. The unit is that of its row. */
ovp_trace_finding *judge_find(ovp_trace_result *result, const char *id, const char *outcome, double at_s,
                              double value);
/** The same, notable, with its sentence. */
void judge_say(ovp_trace_result *result, const char *id, const char *outcome, double at_s, double value,
               const char *format, ...) OVP_PRINTF(6, 7);
void judge_warn(ovp_trace_result *result, const char *format, ...) OVP_PRINTF(2, 3);

/* judge_sure.c: of the finding that was added last. since_s: from when on the log was read for it. */
void judge_sure(ovp_trace_result *result, double since_s, double uncertainty); /* k = 2; NAN: none */
void judge_sure_count(ovp_trace_result *result, double since_s);               /* its value is a count */
void judge_sure_all(const ovp_trace_judge *judge, ovp_trace_result *result);   /* what was left open */
/** Standard uncertainty of one reading: its scatter and its last place. */
double judge_reading_u(const judge_run *run);
/** Expanded, of the difference of two readings. */
double judge_difference_U(const judge_run *run);

/** A line by least squares: mean and slope with their standard uncertainties; NAN of fewer than 3 points. */
typedef struct judge_line {
    double mean, mean_u, slope, slope_u;
    size_t count;
} judge_line;
/** Fills x (rising) and y of an index; false: leave it out. */
typedef bool (*judge_xy)(const void *context, size_t i, double *x, double *y);
judge_line judge_line_of(judge_xy point, const void *context, size_t from, size_t to);
judge_line judge_output_line(const judge_run *run, size_t from, size_t to);      /* percent over s */
judge_line judge_temperature_line(const judge_run *run, size_t from, size_t to); /* degC over s */
/** Full heat, metered or from the description; W and its relative uncertainty (k = 2). NAN: not known. */
typedef struct judge_full {
    double power_W, share_U;
} judge_full;
judge_full judge_full_heat(const ovp_trace_judge *judge);
/** Standard uncertainty of a channel's mean from its own scatter. */
double judge_meter_u(const ovp_trace_judge *judge, judge_channel_id id);
void judge_danger(ovp_trace_result *result, const char *format, ...) OVP_PRINTF(2, 3);

/* finding_flicker.c: before last_output is moved on. */
void judge_flicker_take(judge_counters *c, const ovp_trace_sample *sample, double time_s);

/* one family each */
void judge_findings_flicker(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_polarity(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_input(ovp_trace_judge *judge, ovp_trace_result *result);
/** After the others: a danger that no finding has named. */
void judge_findings_blind(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_clock(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_scatter(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_rise(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_stalled(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_cold(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_power(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_electrical(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_delay(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_plateau(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_hold(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_loss(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_findings_cooling(ovp_trace_judge *judge, ovp_trace_result *result);
void judge_milestones(ovp_trace_judge *judge, ovp_trace_result *result);
/** After all findings: the milestones at rated volts. */
void judge_proofs(ovp_trace_judge *judge, ovp_trace_result *result);

#endif
