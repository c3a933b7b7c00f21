-- How far what is said can be relied on: shares said against the share that came true, in ten bins. The floor is
-- the error that answers which are exactly right about how sure they are show by chance.

return function()
    local bins, held = {}, {}

    function held.add(claimed, right)
        local at = math.min(9, math.floor(10 * claimed))
        local bin = bins[at] or { n = 0, claimed = 0, right = 0, spread = 0 }
        bins[at] = bin
        bin.n, bin.claimed, bin.right = bin.n + 1, bin.claimed + claimed, bin.right + (right and 1 or 0)
        bin.spread = bin.spread + claimed * (1 - claimed)
    end

    function held.error_and_floor()
        local n, errors, floors = 0, 0, 0
        for at = 0, 9 do
            local bin = bins[at]
            if bin then
                n = n + bin.n
                errors = errors + math.abs(bin.claimed - bin.right)
                floors = floors + math.sqrt(2 / math.pi * bin.spread)
            end
        end
        return errors / math.max(1, n), floors / math.max(1, n)
    end

    function held.show(title)
        print(string.format("%s: error %.3f, floor %.3f", title, held.error_and_floor()))
        for at = 0, 9 do
            local bin = bins[at]
            if bin then
                local right = bin.right / bin.n
                print(string.format("  %3d to %3d %%: %3d cases, said %5.1f %%, right %5.1f %% +- %4.1f  %s", 10 * at,
                    10 * at + 10, bin.n, 100 * bin.claimed / bin.n, 100 * right,
                    100 * math.sqrt(bin.spread) / bin.n, string.rep("#", math.floor(30 * right + 0.5))))
            end
        end
    end

    return held
end
