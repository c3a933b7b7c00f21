-- Makes the faults page: every fault of faults.csv on one page of HTML without script, to read or to print.
-- usage: lua5.4 faults_page.lua REFERENCE_FOLDER OUTPUT_FILE
--
-- The frame of the page is faults-page.html. What parts a fault from its look-alikes is worked out from
-- likelihoods.csv: two faults are alike when few questions are answered differently (Bhattacharyya distance,
-- summed over all questions). The question that parts them is the one with the largest distance; one with
-- less power on goes first when it parts well enough.

local folder, output_path = arg[1], arg[2]

local function fail(text, ...)
    io.stderr:write("faults_page.lua: ", string.format(text, ...), "\n")
    os.exit(1)
end

local read = dofile(folder .. "/csv.lua")

local function rows_of(name)
    local _, rows = read(folder, name, fail)
    return rows
end

local function by_id(rows, key)
    local found = {}
    for _, row in ipairs(rows) do
        found[row[key or "id"]] = row
    end
    return found
end

local faults, measurements = rows_of("faults.csv"), rows_of("measurements.csv")
local proofs = by_id(rows_of("repair-proofs.csv"), "fault")

-- ---- words ------------------------------------------------------------------------------------------------

local function celsius(fahrenheit)
    return string.format("%.0f", (fahrenheit - 32) / 1.8)
end

-- A single temperature is given in both scales; lists and ranges stay as they stand.
local function both_scales(text)
    return (text:gsub("()([%+%-]?)(%d[%d,]*) °F()", function(from, sign, digits, to)
        local before = text:sub(from - 1, from - 1)
        if before:find("[%d/%-%.,]") or text:sub(to):find("^ [%(/]") then
            return nil
        end
        local number = tonumber(((sign .. digits):gsub(",", "")))
        return string.format("%s%s °F (%s °C)", sign, digits, celsius(number))
    end))
end

local entities = { ["&"] = "&amp;", ["<"] = "&lt;", [">"] = "&gt;", ['"'] = "&quot;" }

local function html(text)
    return (both_scales(text):gsub('[&<>"]', entities))
end

local function sentence(text)
    if text == "" then
        return ""
    end
    local first = text:sub(1, 1):upper() .. text:sub(2)
    return first:find("[%.!?…]$") and first or first .. "."
end

local outcome_words = {}
for _, row in ipairs(rows_of("outcomes.csv")) do
    if row.text ~= "" then
        outcome_words[row.measurement .. ":" .. row.outcome] = row.text
    end
end

-- ---- what parts two faults ---------------------------------------------------------------------------

local likelihood = {} -- [measurement][outcome][fault]; fault "*" is every one without a row
for _, row in ipairs(rows_of("likelihoods.csv")) do
    local questions = likelihood[row.measurement] or {}
    likelihood[row.measurement] = questions
    questions[row.outcome] = questions[row.outcome] or {}
    questions[row.outcome][row.fault] = tonumber(row.p)
end

local has_row = {} -- [measurement][fault]
for measurement, outcomes in pairs(likelihood) do
    has_row[measurement] = {}
    for _, shares in pairs(outcomes) do
        for fault in pairs(shares) do
            has_row[measurement][fault] = true
        end
    end
end

local function share(measurement, outcome, fault)
    local of = has_row[measurement][fault] and fault or "*"
    return likelihood[measurement][outcome][of] or 0
end

local function distance(measurement, one, other)
    local overlap = 0
    for outcome in pairs(likelihood[measurement]) do
        overlap = overlap + math.sqrt(share(measurement, outcome, one) * share(measurement, outcome, other))
    end
    return -math.log(math.max(overlap, 0.01))
end

local function likeliest(measurement, choices, fault)
    local best, most = nil, -1
    for outcome in choices:gmatch("[^|]+") do
        if likelihood[measurement.id][outcome] and share(measurement.id, outcome, fault) > most then
            best, most = outcome, share(measurement.id, outcome, fault)
        end
    end
    return outcome_words[measurement.id .. ":" .. best] or best
end

local NO_PARTING = 0.05 -- below this distance the answers are as good as the same
local power = { no = 1, controls = 2, ["normal-use"] = 3 }
local ENOUGH = 0.4 -- a safer question does when it parts at least this share of what the best one parts

-- The question that parts two faults best; one with less power on goes first when it parts well enough.
local function parting(one, other)
    local best, most = {}, { 0, 0, 0 }
    for _, m in ipairs(measurements) do
        local rank = power[m.energised]
        local d = likelihood[m.id] and rank and distance(m.id, one, other) or 0
        if rank and d > most[rank] + 1e-9 then
            best[rank], most[rank] = m, d
        end
    end
    local overall = math.max(table.unpack(most))
    for rank = 1, 3 do
        if best[rank] and most[rank] >= ENOUGH * overall then
            return best[rank], most[rank]
        end
    end
end

local function look_alikes(fault)
    local found = {}
    for _, other in ipairs(faults) do
        if other.id ~= fault.id then
            local sum = 0
            for _, m in ipairs(measurements) do
                if likelihood[m.id] then
                    sum = sum + distance(m.id, fault.id, other.id)
                end
            end
            found[#found + 1] = { fault = other, sum = sum, place = #found }
        end
    end
    table.sort(found, function(a, b)
        if a.sum ~= b.sum then
            return a.sum < b.sum
        end
        return a.place < b.place
    end)
    return { found[1], found[2], found[3] }
end

-- ---- the page ------------------------------------------------------------------------------------------

local family_titles = {
    sensor = "Sensor and its wires", controller = "Controller", switching = "Relay, contactor, door and fan",
    element = "Elements", joint = "Joints and terminals", leakage = "Leakage and ground", supply = "Supply",
    thermal = "Lining, door and load", cooling = "Cooling of the panel",
    trip = "Trips and fuses", none = "No fault",
}

local danger_words = {
    [3] = "Danger: do not use it until it is repaired and proved.",
    [4] = "Danger to life: unplug it now, and do not use it until it is repaired and proved.",
}

local out = {}
local function put(text, ...)
    out[#out + 1] = select("#", ...) > 0 and text:format(...) or text
end

local function entry(term, text, class)
    if text ~= "" then
        local of_class = class and ' class="' .. class .. '"' or ""
        put("<dt>%s</dt><dd%s>%s</dd>\n", term, of_class, html(sentence(text)))
    end
end

local function put_look_alikes(fault)
    put("<dt>Looks like it, and what parts them</dt><dd><ul>\n")
    for _, other in ipairs(look_alikes(fault)) do
        local m, d = parting(fault.id, other.fault.id)
        local title = string.format('<a href="#%s">%s</a>', other.fault.id, html(other.fault.title))
        local here = m and likeliest(m, m.choices, fault.id)
        local there = m and likeliest(m, m.choices, other.fault.id)
        if not m or d < NO_PARTING then
            put("<li>%s: no question parts these two surely.</li>\n", title)
        elseif here == there then
            put("<li>%s: %s Here more often “%s” than there.</li>\n", title, html(m.question), html(here))
        else
            put("<li>%s: %s Here: %s. There: %s.</li>\n", title, html(m.question), html(here), html(there))
        end
    end
    put("</ul></dd>\n")
end

local function put_fault(fault)
    put('<article id="%s">\n<h3>%s</h3>\n', fault.id, html(sentence(fault.title):gsub("%.$", "")))
    local level = danger_words[tonumber(fault.danger_level)]
    if level then
        put('<p class="warn">%s</p>\n', level)
    end
    put("<dl>\n")
    entry("What it can do", fault.danger)
    entry("Caution", fault.caution, "warn")
    entry("What is wrong", fault.mechanism)
    entry("What the display shows", fault.signature_display)
    entry("What a log shows", fault.signature_trace)
    put_look_alikes(fault)
    entry("Repair", fault.remedy)
    entry("What proves the repair", proofs[fault.id] and proofs[fault.id].proof or "")
    entry("What can have broken it", fault.broke_by)
    entry("Rests on", fault.basis, "small")
    put("</dl>\n</article>\n")
end

local families, members = {}, {}
for _, fault in ipairs(faults) do
    if not family_titles[fault.family] then
        fail("%s: family %q has no title on the faults page", fault.where, fault.family)
    end
    if not members[fault.family] then
        members[fault.family] = {}
        families[#families + 1] = fault.family
    end
    table.insert(members[fault.family], fault)
end

local page = io.open(folder .. "/faults-page.html", "r") or fail("cannot read the page's frame")
local frame = page:read("a")
page:close()

for _, family in ipairs(families) do
    put("<p><strong>%s</strong></p><ul>\n", family_titles[family])
    for _, fault in ipairs(members[family]) do
        put('<li><a href="#%s">%s</a></li>\n', fault.id, html(fault.title))
    end
    put("</ul>\n")
end
local index = table.concat(out)
out = {}
for _, family in ipairs(families) do
    put("<h2>%s</h2>\n", family_titles[family])
    for _, fault in ipairs(members[family]) do
        put_fault(fault)
    end
end
local parts = { COUNT = #faults, INDEX = index, FAULTS = table.concat(out) }

local file = io.open(output_path, "w") or fail("cannot write %s", output_path)
file:write((frame:gsub("%f[%u]%u%u%u%u%u+%f[%U]", parts)))
file:close()
