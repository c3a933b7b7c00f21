-- The sets of cases: which oven, what is wrong and how badly, what run, what the log holds, what stands beside
-- it. Nothing here is drawn anew between two runs: case n is always the same case.
-- "main" is there to work with; "held" (other ovens, other draws) shows whether what was learned holds elsewhere:
-- read its score, never its cases.

local here = arg[0]:match("^(.*)/[^/]*$") or "."
local new_random = dofile(here .. "/random.lua")
local ovens = dofile(here .. "/ovens.lua")
local apply = dofile(here .. "/faults.lua")

local function rows_of(path)
    local names, rows = nil, {}
    for line in io.lines(path) do
        if not line:find("^#") then
            local fields, at = {}, 1
            while at <= #line + 1 do
                local text
                if line:sub(at, at) == '"' then
                    local from = at + 1
                    repeat
                        at = line:find('"', at + 1, true)
                        if line:sub(at + 1, at + 1) == '"' then
                            at = at + 1
                        else
                            break
                        end
                    until false
                    text, at = line:sub(from, at - 1), at + 2
                else
                    local comma = line:find(",", at, true) or #line + 1
                    text, at = line:sub(at, comma - 1), comma + 1
                end
                fields[#fields + 1] = text
            end
            if names then
                local row = {}
                for i, name in ipairs(names) do
                    row[name] = fields[i]
                end
                rows[#rows + 1] = row
            else
                names = fields
            end
        end
    end
    return rows
end

local needs_part = { ["contactor-open"] = "contactor", ["door-switch-open"] = "door_switch",
    ["cutout-tripped"] = "panel_cutout", ["control-fuse-open"] = "control_fuse" }

local healthy_kinds = { "plain", "hot restart", "door opened, heat off", "setpoint by hand", "half minutes",
    "fan cycling", "shared feeder", "supply 5 % low", "plain", "supply 4 % high", "cold room", "light load" }

local column_kinds = { "all", "all", "no-amps", "bare", "output", "output", "amps" }
local intervals = { 1, 2, 5, 10, 10, 30, 60 }

-- How long this oven needs to `to`, from a table that the caller fills (its own good run).
local function draw(number, oven, random)
    local case = { number = number, oven = oven }
    local top = oven.limit * random.between(0.72, 0.9)
    case.top = top - top % 5
    case.every = random.pick(intervals)
    case.resolution = random.pick({ 0.1, 0.1, 1 })
    case.columns = random.pick(column_kinds)
    case.baseline = random.uniform() < 0.4
    case.noise = random.between(0.05, 0.3)
    case.room = random.between(17, 28)
    case.volts = oven.volts * random.between(0.985, 1.015)
    case.late = random.uniform() < 0.1 and random.between(20, 180) or 0
    case.early = random.uniform() < 0.12 and random.between(0.5, 0.8) or 1
    return case
end

local function fits(oven, fault)
    local part = needs_part[fault]
    if part and not oven.parts:find(part) then
        return false
    end
    return fault ~= "element-branch-open" or oven.wiring == "parallel"
end

local sets = {
    main = { start = 4, seed = 7919, healthy = 24, amounts = { 0.15, 0.5, 0.9 } },
    held = { start = 71, seed = 104729, healthy = 24, amounts = { false, false } },
}

return function(root, name)
    name = name or "main"
    local plan = sets[name]
    local faults, by_id = {}, {}
    for _, row in ipairs(rows_of(root .. "/reference/faults.csv")) do
        by_id[row.id] = row
        if row.trace ~= "never" then
            faults[#faults + 1] = row
        end
    end
    local list, random, turn = {}, new_random(plan.start), 0
    local made = {}
    for i, row in ipairs(ovens.rows[name]) do
        made[i] = ovens.oven_of(row, random, name == "held")
    end
    local function next_oven(fault)
        repeat
            turn = turn + 1
        until not fault or fits(made[(turn - 1) % #made + 1], fault)
        return made[(turn - 1) % #made + 1]
    end
    for round, share in ipairs(plan.amounts) do
        for _, row in ipairs(faults) do
            local case = draw(#list + 1, next_oven(row.id), random)
            local u = share or random.uniform()
            local low, high = tonumber(row.mild), tonumber(row.severe)
            case.fault, case.u, case.round = row.id, u, round
            case.amount = low + u * (high - low)
            list[#list + 1] = case
        end
        for i = 1, plan.healthy do
            local case = draw(#list + 1, next_oven(), random)
            case.kind = healthy_kinds[(i - 1) % #healthy_kinds + 1]
            list[#list + 1] = case
        end
    end
    for _, case in ipairs(list) do
        case.seed = case.number * plan.seed
    end
    return { name = name, cases = list, ovens = made, faults = by_id, apply = apply, random = new_random, fits = fits,
        description = ovens.description }
end
