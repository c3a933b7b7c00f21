/* typed_internal.h: what the files of the hand recorder share. */
#ifndef OVENPROOF_TRACE_TYPED_INTERNAL_H
#define OVENPROOF_TRACE_TYPED_INTERNAL_H

#include "ovenproof/trace_stopwatch.h"

enum {
    TYPED_SHOWN = 64,
    TYPED_ROWS = 2,
};

/* Where a run stands, entry by entry. */
void typed_stand_begin(ovp_trace_log_state *state);
void typed_stand(const ovp_trace_log *log, const ovp_trace_log_entry *entry, ovp_trace_log_state *state);

/* ovp_trace_log_take; what comes from a file was judged when it was typed and is trusted. */
ovp_status typed_take(ovp_trace_log *log, const ovp_trace_typed *typed, double time_s, bool trusted,
                      size_t *changed, ovp_error *error);

/* The rows of the trace that the entry at `index` makes; `state` stands before it, and is led past it. */
size_t typed_rows(const ovp_trace_log *log, size_t index, ovp_trace_log_state *state,
                  ovp_trace_sample rows[TYPED_ROWS]);

#endif
