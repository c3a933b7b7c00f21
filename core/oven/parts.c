#include "oven/oven_internal.h"

#include <string.h>

static const char *const part_names[OVP_OVEN_PARTS] = {
    [OVP_OVEN_DOOR_SWITCH] = "door_switch",
    [OVP_OVEN_CONTACTOR] = "contactor",
    [OVP_OVEN_LIMITER] = "limiter",
    [OVP_OVEN_ELEMENT_SWITCH] = "element_switch",
    [OVP_OVEN_ELEMENT_PROTECTOR] = "element_protector",
    [OVP_OVEN_CONTROL_FUSE] = "control_fuse",
    [OVP_OVEN_PANEL_CUTOUT] = "panel_cutout",
    [OVP_OVEN_FAN] = "fan",
    [OVP_OVEN_CHECK_HOLE] = "check_hole",
    [OVP_OVEN_OUTPUT_LAMP] = "output_lamp",
    [OVP_OVEN_RELAY_LAMP] = "relay_lamp",
    [OVP_OVEN_PARALLEL_BRANCHES] = "parallel_branches",
};

bool ovp_oven_part_named(ovp_span name, ovp_oven_part *part)
{
    for (int i = 0; i < OVP_OVEN_PARTS; i++) {
        if (!ovp_span_equals(name, part_names[i]))
            continue;
        *part = (ovp_oven_part)i;
        return true;
    }
    return false;
}

const char *ovp_oven_part_name(ovp_oven_part part)
{
    return part_names[part];
}

/* Two paths for the current: only then can one die and leave the other heating. */
static ovp_oven_fitted parallel_branches(const ovp_oven *oven)
{
    if (oven->wiring == OVP_OVEN_WIRING_SINGLE || oven->wiring == OVP_OVEN_WIRING_SERIES ||
        oven->element_count == 1)
        return OVP_OVEN_NOT_FITTED;
    if (oven->wiring == OVP_OVEN_WIRING_PARALLEL && oven->element_count > 1)
        return OVP_OVEN_FITTED;
    return OVP_OVEN_UNKNOWN;
}

ovp_oven_fitted ovp_oven_has(const ovp_oven *oven, ovp_oven_part part)
{
    if (part == OVP_OVEN_PARALLEL_BRANCHES)
        return parallel_branches(oven);
    return oven->fitted[part];
}

ovp_oven_fitted ovp_oven_has_any(const ovp_oven *oven, const char *needs_part)
{
    if (needs_part == NULL || needs_part[0] == '\0')
        return OVP_OVEN_FITTED;
    ovp_oven_fitted answer = OVP_OVEN_NOT_FITTED;
    for (const char *at = needs_part; *at != '\0';) {
        size_t length = strcspn(at, "|");
        ovp_oven_part part;
        ovp_oven_fitted one = OVP_OVEN_UNKNOWN; /* a word nobody knows is a part nobody has looked for */
        if (ovp_oven_part_named(ovp_span_trim((ovp_span){at, length}), &part))
            one = ovp_oven_has(oven, part);
        if (one == OVP_OVEN_FITTED)
            return OVP_OVEN_FITTED;
        if (one == OVP_OVEN_UNKNOWN)
            answer = OVP_OVEN_UNKNOWN;
        at += length;
        if (*at == '|')
            at++;
    }
    return answer;
}
