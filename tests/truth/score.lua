-- Holds `trace` against ovens that it was not built on.
-- usage: lua5.4 score.lua BINARY FOLDER [all | EVERY] [why] [set=main|held] [good=case|none|all]
--                         [within=PERCENT] [missed=N] [alarms=N]
-- Writes the logs and descriptions into FOLDER and prints the score. EVERY: each so many-th case only. The
-- exit status is 1 when a floor is missed. `why` prints each case that is wrong. good: whether a good run of the
-- same oven stands beside the log, as the case has it, never or always.
-- within: the first cause is one that this log cannot part from the truth; a case that lies less than
-- `least_seen` standard deviations from the healthy twin may also be called healthy.

local binary, folder, which = arg[1], arg[2], arg[3] or "all"
local floors, why = { set = "main", good = "case" }, false
for i = 4, #arg do
    local name, value = arg[i]:match("^(%w+)=([%w.]+)$")
    if name then
        floors[name] = tonumber(value) or value
    end
    why = why or arg[i] == "why"
end
if not folder then
    io.stderr:write("usage: lua5.4 score.lua BINARY FOLDER [all | EVERY] [why] [set=main|held] ",
        "[good=case|none|all] [within=PERCENT] [missed=N] [alarms=N]\n")
    os.exit(2)
end
local here = arg[0]:match("^(.*)/[^/]*$") or "."
local root = here .. "/../.."
local json = dofile(here .. "/../json_reader.lua")
local set = dofile(here .. "/set.lua")(root, floors.set)
local make = dofile(here .. "/make.lua")
local reliability = dofile(here .. "/reliability.lua")
local class_of = dofile(here .. "/classes.lua")
local couples = dofile(here .. "/couples.lua")(root .. "/reference/its90-emf-from-temperature.csv")
local least_seen = 3

local function write(path, text)
    local file = assert(io.open(path, "w"))
    file:write(text)
    file:close()
end


local function verdict_of(case, log, oven_file, good)
    local command = string.format("'%s' trace '%s' --oven '%s' --ambient %.0fC %s --json 2>&1", binary, log, oven_file,
        case.room, good and "--baseline '" .. good .. "'" or "")
    local pipe = assert(io.popen(command))
    local text = pipe:read("a")
    pipe:close()
    return json.read(text), text
end

local function plain(value)
    if type(value) ~= "table" then
        return value
    end
    local from, out = value.fields or value, {}
    for key, item in pairs(from) do
        out[key] = plain(item)
    end
    return out
end

os.execute("mkdir -p '" .. folder .. "'")
local times = {}
local function times_of(oven)
    if not times[oven] then
        times[oven] = make.record(set, couples, oven)
        write(folder .. "/" .. oven.name .. ".lua", set.description(oven, make.marks(oven, times[oven])))
    end
    return times[oven]
end

-- The rule of thumb to beat: a few thresholds on the samples and the description's marks.
local function by_threshold(case, rows)
    local first, last, highest, out
    for _, row in ipairs(rows) do
        if row.temperature then
            first = first or row.temperature
            last = row.temperature
            highest = math.max(highest or last, last)
        else
            out = row.word
        end
    end
    if not first or out == "open" or out == "over" then
        return "sensor-open"
    elseif out == "under" or last < first - 5 then
        return "sensor-reversed"
    elseif out then
        return "breaker-overload"
    elseif highest - first < 15 then
        return "element-open"
    elseif last < highest - 60 then
        return "element-open"
    elseif highest > case.top + 40 then
        return "relay-shorted"
    end
    for _, mark in ipairs(make.marks(case.oven, times_of(case.oven))) do
        local at
        for _, row in ipairs(rows) do
            if row.temperature and row.temperature >= mark.to then
                at = row.t
                break
            end
        end
        if mark.to < case.top and (not at and rows[#rows].t > mark.within or at and at > mark.within) then
            return (not at or at > 1.8 * mark.within) and "element-branch-open" or "element-aged"
        end
    end
    return "healthy"
end

local score = { cases = 0, faults = 0, healthy = 0, within = 0, exact = 0, ceiling = 0, missed = 0, alarms = 0,
    uncertain = 0, major = 0, rule_exact = 0, rule_within = 0, rule_alarms = 0, major_within = 0, shown = 0,
    shown_within = 0 }
local first_cause, healthy_share = reliability(), reliability()

local function top_of(answer)
    local best, share = "healthy", answer.healthy
    if answer.unlisted > share then
        best, share = "unlisted", answer.unlisted
    end
    local first = answer.causes[1]
    if first and first.probability > share then
        best, share = first.fault, first.probability
    end
    return best, share
end

local function judge(case)
    if floors.good ~= "case" then
        case.baseline = floors.good == "all"
    end
    local ours = times_of(case.oven)
    local rows = make.rows(set, couples, case, ours, true)
    local log = string.format("%s/%03d-%s.csv", folder, case.number, case.fault or "healthy")
    write(log, make.text(case, rows, set.random(case.seed + 1)))
    local good
    if case.baseline then
        good = string.format("%s/%03d-good.csv", folder, case.number)
        local good_rows, good_case = make.good_run(set, couples, case, ours)
        write(good, make.text(good_case, good_rows, set.random(case.seed + 2)))
    end
    local document, text = verdict_of(case, log, folder .. "/" .. case.oven.name .. ".lua", good)
    if not document then
        print("NO ANSWER: " .. log .. ": " .. tostring(text))
        score.broken = true
        return
    end
    local answer = plain(document)
    local class, size, distance = { healthy = true }, 1, 0
    if case.fault then
        distance = make.distance(case, rows, make.rows(set, couples, case, ours, false))
        class, size = class_of(case.fault, make.has[case.columns])
        if distance < least_seen then
            class.healthy, size = true, size + 1
        end
    end
    local truth = case.fault or "healthy"
    local top, share = top_of(answer)
    local within = class[top] == true
    score.cases = score.cases + 1
    score.within = score.within + (within and 1 or 0)
    score.exact = score.exact + (top == truth and 1 or 0)
    score.ceiling = score.ceiling + 1 / size
    score.uncertain = score.uncertain + (answer.verdict == "uncertain" and 1 or 0)
    local rule = by_threshold(case, rows)
    score.rule_exact = score.rule_exact + (rule == truth and 1 or 0)
    score.rule_within = score.rule_within + (class[rule] and 1 or 0)
    score.major = score.major + (truth == "healthy" and 1 or 0)
    score.major_within = score.major_within + (class.healthy and 1 or 0)
    local bad
    if case.fault then
        score.faults = score.faults + 1
        local danger = tonumber(set.faults[case.fault].danger_level) >= 3
        bad = not within
        if distance >= least_seen then
            score.shown = score.shown + 1
            score.shown_within = score.shown_within + (within and 1 or 0)
            if danger and answer.verdict == "healthy" then
                score.missed = score.missed + 1
                bad = "DANGEROUS, CALLED HEALTHY"
            end
        end
    else
        score.healthy = score.healthy + 1
        score.rule_alarms = score.rule_alarms + (rule ~= "healthy" and 1 or 0)
        if answer.verdict == "fault" then
            score.alarms = score.alarms + 1
            bad = "FALSE ALARM"
        elseif not within then
            bad = true
        end
    end
    first_cause.add(share, top == truth)
    healthy_share.add(answer.healthy, not case.fault)
    if bad and why then
        local second = answer.causes[1]
        print(string.format(
            "%03d %-22s u %.2f d %5.1f %-4s %-7s every %2d %s -> %s %s %.2f " ..
                "(healthy %.2f, first %s %.2f) %s", case.number, case.kind or case.fault,
            case.u or 0, distance, case.oven.name, case.columns, case.every,
            case.baseline and "good" or "-",
            answer.verdict, top, share, answer.healthy, second and second.fault or "-",
            second and second.probability or 0, bad == true and "" or bad))
    end
end

local step = which == "all" and 1 or math.tointeger(tonumber(which))
for i = 1, #set.cases, step do
    judge(set.cases[i])
end

local function percent(part, whole)
    return whole > 0 and 100 * part / whole or 0
end

local n = score.cases
print(string.format("%d cases: %d healthy, %d with a fault, %d of them seen by an ideal observer", n, score.healthy,
    score.faults, score.shown))
print(string.format("first cause within what the log can tell apart: %.1f %% (of faults that show: %.1f %%)",
    percent(score.within, n), percent(score.shown_within, score.shown)))
print(string.format("first cause exact: %.1f %%, ceiling %.1f %%", percent(score.exact, n), percent(score.ceiling, n)))
print(string.format("dangerous faults that show called healthy: %d", score.missed))
print(string.format("healthy called faulty: %d of %d (%.1f %%); can't tell: %d of all", score.alarms, score.healthy,
    percent(score.alarms, score.healthy), score.uncertain))
first_cause.show("how sure of the first cause (calibration)")
healthy_share.show("how sure that it is healthy")
print(string.format("always healthy: exact %.1f %%, within %.1f %%", percent(score.major, n),
    percent(score.major_within, n)))
print(string.format("thresholds: exact %.1f %%, within %.1f %%, false alarms %.1f %%", percent(score.rule_exact, n),
    percent(score.rule_within, n), percent(score.rule_alarms, score.healthy)))
local below = floors.within and percent(score.within, n) < floors.within or
    floors.missed and score.missed > floors.missed or floors.alarms and score.alarms > floors.alarms
if below then
    print("below the floor")
end
if score.broken or below then
    os.exit(1)
end
