/*
 * ovenproof/thermal_identify.h: a process model from a recorded run, and controller settings from it.
 *
 * The model is y = base + gain * lag(drive)(t - dead time), with one lag or two in series, solved exactly
 * for a drive that holds its value between samples: any pattern of power, any spacing. A run is streamed into
 * at most OVP_THERMAL_BLOCKS block means in the caller's array, so memory does not grow with the run.
 */
#ifndef OVENPROOF_THERMAL_IDENTIFY_H
#define OVENPROOF_THERMAL_IDENTIFY_H

#include "ovenproof/thermal.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    OVP_THERMAL_BLOCKS = 4096, /**< most block means of a run */
};

/** A stretch of a run: as many samples as the others, but for the last. */
typedef struct ovp_thermal_block {
    double from_s;        /**< its drive holds from here to the next block */
    double held_s;        /**< how long that is; 0 of the last sample */
    double drive;         /**< mean over that time; 1 = full output */
    double time_s;        /**< mean time of its readings */
    double temperature_C; /**< their mean; NAN when there is none */
    double readings;
    double residual_C, weight; /**< of the last fit: reading minus model; 0..1, 1: fully believed */
    double work;               /**< scratch of the fit */
} ovp_thermal_block;

/** A run as block means. Init, then add samples in order of time. */
typedef struct ovp_thermal_record {
    ovp_thermal_block *blocks; /**< the caller's */
    size_t capacity, count;
    uint64_t block_samples, last_samples; /**< samples in a full block, in the last one */
    double last_s, last_drive;
} ovp_thermal_record;

/** `capacity` 2 to OVP_THERMAL_BLOCKS; more is not used. */
void ovp_thermal_record_init(ovp_thermal_record *record, ovp_thermal_block blocks[], size_t capacity);

/**
 * Add a sample. drive: output as a share of full, which holds until the next sample; NAN: as before.
 * temperature_C NAN: no reading. A time not after the last is left out.
 */
void ovp_thermal_record_add(ovp_thermal_record *record, double time_s, double temperature_C, double drive);

/** What went before the record. */
typedef enum ovp_thermal_history {
    OVP_THERMAL_COLD,    /**< heat was off long enough to be at rest */
    OVP_THERMAL_RUNNING, /**< not known: the start is fitted, too */
} ovp_thermal_history;

/** A value with its 95 % interval. */
typedef struct ovp_thermal_estimate {
    double value, low, high;
} ovp_thermal_estimate;

/** A fitted model and how far it can be trusted. */
typedef struct ovp_thermal_fit {
    size_t order; /**< 1 or 2 lags */
    ovp_thermal_process process;
    ovp_thermal_estimate gain_C;                            /**< degC for full output */
    ovp_thermal_estimate dead_time_s;                       /**< */
    ovp_thermal_estimate time_constant_s[OVP_THERMAL_LAGS]; /**< the larger first; 0 when not there */
    ovp_thermal_estimate slope_C_per_s; /**< gain over the sum of lags: known even of a short run */
    double base_C;                      /**< temperature without drive */
    double rms_C;                       /**< of reading minus model */
    double noise_C;                     /**< of the readings, from their step to step scatter */
    double correlation;                 /**< lag-one, of the residuals */
    double runs_sigma;                  /**< runs test: below about -3 the residuals are no noise */
    bool adequate;                      /**< the residuals are noise, or no larger than twice it */
    double seen_s;                      /**< time since heat first changed, less the dead time */
    bool too_short;                     /**< seen_s below 0.7 of the largest lag: only slope_C_per_s holds */
    double wet_s;                       /**< longer near boiling than the model says, s; 0: dry */
    size_t readings;                    /**< block means used */
} ovp_thermal_fit;

/**
 * Fit `order` lags (1 or 2) and a dead time: variable projection, three rounds of Huber weights (1.345; P. J.
 * Huber, Robust estimation of a location parameter, Annals of Mathematical Statistics 35, 1964), intervals
 * widened for residuals that follow each other (first-order autoregression).
 * Fills residual_C and weight of the blocks. Errors (OVP_ERROR_DATA): fewer than 8 readings; a drive that
 * never changes; a temperature that does not follow it.
 */
ovp_status ovp_thermal_identify(ovp_thermal_record *record, ovp_thermal_history history, size_t order,
                                ovp_thermal_fit *fit, ovp_error *error);

/** One lag, or two where the readings bear them (Bayesian information criterion on independent readings). */
ovp_status ovp_thermal_identify_best(ovp_thermal_record *record, ovp_thermal_history history,
                                     ovp_thermal_fit *fit, ovp_error *error);

/** What a controller needs to know of an oven, from a run of it. */
typedef struct ovp_thermal_working {
    ovp_thermal_fit fit;
    double part_to_C;            /**< fit holds the climb up to there; NAN: the whole run */
    double slope_C_per_s, at_C;  /**< of the climb at full heat near its end; NAN with the whole run */
    ovp_thermal_process process; /**< for settings: fit's, with the gain that gives this slope */
} ovp_thermal_working;

/**
 * The best fit of the whole run where one linear model holds it; else, of a cold heat-up, dead time and lags
 * of the lower half of the climb and the slope of its end: over a thousand degrees an oven is no linear
 * process. Errors: as ovp_thermal_identify.
 */
ovp_status ovp_thermal_identify_working(ovp_thermal_record *record, ovp_thermal_history history,
                                        ovp_thermal_working *working, ovp_error *error);

/** Without output in the log: full heat from the start until just below the highest reading; the rest is left
 * out. */
void ovp_thermal_record_assume_full(ovp_thermal_record *record);

/** A run that begins above it is no cold start, degC. */
double ovp_thermal_cold_most_C(void);

/** Temperature at rest without heat where a run does not show it, degC. */
double ovp_thermal_usual_ambient_C(void);

/* ---- by hand ------------------------------------------------------------------------------------------ */

/** One lag from the times to 28.3 % and 63.2 % of a step's rise. */
void ovp_thermal_two_point(double t28_s, double t63_s, double *time_constant_s, double *dead_time_s);

/** One lag from areas of a unit step's response y to its end value `gain`: area0 = integral of (gain - y)
 *  over all time, area1 = integral of y up to area0 / gain (C. R. Hang, K. J. Astrom). */
void ovp_thermal_area(double gain, double area0, double area1, double *time_constant_s, double *dead_time_s);

/** A limit cycle of on-off control; temperatures from the level that the mean drive would hold. */
typedef struct ovp_thermal_cycle {
    double on, off;             /**< drive above and below the one that would hold the level; both above 0 */
    double upper_C, lower_C;    /**< where heat is switched off and on: hysteresis; 0 and 0 without */
    double highest_C, lowest_C; /**< lowest_C is below 0 */
    double on_s, off_s;
} ovp_thermal_cycle;

/** The cycle that a process of one lag and dead time falls into; on, off, upper_C and lower_C are given.
 * Exact: two exponentials between the switchings. */
void ovp_thermal_cycle_of(const ovp_thermal_process *process, ovp_thermal_cycle *cycle);

/**
 * The process from its cycle, exactly (not by the describing function, which is wrong by a fifth for an
 * oven). gain: degC per unit of drive, known from the mean temperature over the mean drive.
 * Errors (OVP_ERROR_DATA): the cycle is none of such a process.
 */
ovp_status ovp_thermal_process_of_cycle(const ovp_thermal_cycle *cycle, double gain,
                                        ovp_thermal_process *process, ovp_error *error);

/** Swings found in a run, and the process around their level. */
typedef struct ovp_thermal_swing {
    size_t cycles;  /**< whole cycles used; 0: none found, and nothing else is set */
    double level_C; /**< mean temperature over them */
    double drive;   /**< mean drive over them */
    double period_s;
    double from_s, to_s;                 /**< time of the first and last switching used */
    double period_spread, height_spread; /**< standard deviation from cycle to cycle, share of the mean */
    ovp_thermal_cycle cycle;
    ovp_thermal_process process;
} ovp_thermal_swing;

/**
 * The last stretch of on-off control in a run: at least three whole cycles between full heat and none, alike
 * within a quarter. base_C: temperature at rest without heat. Errors (OVP_ERROR_DATA): no such stretch; a
 * cycle that is none of one lag and dead time.
 */
ovp_status ovp_thermal_swing_of(const ovp_thermal_record *record, double base_C, ovp_thermal_swing *swing,
                                ovp_error *error);

/** Gain at which proportional control just keeps swinging, and the period of the swing. INFINITY and 0 when
 *  it never does (a single lag without dead time). */
void ovp_thermal_ultimate(double gain, double dead_time_s, const double lags_s[], size_t count,
                          double *gain_per_C, double *period_s);

/** Ziegler and Nichols 1942, closed loop. derivative false: gain and integral only. */
void ovp_thermal_ziegler_nichols(double ultimate_per_C, double period_s, bool derivative,
                                 ovp_thermal_settings *settings);

/* ---- settings as a controller asks for them --------------------------------------------------------------
 */

typedef enum ovp_thermal_time_form {
    OVP_THERMAL_IN_SECONDS,
    OVP_THERMAL_IN_MINUTES,
    OVP_THERMAL_IN_REPEATS, /**< repeats a minute: 60 / seconds; of the integral only */
} ovp_thermal_time_form;

/** How a controller counts its band and times. */
typedef struct ovp_thermal_form {
    bool band_percent;        /**< of span_C; else in degrees */
    double span_C;            /**< of the controller's range; NAN when the description does not say */
    ovp_text_degrees degrees; /**< of the band; NONE: both */
    ovp_thermal_time_form integral, derivative;
} ovp_thermal_form;

/** From controller.pid ("band %, integral repeats/min, derivative min", or values with these units), display
 *  range and degrees. `oven` NULL: degrees and seconds. */
void ovp_thermal_form_of(const ovp_oven *oven, ovp_thermal_form *form);

/** "band 38 °F, integral 210 s, derivative 50 s". `shown` decides the band's degrees when the form does not.
 *  Needs 128 bytes. */
void ovp_thermal_format_settings(const ovp_thermal_settings *settings, const ovp_thermal_form *form,
                                 ovp_text_degrees shown, char *buffer, size_t size);

/**
 * Read "band 38F, ti 210s, td 50s": band (or pb) in degrees or percent, ti (integral, reset) as a duration or
 * in repeats/min, td (derivative, rate) as a duration; ti and td may be left out, which is off: 0.
 * Errors (OVP_ERROR_DATA): what is not understood, with a hint.
 */
ovp_status ovp_thermal_read_settings(ovp_span text, const ovp_thermal_form *form, ovp_text_degrees bare,
                                     ovp_thermal_settings *settings, ovp_error *error);

/** Series (interacting) form, in which the rules are given, to the standard form that controllers ask for. */
void ovp_thermal_standard_form(ovp_thermal_settings *settings);

enum {
    OVP_THERMAL_RULES = 3,
};

/** Settings by one rule, in standard form. */
typedef struct ovp_thermal_advice {
    const char *rule; /**< "simc", "simc-smooth", "ziegler-nichols" */
    ovp_thermal_settings settings;
    bool widened; /**< the band was widened to the narrowest one that a display and a relay bear */
} ovp_thermal_advice;

/**
 * Settings for a process; the first are those to use. Half the output's period and half the step between
 * readings count as dead time. advice: OVP_THERMAL_RULES of them.
 */
void ovp_thermal_advise(const ovp_thermal_process *process, double period_s, double interval_s,
                        ovp_thermal_advice advice[OVP_THERMAL_RULES]);

/** What is wrong with settings that a controller found itself, beside the advice. */
typedef enum ovp_thermal_found {
    OVP_THERMAL_FOUND_GOOD,
    OVP_THERMAL_FOUND_SWINGS,  /**< less than twice the band at which it swings for ever */
    OVP_THERMAL_FOUND_NARROW,  /**< the band is far narrower than advised ... */
    OVP_THERMAL_FOUND_WIDE,    /**< ... far wider */
    OVP_THERMAL_FOUND_FAST,    /**< the integral time is far shorter than advised ... */
    OVP_THERMAL_FOUND_SLOW,    /**< ... far longer, or off */
    OVP_THERMAL_FOUND_NERVOUS, /**< the derivative time is over half of the integral time */
} ovp_thermal_found;

ovp_thermal_found ovp_thermal_judge_found(const ovp_thermal_process *process, double period_s,
                                          double interval_s, const ovp_thermal_settings *found);

/**
 * How far the sensor goes past a setpoint on the way up from cold, by a run of the oven model with these
 * settings (standard form); NAN: not reached in three hours. Errors: as ovp_thermal_from_oven.
 */
ovp_status ovp_thermal_overshoot(const ovp_oven *oven, const ovp_thermal_settings *settings,
                                 double setpoint_C, double *overshoot_C, ovp_error *error);

/** Period of the output where the description gives none, s. */
double ovp_thermal_usual_period_s(void);

/** Share of the oven's power below which a run shows a faulty oven. */
double ovp_thermal_weak_power(void);

/** Where a controller should be let find its own settings, for a highest working temperature. */
double ovp_thermal_tune_at_C(double highest_C);

#ifdef __cplusplus
}
#endif

#endif
