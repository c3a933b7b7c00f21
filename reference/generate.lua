-- Turns the tables of this folder into rows of C initialisers, in the build folder only.
-- usage: lua5.4 generate.lua REFERENCE_FOLDER OUTPUT_FOLDER
--
-- Each entry of `tables` below gives FILE.csv -> FILE.inc: one `{...},` a row, the named columns in order.
-- A room includes it between the braces of an array of its own struct:
--     static const struct tolerance_row tolerance_rows[] = {
--     #include "tolerances.inc"
--     };
-- Kinds: s string ("" stays ""), n number (empty becomes NAN), i integer (empty becomes 0).
-- Lines that start with # are comments in every table.

local tables = {
    -- { "tolerances.csv", { { "standard", "s" }, { "t_low_C", "n" } } },
}

local source_folder, output_folder = arg[1], arg[2]

local function fail(text, ...)
    io.stderr:write("generate.lua: ", string.format(text, ...), "\n")
    os.exit(1)
end

-- One line of comma separated values with quotes; the quoted text holds no line end.
local function split(line, where)
    local fields, at = {}, 1
    while true do
        local field
        if line:sub(at, at) == '"' then
            local parts, from = {}, at + 1
            while true do
                local quote = line:find('"', from, true)
                if not quote then
                    fail("%s: a quoted field does not end", where)
                end
                parts[#parts + 1] = line:sub(from, quote - 1)
                if line:sub(quote + 1, quote + 1) ~= '"' then
                    at = quote + 1
                    break
                end
                parts[#parts + 1] = '"'
                from = quote + 2
            end
            field = table.concat(parts)
        else
            local comma = line:find(",", at, true) or #line + 1
            field = line:sub(at, comma - 1)
            at = comma
        end
        fields[#fields + 1] = field
        if at > #line then
            return fields
        end
        if line:sub(at, at) ~= "," then
            fail("%s: text after a closing quote", where)
        end
        at = at + 1
        if at > #line then
            fields[#fields + 1] = ""
            return fields
        end
    end
end

local function read(name)
    local path = source_folder .. "/" .. name
    local file = io.open(path, "r") or fail("cannot read %s", path)
    local header, rows, number = nil, {}, 0
    for line in file:lines() do
        number = number + 1
        line = line:gsub("\r$", "")
        if line ~= "" and line:sub(1, 1) ~= "#" then
            local where = name .. ":" .. number
            local fields = split(line, where)
            if not header then
                header = fields
            else
                if #fields ~= #header then
                    fail("%s: %d fields where the header has %d", where, #fields, #header)
                end
                local row = { where = where }
                for i, key in ipairs(header) do
                    row[key] = fields[i]
                end
                rows[#rows + 1] = row
            end
        end
    end
    file:close()
    return header, rows
end

local function literal(text)
    return '"' .. text:gsub('[\\"?]', "\\%0"):gsub("[^\32-\126]", function(byte)
        return string.format("\\%03o", byte:byte())
    end) .. '"'
end

local writers = {
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
            if not known[column[1]] then
                fail("%s has no column %q", name, column[1])
            end
            cells[i] = writers[column[2]](row[column[1]], row.where .. ": " .. column[1])
        end
        output:write("{", table.concat(cells, ", "), "},\n")
    end
    output:close()
end
