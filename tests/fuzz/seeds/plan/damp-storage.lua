-- An oven that stood in the damp: dry it gently before it works again.
return {
    name = "damp-storage",
    title = "Damp from storage: dry it before it works",
    text = "Damp in a lining leaks current and makes steam. A ground-fault trip while cold is this, until proved otherwise.",
    floor = "damp lining",
    steps = {
        { kind = "guard", not_above = "250F", text = "while it is wet", source = "physics: water boils at 212 °F" },
        { kind = "ramp", to = "250F", per_hour = "100F", door = "crack", gives_off = "steam", caution = "steam scalds; a leak to the shell is likelier now: ground test first, one hand, dry floor", source = "common practice, no published source" },
        { kind = "hold", time = "1h", door = "crack", gives_off = "steam", source = "common practice, no published source" },
        { kind = "condition", by = "seen", text = "no steam or drops at the door", source = "common practice, no published source" },
        { kind = "condition", by = "measured", time = "30min", text = "output flat 30 min", source = "judgement of the trade" },
        { kind = "ramp", to = "500F", per_hour = "200F", door = "shut", source = "common practice, no published source" },
        { kind = "hold", time = "30min", source = "common practice, no published source" },
        { kind = "ramp", to = "150F", door = "shut", text = "heat off; insulation test when cold", source = "common practice, no published source" },
        { kind = "stop", text = "a ground-fault trip: dry it by outside heat first, never bypass the device", source = "judgement of the trade" },
        { kind = "stop", text = "a tingle, a smell of plastic or a display that jumps: unplug", source = "judgement of the trade" },
    },
}
