/*
 * ovenproof/electrical.h: load, branch circuit, protective devices, joints, insulation and bonding of a given
 * oven. Load and branch circuit stand in ovenproof/electrical_circuit.h, which this includes.
 */
#ifndef OVENPROOF_ELECTRICAL_H
#define OVENPROOF_ELECTRICAL_H

#include "ovenproof/electrical_circuit.h"
#include "ovenproof/oven.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ==== joints, ground and meters: begin ============================================================
 * core/electrical/joint.c, joint_reader.c, joint_trend.c, insulation.c, leakage.c, half_wave.c. Limits are
 * rows of reference/joint-drop.csv, joint-rise.csv and electrical-limits.csv, each with its source.
 */

/** A figure with where it comes from. All strings are static. */
typedef struct ovp_electrical_limit {
    const char *name;
    double value;
    const char *unit, *text, *source;
} ovp_electrical_limit;

/** A row of reference/electrical-limits.csv by its name ("bond-with-cord"); NULL for no such row. */
const ovp_electrical_limit *ovp_electrical_limit_named(const char *name);
/** The same by index, for a list; NULL past the last. */
const ovp_electrical_limit *ovp_electrical_limit_at(size_t index);

/** How good a joint is, the graver the larger. */
typedef enum ovp_electrical_grade {
    OVP_ELECTRICAL_NOT_JUDGED, /**< nothing to judge by */
    OVP_ELECTRICAL_GOOD,
    OVP_ELECTRICAL_WATCH,  /**< see to it when the cover is next off */
    OVP_ELECTRICAL_REPAIR, /**< remake it before the next firing, or before long */
    OVP_ELECTRICAL_STOP,   /**< no heat until it is remade */
} ovp_electrical_grade;

/** "not judged", "good", "watch", "repair", "stop". */
const char *ovp_electrical_grade_name(ovp_electrical_grade grade);

/** A class of a rise (ANSI/NETA MTS table 100.18). Strings are static. */
typedef struct ovp_electrical_rise_class {
    const char *name;      /**< "possible", "probable", "until repaired", "major"; "none" below the first */
    const char *published; /**< the step as printed: "4 to 15" degC */
    const char *action;    /**< what to do, in our words */
    ovp_electrical_grade grade;
    const char *source;
} ovp_electrical_rise_class;

/** Class of a rise over a like joint under like load, or above ambient; degC. NAN gives NOT_JUDGED. */
ovp_electrical_rise_class ovp_electrical_rise_over_like(double rise_C);
ovp_electrical_rise_class ovp_electrical_rise_over_ambient(double rise_C);

/** Grade of the millivolts across one joint at full amps; `action` and `source` (may be NULL) are static. */
ovp_electrical_grade ovp_electrical_drop_grade(double drop_mV, const char **action, const char **source);
/** Least millivolts of a grade: 0, 50, 100, 200. */
double ovp_electrical_drop_limit_mV(ovp_electrical_grade grade);

enum {
    OVP_ELECTRICAL_JOINTS = 512, /**< readings of one list */
    OVP_ELECTRICAL_JOINT_NAME = 48,
};

/** One reading of one joint. NAN: not taken. */
typedef struct ovp_electrical_joint {
    char name[OVP_ELECTRICAL_JOINT_NAME]; /**< "plug L1"; "" when it has none */
    char kind[OVP_ELECTRICAL_JOINT_NAME]; /**< joints of one kind are compared; "" is a kind, too */
    double drop_mV;                       /**< across it, 0 to 100,000 */
    double current_A;                     /**< through it at that moment, above 0 */
    double rise_like_C;                   /**< over a like joint */
    double rise_ambient_C;
    double temperature_C; /**< of the joint; ovp_electrical_joints_fill makes rises of it */
    double ambient_C;
    bool has_day, remade; /**< remade: with this reading a new history begins */
    long day;             /**< as ovp_text_day counts */
} ovp_electrical_joint;

/** A reading of which nothing is known. */
void ovp_electrical_joint_init(ovp_electrical_joint *joint);

/** What one reading says, as measured and at full amps. */
typedef struct ovp_electrical_joint_result {
    double milliohm, heat_W; /**< as measured; NAN without both drop and current */
    double full_A;           /**< the amps it is judged at: full amps, else those measured */
    double load_share;       /**< current over full amps; below joint-load-share a rise says little */
    double full_drop_mV, full_heat_W;
    double full_rise_like_C[2], full_rise_ambient_C[2]; /**< least and most: exponents 1.6 and 2 */
    ovp_electrical_rise_class like, ambient;            /**< of the most at full amps */
    const char *drop_action;
    ovp_electrical_grade by_drop, grade; /**< grade: the gravest of the three */
} ovp_electrical_joint_result;

/**
 * Judge one reading. Drop goes with the current, heat with its square, a rise with a power between 1.6 and 2
 * (reference/electrical-limits.csv says why). `full_A` NAN: judged as measured. A reading above full amps is
 * judged as measured; a temperature alone is NOT_JUDGED. Errors (OVP_ERROR_DATA): nothing in it, amps or
 * volts out of range, full amps given and the amps of the reading missing.
 */
ovp_status ovp_electrical_joint_judge(const ovp_electrical_joint *joint, double full_A,
                                      ovp_electrical_joint_result *result, ovp_error *error);

/**
 * Fill rise_ambient_C from temperature and ambient, and rise_like_C from the median of the other joints of
 * the same kind and day, where they are not given. A joint below that median has a rise of 0.
 */
void ovp_electrical_joints_fill(ovp_electrical_joint joints[], size_t count);

/** Indices of the latest reading of each joint (by day, else by order), in the order of first mention. */
size_t ovp_electrical_joints_latest(const ovp_electrical_joint joints[], size_t count, size_t latest[]);

/** Like compared with like. */
typedef struct ovp_electrical_joint_comparison {
    bool stands_out;     /**< ohms at least joint-outlier-ratio times the median of the others of its kind */
    size_t index;        /**< of the joint that stands out most; else of the one with the most milliohms */
    double ratio;        /**< its ohms over that median; NAN with nothing to compare */
    double others_mV;    /**< that median, as millivolts at full amps */
    size_t others_count; /**< how many it is compared with */
} ovp_electrical_joint_comparison;

/** Compare the readings at `indices` (of ovp_electrical_joints_latest) by ohms, at `full_A` (NAN: 1 A each
 * counts as measured by the first). False when no reading has ohms. */
bool ovp_electrical_joints_compare(const ovp_electrical_joint joints[], const size_t indices[], size_t count,
                                   double full_A, ovp_electrical_joint_comparison *comparison);

/** How a joint's millivolts at full amps grow. */
typedef struct ovp_electrical_joint_trend {
    size_t readings; /**< dated, since it was last remade */
    double growth_mV_per_month, growth_low_mV_per_month, growth_high_mV_per_month; /**< 95 % interval */
    double latest_mV; /**< of the line, on the last day */
    double limit_mV;
    bool passed;                               /**< the line is past the limit on the last day */
    bool grows;                                /**< the interval of the growth lies above zero */
    bool has_day, has_early_day, has_late_day; /**< false: not within 50 years */
    long day, early_day, late_day;             /**< when the line passes the limit, with its 95 % interval */
} ovp_electrical_joint_trend;

/**
 * Straight line through the dated readings of one joint since it was last remade, as millivolts at `full_A`.
 * The spread is that of the readings about the line, but at least joint-reading-sd. Month: 365.25/12 days.
 * Errors (OVP_ERROR_DATA): fewer than two days, full_A not above zero.
 */
ovp_status ovp_electrical_joint_trend_of(const ovp_electrical_joint joints[], size_t count, const char *name,
                                         double full_A, double limit_mV, ovp_electrical_joint_trend *trend,
                                         ovp_error *error);

/* ---- a list of joints as delimited text ------------------------------------------------------------ */

/** A reader of joint readings; its memory is the caller's. */
typedef struct ovp_electrical_joint_reader ovp_electrical_joint_reader;

/** What a reader fills. */
typedef struct ovp_electrical_joint_list {
    ovp_electrical_joint joints[OVP_ELECTRICAL_JOINTS];
    uint64_t lines[OVP_ELECTRICAL_JOINTS]; /**< line of each reading */
    size_t count;
} ovp_electrical_joint_list;

/** Bytes of memory that a reader needs, aligned to 16. */
size_t ovp_electrical_joint_reader_size(void);

/**
 * A header names the columns: name, kind, mV, A, rise_F (or _C), ambient_rise_F, temperature_F, ambient_F,
 * date, remade; any subset with name and one of mV, rise, ambient_rise, temperature. Cells are numbers in the
 * header's unit or carry their own ("120mV", "18K"). `bare` is the scale of a temperature without a unit.
 */
ovp_electrical_joint_reader *ovp_electrical_joint_reader_init(void *memory, ovp_text_degrees bare,
                                                              ovp_electrical_joint_list *list);
/** Any count of bytes, cut anywhere. Errors: OVP_ERROR_DATA with the line and a hint. */
ovp_status ovp_electrical_joint_reader_feed(ovp_electrical_joint_reader *reader, const char *bytes,
                                            size_t count, ovp_error *error);
/** The end of the text: rises are filled. Errors as feed; a list without readings is one. */
ovp_status ovp_electrical_joint_reader_end(ovp_electrical_joint_reader *reader, ovp_error *error);

/* ---- when joints are due ----------------------------------------------------------------------------- */

/** Why a torque check falls due. */
typedef enum ovp_electrical_check_reason {
    OVP_ELECTRICAL_CHECK_FIRST_FIRINGS, /**< after the first three firings */
    OVP_ELECTRICAL_CHECK_SIX_MONTHS,
    OVP_ELECTRICAL_CHECK_YEARLY,    /**< two checks in a row needed no turn */
    OVP_ELECTRICAL_CHECK_HALVED,    /**< two checks in a row took more than an eighth of a turn */
    OVP_ELECTRICAL_CHECK_HOT_HOURS, /**< 200 hot hours pull it forward */
} ovp_electrical_check_reason;

/** What is known of the checks since the joints were new or remade. */
typedef struct ovp_electrical_check_history {
    double firings;        /**< since then; NAN: not counted. Matters while checks is 0 */
    size_t checks;         /**< torque checks since then, the one after the first firings included */
    size_t tight_in_a_row; /**< of the latest checks: how many needed no turn */
    size_t far_in_a_row;   /**< of the latest checks: how many took more than an eighth of a turn */
    bool has_day;
    long day;                 /**< of the last check; with none, of the first firing */
    double hot_hours;         /**< since the last check; NAN: not counted */
    double hot_hours_per_day; /**< as it is used; NAN: no forecast */
    long today;
} ovp_electrical_check_history;

typedef struct ovp_electrical_check_due {
    bool now;     /**< due today or overdue */
    bool has_day; /**< false: only firings or hours decide, or no day was given */
    long day;
    int months;            /**< the interval that holds; 0 before the first check */
    double firings_left;   /**< until the first check; NAN when that is past or not counted */
    double hot_hours_left; /**< NAN: not counted */
    ovp_electrical_check_reason reason;
    const char *text; /**< the reason in words, static */
} ovp_electrical_check_due;

/**
 * The one interval rule of joints (common practice, no published source): after the first three firings, at
 * six months, then yearly once two checks needed no turn; 200 hot hours pull it forward; halved once two
 * checks in a row took more than an eighth of a turn. With no check yet, six months from `day` at the latest.
 */
void ovp_electrical_next_check(const ovp_electrical_check_history *history, ovp_electrical_check_due *due);

/* ---- ground bond and insulation -------------------------------------------------------------------- */

/** Outcome of a safety reading. */
typedef enum ovp_electrical_decision {
    OVP_ELECTRICAL_PASS,
    OVP_ELECTRICAL_CONDITIONAL, /**< not proved: `next` says what settles it. Never a pass */
    OVP_ELECTRICAL_FAIL,
} ovp_electrical_decision;

/** "pass", "conditional", "fail". */
const char *ovp_electrical_decision_name(ovp_electrical_decision decision);

/** How a safety reading was judged. Strings are static. */
typedef struct ovp_electrical_judgement {
    ovp_electrical_decision decision;
    double limit;                    /**< in the unit of the reading */
    const ovp_electrical_limit *row; /**< the limit and its source */
    const char *why;                 /**< what the reading means, lower case */
    const char *next;                /**< what to do now */
} ovp_electrical_judgement;

/** How the ground bond was measured. */
typedef struct ovp_electrical_bond {
    double ohm;         /**< from the ground pin (or terminal) to bare shell */
    bool fixed;         /**< wired in, no cord: 0.1 ohm */
    double cord_ohm;    /**< of the cord's ground wire, one way: limit 0.1 + cord; NAN: 0.2 with the cord */
    bool by_multimeter; /**< no 10 A: can fail, can never pass */
} ovp_electrical_bond;

/** EN 50106:2008 A.1. Errors (OVP_ERROR_DATA): ohms below 0 or not finite. */
ovp_status ovp_electrical_bond_judge(const ovp_electrical_bond *bond, ovp_electrical_judgement *judgement,
                                     ovp_error *error);

typedef struct ovp_electrical_insulation {
    double Mohm;    /**< line and neutral together to shell, 500 V dc; INFINITY: over the tester's range */
    double power_W; /**< of the oven; NAN: not known, then the stricter figure */
    double test_V;  /**< NAN: 500 V; less can fail, can never pass */
    bool new_build; /**< a new, dry oven: 2 Mohm */
    bool dried;     /**< it was dried before this reading: damp is no longer an answer */
    double temperature_C; /**< of the oven, for base_Mohm; NAN: 20 degC */
} ovp_electrical_insulation;

/**
 * 0.3 Mohm for heating equipment below 3 kW, 1 Mohm above that and where the power is not known, 2 Mohm new
 * and dry. Between 0.01 Mohm and the limit: conditional, dry it first and repeat; after drying it fails. At
 * 3 kW or more a reading of 0.3 Mohm or more is conditional: the leakage under heat settles it. The reading
 * is never scaled before it is judged: `base_Mohm` (may be NULL) is the reading brought to 20 degC, for a
 * trend only; humidity is not scaled, no published rule is known for damp ceramic.
 * Errors (OVP_ERROR_DATA): below 0 or NAN; test volts not above 0.
 */
ovp_status ovp_electrical_insulation_judge(const ovp_electrical_insulation *insulation,
                                           ovp_electrical_judgement *judgement, double *base_Mohm,
                                           ovp_error *error);

/* ---- leakage ------------------------------------------------------------------------------------------ */

typedef enum ovp_electrical_trip {
    OVP_ELECTRICAL_TRIP_NO,   /**< below 3 mA */
    OVP_ELECTRICAL_TRIP_NEAR, /**< 3 to 4 mA: switching may tip it over */
    OVP_ELECTRICAL_TRIP_MAY,  /**< 4 to 6 mA: allowed to trip, need not */
    OVP_ELECTRICAL_TRIP_MUST, /**< 6 mA and more */
} ovp_electrical_trip;

/** "no", "near", "may", "must". */
const char *ovp_electrical_trip_name(ovp_electrical_trip trip);

/** What a leakage current does to a class A ground-fault device (UL 943); longest_s (may be NULL): NAN unless
 * it must trip. */
ovp_electrical_trip ovp_electrical_ground_fault(double leakage_mA, double *longest_s);

/** Leakage allowed by IEC 60335-1 clause 13.2: portable, or stationary heating of this power (NAN: the
 * least). */
double ovp_electrical_leakage_limit_mA(bool portable, double power_W);

typedef struct ovp_electrical_leakage {
    double mA;       /**< under full heat, of line and neutral together or in the ground lead */
    double power_W;  /**< NAN: not known */
    double ground_V; /**< volts from a live wire to ground */
    bool portable;
} ovp_electrical_leakage;

typedef struct ovp_electrical_leakage_result {
    ovp_electrical_judgement judgement; /**< by IEC 60335-1 */
    double implied_Mohm; /**< ground_V over it: the insulation is at least about this; NAN without volts */
    ovp_electrical_trip trip;
    double longest_s; /**< of the trip; NAN unless it must */
} ovp_electrical_leakage_result;

/** Errors (OVP_ERROR_DATA): below 0 or not finite. */
ovp_status ovp_electrical_leakage_judge(const ovp_electrical_leakage *leakage,
                                        ovp_electrical_leakage_result *result, ovp_error *error);

/** Leakage that an insulation lets through at `ground_V`, mA; the capacitance of cables and filters comes on
 * top. */
double ovp_electrical_leakage_of_insulation(double Mohm, double ground_V);

/* ---- a relay that is off, and one that is open --------------------------------------------------------- */

/** What a voltmeter shows at a sound solid-state relay that is off: its snubber leaks a few milliamperes. */
typedef struct ovp_electrical_relay_off {
    double leakage_mA;
    double load_V; /**< across the load, connected */
    double open_V; /**< at the load's wires with the load off or broken: an ordinary meter shows a ghost */
    double open_low_V; /**< the same on a low-impedance range */
    double leak_W;     /**< into the load */
} ovp_electrical_relay_off;

/** Leakage NAN: relay-leakage-usual. The snubber is a capacitor, the meter a resistance. */
void ovp_electrical_relay_off_of(double supply_V, double load_ohm, double leakage_mA,
                                 ovp_electrical_relay_off *off);

typedef enum ovp_electrical_relay_state {
    OVP_ELECTRICAL_RELAY_UNKNOWN, /**< the reading fits none, or the load is not connected: it says nothing */
    OVP_ELECTRICAL_RELAY_ON,
    OVP_ELECTRICAL_RELAY_SHORTED,
    OVP_ELECTRICAL_RELAY_OPEN,       /**< driven, and the line stands across it */
    OVP_ELECTRICAL_RELAY_OFF,        /**< not driven, and the line stands across it: sound, or open */
    OVP_ELECTRICAL_RELAY_HALF,       /**< one half conducts */
    OVP_ELECTRICAL_RELAY_NO_CURRENT, /**< driven and nothing across it: the break is elsewhere, or shorted */
} ovp_electrical_relay_state;

/** What the volts across a relay say. A word for each state from ovp_electrical_relay_words. */
typedef struct ovp_electrical_relay_reading {
    double across_V, supply_V;
    bool driven;         /**< output 100 %, drive there; else output 0 % */
    bool load_connected; /**< with the load off nothing can be said */
    double load_A;       /**< by clamp; NAN: not measured */
} ovp_electrical_relay_reading;

ovp_electrical_relay_state ovp_electrical_relay_judge(const ovp_electrical_relay_reading *reading);
/** What the state means and what tells it apart, static. */
const char *ovp_electrical_relay_words(ovp_electrical_relay_state state);

/* ---- what a meter shows of a half wave ------------------------------------------------------------------
 */

typedef enum ovp_electrical_meter {
    OVP_ELECTRICAL_METER_AC_DC, /**< true rms, ac+dc: "ac+dc" in meters.clamp */
    OVP_ELECTRICAL_METER_AC, /**< true rms, ac-coupled: "ac" in meters.clamp; every clamp without a dc range
                              */
    OVP_ELECTRICAL_METER_AVERAGE,    /**< averaging, dc-coupled, marked in rms of a sine: "average" */
    OVP_ELECTRICAL_METER_AVERAGE_AC, /**< averaging, ac-coupled */
    OVP_ELECTRICAL_METER_DC,         /**< dc range */
    OVP_ELECTRICAL_METERS,
} ovp_electrical_meter;

/** A kind by its word: "ac+dc", "ac", "average", "average-ac", "dc"; false for any other. */
bool ovp_electrical_meter_named(ovp_span word, ovp_electrical_meter *meter);
const char *ovp_electrical_meter_name(ovp_electrical_meter meter);
/** "true-rms meter, ac+dc"... */
const char *ovp_electrical_meter_words(ovp_electrical_meter meter);

/**
 * What a meter shows of a half-wave rectified sine, as a share of what it (of dc: of what an ac meter) shows
 * of the full wave: 0.7071, 0.5453, 0.5, 0.5511, 0.4502. Exact integrals. The power is half.
 */
double ovp_electrical_half_wave_share(ovp_electrical_meter meter);

/**
 * "half a wave shows 8.2 A by your ac clamp": what the oven's own clamp (meters.clamp) shows when half of
 * each cycle of `full_A` is missing; without a known clamp the three usual kinds are named. Field {half_wave}
 * of an expectation. Returns the length; "" when full_A is not finite.
 */
size_t ovp_electrical_half_wave_words(const ovp_oven *oven, double full_A, char *buffer, size_t size);

/**
 * "a good relay that is off leaks a few mA: with the load off or broken a meter shows 240 V". Field
 * {relay_off} of an expectation of volts across a relay. Returns the length; "" when the oven's volts are not
 * known.
 */
size_t ovp_electrical_relay_off_words(const ovp_oven *oven, char *buffer, size_t size);

/* ==== joints, ground and meters: end ================================================================ */

#ifdef __cplusplus
}
#endif

#endif
