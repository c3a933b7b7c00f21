-- A breaker, a ground-fault or an arc-fault device opens. When it trips parts the causes better than any
-- meter; then the circuit and what else is on it, before anything is looked for in the oven.
return {
    name = "trips-the-breaker",
    title = "Trips the breaker",
    text = "The breaker, the ground-fault or the arc-fault device opens when the oven is plugged in, "
        .. "switched on, heating or hot.",
    first = "Leave it unplugged. Do not close a breaker that tripped at once a second time; never fit a "
        .. "bigger breaker, lift the ground pin or go round a ground-fault device.",
    danger = 3,
    words = {
        "trips", "trip", "tripped", "tripping", "keeps tripping", "wont stop tripping", "stop tripping",
        "breaker", "trips the breaker", "breaker pops", "breaker flips", "breaker goes off",
        "throws the breaker", "throws breaker", "kicks the breaker", "kicks out", "pops the breaker",
        "breaker blows", "blows the breaker", "blew the breaker", "flips the breaker",
        "breaker wont reset", "breaker wont stay on", "gfci", "gfi", "rcd", "afci", "ground fault",
        "arc fault", "earth leakage", "outlet button pops", "test button pops", "outlet shuts off",
        "cuts the power", "knocks out the power", "knocks the power out", "lights go out",
        "loses the whole circuit", "bang when", "spark when", "sparks", "bang",
    },
    hints = { "pops", "circuit", "shuts" },
    opening = "ask-trip-when",
    heard = {
        {
            "as soon as", "the moment", "right away", "immediately", "at once", "instantly",
            ["ask-trip-when"] = "at-once",
        },
        {
            "after a while", "after an hour", "after half an hour", "after minutes",
            "after twenty minutes", "half way",
            ["ask-trip-when"] = "after-5-60-min",
        },
        {
            "first minute", "first few minutes", "first five minutes", "when cold", "only cold",
            ["ask-trip-when"] = "first-minutes-cold",
        },
        {
            "randomly", "at random", "now and then", "every now", "sometimes", "when relay clicks",
            ["ask-trip-when"] = "random-at-switching",
        },
        {
            "gfci", "gfi", "rcd", "ground fault", "earth leakage",
            ["ask-trip-device"] = "ground-fault",
        },
        { "afci", "arc fault", ["ask-trip-device"] = "arc-fault" },
    },
    told = {
        { "It trips at once, at plug-in or at switch-on", ["ask-trip-when"] = "at-once" },
        { "It trips in the first minutes, while cold", ["ask-trip-when"] = "first-minutes-cold" },
        { "It trips after five minutes to an hour", ["ask-trip-when"] = "after-5-60-min" },
        {
            "It trips now and then, when the heat switches",
            ["ask-trip-when"] = "random-at-switching",
        },
    },
    run = function()
        local when = ask("ask-trip-when")
        local device = ask("ask-trip-device")
        ask("ask-tingle") -- a trip and a tingle together are live metal
        if when == "at-once" then
            -- Nothing is switched on again to look: ohms at the plug, with no cover off.
            if ask("ohms-plug-pins") == "L-N<1" then
                conclude { fault = "short-circuit" }
            end
            ask("ohms-element-to-shell")
            ask("smell-look-heat-marks")
        elseif when == "first-minutes-cold" then
            -- Cold and early is damp until it is shown not to be.
            ask("look-steam")
            ask("ohms-element-to-shell")
        elseif when == "after-5-60-min" or when == "unknown" then
            -- The circuit and its other loads: no cover comes off for them.
            ask("ask-other-loads")
            ask("ask-breaker-rating")
            ask("ask-cord")
        elseif device == "arc-fault" then
            -- A loose joint is the honest cause of an arc-fault trip.
            ask("smell-look-heat-marks")
        end
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
