-- Runs the cases of a file against the real command.
-- usage: lua5.4 run_cases.lua BINARY FILE.cases [WORD]     (WORD: only the cases whose run line holds it)
--
-- A case is a block of lines; an empty line ends it. Lines that start with # are comments. One case:
--
--     # what a person may want to know about it
--     source: NIST SRD 60, table of type K
--     run: emf K 500C --json
--     status: 0
--     json: points[0].emf_mV ~ 20.644 +- 0.0005
--
-- A block with nothing but `source:` gives the source of all cases below it. Every case has a source: the
-- publisher of the figure, "contract: docs/json.md", "common practice, no published source", or "regression
-- lock" when the expectation came from the code under test.
--
-- Before the run
--     file NAME:        makes a file in the folder of the run, from the indented lines below. Empty lines
--                       between indented ones belong to it. The indent of the first line is taken off all.
--     bytes NAME: TEXT  the same from one line with \n \t \r \\ and \xNN; no line end is added
--     input:            standard input: indented lines below, or the text behind it and a line end
--     input-bytes: TEXT standard input as for bytes
--     env: NAME=VALUE   one more variable
--     before: COMMAND   a shell command to run first; it must succeed
--     outside: PATH     skips the case when the file is not among the outside data ($OUTSIDE/PATH in the run)
--     run: WORDS        what follows `ovenproof`, as one types it in a shell: quotes, pipes and && work, and
--                       `ovenproof` is the command under test. Each case runs in an empty folder of its
--                       own with a HOME of its own, so no settings leak in. $TREE is the source tree.
-- Checks (any number of each)
--     status: N         exit status; 0 when there is no such line
--     out: TEXT         occurs in standard output          not-out: TEXT    does not
--     out-line: TEXT    is one of its lines, whole         out-order: A ~~ B   A occurs, and B after it
--     out-lines: N      count of its lines                 out-lines-max: N
--     out-columns-max: N  widest line, in characters
--     err: TEXT         the same for standard error        not-err: TEXT    err-line: TEXT    err-lines: N
--     json: PATH = VALUE       equal: a number, true, false, null, "text" or a bare word
--     json: PATH != VALUE
--     json: PATH ~ VALUE +- TOLERANCE
--     json: PATH < VALUE       also <= > >=
--     json: PATH has VALUE     an array that holds VALUE, or a text in which it occurs
--     json: PATH lacks VALUE
--     json: PATH count N       an array of N
--     json: PATH exists        json: PATH absent
--                       PATH is like points[0].emf_mV, or causes[fault=sensor-reversed].probability:
--                       the first member of the array whose field is that word. [-1] is the last member.
--     same-as: WORDS    `ovenproof WORDS` gives the same standard output
--     wrote NAME: TEXT  the file holds TEXT after the run; NAME may start with ~/
--     not-wrote NAME    there is no such file after the run
-- Checked of every case without being asked: no end by a signal or a time-out (60 s); with status 2, 3 or 4
-- standard error is two lines, "ovenproof: ..." and "hint: ..." (unless err-lines says otherwise); a run with
-- --json that exits with 0 or 1 prints one JSON document with "document" and "version" (unless it is a pipe).

local TIME_OUT = 60

local binary, cases_path, only = arg[1], arg[2], arg[3]
if not cases_path then
    io.stderr:write("usage: lua5.4 run_cases.lua BINARY FILE.cases [WORD]\n")
    os.exit(2)
end

local folder = arg[0]:match("^(.*)/[^/]*$") or "."
local json = dofile(folder .. "/json_reader.lua")
local read_json, follow, show = json.read, json.follow, json.show

-- ---- the case file -----------------------------------------------------------------------------------

local function fail_file(line, text, ...)
    io.stderr:write(string.format("%s:%d: ", cases_path, line), string.format(text, ...), "\n")
    os.exit(2)
end

local function read_lines(path)
    local file, reason = io.open(path, "rb")
    if not file then
        io.stderr:write("cannot read the cases: ", reason, "\n")
        os.exit(2)
    end
    local lines = {}
    for line in file:lines() do
        lines[#lines + 1] = (line:gsub("\r$", ""))
    end
    file:close()
    return lines
end

-- The indented lines that start at `at`; empty ones between them belong to them.
local function read_indented(lines, at)
    local indent = lines[at] and lines[at]:match("^[ \t]+")
    local parts, empty = {}, 0
    while indent and lines[at] do
        local line = lines[at]
        if line:match("^%s*$") then
            empty = empty + 1
        elseif line:match("^[ \t]") then
            parts[#parts + 1] = ("\n"):rep(empty) .. (line:sub(1, #indent) == indent and line:sub(#indent + 1)
                or line:gsub("^[ \t]+", "")) .. "\n"
            empty = 0
        else
            break
        end
        at = at + 1
    end
    return table.concat(parts), at - empty
end

local function unescape(text, line)
    return (text:gsub("\\(x?)(.?%x?)", function(hex, rest)
        if hex == "x" then
            if not rest:match("^%x%x$") then
                fail_file(line, "\\x wants two hexadecimal digits")
            end
            return string.char(tonumber(rest, 16))
        end
        local plain = ({ n = "\n", t = "\t", r = "\r", ["\\"] = "\\" })[rest:sub(1, 1)]
        if not plain then
            fail_file(line, "unknown escape \\%s", rest:sub(1, 1))
        end
        return plain .. rest:sub(2)
    end))
end

local checks_known = {
    status = true, out = true, ["not-out"] = true, ["out-line"] = true, ["out-lines"] = true,
    ["out-lines-max"] = true, ["out-columns-max"] = true, ["out-order"] = true, err = true,
    ["not-err"] = true, ["err-line"] = true,
    ["err-lines"] = true, json = true, ["same-as"] = true, wrote = true, ["not-wrote"] = true,
}

local named = { file = true, bytes = true, wrote = true, ["not-wrote"] = true }

local function set_once(case, key, value, line)
    if case[key] then
        fail_file(line, "a second %s", key)
    end
    case[key] = value
end

local function read_cases(lines)
    local cases, case, source, at = {}, nil, nil, 1

    local function finish()
        if case and not case.run then
            if case.source and not case.any then
                source = case.source
            else
                fail_file(case.line, "a case without a run line")
            end
        elseif case then
            case.source = case.source or source
            if not case.source then
                fail_file(case.line, "a case without a source; say where the expectation comes from")
            end
            cases[#cases + 1] = case
        end
        case = nil
    end

    while at <= #lines do
        local line, number = lines[at], at
        at = at + 1
        if line:match("^%s*$") then
            finish()
        elseif line:sub(1, 1) ~= "#" then
            case = case or { line = number, files = {}, env = {}, before = {}, checks = {} }
            local key, name, rest = line:match("^([%a%-]+)%s*([^:]-):%s?(.*)$")
            if not key then
                key, name = line:match("^(not%-wrote)%s+(%S+)%s*$")
                rest = ""
            end
            if not key then
                fail_file(number, "not understood: %s", line)
            end
            rest = rest:gsub("%s+$", "")
            if name ~= "" and not named[key] then
                fail_file(number, "not understood: %s", line)
            end
            if key == "source" then
                set_once(case, "source", rest, number)
            else
                case.any = true
                if key == "run" then
                    set_once(case, "run", rest, number)
                    case.line = number
                elseif key == "file" then
                    local text
                    text, at = read_indented(lines, at)
                    case.files[#case.files + 1] = { name, text }
                elseif key == "bytes" then
                    case.files[#case.files + 1] = { name, unescape(rest, number) }
                elseif key == "input" then
                    local text = rest ~= "" and rest .. "\n"
                    if not text then
                        text, at = read_indented(lines, at)
                    end
                    set_once(case, "input", text, number)
                elseif key == "input-bytes" then
                    set_once(case, "input", unescape(rest, number), number)
                elseif key == "env" then
                    if not rest:match("^[%w_]+=") then
                        fail_file(number, "env wants NAME=VALUE")
                    end
                    case.env[#case.env + 1] = rest
                elseif key == "before" then
                    case.before[#case.before + 1] = rest
                elseif key == "outside" then
                    set_once(case, "outside", rest, number)
                elseif checks_known[key] then
                    case.checks[#case.checks + 1] = { kind = key, name = name, text = rest, line = number }
                else
                    fail_file(number, "unknown word \"%s\"", key)
                end
            end
        end
    end
    finish()
    return cases
end

-- ---- running -----------------------------------------------------------------------------------------

local function quote(text)
    return "'" .. text:gsub("'", "'\\''") .. "'"
end

local function command_output(command)
    local pipe = assert(io.popen(command))
    local text = pipe:read("a")
    pipe:close()
    return (text:gsub("\n$", ""))
end

local function write_file(path, text)
    local file = assert(io.open(path, "wb"))
    file:write(text)
    file:close()
end

local function read_file(path)
    local file = io.open(path, "rb")
    if not file then
        return nil
    end
    local text = file:read("a")
    file:close()
    return text
end

local tree = command_output("cd " .. quote(folder .. "/..") .. " && pwd")
local outside = os.getenv("OVENPROOF_OUTSIDE_DATA") or tree .. "/../shared"
if binary:sub(1, 1) ~= "/" then
    binary = command_output("pwd") .. "/" .. binary
end

-- What every shell of a case begins with.
local function prelude(base, case)
    local parts = {
        "cd " .. quote(base .. "/folder") .. " || exit 125",
        "for name in $(env | sed -n 's/^\\(OVENPROOF_[A-Z_]*\\)=.*/\\1/p'); do unset \"$name\"; done",
        "unset NO_COLOR COLUMNS LINES DISPLAY XDG_CONFIG_DIRS XDG_DATA_DIRS",
        "HOME=" .. quote(base .. "/home"),
        "XDG_CONFIG_HOME=$HOME/.config XDG_DATA_HOME=$HOME/.local/share XDG_STATE_HOME=$HOME/.local/state",
        "XDG_CACHE_HOME=$HOME/.cache TERM=dumb LC_ALL=C.UTF-8 TZ=UTC",
        "TREE=" .. quote(tree) .. " OUTSIDE=" .. quote(outside),
        "export HOME XDG_CONFIG_HOME XDG_DATA_HOME XDG_STATE_HOME XDG_CACHE_HOME TERM LC_ALL TZ TREE OUTSIDE",
        string.format("ovenproof() { timeout -k 5 %d %s \"$@\"; }", TIME_OUT, quote(binary)),
    }
    for _, variable in ipairs(case.env) do
        local name, value = variable:match("^([%w_]+)=(.*)$")
        parts[#parts + 1] = name .. "=" .. quote(value) .. "; export " .. name
    end
    return table.concat(parts, "\n") .. "\n"
end

-- Runs a script of shell in the folder of the case; returns status, standard output, standard error.
local function run_shell(base, script, input)
    write_file(base .. "/script", script)
    write_file(base .. "/input", input or "")
    os.execute(string.format("sh %s <%s >%s 2>%s; echo $? >%s", quote(base .. "/script"),
        quote(base .. "/input"), quote(base .. "/out"), quote(base .. "/err"), quote(base .. "/status")))
    return tonumber(read_file(base .. "/status")), read_file(base .. "/out"), read_file(base .. "/err")
end

-- ---- checks ------------------------------------------------------------------------------------------

local function lines_of(text)
    local lines = {}
    for line in (text:match("\n$") and text or text == "" and "" or text .. "\n"):gmatch("(.-)\n") do
        lines[#lines + 1] = line
    end
    return lines
end

local function shortened(text)
    text = text:gsub("\n$", "")
    if #text > 1500 then
        text = text:sub(1, 1500) .. " ..."
    end
    return text == "" and "(nothing)" or text
end

local function has_line(text, wanted)
    for _, line in ipairs(lines_of(text)) do
        if line == wanted then
            return true
        end
    end
    return false
end

local function literal(text)
    local value = read_json(text)
    if value == nil then
        return text
    end
    return value
end

local function equal(a, b)
    return a == b and type(a) == type(b)
end

local comparisons = {
    ["<"] = function(a, b) return a < b end,
    ["<="] = function(a, b) return a <= b end,
    [">"] = function(a, b) return a > b end,
    [">="] = function(a, b) return a >= b end,
}

local function holds(value, wanted)
    if type(value) == "string" then
        return value:find(tostring(wanted), 1, true) ~= nil
    end
    for i = 1, type(value) == "table" and value.n or 0 do
        if equal(value[i], wanted) then
            return true
        end
    end
    return false
end

-- Returns nil when the check holds, else what was seen.
local function check_json(seen, check)
    local path, rest = check.text:match("^(%S+)%s+(.+)$")
    if not path then
        fail_file(check.line, "json wants PATH and a comparison")
    end
    if seen.json == nil then
        return "standard output is no JSON document: " .. tostring(seen.json_problem)
    end
    local value, problem = follow(seen.json, path)
    if problem then
        fail_file(check.line, "%s", problem)
    end
    local seen_text = path .. " is " .. show(value)
    local operator, wanted = rest:match("^(%S+)%s*(.*)$")
    if operator == "exists" then
        return value == nil and seen_text or nil
    elseif operator == "absent" then
        return value ~= nil and seen_text or nil
    elseif operator == "=" then
        return not equal(value, literal(wanted)) and seen_text or nil
    elseif operator == "!=" then
        return (value == nil or equal(value, literal(wanted))) and seen_text or nil
    elseif operator == "count" then
        local count = type(value) == "table" and value.is_array and value.n
        return count ~= tonumber(wanted) and seen_text .. (count and ", count " .. count or "") or nil
    elseif operator == "has" then
        return not holds(value, literal(wanted)) and seen_text or nil
    elseif operator == "lacks" then
        return (value == nil or holds(value, literal(wanted))) and seen_text or nil
    elseif operator == "~" then
        local number, tolerance = wanted:match("^(%S+)%s*%+%-%s*(%S+)$")
        number, tolerance = tonumber(number), tonumber(tolerance)
        if not number or not tolerance then
            fail_file(check.line, "~ wants VALUE +- TOLERANCE")
        end
        local good = type(value) == "number" and math.abs(value - number) <= tolerance
        return not good and seen_text or nil
    elseif comparisons[operator] and tonumber(wanted) then
        local good = type(value) == "number" and comparisons[operator](value, tonumber(wanted))
        return not good and seen_text or nil
    end
    fail_file(check.line, "json does not know \"%s\"", rest)
end

local function check_text(text, what, wanted, must)
    local found = text:find(wanted, 1, true) ~= nil
    return found ~= must and what .. " is\n" .. shortened(text) or nil
end

local function check_count(text, wanted, at_most)
    local count = #lines_of(text)
    local good = at_most and count <= tonumber(wanted) or count == tonumber(wanted)
    return not good and string.format("%d lines:\n%s", count, shortened(text)) or nil
end

local function widest(text)
    local most, where = 0, ""
    for _, line in ipairs(lines_of(text)) do
        local width = utf8.len(line) or #line
        if width > most then
            most, where = width, line
        end
    end
    return most, where
end

local checkers = {
    status = function(seen, check)
        return seen.status ~= tonumber(check.text)
            and string.format("status %d, standard error: %s", seen.status, shortened(seen.err)) or nil
    end,
    out = function(seen, check) return check_text(seen.out, "standard output", check.text, true) end,
    ["not-out"] = function(seen, check) return check_text(seen.out, "standard output", check.text, false) end,
    err = function(seen, check) return check_text(seen.err, "standard error", check.text, true) end,
    ["not-err"] = function(seen, check) return check_text(seen.err, "standard error", check.text, false) end,
    ["out-line"] = function(seen, check)
        return not has_line(seen.out, check.text) and "standard output is\n" .. shortened(seen.out) or nil
    end,
    ["err-line"] = function(seen, check)
        return not has_line(seen.err, check.text) and "standard error is\n" .. shortened(seen.err) or nil
    end,
    ["out-lines"] = function(seen, check) return check_count(seen.out, check.text, false) end,
    ["out-lines-max"] = function(seen, check) return check_count(seen.out, check.text, true) end,
    ["err-lines"] = function(seen, check) return check_count(seen.err, check.text, false) end,
    ["out-columns-max"] = function(seen, check)
        local most, where = widest(seen.out)
        return most > tonumber(check.text) and string.format("%d columns: %s", most, where) or nil
    end,
    ["out-order"] = function(seen, check)
        local first, second = check.text:match("^(.-)%s+~~%s+(.*)$")
        if not first then
            fail_file(check.line, "out-order wants A ~~ B")
        end
        local _, at = seen.out:find(first, 1, true)
        local good = at and seen.out:find(second, at + 1, true)
        return not good and "standard output is\n" .. shortened(seen.out) or nil
    end,
    json = check_json,
    ["same-as"] = function(seen, check)
        local _, out = run_shell(seen.base, seen.prelude .. "ovenproof " .. check.text .. "\n", seen.input)
        return out ~= seen.out
            and "it gives\n" .. shortened(out) .. "\nand the run\n" .. shortened(seen.out) or nil
    end,
    wrote = function(seen, check)
        local path = check.name:gsub("^~/", seen.base .. "/home/")
        path = path:sub(1, 1) == "/" and path or seen.base .. "/folder/" .. path
        local text = read_file(path)
        if not text then
            return "there is no file " .. check.name
        end
        return check_text(text, check.name, check.text, true)
    end,
    ["not-wrote"] = function(seen, check)
        local path = check.name:gsub("^~/", seen.base .. "/home/")
        path = path:sub(1, 1) == "/" and path or seen.base .. "/folder/" .. path
        return read_file(path) and check.name .. " exists" or nil
    end,
}

-- ---- what is checked of every case -------------------------------------------------------------------

local function has_check(case, kind)
    for _, check in ipairs(case.checks) do
        if check.kind == kind then
            return true
        end
    end
    return false
end

local function check_always(case, seen, complain)
    if seen.status >= 124 then
        complain(case.line, "an end of its own", seen.status == 124 and "it hung for " .. TIME_OUT .. " s"
            or string.format("a signal, or not found: status %d, %s", seen.status, shortened(seen.err)))
        return
    end
    if not has_check(case, "status") and seen.status ~= 0 then
        complain(case.line, "status: 0",
            string.format("status %d, standard error: %s", seen.status, shortened(seen.err)))
    end
    if seen.status >= 2 and seen.status <= 4 and not has_check(case, "err-lines") then
        local lines = lines_of(seen.err)
        if #lines ~= 2 or not lines[1]:match("^ovenproof: ") or not lines[2]:match("^hint: .") then
            complain(case.line, 'two lines of standard error, "ovenproof: ..." and "hint: ..."',
                shortened(seen.err))
        end
    end
    local wants_json = (" " .. case.run .. " "):find(" %-%-json ") and not case.run:find("[|&;>]")
    if wants_json and seen.status <= 1 then
        local document = seen.json
        if not document or not document.fields or type(document.fields.document) ~= "string"
            or math.type(document.fields.version) ~= "integer" then
            complain(case.line, "one JSON document with \"document\" and \"version\"",
                seen.json_problem or shortened(seen.out))
        end
    end
end

local function run_case(case, base)
    os.execute("mkdir -p " .. quote(base .. "/folder") .. " " .. quote(base .. "/home"))
    for _, file in ipairs(case.files) do
        local parent = file[1]:match("^(.*)/[^/]*$")
        if parent then
            os.execute("mkdir -p " .. quote(base .. "/folder/" .. parent))
        end
        write_file(base .. "/folder/" .. file[1], file[2])
    end
    local problems = {}
    local function complain(line, wanted, seen)
        problems[#problems + 1] =
            string.format("%s:%d: %s\n    %s", cases_path, line, wanted, (seen:gsub("\n", "\n    ")))
    end
    local seen = { base = base, prelude = prelude(base, case), input = case.input }
    for _, command in ipairs(case.before) do
        local status, _, err = run_shell(base, seen.prelude .. command .. "\n")
        if status ~= 0 then
            complain(case.line, "before: " .. command, string.format("status %d, %s", status, shortened(err)))
            return problems
        end
    end
    local script = seen.prelude .. "ovenproof " .. case.run .. "\n"
    seen.status, seen.out, seen.err = run_shell(base, script, case.input)
    if seen.out:match("^%s*[{%[]") then
        seen.json, seen.json_problem = read_json(seen.out)
    else
        seen.json_problem = "it begins with " .. shortened(seen.out:sub(1, 60))
    end
    check_always(case, seen, complain)
    for _, check in ipairs(case.checks) do
        local problem = checkers[check.kind](seen, check)
        if problem then
            local name = check.name ~= "" and check.kind .. " " .. check.name or check.kind
            complain(check.line, name .. ": " .. check.text, problem)
        end
    end
    return problems
end

local passed, failed, skipped = 0, 0, 0
local base = command_output("mktemp -d")
for _, case in ipairs(read_cases(read_lines(cases_path))) do
    if only and not case.run:find(only, 1, true) then -- luacheck: ignore 542
    elseif case.outside and not read_file(outside .. "/" .. case.outside) then
        skipped = skipped + 1
        print(string.format("%s:%d: skipped: no shared data (%s)", cases_path, case.line, case.outside))
    else
        local problems = run_case(case, base .. "/" .. case.line)
        if #problems == 0 then
            passed = passed + 1
        else
            failed = failed + 1
            print(table.concat(problems, "\n"))
            print("    run: ovenproof " .. case.run)
        end
    end
end
os.execute("rm -rf " .. quote(base))
local also = skipped > 0 and ", " .. skipped .. " skipped" or ""
print(string.format("%d passed, %d failed%s", passed, failed, also))
os.exit(failed == 0 and 0 or 1)
