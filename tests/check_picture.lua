-- Looks at picture files: is an SVG well-formed, has a PNG its size, has a PDF one page?
-- usage: lua5.4 tests/check_picture.lua FILE...   prints one line a file; fails on the first that is none.

local function fail(path, what, ...)
    io.stderr:write(path, ": ", what:format(...), "\n")
    os.exit(1)
end

-- Elements nest and close, attributes are quoted, references are known, no stray sign.
local function check_xml(path, text)
    local open, at, count = {}, 1, 0
    text = text:gsub("^<%?xml .-%?>\n", "")
    if text:find("&", 1, true) then
        for name in text:gmatch("&([^;]*;?)") do
            if not name:match("^%a+;$") or not ("amp; lt; gt; quot;"):find(name, 1, true) then
                fail(path, "a reference that is none: &%s", name:sub(1, 20))
            end
        end
    end
    while true do
        local from, to, slash, name, rest, closed = text:find("<(/?)([%a]+)([^<>]-)(/?)>", at)
        local words = text:sub(at, (from or 0) - 1)
        if words:find("[<>]") then
            fail(path, "a stray sign near %q", words:sub(1, 40))
        end
        if not from then
            break
        end
        count = count + 1
        if slash == "/" then
            if table.remove(open) ~= name then
                fail(path, "</%s> closes what is not open", name)
            end
        else
            if rest:gsub('%s+[%w:-]+="[^"<]*"', ""):find("%S") then
                fail(path, "attributes of <%s>: %s", name, rest)
            end
            if closed ~= "/" then
                open[#open + 1] = name
            end
        end
        at = to + 1
    end
    if #open > 0 or count == 0 then
        fail(path, "%d elements, %d not closed", count, #open)
    end
    if not utf8.len(text) then
        fail(path, "not UTF-8")
    end
    return "svg " .. (text:match('viewBox="0 0 ([%d. ]+)"') or "?")
end

local function check_png(path, bytes)
    if bytes:sub(13, 16) ~= "IHDR" or bytes:sub(-8, -5) ~= "IEND" then
        fail(path, "a PNG without its first or last part")
    end
    local width, height = (">I4I4"):unpack(bytes, 17)
    return ("png %d %d"):format(width, height)
end

local function check_pdf(path, bytes)
    if not bytes:find("%%%%EOF%s*$") then
        fail(path, "a PDF without its end")
    end
    if bytes:find("/CreationDate", 1, true) or bytes:find("/ModDate", 1, true) then
        fail(path, "holds the time of its making")
    end
    return "pdf pages " .. (bytes:match("/Count (%d+)") or "?")
end

for _, path in ipairs(arg) do
    local file = assert(io.open(path, "rb"))
    local bytes = file:read("a")
    file:close()
    if bytes:sub(1, 8) == "\137PNG\r\n\26\n" then
        print(check_png(path, bytes))
    elseif bytes:sub(1, 5) == "%PDF-" then
        print(check_pdf(path, bytes))
    elseif bytes:sub(1, 5) == "<?xml" then
        print(check_xml(path, bytes))
    else
        fail(path, "is no picture")
    end
end
