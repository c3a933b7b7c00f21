-- Holds the README against the program: what stands under "$ ovenproof ..." is what it prints.
-- usage: lua5.4 check_readme.lua BINARY TREE FOLDER
-- Commands run in FOLDER, beside links to the tree's docs. Under a "..." the lines that follow it must come
-- in this order. A recording's name is that of the clock and is not compared.
local binary, tree, folder = arg[1], arg[2], arg[3]
local failures, samples = 0, 0

local function lines_of(text)
    local list = {}
    for line in text:gmatch("([^\n]*)\n") do
        list[#list + 1] = line
    end
    return list
end

-- The blocks of the README as commands, each with the lines that stand under it.
local function samples_of(path)
    local list, inside, one = {}, false, nil
    for line in io.lines(path) do
        if line:match("^```") then
            inside, one = not inside, nil
        elseif inside and line:match("^%$ ovenproof ") then
            one = { command = line:match("^%$ ovenproof (.*)$"), due = {} }
            list[#list + 1] = one
        elseif one then
            one.due[#one.due + 1] = line
        end
    end
    return list
end

-- Recordings are named by the clock.
local function timeless(line)
    return (line:gsub("%-%d%d%d%d%-%d%d%-%d%d%-%d%d%d%d", "-DATE"))
end

local function holds(due, printed)
    local at, skip = 0, false
    for _, line in ipairs(due) do
        if line == "..." then
            skip = true
        else
            repeat
                at = at + 1
            until not skip or at > #printed or timeless(printed[at]) == timeless(line)
            if at > #printed or timeless(printed[at]) ~= timeless(line) then
                return false, line, printed[at]
            end
            skip = false
        end
    end
    return #due == 0 or skip or at == #printed, "(the end)", printed[at + 1]
end

os.execute(string.format("rm -rf '%s' && mkdir -p '%s' && ln -s '%s/docs' '%s/docs'", folder, folder, tree,
    folder))
for _, one in ipairs(samples_of(tree .. "/README.md")) do
    local pipe = assert(io.popen(string.format(
        "cd '%s' && COLUMNS=100 OVENPROOF_PATH='%s/scripts' '%s' %s 2>&1", folder, tree, binary,
        one.command)))
    local right, due, printed = holds(one.due, lines_of(pipe:read("a")))
    pipe:close()
    samples = samples + 1
    if not right then
        failures = failures + 1
        print(string.format("FAILED: ovenproof %s\n  README:  %s\n  program: %s", one.command, due,
            printed or "(nothing more)"))
    end
end
print(string.format("%d samples, %d differ", samples, failures))
os.exit(samples > 5 and failures == 0 and 0 or 1)
