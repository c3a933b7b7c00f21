/*
 * Ways of asking that a guide is measured against. All of them weigh single faults by the tables, with the
 * misreadings that the rule assumes, and none keeps a safety order.
 */
#ifndef OVENPROOF_TESTS_POLICIES_H
#define OVENPROOF_TESTS_POLICIES_H

#include "diagnosis/diagnosis_internal.h"

/** The next question of a way of asking; NULL when it would conclude. */
typedef const ovp_diagnosis_measurement *(*policy)(ovp_diagnosis_case *state);

/** One order for all: what a question shows of the prior, over its minutes. Ends when one cause holds 0.9. */
const ovp_diagnosis_measurement *policy_fixed_order(ovp_diagnosis_case *state);
/** The question with the largest information gain. Ends at 0.9, or when none tells 0.01 bit. */
const ovp_diagnosis_measurement *policy_gain(ovp_diagnosis_case *state);
/** The largest information gain per minute, hands-on and waiting. Ends at 0.9, or below 0.0008 bit a minute.
 */
const ovp_diagnosis_measurement *policy_gain_per_minute(ovp_diagnosis_case *state);

/** Place of the likeliest cause by single faults; DIAGNOSIS_FAULTS when what no list holds is likelier. */
size_t policy_first_cause(ovp_diagnosis_case *state);

#endif
