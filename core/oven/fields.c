/*
 * The one table of fields: the reader, the questions of `describe`, the messages, the JSON and the manual
 * are made from it. Ranges are wide on purpose: they catch a wrong unit, not an unusual oven (judgement).
 */
#include "oven/oven_internal.h"

#include <math.h>
#include <string.h>

#define AT(member) offsetof(ovp_oven, member)

#define QUANTITY(p, k, m, lo, hi, t, why)                                                                    \
    {                                                                                                        \
        .path = (p), .kind = (k), .low = (lo), .high = (hi), .text = (t), .matters = (why),                  \
        .store = OVEN_STORE_QUANTITY, .offset = AT(m)                                                        \
    }
#define WORDS(p, m, c, t, why)                                                                               \
    {                                                                                                        \
        .path = (p), .is_text = true, .choices = (c), .text = (t), .matters = (why),                         \
        .store = OVEN_STORE_TEXT, .offset = AT(m)                                                            \
    }
#define CHOICE(p, s, m, k, c, t, why)                                                                        \
    {                                                                                                        \
        .path = (p), .is_text = true, .choices = (c), .text = (t), .matters = (why), .store = (s),           \
        .offset = AT(m), .known_offset = (k)                                                                 \
    }
#define YES_NO(p, m, t, why)                                                                                 \
    {                                                                                                        \
        .path = (p), .is_yes_no = true, .text = (t), .matters = (why), .store = OVEN_STORE_YES_NO,           \
        .offset = AT(m)                                                                                      \
    }
#define PART(p, part, t, why)                                                                                \
    {                                                                                                        \
        .path = (p), .is_yes_no = true, .text = (t), .matters = (why), .store = OVEN_STORE_PART,             \
        .offset = AT(fitted) + sizeof(ovp_oven_fitted) * (size_t)(part),                                     \
        .known_offset = AT(part_rating) + (size_t)OVP_OVEN_STRING_SIZE * (size_t)(part)                      \
    }

#define COUPLE_TYPES "B|C|E|J|K|N|R|S|T"

static const ovp_oven_field fields[] = {
    {.path = "name",
     .is_text = true,
     .required = true,
     .text = "name of the model or of this one oven",
     .matters = "records and messages cannot say which oven they speak of",
     .store = OVEN_STORE_TEXT,
     .offset = AT(name)},
    WORDS("note", note, NULL, "free words", "nothing"),
    QUANTITY("supply.volts", OVP_TEXT_VOLTAGE, supply.volts_V, 12.0, 700.0, "volts on the plate",
             "amps, power and heat-up time cannot be reckoned"),
    QUANTITY("supply.circuit", OVP_TEXT_CURRENT, supply.circuit_A, 1.0, 400.0,
             "rating of the branch circuit's breaker", "the margin of the circuit cannot be judged"),
    WORDS("supply.cord", supply.cord, NULL, "cord: length and wire, e.g. \"6ft 12AWG\"",
          "the volts lost in the cord are not counted"),
    QUANTITY("supply.line_ohms", OVP_TEXT_RESISTANCE, supply.line_ohms, 0.0, 20.0,
             "ohms of the line up to the outlet, both ways",
             "the sag of the volts under load cannot be foretold"),
    YES_NO("supply.shared", supply.shared, "other outlets or loads on the same circuit",
           "which rule of the circuit applies is not known"),
    {.path = "elements[].watts",
     .kind = OVP_TEXT_POWER,
     .low = 10.0,
     .high = 100e3,
     .text = "watts of the element on the plate, hot",
     .matters = "ohms, amps and heat-up time cannot be reckoned",
     .store = OVEN_STORE_QUANTITY,
     .offset = AT(elements) + offsetof(ovp_oven_element, power_W),
     .stride = sizeof(ovp_oven_element),
     .count_offset = AT(element_count),
     .bound = OVP_OVEN_ELEMENTS},
    {.path = "elements[].at",
     .kind = OVP_TEXT_VOLTAGE,
     .low = 6.0,
     .high = 700.0,
     .text = "volts at which the element has its watts",
     .matters = "the plate's volts are taken instead",
     .store = OVEN_STORE_QUANTITY,
     .offset = AT(elements) + offsetof(ovp_oven_element, at_V),
     .stride = sizeof(ovp_oven_element),
     .count_offset = AT(element_count),
     .bound = OVP_OVEN_ELEMENTS},
    {.path = "elements[].alloy",
     .is_text = true,
     .text = "alloy of the wire, a row of reference/heater-ct.csv",
     .matters = "the usual alloy is taken: cold ohms are a few percent less sure",
     .store = OVEN_STORE_TEXT,
     .offset = AT(elements) + offsetof(ovp_oven_element, alloy),
     .stride = sizeof(ovp_oven_element),
     .count_offset = AT(element_count),
     .bound = OVP_OVEN_ELEMENTS},
    CHOICE("wiring", OVEN_STORE_WIRING, wiring, 0, "single|parallel|series", "how the elements are joined",
           "ohms between the screws and amps cannot be reckoned"),
    CHOICE("sensor.type", OVEN_STORE_TYPE, sensor.type, AT(sensor.known), COUPLE_TYPES,
           "letter of the thermocouple on the drawing", "readings and millivolts cannot be checked"),
    CHOICE("sensor.extension", OVEN_STORE_TYPE, sensor.extension, AT(sensor.extension_known),
           COUPLE_TYPES "|copper", "letter of the extension wire on the drawing",
           "an extension of the right type is assumed"),
    WORDS("sensor.gauge", sensor.gauge, NULL, "gauge of the couple, e.g. \"14AWG\"",
          "its highest temperature and its lag are not known"),
    QUANTITY("sensor.depth", OVP_TEXT_LENGTH, sensor.depth_m, 0.0, 3.0,
             "how far the tip stands into the chamber", "a withdrawn tip cannot be told by measure"),
    CHOICE("controller.input", OVEN_STORE_TYPE, controller.input, AT(controller.input_known), COUPLE_TYPES,
           "letter the controller's input is set to on the drawing", "a wrong setting cannot be told"),
    QUANTITY("controller.period", OVP_TEXT_DURATION, controller.period_s, 0.02, 600.0,
             "cycle time of the output", "pulses of the output cannot be judged"),
    CHOICE("controller.degrees", OVEN_STORE_DEGREES, controller.degrees, 0, "F|C|K", "unit the display shows",
           "a log without units is read by --degrees or the settings"),
    QUANTITY("controller.display_low", OVP_TEXT_TEMPERATURE, controller.display_low_C, -273.15, 3000.0,
             "lowest reading of the display", "the range of the input's type is taken"),
    QUANTITY("controller.display_high", OVP_TEXT_TEMPERATURE, controller.display_high_C, -273.15, 3000.0,
             "highest reading of the display", "the range of the input's type is taken"),
    WORDS("controller.on_sensor_break", controller.on_sensor_break, "off|full|hold",
          "what the output does when the sensor is open",
          "whether an open sensor leaves it heating is not known"),
    WORDS("controller.pid", controller.pid, NULL, "band, integral and derivative",
          "the settings cannot be compared with the oven's"),
    YES_NO("controller.ramps", controller.ramps, "whether the controller can ramp",
           "firing plans may not be walkable"),
    YES_NO("controller.log", controller.log, "whether the controller can give a log",
           "a heat-up must be noted by hand or by another instrument"),
    QUANTITY("chamber.width", OVP_TEXT_LENGTH, chamber.width_m, 0.02, 3.0, "inner width of the chamber",
             "heat-up time cannot be reckoned"),
    QUANTITY("chamber.height", OVP_TEXT_LENGTH, chamber.height_m, 0.02, 3.0, "inner height of the chamber",
             "heat-up time cannot be reckoned"),
    QUANTITY("chamber.depth", OVP_TEXT_LENGTH, chamber.depth_m, 0.02, 5.0, "inner depth of the chamber",
             "heat-up time cannot be reckoned"),
    QUANTITY("chamber.limit", OVP_TEXT_TEMPERATURE, chamber.limit_C, 50.0, 2000.0,
             "highest temperature allowed", "a plan or a run above the limit is not noticed"),
    CHOICE("lining.wall", OVEN_STORE_LINING, wall, 0, NULL,
           "thickness and material of the walls, hot face first",
           "heat-up time and holding power cannot be reckoned"),
    CHOICE("lining.floor", OVEN_STORE_LINING, floor, 0, NULL,
           "thickness and material of the floor, hot face first", "the walls' lining is taken for the floor"),
    {.path = "heat_up[].to",
     .kind = OVP_TEXT_TEMPERATURE,
     .low = 30.0,
     .high = 2000.0,
     .text = "a mark of the heat-up: empty, from room temperature, at the plate's volts",
     .matters = "a heat-up cannot be judged against a limit",
     .store = OVEN_STORE_QUANTITY,
     .offset = AT(heat_up) + offsetof(ovp_oven_limit, to_C),
     .stride = sizeof(ovp_oven_limit),
     .count_offset = AT(heat_up_count),
     .bound = OVP_OVEN_HEAT_UP},
    {.path = "heat_up[].within",
     .kind = OVP_TEXT_DURATION,
     .low = 1.0,
     .high = 7.0 * 86400.0,
     .text = "longest time to the mark",
     .matters = "a heat-up cannot be judged against a limit",
     .store = OVEN_STORE_QUANTITY,
     .offset = AT(heat_up) + offsetof(ovp_oven_limit, within_s),
     .stride = sizeof(ovp_oven_limit),
     .count_offset = AT(heat_up_count),
     .bound = OVP_OVEN_HEAT_UP},
    PART("fitted.door_switch", OVP_OVEN_DOOR_SWITCH, "door switch", "questions about it are asked once"),
    PART("fitted.contactor", OVP_OVEN_CONTACTOR, "contactor ahead of the relay",
         "whether a shorted relay leaves it heating is not known"),
    PART("fitted.limiter", OVP_OVEN_LIMITER, "over-temperature limiter of its own",
         "whether a shorted relay leaves it heating is not known"),
    PART("fitted.element_switch", OVP_OVEN_ELEMENT_SWITCH, "switch for the elements",
         "how to stop the heat at once is not known"),
    PART("fitted.element_protector", OVP_OVEN_ELEMENT_PROTECTOR,
         "breaker or fuse for the elements in the oven", "its margin cannot be judged"),
    PART("fitted.control_fuse", OVP_OVEN_CONTROL_FUSE, "fuse for the controls",
         "a blown one cannot be told apart"),
    PART("fitted.panel_cutout", OVP_OVEN_PANEL_CUTOUT, "thermal cut-out on the panel",
         "a tripped one cannot be told apart"),
    PART("fitted.fan", OVP_OVEN_FAN, "cooling fan, e.g. \"thermostat\"",
         "an overheated panel cannot be explained"),
    PART("fitted.check_hole", OVP_OVEN_CHECK_HOLE, "hole for a check sensor",
         "how a second sensor can be put in is not known"),
    PART("fitted.output_lamp", OVP_OVEN_OUTPUT_LAMP, "lamp of the controller's output",
         "whether the controller calls for heat must be measured"),
    PART("fitted.relay_lamp", OVP_OVEN_RELAY_LAMP, "lamp of the relay's input",
         "whether the relay is driven must be measured"),
    QUANTITY("controls.amps", OVP_TEXT_CURRENT, controls_A, 0.0, 50.0, "what controls and fan draw",
             "they are left out of the circuit's load"),
    WORDS("meters.clamp", clamp_meter, "ac|ac+dc|average", "what kind of clamp meter is at hand",
          "a half wave on the meter cannot be reckoned"),
    {.path = NULL},
};

const ovp_oven_field *ovp_oven_fields(void)
{
    return fields;
}

const oven_schema *oven_schema_of_oven(void)
{
    static const oven_schema schema = {fields, "an oven", "; all fields: ovenproof describe --fields"};
    return &schema;
}
