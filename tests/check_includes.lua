-- Reads the #include graph of core/ and fails on an arrow that points the wrong way.
-- usage: lua5.4 tests/check_includes.lua TREE
--
-- The rooms stand in one order; a room may include only itself and rooms printed above it. A library room
-- may not include a tool room, the standard input and output, the clock, the locale or any other library.
-- Every room has its public header and every header its room. A public header past 600 lines is split into
-- ROOM.h, which others include, and ROOM_PART.h, which ROOM.h includes.

local tree = arg[1] or "."

local order = {
    "base", "text", "thermocouple", "metrology", "oven", "electrical", "thermal", "trace", "diagnosis",
    "instrument", "store", "lua", "picture", "page", "command",
}
local last_library_room = 9
local place = {}
for i, room in ipairs(order) do
    place[room] = i
end

-- What a library room may take from outside: the language, memory and number functions. stdio.h is there
-- for snprintf alone; the calls are looked for below.
local allowed_outside = {}
for _, name in ipairs({
    "assert.h", "ctype.h", "errno.h", "float.h", "limits.h", "math.h", "stdarg.h", "stdbool.h", "stddef.h",
    "stdint.h", "stdio.h", "stdlib.h", "string.h", "immintrin.h",
}) do
    allowed_outside[name] = true
end

-- Calls that a library room may not make: input and output, the clock, the locale, the heap, the environment.
local forbidden_calls = {
    "fopen", "fread", "fwrite", "fputs", "puts", "printf", "fprintf", "getenv", "time", "clock", "setlocale",
    "localeconv", "malloc", "calloc", "realloc", "free", "exit", "abort", "rand", "srand", "system", "strtod",
    "atof", "scanf", "sscanf", "open", "read", "write",
}

local problems = {}
local function problem(text, ...)
    problems[#problems + 1] = string.format(text, ...)
end

-- The room of a public header: "electrical" of electrical and of electrical_circuit.
local function room_of_header(name)
    local room = name:match("^([%w_]+)$")
    if room and place[room] == nil and place[room:match("^%a+")] then
        return room:match("^%a+")
    end
    return room
end

local function room_of(path)
    local header = path:match("^core/include/ovenproof/([%w_]+)%.h$")
    return header and room_of_header(header) or path:match("^core/([%w_]+)/")
end

local function check_include(path, line, room, name, quoted)
    local where = path .. ":" .. line
    if not quoted then
        if place[room] <= last_library_room and not allowed_outside[name] then
            problem("%s: library room %s includes <%s>", where, room, name)
        end
        return
    end
    local header = name:match("^ovenproof/([%w_]+)%.h$")
    local target = header and room_of_header(header) or name:match("^([%w_]+)/")
    if target == nil then
        return -- a file of the same folder, or a generated table
    end
    if target == "ovenproof" and place[room] > last_library_room then
        return -- the tool may take the whole library at once
    end
    if place[target] == nil then
        problem("%s: %s includes \"%s\", which is no room of the house", where, room, name)
    elseif place[target] > place[room] then
        problem("%s: %s includes %s, which stands below it", where, room, target)
    elseif header and header ~= target and header ~= "ovenproof" and target ~= room then
        problem("%s: %s includes a part of %s: include ovenproof/%s.h", where, room, target, target)
    elseif name:match("_internal%.h$") and target ~= room then
        problem("%s: %s includes the private header of %s", where, room, target)
    end
end

local function without_comments_and_strings(text)
    text = text:gsub("/%*.-%*/", function(comment)
        return comment:gsub("[^\n]", " ")
    end)
    text = text:gsub('"[^"\n]*"', '""')
    return (text:gsub("//[^\n]*", ""))
end

local function check_calls(path, text)
    for line_number, line in (function()
        local number = 0
        local next_line = without_comments_and_strings(text):gmatch("([^\n]*)\n?")
        return function()
            local found = next_line()
            number = number + 1
            return found and number, found
        end
    end)() do
        for _, call in ipairs(forbidden_calls) do
            local at = line:find("%f[%w_]" .. call .. "%s*%(")
            if at and line:sub(1, at - 1):match("[%.>]%s*$") == nil then
                problem("%s:%d: a library room calls %s()", path, line_number, call)
            end
        end
    end
end

local function check_file(path)
    local room = room_of(path)
    if path == "core/include/ovenproof/ovenproof.h" then
        return
    end
    if room == nil or place[room] == nil then
        problem("%s stands in no room of the house", path)
        return
    end
    local file = assert(io.open(tree .. "/" .. path, "r"))
    local text = file:read("a")
    file:close()
    local number = 0
    for line in (text .. "\n"):gmatch("([^\n]*)\n") do
        number = number + 1
        local quoted = line:match('^%s*#%s*include%s+"([^"]+)"')
        local angled = line:match("^%s*#%s*include%s+<([^>]+)>")
        if quoted or angled then
            check_include(path, number, room, quoted or angled, quoted ~= nil)
        end
    end
    if place[room] <= last_library_room and path:match("%.c$") then
        check_calls(path, text)
    end
    if number > 601 then
        problem("%s has %d lines: time to split it at 600", path, number - 1)
    end
end

local listing = assert(io.popen("cd '" .. tree .. "' && find core -name '*.[ch]' | sort"))
local count, rooms_seen = 0, {}
for path in listing:lines() do
    check_file(path)
    count = count + 1
    local room = path:match("^core/([%w_]+)/[%w_]+%.c$")
    if room then
        rooms_seen[room] = true
    end
end
listing:close()

-- A host program (a generator that runs at build time) is no part of the library.
for i = 1, last_library_room do
    local header = io.open(tree .. "/core/include/ovenproof/" .. order[i] .. ".h")
    if rooms_seen[order[i]] and not header then
        problem("room %s has no public header", order[i])
    elseif header and not rooms_seen[order[i]] then
        problem("room %s has a header and no code", order[i])
    end
    if header then
        header:close()
    end
end

for _, text in ipairs(problems) do
    print(text)
end
if count == 0 then
    print("no files found below " .. tree .. "/core")
end
print(string.format("%d files read: %d passed, %d failed", count, count - #problems, #problems))
os.exit(#problems == 0 and count > 0)
