-- Reads the tables of this folder for the scripts beside it: comma separated values with quotes, the first
-- line that is no comment is the header.
-- Gives a function read(folder, name, fail): header, rows; a row holds its
-- cells by column and `where`, its file and line. `fail(format, ...)` must not return.

-- One line; quoted text holds no line end.
local function split(line, where, fail)
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

local function read(folder, name, fail)
    local path = folder .. "/" .. name
    local file = io.open(path, "r") or fail("cannot read %s", path)
    local header, rows, number = nil, {}, 0
    for line in file:lines() do
        number = number + 1
        line = line:gsub("\r$", "")
        if line ~= "" and line:sub(1, 1) ~= "#" then
            local where = name .. ":" .. number
            local fields = split(line, where, fail)
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

return read
