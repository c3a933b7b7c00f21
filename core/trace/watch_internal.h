/* watch_internal.h: what the files of the watch share. */
#ifndef OVENPROOF_TRACE_WATCH_INTERNAL_H
#define OVENPROOF_TRACE_WATCH_INTERNAL_H

#include "judge_internal.h"
#include "ovenproof/trace_watch.h"

/* Dead time, known or usual. */
double watch_dead_s(const ovp_trace_watch *watch);

/* watch_filter.c */
void watch_filter_begin(ovp_trace_watch *watch, double start_C);
void watch_filter_step(ovp_trace_watch *watch, double step_s, double reading_C);
/* Log of the odds of a fall, whatever its rate and delay, against a display that stays. */
double watch_odds_of_fall(const ovp_trace_watch *watch);
/* Standard deviation of a reading. */
double watch_noise_C(const ovp_trace_watch *watch);
/* The expected climb: NAN outside. */
double watch_curve_at(const ovp_trace_watch_setting *setting, double time_s);
double watch_curve_time(const ovp_trace_watch_setting *setting, double temperature_C);

#endif
