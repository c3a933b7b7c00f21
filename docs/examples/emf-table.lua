-- usage: ovenproof lua emf-table.lua TYPE CELSIUS...
-- Millivolts of a thermocouple at the given temperatures, and what a reversed one would show there.
local thermocouple = require "ovenproof.thermocouple"
local text = require "ovenproof.text"

local type_letter = ...
for i = 2, #arg do
    local at = tonumber(arg[i]) or error(arg[i] .. " is not a number of degrees Celsius")
    local wrong = thermocouple.misread { sensor = type_letter, at = at, reversed = true }
    local shows = wrong.reads_C and text.temperature(wrong.reads_C) or wrong.display
    local emf = thermocouple.emf(type_letter, at)
    print(string.format("%-24s %9.4f mV   reversed: %s", text.temperature(at), emf, shows))
end
