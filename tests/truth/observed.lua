-- Reads what observe.lua wrote. observed(case number, beside a good run, may_lack): shares, class as a set, its
-- size; may_lack, when given, for a case that is not there.

return function(path)
    local rows = {}
    for line in io.lines(path) do
        local case, beside, healthy, truth, likeliest, share, ids = line:match(
            "^(%d+),(%w+),([%d.]+),([%d.]+),([%w-]+),([%d.]+),(.*)$")
        if case then
            local row = { healthy = tonumber(healthy), truth = tonumber(truth), likeliest = likeliest,
                share = tonumber(share), class = {}, size = 0 }
            for id in ids:gmatch("%S+") do
                row.class[id], row.size = true, row.size + 1
            end
            rows[case .. beside] = row
        end
    end
    return function(case, beside, may_lack)
        return rows[case .. (beside and "beside" or "alone")] or
            may_lack or error(path .. " does not know case " .. case .. ": run observe.lua", 0)
    end
end
