-- No heat, or heat that comes slowly: the power side first by what is seen and by ohms, unplugged; a sensor
-- that reads low looks the same from outside, so the cold sensor tests come before any heat.
return {
    name = "no-heat-or-slow",
    title = "Does not heat, or heats slowly",
    text = "The display stays at room temperature, the oven takes longer than on its own record, or it does "
        .. "not reach its temperature.",
    first = "Heat off for now. A chamber that shows cold may be hot: look through the door crack before more "
        .. "power.",
    words = {
        "heat", "heats", "heating", "cold", "slow", "slowly", "longer", "slower", "reach", "weak", "half",
        "power", "element", "nothing", "stuck", "stays",
    },
    told = {
        { "No heat at all", ["time-ratio-mid"] = "no-heat" },
        {
            "Nothing comes on: the display is dark",
            ["look-display-cold"] = "blank",
            ["time-ratio-mid"] = "no-heat",
        },
        { "Slow: a tenth to a quarter longer than it should take", ["time-ratio-mid"] = "r1.07-1.25" },
        { "Slow: half again as long, or more", ["time-ratio-mid"] = "r1.25-1.8" },
        { "Twice as long, or it never gets there", ["time-ratio-mid"] = "r>1.8" },
        { "Slow only near the top", ["time-ratio-shape"] = "only-late" },
    },
    run = function()
        -- The complaint itself: what was seen before the call, so nothing is heated for it.
        ask("time-ratio-mid", { from_memory = true, why = "What you have seen already will do." })
        ask("ask-onset")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
