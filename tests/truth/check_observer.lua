-- Works out a few rows of the observer's tables again: a generator that has changed, or a machine that does not
-- agree, makes them differ. usage: lua5.4 check_observer.lua main|held CASE...

local here = arg[0]:match("^(.*)/[^/]*$") or "."
local observed = dofile(here .. "/observed.lua")
local set = dofile(here .. "/set.lua")(here .. "/../..", arg[1])
local written = observed(here .. "/observer-" .. arg[1] .. ".csv")
local wrong = 0
for i = 2, #arg do
    local command = string.format("%s '%s/observe.lua' %s %s %s", arg[-1] or "lua5.4", here, arg[1], arg[i], arg[i])
    local path = os.tmpname()
    assert(os.execute(command .. " > '" .. path .. "'"), command)
    local again = observed(path)
    os.remove(path)
    for _, beside in ipairs({ false, true }) do
        local case = set.cases[tonumber(arg[i])]
        local a, b = written(case, beside), again(case, beside)
        if math.abs(a.healthy - b.healthy) > 0.03 or math.abs(a.truth - b.truth) > 0.03 then
            wrong = wrong + 1
            print(string.format("case %s: healthy %.4f written, %.4f now; the truth %.4f, %.4f: run observe.lua",
                arg[i], a.healthy, b.healthy, a.truth, b.truth))
        end
    end
end
os.exit(wrong == 0 and 0 or 1)
