-- A log as numbers that an observer can weigh: each with how far it scatters between two runs of one oven.
-- features.of(case, rows, random) reads the columns of the log only, with the noise and rounding of the log.

local has = { all = "output volts amps panel", output = "output", ["no-amps"] = "output volts", amps = "output amps",
    bare = "" }

local blocks = 18
local features = { blocks = blocks }

-- How unlikely a value is that the other run does not have at all.
features.unmatched = math.log(200)

local words = { under = 1, over = 2, open = 3, [""] = 4 }

local function noisy_rows(case, rows, random)
    local fahrenheit = case.oven.fahrenheit
    local columns = {}
    for name in has[case.columns]:gmatch("%S+") do
        columns[name] = true
    end
    local out = {}
    for i, row in ipairs(rows) do
        local c = { t = row.t, word = row.word and words[row.word] }
        if row.temperature then
            local t = row.temperature + (row.frozen and 0 or case.noise) * random.normal()
            local r = fahrenheit and case.resolution / 1.8 or case.resolution
            c.temperature = math.floor(t / r + 0.5) * r
        end
        if columns.output then
            c.output = row.output
            c.setpoint = row.setpoint and (row.shown_setpoint or row.setpoint)
        end
        if columns.volts then
            c.volts = row.volts > 0 and row.volts + 0.002 * case.oven.volts * random.normal() or 0
        end
        if columns.amps then
            c.amps = row.amps > 0 and row.amps * (1 + 0.004 * random.normal()) or 0
        end
        c.panel = columns.panel and row.panel
        out[i] = c
    end
    return out, columns
end

-- kind, size: where a model that is not the generator may be off, and on what scale (observer.lua).
local function put(list, value, sd, kind, size)
    list.n = list.n + 1
    list.value[list.n], list.sd[list.n] = value or false, sd or false
    list.kind[list.n], list.size[list.n] = kind or false, size or 0
end

local function share_sd(p, n)
    return 0.04 + 0.6 * math.sqrt(p * (1 - p) / n) + 0.6 / n
end

local function put_block(list, case, columns, b)
    local n = b.n
    if n == 0 then
        n = 1
    end
    local rise = b.t_n > 0 and math.abs(b.t / b.t_n - case.room) or 0
    local fine = case.noise ^ 2 + case.resolution ^ 2 / 12
    put(list, b.t_n > 0 and b.t / b.t_n, math.sqrt((0.4 + 0.003 * rise) ^ 2 + fine / math.max(1, b.t_n)),
        "degrees", rise)
    for i = 1, 4 do
        put(list, b.n > 0 and b[i] / n, share_sd(0.5 * (b[i] / n), n))
    end
    if columns.output then
        put(list, b.out_n > 0 and b.out / b.out_n, 1.2 + 12 / math.sqrt(math.max(1, b.out_n)) *
            (b.out_n > 0 and b.out / b.out_n < 99.9 and 1 or 0.05), "output",
            b.out_n > 0 and b.out / b.out_n < 99.9 and 1 or 0)
        put(list, b.set_n > 0 and b.set / b.set_n, 0.6)
    end
    if columns.volts then
        put(list, b.volts_n > 0 and b.volts / b.volts_n / case.oven.volts, 0.003 + 0.006 / math.sqrt(n))
        put(list, b.n > 0 and 1 - b.volts_n / n, share_sd(0, n))
    end
    if columns.amps then
        put(list, b.amps_n > 0 and b.amps / b.amps_n * case.oven.volts / case.oven.rated,
            0.004 + 0.006 / math.sqrt(math.max(1, b.amps_n)))
        local off = 1 - b.amps_n / n
        put(list, b.n > 0 and off, share_sd(math.max(0.1, math.min(0.9, off)), n))
    end
    if columns.volts and columns.amps then
        put(list, b.ohm_n > 0 and b.ohm / b.ohm_n * case.oven.rated / case.oven.volts ^ 2,
            0.003 + 0.006 / math.sqrt(math.max(1, b.ohm_n)))
    end
end

local function new_block()
    return { n = 0, t = 0, t_n = 0, 0, 0, 0, 0, out = 0, out_n = 0, set = 0, set_n = 0, volts = 0, volts_n = 0,
        amps = 0, amps_n = 0, ohm = 0, ohm_n = 0 }
end

local function fill_blocks(rows, last)
    local list = {}
    for i = 1, blocks do
        list[i] = new_block()
    end
    for _, row in ipairs(rows) do
        local b = list[math.min(blocks, 1 + math.floor(blocks * (row.t / last) ^ (1 / 1.4)))]
        b.n = b.n + 1
        if row.temperature then
            b.t, b.t_n = b.t + row.temperature, b.t_n + 1
        elseif row.word then
            b[row.word] = b[row.word] + 1
        end
        if row.output then
            b.out, b.out_n = b.out + row.output, b.out_n + 1
        end
        if row.setpoint then
            b.set, b.set_n = b.set + row.setpoint, b.set_n + 1
        end
        if row.volts and row.volts > 0 then
            b.volts, b.volts_n = b.volts + row.volts, b.volts_n + 1
        end
        if row.amps and row.amps > 0 then
            b.amps, b.amps_n = b.amps + row.amps, b.amps_n + 1
            if row.volts and row.volts > 0 then
                b.ohm, b.ohm_n = b.ohm + row.volts / row.amps, b.ohm_n + 1
            end
        end
    end
    return list
end

-- Root mean square of the second differences of what take(row) gives, over rows[from..to], and their greatest.
local function roughness(rows, from, to, take)
    local sum, n, greatest = 0, 0, 0
    local a, b
    for i = from, to do
        local c = take(rows[i])
        if a and b and c then
            local d = math.abs(a - 2 * b + c)
            sum, n, greatest = sum + d * d, n + 1, math.max(greatest, d)
        end
        a, b = b, c
    end
    return n > 2 and math.sqrt(sum / n) or nil, greatest, n
end

local function put_rough(list, value, n, floor)
    put(list, value and math.log(value + floor), 0.3 + 1 / math.sqrt(math.max(1, n)))
end

local function spread(rows, from, name)
    local n, sum, squares = 0, 0, 0
    for i = from, #rows do
        local value = rows[i][name]
        if value then
            n, sum, squares = n + 1, sum + value, squares + value * value
        end
    end
    return n > 3 and math.sqrt(math.max(0, squares / n - (sum / n) ^ 2)) or nil
end

local function put_whole(list, case, columns, rows)
    local n = #rows
    local fine = 0.3 * case.noise + 0.5 * case.resolution
    for third = 0, 2 do
        local value, greatest, count = roughness(rows, 1 + third * n // 3, (third + 1) * n // 3,
            function(row) return row.temperature end)
        put_rough(list, value, count, fine)
        put(list, value and math.log(greatest + 3 * fine), 0.45)
    end
    local gaps, was, first, highest = 0, true, nil, nil
    local starved, fed, low_V, low_n, full_V, full_n = 0, 0, 0, 0, 0, 0
    for _, row in ipairs(rows) do
        local is = row.temperature ~= nil
        gaps, was = gaps + (was and not is and 1 or 0), is
        first = first or row.temperature
        highest = is and math.max(highest or row.temperature, row.temperature) or highest
        if row.amps and row.output then
            starved = starved + (row.output > 99 and row.amps == 0 and 1 or 0)
            fed = fed + (row.output < 1 and row.amps > 0 and 1 or 0)
        end
        if row.volts and row.output and row.volts > 0 then
            if row.output > 99 then
                full_V, full_n = full_V + row.volts, full_n + 1
            elseif row.output < 1 then
                low_V, low_n = low_V + row.volts, low_n + 1
            end
        end
    end
    put(list, math.sqrt(gaps), 0.5)
    put(list, first, 0.5 + case.noise + 0.3 * case.resolution)
    put(list, highest, 1.2 + 0.004 * (highest and math.abs(highest - case.room) or 0))
    local late = math.floor(0.65 * n)
    local t_spread, out_spread = spread(rows, late, "temperature"), spread(rows, late, "output")
    put(list, t_spread and math.log(t_spread + 0.8 + fine), 0.3)
    if columns.output then
        put(list, out_spread and math.log(out_spread + 3), 0.35)
    end
    if columns.amps then
        put(list, math.sqrt(starved), 0.6)
        put(list, math.sqrt(fed), 0.6)
        local value, _, count = roughness(rows, 1, n, function(row)
            return row.output and row.output > 99 and row.amps > 0 and row.amps * case.oven.volts / case.oven.rated
        end)
        put_rough(list, value, count, 0.002)
    end
    if columns.volts then
        put(list, full_n > 3 and full_V / full_n / case.oven.volts, 0.003)
        put(list, low_n > 3 and low_V / low_n / case.oven.volts, 0.003)
        local value, _, count = roughness(rows, 1, n, function(row)
            return row.output and row.output > 99 and row.volts / case.oven.volts
        end)
        put_rough(list, value, count, 0.001)
    end
    if columns.panel then
        put(list, rows[1].panel, 0.7)
        put(list, rows[n].panel, 0.7)
        local value, _, count = roughness(rows, 1, n, function(row) return row.panel end)
        put_rough(list, value, count, 0.005)
    end
end

function features.of(case, rows, random)
    local list = { n = 0, value = {}, sd = {}, kind = {}, size = {} }
    local noisy, columns = noisy_rows(case, rows, random)
    for _, b in ipairs(fill_blocks(noisy, math.max(1, rows[#rows].t + case.every))) do
        put_block(list, case, columns, b)
    end
    put_whole(list, case, columns, noisy)
    return list
end

return features
