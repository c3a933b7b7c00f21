-- Stood in the cold, in a damp room, or got wet. Water in the lining leaks current to the shell, so
-- ground and insulation come before any heat; then it is dried, slowly.
return {
    name = "damp-after-storage",
    title = "Damp after storage",
    text = "It stood unused for months, in a damp or cold place, or it got wet.",
    first = "Leave it unplugged until the ground is measured: damp makes the shell live if the ground is "
        .. "open. Never run it ungrounded, or past a ground-fault device, to dry it.",
    danger = 3,
    words = {
        "damp", "moist", "moisture", "humid", "wet", "got wet", "water", "rained on", "rain", "flood",
        "flooded", "leaked on", "garage all winter", "in storage", "stored", "storage",
        "stood for months", "stood all winter", "sat for months", "sat all winter", "sat unused",
        "not used for months", "not used for a year", "unused for months", "unused all winter",
        "not used since", "havent used it", "first time in months", "first time in a year",
        "after the winter", "basement", "shed", "unheated", "condensation", "steam", "steams", "steaming",
        "mold", "mould", "rust", "rusty",
    },
    hints = { "months", "winter", "years" },
    opening = "look-steam",
    heard = {
        { "steam", "steams", "steaming", ["look-steam"] = "yes" },
    },
    told = {
        { "It has not been switched on since" },
        { "It steams as it heats", ["look-steam"] = "yes" },
        { "It trips in the first minutes, while cold", ["ask-trip-when"] = "first-minutes-cold" },
        { "It is slow below 400 °F, then as usual", ["time-ratio-shape"] = "early-then-parallel" },
    },
    run = function()
        ask("ask-tingle")
        ask("ohms-ground")
        ask("ohms-element-to-shell")
        ask("ask-trip-when")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        local first = infer().causes[1]
        if first and (first.fault == "lining-damp" or first.fault == "lining-damp-leakage") then
            conclude {
                text = "Dry it first: days in a warm room, then a space heater or lamp at the open door. "
                    .. "Heat of its own only grounded, door open a crack, at most 50 °F an hour to "
                    .. "250 °F, held until it no longer steams.",
            }
        end
        conclude()
    end,
}
