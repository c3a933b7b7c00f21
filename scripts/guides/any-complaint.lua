-- Any complaint: every fault is open and the cheapest safe question comes first.
return {
    name = "any-complaint",
    title = "Any complaint",
    text = "For everything else, and for a complaint that nobody has put a name to yet: all faults are open.",
    words = {},
    told = {
        { "The display falls as it heats", ["watch-display-direction"] = "down" },
        { "The display jumps about", ["watch-display-direction"] = "jumps" },
        { "No heat at all", ["time-ratio-mid"] = "no-heat" },
        { "Slow: half again as long as on its record, or more", ["time-ratio-mid"] = "r1.25-1.8" },
        { "It climbs on past the setpoint", ["watch-above-setpoint"] = "climbs-on-at-full-slope" },
        { "It swings round the setpoint", ["watch-above-setpoint"] = "swings-more-than-10F" },
        { "Nothing comes on: the display is dark", ["look-display-cold"] = "blank" },
        { "A breaker or ground-fault device trips after a while", ["ask-trip-when"] = "after-5-60-min" },
        { "A tingle from the shell", ["ask-tingle"] = "yes" },
        { "A hot or browned plug", ["smell-look-heat-marks"] = "plug" },
        { "The work comes out over- or under-heated" },
    },
    run = function()
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
