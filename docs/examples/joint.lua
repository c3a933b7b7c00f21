-- Joints of an invented oven: ovenproof lua docs/examples/joint.lua
local electrical = require "ovenproof.electrical"

local readings = { { "plug", "22mV" }, { "block", "96mV" }, { "relay", "25mV" } }
for _, row in ipairs(readings) do
    local found = electrical.joint { drop = row[2], current = "12A", at = "15A" }
    local heat = string.format("%5.0f mV %4.1f W", found.full_drop_mV, found.full_heat_W)
    print(string.format("%-8s %s at 15 A: %s", row[1], heat, found.grade))
end
print(string.format("half of each cycle missing, ac clamp: %.1f A of 15 A", electrical.half_wave(15, "ac")))
