return { name = "x", floor = "dry lining", steps = { { kind = "ramp", to = "400F" } } }
