-- It heats on past the setpoint, or while it is off. Whether heat goes on with no call parts the relay
-- side from the sensor side; from memory, so that nobody lets it run again to see.
return {
    name = "will-not-stop",
    title = "Will not stop heating",
    text = "It climbs on past the setpoint, or it heats while it is switched off.",
    first = "Pull the plug now: a relay stuck on does not obey the controller, and a switch on the panel "
        .. "may not stop it. Leave the door shut, clear what burns, and do not run it again to see.",
    danger = 4,
    words = {
        "wont stop", "will not stop", "doesnt stop", "not stop heating", "will not stop heating",
        "wont stop heating", "doesnt stop heating", "does not stop", "cant stop", "wont shut off",
        "wont turn off", "will not turn off", "doesnt shut off", "doesnt turn off", "wont switch off",
        "keeps heating", "keeps climbing", "keeps getting hotter", "kept climbing", "kept heating",
        "climbs past", "climbing past", "runs away", "ran away", "run away", "runaway", "out of control",
        "goes right past", "blows past", "went way over", "way over", "went way past",
        "way past setpoint", "far past", "way too hot", "far too hot", "hundreds over",
        "over temperature", "overheats", "overheated", "overheating", "too hot inside", "heats when off",
        "heats while off", "heats with switch off", "heating when off", "heats when turned off",
        "hot when off", "still heating", "heats by itself", "heats on its own", "stuck on", "always on",
        "elements stay on", "relay stuck", "stays on full", "glowing and off", "melted", "melted down",
    },
    hints = { "stop", "past", "over" },
    opening = "ask-heats-when-off",
    heard = {
        {
            "heats when off", "heats while off", "heating when off", "heats when turned off",
            "heats with switch off",
            ["ask-heats-when-off"] = "fully",
        },
        {
            "climbs past", "keeps climbing", "kept climbing", "runs away", "ran away",
            ["watch-above-setpoint"] = "climbs-on-at-full-slope",
        },
    },
    told = {
        {
            "It climbs on past the setpoint as fast as before",
            ["watch-above-setpoint"] = "climbs-on-at-full-slope",
        },
        { "It creeps on past the setpoint, slowly", ["watch-above-setpoint"] = "climbs-slowly" },
        {
            "It heats fully while the controller is off or asks for no heat",
            ["ask-heats-when-off"] = "fully",
        },
        { "It stays lukewarm while it is off", ["ask-heats-when-off"] = "slightly" },
        {
            "The display showed less than the chamber was",
            ["look-glow"] = "chamber-hotter-than-shown",
        },
    },
    run = function()
        -- Heat without a call is the relay or the contactor; with one, the sensor, a setting, the action.
        local heats = ask("ask-heats-when-off", {
            from_memory = true,
            why = "Heat without a call is the relay or the contactor; with one, the sensor or a setting.",
        })
        ask("watch-above-setpoint", {
            from_memory = true,
            why = "How it climbed tells a shorted relay from one that leaks; do not run it again.",
        })
        -- Unplugged, before anything is switched on again: the relay, then what stands behind it.
        local relay = ask("ohms-relay-output")
        if relay == "unknown" then
            relay = ask("ohms-plug-pins")
        end
        -- A relay that shorts welds the contactor behind it: both are looked at before either is replaced.
        if ask("ohms-contactor-poles") == "unknown" then
            ask("contactor-click", { from_memory = true })
        end
        if heats == "fully" and relay ~= ">100k" and relay ~= "as-certificate" then
            conclude() -- nobody plugs it in for more questions
        end
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
