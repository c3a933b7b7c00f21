-- Writes the runs that tests/truth/watch.c judges as they grow: the ovens of the set, healthy in every situation and
-- with each fault that the watch must call, a row a second, without noise and without rounding.
-- usage: lua5.4 watch_runs.lua FOLDER [few | all] [main | held]
--
-- few: three ovens, the first two situations and the faults. held: the ovens that nothing was tuned to. The list of
-- what was written is FOLDER/runs.txt: kind, what it is called, oven, its description, room in degC, rated volts,
-- file; last the log's own scale.

local folder, all = arg[1], arg[2] ~= "few"
if not folder then
    io.stderr:write("usage: lua5.4 watch_runs.lua FOLDER [few | all] [main | held]\n")
    os.exit(2)
end
local here = arg[0]:match("^(.*)/[^/]*$") or "."
local root = here .. "/../.."
local set = dofile(here .. "/set.lua")(root, arg[3] or "main")
local make = dofile(here .. "/make.lua")
local run_physics = dofile(here .. "/physics.lua")
local couples = dofile(here .. "/couples.lua")(root .. "/reference/its90-emf-from-temperature.csv")

local function cell(value)
    return value and string.format("%.4g", value) or ""
end

-- Each situation changes the run; `top` is the time a healthy oven of this kind needs to the working temperature.
local situations = {
    { "plain", function() end },
    { "heat on after minutes", function(run) run.off = { from = 0, to = 240 } end },
    { "hot restart", function(run) run.start = 0.45 * run.plan[1].to end },
    { "hot, heat on after minutes", function(run)
        run.start, run.off = 0.6 * run.plan[1].to, { from = 0, to = 400 }
    end },
    { "door opened, heat off", function(run, top)
        run.doors, run.off = { { at = 1.1 * top + 60, seconds = 25 } }, { from = 1.1 * top, to = 1.1 * top + 150 }
    end },
    { "door opened, heat on", function(run, top) run.doors = { { at = 0.5 * top, seconds = 20 } } end },
    { "setpoint by hand", function(run, top)
        local to = run.plan[1].to
        run.plan = { { at = 0, to = 0.35 * to }, { at = 0.4 * top, to = 0.6 * to }, { at = 1.2 * top, to = to } }
    end },
    { "ramp", function(run, top)
        local to = run.plan[1].to
        run.plan = { { at = 0, from = run.room, to = to, per_s = (to - run.room) / (1.6 * top) } }
        run.seconds = 1.8 * top
    end },
    { "switched off at the end", function(run, top) run.off = { from = 1.1 * top, to = 1e9 } end },
    { "fan cycling", function(run) run.fan = true end },
    { "shared feeder", function(run) run.feeder = 0.015 end },
    { "supply 7 % low", function(run) run.volts = 0.93 * run.volts end },
    { "supply 4 % high", function(run) run.volts = 1.04 * run.volts end },
    { "cold room", function(run) run.room = 9 end },
    { "load", function(run, _, oven) run.load = 0.0008 * oven.rated end },
    { "damp lining", function(_, _, oven, f) f.water = 0.00006 * oven.rated end },
}

local function amount(fault, share)
    local row = set.faults[fault]
    return tonumber(row.mild) + share * (tonumber(row.severe) - tonumber(row.mild))
end

-- Faults that are there from the start; open comes in the fourth minute. A display that shows the number of the other
-- scale does so to the log alone: that the controller would then not heat far is left out.
local faults = {
    { "open", function(f) f.open_from = 200 end },
    { "wrong unit", function(f) f.celsius_as_f = true end },
    { "wrong unit, high", function(_, run) run.shows = function(c) return c * 1.8 + 32 end end },
    { "reversed", function(f) f.reversed = true end },
    { "shorted at the head", function(f) f.short_share = amount("sensor-shorted", 1) / 100 end },
    { "withdrawn, severe", function(f) f.back = amount("sensor-withdrawn", 1) / 100 end },
    { "no power", function(f) f.no_current_from = 0 end },
    { "half wave", function(f) f.half = true end },
    { "one of two out", function(f) f.ohms = 2 end },
}

local list = {}

local function add(kind, name, oven, times, room, change)
    local top = oven.limit * 0.8
    top = top - top % 5
    local to_top = times[top] or times[times.highest]
    local f = { k = oven.k }
    local run = { plan = { { at = 0, to = top } }, top = top, volts = oven.volts, room = room, every = 1, dt = 1,
        seconds = kind == "healthy" and math.min(1.2 * to_top + 900, 6000) or kind == "good" and 0.9 * to_top or 1500 }
    change(run, to_top, oven, f)
    local path = string.format("%s/%s-%s.csv", folder, oven.name, name:gsub("[^%w]+", "-"))
    local lines = { "time_s,temperature_C,setpoint_C,output_percent,supply_V,element_A,cold_junction_C" }
    run_physics(couples, oven, f, run, set.random(#list + 1), function(t, row)
        local shown = row.temperature and string.format("%.3f", (run.shows or tonumber)(row.temperature))
        lines[#lines + 1] = string.format("%d,%s,%s,%s,%s,%s,%s", t, shown or row.word or "", cell(row.setpoint),
            cell(row.output), cell(row.volts), cell(row.amps), cell(row.panel))
    end)
    make.write(path, table.concat(lines, "\n") .. "\n")
    list[#list + 1] = table.concat({ kind, name, oven.name, folder .. "/" .. oven.name .. ".lua",
        string.format("%g", run.room), string.format("%g", oven.volts), path, oven.fahrenheit and "F" or "C" }, "\t")
end

for i, oven in ipairs(set.ovens) do
    if all or i % 4 == 3 then
        local times = make.record(set, couples, oven)
        make.write(folder .. "/" .. oven.name .. ".lua", set.description(oven, make.marks(oven, times)))
        add("good", "good run", oven, times, 23, function(run) run.volts = 1.004 * run.volts end)
        for j, situation in ipairs(situations) do
            if all or j <= 2 then
                add("healthy", situation[1], oven, times, 19 + i % 6, situation[2])
            end
        end
        for _, fault in ipairs(faults) do
            if fault[1] ~= "one of two out" or #oven.elements == 2 and oven.wiring == "parallel" then
                add("fault", fault[1], oven, times, 19 + i % 6, function(run, _, _, f) fault[2](f, run) end)
            end
        end
    end
end
make.write(folder .. "/runs.txt", table.concat(list, "\n") .. "\n")
