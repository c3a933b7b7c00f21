-- Heat that comes slowly. How much and where the time is lost parts power, water and loss; then the
-- circuit, the cord and the load, which are no fault of the oven and cost a question each.
return {
    name = "slow",
    title = "Heats slowly",
    text = "It takes longer than on its own record, or it does not reach its temperature.",
    first = "Add no power and raise no setting to help it: a sensor that reads low looks just like a slow"
        .. " oven, and then the chamber is hotter than shown.",
    danger = 1,
    words = {
        "slow", "slowly", "slower", "heats slow", "slow to heat", "takes longer", "takes too long",
        "takes forever", "takes ages", "takes an hour", "takes hours", "takes all day",
        "takes twice as long", "longer than it used to", "longer than before", "used to take",
        "an hour to get there", "never reaches", "never gets there", "wont reach", "doesnt reach",
        "does not reach", "cant reach", "cannot reach", "not reach temperature",
        "wont get to temperature", "doesnt get to temperature", "doesnt make temperature",
        "wont get above", "wont go above", "wont go past", "doesnt go above", "stalls", "plateaus",
        "stuck at", "stops climbing", "tops out", "half power", "low power", "weak", "loses power",
        "only gets to", "not hot enough", "sluggish", "hardly heats", "barely heats", "coil dark",
        "coils dark", "coil is dark", "coils is dark", "out of steam", "one coil dark",
        "one element dark", "half the coils", "some coils", "only one element",
    },
    hints = { "longer", "time", "minutes", "hour", "hours", "reach", "lazy" },
    opening = "time-ratio-mid",
    heard = {
        {
            "twice as long", "takes twice", "double the time", "half power",
            ["time-ratio-mid"] = "r>1.8",
        },
        {
            "since new", "from new", "from the first day", "always been",
            ["ask-onset"] = "since-new",
        },
        {
            "slower every month", "slower every week", "little by little", "gradually",
            "getting slower", "over time",
            ["ask-onset"] = "gradual",
        },
        { "suddenly", "all of a sudden", "overnight", "since yesterday", ["ask-onset"] = "sudden" },
        {
            "since we moved", "since i moved", "after moving", "since the move",
            ["ask-onset"] = "after-move",
        },
        { "extension cord", "long cord", "extension lead", ["ask-cord"] = "long-or-thin-cord" },
    },
    told = {
        {
            "A little: up to a quarter longer than it should take",
            ["time-ratio-mid"] = "r1.07-1.25",
        },
        { "Half again as long", ["time-ratio-mid"] = "r1.25-1.8" },
        { "Twice as long, or it never gets there", ["time-ratio-mid"] = "r>1.8" },
        { "Slow only near the top", ["time-ratio-shape"] = "only-late" },
        { "Slow only below 400 °F, then as usual", ["time-ratio-shape"] = "early-then-parallel" },
        { "A little slower every month", ["ask-onset"] = "gradual" },
    },
    run = function()
        -- The complaint itself: what was seen before the call, so nothing is heated for it.
        ask("time-ratio-mid", { from_memory = true, why = "What you have seen already will do." })
        ask("ask-onset")
        -- What is no fault of the oven, before a cover comes off.
        ask("ask-load")
        ask("ask-cord")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        if answer_of("ask-cord") == "long-or-thin-cord" then
            conclude {
                text = "The long or thin cord takes power as well, and can melt where it is coiled: "
                    .. "straight into the outlet for the proof, whatever else is found.",
            }
        end
        conclude()
    end,
}
