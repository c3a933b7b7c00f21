-- Holds `simulate` against faults.csv, row by row: every fault that a log can show runs mild and severe, by
-- word and by its own quantity, gives finite numbers and the same bytes for the same seed, and `trace` takes
-- what it wrote; a fault that no log can show is refused.
-- usage: lua5.4 check_simulate.lua BINARY FOLDER REFERENCE_FOLDER
local binary, folder, reference = arg[1], arg[2], arg[3]
local failures, runs = 0, 0

local function check(holds, text, ...)
    if not holds then
        failures = failures + 1
        print(string.format("FAILED: " .. text, ...))
    end
    return holds
end

local function run(format, ...)
    local pipe = assert(io.popen(string.format("'%s' ", binary) .. string.format(format, ...) .. " 2>&1"))
    local text = pipe:read("a")
    local _, how, status = pipe:close()
    runs = runs + 1
    return text, how == "exit" and status or -1
end

-- An oven with every part that a fault can concern. Invented for the tests: no such oven exists.
os.execute("mkdir -p '" .. folder .. "'")
local oven = folder .. "/oven.lua"
local file = assert(io.open(oven, "w"))
file:write([[
return {
    name = "all parts", supply = { volts = "240V", circuit = "20A", shared = true },
    elements = { { watts = "1800W", at = "240V", alloy = "FeCrAl" },
        { watts = "1800W", at = "240V", alloy = "FeCrAl" } }, wiring = "parallel",
    sensor = { type = "K", extension = "K" },
    controller = { input = "K", period = "10s", degrees = "C", on_sensor_break = "off", ramps = true,
        log = true },
    chamber = { width = "8in", height = "8in", depth = "12in", limit = "2100F" },
    lining = { wall = "2.5in fibre board", floor = "2.5in insulating firebrick" },
    heat_up = { { to = "1000F", within = "8min" }, { to = "1500F", within = "16min" } },
    fitted = { door_switch = true, contactor = true, limiter = true, element_switch = true,
        element_protector = "20A", control_fuse = "5A fast", panel_cutout = true, fan = "thermostat",
        check_hole = true, output_lamp = true, relay_lamp = true },
}
]])
file:close()

-- A row of numbers and words for no reading; what is no number is one of those words.
local words = { ["open"] = true, ["under-range"] = true, ["over-range"] = true, [""] = true }
local function check_rows(what, text)
    local rows = 0
    for line in text:gmatch("[^\n]+") do
        if not line:find("^#") and not line:find("^time_s") then
            rows = rows + 1
            for cell in (line .. ","):gmatch("([^,]*),") do
                local number = tonumber(cell)
                local finite = number and number == number and math.abs(number) < 1e6
                if not check(finite or words[cell], "%s: \"%s\" in row %d", what, cell, rows) then
                    return
                end
            end
        end
    end
    check(rows == 61, "%s: %d rows", what, rows)
end

local columns = "time_s,temperature_C,setpoint_C,output_percent,supply_V,element_A,cold_junction_C"
local function simulate(fault, severity, seed)
    return run("simulate '%s' --fault %s=%s --seed %d --minutes 20 --interval 20 --columns %s", oven, fault,
        severity, seed, columns)
end

local function numbers_of(text)
    return (text:gsub("#[^\n]*\n", ""))
end

-- What a fault wrote is judged like any log.
local function check_trace(id, text)
    local path = string.format("%s/%s.csv", folder, id)
    local log = assert(io.open(path, "w"))
    log:write(text)
    log:close()
    local judged, status = run("trace '%s' --oven '%s' --json", path, oven)
    check(status == 0 or status == 1, "%s: trace ends with %d: %s", id, status, judged:sub(1, 200))
    check(not judged:find("[:,%[]%-?nan") and not judged:find("[:,%[]%-?inf"), "%s: no number", id)
end

local function check_fault(row)
    local texts = {}
    for _, severity in ipairs({ "mild", "severe" }) do
        local what = row.id .. "=" .. severity
        local text, status = simulate(row.id, severity, 5)
        if check(status == 0, "%s: status %d: %s", what, status, text:sub(1, 200)) then
            check_rows(what, text)
            check(simulate(row.id, severity, 5) == text, "%s: the same seed gave another run", what)
            texts[severity] = text
        end
    end
    check_trace(row.id, texts.severe or "")
    local other = simulate(row.id, "mild", 6)
    check(numbers_of(other) ~= numbers_of(texts.mild or ""), "%s: another seed gave the same run", row.id)
    if row.severity_unit == "none" then
        return
    end
    check(numbers_of(texts.mild or "") ~= numbers_of(texts.severe or ""), "%s: mild is as bad as severe",
        row.id)
    for severity, ends in pairs({ [0] = row.mild, [1] = row.severe }) do
        if row.severity_unit ~= "type" then
            local text, status = run("simulate '%s' --fault %s=%s%s --minutes 1 --json", oven, row.id,
                ends, row.severity_unit)
            local found = tonumber(text:match('"severity":([%-%d.eE]+)'))
            check(status == 0 and found and math.abs(found - severity) < 1e-9, "%s=%s%s is %s", row.id, ends,
                row.severity_unit, tostring(found))
        end
    end
end

local shown, hidden = 0, 0
local _, faults = dofile(reference .. "/csv.lua")(reference, "faults.csv", error)
for _, row in ipairs(faults) do
    if row.trace == "never" then
        hidden = hidden + 1
        local text, status = run("simulate '%s' --fault %s", oven, row.id)
        check(status == 3 and text:find("does not show in a log", 1, true), "%s: not refused: %d", row.id,
            status)
    else
        shown = shown + 1
        check_fault(row)
    end
end
check(shown > 40 and hidden > 0, "%d faults show in a log, %d do not", shown, hidden)
print(string.format("%d faults that a log can show, mild and severe; %d that none can; %d runs; %d failures",
    shown, hidden, runs, failures))
os.exit(failures == 0 and 0 or 1)
