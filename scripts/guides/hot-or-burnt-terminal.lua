-- Heat where no heat belongs: plug, cord, block, terminal, relay screw. A loose joint heats at that
-- joint, so the place is the answer; looked for unplugged and cold.
return {
    name = "hot-or-burnt-terminal",
    title = "Hot, browned or melted plug or terminal",
    text = "A smell of hot plastic, or a brown, soft, melted or very hot plug, cord, block or terminal.",
    first = "Unplug it now, by the cord if the plug is too hot, or at the breaker, and do not use it. A "
        .. "browned joint is cut back and replaced, never just tightened.",
    danger = 4,
    words = {
        "hot plug", "plug is hot", "plug gets hot", "plug melted", "melted plug", "plug burnt",
        "plug burned", "plug brown", "burnt plug", "outlet hot", "hot outlet", "outlet melted",
        "outlet burnt", "receptacle melted", "receptacle hot", "cord hot", "hot cord", "cord is warm",
        "cord melted", "melted", "melting", "burnt plastic", "burning plastic", "hot plastic",
        "smells like plastic", "smell of plastic", "plastic smell", "burning smell", "burnt smell",
        "smells burnt", "smells burning", "electrical smell", "electrical burning", "fishy smell",
        "scorched", "scorch mark", "browned", "brown terminal", "terminal brown", "terminal burnt",
        "terminal burned", "burnt terminal", "burned terminal", "terminal burnt off", "loose terminal",
        "loose wire", "loose connection", "loose screw", "wire burnt", "wire burned", "burnt wire",
        "wire came off", "lead burned off", "block burnt", "block melted", "charred", "blackened",
        "arcing", "arcs", "crackling", "sizzling", "sizzle", "smoke from panel", "smoke from plug",
        "smoke from box", "smoke from controller", "smoke from the back", "caught fire", "on fire",
        "flames",
    },
    hints = { "burnt", "burned", "terminal", "plug", "cord", "outlet", "brown", "wire", "smell" },
    opening = "smell-look-heat-marks",
    heard = {
        {
            "plug hot", "hot plug", "plug melted", "plug burnt", "plug brown", "outlet melted",
            ["smell-look-heat-marks"] = "plug",
        },
        {
            "terminal burnt", "burnt terminal", "brown terminal", "terminal brown", "block melted",
            "block burnt",
            ["smell-look-heat-marks"] = "block-or-terminal",
        },
        {
            "smoke from panel", "smoke from plug", "smoke from box", "smoke from controller",
            ["ask-smoke-where"] = "box-or-plug",
        },
        { "arcing", "arcs", "crackling", "sizzling", "sizzle", ["ask-clicks"] = "crackle" },
    },
    told = {
        { "The plug or the outlet is hot, brown or soft", ["smell-look-heat-marks"] = "plug" },
        {
            "A terminal or the block inside is brown or melted",
            ["smell-look-heat-marks"] = "block-or-terminal",
        },
        { "A smell of hot plastic, and no place found yet" },
        { "Smoke from the control box or the cord", ["ask-smoke-where"] = "box-or-plug" },
        { "The cord is warm along its length", ["ask-cord"] = "long-or-thin-cord" },
    },
    run = function()
        local place = ask("smell-look-heat-marks")
        if place ~= "plug" then
            ask("which-joint")
        end
        ask("ask-cord")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        if answer_of("smell-look-heat-marks") == "block-or-terminal" then
            conclude {
                text = "Leave it unplugged until the browned joint is cut back to bright metal and made "
                    .. "new, whatever else is found.",
            }
        end
        conclude()
    end,
}
