-- Turns the tables of this folder into rows of C initialisers, in the build folder only.
-- usage: lua5.4 generate.lua REFERENCE_FOLDER OUTPUT_FOLDER
--
-- Each entry of `tables` below gives FILE.csv -> FILE.inc: one `{...},` a row, the named columns in order.
-- A room includes it between the braces of an array of its own struct:
--     static const struct tolerance_row tolerance_rows[] = {
--     #include "tolerances.inc"
--     };
-- Kinds: s string ("" stays ""), n number (empty becomes NAN), i integer (empty becomes 0), d the nearest
-- double and what it lacks of the decimal figure, as {high, low} (empty becomes {0, 0}). A list of names in
-- place of one name becomes an array. l words parted by |: two cells, their count and an array of strings.
-- Lines that start with # are comments in every table.

local coefficients = {}
for i = 0, 14 do
    coefficients[#coefficients + 1] = "c" .. i
end

local inverse_coefficients = {}
for i = 0, 10 do
    inverse_coefficients[#inverse_coefficients + 1] = "d" .. i
end

local factors = { "f20" } -- temperature factors of heater alloys
for i = 1, 13 do
    factors[#factors + 1] = "f" .. i .. "00"
end

local tables = {
    -- electrical
    { "heater-ct.csv", {
        { "alloy", "s" }, { "also", "s" }, { "usual", "i" }, { factors, "n" }, { "source", "s" },
    } },
    { "awg.csv", { { "awg", "i" }, { "ohm_per_1000ft", "n" }, { "diameter_in", "n" }, { "source", "s" } } },
    { "electrical.csv", { { "name", "s" }, { "value", "n" }, { "unit", "s" }, { "source", "s" } } },
    { "metric-wire.csv", { { "mm2", "n" }, { "ohm_per_km", "n" }, { "source", "s" } } },
    { "conductors.csv", {
        { "awg", "i" }, { "mm2", "n" }, { "cord_A", "n" }, { "wall_A", "n" }, { "breaker_A", "n" },
        { "source", "s" },
    } },
    { "protective-devices.csv", {
        { "device", "s" }, { "rating_low_A", "n" }, { "rating_high_A", "n" }, { "multiple", "n" },
        { "outcome", "s" }, { "seconds", "n" }, { "air_C", "n" }, { "source", "s" },
    } },
    { "plugs.csv", {
        { "plug", "s" }, { "also", "s" }, { "volts_V", "n" }, { "rating_A", "n" }, { "source", "s" },
    } },
    { "supply-steps.csv", { { "share", "n" }, { "text", "s" }, { "source", "s" } } },
    { "single-failures.csv", {
        { "id", "s" }, { "fitted", "s" }, { "absent", "s" }, { "on_break", "s" }, { "level", "s" },
        { "text", "s" }, { "source", "s" },
    } },
    -- thermocouple
    { "its90-emf-from-temperature.csv", {
        { "type", "s" }, { "t_low_C", "n" }, { "t_high_C", "n" }, { "order", "i" }, { "a0_mV", "n" },
        { "a1_per_C2", "n" }, { "a2_C", "n" }, { coefficients, "d" },
    } },
    { "its90-approximate-inverse.csv", {
        { "type", "s" }, { "emf_low_mV", "n" }, { "emf_high_mV", "n" }, { "order", "i" },
        { "error_low_C", "n" }, { "error_high_C", "n" }, { inverse_coefficients, "n" },
    } },
    { "tolerances.csv", {
        { "name", "s" }, { "type", "s" }, { "t_low_C", "n" }, { "t_high_C", "n" }, { "abs_C", "n" },
        { "rel", "n" }, { "rule", "s" },
    } },
    { "colours.csv", {
        { "name", "s" }, { "type", "s" }, { "positive", "s" }, { "negative", "s" }, { "sheath", "s" },
        { "source", "s" },
    } },
    -- joints, ground bond, insulation, leakage
    { "joint-rise.csv", {
        { "against", "s" }, { "published", "s" }, { "from_C", "n" }, { "to_C", "n" }, { "class", "s" },
        { "grade", "s" }, { "action", "s" }, { "source", "s" },
    } },
    { "joint-drop.csv", {
        { "from_mV", "n" }, { "over", "i" }, { "grade", "s" }, { "action", "s" }, { "source", "s" },
    } },
    { "electrical-limits.csv", {
        { "name", "s" }, { "value", "n" }, { "unit", "s" }, { "text", "s" }, { "source", "s" },
    } },
    -- trace
    { "findings.csv", {
        { "id", "s" }, { "text", "s" }, { "unit", "s" }, { "needs", "s" }, { "answers", "s" },
        { "tells", "s" }, { "group", "s" }, { "source", "s" }, { "outcomes", "l" },
    } },
    { "trace-limits.csv", { { "name", "s" }, { "value", "n" } } },
    { "firing-sheet.csv", { { "name", "s" }, { "value", "n" } } },
    { "firing-limits.csv", { { "name", "s" }, { "value", "n" } } },
    -- what a shop may own
    { "tools.csv", { { "word", "s" }, { "text", "s" } } },
    -- what selfcheck computes anew
    { "selfcheck.csv", {
        { "check", "s" }, { "subject", "s" }, { "given", "s" }, { "expected", "s" }, { "tolerance", "s" },
        { "source", "s" },
    } },
    { "materials.csv", { { "material", "s" }, { "conductivity_W_per_mK", "n" }, { "slope_per_K", "n" },
        { "density_kg_per_m3", "n" }, { "heat_capacity_J_per_kgK", "n" } } },
    { "steam.csv", { { "temperature_C", "n" }, { "bar_absolute", "n" } } },
    { "oven-model.csv", { { "name", "s" }, { "value", "n" } } },
    -- oven: firing plans
    { "dry-out-floors.csv", {
        { "floor", "s" }, { "said", "s" }, { "wet", "i" }, { "per_inch", "i" }, { "cure_h", "n" },
        { "cool_C_per_h", "n" }, { "thickest_in", "n" }, { "source", "s" },
    } },
    { "dry-out.csv", {
        { "floor", "s" }, { "from_C", "n" }, { "to_C", "n" }, { "most_C_per_h", "n" }, { "hold_low_C", "n" },
        { "hold_high_C", "n" }, { "hold_h", "n" }, { "hold_h_per_inch", "n" }, { "hold_most_h", "n" },
        { "source", "s" },
    } },
    -- diagnosis
    { "faults.csv", {
        { "id", "s" }, { "family", "s" }, { "title", "s" },
        { { "prior_new_build", "prior_in_service", "prior_after_transport", "prior_after_rewire" }, "n" },
        { "danger_level", "i" }, { "danger", "s" }, { "mechanism", "s" }, { "signature_trace", "s" },
        { "signature_display", "s" }, { "remedy", "s" }, { "caution", "s" }, { "basis", "s" },
        { "needs_part", "s" }, { "trace", "s" }, { "severity_unit", "s" }, { "mild", "n" }, { "severe", "n" },
        { "broke_by", "s" }, { "broke_check", "s" }, { "repair_minutes", "n" },
    } },
    { "measurements.csv", {
        { "id", "s" }, { "question", "s" }, { "touch", "s" }, { "unit", "s" }, { "tools", "s" },
        { "who", "s" }, { "energised", "s" }, { "caution", "s" }, { "needs_part", "s" },
        { "why", "s" }, { "expect", "s" }, { "group", "s" },
        { "states", "s" }, { "read_by", "s" }, { "reference", "s" }, { "keywords", "s" },
        { "formula", "s" }, { "hazard_level", "i" }, { "minutes", "n" }, { "wait_minutes", "n" },
        { "choices", "l" },
    } },
    { "outcomes.csv", {
        { "measurement", "s" }, { "outcome", "s" }, { "low", "n" }, { "high", "n" }, { "unit", "s" },
        { "relative_to", "s" }, { "text", "s" }, { "said", "s" },
    } },
    { "said-words.csv", { { "class", "s" }, { "words", "s" } } },
    { "safety-set.csv", {
        { "test", "s" }, { "text", "s" }, { "undone", "s" }, { "needs_part", "s" }, { "passed_by", "s" },
    } },
    { "normal.csv", {
        { "id", "s" }, { "sees", "s" }, { "why", "s" }, { "limit", "s" }, { "past", "s" }, { "source", "s" },
    } },
    { "parts.csv", { { "part", "s" }, { "text", "s" }, { "mends", "s" } } },
    { "repair-proofs.csv", { { "fault", "s" }, { "proof", "s" } } },
    { "likelihoods.csv", { { "measurement", "s" }, { "outcome", "s" }, { "fault", "s" }, { "p", "n" } } },
    { "finding-likelihoods.csv", {
        { "measurement", "s" }, { "outcome", "s" }, { "fault", "s" }, { "p", "n" },
    } },
    { "magnet.csv", { { "type", "s" }, { "text", "s" } } },
    { "diagnosis-rule.csv", { { "name", "s" }, { "value", "n" } } },
}

local source_folder, output_folder = arg[1], arg[2]

local function fail(text, ...)
    io.stderr:write("generate.lua: ", string.format(text, ...), "\n")
    os.exit(1)
end

local read_table = dofile(source_folder .. "/csv.lua")

local function read(name)
    return read_table(source_folder, name, fail)
end

local function literal(text)
    return '"' .. text:gsub('[\\"?]', "\\%0"):gsub("[^\32-\126]", function(byte)
        return string.format("\\%03o", byte:byte())
    end) .. '"'
end

-- a * b without rounding, as a sum of two doubles (Dekker 1971); and digits * 10^exponent likewise.
local function split_double(a)
    local c = 134217729.0 * a
    local high = c - (c - a)
    return high, a - high
end

local function exact_product(a, b)
    local p = a * b
    local a_high, a_low = split_double(a)
    local b_high, b_low = split_double(b)
    return p, ((a_high * b_high - p) + a_high * b_low + a_low * b_high) + a_low * b_low
end

local function divide(high, low, divisor)
    local quotient = high / divisor
    local p, e = exact_product(quotient, divisor)
    local rest = ((high - p) - e + low) / divisor
    return quotient + rest, rest - (quotient + rest - quotient)
end

-- What the double nearest to a decimal figure of at most 15 digits lacks of it.
local function shortfall(text, where)
    local sign, whole, decimals, exponent = text:match("^(%-?)(%d*)%.?(%d*)[eE]?([-+]?%d*)$")
    local digits = whole and whole .. decimals
    if not digits or digits == "" or #digits:gsub("^0+", "") > 15 then
        fail("%s: %q is not a decimal figure of at most 15 digits", where, text)
    end
    local power = (tonumber(exponent) or 0) - #decimals
    if power > 0 then
        fail("%s: %q is too large", where, text)
    end
    local high, low = tonumber(digits) + 0.0, 0.0
    while power < 0 do
        local step = math.min(-power, 22) -- 10^22 is the last power of ten that is a double
        high, low = divide(high, low, 10.0 ^ step)
        power = power + step
    end
    local nearest = math.abs(tonumber(text))
    local rest = (high - nearest) + low
    return sign == "-" and -rest or rest
end

local writers = {
    d = function(text, where)
        if text == "" then
            return "{0.0, 0.0}"
        end
        return string.format("{%.17e, %.17e}", tonumber(text), shortfall(text, where))
    end,
    s = function(text)
        return literal(text)
    end,
    n = function(text, where)
        if text == "" then
            return "NAN"
        end
        if not tonumber(text) or text:find("[xX]") then
            fail("%s: %q is not a number", where, text)
        end
        return text:find("[.eE]") and text or text .. ".0"
    end,
    i = function(text, where)
        if text == "" then
            return "0"
        end
        if not text:match("^%-?%d+$") then
            fail("%s: %q is not a whole number", where, text)
        end
        return text
    end,
}

function writers.l(text)
    local words = {}
    for word in text:gmatch("[^|]+") do
        words[#words + 1] = literal(word)
    end
    return #words .. ", (const char *const[]){" .. table.concat(words, ", ") .. "}"
end

for _, entry in ipairs(tables) do
    local name, columns = entry[1], entry[2]
    local header, rows = read(name)
    local known = {}
    for _, key in ipairs(header) do
        known[key] = true
    end
    local output_path = output_folder .. "/" .. name:gsub("%.csv$", ".inc")
    local output = io.open(output_path, "w") or fail("cannot write %s", output_path)
    output:write("/* made from reference/", name, " by generate.lua: do not edit */\n")
    for _, row in ipairs(rows) do
        local cells = {}
        for i, column in ipairs(columns) do
            local keys = type(column[1]) == "table" and column[1] or { column[1] }
            local values = {}
            for k, key in ipairs(keys) do
                if not known[key] then
                    fail("%s has no column %q", name, key)
                end
                values[k] = writers[column[2]](row[key], row.where .. ": " .. key)
            end
            local joined = table.concat(values, ", ")
            cells[i] = keys == column[1] and "{" .. joined .. "}" or joined
        end
        output:write("{", table.concat(cells, ", "), "},\n")
    end
    output:close()
end
