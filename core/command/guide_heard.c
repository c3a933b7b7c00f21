/*
 * guide: an answer that came back as a message. It is taken apart into pieces; each piece is an answer to
 * what the last message asked, or to another question by its words. At a terminal each is confirmed;
 * elsewhere only what is clear is taken, and the rest is said.
 */
#include "command/ask.h"
#include "command/beside.h"
#include "command/guide.h"
#include "command/lines.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

typedef struct hearing {
    guide_session *session;
    const ovp_diagnosis_measurement *asked[STORE_CASE_ASKED]; /**< what the last message asked */
    bool settled[STORE_CASE_ASKED];
    size_t asked_count;
} hearing;

/* ---- pieces -------------------------------------------------------------------------------------------- */

static bool is_joint(const char *at, size_t *length)
{
    static const char *const words[] = {" and ", " but ", " then "};
    *length = 1;
    if (*at == ';' || *at == '\n')
        return true;
    if (*at == ',' || *at == '.') /* no joint between digits */
        return !(isdigit((unsigned char)at[1]));
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strncmp(at, words[i], strlen(words[i])) == 0) {
            *length = strlen(words[i]) - 1;
            return true;
        }
    return false;
}

static size_t take_apart(const char *text, ovp_span pieces[GUIDE_HEARD])
{
    size_t count = 0;
    const char *from = text;
    for (const char *at = text;; at++) {
        size_t length = 0;
        if (*at != '\0' && !is_joint(at, &length))
            continue;
        const ovp_span piece = ovp_span_trim((ovp_span){from, (size_t)(at - from)});
        if (piece.count > 0 && count < GUIDE_HEARD)
            pieces[count++] = piece;
        if (*at == '\0')
            return count;
        from = at + length;
        at += length - 1;
    }
}

/* ---- one piece ----------------------------------------------------------------------------------------- */

static bool holds_number_only(const char *words)
{
    double value = 0;
    return ovp_text_number(ovp_span_of(words), &value);
}

/* An answer to what was asked, in the question's own words or with its unit. */
static bool fits_asked(hearing *state, guide_heard *heard)
{
    for (size_t i = 0; i < state->asked_count; i++) {
        ovp_error ignored = {0};
        if (state->settled[i] ||
            !guide_answer_from(state->session, state->asked[i], heard->words, heard->answer, &ignored))
            continue;
        heard->about = state->asked[i];
        heard->clear = strlen(heard->words) > 1 && !holds_number_only(heard->words);
        state->settled[i] = true;
        return true;
    }
    return false;
}

static bool is_asked(hearing *state, const ovp_diagnosis_measurement *measurement, bool settle)
{
    for (size_t i = 0; i < state->asked_count; i++) {
        if (state->asked[i] != measurement)
            continue;
        state->settled[i] = state->settled[i] || settle;
        return true;
    }
    return false;
}

/* "40F", "40 F low", "40 degrees Celsius": the scale stands behind a number. */
static bool says_scale(const char *words)
{
    bool after_number = false;
    for (const char *at = words; *at != '\0'; at++) {
        const char letter = (char)toupper((unsigned char)*at);
        if (after_number && (letter == 'F' || letter == 'C') &&
            (!isalpha((unsigned char)at[1]) || strncmp(at + 1, "ahren", 5) == 0 ||
             strncmp(at + 1, "elsi", 4) == 0))
            return true;
        after_number =
            isdigit((unsigned char)*at) != 0 || (after_number && strchr(" degrs\xC2\xB0", *at) != NULL);
    }
    return false;
}

/* True when the answer is a temperature whose scale was not said: "reads 40 low". */
static bool unit_assumed(const hearing *state, const ovp_diagnosis_offered *offer, const char *words)
{
    double value = 0;
    const bool outcome = offer->outcome != NULL && strcmp(offer->outcome, offer->answer) == 0;
    if (outcome || ovp_text_number(ovp_span_of(offer->answer), &value))
        return false;
    const char last = offer->answer[strlen(offer->answer) - 1];
    return (last == 'F' || last == 'C') && state->session->call->degrees == OVP_TEXT_DEGREES_NONE &&
           !says_scale(words);
}

static void understand(hearing *state, guide_heard *heard)
{
    ovp_diagnosis_offered found[2];
    if (fits_asked(state, heard))
        return;
    const size_t count = guide_offers(state->session, heard->words, found, 2);
    if (count == 0)
        return;
    heard->about = found[0].measurement;
    (void)ovp_copy_string(heard->answer, sizeof heard->answer, ovp_span_of(found[0].answer));
    const bool asked = is_asked(state, heard->about, heard->answer[0] != '\0');
    heard->text = found[0].outcome != NULL ? found[0].text : NULL;
    const bool alone = count == 1 || found[1].answer[0] == '\0' || found[1].weight < found[0].weight || asked;
    heard->clear = heard->answer[0] != '\0' && alone && !unit_assumed(state, &found[0], heard->words);
}

/* "can't tell": for the one question of the message that nothing else answered. */
static void settle_unknown(hearing *state, guide_heard *heard)
{
    size_t open = 0, which = 0;
    for (size_t i = 0; i < state->asked_count; i++) {
        if (state->settled[i])
            continue;
        which = open == 0 ? i : which;
        open++;
    }
    if (open == 0)
        return;
    heard->about = state->asked[which];
    (void)ovp_copy_string(heard->answer, sizeof heard->answer, ovp_span_of("unknown"));
    heard->clear = open == 1;
    state->settled[which] = true;
}

/* Pieces from `from` that together are the words of a choice ("parted, glass clear"): how many; 0 none. */
static size_t joined(hearing *state, const ovp_span pieces[], size_t from, size_t count, guide_heard *heard)
{
    for (size_t many = count - from; many > 1; many--) {
        const ovp_span last = pieces[from + many - 1];
        const ovp_span whole = {pieces[from].bytes, (size_t)(last.bytes + last.count - pieces[from].bytes)};
        if (ovp_copy_string(heard->words, sizeof heard->words, whole) && fits_asked(state, heard))
            return many;
    }
    return 0;
}

static void hear(hearing *state, const char *text)
{
    guide_session *session = state->session;
    ovp_span pieces[GUIDE_HEARD];
    const size_t count = take_apart(text, pieces);
    session->heard_count = 0;
    for (size_t i = 0; i < count; i++) {
        guide_heard *heard = &session->heard[session->heard_count++];
        *heard = (guide_heard){.about = NULL};
        const size_t many = joined(state, pieces, i, count, heard);
        if (many > 0) {
            i += many - 1;
            continue;
        }
        (void)ovp_copy_string(heard->words, sizeof heard->words, pieces[i]);
        if (!guide_is_unknown(heard->words))
            understand(state, heard);
    }
    for (size_t i = 0; i < session->heard_count; i++)
        if (session->heard[i].about == NULL && guide_is_unknown(session->heard[i].words))
            settle_unknown(state, &session->heard[i]);
}

/* ---- taking -------------------------------------------------------------------------------------------- */

static const char *in_words(const guide_heard *heard)
{
    return heard->text != NULL ? heard->text : guide_answer_words(heard->about->id, heard->answer);
}

/* At a terminal: Enter or "yes" takes it. */
static bool confirmed(const guide_heard *heard)
{
    static const char *const yes[] = {"yes", "y", "right", "ok", NULL};
    char line[COMMAND_LINE_BYTES], question[512];
    (void)snprintf(question, sizeof question, "\"%.80s\": %s: %s. Right", heard->words,
                   guide_short_question(heard->about->id).text, in_words(heard));
    return ask_line(question, "yes", line, sizeof line) == ASK_ANSWER && command_lines_is(line, yes);
}

static void find_asked(hearing *state)
{
    guide_session *session = state->session;
    for (size_t i = 0; session->kept != NULL && i < session->kept->asked_count; i++) {
        const ovp_diagnosis_measurement *asked = ovp_diagnosis_measurement_named(session->kept->asked[i]);
        if (asked != NULL)
            state->asked[state->asked_count++] = asked;
    }
    if (state->asked_count == 0 && !session->step.concluded)
        state->asked[state->asked_count++] = session->step.question;
}

ovp_status guide_hear_message(guide_session *session, const char *text, ovp_error *error)
{
    const bool terminal = isatty(STDIN_FILENO) == 1 && isatty(STDOUT_FILENO) == 1 && !session->call->json;
    hearing state = {.session = session};
    size_t understood = 0;
    find_asked(&state);
    hear(&state, text);
    if (terminal)
        ask_begin();
    for (size_t i = 0; i < session->heard_count; i++) {
        guide_heard *heard = &session->heard[i];
        understood += heard->about != NULL;
        if (heard->about == NULL || heard->answer[0] == '\0')
            continue;
        heard->taken = terminal ? confirmed(heard) : heard->clear;
        if (heard->taken && guide_add_answer(session, heard->about->id, heard->answer, error) != OVP_OK)
            return error->status;
    }
    if (terminal)
        ask_end();
    if (understood > 0)
        return OVP_OK;
    ovp_status status =
        ovp_error_set(error, OVP_ERROR_DATA, "nothing in \"%.80s\" is an answer that is known here", text);
    ovp_error_hint(error, "say what it is about and what it showed: fuse good, ground 0.2 ohm, can't tell");
    return status;
}

/* ---- what was heard ------------------------------------------------------------------------------------ */

static const char *why_not(const guide_heard *heard)
{
    if (heard->about == NULL)
        return "not understood";
    if (heard->taken)
        return "";
    return heard->answer[0] == '\0' ? "what did it show?" : "is that it? say it with its unit or in full";
}

void guide_print_heard(const guide_session *session)
{
    for (size_t i = 0; i < session->heard_count; i++) {
        const guide_heard *heard = &session->heard[i];
        char text[512];
        if (heard->about == NULL)
            (void)snprintf(text, sizeof text, "\"%s\"", heard->words);
        else
            (void)snprintf(text, sizeof text, "\"%.80s\": %s%s%s%s%s", heard->words,
                           guide_short_question(heard->about->id).text, heard->answer[0] != '\0' ? ": " : "",
                           heard->answer[0] != '\0' ? guide_answer_words(heard->about->id, heard->answer)
                                                    : "",
                           heard->taken ? "" : " - ", why_not(heard));
        command_say_beside(session->call->out,
                           heard->taken           ? "Taken"
                           : heard->about != NULL ? "Ask back"
                                                  : "Unclear",
                           10, text);
    }
}

void guide_heard_write_json(const guide_session *session, ovp_text_json *json)
{
    if (session->heard_count == 0)
        return;
    ovp_text_json_key(json, "heard");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < session->heard_count; i++) {
        const guide_heard *heard = &session->heard[i];
        const bool answered = heard->about != NULL && heard->answer[0] != '\0';
        ovp_text_json_begin_object(json);
        ovp_text_json_key_string(json, "words", heard->words);
        ovp_text_json_key_string(json, "id", heard->about != NULL ? heard->about->id : NULL);
        ovp_text_json_key_string(json, "answer", answered ? heard->answer : NULL);
        ovp_text_json_key_string(json, "answer_text", answered ? in_words(heard) : NULL);
        ovp_text_json_key_boolean(json, "taken", heard->taken);
        ovp_text_json_key_string(json, "problem", why_not(heard));
        ovp_text_json_end_object(json);
    }
    ovp_text_json_end_array(json);
}
