-- A hand-held thermometer with a type K probe pushed in beside the oven's own tip, oven held steady.
-- Widths marked judgement are what a careful person reaches in a small oven; put your own in their place.
return {
    name = "a probe beside the tip",
    note = "widths marked judgement are to be replaced by your own",
    inputs = {
        { name = "probe, special limits", stands_for = "reference", shape = "rectangular",
          width = "astm-e230-special", source = "ASTM E230/E230M, new wire" },
        { name = "hand-held thermometer", stands_for = "reference", shape = "rectangular", width = "2F",
          source = "judgement: its data sheet says" },
        { name = "probe and tip in two places", shape = "rectangular", width = "6F",
          source = "judgement: a finger apart in a small chamber, door shut" },
        { name = "oven not quite steady", shape = "rectangular", width = "2F",
          source = "judgement: within 2 degF over the readings" },
        { name = "heat lost along the probe", shape = "rectangular", width = "0.2%",
          source = "judgement: ten diameters deep or more" },
    },
}
