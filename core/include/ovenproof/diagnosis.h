/*
 * ovenproof/diagnosis.h: findings and answers in, causes and the next measurement out.
 *
 * The tables are reference/faults.csv, findings.csv, measurements.csv, outcomes.csv and likelihoods.csv:
 * one list of ids used everywhere. Priors and likelihoods there are judgement and are said to be.
 * The rules of inference and of choice stand in docs/design.md section 3.
 */
#ifndef OVENPROOF_DIAGNOSIS_H
#define OVENPROOF_DIAGNOSIS_H

#include "ovenproof/oven.h"
#include "ovenproof/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    OVP_DIAGNOSIS_CAUSES = 64,
    OVP_DIAGNOSIS_REASONS = 6,
    OVP_DIAGNOSIS_ANSWERS = 112,
    OVP_DIAGNOSIS_TEXT_SIZE = 320,
};

/* ---- the tables --------------------------------------------------------------------------------- */

/** A row of faults.csv. Strings live as long as the program. */
typedef struct ovp_diagnosis_fault {
    const char *id, *family;
    const char *title; /**< plain words for a person */
    double prior[4];   /**< by ovp_diagnosis_context */
    int danger;        /**< 0 nuisance, 1 work or time, 2 damage, 3 fire or spoiled safety, 4 life */
    const char *danger_text, *mechanism, *signature_trace, *signature_display, *remedy, *caution, *basis;
    const char *needs_part;
    const char *trace; /**< "log", "baseline", "never" */
    const char *severity_unit;
    double mild, severe;
    const char *broke_by;    /**< what can have caused it, for "what broke this?" */
    const char *broke_check; /**< what to look at or ask, to find which of these it was */
    double repair_minutes;   /**< hands-on, judgement */
} ovp_diagnosis_fault;

/** A row of measurements.csv with its outcomes. */
typedef struct ovp_diagnosis_measurement {
    const char *id, *question;
    const char *touch; /**< the two screws or pins to touch with a meter, where to look; "" nothing */
    const char *unit;
    const char *tools;      /**< one word, "none" for bare hands */
    const char *who;        /**< "owner" or "technician" */
    const char *energised;  /**< "no", "controls", "normal-use", "live" */
    const char *caution;    /**< column caution: the `hazard` of the JSON */
    const char *needs_part; /**< parts by ovp_oven_part_named, parted by |; "" none */
    const char *why;        /**< why it is asked */
    const char *expect;     /**< template; word it with ovp_diagnosis_expect */
    const char *group;      /**< questions of one root share a word; "" alone */
    const char *states;     /**< of cover-off, unplugged, cooled, heated, parted by ; */
    const char *read_by;    /**< "eye" or "meter" */
    const char *reference;  /**< the figure that a ratio is relative to: "supply_V"...; "" none */
    /**
     * How a person may volunteer it: phrases parted by ;. Every word of a phrase must be said, in any order:
     * a/b either, word* any ending, # a number, !word not said, @class a row of said-words.csv.
     */
    const char *keywords;
    const char *formula; /**< for --why */
    int hazard_level;    /**< 0 none .. 3 */
    double minutes, wait_minutes;
    size_t outcome_count;
    const char *const *outcomes;
} ovp_diagnosis_measurement;

/** One stretch of numbers that means an outcome: low <= x < high. A row of outcomes.csv. */
typedef struct ovp_diagnosis_outcome {
    const char *measurement, *outcome;
    double low, high;        /**< NAN: this outcome has no bounds */
    const char *unit;        /**< of the bounds */
    const char *relative_to; /**< "none", "nominal", "record", "room", "line" */
    const char *text;        /**< the outcome in plain words; "" on a further stretch of the same outcome */
    const char *said;        /**< how a person may volunteer it, as `keywords` of a measurement */
} ovp_diagnosis_outcome;

size_t ovp_diagnosis_fault_count(void);
const ovp_diagnosis_fault *ovp_diagnosis_fault_at(size_t index);
/** NULL when there is no such id. */
const ovp_diagnosis_fault *ovp_diagnosis_fault_named(const char *id);
size_t ovp_diagnosis_measurement_count(void);
const ovp_diagnosis_measurement *ovp_diagnosis_measurement_at(size_t index);
const ovp_diagnosis_measurement *ovp_diagnosis_measurement_named(const char *id);
/** The rows of outcomes.csv: several may bear on one outcome. */
size_t ovp_diagnosis_outcome_count(void);
const ovp_diagnosis_outcome *ovp_diagnosis_outcome_at(size_t index);
/** Digest of all that these tables and the likelihoods say: it differs when any of it was changed. */
uint64_t ovp_diagnosis_tables_digest(void);
/** An outcome in plain words; the outcome itself when there are none. */
const char *ovp_diagnosis_outcome_text(const char *measurement, const char *outcome);

/**
 * A text of the tables in the degrees that a person reads: "212 °F" is a temperature, "4 degrees F" a
 * difference, "32, 1000 and 1800 °F" several. Without a choice (NONE) both scales stand: "212 °F (100 °C)".
 * A pair "(49 °C)" that stands there already is written anew. Cut at the buffer's end. Returns the length.
 */
size_t ovp_diagnosis_words(const char *text, ovp_text_degrees shown, char *buffer, size_t size);

/* ---- a case ------------------------------------------------------------------------------------- */

typedef enum ovp_diagnosis_context {
    OVP_DIAGNOSIS_NEW_BUILD,
    OVP_DIAGNOSIS_IN_SERVICE,
    OVP_DIAGNOSIS_AFTER_TRANSPORT,
    OVP_DIAGNOSIS_AFTER_REWIRE,
} ovp_diagnosis_context;

bool ovp_diagnosis_context_named(const char *word, ovp_diagnosis_context *context);

typedef struct ovp_diagnosis_case ovp_diagnosis_case;

/** How often the shop's own calls turned out to be a fault. */
typedef struct ovp_diagnosis_own {
    const ovp_diagnosis_fault *fault;
    double calls; /**< at least 0 */
} ovp_diagnosis_own;

/** Settings of a case, fixed at its start. */
typedef struct ovp_diagnosis_settings {
    ovp_diagnosis_context context;
    const ovp_oven *oven; /**< NULL: nothing known */
    bool technician;      /**< false: an owner, never asked for a live measurement */
    const char *tools;    /**< "multimeter,magnet": only these; NULL: every tool, the question names it */
    double healthy;       /**< prior of healthy: 0.5 for a trace, 0 for a guide without one */
    bool log_only;        /**< `trace`: only faults that this log can show are hypotheses */
    ovp_text_degrees shown;
    /**
     * The shop's own calls in this context; NULL none. They are added to the table's prior, which counts as
     * 20 calls (Dirichlet; own_worth of diagnosis-rule.csv). A fault of a part not fitted counts for nothing.
     * Must live as long as the case.
     */
    const ovp_diagnosis_own *own;
    size_t own_count;
} ovp_diagnosis_settings;

/** As how many calls the table's prior counts beside the shop's own. */
double ovp_diagnosis_table_calls(void);

size_t ovp_diagnosis_case_size(void);
ovp_diagnosis_case *ovp_diagnosis_case_init(void *memory, const ovp_diagnosis_settings *settings);

/**
 * Take an answer: an outcome word, "unknown", or a quantity where the outcomes have bounds. A later answer
 * to the same id replaces. `fitted-PART` takes yes|no|unknown.
 * Errors: OVP_ERROR_DATA for an unknown id or outcome, with the choices.
 */
ovp_status ovp_diagnosis_answer(ovp_diagnosis_case *state, const char *id, const char *answer,
                                ovp_error *error);
/** Take an answer back; false when there was none. */
bool ovp_diagnosis_retract(ovp_diagnosis_case *state, const char *id);

/** Take all findings of a trace as evidence, and note what the log could not show. */
void ovp_diagnosis_take_trace(ovp_diagnosis_case *state, const ovp_trace_result *result,
                              const ovp_trace_input *input);

/** How well one fault explains a whole run. */
typedef struct ovp_diagnosis_fit {
    const ovp_diagnosis_fault *fault;
    double log_ratio;        /**< natural log: times better than a good oven, over all its severities */
    bool by_output;          /**< the fault acts through the output, which the log shows */
    double amount, amount_U; /**< that fits best, in the fault's severity_unit, k = 2; NAN without a unit */
} ovp_diagnosis_fit;

/** A run beside a model of each fault. */
typedef struct ovp_diagnosis_synthesis {
    bool speaks;
    const char *reason; /**< why not; "" when it speaks */
    double off_C;       /**< root mean square of log less good oven, the usual spread of ovens fitted */
    ovp_diagnosis_fit fits[OVP_DIAGNOSIS_CAUSES]; /**< in the order of the table */
    size_t fit_count;
} ovp_diagnosis_synthesis;

/** One judged run: its outline (ovp_trace_judge_outline), what was read, what was found. */
typedef struct ovp_diagnosis_run {
    const ovp_trace_sample *points;
    size_t count;
    const ovp_trace_input *input;
    const ovp_trace_result *result;
} ovp_diagnosis_run;

/** Bytes of working memory, aligned to 16. */
size_t ovp_diagnosis_synthesis_size(void);

/**
 * Fit the model of the oven, healthy and with each fault, to a run driven by its own logged output (and
 * volts), and compare. baseline (NULL: none): a good run of this oven, which the healthy model is fitted to
 * first. ambient_C NAN: not known. Speaks only of a cold start with the output logged, and only when
 * something explains the run. Spread of ovens and error of the model: reference/diagnosis-rule.csv, rows
 * fit_*.
 */
void ovp_diagnosis_synthesise(const ovp_oven *oven, const ovp_thermal_parameters *model, double ambient_C,
                              const ovp_diagnosis_run *run, const ovp_diagnosis_run *baseline, void *memory,
                              ovp_diagnosis_synthesis *result);

/** Take it as evidence, after ovp_diagnosis_take_trace: it stands for the findings of the curve. */
void ovp_diagnosis_take_synthesis(ovp_diagnosis_case *state, const ovp_diagnosis_synthesis *synthesis);

typedef struct ovp_diagnosis_reason {
    const char *source; /**< id of a finding or measurement */
    bool is_finding;
    const char *outcome;
    double decibans; /**< how far it moved this cause against the rest; for --why only */
} ovp_diagnosis_reason;

typedef struct ovp_diagnosis_cause {
    const ovp_diagnosis_fault *fault;
    double probability;  /**< a share: a set of k faults counts 1/k to each */
    double present;      /**< chance that the fault is there */
    const char *with[3]; /**< companions in the likeliest set that holds it; NULL past the last */
    const char *next;    /**< measurement that would tell most about it; never NULL */
    ovp_diagnosis_reason because[OVP_DIAGNOSIS_REASONS];
    size_t because_count;
} ovp_diagnosis_cause;

typedef enum ovp_diagnosis_verdict {
    OVP_DIAGNOSIS_HEALTHY,
    OVP_DIAGNOSIS_FAULT,
    OVP_DIAGNOSIS_UNCERTAIN,
} ovp_diagnosis_verdict;

typedef struct ovp_diagnosis_result {
    ovp_diagnosis_verdict verdict;
    double healthy, unlisted;                         /**< with the causes' probability they add to 1 */
    ovp_diagnosis_cause causes[OVP_DIAGNOSIS_CAUSES]; /**< likeliest first */
    size_t cause_count;
    const char *not_shown[OVP_DIAGNOSIS_CAUSES]; /**< faults that this evidence cannot show */
    size_t not_shown_count;
    const char *recheck[4]; /**< answers that contradict the rest */
    size_t recheck_count;
    const char *not_proved[OVP_DIAGNOSIS_CAUSES]; /**< faults of danger 3 or 4 whose test is undone */
    size_t not_proved_count;
    double mass_not_covered; /**< of the prior of all sets of faults: sets of more than four */
} ovp_diagnosis_result;

/** Weigh the evidence. */
void ovp_diagnosis_infer(ovp_diagnosis_case *state, ovp_diagnosis_result *result);

/** The next measurement to ask, by cost, hazard and safety order; NULL when it is time to conclude. */
const ovp_diagnosis_measurement *ovp_diagnosis_next(ovp_diagnosis_case *state);

/**
 * "expect" of a question worded for this oven (ohms, millivolts, minutes) in the degrees of the case, into a
 * buffer; what the description lacks is said. Returns its length.
 */
size_t ovp_diagnosis_expect(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement,
                            char *buffer, size_t size);

/**
 * What an answer to a measurement would mean in a few words, as the case stood at ovp_diagnosis_infer:
 * "points to sensor wires crossed, or relay stuck on"; where it points to nothing, "speaks against element
 * broken"; "" when it changes little. Returns the length.
 */
size_t ovp_diagnosis_meaning(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement,
                             size_t outcome, char *buffer, size_t size);

/* ---- what to post ------------------------------------------------------------------------------- */

/** A part that can be posted: a row of reference/parts.csv. */
typedef struct ovp_diagnosis_part {
    const char *part; /**< "sensor" */
    const char *text; /**< in plain words */
    double mends;     /**< of what is left, the share that this part alone mends */
} ovp_diagnosis_part;

/**
 * The fewest parts that mend at least 90 % (reference/diagnosis-rule.csv, posted) of what is left, the part
 * that mends most first; of sets of one size the one that mends most. Causes that need no part (a setting, a
 * wire put right) count as mended. Returns how many, at most capacity; 0 with *covered above 0: nothing to
 * post. *covered is the share that is mended in all.
 */
size_t ovp_diagnosis_parts(const ovp_diagnosis_cause causes[], size_t cause_count, ovp_diagnosis_part found[],
                           size_t capacity, double *covered);
/** True when the part mends the fault; the part "none" for a fault that needs no part. */
bool ovp_diagnosis_part_mends(const char *part, const char *fault);
/** Id of a row of parts.csv; NULL past the last. */
const char *ovp_diagnosis_part_at(size_t index);
/** The faults that it mends, parted by blanks; "" past the last. */
const char *ovp_diagnosis_part_faults(size_t index);

/* ---- faults in the model ------------------------------------------------------------------------ */

/** What a fault does to a run, beyond the thermal parameters that it moves. */
typedef ovp_thermal_disturbance ovp_diagnosis_disturbance;

/**
 * Move parameters and disturbance as a fault of a severity does; several faults may be applied one after the
 * other. severity is the place in the row's range: 0 mild, 1 severe; a quantity may lie outside.
 * Errors: OVP_ERROR_DATA for an unknown fault, one that cannot show in a log at all (trace = never), or a
 * severity that no oven could have.
 */
ovp_status ovp_diagnosis_apply_fault(const ovp_oven *oven, const char *fault, double severity,
                                     ovp_thermal_parameters *parameters,
                                     ovp_diagnosis_disturbance *disturbance, ovp_error *error);

enum {
    OVP_DIAGNOSIS_WRONG_TYPES = 3,
};

/** The types that a fault of severity_unit "type" may mean where `right` is right, mild first. Returns how
 * many. */
size_t ovp_diagnosis_wrong_types(const char *fault, ovp_tc_type right,
                                 ovp_tc_type types[OVP_DIAGNOSIS_WRONG_TYPES]);

/**
 * Severity from "0.4" (0..1), "mild" (0), "severe" (1) or a quantity in the row's unit ("15%", "0.3ohm",
 * "1kg"), for supply faults also volts ("228V", of this oven's supply), for a wrong type its letter. Errors:
 * OVP_ERROR_DATA.
 */
ovp_status ovp_diagnosis_severity(const ovp_oven *oven, const char *fault, const char *text, double *severity,
                                  ovp_error *error);

/* ---- answers out of turn ------------------------------------------------------------------------ */

enum {
    OVP_DIAGNOSIS_SAID_SIZE = 48,
};

/** What a person's few words out of turn are probably about. A proposal: take it only when it is confirmed.
 */
typedef struct ovp_diagnosis_offered {
    const ovp_diagnosis_measurement *measurement;
    const char *outcome; /**< the outcome that the words say; NULL when they only name the measurement, or
                              when their number needs a description of the oven that is not there */
    const char *text;    /**< that outcome in plain words; "" without one */
    char answer[OVP_DIAGNOSIS_SAID_SIZE]; /**< for ovp_diagnosis_answer: the outcome, or the number with its
                                               unit ("16ohm"); "" when the words give no answer */
    size_t weight;                        /**< how well the words fit: to be compared within one call */
} ovp_diagnosis_offered;

/**
 * Measurements that a person's few words may be an answer to, best first, each with the answer that the
 * words give ("fuse good": look-fuse, whole; "element 16 ohms": ohms-element, 16ohm; "reads 40 low":
 * second-thermometer, -40F). `state` (NULL: nothing known) gives the oven that ratios are relative to and the
 * degrees of a bare number. Whether this person may be asked is for the caller (ovp_diagnosis_allows).
 * Returns how many were found, at most capacity; 0 when the words mean nothing here.
 */
size_t ovp_diagnosis_offer_answers(const ovp_diagnosis_case *state, const char *words,
                                   ovp_diagnosis_offered found[], size_t capacity);

/** The measurements alone. */
size_t ovp_diagnosis_offer(const char *words, const ovp_diagnosis_measurement *found[], size_t capacity);

/* ---- looking at a case -------------------------------------------------------------------------- */

/** The outcome that stands as the answer to a measurement, "unknown", or NULL when nobody said. */
const char *ovp_diagnosis_answered(const ovp_diagnosis_case *state, const char *id);
/** Whether a part "a|b" is fitted, by the description and by the answers; "" is FITTED. */
ovp_oven_fitted ovp_diagnosis_fitted(const ovp_diagnosis_case *state, const char *needs_part);
/** True when this person may be asked: an owner nothing live, nothing of a technician's. */
bool ovp_diagnosis_in_role(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement);
/** True when this person, with these tools, can be asked about this oven (a part not fitted: false). */
bool ovp_diagnosis_allows(const ovp_diagnosis_case *state, const ovp_diagnosis_measurement *measurement);
/** True when the measurement is taken with heat on. */
bool ovp_diagnosis_needs_heat(const ovp_diagnosis_measurement *measurement);
/**
 * What must be asked before `wanted`, whoever wants it: whether its part is fitted; while the sensor is in
 * doubt a cold test before anything with heat on. NULL when it may be asked now.
 */
const ovp_diagnosis_measurement *ovp_diagnosis_before(ovp_diagnosis_case *state,
                                                      const ovp_diagnosis_measurement *wanted);

/* ---- before anybody says "good" ----------------------------------------------------------------- */

typedef enum ovp_diagnosis_safety_state {
    OVP_DIAGNOSIS_SAFETY_UNDONE,
    OVP_DIAGNOSIS_SAFETY_PASSED,
    OVP_DIAGNOSIS_SAFETY_FAILED,
    OVP_DIAGNOSIS_SAFETY_NOT_FITTED,
} ovp_diagnosis_safety_state;

/**
 * A thing that owners call about and that is no fault, with the limit past which it would be one. It says
 * nothing about the rest of the oven. Source: reference/normal.csv.
 */
typedef struct ovp_diagnosis_normal {
    const char *id;
    const char *sees;  /**< what the owner sees: "the fan runs by itself while all is off" */
    const char *why;   /**< why that is normal */
    const char *limit; /**< how far it is normal, in figures that the owner can measure */
    const char *past;  /**< what to do past the limit */
    const char *source;
} ovp_diagnosis_normal;

size_t ovp_diagnosis_normal_count(void);
/** NULL past the last. */
const ovp_diagnosis_normal *ovp_diagnosis_normal_at(size_t index);
/** NULL when there is none of that name. */
const ovp_diagnosis_normal *ovp_diagnosis_normal_named(const char *id);

/** A test of the safety set (reference/safety-set.csv) and where it stands in a case. */
typedef struct ovp_diagnosis_safety {
    const char *test;   /**< "ground" */
    const char *text;   /**< what it proves */
    const char *undone; /**< what to say while it is not proved */
    ovp_diagnosis_safety_state state;
    bool holds_back; /**< "good" is refused while it is undone: somebody like this person can do it */
    const ovp_diagnosis_measurement *ask; /**< what to ask for it now; NULL when nothing can be asked */
} ovp_diagnosis_safety;

size_t ovp_diagnosis_safety_count(void);
void ovp_diagnosis_safety_at(const ovp_diagnosis_case *state, size_t index, ovp_diagnosis_safety *test);
/** True when no test of the set is failed, and none that this person can do is undone. */
bool ovp_diagnosis_safety_done(const ovp_diagnosis_case *state);

enum {
    OVP_DIAGNOSIS_STEPS = 8,
};

/** A remedy as its steps: each sentence of it is one, without the full stop. Returns how many. */
size_t ovp_diagnosis_steps(const char *remedy, ovp_span steps[OVP_DIAGNOSIS_STEPS]);

/** The test that proves the repair of a fault (reference/repair-proofs.csv); "" for an unknown fault. */
const char *ovp_diagnosis_proof(const char *fault);

#ifdef __cplusplus
}
#endif

#endif
