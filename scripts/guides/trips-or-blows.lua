-- A breaker, a ground-fault device or the oven's own fuse opens. When it trips parts the causes better than
-- any meter: at once, cold in the first minutes, after a while, at random.
return {
    name = "trips-or-blows",
    title = "Trips the breaker or blows its fuse",
    text = "The breaker, the ground-fault device or the control fuse opens when the oven is plugged in, "
        .. "switched on or hot.",
    first = "Leave it unplugged. Do not close a breaker that tripped at once a second time, and never fit a "
        .. "bigger fuse or breaker.",
    words = {
        "trips", "trip", "tripped", "breaker", "fuse", "blows", "blew", "blown", "gfci", "ground-fault",
        "short", "bang", "spark", "shuts", "pops",
    },
    told = {
        { "It trips at once", ["ask-trip-when"] = "at-once" },
        { "It trips in the first minutes, while cold", ["ask-trip-when"] = "first-minutes-cold" },
        { "It trips after five minutes to an hour", ["ask-trip-when"] = "after-5-60-min" },
        { "It trips now and then, when the heat switches", ["ask-trip-when"] = "random-at-switching" },
        {
            "No breaker trips, but the oven's own fuse is blown and the display is dark",
            ["ask-trip-when"] = "no-trip",
            ["ask-trip-device"] = "none-trips",
            ["look-display-cold"] = "blank",
        },
    },
    run = function()
        if ask("ask-trip-when") == "no-trip" then
            ask("look-fuse")
        else
            ask("ask-trip-device")
        end
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
