-- The display is not the truth. A cold oven must show the room: what is wrong already then is the unit,
-- an offset or the cold junction; what is right cold and wrong hot is the type, the wires, the place or
-- the age.
return {
    name = "reads-wrong",
    title = "Reads wrong",
    text = "The display disagrees with a second thermometer, with the work or with the room, or it "
        .. "jumps.",
    first = "Until this is settled take the chamber for hotter than the display says: no load that can be"
        .. " spoiled, nobody away from it.",
    danger = 2,
    words = {
        "reads wrong", "reading wrong", "wrong reading", "wrong temperature", "reads low", "reads high",
        "reading low", "reading high", "reads too low", "reads too high", "degrees off", "degrees low",
        "degrees high", "degrees out", "is off by", "off by", "reads off", "display wrong",
        "display is off", "not accurate", "inaccurate", "doesnt match", "does not match", "doesnt agree",
        "disagrees", "dont agree", "different from", "second thermometer", "other thermometer",
        "my thermometer", "pyrometer", "cone", "room is", "overfired", "underfired", "over fired",
        "under fired", "work too soft", "work too hard", "parts too hot", "parts not hot enough", "jumps",
        "jumps around", "jumping around", "reading jumps", "display jumps", "erratic", "flickers",
        "bounces", "numbers jump", "celsius", "fahrenheit", "wrong when cold",
        "shows wrong room temperature", "drifted", "drifts", "calibration", "out of calibration",
        "display stuck", "display frozen", "stuck on one number", "wont move off", "wrong type",
        "thermocouple bad",
    },
    hints = { "wrong", "reads", "reading", "thermocouple", "sensor", "temperature", "display", "accurate" },
    opening = "look-display-cold",
    heard = {
        { "celsius", "wrong unit", ["look-display-cold"] = "other-unit" },
        {
            "jumps", "jumping around", "erratic", "flickers", "bounces",
            ["watch-display-direction"] = "jumps",
        },
        {
            "drifted", "drifts", "over months", "over the years", "little by little",
            ["ask-onset"] = "gradual",
        },
        { "since new", "from new", "always been", ["ask-onset"] = "since-new" },
        { "since moved", "after moving", "since the move", ["ask-onset"] = "after-move" },
    },
    told = {
        { "Wrong already when cold, by the same amount", ["look-display-cold"] = "off-5-to-60F" },
        { "It shows 20 to 27 where the room is 68 to 80", ["look-display-cold"] = "other-unit" },
        { "Right when cold, wrong when hot", ["look-display-cold"] = "near-room" },
        { "It jumps about", ["watch-display-direction"] = "jumps" },
        { "Off a little more every month", ["ask-onset"] = "gradual" },
        {
            "Wrong since somebody changed the sensor or the controller",
            ["ask-onset"] = "after-work-on-it",
        },
    },
    run = function()
        ask("look-display-cold")
        ask("ask-onset")
        local next = next_question()
        while next do
            ask(next)
            next = next_question()
        end
        conclude()
    end,
}
