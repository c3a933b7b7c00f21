/* The limits and the words of a checklist's step, worked out for one oven. */
#include "lua/lua_internal.h"
#include "ovenproof/electrical.h"
#include "ovenproof/thermal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    FIGURE_SIZE = 80,
};

static void format_figure(ovp_text_kind kind, double value, ovp_text_degrees shown, char *buffer, size_t size)
{
    switch (kind) {
    case OVP_TEXT_RESISTANCE:
        if (value >= 1e6)
            (void)snprintf(buffer, size, "%.3g Mohm", value / 1e6);
        else
            (void)snprintf(buffer, size, value >= 1000 ? "%.0f kohm" : "%.3g ohm",
                           value >= 1000 ? value / 1000 : value);
        return;
    case OVP_TEXT_EMF:
        (void)snprintf(buffer, size, fabs(value) < 10 ? "%.2f mV" : "%.4g mV", value);
        return;
    case OVP_TEXT_CURRENT:
        (void)snprintf(buffer, size, value < 0.01 ? "%.3g mA" : "%.3g A", value < 0.01 ? value * 1e3 : value);
        return;
    case OVP_TEXT_VOLTAGE:
        (void)snprintf(buffer, size, "%.4g V", value);
        return;
    case OVP_TEXT_DURATION:
        (void)snprintf(buffer, size, "%.3g min", value / 60);
        return;
    case OVP_TEXT_TEMPERATURE:
        (void)ovp_text_format_temperature(value, shown, 0, buffer, size);
        return;
    default:
        (void)ovp_text_format_difference(value, shown, 0, buffer, size);
    }
}

static void word_limit(const lua_checklist_step *step, ovp_text_degrees shown, lua_checklist_limit *limit)
{
    char low[FIGURE_SIZE] = "", high[FIGURE_SIZE] = "";
    format_figure(step->kind, limit->low, shown, low, sizeof low);
    format_figure(step->kind, limit->high, shown, high, sizeof high);
    if (isnan(limit->high))
        (void)snprintf(limit->text, sizeof limit->text, "at least %s", low);
    else if (isnan(limit->low))
        (void)snprintf(limit->text, sizeof limit->text, "at most %s", high);
    else
        (void)snprintf(limit->text, sizeof limit->text, "%s to %s", low, high);
}

/* Shares of what the plate and the alloy make of this oven. */
static void limit_of_load(const lua_checklist_step *step, const lua_checklist_facts *facts,
                          lua_checklist_limit *limit)
{
    static const char *const record[] = {
        [LUA_CHECKLIST_OF_ELEMENT] = "cold ohms on its record",
        [LUA_CHECKLIST_OF_OVEN_OHMS] = "cold ohms on its record",
        [LUA_CHECKLIST_OF_AMPS] = "hot amps on its record",
        [LUA_CHECKLIST_OF_VOLTS] = "volts on its plate",
    };
    ovp_electrical_load load;
    double volts_V = step->of == LUA_CHECKLIST_OF_AMPS ? facts->volts_V : NAN;
    limit->known = facts->oven != NULL && ovp_electrical_load_of(facts->oven, volts_V, &load, NULL) == OVP_OK;
    if (!limit->known) {
        (void)snprintf(limit->text, sizeof limit->text, "%.0f to %.0f %% of the %s", 100 * step->low,
                       100 * step->high, record[step->of]);
        return;
    }
    double whole = step->of == LUA_CHECKLIST_OF_ELEMENT     ? load.element_cold_ohm
                   : step->of == LUA_CHECKLIST_OF_OVEN_OHMS ? load.cold_ohm
                   : step->of == LUA_CHECKLIST_OF_AMPS      ? load.full_A
                                                            : facts->oven->supply.volts_V;
    limit->low = step->low * whole;
    limit->high = step->high * whole;
    word_limit(step, facts->shown, limit);
}

/*
 * The couple alone, tip in boiling water and screws at room: between water at the boil high up with warm
 * screws and at sea level with cold ones.
 */
static void limit_of_sensor(const lua_checklist_step *step, const lua_checklist_facts *facts,
                            lua_checklist_limit *limit)
{
    const double low_boil_C = ovp_text_to_celsius(199, OVP_TEXT_DEGREES_F); /* about 7,000 ft up */
    const double warm_room_C = ovp_text_to_celsius(85, OVP_TEXT_DEGREES_F);
    const double cold_room_C = ovp_text_to_celsius(60, OVP_TEXT_DEGREES_F);
    limit->known =
        facts->oven != NULL && facts->oven->sensor.known &&
        ovp_tc_emf_at(facts->oven->sensor.type, low_boil_C, warm_room_C, &limit->low, NULL) == OVP_OK &&
        ovp_tc_emf_at(facts->oven->sensor.type, 100, cold_room_C, &limit->high, NULL) == OVP_OK;
    if (limit->known)
        word_limit(step, facts->shown, limit);
    else
        (void)snprintf(limit->text, sizeof limit->text, "positive, by the table of its type");
}

/* Safety readings are judged by the room that knows their standard; this only asks for its limit. */
static void limit_of_safety(const lua_checklist_step *step, const lua_checklist_facts *facts,
                            lua_checklist_limit *limit)
{
    ovp_electrical_judgement judgement;
    ovp_electrical_load load;
    const ovp_electrical_bond bond = {.ohm = 0, .cord_ohm = NAN};
    bool powered = facts->oven != NULL && ovp_electrical_load_of(facts->oven, NAN, &load, NULL) == OVP_OK;
    const ovp_electrical_insulation insulation = {
        .Mohm = INFINITY,
        .power_W = powered ? load.full_W : NAN,
        .test_V = NAN,
        .new_build = step->of == LUA_CHECKLIST_OF_INSULATION_NEW,
        .temperature_C = NAN,
    };
    if (step->of == LUA_CHECKLIST_OF_BOND) {
        limit->known = ovp_electrical_bond_judge(&bond, &judgement, NULL) == OVP_OK;
        limit->high = limit->known ? judgement.limit : NAN;
    } else {
        limit->known = ovp_electrical_insulation_judge(&insulation, &judgement, NULL, NULL) == OVP_OK;
        limit->low = limit->known ? judgement.limit * 1e6 : NAN;
    }
    if (limit->known)
        word_limit(step, facts->shown, limit);
}

static void limit_of_heat_up(const lua_checklist_facts *facts, lua_checklist_limit *limit)
{
    const ovp_oven *oven = facts->oven;
    limit->known = oven != NULL && oven->heat_up_count > 0;
    if (!limit->known) {
        (void)snprintf(limit->text, sizeof limit->text, "within 7 %% of its own record");
        return;
    }
    char mark[FIGURE_SIZE], minutes[FIGURE_SIZE];
    limit->high = oven->heat_up[oven->heat_up_count - 1].within_s;
    (void)ovp_text_format_temperature(oven->heat_up[oven->heat_up_count - 1].to_C, facts->shown, 0, mark,
                                      sizeof mark);
    format_figure(OVP_TEXT_DURATION, limit->high, facts->shown, minutes, sizeof minutes);
    (void)snprintf(limit->text, sizeof limit->text, "%s within %s", mark, minutes);
}

/* Two times, by its own first firing on the same outlet; without one by the model and the plate. */
static void limit_of_first_firing(const lua_checklist_facts *facts, lua_checklist_limit *limit)
{
    static const char *const basis[] = {
        [OVP_THERMAL_FAIR_VOLTS] = "its first firing, carried to the volts of today",
        [OVP_THERMAL_FAIR_LINE] = "its first firing; the line may stand 5 % higher or lower than then",
        [OVP_THERMAL_FAIR_SPREAD] = "its first firing, 7 % either way",
        [OVP_THERMAL_FAIR_MODEL] = "no first firing known: the oven's model and its plate",
    };
    const ovp_oven *oven = facts->oven;
    ovp_thermal_fair fair;
    limit->known = oven != NULL && oven->heat_up_count > 0 &&
                   ovp_thermal_fair_time(oven, oven->heat_up[oven->heat_up_count - 1].to_C, facts->first_s,
                                         facts->first_V, facts->volts_V, &fair, NULL) == OVP_OK;
    if (!limit->known) {
        (void)snprintf(limit->text, sizeof limit->text, "within 7 %% of its own first firing");
        return;
    }
    char mark[FIGURE_SIZE], low[FIGURE_SIZE], high[FIGURE_SIZE];
    limit->low = fair.low_s;
    limit->high = fair.high_s;
    (void)ovp_text_format_temperature(fair.to_C, facts->shown, 0, mark, sizeof mark);
    (void)snprintf(low, sizeof low, "%.3g", fair.low_s / 60);
    format_figure(OVP_TEXT_DURATION, fair.high_s, facts->shown, high, sizeof high);
    (void)snprintf(limit->text, sizeof limit->text, "%s in %s to %s is fine (%s)", mark, low, high,
                   basis[fair.basis]);
}

void lua_checklist_limit_of(const lua_checklist_step *step, const lua_checklist_facts *facts,
                            lua_checklist_limit *limit)
{
    *limit = (lua_checklist_limit){.known = true, .low = NAN, .high = NAN};
    switch (step->of) {
    case LUA_CHECKLIST_OF_EYE:
        return;
    case LUA_CHECKLIST_OF_SAME:
        (void)snprintf(limit->text, sizeof limit->text, "%s", step->same);
        return;
    case LUA_CHECKLIST_OF_HEAT_UP:
        limit_of_heat_up(facts, limit);
        return;
    case LUA_CHECKLIST_OF_FIRST_FIRING:
        limit_of_first_firing(facts, limit);
        return;
    case LUA_CHECKLIST_OF_SENSOR_MV:
        limit_of_sensor(step, facts, limit);
        return;
    case LUA_CHECKLIST_OF_ELEMENT:
    case LUA_CHECKLIST_OF_OVEN_OHMS:
    case LUA_CHECKLIST_OF_AMPS:
    case LUA_CHECKLIST_OF_VOLTS:
        limit_of_load(step, facts, limit);
        return;
    case LUA_CHECKLIST_OF_INSULATION:
    case LUA_CHECKLIST_OF_INSULATION_NEW:
    case LUA_CHECKLIST_OF_BOND:
        limit_of_safety(step, facts, limit);
        return;
    case LUA_CHECKLIST_OF_FIGURE:
        limit->low = step->low;
        limit->high = step->high;
        word_limit(step, facts->shown, limit);
        return;
    }
}

bool lua_checklist_within(const lua_checklist_limit *limit, double value)
{
    return (isnan(limit->low) || value >= limit->low) && (isnan(limit->high) || value <= limit->high);
}

/* ---- words ----------------------------------------------------------------------------------------------
 */

static void word_colours(const lua_checklist_facts *facts, char *buffer, size_t size)
{
    ovp_tc_colours named, other;
    ovp_tc_type type = facts->oven != NULL && facts->oven->sensor.known ? facts->oven->sensor.type : OVP_TC_K;
    const char *letter = ovp_tc_type_name(type);
    bool said = facts->colours != NULL && facts->colours[0] != '\0';
    if (said && ovp_tc_colours_of(facts->colours, type, &named))
        (void)snprintf(buffer, size, "%s on +, %s on - (type %s, %s)", named.positive, named.negative, letter,
                       facts->colours);
    else if (ovp_tc_colours_of("us", type, &named) && ovp_tc_colours_of("eu", type, &other))
        (void)snprintf(buffer, size, "type %s: US %s on +, %s on -; IEC %s on +, %s on -", letter,
                       named.positive, named.negative, other.positive, other.negative);
    else
        (void)snprintf(buffer, size, "+ and - by the colours of its standard");
}

static void word_amps(const lua_checklist_facts *facts, bool circuit, char *buffer, size_t size)
{
    ovp_electrical_load load;
    if (circuit && facts->oven != NULL && !isnan(facts->oven->supply.circuit_A))
        (void)snprintf(buffer, size, "%.4g A", facts->oven->supply.circuit_A);
    else if (!circuit && facts->oven != NULL &&
             ovp_electrical_load_of(facts->oven, NAN, &load, NULL) == OVP_OK)
        (void)snprintf(buffer, size, "%.1f A", load.full_A);
    else
        (void)snprintf(buffer, size, circuit ? "the circuit's amps" : "the plate's amps");
}

static void word_part(const lua_checklist_facts *facts, ovp_oven_part part, char *buffer, size_t size)
{
    const char *rating = facts->oven != NULL ? facts->oven->part_rating[part] : "";
    (void)snprintf(buffer, size, "%s", rating[0] != '\0' ? rating : "the drawing's rating");
}

static void word_mark(const lua_checklist_facts *facts, char *buffer, size_t size)
{
    const ovp_oven *oven = facts->oven;
    if (oven != NULL && oven->heat_up_count > 0)
        (void)ovp_text_format_temperature(oven->heat_up[oven->heat_up_count - 1].to_C, facts->shown, 0,
                                          buffer, size);
    else
        (void)snprintf(buffer, size, "the last mark of its plate");
}

static void word_proof(const lua_checklist_facts *facts, char *buffer, size_t size)
{
    const char *proof = facts->repair != NULL ? ovp_diagnosis_proof(facts->repair->id) : "";
    (void)snprintf(buffer, size, "%s",
                   proof[0] != '\0' ? proof : "The test that proves the repair was done and is good.");
}

/* "250F" is a temperature and "+50F" a difference, shown in the scale that is asked for. */
static bool word_degrees(ovp_span name, const lua_checklist_facts *facts, char *buffer, size_t size)
{
    const bool differs = name.count > 0 && name.bytes[0] == '+';
    const ovp_span figure = {name.bytes + differs, name.count - differs};
    double value_C = 0;
    if (figure.count == 0 || figure.bytes[0] < '0' || figure.bytes[0] > '9' ||
        ovp_text_quantity(figure, differs ? OVP_TEXT_TEMPERATURE_DIFFERENCE : OVP_TEXT_TEMPERATURE,
                          OVP_TEXT_DEGREES_NONE, &value_C, NULL) != OVP_OK)
        return false;
    if (differs)
        (void)ovp_text_format_difference(value_C, facts->shown, 0, buffer, size);
    else
        (void)ovp_text_format_temperature(value_C, facts->shown, 0, buffer, size);
    return true;
}

static bool word_of(ovp_span name, const lua_checklist_facts *facts, char *buffer, size_t size)
{
    const ovp_oven *oven = facts->oven;
    if (ovp_span_equals(name, "colours"))
        word_colours(facts, buffer, size);
    else if (ovp_span_equals(name, "magnet"))
        (void)snprintf(buffer, size, "%s",
                       ovp_tc_magnet(oven != NULL && oven->sensor.known ? oven->sensor.type : OVP_TC_K));
    else if (ovp_span_equals(name, "type"))
        (void)snprintf(buffer, size, "%s",
                       oven != NULL && oven->sensor.known ? ovp_tc_type_name(oven->sensor.type) : "its type");
    else if (ovp_span_equals(name, "volts") && oven != NULL && !isnan(oven->supply.volts_V))
        (void)snprintf(buffer, size, "%.4g V", oven->supply.volts_V);
    else if (ovp_span_equals(name, "volts"))
        (void)snprintf(buffer, size, "the plate's volts");
    else if (ovp_span_equals(name, "circuit") || ovp_span_equals(name, "amps"))
        word_amps(facts, name.bytes[0] == 'c', buffer, size);
    else if (ovp_span_equals(name, "fuse"))
        word_part(facts, OVP_OVEN_CONTROL_FUSE, buffer, size);
    else if (ovp_span_equals(name, "protector"))
        word_part(facts, OVP_OVEN_ELEMENT_PROTECTOR, buffer, size);
    else if (ovp_span_equals(name, "mark"))
        word_mark(facts, buffer, size);
    else if (ovp_span_equals(name, "proof"))
        word_proof(facts, buffer, size);
    else if (ovp_span_equals(name, "broke_by"))
        (void)snprintf(buffer, size, "%s",
                       facts->repair != NULL ? facts->repair->broke_by
                                             : "look for it before you close the cover");
    else
        return word_degrees(name, facts, buffer, size);
    return true;
}

void lua_checklist_words(const char *text, const lua_checklist_facts *facts, char *buffer, size_t size)
{
    size_t used = 0;
    buffer[0] = '\0';
    while (*text != '\0' && used + 1 < size) {
        const char *end = *text == '{' ? strchr(text, '}') : NULL;
        char words[LUA_CHECKLIST_TEXT_SIZE];
        ovp_span piece = {text, strcspn(text + 1, "{") + 1}; /* up to the next brace */
        size_t past = piece.count;
        if (end != NULL &&
            word_of((ovp_span){text + 1, (size_t)(end - text) - 1}, facts, words, sizeof words)) {
            piece = ovp_span_of(words);
            past = (size_t)(end - text) + 1;
        }
        (void)ovp_copy_string(buffer + used, size - used, piece);
        used += strlen(buffer + used);
        text += past;
    }
}
