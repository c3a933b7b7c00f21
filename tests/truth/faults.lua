-- What each fault does to the oven of physics.lua: f is changed by the amount, in the unit of faults.csv.
-- Physics where there is any; the rest is what the trade sees (common practice, no published source).

local function minute(key, also)
    return function(f, amount)
        f[key] = 60 * amount
        for name, value in pairs(also or {}) do
            f[name] = value
        end
    end
end

local function head(f, rise)
    f.head = rise / 790
end

local no_current = minute("no_current_from")
local tripped = minute("dead_from", { dead_volts = true })

local wrong_type = { K = { "N", "J" }, N = { "K", "S" }, S = { "R", "B" } }
local wrong_input = { K = { "N", "J" }, N = { "K", "R" }, S = { "R", "B" } }

local function joint(f, amount)
    f.joint_ohm, f.flicker = amount, 1
    f.drop_rate, f.drop_s, f.drop_after = 90 * amount, 9, 300
end

return {
    ["sensor-reversed"] = function(f) f.reversed = true end,
    ["extension-reversed"] = function(f, amount) f.extension_reversed = true; head(f, amount) end,
    ["sensor-open"] = minute("open_from"),
    ["sensor-intermittent"] = function(f, amount) f.drops_per_h = amount end,
    ["sensor-shorted"] = function(f, amount) f.short_share = amount / 100 end,
    ["sensor-leakage-hot"] = function(f, amount) f.leak = amount end,
    ["sensor-drift"] = function(f, amount) f.gain = 1 - amount / 100 end,
    ["sensor-wrong-type"] = function(f, _, oven, u)
        f.sensor = wrong_type[oven.tc][u < 0.5 and 1 or 2]
        f.extension = oven.tc
    end,
    ["input-wrong-type"] = function(f, _, oven, u) f.input = wrong_input[oven.tc][u < 0.5 and 1 or 2] end,
    ["extension-wrong-type"] = function(f, _, oven, u)
        f.extension = u < 0.5 and (oven.tc == "K" and "N" or "K") or "copper"
        head(f, 40)
    end,
    ["sensor-withdrawn"] = function(f, amount) f.back = amount / 100 end,
    ["sensor-near-element"] = function(f, amount) f.sees_element = 0.03 + amount / 100 end,
    ["input-noise"] = function(f, amount) f.noise = amount end,
    ["input-offset"] = function(f, amount) f.offset = amount end,
    ["units-mixed"] = function(f) f.celsius_as_f = true end,
    ["setpoint-limited"] = function(f, amount, _, _, run) f.setpoint_share = run.top * (1 - amount / 100) end,
    ["output-limited"] = function(f, amount) f.cap = amount / 100 end,
    ["action-reversed"] = function(f) f.action_reversed = true end,
    ["not-running"] = minute("idle_from"),
    ["bad-tuning"] = function(f, amount) f.band, f.ti = amount / 100, amount / 100 end,
    ["input-failed"] = minute("frozen_from"),
    ["cold-junction-error"] = function(f, amount) f.cold_junction_share = -amount / 12 end,
    ["output-dead"] = no_current, ["element-open"] = no_current, ["relay-open"] = no_current,
    ["contactor-open"] = no_current, ["door-switch-open"] = no_current, ["cutout-tripped"] = no_current,
    ["element-branch-open"] = function(f, _, oven)
        f.ohms = #oven.elements / (#oven.elements - 1)
    end,
    ["element-aged"] = function(f, amount) f.ohms = 1 + amount / 100 end,
    ["element-wrong"] = function(f, amount) f.ohms = amount / 100 end,
    ["element-turns-shorted"] = function(f, amount) f.ohms = 1 - amount / 100 end,
    ["supply-low"] = function(f, amount) f.volts = 1 - amount / 100 end,
    ["supply-wrong-voltage"] = function(f, _, _, u) f.volts = u < 0.5 and 208 / 240 or 0.5 end,
    ["supply-shared"] = function(f, amount) f.shared, f.shared_from = amount / 100, 800 end,
    ["cord-drop"] = function(f, amount) f.line_ohm = amount end,
    ["plug-worn"] = function(f, amount)
        f.line_ohm, f.drop_rate, f.drop_s = amount, 20 * amount, 3
    end,
    ["relay-shorted"] = minute("stuck_from"),
    ["relay-half-wave"] = function(f) f.half = true end,
    ["relay-leaky"] = function(f, amount) f.relay_leak = amount / 100 end,
    ["relay-overheated"] = minute("hot_drops_from", { drop_rate = 40, drop_after = 0 }),
    ["joint-loose-element"] = joint, ["joint-loose-block"] = joint,
    ["element-to-ground"] = tripped, ["neutral-open"] = tripped, ["supply-dead"] = tripped,
    ["breaker-overload"] = tripped, ["breaker-weak"] = tripped, ["ground-fault-nuisance"] = tripped,
    ["arc-fault-nuisance"] = tripped, ["short-circuit"] = tripped,
    ["control-fuse-open"] = minute("dead_from"),
    ["door-leak"] = function(f, amount) f.gap_m2 = amount * 1e-4 end,
    ["insulation-degraded"] = function(f, amount) f.k = (f.k or 1) * (1 + amount / 100) end,
    ["lining-damp"] = function(f, amount) f.water = amount end,
    ["load-heavy"] = function(f, amount) f.load = amount end,
}
