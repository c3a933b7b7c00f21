-- Thermocouples by tables: the ITS-90 functions (NIST Monograph 175) worked out once for each degree, a line
-- between two entries. usage: local couples = dofile("couples.lua")(FILE_OF_COEFFICIENTS)

local function fields_of(line)
    local fields = {}
    for field in (line .. ","):gmatch("([^,]*),") do
        fields[#fields + 1] = field
    end
    return fields
end

local function emf_of(pieces, t)
    for _, piece in ipairs(pieces) do
        if t <= piece.high then
            local sum = 0
            for power = #piece, 1, -1 do
                sum = sum * t + piece[power]
            end
            return sum + (piece.a0 and piece.a0 * math.exp(piece.a1 * (t - piece.a2) ^ 2) or 0)
        end
    end
end

return function(path)
    local pieces = {}
    for line in io.lines(path) do
        local row = fields_of(line)
        if row[2] and tonumber(row[2]) then
            local list = pieces[row[1]] or {}
            pieces[row[1]] = list
            local piece = { low = tonumber(row[2]), high = tonumber(row[3]), a0 = tonumber(row[5]),
                a1 = tonumber(row[6]), a2 = tonumber(row[7]) }
            for power = 0, math.tointeger(tonumber(row[4])) do
                piece[power + 1] = tonumber(row[8 + power])
            end
            list[#list + 1] = piece
        end
    end
    local tables = {}
    for name, list in pairs(pieces) do
        table.sort(list, function(a, b) return a.low < b.low end)
        local t = { low = math.ceil(list[1].low), high = math.floor(list[#list].high) }
        for degree = t.low, t.high do
            t[degree] = emf_of(list, degree)
        end
        tables[name] = t
    end

    local couples = {}

    function couples.emf(name, t)
        if name == "copper" then
            return 0
        end
        local row = tables[name]
        t = math.max(row.low, math.min(row.high - 1e-6, t))
        local at = math.floor(t)
        return row[at] + (row[at + 1] - row[at]) * (t - at)
    end

    -- The temperature, or nil and "under" or "over". The couple's emf rises from `from` up.
    function couples.temperature(name, emf)
        local row = tables[name]
        local low = name == "B" and 43 or math.max(row.low, -200)
        local high = row.high
        if emf < row[low] then
            return nil, "under"
        elseif emf > row[high] then
            return nil, "over"
        end
        while high - low > 1 do
            local middle = (low + high) // 2
            if row[middle] <= emf then
                low = middle
            else
                high = middle
            end
        end
        return low + (emf - row[low]) / (row[high] - row[low])
    end

    return couples
end
