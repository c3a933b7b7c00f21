-- From log likelihoods to what could be parted. verdict(logs, truth, healthy_share): see observe.lua.

local threshold = 0.05

local function shares(logs, healthy)
    local count, greatest = 0, -math.huge
    for id, value in pairs(logs) do
        count = count + (id ~= "healthy" and 1 or 0)
        greatest = math.max(greatest, value)
    end
    local out, sum = {}, 0
    for id, value in pairs(logs) do
        out[id] = math.exp(value - greatest) * (id == "healthy" and healthy or (1 - healthy) / count)
        sum = sum + out[id]
    end
    for id, value in pairs(out) do
        out[id] = value / sum
    end
    return out
end

return function(logs, truth, healthy_share)
    local stated, of_set = shares(logs, 0.5), shares(logs, healthy_share)
    local row = { healthy = stated.healthy, truth = stated[truth], share = -1, class = {} }
    for id, share in pairs(of_set) do
        if share > row.share or share == row.share and id < row.likeliest then
            row.likeliest, row.share = id, share
        end
    end
    for id, share in pairs(stated) do
        local beside_truth = share / (share + math.max(1e-300, stated[truth]))
        if id == truth or id ~= "healthy" and beside_truth >= threshold or
            id == "healthy" and share >= threshold then
            row.class[#row.class + 1] = id
        end
    end
    table.sort(row.class)
    return row
end
