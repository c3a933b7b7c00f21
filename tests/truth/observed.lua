-- Reads what observe.lua wrote. observed(case, beside a good run, may_lack): shares, class as a set, its size;
-- may_lack, when given, for a case that is not there.

return function(path)
    local rows = {}
    for line in io.lines(path) do
        local case, fault, beside, healthy, truth, likeliest, share, ids = line:match(
            "^(%d+),([%w-]+),(%w+),([%d.]+),([%d.]+),([%w-]+),([%d.]+),(.*)$")
        if case then
            local row = { fault = fault, healthy = tonumber(healthy), truth = tonumber(truth), likeliest = likeliest,
                share = tonumber(share), class = {}, size = 0 }
            for id in ids:gmatch("%S+") do
                row.class[id], row.size = true, row.size + 1
            end
            rows[case .. beside] = row
        end
    end
    return function(case, beside, may_lack)
        local row = rows[case.number .. (beside and "beside" or "alone")] or may_lack
        if not row or row.fault ~= (case.fault or "healthy") then
            error(string.format("%s does not know case %d: run observe.lua", path, case.number), 0)
        end
        return row
    end
end
