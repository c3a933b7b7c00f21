-- Simulates every fault that a log can show and lets `trace` judge the log: a table to read, not a test.
-- Simulator and judge share one oven model, so a good figure here proves little and a bad one much.
-- usage: lua5.4 tests/closed_loop/trace_faults.lua BINARY [OVEN [COLUMNS]]  (in the source tree, 10 s)
--
-- Each line: fault, severity, verdict, probability of healthy, rank and probability of the true fault, the
-- first two causes. At the end how often the true fault came first or among three, and what must not be: a
-- dangerous fault called healthy, a healthy run called faulty.

package.path = "tests/?.lua;" .. package.path
local json = require "json_reader"

local binary = arg[1] or error("usage: lua5.4 trace_faults.lua BINARY [OVEN [COLUMNS]]")
local oven = arg[2] or "QR-8"
local columns = arg[3] or "time_s,temperature_C,setpoint_C,output_percent,supply_V,element_A"
local log = os.tmpname()

local function quote(word)
    return "'" .. word:gsub("'", "'\\''") .. "'"
end

local function run(words)
    local pipe = assert(io.popen(quote(binary) .. " " .. words .. " 2>&1"))
    local out = pipe:read("a")
    pipe:close()
    return out
end

-- id, trace and danger of each fault, from the table itself.
local function faults()
    local list, header = {}, nil
    for line in io.lines("reference/faults.csv") do
        if line:sub(1, 1) ~= "#" and line ~= "" then
            local cells, at = {}, 1
            while at <= #line + 1 do
                local quoted, after
                if line:sub(at, at) == '"' then
                    local to = at + 1
                    repeat
                        to = line:find('"', to, true) + 1
                        local doubled = line:sub(to, to) == '"'
                        if doubled then
                            to = to + 1
                        end
                    until not doubled
                    quoted, after = line:sub(at + 1, to - 2), to
                else
                    quoted, after = line:match("^([^,]*)()", at)
                end
                cells[#cells + 1] = quoted
                at = after + 1
            end
            if not header then
                header = {}
                for i, name in ipairs(cells) do
                    header[name] = i
                end
            else
                list[#list + 1] = {
                    id = cells[header.id],
                    trace = cells[header.trace],
                    dangerous = tonumber(cells[header.danger_level]) >= 3,
                    unit = cells[header.severity_unit],
                }
            end
        end
    end
    return list
end

local function judge(fault, severity, seed)
    local words = string.format("simulate %s --minutes 60 --interval 5 --seed %d --columns %s -o %s",
        quote(oven), seed, columns, quote(log))
    if fault then
        words = words .. string.format(" --fault %s=%g", fault, severity)
    end
    local out = run(words)
    if out ~= "" then
        return nil, out
    end
    local text = run(string.format("trace %s --oven %s --json", quote(log), quote(oven)))
    local value, what = json.read(text)
    if not value then
        return nil, text .. (what or "")
    end
    local seen = {
        verdict = json.follow(value, "verdict"),
        healthy = json.follow(value, "healthy"),
        first = {},
    }
    for i = 0, 63 do
        local id = json.follow(value, "causes[" .. i .. "].fault")
        if not id then
            break
        end
        local probability = json.follow(value, "causes[" .. i .. "].probability")
        if i < 2 then
            seen.first[#seen.first + 1] = string.format("%s %.2f", id, probability)
        end
        if id == fault then
            seen.rank, seen.probability = i + 1, probability
        end
    end
    return seen
end

local count, first, among_three, missed, alarms, skipped = 0, 0, 0, {}, 0, 0

local function show(name, severity, seen)
    local probability = seen.probability and string.format("%.2f", seen.probability) or "-"
    print(string.format("%-22s %-4s %-9s healthy %.3f  rank %-3s %-5s %s", name, severity, seen.verdict,
        seen.healthy, seen.rank or "-", probability, table.concat(seen.first, ", ")))
end

for seed = 1, 5 do
    local seen = assert(judge(nil, nil, seed))
    show("healthy", "", seen)
    alarms = alarms + (seen.verdict == "fault" and 1 or 0)
end
for _, fault in ipairs(faults()) do
    local severities = fault.trace == "never" and {} or fault.unit == "none" and { 1 } or { 0, 0.5, 1 }
    for _, severity in ipairs(severities) do
        local seen, what = judge(fault.id, severity, 1)
        if not seen then
            skipped = skipped + 1
            print(string.format("%-22s %-4s %s", fault.id, severity, what:match("[^\n]*")))
        else
            show(fault.id, severity, seen)
            count = count + 1
            first = first + (seen.rank == 1 and 1 or 0)
            among_three = among_three + ((seen.rank or 99) <= 3 and 1 or 0)
            if fault.dangerous and seen.verdict == "healthy" then
                missed[#missed + 1] = fault.id .. "=" .. severity
            end
        end
    end
end
os.remove(log)
print(string.format("\n%d runs: the true fault first in %d, among three in %d; %d skipped", count, first,
    among_three, skipped))
print(string.format("healthy runs called faulty: %d of 5", alarms))
print(string.format("dangerous faults called healthy: %d %s", #missed, table.concat(missed, " ")))
