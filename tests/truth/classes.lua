-- What an observer who knows everything but the fault could not part, by the columns of the log. A group says
-- physics gives its members the same log; `unless` names a column that parts them. Two groups may share members.

local groups = {
    { "one current, no heat: the break may be anywhere",
        "output-dead element-open relay-open contactor-open door-switch-open cutout-tripped" },
    { "no supply: who opened it is not in the log",
        "element-to-ground neutral-open supply-dead breaker-overload breaker-weak ground-fault-nuisance " ..
        "arc-fault-nuisance short-circuit" },
    { "no supply, or the controls' fuse: volts part them",
        "control-fuse-open supply-dead element-to-ground neutral-open breaker-overload breaker-weak " ..
        "ground-fault-nuisance arc-fault-nuisance short-circuit", "volts" },
    { "a share of the power is lost: volts and amps part them",
        "element-aged element-wrong supply-low supply-wrong-voltage cord-drop plug-worn joint-loose-element " ..
        "joint-loose-block supply-shared element-branch-open relay-half-wave", "volts+amps" },
    { "the volts are low: without amps and heat off the why is open",
        "supply-low supply-wrong-voltage cord-drop plug-worn supply-shared" },
    { "the ohms are up", "element-aged element-wrong joint-loose-element joint-loose-block" },
    { "the ohms are far up", "element-branch-open element-wrong relay-half-wave" },
    { "joints and plugs flicker", "joint-loose-element joint-loose-block plug-worn cord-drop" },
    { "too much power: the ohms", "element-turns-shorted" },
    { "the display reads low or high by a curve",
        "sensor-wrong-type input-wrong-type sensor-drift sensor-leakage-hot extension-reversed " ..
        "extension-wrong-type input-offset cold-junction-error" },
    { "a curve that reads low looks like lost power without amps",
        "sensor-wrong-type input-wrong-type sensor-drift element-aged supply-low cord-drop units-mixed " ..
        "element-wrong plug-worn joint-loose-element joint-loose-block supply-wrong-voltage supply-shared", "amps" },
    { "more is lost at the top",
        "door-leak insulation-degraded extension-reversed extension-wrong-type sensor-leakage-hot sensor-drift " ..
        "cold-junction-error" },
    { "late loss looks like lost power where nothing electrical is logged",
        "door-leak insulation-degraded element-aged supply-low cord-drop plug-worn joint-loose-element " ..
        "joint-loose-block supply-shared sensor-drift sensor-wrong-type", "amps" },
    { "heat goes into something", "lining-damp load-heavy sensor-withdrawn" },
    { "heat comes and goes", "relay-overheated joint-loose-element joint-loose-block plug-worn" },
    { "the display swings", "bad-tuning sensor-near-element sensor-withdrawn" },
    { "the display scatters or jumps", "input-noise sensor-intermittent" },
    { "the display stands still or ran to an end", "input-failed sensor-open" },
    { "the display hardly rises", "sensor-shorted sensor-withdrawn" },
    { "no heat is called for, or none is seen to be", "not-running action-reversed setpoint-limited" },
    { "no heat, and the output is not in the log",
        "not-running action-reversed output-dead element-open relay-open contactor-open door-switch-open " ..
        "cutout-tripped", "output" },
    { "less output and less power are one without the output", "output-limited element-aged supply-low " ..
        "element-branch-open relay-half-wave supply-wrong-voltage element-wrong", "output" },
}

local function contains(text, word)
    return (" " .. text .. " "):find(" " .. word .. " ", 1, true) ~= nil
end

-- The set of faults that this log cannot part from `fault`, itself included, and how many they are.
return function(fault, columns)
    local held = {}
    for _, name in ipairs(columns) do
        held[name] = true
    end
    held["volts+amps"] = held.volts and held.amps
    local class, count = { [fault] = true }, 1
    for _, group in ipairs(groups) do
        if contains(group[2], fault) and not (group[3] and held[group[3]]) then
            for id in group[2]:gmatch("%S+") do
                if not class[id] then
                    class[id], count = true, count + 1
                end
            end
        end
    end
    return class, count
end
