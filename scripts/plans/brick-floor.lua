-- A floor of insulating firebrick: fired once already; only storage damp and mortar to think of.
return {
    name = "brick-floor",
    title = "Insulating firebrick floor: first firing",
    text = "Fired brick holds no bound water. Damp from storage and fresh mortar leave at 212 to 250 °F.",
    floor = "insulating firebrick",
    steps = {
        { kind = "ramp", to = "250F", per_hour = "200F", door = "crack", gives_off = "steam", source = "judgement: half of the row's rate while mortar may be damp" },
        { kind = "hold", time = "1h", door = "crack", gives_off = "steam", source = "common practice, no published source" },
        { kind = "condition", by = "seen", text = "no steam at the door", source = "common practice, no published source" },
        { kind = "ramp", to = "1000F", per_hour = "400F", door = "shut", gives_off = "binder", caution = "board behind the brick may smell and smoke: air the room", source = "judgement: spares the joints at the first heat; no published source" },
        { kind = "ramp", to = "1800F", per_hour = "400F", source = "judgement: spares the joints at the first heat; no published source" },
        { kind = "hold", time = "30min", source = "common practice, no published source" },
        { kind = "ramp", to = "200F", door = "shut", text = "heat off, cool with the door shut", source = "common practice, no published source" },
        { kind = "stop", text = "a trip, a tingle, a smell of plastic or a display that jumps: heat off", source = "judgement of the trade" },
    },
}
