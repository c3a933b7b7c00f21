-- Somebody felt current. The ground wire is what makes a leak harmless, so it is measured before what
-- leaks.
return {
    name = "tingle-or-shock",
    title = "A tingle or a shock",
    text = "Somebody felt a tingle or a shock from the oven, a tool in it, or the work.",
    first = "Do not touch the oven again, nor a tap, pipe or machine with it. Switch it off at the "
        .. "breaker, then unplug it. Anybody who had a real shock is seen by a doctor today.",
    danger = 4,
    words = {
        "tingle", "tingles", "tingling", "shock", "shocks", "shocked", "shocked me", "electric shock",
        "got a shock", "gave me a shock", "zap", "zapped", "zaps", "buzz when i touch",
        "buzzing when i touch", "current when i touch", "live shell", "shell is live", "case is live",
        "bites", "bit me", "feel electricity", "feel a buzz", "feel current", "electrocuted", "jolt",
    },
    hints = { "touch" },
    opening = "ask-tingle",
    implies = { ["ask-tingle"] = "yes" },
    told = {
        { "A tingle from the shell or the door" },
        { "A shock from a tool or the work inside the chamber", ["door-lamp-test"] = "stays-on" },
        { "It came after storage, rain or washing" },
        { "It trips a ground-fault device as well", ["ask-trip-device"] = "ground-fault" },
    },
    run = function()
        ask("ohms-ground")
        ask("ohms-element-to-shell")
        ask("outlet-tester")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
