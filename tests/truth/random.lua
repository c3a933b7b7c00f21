-- A small generator of our own, so that the set is the same wherever Lua runs (splitmix64).

return function(start)
    local state = start * 0x9E3779B97F4A7C15
    local random = {}

    function random.uniform()
        state = state + 0x9E3779B97F4A7C15
        local z = state
        z = (z ~ (z >> 30)) * 0xBF58476D1CE4E5B9
        z = (z ~ (z >> 27)) * 0x94D049BB133111EB
        z = z ~ (z >> 31)
        return (z >> 11) * 2.0 ^ -53
    end

    function random.between(low, high)
        return low + (high - low) * random.uniform()
    end

    function random.pick(list)
        return list[1 + math.floor(#list * random.uniform())]
    end

    function random.normal()
        return math.sqrt(-2 * math.log(1 - random.uniform())) * math.cos(2 * math.pi * random.uniform())
    end

    return random
end
