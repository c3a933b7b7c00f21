-- Just unpacked, or moved. What shaking does is seen with a torch: the tip, the slab, coils, terminals,
-- the door.
return {
    name = "arrival-after-transport",
    title = "Just arrived, or moved",
    text = "It was shipped, carried or moved, and is to be used, or does not work since.",
    first = "Do not plug it in yet. Look first: tip in the open, floor slab seated, coils in their "
        .. "grooves, nothing loose, door even. If it came cold, let it stand a day in the room.",
    danger = 1,
    context = "after-transport",
    words = {
        "arrived", "just arrived", "came today", "delivered", "delivery", "unpacked", "unboxed",
        "out of the box", "out of the crate", "shipped", "shipping", "shipping damage", "freight",
        "in transit", "transport", "courier", "dropped", "was dropped",
        "knocked over", "knocked it over", "fell over", "fell off", "tipped over", "moved shop", "we moved",
        "i moved", "moved it", "after moving", "since moving", "since the move", "after the move",
        "after transport", "bought used", "second hand", "used oven", "rattles", "something loose",
        "rattling", "broken in the box", "new oven", "brand new",
    },
    hints = { "moved", "move", "new" },
    opening = "look-tip",
    told = {
        { "It has not been plugged in yet" },
        { "Something is loose or broken inside" },
        {
            "It does not heat since the move",
            ["time-ratio-mid"] = "no-heat",
            ["ask-onset"] = "after-move",
        },
        { "It reads or heats differently since the move", ["ask-onset"] = "after-move" },
    },
    run = function()
        ask("look-tip")
        ask("smell-look-heat-marks")
        ask("ohms-ground")
        ask("ohms-element")
        ask("ohms-element-to-shell")
        ask("look-display-cold")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
