-- The oven's own control fuse opens. How the glass looks tells a short from age; a black one is never
-- replaced before the short is found.
return {
    name = "blows-its-fuse",
    title = "Blows its fuse",
    text = "The small fuse of the controls opens: the display is dark although the outlet is alive.",
    first = "Unplug it before the fuse comes out. Same kind and rating only, never a bigger one; and if "
        .. "the glass is black or silvered, no new one before the short is found.",
    danger = 3,
    words = {
        "fuse", "fuses", "blows fuse", "blows its fuse", "blows fuses", "blew a fuse", "blew the fuse",
        "blown fuse", "fuse blown", "fuse blows", "fuse blew", "fuse pops", "popped fuse", "fuse keeps",
        "keeps blowing", "keeps blowing fuses", "eats fuses", "goes through fuses", "fuse black",
        "burned fuse", "fuse burned", "bad fuse", "replaced the fuse", "new fuse", "fuze",
    },
    hints = { "blows", "blew", "blown" },
    opening = "look-fuse",
    implies = { ["look-display-cold"] = "blank" },
    heard = {
        {
            "fuse black", "black fuse", "glass black", "black glass", "silver glass",
            ["look-fuse"] = "black-or-silver",
        },
        {
            "new fuse blows at once", "blows right away", "blew right away", "blows immediately",
            "blows at once",
            ["replace-fuse-once"] = "at-once",
        },
    },
    told = {
        { "It blew once, after a long time in use" },
        { "A new one blew at once", ["replace-fuse-once"] = "at-once" },
        { "A new one holds for hours, then blows", ["replace-fuse-once"] = "after-hours" },
        { "The glass is black or silvered", ["look-fuse"] = "black-or-silver" },
    },
    run = function()
        ask("look-fuse")
        ask("ask-onset")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
