-- Runs every script of scripts/escapes.txt against the real command, twice: as the shop's own and as one from
-- elsewhere. None may succeed, take the program down or hold it past its limit; nothing may be left behind.
-- usage: lua5.4 run_escapes.lua BINARY ESCAPES.txt [WORD]      (WORD: only titles that hold it)
--
-- Beside "stopped" and "held" (see the file) it holds for every run: standard error is two lines that begin
-- with "ovenproof:" and "hint:" and hold no control character; no end by a signal; at most HANG seconds; the
-- folder is as it was. The longest run past the limit is printed, and judged only against HANG: a machine may
-- be busy.

local LIMIT, HANG = 0.2, 20

local binary, path, only = arg[1], arg[2], arg[3] or ""
local function shell(command)
    local pipe = assert(io.popen(command, "r"))
    local text = pipe:read("a")
    pipe:close()
    return text
end

local function quoted(text)
    return "'" .. text:gsub("'", "'\\''") .. "'"
end

local function write(name, text)
    local file = assert(io.open(name, "w"))
    file:write(text)
    file:close()
end

local function read(name)
    local file = assert(io.open(name, "r"))
    local text = file:read("a")
    file:close()
    return text
end

local folder = shell("mktemp -d"):gsub("%s+$", "")
local own = folder .. "/home/.local/share/ovenproof/scripts"
local work = folder .. "/work"
assert(os.execute("mkdir -p " .. quoted(own) .. " " .. quoted(work)))
write(work .. "/canary", "whole\n")

local failures, runs, worst, worst_title = 0, 0, 0, "none"

local function check(holds, title, where, text)
    if not holds then
        failures = failures + 1
        print(string.format("FAILED %s (%s): %s", title, where, text))
    end
end

local function seconds_now()
    return tonumber(shell("date +%s.%N"))
end

local function run(expected, title, where, script)
    local begun = seconds_now()
    local status = shell(string.format(
        "cd %s && HOME=%s XDG_DATA_HOME= timeout -s KILL %d %s lua --time %gs --memory 32 --output 1 %s "
            .. ">../out 2>../err </dev/null; echo $?",
        quoted(work), quoted(folder .. "/home"), HANG, quoted(binary), LIMIT, quoted(script)))
    local past = seconds_now() - begun - LIMIT
    if past > worst then
        worst, worst_title = past, title .. ", " .. where
    end
    local out, err = read(folder .. "/out"), read(folder .. "/err")
    status = tonumber(status)
    runs = runs + 1
    check(status < 128, title, where, "ended by a signal, or hung")
    if expected == "held" then
        check(status == 0 and out == "held\n" and err == "", title, where, "status " .. status .. ", " .. err)
    else
        check(status == 3, title, where, "status " .. status)
        local first, second, rest = err:match("^(ovenproof: [^\n]+)\n(hint: [^\n]+)\n(.*)$")
        check(first and second and rest == "", title, where, "not two lines: " .. err:sub(1, 200))
        check(not err:gsub("\n", ""):find("%c"), title, where, "control characters")
        check(#err < 1000, title, where, "a message of " .. #err .. " bytes")
        check(#out <= 1000000, title, where, "an output of " .. #out .. " bytes")
    end
    check(read(work .. "/canary") == "whole\n", title, where, "the canary is changed")
    check(shell("ls -A " .. quoted(work)) == "canary\nit.lua\n", title, where, "something was left behind")
end

local function try(expected, title, text)
    if not title:find(only, 1, true) then
        return
    end
    if expected ~= "stopped" and expected ~= "held" then
        check(false, title, path, "expected what? " .. tostring(expected))
        return
    end
    write(own .. "/it.lua", text)
    write(work .. "/it.lua", text)
    run(expected, title, "the shop's own", own .. "/it.lua")
    run(expected, title, "from elsewhere", "it.lua")
end

local expected, title, lines
local scripts = 0
local function flush()
    if title then
        scripts = scripts + 1
        try(expected, title, table.concat(lines, "\n") .. "\n")
    end
end
for line in io.lines(path) do
    local word, rest = line:match("^== (%S+): (.+)$")
    if word then
        flush()
        expected, title, lines = word, rest, {}
    elseif title then
        lines[#lines + 1] = line
    end
end
flush()
os.execute("rm -r " .. quoted(folder))
check(only ~= "" or scripts >= 60, "the list", path, "only " .. scripts .. " scripts")
print(string.format("%d scripts, %d runs, %d failed", scripts, runs, failures))
print(string.format("longest past the limit of %g s: %.2f s (%s)", LIMIT, worst, worst_title))
os.exit(failures == 0 and runs > 0)
