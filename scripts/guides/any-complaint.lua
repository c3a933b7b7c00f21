-- Any complaint: one entry question sorts it to the guide that knows it; what fits none stays here, where
-- every fault is open and the cheapest safe question comes first.
return {
    name = "any-complaint",
    title = "Any complaint",
    text = "For everything else, and for a complaint that nobody has put a name to yet: all faults are "
        .. "open.",
    words = {},
    told = {
        { "Somebody felt a tingle or a shock", guide = "tingle-or-shock" },
        { "It does not stop heating, or heats while off", guide = "will-not-stop" },
        {
            "A plug or terminal is hot, brown or melted, or it smells of plastic",
            guide = "hot-or-burnt-terminal",
        },
        { "The display falls as it heats, or shows a minus number", guide = "reads-backwards" },
        { "A breaker, ground-fault or arc-fault device trips", guide = "trips-the-breaker" },
        { "Its own fuse blows", guide = "blows-its-fuse" },
        { "The panel is too hot, or the fan never runs or never stops", guide = "panel-too-hot" },
        { "It is damp, or stood unused for months", guide = "damp-after-storage" },
        { "No heat at all, or a dark display", guide = "will-not-heat" },
        { "Slow, or it does not reach its temperature", guide = "slow" },
        { "It overshoots or swings", guide = "overshoots-or-swings" },
        { "The reading is wrong, or jumps", guide = "reads-wrong" },
        { "It has just arrived, or was moved", guide = "arrival-after-transport" },
        {
            "Is it normal? The fan by itself, first smoke, a degree off, clicks",
            guide = "normal-things",
        },
        { "Something else" },
    },
    run = function()
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
