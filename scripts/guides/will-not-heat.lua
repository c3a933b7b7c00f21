-- No heat at all. A dark display is the outlet or the fuse; a lit one without heat is parted by what
-- asked for heat and what carried it. A chamber that only shows cold is the one trap, so the sensor is
-- tried by hand.
return {
    name = "will-not-heat",
    title = "Will not heat",
    text = "It is switched on and set, and the chamber stays cold, or the display is dark.",
    first = "Heat off for now. A chamber that shows cold may be hot: look through the door crack, do not "
        .. "reach in.",
    danger = 1,
    words = {
        "will not heat", "wont heat", "does not heat", "doesnt heat", "not heating", "no heat",
        "wont get hot", "not getting hot", "doesnt get hot", "does not get hot", "stopped heating",
        "quit heating", "wont warm", "not warming", "stays cold", "stone cold", "is cold", "still cold",
        "stays at room temperature", "stuck at room temperature", "coils dont glow", "elements dont glow",
        "no glow", "element dead", "element broke", "element burned out", "element is broken",
        "broken element", "burnt out element", "wont turn on", "will not turn on", "wont come on",
        "doesnt turn on", "wont start", "does not start", "doesnt start", "no power", "dead",
        "totally dead", "display blank", "screen blank", "blank display", "blank screen", "display dark",
        "nothing happens", "doesnt do anything", "lights on no heat", "open sensor", "sensor error",
        "sensor fault", "sensor open",
    },
    hints = { "heat", "cold", "element", "nothing", "power", "blank" },
    opening = "look-display-cold",
    implies = { ["time-ratio-mid"] = "no-heat" },
    heard = {
        {
            "display blank", "screen blank", "blank screen", "totally dead", "display dark",
            "blank display",
            ["look-display-cold"] = "blank",
        },
        {
            "open sensor", "sensor error", "sensor fault", "sensor open",
            ["read-error-code"] = "open-sensor",
        },
    },
    told = {
        { "Nothing comes on: the display is dark", ["look-display-cold"] = "blank" },
        {
            "The display shows the room and asks for heat, and the chamber stays cold",
            ["look-display-cold"] = "near-room",
        },
        {
            "It shows a sensor error or dashes",
            ["look-display-cold"] = "sensor-error",
            ["read-error-code"] = "open-sensor",
        },
        { "It worked yesterday and stopped in one moment", ["ask-onset"] = "sudden" },
        { "It has not heated since it was moved", ["ask-onset"] = "after-move" },
        { "It has not heated since somebody worked on it", ["ask-onset"] = "after-work-on-it" },
    },
    run = function()
        -- Dark or lit parts outlet and fuse from all the rest; it costs nothing.
        local shown = ask("look-display-cold", {
            from_memory = true,
            why = "A dark display points to the outlet or the fuse, a lit one to the heat side.",
        })
        if shown == "blank" then
            ask("lamp-outlet")
        else
            ask("look-run-state")
        end
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
