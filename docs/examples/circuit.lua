-- Which extension cords may this oven be plugged into?
-- usage: ovenproof lua docs/examples/circuit.lua [CORD...]
local electrical = require "ovenproof.electrical"

-- An oven as its file has it (invented: Quarry Road Ovens, QR-3).
local oven = {
    name = "QR-3",
    supply = { volts = "120V", circuit = "15A" },
    elements = { { watts = "1300W", at = "120V" } },
    wiring = "single",
}

local cords = { ... }
if #cords == 0 then
    cords = { "10ft 14AWG", "50ft 16AWG", "25ft 18AWG" }
end
for _, words in ipairs(cords) do
    local found = electrical.circuit(oven, { extension = words })
    local line = "%-12s carries: %s, volts lost %.1f V: %s, power left %.0f %%"
    print(line:format(words, found.checks.extension, found.lost_V, found.checks.drop, 100 * found.power_left))
end
