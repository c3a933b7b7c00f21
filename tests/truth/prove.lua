-- Holds the heat-up proof against ovens that it was not built on: each oven heats up on its rated volts and on
-- nine tenths of them. The times of one run, logged as shops log (1 to 60 s, 0.1 to 1 degree, a cold or a warm
-- room) and carried to the other's volts and the usual room, must be those of the other, run in that room and
-- logged finely, within the uncertainty stated.
-- usage: lua5.4 prove.lua BINARY FOLDER [EVERY] [ovens=PERCENT] [marks=PERCENT] [why]
-- Prints the shares that hold; status 1 when one is below its floor. An oven holds when all its marks do.

local binary, folder, every = arg[1], arg[2], 1
local floors, why = { ovens = 0, marks = 0 }, false
for i = 3, #arg do
    local name, value = arg[i]:match("^(%w+)=([%w.]+)$")
    if name then
        floors[name] = tonumber(value)
    elseif arg[i] == "why" then
        why = true
    else
        every = tonumber(arg[i])
    end
end
if not folder then
    io.stderr:write("usage: lua5.4 prove.lua BINARY FOLDER [EVERY] [ovens=PERCENT] [marks=PERCENT] [why]\n")
    os.exit(2)
end
local here = arg[0]:match("^(.*)/[^/]*$") or "."
local root = here .. "/../.."
local json = dofile(here .. "/../json_reader.lua")
local make = dofile(here .. "/make.lua")
local new_set = dofile(here .. "/set.lua")
local couples = dofile(here .. "/couples.lua")(root .. "/reference/its90-emf-from-temperature.csv")

local function judged(log, description, options)
    local pipe = assert(io.popen(string.format("'%s' trace '%s' --oven '%s' --json %s 2>&1", binary, log,
        description, options)))
    local text = pipe:read("a")
    pipe:close()
    return assert(json.read(text), text)
end

local function list(value)
    return value.fields or value
end

local intervals, resolutions, rooms = { 1, 2, 5, 10, 20, 30, 60 }, { 0.1, 1, 0.1 }, { 14, 20, 24, 29, 33 }

local function turn(choices, number)
    return choices[number % #choices + 1]
end

-- One run at a share of the rated volts; fine: in the usual room, logged finely.
local function log_of(set, oven, times, number, share, fine, path)
    local turns = number + (share == 1 and 0 or 3)
    local case = { number = number, oven = oven, top = math.floor(0.85 * oven.limit),
        every = fine and 5 or turn(intervals, turns), resolution = fine and 0.1 or turn(resolutions, turns),
        noise = fine and 0.05 or 0.2, columns = turns % 2 == 0 and "all" or "no-amps",
        room = fine and 24 or turn(rooms, turns), volts = share * oven.volts, late = 0, early = 1,
        seed = 1000 * number + math.floor(100 * share) + (fine and 1 or 0) }
    local rows = make.rows(set, couples, case, times, false)
    make.write(path, make.text(case, rows, set.random(case.seed + 1)))
end

local count = { ovens = 0, ovens_held = 0, marks = 0, marks_held = 0, unproved = 0 }
local worst_off, sum_off, sum_U = 0, 0, 0

local function compare(name, from, to)
    local held = true
    for i, mark in ipairs(list(list(from).proof)) do
        local carried, truth = list(mark).at_supply, list(list(list(to).milestones)[i]).time_s
        carried = type(carried) == "table" and list(carried) or nil
        if not carried or type(carried.time_s) ~= "number" or type(truth) ~= "number" then
            count.unproved = count.unproved + 1
        else
            local off = carried.time_s / truth - 1
            local within = math.abs(carried.time_s - truth) <= carried.uncertainty_s
            count.marks, count.marks_held = count.marks + 1, count.marks_held + (within and 1 or 0)
            worst_off, sum_off = math.max(worst_off, math.abs(off)), sum_off + math.abs(off)
            sum_U = sum_U + carried.uncertainty_s / truth
            held = held and within
            if why then
                print(string.format("%-4s every %2.0f s, to %4.0f degC: %5.0f s carried, %5.0f s in truth: " ..
                    "%+5.1f %%, U %4.1f %%, n %.2f%s", name, list(list(from).input).interval_s, list(mark).to_C,
                    carried.time_s, truth, 100 * off,
                    100 * carried.uncertainty_s / truth,
                    list(mark).exponent, within and "" or "  OUT"))
            end
        end
    end
    return held
end

os.execute("mkdir -p '" .. folder .. "'")
local number = 0
for _, name in ipairs({ "main", "held" }) do
    local set = new_set(root, name)
    for _, oven in ipairs(set.ovens) do
        number = number + 1
        if number % every == 0 then
            local times = make.record(set, couples, oven)
            local description = folder .. "/" .. oven.name .. ".lua"
            make.write(description, set.description(oven, make.marks(oven, times)))
            local logs, first = {}, {}
            for i, share in ipairs({ 1, 0.9 }) do
                logs[i] = string.format("%s/%s-%d.csv", folder, oven.name, math.floor(100 * share))
                local fine = string.format("%s/%s-%d-fine.csv", folder, oven.name, math.floor(100 * share))
                log_of(set, oven, times, number, share, false, logs[i])
                log_of(set, oven, times, number, share, true, fine)
                first[i] = judged(fine, description, "")
            end
            local held = true
            for i = 1, 2 do
                local volts = list(list(first[3 - i]).proof_conditions).run_V
                local carried = judged(logs[i], description, string.format("--supply %.3fV", volts))
                held = compare(oven.name, carried, first[3 - i]) and held
            end
            count.ovens, count.ovens_held = count.ovens + 1, count.ovens_held + (held and 1 or 0)
        end
    end
end
local ovens, marks = 100 * count.ovens_held / count.ovens, 100 * count.marks_held / count.marks
print(string.format("ovens: %d of %d (%.0f %%) with every mark within the uncertainty stated", count.ovens_held,
    count.ovens, ovens))
print(string.format("marks: %d of %d (%.0f %%); off by %.1f %% in the mean, %.1f %% at most; stated %.1f %%; " ..
    "%d not carried", count.marks_held, count.marks, marks, 100 * sum_off / count.marks, 100 * worst_off,
    100 * sum_U / count.marks,
    count.unproved))
if ovens < floors.ovens or marks < floors.marks then
    os.exit(1)
end
