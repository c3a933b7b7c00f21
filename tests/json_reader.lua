-- A strict JSON reader for the tests. read(text) gives the value, or nil and what is wrong;
-- follow(value, path) one value of it; show(value) the value in a line. Arrays are { is_array = true, n = N,
-- ... }, objects { fields = {...} }, null is a value of its own.

local escapes = { b = "\b", f = "\f", n = "\n", r = "\r", t = "\t", ['"'] = '"', ["\\"] = "\\", ["/"] = "/" }

local null = setmetatable({}, { __tostring = function() return "null" end })

local function read_json(text)
    local at = 1
    local value

    local function complain(what)
        error({ json = string.format("%s at byte %d", what, at) }, 0)
    end

    local function blanks()
        at = text:find("[^ \t\r\n]", at) or #text + 1
    end

    local function utf8_of(code)
        return utf8.char(code)
    end

    local function read_string()
        local parts = {}
        at = at + 1
        while true do
            local from, to = text:find('^[^"\\\0-\31]+', at)
            if from then
                parts[#parts + 1] = text:sub(from, to)
                at = to + 1
            end
            local letter = text:sub(at, at)
            if letter == '"' then
                at = at + 1
                return table.concat(parts)
            elseif letter ~= "\\" then
                complain("a string does not end, or holds a control character")
            end
            local escape = text:sub(at + 1, at + 1)
            local plain = escapes[escape]
            if plain then
                parts[#parts + 1] = plain
                at = at + 2
            else
                local code = text:match("^u(%x%x%x%x)", at + 1)
                if not code then
                    complain("a wrong escape")
                end
                code = tonumber(code, 16)
                at = at + 6
                if code >= 0xD800 and code < 0xDC00 then
                    local low = text:match("^\\u([dD][c-fC-F]%x%x)", at)
                    if not low then
                        complain("half a surrogate pair")
                    end
                    code = 0x10000 + (code - 0xD800) * 0x400 + tonumber(low, 16) - 0xDC00
                    at = at + 6
                end
                parts[#parts + 1] = utf8_of(code)
            end
        end
    end

    local function read_number()
        local number = text:match("^-?%d+%.?%d*[eE]?[+-]?%d*", at)
        local valid = number and (number:match("^-?[1-9]%d*") or number:match("^-?0"))
        local rest = valid and number:sub(#valid + 1)
        if not rest or not (rest == "" or rest:match("^%.%d+$") or rest:match("^[eE][+-]?%d+$")
            or rest:match("^%.%d+[eE][+-]?%d+$")) then
            complain("no value")
        end
        at = at + #number
        return tonumber(number)
    end

    local function read_array()
        local array = { is_array = true, n = 0 }
        at = at + 1
        blanks()
        if text:sub(at, at) == "]" then
            at = at + 1
            return array
        end
        while true do
            array.n = array.n + 1
            array[array.n] = value()
            blanks()
            local letter = text:sub(at, at)
            at = at + 1
            if letter == "]" then
                return array
            elseif letter ~= "," then
                complain("an array without , or ]")
            end
        end
    end

    local function read_object()
        local object = { fields = {} }
        at = at + 1
        blanks()
        if text:sub(at, at) == "}" then
            at = at + 1
            return object
        end
        while true do
            blanks()
            if text:sub(at, at) ~= '"' then
                complain("an object without a key")
            end
            local key = read_string()
            if object.fields[key] ~= nil then
                complain("the key \"" .. key .. "\" comes twice")
            end
            blanks()
            if text:sub(at, at) ~= ":" then
                complain("a key without :")
            end
            at = at + 1
            object.fields[key] = value()
            blanks()
            local letter = text:sub(at, at)
            at = at + 1
            if letter == "}" then
                return object
            elseif letter ~= "," then
                complain("an object without , or }")
            end
        end
    end

    function value()
        blanks()
        local letter = text:sub(at, at)
        if letter == "{" then
            return read_object()
        elseif letter == "[" then
            return read_array()
        elseif letter == '"' then
            return read_string()
        end
        for word, constant in pairs({ ["true"] = true, ["false"] = false, null = null }) do
            if text:sub(at, at + #word - 1) == word then
                at = at + #word
                return constant
            end
        end
        return read_number()
    end

    local good, result = pcall(function()
        if not utf8.len(text) then
            complain("not valid UTF-8")
        end
        local document = value()
        blanks()
        if at <= #text then
            complain("something behind the document")
        end
        return document
    end)
    if good then
        return result
    end
    if type(result) == "table" and result.json then
        return nil, result.json
    end
    error(result, 0)
end

local function show(value)
    if value == nil then
        return "nothing"
    elseif value == null or type(value) == "boolean" then
        return tostring(value)
    elseif type(value) == "number" then
        local short = string.format("%.15g", value)
        return tonumber(short) == value and short or string.format("%.17g", value)
    elseif type(value) == "string" then
        return '"' .. value .. '"'
    elseif value.is_array then
        local parts = {}
        for i = 1, math.min(value.n, 8) do
            parts[i] = show(value[i])
        end
        return "[" .. table.concat(parts, ",") .. (value.n > 8 and ",..." or "") .. "]"
    end
    local keys = {}
    for key in pairs(value.fields) do
        keys[#keys + 1] = key
    end
    table.sort(keys)
    return "an object with " .. table.concat(keys, " ")
end

-- One [..] of a path: a number from 0, negative from the end, or field=word.
local function pick(array, index)
    if type(array) ~= "table" or not array.is_array then
        return nil
    end
    local number = tonumber(index)
    if number then
        return array[number >= 0 and number + 1 or array.n + 1 + number]
    end
    local field, word = index:match("^([%w_]+)=(.*)$")
    for i = 1, array.n do
        local member = array[i]
        local found = type(member) == "table" and member.fields and member.fields[field]
        if found ~= nil and (tostring(found) == word or found == tonumber(word)) then
            return member
        end
    end
    return nil
end

local function member(value, name)
    if type(value) == "table" and value.fields then
        return value.fields[name]
    end
    return nil
end

local function follow(document, path)
    local value = document
    local at = 1
    while at <= #path do
        local name, after = path:match("^%.?([%w_%-]+)()", at)
        local index, after_index = path:match("^%[([^%]]+)%]()", at)
        if name then
            value = member(value, name)
            at = after
        elseif index then
            value = pick(value, index)
            at = after_index
        else
            return nil, "this is no path: " .. path
        end
        if value == nil then
            return nil
        end
    end
    return value
end

return { read = read_json, follow = follow, show = show }
