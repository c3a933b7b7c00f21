-- Holds `trace` against ovens that it was not built on.
-- usage: lua5.4 score.lua BINARY FOLDER [all | EVERY] [why] [set=main|held] [good=case|none|all]
--                         [within=PERCENT] [missed=N] [alarms=N]
-- Writes the logs and descriptions into FOLDER and prints the score. EVERY: each so many-th case only. The
-- exit status is 1 when a floor is missed. `why` prints each case that is wrong. good: whether a good run of the
-- same oven stands beside the log, as the case has it, never or always.
--
-- What a log can tell is worked out beforehand (observe.lua, observer-SET.csv). within: the first cause is one
-- that an ideal observer with this log could not part from the truth. A fault shows when that observer would give
-- `healthy` less than one in twenty. The ceiling is how often that observer names the truth. Beside that stands
-- the class of an observer whose model of ovens is a few percent off, as any program's is (loose-SET.csv).

local binary, folder, which = arg[1], arg[2], arg[3] or "all"
local options, why = { set = "main", good = "case" }, false
for i = 4, #arg do
    local name, value = arg[i]:match("^(%w+)=([%w.]+)$")
    if name then
        options[name] = tonumber(value) or value
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
local set = dofile(here .. "/set.lua")(root, options.set)
local make = dofile(here .. "/make.lua")
local reliability = dofile(here .. "/reliability.lua")
local by_threshold = dofile(here .. "/thresholds.lua")
local observed = dofile(here .. "/observed.lua")(here .. "/observer-" .. set.name .. ".csv")
local observed_loosely = dofile(here .. "/observed.lua")(here .. "/loose-" .. set.name .. ".csv")
local couples = dofile(here .. "/couples.lua")(root .. "/reference/its90-emf-from-temperature.csv")

local function verdict_of(case, log, oven_file, good)
    local command = string.format("'%s' trace '%s' --oven '%s' --ambient %.0fC %s --json 2>&1", binary, log,
        oven_file, case.room, good and "--baseline '" .. good .. "'" or "")
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
        make.write(folder .. "/" .. oven.name .. ".lua", set.description(oven, make.marks(oven, times[oven])))
    end
    return times[oven]
end

local score = { cases = 0, faults = 0, healthy = 0, within = 0, exact = 0, ceiling = 0, missed = 0, alarms = 0,
    uncertain = 0, major = 0, rule_exact = 0, rule_within = 0, rule_alarms = 0, major_within = 0, shown = 0,
    shown_within = 0, ideal_exact = 0, ideal_within = 0, dangerous = 0, shown_exact = 0, shown_ceiling = 0,
    turned_exact = 0, turned_within = 0, loose_within = 0, loose_shown = 0, loose_shown_within = 0 }
local first_cause, healthy_share, ideal, turned = reliability(), reliability(), reliability(), reliability()
local missed_list, alarm_list = {}, {}

local function add(name, amount)
    score[name] = score[name] + (amount == true and 1 or amount or 0)
end

-- The program expects faults as often as the trade meets them, the set has each as often as the next. The answer
-- with the set's shares in place of the program's: how the log itself was weighed.
local program_shares = { healthy = 0.5, faults = 0.47 }
local set_shares = { healthy = 0.3, faults = 0.7 }

local function with_shares_of_set(answer)
    local weights, count = 0, 0
    for _, row in pairs(set.faults) do
        weights = weights + math.max(0.5, tonumber(row.prior_in_service))
        count = count + (row.trace ~= "never" and 1 or 0)
    end
    local out = { healthy = answer.healthy * set_shares.healthy / program_shares.healthy, unlisted = 0, causes = {} }
    local sum = out.healthy
    for i, cause in ipairs(answer.causes) do
        local row = set.faults[cause.fault]
        local was = program_shares.faults * math.max(0.5, tonumber(row.prior_in_service)) / weights
        local share = row.trace ~= "never" and cause.probability * set_shares.faults / count / was or 0
        out.causes[i] = { fault = cause.fault, probability = share }
        sum = sum + share
    end
    for _, cause in ipairs(out.causes) do
        cause.probability = cause.probability / sum
    end
    out.healthy = out.healthy / sum
    table.sort(out.causes, function(a, b) return a.probability > b.probability end)
    return out
end

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

local function run(case)
    local ours = times_of(case.oven)
    local rows = make.rows(set, couples, case, ours, true)
    local log = string.format("%s/%03d-%s.csv", folder, case.number, case.fault or "healthy")
    make.write(log, make.text(case, rows, set.random(case.seed + 1)))
    local good
    if case.baseline then
        good = string.format("%s/%03d-good.csv", folder, case.number)
        local good_rows, good_case = make.good_run(set, couples, case, ours)
        make.write(good, make.text(good_case, good_rows, set.random(case.seed + 2)))
    end
    local document, text = verdict_of(case, log, folder .. "/" .. case.oven.name .. ".lua", good)
    if not document then
        print("NO ANSWER: " .. log .. ": " .. tostring(text))
        score.broken = true
        return
    end
    return plain(document), rows
end

local function share_of(answer, fault)
    for _, cause in ipairs(answer.causes) do
        if cause.fault == fault then
            return cause.probability
        end
    end
    return 0
end

local function listed(case, answer, seen)
    local left_out = ""
    for _, id in ipairs(answer.not_shown) do
        left_out = id == case.fault and ", left out as not shown" or left_out
    end
    local first = answer.causes[1]
    return string.format("%03d %s on %s (%s, every %d s%s): said healthy %.3f, the truth %.3f%s, first %s %.3f; " ..
        "the observer: healthy %.4f, the truth %.3f", case.number, case.fault or "healthy (" .. case.kind .. ")",
        case.oven.name, case.columns, case.every, case.baseline and ", beside a good run" or "", answer.healthy,
        case.fault and share_of(answer, case.fault) or answer.healthy, left_out, first and first.fault or "-",
        first and first.probability or 0, seen.healthy, seen.truth)
end

local function count_rules(case, rows, class, truth)
    local rule = by_threshold(case, rows, make.marks(case.oven, times_of(case.oven)))
    add("rule_exact", rule == truth)
    add("rule_within", class[rule])
    add("rule_alarms", not case.fault and rule ~= "healthy")
    add("major", not case.fault)
    add("major_within", class.healthy)
end

local function count_observer(seen, truth)
    add("ceiling", seen.share)
    add("ideal_exact", seen.likeliest == truth)
    add("ideal_within", seen.class[seen.likeliest])
    ideal.add(seen.share, seen.likeliest == truth)
end

local function count_fault(case, answer, seen, top, within)
    if seen.class.healthy then
        return not within
    end
    local dangerous = tonumber(set.faults[case.fault].danger_level) >= 3
    add("shown", 1)
    add("shown_within", within)
    add("shown_exact", top == case.fault)
    add("shown_ceiling", seen.share)
    add("dangerous", dangerous)
    if dangerous and answer.verdict == "healthy" then
        add("missed", 1)
        missed_list[#missed_list + 1] = listed(case, answer, seen)
        return "DANGEROUS, CALLED HEALTHY"
    end
    return not within
end

local function count_healthy(case, answer, seen, within)
    add("healthy", 1)
    if answer.verdict == "fault" then
        add("alarms", 1)
        alarm_list[#alarm_list + 1] = listed(case, answer, seen)
        return "FALSE ALARM"
    end
    return not within
end

local function judge(case)
    if options.good ~= "case" then
        case.baseline = options.good == "all"
    end
    local answer, rows = run(case)
    if not answer then
        return
    end
    local seen = observed(case, case.baseline)
    local truth = case.fault or "healthy"
    local top, share = top_of(answer)
    local within = seen.class[top] == true
    add("cases", 1)
    add("faults", case.fault ~= nil)
    add("within", within)
    add("exact", top == truth)
    add("uncertain", answer.verdict == "uncertain")
    count_rules(case, rows, seen.class, truth)
    count_observer(seen, truth)
    local loose = observed_loosely(case, case.baseline, seen)
    add("loose_within", loose.class[top])
    if case.fault and not loose.class.healthy then
        add("loose_shown", 1)
        add("loose_shown_within", loose.class[top])
    end
    first_cause.add(share, top == truth)
    healthy_share.add(answer.healthy, not case.fault)
    local top_turned, share_turned = top_of(with_shares_of_set(answer))
    turned.add(share_turned, top_turned == truth)
    add("turned_exact", top_turned == truth)
    add("turned_within", seen.class[top_turned])
    local bad
    if case.fault then
        bad = count_fault(case, answer, seen, top, within)
    else
        bad = count_healthy(case, answer, seen, within)
    end
    if bad and why then
        local second = answer.causes[1]
        print(string.format("%03d %-22s u %.2f %-6s %-4s %-7s every %2d %s -> %s %s %.2f (healthy %.2f, first %s " ..
            "%.2f) class %d %s", case.number, case.kind or case.fault, case.u or 0,
            case.fault and (seen.class.healthy and "hidden" or "shows") or "", case.oven.name, case.columns,
            case.every, case.baseline and "good" or "-", answer.verdict, top, share, answer.healthy,
            second and second.fault or "-", second and second.probability or 0, seen.size,
            bad == true and "" or bad))
    end
end

local step = which == "all" and 1 or math.tointeger(tonumber(which))
for i = 1, #set.cases, step do
    judge(set.cases[i])
end

local function percent(part, whole)
    return whole > 0 and 100 * part / whole or 0
end

local function show(format, ...)
    print(string.format(format, ...))
end

local n = score.cases
show("set %s, good runs: %s; %d cases: %d healthy, %d with a fault, %d of them show (%d of these dangerous)",
    set.name, options.good, n, score.healthy, score.faults, score.shown, score.dangerous)
show("first cause within what the log can tell apart: %.1f %% (of faults that show: %.1f %%)",
    percent(score.within, n), percent(score.shown_within, score.shown))
show("  for an observer whose model is a few percent off: %.1f %% (of %d faults that show: %.1f %%)",
    percent(score.loose_within, n), score.loose_shown, percent(score.loose_shown_within, score.loose_shown))
show("first cause exact: %.1f %%, ceiling %.1f %% (of faults that show: %.1f %%, ceiling %.1f %%)",
    percent(score.exact, n), percent(score.ceiling, n), percent(score.shown_exact, score.shown),
    percent(score.shown_ceiling, score.shown))
show("dangerous faults that show called healthy: %d", score.missed)
for _, line in ipairs(missed_list) do
    print("  " .. line)
end
show("healthy called faulty: %d of %d (%.1f %%); can't tell: %d of all", score.alarms, score.healthy,
    percent(score.alarms, score.healthy), score.uncertain)
for _, line in ipairs(alarm_list) do
    print("  " .. line)
end
first_cause.show("how sure of the first cause (calibration)")
healthy_share.show("how sure that it is healthy")
show("turned to the shares of the set: within %.1f %%, exact %.1f %%, calibration error %.3f, floor %.3f",
    percent(score.turned_within, n), percent(score.turned_exact, n), turned.error_and_floor())
show("always healthy: exact %.1f %%, within %.1f %%", percent(score.major, n), percent(score.major_within, n))
show("thresholds: exact %.1f %%, within %.1f %%, false alarms %.1f %%", percent(score.rule_exact, n),
    percent(score.rule_within, n), percent(score.rule_alarms, score.healthy))
show("the ideal observer: exact %.1f %% of %.1f %% expected, within %.1f %%, calibration error %.3f, floor %.3f",
    percent(score.ideal_exact, n), percent(score.ceiling, n), percent(score.ideal_within, n),
    ideal.error_and_floor())
local below = options.within and percent(score.within, n) < options.within or
    options.missed and score.missed > options.missed or options.alarms and score.alarms > options.alarms
if below then
    print("below the floor")
end
if score.broken or below then
    os.exit(1)
end
