-- Works out what an ideal observer could part, case by case, and writes it down: hours of sums whose answer does
-- not change while the generator does not. Remake the tables after every change of the generator
-- (each about half an hour):
--   lua5.4 tests/truth/observe.lua main > tests/truth/observer-main.csv
--   lua5.4 tests/truth/observe.lua held > tests/truth/observer-held.csv
--   lua5.4 tests/truth/observe.lua main loose > tests/truth/loose-main.csv
--   lua5.4 tests/truth/observe.lua held loose > tests/truth/loose-held.csv
-- usage: lua5.4 observe.lua main|held [loose] [FIRST LAST]
-- loose: the same observer, but his model of ovens is not the generator: a few percent off, as any program's is.
-- Only the cases with a fault.
--
-- Columns: case; what is wrong; alone or beside a good run; shares as the observer would state them when half of
-- all logs are healthy and the faults that fit the oven are all as likely: of healthy, of the truth; then, with
-- the shares of this set, the likeliest and its share; then the class: all that the observer gives at least 5 %
-- when the choice is between it and the truth alone. Healthy is in the class of a fault (the fault does not show)
-- when the observer gives healthy at least 5 % among all.

local here = arg[0]:match("^(.*)/[^/]*$") or "."
local root = here .. "/../.."
local set = dofile(here .. "/set.lua")(root, arg[1] or "main")
local make = dofile(here .. "/make.lua")
local couples = dofile(here .. "/couples.lua")(root .. "/reference/its90-emf-from-temperature.csv")
local observer = dofile(here .. "/observer.lua")(set, make, couples)
local verdict = dofile(here .. "/classes.lua")

local healthy_share = 0.3

print("# made by tests/truth/observe.lua; how to remake it and what the columns mean stands there")
print("case,fault,beside,healthy,truth,likeliest,share,class")
local loose = arg[2] == "loose"
if loose then
    table.remove(arg, 2)
end
local first, last = tonumber(arg[2] or 1), tonumber(arg[3] or #set.cases)

local function show(i, beside, logs, truth)
    local row = verdict(logs, truth, healthy_share)
    print(string.format("%d,%s,%s,%.4f,%.4f,%s,%.4f,%s", i, truth, beside, row.healthy, row.truth, row.likeliest,
        row.share, table.concat(row.class, " ")))
end

local times = {}
for i, case in ipairs(set.cases) do
    if i >= first and i <= last and (case.fault or not loose) then
        times[case.oven] = times[case.oven] or make.record(set, couples, case.oven)
        local alone, beside = observer.weigh(case, times[case.oven], loose)
        show(i, "alone", alone, case.fault or "healthy")
        show(i, "beside", beside, case.fault or "healthy")
        io.stdout:flush()
    end
end
