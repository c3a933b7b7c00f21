-- Things that owners call about and that are no fault within a limit (reference/normal.csv). Each is told
-- with the limit past which it would be one; past it, or with anything else amiss, the questions go on.
return {
    name = "normal-things",
    title = "Is this normal?",
    text = "The fan runs while all is off, a first firing smokes, smells or browns, a degree off, clicks"
        .. " and ticks.",
    first = "Smoke or a smell from the plug, the cord or the control box is never normal: pull the plug.",
    danger = 0,
    words = {
        "normal", "is it normal", "is this normal", "supposed to", "should it", "is that ok",
        "is this ok", "fan runs by itself", "fan runs when off", "fan runs while off", "fan on when off",
        "fan still running", "fan keeps running", "fan keeps going", "fan comes on by itself",
        "fan comes on when off", "fan starts by itself", "fan runs after", "fan stays on",
        "fan on by itself", "fan running with everything off", "fan running and off", "first firing",
        "first fire", "first burn", "first heat", "first time smoke", "smokes", "smoke", "smoking",
        "smoky", "smells", "smell", "stinks", "fumes", "turned brown", "went brown", "browning",
        "brown inside", "discolored", "discoloured", "turned grey", "turned gray", "stained",
        "a degree off", "degree off", "couple of degrees", "few degrees", "a degree or two",
        "two degrees", "one degree", "1 degree", "2 degrees", "clicks", "clicking", "click", "ticks",
        "ticking", "tick", "pings", "pinging", "creaks", "hums", "humming", "noise",
    },
    hints = { "ok", "fine", "worry", "worried" },
    opening = "ask-odd-thing",
    heard = {
        { "fan", ["ask-odd-thing"] = "fan-while-off" },
        {
            "brown", "browning", "discolored", "discoloured", "turned grey", "turned gray",
            ["ask-odd-thing"] = "browning",
        },
        { "degree", "degrees", ["ask-odd-thing"] = "off-the-setpoint" },
        {
            "clicks", "ticks", "pings", "creaks", "click", "tick",
            ["ask-odd-thing"] = "clicks-or-ticks",
        },
        -- Last, so that it leads where a line tells of something else as well: it may be what burns.
        {
            "smoke", "smell", "stinks", "fumes", "smoky",
            ["ask-odd-thing"] = "smoke-or-smell",
        },
    },
    told = {
        { "The cooling fan runs by itself while all is off", ["ask-odd-thing"] = "fan-while-off" },
        { "Smoke or a smell", ["ask-odd-thing"] = "smoke-or-smell" },
        { "Something turned brown or grey", ["ask-odd-thing"] = "browning" },
        { "It stands a degree or two off the setpoint", ["ask-odd-thing"] = "off-the-setpoint" },
        { "It clicks or ticks", ["ask-odd-thing"] = "clicks-or-ticks" },
    },
    run = function()
        local what = ask("ask-odd-thing")
        if what == "fan-while-off" then
            local runs = ask("ask-fan-while-off")
            if runs == "runs-while-warm" then
                normal("fan-runs-while-off")
            elseif runs == "runs-cold-for-hours" then
                conclude { fault = "fan-thermostat-misset" }
            end
        elseif what == "smoke-or-smell" then
            local where = ask("ask-smoke-where")
            -- The place is looked at before smoke is called normal.
            if where == "chamber-first-firings" and ask("smell-look-heat-marks") == "none" then
                normal("first-firing-smoke")
            end
        elseif what == "browning" then
            -- Binder browns on the first firings only.
            local where, marks = ask("ask-smoke-where"), ask("smell-look-heat-marks")
            if (where == "chamber-first-firings" or where == "none") and marks == "none" then
                normal("first-firing-browning")
            end
        elseif what == "off-the-setpoint" and ask("watch-swing") == "within-3F" then
            normal("degree-off-setpoint")
        elseif what == "clicks-or-ticks" then
            local how = ask("ask-clicks")
            if how == "none-or-with-the-heat" then
                normal("clicks-with-the-heat")
            elseif how == "ticks-heating-or-cooling" then
                normal("ticks-as-it-cools")
            end
        end
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
