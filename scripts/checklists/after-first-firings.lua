-- After the first three firings: the screws that cycled hot and cold for the first time.
return {
    name = "after-first-firings",
    title = "After the first three firings",
    text = "Screws that cycle hot and cold settle in the first firings. Twenty minutes, unplugged and cold.",
    due = "Next: the half-year checklist at six months, 100 firings or 200 hot hours, whichever comes first; then yearly once two checks needed no turn.",
    who = "owner",
    cautions = {
        "Unplugged is the only dead: the plug in your pocket is the lock-out. The control switch and the relay are no disconnect.",
        "Wait until it is below {120F} before you open it.",
        "Fibre dust: mask, wet wipe, no dry sweeping.",
        "Local codes and a licensed electrician come before this sheet. Never bridge a protective device.",
    },
    steps = {
        { use = "marks" },
        { use = "torque", record = "screws that turned, and how far; photo of the block" },
        { use = "ground" },
        { use = "cold-ohms" },
        { use = "touch" },
        { id = "tip-coils-door", station = "Unplugged and cold", who = "owner", text = "Sensor tip in the open and tight, coils in their grooves, a paper strip held by the door on all four sides.", if_not = "set the tip to the drawing's depth; pin the coil; adjust hinge and latch", safety = true, source = "judgement of the trade" },
        { use = "settings", safety = false, text = "Read the settings against the record. Change nothing." , if_not = "ask before you change one" },
    },
}
