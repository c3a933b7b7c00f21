-- A floor of fibre board: no cure and no water to drive out, but a binder that smokes once.
return {
    name = "board-floor",
    title = "Board floor: no cure, the binder burns off once",
    text = "Fibre board needs no cure. Its binder smells, may smoke, and gives off carbon monoxide: air the room.",
    floor = "fibre board",
    steps = {
        { kind = "ramp", to = "400F", per_hour = "400F", door = "crack", gives_off = "binder", caution = "smoke, smell and some carbon monoxide from the binder: windows open, nobody with weak lungs in the room", source = "a page of the glass trade on fibre (seen): vented, in an aired room, until about 1000 °F; rate: common practice, no published source" },
        { kind = "ramp", to = "1000F", per_hour = "400F", door = "crack", gives_off = "binder", source = "a page of the glass trade on fibre (seen): vented until about 1000 °F; rate: common practice, no published source" },
        { kind = "hold", time = "30min", door = "crack", gives_off = "binder", text = "the board turns brown and then white again", source = "common practice, no published source" },
        { kind = "condition", by = "seen", text = "no smoke and no smell of binder", source = "common practice, no published source" },
        { kind = "ramp", to = "1700F", per_hour = "600F", door = "shut", source = "common practice, no published source" },
        { kind = "hold", time = "30min", source = "common practice, no published source" },
        { kind = "ramp", to = "200F", door = "shut", text = "heat off, cool with the door shut", source = "common practice, no published source" },
        { kind = "stop", text = "a smell of plastic is no binder: heat off, look at the wiring", source = "judgement of the trade" },
        { kind = "stop", text = "a trip, a tingle, a hot plug or a display that jumps: heat off", source = "judgement of the trade" },
    },
}
