/* A case: its questions made from the tables, what was answered, what is fitted. */
#include "diagnosis/diagnosis_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

size_t ovp_diagnosis_case_size(void)
{
    return sizeof(ovp_diagnosis_case);
}

double ovp_diagnosis_table_calls(void)
{
    return diagnosis_figure(DIAGNOSIS_own_worth);
}

static size_t outcome_named(const char *const outcomes[], size_t count, const char *word)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(outcomes[i], word) == 0) {
            return i;
        }
    }
    return count;
}

static size_t fault_index(const char *id)
{
    const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_named(id);
    return fault == NULL ? ovp_diagnosis_fault_count() : (size_t)(fault - ovp_diagnosis_fault_at(0));
}

static void take_outcomes(const ovp_diagnosis_case *state, size_t question, const char *const **outcomes,
                          size_t *count)
{
    if (question < state->measurements) {
        *outcomes = ovp_diagnosis_measurement_at(question)->outcomes;
        *count = ovp_diagnosis_measurement_at(question)->outcome_count;
        return;
    }
    const ovp_trace_finding_row *finding = ovp_trace_finding_at(question - state->measurements);
    *outcomes = finding->outcomes;
    *count = finding->outcome_count;
}

static double misreading(const ovp_diagnosis_case *state, size_t question)
{
    if (question >= state->measurements) {
        return diagnosis_figure(DIAGNOSIS_error_finding);
    }
    const bool meter = strcmp(ovp_diagnosis_measurement_at(question)->read_by, "meter") == 0;
    return diagnosis_figure(meter ? DIAGNOSIS_error_meter : DIAGNOSIS_error_eye);
}

/* The rows of one question stand together in the table. Two walks: the default first, then the faults. */
static void fill_question(ovp_diagnosis_case *state, size_t question, const diagnosis_row rows[],
                          size_t count)
{
    const char *const *outcomes;
    size_t outcome_count;
    take_outcomes(state, question, &outcomes, &outcome_count);
    double defaults[DIAGNOSIS_OUTCOMES] = {0};
    double table[DIAGNOSIS_FAULTS][DIAGNOSIS_OUTCOMES] = {{0}};
    uint64_t with_row = 0;
    for (size_t i = 0; i < count; i++) {
        const size_t outcome = outcome_named(outcomes, outcome_count, rows[i].outcome);
        if (outcome == outcome_count) {
            continue;
        }
        const size_t fault = fault_index(rows[i].fault);
        if (fault < DIAGNOSIS_FAULTS) {
            table[fault][outcome] = rows[i].p;
            with_row |= UINT64_C(1) << fault;
        } else {
            defaults[outcome] = rows[i].p;
        }
    }
    diagnosis_question_init(&state->questions[question], outcome_count, defaults,
                            misreading(state, question));
    if (question < state->measurements) {
        state->questions[question].unlisted_moved = diagnosis_figure(DIAGNOSIS_unlisted_moved);
    }
    for (size_t f = 0; f < DIAGNOSIS_FAULTS; f++) {
        if ((with_row >> f & 1) != 0) {
            diagnosis_question_row(&state->questions[question], f, table[f]);
        }
    }
}

static void fill_questions(ovp_diagnosis_case *state, const diagnosis_row rows[], size_t count, bool findings)
{
    for (size_t from = 0; from < count;) {
        size_t to = from + 1;
        while (to < count && strcmp(rows[to].measurement, rows[from].measurement) == 0) {
            to++;
        }
        if (findings) {
            const ovp_trace_finding_row *row = ovp_trace_finding_named(rows[from].measurement);
            if (row != NULL) {
                fill_question(state, state->measurements + (size_t)(row - ovp_trace_finding_at(0)),
                              rows + from, to - from);
            }
        } else {
            const ovp_diagnosis_measurement *row = ovp_diagnosis_measurement_named(rows[from].measurement);
            if (row != NULL) {
                fill_question(state, (size_t)(row - ovp_diagnosis_measurement_at(0)), rows + from, to - from);
            }
        }
        from = to;
    }
}

ovp_diagnosis_case *ovp_diagnosis_case_init(void *memory, const ovp_diagnosis_settings *settings)
{
    ovp_diagnosis_case *state = memory;
    state->settings = *settings;
    state->measurements = ovp_diagnosis_measurement_count();
    state->findings = ovp_trace_finding_count();
    state->answer_count = 0;
    state->shown_count = 0;
    state->has_trace = false;
    state->has_fit = false;
    state->metered = false;
    for (size_t f = 0; f < DIAGNOSIS_FAULTS; f++) {
        state->fit_ratio[f] = 1;
    }
    state->evidence_count = 0;
    state->not_shown = 0;
    memset(state->questions, 0, sizeof(state->questions));
    size_t count;
    const diagnosis_row *rows = diagnosis_rows(&count);
    fill_questions(state, rows, count, false);
    rows = diagnosis_finding_rows(&count);
    fill_questions(state, rows, count, true);
    return state;
}

/* ---- what is fitted -------------------------------------------------------------------------------- */

int diagnosis_answer_place(const ovp_diagnosis_case *state, size_t question)
{
    for (size_t i = 0; i < state->answer_count; i++) {
        if ((size_t)state->answers[i].question == question) {
            return (int)i;
        }
    }
    return -1;
}

const ovp_diagnosis_measurement *diagnosis_fitted_question(ovp_oven_part part)
{
    char id[64];
    snprintf(id, sizeof(id), "fitted-%s", ovp_oven_part_name(part));
    return ovp_diagnosis_measurement_named(id); /* every part has one: a test holds the tables to it */
}

static size_t fitted_question(ovp_oven_part part)
{
    return (size_t)(diagnosis_fitted_question(part) - ovp_diagnosis_measurement_at(0));
}

ovp_oven_fitted diagnosis_part(const ovp_diagnosis_case *state, ovp_oven_part part)
{
    const int place = diagnosis_answer_place(state, fitted_question(part));
    if (place >= 0 && state->answers[place].outcome >= 0) {
        return state->answers[place].outcome == 0 ? OVP_OVEN_FITTED : OVP_OVEN_NOT_FITTED;
    }
    return state->settings.oven != NULL ? ovp_oven_has(state->settings.oven, part) : OVP_OVEN_UNKNOWN;
}

ovp_oven_fitted diagnosis_parts(const ovp_diagnosis_case *state, const char *needs,
                                ovp_oven_part *unknown_part)
{
    ovp_oven_fitted any = needs[0] == '\0' ? OVP_OVEN_FITTED : OVP_OVEN_NOT_FITTED;
    if (unknown_part != NULL) {
        *unknown_part = OVP_OVEN_PARTS;
    }
    while (*needs != '\0') {
        const size_t length = strcspn(needs, "|");
        ovp_oven_part part;
        if (ovp_oven_part_named((ovp_span){needs, length}, &part)) {
            const ovp_oven_fitted here = diagnosis_part(state, part);
            if (here == OVP_OVEN_FITTED) {
                return OVP_OVEN_FITTED;
            }
            if (here == OVP_OVEN_UNKNOWN) {
                any = OVP_OVEN_UNKNOWN;
                if (unknown_part != NULL && *unknown_part == OVP_OVEN_PARTS &&
                    diagnosis_answer_place(state, fitted_question(part)) < 0) {
                    *unknown_part = part;
                }
            }
        }
        needs += length + (needs[length] == '|');
    }
    return any;
}

/* ---- answers --------------------------------------------------------------------------------------- */

static ovp_status keep_answer(ovp_diagnosis_case *state, size_t question, int outcome, ovp_error *error)
{
    const int place = diagnosis_answer_place(state, question);
    if (place >= 0) {
        state->answers[place].outcome = (short)outcome;
        return OVP_OK;
    }
    if (state->answer_count == OVP_DIAGNOSIS_ANSWERS) {
        return ovp_error_set(error, OVP_ERROR_MEMORY, "more than %d answers", (int)OVP_DIAGNOSIS_ANSWERS);
    }
    state->answers[state->answer_count++] = (diagnosis_answer){(short)question, (short)outcome};
    return OVP_OK;
}

static ovp_status unknown_id(const char *id, ovp_error *error)
{
    ovp_error_set(error, OVP_ERROR_DATA, "no measurement is called '%.64s'", id);
    const ovp_diagnosis_measurement *offer[3];
    const size_t count = ovp_diagnosis_offer(id, offer, 3);
    if (count > 0) {
        ovp_error_hint(error, "did you mean %s? `ovenproof guide --list` prints every measurement",
                       offer[0]->id);
    } else {
        ovp_error_hint(error, "`ovenproof guide --list` prints every measurement");
    }
    return OVP_ERROR_DATA;
}

static void hint_choices(const ovp_diagnosis_measurement *measurement, ovp_error *error)
{
    char choices[OVP_ERROR_TEXT_SIZE - 32] = "";
    size_t at = 0;
    for (size_t i = 0; i < measurement->outcome_count && at < sizeof(choices); i++) {
        at += (size_t)snprintf(choices + at, sizeof(choices) - at, "%s, ", measurement->outcomes[i]);
    }
    ovp_error_hint(error, "one of: %sor unknown", choices);
}

ovp_status ovp_diagnosis_answer(ovp_diagnosis_case *state, const char *id, const char *answer,
                                ovp_error *error)
{
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    if (measurement == NULL) {
        return unknown_id(id, error);
    }
    const size_t question = (size_t)(measurement - ovp_diagnosis_measurement_at(0));
    const ovp_span word = ovp_span_trim(ovp_span_of(answer));
    if (ovp_span_equals(word, "unknown")) {
        return keep_answer(state, question, DIAGNOSIS_NO_OUTCOME, error);
    }
    for (size_t i = 0; i < measurement->outcome_count; i++) {
        if (ovp_span_equals(word, measurement->outcomes[i])) {
            return keep_answer(state, question, (int)i, error);
        }
    }
    size_t outcome;
    const ovp_status status = diagnosis_outcome_of(state->settings.oven, measurement, word, &outcome, error);
    if (status != OVP_OK) {
        hint_choices(measurement, error);
        return status;
    }
    return keep_answer(state, question, (int)outcome, error);
}

bool ovp_diagnosis_retract(ovp_diagnosis_case *state, const char *id)
{
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    if (measurement == NULL) {
        return false;
    }
    const int place = diagnosis_answer_place(state, (size_t)(measurement - ovp_diagnosis_measurement_at(0)));
    if (place < 0) {
        return false;
    }
    state->answer_count--;
    memmove(&state->answers[place], &state->answers[place + 1],
            (state->answer_count - (size_t)place) * sizeof(state->answers[0]));
    return true;
}

/* ---- a trace --------------------------------------------------------------------------------------- */

/* "MEASUREMENT:outcome=answer|outcome=answer": the measurement's question and outcome, if this one is named.
 */
static bool same_fact(const char *answers, const char *outcome, size_t *question, size_t *place)
{
    const char *colon = strchr(answers, ':');
    if (colon == NULL) {
        return false;
    }
    char id[64];
    if (!ovp_copy_string(id, sizeof(id), (ovp_span){answers, (size_t)(colon - answers)})) {
        return false;
    }
    const ovp_diagnosis_measurement *measurement = ovp_diagnosis_measurement_named(id);
    if (measurement == NULL) {
        return false;
    }
    const size_t length = strlen(outcome);
    for (const char *at = colon + 1; *at != '\0';) {
        const size_t here = strcspn(at, "|");
        if (here > length && strncmp(at, outcome, length) == 0 && at[length] == '=') {
            const ovp_span answer = {at + length + 1, here - length - 1};
            for (size_t i = 0; i < measurement->outcome_count; i++) {
                if (ovp_span_equals(answer, measurement->outcomes[i])) {
                    *question = (size_t)(measurement - ovp_diagnosis_measurement_at(0));
                    *place = i;
                    return true;
                }
            }
        }
        at += here + (at[here] == '|');
    }
    return false;
}

/* Heat was lost within the run: what was normal before says nothing of what is broken now. */
static bool heat_lost(const ovp_trace_result *result)
{
    for (size_t i = 0; i < result->finding_count; i++) {
        if (result->findings[i].notable && strcmp(result->findings[i].finding, "off-while-called") == 0) {
            return true;
        }
    }
    return false;
}

void ovp_diagnosis_take_trace(ovp_diagnosis_case *state, const ovp_trace_result *result,
                              const ovp_trace_input *input)
{
    state->has_trace = true;
    state->has_fit = false;
    state->metered = input != NULL && input->has[OVP_TRACE_SUPPLY] && input->has[OVP_TRACE_CURRENT];
    state->shown_count = 0;
    const bool lost = heat_lost(result);
    for (size_t i = 0; i < result->finding_count && i < OVP_TRACE_FINDINGS; i++) {
        const ovp_trace_finding *finding = &result->findings[i];
        const ovp_trace_finding_row *row = ovp_trace_finding_named(finding->finding);
        if (row == NULL || finding->outcome == NULL) {
            continue;
        }
        size_t question = state->measurements + (size_t)(row - ovp_trace_finding_at(0));
        size_t outcome = outcome_named(row->outcomes, row->outcome_count, finding->outcome);
        if (row->answers[0] != '\0' && !same_fact(row->answers, finding->outcome, &question, &outcome)) {
            continue;
        }
        if (outcome >= state->questions[question].outcome_count) {
            continue; /* a matter of the logger: no row */
        }
        if (lost && question < state->measurements && outcome == state->questions[question].normal) {
            continue;
        }
        state->shown[state->shown_count++] = (diagnosis_answer){(short)question, (short)outcome};
    }
}

/* ---- prior and evidence ---------------------------------------------------------------------------- */

/* Would the check have shown the fault, or does it? A row that hardly differs from the default shows nothing.
 */
static bool bears_on(const diagnosis_question *question, size_t fault, size_t seen)
{
    const double usual = diagnosis_likelihood(question, &fault, 1, question->normal);
    return usual < diagnosis_figure(DIAGNOSIS_shows) *
                       diagnosis_likelihood(question, NULL, 0, question->normal) ||
           (seen != question->normal &&
            diagnosis_likelihood(question, &fault, 1, seen) > diagnosis_likelihood(question, NULL, 0, seen));
}

/* Faults that some check of this log bears on. */
static uint64_t shown_faults(const ovp_diagnosis_case *state)
{
    uint64_t faults = 0;
    for (size_t i = 0; i < state->shown_count; i++) {
        const diagnosis_question *question = &state->questions[state->shown[i].question];
        for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
            if ((question->faults >> f & 1) != 0 && bears_on(question, f, (size_t)state->shown[i].outcome)) {
                faults |= UINT64_C(1) << f;
            }
        }
    }
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        if (strcmp(ovp_diagnosis_fault_at(f)->trace, "never") == 0) {
            faults &= ~(UINT64_C(1) << f);
        }
    }
    return faults;
}

/* The shop's own calls, by fault; those that turned out to be a fault of a part not fitted are not counted.
 */
static double own_calls(const ovp_diagnosis_case *state, const double weights[], double calls[])
{
    double all = 0;
    for (size_t i = 0; i < state->settings.own_count; i++) {
        const ovp_diagnosis_own *own = &state->settings.own[i];
        const size_t f = own->fault != NULL ? (size_t)(own->fault - ovp_diagnosis_fault_at(0))
                                            : ovp_diagnosis_fault_count();
        if (f < ovp_diagnosis_fault_count() && weights[f] > 0 && own->calls > 0) {
            calls[f] += own->calls;
            all += own->calls;
        }
    }
    return all;
}

/*
 * Frequencies as they stand after the shop's own calls: the mean of a Dirichlet distribution whose prior is
 * the table, worth own_worth calls.
 */
static void count_own_calls(const ovp_diagnosis_case *state, double weights[])
{
    const double worth = diagnosis_figure(DIAGNOSIS_own_worth);
    double calls[DIAGNOSIS_FAULTS] = {0}, sum = 0;
    const double all = own_calls(state, weights, calls);
    for (size_t f = 0; f < ovp_diagnosis_fault_count(); f++) {
        sum += weights[f];
    }
    for (size_t f = 0; f < ovp_diagnosis_fault_count() && all > 0; f++) {
        weights[f] = (worth * weights[f] / sum + calls[f]) / (worth + all);
    }
}

static void gather_prior(ovp_diagnosis_case *state, bool all_faults)
{
    const size_t count = ovp_diagnosis_fault_count();
    const uint64_t shown = state->has_trace ? shown_faults(state) : ~UINT64_C(0);
    double weights[DIAGNOSIS_FAULTS] = {0}, sum = 0;
    state->not_shown = 0;
    for (size_t f = 0; f < count; f++) {
        const ovp_diagnosis_fault *fault = ovp_diagnosis_fault_at(f);
        weights[f] = fmax(fault->prior[state->settings.context], diagnosis_figure(DIAGNOSIS_least_prior));
        if (diagnosis_parts(state, fault->needs_part, NULL) == OVP_OVEN_NOT_FITTED) {
            weights[f] = 0;
        }
    }
    count_own_calls(state, weights);
    for (size_t f = 0; f < count; f++) {
        if (weights[f] > 0 && (shown >> f & 1) == 0) {
            state->not_shown |= UINT64_C(1) << f;
            weights[f] = all_faults ? weights[f] : 0;
        }
        sum += weights[f];
    }
    state->prior = (diagnosis_prior){.fault_count = count,
                                     .healthy = state->settings.healthy,
                                     .unlisted = diagnosis_figure(DIAGNOSIS_unlisted)};
    const double rest = fmax(0, 1 - state->prior.healthy - state->prior.unlisted);
    for (size_t f = 0; f < count && sum > 0; f++) {
        const double share = rest * weights[f] / sum;
        state->prior.odds[f] = share < 1 ? share / (1 - share) : 1e9;
    }
}

static bool logged(const ovp_diagnosis_case *state, size_t question, int outcome)
{
    for (size_t i = 0; i < state->shown_count; i++) {
        if ((size_t)state->shown[i].question == question && state->shown[i].outcome == outcome) {
            return true;
        }
    }
    return false;
}

static void add_evidence(ovp_diagnosis_case *state, size_t question, int outcome, bool is_finding)
{
    const diagnosis_question *row = &state->questions[question];
    if (outcome < 0 || row->outcome_count == 0 || row->faults == 0) {
        return;
    }
    for (size_t i = 0; i < state->evidence_count; i++) {
        if (state->origin[i].question == question) {
            return; /* the person's own answer came first: one fact counts once */
        }
    }
    state->questions[question].error = /* a log that answers a person's question does not misread */
        logged(state, question, outcome) ? diagnosis_figure(DIAGNOSIS_error_finding)
                                         : misreading(state, question);
    state->evidence[state->evidence_count] = (diagnosis_evidence){row, (size_t)outcome, 1};
    state->origin[state->evidence_count] = (diagnosis_origin){question, (size_t)outcome, is_finding};
    state->evidence_count++;
}

const char *diagnosis_group(const ovp_diagnosis_case *state, size_t question)
{
    return question < state->measurements ? ovp_diagnosis_measurement_at(question)->group
                                          : ovp_trace_finding_at(question - state->measurements)->group;
}

double diagnosis_strength(const diagnosis_prior *prior, const diagnosis_question *question, size_t outcome)
{
    double most = diagnosis_likelihood(question, NULL, 0, outcome), least = most;
    for (size_t f = 0; f < prior->fault_count; f++) {
        if (prior->odds[f] > 0 && (question->faults >> f & 1) != 0) {
            const double here = diagnosis_likelihood(question, &f, 1, outcome);
            most = fmax(most, here);
            least = fmin(least, here);
        }
    }
    return log(most / least);
}

/* Of one group the answer that spreads the faults furthest counts in full, the others less. */
static void weigh_groups(ovp_diagnosis_case *state)
{
    double strength[DIAGNOSIS_EVIDENCE];
    for (size_t i = 0; i < state->evidence_count; i++) {
        strength[i] =
            diagnosis_strength(&state->prior, state->evidence[i].question, state->evidence[i].outcome);
    }
    for (size_t i = 0; i < state->evidence_count; i++) {
        const char *group = diagnosis_group(state, state->origin[i].question);
        for (size_t j = 0; j < state->evidence_count && group[0] != '\0'; j++) {
            const bool same_kind = (state->origin[i].question < state->measurements) ==
                                   (state->origin[j].question < state->measurements);
            if (j == i || !same_kind ||
                strcmp(group, diagnosis_group(state, state->origin[j].question)) != 0) {
                continue;
            }
            const bool earlier = state->origin[j].question < state->origin[i].question;
            if (strength[j] > strength[i] || (strength[j] == strength[i] && earlier)) {
                state->evidence[i].weight = diagnosis_figure(DIAGNOSIS_group_weight);
            }
        }
    }
}

void diagnosis_gather(ovp_diagnosis_case *state, bool all_faults)
{
    gather_prior(state, all_faults);
    state->evidence_count = 0;
    for (size_t i = 0; i < state->answer_count; i++) {
        add_evidence(state, (size_t)state->answers[i].question, state->answers[i].outcome, false);
    }
    for (size_t i = 0; i < state->shown_count; i++) {
        const size_t question = (size_t)state->shown[i].question;
        if (diagnosis_replaced(state, question)) {
            continue;
        }
        if (question < state->measurements && diagnosis_answer_place(state, question) >= 0 &&
            state->answers[diagnosis_answer_place(state, question)].outcome >= 0) {
            continue;
        }
        add_evidence(state, question, state->shown[i].outcome, true);
    }
    weigh_groups(state);
}
