/*
 * diagnosis_internal.h: the mathematics of the room, over models that know no oven.
 *
 * A hypothesis is "healthy", "unlisted" or a set of one to four faults. A question has outcomes, a default
 * row for whatever has no row of its own, and rows of faults. The combining rule stands in
 * docs/design.md, section 3. All of it works in memory that the caller owns.
 */
#ifndef OVENPROOF_DIAGNOSIS_INTERNAL_H
#define OVENPROOF_DIAGNOSIS_INTERNAL_H

#include "ovenproof/diagnosis.h"
#include "ovenproof/electrical.h"

enum {
    DIAGNOSIS_FAULTS = 64, /**< bits of a word */
    DIAGNOSIS_OUTCOMES = 8,
    DIAGNOSIS_EVIDENCE = 128,
    DIAGNOSIS_SET = 4, /**< faults in a set at most */
    DIAGNOSIS_PAIRS = DIAGNOSIS_FAULTS * (DIAGNOSIS_FAULTS - 1) / 2,
    DIAGNOSIS_HYPOTHESES = DIAGNOSIS_FAULTS + 2, /**< single faults, then healthy, then unlisted */
};

/* ---- rows of probabilities ---------------------------------------------------------------------- */

typedef struct diagnosis_question {
    size_t outcome_count; /**< 2 .. DIAGNOSIS_OUTCOMES */
    size_t normal;        /**< the outcome with the largest default */
    double error;         /**< chance e that the answer is misread */
    double
        unlisted_moved; /**< chance that a fault of no list answers otherwise than usual, then by 1/k each */
    double defaults[DIAGNOSIS_OUTCOMES];
    uint64_t faults; /**< bit f: fault f has a row of its own */
    double rows[DIAGNOSIS_FAULTS][DIAGNOSIS_OUTCOMES];
} diagnosis_question;

/** Set outcome_count, error and the default row; no fault has a row yet and what no list holds answers by the
 * flat row (unlisted_moved 1). Rows are scaled to add to 1. */
void diagnosis_question_init(diagnosis_question *question, size_t outcome_count, const double defaults[],
                             double error);
void diagnosis_question_row(diagnosis_question *question, size_t fault, const double row[]);

/**
 * P(outcome | exactly these faults) as answered, misreading included. No faults: healthy. One: its own row.
 */
double diagnosis_likelihood(const diagnosis_question *question, const size_t faults[], size_t count,
                            size_t outcome);

/** P(outcome | a fault that no list holds), misreading left out. */
double diagnosis_unlisted_row(const diagnosis_question *question, size_t outcome);

/* ---- inference ---------------------------------------------------------------------------------- */

/** One answer; `weight` is the power of its likelihood (1, or 0.3 for the weaker ones of a group). */
typedef struct diagnosis_evidence {
    const diagnosis_question *question;
    size_t outcome;
    double weight;
} diagnosis_evidence;

typedef struct diagnosis_prior {
    size_t fault_count;
    double odds[DIAGNOSIS_FAULTS]; /**< share / (1 - share); 0 leaves the fault out */
    double healthy, unlisted;
    bool independent; /**< the sets are not scaled to the rest: healthy is the weight of no fault at all */
} diagnosis_prior;

typedef struct diagnosis_posterior {
    double healthy, unlisted;
    double share[DIAGNOSIS_FAULTS];   /**< a set of k counts 1/k to each; adds to 1 with the two above */
    double present[DIAGNOSIS_FAULTS]; /**< the fault is in the set */
    int with[DIAGNOSIS_FAULTS][DIAGNOSIS_SET - 1]; /**< companions in the likeliest set; -1 past the last */
    double total;        /**< of the weights in diagnosis_work.sum, healthy and unlisted included */
    double log_evidence; /**< log of the sum of prior weight times likelihood */
    double not_covered;  /**< part of the prior of all sets that sets of more than four hold */
} diagnosis_posterior;

/** Terms of one piece of evidence, taken apart so that a set costs a few operations. */
typedef struct diagnosis_terms {
    bool is_normal;
    double normal;       /**< default of the normal outcome */
    double raised;       /**< 0.01 x default of this outcome */
    double raised_all;   /**< 0.01 x default of all but the normal one */
    double floor, slope; /**< misreading: likelihood = floor + slope p */
    double weight;
    double base; /**< likelihood by the default row */
    double flat; /**< likelihood of an unlisted fault */
    uint64_t faults;
    size_t count;
    unsigned char member[DIAGNOSIS_FAULTS]; /**< faults with a row, ascending */
    double ratio[DIAGNOSIS_FAULTS], rise[DIAGNOSIS_FAULTS], rise_all[DIAGNOSIS_FAULTS]; /**< by member */
    double alone[DIAGNOSIS_FAULTS]; /**< likelihood by the fault's own row */
    double first[DIAGNOSIS_FAULTS]; /**< by the combining rule with this member only */
} diagnosis_terms;

/** Room for one inference; about 2.5 MB, no part of it needs to be kept. */
typedef struct diagnosis_work {
    diagnosis_terms terms[DIAGNOSIS_EVIDENCE];
    double pair_unit; /**< a pair weighs pair_unit x factor x factor x pair; 0 when none was weighed */
    double factor[DIAGNOSIS_FAULTS]; /**< odds x ratio to the default of one fault in company */
    double pair[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS]; /**< correction of two */
    double triple[DIAGNOSIS_PAIRS][DIAGNOSIS_FAULTS];
    double block[DIAGNOSIS_PAIRS][DIAGNOSIS_FAULTS];
    double two[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS], three[DIAGNOSIS_FAULTS][DIAGNOSIS_FAULTS];
    double sum[DIAGNOSIS_SET + 1][DIAGNOSIS_FAULTS]; /**< weight of the sets of each size that hold a fault */
    double best[DIAGNOSIS_FAULTS];
    unsigned char best_set[DIAGNOSIS_FAULTS][DIAGNOSIS_SET];
} diagnosis_work;

/**
 * Weigh all sets of at most `largest` (1 .. 4) faults: exact by the combining rule, nothing is pruned.
 * Cost: C(64,4) leaves of five multiplications, plus C(n,4) for evidence that n faults have rows for.
 */
void diagnosis_infer(const diagnosis_prior *prior, const diagnosis_evidence evidence[], size_t count,
                     size_t largest, diagnosis_work *work, diagnosis_posterior *posterior);

/** Take the evidence apart; returns the log of the product of the defaults. (Part of diagnosis_infer.) */
double diagnosis_prepare(const diagnosis_evidence evidence[], size_t count, diagnosis_terms list[]);

/** Likelihood of a set from its product of ratios and sums of rises. */
double diagnosis_combined(const diagnosis_terms *terms, double ratio, double rise, double rise_all);

/** e_1 .. e_4 of the odds, and the part of all sets that larger ones hold. */
double diagnosis_set_prior(const diagnosis_prior *prior, size_t largest, double *not_covered);

/** Sets of two, three and four, into work->sum and work->best; weights are relative to exp(shift). */
void diagnosis_sets(const diagnosis_prior *prior, size_t evidence_count, size_t largest, double log_scale,
                    double shift, diagnosis_work *work);

/* ---- choice ------------------------------------------------------------------------------------- */

/** A test over hypotheses: p[h * outcomes + o]. */
typedef struct diagnosis_test {
    double cost;
    size_t outcomes;
    const double *p;
} diagnosis_test;

/** Hypotheses each with the cost of the repair that ends it, and tests; at most 64 of each kind. */
typedef struct diagnosis_problem {
    size_t hypotheses;
    const double *repair;
    size_t tests;
    const diagnosis_test *test;
} diagnosis_problem;

typedef struct diagnosis_choice {
    bool is_test;
    size_t index;
    double value;
} diagnosis_choice;

/** What a distribution over hypotheses costs: three sums that the choice is made of. */
typedef struct diagnosis_outlook {
    double p;       /**< chance of coming here */
    double entropy; /**< bits */
    double repairs; /**< expected cost of repairs in the order of share over cost */
    double right;   /**< expected cost of the right repair */
} diagnosis_outlook;

/** Outlook of weights (need not add to 1; p is their sum). order: scratch that keeps the last order. */
diagnosis_outlook diagnosis_look(const double weights[], const double repair[], size_t count,
                                 unsigned char order[]);
/** The order itself, as 0 .. count-1. */
void diagnosis_order_init(unsigned char order[], size_t count);
/** min(repairs, right + kappa entropy). */
double diagnosis_worth(const diagnosis_outlook *outlook, double kappa);

/**
 * The action with the least cost + E[V] by entropy-ECR: a repair that fails leaves the rest, a test leaves
 * what each outcome leaves. `open` are the tests not yet done. steps 1 or 2. values (may be NULL): of each
 * test, NAN when not open. Ties within 1e-9: a repair before a test, a test before a later one. Sources:
 * Breese and Heckerman 1996 (expected cost of repair); Warnquist and Nyberg 2008 (entropy).
 */
diagnosis_choice diagnosis_choose(const diagnosis_problem *problem, const double weights[], uint64_t open,
                                  int steps, double values[]);
/** Least cost of a bit: of the open tests min cost / information gain; INFINITY when none tells anything. */
double diagnosis_kappa(const diagnosis_problem *problem, const double weights[], uint64_t open);

/* ---- the order of repairs ------------------------------------------------------------------------ */

enum {
    DIAGNOSIS_PLACES = 8,
};

/** A repair that ends the one cause it is for. `place` 0 is in the open, others lie behind a cover. */
typedef struct diagnosis_action {
    double p, cost;
    size_t place;
} diagnosis_action;

/**
 * Order of repairs and its expected cost; access[place] is paid once, access[0] is 0. Without places: share
 * over cost (Kadane and Simon 1977); with them the best run of each place counts as one action (Ottosen and
 * Jensen, bottom-up share over cost). At most DIAGNOSIS_HYPOTHESES actions, DIAGNOSIS_PLACES places.
 */
double diagnosis_order_repairs(const diagnosis_action actions[], size_t count, const double access[],
                               size_t places, unsigned char order[]);

/** Expected cost of actions in an order, where works[action * causes + cause] is the chance that it helps. */
double diagnosis_sequence_cost(const double weights[], size_t causes, const double *works,
                               const double costs[], const unsigned char order[], size_t count);
/** Greedy order of such actions: the most solved per cost first. Returns its expected cost. */
double diagnosis_order_actions(const double weights[], size_t causes, const double *works,
                               const double costs[], size_t count, unsigned char order[]);

/* ---- a case ------------------------------------------------------------------------------------- */

/** Figures of the rule: rows of reference/diagnosis-rule.csv, in this order (a test holds the two together).
 */
#define DIAGNOSIS_FIGURES(X)                                                                                 \
    X(unlisted)                                                                                              \
    X(unlisted_moved)                                                                                        \
    X(least_prior)                                                                                           \
    X(own_worth)                                                                                             \
    X(error_eye)                                                                                             \
    X(error_meter)                                                                                           \
    X(error_finding)                                                                                         \
    X(shows)                                                                                                 \
    X(group_weight)                                                                                          \
    X(verdict)                                                                                               \
    X(danger_held)                                                                                           \
    X(folded)                                                                                                \
    X(doubted)                                                                                               \
    X(cleared)                                                                                               \
    X(sensor_doubt)                                                                                          \
    X(sensor_doubt_raised)                                                                                   \
    X(shell_doubt)                                                                                           \
    X(hazard_1)                                                                                              \
    X(hazard_2)                                                                                              \
    X(hazard_3)                                                                                              \
    X(cover_off)                                                                                             \
    X(unplugged)                                                                                             \
    X(cooled)                                                                                                \
    X(cooled_half)                                                                                           \
    X(asking)                                                                                                \
    X(wrong_repair)                                                                                          \
    X(service)                                                                                               \
    X(conclude_good)                                                                                         \
    X(de_energised_share)                                                                                    \
    X(pairs_raised)                                                                                          \
    X(questions)                                                                                             \
    X(posted)                                                                                                \
    X(points_times)                                                                                          \
    X(points_share)                                                                                          \
    X(clears_times)                                                                                          \
    X(clears_share)                                                                                          \
    X(fit_room_C)                                                                                            \
    X(fit_room_U_C)                                                                                          \
    X(fit_ambient_U_C)                                                                                       \
    X(fit_error_C)                                                                                           \
    X(fit_error_share)                                                                                       \
    X(fit_error_s)                                                                                           \
    X(fit_power)                                                                                             \
    X(fit_power_metered)                                                                                     \
    X(fit_conductivity)                                                                                      \
    X(fit_capacity)                                                                                          \
    X(fit_furnishings)                                                                                       \
    X(fit_element)                                                                                           \
    X(fit_direct)                                                                                            \
    X(fit_sight)                                                                                             \
    X(fit_lag)                                                                                               \
    X(fit_freedom)                                                                                           \
    X(fit_baseline)                                                                                          \
    X(fit_baseline_error)                                                                                    \
    X(fit_baseline_power)                                                                                    \
    X(fit_robust)                                                                                            \
    X(fit_adequate)                                                                                          \
    X(fit_most)                                                                                              \
    X(fit_held)

#define DIAGNOSIS_FIGURE(name) DIAGNOSIS_##name,
typedef enum diagnosis_figure_name {
    DIAGNOSIS_FIGURES(DIAGNOSIS_FIGURE) DIAGNOSIS_FIGURE_COUNT
} diagnosis_figure_name;
#undef DIAGNOSIS_FIGURE

double diagnosis_figure(diagnosis_figure_name name);
/** Name and value of a row, as read; NULL past the last. */
const char *diagnosis_figure_at(size_t index, double *value);

/** A row of likelihoods.csv or finding-likelihoods.csv; fault "*" is the default. */
typedef struct diagnosis_row {
    const char *measurement, *outcome, *fault;
    double p;
} diagnosis_row;
const diagnosis_row *diagnosis_rows(size_t *count);
const diagnosis_row *diagnosis_finding_rows(size_t *count);

enum {
    DIAGNOSIS_QUESTIONS = 160, /**< measurements, then findings */
    DIAGNOSIS_NO_OUTCOME = -1, /**< the answer was "unknown" */
};

typedef struct diagnosis_answer {
    short question;
    short outcome;
} diagnosis_answer;

/** What stands behind one diagnosis_evidence. */
typedef struct diagnosis_origin {
    size_t question;
    size_t outcome;
    bool is_finding;
} diagnosis_origin;

struct ovp_diagnosis_case {
    ovp_diagnosis_settings settings;
    size_t measurements, findings; /**< how many questions are of each kind */
    diagnosis_question questions[DIAGNOSIS_QUESTIONS];
    diagnosis_answer answers[OVP_DIAGNOSIS_ANSWERS]; /**< in the order given */
    size_t answer_count;
    diagnosis_answer shown[OVP_TRACE_FINDINGS]; /**< what the trace showed, by question */
    size_t shown_count;
    bool has_trace;
    bool metered;                       /**< volts and amps are logged */
    bool has_fit;                       /**< the whole run was compared: it stands for the curve findings */
    double fit_ratio[DIAGNOSIS_FAULTS]; /**< times better than a good oven; 1 where nothing is known */
    /* made new by diagnosis_gather */
    diagnosis_prior prior;
    diagnosis_evidence evidence[DIAGNOSIS_EVIDENCE];
    diagnosis_origin origin[DIAGNOSIS_EVIDENCE];
    size_t evidence_count;
    uint64_t not_shown;
    diagnosis_posterior posterior;
    double mixture[DIAGNOSIS_QUESTIONS]
                  [DIAGNOSIS_OUTCOMES]; /**< of each measurement, over single hypotheses */
    diagnosis_work work;
};

/** Prior and evidence from the settings and answers. all_faults: also those that the log cannot show. */
void diagnosis_gather(ovp_diagnosis_case *state, bool all_faults);

/** Whether a part is fitted, by the description or by an answer. */
ovp_oven_fitted diagnosis_part(const ovp_diagnosis_case *state, ovp_oven_part part);
/** The same for "a|b". unknown_part (may be NULL) gets the first part that nobody has been asked about. */
ovp_oven_fitted diagnosis_parts(const ovp_diagnosis_case *state, const char *needs,
                                ovp_oven_part *unknown_part);
/** True when the trace has shown what this measurement would: nobody need be asked. */
bool diagnosis_known_from_trace(const ovp_diagnosis_case *state, size_t question);
/** The question whether a part is fitted. */
const ovp_diagnosis_measurement *diagnosis_fitted_question(ovp_oven_part part);
/** Place of a question in the answers, or -1. */
int diagnosis_answer_place(const ovp_diagnosis_case *state, size_t question);
/** True when this role with these tools may be asked the measurement at all. */
bool diagnosis_permitted(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement);
/** Minutes of asking it now, hands-on and waiting; states that are reached already are not paid again. */
double diagnosis_minutes(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement);
/** The same with what its hazard weighs beside minutes. */
double diagnosis_cost(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement);
/** Weights of single hypotheses as they stand, and the mixture that each measurement would answer by. */
void diagnosis_mix(ovp_diagnosis_case *state, double weights[DIAGNOSIS_HYPOTHESES]);
/** Measurement that parts a fault from the rest best for its cost; never NULL. */
const ovp_diagnosis_measurement *diagnosis_telling(const ovp_diagnosis_case *state, const double weights[],
                                                   size_t fault);
/** The outcome that a written number belongs to on an oven (NULL: nothing known of it). Errors:
 * OVP_ERROR_DATA without bounds or in another unit. */
ovp_status diagnosis_outcome_of(const ovp_oven *oven, const ovp_diagnosis_measurement *measurement,
                                ovp_span text, size_t *outcome, ovp_error *error);
/** The figure of an oven that the ratios of a measurement are relative to, and its unit; NAN: not known. */
double diagnosis_reference(const ovp_oven *oven, const char *reference, const char **unit);
/** Word of the group of a question; "" alone. */
const char *diagnosis_group(const ovp_diagnosis_case *state, size_t question);
/** How far an answer spreads the single faults: log of the largest over the least likelihood. */
double diagnosis_strength(const diagnosis_prior *prior, const diagnosis_question *question, size_t outcome);
/** The next question over sets of at most `largest` (1 or 2) faults; 0: as the answers call for. */
const ovp_diagnosis_measurement *diagnosis_next_over(ovp_diagnosis_case *state, size_t largest);
/* ---- the whole run beside a model of each fault --------------------------------------------------- */

enum {
    DIAGNOSIS_FIT_DRIVE = 720,   /**< points that drive the model */
    DIAGNOSIS_FIT_POINTS = 120,  /**< of these, compared with the log */
    DIAGNOSIS_FIT_NUISANCES = 8, /**< what no oven has exactly as described: power, lining, masses, lag... */
    DIAGNOSIS_FIT_GRID = 5,      /**< severities that are modelled, others between them */
    DIAGNOSIS_FIT_BETWEEN = 6,
};

/** One log, thinned, and what it may be off by. */
typedef struct diagnosis_fit_log {
    size_t drive_count, count;
    ovp_thermal_drive drive[DIAGNOSIS_FIT_DRIVE];
    size_t at[DIAGNOSIS_FIT_POINTS]; /**< place in `drive` */
    double shown_C[DIAGNOSIS_FIT_POINTS];
    double error_C[DIAGNOSIS_FIT_POINTS]; /**< standard deviation of the model's error */
    double error_s;                       /**< how long such an error lasts */
    double scatter_C;                     /**< of single readings */
    double start_C, longest_s;
    double effective;                     /**< points that are independent of each other */
    double from[DIAGNOSIS_FIT_NUISANCES]; /**< where the slopes were taken, in standard deviations */
    double slope[DIAGNOSIS_FIT_NUISANCES][DIAGNOSIS_FIT_POINTS]; /**< degC per standard deviation */
} diagnosis_fit_log;

typedef struct diagnosis_fit_score {
    double log_evidence,
        loss; /**< loss: robust, for each independent point; 0.5 when errors are as assumed */
    double moved[DIAGNOSIS_FIT_NUISANCES]; /**< in standard deviations from the description */
} diagnosis_fit_score;

/** What is worked with; the caller owns it. */
typedef struct diagnosis_fit_work {
    diagnosis_fit_log log, healthy_log; /**< with the slopes of the healthy model */
    const ovp_oven *oven;
    ovp_thermal_parameters healthy;
    double room_C, room_sd_C;
    bool told_room;
    double centre[DIAGNOSIS_FIT_NUISANCES]; /**< of this oven: 0 without a good run */
    double spread[DIAGNOSIS_FIT_NUISANCES];
    double all_C[DIAGNOSIS_FIT_DRIVE];
    double curve_C[DIAGNOSIS_FIT_GRID][DIAGNOSIS_FIT_POINTS];
    double moved_C[DIAGNOSIS_FIT_POINTS], healthy_C[DIAGNOSIS_FIT_POINTS], tried_C[DIAGNOSIS_FIT_POINTS];
    double best_slope[DIAGNOSIS_FIT_NUISANCES][DIAGNOSIS_FIT_POINTS];
} diagnosis_fit_work;

/* synthesis_log.c */
/** "" or why this run is not compared. */
const char *diagnosis_fit_silent(const ovp_diagnosis_run *run);
/** The log thinned; `left`: how much of the model's error a good run leaves. */
void diagnosis_fit_thin(const ovp_diagnosis_run *run, double left, diagnosis_fit_log *log);

/* synthesis_model.c */
/**
 * Log of how likely the start is with this fault (NULL: healthy) with the nuisances at log.from, and the
 * modelled display; NAN: not to be modelled. by_output (or NULL): it acts through the output that is logged.
 */
double diagnosis_fit_model(diagnosis_fit_work *at, const ovp_diagnosis_fault *fault, double severity,
                           bool *by_output, double modelled_C[]);
/** The slopes of log, at log.from; `modelled_C` is the display there. */
void diagnosis_fit_slopes(diagnosis_fit_work *at, const ovp_diagnosis_fault *fault, double severity,
                          const double modelled_C[]);

/** How well a modelled display explains the log, the nuisances fitted and paid for. */
void diagnosis_fit_judge(const diagnosis_fit_log *log, const double modelled_C[], diagnosis_fit_score *score);

/** True when the fit of the whole run stands for this finding. */
bool diagnosis_replaced(const ovp_diagnosis_case *state, size_t question);

bool diagnosis_has_word(const char *list, char separator, const char *word, size_t length);

#endif
