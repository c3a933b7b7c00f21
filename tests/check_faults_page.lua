-- Holds the faults page against faults.csv and against what a page without script may hold.
-- usage: lua5.4 check_faults_page.lua FAULTS.html REFERENCE_FOLDER
local path, folder = arg[1], arg[2]
local failures = 0

local function check(holds, text, ...)
    if not holds then
        failures = failures + 1
        print(string.format("FAILED: " .. text, ...))
    end
end

local read = dofile(folder .. "/csv.lua")
local file = assert(io.open(path, "r"))
local page = file:read("a")
file:close()

local _, faults = read(folder, "faults.csv", error)
check(#faults > 50, "only %d faults in the table", #faults)
for _, fault in ipairs(faults) do
    local _, places = page:gsub('<article id="' .. fault.id:gsub("%-", "%%-") .. '">', "")
    check(places == 1, "%s stands on the page %d times", fault.id, places)
    local article = page:match('<article id="' .. fault.id:gsub("%-", "%%-") .. '">(.-)</article>') or ""
    check(article:find("<dt>Repair</dt>", 1, true), "%s: no repair", fault.id)
    check(article:find("<dt>What proves the repair</dt>", 1, true), "%s: no proof of the repair", fault.id)
    local _, alike = article:gsub("<li>", "")
    check(alike == 3, "%s: %d look-alikes", fault.id, alike)
    check(not article:find('href="#' .. fault.id .. '"', 1, true), "%s: looks like itself", fault.id)
    local grave = tonumber(fault.danger_level) >= 3
    local said = article:find('<p class="warn">Danger', 1, true) ~= nil
    check(grave == said, "%s: its danger", fault.id)
end

-- Nothing that runs or reaches out.
local reaching = { "<script", "://", "src=", "@import", "url(", "<iframe", "<form", "onclick" }
for _, word in ipairs(reaching) do
    check(not page:lower():find(word, 1, true), "the page holds %s", word)
end

-- Every tag that is opened is closed, innermost first; every link leads somewhere.
local void, open = { meta = true, ["!DOCTYPE"] = true }, {}
for slash, tag in page:gmatch("<(/?)([!%a][%w]*)[^>]*>") do
    if slash == "/" then
        local last = table.remove(open)
        check(last == tag, "</%s> closes <%s>", tag, tostring(last))
    elseif not void[tag] then
        open[#open + 1] = tag
    end
end
check(#open == 0, "<%s> stays open", tostring(open[#open]))
for id in page:gmatch('href="#([^"]+)"') do
    check(page:find('id="' .. id .. '"', 1, true), "no place %s", id)
end

-- What parts two well-known look-alikes: colours at the joints tell an extension crossed at both ends
-- from one of another metal without power (common practice, no published source).
local extension = page:match('<article id="extension%-reversed">(.-)</article>') or ""
check(extension:find('href="#extension-wrong-type"', 1, true), "extension-reversed: its nearest look-alike")
check(extension:find("Here: crossed at two joints. There: colours of two families.", 1, true),
    "extension-reversed: the colours part it")

if failures > 0 then
    os.exit(1)
end
print(#faults .. " faults on the page")
