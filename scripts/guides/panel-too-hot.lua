-- The control panel runs too hot, or its fan never runs or never stops. What the fan does parts motor,
-- thermostat and what else heats the panel.
return {
    name = "panel-too-hot",
    title = "Panel too hot, or the fan never stops",
    text = "The control panel is too hot to keep a hand on, or its cooling fan never runs or never "
        .. "stops.",
    first = "Heat off and let it cool: a relay that is cooked fails stuck on. The fan may start by itself"
        .. " while the plug is in, so unplug it before fingers come near.",
    danger = 3,
    words = {
        "panel hot", "panel too hot", "hot panel", "panel is hot", "control box hot", "controls hot",
        "controller hot", "controller overheats", "cant touch panel", "burned my hand on the panel",
        "front panel hot", "panel gets hot", "fan never stops", "fan wont stop", "fan doesnt stop",
        "fan does not stop", "fan always on", "fan wont shut off", "fan runs all the time",
        "fan runs all night", "fan runs constantly", "fan never shuts off", "fan keeps running all night",
        "fan dead", "fan not running", "fan doesnt run", "fan does not run", "fan wont run",
        "fan never runs", "fan never comes on", "fan stopped", "fan quit", "fan wont start",
        "fan doesnt start", "fan doesnt come on", "fan broken", "fan noisy", "fan rattles", "fan squeals",
        "no fan", "fan seized", "vent blocked", "relay hot", "heat sink hot", "cuts out when hot",
        "quits after half an hour", "stops heating after", "works again when it cools",
        "works again after it cools", "works again cold", "fan thermostat", "panel cutout",
        "cutout trips",
    },
    hints = { "fan", "panel" },
    opening = "listen-fan",
    heard = {
        {
            "fan never stops", "fan wont stop", "fan doesnt stop", "fan always on",
            "fan runs all the time", "fan runs constantly",
            ["listen-fan"] = "always",
        },
        {
            "fan runs all night", "fan never shuts off",
            ["listen-fan"] = "always",
            ["ask-fan-while-off"] = "runs-cold-for-hours",
        },
        {
            "fan dead", "fan not running", "fan doesnt run", "fan never runs", "fan never comes on",
            "fan quit",
            ["listen-fan"] = "never",
        },
        {
            "panel too hot", "hot panel", "panel gets hot", "cant touch panel", "panel is hot",
            ["feel-panel"] = "too-hot-to-keep-hand",
        },
    },
    told = {
        { "The panel is too hot to keep a hand on", ["feel-panel"] = "too-hot-to-keep-hand" },
        { "The fan never runs, even with a hot panel", ["listen-fan"] = "never" },
        {
            "The fan never stops, even with a cold panel in a cool room",
            ["listen-fan"] = "always",
            ["ask-fan-while-off"] = "runs-cold-for-hours",
        },
        { "The fan runs by itself for a while after a firing", guide = "normal-things" },
        { "It stalls after half an hour and works again when it is cold" },
    },
    run = function()
        local fan = ask("listen-fan", { from_memory = true, why = "What you have heard already will do." })
        if fan == "always" then
            -- A fan on its own thermostat that runs for hours in the cold leaves one cause.
            if ask("ask-fan-while-off") == "runs-cold-for-hours" then
                conclude { fault = "fan-thermostat-misset" }
            end
        elseif fan == "never" then
            ask("feel-panel", { from_memory = true, why = "What you have felt already will do." })
        end
        ask("test-fan-thermostat")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
