-- The rule of thumb to beat: a few thresholds on the samples and the description's marks.

return function(case, rows, marks)
    local first, last, highest, out
    for _, row in ipairs(rows) do
        if row.temperature then
            first = first or row.temperature
            last = row.temperature
            highest = math.max(highest or last, last)
        else
            out = row.word
        end
    end
    if not first or out == "open" or out == "over" then
        return "sensor-open"
    elseif out == "under" or last < first - 5 then
        return "sensor-reversed"
    elseif out then
        return "breaker-overload"
    elseif highest - first < 15 or last < highest - 60 then
        return "element-open"
    elseif highest > case.top + 40 then
        return "relay-shorted"
    end
    for _, mark in ipairs(marks) do
        local at
        for _, row in ipairs(rows) do
            if row.temperature and row.temperature >= mark.to then
                at = row.t
                break
            end
        end
        if mark.to < case.top and (not at and rows[#rows].t > mark.within or at and at > mark.within) then
            return (not at or at > 1.8 * mark.within) and "element-branch-open" or "element-aged"
        end
    end
    return "healthy"
end
