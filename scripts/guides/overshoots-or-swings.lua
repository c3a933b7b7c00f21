-- The temperature passes the setpoint and comes back, or swings about it. Even swings are settings,
-- ragged ones a joint or the sensor; one that does not come back is another complaint, and a dangerous
-- one.
return {
    name = "overshoots-or-swings",
    title = "Overshoots or swings",
    text = "It passes the setpoint and comes back, or it swings about the setpoint.",
    first = "Stay beside it while it is near its setpoint. If it does not turn back within 50 °F, pull "
        .. "the plug.",
    danger = 1,
    words = {
        "overshoots", "overshoot", "overshooting", "shoots past", "shoots over",
        "goes past and comes back", "goes over then", "passes the setpoint", "past setpoint",
        "over setpoint", "above setpoint", "over the setpoint", "above the setpoint", "swings",
        "swinging", "hunts", "hunting", "oscillates", "oscillating", "up and down", "cycles", "seesaws",
        "see saw", "wanders", "wont settle", "doesnt settle", "never settles", "wont hold steady",
        "not steady", "unsteady", "doesnt hold temperature", "wont hold temperature", "wont hold",
        "too much on low", "tuning", "autotune", "pid", "settings lost", "overshot",
    },
    hints = { "setpoint", "hold", "steady" },
    opening = "watch-above-setpoint",
    heard = {
        {
            "swings", "hunts", "oscillates", "up and down", "see saw", "wont settle",
            ["watch-above-setpoint"] = "swings-more-than-10F",
        },
        { "since new", "from new", "always been", ["ask-onset"] = "since-new" },
    },
    told = {
        { "It swings evenly, up and down", ["watch-above-setpoint"] = "swings-more-than-10F" },
        { "It shoots past once, then settles", ["watch-above-setpoint"] = "settles" },
        { "It climbs on and does not come back", guide = "will-not-stop" },
        { "It creeps up slowly above the setpoint", ["watch-above-setpoint"] = "climbs-slowly" },
        { "The number jumps rather than swings", ["watch-display-direction"] = "jumps" },
    },
    run = function()
        ask("watch-above-setpoint", { from_memory = true, why = "What you have seen already will do." })
        ask("ask-onset")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
