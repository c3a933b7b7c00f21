-- New elements of iron-chromium-aluminium: one long hot firing in air grows the oxide skin that protects them.
return {
    name = "element-oxide",
    title = "New FeCrAl elements: grow their oxide skin in the first firing",
    text = "For iron-chromium-aluminium elements in a dry oven; nickel-chromium does not need it. The oven is empty and clean.",
    floor = "dry lining",
    steps = {
        { kind = "ramp", to = "1000F", per_hour = "600F", door = "shut", gives_off = "binder", caution = "drawing oil on new wire smokes: air the room", source = "common practice, no published source" },
        { kind = "ramp", to = "1920F", per_hour = "600F", door = "shut", source = "common practice, no published source" },
        { kind = "hold", time = "7h", door = "shut", text = "fresh air through a check hole, never an open door at this heat", source = "a trade page after an element maker's handbook (seen): 1050 °C (1922 °F) for 7 to 10 h, with good air" },
        { kind = "ramp", to = "200F", door = "shut", text = "heat off, cool with the door shut", source = "common practice, no published source" },
        { kind = "stop", text = "a trip, a hot plug, a shell too hot to touch or a display that jumps: heat off", source = "judgement of the trade" },
    },
}
