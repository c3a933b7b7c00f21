/*
 * guide: the next one or two questions as a text message. What makes it safe stands first; the answers to
 * choose from stand in words; no ids, no formulas, and only signs that every telephone has.
 */
#include "command/guide.h"

#include <string.h>

enum {
    MESSAGE_AIM = 320, /* two messages of the short message service, 160 signs each */
};

/* ---- plain signs --------------------------------------------------------------------------------------- */

static const struct sign {
    const char *from, *to;
} signs[] = {
    {"\xE2\x80\xA6", ":"},
    {" \xC2\xB0"
     "F",
     " F"},
    {" \xC2\xB0"
     "C",
     " C"},
    {"\xC2\xB0", " deg "},
    {"\xCE\xA9", "ohm"},
    {"\xE2\x84\xA6", "ohm"},
    {"\xC3\x97", "x"},
    {"\xE2\x80\x93", "-"},
    {"\xE2\x80\x94", "-"},
    {"\xC2\xB2", "2"},
    {"\xC2\xB1", "+-"},
    {"\xE2\x89\xA4", "at most "},
    {"\xE2\x89\xA5", "at least "},
    {"\xC2\xB5", "u"},
    {"\xC2\xBD", "1/2"},
    {"\xC2\xA0", " "},
};

/* What the telephone shows; a sign that is not known is left out. */
static void plain(const char *text, char *buffer, size_t size)
{
    size_t used = 0;
    for (const char *at = text; *at != '\0' && used + 12 < size;) {
        const struct sign *found = NULL;
        for (size_t i = 0; i < sizeof signs / sizeof signs[0] && found == NULL; i++)
            if (strncmp(at, signs[i].from, strlen(signs[i].from)) == 0)
                found = &signs[i];
        if (found != NULL) {
            (void)ovp_copy_string(buffer + used, size - used, ovp_span_of(found->to));
            used += strlen(found->to);
            at += strlen(found->from);
        } else {
            if ((unsigned char)*at < 0x80)
                buffer[used++] = *at;
            at++;
        }
    }
    buffer[used] = '\0';
}

typedef struct message {
    char text[GUIDE_MESSAGE_SIZE];
} message;

static void add(message *to, const char *text)
{
    const size_t used = strlen(to->text);
    plain(text, to->text + used, sizeof to->text - used);
}

/* ---- a question ---------------------------------------------------------------------------------------- */

typedef enum hands {
    HANDS_OFF, /**< looked at or remembered: it stays as it is, and off */
    HANDS_UNPLUGGED,
    HANDS_COOLED, /**< unplugged, and cold */
    HANDS_CONTROLS,
    HANDS_HEAT,
} hands;

static hands hands_for(const ovp_diagnosis_measurement *question, bool from_memory)
{
    if (from_memory)
        return HANDS_OFF;
    if (guide_has_state(question, "unplugged") || guide_has_state(question, "cover-off"))
        return guide_has_state(question, "cooled") ? HANDS_COOLED : HANDS_UNPLUGGED;
    if (strcmp(question->energised, "controls") == 0)
        return HANDS_CONTROLS;
    return strcmp(question->energised, "no") == 0 ? HANDS_OFF : HANDS_HEAT;
}

static void add_safety(message *to, const guide_session *session, hands now,
                       const ovp_diagnosis_measurement *question)
{
    const bool has_switch = session->settings.oven != NULL &&
                            ovp_oven_has(session->settings.oven, OVP_OVEN_ELEMENT_SWITCH) == OVP_OVEN_FITTED;
    switch (now) {
    case HANDS_OFF:
        add(to, session->about.danger >= 3 ? "Leave it unplugged for now." : "Leave it off for now.");
        break;
    case HANDS_UNPLUGGED:
        add(to, "Pull the plug first and pocket it: the switch does not make it dead.");
        break;
    case HANDS_COOLED:
        add(to, "Pull the plug first and pocket it (the switch does not make it dead); let it cool.");
        break;
    case HANDS_CONTROLS:
        add(to, has_switch ? "Covers on, element switch off."
                           : "Covers on, setpoint below the display: no heat.");
        break;
    case HANDS_HEAT:
        add(to, "Covers on; stay beside it, ready to pull the plug.");
        break;
    }
    if (now != HANDS_OFF && question->hazard_level > 1 && strcmp(question->caution, "none") != 0) {
        add(to, " Care: ");
        add(to, question->caution);
        add(to, ".");
    }
}

static bool is_reading(const ovp_diagnosis_measurement *question)
{
    return strcmp(question->unit, "choice") != 0 && strcmp(question->unit, "ratio") != 0 &&
           strcmp(question->unit, "degF") != 0;
}

static bool ends_open(const char *text)
{
    const size_t length = strlen(text);
    return length > 3 && strcmp(text + length - 3, "\xE2\x80\xA6") == 0;
}

static bool ends_sentence(const char *text)
{
    const size_t length = strlen(text);
    return length > 0 && strchr(".?!:", text[length - 1]) != NULL;
}

/* The question and its answers: "The wire inside is: whole / parted, glass clear / can't tell?" */
static void add_question(message *to, const guide_session *session, const ovp_diagnosis_measurement *question)
{
    char words[GUIDE_MESSAGE_SIZE];
    (void)guide_plain_words(session, guide_without_state(question->question), words, sizeof words);
    if (words[0] >= 'a' && words[0] <= 'z')
        words[0] = (char)(words[0] - 'a' + 'A');
    add(to, words);
    if (is_reading(question)) {
        add(to, ends_open(words)       ? " tell me the "
                : ends_sentence(words) ? " Tell me the "
                                       : ". Tell me the ");
        add(to, strcmp(question->unit, "V") == 0   ? "volts"
                : strcmp(question->unit, "A") == 0 ? "amps"
                                                   : question->unit);
        add(to, ", or: can't.");
        return;
    }
    add(to, ends_open(words) ? " " : ends_sentence(words) ? " Answer: " : ". Answer: ");
    for (size_t i = 0; i < question->outcome_count; i++) {
        (void)guide_plain_words(session, ovp_diagnosis_outcome_text(question->id, question->outcomes[i]),
                                words, sizeof words);
        add(to, words);
        add(to, " / ");
    }
    add(to, "can't tell?");
}

/* What would be asked if the first stays open: NULL when it wants other hands. */
static const ovp_diagnosis_measurement *second_question(guide_session *session, hands now)
{
    const ovp_diagnosis_measurement *first = session->step.question, *second = NULL;
    ovp_error ignored = {0};
    if (guide_add_answer(session, first->id, "unknown", &ignored) != OVP_OK)
        return NULL;
    if (guide_evaluate(session, &ignored) == OVP_OK && !session->step.concluded &&
        ovp_diagnosis_measurement_named(session->step.question->id) != NULL &&
        hands_for(session->step.question, session->step.from_memory) == now)
        second = session->step.question;
    session->answer_count--;
    return guide_evaluate(session, &ignored) == OVP_OK ? second : NULL;
}

static void say_questions(guide_session *session, message *whole)
{
    const ovp_diagnosis_measurement *first = session->step.question;
    const hands now = hands_for(first, session->step.from_memory);
    message alone = {""}, both = {""};
    add_safety(&alone, session, now, first);
    add(&alone, " ");
    both = alone;
    add_question(&alone, session, first);
    session->message_asks[0] = first;
    session->message_ask_count = 1;
    *whole = alone;
    const ovp_diagnosis_measurement *second = second_question(session, now);
    session->message_asks[0] = session->step.question; /* the guide's own question is made anew */
    if (second == NULL || second->hazard_level > 1)
        return;
    add(&both, "1) ");
    add_question(&both, session, session->step.question);
    add(&both, " 2) ");
    add_question(&both, session, second);
    if (strlen(both.text) > MESSAGE_AIM)
        return;
    session->message_asks[session->message_ask_count++] = second;
    *whole = both;
}

/* ---- the conclusion ------------------------------------------------------------------------------------ */

/* Whole sentences while they fit. */
static void add_while_fits(message *to, const char *lead, const char *text)
{
    message longer = *to;
    if (text == NULL || text[0] == '\0')
        return;
    add(&longer, lead);
    add(&longer, text);
    const size_t length = strlen(longer.text);
    if (longer.text[length - 1] != '.')
        add(&longer, ".");
    if (strlen(longer.text) <= MESSAGE_AIM)
        *to = longer;
}

static void say_conclusion(const guide_session *session, message *whole)
{
    const ovp_diagnosis_result *result = &session->result;
    char words[GUIDE_MESSAGE_SIZE];
    if (result->verdict == OVP_DIAGNOSIS_HEALTHY) {
        add(whole, "Good, as far as these tests go. Use it as usual; tell me if it happens again.");
        return;
    }
    add(whole, "Leave it unplugged for now.");
    const ovp_diagnosis_fault *fault = result->cause_count > 0 ? result->causes[0].fault : NULL;
    if (session->step.fault[0] != '\0')
        fault = ovp_diagnosis_fault_named(session->step.fault);
    if (fault != NULL)
        add_while_fits(whole,
                       result->causes[0].present >= 0.5 || session->step.fault[0] != '\0'
                           ? " Most likely: "
                           : " Not sure yet; first to look at: ",
                       fault->title);
    (void)guide_plain_words(session, session->step.text, words, sizeof words);
    add_while_fits(whole, " ", words);
    (void)guide_plain_words(session, session->remedy, words, sizeof words);
    add_while_fits(whole, " Repair: ", words);
    (void)guide_plain_words(session, session->proof, words, sizeof words);
    add_while_fits(whole, " Then prove it: ", words);
}

ovp_status guide_say(guide_session *session, ovp_error *error)
{
    message whole = {""};
    session->message_ask_count = 0;
    if (session->step.concluded)
        say_conclusion(session, &whole);
    else
        say_questions(session, &whole);
    (void)ovp_copy_string(session->message, sizeof session->message, ovp_span_of(whole.text));
    store_case *kept = session->kept;
    if (kept == NULL)
        return OVP_OK;
    kept->asked_count = session->message_ask_count;
    for (size_t i = 0; i < kept->asked_count; i++)
        (void)ovp_copy_string(kept->asked[i], sizeof kept->asked[i],
                              ovp_span_of(session->message_asks[i]->id));
    return store_case_save(kept, error);
}

void guide_say_write_json(const guide_session *session, ovp_text_json *json)
{
    if (session->message[0] == '\0')
        return;
    ovp_text_json_key(json, "message");
    ovp_text_json_begin_object(json);
    ovp_text_json_key_string(json, "text", session->message);
    ovp_text_json_key_integer(json, "characters", (int64_t)strlen(session->message));
    ovp_text_json_key(json, "asks");
    ovp_text_json_begin_array(json);
    for (size_t i = 0; i < session->message_ask_count; i++)
        ovp_text_json_string(json, session->message_asks[i]->id);
    ovp_text_json_end_array(json);
    ovp_text_json_end_object(json);
}
