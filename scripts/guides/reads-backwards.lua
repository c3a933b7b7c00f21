-- The display falls while the oven heats. One crossing shows by hand and without heat; two crossings hide
-- from that test and are found by looking at both joints.
return {
    name = "reads-backwards",
    title = "Reads backwards",
    text = "The display falls as the oven heats, or shows a minus number or an error once it is warm; or"
        .. " the sensor wires were swapped and the reading is still not to be trusted.",
    first = "Heat off now, and leave it off: while the display falls the controller keeps calling for "
        .. "full heat.",
    danger = 4,
    words = {
        "backwards", "backward", "reverse", "in reverse", "wrong way", "wrong way round", "opposite way",
        "display goes down", "display falls", "display drops", "reading goes down", "reading falls",
        "reading drops", "temperature goes down when heating", "temperature drops when heat",
        "goes down when it heats", "goes down as it heats", "falls when it heats", "falls as it heats",
        "drops when it heats", "drops as it heats", "goes down instead of up",
        "drops instead of climbing", "counts down", "goes negative", "negative", "minus", "minus number",
        "minus sign", "below zero", "goes below", "polarity", "sensor wires crossed", "wires swapped",
        "swapped wires", "swapped sensor wires", "swapped the wires", "crossed wires", "under range",
        "underrange", "number goes down", "numbers go down", "getting hotter display colder",
        "hotter it gets lower", "lower the hotter",
    },
    hints = { "falls", "drops", "down", "swapped", "crossed" },
    opening = "warm-tip",
    implies = { ["watch-display-direction"] = "down" },
    heard = {
        { "minus", "negative", "below zero", "under range", ["read-error-code"] = "under-range" },
    },
    told = {
        { "The display falls as it heats" },
        {
            "It fell before, somebody swapped the sensor wires, and now it rises",
            ["watch-display-direction"] = "up",
            ["ask-onset"] = "after-work-on-it",
        },
        {
            "It goes to a minus number or an error once it is warm",
            ["read-error-code"] = "under-range",
        },
        {
            "It is new or was rewired, and reads backwards from the first day",
            ["ask-onset"] = "since-new",
        },
    },
    run = function()
        -- The same fall without any heat: a warm hand on the tip.
        if ask("warm-tip") == "rises" then
            doubt("watch-display-direction") -- right by hand: one crossing is out, two are not
        end
        -- Which joint: a crossing at the head that is cured at the controller becomes a double one.
        ask("look-wire-colours")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        local first = infer().causes[1]
        if first and first.fault == "sensor-reversed" then
            conclude {
                text = "Crossed once, all ends at 75 °F, it shows "
                    .. reading { tip = "150F", panel = "75F", reversed = true }
                    .. " at 150 °F, "
                    .. reading { tip = "200F", panel = "75F", reversed = true }
                    .. " at 200 °F, "
                    .. reading { tip = "300F", panel = "75F", reversed = true }
                    .. " at 300 °F.",
            }
        elseif first and first.fault == "extension-reversed" then
            conclude {
                text = "Crossed twice, block at 160 °F, panel at 100 °F: it shows "
                    .. reading { tip = "1500F", head = "160F", panel = "100F", extension_reversed = true }
                    .. " at a true 1500 °F.",
            }
        end
        conclude()
    end,
}
