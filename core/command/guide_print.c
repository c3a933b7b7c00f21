/* guide: what a person reads. */
#include "command/beside.h"
#include "command/causes.h"
#include "command/guide.h"
#include "command/standing.h"

#include <math.h>
#include <string.h>

static void say_labelled(const guide_session *session, const char *label, const char *text)
{
    char words[GUIDE_WORDS_SIZE];
    if (text == NULL || text[0] == '\0')
        return;
    (void)ovp_diagnosis_words(text, session->call->degrees, words, sizeof words);
    command_say_beside(session->call->out, label, 10, words);
}

bool guide_has_state(const ovp_diagnosis_measurement *measurement, const char *state)
{
    size_t count = strlen(state);
    for (const char *at = measurement->states; at != NULL && *at != '\0';) {
        const char *end = strchr(at, ';');
        size_t length = end != NULL ? (size_t)(end - at) : strlen(at);
        if (length == count && memcmp(at, state, count) == 0)
            return true;
        at += length + (end != NULL);
    }
    return false;
}

bool guide_is_energised(const ovp_diagnosis_measurement *measurement)
{
    if (strcmp(measurement->energised, "live") == 0)
        return true;
    return strcmp(measurement->energised, "controls") == 0 && strcmp(measurement->who, "technician") == 0;
}

const char *guide_why(const guide_session *session)
{
    return session->step.why[0] != '\0' ? session->step.why : session->step.question->why;
}

const char *guide_expect(const guide_session *session, char *buffer, size_t size)
{
    if (session->step.expect[0] != '\0')
        (void)ovp_diagnosis_words(session->step.expect, session->call->degrees, buffer, size);
    else
        (void)ovp_diagnosis_expect(session->state, session->step.question, buffer, size);
    return buffer;
}

/* ---- the opening -------------------------------------------------------------------------------------- */

static const char make_safe[] = "Unplug it before you open anything: the control switch does not make it "
                                "dead. One side of the relay and the "
                                "fan stay live until the plug is out and in your pocket.";

/* What was heard in the line; which of two complaints leads, and that the other is not lost. */
static void print_what_was_understood(const guide_session *session)
{
    char text[LUA_GUIDE_TEXT_SIZE];
    lua_guide_answer heard[LUA_GUIDE_HEARD];
    const size_t count = lua_guide_hear(&session->about, session->words, heard, LUA_GUIDE_HEARD);
    for (size_t i = 0; i < count; i++) {
        (void)snprintf(text, sizeof text, "Taken from your words: %s.",
                       ovp_diagnosis_outcome_text(heard[i].id, heard[i].answer));
        command_say(session->call->out, text);
    }
    if (session->also_path[0] == '\0')
        return;
    (void)snprintf(text, sizeof text,
                   "Two complaints: \"%s\" comes first, \"%s\" is weighed with it (on its own: `ovenproof "
                   "guide %s`).",
                   session->about.title, session->also.title, session->also.name);
    command_say(session->call->out, text);
}

void guide_print_opening(const guide_session *session)
{
    if (session->trace != NULL && session->trace->result.danger_now)
        command_say(session->call->out, session->trace->result.danger_text);
    if (session->about.first[0] != '\0')
        command_say(session->call->out, session->about.first);
    if (session->settings.oven != NULL)
        command_say_standing_warning(session->call->out, session->settings.oven, true);
    command_say(session->call->out, make_safe);
    print_what_was_understood(session);
    (void)ovp_text_print(session->call->out, "\n%s: %s\n", session->about.title,
                         "`?` is always an answer; also `back`, `why`, `quit`.");
}

/* ---- a question --------------------------------------------------------------------------------------- */

static bool is_power(const ovp_diagnosis_measurement *measurement, const char *word)
{
    return measurement != NULL && strcmp(measurement->energised, word) == 0;
}

/* What the hands do between two questions. */
static const char *step_between(const guide_session *session, const ovp_diagnosis_measurement *before,
                                const ovp_diagnosis_measurement *now)
{
    bool was_open = before != NULL && guide_has_state(before, "unplugged") &&
                    (guide_has_state(before, "cooled") || !guide_has_state(now, "cooled"));
    bool unplugged = guide_has_state(now, "unplugged");
    if (unplugged && !was_open)
        return guide_has_state(now, "cooled")
                   ? "Pull the plug, keep it in your pocket, and wait until the oven is below 120 °F (49 °C)."
                   : "Pull the plug and keep it in your pocket; wait five minutes before a cover comes off.";
    if (unplugged)
        return "";
    if (is_power(now, "live"))
        return "Power on with the cover off: only for somebody qualified, one hand, rated leads, somebody "
               "near by.";
    if (guide_is_energised(now))
        return "Cover off with the controls on: only for somebody qualified; the heat stays switched off.";
    if (is_power(now, "controls") && !is_power(before, "controls")) {
        bool has_switch = session->settings.oven != NULL &&
                          ovp_oven_has(session->settings.oven, OVP_OVEN_ELEMENT_SWITCH) == OVP_OVEN_FITTED;
        return has_switch ? "Covers on, element switch off: only the controls are on."
                          : "Covers on, and the setpoint below the display, so that no heat comes on.";
    }
    was_open = was_open || (before != NULL && guide_has_state(before, "cover-off"));
    return was_open && is_power(now, "normal-use") ? "Put every cover back before you plug it in." : "";
}

static void print_choices(const guide_session *session)
{
    const ovp_diagnosis_measurement *question = session->step.question;
    for (size_t i = 0; i < question->outcome_count; i++) {
        char label[24];
        (void)snprintf(label, sizeof label, "%5zu  ", i + 1);
        char words[GUIDE_WORDS_SIZE];
        (void)ovp_diagnosis_words(ovp_diagnosis_outcome_text(question->id, question->outcomes[i]),
                                  session->call->degrees, words, sizeof words);
        command_say_beside(session->call->out, label, 7, words);
    }
}

void guide_print_question(const guide_session *session, const ovp_diagnosis_measurement *before)
{
    const ovp_diagnosis_measurement *question = session->step.question;
    char expect[LUA_GUIDE_TEXT_SIZE] = "";
    char effort[160];
    double minutes = question->minutes + question->wait_minutes;
    bool bare_hands = strcmp(question->tools, "none") == 0;
    if (session->step.from_memory)
        (void)snprintf(effort, sizeof effort, "%zu. From memory.", session->asked_count + 1);
    else
        (void)snprintf(effort, sizeof effort, "%zu. About %.0f min%s%s.", session->asked_count + 1,
                       minutes < 1 ? 1 : minutes,
                       bare_hands ? "" : ", needs: ", bare_hands ? "" : question->tools);
    (void)ovp_text_print(session->call->out, "\n%s\n", effort);
    if (!session->step.from_memory)
        say_labelled(session, "Safety", step_between(session, before, question));
    bool warns = !session->step.from_memory && strcmp(question->caution, "none") != 0;
    say_labelled(session, "Caution", warns ? question->caution : "");
    say_labelled(session, session->step.from_memory ? "Say" : "Do", question->question);
    say_labelled(session, "Touch", session->step.from_memory ? "" : question->touch);
    if (guide_expect(session, expect, sizeof expect)[0] != '\0')
        command_say_beside(session->call->out, "Expect", 10, expect);
    say_labelled(session, "Why", guide_why(session));
    print_choices(session);
}

void guide_print_why(const guide_session *session)
{
    ovp_sink out = session->call->out;
    if (!session->step.concluded)
        say_labelled(session, "Why", guide_why(session));
    const ovp_diagnosis_result *result = &session->result;
    for (size_t i = 0; i < result->cause_count && i < 6; i++) {
        const ovp_diagnosis_cause *cause = &result->causes[i];
        (void)ovp_text_print(out, "%5.1f %%  %s\n", 100 * cause->probability, cause->fault->title);
        for (size_t j = 0; j < cause->because_count && j < 3; j++) {
            double times = pow(10, fabs(cause->because[j].decibans) / 10);
            (void)ovp_text_print(out, "         %s = %s makes it %.*f times %s\n", cause->because[j].source,
                                 cause->because[j].outcome, times < 10 ? 1 : 0, times,
                                 cause->because[j].decibans >= 0 ? "likelier" : "less likely");
        }
    }
    (void)ovp_text_print(out, "%5.1f %%  something that is not on the list\n", 100 * result->unlisted);
    if (session->own_calls == 0) {
        (void)ovp_text_print(out,
                             "The chances are judgement of the trade weighed by your answers, not counts.\n");
        return;
    }
    (void)ovp_text_print(out,
                         "Priors: the table's, worth %.0f calls, and %zu call%s of your own; weighed by your "
                         "answers.\n",
                         ovp_diagnosis_table_calls(), session->own_calls, session->own_calls == 1 ? "" : "s");
}

/* ---- the conclusion ----------------------------------------------------------------------------------- */

static const double settled = 0.8; /* what is this sure is spoken of alone */

static void print_cause(const guide_session *session, const char *likelihood,
                        const ovp_diagnosis_fault *fault)
{
    char text[LUA_GUIDE_TEXT_SIZE];
    (void)snprintf(text, sizeof text, "%s%s", fault->title, fault->danger >= 3 ? " (dangerous)" : "");
    command_say_beside(session->call->out, likelihood, 15, text);
}

/*
 * At most three, one line each; what holds less than a twentieth is not worth a line, nor is anything beside
 * one that holds four fifths. A fault that the guide itself named stands alone.
 */
static void print_causes(const guide_session *session)
{
    static const double least_share = 0.05;
    const ovp_diagnosis_result *result = &session->result;
    const ovp_diagnosis_fault *named = ovp_diagnosis_fault_named(session->step.fault);
    if (named != NULL) {
        print_cause(session, "found", named);
        return;
    }
    for (size_t i = 0; i < result->cause_count && i < 3; i++) {
        const ovp_diagnosis_cause *cause = &result->causes[i];
        if (i > 0 && (cause->probability < least_share || result->causes[0].probability >= settled))
            break;
        print_cause(session, command_likelihood_word(cause->probability), cause->fault);
    }
}

/* True when the repair itself begins with the plug: a setting is put right with the power on. */
static bool needs_unplugging(const char *remedy)
{
    return strstr(remedy, "plug") != NULL;
}

static void print_first_line(const guide_session *session)
{
    const ovp_diagnosis_result *result = &session->result;
    if (result->verdict == OVP_DIAGNOSIS_HEALTHY) {
        command_say(session->call->out, "Good, as far as these tests go.");
        return;
    }
    const ovp_diagnosis_fault *named = ovp_diagnosis_fault_named(session->step.fault);
    const ovp_diagnosis_fault *worst = named != NULL && named->danger >= 3 ? named : NULL;
    for (size_t i = 0; i < result->cause_count && i < 3; i++)
        if (result->causes[i].probability >= 0.1 && result->causes[i].fault->danger >= 3)
            worst = worst == NULL ? result->causes[i].fault : worst;
    if (worst != NULL)
        command_say(session->call->out, "Leave it unplugged until this is repaired and proved.");
    else if (result->verdict == OVP_DIAGNOSIS_FAULT && result->cause_count > 0 &&
             result->causes[0].present >= 0.5) /* a guide's verdict is "fault" before it knows which */
        command_say(session->call->out, needs_unplugging(session->remedy)
                                            ? "Found; unplug it for the repair."
                                            : "Found; no heat until it is put right.");
    else
        command_say(session->call->out, "Can't tell yet.");
}

/* What was not proved: counted, listed with --why and when nothing else stands in the way of "good". */
static void print_not_proved(const guide_session *session)
{
    bool listed = command_given(session->call, "why") || session->result.verdict != OVP_DIAGNOSIS_FAULT;
    for (size_t i = 0;
         listed && i < session->not_proved_count && (i < 4 || command_given(session->call, "why")); i++)
        say_labelled(session, i == 0 ? "Unproved" : "", session->not_proved[i]);
    if (session->not_proved_count == 0)
        return;
    if (!listed)
        (void)ovp_text_print(session->call->out, "%zu safety tests are not done (--why lists them). ",
                             session->not_proved_count);
    else if (session->not_proved_count > 4 && !command_given(session->call, "why"))
        (void)ovp_text_print(session->call->out, "%zu more (--why). ", session->not_proved_count - 4);
}

/* One step a line, numbered. */
static void print_remedy(const guide_session *session)
{
    ovp_span steps[OVP_DIAGNOSIS_STEPS];
    const size_t count = ovp_diagnosis_steps(session->remedy, steps);
    for (size_t i = 0; i < count; i++) {
        char label[40], step[LUA_GUIDE_TEXT_SIZE], words[GUIDE_WORDS_SIZE];
        (void)ovp_copy_string(step, sizeof step, steps[i]);
        (void)ovp_diagnosis_words(step, session->call->degrees, words, sizeof words);
        (void)snprintf(label, sizeof label, "%-10s%zu.", i == 0 ? "Repair" : "", i + 1);
        command_say_beside(session->call->out, label, 13, words);
    }
}

/* What broke it: how to find out, for a part renewed alone breaks again; with --why what it can have been. */
static void print_what_broke_it(const guide_session *session)
{
    char text[GUIDE_WORDS_SIZE] = "";
    const bool why = command_given(session->call, "why") && session->broke[0] != '\0';
    (void)snprintf(text, sizeof text, "%s%s%s", session->broke_check, why ? ". It can be: " : "",
                   why ? session->broke : "");
    say_labelled(session, "Broke it?", text);
}

static void word_parts(const ovp_diagnosis_part parts[], size_t count, char *text, size_t size)
{
    (void)snprintf(text, size, "%s", count == 0 ? "nothing: it is put right on the spot" : "");
    for (size_t i = 0; i < count; i++) {
        const size_t used = strlen(text);
        (void)snprintf(text + used, size - used, "%s%s", i > 0 ? "; " : "", parts[i].text);
    }
}

/*
 * What to post. One cause that is there in four of five: its part alone, and with --why what mends nine
 * tenths of all that is left. Else those parts, when there are at most three.
 */
static void print_post(const guide_session *session)
{
    enum {
        PARTS = 3
    };
    char text[GUIDE_WORDS_SIZE];
    const ovp_diagnosis_result *result = &session->result;
    const bool why = command_given(session->call, "why");
    const bool alone = session->step.fault[0] == '\0' && result->causes[0].present >= settled;
    if (alone) {
        ovp_diagnosis_part parts[GUIDE_PARTS];
        double covered;
        word_parts(parts, ovp_diagnosis_parts(result->causes, 1, parts, GUIDE_PARTS, &covered), text,
                   sizeof text);
        say_labelled(session, "Post", text);
    }
    if (session->post_covers <= 0 || (!why && (alone || session->post_count > PARTS)))
        return;
    word_parts(session->post, session->post_count, text, sizeof text);
    const size_t used = strlen(text);
    if (why)
        (void)snprintf(text + used, sizeof text - used, " (mends %.0f %% of what is left)",
                       100 * session->post_covers);
    say_labelled(session, alone ? "All else" : "Post", text);
}

static void print_next_check(const guide_session *session)
{
    const ovp_diagnosis_result *result = &session->result;
    if (result->verdict != OVP_DIAGNOSIS_UNCERTAIN || result->cause_count == 0)
        return;
    const ovp_diagnosis_measurement *next = ovp_diagnosis_measurement_named(result->causes[0].next);
    if (next != NULL)
        say_labelled(session, "Next", next->question);
}

/* Normal within its limit: that one thing, and nothing else about the oven. */
static void print_normal(const guide_session *session)
{
    const ovp_diagnosis_normal *normal = session->step.normal;
    say_labelled(session, "Normal", normal->sees);
    say_labelled(session, "Why", normal->why);
    say_labelled(session, "Limit", normal->limit);
    say_labelled(session, "Past that", normal->past);
    command_say(session->call->out,
                "This answers what was asked and nothing else: no safety test of this oven was done by it.");
    if (command_given(session->call, "why"))
        say_labelled(session, "Source", normal->source);
}

void guide_print_conclusion(const guide_session *session, bool so_far)
{
    const ovp_diagnosis_result *result = &session->result;
    if (session->step.normal != NULL) {
        print_normal(session);
        return;
    }
    if (so_far)
        (void)ovp_text_print(session->call->out, "So far, after %zu question%s:\n", session->asked_count,
                             session->asked_count == 1 ? "" : "s");
    print_first_line(session);
    if (session->step.text[0] != '\0')
        command_say(session->call->out, session->step.text);
    print_causes(session);
    bool named = result->verdict == OVP_DIAGNOSIS_FAULT && result->cause_count > 0 &&
                 (session->step.fault[0] != '\0' || result->causes[0].probability >= 0.5);
    if (named && !so_far) {
        say_labelled(session, "Caution", session->caution);
        print_remedy(session);
        print_post(session);
        say_labelled(session, "Proof", session->proof);
        print_what_broke_it(session);
    }
    print_next_check(session);
    if (command_given(session->call, "why"))
        guide_print_why(session);
    if (so_far)
        return;
    print_not_proved(session);
    (void)ovp_text_print(session->call->out, "%zu answers, about %.0f minutes.\n", session->asked_count,
                         session->minutes);
}
