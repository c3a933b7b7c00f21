-- Holds the support cases: a complaint in the owner's words, and whether the guide comes to what is true.
-- usage: lua5.4 run_support.lua BINARY FOLDER [WORD]
-- WORD: only the cases whose title holds it, with every answer and what is read at the end.
-- lines shown)
--
-- FOLDER holds truths.txt (what is seen when one thing is wrong) and any number of *.case files. A case
-- is a block
-- of lines that starts with `case:`; an empty line ends it, # starts a comment:
--
--     case: title
--     complaint: the owner's words            oven: QR-8 | QR-3
--     who: owner | technician                 have: none | multimeter,magnet | all
--     context: in-service | new-build | after-transport | after-rewire
--     truth: FAULT [FAULT]                    what is wrong; `nothing` for a sound oven
--     answer: MEASUREMENT = OUTCOME           what this person says instead (any number), mistakes too
--     guide: NAME                             the guide that the words must lead to
--     expect: FAULT [FAULT]                   the first cause must be one of these
--     also: FAULT [FAULT]                     each must be among the first three causes
--     normal: ID                              concluded as normal, this one (in place of expect)
--     says: TEXT                              occurs in what the person reads at the end
--     questions: N                            the most questions it may take
--     source: where the case comes from
--
-- Checked of every case without being asked: it ends; it never says "good"; an owner is never asked for
-- anything
-- live; when a truth that is expected is dangerous (danger 3 or 4 in faults.csv), the end says to leave
-- it unplugged.
-- The answers come from the case, then the truths in order, then the block [healthy]; else they are
-- `unknown`.

local binary, folder, only = arg[1], arg[2], arg[3]
if not folder then
    io.stderr:write("usage: lua5.4 run_support.lua BINARY FOLDER [WORD]\n")
    os.exit(2)
end

local here = arg[0]:match("^(.*)/[^/]*$") or "."
local json = dofile(here .. "/json_reader.lua")

local function fail_file(path, number, text)
    io.stderr:write(string.format("%s:%d: %s\n", path, number, text))
    os.exit(2)
end

local function lines_of(path)
    local file, reason = io.open(path, "r")
    if not file then
        io.stderr:write(reason, "\n")
        os.exit(2)
    end
    local lines = {}
    for line in file:lines() do
        lines[#lines + 1] = line
    end
    file:close()
    return lines
end

-- ---- what is true
-- --------------------------------------------------------------------------------------

local function read_truths(path)
    local truths, block = {}, nil
    for number, line in ipairs(lines_of(path)) do
        local name = line:match("^%[([%w-]+)%]$")
        local id, outcome = line:match("^([%w_-]+): (.+)$")
        if name then
            block = {}
            truths[name] = block
        elseif id and block then
            block[id] = outcome
        elseif line ~= "" and not line:find("^#") then
            fail_file(path, number, "neither [FAULT] nor MEASUREMENT: OUTCOME")
        end
    end
    return truths
end

local function read_dangers(path)
    local dangers = {}
    for _, line in ipairs(lines_of(path)) do
        -- id, title, family, four priors, danger_level; of these the title alone may be quoted
        local id, rest = line:match("^([%w-]+),(.*)$")
        if id then
            rest = rest:gsub('^"[^"]*"', "")
            dangers[id] = tonumber(rest:match("^[^,]*,[^,]*,[^,]*,[^,]*,[^,]*,[^,]*,(%d),"))
        end
    end
    return dangers
end

-- ---- cases
-- ---------------------------------------------------------------------------------------------

local single = {
    case = true, complaint = true, oven = true, who = true, have = true, context = true, truth = true,
    guide = true, expect = true, also = true, normal = true, questions = true, source = true,
}

local function read_cases(path, truths, cases)
    local case
    for number, line in ipairs(lines_of(path)) do
        local key, value = line:match("^(%a+): *(.-) *$") -- nil on a comment
        local comment = line:find("^#") ~= nil
        if line == "" then
            case = nil
        elseif not key and not comment then
            fail_file(path, number, "not KEY: VALUE")
        elseif key == "case" then
            case = { path = path, line = number, answers = {}, says = {}, who = "owner", have = "none",
                context = "in-service", title = value }
            cases[#cases + 1] = case
        elseif not case and not comment then
            fail_file(path, number, "a case begins with `case:`")
        elseif key == "answer" and case then
            local id, outcome = value:match("^([%w_-]+) = (.+)$")
            if not id then
                fail_file(path, number, "an answer is MEASUREMENT = OUTCOME")
            end
            case.answers[id] = outcome
        elseif key == "says" and case then
            case.says[#case.says + 1] = value
        elseif single[key] then
            case[key] = value
            for fault in (key == "truth" and value or ""):gmatch("%S+") do
                if fault ~= "nothing" and not truths[fault] then
                    fail_file(path, number, "truths.txt has no [" .. fault .. "]")
                end
            end
        elseif not comment then
            fail_file(path, number, "there is no `" .. key .. "`")
        end
    end
end

local function check_complete(case)
    for _, key in ipairs { "complaint", "oven", "truth", "guide", "questions", "source" } do
        if not case[key] then
            fail_file(case.path, case.line, "the case has no `" .. key .. ":`")
        end
    end
    if not case.expect and not case.normal then
        fail_file(case.path, case.line, "the case expects nothing")
    end
end

-- The reader's objects and arrays as plain tables.
local function plain(value)
    if type(value) ~= "table" then
        return value
    end
    local copy = {}
    for key, member in pairs(value.fields or value) do
        if key ~= "is_array" and key ~= "n" then
            copy[key] = plain(member)
        end
    end
    return copy
end

-- ---- one call
-- ------------------------------------------------------------------------------------------

local function quote(text)
    return "'" .. text:gsub("'", "'\\''") .. "'"
end

local answers_path, home = os.tmpname(), nil

local function run(case, answers, more)
    local file = assert(io.open(answers_path, "w"))
    local parts = {}
    for _, answer in ipairs(answers) do
        parts[#parts + 1] = string.format('{"id":"%s","answer":"%s"}', answer[1], answer[2])
    end
    file:write("[", table.concat(parts, ","), "]")
    file:close()
    local have = case.have == "all" and "" or "--have " .. case.have
    local context = case.context == "in-service" and "" or "--context " .. case.context
    local command = string.format("HOME=%s %s guide %s --oven %s --who %s %s %s --answers %s %s 2>&1",
        quote(home), quote(binary), quote(case.complaint), case.oven, case.who, have, context,
        quote(answers_path), more)
    local pipe = assert(io.popen(command))
    local text = pipe:read("a")
    pipe:close()
    return text
end

local function answer_of(case, truths, id)
    if case.answers[id] then
        return case.answers[id]
    end
    for fault in case.truth:gmatch("%S+") do
        if truths[fault] and truths[fault][id] then
            return truths[fault][id]
        end
    end
    return truths.healthy[id] or "unknown"
end

local function contains(words, wanted)
    for word in (words or ""):gmatch("%S+") do
        if word == wanted then
            return true
        end
    end
    return false
end

local function hold_case(case, truths, dangers)
    local wrong = {}
    local function say(text, ...)
        wrong[#wrong + 1] = string.format(text, ...)
    end
    local answers, state = {}, nil
    for _ = 0, 45 do
        local text = run(case, answers, "--json")
        local document = plain(json.read(text))
        if type(document) ~= "table" or not document.state then
            say("no document: %s", text:sub(1, 200))
            return wrong
        end
        state = document
        if state.guide ~= case.guide then
            say("the words lead to %s", state.guide)
            return wrong
        end
        if state.state == "concluded" then
            break
        end
        if case.who == "owner" and state.question.energised then
            say("an owner is asked for %s", state.question.id)
        end
        answers[#answers + 1] = { state.question.id, answer_of(case, truths, state.question.id) }
        if only then
            print("    " .. answers[#answers][1] .. " = " .. answers[#answers][2])
        end
    end
    if state.state ~= "concluded" then
        say("it does not end")
        return wrong
    end
    if #answers > tonumber(case.questions) then
        say("%d questions, at most %s", #answers, case.questions)
    end
    if state.verdict == "healthy" then
        say("it says good")
    end
    local read = run(case, answers, "")
    local shown = {}
    for i = 1, math.min(3, #state.causes) do
        shown[#shown + 1] = string.format("%s %.2f", state.causes[i].fault, state.causes[i].probability)
    end
    local first = state.fault or state.causes[1] and state.causes[1].fault or "nothing"
    if case.normal then
        if not state.normal or state.normal.id ~= case.normal then
            say("not concluded as normal %s: %s", case.normal, table.concat(shown, ", "))
        end
    elseif state.normal then
        say("concluded as normal: %s", state.normal.id)
    elseif not contains(case.expect, first) then
        say("first is %s", table.concat(shown, ", "))
    end
    for fault in (case.also or ""):gmatch("%S+") do
        local there = false
        for i = 1, math.min(3, #state.causes) do
            there = there or state.causes[i].fault == fault
        end
        if not there then
            say("%s is not among %s", fault, table.concat(shown, ", "))
        end
    end
    for fault in case.truth:gmatch("%S+") do
        local named = contains(case.expect, fault) or contains(case.also, fault)
        if (dangers[fault] or 0) >= 3 and named and not read:find("Leave it unplugged", 1, true) then
            say("the danger of %s is not said", fault)
        end
    end
    for _, text in ipairs(case.says) do
        if not read:gsub("%s+", " "):find(text, 1, true) then
            say("it does not say %q", text)
        end
    end
    if only then
        print("    " .. table.concat(shown, ", ") .. "\n" .. read)
    end
    return wrong, #answers
end

local truths = read_truths(folder .. "/truths.txt")
local dangers = read_dangers(here .. "/../reference/faults.csv")
local cases = {}
local list = assert(io.popen("ls " .. quote(folder) .. "/*.case"))
for path in list:lines() do
    read_cases(path, truths, cases)
end
list:close()
home = os.tmpname()
os.remove(home)

local failed, passed, questions = 0, 0, 0
for _, case in ipairs(cases) do
    check_complete(case)
    if not only or case.title:find(only, 1, true) then
        local wrong, count = hold_case(case, truths, dangers)
        for _, text in ipairs(wrong) do
            print(string.format("%s:%d: %s: %s", case.path, case.line, case.title, text))
        end
        questions = questions + (count or 0)
        failed = failed + (#wrong > 0 and 1 or 0)
        passed = passed + (#wrong == 0 and 1 or 0)
    end
end
os.remove(answers_path)
print(string.format("%d passed, %d failed; %.1f questions a case", passed, failed,
    questions / math.max(1, passed + failed)))
os.exit(failed == 0 and passed > 0)
