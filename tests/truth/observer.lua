-- What an ideal observer could part: one who knows the generator (physics, controller, how each fault works, how
-- far ovens of one description differ) and has the log, but not what is wrong. For a case it runs the generator
-- under every fault at several amounts and tells how likely the log is under each.
--
-- The log is weighed by its features (features.lua), each with its own scatter. What differs from oven to oven
-- (`unknowns`: spread, where the description puts it) moves the features in straight lines about the oven as it
-- is, found by changing one at a time. Faults that work by chance are run several times, for mean and scatter.
-- An amount that lies between two that were tried is found by two steps of the same straight lines. A good run
-- of the same oven narrows the unknowns of the oven before the log is weighed.

local here = arg[0]:match("^(.*)/[^/]*$") or "."
local features = dofile(here .. "/features.lua")
local gauss = dofile(here .. "/gauss.lua")

-- What a description leaves open, and by how much (one standard deviation). `oven`: the same on another day.
local unknowns = {
    { name = "watts", oven = true, mean = function(o) return o.rated end, sd = function(o) return 0.029 * o.rated end },
    { name = "k", oven = true, mean = function() return 1 end, sd = function() return 0.058 end },
    { name = "capacity", oven = true, mean = function() return 1 end, sd = function() return 0.04 end },
    { name = "fittings", oven = true, mean = function() return 1 end, sd = function() return 0.15 end },
    { name = "lag", oven = true, mean = function() return 23.5 end, sd = function() return 6.6 end },
    { name = "head", oven = true, mean = function() return 0.055 end, sd = function() return 0.0144 end },
    { name = "band", oven = true, mean = function() return 45 end, sd = function() return 8 end },
    { name = "ti", oven = true, mean = function() return 260 end, sd = function() return 50 end },
    { name = "panel", oven = true, mean = function() return 0.015 end, sd = function() return 0.003 end },
    { name = "room", mean = function(_, case) return case.room end, sd = function() return 0.7 end },
    { name = "volts", mean = function() return 1 end, sd = function() return 0.0087 end },
}

-- Kinds of healthy run that the log does not announce, twelfths of all.
local hidden_kinds = { ["fan cycling"] = 1, ["shared feeder"] = 1, ["supply 5 % low"] = 1, ["supply 4 % high"] = 1,
    ["light load"] = 1 }

-- Faults that work by chance, and how many runs tell how.
local by_chance = { ["sensor-intermittent"] = 5, ["input-noise"] = 2, ["plug-worn"] = 4, ["relay-overheated"] = 5,
    ["joint-loose-element"] = 4, ["joint-loose-block"] = 4 }

local from_then_on = "min" -- unit of faults that begin at some minute
local tried = { default = 4, none = 1, type = 2 }

local function copy(from)
    local to = {}
    for key, value in pairs(from) do
        to[key] = value
    end
    return to
end

return function(set, make, couples)
    local observer = {}

    -- Chance for runs that are to show what is expected: the line does not wander.
    local function quiet(start)
        local random = set.random(start)
        random.normal = function() return 0 end
        return random
    end

    -- One run as the log would show it: faults by chance with all chance, the others without the line's wander.
    local function run(world, case, start)
        local chance = by_chance[case.fault] ~= nil
        local random = chance and set.random(start) or quiet(start)
        local rows = make.rows(set, couples, case, world.times, case.fault ~= nil, random)
        return features.of(case, rows, set.random(start + 17))
    end

    local function mean_of(runs)
        local first = runs[1]
        if #runs == 1 then
            return first
        end
        local out = { n = first.n, value = {}, sd = {}, kind = first.kind, size = first.size }
        for f = 1, first.n do
            local n, sum, squares, sd = 0, 0, 0, 0
            for _, r in ipairs(runs) do
                local value = r.value[f]
                if value then
                    n, sum, squares, sd = n + 1, sum + value, squares + value * value, math.max(sd, r.sd[f])
                end
            end
            out.value[f] = n > 0 and sum / n
            if n > 0 then
                local scatter = n > 1 and (squares - sum * sum / n) / (n - 1) * (1 + 1 / n) or 0
                out.sd[f] = math.sqrt(sd * sd + math.max(0, scatter))
            end
        end
        return out
    end

    local function expected(world, case)
        local key = string.format("%s|%s|%.5g|%.2f|%s", case.kind or "", case.same or case.fault or "",
            case.amount or 0, case.u or 0, case.moved or "")
        local seen = world.seen[key]
        if not seen then
            local runs = {}
            for i = 1, by_chance[case.fault] or 1 do
                runs[i] = run(world, case, case.seed + 1000 * i)
            end
            seen = mean_of(runs)
            world.seen[key] = seen
        end
        return seen
    end

    -- How the features move with one standard deviation of each unknown.
    local function slopes(world, case)
        local at = expected(world, case)
        local out = {}
        for i, unknown in ipairs(unknowns) do
            local moved = copy(case)
            local sd = unknown.sd(case.oven)
            moved.moved = unknown.name
            moved.oven = copy(case.oven)
            if unknown.name == "room" then
                moved.room = case.room + sd
            elseif unknown.name == "volts" then
                moved.tweak = function(f) f.volts = (f.volts or 1) * (1 + sd) end
            else
                moved.oven[unknown.name] = case.oven[unknown.name] + sd
            end
            local there = expected(world, moved)
            local column = {}
            for f = 1, at.n do
                local a, b = at.value[f], there.value[f]
                column[f] = a and b and b - a or 0
            end
            out[i] = column
        end
        return out
    end

    local function starting_mean(case, base)
        local mean = {}
        for i, unknown in ipairs(unknowns) do
            local is = case.oven[unknown.name]
            if unknown.name == "room" then
                mean[i] = 0
            elseif unknown.name == "volts" then
                mean[i] = (1 - base.volts / case.oven.volts) / unknown.sd(case.oven)
            else
                mean[i] = (unknown.mean(case.oven, case) - is) / unknown.sd(case.oven)
            end
        end
        return mean
    end

    local function difference(seen, at)
        local r, sd, unmatched = {}, {}, 0
        for f = 1, at.n do
            local a, b = seen.value[f], at.value[f]
            if a and b then
                r[f], sd[f] = a - b, math.max(at.sd[f], seen.sd[f])
            else
                r[f], sd[f] = false, 1
                if a or b then
                    unmatched = unmatched + features.unmatched - math.log(a and seen.sd[f] or at.sd[f])
                end
            end
        end
        return r, sd, unmatched
    end

    -- The unknowns after a good run of the same oven: mean, and the directions that are left (a triangle).
    local function after_good_run(world, case, mean)
        local rows, good = make.good_run(set, couples, case, world.times)
        local other = { times = world.times, seen = {} }
        good.seed = case.seed + 9
        local columns = slopes(other, good)
        local own = copy(mean)
        own[#unknowns - 1] = 0
        own[#unknowns] = (1 - good.volts / case.oven.volts) / unknowns[#unknowns].sd(case.oven)
        if good.kind and good.kind:find("^supply") then
            own[#unknowns] = 0
        end
        local seen = features.of(good, rows, set.random(case.seed + 2))
        local r, sd = difference(seen, expected(other, good))
        local a, b = gauss.information(r, sd, columns, own)
        local k = #unknowns
        gauss.cholesky(a, k)
        local shift = gauss.solve(a, k, b)
        local left = {}
        for i = 1, k do
            local unit = {}
            for j = 1, k do
                unit[j] = i == j and 1 or 0
            end
            left[i] = gauss.solve(a, k, unit)
        end
        local out = {}
        for i, unknown in ipairs(unknowns) do
            out[i] = unknown.oven and own[i] + shift[i] or mean[i]
            for j, other_one in ipairs(unknowns) do
                if not (unknown.oven and other_one.oven) then
                    left[i][j] = i == j and 1 or 0
                end
            end
        end
        gauss.cholesky(left, k)
        return out, left
    end

    -- The slopes along the directions that are left.
    local function turned(columns, left)
        if not left then
            return columns
        end
        local out = {}
        for j = 1, #columns do
            local column = {}
            for f = 1, #columns[1] do
                local sum = 0
                for i = j, #columns do
                    sum = sum + columns[i][f] * left[i][j]
                end
                column[f] = sum
            end
            out[j] = column
        end
        return out
    end

    local function shifted(r, columns, mean)
        local out = {}
        for f = 1, #r do
            local value = r[f]
            if value then
                for i = 1, #columns do
                    value = value - columns[i][f] * mean[i]
                end
            end
            out[f] = value
        end
        return out
    end

    local function begins(fault)
        return set.faults[fault].severity_unit == from_then_on
    end

    -- The amounts to try of a fault: the middle of each section of its range, and half a section's width. When a
    -- fault may begin is judgement and no law: whatever begins may have begun when the truth did.
    local function amounts(case, fault)
        local row = set.faults[fault]
        if begins(fault) and case.fault and begins(case.fault) then
            return { { amount = case.amount, u = case.u, half = 0, share = 1, middle = case.amount } }
        end
        local low, high = tonumber(row.mild), tonumber(row.severe)
        local n = tried[row.severity_unit] or by_chance[fault] and 3 or tried.default
        local list, half = {}, (high - low) / (2 * n)
        for i = 1, n do
            local middle = low + (2 * i - 1) * half
            list[i] = { amount = middle, u = (i - 0.5) / n, half = half, share = 1 / n, middle = middle }
            local same = case.fault and set.apply[fault] == set.apply[case.fault]
            if same and math.abs(case.amount - middle) <= math.abs(half) * (1 + 1e-9) then
                list[i].amount, list[i].u = case.amount, case.u
            end
        end
        return list
    end

    local function with(base, fault, node)
        local case = copy(base)
        case.fault, case.amount, case.u = fault, node.amount, node.u
        -- faults that are the same change to the oven share their runs
        local f = { k = base.oven.k }
        local plain_run = { top = base.top }
        set.apply[fault](f, node.amount, base.oven, node.u, plain_run)
        local keys = {}
        for key, value in pairs(f) do
            keys[#keys + 1] = string.format("%s=%s", key, type(value) == "number" and string.format("%.6g", value) or
                tostring(value))
        end
        table.sort(keys)
        case.same = table.concat(keys, ",")
        return case
    end

    -- How the features move over half a section of the amount: from the neighbours, or from a small step.
    local function slope_of_amount(world, hypothesis, node, at, fine)
        local unit = set.faults[hypothesis.fault].severity_unit
        if node.half == 0 or unit == "none" or unit == "type" or begins(hypothesis.fault) then
            return nil
        end
        local from, width = at, 0.25
        local to
        if fine and not by_chance[hypothesis.fault] then
            local step = copy(node)
            step.amount = node.amount + width * node.half
            to = expected(world, with(world.base, hypothesis.fault, step))
        else
            local nodes = hypothesis.nodes
            local i = 1
            while nodes[i] ~= node do
                i = i + 1
            end
            local low, high = nodes[math.max(1, i - 1)], nodes[math.min(#nodes, i + 1)]
            from = expected(world, with(world.base, hypothesis.fault, low))
            to = expected(world, with(world.base, hypothesis.fault, high))
            width = (high.amount - low.amount) / node.half
        end
        local column = {}
        for f = 1, at.n do
            local a, b = from.value[f], to.value[f]
            column[f] = a and b and (b - a) / width / math.sqrt(3) or 0
        end
        return column
    end

    -- Where the model of an observer who does not know the generator may be off, all along the run in one way:
    -- in what it makes of the rise, early, and hot, by 3 % each, and of the output that holds, by 3 of 100. Beside
    -- a good run a quarter of that is left.
    local function model_errors(at, knows)
        local out = {}
        if not knows.loose then
            return out
        end
        local scale = knows.left and 0.25 or 1
        local shapes = {
            function(kind, size) return kind == "degrees" and 0.03 * size or 0 end,
            function(kind, size, f) return kind == "degrees" and 0.03 * size * math.exp(-f / at.n * 5) or 0 end,
            function(kind, size) return kind == "degrees" and 0.03 * size * size / 800 or 0 end,
            function(kind, size) return kind == "output" and 3 * size or 0 end,
        }
        for i, shape in ipairs(shapes) do
            local column = {}
            for f = 1, at.n do
                column[f] = scale * shape(at.kind[f], at.size[f], f)
            end
            out[i] = column
        end
        return out
    end

    local function weigh(world, hypothesis, node, columns, knows, fine)
        local at = expected(world, with(world.base, hypothesis.fault, node))
        local r, sd, unmatched = difference(world.log, at)
        local all = turned(columns, knows.left)
        local list = { table.unpack(all) }
        local mean = {}
        r = shifted(r, columns, knows.mean)
        for _, errors in ipairs(model_errors(at, knows)) do
            list[#list + 1] = errors
        end
        local scale = node.half / math.sqrt(3)
        local column = slope_of_amount(world, hypothesis, node, at, fine)
        if column then
            list[#list + 1] = column
            mean[#list] = (node.middle - node.amount) / scale
        end
        local density, x = gauss.density(r, sd, list, mean)
        local moved = column and node.amount + x[#list] * scale or nil
        return density - unmatched + math.log(node.share), moved
    end

    local function within(node, amount)
        local low, high = node.middle - math.abs(node.half), node.middle + math.abs(node.half)
        return math.max(low, math.min(high, amount))
    end

    local function log_sum(list)
        local greatest = -math.huge
        for _, value in ipairs(list) do
            greatest = math.max(greatest, value)
        end
        local sum = 0
        for _, value in ipairs(list) do
            sum = sum + math.exp(value - greatest)
        end
        return greatest + math.log(sum)
    end

    local function likelihood(world, hypothesis, columns, knows)
        local list = {}
        for i, node in ipairs(hypothesis.nodes) do
            node.density, node.moved = weigh(world, hypothesis, node, columns, knows)
            list[i] = node.density
        end
        return log_sum(list)
    end

    local function best_node(hypothesis)
        local best
        for _, node in ipairs(hypothesis.nodes) do
            if not best or node.density > best.density then
                best = node
            end
        end
        return best
    end

    -- Two steps towards the amount that fits best; a step that fits worse is taken back.
    local function refine(world, hypothesis, columns, knows)
        if by_chance[hypothesis.fault] then
            return
        end
        for _ = 1, 2 do
            local node = best_node(hypothesis)
            if not node.moved then
                return
            end
            local was, density, moved = node.amount, node.density, node.moved
            node.amount = within(node, moved)
            node.density, node.moved = weigh(world, hypothesis, node, columns, knows, true)
            if node.density < density then
                node.amount, node.density, node.moved = was, density, nil
            end
        end
    end

    local function kinds_of(case)
        if case.kind and not hidden_kinds[case.kind] then
            return { { kind = case.kind, share = 1 } }
        end
        local list = { { share = 7 / 12 } }
        for kind, share in pairs(hidden_kinds) do
            list[#list + 1] = { kind = kind, share = share / 12 }
        end
        table.sort(list, function(a, b) return (a.kind or "") < (b.kind or "") end)
        return list
    end

    local function healthy_likelihood(world, knows)
        local list = {}
        local columns = slopes(world, world.base)
        for i, kind in ipairs(kinds_of(world.case)) do
            local case = copy(world.base)
            case.kind, case.fault = kind.kind or world.base.kind, nil
            local at = expected(world, case)
            local r, sd, unmatched = difference(world.log, at)
            local mean = copy(knows.mean)
            if kind.kind and kind.kind:find("^supply") then
                mean[#unknowns] = 0
            end
            local moves = { table.unpack(turned(columns, knows.left)) }
            for _, errors in ipairs(model_errors(at, knows)) do
                moves[#moves + 1] = errors
            end
            local density = gauss.density(shifted(r, columns, mean), sd, moves, {})
            list[i] = density - unmatched + math.log(kind.share)
        end
        return log_sum(list)
    end

    local function hypotheses_of(case)
        local list = {}
        for fault, row in pairs(set.faults) do
            if row.trace ~= "never" and set.fits(case.oven, fault) then
                list[#list + 1] = { fault = fault, nodes = amounts(case, fault) }
            end
        end
        table.sort(list, function(a, b) return a.fault < b.fault end)
        return list
    end

    local near, most_own = 40, 7 -- faults within so much of the best are weighed again with slopes of their own

    local function judge(world, knows)
        local case = world.case
        local of = { healthy = healthy_likelihood(world, knows) }
        local shared = world.shared
        local hypotheses = hypotheses_of(case)
        for _, hypothesis in ipairs(hypotheses) do
            hypothesis.log = likelihood(world, hypothesis, shared, knows)
        end
        table.sort(hypotheses, function(a, b)
            return a.log > b.log or a.log == b.log and a.fault < b.fault
        end)
        local best = math.max(of.healthy, hypotheses[1].log)
        local done, count = {}, 0
        for _, hypothesis in ipairs(hypotheses) do
            if hypothesis.log > best - near then
                refine(world, hypothesis, shared, knows)
                local node = best_node(hypothesis)
                local there = with(world.base, hypothesis.fault, node)
                if done[there.same] or count < most_own then
                    if not done[there.same] then
                        done[there.same] = slopes(world, there)
                        count = count + 1
                    end
                    for _, each in ipairs(hypothesis.nodes) do
                        if each.density > node.density - 30 then
                            each.density, each.moved = weigh(world, hypothesis, each, done[there.same], knows,
                                each == node)
                        end
                    end
                    refine(world, hypothesis, done[there.same], knows)
                end
                local list = {}
                for i, each in ipairs(hypothesis.nodes) do
                    list[i] = each.density
                end
                hypothesis.log = log_sum(list)
            end
            of[hypothesis.fault] = hypothesis.log
        end
        return of
    end

    -- Log likelihoods of healthy and each fault: beside nothing, and beside a good run of the same oven. loose: by
    -- an observer whose model is a few percent off.
    function observer.weigh(case, times, loose)
        local world = { case = case, times = times, seen = {} }
        local base = copy(case)
        base.fault, base.amount, base.u = nil, nil, nil
        if hidden_kinds[case.kind] then
            base.kind, base.volts = nil, case.oven.volts
        end
        world.base = base
        local rows = make.rows(set, couples, case, times, true)
        world.log = features.of(case, rows, set.random(case.seed + 1))
        local truth = case.fault and with(base, case.fault, case) or base
        world.shared = slopes(world, truth)
        local mean = starting_mean(case, base)
        local alone = judge(world, { mean = mean, loose = loose })
        local narrowed, left = after_good_run(world, case, mean)
        local beside = judge(world, { mean = narrowed, left = left, loose = loose })
        return alone, beside
    end

    return observer
end
