-- Runs a case of the set: the rows of its log, healthy or faulty, and the log as text.

local here = arg[0]:match("^(.*)/[^/]*$") or "."
local run_physics = dofile(here .. "/physics.lua")

local make = {}

function make.write(path, text)
    local file = assert(io.open(path, "w"))
    file:write(text)
    file:close()
end

local function copy(from)
    local to = {}
    for key, value in pairs(from) do
        to[key] = value
    end
    return to
end

-- Seconds from cold to each temperature at rated supply, full on: the maker's own good run.
function make.record(set, couples, oven)
    local times, last = {}, 0
    local run = { plan = { { at = 0, to = oven.limit + 100 } }, seconds = 4 * 3600, volts = oven.volts, room = 24,
        every = 10, dt = 2 }
    local reached = false
    run_physics(couples, oven, { k = oven.k }, run, set.random(1), function(t, row)
        if not reached and row.temperature then
            for to = last + 5, math.floor(row.temperature), 5 do
                if to % 5 == 0 then
                    times[to - to % 5] = times[to - to % 5] or t
                end
            end
            last = math.max(last, math.floor(row.temperature) - math.floor(row.temperature) % 5)
            reached = row.temperature > oven.limit
        end
    end)
    times.highest = last
    return times
end

function make.marks(oven, times)
    local marks = {}
    for i, share in ipairs({ 0.3, 0.55, 0.78 }) do
        local to = math.floor(oven.limit * share / 10) * 10
        if times[to] then
            marks[#marks + 1] = { to = to, within = math.floor(times[to] * (1.12 + 0.03 * i) / 10 + 0.5) * 10 }
        end
    end
    return marks
end

local function plan_of(case, run, minutes_to_top)
    local kind = case.kind
    if kind == "hot restart" then
        run.start = case.room + 0.45 * (case.top - case.room)
    elseif kind == "door opened, heat off" then
        local at = 1.1 * minutes_to_top
        run.doors = { { at = at + 60, seconds = 25 } }
        run.off = { from = at, to = at + 150 }
    elseif kind == "setpoint by hand" then
        run.plan = { { at = 0, to = 0.35 * case.top }, { at = 0.4 * minutes_to_top, to = 0.6 * case.top },
            { at = 0.8 * minutes_to_top, to = 0.8 * case.top }, { at = 1.2 * minutes_to_top, to = case.top } }
    elseif kind == "fan cycling" then
        run.fan = true
    elseif kind == "shared feeder" then
        run.feeder = 0.015
    elseif kind == "supply 5 % low" then
        run.volts = 0.95 * case.oven.volts
    elseif kind == "supply 4 % high" then
        run.volts = 1.04 * case.oven.volts
    elseif kind == "cold room" then
        run.room = 9
    elseif kind == "light load" then
        run.load = 0.00003 * case.oven.rated
    end
end

local function run_of(case, times)
    local to_top = times[case.top] or times[times.highest]
    local seconds = math.min(1.3 * to_top + 1500, 10800)
    local run = { plan = { { at = 0, to = case.top } }, top = case.top, volts = case.volts, room = case.room,
        every = case.every, seconds = seconds * case.early, dt = case.oven.period < 2 and 1 or
            (case.every == 1 or case.every == 5) and 1 or 2 }
    plan_of(case, run, to_top)
    return run
end

-- The run with its fault or, unless `faulty`, without. start: another number to start chance from than the case's
-- own, or a source of chance.
function make.rows(set, couples, case, times, faulty, start)
    local oven, run = case.oven, run_of(case, times)
    local f = { k = oven.k }
    if faulty and case.fault then
        set.apply[case.fault](f, case.amount, oven, case.u, run)
    end
    if case.tweak then
        case.tweak(f, run)
    end
    local rows = {}
    local random = type(start) == "table" and start or set.random(start or case.seed)
    run_physics(couples, oven, f, run, random, function(t, row)
        if t >= case.late then
            row.t = t - case.late
            row.time = t
            rows[#rows + 1] = row
        end
    end)
    return rows
end

function make.good_run(set, couples, case, times)
    local good = copy(case)
    good.fault, good.kind, good.late, good.early, good.columns = nil, nil, 0, 1, case.columns
    good.volts = case.oven.volts * (case.volts / case.oven.volts < 1 and 1.006 or 0.995)
    if case.kind and case.kind:find("^supply") then
        good.kind = case.kind -- the good run was made in the same building
    end
    good.room, good.every = case.room + 2, math.min(case.every, 10)
    good.seed = case.seed + 5
    return make.rows(set, couples, good, times, false), good
end

local has = {
    all = { "setpoint", "output", "volts", "amps", "panel" }, output = { "setpoint", "output" },
    ["no-amps"] = { "setpoint", "output", "volts" }, amps = { "setpoint", "output", "amps" },
    bare = {},
}

local heads = { setpoint = "setpoint", output = "output_percent", volts = "supply_V", amps = "element_A",
    panel = "cold_junction" }

function make.text(case, rows, random)
    local fahrenheit = case.oven.fahrenheit
    local unit = fahrenheit and "_F" or "_C"
    local minutes = case.kind == "half minutes" or case.every >= 30 and case.number % 2 == 0
    local head = { minutes and "time_min" or "time_s", "temperature" .. unit }
    for _, name in ipairs(has[case.columns]) do
        head[#head + 1] = heads[name] .. ((name == "setpoint" or name == "panel") and unit or "")
    end
    local function degrees(c, resolution)
        local value = fahrenheit and c * 1.8 + 32 or c
        value = math.floor(value / resolution + 0.5) * resolution
        return string.format(resolution >= 1 and "%.0f" or "%.1f", value)
    end
    local lines = { "# invented for the tests", table.concat(head, ",") }
    for _, row in ipairs(rows) do
        local at = minutes and string.format("%g", case.kind == "half minutes" and
            math.floor(row.t / 30 + 0.5) * 0.5 or row.t / 60) or string.format("%g", row.t)
        local temperature = row.word or ""
        if row.temperature then
            temperature = degrees(row.temperature + (row.frozen and 0 or case.noise) * random.normal(),
                case.resolution)
        end
        local cells = { at, temperature }
        for _, name in ipairs(has[case.columns]) do
            local value = row[name]
            if name == "setpoint" then
                value = row.setpoint and degrees(row.shown_setpoint or row.setpoint, 0.1)
            elseif name == "panel" then
                value = degrees(row.panel, 0.1)
            elseif name == "output" then
                value = row.output and string.format("%.1f", row.output)
            elseif name == "volts" then
                value = string.format("%.1f", value > 0 and value + 0.002 * case.oven.volts * random.normal() or 0)
            elseif name == "amps" then
                value = string.format("%.2f", value > 0 and value * (1 + 0.004 * random.normal()) or 0)
            end
            cells[#cells + 1] = value or ""
        end
        lines[#lines + 1] = table.concat(cells, ",")
    end
    return table.concat(lines, "\n") .. "\n"
end

return make
